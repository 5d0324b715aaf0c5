"""What a checker knows: an engine's parts, figures, papers and inspections, and the pack whose clauses are asked."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from types import MappingProxyType
from typing import ClassVar, Literal

from pydantic import Field

from costplan.build import Build, Figure, Figures
from costplan.garage import Inspected, Paper, Piece, latest
from costplan.reading import Record
from costplan.reading.fields import Day, Name, Text, Words
from costplan.rules.clause import Rule

Verdict = Literal["meets", "breaks", "cannot be shown", "not asked"]
#: What each verdict on a clause says.
VERDICTS: Mapping[Verdict, str] = MappingProxyType(
    {
        "meets": "the parts list and the proofs that were brought show the clause",
        "breaks": "the parts list, the bench or an inspection shows that it is not kept",
        "cannot be shown": "nothing on paper speaks against it, but a proof is still owed or a figure is missing",
        "not asked": "it is out of force on the day, its condition does not hold, or nothing is in its slot",
    }
)


class PartList(Record):
    """[[list]] of a rule pack: parts that several clauses or editions name"""

    KEY: ClassVar[str] = ""
    list: Name = Field(description="name of the list; several editions have the same")
    edition: Text = Field(default="", description="name of the edition")
    since: Day | None = Field(
        default=None,
        description="first day of the edition; from the beginning where empty; a later one takes its place",
    )
    until: Day | None = Field(default=None, description="last day of the edition; until the next where empty")
    parts: Words = Field(description="the parts on it")


def edition_on(editions: Iterable[PartList], day: date) -> PartList | None:
    """Which edition of a list is in force on a day: of those begun the one that began last, unless it has ended."""
    begun = [row for row in editions if (row.since or date.min) <= day]
    last = max(begun, key=lambda row: row.since or date.min, default=None)
    return last if last is not None and day <= (last.until or date.max) else None


def no_price(build: Build, name: str, without: tuple[str, ...], on: date, currency: str) -> Figure:
    """The price of what nobody can price."""
    del build, without, on, currency
    return Figure(name, None, missing=("a catalog with prices",))


@dataclass(frozen=True, slots=True)
class Sheet:
    """All that is known of one engine, or of the build as planned (engine '').

    `price`: what a slot's part or the whole of a build costs on a day, some slots left out, in a currency; `rounds`:
    the days of the season's rounds; `price_days`: those from which another price or rate holds; `turns`: for each part
    that takes turns in a slot with the main one, its slot and the figures then.
    """

    figures: Figures
    engine: str = ""
    papers: tuple[Paper, ...] = ()
    inspections: tuple[Inspected, ...] = ()
    pieces: tuple[Piece, ...] = ()
    rounds: tuple[date, ...] = ()
    price: Callable[[Build, str, tuple[str, ...], date, str], Figure] = no_price
    turns: tuple[tuple[str, Figures], ...] = ()
    price_days: tuple[date, ...] = ()

    def piece(self, slot: str, part: str = "") -> Piece | None:
        """The piece in a slot, where the garage has one; of several that take turns there, the one of a part."""
        there = [piece for piece in self.pieces if piece.slot == slot]
        return next((piece for piece in there if piece.part == part), next(iter(there), None))


@dataclass(frozen=True, slots=True)
class Evidence:
    """An engine's sheet before one pack on one day. What is dated later is not known on that day.

    `gauges`: whose measurements count as proof (anybody's where empty); `rounding` and `ties`: how a value is compared;
    `homes`: for the file of each change that was worked in, the name of the pack that it changes; `brief`: only the
    verdict is wanted, not how far a value may be off.
    """

    sheet: Sheet
    on: date
    pack: str = ""
    rules: Mapping[str, Rule] = field(default_factory=dict)
    lists: tuple[PartList, ...] = ()
    gauges: tuple[str, ...] = ()
    rounding: Literal["absolute", "rounded"] = "absolute"
    ties: Literal["even", "away"] = "even"
    homes: Mapping[str, str] = field(default_factory=dict)
    brief: bool = False

    @property
    def figures(self) -> Figures:
        return self.sheet.figures

    def edition(self, name: str) -> PartList | None:
        """The edition of a list that is in force: of those begun the one that began last, unless it has ended."""
        return edition_on((row for row in self.lists if row.list == name), self.on)

    def seen(self, rule: str) -> Inspected | None:
        """The last result that somebody noted on a clause, under the name of the pack in which the clause stands."""
        if not self.sheet.inspections:
            return None
        file = self.rules[rule].place.file if rule in self.rules else self.pack
        pack = self.homes.get(file, Path(file).stem)
        rows = [row for row in self.sheet.inspections if row.date <= self.on]
        return latest(rows, self.sheet.engine, rule, pack)

    def papers_of(self, kind: str, slot: str = "") -> tuple[Paper, ...]:
        """The papers of a kind, of one slot's part or of the whole engine."""
        there = (row for row in self.sheet.papers if row.is_a(kind) and row.slot == slot)
        return tuple(row for row in there if row.date is None or row.date <= self.on)

    def counts(self, row: Inspected) -> bool:
        """Whether a result is by somebody whose gauge counts."""
        return not self.gauges or row.by in self.gauges

    def piece(self, slot: str) -> Piece | None:
        """The piece of the part that is in a slot."""
        fill = self.figures.build.fills.get(slot)
        return self.sheet.piece(slot, fill.part.part if fill else "")

    def last_paper(self, kind: str, slot: str = "") -> Paper | None:
        """The paper of a kind with the latest date, of one day the later row; one without a date before all others."""
        return max(reversed(self.papers_of(kind, slot)), key=lambda row: row.date or date.min, default=None)

    def empty(self, slots: tuple[str, ...]) -> tuple[str, ...]:
        """Those of some slots that need no part and have none."""
        pattern, fills = self.figures.build.pattern, self.figures.build.fills
        return tuple(
            slot for slot in slots if slot not in fills and slot in pattern.slots and pattern.slots[slot].optional
        )
