"""Solving a puzzle by goals in turn: optimal with a proof, or the best found with a bound, or proved impossible."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from time import monotonic

from costplan.choose.modelling import Goal, Model, Status
from costplan.choose.puzzle import Pick, Puzzle, Within, amount_of, is_known


@dataclass(frozen=True, slots=True)
class Solved:
    """What the solver says: the pick, its amounts, and how far the first goal may be from the best there is.

    `bound`: no pick has less of it (or more, where most is wanted); equal to `value` when it is optimal.
    `goals_proved`: how many of the goals, in their order, are proved. `seconds` of solving, without reading files.
    """

    status: Status
    pick: Pick | None = None
    value: int | None = None
    bound: int | None = None
    goals_proved: int = 0
    seconds: float = 0.0
    amounts: dict[str, int] = field(default_factory=dict)

    @property
    def gap(self) -> float:
        """How far the value may be from the best, as a share of the value."""
        if self.value is None or self.bound is None or self.value == self.bound:
            return 0.0
        return abs(self.value - self.bound) / max(1, abs(self.value))


def solve(puzzle: Puzzle, goals: Sequence[Goal], seconds: float = 60.0, within: Iterable[Within] = ()) -> Solved:
    """The best pick by the goals in turn; `within`: more bounds of amounts."""
    began = monotonic()
    model, found, hint = _asked(puzzle, goals, within), Solved("nothing found"), puzzle.hint
    for number, goal in enumerate(goals):
        status, pick, bound = model.run(goal, max(0.05, seconds - (monotonic() - began)), hint)
        if pick is None:
            found = Solved(status) if found.pick is None else found
            break
        value = amount_of(puzzle, goal.amount, pick)
        found = replace(found, pick=pick) if number else Solved(status, pick, value, bound)
        if status != "optimal":
            break
        found, hint = replace(found, goals_proved=number + 1), pick
        # It is proved, so one side is enough; two would make a hard riddle of large sums.
        model.bound(Within(-1, goal.amount, *((value, None) if goal.most else (None, value))))
    return replace(found, seconds=monotonic() - began, amounts=_amounts(puzzle, found.pick))


def _asked(puzzle: Puzzle, goals: Iterable[Goal], within: Iterable[Within]) -> Model:
    """The model with all that is asked; a pick without a value for a later goal is none from the start."""
    model = Model(puzzle)
    for one in within:
        model.bound(one)
    for goal in goals:
        model.amount(goal.amount)
    return model


def _amounts(puzzle: Puzzle, pick: Pick | None) -> dict[str, int]:
    """All amounts that a pick has."""
    if pick is None:
        return {}
    return {name: amount_of(puzzle, name, pick) for name in puzzle.amounts if is_known(puzzle, name, pick)}
