"""Builds: engine patterns, what fills their slots, the bill of materials and the measures that follow."""

from costplan.build.bench_check import MEASURED, check_bench
from costplan.build.bill import Bill, BillLine, Saving, bill_for, bill_of, check_kits, kit_deposits
from costplan.build.build_file import read_build
from costplan.build.figures import Figure, Figures, Word
from costplan.build.fits import FitFinding, check_fits, find_fit, fits_of, is_asked, reads_of
from costplan.build.measures import COUNT, INPUTS, MEANINGS, MEASURES_OF_BUILD, PRICE, Measure
from costplan.build.names import attributes_behind, slots_behind, what_is_wrong, what_of
from costplan.build.pattern import Alternate, Build, Fill, Fit, Line, Pattern, PatternHeader, Reference, Slot
from costplan.build.pattern_file import attributes_of, read_pattern
from costplan.build.spread import Source, Spread
from costplan.build.standing import done_to, standing, with_part

__all__ = [
    "COUNT",
    "INPUTS",
    "MEANINGS",
    "MEASURED",
    "MEASURES_OF_BUILD",
    "PRICE",
    "Alternate",
    "Bill",
    "BillLine",
    "Build",
    "Figure",
    "Figures",
    "Fill",
    "Fit",
    "FitFinding",
    "Line",
    "Measure",
    "Pattern",
    "PatternHeader",
    "Reference",
    "Saving",
    "Slot",
    "Source",
    "Spread",
    "Word",
    "attributes_behind",
    "attributes_of",
    "bill_for",
    "bill_of",
    "check_bench",
    "check_fits",
    "check_kits",
    "done_to",
    "find_fit",
    "fits_of",
    "is_asked",
    "kit_deposits",
    "read_build",
    "read_pattern",
    "reads_of",
    "slots_behind",
    "standing",
    "what_is_wrong",
    "what_of",
    "with_part",
]
