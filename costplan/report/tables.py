"""Tables of text, which pages are made of. A cell is a string; numbers are shown here, never computed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from costplan.quantity import Quantity


@dataclass(frozen=True, slots=True)
class Table:
    """A titled table; `right` numbers the columns of figures, `note` stands below."""

    title: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    right: tuple[int, ...] = ()
    note: str = ""


@dataclass(frozen=True, slots=True)
class Passage:
    """Running text under a heading: each line with the steps by which it is set in, and wrapped there."""

    title: str
    lines: tuple[tuple[int, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Page:
    """A command's answer for a reader: a title, lines of text, passages, tables, passages that close it, and cautions
    at the foot."""

    title: str
    lines: tuple[str, ...]
    tables: tuple[Table, ...]
    foot: tuple[str, ...] = ()
    passages: tuple[Passage, ...] = ()
    closing: tuple[Passage, ...] = ()


def money(amount: Decimal) -> str:
    """An amount with its minor units and separators of thousands, the currency being said once elsewhere."""
    return f"{amount:,f}"


def whole(amount: Decimal) -> str:
    """An amount without minor units, for overviews."""
    return f"{amount:,.0f}"


def number(value: float, digits: int = 4) -> str:
    """A number to so many significant digits, without an exponent.

    >>> number(10.775194), number(1824.0), number(0.5)
    ('10.78', '1,824', '0.5')
    """
    text = f"{float(f'{value:.{digits}g}'):,.6f}"
    return text.rstrip("0").rstrip(".")


def quantity(value: Quantity) -> str:
    """A number with its unit, to five digits.

    >>> quantity(Quantity(301.59289, "in3"))
    '301.59 in3'
    """
    return f"{number(value.value, 5)} {value.unit if value.unit != '1' else ''}".strip()


def share(value: float) -> str:
    return f"{value:.0%}"


def percent(chance: float) -> str:
    """A chance that may be small.

    >>> percent(0.05), percent(0.0125), percent(0.0004)
    ('5%', '1.25%', '0.04%')
    """
    return f"{number(100 * chance, 3)}%"


def day(value: date) -> str:
    """A date without its year, which the page's title gives.

    >>> day(date(2027, 5, 4))
    '04 May'
    """
    return f"{value:%d %b}"


def days_old(days: int | None) -> str:
    """The age of a price; one from after the day asked about is a guess.

    >>> days_old(12), days_old(-3), days_old(None)
    ('12', 'to come', '')
    """
    return "" if days is None else str(days) if days >= 0 else "to come"


def listed(words: Iterable[str]) -> str:
    return ", ".join(words)


def grouped(pairs: Iterable[tuple[str, str]]) -> dict[str, list[str]]:
    """Second words by first, in the order met."""
    groups: dict[str, list[str]] = {}
    for first, second in pairs:
        groups.setdefault(first, []).append(second)
    return groups


def plural(count: int, word: str) -> str:
    """A count with its word.

    >>> plural(1, "race"), plural(30, "day")
    ('1 race', '30 days')
    """
    return f"{count} {word if count == 1 else f'{word}s'}"
