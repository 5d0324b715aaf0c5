"""`costplan season`"""

from __future__ import annotations

from typing import TYPE_CHECKING

from costplan.cli.common import (
    Csv,
    Folder,
    Json,
    On,
    Sets,
    Workbook,
    WorkFile,
    answer,
    know_workbook,
    open_scenario,
    season_of,
    write_work,
    write_workbook,
)

if TYPE_CHECKING:
    from datetime import date

    from costplan.scenario import Scenario
    from costplan.season import Plan, Season
    from costplan.season.logged import Tracking


def season(
    folder: Folder,
    on: On = "",
    work: WorkFile = None,
    xlsx: Workbook = None,
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """What a season costs: what to buy and renew before which race and why, cost per race, lap and hour, cash by
    month, life used by part, the wear of one more race. With a log.csv: from the day on, for the engines as the log
    leaves them, with budget, actual and forecast. --csv gives the ledger, both views; --xlsx all of it as a workbook,
    its totals worked out from the ledger."""
    from costplan.report.data import records_to_csv
    from costplan.report.season import season_page
    from costplan.season import make_plan
    from costplan.season.ledger import Row

    know_workbook(xlsx, as_json=as_json)
    scenario, day = open_scenario(folder, sets, on, as_json=as_json)
    compiled = season_of(scenario, day, as_json=as_json)
    write_work(work, compiled, compiled.problem, as_json=as_json)
    plan = make_plan(compiled, day)
    tracking = tracking_of(scenario, compiled, plan, day, as_json=as_json)
    standing, title, invented = compiled.standing, scenario.header.title, scenario.invented
    later = len(scenario.log) - len(scenario.logged(day))
    about = {
        "scenario": title,
        "invented": invented,
        "plan": plan,
        "inspections": standing.inspections if standing else (),
        "tracking": tracking,
        "rows_later": later,
    }
    answer(
        "season",
        about,
        lambda: records_to_csv(Row, plan.ledger),
        lambda: season_page(plan, title, invented, standing, tracking, later),
        as_json=as_json,
        as_csv=as_csv,
    )
    write_workbook(xlsx, lambda: _workbook(scenario, compiled, plan, tracking))


def _workbook(scenario: Scenario, season: Season, plan: Plan, tracking: Tracking | None) -> bytes:
    """The workbook of a plan."""
    from costplan.report.season_workbook import season_xlsx
    from costplan.season.used import used_at_events

    return season_xlsx(scenario, season, plan, used_at_events(season, plan.on), tracking)


def tracking_of(scenario: Scenario, season: Season, plan: Plan, day: date, *, as_json: bool) -> Tracking | None:
    """Budget, actual and forecast on a day; None where there is no log."""
    from costplan.season import make_plan
    from costplan.season.logged import track

    if season.standing is None:
        return None
    budget = make_plan(season_of(scenario, as_json=as_json), day)
    return track(budget, plan, season, scenario.logged(day))
