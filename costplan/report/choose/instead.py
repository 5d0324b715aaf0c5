"""What stands in for a part that cannot be had or has failed, as a page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from costplan.choose import Substitute, Swaps, Told
from costplan.report.choose.options import (
    SWAP,
    along,
    better_in,
    figures,
    has_power,
    out_table,
    power_heading,
    start_line,
    swap_row,
    unproved_lines,
)
from costplan.report.choose.shared import (
    PACKS,
    About,
    apart,
    basis,
    cautions,
    cheapened,
    error_of,
    estimated,
    heading,
    may_be_cheaper,
    signed,
    signed_whole,
    wished,
)
from costplan.report.data import to_csv
from costplan.report.figures import errors
from costplan.report.tables import Page, Table, plural, whole


class Asked(NamedTuple):
    """What is asked: a slot, the part in it that cannot be had, the seasons to be drawn and their seed; `stays_empty`:
    whether a bill meets everything with nothing there, where that was wished."""

    slot: str
    part: str
    seasons: int
    seed: int
    stays_empty: bool = False


def instead_page(about: About, asked: Asked, found: Swaps, ranked: Sequence[Substitute], told: Told) -> Page:
    """Everything that `costplan choose instead` answers; `told` of the bill that has the part, or one in its place."""
    lines = (
        wished(about),
        cheapened(about, told.changes, found.start.on_hand) or may_be_cheaper(about),
        start_line(found.start, told.changes),
        *_other(found, asked),
        estimated(about, told.breathing),
        *_answer(ranked, asked),
        *unproved_lines(found),
    )
    tables = (
        _table(about, ranked, has_power(found)),
        _season_table(ranked, asked.seasons),
        out_table(about, found),
    )
    foot = cautions(about, power_shown=found.start.power is not None, seasons_shown=True)
    shown = tuple(table for table in tables if table.rows)
    said = tuple(line for line in lines if line)
    return Page(heading(f"In place of {asked.part} in {asked.slot}", about), said, shown, foot)


def _other(found: Swaps, asked: Asked) -> Iterator[str]:
    """That the part is in no bill anyway."""
    there = dict(found.start.parts).get(asked.slot, "nothing")
    if there != asked.part:
        yield (
            f"{asked.part} is in no bill that meets them, with it or without: {there} stands there with the fewest "
            "changes, and the others are set against that."
        )


def _answer(ranked: Sequence[Substitute], asked: Asked) -> Iterator[str]:
    count = plural(len(ranked), "other part") if ranked else "No other part"
    yield f"{count} can stand there in a bill that meets fits, book and wishes."
    if asked.stays_empty:
        pin = f"--pin {asked.slot}=nothing"
        yield f"{asked.slot} may stay empty, as you said: costplan choose best with {pin} has that bill."
    if any(one.replayed.played is not None for one in ranked):
        rests = basis([one.replayed for one in ranked], asked.seasons, asked.seed)
        yield f"Ranked by what a season of a new engine costs with it. {rests}"


def _table(about: About, ranked: Sequence[Substitute], powered: bool) -> Table:
    rows = tuple(
        (
            f"{one.swap.part}{along(one.swap)}",
            str(one.swap.lead_days),
            signed(one.swap.costs),
            *figures(about, one.swap, powered),
            better_in(one.swap),
        )
        for one in ranked
    )
    header = ("Part", "Lead", "Costs", *power_heading(about, powered), "A season", "Events", "Better in")
    note = (
        f"Lead: days. The rest is of the whole bill, against the part that is gone; {PACKS}."
        f"{' Power: estimated.' if powered else ''} A season: cost of parts, as a sum over slots. Events: of the "
        "interval. +: must change with it."
    )
    figures_at = tuple(range(1, len(header) - 1))
    return Table("What fits and meets the book, the cheapest season first", header, rows, figures_at, note)


def _season_table(ranked: Sequence[Substitute], seasons: int) -> Table:
    rows = tuple(_season_row(one) for one in ranked)
    header = ("Part", "Season", "+/-", "More", "+/-", "Against the part that is gone")
    note = (
        "By the season machine, a whole season of a new engine with labour. More: than with the part that is gone, on "
        f"the same draws. {errors(seasons) if seasons else ''}"
    )
    return Table("The season with each", header, rows, (1, 2, 3, 4), note.strip())


def _season_row(one: Substitute) -> tuple[str, ...]:
    played = one.replayed.played
    if played is None:
        return (one.swap.part, "", "", "", "", f"cannot be played: {'; '.join(map(str, one.replayed.problems[:1]))}")
    more = played.more_cost
    own = (whole(played.cost.mean), error_of(played.cost), signed_whole(more.mean), error_of(more))
    return (one.swap.part, *own, apart(one.replayed))


def instead_csv(ranked: Sequence[Substitute]) -> str:
    """The substitutes as CSV, the cheapest season first; power in kW."""
    return to_csv((*SWAP, "season", "season_error", "more", "more_error"), (_row(one) for one in ranked))


def _row(one: Substitute) -> tuple[object, ...]:
    played = one.replayed.played
    if played is None:
        return (*swap_row(one.swap), "", "", "", "")
    cost, more = played.cost, played.more_cost
    return (*swap_row(one.swap), cost.mean, cost.error, more.mean, more.error)
