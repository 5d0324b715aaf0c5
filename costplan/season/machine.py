"""The season machine: one scalar kernel that walks the runs and serves the engines in the gaps between them.

It is written in the plain subset of Python and numpy that a compiler of kernels takes, and knows no names: carriers,
positions, lives and levels are rows of arrays. What is uncertain is a parameter: `fails_at` (the age at which each
installed piece breaks), `lost` (runs rained out) and `due_at` (the age at which a life counts as used up). A plan is
the machine with nothing failing and nothing lost.

Words: a *ladder* is a carrier kind's nested service levels (0 lowest); a *carrier* is an engine or, last, the car.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

#: Ages are sums of floats: passing a bound by less than this share of it is reaching it.
SLACK = 1e-9

# Causes of a renewal, as the kernel numbers them; `CAUSES` names them.
PLANNED, EARLY, FAILURE = 0, 1, 2
CAUSES = ("planned", "early", "failure")

# Early renewal policies.
EARLY_OFF, EARLY_WORTH, EARLY_SHARE = 0, 1, 2
# Who runs where an event names no engine.
FIRST_READY, LEAST_USED = 0, 1


class Problem(NamedTuple):
    """Everything the machine needs. G runs, C carriers (the car last), P positions, L lives, T ladders, K levels,
    M measures, I stock items, U used sets on the shelf. Money in whole minor units, use in kept units.
    """

    day: Ints  # [G] ordinal of the run's day
    clock: Floats  # [G] hours at which the run starts, gaps added up
    first: Bools  # [G] first run of its event
    named: Ints  # [G] engine the event names, -1 for none
    lost: Bools  # [G] rained out
    use: Floats  # [M, G+1] use before each run, added up
    life_from: Ints  # [P+1] lives of a position: life_from[p] .. life_from[p+1]
    counts_openings: Bools  # [L]
    counts_days: Bools  # [L]
    duty: Floats  # [L, G+1] duty before each run, added up
    raw: Floats  # [L, G+1] raw use before each run, added up
    due_at: Floats  # [L] age at which a plan renews
    worn_at: Floats  # [L] age at which a life is used up: min(renewal use, mean)
    limit: Floats  # [L] raw use never to be passed
    ladder: Ints  # [P]
    level: Ints  # [P] lowest level that reaches the position
    on_car: Bools  # [P]
    pieces: Ints  # [P]
    stops: Bools  # [P]
    as_piece: Bools  # [P]
    resale: Ints  # [P] of the whole set, unbroken
    item: Ints  # [P] stock item
    pack: Ints  # [I]
    pack_price: Ints  # [I]
    ladder_on_car: Bools  # [T]
    levels: Ints  # [T] how many levels a ladder has
    hours: Floats  # [T, K]
    interval: Floats  # [T, K] infinite for none
    measure: Ints  # [T, K] measure the interval counts
    interval_in_days: Bools  # [T, K]
    cost: Ints  # [T, K] labour and supplies of one opening
    renews: Bools  # [T, K, P] what a level or one below it renews every time
    called: Bools  # [T, K, G] a date or a service row calls for the level in the gap before the run
    next_fit: Ints  # [T, K, G] next later run whose gap fits the level; G for none
    used_item: Ints  # [U] stock item of a used set on the shelf
    used_pieces: Ints  # [U]
    used_value: Ints  # [U] what the set costs new
    used_age: Floats  # [U, L] its age in the lives of every position that it could serve
    early: int
    early_share: float
    who_runs: int
    swap_hours: float


class State(NamedTuple):
    """What changes as the machine walks. The `n_*` arrays hold one number each."""

    age: Floats  # [C, L] duty since installed
    raw_age: Floats  # [C, L] raw use since installed
    broken: Bools  # [C, P]
    value: Ints  # [C, P] what the installed set cost
    installed: Ints  # [C, P] how many sets so far
    since: Floats  # [C, T, K] use since a level was last done
    stock: Ints  # [I] new pieces on the shelf
    stock_value: Ints  # [I]
    used_left: Bools  # [U] used sets still on the shelf
    idle_since: Floats  # [C] end of the last run, in hours
    ready_at: Floats  # [C] when the carrier leaves the shop
    total_use: Floats  # [C]
    ran: Ints  # [G] engine that ran, -1 for none
    openings: Ints  # [N, 4] run, carrier, ladder, level
    n_openings: Ints
    renewals: Ints  # [N, 9] run, carrier, position, cause, pieces, packs bought, paid, value of the new set, level
    left_behind: Ints  # [N, 3] balance of the old set (unused life), balance of the new, value of pieces from stock
    n_renewals: Ints
    trace_age: Floats  # [G or 0, C, L] ages after each run
    trace_raw: Floats  # [G or 0, C, L]
    trace_since: Floats  # [G or 0, C, T, K]


def play(problem: Problem, state: State, fails_at: Floats) -> None:
    """Walks the season. `fails_at` [C, L, n]: age at which the n-th installed set breaks, the last for all later."""
    runs = problem.day.shape[0]
    incumbent = -1
    for g in range(runs):
        if problem.first[g]:
            incumbent = -1
        engine = who_runs(problem, state, g, incumbent)
        incumbent = engine if engine >= 0 else incumbent
        state.ran[g] = engine
        if engine >= 0 and not problem.lost[g]:
            run(problem, state, fails_at, g, engine)
        pass_days(problem, state, g)
        if state.trace_age.shape[0]:
            state.trace_age[g] = state.age
            state.trace_raw[g] = state.raw_age
            state.trace_since[g] = state.since
    for carrier in range(state.age.shape[0]):
        put_right(problem, state, carrier, runs)


def who_runs(problem: Problem, state: State, g: int, incumbent: int) -> int:
    """The first engine that is ready in time, each that is asked being served; -1 where none is or the car is not."""
    car = state.age.shape[0] - 1
    if not serve(problem, state, car, g):
        return -1
    if incumbent >= 0:
        if serve(problem, state, incumbent, g):
            return incumbent
        if problem.swap_hours > problem.clock[g] - state.idle_since[incumbent]:
            return -1
    asked = np.zeros(car, dtype=np.bool_)
    if incumbent >= 0:
        asked[incumbent] = True
    for _ in range(car):
        engine = next_asked(problem, state, g, asked)
        if engine < 0:
            break
        asked[engine] = True
        if serve(problem, state, engine, g):
            return engine
    return -1


def next_asked(problem: Problem, state: State, g: int, asked: Bools) -> int:
    """The engine to ask next: the one that the event names, then by policy."""
    if problem.named[g] >= 0:
        return -1 if asked[problem.named[g]] else int(problem.named[g])
    best = -1
    for engine in range(asked.shape[0]):
        if asked[engine]:
            continue
        if best < 0 or (problem.who_runs == LEAST_USED and state.total_use[engine] < state.total_use[best]):
            best = engine
    return best


def serve(problem: Problem, state: State, carrier: int, g: int) -> bool:
    """Serves a carrier in the gap before a run; whether it is ready for the run."""
    if state.ready_at[carrier] > problem.clock[g]:
        return False
    on_car = carrier == state.age.shape[0] - 1
    for ladder in range(problem.levels.shape[0]):
        if problem.ladder_on_car[ladder] != on_car:
            continue
        level = called_for(problem, state, carrier, ladder, g)
        if level >= 0:
            open_up(problem, state, carrier, ladder, level, g)
            ready = state.idle_since[carrier] + problem.hours[ladder, level]
            state.ready_at[carrier] = max(state.ready_at[carrier], ready)
    return bool(state.ready_at[carrier] <= problem.clock[g])


def fits(problem: Problem, state: State, carrier: int, ladder: int, level: int, g: int) -> bool:
    """Whether a level can be done between the carrier's last run and this one."""
    return bool(problem.hours[ladder, level] <= problem.clock[g] - state.idle_since[carrier])


def called_for(problem: Problem, state: State, carrier: int, ladder: int, g: int) -> int:
    """The highest level that is due, or that reaches something due, in the gap before a run; -1 for none."""
    highest = -1
    for level in range(problem.levels[ladder]):
        if fits(problem, state, carrier, ladder, level, g) and (
            problem.called[ladder, level, g] or level_due(problem, state, carrier, ladder, level, g)
        ):
            highest = level
    for p in range(problem.level.shape[0]):
        level = problem.level[p]
        if problem.ladder[p] == ladder and level > highest and must_open(problem, state, carrier, p, g):
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
    """Whether a position opens its carrier: broken, at a limit that the run would pass, or due and in reach."""
    if state.broken[carrier, p]:
        return True
    ladder, level = problem.ladder[p], problem.level[p]
    if not fits(problem, state, carrier, ladder, level, g):
        return passes_limit(problem, state, carrier, p, g, g + 1, 0.0)
    ahead = problem.next_fit[ladder, level, g]
    return due(problem, state, carrier, p, g, ahead, 0.0) or passes_limit(problem, state, carrier, p, g, ahead, 0.0)


def due(problem: Problem, state: State, carrier: int, p: int, g: int, until: int, opened: float) -> bool:
    """Whether a life of the position is used up before run `until`; `opened`: an opening counted in.

    A life not begun is not used up, however long the way ahead: a new piece would not last longer.
    """
    for j in range(problem.life_from[p], problem.life_from[p + 1]):
        ahead = opened if problem.counts_openings[j] else problem.duty[j, until] - problem.duty[j, g]
        age = state.age[carrier, j]
        if age > 0 and age + ahead > problem.due_at[j] * (1 + SLACK):
            return True
    return False


def passes_limit(problem: Problem, state: State, carrier: int, p: int, g: int, until: int, opened: float) -> bool:
    """Whether a hard limit of the position is passed before run `until`; `opened`: an opening counted in."""
    for j in range(problem.life_from[p], problem.life_from[p + 1]):
        ahead = opened if problem.counts_openings[j] else problem.raw[j, until] - problem.raw[j, g]
        age = state.raw_age[carrier, j]
        if age > 0 and age + ahead > problem.limit[j] * (1 + SLACK):
            return True
    return False


def open_up(problem: Problem, state: State, carrier: int, ladder: int, highest: int, g: int) -> None:
    """One opening: labour paid once, everything within reach looked at, counters of the levels done set back."""
    note_opening(state, g, carrier, ladder, highest)
    for level in range(highest + 1):
        state.since[carrier, ladder, level] = 0.0
    for p in range(problem.level.shape[0]):
        if problem.ladder[p] != ladder or problem.level[p] > highest:
            continue
        cause = cause_to_renew(problem, state, carrier, p, highest, g)
        if cause >= 0:
            renew(problem, state, carrier, p, cause, highest, g)
        else:
            count_opening(problem, state, carrier, p)


def cause_to_renew(problem: Problem, state: State, carrier: int, p: int, highest: int, g: int) -> int:
    """Why a position within reach is renewed at an opening; -1 if it is not."""
    if state.broken[carrier, p]:
        return FAILURE
    ladder = problem.ladder[p]
    ahead = problem.next_fit[ladder, problem.level[p], g]
    if (
        problem.renews[ladder, highest, p]
        or due(problem, state, carrier, p, g, ahead, 1.0)
        or passes_limit(problem, state, carrier, p, g, ahead, 1.0)
    ):
        return PLANNED
    return EARLY if worth_renewing(problem, state, carrier, p, g) else -1


def worth_renewing(problem: Problem, state: State, carrier: int, p: int, g: int) -> bool:
    """Whether to renew what is not due: it would need an opening of its own that costs more than its life left."""
    if problem.early == EARLY_OFF:
        return False
    share = worn_share(problem, state, carrier, p)
    if problem.early == EARLY_SHARE:
        return share >= problem.early_share
    until = next_opening(problem, state, carrier, p, g)
    if not (due(problem, state, carrier, p, g, until, 0.0) or passes_limit(problem, state, carrier, p, g, until, 0.0)):
        return False
    left = balance(state.value[carrier, p], problem.resale[p], share)
    return bool(left < problem.cost[problem.ladder[p], problem.level[p]])


def next_opening(problem: Problem, state: State, carrier: int, p: int, g: int) -> int:
    """The run before which a level that reaches the position is next expected to be due; the season's end if none."""
    ladder = problem.ladder[p]
    nearest = int(problem.day.shape[0])
    for level in range(problem.level[p], problem.levels[ladder]):
        use = problem.use[problem.measure[ladder, level]]
        since = state.since[carrier, ladder, level] - use[g]
        for h in range(g + 1, nearest):
            if problem.called[ladder, level, h] or since + use[h + 1] > problem.interval[ladder, level] * (1 + SLACK):
                nearest = h
                break
    return nearest


def worn_share(problem: Problem, state: State, carrier: int, p: int) -> float:
    """x: the largest share used up of any life or limit of the position."""
    share = 0.0
    for j in range(problem.life_from[p], problem.life_from[p + 1]):
        share = max(share, state.age[carrier, j] / problem.worn_at[j], state.raw_age[carrier, j] / problem.limit[j])
    return share


def balance(value: int, resale: int, share: float) -> int:
    """B: what is left of a set's cost above its resale, in whole minor units."""
    return math.floor(max(0, value - resale) * (1.0 - min(1.0, share)) + 0.5)


def count_opening(problem: Problem, state: State, carrier: int, p: int) -> None:
    """A set that stays in through an opening is one opening older."""
    for j in range(problem.life_from[p], problem.life_from[p + 1]):
        if problem.counts_openings[j]:
            state.age[carrier, j] += 1.0
            state.raw_age[carrier, j] += 1.0


def renew(problem: Problem, state: State, carrier: int, p: int, cause: int, level: int, g: int) -> None:
    """Takes the old set out and puts another in: a used set that serves, new pieces on the shelf, or new packs."""
    item, pieces = problem.item[p], problem.pieces[p]
    mended = cause == FAILURE and problem.as_piece[p] and pieces > 1
    before = balance(state.value[carrier, p], problem.resale[p], worn_share(problem, state, carrier, p))
    state.broken[carrier, p] = False
    state.installed[carrier, p] += 1
    used = -1 if mended else used_set(problem, state, p, g)
    packs, paid, from_stock = 0, 0, 0
    if used >= 0:
        state.used_left[used] = False
        value = problem.used_value[used]
    else:
        wanted = 1 if mended else pieces
        if state.stock[item] < wanted:
            packs = -(-(wanted - state.stock[item]) // problem.pack[item])
            paid = packs * problem.pack_price[item]
            state.stock[item] += packs * problem.pack[item]
            state.stock_value[item] += paid
        from_stock = take(state, item, wanted)
        value = state.value[carrier, p] if mended else from_stock
    state.value[carrier, p] = value
    if not mended:
        for j in range(problem.life_from[p], problem.life_from[p + 1]):
            age = problem.used_age[used, j] if used >= 0 else 0.0
            state.age[carrier, j] = age
            state.raw_age[carrier, j] = age
    after = balance(value, problem.resale[p], worn_share(problem, state, carrier, p))
    n = state.n_renewals[0]
    row = state.renewals[n]
    row[0], row[1], row[2], row[3], row[4] = g, carrier, p, cause, 1 if mended else pieces
    row[5], row[6], row[7], row[8] = packs, paid, value, level
    state.left_behind[n, 0], state.left_behind[n, 1], state.left_behind[n, 2] = before, after, from_stock
    state.n_renewals[0] = n + 1


def take(state: State, item: int, wanted: int) -> int:
    """Takes new pieces from the shelf; their share of what the shelf cost, so that nothing is lost in rounding."""
    share = state.stock_value[item] * wanted // state.stock[item]
    state.stock[item] -= wanted
    state.stock_value[item] -= share
    return int(share)


def used_set(problem: Problem, state: State, p: int, g: int) -> int:
    """The most worn used set on the shelf that would not fall due before the next gap in which it could be changed."""
    ahead = problem.next_fit[problem.ladder[p], problem.level[p], g] if g < problem.day.shape[0] else g
    oldest, most = -1, -1.0
    for u in range(problem.used_item.shape[0]):
        if (
            not state.used_left[u]
            or problem.used_item[u] != problem.item[p]
            or problem.used_pieces[u] < problem.pieces[p]
        ):
            continue
        serves, share = True, 0.0
        for j in range(problem.life_from[p], problem.life_from[p + 1]):
            age = problem.used_age[u, j]
            late = age + problem.duty[j, ahead] - problem.duty[j, g] > problem.due_at[j] * (1 + SLACK)
            over = age + problem.raw[j, ahead] - problem.raw[j, g] > problem.limit[j] * (1 + SLACK)
            serves = serves and not late and not over
            share = max(share, age / problem.worn_at[j], age / problem.limit[j])
        if serves and share > most:
            oldest, most = u, share
    return oldest


def run(problem: Problem, state: State, fails_at: Floats, g: int, engine: int) -> None:
    """One run of an engine and the car: the life that ends first fails, and may stop the run."""
    car = state.age.shape[0] - 1
    fraction, failed, failed_on = 1.0, -1, -1
    for p in range(problem.level.shape[0]):
        carrier = car if problem.on_car[p] else engine
        if state.broken[carrier, p]:
            continue
        for j in range(problem.life_from[p], problem.life_from[p + 1]):
            step = problem.duty[j, g + 1] - problem.duty[j, g]
            n = min(state.installed[carrier, p], fails_at.shape[2] - 1)
            left = fails_at[carrier, j, n] - state.age[carrier, j]
            if step > 0 and left <= step and (failed < 0 or left / step < fraction):
                fraction, failed, failed_on = max(0.0, left / step), p, carrier
    if failed >= 0:
        state.broken[failed_on, failed] = True
    share = fraction if failed >= 0 and problem.stops[failed] else 1.0
    wear_down(problem, state, engine, g, share)
    wear_down(problem, state, car, g, share)


def wear_down(problem: Problem, state: State, carrier: int, g: int, share: float) -> None:
    """Ages what is on a carrier by a share of the run, and its counters with it; days pass by themselves."""
    on_car = carrier == state.age.shape[0] - 1
    for p in range(problem.level.shape[0]):
        if problem.on_car[p] == on_car:
            for j in range(problem.life_from[p], problem.life_from[p + 1]):
                if not problem.counts_days[j]:
                    age_by(problem, state, carrier, j, g, share)
    for ladder in range(problem.levels.shape[0]):
        if problem.ladder_on_car[ladder] == on_car:
            for level in range(problem.levels[ladder]):
                if not problem.interval_in_days[ladder, level]:
                    count_on(problem, state, carrier, ladder, level, g, share)
    state.total_use[carrier] += share
    state.idle_since[carrier] = problem.clock[g]


def pass_days(problem: Problem, state: State, g: int) -> None:
    """Ages every carrier by the days up to the next run, whether it ran or not."""
    car = state.age.shape[0] - 1
    for carrier in range(car + 1):
        on_car = carrier == car
        for p in range(problem.level.shape[0]):
            if problem.on_car[p] == on_car:
                for j in range(problem.life_from[p], problem.life_from[p + 1]):
                    if problem.counts_days[j]:
                        age_by(problem, state, carrier, j, g, 1.0)
        for ladder in range(problem.levels.shape[0]):
            if problem.ladder_on_car[ladder] == on_car:
                for level in range(problem.levels[ladder]):
                    if problem.interval_in_days[ladder, level]:
                        count_on(problem, state, carrier, ladder, level, g, 1.0)


def age_by(problem: Problem, state: State, carrier: int, j: int, g: int, share: float) -> None:
    """Ages one life by a share of a run."""
    state.age[carrier, j] += (problem.duty[j, g + 1] - problem.duty[j, g]) * share
    state.raw_age[carrier, j] += (problem.raw[j, g + 1] - problem.raw[j, g]) * share


def count_on(problem: Problem, state: State, carrier: int, ladder: int, level: int, g: int, share: float) -> None:
    """Adds a share of a run to the use since a level was done."""
    use = problem.use[problem.measure[ladder, level]]
    state.since[carrier, ladder, level] += (use[g + 1] - use[g]) * share


def put_right(problem: Problem, state: State, carrier: int, end: int) -> None:
    """After the last run: what is broken is put right at its level, with what that level always renews, and no more."""
    for ladder in range(problem.levels.shape[0]):
        highest = -1
        for p in range(problem.level.shape[0]):
            if problem.ladder[p] == ladder and state.broken[carrier, p]:
                highest = max(highest, problem.level[p])
        if highest < 0:
            continue
        note_opening(state, end, carrier, ladder, highest)
        for level in range(highest + 1):
            state.since[carrier, ladder, level] = 0.0
        for p in range(problem.level.shape[0]):
            if problem.ladder[p] == ladder and problem.level[p] <= highest:
                if state.broken[carrier, p]:
                    renew(problem, state, carrier, p, FAILURE, highest, end)
                elif problem.renews[ladder, highest, p]:
                    renew(problem, state, carrier, p, PLANNED, highest, end)


def note_opening(state: State, g: int, carrier: int, ladder: int, level: int) -> None:
    n = state.n_openings[0]
    row = state.openings[n]
    row[0], row[1], row[2], row[3] = g, carrier, ladder, level
    state.n_openings[0] = n + 1
