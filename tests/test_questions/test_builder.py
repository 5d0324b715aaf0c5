"""The builder's questions, asked end to end with the very commands that README lists, on the demo of short ovals."""

from __future__ import annotations

from tests.test_questions.asking import answer


def test_19_which_options_change_the_price_and_whether_the_head_lets_them_pay() -> None:
    found = answer(19)
    swaps, breathing = found["options"]["swaps"], found["told"]["breathing"]
    assert breathing["decides"] == "heads"
    costs = [float(swap["costs"]) for swap in swaps]
    assert min(costs) < 0 < max(costs)
    powers = [swap["more_power"] for swap in swaps]
    assert any(abs(power) > 1 for power in powers)  # kW: the estimate tells parts apart
    dearer = [swap for swap in swaps if float(swap["costs"]) > 0]
    assert len(dearer) > 30
    assert {swap["buys"] for swap in dearer} == {"nothing certain"}  # the heads are the choke, whatever one pays
    better = next(one for one in found["options"]["out"] if one["part"] == "OB-H58P")
    assert better["ground"]["name"] in ("T1-head", "T50-port", "T51-as-cast")  # what would pay is not let in
