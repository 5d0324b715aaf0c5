"""What lint tells, and what it holds a pack against."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from typing import Literal, Protocol

from costplan.catalog import Catalog
from costplan.problems import Place
from costplan.rules.checklist import LevelRow

Severity = Literal["wrong", "hint"]


@dataclass(frozen=True, slots=True)
class Doubt:
    """One thing in a pack that its author should look at.

    `rule`: the clause, or the name of a list; empty: the pack as a whole. `code`: the check that found it; `against`:
    the other clause, where two do not go together.
    """

    rule: str
    code: str
    severity: Severity
    place: Place
    what: str
    advice: str
    against: str = ""


@dataclass(frozen=True, slots=True)
class Facts:
    """What a pack is held against, beside the names that it may speak of.

    `rounds`: the days of the season's rounds; `opens`: the day its books open; `papers`: the kinds of paper on hand;
    `opened`: the service levels at or above which something is ever done, None where that is not known; `measured`:
    measures, and slot.attribute, that the bench gives.
    """

    catalog: Catalog = field(default_factory=Catalog)
    rounds: tuple[date, ...] = ()
    opens: date | None = None
    papers: frozenset[str] = frozenset()
    opened: frozenset[str] | None = None
    measured: frozenset[str] = frozenset()


class TimedLevel(LevelRow, Protocol):
    """What a row of levels.csv must say of when it is done, too."""

    @property
    def interval(self) -> float | None: ...
    @property
    def dates(self) -> tuple[date, ...]: ...


def opened_levels(levels: Iterable[TimedLevel], named: Iterable[str]) -> frozenset[str]:
    """The levels at or above which something is ever done: by interval or dates, or `named` by a position or a row."""
    rows, names = tuple(levels), frozenset(named)
    called = [row for row in rows if row.level in names or row.interval or row.dates]
    return frozenset(
        row.level for row in rows if any(one.carrier == row.carrier and one.rank >= row.rank for one in called)
    )


@dataclass(frozen=True, slots=True)
class Linted:
    """A pack with its doubts: how many of them are wrong, how many hints."""

    pack: str
    name: str
    file: str
    clauses: int
    doubts: tuple[Doubt, ...]

    @property
    def wrong(self) -> int:
        return sum(doubt.severity == "wrong" for doubt in self.doubts)

    @property
    def hints(self) -> int:
        return len(self.doubts) - self.wrong
