"""Papers: the documents of engines, what may stand on them, and each fault at its place."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from costplan.garage import Paper, check_papers, read_papers
from costplan.problems import Problem
from costplan.reading import parse_settings

Write = Callable[[str, str | bytes], Path]
Seen = list[tuple[str, str, str]]

HEADER = "engine,slot,paper,number,date,by,expires,says,note\n"


def seen(problems: tuple[Problem, ...]) -> Seen:
    return [(p.code, str(p.place).rpartition("/")[2], p.field) for p in problems]


def papers(path: Path, *settings: str) -> tuple[tuple[Paper, ...], Seen]:
    rows, problems = read_papers(path, parse_settings(settings)[0])
    return rows, seen(problems)


def test_without_a_file_there_are_no_papers(tmp_path: Path) -> None:
    assert papers(tmp_path / "papers.csv") == ((), [])


def test_a_folder_in_its_place_is_told(tmp_path: Path) -> None:
    (tmp_path / "papers.csv").mkdir()
    assert papers(tmp_path / "papers.csv") == ((), [("REA002", "papers.csv", "")])


def test_a_paper_with_all_that_may_be_said(write: Write) -> None:
    text = HEADER + "blue,damper,certificate,0417,2027-01-20,Fernhall,2029-01-20,intact,two years\n"
    (row,), problems = papers(write("papers.csv", text))
    assert problems == []
    assert (row.engine, row.slot, row.paper, row.number) == ("blue", "damper", "certificate", "0417")
    assert (row.date, row.by, row.expires) == (date(2027, 1, 20), "Fernhall", date(2029, 1, 20))
    assert (row.says, row.note, row.place.line) == ("intact", "two years", 2)


@pytest.mark.parametrize("cells", ["seal,NA,,,", "receipt,,2027-01-20,,", "leave,,,Series office,", "seal,,,,broken"])
def test_number_day_issuer_or_word_alone_makes_a_paper(write: Write, cells: str) -> None:
    (row,), problems = papers(write("papers.csv", f"paper,number,date,by,says\n{cells}\n"))
    assert (problems, row.engine, row.slot, row.expires) == ([], "", "", None)


def test_a_file_with_semicolons_reads_the_same(write: Write) -> None:
    text = "engine;paper;number;date;says;note\nblue;dyno sheet;12,5;2027-02-03;option B;425,5 at the hub\n"
    (row,), problems = papers(write("papers.csv", text))
    assert problems == []
    assert (row.number, row.date, row.says, row.note) == ("12,5", date(2027, 2, 3), "option B", "425,5 at the hub")


@pytest.mark.parametrize(
    ("row", "problem"),
    [
        ("blue,,seal,1,2027-01-20,,2027-01-19,,", ("PAP001", "papers.csv:2", "expires")),
        ("blue,,seal,,,,,,", ("PAP002", "papers.csv:2", "paper")),
        ("blue,,seal,,,,2027-01-19,,by the door", ("PAP002", "papers.csv:2", "paper")),
        ("blue,,,1,,,,,", ("REA016", "papers.csv:2", "paper")),
        ("blue,,seal,1,20.1.2027,,,,", ("REA019", "papers.csv:2", "date")),
        ("blue,,seal,1,,,2027-02-30,,", ("REA019", "papers.csv:2", "expires")),
    ],
)
def test_a_fault_stands_at_its_cell(write: Write, row: str, problem: tuple[str, str, str]) -> None:
    assert papers(write("papers.csv", f"{HEADER}{row}\n")) == ((), [problem])


def test_a_column_that_nobody_knows_is_told(write: Write) -> None:
    assert papers(write("papers.csv", "paper,number,place\nseal,1,left\n"))[1] == [("REA009", "papers.csv:1", "place")]


def test_a_paper_may_expire_on_its_day(write: Write) -> None:
    text = "paper,date,expires\nleave,2027-01-20,2027-01-20\n"
    assert papers(write("papers.csv", text))[1] == []


def test_a_repeat_is_one_in_all_columns(write: Write) -> None:
    rows = ("blue,,seal,1,,,,,", "blue,,seal,2,,,,,", "red,,seal,1,,,,,", "blue,,seal,1,,,,,front", "blue,,seal,1,,,,,")
    found, problems = papers(write("papers.csv", HEADER + "\n".join(rows)))
    assert len(found) == 5
    assert problems == [("PAP003", "papers.csv:6", "paper")]


def test_a_third_of_a_kind_is_told_too(write: Write) -> None:
    repeats = [("PAP003", "papers.csv:3", "paper"), ("PAP003", "papers.csv:4", "paper")]
    assert papers(write("papers.csv", "paper,number\nseal,1\nseal,1\nseal,1\n"))[1] == repeats


def test_a_setting_writes_a_cell(write: Write) -> None:
    path = write("papers.csv", HEADER + "blue,,certificate,1,2027-01-20,,2028-01-20,,\n")
    (row,), problems = papers(path, "papers/2/expires=2029-06-30")
    assert (row.expires, problems) == (date(2029, 6, 30), [])
    assert papers(path, "papers/2/expires=2026-06-30")[1] == [("PAP001", "--set 1", "expires")]
    assert papers(path, "papers/2/expires=soon")[1] == [("REA019", "--set 1", "expires")]
    assert papers(path, "papers/3/expires=2029-06-30")[1] == [("REA022", "--set 1", "")]


def check(path: Path, engines: tuple[str, ...], slots: tuple[str, ...]) -> Seen:
    rows, problems = read_papers(path)
    assert problems == ()
    return seen(check_papers(rows, engines, slots, "car"))


def test_papers_are_of_the_plan_an_engine_or_the_car(write: Write) -> None:
    text = "engine,slot,paper,number\n,block,receipt,1\nblue,,passport,2\ncar,carburetor,seal,3\n,,declaration,4\n"
    assert check(write("papers.csv", text), ("blue",), ("block", "carburetor")) == []


def test_an_engine_or_slot_that_is_not_there_is_told(write: Write) -> None:
    text = "engine,slot,paper,number\nbleu,blok,receipt,1\nblue,block,receipt,2\n"
    wrong = [("PAP004", "papers.csv:2", "engine"), ("BLD001", "papers.csv:2", "slot")]
    assert check(write("papers.csv", text), ("blue",), ("block",)) == wrong
    assert check(write("papers.csv", text), ("blue",), ()) == [*wrong, ("BLD001", "papers.csv:3", "slot")]
