"""`costplan impact`"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from costplan.cli.common import (
    Csv,
    Folder,
    Json,
    Seed,
    Sets,
    Workbook,
    answer,
    know_workbook,
    not_negative,
    read_day,
    stop,
    write_workbook,
)
from costplan.cli.progress import Bars, unless_stopped

if TYPE_CHECKING:
    from datetime import date
    from decimal import Decimal

    from costplan.impact.drawing import Asked
    from costplan.impact.field import FieldOfEntrants
    from costplan.impact.figures import Impact
    from costplan.impact.flipping import Flips


def impact(
    folder: Folder,
    changes: Annotated[
        list[str],
        typer.Option(
            "--change",
            metavar="FILE",
            help="A change to study, a file of the folder, in full if it is one; else those of impact.toml side by "
            "side. May be repeated.",
            show_default=False,
        ),
    ] = [],  # noqa: B006
    loss: Annotated[
        str,
        typer.Option(
            "--loss",
            metavar="SUM",
            help="Who loses more than this counts as a loser; else as impact.toml has it.",
            show_default=False,
        ),
    ] = "",
    flips: Annotated[
        bool, typer.Option("--flips", help="Also which assumption, a fifth wrong, turns the answer about.")
    ] = False,
    why: Annotated[bool, typer.Option("--why", help="Also each line and row that the figures come from.")] = False,
    on: Annotated[
        str,
        typer.Option(
            "--on",
            metavar="DATE",
            help="The day on which the field orders what it needs; opening day if not given.",
            show_default=False,
        ),
    ] = "",
    seasons: Annotated[
        int, typer.Option("--seasons", min=10, max=100_000, help="Seasons drawn for each entrant, before and after.")
    ] = 2000,
    seed: Seed = 1,
    xlsx: Workbook = None,
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """What a rule change costs a field of entrants (field.csv, survey.csv, supply.csv, impact.toml), each group having
    answered it at least cost: once, in the first year, a year, over the years; who pays, whose parts are put out, what
    must be bought by round one, what it costs when it comes later. --csv gives the groups, --xlsx a workbook."""
    from costplan.impact.drawing import Asked
    from costplan.impact.reading import read_field
    from costplan.report.impact.page import impact_csv, impact_page

    know_workbook(xlsx, as_json=as_json)
    sum_ = not_negative(loss, "--loss", as_json=as_json) if loss else None
    day, faults = read_day(on)
    field, problems = read_field(folder, changes, sets)
    if field is None or faults or problems:
        stop((*faults, *problems), as_json=as_json)
    bars = Bars()
    bars.all_or_none = True
    asked = Asked(seasons, field.study.years, seed)
    with unless_stopped(bars):
        found, turns = _studied(
            field, asked, day if on else field.base.opening, sum_, bars, flips=flips, as_json=as_json
        )
    answer(
        "impact",
        {"impact": found, "flips": turns},
        lambda: impact_csv(found),
        lambda: impact_page(found, turns, why=why),
        as_json=as_json,
        as_csv=as_csv,
    )
    write_workbook(xlsx, lambda: _workbook(found, turns))


def _workbook(found: Impact, turns: tuple[Flips, ...]) -> bytes:
    """The workbook of a study."""
    from costplan.report.impact.workbook import impact_xlsx

    return impact_xlsx(found, turns)


def _studied(
    field: FieldOfEntrants,
    asked: Asked,
    day: date,
    loss: Decimal | None,
    bars: Bars,
    *,
    flips: bool,
    as_json: bool,
) -> tuple[Impact, tuple[Flips, ...]]:
    """The study, and what flips it where that is asked; or the end of the command."""
    from costplan.impact.studying import desk_of

    desk, problems = desk_of(field, asked, day, loss, bars, bars.each)
    if desk is None:
        stop(problems, as_json=as_json)
    found = desk.impact()
    return found, desk.flips(found.changes, bars) if flips else ()
