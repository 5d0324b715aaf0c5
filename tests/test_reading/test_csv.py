"""CSV: text with the place of every cell, whatever a spreadsheet made of it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from decimal import Decimal
from pathlib import Path
from typing import ClassVar

import pytest
from pydantic import Field

from costplan.problems import Problem
from costplan.reading import Record, read_records, read_table
from costplan.reading.fields import Length, Money, Name

Write = Callable[[str, str | bytes], Path]


class Thing(Record):
    KEY: ClassVar[str] = "name"
    name: Name = Field(description="its name")
    price: Money = Field(default=Decimal(0), description="its price")
    length: Length | None = Field(default=None, description="its length")


def seen(problems: Iterable[Problem]) -> list[tuple[str, int | None, str]]:
    return [(problem.code, problem.place.line, problem.field) for problem in problems]


def read(path: Path) -> tuple[list[tuple[str, Decimal]], list[tuple[str, int | None, str]]]:
    """Names and prices of the things in a file, and the problems of file, header and cells."""
    table, faults = read_table(path, "things")
    if table is None:
        return [], seen(faults)
    things, more = read_records(table, Thing)
    return [(thing.name, thing.price) for thing in things], seen((*faults, *more))


@pytest.mark.parametrize(
    "content",
    [
        b"name,price\nrod,12.5\n",
        b"\xef\xbb\xbfname,price\nrod,12.5\n",
        b"name,price\r\nrod,12.5\r\n",
        b"name,price\rrod,12.5\r",
        b"name,price\nrod,12.5",
        b"name;price\nrod;12,5\n",
        b"name\tprice\nrod\t12.5\n",
        b'"name","price"\n"rod","12.5"\n',
        b" name , price \n rod , 12.5 \n",
        b"name,price,,\nrod,12.5,,\n,,,\n",
        b"price,name\n12.5,rod\n",
        b"sep=;\r\nname;price\r\nrod;12,5\r\n",
    ],
    ids=[
        "plain",
        "BOM",
        "CRLF",
        "CR",
        "no last line end",
        "semicolon",
        "tab",
        "quotes",
        "blanks",
        "empty tail",
        "order",
        "delimiter told",
    ],
)
def test_one_table_in_many_dresses(write: Write, content: bytes) -> None:
    assert read(write("things.csv", content)) == ([("rod", Decimal("12.5"))], [])


def test_a_delimiter_inside_quotes_of_the_header_does_not_count(write: Write) -> None:
    table, _ = read_table(write("things.csv", 'name;"a, b, c";price\nrod;;1\n'), "things")
    assert table is not None
    assert (table.header, table.decimal_comma) == (("name", "a, b, c", "price"), True)


@pytest.mark.parametrize("word", ["NA", "NaN", "null", "None", "nan", "N/A", "007", "1e5", "TRUE"])
def test_a_part_called_na_stays_na(write: Write, word: str) -> None:
    assert read(write("things.csv", f"name,price\n{word},1\n")) == ([(word, Decimal(1))], [])


def test_line_numbers_are_right_behind_quoted_line_breaks(write: Write) -> None:
    path = write("things.csv", 'name,price\n"of\nthree\nlines",1\nrod,-1\n')
    assert read(path) == ([("of three lines", Decimal(1))], [("REA018", 5, "price")])


def test_a_first_line_that_tells_the_delimiter_counts_as_a_line(write: Write) -> None:
    assert read(write("things.csv", "sep=,\nname,price\nrod,x\n"))[1] == [("REA017", 3, "price")]


def test_line_numbers_are_right_behind_blank_lines(write: Write) -> None:
    path = write("things.csv", "\nname,price\n\n,\nrod,-1\n")
    assert read(path)[1] == [("REA018", 5, "price")]


def test_a_header_below_blank_lines_is_placed_there(write: Write) -> None:
    assert read(write("things.csv", "\n\nprice,colour\n1,red\n"))[1] == [("REA009", 3, "colour"), ("REA008", 3, "name")]


def test_a_problem_names_the_file_as_it_was_given(write: Write) -> None:
    path = write("sub/things.csv", "name,price\nrod,-1\n")
    table, _ = read_table(path.parent / ".." / "sub" / "things.csv", "things")
    assert table is not None
    assert str(read_records(table, Thing)[1][0].place) == f"{path}:2"


def test_a_cell_of_ten_megabytes_is_refused_alone(write: Write) -> None:
    path = write("things.csv", f"name,price\n{'a' * 10_000_000},1\nrod,2\n")
    things, problems = read(path)
    assert things == [("rod", Decimal(2))]
    assert ("REA011", 2, "name") in problems


def test_a_cell_of_the_longest_length_is_read(write: Write) -> None:
    assert read(write("things.csv", f"name\n{'a' * 32_767}\n"))[1] == []
    assert read(write("things.csv", f"name\n{'a' * 32_768}\n"))[1][0] == ("REA011", 2, "name")


def test_a_formula_is_refused(write: Write) -> None:
    assert read(write("things.csv", "name,price\nrod,=A1*2\n"))[1] == [("REA012", 2, "price")]


def test_a_quote_left_open_is_placed_where_it_opens(write: Write) -> None:
    things, problems = read(write("things.csv", 'name,price\nrod,1\n"pin,2\nring,3\n'))
    assert (things, problems) == ([("rod", Decimal(1))], [("REA006", 3, "")])


@pytest.mark.parametrize(
    ("content", "problem"),
    [
        ("name,price,price\nrod,1,2\n", ("REA007", 1, "price")),
        ("name,length [mm],length [in]\nrod,1,\n", ("REA007", 1, "length [in]")),
        ("name,colour\nrod,red\n", ("REA009", 1, "colour")),
        ("name,\nrod,red\n", ("REA009", 1, "")),
        ("price\n1\n", ("REA008", 1, "name")),
        ("name,price\nrod,1,2\n", ("REA010", 2, "")),
        ("name,price\nrod,1,234\n", ("REA010", 2, "")),
        ("name,price\n,1\n", ("REA016", 2, "name")),
        ("name,price\nrod,1\nrod,2\n", ("REA023", 3, "name")),
    ],
)
def test_a_fault_of_the_table_is_placed(write: Write, content: str, problem: tuple[str, int, str]) -> None:
    assert read(write("things.csv", content))[1] == [problem]


@pytest.mark.parametrize(
    ("content", "problem"),
    [
        (b"", ("REA003", None, "")),
        (b"\xef\xbb\xbf", ("REA003", None, "")),
        (b" \n\n", ("REA003", None, "")),
        ("name\nrod\n".encode("utf-16"), ("REA005", None, "")),
        ("name\nrod\n".encode("utf-16-le"), ("REA004", None, "")),
        ("name\nrod\nK\u00f6lbchen\n".encode("latin-1"), ("REA005", 3, "")),
        (b"name\nro\0d\n", ("REA004", None, "")),
    ],
    ids=["empty", "BOM only", "blank", "UTF-16", "UTF-16 without BOM", "latin-1", "NUL"],
)
def test_what_is_not_a_table_is_refused(write: Write, content: bytes, problem: tuple[str, int | None, str]) -> None:
    assert read(write("things.csv", content)) == ([], [problem])


def test_a_folder_where_a_file_should_be(tmp_path: Path) -> None:
    assert read(tmp_path)[1] == [("REA002", None, "")]


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    assert read(tmp_path / "things.csv")[1] == [("REA001", None, "")]


def test_a_file_below_a_file(write: Write) -> None:
    assert read(write("things.csv", "name\n") / "more.csv")[1] == [("REA002", None, "")]
