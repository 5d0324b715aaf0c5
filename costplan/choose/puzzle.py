"""The choice as a puzzle of whole numbers: slots with candidates, what may go with what, what each choice adds up to.

It knows nothing of engines, so that it can be written by hand and solved by brute force as well (`picks`, `fits`,
`amount_of`): what the solver proves is checked against those. A *pick* names one candidate in each slot.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from itertools import product
from typing import Literal, TypeAlias

Pick: TypeAlias = tuple[int, ...]
#: For each of some slots, one whole number for each of its candidates.
Weights: TypeAlias = Mapping[int, tuple[int, ...]]
GroundKind = Literal["clause", "fit", "pinned", "banned", "supplier", "lead", "budget", "hand", "critical"]


@dataclass(frozen=True, slots=True)
class Ground:
    """Why something is asked: a clause, a fit, a wish; `says` it in the words of who asks, `place` is its row.

    `book`: where a clause stands in its book, in words.
    """

    kind: GroundKind
    name: str
    says: str = ""
    place: str = ""
    book: str = ""


@dataclass(frozen=True, slots=True)
class Allowed:
    """What may stand together in the slots of `scope`, by class: candidates alike in all that matters are of one class.

    `classes` gives for each slot of the scope the class of each of its candidates, `tuples` what may stand together.
    """

    ground: int
    scope: tuple[int, ...]
    classes: tuple[tuple[int, ...], ...]
    tuples: frozenset[tuple[int, ...]]

    def holds(self, pick: Pick) -> bool:
        return tuple(of[pick[slot]] for slot, of in zip(self.scope, self.classes, strict=True)) in self.tuples


@dataclass(frozen=True, slots=True)
class Bounded:
    """A sum over slots that must lie between bounds, asked only of picks that `where` holds for."""

    ground: int
    weights: Weights
    low: int | None = None
    high: int | None = None
    where: Allowed | None = None

    def holds(self, pick: Pick) -> bool:
        if self.where is not None and not self.where.holds(pick):
            return True
        total = total_of(self.weights, pick)
        return (self.low is None or total >= self.low) and (self.high is None or total <= self.high)


Restriction: TypeAlias = Allowed | Bounded


@dataclass(frozen=True, slots=True)
class Held:
    """A part in a kit: how many pieces one kit holds, and how many each candidate takes out of it."""

    holds: int
    taken: Weights


@dataclass(frozen=True, slots=True)
class Kit:
    """A kit; `costs[market][n]` is what n of them cost."""

    name: str
    held: tuple[Held, ...]
    costs: tuple[tuple[int, ...], ...]

    @property
    def most(self) -> int:
        return len(self.costs[0]) - 1


@dataclass(frozen=True, slots=True)
class Lot:
    """A part that several slots may share packs of: the pieces each candidate wants apart, and what n pieces cost.

    `over`: the kits, and which part in them, whose pieces left over are used before any are bought.
    `costs[market]` maps each number of pieces that can be wanted to its cost; it never falls as the number rises.
    """

    name: str
    wanted: Weights
    costs: tuple[Mapping[int, int], ...]
    over: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True, slots=True)
class Valued:
    """A whole number for each tuple of classes; tuples that are not there have none, and may not be picked."""

    scope: tuple[int, ...]
    classes: tuple[tuple[int, ...], ...]
    values: Mapping[tuple[int, ...], int]

    def of(self, pick: Pick) -> int:
        return self.values[self._row(pick)]

    def has(self, pick: Pick) -> bool:
        return self._row(pick) in self.values

    def _row(self, pick: Pick) -> tuple[int, ...]:
        return tuple(of[pick[slot]] for slot, of in zip(self.scope, self.classes, strict=True))


@dataclass(frozen=True, slots=True)
class Amount:
    """What a pick comes to: weights added up, with what is bought at a market, or the value of a tuple.

    `least`: not the sum of the weights but the smallest of them.
    """

    name: str
    weights: Weights = field(default_factory=dict)
    market: int | None = None
    valued: Valued | None = None
    least: bool = False


@dataclass(frozen=True, slots=True)
class Within:
    """Bounds of an amount."""

    ground: int
    amount: str
    low: int | None = None
    high: int | None = None


@dataclass(frozen=True, slots=True)
class Puzzle:
    """Slots by the number of their candidates, restrictions with their grounds, what is bought, and the amounts.

    `hint` is a pick to begin with; it need not hold.
    """

    sizes: tuple[int, ...]
    grounds: tuple[Ground, ...] = ()
    restrictions: tuple[Restriction, ...] = ()
    within: tuple[Within, ...] = ()
    kits: tuple[Kit, ...] = ()
    lots: tuple[Lot, ...] = ()
    amounts: Mapping[str, Amount] = field(default_factory=dict)
    hint: Pick | None = None


def total_of(weights: Weights, pick: Pick) -> int:
    """The weights of a pick, added up."""
    return sum(of[pick[slot]] for slot, of in weights.items())


def kits_of(puzzle: Puzzle, pick: Pick) -> tuple[int, ...]:
    """How many of each kit a pick takes pieces out of: no more than it needs."""
    return tuple(
        max((-(-total_of(held.taken, pick) // held.holds) for held in kit.held), default=0) for kit in puzzle.kits
    )


def bought_at(puzzle: Puzzle, pick: Pick, market: int) -> int:
    """What kits and lots of a pick cost at a market."""
    kits = kits_of(puzzle, pick)
    total = sum(kit.costs[market][number] for kit, number in zip(puzzle.kits, kits, strict=True))
    for lot in puzzle.lots:
        total += lot.costs[market][pieces_of(puzzle, lot, pick, kits)]
    return total


def pieces_of(puzzle: Puzzle, lot: Lot, pick: Pick, kits: tuple[int, ...]) -> int:
    """How many pieces of a lot are bought apart, once what kits leave over is used."""
    wanted = total_of(lot.wanted, pick)
    for kit, part in lot.over:
        held = puzzle.kits[kit].held[part]
        taken = total_of(held.taken, pick)
        wanted -= (kits[kit] * held.holds - taken) if taken else 0
    return min((number for number in lot.costs[0] if number >= wanted), default=0)


def amount_of(puzzle: Puzzle, name: str, pick: Pick) -> int:
    """What an amount is for a pick that has one."""
    amount = puzzle.amounts[name]
    if amount.least:
        return min(of[pick[slot]] for slot, of in amount.weights.items())
    total = total_of(amount.weights, pick)
    total += bought_at(puzzle, pick, amount.market) if amount.market is not None else 0
    return total + (amount.valued.of(pick) if amount.valued is not None else 0)


def is_known(puzzle: Puzzle, name: str, pick: Pick) -> bool:
    """Whether there is such an amount, and a pick has a value of it."""
    amount = puzzle.amounts.get(name)
    return amount is not None and (amount.valued is None or amount.valued.has(pick))


def fits(puzzle: Puzzle, pick: Pick) -> bool:
    """Whether a pick keeps to all restrictions and bounds, and has a value wherever one is asked."""
    if not all(one.holds(pick) for one in puzzle.restrictions):
        return False
    for bound in puzzle.within:
        amount = amount_of(puzzle, bound.amount, pick)
        if (bound.low is not None and amount < bound.low) or (bound.high is not None and amount > bound.high):
            return False
    return True


def picks(puzzle: Puzzle) -> Iterator[Pick]:
    """Every pick that fits, by trying all; for small puzzles."""
    return (pick for pick in product(*(range(size) for size in puzzle.sizes)) if fits(puzzle, pick))
