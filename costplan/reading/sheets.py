"""Sheets as they stand, and those of CSV: utf-8 with or without BOM, `,` or `;` or tab, or laid out as a map says."""

from __future__ import annotations

import csv
import io
import re
import sys
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path
from typing import NamedTuple, TypeAlias

from costplan.problems import Grid, Place, Problem, Problems
from costplan.reading.source import UTF_8, read_text, shown

#: The first line by which some spreadsheets are told the delimiter.
SEPARATOR = re.compile(r'"?sep=([,;\t])"?[,;\t ]*\r?\n', re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Layout:
    """How a file is laid out: its encoding, the line its headings stand on or below, its delimiter ('': by them).

    A workbook has lines alone.
    """

    encoding: str = UTF_8
    header_line: int = 1
    delimiter: str = ""


#: Why a cell is not read: code, what is wrong, advice.
Why: TypeAlias = tuple[str, str, str]


class Row(NamedTuple):
    """The cells of one row, '' where empty, and the line it starts on."""

    line: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """A file as it stands: its headings, and its rows that are not blank, stripped, of any number of cells.

    Of a workbook it has the `name` of the sheet, and by line and number from 0 the cells at fault; no delimiter.
    """

    file: str
    header: tuple[str, ...]
    header_line: int
    rows: tuple[Row, ...]
    delimiter: str = ""
    name: str = ""
    faults: Mapping[tuple[int, int], Why] = field(default_factory=dict)

    def grid(self, ours: Iterable[tuple[str, int]] = ()) -> Grid | None:
        """The letters of the columns of a workbook, by their headings and by more names; None for a CSV file."""
        if not self.name:
            return None
        letters: dict[str, str] = {}
        for heading, at in (*ours, *((heading, at) for at, heading in enumerate(self.header))):
            if heading:
                letters.setdefault(heading, letter(at))
        return Grid(self.name, letter(next((at for at, heading in enumerate(self.header) if heading), 0)), letters)

    @property
    def place(self) -> Place:
        """The place of the headings."""
        return Place(self.file, self.header_line, self.grid())

    def place_beyond(self, line: int, at: int) -> Place:
        """The place of a cell under no heading."""
        return Place(self.file, line, Grid(self.name, letter(at)) if self.name else None)


def letter(at: int) -> str:
    """How spreadsheets call a column by its number from 0.

    >>> letter(0), letter(25), letter(26), letter(701), letter(702)
    ('A', 'Z', 'AA', 'ZZ', 'AAA')
    """
    rest, last = divmod(at, 26)
    return (letter(rest - 1) if rest else "") + chr(ord("A") + last)


def read_csv(path: Path, layout: Layout = Layout()) -> tuple[Sheet | None, tuple[Problem, ...]]:
    """A CSV file as it stands; None where it cannot be read. Without headings where it ends before them."""
    text, faults = read_text(path, layout.encoding)
    if text is None:
        return None, faults
    problems = Problems()
    file = shown(path)
    said = layout == Layout() and SEPARATOR.match(text)
    first = 2 if said else layout.header_line
    delimiter = said.group(1) if said else layout.delimiter or find_delimiter(text, first)
    lines = _split(text, delimiter, first, file, problems)
    header = next(lines, Row(first, ()))
    return Sheet(file, header.cells, header.line, tuple(lines), delimiter), tuple(problems.found)


def find_delimiter(text: str, header_line: int = 1) -> str:
    """The delimiter that the header uses most, outside quotes; a comma if none.

    >>> find_delimiter('part;"name, in full";price')
    ';'
    """
    lines = islice(io.StringIO(text, newline=None), header_line - 1, None)
    header = next((line for line in lines if line.strip()), "")
    bare = "".join(header.split('"')[::2])
    return max(",;\t", key=bare.count)


def _split(text: str, delimiter: str, header_line: int, file: str, problems: Problems) -> Iterator[Row]:
    """Each row from the header's line on that is not blank."""
    lines = io.StringIO(text, newline="")
    above = sum(1 for _ in islice(lines, header_line - 1))
    with _any_length():
        reader = csv.reader(lines, delimiter=delimiter, strict=True)
        while True:
            start = above + reader.line_num + 1
            try:
                cells = tuple([cell.strip() for cell in next(reader)])
            except StopIteration:
                return
            except csv.Error:
                problems.add(
                    "REA006", Place(file, start), "", "", "a quote is left open", 'close it; write "" for a quote'
                )
                return
            if any(cells):
                yield Row(start, cells)


@contextmanager
def _any_length() -> Iterator[None]:
    """Lets the csv module read over-long cells, so that they are refused one by one and not the file with them."""
    before = csv.field_size_limit(sys.maxsize)
    try:
        yield
    finally:
        csv.field_size_limit(before)
