"""Reading a scenario's folder as a whole, with all its problems."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TypeVar

from costplan.build import MEASURED, Build, attributes_of, check_bench, check_kits, read_build, read_pattern
from costplan.catalog import Buying, Catalog, check_prices, read_catalogs
from costplan.garage import (
    Bench,
    Inspected,
    check_inspections,
    check_papers,
    check_pulls,
    read_bench,
    read_dyno,
    read_garage,
    read_inspections,
    read_papers,
)
from costplan.garage.log import read_log
from costplan.money import NO_CURRENCY, Rate, Rates, is_currency
from costplan.problems import Place, Problem, Problems, in_order
from costplan.reading import (
    SUFFIXES,
    Document,
    Setting,
    astray,
    is_folder,
    is_there,
    parse_settings,
    read_head,
    read_parts,
    read_toml,
    shown,
)
from costplan.rules import Known, Pack
from costplan.rules.change import read_change
from costplan.rules.inspecting import check_entrants, check_values, read_entrants
from costplan.rules.pack import read_packs, unused_changes
from costplan.scenario.header import Header, RateRow, Variant
from costplan.scenario.scenario import Scenario, as_it_stands, known_names
from costplan.season import CAR, Engine, SeasonFiles, check_files, read_season_files
from costplan.season.inputs import check_suppliers
from costplan.season.logged import Around, check_log, season_on

T = TypeVar("T")


@dataclass(slots=True)
class _Desk:
    """One way through a folder: its what-ifs, the problems met, and the files that a what-if may lead into."""

    folder: Path
    settings: tuple[Setting, ...]
    problems: Problems
    addresses: list[str]
    log: Path

    def take(self, found: tuple[T, Iterable[Problem]]) -> T:
        """What a reader found, its problems noted."""
        self.problems.extend(found[1])
        return found[0]

    def path(self, name: str) -> Path:
        return self.folder / name


def read_scenario(
    folder: Path, texts: Iterable[str] = (), *, log: Path | None = None, beside: Iterable[str] = ()
) -> tuple[Scenario | None, tuple[Problem, ...]]:
    """A scenario with its what-ifs (`--set` texts) written in; None where it cannot be used, with all problems.

    `log`: a file that is read in place of its log.csv. `beside`: addresses of files that others read in its folder,
    into which what-ifs may lead too.
    """
    settings, faults = parse_settings(texts)
    desk = _Desk(folder, settings, Problems(list(faults)), ["scenario", *beside], log or folder / "log.csv")
    if not desk.take(is_folder(folder)):
        return None, in_order(desk.problems.found)
    desk.problems.extend(_misnamed(folder))
    document = desk.take(read_toml(desk.path("scenario.toml"), "scenario", settings))
    files = desk.take(read_season_files(folder, settings))
    scenario = _read_named(document, files, desk) if document else None
    return (None if desk.problems else scenario), in_order(desk.problems.found)


def _read_named(document: Document, files: SeasonFiles, desk: _Desk) -> Scenario | None:
    """The scenario that scenario.toml names, and everything it names in turn."""
    header = desk.take(read_head(document, Header, title="?", currency=NO_CURRENCY))
    rate_rows = desk.take(read_parts(document, "rate", RateRow))
    read = desk.take(read_parts(document, "engine", Engine))
    engines = (*read, *_at_fault(document, read)) or (Engine(name="engine"),)
    variants = desk.take(read_parts(document, "variant", Variant))
    if header is None:
        return None
    header = header.model_copy(update={"variant": variants})
    _check_currencies(header, rate_rows, document, desk.problems)
    _check_owned(read, document, desk.problems)
    given = (Rate(row.currency, Decimal(repr(row.rate)), row.since, row.source) for row in rate_rows)
    rates = Rates(header.currency, tuple(given))
    desk.addresses += files.addresses
    before = len(desk.problems.found)
    catalog = _read_catalogs(header, rates, document, desk)
    sellers = _sellers(catalog) if len(desk.problems.found) == before else None
    build = _read_build(header, catalog, document, desk) if catalog is not None and header.pattern else None
    scenario = Scenario(shown(desk.folder), header, rates, engines, files, catalog, build)
    scenario = _with_engines(scenario, desk)
    scenario = _with_books(scenario, desk)
    desk.problems.extend(check_files(files, build, engines) if build or not header.pattern else ())
    desk.problems.extend(check_suppliers(files, sellers))
    scenario = _with_log(scenario, desk)
    desk.problems.extend(astray(desk.settings, desk.addresses))
    if desk.problems:
        return scenario
    estimator = scenario.estimator() if scenario.dyno else None
    desk.problems.extend(estimator.problems if estimator else ())
    season = desk.take(scenario.season())
    # All rows are tried here, for their problems. A command plays the log again up to its own day, which is most often
    # another, and leaves another state: a few milliseconds for a hundred rows.
    if season is not None and scenario.log:
        desk.take(season_on(season, scenario.log, scenario.log[-1].date))
    return replace(scenario, compiled=season)


def _with_log(scenario: Scenario, desk: _Desk) -> Scenario:
    """A scenario with its log; what only shows on engine and shelf is asked when the season is compiled."""
    if is_there(desk.log):
        desk.addresses.append("log")
    entries = desk.take(read_log(desk.log, desk.settings))
    names = [engine.name for engine in scenario.engines]
    desk.problems.extend(check_log(entries, scenario.files, names, _around(scenario, desk.settings)))
    return replace(scenario, log=entries)


def _around(scenario: Scenario, settings: Sequence[Setting]) -> Around:
    """What the log is held against. An engine that a what-if takes out of the season may have run before it."""
    header = scenario.header
    asked = {setting.path for setting in settings}
    away = (one.name for one in scenario.engines if not one.owned)
    left = tuple(name for name in away if ("scenario", "engine", name, "owned") not in asked)
    return Around(left, header.opening, header.currency if is_currency(header.currency) else "")


def _read_catalogs(header: Header, rates: Rates, document: Document, desk: _Desk) -> Catalog | None:
    """The catalogs that a scenario names, every price in a currency that it has a rate for."""
    if not header.catalogs:
        return None
    catalog = desk.take(read_catalogs([desk.path(name) for name in header.catalogs], desk.settings))
    desk.addresses += catalog.addresses
    if header.currency != NO_CURRENCY and is_currency(header.currency):
        check_prices(catalog, Buying(rates, header.with_tax), _currencies_of(document), desk.problems)
    return catalog


def _sellers(catalog: Catalog | None) -> frozenset[str]:
    """Who sells a part or a kit."""
    sold = () if catalog is None else (*catalog.suppliers(), *(kit.supplier for kit in catalog.kits.values()))
    return frozenset(sold)


def _read_build(header: Header, catalog: Catalog, document: Document, desk: _Desk) -> Build | None:
    desk.addresses += ["pattern", Path(header.build).stem]
    pattern = desk.take(read_pattern(desk.path(header.pattern), catalog, desk.settings))
    if not header.build:
        advice = "name the file that fills its slots"
        desk.problems.add("REA016", document.place(("pattern",)), "build", "", "a pattern without a build", advice)
        return None
    if pattern is None:
        return None
    build = desk.take(read_build(desk.path(header.build), pattern, catalog, desk.settings))
    desk.problems.extend(check_kits(build, catalog))
    return build


def _with_engines(scenario: Scenario, desk: _Desk) -> Scenario:
    """A scenario with what is in its garage and what the bench measured."""
    catalog, build = scenario.catalog, scenario.build
    if catalog is None:
        return scenario
    names = [engine.name for engine in scenario.engines]
    garage = desk.take(read_garage(desk.path("garage.csv"), catalog, (*names, CAR), desk.settings))
    bench = _read_bench(catalog, desk)
    dyno = desk.take(read_dyno(desk.path("dyno.csv"), desk.settings))
    desk.addresses += ["garage", "bench", *(["dyno"] if is_there(desk.path("dyno.csv")) else [])]
    airflow = build.pattern.airflow if build is not None else None
    desk.problems.extend(check_pulls(dyno, names, airflow.standard if airflow else ""))
    if build is not None:
        desk.problems.extend(check_bench(bench, build, names, CAR))
        build = replace(build, bench=tuple(row for row in bench if not row.engine))
    brake = _on_brake(scenario, build, bench, {pull.engine for pull in dyno}, desk) if build is not None else {}
    return replace(scenario, build=build, garage=garage, bench=bench, dyno=dyno, on_brake=brake)


def _on_brake(
    scenario: Scenario, build: Build, bench: Sequence[Bench], engines: Collection[str], desk: _Desk
) -> dict[str, Build]:
    """The engines that dyno sheets are of, without what-ifs in build and garage; none where there are none of these.

    Faults of the files as they are written have been told, or are what a what-if mends.
    """
    catalog, tables = scenario.catalog, (Path(scenario.header.build).stem, "garage")
    asked = any(setting.within(table) is not None for setting in desk.settings for table in tables)
    if catalog is None or not asked or not engines:
        return {}
    names = [engine.name for engine in scenario.engines]
    written, _ = read_build(desk.path(scenario.header.build), build.pattern, catalog)
    pieces, _ = read_garage(desk.path("garage.csv"), catalog, (*names, CAR))
    planned = replace(written, bench=build.bench)
    return {name: as_it_stands(planned, pieces, bench, catalog, name) if name else planned for name in engines}


def _read_bench(catalog: Catalog, desk: _Desk) -> tuple[Bench, ...]:
    """What was measured, each value in a unit of what it measures."""
    numbers, words = attributes_of(catalog)
    kinds = {**numbers, **dict.fromkeys(words, "text")}
    return desk.take(read_bench(desk.path("bench.csv"), kinds, MEASURED, desk.settings))


def _with_books(scenario: Scenario, desk: _Desk) -> Scenario:
    """A scenario with its rule packs and those of its neighbours, and what is brought to show that they are met."""
    header, build = scenario.header, scenario.build
    names = [engine.name for engine in scenario.engines]
    known = known_names(build, scenario.catalog, scenario.files, scenario.rates)
    packs, neighbours = _read_books(header, known, desk)
    desk.addresses += [Path(name).stem for name in (*header.rules, *header.neighbours, *header.changes)]
    papers = desk.take(read_papers(desk.path("papers.csv"), desk.settings))
    if build is not None or not header.pattern:
        desk.problems.extend(check_papers(papers, names, build.pattern.slots if build else (), CAR))
    inspections = _read_inspections((*names, CAR), (*packs, *neighbours), desk)
    entrants = desk.take(read_entrants(desk.path("entries.csv"), desk.settings))
    desk.problems.extend(check_entrants(entrants, names))
    desk.addresses += [name for name in ("papers", "inspections", "entries") if is_there(desk.path(f"{name}.csv"))]
    return replace(
        scenario, papers=papers, inspections=inspections, packs=packs, neighbours=neighbours, entrants=entrants
    )


def _read_books(header: Header, known: Known, desk: _Desk) -> tuple[tuple[Pack, ...], tuple[Pack, ...]]:
    """The rule packs of the season and those of its neighbours, with the changes worked in."""
    read = (desk.take(read_change(desk.path(name), desk.settings)) for name in header.changes)
    changes = tuple(change for change in read if change is not None)
    names = (*header.rules, *header.neighbours)
    found = desk.take(read_packs([desk.path(name) for name in names], known, desk.settings, changes))
    own, others = found[: len(header.rules)], found[len(header.rules) :]
    packs, neighbours = (tuple(pack for pack in side if pack is not None) for side in (own, others))
    desk.problems.extend(unused_changes(changes, (*packs, *neighbours), names))
    return packs, neighbours


def _read_inspections(carriers: Sequence[str], packs: Sequence[Pack], desk: _Desk) -> tuple[Inspected, ...]:
    """The results of inspections; whether their clauses exist is asked only of packs that could be read whole.

    Those under a pack that lies in the folder and that the scenario does not name this time are put aside.
    """
    rows = desk.take(read_inspections(desk.path("inspections.csv"), desk.settings))
    if all(pack.whole for pack in packs):
        rules = {pack.stem: [one.id for one in pack.rules if one.place.file in pack.files] for pack in packs}
        idle = {file.stem for file in desk.folder.glob("rules*.toml")} - rules.keys()
        desk.problems.extend(check_inspections([row for row in rows if row.pack not in idle], carriers, rules))
        desk.problems.extend(check_values(rows, packs))
    return rows


#: The tables that are read by their names where they are there.
TABLES = (
    "calendar",
    "sessions",
    "levels",
    "positions",
    "services",
    "costs",
    "hazards",
    "damage",
    "suppliers",
    "garage",
    "bench",
    "dyno",
    "papers",
    "inspections",
    "entries",
    "log",
    "work",
    "jobs",
    "field",
    "survey",
    "supply",
)


def _misnamed(folder: Path) -> Iterator[Problem]:
    """A problem for each table that would be read if its name were in small letters, and is passed over as it is."""
    for path in sorted(folder.iterdir()):
        name = path.name.lower()
        if path.name != name and Path(name).suffix in SUFFIXES and Path(name).stem in TABLES:
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


def _at_fault(document: Document, read: Sequence[Engine]) -> Iterator[Engine]:
    """Engines whose rows are at fault, by their names: what names them is no problem of its own."""
    known, rows = {CAR, *(engine.name for engine in read)}, document.values.get("engine", [])
    names = [row.get("name") for row in rows if isinstance(row, dict)] if isinstance(rows, list) else []
    for name in dict.fromkeys(names):
        if isinstance(name, str) and name.strip() and name not in known:
            yield Engine(name=name)


def _check_owned(engines: Sequence[Engine], document: Document, problems: Problems) -> None:
    """A season has an engine; asked only where every engine could be read."""
    if (
        engines
        and len(engines) == len(document.values.get("engine", []))
        and not any(engine.owned for engine in engines)
    ):
        key = ("engine", 0, "owned")
        what, advice = "no engine is owned:", "give true for one of them at least"
        problems.add("SEA026", document.place(key), document.shown(key), "false", what, advice)


def _currencies_of(document: Document) -> frozenset[str]:
    """The currencies that have a [[rate]], one at fault too: a rate that was written is not missing."""
    rows = document.values.get("rate")
    named = [row.get("currency") for row in rows if isinstance(row, dict)] if isinstance(rows, list) else []
    return frozenset(name for name in named if isinstance(name, str))
