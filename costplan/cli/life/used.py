"""`costplan life used`"""

from __future__ import annotations

from costplan.cli.common import Csv, Folder, Json, On, Sets, answer, open_scenario, season_of


def used(folder: Folder, on: On = "", sets: Sets = [], as_json: Json = False, as_csv: Csv = False) -> None:  # noqa: B006
    """How much of its assumed life each part has used on opening day, after every event and at the season's end."""
    from costplan.report.used import used_csv, used_page
    from costplan.season.used import used_at_events

    scenario, day = open_scenario(folder, sets, on, as_json=as_json)
    compiled, header = season_of(scenario, day, as_json=as_json), scenario.header
    found, standing = used_at_events(compiled, day), compiled.standing
    inspections = standing.inspections if standing else ()
    about = {"scenario": header.title, "invented": scenario.invented, "on": day, "inspections": inspections}
    answer(
        "life used",
        {**about, "used": found, "assumed": compiled.assumed},
        lambda: used_csv(found),
        lambda: used_page(
            found, str(day), compiled.assumed, header.title, invented=scenario.invented, standing=standing
        ),
        as_json=as_json,
        as_csv=as_csv,
    )
