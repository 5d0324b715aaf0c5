"""What candidates cost: in whole packs, in kits, with packs shared over slots, on one day or on several.

A *market* is a day with its prices: the first is the day of the choice, the others are the days whose prices clauses
count. Pieces on hand cost what they would sell for on the first; on the others what they cost new, as a list has it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cached_property
from itertools import product

from costplan.build import Build, Fill, bill_of
from costplan.catalog import Buying, Catalog
from costplan.choose.candidates import Candidate
from costplan.choose.puzzle import Amount, Held, Kit, Lot, Weights
from costplan.choose.wishes import ChoosyBuying
from costplan.money import round_money, to_minor
from costplan.scenario import Scenario

#: The amount that a bill comes to, in minor units.
PRICE = "price"


@dataclass(frozen=True)
class Cap:
    """A limit on what parts cost on a day, some slots left out; `amount` is its name among the amounts."""

    amount: str
    on: date
    slots: frozenset[str]


@dataclass(frozen=True)
class Purchases:
    """The costs of candidates by slot, in whole minor units."""

    scenario: Scenario
    buying: ChoosyBuying
    on: date
    slots: Sequence[str]
    candidates: Mapping[str, Sequence[Candidate]]
    caps: Sequence[Cap] = ()

    @cached_property
    def catalog(self) -> Catalog:
        return self.scenario.catalog or Catalog()

    @cached_property
    def markets(self) -> tuple[tuple[date, Buying], ...]:
        return ((self.on, self.buying), *((cap.on, self.scenario.buying) for cap in self.caps))

    @cached_property
    def shared(self) -> frozenset[str]:
        """Parts that are bought for several slots, which may share packs."""
        seen: dict[str, set[str]] = {}
        for slot in self.slots:
            for one in self.candidates[slot]:
                if one.source in ("apart", "kit"):
                    seen.setdefault(one.part, set()).add(slot)
        return frozenset(part for part, slots in seen.items() if len(slots) > 1)

    def amounts(self) -> dict[str, Amount]:
        """The price, and for each cap what counts under it."""
        named = [(PRICE, frozenset(self.slots)), *((cap.amount, cap.slots) for cap in self.caps)]
        return {name: Amount(name, self._weights(market, slots), market) for market, (name, slots) in enumerate(named)}

    def _weights(self, market: int, slots: frozenset[str]) -> Weights:
        return {
            number: tuple(self._cost(one, market) for one in self.candidates[slot])
            for number, slot in enumerate(self.slots)
            if slot in slots
        }

    def _cost(self, one: Candidate, market: int) -> int:
        """What a candidate costs by itself: its packs unless kits or shared packs bring it, and the work done to it."""
        if one.fill is None:
            return 0
        work = self._work(one.fill, market) if one.worked_on or market else 0
        if one.source == "hand" and not market:
            return self._resale(one.fill) + work
        if one.source == "kit" or one.part in self.shared:
            return work
        return work + self._pieces(one.part, one.fill.slot.quantity, market)

    def new(self, one: Candidate) -> Decimal:
        """What the pieces of a candidate's slot cost new and apart: their share of the packs, as a season counts them.

        Of anybody where nobody asked sells them.
        """
        if one.fill is None:
            return Decimal(0)
        pieces, (day, buying) = one.fill.slot.quantity, self.markets[0]
        bought = buying.cheapest(self.catalog.offers_of(one.part), pieces, day)
        return round_money(bought.cost * pieces / (pieces + bought.left_over), self.scenario.header.currency)

    def _pieces(self, name: str, number: int, market: int) -> int:
        """What so many pieces, or kits, cost; of anybody where nobody asked sells them, which a restriction bars."""
        day, buying = self.markets[market]
        return self._minor(buying.cheapest(self.catalog.offers_of(name), number, day).cost) if number else 0

    def _work(self, fill: Fill, market: int) -> int:
        if not fill.operations:
            return 0
        day, _ = self.markets[market]
        alone = Build(self.scenario.built().pattern, {fill.slot.slot: fill})
        lines = bill_of(alone, self.catalog, self.scenario.buying, day, 1).lines
        return sum(self._minor(line.cost) for line in lines if line.kind == "operation")

    def _resale(self, fill: Fill) -> int:
        return self._minor(resale_of(fill, self.catalog, self.scenario.buying, self.on))

    def _minor(self, amount: Decimal) -> int:
        return to_minor(amount, self.scenario.header.currency)

    def kits(self) -> tuple[Kit, ...]:
        return tuple(kit for kit, _ in self._kits)

    @cached_property
    def _kits(self) -> tuple[tuple[Kit, tuple[str, ...]], ...]:
        """The kits that some candidate comes in, each with the parts in the order it holds them."""
        used = {one.kit for slot in self.slots for one in self.candidates[slot] if one.kit}
        return tuple(self._kit(name) for name in sorted(used))

    def _kit(self, name: str) -> tuple[Kit, tuple[str, ...]]:
        rows = [row for row in self.catalog.in_kit(name) if self._from_kit(name, row.part)]
        held = tuple(Held(row.pieces, self._from_kit(name, row.part)) for row in rows)
        most = max(-(-sum(max(of) for of in one.taken.values()) // one.holds) for one in held)
        takers = frozenset(self.slots[slot] for one in held for slot in one.taken)
        costs = tuple(
            tuple(self._pieces(name, count, market) if self._counts(takers, market) else 0 for count in range(most + 1))
            for market in range(len(self.markets))
        )
        return Kit(name, held, costs), tuple(row.part for row in rows)

    def _from_kit(self, kit: str, part: str) -> Weights:
        """The pieces of a part that candidates take out of a kit."""
        return self._wanted(lambda one: one.kit == kit and one.part == part)

    def _wanted(self, takes: Callable[[Candidate], bool]) -> Weights:
        found = {}
        for number, slot in enumerate(self.slots):
            of = tuple(one.fill.slot.quantity if one.fill and takes(one) else 0 for one in self.candidates[slot])
            if any(of):
                found[number] = of
        return found

    def _counts(self, slots: Iterable[str], market: int) -> bool:
        """Whether all of some slots count in a market: what is bought for others too is left out, as too low a sum."""
        return market == 0 or self.caps[market - 1].slots.issuperset(slots)

    def lots(self) -> tuple[Lot, ...]:
        return tuple(self._lot(part) for part in sorted(self.shared))

    def _lot(self, part: str) -> Lot:
        wanted = self._wanted(lambda one: one.source == "apart" and one.part == part)
        slots = frozenset(self.slots[slot] for slot in wanted)
        over = tuple((number, parts.index(part)) for number, (_, parts) in enumerate(self._kits) if part in parts)
        sums = {sum(one) for one in product(*({0, *of} for of in wanted.values()))}
        if over:  # what kits leave over is taken off, whatever their number
            sums = set(range(max(sums) + 1))
        costs = tuple(
            {count: self._pieces(part, count, market) if self._counts(slots, market) else 0 for count in sorted(sums)}
            for market in range(len(self.markets))
        )
        return Lot(part, wanted, costs, over)


def resale_of(fill: Fill, catalog: Catalog, buying: Buying, on: date) -> Decimal:
    """What the pieces of a slot would sell for, used and unbroken, in the currency that is bought in."""
    part = fill.part
    amount = buying.rates.convert(part.resale * fill.slot.quantity, catalog.currency_of(part), on)
    return round_money(amount, buying.rates.currency)
