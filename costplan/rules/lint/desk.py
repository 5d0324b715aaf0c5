"""What lies before every check of lint, and what most checks ask of it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cached_property
from math import inf
from typing import TypeVar

from costplan.catalog import Operation, Part
from costplan.problems import Place
from costplan.rules.clause import Rule, Test
from costplan.rules.evidence import PartList, edition_on
from costplan.rules.kinds import KINDS, Known, Limit, Parts
from costplan.rules.lint.facts import Facts, Severity
from costplan.rules.lint.reaches import edge
from costplan.rules.pack import Pack

#: First and last day.
Span = tuple[date, date]
T = TypeVar("T", bound=Test)

DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Found:
    """What a check finds, before its code and severity are put to it."""

    rule: str
    place: Place
    what: str
    advice: str
    against: str = ""


@dataclass(frozen=True)
class Desk:
    """What lies before a check: the pack, the names it may speak of, the facts, and limits once worked out."""

    pack: Pack
    known: Known
    facts: Facts
    reaches: dict[int, tuple[float, float]] = field(default_factory=dict)

    @cached_property
    def editions(self) -> dict[str, list[PartList]]:
        """The editions of each list, in the order of their days."""
        found: dict[str, list[PartList]] = {}
        for row in sorted(self.pack.lists, key=lambda row: row.since or date.min):
            found.setdefault(row.list, []).append(row)
        return found

    @cached_property
    def naming(self) -> dict[str, list[tuple[Rule, Parts]]]:
        """For each list that is named, the clauses that name it, also in their conditions."""
        found: dict[str, list[tuple[Rule, Parts]]] = {}
        for rule, test in tests_of(self, Parts):
            if test.list:
                found.setdefault(test.list, []).append((rule, test))
        return found

    def reach(self, test: Limit) -> tuple[float, float]:
        """The least and the greatest value that meet a limit, in the plain unit of its dimension."""
        if id(test) not in self.reaches:
            rounded = (test.rounding or self.pack.header.rounding) == "rounded"
            low = -inf if test.least is None else edge(test, test.least, rounded, -1)
            high = inf if test.greatest is None else edge(test, test.greatest, rounded, 1)
            self.reaches[id(test)] = (low, high)
        return self.reaches[id(test)]

    @cached_property
    def roles(self) -> dict[str, str]:
        """The role of each slot; none where the pattern is not known."""
        slots = self.known.pattern.slots if self.known.pattern else {}
        return {name: slot.role for name, slot in slots.items()}

    def span(self, rule: Rule) -> Span:
        """The first and the last day of a clause; the earliest and the latest of all dates where it has none."""
        return rule.since(self.facts.rounds) or date.min, rule.last(self.facts.rounds) or date.max

    def parts_for(self, slot: str) -> tuple[Part, ...]:
        """The parts for sale that a slot may hold."""
        return self.facts.catalog.of_role(self.roles[slot]) if slot in self.roles else ()

    def is_optional(self, slot: str) -> bool:
        """Whether an engine may go without a part in a slot."""
        return self.known.pattern is not None and self.known.pattern.slots[slot].optional

    def edition(self, name: str, day: date) -> PartList | None:
        """The edition of a list in force on a day."""
        return edition_on(self.editions.get(name, ()), day)

    def listed(self, test: Parts, day: date) -> frozenset[str] | None:
        """The parts allowed by name or list; None where no edition of the list is in force."""
        edition = self.edition(test.list, day) if test.list else None
        if test.list and edition is None:
            return None
        return frozenset((*test.allowed, *(edition.parts if edition else ())))


@dataclass(frozen=True, slots=True)
class Check:
    """One check of lint: its code, how much what it finds counts, and the function that finds it."""

    code: str
    severity: Severity
    find: Callable[[Desk], Iterable[Found]]

    @property
    def meaning(self) -> str:
        """What it finds, in words: the docstring of its function."""
        return (self.find.__doc__ or "").strip()


def own_tests(desk: Desk, kind: type[T]) -> Iterator[tuple[Rule, T]]:
    """The clauses of a kind with their tests."""
    return ((rule, rule.test) for rule in desk.pack.rules if isinstance(rule.test, kind))


def tests_of(desk: Desk, kind: type[T]) -> Iterator[tuple[Rule, T]]:
    """All tests of a kind, those of conditions too, each with its clause."""
    for rule in desk.pack.rules:
        for test in (rule.test, *(one.test for one in (*rule.when, *rule.unless))):
            if isinstance(test, kind):
                yield rule, test


def on(rule: Rule, what: str, advice: str, against: str = "", place: Place | None = None) -> Found:
    """What was found of a clause."""
    return Found(rule.id, place or rule.place, what, advice, against)


def words_of(rule: Rule) -> str:
    """What a clause asks, in plain words."""
    return KINDS[rule.kind].words(rule.test)


def moments(desk: Desk, span: Span, *tests: Parts) -> list[date]:
    """The first day of a span, and those in it on which a list that a test names changes."""
    rows = [row for test in tests for row in desk.editions.get(test.list, ())]
    days = {row.since for row in rows if row.since} | {row.until + DAY for row in rows if row.until}
    return sorted({span[0], *(day for day in days if span[0] < day <= span[1])})


def roles_of(desk: Desk, slots: Iterable[str]) -> frozenset[str]:
    """The roles of some slots, as far as the pattern has them."""
    return frozenset(desk.roles[slot] for slot in slots if slot in desk.roles)


def operations_on(desk: Desk, roles: Iterable[str]) -> list[Operation]:
    """The shop's work on parts of some roles."""
    wanted = frozenset(roles)
    return [one for one in (desk.known.operations or {}).values() if one.role in wanted]
