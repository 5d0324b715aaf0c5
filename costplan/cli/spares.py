"""`costplan spares`"""

from __future__ import annotations

from typing import Annotated

import typer

from costplan.cli.common import (
    Csv,
    Folder,
    Json,
    OnAhead,
    Seed,
    Sets,
    answer,
    not_negative,
    not_over,
    open_scenario,
    season_of,
)
from costplan.cli.progress import STOPPED, Bars, unless_stopped

#: Beyond what is kept of seasons one by one, no deposits are known.
Seasons = Annotated[int, typer.Option("--seasons", min=1, max=50_000, help="Seasons that the figures rest on.")]


def spares(
    folder: Folder,
    money: Annotated[
        str, typer.Option("--sum", metavar="SUM", help="So much may be spent on spares.", show_default=False)
    ],
    on: OnAhead = "",
    seasons: Seasons = 4000,
    seed: Seed = 1,
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """Which spares pay back for a given sum: what those in the box are worth there, what to add to them, step by step
    what saves most for its money, and what the others would bring. Each is judged by the season with it and without it
    on the same draws. --csv gives the list. Ctrl-C shows what was found, with status 130."""
    from costplan.report.log import ahead_page
    from costplan.report.spares import spares_csv, spares_page
    from costplan.season.deciding.spares import spares_for

    budget = not_negative(money, "--sum", as_json=as_json)
    scenario, day = open_scenario(folder, sets, on, as_json=as_json)
    season = season_of(scenario, day if on else None, as_json=as_json)
    not_over(season, as_json=as_json)
    title, invented, bars = scenario.header.title, scenario.invented, Bars()
    with unless_stopped(bars):
        found = spares_for(season, budget, seasons, seed, watch=bars, each=bars.each)
    bars.close()
    answer(
        "spares",
        {"scenario": title, "invented": invented, "spares": found},
        lambda: spares_csv(found),
        lambda: ahead_page(spares_page(found, title, invented), season.standing),
        as_json=as_json,
        as_csv=as_csv,
    )
    if found.interrupted:
        raise typer.Exit(STOPPED)
