"""The terms of a quote in words: what the shop book's figures mean, and what the shop says itself."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from costplan.money import with_minor_digits
from costplan.quote.records import Term
from costplan.quote.shop import ShopBook


def terms_of_shop(book: ShopBook, deposit: Decimal, currency: str) -> tuple[Term, ...]:
    """Terms by the figures of shop.toml, then its own; one of its own with the heading of another replaces it."""
    own = {row.heading: Term(row.heading, row.says) for row in book.terms}
    stated = [term for term in _stated(book, deposit, currency) if term.heading not in own]
    return (*stated, *own.values())


def _stated(book: ShopBook, deposit: Decimal, currency: str) -> Iterator[Term]:
    header, charges = book.header, book.header.charges
    if deposit:
        of = "of the total" if header.deposit_of == "total" else "of the parts with tax"
        yield Term("Payment", f"{percent(deposit)} {of} with the order; the balance before the engine leaves the shop.")
    else:
        yield Term("Payment", "The whole before the engine leaves the shop.")
    yield Term(
        "Old pieces", f"A deposit on an old piece comes back if it returns unbroken within {header.core_days} days."
    )
    if charges.restocking:
        yield Term(
            "Returns", f"{percent(charges.restocking)} of the price is kept of parts that are taken back unused."
        )
    if charges.storage_a_day:
        amount = with_minor_digits(charges.storage_a_day, currency)
        yield Term("Storage", f"{amount:,} {currency} a day from {charges.storage_after_days} days after it is ready.")
    if charges.late_a_month:
        after = f" from {charges.late_after_days} days after it is ready" if charges.late_after_days else ""
        yield Term("Late payment", f"{percent(charges.late_a_month)} a month on what is overdue{after}.")


def percent(share: Decimal) -> str:
    """A share in hundredths.

    >>> percent(Decimal("0.015")), percent(Decimal("0.5"))
    ('1.5 %', '50 %')
    """
    return f"{plain(100 * share)} %"


def plain(number: Decimal) -> str:
    """A quantity or a percent without zeros at its end.

    >>> plain(Decimal("6.50")), plain(Decimal("1E+1")), plain(Decimal(-3))
    ('6.5', '10', '-3')
    """
    return f"{number.normalize():f}"
