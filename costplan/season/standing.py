"""How a log leaves a season on a day: what was run, what is broken or owed, what must be inspected."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from costplan.problems import Place
from costplan.season import machine


@dataclass(frozen=True, slots=True)
class Inspection:
    """Slots of an engine that must be looked at before it runs again, none named: all of it. `level`: that does so."""

    engine: str
    date: date
    event: str
    rpm: float | None
    slots: tuple[str, ...]
    level: str
    place: Place


@dataclass(frozen=True, slots=True)
class Owed:
    """A level whose day has come, and that the log does not show done. `what`: the calendar row, or the date."""

    engine: str
    level: str
    date: date
    what: str


@dataclass(frozen=True, slots=True)
class EventRun:
    """An event that the log shows run, by which engines, how much of it (1: all), with its use in kept units."""

    event: str
    date: date
    engines: tuple[str, ...]
    share: float
    use: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Standing:
    """A season as a log leaves it on a day: `opening` is the machine's state when the books opened.

    `since`: when what is in a position was put in, by carrier and position, with the place of the row and the name of
    the piece; those that are not in it are in since the books opened. `state`: that of the day itself, before the days
    up to the next run have passed. `paid`: what was paid on the day, by the words of its rows.
    """

    on: date
    opening: machine.State
    ran: tuple[EventRun, ...] = ()
    inspections: tuple[Inspection, ...] = ()
    owed: tuple[Owed, ...] = ()
    broken: tuple[tuple[str, str], ...] = ()
    since: Mapping[tuple[str, str], tuple[date, Place, str]] = field(default_factory=dict)
    state: machine.State | None = None
    paid: frozenset[str] = frozenset()
