"""`costplan season`"""

from __future__ import annotations

from costplan.cli.common import Csv, Folder, Json, On, Sets, WorkFile, answer, open_scenario, season_of, write_work


def season(
    folder: Folder,
    on: On = "",
    work: WorkFile = None,
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """What a season costs: what to buy and renew before which race and why, cost per race, lap and hour, cash by
    month, life used by part, the wear of one more race. --csv gives the ledger, both views."""
    from costplan.report.data import records_to_csv
    from costplan.report.season import season_page
    from costplan.season import make_plan
    from costplan.season.ledger import Row

    scenario, day = open_scenario(folder, sets, on, as_json=as_json)
    compiled = season_of(scenario, as_json=as_json)
    write_work(work, compiled, compiled.problem, as_json=as_json)
    plan = make_plan(compiled, day)
    title, invented = scenario.header.title, scenario.invented
    answer(
        "season",
        {"scenario": title, "invented": invented, "plan": plan},
        lambda: records_to_csv(Row, plan.ledger),
        lambda: season_page(plan, title, invented),
        as_json=as_json,
        as_csv=as_csv,
    )
