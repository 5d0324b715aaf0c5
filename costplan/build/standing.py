"""Builds made from builds: another part in a slot, and a real engine as it stands in the garage and on the bench."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from costplan.build.names import slots_behind
from costplan.build.pattern import Alternate, Build, Fill
from costplan.catalog import Catalog, Operation, Part
from costplan.garage import Bench, Piece


def with_part(build: Build, slot: str, part: Part) -> Build:
    """A build with another part in a slot, the main one where several take turns.

    The operations planned for the slot hold for it too. The kit that the planned part comes in does not, nor do service
    steps, nor what was measured on that part or on measures that rest on the slot.
    """
    before = build.fills.get(slot)
    if before is None:
        fill = Fill(build.pattern.slots[slot], part, part.place)
    else:
        fill = replace(before, part=part, kit="", steps=())
    bench = tuple(row for row in build.bench if slot not in _slots_of(row, build))
    return replace(_refilled(build, {slot: fill}), bench=bench)


def standing(build: Build, pieces: Iterable[Piece], bench: Iterable[Bench], catalog: Catalog) -> Build:
    """An engine as it stands: the parts of its pieces, after their service steps, and what its bench rows say.

    Values measured before a part went in are put aside. A slot without a piece is taken as planned. Operations that the
    build plans are taken as done to the planned part.
    """
    there = {(piece.slot, piece.alternate): piece for piece in pieces if piece.slot in build.fills}
    fills = {}
    for slot, fill in build.fills.items():
        piece = there.get((slot, "")) or there.get((slot, _main_name(build, slot)))
        if piece is not None and piece.part in catalog.parts:
            fills[slot] = _as_it_stands(fill, piece, catalog)
    rows = tuple(bench)
    outdated = tuple(row for row in rows if _is_outdated(row, there.values(), build))
    return replace(_refilled(build, fills), bench=tuple(row for row in rows if row not in outdated), outdated=outdated)


def _is_outdated(row: Bench, pieces: Iterable[Piece], build: Build) -> bool:
    """Whether a piece that a value rests on went in after the day it was measured."""
    slots = _slots_of(row, build)
    return any(piece.slot in slots and piece.installed is not None and piece.installed > row.date for piece in pieces)


def _as_it_stands(fill: Fill, piece: Piece, catalog: Catalog) -> Fill:
    part = catalog.parts[piece.part]
    steps = tuple(done_to(part, piece.step, catalog))
    if part.part == fill.part.part:
        return replace(fill, steps=steps)
    return Fill(fill.slot, part, piece.place, steps=steps)


def done_to(part: Part, step: int, catalog: Catalog) -> Iterable[Operation]:
    """The operations of the service steps that a piece has been through."""
    for row in catalog.path_of(part):
        if row.step <= step and row.operation in catalog.operations:
            yield catalog.operations[row.operation]


def _refilled(build: Build, fills: Mapping[str, Fill]) -> Build:
    """The build with other fills in some slots; of alternates the main one changes."""
    alternates = {
        slot: tuple(replace(one, fill=fills[slot]) if _is_main(one) and slot in fills else one for one in others)
        for slot, others in build.alternates.items()
    }
    return replace(build, fills={**build.fills, **fills}, alternates=alternates)


def _is_main(alternate: Alternate) -> bool:
    return not alternate.serves


def _main_name(build: Build, slot: str) -> str:
    return next((one.name for one in build.alternates.get(slot, ()) if _is_main(one)), "")


def _slots_of(row: Bench, build: Build) -> tuple[str, ...]:
    """The slots that a measured value speaks of."""
    return (row.slot,) if row.slot else slots_behind(row.attribute, build.pattern)
