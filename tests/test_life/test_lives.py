"""Lives: two ways to give one, what of it is assumed, sets and pieces, and how a run ages it."""

from __future__ import annotations

import math
from typing import Any

import pytest
from pytest import approx

from costplan.catalog import LifeRow, Role
from costplan.life import Life, duty, life_of

PISTON = Role(role="piston", shape="3")
BARE = Role(role="bare")


def row(**figures: Any) -> LifeRow:
    return LifeRow.model_validate({"role": "piston", "measure": "hours", "source": "a shop", **figures})


def life(role: Role | None = PISTON, pieces: int = 1, **figures: Any) -> Life:
    return life_of(row(**figures), role, pieces)


def test_a_life_by_replacement_has_the_risk_by_then() -> None:
    one = life(replace_at=25, risk="0.1", shape=2)
    assert one.replace_at == 25
    assert one.weibull.failed(25) == approx(0.1)
    assert one.weibull.shape == 2
    assert one.assumed == ()


def test_risk_and_shape_are_assumed_where_none_is_given() -> None:
    one = life(BARE, replace_at=25)
    assert one.weibull.failed(25) == approx(0.05)
    assert one.weibull.shape == 2.5
    assert len(one.assumed) == 2


def test_the_roles_shape_stands_in_and_counts_as_assumed() -> None:
    one = life(PISTON, replace_at=25, risk="0.1")
    assert one.weibull.shape == 3
    assert len(one.assumed) == 1
    assert life(None, replace_at=25).weibull.shape == 2.5


def test_a_rows_shape_goes_before_its_roles() -> None:
    assert life(PISTON, replace_at=25, shape=1.5).weibull.shape == 1.5


def test_a_life_by_failures_passes_through_its_figures_and_is_renewed_at_low() -> None:
    one = life(low=20, likely=40)
    assert one.weibull.failed(20) == approx(0.1)
    assert one.weibull.failed(40) == approx(0.5)
    assert one.replace_at == 20
    assert len(one.assumed) == 1


def test_a_life_by_failures_may_say_when_it_is_renewed() -> None:
    one = life(low=20, likely=40, replace_at=30)
    assert one.replace_at == 30
    assert one.assumed == ()


@pytest.mark.parametrize(("near", "notes"), [(1.0, 0), (1.24, 0), (1.26, 1), (0.84, 0), (0.83, 1)])
def test_a_high_figure_far_from_the_curve_is_told(near: float, notes: int) -> None:
    # the curve may be off by a fifth of the high figure
    end = life(low=10, likely=100).weibull.use_at(0.9)
    assert len(life(low=10, likely=100, replace_at=10, high=end * near).assumed) == notes


def test_a_life_without_a_source_counts_as_assumed() -> None:
    figures: dict[str, Any] = {"replace_at": 25, "risk": "0.1", "shape": 2}
    assert len(life(**figures, source="").assumed) == len(life(**figures).assumed) + 1


def test_a_limit_alone_neither_fails_nor_is_renewed_by_age() -> None:
    one = life(limit=400)
    assert (one.limit, one.replace_at, one.used_up_at()) == (400, math.inf, math.inf)
    assert one.weibull.survival(1e9) == 1
    assert one.assumed == ()


def test_without_a_limit_there_is_none() -> None:
    assert life(replace_at=25).limit == math.inf


def test_a_plan_counts_a_life_used_up_at_its_mean_where_that_comes_first() -> None:
    assert life(replace_at=25).used_up_at() == 25
    late = life(low=20, likely=40, replace_at=500)
    assert late.used_up_at() == late.weibull.mean < 500
    assert late.used_up_at(0.05) == 25
    assert late.used_up_at(math.inf) == late.weibull.mean


def test_a_life_is_kept_in_the_measures_own_unit() -> None:
    miles = life(measure="distance [mi]", replace_at=500, limit=800, risk="0.1", shape=2)
    assert miles.replace_at == approx(804.672)
    assert miles.limit == approx(1287.4752)
    assert miles.weibull.failed(804.672) == approx(0.1)
    assert life(measure="hours [min]", low=60, likely=120).replace_at == approx(1)


def test_a_sets_life_is_the_sets_whatever_its_number() -> None:
    assert life(pieces=8, replace_at=25).weibull == life(pieces=1, replace_at=25).weibull


def test_of_pieces_the_first_to_fail_ends_the_sets_life() -> None:
    one, eight = life(replace_at=25, life_of="piece"), life(pieces=8, replace_at=25, life_of="piece")
    assert eight.weibull.survival(25) == approx(one.weibull.survival(25) ** 8)
    assert eight.weibull.shape == one.weibull.shape
    assert eight.replace_at == 25


def test_a_run_at_the_rated_speed_ages_by_its_use() -> None:
    rated = life(replace_at=25, rated_rpm=7000, rpm_exponent=4)
    assert duty(2, 1, 7000, rated) == approx(2)
    assert duty(2, 1.5, 7000, rated) == approx(3)


def test_a_run_ages_by_the_power_of_its_speed() -> None:
    rated = life(replace_at=25, rated_rpm=7000, rpm_exponent=4)
    assert duty(1, 1, 7700, rated) == approx(1.4641)
    assert duty(1, 1, 3500, rated) == approx(0.0625)


def test_an_exponent_of_zero_ages_by_use_alone() -> None:
    assert duty(1, 1, 9000, life(replace_at=25, rated_rpm=7000, rpm_exponent=0)) == 1


def test_without_a_rating_or_a_speed_use_and_weight_count() -> None:
    assert duty(2, 1.5, 9000, life(replace_at=25)) == 3
    assert duty(2, 1.5, None, life(replace_at=25, rated_rpm=7000, rpm_exponent=4)) == 3
