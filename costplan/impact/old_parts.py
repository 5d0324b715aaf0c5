"""Old parts in a season that no longer buys them: they stay in until they are renewed, and bring their own resale."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

import numpy as np

from costplan.season import Season, machine
from costplan.season.names import Item

#: The tables of the machine that have a row, or in kits a column, for each stock item.
OF_ITEMS = ("pack", "keep", "resale", "core", "least", "pack_price", "lead_hours")
HELD = ("stock", "stock_value", "needed")


def with_items_of(season: Season, now: Season, slots: Iterable[str]) -> tuple[Season, dict[str, int]]:
    """A season that also knows the items of some positions as they are `now`; their numbers by position.

    Both are of one calendar, so that prices of every gap fit. What is renewed is bought new, as the season has it.
    """
    where = {spot.slot: number for number, spot in enumerate(now.spots)}
    wanted = {slot: now.spots[where[slot]].item for slot in slots if slot in where}
    numbers = {slot: len(season.items) + at for at, slot in enumerate(wanted)}
    if not wanted:
        return season, {}
    rows = list(wanted.values())
    items: tuple[Item, ...] = (*season.items, *(now.items[row] for row in rows))
    problem, start = season.problem, season.start
    tables = ((name, getattr(problem, name), getattr(now.problem, name)[rows]) for name in OF_ITEMS)
    more: dict[str, Any] = {name: np.concatenate([here, there]) for name, here, there in tables}
    new = {spot.slot: spot.item for spot in season.spots}
    more["instead"] = np.concatenate([problem.instead, [new[slot] for slot in wanted]])
    kits = np.zeros((len(problem.kit_pieces), len(rows)), dtype=problem.kit_pieces.dtype)
    more["kit_pieces"] = np.concatenate([problem.kit_pieces, kits], axis=1)
    held: dict[str, Any] = {
        name: np.concatenate([getattr(start, name), np.zeros(len(rows), dtype=np.int64)]) for name in HELD
    }
    return replace(season, items=items, problem=problem._replace(**more), start=start._replace(**held)), numbers


def take_over(now: Season, begun: Season, start: machine.State, c: int, p: int, item: int) -> None:
    """Lets an old part stay in a position: as worn as it is, at what it cost; it wears on as the new one would."""
    q = [spot.slot for spot in now.spots].index(begun.spots[p].slot)
    set_worn(begun, start, c, p, machine.worn_share(now.problem, now.start, c, q))
    start.item[c, p], start.value[c, p] = item, now.start.value[c, q]


def set_worn(season: Season, start: machine.State, c: int, p: int, share: float) -> None:
    """Lets a position have run a share of its renewal use, in all its measures; what is dated keeps its days."""
    problem = season.problem
    factor = float(problem.step_factor[p, start.step[c, p]])
    lives = season.lives(p)
    for j in list(lives)[: len(lives) - len(season.spots[p].dated)]:
        end = min(problem.due_at[j], problem.worn_at[j]) * factor
        if np.isfinite(end):
            start.age[c, j] = share * end
            start.raw_age[c, j] = min(problem.limit[j], share * end)
