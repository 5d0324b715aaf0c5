"""What is bought, where it sits, how it lives, and what may happen to it."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

from costplan.season import machine
from costplan.season.names import LADDERS, Damage, Season, Spot
from costplan.season.records import CAR
from costplan.season.work.values import number, sums, whole, yes_no


def items_of(season: Season, problem: machine.Problem) -> list[dict[str, Any]]:
    """Every part and service that is bought, with its prices."""
    return [
        {
            "item": item.name,
            "title": item.title,
            "pack": int(problem.pack[i]),
            "keep": int(problem.keep[i]),
            "resale": int(problem.resale[i]),
            "core": int(problem.core[i]),
            "prices": whole(problem.pack_price[i]),
            "least": whole(problem.least[i]),
            "lead_hours": [float(hours) for hours in problem.lead_hours[i]],
        }
        for i, item in enumerate(season.items)
    ]


def kits_of(season: Season, problem: machine.Problem) -> list[dict[str, Any]]:
    return [
        {
            "kit": kit.name,
            "title": kit.title,
            "prices": whole(problem.kit_price[z]),
            "lead_hours": [float(hours) for hours in problem.kit_lead[z]],
            "contains": [{"item": season.items[i].name, "pieces": int(count)} for i, count in sorted(kit.pieces)],
        }
        for z, kit in enumerate(season.kits)
    ]


def positions_of(season: Season, problem: machine.Problem, renew_at: machine.Floats) -> list[dict[str, Any]]:
    """Every position by its slot; `renew_at`: the ages at which lives are renewed where they are drawn."""
    lists = _cases(season)
    return [
        {
            "position": spot.slot,
            "slot": spot.base,
            "alternate": spot.alternate,
            "carrier": CAR if problem.on_car[p] else "engine",
            "ladder": LADDERS[problem.ladder[p]],
            "level": season.ladders[spot.ladder][problem.level[p]].level,
            "item": season.items[problem.item[p]].name,
            "pieces": int(problem.pieces[p]),
            "stops": bool(problem.stops[p]),
            "as_piece": bool(problem.as_piece[p]),
            "calls": bool(problem.calls[p]),
            "serves": yes_no(problem.serves[p]),
            "renew_with": _named(season, problem.renew_with[p]),
            "lives": [_life(season, problem, renew_at, p, j) for j in season.lives(p)],
            "steps": [_step(season, problem, p, s) for s in range(int(problem.steps[p]))],
            "worth": [
                {"steps_done": s, "ahead": number(problem.path_ahead[p, s]), "whole": number(problem.path_whole[p, s])}
                for s in range(int(problem.steps[p]) + 1)
            ],
            "cases": _case_rows(season, problem, lists[p]),
        }
        for p, spot in enumerate(season.spots)
    ]


def hazards_of(season: Season, problem: machine.Problem) -> list[dict[str, Any]]:
    """Every hazard, behind the positions in the numbering of cases."""
    lists = _cases(season)[len(season.spots) :]
    return [
        {
            "hazard": hazard.hazard,
            "carrier": hazard.carrier,
            "mean": number(problem.hazard_mean[h]),
            "use": [float(use) for use in problem.hazard_use[:, h]],
            "cases": _case_rows(season, problem, lists[h]),
        }
        for h, hazard in enumerate(season.hazards)
    ]


def life_name(season: Season, p: int, j: int) -> str:
    """The name that a life is drawn by: its measure; a second one in a measure is told by 2."""
    names = [life.measure.name for life in season.spots[p].lives] or [_service_measure(season.spots[p])]
    names += ["days"] * len(season.spots[p].dated)
    n = j - int(season.problem.life_from[p])
    before = names[:n].count(names[n])
    return f"{names[n]} {before + 1}" if before else names[n]


def _service_measure(spot: Spot) -> str:
    return spot.service.measure.name if spot.service else ""


def _named(season: Season, chosen: Sequence[bool] | machine.Bools) -> list[str]:
    return [spot.slot for spot, yes in zip(season.spots, chosen, strict=True) if yes]


def _life(season: Season, problem: machine.Problem, renew_at: machine.Floats, p: int, j: int) -> dict[str, Any]:
    bounds, name = problem.binds_to[j], life_name(season, p, j)
    return {
        "life": name,
        "measure": name.partition(" ")[0],
        "ages_by": "openings" if problem.counts_openings[j] else "days" if problem.counts_days[j] else "runs",
        "duty_before": sums(problem.duty[:, j]),
        "raw_before": sums(problem.raw[:, j]),
        "scale": number(problem.scale[j]),
        "shape": number(problem.shape[j]),
        "renew_at": number(renew_at[j]),
        "worn_at": number(problem.worn_at[j]),
        "limit": number(problem.limit[j]),
        "limit_binds": [int(bounds[g + 1]) == g + 1 for g in range(len(bounds) - 1)],
        "dated": bool(problem.dated[j]),
        "warning": number(problem.warning[j]),
    }


def _step(season: Season, problem: machine.Problem, p: int, s: int) -> dict[str, Any]:
    takes = problem.step_item[p, s]
    return {
        "operation": season.spots[p].path[s].operation,
        "cost": int(problem.step_cost[p, s]),
        "factor": number(problem.step_factor[p, s + 1]),
        "mends": bool(problem.step_mends[p, s]),
        "renews": _named(season, problem.step_with[p, s]),
        "takes": [
            {"position": spot.slot, "item": season.items[takes[q]].name}
            for q, spot in enumerate(season.spots)
            if takes[q] >= 0
        ],
        "barred": [int(bond) >= 0 for bond in problem.step_barred[p, s]],
        "bond": [int(bond) if bond >= 0 else None for bond in problem.step_barred[p, s]],
    }


def _cases(season: Season) -> list[list[tuple[int, Damage]]]:
    """The cases of each position and behind them of each hazard, numbered as the machine does."""
    numbered, start = list(enumerate(season.cases)), season.problem.case_from
    return [numbered[int(low) : int(high)] for low, high in pairwise(start)]


def _case_rows(season: Season, problem: machine.Problem, cases: Sequence[tuple[int, Damage]]) -> list[dict[str, Any]]:
    return [
        {
            "case": case.case,
            "up_to": number(problem.case_up_to[n]),
            "hits": _named(season, problem.case_hits[n]),
            "wrecks": bool(problem.case_wrecks[n]),
            "cost": int(problem.case_cost[n]),
            "paid": int(problem.case_paid[n]),
            "hours": number(problem.case_hours[n]),
            "stops": bool(problem.case_stops[n]),
        }
        for n, case in cases
    ]
