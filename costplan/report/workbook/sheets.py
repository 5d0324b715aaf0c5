"""A workbook and its sheets: looks and forms, rows written from the top down, and how it is set up to print."""

from __future__ import annotations

import io
from collections.abc import Iterable, Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from decimal import Decimal
from types import MappingProxyType
from typing import Any, TypeAlias

from xlsxwriter import Workbook
from xlsxwriter.format import Format
from xlsxwriter.utility import quote_sheetname, xl_range_abs, xl_rowcol_to_cell
from xlsxwriter.worksheet import Worksheet

from costplan.money import minor_digits
from costplan.report.paper import paper_of
from costplan.report.workbook.formulas import Formula, Rounding
from costplan.report.workbook.texts import LONGEST_TEXT, clean, cut, lines_of

#: No text is made into a number, a formula or a link. Every device has Arial, or one as wide as it.
OPTIONS = {
    "in_memory": True,
    "strings_to_numbers": False,
    "strings_to_formulas": False,
    "strings_to_urls": False,
    "default_format_properties": {"font_name": "Arial", "font_size": 10, "font_scheme": "none"},
}
#: By their numbers in the file.
PAPERS = {"us-letter": 1, "a4": 9}
ALL_CELLS = "A1:XFD1048576"
#: A line's height in type sizes.
LINE_HEIGHT = 1.22
#: What a text does not have of its column, in digits: the blanks at its sides.
INDENT = 1.6
#: Points that a letter of an upright heading takes, and the most of them in sight.
UPRIGHT, LONGEST_UPRIGHT = 5.6, 32
#: A row is at most 409 points high; one that stays in sight is kept low.
MOST_LINES, MOST_IN_SIGHT = 30, 3
#: What a property of the file and the name in a footer can hold, in 16-bit units.
LONGEST_PROPERTY, LONGEST_FOOTER = 255, 80
#: What a spreadsheet takes for the beginning of a formula where a text is typed in anew.
FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\n")

INK, QUIET, ACCENT, INPUT, RULE, BAND = "#1F2933", "#5F6B76", "#A4262C", "#1F4E8C", "#DDE1E6", "#EEF1F4"
LOOKS: Mapping[str, Mapping[str, Any]] = {
    "title": {"bold": True, "font_size": 14},
    "lead": {},
    "quiet": {"font_color": QUIET, "font_size": 9},
    "mark": {"bold": True, "font_color": ACCENT},
    "header": {"bold": True, "bg_color": BAND, "bottom": 1, "bottom_color": QUIET, "valign": "bottom"},
    "heading": {"bold": True, "bottom": 1, "bottom_color": QUIET, "valign": "bottom"},
    "line": {"bottom": 1, "bottom_color": RULE},
    "key": {"bottom": 1, "bottom_color": RULE, "align": "left"},
    "input": {"bottom": 1, "bottom_color": RULE, "font_color": INPUT},
    "odd": {"bottom": 1, "bottom_color": RULE, "font_color": ACCENT, "bold": True},
    "sum": {"bold": True},
    "total": {"bold": True, "top": 1, "top_color": QUIET, "bg_color": BAND},
}
SHARE, ROUND_SHARE, WHOLE_SHARE = "0.0##%", "0.0%", "0%"
PLAIN, COUNT, DATE = "General", "#,##0", "yyyy-mm-dd"
#: Months that are kept as one number, 202703.
MONTH = '0000"-"00'

Value: TypeAlias = str | Decimal | float | int | date | Formula | None
#: The first and the last of some rows, counted from 0.
Span: TypeAlias = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Cell:
    """What stands in a cell, with a form of number or a look of its own where it is not that of its column or row."""

    value: Value
    form: str = ""
    look: str = ""


#: What stands in a row, by the names of its columns.
Row: TypeAlias = dict[str, Value | Cell]


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its heading with the unit, its width in digits, and the form of its numbers, '' for texts.

    `turned`: the heading stands upright, since it is long and the column narrow.
    """

    name: str
    heading: str
    width: float
    form: str = ""
    turned: bool = False


class Book:
    """A workbook in the making: what its sheets share. `on`: the day that it is made for.

    `mark` stands at the top of each sheet and on each printed page.
    """

    def __init__(self, name: str, currency: str, on: date, author: str = "", mark: str = "") -> None:
        self.name, self.mark = name, mark
        self.rounding = Rounding(minor_digits(currency))
        self._paper = PAPERS[paper_of(currency)]
        self._out = io.BytesIO()
        self._book = Workbook(self._out, deepcopy(OPTIONS))  # it writes into them
        self._formats: dict[tuple[tuple[str, Any], ...], Format] = {}
        self._book.set_properties(
            {
                "title": cut(clean(self.name), LONGEST_PROPERTY),
                "author": cut(clean(author), LONGEST_PROPERTY),
                "created": datetime.combine(on, time(), UTC),
            }
        )

    @property
    def names(self) -> tuple[str, ...]:
        """The sheets so far."""
        return tuple(str(page.get_name()) for page in self._book.worksheets())

    def sheet(self, name: str, about: str, columns: Sequence[Column], *, landscape: bool = False) -> Sheet:
        """A new sheet with the workbook's name and what the sheet is `about` at its top."""
        sheet = Sheet(self, self._page(name, landscape=landscape), name, columns)
        if self.mark:
            sheet.across(self.mark, "mark")
        sheet.across(f"{self.name}: {about}" if about else self.name, "title", MOST_IN_SIGHT)
        return sheet

    def table(self, name: str, about: str, columns: Sequence[Column], *, landscape: bool = False) -> Sheet:
        """A new sheet whose rows begin at once."""
        sheet = self.sheet(name, about, columns, landscape=landscape)
        sheet.header()
        return sheet

    def _page(self, name: str, *, landscape: bool) -> Worksheet:
        """An empty sheet set up to print."""
        page = self._book.add_worksheet(name)
        page.hide_gridlines(2)
        page.set_paper(self._paper)
        page.set_margins(left=0.4, right=0.4, top=0.5, bottom=0.7)
        page.fit_to_pages(1, 0)
        if landscape:
            page.set_landscape()
        page.set_footer(self._footer())
        page.ignore_errors({"number_stored_as_text": ALL_CELLS, "formula_differs": ALL_CELLS})
        return page

    def _footer(self) -> str:
        """The workbook's name, the mark and the page; a footer reads & as the start of a code."""
        name = cut(clean(self.name).replace("&", "+"), LONGEST_FOOTER)
        return f"&L{name}&C{self.mark}&RPage &P of &N"

    def format(self, look: str, **more: Any) -> Format:
        """The format of a look, made once: a workbook holds no more than some thousands."""
        properties = {"font_size": 10, "font_color": INK, "valign": "top", **LOOKS[look], **more}
        key = tuple(sorted(properties.items()))
        if key not in self._formats:
            self._formats[key] = self._book.add_format(properties)
        return self._formats[key]

    def closed(self) -> bytes:
        """The file."""
        self._book.close()
        return self._out.getvalue()


class Sheet:
    """A sheet that is written from the top down; `row` is the one to be written next, counted from 0."""

    def __init__(self, book: Book, page: Worksheet, name: str, columns: Sequence[Column]) -> None:
        self.book, self.name, self.columns, self.row = book, name, tuple(columns), 0
        self.rounding = book.rounding
        self._page = page
        self._amounts: dict[tuple[int, int], Decimal] = {}
        self._index = {column.name: index for index, column in enumerate(columns)}
        for index, column in enumerate(columns):
            page.set_column(index, index, column.width)

    def at(self, column: str, row: int | None = None) -> str:
        """A cell as formulas name it, by default in the row to be written next."""
        return str(xl_rowcol_to_cell(self.row if row is None else row, self._index[column]))

    def far(self, column: str, row: int) -> str:
        """A cell as formulas of other sheets name it, which does not move when the formula is copied."""
        return self.elsewhere(str(xl_rowcol_to_cell(row, self._index[column], row_abs=True, col_abs=True)))

    def elsewhere(self, cells: str) -> str:
        """Cells of this sheet as formulas of other sheets name them."""
        return f"{quote_sheetname(self.name)}!{cells}"

    def span(self, column: str, rows: Span) -> str:
        """The cells of a column in some rows, which do not move when the formula is copied."""
        first, last = rows
        return str(xl_range_abs(first, self._index[column], last, self._index[column]))

    def sum_of(self, column: str, rows: Span) -> str:
        """The sum of a column over some rows."""
        return f"SUM({self.span(column, rows)})"

    def total(self, column: str, rows: Span) -> Formula:
        """The sum of a column of amounts over some rows that were written, with what it gives."""
        first, last = rows
        given = (self._amounts.get((self._index[column], row)) for row in range(first, last + 1))
        gives = sum((amount for amount in given if amount is not None), Decimal(0))
        return Formula(self.rounding.total(self.sum_of(column, rows)), gives)

    def header(self, held: int = 0) -> None:
        """The headings of the columns, which with all above stay in sight, and are printed again on each page.

        `held`: the first columns that stay in sight too.
        """
        self._set_height(
            [(column.heading, 0.9 * column.width) for column in self.columns if not column.turned], "header"
        )
        turned = max((len(column.heading) for column in self.columns if column.turned), default=0)
        if turned:
            self._page.set_row(self.row, UPRIGHT * min(turned, LONGEST_UPRIGHT) + 2 * UPRIGHT)
        for index, column in enumerate(self.columns):
            more = {"rotation": 90} if column.turned else {}
            self._text(index, column.heading, "header", "right" if column.form else "left", more)
        self._page.repeat_rows(self.row)
        self.row += 1
        self._page.freeze_panes(self.row, held)

    def across(self, words: str, look: str, most: int = MOST_LINES) -> None:
        """A text over all columns, as high as it needs but at `most` so many lines."""
        self._set_height([(words, self._width(len(self.columns)))], look, most)
        self._label(len(self.columns), words, look)
        self.row += 1

    def hold(self) -> None:
        """Keeps all above in sight, where a sheet has several tables with headings of their own."""
        self._page.repeat_rows(0, self.row - 1)
        self._page.freeze_panes(self.row, 0)

    def filtered(self, rows: Span) -> None:
        """Lets a reader choose among some rows by the headings above them."""
        first, last = rows
        self._page.autofilter(first - 1, 0, max(first, last), len(self.columns) - 1)

    def skip(self) -> None:
        """Leaves a row empty."""
        self.row += 1

    def foot(self, words: str) -> None:
        """A text to end with, set apart."""
        self.skip()
        self.across(words, "quiet")

    def put(self, cells: Mapping[str, Value | Cell], look: str = "line", label: str = "") -> int:
        """Writes a row and gives its number; a `label` stands over the columns before the first cell."""
        first = min(self._index[name] for name in cells) if label else 0
        texts = [
            (value, self.columns[self._index[name]].width) for name, value in cells.items() if isinstance(value, str)
        ]
        if label:
            texts.append((label, self._width(first)))
            self._label(first, label, look, "right")
        self._set_height(texts, look)
        for index in range(first, len(self.columns)):
            cell = cells.get(self.columns[index].name)
            self._cell(index, cell if isinstance(cell, Cell) else Cell(cell), look)
        self.row += 1
        return self.row - 1

    def _cell(self, index: int, cell: Cell, look: str) -> None:
        look, form = cell.look or look, self.columns[index].form
        if isinstance(cell.value, str):
            self._text(index, cell.value, look, "right" if form else "left")
        else:
            aligned = {"align": "right"} if form and isinstance(cell.value, Formula) else {}  # it may give a text
            self._figure(index, cell.value, self.book.format(look, num_format=cell.form or form or PLAIN, **aligned))

    def _figure(self, index: int, value: Decimal | float | date | Formula | None, style: Format) -> None:
        amount = value.gives if isinstance(value, Formula) else value
        if isinstance(amount, Decimal):
            self._amounts[index, self.row] = amount
        if value is None:
            self._page.write_blank(self.row, index, None, style)
        elif isinstance(value, Formula):
            self._page.write_formula(self.row, index, f"={value.says}", style, figure(value.gives))
        elif isinstance(value, date):
            self._page.write_datetime(self.row, index, value, style)
        else:
            self._page.write_number(self.row, index, figure(value), style)

    def _label(self, columns: int, words: str, look: str, align: str = "left") -> None:
        """A text over the first so many columns."""
        if columns > 1:
            self._page.merge_range(self.row, 0, self.row, columns - 1, "", self.book.format(look, text_wrap=True))
        self._text(0, words, look, align)

    def _width(self, columns: int) -> float:
        return sum(column.width for column in self.columns[:columns])

    def _set_height(self, texts: Iterable[tuple[str, float]], look: str, most: int = MOST_LINES) -> None:
        """Makes the row as high as its texts need in their widths: not every program finds that out by itself."""
        size = LOOKS[look].get("font_size", 10)
        lines = max((lines_of(words, (width - INDENT) * 10 / size) for words, width in texts), default=1)
        self._page.set_row(self.row, (min(lines, most) + 0.25) * size * LINE_HEIGHT)

    def _text(
        self, index: int, words: str, look: str, align: str = "left", given: Mapping[str, Any] = MappingProxyType({})
    ) -> None:
        """A text as text; what looks like a formula is marked to stay a text when somebody edits the cell."""
        words = cut(clean(words), LONGEST_TEXT)
        more: dict[str, Any] = {"indent": 1} if align == "left" and index and not given else {}
        more |= given
        more |= {"quote_prefix": True} if words.startswith(FORMULA_SIGNS) else {}
        style = self.book.format(look, text_wrap=True, align=align, **more)
        self._page.write_string(self.row, index, words, style)


def write_labelled(book: Book, name: str, about: str, width: float, texts: Iterable[tuple[str, str]]) -> None:
    """A sheet of texts, with their labels in a column of some width."""
    sheet = book.table(name, about, [Column("label", "About", width), Column("says", "What holds", 78)])
    for label, says in texts:
        sheet.put({"label": label, "says": says})


def figure(value: Decimal | float | str | None) -> float | int | str:
    """A figure as a workbook keeps it, in binary; whole ones without a point, '' for none, and a text as it is.

    >>> figure(Decimal("40.00")), figure(Decimal("0.10")), figure(None)
    (40, 0.1, '')
    """
    if value is None or isinstance(value, str):
        return value or ""
    return int(value) if value == int(value) else float(value)


def chance_cell(chance: float) -> Cell:
    """A chance, as a rule whole.

    >>> [chance_cell(chance).form for chance in (0.18, 0.0125, 0.0004)]
    ['0%', '0.0%', '0.00%']
    """
    return Cell(chance, "0%" if chance >= 0.02 else "0.0%" if chance >= 0.01 else "0.00%")


def worked_out(says: str, gives: Decimal, *, follows: bool) -> Formula | Cell:
    """A figure as a formula; where it does not follow from that, as it stands, in red."""
    return Formula(says, gives) if follows else Cell(gives, look="odd")
