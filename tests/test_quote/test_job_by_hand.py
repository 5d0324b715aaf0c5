"""A job worked by hand: what it earns line by line, and who owes what as the days go by."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from costplan.quote.job import Standing
from costplan.quote.records import Change
from tests.test_quote.small_job import FREE, R1, R2, ROWS, SECOND, quoted, sold, standing, until
from tests.test_quote.small_quote import money


def test_the_revisions_come_to_what_their_heading_says() -> None:
    assert (R1.margin.net, R1.margin.cost, R1.totals.gross) == (money("3177.00"), money("2110.00"), money("3334.70"))
    assert (R2.margin.net, R2.margin.cost, R2.totals.gross) == (money("3487.00"), money("2310.00"), money("3657.70"))


def test_what_each_line_cost_against_what_it_was_quoted_to(tmp_path: Path) -> None:
    earnings = standing(ROWS, tmp_path, "2027-06-01").earnings
    assert earnings is not None
    rows = [(one.key, one.hours, one.cost, one.actual_hours, one.actual_cost) for one in earnings.items]
    assert [" ".join(map(str, row)) for row in rows] == [
        "part/P-1 0 760.00 0 760.00",  # as the contract has it
        "part/R-2 0 120.00 0 60.00",  # one pack of two: 120 / 2
        "work/strip 4 200.00 4.5 225.00",  # 4.5 h x 50
        "work/build 12 600.00 13.5 675.00",  # 13.5 h x 50
        "work/seats 6 360.00 5.5 330.00",  # 5.5 h x 60, the machine's rate
        "work/balance 0 200.00 0 210.00",
        "extra/old carb 0 -80.00 0 -80.00",  # taken in trade for what the contract says
        "freight 0 50.00 0 48.00",
        "part/B-3 0 100.00 0 115.00",
        "bought/solvent 0 0.00 0 12.50",
    ]
    assert [one.cost_over for one in earnings.items] == list(
        map(Decimal, ("0", "-60", "25", "75", "-30", "10", "0", "-2", "15", "12.50"))
    )


def test_what_was_earned_against_what_was_quoted(tmp_path: Path) -> None:
    earnings = standing(ROWS, tmp_path, "2027-06-01").earnings
    assert earnings is not None
    assert earnings.earned is not None
    # 760 + 60 + 225 + 675 + 330 + 210 - 80 + 48 + 115 + 12.50 = 2355.50; 3487.00 - 2355.50 = 1131.50
    assert (earnings.earned.net, earnings.earned.cost) == (money("3487.00"), money("2355.50"))
    assert (earnings.quoted.earned, earnings.contract.earned) == (money("1067.00"), money("1177.00"))
    assert earnings.earned.earned == money("1131.50")
    assert earnings.earned.margin == money("1131.50") / money("3487.00")
    assert earnings.forecast == earnings.earned
    assert [(one.kind, one.net, one.cost, one.actual_cost, one.cost_over) for one in earnings.kinds] == [
        ("parts", money("1257"), money("980"), money("935"), money("-45")),
        ("labour", money("2040"), money("1160"), money("1230"), money("70")),
        ("sublet", money("240"), money("200"), money("210"), money("10")),
        ("freight", money("50"), money("50"), money("48"), money("-2")),
        ("credit", money("-100"), money("-80"), money("-80"), money("0")),
        ("", money("0"), money("0"), money("12.50"), money("12.50")),
    ]
    assert earnings.beside == money("12.50")


def test_a_job_in_hand_is_told_by_a_forecast_and_not_as_a_gain(tmp_path: Path) -> None:
    earnings = standing(ROWS, tmp_path, "2027-03-08").earnings
    assert earnings is not None
    assert earnings.earned is None
    # booked: P-1 760, R-2 60, B-3 115, strip 225, credit -80 = 1080; to come: build 600, seats 360, balance 200,
    # freight 50 = 1210
    assert earnings.forecast.cost == money("2290.00")
    assert (earnings.booked.lines, earnings.not_booked.lines) == (5, 4)
    assert (earnings.not_booked.hours, earnings.not_booked.cost) == (money("18"), money("1210"))
    assert earnings.not_booked.net == money("1970")  # 1080 + 600 + 240 + 50
    assert [one.key for one in earnings.unbooked] == ["work/build", "work/seats", "work/balance", "freight"]
    assert [one.cost_over for one in earnings.unbooked] == [None] * 4


def test_a_change_order_is_what_the_later_revision_comes_to_more(tmp_path: Path) -> None:
    found = standing(ROWS, tmp_path, "2027-03-05")
    (order,) = found.change_orders
    assert (order.revision, order.on, order.by, order.reason) == (2, date(2027, 3, 5), "A. Racer", "bearings")
    # 130.00 of bearings with 13.00 of tax, and two hours at 90.00; cost 100.00 and two hours at 50.00
    assert order.more == Change(money("310.00"), money("323.00"), money("200.00"))
    assert (found.accepted and found.accepted.revision, found.contract and found.contract.revision) == (1, 2)
    (stop,) = found.stops
    assert (stop.on, stop.signed, stop.by) == (date(2027, 3, 3), date(2027, 3, 5), "A. Racer")
    assert [(one.slots, one.note) for one in found.found] == [(("pump",), "copper shows")]
    assert [(one.slots, one.note) for one in found.received] == [((), "complete")]


def owed(found: Standing) -> tuple[str, ...]:
    owing = found.owing
    names = ("balance", "storage", "interest", "due", "now", "deposit_owed")
    return tuple(f"{getattr(owing, name):.2f}" for name in names)


@pytest.mark.parametrize(
    ("day", "expected"),
    [
        ("2027-02-28", ("0.00", "0.00", "0.00", "0.00", "0.00", "0.00")),
        ("2027-03-01", ("1667.35", "0.00", "0.00", "1667.35", "0.00", "0.00")),  # half of 3334.70 was paid
        ("2027-03-05", ("1990.35", "0.00", "0.00", "1990.35", "161.50", "161.50")),  # half of 3657.70 is 1828.85
        ("2027-03-12", ("1990.35", "0.00", "0.00", "1990.35", "1990.35", "161.50")),  # finished: all of it
        ("2027-03-26", ("1990.35", "0.00", "0.00", "1990.35", "1990.35", "161.50")),  # 14 days on, none yet
        ("2027-03-27", ("1990.35", "0.00", "1.00", "1991.35", "1991.35", "161.50")),  # 1990.35 x 0.015 / 30 = 0.995
        # 15 days by then on 1990.35: 14.927..., and 1000 is paid
        ("2027-04-10", ("990.35", "0.00", "14.93", "1005.28", "1005.28", "0.00")),
        ("2027-04-11", ("990.35", "0.00", "15.42", "1005.77", "1005.77", "0.00")),  # 30 days after it was finished
        ("2027-04-12", ("990.35", "5.00", "15.92", "1011.27", "1011.27", "0.00")),
        # 14 days of storage; 15 days on 1990.35 and 15 on 990.35: 44710.50 x 0.015 / 30 = 22.355...
        ("2027-04-25", ("990.35", "70.00", "22.36", "1082.71", "1082.71", "0.00")),
        # fetched: storage stays; 30 days more on 990.35: 29.71...; 15 x 1990.35 + 45 x 990.35 = 74421; 37.2105
        ("2027-05-25", ("990.35", "70.00", "37.21", "1097.56", "1097.56", "0.00")),
    ],
)
def test_who_owes_what_as_the_days_go_by(tmp_path: Path, day: str, expected: tuple[str, ...]) -> None:
    assert owed(standing(ROWS, tmp_path, day)) == expected


def test_a_deposit_on_an_old_piece_comes_back_with_it(tmp_path: Path) -> None:
    (before,) = standing(ROWS, tmp_path, "2027-04-30").cores
    assert (before.charged, before.given_back, before.outstanding) == (money("40"), money("0"), money("40"))
    assert (before.part, before.by) == ("P-1", date(2027, 5, 31))
    (after,) = standing(ROWS, tmp_path, "2027-05-01").cores
    assert (after.given_back, after.outstanding) == (money("40"), money("0"))


REFUSED = until("2027-03-03") + "top,2027-03-03,used,,,R-2,,1,,,,,\ntop,2027-03-06,refused,,,,,,,,,A. Racer,too dear\n"


def test_a_refused_job_owes_its_tear_down_and_the_parts_that_were_used(tmp_path: Path) -> None:
    found = standing(REFUSED, tmp_path, "2027-03-06")
    # tear-down 360.00 without tax; one pack of rings 88.50 with 10 % = 97.35 (8.85); 1667.35 was paid
    assert (found.owing.gross, found.owing.due, found.owing.now) == (
        money("457.35"),
        money("-1210.00"),
        money("-1210.00"),
    )
    assert found.earnings is not None
    assert found.earnings.earned is not None
    # strip 4.5 h x 50 = 225.00 and a pack at 60.00; nothing is taken in trade
    assert (found.earnings.earned.net, found.earnings.earned.cost) == (money("448.50"), money("285.00"))
    assert (found.state, found.cores, found.offered) == ("refused", (), None)


def test_a_part_of_no_revision_is_owed_at_its_cost_and_mark_up(tmp_path: Path) -> None:
    text = REFUSED.replace("used,,,R-2,,1,,,", "used,,,X-9,,1,,20,")
    # 360.00, and 20.00 with 25 % mark-up and 10 % tax = 27.50
    assert standing(text, tmp_path, "2027-03-06").owing.gross == money("387.50")


def test_what_a_fixed_price_holds_is_used_up_by_what_is_booked_beside_it(tmp_path: Path) -> None:
    held = quoted(1, (sold("held/parts", "parts", "1", "300.00", "240.00", FREE), *SECOND), date(2027, 2, 20), "")
    begun = "top,2027-03-01,accepted,1,,,,,,,,A. Racer,\n"
    plan = standing(begun, tmp_path, "2027-03-02", held).earnings
    some = standing(f"{begun}top,2027-03-02,used,,,X-9,,1,,100,,,\n", tmp_path, "2027-03-02", held).earnings
    more = standing(f"{begun}top,2027-03-02,used,,,X-9,,1,,300,,,\n", tmp_path, "2027-03-02", held).earnings
    assert plan is not None
    assert some is not None
    assert more is not None
    assert (plan.forecast.cost, some.forecast.cost, more.forecast.cost) == tuple(map(money, ("2550", "2550", "2610")))
    end = standing(f"{begun}top,2027-03-03,finished,,,,,,,,,,\n", tmp_path, "2027-03-03", held).earnings
    assert end is not None
    assert end.forecast.cost == money("2310")
    assert "held/parts" not in [one.key for one in end.unbooked]


def test_a_discount_on_the_whole_is_taken_off_once(tmp_path: Path) -> None:
    net = R2.margin.net - money("100.00")
    cheaper = replace(R2, revision=1, on=R1.on, discount=money("100.00"), margin=replace(R2.margin, net=net))
    earnings = standing("top,2027-03-01,accepted,1,,,,,,,,A. Racer,\n", tmp_path, "2027-03-01", cheaper).earnings
    assert earnings is not None
    assert sum(one.net for one in earnings.kinds) == net == money("3387.00")
    assert earnings.booked.net + earnings.not_booked.net - earnings.discount == net
