"""Workbooks for tests: written from literal rows, or from a folder's CSV files as a spreadsheet would take them up."""

from __future__ import annotations

import csv
import re
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

import xlsxwriter

NUMBER = re.compile(r"-?(0|[1-9]\d{0,14})(\.\d{1,6})?")
DATE = re.compile(r"\d{4}-\d{2}-\d{2}")


def write_book(path: Path, *sheets: tuple[str, Sequence[Sequence[Any]]], **options: Any) -> Path:
    """A workbook of sheets with these rows: numbers as numbers, dates as dates, the rest as text; None leaves blank."""
    with xlsxwriter.Workbook(
        path,
        {"default_date_format": "yyyy-mm-dd", "strings_to_formulas": False, "strings_to_numbers": False, **options},
    ) as book:
        for name, rows in sheets:
            sheet = book.add_worksheet(name)
            for at, row in enumerate(rows):
                sheet.write_row(at, 0, row)
    return path


def typed(text: str) -> Any:
    """What a spreadsheet makes of a text that is typed into it: a number, a date, or the text."""
    if NUMBER.fullmatch(text):
        return float(text)
    return date.fromisoformat(text) if DATE.fullmatch(text) else text or None


def to_workbooks(folder: Path, leave: Sequence[str] = ()) -> int:
    """Puts a workbook in the place of each CSV file of a folder; how many."""
    files = [path for path in folder.rglob("*.csv") if path.name not in leave]
    for path in files:
        with path.open(encoding="utf-8-sig", newline="") as lines:
            header, *rows = csv.reader(lines)
        write_book(path.with_suffix(".xlsx"), ("Sheet1", [header, *([typed(cell) for cell in row] for row in rows)]))
        path.unlink()
    return len(files)
