"""The age at which theory would renew a part by itself: what explains a renewal use that was found by playing.

Theory knows one part in one place for ever, and no calendar: no other part that the engine is opened for, no big event.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from costplan.life import Weibull
from costplan.money import from_minor
from costplan.season.bills import expected_bill
from costplan.season.deciding.timing_policy import ENGINE, Choice, Scope, in_events
from costplan.season.names import Season, Spot, value_of

#: Barlow & Hunter (1960): I, renewed whole whenever it fails; II, mended until then, as old as it was.
Kind = Literal["I", "II"]


@dataclass(frozen=True, slots=True)
class RenewalUse:
    """The renewal use of a position in `measure`: that of the files, that found, that of theory; infinite for running
    to failure. `events`: what `now` comes to in events of the calendar.

    `planned_cost`: a planned renewal, `failure_cost`: a failure or, under policy II, mending a piece, on average, with
    what its lost result is worth. `ratio`: theory's cost by use as a share of that of running to failure or, under
    policy II, of renewing where the files do; 1 where there is no such age. `stretch`: whether it may be made longer.
    """

    slot: str
    measure: str
    now: float
    found: float
    theory: float
    events: float
    policy: Kind
    planned_cost: Decimal
    failure_cost: Decimal
    ratio: float
    stretch: bool


def renewal_uses(scope: Scope, now: Choice, found: Choice, positions: Sequence[int]) -> tuple[RenewalUse, ...]:
    """The renewal uses of positions that can fail, with what theory says."""
    return tuple(_renewal_use(scope, p, now.uses[p], found.uses[p]) for p in positions)


def _renewal_use(scope: Scope, p: int, now: float, found: float) -> RenewalUse:
    season, j = scope.season, scope.leading[p]
    spot, row = season.spots[p], season.spots[p].lives[j - season.lives(p).start]
    planned, failure = planned_cost(scope, p), failure_cost(scope, p)
    theory, ratio = best_use(season, p, j, planned, failure)
    in_unit = row.measure.from_kept
    return RenewalUse(
        spot.slot,
        str(row.measure),
        in_unit(row.replace_at) * now,
        in_unit(row.replace_at) * found,
        in_unit(theory) if math.isfinite(theory) else math.inf,
        in_events(season, j, row.replace_at * now),
        "II" if mended(spot) else "I",
        from_minor(planned, season.rates.currency),
        from_minor(failure, season.rates.currency),
        ratio,
        p not in scope.kept,
    )


def mended(spot: Spot) -> bool:
    """Whether a failure is mended by one piece of the set, which stays as old as it was."""
    return spot.as_piece and spot.pieces > 1


def theory_factor(scope: Scope, p: int) -> float:
    """Theory's renewal use as a multiple of replace_at."""
    season, j = scope.season, scope.leading[p]
    use, _ = best_use(season, p, j, planned_cost(scope, p), failure_cost(scope, p))
    return use / season.spots[p].lives[j - season.lives(p).start].replace_at


def planned_cost(scope: Scope, p: int) -> int:
    """A planned renewal, in minor units: a set less its resale, or the next service step.

    The work of a level is counted for the part that it is opened for most, the one renewed soonest; others go along.
    """
    season = scope.season
    spot, item, step = season.spots[p], season.items[season.spots[p].item], int(season.start.step[0, p])
    parts = value_of(item, spot.pieces) - spot.pieces * item.resale
    if step < len(spot.path) and spot.ladder == ENGINE:
        parts = spot.path[step].cost
    return max(1, parts + (_work(season, p) if p == _opener(scope, spot) else 0))


def _opener(scope: Scope, spot: Spot) -> int:
    """The position at a level that is renewed soonest."""
    season = scope.season
    alike = [
        p
        for p, other in enumerate(season.spots)
        if (other.ladder, other.level) == (spot.ladder, spot.level) and other.lives and scope.leading[p] >= 0
    ]

    def events(p: int) -> float:
        row = season.spots[p].lives[scope.leading[p] - season.lives(p).start]
        return in_events(season, scope.leading[p], row.replace_at)

    return min(alike, key=events, default=-1)


def _work(season: Season, p: int) -> int:
    problem, t, k = season.problem, int(season.problem.ladder[p]), int(season.problem.level[p])
    return int(problem.cost[t, k] + problem.fee[t, k, len(season.runs)])


def failure_cost(scope: Scope, p: int) -> int:
    """A failure on average over its cases, in minor units, and what the result that it takes is worth, if it stops."""
    season, problem = scope.season, scope.season.problem
    lost = 0.0
    if season.spots[p].stops:
        weights = problem.weight[problem.event] * problem.result
        duty = problem.duty[1:, scope.leading[p]] - problem.duty[:-1, scope.leading[p]]
        purses = problem.purse[problem.event] * problem.result
        lost = float(((weights * season.result_worth + purses) * duty).sum() / duty.sum())
    return max(1, expected_bill(season, p) + round(lost))


def best_use(season: Season, p: int, leading: int, planned: int, failure: int) -> tuple[float, float]:
    """Theory's renewal use in the kept unit of the leading life, and its cost as a share as `RenewalUse` has it.

    Several lives end it as soon as one does, each counted in the leading one's use as the season wears them.
    """
    from costplan.life import theory

    problem, modes = season.problem, []
    for j in season.lives(p):
        if math.isfinite(problem.scale[j]) and problem.duty[-1, j] > 0:
            pace = float(problem.duty[-1, leading] / problem.duty[-1, j])
            modes.append(theory.distribution_of(Weibull(float(problem.scale[j]) * pace, float(problem.shape[j]))))
    life = theory.first_of(*modes)
    if not mended(season.spots[p]):
        use = theory.best_age(life, planned, failure)
        rate = theory.age_replacement_rate(life, planned, failure, use)
        return use, theory.ratio_to_failure(life, failure, rate)
    use = theory.best_minimal_repair(life, planned, failure)
    now = season.spots[p].lives[leading - season.lives(p).start].replace_at * season.spots[p].factor
    if not (math.isfinite(use) and math.isfinite(now)):
        return use, 1.0
    rates = [theory.minimal_repair_rate(life, planned, failure, at) for at in (use, now)]
    return use, rates[0] / rates[1]
