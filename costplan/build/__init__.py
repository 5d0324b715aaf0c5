"""Builds: engine patterns, what fills their slots, the bill of materials and the measures that follow."""

from costplan.build.bill import Bill, BillLine, bill_of, packs_for
from costplan.build.figures import Figure, Figures
from costplan.build.measures import INPUTS, MEASURES_OF_BUILD, Measure
from costplan.build.pattern import (
    Build,
    Fill,
    Line,
    Pattern,
    PatternHeader,
    Reference,
    Slot,
    read_build,
    read_pattern,
)

__all__ = [
    "INPUTS",
    "MEASURES_OF_BUILD",
    "Bill",
    "BillLine",
    "Build",
    "Figure",
    "Figures",
    "Fill",
    "Line",
    "Measure",
    "Pattern",
    "PatternHeader",
    "Reference",
    "Slot",
    "bill_of",
    "packs_for",
    "read_build",
    "read_pattern",
]
