"""Builds judged on the season machine: each as a new engine through the same drawn seasons, or through the plan.

What the sum over slots leaves out is here: labour, what is renewed together or early, kits and packs, what breaks what.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import NamedTuple, TypeAlias

import numpy as np

from costplan.build import Build
from costplan.problems import Problem
from costplan.scenario import Scenario
from costplan.season import Car, Season, machine, play_plan
from costplan.season.arrays import as_drawn
from costplan.season.drawn.drawing import BLOCK, QUIET, Watch, fixed_costs
from costplan.season.drawn.figures import Count, Mean, count_of, mean_of
from costplan.season.drawn.stage import Stage


@dataclass(frozen=True, slots=True)
class Played:
    """What a build comes to in a season of a new engine, over so many seasons drawn alike for all builds.

    `parts`: what is used up of parts, and what their failures cost beside parts and levels (the work of their cases);
    what is taken out before its time is used up too, and so is what hazards break. `cost`: the whole season in the wear
    view, with labour, services, events and income. `more_parts` and `more_cost`: than the first build that can be
    played, season by season. `missed`: races that no engine was ready for; `failures`: parts that failed of themselves.
    `seasons` is 0 where it is the plan's figure, in which nothing is drawn.
    """

    parts: Mean
    cost: Mean
    more_parts: Mean
    more_cost: Mean
    missed: Count
    failures: Count
    seasons: int


@dataclass(frozen=True, slots=True)
class Replayed:
    """A build played, or why its season cannot be."""

    played: Played | None
    problems: tuple[Problem, ...] = ()


class Tally(NamedTuple):
    """One season, in minor units: parts used up, the whole in the wear view; races missed, failures."""

    parts: int
    cost: int
    missed: int
    failures: int


Tallies: TypeAlias = Sequence[Tally]


def replay(
    scenario: Scenario, builds: Sequence[Build], seasons: int, seed: int = 1, watch: Watch = QUIET
) -> tuple[Replayed, ...]:
    """Plays builds one after the other on the same draws: each a new engine in a new car on opening day, nothing owned.

    Of `seasons` 0 it is the plan, with nothing drawn. Interrupted, it gives what all builds have in common so far, and
    raises KeyboardInterrupt only if that is nothing.
    """
    found: list[tuple[Tallies, tuple[Problem, ...]]] = []
    left = seasons
    for build in builds:
        season, problems = as_new(scenario, build).season()
        if season is None:
            found.append(([], problems))
            continue
        planned = () if seasons else (Books(season, season.problem).tally(play_plan(season)),)
        tallies = planned or _drawn(season, left, seed, watch)
        left = min(left, len(tallies))
        found.append((tallies, ()))
    first = next((tallies for tallies, problems in found if not problems), [])
    count, currency = max(1, left), scenario.rates.currency
    return tuple(
        Replayed(None, problems) if problems else Replayed(_played(tallies[:count], first[:count], currency, left))
        for tallies, problems in found
    )


def as_new(scenario: Scenario, build: Build) -> Scenario:
    """A scenario with one engine of a build that is new on opening day, like the car; no garage, no papers, no log.

    What engines are bought or sold for is left out: it is the same whatever is in them.
    """
    owned = next(engine for engine in scenario.engines if engine.owned)
    engine = owned.model_copy(update={"since": {}, "done": {}, "price": Decimal(0), "sold": Decimal(0)})
    return replace(
        scenario,
        header=scenario.header.model_copy(update={"car": Car()}),
        engines=(engine,),
        build=build,
        garage=(),
        bench=(),
        papers=(),
        inspections=(),
        log=(),
        compiled=None,
    )


class Books:
    """Adds up played seasons of one season's problem; made once, since what they have in common takes a while."""

    def __init__(self, season: Season, problem: machine.Problem) -> None:
        fixed = fixed_costs(season, problem)
        self._problem, self._fixed = problem, fixed.total - fixed.lasting
        self._is_part = np.array([spot.service is None for spot in season.spots], dtype=np.bool_)
        self._parts = [(c, p) for c, _, p, _ in season.positions() if self._is_part[p]]
        self._race = np.array([run.event.kind == "race" for run in season.runs])
        self._at_first = self._balances(season.start)

    def tally(self, state: machine.State) -> Tally:
        """What a season comes to."""
        idle = self._race & ~state.lost & (state.ran == machine.NOBODY)
        return Tally(
            self.parts_used_up(state),
            int(state.tally_event.sum() + state.used_up[0]) + self._fixed,
            len(np.unique(self._problem.event[idle])),
            int(state.failures[: len(self._is_part)].sum()),
        )

    def parts_used_up(self, state: machine.State) -> int:
        """What a season uses up of parts: balances on opening day and put in since, less those at the end.

        A balance is (cost - resale) * (1 - worn share), so that what is taken out before its time is used up too. A
        set that goes through a service step or is mended keeps its own, and takes on what was paid. Added to it is what
        cases of the parts' failures cost of themselves.
        """
        rows, behind = state.renewals[: int(state.n_renewals[0])], state.left_behind[: int(state.n_renewals[0])]
        worked, mended = rows[:, 9] >= 0, rows[:, 4] < self._problem.pieces[rows[:, 2]]
        put_in = np.where(worked, rows[:, 6], np.where(mended, behind[:, 2], behind[:, 1]))
        cases = state.struck_cases[: int(state.n_cases[0])]
        own = cases[cases[:, 2] < len(self._is_part), 4]
        return int(put_in[self._is_part[rows[:, 2]]].sum() + own.sum()) + self._at_first - self._balances(state)

    def _balances(self, state: machine.State) -> int:
        return sum(machine.left_of(self._problem, state, c, p) for c, p in self._parts)


def _drawn(season: Season, seasons: int, seed: int, watch: Watch) -> list[Tally]:
    """Seasons 0, 1 ... drawn, or those of them that there was time for."""
    problem, stage = as_drawn(season, seed), Stage(season, workers=1, track=watch.compiling)
    books, found = Books(season, problem), list[Tally]()

    def blocks() -> Iterator[list[Tally]]:
        for start in range(0, seasons, BLOCK):
            numbers = range(start, min(seasons, start + BLOCK))
            yield [books.tally(state) for state in stage.each(season, problem, numbers)]

    try:
        for block in watch.drawing(blocks(), seasons):
            found += block
    except KeyboardInterrupt:
        if not found:
            raise
    return found


def _played(tallies: Tallies, first: Tallies, currency: str, seasons: int) -> Played:
    """The figures of a build's seasons, beside the same seasons of the first."""
    parts, cost, missed, failures = np.array(tallies, dtype=np.int64).T
    parts_before, cost_before, *_ = np.array(first, dtype=np.int64).T
    return Played(
        mean_of(parts, currency),
        mean_of(cost, currency),
        mean_of(parts - parts_before, currency),
        mean_of(cost - cost_before, currency),
        count_of(missed),
        count_of(failures),
        seasons,
    )
