"""A scenario: one folder that names everything a season needs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from itertools import product

from costplan.build import Bill, Build, Figure, Figures, FitFinding, bill_of, check_fits, standing
from costplan.build.airflow import Estimator, calibrated
from costplan.catalog import Buying, Catalog
from costplan.garage import Bench, Inspected, Paper, Piece, Pull
from costplan.garage.log import Entry
from costplan.money import Rates, round_money
from costplan.problems import Place, Problem
from costplan.quantity import Quantity
from costplan.rules import Book, Known, Pack, Rule, Sheet, Verdicts, ahead, book_of, check
from costplan.rules.inspecting import Entrant
from costplan.rules.kinds import Papers, counted_from
from costplan.rules.lint import Doubt, Facts, lint, opened_levels
from costplan.scenario.header import Header
from costplan.season import CAR, Engine, Event, Season, SeasonFiles, Sources, compile_season
from costplan.season.logged import season_on


@dataclass(frozen=True, slots=True)
class Scenario:
    """Everything that one folder names. In the simple form catalog, pattern and build are absent.

    `on_brake`: what dyno sheets were pulled on, by engine, where what-ifs change the build or the garage: a sheet is of
    what was, and a part swapped in a what-if does not change what it says. `compiled` is its season, kept from the
    reading, which compiles it to find the problems that only show then.
    """

    folder: str
    header: Header
    rates: Rates
    engines: tuple[Engine, ...]
    files: SeasonFiles
    catalog: Catalog | None = None
    build: Build | None = None
    garage: tuple[Piece, ...] = ()
    bench: tuple[Bench, ...] = ()
    papers: tuple[Paper, ...] = ()
    inspections: tuple[Inspected, ...] = ()
    packs: tuple[Pack, ...] = ()
    neighbours: tuple[Pack, ...] = ()
    entrants: tuple[Entrant, ...] = ()
    compiled: Season | None = None
    log: tuple[Entry, ...] = ()
    dyno: tuple[Pull, ...] = ()
    on_brake: Mapping[str, Build] = field(default_factory=dict)

    @property
    def opening(self) -> date:
        """The day the books open."""
        return self.header.opening or min((event.date for event in self.files.events), default=date.min)

    @property
    def invented(self) -> bool:
        """Whether any of its data is made up."""
        return self.header.invented or (self.catalog is not None and self.catalog.invented)

    def without(self, key: str) -> Problem:
        """The problem that a question needs what the scenario does not name."""
        place = Place(f"{self.folder}/scenario.toml")
        advice = "name a catalog, a pattern and a build; the simple form has none"
        return Problem("REA016", place, key, "", "this question needs a build", advice)

    @property
    def buying(self) -> Buying:
        """How it counts prices: currency, rates, tax."""
        return Buying(self.rates, self.header.with_tax)

    def built(self, engine: str = "") -> Build:
        """The build as planned, or an engine as it stands in the garage and on the bench; without a build a bug."""
        if self.build is None or self.catalog is None:
            raise ValueError("a scenario without a build has no engines to look at")
        if not engine:
            return self.build
        return as_it_stands(self.build, self.garage, self.bench, self.catalog, engine)

    def bill(self, on: date | None = None, build: Build | None = None) -> Bill:
        """The bill of the parts of a build, new; of the planned one if not another is given, and without it a bug."""
        if self.catalog is None:
            raise ValueError("a scenario without a build has no bill")
        days = self.header.stale_after_days
        return bill_of(build or self.built(), self.catalog, self.buying, on or self.opening, days)

    def figures(self, build: Build | None = None, on: date | None = None) -> Figures:
        """The measures of a build, the planned one if not another is given, at the prices of a day."""
        return Figures(build or self.built(), self.bill(on, build))

    def fits(self, build: Build | None = None) -> tuple[FitFinding, ...]:
        """The findings of the pattern's fits that are asked."""
        return check_fits(self.figures(build))

    def estimator(self, on: date | None = None) -> Estimator | None:
        """The estimate of power for builds of its pattern, by its dyno sheets; None where the pattern has no [airflow].

        `on`: only what was pulled up to this day counts. It keeps what it works out, so ask once.
        """
        if self.build is None or self.catalog is None or self.build.pattern.airflow is None:
            return None
        known = [pull for pull in self.dyno if on is None or pull.date <= on]
        engines = dict.fromkeys(pull.engine for pull in known)
        builds = {name: self.on_brake[name] if name in self.on_brake else self.built(name) for name in engines}
        sheets = ((build, [pull for pull in known if pull.engine == name]) for name, build in builds.items())
        return calibrated(Estimator(self.build.pattern, self.catalog), sheets)

    @property
    def rounds(self) -> tuple[date, ...]:
        """The first days of the season's rounds: every race, the nights of one show together."""
        return rounds_of(self.files.events)

    def day(self, today: date) -> date:
        """The day whose rules are asked where none is given: today, but no day before the books open."""
        return max(today, self.opening)

    def sheet(self, engine: str = "", build: Build | None = None, on: date | None = None) -> Sheet:
        """All that is known of an engine, or of the build as planned; of another `build` in its place."""
        build = build or self.built(engine)
        figures = self.figures(build, on)
        its = (engine, CAR) if engine else ("",)
        return Sheet(
            figures,
            engine,
            tuple(row for row in self.papers if row.engine in its),
            tuple(row.model_copy(update={"engine": engine}) for row in self.inspections if row.engine in its),
            tuple(piece for piece in self.garage if engine and piece.engine in its),
            self.rounds,
            self.price_of,
            tuple((slot, self.figures(other, on)) for slot, other in turns_of(build)),
            self._price_days(build),
        )

    def _price_days(self, build: Build) -> tuple[date, ...]:
        """The days from which another price of a part of a build holds, or another rate."""
        fills = [*build.fills.values(), *(one.fill for row in build.alternates.values() for one in row)]
        offers = (offer for fill in fills if self.catalog for offer in self.catalog.offers_of(fill.part.part))
        return tuple(sorted({*(offer.since for offer in offers), *(rate.since for rate in self.rates.rates)}))

    def price_of(self, build: Build, slot: str, without: tuple[str, ...], on: date, currency: str) -> Figure:
        """What a slot's part costs on a day, or the whole build (slot ''), some slots left out, in a currency."""
        wanted = (slot,) if slot else tuple(name for name in build.fills if name not in without)
        fills = {name: fill for name, fill in build.fills.items() if name in wanted}
        bill = self.bill(on, replace(build, fills=fills, alternates={}))
        why = tuple(f"{one.packs} x {one.part} at {one.price} {one.currency} ({one.place})" for one in bill.lines)
        total = round_money(bill.total / self.buying.rates.convert(Decimal(1), currency, on), currency)
        return Figure(f"price.{slot}".rstrip("."), Quantity(float(total), currency), why)

    def verdicts(
        self, on: date | None = None, engine: str = "", packs: Sequence[Pack] | None = None
    ) -> tuple[Verdicts, ...]:
        """The findings of every rule pack that the season is run under, or of others, on a day, and what lies ahead."""
        day = on or self.opening
        sheet = self.sheet(engine, on=day)
        asked = self.packs if packs is None else packs
        return tuple(replace(check(pack, sheet, day), ahead=ahead(pack, sheet, day)) for pack in asked)

    @property
    def known(self) -> Known:
        """The names that its rule packs may speak of."""
        return known_names(self.build, self.catalog, self.files, self.rates)

    def doubts(self, pack: Pack) -> tuple[Doubt, ...]:
        """What is odd in one of its rule packs."""
        files = self.files
        named = [*(row.level for row in files.positions), *(row.level for row in files.events)]
        facts = Facts(
            self.catalog or Catalog(),
            self.rounds,
            self.opening,
            frozenset(row.paper for row in self.papers),
            opened_levels(files.levels, named),
            frozenset(f"{row.slot}.{row.attribute}" if row.slot else row.attribute for row in self.bench),
        )
        return lint(pack, self.known, facts)

    @property
    def book(self) -> Book:
        """How the packs bind the season: the clauses whose conditions hold for the build as planned."""
        sheet = self.sheet() if self.build is not None else None
        return book_of(self.packs, sheet, self.rounds, self.opening)

    def paper_days(self) -> dict[tuple[str, str, Place], date]:
        """From when the days of dated parts count, by carrier, name and place of the clause that dates them.

        Only papers count that were there when the season began to run.
        """
        first = min((event.date for event in self.files.events if event.kind != "service"), default=date.max)
        there = [row for row in self.papers if row.engine and (row.date is None or row.date <= first)]
        days = {}
        for (rule, test), carrier in product(self._dating(), sorted({row.engine for row in there})):
            begun = counted_from(test, (row for row in there if row.engine == carrier))
            if begun is not None:
                days[carrier, rule.id, rule.place] = begun
        return days

    def _dating(self) -> list[tuple[Rule, Papers]]:
        """The clauses that date a part by a paper, each with its test."""
        rules = [rule for pack in self.packs for rule in pack.rules]
        papers = [(rule, rule.test) for rule in rules if isinstance(rule.test, Papers)]
        return [(rule, test) for rule, test in papers if test.valid and test.slot]

    @property
    def sources(self) -> Sources:
        """What its season is compiled from."""
        header = self.header
        others = tuple(engine for engine in self.engines if not engine.owned)
        away = {engine.name for engine in others}
        return Sources(
            self.files,
            tuple(engine for engine in self.engines if engine.owned),
            header.car,
            header.gaps,
            header.policy,
            self.buying,
            header.opening,
            self.catalog,
            self.build,
            tuple(piece for piece in self.garage if piece.engine not in away),
            self.book,
            self.paper_days(),
            others,
        )

    def season(self) -> tuple[Season | None, tuple[Problem, ...]]:
        """The compiled season, or why there is none."""
        return (self.compiled, ()) if self.compiled is not None else compile_season(self.sources)

    def logged(self, day: date) -> tuple[Entry, ...]:
        """The rows of the log that are known in the evening of a day."""
        return tuple(entry for entry in self.log if entry.date <= day)

    def season_on(self, day: date) -> tuple[Season | None, tuple[Problem, ...]]:
        """The season as the log leaves it on the evening of a day, or why there is none; whole with no row by then."""
        season, problems = self.season()
        if season is None or not self.logged(day):
            return season, problems
        standing, problems = season_on(season, self.log, day)
        return (None if problems else standing), problems


def as_it_stands(build: Build, garage: Iterable[Piece], bench: Iterable[Bench], catalog: Catalog, engine: str) -> Build:
    """An engine of the garage with what was measured on it; slots that no piece speaks of as the build has them."""
    pieces = (piece for piece in garage if piece.engine in (engine, CAR))
    return standing(build, pieces, (row for row in bench if row.engine in (engine, CAR)), catalog)


def known_names(build: Build | None, catalog: Catalog | None, files: SeasonFiles, rates: Rates) -> Known:
    """The names that a rule pack may speak of; those of files that cannot be read are not known."""
    return Known(
        build.pattern if build else None,
        catalog.operations if catalog else None,
        [row.level for row in files.levels] + _at_fault(files, "levels") if "levels" not in files.unread else None,
        [row.service for row in files.services] + _at_fault(files, "services"),
        rates=rates,
    )


def _at_fault(files: SeasonFiles, name: str) -> list[str]:
    """The names of a file's rows that are at fault: they are not unknown."""
    return sorted(files.at_fault.get(name, ()))


def rounds_of(events: Iterable[Event]) -> tuple[date, ...]:
    """The first days of the rounds of a season, in order: each race, the nights of one show together."""
    races = sorted((event for event in events if event.kind == "race"), key=lambda event: event.date)
    first: dict[str, date] = {}
    for event in races:
        first.setdefault(event.show or event.event, event.date)
    return tuple(first.values())


def turns_of(build: Build) -> Iterator[tuple[str, Build]]:
    """For each part that takes turns in a slot with the main one: the slot, and the build with it in."""
    for slot, alternates in build.alternates.items():
        for alternate in alternates:
            if alternate.serves:
                yield slot, replace(build, fills={**build.fills, slot: alternate.fill})
