"""What drawn seasons ask of the spares box: which pieces are wanted that nobody ordered ahead, and what was not there.

A season is played whole and its log read, since what is kept of many seasons does not tell one renewal from another.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np

from costplan.season import machine
from costplan.season.arrays import as_drawn
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
    takes; `planned` [S, I]: pieces put in by planned work. `stock` [S, I] are new pieces, `used` [S, U] used sets that
    are left at the end. `together`: how often several items that take longer to come than the work and the gap before
    the run were short at once, for one engine or the car.
    """

    wanted: machine.Ints
    short: machine.Ints
    planned: machine.Ints
    stock: machine.Ints
    used: machine.Bools
    together: Counter[tuple[int, ...]]


def asked_in(season: Season, seasons: int, seed: int = 1, *, compiled: bool = True) -> Asked:
    """Plays the seasons that `draw` draws of the same seed, and reads what each of them asked for."""
    problem = as_drawn(season, seed)
    state, play = _player(season, problem, compiled=compiled)
    shape, together = (seasons, len(problem.pack)), Counter[tuple[int, ...]]()
    wanted, short, planned, stock = (np.zeros(shape, dtype=np.int64) for _ in range(4))
    used = np.zeros((seasons, len(problem.used_item)), dtype=np.bool_)
    for n in range(seasons):
        play(n, 1)
        put_in = state.renewals[: state.n_renewals[0]]
        put_in = put_in[put_in[:, _STEP] < 0]
        rows = put_in[_unplanned(put_in, state.age.shape[0])]
        bought = rows[(rows[:, _PACKS] > 0) | _in_kits(rows, state.kits[: state.n_kits[0]], problem)]
        np.add.at(wanted[n], rows[:, _ITEM], rows[:, _PIECES])
        np.add.at(planned[n], put_in[:, _ITEM], put_in[:, _PIECES])
        np.add.at(short[n], bought[:, _ITEM], _not_there(bought, problem))
        stock[n], used[n] = state.stock, state.used_left
        together.update(_at_once(bought, _work_hours(state, problem), problem))
    return Asked(wanted, short, planned - wanted, stock, used, together)


def _player(season: Season, problem: machine.Problem, *, compiled: bool) -> tuple[machine.State, Callable[..., None]]:
    """A state, and what plays seasons first .. first + count in it, of which the last is left to be read."""
    begins = machine.untraced(season.start)
    state, now = machine.packed(begins)
    start, out = machine.packed(begins)[1], machine.empty_block(problem, state, 1)
    if compiled:
        try:
            from costplan.season.compiled import machine_for, words
        except ImportError:
            pass
        else:
            tables = (problem, state, now, start, out)
            kinds: dict[str, Any] = {"Problem": problem, "State": state, "Buffers": now, "Block": out}
            made, (a, b, c, d, e) = machine_for(kinds), (words(table) for table in tables)

            def play(first: int, count: int, _lent: tuple[Any, ...] = tables) -> None:
                made.play_block(a, b, c, d, e, first, count)

            return state, play
    return state, partial(machine.play_block, problem, state, now, start, out)


def _unplanned(rows: machine.Ints, carriers: int) -> machine.Bools:
    """Which renewals nobody ordered ahead for: found, or while something was broken."""
    gap = rows[:, _RUN] * carriers + rows[:, _CARRIER]
    broken = gap[np.isin(rows[:, _CAUSE], _BROKEN)]
    unplanned: machine.Bools = (rows[:, _CAUSE] == machine.FOUND) | np.isin(gap, broken)
    return unplanned


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
