"""What a name in a limit or a fit means: a measure, an attribute of the part in a slot, or a count of pieces.

An attribute is slot.attribute as it stands by now, or made.slot.attribute as the catalog gives it.
"""

from __future__ import annotations

from costplan.build.measures import COUNT, MADE, MASS_OF_PARTS, MEASURES_OF_BUILD, PRICE_OF_PARTS
from costplan.build.pattern import Build, Pattern, Reference
from costplan.problems import nearest
from costplan.quantity import dimension

#: The measures that may be compared with a number: those with a physical unit.
COMPARED = tuple(name for name, measure in MEASURES_OF_BUILD.items() if measure.unit)


def split_name(name: str) -> tuple[str, str]:
    """A name as slot and attribute, or count and role; a measure's has no slot, and `made` belongs to the slot.

    >>> split_name("pistons.bore"), split_name("displacement"), split_name("made.block.bore")
    (('pistons', 'bore'), ('', 'displacement'), ('made.block', 'bore'))
    """
    first, point, rest = name.partition(".")
    if first == MADE and "." in rest:
        slot, _, attribute = rest.partition(".")
        return f"{MADE}.{slot}", attribute
    return (first, rest) if point else ("", name)


def slot_as_made(slot: str) -> str:
    """The slot whose part is meant as made; '' where it is meant as it stands.

    >>> slot_as_made("made.block"), slot_as_made("block")
    ('block', '')
    """
    before, _, made = slot.partition(".")
    return made if before == MADE else ""


def what_of(name: str, pattern: Pattern) -> str:
    """What a name measures, 'text' where it is a word; '' for a name that leads nowhere."""
    slot, last = split_name(name)
    if not slot:
        return (dimension(MEASURES_OF_BUILD[last].unit) or "") if last in COMPARED else ""
    if slot == COUNT:
        return "number" if last in _roles(pattern) else ""
    if (slot_as_made(slot) or slot) not in pattern.slots:
        return ""
    return "text" if last in pattern.words else pattern.attributes.get(last, "")


def what_is_wrong(name: str, pattern: Pattern) -> tuple[str, str]:
    """Why a name leads nowhere, and what to write instead."""
    slot, last = split_name(name)
    if not slot:
        advice = f"give slot.attribute, {COUNT}.role or a measure; {nearest(last, COMPARED)}"
        return "neither a measure nor an attribute:", advice
    if slot == COUNT:
        return "a count of an unknown role:", nearest(last, _roles(pattern))
    if slot == MADE:
        return "a part as made without its slot:", f"give {MADE}.slot.attribute"
    slot = slot_as_made(slot) or slot
    if slot not in pattern.slots:
        return "a slot that the pattern lacks:", nearest(slot, pattern.slots)
    return "an attribute that is not known:", nearest(last, (*pattern.attributes, *sorted(pattern.words)))


def _roles(pattern: Pattern) -> tuple[str, ...]:
    return tuple(sorted(pattern.roles | {slot.role for slot in pattern.slots.values()}))


def slots_behind(name: str, pattern: Pattern, valve: str = "", *, sums: bool = True) -> tuple[str, ...]:
    """The slots whose parts a name rests on, through the inputs of measures; `sums`: those of sums over slots too."""
    return tuple(dict.fromkeys(slot for slot, _ in attributes_behind(name, pattern, valve, sums=sums)))


def attributes_behind(
    name: str, pattern: Pattern, valve: str = "", *, sums: bool = True
) -> tuple[tuple[str, str], ...]:
    """The slots that a name rests on, each with the attribute; '' where the part itself is meant: counted or priced."""
    slot, last = split_name(name)
    if slot == COUNT:
        return tuple((one.slot, "") for one in pattern.slots.values() if sums and one.role == last)
    if slot:
        return ((slot_as_made(slot) or slot, last),)
    if name in (MASS_OF_PARTS, PRICE_OF_PARTS):
        what = "mass" if name == MASS_OF_PARTS else ""
        return tuple((one.slot, what) for one in pattern.slots.values() if sums and (one.weighed or not what))
    given = given_name(name, pattern, valve)
    if given in pattern.inputs:
        source, _ = pattern.inputs[given]
        return ((source.slot, source.attribute),) if isinstance(source, Reference) else ()
    measure = MEASURES_OF_BUILD.get(name)
    needs = [(need, measure.valve) for need, _ in measure.needs] if measure else []
    found = (one for need, its in needs for one in attributes_behind(need, pattern, its, sums=sums))
    return tuple(dict.fromkeys(found))


def given_name(name: str, pattern: Pattern, valve: str) -> str:
    """The input that the pattern gives for a valve alone, else the one that both share."""
    own = f"{valve}_{name}"
    return own if own in pattern.inputs else name


def input_name(name: str, build: Build, valve: str) -> str:
    """The input that a build has for a valve alone, measured or given, else the one that both share."""
    own = f"{valve}_{name}"
    return own if valve and (own in build.pattern.inputs or build.measured("", own)) else name
