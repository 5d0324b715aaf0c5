"""The changes side by side: what each costs the whole field, and nothing done."""

from __future__ import annotations

from collections.abc import Iterator

from costplan.impact.figures import ChangeImpact, GroupImpact, Impact
from costplan.report.figures import signed
from costplan.report.impact.words import change_of, costs_or_saves, payback, races, unanswered
from costplan.report.tables import Table, number, plural, whole


def opening_lines(found: Impact) -> Iterator[str]:
    """What was studied, and how its figures are to be read."""
    groups = len(found.changes[0].groups)
    yield (
        f"{plural(found.entrants, 'entrant')} in {plural(groups, 'group')}; money in {found.currency}; plus is a cost, "
        f"minus a saving. Each entrant's {found.seasons:,} seasons, {found.study.years} years in a row, are drawn "
        f"before and after the change on the same luck, seed {found.seed}. +/-: one standard error, of luck and of "
        "ages drawn."
    )
    today = found.as_it_is
    yield (
        f"Nothing done, the field pays {whole(today.first)} in the first year and {whole(today.yearly)} in each "
        "later one, entries and fuel included and winnings taken off; every figure below is the difference to that."
    )


def side_by_side(found: Impact) -> Table:
    """A column for each change, and one for nothing done."""
    years = found.study.years
    rows = [
        ("paid once", "0", *(signed(one.total.once) for one in found.changes)),
        ("in the first year", "0", *(signed(one.total.first.mean) for one in found.changes)),
        ("each later year", "0", *(signed(one.total.yearly.mean) for one in found.changes)),
        (f"over {years} years", "0", *(signed(one.total.over.mean) for one in found.changes)),
        ("  +/-", "", *(whole(one.total.over.error) for one in found.changes)),
        ("  lost results counted", "0", *(signed(one.total.burden.mean) for one in found.changes)),
        ("paid back, years", "", *(payback(one.total.payback, years) for one in found.changes)),
        (f"lose over {whole(found.loss)}", "0", *(str(one.total.losers) for one in found.changes)),
        (f"gain over {whole(found.loss)}", "0", *(str(one.total.winners) for one in found.changes)),
        ("races missed a year", "0", *(change_of(one.total.missed) for one in found.changes)),
        ("stopped by failure", "0", *(change_of(one.total.stopped) for one in found.changes)),
        ("parts put out, worth", "0", *(whole(one.total.stranded) for one in found.changes)),
        ("wait at round 1", "0", *(waiting(one) for one in found.changes)),
    ]
    note = (
        "The whole field. Paid once: parts, work and levels opened, less what is sold; the first year is that with the "
        f"difference in cash. Over {years} years: discounted at {number(100 * found.study.discount)}% a year, what "
        "is then on hand taken off; paid back: once savings, discounted, have paid what was paid once. A lost result "
        f"counts {whole(found.result_worth)} for that of a whole race. Lose, gain, wait: entrants; who waits has not "
        "got what it must buy."
    )
    header = ("", "nothing done", *(one.name for one in found.changes))
    return Table("The changes side by side", header, tuple(rows), tuple(range(1, len(header))), note)


def waiting(one: ChangeImpact) -> str:
    """The most entrants who would have no part by the first round, of any part; nothing where nobody says."""
    known = [row.waiting for row in one.supply if row.waiting is not None]
    return str(max(known)) if known else "" if one.supply else "0"


def verdict(found: Impact, one: ChangeImpact) -> str:
    """A change in two sentences."""
    total, years = one.total, found.study.years
    worst = next((group for group in one.by_worst() if round(group.over.mean)), None)
    back = f", paid back after {payback(total.payback, years)} years" if total.payback else ""
    doubt = "" if total.over.shown else ", within the error of the drawing"
    text = (
        f"{one.name} {costs_or_saves(total.over.mean)} over {years} years{doubt}: {whole(abs(total.once))} "
        f"{'paid' if total.once >= 0 else 'got'} once, then {signed(total.yearly.mean)} a year{back}. "
        f"With lost results counted it {costs_or_saves(total.burden.mean)}."
    )
    if total.unable:
        unable = plural(total.unable, "entrant")
        text += f" For {unable} no parts of the catalogs were found that comply; they are not counted."
    if worst is not None:
        text += (
            f" {total.winners} gain and {total.losers} lose more than {whole(found.loss)}; "
            f"{'worst hit' if worst.over.mean > 0 else 'least helped'}: {worst.group}, {signed(worst.over.mean)} "
            f"each. Races a season in the whole field: {races(total.missed, 'missed')}, "
            f"{races(total.stopped, 'stopped by a failure')}."
        )
    return text


def who_pays(found: Impact, one: ChangeImpact) -> Table:
    """A row for each group, the worst hit first."""
    years = found.study.years
    header = ("Group", "No.", "Once", "First year", "Then a year", f"{years} years", "+/-", "Back in")
    rows = [_group_row(group, years) for group in one.by_worst()]
    rows += [
        (group.group, str(group.count), unanswered(group), "", "", "", "", "")
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
