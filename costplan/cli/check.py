"""`costplan check`"""

from __future__ import annotations

import typer

from costplan.cli.common import AsItStands, Csv, Folder, Json, OnBook, Sets, answer, know_engine, open_scenario


def check(
    folder: Folder,
    engine: AsItStands = "",
    on: OnBook = "",
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """Whether all files are in order, what goes together in the build, and how it answers each clause of the rule
    packs: meets, breaks, or cannot be shown from a list. Status 1 if a fit or a clause is broken."""
    from costplan.report.build import standing_line
    from costplan.report.data import records_to_csv
    from costplan.report.rules import check_page
    from costplan.rules import Finding

    scenario, today = open_scenario(folder, sets, on, as_json=as_json)
    know_engine(scenario, engine, as_json=as_json)
    build = scenario.built(engine) if scenario.build else None
    fits = scenario.fits(build) if build else ()
    day = today if on else scenario.day(today)
    verdicts = scenario.verdicts(day, engine) if build else ()
    title, invented = scenario.header.title, scenario.invented
    lines = (standing_line(engine, build),) if engine and build else ()
    answer(
        "check",
        {"scenario": title, "invented": invented, "engine": engine, "on": day, "fits": fits, "packs": verdicts},
        lambda: records_to_csv(Finding, (finding for pack in verdicts for finding in pack.findings)),
        lambda: check_page(verdicts, title, invented, fits, lines),
        as_json=as_json,
        as_csv=as_csv,
    )
    broken = any(fit.verdict == "breaks" for fit in fits) or any(pack.broken for pack in verdicts)
    if broken:
        raise typer.Exit(1)
