"""`costplan choose best`"""

from __future__ import annotations

from collections.abc import Sequence
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
from costplan.cli.common import Csv, Folder, Json, Seed, Sets, answer
from costplan.cli.progress import end_if, unless_stopped

if TYPE_CHECKING:
    from costplan.choose import Aimed, Ranked


class Aims(str, Enum):  # noqa: UP042 - typer shows the values
    """What may be aimed at."""

    price = "price"
    season = "season"
    power = "power"
    interval = "interval"


def best(
    folder: Folder,
    aim: Annotated[
        Aims,
        typer.Option(
            "--for", help="Lowest price, lowest cost of parts a season, most estimated power, longest interval."
        ),
    ] = Aims.price,
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
    bills: Annotated[
        int, typer.Option("--bills", min=1, max=50, help="With --for season: so many are ranked by the machine.")
    ] = 10,
    seasons: Annotated[
        int,
        typer.Option(
            "--seasons", min=0, max=100_000, help="With --for season: seasons drawn for each; 0 for the plan alone."
        ),
    ] = 1000,
    seed: Seed = 1,
    seconds: Longest = 60,
    on: OnPrices = "",
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """The best bill of all that meet fits and book, proved: what it costs, changes and gives, and how the book stands
    with it. Status 1 with the smallest set of clauses, fits and wishes that are at odds if nothing meets them all.
    --csv gives a line for each slot."""
    from costplan.choose import AIMS, tell
    from costplan.choose import best as best_of
    from costplan.report.choose import Drawn, best_csv, best_page

    said = Said(pins, bans, suppliers, by, on_hand, allow_unknown, optional, budget, level, cheapen)
    choice = open_choice(folder, on, sets, said, as_json=as_json, as_csv=as_csv)
    _can_be_aimed_at(choice, aim)
    aimed = aimed_at(choice)
    if aim is Aims.power:
        need_valued_power(choice, aimed)
    with unless_stopped(choice.bars), choice.bars.waiting("Looking for the best bill"):
        chosen, aimed = best_of(aimed, AIMS[aim.value], seconds)
    option, proof = chosen.option, chosen.proof
    if aim is Aims.power and (proof.status == "impossible" or (option is not None and option.power is None)):
        need_known_power(choice, aimed, "--for")
    if option is None or chosen.pick is None:
        no_bill(choice, seconds, impossible=proof.status == "impossible")
    with unless_stopped(choice.bars):
        told = tell(aimed, chosen.pick)
    ranked, proved = _ranked(choice, aimed, bills, seasons, seed, seconds) if aim is Aims.season else ((), True)
    about, left, found = choice.about(aimed), aimed.encoded.left, {"option": option, "proof": proof}
    answer(
        "choose best",
        {**choice.head, "aim": aim.value, "chosen": found, "told": told, "ranked": ranked, "left": left},
        lambda: best_csv(option, told),
        lambda: best_page(about, AIMS[aim.value], chosen, told, ranked, Drawn(seasons, seed, proved), left),
        as_json=as_json,
        as_csv=as_csv,
    )
    end_if(choice.bars.stopped)


def _can_be_aimed_at(choice: Choice, aim: Aims) -> None:
    if aim is Aims.power:
        need_estimate(choice, "--for")
    elif aim is not Aims.price:
        need_season(choice, "--for", aim.value)


def _ranked(
    choice: Choice, aimed: Aimed, bills: int, seasons: int, seed: int, seconds: float
) -> tuple[Sequence[Ranked], bool]:
    """The best bills by the sum, as the season machine ranks them, and whether each is proved to be that; none where
    Ctrl-C came before there was a season of each."""
    from costplan.choose import best_by_season, rank

    bars = choice.bars
    try:
        picks, proved = best_by_season(aimed, bills, seconds, watched(bars, "Finding the next best bills"))
        return rank(aimed, picks, seasons, seed, bars), proved
    except KeyboardInterrupt:
        bars.stopped = True
        return (), True
    finally:
        bars.close()
