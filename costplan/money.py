"""Money: Decimal amounts outside the season machine, whole minor units inside it, one crossing and one rounding rule.

A line is rounded half up to its currency's minor unit (ISO 4217: cents, and none for the yen); a total is the sum of
rounded lines and is not rounded again.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal
from functools import cache
from typing import Literal

#: ISO 4217's code for none.
NO_CURRENCY = "XXX"

Rounding = Literal["half up", "half even"]
_MODES = {"half up": ROUND_HALF_UP, "half even": ROUND_HALF_EVEN}


def round_to(value: Decimal, step: Decimal, rounding: Rounding = "half up") -> Decimal:
    """`value` rounded to a whole number of `step`s.

    >>> round_to(Decimal("2.675"), Decimal("0.01"))
    Decimal('2.68')
    >>> round_to(Decimal("1.005"), Decimal("0.01"), "half even")
    Decimal('1.00')
    """
    return (value / step).quantize(Decimal(1), rounding=_MODES[rounding]) * step


@cache
def is_currency(code: str) -> bool:
    """Whether `code` is a current or past currency of ISO 4217, by the locale data of babel; XXX stands for none."""
    from babel.core import get_global

    return code != NO_CURRENCY and code in get_global("all_currencies")


@cache
def minor_digits(code: str) -> int:
    """Decimal places of the minor unit of an ISO 4217 currency: 2 for USD, 0 for JPY."""
    from babel.numbers import get_currency_precision

    return get_currency_precision(code)


def to_minor(amount: Decimal, currency: str) -> int:
    """The crossing inwards: an amount in whole minor units, rounded half up.

    >>> to_minor(Decimal("19.995"), "USD"), to_minor(Decimal("19.5"), "JPY")
    (2000, 20)
    """
    return int((amount.scaleb(minor_digits(currency))).quantize(Decimal(1), rounding=ROUND_HALF_UP))


def from_minor(minor: int, currency: str) -> Decimal:
    """The crossing outwards.

    >>> from_minor(-1999, "USD")
    Decimal('-19.99')
    """
    return Decimal(minor).scaleb(-minor_digits(currency))


def round_money(amount: Decimal, currency: str) -> Decimal:
    """An amount rounded half up to the minor unit: the rule for every line."""
    return from_minor(to_minor(amount, currency), currency)


def with_minor_digits(amount: Decimal, currency: str) -> Decimal:
    """An amount with at least its currency's minor digits, finer ones kept.

    >>> with_minor_digits(Decimal("199"), "EUR"), with_minor_digits(Decimal("0.0088"), "EUR")
    (Decimal('199.00'), Decimal('0.0088'))
    """
    rounded = round_money(amount, currency)
    return rounded if rounded == amount else amount


def split(minor: int, weights: Iterable[int]) -> tuple[int, ...]:
    """Whole minor units shared out by weight so that the shares add up to the whole.

    Each share is the difference of two rounded running totals, so no share is off by more than one unit. Where all
    weights are zero nothing is shared out.

    >>> split(100, (1, 1, 1))
    (33, 34, 33)
    """
    parts = tuple(weights)
    whole = sum(parts)
    if whole == 0:
        return tuple(0 for _ in parts)
    shares, seen, given = [], 0, 0
    for weight in parts:
        seen += weight
        share = (2 * minor * seen + whole) // (2 * whole) - given
        given += share
        shares.append(share)
    return tuple(shares)


@dataclass(frozen=True, slots=True)
class Rate:
    """What one unit of `currency` was worth in the scenario's currency from a date on, and whose word that is."""

    currency: str
    rate: Decimal
    since: date
    source: str = ""


@dataclass(frozen=True, slots=True)
class Rates:
    """The exchange rates into one currency, dated."""

    currency: str
    rates: tuple[Rate, ...] = ()

    def at(self, currency: str, on: date) -> Decimal | None:
        """The latest rate on or before a date, the earliest one there is if none; None for a currency without rates."""
        if currency == self.currency:
            return Decimal(1)
        known = sorted((rate for rate in self.rates if rate.currency == currency), key=lambda rate: rate.since)
        if not known:
            return None
        past = [rate for rate in known if rate.since <= on]
        return (past[-1] if past else known[0]).rate

    def convert(self, amount: Decimal, currency: str, on: date) -> Decimal:
        """An amount in this currency, unrounded; a currency without a rate is a bug here, a problem at the door."""
        rate = self.at(currency, on)
        if rate is None:
            raise KeyError(currency)
        return amount * rate


def show(amount: Decimal, currency: str) -> str:
    """An amount for people: `$1,234.50`, `-€12.00`."""
    from babel.numbers import format_currency

    return format_currency(amount, currency, locale="en_US")
