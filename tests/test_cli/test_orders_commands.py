"""`costplan orders` and `costplan life used` on every scenario that comes with the tool."""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
from decimal import Decimal
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from tests.command_line import run

ROOT = Path(__file__).parents[2]
DEMOS = ("scenarios/oval-v8", "scenarios/kart-single")
SCENARIOS = (*DEMOS, "full", "simple")
COMMANDS = (("orders",), ("life", "used"))
ON = "2027-06-20"

pytestmark = pytest.mark.usefixtures("at_80_columns")


@pytest.fixture(scope="module")
def work(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the demos, as if nothing were logged yet, and both templates."""
    folder = tmp_path_factory.mktemp("work")
    for name in ("scenarios", "catalogs"):
        shutil.copytree(ROOT / name, folder / name, ignore=shutil.ignore_patterns("log.csv"))
    for name, flags in (("full", ()), ("simple", ("--simple",))):
        assert run("new", str(folder / name), *flags)[0] == 0
    return folder


def asked(*words: str) -> dict[str, Any]:
    status, out, err = run(*words, "--on", ON, "--json")
    assert (status, err) == (0, "")
    found: dict[str, Any] = json.loads(out)
    return found


def table(*words: str) -> list[dict[str, str]]:
    status, out, err = run(*words, "--on", ON, "--csv")
    assert (status, err) == (0, "")
    return list(csv.DictReader(io.StringIO(out)))


@pytest.mark.parametrize("folder", SCENARIOS)
@pytest.mark.parametrize("words", COMMANDS, ids=" ".join)
def test_a_page_fits_80_columns_and_promises_nothing(words: tuple[str, ...], folder: str) -> None:
    status, out, err = run(*words, folder, "--on", ON)
    assert (status, err) == (0, "")
    assert max(len(line) for line in out.splitlines()) <= 80
    assert not re.search(r"\b(legal|safe)\b", out)


@pytest.mark.parametrize("words", COMMANDS, ids=" ".join)
def test_without_a_day_today_is_meant(words: tuple[str, ...]) -> None:
    assert run(*words, "full")[::2] == (0, "")


@pytest.mark.parametrize("words", COMMANDS, ids=" ".join)
def test_inputs_at_fault_end_with_status_2(words: tuple[str, ...]) -> None:
    assert "REA001" in run(*words, "nowhere")[2]
    status, _, err = run(*words, "scenarios/oval-v8", "--set", "suppliers/Tevrosk/deposit=2")
    assert status == 2
    assert "--set 1: " in err
    assert "REA018" in err


# Orders


def test_late_orders_stand_first_and_are_marked() -> None:
    _, out, _ = run("orders", "scenarios/oval-v8", "--on", ON)
    late, _, listed = out.partition("Late already, unless it was ordered in time")[2].partition("To order or to book")
    assert re.search(r"28 May +bench: rebuild, blue +Pellundry three +Ullcasket two +4,752.00\n23 d late", late)
    # what is late stands there alone, the rest in the list
    assert "bench: rebuild" not in listed.partition("Together")[0]
    assert "QM-CL7" in listed


def test_a_part_that_is_ordered_once_stands_in_the_list_alone() -> None:
    _, out, _ = run("orders", "scenarios/oval-v8", "--on", ON)
    more = {one["name"]: one["orders"] for one in asked("orders", "scenarios/oval-v8")["orders"]["parts"]}
    shown = out.partition("Ordered more than once")[2].partition("\n\n")[0]
    assert {name for name in more if re.search(rf"^{name} ", shown, re.MULTILINE)} == {
        name for name, orders in more.items() if orders > 1
    }


def test_each_order_names_its_days_its_payments_and_the_rows_behind_them() -> None:
    found = {(one["name"], one["before"]): one for one in asked("orders", "scenarios/oval-v8")["orders"]["orders"]}
    rebuild = found["rebuild", "Pellundry three"]
    assert (rebuild["supplier"], rebuild["state"], rebuild["days_late"]) == ("Orrenby Engines", "late", 23)
    assert (rebuild["with_order"], rebuild["on_delivery"], rebuild["total"]) == ("2376.00", "2376.00", "4752.00")
    assert "suppliers.csv:2" in rebuild["why"]
    assert found["QM-CL7", "Mavelorn three"]["order_by"] == "2027-07-10"
    assert {one["state"] for one in found.values() if one["needed"] < ON and one["kind"] == "part"} == {"past"}


@pytest.mark.parametrize("folder", SCENARIOS)
def test_the_list_in_csv_adds_up_to_the_sums(folder: str) -> None:
    orders, rows = asked("orders", folder)["orders"], table("orders", folder)
    assert [row["name"] for row in rows] == [one["name"] for one in orders["orders"]]
    ahead = [row for row in rows if row["state"] != "past"]
    for column in ("with_order", "on_delivery"):
        total = sum((Decimal(row[column]) for row in ahead), Decimal(0))
        assert total == Decimal(orders[column])
        assert total == sum((Decimal(one[column]) for one in orders["together"]), Decimal(0))
    parts = [Decimal(row["with_order"]) + Decimal(row["on_delivery"]) for row in ahead if row["kind"] != "bench"]
    assert sum(parts, Decimal(0)) == sum((Decimal(one["total"]) for one in orders["parts"]), Decimal(0))


@pytest.mark.parametrize("on", ["2027-05-01", "2027-06-20"])
def test_the_due_list_marks_what_is_late_to_order(on: str) -> None:
    lines = run("due", "scenarios/oval-v8", "--on", on)[1].splitlines()
    found = [
        (by[1], below.rstrip().endswith(" late"))
        for line, below in pairwise(lines)
        if (by := re.search(r"(\d{4}-\d\d-\d\d) +[\d,.]+$", line))
    ]
    assert {late for _, late in found} == {True, False}
    assert [late for _, late in found] == [day < on for day, _ in found]


def test_orders_and_season_name_the_same_latest_day() -> None:
    plan = asked("season", "scenarios/oval-v8")["plan"]
    orders = asked("orders", "scenarios/oval-v8")["orders"]["orders"]
    for bought in plan["purchases"]:
        days = [one["order_by"] for one in orders if one["name"] == bought["part"]]
        assert min(days) == bought["order_by"]


def test_a_longer_queue_brings_every_latest_day_forward() -> None:
    def days(*words: str) -> set[str]:
        answer = asked("orders", "scenarios/oval-v8", *words)
        return {one["order_by"] for one in answer["orders"]["orders"] if one["name"] == "QM-CL7"}

    assert days() == {"2027-07-10"}
    assert days("--set", "suppliers/Quolmeck/queue_days=10") == {"2027-06-30"}


# Life used


@pytest.mark.parametrize("folder", SCENARIOS)
def test_every_part_with_a_life_has_all_its_events(folder: str) -> None:
    used, plan = asked("life", "used", folder)["used"], asked("season", folder)["plan"]
    assert sorted((line["engine"], line["slot"]) for line in used) == sorted(
        (line["engine"], line["slot"]) for line in plan["life_used"]
    )
    assert {len(line["events"]) for line in used} == {plan["events"]}


def test_the_table_in_csv_is_slots_by_events() -> None:
    rows, used = table("life", "used", "scenarios/oval-v8"), asked("life", "used", "scenarios/oval-v8")["used"]
    assert len(rows) == len(used)
    assert [float(rows[0][event["event"]]) for event in used[0]["events"]] == [
        event["share"] for event in used[0]["events"]
    ]
    assert list(rows[0])[:5] == ["engine", "slot", "part", "opening", "dyno day"]


def test_the_strip_of_the_demos_springs_shows_their_renewals() -> None:
    _, out, _ = run("life", "used", "scenarios/oval-v8", "--on", ON)
    (springs,) = [line for line in out.splitlines() if line.startswith("springs ~")]
    strip = springs.split()[3]
    (line,) = [line for line in asked("life", "used", "scenarios/oval-v8")["used"] if line["slot"] == "springs"]
    assert len(strip) == len(line["events"]) == 32
    assert [mark == "*" for mark in strip] == [event["renewed"] for event in line["events"]]
    assert strip.count("*") == 5


# With a log

LOG = """\
date,what,engine,event
2027-03-20,ran,kart-one,practice one
2027-04-03,ran,kart-one,practice two
2027-04-11,ran,kart-one,club one
"""


def test_both_go_on_from_what_the_log_tells(tmp_path: Path) -> None:
    folder = tmp_path / "scenarios" / "kart"
    shutil.copytree("scenarios/kart-single", folder)
    shutil.copytree("catalogs", tmp_path / "catalogs")
    (folder / "log.csv").write_text(LOG, encoding="utf-8")
    words = (str(folder), "--on", "2027-04-20")
    _, out, _ = run("life", "used", *words)
    assert "Up to now as the log tells, then planned" in " ".join(out.split())
    answer = json.loads(run("life", "used", *words, "--json")[1])
    # Coolant lasts two events, and the log does not show it renewed before the third.
    (coolant,) = [line for line in answer["used"] if line["slot"] == "coolant and lubricant"]
    assert [event["share"] for event in coolant["events"]][:4] == pytest.approx([0.5, 1, 1.5, 0.5])
    assert [event["renewed"] for event in coolant["events"]][:4] == [False, False, False, True]
    orders = json.loads(run("orders", *words, "--json")[1])["orders"]["orders"]
    assert {one["state"] for one in orders} <= {"late", "soon", "later"}
