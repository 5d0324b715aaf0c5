"""The figures of a build: every measure worked out, each with the rows it came from or with what is missing."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field

from costplan.build.bill import Bill
from costplan.build.measures import MASS_OF_PARTS, MEASURES_OF_BUILD, PRICE_OF_PARTS
from costplan.build.pattern import Build, Reference
from costplan.quantity import Quantity


@dataclass(frozen=True, slots=True)
class Figure:
    """A measure's value, or None where `missing` says what it lacks; `why` names the rows it rests on."""

    name: str
    value: Quantity | None
    why: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()


@dataclass(slots=True)
class Figures:
    """Works out the measures of one build, each once."""

    build: Build
    bill: Bill
    known: dict[str, Figure] = field(default_factory=dict)

    def measure(self, name: str) -> Figure:
        """A measure by name."""
        if name not in self.known:
            self.known[name] = self._work_out(name)
        return self.known[name]

    def all(self) -> tuple[Figure, ...]:
        return tuple(self.measure(name) for name in MEASURES_OF_BUILD)

    def attribute(self, slot: str, attribute: str) -> Figure:
        """An attribute of the part in a slot."""
        fill = self.build.fills.get(slot)
        if fill is None:
            return Figure(f"{slot}.{attribute}", None, missing=(f"a part in slot {slot}",))
        value = fill.part.attributes.get(attribute)
        if not isinstance(value, Quantity):
            return Figure(
                f"{slot}.{attribute}", None, missing=(f"{attribute} of {fill.part.part} ({fill.part.place})",)
            )
        why = f"{attribute} {value} of {fill.part.part} in {slot} ({fill.part.place})"
        return Figure(f"{slot}.{attribute}", value, (why,))

    def _work_out(self, name: str) -> Figure:
        measure = MEASURES_OF_BUILD[name]
        unit = self.build.pattern.units.get(name, measure.unit)
        if name in self.build.pattern.inputs:
            given = self._input(name)
            return Figure(name, _shown_in(given.value, unit), given.why, given.missing)
        inputs = [self._input(need) for need, _ in measure.needs]
        why = tuple(dict.fromkeys(line for figure in inputs for line in figure.why))
        missing = tuple(dict.fromkeys(word for figure in inputs for word in figure.missing))
        if missing:
            return Figure(name, None, why, missing)
        pairs = zip(inputs, measure.needs, strict=True)
        values = [figure.value.to(unit or figure.value.unit) for figure, (_, unit) in pairs if figure.value]
        value = measure.compute(*values)
        if not math.isfinite(value):
            return Figure(name, None, why, ("inputs that give a number",))
        return Figure(name, _shown_in(Quantity(value, measure.unit or self.bill.currency), unit), why)

    def _input(self, name: str) -> Figure:
        """An input of the pattern, what the build gives by itself, or another measure."""
        if name in self.build.pattern.inputs:
            source, place = self.build.pattern.inputs[name]
            if isinstance(source, Reference):
                return self.attribute(source.slot, source.attribute)
            return Figure(name, source, (f"{name} {source} ({place})",))
        if name in BY_ITSELF:
            return BY_ITSELF[name](self.build, self.bill)
        if name in MEASURES_OF_BUILD:
            return self.measure(name)
        return Figure(name, None, missing=(f"{name} under [inputs]",))


def _shown_in(value: Quantity | None, unit: str) -> Quantity | None:
    """The value in a unit; as it is where none is asked for."""
    return Quantity(value.to(unit), unit) if value and unit else value


def mass_of_parts(build: Build, bill: Bill) -> Figure:
    """The mass of all parts in weighed slots; unknown while one of them has none."""
    del bill
    total, why, missing = 0.0, [], []
    for fill in build.fills.values():
        mass = fill.part.attributes.get("mass")
        if not fill.slot.weighed:
            continue
        if isinstance(mass, Quantity):
            total += fill.slot.quantity * mass.to("kg")
            why.append(f"{fill.slot.quantity} x {mass} {fill.part.part} in {fill.slot.slot} ({fill.part.place})")
        else:
            missing.append(f"mass of {fill.part.part} ({fill.part.place})")
    return Figure(MASS_OF_PARTS, None if missing else Quantity(total, "kg"), tuple(why), tuple(missing))


def price_of_parts(build: Build, bill: Bill) -> Figure:
    """The total of the bill of materials."""
    del build
    why = tuple(f"{line.packs} x {line.part} ({line.place})" for line in bill.lines)
    return Figure(PRICE_OF_PARTS, Quantity(float(bill.total), bill.currency), why)


BY_ITSELF: dict[str, Callable[[Build, Bill], Figure]] = {
    MASS_OF_PARTS: mass_of_parts,
    PRICE_OF_PARTS: price_of_parts,
}
