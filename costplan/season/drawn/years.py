"""Drawing many seasons that are each played on for some years: what is left of one year begins the next.

The calendar, the book and the prices of the first year hold in all of them: money is of the first year's worth. Each
year begins a year after the one before, with the first run; what is broken is put right after the last.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from costplan.season import machine
from costplan.season.drawn.drawing import BLOCK, QUIET, Watch, _in_order, fixed_costs
from costplan.season.drawn.stage import Tables, tables_of
from costplan.season.machine.years import DAYS_A_YEAR
from costplan.season.names import Season


@dataclass(frozen=True, slots=True)
class Span:
    """What is played: the first year, as a log may leave it, then the whole season again, so many years in all.

    `problem` and `later` are the machine's, drawn or planned. `engine` is a carrier: its worth is kept, and it is
    sold, a new one in its place, after every `every` years but the last; 0 for never.
    """

    season: Season
    problem: machine.Problem
    later: machine.Problem
    years: int
    engine: int = 0
    every: int = 0


@dataclass(frozen=True, slots=True)
class YearDraws:
    """S seasons of Y years, all [S, Y]; money in minor units.

    `cash`: what a year costs, without engines bought or sold; `wear`: what it uses up. `left`: what is on hand at its
    end: balances less work owed, resale, the shelf; `engine`: the part of it that is the engine's. `lost`: results
    lost; `races` held, `missed` for want of an engine, `stopped` by a failure. `traded`: engines bought less sold, on
    the first opening day. On average over the seasons: `line` [Y, P + T*K + 1], the cash of each position, level and
    the rest, and `opened` [Y, T, K], openings at each level.
    """

    cash: machine.Ints
    wear: machine.Ints
    left: machine.Ints
    engine: machine.Ints
    lost: machine.Floats
    races: machine.Ints
    missed: machine.Ints
    stopped: machine.Ints
    line: machine.Floats
    opened: machine.Floats
    traded: int
    asked: int

    @property
    def seasons(self) -> int:
        """How many were drawn: fewer than asked for where it was interrupted."""
        return len(self.cash)


def repeats(season: Season) -> bool:
    """Whether a calendar fits into a year, so that it can be played year after year."""
    return (season.runs[-1].event.date - season.runs[0].event.date).days <= DAYS_A_YEAR


#: Plays seasons first .. first + count with their years.
Player = Callable[[int, int], tuple[machine.Block, machine.Years]]


def draw_years(
    span: Span,
    seasons: int,
    later: Season | None = None,
    *,
    workers: int | None = None,
    compiled: bool = True,
    watch: Watch = QUIET,
) -> YearDraws:
    """Draws seasons 0 .. `seasons`, of which there is one at least, through all their years.

    `later`: the season of every year but the first, where a log shortens that. Interrupted, it gives what has been
    drawn so far, and raises KeyboardInterrupt only if that is nothing.
    """
    if seasons < 1 or not 1 <= span.years <= machine.MOST_YEARS:
        raise ValueError(f"one season at least is drawn, of 1 to {machine.MOST_YEARS} years")
    players = _players(span, workers or os.cpu_count() or 1, compiled=compiled, watch=watch)
    counts = [min(BLOCK, seasons - first) for first in range(0, seasons, BLOCK)]
    found: list[dict[str, Any]] = []
    races = [run.event.kind == "race" for run in span.season.runs if run.first]
    try:
        for block, years in watch.drawing(_in_order(players, counts), seasons):
            found.append(_kept(block, years, races))
    except KeyboardInterrupt:
        if not found:
            raise
    return _together(span, found, later or span.season, seasons)


def _together(span: Span, found: Sequence[dict[str, Any]], later: Season, asked: int) -> YearDraws:
    """The blocks in one, with what costs the same in every season; engines are traded in the first year alone."""
    every = {name: np.concatenate([block[name] for block in found]) for name in found[0]}
    for name in ("line", "opened"):
        every[name] = every[name].sum(axis=0) / len(every["cash"])
    first, then = fixed_costs(span.season, span.problem), fixed_costs(later, span.later)
    fixed = [first.total - first.lasting, *[then.total - then.lasting] * (span.years - 1)]
    every["cash"] += fixed
    every["wear"] += fixed
    return YearDraws(**every, traded=first.lasting, asked=asked)


def _kept(block: machine.Block, years: machine.Years, races: list[bool]) -> dict[str, Any]:
    """What is kept of a block: by year of each season, and added up over them by year alone."""
    cash = block.event.sum(axis=1)
    flat = {
        "cash": cash,
        "wear": cash + block.used_up,
        "left": block.left,
        "engine": years.worth,
        "lost": block.lost,
        "races": block.held[:, races].sum(axis=1),
        "missed": block.missed[:, races].sum(axis=1),
        "stopped": block.stopped[:, races].sum(axis=1),
    }
    kept = {name: np.ascontiguousarray(table.reshape(-1, years.number)) for name, table in flat.items()}
    return kept | {
        name: table.reshape(-1, years.number, *table.shape[1:]).sum(axis=0, keepdims=True, dtype=np.float64)
        for name, table in (("line", block.line), ("opened", block.opened))
    }


def _players(span: Span, workers: int, *, compiled: bool, watch: Watch) -> tuple[Player, ...]:
    """A player for each worker; one where nothing is compiled, since plain Python runs one at a time."""
    if compiled:
        try:
            from costplan.season.compiled import machine_for, words
        except ImportError:
            pass
        else:
            tables = tables_of(span.season)
            out = machine.empty_block(span.problem, tables.state, 0)
            kinds: dict[str, Any] = {
                "Problem": span.problem,
                "State": tables.state,
                "Buffers": tables.now,
                "Block": out,
            }
            made = machine_for(kinds, watch.compiling)
            more = (tables_of(span.season) for _ in range(workers - 1))
            return tuple(_compiled_player(span, one, made, words) for one in (tables, *more))
    return (_plain_player(span),)


def _room(span: Span, state: machine.State, count: int) -> tuple[machine.Block, machine.Years]:
    years = machine.empty_years(span.years, span.engine, span.every, count)
    return machine.empty_block(span.problem, state, count * span.years), years


def _plain_player(span: Span) -> Player:
    tables = tables_of(span.season)

    def play(first: int, count: int) -> tuple[machine.Block, machine.Years]:
        out, years = _room(span, tables.state, count)
        machine.play_years(span.problem, span.later, tables.state, tables.now, tables.start, out, years, first, count)
        return out, years

    return play


def _compiled_player(span: Span, tables: Tables, made: Any, words: Any) -> Player:
    given = [words(table) for table in (span.problem, span.later, tables.state, tables.now, tables.start)]

    def play(first: int, count: int) -> tuple[machine.Block, machine.Years]:
        out, years = _room(span, tables.state, count)
        made.play_years(*given, words(out), words(years), first=first, count=count)
        return out, years

    return play
