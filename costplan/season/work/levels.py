"""Levels: what one opening costs, takes, renews, sees and runs in."""

from __future__ import annotations

from typing import Any

import numpy as np

from costplan.quantity import MEASURES
from costplan.season import machine
from costplan.season.names import LADDERS, Season
from costplan.season.records import CAR
from costplan.season.work.parts import life_name
from costplan.season.work.values import number, whole


def ladders_of(season: Season, problem: machine.Problem) -> list[dict[str, Any]]:
    """The ladders of engines and car, each with its levels, the lowest first."""
    return [
        {
            "ladder": LADDERS[t],
            "carrier": CAR if problem.ladder_on_car[t] else "engine",
            "levels": [_level(season, problem, t, k) for k in range(int(problem.levels[t]))],
        }
        for t in range(len(season.ladders))
    ]


def _level(season: Season, problem: machine.Problem, t: int, k: int) -> dict[str, Any]:
    interval = number(problem.interval[t, k])
    slots = [spot.slot for spot in season.spots]
    return {
        "level": season.ladders[t][k].level,
        "hours": number(problem.hours[t, k]),
        "interval": interval,
        "measure": list(MEASURES)[problem.measure[t, k]] if interval or problem.rest[t, k] else None,
        "cost": int(problem.cost[t, k]),
        "labour": int(problem.labour[t, k]),
        "renews": [slots[p] for p in np.flatnonzero(problem.renews[t, k])],
        "sees": [
            {"position": slots[p], "chance": float(problem.sees[t, k, p])} for p in np.flatnonzero(problem.sees[t, k])
        ],
        "run_in": _run_in(season, problem, t, k),
        "called": whole(np.flatnonzero(problem.called[t, k])),
        "rest": float(problem.rest[t, k]),
        "fees": whole(problem.fee[t, k]),
    }


def _run_in(season: Season, problem: machine.Problem, t: int, k: int) -> list[dict[str, Any]]:
    duty, raw = problem.run_in_duty[t, k], problem.run_in_raw[t, k]
    return [
        {"position": spot.slot, "life": life_name(season, p, j), "duty": float(duty[j]), "raw": float(raw[j])}
        for p, spot in enumerate(season.spots)
        for j in season.lives(p)
        if duty[j] or raw[j]
    ]
