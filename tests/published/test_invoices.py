"""Whole invoices published with EN 16931 and Peppol BIS Billing 3.0, worked out again to the minor unit.

The figures stand in invoices.toml, each invoice with its repository, file and commit.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable
from dataclasses import dataclass, fields
from decimal import Decimal
from functools import partial
from pathlib import Path
from typing import Any, Literal, TypeAlias

import pytest

from costplan.quote.totals import Adjustment, Tax, Totals, line_net, totals_of

#: How the value of each key is read.
Readers: TypeAlias = dict[str, Callable[[Any], Any]]

#: The totals that a document prints.
PRINTED = ("lines", "allowances", "charges", "net", "tax", "gross", "due")


@dataclass(frozen=True)
class Line:
    """A line as printed; `misprint` names the figure that contradicts the others."""

    quantity: Decimal
    price: Decimal
    net: Decimal
    tax: Tax
    base: Decimal = Decimal(1)
    allowances: tuple[Decimal, ...] = ()
    charges: tuple[Decimal, ...] = ()
    misprint: str = ""


@dataclass(frozen=True)
class Invoice:
    """An invoice as printed: `taxes` are the sum that is taxed and the tax on it."""

    repository: str
    file: str
    commit: str
    currency: str
    lines: tuple[Line, ...]
    taxes: dict[Tax, tuple[Decimal, Decimal]]
    totals: dict[str, Decimal]
    allowances: tuple[Adjustment, ...] = ()
    charges: tuple[Adjustment, ...] = ()
    paid: Decimal = Decimal(0)
    rounding: Decimal = Decimal(0)

    @property
    def adjustments(self) -> tuple[Adjustment, ...]:
        return (*self.allowances, *self.charges)

    @property
    def found(self) -> Totals:
        """The totals of the printed amounts of lines."""
        nets = [(line.net, line.tax) for line in self.lines]
        return totals_of(nets, self.currency, self.adjustments, self.paid, self.rounding)


def _amount(value: object) -> Decimal:
    assert isinstance(value, (int, Decimal)), value
    return Decimal(value)


def _tax(text: str) -> Tax:
    code, _, percent = text.partition(" ")
    return Tax(code, Decimal(percent or 0))


def _line(row: dict[str, Any]) -> Line:
    read: Readers = {"tax": _tax, "misprint": str, "allowances": _amounts, "charges": _amounts}
    return Line(**{key: read.get(key, _amount)(value) for key, value in row.items()})


def _amounts(values: list[object]) -> tuple[Decimal, ...]:
    return tuple(map(_amount, values))


def _adjustments(kind: Literal["allowance", "charge"], rows: list[dict[str, Any]]) -> tuple[Adjustment, ...]:
    return tuple(Adjustment(kind, _amount(row["amount"]), _tax(row["tax"])) for row in rows)


def _invoice(table: dict[str, Any]) -> Invoice:
    read: Readers = {
        "lines": lambda rows: tuple(map(_line, rows)),
        "allowances": partial(_adjustments, "allowance"),
        "charges": partial(_adjustments, "charge"),
        "taxes": lambda rows: {_tax(row["tax"]): (_amount(row["taxable"]), _amount(row["amount"])) for row in rows},
        "totals": lambda row: {name: _amount(row.get(name, 0)) for name in PRINTED},
        "paid": _amount,
        "rounding": _amount,
    }
    assert table["totals"].keys() <= set(PRINTED)
    return Invoice(**{key: read.get(key, str)(value) for key, value in table.items()})


_TEXT = Path(__file__).with_name("invoices.toml").read_text(encoding="utf-8")
INVOICES = [_invoice(table) for table in tomllib.loads(_TEXT, parse_float=Decimal)["invoice"]]

each = pytest.mark.parametrize("invoice", INVOICES, ids=lambda invoice: invoice.file)


def test_all_invoices_are_there_and_few_lines_are_misprinted() -> None:
    lines = [line for invoice in INVOICES for line in invoice.lines]
    misprints = [line.misprint for line in lines if line.misprint]
    assert (len(INVOICES), len(lines), sum(len(invoice.taxes) for invoice in INVOICES)) == (29, 89, 43)
    assert misprints == ["quantity", "quantity", "quantity", "quantity", "net", "net", "price"]
    assert set(misprints) <= {field.name for field in fields(Line)}
    assert {invoice.currency for invoice in INVOICES} == {"EUR", "NOK", "DKK", "SEK", "GBP"}


def test_every_invoice_names_its_source_once() -> None:
    assert len({(invoice.repository, invoice.file) for invoice in INVOICES}) == len(INVOICES)
    assert all(re.fullmatch("[0-9a-f]{40}", invoice.commit) for invoice in INVOICES)


@each
def test_a_line_is_quantity_times_price_less_allowances_plus_charges(invoice: Invoice) -> None:
    right = [line for line in invoice.lines if not line.misprint]
    found = [
        line_net(line.quantity, line.price, invoice.currency, line.base, line.allowances, line.charges)
        for line in right
    ]
    assert found == [line.net for line in right]


@each
def test_tax_is_worked_out_once_for_each_category_and_rate(invoice: Invoice) -> None:
    assert {group.tax: (group.taxable, group.amount) for group in invoice.found.groups} == invoice.taxes
    assert len(invoice.found.groups) == len(invoice.taxes)


@each
def test_totals_are_those_printed(invoice: Invoice) -> None:
    assert {name: getattr(invoice.found, name) for name in PRINTED} == invoice.totals


def test_one_invoice_has_a_charge_below_zero() -> None:
    below = [invoice.file for invoice in INVOICES if any(one.amount < 0 for one in invoice.adjustments)]
    assert below == ["rules/examples/base-negative-inv-correction.xml"]


def test_an_invoice_taken_back_comes_to_as_much_below_zero() -> None:
    by_name = {Path(invoice.file).stem: invoice.found for invoice in INVOICES}
    for given, back in (
        ("BIS3_Invoice_positive", "BIS3_Invoice_negativ"),
        ("base-example", "base-negative-inv-correction"),
    ):
        for name in ("lines", "net", "tax", "gross", "due"):
            assert getattr(by_name[back], name) == -getattr(by_name[given], name) != 0
