"""`costplan horizon`"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from costplan.cli.common import Csv, Folder, Json, OnAhead, Seasons, Seed, Sets, not_negative, open_scenario, season_of
from costplan.cli.deciding import Discount, New, Years, price_of_new, read_rate, show, years_follow
from costplan.cli.progress import Bars, unless_stopped

if TYPE_CHECKING:
    from costplan.season.deciding.horizon import Ahead
    from costplan.season.drawn.years import YearDraws


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
    now, later = (season_of(scenario, from_day, as_json=as_json) for from_day in (day if on else None, None))
    years_follow(now, later, as_json=as_json)
    price, bars = price_of_new(scenario, new, as_json=as_json), Bars()
    ahead = Ahead(now, later, years, share, seed)
    with unless_stopped(bars):
        kept, sold = _draws(ahead, seasons, bars, sells=price is not None)
    found = horizon_of(ahead, kept, sold, price, given)
    show(
        "horizon",
        scenario,
        found,
        horizon_csv,
        horizon_page,
        standing=now.standing,
        as_json=as_json,
        as_csv=as_csv,
        stopped=bars.stopped,
    )


def _draws(ahead: Ahead, seasons: int, bars: Bars, *, sells: bool) -> tuple[YearDraws, dict[int, YearDraws]]:
    """The years with the engine kept, and sold after every so many seasons: fewer than all, since sold at the end for
    what is left of it an engine is as good as kept."""
    kept = ahead.draw(seasons, watch=bars)
    sold: dict[int, YearDraws] = {}
    for every in range(1, ahead.years if sells else 0):
        bars.about = f": sold after {every}"
        sold[every] = ahead.draw(min([kept.seasons, *(one.seasons for one in sold.values())]), every, watch=bars)
    return kept, sold
