"""`costplan job list`"""

from __future__ import annotations

from costplan.cli.common import Csv, Folder, Json, On, Sets, answer, today_or
from costplan.cli.job.common import open_jobs


def list_jobs(
    folder: Folder,
    on: On = "",
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """All jobs on a day: how each stands, what is signed, paid and owed, and what it leaves; older jobs with their
    hours."""
    from costplan.quote.job import list_jobs as jobs_on
    from costplan.report.quote.job import jobs_csv, jobs_page

    day = today_or(on, as_json=as_json)
    desk, jobs = open_jobs(folder, sets, as_json=as_json)
    header, shop = desk.scenario.header, desk.book.header.shop
    found = jobs_on(jobs, desk.book, header.currency, day)
    answer(
        "job list",
        {"scenario": header.title, "shop": shop, "currency": header.currency, "on": day, "jobs": found},
        lambda: jobs_csv(found),
        lambda: jobs_page(found, f"{shop}: jobs on {day}", header.currency),
        as_json=as_json,
        as_csv=as_csv,
    )
