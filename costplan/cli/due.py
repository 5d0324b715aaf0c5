"""`costplan due`"""

from __future__ import annotations

from costplan.cli.common import Csv, Folder, Json, On, Sets, answer, open_scenario, season_of


def due(folder: Folder, on: On = "", sets: Sets = [], as_json: Json = False, as_csv: Csv = False) -> None:  # noqa: B006
    """What must be done before the next race and the one after it, what it costs and when to order; with a log.csv,
    for the engines as it leaves them on the day."""
    from costplan.report.season import due_csv, due_page
    from costplan.season import due_before

    scenario, day = open_scenario(folder, sets, on, as_json=as_json)
    compiled, header = season_of(scenario, day, as_json=as_json), scenario.header
    found, standing = due_before(compiled, day), compiled.standing
    about = {"scenario": header.title, "invented": scenario.invented, "currency": header.currency, "on": day}
    answer(
        "due",
        {**about, "inspections": standing.inspections if standing else (), "due": found, "assumed": compiled.assumed},
        lambda: due_csv(found),
        lambda: due_page(found, compiled.assumed, header.title, header.currency, scenario.invented, day, standing),
        as_json=as_json,
        as_csv=as_csv,
    )
