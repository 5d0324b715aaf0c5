"""Fits of lives against published values. Each source, the method and the censoring rule stand beside the values."""

from __future__ import annotations

import math

import numpy as np
import pytest
from pytest import approx
from scipy import stats  # type: ignore[import-untyped]

from costplan.life.fitting import (
    Observation,
    Recurring,
    fit_weibull,
    lives_seen,
    mean_cumulative,
    rank_regression,
)

# NIST/SEMATECH e-Handbook 8.4.1.3: ten failures and ten that were whole at 500 h. Copies with a first time of 55 are a
# slip: they give 1.7256 and 606.00.
W07 = lives_seen([54, 187, 216, 240, 244, 335, 361, 373, 375, 386], censored=[500] * 10)
# J. Quality Technology 29 (1997), doi 10.1080/00224065.1997.11979730.
W09 = lives_seen([45, 46, 34, 45, 32, 24, 58, 79, 56, 63, 34, 50], censored=[23, 24, 57, 78, 76, 85, 51, 59])
# Abernethy, fig. 2-5.
W11 = lives_seen([30, 49, 82, 90, 96], censored=[10, 45, 100])
# Nelson, Applied Life Data Analysis (1982), p. 318: diesel fans, hours; the censored with how many of each.
FANS_FAILED = (450, 1150, 1150, 1600, 2070, 2070, 2080, 3100, 3450, 4600, 6100, 8750)
FANS_WHOLE = """
460x1 1560x1 1660x1 1850x5 2030x3 2200x1 3000x4 3200x1 3750x2 4150x4 4300x4 4850x4 5000x3 6100x3 6300x1 6450x2 6700x1
7450x1 7800x2 8100x2 8200x1 8500x3 8750x2 9400x1 9900x1 10100x3 11500x1
"""
W13 = (
    *lives_seen(FANS_FAILED),
    *(
        Observation(0, int(use), failed=False, weight=int(n))
        for use, n in (one.split("x") for one in FANS_WHOLE.split())
    ),
)
# Krivtsov & Case, SAE 1999-01-3220: kilometres.
W14_WHOLE = """
3961 4007 4734 6054 7298 10190 23060 27160 28690 37100 40060 45670 53000 67000 69630 77350 78470 91680 105700 106300
150400
"""
W14 = lives_seen(
    [5248, 7454, 16890, 17200, 38700, 45000, 49390, 69040, 72280, 131900], [int(use) for use in W14_WHOLE.split()]
)


def test_w07_maximum_likelihood_right_censored_at_one_time() -> None:
    # Published pair 1.7207 and 606.5280, read second-hand; the rest by SciPy, and by three packages that agree.
    fit = fit_weibull(W07)
    assert fit.weibull is not None
    assert (fit.failures, fit.censored) == (10, 10)
    assert fit.weibull.shape == approx(1.7207, abs=3e-4)
    assert fit.weibull.scale == approx(606.5280, abs=1e-3)
    assert fit.weibull.shape == approx(1.720797, rel=1e-6)
    assert fit.log_likelihood == approx(-75.13462, abs=1e-5)
    assert (fit.shape_error, fit.scale_error) == approx((0.50215, 124.911), rel=1e-5)
    assert (fit.b10.value, fit.mean.value) == approx((164.022, 540.737), rel=1e-5)


def test_w09_maximum_likelihood_right_censored_with_normal_limits_on_the_raw_scale() -> None:
    # Published 2.7540 (95 %: 1.4977 to 4.0102) and 67.9188 (53.8755 to 81.9622), read second-hand.
    fit = fit_weibull(W09, confidence=0.95, way="raw")
    assert fit.weibull is not None
    assert (fit.weibull.shape, fit.weibull.scale) == approx((2.753953, 67.91883), rel=1e-6)
    assert (fit.shape.low, fit.shape.high) == approx((1.4977, 4.0102), abs=1e-3)
    assert (fit.scale.low, fit.scale.high) == approx((53.8755, 81.9622), abs=1e-3)


def test_w11_rank_regression_and_maximum_likelihood_are_not_the_same_fit() -> None:
    # Abernethy, fig. 2-5 (published 2.024 and 94.998, second-hand): X on Y, adjusted ranks (Johnson), median ranks by
    # Benard, right censored. The others by two programs that agree.
    line = rank_regression(W11)
    assert line.ranks == approx((1.125, 2.4375, 3.75, 5.0625, 6.375), rel=1e-12)
    assert [100 * share for share in line.shares] == approx([9.82, 25.45, 41.07, 56.70, 72.32], abs=5e-3)
    assert (line.weibull.shape, line.weibull.scale) == approx((2.024259, 94.99794), rel=1e-6)
    other = rank_regression(W11, "Y on X").weibull
    assert (other.shape, other.scale) == approx((1.929418, 96.88940), rel=1e-6)
    likeliest = fit_weibull(W11).weibull
    assert likeliest is not None
    assert (likeliest.shape, likeliest.scale) == approx((3.017019, 87.9563), rel=1e-6)


def test_w13_maximum_likelihood_heavily_right_censored_with_weights() -> None:
    # Data: Nelson (1982), p. 318; fit by SciPy, close to a package's printed 26.2968 (12.2514), 1.0584 (0.2683).
    fit = fit_weibull(W13, confidence=0.95, way="log")
    assert fit.weibull is not None
    assert (fit.failures, fit.censored) == (12, 58)
    assert (fit.weibull.shape, fit.weibull.scale) == approx((1.058446, 26296.845), rel=1e-5)
    assert (fit.shape_error, fit.scale_error) == approx((0.26825, 12251.43), rel=1e-4)
    assert fit.b10.value == approx(3137.24, rel=1e-5)
    assert (fit.scale.low, fit.scale.high) == approx((10552, 65536), rel=1e-4)
    assert (fit.shape.low, fit.shape.high) == approx((0.6441, 1.7394), abs=5e-5)
    assert math.fsum(life.end * life.weight for life in W13) == 344440


def test_w13_with_a_shape_of_one_the_scale_is_the_hours_for_each_failure() -> None:
    # Closed form of the exponential life, right censored: 344440 h / 12.
    fit = fit_weibull(W13, shape=1)
    assert fit.scale.value == approx(28703.33, abs=0.005)
    assert fit.scale_error == approx(28703.33 / math.sqrt(12), rel=1e-6)


def test_w14_maximum_likelihood_where_the_likelihood_is_flat() -> None:
    # Data: Krivtsov & Case; exact values by SciPy. A documentation prints 1.15586 and 134243, which is not converged.
    fit = fit_weibull(W14)
    assert fit.weibull is not None
    assert (fit.weibull.shape, fit.weibull.scale) == approx((1.154427, 134651.04), rel=1e-6)
    assert fit.log_likelihood == approx(-128.97383, abs=1e-5)
    assert (fit.weibull.shape, fit.weibull.scale) == approx((1.15586, 134243), rel=5e-3)


def test_w15_mean_cumulative_function_of_five_systems() -> None:
    # An example after Nelson: the last time of each system is its retirement, at which it still counts.
    histories = [(5, 10, 15, 17), (6, 13, 17, 19), (12, 20, 25, 26), (13, 15, 24), (16, 22, 25, 28)]
    found = mean_cumulative([Recurring(0, end, tuple(map(float, at))) for *at, end in histories])
    uses = (5, 6, 10, 12, 13, 15, 16, 17, 20, 22, 25)
    means = (0.2, 0.4, 0.6, 0.8, 1.2, 1.6, 1.8, 2.0, 2.33333, 2.66667, 3.66667)
    assert [step.use for step in found] == list(uses)
    assert [step.mean for step in found] == approx(means, abs=1e-5)
    assert found[-1].variance == approx(0.718148, abs=1e-6)


@pytest.mark.parametrize("seen", [W07, W09, W11, W14], ids=["W07", "W09", "W11", "W14"])
def test_fits_agree_with_scipy(seen: tuple[Observation, ...]) -> None:
    data = stats.CensoredData(
        uncensored=[life.end for life in seen if life.failed], right=[life.end for life in seen if not life.failed]
    )
    shape, _, scale = stats.weibull_min.fit(data, floc=0)
    fit = fit_weibull(seen).weibull
    assert fit is not None
    assert (fit.shape, fit.scale) == approx((shape, scale), rel=2e-4)


def test_the_likelihood_is_that_of_the_density_and_the_survival() -> None:
    fit = fit_weibull(W09)
    assert fit.weibull is not None
    law = stats.weibull_min(fit.weibull.shape, scale=fit.weibull.scale)
    total = sum(float(law.logpdf(life.end) if life.failed else law.logsf(life.end)) for life in W09)
    assert fit.log_likelihood == approx(total, abs=1e-9)
    assert np.isfinite(total)
