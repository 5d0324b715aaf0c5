"""`costplan bom`"""

from __future__ import annotations

import typer

from costplan.cli.common import Csv, Folder, Json, On, Sets, open_scenario, stop


def bom(folder: Folder, on: On = "", sets: Sets = [], as_json: Json = False, as_csv: Csv = False) -> None:  # noqa: B006
    """The bill of materials of the build, in whole packs with what is left over, and its measures."""
    scenario, day = open_scenario(folder, sets, on, as_json=as_json)
    if scenario.build is None:
        stop([scenario.without("pattern")], as_json=as_json)
    bill = scenario.bill(day if on else None)
    figures = scenario.figures().all()
    if as_json:
        from costplan.report.data import to_json

        typer.echo(
            to_json("bom", scenario=scenario.header.title, invented=scenario.invented, bill=bill, measures=figures)
        )
    elif as_csv:
        from costplan.build import BillLine
        from costplan.report.data import records_to_csv

        typer.echo(records_to_csv(BillLine, bill.lines), nl=False)
    else:
        from costplan.report.build import bill_page
        from costplan.report.terminal import print_page

        print_page(bill_page(bill, figures, scenario.header.title, scenario.invented))
