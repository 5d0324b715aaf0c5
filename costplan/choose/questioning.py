"""Questions as tables and sums: what may stand together by a fit or a clause.

A table is filled by asking the question of every tuple of *classes*: candidates that are alike in all that it reads are
one class. Where there would be too many tuples it becomes a sum; where it is none either, it is left out of the puzzle
and asked of each pick that the solver finds (`Encoded.lazy`), which bars what fails, so that the answer stays exact.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import product

from costplan.choose.candidates import Candidate
from costplan.choose.desk import Desk
from costplan.choose.encoded import Encoded, Open, with_restrictions
from costplan.choose.judging import ClauseQuestion, Judgement, Question
from costplan.choose.purchases import Cap
from costplan.choose.puzzle import Allowed, Bounded
from costplan.choose.sums import sums_of
from costplan.money import to_minor

#: More tuples than these are not asked one by one.
TABLE_MOST = 20_000


#: Nor is it looked for among more whether any at all shows what a question asks.
SHOWN_MOST = 20_000


def ask(ground: int, question: Question, scope: tuple[str, ...], desk: Desk) -> None:
    """One question as a table, a cap, sums, or as one to be asked of each pick; of one slot always as a table."""
    cap = _cap_of(ground, question, desk) if len(scope) > 1 else None
    if cap is not None:
        desk.caps.append(cap)
        desk.lazy.append((ground, question))
        return
    classes = {slot: _classes(question, slot, desk) for slot in scope}
    size = 1
    for slot in scope:
        size *= len(set(classes[slot]))
    if size <= TABLE_MOST or len(scope) <= 1:
        _table(ground, question, scope, classes, desk)
        return
    if _is_shown_by_none(question, scope, desk):
        _leave_open(question, desk)
    elif desk.wishes.unknown == "exclude":
        desk.restrictions += _without_unknown(ground, question, scope, desk)
    sums = sums_of(question, ground, desk.slots, desk.candidates, desk.judge) or ()
    desk.lazy.append((ground, question))
    desk.restrictions += sums
    desk.sums += len(sums)


def scope_of(question: Question, desk: Desk) -> tuple[str, ...]:
    return tuple(dict.fromkeys(slot for slot, _ in question.reads if slot in desk.candidates))


def real_slots(desk: Desk) -> list[str]:
    return [slot for slot in desk.slots if "/" not in slot]


def _leave_open(question: Question, desk: Desk) -> None:
    desk.open.append(Open(question.ground))
    desk.unshown.append(question)


def _is_shown_by_none(question: Question, scope: Sequence[str], desk: Desk) -> bool:
    """Whether none of all the candidates there are, those that wishes or clauses put out too, shows what is asked.

    Of too many tuples to ask it counts as shown where each slot has a candidate with all attributes that are read.
    """
    first = [_first_of_classes(question, slot, desk) for slot in scope]
    if math.prod(len(row) for row in first) > SHOWN_MOST:
        return not all(any(desk.judge.knows(one, _needed(question, one.slot)) for one in row) for row in first)
    found = {desk.judge.judge(question, dict(zip(scope, row, strict=True))) for row in product(*first)}
    return "may" not in found and "not known" in found


def _first_of_classes(question: Question, slot: str, desk: Desk) -> tuple[Candidate, ...]:
    names = [attribute for other, attribute in question.reads if other == slot]
    return tuple({desk.judge.told(one, names): one for one in reversed(desk.every[slot])}.values())


def _needed(question: Question, slot: str) -> list[str]:
    """The attributes of a slot without which a question itself, its conditions aside, cannot be answered."""
    pairs = question.own_reads if isinstance(question, ClauseQuestion) else question.reads
    return [attribute for other, attribute in pairs if other == slot and attribute]


def _without_unknown(ground: int, question: Question, scope: Sequence[str], desk: Desk) -> Iterator[Bounded]:
    """Bars candidates of which an attribute is not known, unless a slot is empty for which nothing may be asked.

    Where a clause has conditions it may not be asked either: then each pick is asked.
    """
    if isinstance(question, ClauseQuestion) and question.is_conditional:
        return
    empty = {
        desk.slots.index(slot): tuple(-int(one.fill is None) for one in desk.candidates[slot])
        for slot in scope
        if _is_named(question, slot) and any(one.fill is None for one in desk.candidates[slot])
    }
    for slot in scope:
        needed, number = _needed(question, slot), desk.slots.index(slot)
        lacks = tuple(int(not desk.judge.knows(one, needed)) for one in desk.candidates[slot])
        if any(lacks):
            mine = zip(lacks, empty.get(number, (0,) * len(lacks)), strict=True)
            yield Bounded(ground, {**empty, number: tuple(one + other for one, other in mine)}, None, 0)


def _is_named(question: Question, slot: str) -> bool:
    """Whether nothing may be asked where a slot is empty: of a limit what it names, not what a measure rests on."""
    limit = question.limit if isinstance(question, ClauseQuestion) else None
    return limit is None or slot in (name.removeprefix("made.").partition(".")[0] for name in limit.names)


def _classes(question: Question, slot: str, desk: Desk) -> tuple[int, ...]:
    """The class of each candidate of a slot: alike where the question reads the same of them."""
    names = [attribute for other, attribute in question.reads if other == slot]
    keys = [desk.judge.told(one, names) for one in desk.candidates[slot]]
    order = {key: number for number, key in enumerate(dict.fromkeys(keys))}
    return tuple(order[key] for key in keys)


def _table(
    ground: int, question: Question, scope: tuple[str, ...], classes: Mapping[str, tuple[int, ...]], desk: Desk
) -> None:
    """Asks a question of every tuple of classes, and keeps those that may be."""
    first = {slot: {one: classes[slot].index(one) for one in sorted(set(classes[slot]))} for slot in scope}
    said: dict[tuple[int, ...], Judgement] = {}
    for row in product(*(first[slot] for slot in scope)):
        chosen = {slot: desk.candidates[slot][first[slot][one]] for slot, one in zip(scope, row, strict=True)}
        said[row] = desk.judge.judge(question, chosen)
    desk.tables += 1
    lenient = desk.wishes.unknown == "allow"
    if "may" not in said.values() and "not known" in said.values() and _is_shown_by_none(question, scope, desk):
        _leave_open(question, desk)
        lenient = True
    good = ("may", "not known") if lenient else ("may",)
    tuples = frozenset(row for row, one in said.items() if one in good)
    if len(tuples) == len(said):
        return
    if not scope:  # it speaks of no slot, and no choice of parts helps
        desk.restrictions.append(Bounded(ground, {}, None, -1))
        return
    if len(scope) == 1:
        desk.keep(ground, scope[0], [(one,) in tuples for one in classes[scope[0]]])
        return
    places = tuple(desk.slots.index(slot) for slot in scope)
    desk.restrictions.append(merged(Allowed(ground, places, tuple(classes[slot] for slot in scope), tuples)))


def merged(allowed: Allowed) -> Allowed:
    """The same table with classes that may stand with the same others made one, and slots of one class left out."""
    scope, classes, tuples = list(allowed.scope), list(allowed.classes), set(allowed.tuples)
    position = 0
    while position < len(scope):
        partners: dict[int, set[tuple[int, ...]]] = {one: set() for one in classes[position]}
        for row in tuples:
            partners[row[position]].add((*row[:position], *row[position + 1 :]))
        first = {frozenset(with_it): one for one, with_it in sorted(partners.items(), reverse=True)}
        renamed = {one: first[frozenset(with_it)] for one, with_it in partners.items()}
        if len(scope) > 1 and len(set(renamed.values())) == 1:
            tuples = {(*row[:position], *row[position + 1 :]) for row in tuples}
            del scope[position], classes[position]
            continue
        tuples = {(*row[:position], renamed[row[position]], *row[position + 1 :]) for row in tuples}
        classes[position] = tuple(renamed[one] for one in classes[position])
        position += 1
    return Allowed(allowed.ground, tuple(scope), tuple(classes), frozenset(tuples))


def _cap_of(ground: int, question: Question, desk: Desk) -> tuple[int, Cap, float] | None:
    """A limit on what all parts cost on a day, and its bound in the scenario's minor units, a bit widened."""
    limit = question.limit if isinstance(question, ClauseQuestion) else None
    if limit is None or limit.of != ("price",) or limit.less or limit.greatest is None or not limit.greatest.is_money:
        return None
    if isinstance(question, ClauseQuestion) and (question.is_conditional or question.rule.heading.kept):
        return None
    day = limit.prices_on or desk.wishes.on
    rates, bound = desk.scenario.buying.rates, limit.greatest
    most = rates.convert(bound.number, bound.unit, day)
    width = rates.convert(limit.tolerance.number, bound.unit, day) if limit.tolerance else 0
    place = rates.convert(bound.number.from_float(1.0).scaleb(int(bound.number.as_tuple().exponent)), bound.unit, day)
    slots = frozenset(slot for slot in real_slots(desk) if slot not in limit.without)
    high = to_minor(most + width + place, rates.currency) + 1
    return ground, Cap(f"price under {question.ground.name}", day, slots), high


def told_apart(encoded: Encoded, question: Question) -> tuple[tuple[int, ...], tuple[tuple[int, ...], ...]]:
    """The slots that a question rests on, and the class of each of their candidates: alike where it reads the same."""
    desk = _desk_of(encoded)
    scope = scope_of(question, desk)
    return tuple(desk.slots.index(slot) for slot in scope), tuple(_classes(question, slot, desk) for slot in scope)


def asking(encoded: Encoded, ground: int, question: Question) -> Encoded:
    """A choice that was encoded whole, with one more question asked for a ground."""
    desk = _desk_of(encoded)
    ask(ground, question, scope_of(question, desk), desk)
    more = replace(encoded, lazy=(*encoded.lazy, *desk.lazy), unshown=(*encoded.unshown, *desk.unshown))
    return with_restrictions(more, desk.restrictions)


def _desk_of(encoded: Encoded) -> Desk:
    """The desk on which a choice was encoded whole, with nothing asked."""
    all_of_them = dict(encoded.candidates)
    grounds = list(encoded.puzzle.grounds)
    return Desk(encoded.scenario, encoded.wishes, encoded.judge, all_of_them, True, grounds, every=all_of_them)
