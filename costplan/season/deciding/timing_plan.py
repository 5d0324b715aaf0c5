"""A choice played with nothing drawn: what is opened when, how old parts are at events, what keeps a date in place."""

from __future__ import annotations

import copy
import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

from costplan.season import machine
from costplan.season.calendar import gap_before
from costplan.season.deciding.timing_answer import AgeAt
from costplan.season.deciding.timing_policy import ENGINE, Choice, Scope, as_planned, can_fail, under
from costplan.season.jobs import why_owed
from costplan.season.ledger import openings_of, renewals_of
from costplan.season.names import Season


def walked(season: Season, choice: Choice) -> machine.State:
    """A season under a choice with nothing drawn, and its traces."""
    state = copy.deepcopy(season.start)
    machine.play(as_planned(under(season, choice, 0)), state)
    return state


def opened(scope: Scope, state: machine.State) -> frozenset[tuple[int, int]]:
    """The openings of engines at the levels that cost labour: level and run."""
    rows = openings_of(state).tolist()
    return frozenset((k, g) for g, _, t, k in rows if t == ENGINE and k in scope.dated)


def planned_dates(scope: Scope, choice: Choice) -> frozenset[tuple[int, int]]:
    """The openings of a choice in which nothing is drawn, as dates between events."""
    rows = opened(scope, walked(scope.season, choice))
    return frozenset((k, scope.whole_event(g)) for k, g in rows if g < len(scope.season.runs))


def on_dates(scope: Scope, choice: Choice) -> Choice:
    """A choice with the openings of its plan as dates."""
    return replace(choice, intervals=(1.0,) * len(choice.intervals), dates=planned_dates(scope, choice))


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
    """How old the short-lived parts, the most worn of the others and what is renewed later are when events begin."""
    season = scope.season
    states = [walked(season, one) for one in (choice, fixed)]
    later = (p for p in range(len(season.spots)) if choice.uses[p] > fixed.uses[p])
    slots = dict.fromkeys((*scope.short, *_most_worn(scope, states, starts), *later))
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


def in_the_way(scope: Scope, choice: Choice, date: tuple[int, int], to: int) -> str:
    """Why a date cannot be moved to the gap before a run; '' where it can."""
    season, (k, g) = scope.season, date
    level, event = scope.level(k), season.runs[to].event.event
    hours, gap = float(season.problem.hours[ENGINE, k]), scope.hours_before(to)
    if hours > gap:
        left = "left " if season.standing and to == season.problem.begin else ""
        return f"the {gap:g} h {left}before {event} do not hold the {hours:g} h of {level}"
    moved = choice.without(date).plus((k, to))
    if moved == choice.without(date):
        return ""
    before, after = (walked(season, one) for one in (choice, moved))
    if to > g:
        there = opened(scope, after)
        still = {one for one in there if one[1] == g and one not in (moved.dates or ())}
        reason = _forced(scope, after, (there - opened(scope, before)) | still, date, to)
        if reason:
            return reason
    return _not_done(scope, moved, date, to, before, after)


def _not_done(
    scope: Scope, moved: Choice, date: tuple[int, int], to: int, before: machine.State, after: machine.State
) -> str:
    """Why a date that was moved is not done where it was moved to; '' where it is, or was not done before either."""
    season, (k, g) = scope.season, date
    level, event = scope.level(k), season.runs[to].event.event
    done = any(run == to and other >= k for other, run in opened(scope, after))
    if done or not any(run == g and other >= k for other, run in opened(scope, before)):
        return ""
    if _barred(season, after, k, to):
        return f"the rule book allows no {level} before {event}"
    if not moved.rest:
        return f"no engine is there for {level} before {event}"
    return f"{level} is done less than {moved.rest:g} events before {event}"


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


def _forced(scope: Scope, state: machine.State, new: frozenset[tuple[int, int]], date: tuple[int, int], to: int) -> str:
    """What opens the engine between a date and a run that it is moved to: what its log leaves owed, or what may not run
    on, being at its hard limit or not to be stretched."""
    season = scope.season
    rows = renewals_of(state).tolist()
    for k, run in sorted(new, key=lambda one: one[1]):
        if not date[1] <= run < to:
            continue
        event = gap_before(season.runs, run)[1]
        owed = _owed(season, state, k, run) if k >= date[0] else ""
        if owed:
            return f"{scope.level(k)} before {event}: {owed}"
        slots = [row[2] for row in rows if row[0] == run and row[8] == k and row[3] == machine.PLANNED]
        stuck = [p for p in slots if season.spots[p].level == k and (p in scope.kept or season.problem.limited[p])]
        # What the level renews every time may be in it for no other reason.
        stuck.sort(key=lambda p: bool(season.problem.renews[ENGINE, k, p]))
        if stuck:
            reached = season.problem.limited[stuck[0]] and stuck[0] not in scope.kept
            why = "a hard limit reached" if reached else "due"
            return f"{season.spots[stuck[0]].slot}: {why} before {event}, not to be stretched"
    return ""


def _owed(season: Season, state: machine.State, k: int, run: int) -> str:
    """What a log leaves owed that an opening at a level before a run does; '' for nothing."""
    carriers = [c for g, c, t, other in openings_of(state).tolist() if (g, t, other) == (run, ENGINE, k)]
    return next(filter(None, (why_owed(season, state, run, c, ENGINE, k) for c in carriers)), "")


def service_day(season: Season, g: int) -> date:
    """The first day on which a service before a run can be done: that after the event before it, or that of the log.

    It is also the date of its row in the calendar, so that it is never that of the event itself, behind which the row
    would stand. The last day, on which the work must begin at the latest, is `orders.begins`.
    """
    event = season.runs[g].event.date
    eve = event - timedelta(days=1)
    before = season.runs[g - 1].event.date if g else min(season.opening, event)
    first = before + timedelta(days=1) if g and before < eve else before
    return max(first, min(season.standing.on, eve)) if season.standing else first
