"""`costplan choose instead`"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Annotated

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
    need_season,
    no_bill,
    open_choice,
)
from costplan.cli.common import Csv, Folder, Json, Seed, Sets, answer, stop
from costplan.cli.progress import end_if, unless_stopped

if TYPE_CHECKING:
    from costplan.choose import Aimed


def instead(
    folder: Folder,
    slot: Annotated[str, typer.Argument(metavar="SLOT", help="The slot whose part is out of stock or has failed.")],
    part: Annotated[
        str,
        typer.Option(
            "--part", metavar="PART", help="The part that cannot be had; else the planned one.", show_default=False
        ),
    ] = "",
    seasons: Annotated[
        int, typer.Option("--seasons", min=0, max=100_000, help="Seasons drawn for each; 0 for the plan alone.")
    ] = 1000,
    seed: Seed = 1,
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
    """What stands in for a part that is out of stock or has failed: what fits and meets the book, what must change with
    it, its lead time and price, and what a season of a new engine costs with it, the cheapest first. Status 1 with the
    reason if nothing does. --csv gives the parts. Ctrl-C shows what was drawn, with status 130."""
    from costplan.choose import substitutes, tell
    from costplan.report.choose import Asked, instead_csv, instead_page

    said = Said(pins, bans, suppliers, by, on_hand, allow_unknown, optional, budget, level, cheapen)
    choice = open_choice(folder, on, sets, said, as_json=as_json, as_csv=as_csv)
    gone = _gone(choice, slot, part)
    need_season(choice, "SLOT", slot)
    start, aimed = begun(choice, aimed_at(choice), seconds, slot, gone)
    with unless_stopped(choice.bars), choice.bars.waiting("Trying the other parts"):
        found, ranked = substitutes(aimed, start, slot, seconds, seasons, seed, choice.bars)
    choice.bars.close()
    stays = _stays_empty(choice, aimed, slot, seconds)
    if not (ranked or found.unproved or stays) and (slot, gone) in found.start.parts:
        without = replace(choice.wishes, banned=(*choice.wishes.banned, gone))
        no_bill(choice, seconds, impossible=True, wishes=without, what=f"Why nothing stands in for {gone} in {slot}")
    asked = Asked(slot, gone, seasons, seed, stays)
    with unless_stopped(choice.bars):
        told = tell(aimed, start)
    answer(
        "choose instead",
        {
            **choice.head,
            "slot": slot,
            "part": gone,
            "stays_empty": stays,
            "told": told,
            "found": replace(found, swaps=()),
            "substitutes": ranked,
        },
        lambda: instead_csv(ranked),
        lambda: instead_page(choice.about(aimed), asked, found, ranked, told),
        as_json=as_json,
        as_csv=as_csv,
    )
    end_if(found.interrupted or choice.bars.stopped)


def _stays_empty(choice: Choice, aimed: Aimed, slot: str, seconds: float) -> bool:
    """Whether there is a bill with the slot left empty, where it was wished that it may be."""
    from costplan.choose import NOTHING, start_from

    if slot not in choice.wishes.optional:
        return False
    with unless_stopped(choice.bars):
        return start_from(aimed, seconds, slot, NOTHING)[0] is not None


def _gone(choice: Choice, slot: str, part: str) -> str:
    """The part that cannot be had, or the end of the command where slot or part is none."""
    from costplan.problems import Place, Problem, nearest

    build, catalog = choice.scenario.built(), choice.scenario.catalog
    if slot not in build.pattern.slots:
        stop([unknown(slot, "slot", build.pattern.slots)], as_json=choice.as_json)
    planned = build.part(slot)
    role = build.pattern.slots[slot].role
    names = [one.part for one in catalog.of_role(role)] if catalog else []
    if part and part not in names:
        problem = Problem("BLD003", Place("--part"), slot, part, "no part for this slot:", nearest(part, names))
        stop([problem], as_json=choice.as_json)
    if not part and planned is None:
        what = "the build has no part there"
        stop([Problem("REA016", Place("--part"), slot, "", what, "say which part it is")], as_json=choice.as_json)
    return part or (planned.part if planned else "")
