"""A fit beside the catalog's life: which way it is fitted for what there is, what that says, and the row to write."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from costplan.catalog import LifeRow, Role
from costplan.life.fitting.maximum import Estimate, Way, WeibullFit, fit_weibull
from costplan.life.fitting.observations import Observation
from costplan.life.lives import DEFAULT_SHAPE, Life, life_of
from costplan.life.weibull import Weibull

#: With fewer failures the shape is not fitted; with fewer than so many its bounds are said in words.
FEWEST, MANY = 3, 10
#: Shares of lives broken by replace_at that a row may well say; beyond them low and likely are written.
RISKS = (1e-6, 0.999)

METHOD = "maximum likelihood of a Weibull life"
CENSORING = (
    "right censored where it was changed, serviced, or whole at the log's end; left truncated where it was first seen "
    "with use on it"
)
WAYS: dict[Way, str] = {
    "likelihood": "by the likelihood ratio, each figure with the rest profiled out",
    "log": "by a normal distribution of the logarithm",
    "raw": "by a normal distribution of the figure itself",
}


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure of a life from the log, its bounds, and the catalog's; in the unit of the life's row.

    A bound that there is not is infinite.
    """

    value: float | None
    low: float
    high: float
    catalog: float | None

    @property
    def holds(self) -> bool | None:
        """Whether the bounds hold the catalog's figure; None where there is none, or where they say nothing."""
        if self.catalog is None or (self.low <= 0 and math.isinf(self.high)):
            return None
        return self.low <= self.catalog <= self.high


@dataclass(frozen=True, slots=True)
class Written:
    """A row for lives.csv, by its columns."""

    part: str
    measure: str
    replace_at: float | None
    risk: float | None
    low: float | None
    likely: float | None
    shape: float | None
    limit: float | None
    rated_rpm: float | None
    rpm_exponent: float | None
    life_of: str
    warning: float | None
    source: str


@dataclass(frozen=True, slots=True)
class FittedLife:
    """What logs say of a part in a slot, in one measure.

    `of`: whether sets or single pieces are counted. `failures` broke, `censored` were whole when they were last seen;
    `late` of them all were first seen with use on them; `unknown` are left out, since the log does not say how much use
    they had or a service step lies behind them; `cut` have runs without a figure, and count up to the first of those.
    `longest`: the most use that one was seen with. `shape_from`: log, catalog (its row or its role), or assumed.
    `log_likelihood`: that of what was seen under the fit, a prior's failures among it; None without a fit. `row`: what
    could stand in lives.csv; None where the log alone gives no life. `weibull` and `catalog`: the two curves, `limit`
    the catalog's hard limit; all in the unit of the row.
    """

    slot: str
    part: str
    role: str
    measure: str
    of: str
    failures: int
    censored: int
    late: int
    unknown: int
    cut: int
    longest: float
    shape: Figure
    scale: Figure
    b10: Figure
    mean: Figure
    shape_from: str
    method: str
    censoring: str
    bounds: str
    confidence: float
    prior: float
    log_likelihood: float | None
    notes: tuple[str, ...]
    row: Written | None
    weibull: Weibull | None
    catalog: Weibull | None
    replace_at: float | None
    limit: float | None


@dataclass(frozen=True, slots=True)
class Asked:
    """How lives are fitted: the failures that the catalog's life counts as, confidence and way of the bounds."""

    prior: float = 0.0
    confidence: float = 0.9
    way: Way = "likelihood"


@dataclass(frozen=True, slots=True)
class Seen:
    """What logs show of a part in a slot: observations in the row's unit, and the words for where they come from."""

    slot: str
    part: str
    observations: tuple[Observation, ...]
    unknown: int
    cut: int
    logs: tuple[str, ...]
    until: date

    @property
    def failures(self) -> int:
        return sum(one.failed for one in self.observations)

    @property
    def longest(self) -> float:
        return max((one.end for one in self.observations), default=0.0)


def judge(seen: Seen, row: LifeRow, role: Role | None, asked: Asked) -> FittedLife:
    """What was seen beside the row that the catalog has for it.

    With three failures or more shape and scale are fitted; with fewer, and where the likelihood has no maximum, the
    scale alone is, with the shape of the catalog, else of its role, else an assumed one; without a failure it only has
    a lower bound. A prior, where it is asked for and the catalog has a curve, counts as so many failures; both are
    fitted then.
    """
    life = life_of(row, role, 1)
    catalog = _in_unit(life)
    fit = _fit(seen, catalog, role, asked) if seen.observations else None
    shape, scale, b10, mean = (_figure(fit, catalog, name) for name in ("shape", "scale", "b10", "mean"))
    replace_at = row.measure.from_kept(life.replace_at) if math.isfinite(life.replace_at) else None
    weibull, given = fit.weibull if fit else None, _shape_from(row, role)
    return FittedLife(
        slot=seen.slot,
        part=seen.part,
        role=role.role if role else row.role,
        measure=str(row.measure),
        of=row.life_of,
        failures=seen.failures,
        censored=len(seen.observations) - seen.failures,
        late=sum(one.start > 0 for one in seen.observations),
        unknown=seen.unknown,
        cut=seen.cut,
        longest=seen.longest,
        shape=shape,
        scale=scale,
        b10=b10,
        mean=mean,
        shape_from=given if fit is None or fit.fixed else "log",
        method=METHOD,
        censoring=CENSORING,
        bounds=WAYS[asked.way],
        confidence=asked.confidence,
        prior=fit.prior if fit else 0.0,
        log_likelihood=fit.log_likelihood if fit and fit.weibull else None,
        notes=tuple(_notes(seen, life, fit, replace_at, given)),
        row=_written(seen, row, weibull, replace_at) if weibull else None,
        weibull=weibull,
        catalog=catalog,
        replace_at=replace_at,
        limit=row.limit,
    )


def _shape_from(row: LifeRow, role: Role | None) -> str:
    """Whose word the shape is where the log's is not taken."""
    by_two_points = row.low is not None and row.likely is not None
    return "catalog" if by_two_points or row.shape or (role and role.shape) else "assumed"


def _in_unit(life: Life) -> Weibull | None:
    """The catalog's curve in the unit of its row; None for a life that is only a limit."""
    if math.isinf(life.weibull.scale):
        return None
    return Weibull(life.measure.from_kept(life.weibull.scale), life.weibull.shape)


def _figure(fit: WeibullFit | None, catalog: Weibull | None, name: str) -> Figure:
    """A figure of the fit beside the catalog's."""
    of_catalog = {"b10": catalog.use_at(0.1), "mean": catalog.mean, "scale": catalog.scale} if catalog else {}
    beside = catalog.shape if catalog and name == "shape" else of_catalog.get(name)
    if fit is None:
        return Figure(None, 0.0, math.inf, beside)
    estimate: Estimate = getattr(fit, name)
    return Figure(estimate.value, estimate.low, estimate.high, beside)


def _fit(seen: Seen, catalog: Weibull | None, role: Role | None, asked: Asked) -> WeibullFit:
    if asked.prior and catalog is not None:
        prior = (catalog, asked.prior)
        return fit_weibull(seen.observations, prior=prior, confidence=asked.confidence, way=asked.way)
    shape = catalog.shape if catalog else (role.shape if role else None) or DEFAULT_SHAPE
    if seen.failures >= FEWEST:
        fit = fit_weibull(seen.observations, confidence=asked.confidence, way=asked.way)
        if fit.weibull is not None:
            return fit
    return fit_weibull(seen.observations, shape=shape, confidence=asked.confidence, way=asked.way)


def _notes(seen: Seen, life: Life, fit: WeibullFit | None, replace_at: float | None, given: str) -> Iterator[str]:
    """What must be said beside the figures: what is thin, what is taken from elsewhere, what is left out."""
    yield from _thin(seen, fit, given) if fit else ("nothing of it was seen for a while",)
    yield from _wear(fit) if fit else ()
    if replace_at is not None and seen.observations and seen.longest < replace_at:
        yield f"none was watched as far as replace_at: {seen.longest:.4g} at the most; beyond it is the curve alone"
    if life.rated_rpm is not None:
        yield f"the catalog's life is at {life.rated_rpm:,.0f} rpm; the log's use is counted as run at that speed"
    if seen.unknown:
        yield f"{seen.unknown} left out: use that the log does not give, or a service step behind them"
    if seen.cut:
        yield f"{seen.cut} only counted up to a run without a figure in this measure"


def _thin(seen: Seen, fit: WeibullFit, given: str) -> Iterator[str]:
    """What too few failures cannot say."""
    count, assumed = _counted(seen.failures, "failure"), f"assumed {DEFAULT_SHAPE:g}"
    taken = "taken from the catalog" if given == "catalog" else assumed
    if fit.prior:
        yield f"{count}; the catalog's life counts as {fit.prior:g} more, in the bounds too"
    elif not seen.failures:
        shape = "catalog's shape" if given == "catalog" else f"shape, {assumed},"
        sure = f"{fit.confidence:.0%} sure, if the {shape} is true"
        yield f"no failure: the log only says what the life is longer than, {sure}"
    elif seen.failures < FEWEST:
        yield f"{count}: the shape is {taken}; only the scale is fitted"
    elif fit.fixed:
        yield f"{count}, and no shape is the likeliest: it is {taken}; only the scale is fitted"
    elif seen.failures < MANY:
        yield f"{count}: the shape is only known to be {_span(fit.shape)}"


def _wear(fit: WeibullFit) -> Iterator[str]:
    """What a shape near 1 or below means."""
    if fit.weibull is None or fit.fixed:
        return
    if fit.weibull.shape < 1:
        yield "the shape is below 1: it breaks early in its life, and renewing it by age makes failures more often"
    elif fit.shape.low < 1:
        yield "the shape may be 1: then use does not wear it out, and renewing it by age saves no failure"


def _span(estimate: Estimate) -> str:
    if math.isinf(estimate.high):
        return f"above {estimate.low:.3g}"
    return f"between {estimate.low:.3g} and {estimate.high:.3g}"


def _counted(count: int, word: str) -> str:
    return f"{count} {word}{'' if count == 1 else 's'}"


def _written(seen: Seen, row: LifeRow, weibull: Weibull, replace_at: float | None) -> Written:
    """The row that says in lives.csv what the log says: the catalog's replace_at with the risk that the fit gives
    there; low and likely where the catalog has none, or where that risk is next to none or all."""
    risk = weibull.failed(replace_at) if replace_at is not None else 0.0
    by_risk = RISKS[0] <= risk <= RISKS[1]
    whole = len(seen.observations) - seen.failures
    source = (
        f"fitted from {' and '.join(seen.logs)}: {_counted(seen.failures, 'failure')}, {whole} whole, to {seen.until}"
    )
    return Written(
        seen.part,
        str(row.measure),
        None if replace_at is None else _digits(replace_at),
        _digits(risk) if by_risk else None,
        None if by_risk else _digits(weibull.use_at(0.1)),
        None if by_risk else _digits(weibull.use_at(0.5)),
        _digits(weibull.shape) if by_risk else None,
        row.limit,
        row.rated_rpm,
        row.rpm_exponent,
        row.life_of,
        row.warning or None,
        source,
    )


def _digits(value: float, digits: int = 4) -> float:
    return float(f"{value:.{digits}g}")
