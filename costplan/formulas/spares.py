"""Spare parts: how many are asked for, how many to keep, and what it costs to keep too many or too few.

Demand that comes at random at a steady rate is Poisson with `mean` pieces in the time it takes to get new ones. Exact
to nine digits up to a mean of a million.
"""

from __future__ import annotations

import math
from statistics import NormalDist

from costplan.formulas.checking import InputError, need_above, need_at_least, need_at_most, need_finite, need_share
from costplan.formulas.method import Input, Method

LARGEST_MEAN = 1e6
_NORMAL = NormalDist()


def poisson_probability(mean: float, count: int) -> float:
    """The probability of just so many: exp(-mean) * mean^count / count!

    With a mean of 0 it is certain that there is none.
    Source: Poisson distribution, HELM Workbook 37.3.

    >>> [round(poisson_probability(2, count), 4) for count in range(4)]
    [0.1353, 0.2707, 0.2707, 0.1804]
    """
    _need_demand(mean, count=count)
    return _probability(mean, count)


def probability_of_fewer(mean: float, count: int) -> float:
    """The probability of fewer than so many: sum of Poisson probabilities below count.

    Fewer than 0 are impossible.
    Source: Poisson distribution, HELM Workbook 37.3.

    >>> round(probability_of_fewer(4, 2), 4)
    0.0916
    """
    _need_demand(mean, count=count)
    return _head(mean, count - 1)


def probability_of_more(mean: float, count: int) -> float:
    """The probability of more than so many: sum of Poisson probabilities above count.

    Tends to 0 for a large count.
    Source: Poisson distribution, HELM Workbook 37.3.

    >>> round(probability_of_more(3, 5), 5)
    0.08392
    """
    _need_demand(mean, count=count)
    return _tail(mean, count)


def expected_backorders(mean: float, stock: int) -> float:
    """How many pieces are owed on average, stock being reordered one for one.

    sum of (count - stock) * Poisson probability of count above stock; the mean without any stock, and tends to 0 for a
    large one.
    Source: Sherbrooke, Optimal Inventory Modeling of Systems; Palm's theorem (from memory).

    >>> [round(expected_backorders(1, stock), 6) for stock in range(3)]
    [1.0, 0.367879, 0.103638]
    """
    _need_demand(mean, stock=stock)
    if stock < mean:
        return mean - stock + _summed(mean, stock - 1, -1, stock)
    return _summed(mean, stock + 1, 1, stock)


def stock_for_service_level(mean: float, level: float) -> int:
    """The least stock that meets all demand with a probability: least s with P(N <= s) >= level.

    0 where no demand at all is that likely.
    Source: Poisson distribution; fill by probability of no shortage, common practice, no source.

    >>> stock_for_service_level(2, 0.95)
    5
    """
    _need_demand(mean)
    need_share(level=level)
    low, high = -1, 1
    while _head(mean, high) < level:
        low, high = high, 2 * high
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if _head(mean, middle) >= level else (middle, high)
    return high


def newsvendor_quantity(holding: float, shortage: float, mean: float, deviation: float) -> float:
    """What to have at hand for one season of normally distributed demand, for the least expected cost.

    mean + deviation * z with P(Z <= z) = shortage / (shortage + holding); the mean where both cost the same.
    Source: Snyder & Shen, Fundamentals of Supply Chain Theory, ch. 4.

    >>> round(newsvendor_quantity(0.18, 0.70, 50, 8), 4)
    56.604
    """
    _need_newsvendor(holding, shortage, mean, deviation)
    return mean + deviation * _NORMAL.inv_cdf(shortage / (shortage + holding))


def newsvendor_cost(quantity: float, holding: float, shortage: float, mean: float, deviation: float) -> float:
    """The expected cost of having so many at hand: what is left over at `holding`, what is short at `shortage` a piece.

    holding * (quantity - mean) + (holding + shortage) * deviation * (density(z) - z * (1 - P(Z <= z))) with z =
    (quantity - mean) / deviation.
    Source: Snyder & Shen, Fundamentals of Supply Chain Theory, ch. 4.

    >>> round(newsvendor_cost(60, 0.18, 0.70, 50, 8), 4)
    2.1561
    """
    need_finite(quantity=quantity)
    _need_newsvendor(holding, shortage, mean, deviation)
    z = (quantity - mean) / deviation
    density = math.exp(-z * z / 2) / math.sqrt(2 * math.pi)
    short = deviation * (density - z * math.erfc(z / math.sqrt(2)) / 2)
    return holding * (quantity - mean) + (holding + shortage) * short


def _probability(mean: float, count: int) -> float:
    if mean == 0:
        return float(count == 0)
    return math.exp(count * math.log(mean) - mean - math.lgamma(count + 1))


def _head(mean: float, count: int) -> float:
    """P(N <= count), summed on the side that is smaller."""
    return 1 - _tail(mean, count) if count >= mean else _summed(mean, count, -1)


def _tail(mean: float, count: int) -> float:
    """P(N > count), summed on the side that is smaller."""
    return _summed(mean, count + 1, 1) if count >= mean else 1 - _summed(mean, count, -1)


def _summed(mean: float, first: int, step: int, origin: int | None = None) -> float:
    """The probabilities from a count on, up (step 1) or down (-1), away from the mean, until they no longer matter.

    Each is taken times its distance from `origin`, if there is one.
    """
    count, total = first, 0.0
    probability = _probability(mean, first) if first >= 0 else 0.0
    while count >= 0 and probability > 0:
        term = probability if origin is None else probability * abs(count - origin)
        total += term
        if term < total * _NEGLIGIBLE:
            break
        probability *= mean / (count + 1) if step > 0 else count / mean
        count += step
    return total


#: Terms that fall away from the mean and are this small a share of their sum no longer change its first nine digits.
_NEGLIGIBLE = 1e-17


def _need_demand(mean: float, **counts: int) -> None:
    need_at_least(0, mean=mean, **counts)
    need_at_most(LARGEST_MEAN, mean=mean)


def _need_newsvendor(holding: float, shortage: float, mean: float, deviation: float) -> None:
    need_above(0, holding=holding, shortage=shortage, deviation=deviation)
    need_finite(mean=mean)
    if not 0 < shortage / (shortage + holding) < 1:
        raise InputError("shortage", shortage, f"give a cost nearer to the holding cost, {holding:g}")


_HELM = "Poisson distribution, HELM Workbook 37.3"
_SNYDER = "Snyder & Shen, Fundamentals of Supply Chain Theory, ch. 4"
_MEAN = Input("mean", "pieces", "pieces asked for on average in the time that a new one takes", 2.4)
_COUNT = Input("count", "pieces", "number of pieces", 3)
_NEWS = (
    Input("holding", "money/piece", "cost of each piece left over", 12.0),
    Input("shortage", "money/piece", "cost of each piece short", 60.0),
    Input("mean", "pieces", "demand on average", 24.0),
    Input("deviation", "pieces", "standard deviation of the demand", 5.0),
)

METHODS = (
    Method(
        "poisson-probability",
        "spare parts",
        "probability that just so many are asked for",
        "exp(-mean) * mean^count / count!",
        (_MEAN, _COUNT),
        "1",
        _HELM,
        poisson_probability,
    ),
    Method(
        "probability-of-fewer",
        "spare parts",
        "probability that fewer than so many are asked for",
        "sum of Poisson probabilities below count",
        (_MEAN, _COUNT),
        "1",
        _HELM,
        probability_of_fewer,
    ),
    Method(
        "probability-of-more",
        "spare parts",
        "probability that more than so many are asked for",
        "sum of Poisson probabilities above count",
        (_MEAN, _COUNT),
        "1",
        _HELM,
        probability_of_more,
    ),
    Method(
        "expected-backorders",
        "spare parts",
        "pieces owed on average, stock being reordered one for one",
        "sum of (count - stock) * Poisson probability of count above stock",
        (_MEAN, Input("stock", "pieces", "pieces kept, on the shelf or on order", 3)),
        "pieces",
        "Sherbrooke, Optimal Inventory Modeling of Systems; Palm's theorem (from memory)",
        expected_backorders,
    ),
    Method(
        "stock-for-service-level",
        "spare parts",
        "least stock that meets all demand with a probability",
        "least s with P(N <= s) >= level",
        (_MEAN, Input("level", "1", "probability of no shortage, 0.95 for 95 %", 0.95)),
        "pieces",
        "Poisson distribution; fill by probability of no shortage, common practice, no source",
        stock_for_service_level,
    ),
    Method(
        "newsvendor-quantity",
        "spare parts",
        "what to have at hand for one season of normal demand",
        "mean + deviation * z with P(Z <= z) = shortage / (shortage + holding)",
        _NEWS,
        "pieces",
        _SNYDER,
        newsvendor_quantity,
    ),
    Method(
        "newsvendor-cost",
        "spare parts",
        "expected cost of having so many at hand for one season",
        "holding * (quantity - mean) + (holding + shortage) * deviation * (density(z) - z * (1 - P(Z <= z)))"
        " with z = (quantity - mean) / deviation",
        (Input("quantity", "pieces", "pieces at hand", 28.0), *_NEWS),
        "money",
        _SNYDER,
        newsvendor_cost,
    ),
)
