"""`costplan catalog fits`"""

from __future__ import annotations

from typing import Annotated

import typer

from costplan.cli.catalog.common import unknown
from costplan.cli.common import Csv, Folder, Json, On, Sets, answer, open_scenario, stop
from costplan.cli.progress import Bars


def fits(
    folder: Folder,
    slot: Annotated[str, typer.Argument(metavar="[SLOT]", help="One slot only; all if not given.")] = "",
    on: On = "",
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """For each slot every part of its role: which fit the rest of the build at what cost, and why the others do not."""
    from costplan.choose import Alternative, alternatives, slots_with_choice
    from costplan.report.catalog import fits_page
    from costplan.report.data import records_to_csv

    scenario, day = open_scenario(folder, sets, on, as_json=as_json)
    if scenario.build is None:
        stop([scenario.without("pattern")], as_json=as_json)
    slots = slots_with_choice(scenario)
    if slot and slot not in slots:
        stop([unknown(slot, "slot", slots)], as_json=as_json)
    asked = [name for name in slots if slot in ("", name)]
    groups = [alternatives(scenario, name, day) for name in Bars().each(asked, "Trying the parts of each slot")]
    found = [entry for group in groups for entry in group]
    title, invented = f"What could stand where: {scenario.header.title}", scenario.invented
    answer(
        "catalog fits",
        {"invented": invented, "on": day, "alternatives": found},
        lambda: records_to_csv(Alternative, found),
        lambda: fits_page(title, groups, invented),
        as_json=as_json,
        as_csv=as_csv,
    )
