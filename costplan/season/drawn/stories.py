"""One drawn season told: what failed when, what it took along, what rain took and what was missed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

import numpy as np

from costplan.money import from_minor
from costplan.season import machine
from costplan.season.drawn.drawing import Draws
from costplan.season.drawn.outlook import season_at
from costplan.season.ledger import events_ahead
from costplan.season.names import Season


@dataclass(frozen=True, slots=True)
class Mishap:
    """Something that went wrong: on which carrier what failed, or a hazard that struck, and the case that it was.

    `case` is '' for a failure that took nothing along; `stopped`: it ended the run.
    """

    date: date
    event: str
    session: str
    carrier: str
    what: str
    case: str
    stopped: bool


@dataclass(frozen=True, slots=True)
class Story:
    """A drawn season by its number: its cash, and all that went wrong in it. `share` of all seasons are no dearer."""

    number: int
    share: float
    cash: Decimal
    mishaps: tuple[Mishap, ...]
    found: tuple[str, ...]
    rained: tuple[str, ...]
    missed: tuple[str, ...]


def story_at(draws: Draws, share: float) -> Story:
    """The season at a share of all by their cash: at 0.9, the one that nine in ten are no dearer than."""
    season, number = draws.season, season_at(draws, share)
    state = machine.untraced(season.start)
    state.season[0] = number
    machine.play(draws.problem, state)
    stretches = events_ahead(season)
    rained = [runs[0][1].event.event for runs in stretches if any(state.lost[g] for g, _ in runs)]
    missed = [runs[0][1].event.event for runs in stretches if any(_missed(state.ran, state.lost, g) for g, _ in runs)]
    found = [season.spots[int(p)].slot for p in np.flatnonzero(state.finds)]
    cases = state.struck_cases[: state.n_cases[0]].tolist()
    mishaps = tuple(_mishap(season, g, c, failed, n, bool(state.stopped[g])) for g, c, failed, n, _ in cases)
    cash = from_minor(int(draws.cash[number]), season.rates.currency)
    return Story(number, share, cash, mishaps, tuple(found), tuple(rained), tuple(missed))


def _missed(ran: np.ndarray, lost: np.ndarray, g: int) -> bool:
    return bool(ran[g] == machine.NOBODY and not lost[g])


def _mishap(season: Season, g: int, c: int, failed: int, n: int, stopped: bool) -> Mishap:
    positions, run = len(season.spots), season.runs[g]
    what = season.spots[failed].slot if failed < positions else season.hazards[failed - positions].hazard
    case = season.cases[n].case if n >= 0 else ""
    return Mishap(run.event.date, run.event.event, run.session, season.carriers[c], what, case, stopped)
