"""Which spares pay back: what lies in the box, and what to add to it for a sum, judged by playing the season with each.

A spare saves the time that a part which nobody ordered takes to come. It stays in the box until something breaks or is
found worn: planned work leaves it there, and nothing is put back within the season. What it is worth is the burden of
the season without it less that with it, on the same draws; its price is counted, and what is left of it in the box is
not lost.

The box is filled greedily: at each step with what saves most for its money, given what was taken before. That is a good
rule and no proof; so pairs and more that are waited for together are tried as one, the box as a whole is judged again
on other seasons, and where there are few boxes all of them are tried.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from itertools import product
from typing import Protocol, TypeVar

import numpy as np

from costplan.formulas.spares import expected_backorders, probability_of_more
from costplan.money import from_minor, to_minor
from costplan.season import machine
from costplan.season.arrays import as_drawn
from costplan.season.deciding.asked import Asked, asked_in_these, reading_stage
from costplan.season.drawn.drawing import ONE_BY_ONE, QUIET, Draws, Single, Watch, draw, draw_these
from costplan.season.drawn.figures import (
    Z95,
    Chance,
    CountDifference,
    chance_of,
    difference_of,
    error_of,
)
from costplan.season.drawn.stage import Stage
from costplan.season.names import Season
from costplan.season.opening import items_of

T = TypeVar("T")

#: Seasons on which every candidate is looked at; those that may be the best are drawn on, twice as many each time.
SCREEN = 500
#: No more is drawn once every error is below this share of the largest gain.
SHARP = 0.1
#: Of those that may be the best so many are drawn on; what was not taken is shown on one in so many of the seasons.
CLOSEST, FEWER = 6, 4
#: How many sets of parts that are waited for together are tried.
TOGETHER = 12
#: All boxes are tried where no more parts than this come into question, so many of each at the most, and no more boxes
#: fit the sum.
FEW_PARTS, MOST_OF_ONE, FEW_BOXES = 12, 2, 100
#: The box as a whole is judged on seasons of a seed so far from the one it was found with.
FRESH = 2**31


@dataclass(frozen=True, slots=True)
class Pieces:
    """So many new pieces of a part, in whole packs, and the slots that they serve. `resale`: what they are sold for."""

    part: str
    title: str
    slots: tuple[str, ...]
    packs: int
    pieces: int
    price: Decimal
    deposit: Decimal
    resale: Decimal

    @property
    def at_risk(self) -> Decimal:
        """What is lost if none is used and all are sold back; the deposit comes back with them."""
        return self.price - self.resale


@dataclass(frozen=True, slots=True)
class Gain:
    """What something in the box saves on average over so many seasons, its price counted, and how surely.

    `saves`: burden without it less burden with it and what it costs, with its standard error. `missed`: how many more
    races are missed (fewer: below zero). `used`: the share of seasons in which any of it is taken, planned work
    included; none where that was not looked at.
    """

    seasons: int
    saves: Decimal
    error: Decimal
    missed: CountDifference
    used: Chance | None = None

    @property
    def pays(self) -> bool:
        """Whether it saves more than its error may make of nothing."""
        return float(self.saves) > Z95 * float(self.error)


@dataclass(frozen=True, slots=True)
class Spare:
    """One part, or several that are waited for together, and what they bring beside what lies in the box before.

    `at_best`: what it would save if it were never waited for, as if one were always put back; of parts not taken.
    """

    parts: tuple[Pieces, ...]
    gain: Gain
    at_best: Gain | None = None

    @property
    def price(self) -> Decimal:
        return sum((one.price for one in self.parts), Decimal(0))

    @property
    def deposit(self) -> Decimal:
        return sum((one.deposit for one in self.parts), Decimal(0))

    @property
    def at_risk(self) -> Decimal:
        return sum((one.at_risk for one in self.parts), Decimal(0))


@dataclass(frozen=True, slots=True)
class InBox:
    """What lies in the box already of a part: new pieces with what they count for, and used sets, which count nothing.

    `kept`: those of the new pieces that planned work leaves there; it uses the others first.
    `gain`: what the season saves with it, what it counts for taken off as a price is.
    """

    part: str
    title: str
    slots: tuple[str, ...]
    pieces: int
    kept: int
    used_sets: int
    value: Decimal
    gain: Gain


@dataclass(frozen=True, slots=True)
class Demand:
    """How often a part is needed that nobody ordered, in units of what one need takes, against what lies in the box.

    `box`: units at hand, those added among them. Beside the share of seasons that run short, and how much they must buy
    on average, stand the same for demand at a steady rate (Poisson), were nothing taken for planned work.
    """

    part: str
    title: str
    slots: tuple[str, ...]
    unit: int
    box: int
    needs: CountDifference
    short: Chance
    poisson_short: float
    bought: CountDifference
    poisson_bought: float


@dataclass(frozen=True, slots=True)
class AllBoxes:
    """All boxes within the sum, tried: how many, and the best of them. `beats`: what it saves more than the chosen."""

    tried: int
    best: tuple[Pieces, ...]
    beats: Gain

    @property
    def better(self) -> bool:
        return self.beats.pays


@dataclass(frozen=True, slots=True)
class Spares:
    """What lies in the box, what to add for a sum, and what was not taken.

    `steps` in the order of taking, each beside what was taken before it; `rest`: of the sum. `whole`: all of them
    against none, on `fresh` seasons by their seed, which were not drawn to find them. `others` bring what they do
    beside all that was taken; `in_time`: parts that are needed unplanned, but that no season waits for. `boxes`: none
    where there are too many to try all. `result_worth`: what a result of weight 1 counts beyond its purse; `at_best`:
    what is saved if no part is ever waited for, and nothing paid for that.
    """

    currency: str
    seasons: int
    asked: int
    seed: int
    fresh: int
    sum: Decimal
    result_worth: Decimal
    interrupted: bool = False
    at_best: Gain | None = None
    box: tuple[InBox, ...] = ()
    steps: tuple[Spare, ...] = ()
    rest: Decimal = Decimal(0)
    whole: Gain | None = None
    others: tuple[Spare, ...] = ()
    in_time: tuple[str, ...] = ()
    demand: tuple[Demand, ...] = ()
    boxes: AllBoxes | None = None

    @property
    def price(self) -> Decimal:
        return sum((step.price for step in self.steps), Decimal(0))

    @property
    def at_risk(self) -> Decimal:
        return sum((step.at_risk for step in self.steps), Decimal(0))

    @property
    def seasons_at_risk(self) -> float | None:
        """In how many seasons the box saves what is at risk with it; none where it saves nothing."""
        return float(self.at_risk / self.whole.saves) if self.whole and self.whole.saves > 0 else None


class Each(Protocol):
    """Sees things go by that are worked on one by one, under some words."""

    def __call__(self, items: Iterable[T], words: str) -> Iterator[T]: ...


def _unseen(items: Iterable[T], words: str) -> Iterator[T]:  # noqa: ARG001 - as Each has it
    return iter(items)


#: Pieces by the number of their stock item, in the order of the numbers: what is added to the box.
Box = tuple[tuple[int, int], ...]


def with_stock(season: Season, pieces: Mapping[str, int]) -> Season:
    """A season that begins with so many more new pieces of some parts in the box, kept there, at what they cost then.

    What is paid for them is not in its cash; fewer than none take pieces out, with their share of what all cost.
    """
    numbers = {item.name: number for number, item in enumerate(season.items)}
    return _with_box(season, tuple((numbers[part], count) for part, count in pieces.items()))


def _with_box(season: Season, box: Box) -> Season:
    stock, value, keep = season.start.stock.copy(), season.start.stock_value.copy(), season.problem.keep.copy()
    for item, count in box:
        value[item] += _price(season, item, count) if count >= 0 else count * int(value[item]) // int(stock[item])
        stock[item] += count
        keep[item] = max(0, keep[item] + count)
    problem, start = season.problem._replace(keep=keep), season.start._replace(stock=stock, stock_value=value)
    return replace(season, problem=problem, start=start)


def _without(season: Season, item: int) -> Season:
    """A season that begins without anything of an item in the box, new or used."""
    start, keep = season.start, season.problem.keep.copy()
    stock, value = start.stock.copy(), start.stock_value.copy()
    stock[item] = value[item] = keep[item] = 0
    left = start.used_left & (season.problem.used_item != item)
    begins = start._replace(stock=stock, stock_value=value, used_left=left)
    return replace(season, problem=season.problem._replace(keep=keep), start=begins)


def _price(season: Season, item: int, pieces: int) -> int:
    """What so many pieces cost at the price of the first gap that is played, their share of packs rounded half up."""
    pack, price = int(season.problem.pack[item]), int(season.problem.pack_price[item, season.problem.begin])
    return (2 * price * pieces + pack) // (2 * pack)


@dataclass(slots=True)
class _Drawn:
    """What every season costs in the end with a box, its price paid and deposits left out, and the races missed.

    What costs the same in every season is left out too. A deposit on a spare is paid with it: it is the same deposit.
    """

    burden: machine.Floats
    misses: machine.Ints

    def like(self, other: _Drawn) -> bool:
        """Whether every season is the same."""
        return bool((self.burden == other.burden).all() and (self.misses == other.misses).all())


def _drawn(season: Season, single: Single, paid: int) -> _Drawn:
    """Seasons with a box that so much was paid for. Money is added up whole, so that like seasons cost the same."""
    net = single.cash - single.left - single.deposits + paid
    return _Drawn(net + season.result_worth * single.lost, single.misses)


def _single(draws: Draws) -> Single:
    deposits, fixed = machine.CAUSES.index("deposit"), draws.fixed
    paid = draws.cause[:, deposits] - fixed.cause[deposits]
    return Single(draws.cash - fixed.total, draws.left, paid, draws.lost, draws.misses)


@dataclass(slots=True)
class _Trials:
    """Seasons drawn with boxes, each box once, drawn on where more of them are asked for.

    Only those seasons are played with more in the box in which anything of it came late without; the others are as they
    were. They would differ by no more than by what pieces of unlike prices, as of a kit or after a change, are worth.
    """

    season: Season
    seed: int
    stage: Stage
    reading: Stage
    drawn: dict[Box, _Drawn] = field(default_factory=dict)
    logs: dict[Box, Asked] = field(default_factory=dict)

    def take(self, box: Box, seasons: int) -> _Drawn:
        """So many seasons with a box, or KeyboardInterrupt."""
        found = self.drawn.get(box)
        done = len(found.burden) if found else 0
        if done < seasons:
            there = self.known(box)
            more = _less(box, there or ())
            like, touched = self.like(there, [item for item, _ in more], done, seasons)
            season = _with_box(self.season, box)
            drawn = self.changed(season, like, touched, done, _cost(self.season, box))
            found = self.drawn[box] = _after(found, drawn)
        assert found is not None  # noqa: S101 - drawn just now at the latest
        return _Drawn(found.burden[:seasons], found.misses[:seasons])

    def known(self, box: Box) -> Box | None:
        """The largest box whose log is known and that another box holds all of; none for none."""
        held = dict(box)
        within = [one for one in self.logs if all(held.get(item, 0) >= count for item, count in one) and one != box]
        return max(within, key=lambda one: sum(count for _, count in one), default=None)

    def like(self, there: Box | None, items: Sequence[int], first: int, end: int) -> tuple[_Drawn | None, machine.Ints]:
        """Seasons first .. end with a box, and those of them in which more of some items may matter."""
        if there is None or len(self.logs[there].bound) < end:
            return None, np.arange(first, end)
        like = self.take(there, end)
        return like, first + np.flatnonzero(_comes_late(self.logs[there], items)[first:end])

    def changed(
        self,
        season: Season,
        like: _Drawn | None,
        touched: machine.Ints,
        first: int,
        paid: int,
        problem: machine.Problem | None = None,
    ) -> _Drawn:
        """Seasons from `first` on as others that they are like, but for those that are played anew."""
        played = draw_these(season, touched, problem or as_drawn(season, self.seed), self.stage)
        drawn = _drawn(season, played, paid)
        if like is None:
            return drawn
        burden, misses = like.burden[first:].copy(), like.misses[first:].copy()
        burden[touched - first], misses[touched - first] = drawn.burden, drawn.misses
        return _Drawn(burden, misses)

    def log(self, box: Box, seasons: int) -> Asked:
        """What so many seasons with a box ask for; always as many."""
        if box not in self.logs:
            there, season = self.known(box), _with_box(self.season, box)
            if there is None:
                self.logs[box] = asked_in_these(season, np.arange(seasons), self.seed, self.reading)
            else:
                log, more = self.logs[there], _less(box, there)
                touched = np.flatnonzero(_is_taken(log, [item for item, _ in more]))
                stock = log.stock.copy()
                for item, count in more:
                    stock[:, item] += count
                others = asked_in_these(season, touched, self.seed, self.reading)
                self.logs[box] = replace(log, stock=stock).with_these(touched, others)
        return self.logs[box]

    def saved(self, box: Box, more: Box, seasons: int) -> machine.Floats:
        """What more in the box saves in each season, in minor units, its price counted."""
        return self.take(box, seasons).burden - self.take(_joined(box, more), seasons).burden

    def gain(self, box: Box, more: Box, seasons: int, *, used: bool = False) -> Gain:
        """What more in the box brings beside what is there."""
        without, having = (self.take(one, seasons).misses for one in (box, _joined(box, more)))
        taken = self._taken(box, more, seasons) if used else None
        return _gain(self.saved(box, more, seasons), having - without, self.season.rates.currency, taken)

    def _taken(self, box: Box, more: Box, seasons: int) -> Chance:
        """How often any of what is more is taken: no longer all of it is left over what would be without it."""
        without, having = (self.log(one, seasons).stock[:seasons] for one in (box, _joined(box, more)))
        taken = [having[:, item] - without[:, item] < count for item, count in more]
        return chance_of(int(np.any(taken, axis=0).sum()), seasons)


def _after(first: _Drawn | None, then: _Drawn) -> _Drawn:
    if first is None:
        return then
    return _Drawn(np.concatenate([first.burden, then.burden]), np.concatenate([first.misses, then.misses]))


def _comes_late(log: Asked, items: Sequence[int]) -> machine.Bools:
    """In which seasons a spare of some items may be worth its place: in those that wait for one.

    In others it is no more than a purchase made sooner. What the book refuses is not in the log: those seasons count.
    """
    late: machine.Bools = log.bound | log.late[:, items].any(axis=1)
    return late


def _is_taken(log: Asked, items: Sequence[int]) -> machine.Bools:
    """In which seasons a spare of some items may be taken."""
    taken: machine.Bools = log.bound | (log.opened[:, items] > 0).any(axis=1)
    return taken


def _less(box: Box, other: Box) -> Box:
    """What a box holds more than another."""
    held = dict(other)
    return tuple((item, count - held.get(item, 0)) for item, count in box if count > held.get(item, 0))


def _gain(saved: machine.Floats, missed: machine.Ints, currency: str, used: Chance | None = None) -> Gain:
    mean, error = (math.floor(value + 0.5) for value in (float(np.mean(saved)), error_of(saved)))
    return Gain(len(saved), from_minor(mean, currency), from_minor(error, currency), difference_of(missed), used)


def _joined(box: Box, more: Box) -> Box:
    """What two boxes hold together."""
    pieces = dict(box)
    for item, count in more:
        pieces[item] = pieces.get(item, 0) + count
    return tuple(sorted(pieces.items()))


def _cost(season: Season, box: Box) -> int:
    """What a box costs, in minor units, but for deposits."""
    return sum(_price(season, item, count) for item, count in box)


def _outlay(season: Season, box: Box) -> int:
    """What is paid for a box, deposits among it."""
    problem = season.problem
    return sum(
        _price(season, item, count) + count // int(problem.pack[item]) * int(problem.core[item]) for item, count in box
    )


def units_of(season: Season) -> dict[int, int]:
    """The stock items that can be carried as spares, and the pieces of each that one need takes at the least.

    That is one piece where a position mends its set by a piece, else its set. Services cannot be carried.
    """
    units: dict[int, int] = {}
    for p, spot in enumerate(season.spots):
        need = 1 if spot.as_piece else spot.pieces
        for item in items_of(season.problem, p):
            if season.items[item].offers:
                units[item] = min(need, units.get(item, need))
    return units


def _whole(season: Season, item: int, pieces: int) -> int:
    """Pieces in whole packs, as many at the least as are sold at the price."""
    pack, least = int(season.problem.pack[item]), int(season.problem.least[item, season.problem.begin])
    return max(-(-pieces // pack), least) * pack


def _slots(season: Season, item: int) -> tuple[str, ...]:
    return tuple(spot.slot for p, spot in enumerate(season.spots) if item in items_of(season.problem, p))


def _pieces(season: Season, box: Box) -> tuple[Pieces, ...]:
    return tuple(_pieces_of(season, item, count) for item, count in box)


def _pieces_of(season: Season, item: int, count: int) -> Pieces:
    problem, bought, currency = season.problem, season.items[item], season.rates.currency
    packs = count // int(problem.pack[item])
    amounts = (_price(season, item, count), packs * int(problem.core[item]), count * int(problem.resale[item]))
    slots = _slots(season, item)
    return Pieces(bought.name, bought.title, slots, packs, count, *(from_minor(value, currency) for value in amounts))


@dataclass(slots=True)
class _Search:
    """The search for a box: what it may hold, and what has been found so far."""

    trials: _Trials
    most: int
    budget: int
    each: Each
    units: dict[int, int]
    singles: tuple[Box, ...] = ()
    together: tuple[Box, ...] = ()
    waited: dict[int, bool] = field(default_factory=dict)
    chosen: Box = ()
    hopeless: set[Box] = field(default_factory=set)
    taken: list[tuple[Box, Box]] = field(default_factory=list)

    @property
    def season(self) -> Season:
        return self.trials.season

    @property
    def left(self) -> int:
        return self.budget - _outlay(self.season, self.chosen)

    def look(self, log: Asked) -> None:
        """What is waited for, alone and together, and what is needed unplanned but is never waited for.

        In other seasons than these it may be; but a spare of it would not show beyond the error.
        """
        wanted = [item for item in self.units if log.wanted[:, item].any()]
        sets = dict.fromkeys(tuple(item for item in items if item in self.units) for items in log.sets())
        several = [items for items in sets if len(items) > 1 and self.outlay_of(items) <= self.budget][:TOGETHER]
        shown = self.each([*((item,) for item in wanted), *several], "Looking what is waited for")
        waits = [items for items in shown if self.is_waited_for(items)]
        self.waited = {item: any(item in items for items in waits) for item in wanted}
        self.singles = tuple(self.set_of(item) for item, waited in self.waited.items() if waited)
        self.together = tuple(self.sets_of(items) for items in waits if len(items) > 1)

    def is_waited_for(self, items: Sequence[int]) -> bool:
        """Whether any season would be another if some items were never waited for."""
        return not _never_waited(self, items, self.most).like(self.trials.take((), self.most))

    def sets_of(self, items: Iterable[int]) -> Box:
        return _joined((), tuple(one for item in items for one in self.set_of(item)))

    def outlay_of(self, items: Iterable[int]) -> int:
        return _outlay(self.season, self.sets_of(items))

    def set_of(self, item: int) -> Box:
        return ((item, _whole(self.season, item, self.units[item])),)

    def options(self) -> list[Box]:
        """What can be added for what is left of the sum: parts, and what is waited for together."""
        have = dict(self.chosen)
        rest = (tuple(one for one in box if one[0] not in have) for box in self.together)
        found = dict.fromkeys([*self.singles, *(box for box in rest if len(box) > 1)])
        return [box for box in found if box not in self.hopeless and _outlay(self.season, box) <= self.left]

    def step(self) -> bool:
        """Takes what saves most for its money beyond its error; whether there was any."""
        options = self.options()
        while options:
            best = self.best_of(options)
            if best is None:
                return False
            if self.trials.gain(self.chosen, best, self.most).pays:
                self.taken.append((self.chosen, best))
                self.chosen = _joined(self.chosen, best)
                return True
            options = [box for box in options if box != best]
        return False

    def best_of(self, options: Sequence[Box]) -> Box | None:
        """What saves most for its money, those that may be it being drawn on; none where nothing may save.

        What surely saves nothing is not tried again; what is waited for together is tried as one all the same.
        """
        seasons, left = min(SCREEN, self.most), list(options)
        while True:
            shown = self.each(left, f"Step {len(self.taken) + 1}: trying spares in {seasons:,} seasons")
            found = {box: self.rate(box, seasons) for box in shown}
            surest = max(low for low, _, _ in found.values())
            self.hopeless |= {box for box, (_, _, high) in found.items() if high <= 0}
            left = [box for box, (_, _, high) in found.items() if high > 0 and high >= surest]
            left = sorted(left, key=lambda box: -found[box][1])[:CLOSEST]
            if not left:
                return None
            if seasons >= self.most or len(left) == 1 or self.is_sharp(left, seasons):
                return left[0]
            seasons = min(FEWER * seasons, self.most)

    def rate(self, box: Box, seasons: int) -> tuple[float, float, float]:
        """What a box saves for its money: the least that may be, as drawn, and the most."""
        saved, paid = self.trials.saved(self.chosen, box, seasons), max(1, _outlay(self.season, box))
        mean, error = float(np.mean(saved)), Z95 * error_of(saved)
        return (mean - error) / paid, mean / paid, (mean + error) / paid

    def is_sharp(self, left: Sequence[Box], seasons: int) -> bool:
        """Whether every error is small against the largest gain."""
        saved = [self.trials.saved(self.chosen, box, seasons) for box in left]
        return max(error_of(one) for one in saved) < SHARP * max(float(np.mean(one)) for one in saved)

    def all_boxes(self) -> AllBoxes | None:
        """The best of all boxes within the sum, by what each saves; none where there are too many to try."""
        singles = [box for box in self.singles if _outlay(self.season, box) <= self.budget]
        moved = [box for box in singles if any(self.trials.saved((), box, min(SCREEN, self.most)) != 0)]
        waited = {item for box in self.together for item, _ in box}
        parts = [box for box in singles if box in moved or box[0][0] in waited]
        if not 0 < len(parts) <= FEW_PARTS:
            return None
        boxes = list(self.within(parts))
        if len(boxes) > FEW_BOXES:
            return None
        seasons = min(SCREEN, self.most)
        shown = self.each(boxes, f"Trying all {len(boxes)} boxes")
        means = {box: float(np.mean(self.trials.saved((), box, seasons))) for box in shown}
        best = max(means, key=lambda box: means[box])
        saved, chosen = (self.trials.saved((), box, self.most) for box in (best, self.chosen))
        missed = self.trials.take(best, self.most).misses - self.trials.take(self.chosen, self.most).misses
        gain = _gain(saved - chosen, missed, self.season.rates.currency)
        return AllBoxes(len(boxes), _pieces(self.season, best), gain)

    def within(self, parts: Sequence[Box]) -> Iterator[Box]:
        """All boxes of some parts within the sum, one more than may be tried at the most."""
        found = 0
        for numbers in product(range(MOST_OF_ONE + 1), repeat=len(parts)):
            box = tuple((item, n * count) for ((item, count),), n in zip(parts, numbers, strict=True) if n)
            if box and _outlay(self.season, box) <= self.budget:
                found += 1
                yield tuple(sorted(box))
            if found > FEW_BOXES:
                return


def spares_for(
    season: Season,
    money: Decimal,
    seasons: int = 4000,
    seed: int = 1,
    *,
    compiled: bool = True,
    watch: Watch = QUIET,
    each: Each = _unseen,
) -> Spares:
    """What lies in the box, and what to add to it for a sum; figures rest on so many seasons.

    Stopped, it tells what was found until then.
    """
    if not 1 <= seasons <= ONE_BY_ONE:
        raise ValueError(f"from 1 to {ONE_BY_ONE} seasons are drawn")
    stage = Stage(season, compiled=compiled, track=watch.compiling)
    trials = _Trials(season, seed, stage, reading_stage(season, compiled=compiled))
    base = draw(season, seasons, seed, stage=stage, watch=watch)
    seasons, asked = base.seasons, seasons
    trials.drawn[()] = _drawn(season, _single(base), 0)
    budget = to_minor(money, season.rates.currency)
    search = _Search(trials, seasons, budget, each, units_of(season))
    fresh = (seed + FRESH) % 2**32
    worth = from_minor(season.result_worth, season.rates.currency)
    found = Spares(season.rates.currency, seasons, asked, seed, fresh, money, worth, base.interrupted, rest=money)
    if base.interrupted:
        return found
    try:
        for answer in _stages(search, found):
            found = answer
    except KeyboardInterrupt:
        found = replace(found, interrupted=True)
    return found


def _stages(search: _Search, found: Spares) -> Iterator[Spares]:
    """The answer as it grows: what lies in the box, step by step what is added, and what it is judged by."""
    trials, season, most, currency = search.trials, search.season, search.most, found.currency
    search.look(trials.log((), most))
    parts = tuple((item, 0) for item in search.units)
    found = replace(found, at_best=_at_best(search, parts, most), box=tuple(_in_box(search)))
    yield found
    while search.step():
        box, more = search.taken[-1]
        step = Spare(_pieces(season, more), trials.gain(box, more, most, used=True))
        found = replace(found, steps=(*found.steps, step), rest=from_minor(search.left, currency))
        yield found
    if search.chosen:
        other = _Trials(season, found.fresh, trials.stage, trials.reading)
        found = replace(found, whole=other.gain((), search.chosen, most))
    found = replace(found, demand=tuple(_demands(search)))
    yield found
    in_time = tuple(season.items[item].name for item, waited in search.waited.items() if not waited)
    found = replace(found, others=tuple(_others(search)), in_time=in_time)
    yield found
    yield replace(found, boxes=search.all_boxes())


def _in_box(search: _Search) -> Iterator[InBox]:
    """What lies in the box when the season begins, and what it is worth there."""
    season = search.season
    start, problem = season.start, season.problem
    held = [item for item in search.units if start.stock[item] or (start.used_left & (problem.used_item == item)).any()]
    for item in search.each(held, "Trying the season without what lies in the box"):
        sets = start.used_left & (problem.used_item == item)
        bought, pieces, value = season.items[item], int(start.stock[item]), int(start.stock_value[item])
        gain = _gain_in_box(search, item, sets)
        worth, kept = from_minor(value, season.rates.currency), int(problem.keep[item])
        yield InBox(bought.name, bought.title, _slots(season, item), pieces, kept, int(sets.sum()), worth, gain)


def _gain_in_box(search: _Search, item: int, sets: machine.Bools) -> Gain:
    trials, season, most = search.trials, search.season, search.most
    having, log = trials.take((), most), trials.log((), most)
    kept = season.problem.keep[item] == season.start.stock[item] and not sets.any()
    planned = False if kept else log.planned[:, item] > 0
    touched = np.flatnonzero(_is_taken(log, [item]) | planned)
    without = trials.changed(_without(season, item), having, touched, 0, -int(season.start.stock_value[item]))
    taken = (log.stock[:most, item] < season.start.stock[item]) | (sets & ~log.used[:most]).any(axis=1)
    used = chance_of(int(taken.sum()), most)
    return _gain(without.burden - having.burden, having.misses - without.misses, season.rates.currency, used)


def _others(search: _Search) -> Iterator[Spare]:
    """What every part that was not taken would bring beside what was, the most for its money first."""
    taken, trials = dict(search.chosen), search.trials
    seasons = max(min(SCREEN, search.most), search.most // FEWER)
    left = [box for box in (*search.singles, *search.together) if not any(item in taken for item, _ in box)]
    found = []
    for box in search.each(left, "Trying what was not taken"):
        gain = trials.gain(search.chosen, box, seasons)
        best = _at_best(search, box, seasons) if len(box) == 1 else None
        found.append(Spare(_pieces(search.season, box), gain, best))
    yield from sorted(found, key=lambda one: -one.gain.saves / max(one.price, Decimal(1)))


def _at_best(search: _Search, box: Box, seasons: int) -> Gain:
    """What a season saves in which some items are never waited for; nothing is paid for that."""
    without = search.trials.take(search.chosen, seasons)
    never = _never_waited(search, [item for item, _ in box], seasons)
    return _gain(without.burden - never.burden, never.misses - without.misses, search.season.rates.currency)


def _never_waited(search: _Search, items: Sequence[int], seasons: int) -> _Drawn:
    """Seasons with the chosen box in which some items are never waited for."""
    trials = search.trials
    season, log = _with_box(search.season, search.chosen), trials.log(search.chosen, search.most)
    problem = as_drawn(season, trials.seed)
    hours = problem.lead_hours.copy()
    hours[list(items)] = 0.0
    without, paid = trials.take(search.chosen, seasons), _cost(search.season, search.chosen)
    waits = np.flatnonzero(_comes_late(log, items)[:seasons])
    return trials.changed(season, without, waits, 0, paid, problem._replace(lead_hours=hours))


def _demands(search: _Search) -> Iterator[Demand]:
    """What is needed unplanned of each part, with the chosen box, beside what a steady rate would ask for."""
    log, season = search.trials.log(search.chosen, search.most), search.season
    start, more = season.start, dict(search.chosen)
    for item, unit in search.units.items():
        wanted, short = log.wanted[: search.most, item] / unit, log.short[: search.most, item] / unit
        if wanted.any():
            sets = int((start.used_left & (season.problem.used_item == item)).sum())
            box = (int(start.stock[item]) + more.get(item, 0)) // unit + sets
            mean = float(np.mean(wanted))
            yield Demand(
                season.items[item].name,
                season.items[item].title,
                _slots(season, item),
                unit,
                box,
                difference_of(wanted),
                chance_of(int((short > 0).sum()), len(short)),
                probability_of_more(mean, box),
                difference_of(short),
                expected_backorders(mean, box),
            )
