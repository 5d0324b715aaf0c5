"""Weibull lives fitted by a straight line through median ranks: beside maximum likelihood, and never meant by it."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

import numpy as np

from costplan.formulas.checking import InputError
from costplan.life.fitting.observations import Observation
from costplan.life.weibull import Weibull, cumulated


@dataclass(frozen=True, slots=True)
class RankFit:
    """A line through failures at their ranks: `ranks` are adjusted for what was censored between, `shares` the median
    ranks, in the order of `uses`."""

    weibull: Weibull
    regression: Literal["X on Y", "Y on X"]
    uses: tuple[float, ...]
    ranks: tuple[float, ...]
    shares: tuple[float, ...]


def rank_regression(observations: Iterable[Observation], regression: Literal["X on Y", "Y on X"] = "X on Y") -> RankFit:
    """The line ln(-ln(1 - F)) = b ln t - b ln s through the failures at their median ranks.

    "X on Y" takes the squares of ln t, "Y on X" those of ln(-ln(1 - F)). Ranks are adjusted after Johnson (1964): each
    failure's is higher than the one before by (n + 1 - that) / (1 + those not yet passed); of failures and censored
    lives of one use the failures come first. Median ranks by Benard: (rank - 0.3) / (n + 0.4). It is another estimator
    than `fit_weibull`, and gives another life.
    Source: Abernethy, The New Weibull Handbook, from memory.
    Errors: InputError with failures at fewer than two uses, lives not watched from new, or weights.
    """
    seen = sorted(observations, key=lambda life: (life.end, not life.failed))
    if any(life.start > 0 or life.weight != 1 for life in seen):
        raise InputError("observations", "truncated or weighted", "give lives that were watched from new, one by one")
    ranks, rank = [], 0.0
    for passed, life in enumerate(seen):
        if life.failed:
            rank += (len(seen) + 1 - rank) / (1 + len(seen) - passed)
            ranks.append(rank)
    uses = [life.end for life in seen if life.failed]
    if len(set(uses)) < 2:
        raise InputError("observations", f"{len(uses)} failures", "give failures at two uses at least")
    shares = [(rank - 0.3) / (len(seen) + 0.4) for rank in ranks]
    x, y = np.log(uses), np.log([cumulated(share) for share in shares])
    both, across, up = (
        float(np.mean((one - one.mean()) * (other - other.mean()))) for one, other in ((x, y), (x, x), (y, y))
    )
    shape = up / both if regression == "X on Y" else both / across
    scale = math.exp(float(x.mean() - y.mean() / shape))
    return RankFit(Weibull(scale, shape), regression, tuple(uses), tuple(ranks), tuple(shares))
