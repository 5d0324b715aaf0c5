"""Expected failures of one place against published and closed values. Each source stands beside its value."""

from __future__ import annotations

import math

import numpy as np
import pytest
from pytest import approx
from scipy import stats  # type: ignore[import-untyped]

from costplan.life.theory import renewal_asymptote, renewals


def test_r01_erlang_life_of_two_stages() -> None:
    # Cox, Renewal Theory (1962): M = t/2 - 1/4 + exp(-2t)/4 at rate 1; values computed from that form.
    found = renewals(stats.gamma(2), (0.5, 1, 2, 5, 10))
    expected = [0.0919698603, 0.2838338208, 0.7545789097, 2.2500113500, 4.7500000005]
    assert found.expected == approx(expected, abs=1e-9)
    assert found.expected == approx([t / 2 - 0.25 + math.exp(-2 * t) / 4 for t in found.times], abs=1e-9)
    assert found.error < 1e-8


@pytest.mark.parametrize(
    ("shape", "expected"),
    [
        # Computed by midpoint sums (Xie 1989) with Richardson's extrapolation; the table that these lives are known
        # by (Smith & Leadbetter, Technometrics 5, 1963) was not read. Scale 1, at 0.5, 1, 2, 5.
        (1.5, (0.3302698, 0.8415781, 1.9455008, 5.2691600)),
        (2, (0.2307939, 0.7536913, 1.8940393, 5.2785158)),
        (2.5, (0.1647713, 0.7025071, 1.8439076, 5.2268557)),
        (3, (0.1182627, 0.6723291, 1.8010753, 5.1652745)),
    ],
)
def test_r03_weibull_lives(shape: float, expected: tuple[float, ...]) -> None:
    assert renewals(stats.weibull_min(shape), (0.5, 1, 2, 5)).expected == approx(expected, abs=1e-7)


@pytest.mark.parametrize(("shape", "power"), [(1.5, 20), (2.5, 14), (3, 14)])
def test_weibull_lives_by_their_power_series(shape: float, power: int) -> None:
    # Smith & Leadbetter (1963), from memory: M(t) = sum of (-1)^(k-1) a_k t^(k shape) / gamma(1 + k shape), with
    # a_k = b_k - sum over j < k of b_j a_(k-j), b_k = gamma(1 + k shape) / k!. It converges fast for t below 1.
    ratios = [math.gamma(1 + k * shape) / math.factorial(k) for k in range(power + 1)]
    terms: list[float] = [0.0]
    for k in range(1, power + 1):
        terms.append(ratios[k] - math.fsum(ratios[j] * terms[k - j] for j in range(1, k)))
    series = [
        math.fsum(-((-1) ** k) * terms[k] * t ** (k * shape) / math.gamma(1 + k * shape) for k in range(1, power + 1))
        for t in (0.2, 0.5)
    ]
    assert renewals(stats.weibull_min(shape), (0.2, 0.5)).expected == approx(series, abs=1e-8)


@pytest.mark.parametrize(("shape", "expected"), [(1.5, 5.269160), (2, 5.278516), (2.5, 5.226855), (3, 5.165279)])
def test_r05_asymptote(shape: float, expected: float) -> None:
    # Cox (1962), Smith (1954): t / mean + (cv^2 - 1) / 2, Weibull of scale 1 at t = 5; values computed from that form.
    life = stats.weibull_min(shape)
    assert renewal_asymptote(life, 5) == approx(expected, abs=1e-6)
    assert renewal_asymptote(life, 5) == approx(renewals(life, (5,)).expected[0], abs=1e-5)


def test_r06_uniform_life() -> None:
    # Standard result: e^t - 1 up to t = 1.
    found = renewals(stats.uniform(0, 1), (0.5, 1))
    assert found.expected == approx([0.6487212707, 1.7182818285], abs=1e-9)


FAILURES = (0.1647713, 0.7025071, 2.9727857)
VARIANCES = (0.1431262, 0.3541371, 0.7248144)


def test_r07_mean_and_variance_by_the_renewal_equation() -> None:
    # Computed by the renewal equation: Weibull of shape 2.5 and scale 1000, up to 500, 1000 and 3000.
    found = renewals(stats.weibull_min(2.5, scale=1000), (500, 1000, 3000))
    assert found.expected == approx(FAILURES, abs=1e-7)
    assert found.variance == approx(VARIANCES, abs=1e-7)


def test_r07_mean_and_variance_by_drawn_lives() -> None:
    # 40 000 places of 20 lives each, seed 7: means within four standard errors, and so the variances.
    places = 40_000
    drawn = np.random.default_rng(7).weibull(2.5, size=(places, 20)) * 1000
    failed_at = np.cumsum(drawn, axis=1)
    for horizon, mean, variance in zip((500, 1000, 3000), FAILURES, VARIANCES, strict=True):
        counts = np.sum(failed_at <= horizon, axis=1)
        assert counts.mean() == approx(mean, abs=4 * math.sqrt(variance / places))
        squares = (counts - counts.mean()) ** 2
        assert counts.var() == approx(variance, abs=4 * float(squares.std()) / math.sqrt(places))
