"""`costplan orders`"""

from __future__ import annotations

from costplan.cli.common import Csv, Folder, Json, On, Sets, answer, open_scenario, season_of


def orders(folder: Folder, on: On = "", sets: Sets = [], as_json: Json = False, as_csv: Csv = False) -> None:  # noqa: B006
    """What to order and to book by when: parts, kits and benches of shops, with what is paid with the order; what is
    late already, and what a log.csv says is booked; what goes to one supplier together."""
    from costplan.report.orders import orders_csv, orders_page
    from costplan.season import play_plan
    from costplan.season.jobs import jobs_of
    from costplan.season.orders import orders_of

    scenario, day = open_scenario(folder, sets, on, as_json=as_json)
    compiled, header = season_of(scenario, day, as_json=as_json), scenario.header
    found = orders_of(compiled, jobs_of(compiled, play_plan(compiled)), day, scenario.logged(day))
    standing = compiled.standing
    about = {
        "scenario": header.title,
        "invented": scenario.invented,
        "currency": header.currency,
        "inspections": standing.inspections if standing else (),
    }
    answer(
        "orders",
        {**about, "orders": found, "assumed": compiled.assumed},
        lambda: orders_csv(found),
        lambda: orders_page(found, header.title, header.currency, scenario.invented, standing),
        as_json=as_json,
        as_csv=as_csv,
    )
