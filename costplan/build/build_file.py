"""Reading build.csv: the parts that fill the slots, what is done to them, and alternates that take turns in a slot."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

from costplan.build.figures import changed
from costplan.build.pattern import Alternate, Build, Fill, Line, Pattern, Slot
from costplan.catalog import ATTRIBUTES, Catalog, Operation, Part
from costplan.problems import Place, Problem, Problems, nearest
from costplan.quantity import Quantity
from costplan.reading import Setting, read_records, read_table


def read_build(
    path: Path, pattern: Pattern, catalog: Catalog, settings: tuple[Setting, ...] = ()
) -> tuple[Build, tuple[Problem, ...]]:
    """The build in a CSV file; slots at fault stay empty."""
    table, faults = read_table(path, path.stem)
    problems = Problems(list(faults))
    if table is None:
        return Build(pattern, {}), faults
    lines, faults = read_records(table, Line, settings)
    problems.extend(fault for fault in faults if fault.code != Line.REPEATED)
    rows: dict[str, list[tuple[Line, Fill | None]]] = {}
    for line in lines:
        rows.setdefault(line.slot, []).append((line, _fill(line, pattern, catalog, problems)))
    for found in rows.values():
        _check_alternates([line for line, _ in found], problems)
    for slot in pattern.slots.values():
        if not slot.optional and slot.slot not in rows:
            advice = f"add a row with a part of role {slot.role}"
            problems.add("BLD005", Place(table.file), "slot", slot.slot, "a needed slot is empty:", advice)
    return _build(pattern, rows), tuple(problems.found)


def _build(pattern: Pattern, rows: dict[str, list[tuple[Line, Fill | None]]]) -> Build:
    """What could be read: in each slot the first row that serves all else, and beside it its alternates."""
    fills, alternates = {}, {}
    for slot, found in rows.items():
        read = [(line, fill) for line, fill in found if fill is not None]
        main = next((fill for line, fill in read if not line.serves), None)
        if main is None:
            continue
        fills[slot] = main
        if len(found) > 1:
            alternates[slot] = tuple(Alternate(line.alternate, line.serves, fill) for line, fill in read)
    return Build(pattern, fills, alternates)


def _fill(line: Line, pattern: Pattern, catalog: Catalog, problems: Problems) -> Fill | None:
    """What a row puts into its slot; None where slot or part is at fault."""
    slot, part = pattern.slots.get(line.slot), catalog.parts.get(line.part)
    if slot is None:
        problems.add("BLD001", line.place, "slot", line.slot, "an unknown slot", nearest(line.slot, pattern.slots))
    if not catalog.knows(line.part):
        problems.add("BLD002", line.place, "part", line.part, "an unknown part", nearest(line.part, catalog.parts))
    if slot is None or part is None:
        return None
    if part.role != slot.role and {part.role, slot.role} <= catalog.roles.keys():
        others = ", ".join(other.part for other in catalog.of_role(slot.role)[:6]) or "none"
        advice = f"give one with role {slot.role}: {others}"
        problems.add("BLD003", line.place, "part", line.part, f"a part with role {part.role}", advice)
        return None
    operations = tuple(_operations(line, slot, catalog, problems))
    _check_left(line, part, operations, problems)
    return Fill(slot, part, line.place, operations, line.kit)


def _operations(line: Line, slot: Slot, catalog: Catalog, problems: Problems) -> Iterable[Operation]:
    """The operations that a row names, those that can be done to its slot."""
    fitting = [name for name, found in catalog.operations.items() if found.role == slot.role]
    for name in line.operations:
        operation = catalog.operations.get(name)
        if operation is None:
            if name not in catalog.named_operations:
                advice = f"add it to operations.csv; {nearest(name, fitting)}"
                problems.add("BLD011", line.place, "operations", name, "an unknown operation", advice)
        elif operation.role != slot.role:
            what = f"an operation on a {operation.role}, not a {slot.role}:"
            problems.add("BLD012", line.place, "operations", name, what, nearest(name, fitting))
        else:
            yield operation


def _check_left(line: Line, part: Part, operations: Sequence[Operation], problems: Problems) -> None:
    """A dimension that must be above zero is so after all operations."""
    for name in dict.fromkeys(name for operation in operations for name in operation.changes):
        before, known = part.attributes.get(name), ATTRIBUTES.get(name)
        if known is None or not known.positive or not isinstance(before, Quantity):
            continue
        after = changed(before, name, operations)
        if after.value <= 0:
            what = f"the {name} of {part.part} is {before}, after its operations"
            advice = "leave an operation out, or correct what it changes in operations.csv"
            problems.add("BLD013", line.place, "operations", after, what, advice)


def _check_alternates(lines: Sequence[Line], problems: Problems) -> None:
    """Several rows of a slot are alternates with names of their own, of which one, the main one, serves all else."""
    nameless = [line for line in lines if not line.alternate] if len(lines) > 1 else []
    if len(nameless) == len(lines):
        advice = f"take it out, or give each row of the slot an alternate; the first is in {lines[0].place}"
        for line in nameless[1:]:
            problems.add("BLD009", line.place, "slot", line.slot, "a slot filled a second time:", advice)
        return
    for line in nameless:
        problems.add("BLD009", line.place, "alternate", "", "an alternate without a name", "give it one")
    _check_names(lines, problems)
    _check_served(lines, problems)
    mains = [line for line in lines if not line.serves]
    if not mains:
        what, advice = "no row of the slot is in when nothing else serves:", "leave serves empty in the main one"
        problems.add("BLD010", lines[0].place, "serves", " ".join(lines[0].serves), what, advice)
    for line in () if nameless else mains[1:]:
        advice = f"say what it serves; the main one is in {mains[0].place}"
        problems.add("BLD010", line.place, "serves", "", f"a second main row of {line.slot}", advice)


def _check_served(lines: Sequence[Line], problems: Problems) -> None:
    """Of the alternates of a slot only one serves a set-up."""
    first: dict[str, Place] = {}
    for line in lines:
        for setup in line.serves:
            if setup in first:
                advice = f"let one serve it; the first is in {first[setup]}"
                problems.add("BLD010", line.place, "serves", setup, "a set-up that another alternate serves:", advice)
            first.setdefault(setup, line.place)


def _check_names(lines: Sequence[Line], problems: Problems) -> None:
    first: dict[str, Place] = {}
    for line in lines:
        if line.alternate and line.alternate in first:
            advice = f"give another; the first is in {first[line.alternate]}"
            problems.add("BLD009", line.place, "alternate", line.alternate, "a second alternate with the name", advice)
        first.setdefault(line.alternate, line.place)
