"""`costplan choose frontier`"""

from __future__ import annotations

from enum import Enum
from typing import TYPE_CHECKING, Annotated

import typer

from costplan.cli.choose.common import (
    AllowUnknown,
    Bans,
    Budget,
    By,
    Cheapen,
    Choice,
    Level,
    Longest,
    OnHand,
    OnPrices,
    Optional,
    Pins,
    Said,
    Suppliers,
    aimed_at,
    need_estimate,
    need_known_power,
    need_season,
    need_valued_power,
    no_bill,
    open_choice,
    watched,
)
from costplan.cli.common import Csv, Folder, Json, Sets, answer
from costplan.cli.progress import end_if, unless_stopped

if TYPE_CHECKING:
    from costplan.build.airflow import Breathing
    from costplan.report.choose import Intakes


class Against(str, Enum):  # noqa: UP042 - typer shows the values
    """What the price may be set against."""

    power = "power"
    season = "season"


def frontier(
    folder: Folder,
    against: Annotated[
        Against, typer.Option("--against", help="Estimated power, or the cost of parts a season.")
    ] = Against.power,
    points: Annotated[int, typer.Option("--points", min=2, max=200, help="Points at most, both ends among them.")] = 12,
    pins: Pins = [],  # noqa: B006
    bans: Bans = [],  # noqa: B006
    suppliers: Suppliers = [],  # noqa: B006
    by: By = "",
    on_hand: OnHand = [],  # noqa: B006
    allow_unknown: AllowUnknown = False,
    optional: Optional = [],  # noqa: B006
    budget: Budget = "",
    level: Level = "",
    cheapen: Cheapen = [],  # noqa: B006
    seconds: Longest = 60,
    on: OnPrices = "",
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """What each step up buys: from the cheapest bill that meets fits and book to the best one, bills of which none is
    both cheaper and better, and what is swapped from one to the next. --csv gives the points. Ctrl-C shows what was
    found, with status 130."""
    from costplan.choose import build_of
    from costplan.choose import frontier as frontier_of
    from costplan.report.choose import Intakes, frontier_csv, frontier_page

    said = Said(pins, bans, suppliers, by, on_hand, allow_unknown, optional, budget, level, cheapen)
    choice = open_choice(folder, on, sets, said, as_json=as_json, as_csv=as_csv)
    _can_be_set_against(choice, against)
    aimed = aimed_at(choice)
    if against is Against.power:
        need_valued_power(choice, aimed)
    with unless_stopped(choice.bars), choice.bars.waiting("Finding both ends"):
        found = frontier_of(aimed, against.value, points, seconds, watched(choice.bars, "Finding points"))
    choice.bars.close()
    if against is Against.power and found.whole and not any(point.option.power for point in found.points):
        need_known_power(choice, aimed, "--against")
    if not found.points:
        no_bill(choice, seconds, impossible=found.whole)
    intakes = None
    if aimed.estimator:
        ends = (found.points[0].option, found.points[-1].option)
        intakes = Intakes(*(aimed.estimator.look(build_of(aimed, end.parts)) for end in ends))
    answer(
        "choose frontier",
        {**choice.head, "frontier": found, **_intakes(intakes)},
        lambda: frontier_csv(found),
        lambda: frontier_page(choice.about(aimed), found, intakes),
        as_json=as_json,
        as_csv=as_csv,
    )
    end_if(found.interrupted)


def _intakes(intakes: Intakes | None) -> dict[str, Breathing | None]:
    """How the engines of the last and of the first point breathe, as data."""
    return {"breathing": intakes.last if intakes else None, "breathing_first": intakes.first if intakes else None}


def _can_be_set_against(choice: Choice, against: Against) -> None:
    if against is Against.power:
        need_estimate(choice, "--against")
    else:
        need_season(choice, "--against", against.value)
