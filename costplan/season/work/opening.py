"""The state on opening day: ages, steps, counters, the shelf."""

from __future__ import annotations

from typing import Any

from costplan.season import machine
from costplan.season.names import LADDERS, Season
from costplan.season.opening import items_of
from costplan.season.work.parts import life_name
from costplan.season.work.values import number


def opening_of(season: Season, problem: machine.Problem) -> dict[str, Any]:
    return {
        "carriers": [_carrier(season, c, carrier) for c, carrier in enumerate(season.carriers)],
        "positions": [_installed(season, c, carrier, p) for c, carrier, p, _ in season.positions()],
        "levels": [
            {
                "carrier": carrier,
                "ladder": LADDERS[t],
                "level": step.level,
                "since": float(season.start.since[c, t, k]),
                "overdue": bool(season.start.overdue[c, t, k]),
            }
            for c, carrier in enumerate(season.carriers)
            for t, ladder in enumerate(season.ladders)
            if bool(problem.ladder_on_car[t]) == (c == len(season.carriers) - 1)
            for k, step in enumerate(ladder)
        ],
        "stock": [
            {"item": item.name, "pieces": int(season.start.stock[i]), "value": int(season.start.stock_value[i])}
            for i, item in enumerate(season.items)
            if season.start.stock[i]
        ],
        "used_sets": [_used(season, problem, u) for u in range(len(problem.used_item)) if season.start.used_left[u]],
    }


def _carrier(season: Season, c: int, carrier: str) -> dict[str, Any]:
    """When a carrier last ran and when it is ready, in hours on the clock of the runs, and what it has run."""
    start = season.start
    return {
        "carrier": carrier,
        "idle_since": number(start.idle_since[c]),
        "ready_at": number(start.ready_at[c]),
        "total_use": float(start.total_use[c]),
    }


def _installed(season: Season, c: int, carrier: str, p: int) -> dict[str, Any]:
    start = season.start
    return {
        "carrier": carrier,
        "position": season.spots[p].slot,
        "item": season.items[start.item[c, p]].name,
        "value": int(start.value[c, p]),
        "steps_done": int(start.step[c, p]),
        "worked": int(start.worked[c, p]),
        "installed": int(start.installed[c, p]),
        "broken": bool(start.broken[c, p]),
        "ages": [
            {"life": life_name(season, p, j), "age": float(start.age[c, j]), "raw": float(start.raw_age[c, j])}
            for j in season.lives(p)
        ],
    }


def _used(season: Season, problem: machine.Problem, u: int) -> dict[str, Any]:
    """A used set on the shelf with its age in the lives of every position that may hold its item."""
    item = int(problem.used_item[u])
    return {
        "item": season.items[item].name,
        "pieces": int(problem.used_pieces[u]),
        "value": int(problem.used_value[u]),
        "steps_done": int(problem.used_step[u]),
        "ages": [
            {"position": spot.slot, "life": life_name(season, p, j), "age": float(problem.used_age[u, j])}
            for p, spot in enumerate(season.spots)
            if item in items_of(problem, p)
            for j in season.lives(p)
        ],
    }
