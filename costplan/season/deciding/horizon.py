"""Several years ahead: what each costs, what it all is worth today, and whether to rebuild the engine or to sell it.

Money is of the first year's worth: calendar, book and prices stay as they are in it, and the rate is a real one. What a
year costs is discounted from its end, an engine sold and another bought from the end of the season after which they
are, what is left from the end of the last year. Engines that the scenario buys or sells are traded on opening day.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from functools import partial

import numpy as np

from costplan.build import bill_of
from costplan.formulas.economics import capital_recovery_factor, single_present_value_factor
from costplan.garage import Piece
from costplan.money import from_minor, round_money, to_minor
from costplan.season import machine
from costplan.season.arrays import as_drawn
from costplan.season.drawn.drawing import QUIET, Watch
from costplan.season.drawn.figures import Count, Mean, Spread, count_of, mean_of, ratio_of, spread_of
from costplan.season.drawn.years import Span, YearDraws, draw_years
from costplan.season.names import Season, Sources
from costplan.season.records import CAR, Engine


@dataclass(frozen=True, slots=True)
class NewEngine:
    """What a new engine costs, and where that is from; `computed`: from the bill of its parts and the dearest level."""

    price: Decimal
    source: str
    computed: bool = False


@dataclass(frozen=True, slots=True)
class Ahead:
    """The years that are looked at: the season, as a log may leave it, then `later`, the whole season, again and again.

    `rate`: real rate of discount a year, 0.06 for 6 %; `engine`: the carrier that may be sold.
    """

    season: Season
    later: Season
    years: int
    rate: float
    seed: int = 1
    engine: int = 0

    def span(self, every: int = 0) -> Span:
        """What is drawn where the engine is sold after so many years each time; 0 for never."""
        now, then = (as_drawn(season, self.seed) for season in (self.season, self.later))
        return Span(self.season, now, then._replace(begin=0), self.years, self.engine, every)

    def draw(self, seasons: int, every: int = 0, *, watch: Watch = QUIET) -> YearDraws:
        """The seasons with their years."""
        return draw_years(self.span(every), seasons, self.later, watch=watch)

    def planned(self) -> YearDraws:
        """The one season in which nothing is drawn."""
        then = self.later.problem._replace(begin=0)
        return draw_years(Span(self.season, self.season.problem, then, self.years, self.engine), 1, self.later)

    @property
    def on(self) -> date | None:
        """The day from which the first year is looked at, where a log has told what was before it."""
        return self.season.standing.on if self.season.standing else None

    @property
    def factors(self) -> machine.Floats:
        """[years] what 1 at the end of each year is worth today."""
        return np.array([single_present_value_factor(self.rate, year) for year in range(1, self.years + 1)])

    @property
    def by_year(self) -> float:
        """The equal payment at the end of every year that is worth 1 today."""
        return capital_recovery_factor(self.rate, self.years)

    def present(self, draws: YearDraws) -> machine.Floats:
        """[seasons] what the years cost today, less what is left at their end."""
        worth: machine.Floats = draws.traded + draws.cash @ self.factors - draws.left[:, -1] * self.factors[-1]
        return worth

    def burden(self, draws: YearDraws) -> machine.Floats:
        """[seasons] the same, with what lost results are worth."""
        burden: machine.Floats = self.present(draws) + self.season.result_worth * (draws.lost @ self.factors)
        return burden


@dataclass(frozen=True, slots=True)
class Year:
    """A year: cash `planned` with nothing failing, and drawn; what is `left` at its end; races, missed and so on."""

    year: int
    planned: Decimal
    cash: Spread
    left: Mean
    races: Count
    missed: Count
    stopped: Count
    lost: Count


@dataclass(frozen=True, slots=True)
class Keeping:
    """What it costs to sell the engine after every so many seasons and to buy a new one; `every` 0: to rebuild it.

    `annual`: equivalent annual cost with lost results counted, `less`: that less the cost of rebuilding, on the same
    draws. `resale`: what a sale brings, `break_even`: what it would have to bring to cost the same as rebuilding.
    `races`, `missed` and `lost` are of all years.
    """

    every: int
    annual: Mean
    less: Mean | None
    resale: Mean | None
    break_even: Mean | None
    missed: Count
    lost: Count


@dataclass(frozen=True, slots=True)
class Horizon:
    """Several years ahead, the first from a day `on` where a log tells what was before.

    `traded`: engines bought less those sold on opening day, paid then.

    `present`: all that the years cost today, less what is left at the end; `planned_present`: the same with nothing
    failing; `annual`: the equal yearly cost, at the end of each year, that is worth as much. `per_race`: `present` by
    races held, discounted likewise; `later_per_race`: cash of all years but the first by their races, undiscounted;
    none for one year. `result_worth`: what a lost result of weight 1 counts in `keeping`. `engine_left`: what is left
    of the engine by the files at the end, kept and rebuilt.
    """

    currency: str
    seasons: int
    asked: int
    seed: int
    rate: float
    on: date | None
    engine: str
    traded: Decimal
    result_worth: Decimal
    years: tuple[Year, ...]
    present: Mean
    planned_present: Decimal
    annual: Mean
    per_race: Mean
    later_per_race: Mean | None
    engine_left: Mean
    new: NewEngine | None
    resale_given: Decimal | None
    keeping: tuple[Keeping, ...]

    @property
    def interrupted(self) -> bool:
        return self.seasons < self.asked

    @property
    def best(self) -> Keeping | None:
        """The policy that costs least on average; none where none are compared."""
        return min(self.keeping, key=lambda one: one.annual.mean, default=None)


def horizon_of(
    ahead: Ahead,
    kept: YearDraws,
    sold: Mapping[int, YearDraws],
    new: NewEngine | None = None,
    resale: Decimal | None = None,
) -> Horizon:
    """What the years ahead cost. `kept`: drawn with the engine kept; `sold`: where it is sold after so many years.

    `resale`: what a sale brings; if not given, what its parts are worth then, season by season.
    """
    n = min([kept.seasons, *(draws.seasons for draws in sold.values())])
    currency = ahead.season.rates.currency
    kept, mean = _first(kept, n), partial(mean_of, currency=currency)
    planned, present = ahead.planned(), ahead.present(kept)
    return Horizon(
        currency,
        n,
        kept.asked,
        ahead.seed,
        ahead.rate,
        ahead.on,
        ahead.season.carriers[ahead.engine],
        _amount(kept.traded, currency),
        _amount(ahead.season.result_worth, currency),
        tuple(_year(y, kept, planned, currency) for y in range(ahead.years)),
        mean(present),
        _amount(float(ahead.present(planned)[0]), currency),
        mean(present * ahead.by_year),
        *_per_race(ahead, kept),
        mean(kept.engine[:, -1]),
        new,
        resale,
        tuple(_keeping(ahead, kept, {m: _first(draws, n) for m, draws in sold.items()}, new, resale)) if new else (),
    )


def _per_race(ahead: Ahead, kept: YearDraws) -> tuple[Mean, Mean | None]:
    """Present cost by races, discounted likewise, and cash of all years but the first by theirs."""
    currency = ahead.season.rates.currency
    of_all = ratio_of(ahead.present(kept), kept.races @ ahead.factors, currency)
    if ahead.years == 1:
        return of_all, None
    return of_all, ratio_of(kept.cash[:, 1:].sum(axis=1), kept.races[:, 1:].sum(axis=1), currency)


def _first(draws: YearDraws, n: int) -> YearDraws:
    """The first n seasons."""
    names = ("cash", "wear", "left", "engine", "lost", "races", "missed", "stopped")
    return replace(draws, **{name: getattr(draws, name)[:n] for name in names})


def _year(y: int, draws: YearDraws, planned: YearDraws, currency: str) -> Year:
    counts = (count_of(table[:, y]) for table in (draws.races, draws.missed, draws.stopped, draws.lost))
    cash, left = spread_of(draws.cash[:, y], currency), mean_of(draws.left[:, y], currency)
    return Year(y + 1, _amount(planned.cash[0, y], currency), cash, left, *counts)


def _keeping(
    ahead: Ahead, kept: YearDraws, sold: Mapping[int, YearDraws], new: NewEngine, resale: Decimal | None
) -> list[Keeping]:
    """Rebuilding, and selling after every so many seasons: after the last of them too where those end with it."""
    currency, base = ahead.season.rates.currency, ahead.burden(kept) * ahead.by_year
    price = to_minor(new.price, currency)
    given = None if resale is None else float(to_minor(resale, currency))
    found = [Keeping(0, mean_of(base, currency), None, None, None, *_racing(kept))]
    for every, draws in sold.items():
        ends = range(every, ahead.years + 1, every)
        factors = np.array([single_present_value_factor(ahead.rate, year) for year in ends])
        worth = draws.engine[:, [year - 1 for year in ends]]
        brings = worth.astype(np.float64) if given is None else np.full(worth.shape, given)
        without = (ahead.burden(draws) + _traded(ahead, draws, every, price)) * ahead.by_year
        annual = without - brings @ factors * ahead.by_year
        found.append(
            Keeping(
                every,
                mean_of(annual, currency),
                mean_of(annual - base, currency),
                mean_of(brings.mean(axis=1), currency),
                mean_of((without - base) / (factors.sum() * ahead.by_year), currency),
                *_racing(draws),
            )
        )
    return found


def _traded(ahead: Ahead, draws: YearDraws, every: int, price: int) -> machine.Floats:
    """[seasons] today's worth of the new engines bought, and of an engine that is sold at the end and so not left."""
    bought = sum(single_present_value_factor(ahead.rate, year) for year in range(every, ahead.years, every))
    gone = draws.engine[:, -1] * ahead.factors[-1] if ahead.years % every == 0 else np.zeros(draws.seasons)
    traded: machine.Floats = price * bought + gone
    return traded


def _racing(draws: YearDraws) -> tuple[Count, Count]:
    return count_of(draws.missed.sum(axis=1)), count_of(draws.lost.sum(axis=1))


def _amount(value: float, currency: str) -> Decimal:
    return from_minor(math.floor(value + 0.5), currency)


def new_engine(engines: Sequence[Engine], garage: Sequence[Piece], sources: Sources) -> NewEngine | None:
    """What a new engine costs: one on offer of which nothing is in the garage; else its parts put together.

    Its parts are those of the build that do not follow the car, at the prices of opening day, with labour and supplies
    of the engine's highest level. Nothing is known of the simple form.
    """
    known = {piece.engine for piece in garage}
    for engine in engines:
        if not engine.owned and engine.price and engine.name not in known:
            return NewEngine(engine.price, f"engine {engine.name} ({engine.place})")
    if sources.build is None or sources.catalog is None:
        return None
    shared = {row.slot for row in sources.files.positions if row.carrier == CAR}
    build = replace(
        sources.build,
        fills={slot: fill for slot, fill in sources.build.fills.items() if slot not in shared},
        alternates={slot: rows for slot, rows in sources.build.alternates.items() if slot not in shared},
    )
    price = bill_of(build, sources.catalog, sources.buying, sources.first_day, 0).total
    top = max((row for row in sources.files.levels if row.carrier != CAR), key=lambda row: row.rank, default=None)
    if top is not None:
        price = round_money(price + top.labour + top.supplies, sources.rates.currency)
    level = f", labour and supplies of {top.level}" if top else ""
    return NewEngine(price, f"parts of the build{level}", computed=True)
