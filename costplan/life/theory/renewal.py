"""Renewal: how many parts one place uses up when each failed one is replaced at once by a new one."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import signal  # type: ignore[import-untyped]

from costplan.formulas.checking import InputError, listed, need_above, need_at_least, need_numbers
from costplan.life.theory.lifetime import Floats, Lifetime, need_life

#: Cells of the grid on [0, last time]: it starts with the first number and is halved up to the second.
FEWEST_CELLS, MOST_CELLS = 2**8, 2**14
#: The least number of cells in a median life.
CELLS_A_LIFE = 8


@dataclass(frozen=True, slots=True)
class Renewals:
    """The number of failures N(t) in one place up to each time: its mean M(t), its variance, and how exact both are.

    `error` is the estimated error of the worst of these figures, in failures (in failures squared for a variance).
    """

    times: tuple[float, ...]
    expected: tuple[float, ...]
    variance: tuple[float, ...]
    error: float


def renewals(life: Lifetime, times: Sequence[float], tolerance: float = 1e-8) -> Renewals:
    """The mean and variance of the number of failures up to each time, each failed part replaced at once by a new one.

    The mean M solves the renewal equation M(t) = F(t) + integral of M(t - x) dF(x), here put as integral of S(t - x)
    dM(x) = F(t). With P(t) = sum of n * F_n(t), F_n being the distribution of the n-th failure, which solves integral
    of S(t - x) dP(x) = M(t), the variance is 2 P - M - M^2. Times are in the unit of the life, in any order. For an
    exponential life M(t) = variance = t / mean; for small t both are about F(t); for large t see `renewal_asymptote`.

    The grid is halved until the extrapolated figures of two grids differ by no more than `tolerance`, or it has 16384
    cells; `error` is that last difference, and the figures of gamma lives, known otherwise, are closer than it says.
    With the tolerance given it was, up to ten mean lives, about 1e-8 for Weibull shapes of 1.5 to 20, 1e-7 for steeper
    ones and those close to 1, 1e-6 where a density jumps (a uniform life), 3e-5 for a shape of 0.5; its worst was 2e-3,
    for a lognormal life whose mean is ninety medians.
    Source: Cox, Renewal Theory (1962), for the equations (from memory); Xie, "On the solution of renewal-type integral
    equations", Communications in Statistics - Simulation and Computation 18 (1989), for the sums of midpoints (from
    memory); Richardson's extrapolation for errors of second order.
    Errors: InputError for a time below 0, or beyond 512 median lives, where the asymptote serves.

    >>> from scipy import stats
    >>> found = renewals(stats.uniform(0, 1), [0.5, 1])
    >>> [round(mean, 6) for mean in found.expected]  # e^t - 1
    [0.648721, 1.718282]
    >>> [round(variance, 6) for variance in found.variance]
    [0.579161, 0.765789]
    """
    need_life(life)
    need_above(0, tolerance=tolerance)
    need_numbers(times=times)
    for time in times:
        need_at_least(0, times=time)
    asked = np.array(times, dtype=np.float64)
    if not np.max(asked):
        zeros = (0.0,) * len(times)
        return Renewals(zeros, zeros, zeros, 0.0)
    (expected, pairs), error = _extrapolated(life, asked, _least_cells(life, times), tolerance)
    variance = np.maximum(_variance(expected, pairs), 0.0)
    return Renewals(tuple(asked.tolist()), tuple(expected.tolist()), tuple(variance.tolist()), error)


def renewal_asymptote(life: Lifetime, time: float) -> float:
    """What the expected number of failures tends to after a long time: t / mean + (cv^2 - 1) / 2.

    cv is the standard deviation / mean of a life. Exact at any time for an exponential life; the steeper a life, the
    longer it takes.
    Source: Smith, "Asymptotic renewal theorems" (1954); Cox, Renewal Theory (1962), from memory.
    Errors: InputError for a life of infinite deviation, or a time below 0.

    >>> from scipy import stats
    >>> round(renewal_asymptote(stats.weibull_min(2.5), 5), 6)
    5.226855
    """
    need_life(life)
    need_at_least(0, time=time)
    mean, deviation = float(life.mean()), float(life.std())
    if not math.isfinite(deviation):
        raise InputError("life", f"deviation {deviation}", "give a life of finite deviation")
    return time / mean + ((deviation / mean) ** 2 - 1) / 2


def expected_on_grid(life: Lifetime, horizon: float, cells: int) -> tuple[Floats, Floats]:
    """Even times from 0 to a horizon and the expected failures up to each, to second order of a cell's width."""
    times = np.linspace(0.0, horizon, cells + 1)
    growth = _growth(life.sf(times[1:] - horizon / cells / 2), life.cdf(times[1:]))
    return times, np.concatenate(([0.0], np.cumsum(growth)))


def _least_cells(life: Lifetime, times: Sequence[float]) -> int:
    """A power of two that gives a median life as many cells as it takes to see it, and can be doubled twice."""
    medians = max(times) / float(life.ppf(0.5))
    if not medians * CELLS_A_LIFE <= MOST_CELLS / 4:
        most = MOST_CELLS // 4 // CELLS_A_LIFE
        raise InputError("times", listed(times), f"give times within {most} median lives of {life.ppf(0.5):.6g}")
    return max(FEWEST_CELLS, 1 << math.ceil(math.log2(max(medians * CELLS_A_LIFE, 1))))


def _extrapolated(life: Lifetime, times: Floats, cells: int, tolerance: float) -> tuple[Floats, float]:
    """M and P at each time, and their estimated error: from finer and finer grids until two agree."""
    sums, last, error = _sums(life, times, cells), None, math.inf
    while cells < MOST_CELLS and error > tolerance:
        cells *= 2
        finer = _sums(life, times, cells)
        extrapolated = finer + (finer - sums) / 3
        error = math.inf if last is None else _difference(extrapolated, last)
        sums, last = finer, extrapolated
    return (sums if last is None else last), error


def _difference(found: Floats, before: Floats) -> float:
    pairs = [(found[0], before[0]), (_variance(*found), _variance(*before))]
    return max(float(np.max(np.abs(new - old))) for new, old in pairs)


def _variance(expected: Floats, pairs: Floats) -> Floats:
    return 2 * pairs - expected - expected**2


def _sums(life: Lifetime, times: Floats, cells: int) -> Floats:
    """M and P at each time from their increments on one grid; the last cell ends at the time itself."""
    horizon = float(np.max(times))
    increments = _increments(life, horizon, cells)
    return np.array([_sums_at(life, time, increments, horizon / cells) for time in times.tolist()]).T


def _sums_at(life: Lifetime, time: float, increments: Floats, step: float) -> tuple[float, float]:
    whole = min(int(time / step + 1e-9), increments.shape[1])
    survived = life.sf(time - step * (np.arange(whole) + 0.5))
    survived_last = float(life.sf(max(time - whole * step, 0.0) / 2))
    sums, right = [], float(life.cdf(time))
    for counted in increments[:, :whole]:
        right = float(np.sum(counted)) + (right - float(survived @ counted)) / survived_last
        sums.append(right)
    return sums[0], sums[1]


def _increments(life: Lifetime, horizon: float, cells: int) -> Floats:
    """The growth of M and of P in each cell of a grid."""
    ends = horizon / cells * np.arange(1, cells + 1)
    survived = life.sf(ends - horizon / cells / 2)
    counted = _growth(survived, life.cdf(ends))
    return np.array([counted, _growth(survived, np.cumsum(counted))])


def _growth(survived: Floats, right: Floats) -> Floats:
    """What grows so that the sum over cells j up to i of S(t_i - middle of cell j) * growth_j is the right side at t_i.

    It is what went into a filter of which the output is known; `survived` is S at the middles of the cells.
    """
    growth: Floats = signal.lfilter([1.0], survived, right)
    return growth
