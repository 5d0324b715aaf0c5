"""`costplan log` and the pages that a log changes: a row written whole or not at all, and what it says afterwards."""

from __future__ import annotations

import csv
import io
import json
import os
import shutil
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from costplan.scenario import read_scenario
from tests.command_line import run

ROOT = Path(__file__).parents[2]
BASE = ROOT / "tests" / "bad_inputs" / "base"
DEMO = str(ROOT / "scenarios" / "oval-v8")
ON = ("--on", "2027-06-20")
HEADER = "date,what,engine,event,level,slot,part,piece,step,count,finding,rpm,line,amount,note"


@pytest.fixture(autouse=True)
def at_80_columns(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    for name in ("FORCE_COLOR", "CLICOLOR_FORCE", "TTY_COMPATIBLE", "NO_COLOR"):
        monkeypatch.delenv(name, raising=False)


@pytest.fixture
def folder(tmp_path: Path) -> Iterator[Path]:
    shutil.copytree(BASE, tmp_path / "cup")
    yield tmp_path / "cup"
    assert sorted(path.name for path in (tmp_path / "cup").iterdir() if path.name.startswith(".")) == []


def asked(*words: str) -> Any:
    status, out, err = run(*words, "--json")
    assert status == 0, err
    return json.loads(out)


def test_the_first_row_makes_the_file(folder: Path) -> None:
    found = asked("log", "add", str(folder), "ran", "--date", "2031-03-10", "--engine", "amber", "--event", "shakedown")
    assert (folder / "log.csv").read_text() == f"{HEADER}\n2031-03-10,ran,amber,shakedown,,,,,,,,,,,\n"
    assert (found["answer"], found["at"], found["entry"]["event"]) == ("log add", f"{folder}/log.csv:2", "shakedown")


def test_a_row_keeps_what_is_there_byte_by_byte(folder: Path) -> None:
    before = "\ufeffevent;date;what;engine\r\nshakedown;2031-03-10;ran;amber"
    (folder / "log.csv").write_bytes(before.encode())
    words = ("paid", "--date", "2031-03-11", "--line", "gate; both days", "--amount", "12.50")
    status, out, err = run("log", "add", str(folder), *words)
    assert (status, err) == (0, "")
    assert (folder / "log.csv").read_bytes().decode() == (
        "\ufeffevent;date;what;engine;line;amount\r\nshakedown;2031-03-10;ran;amber\r\n"
        ';2031-03-11;paid;;"gate; both days";12,50\r\n'
    )
    assert "log.csv:3" in out.replace("\n", "")


@pytest.mark.parametrize(
    ("words", "fault"),
    [
        (("ran", "--engine", "ambar", "--event", "shakedown"), "engine: LOG003"),
        (("run", "--engine", "amber"), "what: REA020"),
        (("ran", "--engine", "amber", "--event", "shakedown", "--level", "top"), "level: LOG002"),
        (("changed", "--engine", "amber", "--slot", "piston", "--piece", "old pistn"), "piece: LOG011"),
        (("ran", "--engine", "amber", "--event", "shakedown", "--use", "lops=3"), "--use: REA020"),
        (("paid", "--amount", "twelve"), "amount: REA017"),
    ],
)
def test_a_row_that_would_be_wrong_is_not_written(folder: Path, words: tuple[str, ...], fault: str) -> None:
    before = f"{HEADER}\n2031-03-09,checked,amber,,,,,,,,,,,,\n"
    (folder / "log.csv").write_text(before)
    status, _, err = run("log", "add", str(folder), *words, "--date", "2031-03-10")
    assert (status, (folder / "log.csv").read_text()) == (2, before)
    assert fault in err
    assert err.endswith("1 problem; nothing was written.\n")
    assert "--use" in fault or f"{folder}/log.csv:3" in err


def test_nothing_is_written_behind_a_row_that_is_wrong(folder: Path) -> None:
    before = "date,what,engine,event\n2031-03-10,ran,amber,shakdown\n"
    (folder / "log.csv").write_text(before)
    status, _, err = run("log", "add", str(folder), "checked", "--engine", "amber", "--date", "2031-03-11")
    assert (status, (folder / "log.csv").read_text()) == (2, before)
    assert f"{folder}/log.csv:2: event: LOG004" in err


def test_a_file_in_another_encoding_is_left_as_it_is(folder: Path) -> None:
    before = "date,what,note\n2031-03-10,checked,für".encode("latin-1")
    (folder / "log.csv").write_bytes(before)
    status, _, err = run("log", "add", str(folder), "paid", "--amount", "3")
    assert (status, (folder / "log.csv").read_bytes()) == (2, before)
    assert "REA005" in err


def test_without_a_folder_nothing_is_made(tmp_path: Path) -> None:
    status, _, err = run("log", "add", str(tmp_path / "nowhere"), "paid", "--amount", "3")
    assert (status, "REA001" in err, list(tmp_path.iterdir())) == (2, True, [])


def test_a_link_stays_a_link_to_what_it_led_to(folder: Path, tmp_path: Path) -> None:
    (tmp_path / "shared.csv").write_text("date,what,engine\n")
    (folder / "log.csv").symlink_to(tmp_path / "shared.csv")
    status, _, err = run("log", "add", str(folder), "checked", "--engine", "amber", "--date", "2031-03-11")
    assert (status, err) == (0, "")
    assert (folder / "log.csv").is_symlink()
    assert (tmp_path / "shared.csv").read_text() == "date,what,engine\n2031-03-11,checked,amber\n"


@pytest.mark.parametrize(("others", "status"), [(1, 0), (4, 0), (5, 2)])
def test_a_file_that_changed_meanwhile_is_not_written_over(
    folder: Path, monkeypatch: pytest.MonkeyPatch, others: int, status: int
) -> None:
    """Who writes at the same moment is let go first, four times; a fifth is told to the user."""
    path, waited = folder / "log.csv", list[float]()
    path.write_text("date,what,engine\n")
    theirs, mine = "2031-03-01,checked,amber\n", "2031-03-11,checked,amber\n"

    def slowly(*args: Any, **more: Any) -> Any:
        if path.read_text().count(theirs) < others:
            path.write_text(path.read_text() + theirs)
        return read_scenario(*args, **more)

    monkeypatch.setattr("costplan.scenario.logging.read_scenario", slowly)
    monkeypatch.setattr("time.sleep", waited.append)
    found, _, err = run("log", "add", str(folder), "checked", "--engine", "amber", "--date", "2031-03-11")
    assert (found, "changed meanwhile" in err) == (status, status == 2)
    assert path.read_text() == "date,what,engine\n" + others * theirs + (mine if status == 0 else "")
    assert waited == [0.2] * min(others, 4)


def test_a_file_that_is_kept_from_being_written_stays(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (folder / "log.csv").write_text("date,what,engine\n")
    monkeypatch.setattr("os.access", lambda _, mode: mode != os.W_OK)
    status, _, err = run("log", "add", str(folder), "checked", "--engine", "amber", "--date", "2031-03-11")
    assert (status, (folder / "log.csv").read_text()) == (2, "date,what,engine\n")
    assert err.endswith("log.csv may not be written; nothing was changed\n")


def test_what_was_written_is_shown_in_the_units_of_the_file(folder: Path) -> None:
    words = ("ran", "--date", "2031-03-10", "--engine", "amber", "--event", "shakedown", "--use", "fuel [gal]=0.5")
    status, out, _ = run("log", "add", str(folder), *words)
    assert (status, "shakedown; 0.5 gal of fuel." in " ".join(out.split())) == (0, True)
    status, out, _ = run(
        "log", "add", str(folder), "paid", "--date", "2031-03-11", "--line", "gate", "--amount", "12.5"
    )
    assert (status, "2031-03-11 paid gate; 12.50 EUR." in " ".join(out.split())) == (0, True)


@pytest.mark.parametrize(
    ("words", "advice"),
    [
        (("Ran", "--engine", "amber", "--event", "shakedown"), "did you mean 'ran'?"),
        (("Over-Revved", "--engine", "amber"), "did you mean 'over-revved'?"),
        (("checked", "--engine", "amber", "--slot", "springs, piston"), "blanks between names, no commas"),
        (("ran", "--engine", "amber", "--use", "laps"), "write laps=30\n"),
        (("ran", "--engine", "amber", "--event", "shakedown", "--use", "laps=173"), "577 % of the laps of shakedown"),
        (("ran", "--engine", "amber", "--event", "shakedown", "--use", "laps=173"), "or leave event empty"),
        (("paid", "--amount", "2.815"), "give 2815 for thousands, or two decimals"),
        (("paid", "--amount", "2.8155"), "give two decimals"),
    ],
)
def test_the_advice_names_what_was_meant(folder: Path, words: tuple[str, ...], advice: str) -> None:
    status, _, err = run("log", "add", str(folder), *words, "--date", "2031-03-10")
    assert (status, advice in err) == (2, True), err


def test_rows_of_a_long_log_are_shown_from_its_end() -> None:
    last, whole = (run("log", "show", DEMO, *ON, *words)[1] for words in ((), ("--all",)))
    assert len(asked("log", "show", DEMO, *ON)["log"]["entries"]) == 130
    assert ("2027-02-01" in last, "110 rows before these: --all, --csv and --json have them." in last) == (False, True)
    assert ("rows before these" in whole, whole.count("insurance"), last.count("insurance")) == (False, 1, 0)


def test_rows_later_than_the_day_are_counted() -> None:
    assert asked("season", DEMO, "--on", "2027-06-19")["rows_later"] == 1
    assert "1 row of log.csv is later than this day." in run("season", DEMO, "--on", "2027-06-19")[1]
    assert "later than this day" not in run("season", DEMO, *ON)[1]


def test_after_the_last_event_the_page_says_so() -> None:
    status, out, _ = run("season", DEMO, "--on", "2027-12-20")
    assert (status, "No event of the season is left" in out) == (0, True)
    assert "per race ." not in out
    assert "Worst month ;" not in out
    status, _, err = run("spares", DEMO, "--sum", "500", "--on", "2027-12-20")
    assert (status, "--on: REA018 behind the last event" in err) == (2, True)


def test_what_is_added_shows_in_the_answers(folder: Path) -> None:
    def add(*words: str) -> None:
        assert run("log", "add", str(folder), *words)[0] == 0

    assert asked("season", str(folder), "--on", "2031-03-11")["tracking"] is None
    add("ran", "--date", "2031-03-10", "--engine", "amber", "--event", "shakedown", "--use", "laps=15")
    add("over-revved", "--date", "2031-03-10", "--engine", "amber", "--rpm", "9100", "--line", "missed shift")
    add("paid", "--date", "2031-03-11", "--event", "shakedown", "--line", "gate", "--amount", "10")
    found = asked("log", "show", str(folder), "--on", "2031-03-11")["log"]
    assert [row["what"] for row in found["entries"]] == ["ran", "over-revved", "paid"]
    piston = next(one for one in found["pieces"] if (one["engine"], one["slot"]) == ("amber", "piston"))
    assert piston["use"] == ["55 laps"]  # 40 in garage.csv, and 15 of 30
    assert found["money"] == [{"group": "entry and travel", "amount": "10.00"}]
    season = asked("season", str(folder), "--on", "2031-03-11")
    assert season["inspections"] == found["inspections"]
    assert season["inspections"][0]["slots"] == ["springs"]
    assert season["tracking"]["total"]["actual"] == "10.00"
    assert [one["inspections"] for one in [asked("due", str(folder), "--on", "2031-03-11")]] == [found["inspections"]]
    add("checked", "--date", "2031-03-12", "--engine", "amber", "--slot", "springs", "--finding", "good")
    assert asked("due", str(folder), "--on", "2031-03-12")["inspections"] == []


@pytest.mark.parametrize("command", [("season",), ("due",), ("log", "show"), ("orders",), ("life", "used")])
def test_an_inspection_stands_at_the_top_of_every_page(command: tuple[str, ...]) -> None:
    status, out, _ = run(*command, DEMO, *ON)
    text = " ".join(" ".join(out.splitlines()[1:4]).split())
    assert status == 0
    assert text.startswith("Inspect blue before it runs again: over-revved to 7,600 rpm on 19 June (log.csv:")
    assert all(len(line) <= 80 for line in out.splitlines())


def test_the_demo_adds_up() -> None:
    answer = asked("season", DEMO, *ON)
    found, plan = answer["tracking"], answer["plan"]
    for name in ("budget", "to_day", "actual", "forecast", "expected", "difference"):
        assert sum(Decimal(one[name]) for one in found["groups"]) == Decimal(found["total"][name])
    assert Decimal(found["total"]["forecast"]) == Decimal(plan["cash_total"])
    whole = asked("season", DEMO, "--on", "2027-01-15")["plan"]
    assert Decimal(found["total"]["budget"]) == Decimal(whole["cash_total"])
    rows = list(csv.DictReader(io.StringIO(run("log", "show", DEMO, *ON, "--csv")[1])))
    assert sum(Decimal(row["amount"] or 0) for row in rows) == Decimal(found["total"]["actual"])
    assert (found["events_run"], found["missed"], len(plan["ledger"]) > 0) == (14, ["Drasketh one"], True)
    assert min(row["date"] for row in plan["ledger"]) >= "2027-06-20"


def test_drawn_seasons_begin_on_the_day() -> None:
    whole = asked("outlook", DEMO, "--seasons", "40")["outlook"]
    found = asked("outlook", DEMO, *ON, "--seasons", "40")["outlook"]
    plan = asked("season", DEMO, *ON)["plan"]
    assert [one["event"] for one in whole["events"]][-len(found["events"]) :] == [
        one["event"] for one in found["events"]
    ]
    assert (len(whole["events"]), len(found["events"])) == (32, 17)
    assert found["planned_cash"] == plan["cash_total"]
    assert found["planned_wear"] == plan["wear_total"]
    assert found["missed"]["mean"] < whole["missed"]["mean"]
    assert {month["month"] for month in found["months"]} <= {f"2027-{n:02d}" for n in range(6, 13)}
    sums = asked("whatif", DEMO, *ON, "--sum", "9000", "--seasons", "40")["affordable"]
    assert [one["event"] for one in sums["by_event"]] == [one["event"] for one in found["events"]]
    status, _, err = run("whatif", DEMO, *ON, "--fails", "springs", "--at", "Vorlemick two", "--seasons", "40")
    assert (status, "REA020" in err) == (2, True)
    pair = asked("compare", DEMO, *ON, "--variant", "no early", "--seasons", "40")["comparison"]
    assert len(pair["sides"]) == 2


@pytest.mark.parametrize("words", [("log", "--help"), ("log", "add", "--help"), ("log", "show", "--help")])
def test_help_fits_the_screen(words: tuple[str, ...]) -> None:
    status, out, _ = run(*words)
    assert (status, all(len(line) <= 80 for line in out.splitlines())) == (0, True)
