"""Pages on a terminal, readable at 80 columns and without colour."""

from __future__ import annotations

from rich import box
from rich.console import Console
from rich.table import Table as RichTable
from rich.text import Text

from costplan.report.tables import Page, Table


def print_page(page: Page, console: Console | None = None) -> None:
    """Prints a page; what users wrote is shown as text, never as markup."""
    out = console or Console(highlight=False, markup=False, emoji=False)
    out.print(Text(page.title, style="bold"))
    for line in page.lines:
        out.print(Text(line))
    for table in page.tables:
        out.print()
        print_table(table, out)
    if page.foot:
        out.print()
    for line in page.foot:
        out.print(Text(line, style="dim"))


def print_table(table: Table, out: Console) -> None:
    if table.title:
        out.print(Text(table.title, style="bold"))
    if table.rows:
        drawn = RichTable(box=box.SIMPLE_HEAD, pad_edge=False, show_edge=False, padding=(0, 1))
        for index, heading in enumerate(table.header):
            right = index in table.right
            drawn.add_column(Text(heading), justify="right" if right else "left", no_wrap=right, overflow="fold")
        for row in table.rows:
            drawn.add_row(*(Text(cell) for cell in row))
        out.print(drawn)
    if table.note:
        out.print(Text(table.note))
