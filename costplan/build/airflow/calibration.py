"""A dyno sheet sets the estimate's one factor, and its error."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from costplan.build.airflow.breath import Breath
from costplan.build.airflow.standards import STANDARDS
from costplan.build.pattern import Airflow
from costplan.garage.dyno import OBSERVED, Pull
from costplan.problems import Place

#: With fewer points the error is not set by them.
ENOUGH = 3
#: Standard deviations of what is left that the error counts, about 95 %.
DEVIATIONS = 2
#: No error is smaller: what a brake repeats to, common practice, no source.
LEAST = 0.01


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
