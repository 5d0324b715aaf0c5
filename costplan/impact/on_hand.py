"""What a group has on hand: as a choice of parts sees it, and what is left of it once the group has answered a book."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

from costplan.build import Build
from costplan.garage import CAR, Piece
from costplan.impact.answers import Swap
from costplan.impact.field import Crowd
from costplan.scenario import Scenario


def as_kept(scenario: Scenario, alone: Collection[str]) -> Iterator[Piece]:
    """What is on hand as a choice sees it: what is in an engine may stay there, however worn, since nobody asks it to
    be renewed; its serial and the day it was bought, by which clauses keep older parts, stay.

    `alone`: slots in which nothing takes turns any more; what took turns there lies on the shelf.
    """
    as_new: dict[str, object] = {"use": {}, "installed": None, "step": 0}
    for piece in scenario.garage:
        if piece.on_shelf:
            yield piece
        elif piece.slot in alone and takes_turns(scenario.built(), piece):
            number = scenario.built().pattern.slots[piece.slot].quantity
            shelf = {"engine": "", "slot": "", "alternate": "", "count": number}
            yield piece.model_copy(update=as_new | shelf)
        else:
            alternate = "" if piece.slot in alone else piece.alternate
            yield piece.model_copy(update=as_new | {"count": None, "alternate": alternate})


def takes_turns(build: Build, piece: Piece) -> bool:
    """Whether a piece only takes turns with the main one of its slot."""
    return any(one.name == piece.alternate and one.serves for one in build.alternates.get(piece.slot, ()))


def garage_after(
    crowd: Crowd, swaps: Sequence[Swap], may: Collection[str], renewed: Collection[str] = ()
) -> Iterator[Piece]:
    """What is on hand once a group has answered: without what is replaced, what was taken from elsewhere in its slot,
    or `renewed`, and on the shelf no more of what may stand nowhere (`may`: what may stand somewhere)."""
    build = crowd.scenario.built()
    out = {*((swap.slot, swap.turn) for swap in swaps), *((slot, "") for slot in renewed)}
    alone = {swap.slot for swap in swaps if swap.turn}
    taken = {swap.piece: swap for swap in swaps if swap.piece}
    for piece in crowd.scenario.garage:
        turn = piece.alternate if takes_turns(build, piece) else ""
        if piece.piece in taken:
            yield from _after_taking(piece, taken[piece.piece], crowd)
        elif piece.on_shelf:
            if piece.part not in barred_parts(crowd, may):
                yield piece
        elif (piece.slot, turn) not in out:
            yield piece.model_copy(update={"alternate": ""}) if piece.slot in alone else piece


def _after_taking(piece: Piece, swap: Swap, crowd: Crowd) -> Iterator[Piece]:
    """A box on the shelf after a slot's pieces are taken from it; what was used elsewhere, in its slot."""
    number = crowd.scenario.built().pattern.slots[swap.slot].quantity
    if piece.is_used:
        carrier = CAR if swap.carrier == CAR else crowd.engines[0]
        there = {"engine": carrier, "slot": swap.slot, "alternate": "", "count": None, "spare": False}
        yield piece.model_copy(update=there)
    elif (piece.count or 1) > number:
        yield piece.model_copy(update={"count": (piece.count or 1) - number})


def barred_parts(crowd: Crowd, may: Collection[str]) -> frozenset[str]:
    """The parts on a group's shelf that may stand in no slot of their role."""
    scenario = crowd.scenario
    roles = {slot.role for slot in scenario.built().pattern.slots.values()}
    parts = scenario.catalog.parts if scenario.catalog else {}
    shelf = {piece.part for piece in scenario.garage if piece.on_shelf and piece.part in parts}
    return frozenset(part for part in shelf if parts[part].role in roles and part not in may)
