"""Economics, depreciation, machine cost and the roll-up of estimates against published values, each with its source."""

from __future__ import annotations

import math

import numpy as np
import pytest
from pytest import approx
from scipy import stats  # type: ignore[import-untyped]

from costplan.formulas import (
    accumulated_repair_share,
    annual_costs_by_life,
    capital_recovery,
    capital_recovery_factor,
    declining_balance_depreciation,
    economic_life,
    equivalent_annual_cost,
    future_value,
    internal_rate_of_return,
    loan_payment,
    mid_year_discount_factor,
    modified_rate_of_return,
    net_present_value,
    number_of_payments,
    present_value,
    salvage_value,
    single_present_value_factor,
    straight_line_depreciation,
    sum_deviation,
    sum_mean,
    sum_of_years_depreciation,
    triangular_deviation,
    triangular_mean,
    triangular_percentile,
    uniform_present_value_factor,
)


@pytest.mark.parametrize(
    ("rate", "periods", "recovery", "uniform", "single"),
    [
        # NIST Handbook 135 (1995/2020) and ASTM E917, definitions of factors; values computed from the definitions
        (0.03, 10, 0.11723051, 8.530203, 0.744094),
        (0.03, 25, 0.05742787, 17.413148, 0.477606),
        (0.07, 10, 0.14237750, 7.023582, 0.508349),
        (0.08, 15, 0.11682954, 8.559479, 0.315242),
        (0.10, 5, 0.26379748, 3.790787, 0.620921),
    ],
)
def test_e01_factors(rate: float, periods: int, recovery: float, uniform: float, single: float) -> None:
    assert capital_recovery_factor(rate, periods) == approx(recovery, abs=1e-6)
    assert uniform_present_value_factor(rate, periods) == approx(uniform, abs=1e-6)
    assert single_present_value_factor(rate, periods) == approx(single, abs=1e-6)
    # and as a plain sum
    assert uniform_present_value_factor(rate, periods) == approx(
        sum((1 + rate) ** -year for year in range(1, periods + 1)), rel=1e-12
    )


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        # Inputs are the examples in the docstrings of numpy-financial 1.0.0; its outputs are from memory
        (loan_payment(0.075 / 12, 180, 200000), -1854.0247200546),
        (future_value(0.05 / 12, 120, -100, -100), 15692.9288943357),
        (number_of_payments(0.07 / 12, -150, 8000), 64.0733487707),
        (internal_rate_of_return((-100, 39, 59, 55, 20)), 0.2809484212),
        (net_present_value(0.08, (-40000, 5000, 8000, 12000, 30000)), 3065.2226681796),
    ],
    ids=["payment", "future value", "number of payments", "rate of return", "present value"],
)
def test_e03_loans_and_flows(value: float, expected: float) -> None:
    assert value == approx(expected, rel=1e-9)


def test_e03_the_loans_of_one_equation_agree() -> None:
    # Present value is the inverse of the payment above; the rate of return by the roots of the polynomial (numpy)
    assert present_value(0.075 / 12, 180, -1854.0247200546) == approx(200000, rel=1e-9)
    roots = np.roots([20, 55, 59, 39, -100])
    discount = next(root.real for root in roots if abs(root.imag) < 1e-12 and root.real > 0)
    assert internal_rate_of_return((-100, 39, 59, 55, 20)) == approx(1 / discount - 1, rel=1e-9)


def test_e03_modified_rate_by_hand() -> None:
    # By the definition of the spreadsheet function MIRR: (50 * 1.12 + 70) / 100 over two periods, by hand
    assert modified_rate_of_return((-100, 50, 70), 0.10, 0.12) == approx(math.sqrt(1.26) - 1, rel=1e-12)
    assert modified_rate_of_return((-100, -55, 200), 0.10, 0.12) == approx(math.sqrt(200 / 150) - 1, rel=1e-12)


def test_e04_monthly_payment() -> None:
    # Engineering Economics, FE review notes (CE 4200, Texas Tech): 150 000 at 6 % over 60 months; they print about
    # 2901 and $2900, read off three-figure factors
    assert -loan_payment(0.06 / 12, 60, 150000) == approx(2899.92, abs=0.01)


@pytest.mark.parametrize(
    ("life", "period", "factor", "shown"),
    [
        # Example table of the spreadsheet function DDB (24 000, 3 000, ten years), by year, month and day
        (10, 1, 2, 4800.00),
        (120, 1, 2, 400.00),
        (3650, 1, 2, 13.15),
        (10, 2, 1.5, 3060.00),
        (10, 10, 2, 221.20),
        # exact: stopped by the salvage
        (10, 10, 2, 221.22547),
    ],
)
def test_e05_declining_balance(life: float, period: float, factor: float, shown: float) -> None:
    assert declining_balance_depreciation(24000, 3000, life, period, factor) == approx(shown, abs=0.05)


def test_e05_the_last_year_exactly() -> None:
    # 24 000 * 0.8^9 - 3 000, the value after nine years less the salvage
    assert declining_balance_depreciation(24000, 3000, 10, 10) == approx(221.22547, abs=5e-6)


def test_e07_three_ways_of_depreciating() -> None:
    # GNU Emacs Calc manual, Depreciation Functions: 12 000, 2 000, 5 years (the table from memory)
    years = range(1, 6)
    assert straight_line_depreciation(12000, 2000, 5) == approx(2000, abs=0.005)
    assert [sum_of_years_depreciation(12000, 2000, 5, year) for year in years] == approx(
        [3333.33, 2666.67, 2000, 1333.33, 666.67], abs=0.005
    )
    assert [declining_balance_depreciation(12000, 2000, 5, year) for year in years] == approx(
        [4800, 2880, 1728, 592, 0], abs=0.005
    )


@pytest.mark.parametrize(
    ("factor", "exponent", "step", "percent"),
    [
        # Iowa State University Extension A3-29, table of accumulated repairs as a share of the list price (title from
        # memory); factors of ASAE D497 from memory
        (0.003, 2.0, 1000, (0, 1, 3, 5, 8, 11, 15, 19, 24, 30)),
        (0.29, 1.8, 200, (2, 6, 12, 19, 29, 40, 53, 68, 84, 101)),
        (0.18, 1.7, 200, (1, 4, 8, 12, 18, 25, 32, 40, 49, 58)),
        (0.28, 1.4, 200, (3, 8, 14, 20, 28, 36, 45, 54, 64)),
    ],
    ids=["tractor", "mouldboard plough", "disk", "chisel plough"],
)
def test_e09_accumulated_repairs(factor: float, exponent: float, step: int, percent: tuple[int, ...]) -> None:
    shares = [accumulated_repair_share(step * row, factor, exponent) for row in range(1, len(percent) + 1)]
    # half a point, and a hair more for what lies just at it
    assert [100 * share for share in shares] == approx(percent, abs=0.5 + 1e-9)


def test_e11_salvage_and_capital_recovery() -> None:
    # Iowa State University Extension A3-29: list 150 000, price 130 000, 23 % left after 15 years, 8 %. By the
    # three-figure factor .117 it would be 13 933.5
    salvage = salvage_value(150000, 0.23)
    assert salvage == approx(34500, abs=0.01)
    assert capital_recovery_factor(0.08, 15) == approx(0.116830, abs=5e-7)
    assert capital_recovery(130000, salvage, 0.08, 15) == approx(13917.22, abs=0.01)


def test_e13_economic_life() -> None:
    # Economic Decision Analysis (4th ed.), p. 136, as quoted in a public test file (inputs): 10 000, worth 4 000
    # whenever it is sold, 1 500 to run, 700 more each year, 15 %
    running = [1500 + 700 * year for year in range(6)]
    costs = annual_costs_by_life(0.15, 10000, (4000,), running)
    assert costs == approx((9000.00, 6116.28, 5362.85, 5129.97, 5095.86, 5153.45), abs=0.01)
    assert economic_life(0.15, 10000, (4000,), running) == 5


def test_a05_economic_life_without_interest() -> None:
    # Jardine & Tsang, solutions, ch. 2 problem 1: 1 200 to replace; 10 000, 9 700, 9 400, 8 900 a month produced
    running = [10000 - produced for produced in (10000, 9700, 9400, 8900)]
    assert annual_costs_by_life(0, 1200, (0,), running) == approx((1200, 750, 700, 800), rel=1e-12)
    assert economic_life(0, 1200, (0,), running) == 3


def test_e14_a_tractor_whose_notes_are_wrong() -> None:
    # CE 4200 notes as E04: 6 000, worth 4 000 after 8 years, 250 a year, 6 %. The notes use wrong factors and print
    # another figure; this is the right one
    assert equivalent_annual_cost(0.06, 6000, 4000, [250] * 8) == approx(812.07, abs=0.01)


#: GAO-20-195G, Cost Estimating and Assessment Guide (2020), Table 12: $K a unit, low, likely, high.
ELEMENTS = (
    (17955, 19645, 21785),
    (8500, 10553, 13000),
    (4000, 4306, 5100),
    (4100, 4305, 4650),
    (550, 600, 650),
    (32300, 35547, 52500),
    (1950, 2136, 2600),
)


def test_c01_roll_up_of_likely_costs() -> None:
    # GAO-20-195G, Table 12: $77 M a unit and, for 32 units, $2.47 billion
    a_unit = sum_mean([likely for _, likely, _ in ELEMENTS])
    assert a_unit == 77092
    assert round(a_unit / 1000) == 77
    assert 32 * a_unit / 1000 == approx(2466.944, abs=5e-4)
    assert round(32 * a_unit / 1e6, 2) == 2.47


@pytest.mark.parametrize(
    ("correlation", "deviation"), [(0, 4599.61), (0.2, 5072.20), (0.3, 5292.70), (0.5, 5708.20), (1, 6634.06)]
)
def test_c03_roll_up_with_correlation(correlation: float, deviation: float) -> None:
    # Algebra of variances over GAO-20-195G, Table 12, each element triangular; correlation as GAO and the Joint Agency
    # Cost Schedule Risk and Uncertainty Handbook advise
    deviations = [triangular_deviation(*element) for element in ELEMENTS]
    assert sum_deviation(deviations, correlation) == approx(deviation, rel=1e-5)


@pytest.mark.parametrize(("share", "total"), [(0.5, 81421.7), (0.8, 88354.8)])
def test_c03_elements_that_move_together(share: float, total: float) -> None:
    # Comonotone sum of the triangular percentiles of GAO-20-195G, Table 12
    assert sum(triangular_percentile(share, *element) for element in ELEMENTS) == approx(total, rel=1e-5)


def test_c05_one_triangular_element() -> None:
    # Triangular distribution, closed form, and SciPy's
    element = (9000, 10000, 12000)
    assert triangular_mean(*element) == approx(10333.3333, rel=1e-6)
    assert triangular_deviation(*element) == approx(623.6096, rel=1e-6)
    percentiles = {0.1: 9547.7226, 0.5: 10267.9492, 0.8: 10904.5549, 0.9: 11225.4033}
    reference = stats.triang(1 / 3, loc=9000, scale=3000)
    for share, amount in percentiles.items():
        assert triangular_percentile(share, *element) == approx(amount, rel=1e-6)
        assert triangular_percentile(share, *element) == approx(reference.ppf(share), rel=1e-12)


def test_c07_discount_factors_at_7_percent() -> None:
    # OMB Circular A-94 (1992), Appendix B; the rate as an EPA memo on that circular has it
    at_the_end = (0.9346, 0.8734, 0.8163, 0.7629, 0.7130, 0.6663, 0.6227, 0.5820, 0.5439, 0.5083)
    in_the_middle = (0.9667, 0.9035, 0.8444, 0.7891, 0.7375)
    assert [single_present_value_factor(0.07, year) for year in range(1, 11)] == approx(at_the_end, abs=5e-5)
    assert [mid_year_discount_factor(0.07, year) for year in range(1, 6)] == approx(in_the_middle, abs=5e-5)
