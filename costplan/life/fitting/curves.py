"""What was seen without any distribution: the share that survives a use, and how often what is mended fails."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from costplan.formulas.checking import InputError, need_share
from costplan.life.fitting.maximum import normal_spread
from costplan.life.fitting.observations import Observation


@dataclass(frozen=True, slots=True)
class Step:
    """A use at which something failed: how much was at risk there and failed, and what is true from it on, with the
    bounds of that. `survival` is the share not failed; `error` its standard error."""

    use: float
    at_risk: float
    failed: float
    survival: float
    error: float
    low: float
    high: float


def kaplan_meier(observations: Iterable[Observation], confidence: float = 0.9) -> tuple[Step, ...]:
    """The share that survives each use at which something failed: the product of 1 - failed / at risk.

    At risk at a use is what came to it and was being watched: start < use <= end, so that what was first seen with use
    on it counts from there on, and what is censored at a use still counts at it. Standard error after Greenwood,
    S * sqrt(sum of d / (n (n - d))), bounds by the normal distribution of ln(-ln S), which keeps them between 0 and 1.
    Where all at risk fail nothing survives and there are no bounds: 0 to 0. With late starts the first risk sets
    may be small; one that dies out early takes all that follows with it.
    Source: Kaplan & Meier, J. Am. Stat. Assoc. 53 (1958); bounds, Kalbfleisch & Prentice, The Statistical Analysis of
    Failure Time Data (2nd ed. 2002), 1.4; from memory.

    >>> from costplan.life.fitting import lives_seen
    >>> [(step.use, step.at_risk, round(step.survival, 3)) for step in kaplan_meier(lives_seen([1, 3], [2]))]
    [(1, 3.0, 0.667), (3, 1.0, 0.0)]
    """
    need_share(confidence=confidence)
    seen = tuple(observations)
    spread = normal_spread(confidence)
    steps, survival, variance = [], 1.0, 0.0
    for use in sorted({life.end for life in seen if life.failed}):
        at_risk = math.fsum(life.weight for life in seen if life.start < use <= life.end)
        failed = math.fsum(life.weight for life in seen if life.failed and life.end == use)
        survival *= max(1 - failed / at_risk, 0.0)
        variance += failed / (at_risk * (at_risk - failed)) if at_risk > failed else math.inf
        steps.append(Step(use, at_risk, failed, survival, *_band(survival, variance, spread)))
    return tuple(steps)


def _band(survival: float, variance: float, spread: float) -> tuple[float, float, float]:
    """Standard error and bounds of a share that survives; `variance` is that of its logarithm."""
    if survival <= 0 or not math.isfinite(variance):
        return 0.0, 0.0, 0.0
    hazard = -math.log(survival)
    factor = math.exp(spread * math.sqrt(variance) / hazard)
    return survival * math.sqrt(variance), survival**factor, survival ** (1 / factor)


@dataclass(frozen=True, slots=True)
class Recurring:
    """What is mended and goes on: watched from the use `start` to the use `end`, mended at these uses between."""

    start: float
    end: float
    at: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Mean:
    """A use at which something was mended: how many were watched there, how often each was mended on average by then,
    the variance of that, and its bounds."""

    use: float
    at_risk: int
    times: int
    mean: float
    variance: float
    low: float
    high: float


def mean_cumulative(systems: Sequence[Recurring], confidence: float = 0.9) -> tuple[Mean, ...]:
    """How often one of them was mended by each use, on average: the sum of 1 / at risk over all mendings.

    At risk is what was watched there, start <= use <= end. The variance adds (r - 1) / r^3 for each mending with r at
    risk, those of one use one by one; bounds by the normal distribution of the logarithm. No distribution is assumed,
    and no renewal: it is the average history of one system by its age.
    Source: Nelson, Recurrent Events Data Analysis (2003), from memory, in the form that the published example has.
    Errors: InputError for a mending outside of the time that its system was watched.

    >>> systems = [Recurring(0, 9, (4.0,)), Recurring(0, 5, (2.0,))]
    >>> [(step.use, round(step.mean, 2)) for step in mean_cumulative(systems)]
    [(2.0, 0.5), (4.0, 1.0)]
    >>> [(step.use, step.mean) for step in mean_cumulative([Recurring(0, 9, (0.0,)), Recurring(0, 9)])]
    [(0.0, 0.5)]
    """
    need_share(confidence=confidence)
    for system in systems:
        if not all(system.start <= use <= system.end for use in system.at):
            raise InputError("systems", f"{system.at}", "give mendings within the time that it was watched")
    spread = normal_spread(confidence)
    found, mean, variance = [], 0.0, 0.0
    for use in sorted({use for system in systems for use in system.at}):
        times = sum(system.at.count(use) for system in systems)
        at_risk = sum(system.start <= use <= system.end for system in systems)
        mean += times / at_risk
        variance += times * (at_risk - 1) / at_risk**3
        factor = float(np.exp(spread * math.sqrt(variance) / mean))
        found.append(Mean(use, at_risk, times, mean, variance, mean / factor, mean * factor))
    return tuple(found)
