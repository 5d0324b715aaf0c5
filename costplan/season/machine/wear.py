"""How worn things are, and what of their money is left."""

from __future__ import annotations

import math

from costplan.season.machine.records import SLACK, Problem, State


def due(problem: Problem, state: State, carrier: int, p: int, g: int, until: int, opened: float) -> bool:
    """Whether a life of the position is used up before run `until`; `opened`: an opening counted in.

    A life not begun is not used up, however long the way ahead: a new piece would not last longer.
    """
    factor = problem.step_factor[p, state.step[carrier, p]]
    for j in range(problem.life_from[p], problem.life_from[p + 1]):
        age = state.age[carrier, j]
        if age > 0:
            ahead = opened if problem.counts_openings[j] else problem.duty[until, j] - problem.duty[g, j]
            if age + ahead > problem.due_at[j] * factor * (1 + SLACK):
                return True
    return False


def passes_limit(problem: Problem, state: State, carrier: int, p: int, g: int, until: int, opened: float) -> bool:
    """Whether a hard limit of the position is passed before run `until`; `opened`: an opening counted in."""
    if not problem.limited[p]:
        return False
    for j in range(problem.life_from[p], problem.life_from[p + 1]):
        age = state.raw_age[carrier, j]
        if age > 0 and problem.limit[j] < math.inf and beyond(problem, j, age, g, until, opened):
            return True
    return False


def beyond(problem: Problem, j: int, age: float, g: int, until: int, opened: float) -> bool:
    """Whether a hard limit is passed before run `until` from an age before run g; one that binds in no run is not."""
    end = problem.binds_to[j, until]
    if end < until and end <= g:
        return False
    ahead = opened if problem.counts_openings[j] else problem.raw[end, j] - problem.raw[g, j]
    return bool(age + ahead > problem.limit[j] * (1 + SLACK))


def limit_in_run(problem: Problem, state: State, carrier: int, p: int, g: int) -> bool:
    """Whether the run itself would pass a hard limit: one in days on its day, whenever the next run is."""
    for j in range(problem.life_from[p], problem.life_from[p + 1]):
        age = state.raw_age[carrier, j]
        use = 0.0 if problem.counts_openings[j] or problem.counts_days[j] else problem.raw[g + 1, j] - problem.raw[g, j]
        if age > 0 and problem.binds_to[j, g + 1] > g and age + use > problem.limit[j] * (1 + SLACK):
            return True
    return False


def used_up_in(problem: Problem, state: State, carrier: int, p: int, g: int, until: int) -> int:
    """The run before `until` in which a position would be used up or pass a limit; -1 for none.

    What is used up by a run is used up by every later one, so that halving finds it.
    """
    if not used_up_by(problem, state, carrier, p, g, until):
        return -1
    low, high = g, until - 1
    while low < high:
        middle = (low + high) // 2
        if used_up_by(problem, state, carrier, p, g, middle + 1):
            high = middle
        else:
            low = middle + 1
    return low


def used_up_by(problem: Problem, state: State, carrier: int, p: int, g: int, until: int) -> bool:
    """Whether a position is used up or passes a limit before run `until`."""
    return due(problem, state, carrier, p, g, until, 0.0) or passes_limit(problem, state, carrier, p, g, until, 0.0)


def look_again(problem: Problem, state: State, carrier: int, p: int, g: int) -> int:
    """The first later run before which a position may be due, aged by every run till then; the season's end if none.

    It may age less, where its carrier does not run or is stopped, but not more: until then there is nothing to look at.
    """
    runs, ladder, level = int(problem.day.shape[0]), problem.ladder[p], problem.level[p]
    low, high = g + 1, runs
    if not may_be_used_up(problem, state, carrier, p, g, runs):
        return runs
    while low < high:
        middle = (low + high) // 2
        if may_be_used_up(problem, state, carrier, p, g, problem.next_fit[ladder, level, middle]):
            high = middle
        else:
            low = middle + 1
    return low


def may_be_used_up(problem: Problem, state: State, carrier: int, p: int, g: int, until: int) -> bool:
    """Whether a position would be used up by run `until` if it aged in every run, begun or not; a hair early.

    Openings are no runs: what they age is looked at again when they are counted.
    """
    factor = problem.step_factor[p, state.step[carrier, p]] * (1 - SLACK)
    for j in range(problem.life_from[p], problem.life_from[p + 1]):
        age = state.age[carrier, j] + problem.duty[until, j] - problem.duty[g, j]
        raw = state.raw_age[carrier, j] + problem.raw[until, j] - problem.raw[g, j]
        if age > problem.due_at[j] * factor or raw > problem.limit[j] * (1 - SLACK):
            return True
    return False


def fails_again(problem: Problem, state: State, carrier: int, p: int, g: int) -> int:
    """The first later run in which a position may fail, aged by every run till then; the season's end if none."""
    low, high = g + 1, int(problem.day.shape[0])
    if not may_fail(problem, state, carrier, p, g, high - 1):
        return high
    while low < high:
        middle = (low + high) // 2
        if may_fail(problem, state, carrier, p, g, middle):
            high = middle
        else:
            low = middle + 1
    return low


def may_fail(problem: Problem, state: State, carrier: int, p: int, g: int, last: int) -> bool:
    """Whether a position would fail by the end of run `last` if it aged in every run from g on; a hair early."""
    for j in range(problem.life_from[p], problem.life_from[p + 1]):
        age = state.age[carrier, j] + problem.duty[last + 1, j] - problem.duty[g, j]
        if age >= state.fails_at[carrier, j] * (1 - SLACK):
            return True
    return False


def worn_share(problem: Problem, state: State, carrier: int, p: int) -> float:
    """x: the largest share used up of any life or limit of the position."""
    share = 0.0
    factor = problem.step_factor[p, state.step[carrier, p]]
    for j in range(problem.life_from[p], problem.life_from[p + 1]):
        life, limit = problem.worn_at[j] * factor, problem.limit[j]
        share = max(share, state.age[carrier, j] / life, state.raw_age[carrier, j] / limit)
    return share


def left_of(problem: Problem, state: State, carrier: int, p: int) -> int:
    """B of a position as it is."""
    share = worn_share(problem, state, carrier, p)
    item, step = state.item[carrier, p], state.step[carrier, p]
    return balance(problem, p, item, step, state.value[carrier, p], state.worked[carrier, p], share)


def balance(problem: Problem, p: int, item: int, step: int, value: int, worked: int, share: float) -> int:
    """B: what is left of a set's cost above its resale, and of the work of its last step, in whole minor units.

    The cost is spread over the lives of its whole path of steps, the work over the life after it. The path ends before
    a step that the book bars in this season.
    """
    left = 1.0 - min(1.0, share)
    rest = (left * problem.step_factor[p, step] + problem.path_ahead[p, step]) / problem.path_whole[p, step]
    resale = problem.pieces[p] * problem.resale[item]
    amount: float = max(0, value - resale) * rest + worked * left
    return math.floor(amount + 0.5)


def owed(problem: Problem, state: State, carrier: int, ladder: int, level: int) -> int:
    """Work owed on a level of a carrier after what has been run since."""
    return owed_after(problem, state.since[carrier, ladder, level], ladder, level)


def owed_after(problem: Problem, since: float, ladder: int, level: int) -> int:
    """Work owed after so much use since a level was last done; none for a level without an interval."""
    share = min(1.0, since / problem.interval[ladder, level])
    return int(problem.cost[ladder, level] * share + 0.5)


def worked_before(problem: Problem, p: int, step: int) -> int:
    """What the last of so many service steps cost."""
    return int(problem.step_cost[p, step - 1]) if step > 0 else 0


def item_after(problem: Problem, p: int, steps: int, q: int) -> int:
    """The stock item that goes with a set which has been through so many steps: pistons of a bored block."""
    item = problem.item[q]
    for step in range(steps):
        if problem.step_item[p, step, q] >= 0:
            item = problem.step_item[p, step, q]
    return int(item)


def warned(problem: Problem, state: State, carrier: int, p: int) -> bool:
    """Whether a piece is so near its end that a check can see it: in the warning share of a life."""
    for j in range(problem.life_from[p], problem.life_from[p + 1]):
        warning, end = problem.warning[j], state.fails_at[carrier, j]
        if warning > 0 and end < math.inf and state.age[carrier, j] >= end * (1.0 - warning):
            return True
    return False
