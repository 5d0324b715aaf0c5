"""Airflow: openings by what they flow, in series, over a lift curve; how full a cylinder gets, and what that may give.

These serve an estimate. Flow through an opening is taken as steady and its density as constant, as a flow bench does:
true for small drops of pressure (28 inches of water are 7 % of the air's). Waves in pipes, heat, fuel vapour and
exhaust are left out; what they bring hides in the one factor that a dyno sheet sets.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Mapping, Sequence
from itertools import pairwise
from types import MappingProxyType

from costplan.formulas.checking import (
    InputError,
    listed,
    need_above,
    need_at_least,
    need_at_most,
    need_numbers,
)
from costplan.formulas.method import Input, Method

#: Of air, kg/m3: what flow benches are commonly brought to.
BENCH_DENSITY = 1.2
#: Share of (density x sound speed x area) that flows at most through an opening, for air: (5/6)^3.
CHOKED = (5 / 6) ** 3
#: Terms of the mean pressure of friction in bar: alone, by thousands of rpm, by their square.
FRICTION = (0.97, 0.15, 0.05)
#: Displacements that it was measured on, cm3.
FRICTION_RANGE = (845.0, 2000.0)
#: The inlet Mach index above which the volumetric efficiency falls fast: by JSME, by Taylor.
KNEE = (0.5, 0.6)
#: Heat of fuel for each kg of air that burns it whole, MJ: lower heating values of 19.9 and 43.9 MJ/kg over 6.47 and
#: 14.6 kg of air (Heywood, Internal Combustion Engine Fundamentals, appendix D, from memory).
HEAT_OF_AIR: Mapping[str, float] = MappingProxyType({"gasoline": 3.0, "methanol": 3.08})
#: How sharply the filling turns from what it is at low speed to what choked flow leaves of it.
TURN = 4


def effective_area(flow: float, pressure: float, density: float = BENCH_DENSITY) -> float:
    """The opening without losses that flows as much, in cm2: 10 * flow / sqrt(2000 * pressure / density).

    The flow in L/s as the bench reads it at its test pressure in kPa, both for air of this density in kg/m3. Valid for
    pressures up to about a tenth of the air's own, where the density hardly changes; at 28 inches of water it is some
    4 % too small an area by that. Twice the flow is twice the area; four times the pressure is half of it.
    Source: Bernoulli's law for a constant density; 1.2 kg/m3 is common practice, no source.

    >>> round(effective_area(99.1, 6.9745), 3)
    9.192
    """
    need_at_least(0, flow=flow)
    need_above(0, pressure=pressure, density=density)
    speed = math.sqrt(2000 * pressure / density)
    if not 0 < speed < math.inf:
        raise InputError("pressure", pressure, "give the bench's test pressure in kPa, about 0.5 to 10")
    return 10 * flow / speed


def series_area(areas: Sequence[float]) -> float:
    """The one opening that resists as several behind each other do: (sum of 1 / area^2)^(-1/2).

    Each loses the whole speed of its own flow. Never more than the smallest of them; two equal ones count as one of
    0.707 of their area; a very large one adds nothing. Valid where no opening is near the speed of sound.
    Source: Bernoulli's law for a constant density.

    >>> round(series_area((10.0, 10.0)), 4)
    7.0711
    """
    need_numbers(1, areas=areas)
    for area in areas:
        need_above(0, areas=area)
    least = min(areas)
    return least / math.sqrt(sum((least / area) * (least / area) for area in areas))


def shared_area(area: float, cylinders: float, duration: float) -> float:
    """What one cylinder has of an opening that all share: area / max(1, cylinders * duration / 720).

    While it draws, so many cylinders draw on the average as their openings cover of a cycle of 720 degrees; the
    duration of one in degrees of the crank. A single cylinder has all of it. A mean: what a plenum evens out.
    Source: four-stroke cycle, by definition; the even share is assumed.

    >>> round(shared_area(100.0, 8, 240), 2)
    37.5
    """
    need_above(0, area=area, cylinders=cylinders, duration=duration)
    need_at_most(720, duration=duration)
    return area / max(1.0, cylinders * duration / 720)


def lobe_lift_at(angle: float, lobe_lift: float, duration: float, start: float) -> float:
    """The rise of a lobe at an angle from its top, of a shape assumed: start + (lobe_lift - start) * cos(pi * angle /
    duration).

    Degrees of the crank; the duration is that above the rise `start`, as cams are sold (0.050 in), and the angle at
    most half of it. Real lobes are fuller or slimmer; a measured curve goes before this.
    Source: an assumed shape, no source.

    >>> round(lobe_lift_at(0, 0.35, 240, 0.05), 3), round(lobe_lift_at(120, 0.35, 240, 0.05), 3)
    (0.35, 0.05)
    """
    need_at_least(0, start=start)
    need_above(start, lobe_lift=lobe_lift)
    need_above(0, duration=duration)
    need_at_least(-duration / 2, angle=angle)
    need_at_most(duration / 2, angle=angle)
    return start + (lobe_lift - start) * max(0.0, math.cos(math.pi * (angle / duration)))


def mean_area(
    angles: Sequence[float], lifts: Sequence[float], flow_lifts: Sequence[float], flow_areas: Sequence[float]
) -> float:
    """The mean opening of a valve over its lift curve: integral of area(lift(angle)) over the angles / their span.

    The lifts at the valve by rising angles; areas by rising lifts, straight between them, from none at no lift, and
    beyond the last as at the last. By the trapezoidal rule between the angles given, so give them close.
    Source: mean value, by definition; Taylor's mean flow coefficient is this over the valve's area (from memory).

    >>> mean_area((0.0, 60.0, 120.0), (0.0, 10.0, 0.0), (5.0, 10.0), (4.0, 6.0))
    3.0
    """
    need_numbers(2, angles=angles, lifts=lifts)
    need_numbers(1, flow_lifts=flow_lifts, flow_areas=flow_areas)
    for name, other, of in (("lifts", lifts, angles), ("flow_areas", flow_areas, flow_lifts)):
        if len(other) != len(of):
            raise InputError(name, listed(other), "give as many as those that they belong to")
    for name, values in (("angles", angles), ("flow_lifts", (0.0, *flow_lifts))):
        if any(second <= first for first, second in pairwise(values)):
            raise InputError(name, listed(values), "give them rising")
    for name, values in (("lifts", lifts), ("flow_areas", flow_areas)):
        need_at_least(0, **{name: min(values)})
    areas = [_area_at(lift, flow_lifts, flow_areas) for lift in lifts]
    steps = zip(pairwise(angles), pairwise(areas), strict=True)
    return sum((b - a) / (angles[-1] - angles[0]) * (one / 2 + two / 2) for (a, b), (one, two) in steps)


def _area_at(lift: float, lifts: Sequence[float], areas: Sequence[float]) -> float:
    """The area at a lift, straight between those given and flat beyond the last."""
    at = bisect_right(lifts, lift)
    if at == len(lifts):
        return areas[-1]
    low, less = (lifts[at - 1], areas[at - 1]) if at else (0.0, 0.0)
    return less + (areas[at] - less) * ((lift - low) / (lifts[at] - low))


def mach_index_by_area(piston_area: float, piston_speed: float, opening: float, sound_speed: float) -> float:
    """The inlet Mach index from areas: piston_area / opening * piston_speed / sound_speed.

    The mean opening of one cylinder while it draws, all restrictions in series: with that of the valve alone it is
    Taylor's index. The volumetric efficiency falls fast above about 0.5 (JSME Mechanical Engineering Dictionary) to
    0.6 (Taylor).
    Source: Taylor, The Internal Combustion Engine in Theory and Practice, vol. 1, ch. 6 (from memory).

    >>> round(mach_index_by_area(81.07, 16, 7.236, 343), 4)
    0.5226
    """
    need_above(0, piston_area=piston_area, opening=opening, sound_speed=sound_speed)
    need_at_least(0, piston_speed=piston_speed)
    return piston_area / opening * piston_speed / sound_speed


def choked_filling(index: float, duration: float) -> float:
    """The volumetric efficiency that flow at the speed of sound all the while would give: 0.5787 * duration / (180 *
    index).

    No engine passes it: no opening flows more than 0.5787 of density times speed of sound times area, here over the
    duration in degrees of the crank. 0.5787 is (5/6)^3, for air.
    Source: choked flow of a perfect gas with a ratio of specific heats of 1.4; Heywood, Internal Combustion Engine
    Fundamentals, 6.3 and appendix C (from memory).

    >>> round(choked_filling(0.6, 240), 4)
    1.286
    """
    need_above(0, index=index, duration=duration)
    need_at_most(720, duration=duration)
    return CHOKED * duration / (180 * index)


def volumetric_efficiency(index: float, duration: float, full: float) -> float:
    """How full a cylinder gets, by the inlet Mach index: full / (1 + (full / choked_filling)^4)^(1/4).

    A curve of our own between two limits that are known: what the engine draws at low speed (`full`), and choked flow
    (`choked_filling`), which it stays below. The exponent is chosen so that at 240 degrees and a full 0.95 the curve
    has lost 3 % at an index of 0.5, 6 % at 0.6, 26 % at 1: it turns where it is published to (JSME 0.5, Taylor 0.6).
    Waves that fill a cylinder beyond that at one speed are not in it.
    Source: form assumed, no source; limits as in choked_filling.

    >>> [round(volumetric_efficiency(index, 240, 0.95), 3) for index in (0.1, 0.5, 0.6, 1.0)]
    [0.95, 0.919, 0.89, 0.705]
    """
    need_at_least(0, index=index)
    need_above(0, full=full, duration=duration)
    need_at_most(720, duration=duration)
    if index == 0:
        return full
    limit = choked_filling(index, duration)
    low, high = sorted((full, limit))
    return low / math.pow(1 + (low / high) ** TURN, 1 / TURN)


def friction_pressure(rpm: float) -> float:
    """The mean pressure that friction, pumping and auxiliaries take, in bar: 0.97 + 0.15 * (rpm / 1000) + 0.05 * (rpm /
    1000)^2.

    Motored, at full throttle, of four-cylinder spark-ignition engines of 845 to 2000 cm3. For other engines it is
    extrapolated: a large racing engine may stand well off it either way.
    Source: Heywood, Internal Combustion Engine Fundamentals, eq. 13.6 (from memory).

    >>> round(friction_pressure(6000), 3)
    3.67
    """
    need_at_least(0, rpm=rpm)
    thousands = rpm / 1000
    return FRICTION[0] + thousands * (FRICTION[1] + thousands * FRICTION[2])


def indicated_power(
    displacement: float, rpm: float, filling: float, heat: float, efficiency: float, density: float
) -> float:
    """What the gas gives to the pistons, in kW: displacement * rpm * filling * density * heat * efficiency / 120000.

    Displacement of all cylinders in cm3, drawn in every second turn and filled to the volumetric efficiency `filling`
    with air of this density in kg/m3; heat in MJ for each kg of air (about 3 for gasoline and methanol, when all the
    air is burned); the share of the heat that becomes work.
    Source: four-stroke cycle, by definition.

    >>> round(indicated_power(5867, 6000, 0.9, 3.08, 0.4, 1.157), 1)
    376.3
    """
    need_above(0, displacement=displacement, heat=heat, efficiency=efficiency, density=density)
    need_at_least(0, rpm=rpm, filling=filling)
    return displacement * rpm * filling * density * heat * efficiency / 120_000


def friction_power(displacement: float, rpm: float, pressure: float) -> float:
    """What a mean pressure of friction takes from the pistons, in kW: displacement * rpm * pressure / 1200000.

    Displacement of all cylinders in cm3, the pressure in bar. Brake power is indicated power less this.
    Source: mean effective pressure of a four-stroke engine, by definition.

    >>> round(friction_power(5867, 6000, 3.67), 1)
    107.7
    """
    need_above(0, displacement=displacement)
    need_at_least(0, rpm=rpm, pressure=pressure)
    return displacement * rpm * pressure / 1_200_000


_TAYLOR = "Taylor, The Internal Combustion Engine in Theory and Practice, vol. 1, ch. 6 (from memory)"
_BERNOULLI = "Bernoulli's law for a constant density"
_RPM = Input("rpm", "rpm", "speed of the crank", 6500.0)
_DISPLACEMENT = Input("displacement", "cm3", "swept volume of all cylinders", 5800.0)
_INDEX = Input("index", "1", "inlet Mach index", 0.5)
_DURATION = Input("duration", "deg", "how long an intake valve is open, degrees of the crank", 240.0)

METHODS = (
    Method(
        "effective-area",
        "airflow",
        "opening without losses that flows as much as a flow bench reads",
        "10 * flow / sqrt(2000 * pressure / density)",
        (
            Input("flow", "L/s", "flow that the bench reads", 95.0),
            Input("pressure", "kPa", "test pressure; 28 inches of water are 6.97", 6.97),
            Input("density", "kg/m3", "of the air that the flow is stated for", 1.2),
        ),
        "cm2",
        f"{_BERNOULLI}; 1.2 kg/m3 is common practice, no source",
        effective_area,
    ),
    Method(
        "series-area",
        "airflow",
        "one opening that resists as several behind each other do",
        "(sum of 1 / area^2)^(-1/2)",
        (Input("areas", "cm2", "effective area of each", (7.2, 14.0, 19.0)),),
        "cm2",
        _BERNOULLI,
        series_area,
    ),
    Method(
        "shared-area",
        "airflow",
        "what one cylinder has of an opening that all share",
        "area / max(1, cylinders * duration / 720)",
        (
            Input("area", "cm2", "effective area of the whole opening", 48.0),
            Input("cylinders", "1", "cylinders that draw through it", 8.0),
            _DURATION,
        ),
        "cm2",
        "four-stroke cycle, by definition; the even share is assumed",
        shared_area,
    ),
    Method(
        "lobe-lift-at",
        "airflow",
        "rise of a lobe at an angle from its top, of an assumed shape",
        "start + (lobe_lift - start) * cos(pi * angle / duration)",
        (
            Input("angle", "deg", "from the top of the lobe, degrees of the crank", 40.0),
            Input("lobe_lift", "length", "rise of the whole lobe", 0.348),
            Input("duration", "deg", "degrees of the crank above the rise `start`", 244.0),
            Input("start", "length", "rise at which the duration is stated", 0.05),
        ),
        "length",
        "an assumed shape, no source",
        lobe_lift_at,
    ),
    Method(
        "mean-area",
        "airflow",
        "mean opening of a valve over its lift curve",
        "integral of area(lift(angle)) over the angles / their span",
        (
            Input("angles", "deg", "rising, degrees of the crank", (0.0, 40.0, 80.0, 120.0, 160.0, 200.0, 240.0)),
            Input("lifts", "length", "of the valve at each", (1.9, 6.0, 11.0, 13.2, 11.0, 6.0, 1.9)),
            Input("flow_lifts", "length", "rising, at which the flow is known", (5.0, 10.0, 14.0)),
            Input("flow_areas", "cm2", "effective area at each", (4.8, 8.3, 9.1)),
        ),
        "cm2",
        "mean value, by definition; Taylor's mean flow coefficient is this over the valve's area (from memory)",
        mean_area,
    ),
    Method(
        "mach-index-by-area",
        "airflow",
        "inlet Mach index from areas",
        "piston_area / opening * piston_speed / sound_speed",
        (
            Input("piston_area", "cm2", "of one cylinder", 82.0),
            Input("piston_speed", "speed", "mean piston speed", 19.5),
            Input("opening", "cm2", "mean opening of one cylinder while it draws", 6.2),
            Input("sound_speed", "speed", "speed of sound at the inlet, 346 m/s at 25 C", 346.0),
        ),
        "1",
        _TAYLOR,
        mach_index_by_area,
    ),
    Method(
        "choked-filling",
        "airflow",
        "volumetric efficiency that no engine passes, by choked flow",
        "0.5787 * duration / (180 * index)",
        (_INDEX, _DURATION),
        "1",
        "choked flow of a perfect gas with a ratio of specific heats of 1.4; Heywood, Internal Combustion Engine "
        "Fundamentals, 6.3 and appendix C (from memory)",
        choked_filling,
    ),
    Method(
        "volumetric-efficiency",
        "airflow",
        "how full a cylinder gets, by a curve of our own",
        "full / (1 + (full / choked_filling)^4)^(1/4)",
        (_INDEX, _DURATION, Input("full", "1", "volumetric efficiency at low speed", 0.95)),
        "1",
        "form assumed, no source; limits as in choked_filling",
        volumetric_efficiency,
    ),
    Method(
        "friction-pressure",
        "airflow",
        "mean pressure that friction, pumping and auxiliaries take",
        "0.97 + 0.15 * (rpm / 1000) + 0.05 * (rpm / 1000)^2",
        (_RPM,),
        "bar",
        "Heywood, Internal Combustion Engine Fundamentals, eq. 13.6 (from memory)",
        friction_pressure,
    ),
    Method(
        "indicated-power",
        "airflow",
        "what the gas gives to the pistons",
        "displacement * rpm * filling * density * heat * efficiency / 120000",
        (
            _DISPLACEMENT,
            _RPM,
            Input("filling", "1", "volumetric efficiency", 0.9),
            Input("heat", "MJ/kg", "of fuel for each kg of air, all air burned; about 3.0", 3.0),
            Input("efficiency", "1", "share of the heat that becomes work on the pistons", 0.4),
            Input("density", "kg/m3", "of the air drawn in", 1.157),
        ),
        "kW",
        "four-stroke cycle, by definition",
        indicated_power,
    ),
    Method(
        "friction-power",
        "airflow",
        "what a mean pressure of friction takes from the pistons",
        "displacement * rpm * pressure / 1200000",
        (_DISPLACEMENT, _RPM, Input("pressure", "bar", "mean effective pressure of friction", 4.1)),
        "kW",
        "mean effective pressure of a four-stroke engine, by definition",
        friction_power,
    ),
)
