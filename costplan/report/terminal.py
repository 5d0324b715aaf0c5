"""Pages on a terminal, readable at 80 columns and without colour."""

from __future__ import annotations

from typing import Literal

from rich import box
from rich.console import Console
from rich.table import Table as RichTable
from rich.text import Text

from costplan.report.tables import Page, Passage, Table

#: Between two columns, and what a column of words keeps when the figures take the room.
GAP, WORDS = 3, 10
#: One step of setting in.
STEP = 2


def print_page(page: Page, console: Console | None = None) -> None:
    """Prints a page; what users wrote is shown as text, never as markup."""
    out = console or Console(highlight=False, markup=False, emoji=False)
    out.print(clean(page.title, "bold"))
    for line in page.lines:
        out.print(clean(line))
    for passage in page.passages:
        out.print()
        print_passage(passage, out)
    for table in page.tables:
        out.print()
        print_table(table, out)
    for passage in page.closing:
        out.print()
        print_passage(passage, out)
    if page.foot:
        out.print()
    for line in page.foot:
        out.print(clean(line, "dim"))


def print_markdown(text: str, console: Console | None = None) -> None:
    """Prints Markdown set out on a terminal; elsewhere, as into a file, as it is written."""
    out = console or Console(highlight=False, markup=False, emoji=False)
    if out.is_terminal:
        from rich.markdown import Markdown

        out.print(Markdown(text))
    else:
        out.file.write(text)


def clean(text: str, style: str = "") -> Text:
    """A text without what would steer the terminal.

    >>> clean("a\\x1b[31mb").plain
    'a·[31mb'
    """
    return Text("".join(char if char.isprintable() or char == "\n" else "·" for char in text), style=style)


def print_passage(passage: Passage, out: Console) -> None:
    """A heading, and lines that stay set in where they are wrapped."""
    if passage.title:
        out.print(clean(passage.title, "bold"))
    for steps, line in passage.lines:
        indent = min(STEP * steps, out.width // 2)
        for piece in clean(line).wrap(out, out.width - indent):
            piece.rstrip()
            out.print(Text.assemble(" " * indent, piece))


def print_table(table: Table, out: Console) -> None:
    if table.title:
        out.print(clean(table.title, "bold"))
    if table.rows:
        drawn = RichTable(box=box.SIMPLE_HEAD, pad_edge=False, show_edge=False, padding=(0, 1))
        whole = fits(table, out.width)
        for index, heading in enumerate(table.header):
            right = index in table.right
            justify: Literal["right", "left"] = "right" if right else "left"
            drawn.add_column(clean(heading), justify=justify, no_wrap=right and whole, overflow="fold")
        for row in table.rows:
            drawn.add_row(*(clean(cell) for cell in row))
        out.print(drawn)
    if table.note:
        out.print(clean(table.note))


def fits(table: Table, width: int) -> bool:
    """Whether the figures keep to one line; where they cannot, they are folded rather than cut."""
    cells = [max(len(row[index]) for row in (table.header, *table.rows)) for index in range(len(table.header))]
    needed = (cell if index in table.right else min(cell, WORDS) for index, cell in enumerate(cells))
    return sum(needed) + GAP * (len(cells) - 1) <= width
