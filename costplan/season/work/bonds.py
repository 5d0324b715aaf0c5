"""The rule book as it binds the season: bars on levels, caps on engines and pieces. Fees stand where they fall due."""

from __future__ import annotations

from typing import Any

from costplan.season import machine
from costplan.season.names import LADDERS, Season
from costplan.season.work.values import yes_no


def book_of(season: Season, problem: machine.Problem) -> dict[str, Any]:
    return {
        "clauses": [
            {"bond": number, "pack": bond.clause.pack, "rule": bond.clause.rule, "says": bond.clause.says}
            for number, bond in enumerate(season.bonds)
        ],
        "bars": [_bar(season, problem, b) for b in range(len(problem.bar_bond))],
        "engine_caps": [
            {
                "bond": int(problem.engines_bond[x]),
                "most": int(problem.engines_most[x]),
                "holds": yes_no(problem.engines_hold[x]),
            }
            for x in range(len(problem.engines_bond))
        ],
        "piece_caps": [_piece_cap(season, problem, q) for q in range(len(problem.pieces_bond))],
    }


def _bar(season: Season, problem: machine.Problem, b: int) -> dict[str, Any]:
    t = int(problem.bar_ladder[b])
    return {
        "bond": int(problem.bar_bond[b]),
        "ladder": LADDERS[t],
        "low": season.ladders[t][problem.bar_low[b]].level,
        "high": season.ladders[t][problem.bar_high[b]].level,
        "most": int(problem.bar_most[b]),
        "each": bool(problem.bar_each[b]),
        "in_life": bool(problem.bar_in_life[b]),
        "holds": yes_no(problem.bar_holds[b]),
        "opened": [
            {"carrier": name, "openings": int(season.start.opened[b, c])} for c, name in enumerate(season.carriers)
        ],
    }


def _piece_cap(season: Season, problem: machine.Problem, q: int) -> dict[str, Any]:
    return {
        "bond": int(problem.pieces_bond[q]),
        "most": int(problem.pieces_most[q]),
        "each_event": bool(problem.pieces_event[q]),
        "positions": [spot.slot for p, spot in enumerate(season.spots) if problem.pieces_of[q, p]],
        "holds": yes_no(problem.pieces_hold[q]),
    }
