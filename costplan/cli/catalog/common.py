"""Reading what is asked about: a catalog's folder, or a scenario's with its currency, rates and tax."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from costplan.cli.common import read_day, stop

if TYPE_CHECKING:
    from datetime import date

    from costplan.catalog import Buying, Catalog
    from costplan.problems import Problem

Shelf = Annotated[
    Path,
    typer.Argument(metavar="FOLDER", help="A catalog's folder, or a scenario's with its currency.", show_default=False),
]


def open_catalog(
    folder: Path, sets: Iterable[str], on: str, *, as_json: bool, counted: bool = True
) -> tuple[Catalog, Buying, date]:
    """The catalog, how its prices are counted, and the day asked about; or the end of the command with all problems.

    `counted`: whether prices are compared, so that they must all be countable in one currency.
    """
    day, faults = read_day(on)
    catalog, buying, problems = _read(folder, tuple(sets), counted)
    if faults or problems or catalog is None or buying is None:
        stop((*faults, *problems), as_json=as_json)
    return catalog, buying, day


def _read(
    folder: Path, sets: tuple[str, ...], counted: bool
) -> tuple[Catalog | None, Buying | None, tuple[Problem, ...]]:
    if (folder / "scenario.toml").exists():
        from costplan.scenario import read_scenario

        scenario, problems = read_scenario(folder, sets)
        if scenario is None:
            return None, None, problems
        if scenario.catalog is None:
            return None, None, (scenario.without("catalogs"),)
        return scenario.catalog, scenario.buying, ()
    return _read_alone(folder, sets, counted)


def _read_alone(folder: Path, sets: tuple[str, ...], counted: bool) -> tuple[Catalog, Buying, tuple[Problem, ...]]:
    """A catalog by itself: its prices count in its own currency, as they are listed."""
    from costplan.catalog import Buying, check_prices, read_catalogs
    from costplan.money import Rates
    from costplan.problems import Problems, in_order
    from costplan.reading import astray, parse_settings

    settings, faults = parse_settings(sets)
    catalog, found = read_catalogs([folder], settings)
    buying = Buying(Rates(catalog.currency))
    problems = Problems([*faults, *found, *astray(settings, catalog.addresses)])
    if counted and not problems:
        check_prices(catalog, buying, (), problems, alone=True)
    return catalog, buying, in_order(problems.found)


def unknown(word: str, what: str, known: Iterable[str]) -> Problem:
    """The problem of an argument that names nothing."""
    from costplan.problems import Place, Problem, nearest

    return Problem("REA020", Place(what.upper()), "", word, f"no such {what}:", nearest(word, known))
