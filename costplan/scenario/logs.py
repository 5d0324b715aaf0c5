"""The logs that a scenario learns from: its own log.csv and those that scenario.toml names, of any engines."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from costplan.garage.log import Entry, read_log
from costplan.problems import Place, Problem, Problems, in_order, nearest
from costplan.reading import is_there, read_toml, shown, table_file
from costplan.scenario.scenario import Scenario

OWN = "log.csv"


@dataclass(frozen=True, slots=True)
class Log:
    """A log by the name of its file. `own`: that of the scenario's engines, from the day its books open."""

    name: str
    entries: tuple[Entry, ...]
    own: bool


def read_logs(folder: Path, scenario: Scenario) -> tuple[tuple[Log, ...], tuple[Problem, ...]]:
    """The logs of a scenario that was read without problems, with all that is wrong in them.

    In those of other engines, which only lives are learned from, slots, levels and parts must be the scenario's.
    """
    problems = Problems()
    own = table_file(folder / OWN)
    logs = [Log(own.name, scenario.log, own=True)] if scenario.log else []
    for number, name in enumerate(scenario.header.logs, start=1):
        path = folder / name
        if not is_there(path):
            advice = "name a file, from the scenario's folder"
            problems.add("REA001", _named_at(folder, number), f"logs.{number}", name, "no such file:", advice)
        elif table_file(path).resolve() != own.resolve():
            entries, faults = read_log(path)
            problems.extend((*faults, *_unknown(entries, scenario)))
            logs.append(Log(name, entries, own=False))
    return tuple(logs), in_order(problems.found)


def _named_at(folder: Path, number: int) -> Place:
    """Where scenario.toml names a log, the first of them is 1."""
    document, _ = read_toml(folder / "scenario.toml", "scenario")
    return document.place(("logs", number - 1)) if document else Place(shown(folder / "scenario.toml"))


def _unknown(entries: Sequence[Entry], scenario: Scenario) -> Iterator[Problem]:
    """Slots, levels and parts that the scenario does not have, and rows that say nothing of a life."""
    slots = scenario.build.pattern.slots if scenario.build else {}
    levels = [row.level for row in scenario.files.levels]
    parts = scenario.catalog.parts if scenario.catalog else {}
    for row in entries:
        for slot in row.slot:
            if slot not in slots:
                yield Problem("SEA002", row.place, "slot", slot, "an unknown slot", nearest(slot, slots))
        if row.level and row.level not in levels:
            yield Problem("SEA001", row.place, "level", row.level, "an unknown level", nearest(row.level, levels))
        if row.part and row.part not in parts:
            yield Problem("BLD002", row.place, "part", row.part, "an unknown part", nearest(row.part, parts))
        yield from _lacking(row)


def _lacking(row: Entry) -> Iterator[Problem]:
    if row.what in ("changed", "failed", "mended") and not row.slot:
        yield Problem("REA016", row.place, "slot", "", f"{row.what}, and no word of what", "name the slot")
    if row.what == "serviced" and not row.level:
        yield Problem("REA016", row.place, "level", "", "serviced at no level", "name the level that was done")
    if row.what == "ran" and not row.use:
        yield Problem("REA016", row.place, "events", "", "a run without use", "give its events, laps or hours")
    if row.what != "paid" and not row.engine:
        yield Problem("REA016", row.place, "engine", "", f"{row.what}, and no engine", "name the engine")
