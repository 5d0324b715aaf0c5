"""A dyno sheet sets the estimate's one factor, and its error."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from costplan.build.airflow.breath import Breath
from costplan.build.airflow.standards import STANDARDS
from costplan.build.pattern import Airflow
from costplan.garage.dyno import OBSERVED, Pull
from costplan.problems import Place, Problem
from costplan.quantity import Quantity

#: With fewer points the error is not set by them.
ENOUGH = 3
#: Standard deviations of what is left that the error counts, about 95 %.
DEVIATIONS = 2
#: No error is smaller: what a brake repeats to, common practice, no source.
LEAST = 0.01
#: With a larger error a sheet tells nothing: one of its rows is a slip.
MOST = 0.5
#: Nor does a factor outside these come from an engine, but from a unit, a digit or a figure of the pattern.
FACTORS = (0.5, 2.0)
#: In place of a factor that is zero or below.
TINY = 1e-300


@dataclass(frozen=True, slots=True)
class Point:
    """One pull, powers in kW: as the sheet gives it, brought to the standard, and as the calibrated curve has it."""

    engine: str
    rpm: float
    measured: float
    corrected_by: str
    corrected: float
    estimate: float
    place: Place

    @property
    def off(self) -> float:
        """How much more the curve has than the sheet."""
        return self.estimate - self.corrected


@dataclass(frozen=True, slots=True)
class Calibration:
    """`factor` on the power on the pistons; `error` either way as a share of the power on the brake.

    `spread`: standard deviation of what is left, kW, None with one point. `enough`: whether it set the error.
    """

    factor: float
    error: float
    standard: str
    points: tuple[Point, ...]
    spread: float | None
    enough: bool

    @property
    def speeds(self) -> tuple[float, float]:
        """The slowest and the fastest pull, rpm; beyond them the curve is carried on."""
        return min(point.rpm for point in self.points), max(point.rpm for point in self.points)


def corrected(pull: Pull, standard: str) -> float:
    """A pull's power in kW, brought to a standard; by its own air where the sheet gives another."""
    if pull.corrected == standard:
        return pull.kilowatts
    observed = pull.kilowatts
    if pull.corrected != OBSERVED:
        observed /= STANDARDS[pull.corrected].factor(*pull.air)
    return observed * STANDARDS[standard].factor(*pull.air)


def calibrate(airflow: Airflow, pulls: Sequence[tuple[Pull, Breath]]) -> Calibration:
    """The factor of least squares on corrected power, friction left as it is; `pulls` with their uncalibrated engine.

    The sum of (corrected + friction - factor * indicated)^2 is least for factor = sum of (corrected + friction) *
    indicated / sum of indicated^2. With three points or more the error is twice the standard deviation of what is left
    (one degree of freedom used) over the mean corrected power, and no less than 1 %. With fewer it stays as stated.
    What the friction of another kind of engine is off by, the factor takes up too.
    """
    rows = [(corrected(pull, airflow.standard), breath.indicated(pull.rpm), breath) for pull, breath in pulls]
    frictions = [breath.friction(pull.rpm) for pull, breath in pulls]
    top = sum((power + lost) * given for (power, given, _), lost in zip(rows, frictions, strict=True))
    factor = top / sum(given * given for _, given, _ in rows)
    fitted = [factor * given - lost for (_, given, _), lost in zip(rows, frictions, strict=True)]
    left = sum((power - curve) ** 2 for (power, _, _), curve in zip(rows, fitted, strict=True))
    spread = math.sqrt(left / (len(rows) - 1)) if len(rows) > 1 else None
    enough = len(rows) >= ENOUGH
    mean = sum(power for power, _, _ in rows) / len(rows)
    error = max(LEAST, DEVIATIONS * spread / mean) if enough and spread is not None else airflow.error
    points = tuple(
        Point(pull.engine, pull.rpm, pull.kilowatts, pull.corrected, power, curve, pull.place)
        for (pull, _), (power, _, _), curve in zip(pulls, rows, fitted, strict=True)
    )
    return Calibration(factor, error, airflow.standard, points, spread, enough)


def doubt(found: Calibration, airflow: Airflow, pulls: Sequence[tuple[Pull, Breath]]) -> Problem | None:
    """Why a sheet calibrates nothing, told at the row furthest off; None where it does.

    Its rows scatter so that the error is above 50 %, or they give less than half or more than twice of what the pattern
    makes of the engine, all together or, where they are fewer than three, one of them.
    """
    factors = [
        (corrected(pull, found.standard) + breath.friction(pull.rpm)) / breath.indicated(pull.rpm)
        for pull, breath in pulls
    ]
    if found.enough and found.error > MOST:
        typical = median(factors)
        pull, breath, _ = _furthest(pulls, factors, typical)
        what = f"so far off the other rows that the error of the estimate would be {found.error:.0%}:"
        return _doubted(pull, what, f"check its digits and unit{_rather(pull, breath, typical, found.standard)}")
    low, high = FACTORS
    if all(low <= factor <= high for factor in ((found.factor,) if found.enough else factors)):
        return None
    pull, _, factor = _furthest(pulls, factors, 1.0)
    what = f"{factor:.2g} times what the pattern makes of the gas in this engine:"
    return _doubted(pull, what, f"check its digits, unit and engine, and full and otto_share in {airflow.place}")


def _furthest(
    pulls: Sequence[tuple[Pull, Breath]], factors: Sequence[float], typical: float
) -> tuple[Pull, Breath, float]:
    """The pull that is most times above or below a typical factor."""
    off = [abs(math.log(max(factor, TINY) / max(typical, TINY))) for factor in factors]
    at = off.index(max(off))
    return *pulls[at], factors[at]


def _rather(pull: Pull, breath: Breath, typical: float, standard: str) -> str:
    """What the other rows would have at a pull's speed, in its unit."""
    given = pull.torque or pull.power
    power = typical * breath.indicated(pull.rpm) - breath.friction(pull.rpm)
    if given is None or power <= 0:
        return ""
    value = Quantity(float(f"{given.value * power / corrected(pull, standard):.3g}"), given.unit)
    return f"; by the others about {value}"


def _doubted(pull: Pull, what: str, advice: str) -> Problem:
    field = "power" if pull.torque is None else "torque"
    return Problem("DYN004", pull.place, field, str(getattr(pull, field)), what, advice)
