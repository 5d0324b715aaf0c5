"""What the figures of the official's page come from: rows of the field, of the survey and of supply.csv, prices."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from costplan.impact.figures import ChangeImpact, GroupImpact, Impact, Supply
from costplan.impact.flipping import Flips
from costplan.impact.records import Group, Supplied, Told
from costplan.report.figures import signed
from costplan.report.impact.change import DRIVERS, WHAT, for_what
from costplan.report.impact.words import mean, unanswered
from costplan.report.tables import listed, number, percent, plural, whole
from costplan.report.web.whys import near_place

#: What a survey asks, in words.
ASKS = {
    "entrants": "entrants",
    "age": "share of its life that a part has run",
    "budget": "budget for power",
    "leaves_above": "first-year cost above which they stop",
}


@dataclass(frozen=True, slots=True)
class OfficialAnswers:
    """What the page shows: the study with what turns it about, and the rows that it is made from."""

    on: date
    found: Impact
    flips: tuple[Flips, ...]
    groups: tuple[Group, ...]
    supplies: Mapping[str, Supplied]


def group_why(answers: OfficialAnswers, name: str) -> tuple[str, ...]:
    """Who they are: their row of field.csv and what they were asked."""
    lines = [line for row in answers.groups if row.group == name for line in _row(row)]
    lines += [told_line(row) for row in answers.found.told if row.group == name]
    return tuple(lines)


def _row(row: Group) -> Iterator[str]:
    yield f"{near_place(str(row.place))}: {row.group}, {plural(row.entrants, 'entrant')}"
    if row.note:
        yield row.note
    yield row.source or "nobody stands for this row: it counts as assumed"


def told_line(row: Told) -> str:
    """A row of the survey."""
    dated = f", {row.date}" if row.date else ""
    who = f"; {plural(row.answers, 'answer')}" if row.answers else ""
    source = row.source or "nobody stands for it"
    return f"{near_place(str(row.place))}: {ASKS[row.asks]}, {range_of(row)}{who}; {source}{dated}"


def range_of(row: Told) -> str:
    """What was told, from the lowest to the highest."""
    shown = [_figure(row, value) for value in (row.low, row.likely, row.high)]
    return f"{shown[0]} / {shown[1]} / {shown[2]}"


def _figure(row: Told, value: Decimal) -> str:
    return percent(float(value)) if row.asks == "age" else whole(value)


def once_why(group: GroupImpact) -> tuple[str, ...]:
    """What one of them pays and gets once, line by line, with the row of its price."""
    lines = (
        f"{signed(amount)}  {WHAT[line.what]} {line.name}, {for_what(line)}"
        + (f" ({near_place(line.place)})" if line.place else "")
        for line, amount in zip(group.lines, group.amounts, strict=True)
    )
    return tuple(lines) or ("nothing is bought, sold or opened for it",)


def year_why(group: GroupImpact) -> tuple[str, ...]:
    """What the difference of a year is made of, what moves most first."""
    head = (
        f"{mean(group.yearly)} in each later year; on average over all years, of {whole(group.year.before)} before and "
        f"{whole(group.year.after)} after:"
    )
    rows = (*group.drivers[:-1][:DRIVERS], *group.drivers[-1:])
    return (head, *(f"{signed(row.more)}  {row.what}: {whole(row.before)} -> {whole(row.after)}" for row in rows))


def over_why(found: Impact, group: GroupImpact) -> tuple[str, ...]:
    """How sure a group's cost over the years is."""
    return (
        f"{mean(group.over)}, from {found.seasons:,} seasons of each of {plural(group.count, 'entrant')}",
        f"{signed(group.low)} to {signed(group.high)} at the ends of what old parts bring and of price rises",
        f"10, 50 and 90 % of them: {listed(signed(one) for one in (group.p10, group.p50, group.p90))} at most",
        f"{mean(group.over_other)} at {number(100 * found.study.discount_other)} % a year instead of "
        f"{number(100 * found.study.discount)} %",
        f"{mean(group.burden)} with lost results counted",
    )


def by_group(one: ChangeImpact, figure: Callable[[GroupImpact], str]) -> tuple[str, ...]:
    """A figure of each group behind a total of the field, the worst hit first."""
    there = tuple(f"{figure(group)}, {group.group} ({group.count})" for group in one.by_worst())
    unable = tuple(f"{group.group} ({group.count}) {unanswered(group)}" for group in one.groups if not group.answered)
    return (*there, *unable)


def each(pick: Callable[[GroupImpact], Decimal]) -> Callable[[GroupImpact], str]:
    """An amount of one entrant of a group."""
    return lambda group: f"{signed(pick(group))} each"


def supply_why(answers: OfficialAnswers, row: Supply) -> tuple[str, ...]:
    """What is known of a part's supply."""
    lines = [f"{row.name or row.part}: {row.lead_days} days from order to door, from {listed(row.suppliers)}"]
    stated = answers.supplies.get(row.part)
    if stated is None:
        return (*lines, "supply.csv says nothing of it")
    return (
        *lines,
        f"{near_place(str(stated.place))}: {stated.ready} ready, {number(float(stated.a_week))} made a week",
        *((f"{row.sole} alone would sell it: {_rise(row)}",) if row.sole and row.rise.high else ()),
        stated.source or "nobody stands for it: it counts as assumed",
    )


def _rise(row: Supply) -> str:
    low, likely, high = (percent(float(rise)) for rise in (row.rise.low, row.rise.likely, row.rise.high))
    return f"its price rises by {likely} ({low} to {high})"
