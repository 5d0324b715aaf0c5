"""Where a table is kept, as CSV or as a workbook in its place, and the one way to its sheet."""

from __future__ import annotations

from pathlib import Path
from types import MappingProxyType

from costplan.problems import Place, Problem
from costplan.reading.sheets import Layout, Sheet, read_csv
from costplan.reading.source import shown

CSV, WORKBOOK = ".csv", ".xlsx"
#: Forms of spreadsheets that are not read, by the ends of their names.
UNREAD = MappingProxyType(
    {
        ".xlsm": "a workbook with macros",
        ".xlsb": "a binary workbook",
        ".xls": "a workbook of the older form",
        ".ods": "an OpenDocument sheet",
        ".numbers": "a sheet in a form of its program's own",
    }
)
#: A file that is laid out like any other.
USUAL = Layout()
#: All ends of names by which a table may be there.
SUFFIXES = (CSV, WORKBOOK, *UNREAD)
#: How the names of files begin that spreadsheets put beside a workbook while it is open.
BESIDE = "~$"


def table_file(path: Path) -> Path:
    """The file that a table is in: the CSV file of the name, else what is there in its place, else the CSV file."""
    if path.suffix != CSV or path.exists():
        return path
    others = (path.with_suffix(suffix) for suffix in SUFFIXES[1:])
    return next((other for other in others if other.exists()), path)


def is_there(path: Path) -> bool:
    """Whether a table is there, in whatever form."""
    return table_file(path).exists()


def tables_in(folder: Path) -> tuple[Path, ...]:
    """The files of a folder that are tables, in the order of their names: one for each, CSV where there is CSV."""
    found: dict[str, Path] = {}
    for suffix in SUFFIXES:
        for path in folder.glob(f"*{suffix}"):
            if not path.name.startswith(BESIDE):
                found.setdefault(path.with_suffix(CSV).name, path)
    return tuple(found[name] for name in sorted(found))


def read_sheet(path: Path, layout: Layout = USUAL) -> tuple[Sheet | None, tuple[Problem, ...]]:
    """A table's sheet as it stands; None where it cannot be read. Without headings where it ends before them.

    A CSV file that is not there may be there as a workbook; one that is there as both is not read.
    """
    file = table_file(path)
    twin = file.with_suffix(WORKBOOK)
    if file.suffix == CSV and file.exists() and twin.exists():
        return None, (_twice(file, twin),)
    suffix = file.suffix.lower()
    if suffix in UNREAD and file.is_file():
        what = f"{UNREAD[suffix]}, which is not read"
        return None, (Problem("REA026", Place(shown(file)), "", "", what, "save it as xlsx or as CSV"),)
    if suffix != WORKBOOK:
        return read_csv(file, layout)
    from costplan.reading.workbook import read_workbook

    return read_workbook(file, layout.header_line)


def _twice(file: Path, twin: Path) -> Problem:
    what, advice = f"the table is there twice, here and in {twin.name}", f"keep one; remove {file.name} or {twin.name}"
    return Problem("REA025", Place(shown(file)), "", "", what, advice)
