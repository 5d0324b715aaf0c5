"""Reading the files of a season, and whether they speak of the same slots, levels and measures."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TypeVar

from costplan.build import Build
from costplan.problems import Place, Problem, Problems, nearest
from costplan.reading import Record, Setting, read_records, read_table, shown, written_in
from costplan.season.records import CAR, Cost, Engine, Event, Level, Position, Service, Session

R = TypeVar("R", bound=Record)


@dataclass(frozen=True, slots=True)
class SeasonFiles:
    """The rows of a season's files. `addresses`: the files read; `at_fault`: by file, names of rows at fault.

    `unread`: files that are there and cannot be read; what they name is not unknown.
    """

    events: tuple[Event, ...]
    sessions: tuple[Session, ...] = ()
    levels: tuple[Level, ...] = ()
    positions: tuple[Position, ...] = ()
    services: tuple[Service, ...] = ()
    costs: tuple[Cost, ...] = ()
    addresses: tuple[str, ...] = ()
    folder: Path = Path()
    at_fault: Mapping[str, frozenset[str]] = field(default_factory=dict)
    unread: frozenset[str] = frozenset()


def read_season_files(folder: Path, settings: tuple[Setting, ...] = ()) -> tuple[SeasonFiles, tuple[Problem, ...]]:
    """calendar.csv, which must be there, and the other files of a season where they are."""
    problems = Problems()
    addresses: list[str] = []
    at_fault: dict[str, frozenset[str]] = {}
    unread: set[str] = set()

    def rows(name: str, record: type[R], *, needed: bool = False) -> tuple[R, ...]:
        path = folder / f"{name}.csv"
        if not needed and not path.exists():
            return ()
        addresses.append(name)
        table, faults = read_table(path, name)
        problems.extend(faults)
        if table is None:
            unread.add(name)
            return ()
        table, faults = written_in(table, record, settings)
        problems.extend(faults)
        records, faults = read_records(table, record)
        problems.extend(fault for fault in faults if record is not Level or fault.code != Level.REPEATED)
        at_fault[name] = table.cells(record.KEY) - {getattr(entry, record.KEY, "") for entry in records}
        return records

    files = SeasonFiles(
        rows("calendar", Event, needed=True),
        rows("sessions", Session),
        rows("levels", Level),
        rows("positions", Position),
        rows("services", Service),
        rows("costs", Cost),
        tuple(addresses),
        folder,
        at_fault,
        frozenset(unread),
    )
    _check_shops(files.levels, problems)
    return files, tuple(problems.found)


def _check_shops(levels: Iterable[Level], problems: Problems) -> None:
    """Rows that offer one level are told apart by their shops, and mean the same level."""
    first: dict[str, Level] = {}
    shops: dict[tuple[str, str], Level] = {}
    for row in levels:
        level, before = first.setdefault(row.level, row), shops.setdefault((row.level, row.shop), row)
        if before is not row:
            advice = f"give another name, or another shop that does it; the first is in {before.place}"
            problems.add(Level.REPEATED, row.place, "level", row.level, "a second row with the name", advice)
        for column in ("rank", "carrier", "measure"):
            value, other = getattr(row, column), getattr(level, column)
            if value != other:
                what, advice = f"two {column}s of level {row.level}:", f"give {other} as in {level.place}"
                problems.add("SEA018", row.place, column, value, what, advice)


def check_files(files: SeasonFiles, build: Build | None, engines: tuple[Engine, ...]) -> tuple[Problem, ...]:
    """Names that lead nowhere, ranks with holes, and intervals that count nothing."""
    problems = Problems()
    levels = {level.level: level for level in files.levels}
    names = [engine.name for engine in engines]
    faulty = files.at_fault.get("levels", frozenset())
    levels_read = "levels" not in files.unread
    _check_levels(files, problems)
    for event in files.events:
        if event.engine and event.engine not in names:
            problems.add(
                "SEA008", event.place, "engine", event.engine, "an unknown engine", nearest(event.engine, names)
            )
        if event.level and event.level not in levels and event.level not in faulty and levels_read:
            problems.add("SEA001", event.place, "level", event.level, "an unknown level", nearest(event.level, levels))
    slots = build.pattern.slots if build else {}
    for position in files.positions:
        if position.slot not in slots:
            problems.add(
                "SEA002", position.place, "slot", position.slot, "an unknown slot", nearest(position.slot, slots)
            )
        known = {name: level for name, level in levels.items() if level.carrier == position.carrier}
        if position.level not in known and position.level not in faulty and levels_read:
            what = f"no level of the {position.carrier}:"
            problems.add("SEA001", position.place, "level", position.level, what, nearest(position.level, known))
    for level in files.levels:
        _check_renews(level, levels, files, problems)
    return tuple(problems.found)


def _check_levels(files: SeasonFiles, problems: Problems) -> None:
    first: dict[str, Level] = {}
    for row in files.levels:
        first.setdefault(row.level, row)
    for carrier in () if files.at_fault.get("levels") else ("engine", CAR):
        ladder = sorted((level for level in first.values() if level.carrier == carrier), key=lambda level: level.rank)
        for number, level in enumerate(ladder, start=1):
            if level.rank != number:
                advice = f"give {number}; ranks of the {carrier}'s levels run 1, 2, 3"
                problems.add("SEA010", level.place, "rank", level.rank, "a rank out of turn:", advice)
    for level in files.levels:
        if (level.interval is None) != (level.measure is None):
            problems.add(
                "SEA009", level.place, "interval", level.interval, "half an interval", "give interval and measure"
            )


def _check_renews(level: Level, levels: Mapping[str, Level], files: SeasonFiles, problems: Problems) -> None:
    positions = {position.slot: position for position in files.positions}
    for slot in level.renews:
        position = positions.get(slot)
        if slot in files.at_fault.get("positions", ()) or "positions" in files.unread:
            continue
        if position is None:
            advice = f"give it a row in positions.csv; {nearest(slot, positions)}"
            problems.add("SEA002", level.place, "renews", slot, "a slot without a position:", advice)
        elif position.level in levels and (
            position.carrier != level.carrier or levels[position.level].rank > level.rank
        ):
            advice = f"it is reached at {position.level} of the {position.carrier}"
            problems.add("SEA001", level.place, "renews", slot, "a slot that this level does not reach:", advice)


def place_of(files: SeasonFiles, name: str) -> Place:
    """The place of a file as a whole, for what is missing in it."""
    return Place(shown(files.folder / f"{name}.csv"))
