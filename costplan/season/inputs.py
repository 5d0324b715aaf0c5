"""Reading the files of a season, and whether they speak of the same slots, levels and measures."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TypeVar

from costplan.build import Build
from costplan.problems import Place, Problem, Problems, nearest
from costplan.reading import Record, Setting, is_there, read_records, read_table, shown, table_file, written_in
from costplan.season.records import CAR, Case, Cost, Engine, Event, Hazard, Level, Position, Service, Session, Supplier

R = TypeVar("R", bound=Record)
#: Chances are sums of floats: passing 1 by less is reaching it.
CHANCE_SLACK = 1e-9


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
    hazards: tuple[Hazard, ...] = ()
    cases: tuple[Case, ...] = ()
    suppliers: tuple[Supplier, ...] = ()
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
        if not needed and not is_there(path):
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
        rows("hazards", Hazard),
        rows("damage", Case),
        rows("suppliers", Supplier),
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
        _check_slots(level, "renews", levels, files, problems)
        _check_slots(level, "checks", levels, files, problems)
        _check_run_in(level, files, problems)
    _check_hazards(files, problems)
    _check_cases(files, problems)
    return tuple(problems.found)


def check_suppliers(files: SeasonFiles, sellers: Collection[str] | None) -> tuple[Problem, ...]:
    """Whoever has terms sells something or does a level; `sellers`: of the catalogs, None where those are at fault."""
    problems = Problems()
    if sellers is None or "levels" in files.unread or files.at_fault.get("levels"):
        return ()
    known = dict.fromkeys((*sellers, *(level.shop for level in files.levels if level.shop)))
    for row in files.suppliers:
        if row.supplier not in known:
            what, advice = "neither a supplier of the catalogs nor a shop of levels.csv:", nearest(row.supplier, known)
            problems.add("SUP001", row.place, "supplier", row.supplier, what, advice)
    return tuple(problems.found)


def _check_run_in(level: Level, files: SeasonFiles, problems: Problems) -> None:
    formats = dict.fromkeys(session.format for session in files.sessions)
    if level.run_in and level.run_in not in formats and "sessions" not in files.unread:
        advice = f"add it to sessions.csv; {nearest(level.run_in, formats)}"
        problems.add("SEA007", level.place, "run_in", level.run_in, "an unknown format", advice)


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


def _check_slots(
    level: Level, column: str, levels: Mapping[str, Level], files: SeasonFiles, problems: Problems
) -> None:
    """What a level renews or checks every time has a position that it reaches."""
    positions = {position.slot: position for position in files.positions}
    for slot in getattr(level, column):
        position = positions.get(slot)
        if slot in files.at_fault.get("positions", ()) or "positions" in files.unread:
            continue
        if position is None:
            advice = f"give it a row in positions.csv; {nearest(slot, positions)}"
            problems.add("SEA002", level.place, column, slot, "a slot without a position:", advice)
        elif position.level in levels and (
            position.carrier != level.carrier or levels[position.level].rank > level.rank
        ):
            advice = f"it is reached at {position.level} of the {position.carrier}"
            problems.add("SEA001", level.place, column, slot, "a slot that this level does not reach:", advice)


def place_of(files: SeasonFiles, name: str) -> Place:
    """The place of a file as a whole, for what is missing in it."""
    return Place(shown(table_file(files.folder / f"{name}.csv")))


def _check_hazards(files: SeasonFiles, problems: Problems) -> None:
    """A hazard is told apart from slots and services, since damage.csv names it beside them."""
    taken = {row.slot: row.place for row in files.positions} | {row.service: row.place for row in files.services}
    for hazard in files.hazards:
        if hazard.hazard in taken:
            advice = f"give another name; it is taken in {taken[hazard.hazard]}"
            problems.add("SEA020", hazard.place, "hazard", hazard.hazard, "a hazard with a slot's name:", advice)


def _check_cases(files: SeasonFiles, problems: Problems) -> None:
    """Each case is of a slot or hazard that is there and hits what is there; their chances come to 1 at the most."""
    carriers = {row.slot: row.carrier for row in files.positions} | {row.hazard: row.carrier for row in files.hazards}
    hit = [*(row.slot for row in files.positions), *(row.service for row in files.services if row.whole)]
    sums: dict[str, float] = {}
    for case in files.cases:
        if _is_missing(case.slot, carriers, ("positions", "hazards"), files):
            what = "neither a slot with a position nor a hazard:"
            advice = f"give it a row in positions.csv or hazards.csv; {nearest(case.slot, carriers)}"
            problems.add("SEA022", case.place, "slot", case.slot, what, advice)
        for slot in case.hits:
            if _is_missing(slot, hit, ("positions", "services"), files):
                advice = f"give it a row in positions.csv or services.csv; {nearest(slot, hit)}"
                problems.add("SEA002", case.place, "hits", slot, "a slot without a position:", advice)
        if case.loses_engine and carriers.get(case.slot) == CAR:
            what, advice = f"{case.slot} is of the car, and its case loses the engine:", "give stays"
            problems.add("SEA025", case.place, "engine", case.engine, what, advice)
        sums[case.slot] = sums.get(case.slot, 0.0) + case.chance
        if sums[case.slot] > 1 + CHANCE_SLACK:
            what = f"with it the cases of {case.slot} come to {sums[case.slot]:.4g}:"
            problems.add("SEA023", case.place, "chance", f"{case.chance:g}", what, "let them come to 1 at the most")
    _check_case_names(files.cases, problems)


def _check_case_names(cases: Iterable[Case], problems: Problems) -> None:
    """The cases of one slot or hazard are told apart by their names."""
    first: dict[tuple[str, str], Place] = {}
    for case in cases:
        before = first.setdefault((case.slot, case.case), case.place)
        if before != case.place:
            advice = f"give another name; the first is in {before}"
            problems.add("REA023", case.place, "case", case.case, f"a second case of {case.slot} with the name", advice)


def _is_missing(name: str, known: Collection[str], tables: Iterable[str], files: SeasonFiles) -> bool:
    """Whether nothing gives a name; what stands in a row or a file at fault is not missing."""
    excused = any(name in files.at_fault.get(table, ()) or table in files.unread for table in tables)
    return name not in known and not excused
