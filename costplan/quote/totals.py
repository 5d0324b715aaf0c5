"""Lines, tax and totals of an invoice or a quote, by the rounding rules of EN 16931-1 (as in Peppol BIS Billing 3.0).

1. A line is quantity x price / base quantity, rounded to the minor unit, then less its allowances and plus its charges,
   each rounded by itself.
2. Totals are sums of rounded amounts and are not rounded again.
3. Tax is worked out once for each pair of category code and rate, from the sum of what falls under it, and rounded.

Everything rounds half up, away from zero for negative amounts, as `money.round_money` does.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from costplan.money import round_money


@dataclass(frozen=True, slots=True)
class Tax:
    """How something is taxed: a category code of UNCL 5305 (S standard, Z zero, E exempt, O outside) and a percent."""

    code: str
    percent: Decimal


@dataclass(frozen=True, slots=True)
class Adjustment:
    """An allowance, taken off a whole document, or a charge on it: its amount, rounded, and how it is taxed."""

    kind: Literal["allowance", "charge"]
    amount: Decimal
    tax: Tax

    @property
    def signed(self) -> Decimal:
        """What it adds to the document."""
        return self.amount if self.kind == "charge" else -self.amount


@dataclass(frozen=True, slots=True)
class TaxGroup:
    """All that falls under one category and rate: the sum that is taxed, and the tax on it."""

    tax: Tax
    taxable: Decimal
    amount: Decimal


@dataclass(frozen=True, slots=True)
class Totals:
    """The totals of a document: `lines` + `charges` - `allowances` = `net`; + `tax` = `gross`; less `paid` = `due`.

    `rounding` is what the document adds to come to a payable amount, most often nothing.
    """

    lines: Decimal
    allowances: Decimal
    charges: Decimal
    net: Decimal
    groups: tuple[TaxGroup, ...]
    tax: Decimal
    gross: Decimal
    paid: Decimal
    rounding: Decimal
    due: Decimal


def line_net(
    quantity: Decimal,
    price: Decimal,
    currency: str,
    base: Decimal = Decimal(1),
    allowances: Iterable[Decimal] = (),
    charges: Iterable[Decimal] = (),
) -> Decimal:
    """What a line comes to before tax; `price` is that of `base` units, which is above zero.

    >>> line_net(Decimal(132), Decimal("15.24"), "EUR", base=Decimal(12))
    Decimal('167.64')
    >>> line_net(Decimal(-2), Decimal("0.125"), "EUR", allowances=[Decimal("0.10")])
    Decimal('-0.35')
    """
    gross = round_money(quantity * price / base, currency)
    return gross - _rounded(allowances, currency) + _rounded(charges, currency)


def totals_of(
    lines: Iterable[tuple[Decimal, Tax]],
    currency: str,
    adjustments: Sequence[Adjustment] = (),
    paid: Decimal = Decimal(0),
    rounding: Decimal = Decimal(0),
) -> Totals:
    """The totals of rounded line amounts, each with its tax, and of what is taken off or put on the whole.

    Groups stand in the order of their first line.

    >>> standard = Tax("S", Decimal(25))
    >>> found = totals_of([(Decimal("10.01"), standard), (Decimal("0.01"), standard)], "EUR")
    >>> found.net, found.tax, found.gross
    (Decimal('10.02'), Decimal('2.51'), Decimal('12.53'))
    """
    nets = list(lines)
    taxable: dict[Tax, Decimal] = {}
    for amount, tax in (*nets, *((one.signed, one.tax) for one in adjustments)):
        taxable[tax] = taxable.get(tax, Decimal(0)) + amount
    groups = tuple(TaxGroup(tax, amount, tax_on(amount, tax, currency)) for tax, amount in taxable.items())
    zero = Decimal(0)
    sum_of_lines = sum((amount for amount, _ in nets), zero)
    allowances = sum((one.amount for one in adjustments if one.kind == "allowance"), zero)
    charges = sum((one.amount for one in adjustments if one.kind == "charge"), zero)
    net = sum_of_lines - allowances + charges
    amount = sum((group.amount for group in groups), zero)
    due = net + amount - paid + rounding
    return Totals(sum_of_lines, allowances, charges, net, groups, amount, net + amount, paid, rounding, due)


def tax_on(amount: Decimal, tax: Tax, currency: str) -> Decimal:
    """The tax on a sum, rounded."""
    return round_money(amount * tax.percent / 100, currency)


def _rounded(amounts: Iterable[Decimal], currency: str) -> Decimal:
    return sum((round_money(amount, currency) for amount in amounts), Decimal(0))
