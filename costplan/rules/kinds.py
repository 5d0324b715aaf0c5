"""The kinds of rule, in one table: what a clause of each kind says, and how a build answers it.

A finding's verdict is *meets*, *breaks* or *cannot be shown*. Whatever needs more than a parts list (a measurement, an
inspection, a document) cannot be shown from files, however well it looks `on_paper`: officials and their gauges decide.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, ClassVar, Literal

from pydantic import Field, field_validator

from costplan.build import COUNT, Figures, Pattern, slots_behind, what_is_wrong, what_of
from costplan.problems import Problem, nearest
from costplan.quantity import UNITS, Quantity, dimension
from costplan.reading import Record
from costplan.reading.fields import Name, NotNegative, Text, Words, refuse, to_decimal

Verdict = Literal["meets", "breaks", "cannot be shown"]
PROOFS = ("list", "measurement", "inspection", "document", "event log")
#: Above rounding noise of floats, far below anything a gauge reads.
SLACK = 1e-9


class Rule(Record):
    """Keys of every [[rule]]"""

    KEY: ClassVar[str] = "id"
    id: Name = Field(description="the clause's short name, once in a pack")
    kind: Name = Field(description="one of the kinds below")
    says: Text = Field(description="what it says, in the pack author's words")
    book: Text = Field(default="", description="chapter or section of the book")
    page: Text = Field(default="", description="page of the book")
    proof: Words = Field(default=(), description=f"what shows it beyond the parts list: {', '.join(PROOFS[1:])}")
    minutes: NotNegative = Field(default=0, description="minutes to inspect it")
    tool: Text = Field(default="", description="what it is inspected with")

    @field_validator("proof")
    @classmethod
    def _known_proofs(cls, value: tuple[str, ...]) -> tuple[str, ...]:
        for word in value:
            if word not in PROOFS:
                raise refuse("REA020", "not a proof:", nearest(word, PROOFS))
        return value


class SpecPart(Rule):
    """kind = "spec part": one part and no other"""

    slot: Name = Field(description="slot it speaks of")
    part: Name = Field(description="the only part allowed")
    mark: Text = Field(default="", description="mark that an inspector must be able to read")


class ApprovedList(Rule):
    """kind = "approved list": any part of a list"""

    slot: Name = Field(description="slot it speaks of")
    parts: Words = Field(description="the parts allowed")


class Limit(Rule):
    """kind = "limit": a measure, a count of pieces or a slot's attribute, not below min, not above max"""

    of: Name = Field(description="a measure (displacement), slot.attribute (crank.stroke) or count.role (count.rocker)")
    min: Any = Field(default=None, description='least value, its unit in quotes: "300 in3"')
    max: Any = Field(default=None, description='greatest value, its unit in quotes: "330 in3"')

    @field_validator("min", "max")
    @classmethod
    def _quantity(cls, value: Any) -> Quantity | None:
        return None if value is None else to_quantity(value)


class Inspection(Rule):
    """kind = "inspection": only an inspector can see it"""

    slot: Text = Field(default="", description="slot it speaks of, if it is one")


def slots_of(rule: Rule, pattern: Pattern) -> tuple[str, ...]:
    """The slots that a clause speaks of, also through the inputs of a measure."""
    if isinstance(rule, Limit):
        return slots_behind(rule.of, pattern)
    slot = rule.slot if isinstance(rule, SpecPart | ApprovedList | Inspection) else ""
    return (slot,) if slot else ()


def to_quantity(value: Any) -> Quantity:
    """A bound of a limit: a bare number, or number and unit in quotes."""
    number, _, unit = value.strip().partition(" ") if isinstance(value, str) else (value, "", "")
    if unit and unit.strip() not in UNITS:
        raise refuse("REA021", "an unknown unit:", nearest(unit, UNITS))
    return Quantity(float(to_decimal(number)), unit.strip() or "1")


@dataclass(frozen=True, slots=True)
class Finding:
    """How a build answers a clause: `at_fault` names slots and parts, `owed` what still must be brought."""

    rule: str
    kind: str
    says: str
    clause: str
    verdict: Verdict
    on_paper: Verdict
    at_fault: tuple[str, ...]
    value: Quantity | None
    limit: str
    margin: Quantity | None
    owed: tuple[str, ...]
    tool: str
    minutes: float
    why: tuple[str, ...]
    place: str


@dataclass(frozen=True, slots=True)
class _Answer:
    """What a kind's own check finds: on paper, and what it rests on."""

    on_paper: Verdict
    at_fault: tuple[str, ...] = ()
    value: Quantity | None = None
    limit: str = ""
    margin: Quantity | None = None
    owed: tuple[str, ...] = ()
    why: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class RuleKind:
    """A kind: its record, the faults of a clause against a pattern, and the check of a build."""

    name: str
    record: type[Any]
    faults: Callable[[Any, Pattern], tuple[Problem, ...]]
    check: Callable[[Any, Figures], _Answer]


def find(rule: Rule, figures: Figures) -> Finding:
    """The finding of one clause for one build."""
    answer = KINDS[rule.kind].check(rule, figures)
    proofs = tuple(proof for proof in rule.proof if proof != "list")
    owed = (*answer.owed, *proofs)
    verdict: Verdict = "cannot be shown" if owed and answer.on_paper == "meets" else answer.on_paper
    clause = ", ".join(word for word in (rule.book, rule.page and f"page {rule.page}") if word)
    return Finding(
        rule.id,
        rule.kind,
        rule.says,
        clause,
        verdict,
        answer.on_paper,
        answer.at_fault,
        answer.value,
        answer.limit,
        answer.margin,
        owed if verdict == "cannot be shown" else (),
        rule.tool,
        rule.minutes,
        answer.why,
        str(rule.place),
    )


def _slot_faults(rule: SpecPart | ApprovedList | Inspection, pattern: Pattern) -> tuple[Problem, ...]:
    if not rule.slot or rule.slot in pattern.slots:
        return ()
    advice = nearest(rule.slot, pattern.slots)
    return (Problem("RUL002", rule.place, f"{rule.id}.slot", rule.slot, "a slot that the pattern lacks:", advice),)


def _limit_faults(rule: Limit, pattern: Pattern) -> tuple[Problem, ...]:
    """What is wrong with a limit: its slot, attribute or measure, else its bounds."""
    slot, point, _ = rule.of.partition(".")
    what = what_of(rule.of, pattern)
    if what == "text":
        advice = "give one that is a number, or an approved list of parts"
        return (_fault(rule, "RUL003", "of", rule.of, "an attribute that is a word:", advice),)
    if not what:
        code = "RUL002" if point and slot not in (COUNT, *pattern.slots) else "RUL003"
        return (_fault(rule, code, "of", rule.of, *what_is_wrong(rule.of, pattern)),)
    return _bound_faults(rule, what)


def _bound_faults(rule: Limit, what: str) -> tuple[Problem, ...]:
    """What is wrong with the bounds of a limit on something that measures `what`."""
    if rule.min is None and rule.max is None:
        return (_fault(rule, "RUL004", "max", "", "a limit without bounds", "give min, max or both"),)
    bounds = [(name, bound) for name, bound in (("min", rule.min), ("max", rule.max)) if bound]
    wrong = tuple(
        _fault(rule, "REA021", name, str(bound), f"a bound that is no {what}:", f"give a unit of {what} in quotes")
        for name, bound in bounds
        if dimension(bound.unit) != what
    )
    if wrong or len(bounds) < 2 or rule.min.to(rule.max.unit) <= rule.max.value:
        return wrong
    return (_fault(rule, "RUL004", "min", str(rule.min), "a min above the max:", f"give at most {rule.max}"),)


def _fault(rule: Rule, code: str, key: str, value: str, what: str, advice: str) -> Problem:
    return Problem(code, rule.place, f"{rule.id}.{key}", value, what, advice)


def _check_spec_part(rule: SpecPart, figures: Figures) -> _Answer:
    answer = _check_parts(rule.slot, (rule.part,), figures)
    return answer if not rule.mark else _with_owed(answer, f"inspection of the mark {rule.mark}")


def _with_owed(answer: _Answer, owed: str) -> _Answer:
    return _Answer(answer.on_paper, answer.at_fault, limit=answer.limit, owed=(*answer.owed, owed), why=answer.why)


def _check_parts(slot: str, allowed: tuple[str, ...], figures: Figures) -> _Answer:
    """Whether the part in a slot is among those allowed."""
    limit = " or ".join(allowed)
    fill = figures.build.fills.get(slot)
    if fill is None:
        return _Answer("cannot be shown", limit=limit, owed=(f"a part in slot {slot}",))
    why = (f"{fill.part.part} in {slot} ({fill.place})",)
    if fill.part.part in allowed:
        return _Answer("meets", limit=limit, why=why)
    return _Answer("breaks", (f"{slot}: {fill.part.part}",), limit=limit, why=why)


def _check_limit(rule: Limit, figures: Figures) -> _Answer:
    figure = figures.named(rule.of)
    limit = _bounds_in_words(rule)
    if figure.value is None:
        return _Answer("cannot be shown", limit=limit, owed=figure.missing, why=figure.why)
    unit = next(bound.unit for bound in (rule.max, rule.min) if bound)
    if dimension(figure.value.unit) != dimension(unit):
        return _Answer("cannot be shown", limit=limit, owed=(f"{rule.of} in a unit like {unit}",), why=figure.why)
    value = figure.value.into(unit)
    margin = _margin(value.value, rule, unit)
    slack = SLACK * max(1.0, abs(value.value))
    at_fault = figure.why if margin < -slack else ()
    return _Answer(
        "breaks" if at_fault else "meets", at_fault, value, limit, Quantity(margin, value.unit), why=figure.why
    )


def _margin(value: float, rule: Limit, unit: str) -> float:
    """How far a value is inside its bounds; negative outside."""
    below = math.inf if rule.max is None else rule.max.to(unit) - value
    above = math.inf if rule.min is None else value - rule.min.to(unit)
    return min(below, above)


def _bounds_in_words(rule: Limit) -> str:
    words = []
    if rule.min is not None:
        words.append(f"at least {rule.min}")
    if rule.max is not None:
        words.append(f"at most {rule.max}")
    return ", ".join(words)


def _check_inspection(rule: Inspection, figures: Figures) -> _Answer:
    del figures
    return _Answer("cannot be shown", owed=() if "inspection" in rule.proof else ("inspection",))


KINDS = MappingProxyType(
    {
        kind.name: kind
        for kind in (
            RuleKind("spec part", SpecPart, _slot_faults, _check_spec_part),
            RuleKind(
                "approved list",
                ApprovedList,
                _slot_faults,
                lambda rule, figures: _check_parts(rule.slot, rule.parts, figures),
            ),
            RuleKind("limit", Limit, _limit_faults, _check_limit),
            RuleKind("inspection", Inspection, _slot_faults, _check_inspection),
        )
    }
)
