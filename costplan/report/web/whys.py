"""What a figure of a page comes from: the rows of the ledger behind it, the dearest first."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from costplan.report.tables import money, plural
from costplan.season.ledger import Row

#: Rows that a figure tells; the ledger at the end of the page has them all.
TOLD = 8


def rows_behind(rows: Iterable[Row]) -> tuple[str, ...]:
    """The rows that a figure is the sum of, each with its place in the files."""
    found = sorted(rows, key=lambda row: -abs(row.amount))
    lines = [f"{money(row.amount)}  {_what(row)}{row.why}" for row in found[:TOLD]]
    more = len(found) - TOLD
    return (*lines, f"and {plural(more, 'smaller row')} of the ledger below") if more > 0 else tuple(lines)


def _what(row: Row) -> str:
    """When a row is and what it is on, where its why does not begin with that."""
    names = " ".join(dict.fromkeys(name for name in (row.engine, row.slot, row.part) if name))
    said = not names or row.why.startswith(row.slot or names)
    return f"{row.date:%d %b}: " if said else f"{row.date:%d %b}: {names}, "


def cash_of(rows: Sequence[Row], **wanted: str) -> tuple[Row, ...]:
    """The cash rows with these words in their fields."""
    return tuple(
        row for row in rows if row.view == "cash" and all(getattr(row, name) == word for name, word in wanted.items())
    )


def near_place(place: str) -> str:
    """A place by its file's own name."""
    return place.replace("\\", "/").rpartition("/")[2]
