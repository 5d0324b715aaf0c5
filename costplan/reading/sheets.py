"""CSV as it stands: utf-8 with or without BOM, `,` or `;` or tab, quoted line breaks; or laid out as a map says."""

from __future__ import annotations

import csv
import io
import re
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import NamedTuple

from costplan.problems import Place, Problem, Problems
from costplan.reading.source import UTF_8, read_text, shown

#: The first line by which some spreadsheets are told the delimiter.
SEPARATOR = re.compile(r'"?sep=([,;\t])"?[,;\t ]*\r?\n', re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Layout:
    """How a file is laid out: its encoding, the line its headings stand on or below, its delimiter ('': by them)."""

    encoding: str = UTF_8
    header_line: int = 1
    delimiter: str = ""


class Row(NamedTuple):
    """The cells of one row, '' where empty, and the line it starts on."""

    line: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """A CSV file as it stands: its headings, and its rows that are not blank, stripped, of any number of cells."""

    file: str
    header: tuple[str, ...]
    header_line: int
    rows: tuple[Row, ...]
    delimiter: str


def read_sheet(path: Path, layout: Layout = Layout()) -> tuple[Sheet | None, tuple[Problem, ...]]:
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
