"""Choosing parts: what could stand in a slot, what it costs there, and why the rest does not fit."""

from costplan.choose.alternatives import Alternative, alternatives, slots_with_choice, without_objection

__all__ = ["Alternative", "alternatives", "slots_with_choice", "without_objection"]
