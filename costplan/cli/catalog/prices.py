"""`costplan catalog prices`"""

from __future__ import annotations

from typing import Annotated

import typer

from costplan.cli.catalog.common import Shelf, open_catalog, unknown
from costplan.cli.common import Csv, Json, On, Sets, answer, stop


def prices(
    folder: Shelf,
    name: Annotated[str, typer.Argument(metavar="PART", help="A part or a kit.", show_default=False)],
    on: On = "",
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """What a part or a kit has cost when, who asks what, and which price holds."""
    from costplan.catalog import PastPrice, history_of, holding
    from costplan.report.catalog import prices_page
    from costplan.report.data import records_to_csv

    catalog, _, day = open_catalog(folder, sets, on, as_json=as_json, counted=False)
    offers = catalog.offers_of(name)
    if not offers:
        stop([unknown(name, "part", (*catalog.parts, *catalog.kits))], as_json=as_json)
    found = history_of(offers, holding(offers, day))
    answer(
        "catalog prices",
        {"invented": catalog.invented, "on": day, "part": name, "prices": found},
        lambda: records_to_csv(PastPrice, found),
        lambda: prices_page(catalog, name, found, day),
        as_json=as_json,
        as_csv=as_csv,
    )
