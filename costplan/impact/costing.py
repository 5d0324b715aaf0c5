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
    `used`: wear a year; `over`: all years discounted, by rate; `burden`: that at the first rate with lost results
    counted. `missed`, `stopped`, `lost`: races and results a season.
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
    burden: Priced
    missed: Priced
    stopped: Priced
    lost: Priced
    bought: machine.Floats
    bought_before: machine.Floats
    opened: machine.Floats
    opened_before: machine.Floats


def cost_of(
    before: YearDraws, after: YearDraws, once: float, rates: Sequence[float], worth: float = 0.0
) -> EntrantCost:
    """What the seasons after cost more than those before, season by season on the same draws.

    `worth`: what a lost result of weight 1 counts, minor units.
    """
    n = min(before.seasons, after.seasons)
    cash = _more(after.cash, before.cash, n)
    wear = _more(after.wear, before.wear, n)
    left = _more(after.left, before.left, n)
    every = [factors_of(rate, cash.shape[1]) for rate in rates]
    over = [once + cash @ factors - left[:, -1] * factors[-1] for factors in every]
    racing = {name: _more(getattr(after, name), getattr(before, name), n) for name in ("missed", "stopped", "lost")}
    return EntrantCost(
        once,
        cash.mean(axis=0),
        wear.mean(axis=0),
        left.mean(axis=0),
        priced(once + cash[:, 0]),
        priced(cash[:, 1:].mean(axis=1)),
        priced(wear.mean(axis=1)),
        tuple(priced(one) for one in over),
        priced(over[0] + worth * (racing["lost"] @ every[0])),
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


def total_of(figures: Sequence[Priced], *, drawn: bool = False) -> Priced:
    """The sum of independent means: errors add up by their squares.

    `drawn`: what the figures are of was drawn too, as entrants' ages are; then the error is no smaller than that of a
    sum of so many drawn alike, sqrt(n) times the deviation between them.
    """
    luck = math.sqrt(math.fsum(one.error**2 for one in figures))
    means = np.array([one.mean for one in figures])
    between = math.sqrt(len(means)) * float(means.std(ddof=1)) if drawn and len(means) > 1 else 0.0
    return Priced(math.fsum(means.tolist()), max(luck, between))


def payback_of(once: float, cash: Sequence[float], rate: float) -> float | None:
    """Years until what is saved, discounted, has paid what was paid once; None where it has not in all of them.

    Within a year savings come evenly. Where nothing was paid once it is 0, if the years save anything at all.

    >>> payback_of(100.0, [-80.0, -40.0], 0.0)
    1.5
    >>> payback_of(100.0, [10.0, 10.0], 0.0) is None
    True
    >>> payback_of(0.0, [-5.0, 4.0], 0.0), payback_of(0.0, [5.0, -4.0], 0.0)
    (0.0, None)
    """
    saved = [-amount * single_present_value_factor(rate, year) for year, amount in enumerate(cash, start=1)]
    if once <= 0:
        return 0.0 if math.fsum(saved) >= once else None
    owed = once
    for year, amount in enumerate(saved):
        if amount >= owed * (1 - 1e-9):
            return year + min(1.0, owed / amount)
        owed -= amount
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
