"""One difference of two books, and what all that differs in it comes to: tighter, looser, both or neither."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from costplan.problems import Place

How = Literal[
    "tightened", "loosened", "tightened and loosened", "replaced", "added", "withdrawn", "from when", "reworded"
]
#: What one thing that differs does; `changed`: neither is tighter than the other, or it cannot be told.
Way = Literal["tightened", "loosened", "changed", "when", "words"]


@dataclass(frozen=True, slots=True)
class Shift:
    """One thing that differs, in plain words."""

    way: Way
    words: str


@dataclass(frozen=True, slots=True)
class Difference:
    """How one clause, one list of parts or one key of the header differs.

    `name`: the clause's id, the list's name or the key; `since`: from when, where the old one stays until then;
    `says`: what the clause says now, or said; `clause`: its chapter and page; `before`, `after`: where they stand.
    """

    what: Literal["clause", "list", "header"]
    name: str
    how: How
    words: tuple[str, ...]
    since: str = ""
    says: str = ""
    clause: str = ""
    before: Place | None = None
    after: Place | None = None


def how_of(shifts: Sequence[Shift]) -> How:
    """What several things that differ come to together."""
    ways = {shift.way for shift in shifts}
    if "changed" in ways:
        return "replaced"
    if {"tightened", "loosened"} <= ways:
        return "tightened and loosened"
    simple: tuple[tuple[Way, How], ...] = (
        ("tightened", "tightened"),
        ("loosened", "loosened"),
        ("when", "from when"),
    )
    return next((how for way, how in simple if way in ways), "reworded")
