"""What a part in a slot costs a season and how long it lasts, as a sum over slots that a choice can make least.

A position renewed at an age T, or when it fails before, costs (Cp R(T) + Cf F(T)) / (integral of R from 0 to T) a
season, T and the integral in seasons (Barlow & Hunter, Operations Research 8 (1960), policy I). It is a sum over slots
only because each slot is asked by itself: what a failure takes along is priced at the planned parts, what other slots
break of it, what is renewed with it and labour are left out. The season machine, which shows all of that, replays
what the sum has chosen. A season is the calendar once over; in days it is a year.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from costplan.build import Slot
from costplan.catalog import Catalog, Part, ServiceStep
from costplan.life import Life, Weibull, duty, life_of
from costplan.life.stages import Rate, Renewal, rate_mended, rate_of
from costplan.money import from_minor
from costplan.scenario import Scenario
from costplan.season import CAR, Position, Season, machine, play_plan
from costplan.season.calendar import Run, season_use, ungiven
from costplan.season.machine.years import DAYS_A_YEAR
from costplan.season.names import LADDERS, Spot, Step, value_of
from costplan.season.records import Case


@dataclass(frozen=True, slots=True)
class Reach:
    """The lowest service level that reaches a slot, what it opens, and its rank there: a higher one reaches it too."""

    level: str
    carrier: str
    rank: int


@dataclass(frozen=True, slots=True)
class Lasting:
    """What a part in a slot costs a season, in the scenario's currency, and how long it lasts.

    `renewals` by age, interval or limit and `failures` are those expected in a season. `interval`: seasons until the
    first of its lives is up (infinite where none is by age), `events`: the same in events of the calendar; `what` names
    that life and its row, and the level that renews the slot before, if one does. `assumed`: what of it is a guess.
    """

    slot: str
    part: str
    per_season: float
    renewals: float
    failures: float
    interval: float
    events: float
    what: str
    assumed: tuple[str, ...]


class _End(NamedTuple):
    """When something is up, in seasons, and what it is in words; a `hard` limit is past no service step."""

    seasons: float
    what: str
    hard: bool = False


class _Bill(NamedTuple):
    """What a failure costs on average beyond the set itself; the share of failures in which the engine is lost."""

    beyond: float
    lost: float
    assumed: tuple[str, ...]


class _Place(NamedTuple):
    """A position as it is asked about: its row, the runs that it serves, and the pattern's slot."""

    name: str
    row: Position
    slot: Slot
    runs: tuple[Run, ...]


class Seasons:
    """How long parts last in the slots of a scenario's build, asked one by one; made once for many parts.

    `season`: its compiled season as its books open, whose calendar, levels, book and planned parts count. Openings a
    season are those that its plan makes, with the planned parts.
    """

    def __init__(self, scenario: Scenario, season: Season) -> None:
        if scenario.catalog is None or scenario.build is None:
            raise ValueError("a scenario without a build has no parts that last")
        self._scenario, self._season, self._build = scenario, season, scenario.build
        self._catalog: Catalog = scenario.catalog
        self._rows: Mapping[str, Position] = {row.slot: row for row in scenario.files.positions}
        self._ranks = {row.level: row.rank for row in scenario.files.levels}
        self._events = sum(run.first for run in season.runs)
        span = (season.runs[-1].event.date - season.runs[0].event.date).days
        self._days = max(float(span), DAYS_A_YEAR)
        self._places: dict[str, _Place] = {}
        self._bills: dict[str, _Bill] = {}
        self._uses: dict[tuple[str, str, float | None, float], float] = {}

    @property
    def levels(self) -> tuple[Reach, ...]:
        """The levels by carrier and rank."""
        found = {row.level: Reach(row.level, row.carrier, row.rank) for row in self._scenario.files.levels}
        return tuple(sorted(found.values(), key=lambda reach: (reach.carrier == CAR, reach.rank)))

    def level_of(self, slot: str) -> Reach | None:
        """The level that reaches a slot; None for a slot that is no position."""
        row = self._rows.get(slot.partition("/")[0])
        return None if row is None else Reach(row.level, row.carrier, self._ranks[row.level])

    def of(self, slot: str, part: Part, spend: float) -> Lasting | None:
        """What a part costs in a slot (or in slot/alternate) and how long it lasts; None where nothing wears there.

        `spend`: what a new set costs, Cp. A failure costs that too, or one piece's share of it where one piece is
        renewed, or the next service step where that mends; and on top the expected bill of the slot's cases.
        """
        if slot.partition("/")[0] not in self._rows:
            return None
        place = self._place(slot)
        lives = self._lives(place, part)
        ends = [end for life in lives for end in self._ends(place, life)] + self._dated(place)
        by_life = min(ends, default=_End(math.inf, "no life" if not lives else "run to failure"))
        by_level = self._by_level(place)
        bill = self._bill(slot)
        rate = self._rate(place, self._stages(place, part, lives, spend, bill.lost), spend, bill)
        sooner = f"; {by_level.what}" if by_level.seasons < by_life.seasons else ""
        return Lasting(
            slot,
            part.part,
            *rate,
            by_life.seasons,
            by_life.seasons * self._events,
            by_life.what + sooner,
            (*self._guesses(place, part, lives), *bill.assumed),
        )

    def _place(self, name: str) -> _Place:
        """A position by its name; the slot's first serves all set-ups but those of its alternates."""
        if name not in self._places:
            base, _, alternate = name.partition("/")
            others = self._build.alternates.get(base, ())
            only = tuple(setup for one in others if one.name == alternate for setup in one.serves) if alternate else ()
            but = tuple(setup for one in others for setup in one.serves)
            runs = (run for run in self._season.runs if _serves(run.event.setup, only, but))
            self._places[name] = _Place(name, self._rows[base], self._build.pattern.slots[base], tuple(runs))
        return self._places[name]

    def _lives(self, place: _Place, part: Part) -> tuple[Life, ...]:
        role = self._catalog.roles.get(part.role)
        return tuple(life_of(row, role, place.slot.quantity) for row in self._catalog.lives_of(part))

    def _raw(self, place: _Place, measure: str) -> float:
        """Use a season in a measure; days pass, and what is opened is opened, whether it runs or not."""
        if measure == "days":
            return self._days
        if measure == "openings":
            ladder, level = LADDERS.index(place.row.carrier), self._ranks[place.row.level] - 1
            return float(np.sum((self._openings[:, 2] == ladder) & (self._openings[:, 3] >= level)))
        return season_use(place.runs, measure)

    @cached_property
    def _openings(self) -> machine.Ints:
        """Run, carrier, ladder and level of every opening of the plan."""
        state = play_plan(self._season)
        return state.openings[: int(state.n_openings[0])]

    def _duty(self, place: _Place, life: Life) -> float:
        """What a season ages a life by."""
        measure = life.measure.name
        key = (place.name, measure, life.rated_rpm, life.rpm_exponent)
        if measure in ("days", "openings"):
            return self._raw(place, measure)
        if key not in self._uses:
            runs = ((run.use.get(measure, 0.0), run.duty, run.rpm) for run in place.runs)
            self._uses[key] = sum(duty(*run, life) for run in runs)
        return self._uses[key]

    def _ends(self, place: _Place, life: Life, factor: float = 1.0) -> Iterator[_End]:
        """When a life is renewed, at `factor` of a new set's, and when its limit is reached, from new."""
        policy = math.inf if place.row.renewal == "run to failure" else place.row.factor
        renewed = life.replace_at * policy * factor
        if math.isfinite(renewed):
            words = f"{life.measure.amount(renewed)} ({life.row.place})"
            yield _End(_seasons(renewed, self._duty(place, life), life, least=1), words)
        if math.isfinite(life.limit):
            words = f"{life.measure.amount(life.limit)}, a hard limit ({life.row.place})"
            yield _End(_seasons(life.limit, self._raw(place, life.measure.name), life, least=0), words, hard=True)

    def _dated(self, place: _Place) -> list[_End]:
        """The days that the book lets a part stay."""
        slot = place.slot.slot
        return [
            _End(part.days / self._days, f"{part.days:g} days ({part.clause.rule}, {part.clause.place})", hard=True)
            for part in self._season.book.dated
            if part.slot == slot
        ]

    def _by_level(self, place: _Place) -> _End:
        """How long until a level that renews the slot every time is due: by its interval, its dates, service rows."""
        ladder = self._season.ladders[LADDERS.index(place.row.carrier)]
        renews = [step.row is not None and place.slot.slot in step.row.renews for step in ladder]
        first = renews.index(True) if True in renews else len(renews)  # a level does what those below it do
        ends = (end for step in ladder[first:] for end in self._turns(step))
        return min(ends, default=_End(math.inf, ""))

    def _turns(self, step: Step) -> Iterator[_End]:
        """How long until a level is due again."""
        row = step.row
        if row is None:
            return
        if row.interval is not None and row.measure is not None:
            interval, measure = row.measure.to_kept(row.interval), row.measure.name
            a_season = self._days if measure == "days" else season_use(self._season.runs, measure)
            words = f"renewed at every {row.level}, {row.measure.amount(interval)} ({row.place})"
            yield _End(_per(interval, a_season), words)
        called = sum(service.level == row.level for run in self._season.runs for service in run.services)
        yield _End(_per(1.0, float(called + len(row.dates))), f"renewed at every {row.level}, by its dates")

    def _stages(
        self, place: _Place, part: Part, lives: Sequence[Life], spend: float, lost: float
    ) -> tuple[Renewal, ...]:
        """A new set and the service steps after it; no step takes it past a hard limit, nor one that the book bars."""
        steps = self._steps(place, part)
        factors = (1.0, *(row.factor for row, _ in steps))
        costs = (spend, *(cost for _, cost in steps))
        mends = (0.0, *((1.0 - lost) * row.mends for row, _ in steps))
        stages: list[Renewal] = []
        age = 0.0
        for factor, cost, share in zip(factors, costs, mends, strict=True):
            ends = [end for life in lives for end in self._ends(place, life, factor)] + self._dated(place)
            until = min(end.seasons - age if end.hard else end.seasons for end in (*ends, self._by_level(place)))
            if until <= age * machine.SLACK:
                break
            stages.append(Renewal(until, tuple(self._modes(place, lives, factor)), cost, share))
            age += until if math.isfinite(until) else 0.0  # run to failure has no limit that it could come near
        return tuple(stages)

    def _steps(self, place: _Place, part: Part) -> list[tuple[ServiceStep, float]]:
        """The service steps of a part that the book lets be done, each with what it costs for the set."""
        found = []
        for row in self._catalog.path_of(part):
            operation = self._catalog.operations[row.operation]
            bars = (work for work in self._season.book.barred if not work.slots or place.slot.slot in work.slots)
            if any(work.forbids(operation) for work in bars):
                break
            buying, currency = self._scenario.buying, self._catalog.currency_of(operation)
            terms, price = self._catalog.terms_of(operation.place), operation.price * place.slot.quantity
            found.append((row, float(buying.priced(price, currency, terms, self._season.opening))))
        return found

    def _modes(self, place: _Place, lives: Sequence[Life], factor: float) -> Iterator[Weibull]:
        """What may fail, by seasons. Nothing breaks by being opened: as in the machine, that only wears it out."""
        for life in lives:
            a_season = self._duty(place, life)
            if life.measure.name != "openings" and a_season > 0 and math.isfinite(life.weibull.scale):
                yield Weibull(life.weibull.scale * factor / a_season, life.weibull.shape)

    def _rate(self, place: _Place, stages: tuple[Renewal, ...], spend: float, bill: _Bill) -> Rate:
        if math.isinf(stages[0].until) and not stages[0].modes:
            return Rate(0.0, 0.0, 0.0)
        pieces = place.slot.quantity
        if place.row.renew_as == "piece" and pieces > 1:
            piece = spend / pieces
            return rate_mended(stages, pieces, piece, bill.beyond + bill.lost * (spend - piece))
        return rate_of(stages, bill.beyond)

    def _bill(self, slot: str) -> _Bill:
        base = slot.partition("/")[0]
        if base not in self._bills:
            cases = [case for case in self._scenario.files.cases if case.slot == base]
            beyond = sum(case.chance * self._cost_of(case) for case in cases)
            lost = sum(case.chance for case in cases if case.loses_engine)
            guesses = (f"the bill of its case '{case.case}' ({case.place})" for case in cases if not case.source)
            self._bills[base] = _Bill(beyond, lost, tuple(guesses))
        return self._bills[base]

    def _cost_of(self, case: Case) -> float:
        """What a case costs beyond the slot's own set: what it breaks at the planned parts' prices, its work and costs.

        Prices are those of opening day, pieces at their share of a pack. What is paid for a lost engine is left out.
        """
        buying, catalog, day = self._scenario.buying, self._catalog, self._season.opening
        work = (catalog.operations[name] for name in case.operations)
        prices = (buying.priced(one.price, catalog.currency_of(one), catalog.terms_of(one.place), day) for one in work)
        parts = sum(self._new(spot, case) for spot in self._season.spots if _hits(case, spot))
        return float(from_minor(parts, buying.rates.currency) + case.cost) + float(sum(prices))

    def _new(self, spot: Spot, case: Case) -> int:
        """What replaces a planned part that a case breaks, in minor units: one piece where only that is renewed."""
        pieces = 1 if spot.as_piece and not case.loses_engine else spot.pieces
        return value_of(self._season.items[spot.item], pieces)

    def _guesses(self, place: _Place, part: Part, lives: Sequence[Life]) -> Iterator[str]:
        """What is assumed of a part's lives and path, each with its row."""
        for life in lives:
            yield from (f"{word} ({life.row.place})" for word in life.assumed)
            measure = life.measure.name
            if measure not in ("days", "openings") and ungiven(place.runs, measure):
                yield f"no use in {measure} where the calendar gives none ({life.row.place})"
        for row, _ in self._steps(place, part):
            if not row.source:
                yield f"the service step {row.operation} ({row.place})"


def _serves(setup: str, only: tuple[str, ...], but: tuple[str, ...]) -> bool:
    return setup in only if only else setup not in but


def _per(amount: float, a_season: float) -> float:
    """Seasons that an amount lasts; for ever where a season takes none of it."""
    return amount / a_season if a_season > 0 else math.inf


def _seasons(use: float, a_season: float, life: Life, least: int) -> float:
    """Seasons that a use lasts. Openings are whole: what may stay in through n of them goes at the one after.

    A set that is new is not renewed at its first opening, short of a limit: `least` is how many it stays in through.
    """
    if life.measure.name == "openings":
        use = max(least, math.floor(use * (1 + machine.SLACK))) + 1.0
    return _per(use, a_season)


def _hits(case: Case, spot: Spot) -> bool:
    """Whether a case breaks a planned position beside its own; of alternates the one that runs else."""
    hit = not spot.on_car if case.loses_engine else spot.base in case.hits
    return hit and not spot.only and spot.base != case.slot
