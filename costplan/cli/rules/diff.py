"""`costplan rules diff`"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from costplan.cli.common import Csv, Json, Sets, answer, stop


def diff(
    first: Annotated[
        Path,
        typer.Argument(
            metavar="A", help="A rule pack; or a change alone, over its baseline beside it.", show_default=False
        ),
    ],
    second: Annotated[
        Path | None, typer.Argument(metavar="B", help="Another pack, or a change over A.", show_default=False)
    ] = None,
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """What differs between two rule packs, or what a change does to one: what is added, replaced, withdrawn, tightened
    or loosened and by how much, in plain words. It needs no scenario."""
    from costplan.reading import parse_settings
    from costplan.report.data import records_to_csv
    from costplan.report.differences import differences_page
    from costplan.rules.differences import Difference, differences, read_pair

    settings, faults = parse_settings(sets)
    pair, problems = read_pair(first, second, settings)
    if faults or problems or pair is None:
        stop((*faults, *problems), as_json=as_json)
    found, (before, after) = differences(pair.before, pair.after), pair.sides
    answer(
        "rules diff",
        {"before": before, "after": after, "change": pair.proposal, "differences": found},
        lambda: records_to_csv(Difference, found),
        lambda: differences_page(before, after, pair.proposal, found),
        as_json=as_json,
        as_csv=as_csv,
    )
