"""`costplan due`"""

from __future__ import annotations

import typer

from costplan.cli.common import Csv, Folder, Json, On, Sets, open_scenario, season_of


def due(folder: Folder, on: On = "", sets: Sets = [], as_json: Json = False, as_csv: Csv = False) -> None:  # noqa: B006
    """What must be done before the next race and the one after it, what it costs and when to order."""
    scenario, day = open_scenario(folder, sets, on, as_json=as_json)
    from costplan.season import due_before

    compiled = season_of(scenario)
    found = due_before(compiled, day)
    if as_json:
        from costplan.report.data import to_json

        typer.echo(to_json("due", scenario=scenario.header.title, on=day, due=found, assumed=compiled.assumed))
    elif as_csv:
        from costplan.report.data import records_to_csv
        from costplan.season.plan import Renewal

        renewals = [renewal for entry in found for job in entry.jobs for renewal in job.renewals]
        typer.echo(records_to_csv(Renewal, renewals), nl=False)
    else:
        from costplan.report.season import due_page
        from costplan.report.terminal import print_page

        title, currency = scenario.header.title, scenario.header.currency
        print_page(due_page(found, compiled.assumed, title, currency, scenario.invented))
