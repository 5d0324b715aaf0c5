"""Answers as data: JSON with money as strings, and CSV that no spreadsheet takes for a formula."""

from __future__ import annotations

import csv
import dataclasses
import io
import json
import math
import os
import re
import tempfile
from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

from costplan.problems import Place, Problem
from costplan.quantity import Quantity
from costplan.reading import Record

#: A number, with its unit or without, which no spreadsheet runs.
FIGURE = re.compile(r"-?\d+(\.\d+)?(e[+-]?\d+)?( [A-Za-z]\w*(/\w+)?)?")


def plain(value: Any) -> Any:
    """A record as JSON knows it: money as strings, dates as year-month-day, what is infinite or unknown as null."""
    if isinstance(value, Place):
        return str(value)
    if isinstance(value, Quantity):
        return {"value": plain(value.value), "unit": value.unit}
    if isinstance(value, Record):
        return {name: plain(getattr(value, name)) for name in type(value).model_fields}
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {name: plain(getattr(value, name)) for name in names_of(type(value))}
    if isinstance(value, Mapping):
        return {str(key): plain(inner) for key, inner in value.items()}
    if isinstance(value, str) or value is None or isinstance(value, bool | int):
        return value
    if isinstance(value, Decimal | date):
        return str(value)
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    return [plain(inner) for inner in value]


def names_of(record: type[Any]) -> list[str]:
    """The fields of a record, then what it derives from them (a total)."""
    fields = [field.name for field in dataclasses.fields(record)]
    return fields + [name for name, found in vars(record).items() if isinstance(found, property)]


def to_json(answer: str, **parts: Any) -> str:
    """An answer under its name; keys may be added within a major version of the form, never renamed."""
    return json.dumps({"answer": answer, "form": "1.0", **plain(parts)}, indent=2, ensure_ascii=False)


def problems_to_json(problems: Iterable[Problem]) -> str:
    return to_json("problems", problems=problem_rows(problems))


def problem_rows(problems: Iterable[Problem]) -> list[dict[str, Any]]:
    return [
        {
            "code": problem.code,
            "file": problem.place.file,
            "line": problem.place.line,
            "cell": problem.place.cell(problem.field) or None,
            "field": problem.field,
            "value": problem.value,
            "what": problem.what,
            "advice": problem.advice,
        }
        for problem in problems
    ]


def to_csv(header: Iterable[str], rows: Iterable[Iterable[Any]]) -> str:
    """Rows as CSV. A text that a spreadsheet would run as a formula gets an apostrophe before it."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(header)
    writer.writerows([tame(cell) for cell in row] for row in rows)
    return out.getvalue()


def tame(cell: Any) -> Any:
    """
    >>> tame("=1+1"), tame(Decimal("-3.50")), tame("-3.5 in3")
    ("'=1+1", Decimal('-3.50'), '-3.5 in3')
    """
    if not isinstance(cell, str) or FIGURE.fullmatch(cell):
        return cell
    return f"'{cell}" if cell[:1] in ("=", "+", "-", "@", "\t", "\r") else cell


def records_to_csv(record: type[Any], records: Iterable[Any]) -> str:
    """Flat records as CSV, a column for each field."""
    names = [field.name for field in dataclasses.fields(record)]
    rows = ([_flat(getattr(entry, name)) for name in names] for entry in records)
    return to_csv(names, rows)


def _flat(value: Any) -> Any:
    if isinstance(value, tuple):
        return " | ".join(": ".join(map(str, inner)) if isinstance(inner, tuple) else str(inner) for inner in value)
    return "" if value is None else str(value) if isinstance(value, Place | Quantity) else value


def in_the_way(path: Path) -> str:
    """What stands in the way of a new file of a name, '' if nothing; asked before work that would be in vain."""
    if os.path.lexists(path):
        return f"{path} is there already; give a new name, nothing was written"
    return "" if path.parent.is_dir() else f"{path} cannot be written: no such folder; give another name"


def write_new(path: Path, data: str | bytes) -> str:
    """Writes a file whole or not at all, and over none; what stands in the way of it, '' if nothing."""
    return in_the_way(path) or _write(path.parent, {path.name: data.encode() if isinstance(data, str) else data})


def write_all(folder: Path, files: Mapping[str, bytes]) -> str:
    """Writes files into a folder, which is made where it is missing: all of them or none, and over none.

    What stands in the way of it, '' if nothing.
    """
    if not folder.exists():
        if not folder.parent.is_dir():
            return f"{folder} cannot be made: no such folder {folder.parent}; give another name, nothing was written"
        try:
            folder.mkdir(exist_ok=True)
        except OSError as error:
            return f"{folder} cannot be made: {error.strerror}; give another name, nothing was written"
    refusals = (in_the_way(folder / name) for name in files)
    return next((refusal for refusal in refusals if refusal), "") or _write(folder, files)


def _write(folder: Path, files: Mapping[str, bytes]) -> str:
    """Writes files that are drafted whole first; where one cannot be put in its place, none is."""
    placed: list[Path] = []
    path = folder
    try:
        with tempfile.TemporaryDirectory(dir=folder, prefix=".costplan-") as draft:
            for name, data in files.items():
                (Path(draft) / name).write_bytes(data)
            for name in files:
                path = folder / name
                path.hardlink_to(Path(draft) / name)
                placed.append(path)
    except OSError as error:
        for done in placed:
            done.unlink(missing_ok=True)
        words = in_the_way(path) if isinstance(error, FileExistsError) else ""
        return words or f"{path} cannot be written: {error.strerror}; give another name, nothing was written"
    return ""
