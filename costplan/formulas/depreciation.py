"""Depreciation: how a price is spread over the periods of a life, down to what is left at its end.

Cost and salvage are money, a float here and unrounded; life and period count the same periods (years, months). Whatever
the method, the depreciation of all periods adds up to cost less salvage, except that a declining balance with a small
factor may end above the salvage.
"""

from __future__ import annotations

import math

from costplan.formulas.checking import InputError, need_above, need_at_least, need_at_most
from costplan.formulas.method import Input, Method


def straight_line_depreciation(cost: float, salvage: float, life: float) -> float:
    """The depreciation of each period, the same in all: (cost - salvage) / life.

    0 where the salvage is the cost.
    Source: ISO/IEC 26300 OpenFormula, SLN (from memory).

    >>> straight_line_depreciation(12000, 2000, 5)
    2000.0
    """
    _need_asset(cost, salvage, life)
    return (cost - salvage) / life


def sum_of_years_depreciation(cost: float, salvage: float, life: int, period: int) -> float:
    """The depreciation of one period, falling evenly: (cost - salvage) * 2 * (life - period + 1) / (life * (life + 1)).

    The last period bears 1 / life of the first; a life of one period bears it all.
    Source: ISO/IEC 26300 OpenFormula, SYD (from memory).

    >>> [round(sum_of_years_depreciation(12000, 2000, 5, year), 2) for year in (1, 5)]
    [3333.33, 666.67]
    """
    _need_asset(cost, salvage, life)
    need_at_least(1, period=period)
    need_at_most(life, period=period)
    return (cost - salvage) * 2 * (life - period + 1) / (life * (life + 1))


def declining_balance_value(cost: float, salvage: float, life: float, age: float, factor: float = 2.0) -> float:
    """What a thing is booked at, at an age: max(salvage, cost * (1 - factor / life)^age).

    Each period takes the same share off the value before it, until the salvage stops it; a share of 1 or more takes all
    in the first period. The factor is 2 for the double-declining balance; the age may be a fraction.
    Source: ISO/IEC 26300 OpenFormula, DDB (from memory).

    >>> [round(declining_balance_value(12000.0, 2000.0, 5, age), 2) for age in (0, 3, 4)]
    [12000.0, 2592.0, 2000.0]
    """
    _need_asset(cost, salvage, life)
    need_at_least(0, age=age)
    need_above(0, factor=factor)
    return max(salvage, cost * math.pow(1 - min(1.0, factor / life), age))


def declining_balance_depreciation(
    cost: float, salvage: float, life: float, period: float, factor: float = 2.0
) -> float:
    """The depreciation of one period: declining balance value at period - 1, less that at period.

    0 once the salvage is reached. A period may be a fraction: 3.5 is the year that ends with age 3.5, and 0.5 the first
    half of the first.
    Source: ISO/IEC 26300 OpenFormula, DDB (from memory).

    >>> [round(declining_balance_depreciation(12000.0, 2000.0, 5, year), 2) for year in (1, 2, 3, 4, 5)]
    [4800.0, 2880.0, 1728.0, 592.0, 0.0]
    """
    need_above(0, period=period, life=life)
    need_at_most(life, period=period)
    before = declining_balance_value(cost, salvage, life, max(0.0, period - 1), factor)
    return before - declining_balance_value(cost, salvage, life, period, factor)


def _need_asset(cost: float, salvage: float, life: float) -> None:
    need_at_least(0, cost=cost, salvage=salvage)
    need_above(0, life=life)
    if salvage > cost:
        raise InputError("salvage", salvage, f"give at most the cost, {cost:g}")


_COST = Input("cost", "money", "price at the start", 12000.0)
_SALVAGE = Input("salvage", "money", "what is left at the end of the life", 2000.0)
_LIFE = Input("life", "periods", "periods of the life", 5.0)
_FACTOR = Input("factor", "1", "times the straight-line share, 2 for the double-declining balance", 2.0)

METHODS = (
    Method(
        "straight-line-depreciation",
        "depreciation",
        "depreciation of each period, the same in all",
        "(cost - salvage) / life",
        (_COST, _SALVAGE, _LIFE),
        "money/period",
        "ISO/IEC 26300 OpenFormula, SLN (from memory)",
        straight_line_depreciation,
    ),
    Method(
        "sum-of-years-depreciation",
        "depreciation",
        "depreciation of one period by the sum of the years' digits",
        "(cost - salvage) * 2 * (life - period + 1) / (life * (life + 1))",
        (
            _COST,
            _SALVAGE,
            Input("life", "periods", "periods of the life", 5),
            Input("period", "periods", "which one, 1 for the first", 2),
        ),
        "money",
        "ISO/IEC 26300 OpenFormula, SYD (from memory)",
        sum_of_years_depreciation,
    ),
    Method(
        "declining-balance-value",
        "depreciation",
        "value at an age by the declining balance, which stops at the salvage",
        "max(salvage, cost * (1 - factor / life)^age)",
        (_COST, _SALVAGE, _LIFE, Input("age", "periods", "periods since the start", 2.5), _FACTOR),
        "money",
        "ISO/IEC 26300 OpenFormula, DDB (from memory)",
        declining_balance_value,
    ),
    Method(
        "declining-balance-depreciation",
        "depreciation",
        "depreciation of one period by the declining balance",
        "declining balance value at period - 1, less that at period",
        (_COST, _SALVAGE, _LIFE, Input("period", "periods", "which one, 1 for the first", 2.0), _FACTOR),
        "money",
        "ISO/IEC 26300 OpenFormula, DDB (from memory)",
        declining_balance_depreciation,
    ),
)
