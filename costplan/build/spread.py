"""How far a figure may be off: the worst case of its parts' tolerances, and the uncertainty of what was measured.

A figure rests at the last on sources: attributes of parts, numbers of the pattern, values from the bench. It is worked
out anew from shifted sources, so that one that counts twice (a bore, in swept and in clearance volume) is one source.

Worst case: all pieces at the edge of their makers' tolerances at once, each at the edge that raises the figure, or
lowers it. Which edge that is, each source says alone, all others at their values. So the two corners are the bounds
where a figure rises or falls with each source all the way between its edges, wherever the others stand between theirs:
sums, differences, products and ratios of what is above zero do, and with them the measures of a build.

Uncertainty: the root of the summed squares of what the uncertainties of measured sources make of the figure, each times
the slope there (JCGM 100:2008, 5.1.2, first order, sources uncorrelated; from memory). All state coverage factor 2, so
the figure has it too. What was measured is known: its maker's tolerance counts no more. One value measured for several
pieces of a slot stands for all of them, so its uncertainty counts for each in full.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from costplan.build.measures import COUNT, MASS_OF_PARTS, MEASURES_OF_BUILD, Measure, add_up, shown_in
from costplan.build.names import input_name, slot_as_made, split_name
from costplan.build.pattern import Build, Reference
from costplan.formulas import InputError
from costplan.garage import Bench
from costplan.quantity import Quantity

#: A slope is taken over this share of an uncertainty: small enough for a straight line, far above the noise of floats.
STEP = 1e-3


@dataclass(frozen=True, slots=True)
class Source:
    """What a figure rests on at the last: an attribute of a slot's part; without a slot a measure or an input of one.

    `value` is None where nothing gives it. `fixed`: the pattern gives it as a number, or it is meant as made, so that
    there is nothing to measure; so are counts and prices. `bench` is the row that measured it, `within` its tolerance
    where that counts.
    """

    slot: str
    attribute: str
    value: Quantity | None = field(default=None, hash=False)
    fixed: bool = False
    bench: Bench | None = field(default=None, hash=False)
    within: Quantity | None = field(default=None, hash=False)

    @property
    def measured(self) -> bool:
        return self.bench is not None

    @property
    def uncertainty(self) -> Quantity | None:
        return self.bench.spread if self.bench else None


@dataclass(frozen=True, slots=True)
class Spread:
    """How far a figure may be off, in its own unit.

    `low`, `high`: the worst case, None where no source has a tolerance that counts. `uncertainty`: expanded, coverage
    factor 2; None where no measured source states one. `missing`: what the worst case lacks, where a corner has no
    answer (no clearance volume left); low and high are None then too.
    """

    low: Quantity | None = None
    high: Quantity | None = None
    uncertainty: Quantity | None = None
    sources: tuple[Source, ...] = ()
    missing: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Given:
    """A source by itself, in the unit in which it is shown."""

    source: Source
    shown: str = ""


@dataclass(frozen=True, slots=True)
class Worked:
    """A measure that is worked out from other grounds."""

    measure: Measure
    needs: tuple[Ground, ...]
    shown: str


@dataclass(frozen=True, slots=True)
class Together:
    """So many of each ground added up, in a unit; in that of the first where it is ''."""

    each: tuple[tuple[int, Ground], ...]
    unit: str = ""


Ground = Given | Worked | Together
#: A source and its value, which may be shifted.
Values = Mapping[Source, Quantity]


@dataclass(frozen=True, slots=True)
class Grounds:
    """Finds what names rest on in a build, by the same ways as their figures; `value` gives an attribute's."""

    build: Build
    value: Callable[[str], Quantity | None]

    def together(self, of: Iterable[str], less: Iterable[str] = ()) -> Ground:
        """The sum of some names less others; a name alone stays itself."""
        each = (*((1, self.named(name)) for name in of), *((-1, self.named(name)) for name in less))
        return each[0][1] if len(each) == 1 else Together(each)

    def named(self, name: str) -> Ground:
        """What a name rests on; a count or a price on nothing that could be off."""
        slot, last = split_name(name)
        if slot == COUNT or (not slot and not MEASURES_OF_BUILD[last].unit):
            return Given(Source("", name, self.value(name), fixed=True))
        return Given(self._attribute(slot, last)) if slot else self._measure(last)

    def _measure(self, name: str) -> Ground:
        measure, shown = MEASURES_OF_BUILD[name], self.build.pattern.units.get(name, "")
        if not measure.needs or name in self.build.pattern.inputs or self.build.measured("", name):
            return self._given(name, shown)
        return Worked(measure, tuple(self._need(need, measure.valve) for need, _ in measure.needs), shown)

    def _need(self, name: str, valve: str) -> Ground:
        if name == MASS_OF_PARTS:
            weighed = [fill.slot for fill in self.build.fills.values() if fill.slot.weighed]
            each = ((slot.quantity, Given(self._attribute(slot.slot, "mass"))) for slot in weighed)
            return Together(tuple(each), "kg")
        if name in MEASURES_OF_BUILD:
            return self._measure(name)
        return self._given(input_name(name, self.build, valve))

    def _given(self, name: str, shown: str = "") -> Given:
        """A measure or an input that was measured or that the pattern gives; else a source that lacks its value."""
        row = self.build.measured("", name)
        if row is not None:
            return Given(Source("", name, row.found if isinstance(row.found, Quantity) else None, bench=row), shown)
        if name not in self.build.pattern.inputs:
            return Given(Source("", name), shown)
        source, _ = self.build.pattern.inputs[name]
        if isinstance(source, Reference):
            return Given(self._attribute(source.slot, source.attribute), shown)
        return Given(Source("", name, source, fixed=True), shown)

    def _attribute(self, slot: str, attribute: str) -> Source:
        value, made = self.value(f"{slot}.{attribute}"), slot_as_made(slot)
        if made:
            return Source(made, attribute, value, fixed=True)
        fill, row = self.build.fills.get(slot), self.build.measured(slot, attribute)
        within = fill.part.tolerances.get(attribute) if fill and not row else None
        return Source(slot, attribute, value, bench=row, within=within)


def sources_of(ground: Ground) -> tuple[Source, ...]:
    """All sources of a ground, each once, in the order in which it needs them."""
    if isinstance(ground, Given):
        return (ground.source,)
    inner = ground.needs if isinstance(ground, Worked) else tuple(one for _, one in ground.each)
    return tuple(dict.fromkeys(source for one in inner for source in sources_of(one)))


def value_of(ground: Ground, values: Values) -> Quantity:
    """A ground worked out from values of its sources; an `InputError` where there is no answer."""
    if isinstance(ground, Given):
        return shown_in(values[ground.source], ground.shown)
    if isinstance(ground, Worked):
        return ground.measure.work_out((value_of(need, values) for need in ground.needs), ground.shown)
    each = [(number, value_of(one, values)) for number, one in ground.each]
    return add_up(each, ground.unit or each[0][1].unit)


def spread_of(ground: Ground) -> Spread:
    """The worst case and the uncertainty of a ground; neither where it is not known or nothing says how far off."""
    sources = sources_of(ground)
    values = {source: source.value for source in sources if source.value is not None}
    if len(values) < len(sources):
        return Spread(sources=sources)
    loose = [source for source in sources if source.within is not None]
    doubtful = [source for source in sources if source.uncertainty is not None]
    uncertainty = None
    try:
        uncertainty = _uncertainty(ground, values, doubtful) if doubtful else None
        low, high = _corners(ground, values, loose) if loose else (None, None)
    except InputError as refused:
        return Spread(None, None, uncertainty, sources, (f"a possible {refused.name} ({refused.value})",))
    return Spread(low, high, uncertainty, sources)


def _corners(ground: Ground, values: Values, loose: Sequence[Source]) -> tuple[Quantity, Quantity]:
    """The lowest and the highest value, with every loose source at an edge."""
    lowest, highest = dict(values), dict(values)
    for source in loose:
        more, less = (_shifted(values[source], source.within, sign) for sign in (1, -1))
        rises = value_of(ground, {**values, source: more}).value >= value_of(ground, {**values, source: less}).value
        highest[source], lowest[source] = (more, less) if rises else (less, more)
    found = [value_of(ground, corner) for corner in (lowest, values, highest)]
    return min(found, key=lambda one: one.value), max(found, key=lambda one: one.value)


def _uncertainty(ground: Ground, values: Values, doubtful: Sequence[Source]) -> Quantity:
    """The root sum of squares of what each uncertainty makes of the ground, by the slope at its values."""
    shares = []
    for source in doubtful:
        more, less = (_shifted(values[source], source.uncertainty, sign * STEP) for sign in (1, -1))
        rise = value_of(ground, {**values, source: more}).value - value_of(ground, {**values, source: less}).value
        shares.append(rise / (2 * STEP))
    return Quantity(math.hypot(*shares), value_of(ground, values).unit)


def _shifted(value: Quantity, by: Quantity | None, times: float) -> Quantity:
    return value if by is None else Quantity(value.value + times * by.to(value.unit), value.unit)
