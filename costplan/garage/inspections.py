"""inspections.csv: what an inspection found of a clause, on an engine or a car: a verdict, a reading, or both."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, ValidationInfo, field_validator, model_validator

from costplan.problems import Problem, Problems, nearest
from costplan.quantity import UNITS, Quantity, nearest_unit
from costplan.reading import Record, Setting, is_there, read_records, read_table
from costplan.reading.fields import Day, Kind, Name, NotNegative, Text, decimal_comma, refuse, to_decimal, to_text

#: What is meant as a number, well written or not. A mark 058, a firmware 2.1.7 and a chip 1E3 are words.
NUMBER = re.compile(
    r"[+\-\u2212]?"
    r"((0|[1-9][0-9]*)([.,][0-9]*)?|[.,][0-9]+|[1-9][0-9]{0,2}([.,\u00a0][0-9]{3})+([.,][0-9]+)?|nan|inf|infinity)",
    re.IGNORECASE,
)


def to_reading(value: Any, info: ValidationInfo) -> Decimal | str:
    """A number where the cell is meant as one, else a word: what a clause asks for is not known here."""
    if isinstance(value, Decimal):
        return value
    text = to_text(value)
    if NUMBER.fullmatch(text):
        return to_decimal(text, comma=decimal_comma(info))
    number, _, unit = text.partition(" ")
    if NUMBER.fullmatch(number) and unit.strip() in UNITS:
        raise refuse("REA021", "a unit in the cell of its number:", "write it in the column unit")
    return text


class Inspected(Record):
    """inspections.csv"""

    engine: Name = Field(description="engine, 'car' for shared parts, or car number in an official's results")
    pack: Text = Field(default="", description="file of the rule pack, without .toml, where two packs have the rule")
    rule: Name = Field(description="id of the clause that was inspected")
    found: Literal["meets", "breaks"] | None = Field(
        default=None, description="what the inspector found; empty: the value tells"
    )
    value: Annotated[Decimal | str, BeforeValidator(to_reading), Kind("number or word")] | None = Field(
        default=None, description="what was read; empty: a look was enough"
    )
    unit: Text = Field(default="", description="unit of the value; empty for a word or a bare number")
    uncertainty: NotNegative | None = Field(
        default=None,
        description="expanded uncertainty of the value, in its unit (coverage factor 2, about 95 %); empty: not stated",
    )
    date: Day = Field(description="day it was inspected")
    by: Name = Field(description="who inspected it")
    instrument: Text = Field(default="", description="what it was inspected with")
    note: Text = Field(default="", description="anything worth keeping")

    @field_validator("unit")
    @classmethod
    def _known_unit(cls, unit: str) -> str:
        if unit and unit not in UNITS:
            raise refuse("REA021", "an unknown unit:", nearest_unit(unit, UNITS))
        return unit

    @model_validator(mode="after")
    def _finds_something(self) -> Inspected:
        if self.found is None and self.value is None:
            advice = "give found (meets or breaks), value, or both"
            raise refuse("INS001", "a result that finds nothing", advice, "found")
        if not isinstance(self.value, Decimal):
            advice = "give the number in value, or leave this empty"
            if self.unit:
                raise refuse("INS002", "a unit without a number:", advice, "unit")
            if self.uncertainty is not None:
                raise refuse("INS002", "an uncertainty without a number:", advice, "uncertainty")
        return self

    @property
    def reading(self) -> Quantity | str | None:
        """The value with its unit, or the word; None where nothing was read."""
        return Quantity(float(self.value), self.unit or "1") if isinstance(self.value, Decimal) else self.value

    @property
    def spread(self) -> Quantity | None:
        """The uncertainty with its unit; None where none is stated."""
        return None if self.uncertainty is None else Quantity(self.uncertainty, self.unit or "1")

    def __str__(self) -> str:
        said = ", ".join(str(what) for what in (self.found, self.reading) if what is not None)
        tool = f"with {self.instrument}" if self.instrument else ""
        words = (f"inspected: {said} on {self.date} by {self.by}", tool, f"({self.place})")
        return " ".join(word for word in words if word)


def read_inspections(
    path: Path, settings: tuple[Setting, ...] = ()
) -> tuple[tuple[Inspected, ...], tuple[Problem, ...]]:
    """The results of inspections, none where there is no file; `--set` reaches them by the file's name without .csv.

    Whether their engines, packs and rules exist: `check_inspections`.
    """
    if not is_there(path):
        return (), ()
    table, faults = read_table(path, path.stem)
    if table is None:
        return (), faults
    rows, more = read_records(table, Inspected, settings)
    return rows, (*faults, *more)


def latest(rows: Sequence[Inspected], engine: str, rule: str, pack: str) -> Inspected | None:
    """The result that counts for a clause on an engine: the latest day's, of one day the later row's; None without.

    A row that names no pack speaks of the clause in whatever pack it stands.
    """
    asked = [row for row in rows if (row.engine, row.rule) == (engine, rule) and row.pack in ("", pack)]
    return max(reversed(asked), key=lambda row: row.date, default=None)


def check_inspections(
    rows: Iterable[Inspected], engines: Collection[str], rules: Mapping[str, Collection[str]]
) -> tuple[Problem, ...]:
    """A problem for each result of an unknown engine, pack or rule, and of a rule that more than one pack could mean.

    `engines`: all that may stand in the column engine; `rules`: by the name of each pack's file, without .toml, the ids
    of its clauses.
    """
    problems = Problems()
    for row in rows:
        if row.engine not in engines:
            near = nearest(row.engine, engines)
            problems.add("INS003", row.place, "engine", row.engine, "an unknown engine or car", near)
        if row.pack and row.pack not in rules:
            problems.add("INS004", row.place, "pack", row.pack, "an unknown rule pack", nearest(row.pack, rules))
        else:
            _check_rule(row, {row.pack: rules[row.pack]} if row.pack else rules, problems)
    return tuple(problems.found)


def _check_rule(row: Inspected, rules: Mapping[str, Collection[str]], problems: Problems) -> None:
    """A problem if not exactly one of the packs that a result may mean has its rule."""
    having = [pack for pack, ids in rules.items() if row.rule in ids]
    if not having:
        near = nearest(row.rule, dict.fromkeys(rule for ids in rules.values() for rule in ids))
        problems.add("INS005", row.place, "rule", row.rule, "an unknown rule", near)
    elif len(having) > 1:
        advice = f"give its pack: {' or '.join(having)}"
        problems.add("INS006", row.place, "pack", row.rule, "several packs have the rule", advice)
