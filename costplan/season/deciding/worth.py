"""What a used engine is worth: by its parts, to who runs it, broken up, and with nothing known of it.

An estimate from assumed lives, and no market price. To who runs it, it is worth the price at which running it for some
years costs the same as buying a new one at its price: the same seasons are drawn with either, what is left at the end
and lost results counted. Where nothing is known of it, it has to be taken apart before its first run, and whatever
wears to be renewed. Who knows its log may do so too, or run it on: it is worth the better of the two, and its log what
that is more than it is worth unknown.
"""

from __future__ import annotations

import copy
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

import numpy as np

from costplan.garage import Piece
from costplan.money import from_minor, to_minor
from costplan.season import machine
from costplan.season.deciding.horizon import Ahead, NewEngine
from costplan.season.drawn.drawing import QUIET, Watch
from costplan.season.drawn.figures import Mean, mean_of
from costplan.season.drawn.years import YearDraws
from costplan.season.names import Season, Sources, value_of
from costplan.season.records import Engine


@dataclass(frozen=True, slots=True)
class PartWorth:
    """A position that wears: what is in it, what that costs new, the share of its assumed life used, what is left of
    its cost above the resale, the resale, and the core charge that its core brings back."""

    slot: str
    part: str
    new: Decimal
    worn: float
    left: Decimal
    resale: Decimal
    core: Decimal

    @property
    def worth(self) -> Decimal:
        return self.left + self.resale


@dataclass(frozen=True, slots=True)
class WorkOwed:
    """A level, and the share of its next opening that use since the last has made owing."""

    level: str
    share: float
    owed: Decimal


@dataclass(frozen=True, slots=True)
class Worth:
    """What an engine is worth, `on` the day up to which its log tells.

    `run_on`: the price at which running it on costs the same as a new one; `unknown` likewise, taken apart before its
    first run and all renewed that wears, as must be where nothing is known of it; `more` is the first less the second.
    `misses`, `misses_new`: races missed over the years, run on and with a new one.
    """

    currency: str
    engine: str
    on: date | None
    seasons: int
    asked: int
    seed: int
    years: int
    rate: float
    new: NewEngine
    parts: tuple[PartWorth, ...]
    work: tuple[WorkOwed, ...]
    run_on: Mean
    unknown: Mean
    more: Mean
    misses: float
    misses_new: float

    @property
    def interrupted(self) -> bool:
        return self.seasons < self.asked

    @property
    def apart(self) -> bool:
        """Whether it is better taken apart at once than run on."""
        return self.more.mean < 0

    @property
    def to_owner(self) -> Mean:
        """What it is worth to who knows its log: the better of the two."""
        return self.unknown if self.apart else self.run_on

    @property
    def of_log(self) -> Mean:
        """What that is more than it is worth unknown: nothing where it is taken apart in any case. It is to be told
        only where `more` is shown beyond its error."""
        return Mean(Decimal(0), Decimal(0)) if self.apart else self.more

    @property
    def by_parts(self) -> Decimal:
        """What is left of its parts and what they sell for, less the work owed on its levels."""
        parts = sum((part.worth for part in self.parts), Decimal(0))
        return parts - sum((level.owed for level in self.work), Decimal(0))

    @property
    def broken_up(self) -> Decimal:
        """What its parts bring, each sold used or handed in as a core: it cannot be both, so the dearer of the two."""
        return sum((max(part.resale, part.core) for part in self.parts), Decimal(0))


def in_place(sources: Sources, engine: Engine, garage: Sequence[Piece]) -> Sources:
    """The sources with an engine that is not owned in the place of the first that is, and nothing bought or sold.

    `garage`: all pieces, those of engines that are not in the season too.
    """
    engines = (engine.model_copy(update={"owned": True, "price": Decimal(0)}), *sources.engines[1:])
    away = {one.name for one in (*sources.engines[:1], *sources.others)} - {engine.name}
    pieces = tuple(piece for piece in garage if piece.engine not in away)
    return replace(sources, engines=engines, garage=pieces, others=())


def as_new(season: Season, carrier: int) -> Season:
    """The season with another engine in the place of one, all new."""
    start = copy.deepcopy(season.start)
    machine.set_new(season.problem, start, carrier)
    return replace(season, start=start)


def as_unknown(season: Season, carrier: int) -> Season:
    """The season with an engine of which nothing is known: what wears counts as at its renewal use, at a hard limit as
    reached, and its highest level is done before it runs. What is dated by a paper is known by it."""
    problem, start = season.problem, copy.deepcopy(season.start)
    for c, _, p, spot in season.positions():
        if c == carrier:
            factor = float(problem.step_factor[p, start.step[c, p]])
            for j in list(season.lives(p))[: len(season.lives(p)) - len(spot.dated)]:
                use = min(problem.due_at[j], problem.worn_at[j]) * factor
                start.age[c, j] = use if np.isfinite(use) else start.age[c, j]
                start.raw_age[c, j] = min(problem.limit[j], start.age[c, j])
    for ladder in np.flatnonzero(~problem.ladder_on_car & (problem.levels > 0)):
        start.overdue[carrier, ladder, problem.levels[ladder] - 1] = True
    start.idle_since[carrier] = start.ready_at[carrier] = -np.inf
    return replace(season, start=start)


def draws_of(ahead: Ahead, seasons: int, *, watch: Watch = QUIET) -> tuple[YearDraws, YearDraws, YearDraws]:
    """The years with the engine as it is, with a new one, and with it if nothing were known; where drawing is stopped,
    what comes after it is as short."""
    found: list[YearDraws] = []
    for season in (ahead.season, as_new(ahead.season, ahead.engine), as_unknown(ahead.season, ahead.engine)):
        found.append(replace(ahead, season=season).draw(seasons, watch=watch))
        seasons = found[-1].seasons
    return found[0], found[1], found[2]


def worth_of(ahead: Ahead, new: NewEngine, draws: tuple[YearDraws, YearDraws, YearDraws], asked: int) -> Worth:
    """What the engine of the years ahead is worth, of draws as `draws_of` gives them."""
    season, n = ahead.season, min(one.seasons for one in draws)
    currency, price = season.rates.currency, to_minor(new.price, season.rates.currency)
    known, fresh, unknown = (ahead.burden(one)[:n] for one in draws)
    return Worth(
        currency,
        season.carriers[ahead.engine],
        ahead.on,
        n,
        asked,
        ahead.seed,
        ahead.years,
        ahead.rate,
        new,
        parts_of(season, ahead.engine),
        work_of(season, ahead.engine),
        mean_of(price - (known - fresh), currency),
        mean_of(price - (unknown - fresh), currency),
        mean_of(unknown - known, currency),
        *(float(np.mean(one.missed[:n].sum(axis=1))) for one in draws[:2]),
    )


def parts_of(season: Season, carrier: int) -> tuple[PartWorth, ...]:
    """What is in an engine as the season begins with it, the most worn first. What is broken brings nothing.

    What wears in no measure, as gaskets that are new with every opening, is left out: no use says what is left of it.
    """
    problem, state, found = season.problem, season.start, []
    for c, _, p, spot in season.positions():
        if c == carrier and len(season.lives(p)):
            item, broken = season.items[state.item[c, p]], bool(state.broken[c, p])
            amounts = (
                value_of(item, spot.pieces),
                0 if broken else machine.left_of(problem, state, c, p),
                0 if broken else spot.pieces * item.resale,
                0 if broken else machine.share_of(item.core_charge, spot.pieces, item.pack),
            )
            new, left, resale, core = (from_minor(int(amount), season.rates.currency) for amount in amounts)
            worn = 1.0 if broken else machine.worn_share(problem, state, c, p)
            found.append(PartWorth(spot.slot, item.name, new, worn, left, resale, core))
    return tuple(sorted(found, key=lambda part: -part.worn))


def work_of(season: Season, carrier: int) -> tuple[WorkOwed, ...]:
    """The work owed on the levels of an engine as the season begins with it."""
    problem, state, found = season.problem, season.start, []
    for ladder, steps in enumerate(season.ladders):
        for level, step in enumerate(steps):
            interval = problem.interval[ladder, level]
            if not problem.ladder_on_car[ladder] and np.isfinite(interval):
                share = min(1.0, float(state.since[carrier, ladder, level] / interval))
                owed = from_minor(machine.owed(problem, state, carrier, ladder, level), season.rates.currency)
                found.append(WorkOwed(step.level, share, owed))
    return tuple(found)
