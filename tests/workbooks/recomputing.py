"""Formulas of a workbook recomputed without a spreadsheet: in binary, as one does it, and with the harshest rounding.

It knows what the workbooks use and no more: + - * / and comparisons, also over ranges, the functions in FUNCTIONS, IF,
cells and ranges of any sheet. Anything else is an error, so that no formula goes unseen. No cached figure is read.
"""

from __future__ import annotations

import io
import math
import operator
import re
from collections.abc import Callable, Iterator, Mapping
from datetime import date, datetime
from decimal import ROUND_HALF_UP, ROUND_UP, Decimal
from typing import TypeAlias

from openpyxl import Workbook, load_workbook
from openpyxl.utils import range_boundaries

Value: TypeAlias = float | str | None
Many: TypeAlias = "Value | list[Value]"
#: How a binary number is seen before it is rounded.
Seen: TypeAlias = Callable[[float], Decimal]
#: A part of a formula, worked out when it is asked for: of an IF only one side is.
Part: TypeAlias = Callable[[], "Many"]

TOKEN = re.compile(
    r"""\s*(?:(?P<number>\d+(?:\.\d+)?)|"(?P<text>(?:[^"]|"")*)"|(?P<name>[A-Z]+)\(
    |(?:(?P<sheet>'(?:[^']|'')+'|\w+)!)?(?P<cells>\$?[A-Z]+\$?\d+(?::\$?[A-Z]+\$?\d+)?)|(?P<sign><=|>=|<>|[-+*/<>=(),]))""",
    re.VERBOSE,
)
COMPARED: Mapping[str, Callable[[object, object], bool]] = {"=": operator.eq, "<>": operator.ne}
ORDERED: Mapping[str, Callable[[float, float], bool]] = {
    ">": operator.gt,
    "<": operator.lt,
    ">=": operator.ge,
    "<=": operator.le,
}
WORKED: Mapping[str, Callable[[float, float], float]] = {
    "+": operator.add,
    "-": operator.sub,
    "*": operator.mul,
    "/": operator.truediv,
}


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
        self._ranges: dict[tuple[str, str], list[Value]] = {}

    def value(self, sheet: str, cell: str) -> Value:
        if (sheet, cell) not in self._known:
            found = self.book[sheet][cell].value
            formula = isinstance(found, str) and self.book[sheet][cell].data_type == "f"
            self._known[sheet, cell] = _Formula(self, sheet, found[1:]).result() if formula else found
        return self._known[sheet, cell]

    def range(self, sheet: str, cells: str) -> list[Value]:
        if (sheet, cells) not in self._ranges:
            left, top, right, bottom = range_boundaries(cells)
            rows = self.book[sheet].iter_rows(top, bottom, left, right)
            self._ranges[sheet, cells] = [self.value(sheet, cell.coordinate) for row in rows for cell in row]
        return self._ranges[sheet, cells]

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
        found = self._compared()
        assert self.at == len(self.text), f"not understood: {self.text[self.at :]}"
        return _one(found())

    def _compared(self) -> Part:
        left = self._sum()
        if sign := self._takes(*COMPARED, *ORDERED):
            return _joined(sign, left, self._sum())
        return left

    def _sum(self) -> Part:
        total = self._product()
        while sign := self._takes("+", "-"):
            total = _joined(sign, total, self._product())
        return total

    def _product(self) -> Part:
        product = self._atom()
        while sign := self._takes("*", "/"):
            product = _joined(sign, product, self._atom())
        return product

    def _atom(self) -> Part:
        if self._takes("-"):
            inner = self._atom()
            return lambda: -_number(inner())
        found = TOKEN.match(self.text, self.at)
        assert found, f"not understood: {self.text[self.at :]}"
        self.at = found.end()
        if found["number"]:
            number = float(found["number"])
            return lambda: number
        if found["text"] is not None:
            text = found["text"].replace('""', '"')
            return lambda: text
        if found["name"]:
            return self._called(found["name"])
        if found["cells"]:
            return self._cells(found["sheet"], found["cells"].replace("$", ""))
        assert found["sign"] == "(", f"not understood: {self.text}"
        held = self._compared()
        assert self._takes(")")
        return held

    def _cells(self, sheet: str | None, cells: str) -> Part:
        name = sheet.strip("'").replace("''", "'") if sheet else self.sheet
        if ":" in cells:
            return lambda: self.book.range(name, cells)
        return lambda: self.book.value(name, cells)

    def _called(self, name: str) -> Part:
        given = [self._compared()]
        while self._takes(","):
            given.append(self._compared())
        assert self._takes(")")
        if name == "IF":
            asked, then, other = given
            return lambda: then() if _number(asked()) else other()
        if name in ROUNDED:
            return lambda: self._rounded(name, *(_number(part()) for part in given))
        return lambda: FUNCTIONS[name](*(part() for part in given))

    def _rounded(self, name: str, value: float, digits: float = 0) -> float:
        if name == "INT":
            return float(math.floor(self.book.seen(value)))
        return float(self.book.seen(value).quantize(Decimal(1).scaleb(-int(digits)), ROUNDED[name]))

    def _takes(self, *signs: str) -> str:
        found = TOKEN.match(self.text, self.at)
        if not found or found["sign"] not in signs:
            return ""
        self.at = found.end()
        return str(found["sign"])


#: How what is rounded by the eyes of a spreadsheet goes; INT always down.
ROUNDED = {"ROUND": ROUND_HALF_UP, "ROUNDUP": ROUND_UP, "INT": ""}


def _sum(*given: Many) -> float:
    return math.fsum(one for each in given for one in _many(each) if isinstance(one, int | float))


def _sumif(names: Many, wanted: Many, figures: Many) -> float:
    return _sumifs(figures, names, wanted)


def _sumifs(figures: Many, *asked: Many) -> float:
    """The sum of what meets pairs of a range and what is wanted there: alike, or by a sign, as in `>0`."""
    kept = [True] * len(_many(figures))
    for cells, wanted in zip(asked[::2], asked[1::2], strict=True):
        wish = _one(wanted)
        kept = [there and _meets(one, wish) for there, one in zip(kept, _many(cells), strict=True)]
    return math.fsum(_number(one) for one, there in zip(_many(figures), kept, strict=True) if there)


def _meets(one: Value, wanted: Value) -> bool:
    """Whether a cell is what is wanted; words with signs of their own would be patterns, and are an error here."""
    if isinstance(wanted, str) and wanted[:1] in "<>":
        return isinstance(one, int | float) and ORDERED[wanted[0]](one, float(wanted[1:]))
    assert not (isinstance(wanted, str) and re.search(r"[*?~=]", wanted)), wanted
    same = isinstance(one, str) and isinstance(wanted, str) and one.lower() == wanted.lower()
    return same or one == wanted


def _sumproduct(*given: Many) -> float:
    """The sum of products, in which a text counts as nothing."""
    rows = zip(*(_many(one) for one in given), strict=True)
    return math.fsum(math.prod(0.0 if isinstance(one, str) else _number(one) for one in row) for row in rows)


def _exact(left: Many, right: Many) -> list[Value]:
    other = _one(right)
    return [float(one == other) for one in _many(left)]


def _npv(rate: Many, cells: Many) -> float:
    by = 1 + _number(rate)
    return math.fsum(_number(one) / by**year for year, one in enumerate(_many(cells), start=1))


def _average(cells: Many) -> float:
    known = [_number(one) for one in _many(cells)]
    return math.fsum(known) / len(known)


def _match(wanted: Many, cells: Many, kind: Many) -> float:
    assert _number(kind) == 0
    return float(_many(cells).index(_one(wanted)) + 1)


def _day(value: Many) -> date:
    found: object = value
    assert isinstance(found, datetime), value
    return found


FUNCTIONS: Mapping[str, Callable[..., Many]] = {
    "SUM": _sum,
    "SUMIF": _sumif,
    "SUMIFS": _sumifs,
    "SUMPRODUCT": _sumproduct,
    "EXACT": _exact,
    "NPV": _npv,
    "POWER": lambda base, by: _number(base) ** _number(by),
    "AVERAGE": _average,
    "MAX": lambda cells: max(_number(one) for one in _many(cells)),
    "MIN": lambda *given: min(_number(one) for one in given),
    "MATCH": _match,
    "YEAR": lambda value: float(_day(value).year),
    "MONTH": lambda value: float(_day(value).month),
}


def _joined(sign: str, left: Part, right: Part) -> Part:
    """Two parts by a sign, cell by cell where one of them is a range."""

    def one(a: Value, b: Value) -> float:
        if sign in COMPARED:
            a, b = (("" if value is None else value) for value in (a, b)) if isinstance(a or b, str) else (a, b)
            return float(COMPARED[sign](a, b))
        return float({**ORDERED, **WORKED}[sign](_number(a), _number(b)))

    def both() -> Many:
        a, b = left(), right()
        if not isinstance(a, list) and not isinstance(b, list):
            return one(a, b)
        size = len(a) if isinstance(a, list) else len(_many(b))
        wide = [part if isinstance(part, list) else [part] * size for part in (a, b)]
        return [one(x, y) for x, y in zip(*wide, strict=True)]

    return both


def _many(value: Many) -> list[Value]:
    return value if isinstance(value, list) else [value]


def _one(value: Many) -> Value:
    assert not isinstance(value, list)
    return value


def _number(value: Many) -> float:
    """An empty cell counts as nothing; a text would be an error in a spreadsheet, and is one here."""
    assert not isinstance(value, str | list), value
    return float(value or 0)
