"""Kinds that bind a season: how many of what, and what is paid when."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from pydantic import Field

from costplan.build import Pattern
from costplan.garage import Inspected
from costplan.money import is_currency
from costplan.problems import Problem
from costplan.reading.fields import Money, Text, Whole, Words, YesNo
from costplan.rules.answers import Answer
from costplan.rules.book import Charge, Clause, EngineCap, LevelCap, PieceCap
from costplan.rules.clause import Test
from costplan.rules.evidence import Evidence
from costplan.rules.kinds.common import (
    Kind,
    Known,
    Where,
    currency_faults,
    either,
    empty_fault,
    level_faults,
    no_slots,
    slot_faults,
)


class Quota(Test):
    """kind = "quota": at most so many openings, engines or pieces"""

    of: Literal["openings", "engines", "pieces"] = Field(description="what is counted")
    most: Whole = Field(description="the greatest number")
    per: Literal["season", "event", "life"] = Field(
        default="season", description="in a season, at one event (pieces), or in an engine's life (openings)"
    )
    level: Text = Field(default="", description="openings: the service level counted, with those above it")
    slot: Words = Field(default=(), description="pieces: slots, or services of services.csv, counted")
    together: YesNo = Field(default=False, description="openings: whether all engines of an entrant count as one")


def _quota_faults(test: Quota, known: Known, where: Where) -> Iterator[Problem]:
    yield from level_faults(test.level, known, where)
    slots = [slot for slot in test.slot if slot not in known.services]
    yield from slot_faults(slots, known, where)
    wanted = {"openings": "level", "pieces": "slot"}.get(test.of)
    if wanted and not getattr(test, wanted):
        yield empty_fault(where, wanted, f"{test.of} need a {wanted}")
    for key in ("level", "slot"):
        if getattr(test, key) and key != wanted:
            what = f"{test.of} are not counted by it:"
            yield where.problem("RUL004", key, str(getattr(test, key)), what, "leave it out")
    allowed = {"openings": ("season", "life"), "engines": ("season",), "pieces": ("season", "event")}[test.of]
    if test.per not in allowed:
        advice = f"give {either(allowed)}"
        yield where.problem("RUL004", "per", test.per, f"{test.of} are not counted so:", advice)


def _check_record(test: Quota | ChargeTest, evidence: Evidence, seen: Inspected | None) -> Answer:
    """Nothing but the record of events shows it."""
    del evidence, seen
    words = _quota_words(test) if isinstance(test, Quota) else _charge_words(test)
    return Answer("meets", limit=words)


def _quota_words(test: Quota) -> str:
    counted = test.of.removesuffix("s") if test.most == 1 else test.of
    tail = {"openings": f" at {test.level} or above", "engines": "", "pieces": f" of {either(test.slot)}"}[test.of]
    whose = "" if test.of != "openings" else " of all engines together" if test.together else " of an engine"
    per = {"season": "in a season", "event": "at an event", "life": "in its life"}[test.per]
    return f"at most {test.most} {counted}{tail}{whose} {per}"


def _quota_bonds(test: Quota, clause: Clause) -> Iterator[LevelCap | EngineCap | PieceCap]:
    if test.of == "openings":
        yield LevelCap(clause, test.level, test.most, not test.together, test.per == "life")
    elif test.of == "engines":
        yield EngineCap(clause, test.most)
    else:
        yield PieceCap(clause, test.slot, test.most, test.per == "event")


class ChargeTest(Test):
    """kind = "charge": what the book makes one pay, such as reseal fees, drawn engines and the least fuel"""

    amount: Money = Field(description="what is paid each time")
    currency: Text = Field(default="", description="its currency by ISO 4217; the scenario's where empty")
    per: Literal["opening", "swap", "event", "race", "month", "season"] = Field(
        description="how often; swap: another engine takes over inside an event"
    )
    level: Text = Field(default="", description="opening: the service level from which it is due")


def _charge_faults(test: ChargeTest, known: Known, where: Where) -> Iterator[Problem]:
    yield from level_faults(test.level, known, where)
    if (test.per == "opening") != bool(test.level):
        yield where.problem(
            "RUL004", "level", test.level, "half an occasion", 'give per = "opening" and a level, or neither'
        )
    if test.currency and not is_currency(test.currency):
        advice = "give a code of ISO 4217, such as USD or EUR"
        yield where.problem("MON001", "currency", test.currency, "no currency:", advice)
    elif test.currency:
        yield from currency_faults(test.currency, "currency", known, where)


def _charge_words(test: ChargeTest) -> str:
    per = f"opening at {test.level} or above" if test.per == "opening" else test.per
    return f"{test.amount:f} {test.currency}".strip() + f" for each {per}"


def _charge_bonds(test: ChargeTest, clause: Clause) -> Iterator[Charge]:
    yield Charge(clause, test.amount, test.currency, test.per, test.level)


def _counted_slots(test: Quota, pattern: Pattern) -> tuple[str, ...]:
    """The slots counted; services are none."""
    return tuple(slot for slot in test.slot if slot in pattern.slots)


QUOTA = Kind("quota", Quota, _quota_faults, _check_record, _counted_slots, _quota_words, ("event log",), _quota_bonds)
CHARGE = Kind(
    "charge", ChargeTest, _charge_faults, _check_record, no_slots, _charge_words, ("event log",), _charge_bonds
)
