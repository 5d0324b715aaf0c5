"""`costplan impact` as it is typed: its answers in every form, and how it ends."""

from __future__ import annotations

import csv
import io
import shutil
from pathlib import Path

import pytest

from tests.command_line import answer, run

BASE = Path(__file__).parents[1] / "bad_inputs" / "base"
FEW = ("--seasons", "30")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A small cup: eight regulars, three who have three engines, two newcomers; one spring is proposed for all."""
    shutil.copytree(BASE, tmp_path / "cup")
    return tmp_path / "cup"


def test_the_page_says_who_pays_how_it_may_come_and_what_must_be_bought(folder: Path) -> None:
    status, page, error = run("impact", folder, *FEW)
    assert (status, error) == (0, "")
    for heading in ("Who pays for One spring", "What each would do", "How sure", "By when it comes", "Parts put out"):
        assert heading in page
    assert "springs: S-20 -> S-21" in page
    assert "(invented data)" in page
    assert "legal" not in page.lower()
    assert "is safe" not in page.lower()


def test_no_line_is_wider_than_the_terminal(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    _, page, _ = run("impact", folder, *FEW, "--flips", "--why")
    assert max(map(len, page.splitlines())) <= 80
    assert "Which assumption turns One spring about" in page
    assert "Why once" in page
    assert "Why a year" in page


def test_several_changes_stand_side_by_side(folder: Path) -> None:
    shutil.copy(folder / "change-springs.toml", folder / "change-again.toml")
    files = ("--change", "change-springs.toml", "--change", "change-again.toml")
    found = answer("impact", folder, *FEW, *files)["impact"]["changes"]
    assert [one["total"]["over"] for one in found[1:]] == [found[0]["total"]["over"]]
    _, page, _ = run("impact", folder, *FEW, *files)
    assert "The changes side by side" in page
    assert "nothing done" in page


def test_json_holds_the_study_and_csv_a_row_for_each_group(folder: Path) -> None:
    found = answer("impact", folder, *FEW)
    groups = found["impact"]["changes"][0]["groups"]
    assert found["flips"] == []
    lines = [line for one in groups for line in one["lines"]]
    assert {Path(line["place"]).name for line in lines} == {
        "engine.csv:3",
        "engine.csv:4",
        "levels.csv:3",
        "garage.csv:6",
    }
    _, table, _ = run("impact", folder, *FEW, "--csv")
    rows = list(csv.DictReader(io.StringIO(table)))
    assert [(row["group"], row["once"], row["over_years"]) for row in rows] == [
        (one["group"], one["once"], one["over"]["mean"]) for one in groups
    ]


def test_the_sum_above_which_one_loses_can_be_given(folder: Path) -> None:
    losers = [
        answer("impact", folder, *FEW, "--loss", loss)["impact"]["changes"][0]["total"]["losers"]
        for loss in ("0", "9999")
    ]
    assert losers[0] > losers[1] == 0


def test_an_earlier_order_leaves_more_weeks_to_make_parts(folder: Path) -> None:
    there = [
        answer("impact", folder, *FEW, "--on", on)["impact"]["changes"][0]["supply"][0]["there"]
        for on in ("2031-01-01", "2031-03-20")
    ]
    assert there == [12 + 11 * 2, 0]  # 82 days are eleven weeks; six days of lead are too many from 20 March


def test_a_what_if_leads_into_the_files_of_the_study(folder: Path) -> None:
    plain, more = (
        answer("impact", folder, *FEW, *sets)["impact"]
        for sets in ((), ("--set", "field/hill people/entrants=6", "--set", "impact/haircut=50 %"))
    )
    assert more["entrants"] == plain["entrants"] + 3
    assert (plain["study"]["haircut"], more["study"]["haircut"]) == (0.4, 0.5)


def test_seasons_are_the_same_with_the_same_seed_and_others_with_another(folder: Path) -> None:
    first, again, other = (answer("impact", folder, *FEW, "--seed", seed) for seed in ("1", "1", "2"))
    assert first == again
    assert first["impact"]["changes"][0]["total"]["over"] != other["impact"]["changes"][0]["total"]["over"]


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (("--change", "change-nothing.toml"), "IMP005"),
        (("--loss", "-1"), "REA018"),
        (("--loss", "much"), "REA017"),
        (("--on", "tomorrow"), "REA019"),
        (("--set", "fields/hill people/entrants=6"), "REA022"),
    ],
)
def test_what_is_asked_wrongly_is_told(folder: Path, words: tuple[str, ...], code: str) -> None:
    status, page, error = run("impact", folder, *FEW, *words)
    assert (status, page) == (2, "")
    assert code in error


def test_without_a_field_it_says_what_to_write(folder: Path) -> None:
    (folder / "field.csv").unlink()
    (folder / "survey.csv").unlink()
    status, _, error = run("impact", folder, *FEW)
    assert status == 2
    assert "field.csv: REA001" in error


def test_the_simple_form_has_no_parts_to_change(tmp_path: Path) -> None:
    assert run("new", tmp_path / "plain", "--simple")[0] == 0
    (tmp_path / "plain" / "field.csv").write_text("group,entrants\nall,5\n", "utf-8")
    status, _, error = run("impact", tmp_path / "plain", "--change", "change-x.toml")
    assert status == 2
    assert "REA016" in error
