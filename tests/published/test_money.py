"""Rounding to a step, and mark-up and margin, against published values. Each source stands beside its value."""

from __future__ import annotations

from decimal import Decimal

import pytest

from costplan.money import round_to
from costplan.quote.margin import margin_of_markup, markup_of_margin, price_for_margin

D = Decimal


@pytest.mark.parametrize(
    ("value", "step", "rounded"),
    [
        # NIST SP 811, Appendix B.7.1 (second-hand), to 3, 5, 7 and 7 figures
        ("6.9749515", "0.01", "6.97"),
        ("6.9749515", "0.0001", "6.9750"),
        ("6.9749515", "0.000001", "6.974952"),
        ("6.9749505", "0.000001", "6.974950"),
        # ASME A112.18.1-2018 / CSA B125.1-18, Annex A.2, to 3 figures
        ("1.655000", "0.01", "1.66"),
        ("1.625000", "0.01", "1.62"),
    ],
)
@pytest.mark.parametrize("sign", ["", "-"])
def test_q09_steps_by_the_even_rule(value: str, step: str, rounded: str, sign: str) -> None:
    assert str(round_to(D(sign + value), D(step), "half even")) == sign + rounded


@pytest.mark.parametrize(
    ("markup", "margin"),
    [
        # Definition of both, in percent; values computed from it
        ("15", "13.0435"),
        ("20", "16.6667"),
        ("25", "20"),
        ("50", "33.3333"),
        ("100", "50"),
        # An article on pricing for small businesses (300 %, second-hand)
        ("300", "75"),
    ],
)
def test_q13_markup_and_margin_are_one_profit(markup: str, margin: str) -> None:
    found = margin_of_markup(D(markup) / 100)
    assert abs(found * 100 - D(margin)) <= D("5e-5")
    assert round_to(markup_of_margin(found) * 100, D("1e-20")) == D(markup)


def test_q13_a_third_put_on_is_a_quarter_of_the_price() -> None:
    # Definition; 33.333 % stands for a third, so the margin is 25 % to as many figures
    assert round_to(margin_of_markup(D("0.33333")), D("0.00001")) == D("0.25")
    assert round_to(markup_of_margin(D("0.25")), D("0.00001")) == D("0.33333")


def test_q13_a_cost_of_ten_sells_for_twelve_and_a_half() -> None:
    # An article on pricing for small businesses (second-hand): $10 and 25 % put on it; a fifth of the price is profit
    assert D(10) * (1 + D("0.25")) == price_for_margin(D(10), D("0.20")) == D("12.50")
    assert margin_of_markup(D("0.25")) == D("0.20")


def test_a_price_without_margin_is_the_cost_and_a_loss_is_below_it() -> None:
    assert price_for_margin(D("19.99"), D(0)) == D("19.99")
    assert margin_of_markup(D(0)) == markup_of_margin(D(0)) == 0
    # sold at half its cost, the loss is as large as the price
    assert margin_of_markup(D("-0.5")) == -1
    assert price_for_margin(D(10), D(-1)) == 5


@pytest.mark.parametrize("margin", ["1", "1.5", "Infinity"])
def test_no_price_is_all_profit(margin: str) -> None:
    with pytest.raises(ValueError, match="below 1"):
        price_for_margin(D(10), D(margin))
    with pytest.raises(ValueError, match="below 1"):
        markup_of_margin(D(margin))


@pytest.mark.parametrize("markup", ["-1", "-2"])
def test_what_is_given_away_has_no_margin(markup: str) -> None:
    with pytest.raises(ValueError, match="above -1"):
        margin_of_markup(D(markup))
