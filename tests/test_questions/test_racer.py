"""The racer's questions, asked end to end with the commands of README's table, on the demo of short ovals."""

from __future__ import annotations

import csv
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path

import pytest

from costplan.scenario import read_scenario
from tests.test_questions.asking import answer, listed


def test_the_questions_that_have_a_command_are_these() -> None:
    assert sorted(listed()) == [*range(1, 26)]


def test_1_when_to_freshen_for_the_big_weekend_and_what_moving_it_costs() -> None:
    found = answer(1)["timing"]
    assert found["asked"]["event"] == "Lantern Three final"
    assert all(part["slot"] and part["chosen"] >= 0 for part in found["asked"]["parts"])
    moves = [move for service in found["services"] for move in service["moves"]]
    assert {move["events"] for move in moves} >= {-2, -1, 1, 2}
    assert all(bool(move["reason"]) != bool(move["cost"]) for move in moves)
    assert any(float(move["cost"]["mean"]) > 2 * float(move["cost"]["error"]) for move in moves if move["cost"])
    assert float(found["dates_gain"]["high"]) < 0


def test_2_what_one_more_race_uses_up() -> None:
    more = answer(2)["plan"]["one_more"]
    assert float(more["life_used"]) > 0
    assert float(more["work_owed"]) > 0
    assert float(more["flowing"]) > 0
    assert 0 < more["chance"] < 1
    assert float(more["risk"]) > 0
    assert float(more["with_risk"]) == pytest.approx(float(more["total"]) + float(more["risk"]))


def test_3_how_much_of_its_assumed_life_each_part_has_used() -> None:
    used = answer(3)["used"]
    assert {"springs", "rings", "block", "crank"} <= {line["slot"] for line in used}
    assert any(line["opening"] < line["now"] < line["end"] for line in used)
    springs = next(line for line in used if line["slot"] == "springs")
    shares = [(event["share"], event["renewed"]) for event in springs["events"]]
    assert len(shares) == 32
    assert all(renewed or after >= before for (before, _), (after, renewed) in pairwise(shares))
    assert sum(renewed for _, renewed in shares) > 2


def test_4_cash_by_month_and_the_worst() -> None:
    plan = answer(4)["plan"]
    net = {month["month"]: float(month["net"]) for month in plan["months"]}
    assert plan["worst_month"] == max(net, key=lambda name: net[name])
    assert sum(net.values()) == pytest.approx(float(plan["cash_total"]))


def test_5_cost_per_race_lap_and_hour_against_what_is_won() -> None:
    rates = answer(5)["plan"]["rates"]
    assert [rate["per"] for rate in rates] == ["race", "lap", "hour"]
    assert all(float(rate["cash"]) > float(rate["cash_after_income"]) for rate in rates)
    assert all(float(rate["wear"]) > float(rate["wear_after_income"]) for rate in rates)


def test_6_the_spread_of_spending_with_rain_and_whether_the_freshen_moves() -> None:
    found = answer(6)["outlook"]
    assert float(found["cash"]["p10"]) < float(found["cash"]["p50"]) < float(found["cash"]["p90"])
    assert float(found["cash"]["error"]) > 0
    scenario, _ = read_scenario(Path("scenarios/oval-v8"))
    assert scenario is not None
    chances = {event.event: event.rain for event in scenario.files.events}
    for event in found["events"]:
        assert event["rained"]["share"] == pytest.approx(chances[event["event"]], abs=0.14)
    freshens = [one for one in found["levels"] if one["level"] == "freshen"]
    assert any(one["earlier"]["share"] + one["later"]["share"] > 0.05 for one in freshens)
    assert any(len({one["p10"], one["p50"], one["p90"]}) > 1 for one in found["levels"])


def test_7_one_engine_or_two() -> None:
    found = answer(7)["comparison"]
    (one, two), (difference,) = found["sides"], found["differences"]
    assert two["any_missed"]["share"] < one["any_missed"]["share"]
    assert difference["missed"]["mean"] < -3 * difference["missed"]["error"] < 0
    assert float(difference["cash"]["low"]) > 0


def test_8_which_spares_pay_for_a_sum() -> None:
    found = answer(8)["spares"]
    assert found["sum"] == "500"
    assert 0 < float(found["price"]) <= 500
    assert found["steps"]
    assert all(step["gain"]["pays"] for step in found["steps"])
    assert float(found["whole"]["saves"]) > 2 * float(found["whole"]["error"]) > 0
    assert found["whole"]["missed"]["mean"] < 0


def test_9_dear_springs_cost_per_night_and_the_life_at_which_they_break_even() -> None:
    found = answer(9)
    assert [float(side["per_race"]["mean"]) > 0 for side in found["comparison"]["sides"]] == [True, True]
    line = int(found["path"].split("/")[2])
    with Path("catalogs/oval-v8/lives.csv").open(encoding="utf-8") as file:
        parts = [row["part"] for row in csv.DictReader(file)]
    assert parts[line - 2] == variant_part(), "README's command names the line of another part's life"
    assert 3 < found["break_even"]["value"] < 20
    assert found["break_even"]["error"] > 0


def variant_part() -> str:
    """The part that the variant puts in."""
    scenario, _ = read_scenario(Path("scenarios/oval-v8"))
    assert scenario is not None
    texts = next(variant.set for variant in scenario.header.variants if variant.name == "dear springs")
    return texts[0].partition("=")[2]


def test_10_rebuild_or_sell_and_buy_and_the_resale_that_makes_it_one() -> None:
    found = answer(10)
    net = found["comparison"]["differences"][0]["net"]
    scenario, _ = read_scenario(Path("scenarios/oval-v8"))
    assert scenario is not None
    sold = next(float(engine.sold) for engine in scenario.engines if engine.name == "blue")
    assert float(net["mean"]) != 0
    assert found["break_even"]["value"] == pytest.approx(sold + float(net["mean"]), abs=1)


def test_11_what_a_used_engine_is_worth_given_its_log() -> None:
    found = answer(11)["worth"]
    assert (found["engine"], found["on"]) == ("blue", "2027-06-20")
    assert 0 < float(found["broken_up"]) < float(found["to_owner"]["mean"]) < float(found["new"]["price"])
    assert float(found["to_owner"]["error"]) > 0
    assert all(float(part["worth"]) >= 0 for part in found["parts"])


def test_12_a_part_that_fails_at_race_9() -> None:
    found, words = answer(12)["struck"], listed()[12]
    scenario, _ = read_scenario(Path("scenarios/oval-v8"))
    assert scenario is not None
    races = [event.event for event in scenario.files.events if event.kind == "race"]
    assert races[8] in words
    assert (found["what"], found["event"]) == ("exhaust-valves", races[8])
    assert float(found["bill"]["p10"]) < float(found["bill"]["p90"])
    assert float(found["bill"]["mean"]) > 0
    assert len(found["cases"]) > 1
    bills = {one["case"]: float(one["total"]) for one in answer(12)["bills"]}
    assert {one["case"] for one in found["cases"]} == set(bills)
    assert 0 < bills.pop("") < min(bills.values())


def test_13_what_a_claim_loses() -> None:
    found = answer(13)["struck"]
    assert float(found["bill"]["mean"]) != 0
    assert float(found["net"]["mean"]) != float(found["bill"]["mean"])
    assert found["missed"]["mean"] > 0


def test_14_how_many_events_a_sum_pays_for() -> None:
    found = answer(14)["affordable"]
    assert 0 < found["events"]["p10"] < found["events"]["p90"] < len(found["by_event"])
    assert 0 < found["planned"] < len(found["by_event"])


def test_15_by_when_each_part_is_ordered() -> None:
    orders = answer(15)["orders"]["orders"]
    assert {order["kind"] for order in orders} == {"part", "kit", "bench"}
    for order in orders:
        ahead = timedelta(days=order["lead_days"] + order["queue_days"])
        assert date.fromisoformat(order["order_by"]) == date.fromisoformat(order["needed"]) - ahead
    assert {"late", "later"} <= {order["state"] for order in orders}
