"""What if: a part fails, the engine is claimed, the money is only so much; as pages."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal

from costplan.report.data import to_csv
from costplan.report.figures import chance, counted, errors, rests_on, spread_cells
from costplan.report.tables import Page, Table, day, money, number, percent, plural, whole
from costplan.season.bills import CaseBill
from costplan.season.drawn.figures import Count
from costplan.season.drawn.whatif import Affordable, CaseOutcome, Reached, Struck

CAUTIONS = (
    "What follows rests on assumed lives, rain and damage, and is no better than those. Nothing here is a safety "
    "decision: parts can fail new. Inspect; follow maker and builder. Officials decide what may race.",
)
FIGURES = ("10%", "50%", "90%", "Mean", "+/-")


def struck_page(
    found: Struck, bills: Sequence[CaseBill], title: str, invented: bool, *, claimed: bool, taken: str = ""
) -> Page:
    """What it costs when something happens at an event; `bills`: what putting it right costs, by case.

    `taken`: what of a claim is as a case of damage.csv has it. Of an event that is never run there is no bill.
    """
    what = f"What if {found.what}" if claimed else f"Failure of {found.what}"
    lines = (
        f"{rests_on(found.seasons, found.asked, found.seed)} Each with it and without it, all else drawn alike. Money "
        f"in {found.currency}.{f' {taken}' if taken else ''}",
        *(_struck_lines(found, claimed=claimed) if found.run.share else (NEVER_RUN,)),
    )
    heading = f"{what} at {found.event}, {found.date}: {title}"
    tables = (_bill_table(found, claimed=claimed), _cases_table(found.cases, bills)) if found.run.share else ()
    shown = tuple(table for table in tables if table.rows)
    return Page(f"{heading} (invented data)" if invented else heading, lines, shown, CAUTIONS)


NEVER_RUN = "The event is run in none of the seasons drawn, so that there is no bill."


def _struck_lines(found: Struck, *, claimed: bool) -> Iterator[str]:
    """What it comes to at the median, and what the figures rest on."""
    if claimed:
        cash, net = _lose(found.bill.p50), _lose(found.net.p50)
        yield f"At the median you {cash} in cash; net of what is then on hand you {net}."
    yield (
        f"The event is run in {chance(found.run, found.seasons)} of seasons; the figures are over those. "
        f"{errors(found.seasons)}"
    )
    yield f"More races missed for it: {counted(found.missed)}; more results lost: {counted(found.results_lost)}."


def _lose(amount: Decimal) -> str:
    """A loss, or, below zero, a gain.

    >>> _lose(Decimal("1200.40")), _lose(Decimal(-300)), _lose(Decimal(0))
    ('lose 1,200', 'gain 300', 'neither lose nor gain')
    """
    if not round(amount):
        return "neither lose nor gain"
    return f"{'lose' if amount > 0 else 'gain'} {whole(abs(amount))}"


def _bill_table(found: Struck, *, claimed: bool) -> Table:
    """The bill, in cash and net of what is then more on hand."""
    names = ("in cash", "net of what is then on hand") if claimed else ("paid more", "net of what is then on hand")
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
    title = "Loss (+) or gain (-)" if claimed else "The bill"
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
            whole(one.error) if one.error else "",
        )
        for one in cases
    )
    note = (
        "To put it right: parts bought new, work and other costs at the season's last prices. More a season: the bill "
        "above, which differs where planned work comes earlier or spares are on the shelf."
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
        f"Of {plural(len(found.by_event), 'event')} the money lasts through {_lasts(events, found.seasons)} "
        f"As planned: {found.planned}.",
        f"Of races: {_lasts(races, found.seasons)}",
        f"Through all of them, what is broken put right at the end: {chance(found.whole, found.seasons)} of seasons.",
        errors(found.seasons),
    )
    heading = f"What if there is {money(found.sum)} to spend: {title}"
    table = _reached_table(found.by_event, found.seasons)
    return Page(f"{heading} (invented data)" if invented else heading, lines, (table,), CAUTIONS)


def _lasts(count: Count, seasons: int) -> str:
    """How many of them, in nine of ten seasons and on average."""
    if seasons == 1:
        return f"{number(count.mean)} in the one season drawn."
    error = f" (+/- {number(count.error, 2)})" if count.error else ""
    return (
        f"at least {number(count.p10)} in nine of ten seasons, at most {number(count.p90)} in nine of ten, at most "
        f"{number(count.p50)} in half; on average {number(count.mean)}{error}."
    )


def _reached_table(reached: Iterable[Reached], seasons: int) -> Table:
    rows = tuple(
        (
            day(one.date),
            one.event,
            chance(one.lasts, seasons),
            *(whole(x) for x in (one.so_far.p10, one.so_far.p50, one.so_far.p90)),
        )
        for one in reached
    )
    note = (
        "Lasts: in so many seasons what was paid, less what came in, has not passed the sum up to the end of the "
        "event. Money: what that comes to by then, which 10, 50 and 90% of seasons stay at or below."
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
