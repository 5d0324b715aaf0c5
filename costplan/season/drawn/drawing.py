"""Drawing many seasons: the machine played with lives, rain, hazards and cases drawn, season after season.

What a season is depends on its seed and number alone. Seasons are drawn in blocks of a fixed size, and what is added
up over them is added block by block in order, so that neither the number of workers nor the order in which they finish
changes a figure.
"""

from __future__ import annotations

import copy
import math
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from queue import SimpleQueue
from typing import Any, NamedTuple, Protocol, TypeVar

import numpy as np

from costplan.money import to_minor
from costplan.quantity import MEASURES
from costplan.season import machine
from costplan.season.arrays import as_drawn
from costplan.season.drawn.stage import Player, Stage
from costplan.season.ledger import Row, fixed_rows
from costplan.season.names import Season

#: Seasons that are drawn, and added up, at a time.
BLOCK = 250
#: Seasons of which figures by event, month and cause are kept one by one; what is beyond is only added up.
ONE_BY_ONE = 50_000


class Watch(Protocol):
    """What is told of work that takes a while. Each call is given what is to be done, and gives it back one by one."""

    def compiling(self, joints: Iterable[str]) -> Iterable[str]:
        """The machine is compiled, for the first time with this version."""

    def drawing(self, blocks: Iterator[Any], seasons: int) -> Iterable[Any]:
        """Seasons are drawn, `BLOCK` with every step."""


class Quiet:
    """Tells nobody."""

    def compiling(self, joints: Iterable[str]) -> Iterable[str]:
        return joints

    def drawing(self, blocks: Iterator[Any], seasons: int) -> Iterable[Any]:  # noqa: ARG002 - as Watch has it
        return blocks


QUIET = Quiet()


@dataclass(frozen=True, slots=True)
class Fixed:
    """What costs the same in every season, in minor units: in all, `lasting` (no wear), by event, month and cause."""

    total: int
    lasting: int
    event: machine.Ints
    month: machine.Ints
    cause: machine.Ints


@dataclass(frozen=True, slots=True)
class Draws:
    """S seasons drawn, of which K are kept one by one. Money in minor units, costs that are the same in all included.

    `cash`, `wear` and `left` (what is on hand at the end: balances less work owed, resale, the shelf) are [S], like
    `lost` (results lost), `dnfs` (races of which a failure stopped a run), `misses` (that no engine was ready for),
    `races` (held), and `struck`: 0, or what a forced failure was, 1 or 2 + its case. `laps` and `hours` [S] are those
    run. `event` [K, E+1] is cash by event with the gap before it, `month` [K, D], `cause` [K, causes]. `stopped`,
    `missed` and `rained` [E] count seasons, `held` those in which an engine ran some of the event. Of positions and,
    behind them, hazards: `failures` added up and `failed_in` seasons; of positions `finds` and `hits`. `line_mean` and
    `line_share` [P + T*K + 1]: mean cash of each position, level and the rest, and its share of the variance of the
    total. `opened` [T, K] adds up openings, `opened_each` [K, T, K] is each season's, `opened_at` [K, T, K, times]
    before which runs.
    """

    season: Season
    problem: machine.Problem
    seed: int
    asked: int
    fixed: Fixed
    cash: machine.Ints
    wear: machine.Ints
    left: machine.Ints
    lost: machine.Floats
    dnfs: machine.Ints
    misses: machine.Ints
    races: machine.Ints
    struck: machine.Ints
    laps: machine.Floats
    hours: machine.Floats
    event: machine.Ints
    month: machine.Ints
    cause: machine.Ints
    stopped: machine.Ints
    missed: machine.Ints
    rained: machine.Ints
    held: machine.Ints
    failures: machine.Ints
    failed_in: machine.Ints
    finds: machine.Ints
    hits: machine.Ints
    line_mean: machine.Floats
    line_share: machine.Floats
    opened: machine.Ints
    opened_at: machine.Ints
    opened_each: machine.Ints

    @property
    def seasons(self) -> int:
        """How many were drawn: fewer than asked for where it was interrupted."""
        return len(self.cash)

    @property
    def interrupted(self) -> bool:
        return self.seasons < self.asked


def draw(
    season: Season,
    seasons: int,
    seed: int = 1,
    *,
    first: int = 0,
    problem: machine.Problem | None = None,
    stage: Stage | None = None,
    workers: int | None = None,
    compiled: bool = True,
    watch: Watch = QUIET,
) -> Draws:
    """Draws seasons first .. first + `seasons`, of which there is one at least.

    `problem`: another than the season's own, drawn, of the same shapes; its seed is the one that counts. `stage`: where
    many drawings of like seasons follow each other, what they have in common; it then decides on workers and whether
    the machine is compiled. Interrupted, it gives what has been drawn so far, and raises KeyboardInterrupt only if that
    is nothing.
    """
    if seasons < 1:
        raise ValueError("one season at least is drawn")
    problem = problem or as_drawn(season, seed)
    if stage is None:
        like = replace(season, problem=problem)
        stage = Stage(like, workers=workers, compiled=compiled, track=watch.compiling)
    sums = _Sums(season, problem, seasons)
    counts = [min(BLOCK, seasons - done) for done in range(0, seasons, BLOCK)]
    try:
        with stage.taken(season, problem) as players:
            from_first = [_from(player, first) for player in players]
            for block in watch.drawing(_in_order(from_first, counts), seasons):
                sums.add(block)
    except KeyboardInterrupt:
        if not sums.done:
            raise
    return sums.draws()


def _from(player: Player, first: int) -> Callable[[int, int], machine.Block]:
    """What plays so many seasons from one on, counted from a first one."""
    return lambda start, count: player(np.arange(first + start, first + start + count))


class Single(NamedTuple):
    """Seasons by themselves, in minor units: `cash`, of it `deposits`, and `left`, the rest as in `Draws`.

    What costs the same in every season is not among it.
    """

    cash: machine.Ints
    left: machine.Ints
    deposits: machine.Ints
    lost: machine.Floats
    misses: machine.Ints


def draw_these(season: Season, numbers: machine.Ints, problem: machine.Problem, stage: Stage) -> Single:
    """Draws seasons by their numbers, of which there may be none. Interrupted, it raises KeyboardInterrupt."""
    races, deposit = [run.event.kind == "race" for run in season.runs if run.first], machine.CAUSES.index("deposit")
    found = [Single(*(np.zeros(0, dtype) for dtype in (int, int, int, float, int)))]
    with stage.taken(season, problem) as players:
        size = min(BLOCK, -(-len(numbers) // len(players)))
        parts = [numbers[at : at + size] for at in range(0, len(numbers), size)] if size else []
        each = [_part(player, parts) for player in players]
        for block in _in_order(each, [len(part) for part in parts]):
            kept = _slim(block, block.event.sum(axis=1), races)
            found.append(Single(kept["cash"], kept["left"], block.cause[:, deposit], kept["lost"], kept["misses"]))
    return Single(*(np.concatenate(column) for column in zip(*found, strict=True)))


def _part(player: Player, parts: Sequence[machine.Ints]) -> Callable[[int, int], machine.Block]:
    return lambda start, _count: player(parts[start // BLOCK])


def drawn_season(
    season: Season, number: int, seed: int = 1, *, problem: machine.Problem | None = None
) -> machine.State:
    """One season drawn with all its traces, so that its ledger can be written."""
    state = copy.deepcopy(season.start)
    state.season[0] = number
    machine.play(problem or as_drawn(season, seed), state)
    return state


T = TypeVar("T")


def _in_order(players: Sequence[Callable[[int, int], T]], counts: Sequence[int]) -> Iterator[T]:
    """The blocks in order, played by whoever is free, a few ahead; a single one is played here."""
    if len(counts) == 1:
        yield players[0](0, counts[0])
        return
    free: SimpleQueue[Callable[[int, int], T]] = SimpleQueue()
    for player in players:
        free.put(player)

    def play(number: int, count: int) -> T:
        player = free.get()
        try:
            return player(number * BLOCK, count)
        finally:
            free.put(player)

    waiting: deque[Future[T]] = deque()
    with ThreadPoolExecutor(len(players)) as pool:
        try:
            for number, count in enumerate(counts):
                waiting.append(pool.submit(play, number, count))
                if len(waiting) > 2 * len(players):
                    yield waiting.popleft().result()
            while waiting:
                yield waiting.popleft().result()
        finally:
            for future in waiting:
                future.cancel()


@dataclass(slots=True)
class _Sums:
    """What is added up of the blocks that have been drawn; totals less the first, `base`, so that none cancels out."""

    season: Season
    problem: machine.Problem
    asked: int
    done: int = 0
    base: int | None = None
    slim: list[dict[str, Any]] = field(default_factory=list)
    kept: list[dict[str, Any]] = field(default_factory=list)
    lines: list[tuple[machine.Floats, ...]] = field(default_factory=list)
    sums: dict[str, machine.Ints] = field(default_factory=dict)

    def add(self, block: machine.Block) -> None:
        """Adds the next block."""
        count = len(block.used_up)
        total = block.event.sum(axis=1)
        lines = block.line.astype(np.float64)
        self.base = int(total[0]) if self.base is None else self.base
        each = (total - self.base).astype(np.float64)
        self.lines.append((lines.sum(axis=0), (lines * each[:, None]).sum(axis=0), each.sum(), (each * each).sum()))
        for name, table in _counted(block).items():
            self.sums[name] = self.sums.get(name, 0) + table
        self.slim.append(_slim(block, total, [run.event.kind == "race" for run in self.season.runs if run.first]))
        if self.done < ONE_BY_ONE:
            self.kept.append({name: getattr(block, name).astype(_KEPT[name]) for name in _KEPT})
        self.done += count

    def draws(self) -> Draws:
        """All of them together, with what costs the same in every season; what each block held is given up for it."""
        fixed = fixed_costs(self.season, self.problem)
        every = {name: np.concatenate([block.pop(name) for block in self.slim]) for name in tuple(self.slim[0])}
        kept = {name: np.concatenate([block.pop(name) for block in self.kept])[:ONE_BY_ONE] for name in _KEPT}
        mean, share = _lines(self.lines, self.done)
        cash, used_up = every.pop("cash") + fixed.total, every.pop("used_up")
        figures: dict[str, Any] = {
            **every,
            **self.sums,
            "event": kept["event"] + fixed.event,
            "month": kept["month"] + fixed.month,
            "cause": kept["cause"] + fixed.cause,
            "opened_at": kept["opened_at"],
            "opened_each": kept["opened"],
        }
        return Draws(
            season=self.season,
            problem=self.problem,
            seed=self.problem.seed,
            fixed=fixed,
            asked=self.asked,
            cash=cash,
            wear=cash - fixed.lasting + used_up,
            line_mean=mean,
            line_share=share,
            **figures,
        )


_LAPS, _HOURS = (list(MEASURES).index(name) for name in ("laps", "hours"))
#: What is kept season by season, and in what numbers: runs and openings are small.
_KEPT = {"event": np.int64, "month": np.int64, "cause": np.int64, "opened_at": np.int32, "opened": np.int32}


def _slim(block: machine.Block, total: machine.Ints, races: list[bool]) -> dict[str, Any]:
    """What is kept of every season of a block, however many are drawn."""
    return {
        "cash": total,
        "used_up": block.used_up,
        "left": block.left,
        "lost": block.lost,
        "dnfs": block.stopped[:, races].sum(axis=1, dtype=np.int32),
        "misses": block.missed[:, races].sum(axis=1, dtype=np.int32),
        "races": block.held[:, races].sum(axis=1, dtype=np.int32),
        "struck": block.struck.astype(np.int32),
        "laps": block.use[:, _LAPS].copy(),
        "hours": block.use[:, _HOURS].copy(),
    }


def _counted(block: machine.Block) -> dict[str, machine.Ints]:
    """What is only added up over the seasons of a block."""
    return {
        "stopped": block.stopped.sum(axis=0),
        "missed": block.missed.sum(axis=0),
        "rained": block.rained.sum(axis=0),
        "held": block.held.sum(axis=0),
        "failures": block.failures.sum(axis=0),
        "failed_in": (block.failures > 0).sum(axis=0),
        "finds": block.finds.sum(axis=0),
        "hits": block.hits.sum(axis=0),
        "opened": block.opened.sum(axis=0),
    }


def _lines(blocks: Sequence[tuple[Any, ...]], seasons: int) -> tuple[machine.Floats, machine.Floats]:
    """The mean of every line, and its share of the variance of the total: cov(line, total) / var(total)."""
    sums, cross = sum(block[0] for block in blocks), sum(block[1] for block in blocks)
    total, squares = math.fsum(block[2] for block in blocks), math.fsum(block[3] for block in blocks)
    mean, spread = sums / seasons, squares / seasons - (total / seasons) ** 2
    if spread <= 0:
        return mean, np.zeros_like(mean)
    return mean, (cross / seasons - mean * (total / seasons)) / spread


def fixed_costs(season: Season, problem: machine.Problem) -> Fixed:
    """The fixed costs as the tally counts the others: what stands before an event is its own, and then nobody's."""
    events, first_days = problem.weight.shape[0], [run.event.date for run in season.runs if run.first]
    names = {run.event.event: number for number, run in enumerate(r for r in season.runs if r.first)}
    event = np.zeros(events + 1, dtype=np.int64)
    month = np.zeros(len(season.months), dtype=np.int64)
    cause = np.zeros(len(machine.CAUSES), dtype=np.int64)
    begin = first_event(season)
    total = lasting = 0
    for row in fixed_rows(season):
        amount = to_minor(row.amount, season.rates.currency)
        after = next((number for number, day in enumerate(first_days) if number >= begin and day >= row.date), events)
        event[names.get(row.event, after)] += amount
        month[season.months.index(f"{row.date:%Y-%m}")] += amount
        cause[machine.CAUSES.index(row.cause)] += amount
        total += amount
        lasting += amount if _lasts(row) else 0
    return Fixed(total, lasting, event, month, cause)


def first_event(season: Season) -> int:
    """The number of the first event that lies ahead."""
    return sum(run.first for run in season.runs[: season.begin])


def _lasts(row: Row) -> bool:
    """Whether a fixed cost is in cash alone: an engine bought or sold."""
    return bool(row.engine)
