"""A CSV file with some of its cells written anew; everything else in it stays as it stands, byte by byte."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from itertools import islice

from costplan.reading import Sheet


def rewritten(text: str, sheet: Sheet, key: str, cells: Mapping[str, Mapping[str, str]]) -> str:
    """A file's text with the cells of some rows written anew, by the name that its column `key` has for the row.

    `sheet`: the file as it was read. A column that the file lacks stands behind its others. Numbers get a comma for
    decimals where the file is delimited by semicolons, as it may.
    """
    wanted = dict.fromkeys(column for row in cells.values() for column in row)
    more = [column for column in wanted if column not in sheet.header]
    header = (*sheet.header, *more)
    at_key = header.index(key)
    edits = list[tuple[int, int, str]]()
    for number, spans in enumerate(_records(text, sheet)):
        row = [_value(text[start:end]) for start, end in spans]
        if number == 0:
            edits += [(spans[-1][1], spans[-1][1], _line(["", *more], sheet.delimiter))] if more else []
        elif len(row) > at_key and row[at_key] in cells:
            edits += _edits(spans, header, cells[row[at_key]], sheet.delimiter)
    for start, end, put in reversed(edits):
        text = text[:start] + put + text[end:]
    return text


def _edits(
    spans: Sequence[tuple[int, int]], header: Sequence[str], cells: Mapping[str, str], delimiter: str
) -> Iterator[tuple[int, int, str]]:
    """What to put where in a row, from its left to its right; what lies behind its last cell is put there at once."""
    behind = [""] * max(len(header) - len(spans), 0)
    for column, cell in sorted(cells.items(), key=lambda item: header.index(item[0])):
        at, cell = header.index(column), _in_its_form(column, cell, delimiter)
        if at < len(spans):
            yield (*spans[at], _line([cell], delimiter))
        else:
            behind[at - len(spans)] = cell
    if any(behind):
        yield spans[-1][1], spans[-1][1], _line(["", *behind], delimiter)


def _in_its_form(column: str, cell: str, delimiter: str) -> str:
    return cell.replace(".", ",") if delimiter == ";" and column == "hours" else cell


def _records(text: str, sheet: Sheet) -> Iterator[list[tuple[int, int]]]:
    """Where the cells of each row stand that is not blank, from the header's on."""
    start = sum(len(line) for line in islice(io.StringIO(text, newline=""), sheet.header_line - 1))
    spans, at, quoted = list[tuple[int, int]](), start, False
    while at <= len(text):
        char = text[at : at + 1]
        ends = not char or (char in "\r\n" and not quoted)
        if ends or (char == sheet.delimiter and not quoted):
            spans.append((start, at))
            start = at + 1
        if ends:
            if any(_value(text[first:last]) for first, last in spans):
                yield spans
            spans = []
        quoted ^= char == '"' and text[start : start + 1] == '"'
        at += 1


def _value(raw: str) -> str:
    """The value of a cell as it stands.

    >>> _value('"a ""b"" c"'), _value(" x ")
    ('a "b" c', 'x')
    """
    return raw.rstrip()[1:-1].replace('""', '"').strip() if raw.startswith('"') else raw.strip()


def _line(cells: Sequence[str], delimiter: str) -> str:
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, lineterminator="").writerow(cells)
    return out.getvalue()
