"""`costplan rules costs`"""

from __future__ import annotations

from functools import partial

from costplan.cli.common import Csv, Folder, Json, Sets, answer, open_scenario, season_of
from costplan.cli.progress import Bars


def costs(
    folder: Folder,
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """What each clause that binds the season costs: the season planned with the whole book less that without the
    clause, in cash and in wear, and the events that are missed for it."""
    from costplan.report.data import records_to_csv
    from costplan.report.rules import costs_page
    from costplan.season import ClauseCost, cost_of_clauses

    scenario, _ = open_scenario(folder, sets, as_json=as_json)
    watched = partial(Bars().each, words="Planning without each clause")
    found = cost_of_clauses(scenario.sources, season_of(scenario, as_json=as_json), watched)
    title, currency, invented = scenario.header.title, scenario.header.currency, scenario.invented
    answer(
        "rules costs",
        {"scenario": title, "invented": invented, "currency": currency, "book": found},
        lambda: records_to_csv(ClauseCost, (*found.clauses, found.whole)),
        lambda: costs_page(found, title, currency, invented),
        as_json=as_json,
        as_csv=as_csv,
    )
