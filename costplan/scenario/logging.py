"""One more row of a scenario's log, written only if the whole log with it is in order."""

from __future__ import annotations

import os
import shutil
import tempfile
import time
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from costplan.garage.appending import new_file, other_units, with_row
from costplan.garage.log import Entry
from costplan.problems import Place, Problem
from costplan.quantity import split_header
from costplan.reading import columns, is_folder, read_sheet, shown
from costplan.scenario.reading import read_scenario
from costplan.scenario.scenario import Scenario


@dataclass(frozen=True, slots=True)
class Added:
    """A row that was written, the scenario with it, and by column of use the unit in which the file has it."""

    entry: Entry
    scenario: Scenario
    units: Mapping[str, str]


#: How often a row is tried while something else writes to the file, and the seconds between two tries.
TRIES, PAUSE = 5, 0.2
#: How it is said that something else still does.
AGAIN = "give the command again"


def add_entry(folder: Path, cells: Mapping[str, str]) -> tuple[Added | None, tuple[Problem, ...], str]:
    """Writes one row behind a scenario's log, which is made if there is none: whole or not at all.

    `cells`: what the row gives, by column. Nothing is written where there are problems, or where something stands in
    the way of it, which is then said. Who else writes a row at the same moment is let go first.
    """
    for left in range(TRIES - 1, -1, -1):
        added, problems, refusal = _add(folder, cells)
        if not left or not refusal.endswith(AGAIN):
            break
        time.sleep(PAUSE)
    return added, problems, refusal


def _add(folder: Path, cells: Mapping[str, str]) -> tuple[Added | None, tuple[Problem, ...], str]:
    """One try at it."""
    there, problems = is_folder(folder)
    if not there:
        return None, problems, ""
    path = folder / "log.csv"
    if path.is_file() and not os.access(path, os.W_OK):
        return None, (), f"{path} may not be written; nothing was changed"
    try:
        before = path.read_bytes() if path.is_file() else None
        text, problems = _text(path, before, cells)
        if text is None:
            return None, problems, ""
        target = path.resolve()
        with tempfile.TemporaryDirectory(dir=target.parent, prefix=".costplan-") as room:
            draft = Path(room) / path.name
            _write(draft, text)
            scenario, problems = read_scenario(folder, log=draft)
            if scenario is None:
                return None, tuple(_at_home(problem, draft, path) for problem in problems), ""
            sheet, _ = read_sheet(draft)
            refusal = _put(draft, target, before)
    except OSError as error:
        return None, (), f"{path} cannot be read or written: {error.strerror}; nothing was changed"
    if refusal:
        return None, (), refusal
    entry = max(scenario.log, key=lambda entry: entry.place.line or 0)
    units = dict(split_header(name) for name in (sheet.header if sheet else ()))
    return Added(entry.model_copy(update={"place": Place(shown(path), entry.place.line)}), scenario, units), (), ""


def _text(path: Path, before: bytes | None, cells: Mapping[str, str]) -> tuple[str | None, tuple[Problem, ...]]:
    """The log with the row, as it stands in the file; None where it cannot be read."""
    if before is None and not path.exists():
        return new_file([column.name for column in columns(Entry) if column.name != Entry.REST], cells), ()
    sheet, problems = read_sheet(path)
    if sheet is None or problems or before is None:
        return None, problems
    units = [
        Problem(
            "REA021",
            Place(sheet.file, sheet.header_line),
            heading,
            name,
            "another unit than the log's:",
            "give it in that",
        )
        for name, heading in other_units(sheet, cells)
    ]
    if units:
        return None, tuple(units)
    return with_row(before.decode("utf-8"), sheet, _in_its_form(cells, sheet.delimiter)), ()


def _in_its_form(cells: Mapping[str, str], delimiter: str) -> dict[str, str]:
    """The cells with numbers as the file may write them: behind semicolons a comma stands before decimals."""
    texts = ("date", "what", "engine", "event", "level", "slot", "part", "piece", "finding", "line", "note")
    comma = delimiter == ";"
    return {name: cell.replace(".", ",") if comma and name not in texts else cell for name, cell in cells.items()}


def _write(draft: Path, text: str) -> None:
    with draft.open("wb") as out:
        out.write(text.encode("utf-8"))
        out.flush()
        os.fsync(out.fileno())


def _put(draft: Path, target: Path, before: bytes | None) -> str:
    """Puts the whole file in place, over what was read and nothing else; what stands in the way, '' if nothing."""
    changed = f"{target.name} was changed meanwhile by something else; nothing was written, {AGAIN}"
    if before is None:
        try:
            target.hardlink_to(draft)
        except FileExistsError:
            return changed
        return ""
    if target.read_bytes() != before:
        return changed
    shutil.copymode(target, draft)
    draft.replace(target)
    return ""


def _at_home(problem: Problem, draft: Path, path: Path) -> Problem:
    """A problem of the draft where the user has the file."""
    if problem.place.file != shown(draft):
        return problem
    return replace(
        problem, place=Place(shown(path), problem.place.line), advice=problem.advice.replace(shown(draft), shown(path))
    )
