"""Workbooks read, recomputed here and by another program."""

from __future__ import annotations

import io
import re
import shutil
import subprocess
import zipfile
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook, load_workbook
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from tests.workbooks.recomputing import Recomputed, Seen

SOFFICE = shutil.which("soffice")
WITH_SOFFICE = pytest.mark.skipif(SOFFICE is None, reason="LibreOffice is not on this machine")


def read(data: bytes) -> Workbook:
    """A workbook with the figures that it was written with."""
    return load_workbook(io.BytesIO(data), data_only=True)


def changeable(data: bytes) -> Workbook:
    """A workbook with its formulas."""
    return load_workbook(io.BytesIO(data))


def texts(data: bytes | Workbook) -> list[str]:
    """All texts of all cells."""
    book = read(data) if isinstance(data, bytes) else data
    cells = (cell.value for page in book.worksheets for row in page.iter_rows() for cell in row)
    return [value for value in cells if isinstance(value, str)]


def row_of(page: Worksheet, words: str, after: int = 0) -> int:
    """The row whose first cell begins with some words, the first one after a row."""
    rows = page.iter_rows(max_col=1, min_row=after + 1)
    return next(at for at, (cell,) in enumerate(rows, after + 1) if str(cell.value).startswith(words))


def column_of(page: Worksheet, heading: str) -> str:
    cells = (cell for row in page.iter_rows() for cell in row if str(cell.value).startswith(heading))
    return get_column_letter(next(cell.column or 0 for cell in cells))


def figure(page: Worksheet, words: str, heading: str) -> Any:
    return page[f"{column_of(page, heading)}{row_of(page, words)}"].value


def rows_of(page: Worksheet, heading: str) -> list[dict[str, Any]]:
    """The rows below the headings, of which the first is given, by their headings without units."""
    top = row_of(page, heading)
    names = [re.sub(r" \[.*", "", str(cell.value or "")) for cell in page[top]]
    return [dict(zip(names, (cell.value for cell in row), strict=True)) for row in page.iter_rows(min_row=top + 1)]


def as_recomputed(data: bytes, seen: Seen) -> Iterator[tuple[str, float | str | None, Any]]:
    """Each formula's place with what it gives and what it was written with."""
    anew, written = Recomputed(data, seen), read(data)
    for sheet, cell in anew.formulas():
        yield f"{sheet}!{cell}", anew.value(sheet, cell), written[sheet][cell].value


def assert_recomputes(data: bytes, seen: Seen, digits: int = 2) -> int:
    """Amounts, given or summed anew, agree to far below the minor unit; counts the formulas."""
    count = 0
    for place, anew, written in as_recomputed(data, seen):
        agree = (anew or "") == (written or "") if isinstance(anew, str) or written is None else False
        agree = agree or anew == pytest.approx(written, rel=1e-12, abs=10.0 ** -(digits + 3))
        assert agree, (place, anew, written)
        count += 1
    return count


def recalculated(books: Mapping[str, Workbook], folder: Path) -> dict[str, Workbook]:
    """Workbooks, which have no figures of their formulas once they were saved here, as LibreOffice works them out.

    It starts once for all of them, which takes it longer than the sums.
    """
    for name, book in books.items():
        book.save(folder / f"{name}.xlsx")
    home, out = f"-env:UserInstallation={(folder / 'home').as_uri()}", folder / "out"
    assert SOFFICE
    given = [str(folder / f"{name}.xlsx") for name in books]
    command = [SOFFICE, home, "--headless", "--convert-to", "xlsx", "--outdir", str(out), *given]
    subprocess.run(command, check=True, capture_output=True, timeout=180)  # noqa: S603 - the program that was found
    return {name: load_workbook(out / f"{name}.xlsx", data_only=True) for name in books}


def parts(data: bytes) -> dict[str, str]:
    """All files of a workbook."""
    with zipfile.ZipFile(io.BytesIO(data)) as files:
        return {name: files.read(name).decode("utf-8", "replace") for name in files.namelist()}
