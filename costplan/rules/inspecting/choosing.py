"""Exact choice: the tasks that find most within the minutes, by dynamic programming over whole minutes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from costplan.rules.checklist import CARRIERS
from costplan.rules.inspecting.tasks import Takes, Task

Ints: TypeAlias = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class _Best:
    """For every number of minutes the most that can be found within them, and the tasks that give it."""

    worth: Ints
    pick: Callable[[int], tuple[Task, ...]]


def choose_within(tasks: Sequence[tuple[Task, ...]], takes: Takes, pool: int, most: int) -> list[tuple[Task, ...]]:
    """Of each car the tasks that together are worth most within the pool, and within `most` minutes on a car."""
    known: dict[tuple[Task, ...], _Best] = {}
    splits: list[tuple[_Best, Ints]] = []
    worth = np.zeros(pool + 1, dtype=np.int64)
    for its in tasks:
        best = known.get(its) or known.setdefault(its, _best_on(its, takes, min(most, pool)))
        worth, given = _shared(worth, best.worth)
        splits.append((best, given))
    left = int(np.searchsorted(worth, worth[-1]))
    found = []
    for best, given in reversed(splits):
        minutes = int(given[left])
        found.append(tuple(sorted(best.pick(minutes), key=lambda task: task.turn)))
        left -= minutes
    return found[::-1]


def _best_on(tasks: Sequence[Task], takes: Takes, most: int) -> _Best:
    """The best on one car: what needs no opening, and of each carrier what one depth lays bare."""
    best = _best_of([task for task in tasks if not task.line.level], most)
    for carrier in CARRIERS:
        inside = [task for task in tasks if task.line.level and task.line.carrier == carrier]
        depths = sorted({takes.openings[task.line.level] for task in inside}, key=lambda one: one.rank)
        ways = [_best_of([], most)]
        ways += [
            _after(depth.minutes, _best_of([task for task in inside if task.line.rank <= depth.rank], most))
            for depth in depths
        ]
        best = _together(best, _either(ways))
    return _after(takes.each_car, best)


def _best_of(tasks: Sequence[Task], most: int) -> _Best:
    """The best of some tasks that are all in reach; a later task is taken only where it adds."""
    worth = np.zeros(most + 1, dtype=np.int64)
    takes = []
    for task in tasks:
        with_it = np.full(most + 1, -1, dtype=np.int64)
        with_it[task.minutes :] = worth[: max(0, most + 1 - task.minutes)] + task.worth
        takes.append(with_it > worth)
        worth = np.maximum(worth, with_it)

    def pick(minutes: int) -> tuple[Task, ...]:
        found, left = [], minutes
        for task, take in zip(reversed(tasks), reversed(takes), strict=True):
            if take[left]:
                found.append(task)
                left -= task.minutes
        return tuple(reversed(found))

    return _Best(worth, pick)


def _after(minutes: int, best: _Best) -> _Best:
    """The best once so many minutes are spent; nothing before."""
    spent = np.zeros(min(minutes, len(best.worth)), dtype=np.int64)
    worth = np.concatenate([spent, best.worth[: len(best.worth) - len(spent)]])
    return _Best(worth, lambda given: best.pick(given - minutes) if given >= minutes else ())


def _either(ways: Sequence[_Best]) -> _Best:
    """The best of ways of which one is taken; of equal ones the first."""
    table = np.stack([way.worth for way in ways])
    which = table.argmax(axis=0)
    return _Best(table.max(axis=0), lambda minutes: ways[int(which[minutes])].pick(minutes))


def _together(first: _Best, second: _Best) -> _Best:
    """The best of two things that share the minutes."""
    worth, given = _shared(first.worth, second.worth)

    def pick(minutes: int) -> tuple[Task, ...]:
        later = int(given[minutes])
        return (*first.pick(minutes - later), *second.pick(later))

    return _Best(worth, pick)


def _shared(first: Ints, second: Ints) -> tuple[Ints, Ints]:
    """For every number of minutes the most that two things find in them, and how many the second then takes.

    The second knows no more minutes than the first. Only those at which it finds more than in one less are worth giving
    it. Of equal splits the one that gives it least.
    """
    worth, given = first.copy(), np.zeros(len(first), dtype=np.int64)
    for minutes in (np.flatnonzero(np.diff(second)) + 1).tolist():
        both = first[: len(first) - minutes] + second[minutes]
        better = both > worth[minutes:]
        worth[minutes:][better] = both[better]
        given[minutes:][better] = minutes
    return worth, given
