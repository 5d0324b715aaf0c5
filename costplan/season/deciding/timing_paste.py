"""What to write into the files of a scenario so that its season follows what was found."""

from __future__ import annotations

import math

from costplan.season.deciding.timing_answer import CalendarRow, LevelRow, Paste, PositionRow
from costplan.season.deciding.timing_plan import service_day
from costplan.season.deciding.timing_policy import ENGINE, Choice, Scope


def paste_of(scope: Scope, choice: Choice) -> Paste:
    """The rows by which the season of the files follows a choice."""
    season = scope.season
    spaced = {k for k in scope.dated if choice.intervals[k] != 1 and math.isfinite(season.problem.interval[ENGINE, k])}
    changed = (k for k in scope.dated if choice.dates is not None or k in spaced)
    return Paste(
        *_calendar(scope, choice),
        _idle_level(scope),
        tuple(_level_row(scope, choice, k) for k in changed),
        tuple(_position_rows(scope, choice)),
    )


def _calendar(scope: Scope, choice: Choice) -> tuple[tuple[CalendarRow, ...], tuple[str, ...]]:
    """The dates that do not stand in the calendar, and the service rows that stand there and are none."""
    season, timed = scope.season, {scope.level(k) for k in scope.dated}
    dates = sorted(choice.dates or (), key=lambda one: (one[1], one[0]))
    there = {(row.level, g): row for g, run in enumerate(season.runs) for row in run.services}
    wanted = {(scope.level(k), g) for k, g in dates}
    rows = (
        CalendarRow(f"{scope.level(k)} for {season.runs[g].event.event}", service_day(season, g), scope.level(k))
        for k, g in dates
        if (scope.level(k), g) not in there
    )
    dropped = (
        row.event
        for (level, g), row in there.items()
        if choice.dates is not None and level in timed and g >= season.problem.begin and (level, g) not in wanted
    )
    return tuple(rows), tuple(dropped)


def _idle_level(scope: Scope) -> str:
    """The lowest level of the engine without labour, at which a row of the calendar does nothing that is paid."""
    idle = (step.level for k, step in enumerate(scope.season.ladders[ENGINE]) if step.row and k not in scope.dated)
    return next(idle, "")


def _level_row(scope: Scope, choice: Choice, k: int) -> LevelRow:
    season = scope.season
    row = season.ladders[ENGINE][k].row
    now = row.renews if row else ()
    renews = dict.fromkeys((*now, *(season.spots[p].base for p in sorted(choice.always) if season.spots[p].level == k)))
    interval = row.interval * choice.intervals[k] if row and row.interval and choice.dates is None else None
    return LevelRow(scope.level(k), interval, tuple(renews), len(renews) > len(now), choice.rest)


def _position_rows(scope: Scope, choice: Choice) -> list[PositionRow]:
    """The positions of which something else is to stand in positions.csv."""
    season, found = scope.season, []
    for p, spot in enumerate(season.spots):
        waits = choice.dates is not None and spot.ladder == ENGINE and spot.level in scope.dated and p not in scope.kept
        use = choice.uses[p]
        if spot.service is None and (waits or use != spot.factor):
            for_ever = use == math.inf
            found.append(
                PositionRow(
                    spot.base,
                    "run to failure" if for_ever else "at interval",
                    1.0 if for_ever else round(use, 4),
                    waits,
                )
            )
    return found
