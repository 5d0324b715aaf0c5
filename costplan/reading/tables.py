"""CSV as text with the place of every cell: utf-8 with or without BOM, `,` or `;` or tab, quoted line breaks."""

from __future__ import annotations

import csv
import io
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from costplan.problems import Place, Problem, Problems
from costplan.reading.source import read_text, shown

#: As long as a cell of the common spreadsheets may be.
LONGEST_CELL = 32_767


@dataclass(frozen=True, slots=True)
class Row:
    """The filled cells of one row by header and the line it starts on.

    `set_places`: where cells that `--set` wrote stand; `refused`: columns whose cell was refused for what it is.
    """

    line: int
    cells: dict[str, str]
    set_places: dict[str, Place] = field(default_factory=dict)
    refused: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Table:
    """A CSV file as text. `decimal_comma`: whether it may write 12,5 for twelve and a half."""

    file: str
    address: str
    header: tuple[str, ...]
    rows: tuple[Row, ...]
    decimal_comma: bool = False
    header_line: int = 1

    def cells(self, column: str) -> frozenset[str]:
        """What is written in a column, in rows at fault too: a name that was written is not unknown."""
        return frozenset(row.cells[column] for row in self.rows if column in row.cells)

    def place(self, row: Row, column: str = "") -> Place:
        return row.set_places.get(column, Place(self.file, row.line))


def read_table(path: Path, address: str) -> tuple[Table | None, tuple[Problem, ...]]:
    """The rows of a CSV file; None where the file itself cannot be read."""
    text, faults = read_text(path)
    if text is None:
        return None, faults
    problems = Problems()
    file = shown(path)
    delimiter = find_delimiter(text)
    lines = _split(text, delimiter, file, problems)
    line, header = next(lines, (1, []))
    _check_header(header, Place(file, line), problems)
    rows = tuple(_row(start, cells, header, file, problems) for start, cells in lines)
    return Table(file, address, tuple(header), rows, delimiter == ";", line), tuple(problems.found)


def find_delimiter(text: str) -> str:
    """The delimiter that the header uses most, outside quotes; a comma if none.

    >>> find_delimiter('part;"name, in full";price')
    ';'
    """
    header = next(line for line in text.splitlines() if line.strip())
    bare = "".join(header.split('"')[::2])
    return max(",;\t", key=bare.count)


def _split(text: str, delimiter: str, file: str, problems: Problems) -> Iterator[tuple[int, list[str]]]:
    """Each row that is not blank, stripped, with the line it starts on."""
    with _any_length():
        reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
        while True:
            start = reader.line_num + 1
            try:
                cells = next(reader)
            except StopIteration:
                return
            except csv.Error:
                problems.add(
                    "REA006", Place(file, start), "", "", "a quote is left open", 'close it; write "" for a quote'
                )
                return
            if any(cell.strip() for cell in cells):
                yield start, [cell.strip() for cell in cells]


@contextmanager
def _any_length() -> Iterator[None]:
    """Lets the csv module read over-long cells, so that they are refused one by one and not the file with them."""
    before = csv.field_size_limit(sys.maxsize)
    try:
        yield
    finally:
        csv.field_size_limit(before)


def _check_header(header: list[str], place: Place, problems: Problems) -> None:
    for column in dict.fromkeys(header):
        if column and header.count(column) > 1:
            problems.add("REA007", place, column, "", "column given twice", "keep one of them")


def _row(line: int, cells: list[str], header: list[str], file: str, problems: Problems) -> Row:
    place = Place(file, line)
    extra = [cell for cell in cells[len(header) :] if cell]
    if extra:
        advice = "put quotes around a cell that holds the delimiter"
        problems.add(
            "REA010", place, "", extra[0], f"{len(cells)} cells under {len(header)} headings, the last", advice
        )
    kept, refused = {}, set[str]()
    for column, cell in zip(header, cells, strict=False):
        if len(cell) > LONGEST_CELL or cell.startswith("="):
            refused.add(column)
        if len(cell) > LONGEST_CELL:
            problems.add("REA011", place, column, cell, f"a cell of {len(cell):,} characters", "shorten it")
        elif cell.startswith("="):
            problems.add("REA012", place, column, cell, "a formula", "write its value")
        elif cell:
            kept[column] = cell
    return Row(line, kept, refused=frozenset(refused))
