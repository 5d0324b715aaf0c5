"""`costplan quote list`"""

from __future__ import annotations

from costplan.cli.common import Csv, Folder, Json, Sets, answer, tell
from costplan.cli.quote.common import open_desk_or_stop


def list_quotes(
    folder: Folder,
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """The requests of a scenario, and which revisions are saved of each. --csv gives them as a table. What cannot be
    read is told beside it, with status 2."""
    from costplan.quote.listing import list_requests
    from costplan.report.data import problem_rows
    from costplan.report.quote.listing import listing_csv, listing_page

    desk = open_desk_or_stop(folder, sets, as_json=as_json)
    found, problems = list_requests(desk)
    title = f"{desk.book.header.shop}: requests in {desk.scenario.folder}"
    answer(
        "quote list",
        {"requests": found, "problems": problem_rows(problems)},
        lambda: listing_csv(found),
        lambda: listing_page(found, title),
        as_json=as_json,
        as_csv=as_csv,
    )
    if problems:
        tell(problems, "the rest is listed")
