"""From candidates and questions to a puzzle: each fit and clause becomes a table of what may stand together, or a sum.

A table is filled by asking the question of every tuple of *classes*: candidates that are alike in all that it reads are
one class. Where there would be too many tuples it becomes a sum; where it is none either, it is left out of the puzzle
and asked of each pick that the solver finds (`Encoded.lazy`), which bars what fails, so that the answer stays exact.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from functools import partial
from itertools import product
from zlib import crc32

from costplan.catalog import Catalog, Offer
from costplan.choose.candidates import Candidate, buying_of, candidates_of, turn_on_hand
from costplan.choose.hand import Hand, Left
from costplan.choose.judging import ClauseQuestion, Judge, Judgement, Question, questions_of
from costplan.choose.purchases import PRICE, Cap, Purchases
from costplan.choose.puzzle import Allowed, Amount, Bounded, Ground, Pick, Puzzle, Restriction, Within
from costplan.choose.sums import sums_of
from costplan.choose.wishes import NOTHING, ChoosyBuying, Wishes
from costplan.money import to_minor
from costplan.rules import Pack
from costplan.scenario import Scenario

#: More tuples than these are not asked one by one.
TABLE_MOST = 20_000
#: Nor is it looked for among more whether any at all shows what a question asks.
SHOWN_MOST = 20_000


@dataclass(frozen=True, slots=True)
class Out:
    """A candidate that cannot be picked whatever the others are, and why not."""

    candidate: Candidate
    ground: Ground


@dataclass(frozen=True, slots=True)
class Open:
    """A fit or a clause that no choice of parts can show to be kept, for what the catalogs do not tell."""

    ground: Ground


@dataclass(frozen=True)
class Encoded:
    """A puzzle with what it speaks of: slots, candidates, questions.

    `lazy`: the questions that the puzzle lets pass more than they do, to be asked of each pick; `out` and `open` as
    above; `unshown`: the questions that are open, of which it is enough not to be broken; `tables` and `sums` count
    what was made; `left`: the pieces on hand that were asked for and may not be used, each with why.
    """

    scenario: Scenario
    wishes: Wishes
    slots: tuple[str, ...]
    candidates: Mapping[str, tuple[Candidate, ...]]
    puzzle: Puzzle
    judge: Judge
    purchases: Purchases
    lazy: tuple[tuple[int, Question], ...] = ()
    out: tuple[Out, ...] = ()
    open: tuple[Open, ...] = ()
    unshown: tuple[Question, ...] = ()
    tables: int = 0
    sums: int = 0
    packs: tuple[Pack, ...] = ()
    left: tuple[Left, ...] = ()

    def good(self, question: Question) -> tuple[Judgement, ...]:
        """What a question may answer of a pick that stands."""
        lenient = self.wishes.unknown == "allow" or any(one is question for one in self.unshown)
        return ("may", "not known") if lenient else ("may",)

    def chosen(self, pick: Pick) -> dict[str, Candidate]:
        """The candidates of a pick by slot, those that take turns with a main part left out."""
        return {slot: one for slot, one in self.paid_for(pick).items() if "/" not in slot}

    def paid_for(self, pick: Pick) -> dict[str, Candidate]:
        """All candidates of a pick, those that take turns with a main part under a name of their own."""
        return {slot: self.candidates[slot][one] for slot, one in zip(self.slots, pick, strict=True)}


@dataclass(slots=True)
class _Desk:
    """One encoding under way."""

    scenario: Scenario
    wishes: Wishes
    judge: Judge
    candidates: dict[str, tuple[Candidate, ...]]
    whole: bool
    grounds: list[Ground] = field(default_factory=list)
    restrictions: list[Restriction] = field(default_factory=list)
    caps: list[tuple[int, Cap, float]] = field(default_factory=list)
    lazy: list[tuple[int, Question]] = field(default_factory=list)
    out: list[Out] = field(default_factory=list)
    open: list[Open] = field(default_factory=list)
    unshown: list[Question] = field(default_factory=list)
    every: Mapping[str, tuple[Candidate, ...]] = field(default_factory=dict)
    tables: int = 0
    sums: int = 0

    @property
    def slots(self) -> tuple[str, ...]:
        return tuple(self.candidates)

    def ground(self, ground: Ground) -> int:
        """The number of a ground: one for a clause of which several slots answer each for itself."""
        if ground not in self.grounds:
            self.grounds.append(ground)
        return self.grounds.index(ground)

    def keep(self, ground: int, slot: str, may: Sequence[bool]) -> None:
        """Takes candidates out of a slot; leaves them in for somebody who wants to know why nothing is left."""
        if all(may):
            return
        if self.whole:
            self.bar(ground, slot, may)
            return
        pairs = list(zip(self.candidates[slot], may, strict=True))
        self.out += [Out(one, self.grounds[ground]) for one, good in pairs if not good]
        self.candidates[slot] = tuple(one for one, good in pairs if good)

    def bar(self, ground: int, slot: str, may: Sequence[bool]) -> None:
        """Leaves candidates in their slot and forbids them: others already count on their numbers."""
        classes = tuple(int(one) for one in may)
        self.restrictions.append(Allowed(ground, (self.slots.index(slot),), (classes,), frozenset({(1,)})))


def encode(scenario: Scenario, wishes: Wishes, packs: Iterable[Pack] | None = None, *, whole: bool = False) -> Encoded:
    """The puzzle of a choice; `packs`: other books than the scenario's.

    With `whole` no candidate is taken out beforehand, so that every restriction keeps its ground, to tell why nothing
    is left.
    """
    books = scenario.packs if packs is None else tuple(packs)
    judge = Judge(scenario, wishes)
    hand = Hand(scenario, wishes)
    desk = _Desk(scenario, wishes, judge, candidates_of(scenario, wishes, hand), whole)
    _take_turns(desk, hand)
    desk.every = dict(desk.candidates)
    _wish(desk)
    questions = [(desk.ground(one.ground), one) for one in questions_of(scenario, wishes, books)]
    for alone in (True, False):
        for ground, question in questions:
            scope = _scope(question, desk)
            if (len(scope) <= 1) == alone:
                _ask(ground, question, scope, desk)
    return replace(_encoded(desk), packs=books, left=tuple(hand.left))


def _take_turns(desk: _Desk, hand: Hand) -> None:
    """Parts that take turns with a main one: slots of their own with their planned part, which is only paid for."""
    for slot, others in desk.scenario.built().alternates.items():
        for one in others:
            if one.serves:
                bought = Candidate(slot, "kit" if one.fill.kit else "apart", one.fill, one.fill.kit)
                desk.candidates[f"{slot}/{one.name}"] = (bought, *turn_on_hand(desk.scenario, slot, one, hand))


def _wish(desk: _Desk) -> None:
    """What is pinned, banned, bought from whom and by when."""
    wishes, buying = desk.wishes, buying_of(desk.scenario, desk.wishes)
    for slot, part in wishes.pinned.items():
        ground = desk.ground(Ground("pinned", slot, f"{slot} is to be {part}"))
        desk.keep(ground, slot, [one.part == part for one in desk.candidates[slot]])
    for part in wishes.banned:
        ground = desk.ground(Ground("banned", part, f"{part} is not to be used"))
        for slot in desk.slots:
            desk.keep(ground, slot, [one.part != part for one in desk.candidates[slot]])
    _keep_critical(desk)
    anybody, any_day = replace(buying, suppliers=()), replace(buying, by=None)
    named = f"bought from {', '.join(wishes.suppliers)}"
    if wishes.suppliers:
        _buy(desk, Ground("supplier", "", named), lambda offers: bool(any_day.open_to(offers, wishes.on)))
    if wishes.by:
        says = f"here by {wishes.by}, ordered on {wishes.on}"
        says = f"{says}, {named}" if wishes.suppliers else says
        _buy(desk, Ground("lead", str(wishes.by), says), partial(_is_in_time, anybody, any_day, buying, wishes.on))


def _keep_critical(desk: _Desk) -> None:
    """Nothing cheaper than planned where a part is not to be stretched: what holds an engine together is no saving."""
    build, wishes = desk.scenario.built(), desk.wishes
    kept = {row.slot: str(row.place) for row in desk.scenario.files.positions if not row.stretch}
    for slot, place in sorted(kept.items()):
        fill = build.fills.get(slot)
        if fill is None or slot in wishes.cheapen or slot in wishes.pinned:
            continue
        least = _cost_new(desk, slot, fill.part.part)
        says = f"nothing cheaper in {slot} than {fill.part.part}, which is not to be stretched to save money"
        may = [one.fill is None or _cost_new(desk, slot, one.part) >= least for one in desk.candidates[slot]]
        desk.keep(desk.ground(Ground("critical", slot, says, place)), slot, may)


def _cost_new(desk: _Desk, slot: str, part: str) -> Decimal:
    """What the pieces of a slot cost new, whoever sells them."""
    catalog, scenario = desk.scenario.catalog or Catalog(), desk.scenario
    pieces = scenario.built().pattern.slots[slot].quantity
    return scenario.buying.cheapest(catalog.offers_of(part), pieces, desk.wishes.on).cost


def _is_in_time(
    anybody: ChoosyBuying, any_day: ChoosyBuying, buying: ChoosyBuying, on: date, offers: Sequence[Offer]
) -> bool:
    """Whether anybody has it here in time, and of those asked one, if they sell it at all."""
    late = bool(any_day.open_to(offers, on)) and not buying.open_to(offers, on)
    return bool(anybody.open_to(offers, on)) and not late


def _buy(desk: _Desk, ground: Ground, may: Callable[[Sequence[Offer]], bool]) -> None:
    """Of what is bought only what may be by its offers."""
    number, catalog = desk.ground(ground), desk.scenario.catalog or Catalog()
    for slot in desk.slots:
        rows = [
            one.source in ("hand", "empty") or may(catalog.offers_of(one.kit or one.part))
            for one in desk.candidates[slot]
        ]
        desk.keep(number, slot, rows)


def _real(desk: _Desk) -> list[str]:
    return [slot for slot in desk.slots if "/" not in slot]


def _scope(question: Question, desk: _Desk) -> tuple[str, ...]:
    return tuple(dict.fromkeys(slot for slot, _ in question.reads if slot in desk.candidates))


def _ask(ground: int, question: Question, scope: tuple[str, ...], desk: _Desk) -> None:
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


def _leave_open(question: Question, desk: _Desk) -> None:
    desk.open.append(Open(question.ground))
    desk.unshown.append(question)


def _is_shown_by_none(question: Question, scope: Sequence[str], desk: _Desk) -> bool:
    """Whether none of all the candidates there are, those that wishes or clauses put out too, shows what is asked.

    Of too many tuples to ask it counts as shown where each slot has a candidate with all attributes that are read.
    """
    first = [_first_of_classes(question, slot, desk) for slot in scope]
    if math.prod(len(row) for row in first) > SHOWN_MOST:
        return not all(any(_knows(one, _needed(question, one.slot), desk) for one in row) for row in first)
    found = {desk.judge.judge(question, dict(zip(scope, row, strict=True))) for row in product(*first)}
    return "may" not in found and "not known" in found


def _first_of_classes(question: Question, slot: str, desk: _Desk) -> tuple[Candidate, ...]:
    names = [attribute for other, attribute in question.reads if other == slot]
    return tuple({_key(one, names, desk): one for one in reversed(desk.every[slot])}.values())


def _needed(question: Question, slot: str) -> list[str]:
    """The attributes of a slot without which a question itself, its conditions aside, cannot be answered."""
    pairs = question.own_reads if isinstance(question, ClauseQuestion) else question.reads
    return [attribute for other, attribute in pairs if other == slot and attribute]


def _without_unknown(ground: int, question: Question, scope: Sequence[str], desk: _Desk) -> Iterator[Bounded]:
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
        lacks = tuple(int(not _knows(one, needed, desk)) for one in desk.candidates[slot])
        if any(lacks):
            mine = zip(lacks, empty.get(number, (0,) * len(lacks)), strict=True)
            yield Bounded(ground, {**empty, number: tuple(one + other for one, other in mine)}, None, 0)


def _is_named(question: Question, slot: str) -> bool:
    """Whether nothing may be asked where a slot is empty: of a limit what it names, not what a measure rests on."""
    limit = question.limit if isinstance(question, ClauseQuestion) else None
    return limit is None or slot in (name.removeprefix("made.").partition(".")[0] for name in limit.names)


def _knows(one: Candidate, needed: Sequence[str], desk: _Desk) -> bool:
    if one.fill is None:
        return True
    figures = desk.judge.figures_of(desk.judge.build_of({one.slot: one}))
    words = desk.scenario.built().pattern.words
    return all(
        (figures.word(one.slot, each) if each in words else figures.attribute(one.slot, each)).value is not None
        for each in needed
    )


def _classes(question: Question, slot: str, desk: _Desk) -> tuple[int, ...]:
    """The class of each candidate of a slot: alike where the question reads the same of them."""
    names = [attribute for other, attribute in question.reads if other == slot]
    keys = [_key(one, names, desk) for one in desk.candidates[slot]]
    order = {key: number for number, key in enumerate(dict.fromkeys(keys))}
    return tuple(order[key] for key in keys)


def _key(one: Candidate, names: Sequence[str], desk: _Desk) -> object:
    """All that a question reads of a candidate: attributes, or the part with where it comes from."""
    if one.fill is None:
        return None
    if "" in names:
        return one.part, one.kit, one.piece.piece if one.piece else None
    figures = desk.judge.figures_of(desk.judge.build_of({one.slot: one}))
    words = desk.scenario.built().pattern.words
    found = [
        figures.word(one.slot, each).value if each in words else figures.attribute(one.slot, each).value
        for each in names
    ]
    made = [one.fill.part.attributes.get(each) for each in names]
    return (*found, *made)


def _table(
    ground: int, question: Question, scope: tuple[str, ...], classes: Mapping[str, tuple[int, ...]], desk: _Desk
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


def _cap_of(ground: int, question: Question, desk: _Desk) -> tuple[int, Cap, float] | None:
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
    slots = frozenset(slot for slot in _real(desk) if slot not in limit.without)
    high = to_minor(most + width + place, rates.currency) + 1
    return ground, Cap(f"price under {question.ground.name}", day, slots), high


def _encoded(desk: _Desk) -> Encoded:
    scenario, wishes = desk.scenario, desk.wishes
    _use_pieces_once(desk)
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


def _use_pieces_once(desk: _Desk) -> None:
    """A piece on the shelf goes into one slot."""
    takers: dict[str, dict[int, tuple[int, ...]]] = {}
    for number, slot in enumerate(desk.slots):
        for name in {one.piece.piece for one in desk.candidates[slot] if one.piece}:
            of = tuple(int(one.piece is not None and one.piece.piece == name) for one in desk.candidates[slot])
            takers.setdefault(name, {})[number] = of
    for name, weights in sorted(takers.items()):
        if len(weights) > 1:
            ground = desk.ground(Ground("hand", name, f"{name} is there once"))
            desk.restrictions.append(Bounded(ground, weights, None, 1))


#: The amounts that decide between bills alike in all else: few changes to the build, then a fixed order of parts.
CHANGES, ORDER = "changes", "order"


def _changes(desk: _Desk) -> Amount:
    """How many slots hold another part than the build as planned."""
    build, weights = desk.scenario.built(), {}
    for number, slot in enumerate(desk.slots):
        part = build.part(slot)
        if "/" not in slot:
            name = part.part if part else NOTHING
            weights[number] = tuple(int(one.part != name) for one in desk.candidates[slot])
    return Amount(CHANGES, weights)


def _order(desk: _Desk) -> Amount:
    """A number of each candidate's own, as far as names differ, whatever the order of rows."""
    return Amount(
        ORDER, {number: tuple(_mark(one) for one in desk.candidates[slot]) for number, slot in enumerate(desk.slots)}
    )


def _mark(one: Candidate) -> int:
    """A number below 2^24: larger ones the solver takes ill."""
    return crc32(f"{one.slot} {one.part} {one.kit} {one.piece.piece if one.piece else ''}".encode()) >> 8


def _planned(desk: _Desk) -> Pick | None:
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


def lazily_barred(encoded: Encoded, pick: Pick) -> Iterator[Restriction]:
    """What a pick shows to be barred though the puzzle lets it pass: the classes of each question that fails."""
    chosen = encoded.chosen(pick)
    for ground, question in encoded.lazy:
        scope = tuple(dict.fromkeys(slot for slot, _ in question.reads if slot in encoded.candidates))
        if encoded.judge.judge(question, {slot: chosen[slot] for slot in scope}) in encoded.good(question):
            continue
        yield _never(ground, question, scope, encoded, pick)


def _never(ground: int, question: Question, scope: tuple[str, ...], encoded: Encoded, pick: Pick) -> Bounded:
    """Not all of the candidates of a pick, or others of their classes, at once."""
    weights = {}
    for slot in scope:
        names = [attribute for other, attribute in question.reads if other == slot]
        number = encoded.slots.index(slot)
        mine = _key_of(encoded.candidates[slot][pick[number]], names, encoded)
        weights[number] = tuple(int(_key_of(one, names, encoded) == mine) for one in encoded.candidates[slot])
    return Bounded(ground, weights, None, len(scope) - 1)


def _key_of(one: Candidate, names: Sequence[str], encoded: Encoded) -> object:
    return _key(
        one, names, _Desk(encoded.scenario, encoded.wishes, encoded.judge, dict(encoded.candidates), whole=False)
    )


def _desk_of(encoded: Encoded) -> _Desk:
    """The desk on which a choice was encoded whole, with nothing asked."""
    all_of_them = dict(encoded.candidates)
    grounds = list(encoded.puzzle.grounds)
    return _Desk(encoded.scenario, encoded.wishes, encoded.judge, all_of_them, True, grounds, every=all_of_them)


def told_apart(encoded: Encoded, question: Question) -> tuple[tuple[int, ...], tuple[tuple[int, ...], ...]]:
    """The slots that a question rests on, and the class of each of their candidates: alike where it reads the same."""
    desk = _desk_of(encoded)
    scope = _scope(question, desk)
    return tuple(desk.slots.index(slot) for slot in scope), tuple(_classes(question, slot, desk) for slot in scope)


def asking(encoded: Encoded, ground: int, question: Question) -> Encoded:
    """A choice that was encoded whole, with one more question asked for a ground."""
    desk = _desk_of(encoded)
    _ask(ground, question, _scope(question, desk), desk)
    more = replace(encoded, lazy=(*encoded.lazy, *desk.lazy), unshown=(*encoded.unshown, *desk.unshown))
    return with_restrictions(more, desk.restrictions)


def with_amount(encoded: Encoded, amount: Amount) -> Encoded:
    """The same with one more amount that can be aimed at."""
    amounts = {**encoded.puzzle.amounts, amount.name: amount}
    return replace(encoded, puzzle=replace(encoded.puzzle, amounts=amounts))


def other_parts_than(encoded: Encoded, pick: Pick, slots: Iterable[int]) -> Bounded:
    """In some slots not the parts of a pick again, wherever they come from."""
    weights = {
        number: tuple(
            int(one.part == encoded.candidates[encoded.slots[number]][pick[number]].part)
            for one in encoded.candidates[encoded.slots[number]]
        )
        for number in slots
    }
    return Bounded(-1, weights, None, len(weights) - 1)


def with_restrictions(encoded: Encoded, more: Iterable[Restriction]) -> Encoded:
    """The same with more that is asked."""
    puzzle = encoded.puzzle
    return replace(encoded, puzzle=replace(puzzle, restrictions=(*puzzle.restrictions, *more)))


def without_grounds(encoded: Encoded, grounds: Iterable[int]) -> Encoded:
    """The same with nothing asked for some grounds."""
    gone, puzzle = frozenset(grounds), encoded.puzzle
    restrictions = tuple(one for one in puzzle.restrictions if one.ground not in gone)
    within = tuple(one for one in puzzle.within if one.ground not in gone)
    lazy = tuple((ground, question) for ground, question in encoded.lazy if ground not in gone)
    return replace(encoded, puzzle=replace(puzzle, restrictions=restrictions, within=within), lazy=lazy)
