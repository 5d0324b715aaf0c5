"""Everything told of how one build breathes: its restrictions, what decides, and the estimate over speed."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from costplan.build.airflow.breath import Breath
from costplan.build.airflow.calibration import Calibration
from costplan.build.airflow.reading import Found, Size, Valve, areas_of, breath_of
from costplan.build.pattern import Airflow, Build
from costplan.formulas import friction_pressure, series_area
from costplan.formulas.airflow import FRICTION_RANGE, KNEE
from costplan.problems import Place
from costplan.quantity import Quantity, convert

#: How much larger a restriction is made to see what that brings.
LARGER = 1.1
#: About so many speeds are shown, from this share of the highest on.
SPEEDS, FROM, STEP = 9, 0.4, 500


@dataclass(frozen=True, slots=True)
class Restriction:
    """An opening that one cylinder draws through.

    `area`: effective, as much as it has of it while it draws; the ports' mean over the lift. `share` of the resistance,
    which goes by 1 / area^2. `gain`: what the estimate has more with a tenth more of it; `certain`: whether that is
    more than the error. `place`: of its first row in flow.csv.
    """

    slot: str
    part: str
    area: Quantity
    share: float
    gain: Quantity
    certain: bool
    place: Place


@dataclass(frozen=True, slots=True)
class Speed:
    """The estimate at one speed; `friction` is its mean pressure; `beyond`: whether no pull of the sheet reaches it."""

    rpm: float
    index: float
    volumetric_efficiency: float
    friction: Quantity
    power: Quantity
    error: Quantity
    torque: Quantity
    beyond: bool

    def between(self) -> tuple[float, float]:
        """The power less its error and with it, in the unit of the power."""
        return self.power.value - self.error.value, self.power.value + self.error.value


@dataclass(frozen=True, slots=True)
class Knee:
    """A published index above which the filling falls fast, and the speed at which the engine passes it."""

    index: float
    rpm: float


@dataclass(frozen=True, slots=True)
class Breathing:
    """How a build breathes. Where something is `missing`, nothing is estimated: `peak` and `error` are None.

    `error` is that of the peak, either way; `error_share` as a share. `decides`: the slot of the largest share of the
    resistance. `why` has the rows behind it. `pulled`: whether an engine with such parts was on the brake, so that the
    scatter of its pulls is the error of this one too; `unpulled`: the slots whose parts were not (all without a sheet).
    """

    standard: str
    unit: str
    error_share: float
    restrictions: tuple[Restriction, ...] = ()
    decides: str = ""
    opening: Quantity | None = None
    duration: Quantity | None = None
    limit: float | None = None
    index: float | None = None
    knees: tuple[Knee, ...] = ()
    peak: Quantity | None = None
    error: Quantity | None = None
    peak_rpm: float | None = None
    speeds: tuple[Speed, ...] = ()
    calibration: Calibration | None = None
    pulled: bool = False
    unpulled: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
    extrapolated: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    why: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Engine:
    """One build in all its figures: areas in cm2 by slot, as one cylinder has them while it draws."""

    airflow: Airflow
    size: Size
    valve: Valve
    limit: float
    areas: Mapping[str, float]
    places: Mapping[str, Place]
    factor: float

    def breath(self, larger: str = "") -> Breath:
        """It as plain numbers, one of its restrictions a tenth larger."""
        areas = (area * LARGER if slot == larger else area for slot, area in self.areas.items())
        return breath_of(self.airflow, self.size, self.valve, areas, self.limit, self.factor)

    def gain(self, slot: str, peak: float) -> float:
        """What a tenth more of a restriction brings, kW."""
        breath = self.breath(slot)
        return breath.power(breath.best_speed()) - peak


@dataclass(frozen=True, slots=True)
class Turn:
    """How a build breathes while another part takes its turn in a slot."""

    slot: str
    part: str
    breathing: Breathing


def look_at(
    build: Build,
    airflow: Airflow,
    found: Sequence[Found[Any]],
    slots: Sequence[str],
    calibration: Calibration | None,
) -> Breathing:
    """How a build breathes; `found`: its size, intake valve and highest speed, then what stands in each of `slots`."""
    share = calibration.error if calibration else airflow.error
    missing = tuple(dict.fromkeys(word for one in found for word in one.missing))
    why = tuple(dict.fromkeys(line for one in found for line in one.why))
    told = Breathing(airflow.standard, airflow.unit, share, calibration=calibration, missing=missing, why=why)
    values: list[Any] = [one.value for one in found if one.value is not None]
    if len(values) < len(found):
        return told
    size, valve, limit, *openings = values
    areas = areas_of(airflow, size, valve, dict(zip(slots, openings, strict=True)))
    places = dict(zip((airflow.ports, *slots), (one.place for one in (found[1], *found[3:])), strict=True))
    engine = _Engine(airflow, size, valve, limit, areas, places, calibration.factor if calibration else 1.0)
    return replace(
        _estimated(told, engine, build),
        assumed=tuple(_assumed(airflow, found, calibration)),
        extrapolated=tuple(_extrapolated(engine, found, calibration)),
    )


def _estimated(told: Breathing, engine: _Engine, build: Build) -> Breathing:
    """What is told of a build, with the estimate."""
    airflow, breath = engine.airflow, engine.breath()
    best = breath.best_speed()
    peak = breath.power(best)
    restrictions = tuple(_restrictions(build, engine, peak, told.error_share * peak))
    return replace(
        told,
        restrictions=restrictions,
        decides=max(restrictions, key=lambda one: one.share).slot,
        opening=Quantity(series_area(tuple(engine.areas.values())), "cm2"),
        duration=Quantity(engine.valve.duration, "deg"),
        limit=engine.limit,
        index=breath.index(engine.limit),
        knees=tuple(Knee(index, index / breath.index_a_turn) for index in KNEE),
        peak=_power(peak, airflow),
        error=_power(told.error_share * peak, airflow),
        peak_rpm=best,
        speeds=tuple(_speed(breath, rpm, airflow, told.calibration) for rpm in _speeds(engine.limit)),
    )


def _restrictions(build: Build, engine: _Engine, peak: float, error: float) -> Iterator[Restriction]:
    """Each opening with its share of the resistance and what more of it brings, in kW beside the error."""
    whole = sum(1 / (area * area) for area in engine.areas.values())
    for slot, area in engine.areas.items():
        part, gain = build.fills[slot].part.part, engine.gain(slot, peak)
        share = 1 / (area * area) / whole
        yield Restriction(
            slot, part, Quantity(area, "cm2"), share, _power(gain, engine.airflow), gain > error, engine.places[slot]
        )


def _speeds(limit: float) -> tuple[float, ...]:
    """Round speeds up to the highest, and that."""
    step = STEP * max(1, round((1 - FROM) * limit / STEP / SPEEDS))
    rounded = [float(rpm) for rpm in range(0, math.ceil(limit), step) if rpm >= FROM * limit]
    return (*rounded, limit)


def _speed(engine: Breath, rpm: float, airflow: Airflow, calibration: Calibration | None) -> Speed:
    power, share = engine.power(rpm), calibration.error if calibration else airflow.error
    torque = Quantity(60_000 * power / (2 * math.pi * rpm), "N.m")
    return Speed(
        rpm,
        engine.index(rpm),
        engine.filling(rpm),
        Quantity(friction_pressure(rpm), "bar"),
        _power(power, airflow),
        _power(share * abs(power), airflow),
        torque.into("lbf.ft" if airflow.unit == "hp" else "N.m"),
        _is_beyond(rpm, calibration),
    )


def _is_beyond(rpm: float, calibration: Calibration | None) -> bool:
    """Whether a speed lies outside those of the dyno sheet."""
    return calibration is not None and not calibration.speeds[0] <= rpm <= calibration.speeds[1]


def _power(kilowatts: float, airflow: Airflow) -> Quantity:
    return Quantity(convert(kilowatts, "kW", airflow.unit), airflow.unit)


#: The figures of the table that an estimate takes as they are, in words.
FIGURES = {
    "full": "volumetric efficiency {:g} at low speed",
    "otto_share": "{:g} of the ideal cycle's efficiency",
    "heat_ratio": "ratio of specific heats {:g} in that cycle",
    "duration_lift": "duration stated above {} of rise",
}


def _assumed(airflow: Airflow, found: Sequence[Found[Any]], calibration: Calibration | None) -> Iterator[str]:
    """What of the estimate nobody measured or answers for."""
    for name, words in FIGURES.items():
        if not airflow.source or name not in airflow.model_fields_set:
            yield f"{words.format(getattr(airflow, name))} ({_by(name, airflow)})"
    yield "the curve of filling between that and choked flow: its form is costplan's own"
    if calibration is None or not calibration.enough:
        yield f"error of {airflow.error:.0%} either way ({_by('error', airflow)})"
    yield from dict.fromkeys(word for one in found for word in one.assumed)


def _by(name: str, airflow: Airflow) -> str:
    """Whose word a figure of the table is."""
    if name not in airflow.model_fields_set:
        return "as costplan takes it where the pattern says nothing"
    return f"[airflow], {airflow.source or 'without a source'}; {airflow.place}"


def _extrapolated(engine: _Engine, found: Sequence[Found[Any]], calibration: Calibration | None) -> Iterator[str]:
    """What of the estimate lies outside the range that its source covers."""
    (low, high), displacement, best = FRICTION_RANGE, engine.size.displacement, engine.breath().best_speed()
    if not low <= displacement <= high:
        yield (
            f"friction (Heywood eq. 13.6, from memory): measured on engines of {low:g} to {high:g} cm3, this has "
            f"{displacement:.0f} cm3"
        )
    if calibration is not None:
        slowest, fastest = calibration.speeds
        if any(_is_beyond(rpm, calibration) for rpm in (*_speeds(engine.limit), best)):
            reach = f"{slowest:,.0f} to {fastest:,.0f}" if slowest < fastest else f"{slowest:,.0f}"
            yield f"power at speeds that no pull has: the dyno sheet is of {reach} rpm"
    yield from dict.fromkeys(word for one in found for word in one.extrapolated)
