"""`costplan life show`"""

from __future__ import annotations

from typing import Annotated

import typer

from costplan.cli.common import Csv, Folder, Json, Sets, answer
from costplan.cli.life.common import Bounds, Confidence, Measure, Prior, Way, asked_of, lived, open_logs, width


def show(
    folder: Folder,
    slot: Annotated[str, typer.Argument(metavar="SLOT", help="The slot whose parts to show.", show_default=False)],
    measure: Measure = "",
    prior: Prior = 0.0,
    confidence: Confidence = 0.9,
    way: Way = Bounds.likelihood,
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """How long the parts of a slot live: the share not yet failed over use as the logs show it, with its band, as
    fitted and as the catalog has it, and the use at which they are renewed; of what is mended how often that was.
    Without a log the catalog's curve alone. --csv gives the curves."""
    from costplan.report.life import points_csv, show_page
    from costplan.scenario.lives import shown_lives

    scenario, logs = open_logs(folder, sets, as_json=as_json)
    lived(scenario, (slot,), measure, as_json=as_json)
    found = shown_lives(scenario, logs, slot, measure, asked_of(prior, confidence, way))
    title, names = scenario.header.title, tuple(log.name for log in logs)
    answer(
        "life show",
        {"scenario": title, "invented": scenario.invented, "logs": names, "slot": slot, "lives": found},
        lambda: points_csv(found),
        lambda: show_page(title, slot, found, names, scenario.invented, width()),
        as_json=as_json,
        as_csv=as_csv,
    )
