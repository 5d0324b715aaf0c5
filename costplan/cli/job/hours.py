"""`costplan job hours`"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated

import typer

from costplan.cli.common import Csv, Folder, Json, Sets, answer, stop, stop_if_refused
from costplan.cli.job.common import open_jobs


def hours(
    folder: Folder,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            metavar="FILE",
            help="Write work.csv with your own hours and their source, a new file; every other cell stays.",
            show_default=False,
        ),
    ] = None,
    least: Annotated[
        int, typer.Option("--least", min=1, help="Jobs that hours must rest on to be written into work.csv.")
    ] = 2,
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """Hours by operation over all jobs that are done, against those of work.csv: mean, spread, on how many jobs they
    rest, and what the difference is worth in one job."""
    from costplan.quote.job import cells_to_write, hours_of
    from costplan.report.quote.job import hours_csv, hours_page

    desk, jobs = open_jobs(folder, sets, as_json=as_json)
    header, shop = desk.scenario.header, desk.book.header.shop
    found = hours_of(jobs, desk.book, header.currency)
    cells = cells_to_write(found, least)
    if out is not None:
        _write(out, folder / "work.csv", cells, as_json=as_json)
    answer(
        "job hours",
        {"scenario": header.title, "shop": shop, "currency": header.currency, "hours": found, "work": cells},
        lambda: hours_csv(found),
        lambda: hours_page(found, cells, least, f"{shop}: hours by operation", header.currency),
        as_json=as_json,
        as_csv=as_csv,
    )


def _write(out: Path, work: Path, cells: Mapping[str, Mapping[str, str]], *, as_json: bool) -> None:
    """Writes the new work.csv and says so beside the answer, or ends the command with what stands in its way."""
    from costplan.garage.putting import in_the_way_of_rows
    from costplan.quote.job import rewritten
    from costplan.reading import read_sheet
    from costplan.report.data import write_new

    stop_if_refused(in_the_way_of_rows(work))
    sheet, problems = read_sheet(work)
    if sheet is None or problems:
        stop(problems, as_json=as_json, undone="written")
    text = rewritten(work.read_bytes().decode("utf-8"), sheet, "work", cells)
    refusal = write_new(out, text)
    stop_if_refused(refusal)
    from costplan.report.tables import plural

    typer.echo(f"Written: {out}, {plural(len(cells), 'row')} with hours of your own.", err=True)
