"""The customer's copy of a quote: what may be handed over, in records that have no room for cost, margin or supplier.

A document for the customer is made from a copy alone, so that it cannot leak what the copy does not hold.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from costplan.quote.records import Allowance, Basis, Choice, Line, Party, Quote, Supplied, Term
from costplan.quote.totals import Tax, Totals


@dataclass(frozen=True, slots=True)
class CopyLine:
    """A line as the customer reads it; the `tax` is one of the copy's totals' groups."""

    heading: str
    name: str
    part: str
    note: str
    quantity: Decimal
    unit: str
    price: Decimal
    discount: Decimal
    net: Decimal
    tax: Tax


@dataclass(frozen=True, slots=True)
class CopyAllowance:
    """What tear-down may show: the chance, and how much more the likely and the dearest way cost, with tax."""

    name: str
    chance: float
    likely: str
    likely_more: Decimal
    worst: str
    worst_more: Decimal


@dataclass(frozen=True, slots=True)
class CopyOption:
    """An option: what it is, and how much more (or less) the whole costs with it, with tax; `taken`: it is in."""

    name: str
    says: str
    taken: bool
    more: Decimal


@dataclass(frozen=True, slots=True)
class Copy:
    """The customer's copy; amounts as in `Quote`. `expected` and `worst`, of tear-down, are with tax."""

    number: str
    revision: int
    reason: str
    title: str
    basis: Basis
    on: date
    valid_until: date
    currency: str
    invented: bool
    shop: Party
    customer: Party
    lines: tuple[CopyLine, ...]
    supplied: tuple[Supplied, ...]
    allowances: tuple[CopyAllowance, ...]
    options: tuple[CopyOption, ...]
    totals: Totals
    discount: Decimal
    tax_notes: tuple[tuple[Tax, str], ...]
    expected: Decimal
    worst: Decimal
    core: Decimal
    core_by: date | None
    deposit: Decimal
    balance: Decimal
    parts_here: date
    ready: date
    if_stopped: Decimal
    terms: tuple[Term, ...]
    excluded: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def headings(self) -> tuple[str, ...]:
        """The headings of its lines, in order."""
        return tuple(dict.fromkeys(line.heading for line in self.lines))

    def under(self, heading: str) -> Iterator[CopyLine]:
        """The lines of a heading."""
        return (line for line in self.lines if line.heading == heading)

    def sum_of(self, heading: str) -> Decimal:
        """What the lines of a heading come to."""
        return sum((line.net for line in self.under(heading)), Decimal(0))


def customer_copy(quote: Quote) -> Copy:
    """What of a quote the customer is given."""
    return Copy(
        quote.number,
        quote.revision,
        quote.reason,
        quote.title,
        quote.basis,
        quote.on,
        quote.valid_until,
        quote.currency,
        quote.invented,
        quote.shop,
        quote.customer,
        tuple(map(_line, quote.lines)),
        quote.supplied,
        tuple(map(_allowance, quote.allowances)),
        tuple(map(_option, quote.options)),
        quote.totals,
        quote.discount,
        quote.tax_notes,
        quote.after.expected_gross,
        quote.after.worst_gross,
        quote.core,
        quote.core_by,
        quote.deposit,
        quote.balance,
        quote.schedule.parts_here,
        quote.schedule.ready,
        quote.if_stopped,
        quote.terms,
        quote.excluded,
        quote.notes,
    )


def _line(line: Line) -> CopyLine:
    note = f"{line.spare} left over, yours" if line.spare else ""
    return CopyLine(
        line.heading,
        line.name,
        line.part,
        note,
        line.quantity,
        line.unit,
        line.price,
        line.discount,
        line.net,
        line.tax,
    )


def _allowance(one: Allowance) -> CopyAllowance:
    return CopyAllowance(one.name, one.chance, one.likely, one.likely_more.gross, one.worst, one.worst_more.gross)


def _option(one: Choice) -> CopyOption:
    return CopyOption(one.name, one.says, one.taken, one.more.gross)
