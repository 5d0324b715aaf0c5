"""The answers on the racer's page."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from costplan.cli.common import season_of
from costplan.cli.progress import unless_stopped
from costplan.cli.report.asked import Asked
from costplan.cli.season import tracking_of

if TYPE_CHECKING:
    from costplan.report.web.blocks import WebPage


def can_be_made(asked: Asked) -> bool:
    """Of any scenario: each has a season."""
    return bool(asked.scenario.files.events)


def beside(folder: Path) -> tuple[str, ...]:  # noqa: ARG001 - as the other pages have it
    """It reads nothing but the scenario."""
    return ()


def make(asked: Asked) -> WebPage:
    from costplan.report.web.racer import RacerAnswers, racer_page
    from costplan.season import due_before, make_plan
    from costplan.season.drawn.drawing import draw
    from costplan.season.drawn.outlook import outlook_of, what_breaks

    scenario, day = asked.scenario, asked.day
    season = season_of(scenario, day, as_json=asked.as_json)
    plan = make_plan(season, day)
    draws = None
    if season.ahead:
        with unless_stopped(asked.bars):
            draws = draw(season, asked.seasons, asked.seed, watch=asked.bars)
    answers = RacerAnswers(
        title=scenario.header.title,
        invented=scenario.invented,
        plan=plan,
        due=due_before(season, day),
        outlook=outlook_of(draws) if draws else None,
        bills=what_breaks(draws) if draws else (),
        standing=season.standing,
        tracking=tracking_of(scenario, season, plan, day, as_json=asked.as_json),
    )
    return racer_page(answers)
