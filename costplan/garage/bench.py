"""bench.csv: values that somebody measured, on the parts of the planned build or on a real engine."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path
from typing import Annotated, Any

from pydantic import BeforeValidator, Field, ValidationInfo, model_validator

from costplan.catalog import ATTRIBUTES
from costplan.problems import Problem, Problems
from costplan.quantity import Quantity, dimension
from costplan.reading import Record, Setting, is_there, read_records, read_table
from costplan.reading.fields import (
    Day,
    Kind,
    Name,
    NotNegative,
    Text,
    decimal_comma,
    refuse,
    to_decimal,
    to_text,
    units_of,
)


def to_value(value: Any, info: ValidationInfo) -> Decimal | str:
    """A number, or a word where a word is measured; as it stands where the context does not know what is measured."""
    what = _what(info, info.data.get("slot", ""), info.data.get("attribute", ""))
    if isinstance(value, Decimal):
        return value
    return to_text(value) if what in ("text", "") else to_decimal(value, comma=decimal_comma(info))


def _what(info: ValidationInfo, slot: str, attribute: str) -> str:
    """What an attribute of a slot's part, or a measure, measures; '' for an unknown one."""
    kinds = (info.context or {}).get("attributes" if slot else "measures", {})
    return str(kinds.get(attribute, ""))


class Bench(Record):
    """bench.csv"""

    engine: Text = Field(default="", description="engine it was measured on, or 'car'; empty: the build as planned")
    slot: Text = Field(default="", description="slot whose part was measured; empty: a measure of the whole engine")
    attribute: Name = Field(description="attribute of the part; without a slot a measure, or an input of measures")
    value: Annotated[Decimal | str, BeforeValidator(to_value), Kind("number or word")] = Field(
        description="what was measured, of one piece"
    )
    unit: Text = Field(default="", description="unit of the value; empty for a word or a bare number")
    uncertainty: NotNegative | None = Field(
        default=None,
        description="expanded uncertainty of the value, in its unit (coverage factor 2, about 95 %); empty: not stated",
    )
    date: Day = Field(description="day it was measured")
    by: Text = Field(default="", description="who measured it")
    instrument: Text = Field(default="", description="what it was measured with")
    note: Text = Field(default="", description="anything worth keeping")

    @model_validator(mode="after")
    def _in_its_unit(self, info: ValidationInfo) -> Bench:
        what = _what(info, self.slot, self.attribute)
        if not what:
            return self
        if isinstance(self.value, str):
            if self.unit:
                raise refuse("REA021", "a word takes no unit:", "leave it empty", "unit")
            if self.uncertainty is not None:
                raise refuse("REA017", "a word takes no uncertainty:", "leave it empty", "uncertainty")
            return self
        if dimension(self.unit or "1") != what:
            fault = f"not a unit of {what}:" if self.unit else f"a {what} without a unit"
            raise refuse("REA021", fault, f"give one: {', '.join(units_of(what))}", "unit")
        known_as = ATTRIBUTES.get(self.attribute)
        if known_as is not None and known_as.positive and self.value <= 0:
            raise refuse("REA018", "not above zero:", "give more than 0", "value")
        return self

    @property
    def found(self) -> Quantity | str:
        """The value with its unit, or the word."""
        return self.value if isinstance(self.value, str) else Quantity(float(self.value), self.unit or "1")

    @property
    def spread(self) -> Quantity | None:
        """The expanded uncertainty with its unit (JCGM 100:2008, 6.2, from memory); None where none is stated."""
        return None if self.uncertainty is None else Quantity(self.uncertainty, self.unit or "1")

    def __str__(self) -> str:
        found = f"{self.found} ± {self.spread}" if self.spread else f"{self.found}"
        words = (f"measured {found} on {self.date}", self.by and f"by {self.by}")
        tool = f"with {self.instrument}" if self.instrument else ""
        return " ".join(word for word in (*words, tool, f"({self.place})") if word)


def read_bench(
    path: Path, attributes: Mapping[str, str], measures: Mapping[str, str], settings: tuple[Setting, ...] = ()
) -> tuple[tuple[Bench, ...], tuple[Problem, ...]]:
    """The rows of the bench, none where there is no file.

    `attributes` and `measures`: by name what each measures ('text' for a word).
    """
    if not is_there(path):
        return (), ()
    table, faults = read_table(path, "bench")
    problems = Problems(list(faults))
    if table is None:
        return (), faults
    rows, faults = read_records(table, Bench, settings, context={"attributes": attributes, "measures": measures})
    problems.extend((*faults, *_twice(rows)))
    return rows, tuple(problems.found)


def _twice(rows: tuple[Bench, ...]) -> tuple[Problem, ...]:
    """A problem for each second row of one value."""
    found, first = [], dict[tuple[str, str, str], Bench]()
    for row in rows:
        key = (row.engine, row.slot, row.attribute)
        if key in first:
            advice = f"keep one; the first is in {first[key].place}"
            found.append(Problem("BEN003", row.place, "attribute", row.attribute, "measured a second time:", advice))
        first.setdefault(key, row)
    return tuple(found)
