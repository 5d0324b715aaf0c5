"""`costplan rules checklist`"""

from __future__ import annotations

from typing import TYPE_CHECKING

from costplan.cli.common import AsItStands, Csv, Folder, Json, OnBook, Sets, answer, know_engine, open_scenario, stop
from costplan.cli.rules.show import OnePack, packs_named

if TYPE_CHECKING:
    from costplan.rules import Pack
    from costplan.scenario import Scenario


def checklist(
    folder: Folder,
    engine: AsItStands = "",
    pack: OnePack = "",
    on: OnBook = "",
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


def packs_of(scenario: Scenario, name: str, *, as_json: bool) -> tuple[Pack, ...]:
    """The packs asked about, or the end of the command where there is no build, no pack at all or none of the name."""
    from costplan.problems import Place, Problem

    if scenario.build is None:
        stop([scenario.without("pattern")], as_json=as_json)
    packs = packs_named(scenario, name, as_json=as_json)
    if not packs:
        place = Place(f"{scenario.folder}/scenario.toml")
        stop([Problem("REA016", place, "rules", "", "no rule pack", "name one")], as_json=as_json)
    return packs
