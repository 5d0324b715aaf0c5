"""A season made ready to be played again and again: whatever is the same for all its problems is made once.

The tables of the machine, the machine compiled for them, and a state for each worker are made with the stage. What then
differs from one drawing to the next, a problem and what is there on opening day, is only written in. The same seasons
come out as of a stage of their own.
"""

from __future__ import annotations

import os
import threading
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from typing import Any, NamedTuple

import numpy as np

from costplan.season import machine
from costplan.season.machine.seasons import begins_with
from costplan.season.names import Season

#: Sees the joints of the machine go by while they are compiled.
Track = Callable[[Iterable[str]], Iterable[str]]
#: Plays some seasons by their numbers into a block, a row each.
Player = Callable[[machine.Ints], machine.Block]
#: Plays seasons first .. first + count into a block's rows from one on: that row, first and count.
Into = Callable[[int, int, int], None]
Rows = Callable[[machine.Block], Into]


class Tables(NamedTuple):
    """What one worker plays with: a state whose parts are views of flat arrays, and both again as on opening day."""

    state: machine.State
    now: machine.Buffers
    begins: machine.State
    start: machine.Buffers


def tables_of(season: Season, *, noted: bool = False) -> Tables:
    """Tables without traces; with room for what the book did, where that is `noted`."""
    start = machine.untraced(season.start)
    if noted:
        start = start._replace(acted=season.start.acted.copy())
    return Tables(*machine.packed(start), *machine.packed(start))


class Stage:
    """A season ready to be played under any problem of its shapes, by so many workers. It is for one thread at a time.

    `noted`: what the book did can be read of each season.
    """

    def __init__(
        self,
        season: Season,
        *,
        workers: int | None = None,
        compiled: bool = True,
        noted: bool = False,
        track: Track = iter,
    ) -> None:
        self._shapes = _shapes(season.problem)
        self._made = _machine(season, tables_of(season, noted=noted), track) if compiled else None
        count = (workers or os.cpu_count() or 1) if self._made else 1
        self._tables = tuple(tables_of(season, noted=noted) for _ in range(count))
        self._words = tuple(_words_of(tables) if self._made else () for tables in self._tables)
        self._busy = threading.Lock()

    @contextmanager
    def taken(self, season: Season, problem: machine.Problem) -> Iterator[tuple[Player, ...]]:
        """Players of a season's opening day under a problem, one for each worker.

        ValueError where the season is of other shapes, RuntimeError where the stage is in use.
        """
        with self._alone():
            yield tuple(_player(problem, tables, rows) for tables, rows in self._given(season, problem))

    def each(self, season: Season, problem: machine.Problem, numbers: Iterable[int]) -> Iterator[machine.State]:
        """Some seasons by their numbers, one after the other, each to be read before the next is played."""
        with self._alone():
            tables, rows = next(self._given(season, problem))
            into = rows(machine.empty_block(problem, tables.state, 1))
            for number in numbers:
                tables.state.acted[:] = 0
                into(0, number, 1)
                yield tables.state

    @contextmanager
    def _alone(self) -> Iterator[None]:
        if not self._busy.acquire(blocking=False):
            raise RuntimeError("a stage is for one thread at a time")
        try:
            yield
        finally:
            self._busy.release()

    def _given(self, season: Season, problem: machine.Problem) -> Iterator[tuple[Tables, Rows]]:
        """Tables and what plays in them, given a season's opening day and a problem."""
        if _shapes(problem) != self._shapes:
            raise ValueError("a problem of other shapes needs a stage of its own")
        lent = _words(problem) if self._made else None
        for tables, words in zip(self._tables, self._words, strict=True):
            for field in filter(begins_with, machine.State._fields):
                _write(getattr(tables.begins, field), getattr(season.start, field))
            yield tables, _plain(problem, tables) if lent is None else _compiled(self._made, lent, words)


def _shapes(problem: machine.Problem) -> tuple[object, ...]:
    """What problems must have in common: the shapes and types of their arrays, and which numbers are whole."""
    return tuple(
        (value.shape, value.dtype) if isinstance(value, np.ndarray) else isinstance(value, float) for value in problem
    )


def _write(room: np.ndarray[Any, Any], values: np.ndarray[Any, Any]) -> None:
    if room.shape != values.shape:
        raise ValueError("a season of other shapes needs a stage of its own")
    room[...] = values


def _player(problem: machine.Problem, tables: Tables, rows: Rows) -> Player:
    def play(numbers: machine.Ints) -> machine.Block:
        out = machine.empty_block(problem, tables.state, len(numbers))
        into, starts = rows(out), np.flatnonzero(np.diff(numbers, prepend=-2) != 1)
        for row, end in zip(starts.tolist(), [*starts[1:].tolist(), len(numbers)], strict=True):
            into(row, int(numbers[row]), end - row)
        return out

    return play


def _plain(problem: machine.Problem, tables: Tables) -> Rows:
    def rows(out: machine.Block) -> Into:
        def play(row: int, first: int, count: int) -> None:
            below = machine.Block._make(table[row:] for table in out)
            machine.play_block(problem, tables.state, tables.now, tables.start, below, first, count)

        return play

    return rows


def _compiled(made: Any, problem: machine.Ints, words: tuple[machine.Ints, ...]) -> Rows:
    from costplan.season.compiled import down

    def rows(out: machine.Block) -> Into:
        table, a_row = _words(out), down(out)

        def play(row: int, first: int, count: int) -> None:
            if row + count > len(out.used_up):  # `out` has to live as long as its words, which are addresses
                raise IndexError("a block has no room for so many seasons")
            made.play_block(problem, *words, table + row * a_row, first, count)

        return play

    return rows


def _machine(season: Season, tables: Tables, track: Track) -> Any:
    """The compiled machine; none where nothing can be compiled."""
    try:
        from costplan.season.compiled import machine_for
    except ImportError:
        return None
    out = machine.empty_block(season.problem, tables.state, 0)
    kinds: dict[str, Any] = {"Problem": season.problem, "State": tables.state, "Buffers": tables.now, "Block": out}
    return machine_for(kinds, track)


def _words_of(tables: Tables) -> tuple[machine.Ints, ...]:
    return _words(tables.state), _words(tables.now), _words(tables.start)


def _words(table: Any) -> machine.Ints:
    from costplan.season.compiled import words

    return words(table)
