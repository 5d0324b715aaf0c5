"""Answers where two boxes take turns in their slot: the fast one as a rule, the slow one at tight tracks."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from tests.test_impact.small_field import (
    FILES,
    answer_of,
    change,
    desk,
    field_of,
    lines,
    only,
    parts_rule,
    study,
    written,
)

BUILD = (
    "slot,part,operations,alternate,serves\nhead,HEAD,,,\nsprings,SP-A,,,\ncam,CAM-A,degree,,\n"
    "box,BOX-9,,fast,\nbox,BOX-6,,slow,tight\n"
)
GARAGE = """\
piece,part,engine,slot,alternate,bought,events,hours
blue-springs,SP-A,blue,springs,,2026-08-01,3,4.5
blue-cam,CAM-A,blue,cam,,2026-01-01,3,4.5
fast-box,BOX-9,car,box,fast,2025-01-01,12,18
slow-box,BOX-6,car,box,slow,2025-01-01,30,45
"""
CALENDAR = FILES["calendar.csv"].replace("format,", "format,setup,").replace("dyno,,", "dyno,,,")
TIGHT = CALENDAR.replace("night,,", "night,tight,,", 1).replace("night,,20", "night,,,20")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return written(
        tmp_path,
        build=BUILD,
        garage=GARAGE,
        calendar=TIGHT,
        change_box=change("only fast", parts_rule("box", "BOX-9")),
        change_quota=change("only slow", parts_rule("box", "BOX-6")),
    )


def test_who_may_keep_both_does(folder: Path) -> None:
    answer = answer_of(folder, "none")
    assert answer.swaps == ()
    assert set(answer.build.alternates) == {"box"}


def test_where_one_is_barred_the_other_stands_alone(folder: Path) -> None:
    answer = answer_of(folder, "box")
    assert [(one.slot, one.before, one.after, one.turn) for one in answer.swaps] == [("box", "BOX-6", "", "slow")]
    assert lines(answer) == [("sold", "BOX-6", ("box",), 1, "-40.00")]
    assert answer.once(0.4, {}) == Decimal("-24.00")  # nothing is opened to leave it at home
    assert answer.build.alternates == {}
    assert [piece.part for piece in answer.garage if piece.slot == "box"] == ["BOX-9"]


def test_where_the_fast_one_is_barred_the_slow_one_that_they_have_stands_alone(folder: Path) -> None:
    # The slow box is on hand: 15 - 0.6 * 100. A second one to take turns with the first would be 120 more
    answer = answer_of(folder, "quota")
    kept = answer.build.part("box")
    assert kept is not None
    assert kept.part == "BOX-6"
    assert answer.once(0.4, {}) == Decimal("-45.00")


def test_the_season_after_a_change_runs_what_the_answer_says(folder: Path) -> None:
    made = desk(field_of(folder, "quota"))
    under = made.groups[0].changed[0]
    assert under.complying is not None
    season = under.complying.side.season
    parts = {spot.slot: season.items[spot.item].name for spot in season.spots}
    assert parts["box"] == "BOX-6"


def test_what_took_turns_is_put_out(folder: Path) -> None:
    (part,) = study(folder, "box").changes[0].stranded
    # 30 of 60 events: (120 - 40) / 2 + 40
    assert (part.part, part.entrants) == ("BOX-6", 3)
    assert part.left == Decimal(240)
    assert part.brings == Decimal(72)


def test_the_other_box_then_runs_at_all_tracks(folder: Path) -> None:
    group = only(study(folder, "box").changes[0])
    assert group.once == Decimal("-24.00")
    assert group.answered
