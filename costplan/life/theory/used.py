"""Parts with use on them: the chance to live on, and how much is left."""

from __future__ import annotations

import math

from costplan.formulas.checking import InputError, need_at_least, need_share
from costplan.life.theory.lifetime import Lifetime, integral_beyond, need_life


def survival_given(life: Lifetime, age: float, to: float) -> float:
    """The share of the parts alive at `age` that are alive at `to`: S(to) / S(age), both counted from new.

    1 at the age itself; S(to) for a new part; for an exponential life it depends on to - age alone.
    Source: definition of conditional probability.
    Errors: InputError where `to` is before `age`, or where none is alive at that age.

    >>> from scipy import stats
    >>> round(survival_given(stats.weibull_min(2.5, scale=1000), age=400, to=600), 4)
    0.8372
    """
    _need_alive(life, age)
    if not age <= to:
        raise InputError("to", to, f"give a use from new of at least the age, {age:g}")
    return math.exp(float(life.logsf(to)) - float(life.logsf(age)))


def remaining_life(life: Lifetime, age: float, share: float) -> float:
    """The further use within which a share of the parts alive at `age` fails: r with S(age + r) = S(age) * (1 - share).

    The share 0.1 gives the B10 of what is left. Of a new part it is the quantile of the life itself.
    Source: definition of conditional probability.
    Errors: InputError where the share is not between 0 and 1, or none is alive at that age.

    >>> from scipy import stats
    >>> round(remaining_life(stats.weibull_min(2.5, scale=1000), age=400, share=0.1), 3)
    132.124
    """
    _need_alive(life, age)
    need_share(share=share)
    survived = float(life.sf(age))
    failed = float(life.cdf(age)) + survived * share
    end = life.ppf(failed) if failed < 0.5 else life.isf(survived * (1 - share))
    return max(float(end) - age, 0.0)


def mean_remaining_life(life: Lifetime, age: float) -> float:
    """The further use that a part alive at `age` gets on average: integral of S from age on / S(age).

    The mean for a new part and, at any age, for an exponential life; infinite where the mean is.
    Source: mean residual life, Barlow & Proschan, Mathematical Theory of Reliability (1965), from memory.
    Errors: InputError where none is alive at that age.

    >>> from scipy import stats
    >>> round(mean_remaining_life(stats.expon(scale=40), age=100), 6)
    40.0
    """
    _need_alive(life, age)
    return integral_beyond(life.sf, life, age) / float(life.sf(age))


def _need_alive(life: Lifetime, age: float) -> None:
    need_life(life)
    need_at_least(0, age=age)
    if not float(life.sf(age)) > 0:
        raise InputError("age", age, "give an age that a part can reach")
