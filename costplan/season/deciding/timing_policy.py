"""Policies of renewal: what a choice of dates, renewal uses and intervals changes in the machine's problem.

A choice is no second scheduler: the machine is given other figures and plays as ever. Limits, lives and what things are
worth stay those of the files, whatever is chosen.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from costplan.quantity import MEASURES
from costplan.season import machine
from costplan.season.arrays import as_drawn
from costplan.season.drawn.drawing import Draws
from costplan.season.machine.years import DAYS_A_YEAR
from costplan.season.names import LADDERS, Season

#: The ladder whose levels are given dates.
ENGINE = LADDERS.index("engine")
EVENTS = list(MEASURES).index("events")
#: Of a part that is renewed sooner than after so many events it is asked how fresh it is.
SHORT = 12.0
#: Use since a level was done, where that is not known.
LONG_AGO = 1e6
#: The weight from which on an event is a big one.
BIG = 2.0


@dataclass(frozen=True, slots=True)
class Choice:
    """What may be chosen. `uses` [P]: the renewal use of a position as a multiple of its replace_at, infinite for
    running to failure; `intervals` [K]: those of the engine's levels as multiples of the files'.

    With `dates` (level and run before which it is done) those levels have no interval, and what may wait for a date
    does not open the engine where it is merely due; a date is passed over where the level was done less than `rest`
    events before. `always`: positions that every opening at their level renews.
    """

    uses: tuple[float, ...]
    intervals: tuple[float, ...]
    dates: frozenset[tuple[int, int]] | None = None
    rest: float = 0.0
    always: frozenset[int] = frozenset()

    def with_use(self, p: int, use: float) -> Choice:
        return replace(self, uses=(*self.uses[:p], use, *self.uses[p + 1 :]))

    def with_interval(self, k: int, factor: float) -> Choice:
        return replace(self, intervals=(*self.intervals[:k], factor, *self.intervals[k + 1 :]))

    def without(self, date: tuple[int, int]) -> Choice:
        return replace(self, dates=(self.dates or frozenset()) - {date})

    def plus(self, date: tuple[int, int]) -> Choice:
        return replace(self, dates=(self.dates or frozenset()) | {date})


@dataclass(frozen=True, slots=True)
class Scope:
    """What may be moved in a season: levels `dated` by number, the gaps before events that hold each, as runs; the
    positions `fixed` that may not be stretched, those that are `short`-lived; `renewed` [P]: replace_at of every
    position in the measure of its `leading` life, infinite for none.
    """

    season: Season
    dated: tuple[int, ...]
    holds: tuple[tuple[int, ...], ...]
    kept: frozenset[int]
    short: tuple[int, ...]
    leading: tuple[int, ...]

    @property
    def firsts(self) -> tuple[int, ...]:
        """The first runs of the events that are still to come."""
        return tuple(g for g, run in enumerate(self.season.runs) if run.first and g >= self.season.problem.begin)

    def level(self, k: int) -> str:
        return self.season.ladders[ENGINE][k].level

    def hours_before(self, g: int) -> float:
        """The hours of the gap before a run; of the gap at hand, those that are left of it."""
        problem = self.season.problem
        since = self.season.start.idle_since[:-1].min() if g == problem.begin else problem.clock[g - 1]
        return float(problem.clock[g] - since)

    def whole_event(self, g: int) -> int:
        """The first run of the event that a run belongs to, since dates lie between events."""
        return max((first for first in self.firsts if first <= g), default=g)

    def big_starts(self) -> tuple[int, ...]:
        """The first runs of the big events: those of great weight, and the first nights of shows."""
        runs, found, shows = self.season.runs, [], set()
        for g in self.firsts:
            event = runs[g].event
            if event.counts >= BIG or (event.show and event.show not in shows):
                found.append(g)
            shows.add(event.show)
        return tuple(found)


def done_long_ago(season: Season) -> Season:
    """A season in which no level rests of which it is not known when it was done: one without an interval."""
    since, problem = season.start.since.copy(), season.problem
    for k in range(len(season.ladders[ENGINE])):
        if not math.isfinite(problem.interval[ENGINE, k]):
            since[:, ENGINE, k] = np.where(since[:, ENGINE, k] > 0, since[:, ENGINE, k], LONG_AGO)
    return replace(season, start=season.start._replace(since=since))


def scope_of(season: Season) -> Scope:
    """What may be moved in a season."""
    problem, ladder = season.problem, season.ladders[ENGINE]
    dated = tuple(k for k, step in enumerate(ladder) if step.row is not None and problem.cost[ENGINE, k] > 0)
    rows = {row.slot: row for row in season.files.positions}
    kept = frozenset(
        p for p, spot in enumerate(season.spots) if spot.dated or (spot.base in rows and not rows[spot.base].stretch)
    )
    leading = tuple(_leading(season, p) for p in range(len(season.spots)))
    scope = Scope(season, dated, (), kept, (), leading)
    holds = tuple(
        tuple(g for g in scope.firsts if scope.hours_before(g) >= problem.hours[ENGINE, k]) for k in range(len(ladder))
    )
    return replace(scope, holds=holds, short=_short(season, dated, kept, leading))


def _leading(season: Season, p: int) -> int:
    """The life of a position that is used up first where all its runs are run; -1 for none."""
    problem = season.problem
    lives = [j for j in season.lives(p) if problem.duty[-1, j] > 0 and math.isfinite(replace_at(season, p, j))]
    return min(lives, key=lambda j: replace_at(season, p, j) / problem.duty[-1, j], default=-1)


def replace_at(season: Season, p: int, j: int) -> float:
    """Where the trade renews a position by a life, whatever factor the files give; infinite for never by age."""
    spot, number = season.spots[p], j - season.lives(p).start
    if spot.service is not None:
        return float(season.problem.worn_at[j])
    return spot.lives[number].replace_at if number < len(spot.lives) else math.inf


def in_events(season: Season, j: int, use: float) -> float:
    """A use of a life as so many events of the calendar's average."""
    return use / float(season.problem.duty[-1, j]) * sum(run.first for run in season.runs)


def _short(season: Season, dated: tuple[int, ...], kept: frozenset[int], leading: tuple[int, ...]) -> tuple[int, ...]:
    """Positions at a dated level that are renewed sooner than after `SHORT` events: of those that may not be
    stretched, or, where there are none, of all.
    """
    found = [
        p
        for p, spot in enumerate(season.spots)
        if spot.ladder == ENGINE
        and spot.level in dated
        and leading[p] >= 0
        and in_events(season, leading[p], replace_at(season, p, leading[p])) < SHORT
    ]
    return tuple([p for p in found if p in kept] or found)


def as_filed(season: Season) -> Choice:
    """What the files have chosen."""
    uses = tuple(spot.factor for spot in season.spots)
    return Choice(uses, (1.0,) * season.problem.interval.shape[1])


def under(season: Season, choice: Choice, seed: int, years: int = 1) -> machine.Problem:
    """The problem of drawn seasons under a choice, one that can be played so many years in a row."""
    problem = as_drawn(season, seed)
    due_at = problem.due_at.copy()
    for p, use in enumerate(choice.uses):
        if use != season.spots[p].factor:
            for j in season.lives(p):
                at = replace_at(season, p, j)
                due_at[j] = at * use if math.isfinite(at) else math.inf
    problem = problem._replace(due_at=due_at)
    for k, factor in enumerate(choice.intervals):
        if factor != 1.0:
            problem = _spaced(problem, k, problem.interval[ENGINE, k] * factor)
    if choice.always:
        renews = problem.renews.copy()
        for p in choice.always:
            renews[ENGINE, int(problem.level[p]) :, p] = True
        problem = problem._replace(renews=renews)
    return problem if choice.dates is None else _dated(season, problem, choice, years)


def _spaced(problem: machine.Problem, k: int, interval: float) -> machine.Problem:
    """Another interval of an engine's level, while the work owed on it grows with use as it did.

    Owed is cost * use / interval. So cost grows with the interval, and what the book charges for an opening falls by as
    much: what an opening costs in all stays the same.
    """
    before = problem.interval[ENGINE, k]
    if not math.isfinite(before):
        return problem
    intervals, cost, fee = problem.interval.copy(), problem.cost.copy(), problem.fee.copy()
    intervals[ENGINE, k] = interval
    cost[ENGINE, k] = math.floor(cost[ENGINE, k] * interval / before + 0.5)
    fee[ENGINE, k] -= cost[ENGINE, k] - problem.cost[ENGINE, k]
    return problem._replace(interval=intervals, cost=cost, fee=fee)


def _dated(season: Season, problem: machine.Problem, choice: Choice, years: int) -> machine.Problem:
    """A problem in which the engine's levels that cost labour are done on dates."""
    scope = scope_of(season)
    called, calls = problem.called.copy(), problem.calls.copy()
    rest, measure = problem.rest.copy(), problem.measure.copy()
    for k in scope.dated:
        called[ENGINE, k] = False
        rest[ENGINE, k], measure[ENGINE, k] = _rest(season, k, choice.rest)
        problem = _spaced(problem, k, _never(season, k, years))
    for k, g in choice.dates or ():
        called[ENGINE, k, g] = True
    for p, spot in enumerate(season.spots):
        if spot.ladder == ENGINE and spot.level in scope.dated and p not in scope.kept:
            calls[p] = False
    return problem._replace(called=called, calls=calls, rest=rest, measure=measure)


def _rest(season: Season, k: int, events: float) -> tuple[float, int]:
    """A rest of so many events in the measure of a level, and that measure: events where it has none."""
    problem = season.problem
    if not math.isfinite(problem.interval[ENGINE, k]):
        return events, EVENTS
    measure = int(problem.measure[ENGINE, k])
    return events * float(problem.use[measure, -1]) / sum(run.first for run in season.runs), measure


def _never(season: Season, k: int, years: int) -> float:
    """An interval that a level does not pass in so many seasons."""
    problem = season.problem
    interval = float(problem.interval[ENGINE, k])
    if not math.isfinite(interval):
        return math.inf
    measure = int(problem.measure[ENGINE, k])
    a_year = max(float(problem.use[measure, -1]), DAYS_A_YEAR if problem.interval_in_days[ENGINE, k] else 0.0)
    most = float(season.start.since[:, ENGINE, k].max()) + years * a_year
    return interval * max(2, math.ceil(2 * most / interval))


def as_planned(problem: machine.Problem) -> machine.Problem:
    """A problem with nothing drawn, where a life counts as used up at its mean at the latest."""
    means = [
        scale * math.gamma(1 + 1 / shape) if math.isfinite(scale) else math.inf
        for scale, shape in zip(problem.scale, problem.shape, strict=True)
    ]
    return problem._replace(drawn=0, due_at=np.minimum(problem.due_at, means))


def can_fail(season: Season, p: int) -> bool:
    """Whether a position has a life that may end in the season."""
    problem = season.problem
    return any(math.isfinite(problem.scale[j]) and problem.duty[-1, j] > 0 for j in season.lives(p))


def carries_cost(draws: Draws, p: int) -> float:
    """What a position costs a season on average, in minor units."""
    return float(draws.line_mean[p])
