"""`costplan choose options`"""

from __future__ import annotations

from typing import Annotated

import typer

from costplan.cli.catalog.common import unknown
from costplan.cli.choose.common import (
    AllowUnknown,
    Bans,
    Budget,
    By,
    Cheapen,
    Choice,
    Level,
    OnHand,
    OnPrices,
    Optional,
    Pins,
    Said,
    Seconds,
    Suppliers,
    aimed_at,
    begun,
    open_choice,
    watched,
)
from costplan.cli.common import Csv, Folder, Json, Sets, answer, stop
from costplan.cli.progress import end_if, unless_stopped


def options(
    folder: Folder,
    slots: Annotated[
        list[str], typer.Argument(metavar="[SLOT]...", help="These slots only; all if none is given.")
    ] = [],  # noqa: B006
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
    seconds: Seconds = 5,
    on: OnPrices = "",
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """Which other parts meet fits and book: what each changes in price, estimated power, cost a season and interval,
    what must change with it, and why the rest is out. From the build as planned with the fewest changes that meet them.
    --csv gives the parts. Ctrl-C shows what was found, with status 130."""
    from costplan.choose import swaps_from, tell
    from costplan.report.choose import options_csv, options_page

    said = Said(pins, bans, suppliers, by, on_hand, allow_unknown, optional, budget, level, cheapen)
    choice = open_choice(folder, on, sets, said, as_json=as_json, as_csv=as_csv)
    slots = list(dict.fromkeys(slots))
    _know_slots(choice, slots)
    start, aimed = begun(choice, aimed_at(choice), seconds)
    with unless_stopped(choice.bars):
        found = swaps_from(aimed, start, slots, seconds, watched(choice.bars, "Trying the parts of each slot"))
    choice.bars.close()
    with unless_stopped(choice.bars):
        told = tell(aimed, start)
    answer(
        "choose options",
        {**choice.head, "told": told, "options": found},
        lambda: options_csv(found),
        lambda: options_page(choice.about(aimed), found, told),
        as_json=as_json,
        as_csv=as_csv,
    )
    end_if(found.interrupted)


def _know_slots(choice: Choice, slots: list[str]) -> None:
    known = choice.scenario.built().pattern.slots
    wrong = [unknown(slot, "slot", known) for slot in slots if slot not in known]
    if wrong:
        stop(wrong, as_json=choice.as_json)
