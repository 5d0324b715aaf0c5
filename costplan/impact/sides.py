"""A side of the comparison: a group's season under a book, its engines as they answer it, and how an entrant begins it.

What is swapped at once is new on opening day. An engine that is opened for it has that level's service done: its
counters begin anew, and what the level always renews is new. What waits until it is renewed stays, as worn as it is.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from costplan.impact.ages import Entrant, aged
from costplan.impact.answers import Answer
from costplan.impact.field import Crowd
from costplan.impact.old_parts import take_over, with_items_of
from costplan.impact.speed import at_speed, limiter_of, speed_factor
from costplan.problems import Problem
from costplan.rules import Pack
from costplan.season import CAR, Season, machine
from costplan.season.names import LADDERS


@dataclass(frozen=True, slots=True)
class Side:
    """A group's season under a book, compiled.

    `swapped`: the positions, each with its carrier, that have a new part in when the books open; `lasting`: those whose
    old part stays until it is renewed, `old_items` the numbers of these; `gone`: those whose part is put out, where
    nothing stands any more too.
    """

    crowd: Crowd
    answer: Answer
    season: Season
    swapped: frozenset[tuple[str, str]]
    lasting: frozenset[tuple[str, str]]
    gone: frozenset[tuple[str, str]]
    old_items: Mapping[str, int]


def side_of(
    crowd: Crowd, answer: Answer, packs: tuple[Pack, ...], follows: float, *, worn_out: bool = False
) -> tuple[Side | None, tuple[Problem, ...]]:
    """A side, or why its season cannot be.

    `follows`: how far mean speeds follow where the ignition cuts out. Where parts wear out first they do not: what
    holds the speed is in use for years.
    """
    scenario = crowd.scenario
    swaps = [swap for swap in answer.swaps if not swap.turn]
    turns = [replace(swap, slot=f"{swap.slot}/{swap.turn}") for swap in answer.swaps if swap.turn]
    keeps_speed = worn_out and any(swap.slot == limiter_of(scenario.built()) for swap in swaps)
    factor = 1.0 if keeps_speed else speed_factor(scenario.built(), answer.build, follows)
    there = scenario
    if answer.swaps or answer.shelf or packs != scenario.packs or factor != 1.0:
        there = replace(
            scenario,
            build=answer.build,
            garage=() if crowd.row.joins else answer.garage,
            packs=packs,
            files=at_speed(scenario.files, factor),
            compiled=None,
        )
    season, problems = there.season()
    if season is None:
        return None, problems
    now, problems = scenario.season()
    if now is None:
        return None, problems
    new = [swap for swap in swaps if not swap.piece and not (worn_out or swap.anyway)]
    old = [swap for swap in swaps if swap not in new and not swap.piece]
    out = [*new, *(swap for swap in swaps if swap.piece), *([] if worn_out else turns)]
    renewed = () if worn_out else answer.renewed
    season, old_items = with_items_of(season, now, [swap.slot for swap in old])
    return Side(
        crowd,
        answer,
        season,
        _of_carriers(crowd, (*((swap.carrier, swap.slot) for swap in new), *renewed)),
        _of_carriers(crowd, ((swap.carrier, swap.slot) for swap in old)),
        _of_carriers(crowd, ((swap.carrier, swap.slot) for swap in out)),
        old_items,
    ), ()


def _of_carriers(crowd: Crowd, slots: Iterable[tuple[str, str]]) -> frozenset[tuple[str, str]]:
    """Slots, of engines or of the car, with each carrier that has them: the car, or every engine that is owned."""
    return frozenset((owner, slot) for of, slot in slots for owner in ((CAR,) if of == CAR else crowd.engines))


def beginning(side: Side, entrant: Entrant, now: Season) -> Season:
    """The season of a side as an entrant begins it; `now`: what it would begin with as it is."""
    begun = aged(side.season, entrant, side.swapped | side.lasting)
    start = begun.start
    start = start._replace(
        age=start.age.copy(),
        raw_age=start.raw_age.copy(),
        since=start.since.copy(),
        value=start.value.copy(),
        item=start.item.copy(),
    )
    for c, carrier, p, spot in begun.positions():
        if (carrier, spot.slot) in side.lasting:
            take_over(now, begun, start, c, p, side.old_items[spot.slot])
    for c, carrier in enumerate(begun.carriers):
        for of, rank in side.answer.opened if side.swapped else ():
            if (of == CAR) == (carrier == CAR):
                start.since[c, LADDERS.index(of), :rank] = 0.0
    return replace(begun, start=start)


def stranded_of(side: Side, today: Side, now: Season, later: float = 0.0) -> dict[str, int]:
    """What is left of each part that a book puts out and `today`'s does not, minor units, before any of it is sold:
    unused life above the resale, the resale, and what lies on the shelf for no use.

    `now`: the season as its entrant would begin it as it is; `later`: after so much of a season more, in which what
    is up is renewed as ever.
    """
    found: dict[str, int] = {}
    gone = side.gone - today.gone
    for c, carrier, p, spot in now.positions() if not side.crowd.row.joins else ():
        if (carrier, spot.slot) in gone:
            item = now.items[int(now.start.item[c, p])]
            left = _left_later(now, c, p, later) + spot.pieces * item.resale
            found[item.name] = found.get(item.name, 0) + left
    for part, value in shelf_values(side.answer, today.answer).items():
        found[part] = found.get(part, 0) + value
    return found


def _left_later(now: Season, c: int, p: int, later: float) -> int:
    """The balance of a position after so much of a season more."""
    problem, start = now.problem, now.start
    if not later:
        return int(machine.left_of(problem, start, c, p))
    aged = start._replace(age=start.age.copy(), raw_age=start.raw_age.copy())
    for j in now.lives(p):
        aged.age[c, j] += later * float(problem.duty[-1, j])
        aged.raw_age[c, j] += later * float(problem.raw[-1, j])
    share = machine.worn_share(problem, aged, c, p) % 1.0
    item, step = start.item[c, p], start.step[c, p]
    return int(machine.balance(problem, p, item, step, start.value[c, p], start.worked[c, p], share))


def shelf_values(answer: Answer, today: Answer) -> dict[str, int]:
    """What lies on the shelf for no use under an answer's book and not under today's, by part, minor units."""
    return {part: value for part, value in answer.shelf.items() if part not in today.shelf}
