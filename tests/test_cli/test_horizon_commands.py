"""`costplan horizon` and `costplan worth`: their answers as data and pages, their problems, and what Ctrl-C leaves."""

from __future__ import annotations

import csv
import io
import json
import shutil
from collections.abc import Iterator, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from pytest import approx

from costplan.season.drawn import drawing
from costplan.season.drawn import years as yearly
from tests.command_line import run

ROOT = Path(__file__).parents[2]
OVAL, KART = "scenarios/oval-v8", "scenarios/kart-single"
FEW = ("--seasons", "30")
pytestmark = pytest.mark.usefixtures("at_80_columns")


def answer(*words: str) -> dict[str, Any]:
    status, out, err = run(*words, *FEW, "--json")
    assert (status, err) == (0, "")
    found: dict[str, Any] = json.loads(out)
    return found


# --- horizon


def test_three_years_ahead_with_what_it_costs_to_keep_or_to_sell() -> None:
    found = answer("horizon", OVAL)["horizon"]
    assert [year["year"] for year in found["years"]] == [1, 2, 3]
    assert (found["rate"], found["seasons"], found["engine"]) == (0.06, 30, "blue")
    assert found["new"]["price"] == "22100"
    assert [one["every"] for one in found["keeping"]] == [0, 1, 2]  # sold at the end is as good as kept
    assert found["best"] in found["keeping"]
    for amount in (found["present"]["mean"], found["annual"]["error"], found["years"][0]["cash"]["p90"]):
        assert isinstance(amount, str)
    assert float(found["annual"]["mean"]) == approx(float(found["present"]["mean"]) * 0.3741098, rel=1e-4)


def test_each_year_is_a_row_of_the_csv() -> None:
    status, out, _ = run("horizon", KART, "--years", "2", *FEW, "--csv")
    rows = list(csv.DictReader(io.StringIO(out)))
    assert status == 0
    assert [row["year"] for row in rows] == ["1", "2"]
    years = answer("horizon", KART, "--years", "2")["horizon"]["years"]
    assert [row["mean"] for row in rows] == [year["cash"]["mean"] for year in years]
    assert [row["planned"] for row in rows] == [year["planned"] for year in years]


def test_given_prices_and_rates_are_taken() -> None:
    words = ("horizon", KART, "--years", "2", "--new", "1500", "--resale", "700")
    found = answer(*words, "--rate", "0.08")["horizon"]
    assert (found["new"]["price"], found["new"]["source"], found["resale_given"]) == ("1500", "--new", "700")
    assert all(one["resale"]["mean"] == "700.00" for one in found["keeping"][1:])
    assert found == answer(*words, "--rate", "8 %")["horizon"]
    nothing = answer(*words, "--rate", "0")["horizon"]
    total = sum(Decimal(year["cash"]["mean"]) for year in nothing["years"]) - Decimal(
        nothing["years"][1]["left"]["mean"]
    )
    assert float(nothing["present"]["mean"]) == approx(float(total), abs=0.03)


def test_the_page_of_years_says_what_it_rests_on_within_80_columns() -> None:
    status, out, err = run("horizon", OVAL, *FEW)
    assert (status, err) == (0, "")
    assert max(len(line) for line in out.splitlines()) <= 80
    text = " ".join(out.split())
    assert text.startswith("3 seasons ahead: Brandelock Eight, touring season 2027 (invented data)")
    for words in (
        "prices of the first",
        "money is of the first year's worth",
        "Discounted at 6% a year",
        "costs least",
    ):
        assert words.lower() in text.lower()
    assert "Rebuild blue, or sell it and buy new at 22,100" in text
    assert "Ask what a sale brings. Sell it after every season if that is more than" in text
    assert "for less, rebuild it. Once all 3 seasons are over, sell it if that is more than" in text


def test_the_page_says_which_policies_do_not_end_with_a_sale() -> None:
    said = "the last engine is not sold at the end of"
    five = " ".join(run("horizon", KART, "--years", "5", *FEW)[1].split())
    assert f"Sold after 2, 3, 4, {said} 5, but left by the files." in five
    assert said not in run("horizon", KART, "--years", "2", *FEW)[1]


def test_within_one_season_nothing_is_sold() -> None:
    text = " ".join(run("horizon", KART, "--years", "1", *FEW)[1].split())
    assert "Nothing is sold within one season: look at more years (--years)" in text
    assert "Once the season is over, sell it if that is more than" in text
    assert "or sell it and buy new" not in text


def test_what_the_log_leaves_to_inspect_leads_the_pages(work: Path) -> None:
    folder = work / "scenarios" / "over-revved"
    shutil.copytree(work / KART, folder)
    events = list(csv.DictReader((folder / "calendar.csv").read_text("utf-8").splitlines()))
    race = next(event for event in events if event["kind"] == "race")
    row = f"{race['date']},{{}},kart-one,{race['event']},{{}}\n"
    rows = f"date,what,engine,event,rpm\n{row.format('ran', '')}{row.format('over-revved', 19000)}"
    (folder / "log.csv").write_text(rows, encoding="utf-8")
    for words in (("horizon",), ("worth", "--engine", "kart-one")):
        status, page, _ = run(words[0], "scenarios/over-revved", *words[1:], "--on", race["date"], *FEW)
        assert status == 0
        text = " ".join(page.split())
        assert "(invented data) Inspect kart-one before it runs again: over-revved to 19,000 rpm" in text


def test_a_resale_that_beats_rebuilding_is_said_to() -> None:
    text = " ".join(run("horizon", KART, "--new", "1000", "--resale", "990", *FEW)[1].split())
    assert "Selling kart-one after every season costs least" in text
    assert "less than keeping and rebuilding it" in text


def test_a_scenario_without_a_build_is_looked_at_without_selling(work: Path) -> None:
    folder = work / "simple"
    folder.mkdir()
    (folder / "scenario.toml").write_text('title = "by hand"\ncurrency = "USD"\n', "utf-8")
    (folder / "calendar.csv").write_text("event,date,laps,entry\none,2027-03-01,40,10\ntwo,2027-06-09,40,10\n", "utf-8")
    (folder / "services.csv").write_text("service,price,every,measure\noil,5,40,laps\n", "utf-8")
    found = answer("horizon", "simple")["horizon"]
    # Oil before the second race of the first year, and before each later one.
    assert [year["planned"] for year in found["years"]] == ["25.00", "30.00", "30.00"]
    assert (found["new"], found["keeping"]) == (None, [])
    assert "give --new SUM" in " ".join(run("horizon", "simple", *FEW)[1].split())
    status, _, err = run("worth", "simple", "--engine", "engine")
    assert status == 2
    assert "REA016" in err


# --- worth


@pytest.mark.parametrize(("folder", "engine"), [(OVAL, "blue"), (OVAL, "red"), (KART, "kart-one"), (KART, "kart-two")])
def test_what_an_engine_is_worth(folder: str, engine: str) -> None:
    found = answer("worth", folder, "--engine", engine)["worth"]
    assert found["engine"] == engine
    parts = sum(Decimal(part["worth"]) for part in found["parts"]) - sum(
        Decimal(work["owed"]) for work in found["work"]
    )
    assert Decimal(found["by_parts"]) == parts
    broken = sum(max(Decimal(part["resale"]), Decimal(part["core"])) for part in found["parts"])
    assert Decimal(found["broken_up"]) == broken
    assert 0 < broken < parts < Decimal(found["new"]["price"])
    assert 0 < float(found["to_owner"]["mean"]) < float(found["new"]["price"])
    gain = float(found["to_owner"]["mean"]) - float(found["unknown"]["mean"])
    assert float(found["of_log"]["mean"]) == approx(gain, abs=0.02)
    assert float(found["of_log"]["mean"]) >= 0
    assert found["to_owner"] == found["unknown" if found["apart"] else "run_on"]


def test_the_page_of_worth_says_that_it_is_an_estimate_within_80_columns() -> None:
    status, out, err = run("worth", OVAL, "--engine", "red", *FEW)
    assert (status, err) == (0, "")
    assert max(len(line) for line in out.splitlines()) <= 80
    text = " ".join(out.split())
    assert text.startswith("What red is worth: Brandelock Eight")
    assert "An estimate from assumed lives, prices and one calendar: no market price." in text
    assert "claimed" in text
    assert "To its owner" in text
    assert "its log is worth" in text


def test_its_parts_are_the_rows_of_the_csv() -> None:
    status, out, _ = run("worth", KART, "--engine", "kart-two", *FEW, "--csv")
    rows = list(csv.DictReader(io.StringIO(out)))
    assert status == 0
    assert "piston" in {row["slot"] for row in rows}
    assert [float(row["worn"]) for row in rows] == sorted((float(row["worn"]) for row in rows), reverse=True)


def test_an_engine_runs_on_from_a_day_as_its_log_leaves_it(work: Path) -> None:
    folder = work / "scenarios" / "logged"
    shutil.copytree(work / KART, folder)
    events = list(csv.DictReader((folder / "calendar.csv").read_text("utf-8").splitlines()))
    race = next(event for event in events if event["kind"] == "race")
    (folder / "log.csv").write_text(
        f"date,what,engine,event\n{race['date']},ran,kart-one,{race['event']}\n", encoding="utf-8"
    )
    worn, day = {}, f"{race['date']}"
    for on in ((), ("--on", day)):
        found = answer("worth", "scenarios/logged", "--engine", "kart-one", *on)["worth"]
        worn[on] = {part["slot"]: part["worn"] for part in found["parts"]}
    assert worn["--on", day]["crank"] > worn[()]["crank"]
    assert day in run("worth", "scenarios/logged", "--engine", "kart-one", "--on", day, *FEW)[1]
    found = answer("horizon", "scenarios/logged", "--on", day)["horizon"]
    assert found["on"] == day
    assert found["years"][0]["races"]["mean"] < found["years"][1]["races"]["mean"]
    text = " ".join(run("horizon", "scenarios/logged", "--on", day, *FEW)[1].split())
    assert f"The first year is what is left of the season on {day}, as its log leaves the engines." in text
    status, _, err = run("horizon", "scenarios/logged", "--on", "2027-12-24")
    assert status == 2
    assert "--on: REA018 behind the last event: '2027-12-24'" in err


def test_of_an_engine_on_offer_only_what_lies_ahead_counts(work: Path) -> None:
    folder = work / "scenarios" / "logged-too"
    shutil.copytree(work / KART, folder)
    events = list(csv.DictReader((folder / "calendar.csv").read_text("utf-8").splitlines()))
    race = [event for event in events if event["kind"] == "race"][2]
    (folder / "log.csv").write_text(
        f"date,what,engine,event\n{race['date']},ran,kart-one,{race['event']}\n", encoding="utf-8"
    )
    whole, rest = (
        answer("worth", "scenarios/logged-too", "--engine", "kart-two", *on)["worth"]
        for on in ((), ("--on", race["date"]))
    )
    assert (whole["on"], rest["on"]) == (None, race["date"])
    assert whole["parts"] == rest["parts"]
    assert whole["to_owner"] != rest["to_owner"]


# --- what is refused


@pytest.mark.parametrize(
    ("words", "code", "option"),
    [
        (("horizon", KART, "--rate", "6"), "REA018", "--rate"),
        (("horizon", KART, "--rate", "-1%"), "REA018", "--rate"),
        (("horizon", KART, "--rate", "much"), "REA017", "--rate"),
        (("horizon", KART, "--resale", "-5"), "REA018", "--resale"),
        (("horizon", KART, "--new", "-5"), "REA018", "--new"),
        (("worth", KART, "--engine", "nobody"), "REA020", "--engine"),
        (("worth", OVAL, "--engine", "white"), "REA020", "--engine"),
    ],
)
def test_what_cannot_be_asked_is_told_at_its_option(words: Sequence[str], code: str, option: str) -> None:
    status, out, err = run(*words, "--json")
    (problem,) = json.loads(out)["problems"]
    assert (status, problem["file"]) == (2, option)
    assert problem["code"] == code
    assert option in err


def test_a_calendar_of_more_than_a_year_cannot_be_repeated(work: Path) -> None:
    folder = work / "long"
    folder.mkdir()
    (folder / "scenario.toml").write_text('title = "by hand"\ncurrency = "USD"\n', "utf-8")
    (folder / "calendar.csv").write_text("event,date,laps\none,2027-03-01,40\ntwo,2028-06-09,40\n", "utf-8")
    (folder / "services.csv").write_text("service,price,every,measure\noil,5,40,laps\n", "utf-8")
    status, out, _ = run("horizon", "long", "--json")
    (problem,) = json.loads(out)["problems"]
    assert (status, problem["code"], problem["line"], problem["value"]) == (2, "REA018", 3, "2028-06-09")


@pytest.mark.parametrize(
    "words",
    [
        ("timing", OVAL),
        ("horizon", OVAL),
        ("worth", OVAL, "--engine", "blue"),
        ("outlook", OVAL),
        ("compare", OVAL, OVAL),
        ("whatif", OVAL, "--sum", "500"),
    ],
)
def test_after_the_last_event_there_is_nothing_to_decide(words: Sequence[str]) -> None:
    status, out, err = run(*words, "--on", "2028-01-10")
    assert (status, out) == (2, "")
    assert err.startswith("--on: REA018 behind the last event: '2028-01-10'; give 2027-10-16 or an earlier day")


# --- Ctrl-C


def after(blocks: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ctrl-C once so many blocks have been drawn in all."""
    left, real = [blocks], drawing._in_order

    def in_order(players: Any, counts: Any) -> Iterator[Any]:
        for block in real(players, counts):
            if not left[0]:
                left[0] = 99
                raise KeyboardInterrupt
            left[0] -= 1
            yield block

    monkeypatch.setattr(yearly, "_in_order", in_order)


@pytest.mark.parametrize("words", [("horizon", KART), ("worth", KART, "--engine", "kart-one")])
def test_ctrl_c_shows_what_was_drawn(words: Sequence[str], monkeypatch: pytest.MonkeyPatch) -> None:
    after(1, monkeypatch)
    status, out, _ = run(*words, "--seasons", "600", "--json")
    found = json.loads(out)[words[0]]
    assert (status, found["seasons"], found["asked"], found["interrupted"]) == (130, 250, 600, True)


@pytest.mark.parametrize("words", [("horizon", KART), ("worth", KART, "--engine", "kart-one")])
def test_ctrl_c_before_anything_is_drawn_ends_with_a_word(
    words: Sequence[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    after(0, monkeypatch)
    status, out, err = run(*words, "--seasons", "600")
    assert (status, out) == (130, "")
    assert "nothing to show" in err
