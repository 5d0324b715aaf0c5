"""Opening a workbook (Office Open XML, xlsx): what openpyxl reads of one sheet, or why it cannot be read."""

from __future__ import annotations

import io
import re
import struct
import warnings
import zipfile
import zlib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, NamedTuple

from openpyxl import load_workbook
from openpyxl.utils.exceptions import InvalidFileException

#: How files begin that are an archive, as each xlsx is, and those of the older form, as xlsx behind a password is.
ARCHIVE, COMPOUND = b"PK", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
#: What the archive of a damaged workbook raises, and openpyxl at it.
DAMAGE = (
    ArithmeticError,
    AssertionError,
    AttributeError,
    EOFError,
    InvalidFileException,
    LookupError,
    OSError,
    RuntimeError,
    SyntaxError,
    TypeError,
    ValueError,
    struct.error,
    zipfile.BadZipFile,
    zlib.error,
)
#: Bytes that a workbook may unpack to: beyond them it is no table that somebody keeps.
LARGEST = 2**29
#: Bytes of a sheet from which on its blank cells are taken out before it is read.
LARGE = 2**21
#: Blank cells and blank rows, which formatted sheets have down to their last line.
BLANK_CELL = re.compile(rb"<c [^<>]*(?:/>|>\s*(?:<v\s*/>|<v></v>)?\s*</c>)")
BLANK_ROW = re.compile(rb"<row [^<>]*(?:/>|>\s*</row>)")
#: Cells and rows that do not say where they are, but stand behind those before them.
PLACELESS = re.compile(rb"""<(?:c|row)(?:>| (?![^<>]*\br=["']))""")
MERGED = re.compile(rb"""<(?:\w+:)?mergeCell\s[^<>]*?ref=["']([A-Z]+)(\d+):([A-Z]+)(\d+)["']""")

#: Why a workbook cannot be read: what is wrong, advice.
Refusal = tuple[str, str]


class Cell(NamedTuple):
    """A cell that holds something: its value, what kind openpyxl says it is, and the format of its number."""

    value: Any
    kind: str
    form: str


@dataclass(frozen=True, slots=True)
class Opened:
    """A sheet: its name, its cells by line (from 1) and number (from 0), and its merged ranges: `("A", 2, "B", 3)`."""

    name: str
    rows: Mapping[int, Mapping[int, Cell]]
    merged: tuple[tuple[str, int, str, int], ...]


def open_workbook(data: bytes, named: str, *, values: bool = False) -> Opened | Refusal:
    """The sheet of this name in whatever letters, else the first that is not hidden; or why there is none.

    `values`: those that were saved with formulas, in place of the formulas.
    """
    if data.startswith(COMPOUND):
        return "a workbook behind a password, or of the older form", "save it without a password as xlsx, or as CSV"
    if not data.startswith(ARCHIVE):
        return "not a workbook, whatever its name says", "save it as xlsx, or call it .csv if it is CSV"
    try:
        with _quietly():
            if _unpacked(data) > LARGEST:
                what = f"a workbook of more than {LARGEST >> 20} MB unpacked"
                return what, "delete what is not of the table, or save that as CSV"
            return _open(_slim(data), named, values)
    except DAMAGE:
        return "a damaged workbook", "open it in a spreadsheet program and save it as xlsx, or as CSV"


@contextmanager
def _quietly() -> Iterator[None]:
    """Without openpyxl's warnings: they are of what it would not write back, and nothing is written back here."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        yield


def _unpacked(data: bytes) -> int:
    """Bytes of the workbook outside its archive."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return sum(part.file_size for part in archive.infolist())


def _slim(data: bytes) -> bytes:
    """The workbook, large sheets without their blank cells: a format down to the last line holds a million of them."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        parts = archive.infolist()
        large = {part.filename for part in parts if "worksheets/" in part.filename and part.file_size > LARGE}
        if not large:
            return data
        slim = io.BytesIO()
        with zipfile.ZipFile(slim, "w") as out:
            for part in parts:
                content = archive.read(part)
                out.writestr(part.filename, _without_blanks(content) if part.filename in large else content)
    return slim.getvalue()


def _without_blanks(content: bytes) -> bytes:
    if PLACELESS.search(content):
        return content
    return BLANK_ROW.sub(b"", BLANK_CELL.sub(b"", content))


def _open(data: bytes, named: str, values: bool) -> Opened | Refusal:
    book = load_workbook(io.BytesIO(data), read_only=True, keep_links=False, data_only=values)
    sheet = _chosen(book.worksheets, named)
    if sheet is None:
        return "a workbook without a sheet that can be read", "save it as a plain xlsx, or as CSV"
    sheet.reset_dimensions()  # what a file says of its own size may be all columns and a million lines
    rows = {line: found for line, cells in enumerate(sheet.iter_rows(), start=1) if (found := _filled(cells))}
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        merged = MERGED.findall(archive.read(sheet._worksheet_path))
    return Opened(
        sheet.title,
        rows,
        tuple((first.decode(), int(top), last.decode(), int(bottom)) for first, top, last, bottom in merged),
    )


def _chosen(sheets: list[Any], named: str) -> Any:
    shown = [sheet for sheet in sheets if sheet.sheet_state == "visible"] or sheets
    called = [sheet for sheet in sheets if sheet.title.casefold() == named.casefold()]
    return next(iter(called or shown), None)


def _filled(cells: tuple[Any, ...]) -> dict[int, Cell]:
    """The cells of a line that hold something, be it the empty text that a formula gave."""
    return {
        at: Cell("" if cell.value is None else cell.value, cell.data_type, _form(cell))
        for at, cell in enumerate(cells)
        if cell.value is not None or cell.data_type == "str"
    }


def _form(cell: Any) -> str:
    return str(cell.number_format or "") if cell.data_type == "n" else ""
