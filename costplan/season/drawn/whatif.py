"""What if: a named part fails, the engine is claimed, the money is only so much."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

import numpy as np

from costplan.money import from_minor, to_minor
from costplan.season import machine
from costplan.season.arrays import as_drawn
from costplan.season.drawn.drawing import QUIET, Draws, Watch, draw, first_event
from costplan.season.drawn.figures import (
    Chance,
    Count,
    CountDifference,
    Spread,
    chance_of,
    count_of,
    difference_of,
    error_of,
    spread_of,
)
from costplan.season.drawn.stage import Stage
from costplan.season.names import Season
from costplan.season.plan import play_plan


@dataclass(frozen=True, slots=True)
class CaseOutcome:
    """What one case of a forced failure comes to: its share, and its bill on average; '' takes nothing along."""

    case: str
    share: Chance
    bill: Decimal
    error: Decimal


@dataclass(frozen=True, slots=True)
class Struck:
    """A season in which something happens at an event, against the same season in which it does not.

    `bill`: what the season's cash is more; `net`: the same less what more is left on hand at the end, since new parts
    are worth more than those they replace. Over the seasons in which the event was run (`run` of all).
    """

    currency: str
    seasons: int
    asked: int
    seed: int
    what: str
    event: str
    date: date
    run: Chance
    bill: Spread
    net: Spread
    missed: CountDifference
    results_lost: CountDifference
    cases: tuple[CaseOutcome, ...]


def if_fails(
    season: Season, slot: str, event: str, seasons: int, seed: int = 1, *, watch: Watch = QUIET
) -> Struck | None:
    """What it costs if a slot's part fails half-way through the last run of an event; none where no position can.

    Of a slot's alternates, the one that serves there. Everything else is drawn alike with and without it.
    """
    g = last_run_of(season, event)
    p = next((p for p, spot in enumerate(season.spots) if _can_fail(season, p, slot, g) and spot.service is None), None)
    if p is None:
        return None
    drawn = as_drawn(season, seed)
    return _struck(season, drawn, drawn._replace(force_run=g, force=p), slot, g, seasons, seed, watch)


def _can_fail(season: Season, p: int, slot: str, g: int) -> bool:
    """Whether a position is of a slot, by its own name or its slot's, and serves in a run."""
    spot = season.spots[p]
    return slot in (spot.slot, spot.base) and bool(season.problem.serves[p, g])


def last_run_of(season: Season, event: str) -> int:
    """The number of the last run of an event."""
    return max(g for g, run in enumerate(season.runs) if run.event.event == event)


def if_claimed(
    season: Season, event: str, price: Decimal, hours: float, seasons: int, seed: int = 1, *, watch: Watch = QUIET
) -> Struck:
    """What is lost if the engine that runs an event is claimed after it for a price, and another is built in its place.

    The other is ready so many hours later, and is paid for like a total loss without cores: every part of the engine
    new, and the work of the highest level.
    """
    g = last_run_of(season, event)
    claimable = with_claim(season, to_minor(price, season.rates.currency), hours)
    drawn = as_drawn(claimable, seed)
    force = len(season.spots) + len(season.hazards)
    what = f"the engine is claimed for {price}"
    return _struck(claimable, drawn, drawn._replace(force_run=g, force=force), what, g, seasons, seed, watch)


def with_claim(season: Season, paid: int, hours: float) -> Season:
    """A season with one more hazard, which never strikes of itself: the engine is gone, for what is paid."""
    old, start, runs, carriers = season.problem, season.start, len(season.runs), len(season.carriers)
    hits = ~old.on_car
    problem = old._replace(
        hazard_use=np.hstack([old.hazard_use, np.zeros((runs, 1))]),
        hazard_mean=np.append(old.hazard_mean, np.inf),
        hazard_on_car=np.append(old.hazard_on_car, False),
        hazard_key=np.concatenate([old.hazard_key, np.zeros((carriers, 1, 2), dtype=np.int64)], axis=1),
        case_from=np.append(old.case_from, old.case_from[-1] + 1),
        case_up_to=np.append(old.case_up_to, 1.0),
        case_hits=np.vstack([old.case_hits, hits[None, :]]),
        case_wrecks=np.append(old.case_wrecks, True),
        case_cost=np.append(old.case_cost, 0),
        case_paid=np.append(old.case_paid, paid),
        case_hours=np.append(old.case_hours, hours),
        case_stops=np.append(old.case_stops, False),
    )
    state = start._replace(
        hazard_left=np.hstack([start.hazard_left, np.zeros((carriers, 1))]),
        strikes=np.hstack([start.strikes, np.zeros((carriers, 1), dtype=np.int64)]),
        failures=np.append(start.failures, 0),
    )
    return replace(season, problem=problem, start=state)


def _struck(
    season: Season,
    plain: machine.Problem,
    forced: machine.Problem,
    what: str,
    g: int,
    seasons: int,
    seed: int,
    watch: Watch,
) -> Struck:
    stage = Stage(season, track=watch.compiling)
    without = draw(season, seasons, seed, problem=plain, stage=stage, watch=watch)
    struck = draw(season, without.seasons, seed, problem=forced, stage=stage, watch=watch)
    n = struck.seasons
    hit = struck.struck > 0
    bill, left = struck.cash - without.cash[:n], struck.left - without.left[:n]
    currency, event = season.rates.currency, season.runs[g].event
    some = hit if hit.any() else np.ones(n, dtype=np.bool_)
    return Struck(
        currency,
        n,
        seasons,
        seed,
        what,
        event.event,
        event.date,
        chance_of(int(hit.sum()), n),
        spread_of(bill[some], currency),
        spread_of((bill - left)[some], currency),
        difference_of((struck.misses - without.misses[:n])[some]),
        difference_of((struck.lost - without.lost[:n])[some]),
        tuple(_outcomes(season, struck, bill)),
    )


def _outcomes(season: Season, struck: Draws, bill: machine.Ints) -> Iterator[CaseOutcome]:
    """The cases that came up, the likeliest first."""
    kinds, counts = np.unique(struck.struck[struck.struck > 0], return_counts=True)
    currency, total = season.rates.currency, int(counts.sum())
    for i in np.argsort(-counts, kind="stable"):
        number, of = int(kinds[i]) - 2, bill[struck.struck == kinds[i]]
        name = season.cases[number].case if 0 <= number < len(season.cases) else ""
        mean, error = from_minor(round(float(of.mean())), currency), from_minor(round(error_of(of)), currency)
        yield CaseOutcome(name, chance_of(int(counts[i]), total), mean, error)


@dataclass(frozen=True, slots=True)
class Reached:
    """An event, and the chance that the money lasts through it; what has been paid by then, less what came in."""

    event: str
    date: date
    lasts: Chance
    so_far: Spread


@dataclass(frozen=True, slots=True)
class Affordable:
    """How far a sum goes: the events through which cash paid, less what came in, never passed it.

    `events` and `races` count them; `whole`: chance that it lasts through all of them and puts right what is broken.
    """

    currency: str
    seasons: int
    asked: int
    seed: int
    sum: Decimal
    events: Count
    races: Count
    whole: Chance
    by_event: tuple[Reached, ...]
    planned: int


def affordable(draws: Draws, money: Decimal) -> Affordable:
    """How many events of a drawn season a sum pays for, income counted when it comes."""
    season, currency = draws.season, draws.season.rates.currency
    so_far = draws.event.cumsum(axis=1)
    lasts = np.logical_and.accumulate(so_far <= to_minor(money, currency), axis=1)
    events, begin = [run.event for run in season.runs if run.first], first_event(season)
    races = np.array([event.kind == "race" for event in events])
    planned = _planned_so_far(draws) <= to_minor(money, currency)
    return Affordable(
        currency,
        draws.seasons,
        draws.asked,
        draws.seed,
        money,
        count_of(lasts[:, begin:-1].sum(axis=1)),
        count_of(lasts[:, begin:-1][:, races[begin:]].sum(axis=1)),
        chance_of(int(lasts[:, -1].sum()), len(lasts)),
        tuple(
            Reached(
                event.event,
                event.date,
                chance_of(int(lasts[:, e].sum()), len(lasts)),
                spread_of(so_far[:, e], currency),
            )
            for e, event in enumerate(events)
            if e >= begin
        ),
        int(np.logical_and.accumulate(planned)[begin : len(events)].sum()),
    )


def _planned_so_far(draws: Draws) -> machine.Ints:
    """Cash of the plan up to the end of each event."""
    return (play_plan(draws.season).tally_event + draws.fixed.event).cumsum()
