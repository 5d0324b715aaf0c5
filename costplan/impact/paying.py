"""What a group pays and gets for parts and levels, whoever it is: for all its engines, at the prices of opening day."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from functools import cached_property

from costplan.build import Bill, Build, Fill, bill_for
from costplan.catalog import Catalog
from costplan.choose.purchases import resale_of
from costplan.garage import CAR, Piece
from costplan.impact.field import Crowd
from costplan.money import from_minor, round_money, to_minor
from costplan.season import Level

CARRIERS = ("engine", CAR)


class Purse:
    """Prices parts, work, levels and what is given up, for one group."""

    def __init__(self, crowd: Crowd) -> None:
        self.crowd, self.scenario = crowd, crowd.scenario
        self.day, self.currency = self.scenario.opening, self.scenario.header.currency
        self._rows = {row.slot: row for row in self.scenario.files.positions}
        self._ranks = {level.level: level.rank for level in self.scenario.files.levels}
        self.levels = _cheapest(self.scenario.files.levels)

    @property
    def catalog(self) -> Catalog:
        if self.scenario.catalog is None:
            raise ValueError("a scenario without a catalog has no prices")
        return self.scenario.catalog

    @property
    def joins(self) -> bool:
        """Whether nothing is owned yet."""
        return self.crowd.row.joins

    def carrier(self, slot: str) -> str:
        """What a slot is of: the car, or an engine."""
        row = self._rows.get(slot)
        return CAR if row is not None and row.carrier == CAR else "engine"

    def engines(self, carrier: str) -> int:
        """How many there are of what a level opens."""
        return 1 if carrier == CAR else len(self.crowd.engines)

    def times(self, slot: str) -> int:
        """How many engines have a slot."""
        return self.engines(self.carrier(slot))

    def rank(self, slot: str) -> int:
        """The rank of the level that reaches a slot, 0 for none."""
        row = self._rows.get(slot)
        return 0 if row is None else self._ranks[row.level]

    def bought(self, fill: Fill | None) -> Decimal:
        """What the packs of a slot, the deposit on them and the work planned cost, for all engines."""
        if fill is None:
            return Decimal(0)
        bill = self.bill([replace(fill, kit="")] * self.times(fill.slot.slot))
        return bill.total + bill.core_charges

    def bill(self, fills: Sequence[Fill]) -> Bill:
        return bill_for(fills, self.catalog, self.scenario.buying, self.day, 1)

    def sells(self, fill: Fill | None, times: int) -> Decimal:
        """What the pieces of a slot bring sold used, before any haircut; nothing of who has nothing yet."""
        if fill is None or self.joins:
            return Decimal(0)
        return resale_of(fill, self.catalog, self.scenario.buying, self.day) * times

    def on_shelf(self, piece: Piece) -> Decimal:
        """What pieces on the shelf cost new, their share of whole packs, or used would sell for."""
        part, pieces, buying = self.catalog.parts[piece.part], piece.count or 1, self.scenario.buying
        if piece.is_used:
            worth = buying.rates.convert(part.resale * pieces, self.catalog.currency_of(part), self.day)
        else:
            bought = buying.cheapest(self.catalog.offers_of(piece.part), pieces, self.day)
            worth = bought.cost * pieces / (pieces + bought.left_over)
        return round_money(worth, self.currency)

    @cached_property
    def done_anyway(self) -> dict[str, int]:
        """By carrier, the rank of the highest level that a service row of the opening gap does, 0 for none."""
        events = self.scenario.files.events
        first = min(event.date for event in events if event.kind != "service")
        called = {event.level for event in events if event.kind == "service" and event.date <= first}
        rows = [row for row in self.scenario.files.levels if row.level in called]
        return {carrier: max((row.rank for row in rows if row.carrier == carrier), default=0) for carrier in CARRIERS}

    def anyway(self, slot: str) -> bool:
        """Whether what stands in a slot is renewed in the opening gap in any case."""
        carrier = self.carrier(slot)
        return not self.joins and slot in self.renewed_by(carrier, self.done_anyway[carrier])

    def renewed_by(self, carrier: str, rank: int) -> tuple[str, ...]:
        """The slots that a level, or one below it, renews every time."""
        rows = (row for row in self.scenario.files.levels if row.carrier == carrier and row.rank <= rank)
        return tuple(dict.fromkeys(slot for row in rows for slot in row.renews))

    def level_cost(self, row: Level, build: Build) -> Decimal:
        """Labour, supplies, the book's charge and what is renewed every time, for one engine; nothing where the opening
        gap does it anyway."""
        if self.joins or row.rank <= self.done_anyway[row.carrier]:
            return Decimal(0)
        fills = [build.fills[slot] for slot in self.renewed_by(row.carrier, row.rank) if slot in build.fills]
        bill = self.bill([replace(fill, kit="") for fill in fills]) if fills else None
        parts = bill.total + bill.core_charges if bill else Decimal(0)
        return row.labour + row.supplies + self.charge(row) + parts

    def charge(self, row: Level) -> Decimal:
        """What today's book charges for one opening at a level when the books open."""
        season = self.scenario.compiled
        for ladder, steps in enumerate(season.ladders if season else ()):
            for level, step in enumerate(steps):
                if season is not None and step.level == row.level:
                    return from_minor(int(season.problem.fee[ladder, level, 0]), self.currency)
        return Decimal(0)

    def opened_for(self, slots: Iterable[str]) -> Iterator[tuple[Level, tuple[str, ...]]]:
        """The levels that must be opened for some slots, of engines and of the car, each with its slots; none that the
        opening gap opens anyway."""
        reached = [slot for slot in slots if self.rank(slot)]
        for carrier in CARRIERS:
            mine = tuple(sorted(slot for slot in reached if self.carrier(slot) == carrier))
            rank = max(map(self.rank, mine), default=0)
            if mine and not self.joins and rank > self.done_anyway[carrier]:
                yield next(row for row in self.levels[carrier] if row.rank == rank), mine

    def minor(self, amount: Decimal) -> int:
        return to_minor(round_money(amount, self.currency), self.currency)


def _cheapest(levels: Iterable[Level]) -> dict[str, tuple[Level, ...]]:
    """The levels of each carrier by rank, each by the shop that asks least."""
    found: dict[str, Level] = {}
    for row in levels:
        before = found.get(row.level)
        if before is None or row.labour + row.supplies < before.labour + before.supplies:
            found[row.level] = row
    rows = sorted(found.values(), key=lambda row: row.rank)
    return {carrier: tuple(row for row in rows if row.carrier == carrier) for carrier in CARRIERS}
