"""What is told of spares: what lies in the box, what to add to it, what each brings, and how often it is asked for."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from costplan.season.drawn.figures import Chance, CountDifference, beyond_error


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
        return self.saves > 0 and beyond_error(float(self.saves), float(self.error))


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
    def deposit(self) -> Decimal:
        return sum((step.deposit for step in self.steps), Decimal(0))

    @property
    def at_risk(self) -> Decimal:
        return sum((step.at_risk for step in self.steps), Decimal(0))

    @property
    def seasons_at_risk(self) -> float | None:
        """In how many seasons the box saves what is at risk with it; none where it saves nothing."""
        return float(self.at_risk / self.whole.saves) if self.whole and self.whole.saves > 0 else None


def packs_in(steps: Iterable[Spare]) -> dict[str, int]:
    """The packs of every part that is added."""
    packs: dict[str, int] = {}
    for part in (part for step in steps for part in step.parts):
        packs[part.part] = packs.get(part.part, 0) + part.packs
    return packs
