"""`costplan rules show`"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from costplan.cli.common import Csv, Folder, Json, Sets, answer, open_scenario, stop

if TYPE_CHECKING:
    from costplan.rules import Pack
    from costplan.scenario import Scenario

OnePack = Annotated[
    str,
    typer.Option(
        "--pack",
        metavar="PACK",
        help="One pack, by its file's name without .toml, a neighbour's too; else those of the season.",
        show_default=False,
    ),
]

MarkedOn = Annotated[
    str,
    typer.Option(
        "--on", metavar="DATE", help="A day, 2027-05-14: what is not in force on it is marked.", show_default=False
    ),
]


def show(
    folder: Folder,
    pack: OnePack = "",
    on: MarkedOn = "",
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """A rule pack as a book to be read: its clauses by chapter, what is checked and how it is shown, from when until
    when, and how it binds the season. With --on, what is not in force that day is marked."""
    from costplan.report.book import ClauseText, book_text, show_page
    from costplan.report.data import records_to_csv

    scenario, today = open_scenario(folder, sets, on, as_json=as_json)
    day = today if on else None
    books = [book_text(one, scenario.rounds, day) for one in packs_named(scenario, pack, as_json=as_json)]
    title, invented = scenario.header.title, scenario.invented
    answer(
        "rules show",
        {"scenario": title, "invented": invented, "on": day, "packs": books},
        lambda: records_to_csv(ClauseText, (clause for book in books for clause in book.clauses)),
        lambda: show_page(books, title, invented, day),
        as_json=as_json,
        as_csv=as_csv,
    )


def packs_named(scenario: Scenario, name: str, *, as_json: bool) -> tuple[Pack, ...]:
    """The packs of the season, or the one that `--pack` names; a name that leads nowhere ends the command."""
    if not name:
        return scenario.packs
    known = {one.stem: one for one in (*scenario.neighbours, *scenario.packs)}
    if name not in known:
        from costplan.problems import Place, Problem, nearest

        problem = Problem("REA020", Place("--pack"), "", name, "no such rule pack:", nearest(name, known))
        stop([problem], as_json=as_json)
    return (known[name],)
