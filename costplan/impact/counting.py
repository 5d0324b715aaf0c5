"""What candidates cost a group: once, and over the years, as amounts that a choice can make least."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import replace
from decimal import Decimal

from costplan.choose import Aimed, Encoded
from costplan.choose.candidates import Candidate
from costplan.choose.encoded import with_amount
from costplan.choose.puzzle import Allowed, Amount, Lot, Pick
from costplan.formulas.economics import uniform_present_value_factor
from costplan.garage import CAR
from costplan.impact.paying import CARRIERS, Purse
from costplan.impact.records import Study

#: What an answer costs once and over the years, nothing less than what stands there; the same as it is; what it costs
#: once. In minor units.
ANSWER, EXACT, ONCE = "answer", "exact", "once"


class Counter:
    """Counts what candidates cost whoever owns what a group owns; `alone`: slots where nothing takes turns any more."""

    def __init__(self, aimed: Aimed, purse: Purse, study: Study, alone: Collection[str] = ()) -> None:
        self.aimed, self.purse, self.study, self.alone = aimed, purse, study, alone
        self.scenario = aimed.encoded.scenario
        owners = (*purse.crowd.engines[:1], CAR)
        self._own = {piece.slot for piece in self.scenario.garage if piece.engine in owners}

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

    def kept_but_in(self, slots: Collection[str]) -> Iterator[Allowed]:
        """What stands in all slots but some stays there."""
        encoded = self.aimed.encoded
        for number, slot in enumerate(encoded.slots):
            if "/" not in slot and slot not in slots:
                kept = tuple(int(self.is_kept(one)) for one in encoded.candidates[slot])
                yield Allowed(-1, (number,), (kept,), frozenset({(1,)}))

    def careful(self) -> Iterator[Allowed]:
        """Nothing new that is cheaper than what is planned, where positions.csv lets nothing be stretched: what holds
        an engine together is no place to save."""
        kept = {row.slot for row in self.scenario.files.positions if not row.stretch}
        encoded, build = self.aimed.encoded, self.scenario.built()
        for number, slot in enumerate(encoded.slots):
            fill = build.fills.get(slot)
            if slot in kept and fill is not None:
                least = self.purse.bought(fill)
                may = tuple(
                    int(self.is_kept(one) or one.piece is not None or self.purse.bought(one.fill) >= least)
                    for one in encoded.candidates[slot]
                )
                yield Allowed(-1, (number,), (may,), frozenset({(1,)}))

    def once(self, one: Candidate) -> Decimal:
        """What it costs once to have it in its slot, without the level that reaches it."""
        purse = self.purse
        if self.is_kept(one) or purse.anyway(one.slot):
            return Decimal(0)
        planned = self.scenario.built().fills.get(one.slot)
        if purse.joins:
            return purse.bought(one.fill) - purse.bought(planned)
        left = 1 - Decimal(repr(self.study.haircut))
        spent = purse.bought(one.fill) if one.piece is None else purse.sells(one.fill, 1) * left
        return spent - purse.sells(planned, purse.times(one.slot)) * left

    def over_years(self, one: Candidate) -> Decimal:
        """What it costs more than what stands there now, over the years of the study, in today's money; a part of which
        nothing is known counts nothing."""
        planned = self.scenario.built().part(one.slot)
        now = self._a_season(one.slot, planned.part) if planned is not None else 0.0
        more = (self._a_season(one.slot, one.part) - now) * self.purse.times(one.slot)
        return Decimal(repr(more * uniform_present_value_factor(self.study.discount, self.study.years)))

    def _a_season(self, slot: str, part: str) -> float:
        found = self.aimed.lasting.get((slot, part))
        return found.per_season if found is not None else 0.0

    def counted(self) -> Encoded:
        """The choice with the amounts, the levels as lots that are paid for once however many slots they reach."""
        encoded = self.aimed.encoded
        market, puzzle, minor = len(encoded.purchases.markets), encoded.puzzle, self.purse.minor
        once, answer, exact = {}, {}, {}
        for number, slot in enumerate(encoded.slots):
            its = encoded.candidates[slot] if "/" not in slot else ()
            if its:
                spent = [self.once(one) for one in its]
                whole = [minor(amount + self.over_years(one)) for one, amount in zip(its, spent, strict=True)]
                once[number] = tuple(minor(amount) for amount in spent)
                answer[number] = tuple(
                    0 if self.is_kept(one) else max(1, cost) for one, cost in zip(its, whole, strict=True)
                )
                exact[number] = tuple(cost - min(whole) for cost in whole)
        lots = tuple(replace(lot, costs=(*lot.costs, dict.fromkeys(lot.costs[0], 0))) for lot in puzzle.lots)
        kits = tuple(replace(kit, costs=(*kit.costs, (0,) * len(kit.costs[0]))) for kit in puzzle.kits)
        found = replace(encoded, puzzle=replace(puzzle, kits=kits, lots=(*lots, *self._levels_as_lots(market))))
        for name, weights in ((ONCE, once), (ANSWER, answer), (EXACT, exact)):
            found = with_amount(found, Amount(name, weights, market))
        return found

    def _levels_as_lots(self, market: int) -> Iterator[Lot]:
        """Each level as what it costs more than the one below, wanted by every slot that it or a higher one reaches."""
        purse, build = self.purse, self.scenario.built()
        for carrier in CARRIERS:
            before = Decimal(0)
            for row in purse.levels[carrier]:
                cost = purse.level_cost(row, build)
                more, before = max(Decimal(0), cost - before), max(before, cost)
                wanted = self._opening(carrier, row.rank)
                if wanted and more:
                    price, counts = purse.minor(more * purse.engines(carrier)), range(len(wanted) + 1)
                    costs = tuple(
                        {count: price if count and at == market else 0 for count in counts} for at in range(market + 1)
                    )
                    yield Lot(f"level {row.level}", wanted, costs)

    def _opening(self, carrier: str, rank: int) -> dict[int, tuple[int, ...]]:
        """The candidates for which a level or a higher one must be opened, by slot."""
        encoded, purse, found = self.aimed.encoded, self.purse, {}
        for number, slot in enumerate(encoded.slots):
            if "/" not in slot and purse.carrier(slot) == carrier and purse.rank(slot) >= rank:
                of = tuple(int(not self.is_kept(one) and not purse.anyway(slot)) for one in encoded.candidates[slot])
                if any(of):
                    found[number] = of
        return found
