"""From life rows to lives: what a part's use counts in, when it is renewed, and what of that is assumed."""

from __future__ import annotations

import math
from dataclasses import dataclass

from costplan.catalog import LifeRow, Role
from costplan.life.weibull import Weibull, from_failures, from_replacement
from costplan.reading.fields import MeasureName

DEFAULT_RISK = 0.05
#: Where neither row nor role gives one: wear-out, common practice, no source.
DEFAULT_SHAPE = 2.5
#: Further from the third figure than this share of it, and the life says so.
HIGH_TOLERANCE = 0.2


@dataclass(frozen=True, slots=True)
class Life:
    """The life of a set of pieces in one measure of use, in the unit the measure is kept in.

    `replace_at` is where the trade renews (infinite: never by age), `limit` what must not be passed (infinite: none),
    in raw use; `rpm_exponent` and `rated_rpm` age a run by (rpm / rated)^exponent. `assumed` lists what is a guess,
    `row` is where it comes from. In the last `warning` share of the life a check can see the end coming.
    """

    measure: MeasureName
    weibull: Weibull
    replace_at: float
    limit: float
    rated_rpm: float | None
    rpm_exponent: float
    assumed: tuple[str, ...]
    row: LifeRow
    warning: float = 0.0

    def used_up_at(self, factor: float = 1.0) -> float:
        """The age at which a plan counts the life as used up, renewed at replace_at * factor: the mean at the latest.

        An infinite factor is running to failure.
        """
        return min(self.replace_at * factor, self.weibull.mean)


def life_of(row: LifeRow, role: Role | None, pieces: int) -> Life:
    """The life that a row gives to a set of so many pieces."""
    weibull, replace_at, assumed = _curve(row, role)
    if row.life_of == "piece":
        weibull = weibull.of_set(pieces)
    if not row.source:
        assumed = ("life has no source", *assumed)
    keep = row.measure.to_kept
    return Life(
        row.measure,
        Weibull(keep(weibull.scale), weibull.shape),
        keep(replace_at),
        math.inf if row.limit is None else keep(row.limit),
        row.rated_rpm,
        row.rpm_exponent or 0.0,
        assumed,
        row,
        row.warning,
    )


def _curve(row: LifeRow, role: Role | None) -> tuple[Weibull, float, tuple[str, ...]]:
    """One piece's life in the row's unit, the use it is renewed at, and what of it is assumed."""
    if row.low is not None and row.likely is not None:
        weibull = from_failures(row.low, row.likely)
        assumed = () if row.replace_at else ("replace_at = low",)
        return weibull, row.replace_at or row.low, (*assumed, *_far_from_high(row, weibull))
    if row.replace_at is None:
        return Weibull(math.inf, 1.0), math.inf, ()
    risk, shape = row.risk or DEFAULT_RISK, row.shape or (role.shape if role else None) or DEFAULT_SHAPE
    guesses = ((row.risk, f"share broken by replace_at = {risk:.0%}"), (row.shape, f"Weibull shape = {shape:g}"))
    return (
        from_replacement(row.replace_at, risk, shape),
        row.replace_at,
        tuple(word for given, word in guesses if not given),
    )


def _far_from_high(row: LifeRow, weibull: Weibull) -> tuple[str, ...]:
    """A note where the curve through low and likely misses the high figure by far."""
    if row.high is None or abs(weibull.use_at(0.9) / row.high - 1) <= HIGH_TOLERANCE:
        return ()
    return (f"high {row.high:g}, where the curve through low and likely gives {weibull.use_at(0.9):.3g}",)


def duty(use: float, weight: float, rpm: float | None, life: Life) -> float:
    """How much a run ages a life: use * weight * (rpm / rated_rpm)^rpm_exponent (inverse power law, linear damage).

    A life without a rated rpm ages by use and weight alone.
    """
    if life.rated_rpm is None or rpm is None:
        return use * weight
    return use * weight * math.pow(rpm / life.rated_rpm, life.rpm_exponent)
