"""How a group answers a changed book, line by line: bought + work + deposit + level - what is sold * (1 - haircut)."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from types import SimpleNamespace

import pytest

from costplan.report.impact.words import unanswered
from tests.test_impact.small_field import (
    ENGINES,
    FILES,
    answer_of,
    lines,
    moved,
    only,
    study,
    written,
)

HAIRCUT = 0.4
TWO = f"group,entrants,variant\npair,1,{ENGINES}\n"
NEW = "group,entrants,joins\nnew,2,yes\n"
WINTER = "group,entrants,calendar\nlocals,1,calendar-winter.csv\n"


def test_another_spring_costs_its_packs_and_its_level_less_the_old_ones_at_their_haircut(tmp_path: Path) -> None:
    answer = answer_of(written(tmp_path), "springs")
    assert moved(answer) == [("springs", "SP-A", "SP-B")]
    assert lines(answer) == [
        ("bought", "SP-B", ("springs",), 4, "60.00"),  # four in two packs of 30
        ("level", "springs", ("springs",), 1, "40"),
        ("sold", "SP-A", ("springs",), 4, "-8.00"),  # four at 2
    ]
    assert answer.once(HAIRCUT, {}) == Decimal("95.20")  # 60 + 40 - 0.6 * 8


def test_a_cam_costs_work_and_deposit_too(tmp_path: Path) -> None:
    answer = answer_of(written(tmp_path), "cam")
    assert lines(answer) == [
        ("bought", "CAM-B", ("cam",), 1, "150.00"),
        ("deposit", "CAM-B", ("cam",), 1, "30.00"),
        ("work", "degree", ("cam",), 1, "25.00"),
        ("level", "top", ("cam",), 1, "120"),  # 100 labour, 20 supplies
        ("bought", "SP-A", ("springs",), 4, "40.00"),  # which the level renews every time
        ("sold", "CAM-A", ("cam",), 1, "-80.00"),
    ]
    assert answer.once(HAIRCUT, {}) == Decimal("317.00")  # 150 + 30 + 25 + 120 + 40 - 0.6 * 80
    assert answer.once(1.0, {}) == Decimal("365.00")
    assert answer.once(0.0, {"CAM-B": 0.1}) == Decimal("300.00")  # the rise is on what is bought, not on its deposit


def test_one_opening_reaches_all_that_is_swapped(tmp_path: Path) -> None:
    answer = answer_of(written(tmp_path), "both")
    assert [line for line in lines(answer) if line[0] == "level"] == [("level", "top", ("cam", "springs"), 1, "120")]
    assert answer.once(HAIRCUT, {}) == Decimal("332.20")  # 150 + 30 + 25 + 60 + 120 - 0.6 * (80 + 8)


def test_a_part_that_takes_another_along_brings_it(tmp_path: Path) -> None:
    # cam C rises 13 mm, and of the springs only C bear that
    answer = answer_of(written(tmp_path), "fast")
    assert moved(answer) == [("cam", "CAM-A", "CAM-C"), ("springs", "SP-A", "SP-C")]
    assert answer.once(HAIRCUT, {}) == Decimal("316.20")  # 120 + 25 + 104 + 120 - 0.6 * (80 + 8)


def test_who_meets_the_book_does_nothing_and_pays_nothing(tmp_path: Path) -> None:
    answer = answer_of(written(tmp_path), "none")
    assert answer.swaps == ()
    assert answer.lines == ()
    assert answer.once(HAIRCUT, {}) == 0


def test_a_part_that_is_worn_out_stays_in_the_engine_for_nothing(tmp_path: Path) -> None:
    garage = FILES["garage.csv"].replace("2026-08-01,3,4.5", "2026-08-01,50,75")
    folder = written(tmp_path, garage=garage)
    assert answer_of(folder, "none").lines == ()
    assert moved(answer_of(folder, "cam")) == [("cam", "CAM-A", "CAM-B")]


def test_slots_of_engines_are_paid_for_each_engine_and_those_of_the_car_once(tmp_path: Path) -> None:
    folder = written(tmp_path, field=TWO)
    springs, box = answer_of(folder, "springs"), answer_of(folder, "box")
    assert lines(springs) == [
        ("bought", "SP-B", ("springs",), 8, "120.00"),
        ("level", "springs", ("springs",), 2, "80"),
        ("sold", "SP-A", ("springs",), 8, "-16.00"),
    ]
    assert springs.once(HAIRCUT, {}) == Decimal("190.40")
    assert lines(box) == [
        ("bought", "BOX-6", ("box",), 1, "120.00"),
        ("level", "bench", ("box",), 1, "15"),
        ("sold", "BOX-9", ("box",), 1, "-100.00"),
    ]
    assert box.once(HAIRCUT, {}) == Decimal("75.00")


def test_a_level_that_the_opening_service_does_anyway_is_not_paid_again(tmp_path: Path) -> None:
    answer = answer_of(written(tmp_path, field=WINTER), "cam")
    assert [what for what, *_ in lines(answer)] == ["bought", "deposit", "work", "sold"]
    assert answer.once(HAIRCUT, {}) == Decimal("157.00")  # 277 less the level's 120


def test_what_the_opening_service_renews_anyway_costs_nothing_once(tmp_path: Path) -> None:
    answer = answer_of(written(tmp_path, field=WINTER), "springs")  # level top renews the springs every time
    (swap,) = answer.swaps
    assert (swap.after, swap.anyway) == ("SP-B", True)
    assert lines(answer) == [("anyway", "SP-B", ("springs",), 4, "0")]
    assert answer.once(HAIRCUT, {}) == 0


def test_what_lies_on_the_shelf_is_taken_from_it(tmp_path: Path) -> None:
    shelf = FILES["garage.csv"] + "box-of-b,SP-B,,,6,2027-01-02,,\n"
    answer = answer_of(written(tmp_path, garage=shelf), "springs")
    (swap,) = answer.swaps
    assert (swap.after, swap.piece) == ("SP-B", "box-of-b")
    assert [what for what, *_ in lines(answer)] == ["level", "sold"]
    assert answer.once(HAIRCUT, {}) == Decimal("35.20")  # 40 - 0.6 * 8
    assert [(one.part, one.count) for one in answer.garage if one.on_shelf] == [("SP-B", 2)]  # six less four


def test_new_boxes_on_the_shelf_for_no_use_are_sold_for_what_they_cost(tmp_path: Path) -> None:
    shelf = FILES["garage.csv"] + "box-of-a,SP-A,,,5,2027-01-02,,\n"
    answer = answer_of(written(tmp_path, garage=shelf), "springs")
    assert lines(answer)[-1] == ("sold", "SP-A", (), 5, "-50.00")
    assert answer.once(HAIRCUT, {}) == Decimal("65.20")  # 95.20 - 0.6 * 50
    assert not any(one.on_shelf for one in answer.garage)


def test_used_pieces_on_the_shelf_are_sold_at_their_resale(tmp_path: Path) -> None:
    shelf = FILES["garage.csv"] + "used-a,SP-A,,,5,2026-01-02,2,3\n"
    answer = answer_of(written(tmp_path, garage=shelf), "springs")
    assert lines(answer)[-1] == ("sold", "SP-A", (), 5, "-10.00")
    assert answer.once(HAIRCUT, {}) == Decimal("89.20")  # 95.20 - 0.6 * 10


def test_where_nothing_may_be_stretched_nothing_cheaper_is_bought_but_where_the_book_leaves_nothing_else(
    tmp_path: Path,
) -> None:
    # four springs B cost 32 and four A 40, which are planned; C cost 104
    parts = FILES["catalog/parts.csv"].replace("SP-B,spring,Dale,30", "SP-B,spring,Dale,16")
    careful = "slot,level,carrier,stretch\nsprings,springs,engine,no\ncam,top,engine,yes\nbox,bench,car,yes\n"
    folder = written(tmp_path, parts=parts, positions=careful)
    assert moved(answer_of(folder, "better")) == [("springs", "SP-A", "SP-C")]
    assert moved(answer_of(folder, "springs")) == [("springs", "SP-A", "SP-B")]
    plain = written(tmp_path, parts=parts, positions=FILES["positions.csv"])
    assert moved(answer_of(plain, "better")) == [("springs", "SP-A", "SP-B")]


def test_newcomers_buy_another_part_in_place_of_the_one_that_they_would_have_bought(tmp_path: Path) -> None:
    folder = written(tmp_path, field=NEW)
    springs, cam = answer_of(folder, "springs"), answer_of(folder, "cam")
    assert lines(springs) == [
        ("bought", "SP-B", ("springs",), 4, "60.00"),
        ("spared", "SP-A", ("springs",), 4, "-40.00"),
    ]
    assert springs.once(HAIRCUT, {}) == Decimal(20)  # no level, no haircut
    assert cam.once(HAIRCUT, {}) == Decimal(-20)  # 150 + 30 + 25 - (200 + 25)


def test_who_cannot_comply_is_told_what_is_at_odds_and_is_not_counted(tmp_path: Path) -> None:
    # only springs B, which bear 12 mm, and only cam C, which rises 13
    impact = study(written(tmp_path), "never")
    group, total = only(impact.changes[0]), impact.changes[0].total
    assert set(group.against) == {"springs", "cam", "springs bear the lift"}
    assert not group.answered
    assert group.lines == ()
    assert group.over.mean == 0
    assert total.unable == 3
    assert total.over.mean == 0
    assert total.losers == 0


def test_a_sole_seller_raises_his_price(tmp_path: Path) -> None:
    supply = "part,ready,rise\nSP-B,100,20 %\n"
    impact = study(written(tmp_path, supply=supply), "springs", "better")
    alone, beside = impact.changes
    assert only(alone).once == Decimal("107.20")  # 95.20 + 0.2 * 60, of Dale alone
    assert only(beside).once == Decimal("95.20")  # springs C of Hill may stand there too
    assert beside.total.risen == 0


def test_who_finds_nothing_in_time_is_not_called_unable(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("costplan.impact.answering.explain", lambda *_: SimpleNamespace(culprits=()))
    group = only(study(written(tmp_path), "never").changes[0])
    assert group.undecided
    assert unanswered(group) == "none found in time"
