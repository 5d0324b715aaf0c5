"""The Weibull distribution of lives: F(t) = 1 - exp(-(t / scale)^shape).

Closed forms after NIST/SEMATECH e-Handbook of Statistical Methods, 8.1.6.2.
"""

from __future__ import annotations

import math
from dataclasses import dataclass


def cumulated(share: float) -> float:
    """A(p) = -ln(1 - p), the cumulative hazard at which a share p has failed."""
    return -math.log1p(-share)


@dataclass(frozen=True, slots=True)
class Weibull:
    """A life in its own unit of use, scale and shape above zero; an infinite scale never fails.

    >>> bearing = Weibull(scale=5000, shape=1.5)
    >>> round(bearing.survival(1000), 4), round(bearing.mean, 1)
    (0.9144, 4513.7)
    """

    scale: float
    shape: float

    def survival(self, use: float) -> float:
        """Share not yet failed after so much use from new."""
        return math.exp(-self.cumulative_hazard(use))

    def failed(self, use: float) -> float:
        return -math.expm1(-self.cumulative_hazard(use))

    def cumulative_hazard(self, use: float) -> float:
        return math.pow(max(use, 0.0) / self.scale, self.shape)

    def hazard(self, use: float) -> float:
        """Failures per unit of use among those not yet failed, for use above zero."""
        return self.shape / self.scale * math.pow(use / self.scale, self.shape - 1)

    def density(self, use: float) -> float:
        return self.hazard(use) * self.survival(use)

    def survival_given(self, age: float, use: float) -> float:
        """Share of those alive at `age` that live through `use` more."""
        return math.exp(self.cumulative_hazard(age) - self.cumulative_hazard(age + use))

    def use_at(self, share: float) -> float:
        """The use by which a share has failed: 0.1 gives B10."""
        return self.scale * math.pow(cumulated(share), 1 / self.shape)

    @property
    def mean(self) -> float:
        return self.scale * math.gamma(1 + 1 / self.shape)

    @property
    def deviation(self) -> float:
        """Standard deviation."""
        spread = math.gamma(1 + 2 / self.shape) - math.gamma(1 + 1 / self.shape) ** 2
        return self.scale * math.sqrt(spread)

    def of_set(self, pieces: int) -> Weibull:
        """The first failure among independent pieces of this life: scale / n^(1/shape)."""
        return Weibull(self.scale / pieces ** (1 / self.shape), self.shape)


def from_replacement(replace_at: float, risk: float, shape: float) -> Weibull:
    """The life of which a share `risk` has failed by `replace_at`."""
    return Weibull(replace_at / cumulated(risk) ** (1 / shape), shape)


def from_failures(low: float, likely: float) -> Weibull:
    """The life of which one in ten has failed by `low` and half by `likely`; low < likely.

    >>> life = from_failures(20, 40)
    >>> round(life.use_at(0.1), 9), round(life.use_at(0.5), 9)
    (20.0, 40.0)
    """
    shape = math.log(cumulated(0.5) / cumulated(0.1)) / math.log(likely / low)
    return Weibull(likely / cumulated(0.5) ** (1 / shape), shape)
