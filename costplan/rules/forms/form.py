"""A form that clauses take in rule books, and what proves it."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

#: What proves a form, by letter.
LETTERS = MappingProxyType(
    {
        "L": "parts list",
        "D": "document",
        "V": "measured value",
        "I": "inspection",
        "E": "record of events",
    }
)


@dataclass(frozen=True, slots=True)
class Form:
    """One form of a clause: the letters of what proves it, the kinds of its clauses and conditions, and an example.

    `note` says what the example cannot: what it needs beside it, or which part of the form is words alone.
    """

    number: int
    name: str
    proof: str
    kinds: tuple[str, ...]
    toml: str
    note: str = ""

    @property
    def says(self) -> str:
        """The example in words: what its clauses say; where it is no clause, what the book says of itself."""
        book: dict[str, Any] = tomllib.loads(self.toml)
        return " ".join(clause["says"] for clause in book.get("rule", ())) or str(book["tolerance"])
