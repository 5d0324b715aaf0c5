"""The estimate of power for any parts in the slots, made once for a pattern and its catalogs."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from types import MappingProxyType
from typing import Any

from costplan.build.airflow.breath import Breath
from costplan.build.airflow.calibration import Calibration, calibrate, doubt
from costplan.build.airflow.look import Breathing, look_at
from costplan.build.airflow.openings import opening_of
from costplan.build.airflow.reading import (
    Found,
    areas_of,
    breath_of,
    figures_of,
    limit_of,
    opening_in,
    size_of,
    valve_of,
)
from costplan.build.airflow_file import RPM_LIMIT
from costplan.build.figures import Figures, changed
from costplan.build.names import attributes_behind
from costplan.build.pattern import Airflow, Build, Fill, Pattern, Reference
from costplan.catalog import Catalog
from costplan.garage.dyno import Pull
from costplan.problems import Problem
from costplan.quantity import UNITS, Quantity

#: What the estimate asks of an engine beside its openings.
OF_SIZE = ("displacement", "bore", "stroke", "compression_ratio", "cylinders")
OF_VALVE = ("intake_lift", "intake_lobe_lift")
OF_LIMIT = ("red_line",)

Ask = Callable[[Figures, Airflow, Catalog], Found[Any]]
_UNSEEN = object()


@dataclass(slots=True)
class _Part:
    """One thing that the estimate needs: the places of its slots among all, how it is worked out, and what was."""

    places: tuple[int, ...]
    ask: Ask
    known: dict[tuple[int, ...], Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Estimator:
    """Estimates the power of builds of one pattern with an [airflow]; of another none can be made.

    `calibration` sets the factor on what the gas gives, and the error. What several asks share (a size, a valve's mean
    opening) is worked out once, so that asks by the ten thousand are cheap; its memory grows with what is asked.

    `on_brake`: the parts of each engine that the calibration is by, as `unpulled` tells them apart; `problems`: why
    the dyno sheets that there are do not calibrate it.
    """

    pattern: Pattern
    catalog: Catalog
    calibration: Calibration | None = None
    on_brake: tuple[tuple[Hashable, ...], ...] = ()
    problems: tuple[Problem, ...] = ()
    _marks: dict[Hashable, int] = field(default_factory=dict, init=False, repr=False, compare=False)
    _kinds: dict[Hashable, int] = field(default_factory=dict, init=False, repr=False, compare=False)
    _powers: dict[tuple[int, ...], float | None] = field(default_factory=dict, init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        if self.pattern.airflow is None:
            raise ValueError("a pattern without [airflow] has no estimate")

    @cached_property
    def airflow(self) -> Airflow:
        """How the pattern draws air."""
        if self.pattern.airflow is None:
            raise ValueError("a pattern without [airflow] has no estimate")
        return self.pattern.airflow

    @property
    def factor(self) -> float:
        """What a dyno sheet multiplies the power on the pistons by; 1 without one."""
        return self.calibration.factor if self.calibration else 1.0

    @property
    def error_share(self) -> float:
        """The error of the estimate either way, as a share of it."""
        return self.calibration.error if self.calibration else self.airflow.error

    def error(self, power: float) -> float:
        """The error of an estimated power either way, in its unit. Smaller differences are not ranked.

        It is that of one figure. Much of it is common to two builds of one pattern; what the estimate leaves out of
        their parts is not, and nobody has measured that. So their difference is held to no smaller an error. Where a
        dyno sheet sets it, it is the scatter of the engine that was pulled: of parts that were not (`pulled`), it may
        be larger.
        """
        return self.error_share * power

    def pulled(self, fills: Mapping[str, Fill]) -> bool:
        """Whether an engine with such parts was on the brake, so that the scatter of its pulls is their error too."""
        return not self.unpulled(fills)

    def unpulled(self, fills: Mapping[str, Fill]) -> tuple[str, ...]:
        """The slots in which an engine differs from the most similar one that was pulled; all where none was.

        Where air passes and in the valve's drive, the part must be the very one: what the estimate leaves out of two
        that flow alike nobody has measured. Of the others, those count alike that are so in what the estimate reads.
        What is done to a part, and what only bounds the speed (a limiter), makes no difference.
        """
        its = self._brake_key(fills)
        apart = [
            tuple(slot for slot, one, other in zip(self._shaping, its, key, strict=True) if one != other)
            for key in self.on_brake
        ]
        return min(apart, key=len, default=self._shaping)

    def _brake_key(self, fills: Mapping[str, Fill]) -> tuple[Hashable, ...]:
        """What tells engines apart on the brake, by slot."""
        return tuple(self._brake_mark(slot, fills.get(slot)) for slot in self._shaping)

    def _brake_mark(self, slot: str, fill: Fill | None) -> Hashable:
        if fill is None or slot in self._breathing:
            return fill and fill.part.part
        return self.alike(slot, replace(fill, operations=(), steps=()))

    @cached_property
    def _breathing(self) -> frozenset[str]:
        """The slots that air passes, and those that drive the valve."""
        return frozenset({*self.openings, *self._slots_of(OF_VALVE), self._cam})

    @cached_property
    def _shaping(self) -> tuple[str, ...]:
        """The slots that shape the curve, and do not only end it."""
        size, valve, _, *openings = self._parts
        places = {at for part in (size, valve, *openings) for at in part.places}
        return tuple(slot for at, slot in enumerate(self.slots) if at in places)

    @cached_property
    def slots(self) -> tuple[str, ...]:
        """The slots whose parts the estimate rests on."""
        return tuple(self.reads)

    @cached_property
    def reads(self) -> Mapping[str, tuple[str, ...]]:
        """By slot the attributes that the estimate takes of its part; what it flows and how it lifts come on top."""
        reads: dict[str, dict[str, None]] = {slot: {} for slot in self.openings}
        for source in (*self._behind(OF_SIZE), *self._behind(OF_VALVE), *self._behind(OF_LIMIT), *self._named):
            reads.setdefault(source.slot, {})[source.attribute] = None
        return MappingProxyType({slot: tuple(names) for slot, names in reads.items()})

    @cached_property
    def openings(self) -> tuple[str, ...]:
        """The slots with openings, from the ports outward."""
        return (self.airflow.ports, *self.airflow.each, *self.airflow.shared)

    @cached_property
    def _named(self) -> tuple[Reference, ...]:
        """The attributes that the table itself names."""
        airflow = self.airflow
        names = [airflow.duration] if isinstance(airflow.duration, str) else []
        names += [airflow.fuel] if "." in airflow.fuel and airflow.heat is None else []
        found = [Reference(*name.split(".", 1)) for name in names]
        return (*found, *([Reference(airflow.limiter, RPM_LIMIT)] if airflow.limiter else []))

    def _behind(self, names: Iterable[str]) -> tuple[Reference, ...]:
        pairs = (pair for name in names for pair in attributes_behind(name, self.pattern, "intake"))
        return tuple(Reference(*pair) for pair in dict.fromkeys(pairs))

    @cached_property
    def _cam(self) -> str:
        """The slot whose part may have a lift curve, '' where the duration is a number."""
        given = self.airflow.duration
        return given.partition(".")[0] if isinstance(given, str) else ""

    @cached_property
    def _parts(self) -> tuple[_Part, ...]:
        """All that the estimate needs, each with the slots that it rests on."""
        airflow = self.airflow
        fuel = {airflow.fuel.partition(".")[0]} if airflow.heat is None else set()
        return (
            self._part({*self._slots_of(OF_SIZE), *fuel}, size_of),
            self._part({*self._slots_of(OF_VALVE), self._cam, airflow.ports}, valve_of),
            self._part({*self._slots_of(OF_LIMIT), airflow.limiter}, limit_of),
            *(self._part({slot}, opening_in(slot)) for slot in self.openings[1:]),
        )

    def _slots_of(self, names: Iterable[str]) -> set[str]:
        return {source.slot for source in self._behind(names)}

    def _part(self, slots: set[str], ask: Ask) -> _Part:
        return _Part(tuple(at for at, slot in enumerate(self.slots) if slot in slots), ask)

    def alike(self, slot: str, fill: Fill | None) -> Hashable:
        """Equal for two fills of a slot that make no difference to the estimate."""
        if fill is None or slot not in self.reads:
            return None
        words: list[Hashable] = [_worth(fill, attribute) for attribute in self.reads[slot]]
        if slot in self.openings:
            opening = opening_of(fill.part, self.catalog, valves=slot == self.airflow.ports)
            words.append(opening and opening.key)
        if slot == self._cam:
            rows = self.catalog.lift_curve_of(fill.part.part)
            words.append(tuple((row.angle.to("deg"), row.lift.to("mm")) for row in rows))
        return tuple(words)

    def _mark(self, slot: str, fill: Fill | None) -> int:
        """A number for what `alike` says of a fill, which is asked once for each part and what is done to it."""
        if fill is None:
            return -1
        done = tuple([one.operation for one in fill.done]) if fill.operations or fill.steps else ()
        known = (slot, fill.part.part, done)
        mark = self._marks.get(known)
        if mark is None:
            mark = self._marks[known] = self._kinds.setdefault((slot, self.alike(slot, fill)), len(self._kinds))
        return mark

    def power(self, fills: Mapping[str, Fill]) -> float | None:
        """The most power at or below the highest speed, kW, by catalog figures; None where something is missing."""
        key = tuple([self._mark(slot, fills.get(slot)) for slot in self.slots])
        if key not in self._powers:
            self._powers[key] = self._power(key, fills)
        return self._powers[key]

    def _power(self, key: tuple[int, ...], fills: Mapping[str, Fill]) -> float | None:
        values = list[Any]()
        for part in self._parts:
            its = tuple([key[at] for at in part.places])
            value = part.known.get(its, _UNSEEN)
            if value is _UNSEEN:
                value = part.known[its] = part.ask(self._figures(fills), self.airflow, self.catalog).value
            if value is None:
                return None
            values.append(value)
        breath = self._breath(values)
        return breath.power(breath.best_speed())

    def _breath(self, values: Sequence[Any]) -> Breath:
        """The engine as plain numbers, from what each part was found to be."""
        size, valve, limit, *areas = values
        openings = areas_of(self.airflow, size, valve, dict(zip(self.openings[1:], areas, strict=True)))
        return breath_of(self.airflow, size, valve, openings.values(), limit, self.factor)

    def breath(self, build: Build) -> Breath | None:
        """One build as plain numbers, by what the bench measured first; None where something is missing."""
        figures = figures_of(build)
        values = [part.ask(figures, self.airflow, self.catalog).value for part in self._parts]
        return None if any(value is None for value in values) else self._breath(values)

    def _figures(self, fills: Mapping[str, Fill]) -> Figures:
        return figures_of(Build(self.pattern, fills))

    def look(self, build: Build) -> Breathing:
        """Everything told of one build; what the bench measured goes before the catalog, unlike in `power`."""
        figures = figures_of(build)
        found = [part.ask(figures, self.airflow, self.catalog) for part in self._parts]
        told = look_at(build, self.airflow, found, self.openings[1:], self.calibration)
        unpulled = self.unpulled(build.fills)
        return replace(told, pulled=not unpulled, unpulled=unpulled)


def calibrated(base: Estimator, sheets: Iterable[tuple[Build, Sequence[Pull]]]) -> Estimator:
    """An estimator with the factor and the error that dyno sheets set, each of the build that was pulled.

    Sheets of builds whose estimate lacks something are left out; without any left it is the `base` itself. Where they
    are too far off to calibrate anything, it is one without calibration that has the problem.
    """
    plain = replace(base, calibration=None, on_brake=(), problems=())
    asked = [(build, plain.breath(build), pulls) for build, pulls in sheets]
    found = [(build, breath, pulls) for build, breath, pulls in asked if breath is not None and pulls]
    usable = [(pull, breath) for _, breath, pulls in found for pull in pulls]
    if not usable:
        return base
    calibration = calibrate(base.airflow, usable)
    problem = doubt(calibration, base.airflow, usable)
    if problem is not None:
        return replace(plain, problems=(problem,))
    on_brake = dict.fromkeys(plain._brake_key(build.fills) for build, _, _ in found)
    return replace(plain, calibration=calibration, on_brake=tuple(on_brake))


def _worth(fill: Fill, attribute: str) -> Hashable:
    """An attribute after what was done to the part, in SI to 12 digits; a word as it is; None where there is none."""
    value = fill.part.attributes.get(attribute)
    if not isinstance(value, Quantity):
        return value
    after = changed(value, attribute, fill.done)
    return float(f"{after.value * UNITS[after.unit][1]:.12g}")
