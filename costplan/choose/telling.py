"""What is told of a chosen bill beside its lines: what it changes, how fits and books stand with it, how large the
search was."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal

from costplan.build import Build, Fill, FitFinding, bill_of
from costplan.build.airflow import Breathing
from costplan.catalog import Buying
from costplan.choose.aims import Aimed
from costplan.choose.candidates import Candidate, Source
from costplan.choose.encoded import Encoded, Open
from costplan.choose.purchases import resale_of
from costplan.choose.puzzle import Pick
from costplan.choose.wishes import NOTHING, ChoosyBuying
from costplan.rules import Verdicts, check


@dataclass(frozen=True, slots=True)
class Change:
    """A slot with the part of the build and that of a bill, '' for none, and what each would cost by itself.

    `before` and `after`: the slot's pieces new in whole packs with the work planned for them, on the day; of what is on
    hand what it would sell for. Packs and kits that slots share make the bill differ from the sum of these.
    """

    slot: str
    planned: str
    part: str
    name: str
    source: Source
    before: Decimal
    after: Decimal

    @property
    def changed(self) -> bool:
        return self.part != self.planned

    @property
    def more(self) -> Decimal:
        return self.after - self.before


@dataclass(frozen=True, slots=True)
class Sizes:
    """How large the search was.

    `candidates`: ways to fill a slot, over all slots; `left` of them once each clause, fit and wish that one slot
    answers alone is asked; `combinations` of these, as a power of ten; `tables` and `sums` say what goes together.
    """

    slots: int
    candidates: int
    left: int
    combinations: float
    tables: int
    sums: int


@dataclass(frozen=True, slots=True)
class Told:
    """A chosen bill beside the build: `planned` is what the build costs new on the same day, from anybody.

    `changes`: the slots in which the two differ; `slots`: all of them, alike ones too.
    `kept`: the slots that may have nothing cheaper than planned, as they are not to be stretched; `breathing`: its
    estimated power, None without [airflow]; `open`: what no choice of parts can show.
    """

    planned: Decimal
    changes: tuple[Change, ...]
    kept: tuple[str, ...]
    breathing: Breathing | None
    fits: tuple[FitFinding, ...]
    verdicts: tuple[Verdicts, ...]
    open: tuple[Open, ...]
    sizes: Sizes
    slots: tuple[Change, ...] = ()


def tell(aimed: Aimed, pick: Pick) -> Told:
    """All that is told of a pick; its engine answers the scenario's packs as one put together on the day."""
    encoded = aimed.encoded
    scenario, on, chosen = encoded.scenario, encoded.wishes.on, encoded.chosen(pick)
    build = encoded.judge.build_of(chosen)
    whole = scenario.sheet(build=build, on=on)
    slots = tuple(_changes(encoded, chosen))
    sheet = replace(encoded.judge.sheet_of(whole, build, chosen), figures=whole.figures, turns=whole.turns)
    return Told(
        scenario.bill(on).total,
        tuple(one for one in slots if one.changed),
        tuple(ground.name for ground in encoded.puzzle.grounds if ground.kind == "critical"),
        aimed.estimator.look(build) if aimed.estimator else None,
        scenario.fits(build),
        tuple(check(pack, sheet, on) for pack in scenario.packs),
        encoded.open,
        sizes_of(encoded),
        slots,
    )


def sizes_of(encoded: Encoded) -> Sizes:
    """How large a choice is that was not encoded whole."""
    left = [len(encoded.candidates[slot]) for slot in encoded.slots]
    return Sizes(
        len(left),
        sum(left) + len(encoded.out),
        sum(left),
        math.fsum(math.log10(max(1, number)) for number in left),
        encoded.tables,
        encoded.sums,
    )


def _changes(encoded: Encoded, chosen: dict[str, Candidate]) -> Iterator[Change]:
    """The slots that either of the two has a part in."""
    scenario = encoded.scenario
    for slot, one in chosen.items():
        before = scenario.built().fills.get(slot)
        planned = before.part.part if before else ""
        part = "" if one.part == NOTHING else one.part
        if part or planned:
            name = one.fill.part.name if one.fill else ""
            cost_before = _new(encoded, before, scenario.buying)
            yield Change(slot, planned, part, name, one.source, cost_before, _cost(encoded, one))


def _cost(encoded: Encoded, one: Candidate) -> Decimal:
    if one.piece is not None and one.fill is not None:
        return resale_of(one.fill, encoded.purchases.catalog, encoded.scenario.buying, encoded.wishes.on)
    return _new(encoded, one.fill, encoded.purchases.buying)


def _new(encoded: Encoded, fill: Fill | None, buying: Buying) -> Decimal:
    """What a slot's part costs new with the work done to it: apart, or its kit where nobody asked sells it apart."""
    if fill is None:
        return Decimal(0)
    on, scenario, catalog = encoded.wishes.on, encoded.scenario, encoded.purchases.catalog
    apart = not isinstance(buying, ChoosyBuying) or buying.open_to(catalog.offers_of(fill.part.part), on)
    alone = Build(scenario.built().pattern, {fill.slot.slot: replace(fill, kit="" if apart else fill.kit, steps=())})
    return bill_of(alone, catalog, buying, on, scenario.header.stale_after_days).total
