"""Engine, power and air, bearings: limits, what belongs together, and what is refused."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pytest import approx

from costplan.formulas import (
    InputError,
    air_flow,
    clearance_for_ratio,
    clearance_volume,
    compression_ratio,
    cylinder_volume,
    deck_clearance,
    displacement,
    driven_speed,
    firings,
    inlet_mach_index,
    iso_1585_factor,
    mean_piston_speed,
    otto_efficiency,
    piston_speed_ratio,
    piston_travel,
    power_from_head_flow,
    power_from_torque,
    rating_life,
    rating_life_hours,
    rating_needed,
    revolutions,
    running_hours,
    sae_j1349_factor,
    square_bore,
    survival_at_life,
    swept_volume,
    torque_from_power,
    valve_lift,
)
from costplan.life import from_replacement

SIZES = st.floats(0.1, 1000)


# Geometry and motion


@given(SIZES, st.integers(1, 16))
def test_a_square_engine_has_the_displacement_it_is_made_for(volume: float, cylinders: int) -> None:
    bore = square_bore(volume, cylinders)
    assert displacement(bore, bore, cylinders) == approx(volume, rel=1e-12)


@given(SIZES, st.floats(1.01, 30))
def test_the_clearance_for_a_ratio_gives_the_ratio(swept: float, ratio: float) -> None:
    assert compression_ratio(swept, clearance_for_ratio(swept, ratio)) == approx(ratio, rel=1e-9)


def test_a_clearance_volume_is_the_sum_of_what_encloses_it() -> None:
    flat = clearance_volume(10, 0, 10.4, 0, 64, 0)
    assert flat == 64
    assert clearance_volume(10, 0, 10.4, 0, 64, 5) == flat + 5
    assert clearance_volume(10, 0, 10.4, 0, 64, -5) == flat - 5
    assert clearance_volume(10, -0.1, 10.4, 0, 64, 0) == approx(flat - swept_volume(10, 0.1), rel=1e-12)
    assert clearance_volume(10, 0, 10.4, 0.1, 64, 0) == approx(flat + swept_volume(10.4, 0.1), rel=1e-12)


def test_a_piston_may_stand_above_the_deck() -> None:
    assert deck_clearance(9.0, 3.5, 5.7, 1.56) == approx(-0.01, rel=1e-9)


def test_a_rocker_multiplies_the_lobe() -> None:
    assert valve_lift(0, 1.6) == 0
    assert valve_lift(8, 1.6) == 12.8


@given(st.floats(1, 20), st.floats(0.51, 5))
def test_the_piston_goes_from_top_to_bottom_and_stands_still_at_both(stroke: float, rods: float) -> None:
    rod = rods * stroke
    assert piston_travel(0, stroke, rod) == approx(0, abs=1e-9)
    assert piston_travel(180, stroke, rod) == approx(stroke, rel=1e-9)
    assert piston_travel(-90, stroke, rod) == piston_travel(90, stroke, rod) == piston_travel(450, stroke, rod)
    assert piston_speed_ratio(0, stroke, rod) == 0
    assert piston_speed_ratio(180, stroke, rod) == approx(0, abs=1e-9)
    # a slanted rod pulls the piston further down in the first quarter than half-way
    assert piston_travel(90, stroke, rod) > stroke / 2


def test_an_endless_rod_moves_the_piston_as_a_sine() -> None:
    assert piston_travel(60, 2, 1e7) == approx(1 - math.cos(math.radians(60)), rel=1e-6)
    assert piston_speed_ratio(60, 2, 1e7) == approx(math.pi / 2 * math.sin(math.radians(60)), rel=1e-6)


@given(st.floats(1, 179), st.floats(1, 20), st.floats(0.6, 5))
def test_the_speed_is_the_slope_of_the_travel(angle: float, stroke: float, rods: float) -> None:
    step, rod = 1e-4, rods * stroke
    slope = (piston_travel(angle + step, stroke, rod) - piston_travel(angle - step, stroke, rod)) / (2 * step)
    # a mean speed of one stroke in half a turn
    assert piston_speed_ratio(angle, stroke, rod) == approx(slope * 180 / stroke, rel=1e-4, abs=1e-6)


def test_the_volume_runs_from_clearance_to_clearance_and_swept() -> None:
    assert cylinder_volume(0, 10, 9, 15, 70) == approx(70, rel=1e-12)
    assert cylinder_volume(180, 10, 9, 15, 70) == approx(70 + swept_volume(10, 9), rel=1e-12)


def test_a_rod_too_short_to_turn_is_refused() -> None:
    for angled in (piston_travel, piston_speed_ratio):
        with pytest.raises(InputError, match="rod_length"):
            angled(90, 10, 5)


def test_speeds_and_counts_scale() -> None:
    assert mean_piston_speed(0.1, 0) == 0
    assert driven_speed(6000, 5, 5) == 6000
    assert running_hours(100, 50) == 2
    assert revolutions(1, 1) == 60
    assert firings(1000, 1, 2) == 1000
    assert firings(1000, 1) == 500
    with pytest.raises(InputError, match="strokes"):
        firings(1000, 1, 3)


# Power and air


@given(st.floats(1, 2000), st.floats(100, 20000))
def test_torque_leads_to_power_and_back(torque: float, rpm: float) -> None:
    assert torque_from_power(power_from_torque(torque, rpm), rpm) == approx(torque, rel=1e-12)


def test_the_ideal_cycle_needs_compression() -> None:
    assert otto_efficiency(1) == 0
    assert otto_efficiency(8) < otto_efficiency(12) < 1
    with pytest.raises(InputError, match="ratio"):
        otto_efficiency(0.9)


def test_a_larger_valve_and_a_slower_piston_lower_the_mach_index() -> None:
    index = inlet_mach_index(4, 2, 16, 0.35, 343)
    assert inlet_mach_index(4, 2.2, 16, 0.35, 343) < index
    assert inlet_mach_index(4, 2, 8, 0.35, 343) == approx(index / 2, rel=1e-12)


def test_air_and_power_rise_with_flow() -> None:
    assert air_flow(350, 0, 1) == 0
    assert air_flow(700, 3000, 1) == air_flow(350, 6000, 1)
    assert power_from_head_flow(0, 8) == 0


@pytest.mark.parametrize("factor", [sae_j1349_factor, iso_1585_factor])
def test_thin_and_hot_air_is_made_up_for(factor: Callable[[float, float], float]) -> None:
    assert factor(99, 25) == approx(1, abs=1e-12)
    assert factor(95, 25) > 1
    assert factor(99, 35) > 1


def test_air_in_another_unit_is_refused() -> None:
    with pytest.raises(InputError, match="pressure"):
        sae_j1349_factor(990, 25)
    with pytest.raises(InputError, match="temperature"):
        iso_1585_factor(99, -300)


# Bearings


@given(st.floats(1, 1e5), st.floats(1, 1e5), st.sampled_from((3, 10 / 3)))
def test_the_rating_needed_gives_the_life(load: float, life: float, exponent: float) -> None:
    assert rating_life(rating_needed(load, life, exponent), load, exponent) == approx(life, rel=1e-9)


def test_half_the_load_is_eight_times_the_life_of_a_ball_bearing() -> None:
    assert rating_life(100, 100) == 1
    assert rating_life(100, 50) == 8
    assert rating_life_hours(100, 50, 1000 / 60) == approx(8000, rel=1e-12)


def test_survival_is_the_weibull_distribution_through_the_rating_life() -> None:
    # of a life whose B10 is 1000, by the life room's own curve
    curve = from_replacement(1000, 0.1, 1.3)
    assert survival_at_life(700, 1000, 1.3) == approx(curve.survival(700), rel=1e-12)
    assert survival_at_life(0, 1000, 1.3) == 1
    assert survival_at_life(1000, 1000, 1.3) == approx(0.9, rel=1e-12)
