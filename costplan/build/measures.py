"""Measures of a build: what follows from its parts, each with unit, formula and source, in one table.

A measure needs inputs, which the engine pattern leads to slots or gives as numbers, or other measures. A missing input
makes a measure unknown, never zero.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from types import MappingProxyType

from costplan.formulas import (
    clearance_volume,
    compression_ratio,
    deck_clearance,
    displacement,
    driven_speed,
    mean_piston_speed,
    rod_ratio,
    spring_force,
    spring_margin,
    swept_volume,
    valve_lift,
)
from costplan.quantity import Quantity

#: Inputs that the springs and rockers of both valves share, unless the pattern gives one for a valve alone:
#: exhaust_rocker_ratio.
PER_VALVE = MappingProxyType(
    {
        "rocker_ratio": ("number", "lift at the valve for lift at the lobe"),
        "installed_height": ("length", "of a valve spring with the valve shut"),
        "coil_bind_height": ("length", "of a valve spring with its coils shut"),
        "seat_force": ("force", "of the springs of one valve at their installed height"),
        "spring_rate": ("stiffness", "of the springs of one valve"),
    }
)
VALVES = ("intake", "exhaust")

_MEANT = MappingProxyType(
    {
        "cylinders": ("number", "how many cylinders"),
        "bore": ("length", "diameter of a cylinder"),
        "stroke": ("length", "travel of the piston"),
        "rod_length": ("length", "between the centres of a connecting rod's two ends"),
        "pin_height": ("length", "from the piston's pin to its flat crown"),
        "deck_height": ("length", "from the crank's centre line to the block's deck"),
        "deck_clearance": ("length", "where it is known and not worked out; negative above the deck"),
        "dish_volume": ("volume", "of the hollows in a piston's crown; a dome is negative"),
        "chamber_volume": ("volume", "of one combustion chamber in the head"),
        "gasket_bore": ("length", "hole of the head gasket"),
        "gasket_thickness": ("length", "of the head gasket, compressed"),
        "intake_lobe_lift": ("length", "rise of the cam's intake lobe"),
        "exhaust_lobe_lift": ("length", "rise of the cam's exhaust lobe"),
        **PER_VALVE,
        **{
            f"{valve}_{name}": (what, f"where the {valve} valve has its own")
            for valve in VALVES
            for name, (what, _) in PER_VALVE.items()
        },
        "drive_pulley": ("length", "diameter at which the belt runs on the crank's pulley"),
        "water_pump_pulley": ("length", "diameter at which the belt runs on the water pump's pulley"),
        "red_line": ("rotation", "highest speed that is used"),
    }
)

#: What an engine pattern may give under [inputs]: the dimension it must have, and what it is.
INPUTS = MappingProxyType({name: what for name, (what, _) in _MEANT.items()})
MEANINGS = MappingProxyType({name: meaning for name, (_, meaning) in _MEANT.items()})

#: What a build gives by itself, beside the pattern's inputs.
MASS_OF_PARTS = "mass of the parts"
PRICE_OF_PARTS = "price of the parts"
#: Before a role: how many pieces with it are in the engine.
COUNT = "count"
#: Before slot.attribute: what the catalog gives, before operations, service steps and the bench.
MADE = "made"
#: Before a slot: what its part costs; alone what all parts do.
PRICE = "price"


@dataclass(frozen=True, slots=True)
class Measure:
    """One measure: its `unit`, and `compute`, which takes `needs` (input or measure, and the unit it is wanted in).

    `compute` refuses inputs that have no answer with an `InputError`. Without needs the measure is what the pattern
    gives under [inputs]. `valve`: whose own inputs go before those of both.
    """

    name: str
    unit: str
    meaning: str
    formula: str
    source: str
    needs: tuple[tuple[str, str], ...]
    compute: Callable[..., float]
    valve: str = ""

    def work_out(self, inputs: Iterable[Quantity], shown: str = "", money: str = "") -> Quantity:
        """The value from what it needs, in the unit `shown` or its own; `money`: the unit of a measure without one."""
        pairs = zip(inputs, self.needs, strict=True)
        values = [found.to(unit or found.unit) for found, (_, unit) in pairs]
        return shown_in(Quantity(self.compute(*values), self.unit or money), shown or self.unit)


def shown_in(value: Quantity, unit: str) -> Quantity:
    """The value in a unit; as it is where none is asked for."""
    return value.into(unit) if unit else value


def add_up(weighted: Iterable[tuple[int, Quantity]], unit: str) -> Quantity:
    """So many of each together, in a unit; of a negative number it is taken off.

    >>> add_up([(8, Quantity(500, "g")), (-1, Quantity(1, "kg"))], "kg")
    Quantity(value=3.0, unit='kg')
    """
    return Quantity(float(sum(number * one.to(unit) for number, one in weighted)), unit)


_HEYWOOD = "Heywood, Internal Combustion Engine Fundamentals, 2.2 (from memory)"


def _of_valve(valve: str) -> tuple[Measure, ...]:
    """Lift of a valve, and what its springs do then."""
    lift = f"{valve}_lift"
    return (
        Measure(
            lift,
            "mm",
            f"lift at the {valve} valve with zero lash",
            f"{valve}_lobe_lift * rocker_ratio",
            "geometry",
            ((f"{valve}_lobe_lift", "mm"), ("rocker_ratio", "1")),
            valve_lift,
            valve,
        ),
        Measure(
            f"{valve}_spring_margin",
            "mm",
            f"from the {valve} spring's height at full lift to its coil bind",
            f"installed_height - {lift} - coil_bind_height",
            "geometry",
            (("installed_height", "mm"), (lift, "mm"), ("coil_bind_height", "mm")),
            spring_margin,
            valve,
        ),
        Measure(
            f"{valve}_spring_force",
            "N",
            f"force of the {valve} valve's springs at full lift, their rate taken as constant",
            f"seat_force + spring_rate * {lift}",
            "Hooke's law",
            (("seat_force", "N"), ("spring_rate", "N/mm"), (lift, "mm")),
            spring_force,
            valve,
        ),
    )


MEASURES_OF_BUILD = MappingProxyType(
    {
        measure.name: measure
        for measure in (
            Measure("bore", "mm", "diameter of a cylinder", "as given", "definition", (), float),
            Measure("stroke", "mm", "travel of the piston", "as given", "definition", (), float),
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
                "rod_ratio",
                "1",
                "length of the rod for length of the stroke",
                "rod_length / stroke",
                "definition",
                (("rod_length", "mm"), ("stroke", "mm")),
                rod_ratio,
            ),
            Measure(
                "piston_speed",
                "m/s",
                "mean piston speed at the red line",
                "2 * stroke * red_line",
                _HEYWOOD,
                (("stroke", "m"), ("red_line", "rpm")),
                lambda stroke, rpm: mean_piston_speed(stroke, rpm) / 60,
            ),
            *(measure for valve in VALVES for measure in _of_valve(valve)),
            Measure(
                "water_pump_speed",
                "rpm",
                "speed of the water pump at the red line, without slip of the belt",
                "red_line * drive_pulley / water_pump_pulley",
                "kinematics",
                (("red_line", "rpm"), ("drive_pulley", "mm"), ("water_pump_pulley", "mm")),
                driven_speed,
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
