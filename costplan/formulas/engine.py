"""Geometry and motion of a piston engine, and what it counts over a life.

A length is any one unit throughout a call, a volume the cube of it; angles are degrees of the crank after top dead
centre.
"""

from __future__ import annotations

import math

from costplan.formulas.checking import InputError, need_above, need_at_least, need_finite
from costplan.formulas.method import Input, Method


def swept_volume(bore: float, stroke: float) -> float:
    """One cylinder's swept volume: pi/4 * bore^2 * stroke.

    Source: Heywood, Internal Combustion Engine Fundamentals, 2.2 (from memory).

    >>> round(swept_volume(3.5, 4), 5)
    38.48451
    """
    need_above(0, bore=bore, stroke=stroke)
    return _cylinder(bore, stroke)


def displacement(bore: float, stroke: float, cylinders: float) -> float:
    """All cylinders' swept volume: pi/4 * bore^2 * stroke * cylinders.

    Source: Heywood, Internal Combustion Engine Fundamentals, 2.2 (from memory).

    >>> round(displacement(3.5, 4, 8), 5)
    307.87608
    """
    need_above(0, cylinders=cylinders)
    return cylinders * swept_volume(bore, stroke)


def square_bore(displacement: float, cylinders: float) -> float:
    """The bore, and stroke, of a square engine: (4 * displacement / (pi * cylinders))^(1/3).

    Source: geometry.

    >>> round(square_bore(3000, 6), 4)
    8.6025
    """
    need_above(0, displacement=displacement, cylinders=cylinders)
    return math.cbrt(4 * displacement / (math.pi * cylinders))


def deck_clearance(deck_height: float, stroke: float, rod_length: float, pin_height: float) -> float:
    """How far the piston stays below the deck at top dead centre: deck_height - stroke / 2 - rod_length - pin_height.

    Negative where it stands above the deck.
    Source: geometry.

    >>> round(deck_clearance(9.025, 3.48, 5.7, 1.56), 6)
    0.025
    """
    need_finite(deck_height=deck_height, stroke=stroke, rod_length=rod_length, pin_height=pin_height)
    return deck_height - stroke / 2 - rod_length - pin_height


def clearance_volume(
    bore: float,
    deck_clearance: float,
    gasket_bore: float,
    gasket_thickness: float,
    chamber_volume: float,
    dish_volume: float,
) -> float:
    """The volume above the piston at top dead centre, from what encloses it.

    chamber_volume + pi/4 * gasket_bore^2 * gasket_thickness + pi/4 * bore^2 * deck_clearance + dish_volume; a dome is a
    negative dish, a piston above the deck a negative deck clearance. Above zero in any engine that turns; no check is
    made of that here.
    Source: geometry.

    >>> round(clearance_volume(10.16, 0.0635, 10.4, 0.1, 64, 5), 4)
    82.643
    """
    need_above(0, bore=bore, gasket_bore=gasket_bore)
    need_finite(
        deck_clearance=deck_clearance,
        gasket_thickness=gasket_thickness,
        chamber_volume=chamber_volume,
        dish_volume=dish_volume,
    )
    return chamber_volume + _cylinder(gasket_bore, gasket_thickness) + _cylinder(bore, deck_clearance) + dish_volume


def compression_ratio(swept: float, clearance: float) -> float:
    """Volume at bottom over volume at top dead centre: (swept + clearance) / clearance.

    Grows without end as the clearance volume goes to zero.
    Source: Heywood, Internal Combustion Engine Fundamentals, 2.2 (from memory).

    >>> compression_ratio(500, 62.5)
    9.0
    """
    need_above(0, swept=swept, clearance=clearance)
    return (swept + clearance) / clearance


def clearance_for_ratio(swept: float, ratio: float) -> float:
    """The clearance volume that gives a compression ratio: swept / (ratio - 1).

    Source: Heywood, Internal Combustion Engine Fundamentals, 2.2 (from memory).

    >>> clearance_for_ratio(500, 9)
    62.5
    """
    need_above(0, swept=swept)
    need_above(1, ratio=ratio)
    return swept / (ratio - 1)


def rod_ratio(rod_length: float, stroke: float) -> float:
    """The rod's length for the stroke: rod_length / stroke.

    Source: definition.

    >>> rod_ratio(6, 3)
    2.0
    """
    need_above(0, rod_length=rod_length, stroke=stroke)
    return rod_length / stroke


def spring_margin(installed_height: float, lift: float, coil_bind_height: float) -> float:
    """What a valve spring has left to coil bind at full lift: installed_height - lift - coil_bind_height.

    Zero where its coils just shut, negative past that.
    Source: geometry.

    >>> spring_margin(48, 14, 32)
    2
    """
    need_finite(installed_height=installed_height, lift=lift, coil_bind_height=coil_bind_height)
    return installed_height - lift - coil_bind_height


def spring_force(seat_force: float, rate: float, lift: float) -> float:
    """Force at full lift of springs whose rate is constant: seat_force + rate * lift.

    The seat force at no lift; force and rate in units that share the length of the lift.
    Source: Hooke's law.

    >>> spring_force(600, 60, 14)
    1440
    """
    need_finite(seat_force=seat_force, rate=rate, lift=lift)
    return seat_force + rate * lift


def valve_lift(lobe_lift: float, rocker_ratio: float) -> float:
    """Lift at the valve with zero lash: lobe_lift * rocker_ratio.

    Source: geometry.

    >>> valve_lift(8, 1.5)
    12.0
    """
    need_at_least(0, lobe_lift=lobe_lift)
    need_above(0, rocker_ratio=rocker_ratio)
    return lobe_lift * rocker_ratio


def mean_piston_speed(stroke: float, rpm: float) -> float:
    """How far a piston travels in a minute: 2 * stroke * rpm.

    Source: Heywood, Internal Combustion Engine Fundamentals, 2.2 (from memory).

    >>> mean_piston_speed(0.1, 6000) / 60
    20.0
    """
    need_above(0, stroke=stroke)
    need_at_least(0, rpm=rpm)
    return 2 * stroke * rpm


def piston_speed_ratio(angle: float, stroke: float, rod_length: float) -> float:
    """The piston's speed at a crank angle over its mean speed, towards the crank positive.

    pi/2 * sin(angle) * (1 + cos(angle) / sqrt((2 * rod_length / stroke)^2 - sin(angle)^2)); 0 at both dead centres, and
    pi/2 * sin(angle) for an endless rod.
    Source: Heywood, Internal Combustion Engine Fundamentals, 2.2 (from memory).

    >>> round(piston_speed_ratio(20, 8.6025, 16.6), 6)
    0.668572
    """
    need_finite(angle=angle)
    _need_crank(stroke, rod_length)
    sine, cosine = _sine_and_cosine(angle)
    return math.pi / 2 * sine * (1 + cosine / math.sqrt((2 * rod_length / stroke) ** 2 - sine**2))


def piston_travel(angle: float, stroke: float, rod_length: float) -> float:
    """How far the piston is below top dead centre at a crank angle.

    stroke / 2 * (1 - cos(angle)) + rod_length - sqrt(rod_length^2 - (stroke / 2 * sin(angle))^2); 0 at the top, the
    stroke at the bottom.
    Source: Heywood, Internal Combustion Engine Fundamentals, 2.2 (from memory).

    >>> round(piston_travel(20, 8.6025, 16.6), 5)
    0.32471
    """
    need_finite(angle=angle)
    _need_crank(stroke, rod_length)
    sine, cosine = _sine_and_cosine(angle)
    crank = stroke / 2
    return crank * (1 - cosine) + rod_length - math.sqrt(rod_length**2 - (crank * sine) ** 2)


def cylinder_volume(angle: float, bore: float, stroke: float, rod_length: float, clearance: float) -> float:
    """The volume above the piston at a crank angle: clearance + pi/4 * bore^2 * piston travel.

    The clearance volume at the top, with the swept volume added at the bottom.
    Source: Heywood, Internal Combustion Engine Fundamentals, 2.2 (from memory).

    >>> round(cylinder_volume(20, 8.6025, 8.6025, 16.6, 58.8235), 2)
    77.7
    """
    need_above(0, bore=bore)
    need_at_least(0, clearance=clearance)
    return clearance + _cylinder(bore, piston_travel(angle, stroke, rod_length))


def driven_speed(speed: float, driving_diameter: float, driven_diameter: float) -> float:
    """The speed of a pulley driven by a belt that does not slip: speed * driving_diameter / driven_diameter.

    Source: geometry.

    >>> driven_speed(7000, 6, 8)
    5250.0
    """
    need_at_least(0, speed=speed)
    need_above(0, driving_diameter=driving_diameter, driven_diameter=driven_diameter)
    return speed * driving_diameter / driven_diameter


def running_hours(distance: float, speed: float) -> float:
    """The hours that a distance takes: distance / speed.

    Source: definition of speed.

    >>> running_hours(171000, 40)
    4275.0
    """
    need_at_least(0, distance=distance)
    need_above(0, speed=speed)
    return distance / speed


def revolutions(hours: float, rpm: float) -> float:
    """The crank's revolutions in so many hours: hours * 60 * rpm.

    Source: definition of speed.

    >>> revolutions(4275.0, 1700)
    436050000.0
    """
    need_at_least(0, hours=hours, rpm=rpm)
    return hours * 60 * rpm


def firings(revolutions: float, cylinders: float, strokes: int = 4) -> float:
    """How often an engine's cylinders fire in so many revolutions: revolutions * cylinders * 2 / strokes.

    Once in two revolutions for a four-stroke cylinder, as often as it draws in; in each for a two-stroke one.
    Source: definition of the cycle.

    >>> firings(436050000, 8)
    1744200000.0
    """
    need_at_least(0, revolutions=revolutions)
    need_above(0, cylinders=cylinders)
    if strokes not in (2, 4):
        raise InputError("strokes", strokes, "give 2 or 4")
    return revolutions * cylinders * 2 / strokes


def _cylinder(bore: float, height: float) -> float:
    return math.pi / 4 * bore * bore * height


def _sine_and_cosine(angle: float) -> tuple[float, float]:
    turned = math.radians(math.remainder(angle, 360))
    return math.sin(turned), math.cos(turned)


def _need_crank(stroke: float, rod_length: float) -> None:
    """A rod that lets the crank turn over is longer than the crank's radius."""
    need_above(0, stroke=stroke)
    need_above(stroke / 2, rod_length=rod_length)


_HEYWOOD = "Heywood, Internal Combustion Engine Fundamentals, 2.2 (from memory)"
_BORE = Input("bore", "length", "bore of the cylinder", 10.16)
_STROKE = Input("stroke", "length", "stroke of the piston", 8.84)
_CYLINDERS = Input("cylinders", "1", "number of cylinders", 8.0)
_ROD = Input("rod_length", "length", "connecting rod, centre to centre", 15.24)
_ANGLE = Input("angle", "deg", "crank angle after top dead centre", 75.0)
_SWEPT = Input("swept", "length^3", "swept volume of one cylinder", 716.7)
_CLEARANCE = Input("clearance", "length^3", "volume above the piston at top dead centre", 79.6)
_RPM = Input("rpm", "rpm", "speed of the crank", 6500.0)

METHODS = (
    Method(
        "swept-volume",
        "engine",
        "swept volume of one cylinder",
        "pi/4 * bore^2 * stroke",
        (_BORE, _STROKE),
        "length^3",
        _HEYWOOD,
        swept_volume,
    ),
    Method(
        "displacement",
        "engine",
        "swept volume of all cylinders",
        "pi/4 * bore^2 * stroke * cylinders",
        (_BORE, _STROKE, _CYLINDERS),
        "length^3",
        _HEYWOOD,
        displacement,
    ),
    Method(
        "square-bore",
        "engine",
        "bore, and stroke, of a square engine",
        "(4 * displacement / (pi * cylinders))^(1/3)",
        (Input("displacement", "length^3", "swept volume of all cylinders", 5734.0), _CYLINDERS),
        "length",
        "geometry",
        square_bore,
    ),
    Method(
        "deck-clearance",
        "engine",
        "piston below the deck at top dead centre, negative above it",
        "deck_height - stroke / 2 - rod_length - pin_height",
        (
            Input("deck_height", "length", "crank's axis to deck", 22.92),
            _STROKE,
            _ROD,
            Input("pin_height", "length", "piston pin to flat of the crown", 3.2),
        ),
        "length",
        "geometry",
        deck_clearance,
    ),
    Method(
        "clearance-volume",
        "engine",
        "volume above the piston at top dead centre, from what encloses it",
        "chamber_volume + pi/4 * gasket_bore^2 * gasket_thickness + pi/4 * bore^2 * deck_clearance + dish_volume",
        (
            _BORE,
            Input("deck_clearance", "length", "piston below the deck at top dead centre, negative above it", 0.06),
            Input("gasket_bore", "length", "bore of the head gasket", 10.4),
            Input("gasket_thickness", "length", "thickness of the head gasket, clamped", 0.1),
            Input("chamber_volume", "length^3", "volume of the chamber in the head", 64.0),
            Input("dish_volume", "length^3", "hollows of the piston's crown, negative for a dome", 5.0),
        ),
        "length^3",
        "geometry",
        clearance_volume,
    ),
    Method(
        "compression-ratio",
        "engine",
        "volume at bottom over volume at top dead centre",
        "(swept + clearance) / clearance",
        (_SWEPT, _CLEARANCE),
        "1",
        _HEYWOOD,
        compression_ratio,
    ),
    Method(
        "clearance-for-ratio",
        "engine",
        "clearance volume that gives a compression ratio",
        "swept / (ratio - 1)",
        (_SWEPT, Input("ratio", "1", "compression ratio", 10.0)),
        "length^3",
        _HEYWOOD,
        clearance_for_ratio,
    ),
    Method(
        "rod-ratio",
        "engine",
        "length of the rod for length of the stroke",
        "rod_length / stroke",
        (_ROD, _STROKE),
        "1",
        "definition",
        rod_ratio,
    ),
    Method(
        "spring-margin",
        "engine",
        "from a valve spring's height at full lift to its coil bind",
        "installed_height - lift - coil_bind_height",
        (
            Input("installed_height", "length", "height with the valve shut", 47.0),
            Input("lift", "length", "lift at the valve", 13.5),
            Input("coil_bind_height", "length", "height with its coils shut", 30.5),
        ),
        "length",
        "geometry",
        spring_margin,
    ),
    Method(
        "spring-force",
        "engine",
        "force of valve springs at full lift, their rate taken as constant",
        "seat_force + rate * lift",
        (
            Input("seat_force", "force", "force with the valve shut", 700.0),
            Input("rate", "force/length", "stiffness", 70.0),
            Input("lift", "length", "lift at the valve", 13.5),
        ),
        "force",
        "Hooke's law",
        spring_force,
    ),
    Method(
        "valve-lift",
        "engine",
        "lift at the valve with zero lash",
        "lobe_lift * rocker_ratio",
        (
            Input("lobe_lift", "length", "lift of the cam's lobe", 0.8),
            Input("rocker_ratio", "1", "ratio of the rocker", 1.5),
        ),
        "length",
        "geometry",
        valve_lift,
    ),
    Method(
        "mean-piston-speed",
        "engine",
        "how far a piston travels in a minute",
        "2 * stroke * rpm",
        (_STROKE, _RPM),
        "length/min",
        _HEYWOOD,
        mean_piston_speed,
    ),
    Method(
        "piston-speed-ratio",
        "engine",
        "speed of the piston at a crank angle over its mean speed",
        "pi/2 * sin(angle) * (1 + cos(angle) / sqrt((2 * rod_length / stroke)^2 - sin(angle)^2))",
        (_ANGLE, _STROKE, _ROD),
        "1",
        _HEYWOOD,
        piston_speed_ratio,
    ),
    Method(
        "piston-travel",
        "engine",
        "piston below top dead centre at a crank angle",
        "stroke / 2 * (1 - cos(angle)) + rod_length - sqrt(rod_length^2 - (stroke / 2 * sin(angle))^2)",
        (_ANGLE, _STROKE, _ROD),
        "length",
        _HEYWOOD,
        piston_travel,
    ),
    Method(
        "cylinder-volume",
        "engine",
        "volume above the piston at a crank angle",
        "clearance + pi/4 * bore^2 * piston travel",
        (_ANGLE, _BORE, _STROKE, _ROD, _CLEARANCE),
        "length^3",
        _HEYWOOD,
        cylinder_volume,
    ),
    Method(
        "driven-speed",
        "engine",
        "speed of a pulley driven by a belt",
        "speed * driving_diameter / driven_diameter",
        (
            Input("speed", "rpm", "speed of the driving pulley", 6500.0),
            Input("driving_diameter", "length", "diameter of the driving pulley", 12.0),
            Input("driven_diameter", "length", "diameter of the driven pulley", 16.0),
        ),
        "rpm",
        "geometry",
        driven_speed,
    ),
    Method(
        "running-hours",
        "engine",
        "hours that a distance takes",
        "distance / speed",
        (
            Input("distance", "length", "distance covered", 1200.0),
            Input("speed", "length/h", "average speed", 80.0),
        ),
        "h",
        "definition of speed",
        running_hours,
    ),
    Method(
        "revolutions",
        "engine",
        "revolutions of the crank in so many hours",
        "hours * 60 * rpm",
        (Input("hours", "h", "hours run", 15.0), _RPM),
        "revolutions",
        "definition of speed",
        revolutions,
    ),
    Method(
        "firings",
        "engine",
        "how often an engine's cylinders fire in so many revolutions",
        "revolutions * cylinders * 2 / strokes",
        (
            Input("revolutions", "revolutions", "revolutions of the crank", 5.85e6),
            _CYLINDERS,
            Input("strokes", "1", "strokes of a cycle, 4 or 2", 4),
        ),
        "firings",
        "definition of the cycle",
        firings,
    ),
)
