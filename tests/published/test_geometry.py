"""Engine geometry and units against published values. Each source stands beside its value."""

from __future__ import annotations

import math

import pint
import pytest
from pytest import approx

from costplan import formulas
from costplan.formulas import compression_ratio, displacement, mean_piston_speed, swept_volume
from costplan.quantity import UNITS, convert, dimension


def test_g01_displacement_of_a_v8() -> None:
    # US Navy training manual NAVEDTRA 14264, ch. 2 (Linear measurements): 3.5 x 4 in, 8 cylinders; prints 38.43 and
    # 307.44 with pi = 3.14 and r^2 = 3.06.
    assert swept_volume(3.5, 4) == approx(38.43, rel=2e-3)
    assert displacement(3.5, 4, 8) == approx(307.44, rel=2e-3)
    # exact
    assert swept_volume(3.5, 4) == approx(38.48451, rel=1e-6)
    assert displacement(3.5, 4, 8) == approx(307.87608, rel=1e-6)


def test_g03_square_v6() -> None:
    # Pulkrabek, Engineering Fundamentals of the Internal Combustion Engine, Example 2-1 (inputs from memory):
    # 3.0 L V6, bore = stroke, compression ratio 9.5, 3600 rpm.
    assert displacement(8.6025, 8.6025, 6) == approx(3000, rel=1e-4)
    assert mean_piston_speed(0.086025, 3600) / 60 == approx(10.3230, rel=1e-4)
    assert compression_ratio(swept=500, clearance=58.8235) == approx(9.5, rel=1e-4)


def test_g03_motion_of_the_square_v6() -> None:
    # Pulkrabek, Example 2-1 (inputs from memory): as above, rod 16.6 cm, 20 deg after top dead centre; slider and crank
    # as Heywood 2.2
    bore = formulas.square_bore(3000, 6)
    clearance = formulas.clearance_for_ratio(formulas.swept_volume(bore, bore), 9.5)
    mean = formulas.mean_piston_speed(bore / 100, 3600) / 60
    ratio = formulas.piston_speed_ratio(20, bore, 16.6)
    assert bore == approx(8.6025, rel=1e-4)
    assert clearance == approx(58.8235, rel=1e-4)
    assert formulas.compression_ratio(500, clearance) == approx(9.5, rel=1e-4)
    assert mean == approx(10.3230, rel=1e-4)
    assert ratio == approx(0.668572, rel=1e-4)
    assert ratio * mean == approx(6.9017, rel=1e-4)
    assert formulas.piston_travel(20, bore, 16.6) == approx(0.32471, rel=1e-4)
    assert formulas.cylinder_volume(20, bore, bore, 16.6, clearance) == approx(77.6966, rel=1e-4)


def test_g12_horsepower_constant() -> None:
    # 33000 / (2 pi) = 5252.113: torque in lbf.ft times rpm over this is power in hp (common practice, from memory).
    watts = convert(1, "lbf.ft", "N.m") * 2 * math.pi / 60
    assert convert(1, "hp", "W") / watts == approx(5252.113, rel=1e-6)


@pytest.mark.parametrize(
    ("unit", "to", "expected"),
    [
        # NIST SP 811 (2008), Appendix B.8
        ("hp", "W", 745.6998715823),
        ("in", "mm", 25.4),
        ("in3", "cm3", 16.387064),
        ("lb", "kg", 0.45359237),
        ("lbf.ft", "N.m", 1.355817948),
        ("psi", "kPa", 6.894757293),
        ("inH2O", "kPa", 0.24908891),  # the conventional inch of water, which B.8 prints as 249.0889 Pa
        ("gal", "L", 3.785411784),
        ("cfm", "m3/s", 4.719474432e-4),
        ("PS", "W", 735.49875),
        ("lb/hph", "g/kWh", 608.2773878),
    ],
)
def test_g17_conversions(unit: str, to: str, expected: float) -> None:
    assert convert(1, unit, to) == approx(expected, rel=1e-9)


#: How pint writes our units, where it writes them otherwise.
IN_PINT = {
    "1": "dimensionless",
    "%": "percent",
    "mm2": "mm**2",
    "cm2": "cm**2",
    "in2": "in**2",
    "m3": "m**3",
    "cm3": "cm**3",
    "in3": "in**3",
    "rpm": "turn/min",
    "lbf/in": "lbf/in",
    "N.m": "N*m",
    "lbf.ft": "lbf*ft",
    "hp": "horsepower",
    "PS": "metric_horsepower",
    "m3/s": "m**3/s",
    "cfm": "ft**3/min",
    "g/kWh": "g/(kW*h)",
    "lb/hph": "lb/(horsepower*h)",
}
REGISTRY: pint.UnitRegistry[float] = pint.UnitRegistry()


@pytest.mark.parametrize(("unit", "other"), [(a, b) for a in UNITS for b in UNITS if dimension(a) == dimension(b)])
def test_g17_every_unit_against_pint(unit: str, other: str) -> None:
    # Pint 0.25, an independent table of units
    expected = REGISTRY.Quantity(1.0, IN_PINT.get(unit, unit)).to(IN_PINT.get(other, other))
    assert convert(1, unit, other) == approx(expected.magnitude, rel=1e-9)


@pytest.mark.parametrize("unit", [unit for unit in UNITS if unit != "rpm"])
def test_g17_every_unit_in_si_against_pint(unit: str) -> None:
    # Pint 0.25; a turn is one here and 2 pi there, so rpm is left to the test of horsepower
    assert UNITS[unit][1] == approx(REGISTRY.Quantity(1.0, IN_PINT.get(unit, unit)).to_base_units().magnitude, rel=1e-9)
