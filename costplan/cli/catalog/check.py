"""`costplan catalog check`"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from costplan.cli.common import Json, Sets, answer, stop


def check(
    folder: Annotated[Path, typer.Argument(metavar="CATALOG", help="The catalog's folder.", show_default=False)],
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
) -> None:
    """Whether a catalog's files are in order, and what it holds."""
    from costplan.catalog import read_catalogs
    from costplan.problems import in_order
    from costplan.reading import astray, parse_settings
    from costplan.report.catalog import catalog_page

    settings, faults = parse_settings(sets)
    catalog, problems = read_catalogs([folder], settings)
    found = in_order((*faults, *problems, *astray(settings, catalog.addresses)))
    if found:
        stop(found, as_json=as_json)
    answer("catalog check", catalog.summary(), None, lambda: catalog_page(catalog), as_json=as_json)
