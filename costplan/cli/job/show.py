"""`costplan job show`"""

from __future__ import annotations

from typing import Annotated

import typer

from costplan.cli.common import Csv, Folder, Json, On, Sets, answer, stop, today_or
from costplan.cli.job.common import open_jobs

JobName = Annotated[
    str,
    typer.Argument(metavar="JOB", help="The request's name, or that of an older job in jobs.csv.", show_default=False),
]


def show(
    folder: Folder,
    job: JobName,
    on: On = "",
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """One job on a day: who owes what, what it earned or is forecast to against what was quoted, line by line, and what
    happened. For the shop alone. --csv gives the lines, quoted against actual."""
    from costplan.problems import Place, Problem, nearest
    from costplan.quote.job import stand
    from costplan.report.quote.job import items_csv, job_page

    day = today_or(on, as_json=as_json)
    desk, jobs = open_jobs(folder, sets, as_json=as_json)
    chosen = next((one for one in jobs if one.name == job), None)
    if chosen is None:
        advice = nearest(job, [one.name for one in jobs])
        stop([Problem("REA020", Place("JOB"), "", job, "no such job:", advice)], as_json=as_json)
    found = stand(chosen, desk.book, desk.scenario.header.currency, day)
    answer(
        "job show",
        {"scenario": desk.scenario.header.title, "shop": desk.book.header.shop, "standing": found},
        lambda: items_csv(found),
        lambda: job_page(found),
        as_json=as_json,
        as_csv=as_csv,
    )
