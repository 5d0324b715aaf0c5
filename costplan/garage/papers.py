"""papers.csv: the documents of engines and their parts: receipts, seals, passports, certificates, leave to repair."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from pathlib import Path

from pydantic import Field, model_validator

from costplan.problems import Place, Problem, Problems, nearest
from costplan.reading import Record, Setting, is_there, read_records, read_table
from costplan.reading.fields import Day, Name, Text, refuse


class Paper(Record):
    """papers.csv"""

    engine: Text = Field(
        default="", description="engine it is of, or 'car' for shared parts; empty: the build as planned"
    )
    slot: Text = Field(default="", description="slot whose part it speaks of; empty: the whole engine")
    paper: Name = Field(
        description="what it is: receipt, seal, passport, certificate, leave, shop sheet, declaration, dyno sheet ..."
    )
    number: Text = Field(default="", description="serial or number on it")
    date: Day | None = Field(default=None, description="day it was issued")
    by: Text = Field(default="", description="who issued it")
    expires: Day | None = Field(default=None, description="last day on which it holds; empty: it does not expire")
    says: Text = Field(default="", description="what it declares, in one word or name: option B, intact, broken")
    note: Text = Field(default="", description="anything worth keeping")

    @model_validator(mode="after")
    def _says_something(self) -> Paper:
        if not (self.number or self.date or self.by or self.says):
            raise refuse("PAP002", "a paper with nothing on it:", "give its number, date, by or says", "paper")
        if self.date and self.expires and self.expires < self.date:
            raise refuse("PAP001", "expires before its date:", f"give {self.date} or a later day", "expires")
        return self

    def is_a(self, kind: str) -> bool:
        """Whether it is a paper of a kind; capitals tell no kinds apart."""
        return self.paper.casefold() == kind.casefold()


def read_papers(path: Path, settings: tuple[Setting, ...] = ()) -> tuple[tuple[Paper, ...], tuple[Problem, ...]]:
    """The papers on hand, none where there is no file. Whether their engines and slots exist: `check_papers`."""
    if not is_there(path):
        return (), ()
    table, faults = read_table(path, "papers")
    if table is None:
        return (), faults
    papers, more = read_records(table, Paper, settings)
    return papers, (*faults, *more, *_repeats(papers))


def _repeats(papers: Iterable[Paper]) -> tuple[Problem, ...]:
    """A problem for each row that says the same as an earlier one, in all its columns."""
    found, first = [], dict[tuple[object, ...], Place]()
    for row in papers:
        earlier = first.setdefault(tuple(row.model_dump().values()), row.place)
        if earlier != row.place:
            advice = f"keep one; the first is in {earlier}"
            found.append(Problem("PAP003", row.place, "paper", row.paper, "a paper told twice:", advice))
    return tuple(found)


def check_papers(
    rows: Iterable[Paper], engines: Collection[str], slots: Collection[str], car: str
) -> tuple[Problem, ...]:
    """A problem for each paper of an unknown engine or slot; `car`: where the shared parts are."""
    problems = Problems()
    for row in rows:
        if row.engine and row.engine not in (*engines, car):
            near = nearest(row.engine, (*engines, car))
            problems.add("PAP004", row.place, "engine", row.engine, "an unknown engine", near)
        if row.slot and row.slot not in slots:
            problems.add("BLD001", row.place, "slot", row.slot, "an unknown slot", nearest(row.slot, slots))
    return tuple(problems.found)
