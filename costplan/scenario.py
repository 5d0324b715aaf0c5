"""A scenario: one folder that names everything a season needs, read as a whole with all its problems."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

from pydantic import Field

from costplan.build import (
    MEASURED,
    Bill,
    Build,
    Figures,
    FitFinding,
    attributes_of,
    bill_of,
    check_bench,
    check_fits,
    check_kits,
    read_build,
    read_pattern,
    standing,
)
from costplan.catalog import Buying, Catalog, check_prices, read_catalogs
from costplan.garage import Bench, Piece, read_bench, read_garage
from costplan.money import NO_CURRENCY, Rate, Rates, is_currency
from costplan.problems import Place, Problem, Problems, in_order
from costplan.reading import (
    Document,
    Record,
    Setting,
    astray,
    is_folder,
    parse_settings,
    read_head,
    read_parts,
    read_toml,
    shown,
)
from costplan.reading.fields import Count, Day, Name, Positive, Text, YesNo
from costplan.rules import Pack, Verdicts, check, read_pack
from costplan.season import (
    CAR,
    Car,
    Engine,
    Gaps,
    Policy,
    Season,
    SeasonFiles,
    Sources,
    check_files,
    compile_season,
    read_season_files,
)


class RateRow(Record):
    """[[rate]] of scenario.toml"""

    currency: Name = Field(description="another currency, by ISO 4217")
    rate: Positive = Field(description="what one unit of it is worth in the scenario's currency")
    since: Day = Field(description="day from which this holds")
    source: Text = Field(default="", description="whose word it is")


class Header(Record):
    """scenario.toml"""

    title: Name = Field(description="what the scenario is")
    class_name: Text = Field(default="", description="the racing class")
    invented: YesNo = Field(default=False, description="whether its data is made up, as in a demo")
    note: Text = Field(default="", description="what a reader should know of it")
    currency: Name = Field(description="currency of all answers, by ISO 4217")
    with_tax: YesNo | None = Field(
        default=None, description="whether prices count with tax; as they are listed where empty"
    )
    stale_after_days: Count = Field(default=180, description="age at which a price is marked as old; assumed")
    opening: Day | None = Field(default=None, description="day the books open; the first calendar row where empty")
    catalogs: tuple[Name, ...] = Field(default=(), description="catalog folders, from the scenario's folder")
    pattern: Text = Field(default="", description="file of the engine pattern")
    build: Text = Field(default="", description="file of the build")
    rules: tuple[Name, ...] = Field(default=(), description="files of the rule packs")
    gaps: Gaps = Field(default=Gaps(), description="hours between runs")
    policy: Policy = Field(default=Policy(), description="how the season is run")
    car: Car = Field(default=Car(), description="what is true of the car's shared positions when the books open")
    rate: tuple[Any, ...] = Field(default=(), description="exchange rates, each [[rate]]")
    engine: tuple[Any, ...] = Field(default=(), description="engines, each [[engine]]; one called 'engine' if none")


@dataclass(frozen=True, slots=True)
class Scenario:
    """Everything that one folder names. In the simple form catalog, pattern and build are absent.

    `compiled` is its season, kept from the reading, which compiles it to find the problems that only show then.
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
    packs: tuple[Pack, ...] = ()
    compiled: Season | None = None

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
        pieces = (piece for piece in self.garage if piece.engine in (engine, CAR))
        bench = (row for row in self.bench if row.engine in (engine, CAR))
        return standing(self.build, pieces, bench, self.catalog)

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

    def verdicts(self, build: Build | None = None) -> tuple[Verdicts, ...]:
        """The findings of every rule pack."""
        figures = self.figures(build)
        return tuple(check(pack, figures) for pack in self.packs)

    def season(self) -> tuple[Season | None, tuple[Problem, ...]]:
        """The compiled season, or why there is none."""
        if self.compiled is not None:
            return self.compiled, ()
        header = self.header
        return compile_season(
            Sources(
                self.files,
                self.engines,
                header.car,
                header.gaps,
                header.policy,
                self.buying,
                header.opening,
                self.catalog,
                self.build,
                self.garage,
            )
        )


def read_scenario(folder: Path, texts: Iterable[str] = ()) -> tuple[Scenario | None, tuple[Problem, ...]]:
    """A scenario with its what-ifs (`--set` texts) written in; None where it cannot be used, with all problems."""
    settings, faults = parse_settings(texts)
    problems = Problems(list(faults))
    there, faults = is_folder(folder)
    problems.extend(faults)
    if not there:
        return None, in_order(problems.found)
    problems.extend(_misnamed(folder))
    document, faults = read_toml(folder / "scenario.toml", "scenario", settings)
    problems.extend(faults)
    files, faults = read_season_files(folder, settings)
    problems.extend(faults)
    scenario = _read_named(folder, document, files, settings, problems) if document else None
    return (None if problems else scenario), in_order(problems.found)


def _read_named(
    folder: Path, document: Document, files: SeasonFiles, settings: tuple[Setting, ...], problems: Problems
) -> Scenario | None:
    """The scenario that scenario.toml names, and everything it names in turn."""
    header, faults = read_head(document, Header, title="?", currency=NO_CURRENCY)
    problems.extend(faults)
    rate_rows, faults = read_parts(document, "rate", RateRow)
    problems.extend(faults)
    engines, faults = read_parts(document, "engine", Engine)
    problems.extend(faults)
    if header is None:
        return None
    engines = engines or (Engine(name="engine"),)
    _check_currencies(header, rate_rows, document, problems)
    rates = Rates(
        header.currency, tuple(Rate(row.currency, Decimal(repr(row.rate)), row.since, row.source) for row in rate_rows)
    )
    addresses = ["scenario", *files.addresses]
    catalog = build = None
    if header.catalogs:
        catalog, faults = read_catalogs([folder / name for name in header.catalogs], settings)
        problems.extend(faults)
        addresses += catalog.addresses
        if header.currency != NO_CURRENCY and is_currency(header.currency):
            check_prices(catalog, Buying(rates, header.with_tax), _currencies_of(document), problems)
    if catalog is not None and header.pattern:
        build = _read_build(folder, header, catalog, document, settings, problems)
        addresses += ["pattern", Path(header.build).stem]
    carriers = (*(engine.name for engine in engines), CAR)
    garage: tuple[Piece, ...] = ()
    bench: tuple[Bench, ...] = ()
    if catalog is not None:
        garage, faults = read_garage(folder / "garage.csv", catalog, carriers, settings)
        problems.extend(faults)
        bench = _read_bench(folder / "bench.csv", catalog, settings, problems)
        addresses += ["garage", "bench"]
    if build is not None:
        problems.extend(check_bench(bench, build, [engine.name for engine in engines], CAR))
        build = replace(build, bench=tuple(row for row in bench if not row.engine))
    packs = []
    for name in header.rules:
        pack, faults = read_pack(folder / name, build.pattern if build else None, settings)
        problems.extend(faults)
        addresses.append(Path(name).stem)
        packs += [pack] if pack else []
    problems.extend(check_files(files, build, engines) if build or not header.pattern else ())
    problems.extend(astray(settings, addresses))
    scenario = Scenario(shown(folder), header, rates, engines, files, catalog, build, garage, bench, tuple(packs))
    if problems:
        return scenario
    season, faults = scenario.season()
    problems.extend(faults)
    return replace(scenario, compiled=season)


def _read_build(
    folder: Path,
    header: Header,
    catalog: Catalog,
    document: Document,
    settings: tuple[Setting, ...],
    problems: Problems,
) -> Build | None:
    pattern, faults = read_pattern(folder / header.pattern, catalog, settings)
    problems.extend(faults)
    if not header.build:
        advice = "name the file that fills its slots"
        problems.add("REA016", document.place(("pattern",)), "build", "", "a pattern without a build", advice)
        return None
    if pattern is None:
        return None
    build, faults = read_build(folder / header.build, pattern, catalog, settings)
    problems.extend((*faults, *check_kits(build, catalog)))
    return build


def _read_bench(path: Path, catalog: Catalog, settings: tuple[Setting, ...], problems: Problems) -> tuple[Bench, ...]:
    """What was measured, each value in a unit of what it measures."""
    numbers, words = attributes_of(catalog)
    bench, faults = read_bench(path, {**numbers, **dict.fromkeys(words, "text")}, MEASURED, settings)
    problems.extend(faults)
    return bench


#: The tables that are read by their names where they are there.
TABLES = ("calendar", "sessions", "levels", "positions", "services", "costs", "garage", "bench")


def _misnamed(folder: Path) -> Iterator[Problem]:
    """A problem for each table that would be read if its name were in small letters, and is passed over as it is."""
    for path in sorted(folder.iterdir()):
        name = path.name.lower()
        if path.name != name and name in {f"{table}.csv" for table in TABLES}:
            what = "a file that is not read by this name:"
            yield Problem("REA020", Place(shown(path)), "", path.name, what, f"call it {name}")


def _check_currencies(header: Header, rates: tuple[RateRow, ...], document: Document, problems: Problems) -> None:
    advice = "give a code of ISO 4217, such as USD or EUR"
    given = document.values.get("currency") is not None or header.currency != NO_CURRENCY
    if given and not is_currency(header.currency):
        problems.add("MON001", document.place(("currency",)), "currency", header.currency, "no currency:", advice)
    first: dict[tuple[str, date], Place] = {}
    for row in rates:
        if not is_currency(row.currency):
            problems.add("MON001", row.place, "currency", row.currency, "no currency:", advice)
        before = first.setdefault((row.currency, row.since), row.place)
        if before != row.place:
            what = f"a second rate of {row.currency} from the same day"
            problems.add("REA023", row.place, "since", row.since, what, f"keep one; the first is in {before}")


def _currencies_of(document: Document) -> frozenset[str]:
    """The currencies that have a [[rate]], one at fault too: a rate that was written is not missing."""
    rows = document.values.get("rate")
    named = [row.get("currency") for row in rows if isinstance(row, dict)] if isinstance(rows, list) else []
    return frozenset(name for name in named if isinstance(name, str))
