"""What only the files of a shop hold: shares in decimals, and amounts that a quote can count."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Any

from pydantic import BeforeValidator, ValidationInfo

from costplan.reading.fields import Kind, decimal_comma, refuse, to_decimal

#: The highest mark-up and the highest rate of tax that is no slip: ten times the price.
HIGHEST = Decimal(10)
_ZERO, _ONE = Decimal(0), Decimal(1)


def to_fraction(value: Any, info: ValidationInfo) -> Decimal:
    """A share as a decimal number: 25 % or 0.25."""
    return _fraction(value, comma=decimal_comma(info))


def _fraction(value: Any, *, comma: bool = False) -> Decimal:
    text = value.strip() if isinstance(value, str) else ""
    percent = text.endswith("%")
    number = to_decimal(text.removesuffix("%") if percent else value, comma=comma)
    return number / 100 if percent else number


def to_rise(text: str) -> Decimal:
    """By which share prices rise, above -1 and at most 1.

    >>> to_rise("6 %"), to_rise("-0.05")
    (Decimal('0.06'), Decimal('-0.05'))
    """
    found = _fraction(text)
    if not -_ONE < found <= _ONE:
        advice = "give 6 % or 0.06; twice the price is 100 %, a fall is negative"
        raise refuse("REA018", "not a rise that can be:", advice)
    return found


def _between(low: Decimal, high: Decimal, advice: str, *, below: bool = False) -> BeforeValidator:
    def check(value: Any, info: ValidationInfo) -> Decimal:
        found = to_fraction(value, info)
        if not low <= found <= high or (below and found == high):
            raise refuse("REA018", "not a share that can be:", advice)
        return found

    return BeforeValidator(check)


#: A share of a whole, both ends included: a discount, a deposit.
Portion = Annotated[
    Decimal,
    _between(_ZERO, _ONE, "give 0 to 1, or 0 % to 100 %"),
    Kind("share from 0 to 1, 0.5 or 50 %", form="number"),
]
#: A margin: the share of a price that is not cost, below the whole.
MarginShare = Annotated[
    Decimal,
    _between(_ZERO, _ONE, "give 0.3 or 30 %; a margin is below 100 %", below=True),
    Kind("share from 0 to below 1, 0.3 or 30 %", form="number"),
]
#: What is put on a cost, or a tax on a price.
OnTop = Annotated[
    Decimal,
    _between(_ZERO, HIGHEST, "give 0.25 or 25 % for a quarter on top"),
    Kind("share, 0.25 or 25 %", form="number"),
]
