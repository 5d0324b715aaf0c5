"""Bounds as a pack writes them: a number with its unit, which may be a currency, and the places it is written with."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from costplan.money import is_currency
from costplan.quantity import UNITS, Quantity, nearest_unit
from costplan.reading.fields import number_and_unit, refuse, to_decimal


@dataclass(frozen=True, slots=True)
class Bound:
    """A bound: `number` as it is written, so that its last place is known, and its unit or currency."""

    number: Decimal
    unit: str = "1"

    @property
    def quantity(self) -> Quantity:
        return Quantity(float(self.number), self.unit)

    @property
    def is_money(self) -> bool:
        return self.unit not in UNITS

    def __str__(self) -> str:
        return f"{self.number:f}" if self.unit == "1" else f"{self.number:f} {self.unit}"


def to_bound(value: Any) -> Bound:
    """A bare number, or number and unit in quotes: 10.25, "0.540 in", "9000 USD"."""
    number, unit = number_and_unit(value)
    if unit and unit not in UNITS and not is_currency(unit):
        raise refuse("REA021", "an unknown unit:", nearest_unit(unit, UNITS))
    return Bound(to_decimal(number), unit or "1")


def to_width(value: Any) -> Bound:
    """How far something may be off, never negative."""
    bound = to_bound(value)
    if bound.number < 0:
        raise refuse("REA018", "negative number:", "give 0 or more")
    return bound
