"""The figures of a build: every measure worked out, each with the rows it came from or with what is missing."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace

from costplan.build.bill import Bill
from costplan.build.measures import COUNT, MADE, MASS_OF_PARTS, MEASURES_OF_BUILD, PRICE_OF_PARTS, add_up, shown_in
from costplan.build.names import input_name, slot_as_made, split_name
from costplan.build.pattern import Build, Fill, Reference
from costplan.build.spread import Grounds, Source, Spread, sources_of, spread_of
from costplan.catalog import ATTRIBUTES, Operation
from costplan.formulas import InputError
from costplan.garage import Bench
from costplan.quantity import Quantity


@dataclass(frozen=True, slots=True)
class Figure:
    """A measure's value, or None where `missing` says what it lacks; `why` names the rows it rests on.

    `measured`: what the bench says of it, where that went before what was worked out. `ungiven`: the inputs among what
    is missing that the pattern leads nowhere.
    """

    name: str
    value: Quantity | None
    why: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    measured: str = ""
    ungiven: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Word:
    """An attribute that is a word, as a `Figure` is a number."""

    name: str
    value: str | None
    why: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    measured: str = ""


@dataclass(slots=True)
class Figures:
    """Works out the measures of one build, each once. What was measured on the bench goes before all else.

    How far a figure may be off is worked out only when it is asked, once for each sum of names.
    """

    build: Build
    bill: Bill
    known: dict[str, Figure] = field(default_factory=dict)
    spreads: dict[tuple[tuple[str, ...], tuple[str, ...]], Spread] = field(default_factory=dict)

    def measure(self, name: str) -> Figure:
        """A measure by name."""
        if name not in self.known:
            row = self.build.measured("", name)
            self.known[name] = self._on_bench(row, name) if row else self._work_out(name)
        return self.known[name]

    def all(self) -> tuple[Figure, ...]:
        return tuple(self.measure(name) for name in MEASURES_OF_BUILD)

    def benched(self) -> tuple[Figure | Word, ...]:
        """Everything that was measured on the bench, in the order of its rows."""
        words = self.build.pattern.words
        return tuple(
            self.measure(row.attribute)
            if not row.slot
            else self.word(row.slot, row.attribute)
            if row.attribute in words
            else self.attribute(row.slot, row.attribute)
            for row in self.build.bench
        )

    def named(self, name: str) -> Figure:
        """A measure, count.role, or an attribute: slot.attribute, or made.slot.attribute as the catalog gives it."""
        slot, last = split_name(name)
        if slot == COUNT:
            return self.count(last)
        return self.attribute(slot, last) if slot else self.measure(name)

    def sources(self, *names: str) -> tuple[Source, ...]:
        """All that names rest on at the last, each once: attributes, inputs and measures, whether known or not."""
        grounds = Grounds(self.build, self._value)
        return tuple(dict.fromkeys(one for name in names for one in sources_of(grounds.named(name))))

    def rows_behind(self, *names: str) -> tuple[Bench, ...]:
        """The rows of the bench that names rest on, each once."""
        return tuple(source.bench for source in self.sources(*names) if source.bench is not None)

    def spread(self, *of: str, less: Iterable[str] = ()) -> Spread:
        """How far a name may be off, or the sum of some less others, of which each source is counted as one."""
        names = of, tuple(less)
        if names not in self.spreads:
            grounds = Grounds(self.build, self._value)
            self.spreads[names] = spread_of(grounds.together(*names))
        return self.spreads[names]

    def _value(self, name: str) -> Quantity | None:
        return self.named(name).value

    def count(self, role: str) -> Figure:
        """The pieces of a role in the engine; none where no slot with it is filled."""
        fills = [fill for fill in self.build.fills.values() if fill.slot.role == role]
        why = tuple(f"{fill.slot.quantity} x {fill.part.part} in {fill.slot.slot} ({fill.place})" for fill in fills)
        return Figure(f"{COUNT}.{role}", Quantity(float(sum(fill.slot.quantity for fill in fills))), why)

    def given(self, name: str, valve: str = "") -> Figure:
        """An input of the measures by name, as measured, else as the pattern gives it; a valve's own before both's."""
        return self._input(name, valve)

    def attribute(self, slot: str, attribute: str) -> Figure:
        """An attribute of the part in a slot: as measured, else the catalog's with what operations add to it."""
        made = slot_as_made(slot)
        name, fill = f"{slot}.{attribute}", self.build.fills.get(made or slot)
        if fill is None:
            return Figure(name, None, missing=(f"a part in slot {made or slot}",))
        if made:
            return _made(fill, attribute)
        stated = _stated(fill, attribute)
        row = self.build.measured(slot, attribute)
        if row is None or isinstance(row.found, str):
            return stated
        why = f"{attribute} of {fill.part.part} in {slot} {row}, {_catalog_says(fill, attribute, stated)}"
        return Figure(name, row.found, (why,), measured=why)

    def word(self, slot: str, attribute: str) -> Word:
        """An attribute that is a word, of the part in a slot."""
        made = slot_as_made(slot)
        name, fill = f"{slot}.{attribute}", self.build.fills.get(made or slot)
        if fill is None:
            return Word(name, None, missing=(f"a part in slot {made or slot}",))
        value, row = fill.part.attributes.get(attribute), self.build.measured(slot, attribute)
        if row is not None and isinstance(row.found, str):
            says = f"catalog says {value} ({fill.part.place})" if value else f"catalog says nothing ({fill.part.place})"
            why = f"{attribute} of {fill.part.part} in {slot} {row}, {says}"
            return Word(name, row.found, (why,), measured=why)
        if not isinstance(value, str) or not value:
            return Word(name, None, missing=(f"{attribute} of {fill.part.part} ({fill.part.place})",))
        as_made = " as made" if made else ""
        where = f"{fill.part.part} in {made or slot}{as_made} ({fill.part.place})"
        return Word(name, value, (f"{attribute} {value} of {where}",))

    def _on_bench(self, row: Bench, name: str) -> Figure:
        """A measure or an input that was measured, beside what it would be worked out to."""
        stated = self._work_out(name) if name in MEASURES_OF_BUILD else self._given(name)
        worked = f"worked out {stated.value}" if stated.value else "not known from the parts"
        why = f"{name} {row}, {worked}"
        value = row.found if isinstance(row.found, Quantity) else None
        value = value and shown_in(value, self.build.pattern.units.get(name, ""))
        return Figure(name, value, (why,), measured=why)

    def _work_out(self, name: str) -> Figure:
        measure = MEASURES_OF_BUILD[name]
        asked = self.build.pattern.units.get(name, "")
        if name in self.build.pattern.inputs:
            given = self._given(name)
            return replace(given, name=name, value=given.value and shown_in(given.value, asked))
        if not measure.needs:
            return _ungiven(name)
        inputs = [self._input(need, measure.valve) for need, _ in measure.needs]
        why = tuple(dict.fromkeys(line for figure in inputs for line in figure.why))
        missing = tuple(dict.fromkeys(word for figure in inputs for word in figure.missing))
        if missing:
            ungiven = tuple(dict.fromkeys(need for figure in inputs for need in figure.ungiven))
            return Figure(name, None, why, missing, ungiven=ungiven)
        values = [figure.value for figure in inputs if figure.value]
        try:
            return Figure(name, measure.work_out(values, asked, self.bill.currency), why)
        except InputError as refused:
            return Figure(name, None, why, (f"a possible {refused.name} ({refused.value})",))

    def _input(self, name: str, valve: str) -> Figure:
        """What a measure needs: an input, what the build gives by itself, or another measure."""
        if name in BY_ITSELF:
            return BY_ITSELF[name](self)
        if name in MEASURES_OF_BUILD:
            return self.measure(name)
        given = input_name(name, self.build, valve)
        row = self.build.measured("", given)
        return self._on_bench(row, given) if row else self._given(given)

    def _given(self, name: str) -> Figure:
        """An input that the pattern gives: a number, or an attribute of the part in a slot."""
        if name not in self.build.pattern.inputs:
            return _ungiven(name)
        source, place = self.build.pattern.inputs[name]
        if isinstance(source, Reference):
            return self.attribute(source.slot, source.attribute)
        return Figure(name, source, (f"{name} {source} ({place})",))


def changed(value: Quantity, attribute: str, operations: Sequence[Operation]) -> Quantity:
    """An attribute after operations, in its own unit: what it was and all that they add to it."""
    added = (operation.changes[attribute] for operation in operations if attribute in operation.changes)
    return Quantity(value.value + sum(change.to(value.unit) for change in added), value.unit)


def _ungiven(name: str) -> Figure:
    """An input that the pattern does not lead anywhere."""
    return Figure(name, None, missing=(f"{name} under [inputs]",), ungiven=(name,))


def _made(fill: Fill, attribute: str) -> Figure:
    """An attribute as the catalog gives it, whatever was done to the part or measured since."""
    name, part = f"{MADE}.{fill.slot.slot}.{attribute}", fill.part
    value = part.attributes.get(attribute)
    if not isinstance(value, Quantity):
        return Figure(name, None, missing=(f"{attribute} of {part.part} as made ({part.place})",))
    return Figure(name, value, (f"{attribute} {value} of {part.part} in {fill.slot.slot} as made ({part.place})",))


def _stated(fill: Fill, attribute: str) -> Figure:
    """An attribute as the catalog gives it, with what was done to the part."""
    name, part = f"{fill.slot.slot}.{attribute}", fill.part
    done = [operation for operation in fill.done if attribute in operation.changes]
    adds = [f"{one.operation} adds {one.changes[attribute]} ({one.place})" for one in done]
    value = part.attributes.get(attribute)
    if not isinstance(value, Quantity):
        to_which = "".join(f", to which {words}" for words in adds)
        return Figure(name, None, missing=(f"{attribute} of {part.part} ({part.place}){to_which}",))
    after, known = changed(value, attribute, done), ATTRIBUTES.get(attribute)
    why = (
        f"{attribute} {value} of {part.part} in {fill.slot.slot} ({part.place})",
        *(f"{words} to {attribute} of {part.part} in {fill.slot.slot}" for words in adds),
    )
    if done and known is not None and known.positive and after.value <= 0:
        return Figure(name, None, why, (f"operations that leave some {attribute} of {part.part}",))
    return Figure(name, after, why)


def _catalog_says(fill: Fill, attribute: str, stated: Figure) -> str:
    """What would hold if nothing had been measured."""
    value, place = fill.part.attributes.get(attribute), fill.part.place
    if not isinstance(value, Quantity):
        return f"catalog says nothing ({place})"
    done = " ".join(operation.operation for operation in fill.done if attribute in operation.changes)
    return f"catalog says {value} ({place})" + (f", {stated.value} after {done}" if done and stated.value else "")


def mass_of_parts(figures: Figures) -> Figure:
    """The mass of all parts in weighed slots; unknown while one of them has none."""
    masses, why, missing = list[tuple[int, Quantity]](), list[str](), list[str]()
    for fill in figures.build.fills.values():
        if not fill.slot.weighed:
            continue
        mass = figures.attribute(fill.slot.slot, "mass")
        masses += [(fill.slot.quantity, mass.value)] if mass.value else []
        why += [f"{fill.slot.quantity} x {line}" for line in mass.why]
        missing += mass.missing
    return Figure(MASS_OF_PARTS, None if missing else add_up(masses, "kg"), tuple(why), tuple(missing))


def price_of_parts(figures: Figures) -> Figure:
    """The total of the bill of materials."""
    bill = figures.bill
    why = tuple(f"{line.packs} x {line.part} ({line.place})" for line in bill.lines)
    return Figure(PRICE_OF_PARTS, Quantity(float(bill.total), bill.currency), why)


BY_ITSELF: dict[str, Callable[[Figures], Figure]] = {
    MASS_OF_PARTS: mass_of_parts,
    PRICE_OF_PARTS: price_of_parts,
}
