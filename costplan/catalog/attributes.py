"""The attributes of parts: the columns that a catalog table may have beside the common ones."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from costplan.quantity import UNITS


@dataclass(frozen=True, slots=True)
class Attribute:
    """What an attribute measures ('text' for a word, 'number' for a bare number) and whether it must be above zero."""

    what: str
    meaning: str
    positive: bool = True


ATTRIBUTES = MappingProxyType(
    {
        "mass": Attribute("mass", "of one piece"),
        "bore": Attribute("length", "diameter of a cylinder, or of the piston's or gasket's hole for it"),
        "stroke": Attribute("length", "travel of the piston, twice the crank's throw"),
        "rod_length": Attribute("length", "between the centres of a connecting rod's two ends"),
        "pin_height": Attribute("length", "from the piston's pin to its flat crown"),
        "deck_height": Attribute("length", "from the crank's centre line to the block's deck"),
        "deck_clearance": Attribute(
            "length", "of the piston below the deck at top dead centre; above it negative", False
        ),
        "dish_volume": Attribute("volume", "of the hollows in a piston's crown; a dome is negative", False),
        "chamber_volume": Attribute("volume", "of one combustion chamber in the head"),
        "gasket_bore": Attribute("length", "hole of the head gasket"),
        "gasket_thickness": Attribute("length", "of the head gasket, compressed"),
        "intake_lobe_lift": Attribute("length", "rise of the cam's intake lobe"),
        "exhaust_lobe_lift": Attribute("length", "rise of the cam's exhaust lobe"),
        "rocker_ratio": Attribute("number", "lift at the valve for lift at the lobe"),
        "valve_diameter": Attribute("length", "of the valve's head"),
        "stem_diameter": Attribute("length", "of the valve's stem"),
        "spring_rate": Attribute("stiffness", "of a valve spring"),
        "seat_force": Attribute("force", "of a valve spring at its installed height"),
        "installed_height": Attribute("length", "of a valve spring with the valve shut"),
        "coil_bind_height": Attribute("length", "of a valve spring with its coils shut"),
        "port_volume": Attribute("volume", "of one intake port"),
        "venturi": Attribute("length", "narrowest diameter of a carburetor's barrel"),
        "plate_hole": Attribute("length", "hole of a restrictor plate"),
        "thickness": Attribute("length", "of a spacer, plate or gasket"),
        "journal_diameter": Attribute("length", "of a crank's rod journal"),
        "main_diameter": Attribute("length", "of a crank's main journal, or of the bearings for it"),
        "pin_diameter": Attribute("length", "of a piston's pin, or of the rod's small end"),
        "guide_bore": Attribute("length", "hole of a valve guide, for the valve's stem"),
        "lifter_diameter": Attribute("length", "of a lifter's body"),
        "lifter_bore": Attribute("length", "hole of a block for a lifter"),
        "spring_diameter": Attribute("length", "outside of a valve spring"),
        "spring_seat": Attribute("length", "diameter of a head's pocket for a valve spring"),
        "pulley_diameter": Attribute("length", "where the belt runs"),
        "rpm_limit": Attribute("rotation", "speed at which an ignition box cuts out"),
        "material": Attribute("text", "what it is made of"),
        "mark": Attribute("text", "cast or stamped into it"),
        "flange": Attribute("text", "form of the face that it is bolted by, or of the faces that it takes"),
        "type": Attribute("text", "form of the part, as rule books name it"),
    }
)

#: What an attribute that a catalog declares itself may measure.
KINDS = ("text", *dict.fromkeys(what for what, _ in UNITS.values()))

#: Behind an attribute's name: how far a piece may be off that figure either way.
WITHIN = "_within"


def with_tolerances(known: Mapping[str, Attribute]) -> dict[str, Attribute]:
    """The attributes, and behind them a column of tolerances for each; words have one too, to be refused at its rows.

    >>> list(with_tolerances({"bore": ATTRIBUTES["bore"]}))
    ['bore', 'bore_within']
    """
    return {**known, **{name + WITHIN: Attribute(of.what, f"tolerance of {name}", False) for name, of in known.items()}}
