"""What the kinds share: what a pack may name, problems of their keys, and the entry of the table of kinds."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from costplan.build import Pattern
from costplan.catalog import Operation
from costplan.garage import Inspected
from costplan.money import Rates
from costplan.problems import Problem, nearest
from costplan.reading import Document, KeyPath
from costplan.rules.answers import Answer
from costplan.rules.book import Bond, Clause
from costplan.rules.clause import Rule, Test
from costplan.rules.evidence import Evidence


@dataclass(frozen=True, slots=True)
class Known:
    """The names that a pack may speak of; what is None is not known and not checked."""

    pattern: Pattern | None = None
    operations: Mapping[str, Operation] | None = None
    levels: Collection[str] | None = None
    services: Collection[str] = ()
    lists: frozenset[str] = frozenset()
    rates: Rates | None = None
    rules: Mapping[str, Rule] = field(default_factory=dict)


def named_slots(test: Any, pattern: Pattern) -> tuple[str, ...]:
    """The slots that a test names itself."""
    del pattern
    slots: str | tuple[str, ...] = test.slot
    return ((slots,) if slots else ()) if isinstance(slots, str) else slots


def no_slots(test: Test, pattern: Pattern) -> tuple[str, ...]:
    """The slots of a test that speaks of none."""
    del test, pattern
    return ()


def undecided(test: Test) -> bool:
    """Of a test that no choice of parts decides."""
    del test
    return False


def decided(test: Test) -> bool:
    """Of a test that the parts decide."""
    del test
    return True


def slot_by_slot(test: Any) -> tuple[Any, ...]:
    """A test for each of the slots that one names under `slot`."""
    return tuple(test.model_copy(update={"slot": (slot,)}) for slot in test.slot)


def no_bonds(test: Test, clause: Clause) -> tuple[Bond, ...]:
    """How a test binds the season that does not."""
    del test, clause
    return ()


@dataclass(frozen=True, slots=True)
class Where:
    """Where a test stands: the document, the path of its table, and the clause it belongs to."""

    document: Document
    path: KeyPath
    name: str

    def problem(self, code: str, key: str, value: str, what: str, advice: str) -> Problem:
        """A problem of one of its keys, at the line of the key if it is there."""
        return Problem(code, self.document.place((*self.path, key)), f"{self.name}.{key}", value, what, advice)


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of test.

    `faults`: what is wrong with a test; `answer`: how an engine answers it, given the
    last result noted on its clause; `slots`: what it speaks of; `words`: what it asks, in plain words; `bonds`: how it
    binds a season; `speaks_of`: its slots without those that are only added up. `owes`: the proof it needs where the
    clause names none. `by_parts`: whether the choice of parts can decide a test; `reads`: which attributes of parts in
    which slots it then rests on ('': on the part itself), the parts in all its slots where not given; `apart`: a test
    for each of its slots, where each answers for itself.
    """

    name: str
    record: type[Any]
    faults: Callable[[Any, Known, Where], Iterable[Problem]]
    answer: Callable[[Any, Evidence, Inspected | None], Answer]
    slots: Callable[[Any, Pattern], tuple[str, ...]]
    words: Callable[[Any], str]
    owes: tuple[str, ...] = ()
    bonds: Callable[[Any, Clause], Iterable[Bond]] = no_bonds
    speaks_of: Callable[[Any, Pattern], tuple[str, ...]] | None = None
    by_parts: Callable[[Any], bool] = undecided
    apart: Callable[[Any], tuple[Any, ...]] | None = None
    reads: Callable[[Any, Pattern], tuple[tuple[str, str], ...]] | None = None

    def written(self, test: Any, pattern: Pattern) -> tuple[str, ...]:
        """The slots of which a test says something of their own."""
        return (self.speaks_of or self.slots)(test, pattern)

    def read(self, test: Any, pattern: Pattern) -> tuple[tuple[str, str], ...]:
        """The slots that a test rests on, each with the attribute of its part; '' where the part itself is meant."""
        return self.reads(test, pattern) if self.reads else tuple((slot, "") for slot in self.slots(test, pattern))


def slot_faults(slots: Iterable[str], known: Known, where: Where, key: str = "slot") -> Iterable[Problem]:
    """A problem for each slot that the pattern lacks."""
    if known.pattern is None:
        return
    for slot in slots:
        if slot not in known.pattern.slots:
            advice = nearest(slot, known.pattern.slots)
            yield where.problem("RUL002", key, slot, "a slot that the pattern lacks:", advice)


def level_faults(level: str, known: Known, where: Where) -> Iterable[Problem]:
    """A problem for a service level that the scenario lacks."""
    if level and known.levels is not None and level not in known.levels:
        advice = nearest(level, known.levels)
        yield where.problem("RUL006", "level", level, "a service level that the scenario lacks:", advice)


def list_faults(lists: Iterable[str], known: Known, where: Where) -> Iterable[Problem]:
    """A problem for each list that the pack lacks."""
    for word in lists:
        if word not in known.lists:
            what, advice = "a list that the pack lacks:", f"add a [[list]]; {nearest(word, known.lists)}"
            yield where.problem("RUL005", "list", word, what, advice)


def currency_faults(currency: str, key: str, known: Known, where: Where) -> Iterable[Problem]:
    """A problem for a currency that the scenario has no rate for."""
    if known.rates is not None and known.rates.at(currency, date.max) is None:
        advice = f"add a [[rate]] of it to scenario.toml, or give the sum in {known.rates.currency}"
        yield where.problem("MON002", key, currency, "a currency without a rate:", advice)


def empty_fault(where: Where, key: str, advice: str) -> Problem:
    """The problem of a test that asks nothing."""
    return where.problem("RUL004", key, "", "a test that asks nothing", advice)


def either(words: Iterable[str]) -> str:
    """Alternatives in words: `A, B or C`."""
    *first, last = tuple(words) or ("",)
    return f"{', '.join(first)} or {last}" if first else last


def no_part(slots: Iterable[str], evidence: Evidence) -> Answer | None:
    """The answer where slots are empty: nothing is asked of those that may be, a part is owed for the others."""
    missing = tuple(slot for slot in slots if slot not in evidence.figures.build.fills)
    if not missing:
        return None
    needed = [slot for slot in missing if slot not in evidence.empty(missing)]
    if not needed:
        return Answer("not asked", why=tuple(f"slot {slot} is empty" for slot in missing))
    return Answer("cannot be shown", owed=tuple(f"a part in slot {slot}" for slot in needed))
