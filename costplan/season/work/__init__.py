"""The compiled season as JSON: everything from which plan and outlook follow, for whoever wants to recompute them.

Rows are named objects; what hangs on runs is a list by run, what hangs on gaps a list with one entry more, for the time
after the last run. Money is whole minor units, use is in the unit that its measure is kept in, infinite is null.
`work.schema.json` beside this package says what every property means.
"""

from __future__ import annotations

import json
from importlib.resources import files
from typing import Any

from costplan.money import minor_digits
from costplan.quantity import MEASURES
from costplan.season import machine
from costplan.season.arrays import as_drawn
from costplan.season.names import Season
from costplan.season.records import CAR
from costplan.season.work.bonds import book_of
from costplan.season.work.calendar import events_of, fixed_of, flows_of, runs_of
from costplan.season.work.levels import ladders_of
from costplan.season.work.opening import opening_of
from costplan.season.work.parts import hazards_of, items_of, kits_of, positions_of
from costplan.season.work.values import number, sums

NAME, VERSION = "costplan-season-work", "1.1"
#: How numbers are drawn, by stream; what stands in brackets is the name that is hashed.
DRAWS = {
    "generator": (
        "Philox4x32-10 (Salmon and others, SC '11). Counter: season, two words of the hashed name, n. Key: seed, "
        "number of the stream. U = ((w0 * 2^20 + floor(w1 / 2^12)) + 0.5) / 2^52 of the first two words w0, w1."
    ),
    "names": "BLAKE2b with 8 bytes of the parts of the name joined by the character U+001F, as two 32-bit words, the "
    "lower first, each little end first",
    "lives": "stream 1 (carrier, slot, alternate, life), n: sets installed before. A life that has come to an age ends "
    "at scale * ((age / scale)^shape - ln U)^(1 / shape), scale times the factor of the steps done",
    "rain": "stream 2 (event), n = 0: it rains where U is below the chance",
    "cases": "stream 3 (carrier, slot, alternate) or (carrier, hazard): the first case of the list by which U is not "
    "above the chances added up, else none",
    "checks": "stream 4 (carrier, slot, alternate), n: 256 * sets installed before + looks at this one that could see "
    "its end coming: seen where U is below the chance",
    "hazards": "stream 5 (carrier, hazard), n: strikes before. The use until it strikes is -mean * ln U",
}
EARLY = {machine.EARLY_OFF: "off", machine.EARLY_WORTH: "worth", machine.EARLY_SHARE: "share"}
WHO_RUNS = {machine.FIRST_READY: "first ready", machine.LEAST_USED: "least used", machine.BEST_SAVED: "best saved"}
WHEN_BARRED = {machine.RUN_ON: "run on", machine.CHANGE_ENGINE: "change engine", machine.STOP: "stop"}


def schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of what `work_of` gives."""
    text = (files("costplan.season") / "work.schema.json").read_text(encoding="utf-8")
    found: dict[str, Any] = json.loads(text)
    return found


def work_of(season: Season, problem: machine.Problem | None = None) -> dict[str, Any]:
    """A season as JSON by `work.schema.json`; `problem`: another of the same shapes, such as the season drawn."""
    problem = problem or season.problem
    renew_at = (problem if problem.drawn else as_drawn(season, problem.seed)).due_at
    return {
        "name": NAME,
        "version": VERSION,
        "currency": season.rates.currency,
        "minor_digits": minor_digits(season.rates.currency),
        "drawn": bool(problem.drawn),
        "seed": int(problem.seed),
        "draws": dict(DRAWS),
        "slack": machine.SLACK,
        "measures": [
            {"measure": name, "unit": unit, "use_before": sums(problem.use[m])}
            for m, (name, (_, unit)) in enumerate(MEASURES.items())
        ],
        "months": list(season.months),
        "begin": int(problem.begin),
        "causes": list(machine.CAUSES),
        "carriers": [{"carrier": name, "kind": CAR if name == CAR else "engine"} for name in season.carriers],
        "policies": _policies(problem),
        "events": events_of(season, problem),
        "runs": runs_of(season, problem),
        "end": {"month": season.months[problem.gap_month[-1]]},
        "flows": flows_of(season, problem),
        "fixed": fixed_of(season),
        "items": items_of(season, problem),
        "kits": kits_of(season, problem),
        "positions": positions_of(season, problem, renew_at),
        "hazards": hazards_of(season, problem),
        "ladders": ladders_of(season, problem),
        "book": book_of(season, problem),
        "opening": opening_of(season, problem),
    }


def _policies(problem: machine.Problem) -> dict[str, Any]:
    return {
        "early": EARLY[problem.early],
        "early_share": number(problem.early_share),
        "who_runs": WHO_RUNS[problem.who_runs],
        "save_for": number(problem.save_for),
        "swap_hours": number(problem.swap_hours),
        "when_barred": WHEN_BARRED[problem.when_barred],
    }
