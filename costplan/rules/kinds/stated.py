"""Kinds that are words alone: what only an inspector sees, and what is done at events."""

from __future__ import annotations

from collections.abc import Iterator

from pydantic import Field

from costplan.garage import Inspected
from costplan.problems import Problem
from costplan.reading.fields import Words
from costplan.rules.answers import Answer
from costplan.rules.clause import Test
from costplan.rules.evidence import Evidence
from costplan.rules.kinds.common import Kind, Known, Where, either, named_slots, no_part, slot_faults


class Seen(Test):
    """kind = "inspection": only an inspector can see it"""

    slot: Words = Field(default=(), description="slot it speaks of, or several")


class Conduct(Test):
    """kind = "conduct": what is done at events, such as claims, draws, protests and penalties; words alone"""

    slot: Words = Field(default=(), description="slot it speaks of, or several")


def _stated(test: Seen | Conduct, evidence: Evidence, seen: Inspected | None) -> Answer:
    """Nothing on paper speaks for or against it; an empty slot that may be empty is not asked."""
    del seen
    empty = no_part(test.slot, evidence) if test.slot else None
    return empty if empty is not None and empty.on_paper == "not asked" else Answer("meets")


def _stated_faults(test: Seen | Conduct, known: Known, where: Where) -> Iterator[Problem]:
    yield from slot_faults(test.slot, known, where)


def _stated_words(test: Seen | Conduct) -> str:
    what = "inspection" if isinstance(test, Seen) else "what is done at events"
    return f"{what}{f': {either(test.slot)}' if test.slot else ''}"


INSPECTION = Kind("inspection", Seen, _stated_faults, _stated, named_slots, _stated_words, ("inspection",))
CONDUCT = Kind("conduct", Conduct, _stated_faults, _stated, named_slots, _stated_words, ("event log",))
