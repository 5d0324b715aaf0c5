"""How fresh an event finds what is short-lived, and the cheapest plan under which it finds it fresher."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from costplan.season import machine
from costplan.season.calendar import gap_before
from costplan.season.deciding.timing_answer import FreshFor, Freshness
from costplan.season.deciding.timing_plan import freshened_by, on_dates, opened, used_at, walked
from costplan.season.deciding.timing_policy import Choice, Scope
from costplan.season.deciding.timing_search import Bench
from costplan.season.drawn.figures import Paired, paired

#: How much of its life a part may have used that is called fresh.
STILL_FRESH = 0.5
#: Gaps before an event that are tried for one more date.
NEAR = 8


def asked_start(scope: Scope, event: str) -> int:
    """The first run of the event asked for; else of that which counts most, is of a show, or has the largest purse."""
    events = {g: scope.season.runs[g].event for g in scope.firsts}
    starts = [g for g, one in events.items() if one.event == event] or list(events)
    return max(starts, key=lambda g: (events[g].counts, bool(events[g].show), events[g].purse, -g))


def fresh_for(
    bench: Bench, judge: Bench, chosen: Choice, fixed: Choice, event: str, seasons: int, *, stopped: bool
) -> FreshFor | None:
    """How fresh the event asked for is met under what was chosen; none where nothing is short-lived, or it is missed.

    A fresher plan is looked for on the bench, and what it costs more is judged on other seasons.
    """
    scope, g = bench.scope, asked_start(bench.scope, event)
    state = walked(scope.season, chosen)
    if not scope.short or state.ran[g] < 0:
        return None
    fresh = None if stopped else _freshest(bench, chosen, g)
    plan, row = fresh or chosen, scope.season.runs[g].event
    return FreshFor(
        row.event,
        row.date,
        _parts(scope, state, walked(scope.season, fixed), g),
        fresh is not None,
        _openings(scope, plan),
        tuple(scope.season.spots[p].slot for p in sorted(plan.always)),
        tuple(scope.season.spots[p].slot for p in scope.short if plan.uses[p] < chosen.uses[p]),
        None if plan == chosen else _extra(judge, plan, chosen, seasons),
    )


def _parts(scope: Scope, state: machine.State, before: machine.State, g: int) -> tuple[Freshness, ...]:
    season = scope.season
    return tuple(
        Freshness(
            season.spots[p].slot,
            used_at(season, state, g, p),
            used_at(season, before, g, p),
            *freshened_by(scope, state, g, p),
        )
        for p in scope.short
    )


def _openings(scope: Scope, plan: Choice) -> tuple[tuple[str, str], ...]:
    """Level and event of what a plan opens."""
    rows = sorted(opened(scope, walked(scope.season, plan)), key=lambda one: one[1])
    return tuple((scope.level(k), gap_before(scope.season.runs, run)[1]) for k, run in rows)


def _extra(judge: Bench, plan: Choice, chosen: Choice, seasons: int) -> Paired:
    more = judge.burden(plan, seasons) - judge.burden(chosen, seasons)
    return paired(more, judge.scope.season.rates.currency)


def _freshest(bench: Bench, chosen: Choice, g: int) -> Choice | None:
    """The cheapest choice near one in which what is short-lived is still fresh at run g; none where there is none."""
    if _is_fresh(bench.scope, chosen, g):
        return chosen
    fresh = [choice for choice in dict.fromkeys(_fresher(bench.scope, chosen, g)) if _is_fresh(bench.scope, choice, g)]
    return bench.cheapest(fresh) if fresh else None


def _is_fresh(scope: Scope, choice: Choice, g: int) -> bool:
    state = walked(scope.season, choice)
    return state.ran[g] >= 0 and all(used_at(scope.season, state, g, p) <= STILL_FRESH for p in scope.short)


def _fresher(scope: Scope, chosen: Choice, g: int) -> Iterator[Choice]:
    """A choice with the short-lived renewed at half their use, or with every opening, and with one more date.

    One without dates is given those of its plan, for a date to be added to.
    """
    halved = chosen
    for p in scope.short:
        halved = halved.with_use(p, min(chosen.uses[p], STILL_FRESH * min(1.0, scope.season.spots[p].factor)))
    yield halved
    if chosen.dates is None:
        chosen, halved = (on_dates(scope, choice) for choice in (chosen, halved))
    k = max(scope.season.spots[p].level for p in scope.short)
    for base in (chosen, replace(chosen, always=chosen.always | set(scope.short)), halved):
        for to in [gap for gap in scope.holds[k] if gap <= g][-NEAR:]:
            yield base.plus((k, to))
            for date in sorted(base.dates or ()):
                if date[0] == k:
                    yield base.without(date).plus((k, to))
