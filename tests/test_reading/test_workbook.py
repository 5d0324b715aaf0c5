"""Workbooks in the place of CSV: cells as text, their places as spreadsheets name them, and files that are none."""

from __future__ import annotations

import random
import zipfile
from collections.abc import Callable, Iterable
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from functools import partial
from pathlib import Path
from typing import Any, ClassVar

import openpyxl
import pytest
import xlsxwriter
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import Field

from costplan.problems import Problem
from costplan.reading import (
    Layout,
    Record,
    View,
    parse_settings,
    read_records,
    read_sheet,
    read_table,
    tables_in,
    to_table,
)
from costplan.reading.fields import Day, Money, Name, Share, Text, YesNo
from costplan.reading.opening import Cell
from costplan.reading.workbook import text_of
from tests.workbooks.written import write_book

#: A moment as workbooks hold it, which know of no zones.
at = partial(datetime, tzinfo=None)
HEADER = ["name", "price", "day", "spare", "share", "note"]


class Thing(Record):
    KEY: ClassVar[str] = "name"
    name: Name = Field(description="its name")
    price: Money = Field(default=Decimal(0), description="its price")
    day: Day | None = Field(default=None, description="its day")
    spare: YesNo = Field(default=False, description="whether it is a spare")
    share: Share = Field(default=0.5, description="a share")
    note: Text = Field(default="", description="a note")


def read(path: Path, *sets: str) -> tuple[list[Thing], list[str]]:
    """The things in a file, and each problem of file, header and cells as its place and code."""
    table, faults = read_table(path, "things")
    if table is None:
        return [], seen(faults)
    things, more = read_records(table, Thing, parse_settings(sets)[0])
    return list(things), seen((*faults, *more))


def seen(problems: Iterable[Problem]) -> list[str]:
    """Each problem as `Sheet1!C7 day REA019`: the words are free."""
    found = []
    for problem in problems:
        assert problem.what, problem
        assert problem.advice, problem
        where = problem.place.at(problem.field).rpartition("/")[2]
        assert str(problem).startswith(problem.place.at(problem.field))
        found.append(f"{where.rpartition(': ')[2]} {problem.field} {problem.code}".replace("  ", " "))
    return found


def book(folder: Path, *rows: list[Any], header: list[Any] = HEADER) -> Path:
    """A workbook `things.xlsx` with one sheet of these rows; the CSV file in whose place it stands."""
    write_book(folder / "things.xlsx", ("Sheet1", [header, *rows]))
    return folder / "things.csv"


def edited(folder: Path, change: Callable[[Any], None], *rows: list[Any]) -> Path:
    """Such a workbook, its sheet changed by openpyxl."""
    path = book(folder, *rows).with_suffix(".xlsx")
    whole = openpyxl.load_workbook(path)
    change(whole.active)
    whole.save(path)
    return folder / "things.csv"


def with_part(path: Path, name: str, content: bytes) -> None:
    """Writes one part of a workbook anew."""
    with zipfile.ZipFile(path) as archive:
        parts = {part: archive.read(part) for part in archive.namelist()}
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for part, before in {**parts, name: content}.items():
            archive.writestr(part, content if part == name else before)


SHEET_PART = "xl/worksheets/sheet1.xml"


def sheet_xml(rows: str, head: str = "", tail: str = "") -> bytes:
    space = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    return f'<worksheet xmlns="{space}">{head}<sheetData>{rows}</sheetData>{tail}</worksheet>'.encode()


def inline(cell: str, text: str) -> str:
    return f'<c r="{cell}" t="inlineStr"><is><t>{text}</t></is></c>'


# --- what a cell holds ------------------------------------------------------------------------------------------------


def test_cells_are_what_the_file_holds(tmp_path: Path) -> None:
    path = book(tmp_path, ["rod", 0.1, date(2027, 5, 14), True, 0.05, 12], [7, 12.0, at(2027, 5, 15), False])
    first, second = read(path)[0]
    assert (first.name, first.price, first.day, first.spare) == ("rod", Decimal("0.1"), date(2027, 5, 14), True)
    assert (first.share, first.note) == (0.05, "12")
    assert (second.name, second.price, second.day, second.spare) == ("7", Decimal(12), date(2027, 5, 15), False)
    assert read(path)[1] == []


@pytest.mark.parametrize(
    ("value", "form", "text"),
    [
        (12, "General", "12"),
        (12.0, "General", "12"),
        (1234.5, "#,##0.00 [$EUR]", "1234.5"),
        (0.1 + 0.2, "General", "0.3"),
        (1.1 * 3, "0.00", "3.3"),
        (-0.0, "General", "0"),
        (1e21, "General", "1000000000000000000000"),
        (1.5e-7, "0.00E+00", "0.00000015"),
        (0.05, "0%", "5 %"),
        (0.125, "0.0 %", "12.5 %"),
        (0.07, "0.00%;[Red]-0.00%", "7 %"),
        (5, '0" %"', "5"),
        (5, r"0\%", "5"),
        (123, "00000", "00123"),
        (123, "000", "123"),
        (12.5, "00000", "12.5"),
        (-5, "00000", "-5"),
    ],
)
def test_a_number_is_what_it_is_whatever_its_format_shows(value: float, form: str, text: str) -> None:
    assert text_of(Cell(value, "n", form)) == text


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (at(2027, 5, 14), "2027-05-14"),
        (at(2027, 5, 14, 13, 30), "2027-05-14 13:30:00"),
        (time(13, 30), "13:30:00"),
        (timedelta(hours=30), "1 day, 6:00:00"),
    ],
)
def test_a_date_is_written_as_ours_and_a_time_is_no_date(value: Any, text: str) -> None:
    assert text_of(Cell(value, "d", "")) == text


@given(st.decimals(min_value=-(10**9), max_value=10**9, places=6, allow_nan=False))
def test_a_number_of_up_to_fifteen_digits_comes_back_to_the_last_one(number: Decimal) -> None:
    text = text_of(Cell(float(number), "n", "General"))
    assert Decimal(text) == number
    assert "." not in text or text[-1] not in "0."
    assert text_of(Cell(float(number), "n", "0.00%")).endswith(" %")


@settings(max_examples=8, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.decimals(min_value=0, max_value=10**9, places=4),
            st.dates(date(1950, 1, 1), date(2149, 12, 31)),
            st.text("abc=+-@ 0123.,'\"<&é\u4e2d", max_size=8),
        ),
        min_size=1,
        max_size=20,
    ),
    st.booleans(),
)
def test_numbers_days_and_texts_come_back_from_a_workbook_of_either_calendar(
    tmp_path_factory: pytest.TempPathFactory, rows: list[tuple[Decimal, date, str]], since_1904: bool
) -> None:
    path = tmp_path_factory.mktemp("book") / "things.xlsx"
    cells = [[f"n{at}", float(price), day, None, None, text] for at, (price, day, text) in enumerate(rows)]
    write_book(path, ("Sheet1", [HEADER, *cells]), date_1904=since_1904)
    things, problems = read(path)
    formulas = {at for at, (_, _, text) in enumerate(rows) if text.strip().startswith("=")}
    assert problems == [f"Sheet1!F{at + 2} note REA012" for at in sorted(formulas)]
    assert [(thing.price, thing.day, thing.note) for thing in things] == [
        (price, day, "" if at in formulas else text.strip()) for at, (price, day, text) in enumerate(rows)
    ]


def test_formulas_count_by_the_values_that_were_saved_with_them(tmp_path: Path) -> None:
    path = tmp_path / "things.xlsx"
    with xlsxwriter.Workbook(path) as whole:
        sheet = whole.add_worksheet()
        sheet.write_row(0, 0, HEADER)
        sheet.write_formula("A2", '="ro"&"d"', None, "rod")
        sheet.write_formula("B2", "=3*1.1", None, 3.3000000000000003)
        sheet.write_formula("C2", "=DATE(2027,5,14)", whole.add_format({"num_format": "dd.mm.yyyy"}), 46521)
        sheet.write_formula("D2", "=1=1", None, True)
        sheet.write_array_formula("E2:E2", "{=SUM(0.25)}", None, 0.25)
    things, problems = read(path)
    assert problems == []
    assert [(one.name, one.price, one.day, one.spare, one.share, one.note) for one in things] == [
        ("rod", Decimal("3.3"), date(2027, 5, 14), True, 0.25, "")
    ]


def test_a_formula_that_gave_the_empty_text_has_a_value(tmp_path: Path) -> None:
    path = book(tmp_path, ["rod"])
    rows = f'<row r="1">{inline("A1", "name")}{inline("B1", "note")}</row><row r="2">{inline("A2", "rod")}{{}}</row>'
    with_part(path.with_suffix(".xlsx"), SHEET_PART, sheet_xml(rows.format('<c r="B2" t="str"><f>""</f><v></v></c>')))
    assert [(thing.name, thing.note) for thing in read(path)[0]] == [("rod", "")]
    assert read(path)[1] == []
    with_part(path.with_suffix(".xlsx"), SHEET_PART, sheet_xml(rows.format('<c r="B2"><f>""</f></c>')))
    assert read(path)[1] == ["Sheet1!B2 note REA012"]


# --- what is wrong, at its cell ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("row", "expected"),
    [
        (["rod", "much"], "Sheet1!B2 price REA017"),
        (["rod", -1], "Sheet1!B2 price REA018"),
        (["rod", "1,5"], "Sheet1!B2 price REA024"),
        (["rod", date(2027, 5, 14)], "Sheet1!B2 price REA017"),
        (["rod", 1, 46521], "Sheet1!C2 day REA019"),
        (["rod", 1, "14.05.2027"], "Sheet1!C2 day REA019"),
        (["rod", 1, at(2027, 5, 14, 8)], "Sheet1!C2 day REA019"),
        (["rod", 1, None, 1], "Sheet1!D2 spare REA020"),
        (["rod", 1, None, None, 5], "Sheet1!E2 share REA018"),
        ([date(2027, 3, 10), 1], "Sheet1!A2 name REA017"),
        ([None, 1], "Sheet1!A2 name REA016"),
        (["rod", None, None, None, None, None, None, "aside"], "Sheet1!H2 REA010"),
        (["rod", None, None, None, None, "=1+1"], "Sheet1!F2 note REA012"),
    ],
)
def test_a_fault_is_told_at_its_cell(tmp_path: Path, row: list[Any], expected: str) -> None:
    assert read(book(tmp_path, row))[1] == [expected]


def test_headings_are_told_at_theirs(tmp_path: Path) -> None:
    path = book(tmp_path, ["rod", 1, 2, 3], header=["name", "price", "prize", "price"])
    assert read(path)[1] == ["Sheet1!B1 price REA007", "Sheet1!C1 prize REA009"]
    path = book(tmp_path, [1], header=[None, "price"])
    assert read(path)[1] == ["Sheet1!A1 REA009", "Sheet1!B1 name REA008"]


def test_rows_of_one_name_are_told_at_the_second_and_name_the_first(tmp_path: Path) -> None:
    path = book(tmp_path, ["rod", 1], ["pin", 2], ["rod", 3])
    table, _ = read_table(path, "things")
    assert table is not None
    (problem,) = read_records(table, Thing)[1]
    assert str(problem).startswith(f"{tmp_path}/things.xlsx: Sheet1!A4: name: REA023 ")
    assert f"{tmp_path}/things.xlsx: Sheet1!A2" in problem.advice


def test_errors_are_told_once_and_their_cells_are_not_missing_too(tmp_path: Path) -> None:
    path = tmp_path / "things.xlsx"
    with xlsxwriter.Workbook(path) as whole:
        sheet = whole.add_worksheet("May 2027")
        sheet.write_row(0, 0, HEADER)
        sheet.write_formula("A2", "=VLOOKUP(1,B:B,1)", None, "#N/A")
        sheet.write_row("A3", ["pin"])
        sheet.write_formula("B3", "=#REF!*2", None, "#REF!")
    things, problems = read(path)
    assert problems == ["'May 2027'!A2 name REA027", "'May 2027'!B3 price REA027"]
    assert [thing.name for thing in things] == ["pin"]


def test_a_formula_without_its_value_is_told_and_its_cell_is_not_missing_too(tmp_path: Path) -> None:
    def change(sheet: Any) -> None:
        sheet["A3"] = '="p"&"in"'
        sheet["B2"] = "=1+1"

    assert read(edited(tmp_path, change, ["rod", 1], ["pin", 2]))[1] == [
        "Sheet1!B2 price REA012",
        "Sheet1!A3 name REA012",
    ]


@pytest.mark.parametrize(
    ("merged", "expected"),
    [
        ("C2:C3", ["Sheet1!C2 day REA028"]),
        ("A2:A3", ["Sheet1!A2 name REA028"]),
        ("A2:C3", ["Sheet1!A2 name REA028"]),
        ("A1:A2", []),  # of one cell under headings, which its heading covers; told as the name that is missing
        ("D2:E3", []),  # with nothing in them
        ("F2:K2", []),  # beyond the last heading lies nothing to be lost
        ("H2:K3", []),
        ("A7:F9", []),  # below the table
    ],
)
def test_merged_cells_are_told_once_where_they_hide_something(tmp_path: Path, merged: str, expected: list[str]) -> None:
    day = date(2027, 5, 14)
    path = edited(tmp_path, lambda sheet: sheet.merge_cells(merged), ["rod", 1, day], ["pin", 2, day])
    things, problems = read(path)
    assert problems == (["Sheet1!A2 name REA016"] if merged == "A1:A2" else expected)
    assert len(things) == (2 if not problems or merged == "C2:C3" else 1 if merged == "A1:A2" else 0)


# --- which sheet, and where on it -------------------------------------------------------------------------------------


def test_the_sheet_is_the_one_called_like_the_file_else_the_first_that_is_shown(tmp_path: Path) -> None:
    path = tmp_path / "things.xlsx"
    write_book(path, ("notes", [["my notes"]]), ("Things", [HEADER, ["rod", 1]]))
    assert [thing.name for thing in read(path)[0]] == ["rod"]
    write_book(path, ("hidden", [["my notes"]]), ("shown", [HEADER, ["pin", 1]]), ("more", [["x"]]))
    whole = openpyxl.load_workbook(path)
    whole["hidden"].sheet_state = "hidden"
    whole.save(path)
    assert [thing.name for thing in read(path)[0]] == ["pin"]
    write_book(path, ("empty", []), ("full", [HEADER, ["pin", 1]]))
    assert read(path) == ([], ["things.xlsx REA003"])


def test_blank_rows_and_columns_around_a_table_are_passed_over(tmp_path: Path) -> None:
    rows: list[list[Any]] = [[], [None, *HEADER], [], [None, "rod", 1], [None, "  "], [None, "pin", "x"]]
    write_book(tmp_path / "things.xlsx", ("Sheet1", rows))
    things, problems = read(tmp_path / "things.csv")
    assert [(thing.name, thing.place.line) for thing in things] == [("rod", 4)]
    assert problems == ["Sheet1!C6 price REA017"]


def test_what_ifs_name_rows_of_a_workbook_by_key_and_by_line(tmp_path: Path) -> None:
    path = book(tmp_path, ["rod", 1], [], ["pin", 2])
    things, problems = read(path, "things/rod/price=7", "things/4/price=8", "things/pin/note=new")
    assert problems == []
    assert [(thing.price, thing.note) for thing in things] == [(Decimal(7), ""), (Decimal(8), "new")]
    assert read(path, "things/rod/price=x")[1] == ["--set 1 price REA017"]


def test_a_format_down_to_the_last_line_does_not_hold_up(tmp_path: Path) -> None:
    path = book(tmp_path, ["rod", 1]).with_suffix(".xlsx")
    blank = "".join(
        f'<row r="{line}"><c r="A{line}" s="0"/><c r="B{line}"><v></v></c></row>' for line in range(3, 150_000)
    )
    rows = f'<row r="1">{inline("A1", "name")}{inline("B1", "price")}</row><row r="2">{inline("A2", "rod")}</row>'
    far = f'<row r="1048576">{inline("A1048576", "pin")}</row>'
    with_part(path, SHEET_PART, sheet_xml(rows + blank + far, '<dimension ref="A1:XFD1048576"/>'))
    things, problems = read(path)
    assert problems == []
    assert [(thing.name, thing.place.line) for thing in things] == [("rod", 2), ("pin", 1_048_576)]


# --- files ------------------------------------------------------------------------------------------------------------


def test_a_table_that_is_there_twice_is_not_read(tmp_path: Path) -> None:
    path = book(tmp_path, ["rod", 1])
    path.write_text("name\nrod\n", encoding="utf-8")
    assert read(path) == ([], ["things.csv REA025"])
    assert [thing.name for thing in read(path.with_suffix(".xlsx"))[0]] == [
        "rod"
    ]  # where it is named there is no doubt


def test_a_folder_has_one_file_for_each_table_in_the_order_of_names_and_none_that_is_only_open(tmp_path: Path) -> None:
    for name in ("b.xlsx", "~$b.xlsx", "a-1.csv", "a.csv", "a.ods", "c.csv", "c.xlsx", "d.ods", "e.txt"):
        (tmp_path / name).write_bytes(b"x")
    assert [path.name for path in tables_in(tmp_path)] == ["a-1.csv", "a.csv", "b.xlsx", "c.csv", "d.ods"]


def test_nothing_in_either_form_is_a_missing_csv_file(tmp_path: Path) -> None:
    assert read(tmp_path / "things.csv") == ([], ["things.csv REA001"])
    assert read(tmp_path / "things.xlsx") == ([], ["things.xlsx REA001"])


@pytest.mark.parametrize("suffix", [".xlsm", ".xlsb", ".xls", ".ods", ".numbers"])
def test_a_sheet_in_another_form_is_told_where_it_stands_in_the_place_of_a_table(tmp_path: Path, suffix: str) -> None:
    (tmp_path / f"things{suffix}").write_bytes(b"whatever")
    assert read(tmp_path / "things.csv") == ([], [f"things{suffix} REA026"])
    assert read(tmp_path / f"things{suffix}") == ([], [f"things{suffix} REA026"])
    (tmp_path / "things.csv").write_text("name\nrod\n", encoding="utf-8")
    assert read(tmp_path / "things.csv")[1] == []


@pytest.mark.parametrize(
    ("content", "code"),
    [
        (b"", "REA003"),
        (b"name,price\nrod,1\n", "REA026"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(500), "REA026"),
        (b"PK\x03\x04 and no more", "REA026"),
        (b"\xff\xfen\0a\0m\0e\0", "REA026"),
    ],
)
def test_what_is_no_workbook_is_told(tmp_path: Path, content: bytes, code: str) -> None:
    (tmp_path / "things.xlsx").write_bytes(content)
    assert read(tmp_path / "things.csv") == ([], [f"things.xlsx {code}"])


def test_a_folder_with_the_name_of_a_workbook_is_told(tmp_path: Path) -> None:
    (tmp_path / "things.xlsx").mkdir()
    assert read(tmp_path / "things.csv") == ([], ["things.xlsx REA002"])


@pytest.mark.parametrize(
    ("part", "content"),
    [
        ("xl/workbook.xml", b"<workbook/>"),
        ("xl/workbook.xml", b"not even xml"),
        ("xl/styles.xml", b"<styleSheet><cellXfs"),
        ("xl/sharedStrings.xml", b"<sst/>"),
        ("[Content_Types].xml", b"<Types/>"),
        (SHEET_PART, b"<worksheet"),
        (SHEET_PART, sheet_xml('<row r="1"><c r="A1" t="s"><v>99</v></c></row>')),
        (SHEET_PART, sheet_xml('<row r="1"><c r="A1"><v>many</v></c></row>')),
        (SHEET_PART, sheet_xml('<row r="1"><c r="11"><v>1</v></c></row>')),
    ],
)
def test_a_workbook_of_which_a_part_is_broken_is_told(tmp_path: Path, part: str, content: bytes) -> None:
    path = book(tmp_path, ["rod", 1])
    with_part(path.with_suffix(".xlsx"), part, content)
    assert read(path) == ([], ["things.xlsx REA026"])


def test_a_workbook_that_unpacks_without_end_is_told_before_it_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = book(tmp_path, ["rod", 1])
    monkeypatch.setattr("costplan.reading.opening.LARGEST", 2**12)
    assert read(path) == ([], ["things.xlsx REA026"])


def test_whatever_happens_to_the_bytes_of_a_workbook_nothing_is_raised(tmp_path: Path) -> None:
    path = book(tmp_path, ["rod", 1, date(2027, 5, 14)]).with_suffix(".xlsx")
    whole, luck = path.read_bytes(), random.Random(7)  # noqa: S311 - not for secrets
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist() if not name.startswith("docProps")}
    told = 0
    for number in range(200):
        path.write_bytes(whole[: luck.randrange(1, len(whole))] if number < 20 else whole)
        if number >= 20:
            name = luck.choice(list(parts))
            spoiled = bytearray(parts[name])
            for _ in range(2):
                spoiled[luck.randrange(60, len(spoiled))] = luck.choice(b'0<>/"9xA')
            with_part(path, name, bytes(spoiled))
        told += bool(read(path)[1])
    assert told > 100


def test_merged_cells_hide_nothing_where_a_view_takes_the_first_of_them_alone(tmp_path: Path) -> None:
    path = edited(tmp_path, lambda sheet: sheet.merge_cells("A2:B2"), ["rod", 1], ["pin", 2])
    sheet, _ = read_sheet(path)
    assert sheet is not None
    table, problems = to_table(sheet, "things", View((("name", 0),), sheet.place))
    assert ([row.cells for row in table.rows], problems) == ([("rod",), ("pin",)], ())
    _, problems = to_table(sheet, "things", View((("price", 1),), sheet.place))
    assert seen(problems) == ["Sheet1!B2 price REA028"]


def test_blank_cells_stay_where_cells_are_counted_and_not_placed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("costplan.reading.opening.LARGE", 0)
    path = book(tmp_path, ["rod"])
    cells = inline("", "{}").replace(' r=""', "")
    rows = f"<row>{cells.format('name')}{cells.format('day')}{cells.format('note')}</row><row/>"
    rows += f"<row>{cells.format('rod')}<c/>{cells.format('long')}</row>"
    with_part(path.with_suffix(".xlsx"), SHEET_PART, sheet_xml(rows))
    things, problems = read(path)
    assert problems == []
    assert [(thing.name, thing.note, thing.place.line) for thing in things] == [("rod", "long", 3)]


def test_a_workbook_is_laid_out_by_lines_alone(tmp_path: Path) -> None:
    write_book(tmp_path / "list.xlsx", ("Sheet1", [["A shop"], [], ["name"], ["rod"]]))
    sheet, problems = read_sheet(tmp_path / "list.xlsx", Layout(encoding="latin-1", header_line=2, delimiter=";"))
    assert problems == ()
    assert sheet is not None
    assert (sheet.header, sheet.header_line, [row.cells for row in sheet.rows]) == (("name",), 3, [("rod",)])
    sheet, problems = read_sheet(tmp_path / "list.xlsx", Layout(header_line=9))
    assert sheet is not None
    assert (sheet.header, problems) == ((), ())
