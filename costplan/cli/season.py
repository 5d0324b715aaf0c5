"""`costplan season`"""

from __future__ import annotations

import typer

from costplan.cli.common import Csv, Folder, Json, On, Sets, open_scenario, season_of


def season(folder: Folder, on: On = "", sets: Sets = [], as_json: Json = False, as_csv: Csv = False) -> None:  # noqa: B006
    """What a season costs: what to buy and renew before which race and why, cost per race, lap and hour, cash by
    month, life used by part, the wear of one more race. --csv gives the ledger, both views."""
    scenario, day = open_scenario(folder, sets, on, as_json=as_json)
    from costplan.season import make_plan

    plan = make_plan(season_of(scenario, as_json=as_json), day)
    if as_json:
        from costplan.report.data import to_json

        typer.echo(to_json("season", scenario=scenario.header.title, invented=scenario.invented, plan=plan))
    elif as_csv:
        from costplan.report.data import records_to_csv
        from costplan.season.ledger import Row

        typer.echo(records_to_csv(Row, plan.ledger), nl=False)
    else:
        from costplan.report.season import season_page
        from costplan.report.terminal import print_page

        print_page(season_page(plan, scenario.header.title, scenario.invented))
