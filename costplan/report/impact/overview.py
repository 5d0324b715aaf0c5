"""The changes side by side: what each costs the whole field, and nothing done."""

from __future__ import annotations

from collections.abc import Iterator

from costplan.impact.figures import ChangeImpact, GroupImpact, Impact
from costplan.report.figures import signed
from costplan.report.impact.words import costs_or_saves, payback
from costplan.report.tables import Table, number, plural, whole


def opening_lines(found: Impact) -> Iterator[str]:
    """What was studied, and how its figures are to be read."""
    groups = len(found.changes[0].groups)
    yield (
        f"{plural(found.entrants, 'entrant')} in {plural(groups, 'group')}; money in {found.currency}; plus is a cost, "
        f"minus a saving. Each entrant's {found.seasons:,} seasons, {found.study.years} years in a row, are drawn "
        f"before and after the change on the same luck, seed {found.seed}. +/-: one standard error of that drawing "
        "alone."
    )
    today = found.as_it_is
    yield (
        f"Nothing done, the field pays {whole(today.first)} in the first year and {whole(today.yearly)} in each "
        "later one, entries and fuel included and winnings taken off; every figure below is the difference to that."
    )


def side_by_side(found: Impact) -> Table:
    """A row for each change, and one for nothing done."""
    years = found.study.years
    header = ("", "Once", "First year", "A year then", f"Over {years} years", "+/-", "Pays back", "Losers")
    rows = [("nothing done", "0", "0", "0", "0", "", "", "0")]
    for one in found.changes:
        total = one.total
        rows.append(
            (
                one.name,
                signed(total.once),
                signed(total.first.mean),
                signed(total.yearly.mean),
                signed(total.over.mean),
                whole(total.over.error),
                payback(total.payback, years),
                str(total.losers),
            )
        )
    note = (
        "The whole field. Once: parts, work and levels opened, less what is sold. First year: that and the "
        f"difference in cash. Over {years} years: discounted at {number(100 * found.study.discount)}% a year, what "
        f"is then on hand taken off. Losers: entrants who lose more than {whole(found.loss)} over the years."
    )
    return Table("The changes side by side", header, tuple(rows), (1, 2, 3, 4, 5, 6, 7), note)


def verdict(found: Impact, one: ChangeImpact) -> str:
    """A change in two sentences."""
    total, years = one.total, found.study.years
    worst = next(iter(one.by_worst()), None)
    back = "" if total.payback is None or not total.payback else f", paid back after {payback(total.payback, years)}"
    doubt = "" if total.over.shown else ", within the error of the drawing"
    text = (
        f"{one.name} {costs_or_saves(total.over.mean)} over {years} years{doubt}: {whole(abs(total.once))} "
        f"{'paid' if total.once >= 0 else 'got'} once, then {signed(total.yearly.mean)} a year{back}."
    )
    if total.unable:
        text += f" {plural(total.unable, 'entrant')} cannot comply with any parts of the catalogs, and are not counted."
    if worst is not None:
        text += (
            f" {total.winners} gain and {total.losers} lose more than {whole(found.loss)}; "
            f"{'worst hit' if worst.over.mean > 0 else 'least helped'}: {worst.group}, {signed(worst.over.mean)} each."
        )
    return text


def who_pays(found: Impact, one: ChangeImpact) -> Table:
    """A row for each group, the worst hit first."""
    years = found.study.years
    header = ("Group", "Entrants", "Once", "First year", "A year then", f"Over {years} years", "+/-", "Pays back")
    rows = [_group_row(group, years) for group in one.by_worst()]
    rows += [
        (group.group, str(group.count), "cannot comply", "", "", "", "", "")
        for group in one.groups
        if not group.answered
    ]
    return Table(f"Who pays for {one.name}", header, tuple(rows), (1, 2, 3, 4, 5, 6, 7), "By entrant of each group.")


def _group_row(group: GroupImpact, years: int) -> tuple[str, ...]:
    return (
        group.group,
        str(group.count),
        signed(group.once),
        signed(group.first.mean),
        signed(group.yearly.mean),
        signed(group.over.mean),
        whole(group.over.error),
        payback(group.payback, years),
    )
