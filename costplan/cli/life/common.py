"""What the questions about lives share: their options, the logs, and slots that have a life."""

from __future__ import annotations

from collections.abc import Sequence
from enum import Enum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from costplan.cli.common import open_scenario, stop

if TYPE_CHECKING:
    from costplan.life.fitting.judged import Asked
    from costplan.scenario import Scenario
    from costplan.scenario.logs import Log


class Bounds(str, Enum):  # noqa: UP042 - typer shows the values
    """How bounds are found."""

    likelihood = "likelihood"
    log = "log"
    raw = "raw"


Measure = Annotated[
    str, typer.Option("--measure", help="Only lives counted in it: events, laps, fuel ...", show_default=False)
]
Prior = Annotated[
    float,
    typer.Option(
        "--prior", min=0, max=1000, help="Failures that the catalog's life counts as; 0: the log alone.", metavar="N"
    ),
]
Confidence = Annotated[float, typer.Option("--confidence", min=0.5, max=0.999, help="Of the bounds, two-sided.")]
Way = Annotated[
    Bounds, typer.Option("--bounds", help="By the likelihood ratio, or normal on the log or on the raw scale.")
]


def open_logs(folder: Path, sets: Sequence[str], *, as_json: bool) -> tuple[Scenario, tuple[Log, ...]]:
    """The scenario and its logs, or the end of the command with all problems."""
    from costplan.scenario.logs import read_logs

    scenario, _ = open_scenario(folder, sets, as_json=as_json)
    if scenario.build is None:
        stop([scenario.without("pattern")], as_json=as_json)
    logs, problems = read_logs(folder, scenario)
    if problems:
        stop(problems, as_json=as_json)
    return scenario, logs


def asked_of(prior: float, confidence: float, way: Bounds) -> Asked:
    from costplan.life.fitting.judged import Asked

    return Asked(prior, confidence, way.value)


def lived(scenario: Scenario, slots: Sequence[str], measure: str, *, as_json: bool) -> tuple[str, ...]:
    """The slots asked about, all where none is named; or the end of the command where one has no life so counted."""
    from costplan.problems import Place, Problem, nearest
    from costplan.scenario.lives import lived_slots, measures_of_slot

    known = lived_slots(scenario)
    faults = [
        Problem("REA020", Place("SLOT"), "", slot, "no slot with a life:", nearest(slot, known))
        for slot in slots
        if slot not in known
    ]
    asked = tuple(dict.fromkeys(slots)) or known
    counted = [name for slot in asked if slot in known for name in measures_of_slot(scenario, slot)]
    if not faults and measure and measure not in counted:
        what, advice = "no life here is counted in", nearest(measure, dict.fromkeys(counted))
        faults.append(Problem("REA020", Place("--measure"), "", measure, what, advice))
    if faults:
        stop(faults, as_json=as_json)
    return asked


def width() -> int:
    """The columns of the terminal, 80 where there is none."""
    from rich.console import Console

    return Console().width
