"""A sheet of a workbook (xlsx) as it stands: its cells as texts in our form, and those that show no value.

Numbers are what the file holds, to the 15 digits that spreadsheets keep, whatever their format shows of them; only a
per cent is written as one, and a format of zeros alone (`00000`) gives a number its leading zeros back.
"""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from pathlib import Path

from costplan.problems import Place, Problem
from costplan.reading.forms import ADate, ANumber, InOurForm
from costplan.reading.opening import Cell, Opened, Refusal, open_workbook
from costplan.reading.sheets import Row, Sheet, Why
from costplan.reading.source import nothing_in, read_data, shown

#: What of a number's format says nothing of the number: texts, signs that stand for themselves, colours.
LITERAL = re.compile(r'"[^"]*"|\\.|_.|\*.|\[[^\]]*\]')
#: The kind of a cell that holds a formula.
FORMULA = "f"
LEADING_ZEROS = re.compile("0{2,}")
#: Digits that spreadsheets keep of a number; what lies behind them is noise of binary fractions.
DIGITS = 15
NO_VALUE: Why = (
    "REA012",
    "a formula whose value was not saved:",
    "open the file in a spreadsheet program and save it, or write the value",
)
ERROR: Why = ("REA027", "a cell that shows an error:", "mend its formula, or write the value")


def read_workbook(path: Path, header_line: int = 1) -> tuple[Sheet | None, tuple[Problem, ...]]:
    """The sheet of a workbook that is a table, from a line on; None where it cannot be read."""
    data, problems = read_data(path)
    if data is None:
        return None, problems
    place = Place(shown(path))
    if not data:
        return None, (nothing_in(place),)
    opened = open_workbook(data, path.stem)
    if isinstance(opened, Opened) and _has_formulas(opened):
        opened = with_values(opened, open_workbook(data, path.stem, values=True))
    if not isinstance(opened, Opened):
        return None, (Problem("REA026", place, "", "", *opened),)
    if not opened.rows and header_line == 1:
        what, advice = f"the sheet {opened.name} is empty", f"put the table there, or on a sheet called {path.stem}"
        return None, (Problem("REA003", place, "", "", what, advice),)
    return _sheet(opened, place.file, header_line), ()


def _has_formulas(opened: Opened) -> bool:
    return any(cell.kind == FORMULA for cells in opened.rows.values() for cell in cells.values())


def with_values(opened: Opened, saved: Opened | Refusal) -> Opened | Refusal:
    """A sheet with what was saved as the values of its formulas; a formula stays one where nothing was."""
    if not isinstance(saved, Opened):
        return saved
    rows = {
        line: {
            at: saved.rows.get(line, {}).get(at, cell) if cell.kind == FORMULA else cell for at, cell in cells.items()
        }
        for line, cells in opened.rows.items()
    }
    return replace(opened, rows=rows)


def _sheet(opened: Opened, file: str, header_line: int) -> Sheet:
    """What was opened as a sheet, its cells at fault with their reasons."""
    faults: dict[tuple[int, int], Why] = {}
    rows = []
    for line, cells in opened.rows.items():
        texts = [""] * (max(cells) + 1)
        for at, cell in cells.items():
            why = _fault(cell)
            texts[at] = text_of(cell) or ("=" if why else "")
            if why:
                faults[line, at] = why
        if line >= header_line and any(texts):
            rows.append(Row(line, tuple(texts)))
    header, *below = rows or [Row(header_line, ())]
    lines = [row.line for row in below]
    for left, top, right, bottom in opened.merged:
        if number_of(left) in opened.rows.get(top, {}):  # where nothing stands, nothing is hidden
            faults.update(_merged((left, top, right, bottom), len(header.cells), lines))
    return Sheet(file, header.cells, header.line, tuple(below), name=opened.name, faults=faults)


def _fault(cell: Cell) -> Why | None:
    """Why a cell shows no value, None where it shows one."""
    return ERROR if cell.kind == "e" else NO_VALUE if cell.kind == FORMULA else None


def text_of(cell: Cell) -> str:
    """What a cell holds, as text in our form.

    >>> [text_of(Cell(0.1 + 0.2, "n", "0.00 [$EUR]")), text_of(Cell(12.0, "n", "")), text_of(Cell(0.05, "n", "0%"))]
    ['0.3', '12', '5 %']
    >>> text_of(Cell(date(2027, 5, 14), "d", "")), text_of(Cell(True, "b", "")), text_of(Cell(123, "n", "00000"))
    ('2027-05-14', 'yes', '00123')
    """
    value = cell.value
    if isinstance(value, bool):
        return InOurForm("yes" if value else "no")
    if isinstance(value, int | float):
        return _number(value, cell.form)
    if isinstance(value, datetime):
        return ADate(value.date() if value.time() == time() else value.isoformat(" ", "seconds"))
    if isinstance(value, date | time | timedelta):
        return ADate(value)
    return str(getattr(value, "text", value)).strip()  # a formula over many cells is a record of its own


def _number(value: float, form: str) -> str:
    """A number as its format says what it is: a plain one, a per cent, or digits with leading zeros."""
    number = Decimal(value if isinstance(value, int) else f"{value or 0:.{DIGITS}g}")
    if "%" in LITERAL.sub("", form.partition(";")[0]):
        return InOurForm(f"{_plain(number * 100)} %")
    zeros = len(form) if LEADING_ZEROS.fullmatch(form) and number >= 0 and number == int(number) else 0
    return ANumber(_plain(number).zfill(zeros))


def _plain(number: Decimal) -> str:
    """A number without an exponent and without zeros behind its last decimal."""
    text = f"{number:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _merged(
    block: tuple[str, int, str, int], width: int, lines: Sequence[int]
) -> Iterator[tuple[tuple[int, int], Why]]:
    """The cells under headings that were merged into one, all but the first of which show nothing, with one reason."""
    left, top, right, bottom = block
    columns = range(number_of(left), min(number_of(right) + 1, width))
    covered = lines[bisect_left(lines, top) : bisect_right(lines, bottom)]
    if len(columns) * len(covered) > 1:
        what = f"merged cells, {left}{top} to {right}{bottom}"
        why: Why = ("REA028", what, "split them, and write the value into each that it is for")
        yield from (((line, at), why) for line in covered for at in columns)


def number_of(letters: str) -> int:
    """The number of a column from 0, by its letters.

    >>> number_of("A"), number_of("Z"), number_of("AA"), number_of("AAA")
    (0, 25, 26, 702)
    """
    number = 0
    for one in letters:
        number = 26 * number + ord(one) - ord("A") + 1
    return number - 1
