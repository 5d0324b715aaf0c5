"""`costplan quote offers`"""

from __future__ import annotations

from costplan.cli.common import Csv, Folder, Json, On, Sets, answer, stop, today_or
from costplan.cli.quote.common import Customer, open_desk_or_stop


def offers(
    folder: Folder,
    customer: Customer = False,
    on: On = "",
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """The season's service plan priced by the shop: every opening ahead with what the plan renews then, beside the
    racer's own figures, and what levels.csv would have by the shop's. --csv gives the offers."""
    from costplan.quote.offers import copy_of_offers, offers_of
    from costplan.report.quote.offers import copy_csv, copy_page, offers_csv, offers_page

    desk = open_desk_or_stop(folder, sets, as_json=as_json)
    found, problems = offers_of(desk, today_or(on, as_json=as_json))
    if found is None:
        stop(problems, as_json=as_json)
    if customer:
        copy = copy_of_offers(found)
        page, table = (lambda: copy_page(copy, invented=desk.scenario.invented)), (lambda: copy_csv(copy))
        answer("quote offers copy", {"offers": copy}, table, page, as_json=as_json, as_csv=as_csv)
        return
    answer(
        "quote offers",
        {"offers": found},
        lambda: offers_csv(found),
        lambda: offers_page(found, invented=desk.scenario.invented),
        as_json=as_json,
        as_csv=as_csv,
    )
