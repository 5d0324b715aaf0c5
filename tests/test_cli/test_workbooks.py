"""`--xlsx FILE`: one workbook beside the answer, whole or not at all, over no file; for the customer without cost."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import pytest
from openpyxl import load_workbook

from tests.command_line import run
from tests.workbooks import texts

BASE = Path(__file__).parents[1] / "bad_inputs" / "base"
COMMANDS = {
    "season": ("season", "cup", "--on", "2027-05-01"),
    "impact": ("impact", "cup", "--seasons", "10"),
    "price": ("quote", "price", "cup", "new"),
    "show": ("quote", "show", "cup", "new"),
}
EVERY = pytest.mark.parametrize("name", COMMANDS)


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The small cup in a folder of its own, with a saved quote."""
    shutil.copytree(BASE, tmp_path / "cup")
    monkeypatch.chdir(tmp_path)
    assert run("quote", "save", "cup", "new", "--reason", "as asked")[0] == 0
    return tmp_path


@EVERY
def test_a_workbook_is_written_beside_the_page(name: str, folder: Path) -> None:
    status, page, error = run(*COMMANDS[name], "--xlsx", "book.xlsx")
    assert (status, error) == (0, "Written: book.xlsx\n")
    assert page == run(*COMMANDS[name])[1]
    book = load_workbook(folder / "book.xlsx", data_only=True)
    assert len(book.sheetnames) > 1
    assert any("invented" in text for text in texts(book))


@EVERY
@pytest.mark.parametrize(
    ("file", "words"),
    [
        ("there.xlsx", "there.xlsx is there already; give a new name, nothing was written"),
        ("no/book.xlsx", "no/book.xlsx cannot be written: no such folder; give another name"),
    ],
)
def test_what_is_in_its_way_is_said_before_any_work(name: str, file: str, words: str, folder: Path) -> None:
    (folder / "there.xlsx").write_bytes(b"mine")
    status, page, error = run(*COMMANDS[name], "--xlsx", file)
    assert (status, page, error) == (2, "", f"{words}\n")
    assert (folder / "there.xlsx").read_bytes() == b"mine"


@EVERY
def test_a_name_that_no_spreadsheet_opens_is_refused(name: str, folder: Path) -> None:
    status, page, error = run(*COMMANDS[name], "--xlsx", "book.csv")
    assert (status, page) == (2, "")
    assert error.startswith("--xlsx: REA020")
    assert "'book.csv'" in error
    assert not (folder / "book.csv").exists()
    told = json.loads(run(*COMMANDS[name], "--xlsx", "-", "--json")[1])
    assert [problem["code"] for problem in told["problems"]] == ["REA020"]


def test_json_stays_json_and_csv_stays_csv(folder: Path) -> None:
    status, out, error = run(*COMMANDS["season"], "--json", "--xlsx", "a.xlsx")
    assert (status, error, json.loads(out)["answer"]) == (0, "Written: a.xlsx\n", "season")
    assert run(*COMMANDS["season"], "--csv", "--xlsx", "b.xlsx")[1].startswith("view,date")
    assert (folder / "a.xlsx").read_bytes() == (folder / "b.xlsx").read_bytes()


@pytest.mark.parametrize("name", ["price", "show"])
def test_the_customers_workbook_knows_no_cost(name: str, folder: Path) -> None:
    assert run(*COMMANDS[name], "--customer", "--xlsx", "customer.xlsx")[0] == 0
    assert run(*COMMANDS[name], "--xlsx", "shop.xlsx")[0] == 0
    words = {file: " ".join(texts((folder / file).read_bytes())) for file in ("customer.xlsx", "shop.xlsx")}
    assert re.search(r"\bcost\b|margin", words["shop.xlsx"], re.IGNORECASE)
    assert not re.search(r"\bcost\b|margin|mark-?up", words["customer.xlsx"], re.IGNORECASE)


def test_bad_input_writes_nothing(folder: Path) -> None:
    (folder / "cup/calendar.csv").write_text("event,date\nx,never\n")
    assert run("season", "cup", "--xlsx", "book.xlsx")[0] == 2
    assert not (folder / "book.xlsx").exists()
