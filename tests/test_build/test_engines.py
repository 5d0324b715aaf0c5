"""Fits, bench, operations and service steps from files to answers: a small invented scenario, and each file spoiled."""

from __future__ import annotations

import csv
import io
import json
import os
import shutil
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path
from typing import Any

import pytest
from pytest import approx

from costplan.cli import app
from costplan.scenario import Scenario, read_scenario

BASE = Path(__file__).parents[1] / "bad_inputs" / "base"

#: The base's cylinder is 53.9 mm and its stroke 54 mm.
MORE: dict[str, str] = {
    "pattern.toml": """
[[fit]]
fit = "bore within the book"
this = "piston.bore"
must = "at most"
that = "54 mm"
plus = "-0.05 mm"
why = "what the book's gauge lets through"

[[fit]]
fit = "two springs"
this = "count.spring"
must = "equal"
that = 2

[[fit]]
fit = "spring of the piston's colour"
this = "springs.colour"
must = "one of"
that = "piston.colour"

[[fit]]
fit = "cover of the pump's colour"
this = "cover.colour"
must = "equal"
that = "pump.colour"
""",
    "bench.csv": """\
engine,slot,attribute,value,unit,date,by,instrument,note
,springs,colour,grey,,2031-02-02,,,
amber,piston,bore,53.97,mm,2031-02-03,A. Builder,bore gauge,after the last season
amber,springs,colour,red,,2031-02-03,,,
birch,,displacement,122.9,cm3,2031-02-04,,burette,
car,pump,mass,290,g,2031-02-04,,,
""",
    "parts/operations.csv": """\
operation,role,name,price,price_date,bore [mm],mass [g]
turn,piston,Turn the skirt,20,2031-01-10,-0.02,
hone,piston,Hone to the next size,35,2031-01-10,0.05,
polish,piston,Polish,10,2031-01-10,,-2
""",
    "parts/service_steps.csv": "part,step,operation\nP-54,1,hone\nP-54,2,hone\n",
}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The scenario; on amber the piston has been honed once."""
    path = tmp_path / "scenario"
    shutil.copytree(BASE, path)
    for name, text in MORE.items():
        before = (path / name).read_text("utf-8") if (path / name).exists() else ""
        (path / name).write_text(before + text, "utf-8")
    rows = list(csv.reader((path / "build.csv").read_text("utf-8").splitlines()))
    write_rows(
        path / "build.csv", [[*row, "operations" if n == 0 else "turn" * (n == 1)] for n, row in enumerate(rows)]
    )
    rows = list(csv.reader((path / "garage.csv").read_text("utf-8").splitlines()))
    write_rows(path / "garage.csv", [[*row, "step" if n == 0 else "1" * (n == 1)] for n, row in enumerate(rows)])
    return path


def write_rows(path: Path, rows: list[list[str]]) -> None:
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows(rows)
    path.write_text(out.getvalue(), "utf-8")


def read(folder: Path, *sets: str) -> Scenario:
    scenario, problems = read_scenario(folder, sets)
    assert problems == ()
    assert scenario is not None
    return scenario


def value_of(scenario: Scenario, name: str, unit: str, engine: str = "") -> float:
    figure = scenario.figures(scenario.built(engine)).named(name)
    assert figure.value is not None
    return figure.value.to(unit)


def run(*words: str) -> tuple[int, str, str]:
    out, err = io.StringIO(), io.StringIO()
    with redirect_stdout(out), redirect_stderr(err), pytest.raises(SystemExit) as end:
        app(list(words), prog_name="costplan")
    assert isinstance(end.value.code, int)
    return end.value.code, out.getvalue(), err.getvalue()


def answer(*words: str) -> Any:
    status, out, err = run(*words, "--json")
    assert status in (0, 1), err
    return json.loads(out)


def test_plan_and_engines_have_their_own_values(folder: Path) -> None:
    scenario = read(folder)
    # planned: turned from 53.9; birch the same, without steps; amber as measured
    assert value_of(scenario, "piston.bore", "mm") == approx(53.88)
    assert value_of(scenario, "piston.bore", "mm", "birch") == approx(53.88)
    assert value_of(scenario, "piston.bore", "mm", "amber") == approx(53.97)
    assert value_of(scenario, "displacement", "cm3", "birch") == approx(122.9)


def test_without_the_bench_the_engine_has_its_service_step(folder: Path) -> None:
    (folder / "bench.csv").unlink()
    assert value_of(read(folder), "piston.bore", "mm", "amber") == approx(53.9 - 0.02 + 0.05)
    assert value_of(read(folder, "garage/piston one/step=2"), "piston.bore", "mm", "amber") == approx(53.98)


def test_what_was_measured_on_the_car_counts_for_each_engine_and_not_for_the_plan(folder: Path) -> None:
    scenario = read(folder)
    assert [value_of(scenario, "pump.mass", "g", engine) for engine in ("", "amber", "birch")] == [300, 290, 290]


def test_the_same_fits_are_answered_for_plan_and_engine(folder: Path) -> None:
    scenario = read(folder)
    found = {
        engine: {one.fit: one.verdict for one in scenario.fits(scenario.built(engine))}
        for engine in ("", "amber", "birch")
    }
    bore, springs, colour = "bore within the book", "two springs", "spring of the piston's colour"
    assert found == {
        "": {bore: "meets", springs: "meets", colour: "meets"},
        "amber": {bore: "breaks", springs: "meets", colour: "breaks"},
        "birch": {bore: "meets", springs: "meets", colour: "cannot be shown"},
    }


def test_check_shows_the_fits_that_do_not_meet_before_the_books(folder: Path) -> None:
    status, out, _ = run("check", str(folder), "--engine", "amber")
    assert status == 1
    assert "Fits: 1 meets, 2 break\n" in out
    assert out.index("Fits:") < out.index("Lantern Cup rules")
    assert "two springs" not in out
    assert "what the book's gauge" in out
    assert "Engine amber as it stands: 1 service step done, 3 values from the bench." in " ".join(out.split())


def test_check_of_a_plan_whose_fits_all_meet_only_counts_them(folder: Path) -> None:
    status, out, _ = run("check", str(folder))
    assert status == 0
    assert "Fits: 3 meet\n" in out
    assert "two springs" not in out
    assert "as it stands" not in out


def test_a_broken_fit_alone_gives_status_1(folder: Path) -> None:
    what_if = ("--set", "pattern/fit/2/that=3")
    found = answer("check", str(folder), *what_if)
    assert run("check", str(folder), *what_if)[0] == 1
    assert [one["verdict"] for one in found["fits"]] == ["meets", "breaks", "meets"]
    assert "breaks" not in [one["verdict"] for pack in found["packs"] for one in pack["findings"]]


def test_all_fits_are_in_json_with_both_values(folder: Path) -> None:
    found = answer("check", str(folder), "--engine", "amber")
    assert found["engine"] == "amber"
    fit = found["fits"][0]
    assert (fit["verdict"], fit["value"], fit["other"]) == (
        "breaks",
        {"value": 53.97, "unit": "mm"},
        {"value": 54.0, "unit": "mm"},
    )
    assert fit["margin"]["value"] == approx(-0.02)
    assert "measured 53.97 mm on 2031-02-03 by A. Builder with bore gauge" in fit["why"][0]


def test_bom_shows_what_was_measured(folder: Path) -> None:
    status, out, _ = run("bom", str(folder), "--engine", "birch")
    words = " ".join(out.split())
    assert status == 0
    assert "displacement measured 122.9 cm3 on 2031-02-04 with burette" in words
    assert "From catalog figures unless measured." in words
    found = answer("bom", str(folder), "--engine", "birch")
    assert [one["name"] for one in found["bench"]] == ["displacement", "pump.mass"]


def test_a_bill_has_the_planned_operations_and_not_the_steps_of_an_engine(folder: Path) -> None:
    for engine in ("", "amber"):
        lines = answer("bom", str(folder), *(("--engine", engine) if engine else ()))["bill"]["lines"]
        assert [line["part"] for line in lines if line["kind"] == "operation"] == ["turn"]


def limit_of(folder: Path, of: str, most: str) -> tuple[int, str, str]:
    return run("check", str(folder), "--set", f"rules-cup/rule/R3/of={of}", "--set", f"rules-cup/rule/R3/max={most}")


@pytest.mark.parametrize(
    ("of", "most", "status"),
    [("count.spring", "2", 0), ("count.spring", "1", 1), ("count.cover", "0", 0), ("rod_ratio", "2", 0)],
)
def test_a_clause_may_limit_a_count_or_what_is_unknown(of: str, most: str, status: int, folder: Path) -> None:
    assert limit_of(folder, of, most)[0] == status


@pytest.mark.parametrize(
    ("of", "code"),
    [("count.sprig", "RUL003"), ("piston.colour", "RUL003"), ("count", "RUL003"), ("pistol.bore", "RUL002")],
)
def test_a_clause_about_what_there_is_not_is_refused(of: str, code: str, folder: Path) -> None:
    status, _, err = limit_of(folder, of, "2")
    assert (status, err.count(code), err.count("--set 1: R3.of")) == (2, 1, 1)


@pytest.mark.parametrize("command", ["check", "bom"])
def test_an_unknown_engine_is_a_problem(command: str, folder: Path) -> None:
    status, out, err = run(command, str(folder), "--engine", "ambre")
    assert (status, out) == (2, "")
    assert "--engine: REA020 no such engine: 'ambre'; did you mean 'amber'?" in err


@pytest.mark.parametrize("command", ["check", "bom"])
def test_the_simple_form_has_no_engine_to_look_at(command: str, tmp_path: Path) -> None:
    assert run("new", str(tmp_path / "simple"), "--simple")[0] == 0
    status, _, err = run(command, str(tmp_path / "simple"), "--engine", "engine")
    assert status == 2
    assert "REA016" in err


CELLS = ("", "x", "-1", "0", "1e999", "NaN", "=1", "1e12", "1e-12", "car", "piston", "bore", "9999-12-31", "cover.mass")


def spoiled(path: Path) -> list[str]:
    """A table with one cell written over, or a TOML file with one value written over, or without one line."""
    text = path.read_text("utf-8")
    lines = text.splitlines(keepends=True)
    found = ["".join(lines[:n] + lines[n + 1 :]) for n in range(len(lines))]
    if path.suffix == ".toml":
        keys = [n for n, line in enumerate(lines) if " = " in line]
        for n in keys:
            key = lines[n].partition(" = ")[0]
            found += ["".join([*lines[:n], f'{key} = "{cell}"\n', *lines[n + 1 :]]) for cell in CELLS]
        return found
    rows = list(csv.reader(io.StringIO(text)))
    for number, row in enumerate(rows):
        for column in range(len(row)):
            for cell in CELLS:
                changed = [*row[:column], cell, *row[column + 1 :]]
                out = io.StringIO()
                csv.writer(out, lineterminator="\n").writerows([*rows[:number], changed, *rows[number + 1 :]])
                found.append(out.getvalue())
    return found


#: One in so many spoiled files is tried: all with COSTPLAN_FUZZ=1.
ONE_IN = 1 if os.environ.get("COSTPLAN_FUZZ") else 12


@pytest.mark.parametrize("name", ["bench.csv", "pattern.toml", "build.csv", "parts/operations.csv"])
def test_whatever_happens_to_a_file_nothing_is_raised(name: str, folder: Path) -> None:
    path = folder / name
    for number, text in enumerate(spoiled(path)):
        if number % ONE_IN:
            continue
        path.write_text(text, "utf-8")
        scenario, problems = read_scenario(folder)
        assert (scenario is None) == bool(problems), text
        for engine in ("", "amber", "birch") if scenario else ():
            assert scenario is not None
            build = scenario.built(engine)
            scenario.figures(build).all()
            scenario.figures(build).benched()
            scenario.fits(build)
            scenario.verdicts()
