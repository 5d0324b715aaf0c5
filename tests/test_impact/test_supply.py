"""What a change makes the field buy at once against what can be there by the first round: three want four springs
each."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from costplan.impact.figures import Supply
from costplan.impact.records import Range
from costplan.impact.ways import rises_of
from tests.test_impact.small_field import ENGINES, FILES, field_of, study, written

HEAD = "part,ready,a_week,rise_low,rise,rise_high,source\n"
OPENING = date(2027, 3, 1)


def supply(folder: Path, name: str = "springs", on: date = OPENING, **files: str) -> tuple[Supply, ...]:
    return study(written(folder, **files), name, seasons=10, on=on).changes[0].supply


@pytest.mark.parametrize(
    ("row", "there", "short", "waiting"),
    [
        ("SP-B,2,1.5,,,,Dale", 8, 4, 1),  # 33 days to 3 April are four whole weeks: 2 + 6
        ("SP-B,2,1.4,,,,Dale", 7, 5, 2),  # 2 + 5.6, and five springs are those of two entrants
        ("SP-B,0,3,,,,Dale", 12, 0, 0),
        ("SP-B,0,0,,,,Dale", 0, 12, 3),
    ],
)
def test_what_is_made_by_the_first_round(tmp_path: Path, row: str, there: int, short: int, waiting: int) -> None:
    (found,) = supply(tmp_path, supply=HEAD + row + "\n")
    assert (found.part, found.suppliers, found.entrants, found.wanted) == ("SP-B", ("Dale",), 3, 12)
    assert (found.there, found.short, found.waiting) == (there, short, waiting)
    assert (found.lead_days, found.here, found.in_time) == (14, date(2027, 3, 15), True)
    assert not found.assumed


@pytest.mark.parametrize(
    ("on", "here", "in_time", "there"),
    [
        (date(2027, 3, 20), date(2027, 4, 3), True, 22),  # 14 days: here on the day; 20 and two weeks of 1
        (date(2027, 3, 21), date(2027, 4, 4), False, 0),
        (date(2027, 4, 4), date(2027, 4, 18), False, 0),  # the first round is then 10 April
        (date(2027, 12, 1), date(2027, 12, 15), False, 0),  # all rounds are over
    ],
)
def test_what_comes_too_late_is_not_there(tmp_path: Path, on: date, here: date, in_time: bool, there: int) -> None:
    (found,) = supply(tmp_path, on=on, supply=HEAD + "SP-B,20,1,,,,Dale\n")
    assert (found.here, found.in_time, found.there) == (here, in_time, there)
    assert found.waiting == (0 if in_time else 3)


def test_what_nobody_states_is_not_known(tmp_path: Path) -> None:
    (found,) = supply(tmp_path)
    assert (found.there, found.short, found.waiting, found.assumed) == (None, None, None, True)


def test_both_engines_of_a_pair_want_springs_and_one_car_wants_a_box(tmp_path: Path) -> None:
    field = f"group,entrants,variant\nlocals,3,\npairs,2,{ENGINES}\n"
    (springs,) = supply(tmp_path, field=field, supply=HEAD + "SP-B,9,0,,,,\n")
    assert (springs.entrants, springs.wanted, springs.short) == (5, 3 * 4 + 2 * 8, 19)
    assert springs.waiting == 3  # three of those who want most: 19 of 8 each
    (box,) = supply(tmp_path, "box", field=field)
    assert (box.entrants, box.wanted) == (5, 5)


def test_what_is_bought_today_anyway_is_not_wanted_by_the_change(tmp_path: Path) -> None:
    # under today's book too only springs B may be in, and nobody has them
    rules = FILES["rules.toml"].replace('["SP-A", "SP-B", "SP-C"]', '["SP-B"]')
    assert supply(tmp_path, rules=rules) == ()
    assert [one.part for one in supply(tmp_path, "both", rules=rules)] == ["CAM-B"]


def test_who_alone_still_sells_is_named_with_his_rise(tmp_path: Path) -> None:
    (found,) = supply(tmp_path, supply=HEAD + "SP-B,50,0,5 %,0.1,0.3,Dale\n")
    assert (found.sole, found.rise) == ("Dale", Range(Decimal("0.05"), Decimal("0.1"), Decimal("0.3")))
    (found,) = supply(tmp_path, "better", supply=HEAD + "SP-B,50,0,,0.1,,Dale\n")
    assert found.part == "SP-B"
    assert found.sole == ""
    assert found.rise.likely == 0  # Hill's C may be bought too


def test_the_scarcest_comes_first(tmp_path: Path) -> None:
    rows = "SP-B,11,0,,,,\nCAM-B,0,0,,,,\n"
    assert [(one.part, one.short) for one in supply(tmp_path, "both", supply=HEAD + rows)] == [
        ("CAM-B", 3),
        ("SP-B", 1),
    ]


def test_newcomers_want_the_other_part_alone(tmp_path: Path) -> None:
    (found,) = supply(tmp_path, field="group,entrants,joins\nnew,2,yes\n")
    assert (found.part, found.wanted) == ("SP-B", 8)


def test_what_is_renewed_in_the_opening_gap_anyway_must_be_there_too(tmp_path: Path) -> None:
    (found,) = supply(tmp_path, field="group,entrants,calendar\nlocals,3,calendar-winter.csv\n")
    assert (found.part, found.wanted, found.lead_days) == ("SP-B", 12, 14)


def test_only_what_the_sole_seller_sells_rises(tmp_path: Path) -> None:
    rows = "SP-B,50,0,0.05,0.1,0.3,\nSP-C,50,0,,0.5,,\nCAM-B,50,0,,0.5,,\n"
    field = field_of(written(tmp_path, supply=HEAD + rows), "springs")
    (crowd,) = field.crowds
    soles = {"springs": "Dale"}
    assert [rises_of(field.supplies, soles, crowd, end) for end in range(3)] == [
        {"SP-B": 0.05},
        {"SP-B": 0.1},
        {"SP-B": 0.3},
    ]
    assert rises_of(field.supplies, {}, crowd) == {}
