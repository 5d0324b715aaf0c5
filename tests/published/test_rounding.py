"""Money and rounding against published values, in decimal and exact. Each source stands beside its value."""

from __future__ import annotations

from decimal import Decimal

import pytest

from costplan.money import Rounding, round_money, round_to
from costplan.quantity import Method, Ties, as_compared, places_of, round_figures
from costplan.quantity import round_to as round_to_places

D = Decimal


def conforms(
    value: float, least: Decimal | None, greatest: Decimal | None, method: Method, ties: Ties = "even"
) -> bool:
    """Whether a value lies between limits, each as it is written, compared as costplan compares."""
    return (least is None or as_compared(value, least, method, ties) >= least) and (
        greatest is None or as_compared(value, greatest, method, ties) <= greatest
    )


def line(quantity: str, price: str, base: str = "1") -> Decimal:
    """A line's net amount: quantity x price / base, rounded by itself."""
    return round_money(D(quantity) * D(price) / D(base), "EUR")


def tax(net: Decimal, percent: str) -> Decimal:
    """The tax of one rate: one product of the summed lines, rounded once."""
    return round_money(net * D(percent) / 100, "EUR")


def test_q01_invoice_with_two_rates() -> None:
    # EN 16931, example ubl-tc434-example1 (CEN/TC 434 artefacts, commit b6c9e06)
    rows = """
        2x9.95@6 1x9.85@6 1x8.29@6 2x7.23@6 1x35@6 1x35@6 1x10.65@6 1x1.55@6 3x4.79@6 1x8.29@6 2x8.29@6 1x9.95@6
        2x1.65@6 1x10.80@21 1x3.90@6 2x3.80@21 2x4.67@21 1x18.63@21 6x17.02@6 -6x18.33@6
    """
    net = {"6": D(0), "21": D(0)}
    for row in rows.split():
        amounts, _, rate = row.partition("@")
        net[rate] += line(*amounts.split("x"))
    assert (net["6"], net["21"], sum(net.values())) == (D("183.23"), D("46.37"), D("229.60"))
    taxes = {rate: tax(amount, rate) for rate, amount in net.items()}
    assert (taxes["6"], taxes["21"], sum(taxes.values())) == (D("10.99"), D("9.74"), D("20.73"))
    assert sum(net.values()) + sum(taxes.values()) == D("250.33")


def test_q03_prices_below_a_cent_and_prices_a_dozen() -> None:
    # EN 16931, example ubl-tc434-example8
    lines = [
        line("16000", "0.00880"),
        line("16000", "0.00101"),
        line("132", "15.24", "12"),
        line("58", "1.53"),
        line("1", "441", "12"),
        line("1", "678", "12"),
        *map(D, ("83.34", "190.31", "64.21", "64.46")),
    ]
    assert lines[:6] == [D(text) for text in ("140.80", "16.16", "167.64", "88.74", "36.75", "56.50")]
    net = sum(lines, D(0))
    assert (net, tax(net, "21"), net + tax(net, "21")) == (D("908.91"), D("190.87"), D("1099.78"))


def test_q05_rates_with_charge_and_allowance() -> None:
    # Peppol BIS Billing 3.0, example Vat-category-S
    high, low = line("1", "4000") + line("1", "900") + D(200) - D(100), line("1", "2000")
    assert (tax(high, "25"), tax(low, "15")) == (D(1250), D(300))
    assert high + low + tax(high, "25") + tax(low, "15") == D(8550)


def test_q08_a_line_is_rounded_before_it_is_summed() -> None:
    # Peppol BIS Billing 3.0, rounding: lines to two decimals, sums of rounded amounts not rounded again
    lines = [line("1", "0.335")] * 3
    assert sum(lines) == D("1.02")
    assert round_money(D("0.335") * 3, "EUR") == D("1.01")
    assert line("3", "0.335") == D("1.01")


@pytest.mark.parametrize(
    ("value", "figures", "rounded"),
    [
        # NIST SP 811, Appendix B.7.1 (second-hand)
        ("6.9749515", 3, "6.97"),
        ("6.9749515", 5, "6.9750"),
        ("6.9749515", 7, "6.974952"),
        ("6.9749505", 7, "6.974950"),
        # ASME A112.18.1-2018 / CSA B125.1-18, Annex A.2
        ("1.655000", 3, "1.66"),
        ("1.625000", 3, "1.62"),
    ],
)
def test_q09_figures_by_the_even_rule(value: str, figures: int, rounded: str) -> None:
    assert str(round_figures(D(value), figures)) == rounded


@pytest.mark.parametrize(
    ("value", "step", "rounding", "rounded"),
    [
        # General Decimal Arithmetic; Python's decimal
        ("2.675", "0.01", "half up", "2.68"),
        ("1.005", "0.01", "half up", "1.01"),
        ("0.125", "0.01", "half up", "0.13"),
        ("-2.5", "1", "half up", "-3"),
        ("2.675", "0.01", "half even", "2.68"),
        ("1.005", "0.01", "half even", "1.00"),
        ("0.125", "0.01", "half even", "0.12"),
        ("-2.5", "1", "half even", "-2"),
    ],
)
def test_q11_decimal_not_binary(value: str, step: str, rounding: Rounding, rounded: str) -> None:
    assert str(round_to(D(value), D(step), rounding)) == rounded


@pytest.mark.parametrize(
    ("currency", "rounded"),
    # ISO 4217: the minor unit of the currency
    [("USD", "1234.57"), ("JPY", "1235"), ("KWD", "1234.568")],
)
def test_an_amount_is_rounded_to_the_minor_unit_of_its_currency(currency: str, rounded: str) -> None:
    assert str(round_money(D("1234.5675"), currency)) == rounded


def test_rounding_is_symmetric_about_zero() -> None:
    # half up rounds away from zero (General Decimal Arithmetic), so a credit undoes its invoice
    assert round_money(D("-0.005"), "USD") == -round_money(D("0.005"), "USD") == D("-0.01")


# Figures to decimal places, and whether they conform ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "places", "rounded"),
    [
        # NIST SP 811, Appendix B.7.1 (second-hand)
        ("6.9749515", 2, "6.97"),
        ("6.9749515", 4, "6.9750"),
        ("6.9749515", 6, "6.974952"),
        ("6.9749505", 6, "6.974950"),
        # ASME A112.18.1-2018 / CSA B125.1-18, Annex A.2
        ("1.655000", 2, "1.66"),
        ("1.625000", 2, "1.62"),
        # ISO 80000-1:2009, Annex B.2, rounding ranges 0.1 and 10 (from memory)
        ("12.223", 1, "12.2"),
        ("12.251", 1, "12.3"),
        ("12.275", 1, "12.3"),
        ("1222.3", -1, "1.22E+3"),
        ("1225.1", -1, "1.23E+3"),
        ("1227.5", -1, "1.23E+3"),
    ],
)
@pytest.mark.parametrize("sign", ["", "-"])
def test_q09_places_to_the_nearest_and_ties_to_even(value: str, places: int, rounded: str, sign: str) -> None:
    assert str(round_to_places(D(sign + value), places)) == sign + rounded


@pytest.mark.parametrize(
    ("value", "places", "even", "away"),
    [
        # ISO 80000-1:2009, Annex B.2, rules A and B (from memory)
        ("12.25", 1, "12.2", "12.3"),
        ("12.35", 1, "12.4", "12.4"),
        ("1225.0", -1, "1.22E+3", "1.23E+3"),
        ("1235.0", -1, "1.24E+3", "1.24E+3"),
        # General Decimal Arithmetic; Python's decimal
        ("2.675", 2, "2.68", "2.68"),
        ("1.005", 2, "1.00", "1.01"),
        ("0.125", 2, "0.12", "0.13"),
        ("-2.5", 0, "-2", "-3"),
    ],
)
def test_q11_ties_to_even_or_away_from_zero(value: str, places: int, even: str, away: str) -> None:
    assert str(round_to_places(D(value), places, "even")) == even
    assert str(round_to_places(D(value), places, "away")) == away


def test_rounding_in_stages_is_not_rounding() -> None:
    # ISO 80000-1:2009, Annex B.3 (from memory): 12.251 gives 12.3 at once, and 12.25 then 12.2 in two stages
    assert round_to_places(D("12.251"), 1) == D("12.3")
    assert round_to_places(round_to_places(D("12.251"), 2), 1) == D("12.2")


@pytest.mark.parametrize(
    ("limit", "side", "found", "rounded", "meets"),
    [
        # ASTM E29, examples of the rounding method (from memory): yield point 36 000 psi min, to the nearest 100
        ("360E+2", "least", 35940, "359E+2", False),
        ("360E+2", "least", 35950, "360E+2", True),
        ("360E+2", "least", 35960, "360E+2", True),
        # nickel 57 % min, to the nearest 1 %
        ("57", "least", 56.4, "56", False),
        ("57", "least", 56.5, "56", False),
        ("57", "least", 56.6, "57", True),
        # conductivity of a water extract 40 micromho/cm max, to the nearest 1
        ("40", "greatest", 40.4, "40", True),
        ("40", "greatest", 40.5, "40", True),
        ("40", "greatest", 40.6, "41", False),
        # sodium bicarbonate 0.5 % max, to the nearest 0.1 %
        ("0.5", "greatest", 0.54, "0.5", True),
        ("0.5", "greatest", 0.55, "0.6", False),
        ("0.5", "greatest", 0.56, "0.6", False),
    ],
)
def test_e29_conformity_by_the_rounding_method(limit: str, side: str, found: float, rounded: str, meets: bool) -> None:
    assert as_compared(found, D(limit), "rounded") == D(rounded)
    least, greatest = (D(limit), None) if side == "least" else (None, D(limit))
    assert conforms(found, least, greatest, "rounded") is meets


@pytest.mark.parametrize(
    ("found", "absolute", "rounded"),
    [(0.539, True, True), (0.5400, True, True), (0.5404, False, True), (0.5405, False, True), (0.5406, False, False)],
)
def test_e29_conformity_by_either_method(found: float, absolute: bool, rounded: bool) -> None:
    # ASTM E29-13, 5 and 6 (from memory): by the absolute method any small departure outside the limit fails
    limit = D("0.540")
    assert conforms(found, None, limit, "absolute") is absolute
    assert conforms(found, None, limit, "rounded") is rounded
    assert conforms(found, None, D("0.5400"), "rounded") is (found <= 0.5400)


def test_a_tie_may_fall_away_from_zero_where_the_book_says_so() -> None:
    assert conforms(0.5405, None, D("0.540"), "rounded", "even")
    assert not conforms(0.5405, None, D("0.540"), "rounded", "away")


def test_between_two_limits_a_value_must_keep_both() -> None:
    assert [conforms(value, D("3.19"), D("3.21"), "rounded") for value in (3.184, 3.186, 3.2, 3.214, 3.216)] == [
        False,
        True,
        True,
        True,
        False,
    ]
    assert conforms(3.3, None, None, "absolute")


@pytest.mark.parametrize(
    ("value", "limit"),
    [
        (9.02 - 1.735 - 5.7 - 1.585, "0"),  # a deck clearance of nothing, in floats 4.4e-16
        (13.716 / 25.4, "0.540"),
        (0.1 + 0.2, "0.3"),
        (8 * 38.75, "310"),
    ],
)
def test_the_noise_of_floats_is_no_departure(value: float, limit: str) -> None:
    assert conforms(value, D(limit), D(limit), "absolute")


@pytest.mark.parametrize(
    ("written", "places"),
    [("0.540 in", 3), ("10.25", 2), ("310 in3", 0), (".5 in", 1), ("-0.040 in", 3), ("9000 rpm", 0), ("3.60E3 N", -1)],
)
def test_the_places_of_a_limit_are_those_it_is_written_with(written: str, places: int) -> None:
    assert places_of(written) == places
    assert places_of(D(written.split()[0])) == places
