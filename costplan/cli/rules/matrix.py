"""`costplan rules matrix`"""

from __future__ import annotations

from costplan.cli.common import AsItStands, Csv, Folder, Json, OnBook, Sets, answer, know_engine, open_scenario, stop


def matrix(
    folder: Folder,
    engine: AsItStands = "",
    on: OnBook = "",
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """How an engine stands to every book that the scenario names, its own and its neighbours', and what would have to
    change to run under each. Status 1 if it breaks the book of its own season."""
    import typer

    from costplan.choose import Standing, where_it_may_run
    from costplan.report.data import records_to_csv
    from costplan.report.rules import matrix_page

    scenario, today = open_scenario(folder, sets, on, as_json=as_json)
    if scenario.build is None:
        stop([scenario.without("pattern")], as_json=as_json)
    know_engine(scenario, engine, as_json=as_json)
    day = today if on else scenario.day(today)
    found = where_it_may_run(scenario, engine, day)
    title, invented = scenario.header.title, scenario.invented
    answer(
        "rules matrix",
        {"scenario": title, "invented": invented, "engine": engine, "on": day, "packs": found},
        lambda: records_to_csv(Standing, found),
        lambda: matrix_page(found, title, engine, day, invented),
        as_json=as_json,
        as_csv=as_csv,
    )
    if any(one.season and one.stands == "breaks" for one in found):
        raise typer.Exit(1)
