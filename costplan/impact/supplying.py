"""Whether what a change makes the field buy can be there by the first round, and who then sells it alone."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal

from costplan.impact.field import Crowd, FieldOfEntrants
from costplan.impact.figures import Supply
from costplan.impact.records import Range, Supplied
from costplan.impact.ways import GroupWays, Ways, rises_of

DAYS_A_WEEK = 7


@dataclass(slots=True)
class _Want:
    """What the field wants of a part: pieces over all entrants, how many want it, the longest lead, who sells alone."""

    pieces: int = 0
    entrants: int = 0
    each: int = 1
    lead_days: int = 0
    soles: set[str] = field(default_factory=set)


def supply_of(field_: FieldOfEntrants, groups: Sequence[GroupWays], number: int, on: date) -> Iterator[Supply]:
    """Each part that a change makes the field buy once, more than it would today, the scarcest first.

    Ordered on a day `on`, all at once. What is there by the first round: what lies ready, and what is made in the whole
    weeks until then; both only if its lead lets it come by then.
    """
    wants = _wants(groups, number)
    found = [_supply(field_, groups, number, part, want, on) for part, want in wants.items()]
    yield from sorted(found, key=lambda one: (-(one.short or 0), one.in_time, one.part))


def first_round(field_: FieldOfEntrants, on: date) -> date:
    """The first round on a day or later; the last where all are over."""
    rounds = field_.base.rounds
    return next((day for day in rounds if day >= on), rounds[-1])


def _wants(groups: Sequence[GroupWays], number: int) -> dict[str, _Want]:
    found: dict[str, _Want] = {}
    for group in groups:
        today, under = group.today, group.changed[number]
        before = _bought(today)
        for part, (pieces, lead) in _bought(under).items():
            more = pieces - before.get(part, (0, 0))[0]
            if more > 0:
                want = found.setdefault(part, _Want())
                want.pieces += more * group.crowd.count
                want.entrants += group.crowd.count
                want.each = max(want.each, more)
                want.lead_days = max(want.lead_days, lead)
                want.soles |= _sole_of(part, under, group.crowd)
    return found


def _bought(ways: Ways) -> dict[str, tuple[int, int]]:
    """The pieces that one entrant buys once or needs in the opening gap, with their lead, by part."""
    found: dict[str, tuple[int, int]] = {}
    for line in ways.answer.lines if ways.answer.possible else ():
        if line.what in ("bought", "anyway"):
            pieces, lead = found.get(line.name, (0, 0))
            found[line.name] = (pieces + line.pieces, max(lead, line.lead_days))
    return found


def _sole_of(part: str, ways: Ways, crowd: Crowd) -> set[str]:
    """Who alone sells what may stand in the slots of a part's role."""
    catalog, pattern = crowd.scenario.catalog, crowd.scenario.built().pattern
    known = catalog.parts.get(part) if catalog else None
    return {
        seller for slot, seller in ways.soles.items() if known is not None and pattern.slots[slot].role == known.role
    }


def _supply(
    field_: FieldOfEntrants, groups: Sequence[GroupWays], number: int, part: str, want: _Want, on: date
) -> Supply:
    catalog, row = field_.base.catalog, field_.supplies.get(part)
    known = catalog.parts.get(part) if catalog else None
    suppliers = tuple(sorted({offer.supplier for offer in catalog.offers_of(part)})) if catalog else ()
    until, here = first_round(field_, on), on + timedelta(days=want.lead_days)
    there = None if row is None else _there(row, on, until, in_time=here <= until)
    short = None if there is None else max(0, want.pieces - there)
    return Supply(
        part,
        known.name if known else "",
        suppliers,
        want.entrants,
        want.pieces,
        there,
        want.lead_days,
        here,
        here <= until,
        short,
        None if short is None else min(want.entrants, math.ceil(short / want.each)),
        ", ".join(sorted(want.soles)),
        _rise(field_, groups, number, part),
        row is None or not row.source,
    )


def _there(row: Supplied, on: date, until: date, *, in_time: bool) -> int:
    """The pieces that can be there by a day."""
    weeks = max(0, (until - on).days) // DAYS_A_WEEK
    return row.ready + math.floor(row.a_week * weeks) if in_time else 0


def _rise(field_: FieldOfEntrants, groups: Sequence[GroupWays], number: int, part: str) -> Range:
    """The rise of a part's price, the highest that it is for any group; none where others still sell for its slot."""
    ends = []
    for end in range(3):
        rises: list[Mapping[str, float]] = [
            rises_of(field_.supplies, group.changed[number].soles, group.crowd, end) for group in groups
        ]
        ends.append(Decimal(repr(max(one.get(part, 0.0) for one in rises))))
    return Range(*ends)
