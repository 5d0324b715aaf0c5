"""One more row of a scenario's log, written only if the whole log with it is in order."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from costplan.garage.appending import new_file, other_units, with_row
from costplan.garage.log import Entry
from costplan.garage.putting import put_behind
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


def add_entry(folder: Path, cells: Mapping[str, str]) -> tuple[Added | None, tuple[Problem, ...], str]:
    """Writes one row behind a scenario's log, which is made if there is none: whole or not at all.

    `cells`: what the row gives, by column. Nothing is written where there are problems, or where something stands in
    the way of it, which is then said. Who else writes a row at the same moment is let go first.
    """
    there, problems = is_folder(folder)
    if not there:
        return None, problems, ""
    path = folder / "log.csv"
    return put_behind(path, lambda before: _text(path, before, cells), lambda draft: _read_back(folder, draft))


def _read_back(folder: Path, draft: Path) -> tuple[Added | None, tuple[Problem, ...]]:
    """The scenario with a draft of its log, and the row that stands last in it."""
    scenario, problems = read_scenario(folder, log=draft)
    if scenario is None:
        return None, problems
    sheet, _ = read_sheet(draft)
    entry = max(scenario.log, key=lambda entry: entry.place.line or 0)
    units = dict(split_header(name) for name in (sheet.header if sheet else ()))
    home = Place(shown(folder / "log.csv"), entry.place.line)
    return Added(entry.model_copy(update={"place": home}), scenario, units), ()


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
