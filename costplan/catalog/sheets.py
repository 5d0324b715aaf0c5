"""columns-map.toml of a catalog: a supplier's sheets, read as they came.

The map says what a sheet's headings, words, numbers and dates are in ours. What it makes of a sheet is a table like any
other; messages about it name the sheet's own lines and headings.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path
from types import MappingProxyType
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, field_validator, model_validator

from costplan.catalog.attributes import Attribute
from costplan.problems import Place, Problem, Problems, nearest
from costplan.quantity import split_header
from costplan.reading import (
    OUR_DATES,
    Document,
    Form,
    KeyPath,
    Layout,
    Numbers,
    Record,
    Setting,
    Sheet,
    Table,
    View,
    columns,
    date_form,
    is_encoding,
    one_line,
    read_head,
    read_part,
    read_sheet,
    read_toml,
    tables_in,
    to_table,
)
from costplan.reading.fields import Count, Kind, Name, Text, refuse, to_name, to_text

#: The map's name, and what `--set` calls it.
MAP = "columns-map"
#: What the rows of a sheet are where neither the map nor the sheet's name says.
PARTS = "parts"
#: In `leave_out`: all headings that the map does not name.
ALL = "*"
DELIMITERS = MappingProxyType({",": ",", ";": ";", "|": "|", "tab": "\t"})


def to_plain(value: Any) -> str:
    """One value of TOML as the text of a cell, in our form."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | Decimal | date) and not isinstance(value, datetime):
        return str(value)
    if isinstance(value, str):
        return value.strip()
    raise refuse("REA017", "not one value:", "give a text, a number, a day, true or false")


def to_word(value: Any) -> str:
    """A word that may stand around a number: nothing that could be a part of it."""
    word = to_text(value).strip()
    if not word or re.search(r"\d", word) or word in "+-.,":
        raise refuse("MAP003", "a word that could be a part of a number:", "leave digits and single marks in place")
    return word


def to_encoding(value: Any) -> str:
    name = to_name(value)
    if not is_encoding(name):
        raise refuse("REA020", "an unknown encoding:", "give utf-8, windows-1252 or another one that Python knows")
    return name


def to_date_order(value: Any) -> str:
    order = to_text(value)
    if date_form(order) is None:
        raise refuse("REA020", "no form of dates:", "write day, month and year with one mark between: day.month.year")
    return order


Plain = Annotated[str, BeforeValidator(to_plain), Kind("one value")]
Word = Annotated[str, BeforeValidator(to_word), Kind("word")]
Encoding = Annotated[str, BeforeValidator(to_encoding), Kind("name of an encoding")]
DateOrder = Annotated[str, BeforeValidator(to_date_order), Kind("order of day, month and year: day.month.year")]


class ColumnsMap(Record):
    """columns-map.toml of a catalog"""

    sheet: tuple[Any, ...] = Field(default=(), description="sheets that are not written in our form, each [[sheet]]")


class SheetMap(Record):
    """[[sheet]] of columns-map.toml of a catalog"""

    file: Name = Field(description="the sheet, a file in the catalog's folder")
    name: Name = Field(
        default="", description="what --set calls this table; the file's name without its ending where empty"
    )
    table: Name = Field(
        default="",
        description="what its rows are: parts, prices, lives ...; by the file's name where empty",
    )
    encoding: Encoding = Field(default="utf-8", description="how its text is stored, such as windows-1252")
    header_line: Count = Field(default=1, description="the line of its headings, or one above them")
    delimiter: Annotated[Literal[",", ";", "|", "tab"] | None, Kind("one of: , ; | tab")] = Field(
        default=None, description="what stands between its cells; found from the headings where empty"
    )
    decimal: Annotated[Literal[".", ","] | None, Kind("one of: . ,")] = Field(
        default=None, description="decimal mark of its numbers; a point where empty, in a sheet with ; also a comma"
    )
    thousands: Annotated[Literal[".", ",", "'", " "] | None, Kind("one of: . , ' blank")] = Field(
        default=None, description="what groups the digits of its numbers by threes; nothing where empty"
    )
    strip: Annotated[tuple[Word, ...], Kind("list of words")] = Field(
        default=(), description="words around its numbers to take off, such as EUR"
    )
    dates: DateOrder = Field(default=OUR_DATES, description="how it writes dates; yy for a year of two digits")
    columns: Annotated[dict[str, Name], Kind("table")] = Field(
        default={}, description="our columns, units as in our headings, each with its heading in the sheet"
    )
    fixed: Annotated[dict[str, Plain], Kind("table")] = Field(
        default={}, description="our columns that the sheet lacks, each with one value for all rows"
    )
    words: Annotated[dict[str, dict[str, Text]], Kind("table of tables")] = Field(
        default={}, description="by our column: words of the sheet, each with ours; '' for none"
    )
    skip_without: Annotated[tuple[Name, ...], Kind("list of names")] = Field(
        default=(), description="our columns without which a row is none: sub-headings, sums, remarks"
    )
    leave_out: Annotated[tuple[Text, ...], Kind("list of headings")] = Field(
        default=(), description="headings of the sheet that are not wanted; * for all that the map does not name"
    )

    @field_validator("file")
    @classmethod
    def _in_the_folder(cls, value: str) -> str:
        if "/" in value or "\\" in value:
            raise refuse("REA017", "not a file of the catalog's folder:", "put the sheet there and give its name alone")
        return value

    @model_validator(mode="after")
    def _two_marks(self) -> SheetMap:
        if self.decimal is not None and self.decimal == self.thousands:
            raise refuse("MAP003", "one mark for decimals and thousands:", "give two, or leave one empty", "thousands")
        return self

    def decimal_mark(self, delimiter: str) -> str:
        """The decimal mark of its numbers; '' where nothing is said of marks."""
        if self.decimal or not self.thousands:
            return self.decimal or ""
        usual, other = (",", ".") if delimiter == ";" else (".", ",")
        return other if usual == self.thousands else usual


@dataclass(frozen=True, slots=True)
class MappedSheet:
    """A sheet and what a map says of it: what `--set` calls it, what its rows are, and where in the map that stands."""

    file: Path
    name: str
    table: str
    wanted: SheetMap
    document: Document
    path: KeyPath

    def read(
        self, address: str, record: type[Record], free: Mapping[str, Attribute]
    ) -> tuple[Table | None, tuple[Problem, ...]]:
        """The table that the map makes of the sheet, with every problem of map and sheet; None if neither can be read.

        `free`: the attributes that may be columns too.
        """
        wanted = self.wanted
        delimiter = DELIMITERS[wanted.delimiter] if wanted.delimiter else ""
        sheet, faults = read_sheet(self.file, Layout(wanted.encoding, wanted.header_line, delimiter))
        if sheet is None:
            return None, tuple(_to_name_encoding(fault) for fault in faults)
        problems = Problems(list(faults))
        if not sheet.header:
            advice = "give the line of its headings as an editor counts"
            fault = ("MAP005", str(wanted.header_line), "the sheet ends before line", advice)
            add_at(problems, self.document, (*self.path, "header_line"), *fault)
            return None, tuple(problems.found)
        view = _Fitting(self, sheet, {**_forms_of(record), **_free_forms(free)}, problems).view()
        table, faults = to_table(sheet, address, view)
        problems.extend(faults)
        return table, tuple(problems.found)


def _to_name_encoding(fault: Problem) -> Problem:
    """The problem of a sheet that cannot be read; one of its encoding is mended in the map."""
    return replace(fault, advice=f"name its encoding in {MAP}.toml") if fault.code == "REA005" else fault


def add_at(
    problems: Problems, document: Document, path: KeyPath, code: str, value: str, what: str, advice: str
) -> None:
    """A problem at a key of the map."""
    problems.add(code, document.place(path), document.shown(path), value, what, advice)


def _forms_of(record: type[Record]) -> dict[str, str]:
    """The columns of a record, each with what is written in it: 'number', 'date' or ''."""
    return {column.name: column.form for column in columns(record) if column.name != record.REST}


def _free_forms(free: Mapping[str, Attribute]) -> dict[str, str]:
    return {name: "" if attribute.what == "text" else "number" for name, attribute in free.items()}


@dataclass(frozen=True, slots=True)
class Sheets:
    """The sheets that a catalog's map names. `files`: their names, of those at fault too; `whole`: none is at fault.

    `known` says whether the map itself could be read.
    """

    mapped: tuple[MappedSheet, ...] = ()
    files: frozenset[str] = frozenset()
    whole: bool = True
    known: bool = True

    def has(self, path: Path) -> bool:
        """Whether a file is one of them, by its name or by that of the CSV file in whose place it is."""
        return path.name in self.files or path.with_suffix(".csv").name in self.files

    def leave(self, path: Path, record: type[Record]) -> bool:
        """Whether a file is none of them; while the map cannot be read, any may be that has not our columns."""
        return not self.has(path) and (self.known or _is_in_our_form(path, record))


def _is_in_our_form(path: Path, record: type[Record]) -> bool:
    """Whether a file has the columns that a record needs."""
    sheet, _ = read_sheet(path)
    names = {split_header(heading)[0] for heading in sheet.header} if sheet else set()
    return all(column.name in names for column in columns(record) if column.required)


def read_map(
    folder: Path, address: str, tables: Collection[str], settings: tuple[Setting, ...] = ()
) -> tuple[Sheets, tuple[Problem, ...]]:
    """columns-map.toml of a catalog, no sheets where there is none; `tables`: what rows can be, beside parts."""
    path = folder / f"{MAP}.toml"
    if not path.exists():
        return Sheets(), ()
    document, faults = read_toml(path, address, settings)
    if document is None:
        return Sheets(whole=False, known=False), faults
    problems = Problems(list(faults))
    _, faults = read_head(document, ColumnsMap)
    problems.extend(faults)
    rows = document.values.get("sheet", [])
    rows = rows if isinstance(rows, list) else []
    files = frozenset(one_line(str(row.get("file"))) for row in rows if isinstance(row, dict))
    names = {"catalog", MAP, *(other.stem for other in tables_in(folder) if not Sheets(files=files).has(other))}
    mapped = []
    for index in range(len(rows)):
        sheet, faults = _read_one(folder, document, ("sheet", index), tables, names)
        problems.extend(faults)
        mapped += [sheet] if sheet else []
        names |= {sheet.name} if sheet else set()
    return Sheets(tuple(mapped), files, len(mapped) == len(rows)), tuple(problems.found)


def _read_one(
    folder: Path, document: Document, path: KeyPath, tables: Collection[str], names: Collection[str]
) -> tuple[MappedSheet | None, tuple[Problem, ...]]:
    """One [[sheet]], if what it says of the sheet as a whole can be; `names`: those that other tables have."""
    wanted, faults = read_part(document, path, SheetMap)
    if wanted is None:
        return None, faults
    problems = Problems()
    stem = Path(wanted.file).stem
    name, table = wanted.name or stem, wanted.table or (stem if stem in tables else PARTS)
    if name in names:
        key = "name" if wanted.name else "file"
        advice = "give each table of a catalog a name of its own, [[sheet]] by name"
        add_at(problems, document, (*path, key), "REA023", name, "a second table with the name", advice)
    if table not in (PARTS, *tables):
        advice = nearest(table, (PARTS, *tables))
        add_at(problems, document, (*path, "table"), "REA020", table, "no table of a catalog:", advice)
    sheet = None if problems else MappedSheet(folder / wanted.file, name, table, wanted, document, path)
    return sheet, tuple(problems.found)


@dataclass(slots=True)
class _Fitting:
    """A sheet laid beside what the map says of it.

    `forms`: the columns there can be, with what is written in them; `filled`: ours, each with the number of its cell.
    """

    mapped: MappedSheet
    sheet: Sheet
    forms: Mapping[str, str]
    problems: Problems
    headings: tuple[str, ...] = ()
    filled: dict[str, int] = field(default_factory=dict)

    def view(self) -> View:
        """How our columns are made of the sheet's; what cannot be made is left out, with its problem."""
        wanted = self.mapped.wanted
        self.headings = tuple(one_line(heading) for heading in self.sheet.header)
        self.filled = dict(self._named())
        self.filled |= dict(self._unnamed())
        self._check_left_out()
        return View(
            tuple(self.filled.items()),
            self._place(),
            self._may_use_comma(),
            fixed=dict(self._fixed()),
            words=dict(self._words()),
            forms=dict(self._forms()),
            needed=frozenset(self._needed()),
            header_places={
                **dict.fromkeys(self.filled, self._heading_place()),
                **{column: self._place("columns", column) for column in wanted.columns},
                **{column: self._place("fixed", column) for column in wanted.fixed},
            },
            absent=frozenset(split_header(column)[0] for column in wanted.columns if column not in self.filled),
            headings={ours: heading for ours, heading in wanted.columns.items() if ours != heading},
        )

    def _place(self, *keys: str | int) -> Place:
        return self.mapped.document.place((*self.mapped.path, *keys))

    def _add(self, code: str, keys: KeyPath, value: str, what: str, advice: str) -> None:
        """A problem at a key of the map."""
        add_at(self.problems, self.mapped.document, (*self.mapped.path, *keys), code, value, what, advice)

    def _heading_place(self) -> Place:
        return self.sheet.place

    def _add_at_heading(self, code: str, heading: str, what: str, advice: str) -> None:
        self.problems.add(code, self._heading_place(), heading, "", what, advice)

    def _position(self, heading: str) -> int:
        if self.headings.count(heading) > 1:
            self._add_at_heading("REA007", heading, "column given twice", "keep one of them")
        return self.headings.index(heading)

    def _named(self) -> Iterator[tuple[str, int]]:
        """Our columns of which the map names the heading."""
        for column, heading in self.mapped.wanted.columns.items():
            if heading in self.headings:
                yield column, self._position(heading)
            else:
                self._no_heading(("columns", column), heading)

    def _no_heading(self, keys: KeyPath, heading: str) -> None:
        advice = f"write it as in the sheet; {nearest(heading, filter(None, self.headings))}"
        self._add("MAP001", keys, heading, "the sheet has no heading", advice)

    def _unnamed(self) -> Iterator[tuple[str, int]]:
        """Headings that are ours as they stand, with a problem for each that is neither that nor left out."""
        wanted = self.mapped.wanted
        told = {*wanted.columns.values(), *map(one_line, wanted.leave_out)}
        given = {split_header(column)[0] for column in (*wanted.columns, *wanted.fixed)}
        for heading in dict.fromkeys(self.headings):
            name = split_header(heading)[0]
            if ALL in told or heading in told or not (heading or self._any_without_heading()):
                continue
            if name in self.forms and name not in given:
                yield heading, self._position(heading)
            else:
                advice = f"name it in columns or in leave_out of {MAP}.toml; {nearest(name, self.forms)}"
                self._add_at_heading("REA009", heading, "an unknown column", advice)

    def _any_without_heading(self) -> bool:
        """Whether a cell stands under no heading."""
        blank = [at for at, heading in enumerate(self.headings) if not heading]
        return any(row.cells[at] for row in self.sheet.rows for at in blank if at < len(row.cells))

    def _check_left_out(self) -> None:
        wanted = self.mapped.wanted
        for index, heading in enumerate(map(one_line, wanted.leave_out)):
            if heading in wanted.columns.values():
                advice = "take it out of one of the two"
                self._add("MAP004", ("leave_out", index), heading, "a heading both named and left out:", advice)
            elif heading not in (*self.headings, ALL, ""):
                self._no_heading(("leave_out", index), heading)

    def _fixed(self) -> Iterator[tuple[str, tuple[str, Place]]]:
        """The columns with one value for all rows."""
        for column, text in self.mapped.wanted.fixed.items():
            if column in self.filled:
                self._add("REA007", ("fixed", column), column, "column given twice:", "keep it in columns or in fixed")
                continue
            number = self._form_of(column) == "number"
            ours = text.replace(".", ",") if number and self._may_use_comma() else text
            yield column, (ours, self._place("fixed", column))

    def _words(self) -> Iterator[tuple[str, dict[str, str]]]:
        for name, words in self.mapped.wanted.words.items():
            column = self._column(name, ("words", name))
            if column:
                yield column, {one_line(word): ours for word, ours in words.items()}

    def _needed(self) -> Iterator[str]:
        for index, name in enumerate(self.mapped.wanted.skip_without):
            yield self._column(name, ("skip_without", index))

    def _column(self, name: str, keys: KeyPath) -> str:
        """The column of the sheet that the map calls so, with or without its unit; '' and a problem if none."""
        column = next((column for column in self.filled if name in (column, split_header(column)[0])), "")
        if not column and name not in self.mapped.wanted.columns:
            advice = f"name its heading in columns; {nearest(name, self.filled)}"
            self._add("MAP002", keys, name, "no heading gives the column", advice)
        return column

    def _may_use_comma(self) -> bool:
        """Whether commas may be decimal marks because nothing is said of marks and the delimiter is no comma."""
        return not self._mark() and self.sheet.delimiter == ";"

    def _mark(self) -> str:
        return self.mapped.wanted.decimal_mark(self.sheet.delimiter)

    def _form_of(self, column: str) -> str:
        return self.forms.get(split_header(column)[0], "")

    def _forms(self) -> Iterator[tuple[str, Form]]:
        """How the sheet writes the numbers and dates that it does not write in our form."""
        wanted = self.mapped.wanted
        numbers = Numbers(self._mark(), wanted.thousands or "", wanted.strip).form()
        dates = date_form(wanted.dates)
        for column in self.filled:
            form = self._form_of(column)
            if form == "number" and (self._mark() or wanted.strip):
                yield column, numbers
            elif form == "date" and dates and wanted.dates != OUR_DATES:
                yield column, dates
