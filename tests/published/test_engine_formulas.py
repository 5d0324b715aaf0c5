"""Power, air, bearings and what an engine counts, against published values. Each source stands beside its value."""

from __future__ import annotations

import math

import pytest
from pytest import approx

from costplan.formulas import (
    TORQUE_TIMES_RPM_A_HORSEPOWER,
    air_flow,
    driven_speed,
    firings,
    inlet_mach_index,
    iso_1585_factor,
    otto_efficiency,
    power_from_head_flow,
    power_from_torque,
    rating_life,
    rating_life_hours,
    rating_needed,
    revolutions,
    running_hours,
    sae_j1349_factor,
    survival_at_life,
    torque_from_power,
)
from costplan.quantity import convert


def test_g05_cycles_over_a_life() -> None:
    # Pulkrabek, Engineering Fundamentals of the Internal Combustion Engine, ch. 1 (text read in a solution sheet):
    # 171 000 miles at 40 mph and 1700 rpm, a four-stroke V8
    hours = running_hours(171000, 40)
    turns = revolutions(hours, 1700)
    assert hours == 4275
    assert turns == 4.3605e8
    assert firings(turns, 8) == 1.7442e9
    # one cylinder's intake strokes: as many as its firings
    assert firings(turns, 1) == 2.18025e8


@pytest.mark.parametrize(
    ("ratio", "heat_ratio", "efficiency"),
    # Cengel & Boles, Thermodynamics; Heywood, 5.4
    [(8, 1.4, 0.564725), (8.6, 1.35, 0.529103), (10, 1.4, 0.601893), (12, 1.35, 0.580930)],
)
def test_g07_otto_efficiency(ratio: float, heat_ratio: float, efficiency: float) -> None:
    assert otto_efficiency(ratio, heat_ratio) == approx(efficiency, abs=1e-6)


@pytest.mark.parametrize(
    ("millibar", "celsius", "sae", "iso"),
    [
        # SAE J1349 (JUN90), quoted second-hand in millibar; ISO 1585, clause 6, from memory
        (990, 25, 1.000000, 1.000000),
        (950, 30, 1.059957, 1.061279),
        (1000, 20, 0.978358, 0.978032),
        (970, 35, 1.044370, 1.045290),
    ],
)
def test_g09_power_corrections(millibar: float, celsius: float, sae: float, iso: float) -> None:
    kilopascal = convert(millibar / 1000, "bar", "kPa")
    assert sae_j1349_factor(kilopascal, celsius) == approx(sae, abs=1e-6)
    assert iso_1585_factor(kilopascal, celsius) == approx(iso, abs=1e-6)


def test_g11_inlet_mach_index() -> None:
    # Taylor, The Internal Combustion Engine in Theory and Practice, vol. 1, ch. 6 (from memory)
    assert inlet_mach_index(4.0, 2.02, 16, 0.35, 343) == approx(0.522607, abs=1e-6)


def test_g12_air_flow() -> None:
    # Common practice, from memory: 1728 in3 a cubic foot times two turns is 3456
    assert air_flow(350, 6000, 0.85) == approx(516.493, abs=1e-3)
    assert air_flow(350, 6000, 1.00) == approx(607.639, abs=1e-3)
    # the same by units: displacement in every second turn
    assert air_flow(350, 6000, 1.00) == approx(convert(convert(350, "in3", "m3") * 6000 / 2 / 60, "m3/s", "cfm"))


def test_g12_power_from_head_flow() -> None:
    # Rule of thumb, common practice, no source: 0.257 hp for each cfm at 28 inches of water
    assert power_from_head_flow(200, 8) == approx(411.2, abs=1e-3)


def test_g12_horsepower_constant() -> None:
    # 33000 / (2 pi), common practice, from memory; the same by the units of NIST SP 811
    assert approx(5252.113, abs=1e-3) == TORQUE_TIMES_RPM_A_HORSEPOWER
    watts = convert(380, "lbf.ft", "N.m") * 2 * math.pi * 6500 / 60
    assert power_from_torque(380, 6500) == approx(convert(watts, "W", "hp"), rel=1e-12)
    assert torque_from_power(power_from_torque(380, 6500), 6500) == approx(380, rel=1e-12)


def test_g12_pulleys() -> None:
    # Common practice, from memory: 6 in driving 8 in at 7000 rpm
    assert driven_speed(7000, 6, 8) == approx(5250, abs=1e-3)


def test_g13_rating_of_a_ball_bearing() -> None:
    # Shigley, Mechanical Engineering Design, Example 11-1 (inputs from memory); ISO 281: 400 lbf, 5000 h, 1725 rpm
    life = revolutions(5000, 1725) / 1e6
    assert life == approx(517.5, rel=1e-5)
    assert rating_needed(400, life) == approx(3211.42, rel=1e-5)


def test_g15_bearing_life_and_survival() -> None:
    # Faires, Design of Machine Elements, solved problem 601: 1500 rpm, 15 000 h; 2640 lb, then 2770 lb on a bearing
    # rated 29 900 lb; Weibull shape 1.34
    life = revolutions(15000, 1500) / 1e6
    assert round(life) == 1350
    assert round(rating_needed(2640, life)) == 29178
    assert round(rating_life(29900, 2770)) == 1258
    hours = rating_life_hours(29900, 2770, 1500)
    assert round(hours, -3) == 14000
    assert round(survival_at_life(15000, hours, 1.34), 3) == 0.891
    # exact
    assert rating_needed(2640, life) == approx(29177.53, abs=5e-3)
    assert rating_life(29900, 2770) == approx(1257.69, abs=5e-3)
    assert hours == approx(13974, abs=0.5)
    # by the rounded life of 1258 million revolutions, as the problem goes on; unrounded it is 0.890609
    assert survival_at_life(1350, 1258, 1.34) == approx(0.890643, abs=5e-7)
    assert survival_at_life(15000, hours, 1.34) == approx(0.890609, abs=5e-7)
