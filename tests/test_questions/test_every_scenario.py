"""On every demo scenario each question that makes sense has an answer that is neither zero nor trivial."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest

from tests.test_questions.asking import SCENARIOS, answer, listed
from tests.test_questions.telling import TELL, Found

OTHERS = [(scenario, number) for scenario in SCENARIOS[1:] for number in listed(scenario)]


def moving_a_date_costs(found: Found) -> bool:
    timing = found["timing"]
    moves = [move for service in timing["services"] for move in service["moves"] if move["cost"]]
    return bool(moves) and any(abs(float(move["cost"]["mean"])) > float(move["cost"]["error"]) for move in moves)


def one_more_race_uses_something(found: Found) -> bool:
    one = found["plan"]["one_more"]
    return float(one["life_used"]) > 0 and 0 < one["chance"] < 1


def lives_are_used_up(found: Found) -> bool:
    return len(found["used"]) > 5 and any(line["opening"] < line["now"] for line in found["used"])


def months_differ(found: Found) -> bool:
    nets = [float(month["net"]) for month in found["plan"]["months"]]
    return len(nets) > 3 and max(nets) > 1.2 * sorted(nets)[len(nets) // 2]


def income_is_taken_off(found: Found) -> bool:
    return all(0 < float(rate["cash_after_income"]) < float(rate["cash"]) for rate in found["plan"]["rates"])


def the_spend_spreads_and_rain_falls(found: Found) -> bool:
    outlook = found["outlook"]
    cash = [float(outlook["cash"][name]) for name in ("p10", "p50", "p90")]
    return cash == sorted(set(cash)) and any(event["rained"]["share"] > 0 for event in outlook["events"])


def the_second_engine_misses_less(found: Found) -> bool:
    one, two = found["comparison"]["sides"][:2]
    return bool(two["any_missed"]["share"] < one["any_missed"]["share"])


def spares_pay(found: Found) -> bool:
    return bool(found["spares"]["steps"]) and float(found["spares"]["whole"]["saves"]) > 0


def there_is_a_break_even(found: Found) -> bool:
    even = found["break_even"]
    return bool(even["value"] is not None and even["low"] < even["value"] < even["high"])


def an_engine_is_worth_something(found: Found) -> bool:
    worth = found["worth"]
    return 0 < float(worth["to_owner"]["mean"]) < float(worth["new"]["price"])


def the_bill_has_a_range(found: Found) -> bool:
    bill = found["struck"]["bill"]
    return float(bill["p10"]) < float(bill["p90"]) and float(bill["mean"]) != 0


def a_claim_costs_something(found: Found) -> bool:
    return float(found["struck"]["net"]["mean"]) != 0


def the_sum_pays_for_some(found: Found) -> bool:
    return bool(0 < found["affordable"]["planned"] < len(found["affordable"]["by_event"]))


def there_is_much_to_order(found: Found) -> bool:
    return len(found["orders"]["orders"]) > 5


def the_shop_earns_and_tax_is_due(found: Found) -> bool:
    totals, margin = found["quote"]["totals"], found["quote"]["margin"]
    return (
        Decimal(totals["net"]) + Decimal(totals["tax"]) == Decimal(totals["gross"]) and 0 < float(margin["margin"]) < 1
    )


def bad_parts_cost_more(found: Found) -> bool:
    return float(found["if_bad"]["found"]["gross"]) > 0


def the_margin_falls(found: Found) -> bool:
    return float(found["if_prices_rise"]["margin"]) < float(found["quote"]["margin"]["margin"])


def options_are_dearer_and_cheaper(found: Found) -> bool:
    costs = [float(swap["costs"]) for swap in found["options"]["swaps"]]
    return len(costs) > 3 and min(costs) < 0 < max(costs)


def lines_moved(found: Found) -> bool:
    return bool(found["difference"]["moved"]) and float(found["difference"]["gross"]) != 0


def one_change_saves_and_one_costs(found: Found) -> bool:
    over = [float(change["total"]["over"]["mean"]) for change in found["impact"]["changes"]]
    return min(over) < 0 < max(over)


def some_lose_and_some_do_not(found: Found) -> bool:
    (change,) = found["impact"]["changes"]
    return bool(0 < change["total"]["losers"] < change["total"]["entrants"])


def the_day_matters(found: Found) -> bool:
    (change,) = found["impact"]["changes"]
    return len({round(float(phase["over"]["mean"])) for phase in change["phases"]}) > 2


def supply_is_known(found: Found) -> bool:
    (change,) = found["impact"]["changes"]
    return any(row["there"] is not None and row["wanted"] > 0 for row in change["supply"])


def some_assumption_matters(found: Found) -> bool:
    (flips,) = found["flips"]
    return len(flips["assumptions"]) > 5 and any(float(one["swing"]) for one in flips["assumptions"])


HOLDS: tuple[Callable[[Found], bool], ...] = (
    moving_a_date_costs,
    one_more_race_uses_something,
    lives_are_used_up,
    months_differ,
    income_is_taken_off,
    the_spend_spreads_and_rain_falls,
    the_second_engine_misses_less,
    spares_pay,
    there_is_a_break_even,
    there_is_a_break_even,
    an_engine_is_worth_something,
    the_bill_has_a_range,
    a_claim_costs_something,
    the_sum_pays_for_some,
    there_is_much_to_order,
    the_shop_earns_and_tax_is_due,
    bad_parts_cost_more,
    the_margin_falls,
    options_are_dearer_and_cheaper,
    lines_moved,
    one_change_saves_and_one_costs,
    some_lose_and_some_do_not,
    the_day_matters,
    supply_is_known,
    some_assumption_matters,
)


@pytest.mark.parametrize(("scenario", "number"), OTHERS)
def test_an_answer_is_neither_zero_nor_trivial(scenario: str, number: int) -> None:
    found: dict[str, Any] = answer(number, scenario)
    assert HOLDS[number - 1](found), TELL[number](found)
