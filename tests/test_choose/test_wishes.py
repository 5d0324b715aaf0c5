"""Wishes at their edges: the last day that is early enough, and what is not to be stretched."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from costplan.choose import Wishes, encode
from costplan.scenario import Scenario
from tests.test_choose.small_shop import shop
from tests.test_choose.test_encoding import parts

DAY = date(2027, 2, 1)
RODS = """\
R-A,rod,Hill,40,2027-01-10,1,2,0,450,steel
R-B,rod,Dale,20,2027-01-10,1,20,0,450,steel
R-C,rod,Dale,39.99,2027-01-10,1,2,0,450,steel
R-D,rod,Dale,40,2027-01-10,1,2,0,450,steel
"""


def shelf(folder: Path, stretch: str = "yes") -> Scenario:
    """One slot, for which the build plans R-A."""
    tables = {"s/positions.csv": f"slot,level,stretch\nrods,rebuild,{stretch}"}
    return shop(folder, RODS, {"rods": "rod"}, "rods,R-A", tables=tables)


@pytest.mark.parametrize(
    ("by", "answer"),
    [
        # Ordered on the 1st, R-B is here after 20 days and the others after 2.
        (date(2027, 2, 21), "R-B 20.00"),
        (date(2027, 2, 20), "R-C 39.99"),
        (date(2027, 2, 3), "R-C 39.99"),
        (date(2027, 2, 2), "impossible"),
    ],
)
def test_what_arrives_on_the_very_day_is_here_in_time(tmp_path: Path, by: date, answer: str) -> None:
    assert parts(shelf(tmp_path), by=by) == answer


def test_what_is_not_to_be_stretched_may_be_as_dear_as_planned_and_not_a_cent_less(tmp_path: Path) -> None:
    every, dear = (encode(shelf(tmp_path / word, word), Wishes(DAY)) for word in ("yes", "no"))
    assert [one.part for one in every.candidates["rods"]] == ["R-A", "R-B", "R-C", "R-D"]
    assert [one.part for one in dear.candidates["rods"]] == ["R-A", "R-D"]
    assert [(one.part, one.ground.kind) for one in dear.out] == [("R-B", "critical"), ("R-C", "critical")]


def test_a_pin_frees_a_slot_that_is_not_to_be_stretched(tmp_path: Path) -> None:
    scenario = shelf(tmp_path, "no")
    assert parts(scenario) == "R-A 40.00"
    assert parts(scenario, pinned={"rods": "R-B"}) == "R-B 20.00"
    assert parts(scenario, cheapen=("rods",)) == "R-B 20.00"
