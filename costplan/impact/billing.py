"""The bill of an answer: what is swapped, what that costs and brings once, line by line."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal

from costplan.build import Build, Fill
from costplan.choose import NOTHING
from costplan.choose.candidates import Candidate
from costplan.impact.answers import OnceLine, Swap
from costplan.impact.paying import Purse

Swapped = Mapping[str, Candidate]


def swaps_of(purse: Purse, swapped: Swapped, alone: Collection[str]) -> Iterator[Swap]:
    """What is swapped, and what took turns in slots where one part stands `alone` now."""
    build = purse.scenario.built()
    for slot, one in swapped.items():
        planned = build.part(slot)
        after = one.part if one.part != NOTHING else ""
        piece = one.piece.piece if one.piece is not None else ""
        yield Swap(slot, purse.carrier(slot), planned.part if planned else "", after, piece, purse.anyway(slot))
    for slot in sorted(alone):
        for turn in build.alternates.get(slot, ()):
            if turn.serves:
                yield Swap(slot, purse.carrier(slot), turn.fill.part.part, "", turn=turn.name)


def renewed_with(purse: Purse, swapped: Swapped) -> tuple[tuple[str, str], ...]:
    """The slots, each with what it is of, that are renewed because the level opened for swaps always renews them."""
    return tuple(
        (row.carrier, slot)
        for row, _ in purse.opened_for(_moved(purse, swapped))
        for slot in purse.renewed_by(row.carrier, row.rank)
        if slot not in swapped
    )


def lines_of(purse: Purse, swapped: Swapped, swaps: Sequence[Swap], build: Build) -> Iterator[OnceLine]:
    """What swaps cost and bring once, `build` being in the engine then; who has nothing yet spares what is not
    bought."""
    buys = [one for slot, one in swapped.items() if not purse.anyway(slot) and one.piece is None]
    yield from _bought(purse, [one.fill for one in buys if one.fill is not None])
    yield from _opened(purse, swapped, build)
    yield from _renewed_anyway(purse, swapped)
    taken = {one.piece.piece for one in swapped.values() if one.piece is not None}
    for swap in swaps:
        if not (swap.turn and taken & _turning(purse, swap)):
            yield from _given_up(purse, swap)


def _moved(purse: Purse, swapped: Swapped) -> list[str]:
    """The slots that somebody must open an engine for."""
    return [slot for slot in swapped if not purse.anyway(slot)]


def _bought(purse: Purse, fills: Sequence[Fill]) -> Iterator[OnceLine]:
    """What is bought for slots and done to it, for all engines."""
    wanted = [replace(fill, kit="") for fill in fills for _ in range(purse.times(fill.slot.slot))]
    for line in purse.bill(wanted).lines if wanted else ():
        what, slots = "work" if line.kind == "operation" else "bought", tuple(dict.fromkeys(line.slots))
        yield OnceLine(what, line.part, slots, line.pieces, line.cost, line.lead_days, str(line.place))
        if line.core_charge:
            yield OnceLine("deposit", line.part, slots, line.pieces, line.core_charge, 0, str(line.place))


def _opened(purse: Purse, swapped: Swapped, build: Build) -> Iterator[OnceLine]:
    """The levels opened for swaps, and what they always renew."""
    for row, slots in purse.opened_for(_moved(purse, swapped)):
        times, cost = purse.engines(row.carrier), row.labour + row.supplies
        if cost:
            yield OnceLine("level", row.level, slots, times, cost * times, 0, str(row.place))
        if purse.charge(row):
            yield OnceLine("charge", row.level, slots, times, purse.charge(row) * times, 0, str(row.place))
    yield from _bought(purse, [build.fills[slot] for _, slot in renewed_with(purse, swapped) if slot in build.fills])


def _renewed_anyway(purse: Purse, swapped: Swapped) -> Iterator[OnceLine]:
    """What must be there when the opening gap renews it, and costs nothing more once."""
    for slot, one in swapped.items():
        if purse.anyway(slot) and one.fill is not None and one.piece is None:
            lead = purse.bill([replace(one.fill, kit="")]).longest_lead_days
            pieces = one.fill.slot.quantity * purse.times(slot)
            yield OnceLine("anyway", one.part, (slot,), pieces, Decimal(0), lead, str(one.fill.part.place))


def _turning(purse: Purse, swap: Swap) -> set[str]:
    """The pieces that took turns in a slot under a name."""
    return {one.piece for one in purse.scenario.garage if (one.slot, one.alternate) == (swap.slot, swap.turn)}


def _given_up(purse: Purse, swap: Swap) -> Iterator[OnceLine]:
    """What is replaced and sold, or not bought in the first place."""
    build = purse.scenario.built()
    turns = (one.fill for one in build.alternates.get(swap.slot, ()) if one.name == swap.turn)
    fill = next(turns, None) if swap.turn else build.fills.get(swap.slot)
    if fill is None or swap.anyway:
        return
    times = purse.times(swap.slot)
    amount = purse.bought(fill) if purse.joins else purse.sells(fill, times)
    if amount:
        what, pieces = "spared" if purse.joins else "sold", fill.slot.quantity * times
        yield OnceLine(what, fill.part.part, (swap.slot,), pieces, -amount, 0, str(fill.part.place))


def shelf_lines(purse: Purse, barred: Collection[str]) -> Iterator[OnceLine]:
    """What lies on the shelf for no use, sold: new boxes as what they cost, used pieces at their resale."""
    for piece in purse.scenario.garage:
        amount = purse.on_shelf(piece) if piece.on_shelf and piece.part in barred else Decimal(0)
        if amount:
            yield OnceLine("sold", piece.part, (), piece.count or 1, -amount, 0, str(piece.place))


def shelf_values(purse: Purse, barred: Collection[str]) -> dict[str, int]:
    """The same by part, minor units, before any haircut."""
    found = dict.fromkeys(sorted(barred), 0)
    for line in shelf_lines(purse, barred):
        found[line.name] += purse.minor(-line.amount)
    return found
