"""From candidates and questions to a puzzle."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from zlib import crc32

from costplan.choose.candidates import Candidate, buying_of, candidates_of
from costplan.choose.desk import Desk
from costplan.choose.encoded import CHANGES, ORDER, Encoded
from costplan.choose.hand import Hand
from costplan.choose.judging import Judge, questions_of
from costplan.choose.purchases import PRICE, Purchases
from costplan.choose.puzzle import Amount, Ground, Pick, Puzzle, Within
from costplan.choose.questioning import ask, scope_of
from costplan.choose.wishes import NOTHING, Wishes
from costplan.choose.wishing import take_turns, use_pieces_once, wish
from costplan.money import to_minor
from costplan.rules import Pack
from costplan.scenario import Scenario


def encode(scenario: Scenario, wishes: Wishes, packs: Iterable[Pack] | None = None, *, whole: bool = False) -> Encoded:
    """The puzzle of a choice; `packs`: other books than the scenario's.

    With `whole` no candidate is taken out beforehand, so that every restriction keeps its ground, to tell why nothing
    is left.
    """
    books = scenario.packs if packs is None else tuple(packs)
    judge = Judge(scenario, wishes)
    hand = Hand(scenario, wishes)
    desk = Desk(scenario, wishes, judge, candidates_of(scenario, wishes, hand), whole)
    take_turns(desk, hand)
    desk.every = dict(desk.candidates)
    wish(desk)
    questions = [(desk.ground(one.ground), one) for one in questions_of(scenario, wishes, books)]
    for alone in (True, False):
        for ground, question in questions:
            scope = scope_of(question, desk)
            if (len(scope) <= 1) == alone:
                ask(ground, question, scope, desk)
    return replace(_encoded(desk), packs=books, left=tuple(hand.left))


def _encoded(desk: Desk) -> Encoded:
    scenario, wishes = desk.scenario, desk.wishes
    use_pieces_once(desk)
    purchases = Purchases(
        scenario,
        buying_of(scenario, wishes),
        wishes.on,
        desk.slots,
        desk.candidates,
        tuple(cap for _, cap, _ in desk.caps),
    )
    within = [Within(ground, cap.amount, None, int(high)) for ground, cap, high in desk.caps]
    if wishes.budget is not None:
        says = f"at most {wishes.budget} {scenario.header.currency}"
        says += f", bought from {', '.join(wishes.suppliers)}" if wishes.suppliers else ""
        ground = desk.ground(Ground("budget", "budget", says))
        within.append(Within(ground, PRICE, None, to_minor(wishes.budget, scenario.header.currency)))
    amounts = {**purchases.amounts(), CHANGES: _changes(desk), ORDER: _order(desk)}
    puzzle = Puzzle(
        tuple(len(desk.candidates[slot]) for slot in desk.slots),
        tuple(desk.grounds),
        tuple(desk.restrictions),
        tuple(within),
        purchases.kits(),
        purchases.lots(),
        amounts,
        _planned(desk),
    )
    return Encoded(
        scenario,
        wishes,
        desk.slots,
        dict(desk.candidates),
        puzzle,
        desk.judge,
        purchases,
        tuple(desk.lazy),
        tuple(desk.out),
        tuple(desk.open),
        tuple(desk.unshown),
        desk.tables,
        desk.sums,
    )


def _changes(desk: Desk) -> Amount:
    """How many slots hold another part than the build as planned."""
    build, weights = desk.scenario.built(), {}
    for number, slot in enumerate(desk.slots):
        part = build.part(slot)
        if "/" not in slot:
            name = part.part if part else NOTHING
            weights[number] = tuple(int(one.part != name) for one in desk.candidates[slot])
    return Amount(CHANGES, weights)


def _order(desk: Desk) -> Amount:
    """A number of each candidate's own, as far as names differ, whatever the order of rows."""
    return Amount(
        ORDER, {number: tuple(_mark(one) for one in desk.candidates[slot]) for number, slot in enumerate(desk.slots)}
    )


def _mark(one: Candidate) -> int:
    """A number below 2^24: larger ones the solver takes ill."""
    return crc32(f"{one.slot} {one.part} {one.kit} {one.piece.piece if one.piece else ''}".encode()) >> 8


def _planned(desk: Desk) -> Pick | None:
    """The build as planned, where its parts are all still there: a pick to begin with, whether or not it holds."""
    build, found = desk.scenario.built(), []
    for slot in desk.slots:
        fill = build.fills.get(slot)
        number = next(
            (
                n
                for n, one in enumerate(desk.candidates[slot])
                if fill is None or (one.part, one.kit) == (fill.part.part, fill.kit)
            ),
            0,
        )
        found.append(number)
    return tuple(found)
