"""The likelihood of Weibull lives that were watched in part, with the scale profiled out in closed form.

log L(b, s) = sum over failures of w (ln b + (b - 1) ln t - b ln s) - sum over all of w (t^b - e^b) / s^b, with b the
shape, s the scale, t the use at the end, e the use at the start and w the weight. For a given b it is greatest at
s^b = S0 / r, S0 = sum of w (t^b - e^b), r = the failures' weight; away from it, with u = S0 / (r s^b), it falls by
r (u - 1 - ln u).
Source: Lawless, Statistical Models and Methods for Lifetime Data (2nd ed. 2003), 5.2; left truncation, Cox & Oakes,
Analysis of Survival Data (1984), 3.3; both from memory, and the second derivatives by hand.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray
from scipy import optimize, special  # type: ignore[import-untyped]

from costplan.life.fitting.observations import Observation

Floats: TypeAlias = NDArray[np.float64]
#: The shapes that are looked at for a maximum, those that a life row may give.
SHAPES = (0.1, 100.0)
#: So many of them, evenly apart by their logarithms, tell where the score changes its sign.
_LOOKS = 61


@dataclass(frozen=True)
class Likelihood:
    """The likelihood of some observations. Uses are kept in units of the longest one, `unit`, so that no power of
    them leaves the range of floats; what goes in and comes out is in the observations' own unit.
    """

    observations: tuple[Observation, ...]

    @cached_property
    def unit(self) -> float:
        return max(life.end for life in self.observations)

    @cached_property
    def failures(self) -> float:
        """r, the weight of those that failed."""
        return math.fsum(life.weight for life in self.observations if life.failed)

    @cached_property
    def _logs(self) -> tuple[Floats, Floats]:
        """The logarithms of all ends and of all starts above 0, and the weight of each: starts count against."""
        ends = [(life.end, life.weight) for life in self.observations]
        starts = [(life.start, -life.weight) for life in self.observations if life.start > 0]
        both = np.array(ends + starts, dtype=np.float64)
        return np.log(both[:, 0] / self.unit), both[:, 1]

    @cached_property
    def _log_ends(self) -> float:
        """Sum of w ln t over the failures."""
        return math.fsum(life.weight * math.log(life.end / self.unit) for life in self.observations if life.failed)

    def _sums(self, shapes: Floats, power: int) -> Floats:
        """S_k = sum of w (t^b (ln t)^k - e^b (ln e)^k) for each shape: S0, and its derivatives by b."""
        logs, weights = self._logs
        found: Floats = np.exp(np.multiply.outer(shapes, logs)) @ (weights * logs**power)
        return found

    def score(self, shapes: Floats) -> Floats:
        """The slope of the profile: r / b + sum over failures of w ln t - r S1 / S0."""
        ratio = self._sums(shapes, 1) / self._sums(shapes, 0)
        found: Floats = self.failures / shapes + self._log_ends - self.failures * ratio
        return found

    def profile(self, shapes: Floats) -> Floats:
        """log L at each shape with the scale that suits it best."""
        r = self.failures
        total = np.maximum(self._sums(shapes, 0), np.finfo(np.float64).tiny)
        found: Floats = r * np.log(shapes) - r * np.log(total / r) + (shapes - 1) * self._log_ends - r
        return found - r * math.log(self.unit)

    def log_scales(self, shapes: Floats, fall: Floats | float = 0.0, side: int = 0) -> Floats:
        """ln of the scale that suits each shape best, or of that below (-1) or above (1) it where log L has fallen by
        `fall` from there: u = -W(-exp(-1 - fall / r)), W being Lambert's function, its two branches the two sides.
        """
        total = np.log(np.maximum(self._sums(shapes, 0), np.finfo(np.float64).tiny) / self.failures)
        if side:
            branch = -1 if side < 0 else 0
            total = total - np.log(_lambert(-np.exp(-1 - np.asarray(fall) / self.failures), branch))
        found: Floats = total / shapes + math.log(self.unit)
        return found

    def best_shape(self) -> float | None:
        """The shape of the greatest likelihood; None where there is none within `SHAPES`.

        It is a root of the score. Lives watched from new have one at the most; of truncated ones there may be several,
        and the likeliest is taken.
        """
        looks = np.geomspace(*SHAPES, _LOOKS)
        with np.errstate(divide="ignore", invalid="ignore"):
            scores = self.score(looks)
        falls = [at for at in range(_LOOKS - 1) if scores[at] > 0 >= scores[at + 1]]
        roots = [float(optimize.brentq(self._score_at, looks[at], looks[at + 1], xtol=1e-13)) for at in falls]
        return max(roots, key=self.profile_at, default=None)

    def _score_at(self, shape: float) -> float:
        return float(self.score(np.array([shape]))[0])

    def profile_at(self, shape: float) -> float:
        return float(self.profile(np.array([shape]))[0])

    def scale_at(self, shape: float) -> float:
        return math.exp(float(self.log_scales(np.array([shape]))[0]))

    def covariance(self, shape: float, scale: float, *, fixed: bool) -> Floats:
        """The covariance of shape and scale: the inverse of the observed information at the maximum, in closed form.

        With a shape that is given (`fixed`) only the scale varies: s / (b sqrt(r)).
        """
        r = self.failures
        at_scale = r * shape**2 / scale**2
        if fixed:
            return np.array([[0.0, 0.0], [0.0, 1 / at_scale]])
        logs, weights = self._logs
        logs = logs - math.log(scale / self.unit)
        powers = weights * np.exp(shape * logs)
        at_shape, both = r / shape**2 + float(powers @ logs**2), -shape / scale * float(powers @ logs)
        found: Floats = np.linalg.inv(np.array([[at_shape, both], [both, at_scale]]))
        return found


def _lambert(values: Floats, branch: int) -> Floats:
    """-W(x) of Lambert's function, x from -1/e to 0; where x is lost to rounding, its limit."""
    found = -np.real(special.lambertw(np.maximum(values, -math.exp(-1)), branch))
    found = np.where(np.isfinite(found), found, 1.0)
    bounded: Floats = np.maximum(found, np.finfo(np.float64).tiny)
    return bounded


def weigh(observations: Sequence[Observation], failed: bool) -> float:
    """The weight of those that failed, or of those that did not."""
    return math.fsum(life.weight for life in observations if life.failed == failed)
