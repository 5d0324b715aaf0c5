"""`costplan worth`"""

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
    know_engine,
    open_scenario,
    season_of,
    stop,
)
from costplan.cli.deciding import Discount, New, Years, price_of_new, read_rate, show, years_follow
from costplan.cli.progress import Bars, unless_stopped

if TYPE_CHECKING:
    from datetime import date

    from costplan.scenario import Scenario
    from costplan.season import Season


def worth(
    folder: Folder,
    engine: Annotated[
        str, typer.Option("--engine", metavar="NAME", help="An engine of scenario.toml, owned or on offer.")
    ],
    on: OnAhead = "",
    years: Years = 2,
    rate: Discount = "6%",
    new: New = "",
    seasons: Seasons = 4000,
    seed: Seed = 1,
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """What a used engine is worth, given its log: by its parts; to who runs it for some years, against buying new;
    broken up; and if nothing were known of it, which is what the log is worth. An engine on offer is put in the place
    of the first that is owned. --csv gives its parts. Ctrl-C shows what was drawn, with status 130."""
    from costplan.report.worth import worth_csv, worth_page
    from costplan.season.deciding.horizon import Ahead
    from costplan.season.deciding.worth import draws_of, worth_of

    share = read_rate(rate, as_json=as_json)
    scenario, day = open_scenario(folder, sets, on, as_json=as_json)
    know_engine(scenario, engine, as_json=as_json)
    now, later = _seasons_with(scenario, engine, day if on else None, as_json=as_json)
    price, bars = price_of_new(scenario, new, as_json=as_json), Bars()
    if price is None:
        stop([scenario.without("build")], as_json=as_json)
    ahead = Ahead(now, later, years, share, seed, now.carriers.index(engine))
    with unless_stopped(bars):
        found = worth_of(ahead, price, draws_of(ahead, seasons, watch=bars), seasons)
    show(
        "worth",
        scenario,
        found,
        worth_csv,
        worth_page,
        standing=now.standing,
        as_json=as_json,
        as_csv=as_csv,
        stopped=bars.stopped,
    )


def _seasons_with(scenario: Scenario, name: str, on: date | None, *, as_json: bool) -> tuple[Season, Season]:
    """The season ahead with an engine in it, and the whole one that is played again; or the end of the command."""
    from costplan.problems import Place, Problem
    from costplan.season import compile_season
    from costplan.season.deciding.worth import in_place
    from costplan.season.logged import season_on

    engine = next(one for one in scenario.engines if one.name == name)
    if not any(piece.engine == name for piece in scenario.garage):
        what, advice = "no piece in garage.csv is in it, so that all of it counts as new:", "write down what is in it"
        stop([Problem("REA020", Place("--engine"), "", name, what, advice)], as_json=as_json)
    if engine.owned:
        now, later = season_of(scenario, on, as_json=as_json), season_of(scenario, as_json=as_json)
    else:
        whole, problems = compile_season(in_place(scenario.sources, engine, scenario.garage))
        if whole is None:
            stop(problems, as_json=as_json)
        now = later = whole
        if on and scenario.logged(on):
            own = [entry for entry in scenario.log if entry.engine in ("", *whole.carriers)]
            now, problems = season_on(whole, own, on)
            if problems:
                stop(problems, as_json=as_json)
    years_follow(now, later, as_json=as_json)
    return now, later
