"""`costplan airflow` on the demos and on folders that lack what it needs."""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
from pathlib import Path

import pytest

from tests.command_line import answer, run

ROOT = Path(__file__).parents[2]
OVAL, KART = "scenarios/oval-v8", "scenarios/kart-single"


@pytest.fixture(autouse=True)
def at_80_columns(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    monkeypatch.setenv("COLUMNS", "80")


@pytest.mark.parametrize("words", [(), ("--engine", "blue"), ("--on", "2027-02-01"), ("--on", "2027-05-14")])
def test_the_page_fits_80_columns_and_names_an_estimate_and_its_error(words: tuple[str, ...]) -> None:
    status, out, err = run("airflow", OVAL, *words)
    assert (status, err) == (0, "")
    assert max(map(len, out.splitlines())) <= 80
    speeds = out.partition("Over speed, an estimate")[2].partition("\n\n")[0].splitlines()[3:]
    figures = [line for line in speeds if line[:1].isdigit()]
    assert len(figures) > 5
    assert all("+/-" in line for line in figures)
    assert "+10 % buys, est. hp" in out
    assert out.startswith("Airflow, an estimate: ")
    assert "(invented data)" in out
    assert "Estimate: " in out
    assert "+/-" in out
    assert "What decides: heads (OB-H58)" in out
    assert "Extrapolated: friction" in " ".join(out.split())
    assert "nothing certain" in out


def test_without_a_dyno_sheet_by_the_day_the_error_is_as_stated() -> None:
    before, after = (answer("airflow", OVAL, "--on", day)["airflow"] for day in ("2027-02-14", "2027-02-15"))
    assert (before["calibration"], before["error_share"]) == (None, 0.2)
    assert after["calibration"]["enough"] is True
    assert len(after["calibration"]["points"]) == 10
    assert after["error_share"] < 0.02


def test_the_json_has_everything_behind_the_page() -> None:
    found = answer("airflow", OVAL)
    assert list(found) == ["answer", "form", "scenario", "invented", "engine", "airflow", "alternates"]
    breathing = found["airflow"]
    assert breathing["peak"]["unit"] == breathing["error"]["unit"] == "hp"
    assert [one["slot"] for one in breathing["restrictions"]] == ["heads", "manifold", "carburetor", "spacer"]
    assert sum(one["share"] for one in breathing["restrictions"]) == pytest.approx(1)
    assert breathing["restrictions"][0]["place"] == "catalogs/oval-v8/flow.csv:2"
    assert breathing["calibration"]["points"][0]["place"] == "scenarios/oval-v8/dyno.csv:2"
    assert any("flow.csv:29" in line for line in breathing["why"])
    (turn,) = found["alternates"]
    assert (turn["slot"], turn["part"]) == ("carburetor", "OB-CR47")
    assert turn["breathing"]["peak"]["value"] < breathing["peak"]["value"]


def test_the_csv_is_the_restrictions() -> None:
    status, out, err = run("airflow", OVAL, "--csv")
    assert (status, err) == (0, "")
    rows = list(csv.DictReader(io.StringIO(out)))
    assert list(rows[0]) == ["slot", "part", "area [cm2]", "share", "gain [hp]", "certain", "place"]
    assert [row["slot"] for row in rows] == ["heads", "manifold", "carburetor", "spacer"]
    assert [row["certain"] for row in rows] == ["True", "False", "False", "False"]
    figures = [row[name] for row in rows for name in ("area [cm2]", "share", "gain [hp]")]
    assert all(re.fullmatch(r"\d+(\.\d{1,4})?", figure) for figure in figures), figures


def test_a_what_if_changes_the_engine_and_not_what_the_sheet_says() -> None:
    plain = answer("airflow", OVAL)["airflow"]
    heads = ("build/heads/part=OB-H58P", "garage/blue-heads/part=OB-H58P", "garage/red-heads/part=OB-H58P")
    for what_ifs in (("build/manifold/part=OB-M4D",), heads):
        sets = [word for what_if in what_ifs for word in ("--set", what_if)]
        other = answer("airflow", OVAL, *sets)["airflow"]
        assert other["calibration"] == plain["calibration"]
        assert other["error_share"] == plain["error_share"]
        assert other["peak"] != plain["peak"]
    lower = answer("airflow", OVAL, "--set", "build/manifold/part=OB-M4D")["airflow"]
    assert lower["peak"]["value"] < plain["peak"]["value"]


def test_a_pattern_that_does_not_say_how_it_draws_is_told_what_to_add() -> None:
    status, out, err = run("airflow", KART)
    assert (status, out) == (2, "")
    assert err.startswith(f"{KART}/pattern.toml: airflow: REA016 this question needs [airflow]")
    status, out, err = run("airflow", KART, "--json")
    (problem,) = json.loads(out)["problems"]
    assert (status, problem["code"], problem["field"]) == (2, "REA016", "airflow")


def test_the_simple_form_has_no_engine_to_look_at(tmp_path: Path) -> None:
    assert run("new", tmp_path / "simple", "--simple")[0] == 0
    status, _, err = run("airflow", tmp_path / "simple")
    assert status == 2
    assert "this question needs a build" in err


@pytest.mark.parametrize("words", [("--engine", "bleu"), ("--on", "soon"), ("--set", "dyno/2/rpm=fast")])
def test_a_slip_on_the_command_line_is_told(words: tuple[str, ...]) -> None:
    status, out, err = run("airflow", OVAL, *words)
    assert (status, out) == (2, "")
    assert "1 problem" in err


def test_what_is_missing_is_told_in_place_of_a_figure(tmp_path: Path) -> None:
    for name in ("scenarios", "catalogs"):
        shutil.copytree(ROOT / name, tmp_path / name)
    flow = tmp_path / "catalogs/oval-v8/flow.csv"
    kept = [line for line in flow.read_text("utf-8").splitlines() if not line.startswith("OB-M4,")]
    flow.write_text("\n".join(kept) + "\n", encoding="utf-8")
    status, out, _ = run("airflow", tmp_path / OVAL)
    assert status == 0
    assert "No estimate; missing: flow of OB-M4 without lift in flow.csv" in " ".join(out.split())
    assert "Over speed" not in out
    found = answer("airflow", tmp_path / OVAL)["airflow"]
    assert (found["peak"], found["restrictions"], found["calibration"]) == (None, [], None)


@pytest.fixture
def demo(tmp_path: Path) -> Path:
    """A copy of the touring demo that a test may spoil."""
    for name in ("scenarios", "catalogs"):
        shutil.copytree(ROOT / name, tmp_path / name)
    return tmp_path / OVAL


def test_the_page_says_whether_its_parts_were_pulled() -> None:
    # blue is as planned, in its own heads after a service step; another carburetor was on no brake
    for words, pulled in ((("--engine", "blue"), True), ((), True), (("--set", "build/manifold/part=OB-M4D"), False)):
        found = answer("airflow", OVAL, *words)["airflow"]
        page = " ".join(run("airflow", OVAL, *words)[1].split())
        assert found["pulled"] is pulled
        assert found["unpulled"] == ([] if pulled else ["manifold"])
        assert ("These parts are those that were pulled" in page) is pulled
        assert ("The engine that was pulled had other parts in manifold: for these the error may" in page) is not pulled
        assert "not pulled." in page.partition("With OB-CR47 in its turn")[2].partition("Restrictions")[0]


def test_with_a_sheet_too_short_to_set_the_error_nothing_is_said_of_its_scatter(demo: Path) -> None:
    sheet = demo / "dyno.csv"
    sheet.write_text("\n".join(sheet.read_text("utf-8").splitlines()[:3]) + "\n", encoding="utf-8")
    page = " ".join(run("airflow", demo)[1].split())
    assert "too few to set the error" in page
    assert "pulled" not in page


def test_a_slip_in_the_sheet_is_named_and_nothing_is_calibrated(demo: Path) -> None:
    for words in ("airflow", "season"):
        status, out, err = run(words, demo, "--set", "dyno/3/torque=4239")
        assert (status, out) == (2, "")
        assert "--set 1" not in err
        assert "/dyno.csv:3: torque: DYN004 so far off the other rows" in err
        assert "'4239 lbf.ft'" in err


def test_pulls_up_to_a_day_that_calibrate_nothing_are_told_though_all_together_do(demo: Path) -> None:
    sheet = demo / "dyno.csv"
    heading, *rows = sheet.read_text("utf-8").splitlines()
    early = [row.replace("2027-02-15", "2027-02-01") for row in rows[:3]]
    early[1] = early[1].replace("423.9", "42.39")
    late = [row.replace("2027-02-15", day) for day in ("2027-02-15", "2027-02-16") for row in rows]
    sheet.write_text("\n".join((heading, *early, *late)) + "\n", encoding="utf-8")
    assert run("airflow", demo)[0] == 0
    status, out, err = run("airflow", demo, "--on", "2027-02-02")
    assert (status, out) == (2, "")
    assert "/dyno.csv:3: torque: DYN004" in err


def test_columns_describes_the_new_tables() -> None:
    for file, names in {
        "flow.csv": {"part", "lift", "flow", "pressure"},
        "lift_curves.csv": {"angle", "lift"},
        "dyno.csv": {"rpm", "torque", "power", "corrected", "humidity"},
        "pattern.toml": {"ports", "shared", "each", "duration", "otto_share", "standard"},
    }.items():
        status, out, _ = run("columns", file, "--json")
        assert status == 0
        rows = [row for row in json.loads(out)["columns"] if row["file"] == file]
        assert names <= {row["name"] for row in rows}
        assert all(row["meaning"] for row in rows)
