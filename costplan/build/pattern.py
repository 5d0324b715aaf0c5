"""An engine pattern lists slots and says where the inputs of measures come from; a build fills the slots."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, ClassVar

from pydantic import Field, field_validator

from costplan.build.measures import INPUTS, MEASURES_OF_BUILD
from costplan.catalog import ATTRIBUTES, Catalog, Part
from costplan.problems import Place, Problem, Problems, nearest
from costplan.quantity import Quantity, dimension
from costplan.reading import (
    Document,
    Record,
    Setting,
    read_head,
    read_parts,
    read_records,
    read_table,
    read_toml,
)
from costplan.reading.fields import Count, Name, Text, YesNo, refuse, to_decimal, units_of


class Slot(Record):
    """[[slot]] of pattern.toml"""

    KEY: ClassVar[str] = "slot"
    slot: Name = Field(description="name of the place in the engine, without blanks: intake-spring")
    role: Name = Field(description="role that a part here must have")
    quantity: Count = Field(default=1, description="pieces")
    optional: YesNo = Field(default=False, description="whether the engine runs without it")
    weighed: YesNo = Field(default=True, description="whether it counts in the engine's mass")

    @field_validator("slot")
    @classmethod
    def _one_word(cls, value: str) -> str:
        if " " in value or "." in value:
            raise refuse("REA017", "a slot's name with a blank or a point:", "join its words with '-'")
        return value


class PatternHeader(Record):
    """pattern.toml"""

    name: Name = Field(description="name of the engine pattern")
    note: Text = Field(default="", description="what a reader should know of it")
    inputs: dict[str, Any] = Field(
        default={}, description="inputs of the measures: a number (with its unit in quotes) or slot.attribute"
    )
    units: dict[str, Name] = Field(
        default={}, description='units in which measures are shown: {displacement = "in3"}; else their own'
    )
    slot: tuple[Any, ...] = Field(default=(), description="the slots, each a table [[slot]]")


@dataclass(frozen=True, slots=True)
class Reference:
    """An input that is an attribute of the part in a slot."""

    slot: str
    attribute: str


@dataclass(frozen=True, slots=True)
class Pattern:
    """An engine's slots by name, and its inputs: each a quantity or a reference, with the place it is written.

    `attributes`: the attributes that parts of the catalogs have, with what each measures.
    """

    name: str
    slots: Mapping[str, Slot]
    inputs: Mapping[str, tuple[Quantity | Reference, Place]]
    file: str = ""
    attributes: Mapping[str, str] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)


class Line(Record):
    """build.csv"""

    KEY: ClassVar[str] = "slot"
    slot: Name = Field(description="slot of the engine pattern")
    part: Name = Field(description="part that fills it")
    note: Text = Field(default="", description="anything worth keeping")


@dataclass(frozen=True, slots=True)
class Fill:
    """A filled slot: the part in it and the row of the build that says so."""

    slot: Slot
    part: Part
    place: Place


@dataclass(frozen=True, slots=True)
class Build:
    """An engine as planned: its pattern and what fills each slot."""

    pattern: Pattern
    fills: Mapping[str, Fill]

    def part(self, slot: str) -> Part | None:
        return self.fills[slot].part if slot in self.fills else None


def read_pattern(
    path: Path, catalog: Catalog, settings: tuple[Setting, ...] = ()
) -> tuple[Pattern | None, tuple[Problem, ...]]:
    """The pattern in a TOML file, checked against the roles of the catalogs."""
    document, faults = read_toml(path, "pattern", settings)
    problems = Problems(list(faults))
    if document is None:
        return None, faults
    header, faults = read_head(document, PatternHeader, name="?")
    problems.extend(faults)
    slots, faults = read_parts(document, "slot", Slot)
    problems.extend(faults)
    for slot in slots:
        if slot.role not in catalog.roles:
            advice = f"add it to roles.csv; {nearest(slot.role, catalog.roles)}"
            problems.add("CAT002", slot.place, "role", slot.role, "an unknown role", advice)
        elif catalog.whole and not catalog.of_role(slot.role):
            advice = "add a part with this role to a catalog, or give the slot another"
            problems.add("BLD004", slot.place, "role", slot.role, "a role that no part has:", advice)
    if header is None:
        return None, tuple(problems.found)
    by_name = {slot.slot: slot for slot in slots}
    inputs, measured = {}, catalog.measured()
    for name, value in header.inputs.items():
        found = _read_input(name, value, by_name, measured, document, problems)
        if found is not None:
            inputs[name] = (found, document.place(("inputs", name)))
    _check_units(header, document, problems)
    pattern = Pattern(header.name, by_name, inputs, document.file, measured, header.units)
    return pattern, tuple(problems.found)


def _check_units(header: PatternHeader, document: Document, problems: Problems) -> None:
    """Each measure is shown in a unit of what it measures."""
    for name, unit in header.units.items():
        place, key = document.place(("units", name)), f"units.{name}"
        if name not in MEASURES_OF_BUILD or not MEASURES_OF_BUILD[name].unit:
            problems.add("REA015", place, key, unit, "an unknown measure", nearest(name, MEASURES_OF_BUILD))
            continue
        what = dimension(MEASURES_OF_BUILD[name].unit) or ""
        if dimension(unit) != what:
            problems.add("REA021", place, key, unit, f"not a unit of {what}:", nearest(unit, units_of(what)))


def _read_input(
    name: str, value: Any, slots: Mapping[str, Slot], known: Mapping[str, str], document: Document, problems: Problems
) -> Quantity | Reference | None:
    """One input: a number, "7400 rpm" or "crank.stroke"."""
    place, key = document.place(("inputs", name)), f"inputs.{name}"
    if name not in INPUTS:
        problems.add("REA015", place, key, value, "an unknown input", nearest(name, INPUTS))
        return None
    if isinstance(value, str) and value.count(".") == 1 and value[:1].isalpha():
        slot, attribute = value.split(".")
        if slot not in slots:
            problems.add("BLD006", place, key, value, "an input from an unknown slot", nearest(slot, slots))
            return None
        if attribute not in known:
            problems.add(
                "BLD006", place, key, value, "an input from an attribute that no part has", nearest(attribute, known)
            )
            return None
        if known[attribute] != INPUTS[name]:
            what = f"an input from a {known[attribute]}, not a {INPUTS[name]}:"
            problems.add("BLD006", place, key, value, what, f"give an attribute that is a {INPUTS[name]}")
            return None
        return Reference(slot, attribute)
    return _plain_input(INPUTS[name], value, place, key, problems)


def _plain_input(what: str, value: Any, place: Place, key: str, problems: Problems) -> Quantity | None:
    number, unit = value, "1"
    if isinstance(value, str):
        number, _, unit = value.strip().partition(" ")
        unit = unit or "1"
    if dimension(unit.strip()) != what:
        advice = f'give a number with a unit of {what} in quotes, or "slot.attribute"'
        problems.add("REA021", place, key, value, f"not a {what}:", advice)
        return None
    try:
        quantity = Quantity(float(to_decimal(number)), unit.strip())
    except (ValueError, ArithmeticError, TypeError):
        problems.add("BLD006", place, key, value, "an input that is no number:", 'give a number or "slot.attribute"')
        return None
    attribute = ATTRIBUTES.get(key.removeprefix("inputs."))
    if quantity.value <= 0 and (attribute is None or attribute.positive):
        problems.add("REA018", place, key, value, "not above zero:", "give more than 0")
        return None
    return quantity


def read_build(
    path: Path, pattern: Pattern, catalog: Catalog, settings: tuple[Setting, ...] = ()
) -> tuple[Build, tuple[Problem, ...]]:
    """The build in a CSV file; slots at fault stay empty."""
    table, faults = read_table(path, path.stem)
    problems = Problems(list(faults))
    lines: tuple[Line, ...] = ()
    if table is not None:
        lines, faults = read_records(table, Line, settings)
        problems.extend(faults)
    fills = {}
    for line in lines:
        slot, part = pattern.slots.get(line.slot), catalog.parts.get(line.part)
        if slot is None:
            problems.add("BLD001", line.place, "slot", line.slot, "an unknown slot", nearest(line.slot, pattern.slots))
        if line.part not in catalog.written:
            problems.add("BLD002", line.place, "part", line.part, "an unknown part", nearest(line.part, catalog.parts))
        if slot is None or part is None:
            continue
        if part.role != slot.role and {part.role, slot.role} <= catalog.roles.keys():
            others = ", ".join(other.part for other in catalog.of_role(slot.role)[:6]) or "none"
            advice = f"give one with role {slot.role}: {others}"
            problems.add("BLD003", line.place, "part", line.part, f"a part with role {part.role}", advice)
            continue
        fills[slot.slot] = Fill(slot, part, line.place)
    if table is not None:
        named = {line.slot for line in lines}
        for slot in pattern.slots.values():
            if not slot.optional and slot.slot not in named:
                advice = f"add a row with a part of role {slot.role}"
                problems.add("BLD005", Place(table.file), "slot", slot.slot, "a needed slot is empty:", advice)
    return Build(pattern, fills), tuple(problems.found)
