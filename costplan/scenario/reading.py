"""Reading a scenario's folder as a whole, with all its problems."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

from costplan.build import MEASURED, Build, attributes_of, check_bench, check_kits, read_build, read_pattern
from costplan.catalog import Buying, Catalog, check_prices, read_catalogs
from costplan.garage import (
    Bench,
    Inspected,
    Piece,
    check_inspections,
    check_papers,
    read_bench,
    read_garage,
    read_inspections,
    read_papers,
)
from costplan.money import NO_CURRENCY, Rate, Rates, is_currency
from costplan.problems import Place, Problem, Problems, in_order
from costplan.reading import (
    Document,
    Setting,
    astray,
    is_folder,
    parse_settings,
    read_head,
    read_parts,
    read_toml,
    shown,
)
from costplan.rules import Known, Pack, read_pack
from costplan.rules.change import Change, read_change
from costplan.rules.inspecting import check_entrants, check_values, read_entrants
from costplan.rules.pack import unused_changes
from costplan.scenario.header import Header, RateRow
from costplan.scenario.scenario import Scenario, known_names
from costplan.season import CAR, Engine, SeasonFiles, check_files, read_season_files


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
    names = [engine.name for engine in engines]
    carriers = (*names, CAR)
    garage: tuple[Piece, ...] = ()
    bench: tuple[Bench, ...] = ()
    if catalog is not None:
        garage, faults = read_garage(folder / "garage.csv", catalog, carriers, settings)
        problems.extend(faults)
        bench = _read_bench(folder / "bench.csv", catalog, settings, problems)
        addresses += ["garage", "bench"]
    if build is not None:
        problems.extend(check_bench(bench, build, names, CAR))
        build = replace(build, bench=tuple(row for row in bench if not row.engine))
    known = known_names(build, catalog, files, rates)
    packs, neighbours = _read_books(folder, header, known, settings, problems)
    addresses += [Path(name).stem for name in (*header.rules, *header.neighbours, *header.changes)]
    papers, faults = read_papers(folder / "papers.csv", settings)
    problems.extend(faults)
    if build is not None or not header.pattern:
        slots = build.pattern.slots if build else ()
        problems.extend(check_papers(papers, names, slots, CAR))
    inspections = _read_inspections(folder / "inspections.csv", carriers, (*packs, *neighbours), settings, problems)
    entrants, faults = read_entrants(folder / "entries.csv", settings)
    problems.extend((*faults, *check_entrants(entrants, names)))
    addresses += [name for name in ("papers", "inspections", "entries") if (folder / f"{name}.csv").exists()]
    problems.extend(check_files(files, build, engines) if build or not header.pattern else ())
    problems.extend(astray(settings, addresses))
    scenario = Scenario(
        shown(folder),
        header,
        rates,
        engines,
        files,
        catalog,
        build,
        garage,
        bench,
        papers,
        inspections,
        packs,
        neighbours,
        entrants,
    )
    if problems:
        return scenario
    season, faults = scenario.season()
    problems.extend(faults)
    return replace(scenario, compiled=season)


def _read_books(
    folder: Path, header: Header, known: Known, settings: tuple[Setting, ...], problems: Problems
) -> tuple[tuple[Pack, ...], tuple[Pack, ...]]:
    """The rule packs of the season and those of its neighbours, with the changes worked in."""
    changes = _read_changes(folder, header.changes, settings, problems)
    packs = _read_packs(folder, header.rules, known, settings, changes, problems)
    neighbours = _read_packs(folder, header.neighbours, known, settings, changes, problems)
    problems.extend(unused_changes(changes, (*packs, *neighbours), (*header.rules, *header.neighbours)))
    return packs, neighbours


def _read_changes(
    folder: Path, names: Sequence[str], settings: tuple[Setting, ...], problems: Problems
) -> tuple[Change, ...]:
    """The changes in some files, those that could be read."""
    changes = []
    for name in names:
        change, faults = read_change(folder / name, settings)
        problems.extend(faults)
        changes += [change] if change else []
    return tuple(changes)


def _read_packs(
    folder: Path,
    names: Sequence[str],
    known: Known,
    settings: tuple[Setting, ...],
    changes: Sequence[Change],
    problems: Problems,
) -> tuple[Pack, ...]:
    """The rule packs in some files, those that could be read."""
    packs = []
    for name in names:
        pack, faults = read_pack(folder / name, known, settings, changes)
        problems.extend(faults)
        packs += [pack] if pack else []
    return tuple(packs)


def _read_inspections(
    path: Path, carriers: Sequence[str], packs: Sequence[Pack], settings: tuple[Setting, ...], problems: Problems
) -> tuple[Inspected, ...]:
    """The results of inspections; whether their clauses exist is asked only of packs that could be read whole.

    Those under a pack that lies in the folder and that the scenario does not name this time are put aside.
    """
    rows, faults = read_inspections(path, settings)
    problems.extend(faults)
    if all(pack.whole for pack in packs):
        rules = {pack.stem: [one.id for one in pack.rules if one.place.file in pack.files] for pack in packs}
        idle = {file.stem for file in path.parent.glob("rules*.toml")} - rules.keys()
        problems.extend(check_inspections([row for row in rows if row.pack not in idle], carriers, rules))
        problems.extend(check_values(rows, packs))
    return rows


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
TABLES = (
    "calendar",
    "sessions",
    "levels",
    "positions",
    "services",
    "costs",
    "garage",
    "bench",
    "papers",
    "inspections",
    "entries",
)


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
