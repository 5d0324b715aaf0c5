"""A season by its names: what is bought, where it sits, which levels there are. The machine's arrays number these."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

import numpy as np

from costplan.build import Build
from costplan.catalog import Buying, Catalog, Offer
from costplan.garage import Piece
from costplan.life import Life
from costplan.money import Rates
from costplan.problems import Place
from costplan.quantity import MEASURES
from costplan.reading.fields import MeasureName
from costplan.rules.book import NO_BOOK, Bond, Book, Clause, DatedPart
from costplan.season import machine
from costplan.season.calendar import HOURS_A_DAY, Run
from costplan.season.inputs import SeasonFiles
from costplan.season.records import CAR, Car, Case, Engine, Gaps, Hazard, Level, Policy, Service
from costplan.season.standing import Standing

#: What dated parts count.
DAYS = MeasureName("days", MEASURES["days"][1])
#: A carrier's levels nest; beside them stand its services, which do not.
LADDERS = ("engine", "engine services", CAR, "car services")


@dataclass(frozen=True, slots=True)
class Item:
    """A thing that is bought: a part of a catalog, or a service. Money in minor units, `resale` of one piece.

    `pack_price` is that of opening day, `prices` that of every gap of the season and of the time after the last run, at
    the `offers` of a part; a service has none.
    """

    name: str
    title: str
    pack: int
    pack_price: int
    prices: tuple[int, ...]
    core_charge: int
    resale: int
    place: Place
    offers: tuple[Offer, ...] = ()
    assumed: tuple[str, ...] = ()

    @property
    def least(self) -> tuple[int, ...]:
        """Packs that are sold at the price of each gap at the least."""
        return tuple(offer.least for offer in self.offers) or (1,) * len(self.prices)

    def supplier(self, g: int) -> str:
        """Who sells it in the gap before a run; nobody sells a service."""
        return self.offers[g].supplier if self.offers else ""

    def priced_at(self, g: int) -> Place:
        """The row of its price in the gap before a run."""
        return self.offers[g].place if self.offers else self.place


@dataclass(frozen=True, slots=True)
class KitItem:
    """A kit that the season may buy instead of parts apart, its price in every gap, and the items in it by number.

    A deposit is paid on what it holds as on the parts apart.
    """

    name: str
    title: str
    prices: tuple[int, ...]
    pieces: tuple[tuple[int, int], ...]
    offers: tuple[Offer, ...]
    place: Place


@dataclass(frozen=True, slots=True)
class PathStep:
    """A service step of a position: what is done for how much (minor units, the whole set), and lives after it.

    `roles` must change with it, some to other `items` (role and number); it `mends` a failure too, or not. `place` is
    that of the operation, `row` that of the step.
    """

    operation: str
    cost: int
    factor: float
    mends: bool
    roles: tuple[str, ...]
    items: tuple[tuple[str, int], ...]
    place: Place
    row: Place
    assumed: bool


@dataclass(frozen=True, slots=True)
class Spot:
    """A position of the machine by its names: slot or `service`, how many pieces, what is in it, and the lives.

    They are renewed at replace_at * `factor`; an infinite factor is running to failure. An alternate of a slot is a
    position of its own, called slot/alternate: it runs `only` in some set-ups, the slot's first in all `but` those.
    `dated`: the clauses that let it stay so many days; the machine numbers each as one more life behind its own.
    """

    slot: str
    role: str
    pieces: int
    item: int
    lives: tuple[Life, ...]
    ladder: int
    level: int
    factor: float
    stops: bool
    as_piece: bool
    place: Place
    path: tuple[PathStep, ...] = ()
    renew_with: tuple[str, ...] = ()
    only: tuple[str, ...] = ()
    but: tuple[str, ...] = ()
    dated: tuple[DatedPart, ...] = ()
    service: Service | None = None

    @property
    def base(self) -> str:
        """The slot of the pattern that it stands in."""
        return self.slot.partition("/")[0]

    @property
    def alternate(self) -> str:
        """The alternate of the slot that it is; '' for the slot's first."""
        return self.slot.partition("/")[2]

    def runs_in(self, setup: str) -> bool:
        """Whether it is in use in a set-up of the car."""
        return setup in self.only if self.only else setup not in self.but

    @property
    def on_car(self) -> bool:
        return LADDERS[self.ladder].startswith(CAR)


@dataclass(frozen=True, slots=True)
class Step:
    """A level of a ladder by its names; money in minor units. Without a `row` it is one of services."""

    level: str
    hours: float
    labour: int
    supplies: int
    row: Level | None = None

    @property
    def days(self) -> int:
        """The whole days that its hours hold."""
        return int(self.hours // HOURS_A_DAY)


@dataclass(frozen=True, slots=True)
class Damage:
    """A case of the failures of a position or of a hazard, `of` whose name it is; money in minor units.

    It breaks the positions of the slots that it `hits`; those of a case that loses the engine are all of the engine.
    """

    of: str
    row: Case
    hits: tuple[str, ...]
    cost: int
    paid: int
    stops: bool

    @property
    def case(self) -> str:
        return self.row.case

    @property
    def place(self) -> Place:
        return self.row.place


@dataclass(frozen=True, slots=True)
class EngineTrade:
    """An engine bought or sold for the season, in minor units; what it brings is negative."""

    engine: str
    what: Literal["bought", "sold"]
    amount: int
    date: date
    place: Place


@dataclass(frozen=True, slots=True)
class Assumption:
    """An input that is a guess: of what, what is assumed, and where it was left open."""

    of: str
    what: str
    place: str


@dataclass(frozen=True, slots=True)
class Season:
    """A compiled season: the machine's problem, the state at opening, and the names of every row of them.

    `book`: what of the rule book is in force during it; `bonds`: those of them that the machine notes, as it numbers
    them. So are `hazards`, `cases` and the `months` in which money may flow (2027-03). `purchases`: the engines that
    are bought or sold for it. `result_worth`: what a result of weight 1 is worth beyond its purse, in minor units.
    `gaps`: hours between runs; `shelf`: the pieces of garage.csv that lie on it; `slots`: those of the pattern.

    `standing`: where a log has told what happened up to a day, what of it the answers need; `start` is then the state
    on that day, and the machine begins with the first run that lies ahead.
    """

    problem: machine.Problem
    start: machine.State
    runs: tuple[Run, ...]
    carriers: tuple[str, ...]
    spots: tuple[Spot, ...]
    items: tuple[Item, ...]
    kits: tuple[KitItem, ...]
    ladders: tuple[tuple[Step, ...], ...]
    flows: tuple[Service, ...]
    files: SeasonFiles
    opening: date
    rates: Rates
    assumed: tuple[Assumption, ...]
    book: Book = NO_BOOK
    bonds: tuple[Bond, ...] = ()
    hazards: tuple[Hazard, ...] = ()
    cases: tuple[Damage, ...] = ()
    months: tuple[str, ...] = ()
    purchases: tuple[EngineTrade, ...] = ()
    result_worth: int = 0
    gaps: Gaps = Gaps()  # noqa: RUF009 - it is frozen
    shelf: tuple[Piece, ...] = ()
    slots: tuple[str, ...] = ()
    standing: Standing | None = None

    @property
    def begin(self) -> int:
        """The first run that lies ahead."""
        return self.problem.begin

    @property
    def before_runs(self) -> machine.State:
        """The state before the first run: when the books opened, where runs are over by now."""
        return self.standing.opening if self.standing is not None and self.begin else self.start

    @property
    def ahead(self) -> tuple[Run, ...]:
        """The runs that lie ahead."""
        return self.runs[self.begin :]

    def is_ahead(self, day: date, name: str = "") -> bool:
        """Whether what is dated on a day is still to be paid; what is past, or paid on the day, is told by the log."""
        now = self.standing
        return now is None or day > now.on or (day == now.on and name not in now.paid)

    def shelf_piece(self, name: str) -> Piece | None:
        """The piece on the shelf of a name."""
        return next((piece for piece in self.shelf if name and piece.piece == name), None)

    def used_number(self, name: str) -> int:
        """The number that the machine has for a used set on the shelf; the machine numbers them by name."""
        parts = {item.name for item in self.items}
        names = sorted(piece.piece for piece in self.shelf if piece.is_used and piece.part in parts)
        return names.index(name)

    def lives(self, p: int) -> range:
        """The lives of a position as the machine numbers them."""
        return range(int(self.problem.life_from[p]), int(self.problem.life_from[p + 1]))

    def measure_of(self, j: int) -> MeasureName:
        """What a life counts, by its number; the days of a dated part are one too."""
        p = int(np.searchsorted(self.problem.life_from, j, side="right")) - 1
        spot, n = self.spots[p], j - self.lives(p).start
        measures = [spot.service.measure] if spot.service else [life.measure for life in spot.lives]
        return measures[n] if n < len(measures) else DAYS

    def positions(self) -> Iterator[tuple[int, str, int, Spot]]:
        """Every position on every carrier that has it: carrier, its name, position, its names."""
        for c, carrier in enumerate(self.carriers):
            for p, spot in enumerate(self.spots):
                if spot.on_car == (carrier == CAR):
                    yield c, carrier, p, spot


@dataclass(frozen=True, slots=True)
class Sources:
    """What a season is compiled from. Without build and catalog it is the simple form: services alone.

    `engines` are those that are owned, `others` those that are not in this season. `book`: how the rule packs bind it;
    `paper_days`: by carrier, name and place of a clause, the day from which the days count that its dated part may
    stay.
    """

    files: SeasonFiles
    engines: tuple[Engine, ...]
    car: Car
    gaps: Gaps
    policy: Policy
    buying: Buying
    opening: date | None = None
    catalog: Catalog | None = None
    build: Build | None = None
    garage: tuple[Piece, ...] = ()
    book: Book = NO_BOOK
    paper_days: Mapping[tuple[str, str, Place], date] = field(default_factory=dict)
    others: tuple[Engine, ...] = ()

    def paper_day(self, carrier: str, clause: Clause) -> date | None:
        """The day of the paper by which a clause dates what a carrier holds on opening day."""
        return self.paper_days.get((carrier, clause.rule, clause.place))

    @property
    def rates(self) -> Rates:
        return self.buying.rates

    @property
    def first_day(self) -> date:
        """The day the books open."""
        return self.opening or min(event.date for event in self.files.events)

    @property
    def carriers(self) -> tuple[str, ...]:
        """The engines that are in the season, the car last."""
        return (*(engine.name for engine in self.engines), CAR)


def value_of(item: Item, pieces: int) -> int:
    """What so many pieces cost at the price of whole packs, their share of it, rounded half up."""
    return (2 * item.pack_price * pieces + item.pack) // (2 * item.pack)
