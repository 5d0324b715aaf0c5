"""`costplan due`"""

from __future__ import annotations

import typer

from costplan.cli.common import Csv, Folder, Json, On, Sets, open_scenario, season_of


def due(folder: Folder, on: On = "", sets: Sets = [], as_json: Json = False, as_csv: Csv = False) -> None:  # noqa: B006
    """What must be done before the next race and the one after it, what it costs and when to order."""
    scenario, day = open_scenario(folder, sets, on, as_json=as_json)
    from costplan.season import due_before

    compiled = season_of(scenario, as_json=as_json)
    found = due_before(compiled, day)
    if as_json:
        from costplan.report.data import to_json

        header = scenario.header
        about = {"scenario": header.title, "invented": scenario.invented, "currency": header.currency, "on": day}
        typer.echo(to_json("due", **about, due=found, assumed=compiled.assumed))
    elif as_csv:
        from costplan.report.season import due_csv

        typer.echo(due_csv(found), nl=False)
    else:
        from costplan.report.season import due_page
        from costplan.report.terminal import print_page

        title, currency = scenario.header.title, scenario.header.currency
        print_page(due_page(found, compiled.assumed, title, currency, scenario.invented))
