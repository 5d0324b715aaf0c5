"""Rating lives of rolling bearings: what share of them lives through what.

A rating life is what nine in ten survive. Loads and ratings are forces in any one unit; the exponent is 3 for ball and
10/3 for roller bearings.
"""

from __future__ import annotations

import math

from costplan.formulas.checking import need_above, need_at_least
from costplan.formulas.method import Input, Method

#: The share that survives a rating life.
RELIABILITY = 0.9


def rating_life(rating: float, load: float, exponent: float = 3.0) -> float:
    """The basic rating life L10 in million revolutions: (rating / load)^exponent.

    One million revolutions at a load as large as the basic dynamic load rating; half the load gives a ball bearing
    eight times the life.
    Source: ISO 281 (from memory).

    >>> round(rating_life(29900, 2770))
    1258
    """
    need_above(0, rating=rating, load=load, exponent=exponent)
    return math.pow(rating / load, exponent)


def rating_life_hours(rating: float, load: float, rpm: float, exponent: float = 3.0) -> float:
    """The basic rating life in hours: (rating / load)^exponent * 10^6 / (60 * rpm).

    Source: ISO 281 (from memory).

    >>> round(rating_life_hours(29900, 2770, 1500))
    13974
    """
    need_above(0, rpm=rpm)
    return rating_life(rating, load, exponent) * 1e6 / (60 * rpm)


def rating_needed(load: float, life: float, exponent: float = 3.0) -> float:
    """The basic dynamic load rating C10 that gives a life: load * life^(1 / exponent), life in million revolutions.

    The load itself for a life of one million revolutions.
    Source: ISO 281 (from memory).

    >>> round(rating_needed(400, 517.5), 2)
    3211.42
    """
    need_above(0, load=load, life=life, exponent=exponent)
    return load * math.pow(life, 1 / exponent)


def survival_at_life(life: float, rating_life: float, shape: float) -> float:
    """The share that survives a life, by the Weibull distribution: 0.9^((life / rating_life)^shape).

    All at a life of zero, nine in ten at the rating life. Shapes of rolling bearings are about 1.1 to 1.5 (common
    practice, no source).
    Source: Weibull distribution; ISO 281 for the nine in ten (from memory).

    >>> round(survival_at_life(15000, 13974, 1.34), 3)
    0.891
    """
    need_at_least(0, life=life)
    need_above(0, rating_life=rating_life, shape=shape)
    return math.pow(RELIABILITY, math.pow(life / rating_life, shape))


_RATING = Input("rating", "force", "basic dynamic load rating of the bearing", 22000.0)
_LOAD = Input("load", "force", "equivalent load on the bearing", 2500.0)
_EXPONENT = Input("exponent", "1", "3 for ball bearings, 10/3 for roller bearings", 3.0)

METHODS = (
    Method(
        "rating-life",
        "bearings",
        "revolutions that nine in ten bearings survive",
        "(rating / load)^exponent",
        (_RATING, _LOAD, _EXPONENT),
        "million revolutions",
        "ISO 281 (from memory)",
        rating_life,
    ),
    Method(
        "rating-life-hours",
        "bearings",
        "hours that nine in ten bearings survive",
        "(rating / load)^exponent * 10^6 / (60 * rpm)",
        (_RATING, _LOAD, Input("rpm", "rpm", "speed of the bearing", 5000.0), _EXPONENT),
        "h",
        "ISO 281 (from memory)",
        rating_life_hours,
    ),
    Method(
        "rating-needed",
        "bearings",
        "basic dynamic load rating that gives a life",
        "load * life^(1 / exponent)",
        (_LOAD, Input("life", "million revolutions", "life that nine in ten are to survive", 300.0), _EXPONENT),
        "force",
        "ISO 281 (from memory)",
        rating_needed,
    ),
    Method(
        "survival-at-life",
        "bearings",
        "share of bearings that survive a life",
        "0.9^((life / rating_life)^shape)",
        (
            Input("life", "time", "life asked for", 1200.0),
            Input("rating_life", "time", "life that nine in ten survive", 1000.0),
            Input("shape", "1", "Weibull shape", 1.3),
        ),
        "1",
        "Weibull distribution; ISO 281 for the nine in ten (from memory)",
        survival_at_life,
    ),
)
