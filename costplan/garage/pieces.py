"""garage.csv: the pieces on hand, on engines and on the shelf, with the use they have so far."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import date
from pathlib import Path
from typing import Any, ClassVar

from pydantic import Field, ValidationInfo, field_validator, model_validator

from costplan.catalog import Catalog
from costplan.problems import Problem, Problems, nearest
from costplan.quantity import MEASURES, convert, dimension, nearest_unit
from costplan.reading import Record, Setting, is_there, read_records, read_table
from costplan.reading.fields import (
    Count,
    Day,
    Measured,
    Name,
    Text,
    Whole,
    YesNo,
    decimal_comma,
    refuse,
    to_decimal,
    units_of,
)

#: The carrier of the positions that follow whichever engine runs.
CAR = "car"
#: The measures that a garage row may give; days follow from `installed`.
USES = tuple(measure for measure in MEASURES if measure != "days")


class Piece(Record):
    """garage.csv"""

    KEY: ClassVar[str] = "piece"
    REST: ClassVar[str] = "use"
    piece: Name = Field(description="serial or name of the piece or set")
    serial: Text = Field(default="", description="number stamped into it")
    part: Name = Field(description="its part, in a catalog")
    engine: Text = Field(default="", description="engine it is on, 'car' for a shared position; empty: on the shelf")
    slot: Text = Field(default="", description="slot it is in; empty: on the shelf")
    count: Count | None = Field(
        default=None, description="pieces in the set; the slot's number where empty, 1 on the shelf"
    )
    alternate: Text = Field(default="", description="which alternate of the slot it is, where build.csv has several")
    step: Whole = Field(default=0, description="service steps it has been through; 0: as new")
    installed: Day | None = Field(default=None, description="day it was installed, for lives in days")
    bought: Day | None = Field(default=None, description="day it was bought, for clauses that keep older parts")
    spare: YesNo = Field(
        default=False,
        description="whether new pieces on the shelf are kept in the box for what breaks or is found worn; planned "
        "work leaves them there",
    )
    note: Text = Field(default="", description="anything worth keeping")
    use: dict[str, float] = Field(
        default={}, description=f"use so far, in columns of their own: {', '.join(USES)}, units as in fuel [gal]"
    )

    @field_validator("use", mode="before")
    @classmethod
    def _uses(cls, cells: dict[str, Measured], info: ValidationInfo) -> dict[str, float]:
        return use_in_kept_units(cells, info)

    @model_validator(mode="after")
    def _bought_first(self) -> Piece:
        if self.bought and self.installed and self.bought > self.installed:
            advice = f"give {self.installed} or an earlier day"
            raise refuse("GAR007", "bought after it was installed:", advice, "bought")
        return self

    @model_validator(mode="after")
    def _spare_and_new(self) -> Piece:
        if self.spare and (not self.on_shelf or self.is_used):
            raise refuse("GAR008", "only new pieces on the shelf are kept for what breaks:", "give no", "spare")
        return self

    @property
    def on_shelf(self) -> bool:
        return not self.engine

    @property
    def is_used(self) -> bool:
        """Whether the row says that it has run, is installed, or has been worked on."""
        return any(use > 0 for use in self.use.values()) or self.installed is not None or self.step > 0

    def age(self, measure: str, on: date) -> float | None:
        """Use so far in the unit the measure is kept in, days up to `on`; None where the row does not say."""
        if measure == "days":
            return None if self.installed is None else float((on - self.installed).days)
        return self.use.get(measure)


def use_in_kept_units(cells: Mapping[str, Measured], info: ValidationInfo) -> dict[str, float]:
    """Use by measure from columns that carry their units, in the units they are kept in; an empty cell is none."""
    return {name: _use(name, cell, comma=decimal_comma(info)) for name, cell in cells.items()}


def _use(name: str, cell: Measured, *, comma: bool) -> float:
    what, kept = MEASURES[name]
    if dimension(cell.unit or kept) != what:
        raise refuse("REA021", f"not a unit of {what}:", nearest_unit(cell.unit, units_of(what)), name)
    number = to_decimal(cell.text, comma=comma, field=name)
    if number < 0:
        raise refuse("REA018", "negative number:", "give 0 or more", name)
    return convert(float(number), cell.unit or kept, kept)


def read_garage(
    path: Path, catalog: Catalog, carriers: Collection[str], settings: tuple[Setting, ...] = ()
) -> tuple[tuple[Piece, ...], tuple[Problem, ...]]:
    """The pieces on hand, none where there is no file; `carriers`: the engines and the car."""
    if not is_there(path):
        return (), ()
    table, faults = read_table(path, "garage")
    problems = Problems(list(faults))
    if table is None:
        return (), faults
    pieces, faults = read_records(table, Piece, settings, free=USES)
    problems.extend(faults)
    for piece in pieces:
        part = catalog.parts.get(piece.part)
        if part is not None and piece.step > len(catalog.path_of(part)):
            advice = f"give at most {len(catalog.path_of(part))}; the path stands in service_steps.csv"
            problems.add("GAR006", piece.place, "step", piece.step, "a step past the end of its path:", advice)
        if not catalog.knows(piece.part):
            problems.add(
                "GAR001", piece.place, "part", piece.part, "an unknown part", nearest(piece.part, catalog.parts)
            )
        if piece.engine and piece.engine not in carriers:
            problems.add(
                "GAR002", piece.place, "engine", piece.engine, "an unknown engine", nearest(piece.engine, carriers)
            )
        if bool(piece.engine) != bool(piece.slot):
            advice = "give engine and slot, or neither for the shelf"
            problems.add("REA016", piece.place, "slot", piece.slot, "half a position", advice)
    problems.extend(_crowded(pieces))
    return pieces, tuple(problems.found)


def _crowded(pieces: tuple[Piece, ...]) -> tuple[Problem, ...]:
    """A problem for each second piece in one slot of one engine."""
    found, first = [], dict[tuple[str, str, str], Any]()
    for piece in pieces:
        key = (piece.engine, piece.slot, piece.alternate)
        if piece.slot and key in first:
            advice = f"put one on the shelf; the first is in {first[key]}"
            found.append(Problem("GAR003", piece.place, "slot", piece.slot, "a second piece in the slot", advice))
        first.setdefault(key, piece.place)
    return tuple(found)
