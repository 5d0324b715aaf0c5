"""Clauses as written, before they are read: what supplements and changes move about."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from costplan.reading import Document, KeyPath
from costplan.rules.clause import ALWAYS, Phase


@dataclass(frozen=True, slots=True)
class Entry:
    """One clause as written: the document and the path of its table.

    `phase`: from when it holds where it gives no day or round itself; `ended`: from when another takes its place, or
    nothing does.
    """

    document: Document
    path: KeyPath
    phase: Phase = ALWAYS
    ended: Phase | None = None

    @property
    def values(self) -> dict[str, Any]:
        """Its keys; none where it is no table."""
        found: Any = self.document.values
        for key in self.path:
            found = found[key]
        return found if isinstance(found, dict) else {}

    @property
    def id(self) -> str:
        return str(self.values.get("id", ""))


def entries_of(document: Document, key: str) -> Iterator[Entry]:
    """The tables of an array `[[key]]`, as clauses."""
    rows = document.values.get(key, [])
    for index in range(len(rows) if isinstance(rows, list) else 0):
        yield Entry(document, (key, index))
