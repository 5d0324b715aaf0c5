"""Looking for the choice that costs least: step by step, each step judged on seasons drawn alike with it and without.

A step is taken only where what it saves is shown, beyond the error. Many steps are tried, so that
some look better than they are: what is found has to be judged on seasons that the search has not seen.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

import numpy as np

from costplan.season import machine
from costplan.season.deciding.timing_policy import ENGINE, Choice, Scope, under
from costplan.season.drawn.comparing import burden_of
from costplan.season.drawn.drawing import QUIET, Draws, Watch, draw
from costplan.season.drawn.figures import CountDifference, difference_of
from costplan.season.drawn.stage import Stage

#: Seasons of the first look at a step; twice as many at every further one.
FIRST = 500
#: What is not likely to save this share of what a season costs is not looked at closer.
TRIFLE = 0.001
#: Sweeps over everything that may be moved, at most.
SWEEPS = 6
#: Multiples of a renewal use or an interval that are tried, and events of rest.
FACTORS = (0.5, 0.7, 0.85, 1.15, 1.3, 1.6)
SPACINGS = (0.5, 0.7, 0.85, 1.0, 1.15, 1.3, 1.6, 2.0)
RESTS = (0.0, 2.0, 4.0, 6.0)

#: Told how many choices were tried.
Tell = Callable[[int], None]


def tell_nobody(_tried: int) -> None:
    """For those who do not look."""


@dataclass(slots=True)
class Bench:
    """What choices cost, by seasons of one seed; where more seasons of a choice are asked for, it is drawn on."""

    scope: Scope
    seed: int
    cap: int
    watch: Watch = QUIET
    tell: Tell = tell_nobody
    known: dict[Choice, machine.Floats] = field(default_factory=dict)
    _stage: list[Stage] = field(default_factory=list)

    @property
    def stage(self) -> Stage:
        """What all drawings have in common, made with the first of them."""
        if not self._stage:
            self._stage.append(Stage(self.scope.season, track=self.watch.compiling))
        return self._stage[0]

    def draw(self, choice: Choice, seasons: int, first: int = 0) -> Draws:
        """Seasons from the first on under a choice, or KeyboardInterrupt."""
        season, problem = self.scope.season, under(self.scope.season, choice, self.seed)
        draws = draw(season, seasons, first=first, problem=problem, stage=self.stage, watch=self.watch)
        if draws.interrupted:
            raise KeyboardInterrupt
        return draws

    @property
    def tried(self) -> int:
        return len(self.known)

    def burden(self, choice: Choice, seasons: int) -> machine.Floats:
        """What so many seasons cost in the end under a choice, in minor units."""
        found = self.known.get(choice, np.zeros(0))
        if len(found) < seasons:
            more = burden_of(self.draw(choice, seasons - len(found), len(found)))
            found = self.known[choice] = np.concatenate([found, more])
            self.tell(self.tried)
        return found[:seasons]

    def _saved(self, base: machine.Floats, choice: Choice) -> CountDifference:
        """What a choice saves, against seasons of another one."""
        return difference_of(base - self.burden(choice, len(base)))

    def better(self, now: Choice, others: Iterable[Choice]) -> Choice | None:
        """The best of some choices where it is clearly better than the one now, else that; None where none looked it.

        After each look the better third is looked at closer; what is clearly no better is not.
        """
        alive, seasons = [other for other in dict.fromkeys(others) if other != now], min(FIRST, self.cap)
        clear: list[Choice] = []
        looked_better = False
        while alive:
            base = self.burden(now, seasons)
            saved = {other: self._saved(base, other) for other in alive}
            alive = [one for one in alive if saved[one].mean + saved[one].error > TRIFLE * abs(float(base.mean()))]
            alive.sort(key=lambda one: -saved[one].mean)
            clear = [one for one in alive if saved[one].shown and saved[one].mean > 0]
            if seasons >= self.cap or (seasons > FIRST and alive[:1] == clear[:1]):
                break
            looked_better = looked_better or bool(alive)
            alive, seasons = alive[: -(-len(alive) // 3)], min(2 * seasons, self.cap)
        return clear[0] if clear else now if looked_better else None

    def pays(self, choice: Choice, bare: Choice) -> bool:
        """Whether a choice is clearly better than one with less in it."""
        seasons = min(FIRST, self.cap)
        while True:
            saved = self._saved(self.burden(bare, seasons), choice)
            if saved.shown or seasons >= self.cap:
                return saved.shown and saved.mean > 0
            seasons = min(2 * seasons, self.cap)

    def cheapest(self, choices: Sequence[Choice]) -> Choice:
        """The one that costs least; those that cost clearly more than the best are drawn no further."""
        alive, seasons = list(dict.fromkeys(choices)), min(FIRST, self.cap)
        while True:
            best = min(alive, key=lambda one: float(self.burden(one, seasons).mean()))
            base = self.burden(best, seasons)
            saved = {other: self._saved(base, other) for other in alive}
            alive = [one for one in alive if saved[one].mean >= 0 or not saved[one].shown]
            if seasons >= self.cap or len(alive) == 1:
                return best
            seasons = min(2 * seasons, self.cap)


#: What is moved, and the choices next to one in that respect alone.
Move = tuple[Hashable, Callable[[Choice], Iterable[Choice]]]


def look_for_uses(bench: Bench, start: Choice, varied: Sequence[int], told: Callable[[Choice], None]) -> Choice:
    """The renewal uses and intervals that cost least, each moved by itself while any move saves."""
    moves = [*_uses_moved(bench.scope, varied), *_intervals_moved(bench.scope)]
    return _sweeps(bench, start, lambda _now: moves, told)


def look_for_dates(bench: Bench, start: Choice, varied: Sequence[int], told: Callable[[Choice], None]) -> Choice:
    """The dates that cost least, with the rest between a failure's work and a date, and the renewal uses."""

    def moves(now: Choice) -> Iterator[Move]:
        yield from _dates_moved(bench.scope, now)
        yield "rest", lambda choice: [replace(choice, rest=rest) for rest in RESTS]
        yield "always", lambda choice: [replace(choice, always=choice.always ^ {p}) for p in bench.scope.short]
        yield from _uses_moved(bench.scope, varied)

    return _sweeps(bench, start, moves, told)


def _sweeps(
    bench: Bench, start: Choice, moves: Callable[[Choice], Iterable[Move]], told: Callable[[Choice], None]
) -> Choice:
    """Move after move, until a whole sweep brings nothing; what did not look better once is not moved again."""
    now, idle = start, set[Hashable]()
    told(now)
    for _ in range(SWEEPS):
        before = now
        for name, near in moves(before):
            if name not in idle:
                found = bench.better(now, near(now))
                now = found or now
                told(now)
                idle |= {name} if found is None else set()
        if now == before:
            break
    return now


def pruned(bench: Bench, choice: Choice, filed: Choice) -> Choice:
    """A choice without what does not clearly pay: dates, and other figures than those of the files."""
    for plainer in _plainer(choice, filed):
        bare = plainer(choice)
        if bare != choice and not bench.pays(choice, bare):
            choice = bare
    return choice


def _plainer(choice: Choice, filed: Choice) -> Iterator[Callable[[Choice], Choice]]:
    """Everything that may be left out of a choice, one by one."""
    yield from (partial(Choice.without, date=date) for date in sorted(choice.dates or ()))
    yield from (partial(Choice.with_use, p=p, use=use) for p, use in enumerate(filed.uses))
    yield from (partial(Choice.with_interval, k=k, factor=1.0) for k in range(len(choice.intervals)))
    yield partial(replace, rest=0.0)
    yield partial(replace, always=frozenset())


def _uses_moved(scope: Scope, varied: Sequence[int]) -> Iterator[Move]:
    for p in varied:
        yield ("use", p), partial(_other_uses, scope, p)


def _intervals_moved(scope: Scope) -> Iterator[Move]:
    for k in scope.dated:
        if math.isfinite(scope.season.problem.interval[ENGINE, k]):
            yield ("interval", k), partial(_other_intervals, scope, k)


def _other_uses(scope: Scope, p: int, choice: Choice) -> Iterator[Choice]:
    """Other renewal uses of a position; one that may not be stretched is never renewed later than the files have it."""
    filed = scope.season.spots[p].factor
    unit = filed if math.isfinite(filed) else 1.0
    for factor in (1.0, *FACTORS, math.inf):
        if factor * unit <= filed or p not in scope.kept:
            yield choice.with_use(p, factor * unit)


def _other_intervals(scope: Scope, k: int, choice: Choice) -> Iterator[Choice]:
    """Other intervals of a level, none shorter than now and than what is run between two gaps that hold it.

    Such a one could not be kept to, and past its interval a level owes no more work: it would only look cheaper.
    """
    interval, least = scope.season.problem.interval[ENGINE, k], _longest_stretch(scope, k)
    return (choice.with_interval(k, factor) for factor in SPACINGS if factor >= min(1.0, least / interval))


def _longest_stretch(scope: Scope, k: int) -> float:
    """The most that is run from a gap that holds a level to the next, or to the end; infinite where none holds it."""
    problem = scope.season.problem
    used = problem.use[problem.measure[ENGINE, k]][[*scope.holds[k], len(scope.season.runs)]]
    return float(np.diff(used).max()) if len(used) > 1 else math.inf


def _one_more(scope: Scope, k: int, choice: Choice) -> Iterator[Choice]:
    """One more date of a level."""
    return (choice.plus((k, g)) for g in scope.holds[k])


def _dates_moved(scope: Scope, now: Choice) -> Iterator[Move]:
    """Each date moved or dropped, then for each level one more."""
    for date in sorted(now.dates or ()):
        yield ("date", date), partial(_moved, scope, date)
    for k in scope.dated:
        yield ("more", k), partial(_one_more, scope, k)


def _moved(scope: Scope, date: tuple[int, int], choice: Choice) -> Iterator[Choice]:
    """A date dropped, done a gap or two earlier or later, or before a show."""
    if date not in (choice.dates or ()):
        return
    k, g = date
    bare, gaps = choice.without(date), scope.holds[k]
    yield bare
    at = int(np.searchsorted(gaps, g))
    for other in {*gaps[max(at - 2, 0) : at + 3], *_before_shows(scope, k)} - {g}:
        yield bare.plus((k, other))


def _before_shows(scope: Scope, k: int) -> set[int]:
    """The last gaps that hold a level before each show or big event."""
    found = set()
    for start in scope.big_starts():
        earlier = [g for g in scope.holds[k] if g <= start]
        found |= set(earlier[-1:])
    return found
