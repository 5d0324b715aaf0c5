"""Measures of a build: what follows from its parts, each with unit, formula and source, in one table.

A measure needs inputs, which the engine pattern leads to slots or gives as numbers, or other measures. A missing input
makes a measure unknown, never zero.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from types import MappingProxyType

#: What an engine pattern may give under [inputs], and the dimension it must have.
INPUTS = MappingProxyType(
    {
        "cylinders": "number",
        "bore": "length",
        "stroke": "length",
        "rod_length": "length",
        "pin_height": "length",
        "deck_height": "length",
        "deck_clearance": "length",
        "dish_volume": "volume",
        "chamber_volume": "volume",
        "gasket_bore": "length",
        "gasket_thickness": "length",
        "intake_lobe_lift": "length",
        "exhaust_lobe_lift": "length",
        "rocker_ratio": "number",
        "red_line": "rotation",
    }
)

#: What a build gives by itself, beside the pattern's inputs.
MASS_OF_PARTS = "mass of the parts"
PRICE_OF_PARTS = "price of the parts"


def swept_volume(bore: float, stroke: float) -> float:
    """One cylinder's swept volume, pi/4 * bore^2 * stroke, in the cube of the lengths' unit.

    >>> round(swept_volume(3.5, 4), 5)
    38.48451
    """
    return math.pi / 4 * bore**2 * stroke


def displacement(bore: float, stroke: float, cylinders: float) -> float:
    """All cylinders' swept volume."""
    return cylinders * swept_volume(bore, stroke)


def deck_clearance(deck_height: float, stroke: float, rod_length: float, pin_height: float) -> float:
    """The piston's distance below the deck at top dead centre; negative above it."""
    return deck_height - stroke / 2 - rod_length - pin_height


def clearance_volume(
    bore: float,
    deck_clearance: float,
    gasket_bore: float,
    gasket_thickness: float,
    chamber_volume: float,
    dish_volume: float,
) -> float:
    """The volume above the piston at top dead centre: chamber, gasket, deck and the hollows of the crown."""
    gasket, deck = swept_volume(gasket_bore, gasket_thickness), swept_volume(bore, deck_clearance)
    return chamber_volume + gasket + deck + dish_volume


def compression_ratio(swept: float, clearance: float) -> float:
    """(swept + clearance) / clearance; the clearance volume must be above zero, else not a number."""
    return (swept + clearance) / clearance if clearance > 0 else math.nan


def piston_speed(stroke: float, rpm: float) -> float:
    """Mean piston speed, 2 * stroke * revolutions, in lengths a minute.

    >>> piston_speed(0.1, 6000) / 60
    20.0
    """
    return 2 * stroke * rpm


def valve_lift(lobe_lift: float, rocker_ratio: float) -> float:
    """Lift at the valve with zero lash."""
    return lobe_lift * rocker_ratio


@dataclass(frozen=True, slots=True)
class Measure:
    """One measure: its `unit`, and `compute`, which takes `needs` (input or measure, and the unit it is wanted in)."""

    name: str
    unit: str
    meaning: str
    formula: str
    source: str
    needs: tuple[tuple[str, str], ...]
    compute: Callable[..., float]


_HEYWOOD = "Heywood, Internal Combustion Engine Fundamentals, 2.2 (from memory)"

MEASURES_OF_BUILD = MappingProxyType(
    {
        measure.name: measure
        for measure in (
            Measure(
                "displacement",
                "cm3",
                "swept volume of all cylinders",
                "pi/4 * bore^2 * stroke * cylinders",
                _HEYWOOD,
                (("bore", "cm"), ("stroke", "cm"), ("cylinders", "1")),
                displacement,
            ),
            Measure(
                "swept_volume",
                "cm3",
                "swept volume of one cylinder",
                "pi/4 * bore^2 * stroke",
                _HEYWOOD,
                (("bore", "cm"), ("stroke", "cm")),
                swept_volume,
            ),
            Measure(
                "deck_clearance",
                "mm",
                "piston below the deck at top dead centre, negative above it",
                "deck_height - stroke/2 - rod_length - pin_height",
                "geometry",
                (("deck_height", "mm"), ("stroke", "mm"), ("rod_length", "mm"), ("pin_height", "mm")),
                deck_clearance,
            ),
            Measure(
                "clearance_volume",
                "cm3",
                "volume above the piston at top dead centre",
                "chamber + pi/4 * gasket_bore^2 * gasket_thickness + pi/4 * bore^2 * deck_clearance + dish",
                "geometry",
                (
                    ("bore", "cm"),
                    ("deck_clearance", "cm"),
                    ("gasket_bore", "cm"),
                    ("gasket_thickness", "cm"),
                    ("chamber_volume", "cm3"),
                    ("dish_volume", "cm3"),
                ),
                clearance_volume,
            ),
            Measure(
                "compression_ratio",
                "1",
                "volume at bottom over volume at top dead centre",
                "(swept_volume + clearance_volume) / clearance_volume",
                _HEYWOOD,
                (("swept_volume", "cm3"), ("clearance_volume", "cm3")),
                compression_ratio,
            ),
            Measure(
                "piston_speed",
                "m/s",
                "mean piston speed at the red line",
                "2 * stroke * red_line",
                _HEYWOOD,
                (("stroke", "m"), ("red_line", "rpm")),
                lambda stroke, rpm: piston_speed(stroke, rpm) / 60,
            ),
            Measure(
                "intake_lift",
                "mm",
                "lift at the intake valve with zero lash",
                "intake_lobe_lift * rocker_ratio",
                "geometry",
                (("intake_lobe_lift", "mm"), ("rocker_ratio", "1")),
                valve_lift,
            ),
            Measure(
                "exhaust_lift",
                "mm",
                "lift at the exhaust valve with zero lash",
                "exhaust_lobe_lift * rocker_ratio",
                "geometry",
                (("exhaust_lobe_lift", "mm"), ("rocker_ratio", "1")),
                valve_lift,
            ),
            Measure(
                "mass",
                "kg",
                "mass of all parts in slots that are weighed",
                "sum of quantity * mass",
                "sum",
                ((MASS_OF_PARTS, "kg"),),
                float,
            ),
            Measure(
                "price",
                "",
                "price of all parts in whole packs, in the scenario's currency",
                "sum of packs * price",
                "sum",
                ((PRICE_OF_PARTS, ""),),
                float,
            ),
        )
    }
)
