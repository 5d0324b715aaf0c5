"""What is answered on when to renew what: ways, dates with their moves, how old parts are, what to write down."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Literal

from costplan.season.deciding.timing_theory import RenewalUse
from costplan.season.drawn.figures import Count, CountDifference, Paired, Spread

Way = Literal["fixed", "uses", "dates"]


@dataclass(frozen=True, slots=True)
class Side:
    """What a season costs one way. `burden`: cash less what is left at the end, and what lost results are worth."""

    name: Way
    burden: Spread
    cash: Spread
    results_lost: Count
    missed: Count


@dataclass(frozen=True, slots=True)
class Move:
    """A date moved by so many events: to the gap before which, and what that costs more; or why it cannot be."""

    events: int
    before: str
    cost: Paired | None
    reason: str


@dataclass(frozen=True, slots=True)
class ServiceDate:
    """A level to be done before an event, from a day on, and what moving it costs. `own`: it is a date of its own; else
    it is opened as something in it is due, or owed."""

    level: str
    before: str
    date: date
    own: bool
    moves: tuple[Move, ...]


@dataclass(frozen=True, slots=True)
class Freshness:
    """A short-lived position at an event: the share of its life used, and the level and event that renewed it last."""

    slot: str
    chosen: float
    fixed: float
    level: str
    before: str


@dataclass(frozen=True, slots=True)
class FreshFor:
    """How fresh an event finds what is short-lived, under the dates that cost least and as the files have it.

    `plan`: the cheapest one found in which none of it has used more than half of its life by then, as level and event;
    `always`: what every opening at its level renews in it; `sooner`: what is renewed at half its use in it; `extra`:
    what it costs more than the plan that costs least, none where that is it or none was found.
    """

    event: str
    date: date
    parts: tuple[Freshness, ...]
    met: bool
    plan: tuple[tuple[str, str], ...]
    always: tuple[str, ...]
    sooner: tuple[str, ...]
    extra: Paired | None


@dataclass(frozen=True, slots=True)
class Spacing:
    """The interval of a level as the files have it and as found, in its measure."""

    level: str
    measure: str
    now: float
    found: float


@dataclass(frozen=True, slots=True)
class CalendarRow:
    """A row for calendar.csv, of kind service."""

    event: str
    date: date
    level: str


@dataclass(frozen=True, slots=True)
class LevelRow:
    """What stands in levels.csv of a level: its interval, none where it is done on dates, and these renewed.

    `rest` is in events; `more`: whether it renews more than now.
    """

    level: str
    interval: float | None
    renews: tuple[str, ...]
    more: bool
    rest: float


@dataclass(frozen=True, slots=True)
class PositionRow:
    """What stands in positions.csv of a position."""

    slot: str
    renewal: str
    factor: float
    waits: bool


@dataclass(frozen=True, slots=True)
class Paste:
    """What to write into the files so that the season follows what was found.

    `dropped`: service rows whose work is not to be done. They get the level `instead`, the lowest without labour, since
    a log may name them; where there is none, it is empty and they are taken out.
    """

    calendar: tuple[CalendarRow, ...]
    dropped: tuple[str, ...]
    instead: str
    levels: tuple[LevelRow, ...]
    positions: tuple[PositionRow, ...]


@dataclass(frozen=True, slots=True)
class AgeAt:
    """The share of its assumed life that a position has used when an event begins, under the dates and as filed."""

    event: str
    date: date
    slot: str
    chosen: float
    fixed: float


@dataclass(frozen=True, slots=True)
class OverYears:
    """What the best way costs more than the files over so many `years`, the garage carried over from each to the next.

    `gain` is by season that follows it, of `followed`: all of them or, where a log has begun the season, the first, the
    later ones being as the files have them. Lost results count; nothing is discounted. `seasons` were drawn, of
    `judged_seed`.
    """

    years: int
    followed: int
    seasons: int
    gain: Paired


@dataclass(frozen=True, slots=True)
class Timing:
    """When to renew what. Money in the scenario's currency; `best`: the way that costs least beyond the error.

    `fixed` is the season as the files have it, `uses` with other renewal uses and intervals, `dates` with dates; gains
    are what each costs more than `fixed` on `judged` seasons of `judged_seed`. Steps of the search took `seasons` at
    the most, of `seed`. `certain`: nothing can fail, so that there is nothing to look for. `lost_more`: results that
    the best way loses more than `fixed`; it pays while one is worth less than `pays_below` beyond its purse. `kept`:
    slots that are never renewed later than the files say. All from `over_years` on, but `kept`, is of the best way.
    """

    currency: str
    seasons: int
    seed: int
    judged: int
    judged_seed: int
    tried: int
    certain: bool
    stopped: bool
    best: Way
    fixed: Side | None = None
    uses: Side | None = None
    dates: Side | None = None
    uses_gain: Paired | None = None
    dates_gain: Paired | None = None
    lost_more: CountDifference | None = None
    pays_below: Decimal | None = None
    over_years: OverYears | None = None
    services: tuple[ServiceDate, ...] = ()
    rest: float = 0.0
    always: tuple[str, ...] = ()
    intervals: tuple[Spacing, ...] = ()
    factors: tuple[RenewalUse, ...] = ()
    ages: tuple[AgeAt, ...] = ()
    asked: FreshFor | None = None
    paste: Paste | None = None
    kept: tuple[str, ...] = ()
