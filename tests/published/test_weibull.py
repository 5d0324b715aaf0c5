"""Lives against published values. Each source stands beside its value."""

from __future__ import annotations

import math

import pytest
from pytest import approx
from scipy import stats  # type: ignore[import-untyped]

from costplan.life import Weibull, from_failures, from_replacement
from costplan.life.theory import (
    FirstOf,
    damage_by_load,
    distribution_of,
    first_of,
    repeats_to_failure,
    survival_given,
)


def half_digit(printed: str) -> float:
    """Half of the last digit that a source prints."""
    return 0.5 * 10.0 ** -len(printed.partition(".")[2])


HANDBOOK = Weibull(scale=5000, shape=1.5)


@pytest.mark.parametrize(
    ("value", "computed", "printed"),
    [
        # NIST/SEMATECH e-Handbook 8.1.6.2 (2012): shape 1.5, scale 5000 h, t = 1000 h; printed digits from memory,
        # the others by SciPy 1.17.1.
        (HANDBOOK.density(1000), 1.2268509e-4, "0.000123"),
        (HANDBOOK.failed(1000), 0.0855594, "0.08556"),
        (HANDBOOK.survival(1000), 0.9144406, "0.91444"),
        (HANDBOOK.hazard(1000), 1.3416408e-4, "0.000134"),
    ],
    ids=["density", "failed", "survival", "hazard"],
)
def test_w01_handbook_example(value: float, computed: float, printed: str) -> None:
    assert value == approx(computed, rel=1e-6)
    assert value == approx(float(printed), abs=half_digit(printed))


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        # Closed forms, NIST/SEMATECH e-Handbook 8.1.6.2; values by SciPy 1.17.1.
        (HANDBOOK.mean, 4513.7265),
        (HANDBOOK.deviation, 3064.6790),
        (HANDBOOK.use_at(0.10), 1115.3776),
        (HANDBOOK.use_at(0.01), 232.8576),
        (HANDBOOK.use_at(0.50), 3916.0988),
    ],
    ids=["mean", "deviation", "B10", "B1", "median"],
)
def test_w02_moments_and_percentiles(value: float, expected: float) -> None:
    assert value == approx(expected, rel=1e-6)


# HELM Workbook 46.1, section 3.1, Example 4: rate 0.0002 an hour, shape 0.5.
BEARING = Weibull(scale=5000, shape=0.5)


@pytest.mark.parametrize(
    ("value", "expected", "tolerance"),
    [
        (BEARING.mean, 10000, 1e-6 * 10000),  # HELM 46.1, Example 4
        (BEARING.survival(8000), 0.282, 5e-4),  # HELM 46.1, Example 4
        # HELM 46.1, Example 4 prints 0.335, whose last digit is off (exp(-sqrt(1.2)) = 0.33439)
        (BEARING.survival(6000), 0.335, 1e-3),
        (BEARING.survival(6000), 0.33439, 5e-6),  # exact
        (BEARING.of_set(2).survival(6000), 0.112, 5e-4),  # HELM 46.1, Example 4: both bearings
        (BEARING.of_set(2).survival(6000), 0.111817, 1e-6),  # exact
    ],
)
def test_w04_bearings_that_fail_less_with_age(value: float, expected: float, tolerance: float) -> None:
    assert value == approx(expected, abs=tolerance)


def test_w04_both_bearings_as_two_modes() -> None:
    both = first_of(distribution_of(BEARING), distribution_of(BEARING))
    assert both.sf(6000) == approx(0.112, abs=5e-4)  # HELM 46.1, Example 4
    assert both.sf(6000) == approx(0.111817, abs=1e-6)  # exact


def test_w06_steep_shape() -> None:
    # Worked example of the spreadsheet function WEIBULL (archived function documentation): x 105, shape 20, scale 100.
    steep = Weibull(scale=100, shape=20)
    assert steep.failed(105) == approx(0.929581, abs=1e-6)
    assert steep.density(105) == approx(0.035589, abs=1e-6)


def test_w21_survival_of_a_used_part() -> None:
    # Closed form R(600) / R(400), shape 2.5, scale 1000.
    part = Weibull(scale=1000, shape=2.5)
    assert part.survival_given(400, 200) == approx(0.8372254, rel=1e-6)
    assert survival_given(distribution_of(part), age=400, to=600) == approx(0.8372254, rel=1e-6)


def test_w17_the_first_of_three_modes() -> None:
    # Documentation of the Python package reliability 0.9.0, Competing risk models, Example 1, prints 27.04449126273065;
    # quadrature by SciPy 1.17.1 gives 27.04449126294897.
    modes = stats.lognorm(0.1, scale=math.exp(4)), stats.weibull_min(2, scale=50), stats.gamma(1.5, scale=30)
    first = first_of(*modes)
    assert isinstance(first, FirstOf)
    assert first.mean() == approx(27.04449126273065, abs=1e-6)
    assert first.mean() == approx(27.04449126294897, abs=1e-9)
    assert sum(first.shares()) == approx(1, abs=1e-12)


@pytest.mark.parametrize(
    ("value", "printed"),
    [
        # HELM Workbook 46.1, section 1, Task: two exponential parts of 6000 h and 7000 h in series, t = 8000 h.
        (stats.expon(scale=6000).cdf(8000), "0.7364"),
        (stats.expon(scale=7000).cdf(8000), "0.6811"),
        (first_of(stats.expon(scale=6000), stats.expon(scale=7000)).sf(8000), "0.0841"),
        (first_of(stats.expon(scale=6000), stats.expon(scale=7000)).cdf(8000), "0.916"),
        # computed: exp(-8000 / 6000 - 8000 / 7000), and 1 / (1 / 6000 + 1 / 7000)
        (first_of(stats.expon(scale=6000), stats.expon(scale=7000)).sf(8000), "0.0840629"),
        (first_of(stats.expon(scale=6000), stats.expon(scale=7000)).mean(), "3230.7692"),
    ],
)
def test_w18_two_parts_in_series(value: float, printed: str) -> None:
    assert value == approx(float(printed), abs=half_digit(printed))


def test_w19_linear_damage() -> None:
    # Documentation of the Python package reliability 0.9.0, Palmgren-Miner example (Miner, Journal of Applied
    # Mechanics, 1945; Modarres et al., 2017, pp. 33-37): 40, 15 and 5 minutes a cycle at lives of 50 000, 6 500 and
    # 1 000 h.
    hours, lives = (40 / 60, 15 / 60, 5 / 60), (50000, 6500, 1000)
    damage = damage_by_load(hours, lives)
    assert repeats_to_failure(hours, lives) == approx(7400.37951, rel=1e-9)
    assert sum(damage) == approx(1.3512821e-4, rel=1e-7)
    assert [100 * part / sum(damage) for part in damage] == approx([9.86717, 28.463, 61.66983], abs=1e-4)


def test_series_of_a_set_is_the_product_of_its_pieces() -> None:
    # The first failure of n like pieces keeps its shape (closed form; HELM 46.1's exercise changes it by misprint).
    one, four = Weibull(100, 2.5), Weibull(100, 2.5).of_set(4)
    assert four.shape == one.shape
    assert four.survival(60) == approx(one.survival(60) ** 4, rel=1e-12)


@pytest.mark.parametrize(("replace_at", "risk", "shape"), [(25, 0.05, 2.5), (400, 0.5, 1), (3, 0.01, 6)])
def test_a_life_by_replacement_has_failed_by_its_risk(replace_at: float, risk: float, shape: float) -> None:
    assert from_replacement(replace_at, risk, shape).failed(replace_at) == approx(risk, rel=1e-12)


@pytest.mark.parametrize(("low", "likely"), [(20, 40), (1, 1.1), (5, 500)])
def test_a_life_by_failures_passes_through_b10_and_b50(low: float, likely: float) -> None:
    life = from_failures(low, likely)
    assert life.failed(low) == approx(0.1, rel=1e-9)
    assert life.failed(likely) == approx(0.5, rel=1e-9)


def test_a_life_without_end_never_fails() -> None:
    endless = Weibull(float("inf"), 1)
    assert (endless.survival(1e12), endless.failed(1e12), endless.mean) == (1, 0, float("inf"))
