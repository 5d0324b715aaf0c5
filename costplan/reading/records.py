"""From rows and TOML tables to records: one class is validation, column dictionary and type at once."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Any, ClassVar, Generic, Literal, TypeVar, get_args, get_origin

from pydantic import BaseModel, ConfigDict, Field, ValidationError
from pydantic.fields import FieldInfo

from costplan.problems import NOWHERE, Place, Problem, Problems, nearest
from costplan.quantity import split_header
from costplan.reading.fields import Kind, Measured
from costplan.reading.settings import Setting
from costplan.reading.sheets import Row
from costplan.reading.tables import Table
from costplan.reading.toml import Document, KeyPath


class Record(BaseModel):
    """One row of a table or one table of a TOML file: frozen, unknown fields refused, and its own column dictionary.

    A subclass names in `KEY` the column that tells its rows apart ('' where rows may be alike) and in `REPEATED` the
    code of the problem that two with one key are. `REST` names the field that takes columns outside the dictionary.
    `place` is where the record was read; it is no column.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True)
    KEY: ClassVar[str] = ""
    REPEATED: ClassVar[str] = "REA023"
    REST: ClassVar[str] = ""
    place: Place = Field(default=NOWHERE, exclude=True, repr=False)


R = TypeVar("R", bound=Record)


@dataclass(frozen=True, slots=True)
class Column:
    """One line of the column dictionary. `form`: what is written in it, as in `Kind`."""

    name: str
    kind: str
    dimension: str
    required: bool
    default: str
    meaning: str
    form: str = ""


def columns(record: type[Record]) -> tuple[Column, ...]:
    """The column dictionary of a record class, in the order of its fields."""
    return tuple(_column(name, info) for name, info in record.model_fields.items() if name != "place")


def _column(name: str, info: FieldInfo) -> Column:
    kind = kind_of(info)
    default = "" if info.is_required() else _default_words(info.get_default(call_default_factory=True))
    return Column(name, kind.words, kind.dimension, info.is_required(), default, info.description or "", kind.form)


def _default_words(value: Any) -> str:
    """A default in words; that of a table stands at its own keys."""
    if value is None or value == () or value == {} or isinstance(value, Record):
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value)


def kind_of(info: FieldInfo) -> Kind:
    """What the reference says of a field: the `Kind` beside its type, also inside `X | None`; choices as listed."""
    for mark in info.metadata:
        if isinstance(mark, Kind):
            return mark
    return _kind_of_type(info.annotation) or Kind("table")


def _kind_of_type(annotation: Any) -> Kind | None:
    if get_origin(annotation) is Literal:
        return Kind("one of: " + ", ".join(str(choice) for choice in get_args(annotation)))
    if get_origin(annotation) is dict:
        return Kind("table")
    for inner in get_args(annotation):
        if isinstance(inner, Kind):
            return inner
        found = _kind_of_type(inner)
        if found:
            return Kind(f"list of {found.words}s") if get_origin(annotation) is tuple else found
    return None


@dataclass(frozen=True, slots=True)
class _Heading:
    """A column of a table as a record sees it: its number, the field it fills ('' if free), its name and unit."""

    column: str
    at: int
    field: str
    name: str
    unit: str
    measured: bool


def read_records(
    table: Table,
    record: type[R],
    settings: tuple[Setting, ...] = (),
    *,
    free: Collection[str] = (),
    context: Mapping[str, Any] | None = None,
) -> tuple[tuple[R, ...], tuple[Problem, ...]]:
    """The records of a table, those that could be read, with every problem of header and cells.

    `free`: the columns that the record's `REST` may take; `context`: what its validators need to know.
    """
    table, faults = written_in(table, record, settings)
    problems = Problems(list(faults))
    headings = _read_header(table, record, free, problems)
    rows = _Rows(table, record, headings, {"decimal_comma": table.decimal_comma, **(context or {})}, problems)
    records = tuple(found for found in map(rows.read, table.rows) if found is not None)
    if record.KEY:
        problems.extend(repeated(records, record.KEY, record.REPEATED))
    return records, tuple(problems.found)


def repeated(records: Iterable[R], key: str, code: str = "REA023") -> tuple[Problem, ...]:
    """A problem for each record whose key an earlier one has."""
    problems, first = [], dict[Any, Place]()
    for record in records:
        value = getattr(record, key)
        if value in first:
            advice = f"give another name; the first is in {first[value]}"
            problems.append(Problem(code, record.place, key, str(value), "a second row with the name", advice))
        first.setdefault(value, record.place)
    return tuple(problems)


def _read_header(table: Table, record: type[Record], free: Collection[str], problems: Problems) -> tuple[_Heading, ...]:
    """What each column of the table means to the record, with a problem for each that means nothing."""
    known = {column.name: column for column in columns(record) if column.name != record.REST}
    headings: dict[str, _Heading] = {}
    for column in dict.fromkeys(table.header):
        at, place = table.header.index(column), table.header_place(column)
        name, unit = split_header(column)
        if name not in known and name not in free:
            if column or table.cells(""):
                problems.add("REA009", place, column, "", "an unknown column", nearest(name, (*known, *free)))
            continue
        if name in headings:
            problems.add("REA007", place, column, "", "column given twice", "keep one of them")
            continue
        what = known[name].dimension if name in known else ""
        if name in known and unit and not what:
            advice = f"write the heading as {name}"
            problems.add("REA021", place, column, unit, "this column takes no unit:", advice)
        headings[name] = _Heading(column, at, name if name in known else "", name, unit, bool(what))
    for column_info in known.values():
        if column_info.required and column_info.name not in headings and column_info.name not in table.absent:
            advice = f"add it: {column_info.meaning}"
            problems.add("REA008", table.place, column_info.name, "", "this column is missing", advice)
    return tuple(headings.values())


@dataclass(slots=True)
class _Rows(Generic[R]):
    """One way through the rows of a table to records: its columns by how they fill a field, and what it met."""

    table: Table
    record: type[R]
    headings: tuple[_Heading, ...]
    context: dict[str, Any]
    problems: Problems
    plain: list[tuple[str, int]] = field(default_factory=list)
    measured: list[tuple[str, int, str]] = field(default_factory=list)
    free: list[tuple[str, int, str]] = field(default_factory=list)
    at_headings: set[Problem] = field(default_factory=set)

    def __post_init__(self) -> None:
        self.plain = [(head.field, head.at) for head in self.headings if head.field and not head.measured]
        self.measured = [(head.field, head.at, head.unit) for head in self.headings if head.field and head.measured]
        self.free = [(head.name, head.at, head.unit) for head in self.headings if not head.field]

    def read(self, row: Row) -> R | None:
        """The record of a row; None, and its problems, where it has any."""
        cells = row.cells
        data: dict[str, Any] = {name: cell for name, at in self.plain if (cell := cells[at])}
        data["place"] = self.table.row_place(row.line)
        for name, at, unit in self.measured:
            if cell := cells[at]:
                data[name] = Measured(cell, unit)
        if self.record.REST:
            data[self.record.REST] = {name: Measured(cell, unit) for name, at, unit in self.free if (cell := cells[at])}
        found, faults = validate(self.record, data, partial(self._place_of, row), self.context)
        if faults:
            self.problems.extend(self._not_told(row, faults))
        return found

    def _place_of(self, row: Row, loc: KeyPath) -> tuple[Place, str]:
        """Where a field's cell stands, and its heading; its bare name where the row leaves it empty."""
        name = str(loc[-1]) if loc else ""
        filled = (head.column for head in self.headings if head.name == name and row.cells[head.at])
        column = next(filled, name)
        return self.table.place_of(row.line, column), self.table.shown(column)

    def _not_told(self, row: Row, faults: tuple[Problem, ...]) -> Iterator[Problem]:
        """Problems but those of cells that are missing because their column is, or because they were refused.

        Those of a heading's unit are told once.
        """
        refused = {head.name for head in self.headings if (row.line, head.column) in self.table.refused}
        needed = {name for name, info in self.record.model_fields.items() if info.is_required()}
        absent = needed - {head.name for head in self.headings} | self.table.absent
        told = {self.table.shown(name) for name in refused | absent}
        for fault in faults:
            if fault.code == "REA021" and (head := self._unit_of(fault.field)):
                yield from self._at_heading(fault, head)
            elif fault.code != "REA016" or fault.value or fault.field not in told:
                yield fault

    def _unit_of(self, shown: str) -> _Heading | None:
        """The heading whose unit a fault of a column is about, None where the column has its units elsewhere."""
        heads = (head for head in self.headings if head.measured or not head.field)
        return next((head for head in heads if self.table.shown(head.column) == shown), None)

    def _at_heading(self, fault: Problem, head: _Heading) -> Iterator[Problem]:
        """A fault of a heading's unit, which every row under it has: told once, at the heading."""
        found = replace(fault, place=self.table.header_place(head.column), value=head.unit)
        if found not in self.at_headings:
            self.at_headings.add(found)
            yield found


def written_in(table: Table, record: type[Record], settings: tuple[Setting, ...]) -> tuple[Table, tuple[Problem, ...]]:
    """The table with every `--set` that leads into it written in."""
    problems = Problems()
    for setting in settings:
        rest = setting.within(table.address)
        if rest is None:
            continue
        row = _find_row(table, record, "/".join(rest[:-1])) if len(rest) >= 2 else None
        if row is None:
            near = nearest("/".join(rest[:-1]), _keys(table, record))
            advice = f"name the row by its {record.KEY or 'line number'}, then the column; {near}"
            problems.add("REA022", setting.place, "", "/".join(setting.path), "this path leads to no row:", advice)
            continue
        column = next((head for head in table.header if rest[-1] in (head, split_header(head)[0])), rest[-1])
        if column not in table.header:
            table = _with_column(table, column, setting.place)
        table = _with_cell(table, row.line, column, setting)
    return table, tuple(problems.found)


def _with_column(table: Table, column: str, place: Place) -> Table:
    """The table with one more column, empty in all rows."""
    rows = tuple(Row(row.line, (*row.cells, "")) for row in table.rows)
    header_places = {**table.header_places, column: place}
    return replace(table, header=(*table.header, column), rows=rows, header_places=header_places)


def _with_cell(table: Table, line: int, column: str, setting: Setting) -> Table:
    """The table with one cell as a setting wants it."""
    at = table.header.index(column)
    rows = tuple(
        Row(line, (*row.cells[:at], setting.text, *row.cells[at + 1 :])) if row.line == line else row
        for row in table.rows
    )
    set_places = {**table.set_places, (line, column): setting.place}
    return replace(table, rows=rows, set_places=set_places, refused=table.refused - {(line, column)})


def _find_row(table: Table, record: type[Record], key: str) -> Row | None:
    """The row with this key, else the row on the line of this number."""
    keys = _keys(table, record)
    if key in keys:
        return table.rows[keys.index(key)]
    return next((row for row in table.rows if str(row.line) == key), None)


def _keys(table: Table, record: type[Record]) -> list[str]:
    """What the rows are called, '' where they are not."""
    at = table.header.index(record.KEY) if record.KEY and record.KEY in table.header else None
    return [] if at is None else [row.cells[at] for row in table.rows]


def read_head(document: Document, record: type[R], **needed: str) -> tuple[R | None, tuple[Problem, ...]]:
    """The record at the top of a TOML document; keys at fault are left out, so that what it names can be read too.

    `needed`: values for needed keys that are missing or at fault. There is always a problem beside such a record.
    """
    found, faults = read_part(document, (), record)
    if found is not None:
        return found, faults
    at_fault = {fault.field.partition(".")[0] for fault in faults}
    kept = {key: value for key, value in document.values.items() if key not in at_fault}
    rest = Document(document.file, document.address, {**needed, **kept}, document.places)
    return read_part(rest, (), record)[0], faults


def read_part(document: Document, path: KeyPath, record: type[R]) -> tuple[R | None, tuple[Problem, ...]]:
    """The record at one table of a TOML document."""
    value: Any = document.values
    for key in path:
        value = value[key]

    def place_of(loc: KeyPath) -> tuple[Place, str]:
        full = (*path, *loc)
        return document.place(full), document.shown(full)

    if not isinstance(value, dict):
        place, key = place_of(())
        return None, (no_table(place, key, str(value)),)
    if "place" in value:  # a key like another to the user, and not one of the record's columns
        place, key = place_of(("place",))
        return None, (Problem("REA015", place, key, "", "an unknown key", "remove it or correct its name"),)
    return validate(record, {**value, "place": document.place(path)}, place_of, {})


def read_parts(document: Document, key: str, record: type[R]) -> tuple[tuple[R, ...], tuple[Problem, ...]]:
    """The records of an array of tables, `[[key]]`; none where the key is absent."""
    values = document.values.get(key, [])
    if not isinstance(values, list):
        return (), (no_list(document.place((key,)), key, _shown(values)),)
    found, problems = [], Problems()
    for index in range(len(values)):
        part, faults = read_part(document, (key, index), record)
        problems.extend(faults)
        if part is not None:
            found.append(part)
    if record.KEY:
        problems.extend(repeated(found, record.KEY))
    return tuple(found), tuple(problems.found)


def validate(
    record: type[R],
    data: dict[str, Any],
    place_of: Callable[[KeyPath], tuple[Place, str]],
    context: dict[str, Any],
) -> tuple[R | None, tuple[Problem, ...]]:
    """One record from raw values; each of pydantic's errors as a problem at its place."""
    try:
        return record.model_validate(data, context=context), ()
    except ValidationError as error:
        return None, tuple(_problem(fault, place_of, record) for fault in error.errors(include_url=False))


def _problem(fault: Any, place_of: Callable[[KeyPath], tuple[Place, str]], record: type[Record]) -> Problem:
    context = fault.get("ctx", {})
    inner = context.get("field", "")
    place, name = place_of((inner,) if inner else tuple(fault["loc"]))
    value = fault["input"]
    value = value.get(inner, "") if isinstance(value, dict) and inner else value
    value = value.text if isinstance(value, Measured) else value
    shown = _shown(value)
    if fault["type"] == "costplan":
        return Problem(context["code"], place, name, shown, context["what"], context["advice"])
    if fault["type"] == "missing":
        return Problem("REA016", place, name, "", "a needed value is missing", "give it")
    if fault["type"] == "extra_forbidden":
        what = "an unknown key with the value" if shown else "an unknown key"
        return Problem("REA015", place, name, shown, what, _renamed(fault["loc"], record))
    if fault["type"] == "literal_error":
        return Problem("REA020", place, name, shown, "not among the words allowed:", _word(shown, context["expected"]))
    if fault["type"] in ("tuple_type", "list_type"):
        return no_list(place, name, shown)
    if fault["type"] in ("dict_type", "model_type", "model_attributes_type"):
        return no_table(place, name, shown)
    return Problem("REA017", place, name, shown, "a value of the wrong kind", str(fault["msg"]).lower())


def _word(given: str, expected: str) -> str:
    """Advice that names the word meant, in whatever letters, else all that are allowed: `'ran', 'paid' or 'failed'`.

    >>> _word("Over-Revved", "'ran', 'paid' or 'over-revved'")
    "did you mean 'over-revved'?"
    """
    near = nearest(given.lower(), re.findall("'([^']*)'", expected))
    return near if near.startswith("did you mean") else f"give {expected}"


def _renamed(key: KeyPath, record: type[Record]) -> str:
    """Advice on an unknown key: the one most like it, where one is."""
    near = nearest(str(key[-1]), record.model_fields) if len(key) == 1 else ""
    return near if near.startswith("did you mean") else "remove it or correct its name"


def _shown(value: Any) -> str:
    return "" if isinstance(value, dict | Record) else str(value)


def no_list(place: Place, key: str, value: str) -> Problem:
    """The problem of one value where several belong."""
    advice = f'write it as ["one", "two"], tables each under [[{key}]]'
    return Problem("REA017", place, key, value, "not a list", advice)


def no_table(place: Place, key: str, value: str) -> Problem:
    """The problem of a plain value where keys and values belong."""
    return Problem("REA017", place, key, value, "not a table", f"write its keys under [{key}]")
