"""Small puzzles drawn at random, with all there can be in one, to be solved by trying every pick."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product
from random import Random

from costplan.choose.modelling import Goal
from costplan.choose.puzzle import (
    Allowed,
    Amount,
    Bounded,
    Ground,
    Held,
    Kit,
    Lot,
    Pick,
    Puzzle,
    Valued,
    Weights,
    Within,
    amount_of,
    is_known,
    picks,
)

#: Grounds are told apart by who asks: tables, sums, and bounds of what it costs.
GROUNDS = tuple(Ground("clause", name) for name in ("tables", "sums", "price", "list", "more"))


def draw_puzzle(seed: int) -> Puzzle:
    """Up to four slots of up to four candidates: tables, sums, kits and lots on two markets, four amounts."""
    rng = Random(seed)  # noqa: S311 - not for secrets
    sizes = tuple(rng.randint(1, 4) for _ in range(rng.randint(2, 4)))
    slots = range(len(sizes))
    pieces = [rng.randint(1, 4) for _ in slots]
    weights = {slot: tuple(rng.randint(-3, 9) for _ in range(sizes[slot])) for slot in _some(rng, slots)}
    restrictions = [_table(rng, sizes, rng.choice((4, 4, 0))) for _ in range(rng.randint(0, 3))]
    bounded = Bounded(
        1,
        weights,
        rng.choice((None, 0, 2)),
        rng.choice((None, 4 * len(sizes))),
        rng.choice((None, _table(rng, sizes, 0))),
    )
    kits = [kit for number in range(rng.randint(0, 2)) if (kit := _kit(rng, f"kit {number}", sizes, pieces))]
    lots = [_lot(rng, f"lot {number}", sizes, pieces, kits) for number in range(rng.randint(0, 2))]
    within = [Within(2, "price", None, rng.randint(25, 70) * len(sizes))]
    within += [Within(3, "list", None, rng.randint(20, 90))] if rng.random() < 0.5 else []
    return Puzzle(
        sizes,
        GROUNDS,
        (*restrictions, bounded),
        tuple(within),
        tuple(kits),
        tuple(lots),
        _amounts(rng, sizes, weights),
        tuple(0 for _ in sizes) if rng.random() < 0.5 else None,
    )


def _some(rng: Random, slots: Sequence[int]) -> list[int]:
    return rng.sample(slots, rng.randint(1, len(slots)))


def _table(rng: Random, sizes: tuple[int, ...], ground: int) -> Allowed:
    scope = tuple(rng.sample(range(len(sizes)), min(rng.choice((1, 2, 2, 3)), len(sizes))))
    classes = tuple(tuple(rng.randrange(3) for _ in range(sizes[slot])) for slot in scope)
    rows = product(range(3), repeat=len(scope))
    return Allowed(ground, scope, classes, frozenset(row for row in rows if rng.random() < 0.8))


def _taken(rng: Random, sizes: tuple[int, ...], pieces: Sequence[int]) -> Weights:
    """The pieces that some candidates take."""
    drawn = {slot: tuple(rng.choice((0, 0, pieces[slot])) for _ in range(size)) for slot, size in enumerate(sizes)}
    return {slot: of for slot, of in drawn.items() if any(of)}


def _rising(rng: Random, number: int, steps: Sequence[int]) -> tuple[int, ...]:
    costs = [0]
    for _ in range(number):
        costs.append(costs[-1] + rng.choice(steps))
    return tuple(costs)


def _kit(rng: Random, name: str, sizes: tuple[int, ...], pieces: Sequence[int]) -> Kit | None:
    """A kit that costs little more twice than once, so that its pieces left over tempt."""
    taken = [found for _ in range(rng.randint(1, 2)) if (found := _taken(rng, sizes, pieces))]
    held = tuple(Held(rng.randint(1, 6), found) for found in taken)
    most = max((-(-sum(max(of) for of in one.taken.values()) // one.holds) for one in held), default=0)
    return Kit(name, held, tuple(_rising(rng, most, (0, 1, 5, 30)) for _ in range(2))) if held else None


def _lot(rng: Random, name: str, sizes: tuple[int, ...], pieces: Sequence[int], kits: Sequence[Kit]) -> Lot:
    wanted = _taken(rng, sizes, pieces)
    over = tuple((number, rng.randrange(len(kit.held))) for number, kit in enumerate(kits) if rng.random() < 0.6)
    most = sum(max(of) for of in wanted.values())
    costs = tuple(dict(enumerate(_rising(rng, most, (0, 0, 3, 20)))) for _ in range(2))
    return Lot(name, wanted, costs, over)


def _amounts(rng: Random, sizes: tuple[int, ...], weights: Weights) -> dict[str, Amount]:
    scope = tuple(rng.sample(range(len(sizes)), 2))
    classes = tuple(tuple(rng.randrange(2) for _ in range(sizes[slot])) for slot in scope)
    values = {row: rng.randint(0, 50) for row in product(range(2), repeat=2) if rng.random() < 0.85}
    price = {slot: tuple(rng.randint(0, 40) for _ in range(size)) for slot, size in enumerate(sizes)}
    own = {0: tuple(rng.randint(0, 9) for _ in range(sizes[0]))}
    return {
        "price": Amount("price", price, 0),
        "list": Amount("list", {}, 1),
        "power": Amount("power", own, None, Valued(scope, classes, values)),
        "least": Amount("least", weights, least=True),
    }


def score(puzzle: Puzzle, goals: Sequence[Goal], pick: Pick) -> tuple[int, ...]:
    """A pick by its goals in turn, the lower the better."""
    return tuple((-1 if one.most else 1) * amount_of(puzzle, one.amount, pick) for one in goals)


def best_score(puzzle: Puzzle, goals: Sequence[Goal]) -> tuple[int, ...] | None:
    """The best score of all picks that fit and have all that is aimed at; None where there is no such pick."""
    known = (pick for pick in picks(puzzle) if all(is_known(puzzle, one.amount, pick) for one in goals))
    return min((score(puzzle, goals, pick) for pick in known), default=None)
