"""`costplan columns`"""

from __future__ import annotations

from typing import Annotated

import typer

from costplan.cli.common import Csv, Json, answer, stop


def columns(
    file: Annotated[str, typer.Argument(metavar="[FILE]", help="One file only, such as calendar.csv.")] = "",
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """The columns and keys of every file: name, what may stand there, whether it is needed, and what it means."""
    from costplan.reference import Entry, dictionary
    from costplan.report.catalog import columns_page
    from costplan.report.data import records_to_csv

    entries = [entry for entry in dictionary() if file in ("", entry.file)]
    if not entries:
        from costplan.problems import Place, Problem

        files = ", ".join(dict.fromkeys(entry.file for entry in dictionary()))
        stop([Problem("REA020", Place("FILE"), "", file, "no such file:", f"give one of: {files}")], as_json=as_json)
    answer(
        "columns",
        {"columns": entries},
        lambda: records_to_csv(Entry, entries),
        lambda: columns_page(entries),
        as_json=as_json,
        as_csv=as_csv,
    )
