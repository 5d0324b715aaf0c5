"""Whether the rows of the bench speak of what the build and its engines have."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from types import MappingProxyType

from costplan.build.measures import INPUTS, MEASURES_OF_BUILD
from costplan.build.names import COMPARED
from costplan.build.pattern import Build
from costplan.garage import Bench
from costplan.problems import Problem, Problems, nearest
from costplan.quantity import dimension

#: What may be measured of an engine as a whole, with the dimension of each: measures, and inputs of them.
MEASURED = MappingProxyType(
    {**INPUTS, **{name: dimension(MEASURES_OF_BUILD[name].unit) or "" for name in COMPARED}},
)


def check_bench(rows: Iterable[Bench], build: Build, engines: Sequence[str], car: str) -> tuple[Problem, ...]:
    """A problem for each row of an unknown engine, slot, attribute or measure; `car`: where the shared parts are."""
    problems = Problems()
    for row in rows:
        if row.engine and row.engine not in (*engines, car):
            near = nearest(row.engine, (*engines, car))
            problems.add("BEN002", row.place, "engine", row.engine, "an unknown engine", near)
        if row.slot:
            _check_attribute(row, build, problems)
        elif row.attribute not in MEASURED:
            advice = f"give its slot, or a measure; {nearest(row.attribute, MEASURED)}"
            problems.add("BEN001", row.place, "attribute", row.attribute, "an unknown measure", advice)
        elif row.engine == car:
            what, advice = f"a measure of the {car}:", "give a slot, or the engine"
            problems.add("BEN001", row.place, "attribute", row.attribute, what, advice)
    return tuple(problems.found)


def _check_attribute(row: Bench, build: Build, problems: Problems) -> None:
    pattern = build.pattern
    known = (*pattern.attributes, *sorted(pattern.words))
    if row.slot not in pattern.slots:
        problems.add("BLD001", row.place, "slot", row.slot, "an unknown slot", nearest(row.slot, pattern.slots))
    elif row.slot not in build.fills and pattern.slots[row.slot].optional:
        advice = "fill it in the build, or take the row out"
        problems.add("BEN001", row.place, "slot", row.slot, "measured in a slot that is empty:", advice)
    if row.attribute not in known:
        near = nearest(row.attribute, known)
        problems.add("BEN001", row.place, "attribute", row.attribute, "an unknown attribute", near)
