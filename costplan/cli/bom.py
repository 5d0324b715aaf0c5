"""`costplan bom`"""

from __future__ import annotations

import typer

from costplan.cli.common import AsItStands, Csv, Folder, Json, On, Sets, know_engine, open_scenario, stop


def bom(
    folder: Folder,
    engine: AsItStands = "",
    on: On = "",
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """The bill of materials of the build, in whole packs with what is left over, and its measures."""
    scenario, day = open_scenario(folder, sets, on, as_json=as_json)
    if scenario.build is None:
        stop([scenario.without("pattern")], as_json=as_json)
    know_engine(scenario, engine, as_json=as_json)
    build = scenario.built(engine)
    figures = scenario.figures(build, day)
    bill, title, invented = figures.bill, scenario.header.title, scenario.invented
    if as_json:
        from costplan.report.data import to_json

        parts = {"bill": bill, "measures": figures.all(), "bench": figures.benched()}
        typer.echo(to_json("bom", scenario=title, invented=invented, engine=engine, **parts))
    elif as_csv:
        from costplan.build import BillLine
        from costplan.report.data import records_to_csv

        typer.echo(records_to_csv(BillLine, bill.lines), nl=False)
    else:
        from costplan.report.build import bill_page, standing_line
        from costplan.report.terminal import print_page

        lines = (standing_line(engine, build),) if engine else ()
        print_page(bill_page(bill, figures.all(), title, invented, figures.benched(), lines))
