"""`costplan outlook`"""

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
    WorkFile,
    answer,
    not_over,
    open_scenario,
    season_of,
    write_work,
)
from costplan.cli.progress import Bars, end_if, unless_stopped

if TYPE_CHECKING:
    from costplan.season import Season
    from costplan.season.drawn.comparing import InputEffect

#: The seasons over which inputs are moved, at most: differences on the same draws need fewer.
MOVED = 2000
#: The season that is told: nine in ten are no dearer.
DEAR = 0.9


def outlook(
    folder: Folder,
    on: OnAhead = "",
    seasons: Seasons = 10_000,
    seed: Seed = 1,
    inputs: Annotated[bool, typer.Option("--inputs", help="Also what each input moves when it is 20 % wrong.")] = False,
    work: WorkFile = None,
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """What a season may cost, with lives, rain, hazards and damage drawn many times over: what 10, 50 and 90 % of
    seasons stay at or below, when levels are really done, what may break at what bill, what drives the spread. --csv
    gives the events. Ctrl-C ends the drawing: what was drawn is shown, with status 130."""
    from costplan.report.outlook import outlook_csv, outlook_page
    from costplan.season.arrays import as_drawn
    from costplan.season.drawn.drawing import draw
    from costplan.season.drawn.outlook import outlook_of, what_breaks
    from costplan.season.drawn.stories import story_at

    scenario, day = open_scenario(folder, sets, on, as_json=as_json)
    season, bars, moved = season_of(scenario, day if on else None, as_json=as_json), Bars(), min(seasons, MOVED)
    not_over(season, as_json=as_json)
    write_work(work, season, as_drawn(season, seed), as_json=as_json)
    with unless_stopped(bars):
        draws = draw(season, seasons, seed, watch=bars)
    effects = _effects(season, moved, seed, bars) if inputs else ()
    found, bills, story = outlook_of(draws), what_breaks(draws), story_at(draws, DEAR)
    title, invented = scenario.header.title, scenario.invented
    answer(
        "outlook",
        {"scenario": title, "invented": invented, "outlook": found, "bills": bills, "inputs": effects, "story": story},
        lambda: outlook_csv(found.events),
        lambda: outlook_page(found, bills, effects, story, title, invented, moved, _width(), season.standing),
        as_json=as_json,
        as_csv=as_csv,
    )
    end_if(bars.stopped)


def _width() -> int:
    """The columns of the terminal, 80 where there is none."""
    from rich.console import Console

    return Console().width


def _effects(season: Season, seasons: int, seed: int, bars: Bars) -> tuple[InputEffect, ...]:
    """What the inputs move; nothing where drawing is stopped before all of them were moved."""
    from costplan.season.drawn.comparing import input_effects

    bars.about, bars.all_or_none = ", inputs a fifth off", True
    try:
        return input_effects(season, seasons, seed, watch=bars)
    except KeyboardInterrupt:
        bars.close()
        typer.echo("Stopped before all inputs were moved; what they do is not shown.", err=True)
        return ()
