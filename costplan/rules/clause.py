"""A clause of a rule pack: the keys that every clause has, and the test of its kind."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, ClassVar, Literal

from pydantic import Field, field_validator

from costplan.problems import Place, nearest
from costplan.reading import KeyPath, Record
from costplan.reading.fields import Count, Day, Name, NotNegative, Share, Text, Words, refuse

#: What shows a clause. A list is the parts list and what was measured on the bench; the others must be brought.
PROOFS = ("list", "measurement", "inspection", "document", "event log")
#: When a clause is looked at: papers first, then the engine running, then the car as it stands, then opened up.
STAGES = ("papers", "running", "outside", "opened")


class Kept(Record):
    """kept = {...} of a [[rule]]: older parts that stay although the clause would put them out"""

    parts: Words = Field(default=(), description="the parts that may stay; all where empty")
    bought_before: Day | None = Field(default=None, description="only pieces bought before this day")
    serials: Words = Field(default=(), description="only pieces with one of these serials")
    until: Day | None = Field(default=None, description="last day on which they may stay; for good where empty")

    @property
    def words(self) -> str:
        """Which older parts stay, and how long."""
        words = [", ".join(self.parts) or "all that were in"]
        words += [f"bought before {self.bought_before}"] if self.bought_before else []
        words += [f"with the serial {' or '.join(self.serials)}"] if self.serials else []
        return ", ".join((*words, f"until {self.until}" if self.until else "for good"))


class Heading(Record):
    """Keys of every [[rule]]"""

    KEY: ClassVar[str] = "id"
    id: Name = Field(description="the clause's short name, once in a pack")
    kind: Name = Field(description="one of the kinds below")
    says: Text = Field(description="what it says, in the pack author's words")
    book: Text = Field(default="", description="chapter or section of the book")
    page: Text = Field(default="", description="page of the book")
    severity: Literal["must", "should"] = Field(default="must", description="whether breaking it counts, or is advice")
    penalty: Text = Field(default="", description="what breaking it costs, in words")
    effective: Day | None = Field(default=None, description="first day it is in force; always where empty")
    sunset: Day | None = Field(default=None, description="last day it is in force; for good where empty")
    from_round: Count | None = Field(
        default=None, description="first round of the season in which it is in force; the nights of a show are one"
    )
    frozen_until: Day | None = Field(default=None, description="day before which no change may touch it")
    when: tuple[Any, ...] = Field(
        default=(), description='asked only where all of these hold, each a test: {kind = "parts", slot = ...}'
    )
    unless: tuple[Any, ...] = Field(default=(), description="not asked where any of these holds, each a test")
    kept: Kept | None = Field(default=None, description="older parts that stay: parts, bought_before, serials, until")
    proof: Words = Field(
        default=(),
        description=f'what shows it beyond the parts list: {", ".join(PROOFS[1:])}; two words as a list: ["event log"]',
    )
    document: Text = Field(default="", description="which paper of papers.csv is the proof by document: receipt")
    minutes: NotNegative = Field(
        default=0, description="minutes to inspect it, once it is laid bare; not stated where 0"
    )
    tool: Text = Field(default="", description="what it is inspected with")
    stage: Text = Field(
        default="", description=f"when it is looked at: {', '.join(STAGES)}; by proof and slot where empty"
    )
    pays: Text = Field(default="", description="who pays for opening and closing the engine for it")
    risk: Share | None = Field(
        default=None, description="stated chance that an entry is found to break it, to choose inspections by"
    )

    @field_validator("proof")
    @classmethod
    def _known_proofs(cls, value: tuple[str, ...]) -> tuple[str, ...]:
        for word in value:
            if word not in PROOFS:
                raise refuse("REA020", "not a proof:", nearest(word, PROOFS))
        return value

    @field_validator("stage")
    @classmethod
    def _known_stage(cls, value: str) -> str:
        if value and value not in STAGES:
            raise refuse("REA020", "not a stage of inspection:", nearest(value, STAGES))
        return value


class Test(Record):
    """The keys of one kind: of a clause, or of a condition of one"""


@dataclass(frozen=True, slots=True)
class Condition:
    """One test under `when` or `unless`, and its path in the clause."""

    kind: str
    test: Test
    path: KeyPath = ()


@dataclass(frozen=True, slots=True)
class Phase:
    """From when something holds: a day, a round of the season, or the later of both; always where neither is given."""

    effective: date | None = None
    from_round: int | None = None

    def since(self, rounds: tuple[date, ...]) -> date | None:
        """The first day; a round that the calendar lacks never comes."""
        days = [self.effective] if self.effective else []
        if self.from_round is not None:
            days.append(rounds[self.from_round - 1] if self.from_round <= len(rounds) else date.max)
        return max(days, default=None)


#: From the beginning.
ALWAYS = Phase()


@dataclass(frozen=True, slots=True)
class Rule:
    """A clause as read: what all clauses say of themselves, its kind's test, and the conditions under which it holds.

    `ended`: when another takes its place or it is withdrawn, the day after its last.
    """

    heading: Heading
    test: Test
    when: tuple[Condition, ...] = ()
    unless: tuple[Condition, ...] = ()
    ended: Phase | None = None

    @property
    def id(self) -> str:
        return self.heading.id

    @property
    def kind(self) -> str:
        return self.heading.kind

    @property
    def place(self) -> Place:
        return self.heading.place

    @property
    def clause(self) -> str:
        """Chapter and page of the book."""
        page = self.heading.page and f"page {self.heading.page}"
        return ", ".join(word for word in (self.heading.book, page) if word)

    def since(self, rounds: tuple[date, ...]) -> date | None:
        """The first day on which it is in force; a round that the calendar lacks never comes."""
        return Phase(self.heading.effective, self.heading.from_round).since(rounds)

    def last(self, rounds: tuple[date, ...]) -> date | None:
        """The last day on which it is in force."""
        days = [self.heading.sunset] if self.heading.sunset else []
        if self.ended is not None:
            gone = self.ended.since(rounds)
            days.append(date.min if gone is None else gone - timedelta(days=1))
        return min(days, default=None)

    def holds_on(self, day: date, rounds: tuple[date, ...]) -> bool:
        since, last = self.since(rounds), self.last(rounds)
        return (since is None or since <= day) and (last is None or day <= last)
