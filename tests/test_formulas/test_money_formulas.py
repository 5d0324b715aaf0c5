"""Economics, depreciation and machine cost: limits, what belongs together, and what is refused."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pytest import approx

from costplan.formulas import (
    InputError,
    accumulated_repair_share,
    annual_costs_by_life,
    capital_recovery,
    capital_recovery_factor,
    declining_balance_depreciation,
    declining_balance_value,
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
    sum_of_years_depreciation,
    uniform_present_value_factor,
)

RATES = st.floats(-0.5, 2)
PERIODS = st.integers(1, 60)
#: Amounts in cents.
MONEY = st.integers(0, 10**8).map(lambda cents: cents / 100)


# Factors


def test_without_interest_money_is_worth_the_same_at_any_time() -> None:
    assert single_present_value_factor(0, 10) == 1
    assert mid_year_discount_factor(0, 10) == 1
    assert uniform_present_value_factor(0, 10) == 10
    assert capital_recovery_factor(0, 10) == 0.1


def test_for_many_periods_the_factors_tend_to_the_rate() -> None:
    assert capital_recovery_factor(0.08, 1000) == approx(0.08, rel=1e-12)
    assert uniform_present_value_factor(0.08, 1000) == approx(12.5, rel=1e-12)
    assert single_present_value_factor(0.08, 1000) == approx(0, abs=1e-12)


def test_a_rate_near_zero_loses_no_digits() -> None:
    # (1 - (1 + rate)^-n) / rate = n - n (n + 1) / 2 * rate + ...
    assert uniform_present_value_factor(1e-12, 10) == approx(10 - 55e-12, rel=1e-15)


@given(RATES, PERIODS)
def test_the_uniform_factor_is_the_sum_of_the_single_ones(rate: float, periods: int) -> None:
    assert uniform_present_value_factor(rate, periods) == approx(
        sum(single_present_value_factor(rate, year) for year in range(1, periods + 1)), rel=1e-9
    )


@given(RATES, PERIODS)
def test_a_year_s_flow_is_worth_more_when_it_comes_in_the_middle(rate: float, year: int) -> None:
    at_the_end = single_present_value_factor(rate, year)
    assert mid_year_discount_factor(rate, year) == approx(at_the_end * (1 + rate) ** 0.5, rel=1e-9)


@pytest.mark.parametrize(("rate", "periods", "name"), [(-1, 5, "rate"), (-1.5, 5, "rate"), (0.1, 0, "periods")])
def test_no_factor_without_a_rate_above_minus_1_and_periods(rate: float, periods: float, name: str) -> None:
    for factor in (uniform_present_value_factor, capital_recovery_factor):
        with pytest.raises(InputError, match=name):
            factor(rate, periods)


# Loans


@given(RATES, PERIODS, MONEY, MONEY, st.integers(0, 1))
def test_the_four_sides_of_a_loan_are_one_equation(
    rate: float, periods: int, present: float, future: float, at_start: int
) -> None:
    payment = loan_payment(rate, periods, present, -future, at_start)
    size = 1 + (present + future) * max(1, 1 + rate) ** periods
    assert future_value(rate, periods, payment, present, at_start) == approx(-future, abs=1e-9 * size)
    later = single_present_value_factor(rate, periods)
    size = 1 + present + future * later + abs(payment) * uniform_present_value_factor(rate, periods)
    assert present_value(rate, periods, payment, -future, at_start) == approx(present, abs=1e-9 * size)


@given(st.floats(0, 0.5), PERIODS, st.floats(1, 1e6), st.integers(0, 1))
def test_the_number_of_payments_is_found_again(rate: float, periods: int, present: float, at_start: int) -> None:
    payment = loan_payment(rate, periods, present, 0, at_start)
    if single_present_value_factor(rate, periods) > 1e-6:
        assert number_of_payments(rate, payment, present, 0, at_start) == approx(periods, rel=1e-6)


def test_a_loan_by_hand() -> None:
    # Two payments at 10 %: 100 -> 110 - p -> 121 - 1.1 p - p = 0
    assert loan_payment(0.10, 2, 100) == approx(-121 / 2.1, rel=1e-12)
    # at the start of each period: (100 - p) * 1.1 = p
    assert loan_payment(0.10, 2, 100, at_start=1) == approx(-110 / 2.1, rel=1e-12)
    assert number_of_payments(0, -50, 100) == 2
    assert future_value(0, 12, -100) == 1200


@pytest.mark.parametrize("payment", [-79.0, -80.0, 0.0, 100.0])
def test_a_loan_that_is_never_repaid_is_refused(payment: float) -> None:
    """8 % of 1000 are 80 a period."""
    with pytest.raises(InputError, match="payment"):
        number_of_payments(0.08, payment, 1000)


def test_payments_are_due_at_the_start_or_at_the_end() -> None:
    with pytest.raises(InputError, match="at_start"):
        loan_payment(0.08, 10, 1000, at_start=2)


# Flows


@given(st.lists(st.floats(1, 1e5), min_size=1, max_size=8), st.lists(st.floats(1, 1e5), min_size=1, max_size=8))
def test_at_the_internal_rate_flows_are_worth_nothing(paid: list[float], received: list[float]) -> None:
    flows = [-flow for flow in paid] + received
    rate = internal_rate_of_return(flows)
    scale = net_present_value(rate, [abs(flow) for flow in flows])
    assert net_present_value(rate, flows) == approx(0, abs=1e-9 * scale)


def test_a_borrower_and_a_lender_have_one_rate() -> None:
    lender = (-100, 39, 59, 55, 20)
    assert internal_rate_of_return([-flow for flow in lender]) == approx(internal_rate_of_return(lender), rel=1e-12)


def test_a_loss_is_a_rate_below_zero() -> None:
    assert internal_rate_of_return((-100, 50)) == approx(-0.5, rel=1e-12)
    assert internal_rate_of_return((-100, 100)) == approx(0, abs=1e-12)


def test_flows_that_change_sign_often_have_a_rate_where_their_running_total_changes_once() -> None:
    # -100, 60, -20, 90: running total -100, -40, -60, 30
    rate = internal_rate_of_return((-100, 60, -20, 90))
    assert rate > 0
    assert net_present_value(rate, (-100, 60, -20, 90)) == approx(0, abs=1e-9)


@pytest.mark.parametrize(
    "flows",
    [
        (100, 50),
        (-100, -50),
        (0, 0),
        (-100,),
        (-1, 2, -1),
        # 10 % and 20 % both are answers
        (-100, 230, -132),
    ],
)
def test_flows_with_no_one_rate_are_refused(flows: tuple[float, ...]) -> None:
    with pytest.raises(InputError, match="flows"):
        internal_rate_of_return(flows)


def test_the_modified_rate_is_the_internal_one_when_money_earns_it() -> None:
    flows = (-100, 39, 59, 55, 20)
    rate = internal_rate_of_return(flows)
    assert modified_rate_of_return(flows, rate, rate) == approx(rate, rel=1e-9)
    assert modified_rate_of_return((-100, 0, 0), 0.1, 0.1) == -1
    with pytest.raises(InputError, match="flows"):
        modified_rate_of_return((100, 50), 0.1, 0.1)


# Owning


@given(st.floats(-0.2, 1), MONEY, MONEY, st.lists(MONEY, min_size=1, max_size=12))
def test_the_equivalent_annual_cost_is_worth_what_owning_costs(
    rate: float, price: float, salvage: float, running: list[float]
) -> None:
    cost = equivalent_annual_cost(rate, price, salvage, running)
    flows = [price, *running]
    flows[-1] -= salvage
    size = net_present_value(rate, [price, *running[:-1], running[-1] + salvage]) + 1
    worth = cost * uniform_present_value_factor(rate, len(running))
    assert worth == approx(net_present_value(rate, flows), abs=1e-9 * size)


def test_one_salvage_stands_for_every_year_and_a_wrong_number_of_them_is_refused() -> None:
    running = (10, 20, 30)
    assert annual_costs_by_life(0.1, 100, (40,), running) == annual_costs_by_life(0.1, 100, (40, 40, 40), running)
    with pytest.raises(InputError, match="salvages"):
        annual_costs_by_life(0.1, 100, (40, 30), running)
    with pytest.raises(InputError, match="running"):
        economic_life(0.1, 100, (40,), ())


def test_of_two_lives_that_cost_the_same_the_shorter_is_given() -> None:
    assert economic_life(0, 100, (0,), (0, 100)) == 1
    assert economic_life(0, 100, (0,), (0, 99)) == 2


def test_recovering_capital_without_interest_is_straight_line_depreciation() -> None:
    assert capital_recovery(1000, 200, 0, 4) == straight_line_depreciation(1000, 200, 4) == 200
    assert capital_recovery(1000, 1000, 0.08, 4) == approx(80, rel=1e-12)
    with pytest.raises(InputError, match="years"):
        capital_recovery(1000, 200, 0.08, 0)


def test_repairs_grow_from_nothing_and_come_to_the_factor_at_1000_hours() -> None:
    assert accumulated_repair_share(0, 0.12, 1.8) == 0
    assert accumulated_repair_share(1000, 0.12, 1.8) == 0.12
    assert accumulated_repair_share(2000, 0.12, 1) == 0.24
    for wrong in ({"hours": -1}, {"factor": -0.1}, {"exponent": 0}):
        with pytest.raises(InputError, match=next(iter(wrong))):
            accumulated_repair_share(**{"hours": 1000, "factor": 0.12, "exponent": 1.8, **wrong})


def test_salvage_is_a_share_of_the_list_price() -> None:
    assert salvage_value(1000, 0) == 0
    assert salvage_value(1000, 1) == 1000
    with pytest.raises(InputError, match="share"):
        salvage_value(1000, -0.1)


# Depreciation


@given(MONEY, st.floats(0, 1), st.integers(1, 40), st.floats(0.5, 5))
def test_all_periods_together_bear_what_is_lost(cost: float, share: float, life: int, factor: float) -> None:
    salvage, years = share * cost, range(1, life + 1)
    lost, tolerance = cost - salvage, 1e-9 * cost
    assert life * straight_line_depreciation(cost, salvage, life) == approx(lost, abs=tolerance)
    assert sum(sum_of_years_depreciation(cost, salvage, life, year) for year in years) == approx(lost, abs=tolerance)
    declining = sum(declining_balance_depreciation(cost, salvage, life, year, factor) for year in years)
    assert declining == approx(cost - declining_balance_value(cost, salvage, life, life, factor), abs=tolerance)
    assert declining <= lost + tolerance


def test_a_declining_balance_stops_at_the_salvage_and_takes_all_at_once_if_it_may() -> None:
    assert declining_balance_value(1000, 300, 4, 3) == 300
    assert declining_balance_depreciation(1000, 300, 4, 4) == 0
    assert declining_balance_depreciation(1000, 0, 2, 1) == 1000
    assert declining_balance_depreciation(1000, 0, 2, 2) == 0


def test_a_part_of_a_period_adds_up_to_the_whole() -> None:
    half = declining_balance_depreciation(1000, 0, 10, 0.5)
    rest = declining_balance_value(1000, 0, 10, 0.5) - declining_balance_value(1000, 0, 10, 1)
    assert half + rest == approx(declining_balance_depreciation(1000, 0, 10, 1), rel=1e-12)
    assert declining_balance_depreciation(1000, 0, 10, 2.5) == approx(
        declining_balance_value(1000, 0, 10, 1.5) - declining_balance_value(1000, 0, 10, 2.5), rel=1e-12
    )


@pytest.mark.parametrize(
    ("changed", "name"),
    [
        ({"salvage": 1001.0}, "salvage"),
        ({"cost": -1.0}, "cost"),
        ({"life": 0}, "life"),
        ({"period": 0}, "period"),
        ({"period": 6}, "period"),
    ],
)
def test_a_depreciation_that_cannot_be_is_refused(changed: dict[str, float], name: str) -> None:
    asset = {"cost": 1000.0, "salvage": 100.0, "life": 5, "period": 2, **changed}
    with pytest.raises(InputError, match=name):
        declining_balance_depreciation(**asset)
    with pytest.raises(InputError, match=name):
        sum_of_years_depreciation(asset["cost"], asset["salvage"], int(asset["life"]), int(asset["period"]))
