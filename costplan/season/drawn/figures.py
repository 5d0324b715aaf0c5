"""Figures over drawn seasons: means and percentiles with their standard errors, chances, paired differences."""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

import numpy as np
from numpy.typing import NDArray

from costplan.money import from_minor

#: A normal deviate this large bounds the middle 95 % (NIST/SEMATECH e-Handbook 1.3.6.7.1, table of the normal).
Z95 = 1.959964

Values = NDArray[Any]


def beyond_error(mean: float, error: float) -> bool:
    """Whether zero lies outside the interval that holds the true mean with 95 %: whether a difference is shown."""
    return abs(mean) > Z95 * error


@dataclass(frozen=True, slots=True)
class Spread:
    """An amount over the seasons: its mean, what 10, 50 and 90 % of seasons cost at most, standard errors."""

    mean: Decimal
    error: Decimal
    p10: Decimal
    p10_error: Decimal
    p50: Decimal
    p50_error: Decimal
    p90: Decimal
    p90_error: Decimal


@dataclass(frozen=True, slots=True)
class Count:
    """A number a season: its mean with its standard error, and what 10, 50 and 90 % of seasons stay within."""

    mean: float
    error: float
    p10: float
    p50: float
    p90: float


@dataclass(frozen=True, slots=True)
class Chance:
    """A share of seasons, or of starts, with its standard error."""

    share: float
    error: float


@dataclass(frozen=True, slots=True)
class Mean:
    """An amount on average over the seasons drawn, with its standard error."""

    mean: Decimal
    error: Decimal

    @property
    def shown(self) -> bool:
        """Whether zero lies outside the interval that holds the true mean with 95 %."""
        return beyond_error(float(self.mean), float(self.error))


@dataclass(frozen=True, slots=True)
class Paired:
    """A difference between the same seasons under two sets of inputs.

    `mean` with its standard error and the interval that holds the true mean with 95 %; what the difference is at most
    in 10, 50 and 90 % of seasons; `cheaper`: the share of seasons in which it is below zero, `alike` in which it is 0.
    """

    mean: Decimal
    error: Decimal
    low: Decimal
    high: Decimal
    p10: Decimal
    p50: Decimal
    p90: Decimal
    cheaper: Chance
    alike: Chance

    @property
    def shown(self) -> bool:
        """Whether zero lies outside the interval that holds the true mean with 95 %."""
        return not self.low <= 0 <= self.high


@dataclass(frozen=True, slots=True)
class CountDifference:
    """How much more of a number a season there is, with its standard error.

    `shown`: whether zero lies outside the interval that holds the true mean with 95 %.
    """

    mean: float
    error: float

    @property
    def shown(self) -> bool:
        return beyond_error(self.mean, self.error)


def difference_of(values: Values) -> CountDifference:
    """The mean of differences of a number, season by season."""
    return CountDifference(float(np.mean(values)), error_of(values))


def error_of(values: Values) -> float:
    """The standard error of a mean: s / sqrt(n), none for a single value."""
    return float(np.std(values, ddof=1) / math.sqrt(len(values))) if len(values) > 1 else 0.0


def mean_of(values: Values, currency: str) -> Mean:
    """The mean of amounts in minor units."""
    return Mean(_amount(float(np.mean(values)), currency), _amount(error_of(values), currency))


def ratio_of(amounts: Values, units: Values, currency: str) -> Mean:
    """Mean amount by mean units; its error is that of amounts less ratio * units. Of no units nothing."""
    of = float(np.mean(units))
    if not of:
        return Mean(_amount(0, currency), _amount(0, currency))
    ratio = float(np.mean(amounts)) / of
    return Mean(_amount(ratio, currency), _amount(error_of(amounts - ratio * units) / of, currency))


def percentile(ordered: Values, share: float) -> tuple[float, float]:
    """A percentile of values in order, and its standard error.

    The value is the smallest that at least the share of values do not exceed. How many lie below the true one is
    binomial, so that one standard error is half the distance between the values one deviation of rank to either side.
    """
    n = len(ordered)
    rank, deviation = share * n, math.sqrt(n * share * (1 - share))
    low, high = (min(n - 1, max(0, math.ceil(rank + sign * deviation) - 1)) for sign in (-1, 1))
    return float(ordered[max(0, math.ceil(rank - 1e-9) - 1)]), float(ordered[high] - ordered[low]) / 2


def rarer_than(seasons: int) -> float:
    """What none of n seasons shows is, with 95 %, rarer than 3 / n; of a few seasons nothing can be said.

    Of what is as often as that, none is shown by (1 - 3 / n)^n of all draws, which is less than e^-3 = 4.98 %.

    >>> rarer_than(10_000), rarer_than(2)
    (0.0003, 1.0)
    """
    return min(1.0, 3 / seasons)


def spread_of(values: Values, currency: str) -> Spread:
    """The spread of amounts in minor units."""
    ordered = np.sort(values)
    figures = [(float(np.mean(values)), error_of(values)), *(percentile(ordered, share) for share in (0.1, 0.5, 0.9))]
    return Spread(*(_amount(figure, currency) for pair in figures for figure in pair))


def spread_per(values: Values, units: Values, currency: str) -> Spread:
    """Amounts by unit, over the seasons that have any; of none, nothing."""
    some = units > 0
    return spread_of(values[some] / units[some] if some.any() else np.zeros(1), currency)


def _amount(value: float, currency: str) -> Decimal:
    return from_minor(math.floor(value + 0.5), currency)


def count_of(values: Values) -> Count:
    """The spread of a number."""
    ordered = np.sort(values)
    shares = (percentile(ordered, share)[0] for share in (0.1, 0.5, 0.9))
    return Count(float(np.mean(values)), error_of(values), *shares)


def chance_of(times: float, of: float) -> Chance:
    """A share with the standard error of a binomial one."""
    share = times / of if of else 0.0
    return Chance(share, math.sqrt(share * (1 - share) / of) if of else 0.0)


def paired(difference: Values, currency: str) -> Paired:
    """The figures of paired differences in minor units."""
    ordered, mean, error = np.sort(difference), float(np.mean(difference)), error_of(difference)
    p10, p50, p90 = (_amount(percentile(ordered, share)[0], currency) for share in (0.1, 0.5, 0.9))
    low, high = (_amount(mean + sign * Z95 * error, currency) for sign in (-1, 1))
    cheaper, alike = (chance_of(int(seasons.sum()), len(difference)) for seasons in (difference < 0, difference == 0))
    return Paired(_amount(mean, currency), _amount(error, currency), low, high, p10, p50, p90, cheaper, alike)
