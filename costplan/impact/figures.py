"""What a study answers: of each group, of the field, of each change. Money in the scenario's currency."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from costplan.impact.answers import UNDECIDED, OnceLine, Swap
from costplan.impact.course import Course
from costplan.impact.records import Range, Study, Told
from costplan.season.drawn.figures import CountDifference, Mean


@dataclass(frozen=True, slots=True)
class Opened:
    """How often a level is done a season, alone or within a higher one, before and after."""

    level: str
    before: float
    after: float


@dataclass(frozen=True, slots=True)
class Interval:
    """How many events of the calendar a part lasts until it is renewed by age, before and after."""

    slot: str
    before: float
    after: float


@dataclass(frozen=True, slots=True)
class Driver:
    """What a slot, or opening a level, costs in cash a year on average, before and after; what is paid once left
    out."""

    what: str
    before: Decimal
    after: Decimal

    @property
    def more(self) -> Decimal:
        return self.after - self.before


@dataclass(frozen=True, slots=True)
class Power:
    """Estimated power in `unit`, as it is and after; `error` either way of each: smaller differences are not ranked."""

    unit: str
    before: float
    after: float
    error: float

    @property
    def more(self) -> float:
        return self.after - self.before

    @property
    def shown(self) -> bool:
        """Whether the difference is beyond the error."""
        return abs(self.more) > self.error


@dataclass(frozen=True, slots=True)
class Spent:
    """What comes of it where each also spends its budget on power as far as the book lets it buy any.

    `once`: what one of them spends on it once, beside complying; under today's book, `once_today`. `over`: the cost of
    the change over the years, both sides spending. `power` is that of the spenders.
    """

    once: Decimal
    once_today: Decimal
    over: Mean
    power: Power | None
    swaps: tuple[Swap, ...]
    swaps_today: tuple[Swap, ...]


@dataclass(frozen=True, slots=True)
class GroupImpact:
    """What a change costs a group, by entrant on average; what it saves is negative.

    `now` and `after`: how the engine as it is stands to the book, and to the changed one, with the clauses broken;
    `against`: why no parts of the catalogs answer it, in which case nothing is costed. `amounts`: of each line, with
    the haircut of what is sold and the rise of what is bought. `once`: paid on opening day;
    `first`: that with the first year's cash; `yearly`: cash of each later year; `wear`: what is used up a year; `over`:
    all years, discounted, what is left taken off, `over_other` at the second rate, `burden` with lost results counted.
    `payback`: in years, None where the years do not pay it back, 0 where nothing was paid once and something is saved.
    `stranded`: what is left of parts put out, `brings` what they sell for. `p10` ... `p90`: of entrants, what it costs
    them over the years at most. `low` and `high`: `over` at the ends of haircuts and price rises. `drivers`: the slots
    and levels that the yearly difference is made of, the largest first; the last is all that is neither. `year`: all
    of a year's cash, before and after. `course`: the difference year by year.
    """

    group: str
    entrants: Range
    now: str
    now_broken: tuple[str, ...]
    after: str
    after_broken: tuple[str, ...]
    against: tuple[str, ...]
    swaps: tuple[Swap, ...]
    lines: tuple[OnceLine, ...]
    amounts: tuple[Decimal, ...]
    proved: bool
    once: Decimal
    first: Mean
    yearly: Mean
    wear: Mean
    over: Mean
    over_other: Mean
    burden: Mean
    payback: float | None
    stranded: Decimal
    brings: Decimal
    p10: Decimal
    p50: Decimal
    p90: Decimal
    low: Decimal
    high: Decimal
    losers: int
    losers_first: int
    leaving: int | None
    missed: CountDifference
    stopped: CountDifference
    power: Power | None
    opened: tuple[Opened, ...]
    intervals: tuple[Interval, ...]
    drivers: tuple[Driver, ...]
    year: Driver
    spent: Spent | None
    assumed: bool
    course: Course

    @property
    def count(self) -> int:
        """The likely number of its entrants."""
        return int(self.entrants.likely)

    @property
    def answered(self) -> bool:
        return not self.against

    @property
    def undecided(self) -> bool:
        """Whether the search for an answer ran out of time."""
        return self.against == (UNDECIDED,)


@dataclass(frozen=True, slots=True)
class Phase:
    """A way to bring a change in: what the field pays once, in the first year, over all years; value put out of use."""

    name: str
    says: str
    once: Decimal
    first: Mean
    over: Mean
    stranded: Decimal


@dataclass(frozen=True, slots=True)
class Stranded:
    """A part that a change puts out: how many entrants have it, what is left of it all, what it brings."""

    part: str
    name: str
    entrants: int
    left: Decimal
    brings: Decimal

    @property
    def lost(self) -> Decimal:
        return self.left - self.brings


@dataclass(frozen=True, slots=True)
class Supply:
    """A part that a change makes the field buy: pieces wanted by the first round against those there can be.

    `there`: None where supply.csv does not say. `short`: pieces that are not there; `waiting`: entrants without theirs.
    `sole`: who alone sells what the book still lets in its slot, where others did before; `rise`: of its price then.
    """

    part: str
    name: str
    suppliers: tuple[str, ...]
    entrants: int
    wanted: int
    there: int | None
    lead_days: int
    here: date
    in_time: bool
    short: int | None
    waiting: int | None
    sole: str
    rise: Range
    assumed: bool


@dataclass(frozen=True, slots=True)
class Enforcement:
    """What the officials spend: minutes by car for the clauses changed, before and after; a season's cost; gauges once.

    `clauses`: those added, replaced or withdrawn; `conduct`: of the new ones those that only say how to behave,
    exchanges and claims among them, which nothing here costs.
    """

    clauses: tuple[str, ...]
    conduct: tuple[str, ...]
    minutes_before: float
    minutes_after: float
    cars: int
    rounds: int
    a_season: Decimal
    once: Decimal
    tools: tuple[str, ...]

    @property
    def minutes_more(self) -> float:
        return self.minutes_after - self.minutes_before


@dataclass(frozen=True, slots=True)
class Roll:
    """The field's total over the years from groups that may each be off: low, likely, high, and the spread between.

    Each group is taken as triangular; `mean` and `deviation` of their sum at a stated correlation, `p10` and `p90` as
    if it were normal.
    """

    range: Range
    mean: Decimal
    deviation: Decimal
    p10: Decimal
    p90: Decimal


@dataclass(frozen=True, slots=True)
class Total:
    """What a change costs the whole field; fields as in `GroupImpact`. `unable`: entrants whom no parts let comply."""

    entrants: int
    once: Decimal
    first: Mean
    yearly: Mean
    wear: Mean
    over: Mean
    over_other: Mean
    burden: Mean
    payback: float | None
    stranded: Decimal
    brings: Decimal
    losers: int
    losers_first: int
    winners: int
    leaving: int | None
    unable: int
    missed: CountDifference
    stopped: CountDifference
    roll: Roll
    risen: Decimal
    spent: Mean | None
    p10: Decimal
    p50: Decimal
    p90: Decimal
    course: Course


@dataclass(frozen=True, slots=True)
class ChangeImpact:
    """A change, and what it costs whom."""

    file: str
    name: str
    author: str
    source: str
    date: date | None
    reason: str
    written: str
    total: Total
    groups: tuple[GroupImpact, ...]
    phases: tuple[Phase, ...]
    stranded: tuple[Stranded, ...]
    supply: tuple[Supply, ...]
    enforcement: Enforcement

    @property
    def drivers(self) -> tuple[tuple[str, Decimal], ...]:
        """How much more a year the whole field pays by slot, level opened and all else, what moves most first."""
        found: dict[str, Decimal] = {}
        for group in self.groups:
            for row in group.drivers:
                found[row.what] = found.get(row.what, Decimal(0)) + row.more * group.count
        return tuple(sorted(found.items(), key=lambda one: -abs(one[1])))

    def by_worst(self) -> tuple[GroupImpact, ...]:
        """The groups by what it costs one of them over the years, the worst hit first."""
        return tuple(sorted((one for one in self.groups if one.answered), key=lambda one: -one.over.mean))


@dataclass(frozen=True, slots=True)
class AsItIs:
    """What the field pays if nothing is changed: cash of the first year, of each later one, wear a year; missed."""

    first: Decimal
    yearly: Decimal
    wear: Decimal
    missed: float


@dataclass(frozen=True, slots=True)
class Source:
    """Whose word an input is, and of when."""

    what: str
    source: str
    date: date | None
    assumed: bool


@dataclass(frozen=True, slots=True)
class Impact:
    """The study of a field: nothing done, and each change; `seasons` drawn for each entrant, on every side.

    `result_worth`: what a lost result of weight 1 counts in `burden`, by [policy] of scenario.toml.

    `assumed`: what counts and nobody stands for; `limits`: what the method leaves out.
    """

    title: str
    invented: bool
    currency: str
    on: date
    first_round: date
    study: Study
    entrants: int
    seasons: int
    short_seasons: int
    seed: int
    loss: Decimal
    result_worth: Decimal
    as_it_is: AsItIs
    changes: tuple[ChangeImpact, ...]
    told: tuple[Told, ...]
    sources: tuple[Source, ...]
    assumed: tuple[str, ...]
    limits: tuple[str, ...]
