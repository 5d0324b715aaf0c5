"""What candidates cost whoever owns what a group owns: once, over the years, and as lines."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from functools import cached_property

from costplan.build import Bill, Fill, bill_for
from costplan.choose import NOTHING, Aimed, Encoded
from costplan.choose.candidates import Candidate
from costplan.choose.purchases import resale_of
from costplan.choose.puzzle import Allowed, Amount, Lot, Pick
from costplan.formulas.economics import uniform_present_value_factor
from costplan.garage import CAR, Piece
from costplan.impact.answers import OnceLine, Swap
from costplan.impact.field import Crowd
from costplan.impact.records import Study
from costplan.money import round_money, to_minor
from costplan.season import Level

#: What an answer costs once and over the years, and once alone; in minor units.
ANSWER, ONCE = "answer", "once"


class Counter:
    """What candidates cost whoever owns what a group owns."""

    def __init__(self, aimed: Aimed, crowd: Crowd, study: Study, alone: Collection[str] = ()) -> None:
        self.aimed, self.crowd, self.study, self.alone = aimed, crowd, study, alone
        self.scenario = aimed.encoded.scenario
        self.currency = self.scenario.header.currency
        self._rows = {row.slot: row for row in self.scenario.files.positions}
        self._levels = _cheapest(self.scenario.files.levels)
        self._own = {(piece.slot) for piece in self.scenario.garage if piece.engine in (*crowd.engines[:1], CAR)}

    def is_kept(self, one: Candidate) -> bool:
        """Whether a candidate is what stands in its slot now."""
        planned = self.scenario.built().part(one.slot)
        if one.source == "empty" or planned is None:
            return one.source == "empty" and planned is None
        if one.slot in self._own:
            return one.source == "hand" and one.piece is not None and not one.piece.on_shelf
        return one.part == planned.part and one.source in ("apart", "kit")

    def kept_pick(self) -> Pick | None:
        """What stands there now, as a pick; None where it is no choice in some slot."""
        found = []
        for slot in self.aimed.encoded.slots:
            its = self.aimed.encoded.candidates[slot]
            kept = (number for number, one in enumerate(its) if "/" in slot or self.is_kept(one))
            number = next(kept, None)
            if number is None:
                return None
            found.append(number)
        return tuple(found)

    def careful(self) -> Iterator[Allowed]:
        """Nothing new that is cheaper than what is planned, where positions.csv lets nothing be stretched: what holds
        an engine together is no place to save."""
        kept = {row.slot for row in self.scenario.files.positions if not row.stretch}
        encoded, build = self.aimed.encoded, self.scenario.built()
        for number, slot in enumerate(encoded.slots):
            fill = build.fills.get(slot)
            if slot in kept and fill is not None:
                least = self.bought(fill)
                may = tuple(
                    int(self.is_kept(one) or one.piece is not None or self.bought(one.fill) >= least)
                    for one in encoded.candidates[slot]
                )
                yield Allowed(-1, (number,), (may,), frozenset({(1,)}))

    def carrier(self, slot: str) -> str:
        """What a slot is of: the car, or an engine."""
        row = self._rows.get(slot)
        return CAR if row is not None and row.carrier == CAR else "engine"

    def times(self, slot: str) -> int:
        """How many engines have it."""
        return 1 if self.carrier(slot) == CAR else len(self.crowd.engines)

    @cached_property
    def done_anyway(self) -> dict[str, int]:
        """By carrier, the rank of the highest level that a service row of the opening gap does, 0 for none."""
        first = min(event.date for event in self.scenario.files.events if event.kind != "service")
        called = {
            event.level for event in self.scenario.files.events if event.kind == "service" and event.date <= first
        }
        rows = [row for row in self.scenario.files.levels if row.level in called]
        return {
            carrier: max((row.rank for row in rows if row.carrier == carrier), default=0) for carrier in ("engine", CAR)
        }

    def anyway(self, slot: str) -> bool:
        """Whether what stands in a slot is renewed in the opening gap in any case."""
        carrier = self.carrier(slot)
        most = self.done_anyway[carrier]
        rows = (row for row in self.scenario.files.levels if row.carrier == carrier and row.rank <= most)
        return not self.crowd.row.joins and any(slot in row.renews for row in rows)

    def bought(self, fill: Fill | None) -> Decimal:
        """What the packs of a slot, the deposit on them and the work planned cost, for all engines."""
        if fill is None:
            return Decimal(0)
        bill = self._bill([replace(fill, kit="")] * self.times(fill.slot.slot))
        return bill.total + bill.core_charges

    def _bill(self, fills: Sequence[Fill]) -> Bill:
        catalog = self.scenario.catalog
        if catalog is None:
            raise ValueError("a scenario without a catalog has no prices")
        return bill_for(fills, catalog, self.scenario.buying, self.aimed.encoded.wishes.on, 1)

    def sells(self, fill: Fill | None, times: int) -> Decimal:
        """What the pieces of a slot bring sold used, before any haircut; nothing of who has nothing yet."""
        catalog = self.scenario.catalog
        if fill is None or catalog is None or self.crowd.row.joins:
            return Decimal(0)
        return resale_of(fill, catalog, self.scenario.buying, self.aimed.encoded.wishes.on) * times

    def once(self, one: Candidate) -> Decimal:
        """What it costs once to have it in its slot, without the level that reaches it."""
        if self.is_kept(one):
            return Decimal(0)
        planned = self.scenario.built().fills.get(one.slot)
        times, haircut = self.times(one.slot), Decimal(repr(self.study.haircut))
        if self.anyway(one.slot):
            return Decimal(0)
        if self.crowd.row.joins:
            return self.bought(one.fill) - self.bought(planned)
        spent = self.bought(one.fill) if one.piece is None else self.sells(one.fill, 1) * (1 - haircut)
        return spent - self.sells(planned, times) * (1 - haircut)

    def a_season(self, slot: str, part: str) -> float:
        """What a part costs in a slot a season, 0 where nothing wears there."""
        found = self.aimed.lasting.get((slot, part))
        return found.per_season if found is not None else 0.0

    def over_years(self, one: Candidate) -> Decimal:
        """What it costs more than what stands there now, over the years of the study, in today's money."""
        planned = self.scenario.built().part(one.slot)
        now = self.a_season(one.slot, planned.part) if planned is not None else 0.0
        more = (self.a_season(one.slot, one.part) - now) * self.times(one.slot)
        factor = uniform_present_value_factor(self.study.discount, self.study.years)
        return Decimal(repr(more * factor))

    def counted(self) -> Encoded:
        """The choice with both amounts, the levels as lots that are paid for once however many slots they reach."""
        encoded = self.aimed.encoded
        market = len(encoded.purchases.markets)
        once, answer = {}, {}
        for number, slot in enumerate(encoded.slots):
            if "/" in slot:
                continue
            its = encoded.candidates[slot]
            spent = [self.once(one) for one in its]
            once[number] = tuple(self._minor(amount) for amount in spent)
            answer[number] = tuple(
                0 if self.is_kept(one) else max(1, self._minor(amount + self.over_years(one)))
                for one, amount in zip(its, spent, strict=True)
            )
        amounts = {
            **encoded.puzzle.amounts,
            ONCE: Amount(ONCE, once, market),
            ANSWER: Amount(ANSWER, answer, market),
        }
        puzzle = encoded.puzzle
        lots = tuple(replace(lot, costs=(*lot.costs, dict.fromkeys(lot.costs[0], 0))) for lot in puzzle.lots)
        kits = tuple(replace(kit, costs=(*kit.costs, (0,) * len(kit.costs[0]))) for kit in puzzle.kits)
        return replace(
            encoded, puzzle=replace(puzzle, amounts=amounts, kits=kits, lots=(*lots, *self._levels_as_lots(market)))
        )

    def _levels_as_lots(self, market: int) -> Iterator[Lot]:
        """Each level as what it costs more than the one below, wanted by every slot that it or a higher one reaches."""
        encoded = self.aimed.encoded
        for carrier in ("engine", CAR):
            before = Decimal(0)
            times = 1 if carrier == CAR else len(self.crowd.engines)
            for row in sorted(self._levels.get(carrier, ()), key=lambda row: row.rank):
                cost = self.level_cost(row)
                more, before = max(Decimal(0), cost - before), max(before, cost)
                wanted = {}
                for number, slot in enumerate(encoded.slots):
                    if "/" not in slot and self.carrier(slot) == carrier and self._rank(slot) >= row.rank:
                        wanted[number] = tuple(int(self._opens(one)) for one in encoded.candidates[slot])
                wanted = {number: of for number, of in wanted.items() if any(of)}
                if wanted and more:
                    price = self._minor(more * times)
                    counts = range(len(wanted) + 1)
                    costs = tuple(
                        {count: price if count and at == market else 0 for count in counts} for at in range(market + 1)
                    )
                    yield Lot(f"level {row.level}", wanted, costs)

    def level_cost(self, row: Level) -> Decimal:
        """Labour and supplies of a level, nothing where the opening gap does it anyway."""
        if self.crowd.row.joins or row.rank <= self.done_anyway[row.carrier]:
            return Decimal(0)
        return row.labour + row.supplies

    def _rank(self, slot: str) -> int:
        """The rank of the level that reaches a slot, 0 for none."""
        row = self._rows.get(slot)
        ranks = {level.level: level.rank for level in self.scenario.files.levels}
        return 0 if row is None else ranks[row.level]

    def _opens(self, one: Candidate) -> bool:
        return not self.is_kept(one) and not self.anyway(one.slot)

    def swaps(self, swapped: Mapping[str, Candidate]) -> Iterator[Swap]:
        """What is swapped, and what took turns in slots where one part stands alone now."""
        for slot, one in swapped.items():
            planned = self.scenario.built().part(slot)
            after = one.part if one.part != NOTHING else ""
            piece = one.piece.piece if one.piece is not None else ""
            before = planned.part if planned is not None else ""
            yield Swap(slot, self.carrier(slot), before, after, piece, self.anyway(slot))
        for slot in sorted(self.alone):
            for turn in self.crowd.scenario.built().alternates.get(slot, ()):
                if turn.serves:
                    yield Swap(slot, self.carrier(slot), turn.fill.part.part, "", turn=turn.name)

    def lines(self, swapped: Mapping[str, Candidate], swaps: Sequence[Swap]) -> Iterator[OnceLine]:
        """What the swaps cost and bring once; who has nothing yet spares what is not bought."""
        moved = {slot: one for slot, one in swapped.items() if not self.anyway(slot)}
        buys = [one for one in moved.values() if one.fill is not None and one.piece is None]
        yield from self._bought_lines(
            [replace(one.fill, kit="") for one in buys for _ in range(self.times(one.slot)) if one.fill]
        )
        yield from self._level_lines(moved)
        for slot, one in swapped.items():
            if self.anyway(slot) and one.fill is not None and one.piece is None:
                lead = self._bill([replace(one.fill, kit="")]).longest_lead_days
                pieces = one.fill.slot.quantity * self.times(slot)
                yield OnceLine("anyway", one.part, (slot,), pieces, Decimal(0), lead, str(one.fill.part.place))
        taken = {one.piece.piece for one in swapped.values() if one.piece is not None}
        for swap in swaps:
            if not (swap.turn and taken & self._turning(swap)):
                yield from self._given_up(swap)

    def _turning(self, swap: Swap) -> set[str]:
        """The pieces that took turns in a slot under a name."""
        garage = self.crowd.scenario.garage
        return {one.piece for one in garage if (one.slot, one.alternate) == (swap.slot, swap.turn)}

    def shelf_lines(self, barred: Collection[str]) -> Iterator[OnceLine]:
        """What lies on the shelf for no use, sold: new boxes as what they cost, used pieces at their resale."""
        for piece in self.crowd.scenario.garage:
            amount = self._shelf_worth(piece) if piece.on_shelf and piece.part in barred else Decimal(0)
            if amount:
                yield OnceLine("sold", piece.part, (), piece.count or 1, -amount, 0, str(piece.place))

    def shelf_values(self, barred: Collection[str]) -> dict[str, int]:
        """The same by part, minor units, before any haircut."""
        found = dict.fromkeys(sorted(barred), 0)
        for line in self.shelf_lines(barred):
            found[line.name] += self._minor(-line.amount)
        return found

    def _shelf_worth(self, piece: Piece) -> Decimal:
        """What pieces on the shelf cost new, their share of whole packs, or used would sell for."""
        catalog, buying, day = self.scenario.catalog, self.scenario.buying, self.aimed.encoded.wishes.on
        if catalog is None:
            return Decimal(0)
        part, pieces = catalog.parts[piece.part], piece.count or 1
        if piece.is_used:
            worth = buying.rates.convert(part.resale * pieces, catalog.currency_of(part), day)
        else:
            bought = buying.cheapest(catalog.offers_of(piece.part), pieces, day)
            worth = bought.cost * pieces / (pieces + bought.left_over)
        return round_money(worth, self.currency)

    def _bought_lines(self, fills: Sequence[Fill]) -> Iterator[OnceLine]:
        if not fills:
            return
        for line in self._bill(fills).lines:
            what, slots = "work" if line.kind == "operation" else "bought", tuple(dict.fromkeys(line.slots))
            yield OnceLine(what, line.part, slots, line.pieces, line.cost, line.lead_days, str(line.place))
            if line.core_charge:
                yield OnceLine("deposit", line.part, slots, line.pieces, line.core_charge, 0, str(line.place))

    def _level_lines(self, moved: Mapping[str, Candidate]) -> Iterator[OnceLine]:
        """The highest level that the swaps need, of engines and of the car."""
        for carrier in ("engine", CAR):
            slots = tuple(sorted(slot for slot in moved if self.carrier(slot) == carrier and self._rank(slot)))
            if not slots:
                continue
            rank = max(self._rank(slot) for slot in slots)
            rows = [row for row in self._levels.get(carrier, ()) if row.rank <= rank]
            row = max(rows, key=self.level_cost)
            times = 1 if carrier == CAR else len(self.crowd.engines)
            if self.level_cost(row):
                yield OnceLine("level", row.level, slots, times, self.level_cost(row) * times, 0, str(row.place))

    def _given_up(self, swap: Swap) -> Iterator[OnceLine]:
        """What is replaced and sold, or not bought in the first place."""
        build = self.crowd.scenario.built()
        turns = (one.fill for one in build.alternates.get(swap.slot, ()) if one.name == swap.turn)
        fill = next(turns, None) if swap.turn else build.fills.get(swap.slot)
        if fill is None or swap.anyway:
            return
        times, joins = self.times(swap.slot), self.crowd.row.joins
        amount = self.bought(fill) if joins else self.sells(fill, times)
        if amount:
            pieces = fill.slot.quantity * times
            yield OnceLine(
                "spared" if joins else "sold", fill.part.part, (swap.slot,), pieces, -amount, 0, str(fill.part.place)
            )

    def _minor(self, amount: Decimal) -> int:
        return to_minor(round_money(amount, self.currency), self.currency)


def _cheapest(levels: Iterable[Level]) -> dict[str, tuple[Level, ...]]:
    """The levels of each carrier, each by the shop that asks least."""
    found: dict[str, Level] = {}
    for row in levels:
        before = found.get(row.level)
        if before is None or row.labour + row.supplies < before.labour + before.supplies:
            found[row.level] = row
    return {carrier: tuple(row for row in found.values() if row.carrier == carrier) for carrier in ("engine", CAR)}
