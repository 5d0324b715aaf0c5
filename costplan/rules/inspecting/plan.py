"""Who looks at what on which car: checks chosen, shared out and drawn by lot."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from costplan.rules.checklist import CheckLine
from costplan.rules.inspecting.choosing import choose_within
from costplan.rules.inspecting.entrants import RISK, Entrant
from costplan.rules.inspecting.sharing import loads_of, share_out
from costplan.rules.inspecting.tasks import Takes, Task, is_on_a_car, own_opening, tasks_on
from costplan.rules.inspecting.terms import Opening, Terms, openings_of


@dataclass(frozen=True, slots=True)
class Check:
    """One clause looked at on one car: its `turn` in that car's order, its `place` in the checklist.

    `risk`: the clause's own; `chance`: that it is found broken on this car; `assumed`: what nobody stated (minutes,
    risk); `drawn`: by lot.
    """

    car: str
    inspector: int
    turn: int
    place: int
    pack: str
    rule: str
    says: str
    look: str
    limit: str
    tool: str
    stage: str
    level: str
    minutes: int
    risk: float
    chance: float
    assumed: tuple[str, ...]
    drawn: bool


@dataclass(frozen=True, slots=True)
class Visit:
    """A car that is looked at by one inspector: what is opened, and its checks in the order of the checklist.

    `minutes`: `opening`, once for the car, and all checks.
    """

    car: str
    engine: str
    seals: str
    finish: int | None
    inspector: int
    opened: tuple[str, ...]
    opening: int
    minutes: int
    chance: float
    checks: tuple[Check, ...]


@dataclass(frozen=True, slots=True)
class Plan:
    """Who looks at what on which car.

    `expected`: breaches that are found if the stated chances hold; `bound`: what no choice within the minutes can be
    above, by lot or not. `loads`: the minutes of each inspector. `passed`: cars that nobody looks at; `left_out`:
    clauses that are looked at on no car; `assumed_cars`: those whose risk nobody stated.
    """

    terms: Terms
    used: int
    expected: float
    bound: float
    loads: tuple[int, ...]
    visits: tuple[Visit, ...]
    passed: tuple[str, ...]
    left_out: tuple[str, ...]
    openings: tuple[Opening, ...]
    assumed_cars: tuple[str, ...]


def choose_inspections(lines: Mapping[str, Sequence[CheckLine]], entrants: Sequence[Entrant], terms: Terms) -> Plan:
    """The checks on cars that find most breaches, on the average, within the inspectors' minutes.

    `lines`: the checklist by engine; cars whose engine is not known are asked that of '', the build as planned. A check
    finds a breach with the chance of its clause (`Heading.risk`, else `RISK`) times the car's risk over the mean of all
    cars, so that a clause's chance is that of the average car; what matters of a car is its risk beside the others'.
    What an accepted inspection of the car's engine has shown already finds nothing.

    Optimal for the minutes of all inspectors in one pool, a car taking no more than one inspector has: no other choice
    of checks, each car opened once to the deepest it is looked at, has a higher sum of chances (in billionths). Of
    those with the same sum it has the fewest minutes, and then prefers cars that stand earlier, better placed first.
    Found by dynamic programming over whole minutes, begun ones counted. Its sum is the `bound`.

    Then the cars are shared out whole (`share_out`). Where somebody would have too many minutes the checks are chosen
    anew for each inspector: optimal for the cars shared out so, but another sharing may find more, up to the bound.
    Checks count one by one, also those that one breach would break together. A part of the minutes may be kept for
    drawing by lot (`Terms.drawn`), so that nobody can reckon what is looked at; that costs what the bound is above.
    """
    cars = sorted(entrants, key=lambda one: (one.finish is None, one.finish))
    takes = Takes(openings_of([line for its in lines.values() for line in its], terms.opening), terms.each_car)
    mean = sum(one.risk for one in cars) / max(1, len(cars))
    tasks = [tasks_on(lines[_sheet_of(one, lines)], one.risk / mean) for one in cars]
    best = choose_within(tasks, takes, terms.pool, terms.minutes)
    kept = terms.chosen
    chosen = best if kept == terms.minutes else choose_within(tasks, takes, kept * terms.inspectors, kept)
    who = share_out([takes.minutes(its) for its in chosen], terms.inspectors, kept)
    if _over([takes.minutes(its) for its in chosen], who, kept):
        chosen = _each_alone(tasks, takes, who, kept)
    drawn = _drawn(tasks, chosen, who, takes, terms)
    bound = sum(task.chance for its in best for task in its)
    return _plan(_Choice(cars, chosen, drawn, who, takes), lines, terms, bound)


@dataclass(frozen=True, slots=True)
class _Choice:
    """Of each car its tasks, chosen and drawn by lot, and its inspector, from 0."""

    cars: Sequence[Entrant]
    chosen: Sequence[tuple[Task, ...]]
    drawn: Sequence[tuple[Task, ...]]
    who: Sequence[int]
    takes: Takes


def _sheet_of(entrant: Entrant, lines: Mapping[str, Sequence[CheckLine]]) -> str:
    return entrant.engine if entrant.engine in lines else ""


def _over(minutes: Sequence[int], who: Sequence[int], most: int) -> bool:
    return max(loads_of(minutes, who, max(who, default=0) + 1)) > most


def _each_alone(
    tasks: Sequence[tuple[Task, ...]], takes: Takes, who: Sequence[int], most: int
) -> list[tuple[Task, ...]]:
    """Of each car the tasks that are best among those of its inspector's cars."""
    found: list[tuple[Task, ...]] = [() for _ in tasks]
    for inspector in sorted(set(who)):
        own = [car for car, one in enumerate(who) if one == inspector]
        for car, its in zip(own, choose_within([tasks[car] for car in own], takes, most, most), strict=True):
            found[car] = its
    return found


def _drawn(
    tasks: Sequence[Sequence[Task]],
    chosen: Sequence[tuple[Task, ...]],
    who: Sequence[int],
    takes: Takes,
    terms: Terms,
) -> list[tuple[Task, ...]]:
    """Of each car the tasks drawn by lot: all that were not chosen, in a drawn order, while its inspector has time."""
    more: list[tuple[Task, ...]] = [() for _ in tasks]
    now = [takes.minutes(its) for its in chosen]
    loads = list(loads_of(now, who, terms.inspectors))
    rest = [(car, task) for car, its in enumerate(tasks) for task in its if task not in chosen[car]]
    lot = np.random.default_rng(terms.seed).permutation(len(rest)).tolist() if terms.drawn else []
    for car, task in (rest[number] for number in lot):
        after = takes.minutes((*chosen[car], *more[car], task))
        if loads[who[car]] + after - now[car] <= terms.minutes:
            loads[who[car]] += after - now[car]
            now[car], more[car] = after, (*more[car], task)
    return more


def _plan(choice: _Choice, lines: Mapping[str, Sequence[CheckLine]], terms: Terms, bound: float) -> Plan:
    visits = [_visit(choice, at) for at in range(len(choice.cars)) if choice.chosen[at] or choice.drawn[at]]
    seen = {visit.car for visit in visits}
    loads = loads_of([visit.minutes for visit in visits], [visit.inspector - 1 for visit in visits], terms.inspectors)
    return Plan(
        terms,
        sum(loads),
        sum(visit.chance for visit in visits),
        bound,
        loads,
        tuple(sorted(visits, key=lambda visit: visit.inspector)),
        tuple(car.car for car in choice.cars if car.car not in seen),
        tuple(dict.fromkeys(line.rule for line in lines[""] if not is_on_a_car(line))),
        tuple(choice.takes.openings.values()),
        tuple(car.car for car in choice.cars if car.assumed),
    )


def _visit(choice: _Choice, at: int) -> Visit:
    """What is looked at on one car."""
    entrant, drawn, inspector = choice.cars[at], choice.drawn[at], choice.who[at] + 1
    tasks = sorted((*choice.chosen[at], *drawn), key=lambda task: task.turn)
    opened = choice.takes.deepest(tasks)
    return Visit(
        entrant.car,
        entrant.engine,
        entrant.seals,
        entrant.finish,
        inspector,
        tuple(one.level for one in opened),
        sum(one.minutes for one in opened),
        choice.takes.minutes(tasks),
        sum(task.chance for task in tasks),
        tuple(_check(entrant, task, turn, inspector, task in drawn) for turn, task in enumerate(tasks, start=1)),
    )


def _check(entrant: Entrant, task: Task, turn: int, inspector: int, drawn: bool) -> Check:
    line = task.line
    return Check(
        entrant.car,
        inspector,
        turn,
        task.turn,
        line.pack,
        line.rule,
        line.says,
        line.look,
        line.limit,
        line.tool,
        line.stage,
        line.level,
        task.minutes,
        line.risk or RISK,
        task.chance,
        (*(() if line.minutes and not own_opening(line) else ("minutes",)), *(() if line.risk else ("risk",))),
        drawn,
    )
