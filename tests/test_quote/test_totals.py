"""What holds for lines, tax and totals of every document, in currencies of no, two and three decimal places."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import astuple, dataclass, replace
from decimal import Decimal
from fractions import Fraction
from random import Random
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from costplan.money import from_minor, minor_digits
from costplan.quote.totals import Adjustment, Tax, TaxGroup, Totals, line_net, tax_on, totals_of

D = Decimal

quick = settings(max_examples=50, deadline=None)

CURRENCIES = st.sampled_from(("JPY", "USD", "KWD"))
#: Rates that seldom come out even, two categories of one rate, and one rate written in two ways.
TAXES = st.sampled_from(
    (Tax("S", D("8.875")), Tax("S", D(25)), Tax("S", D("25.00")), Tax("S", D("7.7")), Tax("Z", D(0)), Tax("E", D(0)))
)
#: Halves of prices to a thousandth are often half a minor unit.
QUANTITIES = st.integers(-50, 50).map(lambda halves: D(halves) / 2) | st.decimals(-1000, 1000, places=3)
PRICES = st.decimals(0, 10_000, places=3)
BASES = st.sampled_from((D(1), D(12), D(100), D("0.3")))
FINE = st.lists(st.decimals(-100, 100, places=4), max_size=3)
MINOR = st.integers(-(10**9), 10**9)


@dataclass(frozen=True)
class Document:
    """All that totals are worked out from, in whole minor units of its currency."""

    currency: str
    lines: tuple[tuple[Decimal, Tax], ...]
    adjustments: tuple[Adjustment, ...]
    paid: Decimal
    rounding: Decimal

    @property
    def totals(self) -> Totals:
        return totals_of(self.lines, self.currency, self.adjustments, self.paid, self.rounding)


def documents_in(currency: str) -> st.SearchStrategy[Document]:
    """Documents of one currency, the empty one among them."""
    amounts = MINOR.map(lambda minor: from_minor(minor, currency))
    lines = st.lists(st.tuples(amounts, TAXES), max_size=8).map(tuple)
    adjustments = st.lists(
        st.builds(Adjustment, st.sampled_from(("allowance", "charge")), amounts, TAXES), max_size=3
    ).map(tuple)
    return st.builds(Document, st.just(currency), lines, adjustments, amounts, amounts)


DOCUMENTS = CURRENCIES.flatmap(documents_in)


def in_minor_units(exact: Fraction, currency: str) -> Decimal:
    """An exact amount to the nearest minor unit, a half away from zero: whole numbers alone."""
    units = exact * 10 ** minor_digits(currency)
    nearest = int(abs(units) + Fraction(1, 2))
    return from_minor(nearest if units >= 0 else -nearest, currency)


def leaves(value: object) -> Iterator[object]:
    """What stands in nested tuples."""
    if isinstance(value, tuple):
        for inner in value:
            yield from leaves(inner)
    else:
        yield value


# Lines ----------------------------------------------------------------------------------------------------------------


@quick
@given(QUANTITIES, PRICES, BASES, CURRENCIES)
@example(D(1), D("0.125"), D(1), "USD")
@example(D(-1), D("0.125"), D(1), "USD")
@example(D("-0.5"), D(1), D(1), "JPY")
@example(D("-0.5"), D("0.001"), D(1), "KWD")
def test_a_line_goes_to_the_nearest_minor_unit_and_a_half_away_from_zero(
    quantity: Decimal, price: Decimal, base: Decimal, currency: str
) -> None:
    exact = Fraction(quantity) * Fraction(price) / Fraction(base)
    assert line_net(quantity, price, currency, base) == in_minor_units(exact, currency)


@quick
@given(QUANTITIES, PRICES, BASES, FINE, FINE, CURRENCIES)
def test_allowances_and_charges_are_each_rounded_by_themselves(
    quantity: Decimal,
    price: Decimal,
    base: Decimal,
    allowances: list[Decimal],
    charges: list[Decimal],
    currency: str,
) -> None:
    by_hand = line_net(quantity, price, currency, base)
    for amount in allowances:
        by_hand -= in_minor_units(Fraction(amount), currency)
    for amount in charges:
        by_hand += in_minor_units(Fraction(amount), currency)
    assert line_net(quantity, price, currency, base, allowances, charges) == by_hand


@quick
@given(QUANTITIES, PRICES, BASES, FINE, FINE, CURRENCIES)
def test_a_line_of_the_negated_quantity_is_the_line_negated(
    quantity: Decimal,
    price: Decimal,
    base: Decimal,
    allowances: list[Decimal],
    charges: list[Decimal],
    currency: str,
) -> None:
    line = line_net(quantity, price, currency, base, allowances, charges)
    turned = line_net(-quantity, price, currency, base, [-one for one in allowances], [-one for one in charges])
    assert turned == -line


# Totals ---------------------------------------------------------------------------------------------------------------


@quick
@given(DOCUMENTS)
def test_what_is_taxed_adds_up_to_net_and_the_taxes_to_tax(document: Document) -> None:
    found = document.totals
    assert sum(group.taxable for group in found.groups) == found.net
    assert sum(group.amount for group in found.groups) == found.tax
    assert len({group.tax for group in found.groups}) == len(found.groups)


@quick
@given(DOCUMENTS)
def test_a_tax_is_worked_out_once_from_all_that_falls_under_it(document: Document) -> None:
    groups = document.totals.groups
    for group in groups:
        taxed = [amount for amount, tax in document.lines if tax == group.tax]
        taxed += [one.signed for one in document.adjustments if one.tax == group.tax]
        exact = sum(map(Fraction, taxed), Fraction(0))
        assert Fraction(group.taxable) == exact
        assert group.amount == in_minor_units(exact * Fraction(group.tax.percent) / 100, document.currency)
    borne = [tax for _, tax in document.lines] + [one.tax for one in document.adjustments]
    assert [group.tax for group in groups] == list(dict.fromkeys(borne))


@quick
@given(DOCUMENTS)
def test_net_and_tax_are_gross_and_gross_less_what_is_paid_is_due(document: Document) -> None:
    found = document.totals
    assert found.lines == sum(amount for amount, _ in document.lines)
    assert found.charges - found.allowances == sum(one.signed for one in document.adjustments)
    assert found.net == found.lines - found.allowances + found.charges
    assert found.gross == found.net + found.tax
    assert found.due == found.gross - document.paid + document.rounding


@quick
@given(DOCUMENTS, st.randoms(use_true_random=False))
def test_the_order_of_lines_changes_the_order_of_groups_alone(document: Document, random: Random) -> None:
    lines = list(document.lines)
    random.shuffle(lines)
    found, shuffled = document.totals, replace(document, lines=tuple(lines)).totals
    assert replace(shuffled, groups=()) == replace(found, groups=())
    assert set(shuffled.groups) == set(found.groups)


@quick
@given(DOCUMENTS, st.integers(1, 30), MINOR, TAXES)
def test_a_line_of_many_is_as_many_lines_of_one(document: Document, count: int, minor: int, tax: Tax) -> None:
    price = from_minor(minor, document.currency)
    whole = (line_net(D(count), price, document.currency), tax)
    single = (line_net(D(1), price, document.currency), tax)
    together = replace(document, lines=(*document.lines, whole)).totals
    assert replace(document, lines=(*document.lines, *[single] * count)).totals == together


@quick
@given(DOCUMENTS)
def test_a_document_of_negated_amounts_is_the_document_negated(document: Document) -> None:
    found = document.totals
    turned = replace(
        document,
        lines=tuple((-amount, tax) for amount, tax in document.lines),
        adjustments=tuple(replace(one, amount=-one.amount) for one in document.adjustments),
        paid=-document.paid,
        rounding=-document.rounding,
    ).totals
    for name in ("lines", "net", "tax", "gross", "paid", "rounding", "due"):
        assert getattr(turned, name) == -getattr(found, name)
    assert (turned.charges, turned.allowances) == (-found.charges, -found.allowances)
    assert turned.groups == tuple(TaxGroup(one.tax, -one.taxable, -one.amount) for one in found.groups)


@quick
@given(DOCUMENTS)
def test_every_amount_is_a_decimal_of_whole_minor_units(document: Document) -> None:
    found = document.totals
    values = [value for value in leaves(astuple(found)) if not isinstance(value, str)]
    assert len(values) == 9 + 3 * len(found.groups)
    assert {type(value) for value in values} == {Decimal}
    amounts = [getattr(found, name) for name in ("lines", "allowances", "charges", "net", "tax", "gross", "due")]
    for group in found.groups:
        amounts += [group.taxable, group.amount]
    assert all(amount.scaleb(minor_digits(document.currency)) % 1 == 0 for amount in amounts)


def test_a_document_without_lines_comes_to_nothing() -> None:
    found = totals_of([], "USD")
    assert found.groups == ()
    assert {*leaves(astuple(found))} == {D(0)}


def test_a_rate_written_in_two_ways_is_one_group() -> None:
    found = totals_of([(D("0.01"), Tax("S", D(25))), (D("0.01"), Tax("S", D("25.00")))], "USD")
    assert [(group.taxable, group.amount) for group in found.groups] == [(D("0.02"), D("0.01"))]


_TAX: Any = Tax("S", D(25))


@pytest.mark.parametrize(
    "work_out",
    [
        lambda float_: line_net(float_, D(1), "USD"),
        lambda float_: line_net(D(1), float_, "USD"),
        lambda float_: line_net(D(1), D(1), "USD", base=float_),
        lambda float_: line_net(D(1), D(1), "USD", allowances=[float_]),
        lambda float_: line_net(D(1), D(1), "USD", charges=[float_]),
        lambda float_: totals_of([(float_, _TAX)], "USD"),
        lambda float_: totals_of([(D(1), Tax("S", float_))], "USD"),
        lambda float_: totals_of([], "USD", [Adjustment("charge", float_, _TAX)]),
        lambda float_: totals_of([], "USD", paid=float_),
        lambda float_: totals_of([], "USD", rounding=float_),
        lambda float_: tax_on(float_, _TAX, "USD"),
    ],
)
def test_a_float_is_refused_wherever_it_would_enter(work_out: Callable[[Any], object]) -> None:
    with pytest.raises((TypeError, AttributeError), match="float"):
        work_out(0.5)
