"""The column dictionary of all files, gathered from the records that read them: one source for checks and reference."""

from __future__ import annotations

from dataclasses import dataclass

from costplan.build import Line, PatternHeader, Slot
from costplan.catalog import ATTRIBUTES, Header, LifeRow, Part, Role
from costplan.garage import Piece
from costplan.reading import Record, columns
from costplan.rules import KINDS, PackHeader, Rule
from costplan.scenario import Header as ScenarioHeader
from costplan.scenario import RateRow
from costplan.season import Car, Cost, Engine, Event, Gaps, Level, Policy, Position, Service, Session


@dataclass(frozen=True, slots=True)
class Entry:
    """A column or key: its file (and table of it), name, what may stand there, and what it means."""

    file: str
    table: str
    name: str
    kind: str
    dimension: str
    needed: bool
    default: str
    meaning: str


FILES: tuple[tuple[str, str, type[Record]], ...] = (
    ("scenario.toml", "", ScenarioHeader),
    ("scenario.toml", "[gaps]", Gaps),
    ("scenario.toml", "[policy]", Policy),
    ("scenario.toml", "[car]", Car),
    ("scenario.toml", "[[engine]]", Engine),
    ("scenario.toml", "[[rate]]", RateRow),
    ("calendar.csv", "", Event),
    ("sessions.csv", "", Session),
    ("services.csv", "", Service),
    ("costs.csv", "", Cost),
    ("levels.csv", "", Level),
    ("positions.csv", "", Position),
    ("garage.csv", "", Piece),
    ("pattern.toml", "", PatternHeader),
    ("pattern.toml", "[[slot]]", Slot),
    ("build.csv", "", Line),
    ("catalog.toml", "", Header),
    ("roles.csv", "", Role),
    ("lives.csv", "", LifeRow),
    ("parts", "any other CSV of a catalog", Part),
    ("rules.toml", "", PackHeader),
    ("rules.toml", "[[rule]]", Rule),
)


def dictionary() -> tuple[Entry, ...]:
    """Every column and key of every file, those that a kind of rule adds, and the attributes of parts."""
    shared = {column.name for column in columns(Rule)}
    kinds = [("rules.toml", f'[[rule]] kind = "{name}"', kind.record) for name, kind in KINDS.items()]
    entries = [
        Entry(file, table, column.name, column.kind, column.dimension, column.required, column.default, column.meaning)
        for file, table, record in (*FILES, *kinds)
        for column in columns(record)
        if "kind =" not in table or column.name not in shared
    ]
    entries += [
        Entry("parts", "attributes", name, f"{what.what}, unit in the heading", what.what, False, "", what.meaning)
        for name, what in ATTRIBUTES.items()
    ]
    return tuple(entries)
