"""A choice played with nothing drawn: what is opened when, how old parts are at events, what keeps a date in place."""

from __future__ import annotations

import copy
import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from costplan.season import machine
from costplan.season.calendar import gap_before
from costplan.season.deciding.timing_policy import ENGINE, Choice, Scope, as_planned, can_fail, under
from costplan.season.deciding.timing_search import big_starts
from costplan.season.ledger import openings_of, renewals_of
from costplan.season.names import Season


@dataclass(frozen=True, slots=True)
class AgeAt:
    """The share of its assumed life that a position has used when an event begins, under the dates and as filed."""

    event: str
    date: date
    slot: str
    chosen: float
    fixed: float


def walked(season: Season, choice: Choice) -> machine.State:
    """A season under a choice with nothing drawn, and its traces."""
    state = copy.deepcopy(season.start)
    machine.play(as_planned(under(season, choice, 0)), state)
    return state


def opened(scope: Scope, state: machine.State) -> frozenset[tuple[int, int]]:
    """The openings of engines at the levels that cost labour: level and run."""
    rows = openings_of(state).tolist()
    return frozenset((k, g) for g, _, t, k in rows if t == ENGINE and k in scope.dated)


def used_at(season: Season, state: machine.State, g: int, p: int) -> float:
    """The share of its life, by the files, that a position has used when run g begins; NaN where no engine runs."""
    c = len(season.carriers) - 1 if season.spots[p].on_car else int(state.ran[g])
    if state.ran[g] < 0:
        return math.nan
    problem, step = season.problem, int(state.trace_step[g, c, p])
    factor, share = float(problem.step_factor[p, step]), 0.0
    for j in season.lives(p):
        age = state.trace_age[g, c, j] - (problem.duty[g + 1, j] - problem.duty[g, j])
        raw = state.trace_raw[g, c, j] - (problem.raw[g + 1, j] - problem.raw[g, j])
        share = max(share, float(age / (problem.worn_at[j] * factor)), float(raw / problem.limit[j]))
    return share


def ages_at_big_events(scope: Scope, choice: Choice, fixed: Choice, starts: Sequence[int]) -> tuple[AgeAt, ...]:
    """How old the short-lived parts and the most worn of the others are when events begin."""
    season = scope.season
    states = [walked(season, one) for one in (choice, fixed)]
    slots = [*scope.short, *_most_worn(scope, states, starts)]
    return tuple(
        AgeAt(
            season.runs[g].event.event,
            season.runs[g].event.date,
            season.spots[p].slot,
            *(used_at(season, state, g, p) for state in states),
        )
        for g in starts
        for p in slots
    )


#: Positions whose age is shown beside the short-lived ones.
WORST = 5


def _most_worn(scope: Scope, states: Sequence[machine.State], starts: Sequence[int]) -> list[int]:
    """The positions of an engine that are the most worn at any of some events."""
    season = scope.season
    found = [
        p
        for p, spot in enumerate(season.spots)
        if spot.ladder == ENGINE and spot.level in scope.dated and can_fail(season, p) and p not in scope.short
    ]

    def worst(p: int) -> float:
        shares = (used_at(season, state, g, p) for state in states for g in starts)
        return max((share for share in shares if not math.isnan(share)), default=0.0)

    return sorted(found, key=lambda p: -worst(p))[:WORST]


def freshened_by(scope: Scope, state: machine.State, g: int, p: int) -> tuple[str, str]:
    """The level and the event before which what is in a position at run g was put in; '' for what was in already."""
    season = scope.season
    rows = [row for row in renewals_of(state).tolist() if row[2] == p and row[0] <= g and row[1] == state.ran[g]]
    if not rows:
        return "", ""
    run, _, _, _, _, _, _, _, k, *_ = rows[-1]
    return season.ladders[season.spots[p].ladder][k].level, gap_before(season.runs, run)[1]


def event_starts(scope: Scope) -> tuple[int, ...]:
    """The first runs of the big events."""
    return big_starts(scope)


def in_the_way(scope: Scope, choice: Choice, date: tuple[int, int], to: int) -> str:
    """Why a date cannot be moved to the gap before a run; '' where it can."""
    season, (k, g) = scope.season, date
    level, event = scope.level(k), season.runs[to].event.event
    hours, gap = float(season.problem.hours[ENGINE, k]), scope.hours_before(to)
    if hours > gap:
        return f"the {gap:g} h before {event} do not hold the {hours:g} h of {level}"
    moved = choice.without(date).plus((k, to))
    if moved == choice.without(date):
        return ""
    before, after = (walked(season, one) for one in (choice, moved))
    if to > g:
        there = opened(scope, after)
        still = {one for one in there if one[1] == g and one not in (moved.dates or ())}
        reason = _forced(scope, after, (there - opened(scope, before)) | still, g, to)
        if reason:
            return reason
    done = any(run == to and other >= k for other, run in opened(scope, after))
    if done or not any(run == g and other >= k for other, run in opened(scope, before)):
        return ""
    if _barred(season, after, k, to):
        return f"the rule book allows no {level} before {event}"
    return f"{level} is done less than {choice.rest:g} events before {event}"


def _barred(season: Season, state: machine.State, k: int, to: int) -> bool:
    """Whether a clause in force in the gap before a run has had all the openings at a level that it allows."""
    problem, rows = season.problem, openings_of(state).tolist()
    for b in range(problem.bar_bond.shape[0]):
        low, high = int(problem.bar_low[b]), int(problem.bar_high[b])
        if problem.bar_ladder[b] == ENGINE and low <= k <= high and problem.bar_holds[b, to]:
            before = int(season.start.opened[b].sum())
            done = before + sum(t == ENGINE and other >= low and g <= to for g, _, t, other in rows)
            if done >= problem.bar_most[b]:
                return True
    return False


def _forced(scope: Scope, state: machine.State, new: frozenset[tuple[int, int]], g: int, to: int) -> str:
    """What opens the engine between two gaps because it may not run on: at its hard limit, or not to be stretched."""
    season = scope.season
    rows = renewals_of(state).tolist()
    for k, run in sorted(new, key=lambda one: one[1]):
        if not g <= run < to:
            continue
        slots = [row[2] for row in rows if row[0] == run and row[8] == k and row[3] == machine.PLANNED]
        stuck = [p for p in slots if season.spots[p].level == k and (p in scope.kept or season.problem.limited[p])]
        if stuck:
            slot, event = season.spots[stuck[0]].slot, gap_before(season.runs, run)[1]
            reached = season.problem.limited[stuck[0]] and stuck[0] not in scope.kept
            return f"{slot}: {'a hard limit reached' if reached else 'due'} before {event}, not to be stretched"
    return ""


def service_day(season: Season, g: int) -> date:
    """The day from which a service before a run can be done: the first after the event before it."""
    if g == 0:
        return min(season.opening, season.runs[0].event.date)
    before, day = season.runs[g - 1].event.date, season.runs[g].event.date
    return before + timedelta(days=1) if before + timedelta(days=1) < day else before
