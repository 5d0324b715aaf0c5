"""What all pages of a report are asked with."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from costplan.cli.progress import Bars
    from costplan.scenario import Scenario


@dataclass(frozen=True, slots=True)
class Asked:
    """A scenario that was read without problems, the day called now, and how many seasons to draw.

    `beside`: addresses of the files that pages read beside the scenario's, into which what-ifs may lead.
    """

    folder: Path
    scenario: Scenario
    day: date
    sets: tuple[str, ...]
    beside: tuple[str, ...]
    seasons: int
    seed: int
    bars: Bars
    as_json: bool
