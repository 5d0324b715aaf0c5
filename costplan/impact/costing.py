"""What a change costs an entrant: the same seasons after it and before it, and what is paid once.

Cash is what is paid when; wear what is used up. Over the years a cost counts at the end of its year, what is paid once
on opening day, and what is on hand more or less at the end of the last year is taken off, so that a part that is bought
and not yet used up is no loss.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from costplan.formulas.economics import single_present_value_factor
from costplan.season import machine
from costplan.season.drawn.figures import error_of
from costplan.season.drawn.years import YearDraws


@dataclass(frozen=True, slots=True)
class Priced:
    """A mean over seasons in minor units, with its standard error."""

    mean: float
    error: float


@dataclass(frozen=True, slots=True)
class EntrantCost:
    """What a change costs one entrant, minor units; what it saves is negative.

    `once` is paid on opening day; `cash` and `wear` [Y] are each year's mean difference, `left` [Y] that of what is on
    hand at the end of each. `first`: once and the first year's cash; `yearly`: cash of the later years, on average;
    `used`: wear a year; `over`: all years discounted, by rate. `missed`, `stopped`, `lost`: races and results a season.
    `bought` [Y, lines] and `opened` [T, K] are the cash by position and the openings by level themselves.
    """

    once: float
    cash: machine.Floats
    wear: machine.Floats
    left: machine.Floats
    first: Priced
    yearly: Priced
    used: Priced
    over: tuple[Priced, ...]
    missed: Priced
    stopped: Priced
    lost: Priced
    bought: machine.Floats
    bought_before: machine.Floats
    opened: machine.Floats
    opened_before: machine.Floats


def cost_of(before: YearDraws, after: YearDraws, once: float, rates: Sequence[float]) -> EntrantCost:
    """What the seasons after cost more than those before, season by season on the same draws."""
    n = min(before.seasons, after.seasons)
    cash = _more(after.cash, before.cash, n)
    wear = _more(after.wear, before.wear, n)
    left = _more(after.left, before.left, n)
    years = cash.shape[1]
    over = []
    for rate in rates:
        factors = factors_of(rate, years)
        over.append(priced(once + cash @ factors - left[:, -1] * factors[-1]))
    racing = {name: _more(getattr(after, name), getattr(before, name), n) for name in ("missed", "stopped", "lost")}
    return EntrantCost(
        once,
        cash.mean(axis=0),
        wear.mean(axis=0),
        left.mean(axis=0),
        priced(once + cash[:, 0]),
        priced(cash[:, 1:].mean(axis=1)),
        priced(wear.mean(axis=1)),
        tuple(over),
        priced(racing["missed"].mean(axis=1)),
        priced(racing["stopped"].mean(axis=1)),
        priced(racing["lost"].mean(axis=1)),
        after.line,
        before.line,
        after.opened.mean(axis=0),
        before.opened.mean(axis=0),
    )


def factors_of(rate: float, years: int) -> machine.Floats:
    """[years] what 1 at the end of each year is worth today."""
    return np.array([single_present_value_factor(rate, year) for year in range(1, years + 1)])


def _more(after: machine.Ints, before: machine.Ints, n: int) -> machine.Floats:
    difference: machine.Floats = after[:n].astype(np.float64) - before[:n]
    return difference


def priced(values: machine.Floats) -> Priced:
    """The mean of values with its error."""
    return Priced(float(values.mean()), error_of(values))


def total_of(figures: Sequence[Priced]) -> Priced:
    """The sum of independent means: errors add up by their squares."""
    return Priced(math.fsum(one.mean for one in figures), math.sqrt(math.fsum(one.error**2 for one in figures)))


def payback_of(once: float, cash: Sequence[float], rate: float) -> float | None:
    """Years until what is saved, discounted, has paid what was paid once; 0 where nothing was, None where it never has.

    Within a year savings come evenly. A field that saves in one year what it loses in the next has paid back when it is
    first even.

    >>> payback_of(100.0, [-60.0, -60.0], 0.0)
    1.6666666666666667
    >>> payback_of(100.0, [10.0, 10.0], 0.0) is None
    True
    """
    if once <= 0:
        return 0.0
    owed = once
    for year, amount in enumerate(cash):
        saved = -amount * single_present_value_factor(rate, year + 1)
        if saved >= owed:
            return year + owed / saved
        owed -= saved
    return None


def shifted(cash: machine.Floats, share: float) -> machine.Floats:
    """The costs of each year where all begins so much of a season later, 0 to 1: what is left of the first season, then
    a part of each year's.

    >>> shifted(np.array([10.0, 20.0, 30.0]), 0.5).tolist()
    [5.0, 15.0, 25.0]
    """
    before = np.concatenate([np.zeros(1), cash[:-1]])
    moved: machine.Floats = (1 - share) * cash + share * before
    return moved
