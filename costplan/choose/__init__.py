"""Choosing parts: what could stand in a slot and why the rest does not, and what would have to change for a book."""

from costplan.choose.alternatives import Alternative, alternatives, slots_with_choice, without_objection
from costplan.choose.remedies import Remedy, Standing, remedies, where_it_may_run

__all__ = [
    "Alternative",
    "Remedy",
    "Standing",
    "alternatives",
    "remedies",
    "slots_with_choice",
    "where_it_may_run",
    "without_objection",
]
