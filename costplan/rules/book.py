"""The book as it binds a season: what its clauses forbid, cap, date and charge, each with the clause that says so."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields, replace
from datetime import date
from decimal import Decimal
from typing import Literal, Protocol

from costplan.catalog import Operation
from costplan.problems import Place


@dataclass(frozen=True, slots=True)
class Clause:
    """A clause as the season names it, and the days on which it is in force (None: no bound); both days included.

    `pack`: its file's name without .toml, as everywhere.
    """

    pack: str
    rule: str
    says: str
    place: Place
    since: date | None = None
    until: date | None = None

    def holds_on(self, day: date) -> bool:
        return (self.since is None or self.since <= day) and (self.until is None or day <= self.until)


@dataclass(frozen=True, slots=True)
class LevelCap:
    """At most so many openings at a level or above it: of each engine or of all together, in a season or a life."""

    clause: Clause
    level: str
    most: int
    each_engine: bool
    in_life: bool


@dataclass(frozen=True, slots=True)
class EngineCap:
    """At most so many engines run in a season."""

    clause: Clause
    most: int


@dataclass(frozen=True, slots=True)
class PieceCap:
    """At most so many pieces are put in, new or used, of the slots and services named, in a season or at one event."""

    clause: Clause
    slots: tuple[str, ...]
    most: int
    each_event: bool


@dataclass(frozen=True, slots=True)
class Charge:
    """A sum due by the book on each occasion; openings: at the levels named, or one above them."""

    clause: Clause
    amount: Decimal
    currency: str
    per: Literal["opening", "swap", "event", "race", "month", "season"]
    level: str = ""


@dataclass(frozen=True, slots=True)
class BarredWork:
    """Shop operations that may not be done to the slots named (all, where none is)."""

    clause: Clause
    slots: tuple[str, ...]
    forbids: Callable[[Operation], bool]


@dataclass(frozen=True, slots=True)
class DatedPart:
    """A part that may stay so many days from the day of its paper, else from when it was installed; never longer."""

    clause: Clause
    slot: str
    days: float


@dataclass(frozen=True, slots=True)
class ListedShops:
    """The only shops that may do a level or one above it."""

    clause: Clause
    level: str
    shops: tuple[str, ...]


class Bond(Protocol):
    """Anything by which a clause binds the season."""

    @property
    def clause(self) -> Clause: ...


@dataclass(frozen=True, slots=True)
class Book:
    """All bonds of all packs in which an engine runs."""

    level_caps: tuple[LevelCap, ...] = ()
    engine_caps: tuple[EngineCap, ...] = ()
    piece_caps: tuple[PieceCap, ...] = ()
    charges: tuple[Charge, ...] = ()
    barred: tuple[BarredWork, ...] = ()
    dated: tuple[DatedPart, ...] = ()
    shops: tuple[ListedShops, ...] = ()

    def bonds(self) -> Iterator[Bond]:
        """Every bond, kind by kind."""
        for kind in fields(self):
            yield from getattr(self, kind.name)

    def clauses(self) -> tuple[Clause, ...]:
        """The clauses that bind, each once."""
        return tuple(dict.fromkeys(bond.clause for bond in self.bonds()))

    def only(self, keeps: Callable[[Clause], bool]) -> Book:
        """The book with the bonds of some clauses alone."""
        kept = {
            kind.name: tuple(bond for bond in getattr(self, kind.name) if keeps(bond.clause)) for kind in fields(self)
        }
        return replace(self, **kept)

    def without(self, clause: Clause) -> Book:
        """The book with one clause struck out."""
        return self.only(lambda one: one != clause)


#: A season that no book binds.
NO_BOOK = Book()
