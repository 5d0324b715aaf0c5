"""`costplan quote again`"""

from __future__ import annotations

from costplan.cli.common import Csv, Folder, Json, On, Sets, answer, stop, today_or
from costplan.cli.quote.common import (
    Name,
    Number,
    know_slots,
    open_desk_or_stop,
    quote_or_stop,
    saved_revision,
)


def again(
    folder: Folder,
    name: Name,
    revision: Number = None,
    on: On = "",
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """A saved revision priced anew: the same request at the catalog, shop book and season of today, and what moved
    since. Nothing is saved. --csv gives the lines that moved."""
    from dataclasses import replace

    from costplan.quote.request import check_names
    from costplan.quote.revisions import difference
    from costplan.report.quote.difference import difference_csv, difference_page

    saved = saved_revision(folder, name, revision, as_json=as_json)
    desk = open_desk_or_stop(folder, sets, as_json=as_json)
    faults = tuple(check_names(saved.asked, desk.names))
    if faults:
        stop(faults, as_json=as_json)
    know_slots(desk, saved.bad, saved.asked.place("bad"), as_json=as_json)
    asking, problems = desk.asking(saved.asked, today_or(on, as_json=as_json))
    if asking is None:
        stop(problems, as_json=as_json)
    found = difference(
        saved.quote, quote_or_stop(replace(asking, bad=saved.bad, torn_down=saved.torn_down), as_json=as_json)
    )
    title = f"{saved.quote.number}: revision {saved.quote.revision} priced anew on {asking.on}"
    answer(
        "quote again",
        {"difference": found},
        lambda: difference_csv(found),
        lambda: difference_page(found, title),
        as_json=as_json,
        as_csv=as_csv,
    )
