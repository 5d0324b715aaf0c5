"""Replacement: when to renew a part before it fails, and what each policy costs per unit of use in the long run.

`planned_cost` is the whole bill of a planned renewal, `failure_cost` that of a failure with its renewal (the part, the
work and what the failure takes with it); both in one currency. Rates are in that currency per unit of the life's use.
An age of infinity is running to failure.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy import interpolate, optimize  # type: ignore[import-untyped]

from costplan.formulas.checking import InputError, need_above
from costplan.life.theory.lifetime import Floats, Lifetime, breaks, ends, need_life, survived_to
from costplan.life.theory.renewal import expected_on_grid, renewals

#: A best age that saves less than this share of what running to failure costs is none.
NO_SAVING = 1e-9
#: The same for a best block: a later one than is looked for saves no more.
BLOCK_SAVING = 2e-5
#: Ages looked at between two quantiles of a life.
_STEPS = 10
#: Block intervals looked at: cells of the renewal function's grid and the horizon in mean lives.
_CELLS, _HORIZON = 2048, 5.0
#: With fewer cells than this before the best interval the grid is drawn closer, and so often at most.
_CLOSE, _ZOOMS = 64, 40


@dataclass(frozen=True, slots=True)
class Policy:
    """A way to renew a part at its best: `at` which use (from new, or between renewals; infinite: only when it fails)
    and what that costs per unit of use, also as a `ratio` to running to failure.
    """

    kind: str
    at: float
    rate: float
    ratio: float


def run_to_failure_rate(life: Lifetime, failure_cost: float) -> float:
    """What a part costs per unit of use that is renewed only when it fails: failure_cost / mean.

    0 for a life of infinite mean.
    Source: elementary renewal theorem, Cox, Renewal Theory (1962), from memory.
    Errors: InputError for a cost that is not above 0.

    >>> from scipy import stats
    >>> run_to_failure_rate(stats.expon(scale=40), 500)
    12.5
    """
    need_life(life)
    need_above(0, failure_cost=failure_cost)
    return failure_cost / float(life.mean())


def ratio_to_failure(life: Lifetime, failure_cost: float, rate: float) -> float:
    """A policy's cost per unit of use as a share of what running to failure costs: rate * mean / failure_cost.

    1 for running to failure; 1 less the ratio is the saving.
    Source: definition.
    Errors: InputError for a cost or a rate that is not above 0.

    >>> from scipy import stats
    >>> ratio_to_failure(stats.expon(scale=40), 500, 10.0)
    0.8
    """
    need_above(0, rate=rate)
    return rate / run_to_failure_rate(life, failure_cost)


def age_replacement_rate(life: Lifetime, planned_cost: float, failure_cost: float, at: float) -> float:
    """What a part costs per unit of use that is renewed at an age, or when it fails if that comes first.

    C(T) = (planned_cost * S(T) + failure_cost * F(T)) / integral of S from 0 to T. It is run_to_failure_rate at an age
    of infinity, and grows without bound towards an age of 0.
    Source: Barlow & Hunter, "Optimum preventive maintenance policies", Operations Research 8 (1960), policy I.
    Errors: InputError for a cost or an age that is not above 0.

    >>> from scipy import stats
    >>> [round(age_replacement_rate(stats.norm(5, 1), 5, 10, at), 4) for at in (3, 4, 5)]
    [1.7094, 1.4791, 1.6301]
    """
    need_life(life)
    need_above(0, planned_cost=planned_cost, failure_cost=failure_cost)
    _need_age(at)
    if math.isinf(at):
        return run_to_failure_rate(life, failure_cost)
    return float(_age_rates(life, planned_cost, failure_cost, np.array([at]))[0])


def best_age(life: Lifetime, planned_cost: float, failure_cost: float) -> float:
    """The age at which to renew a part for the least cost per unit of use (age_replacement_rate), to about 1e-7 of it.

    Infinite where no age is better than running to failure: where the hazard does not increase, where a planned renewal
    costs no less than a failure, or where the saving is below 1e-9. With an increasing hazard h it is the age of
    h(T) * integral of S from 0 to T - F(T) = planned_cost / (failure_cost - planned_cost).
    Source: Barlow & Hunter (1960), policy I; Barlow & Proschan, Mathematical Theory of Reliability (1965), from memory.
    Errors: InputError for a cost that is not above 0.

    >>> from scipy import stats
    >>> round(best_age(stats.weibull_min(2.5, scale=1000), planned_cost=1, failure_cost=5), 2)
    493.05
    >>> best_age(stats.expon(scale=1000), planned_cost=1, failure_cost=5)
    inf
    """
    need_life(life)
    need_above(0, planned_cost=planned_cost, failure_cost=failure_cost)
    if failure_cost <= planned_cost:
        return math.inf

    def rates(ages: Floats) -> Floats:
        return _age_rates(life, planned_cost, failure_cost, ages)

    return _least(rates, _ages(life), run_to_failure_rate(life, failure_cost))


def best_age_in_steps(life: Lifetime, planned_cost: float, failure_cost: float, step: float = 1.0) -> float:
    """The best age among multiples of a step, for parts that can only be renewed between nights or at a service.

    Of the multiples about the best age the one of lesser rate, infinite where running to failure costs no more than it.
    Exact where the rate has one valley, which it has with an increasing hazard.
    Source and errors: as `best_age`; the step must be above 0.

    >>> from scipy import stats
    >>> best_age_in_steps(stats.norm(5, 1), planned_cost=5, failure_cost=10)
    4.0
    """
    need_above(0, step=step)
    best = best_age(life, planned_cost, failure_cost)
    if math.isinf(best):
        return best
    below = math.floor(best / step)
    near = np.array([step * multiple for multiple in (below, below + 1) if multiple])
    rates = _age_rates(life, planned_cost, failure_cost, near)
    saves = np.min(rates) < run_to_failure_rate(life, failure_cost) * (1 - NO_SAVING)
    return float(near[np.argmin(rates)]) if saves else math.inf


def block_replacement_rate(life: Lifetime, planned_cost: float, failure_cost: float, at: float) -> float:
    """What a part costs per unit of use that is renewed at fixed intervals whatever its age, and when it fails between.

    B(T) = (planned_cost + failure_cost * M(T)) / T, with M the expected number of failures (`renewals`). It is
    run_to_failure_rate at an interval of infinity, and grows without bound towards 0. Nobody has to keep ages; no
    interval is cheaper than the best age.
    Source: Barlow & Proschan, Mathematical Theory of Reliability (1965), from memory.
    Errors: InputError for a cost or an interval that is not above 0, or an interval beyond 512 median lives.

    >>> from scipy import stats
    >>> round(block_replacement_rate(stats.uniform(0, 1), 1, 5, 0.5), 6)  # 2 * (1 + 5 * (e^0.5 - 1))
    8.487213
    """
    need_life(life)
    need_above(0, planned_cost=planned_cost, failure_cost=failure_cost)
    _need_age(at)
    if math.isinf(at):
        return run_to_failure_rate(life, failure_cost)
    return (planned_cost + failure_cost * renewals(life, (at,)).expected[0]) / at


def best_block(life: Lifetime, planned_cost: float, failure_cost: float) -> float:
    """The interval of block replacement for the least cost per unit of use.

    The least block_replacement_rate, to about 1e-6 of the interval, looked for up to 5 mean lives. Infinite where none
    saves more than 2e-5 of what running to failure costs, as with an exponential life, or a planned renewal that costs
    no less than a failure. Later intervals can be best by as little: those of Weibull and gamma lives tried (shapes
    from 1.05 on) saved less than that.
    Source: Barlow & Proschan, Mathematical Theory of Reliability (1965), from memory.
    Errors: InputError for a cost that is not above 0, or a life of infinite mean.

    >>> from scipy import stats
    >>> round(best_block(stats.weibull_min(2.5, scale=1000), planned_cost=1, failure_cost=5), 1)
    478.4
    """
    need_life(life)
    need_above(0, planned_cost=planned_cost, failure_cost=failure_cost)
    mean = float(life.mean())
    if not math.isfinite(mean):
        raise InputError("life", f"mean {mean}", "give a life of finite mean")
    if failure_cost <= planned_cost:
        return math.inf
    times, expected = _close_grid(life, mean, planned_cost / failure_cost)
    rates = _block_rates(times, expected, planned_cost / failure_cost)
    found = int(np.argmin(rates))
    if found == len(rates) - 1 or rates[found] > (1 - BLOCK_SAVING) / mean:
        return math.inf
    smooth = _between(times, expected, found, planned_cost / failure_cost)
    jumps = [float(end) for end in ends(life) if abs(end - smooth) < times[2]]
    return min((smooth, *jumps), key=lambda at: block_replacement_rate(life, planned_cost, failure_cost, at))


def minimal_repair_rate(life: Lifetime, planned_cost: float, repair_cost: float, at: float) -> float:
    """What a part costs per unit of use that is renewed at an age and until then mended as old as it was.

    R(T) = (planned_cost + repair_cost * H(T)) / T, with H = -ln S the cumulative hazard, which is the expected number
    of failures of such a part.
    Source: Barlow & Hunter (1960), policy II.
    Errors: InputError for a cost that is not above 0, or an age that is not, is infinite, or that no part reaches.

    >>> from scipy import stats
    >>> minimal_repair_rate(stats.weibull_min(2, scale=10), planned_cost=30, repair_cost=10, at=20)
    3.5
    """
    need_life(life)
    need_above(0, planned_cost=planned_cost, repair_cost=repair_cost, at=at)
    hazard = -float(life.logsf(at))
    if not math.isfinite(hazard):
        raise InputError("at", at, "give an age that a part can reach")
    return (planned_cost + repair_cost * hazard) / at


def best_minimal_repair(life: Lifetime, planned_cost: float, repair_cost: float) -> float:
    """The age at which to renew a part that is mended until then, for the least cost per unit of use.

    The least minimal_repair_rate, to about 1e-7 of the age. Infinite where the hazard does not increase, or falls away
    in the end as with a lognormal life: mending for ever is then cheaper than any renewal. For a Weibull life of a
    shape above 1 it is scale * (planned_cost / (repair_cost * (shape - 1)))^(1 / shape). A repair may cost more than a
    renewal.
    Source: Barlow & Hunter (1960), policy II.
    Errors: InputError for a cost that is not above 0.

    >>> from scipy import stats
    >>> round(best_minimal_repair(stats.weibull_min(2.5, scale=1000), planned_cost=1, repair_cost=5), 3)
    446.658
    """
    need_life(life)
    need_above(0, planned_cost=planned_cost, repair_cost=repair_cost)

    def rates(ages: Floats) -> Floats:
        found: Floats = (planned_cost - repair_cost * life.logsf(ages)) / ages
        return found

    ages = _ages(life)
    ages = np.concatenate((ages, ages[-1] * 2.0 ** np.arange(0.1, 40.0, 0.1)))
    with np.errstate(over="ignore", divide="ignore"):
        ages = ages[np.isfinite(life.logsf(ages))]
    return _least(rates, ages, float(rates(ages[-1:])[0]))


def compare_policies(life: Lifetime, planned_cost: float, failure_cost: float) -> tuple[Policy, ...]:
    """Running to failure, renewing by age and by block, each at its best: when, at what cost per unit of use, and as a
    share of the cost of running to failure.

    A policy whose best is infinite is running to failure, with the ratio 1.
    Source: as `best_age` and `best_block`.
    Errors: InputError for a cost that is not above 0, or a life of infinite mean.

    >>> from scipy import stats
    >>> for policy in compare_policies(stats.weibull_min(2.5, scale=1000), planned_cost=1, failure_cost=5):
    ...     f"{policy.kind}: at {policy.at:.0f}, {policy.ratio:.1%}"
    'failure: at inf, 100.0%'
    'age: at 493, 61.4%'
    'block: at 478, 64.7%'
    """
    age, block = best_age(life, planned_cost, failure_cost), best_block(life, planned_cost, failure_cost)
    rates = {
        ("failure", math.inf): run_to_failure_rate(life, failure_cost),
        ("age", age): age_replacement_rate(life, planned_cost, failure_cost, age),
        ("block", block): block_replacement_rate(life, planned_cost, failure_cost, block),
    }
    return tuple(
        Policy(kind, at, rate, ratio_to_failure(life, failure_cost, rate)) for (kind, at), rate in rates.items()
    )


def _age_rates(life: Lifetime, planned_cost: float, failure_cost: float, ages: Floats) -> Floats:
    survived, failed = life.sf(ages), life.cdf(ages)
    rates: Floats = (planned_cost * survived + failure_cost * failed) / survived_to(life, ages)
    return rates


def _need_age(at: float) -> None:
    if not at > 0:
        raise InputError("at", at, "give a number above 0; infinity is running to failure")


def _ages(life: Lifetime) -> Floats:
    """Ages to look for a best one at: some between each two quantiles of the life."""
    inner = breaks(life)
    spans = [np.linspace(early, late, _STEPS, endpoint=False) for early, late in pairwise(inner)]
    return np.concatenate((*spans, inner[-1:]))


def _least(rates: Callable[[Floats], Floats], ages: Floats, otherwise: float) -> float:
    """The age of the least rate: found in a list, made exact between neighbours; infinite where it saves nothing."""
    found = int(np.argmin(rates(ages)))
    early, late = ages[max(found - 1, 0)], ages[min(found + 1, len(ages) - 1)]
    age, rate = _lowest(lambda age: float(rates(np.array([age]))[0]), early, late)
    return age if rate < otherwise * (1 - NO_SAVING) else math.inf


def _block_rates(times: Floats, expected: Floats, cost_ratio: float) -> Floats:
    """Block replacement's cost per unit of use with a failure at 1; infinite at time 0."""
    return np.concatenate(([math.inf], (cost_ratio + expected[1:]) / times[1:]))


def _close_grid(life: Lifetime, mean: float, cost_ratio: float) -> tuple[Floats, Floats]:
    """Times and expected failures on a grid in which the best interval is not among the first."""
    horizon = _HORIZON * mean
    for _ in range(_ZOOMS):
        times, expected = expected_on_grid(life, horizon, _CELLS)
        found = int(np.argmin(_block_rates(times, expected, cost_ratio)))
        if found >= _CLOSE:
            break
        horizon = float(times[4 * found])
    return times, expected


def _between(times: Floats, expected: Floats, found: int, cost_ratio: float) -> float:
    """The best interval near a point of the grid, from a smooth curve through its neighbours."""
    near = slice(max(found - 5, 0), found + 6)
    curve = interpolate.CubicSpline(times[near], expected[near])
    return _lowest(lambda at: (cost_ratio + float(curve(at))) / at, times[found - 1], times[found + 1])[0]


def _lowest(rate: Callable[[float], float], early: float, late: float) -> tuple[float, float]:
    """The age of the lowest rate between two, and that rate."""
    found = optimize.minimize_scalar(rate, bounds=(early, late), method="bounded", options={"xatol": 1e-9 * late})
    return float(found.x), float(found.fun)
