"""What drawn seasons ask of the spares box: which pieces are wanted that nobody ordered ahead, and what was not there.

A season is played whole and its log read, since what is kept of many seasons does not tell one renewal from another.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import chain

import numpy as np

from costplan.season import machine
from costplan.season.arrays import as_drawn
from costplan.season.drawn.stage import Stage
from costplan.season.names import Season

#: Columns of a renewal in the machine's log.
_RUN, _CARRIER, _CAUSE, _PIECES, _PACKS, _STEP, _ITEM = 0, 1, 3, 4, 5, 9, 11
#: Causes that break a set: everything that the opening then puts in was not ordered ahead.
_BROKEN = (machine.FAILURE, machine.DAMAGE)


@dataclass(frozen=True, slots=True)
class Asked:
    """What S drawn seasons asked for of I stock items, and what lay in the box at their ends.

    `wanted` [S, I]: pieces put in unplanned, at an opening for something broken or since a check found something;
    `short` [S, I]: those of them that had to be bought, in packs or in a kit, and were waited for as long as that
    takes; `planned` [S, I]: pieces put in by planned work. `opened` [S, I]: pieces put in while the box may have been
    open, what is kept in it too. `late` [S, I]: whether any was short that may have come too late for the run: that
    took longer than the work, and up to a run. `stock` [S, I] are new pieces, `used` [S, U] used sets that are left at
    the end. `bound` [S]: whether the book refused anything. `together` [S]: the sets of items that were short at once,
    for one engine or the car, where several take longer to come than the work and the gap before the run.
    """

    wanted: machine.Ints
    short: machine.Ints
    planned: machine.Ints
    opened: machine.Ints
    late: machine.Bools
    stock: machine.Ints
    used: machine.Bools
    bound: machine.Bools
    together: tuple[tuple[tuple[int, ...], ...], ...]

    def sets(self) -> list[tuple[int, ...]]:
        """What was waited for together in any season, the most frequent first."""
        return [items for items, _ in Counter(chain.from_iterable(self.together)).most_common()]

    def with_these(self, numbers: machine.Ints, others: Asked) -> Asked:
        """The same with some seasons by their numbers as another log has them, which holds those alone."""
        tables = {}
        for name in ("wanted", "short", "planned", "opened", "late", "stock", "used", "bound"):
            tables[name] = getattr(self, name).copy()
            tables[name][numbers] = getattr(others, name)
        together = list(self.together)
        for number, sets in zip(numbers.tolist(), others.together, strict=True):
            together[number] = sets
        return replace(self, **tables, together=tuple(together))


def asked_in(season: Season, seasons: int, seed: int = 1, *, compiled: bool = True) -> Asked:
    """Plays the seasons that `draw` draws of the same seed, and reads what each of them asked for."""
    return asked_in_these(season, np.arange(seasons), seed, reading_stage(season, compiled=compiled))


def reading_stage(season: Season, *, compiled: bool = True) -> Stage:
    """A stage on which seasons are played one by one, each to be read."""
    return Stage(season, workers=1, compiled=compiled, noted=True)


def asked_in_these(season: Season, numbers: machine.Ints, seed: int, stage: Stage) -> Asked:
    """What some seasons ask for, by their numbers: the rows are theirs, in that order."""
    problem = as_drawn(season, seed)
    shape, together = (len(numbers), len(problem.pack)), []
    wanted, short, planned, opened, stock = (np.zeros(shape, dtype=np.int64) for _ in range(5))
    late, used = np.zeros(shape, dtype=np.bool_), np.zeros((len(numbers), len(problem.used_item)), dtype=np.bool_)
    bound = np.zeros(len(numbers), dtype=np.bool_)
    for n, state in enumerate(stage.each(season, problem, numbers.tolist())):
        renewals = state.renewals[: state.n_renewals[0]]
        new, open_box = renewals[:, _STEP] < 0, _beside(renewals, problem, (*_BROKEN, machine.FOUND))
        put_in, rows = renewals[new], renewals[new & _unplanned(renewals, problem)]
        planned[n] = _added(put_in, put_in[:, _PIECES], problem)
        opened[n] = _added(renewals[new & open_box], renewals[new & open_box, _PIECES], problem)
        stock[n], used[n], bound[n] = state.stock, state.used_left, state.acted.any()
        bought = rows[(rows[:, _PACKS] > 0) | _in_kits(rows, state.kits[: state.n_kits[0]], problem)]
        wanted[n] = _added(rows, rows[:, _PIECES], problem)
        short[n] = _added(bought, _not_there(bought, problem), problem)
        if len(bought):
            late[n, bought[_may_be_late(bought, state, problem), _ITEM]] = True
        together.append(tuple(_at_once(bought, _work_hours(state, problem), problem)) if len(bought) > 1 else ())
    return Asked(wanted, short, planned - wanted, opened, late, stock, used, bound, tuple(together))


def _added(rows: machine.Ints, pieces: machine.Ints, problem: machine.Problem) -> machine.Ints:
    """Pieces of renewals, added up by item."""
    added: machine.Ints = np.bincount(rows[:, _ITEM], pieces, len(problem.pack)).astype(np.int64)
    return added


def _unplanned(rows: machine.Ints, problem: machine.Problem) -> machine.Bools:
    """Which renewals nobody ordered ahead for: found, or while something was broken."""
    unplanned: machine.Bools = (rows[:, _CAUSE] == machine.FOUND) | _beside(rows, problem, _BROKEN)
    return unplanned


def _beside(rows: machine.Ints, problem: machine.Problem, causes: Sequence[int]) -> machine.Bools:
    """Which renewals were done in the same gap to the same carrier as one for some causes."""
    there = np.zeros((len(problem.day) + 1, len(problem.life_key)), dtype=np.bool_)
    for cause in causes:
        for_it = rows[rows[:, _CAUSE] == cause]
        there[for_it[:, _RUN], for_it[:, _CARRIER]] = True
    beside: machine.Bools = there[rows[:, _RUN], rows[:, _CARRIER]]
    return beside


def _may_be_late(bought: machine.Ints, state: machine.State, problem: machine.Problem) -> machine.Bools:
    """Which of what was bought unplanned may have kept its carrier from a run that it would have been ready for.

    That is so where a run begins between the end of the work and the hour at which the part is there, hours of damage
    added to that. Of several openings in a gap, the shortest is taken; which hours are added when is not in the log.
    """
    carriers, runs = len(problem.life_key), len(problem.day)
    cases = state.struck_cases[: state.n_cases[0]]
    cases = cases[cases[:, 3] >= 0]
    extra = np.bincount(cases[:, 1], problem.case_hours[cases[:, 3]], carriers)
    openings = state.openings[: state.n_openings[0]]
    work = np.full((runs + 1, carriers), math.inf)
    np.minimum.at(work, (openings[:, 0], openings[:, 1]), problem.hours[openings[:, 2], openings[:, 3]])
    late = np.zeros(len(bought), dtype=np.bool_)
    for n, (run, c, item) in enumerate(bought[:, [_RUN, _CARRIER, _ITEM]].tolist()):
        idle, clock = _idle_since(state, problem, run, c), problem.clock[run:]
        late[n] = ((idle + work[run, c] <= clock) & (clock < idle + problem.lead_hours[item, run] + extra[c])).any()
    return late


def _idle_since(state: machine.State, problem: machine.Problem, run: int, carrier: int) -> float:
    """The hour of the last run before a run that a carrier ran; the car does in any."""
    on_car = carrier == len(problem.life_key) - 1
    ran = state.ran[:run] >= 0 if on_car else state.ran[:run] == carrier
    before = np.flatnonzero(ran & ~state.lost[:run])
    return float(problem.clock[before[-1]]) if before.size else -math.inf


def _in_kits(rows: machine.Ints, kits: machine.Ints, problem: machine.Problem) -> machine.Bools:
    """Which renewals put in what a kit holds that was bought in the same gap of the same carrier."""
    came = np.zeros(len(rows), dtype=np.bool_)
    for run, carrier, _, kit, *_ in kits.tolist():
        same = (rows[:, _RUN] == run) & (rows[:, _CARRIER] == carrier)
        came |= same & (problem.kit_pieces[kit, rows[:, _ITEM]] > 0)
    return came


def _not_there(bought: machine.Ints, problem: machine.Problem) -> machine.Ints:
    """Pieces that were bought: no more than the packs hold, if it was packs, and than were put in."""
    held = np.where(bought[:, _PACKS] > 0, bought[:, _PACKS] * problem.pack[bought[:, _ITEM]], bought[:, _PIECES])
    pieces: machine.Ints = np.minimum(bought[:, _PIECES], held)
    return pieces


def _work_hours(state: machine.State, problem: machine.Problem) -> dict[tuple[int, int], float]:
    """The hours of the longest work of every gap and carrier."""
    found: dict[tuple[int, int], float] = {}
    for run, carrier, ladder, level in state.openings[: state.n_openings[0]].tolist():
        found[run, carrier] = max(found.get((run, carrier), 0.0), float(problem.hours[ladder, level]))
    return found


def _at_once(
    bought: machine.Ints, work: dict[tuple[int, int], float], problem: machine.Problem
) -> list[tuple[int, ...]]:
    """The items that were waited for at once, where those are several; after the last run nothing is."""
    found: dict[tuple[int, int], set[int]] = {}
    for row in bought[(bought[:, _RUN] > 0) & (bought[:, _RUN] < len(problem.day))].tolist():
        run, at, item = row[_RUN], (row[_RUN], row[_CARRIER]), row[_ITEM]
        if problem.lead_hours[item, run] > max(work[at], problem.clock[run] - problem.clock[run - 1]):
            found.setdefault(at, set()).add(item)
    return [tuple(sorted(items)) for items in found.values() if len(items) > 1]
