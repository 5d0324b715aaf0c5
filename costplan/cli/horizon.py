"""`costplan horizon`, and what it shares with `costplan worth`: the rate, the price of a new engine, the years."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from costplan.cli.common import (
    Csv,
    Folder,
    Json,
    OnAhead,
    Seasons,
    Seed,
    Sets,
    answer,
    open_scenario,
    read_number,
    season_of,
    stop,
)
from costplan.cli.progress import STOPPED, Bars, unless_stopped
from costplan.cli.whatif import not_negative

if TYPE_CHECKING:
    from datetime import date

    from costplan.scenario import Scenario
    from costplan.season import Season
    from costplan.season.deciding.horizon import Ahead, NewEngine
    from costplan.season.drawn.years import YearDraws

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


def horizon(
    folder: Folder,
    years: Years = 3,
    rate: Discount = "6%",
    new: New = "",
    resale: Annotated[
        str,
        typer.Option(
            "--resale",
            metavar="SUM",
            help="What the engine sells for; else what its parts are worth when it is sold.",
            show_default=False,
        ),
    ] = "",
    seasons: Seasons = 2000,
    seed: Seed = 1,
    on: OnAhead = "",
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """Several seasons ahead, what wears carried over from each to the next: cash by year, its present value and
    equivalent annual cost, cost per race in the long run; rebuild the engine, or sell it and buy new after so many
    seasons, and the resale at which both cost the same. --csv gives the years. Ctrl-C shows what was drawn, with status
    130."""
    from costplan.report.horizon import horizon_csv, horizon_page
    from costplan.season.deciding.horizon import Ahead, horizon_of

    share = read_rate(rate, as_json=as_json)
    given = not_negative(resale, "--resale", as_json=as_json) if resale else None
    scenario, day = open_scenario(folder, sets, on, as_json=as_json)
    now, later = seasons_ahead(scenario, day if on else None, as_json=as_json)
    price, bars = price_of_new(scenario, new, as_json=as_json), Bars()
    ahead = Ahead(now, later, years, share, seed)
    with unless_stopped(bars):
        kept, sold = _draws(ahead, seasons, bars, sells=price is not None)
    found = horizon_of(ahead, kept, sold, price, given)
    title, invented = scenario.header.title, scenario.invented
    answer(
        "horizon",
        {"scenario": title, "invented": invented, "horizon": found},
        lambda: horizon_csv(found),
        lambda: horizon_page(found, title, invented),
        as_json=as_json,
        as_csv=as_csv,
    )
    if bars.stopped:
        raise typer.Exit(STOPPED)


def _draws(ahead: Ahead, seasons: int, bars: Bars, *, sells: bool) -> tuple[YearDraws, dict[int, YearDraws]]:
    """The years with the engine kept, and sold after every so many seasons; after the last of them is as if kept."""
    kept = ahead.draw(seasons, watch=bars)
    sold: dict[int, YearDraws] = {}
    for every in range(1, ahead.years if sells else 0):
        bars.about = f": sold after {every}"
        sold[every] = ahead.draw(min([kept.seasons, *(one.seasons for one in sold.values())]), every, watch=bars)
    return kept, {**sold, ahead.years: kept} if sells else {}


def read_rate(text: str, *, as_json: bool) -> float:
    """A rate a year, or the end of the command."""
    from costplan.problems import Place, Problem

    percent = text.endswith("%")
    rate = float(read_number(text.rstrip("% "), "--rate", as_json=as_json)) / (100 if percent else 1)
    if not 0 <= rate <= 1:
        advice = "give 6% or 0.06 for six in a hundred a year"
        stop([Problem("REA018", Place("--rate"), "", text, "not a rate from 0 to 100 %:", advice)], as_json=as_json)
    return rate


def seasons_ahead(scenario: Scenario, on: date | None, *, as_json: bool) -> tuple[Season, Season]:
    """The season from a day on, and the whole one that is played again; or the end of the command."""
    now, later = season_of(scenario, on, as_json=as_json), season_of(scenario, as_json=as_json)
    repeatable(later, as_json=as_json)
    not_over(now, as_json=as_json)
    return now, later


def repeatable(season: Season, *, as_json: bool) -> None:
    """Ends the command where a calendar is too long to be repeated year after year."""
    from costplan.problems import Problem
    from costplan.season.machine.years import DAYS_A_YEAR

    first, last = season.runs[0].event, season.runs[-1].event
    if (last.date - first.date).days > DAYS_A_YEAR:
        what, advice = "more than a year after the first, so that it cannot be repeated:", "give one year's events"
        stop([Problem("REA018", last.place, "date", str(last.date), what, advice)], as_json=as_json)


def not_over(season: Season, *, as_json: bool) -> None:
    """Ends the command where nothing of the season lies ahead."""
    from costplan.problems import Place, Problem

    if not season.ahead:
        last, on = season.runs[-1].event.date, season.standing.on if season.standing else ""
        advice = f"give {last} or an earlier day; a new season has a calendar of its own"
        stop([Problem("REA018", Place("--on"), "", str(on), "behind the last event:", advice)], as_json=as_json)


def price_of_new(scenario: Scenario, given: str, *, as_json: bool) -> NewEngine | None:
    """What a new engine costs: as said, or as the scenario has it."""
    from costplan.season.deciding.horizon import NewEngine, new_engine

    if given:
        return NewEngine(not_negative(given, "--new", as_json=as_json), "--new")
    return new_engine(scenario.engines, scenario.garage, scenario.sources)
