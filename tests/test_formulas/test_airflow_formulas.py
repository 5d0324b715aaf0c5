"""Airflow: limits, what belongs together, and what is refused."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pytest import approx

from costplan.formulas import (
    InputError,
    choked_filling,
    dry_pressure,
    effective_area,
    friction_power,
    friction_pressure,
    indicated_power,
    lobe_lift_at,
    mach_index_by_area,
    mean_area,
    sae_j607_factor,
    series_area,
    shared_area,
    volumetric_efficiency,
)

AREAS = st.floats(0.01, 1e4)


def test_a_bench_reads_twice_the_flow_for_four_times_the_pressure() -> None:
    assert effective_area(200, 4 * 6.97) == approx(effective_area(100, 6.97))
    assert effective_area(0, 6.97) == 0


def test_the_speed_behind_an_area_is_bernoullis() -> None:
    # half of 1.2 kg/m3 times 100 m/s squared is 6 kPa: one litre a second through 0.1 cm2
    assert effective_area(1, 6) == approx(0.1)


@pytest.mark.parametrize("many", [1, 2, 3, 8])
def test_equal_areas_in_series_count_as_one_by_the_square_root_of_their_number(many: int) -> None:
    assert series_area([7.0] * many) == approx(7 / math.sqrt(many))


def test_by_hand_three_and_four_in_series() -> None:
    # 1/9 + 1/16 = 25/144
    assert series_area((3, 4)) == approx(12 / 5)


@given(st.lists(AREAS, min_size=1, max_size=6), AREAS)
def test_one_more_restriction_never_opens_and_a_larger_one_never_closes(areas: list[float], other: float) -> None:
    whole = series_area(areas)
    assert whole <= min(areas) * (1 + 1e-12)
    assert series_area([*areas, other]) <= whole * (1 + 1e-12)
    assert series_area([areas[0] * 2, *areas[1:]]) >= whole * (1 - 1e-12)
    assert series_area([*areas, 1e12]) == approx(whole, rel=1e-6)


def test_a_cylinder_has_a_shared_opening_to_itself_or_its_share() -> None:
    assert shared_area(40, 1, 250) == 40
    assert shared_area(40, 2, 250) == 40  # less than one draws on the average
    assert shared_area(40, 8, 180) == approx(20)  # two draw at any time
    assert shared_area(40, 6, 240) == approx(20)


def test_the_assumed_lobe_rises_from_its_start_to_its_top_alike_on_both_sides() -> None:
    assert lobe_lift_at(-125, 0.36, 250, 0.05) == approx(0.05)
    assert lobe_lift_at(0, 0.36, 250, 0.05) == approx(0.36)
    assert lobe_lift_at(40, 0.36, 250, 0.05) == lobe_lift_at(-40, 0.36, 250, 0.05)
    # a third of the way down to its end the cosine is one half
    assert lobe_lift_at(250 / 3, 0.36, 250, 0.05) == approx((0.36 + 0.05) / 2)


def test_the_mean_of_a_constant_opening_is_that_opening() -> None:
    assert mean_area((0, 100, 240), (9, 9, 9), (5, 10), (4, 6)) == approx(5.6)


def test_a_lift_beyond_the_bench_flows_as_the_last_and_one_below_the_first_in_proportion() -> None:
    assert mean_area((0, 1), (99, 99), (5, 10), (4, 6)) == 6
    assert mean_area((0, 1), (2.5, 2.5), (5, 10), (4, 6)) == 2
    assert mean_area((0, 1), (0, 0), (5, 10), (4, 6)) == 0


def test_the_mean_of_half_a_sine_over_a_straight_flow_is_two_over_pi_of_its_top() -> None:
    angles = [180 * step / 400 for step in range(401)]
    lifts = [10 * math.sin(math.radians(angle)) for angle in angles]
    assert mean_area(angles, lifts, (10,), (6,)) == approx(6 * 2 / math.pi, rel=1e-5)


@given(st.floats(0.01, 5), st.floats(60, 400), st.floats(0.3, 1.5))
def test_no_engine_fills_beyond_choked_flow_or_beyond_full(index: float, duration: float, full: float) -> None:
    filled = volumetric_efficiency(index, duration, full)
    assert 0 < filled <= min(full, choked_filling(index, duration))


@given(st.floats(0.01, 5), st.floats(1.001, 3), st.floats(60, 400), st.floats(0.3, 1.5))
def test_a_higher_index_never_fills_better(index: float, more: float, duration: float, full: float) -> None:
    assert volumetric_efficiency(index * more, duration, full) <= volumetric_efficiency(index, duration, full)


def test_the_filling_tends_to_full_and_to_choked_flow() -> None:
    assert volumetric_efficiency(0, 240, 0.95) == 0.95
    assert volumetric_efficiency(1e-3, 240, 0.95) == approx(0.95, rel=1e-9)
    assert volumetric_efficiency(20, 240, 0.95) == approx(choked_filling(20, 240), rel=1e-5)


def test_choked_flow_by_hand() -> None:
    # Over 180 degrees, at the piston's mean speed: opening / piston area is piston speed / (index * speed of sound), so
    # that 0.5787 * density * speed of sound * opening over the stroke fills 0.5787 / index.
    assert choked_filling(0.5787037, 180) == approx(1)
    assert choked_filling(0.5787037, 240) == approx(4 / 3)


def test_friction_by_hand() -> None:
    assert friction_pressure(0) == approx(0.97)
    assert friction_pressure(2000) == approx(0.97 + 0.30 + 0.20)
    assert friction_pressure(7000) == approx(0.97 + 1.05 + 2.45)
    # 1 bar over 2 L in every second turn at 6000 rpm: 100 kPa * 0.002 m3 * 50 a second
    assert friction_power(2000, 6000, 1) == approx(10)


def test_indicated_power_by_hand() -> None:
    # 2 L, 6000 rpm, full of 1.2 kg/m3: 0.12 kg of air a second; 3 MJ each, 40 % of it
    assert indicated_power(2000, 6000, 1, 3, 0.4, 1.2) == approx(144)


def test_the_standards_own_air_needs_no_correction_and_j607_gives_more() -> None:
    assert sae_j607_factor(101.32, (60 - 32) / 1.8) == approx(1, abs=1e-9)
    assert sae_j607_factor(99, 25) == approx(1.04, abs=1e-3)
    assert dry_pressure(99, 25, 0) == 99


@pytest.mark.parametrize(
    ("wrong", "name"),
    [
        (lambda: effective_area(-1, 7), "flow"),
        (lambda: effective_area(100, 0), "pressure"),
        (lambda: series_area(()), "areas"),
        (lambda: series_area((5, 0)), "areas"),
        (lambda: shared_area(40, 8, 721), "duration"),
        (lambda: lobe_lift_at(0, 0.05, 240, 0.05), "lobe_lift"),
        (lambda: lobe_lift_at(121, 0.35, 240, 0.05), "angle"),
        (lambda: mean_area((0, 1), (1, 1, 1), (5,), (4,)), "lifts"),
        (lambda: mean_area((0, 0), (1, 1), (5,), (4,)), "angles"),
        (lambda: mean_area((0, 1), (1, 1), (5, 5), (4, 6)), "flow_lifts"),
        (lambda: mean_area((0, 1), (1, -1), (5,), (4,)), "lifts"),
        (lambda: mean_area((0, 1), (1, 1), (5,), (-4,)), "flow_areas"),
        (lambda: mach_index_by_area(80, 16, 0, 343), "opening"),
        (lambda: choked_filling(0, 240), "index"),
        (lambda: volumetric_efficiency(0.5, 240, 0), "full"),
        (lambda: friction_pressure(-1), "rpm"),
        (lambda: dry_pressure(99, 25, 1.1), "humidity"),
        (lambda: dry_pressure(2, 45, 1), "pressure"),
    ],
)
def test_inputs_without_an_answer_are_refused_by_name(wrong: Callable[[], float], name: str) -> None:
    with pytest.raises(InputError) as refusal:
        wrong()
    assert refusal.value.name == name
