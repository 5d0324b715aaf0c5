"""`costplan life fit`"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from costplan.cli.common import Csv, Folder, Json, Sets, answer, stop_if_refused
from costplan.cli.life.common import Bounds, Confidence, Measure, Prior, Way, asked_of, lived, open_logs

if TYPE_CHECKING:
    from collections.abc import Sequence

    from costplan.life.fitting.judged import FittedLife


def fit(
    folder: Folder,
    slots: Annotated[
        list[str],
        typer.Argument(metavar="SLOT", help="Slots to fit; all that have a life if none.", show_default=False),
    ] = [],  # noqa: B006
    measure: Measure = "",
    prior: Prior = 0.0,
    confidence: Confidence = 0.9,
    way: Way = Bounds.likelihood,
    out: Annotated[
        Path | None,
        typer.Option("--out", metavar="FOLDER", help="Write lives-fitted.csv there, over no file.", show_default=False),
    ] = None,
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """What the logs say of the lives in the catalog: Weibull lives fitted by maximum likelihood to what broke and what
    did not, with bounds, the catalog's figures beside them, and the rows that could stand in lives.csv. The logs are
    log.csv and those that scenario.toml names; --csv gives the rows."""
    from costplan.report.life import fit_page, rows_csv
    from costplan.scenario.lives import fitted_lives

    scenario, logs = open_logs(folder, sets, as_json=as_json)
    asked = lived(scenario, slots, measure, as_json=as_json)
    path = _new_file(out)
    found = fitted_lives(scenario, logs, asked, measure, asked_of(prior, confidence, way), all_asked=bool(slots))
    title, names = scenario.header.title, tuple(log.name for log in logs)
    written = _write(path, found)
    answer(
        "life fit",
        {"scenario": title, "invented": scenario.invented, "logs": names, "lives": found, "written": written},
        lambda: rows_csv(found),
        lambda: fit_page(title, found, names, written, scenario.invented),
        as_json=as_json,
        as_csv=as_csv,
    )


def _new_file(out: Path | None) -> Path | None:
    """The file of rows that is to be written, or the end of the command with what is in its way."""
    if out is None:
        return None
    from costplan.report.data import in_the_way

    path = out / "lives-fitted.csv"
    stop_if_refused(in_the_way(path))
    return path


def _write(path: Path | None, found: Sequence[FittedLife]) -> str:
    """The file of rows that was written, '' for none, or the end of the command with what came in its way."""
    if path is None:
        return ""
    from costplan.report.data import write_new
    from costplan.report.life import rows_csv

    stop_if_refused(write_new(path, rows_csv(found)))
    return str(path)
