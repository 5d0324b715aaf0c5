"""The page of `costplan impact`, and its table."""

from __future__ import annotations

from collections.abc import Iterator

from costplan.impact.figures import ChangeImpact, Impact
from costplan.impact.flipping import Flips
from costplan.report.data import to_csv
from costplan.report.figures import signed
from costplan.report.impact import change, method, overview
from costplan.report.impact.words import CAUTIONS
from costplan.report.tables import Page, Passage, Table, whole


def impact_page(found: Impact, flips: tuple[Flips, ...] = (), *, why: bool = False) -> Page:
    """What each change costs whom; of a single one everything. `why`: also the rows that it comes from."""
    heading = f"What a rule change costs whom: {found.title}"
    lines = (*overview.opening_lines(found), *(overview.verdict(found, one) for one in found.changes))
    tables = [overview.side_by_side(found)]
    passages: list[Passage] = []
    if len(found.changes) == 1:
        one = found.changes[0]
        lines = (*lines, *change.losers(found, one))
        tables = _in_full(found, one)
        passages = [change.proposal(one)]
    else:
        tables += [overview.who_pays(found, one) for one in found.changes]
    tables += [flips_table(one) for one in flips]
    if why:
        tables += [table for one in found.changes for table in (change.why_once(found, one), change.why_yearly(one))]
    title = f"{heading} (invented data)" if found.invented else heading
    return Page(title, lines, tuple(tables), CAUTIONS, tuple(passages), tuple(_closing(found)))


def _in_full(found: Impact, one: ChangeImpact) -> list[Table]:
    tables = (
        overview.who_pays(found, one),
        change.answers(one),
        change.how_sure(found, one),
        change.phases(one),
        change.stranded(one),
        change.supply(found, one),
        change.intervals(one),
        change.spending(one),
    )
    return [table for table in tables if table is not None]


def _closing(found: Impact) -> Iterator[Passage]:
    """What is said beside the figures."""
    if len(found.changes) == 1:
        yield change.officials(found, found.changes[0])
    yield from method.passages(found)


def flips_table(found: Flips) -> Table:
    """Which assumption flips a change."""
    rows = tuple(
        (
            one.assumption,
            signed(one.lower),
            signed(one.higher),
            whole(one.error),
            f"at {one.at - 1:+.0%}" if one.at is not None else "",
        )
        for one in found.assumptions
    )
    words = f"{found.flipping} flip it alone" if found.flipping else "No assumption flips it alone"
    note = (
        f"{words}: each is moved a fifth down and up, for some entrants of each group, on the same luck; +/- of that "
        f"move. As studied: {signed(found.over)}."
    )
    header = ("Assumption", "20% lower", "20% higher", "+/-", "Flips")
    return Table(f"Which assumption turns {found.name} about", header, rows, (1, 2, 3), note)


def impact_csv(found: Impact) -> str:
    """A row for each change and group."""
    header = (
        "change",
        "group",
        "entrants",
        "answered",
        "once",
        "first_year",
        "first_year_error",
        "yearly",
        "yearly_error",
        "wear",
        "over_years",
        "over_years_error",
        "payback_years",
        "stranded",
        "brings",
        "losers",
        "leaving",
    )
    rows = [
        (
            one.name,
            group.group,
            group.count,
            "yes" if group.answered else "no",
            group.once,
            group.first.mean,
            group.first.error,
            group.yearly.mean,
            group.yearly.error,
            group.wear.mean,
            group.over.mean,
            group.over.error,
            "" if group.payback is None else f"{group.payback:.2f}",
            group.stranded,
            group.brings,
            group.losers,
            "" if group.leaving is None else group.leaving,
        )
        for one in found.changes
        for group in one.groups
    ]
    return to_csv(header, rows)
