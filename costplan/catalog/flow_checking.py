"""What only shows when the rows of flow and of lift curves stand side by side, and beside their parts."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from typing import TypeVar

from costplan.catalog.catalog import Catalog
from costplan.catalog.flows import FlowRow, LiftRow
from costplan.problems import Problems, nearest
from costplan.quantity import Quantity, dimension

Flowed = TypeVar("Flowed", FlowRow, LiftRow)
#: What is left of the most flow at a smaller lift, where a larger one makes it fall: no less, or it is a slip. Real
#: ports lose a few hundredths; common practice, no source.
LEFT = 2 / 3
#: A lift curve and its cam's lobe lift are one within this share of the latter.
CLOSE = 0.1


def check_flows(catalog: Catalog, problems: Problems) -> None:
    """Each part that was flowed is there, at one test pressure, with rising lifts or one row without.

    With more lift it flows more, or not much less. A row without its lift is told alone, and not its neighbours.
    """
    for rows in _by_part(catalog.flows, catalog, "the flow of an unknown part", problems):
        first, lifted = rows[0], [row for row in rows if row.lift is not None]
        for row in rows[1:]:
            if not math.isclose(row.pressure.to("kPa"), first.pressure.to("kPa"), rel_tol=1e-9):
                what, advice = "a second test pressure of one part:", f"bring all to one; the first is in {first.place}"
                problems.add("CAT016", row.place, "pressure", row.pressure, what, advice)
        for row in (row for row in rows[0 if lifted else 1 :] if row.lift is None):
            what, advice = "a row without lift beside others of its part", "give each its lift, or keep one row"
            problems.add("CAT015", row.place, "lift", "", what, advice)
        fallen = [(before, row) for before, row in pairwise(lifted) if _lift_of(row) <= _lift_of(before)]
        for before, row in fallen:
            what, advice = "not above the lift before it:", f"give rising lifts; that one is in {before.place}"
            problems.add("CAT015", row.place, "lift", row.lift, what, advice)
        if not fallen:
            _check_fall(lifted, problems)


def _lift_of(row: FlowRow) -> float:
    """In mm."""
    return row.lift.to("mm") if row.lift else 0.0


def _check_fall(rows: Sequence[FlowRow], problems: Problems) -> None:
    """A part's flow does not fall by more than a third with lift; the first row that is so low is told."""
    best: FlowRow | None = None
    for row in rows:
        if best and row.flow.to("L/s") < LEFT * best.flow.to("L/s"):
            what = f"with more lift more than a third less than the {best.flow} in {best.place}:"
            problems.add("CAT018", row.place, "flow", row.flow, what, "check both against the bench's sheet")
            return
        best = row if best is None or row.flow.to("L/s") > best.flow.to("L/s") else best


def check_lift_curves(catalog: Catalog, problems: Problems) -> None:
    """Each cam that was measured is there, its angles rise and its lobe does, to the lift that its part has.

    Of a file with rows that could not be read only the turn of the angles is judged: a curve without its top is low.
    """
    at_fault = {problem.place.file for problem in problems.found}
    for rows in _by_part(catalog.lift_curves, catalog, "the lift curve of an unknown part", problems):
        for before, row in pairwise(rows):
            if row.angle.to("deg") <= before.angle.to("deg"):
                what, advice = "not above the angle before it:", f"give rising angles; that one is in {before.place}"
                problems.add("CAT015", row.place, "angle", row.angle, what, advice)
        if rows[-1].angle.to("deg") - rows[0].angle.to("deg") > 720:
            what, advice = "a lobe of more than two turns of the crank:", "give degrees of the crank, of one lobe"
            problems.add("CAT015", rows[-1].place, "angle", rows[-1].angle, what, advice)
        if any(row.place.file in at_fault for row in rows):
            continue
        if not any(row.lift.value for row in rows):
            what, advice = "a lift curve that does not rise", "give the rises of its lobe"
            problems.add("CAT015", rows[0].place, "lift", rows[0].lift, what, advice)
        else:
            _check_top(rows, catalog, problems)


def _check_top(rows: Sequence[LiftRow], catalog: Catalog, problems: Problems) -> None:
    """The highest row of a curve is the lobe lift of its part, where that has one."""
    top = max(rows, key=lambda row: row.lift.to("mm"))
    part, name = catalog.parts.get(top.part), f"{top.side}_lobe_lift"
    given = part.attributes.get(name) if part else None
    if part is None or not isinstance(given, Quantity) or dimension(given.unit) != "length":
        return
    if not math.isclose(top.lift.to("mm"), given.to("mm"), rel_tol=0, abs_tol=CLOSE * abs(given.to("mm"))):
        what = f"the top of a lift curve, while {name} of {part.part} is {given} ({part.place}):"
        advice = "give rises of the lobe, not of the valve, in the unit of the heading; or correct the part"
        problems.add("CAT017", top.place, "lift", top.lift, what, advice)


def _by_part(rows: Iterable[Flowed], catalog: Catalog, what: str, problems: Problems) -> Iterator[tuple[Flowed, ...]]:
    """The rows of each part and side, with a problem for each row of a part that no catalog has."""
    groups: dict[tuple[str, str], list[Flowed]] = {}
    for row in rows:
        if not catalog.knows(row.part):
            problems.add("CAT014", row.place, "part", row.part, what, nearest(row.part, catalog.parts))
        groups.setdefault((row.part, row.side), []).append(row)
    for found in groups.values():
        yield tuple(found)
