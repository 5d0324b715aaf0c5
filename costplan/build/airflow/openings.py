"""Openings in cm2 from the rows of flow.csv, and the mean one of a valve over its cam's lift."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from costplan.catalog import Catalog, FlowRow, LiftRow, Part
from costplan.formulas import InputError, effective_area, lobe_lift_at, mean_area

#: Angles at which a lobe of the assumed shape is looked at.
LOOKS = 61
#: Test pressure up to which the density of the air hardly changes: a tenth of the air's, kPa.
HARDEST = 10.0


@dataclass(frozen=True, slots=True)
class Opening:
    """What a part flows: areas in cm2 by rising lifts in mm (one area and no lift for a part without valves)."""

    lifts: tuple[float, ...]
    areas: tuple[float, ...]
    rows: tuple[FlowRow, ...]

    @property
    def key(self) -> Hashable:
        """Equal for openings that are alike for the estimate."""
        return self.lifts, self.areas

    @property
    def why(self) -> tuple[str, ...]:
        return tuple(
            f"{row.part} flows {row.flow} at {row.pressure}{f' and {row.lift} lift' if row.lift else ''} ({row.place})"
            for row in self.rows
        )

    @property
    def extrapolated(self) -> tuple[str, ...]:
        """What to say of a bench that pulls harder than `effective_area` holds for."""
        pressure = self.rows[0].pressure
        if pressure.to("kPa") <= HARDEST:
            return ()
        return (f"flow of {self.rows[0].part} at {pressure}: more than a tenth of the air's pressure",)

    @property
    def assumed(self) -> bool:
        """Whether nobody's word is behind one of the rows."""
        return not all(row.source for row in self.rows)


def opening_of(part: Part, catalog: Catalog, *, valves: bool) -> Opening | None:
    """A part's opening by flow.csv, None where that has none of its kind: by lift with valves, without lift else."""
    rows = tuple(row for row in catalog.flow_of(part.part) if (row.lift is not None) == valves)
    if not rows:
        return None
    lifts = tuple(row.lift.to("mm") for row in rows if row.lift is not None)
    return Opening(lifts, tuple(_area(row) for row in rows), rows)


def _area(row: FlowRow) -> float:
    return effective_area(row.flow.to("L/s"), row.pressure.to("kPa"))


@dataclass(frozen=True, slots=True)
class Lobe:
    """A cam's intake lobe: rises in mm by angles in degrees of the crank, where it is above the rise that duration is
    stated for; `top` its highest."""

    angles: tuple[float, ...]
    rises: tuple[float, ...]

    @property
    def duration(self) -> float:
        return self.angles[-1] - self.angles[0]

    @property
    def top(self) -> float:
        return max(self.rises)


def assumed_lobe(lobe_lift: float, duration: float, start: float) -> Lobe:
    """A lobe of the assumed shape, in mm and degrees; raises InputError where it does not rise above its start."""
    angles = tuple(duration * (look / (LOOKS - 1) - 0.5) for look in range(LOOKS))
    return Lobe(angles, tuple(lobe_lift_at(angle, lobe_lift, duration, start) for angle in angles))


def measured_lobe(rows: Sequence[LiftRow], start: float) -> Lobe:
    """What a cam's curve is above a rise in mm, straight between its rows; raises InputError where it is not."""
    points = [(row.angle.to("deg"), row.lift.to("mm")) for row in rows]
    kept = [point for pair in pairwise(points) for point in _above(*pair, start)]
    distinct = sorted(dict(kept).items())
    if len(distinct) < 2:
        raise InputError("lift curve", str(highest(rows).lift), "give two rows and more above its start")
    return Lobe(tuple(angle for angle, _ in distinct), tuple(lift for _, lift in distinct))


def highest(rows: Sequence[LiftRow]) -> LiftRow:
    """The row at the top of a lift curve."""
    return max(rows, key=lambda row: row.lift.to("mm"))


def _above(one: tuple[float, float], two: tuple[float, float], start: float) -> tuple[tuple[float, float], ...]:
    """The ends of what a straight piece of a lift curve has above a rise."""
    (a, low), (b, high) = one, two
    if low <= start and high <= start:
        return ()
    crossing = a + (b - a) * (start - low) / (high - low) if low != high else a
    return ((a, low) if low >= start else (crossing, start), (b, high) if high >= start else (crossing, start))


def mean_opening(lobe: Lobe, rocker_ratio: float, opening: Opening) -> float:
    """The mean area of a valve in cm2 while its lobe is above its start; InputError where there is none."""
    lifts = tuple(rise * rocker_ratio for rise in lobe.rises)
    area = mean_area(lobe.angles, lifts, opening.lifts, opening.areas)
    if area <= 0:
        raise InputError("flow", area, "give what it flows at some lift")
    return area
