"""`costplan compare`"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NamedTuple

import typer

from costplan.cli.common import (
    Csv,
    Json,
    OnAhead,
    Seasons,
    Seed,
    Sets,
    answer,
    not_over,
    read_number,
    season_of,
    stop,
    today_or,
)
from costplan.cli.progress import Bars, end_if, unless_stopped

if TYPE_CHECKING:
    from datetime import date

    from costplan.problems import Problem
    from costplan.report.tables import Page
    from costplan.scenario.variants import Named
    from costplan.season.drawn.comparing import BreakEven
    from costplan.season.drawn.drawing import Draws
    from costplan.season.drawn.figures import Paired


def compare(
    folders: Annotated[
        list[Path], typer.Argument(metavar="SCENARIO...", help="Folders of scenarios.", show_default=False)
    ],
    variants: Annotated[
        list[str],
        typer.Option(
            "--variant",
            metavar="NAME",
            help="A [[variant]] of the first scenario as one more side. May be repeated.",
            show_default=False,
        ),
    ] = [],  # noqa: B006
    against: Annotated[
        str,
        typer.Option("--against", metavar="NAME", help="The side to compare with; else the first.", show_default=False),
    ] = "",
    break_even: Annotated[
        str,
        typer.Option(
            "--break-even",
            metavar="PATH",
            help="Of two sides: the value of a cell or key, as --set names it, at which they cost the same.",
            show_default=False,
        ),
    ] = "",
    low: Annotated[
        str, typer.Option("--from", metavar="LOW", help="The lowest value to try.", show_default=False)
    ] = "",
    high: Annotated[
        str, typer.Option("--to", metavar="HIGH", help="The highest value to try.", show_default=False)
    ] = "",
    on: OnAhead = "",
    seasons: Seasons = 4000,
    seed: Seed = 1,
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """Scenarios, or a scenario and its variants, season by season on the same draws: what one costs more than the
    other, how surely, and by what cause; what it misses. --break-even finds the life, price or resale at which two
    sides cost the same. --csv gives the differences by cause. Ctrl-C shows what was drawn, with status 130."""
    from costplan.report.compare import compare_csv, compare_page
    from costplan.season.drawn.comparing import compare as compared

    asked = Asked(folders, variants, sets, against, _day(on, as_json=as_json), seasons, seed, as_json)
    sides, search = _sides(asked), _search(break_even, low, high, as_json=as_json)
    if search and len(sides) != 2:
        stop([_two_sides(len(sides))], as_json=as_json)
    bars = Bars()
    with unless_stopped(bars):
        drawn = _drawn(asked, sides, bars)
    found = compared(drawn)
    crossing = _crossing(asked, search, bars) if search and not bars.stopped else None
    title, invented = sides[0][1].header.title, any(scenario.invented for _, scenario in sides)
    answer(
        "compare",
        {
            "scenario": title,
            "invented": invented,
            "comparison": found,
            "path": break_even,
            "break_even": crossing,
        },
        lambda: compare_csv(found),
        lambda: _from(compare_page(found, crossing, break_even, title, invented), drawn),
        as_json=as_json,
        as_csv=as_csv,
    )
    end_if(bars.stopped)


def _from(page: Page, drawn: Sequence[tuple[str, Draws]]) -> Page:
    """The page, with what the log of the first side says at its top."""
    from costplan.report.log import ahead_page

    return ahead_page(page, drawn[0][1].season.standing)


def _day(text: str, *, as_json: bool) -> date | None:
    """The day of `--on`, None where it is not given, or the end of the command."""
    return today_or(text, as_json=as_json) if text else None


class Asked(NamedTuple):
    """What is compared, and how."""

    folders: Sequence[Path]
    variants: Sequence[str]
    sets: Sequence[str]
    against: str
    day: date | None
    seasons: int
    seed: int
    as_json: bool


class Search(NamedTuple):
    """Where a break-even is looked for."""

    path: str
    low: float
    high: float


def _sides(asked: Asked, more: Iterable[str] = ()) -> tuple[Named, ...]:
    """The sides with the base first, `more` what-ifs of the command's own set in all, or the end of the command."""
    from costplan.scenario.variants import read_sides, with_base

    sides, problems = read_sides(asked.folders, asked.variants, (*asked.sets, *more))
    if not problems:
        sides, problems = with_base(sides, asked.against)
    if problems:
        stop((_own(problem, len(asked.sets)) for problem in problems), as_json=asked.as_json)
    return sides


def _own(problem: Problem, before: int) -> Problem:
    """A problem of the value that a break-even tries, at its option."""
    from costplan.problems import Place

    own = problem.place.file == f"--set {before + 1}"
    return replace(problem, place=Place("--break-even")) if own else problem


def _search(path: str, low: str, high: str, *, as_json: bool) -> Search | None:
    """What `--break-even`, `--from` and `--to` ask for, or the end of the command."""
    from costplan.problems import Place, Problem

    if not (path or low or high):
        return None
    if not path:
        advice = "give --break-even PATH, the cell or key to try values of"
        stop([Problem("REA016", Place("--break-even"), "", "", "nothing to try values of", advice)], as_json=as_json)
    bounds = [read_number(text, option, as_json=as_json) for text, option in ((low, "--from"), (high, "--to"))]
    if bounds[0] >= bounds[1]:
        advice = "give a higher one than --from"
        stop([Problem("REA018", Place("--to"), "", high, "no higher value:", advice)], as_json=as_json)
    return Search(path, float(bounds[0]), float(bounds[1]))


def _two_sides(count: int) -> Problem:
    from costplan.problems import Place, Problem

    what, advice = "a break-even is between two sides, and there are:", "name one other scenario, or one variant"
    return Problem("REA018", Place("--break-even"), "", str(count), what, advice)


def _drawn(asked: Asked, sides: Iterable[Named], bars: Bars) -> list[tuple[str, Draws]]:
    """The seasons of every side; where one is stopped, those after it are as few."""
    from costplan.season.drawn.drawing import draw

    found: list[tuple[str, Draws]] = []
    seasons = asked.seasons
    for name, scenario in sides:
        bars.about = f": {name}"
        season = season_of(scenario, asked.day, as_json=asked.as_json)
        not_over(season, as_json=asked.as_json)
        draws = draw(season, seasons, asked.seed, watch=bars)
        found.append((name, draws))
        seasons = draws.seasons
    return found


def _crossing(asked: Asked, search: Search, bars: Bars) -> BreakEven | None:
    """The break-even; nothing where drawing is stopped before it is found."""
    from costplan.season.drawn.comparing import break_even

    bars.all_or_none = True
    try:
        return break_even(_difference(asked, search.path, bars), search.low, search.high)
    except KeyboardInterrupt:
        bars.close()
        typer.echo("Stopped before the break-even was found; it is not shown.", err=True)
        return None


def _difference(asked: Asked, path: str, bars: Bars) -> Callable[[float], Paired]:
    """What the second side costs more than the first at a value of a path, net of what is left.

    A value is what is written of it: what is written alike is drawn once.
    """
    from costplan.report.compare import exact
    from costplan.season.drawn.comparing import compare as compared

    @cache
    def at(text: str) -> Paired:
        drawn = _drawn(asked, _sides(asked, [f"{path}={text}"]), bars)
        if bars.stopped:
            raise KeyboardInterrupt
        return compared(drawn).differences[0].net

    return lambda value: at(exact(value))
