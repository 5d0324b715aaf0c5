"""JSON Schemas of the files that a user writes, made from the records that read them.

Of a TOML file the schema is of the whole file as a TOML reader gives it, dates as year-month-day; of a CSV file it is
of one row: headings, with units in brackets, and cells as text. They describe what the form of a value can show; what
hangs on other values and files is told by `costplan check`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any, Literal, get_args, get_origin

from costplan.quantity import MEASURES, UNITS
from costplan.reading import Column, Record, columns
from costplan.reading.fields import Kind
from costplan.reference import ABOUT, FILES
from costplan.rules import KINDS, Heading, PartList
from costplan.rules.change import Addition, ChangeHeader
from costplan.writing.shapes import DRAFT, Schema

NUMBER = r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?( ?%)?"
DAY = r"\d{4}-\d{2}-\d{2}"
YES_NO = r"[Yy][Ee][Ss]|[Nn][Oo]"
HEADING = r"[^\[\]]+( \[[^\[\]]+\])?"
#: What the words of a kind say, for those that are more than any text.
LISTS = ("names, blanks between", "dates, blanks between")
USE = f"({'|'.join(MEASURES)})( \\[[^\\[\\]]+\\])?"

#: The tables of each TOML file, and what its rows are for a CSV file: name of the table ('' for the top), its record.
TABLES: Mapping[str, Mapping[str, type[Record]]] = MappingProxyType(
    {file: {table: record for name, table, record in FILES if name == file} for file in ABOUT}
)
#: The schemas by their names: that of the file, with .csv where it may have any.
FILE_NAMES: Mapping[str, str] = MappingProxyType({file if "." in file else f"{file}.csv": file for file in ABOUT})


def file_schema(name: str) -> Schema:
    file = FILE_NAMES[name]
    about = ABOUT[file]
    rows = name.endswith(".csv")
    what = f"One row of {about.written or file}" if rows else about.written or file
    head = {"$schema": DRAFT, "title": what, "description": f"In the folder of a {about.home}: {about.meaning}."}
    return head | (_row(next(iter(TABLES[file].values()))) if rows else _document(TABLES[file]))


def _row(record: type[Record]) -> Schema:
    """A row of a table, as a reader of CSV gives it: every cell a text, empty where nothing is said."""
    made: dict[str, Schema] = {}
    by_heading: dict[str, Schema] = {}
    for column in columns(record):
        if column.name == record.REST:
            by_heading[f"^{USE if column.name == 'use' else HEADING}$"] = {"type": "string"}
        elif column.dimension:
            units = "|".join(re.escape(unit) for unit, (what, _) in UNITS.items() if what == column.dimension)
            by_heading[rf"^{column.name} \[({units})\]$"] = _cell(column, record)
        elif column.kind != "table":
            made[column.name] = _cell(column, record)
    needed = [column.name for column in columns(record) if column.required and column.name in made]
    patterns = {"patternProperties": by_heading} if by_heading else {}
    return {"type": "object", "properties": made, **patterns, "required": needed, "additionalProperties": False}


def _cell(column: Column, record: type[Record]) -> Schema:
    words, empty = _words_of(record, column.name), "" if column.required else "?"
    said = _said(column)
    if words:
        return said | {"enum": [*words, *([] if column.required else [""])]}
    forms = {"number": NUMBER, "date": DAY}
    form = forms.get(column.form, YES_NO if column.kind == "yes or no" else "")
    if column.kind.startswith("measure of use"):
        form = USE
    if form:
        return said | {"type": "string", "pattern": f"^({form}){empty}$"}
    return said | {"type": "string", **({"minLength": 1} if column.required else {})}


def _document(tables: Mapping[str, type[Record]]) -> Schema:
    """A TOML file: the keys at its top, and the tables below them."""
    below: dict[str, Schema] = {}
    for name, record in tables.items():
        key = re.fullmatch(r"\[(\w+)\]|\[\[(\w+)\]\]", name)
        if key:
            one = _CLAUSES[record]() if record in _CLAUSES else _table(record)
            below[key[1] or key[2]] = one if key[1] else _array(one)
    top = tables[""]
    if top is ChangeHeader:  # it holds clauses and lists as a pack does
        below |= {"replace": _array(_rule()), "list": _array(_table(PartList))}
    schema = _table(top)
    for word, shape in below.items():
        schema["properties"][word] = {**schema["properties"].get(word, {}), **shape}
    if "rule" in below or "replace" in below:
        schema["$defs"] = {name: _table(kind.record, closed=False) for name, kind in KINDS.items()}
    return schema


def _table(record: type[Record], *, closed: bool = True) -> Schema:
    made = {column.name: _value(column, record) for column in columns(record)}
    needed = [column.name for column in columns(record) if column.required]
    last: Schema = {"additionalProperties": False} if closed else {}
    return {"type": "object", "properties": made, "required": needed, **last}


def _rule(*more: type[Record]) -> Schema:
    """A clause: its heading, and the keys of its kind."""
    schema = _table(Heading, closed=False)
    for record in more:
        schema["properties"] |= _table(record)["properties"]
    tests = {"type": "array", "items": _test({"kind": {"enum": list(KINDS)}})}
    schema["properties"]["when"] |= tests
    schema["properties"]["unless"] |= tests
    schema["properties"]["kind"] |= {"enum": list(KINDS)}
    return schema | _by_kind()


#: Tables that are clauses, with what is in them.
_CLAUSES: Mapping[type[Record], Callable[[], Schema]] = MappingProxyType(
    {Heading: _rule, Addition: lambda: _rule(Addition)}
)


def _array(items: Schema) -> Schema:
    return {"type": "array", "items": items}


def _test(made: dict[str, Schema]) -> Schema:
    return {"type": "object", "properties": made, "required": ["kind"], **_by_kind()}


def _by_kind() -> Schema:
    return {
        "allOf": [
            {"if": {"properties": {"kind": {"const": name}}}, "then": {"$ref": f"#/$defs/{name}"}} for name in KINDS
        ],
        "unevaluatedProperties": False,
    }


def _value(column: Column, record: type[Record]) -> Schema:
    """A value of TOML."""
    annotation = record.model_fields[column.name].annotation
    return _said(column) | _plain(annotation, column.kind, column.form, column.dimension)


def _plain(annotation: Any, words: str, form: str, unit: str = "") -> Schema:
    choices = _choices(annotation)
    inner, origin = get_args(annotation), get_origin(annotation)
    if choices:
        return {"enum": list(choices)}
    if isinstance(annotation, type) and issubclass(annotation, Record):
        return _table(annotation)
    record = next((one for one in inner if isinstance(one, type) and issubclass(one, Record)), None)
    if record is not None:
        return _table(record) if origin is not tuple else {"type": "array", "items": _table(record)}
    if origin is dict:
        return {"type": "object", "additionalProperties": _inner(inner[1])}
    if origin is tuple and words not in LISTS:
        return {"type": "array", "items": _inner(inner[0])}
    if words in LISTS:
        return {"anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}}]}
    if words == "yes or no":
        return {"anyOf": [{"type": "boolean"}, {"type": "string", "pattern": f"^({YES_NO})$"}]}
    if unit or form == "number":
        return {"type": ["number", "string"]}
    if form == "date":
        return {"type": "string", "pattern": f"^{DAY}$"}
    return {"type": "string"} if words in ("text", "name") else {}


def _inner(annotation: Any) -> Schema:
    """What a list or a table holds."""
    mark = next((one for one in get_args(annotation) if isinstance(one, Kind)), None)
    if mark is not None:
        return _plain(get_args(annotation)[0], mark.words, mark.form, mark.dimension)
    return _plain(annotation, "text" if annotation is str else "", "")


def _words_of(record: type[Record], name: str) -> tuple[Any, ...]:
    return _choices(record.model_fields[name].annotation)


def _choices(annotation: Any) -> tuple[Any, ...]:
    """The words of a Literal, also inside `X | None`; none where numbers may stand there too."""
    if get_origin(annotation) is Literal:
        return get_args(annotation)
    if float in get_args(annotation):
        return ()
    found = (_choices(one) for one in get_args(annotation) if get_origin(annotation) is not tuple)
    return next((words for words in found if words), ())


def _said(column: Column) -> Schema:
    """What a column means and what may stand there; its default as the reference shows it."""
    default = {"default": column.default} if column.default else {}
    return {"description": f"{column.meaning} ({column.kind})", **default}
