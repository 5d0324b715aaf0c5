"""A puzzle with what it speaks of, and the same with more asked or less."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from costplan.choose.candidates import Candidate
from costplan.choose.hand import Left
from costplan.choose.judging import Judge, Judgement, Question
from costplan.choose.purchases import Purchases
from costplan.choose.puzzle import Amount, Bounded, Ground, Pick, Puzzle, Restriction
from costplan.choose.wishes import Wishes
from costplan.rules import Pack
from costplan.scenario import Scenario


@dataclass(frozen=True, slots=True)
class Out:
    """A candidate that cannot be picked whatever the others are, and why not: its slot and part, and the kit that it
    comes in or the piece that it is."""

    slot: str
    part: str
    kit: str
    piece: str
    ground: Ground


@dataclass(frozen=True, slots=True)
class Open:
    """A fit or a clause that no choice of parts can show to be kept, for what the catalogs do not tell."""

    ground: Ground


#: The amounts that decide between bills alike in all else: few changes to the build, then a fixed order of parts.
CHANGES, ORDER = "changes", "order"


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
        mine = encoded.judge.told(encoded.candidates[slot][pick[number]], names)
        weights[number] = tuple(int(encoded.judge.told(one, names) == mine) for one in encoded.candidates[slot])
    return Bounded(ground, weights, None, len(scope) - 1)


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
