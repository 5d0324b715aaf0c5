"""What can go into a slot, and as what: the row that it comes from, and the work that the build plans there."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from costplan.choose import SHELF, Wishes, encode
from costplan.choose.candidates import Candidate
from costplan.scenario import Scenario
from tests.test_choose.small_shop import shop

DAY = date(2027, 2, 1)
PARTS = "R-A,rod,Hill,40,2027-01-10,1,2,5,450,steel R-B,rod,Dale,50,2027-01-10,1,2,5,450,steel"
#: Each rod once used and once new.
GARAGE = """\
piece,part,count,bought,events
old-A,R-A,1,2026-01-01,5
old-B,R-B,1,2026-01-01,5
new-A,R-A,1,2026-01-01,
new-B,R-B,1,2026-01-01,
"""
LOOK = "operation,role,name,price,price_date\nlook,rod,looked at,2,2027-01-10"


def looked_at(folder: Path) -> Scenario:
    """A slot for which the build plans R-A, looked at."""
    tables = {"c/operations.csv": LOOK, "s/garage.csv": GARAGE}
    return shop(folder, PARTS, {"rods": "rod"}, "rods,R-A,look", tables=tables)


def rods(scenario: Scenario) -> dict[str, Candidate]:
    """The candidates of the slot by their piece, those that are bought by their part."""
    every = encode(scenario, Wishes(DAY, hand=(SHELF,))).candidates["rods"]
    return {one.piece.piece if one.piece else one.part: one for one in every}


def test_the_planned_part_has_the_place_of_its_row_in_the_build_and_others_that_of_the_catalog(tmp_path: Path) -> None:
    found = {name: one.fill.place for name, one in rods(looked_at(tmp_path)).items() if one.fill}
    assert {name: str(place).removeprefix(f"{tmp_path}/") for name, place in found.items()} == {
        "R-A": "s/build.csv:2",
        "R-B": "c/parts.csv:3",
        "old-A": "s/garage.csv:2",
        "old-B": "s/garage.csv:3",
        "new-A": "s/garage.csv:4",
        "new-B": "s/garage.csv:5",
    }


def test_what_is_planned_counts_as_done_to_a_used_piece_of_the_planned_part_alone(tmp_path: Path) -> None:
    # What is new is worked on as planned, whichever part it is; a used R-B is what it is.
    found = {
        name: [one.operation for one in way.fill.done] for name, way in rods(looked_at(tmp_path)).items() if way.fill
    }
    assert found == {
        "R-A": ["look"],
        "R-B": ["look"],
        "old-A": ["look"],
        "old-B": [],
        "new-A": ["look"],
        "new-B": ["look"],
    }
