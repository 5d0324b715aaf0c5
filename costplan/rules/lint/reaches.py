"""How far a limit lets a value go, so that limits in different units can be compared."""

from __future__ import annotations

from itertools import pairwise
from math import isclose

from costplan.quantity import UNITS, Quantity, dimension, places_of
from costplan.rules.kinds import Limit
from costplan.rules.kinds.bounds import Bound


def plain_unit(unit: str) -> str:
    """The unit in which all limits of a dimension are compared; a currency stands for itself."""
    what = dimension(unit)
    return next((one for one, (measures, _) in UNITS.items() if measures == what), unit)


def edge(test: Limit, bound: Bound, rounded: bool, sign: int) -> float:
    """How far a value may go past a bound: by its tolerance, and by what rounding lets pass."""
    half = 0.5 * 10.0 ** -places_of(bound.number) if rounded else 0.0
    unit = plain_unit(bound.unit)
    slack = test.tolerance.quantity.to(unit) if test.tolerance else 0.0
    return Quantity(float(bound.number) + sign * half, bound.unit).to(unit) + sign * slack


def in_order(*values: float) -> bool:
    """Whether none is above the next, but for the noise of conversions."""
    return all(low <= high or isclose(low, high) for low, high in pairwise(values))
