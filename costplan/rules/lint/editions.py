"""Lists and their editions: that no clause names one, that two are in force, that none is."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from itertools import pairwise

from costplan.rules.clause import Rule
from costplan.rules.evidence import PartList
from costplan.rules.lint.desk import DAY, Desk, Found


def list_unnamed(desk: Desk) -> Iterator[Found]:
    """A list that no clause names."""
    for name, rows in desk.editions.items():
        if name not in desk.naming:
            yield Found(name, rows[0].place, "a list that no clause names", "leave it out, or name it in a clause")


def editions_overlap(desk: Desk) -> Iterator[Found]:
    """Two editions of a list that both say they are in force."""
    for name, rows in desk.editions.items():
        for one, other in pairwise(rows):
            if one.since == other.since or (one.until and other.since and other.since <= one.until):
                said = f"from {one.since or 'the beginning'} until {one.until or 'the next'}"
                what = f"{_edition(other)} begins on {other.since or 'no day'}, but {_edition(one)} is in force {said}"
                yield Found(name, other.place, what, "end the one before the other begins", name)


def _edition(row: PartList) -> str:
    """What an edition is called: by its number, or by where it stands."""
    return f"edition {row.edition}" if row.edition else f"the edition in {row.place}"


def edition_gap(desk: Desk) -> Iterator[Found]:
    """Days of the season, or after it, on which a list has no edition; or on which a clause asks for one in vain."""
    opens = desk.facts.opens or date.min
    for name, rows in desk.editions.items():
        for one, other in pairwise(rows):
            if one.until and other.since and one.until + DAY < other.since and other.since > opens:
                what = f"no edition from {one.until + DAY} until {other.since - DAY}"
                yield Found(name, other.place, what, f"let {_edition(other)} begin on {one.until + DAY}")
        for what, rule in _beyond(desk, rows):
            yield Found(name, rows[0].place, what, "add an edition, or end the clause", rule.id)
            break


def _beyond(desk: Desk, rows: list[PartList]) -> Iterator[tuple[str, Rule]]:
    """The clauses that ask for a list in the season before its first edition or after its last."""
    opens, closes = desk.facts.opens or date.min, max(desk.facts.rounds, default=date.max)
    since, until = rows[0].since or date.min, rows[-1].until or date.max
    for rule, _ in desk.naming.get(rows[0].list, ()):
        span = desk.span(rule)
        first, last = max(span[0], opens), min(span[1], closes)
        if first < since and date.min < first <= last:
            yield f"no edition before {since}, but {rule.id} asks for one from {first}", rule
        elif until < last < date.max and first <= last:
            yield f"no edition after {until}, but {rule.id} asks for one until {last}", rule
