"""`costplan airflow`"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from costplan.cli.common import AsItStands, Csv, Folder, Json, Sets, answer, know_engine, open_scenario, stop

if TYPE_CHECKING:
    from datetime import date

    from costplan.build.airflow import Estimator
    from costplan.scenario import Scenario

OnPulls = Annotated[
    str,
    typer.Option(
        "--on",
        metavar="DATE",
        help="Only what was pulled on a dyno up to this day counts; all of it if not given.",
        show_default=False,
    ),
]


def airflow(
    folder: Folder,
    engine: AsItStands = "",
    on: OnPulls = "",
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """How the engine breathes: its restrictions in series and which decides, the inlet Mach index, and an estimate of
    its power with its error, calibrated by dyno.csv; what a tenth more of each restriction would buy. --csv gives the
    restrictions."""
    from costplan.build.airflow import Turn
    from costplan.report.airflow import airflow_page, restrictions_csv
    from costplan.report.build import standing_line
    from costplan.scenario.scenario import turns_of

    scenario, day = open_scenario(folder, sets, on, as_json=as_json)
    if scenario.build is None:
        stop([scenario.without("pattern")], as_json=as_json)
    know_engine(scenario, engine, as_json=as_json)
    estimator = _estimator(scenario, day if on else None, as_json=as_json)
    build = scenario.built(engine)
    found = estimator.look(build)
    others = [(slot, other) for slot, other in turns_of(build) if slot in estimator.slots]
    turns = [Turn(slot, other.fills[slot].part.part, estimator.look(other)) for slot, other in others]
    title, invented = scenario.header.title, scenario.invented
    lines = (standing_line(engine, build),) if engine else ()
    answer(
        "airflow",
        {"scenario": title, "invented": invented, "engine": engine, "airflow": found, "alternates": turns},
        lambda: restrictions_csv(found),
        lambda: airflow_page(found, title, invented, lines, turns),
        as_json=as_json,
        as_csv=as_csv,
    )


def _estimator(scenario: Scenario, on: date | None, *, as_json: bool) -> Estimator:
    """The estimate for the scenario's pattern, or the end of the command."""
    from costplan.problems import Place, Problem

    estimator = scenario.estimator(on)
    if estimator is None:
        place = Place(scenario.build.pattern.file if scenario.build else scenario.folder)
        advice = "add the table; costplan columns pattern.toml says what belongs into it"
        stop([Problem("REA016", place, "airflow", "", "this question needs [airflow]", advice)], as_json=as_json)
    if estimator.problems:  # of the pulls up to a day; all of them together were fine
        stop(estimator.problems, as_json=as_json)
    return estimator
