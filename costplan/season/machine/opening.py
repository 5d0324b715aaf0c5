"""One opening of a carrier: what is renewed and why, what is looked at, and what is worth renewing early."""

from __future__ import annotations

from costplan.season.machine.book import count_openings, is_barred, no_later_opening
from costplan.season.machine.companions import cap_passed, clear, copy_into, draw_along, next_step, obtainable, ration
from costplan.season.machine.draws import CHECK, uniform
from costplan.season.machine.records import (
    DAMAGE,
    EARLY,
    EARLY_OFF,
    EARLY_SHARE,
    FAILURE,
    FOUND,
    PLANNED,
    REFUSED,
    SLACK,
    Problem,
    State,
)
from costplan.season.machine.renewing import count_opening, renew_all
from costplan.season.machine.tally import pay_opening
from costplan.season.machine.wear import balance, due, left_of, passes_limit, used_up_in, warned, worn_share


def open_up(problem: Problem, state: State, carrier: int, ladder: int, highest: int, g: int) -> None:
    """One opening: labour paid once, everything within reach looked at, counters of the levels done set back."""
    begin_opening(problem, state, carrier, ladder, highest, g)
    count_openings(problem, state, carrier, ladder, highest, g)
    for i in range(problem.ladder_from[ladder], problem.ladder_from[ladder + 1]):
        p = problem.on_ladder[i]
        if problem.level[p] <= highest:
            state.causes[p] = cause_to_renew(problem, state, carrier, p, highest, g)
    draw_along(problem, state, carrier, state.causes, state.drawn_by, g)
    if problem.early != EARLY_OFF:
        renew_early(problem, state, carrier, ladder, highest, g)
    if cap_passed(problem, state, carrier, state.causes, g) >= 0:
        ration(problem, state, carrier, g)
    renew_all(problem, state, carrier, ladder, highest, g)
    close_up(problem, state, carrier, ladder, highest)


def close_up(problem: Problem, state: State, carrier: int, ladder: int, highest: int) -> None:
    """What stays in is an opening older, and what was renewed is run in."""
    for i in range(problem.ladder_from[ladder], problem.ladder_from[ladder + 1]):
        p = problem.on_ladder[i]
        if problem.level[p] <= highest:
            if state.causes[p] < 0:
                count_opening(problem, state, carrier, p)
            else:
                run_in(problem, state, carrier, p, ladder, highest)


def begin_opening(problem: Problem, state: State, carrier: int, ladder: int, highest: int, g: int) -> None:
    """Notes and pays an opening, and sets back the counters of the levels done."""
    row = state.openings[state.n_openings[0]]
    row[0], row[1], row[2], row[3] = g, carrier, ladder, highest
    state.n_openings[0] += 1
    state.unplanned[0] = state.n_broken[carrier] > 0
    pay_opening(problem, state, ladder, highest, g)
    for level in range(highest + 1):
        state.since[carrier, ladder, level] = 0.0
        state.overdue[carrier, ladder, level] = False
    clear(state.causes)
    clear(state.drawn_by)


def run_in(problem: Problem, state: State, carrier: int, p: int, ladder: int, level: int) -> None:
    """What was assembled is run in, and is so much older before it races."""
    for j in range(problem.life_from[p], problem.life_from[p + 1]):
        state.age[carrier, j] += problem.run_in_duty[ladder, level, j]
        state.raw_age[carrier, j] += problem.run_in_raw[ladder, level, j]


def cause_to_renew(problem: Problem, state: State, carrier: int, p: int, highest: int, g: int) -> int:
    """Why a position within reach is renewed at an opening; -1 if it is not.

    Of a set that would be renewed anyway, no piece is mended.
    """
    anyway = renewed_anyway(problem, state, carrier, p, highest, g)
    if state.broken[carrier, p]:
        if anyway and problem.as_piece[p] and not state.wrecked[carrier, p]:
            renew_whole(problem, state, carrier, p, g)
        return cause_of_breaking(state, carrier, p)
    if anyway:
        return PLANNED
    return FOUND if sees(problem, state, carrier, p, highest) else -1


def renew_whole(problem: Problem, state: State, carrier: int, p: int, g: int) -> None:
    """Notes that no piece is to mend a broken set, unless the book leaves too few pieces for all of it."""
    state.wrecked[carrier, p] = True
    cause = cause_of_breaking(state, carrier, p)
    state.wrecked[carrier, p] = obtainable(problem, state, carrier, p, cause, g, REFUSED)


def renewed_anyway(problem: Problem, state: State, carrier: int, p: int, highest: int, g: int) -> bool:
    """Whether the level always renews a position, or it is due or would pass a limit before the next gap that fits."""
    if problem.renews[problem.ladder[p], highest, p]:
        return True
    if g < state.look_from[carrier, p] and not problem.opens[p]:
        return False
    ahead = problem.next_fit[problem.ladder[p], problem.level[p], g]
    return due(problem, state, carrier, p, g, ahead, 1.0) or passes_limit(problem, state, carrier, p, g, ahead, 1.0)


def cause_of_breaking(state: State, carrier: int, p: int) -> int:
    """Whether what is broken failed of itself, or was broken by something else."""
    return DAMAGE if state.damaged[carrier, p] else FAILURE


def sees(problem: Problem, state: State, carrier: int, p: int, highest: int) -> bool:
    """Whether a check sees that a piece is near its end. A number is drawn only where there is something to see."""
    chance = problem.sees[problem.ladder[p], highest, p]
    if chance <= 0 or not problem.drawn or not warned(problem, state, carrier, p):
        return False
    key, n = problem.position_key[carrier, p], state.installed[carrier, p] * 256 + state.looked[carrier, p]
    state.looked[carrier, p] += 1
    found = bool(uniform(problem.seed, CHECK, state.season[0], key[0], key[1], n) < chance)
    state.finds[p] += 1 if found else 0
    return found


def renew_early(problem: Problem, state: State, carrier: int, ladder: int, highest: int, g: int) -> None:
    """Notes what is worth renewing early beside what must be renewed, each judged with what it would take along."""
    copy_into(state.must, state.causes)
    expect_openings(problem, state, carrier, ladder, g)
    for i in range(problem.ladder_from[ladder], problem.ladder_from[ladder + 1]):
        p = problem.on_ladder[i]
        if state.must[p] < 0 and problem.level[p] <= highest and worth_renewing(problem, state, carrier, p, g):
            state.causes[p], state.drawn_by[p] = EARLY, -1
    draw_along(problem, state, carrier, state.causes, state.drawn_by, g)


def expect_openings(problem: Problem, state: State, carrier: int, ladder: int, g: int) -> None:
    """For each level, the run before which it or a higher one is next expected to be due and allowed.

    The season's end if there is none.
    """
    nearest = problem.day.shape[0]
    for level in range(problem.levels[ladder] - 1, -1, -1):
        use = problem.use[problem.measure[ladder, level]]
        since = state.since[carrier, ladder, level] - use[g]
        bound, rest = problem.interval[ladder, level] * (1 + SLACK), problem.rest[ladder, level] * (1 - SLACK)
        for h in range(g + 1, nearest):
            dated = problem.called[ladder, level, h] and since + use[h] >= rest
            wanted = dated or since + use[h + 1] > bound
            if wanted and not is_barred(problem, state, carrier, ladder, level, h):
                nearest = h
                break
        state.next_open[level] = nearest


def worth_renewing(problem: Problem, state: State, carrier: int, p: int, g: int) -> bool:
    """Whether to renew what is not due: it would need an opening of its own, which costs more than what is lost now.

    Lost is the life left in it and in what goes along with it beside what is renewed anyway. Where the book bars every
    opening until it would be used up, there is none to wait for.
    """
    if problem.early == EARLY_SHARE:
        return worn_share(problem, state, carrier, p) >= problem.early_share
    until = state.next_open[problem.level[p]]
    if quiet_until(problem, state, carrier, p, g, until):
        return False
    last = used_up_in(problem, state, carrier, p, g, until)
    if last < 0:
        return False
    if no_later_opening(problem, state, carrier, p, g, last):
        return True
    copy_into(state.trial, state.must)
    state.trial[p] = EARLY
    draw_along(problem, state, carrier, state.trial, state.trial_by, g)
    lost = 0
    for q in range(state.trial.shape[0]):
        if state.trial[q] >= 0 and state.must[q] < 0:
            lost += lost_by(problem, state, carrier, q, g)
    ladder, level = problem.ladder[p], problem.level[p]
    return bool(lost < problem.cost[ladder, level] + problem.fee[ladder, level, last])


def quiet_until(problem: Problem, state: State, carrier: int, p: int, g: int, until: int) -> bool:
    """Whether it is known that a position cannot be used up before run `until`."""
    look_from = state.look_from[carrier, p]
    return bool(g < look_from and until <= problem.next_fit[problem.ladder[p], problem.level[p], look_from - 1])


def lost_by(problem: Problem, state: State, carrier: int, p: int, g: int) -> int:
    """What of a balance is lost if a position is renewed early: all of it, or what is left before its next step."""
    lost = left_of(problem, state, carrier, p)
    if problem.steps[p] > 0 and next_step(problem, state, carrier, p, EARLY, g) >= 0:
        item, step = state.item[carrier, p], state.step[carrier, p]
        lost -= balance(problem, p, item, step, state.value[carrier, p], state.worked[carrier, p], 1.0)
    return lost
