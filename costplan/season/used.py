"""The share of its assumed life that each part has used on opening day, after every event and at the end."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from costplan.season import machine
from costplan.season.calendar import by_event
from costplan.season.ledger import renewals_of, share_worn
from costplan.season.names import Season
from costplan.season.plan import LifeUsed, life_used, play_plan


@dataclass(frozen=True, slots=True)
class UsedAt:
    """The worn share of a position after the last run of an event; `renewed`: before or between its runs."""

    event: str
    date: date
    share: float
    renewed: bool


@dataclass(frozen=True, slots=True)
class UsedLife:
    """How a position uses up its life over a season, as shares of the life of which it has used most.

    `by`: that life, at the end; `assumed`: it is a guess in part. `now`: after the last run before the day called now.
    """

    engine: str
    slot: str
    part: str
    by: str
    assumed: bool
    opening: float
    now: float
    end: float
    events: tuple[UsedAt, ...]


def used_at_events(season: Season, on: date) -> tuple[UsedLife, ...]:
    """Every position that has a life, the most used on a day first within its engine."""
    state = play_plan(season)
    lines = {(line.engine, line.slot): line for line in life_used(season, state, on)}
    found = []
    for c, carrier, p, spot in season.positions():
        line = lines.get((carrier, spot.slot))
        if line is not None:
            found.append(_used(line, tuple(_after_events(season, state, c, p, line.opening))))
    order = list(dict.fromkeys(line.engine for line in found))
    return tuple(sorted(found, key=lambda line: (order.index(line.engine), -line.now, -line.end)))


def _used(line: LifeUsed, events: tuple[UsedAt, ...]) -> UsedLife:
    return UsedLife(line.engine, line.slot, line.part, line.by, line.assumed, line.opening, line.now, line.end, events)


def _after_events(season: Season, state: machine.State, c: int, p: int, opening: float) -> Iterator[UsedAt]:
    """A position after each event. Before the machine begins to play, only a share that fell tells of a renewal."""
    gaps = {row[0] for row in renewals_of(state).tolist() if row[1:3] == [c, p]}
    before = opening
    for runs in by_event(season.runs):
        event, last = runs[0][1].event, runs[-1][0]
        share = share_worn(season, state, last, c, p)
        renewed = any(g in gaps for g, _ in runs) or (last < season.problem.begin and share < before)
        yield UsedAt(event.event, event.date, share, renewed)
        before = share
