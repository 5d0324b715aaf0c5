"""What may go wrong in a season, as rows of the machine's arrays: hazards, and the cases of failures."""

from __future__ import annotations

import math
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

import numpy as np

from costplan.money import to_minor
from costplan.season import machine
from costplan.season.calendar import Run, by_event
from costplan.season.machine.draws import named
from costplan.season.names import Damage, Sources, Spot
from costplan.season.records import CAR, Case, Hazard


def cases_of(sources: Sources, spots: Sequence[Spot]) -> tuple[tuple[Damage, ...], ...]:
    """The cases of each position and behind them of each hazard, by name, so that the order of rows decides nothing.

    Alternates of a slot share its cases. Of a slot that is in no position now, nothing is asked.
    """
    lists = []
    for spot in spots:
        rows = _rows_of(spot.base, sources)
        lists.append(tuple(_damage(row, spot.slot, sources, spots, stops=spot.stops) for row in rows))
    for hazard in sources.files.hazards:
        rows = _rows_of(hazard.hazard, sources)
        lists.append(tuple(_damage(row, hazard.hazard, sources, spots, stops=False) for row in rows))
    return tuple(lists)


def _rows_of(name: str, sources: Sources) -> list[Case]:
    """The cases of a slot or a hazard, by their names."""
    return sorted((row for row in sources.files.cases if row.slot == name), key=lambda row: row.case)


def _damage(row: Case, of: str, sources: Sources, spots: Sequence[Spot], *, stops: bool) -> Damage:
    currency = sources.rates.currency
    hits = tuple(dict.fromkeys(spot.base for spot in spots if not spot.on_car)) if row.loses_engine else row.hits
    cost = to_minor(row.cost, currency) + sum(to_minor(price, currency) for price in _prices(row, sources))
    stops = stops if row.stops is None else row.stops
    return Damage(of, row, hits, cost, to_minor(row.paid, currency), stops)


def _prices(row: Case, sources: Sources) -> list[Decimal]:
    """What each operation of a case costs on opening day, done once, in the scenario's currency and tax basis."""
    if sources.catalog is None:
        return []
    catalog, buying, day = sources.catalog, sources.buying, sources.first_day
    operations = [catalog.operations[name] for name in row.operations]
    return [buying.priced(one.price, catalog.currency_of(one), catalog.terms_of(one.place), day) for one in operations]


def case_arrays(lists: Sequence[Sequence[Damage]], spots: Sequence[Spot]) -> dict[str, Any]:
    """The fields of the machine's problem that damage.csv fills; `lists` as `cases_of` gives them."""
    cases = [case for one in lists for case in one]
    shape = (len(cases), len(spots))
    hits = [[_hits(case, spot) for spot in spots] for case in cases]
    sums = [float(total) for one in lists for total in np.cumsum([case.row.chance for case in one])]
    return {
        "case_from": np.cumsum([0, *(len(one) for one in lists)]).astype(np.int64),
        "case_up_to": np.array(sums, dtype=np.float64),
        "case_hits": np.array(hits, dtype=np.bool_).reshape(shape),
        "case_wrecks": np.array([case.row.loses_engine for case in cases], dtype=np.bool_),
        "case_cost": np.array([case.cost for case in cases], dtype=np.int64),
        "case_paid": np.array([case.paid for case in cases], dtype=np.int64),
        "case_hours": np.array([case.row.hours for case in cases], dtype=np.float64),
        "case_stops": np.array([case.stops for case in cases], dtype=np.bool_),
    }


def _hits(case: Damage, spot: Spot) -> bool:
    """Whether a case breaks a position: any of the engine where that is lost, else any alternate of a slot it hits."""
    return not spot.on_car if case.row.loses_engine else spot.base in case.hits


def hazard_arrays(hazards: Sequence[Hazard], runs: Sequence[Run], carriers: Sequence[str]) -> dict[str, Any]:
    """The fields of the machine's problem that hazards.csv fills."""
    keys = [[named(carrier, hazard.hazard) for hazard in hazards] for carrier in carriers]
    return {
        "hazard_use": hazard_use(hazards, runs),
        "hazard_mean": np.array([mean_between(hazard) for hazard in hazards], dtype=np.float64),
        "hazard_on_car": np.array([hazard.carrier == CAR for hazard in hazards], dtype=np.bool_),
        "hazard_key": np.array(keys, dtype=np.int64).reshape(len(carriers), len(hazards), 2),
    }


def mean_between(hazard: Hazard) -> float:
    """Use between two strikes on average, in the unit that its measure is kept in: -1 / ln(1 - chance) units.

    A hazard has no memory: it strikes in a unit of use with the chance 1 - exp(-unit / mean), whenever it struck last.
    One without a chance never does.
    """
    if not hazard.chance:
        return math.inf
    return hazard.per.to_kept(1.0) / -math.log1p(-hazard.chance)


def hazard_use(hazards: Sequence[Hazard], runs: Sequence[Run]) -> machine.Floats:
    """[G, H] the use in which each hazard may strike in each run; none at events of other kinds.

    An event counts in its last run, since what is met once at an event, such as a claim, is met when it is over. As
    use of a part it counts in its first.
    """
    last = {stretch[-1][0] for stretch in by_event(runs)}
    table = np.zeros((len(runs), len(hazards)))
    for h, hazard in enumerate(hazards):
        for g, run in enumerate(runs):
            if not hazard.kinds or run.event.kind in hazard.kinds:
                by_events = hazard.per.name == "events"
                table[g, h] = float(g in last) if by_events else run.use.get(hazard.per.name, 0.0)
    return table
