"""Events, runs and what flows or is fixed with them."""

from __future__ import annotations

from typing import Any

from costplan.money import to_minor
from costplan.quantity import MEASURES
from costplan.season import machine
from costplan.season.calendar import by_event
from costplan.season.ledger import fixed_rows
from costplan.season.names import Season
from costplan.season.work.values import number, steps_of


def events_of(season: Season, problem: machine.Problem) -> list[dict[str, Any]]:
    """Every event that runs, in order of time."""
    return [
        {
            "event": stretch[0][1].event.event,
            "date": stretch[0][1].event.date.isoformat(),
            "kind": stretch[0][1].event.kind,
            "month": season.months[problem.event_month[e]],
            "weight": number(problem.weight[e]),
            "rain": number(problem.rain[e]),
            "rain_from": int(problem.rain_from[e]),
            "cost": int(problem.event_cost[e]),
            "fee": int(problem.event_fee[e]),
            "purse": int(problem.purse[e]),
        }
        for e, stretch in enumerate(by_event(season.runs))
    ]


def runs_of(season: Season, problem: machine.Problem) -> list[dict[str, Any]]:
    """Every run with the gap before it, in order of time."""
    use = [steps_of(row) for row in problem.use]
    clock = [float(hours) for hours in problem.clock]
    return [
        {
            "run": g,
            "event": run.event.event,
            "session": run.session,
            "date": run.event.date.isoformat(),
            "first": run.first,
            "engine": season.carriers[problem.named[g]] if problem.named[g] >= 0 else None,
            "clock_hours": clock[g],
            "gap_hours": clock[g] - clock[g - 1] if g else None,
            "gap_month": season.months[problem.gap_month[g]],
            "result": number(problem.result[g]),
            "lost": bool(problem.lost[g]),
            "swap_fee": int(problem.swap_fee[g]),
            "use": [{"measure": name, "use": use[m][g]} for m, name in enumerate(MEASURES) if use[m][g]],
        }
        for g, run in enumerate(season.runs)
    ]


def flows_of(season: Season, problem: machine.Problem) -> list[dict[str, Any]]:
    """What is paid by use: for each run unrounded, for each event whose runs all run rounded once."""
    return [
        {
            "service": service.service,
            "by_run": [float(cost) for cost in problem.flow[f]],
            "by_event": [int(cost) for cost in problem.event_flow[f]],
        }
        for f, service in enumerate(season.flows)
    ]


def fixed_of(season: Season) -> list[dict[str, Any]]:
    """What costs the same however the season goes."""
    first = {run.event.event: run.event.date for run in season.ahead if run.first}
    names = list(first)
    return [
        {
            "date": row.date.isoformat(),
            "month": f"{row.date:%Y-%m}",
            "event": row.event or next((name for name in names if first[name] >= row.date), None),
            "what": row.slot,
            "cause": row.cause,
            "amount": to_minor(row.amount, season.rates.currency),
            "cash_only": bool(row.engine),
        }
        for row in fixed_rows(season)
    ]
