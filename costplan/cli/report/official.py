"""The answers on the official's page."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from costplan.cli.common import stop
from costplan.cli.progress import unless_stopped
from costplan.cli.report.asked import Asked

if TYPE_CHECKING:
    from costplan.report.web.blocks import WebPage

#: Of the seasons that are asked for, one in so many is drawn for each entrant; no fewer than the least.
FEWER, LEAST = 25, 20


def can_be_made(asked: Asked) -> bool:
    """Where a field is written down, and what is studied of it."""
    return has_field(asked.folder)


def has_field(folder: Path) -> bool:
    from costplan.reading.door import is_there

    return is_there(folder / "field.csv") and (folder / "impact.toml").is_file()


def beside(folder: Path) -> tuple[str, ...]:
    """The files of a study."""
    from costplan.impact.reading import addresses_in

    return addresses_in(folder) if has_field(folder) else ()


def make(asked: Asked) -> WebPage:
    """The study of all changes of impact.toml, parts being ordered on opening day."""
    from costplan.impact.drawing import Asked as Drawn
    from costplan.impact.reading import read_field
    from costplan.impact.studying import desk_of
    from costplan.report.web.official import OfficialAnswers, official_page

    field, problems = read_field(asked.folder, [], asked.sets, asked.beside)
    if field is None or problems:
        stop(problems, as_json=asked.as_json)
    bars = asked.bars
    bars.all_or_none = True
    drawn = Drawn(max(LEAST, asked.seasons // FEWER), field.study.years, asked.seed)
    with unless_stopped(bars):
        desk, problems = desk_of(field, drawn, field.base.opening, None, bars, bars.each)
        if desk is None:
            stop(problems, as_json=asked.as_json)
        found = desk.impact()
        flips = desk.flips(found.changes, bars)
    bars.all_or_none = False
    rows = tuple(crowd.row for crowd in field.crowds)
    return official_page(OfficialAnswers(asked.day, found, flips, rows, field.supplies))
