"""Reading the groups of a field: what each of their entrants is, by a scenario, a variant of it, parts and a
calendar."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

from costplan.build import Build, with_part
from costplan.choose.replayed import as_new
from costplan.impact.field import Crowd
from costplan.impact.records import Group, Range, Told
from costplan.impact.speed import at_speed, speed_factor
from costplan.problems import Place, Problem, Problems, nearest
from costplan.reading import Document, Record, is_there, parse_settings, read_records, read_table, shown
from costplan.scenario import Scenario, read_scenario
from costplan.season import Event
from costplan.season.inputs import check_files


class Reader:
    """One way through the files of a study: its what-ifs, and the problems met."""

    def __init__(self, folder: Path, texts: Sequence[str]) -> None:
        self.folder = folder
        self.settings, faults = parse_settings(texts)
        self.problems = Problems(list(faults))
        self.beside: tuple[str, ...] = ()
        self.named: frozenset[str] = frozenset()
        self.document: Document | None = None

    def rows(self, name: str, record: type[Record]) -> tuple[Record, ...]:
        """The rows of a table, none where it is not there."""
        path = self.folder / f"{name}.csv"
        if not is_there(path):
            return ()
        table, faults = read_table(path, name)
        self.problems.extend(faults)
        if table is None:
            return ()
        self.named = table.cells(record.KEY)
        records, faults = read_records(table, record, self.settings)
        self.problems.extend(faults)
        return records

    def place(self, file: str) -> Place:
        return Place(shown(self.folder / file))

    def named_in_study(self, name: str) -> tuple[Place, str]:
        """Where impact.toml names a change, and by which key."""
        if self.document is None:
            return self.place("impact.toml"), "changes"
        key = ("changes", list(self.document.values["changes"]).index(name))
        return self.document.place(key), self.document.shown(key)


def read_crowds(reader: Reader, base: Scenario, texts: Sequence[str], follows: float) -> Iterator[Crowd]:
    """The groups, each with the scenario that its entrants are."""
    path = reader.folder / "field.csv"
    rows = [row for row in reader.rows("field", Group) if isinstance(row, Group)]
    unread = reader.named - {row.group for row in rows}
    told = [row for row in reader.rows("survey", Told) if isinstance(row, Told)]
    if not is_there(path):
        advice = "write one row for each group: group, entrants, parts, age_low, age_high"
        reader.problems.add("REA001", reader.place("field.csv"), "", "", "no field: the file is missing", advice)
    elif not rows and not reader.problems:
        reader.problems.add("REA016", reader.place("field.csv"), "", "", "a field without a group", "write one row")
    reader.problems.extend(_wrong_answers([one for one in told if one.group not in unread], rows))
    read: dict[tuple[str, str], Scenario | None] = {("", ""): base}
    for row in rows:
        scenario = _scenario_of(row, reader, texts, read, follows)
        if scenario is not None:
            yield _crowd(row, scenario, [one for one in told if one.group == row.group])


def _wrong_answers(told: Sequence[Told], rows: Sequence[Group]) -> Iterator[Problem]:
    """Answers of groups that are not in the field, and second answers to one question."""
    groups = {row.group: row for row in rows}
    first: dict[tuple[str, str], Place] = {}
    for one in told:
        if one.group not in groups:
            what, advice = "a group that field.csv lacks:", nearest(one.group, groups)
            yield Problem("IMP004", one.place, "group", one.group, what, advice)
        elif one.asks == "age" and groups[one.group].joins:
            what, advice = "ages of who owns nothing:", "take the row out, or joins off the group"
            yield Problem("IMP001", one.place, "asks", one.asks, what, advice)
        before = first.setdefault((one.group, one.asks), one.place)
        if before != one.place:
            advice = f"put both together; the first is in {before}"
            yield Problem("REA023", one.place, "asks", one.asks, f"a second answer for {one.group}:", advice)


def _crowd(row: Group, scenario: Scenario, told: Sequence[Told]) -> Crowd:
    """A group with what its survey says in place of its row."""
    asked = {one.asks: Range(one.low, one.likely, one.high) for one in told}
    plain = Decimal(row.entrants)
    ages = asked.get("age")
    if ages is None and row.age_low is not None and row.age_high is not None:
        low, high = Decimal(repr(row.age_low)), Decimal(repr(row.age_high))
        ages = Range(low, (low + high) / 2, high)
    return Crowd(
        row,
        scenario,
        asked.get("entrants", Range(plain, plain, plain)),
        ages,
        asked["budget"].likely if "budget" in asked else row.budget,
        asked["leaves_above"].likely if "leaves_above" in asked else row.leaves_above,
        tuple(told),
    )


def _scenario_of(
    row: Group, reader: Reader, texts: Sequence[str], read: dict[tuple[str, str], Scenario | None], follows: float
) -> Scenario | None:
    """The scenario that each of a group is: read as a variant where it names one, its own parts and calendar in it."""
    key = (row.scenario, row.variant)
    if key not in read:
        read[key] = _read_other(row, reader, texts, read)
    scenario = read[key]
    if scenario is None:
        return None
    if scenario.build is None:
        reader.problems.extend([scenario.without("build")])
        return None
    before = len(reader.problems.found)
    if row.calendar:
        scenario = _with_calendar(scenario, row, reader)
    scenario = _with_parts(scenario, row, reader, follows)
    if len(reader.problems.found) > before or scenario.build is None:
        return None
    scenario = as_new(scenario, scenario.build) if row.joins else replace(scenario, compiled=None, log=())
    season, faults = scenario.season()
    reader.problems.extend(faults)
    return None if season is None else replace(scenario, compiled=season)


def _read_other(
    row: Group, reader: Reader, texts: Sequence[str], read: dict[tuple[str, str], Scenario | None]
) -> Scenario | None:
    """Another scenario, or a variant of one."""
    folder = reader.folder / row.scenario if row.scenario else reader.folder
    given = tuple(texts) if not row.scenario else ()
    plain = read.get((row.scenario, ""))
    if plain is None:
        plain, faults = read_scenario(folder, given)
        reader.problems.extend(faults)
        strange = tuple(_of_another_class(row, plain, read["", ""]))
        reader.problems.extend(strange)
        plain = read[row.scenario, ""] = None if strange else plain
    if plain is None or not row.variant:
        return plain
    variants = {one.name: one for one in plain.header.variants}
    if row.variant not in variants:
        what, advice = "no such variant:", nearest(row.variant, variants)
        reader.problems.add("REA020", row.place, "variant", row.variant, what, advice)
        return None
    texts = (*given, *variants[row.variant].set)
    scenario, faults = read_scenario(folder, texts, beside=reader.beside)
    reader.problems.extend(replace(fault, what=f"with '{row.variant}': {fault.what}") for fault in faults)
    return scenario


def _of_another_class(row: Group, other: Scenario | None, base: Scenario | None) -> Iterator[Problem]:
    """Why a scenario is not of the class that is studied: another currency, or an engine with other slots."""
    if other is None or base is None:
        return
    if other.header.currency != base.header.currency:
        what, advice = (
            f"in {other.header.currency}, not in the study's currency:",
            f"give one in {base.header.currency}",
        )
        yield Problem("IMP006", row.place, "scenario", row.scenario, what, advice)
    if other.build is not None and other.build.pattern.slots.keys() != base.built().pattern.slots.keys():
        what, advice = "an engine with other slots than the book speaks of:", "give a scenario of the same class"
        yield Problem("IMP006", row.place, "scenario", row.scenario, what, advice)


def _with_calendar(scenario: Scenario, row: Group, reader: Reader) -> Scenario:
    """A scenario with another calendar."""
    path = Path(scenario.folder) / row.calendar
    table, faults = read_table(path, path.stem)
    reader.problems.extend(faults)
    if table is None:
        return scenario
    events, faults = read_records(table, Event, reader.settings)
    reader.problems.extend(faults)
    scenario = _without_idle_turns(replace(scenario, files=replace(scenario.files, events=events)))
    reader.problems.extend(check_files(scenario.files, scenario.build, scenario.engines))
    return scenario


def _without_idle_turns(scenario: Scenario) -> Scenario:
    """A scenario without the parts that take turns for set-ups which no event of its calendar has."""
    build = scenario.built()
    setups = {event.setup for event in scenario.files.events}
    idle = {
        (slot, one.name)
        for slot, rows in build.alternates.items()
        for one in rows
        if one.serves and not setups & {*one.serves}
    }
    alternates = {
        slot: tuple(one for one in rows if (slot, one.name) not in idle) for slot, rows in build.alternates.items()
    }
    taking = {slot: rows for slot, rows in alternates.items() if any(one.serves for one in rows)}
    garage = tuple(
        piece.model_copy(update={"alternate": ""}) if piece.slot in alternates.keys() - taking.keys() else piece
        for piece in scenario.garage
        if (piece.slot, piece.alternate) not in idle
    )
    return replace(scenario, build=replace(build, alternates=taking), garage=garage)


def _with_parts(scenario: Scenario, row: Group, reader: Reader, follows: float) -> Scenario:
    """A scenario with other parts in some slots, of the build and of what stands in the garage there.

    What else takes turns in such a slot goes: one part stands there then. Mean speeds follow where it cuts out.
    """
    build, catalog = scenario.build, scenario.catalog
    if build is None or catalog is None:
        return scenario
    for slot, part in row.parts.items():
        if slot not in build.pattern.slots:
            reader.problems.add(
                "BLD001", row.place, "parts", slot, "an unknown slot", nearest(slot, build.pattern.slots)
            )
        elif part not in catalog.parts:
            known = [one.part for one in catalog.of_role(build.pattern.slots[slot].role)]
            reader.problems.add("BLD002", row.place, "parts", part, "an unknown part", nearest(part, known))
        elif catalog.parts[part].role != build.pattern.slots[slot].role:
            advice = f"give one with role {build.pattern.slots[slot].role}"
            reader.problems.add("BLD003", row.place, "parts", part, f"a part that does not fit {slot}:", advice)
        else:
            build = with_part(build, slot, catalog.parts[part])
            build = replace(build, alternates={name: row for name, row in build.alternates.items() if name != slot})
    garage = tuple(
        piece.model_copy(update={"part": row.parts[piece.slot], "alternate": "", "step": 0})
        if piece.slot in row.parts
        else piece
        for piece in scenario.garage
        if piece.slot not in row.parts or _is_main(scenario.build or build, piece.slot, piece.alternate)
    )
    # A dyno sheet says what was in the engine that was pulled, whatever a group has instead.
    pulled = {pull.engine: scenario.built(pull.engine) for pull in scenario.dyno}
    files = at_speed(scenario.files, speed_factor(scenario.build, build, follows)) if scenario.build else scenario.files
    on_brake = {**pulled, **scenario.on_brake}
    return replace(scenario, build=build, garage=garage, files=files, on_brake=on_brake)


def _is_main(build: Build, slot: str, alternate: str) -> bool:
    """Whether a piece is the one of its slot that does not only take turns."""
    return all(one.name != alternate or not one.serves for one in build.alternates.get(slot, ()))
