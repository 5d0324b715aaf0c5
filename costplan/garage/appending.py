"""One more row behind a CSV file, which stays as it is: its columns in their order, its delimiter, its line ends."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import islice

from costplan.quantity import split_header
from costplan.reading import Sheet

LINE_END = re.compile(r"\r\n|\n|\r")


def new_file(columns: Sequence[str], cells: Mapping[str, str]) -> str:
    """A file of some columns, and whatever else the row gives, with one row."""
    header = (*columns, *(name for name in cells if _bare(name) not in columns))
    return _line(header, ",", "\n") + _line([cells.get(name, "") for name in header], ",", "\n")


def with_row(text: str, sheet: Sheet, cells: Mapping[str, str]) -> str:
    """A file's text with one more row; a column that it lacks stands behind its others, empty in all other rows.

    `sheet`: the file as it was read; `cells` by column, whose unit, where one is given, is the file's own.
    """
    ends = LINE_END.search(text)
    line_end = ends.group() if ends else "\n"
    known = {_bare(name) for name in sheet.header}
    more = [name for name in cells if _bare(name) not in known]
    given = {_bare(name): cell for name, cell in cells.items()}
    header = (*sheet.header, *more)
    row = _line([given.get(_bare(name), "") for name in header], sheet.delimiter, line_end)
    end = header_end(text, sheet.header_line)
    addition = _line(["", *more], sheet.delimiter, "") if more else ""
    whole = text[:end] + addition + text[end:]
    return whole + ("" if LINE_END.search(whole[-1:]) else line_end) + row


def other_units(sheet: Sheet, cells: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    """Columns that are given with another unit than the file's heading has, each with that heading."""
    headings = {_bare(name): name for name in sheet.header}
    for name in cells:
        heading = headings.get(_bare(name), name)
        if split_header(name)[1] and split_header(name)[1] != split_header(heading)[1]:
            yield name, heading


def header_end(text: str, header_line: int) -> int:
    """Where the header ends, before its line end; a heading in quotes may be broken into lines.

    >>> text = 'sep=;\\na;"b\\nc"\\n1;2'
    >>> text[:header_end(text, 2)]
    'sep=;\\na;"b\\nc"'
    """
    at = sum(len(line) for line in islice(io.StringIO(text, newline=""), header_line - 1))
    quoted = False
    while at < len(text) and (quoted or text[at] not in "\r\n"):
        quoted ^= text[at] == '"'
        at += 1
    return at


def _bare(heading: str) -> str:
    """A column's name without its unit."""
    return split_header(heading)[0]


def _line(cells: Sequence[str], delimiter: str, line_end: str) -> str:
    """
    >>> _line(["a", "b, c"], ",", "")
    'a,"b, c"'
    """
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, lineterminator=line_end).writerow(cells)
    return out.getvalue()
