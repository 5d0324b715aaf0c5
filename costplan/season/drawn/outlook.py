"""The outlook: what a season is likely to cost, what could go wrong, and what drives it.

It is the plan's machine with lives, rain, hazards and cases drawn. Every figure carries its standard error.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

import numpy as np

from costplan.money import from_minor, round_money
from costplan.season import machine
from costplan.season.bills import CaseBill, case_bills
from costplan.season.calendar import gap_before
from costplan.season.drawn.drawing import Draws, first_event
from costplan.season.drawn.figures import (
    Chance,
    Count,
    Spread,
    chance_of,
    count_of,
    error_of,
    percentile,
    spread_of,
    spread_per,
)
from costplan.season.names import Season
from costplan.season.plan import play_plan


@dataclass(frozen=True, slots=True)
class EventOutlook:
    """An event: chances that rain takes of it, that a failure stops a run, that no engine is ready for a run.

    `cash` is paid for it with the gap before it, `so_far` from opening day up to its end.
    """

    event: str
    date: date
    rained: Chance
    stopped: Chance
    missed: Chance
    cash: Spread
    so_far: Spread
    planned: Decimal
    planned_so_far: Decimal


@dataclass(frozen=True, slots=True)
class MonthOutlook:
    """Cash of a calendar month, and the share of seasons in which it is the dearest."""

    month: str
    cash: Spread
    worst: Chance
    planned: Decimal


@dataclass(frozen=True, slots=True)
class CauseOutlook:
    """Cash by cause: the mean, its standard error, and the plan's."""

    cause: str
    mean: Decimal
    error: Decimal
    planned: Decimal


@dataclass(frozen=True, slots=True)
class LineOutlook:
    """What a position, a level or all the rest costs, and its share of the variance of the season's cash.

    Shares add up to 1; a negative one belongs to what is cheap when the season is dear. `failures`: by itself, a
    season, over all carriers; `fails`: chance of any; `found`: seen by a check, `hit`: broken by something else.
    """

    name: str
    kind: str
    mean: Decimal
    planned: Decimal
    share: float
    failures: float
    fails: Chance
    found: float
    hit: float


@dataclass(frozen=True, slots=True)
class LevelOutlook:
    """When a level is done for the nth time, alone or in a higher one: the events before which it is.

    `planned`: that of the plan; then those by which it is done in 10, 50 and 90 % of the seasons in which it is.
    `earlier` and `later`: shares of seasons in which it is done before another event than planned; `never`: not so
    often.
    """

    carrier: str
    level: str
    nth: int
    planned: str
    p10: str
    p50: str
    p90: str
    earlier: Chance
    later: Chance
    never: Chance


@dataclass(frozen=True, slots=True)
class OpeningsOutlook:
    """How often a level is opened, as the highest of an opening."""

    carrier: str
    level: str
    planned: int
    opened: Count


@dataclass(frozen=True, slots=True)
class CaseOutlook:
    """A case and its bill: how many times a season it comes about, and what it costs a season on average."""

    bill: CaseBill
    times: float
    a_season: Decimal


@dataclass(frozen=True, slots=True)
class HazardOutlook:
    """How often a hazard strikes in a season."""

    hazard: str
    strikes: float
    chance: Chance


@dataclass(frozen=True, slots=True)
class Outlook:
    """A season as it may go. Money in the scenario's currency, each spread over the seasons drawn.

    `net` is cash less what is left on hand at the end. `results_lost` counts the weights of runs lost to failures and
    missed runs, `results` all that there are. `retirements`: of starts, races at which an engine ran, the share in
    which a failure stopped a run. `certain`: nothing is left to chance. Figures by event, month and cause rest on the
    first `kept` seasons.
    """

    currency: str
    seasons: int
    asked: int
    kept: int
    seed: int
    planned_cash: Decimal
    planned_wear: Decimal
    cash: Spread
    wear: Spread
    net: Spread
    per_race: Spread
    per_lap: Spread
    per_hour: Spread
    worst_month: Spread
    dnfs: Count
    missed: Count
    retirements: Chance
    results: float
    results_lost: Count
    events: tuple[EventOutlook, ...]
    months: tuple[MonthOutlook, ...]
    causes: tuple[CauseOutlook, ...]
    lines: tuple[LineOutlook, ...]
    levels: tuple[LevelOutlook, ...]
    openings: tuple[OpeningsOutlook, ...]
    hazards: tuple[HazardOutlook, ...]
    assumed: int
    certain: bool

    @property
    def interrupted(self) -> bool:
        """Whether fewer seasons were drawn than asked for."""
        return self.seasons < self.asked


def outlook_of(draws: Draws) -> Outlook:
    """The outlook of drawn seasons."""
    season, currency = draws.season, draws.season.rates.currency
    planned, fixed = play_plan(season), draws.fixed
    races = [run.event.kind == "race" for run in season.runs if run.first]
    starts = float(draws.held[races].sum())
    cash = int(planned.tally_event.sum()) + fixed.total
    wear = cash - fixed.lasting + int(planned.used_up[0])
    return Outlook(
        currency,
        draws.seasons,
        draws.asked,
        len(draws.event),
        draws.seed,
        from_minor(cash, currency),
        from_minor(wear, currency),
        spread_of(draws.cash, currency),
        spread_of(draws.wear, currency),
        spread_of(draws.cash - draws.left, currency),
        spread_per(draws.cash, draws.races, currency),
        spread_per(draws.cash, draws.laps, currency),
        spread_per(draws.cash, draws.hours, currency),
        spread_of(draws.month.max(axis=1), currency),
        count_of(draws.dnfs),
        count_of(draws.misses),
        chance_of(float(draws.stopped[races].sum()), starts),
        float((draws.problem.weight[draws.problem.event] * draws.problem.result)[season.begin :].sum()),
        count_of(draws.lost),
        _events(draws, planned),
        _months(draws, planned),
        _causes(draws, planned),
        _lines(draws, planned),
        _levels(draws, planned),
        _openings(draws, planned),
        _hazards(draws),
        len(season.assumed),
        is_certain(draws.problem),
    )


def is_certain(problem: machine.Problem) -> bool:
    """Whether nothing is left to chance: no life that may end, no rain, no hazard."""
    ends = np.isfinite(problem.scale) & (problem.duty[-1] > 0)
    return not (ends.any() or problem.rain.any() or np.isfinite(problem.hazard_mean).any())


def _events(draws: Draws, planned: machine.State) -> tuple[EventOutlook, ...]:
    season, currency, n = draws.season, draws.season.rates.currency, draws.seasons
    events = [run.event for run in season.runs if run.first]
    so_far, plan = draws.event.cumsum(axis=1), planned.tally_event + draws.fixed.event
    return tuple(
        EventOutlook(
            event.event,
            event.date,
            chance_of(int(draws.rained[e]), n),
            chance_of(int(draws.stopped[e]), n),
            chance_of(int(draws.missed[e]), n),
            spread_of(draws.event[:, e], currency),
            spread_of(so_far[:, e], currency),
            from_minor(int(plan[e]), currency),
            from_minor(int(plan[: e + 1].sum()), currency),
        )
        for e, event in enumerate(events)
        if e >= first_event(season)
    )


def _months(draws: Draws, planned: machine.State) -> tuple[MonthOutlook, ...]:
    season, currency = draws.season, draws.season.rates.currency
    plan = planned.tally_month + draws.fixed.month
    worst = draws.month.argmax(axis=1)
    return tuple(
        MonthOutlook(
            month,
            spread_of(draws.month[:, m], currency),
            chance_of(int((worst == m).sum()), len(worst)),
            from_minor(int(plan[m]), currency),
        )
        for m, month in enumerate(season.months)
        if draws.month[:, m].any() or plan[m]
    )


def _causes(draws: Draws, planned: machine.State) -> tuple[CauseOutlook, ...]:
    """Every cause that costs anything, the dearest first."""
    currency = draws.season.rates.currency
    plan = planned.tally_cause + draws.fixed.cause
    means = draws.cause.mean(axis=0)
    return tuple(
        CauseOutlook(
            machine.CAUSES[c],
            _money(float(means[c]), currency),
            _money(error_of(draws.cause[:, c]), currency),
            from_minor(int(plan[c]), currency),
        )
        for c in np.argsort(-means, kind="stable")
        if draws.cause[:, c].any() or plan[c]
    )


def _money(minor: float, currency: str) -> Decimal:
    return from_minor(round(minor), currency)


def _lines(draws: Draws, planned: machine.State) -> tuple[LineOutlook, ...]:
    """Positions, levels and the rest, the largest share of the variance first."""
    season, n, positions = draws.season, draws.seasons, len(draws.season.spots)
    names = [*((spot.slot, "position") for spot in season.spots), *_level_names(season), ("all other", "rest")]
    found = []
    for i, (name, kind) in enumerate(names):
        if not (name and (draws.line_mean[i] or draws.line_share[i])):
            continue
        own = i < positions
        found.append(
            LineOutlook(
                name,
                kind,
                _money(float(draws.line_mean[i]), season.rates.currency),
                from_minor(int(planned.tally_line[i]), season.rates.currency),
                float(draws.line_share[i]),
                float(draws.failures[i]) / n if own else 0.0,
                chance_of(int(draws.failed_in[i]), n) if own else Chance(0.0, 0.0),
                float(draws.finds[i]) / n if own else 0.0,
                float(draws.hits[i]) / n if own else 0.0,
            )
        )
    return tuple(sorted(found, key=lambda line: -abs(line.share)))


def _level_names(season: Season) -> list[tuple[str, str]]:
    """The names of levels as the tally numbers them; '' where a ladder has none."""
    depth = season.problem.hours.shape[1]
    return [(ladder[k].level if k < len(ladder) else "", "level") for ladder in season.ladders for k in range(depth)]


def _openings(draws: Draws, planned: machine.State) -> tuple[OpeningsOutlook, ...]:
    """Every level that costs anything and is opened in the plan or in any season."""
    openings, found = planned.openings[: planned.n_openings[0]], []
    for t, k, carrier, level in _costly_levels(draws.season):
        times = int(((openings[:, 2] == t) & (openings[:, 3] == k)).sum())
        if times or draws.opened[t, k]:
            found.append(OpeningsOutlook(carrier, level, times, count_of(draws.opened_each[:, t, k])))
    return tuple(found)


def _costly_levels(season: Season) -> Iterator[tuple[int, int, str, str]]:
    """Ladder, number, carrier and name of every level that costs anything."""
    for t, ladder in enumerate(season.ladders):
        for k, step in enumerate(ladder):
            if step.row is not None and (step.labour or step.supplies):
                yield t, k, "car" if season.problem.ladder_on_car[t] else "engine", step.level


def _levels(draws: Draws, planned: machine.State) -> tuple[LevelOutlook, ...]:
    """Every time that a level is done in the plan, as far as it is kept."""
    openings, found = planned.openings[: planned.n_openings[0]], []
    for t, k, carrier, level in _costly_levels(draws.season):
        runs = sorted(int(row[0]) for row in openings if row[2] == t and row[3] >= k)
        for n, g in enumerate(runs[: draws.opened_at.shape[3]]):
            found.append(_level(draws, draws.opened_at[:, t, k, n], (carrier, level, n + 1), g))
    return tuple(found)


def _level(draws: Draws, at: machine.Ints, name: tuple[str, str, int], planned: int) -> LevelOutlook:
    done = np.sort(at[at >= 0])
    p10, p50, p90 = (_before(draws.season, int(percentile(done, share)[0])) if len(done) else "" for share in _SHARES)
    moves = ((at >= 0) & (at < planned), at > planned, at < 0)
    earlier, later, never = (chance_of(int(move.sum()), len(at)) for move in moves)
    return LevelOutlook(*name, _before(draws.season, planned), p10, p50, p90, earlier, later, never)


_SHARES = (0.1, 0.5, 0.9)


def _before(season: Season, g: int) -> str:
    """The event before which something is done."""
    return gap_before(season.runs, g)[1]


def _hazards(draws: Draws) -> tuple[HazardOutlook, ...]:
    positions, n = len(draws.season.spots), draws.seasons
    return tuple(
        HazardOutlook(
            hazard.hazard,
            float(draws.failures[positions + h]) / n,
            chance_of(int(draws.failed_in[positions + h]), n),
        )
        for h, hazard in enumerate(draws.season.hazards)
    )


def what_breaks(draws: Draws) -> tuple[CaseOutlook, ...]:
    """Every case with its bill, what costs most in a season first."""
    season, n = draws.season, draws.seasons
    names = [*(spot.slot for spot in season.spots), *(hazard.hazard for hazard in season.hazards)]
    often = {name: float(draws.failures[number]) / n for number, name in enumerate(names)}
    found = []
    for bill in case_bills(season):
        times = often[bill.of] * bill.share
        found.append(CaseOutlook(bill, times, round_money(bill.total * Decimal(repr(times)), season.rates.currency)))
    return tuple(sorted(found, key=lambda case: -abs(case.a_season)))


def season_at(draws: Draws, share: float) -> int:
    """The number of a drawn season whose cash stands at a share of all: at 0.9, nine in ten are no dearer."""
    order: Sequence[int] = np.argsort(draws.cash, kind="stable").tolist()
    return order[min(len(order) - 1, int(share * len(order)))]
