"""Spare parts against published values. Each source stands beside its value."""

from __future__ import annotations

import pytest
from pytest import approx

from costplan.formulas import (
    expected_backorders,
    newsvendor_cost,
    newsvendor_quantity,
    poisson_probability,
    probability_of_fewer,
    probability_of_more,
)


def test_s01_poisson_probabilities() -> None:
    # HELM Workbook 37.3, section 2, Task: mean 2
    printed = (0.1353, 0.2707, 0.2707, 0.1804, 0.0902, 0.0361)
    assert [poisson_probability(2, count) for count in range(6)] == approx(printed, abs=5e-5)


def test_s03_failures_of_a_fleet() -> None:
    # HELM Workbook 37.3, Exercises: ten machines, 0.4 failures a year each
    assert probability_of_fewer(10 * 0.4, 2) == approx(0.0916, abs=5e-5)


@pytest.mark.parametrize(("mean", "probability"), [(3, 0.08392), (5, 0.38403)])
def test_s05_more_than_five(mean: float, probability: float) -> None:
    # HELM Workbook 37.3, Example 16 and Task
    assert probability_of_more(mean, 5) == approx(probability, abs=1e-5)


@pytest.mark.parametrize(
    ("mean", "expected"),
    [
        # Sherbrooke, Optimal Inventory Modeling of Systems; Palm's theorem; values by SciPy
        (1, (1, 0.367879, 0.103638, 0.023337, 0.004349)),
        (2, (2, 1.135335, 0.541341, 0.218018, 0.075141)),
    ],
)
def test_s07_expected_backorders(mean: float, expected: tuple[float, ...]) -> None:
    assert [expected_backorders(mean, stock) for stock in range(5)] == approx(expected, abs=1e-6)


def test_s09_newsvendor() -> None:
    # Snyder & Shen, Fundamentals of Supply Chain Theory, Examples 4.1 and 4.3: 0.18 left over, 0.70 short, N(50, 8)
    best = newsvendor_quantity(0.18, 0.70, 50, 8)
    assert best == approx(56.6039559274, rel=1e-9)
    assert newsvendor_cost(best, 0.18, 0.70, 50, 8) == approx(1.9976051932, rel=1e-9)
    assert newsvendor_cost(60, 0.18, 0.70, 50, 8) == approx(2.1561315529, rel=1e-9)
