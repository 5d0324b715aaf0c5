"""The requests of a scenario and what is saved of them, as a page."""

from __future__ import annotations

from collections.abc import Sequence

from costplan.quote.listing import Listed
from costplan.report.data import to_csv
from costplan.report.tables import Page, Table, listed, money


def listing_page(found: Sequence[Listed], title: str) -> Page:
    """Everything that `costplan quote list` answers."""
    rows = tuple(
        (
            one.request,
            f"{one.number}\n{one.title}",
            one.of,
            "" if one.gross is None else money(one.gross),
            listed(map(str, one.revisions)) or "none",
        )
        for one in found
    )
    table = Table("", ("Request", "Quote", "Job", "Last, with tax", "Revisions"), rows, (3,))
    lines = () if rows else ("No request yet: write one in a file quote-NAME.toml.",)
    return Page(title, lines, (table,) if rows else ())


def listing_csv(found: Sequence[Listed]) -> str:
    """The same as CSV."""
    rows = (
        (
            one.request,
            one.number,
            one.title,
            one.of,
            "" if one.gross is None else one.gross,
            " ".join(map(str, one.revisions)),
        )
        for one in found
    )
    return to_csv(("request", "number", "title", "job", "gross", "revisions"), rows)
