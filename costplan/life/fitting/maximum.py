"""Weibull lives fitted by maximum likelihood, with bounds three ways; what few failures cannot say is said."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np
from scipy import optimize, special  # type: ignore[import-untyped]

from costplan.formulas.checking import InputError, need_above, need_share
from costplan.life.fitting.likelihood import Floats, Likelihood, weigh
from costplan.life.fitting.observations import Observation
from costplan.life.weibull import Weibull, cumulated

#: How bounds are found: where the likelihood ratio ends them, or by a normal distribution of the logarithm, or of the
#: figure itself.
Way: TypeAlias = Literal["likelihood", "log", "raw"]
#: A figure of a life at a shape: ln of its ratio to the scale.
LogRatio: TypeAlias = Callable[[Floats], Floats]

#: The shapes between which bounds are looked for; a bound beyond is none.
WIDEST = (0.01, 1000.0)
#: Nodes at which a prior's failures stand.
_NODES = 200
_STEPS = 65
_B10 = math.log(cumulated(0.1))


@dataclass(frozen=True, slots=True)
class Estimate:
    """A figure with its bounds; None for a value that there is not, infinite for a bound that there is not."""

    value: float | None
    low: float
    high: float

    def holds(self, other: float) -> bool:
        """Whether another figure lies within the bounds."""
        return self.low <= other <= self.high


@dataclass(frozen=True, slots=True)
class WeibullFit:
    """What lives that were watched say of the Weibull distribution behind them.

    `failures` and `censored`: the weight of those seen, without the prior's. `weibull` is None where the likelihood
    has no maximum; without a failure `scale` then still has a lower bound, for a shape that is given. `fixed`: the
    shape was given and not fitted. `shape_error` and `scale_error` are standard errors from the observed information.
    `b10` is the use by which one in ten fails, `mean` the mean life. `why` says in words why there is no maximum.
    """

    failures: float
    censored: float
    weibull: Weibull | None
    fixed: bool
    prior: float
    log_likelihood: float
    shape_error: float
    scale_error: float
    way: Way
    confidence: float
    shape: Estimate
    scale: Estimate
    b10: Estimate
    mean: Estimate
    why: str = ""


def fit_weibull(
    observations: Iterable[Observation],
    *,
    shape: float | None = None,
    prior: tuple[Weibull, float] | None = None,
    confidence: float = 0.9,
    way: Way = "likelihood",
) -> WeibullFit:
    """The Weibull life that makes what was seen likeliest: right censored, left truncated, weighted.

    `shape`: given, and only the scale is fitted. `prior`: a life and the number N of observed failures that it counts
    as. It adds N times the expected log likelihood under it, N * integral over p from 0 to 1 of ln f(q(p)) dp, q(p)
    being its use by which p have failed; the integral is taken by 200 nodes of Gauss and Legendre, so that the prior
    alone is fitted by itself to 1e-4. With N failures seen, prior and log weigh alike. A prior's bounds are those of
    a likelihood that holds it as if it had been seen.

    `way` of the bounds, all of them two-sided: "likelihood", the values that a likelihood ratio test at `confidence`
    does not reject, each figure with the rest profiled out (chi-square, one degree of freedom); "log", the logarithm
    plus and minus so many standard errors by the delta method; "raw", the figure itself so, which may pass below 0.

    There is no maximum without a failure, where all fail at one use that nothing outlives (the shape grows without
    end), and where truncated lives fail so early that the shape falls to none: then `weibull` is None and `why` says
    so. Without a failure and with a shape given, the scale has a lower bound at `confidence`, one-sided:
    (sum of t^b - e^b / -ln(1 - confidence))^(1 / b).
    Source: as `likelihood`; bounds by the likelihood ratio, Meeker & Escobar, Statistical Methods for Reliability Data
    (1998), 8.3; without failures, Nelson, Journal of Quality Technology 17 (1985), 140-146; all from memory.
    Errors: InputError where nothing was seen, or a confidence, shape or weight is out of its range.

    >>> from costplan.life.fitting import lives_seen
    >>> fit = fit_weibull(lives_seen([54, 187, 216, 240, 244, 335, 361, 373, 375, 386], censored=[500] * 10))
    >>> round(fit.shape.value, 4), round(fit.scale.value, 2)
    (1.7208, 606.53)
    """
    seen = tuple(observations)
    need_share(confidence=confidence)
    if shape is not None:
        need_above(0, shape=shape)
    alike = prior_failures(*prior) if prior else ()
    everything = Likelihood((*seen, *alike))
    if not everything.observations:
        raise InputError("observations", "none", "give at least one life that was watched for a while")
    best = (shape or everything.best_shape()) if everything.failures else None
    counts = (weigh(seen, failed=True), weigh(seen, failed=False))
    given = (shape is not None, prior[1] if prior else 0.0)
    if best is None:
        return _without_maximum(everything, shape, counts, given, way, confidence)
    return _with_maximum(everything, best, counts, given, way, confidence)


def _with_maximum(
    seen: Likelihood, shape: float, counts: tuple[float, float], given: tuple[bool, float], way: Way, confidence: float
) -> WeibullFit:
    scale = seen.scale_at(shape)
    errors = np.sqrt(np.diag(seen.covariance(shape, scale, fixed=given[0])))
    limits = bounds_of(seen, shape, fixed=given[0], way=way, confidence=confidence)
    life = Weibull(scale, shape)
    values = (shape, scale, life.use_at(0.1), life.mean)
    figures = [Estimate(value, *ends) for value, ends in zip(values, limits, strict=True)]
    return WeibullFit(
        *counts,
        life,
        *given,
        seen.profile_at(shape),
        float(errors[0]),
        float(errors[1]),
        way,
        confidence,
        figures[0],
        figures[1],
        figures[2],
        figures[3],
    )


def _without_maximum(
    seen: Likelihood,
    shape: float | None,
    counts: tuple[float, float],
    given: tuple[bool, float],
    way: Way,
    confidence: float,
) -> WeibullFit:
    least, why = (0.0, 0.0, 0.0), "no failure"
    if seen.failures:
        why = "the shape grows without end" if float(seen.score(np.array([1.0]))[0]) > 0 else "the shape falls to none"
    elif shape is not None:
        low = Weibull(least_scale(seen.observations, shape, confidence), shape)
        least = (low.scale, low.use_at(0.1), low.mean)
    known = Estimate(None, 0.0, math.inf) if shape is None else Estimate(shape, shape, shape)
    scale, b10, mean = (Estimate(None, use, math.inf) for use in least)
    return WeibullFit(
        *counts, None, *given, math.nan, math.nan, math.nan, way, confidence, known, scale, b10, mean, why
    )


def least_scale(observations: Iterable[Observation], shape: float, confidence: float) -> float:
    """The scale that lives without a failure are longer than, at a confidence, for a given shape.

    At that scale the chance to see none fail is 1 - confidence: exp(-sum of w (t^b - e^b) / s^b).

    >>> from costplan.life.fitting import lives_seen
    >>> round(least_scale(lives_seen([], censored=[100.0]), shape=1.0, confidence=0.9), 2)
    43.43
    """
    need_share(confidence=confidence)
    lived = math.fsum(life.weight * (life.end**shape - life.start**shape) for life in observations)
    return float((lived / cumulated(confidence)) ** (1 / shape))


def prior_failures(life: Weibull, count: float) -> tuple[Observation, ...]:
    """A life as so many failures seen: its quantiles at the nodes of Gauss and Legendre, with their weights."""
    need_above(0, prior=count, scale=life.scale, shape=life.shape)
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    return tuple(
        Observation(0.0, life.use_at(float(node + 1) / 2), failed=True, weight=count * float(weight) / 2)
        for node, weight in zip(nodes, weights, strict=True)
    )


def normal_spread(confidence: float) -> float:
    """How many standard deviations to either side hold so much of a normal distribution; its square is the quantile of
    chi-square with one degree of freedom."""
    return float(special.ndtri((1 + confidence) / 2))


def _exp(power: float) -> float:
    """e to a power, infinite where it is beyond all use."""
    return math.exp(power) if power < 690 else math.inf


def _same(shapes: Floats) -> Floats:
    return np.zeros_like(shapes)


def _one_in_ten(shapes: Floats) -> Floats:
    found: Floats = _B10 / shapes
    return found


def _mean(shapes: Floats) -> Floats:
    found: Floats = special.gammaln(1 + 1 / shapes)
    return found


#: Scale, B10 and mean: ln of their ratio to the scale, and how that moves with the shape.
_FIGURES: tuple[tuple[LogRatio, Callable[[float], float]], ...] = (
    (_same, lambda _: 0.0),
    (_one_in_ten, lambda shape: -_B10 / shape**2),
    (_mean, lambda shape: -float(special.digamma(1 + 1 / shape)) / shape**2),
)


def bounds_of(
    seen: Likelihood, shape: float, *, fixed: bool, way: Way, confidence: float
) -> tuple[tuple[float, float], ...]:
    """The bounds of shape, scale, B10 and mean around the likeliest life of some observations."""
    if way == "likelihood":
        return _by_likelihood(seen, shape, confidence, fixed=fixed)
    scale = seen.scale_at(shape)
    spread = normal_spread(confidence)
    covariance = seen.covariance(shape, scale, fixed=fixed)
    errors = [(value, spread * math.sqrt(float(slope @ covariance @ slope))) for value, slope in _slopes(shape, scale)]
    if way == "raw":
        return tuple((value - error, value + error) for value, error in errors)
    return tuple((value * _exp(-error / value), value * _exp(error / value)) for value, error in errors)


def _slopes(shape: float, scale: float) -> Sequence[tuple[float, Floats]]:
    """Shape, scale, B10 and mean, each with how it moves with shape and scale."""
    found = [(shape, np.array([1.0, 0.0]))]
    for ratio, slope in _FIGURES:
        value = scale * math.exp(float(ratio(np.array([shape]))[0]))
        found.append((value, value * np.array([slope(shape), 1 / scale])))
    return found


def _by_likelihood(
    seen: Likelihood, shape: float, confidence: float, *, fixed: bool
) -> tuple[tuple[float, float], ...]:
    """The ends of all that the likelihood ratio does not reject, figure by figure.

    A figure's ends lie on the rim of the region of shape and scale where log L has fallen by no more than half of the
    chi-square quantile; for each shape of it the rim has two scales, in closed form.
    """
    rim = seen.profile_at(shape) - normal_spread(confidence) ** 2 / 2
    low, high = (shape, shape) if fixed else _shape_ends(seen, shape, rim)
    shapes = np.geomspace(low, high, 1 if fixed else _STEPS)
    outside = (0.0 if low <= WIDEST[0] else low, math.inf if high >= WIDEST[1] else high)
    figures = [(_end(seen, ratio, shapes, rim, -1), _end(seen, ratio, shapes, rim, 1)) for ratio, _ in _FIGURES]
    return (outside, *figures)


def _shape_ends(seen: Likelihood, shape: float, rim: float) -> tuple[float, float]:
    """The shapes below and above the likeliest at which the profile has fallen to the rim, or the widest."""

    def above(shape: float) -> float:
        return seen.profile_at(shape) - rim

    ends = []
    for widest, step in zip(WIDEST, (0.5, 2.0), strict=True):
        near, far = shape, shape * step
        while above(far) > 0 and WIDEST[0] < far < WIDEST[1]:
            near, far = far, far * step
        ends.append(widest if above(far) > 0 else float(optimize.brentq(above, near, far, xtol=1e-10)))
    return ends[0], ends[1]


def _end(seen: Likelihood, ratio: LogRatio, shapes: Floats, rim: float, side: int) -> float:
    """The least (-1) or greatest (1) value of a figure on the rim: the best of the shapes, then between its two
    neighbours."""

    def at(logs: Floats) -> Floats:
        these = np.exp(logs)
        fall = np.maximum(seen.profile(these) - rim, 0.0)
        found: Floats = seen.log_scales(these, fall, side) + ratio(these)
        return found

    logs = np.log(shapes)
    values = at(logs)
    best = int(np.argmax(side * values))
    found = float(values[best])
    if len(shapes) > 1:
        span = (float(logs[max(best - 1, 0)]), float(logs[min(best + 1, len(logs) - 1)]))
        near = optimize.minimize_scalar(
            lambda log: -side * float(at(np.array([log]))[0]), bounds=span, method="bounded", options={"xatol": 1e-7}
        )
        found = side * max(side * found, -float(near.fun))
    return _exp(found)
