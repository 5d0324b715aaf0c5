"""What a failure costs to put right, by its case: parts, work and what it takes along.

All is bought new at the season's last prices: a spare on the shelf has been paid for too.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from costplan.money import from_minor
from costplan.problems import Place
from costplan.season import machine
from costplan.season.machine.play import put_right
from costplan.season.names import Damage, Season


@dataclass(frozen=True, slots=True)
class CaseBill:
    """A case of a failure of a position or hazard: its share of those failures and what putting it right costs.

    `case` is '' for the failures that take nothing along. `breaks` names the slots broken, what fails among them;
    `level` the dearest level needed. Paid for the parts, for the level's labour and supplies, for the case's own
    operations and costs; `paid` is what an engine that is gone brings.
    """

    of: str
    case: str
    share: float
    breaks: tuple[str, ...]
    level: str
    parts: Decimal
    work: Decimal
    other: Decimal
    paid: Decimal
    stops: bool
    place: Place

    @property
    def total(self) -> Decimal:
        return self.parts + self.work + self.other - self.paid


def case_bills(season: Season) -> tuple[CaseBill, ...]:
    """The bill of every case, and of the failures without one, of every position and hazard that has a case."""
    bounds, found = season.problem.case_from, []
    names = [*((spot.slot, spot.place) for spot in season.spots), *((row.hazard, row.place) for row in season.hazards)]
    for failed, (name, place) in enumerate(names):
        numbers = range(int(bounds[failed]), int(bounds[failed + 1]))
        if not numbers:
            continue
        cases = [season.cases[n] for n in numbers]
        found += [_bill(season, failed, name, case, case.row.chance, case.place) for case in cases]
        rest = 1.0 - sum(case.row.chance for case in cases)
        if rest > 1e-9 and failed < len(season.spots):
            found.append(_bill(season, failed, name, None, rest, place))
    return tuple(found)


def expected_bill(season: Season, failed: int) -> int:
    """What a failure of a position costs on average over its cases, in minor units."""
    bounds = season.problem.case_from
    cases = [season.cases[n] for n in range(int(bounds[failed]), int(bounds[failed + 1]))]
    rest = 1.0 - sum(case.row.chance for case in cases)
    pairs = [(rest, None), *((case.row.chance, case) for case in cases)]
    return round(sum(chance * sum(_amounts(season, failed, case)[1]) for chance, case in pairs if chance > 1e-9))


def _bill(season: Season, failed: int, name: str, case: Damage | None, share: float, place: Place) -> CaseBill:
    broken, amounts, level = _amounts(season, failed, case)
    currency = season.rates.currency
    parts, work, other, paid = (from_minor(amount, currency) for amount in amounts)
    stops = case.stops if case else failed < len(season.spots) and season.spots[failed].stops
    breaks = tuple(season.spots[p].slot for p in broken)
    return CaseBill(name, case.case if case else "", share, breaks, level, parts, work, other, -paid, stops, place)


def _amounts(season: Season, failed: int, case: Damage | None) -> tuple[list[int], tuple[int, int, int, int], str]:
    """What breaks; parts, work, other costs and what is paid (negative), in minor units; the dearest level needed."""
    problem, state = season.problem, machine.untraced(season.start)
    state.stock[:] = state.stock_value[:] = state.used_left[:] = 0
    broken = _broken(season, failed, case)
    for p in broken:
        state.broken[_carrier(season, p), p] = True
        state.n_broken[_carrier(season, p)] += 1
        state.wrecked[_carrier(season, p), p] = case is not None and case.row.loses_engine
    before = int(state.tally_line.sum())
    for carrier in range(len(season.carriers)):
        put_right(problem, state, carrier, len(season.runs))
    openings = state.openings[: state.n_openings[0]].tolist()
    work = sum(int(problem.cost[t, k] + problem.fee[t, k, len(season.runs)]) for _, _, t, k in openings)
    parts = int(state.tally_line.sum()) - before - work
    dearest = max(openings, key=lambda row: int(problem.cost[row[2], row[3]]), default=None)
    level = season.ladders[dearest[2]][dearest[3]].level if dearest else ""
    return broken, (parts, work, case.cost if case else 0, -case.paid if case else 0), level


def _broken(season: Season, failed: int, case: Damage | None) -> list[int]:
    """The positions that a failure breaks, itself first; of alternates the one that always runs."""
    own = [failed] if failed < len(season.spots) else []
    hit: Sequence[int] = []
    if case is not None:
        hits = season.problem.case_hits[season.cases.index(case)]
        lost = case.row.loses_engine
        hit = [int(p) for p in np.flatnonzero(hits) if (lost or not season.spots[p].only) and p not in own]
    return [*own, *hit]


def _carrier(season: Season, p: int) -> int:
    """The carrier that a position is looked at on: the first engine, or the car."""
    return len(season.carriers) - 1 if season.spots[p].on_car else 0
