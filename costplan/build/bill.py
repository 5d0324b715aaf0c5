"""The bill of materials: what to buy for a build, in whole packs, and what is left over."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from costplan.build.pattern import Build
from costplan.catalog import Part
from costplan.money import Rates, round_money
from costplan.problems import Place


@dataclass(frozen=True, slots=True)
class BillLine:
    """One part of a bill: pieces over all its slots, packs to buy, their cost in the scenario's currency."""

    part: str
    name: str
    supplier: str
    slots: tuple[str, ...]
    pieces: int
    pack: int
    packs: int
    left_over: int
    price: Decimal
    currency: str
    price_date: date
    cost: Decimal
    core_charge: Decimal
    lead_days: int
    place: Place


@dataclass(frozen=True, slots=True)
class Bill:
    """The lines of a bill, their total (a sum of rounded lines), and the core deposits that come on top."""

    lines: tuple[BillLine, ...]
    currency: str
    total: Decimal
    core_charges: Decimal
    longest_lead_days: int
    oldest_price: date | None


def bill_of(build: Build, rates: Rates, on: date) -> Bill:
    """The bill for all parts of a build, new, at catalog prices; pieces of one part share packs over their slots."""
    lines = []
    for name in dict.fromkeys(fill.part.part for fill in build.fills.values()):
        fills = [fill for fill in build.fills.values() if fill.part.part == name]
        pieces = sum(fill.slot.quantity for fill in fills)
        lines.append(_line(fills[0].part, tuple(fill.slot.slot for fill in fills), pieces, rates, on))
    return Bill(
        tuple(lines),
        rates.currency,
        sum((line.cost for line in lines), Decimal(0)),
        sum((line.core_charge for line in lines), Decimal(0)),
        max((line.lead_days for line in lines), default=0),
        min((line.price_date for line in lines), default=None),
    )


def packs_for(pieces: int, pack: int) -> int:
    """Whole packs that hold so many pieces.

    >>> packs_for(16, 8), packs_for(17, 8)
    (2, 3)
    """
    return -(-pieces // pack)


def _line(part: Part, slots: tuple[str, ...], pieces: int, rates: Rates, on: date) -> BillLine:
    packs = packs_for(pieces, part.pack)

    def cost_of(price: Decimal) -> Decimal:
        return round_money(rates.convert(price * packs, part.currency, on), rates.currency)

    return BillLine(
        part.part,
        part.name,
        part.supplier,
        slots,
        pieces,
        part.pack,
        packs,
        packs * part.pack - pieces,
        part.price,
        part.currency,
        part.price_date,
        cost_of(part.price),
        cost_of(part.core_charge),
        part.lead_days,
        part.place,
    )
