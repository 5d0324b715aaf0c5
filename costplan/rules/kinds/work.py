"""The kind that says what a shop must, may or must not do to a part."""

from __future__ import annotations

from collections.abc import Iterator

from pydantic import Field

from costplan.catalog import Operation
from costplan.garage import Inspected
from costplan.problems import Problem, nearest
from costplan.reading.fields import Words
from costplan.rules.answers import Answer
from costplan.rules.book import BarredWork, Clause
from costplan.rules.clause import Test
from costplan.rules.evidence import Evidence
from costplan.rules.kinds.common import (
    Kind,
    Known,
    Where,
    decided,
    either,
    empty_fault,
    named_slots,
    no_part,
    slot_by_slot,
    slot_faults,
)


class Work(Test):
    """kind = "work": what a shop must, may or must not do to the part in a slot"""

    slot: Words = Field(description="slot it speaks of, or several")
    must: Words = Field(default=(), description="operations that must have been done, of operations.csv")
    may: Words = Field(default=(), description="the only operations that may be done beside them")
    must_not: Words = Field(default=(), description="operations that may not be done")
    keeps: Words = Field(default=(), description="attributes that no operation may change: bore")


def _work_faults(test: Work, known: Known, where: Where) -> Iterator[Problem]:
    yield from slot_faults(test.slot, known, where)
    if not (test.slot and (test.must or test.may or test.must_not or test.keeps)):
        yield empty_fault(where, "must_not", "give a slot, and must, may, must_not or keeps")
    for key in ("must", "may", "must_not"):
        for word in getattr(test, key):
            if known.operations is not None and word not in known.operations:
                advice = nearest(word, known.operations)
                yield where.problem("RUL008", key, word, "an operation in no catalog:", advice)
    for word in test.keeps:
        if known.pattern is not None and word not in known.pattern.attributes:
            advice = nearest(word, known.pattern.attributes)
            yield where.problem("RUL003", "keeps", word, "an attribute that is not known:", advice)


def forbids(test: Work, operation: Operation) -> bool:
    """Whether a test lets an operation not be done."""
    if operation.operation in test.must_not or any(name in operation.changes for name in test.keeps):
        return True
    return bool(test.may) and operation.operation not in (*test.may, *test.must)


def _check_work(test: Work, evidence: Evidence, seen: Inspected | None) -> Answer:
    """Whether what was done, or is planned, is what must and may be done."""
    del seen
    empty = no_part(test.slot, evidence)
    fills = [evidence.figures.build.fills[slot] for slot in test.slot if slot in evidence.figures.build.fills]
    if empty is not None and not fills:
        return empty
    limit = _work_words(test)
    wrong = [(fill, one.operation) for fill in fills for one in fill.done if forbids(test, one)]
    undone = [
        (fill, word)
        for fill in fills
        for word in test.must
        if word not in [operation.operation for operation in fill.done]
    ]
    at_fault = (
        *(f"{fill.slot.slot}: {word} was done" for fill, word in wrong),
        *(f"{fill.slot.slot}: {word} was not done" for fill, word in undone),
    )
    why = tuple(f"{fill.slot.slot}: {_done_in_words(fill.done)} ({fill.place})" for fill in fills)
    faulty = tuple(dict.fromkeys((fill.slot.slot, fill.part.part) for fill, _ in (*wrong, *undone)))
    return Answer("breaks" if at_fault else "meets", faulty, at_fault, limit=limit, why=why)


def _done_in_words(done: tuple[Operation, ...]) -> str:
    return ", ".join(operation.operation for operation in done) or "nothing done to it"


def _work_words(test: Work) -> str:
    words = [f"must have {', '.join(test.must)}"] if test.must else []
    words += [f"nothing but {either((*test.must, *test.may))}"] if test.may else []
    words += [f"not {either(test.must_not)}"] if test.must_not else []
    words += [f"{either(test.keeps)} unchanged"] if test.keeps else []
    return f"{', '.join(test.slot)}: {'; '.join(words)}"


def _work_bonds(test: Work, clause: Clause) -> tuple[BarredWork, ...]:
    if not (test.may or test.must_not or test.keeps):
        return ()
    return (BarredWork(clause, test.slot, lambda operation: forbids(test, operation)),)


WORK = Kind(
    "work",
    Work,
    _work_faults,
    _check_work,
    named_slots,
    _work_words,
    bonds=_work_bonds,
    by_parts=decided,
    apart=slot_by_slot,
)
