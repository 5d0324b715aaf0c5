"""What is said when a revision was saved."""

from __future__ import annotations

from costplan.quote import Quote
from costplan.report.tables import Page, money


def saved_page(quote: Quote, path: str) -> Page:
    """Which revision was saved where, and what it comes to."""
    total = f"{money(quote.totals.gross)} {quote.currency} with tax, valid until {quote.valid_until}"
    return Page(f"Saved: {quote.number}, revision {quote.revision}", (f"{total}.", f"In {path}."), ())
