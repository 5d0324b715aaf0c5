"""What if: a part fails, the engine is claimed, the money is only so much; as pages."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from costplan.report.data import to_csv
from costplan.report.figures import ERRORS, chance, counted, rests_on, spread_cells
from costplan.report.tables import Page, Table, day, money, number, percent, whole
from costplan.season.bills import CaseBill
from costplan.season.whatif import Affordable, CaseOutcome, Reached, Struck

CAUTIONS = (
    "What follows rests on assumed lives, rain and damage, and is no better than those. Nothing here is a safety "
    "decision: parts can fail new. Inspect; follow maker and builder. Officials decide what may race.",
)
FIGURES = ("10%", "50%", "90%", "Mean", "+/-")


def struck_page(found: Struck, bills: Sequence[CaseBill], title: str, invented: bool, *, claimed: bool) -> Page:
    """What it costs when something happens at an event; `bills`: what putting it right costs, by case."""
    what = f"What if {found.what}" if claimed else f"Failure of {found.what}"
    lines = (
        f"{rests_on(found.seasons, found.asked, found.seed)} Each with it and without it, all else drawn alike. Money "
        f"in {found.currency}.",
        f"The event is run in {chance(found.run)} of seasons; the figures are over those. {ERRORS}",
        f"More races missed for it: {counted(found.missed)}; more results lost: {counted(found.results_lost)}.",
    )
    heading = f"{what} at {found.event}, {found.date}: {title}"
    tables = (_bill_table(found, claimed=claimed), _cases_table(found.cases, bills))
    shown = tuple(table for table in tables if table.rows)
    return Page(f"{heading} (invented data)" if invented else heading, lines, shown, CAUTIONS)


def _bill_table(found: Struck, *, claimed: bool) -> Table:
    """The bill, in cash and net of what is then more on hand."""
    names = ("lost in cash", "net of what is then on hand") if claimed else ("paid more", "net of what is then on hand")
    rows = tuple((name, *spread_cells(spread)) for name, spread in zip(names, (found.bill, found.net), strict=True))
    note = (
        "Cash of the whole season with it, less that without: renewals that it brings forward or saves are in. Net: "
        "new parts are worth more than those they replace."
    )
    if claimed:
        note = (
            "Cash of the whole season with the claim, less that without: what is paid for the engine is off, and one "
            "like it is built new. Net: the new engine is worth more than the one that went."
        )
    title = "What you lose" if claimed else "The bill"
    return Table(title, ("", *FIGURES), rows, right=tuple(range(1, 6)), note=note)


def _cases_table(cases: Sequence[CaseOutcome], bills: Sequence[CaseBill]) -> Table:
    """What came of the failures, the likeliest first; none where there is only one way."""
    right = {bill.case: money(bill.total) for bill in reversed(bills)}
    rows = tuple(
        (
            one.case or "nothing more breaks",
            percent(one.share.share),
            right.get(one.case, ""),
            money(one.bill),
            whole(one.error),
        )
        for one in cases
    )
    note = (
        "To put it right: parts, work and other costs at the season's last prices. More a season: the bill above, "
        "which is less where work that was planned anyway comes earlier."
    )
    header = ("What comes of it", "Share", "To put it right", "More a season", "+/-")
    shown = rows if any(one.case for one in cases) and bills else ()
    return Table("By outcome", header, shown, right=(1, 2, 3, 4), note=note)


def struck_csv(found: Struck) -> str:
    """The outcomes as CSV."""
    rows = ((one.case, one.share.share, one.share.error, one.bill, one.error) for one in found.cases)
    return to_csv(("case", "share", "share_error", "bill", "bill_error"), rows)


def affordable_page(found: Affordable, title: str, invented: bool) -> Page:
    """How many events a sum pays for."""
    events, races = found.events, found.races
    lines = (
        f"{rests_on(found.seasons, found.asked, found.seed)} Money in {found.currency}, income counted when it comes.",
        f"The money lasts through {number(events.p50)} of {len(found.by_event)} events in half of all seasons, through "
        f"{number(events.p10)} or fewer in one of ten and {number(events.p90)} or more in one of ten; on average "
        f"{number(events.mean)} (+/- {number(events.error, 2)}). As planned: {found.planned}.",
        f"In races: {number(races.p10)}, {number(races.p50)} and {number(races.p90)}, on average "
        f"{number(races.mean)} (+/- {number(races.error, 2)}).",
        f"Through all of them, what is broken put right at the end: {chance(found.whole)} of seasons.",
    )
    heading = f"What if there is {money(found.sum)} to spend: {title}"
    table = _reached_table(found.by_event)
    return Page(f"{heading} (invented data)" if invented else heading, lines, (table,), CAUTIONS)


def _reached_table(reached: Iterable[Reached]) -> Table:
    rows = tuple(
        (
            day(one.date),
            one.event,
            chance(one.lasts),
            *(whole(x) for x in (one.so_far.p10, one.so_far.p50, one.so_far.p90)),
        )
        for one in reached
    )
    note = (
        "Lasts: in so many seasons what was paid, less what came in, has stayed below the sum up to the end of the "
        "event. Money: what that comes to by then."
    )
    header = ("Date", "Event", "Lasts", "10%", "50%", "90%")
    return Table("How far it goes", header, rows, right=tuple(range(2, 6)), note=note)


def affordable_csv(found: Affordable) -> str:
    """The events with the chance that the money lasts through them, as CSV."""
    header = ("event", "date", "lasts", "lasts_error", "mean", "p10", "p50", "p90")
    rows = (
        (
            one.event,
            one.date,
            one.lasts.share,
            one.lasts.error,
            one.so_far.mean,
            one.so_far.p10,
            one.so_far.p50,
            one.so_far.p90,
        )
        for one in found.by_event
    )
    return to_csv(header, rows)
