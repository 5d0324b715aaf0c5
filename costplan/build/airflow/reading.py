"""What the estimate takes of a build: size, intake valve, highest speed and openings, each with its rows."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import Generic, TypeVar

from costplan.build.airflow.breath import Breath
from costplan.build.airflow.openings import (
    Lobe,
    Opening,
    assumed_lobe,
    highest,
    mean_opening,
    measured_lobe,
    opening_of,
)
from costplan.build.airflow.standards import STANDARDS
from costplan.build.airflow_file import RPM_LIMIT
from costplan.build.bill import Bill
from costplan.build.figures import Figure, Figures
from costplan.build.pattern import Airflow, Build, Fill
from costplan.catalog import Catalog
from costplan.formulas import (
    InputError,
    mach_index_by_area,
    mean_piston_speed,
    otto_efficiency,
    series_area,
    shared_area,
)
from costplan.formulas.airflow import HEAT_OF_AIR
from costplan.formulas.checking import need_at_most
from costplan.problems import NOWHERE, Place
from costplan.quantity import Quantity

T = TypeVar("T")
_NO_BILL = Bill((), "", date.min, None, Decimal(0), Decimal(0), 0, None)


@dataclass(frozen=True, slots=True)
class Found(Generic[T]):
    """A value, or None where `missing` says what it lacks; with the rows it rests on, and what of it is no figure.

    `place`: of the first row of flow behind an opening.
    """

    value: T | None
    why: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
    extrapolated: tuple[str, ...] = ()
    place: Place = NOWHERE


@dataclass(frozen=True, slots=True)
class Size:
    """An engine's size: bore and stroke in cm, displacement in cm3; and the heat that a kg of its air burns, MJ."""

    bore: float
    stroke: float
    displacement: float
    ratio: float
    cylinders: float
    heat: float


@dataclass(frozen=True, slots=True)
class Valve:
    """The mean opening of one intake port with its valve, cm2, and how long it lasts, degrees of the crank."""

    area: float
    duration: float


def figures_of(build: Build) -> Figures:
    """The figures of a build; nothing here asks what it costs."""
    return Figures(build, _NO_BILL)


def size_of(figures: Figures, airflow: Airflow, _: Catalog) -> Found[Size]:
    """Bore, stroke, displacement, compression ratio, cylinders and heat."""
    found = [figures.measure(name) for name in ("bore", "stroke", "displacement", "compression_ratio")]
    found.append(figures.given("cylinders"))
    heat = _heat(figures, airflow)
    why, missing = _told(found)
    if missing or heat.value is None:
        return Found(None, (*why, *heat.why), (*missing, *heat.missing))
    pairs = zip(found, ("cm", "cm", "cm3", "1", "1"), strict=True)
    bore, stroke, displacement, ratio, cylinders = (one.value.to(unit) for one, unit in pairs if one.value is not None)
    size = Size(bore, stroke, displacement, ratio, cylinders, heat.value)
    if min(bore, stroke, displacement, cylinders) <= 0 or ratio <= 1:
        return Found(None, why, (f"a possible size: {cylinders:g} x {bore:g} x {stroke:g} cm, ratio {ratio:g}",))
    return Found(size, (*why, *heat.why), assumed=heat.assumed)


def _heat(figures: Figures, airflow: Airflow) -> Found[float]:
    """Heat for each kg of air: as the pattern gives it, else by the fuel."""
    if airflow.heat is not None:
        return Found(airflow.heat.to("MJ/kg"), (f"heat {airflow.heat} of air ({airflow.place})",))
    slot, point, attribute = airflow.fuel.partition(".")
    word = figures.word(slot, attribute) if point else None
    fuel = airflow.fuel if word is None else word.value
    if fuel is None:
        return Found(None, (), word.missing if word else ())
    if fuel not in HEAT_OF_AIR:
        return Found(None, (), (f"heat of {fuel} under [airflow] ({airflow.place})",))
    heat = HEAT_OF_AIR[fuel]
    why = word.why if word else (f"fuel {fuel} ({airflow.place})",)
    return Found(heat, why, assumed=(f"{fuel} gives {heat:g} MJ for each kg of air (from memory)",))


def valve_of(figures: Figures, airflow: Airflow, catalog: Catalog) -> Found[Valve]:
    """The mean opening of the ports over the lift of the cam through the rocker."""
    fill = figures.build.fills.get(airflow.ports)
    opening = opening_of(fill.part, catalog, valves=True) if fill else None
    lift, lobe_lift = figures.measure("intake_lift"), figures.given("intake_lobe_lift", "intake")
    why, missing = _told((lift, lobe_lift))
    if opening is None or lift.value is None or lobe_lift.value is None:
        return Found(None, why, (*missing, *(() if opening else (_no_flow(airflow.ports, fill, "by lift"),))))
    try:
        lobe = _lobe(figures, airflow, catalog, lobe_lift.value)
        if lobe.value is None:
            return Found(None, (*why, *lobe.why), lobe.missing)
        found = _lifted(lobe.value, lift.value.to("mm") / lobe_lift.value.to("mm"), opening)
    except InputError as refused:
        return Found(None, why, (f"a possible {refused.name} ({refused.value}): {refused.advice}",))
    assumed = (*lobe.assumed, *_assumed_flow(airflow.ports, opening.assumed))
    return replace(found, why=tuple(dict.fromkeys((*why, *lobe.why, *opening.why))), assumed=assumed)


def _lifted(lobe: Lobe, ratio: float, opening: Opening) -> Found[Valve]:
    """A valve over its lobe; raises InputError where that has no answer."""
    need_at_most(720, duration=lobe.duration)
    return Found(
        Valve(mean_opening(lobe, ratio, opening), lobe.duration),
        extrapolated=(*opening.extrapolated, *_beyond(lobe.top * ratio, opening)),
        place=opening.rows[0].place,
    )


def _beyond(top: float, opening: Opening) -> tuple[str, ...]:
    """What to say of a lift in mm above the last on the bench, in the unit of that."""
    last = opening.rows[-1].lift
    if last is None or top <= opening.lifts[-1] * (1 + 1e-9):
        return ()
    lift = Quantity(top, "mm").into(last.unit)
    return (f"flow above {last} of lift, the last on the bench: taken as there (lift {lift})",)


def _lobe(figures: Figures, airflow: Airflow, catalog: Catalog, lobe_lift: Quantity) -> Found[Lobe]:
    """The intake lobe: its measured curve, else one of the assumed shape from rise and duration."""
    start, given = airflow.duration_lift.to("mm"), airflow.duration
    fill = figures.build.fills.get(given.partition(".")[0]) if isinstance(given, str) else None
    rows = catalog.lift_curve_of(fill.part.part) if fill else ()
    top = highest(rows).lift if rows else lobe_lift
    if top.to("mm") <= start:
        return Found(None, (), (_low_lobe(airflow, top, f" ({highest(rows).place})" if rows else ""),))
    if rows:
        why = (f"{rows[0].part} was measured at {len(rows)} angles ({rows[0].place} and on)",)
        unsourced = () if all(row.source for row in rows) else (f"lift curve of {rows[0].part}, without a source",)
        return Found(measured_lobe(rows, start), why, assumed=unsourced)
    if isinstance(given, str):
        duration = figures.attribute(*given.split(".", 1))
    else:
        duration = Figure("duration", given, (f"duration {given} ({airflow.place})",))
    if duration.value is None:
        return Found(None, duration.why, duration.missing)
    lobe = assumed_lobe(lobe_lift.to("mm"), duration.value.to("deg"), start)
    shape = f"shape of the lobe, from its rise and {duration.value} above {airflow.duration_lift}: no curve is known"
    return Found(lobe, duration.why, assumed=(shape,))


def _low_lobe(airflow: Airflow, top: Quantity, where: str) -> str:
    """What to say of a lobe that never rises to where its duration is stated."""
    lift = airflow.duration_lift
    return f"a duration_lift below the intake lobe's {top}{where}: {lift} under [airflow] ({airflow.place})"


def limit_of(figures: Figures, airflow: Airflow, _: Catalog) -> Found[float]:
    """The highest speed, rpm: the red line, or where the limiter cuts out below it."""
    found = [figures.given("red_line")]
    if airflow.limiter in figures.build.fills:
        found.append(figures.attribute(airflow.limiter, RPM_LIMIT))
    why, missing = _told(found)
    values = [figure.value.to("rpm") for figure in found if figure.value is not None]
    if missing or min(values) <= 0:
        return Found(None, why, missing or ("a possible red line",))
    return Found(min(values), why)


def opening_in(slot: str) -> Callable[[Figures, Airflow, Catalog], Found[float]]:
    """Asks for the whole opening of the part in a slot without valves, cm2; infinite where the slot may be empty."""

    def area_of(figures: Figures, _: Airflow, catalog: Catalog) -> Found[float]:
        fill = figures.build.fills.get(slot)
        if fill is None and figures.build.pattern.slots[slot].optional:
            return Found(math.inf)
        opening = opening_of(fill.part, catalog, valves=False) if fill else None
        if opening is None or opening.areas[0] <= 0:
            return Found(None, (), (_no_flow(slot, fill, "without lift"),))
        assumed = _assumed_flow(slot, opening.assumed)
        place = opening.rows[0].place
        return Found(opening.areas[0], opening.why, assumed=assumed, extrapolated=opening.extrapolated, place=place)

    return area_of


def _no_flow(slot: str, fill: Fill | None, how: str) -> str:
    return (
        f"a part in slot {slot}" if fill is None else f"flow of {fill.part.part} {how} in flow.csv ({fill.part.place})"
    )


def _assumed_flow(slot: str, assumed: bool) -> tuple[str, ...]:
    return (f"flow of the part in {slot}, without a source",) if assumed else ()


def _told(figures: Iterable[Figure]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The rows behind some figures, and what they lack."""
    found = tuple(figures)
    why = dict.fromkeys(line for figure in found for line in figure.why)
    return tuple(why), tuple(dict.fromkeys(word for figure in found for word in figure.missing))


def areas_of(airflow: Airflow, size: Size, valve: Valve, openings: Mapping[str, float]) -> dict[str, float]:
    """The area in cm2 that one cylinder has of each restriction while it draws, from the ports outward."""
    areas = {airflow.ports: valve.area}
    for slot, area in openings.items():
        if area < math.inf:
            shared = slot in airflow.shared
            areas[slot] = shared_area(area, size.cylinders, valve.duration) if shared else area
    return areas


def breath_of(
    airflow: Airflow, size: Size, valve: Valve, areas: Iterable[float], limit: float, factor: float
) -> Breath:
    """The engine as plain numbers; `areas` as one cylinder has them, `factor` as a dyno sheet sets it."""
    standard = STANDARDS[airflow.standard]
    opening = series_area(tuple(areas))
    a_turn = mean_piston_speed(size.stroke / 100, 1.0) / 60
    index = mach_index_by_area(math.pi / 4 * size.bore * size.bore, a_turn, opening, standard.sound_speed)
    efficiency = factor * airflow.otto_share * otto_efficiency(size.ratio, airflow.heat_ratio)
    return Breath(
        size.displacement, index, valve.duration, airflow.full, size.heat, efficiency, standard.density, limit
    )
