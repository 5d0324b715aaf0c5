"""From packs to the book that binds a season."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date

from costplan.rules.book import (
    BarredWork,
    Bond,
    Book,
    Charge,
    Clause,
    DatedPart,
    EngineCap,
    LevelCap,
    ListedShops,
    PieceCap,
)
from costplan.rules.check import evidence_of, is_asked
from costplan.rules.clause import Rule
from costplan.rules.evidence import Sheet
from costplan.rules.kinds import KINDS
from costplan.rules.pack import Pack


def book_of(packs: Iterable[Pack], sheet: Sheet | None, rounds: tuple[date, ...], on: date) -> Book:
    """All bonds of some packs: of clauses whose conditions hold for an engine on a day, or of all without one."""
    bonds = [bond for pack in packs for bond in _of_pack(pack, sheet, rounds, on)]

    return Book(
        tuple(bond for bond in bonds if isinstance(bond, LevelCap)),
        tuple(bond for bond in bonds if isinstance(bond, EngineCap)),
        tuple(bond for bond in bonds if isinstance(bond, PieceCap)),
        tuple(bond for bond in bonds if isinstance(bond, Charge)),
        tuple(bond for bond in bonds if isinstance(bond, BarredWork)),
        tuple(bond for bond in bonds if isinstance(bond, DatedPart)),
        tuple(bond for bond in bonds if isinstance(bond, ListedShops)),
    )


def _of_pack(pack: Pack, sheet: Sheet | None, rounds: tuple[date, ...], on: date) -> Iterator[Bond]:
    """How the clauses of one pack bind; advice does not."""
    evidence = evidence_of(pack, sheet, on) if sheet is not None else None
    for rule in pack.rules:
        if rule.heading.severity == "must" and (evidence is None or is_asked(rule, evidence)):
            yield from _bonds(rule, pack, rounds)


def _bonds(rule: Rule, pack: Pack, rounds: tuple[date, ...]) -> Iterator[Bond]:
    clause = Clause(pack.stem, rule.id, rule.heading.says, rule.place, rule.since(rounds), rule.last(rounds))
    yield from KINDS[rule.kind].bonds(rule.test, clause)
