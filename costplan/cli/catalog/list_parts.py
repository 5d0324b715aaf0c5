"""`costplan catalog list`"""

from __future__ import annotations

from typing import Annotated

import typer

from costplan.cli.catalog.common import Shelf, open_catalog, unknown
from costplan.cli.common import Csv, Json, On, Sets, answer, stop


def list_parts(
    folder: Shelf,
    role: Annotated[str, typer.Option("--role", help="Parts of this role only.", show_default=False)] = "",
    supplier: Annotated[str, typer.Option("--supplier", help="Parts of this supplier only.", show_default=False)] = "",
    where: Annotated[
        list[str],
        typer.Option(
            "--where",
            metavar="CONDITION",
            help="Parts whose figure is so: 'bore>=4 in', 'material=steel'. May be repeated.",
            show_default=False,
        ),
    ] = [],  # noqa: B006
    on: On = "",
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """The parts of a catalog with the prices that hold, by role, supplier and figures."""
    from costplan.catalog import Found, look_up, read_condition
    from costplan.problems import Place
    from costplan.report.catalog import list_page
    from costplan.report.data import records_to_csv

    catalog, buying, day = open_catalog(folder, sets, on, as_json=as_json)
    read = [read_condition(text, catalog, Place(f"--where {number}")) for number, text in enumerate(where, start=1)]
    problems = [problem for _, faults in read for problem in faults]
    if role and role not in catalog.roles:
        problems.append(unknown(role, "role", catalog.roles))
    suppliers = catalog.suppliers()
    if supplier and supplier not in suppliers:
        problems.append(unknown(supplier, "supplier", suppliers))
    if problems:
        stop(problems, as_json=as_json)
    found = look_up(catalog, buying, day, role, supplier, [condition for condition, _ in read if condition])
    answer(
        "catalog list",
        {"invented": catalog.invented, "on": day, "parts": found},
        lambda: records_to_csv(Found, found),
        lambda: list_page(catalog, found, day),
        as_json=as_json,
        as_csv=as_csv,
    )
