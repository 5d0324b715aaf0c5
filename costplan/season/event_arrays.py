"""Events as rows of the machine's arrays: what hangs on them, the chance of rain, and what they cost in which month."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from typing import Any

import numpy as np

from costplan.money import minor_digits, to_minor
from costplan.season import machine
from costplan.season.bonds import amount_of
from costplan.season.calendar import Run, by_event, flow_cost, gap_before, month_number
from costplan.season.machine.draws import named
from costplan.season.names import Sources
from costplan.season.records import Event, Service


def event_arrays(sources: Sources, runs: Sequence[Run], months: Sequence[str]) -> dict[str, Any]:
    """The fields of the machine's problem that speak of events; `months` as `months_of` gives them."""
    stretches = by_event(runs)
    events = [stretch[0][1].event for stretch in stretches]
    flows = [service for service in sources.files.services if not service.whole]
    return {
        "event": np.repeat(np.arange(len(events)), [len(stretch) for stretch in stretches]).astype(np.int64),
        "result": np.array([share for stretch in stretches for share in _results(stretch)], dtype=np.float64),
        "weight": np.array([event.counts for event in events], dtype=np.float64),
        "rain": np.array([event.rain for event in events], dtype=np.float64),
        "rain_from": np.array([_rain_from(stretch) for stretch in stretches], dtype=np.int64),
        "rain_key": np.array([named(event.event) for event in events], dtype=np.int64),
        "event_month": np.array([months.index(f"{event.date:%Y-%m}") for event in events], dtype=np.int64),
        "gap_month": np.array([months.index(f"{day:%Y-%m}") for day in _gap_days(runs)], dtype=np.int64),
        **_flows(flows, runs, sources.rates.currency),
        **_money(sources, runs, events),
    }


def _results(stretch: Sequence[tuple[int, Run]]) -> list[float]:
    """The share of an event's result that hangs on each of its runs: even ones where nobody gives any."""
    given = [run.result for _, run in stretch]
    return [share / sum(given) for share in given] if sum(given) > 0 else [1 / len(given)] * len(given)


def _rain_from(stretch: Sequence[tuple[int, Run]]) -> int:
    """The first run of an event that rain stops."""
    wanted = stretch[0][1].event.rain_from
    return next(g for g, run in stretch if not wanted or run.session == wanted)


def _gap_days(runs: Sequence[Run]) -> list[date]:
    """The day of the gap before each run, and of the time after the last."""
    return [gap_before(runs, g)[0] for g in range(len(runs) + 1)]


def months_of(sources: Sources, runs: Sequence[Run], opening: date) -> tuple[str, ...]:
    """Every calendar month in which money may flow, in order without a gap: 2027-03, 2027-04.

    From the opening, or the first gap or cost before it, to the last run or the last cost behind it.
    """
    costs = [cost.date for cost in sources.files.costs if cost.per == "season" and cost.date is not None]
    days = [opening, *costs, *_gap_days(runs), *(run.event.date for run in runs)]
    numbers = range(month_number(min(days)), month_number(max(days)) + 1)
    return tuple(f"{number // 12:04d}-{number % 12 + 1:02d}" for number in numbers)


def _flows(flows: Sequence[Service], runs: Sequence[Run], currency: str) -> dict[str, Any]:
    """[F, G] what flows with use in each run, in minor units unrounded; [F, E] over each event, rounded once."""
    unit = 10 ** minor_digits(currency)
    by_run = [
        [
            float(row.price) * unit * row.measure.from_kept(run.use.get(row.measure.name, 0.0)) / row.every
            for run in runs
        ]
        for row in flows
    ]
    stretches = by_event(runs)
    whole = [
        [to_minor(flow_cost(row, [run for _, run in stretch], currency), currency) for stretch in stretches]
        for row in flows
    ]
    return {
        "flow": np.array(by_run, dtype=np.float64).reshape(len(flows), len(runs)),
        "event_flow": np.array(whole, dtype=np.int64).reshape(len(flows), len(stretches)),
    }


def _money(sources: Sources, runs: Sequence[Run], events: Sequence[Event]) -> dict[str, machine.Ints]:
    """What events cost and bring, and what the book charges for them and for another engine going on in a run."""
    currency = sources.rates.currency

    def minor(amount: Decimal) -> int:
        return to_minor(amount, currency)

    fees = [_charged(sources, event, ("event", "race") if event.kind == "race" else ("event",)) for event in events]
    return {
        "event_cost": np.array([minor(event.entry) + minor(event.travel) for event in events], dtype=np.int64),
        "purse": np.array([minor(event.purse) for event in events], dtype=np.int64),
        "event_fee": np.array(fees, dtype=np.int64),
        "swap_fee": np.array([_charged(sources, run.event, ("swap",)) for run in runs], dtype=np.int64),
    }


def _charged(sources: Sources, event: Event, occasions: tuple[str, ...]) -> int:
    """What the clauses in force on an event's day charge for one of some occasions."""
    charges = [charge for charge in sources.book.charges if charge.per in occasions]
    due = [charge for charge in charges if charge.clause.holds_on(event.date)]
    return sum(amount_of(charge, sources.rates, event.date) for charge in due)
