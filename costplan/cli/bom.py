"""`costplan bom`"""

from __future__ import annotations

from costplan.cli.common import AsItStands, Csv, Folder, Json, On, Sets, answer, know_engine, open_scenario, stop


def bom(
    folder: Folder,
    engine: AsItStands = "",
    on: On = "",
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """The bill of materials of the build, in whole packs with what is left over, and its measures."""
    from costplan.build import BillLine
    from costplan.report.build import bill_page, standing_line
    from costplan.report.data import records_to_csv

    scenario, day = open_scenario(folder, sets, on, as_json=as_json)
    if scenario.build is None:
        stop([scenario.without("pattern")], as_json=as_json)
    know_engine(scenario, engine, as_json=as_json)
    build = scenario.built(engine)
    figures = scenario.figures(build, day)
    bill, title, invented = figures.bill, scenario.header.title, scenario.invented
    spreads = {figure.name: figures.spread(figure.name) for figure in figures.all() if figure.value}
    lines = (standing_line(engine, build),) if engine else ()
    about = {"scenario": title, "invented": invented, "engine": engine}
    answer(
        "bom",
        {**about, "bill": bill, "measures": figures.all(), "bench": figures.benched(), "spreads": spreads},
        lambda: records_to_csv(BillLine, bill.lines),
        lambda: bill_page(bill, figures.all(), title, invented, figures.benched(), lines, spreads),
        as_json=as_json,
        as_csv=as_csv,
    )
