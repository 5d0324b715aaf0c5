"""The office paper that what is printed is set for."""

from __future__ import annotations

from typing import Literal, TypeAlias

Paper: TypeAlias = Literal["a4", "us-letter"]

#: Where office paper is of letter size; everywhere else it is A4.
LETTER_CURRENCIES = ("USD", "CAD")


def paper_of(currency: str) -> Paper:
    """
    >>> paper_of("CAD"), paper_of("EUR")
    ('us-letter', 'a4')
    """
    return "us-letter" if currency in LETTER_CURRENCIES else "a4"
