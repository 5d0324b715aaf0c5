"""Air and power: what an engine draws in, what that may be worth, and a dyno's figure brought to standard air.

What these give are estimates or conventions; two figures are comparable only by the same one.
"""

from __future__ import annotations

import math

from costplan.formulas.checking import InputError, need_above, need_at_least, need_at_most, need_finite
from costplan.formulas.method import Input, Method

#: Torque in lbf.ft times rpm, over this, is power in hp: 33 000 ft.lbf a minute are one hp, 2 pi radians a turn.
TORQUE_TIMES_RPM_A_HORSEPOWER = 33_000 / (2 * math.pi)
#: hp a cylinder for each cfm that its intake port flows at 28 inches of water: common practice, no source.
HORSEPOWER_PER_CFM = 0.257


def power_from_torque(torque: float, rpm: float) -> float:
    """Power in hp from torque in lbf.ft: torque * rpm / (33000 / (2 * pi)).

    Torque and power have the same figure at 5252 rpm.
    Source: definition of the horsepower, 33 000 ft.lbf a minute.

    >>> round(power_from_torque(400, 5252.113), 3)
    400.0
    """
    need_finite(torque=torque)
    need_at_least(0, rpm=rpm)
    return torque * rpm / TORQUE_TIMES_RPM_A_HORSEPOWER


def torque_from_power(power: float, rpm: float) -> float:
    """Torque in lbf.ft from power in hp: power * (33000 / (2 * pi)) / rpm.

    Source: definition of the horsepower, 33 000 ft.lbf a minute.

    >>> round(torque_from_power(500, 6500), 2)
    404.01
    """
    need_finite(power=power)
    need_above(0, rpm=rpm)
    return power * TORQUE_TIMES_RPM_A_HORSEPOWER / rpm


def otto_efficiency(ratio: float, heat_ratio: float = 1.4) -> float:
    """The share of heat that the ideal constant-volume cycle makes into work: 1 - ratio^(1 - heat_ratio).

    0 at a compression ratio of 1, tends to 1 for a large one. No engine reaches it; it shows what more ratio brings.
    Source: Heywood, Internal Combustion Engine Fundamentals, 5.4 (from memory).

    >>> round(otto_efficiency(10), 6)
    0.601893
    """
    need_at_least(1, ratio=ratio)
    need_above(1, heat_ratio=heat_ratio)
    return -math.expm1((1 - heat_ratio) * math.log(ratio))


def inlet_mach_index(
    bore: float, valve_diameter: float, piston_speed: float, flow_coefficient: float, sound_speed: float
) -> float:
    """How near the gas in the intake valves comes to the speed of sound.

    (bore / valve_diameter)^2 * piston_speed / (flow_coefficient * sound_speed), with the mean piston speed and the flow
    coefficient averaged over the lift; for several valves a cylinder, the diameter of one with their whole area. The
    volumetric efficiency falls fast above about 0.5 (JSME Mechanical Engineering Dictionary) to 0.6 (Taylor).
    Source: Taylor, The Internal Combustion Engine in Theory and Practice, vol. 1, ch. 6 (from memory).

    >>> round(inlet_mach_index(4.0, 2.02, 16, 0.35, 343), 6)
    0.522607
    """
    need_above(
        0,
        bore=bore,
        valve_diameter=valve_diameter,
        flow_coefficient=flow_coefficient,
        sound_speed=sound_speed,
    )
    need_at_least(0, piston_speed=piston_speed)
    ratio = bore / valve_diameter
    return ratio * ratio * piston_speed / (flow_coefficient * sound_speed)


def air_flow(displacement: float, rpm: float, volumetric_efficiency: float) -> float:
    """The air that a four-stroke engine draws in, in cfm: displacement * rpm / 3456 * volumetric_efficiency.

    Its displacement, in cubic inches, in every second revolution: 1728 in3 a cubic foot, times 2.
    Source: definition of the volumetric efficiency.

    >>> round(air_flow(350, 6000, 0.85), 3)
    516.493
    """
    need_above(0, displacement=displacement)
    need_at_least(0, rpm=rpm, volumetric_efficiency=volumetric_efficiency)
    return displacement * rpm / 3456 * volumetric_efficiency


def power_from_head_flow(flow: float, cylinders: float) -> float:
    """About how many hp a well-made engine gets from its heads' flow: 0.257 * flow * cylinders.

    The flow is the best of one intake port in cfm at 28 inches of water. A rule of thumb for four-stroke racing engines
    on petrol, whose error nobody states: it ranks no two builds.
    Source: common practice, no source.

    >>> round(power_from_head_flow(200, 8), 1)
    411.2
    """
    need_at_least(0, flow=flow)
    need_above(0, cylinders=cylinders)
    return HORSEPOWER_PER_CFM * flow * cylinders


def sae_j1349_factor(pressure: float, temperature: float) -> float:
    """What a power measured on the brake is multiplied by to bring it to 99 kPa of dry air and 25 C.

    1.18 * (99 / pressure) * sqrt((temperature + 273) / 298) - 0.18; the mechanical efficiency counts as about 85 %. The
    pressure is the barometer's less that of the water vapour. 1 at the standard's own air.
    Source: SAE J1349 (JUN90), quoted second-hand.

    >>> round(sae_j1349_factor(95, 30), 6)
    1.059957
    """
    _need_air(pressure, temperature)
    factor = 1.18 * (99 / pressure) * math.sqrt((temperature + 273) / 298) - 0.18
    if factor <= 0:
        raise InputError("pressure", pressure, "give the pressure of dry outside air in kPa, about 95 to 103")
    return factor


def iso_1585_factor(pressure: float, temperature: float) -> float:
    """What a spark-ignition engine's measured power is multiplied by to bring it to 99 kPa of dry air and 25 C.

    (99 / pressure)^1.2 * ((temperature + 273) / 298)^0.6; the pressure is the barometer's less that of the water
    vapour. 1 at the standard's own air; a test at factors outside 0.93 to 1.07 does not count.
    Source: ISO 1585, clause 6 (from memory).

    >>> round(iso_1585_factor(95, 30), 6)
    1.061279
    """
    _need_air(pressure, temperature)
    return math.pow(99 / pressure, 1.2) * math.pow((temperature + 273) / 298, 0.6)


def sae_j607_factor(pressure: float, temperature: float) -> float:
    """What a power measured on the brake is multiplied by to bring it to 29.92 inHg of dry air and 60 F.

    101.32 / pressure * sqrt((1.8 * temperature + 492) / 520); the pressure is the barometer's less that of the water
    vapour, the temperature in C. 1 at the standard's own air. It gives some 4 % more than SAE J1349 does for the same
    pull; withdrawn as a standard, it is still common on dynos.
    Source: SAE J607 (from memory).

    >>> round(sae_j607_factor(99, 25), 6)
    1.040029
    """
    _need_air(pressure, temperature)
    return 101.32 / pressure * math.sqrt((1.8 * temperature + 492) / 520)


def dry_pressure(pressure: float, temperature: float, humidity: float) -> float:
    """The pressure of the air without its water vapour, kPa: pressure - humidity * 0.61094 * exp(17.625 * temperature /
    (temperature + 243.04)).

    The barometer in kPa, the air's temperature in C (-40 to 50; the vapour's pressure to 0.4 % there) and its relative
    humidity, 0.4 for 40 %.
    Source: Magnus formula after Alduchov and Eskridge, J. Applied Meteorology 35 (1996) (from memory).

    >>> round(dry_pressure(99, 25, 0.4), 3)
    97.735
    """
    need_above(0, pressure=pressure)
    need_at_least(-40, temperature=temperature)
    need_at_most(50, temperature=temperature)
    need_at_least(0, humidity=humidity)
    need_at_most(1, humidity=humidity)
    dry = pressure - humidity * 0.61094 * math.exp(17.625 * temperature / (temperature + 243.04))
    if dry <= 0:
        raise InputError("pressure", pressure, "give the barometer's pressure in kPa, about 80 to 105")
    return dry


def _need_air(pressure: float, temperature: float) -> None:
    need_above(0, pressure=pressure)
    need_above(-273, temperature=temperature)


_HORSEPOWER = "definition of the horsepower, 33 000 ft.lbf a minute"
_RPM = Input("rpm", "rpm", "speed of the crank", 6500.0)
_AIR = (
    Input("pressure", "kPa", "pressure of the dry air: barometer less water vapour", 97.0),
    Input("temperature", "C", "temperature of the air drawn in", 30.0),
)

METHODS = (
    Method(
        "power-from-torque",
        "power and air",
        "power in hp from torque in lbf.ft",
        "torque * rpm / (33000 / (2 * pi))",
        (Input("torque", "lbf.ft", "torque on the crank", 380.0), _RPM),
        "hp",
        _HORSEPOWER,
        power_from_torque,
    ),
    Method(
        "torque-from-power",
        "power and air",
        "torque in lbf.ft from power in hp",
        "power * (33000 / (2 * pi)) / rpm",
        (Input("power", "hp", "power on the brake", 470.0), _RPM),
        "lbf.ft",
        _HORSEPOWER,
        torque_from_power,
    ),
    Method(
        "otto-efficiency",
        "power and air",
        "share of heat that the ideal constant-volume cycle makes into work",
        "1 - ratio^(1 - heat_ratio)",
        (
            Input("ratio", "1", "compression ratio", 9.0),
            Input("heat_ratio", "1", "ratio of the gas's specific heats, 1.4 for air, about 1.3 for mixture", 1.35),
        ),
        "1",
        "Heywood, Internal Combustion Engine Fundamentals, 5.4 (from memory)",
        otto_efficiency,
    ),
    Method(
        "inlet-mach-index",
        "power and air",
        "how near the gas in the intake valves comes to the speed of sound",
        "(bore / valve_diameter)^2 * piston_speed / (flow_coefficient * sound_speed)",
        (
            Input("bore", "length", "bore of the cylinder", 4.0),
            Input("valve_diameter", "length", "diameter of the intake valve's head", 1.94),
            Input("piston_speed", "speed", "mean piston speed", 17.0),
            Input("flow_coefficient", "1", "flow coefficient of the valve, averaged over its lift", 0.36),
            Input("sound_speed", "speed", "speed of sound at the inlet, 343 m/s at 20 C", 343.0),
        ),
        "1",
        "Taylor, The Internal Combustion Engine in Theory and Practice, vol. 1, ch. 6 (from memory)",
        inlet_mach_index,
    ),
    Method(
        "air-flow",
        "power and air",
        "air that a four-stroke engine draws in",
        "displacement * rpm / 3456 * volumetric_efficiency",
        (
            Input("displacement", "in3", "swept volume of all cylinders", 355.0),
            _RPM,
            Input("volumetric_efficiency", "1", "share of the displacement that is filled, 0.9 for 90 %", 0.9),
        ),
        "cfm",
        "definition of the volumetric efficiency",
        air_flow,
    ),
    Method(
        "power-from-head-flow",
        "power and air",
        "about how much power an engine gets from its heads' flow",
        "0.257 * flow * cylinders",
        (
            Input("flow", "cfm", "best flow of one intake port at 28 inches of water", 210.0),
            Input("cylinders", "1", "number of cylinders", 8.0),
        ),
        "hp",
        "common practice, no source",
        power_from_head_flow,
    ),
    Method(
        "sae-j1349-factor",
        "power and air",
        "factor that brings measured power to standard air, SAE J1349",
        "1.18 * (99 / pressure) * sqrt((temperature + 273) / 298) - 0.18",
        _AIR,
        "1",
        "SAE J1349 (JUN90), quoted second-hand",
        sae_j1349_factor,
    ),
    Method(
        "iso-1585-factor",
        "power and air",
        "factor that brings measured power to standard air, ISO 1585, spark ignition",
        "(99 / pressure)^1.2 * ((temperature + 273) / 298)^0.6",
        _AIR,
        "1",
        "ISO 1585, clause 6 (from memory)",
        iso_1585_factor,
    ),
    Method(
        "sae-j607-factor",
        "power and air",
        "factor that brings measured power to standard air, SAE J607",
        "101.32 / pressure * sqrt((1.8 * temperature + 492) / 520)",
        _AIR,
        "1",
        "SAE J607 (from memory)",
        sae_j607_factor,
    ),
    Method(
        "dry-pressure",
        "power and air",
        "pressure of the air without its water vapour",
        "pressure - humidity * 0.61094 * exp(17.625 * temperature / (temperature + 243.04))",
        (
            Input("pressure", "kPa", "what the barometer shows", 98.5),
            Input("temperature", "C", "temperature of the air, -40 to 50", 27.0),
            Input("humidity", "1", "relative humidity, 0.4 for 40 %", 0.45),
        ),
        "kPa",
        "Magnus formula after Alduchov and Eskridge, J. Applied Meteorology 35 (1996) (from memory)",
        dry_pressure,
    ),
)
