"""The demos with a workbook in the place of each CSV file: the same answers, and nothing written into one."""

from __future__ import annotations

import csv
import re
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from costplan.catalog import read_catalogs
from tests.command_line import run
from tests.workbooks.written import to_workbooks, write_book

ASKED = (
    ("season", "scenarios/oval-v8", "--on", "2027-06-30", "--csv"),
    ("season", "scenarios/kart-single", "--csv"),
    ("quote", "price", "scenarios/oval-v8", "freshen-blue", "--on", "2027-01-05", "--csv"),
)
LIST = "catalogs/oval-v8/tevrosk-preisliste.csv"


@pytest.fixture(scope="module")
def before(work: Path) -> list[str]:
    """What the demos answer as they are; then they are workbooks."""
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(work)
        answers = [told(*words) for words in ASKED]
        assert to_workbooks(work, leave=[Path(LIST).name]) > 40
        return answers


@pytest.fixture
def demos(before: list[str], work: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    assert before
    monkeypatch.chdir(work)
    return work


def told(*words: str) -> str:
    """An answer in which the places of rows are those of CSV, and numbers without the zeros that only CSV keeps."""
    status, out, err = run(*words)
    assert (status, err) == (0, "")
    return re.sub(r"(\.\d*?)0+\b", r"\1", re.sub(r"\.xlsx: Sheet1!A(?=\d)", ".csv:", out))


def test_the_demos_answer_alike_from_workbooks(before: list[str], demos: Path) -> None:
    assert not list(demos.glob("scenarios/*/*.csv"))
    assert [told(*words) for words in ASKED] == before
    assert "Sheet1!A" in run(*ASKED[0])[1]


def german(text: str) -> Any:
    """What a spreadsheet that counts in German makes of a cell: 1.070,00 € is a number, 15.01.2027 a day."""
    number = re.fullmatch(r"(-?[\d.]*\d(?:,\d+)?)( €)?", text)
    if re.fullmatch(r"\d\d\.\d\d\.\d{4}", text):
        return datetime.strptime(f"{text} +0000", "%d.%m.%Y %z").date()
    return float(number[1].replace(".", "").replace(",", ".")) if number else text or None


def test_a_suppliers_own_sheet_may_be_a_workbook_and_its_numbers_are_numbers(demos: Path) -> None:
    folder, sheet = demos / "catalogs/oval-v8", demos / LIST
    asked, problems = read_catalogs([folder])
    assert problems == ()
    with sheet.open(encoding="windows-1252", newline="") as lines:
        rows = [[german(text) for text in row] for row in csv.reader(lines, delimiter=";")]
    sheet.rename(sheet.with_suffix(".bak"))
    write_book(sheet.with_suffix(".xlsx"), ("Preise", rows))
    found, problems = read_catalogs([folder])
    assert [str(problem) for problem in problems] == []
    assert found.parts.keys() == asked.parts.keys()
    for name, part in found.parts.items():
        assert part.model_copy(update={"place": asked.parts[name].place}) == asked.parts[name]
    places = {part.place.at("price_date") for part in found.parts.values() if part.supplier == "Tevrosk"}
    assert str(sheet.with_suffix(".xlsx")) + ": Preise!F7" in places
    sheet.with_suffix(".xlsx").unlink()
    sheet.with_suffix(".bak").rename(sheet)


def test_problems_name_cells_in_words_and_as_data(demos: Path) -> None:
    catalog, sheet = demos / "catalogs/kart-single", demos / "catalogs/kart-single/extra.xlsx"
    write_book(sheet, ("Sheet1", [["part", "role", "supplier", "price", "price_date"], ["X", "piston", "S", "dear"]]))
    status, out, err = run("catalog", "list", catalog, "--json")
    sheet.unlink()
    assert status == 2
    assert f"{sheet}: Sheet1!D2: price: REA017 " in err
    assert '"cell": "Sheet1!D2"' in out


def test_what_ifs_reach_rows_of_workbooks(demos: Path) -> None:
    usual = told("season", "scenarios/kart-single")
    event = "calendar/3/purse=900" if demos else ""
    assert told("season", "scenarios/kart-single", "--set", event) != usual


@pytest.mark.parametrize(
    ("words", "name"),
    [
        (("log", "add", "scenarios/kart-single", "paid", "--line", "oil", "--amount", "5"), "kart-single/log"),
        (("job", "add", "scenarios/oval-v8", "received", "--job", "freshen-blue"), "oval-v8/jobs"),
        (("job", "hours", "scenarios/oval-v8", "--out", "new.csv"), "oval-v8/work"),
    ],
    ids=lambda given: given if isinstance(given, str) else " ".join(given[:2]),
)
def test_nothing_is_written_behind_a_workbook(demos: Path, words: tuple[str, ...], name: str) -> None:
    files = {path: path.read_bytes() for path in demos.rglob("*") if path.is_file()}
    status, out, err = run(*words)
    assert (status, out) == (2, "")
    assert f"{name}.xlsx is no CSV file" in err
    assert {path: path.read_bytes() for path in demos.rglob("*") if path.is_file()} == files


def test_nothing_is_written_into_a_table_that_is_there_twice(demos: Path) -> None:
    twin = demos / "scenarios/kart-single/log.csv"
    twin.write_text("date,what,engine\n", encoding="utf-8")
    status, _, err = run("log", "add", "scenarios/kart-single", "paid", "--line", "oil", "--amount", "5")
    again = run("season", "scenarios/kart-single")
    assert (status, twin.read_text(encoding="utf-8")) == (2, "date,what,engine\n")
    assert "log.xlsx is no CSV file" in err
    twin.unlink()
    assert (again[0], "log.csv: REA025" in again[2]) == (2, True)
