"""Solving an encoded choice until its pick stands: what the puzzle lets pass is judged, and barred where it fails."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from time import monotonic

from costplan.choose.encoded import Encoded, lazily_barred, with_restrictions
from costplan.choose.modelling import Goal
from costplan.choose.puzzle import Within
from costplan.choose.solving import Solved, solve

#: Rounds of solving and judging before the search gives up; each bars at least one pick.
ROUNDS_MOST = 500


@dataclass(frozen=True, slots=True)
class Settled:
    """What the solver says in the end, of the choice with all that was barred on the way; `rounds` of solving."""

    solved: Solved
    encoded: Encoded
    rounds: int
    seconds: float


def settle(encoded: Encoded, goals: Sequence[Goal], seconds: float = 60.0, within: Iterable[Within] = ()) -> Settled:
    """The best pick by the goals in turn that fits and book let stand.

    A pick that does not stand is barred with all that are alike in what its question reads. The puzzle lets pass all
    that stands, so what is optimal in it and stands is optimal, and a bound of it is a bound of the choice.
    """
    began, bounds = monotonic(), tuple(within)
    there = tuple(goal for goal in goals if goal.amount in encoded.puzzle.amounts)
    rounds = 0
    while True:
        rounds += 1
        solved = solve(encoded.puzzle, there, max(0.05, seconds - (monotonic() - began)), bounds)
        more = tuple(lazily_barred(encoded, solved.pick)) if solved.pick is not None else ()
        if not more:
            break
        encoded = with_restrictions(encoded, more)
        if rounds == ROUNDS_MOST or monotonic() - began > seconds:
            solved = replace(solved, status="nothing found", pick=None, value=None)
            break
    return Settled(solved, encoded, rounds, monotonic() - began)
