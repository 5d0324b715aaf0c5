"""Power, air, bearings and what an engine counts, against published values. Each source stands beside its value."""

from __future__ import annotations

import math

import pytest
from pytest import approx

from costplan.formulas import (
    TORQUE_TIMES_RPM_A_HORSEPOWER,
    air_flow,
    driven_speed,
    dry_pressure,
    effective_area,
    firings,
    friction_pressure,
    inlet_mach_index,
    iso_1585_factor,
    mach_index_by_area,
    otto_efficiency,
    power_from_head_flow,
    power_from_torque,
    rating_life,
    rating_life_hours,
    rating_needed,
    revolutions,
    running_hours,
    sae_j607_factor,
    sae_j1349_factor,
    survival_at_life,
    torque_from_power,
    volumetric_efficiency,
)
from costplan.formulas.airflow import CHOKED
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


def test_g11_the_index_from_areas_is_the_same() -> None:
    # the piston's area over the valve's times its flow coefficient: pi/4 cancels; the inputs of G11
    piston, opening = math.pi / 4 * 4.0**2, 0.35 * math.pi / 4 * 2.02**2
    assert mach_index_by_area(piston, 16, opening, 343) == approx(0.522607, abs=1e-6)
    assert mach_index_by_area(piston, 16, opening, 343) == approx(inlet_mach_index(4.0, 2.02, 16, 0.35, 343), rel=1e-12)


def test_g11_the_filling_turns_where_it_is_published_to() -> None:
    # "Falls fast" above about 0.5 (JSME Mechanical Engineering Dictionary) to 0.6 (Taylor, from memory). The curve's
    # form is our own; at 240 degrees it must have lost little by 0.5, some by 0.6, and more than twice that by 0.8.
    lost = {index: 1 - volumetric_efficiency(index, 240, 0.95) / 0.95 for index in (0.3, 0.5, 0.6, 0.8, 1.0)}
    assert lost[0.3] < 0.005
    assert 0.02 < lost[0.5] < 0.05
    assert 0.05 < lost[0.6] < 0.09
    assert lost[0.8] > 2.2 * lost[0.6]
    assert lost[1.0] > 0.2
    # it bends most between 0.5 and 0.8
    index = [step / 1000 for step in range(100, 1500)]
    filled = [volumetric_efficiency(one, 240, 0.95) for one in index]
    bends = [before - 2 * here + after for before, here, after in zip(filled, filled[1:], filled[2:], strict=False)]
    assert 0.5 < index[1 + bends.index(min(bends))] < 0.8


def test_choked_flow_of_air() -> None:
    # Critical flow of a perfect gas, ratio of specific heats 1.4: (2/2.4)^(2.4/0.8) = 0.5787; printed as 0.579 in
    # Heywood, appendix C (from memory)
    assert approx(CHOKED, rel=1e-12) == (2 / 2.4) ** (2.4 / 0.8)
    assert approx(0.5787, abs=5e-5) == CHOKED


@pytest.mark.parametrize(("rpm", "bar"), [(1000, 1.17), (2000, 1.47), (4000, 2.37), (6000, 3.67)])
def test_friction_of_heywoods_engines(rpm: float, bar: float) -> None:
    # Heywood, Internal Combustion Engine Fundamentals, eq. 13.6 (from memory), worked by hand
    assert friction_pressure(rpm) == approx(bar, abs=1e-9)


@pytest.mark.parametrize(
    ("celsius", "kilopascal"),
    # Steam tables, saturation pressure of water (from memory)
    [(0, 0.6113), (10, 1.2281), (20, 2.3392), (25, 3.1698), (30, 4.2469), (40, 7.3851), (50, 12.352)],
)
def test_the_vapour_in_damp_air(celsius: float, kilopascal: float) -> None:
    assert 100 - dry_pressure(100, celsius, 1) == approx(kilopascal, rel=4e-3)
    assert 100 - dry_pressure(100, celsius, 0.5) == approx(kilopascal / 2, rel=4e-3)


def test_sae_j607_by_hand() -> None:
    # SAE J607 (from memory): 29.92 / inHg dry * sqrt((F + 460) / 520)
    inches, fahrenheit = 29.10, 84.0
    factor = sae_j607_factor(convert(inches, "inHg", "kPa"), (fahrenheit - 32) / 1.8)
    assert factor == approx(29.92 / inches * math.sqrt((fahrenheit + 460) / 520), rel=2e-5)


def test_flow_at_another_test_pressure() -> None:
    # Common practice, no source: flow goes by the root of the pressure, so that 10 inches of water read 1.673 times
    # less than 28, and a four-barrel carburetor's 1.5 inches of mercury (20.4 of water) 1.172 times less
    area = effective_area(convert(200, "cfm", "L/s"), convert(28, "inH2O", "kPa"))
    assert effective_area(convert(200 / 1.673, "cfm", "L/s"), convert(10, "inH2O", "kPa")) == approx(area, rel=5e-4)
    assert effective_area(convert(200 / 1.172, "cfm", "L/s"), convert(1.5, "inHg", "kPa")) == approx(area, rel=2e-3)


def test_the_most_that_a_square_inch_flows() -> None:
    # Common practice, no source, from memory: 146 cfm for each square inch at 28 inches of water
    area = effective_area(convert(146, "cfm", "L/s"), convert(28, "inH2O", "kPa"))
    assert area == approx(convert(1, "in2", "cm2"), rel=0.02)


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
