"""Distributions of lives: what the theory asks of one, the first of several modes, and integrals of survival."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Protocol, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import optimize, stats  # type: ignore[import-untyped]

from costplan.formulas.checking import InputError, need_above
from costplan.life.weibull import Weibull

Floats: TypeAlias = NDArray[np.float64]
#: A float for a float, an array for an array, as scipy gives them.
Values: TypeAlias = Any

#: So much of a life may lie below zero before it is refused: a normal life five deviations above zero passes.
BELOW_ZERO = 1e-6
#: Decades of shares failed from both ends and the tenths between: an integrand is smooth between two of them.
_SHARES = np.concatenate((10.0 ** np.arange(-15, 0), np.arange(0.2, 0.85, 0.1), 1 - 10.0 ** np.arange(-1, -16, -1)))
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(20)
#: Beyond the last of them each span is twice as wide as the one before: so many spans, and so many where the last of
#: these still adds a share that shows. An integral is infinite where the last of all adds more than `_NOTHING`.
_DOUBLINGS, _ROUNDING, _NOTHING = (60, 900), 1e-17, 1e-9
#: Uses below this share of the longest are no use.
_NO_USE = 1e-100


class Lifetime(Protocol):
    """A continuous life of zero or more, in its own unit of use: a frozen scipy distribution, or `FirstOf`."""

    def sf(self, use: ArrayLike, /) -> Values:
        """Share not yet failed."""

    def cdf(self, use: ArrayLike, /) -> Values:
        """Share failed."""

    def pdf(self, use: ArrayLike, /) -> Values:
        """Share failed per unit of use."""

    def logsf(self, use: ArrayLike, /) -> Values:
        """Logarithm of the share not yet failed: the cumulative hazard with its sign turned."""

    def ppf(self, share: ArrayLike, /) -> Values:
        """The use by which a share has failed."""

    def isf(self, share: ArrayLike, /) -> Values:
        """The use that a share survives."""

    def mean(self) -> Values: ...

    def std(self) -> Values: ...


@dataclass(frozen=True, slots=True)
class FirstOf:
    """The life of what fails as soon as one of several independent modes does: the least of `lives`.

    S(t) = product of S_i(t); all in one unit of use. It offers what the theory asks of a frozen scipy distribution.
    Source: series systems, HELM Workbook 46.1; competing risks, Cox & Oakes, Analysis of Survival Data (1984), from
    memory.
    """

    lives: tuple[Lifetime, ...]

    def sf(self, use: ArrayLike, /) -> Values:
        return np.prod([life.sf(use) for life in self.lives], axis=0)

    def cdf(self, use: ArrayLike, /) -> Values:
        return -np.expm1(self.logsf(use))

    def logsf(self, use: ArrayLike, /) -> Values:
        return np.sum([life.logsf(use) for life in self.lives], axis=0)

    def pdf(self, use: ArrayLike, /) -> Values:
        return np.sum([life.pdf(use) * self._others(mode, use) for mode, life in enumerate(self.lives)], axis=0)

    def ppf(self, share: ArrayLike, /) -> Values:
        return np.vectorize(self._use_at, otypes=[float])(share)[()]

    def isf(self, share: ArrayLike, /) -> Values:
        return np.vectorize(self._use_survived_by, otypes=[float])(share)[()]

    def mean(self) -> float:
        """The integral of the share not yet failed, by quadrature to about 1e-12 of itself."""
        return integral_beyond(self.sf, self, 0.0)

    def std(self) -> float:
        """Standard deviation: the root of 2 * integral of t * S(t) less the mean's square."""
        square = 2 * integral_beyond(lambda use: use * self.sf(use), self, 0.0)
        return math.sqrt(max(square - self.mean() ** 2, 0.0)) if math.isfinite(square) else math.inf

    def shares(self) -> tuple[float, ...]:
        """How often each mode is the one that fails first: the integral over F_i of the product of the others' S.

        They add up to 1.

        >>> from scipy import stats
        >>> [round(share, 6) for share in first_of(stats.expon(scale=10), stats.expon(scale=30)).shares()]
        [0.75, 0.25]
        """
        return tuple(self._share(mode) for mode in range(len(self.lives)))

    def _share(self, mode: int) -> float:
        life = self.lives[mode]
        edges = np.unique(np.concatenate(([0.0, 1.0], life.cdf(breaks(self)))))
        return float(np.sum(_panels(lambda failed: self._others(mode, life.ppf(failed)), edges)))

    def _others(self, mode: int, use: ArrayLike) -> Values:
        """Share of which no other mode has failed."""
        return np.prod([life.sf(use) for other, life in enumerate(self.lives) if other != mode], axis=0)

    def _use_at(self, share: float) -> float:
        """No mode alone is quicker to a share than all together, and one at least has its part of it by then."""
        if not 0 < share < 1:
            return _extreme(self.lives, share)
        latest = min(float(life.ppf(share)) for life in self.lives)
        earliest = min(float(life.ppf(share / len(self.lives))) for life in self.lives)
        return self._use_where(math.log1p(-share), earliest, latest)

    def _use_survived_by(self, share: float) -> float:
        if not 0 < share < 1:
            return _extreme(self.lives, 1 - share)
        latest = min(float(life.isf(share)) for life in self.lives)
        earliest = min(float(life.isf(share ** (1 / len(self.lives)))) for life in self.lives)
        return self._use_where(math.log(share), earliest, latest)

    def _use_where(self, log_survival: float, earliest: float, latest: float) -> float:
        """The use between two at which the logarithm of survival has fallen so far."""

        def above(use: float) -> float:
            return max(float(self.logsf(use)), -1e300) - log_survival

        if above(earliest) <= 0:
            return earliest
        if above(latest) >= 0:
            return latest
        return float(optimize.brentq(above, earliest, latest, xtol=1e-300, rtol=1e-14))


def _extreme(lives: tuple[Lifetime, ...], share: float) -> float:
    """The first and last use at which anything can fail, NaN where the share is none: as scipy has it."""
    return min(float(life.ppf(share)) for life in lives) if share in (0, 1) else math.nan


def first_of(*lives: Lifetime) -> Lifetime:
    """The life of what fails as soon as one of these independent modes does: S(t) = product of S_i(t).

    One mode alone is itself; modes that are themselves firsts of several are taken apart. The first of n Weibull lives
    of one shape has that shape and scale / n^(1/shape); that of exponential lives has the sum of their rates.
    Source: series systems, HELM Workbook 46.1.
    Errors: InputError without a life, or with one that reaches below zero.

    >>> from scipy import stats
    >>> round(first_of(stats.expon(scale=6000), stats.expon(scale=7000)).mean(), 4)
    3230.7692
    """
    if not lives:
        raise InputError("lives", "none", "give at least one")
    for life in lives:
        need_life(life)
    if len(lives) == 1:
        return lives[0]
    return FirstOf(tuple(mode for life in lives for mode in _modes(life)))


def _modes(life: Lifetime) -> tuple[Lifetime, ...]:
    return life.lives if isinstance(life, FirstOf) else (life,)


def distribution_of(weibull: Weibull) -> Lifetime:
    """A part's Weibull life as the frozen distribution that the theory takes.

    Errors: InputError for the life that never ends, which has an infinite scale.

    >>> round(float(distribution_of(Weibull(scale=5000, shape=1.5)).mean()), 1)
    4513.7
    """
    need_above(0, scale=weibull.scale, shape=weibull.shape)
    frozen: Lifetime = stats.weibull_min(weibull.shape, scale=weibull.scale)
    return frozen


def need_life(life: Lifetime) -> None:
    """A life of zero or more; a tail below zero of one in a million is let pass and counts as failing at once."""
    below = float(life.cdf(0.0))
    if not below <= BELOW_ZERO:
        raise InputError("life", f"{below:.3g} of it below zero", "give a distribution of lives of zero or more")


def breaks(life: Lifetime) -> Floats:
    """Uses above zero, rising, between which a life behaves smoothly: its quantiles, or those of all its modes."""
    found = np.concatenate([mode.ppf(_SHARES) for mode in _modes(life)])
    finite = found[np.isfinite(found)]
    return np.unique(finite[finite > _NO_USE * np.max(finite)])


def ends(life: Lifetime) -> Floats:
    """The first and the last use at which it can fail, of all its modes: there a density may jump."""
    return np.concatenate([np.asarray(mode.ppf(np.array([0.0, 1.0])), dtype=np.float64) for mode in _modes(life)])


def survived_to(life: Lifetime, ages: Floats) -> Floats:
    """The use that a part gets on average when it is taken out at an age: integral of S from 0 to each age.

    Ages are finite and of zero or more. Gauss-Legendre between quantiles.
    """
    inner = breaks(life)
    edges = np.unique(np.concatenate(([0.0], inner[inner < np.max(ages)], ages)))
    summed = np.concatenate(([0.0], np.cumsum(_panels(life.sf, edges))))
    found: Floats = summed[np.searchsorted(edges, ages)]
    return found


def integral_beyond(function: Callable[[Floats], Floats], life: Lifetime, start: float) -> float:
    """The integral of a function that dies out with a life, from `start` on; infinite where it does not die out, or so
    slowly that doubling the range 900 times leaves a rest.
    """
    inner = breaks(life)
    scale = max(start, float(inner[-1]))
    near = scale * 2.0 ** np.arange(-60, 0) if start else inner[:0]
    for doublings in _DOUBLINGS:
        beyond = scale * 2.0 ** np.arange(doublings)
        edges = np.unique(np.concatenate(([start], inner[inner > start], start + near, beyond)))
        with np.errstate(over="ignore", under="ignore"):
            parts = _panels(function, edges)
        if parts[-1] <= _ROUNDING * np.sum(parts):
            break
    return math.inf if parts[-1] > _NOTHING * np.sum(parts) else float(np.sum(parts))


def _panels(function: Callable[[Floats], Floats], edges: Floats) -> Floats:
    """The integral of a function over each span between neighbouring edges, by 20 nodes of Gauss and Legendre."""
    middle, half = (edges[1:] + edges[:-1]) / 2, np.diff(edges) / 2
    found: Floats = half * (function(middle[:, np.newaxis] + half[:, np.newaxis] * _NODES) @ _WEIGHTS)
    return found
