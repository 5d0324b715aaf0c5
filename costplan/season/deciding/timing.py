"""At which event to renew what: the dates and renewal uses that cost least, and what moving each date costs.

What is made least is what a season costs in the end: cash less what is left on hand, and the worth of results lost. It
is found on seasons of one seed and judged on seasons of another, so that no figure is the luck of the search. Lives are
assumptions, and so is all that follows from them.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from typing import Literal

from costplan.money import from_minor, round_money
from costplan.season.calendar import gap_before
from costplan.season.deciding.timing_plan import (
    AgeAt,
    ages_at_big_events,
    event_starts,
    freshened_by,
    in_the_way,
    opened,
    service_day,
    used_at,
    walked,
)
from costplan.season.deciding.timing_policy import (
    ENGINE,
    Choice,
    Scope,
    as_filed,
    can_fail,
    carries_cost,
    done_long_ago,
    scope_of,
    under,
)
from costplan.season.deciding.timing_search import (
    Bench,
    Tell,
    look_for_dates,
    look_for_uses,
    planned_dates,
    pruned,
    tell_nobody,
    whole_event,
)
from costplan.season.deciding.timing_theory import RenewalUse, renewal_uses, theory_factor
from costplan.season.drawn.comparing import burden_of
from costplan.season.drawn.drawing import QUIET, Draws, Watch, draw
from costplan.season.drawn.figures import (
    Count,
    CountDifference,
    Paired,
    Spread,
    count_of,
    difference_of,
    paired,
    spread_of,
)
from costplan.season.names import Season

Way = Literal["fixed", "uses", "dates"]

#: Positions whose renewal use is moved: those that cost most.
VARIED = 12
#: What is found is judged on so many times as many seasons as a step of the search may take.
JUDGED = 4
#: The least multiple of a renewal use that theory is followed to.
LEAST = 0.05
#: How much of its life a part may have used that is called fresh.
FRESH = 0.5


@dataclass(frozen=True, slots=True)
class Side:
    """What a season costs one way. `burden`: cash less what is left at the end, and what lost results are worth."""

    name: Way
    burden: Spread
    cash: Spread
    results_lost: Count
    missed: Count


@dataclass(frozen=True, slots=True)
class Move:
    """A date moved by so many events: to the gap before which, and what that costs more; or why it cannot be."""

    events: int
    before: str
    cost: Paired | None
    reason: str


@dataclass(frozen=True, slots=True)
class ServiceDate:
    """A level to be done before an event, from a day on, and what moving it costs."""

    level: str
    before: str
    date: date
    moves: tuple[Move, ...]


@dataclass(frozen=True, slots=True)
class Freshness:
    """A short-lived position at an event: the share of its life used, and the level and event that renewed it last."""

    slot: str
    chosen: float
    fixed: float
    level: str
    before: str


@dataclass(frozen=True, slots=True)
class FreshFor:
    """How fresh an event finds what is short-lived, under the dates that cost least and as the files have it.

    `plan`: the cheapest one found in which none of it has used more than half of its life by then, as level and event;
    `always`: what every opening at its level renews in it; `sooner`: what is renewed at half its use in it; `extra`:
    what it costs more than the plan that costs least, none where that is it or none was found.
    """

    event: str
    date: date
    parts: tuple[Freshness, ...]
    met: bool
    plan: tuple[tuple[str, str], ...]
    always: tuple[str, ...]
    sooner: tuple[str, ...]
    extra: Paired | None


@dataclass(frozen=True, slots=True)
class Spacing:
    """The interval of a level as the files have it and as found, in its measure."""

    level: str
    measure: str
    now: float
    found: float


@dataclass(frozen=True, slots=True)
class CalendarRow:
    """A row for calendar.csv, of kind service."""

    event: str
    date: date
    level: str


@dataclass(frozen=True, slots=True)
class LevelRow:
    """What stands in levels.csv of a level: its interval, none where it is done on dates, and these renewed.

    `rest` is in events; `more`: whether it renews more than now.
    """

    level: str
    interval: float | None
    renews: tuple[str, ...]
    more: bool
    rest: float


@dataclass(frozen=True, slots=True)
class PositionRow:
    """What stands in positions.csv of a position."""

    slot: str
    renewal: str
    factor: float
    waits: bool


@dataclass(frozen=True, slots=True)
class Paste:
    """What to write into the files so that the season follows what was found. `dropped`: service rows to take out."""

    calendar: tuple[CalendarRow, ...]
    dropped: tuple[str, ...]
    levels: tuple[LevelRow, ...]
    positions: tuple[PositionRow, ...]


@dataclass(frozen=True, slots=True)
class Timing:
    """When to renew what. Money in the scenario's currency; `best`: the way that costs least beyond the error.

    `fixed` is the season as the files have it, `uses` with other renewal uses and intervals, `dates` with dates; gains
    are what each costs more than `fixed` on `judged` seasons of `judged_seed`. Steps of the search took `seasons` at
    the most, of `seed`. `certain`: nothing can fail, so that there is nothing to look for. `lost_more`: results that
    the best way loses more than `fixed`; it pays while one is worth less than `pays_below` beyond its purse. `kept`:
    slots that are never renewed later than the files say.
    """

    currency: str
    seasons: int
    seed: int
    judged: int
    judged_seed: int
    tried: int
    certain: bool
    stopped: bool
    best: Way
    fixed: Side | None = None
    uses: Side | None = None
    dates: Side | None = None
    uses_gain: Paired | None = None
    dates_gain: Paired | None = None
    lost_more: CountDifference | None = None
    pays_below: Decimal | None = None
    services: tuple[ServiceDate, ...] = ()
    rest: float = 0.0
    always: tuple[str, ...] = ()
    intervals: tuple[Spacing, ...] = ()
    factors: tuple[RenewalUse, ...] = ()
    ages: tuple[AgeAt, ...] = ()
    asked: FreshFor | None = None
    paste: Paste | None = None
    kept: tuple[str, ...] = ()


@dataclass(slots=True)
class _Found:
    """The best choices so far."""

    fixed: Choice
    uses: Choice
    dates: Choice | None = None
    varied: list[int] = field(default_factory=list)


def timing_of(
    season: Season,
    seasons: int = 4000,
    seed: int = 1,
    *,
    event: str = "",
    watch: Watch = QUIET,
    tell: Tell = tell_nobody,
) -> Timing:
    """Looks for what costs least and judges it. `event`: that which is to be met fresh, one that is still to come.

    Interrupted, it judges the best so far on few seasons; interrupted again, it raises KeyboardInterrupt.
    """
    season = done_long_ago(season)
    scope = scope_of(season)
    filed = as_filed(season)
    judge_seed = (seed + 1) % 2**32
    if not any(can_fail(season, p) for p in range(len(season.spots))):
        return Timing(season.rates.currency, seasons, seed, 0, judge_seed, 0, True, False, "fixed")
    found, stopped = _Found(filed, filed), False
    bench = Bench(scope, seed, seasons, watch, tell)
    try:
        _look(bench, found)
    except KeyboardInterrupt:
        stopped = True
    if not stopped:
        try:
            return _judged(bench, found, event, JUDGED * seasons, stopped=False)
        except KeyboardInterrupt:
            stopped = True
    return _judged(bench, found, event, min(seasons, 1000), stopped=True)


def _look(bench: Bench, found: _Found) -> None:
    """Looks for renewal uses, then for dates from where both leave off."""
    scope, season = bench.scope, bench.scope.season
    base = draw(season, min(bench.cap, 1000), bench.seed, watch=bench.watch)
    if base.interrupted:
        raise KeyboardInterrupt
    found.varied = _varied(scope, base)

    def told_uses(choice: Choice) -> None:
        found.uses = choice

    def told_dates(choice: Choice) -> None:
        found.dates = choice

    start = bench.better(found.fixed, [_by_theory(scope, found.fixed, found.varied)]) or found.fixed
    found.uses = pruned(bench, look_for_uses(bench, start, found.varied, told_uses), found.fixed)
    if scope.dated:
        starts = [_on_dates(scope, choice) for choice in (found.fixed, found.uses)]
        dates = look_for_dates(bench, bench.cheapest(starts), found.varied, told_dates)
        found.dates = pruned(bench, dates, found.fixed)


def _varied(scope: Scope, base: Draws) -> list[int]:
    """The positions whose renewal use is moved: those that can fail by themselves and cost most."""
    season = scope.season
    able = [p for p in range(len(season.spots)) if can_fail(season, p) and scope.leading[p] >= 0]
    return sorted(able, key=lambda p: (-carries_cost(base, p), p))[:VARIED]


def _by_theory(scope: Scope, choice: Choice, varied: Sequence[int]) -> Choice:
    """Every position renewed where theory would, by itself; those that may not be stretched no later than filed."""
    for p in varied:
        use = max(LEAST, round(theory_factor(scope, p), 2))
        choice = choice.with_use(p, min(use, choice.uses[p]) if p in scope.kept else use)
    return choice


def _on_dates(scope: Scope, choice: Choice) -> Choice:
    """A choice with the openings of its plan as dates."""
    intervals = (1.0,) * len(choice.intervals)
    return replace(choice, intervals=intervals, dates=planned_dates(scope, choice))


def _judged(bench: Bench, found: _Found, event: str, seasons: int, *, stopped: bool) -> Timing:
    """What was found on seasons that the search has not seen."""
    scope, season, currency = bench.scope, bench.scope.season, bench.scope.season.rates.currency
    before = bench.tried
    judge = Bench(scope, (bench.seed + 1) % 2**32, seasons, bench.watch, lambda count: bench.tell(before + count))
    sides: dict[Way, Choice] = {"fixed": found.fixed, "uses": found.uses}
    if found.dates:
        sides["dates"] = found.dates
    drawn = {name: _drawn(judge, choice, seasons) for name, choice in sides.items()}
    gains = {name: paired(burden_of(drawn[name]) - burden_of(drawn["fixed"]), currency) for name in sides}
    best = _best(drawn, gains, currency)
    lost_more = difference_of(drawn[best].lost - drawn["fixed"].lost)
    chosen = found.dates or found.uses
    few = min(seasons, bench.cap)
    return Timing(
        currency,
        bench.cap,
        bench.seed,
        seasons,
        judge.seed,
        before,
        certain=False,
        stopped=stopped,
        best=best,
        fixed=_side("fixed", drawn["fixed"]),
        uses=_side("uses", drawn["uses"]),
        dates=_side("dates", drawn["dates"]) if found.dates else None,
        uses_gain=gains["uses"],
        dates_gain=gains.get("dates"),
        lost_more=lost_more,
        pays_below=_pays_below(season, gains[best], lost_more),
        services=_services(judge, found.dates, few, stopped=stopped) if found.dates else (),
        rest=chosen.rest,
        always=tuple(season.spots[p].slot for p in sorted(chosen.always)),
        intervals=_spacings(scope, found.uses),
        factors=renewal_uses(scope, found.fixed, chosen, found.varied),
        ages=ages_at_big_events(scope, chosen, found.fixed, sorted({*event_starts(scope), _asked_start(scope, event)})),
        asked=_asked(bench, judge, chosen, found.fixed, event, few, stopped=stopped),
        paste=None if best == "fixed" else paste_of(scope, sides[best]),
        kept=tuple(season.spots[p].slot for p in sorted(scope.kept)),
    )


def _drawn(judge: Bench, choice: Choice, seasons: int) -> Draws:
    season = judge.scope.season
    draws = draw(season, seasons, judge.seed, problem=under(season, choice, judge.seed), watch=judge.watch)
    if draws.interrupted:
        raise KeyboardInterrupt
    judge.known[choice] = burden_of(draws)
    return draws


def _side(name: Way, draws: Draws) -> Side:
    currency = draws.season.rates.currency
    return Side(
        name,
        spread_of(burden_of(draws), currency),
        spread_of(draws.cash, currency),
        count_of(draws.lost),
        count_of(draws.misses),
    )


def _best(drawn: Mapping[Way, Draws], gains: Mapping[Way, Paired], currency: str) -> Way:
    """The way that costs least of those that beat the fixed intervals by more than twice the error.

    Dates are preferred where they cost no more than other renewal uses within the error, since dates are asked for.
    """
    clear = [name for name, gain in gains.items() if gain.mean < 0 and -gain.mean > 2 * gain.error]
    if "dates" in clear and "uses" in clear:
        more = paired(burden_of(drawn["dates"]) - burden_of(drawn["uses"]), currency)
        return "dates" if more.mean <= 2 * more.error else "uses"
    return clear[0] if clear else "fixed"


def _pays_below(season: Season, gain: Paired, lost_more: CountDifference) -> Decimal | None:
    """The worth of a result at which a way costs as much as the files', all else as it is; None where it loses none."""
    if not lost_more.shown or lost_more.mean <= 0:
        return None
    worth = from_minor(season.result_worth, season.rates.currency)
    return round_money(worth - gain.mean / Decimal(repr(lost_more.mean)), season.rates.currency)


def _services(judge: Bench, choice: Choice, seasons: int, *, stopped: bool) -> tuple[ServiceDate, ...]:
    """What is opened when under a choice, in order, each moved by one and two events either way.

    That is its dates, and what is due before one and may not be stretched.
    """
    scope = judge.scope
    runs, before = scope.season.runs, opened(scope, walked(scope.season, choice))
    firsts = {(k, whole_event(scope, g)) for k, g in before if g < len(runs)}
    return tuple(
        ServiceDate(
            scope.level(k),
            runs[g].event.event,
            service_day(scope.season, g),
            () if stopped else tuple(moves_of(judge, choice, (k, g), seasons)),
        )
        for k, g in sorted(firsts | (choice.dates or set()), key=lambda one: (one[1], one[0]))
    )


def moves_of(judge: Bench, choice: Choice, date: tuple[int, int], seasons: int) -> list[Move]:
    """A date one and two events earlier and later and, where none of a side holds it, to the next gap that does."""
    scope, (k, g) = judge.scope, date
    firsts = scope.firsts
    at, found = firsts.index(g), []
    for side in (-1, 1):
        steps = [side, 2 * side]
        near = [firsts[at + step] for step in steps if 0 <= at + step < len(firsts)]
        far = [one for one in scope.holds[k] if (one - g) * side > 0]
        if far and not set(near) & set(far):
            steps.append(firsts.index(min(far, key=lambda one: abs(one - g))) - at)
        found += [_move(judge, choice, date, at, step, seasons) for step in steps]
    return sorted(found, key=lambda move: move.events)


def _move(judge: Bench, choice: Choice, date: tuple[int, int], at: int, step: int, seasons: int) -> Move:
    scope = judge.scope
    firsts, runs, currency = scope.firsts, scope.season.runs, scope.season.rates.currency
    if not 0 <= at + step < len(firsts):
        return Move(step, "", None, "no event is left there" if step > 0 else "no event to come lies before it")
    to = firsts[at + step]
    reason = in_the_way(scope, choice, date, to)
    if reason:
        return Move(step, runs[to].event.event, None, reason)
    moved = choice.without(date).plus((date[0], to))
    more = judge.burden(moved, seasons) - judge.burden(choice, seasons)
    return Move(step, runs[to].event.event, paired(more, currency), "")


def _spacings(scope: Scope, choice: Choice) -> tuple[Spacing, ...]:
    """The intervals of levels as filed and as found."""
    rows = {k: scope.season.ladders[ENGINE][k].row for k in scope.dated}
    return tuple(
        Spacing(scope.level(k), str(row.measure), row.interval, row.interval * choice.intervals[k])
        for k, row in rows.items()
        if row is not None and row.interval is not None
    )


def _asked_start(scope: Scope, event: str) -> int:
    """The first run of the event asked for; else of that which counts most, is of a show, or has the largest purse."""
    events = {g: scope.season.runs[g].event for g in scope.firsts}
    starts = [g for g, one in events.items() if one.event == event] or list(events)
    return max(starts, key=lambda g: (events[g].counts, bool(events[g].show), events[g].purse, -g))


def _asked(
    bench: Bench, judge: Bench, chosen: Choice, fixed: Choice, event: str, seasons: int, *, stopped: bool
) -> FreshFor | None:
    """How fresh the event asked for is met."""
    scope, season = bench.scope, bench.scope.season
    g = _asked_start(scope, event)
    state, before = walked(season, chosen), walked(season, fixed)
    if not scope.short or state.ran[g] < 0:
        return None
    parts = tuple(
        Freshness(
            season.spots[p].slot,
            used_at(season, state, g, p),
            used_at(season, before, g, p),
            *freshened_by(scope, state, g, p),
        )
        for p in scope.short
    )
    fresh = None if stopped else _freshest(bench, chosen, g)
    extra = None
    if fresh is not None and fresh != chosen:
        more = judge.burden(fresh, seasons) - judge.burden(chosen, seasons)
        extra = paired(more, season.rates.currency)
    plan = fresh or chosen
    rows = sorted(opened(scope, walked(season, plan)), key=lambda one: one[1])
    return FreshFor(
        season.runs[g].event.event,
        season.runs[g].event.date,
        parts,
        fresh is not None,
        tuple((scope.level(k), gap_before(season.runs, run)[1]) for k, run in rows),
        tuple(season.spots[p].slot for p in sorted(plan.always)),
        tuple(season.spots[p].slot for p in scope.short if plan.uses[p] < chosen.uses[p]),
        extra,
    )


def _freshest(bench: Bench, chosen: Choice, g: int) -> Choice | None:
    """The cheapest choice near one in which what is short-lived has used no more than half of its life at run g."""
    scope, season = bench.scope, bench.scope.season

    def is_fresh(choice: Choice) -> bool:
        state = walked(season, choice)
        return state.ran[g] >= 0 and all(used_at(season, state, g, p) <= FRESH for p in scope.short)

    if is_fresh(chosen):
        return chosen
    halved = chosen
    for p in scope.short:
        halved = halved.with_use(p, min(chosen.uses[p], FRESH * min(1.0, season.spots[p].factor)))
    tries = [halved]
    if chosen.dates is not None:
        k = max(season.spots[p].level for p in scope.short)
        for base in (chosen, replace(chosen, always=chosen.always | set(scope.short)), halved):
            for to in [gap for gap in scope.holds[k] if gap <= g][-8:]:
                tries.append(base.plus((k, to)))
                tries += [base.without(date).plus((k, to)) for date in sorted(base.dates or ()) if date[0] == k]
    fresh = [choice for choice in dict.fromkeys(tries) if is_fresh(choice)]
    return bench.cheapest(fresh) if fresh else None


def paste_of(scope: Scope, choice: Choice) -> Paste:
    """The rows by which the season of the files follows a choice."""
    season = scope.season
    dates = sorted(choice.dates or (), key=lambda one: (one[1], one[0]))
    there = {(row.level, g): row for g, run in enumerate(season.runs) for row in run.services}
    wanted = {(scope.level(k), g) for k, g in dates}
    calendar = tuple(
        CalendarRow(f"{scope.level(k)} for {season.runs[g].event.event}", service_day(season, g), scope.level(k))
        for k, g in dates
        if (scope.level(k), g) not in there
    )
    timed = {scope.level(k) for k in scope.dated}
    dropped = tuple(
        row.event
        for (level, g), row in there.items()
        if choice.dates is not None and level in timed and g >= season.problem.begin and (level, g) not in wanted
    )
    spaced = {k for k in scope.dated if choice.intervals[k] != 1 and math.isfinite(season.problem.interval[ENGINE, k])}
    changed = (k for k in scope.dated if choice.dates is not None or k in spaced)
    levels = tuple(_level_row(scope, choice, k) for k in changed)
    return Paste(calendar, dropped, levels, tuple(_position_rows(scope, choice)))


def _level_row(scope: Scope, choice: Choice, k: int) -> LevelRow:
    season = scope.season
    row = season.ladders[ENGINE][k].row
    now = row.renews if row else ()
    renews = dict.fromkeys((*now, *(season.spots[p].base for p in sorted(choice.always) if season.spots[p].level == k)))
    interval = row.interval * choice.intervals[k] if row and row.interval and choice.dates is None else None
    return LevelRow(scope.level(k), interval, tuple(renews), len(renews) > len(now), choice.rest)


def _position_rows(scope: Scope, choice: Choice) -> list[PositionRow]:
    """The positions of which something else is to stand in positions.csv."""
    season, found = scope.season, []
    for p, spot in enumerate(season.spots):
        waits = choice.dates is not None and spot.ladder == ENGINE and spot.level in scope.dated and p not in scope.kept
        use = choice.uses[p]
        if spot.service is None and (waits or use != spot.factor):
            for_ever = use == float("inf")
            found.append(
                PositionRow(
                    spot.base,
                    "run to failure" if for_ever else "at interval",
                    1.0 if for_ever else round(use, 4),
                    waits,
                )
            )
    return found
