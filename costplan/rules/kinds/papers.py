"""The kind that asks for a document: a seal, receipt, passport, certificate, shop's sheet."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, timedelta
from typing import Annotated, Any

from pydantic import BeforeValidator, Field

from costplan.garage import Inspected, Paper
from costplan.problems import Problem
from costplan.quantity import convert, dimension
from costplan.reading.fields import Count, Day, Name, Text, Words, YesNo, number_and_unit, refuse, to_decimal
from costplan.reading.fields import Kind as Form
from costplan.rules.answers import Answer
from costplan.rules.book import Clause, DatedPart, ListedShops
from costplan.rules.clause import Test
from costplan.rules.evidence import Evidence
from costplan.rules.kinds.common import Kind, Known, Where, either, level_faults, named_slots, no_part, slot_faults

#: No paper holds for longer: a hundred years in days.
LONGEST = 36525


def to_days(value: Any) -> float:
    """A span as days: `730 d`. Days are what papers are dated by, so nothing is shorter."""
    number, unit = number_and_unit(value)
    if dimension(unit or "1") != "time" or to_decimal(number) <= 0:
        raise refuse("REA021", "not a span of time:", 'give days in quotes: "730 d"')
    days = convert(float(to_decimal(number)), unit, "d")
    if not 1 <= days <= LONGEST:
        what = f"too {'short' if days < 1 else 'long'} a span:"
        raise refuse("REA018", what, f'give "1 d" to "{LONGEST} d"')
    return days


class Papers(Test):
    """kind = "paper": a document that must be there: a seal, receipt, passport, certificate, shop's sheet"""

    paper: Name = Field(description="what it is, as papers.csv calls it")
    slot: Text = Field(default="", description="slot whose part it speaks of; empty: the whole engine")
    at_least: Count = Field(default=1, description="how many of them: 4 seals")
    by: Words = Field(default=(), description="who may have issued it; names with blanks as a list")
    numbers: Words = Field(default=(), description="the numbers it may have")
    declares: Words = Field(default=(), description="what it may declare, as its column says has it: intact")
    dated_from: Day | None = Field(default=None, description="first day it may be dated")
    dated_to: Day | None = Field(default=None, description="last day it may be dated")
    valid: Annotated[float | None, BeforeValidator(to_days), Form('span in quotes: "730 d"')] = Field(
        default=None, description="how long it holds from its date; its part is renewed in time and never later"
    )
    serial: YesNo = Field(default=False, description="whether its number must be the serial of the piece in the slot")
    level: Text = Field(
        default="", description="service level, or one above it, after which it is needed: only shops in `by` do it"
    )


def _paper_faults(test: Papers, known: Known, where: Where) -> Iterator[Problem]:
    yield from slot_faults([test.slot] if test.slot else [], known, where)
    yield from level_faults(test.level, known, where)
    if test.serial and not test.slot:
        yield where.problem("RUL004", "slot", "", "a serial of nothing", "give the slot of the piece")


def _check_paper(test: Papers, evidence: Evidence, seen: Inspected | None) -> Answer:
    """Whether enough papers are there that say what they must and have not run out; one number is one paper."""
    del seen
    empty = no_part((test.slot,), evidence) if test.slot else None
    if empty is not None:
        return empty
    limit, rows = _paper_words(test), evidence.papers_of(test.paper, test.slot)
    wrong = tuple(f"{_cited(row)}: {fault}" for row in rows for fault in _paper_wrong(test, row, evidence))
    vague = tuple(word for row in rows for word in _lacks(test, row))
    good = len({row.number or row.place for row in rows if _is_good(test, row, evidence)})
    why = tuple(_cited(row) for row in rows)
    lacking = f"{test.paper}{f' of {test.slot}' if test.slot else ''}"
    if good >= test.at_least:
        owed = _serial_owed(test, evidence)
        return Answer("meets", value=str(good), limit=limit, owed=owed, settled=("document",), why=why)
    if wrong:
        fill = evidence.figures.build.fills.get(test.slot)
        faulty = ((test.slot, fill.part.part),) if fill else ()
        return Answer("breaks", faulty, wrong, str(good), limit, why=why)
    overdue = _overdue(test, evidence)
    if overdue:
        return Answer("breaks", ((test.slot, ""),), (overdue,), limit=limit, why=(overdue,))
    lacking += f": {test.at_least - good} more" if test.at_least > 1 else ""
    return Answer("cannot be shown", limit=limit, owed=vague or (lacking,), settled=("document",), why=why)


def _serial_owed(test: Papers, evidence: Evidence) -> tuple[str, ...]:
    """The serial that a paper's number must be, where the garage does not know it."""
    piece = evidence.piece(test.slot) if test.serial else None
    known = not test.serial or (piece is not None and piece.serial)
    return () if known else (f"serial of the piece in {test.slot}",)


def counted_from(test: Papers, papers: Iterable[Paper]) -> date | None:
    """From when the days count that a dated part may stay: the day of the last of some papers that its clause takes."""
    span = timedelta(days=test.valid or 0)
    named = (row for row in papers if row.is_a(test.paper) and row.slot == test.slot)
    taken = [row for row in named if not any(_ill(test, row)) and not any(_lacks(test, row))]
    days = [row.expires - span if row.expires else row.date for row in taken]
    return max((day for day in days if day is not None), default=None)


def _ill(test: Papers, row: Paper) -> Iterator[str]:
    """What speaks against a paper by itself, on whichever day."""
    if test.by and row.by and not _is_one_of(row.by, test.by):
        yield f"by {row.by}, not by {either(test.by)}"
    if test.numbers and row.number and row.number not in test.numbers:
        yield f"number {row.number}, not {either(test.numbers)}"
    if test.declares and row.says and not _is_one_of(row.says, test.declares):
        yield f"says {row.says}, not {either(test.declares)}"
    if test.dated_from and row.date and row.date < test.dated_from:
        yield f"dated {row.date}, before {test.dated_from}"
    if test.dated_to and row.date and row.date > test.dated_to:
        yield f"dated {row.date}, after {test.dated_to}"


def _is_one_of(word: str, words: Iterable[str]) -> bool:
    """Whether a word is one of some, whatever its capitals."""
    return word.casefold() in {one.casefold() for one in words}


def _lacks(test: Papers, row: Paper) -> Iterator[str]:
    """What a paper leaves open that its clause asks."""
    dated = test.dated_from or test.dated_to or (test.valid and row.expires is None)
    asked = (
        (test.by, row.by, "who issued the"),
        (test.numbers or test.serial, row.number, "the number of the"),
        (test.declares, row.says, "what is said by the"),
        (dated, row.date, "the date of the"),
    )
    yield from (f"{word} {_cited(row)}" for wanted, given, word in asked if wanted and not given)


def _is_good(test: Papers, row: Paper, evidence: Evidence) -> bool:
    """Whether a paper says all that it must, and nothing speaks against it."""
    return not any(_paper_wrong(test, row, evidence)) and not any(_lacks(test, row))


def _paper_wrong(test: Papers, row: Paper, evidence: Evidence) -> Iterator[str]:
    """What speaks against a paper on a day, for the piece that is in the slot."""
    yield from _ill(test, row)
    if row.expires and row.expires < evidence.on:
        yield f"ran out on {row.expires}"
    elif test.valid and row.date and not row.expires and row.date + timedelta(days=test.valid) < evidence.on:
        yield f"ran out on {row.date + timedelta(days=test.valid)}"
    piece = evidence.piece(test.slot) if test.serial else None
    if piece is not None and piece.serial and row.number and piece.serial != row.number:
        yield f"number {row.number}, but the piece's serial is {piece.serial}"


def _overdue(test: Papers, evidence: Evidence) -> str:
    """Why a dated part is past its days without any paper: how long it is in already."""
    piece = evidence.piece(test.slot) if test.valid else None
    if piece is None or piece.installed is None or test.valid is None:
        return ""
    end = piece.installed + timedelta(days=test.valid)
    return f"in since {piece.installed} ({piece.place}), past {end}" if end < evidence.on else ""


def _cited(row: Paper) -> str:
    words = (row.paper, row.number, row.date and f"of {row.date}", row.by and f"by {row.by}", row.says)
    return f"{' '.join(str(word) for word in words if word)} ({row.place})"


def _paper_words(test: Papers) -> str:
    words = [f"{test.at_least} x {test.paper}" if test.at_least > 1 else test.paper]
    words += [f"of {test.slot}"] if test.slot else []
    words += [f"by {either(test.by)}"] if test.by else []
    words += [f"numbered {either(test.numbers)}"] if test.numbers else []
    words += [f"that says {either(test.declares)}"] if test.declares else []
    words += [f"dated from {test.dated_from}"] if test.dated_from else []
    words += [f"dated up to {test.dated_to}"] if test.dated_to else []
    words += [f"not older than {test.valid:g} days"] if test.valid else []
    words += ["with the serial of the piece"] if test.serial else []
    words += [f"after each {test.level} or more"] if test.level else []
    return " ".join(words)


def _paper_bonds(test: Papers, clause: Clause) -> Iterator[DatedPart | ListedShops]:
    if test.valid and test.slot:
        yield DatedPart(clause, test.slot, test.valid)
    if test.by and test.level:
        yield ListedShops(clause, test.level, test.by)


PAPER = Kind("paper", Papers, _paper_faults, _check_paper, named_slots, _paper_words, bonds=_paper_bonds)
