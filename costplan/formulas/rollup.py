"""Roll-up of uncertain estimates: elements from a low, a likely and a high figure, and the total of many.

Amounts are money or any one unit, floats and unrounded. Low and high are the ends of what can be, except for the
lognormal, whose two figures are percentiles. A share is a probability of staying below: 0.8 asks for the P80.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import NormalDist

from costplan.formulas.checking import (
    InputError,
    listed,
    need_above,
    need_at_least,
    need_finite,
    need_numbers,
    need_share,
)
from costplan.formulas.method import Input, Method

_NORMAL = NormalDist()
_TENTH = 0.1


def triangular_mean(low: float, likely: float, high: float) -> float:
    """The mean of a triangular distribution: (low + likely + high) / 3.

    Source: triangular distribution, closed form.

    >>> round(triangular_mean(9000, 10000, 12000), 4)
    10333.3333
    """
    _need_range(low, likely, high)
    return (low + likely + high) / 3


def triangular_deviation(low: float, likely: float, high: float) -> float:
    """The standard deviation of a triangular distribution.

    sqrt(((high - low)^2 - (likely - low) * (high - likely)) / 18); least, for given ends, in the middle.
    Source: triangular distribution, closed form.

    >>> round(triangular_deviation(9000, 10000, 12000), 4)
    623.6096
    """
    _need_range(low, likely, high)
    return math.sqrt(((high - low) ** 2 - (likely - low) * (high - likely)) / 18)


def triangular_percentile(share: float, low: float, likely: float, high: float) -> float:
    """The amount that a triangular distribution stays below with a probability.

    low + sqrt(share * (high - low) * (likely - low)) up to likely, then high - sqrt((1 - share) * (high - low) * (high
    - likely)); low at 0 and high at 1.
    Source: triangular distribution, closed form.

    >>> round(triangular_percentile(0.8, 9000, 10000, 12000), 4)
    10904.5549
    """
    _need_range(low, likely, high)
    _need_probability(share)
    if share * (high - low) <= likely - low:
        return low + math.sqrt(share * (high - low) * (likely - low))
    return high - math.sqrt((1 - share) * (high - low) * (high - likely))


def pert_mean(low: float, likely: float, high: float) -> float:
    """The mean by PERT, that of the beta distribution too: (low + 4 * likely + high) / 6.

    Source: Malcolm, Roseboom, Clark & Fazar, Operations Research 7 (1959) (from memory).

    >>> pert_mean(9000, 10000, 12000)
    10166.666666666666
    """
    _need_range(low, likely, high)
    return (low + 4 * likely + high) / 6


def pert_deviation(low: float, likely: float, high: float) -> float:
    """The standard deviation by PERT, a sixth of the range wherever the likely figure is: (high - low) / 6.

    Source: Malcolm, Roseboom, Clark & Fazar, Operations Research 7 (1959) (from memory).

    >>> pert_deviation(9000, 10000, 12000)
    500.0
    """
    _need_range(low, likely, high)
    return (high - low) / 6


def beta_pert_deviation(low: float, likely: float, high: float) -> float:
    """The standard deviation of the beta distribution with the mean of PERT.

    sqrt((mean - low) * (high - mean) / 7) with mean = (low + 4 * likely + high) / 6; that of PERT itself only near the
    middle.
    Source: beta distribution, closed form.

    >>> round(beta_pert_deviation(9000, 10000, 12000), 4)
    552.7708
    """
    _need_range(low, likely, high)
    skew = 4 * ((likely - low) / (high - low))
    return (high - low) / 6 * math.sqrt((1 + skew) * (5 - skew) / 7)


def beta_pert_percentile(share: float, low: float, likely: float, high: float) -> float:
    """The amount that the beta distribution of PERT stays below with a probability.

    low + (high - low) * x with I(x; a, b) = share, a = 1 + 4 * (likely - low) / (high - low), b = 6 - a, where I is the
    regularized incomplete beta function; low at 0 and high at 1.
    Source: beta distribution; its function by the continued fraction of DLMF 8.17.22 (from memory).

    >>> round(beta_pert_percentile(0.8, 9000, 10000, 12000), 2)
    10662.45
    """
    _need_range(low, likely, high)
    _need_probability(share)
    a = 1 + 4 * ((likely - low) / (high - low))
    if share > 0.5:
        return high - (high - low) * _beta_percentile(1 - share, 6 - a, a)
    return low + (high - low) * _beta_percentile(share, a, 6 - a)


def _beta_percentile(share: float, a: float, b: float) -> float:
    """x with I(x; a, b) = share, by halving; a share of one half at most, so that no digits are lost near 1."""
    below, above = 0.0, 1.0
    while below < (middle := (below + above) / 2) < above:
        below, above = (middle, above) if _incomplete_beta(middle, a, b) < share else (below, middle)
    return above


def _incomplete_beta(x: float, a: float, b: float) -> float:
    """I(x; a, b), the regularized incomplete beta function, for a and b from 1 to 5."""
    if x > (a + 1) / (a + b + 2):
        return 1 - _incomplete_beta(1 - x, b, a)
    fraction = 1.0
    for m in range(_TERMS, 0, -1):
        odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        even = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        fraction = 1 + even / (1 + odd / fraction)
    fraction = 1 - (a + b) * x / (a + 1) / fraction
    scale = math.gamma(a + b) / (math.gamma(a) * math.gamma(b))
    return scale * math.pow(x, a) * math.pow(1 - x, b) / (a * fraction)


#: Pairs of terms of the continued fraction; from about 20 on nothing changes.
_TERMS = 40


def lognormal_parameters(
    low: float, high: float, low_share: float = 0.1, high_share: float = 0.9
) -> tuple[float, float]:
    """The location and scale of a lognormal amount from two of its percentiles.

    scale = ln(high / low) / (z(high_share) - z(low_share)), location = ln(low) - z(low_share) * scale, where z is the
    standard normal percentile.
    Source: lognormal distribution, closed form.

    >>> location, scale = lognormal_parameters(800, 1250)
    >>> round(math.exp(location), 6), round(scale, 6)
    (1000.0, 0.17412)
    """
    need_above(0, low=low)
    need_above(low, high=high)
    need_share(low_share=low_share, high_share=high_share)
    if low_share >= high_share:
        raise InputError("high_share", high_share, f"give a number above low_share, {low_share:g}")
    below, above = _NORMAL.inv_cdf(low_share), _NORMAL.inv_cdf(high_share)
    scale = (math.log(high) - math.log(low)) / (above - below)
    return math.log(low) - below * scale, scale


def lognormal_mean(location: float, scale: float) -> float:
    """The mean of a lognormal amount: exp(location + scale^2 / 2).

    Above the median, exp(location), the more so the wider it is.
    Source: lognormal distribution, closed form.

    >>> round(lognormal_mean(math.log(1000), 0.2), 4)
    1020.2013
    """
    need_finite(location=location)
    need_at_least(0, scale=scale)
    return math.exp(location + scale * scale / 2)


def lognormal_deviation(location: float, scale: float) -> float:
    """The standard deviation of a lognormal amount: exp(location + scale^2 / 2) * sqrt(exp(scale^2) - 1).

    About scale times the mean where the scale is small.
    Source: lognormal distribution, closed form.

    >>> round(lognormal_deviation(math.log(1000), 0.2), 4)
    206.0978
    """
    return lognormal_mean(location, scale) * math.sqrt(math.expm1(scale * scale))


def lognormal_percentile(share: float, location: float, scale: float) -> float:
    """The amount that a lognormal one stays below with a probability: exp(location + scale * z(share)).

    z is the standard normal percentile; at a share of one half it is the median.
    Source: lognormal distribution, closed form.

    >>> round(lognormal_percentile(0.5, math.log(1000), 0.2), 6)
    1000.0
    """
    need_share(share=share)
    need_finite(location=location)
    need_at_least(0, scale=scale)
    return math.exp(location + scale * _NORMAL.inv_cdf(share))


def sum_mean(means: Sequence[float]) -> float:
    """The mean of a total, however its elements hang together: sum of means.

    Source: algebra of expectations.

    >>> sum_mean((10333.0, 4000.0))
    14333.0
    """
    need_numbers(means=means)
    return math.fsum(means)


def sum_deviation(deviations: Sequence[float], correlation: float = 0.0) -> float:
    """The standard deviation of a total whose elements have one correlation, pair by pair.

    sqrt((1 - correlation) * sum of deviation^2 + correlation * (sum of deviations)^2); the root of the sum of squares
    for independent elements, the plain sum at a correlation of 1. The least possible is -1 / (count - 1).
    Source: algebra of variances.

    >>> sum_deviation((300, 400)), sum_deviation((300, 400), 1)
    (500.0, 700.0)
    """
    need_numbers(deviations=deviations)
    if min(deviations) < 0:
        raise InputError("deviations", listed(deviations), "give standard deviations of at least 0")
    least = -1 / (len(deviations) - 1) if len(deviations) > 1 else -1.0
    if not least <= correlation <= 1:
        raise InputError("correlation", correlation, f"give a number from {least:.6g} to 1")
    squares = math.fsum(one * one for one in deviations)
    return math.sqrt(max(0.0, (1 - correlation) * squares + correlation * math.fsum(deviations) ** 2))


def _need_range(low: float, likely: float, high: float) -> None:
    need_finite(low=low)
    need_above(low, high=high)
    if not low <= likely <= high:
        raise InputError("likely", likely, f"give a number from {low:g} to {high:g}")


def _need_probability(share: float) -> None:
    if not 0 <= share <= 1:
        raise InputError("share", share, "give a number from 0 to 1")


_TRIANGULAR = "triangular distribution, closed form"
_PERT = "Malcolm, Roseboom, Clark & Fazar, Operations Research 7 (1959) (from memory)"
_LOGNORMAL = "lognormal distribution, closed form"
_RANGE = (
    Input("low", "money", "the least it can be", 4200.0),
    Input("likely", "money", "the most likely", 5000.0),
    Input("high", "money", "the most it can be", 7500.0),
)
_SHARE = Input("share", "1", "probability of staying below, 0.8 for the P80", 0.8)
_LOCATION = Input("location", "1", "logarithm of the median", 8.5)
_SCALE = Input("scale", "1", "standard deviation of the logarithm", 0.25)

METHODS = (
    Method(
        "triangular-mean",
        "roll-up of estimates",
        "mean of low, likely and high, triangular",
        "(low + likely + high) / 3",
        _RANGE,
        "money",
        _TRIANGULAR,
        triangular_mean,
    ),
    Method(
        "triangular-deviation",
        "roll-up of estimates",
        "standard deviation of low, likely and high, triangular",
        "sqrt(((high - low)^2 - (likely - low) * (high - likely)) / 18)",
        _RANGE,
        "money",
        _TRIANGULAR,
        triangular_deviation,
    ),
    Method(
        "triangular-percentile",
        "roll-up of estimates",
        "amount stayed below with a probability, triangular",
        "low + sqrt(share * (high - low) * (likely - low)) up to likely,"
        " then high - sqrt((1 - share) * (high - low) * (high - likely))",
        (_SHARE, *_RANGE),
        "money",
        _TRIANGULAR,
        triangular_percentile,
    ),
    Method(
        "pert-mean",
        "roll-up of estimates",
        "mean of low, likely and high, by PERT",
        "(low + 4 * likely + high) / 6",
        _RANGE,
        "money",
        _PERT,
        pert_mean,
    ),
    Method(
        "pert-deviation",
        "roll-up of estimates",
        "standard deviation of low, likely and high, by PERT",
        "(high - low) / 6",
        _RANGE,
        "money",
        _PERT,
        pert_deviation,
    ),
    Method(
        "beta-pert-deviation",
        "roll-up of estimates",
        "standard deviation of the beta distribution of PERT",
        "sqrt((mean - low) * (high - mean) / 7) with mean = (low + 4 * likely + high) / 6",
        _RANGE,
        "money",
        "beta distribution, closed form",
        beta_pert_deviation,
    ),
    Method(
        "beta-pert-percentile",
        "roll-up of estimates",
        "amount stayed below with a probability, beta distribution of PERT",
        "low + (high - low) * x with I(x; a, b) = share, a = 1 + 4 * (likely - low) / (high - low), b = 6 - a",
        (_SHARE, *_RANGE),
        "money",
        "beta distribution; its function by the continued fraction of DLMF 8.17.22 (from memory)",
        beta_pert_percentile,
    ),
    Method(
        "lognormal-parameters",
        "roll-up of estimates",
        "location and scale of a lognormal amount from two percentiles",
        "scale = ln(high / low) / (z(high_share) - z(low_share)), location = ln(low) - z(low_share) * scale",
        (
            Input("low", "money", "the lower percentile", 3600.0),
            Input("high", "money", "the upper percentile", 7000.0),
            Input("low_share", "1", "probability of staying below the lower", 0.1),
            Input("high_share", "1", "probability of staying below the upper", 0.9),
        ),
        "1",
        _LOGNORMAL,
        lognormal_parameters,
    ),
    Method(
        "lognormal-mean",
        "roll-up of estimates",
        "mean of a lognormal amount",
        "exp(location + scale^2 / 2)",
        (_LOCATION, _SCALE),
        "money",
        _LOGNORMAL,
        lognormal_mean,
    ),
    Method(
        "lognormal-deviation",
        "roll-up of estimates",
        "standard deviation of a lognormal amount",
        "exp(location + scale^2 / 2) * sqrt(exp(scale^2) - 1)",
        (_LOCATION, _SCALE),
        "money",
        _LOGNORMAL,
        lognormal_deviation,
    ),
    Method(
        "lognormal-percentile",
        "roll-up of estimates",
        "amount stayed below with a probability, lognormal",
        "exp(location + scale * z(share))",
        (_SHARE, _LOCATION, _SCALE),
        "money",
        _LOGNORMAL,
        lognormal_percentile,
    ),
    Method(
        "sum-mean",
        "roll-up of estimates",
        "mean of a total",
        "sum of means",
        (Input("means", "money", "mean of each element", (5200.0, 1800.0, 950.0)),),
        "money",
        "algebra of expectations",
        sum_mean,
    ),
    Method(
        "sum-deviation",
        "roll-up of estimates",
        "standard deviation of a total whose elements have one correlation",
        "sqrt((1 - correlation) * sum of deviation^2 + correlation * (sum of deviations)^2)",
        (
            Input("deviations", "money", "standard deviation of each element", (600.0, 300.0, 120.0)),
            Input("correlation", "1", "correlation of any two of them", 0.2),
        ),
        "money",
        "algebra of variances",
        sum_deviation,
    ),
)
