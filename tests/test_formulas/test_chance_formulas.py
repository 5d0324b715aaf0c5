"""Spare parts and the roll-up of estimates: limits, independent references, and what is refused."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pytest import approx
from scipy import integrate, stats  # type: ignore[import-untyped]

from costplan.formulas import (
    InputError,
    beta_pert_deviation,
    beta_pert_percentile,
    expected_backorders,
    lognormal_deviation,
    lognormal_mean,
    lognormal_parameters,
    lognormal_percentile,
    newsvendor_cost,
    newsvendor_quantity,
    pert_deviation,
    pert_mean,
    poisson_probability,
    probability_of_fewer,
    probability_of_more,
    stock_for_service_level,
    sum_deviation,
    sum_mean,
    triangular_deviation,
    triangular_mean,
    triangular_percentile,
)

MEANS = (0.01, 0.5, 1, 2.4, 10, 99.5, 1234, 1e6)


# Spare parts


@pytest.mark.parametrize("mean", MEANS)
@pytest.mark.parametrize("spread", [-6, -2, 0, 2, 6, 12])
def test_poisson_against_scipy(mean: float, spread: int) -> None:
    count = max(0, int(mean + spread * math.sqrt(mean)))
    assert poisson_probability(mean, count) == approx(stats.poisson.pmf(count, mean), rel=1e-8)
    assert probability_of_fewer(mean, count) == approx(stats.poisson.cdf(count - 1, mean), rel=1e-8, abs=1e-15)
    assert probability_of_more(mean, count) == approx(stats.poisson.sf(count, mean), rel=1e-8, abs=1e-15)


def test_a_small_tail_keeps_its_digits() -> None:
    # 1 - P(N <= 30) would be noise
    assert probability_of_more(2, 30) == approx(stats.poisson.sf(30, 2), rel=1e-9)
    assert probability_of_more(2, 30) < 1e-24


@pytest.mark.parametrize("mean", MEANS)
@pytest.mark.parametrize("stock", [0, 1, 2, 5, 11, 100, 1300])
def test_backorders_against_scipy(mean: float, stock: int) -> None:
    if mean < 1e4:
        counts = np.arange(stock, stock + int(mean) + 400)
        reference = float(((counts - stock) * stats.poisson.pmf(counts, mean)).sum())
    else:
        reference = mean - stock
    assert expected_backorders(mean, stock) == approx(reference, rel=1e-8)


def test_without_demand_there_is_no_shortage() -> None:
    assert poisson_probability(0, 0) == 1
    assert poisson_probability(0, 1) == 0
    assert probability_of_more(0, 0) == 0
    assert probability_of_fewer(0, 0) == 0
    assert probability_of_fewer(0, 1) == 1
    assert expected_backorders(0, 0) == 0
    assert stock_for_service_level(0, 0.99) == 0


@given(st.floats(0, 500), st.floats(0.001, 0.9999))
def test_the_stock_for_a_level_is_the_least_that_reaches_it(mean: float, level: float) -> None:
    stock = stock_for_service_level(mean, level)
    assert 1 - probability_of_more(mean, stock) >= level - 1e-12
    assert stock == 0 or 1 - probability_of_more(mean, stock - 1) < level + 1e-12


@pytest.mark.parametrize("mean", MEANS)
@pytest.mark.parametrize("level", [0.01, 0.5, 0.9, 0.95, 0.999])
def test_the_stock_for_a_level_against_scipy(mean: float, level: float) -> None:
    assert stock_for_service_level(mean, level) == stats.poisson.ppf(level, mean)


@pytest.mark.parametrize(
    ("mean", "level", "name"), [(-1, 0.9, "mean"), (2e6, 0.9, "mean"), (2, 0, "level"), (2, 1, "level")]
)
def test_a_demand_or_level_that_cannot_be_is_refused(mean: float, level: float, name: str) -> None:
    with pytest.raises(InputError, match=name):
        stock_for_service_level(mean, level)


@pytest.mark.parametrize("count", [-1, -(10**9)])
def test_a_count_below_zero_is_refused(count: int) -> None:
    for asked in (poisson_probability, probability_of_fewer, probability_of_more):
        with pytest.raises(InputError, match="count"):
            asked(2, count)


@given(st.floats(0.01, 100), st.floats(0.01, 100), st.floats(0, 1000), st.floats(0.1, 100), st.floats(-3, 3))
def test_no_quantity_costs_less_than_the_newsvendor_s(
    holding: float, shortage: float, mean: float, deviation: float, off: float
) -> None:
    best = newsvendor_quantity(holding, shortage, mean, deviation)
    least = newsvendor_cost(best, holding, shortage, mean, deviation)
    assert newsvendor_cost(best + off * deviation, holding, shortage, mean, deviation) >= least * (1 - 1e-9)


def test_newsvendor_limits() -> None:
    assert newsvendor_quantity(1, 1, 50, 8) == 50
    # far above all demand what is left over is paid for, far below it what is short
    assert newsvendor_cost(1000, 2, 3, 50, 8) == approx(2 * 950, rel=1e-12)
    assert newsvendor_cost(-1000, 2, 3, 50, 8) == approx(3 * 1050, rel=1e-12)
    with pytest.raises(InputError, match="deviation"):
        newsvendor_quantity(1, 1, 50, 0)
    with pytest.raises(InputError, match="shortage"):
        newsvendor_quantity(1e-9, 1e12, 50, 8)


def test_newsvendor_cost_against_scipy() -> None:
    density = stats.norm(50, 8).pdf
    over, _ = integrate.quad(lambda demand: (60 - demand) * density(demand), -50, 60)
    under, _ = integrate.quad(lambda demand: (demand - 60) * density(demand), 60, 160)
    assert newsvendor_cost(60, 0.18, 0.7, 50, 8) == approx(0.18 * over + 0.7 * under, rel=1e-9)


# Elements

RANGES = st.tuples(st.floats(0, 1e4), st.floats(0, 1), st.floats(1, 1e4)).map(
    lambda drawn: (drawn[0], drawn[0] + drawn[1] * drawn[2], drawn[0] + drawn[2])
)
SHARES = st.floats(0.001, 0.999)


@given(RANGES, SHARES)
@settings(deadline=None)
def test_triangular_against_scipy(element: tuple[float, float, float], share: float) -> None:
    low, likely, high = element
    reference = stats.triang((likely - low) / (high - low), low, high - low)
    assert triangular_mean(*element) == approx(reference.mean(), rel=1e-9)
    assert triangular_deviation(*element) == approx(reference.std(), rel=1e-6)
    assert triangular_percentile(share, *element) == approx(reference.ppf(share), rel=1e-9, abs=1e-9 * (high - low))


@given(RANGES, SHARES)
@settings(deadline=None)
def test_beta_pert_against_scipy(element: tuple[float, float, float], share: float) -> None:
    low, likely, high = element
    a = 1 + 4 * (likely - low) / (high - low)
    reference = stats.beta(a, 6 - a, low, high - low)
    assert pert_mean(*element) == approx(reference.mean(), rel=1e-9)
    assert beta_pert_deviation(*element) == approx(reference.std(), rel=1e-6)
    assert beta_pert_percentile(share, *element) == approx(reference.ppf(share), rel=1e-9, abs=1e-9 * (high - low))


@pytest.mark.parametrize("percentile", [triangular_percentile, beta_pert_percentile])
@pytest.mark.parametrize("likely", [10.0, 13.0, 20.0])
def test_no_share_stays_below_the_low_and_all_below_the_high(percentile: Callable[..., float], likely: float) -> None:
    assert percentile(0, 10, likely, 20) == approx(10, abs=1e-9)
    assert percentile(1, 10, likely, 20) == approx(20, abs=1e-9)


def test_the_rule_of_pert_is_the_range_over_six() -> None:
    assert pert_deviation(0, 1, 6) == pert_deviation(0, 5, 6) == 1
    assert beta_pert_deviation(0, 3, 6) == approx(3 / math.sqrt(7), rel=1e-12)


@pytest.mark.parametrize(
    ("low", "likely", "high", "name"), [(5, 4, 9, "likely"), (5, 10, 9, "likely"), (5, 5, 5, "high")]
)
def test_figures_out_of_order_are_refused(low: float, likely: float, high: float, name: str) -> None:
    for moment in (triangular_mean, triangular_deviation, pert_mean, pert_deviation, beta_pert_deviation):
        with pytest.raises(InputError, match=name):
            moment(low, likely, high)


@given(st.floats(1, 1e5), st.floats(1.01, 100), st.floats(0.01, 0.45), st.floats(0.55, 0.99))
def test_a_lognormal_amount_has_the_percentiles_it_was_made_from(low: float, times: float, p: float, q: float) -> None:
    parameters = lognormal_parameters(low, low * times, p, q)
    assert lognormal_percentile(p, *parameters) == approx(low, rel=1e-9)
    assert lognormal_percentile(q, *parameters) == approx(low * times, rel=1e-9)


def test_lognormal_against_scipy() -> None:
    reference = stats.lognorm(0.4, scale=math.exp(7))
    assert lognormal_mean(7, 0.4) == approx(reference.mean(), rel=1e-12)
    assert lognormal_deviation(7, 0.4) == approx(reference.std(), rel=1e-12)
    assert lognormal_percentile(0.8, 7, 0.4) == approx(reference.ppf(0.8), rel=1e-12)
    assert lognormal_deviation(7, 0) == 0


@pytest.mark.parametrize(
    ("inputs", "name"),
    [((0, 5), "low"), ((5, 5), "high"), ((5, 9, 0.9, 0.1), "high_share"), ((5, 9, 0, 0.5), "low_share")],
)
def test_percentiles_that_cannot_be_are_refused(inputs: tuple[float, ...], name: str) -> None:
    with pytest.raises(InputError, match=f"^{name} "):
        lognormal_parameters(*inputs)


# Totals


@given(st.lists(st.floats(0, 1e4), min_size=2, max_size=8), st.floats(0, 1))
def test_the_deviation_of_a_total_is_that_of_its_covariance_matrix(deviations: list[float], correlation: float) -> None:
    matrix = np.full((len(deviations), len(deviations)), correlation)
    np.fill_diagonal(matrix, 1)
    variance = float(np.array(deviations) @ matrix @ np.array(deviations))
    assert sum_deviation(deviations, correlation) == approx(math.sqrt(variance), rel=1e-9, abs=1e-9)


def test_totals_by_hand() -> None:
    assert sum_mean((1, 2, 3.5)) == 6.5
    assert sum_deviation((3, 4)) == 5
    assert sum_deviation((3, 4), 1) == 7
    assert sum_deviation((3, 3), -1) == 0
    assert sum_deviation((3,), 0.7) == approx(3, rel=1e-12)


@pytest.mark.parametrize(
    ("deviations", "correlation", "name"),
    [((1, 1, 1), -0.6, "correlation"), ((1, 1), 1.1, "correlation"), ((1, -1), 0, "deviations"), ((), 0, "deviations")],
)
def test_a_correlation_that_cannot_be_is_refused(deviations: tuple[float, ...], correlation: float, name: str) -> None:
    with pytest.raises(InputError, match=name):
        sum_deviation(deviations, correlation)
