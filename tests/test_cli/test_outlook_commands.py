"""`costplan outlook`, `compare` and `whatif`: their answers as data, their problems, and what Ctrl-C leaves."""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from costplan.report.outlook import outlook_page
from costplan.scenario import read_scenario
from costplan.season.bills import case_bills
from costplan.season.drawn import comparing, drawing
from costplan.season.drawn.drawing import draw
from costplan.season.drawn.outlook import Outlook, outlook_of, what_breaks
from costplan.season.drawn.stories import story_at
from costplan.season.drawn.whatif import Affordable, Struck
from costplan.season.work import schema
from tests.command_line import answer, case, run

ROOT = Path(__file__).parents[2]
OVAL, KART = "scenarios/oval-v8", "scenarios/kart-single"
FEW = ("--seasons", "40")
FAILS = ("whatif", OVAL, "--fails", "springs", "--at", "Vorlemick two", *FEW)
CLAIMED = ("whatif", OVAL, "--claimed", "--at", "Vorlemick two", *FEW)
TWO = ("compare", OVAL, "--variant", "two engines")
#: What a JSON answer may give as a number with decimals: numbers a season and shares, never money.
NUMBERS = {"mean", "error", "p10", "p50", "p90", "share", "failures", "found", "hit", "strikes", "results", "times"}
pytestmark = pytest.mark.usefixtures("at_80_columns")


def rows_of(*words: str) -> list[dict[str, str]]:
    status, out, err = run(*words, "--csv")
    assert (status, err) == (0, "")
    return list(csv.DictReader(io.StringIO(out)))


def numbers(value: Any, key: str = "") -> Iterator[str]:
    """The keys of all numbers with decimals of a JSON answer."""
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from numbers(inner, name)
    elif isinstance(value, list):
        for inner in value:
            yield from numbers(inner, key)
    elif isinstance(value, float):
        yield key


# Data


@pytest.mark.parametrize(
    ("words", "keys"),
    [
        (("outlook", OVAL, *FEW), {"scenario", "invented", "outlook", "bills", "inputs", "story"}),
        ((*TWO, *FEW), {"scenario", "invented", "comparison", "path", "break_even"}),
        (FAILS, {"scenario", "invented", "struck", "bills", "affordable"}),
        (("whatif", KART, "--sum", "2000", *FEW), {"scenario", "invented", "struck", "bills", "affordable"}),
    ],
    ids=case,
)
def test_a_json_answer_has_its_documented_keys_and_money_is_text(words: tuple[str, ...], keys: set[str]) -> None:
    found = answer(*words)
    assert (found["answer"], found["form"]) == (words[0], "1.0")
    assert set(found) == {"answer", "form", *keys}
    assert set(numbers(found)) <= NUMBERS


def test_the_outlook_in_json_is_the_outlook_in_python() -> None:
    scenario, _ = read_scenario(Path(OVAL))
    assert scenario is not None
    assert scenario.compiled is not None
    found, here = answer("outlook", OVAL, "--seasons", "30", "--seed", "7"), scenario.compiled
    outlook = outlook_of(draw(here, 30, 7, compiled=False))
    assert found["outlook"]["cash"]["mean"] == str(outlook.cash.mean)
    assert found["outlook"]["cash"]["p90"] == str(outlook.cash.p90)
    assert set(found["outlook"]) == {*Outlook.__dataclass_fields__, "interrupted"}
    bills = sorted(str(bill.total) for bill in case_bills(here))
    assert sorted(case["bill"]["total"] for case in found["bills"]) == bills
    assert found["story"]["number"] == story_at(draw(here, 30, 7), 0.9).number


def test_a_seed_gives_the_same_page_again_and_another_seed_another() -> None:
    words = ("outlook", KART, *FEW)
    assert run(*words) == run(*words, "--seed", "1")
    assert run(*words) != run(*words, "--seed", "2")


def test_the_events_in_csv_are_those_in_json() -> None:
    rows, found = rows_of("outlook", KART, *FEW), answer("outlook", KART, *FEW)["outlook"]
    assert [row["event"] for row in rows] == [event["event"] for event in found["events"]]
    assert [row["so_far_p90"] for row in rows] == [event["so_far"]["p90"] for event in found["events"]]
    assert rows[-1]["planned_so_far"] == found["planned_cash"]


def test_where_nothing_is_left_to_chance_the_page_says_so() -> None:
    status, _, _ = run("new", "plain", "--simple")
    assert status == 0
    page = run("outlook", "plain", *FEW)[1]
    assert "nothing in these files is left to chance" in " ".join(page.split())
    assert "What drives the spread" not in page
    assert "nothing in these files" not in run("outlook", KART, *FEW)[1]


def page_of(folder: str, seasons: int, **changed: Any) -> str:
    """The outlook's page of a scenario, with fields of the outlook changed."""
    scenario, _ = read_scenario(Path(folder))
    assert scenario is not None
    assert scenario.compiled is not None
    draws = draw(scenario.compiled, seasons, compiled=False)
    found = replace(outlook_of(draws), **changed)
    page = outlook_page(found, what_breaks(draws), (), story_at(draws, 0.9), "Demo", False)
    return " ".join([*page.lines, *(table.note for table in page.tables)])


def test_percentiles_are_what_so_many_seasons_do_not_exceed() -> None:
    scenario, _ = read_scenario(Path(KART))
    assert scenario is not None
    assert scenario.compiled is not None
    cash = np.sort(draw(scenario.compiled, 40, compiled=False).cash)
    p90, p50, p10 = (f"{cash[at] / 100:,.0f}" for at in (35, 19, 3))
    page = page_of(KART, 40)
    assert f"In nine of ten seasons it costs at most {p90}, in half at most {p50}, in one of ten at most {p10};" in page
    assert "10, 50, 90%: what so many seasons stay at or below" in page
    assert "below" not in page.replace("at or below", "").replace("below zero", "")


def test_seasons_that_cost_the_same_by_chance_are_not_called_certain() -> None:
    assert run("new", "alike", "--simple")[0] == 0
    assert "All 40 seasons drawn cost the same:" in page_of("alike", 40, certain=False)
    assert "nothing in these files is left to chance" in page_of("alike", 40)


def test_one_season_drawn_has_no_error() -> None:
    page = page_of(KART, 1)
    assert "1 season drawn, seed 1." in page
    assert "The season drawn costs" in page
    assert "One season has no error" in page
    assert "+/-" not in page
    assert "are no dearer" not in page


def test_what_is_neither_position_nor_level_is_called_by_what_it_is() -> None:
    page = run("outlook", KART, *FEW)[1]
    assert "winnings, fees and" in page
    assert "all other" not in page
    assert "Goes with it" in page


def test_below_80_columns_the_chart_is_left_out(monkeypatch: pytest.MonkeyPatch) -> None:
    assert "Cash so far, event by event" in run("outlook", KART, *FEW)[1]
    monkeypatch.setenv("COLUMNS", "60")
    assert "Cash so far, event by event" not in run("outlook", KART, *FEW)[1]


def test_a_hazard_without_a_chance_never_strikes() -> None:
    sets = [word for name in ("claim", "chain snaps") for word in ("--set", f"hazards/{name}/chance=0")]
    hazards = answer("outlook", KART, "--seasons", "1000", *sets)["outlook"]["hazards"]
    found = {one["hazard"]: one["strikes"] for one in hazards}
    assert (found["claim"], found["chain snaps"]) == (0, 0)
    assert found["reverse spin"] > 0


@pytest.mark.parametrize(
    ("text", "advice"),
    [
        ("hazards/claim/chance=100 %", "give a chance below 100 %"),
        ("hazards/claim/per=race", "give events, with kinds = race"),
    ],
)
def test_advice_on_hazards_says_what_to_write(text: str, advice: str) -> None:
    status, _, err = run("outlook", KART, "--set", text)
    assert status == 2
    assert advice in err


def test_rain_may_be_set_to_nothing_where_it_would_stop_an_event_from_a_session() -> None:
    sets = ("--set", "calendar/club two/rain_from=final", "--set", "calendar/club two/rain=0")
    (event,) = (one for one in answer("outlook", KART, *FEW, *sets)["outlook"]["events"] if one["event"] == "club two")
    assert event["rained"]["share"] == 0


def test_inputs_are_moved_only_where_that_is_asked() -> None:
    words = ("outlook", KART, "--seasons", "10")
    assert answer(*words)["inputs"] == []
    found = answer(*words, "--inputs")["inputs"]
    assert {"input", "lower", "lower_error", "higher", "higher_error", "swing"} == set(found[0])
    swings = [float(one["swing"]) for one in found]
    assert swings == sorted(swings, reverse=True)
    assert swings[0] > 0
    assert "What moves the mean" in run(*words, "--inputs")[1]


def test_the_differences_in_csv_are_those_in_json() -> None:
    rows, found = rows_of(*TWO, *FEW), answer(*TWO, *FEW)["comparison"]["differences"][0]
    whole = {row["view"]: row["mean"] for row in rows if not row["cause"]}
    assert whole == {view: found[view]["mean"] for view in ("cash", "wear", "net")}
    assert {row["cause"]: row["mean"] for row in rows if row["cause"]} == {
        one["cause"]: one["mean"] for one in found["causes"]
    }


@pytest.mark.parametrize(
    ("words", "key", "record"),
    [
        (FAILS, "struck", Struck),
        (CLAIMED, "struck", Struck),
        (("whatif", OVAL, "--sum", "15000", *FEW), "affordable", Affordable),
    ],
    ids=str,
)
def test_a_what_if_in_json_is_its_record_and_the_other_is_null(words: Sequence[str], key: str, record: type) -> None:
    found = answer(*words)
    assert set(found[key]) == set(record.__dataclass_fields__)  # type: ignore[attr-defined]
    assert found[{"struck": "affordable", "affordable": "struck"}[key]] is None


def test_the_outcomes_and_events_of_what_ifs_in_csv() -> None:
    cases = rows_of(*FAILS)
    assert sum(float(row["share"]) for row in cases) == pytest.approx(1)
    events = rows_of("whatif", KART, "--sum", "2000", *FEW)
    lasts = [float(row["lasts"]) for row in events]
    assert lasts == sorted(lasts, reverse=True)


# What is compared


def test_sides_are_named_by_variant_and_compared_with_the_scenario_as_it_is() -> None:
    found = answer(*TWO, "--variant", "no early", *FEW)["comparison"]
    assert [side["name"] for side in found["sides"]] == ["as it is", "two engines", "no early"]
    assert {one["base"] for one in found["differences"]} == {"as it is"}


def test_against_another_side_the_difference_turns_its_sign() -> None:
    plain = answer(*TWO, *FEW)["comparison"]["differences"][0]
    turned = answer(*TWO, "--against", "two engines", *FEW)["comparison"]["differences"][0]
    assert (turned["base"], turned["name"]) == ("two engines", "as it is")
    assert float(turned["cash"]["mean"]) == pytest.approx(-float(plain["cash"]["mean"]))


def test_several_scenarios_are_named_by_their_folders() -> None:
    shutil.copytree("scenarios/kart-single", "scenarios/kart-again", dirs_exist_ok=True)
    found = answer("compare", KART, "scenarios/kart-again", *FEW)["comparison"]
    assert [side["name"] for side in found["sides"]] == [KART, "scenarios/kart-again"]
    assert found["differences"][0]["cash"]["alike"]["share"] == 1
    page = " ".join(run("compare", KART, "scenarios/kart-again", *FEW)[1].split())
    assert f"scenarios/kart-again against {KART}: the same cash in every season." in page


def test_what_ifs_of_the_command_line_hold_for_every_side() -> None:
    words = ("--set", "calendar/club two/entry=1000")
    plain = answer("compare", KART, "--variant", "two engines", *FEW)["comparison"]
    more = answer("compare", KART, "--variant", "two engines", *words, *FEW)["comparison"]
    for before, after in zip(plain["sides"], more["sides"], strict=True):
        assert float(after["cash"]["p50"]) > float(before["cash"]["p50"]) + 500


def test_a_break_even_in_resale_is_where_the_sale_brings_as_much_more(monkeypatch: pytest.MonkeyPatch) -> None:
    """What an engine is sold for counts one for one, so that the break-even follows from any other price."""
    words = ("compare", OVAL, "--variant", "sell and buy", *FEW)
    plain = answer(*words, "--set", "scenario/engine/blue/sold=9000")["comparison"]["differences"][0]["net"]["mean"]
    found = answer(*words, "--break-even", "scenario/engine/blue/sold", "--from", "1000", "--to", "40000")
    assert found["path"] == "scenario/engine/blue/sold"
    assert found["break_even"]["value"] == pytest.approx(9000 + float(plain), abs=1)
    monkeypatch.setattr(comparing, "STEPS", 1)  # what the page says of it, found roughly
    page = " ".join(run(*words, "--break-even", found["path"], "--from", "1000", "--to", "40000")[1].split())
    assert "cost the same where scenario/engine/blue/sold is" in page


def test_where_nothing_breaks_even_the_page_says_so() -> None:
    words = ("compare", OVAL, "--variant", "sell and buy", *FEW, "--break-even", "scenario/engine/blue/sold")
    found = answer(*words, "--from", "100000", "--to", "200000")["break_even"]
    assert found["value"] is None
    assert len(found["tried"]) == 2
    assert "nothing breaks even" in " ".join(run(*words, "--from", "100000", "--to", "200000")[1].split())


# What if


def test_a_claim_at_the_price_of_the_book_needs_no_price() -> None:
    gone = read_gone()
    stated = answer(*CLAIMED, "--price", gone[0], "--hours", gone[1])["struck"]
    assert answer(*CLAIMED)["struck"]["bill"] == stated["bill"]
    dearer = answer(*CLAIMED, "--price", str(float(gone[0]) + 1000))["struck"]
    assert float(dearer["bill"]["mean"]) == pytest.approx(float(stated["bill"]["mean"]) - 1000)


def read_gone() -> tuple[str, str]:
    """Price and hours of the demo's case in which the engine is gone."""
    with Path(OVAL, "damage.csv").open(encoding="utf-8") as file:
        row = next(row for row in csv.DictReader(file) if row["engine"] == "gone")
    return row["paid"], row["hours"]


def test_more_money_lasts_longer() -> None:
    means = [
        answer("whatif", KART, "--sum", money, *FEW)["affordable"]["events"]["mean"] for money in ("0", "900", "99999")
    ]
    assert means[0] <= means[1] < means[2]


# Problems


@pytest.mark.parametrize(
    ("words", "place", "code"),
    [
        (("outlook", "nowhere"), "nowhere", "REA001"),
        (("outlook", KART, "--set", "no/such=1"), "--set 1", "REA022"),
        (("outlook", KART, "--show-work", "-"), "--show-work", "REA020"),
        (("compare", "nowhere", "--variant", "x"), "nowhere", "REA001"),
        (("compare", KART), "--variant", "REA016"),
        (("compare", KART, "--variant", "two engine"), "--variant 1", "REA020"),
        (("compare", KART, "--variant", "two engines", "--variant", "x"), "--variant 2", "REA020"),
        (("compare", OVAL, KART), f"{KART}/scenario.toml", "REA020"),
        (("compare", OVAL, "--variant", "two engines", "--against", "two"), "--against", "REA020"),
        ((*TWO, "--break-even", "scenario/engine/blue/sold", "--from", "1"), "--to", "REA017"),
        ((*TWO, "--from", "1", "--to", "2"), "--break-even", "REA016"),
        ((*TWO, "--break-even", "scenario/engine/blue/sold", "--from", "2", "--to", "1"), "--to", "REA018"),
        (
            (*TWO, "--variant", "no early", "--break-even", "scenario/engine/blue/sold", "--from", "1", "--to", "2"),
            "--break-even",
            "REA018",
        ),
        ((*TWO, *FEW, "--break-even", "no/such", "--from", "1", "--to", "2"), "--break-even", "REA022"),
        ((*TWO, *FEW, "--break-even", "scenario/policy/early", "--from", "1", "--to", "2"), "--break-even", ""),
        (("whatif", KART), "--fails", "REA016"),
        (("whatif", KART, "--sum", "1", "--claimed", "--at", "club two"), "--sum", "REA016"),
        (("whatif", KART, "--sum", "1", "--at", "club two"), "--at", "REA016"),
        (("whatif", KART, "--fails", "piston", "--at", "club two", "--price", "1"), "--price", "REA016"),
        (("whatif", KART, "--fails", "piston"), "--at", "REA016"),
        (("whatif", KART, "--claimed"), "--at", "REA016"),
        (("whatif", KART, "--fails", "pistn", "--at", "club two"), "--fails", "REA020"),
        (("whatif", KART, "--fails", "piston", "--at", "club 2"), "--at", "REA020"),
        (("whatif", KART, "--sum", "lots"), "--sum", "REA017"),
        (("whatif", KART, "--sum", "-1"), "--sum", "REA018"),
        (("whatif", KART, "--claimed", "--at", "club two", "--hours", "-1"), "--hours", "REA018"),
    ],
    ids=str,
)
def test_an_input_at_fault_ends_with_status_2_and_its_place(words: tuple[str, ...], place: str, code: str) -> None:
    status, out, err = run(*words)
    assert (status, out) == (2, "")
    assert re.match(rf"{re.escape(place)}(:\d+)?: .*{code}", err)
    status, out, _ = run(*words, "--json")
    assert status == 2
    assert json.loads(out)["problems"][0]["file"] == place


def test_an_alternate_that_does_not_serve_an_event_is_told() -> None:
    scenario, _ = read_scenario(Path(OVAL))
    assert scenario is not None
    assert scenario.compiled is not None
    season = scenario.compiled
    spot, event = next(
        (spot.slot, run.event.event)
        for p, spot in enumerate(season.spots)
        for g, run in enumerate(season.runs)
        if spot.service is None and spot.slot != spot.base and not season.problem.serves[p, g]
    )
    status, _, err = run("whatif", OVAL, "--fails", spot, "--at", event, *FEW)
    assert status == 2
    assert err.startswith("--fails: REA020")


def test_without_a_case_that_loses_the_engine_a_claim_needs_price_and_hours(tmp_path: Path) -> None:
    shutil.copytree("scenarios", tmp_path / "scenarios")
    shutil.copytree("catalogs", tmp_path / "catalogs")
    damage = tmp_path / KART / "damage.csv"
    lines = damage.read_text(encoding="utf-8").splitlines(keepends=True)
    damage.write_text("".join(line for line in lines if ",gone," not in line), encoding="utf-8")
    words = ("whatif", str(tmp_path / KART), "--claimed", "--at", "club two", *FEW)
    assert run(*words)[2].startswith("--price: REA016")
    assert run(*words, "--price", "900")[2].startswith("--hours: REA016")
    assert run(*words, "--price", "900", "--hours", "24")[0] == 0


def test_of_several_cases_that_lose_the_engine_none_is_taken_silently(tmp_path: Path) -> None:
    shutil.copytree("scenarios", tmp_path / "scenarios")
    shutil.copytree("catalogs", tmp_path / "catalogs")
    with (tmp_path / KART / "damage.csv").open("a", encoding="utf-8") as file:
        file.write("crank,written off,0.001,,,0,24,gone,800,,invented\n")
    words = ("whatif", str(tmp_path / KART), "--claimed", "--at", "club two", *FEW)
    status, _, err = run(*words)
    places = [line.partition(": ")[0] for line in err.splitlines() if "REA016" in line]
    assert (status, places) == (2, ["--price", "--hours"])
    assert "written off of crank" in err
    assert run(*words, "--hours", "24")[2].startswith("--price: REA016")
    assert run(*words, "--price", "900", "--hours", "24")[0] == 0


def test_the_case_that_a_claim_is_taken_from_is_named() -> None:
    words = ("whatif", KART, "--claimed", "--at", "club two", *FEW)
    case = "case 'sold at the price of the book' of claim."
    assert f"Price and hours as in {KART}/damage.csv:16: {case}" in " ".join(run(*words)[1].split())
    assert f"Hours as in {KART}/damage.csv:16: {case}" in " ".join(run(*words, "--price", "1")[1].split())
    assert case not in " ".join(run(*words, "--price", "1", "--hours", "2")[1].split())


def test_of_an_event_that_rain_always_stops_there_is_no_bill() -> None:
    page = run("whatif", KART, "--claimed", "--at", "club two", *FEW, "--set", "calendar/club two/rain=1")[1]
    assert "there is no bill" in " ".join(page.split())
    assert "Loss (+)" not in page


@pytest.mark.parametrize("seasons", ["0", "-1", "5000001", "many"])
@pytest.mark.parametrize("words", [("outlook", KART), TWO, ("whatif", KART, "--sum", "1")], ids=str)
def test_seasons_are_a_number_within_reason(words: tuple[str, ...], seasons: str) -> None:
    status, out, err = run(*words, "--seasons", seasons)
    assert (status, out) == (2, "")
    assert "--seasons" in err


def test_a_fault_of_a_variant_stands_at_the_variant(tmp_path: Path) -> None:
    shutil.copytree("scenarios", tmp_path / "scenarios")
    shutil.copytree("catalogs", tmp_path / "catalogs")
    file = tmp_path / KART / "scenario.toml"
    line = len(file.read_text(encoding="utf-8").splitlines()) + 2
    with file.open("a", encoding="utf-8") as out:
        out.write('\n[[variant]]\nname = "bad"\nset = ["policy/early=off", "scenario/policy/early=maybe"]\n')
    status, _, err = run("compare", str(tmp_path / KART), "--variant", "bad", "--set", "scenario/title=x")
    assert status == 2
    first, second, _ = sorted(err.splitlines(), key=lambda text: "REA022" not in text)
    assert first.startswith(f"{file}:{line}: set.1: REA022")
    assert second.startswith(f"{file}:{line}: set.2 policy.early: ")


# Ctrl-C


@pytest.fixture
def interrupted(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Ctrl-C comes in the first drawing, after the blocks that the list says."""
    after, real = [2], drawing._in_order

    def in_order(*given: Any) -> Iterator[Any]:
        for number, block in enumerate(real(*given)):
            if after and number == after[0]:
                after.clear()
                raise KeyboardInterrupt
            yield block

    monkeypatch.setattr(drawing, "_in_order", in_order)
    return after


@pytest.mark.parametrize(
    "words",
    [("outlook", KART), ("compare", KART, "--variant", "two engines"), ("whatif", KART, "--sum", "2000")],
    ids=str,
)
def test_what_was_drawn_when_it_was_stopped_is_shown_with_status_130(
    words: tuple[str, ...], interrupted: list[int]
) -> None:
    status, out, err = run(*words, "--seasons", "1000")
    assert (status, err, interrupted) == (130, "", [])
    assert "Stopped after 500 of 1,000 seasons; the figures rest on those." in " ".join(out.split())


@pytest.mark.usefixtures("interrupted")
def test_what_was_stopped_equals_what_is_asked_for_at_once() -> None:
    """The same seasons give the same figures, whether they were all that was asked for or all that there was time."""
    status, out, _ = run("outlook", KART, "--seasons", "1000", "--json")
    stopped, whole = json.loads(out)["outlook"], answer("outlook", KART, "--seasons", "500")["outlook"]
    assert (status, stopped.pop("asked"), stopped.pop("interrupted")) == (130, 1000, True)
    assert (whole.pop("asked"), whole.pop("interrupted")) == (500, False)
    assert stopped == whole


@pytest.mark.parametrize("words", [("outlook", KART), ("whatif", KART, "--sum", "2000")], ids=str)
def test_stopped_before_anything_was_drawn_nothing_is_shown(words: tuple[str, ...], interrupted: list[int]) -> None:
    interrupted[0] = 0
    status, out, err = run(*words, "--seasons", "1000")
    assert (status, out) == (130, "")
    assert err.startswith("Stopped")


def test_stopped_while_inputs_are_moved_the_outlook_is_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    draws, real = iter(range(99)), drawing._in_order

    def in_order(*given: Any) -> Iterator[Any]:
        if next(draws) == 3:
            raise KeyboardInterrupt
        yield from real(*given)

    monkeypatch.setattr(drawing, "_in_order", in_order)
    status, out, err = run("outlook", KART, "--seasons", "10", "--inputs", "--json")
    found = json.loads(out)
    assert (status, found["inputs"], found["outlook"]["seasons"]) == (130, [], 10)
    assert err.startswith("Stopped before all inputs were moved")


def test_stopped_while_a_break_even_is_sought_the_comparison_is_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    draws, real = iter(range(99)), drawing._in_order

    def in_order(*given: Any) -> Iterator[Any]:
        if next(draws) == 5:
            raise KeyboardInterrupt
        yield from real(*given)

    monkeypatch.setattr(drawing, "_in_order", in_order)
    words = ("--break-even", "scenario/engine/blue/sold", "--from", "1000", "--to", "40000")
    status, out, err = run("compare", OVAL, "--variant", "sell and buy", *FEW, *words, "--json")
    found = json.loads(out)
    assert (status, found["break_even"], found["comparison"]["seasons"]) == (130, None, 40)
    assert err.startswith("Stopped before the break-even was found")


# The work shown


@pytest.mark.parametrize("words", [("outlook", KART, *FEW), ("season", KART)], ids=str)
def test_the_work_is_written_whole_by_its_schema_and_over_nothing(words: tuple[str, ...], tmp_path: Path) -> None:
    from jsonschema import Draft202012Validator

    path = tmp_path / "work.json"
    plain = run(*words)
    assert run(*words, "--show-work", str(path)) == plain
    work = json.loads(path.read_text(encoding="utf-8"))
    assert list(Draft202012Validator(schema()).iter_errors(work)) == []
    status, out, err = run(*words, "--show-work", str(path))
    assert (status, out) == (2, "")
    assert "is there already" in err
    status, _, err = run(*words, "--show-work", str(tmp_path / "no" / "work.json"))
    assert status == 2
    assert "cannot be written" in err
    assert [one.name for one in tmp_path.iterdir()] == ["work.json"]
