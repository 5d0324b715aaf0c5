"""Tables: the columns of ours that a sheet holds, as text, with the place of every cell."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from costplan.problems import Grid, Place, Problem, Problems
from costplan.quantity import split_header
from costplan.reading.door import read_sheet
from costplan.reading.forms import Form, InOurForm
from costplan.reading.sheets import Row, Sheet, Why

#: As long as a cell of the common spreadsheets may be.
LONGEST_CELL = 32_767


@dataclass(frozen=True, slots=True)
class Table:
    """A file as text. `decimal_comma`: whether it may write 12,5 for twelve and a half; `place`: its header's.

    Not everything stands in the file itself: by column, `header_places` says where its heading does, and `fixed_places`
    its cells; by line and column, `set_places` where `--set` wrote. `refused`: cells that were refused for what they
    are, by line and column; `absent`: columns whose lack is told already; `headings`: what the file calls a column,
    where it has a name of its own for it; `grid`: the sheet, where the file is a workbook.
    """

    file: str
    address: str
    header: tuple[str, ...]
    rows: tuple[Row, ...]
    place: Place
    decimal_comma: bool = False
    header_places: Mapping[str, Place] = field(default_factory=dict)
    fixed_places: Mapping[str, Place] = field(default_factory=dict)
    set_places: Mapping[tuple[int, str], Place] = field(default_factory=dict)
    refused: frozenset[tuple[int, str]] = frozenset()
    absent: frozenset[str] = frozenset()
    headings: Mapping[str, str] = field(default_factory=dict)
    grid: Grid | None = None

    def cells(self, column: str) -> frozenset[str]:
        """What is written in a column, in rows at fault too: a name that was written is not unknown."""
        places = [at for at, heading in enumerate(self.header) if heading == column]
        return frozenset(row.cells[at] for at in places for row in self.rows) - {""}

    def place_of(self, line: int, column: str = "") -> Place:
        """Where a cell stands."""
        return self.set_places.get((line, column)) or self.fixed_places.get(column) or self.row_place(line)

    def row_place(self, line: int) -> Place:
        """Where a row stands."""
        return Place(self.file, line, self.grid)

    def header_place(self, column: str) -> Place:
        """Where the heading of a column stands."""
        return self.header_places.get(column, self.place)

    def shown(self, column: str) -> str:
        """A column as messages show it."""
        return titled(column, self.headings)


@dataclass(frozen=True, slots=True)
class View:
    """What of a sheet is a table of ours.

    `columns`: each of ours with the number of its cell in the sheet's rows, from 0; `place`: the header's. The rest is
    for sheets that have ways of their own, by our columns: `fixed`, one text for all rows and its place; `words`, the
    sheet's words in ours; `forms`, how it writes numbers and dates; `needed`, columns without which a row is none;
    `header_places`, `absent` and `headings` as in `Table`.
    """

    columns: tuple[tuple[str, int], ...]
    place: Place
    decimal_comma: bool = False
    fixed: Mapping[str, tuple[str, Place]] = field(default_factory=dict)
    words: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    forms: Mapping[str, Form] = field(default_factory=dict)
    needed: frozenset[str] = frozenset()
    header_places: Mapping[str, Place] = field(default_factory=dict)
    absent: frozenset[str] = frozenset()
    headings: Mapping[str, str] = field(default_factory=dict)


def read_table(path: Path, address: str) -> tuple[Table | None, tuple[Problem, ...]]:
    """The rows of a file, CSV or a workbook; None where the file itself cannot be read."""
    sheet, faults = read_sheet(path)
    if sheet is None:
        return None, faults
    place = sheet.place
    problems = Problems(list(faults))
    for column in dict.fromkeys(sheet.header):
        if column and sheet.header.count(column) > 1:
            problems.add("REA007", place, column, "", "column given twice", "keep one of them")
    columns = tuple((column, at) for at, column in enumerate(sheet.header))
    view = View(columns, place, sheet.delimiter == ";", header_places=dict(_blank_heading(sheet)))
    table, faults = to_table(sheet, address, view)
    problems.extend(faults)
    return table, tuple(problems.found)


def _blank_heading(sheet: Sheet) -> Iterator[tuple[str, Place]]:
    """The place of the heading that is missing above cells."""
    for at, heading in enumerate(sheet.header):
        if not heading and any(row.cells[at] for row in sheet.rows if at < len(row.cells)):
            yield heading, sheet.place_beyond(sheet.header_line, at)
            return


def to_table(sheet: Sheet, address: str, view: View) -> tuple[Table, tuple[Problem, ...]]:
    """The table that a view shows of a sheet, with every problem of its cells as texts."""
    look = _Look(sheet, view)
    rows = tuple(row for row in map(look.row, sheet.rows) if row is not None)
    table = Table(
        sheet.file,
        address,
        (*(column for column, _ in view.columns), *view.fixed),
        rows,
        view.place,
        view.decimal_comma,
        view.header_places,
        {column: place for column, (_, place) in view.fixed.items()},
        refused=frozenset(look.refused),
        absent=view.absent,
        headings=view.headings,
        grid=look.grid,
    )
    return table, tuple(look.problems.found)


@dataclass(slots=True)
class _Look:
    """One way through a sheet with a view, and what it met."""

    sheet: Sheet
    view: View
    problems: Problems = field(default_factory=Problems)
    refused: set[tuple[int, str]] = field(default_factory=set)
    taken: tuple[int, ...] = ()
    fixed: tuple[str, ...] = ()
    words: tuple[tuple[int, Mapping[str, str]], ...] = ()
    forms: tuple[tuple[int, Form], ...] = ()
    needed: tuple[int, ...] = ()
    grid: Grid | None = None
    told: set[Why] = field(default_factory=set)
    alone: frozenset[Why] = frozenset()

    def __post_init__(self) -> None:
        self.taken = tuple(at for _, at in self.view.columns)
        view, names = self.view, tuple(enumerate(column for column, _ in self.view.columns))
        shown = ((titled(column, view.headings), at) for column, at in view.columns)
        bare = ((split_header(column)[0], at) for column, at in view.columns)
        self.grid = self.sheet.grid((*view.columns, *shown, *bare))
        merged = Counter(why for (_, at), why in self.sheet.faults.items() if why[0] == "REA028" and at in self.taken)
        self.alone = frozenset(why for why, cells in merged.items() if cells == 1)
        self.fixed = tuple(text for text, _ in view.fixed.values())
        self.words = tuple((at, view.words[name]) for at, name in names if name in view.words)
        self.forms = tuple((at, view.forms[name]) for at, name in names if name in view.forms)
        self.needed = tuple(at for at, name in names if name in view.needed)

    def row(self, row: Row) -> Row | None:
        """A row as the view shows it, itself where that is the same; None where it is none."""
        width = len(self.sheet.header)
        cells = row.cells if len(row.cells) == width else (*row.cells, *[""] * width)[:width]
        written = [cells[at] for at in self.taken]
        ours = list(written)
        for at, words in self.words:
            ours[at] = words.get(one_line(ours[at]), ours[at])
        if not all(ours[at] for at in self.needed):
            return None
        if len(row.cells) > width:
            self._check_width(row, width)
        if self.sheet.faults:
            ours = [
                self._not_faulty(row.line, at, cell) if cell == written[at] else cell for at, cell in enumerate(ours)
            ]
        text = "".join(ours)
        if "=" in text or len(text) > LONGEST_CELL:
            ours = [self._not_odd(row.line, at, cell) for at, cell in enumerate(ours)]
        for at, form in self.forms:
            cell = ours[at]
            # what is in our words by now is in our form too, and so is what a workbook holds as a number or a date
            if cell and cell == written[at] and not isinstance(cell, InOurForm):
                read = form(cell)
                ours[at] = read if isinstance(read, str) else self._refuse(row.line, at, cell, read)
        shown = (*ours, *self.fixed)
        return row if shown == row.cells else Row(row.line, shown)

    def _check_width(self, row: Row, width: int) -> None:
        extra = [cell for cell in row.cells[width:] if cell]
        if extra:
            what = f"{len(row.cells)} cells under {width} headings, the last"
            advice = "put quotes around a cell that holds the delimiter"
            if self.sheet.name:
                what, advice = "a cell under no heading:", "give it a heading, or empty it"
            place = self.sheet.place_beyond(row.line, row.cells.index(extra[0], width))
            self.problems.add("REA010", place, "", extra[0], what, advice)

    def _not_faulty(self, line: int, at: int, cell: str) -> str:
        """A cell, empty where a workbook shows no value in it.

        Cells that were merged are told once; the first of them alone, with all others in columns of no interest, is
        what it shows.
        """
        why = self.sheet.faults.get((line, self.taken[at]))
        if why is None or (cell and why in self.alone):
            return cell
        if why[0] == "REA028" and why in self.told:
            self.refused.add((line, self.view.columns[at][0]))
            return ""
        self.told.add(why)
        return self._refuse(line, at, cell, why)

    def _not_odd(self, line: int, at: int, cell: str) -> str:
        """A cell, empty where it is refused for its length or its first character."""
        if len(cell) > LONGEST_CELL:
            return self._refuse(line, at, cell, ("REA011", f"a cell of {len(cell):,} characters", "shorten it"))
        if cell.startswith("="):
            return self._refuse(line, at, cell, ("REA012", "a formula", "write its value"))
        return cell

    def _refuse(self, line: int, at: int, cell: str, why: Why) -> str:
        """Notes why a cell is not read; what then stands in its place."""
        column = self.view.columns[at][0]
        code, what, advice = why
        self.refused.add((line, column))
        place = Place(self.sheet.file, line, self.grid)
        self.problems.add(code, place, titled(column, self.view.headings), cell, what, advice)
        return ""


def titled(column: str, headings: Mapping[str, str]) -> str:
    """A column as messages show it: `Preis netto (price)` where the file has a heading of its own for it."""
    return f"{headings[column]} ({column})" if column in headings else column


def one_line(text: str) -> str:
    """A text with single blanks, as headings and words are compared."""
    return " ".join(text.split())
