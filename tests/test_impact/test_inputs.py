"""What is wrong with the files of a study: each with its file, line, column and code."""

from __future__ import annotations

from pathlib import Path

import pytest

from costplan.impact.reading import read_field
from costplan.problems import Problem
from tests.test_impact.small_field import FILES, change, written

FIELD = "group,entrants,{0}\nfirst,1,{1}\n"
SURVEY = "group,asks,low,likely,high\n"
SUPPLY = "part,ready,rise_low,rise,rise_high\n"


def faults(folder: Path, *names: str, **files: str) -> list[tuple[str, int, str, str]]:
    """Each problem as file, line, column and code; one at least, and then no field."""
    field, problems = read_field(written(folder, **files), names)
    assert field is None
    assert problems
    return [told(one) for one in problems]


def told(one: Problem) -> tuple[str, int, str, str]:
    return Path(one.place.file).name, one.place.line or 0, one.field, one.code


@pytest.mark.parametrize(
    ("columns", "cells", "field", "code"),
    [
        ("age_low,age_high", "0.5,", "age_high", "IMP001"),
        ("age_low,age_high", ",0.5", "age_low", "IMP001"),
        ("age_low,age_high", "0.5,0.4", "age_high", "IMP001"),
        ("joins,age_low,age_high", "yes,0.1,0.4", "age_low", "IMP001"),
        ("age_low,age_high", "0.5,1.5", "age_high", "REA018"),
        ("parts", "springs=", "parts", "REA017"),
        ("parts", "springs", "parts", "REA017"),
        ("parts", "springs=SP-A springs=SP-B", "parts", "REA023"),
        ("parts", "spring=SP-B", "parts", "BLD001"),
        ("parts", "springs=SP-X", "parts", "BLD002"),
        ("parts", "springs=CAM-B", "parts", "BLD003"),
        ("variant", "three engines", "variant", "REA020"),
        ("budget", "-5", "budget", "REA018"),
    ],
)
def test_a_row_of_the_field(tmp_path: Path, columns: str, cells: str, field: str, code: str) -> None:
    assert faults(tmp_path, field=FIELD.format(columns, cells)) == [("field.csv", 2, field, code)]


@pytest.mark.parametrize(
    ("row", "field", "code"),
    [
        ("locals,age,0.5,0.4,0.6", "likely", "IMP002"),
        ("locals,budget,100,200,150", "likely", "IMP002"),
        ("local,age,0.1,0.2,0.3", "group", "IMP004"),
        ("locals,age,0.1,0.2,1.3", "high", "REA018"),
        ("locals,entrants,1,2.5,3", "likely", "REA017"),
        ("locals,entrants,0,0,3", "likely", "REA018"),
        ("locals,ages,0.1,0.2,0.3", "asks", "REA020"),
        ("locals,budget,-1,2,3", "low", "REA018"),
        ("locals,budget,nan,2,3", "low", "REA018"),
    ],
)
def test_a_row_of_the_survey(tmp_path: Path, row: str, field: str, code: str) -> None:
    assert faults(tmp_path, survey=f"{SURVEY}{row}\n") == [("survey.csv", 2, field, code)]


def test_a_second_answer_to_one_question(tmp_path: Path) -> None:
    rows = "locals,budget,1,2,3\nlocals,entrants,1,2,3\nlocals,budget,1,2,4\n"
    assert faults(tmp_path, survey=SURVEY + rows) == [("survey.csv", 4, "asks", "REA023")]


def test_ages_of_newcomers_in_a_survey(tmp_path: Path) -> None:
    found = faults(tmp_path, field=FIELD.format("joins", "yes"), survey=SURVEY + "first,age,0.1,0.2,0.3\n")
    assert found == [("survey.csv", 2, "asks", "IMP001")]


@pytest.mark.parametrize(
    ("row", "field", "code"),
    [
        ("SP-X,1,,,", "part", "IMP003"),
        ("SP-B,1,0.3,0.2,0.4", "rise", "IMP002"),
        ("SP-B,1,,0.2,0.1", "rise", "IMP002"),
        ("SP-B,1.5,,,", "ready", "REA017"),
        ("SP-B,1,,11,", "rise", "REA018"),
    ],
)
def test_a_row_of_the_supply(tmp_path: Path, row: str, field: str, code: str) -> None:
    assert faults(tmp_path, supply=f"{SUPPLY}{row}\n") == [("supply.csv", 2, field, code)]


@pytest.mark.parametrize(
    ("line", "field", "code"),
    [
        ("haircut_low = 0.5", "haircut", "IMP002"),
        ("haircut_high = 0.3", "haircut", "IMP002"),
        ("years = 1", "years", "REA018"),
        ("years = 16", "years", "REA018"),
        ("discount = 1", "discount", "REA018"),
        ("correlation = 1.5", "correlation", "REA018"),
        ("cars_inspected = 0", "cars_inspected", "REA018"),
    ],
)
def test_a_key_of_the_study(tmp_path: Path, line: str, field: str, code: str) -> None:
    text = f'changes = ["change-springs.toml"]\nhaircut = 0.4\n{line}\n'
    ((file, _, key, found),) = faults(tmp_path, impact=text)
    assert (file, key, found) == ("impact.toml", field, code)


def test_a_value_at_its_line(tmp_path: Path) -> None:
    ((_, line, _, _),) = faults(tmp_path, impact='changes = ["change-springs.toml"]\nyears = 1\n')
    assert line == 2


def test_changes_that_are_not_there(tmp_path: Path) -> None:
    found = faults(tmp_path, impact='years = 4\nchanges = ["change-springs.toml", "change-spring.toml"]\n')
    assert found == [("impact.toml", 2, "changes.2", "IMP005")]
    ((file, _, field, code),) = faults(tmp_path, "change-springs.toml", "change-wrong.toml")
    assert (file, field, code) == ("--change 2", "", "IMP005")


def test_no_change_at_all(tmp_path: Path) -> None:
    ((file, _, field, code),) = faults(tmp_path, impact="years = 4\n")
    assert (file, field, code) == ("impact.toml", "changes", "REA016")


def test_no_field(tmp_path: Path) -> None:
    written(tmp_path)
    (tmp_path / "field.csv").unlink()
    _, problems = read_field(tmp_path)
    assert [told(one)[0::3] for one in problems] == [("field.csv", "REA001")]
    assert [one[0::3] for one in faults(tmp_path, field="group,entrants\n")] == [("field.csv", "REA016")]


def test_a_group_twice(tmp_path: Path) -> None:
    found = faults(tmp_path, field="group,entrants\nfirst,1\nfirst,2\n")
    assert found == [("field.csv", 3, "group", "REA023")]


def test_all_problems_are_told_at_once(tmp_path: Path) -> None:
    found = faults(
        tmp_path,
        field=FIELD.format("age_low,age_high", "0.5,"),
        supply=SUPPLY + "SP-X,1,,,\n",
        impact='changes = ["change-wrong.toml"]\n',
    )
    assert {code for *_, code in found} == {"IMP001", "IMP003", "IMP005"}


def test_a_change_that_does_not_suit_its_book(tmp_path: Path) -> None:
    text = change("x", '[[replace]]\nid = "valves"\nkind = "parts"\nsays = "x"\nslot = "cam"\nallowed = "CAM-A"\n')
    found = faults(tmp_path, change_springs=text)
    assert [(file, code[:3]) for file, _, _, code in found] == [("change-springs.toml", "RUL")]


def test_a_calendar_that_is_not_there(tmp_path: Path) -> None:
    ((file, _, _, code),) = faults(tmp_path, field=FIELD.format("calendar", "calendar-x.csv"))
    assert (file, code) == ("calendar-x.csv", "REA001")


def test_a_folder_without_an_engine(tmp_path: Path) -> None:
    lines = [line for line in FILES["scenario.toml"].splitlines() if not line.startswith(("build", "pattern", "rules"))]
    field, problems = read_field(written(tmp_path, scenario="\n".join(lines) + "\n"))
    assert field is None
    assert problems
