"""`costplan rules checklist`"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from costplan.cli.common import AsItStands, Csv, Folder, Json, On, Sets, answer, know_engine, open_scenario, stop

if TYPE_CHECKING:
    from costplan.rules import Pack
    from costplan.scenario import Scenario

OnePack = Annotated[
    str,
    typer.Option(
        "--pack",
        metavar="STEM",
        help="One rule pack, by its file's name without .toml; else all that the season is run under.",
        show_default=False,
    ),
]


def checklist(
    folder: Folder,
    engine: AsItStands = "",
    pack: OnePack = "",
    on: On = "",
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """Every clause in force in the order in which one takes an engine apart, to print and sign: what to look at, with
    which tool, the limit, the minutes, what is known so far, and what opening so deep costs whom."""
    from costplan.report.inspection import checklist_csv, checklist_page
    from costplan.rules.checklist import checkbook, depths_of

    scenario, today = open_scenario(folder, sets, on, as_json=as_json)
    packs = packs_of(scenario, pack, as_json=as_json)
    know_engine(scenario, engine, as_json=as_json)
    day = today if on else scenario.day(today)
    depths = depths_of(scenario.files.levels, scenario.files.positions)
    sheet = scenario.sheet(engine, on=day)
    books = [checkbook(one, sheet, day, depths) for one in packs]
    title, invented, currency = scenario.header.title, scenario.invented, scenario.header.currency
    about = {"scenario": title, "invented": invented, "engine": engine, "on": day, "currency": currency}
    answer(
        "rules checklist",
        {**about, "packs": books},
        lambda: checklist_csv(books),
        lambda: checklist_page(books, title, currency, invented),
        as_json=as_json,
        as_csv=as_csv,
    )


def packs_of(scenario: Scenario, stem: str, *, as_json: bool) -> tuple[Pack, ...]:
    """The packs asked about, or the end of the command where there is no build or no such pack."""
    from costplan.problems import Place, Problem, nearest

    if scenario.build is None:
        stop([scenario.without("pattern")], as_json=as_json)
    known = {one.stem: one for one in (*scenario.packs, *scenario.neighbours)}
    if stem and stem not in known:
        problem = Problem("REA020", Place("--pack"), "", stem, "no such rule pack:", nearest(stem, known))
        stop([problem], as_json=as_json)
    if not scenario.packs and not stem:
        place = Place(f"{scenario.folder}/scenario.toml")
        stop([Problem("REA016", place, "rules", "", "no rule pack", "name one")], as_json=as_json)
    return (known[stem],) if stem else scenario.packs
