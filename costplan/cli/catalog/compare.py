"""`costplan catalog compare`"""

from __future__ import annotations

from typing import Annotated

import typer

from costplan.cli.catalog.common import Shelf, open_catalog, unknown
from costplan.cli.common import Csv, Json, On, Sets, answer, stop


def compare(
    folder: Shelf,
    role: Annotated[str, typer.Argument(metavar="ROLE", help="The role whose parts to compare.", show_default=False)],
    pieces: Annotated[int, typer.Option("--pieces", min=1, max=10_000, help="How many pieces a set has.")] = 1,
    measure: Annotated[
        str,
        typer.Option(
            "--measure", help="What the life counts: events, laps ...; the commonest if not given.", show_default=False
        ),
    ] = "",
    on: On = "",
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """The parts of a role side by side, by the price of a unit of their life."""
    from costplan.life import Compared, compare_parts, measures_of
    from costplan.report.catalog import compare_page
    from costplan.report.data import records_to_csv

    catalog, buying, day = open_catalog(folder, sets, on, as_json=as_json)
    if not catalog.of_role(role):
        stop([unknown(role, "role", [name for name, _, _ in catalog.by_role()])], as_json=as_json)
    measures = measures_of(catalog, role)
    counted = next((found for found in measures if measure in ("", found.name, str(found))), None)
    if measure and counted is None:
        stop([unknown(measure, "measure", [str(found) for found in measures])], as_json=as_json)
    found = compare_parts(catalog, role, pieces, counted, buying, day)
    answer(
        "catalog compare",
        {"invented": catalog.invented, "on": day, "role": role, "parts": found},
        lambda: records_to_csv(Compared, found),
        lambda: compare_page(catalog, role, found, day),
        as_json=as_json,
        as_csv=as_csv,
    )
