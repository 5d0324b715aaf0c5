"""What a machine costs to own and to mend over its life. Money is a float here and unrounded."""

from __future__ import annotations

import math

from costplan.formulas.checking import need_above, need_at_least
from costplan.formulas.economics import capital_recovery_factor
from costplan.formulas.method import Input, Method


def accumulated_repair_share(hours: float, factor: float, exponent: float) -> float:
    """All repairs up to an age in hours, as a share of the list price: factor * (hours / 1000)^exponent.

    0 when new. With an exponent of 1 every hour costs the same, above it later hours cost more; at 1000 hours the share
    is the factor. `factor` and `exponent` are the machine class's RF1 and RF2.
    Source: ASAE EP496 and D497, repair and maintenance costs (from memory).

    >>> round(accumulated_repair_share(5000, 0.003, 2.0), 3)
    0.075
    """
    need_at_least(0, hours=hours, factor=factor)
    need_above(0, exponent=exponent)
    return factor * math.pow(hours / 1000, exponent)


def salvage_value(list_price: float, share: float) -> float:
    """What a machine is worth when it is given up: list_price * share, whatever was paid for it.

    Source: Iowa State University Extension, Estimating Farm Machinery Costs, A3-29.

    >>> round(salvage_value(150000, 0.23), 2)
    34500.0
    """
    need_at_least(0, list_price=list_price, share=share)
    return list_price * share


def capital_recovery(price: float, salvage: float, rate: float, years: float) -> float:
    """The yearly cost of depreciation and interest: (price - salvage) * capital recovery factor + salvage * rate.

    What is lost is repaid with interest, what is got back bears interest alone. At a rate of 0 it is straight-line
    depreciation.
    Source: Iowa State University Extension, Estimating Farm Machinery Costs, A3-29.

    >>> round(capital_recovery(130000, 34500, 0.08, 15), 2)
    13917.22
    """
    need_at_least(0, price=price, salvage=salvage)
    need_above(0, years=years)
    return (price - salvage) * capital_recovery_factor(rate, years) + salvage * rate


_IOWA = "Iowa State University Extension, Estimating Farm Machinery Costs, A3-29"

METHODS = (
    Method(
        "accumulated-repair-share",
        "machine cost",
        "all repairs up to an age, as a share of the list price",
        "factor * (hours / 1000)^exponent",
        (
            Input("hours", "h", "hours since new", 600.0),
            Input("factor", "1", "RF1 of the machine's class, the share after 1000 hours", 0.12),
            Input("exponent", "1", "RF2 of the machine's class", 1.8),
        ),
        "1",
        "ASAE EP496 and D497, repair and maintenance costs (from memory)",
        accumulated_repair_share,
    ),
    Method(
        "salvage-value",
        "machine cost",
        "worth of a machine when it is given up",
        "list_price * share",
        (
            Input("list_price", "money", "list price of a new one", 20000.0),
            Input("share", "1", "share of it that remains, 0.3 for 30 %", 0.3),
        ),
        "money",
        _IOWA,
        salvage_value,
    ),
    Method(
        "capital-recovery",
        "machine cost",
        "yearly cost of depreciation and interest",
        "(price - salvage) * capital recovery factor + salvage * rate",
        (
            Input("price", "money", "price paid", 18000.0),
            Input("salvage", "money", "what it is worth when it is given up", 6000.0),
            Input("rate", "1/year", "rate of interest a year, 0.08 for 8 %", 0.08),
            Input("years", "years", "years it is kept", 6.0),
        ),
        "money/year",
        _IOWA,
        capital_recovery,
    ),
)
