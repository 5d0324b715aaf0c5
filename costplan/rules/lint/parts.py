"""Clauses on the parts of one slot, and choices: that nothing meets both, that one is idle, that none can be built."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from itertools import combinations, product

from costplan.rules.clause import Rule
from costplan.rules.kinds import Option, Parts
from costplan.rules.kinds.common import either
from costplan.rules.lint.desk import Desk, Found, Span, moments, on, own_tests, words_of
from costplan.rules.lint.pairs import first_against, groups_of, outdoes, shared_days
from costplan.rules.lint.sale import always, permits


def _allowed_by(desk: Desk, slot: str, day: date, test: Parts, beside: Parts) -> frozenset[str]:
    """The parts that a test allows in a slot, of those for sale and those that it or another test names."""
    listed, others = desk.listed(test, day), desk.listed(beside, day)
    if listed is None:
        return frozenset()
    named = {*listed, *test.banned, *(others or ()), *beside.banned}
    strange = (name for name in named if name not in desk.facts.catalog.parts)
    names = (*(part.part for part in desk.parts_for(slot)), *strange)
    return frozenset(name for name in names if permits(desk, test, listed, name))


def parts_contradict(desk: Desk) -> Iterator[Found]:
    """Two clauses on the parts of one slot that no part meets."""

    def against(one: tuple[Rule, Parts], other: tuple[Rule, Parts]) -> bool:
        span = shared_days(desk, one[0], other[0])
        slots = [slot for slot in one[1].slot if slot in other[1].slot]
        return span is not None and any(_apart(desk, slot, span, one[1], other[1]) for slot in slots)

    for one, other in first_against(groups_of(desk, Parts, lambda test: test.slot), against, mutual=True):
        what = f"{words_of(other)}; but {one.id} asks {words_of(one)}: no part meets both"
        yield on(other, what, "change one, or part them by dates or conditions", one.id)


def _apart(desk: Desk, slot: str, span: Span, first: Parts, second: Parts) -> bool:
    """Whether on some day each of two tests allows parts in a slot, and none in common."""
    for day in moments(desk, span, first, second):
        one, other = _allowed_by(desk, slot, day, first, second), _allowed_by(desk, slot, day, second, first)
        if one and other and not one & other:
            return True
    return False


def parts_idle(desk: Desk) -> Iterator[Found]:
    """A clause on parts that never decides, as another allows no part that it bars."""

    def against(one: tuple[Rule, Parts], other: tuple[Rule, Parts]) -> bool:
        return outdoes(desk, one[0], other[0]) and _within(desk, one[1], other[1], desk.span(other[0]))

    for one, other in first_against(groups_of(desk, Parts, lambda test: test.slot), against):
        what = f"{words_of(other)}: bars no part that {one.id} does not ({words_of(one)})"
        yield on(other, what, f"leave it out, or loosen {one.id}", one.id)


def _within(desk: Desk, tight: Parts, wide: Parts, span: Span) -> bool:
    """Whether one test allows nothing that the other bars; not asked of one that bars nothing at all."""
    if not set(wide.slot) <= set(tight.slot) or wide.mark not in ("", tight.mark):
        return False
    for slot, day in product(wide.slot, moments(desk, span, tight, wide)):
        inner = _allowed_by(desk, slot, day, tight, wide)
        if not inner or not inner <= _allowed_by(desk, slot, day, wide, tight):
            return False
    return not always(desk, wide, span)


def choice_nobody_can_build(desk: Desk) -> Iterator[Found]:
    """A choice without parts, or without one for sale for a slot that must be filled."""
    for rule, test in own_tests(desk, Option):
        sold = {slot: {part.part for part in desk.parts_for(slot)} for slot in test.slot if not desk.is_optional(slot)}
        for name, parts in test.choices.items():
            bare = [slot for slot, known in sold.items() if known and not known & set(parts)]
            if bare or not parts:
                what = f"choice {name}: no part for sale for {either(bare or test.slot)}"
                yield on(rule, what, "add one to the choice")


def part_of_two_choices(desk: Desk) -> Iterator[Found]:
    """A part that belongs to several choices, by which they cannot be told apart."""
    for rule, test in own_tests(desk, Option):
        for (one, first), (other, second) in combinations(test.choices.items(), 2):
            both = [part for part in first if part in second]
            if both:
                what = f"{', '.join(both)} in the choices {one} and {other}"
                yield on(rule, what, "no fault where it is meant; other parts tell the choices apart")
