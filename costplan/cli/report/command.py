"""`costplan report`"""

from __future__ import annotations

from collections.abc import Callable
from enum import Enum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NamedTuple

import typer

from costplan.cli.common import Folder, Json, On, Seed, Sets, open_scenario, stop_if_refused
from costplan.cli.progress import Bars, end_if
from costplan.cli.report import builder, official, racer
from costplan.cli.report.asked import Asked

if TYPE_CHECKING:
    from costplan.report.web.blocks import WebPage


class Reader(Enum):
    """Whom a page is for."""

    RACER = "racer"
    BUILDER = "builder"
    OFFICIAL = "official"


class Maker(NamedTuple):
    """Whether a scenario has what a page is about, what makes the page, and which files of a folder it reads beside
    the scenario's, by their addresses in what-ifs."""

    possible: Callable[[Asked], bool]
    make: Callable[[Asked], WebPage]
    beside: Callable[[Path], tuple[str, ...]]


MAKERS = {
    Reader.RACER: Maker(racer.can_be_made, racer.make, racer.beside),
    Reader.BUILDER: Maker(builder.can_be_made, builder.make, builder.beside),
    Reader.OFFICIAL: Maker(official.can_be_made, official.make, official.beside),
}


def report(
    folder: Folder,
    readers: Annotated[
        list[Reader],
        typer.Option("--for", help="Whom to write a page for; else for all of whom the scenario has files."),
    ] = [],  # noqa: B006
    out: Annotated[
        Path, typer.Option("--out", metavar="FOLDER", help="Where to write the pages; made where it is missing.")
    ] = Path("pages"),
    on: On = "",
    seasons: Annotated[
        int,
        typer.Option(
            "--seasons",
            min=10,
            max=1_000_000,
            help="Seasons to draw; of the official's page, one in 25 of them for each entrant.",
        ),
    ] = 5000,
    seed: Seed = 1,
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
) -> None:
    """Writes a page for a browser, one file each that needs no network: for the racer what the season costs, what to
    do next and what may go wrong; for the builder the bill, the rules, quotes and what more money buys; for the
    official what a rule change costs whom. A page of the same day is written anew; no other file is touched. Ctrl-C
    ends the drawing: the racer's page then rests on what was drawn, with status 130."""
    from costplan.report.web.files import refused, write_pages
    from costplan.report.web.writing import html_of

    beside = tuple(address for reader in readers or MAKERS for address in MAKERS[reader].beside(folder))
    scenario, day = open_scenario(folder, sets, on, as_json=as_json, beside=beside)
    asked = Asked(folder, scenario, day, tuple(sets), beside, seasons, seed, Bars(), as_json)
    wanted = readers or [reader for reader, maker in MAKERS.items() if maker.possible(asked)]
    names = {reader: f"{folder.resolve().name}-{reader.value}-{day}.html" for reader in wanted}
    stop_if_refused(refused(out, names.values()))
    pages = {names[reader]: html_of(MAKERS[reader].make(asked)) for reader in wanted}
    stop_if_refused(write_pages(out, pages))
    if as_json:
        from costplan.report.data import to_json

        typer.echo(to_json("report", pages=[{"for": one.value, "file": str(out / names[one])} for one in wanted]))
    else:
        for name in pages:
            typer.echo(f"Written: {out / name} ({len(pages[name].encode()) // 1000} kB)")
    end_if(asked.bars.stopped)
