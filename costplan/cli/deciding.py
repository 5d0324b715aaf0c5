"""What commands share that decide something on drawn seasons: years ahead, the price of a new engine, the answer."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Annotated, TypeVar

import typer

from costplan.cli.common import answer, not_negative, not_over, read_number, stop
from costplan.cli.progress import end_if

if TYPE_CHECKING:
    from costplan.report.tables import Page
    from costplan.scenario import Scenario
    from costplan.season import Season
    from costplan.season.deciding.horizon import NewEngine
    from costplan.season.standing import Standing

Years = Annotated[int, typer.Option("--years", min=1, max=30, help="Seasons that are looked ahead.")]
Discount = Annotated[
    str, typer.Option("--rate", metavar="RATE", help="Of discount a year, beyond inflation: 6% or 0.06.")
]
New = Annotated[
    str,
    typer.Option(
        "--new",
        metavar="SUM",
        help="Price of a new engine; else that of one on offer of which nothing is in the garage, else its parts'.",
        show_default=False,
    ),
]

T = TypeVar("T")


def show(
    name: str,
    scenario: Scenario,
    found: T,
    table: Callable[[T], str],
    page: Callable[[T, str, bool], Page],
    *,
    standing: Standing | None = None,
    as_json: bool,
    as_csv: bool,
    stopped: bool,
) -> None:
    """Prints what a command found, under its name; ends it with the status of what was stopped, if it was.

    `standing`: what a log leaves to be inspected, broken or owed, at the top of the page.
    """
    title, invented = scenario.header.title, scenario.invented
    answer(
        name,
        {"scenario": title, "invented": invented, name: found},
        lambda: table(found),
        lambda: _below(standing, page(found, title, invented)),
        as_json=as_json,
        as_csv=as_csv,
    )
    end_if(stopped)


def _below(standing: Standing | None, page: Page) -> Page:
    """A page below what its log says first."""
    from costplan.report.log import standing_lines

    return replace(page, lines=(*standing_lines(standing), *page.lines))


def read_rate(text: str, *, as_json: bool) -> float:
    """A rate a year, or the end of the command."""
    from costplan.problems import Place, Problem

    percent = text.endswith("%")
    rate = float(read_number(text.rstrip("% "), "--rate", as_json=as_json)) / (100 if percent else 1)
    if not 0 <= rate <= 1:
        advice = "give 6% or 0.06 for six in a hundred a year"
        stop([Problem("REA018", Place("--rate"), "", text, "not a rate from 0 to 100 %:", advice)], as_json=as_json)
    return rate


def years_follow(now: Season, later: Season, *, as_json: bool) -> None:
    """Ends the command where nothing of the first season lies ahead, or the later ones cannot follow each other."""
    repeatable(later, as_json=as_json)
    not_over(now, as_json=as_json)


def repeatable(season: Season, *, as_json: bool) -> None:
    """Ends the command where a calendar is too long to be repeated year after year."""
    from costplan.problems import Problem
    from costplan.season.drawn.years import repeats

    last = season.runs[-1].event
    if not repeats(season):
        what, advice = "more than a year after the first, so that it cannot be repeated:", "give one year's events"
        stop([Problem("REA018", last.place, "date", str(last.date), what, advice)], as_json=as_json)


def price_of_new(scenario: Scenario, given: str, *, as_json: bool) -> NewEngine | None:
    """What a new engine costs: as said, or as the scenario has it."""
    from costplan.season.deciding.horizon import NewEngine, new_engine

    if given:
        return NewEngine(not_negative(given, "--new", as_json=as_json), "--new")
    return new_engine(scenario.engines, scenario.garage, scenario.sources)
