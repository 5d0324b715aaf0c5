"""`costplan life fit` and `life show`: their answers as data and on a page, the rows they write, and their problems."""

from __future__ import annotations

import csv
import io
import math
import re
import shutil
from pathlib import Path
from typing import Any

import pytest

from costplan.catalog import read_catalogs
from costplan.report.chart import curve_chart
from costplan.scenario import read_scenario
from costplan.scenario.lives import renewed_at
from tests import command_line

ROOT = Path(__file__).parents[2]
#: Two nights of a set that broke, and of one that did not.
FLEET = """date,what,engine,level,slot,part,count,events,laps
2026-03-01,changed,x1,,springs,TV-S165,,,
2026-03-07,ran,x1,,,,,1,50
2026-03-14,ran,x1,,,,,1,
2026-03-14,failed,x1,,springs,,,,
2026-03-15,mended,x1,,springs,,,,
2026-03-21,ran,x1,,,,,1,50
2026-03-22,serviced,x1,freshen,,,,,
2026-03-28,ran,x1,,,,,1,50
"""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The oval demo without the logs of others and without its own."""
    for name in ("scenarios/oval-v8", "catalogs/oval-v8"):
        shutil.copytree(ROOT / name, tmp_path / name)
    scenario = tmp_path / "scenarios/oval-v8"
    (scenario / "log.csv").unlink(missing_ok=True)
    head = (scenario / "scenario.toml").read_text(encoding="utf-8")
    (scenario / "scenario.toml").write_text(head.replace('logs = ["shop-log.csv"]', "logs = []"), encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    return scenario


@pytest.fixture
def shop(folder: Path) -> Path:
    """With the log of the engine shop."""
    return with_log(folder, (folder / "shop-log.csv").read_text(encoding="utf-8"))


def with_log(folder: Path, log: str) -> Path:
    (folder / "others.csv").write_text(log, encoding="utf-8")
    head = (folder / "scenario.toml").read_text(encoding="utf-8")
    (folder / "scenario.toml").write_text(head.replace("logs = []", 'logs = ["others.csv"]'), encoding="utf-8")
    return folder


def run(*words: object) -> tuple[int, str, str]:
    """What a command of the group ends with and prints."""
    return command_line.run("life", *words)


def answer(*words: object) -> dict[str, Any]:
    return command_line.answer("life", *words)


# Fits


def test_a_fit_is_answered_with_method_counts_bounds_and_the_catalogs_figures(shop: Path) -> None:
    found = answer("fit", shop, "springs")
    assert set(found) == {"answer", "form", "scenario", "invented", "logs", "lives", "written"}
    assert (found["answer"], found["invented"], found["logs"]) == ("life fit", True, ["others.csv"])
    polished = next(life for life in found["lives"] if life["part"] == "TV-S165")
    assert (polished["failures"], polished["of"], polished["measure"]) == (42, "set", "events")
    assert polished["scale"]["low"] < polished["scale"]["value"] < polished["scale"]["high"]
    assert polished["scale"]["catalog"] == pytest.approx(15.88, abs=0.01)
    assert polished["scale"]["holds"] is True
    assert "maximum likelihood" in polished["method"]
    assert "right censored" in polished["censoring"]
    assert "likelihood ratio" in polished["bounds"]


def test_too_few_failures_take_the_catalogs_shape_and_say_so(folder: Path) -> None:
    found = answer("fit", with_log(folder, FLEET), "springs")
    (life,) = found["lives"]
    assert (life["failures"], life["censored"], life["shape_from"]) == (1, 2, "catalog")
    assert "1 failure: the shape is taken from the catalog; only the scale is fitted" in life["notes"]
    # Shape 3, watched from new to 2 broken, from 2 to 3 whole, from new to 1 whole: scale^3 = 8 + (27 - 8) + 1.
    assert life["scale"]["value"] == pytest.approx(28 ** (1 / 3))
    # ln f(2) + ln S(3) - ln S(2) + ln S(1), with f(t) = 3 t^2 / scale^3 S(t)
    assert life["log_likelihood"] == pytest.approx(math.log(12 / 28) - 1)
    assert life["row"]["source"] == "fitted from others.csv: 1 failure, 2 whole, to 2026-03-28"


def test_a_shape_that_nobody_gives_is_called_assumed(folder: Path) -> None:
    """Springs of a catalog whose role says no shape either."""
    with_log(folder, FLEET)
    roles = folder.parents[1] / "catalogs/oval-v8/roles.csv"
    text = roles.read_text(encoding="utf-8")
    named = next(line for line in text.splitlines() if line.startswith("valve-spring,"))
    roles.write_text(text.replace(named, f"{named.rpartition(',')[0]},"), encoding="utf-8")
    (life,) = answer("fit", folder, "springs")["lives"]
    assert (life["shape_from"], life["shape"]["catalog"]) == ("assumed", 2.5)
    assert "1 failure: the shape is assumed 2.5; only the scale is fitted" in life["notes"]
    _, out, _ = run("fit", folder, "springs")
    assert "assumed" in next(line for line in out.splitlines() if " shape " in line)
    log = "\n".join(line for line in FLEET.splitlines() if "failed" not in line and "mended" not in line)
    (folder / "others.csv").write_text(log, encoding="utf-8")
    (whole,) = answer("fit", folder, "springs")["lives"]
    assert whole["notes"][0].endswith("90% sure, if the shape, assumed 2.5, is true")
    assert "or the 2.5 that is assumed where it has none" in " ".join(run("fit", folder, "springs")[1].split())


def test_without_a_failure_only_what_the_life_is_longer_than_is_said_and_no_row_is_given(folder: Path) -> None:
    log = "\n".join(line for line in FLEET.splitlines() if "failed" not in line and "mended" not in line)
    (life,) = answer("fit", with_log(folder, log), "springs")["lives"]
    assert (life["failures"], life["row"], life["scale"]["value"], life["scale"]["high"]) == (0, None, None, None)
    assert life["scale"]["low"] > 0
    assert life["log_likelihood"] is None
    assert "no failure" in life["notes"][0]
    _, out, _ = run("fit", folder, "springs")
    assert "Rows for lives.csv" not in out


def test_the_catalogs_life_can_count_as_failures(folder: Path) -> None:
    with_log(folder, FLEET)
    scales = [answer("fit", folder, "springs", "--prior", n)["lives"][0]["scale"]["value"] for n in (0, 3, 300)]
    assert scales[0] < scales[1] < scales[2] < 15.88


def test_surer_bounds_are_wider_and_each_way_is_named(shop: Path) -> None:
    found = {way: answer("fit", shop, "lifters", "--bounds", way)["lives"][0] for way in ("likelihood", "log", "raw")}
    assert len({life["bounds"] for life in found.values()}) == 3
    assert found["raw"]["scale"]["high"] < found["log"]["scale"]["high"] < found["likelihood"]["scale"]["high"]
    wide = answer("fit", shop, "lifters", "--confidence", "0.99")["lives"][0]
    assert wide["scale"]["low"] < found["likelihood"]["scale"]["low"]


def test_the_rows_are_a_lives_table_that_a_catalog_takes(shop: Path, tmp_path: Path) -> None:
    status, out, _ = run("fit", shop, "--out", tmp_path)
    assert status == 0
    assert "Written: " in out
    written = (tmp_path / "lives-fitted.csv").read_text(encoding="utf-8")
    assert written == run("fit", shop, "--csv")[1]
    rows = {row["part"]: row for row in csv.DictReader(io.StringIO(written))}
    assert (rows["TV-S165"]["replace_at"], rows["TV-S165"]["rated_rpm"]) == ("8", "6400")
    assert rows["TV-RK15"]["life_of"] == "piece"
    lives = tmp_path / "catalogs/oval-v8/lives.csv"
    kept = [line for line in lives.read_text(encoding="utf-8").splitlines() if line.split(",")[0] not in rows]
    place = [next(csv.DictReader(io.StringIO(written)))]
    order = kept[0].split(",")
    assert set(place[0]) <= set(order)
    new = [",".join(f'"{row[name]}"' if row.get(name) else "" for name in order) for row in rows.values()]
    lives.write_text("\n".join([*kept, *new]) + "\n", encoding="utf-8")
    catalog, problems = read_catalogs([tmp_path / "catalogs/oval-v8"])
    assert problems == ()
    (row,) = (row for row in catalog.lives_of(catalog.parts["TV-S165"]) if row.part)
    assert row.source.startswith("fitted from others.csv: 42 failures")


def test_no_file_is_written_over_and_none_where_there_is_no_folder(shop: Path, tmp_path: Path) -> None:
    (tmp_path / "lives-fitted.csv").write_text("mine", encoding="utf-8")
    status, _, err = run("fit", shop, "--out", tmp_path)
    assert status == 2
    assert "is there already" in err
    assert (tmp_path / "lives-fitted.csv").read_text(encoding="utf-8") == "mine"
    assert run("fit", shop, "--out", tmp_path / "nowhere")[0] == 2


@pytest.mark.parametrize("out", ["", "nowhere"])
def test_what_is_in_the_way_of_the_file_is_told_before_anything_is_fitted(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, out: str
) -> None:
    (tmp_path / "lives-fitted.csv").write_text("mine", encoding="utf-8")
    monkeypatch.setattr("costplan.scenario.lives.fitted_lives", None)
    status, _, err = run("fit", with_log(folder, FLEET), "--out", tmp_path / out)
    assert (status, len(err.splitlines())) == (2, 1)


def test_an_own_log_begins_with_what_the_garage_says(folder: Path) -> None:
    """Blue's springs have 3 events behind them and run the opener: a life first seen at 3, whole at 4."""
    (folder / "log.csv").write_text("date,what,engine,event\n2027-03-20,ran,blue,Vorlemick opener\n", encoding="utf-8")
    found = {life["slot"]: life for life in answer("fit", folder)["lives"]}
    assert (found["springs"]["late"], found["springs"]["longest"]) == (1, 4)
    assert found["pistons"]["longest"] == 25


# Curves


def test_curves_are_shown_at_80_columns_with_their_numbers(shop: Path) -> None:
    status, out, _ = run("show", shop, "springs")
    assert status == 0
    assert max(map(len, out.splitlines())) <= 80
    for words in ("Kaplan-Meier", "Greenwood", "o  fitted: shape", "c  catalog: shape 3", "|  renewed at 8 events"):
        assert words in out
    chart = [line for line in out.splitlines() if line.startswith(("100% |", " 50% |", "     |"))]
    assert {"#", ":", "o", "c", "|"} <= set("".join(line[6:] for line in chart))


def test_what_is_mended_shows_how_often(folder: Path) -> None:
    with_log(folder, FLEET)
    (life,) = answer("show", folder, "springs")["lives"]
    assert [(step["use"], step["at_risk"], step["mean"]) for step in life["mended"]] == [(2.0, 1, 1.0)]
    assert "mean cumulative function" in run("show", folder, "springs")[1]


def test_without_a_log_the_catalogs_life_is_shown_alone(folder: Path) -> None:
    (life,) = answer("show", folder, "springs")["lives"]
    assert life["steps"] == []
    assert all(point["observed"] is None for point in life["points"])
    status, out, _ = run("show", folder, "springs")
    assert status == 0
    assert "No log shows it in use" in out
    assert "c  catalog: shape 3" in out
    assert "fitted" not in out.replace("A fitted life", "")
    assert "There is no log" in run("fit", folder)[1]


def test_a_slot_with_a_limit_alone_has_no_curve(folder: Path) -> None:
    status, out, _ = run("show", folder, "damper")
    assert status == 0
    assert "|" not in out


def test_the_curves_are_given_as_csv(shop: Path) -> None:
    rows = list(csv.DictReader(io.StringIO(run("show", shop, "lifters", "--csv")[1])))
    assert list(rows[0]) == ["part", "measure", "use", "at_risk", "observed", "low", "high", "fitted", "catalog"]
    observed = [float(row["observed"]) for row in rows if row["observed"]]
    assert observed == sorted(observed, reverse=True)
    assert observed[0] == 1


def test_a_chart_that_would_be_folded_is_left_out() -> None:
    curve, band = [("#", [1.0, 0.5, 0.0])], [(0.9, 1.0), None, None]
    words = (("0%", "50%", "100%"), ("0", "1", "2 laps"))
    (passage,) = curve_chart("t", curve, band, (0.0, 1.0), *words, rule=1)
    lines = [line for _, line in passage.lines]
    assert lines[0] == "100% |#|"
    assert lines[8] == " 50% | #"
    assert lines[16] == "  0% | |#"
    assert curve_chart("t", curve, band, (0.0, 1.0), *words, rule=1, width=5) == ()


# Problems


@pytest.mark.parametrize(
    ("words", "fault"),
    [
        (("fit", "{}", "sprigs"), "SLOT: REA020 no slot with a life: 'sprigs'; did you mean 'springs'?"),
        (("show", "{}", "manifold"), "SLOT: REA020"),
        (("fit", "{}", "springs", "--measure", "laps"), "--measure: REA020"),
        (("show", "{}", "carburetor"), "SLOT: REA020"),
    ],
)
def test_what_has_no_life_is_refused(folder: Path, words: tuple[str, ...], fault: str) -> None:
    status, out, err = run(*(word.format(folder) for word in words))
    assert (status, out) == (2, "")
    assert err.startswith(fault)


@pytest.mark.parametrize(
    ("row", "fault"),
    [
        ("2026-03-01,changed,x1,,sprigs,TV-S165,,,", ":10: slot: SEA002"),
        ("2026-03-01,changed,x1,,springs,TV-S1,,,", ":10: part: BLD002"),
        ("2026-03-01,serviced,x1,fresh,,,,,", ":10: level: SEA001"),
        ("2026-03-01,serviced,x1,,,,,,", ":10: level: REA016"),
        ("2026-03-01,failed,x1,,,,,,", ":10: slot: REA016"),
        ("2026-03-01,ran,x1,,,,,,", ":10: events: REA016"),
        ("2026-03-01,ran,,,,,,1,", ":10: engine: REA016"),
        ("2026-03-01,run,x1,,,,,1,", ":10: what: REA020"),
        ("2026-03-01,ran,x1,,,,,-1,", ":10: events: REA018"),
    ],
)
def test_a_row_of_a_log_that_is_at_fault_is_told_with_its_place(folder: Path, row: str, fault: str) -> None:
    status, out, err = run("fit", with_log(folder, FLEET + row + "\n"))
    assert (status, out) == (2, "")
    assert err.startswith(f"scenarios/oval-v8/others.csv{fault}") or f"others.csv{fault}" in err
    assert "1 problem" in err


def test_a_log_that_is_not_there_is_told_by_these_commands_alone(folder: Path) -> None:
    with_log(folder, FLEET)
    (folder / "others.csv").unlink()
    status, _, err = run("fit", folder)
    assert status == 2
    assert re.search(r"scenario\.toml:\d+: logs\.1: REA001 no such file: 'others\.csv'", err)
    assert read_scenario(folder)[1] == ()


def test_a_level_renews_what_those_below_it_do_and_what_goes_with_it(folder: Path) -> None:
    scenario, problems = read_scenario(folder)
    assert scenario is not None, problems
    renews = renewed_at(scenario.files.levels, scenario.files.positions)
    assert renews["springs"] == ()
    assert "rings" in renews["freshen"]
    assert {"rings", "pistons", "rod-bearings"} <= set(renews["rebuild"])
    assert "belts" not in renews["rebuild"]
    assert "clutch" not in renews["rebuild"]
