"""A run: what ages, what fails first, and what that takes along."""

from __future__ import annotations

import math

from costplan.season.machine.draws import CASE, HAZARD, uniform
from costplan.season.machine.records import DAMAGE, INCOME, Problem, State
from costplan.season.machine.tally import pay
from costplan.season.machine.wear import fails_again

#: Where in a run something fails that is made to fail.
HALF = 0.5


def run(problem: Problem, state: State, g: int, engine: int) -> None:
    """One run of an engine and the car: the life that ends first fails, and may stop the run."""
    car = state.age.shape[0] - 1
    failed, on, fraction = first_failure(problem, state, g, engine)
    share = 1.0
    if failed >= 0 and fail(problem, state, g, on, failed):
        state.stopped[g] = True
        share = fraction
    wear_down(problem, state, engine, g, share)
    wear_down(problem, state, car, g, share)


def first_failure(problem: Problem, state: State, g: int, engine: int) -> tuple[int, int, float]:
    """What fails first in a run, a position or P + hazard, on which carrier, at which share of the run; -1 for none."""
    if problem.force_run == g:
        return problem.force, carrier_of(problem, state, problem.force, engine), HALF
    if not problem.drawn and problem.fails_at.shape[2] == 0:
        return -1, -1, 1.0
    failed, on, fraction = first_position(problem, state, g, engine)
    positions = problem.level.shape[0]
    for h in range(problem.hazard_mean.shape[0]):
        carrier = carrier_of(problem, state, positions + h, engine)
        use, left = problem.hazard_use[g, h], state.hazard_left[carrier, h]
        if use > 0 and left <= use and (failed < 0 or left / use < fraction):
            failed, on, fraction = positions + h, carrier, left / use
    return failed, on, max(0.0, fraction)


def first_position(problem: Problem, state: State, g: int, engine: int) -> tuple[int, int, float]:
    """The position whose life ends first in a run; at a share below 0 where it had ended, and ran on, before."""
    failed, on, fraction = -1, -1, 1.0
    for p in range(problem.level.shape[0]):
        carrier = carrier_of(problem, state, p, engine)
        if g < state.fails_from[carrier, p] or state.broken[carrier, p]:
            continue
        state.fails_from[carrier, p] = fails_again(problem, state, carrier, p, g)
        for j in range(problem.life_from[p], problem.life_from[p + 1]):
            step = problem.duty[g + 1, j] - problem.duty[g, j]
            left = state.fails_at[carrier, j] - state.age[carrier, j]
            if step > 0 and left <= step and (failed < 0 or left / step < fraction):
                failed, on, fraction = p, carrier, left / step
    return failed, on, fraction


def carrier_of(problem: Problem, state: State, p: int, engine: int) -> int:
    """The carrier of a position or a hazard while an engine runs."""
    positions = problem.level.shape[0]
    on_car = problem.on_car[p] if p < positions else problem.hazard_on_car[p - positions]
    return state.age.shape[0] - 1 if on_car else engine


def fail(problem: Problem, state: State, g: int, carrier: int, failed: int) -> bool:
    """What a failure or a hazard does; whether it stops the run."""
    positions = problem.level.shape[0]
    state.failures[failed] += 1
    case = draw_case(problem, state, carrier, failed)
    stops = problem.stops[failed] if failed < positions else False
    if case >= 0:
        stops = problem.case_stops[case]
    if failed < positions:
        break_down(state, carrier, failed)
    note_case(problem, state, g, carrier, failed, case)
    if case >= 0:
        apply_case(problem, state, g, carrier, failed, case)
    if failed >= positions:
        state.strikes[carrier, failed - positions] += 1
        state.hazard_left[carrier, failed - positions] = math.inf
    return bool(stops)


def draw_case(problem: Problem, state: State, carrier: int, failed: int) -> int:
    """The case that a failure turns out to be, by its chance; -1 for a failure that takes nothing along."""
    first, last = problem.case_from[failed], problem.case_from[failed + 1]
    if first == last or not problem.drawn:
        return -1
    positions = problem.level.shape[0]
    if failed < positions:
        key, n = problem.position_key[carrier, failed], state.installed[carrier, failed]
    else:
        key, n = problem.hazard_key[carrier, failed - positions], state.strikes[carrier, failed - positions]
    u = uniform(problem.seed, CASE, state.season[0], key[0], key[1], n)
    for case in range(first, last):
        if u < problem.case_up_to[case]:
            return int(case)
    return -1


def note_case(problem: Problem, state: State, g: int, carrier: int, failed: int, case: int) -> None:
    """One row for a failure, whatever it takes along."""
    row = state.struck_cases[state.n_cases[0]]
    row[0], row[1], row[2], row[3] = g, carrier, failed, case
    row[4] = problem.case_cost[case] if case >= 0 else 0
    if problem.force_run == g:
        state.struck[0] = 2 + case if case >= 0 else 1
    state.n_cases[0] += 1


def apply_case(problem: Problem, state: State, g: int, carrier: int, failed: int, case: int) -> None:
    """Breaks what a case hits, costs what it costs, and pays for an engine that is gone."""
    event = problem.event[g]
    month, rest = problem.event_month[event], state.tally_line.shape[0] - 1
    line = failed if failed < problem.level.shape[0] else rest
    pay(state, event, month, line, DAMAGE, problem.case_cost[case])
    pay(state, event, month, line, INCOME, -problem.case_paid[case])
    state.extra_hours[carrier] += problem.case_hours[case]
    for p in range(problem.level.shape[0]):
        if problem.case_hits[case, p] and (problem.serves[p, g] or problem.case_wrecks[case]):
            on = carrier_of(problem, state, p, state.ran[g])
            hit(state, on, p)
            state.wrecked[on, p] = state.wrecked[on, p] or problem.case_wrecks[case]


def break_down(state: State, carrier: int, p: int) -> None:
    """Notes that what is in a position is broken."""
    state.broken[carrier, p] = True
    state.n_broken[carrier] += 1


def hit(state: State, carrier: int, p: int) -> None:
    """Breaks a position that a case hits."""
    if not state.broken[carrier, p]:
        break_down(state, carrier, p)
        state.damaged[carrier, p] = True
        state.hits[p] += 1


def next_strike(problem: Problem, state: State, carrier: int, h: int) -> float:
    """Use until a hazard strikes next: it has no memory, so that its age does not count."""
    if not problem.drawn or problem.hazard_mean[h] == math.inf:
        return math.inf
    key = problem.hazard_key[carrier, h]
    u = uniform(problem.seed, HAZARD, state.season[0], key[0], key[1], state.strikes[carrier, h])
    return float(-problem.hazard_mean[h] * math.log(u))


def wear_down(problem: Problem, state: State, carrier: int, g: int, share: float) -> None:
    """Ages what is on a carrier by a share of the run, and its counters with it; days pass by themselves."""
    side = 1 if carrier == state.age.shape[0] - 1 else 0
    for i in range(problem.running_from[side], problem.running_from[side + 1]):
        age_by(problem, state, carrier, problem.running[i], g, share)
    for ladder in range(problem.levels.shape[0]):
        if problem.ladder_on_car[ladder] == (side == 1):
            for level in range(problem.levels[ladder]):
                if not problem.interval_in_days[ladder, level]:
                    count_on(problem, state, carrier, ladder, level, g, share)
    wear_hazards(problem, state, carrier, g, share)
    state.total_use[carrier] += share
    state.idle_since[carrier] = problem.clock[g]


def wear_hazards(problem: Problem, state: State, carrier: int, g: int, share: float) -> None:
    """Brings the hazards of a carrier nearer by a share of the run; one that struck begins anew."""
    on_car = carrier == state.age.shape[0] - 1
    for h in range(problem.hazard_mean.shape[0]):
        if problem.hazard_on_car[h] != on_car:
            continue
        if state.hazard_left[carrier, h] == math.inf:
            state.hazard_left[carrier, h] = next_strike(problem, state, carrier, h)
        else:
            state.hazard_left[carrier, h] -= problem.hazard_use[g, h] * share


def pass_days(problem: Problem, state: State, g: int) -> None:
    """Ages every carrier by the days up to the next run, whether it ran or not."""
    car = state.age.shape[0] - 1
    for carrier in range(car + 1):
        side = 1 if carrier == car else 0
        for i in range(problem.lasting_from[side], problem.lasting_from[side + 1]):
            age_by(problem, state, carrier, problem.lasting[i], g, 1.0)
        for ladder in range(problem.levels.shape[0]):
            if problem.ladder_on_car[ladder] == (side == 1):
                for level in range(problem.levels[ladder]):
                    if problem.interval_in_days[ladder, level]:
                        count_on(problem, state, carrier, ladder, level, g, 1.0)


def age_by(problem: Problem, state: State, carrier: int, j: int, g: int, share: float) -> None:
    """Ages one life by a share of a run."""
    state.age[carrier, j] += (problem.duty[g + 1, j] - problem.duty[g, j]) * share
    state.raw_age[carrier, j] += (problem.raw[g + 1, j] - problem.raw[g, j]) * share


def count_on(problem: Problem, state: State, carrier: int, ladder: int, level: int, g: int, share: float) -> None:
    """Adds a share of a run to the use since a level was done."""
    use = problem.use[problem.measure[ladder, level]]
    state.since[carrier, ladder, level] += (use[g + 1] - use[g]) * share
