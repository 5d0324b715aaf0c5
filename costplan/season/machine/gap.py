"""The gap before a run: which engines are asked, what is due on them, and whether they are ready in time."""

from __future__ import annotations

from costplan.season.machine.book import dated, is_barred, level_kept, may_start, note_bars
from costplan.season.machine.companions import obtainable
from costplan.season.machine.opening import cause_of_breaking, open_up
from costplan.season.machine.records import (
    BEST_SAVED,
    CHANGE_ENGINE,
    KEPT,
    LEAST_USED,
    PLANNED,
    REFUSED,
    RUN_ON,
    SLACK,
    STOP,
    Ints,
    Problem,
    State,
)
from costplan.season.machine.wear import due, limit_in_run, look_again, passes_limit, used_up_by


def who_runs(problem: Problem, state: State, g: int, incumbent: int) -> int:
    """The first engine that is ready in time, each that is asked being served; -1 where none is or the car is not.

    Where engines are changed rather than run on at a barred level, those are asked again once no other is ready.
    """
    car = state.age.shape[0] - 1
    if not serve(problem, state, car, g, problem.when_barred != STOP):
        return -1
    engine = first_ready(problem, state, g, incumbent, problem.when_barred == RUN_ON)
    if engine < 0 and problem.when_barred == CHANGE_ENGINE:
        engine = first_ready(problem, state, g, incumbent, True)
    return engine


def first_ready(problem: Problem, state: State, g: int, incumbent: int, run_on: bool) -> int:
    """The incumbent if it is ready, else the first engine that is and may run; -1 for none. `run_on` as in `serve`."""
    if incumbent >= 0:
        if serve(problem, state, incumbent, g, run_on):
            return incumbent
        if problem.swap_hours > problem.clock[g] - state.idle_since[incumbent]:
            return -1
    state.asked[:] = False
    if incumbent >= 0:
        state.asked[incumbent] = True
    for _ in range(state.age.shape[0] - 1):
        engine = next_asked(problem, state, g)
        if engine < 0:
            break
        state.asked[engine] = True
        if may_start(problem, state, engine, g) and serve(problem, state, engine, g, run_on):
            return engine
    return -1


def next_asked(problem: Problem, state: State, g: int) -> int:
    """The engine to ask next: the one that the event names, then by policy."""
    if problem.named[g] >= 0:
        return -1 if state.asked[problem.named[g]] else int(problem.named[g])
    best = -1
    for engine in range(state.age.shape[0] - 1):
        if not state.asked[engine] and (best < 0 or comes_before(problem, state, engine, best, g)):
            best = engine
    return best


def comes_before(problem: Problem, state: State, engine: int, other: int, g: int) -> bool:
    """Whether an engine is asked before one of an earlier row. The best, in the first row, is saved for what counts."""
    if problem.who_runs == LEAST_USED:
        return bool(state.total_use[engine] < state.total_use[other])
    if problem.who_runs == BEST_SAVED:
        return bool(other == 0 and problem.weight[problem.event[g]] < problem.save_for)
    return False


def serve(problem: Problem, state: State, carrier: int, g: int, run_on: bool) -> bool:
    """Serves a carrier in the gap before a run; whether it is ready for the run, and the book lets it run.

    `run_on`: it also runs with something due at a barred level. One that the book keeps back is not opened, and is
    kept back for the rest of the event: uses that count once an event would let it into the later runs.
    """
    if state.ready_at[carrier] > problem.clock[g] or state.held[carrier, 1 if run_on else 0]:
        return False
    call_for(problem, state, carrier, g)
    if is_kept(problem, state, carrier, g, run_on):
        return False
    opened = open_ladders(problem, state, carrier, g)
    if opened and is_kept(problem, state, carrier, g, run_on):
        return False
    return bool(state.ready_at[carrier] <= problem.clock[g])


def call_for(problem: Problem, state: State, carrier: int, g: int) -> None:
    """The highest level called for on each ladder of a carrier."""
    on_car = carrier == state.age.shape[0] - 1
    for ladder in range(problem.levels.shape[0]):
        state.reached[ladder] = -1
        if problem.ladder_on_car[ladder] == on_car:
            state.reached[ladder] = called_for(problem, state, carrier, ladder, g)


def open_ladders(problem: Problem, state: State, carrier: int, g: int) -> bool:
    """Opens what is called for and notes when the carrier is ready; damage adds its hours. Whether anything is.

    Work and the parts that are awaited for it take their time side by side.
    """
    opened, hours = False, 0.0
    state.awaited[0] = 0.0
    for ladder in range(problem.levels.shape[0]):
        level = state.reached[ladder]
        if level >= 0:
            open_up(problem, state, carrier, ladder, level, g)
            hours, opened = max(hours, problem.hours[ladder, level]), True
    if opened or state.extra_hours[carrier] > 0:
        ready = state.idle_since[carrier] + max(hours, state.awaited[0]) + state.extra_hours[carrier]
        state.ready_at[carrier] = max(state.ready_at[carrier], ready)
        state.extra_hours[carrier] = 0.0
    return opened


def is_kept(problem: Problem, state: State, carrier: int, g: int, run_on: bool) -> bool:
    """Whether the book keeps a carrier from a run, and so from the rest of the event."""
    if problem.bar_bond.shape[0] == 0 and problem.pieces_bond.shape[0] == 0:
        return False
    kept = kept_back(problem, state, carrier, g, run_on)
    if kept:
        state.held[carrier, 1 if run_on else 0] = True
    return kept


def kept_back(problem: Problem, state: State, carrier: int, g: int, run_on: bool) -> bool:
    """Whether a position or a level that the book bars keeps a carrier from a run.

    Where no level is barred, nothing can but what is broken or has a hard limit.
    """
    barred = see_bars(problem, state, carrier, g)
    if not barred and problem.pieces_bond.shape[0] == 0:
        return False
    if not barred and state.n_broken[carrier] == 0:
        return any_kept(problem, state, carrier, problem.limits, g, run_on)
    kept = any_kept(problem, state, carrier, problem.on_ladder, g, run_on)
    on_car = carrier == state.age.shape[0] - 1
    for ladder in range(problem.levels.shape[0]):
        if problem.ladder_on_car[ladder] == on_car:
            for level in range(state.reached[ladder] + 1, problem.levels[ladder]):
                if state.barred[ladder, level] and level_kept(problem, state, carrier, ladder, level, g, run_on):
                    kept = True
    return kept


def any_kept(problem: Problem, state: State, carrier: int, positions: Ints, g: int, run_on: bool) -> bool:
    """Whether any of some positions keeps its carrier from a run; every one is asked, for what it notes."""
    on_car, kept = carrier == state.age.shape[0] - 1, False
    for i in range(positions.shape[0]):
        p = positions[i]
        if problem.on_car[p] == on_car and position_kept(problem, state, carrier, p, g, run_on):
            kept = True
    return kept


def see_bars(problem: Problem, state: State, carrier: int, g: int) -> bool:
    """Notes which levels of a carrier are barred in a gap; whether any is."""
    on_car, found = carrier == state.age.shape[0] - 1, False
    for ladder in range(problem.levels.shape[0]):
        if problem.ladder_on_car[ladder] == on_car:
            for level in range(problem.levels[ladder]):
                barred = is_barred(problem, state, carrier, ladder, level, g)
                state.barred[ladder, level] = barred
                found = found or barred
    return found


def position_kept(problem: Problem, state: State, carrier: int, p: int, g: int, run_on: bool) -> bool:
    """Whether a position keeps its carrier from a run, since the book does not let it be renewed.

    It does where it is broken or the run would pass its hard limit; where it is only due, calls for its level, and is
    not to run on, at a barred one.
    """
    ladder, level = problem.ladder[p], problem.level[p]
    broken = bool(state.broken[carrier, p])
    must = broken or (problem.limited[p] and limit_in_run(problem, state, carrier, p, g))
    if level > state.reached[ladder] and state.barred[ladder, level]:
        if not must and not (problem.calls[p] and due(problem, state, carrier, p, g, g + 1, 0.0)):
            return False
        kept = must or not run_on
        note_bars(problem, state, carrier, ladder, level, g, kept)
        return kept
    if not must:
        return False
    cause = cause_of_breaking(state, carrier, p) if broken else PLANNED
    return not obtainable(problem, state, carrier, p, cause, g, KEPT)


def fits(problem: Problem, state: State, carrier: int, ladder: int, level: int, g: int) -> bool:
    """Whether a level can be done between the carrier's last run and this one."""
    return bool(problem.hours[ladder, level] <= problem.clock[g] - state.idle_since[carrier])


def called_for(problem: Problem, state: State, carrier: int, ladder: int, g: int) -> int:
    """The highest level that is due, or that reaches something due, in the gap before a run, and that the book allows.

    -1 for none.
    """
    highest = -1
    for level in range(problem.levels[ladder]):
        wanted = (
            dated(problem, state, carrier, ladder, level, g)
            or state.overdue[carrier, ladder, level]
            or level_due(problem, state, carrier, ladder, level, g)
        )
        allowed = wanted and fits(problem, state, carrier, ladder, level, g)
        if allowed and not is_barred(problem, state, carrier, ladder, level, g):
            highest = level
    for i in range(problem.ladder_from[ladder], problem.ladder_from[ladder + 1]):
        p = problem.on_ladder[i]
        level, quiet = problem.level[p], g < state.look_from[carrier, p] and not state.broken[carrier, p]
        if level > highest and not quiet and must_open(problem, state, carrier, p, g):
            highest = level
    return highest


def level_due(problem: Problem, state: State, carrier: int, ladder: int, level: int, g: int) -> bool:
    """Whether use since the level was done, with that up to the next gap that fits it, passes its interval.

    A level just done is not due: doing it again would not bring it further.
    """
    since = state.since[carrier, ladder, level]
    ahead = problem.next_fit[ladder, level, g]
    use = problem.use[problem.measure[ladder, level]]
    bound = problem.interval[ladder, level] * (1 + SLACK)
    return bool(since > 0 and since + use[ahead] - use[g] > bound)


def must_open(problem: Problem, state: State, carrier: int, p: int, g: int) -> bool:
    """Whether a position opens its carrier: broken, at a limit that the run would pass, or due and in reach.

    The book must let it be renewed, else opening would do nothing for it.
    """
    ladder, level = problem.ladder[p], problem.level[p]
    if state.broken[carrier, p]:
        wanted = True
    elif fits(problem, state, carrier, ladder, level, g):
        ahead = problem.next_fit[ladder, level, g]
        wanted = used_up_by(problem, state, carrier, p, g, ahead)
        if not wanted:
            state.look_from[carrier, p] = look_again(problem, state, carrier, p, g)
        elif not problem.calls[p]:
            wanted = passes_limit(problem, state, carrier, p, g, ahead, 0.0)
    else:
        wanted = passes_limit(problem, state, carrier, p, g, g + 1, 0.0)
    if not wanted:
        return False
    if is_barred(problem, state, carrier, ladder, level, g):
        return False
    cause = cause_of_breaking(state, carrier, p) if state.broken[carrier, p] else PLANNED
    return obtainable(problem, state, carrier, p, cause, g, REFUSED)
