"""The season machine: one scalar kernel that walks the runs and serves the engines in the gaps between them.

It is written in the plain subset of Python and numpy that a compiler of kernels takes, asks for no memory, and knows
no names: carriers, positions, lives and levels are rows of arrays. A plan is the machine with nothing drawn: nothing
fails, nothing is lost, no check finds anything. Drawn, every number comes from a stream of its own name.

Words: a *ladder* is a carrier kind's nested service levels (0 lowest); a *carrier* is an engine or, last, the car.
"""

from __future__ import annotations

from costplan.season.machine.book import count_start, forget_event
from costplan.season.machine.companions import draw_along
from costplan.season.machine.draws import RAIN, uniform
from costplan.season.machine.gap import who_runs
from costplan.season.machine.opening import begin_opening, cause_of_breaking, close_up
from costplan.season.machine.records import OVER, PLANNED, Problem, State
from costplan.season.machine.renewing import draw_lives, renew_all
from costplan.season.machine.running import next_strike, pass_days, run
from costplan.season.machine.tally import close_event
from costplan.season.machine.wear import left_of, owed


def play(problem: Problem, state: State) -> None:
    """Walks the season from its state on opening day."""
    runs = problem.day.shape[0]
    begin(problem, state)
    incumbent, start = -1, problem.begin
    for g in range(problem.begin, runs):
        if problem.first[g]:
            incumbent, start = -1, g
            forget_event(problem, state)
        incumbent = play_run(problem, state, g, incumbent)
        if g + 1 == runs or problem.first[g + 1]:
            close_event(problem, state, start, g + 1)
    for carrier in range(state.age.shape[0]):
        put_right(problem, state, carrier, runs)
    state.used_up[0] -= left_on_hand(problem, state)


def play_run(problem: Problem, state: State, g: int, incumbent: int) -> int:
    """The gap before a run and the run; the engine that is to run next in the event if it is ready."""
    engine = who_runs(problem, state, g, incumbent)
    state.ran[g] = engine
    if engine >= 0 and not state.lost[g]:
        run(problem, state, g, engine)
        count_start(problem, state, engine, g)
    pass_days(problem, state, g)
    if state.trace_age.shape[0]:
        trace(state, g)
    return engine if engine >= 0 else incumbent


def trace(state: State, g: int) -> None:
    """Keeps what a ledger needs of the state after a run."""
    state.trace_age[g] = state.age
    state.trace_raw[g] = state.raw_age
    state.trace_since[g] = state.since
    state.trace_step[g] = state.step
    state.trace_item[g] = state.item
    state.trace_value[g] = state.value
    state.trace_worked[g] = state.worked


def begin(problem: Problem, state: State) -> None:
    """Draws the lives of what is in, the hazards and the rain; notes what is on hand."""
    car = state.age.shape[0] - 1
    for carrier in range(car + 1):
        for p in range(problem.level.shape[0]):
            if problem.on_car[p] == (carrier == car):
                draw_lives(problem, state, carrier, p)
        for h in range(problem.hazard_mean.shape[0]):
            state.hazard_left[carrier, h] = next_strike(problem, state, carrier, h)
    for g in range(problem.begin):
        state.ran[g] = OVER
    rained = False
    for g in range(problem.begin, problem.day.shape[0]):
        rained = rains(problem, state, problem.event[g]) if problem.first[g] else rained
        state.lost[g] = problem.lost[g] or (rained and g >= problem.rain_from[problem.event[g]])
    state.used_up[0] += left_on_hand(problem, state)


def rains(problem: Problem, state: State, event: int) -> bool:
    """Whether it rains at an event: drawn once for all its runs."""
    if not problem.drawn or problem.rain[event] <= 0:
        return False
    key = problem.rain_key[event]
    return bool(uniform(problem.seed, RAIN, state.season[0], key[0], key[1], 0) < problem.rain[event])


def left_on_hand(problem: Problem, state: State) -> int:
    """The balances of every position, less the work owed on every level."""
    total, car = 0, state.age.shape[0] - 1
    for carrier in range(car + 1):
        for p in range(problem.level.shape[0]):
            if problem.on_car[p] == (carrier == car):
                total += left_of(problem, state, carrier, p)
        for ladder in range(problem.levels.shape[0]):
            if problem.ladder_on_car[ladder] == (carrier == car):
                for level in range(problem.levels[ladder]):
                    total -= owed(problem, state, carrier, ladder, level)
    return total


def put_right(problem: Problem, state: State, carrier: int, end: int) -> None:
    """After the last run: what is broken is put right at its level, with what that level always renews, and no more.

    The book does not bind it, since it belongs to the next season.
    """
    for ladder in range(problem.levels.shape[0]):
        highest, first, last = -1, problem.ladder_from[ladder], problem.ladder_from[ladder + 1]
        for i in range(first, last):
            if state.broken[carrier, problem.on_ladder[i]]:
                highest = max(highest, problem.level[problem.on_ladder[i]])
        if highest >= 0:
            begin_opening(problem, state, carrier, ladder, highest, end)
            for i in range(first, last):
                p = problem.on_ladder[i]
                if problem.level[p] <= highest:
                    state.causes[p] = cause_to_put_right(problem, state, carrier, p, highest)
            draw_along(problem, state, carrier, state.causes, state.drawn_by, end)
            renew_all(problem, state, carrier, ladder, highest, end)
            close_up(problem, state, carrier, ladder, highest)


def cause_to_put_right(problem: Problem, state: State, carrier: int, p: int, highest: int) -> int:
    """Why a position is renewed after the last run; -1 if it is not."""
    renews = problem.renews[problem.ladder[p], highest, p]
    if state.broken[carrier, p]:
        state.wrecked[carrier, p] = state.wrecked[carrier, p] or (renews and problem.as_piece[p])
        return cause_of_breaking(state, carrier, p)
    return PLANNED if renews else -1
