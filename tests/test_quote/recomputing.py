"""Formulas of a workbook recomputed without a spreadsheet: in binary, as one does it, and with the harshest rounding.

It knows what the workbooks of a quote use and no more: + - * / >, ROUND, ROUNDUP, SUM, SUMIF, IF, cells and ranges.
Anything else is an error, so that no formula goes unseen. No cached figure is read.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Iterator
from decimal import ROUND_HALF_UP, ROUND_UP, Decimal
from typing import TypeAlias

from openpyxl import Workbook, load_workbook
from openpyxl.utils import range_boundaries

Value: TypeAlias = float | str | None
#: How a binary number is seen before it is rounded.
Seen: TypeAlias = Callable[[float], Decimal]

TOKEN = re.compile(
    r"""\s*(?:(?P<number>\d+(?:\.\d+)?)|"(?P<text>[^"]*)"|(?P<name>[A-Z]+)\(
    |(?:(?P<sheet>\w+)!)?(?P<cells>\$?[A-Z]+\$?\d+(?::\$?[A-Z]+\$?\d+)?)|(?P<sign>[-+*/>(),]))""",
    re.VERBOSE,
)


def as_it_is(value: float) -> Decimal:
    """To the last bit: what lies a hair below a half is rounded down."""
    return Decimal(value)


def to_15_digits(value: float) -> Decimal:
    """As spreadsheets show it: 15 significant digits."""
    return Decimal(f"{value:.14e}")


class Recomputed:
    """A workbook whose cells are worked out when they are asked for."""

    def __init__(self, given: bytes | Workbook, seen: Seen = as_it_is) -> None:
        self.book = load_workbook(io.BytesIO(given)) if isinstance(given, bytes) else given
        self.seen = seen
        self._known: dict[tuple[str, str], Value] = {}

    def value(self, sheet: str, cell: str) -> Value:
        if (sheet, cell) not in self._known:
            found = self.book[sheet][cell].value
            formula = isinstance(found, str) and self.book[sheet][cell].data_type == "f"
            self._known[sheet, cell] = _Formula(self, sheet, found[1:]).result() if formula else found
        return self._known[sheet, cell]

    def range(self, sheet: str, cells: str) -> list[Value]:
        left, top, right, bottom = range_boundaries(cells)
        rows = self.book[sheet].iter_rows(top, bottom, left, right)
        return [self.value(sheet, cell.coordinate) for row in rows for cell in row]

    def formulas(self) -> Iterator[tuple[str, str]]:
        """Where there is a formula: sheet and cell."""
        for page in self.book.worksheets:
            for row in page.iter_rows():
                yield from ((page.title, cell.coordinate) for cell in row if cell.data_type == "f")


class _Formula:
    """A formula read from left to right."""

    def __init__(self, book: Recomputed, sheet: str, text: str) -> None:
        self.book, self.sheet, self.text, self.at = book, sheet, text, 0

    def result(self) -> Value:
        found = _one(self._compared())
        assert self.at == len(self.text), f"not understood: {self.text[self.at :]}"
        return found

    def _compared(self) -> Value | list[Value]:
        left = self._sum()
        return float(_number(left) > _number(self._sum())) if self._takes(">") else left

    def _sum(self) -> Value | list[Value]:
        total = self._product()
        while sign := self._takes("+", "-"):
            more = _number(self._product())
            total = _number(total) + (more if sign == "+" else -more)
        return total

    def _product(self) -> Value | list[Value]:
        product = self._atom()
        while sign := self._takes("*", "/"):
            by = _number(self._atom())
            product = _number(product) * by if sign == "*" else _number(product) / by
        return product

    def _atom(self) -> Value | list[Value]:
        if self._takes("-"):
            return -_number(self._atom())
        found = TOKEN.match(self.text, self.at)
        assert found, f"not understood: {self.text[self.at :]}"
        self.at = found.end()
        if found["number"]:
            return float(found["number"])
        if found["text"] is not None:
            return found["text"]
        if found["name"]:
            return self._called(found["name"])
        if found["cells"]:
            cells, sheet = found["cells"].replace("$", ""), found["sheet"] or self.sheet
            return self.book.range(sheet, cells) if ":" in cells else self.book.value(sheet, cells)
        assert found["sign"] == "(", f"not understood: {self.text}"
        inner = self._compared()
        assert self._takes(")")
        return inner

    def _called(self, name: str) -> Value:
        if name == "IF":
            return self._chosen()
        given = [self._compared()]
        while self._takes(","):
            given.append(self._compared())
        assert self._takes(")")
        if name == "SUM":
            return sum((one for each in given for one in _many(each) if isinstance(one, int | float)), 0.0)
        if name == "SUMIF":
            names, wanted, figures = given
            pairs = zip(_many(names), _many(figures), strict=True)
            return sum((_number(figure) for one, figure in pairs if one == wanted), 0.0)
        value, digits = map(_number, given)
        mode = {"ROUND": ROUND_HALF_UP, "ROUNDUP": ROUND_UP}[name]
        return float(self.book.seen(value).quantize(Decimal(1).scaleb(-int(digits)), mode))

    def _chosen(self) -> Value:
        """IF: only the side that is chosen is worked out; neither may hold a comma or a parenthesis of its own."""
        holds = _number(self._compared())
        assert self._takes(",")
        begins, ends = self.at, self.text.index(",", self.at) + 1
        self.at = begins if holds else ends
        chosen = _one(self._compared())
        self.at = self.text.index(")", max(self.at, ends))
        assert self._takes(")")
        return chosen

    def _takes(self, *signs: str) -> str:
        found = TOKEN.match(self.text, self.at)
        if not found or found["sign"] not in signs:
            return ""
        self.at = found.end()
        return str(found["sign"])


def _many(value: Value | list[Value]) -> list[Value]:
    return value if isinstance(value, list) else [value]


def _one(value: Value | list[Value]) -> Value:
    assert not isinstance(value, list)
    return value


def _number(value: Value | list[Value]) -> float:
    """An empty cell counts as nothing; a text would be an error in a spreadsheet, and is one here."""
    assert not isinstance(value, str | list), value
    return float(value or 0)
