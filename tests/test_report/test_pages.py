"""Pages on a terminal, and answers as data."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Literal

import pytest
from rich.console import Console

from costplan.problems import Grid, Place, Problem
from costplan.quantity import Quantity
from costplan.report.data import problems_to_json, records_to_csv, tame, to_csv, to_json
from costplan.report.tables import Page, Table, day, money, number, plural, quantity, share
from costplan.report.terminal import print_page


def printed(page: Page, width: int = 80, *, colour: bool = False) -> str:
    out = io.StringIO()
    kind: Literal["standard"] | None = "standard" if colour else None
    print_page(page, Console(file=out, width=width, color_system=kind, force_terminal=colour, highlight=False))
    return out.getvalue()


def table(*rows: tuple[str, ...], right: tuple[int, ...] = (1, 2, 3, 4)) -> Page:
    return Page("title", (), (Table("", ("What", "One", "Two", "Three", "Four"), rows, right=right),))


@pytest.mark.parametrize("width", [40, 60, 80, 200])
@pytest.mark.parametrize("digits", [1, 6, 12, 20, 30])
def test_no_digit_of_an_amount_is_ever_cut_off(width: int, digits: int) -> None:
    amounts = [str(column) * digits for column in (1, 2, 3, 4)]
    out = printed(table(("name", *amounts)), width)
    assert [sum(out.count(char) for char in amount[:1]) for amount in amounts] == [digits] * 4
    assert max(len(line) for line in out.splitlines()) <= width
    assert "…" not in out


def test_amounts_that_fit_stay_on_one_line_and_words_give_way() -> None:
    out = printed(table(("words " * 30, *["1,234,567.89"] * 4)))
    assert out.count("1,234,567.89") == 4


def test_a_long_word_is_folded_not_cut() -> None:
    out = printed(Page("x", (), (Table("", ("A", "B"), (("a" * 200, "b" * 100),)),)))
    assert (out.count("a"), out.count("b")) == (200, 100)


def test_what_users_wrote_is_shown_as_written() -> None:
    out = printed(table(("[red]x[/red] :car:", "1", "2", "3", "4")))
    assert "[red]x[/red] :car:" in out


@pytest.mark.parametrize("colour", [False, True])
def test_no_text_steers_the_terminal(colour: bool) -> None:
    bad = "a\x1b]0;x\x07\x9bb"
    page = Page(bad, (bad,), (Table(bad, (bad,), ((bad,),), note=bad),), (bad,))
    out = printed(page, colour=colour)
    assert out.count("a·]0;x··b") == 7
    assert "\x07" not in out
    assert "\x9b" not in out
    assert ("\x1b" in out) == colour


def test_a_table_without_rows_still_has_its_title_and_note() -> None:
    out = printed(Page("page", (), (Table("title", ("A",), (), note="note"),)))
    assert out.splitlines() == ["page", "", "title", "note"]


def test_figures_as_a_reader_wants_them() -> None:
    assert money(Decimal("-1234567.50")) == "-1,234,567.50"
    assert money(Decimal("1500")) == "1,500"
    assert (number(0.0), number(1e9), number(1e-5)) == ("0", "1,000,000,000", "0.00001")
    assert quantity(Quantity(9.9542, "1")) == "9.9542"
    assert (share(0.0), share(0.995), share(1.2)) == ("0%", "100%", "120%")
    assert day(date(2027, 1, 4)) == "04 Jan"
    assert (plural(0, "race"), plural(1, "race")) == ("0 races", "1 race")


@dataclass(frozen=True, slots=True)
class Sample:
    """A record of every kind of field."""

    text: str
    amount: Decimal
    when: date
    size: Quantity | None
    names: tuple[str, ...]
    place: Place
    ratio: float


SAMPLE = Sample("ä", Decimal("1.50"), date(2027, 5, 4), Quantity(3.0, "in"), ("a", "b"), Place("f.csv", 3), 0.5)


def test_a_record_in_json() -> None:
    answer = json.loads(to_json("sample", record=SAMPLE, nothing=None, endless=float("inf")))
    assert answer == {
        "answer": "sample",
        "form": "1.0",
        "record": {
            "text": "ä",
            "amount": "1.50",
            "when": "2027-05-04",
            "size": {"value": 3.0, "unit": "in"},
            "names": ["a", "b"],
            "place": "f.csv:3",
            "ratio": 0.5,
        },
        "nothing": None,
        "endless": None,
    }


def test_a_problem_in_json_has_its_file_and_line_apart() -> None:
    problem = Problem("REA018", Place("f.csv", 7), "price", "-1", "negative:", "give 0 or more")
    assert json.loads(problems_to_json([problem]))["problems"] == [
        {
            "code": "REA018",
            "file": "f.csv",
            "line": 7,
            "cell": None,
            "field": "price",
            "value": "-1",
            "what": "negative:",
            "advice": "give 0 or more",
        }
    ]


def test_a_problem_of_a_workbook_in_json_has_its_cell_too() -> None:
    place = Place("f.xlsx", 7, Grid("Sheet1", "A", {"price": "D"}))
    problem = Problem("REA018", place, "price", "-1", "negative:", "give 0 or more")
    (found,) = json.loads(problems_to_json([problem]))["problems"]
    assert (found["file"], found["line"], found["cell"]) == ("f.xlsx", 7, "Sheet1!D7")


def test_a_record_in_csv_reads_back() -> None:
    rows = list(csv.DictReader(io.StringIO(records_to_csv(Sample, [SAMPLE]))))
    assert rows == [
        {
            "text": "ä",
            "amount": "1.50",
            "when": "2027-05-04",
            "size": "3 in",
            "names": "a | b",
            "place": "f.csv:3",
            "ratio": "0.5",
        }
    ]


@pytest.mark.parametrize("text", ["=1+1", "+1", "-x", "@SUM(A1)", "\t=1", "\r=1"])
def test_a_text_that_a_spreadsheet_would_run_is_quoted(text: str) -> None:
    assert tame(text) == f"'{text}"
    assert tame(f"a{text}") == f"a{text}"


@pytest.mark.parametrize("text", ["-5.61413 in3", "-3", "-1e-05 m/s", "plain"])
def test_a_figure_is_no_formula(text: str) -> None:
    assert tame(text) == text


@pytest.mark.parametrize("text", ["-1+1", "-A1", "-5 in3+A1", "-3\n=1", "--1", "-1 A1:B2"])
def test_what_only_starts_like_a_figure_is_quoted(text: str) -> None:
    assert tame(text) == f"'{text}"


def test_a_negative_amount_stays_a_number() -> None:
    assert to_csv(["a", "b"], [[Decimal("-1.50"), -0.5]]) == "a,b\n-1.50,-0.5\n"


def test_commas_quotes_and_line_breaks_read_back() -> None:
    cells = ['a,"b"', "c\nd", ""]
    assert list(csv.reader(io.StringIO(to_csv(["x", "y", "z"], [cells]))))[1] == cells
