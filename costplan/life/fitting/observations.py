"""What was seen of lives: from which use on, up to which, and whether it broke there."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from costplan.formulas.checking import InputError, need_above, need_at_least


@dataclass(frozen=True, slots=True)
class Observation:
    """A life that was watched from the use `start` to the use `end`, both counted from new in one unit.

    `failed`: it broke at `end`; else it was still whole there (right censored). `start` above 0: it is known to have
    come to that use when it was first seen, and what broke before it could not be seen (left truncated). `weight`:
    how many lives like it there were.
    """

    start: float
    end: float
    failed: bool
    weight: float = 1.0

    def __post_init__(self) -> None:
        need_at_least(0, start=self.start)
        need_above(0, end=self.end, weight=self.weight)
        if self.start >= self.end:
            raise InputError("start", self.start, f"give a use below the end, {self.end:g}")


def lives_seen(failed: Iterable[float], censored: Iterable[float] = ()) -> tuple[Observation, ...]:
    """Lives watched from new: those that broke, each at its use, and those that were still whole.

    >>> [life.failed for life in lives_seen([54, 187], censored=[500])]
    [True, True, False]
    """
    return (
        *(Observation(0.0, use, failed=True) for use in failed),
        *(Observation(0.0, use, failed=False) for use in censored),
    )
