"""How the rule book binds: bars on levels, caps on engines and pieces, steps that may not be done.

Each row has a *bond*, its number in the book, under which `acted` notes what it did.
"""

from __future__ import annotations

from costplan.season.machine.records import KEPT, REFUSED, SLACK, Problem, State


def may_start(problem: Problem, state: State, engine: int, g: int) -> bool:
    """Whether an engine has run before or one more may, by every clause that caps the engines of a season."""
    free = True
    for x in range(problem.engines_bond.shape[0]):
        if not problem.engines_hold[x, g] or state.started[x, engine]:
            continue
        if state.started[x].sum() >= problem.engines_most[x]:
            note(state, problem.engines_bond[x], engine, g, KEPT)
            free = False
    return free


def count_start(problem: Problem, state: State, engine: int, g: int) -> None:
    """Notes that an engine has run, for the caps in force."""
    for x in range(problem.engines_bond.shape[0]):
        if problem.engines_hold[x, g]:
            state.started[x, engine] = True


def forget_event(problem: Problem, state: State) -> None:
    """At a new event the pieces that may be put in at each event count from none, and nobody is kept back yet."""
    state.held[:] = False
    for q in range(problem.pieces_bond.shape[0]):
        if problem.pieces_event[q]:
            state.put_in[q] = 0


def note(state: State, bond: int, carrier: int, g: int, what: int) -> None:
    """Notes what a bond did to a carrier before a run; of several things the gravest. Without room, nothing."""
    if bond < state.acted.shape[0]:
        state.acted[bond, carrier, g] = max(state.acted[bond, carrier, g], what)


def is_barred(problem: Problem, state: State, carrier: int, ladder: int, level: int, g: int) -> bool:
    """Whether the book bars an opening of a carrier at a level in the gap before a run."""
    for b in range(problem.bar_bond.shape[0]):
        if bars(problem, state, b, carrier, ladder, level, g):
            return True
    return False


def bars(problem: Problem, state: State, b: int, carrier: int, ladder: int, level: int, g: int) -> bool:
    """Whether a bar is in force on a level before a run, and the openings that it allows are done."""
    if problem.bar_ladder[b] != ladder or level < problem.bar_low[b] or level > problem.bar_high[b]:
        return False
    if not problem.bar_holds[b, g]:
        return False
    done = state.opened[b, carrier] if problem.bar_each[b] else state.opened[b].sum()
    return bool(done >= problem.bar_most[b])


def note_bars(problem: Problem, state: State, carrier: int, ladder: int, level: int, g: int, kept: bool) -> None:
    """Notes every bar that is down on a level."""
    for b in range(problem.bar_bond.shape[0]):
        if bars(problem, state, b, carrier, ladder, level, g):
            note(state, problem.bar_bond[b], carrier, g, KEPT if kept else REFUSED)


def count_openings(problem: Problem, state: State, carrier: int, ladder: int, level: int, g: int) -> None:
    """Counts an opening for every bar that it counts for."""
    for b in range(problem.bar_bond.shape[0]):
        counts = problem.bar_in_life[b] or problem.bar_holds[b, g]
        if counts and problem.bar_ladder[b] == ladder and level >= problem.bar_low[b]:
            state.opened[b, carrier] += 1


def dated(problem: Problem, state: State, carrier: int, ladder: int, level: int, g: int) -> bool:
    """Whether a date calls for a level in the gap before a run; soon after the level was done, it is passed over."""
    rest = problem.rest[ladder, level] * (1 - SLACK)
    return bool(problem.called[ladder, level, g] and state.since[carrier, ladder, level] >= rest)


def level_kept(problem: Problem, state: State, carrier: int, ladder: int, level: int, g: int, run_on: bool) -> bool:
    """Whether a barred level that is due keeps its carrier from a run; a date that came stays due until it is done.

    Barred, it falls due with the run that would pass its interval: there is no later gap to look ahead to.
    """
    if dated(problem, state, carrier, ladder, level, g):
        state.overdue[carrier, ladder, level] = True
    since, use = state.since[carrier, ladder, level], problem.use[problem.measure[ladder, level]]
    passed = since > 0 and since + use[g + 1] - use[g] > problem.interval[ladder, level] * (1 + SLACK)
    if not (passed or state.overdue[carrier, ladder, level]):
        return False
    note_bars(problem, state, carrier, ladder, level, g, not run_on)
    return not run_on


def no_later_opening(problem: Problem, state: State, carrier: int, p: int, g: int, last: int) -> bool:
    """Whether the book bars every later gap in which a position could be renewed before run `last` uses it up."""
    ladder, level = problem.ladder[p], problem.level[p]
    h, barred = problem.next_fit[ladder, level, g], False
    while h <= last:
        if not is_barred(problem, state, carrier, ladder, level, h):
            return False
        h, barred = problem.next_fit[ladder, level, h], True
    return barred


def step_bond(problem: Problem, p: int, step: int, g: int) -> int:
    """The bond that bars a service step in the gap before a run; -1 for none, and after the last run."""
    return int(problem.step_barred[p, step, g]) if step >= 0 and g < problem.day.shape[0] else -1
