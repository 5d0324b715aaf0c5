"""Playing the field: every entrant's seasons on every side, on draws that are the same on all of them.

Each entrant has luck of its own, which its group's name and its number decide, so that the field's total is not one
entrant's luck many times over. Rain, which all share in truth, is drawn for each as well.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator, Mapping
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, replace

import numpy as np

from costplan.impact.ages import Entrant, uniform
from costplan.impact.sides import Side, beginning
from costplan.season import Season, machine
from costplan.season.arrays import as_drawn
from costplan.season.drawn.drawing import BLOCK, QUIET, Watch
from costplan.season.drawn.years import Span, YearDraws, draw_years

#: By the names of parts, by what share their prices rise.
Rises = Mapping[str, float]
#: A problem with something changed in it.
Change = Callable[[machine.Problem], machine.Problem]
SEEDS = 4_294_967_296


@dataclass(frozen=True, slots=True)
class Play:
    """One entrant's seasons on one side: `count` of them, of so many `years` each; `now` as it is before any change.

    `rises`: by part, how much its price rises; `change`: what else differs.
    """

    side: Side
    entrant: Entrant
    now: Season
    count: int
    years: int
    seed: int
    rises: Rises
    change: Change | None = None


def luck_of(seed: int, entrant: Entrant) -> int:
    """The seed of an entrant's own draws."""
    return int(uniform(seed, "luck", entrant.group, str(entrant.number)) * SEEDS)


def play(one: Play, watch: Watch = QUIET) -> YearDraws:
    """The seasons of an entrant on a side."""
    season = beginning(one.side, one.entrant, one.now)
    problem = _with_rises(as_drawn(season, luck_of(one.seed, one.entrant)), season, one.rises)
    problem = one.change(problem) if one.change else problem
    return draw_years(Span(season, problem, problem, one.years), one.count, workers=1, watch=watch)


def _with_rises(problem: machine.Problem, season: Season, rises: Rises) -> machine.Problem:
    """Dearer parts, wherever the machine buys them apart."""
    numbers = [number for number, item in enumerate(season.items) if rises.get(item.name)]
    if not numbers:
        return problem
    prices = problem.pack_price.copy()
    for number in numbers:
        factor = 1.0 + rises[season.items[number].name]
        prices[number] = np.floor(prices[number] * factor + 0.5).astype(np.int64)
    return problem._replace(pack_price=prices)


class Crew:
    """Plays what it is given on as many threads as there are cores, at once, while more is still being thought out.

    What is not played when it is left, as by Ctrl-C, is not played any more.
    """

    def __init__(self, watch: Watch = QUIET) -> None:
        self._watch, self._pool = watch, ThreadPoolExecutor(os.cpu_count() or 1)
        self._plays: list[Play] = []
        self._futures: list[Future[YearDraws]] = []

    def __enter__(self) -> Crew:
        return self

    def __exit__(self, *_: object) -> None:
        self._pool.shutdown(cancel_futures=True)

    def take(self, plays: Iterable[Play]) -> None:
        """Plays these too; the first of all is played here in part, which compiles the machine if need be."""
        for one in plays:
            if not self._plays:
                play(replace(one, count=1), _Compiling(self._watch))
            self._plays.append(one)
            self._futures.append(self._pool.submit(play, one))

    def all(self) -> list[YearDraws]:
        """The seasons of all that was taken, in order."""
        found: list[YearDraws] = []
        for _ in self._watch.drawing(self._blocks(found), sum(one.count * one.years for one in self._plays)):
            pass
        return found

    def _blocks(self, found: list[YearDraws]) -> Iterator[None]:
        """Steps of a block of seasons each, while what is played is put behind what was found."""
        waiting = 0
        for one, future in zip(self._plays, self._futures, strict=True):
            found.append(future.result())
            waiting += one.count * one.years
            for _ in range(waiting // BLOCK):
                yield None
            waiting %= BLOCK


class _Compiling:
    """Tells of compiling, not of what is drawn."""

    def __init__(self, watch: Watch) -> None:
        self._watch = watch

    def compiling(self, joints: Iterable[str]) -> Iterable[str]:
        return self._watch.compiling(joints)

    def drawing(self, blocks: Iterator[object], seasons: int) -> Iterable[object]:  # noqa: ARG002 - as Watch has it
        return blocks
