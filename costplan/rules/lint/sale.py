"""Clauses held against what is for sale: that no part meets them, that every part does, that they are never asked."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date
from types import MappingProxyType
from typing import Any

from costplan.build.names import slot_as_made, split_name
from costplan.catalog import Part
from costplan.quantity import Quantity
from costplan.rules.clause import Test
from costplan.rules.kinds import KINDS, Limit, Parts, Word
from costplan.rules.kinds.common import either
from costplan.rules.kinds.work import Work, forbids
from costplan.rules.lint.desk import Desk, Found, Span, moments, on, operations_on, own_tests, roles_of, words_of
from costplan.rules.lint.reaches import in_order, plain_unit


def permits(desk: Desk, test: Parts, listed: frozenset[str], name: str) -> bool:
    """Whether a part may be in, by a test and the names it allows; one that no catalog has may be of any supplier."""
    if name in test.banned:
        return False
    if name in listed or not (test.allowed or test.list or test.suppliers):
        return True
    part = desk.facts.catalog.parts.get(name)
    return bool(test.suppliers) and (part is None or part.supplier in test.suppliers)


def _part_passes(desk: Desk, test: Parts, part: Part, day: date) -> bool | None:
    """Whether a test allows a part; not known while its list has no edition."""
    listed = desk.listed(test, day)
    return None if listed is None else permits(desk, test, listed, part.part)


def _word_passes(desk: Desk, test: Word, part: Part, day: date) -> bool | None:
    """Whether a part's word is one of those; not known of a part without it."""
    del desk, day
    word = part.attributes.get(split_name(test.of)[1])
    if not isinstance(word, str) or not word:
        return None
    return word not in test.none_of and (not test.one_of or word in test.one_of)


def _number_passes(desk: Desk, test: Limit, part: Part, day: date) -> bool | None:
    """Whether a part's figure is within a limit on it; not known of a part without it or where a shop can change it."""
    del day
    slot, attribute = split_name(test.of[0])
    value = part.attributes.get(attribute)
    worked = not slot_as_made(slot) and any(attribute in one.changes for one in operations_on(desk, [part.role]))
    if not isinstance(value, Quantity) or worked:
        return None
    low, high = desk.reach(test)
    return in_order(low, value.to(plain_unit(value.unit)), high)


#: How a part by itself answers a test of its slot.
PASSES: MappingProxyType[type[Test], Callable[[Desk, Any, Part, date], bool | None]] = MappingProxyType(
    {Parts: _part_passes, Word: _word_passes, Limit: _number_passes}
)


def _judged_slots(desk: Desk, test: Test) -> tuple[str, ...]:
    """The slots whose parts decide a test each by itself, where anything is for sale for them."""
    slots: tuple[str, ...] = ()
    if isinstance(test, Parts):
        slots = test.slot
    elif isinstance(test, Word) or (isinstance(test, Limit) and len(test.names) == 1):
        slot = split_name(test.of if isinstance(test, Word) else test.of[0])[0]
        slots = (slot_as_made(slot) or slot,)
    return tuple(slot for slot in slots if desk.parts_for(slot))


def _answers(desk: Desk, test: Test, slot: str, span: Span) -> Iterator[bool | None]:
    """How each part for sale answers a test, on each day on which that may change."""
    days = moments(desk, span, test) if isinstance(test, Parts) else [span[0]]
    return (PASSES[type(test)](desk, test, part, day) for part in desk.parts_for(slot) for day in days)


def _barred(desk: Desk, test: Test, span: Span) -> tuple[str, ...]:
    """The slots for which no part for sale meets a test."""
    slots = _judged_slots(desk, test)
    return tuple(slot for slot in slots if all(found is False for found in _answers(desk, test, slot, span)))


def always(desk: Desk, test: Test, span: Span) -> bool:
    """Whether every part for sale meets a test."""
    slots = _judged_slots(desk, test)
    return bool(slots) and all(found is True for slot in slots for found in _answers(desk, test, slot, span))


def condition_never_holds(desk: Desk) -> Iterator[Found]:
    """A clause that is never asked, whatever part is bought."""
    for rule in desk.pack.rules:
        for one in rule.when:
            barred = _barred(desk, one.test, desk.span(rule))
            needed = [slot for slot in barred if not desk.is_optional(slot)]
            if needed or (barred and barred == _judged_slots(desk, one.test)):
                words = KINDS[one.kind].words(one.test)
                what = f"asked only where {words}: no part for sale for {either(needed or barred)} is so"
                yield on(rule, what, "check the condition", place=one.test.place)
        for one in rule.unless:
            slots = _judged_slots(desk, one.test)
            if always(desk, one.test, desk.span(rule)) and not any(desk.is_optional(slot) for slot in slots):
                what = f"not asked where {KINDS[one.kind].words(one.test)}: every part for sale for it is so"
                yield on(rule, what, "check the condition", place=one.test.place)


def nothing_meets_it(desk: Desk) -> Iterator[Found]:
    """A clause that every part for sale breaks; what may be left out, or may stay as older, meets it all the same."""
    for rule in desk.pack.rules:
        barred = [slot for slot in _barred(desk, rule.test, desk.span(rule)) if not desk.is_optional(slot)]
        if barred and rule.heading.kept is None:
            what = f"{words_of(rule)}: no part for sale for {either(barred)} meets it"
            yield on(rule, what, "check its words and figures, or add such a part to a catalog")


def bars_nothing(desk: Desk) -> Iterator[Found]:
    """A clause that bars no part for sale, or no work of the shop's list."""
    for rule, test in own_tests(desk, Parts):
        named = test.allowed or test.list or test.suppliers
        if named and not test.mark and always(desk, test, desk.span(rule)):
            yield on(rule, f"{words_of(rule)}: every part for sale for it is allowed", "leave it out, or bar something")
    for rule, work in own_tests(desk, Work):
        done = operations_on(desk, roles_of(desk, work.slot))
        if done and not work.must and not any(forbids(work, operation) for operation in done):
            yield on(rule, f"{words_of(rule)}: bars none of the shop's work", "leave it out, or bar something")
