"""The cars at an event, as they were entered."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from pathlib import Path
from typing import ClassVar

from pydantic import Field

from costplan.problems import Place, Problem, Problems, nearest
from costplan.reading import Record, Setting, is_there, read_records, read_table
from costplan.reading.fields import Count, Name, Share, Text

#: Chance that a car, or an entry on a clause, is found to break something, where none is stated; a guess.
RISK = 0.05


class Entrant(Record):
    """entries.csv"""

    KEY: ClassVar[str] = "car"
    car: Name = Field(description="car number, once in a file")
    engine: Text = Field(
        default="", description="engine of this scenario that is in it; usually empty: its sheet is not known"
    )
    risk: Share = Field(
        default=RISK,
        description="stated chance that it breaks something, assumed where empty; what counts is how it stands to the "
        "other cars'",
    )
    seals: Text = Field(default="", description="its seals as entered")
    finish: Count | None = Field(
        default=None, description="place at the finish; of two alike the better placed goes first"
    )
    note: Text = Field(default="", description="anything worth keeping")

    @property
    def assumed(self) -> bool:
        """Whether nobody stated its risk."""
        return "risk" not in self.model_fields_set


def read_entrants(path: Path, settings: tuple[Setting, ...] = ()) -> tuple[tuple[Entrant, ...], tuple[Problem, ...]]:
    """The cars at an event, none where there is no file. Whether their engines exist: `check_entrants`."""
    if not is_there(path):
        return (), ()
    table, faults = read_table(path, path.stem)
    if table is None:
        return (), faults
    rows, more = read_records(table, Entrant, settings)
    return rows, (*faults, *more)


def check_entrants(rows: Iterable[Entrant], engines: Collection[str]) -> tuple[Problem, ...]:
    """A problem for each car with an engine that is not known, or that another car has."""
    problems, first = Problems(), dict[str, Place]()
    for row in rows:
        if row.engine and row.engine not in engines:
            problems.add("ENT001", row.place, "engine", row.engine, "an unknown engine", nearest(row.engine, engines))
        elif row.engine and row.engine in first:
            advice = f"an engine is in one car; the first is in {first[row.engine]}"
            problems.add("ENT002", row.place, "engine", row.engine, "a second car with the engine", advice)
        first.setdefault(row.engine, row.place)
    return tuple(problems.found)


def no_entrants(folder: str) -> Problem:
    """The problem that nobody said which cars are there."""
    place = Place(f"{folder}/entries.csv")
    return Problem("REA001", place, "", "", "no car to inspect", "write the file: a heading 'car', and a row for each")
