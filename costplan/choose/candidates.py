"""The candidates of each slot: every part of its role, from where it can be had: apart, in a kit, from the hand."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

from costplan.build import Alternate, Build, Fill, done_to
from costplan.catalog import Catalog, Part
from costplan.choose.hand import Hand, Used
from costplan.choose.wishes import NOTHING, ChoosyBuying, Wishes
from costplan.garage import Piece
from costplan.scenario import Scenario

Source = Literal["apart", "kit", "hand", "empty"]


@dataclass(frozen=True, slots=True)
class Candidate:
    """One way to fill a slot, None where it stays empty; `kit` is what the part comes in, `piece` what is on hand.

    `used`: what a piece on hand has run.
    """

    slot: str
    source: Source
    fill: Fill | None = None
    kit: str = ""
    piece: Piece | None = None
    used: Used | None = None

    @property
    def part(self) -> str:
        return self.fill.part.part if self.fill else NOTHING

    @property
    def worked_on(self) -> bool:
        """Whether the shop does to it what the build plans for its slot: not to what stood in an engine before."""
        return self.fill is not None and (self.piece is None or not self.piece.is_used)

    def __str__(self) -> str:
        where = {"kit": f" in {self.kit}", "hand": f" on hand ({self.piece.piece})" if self.piece else ""}
        return f"{self.part}{where.get(self.source, '')}"


def candidates_of(scenario: Scenario, wishes: Wishes, hand: Hand) -> dict[str, tuple[Candidate, ...]]:
    """The candidates of every slot of the pattern by part, whatever fits and books say of them.

    Parts that cannot be bought as wished are there too, `apart`: why they are out is told as any other reason.
    """
    build = scenario.built()
    slots = sorted(build.pattern.slots)
    return {slot: tuple(_candidates(scenario, build, slot, wishes, hand)) for slot in slots}


def _candidates(scenario: Scenario, build: Build, slot: str, wishes: Wishes, hand: Hand) -> Iterator[Candidate]:
    catalog, wanted = scenario.catalog or Catalog(), build.pattern.slots[slot]
    free, filled = slot in wishes.optional or slot in wishes.pinned, slot in build.fills
    if wanted.optional and (free or not filled):
        yield Candidate(slot, "empty")
    if wanted.optional and not (free or filled):
        return
    for part in sorted(catalog.of_role(wanted.role), key=lambda part: part.part):
        fill = _filled(build, slot, part)
        yield Candidate(slot, "apart", fill)
        kits = sorted({row.kit for row in catalog.contents if row.part == part.part and row.kit in catalog.kits})
        yield from (Candidate(slot, "kit", replace(fill, kit=kit), kit) for kit in kits)
    main = next((one.name for one in build.alternates.get(slot, ()) if not one.serves), "")
    for piece, used in hand.pieces(wanted, main):
        yield Candidate(slot, "hand", _as_it_is(build, slot, piece, catalog), piece=piece, used=used)


def _filled(build: Build, slot: str, part: Part) -> Fill:
    """A new part in a slot, with the operations that the build plans there."""
    planned = build.fills.get(slot)
    if planned is None:
        return Fill(build.pattern.slots[slot], part, part.place)
    place = planned.place if planned.part.part == part.part else part.place
    return replace(planned, part=part, place=place, kit="", steps=())


def turn_on_hand(scenario: Scenario, slot: str, turn: Alternate, hand: Hand) -> tuple[Candidate, ...]:
    """The pieces on hand of a part that takes turns in a slot; it is worked on as its own row of the build says."""
    wanted = scenario.built().pattern.slots[slot]
    return tuple(
        Candidate(slot, "hand", replace(turn.fill, place=piece.place, kit=""), piece=piece, used=used)
        for piece, used in hand.pieces(wanted, turn.name, turn.fill.part.part)
    )


def _as_it_is(build: Build, slot: str, piece: Piece, catalog: Catalog) -> Fill:
    """A piece on hand: new ones are worked on as planned, others are as their service steps left them.

    What the build plans for its slot counts as done to a used piece of the planned part, as it does in an engine that
    stands in the garage.
    """
    fill = replace(_filled(build, slot, catalog.parts[piece.part]), place=piece.place)
    if not piece.is_used:
        return fill
    planned = build.part(slot)
    as_planned = planned is not None and planned.part == piece.part
    steps = tuple(done_to(fill.part, piece.step, catalog))
    return replace(fill, steps=steps) if as_planned else replace(fill, operations=(), steps=steps)


def buying_of(scenario: Scenario, wishes: Wishes) -> ChoosyBuying:
    """How the choice buys: as the scenario does, from whom and by when it is wished."""
    plain = scenario.buying
    return ChoosyBuying(plain.rates, plain.with_tax, wishes.suppliers, wishes.by)
