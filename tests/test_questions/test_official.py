"""The official's questions, asked end to end with the commands of README's table, on the demo of short ovals."""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise
from typing import Any

from tests.test_questions.asking import answer


def changes(number: int) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = answer(number)["impact"]["changes"]
    return found


def money(amount: dict[str, Any]) -> Decimal:
    return Decimal(amount["mean"])


def test_21_the_fields_first_year_and_yearly_cost_of_changes_and_payback() -> None:
    studied = changes(21)
    assert len(studied) == 3
    for change in studied:
        total, groups = change["total"], change["groups"]
        assert total["entrants"] >= 60
        assert len(groups) == 8
        for figure in ("first", "yearly", "over"):
            by_group = sum(money(group[figure]) * Decimal(group["entrants"]["likely"]) for group in groups)
            assert abs(money(total[figure]) - by_group) < Decimal("0.01") * total["entrants"]
    over = [money(change["total"]["over"]) for change in studied]
    assert min(over) < 0 < max(over)  # one saves, one costs more than it saves
    assert any(change["total"]["payback"] for change in studied)
    assert any(change["total"]["payback"] is None for change in studied)


def test_22_how_many_lose_more_than_a_sum_and_whose_parts_are_put_out_worth_what() -> None:
    [change] = changes(22)
    assert answer(22)["impact"]["loss"] == "1000"
    losers = {group["group"]: group["losers"] for group in change["groups"]}
    assert sum(losers.values()) == change["total"]["losers"] > 0
    assert 0 in losers.values()  # not every group has one
    parts = change["stranded"]
    assert parts
    assert all(Decimal(part["left"]) >= Decimal(part["brings"]) >= 0 for part in parts)
    assert sum(Decimal(part["left"]) for part in parts) > 1000


def test_23_its_cost_at_once_next_season_or_as_parts_wear_out() -> None:
    [change] = changes(23)
    phases = {phase["name"]: phase for phase in change["phases"]}
    assert set(phases) == {"at once", "as written", "next season", "when worn out"}
    over = [money(phases[name]["over"]) for name in ("at once", "as written", "next season")]
    assert all(sooner < later < 0 for sooner, later in pairwise(over))  # a saving that comes later is smaller
    assert money(phases["next season"]["first"]) == 0
    assert Decimal(phases["when worn out"]["stranded"]) < Decimal(phases["at once"]["stranded"])


def test_24_whether_supply_covers_demand_by_round_1() -> None:
    [change] = changes(24)
    supplies = change["supply"]
    short = [row for row in supplies if row["short"]]
    assert short
    for row in short:
        assert row["wanted"] - row["there"] == row["short"]
        assert 0 < row["waiting"] <= row["entrants"]
    assert any(row["sole"] and Decimal(row["rise"]["likely"]) > 0 for row in supplies)


def test_25_which_assumption_a_fifth_wrong_turns_the_answer_about() -> None:
    found = answer(25)
    [flips], [change] = found["flips"], found["impact"]["changes"]
    assert Decimal(flips["over"]) == money(change["total"]["over"])
    for one in flips["assumptions"]:
        ends = Decimal(one["lower"]), Decimal(one["higher"])
        crosses = any((end > 0) != (Decimal(flips["over"]) > 0) for end in ends)
        assert one["flips"] == crosses
        assert (one["at"] is not None) == crosses
    assert any(one["flips"] for one in flips["assumptions"])
