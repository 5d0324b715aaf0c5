"""What a web page is made of. Texts are plain: they are escaped where they are written, and nothing here computes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, TypeAlias

from costplan.report.tables import Table


@dataclass(frozen=True, slots=True)
class Cell:
    """A figure or text; `why`: what it comes from, line by line; `guess`: it rests on an input nobody stands for."""

    text: str
    why: tuple[str, ...] = ()
    guess: bool = False


@dataclass(frozen=True, slots=True)
class Sheet:
    """A titled table; `right` numbers the columns of figures, `note` stands below, `mark` numbers rows to point out.

    `folded`: shown when it is asked for, and never printed.
    """

    title: str
    header: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    right: tuple[int, ...] = ()
    note: str = ""
    mark: tuple[int, ...] = ()
    folded: bool = False


@dataclass(frozen=True, slots=True)
class Chart:
    """A drawing in the grammar of Vega-Lite, twice: `wide` for a desk and for paper, `narrow` for a phone.

    `says`: what it shows, in a sentence, for who cannot see it; `data`: its figures as a table, which it is never
    without.
    """

    title: str
    says: str
    wide: Mapping[str, Any]
    narrow: Mapping[str, Any]
    data: Sheet
    note: str = ""


@dataclass(frozen=True, slots=True)
class Cards:
    """The figures that matter most, each with what it is and a word on it."""

    cards: tuple[tuple[str, Cell, str], ...]


@dataclass(frozen=True, slots=True)
class Words:
    """Paragraphs, under a heading of their own if they have one; with `alert` they must be read first."""

    lines: tuple[str, ...]
    alert: bool = False
    title: str = ""


@dataclass(frozen=True, slots=True)
class Items:
    """Points of one kind, under a heading of their own if they have one."""

    lines: tuple[str, ...]
    title: str = ""


Block: TypeAlias = Sheet | Chart | Cards | Words | Items


@dataclass(frozen=True, slots=True)
class Section:
    """A heading with what stands under it; a section without blocks is left out of the page."""

    title: str
    blocks: tuple[Block, ...]

    @property
    def anchor(self) -> str:
        """Its name in links.

        >>> Section("Cash by month", ()).anchor
        'cash-by-month'
        """
        return "".join(letter if letter.isalnum() else "-" for letter in self.title.lower())


@dataclass(frozen=True, slots=True)
class WebPage:
    """A page for one reader: `reader` is whom it is for, `on` the day that it calls now."""

    reader: str
    title: str
    invented: bool
    on: date
    lead: tuple[str, ...]
    sections: tuple[Section, ...]
    cautions: tuple[str, ...]


def sheet_of(
    table: Table, whys: Mapping[tuple[int, int], tuple[str, ...]] | None = None, note: str | None = None, **more: Any
) -> Sheet:
    """A table of the terminal as one of the page; `whys` by row and column, `note` instead of one that speaks of
    commands, `more` as `Sheet` has it."""
    known = whys or {}
    rows = tuple(
        tuple(Cell(text, known.get((at, column), ())) for column, text in enumerate(row))
        for at, row in enumerate(table.rows)
    )
    return Sheet(table.title, table.header, rows, table.right, table.note if note is None else note, **more)


def cells(*texts: str | Cell) -> tuple[Cell, ...]:
    """A row of a table."""
    return tuple(one if isinstance(one, Cell) else Cell(one) for one in texts)
