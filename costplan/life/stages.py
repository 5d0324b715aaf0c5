"""What a set costs over its stages: renewed by plan at an age, or when one of its modes of failure comes before.

A single stage renewed at T costs (Cp R(T) + Cf F(T)) / (integral of R from 0 to T) for each unit of time (Barlow &
Hunter, Operations Research 8 (1960), policy I). Times are of any one unit, money a float. It loads no scipy, which
`life/theory` has for lives of any form.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from costplan.life.weibull import Weibull

Floats = NDArray[np.floating[Any]]

#: Beyond this cumulative hazard nothing is left: e^-45 is below the rounding of floats.
_GONE = 45.0
#: Logarithms by which the integral begins before the first life, where nothing has failed yet to speak of.
_BEFORE = 21.0
#: About a life's scale its hazard goes from none to all within these logarithms times 1 / shape.
_STEEP = np.arange(-20.0, 5.0)
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(10)


class Renewal(NamedTuple):
    """One stage of a set: time until it is renewed by plan, what may fail in it, and what getting to it costs.

    `mends`: the share of the failures of the stage before that lead here too. Infinite `until`: run to failure.
    """

    until: float
    modes: tuple[Weibull, ...]
    cost: float
    mends: float = 0.0


class Rate(NamedTuple):
    """What a set costs in a unit of time, with its renewals and failures expected in one."""

    cost: float
    renewals: float
    failures: float


def rate_of(stages: Sequence[Renewal], beyond: float = 0.0) -> Rate:
    """What a set costs by time that goes through some stages, a new one after them, and a new one where it fails.

    The first stage's cost is that of a new set; each failure costs `beyond` on top. It is cost over time of one way
    through, both expected (renewal reward theorem, Cox, Renewal Theory (1962), from memory): of a single stage
    (Cp R(T) + Cf F(T)) / integral of R. Nothing where nothing ends it.

    >>> bearing = Renewal(until=2.0, modes=(Weibull(scale=4.0, shape=1.0),), cost=100.0)
    >>> round(rate_of((bearing,), beyond=50.0).cost, 4)  # (100 + 50 * 0.3935) / (4 * 0.3935)
    76.0374
    """
    there, time, cost, planned, failed = 1.0, 0.0, stages[0].cost, 0.0, 0.0
    for n, stage in enumerate(stages):
        kept = survival(stage.modes, stage.until)
        broke = 1.0 - kept
        time += there * mean_use(stage.modes, stage.until)
        cost += there * broke * beyond
        planned, failed = planned + there * kept, failed + there * broke
        if n + 1 < len(stages):
            there *= kept + broke * stages[n + 1].mends
            cost += there * stages[n + 1].cost
    return _by_time(cost, planned, failed, time)


def rate_mended(stages: Sequence[Renewal], pieces: int, piece: float, beyond: float = 0.0) -> Rate:
    """What a set costs by time of which one piece is put in for one that broke, the set staying as old as it is.

    Until it is renewed it fails as often as its cumulative hazard H says: (Cp + (piece + beyond) H(T)) / T (Barlow &
    Hunter (1960), policy II). A set that is never renewed is so many pieces by themselves, each new when it broke.
    """
    if math.isinf(stages[0].until):
        alone = tuple(Weibull(mode.scale * pieces ** (1 / mode.shape), mode.shape) for mode in stages[0].modes)
        failures = pieces / mean_use(alone, math.inf)
        return Rate((piece + beyond) * failures, 0.0, failures)
    failed = sum(hazard(stage.modes, stage.until) for stage in stages)
    cost = sum(stage.cost for stage in stages) + failed * (piece + beyond)
    return _by_time(cost, float(len(stages)), failed, sum(stage.until for stage in stages))


def _by_time(cost: float, planned: float, failed: float, time: float) -> Rate:
    return Rate(cost / time, planned / time, failed / time)


def hazard(modes: Sequence[Weibull], use: float) -> float:
    """The cumulative hazard of independent modes: their sum; infinite after infinite use of what fails at all."""
    return sum((mode.cumulative_hazard(use) for mode in modes), 0.0)


def survival(modes: Sequence[Weibull], use: float) -> float:
    """Share that no mode has failed of: R(t), the product over the modes."""
    return math.exp(-hazard(modes, use))


def mean_use(modes: Sequence[Weibull], until: float) -> float:
    """The use that a part gets on average when it is renewed at `until`: the integral of survival from 0 to it.

    To about 1e-9 of itself: Gauss-Legendre over the logarithm of use, in which every Weibull life is smooth, in spans
    that are narrow where one of them goes.

    >>> round(mean_use((Weibull(2.0, 1.0),), 3.0), 9), round(2 * (1 - math.exp(-1.5)), 9)
    (1.55373968, 1.55373968)
    """
    if not modes or (math.isinf(until) and len(modes) == 1):
        return modes[0].mean if modes else until
    first = min(until, *(mode.scale for mode in modes)) * math.exp(-_BEFORE)
    last = min(until, *(mode.scale * _GONE ** (1 / mode.shape) for mode in modes))
    edges = _edges(modes, math.log(first), math.log(last))
    middle, half = (edges[1:] + edges[:-1]) / 2, np.diff(edges) / 2
    logs = middle[:, np.newaxis] + half[:, np.newaxis] * _NODES
    hazards = sum(np.exp(mode.shape * (logs - math.log(mode.scale))) for mode in modes)
    return first * survival(modes, first) + float(half @ (np.exp(logs - hazards) @ _WEIGHTS))


def _edges(modes: Sequence[Weibull], low: float, high: float) -> Floats:
    """Spans of logarithms from low to high: of 1 at the most, and narrower where a mode of a high shape goes."""
    steep = [math.log(mode.scale) + _STEEP / mode.shape for mode in modes if mode.shape > 1]
    inner = np.concatenate((np.arange(low, high), *steep))
    return np.unique(np.concatenate(([low], inner[(inner > low) & (inner < high)], [high])))
