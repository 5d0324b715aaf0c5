"""The season machine: one scalar kernel that walks the runs and serves the engines in the gaps between them.

It is written in the plain subset of Python and numpy that a compiler of kernels takes, and knows no names: carriers,
positions, lives and levels are rows of arrays. What is uncertain is a parameter: `fails_at` (the age at which each
installed piece breaks), `lost` (runs rained out) and `due_at` (the age at which a life counts as used up). A plan is
the machine with nothing failing and nothing lost.

The rule book is rows too: *bars* shut levels once so many openings are done, other rows cap engines and pieces, and
`step_barred` names service steps that may not be done. Each row has a *bond*, its number in the book, under which
`acted` notes what it did.

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
# What is done when something is due at a barred level.
RUN_ON, CHANGE_ENGINE, STOP = 0, 1, 2
# What a bond did in the gap before a run: it refused work that was due, or kept the carrier from the run.
REFUSED, KEPT = 1, 2


class Problem(NamedTuple):
    """Everything the machine needs. G runs, C carriers (the car last), P positions, L lives, T ladders, K levels,
    M measures, I stock items, U used sets on the shelf, S service steps, N kits, B bars, E caps of engines, Q caps of
    pieces.
    Money in whole minor units, use in kept units.
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
    binds_to: Ints  # [L, G+1] end of the last run before each in which the limit binds; 0 if it binds in none
    dated: Bools  # [L] a limit by the paper of the part, which grows older on the shelf too
    ladder: Ints  # [P]
    level: Ints  # [P] lowest level that reaches the position
    on_car: Bools  # [P]
    pieces: Ints  # [P]
    stops: Bools  # [P]
    as_piece: Bools  # [P]
    steps: Ints  # [P] service steps that a set goes through before it is scrap
    step_cost: Ints  # [P, S] of the whole set
    step_factor: Floats  # [P, S+1] lives of a set that has been through so many steps, as a share of a new one's
    path_ahead: Floats  # [P, S+1] lives that the steps after so many add, as a multiple of a new set's
    path_whole: Floats  # [P, S+1] lives of the whole path of a set that has been through so many, the first among them
    step_mends: Bools  # [P, S] whether the step also mends what broke
    step_with: Bools  # [P, S, P] positions that change with the step
    step_item: Ints  # [P, S, P] stock item that a position takes from then on, -1 for its own
    step_barred: Ints  # [P, S, G] bond by which the step may not be done in the gap before the run, -1 for none
    renew_with: Bools  # [P, P] positions that are renewed whenever this one is
    order: Ints  # [P] positions by the names of their slots, so that the order of rows decides nothing
    item: Ints  # [P] stock item
    pack: Ints  # [I]
    resale: Ints  # [I] of one piece, unbroken
    least: Ints  # [I, G+1] packs that are sold at the price at the least
    pack_price: Ints  # [I, G+1] in the gap before each run, and after the last
    kit_price: Ints  # [N, G+1]
    kit_pieces: Ints  # [N, I] pieces of each stock item in a kit
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
    used_step: Ints  # [U] service steps it has been through
    bar_bond: Ints  # [B] bond that bars levels bar_low .. bar_high of a ladder
    bar_ladder: Ints  # [B]
    bar_low: Ints  # [B]
    bar_high: Ints  # [B]
    bar_most: Ints  # [B] openings at bar_low or above that are allowed
    bar_each: Bools  # [B] of each engine; else of all together
    bar_in_life: Bools  # [B] openings count whenever they were done; else while the bar is in force
    bar_holds: Bools  # [B, G] whether it is in force in the gap before the run
    engines_bond: Ints  # [E]
    engines_most: Ints  # [E] engines that may run
    engines_hold: Bools  # [E, G] whether it is in force on the day of the run
    pieces_bond: Ints  # [Q]
    pieces_most: Ints  # [Q] pieces that may be put in
    pieces_event: Bools  # [Q] at each event; else in the season
    pieces_of: Bools  # [Q, P] positions whose pieces count
    pieces_hold: Bools  # [Q, G]
    fee: Ints  # [T, K, G] what the book charges for one opening at the level in the gap before the run
    early: int
    early_share: float
    who_runs: int
    swap_hours: float
    when_barred: int


class State(NamedTuple):
    """What changes as the machine walks. The `n_*` arrays hold one number each."""

    age: Floats  # [C, L] duty since installed
    raw_age: Floats  # [C, L] raw use since installed
    broken: Bools  # [C, P]
    step: Ints  # [C, P] service steps that the installed set has been through
    item: Ints  # [C, P] stock item of the installed set
    value: Ints  # [C, P] what the installed set cost
    worked: Ints  # [C, P] what its last service step cost
    installed: Ints  # [C, P] how many sets so far
    since: Floats  # [C, T, K] use since a level was last done
    stock: Ints  # [I] new pieces on the shelf
    stock_value: Ints  # [I]
    used_left: Bools  # [U] used sets still on the shelf
    idle_since: Floats  # [C] end of the last run, in hours
    ready_at: Floats  # [C] when the carrier leaves the shop
    total_use: Floats  # [C]
    opened: Ints  # [B, C] openings that count for a bar
    overdue: Bools  # [C, T, K] a level whose date came while it was barred, and that has not been done since
    started: Bools  # [E, C] engines that have run while the cap was in force
    put_in: Ints  # [Q] pieces put in that count for a cap
    held: Bools  # [C, 2] kept back by the book from a run of this event: where it would not run on, and where it would
    acted: Ints  # [bonds, C, G] REFUSED or KEPT; 0 for neither
    ran: Ints  # [G] engine that ran, -1 for none
    openings: Ints  # [N, 4] run, carrier, ladder, level
    n_openings: Ints
    renewals: Ints  # [N, 13] run, carrier, position, cause, pieces, packs bought, paid, value of the new set, level,
    # the step just done (-1: another set was put in), the position it was renewed with (-1: for its own sake),
    # the item now in, the item before
    left_behind: Ints  # [N, 3] balance of the old set (unused life), balance of the new, value of pieces from stock
    n_renewals: Ints
    kits: Ints  # [M, 7] run, carrier, ladder, kit, paid, cause, how many
    n_kits: Ints
    trace_age: Floats  # [G or 0, C, L] ages after each run
    trace_raw: Floats  # [G or 0, C, L]
    trace_since: Floats  # [G or 0, C, T, K]
    trace_step: Ints  # [G or 0, C, P]
    trace_item: Ints  # [G or 0, C, P]
    trace_value: Ints  # [G or 0, C, P]
    trace_worked: Ints  # [G or 0, C, P]


def play(problem: Problem, state: State, fails_at: Floats) -> None:
    """Walks the season. `fails_at` [C, L, n]: age at which the n-th installed set breaks, the last for all later."""
    runs = problem.day.shape[0]
    incumbent = -1
    for g in range(runs):
        if problem.first[g]:
            incumbent = -1
            forget_event(problem, state)
        engine = who_runs(problem, state, g, incumbent)
        incumbent = engine if engine >= 0 else incumbent
        state.ran[g] = engine
        if engine >= 0 and not problem.lost[g]:
            run(problem, state, fails_at, g, engine)
            count_start(problem, state, engine, g)
        pass_days(problem, state, g)
        if state.trace_age.shape[0]:
            state.trace_age[g] = state.age
            state.trace_raw[g] = state.raw_age
            state.trace_since[g] = state.since
            state.trace_step[g] = state.step
            state.trace_item[g] = state.item
            state.trace_value[g] = state.value
            state.trace_worked[g] = state.worked
    for carrier in range(state.age.shape[0]):
        put_right(problem, state, carrier, runs)


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
    engines = state.age.shape[0] - 1
    asked = np.zeros(engines, dtype=np.bool_)
    if incumbent >= 0:
        asked[incumbent] = True
    for _ in range(engines):
        engine = next_asked(problem, state, g, asked)
        if engine < 0:
            break
        asked[engine] = True
        if may_start(problem, state, engine, g) and serve(problem, state, engine, g, run_on):
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


def may_start(problem: Problem, state: State, engine: int, g: int) -> bool:
    """Whether an engine has run before or one more may, by every clause that caps the engines of a season."""
    free = True
    for e in range(problem.engines_bond.shape[0]):
        if not problem.engines_hold[e, g] or state.started[e, engine]:
            continue
        if state.started[e].sum() >= problem.engines_most[e]:
            note(state, problem.engines_bond[e], engine, g, KEPT)
            free = False
    return free


def count_start(problem: Problem, state: State, engine: int, g: int) -> None:
    """Notes that an engine has run, for the caps in force."""
    for e in range(problem.engines_bond.shape[0]):
        if problem.engines_hold[e, g]:
            state.started[e, engine] = True


def forget_event(problem: Problem, state: State) -> None:
    """At a new event the pieces that may be put in at each event count from none, and nobody is kept back yet."""
    state.held[:] = False
    for q in range(problem.pieces_bond.shape[0]):
        if problem.pieces_event[q]:
            state.put_in[q] = 0


def note(state: State, bond: int, carrier: int, g: int, what: int) -> None:
    """Notes what a bond did to a carrier before a run; of several things the gravest."""
    state.acted[bond, carrier, g] = max(state.acted[bond, carrier, g], what)


def serve(problem: Problem, state: State, carrier: int, g: int, run_on: bool) -> bool:
    """Serves a carrier in the gap before a run; whether it is ready for the run, and the book lets it run.

    `run_on`: it also runs with something due at a barred level. One that the book keeps back is not opened, and is
    kept back for the rest of the event: uses that count once an event would let it into the later runs.
    """
    if state.ready_at[carrier] > problem.clock[g] or state.held[carrier, int(run_on)]:
        return False
    on_car = carrier == state.age.shape[0] - 1
    reached = np.full(problem.levels.shape[0], -1)
    for ladder in range(reached.shape[0]):
        if problem.ladder_on_car[ladder] == on_car:
            reached[ladder] = called_for(problem, state, carrier, ladder, g)
    if kept_back(problem, state, carrier, reached, g, run_on):
        state.held[carrier, int(run_on)] = True
        return False
    for ladder in range(reached.shape[0]):
        level = reached[ladder]
        if level >= 0:
            open_up(problem, state, carrier, ladder, level, g)
            ready = state.idle_since[carrier] + problem.hours[ladder, level]
            state.ready_at[carrier] = max(state.ready_at[carrier], ready)
    if reached.max() >= 0 and kept_back(problem, state, carrier, reached, g, run_on):
        state.held[carrier, int(run_on)] = True
        return False
    return bool(state.ready_at[carrier] <= problem.clock[g])


def kept_back(problem: Problem, state: State, carrier: int, reached: Ints, g: int, run_on: bool) -> bool:
    """Whether the book keeps a carrier from a run; `reached`: the level of each ladder that is opened before it."""
    if problem.bar_bond.shape[0] == 0 and problem.pieces_bond.shape[0] == 0:
        return False
    on_car, kept = carrier == state.age.shape[0] - 1, False
    for p in range(problem.level.shape[0]):
        ladder = problem.ladder[p]
        if problem.on_car[p] == on_car and position_kept(problem, state, carrier, p, reached[ladder], g, run_on):
            kept = True
    for ladder in range(problem.levels.shape[0]):
        if problem.ladder_on_car[ladder] == on_car:
            for level in range(reached[ladder] + 1, problem.levels[ladder]):
                if level_kept(problem, state, carrier, ladder, level, g, run_on):
                    kept = True
    return kept


def position_kept(problem: Problem, state: State, carrier: int, p: int, reached: int, g: int, run_on: bool) -> bool:
    """Whether a position keeps its carrier from a run, since the book does not let it be renewed.

    It does where it is broken or the run would pass its hard limit; where it is only due, and not to run on, at a
    barred level.
    """
    ladder, level = problem.ladder[p], problem.level[p]
    broken = bool(state.broken[carrier, p])
    must = broken or limit_in_run(problem, state, carrier, p, g)
    if level > reached and is_barred(problem, state, carrier, ladder, level, g):
        if not must and not due(problem, state, carrier, p, g, g + 1, 0.0):
            return False
        kept = must or not run_on
        note_bars(problem, state, carrier, ladder, level, g, kept)
        return kept
    cause = FAILURE if broken else PLANNED
    return must and not obtainable(problem, state, carrier, p, cause, g, KEPT)


def level_kept(problem: Problem, state: State, carrier: int, ladder: int, level: int, g: int, run_on: bool) -> bool:
    """Whether a level that is due and barred keeps its carrier from a run; a date that came stays due until it is done.

    Barred, it falls due with the run that would pass its interval: there is no later gap to look ahead to.
    """
    if not is_barred(problem, state, carrier, ladder, level, g):
        return False
    if problem.called[ladder, level, g]:
        state.overdue[carrier, ladder, level] = True
    since, use = state.since[carrier, ladder, level], problem.use[problem.measure[ladder, level]]
    passed = since > 0 and since + use[g + 1] - use[g] > problem.interval[ladder, level] * (1 + SLACK)
    if not (passed or state.overdue[carrier, ladder, level]):
        return False
    note_bars(problem, state, carrier, ladder, level, g, not run_on)
    return not run_on


def is_barred(problem: Problem, state: State, carrier: int, ladder: int, level: int, g: int) -> bool:
    """Whether the book bars an opening of a carrier at a level in the gap before a run."""
    down = False
    for b in range(problem.bar_bond.shape[0]):
        down = down or bars(problem, state, b, carrier, ladder, level, g)
    return down


def bars(problem: Problem, state: State, b: int, carrier: int, ladder: int, level: int, g: int) -> bool:
    """Whether a bar is in force on a level before a run, and the openings that it allows are done."""
    if problem.bar_ladder[b] != ladder or not problem.bar_low[b] <= level <= problem.bar_high[b]:
        return False
    done = state.opened[b, carrier] if problem.bar_each[b] else state.opened[b].sum()
    return bool(problem.bar_holds[b, g] and done >= problem.bar_most[b])


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
            problem.called[ladder, level, g]
            or state.overdue[carrier, ladder, level]
            or level_due(problem, state, carrier, ladder, level, g)
        )
        allowed = not is_barred(problem, state, carrier, ladder, level, g)
        if wanted and allowed and fits(problem, state, carrier, ladder, level, g):
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
    """Whether a position opens its carrier: broken, at a limit that the run would pass, or due and in reach.

    The book must let it be renewed, else opening would do nothing for it.
    """
    ladder, level = problem.ladder[p], problem.level[p]
    ahead = problem.next_fit[ladder, level, g]
    if state.broken[carrier, p]:
        wanted = True
    elif not fits(problem, state, carrier, ladder, level, g):
        wanted = passes_limit(problem, state, carrier, p, g, g + 1, 0.0)
    else:
        wanted = due(problem, state, carrier, p, g, ahead, 0.0) or passes_limit(
            problem, state, carrier, p, g, ahead, 0.0
        )
    if not wanted or is_barred(problem, state, carrier, ladder, level, g):
        return False
    cause = FAILURE if state.broken[carrier, p] else PLANNED
    return obtainable(problem, state, carrier, p, cause, g, REFUSED)


def obtainable(problem: Problem, state: State, carrier: int, p: int, cause: int, g: int, what: int) -> bool:
    """Whether the caps on pieces let a position be renewed with what goes along; `what` is noted if not."""
    if problem.pieces_bond.shape[0] == 0:
        return True
    causes, drawn_by = no_causes(problem), no_causes(problem)
    causes[p] = cause
    draw_along(problem, state, carrier, causes, drawn_by, g)
    passed = cap_passed(problem, state, carrier, causes, g)
    if passed >= 0:
        note(state, problem.pieces_bond[passed], carrier, g, what)
    return passed < 0


def cap_passed(problem: Problem, state: State, carrier: int, causes: Ints, g: int) -> int:
    """The cap on pieces that a set of renewals would pass; -1 for none."""
    for q in range(problem.pieces_bond.shape[0]):
        if not problem.pieces_hold[q, g]:
            continue
        added = 0
        for p in range(causes.shape[0]):
            if causes[p] >= 0 and problem.pieces_of[q, p]:
                added += pieces_put_in(problem, state, carrier, p, causes[p], g)
        if added > 0 and state.put_in[q] + added > problem.pieces_most[q]:
            return q
    return -1


def pieces_put_in(problem: Problem, state: State, carrier: int, p: int, cause: int, g: int) -> int:
    """Pieces, new or used, that a renewal puts in: none where the set goes through a service step."""
    if next_step(problem, state, carrier, p, cause, g) >= 0:
        return 0
    return 1 if mends_piece(problem, state, carrier, p, cause) else int(problem.pieces[p])


def ration(problem: Problem, state: State, carrier: int, causes: Ints, drawn_by: Ints, g: int) -> None:
    """Takes out the renewals that the caps on pieces leave nothing for: failures come first, then plans, then early.

    What is renewed together is taken out together.
    """
    wanted, asked_by = causes.copy(), drawn_by.copy()
    causes[:] = -1
    drawn_by[:] = -1
    for cause in (FAILURE, PLANNED, EARLY):
        for i in range(wanted.shape[0]):
            p = problem.order[i]
            if wanted[p] != cause or asked_by[p] >= 0:
                continue
            trial, trial_by = causes.copy(), drawn_by.copy()
            trial[p], trial_by[p] = cause, -1
            draw_along(problem, state, carrier, trial, trial_by, g)
            passed = cap_passed(problem, state, carrier, trial, g)
            if passed < 0:
                causes[:] = trial
                drawn_by[:] = trial_by
            elif cause != EARLY:
                note(state, problem.pieces_bond[passed], carrier, g, REFUSED)


def due(problem: Problem, state: State, carrier: int, p: int, g: int, until: int, opened: float) -> bool:
    """Whether a life of the position is used up before run `until`; `opened`: an opening counted in.

    A life not begun is not used up, however long the way ahead: a new piece would not last longer.
    """
    factor = problem.step_factor[p, state.step[carrier, p]]
    for j in range(problem.life_from[p], problem.life_from[p + 1]):
        ahead = opened if problem.counts_openings[j] else problem.duty[j, until] - problem.duty[j, g]
        age = state.age[carrier, j]
        if age > 0 and age + ahead > problem.due_at[j] * factor * (1 + SLACK):
            return True
    return False


def passes_limit(problem: Problem, state: State, carrier: int, p: int, g: int, until: int, opened: float) -> bool:
    """Whether a hard limit of the position is passed before run `until`; `opened`: an opening counted in."""
    for j in range(problem.life_from[p], problem.life_from[p + 1]):
        age = state.raw_age[carrier, j]
        if age > 0 and beyond(problem, j, age, g, until, opened):
            return True
    return False


def beyond(problem: Problem, j: int, age: float, g: int, until: int, opened: float) -> bool:
    """Whether a hard limit is passed before run `until` from an age before run g; one that binds in no run is not."""
    end = problem.binds_to[j, until]
    if end < until and end <= g:
        return False
    ahead = opened if problem.counts_openings[j] else problem.raw[j, end] - problem.raw[j, g]
    return bool(age + ahead > problem.limit[j] * (1 + SLACK))


def limit_in_run(problem: Problem, state: State, carrier: int, p: int, g: int) -> bool:
    """Whether the run itself would pass a hard limit: one in days on its day, whenever the next run is."""
    for j in range(problem.life_from[p], problem.life_from[p + 1]):
        age = state.raw_age[carrier, j]
        use = 0.0 if problem.counts_openings[j] or problem.counts_days[j] else problem.raw[j, g + 1] - problem.raw[j, g]
        if age > 0 and problem.binds_to[j, g + 1] > g and age + use > problem.limit[j] * (1 + SLACK):
            return True
    return False


def open_up(problem: Problem, state: State, carrier: int, ladder: int, highest: int, g: int) -> None:
    """One opening: labour paid once, everything within reach looked at, counters of the levels done set back."""
    note_opening(state, g, carrier, ladder, highest)
    count_openings(problem, state, carrier, ladder, highest, g)
    for level in range(highest + 1):
        state.since[carrier, ladder, level] = 0.0
        state.overdue[carrier, ladder, level] = False
    causes, drawn_by = no_causes(problem), no_causes(problem)
    for p in range(causes.shape[0]):
        if reaches(problem, ladder, highest, p):
            causes[p] = cause_to_renew(problem, state, carrier, p, highest, g)
    draw_along(problem, state, carrier, causes, drawn_by, g)
    renew_early(problem, state, carrier, ladder, highest, causes, drawn_by, g)
    if cap_passed(problem, state, carrier, causes, g) >= 0:
        ration(problem, state, carrier, causes, drawn_by, g)
    renew_all(problem, state, carrier, ladder, causes, drawn_by, highest, g)
    for p in range(causes.shape[0]):
        if causes[p] < 0 and reaches(problem, ladder, highest, p):
            count_opening(problem, state, carrier, p)


def no_causes(problem: Problem) -> Ints:
    return np.full(problem.level.shape[0], -1)


def renew_early(
    problem: Problem, state: State, carrier: int, ladder: int, highest: int, causes: Ints, drawn_by: Ints, g: int
) -> None:
    """Notes what is worth renewing early beside what must be renewed, each judged with what it would take along."""
    must = causes.copy()
    for p in range(must.shape[0]):
        if must[p] < 0 and reaches(problem, ladder, highest, p) and worth_renewing(problem, state, carrier, p, must, g):
            causes[p], drawn_by[p] = EARLY, -1
    draw_along(problem, state, carrier, causes, drawn_by, g)


def reaches(problem: Problem, ladder: int, level: int, p: int) -> bool:
    """Whether an opening at a level lays a position bare."""
    return bool(problem.ladder[p] == ladder and problem.level[p] <= level)


def renew_all(
    problem: Problem, state: State, carrier: int, ladder: int, causes: Ints, drawn_by: Ints, level: int, g: int
) -> None:
    """Renews every position that has a cause."""
    items = suited(problem, state, carrier, causes, g)
    if problem.kit_price.shape[0]:
        buy_kits(problem, state, carrier, ladder, needed(problem, state, carrier, causes, items, g), causes, g)
    for i in range(causes.shape[0]):
        p = problem.order[i]
        if causes[p] >= 0:
            renew(problem, state, carrier, p, causes[p], items[p], drawn_by[p], level, g)


def draw_along(problem: Problem, state: State, carrier: int, causes: Ints, drawn_by: Ints, g: int) -> None:
    """What is renewed takes along what must change with it or with the step it goes through, and that in turn.

    What is taken along gets the cause it is taken for; of several the strongest, failures before plans.
    """
    for cause in (FAILURE, PLANNED, EARLY):
        found = True
        while found:
            found = False
            for i in range(causes.shape[0]):
                p = problem.order[i]
                if causes[p] != cause:
                    continue
                for j in range(causes.shape[0]):
                    q = problem.order[j]
                    if causes[q] < 0 and goes_along(problem, state, carrier, p, q, cause, g):
                        causes[q], drawn_by[q] = cause, p
                        found = True


def goes_along(problem: Problem, state: State, carrier: int, p: int, q: int, cause: int, g: int) -> bool:
    """Whether q must change with p: always, with the step that p goes through, or to another item."""
    step = next_step(problem, state, carrier, p, cause, g)
    if problem.renew_with[p, q] or (step >= 0 and problem.step_with[p, step, q]):
        return True
    if problem.steps[p] == 0:
        return False
    after = steps_after(problem, state, carrier, p, cause, g)
    return item_after(problem, p, state.step[carrier, p], q) != item_after(problem, p, after, q)


def steps_after(problem: Problem, state: State, carrier: int, p: int, cause: int, g: int) -> int:
    """How many service steps what is in a position will have been through when it is renewed."""
    step = next_step(problem, state, carrier, p, cause, g)
    if step >= 0:
        return step + 1
    if mends_piece(problem, state, carrier, p, cause):
        return int(state.step[carrier, p])
    used = used_set(problem, state.used_left, p, state.item[carrier, p], g)
    return int(problem.used_step[used]) if used >= 0 else 0


def item_after(problem: Problem, p: int, steps: int, q: int) -> int:
    """The stock item that goes with a set which has been through so many steps: pistons of a bored block."""
    item = problem.item[q]
    for step in range(steps):
        if problem.step_item[p, step, q] >= 0:
            item = problem.step_item[p, step, q]
    return int(item)


def suited(problem: Problem, state: State, carrier: int, causes: Ints, g: int) -> Ints:
    """The item that each position takes now: what goes with the steps of what it is renewed with, else as before."""
    items: Ints = state.item[carrier].copy()
    for p in range(causes.shape[0]):
        if causes[p] >= 0 and problem.steps[p] > 0:
            after = steps_after(problem, state, carrier, p, causes[p], g)
            for q in range(causes.shape[0]):
                if item_after(problem, p, problem.steps[p], q) != problem.item[q]:
                    items[q] = item_after(problem, p, after, q)
    return items


def needed(problem: Problem, state: State, carrier: int, causes: Ints, items: Ints, g: int) -> Ints:
    """New pieces of each stock item that an opening takes, used sets on the shelf taken first."""
    pieces, used_left = np.zeros(problem.pack.shape[0], dtype=np.int64), state.used_left.copy()
    for i in range(causes.shape[0]):
        p = problem.order[i]
        if causes[p] < 0 or next_step(problem, state, carrier, p, causes[p], g) >= 0:
            continue
        if mends_piece(problem, state, carrier, p, causes[p]):
            pieces[state.item[carrier, p]] += 1
            continue
        used = used_set(problem, used_left, p, items[p], g)
        if used >= 0:
            used_left[used] = False
        else:
            pieces[items[p]] += problem.pieces[p]
    return pieces


def buy_kits(problem: Problem, state: State, carrier: int, ladder: int, pieces: Ints, causes: Ints, g: int) -> None:
    """Buys the kit that saves most against its parts in packs, again while one saves; its pieces go on the shelf."""
    start = state.n_kits[0]
    cause = strongest(causes)
    while True:
        apart, best, most = cost_apart(problem, state, pieces, g), -1, 0
        for kit in range(problem.kit_price.shape[0]):
            rest = np.maximum(0, pieces - problem.kit_pieces[kit])
            saved = apart - cost_apart(problem, state, rest, g) - problem.kit_price[kit, g]
            if saved > most:
                best, most = kit, saved
        if best < 0:
            return
        shelve(problem, state, best, g)
        note_kit(problem, state, carrier, ladder, best, cause, start, g)


def strongest(causes: Ints) -> int:
    """The strongest cause of an opening."""
    for cause in (FAILURE, PLANNED):
        for p in range(causes.shape[0]):
            if causes[p] == cause:
                return cause
    return EARLY


def note_kit(
    problem: Problem, state: State, carrier: int, ladder: int, kit: int, cause: int, start: int, g: int
) -> None:
    """One more kit in the row of its kind since `start`, or in a row of its own."""
    n = start
    while n < state.n_kits[0] and state.kits[n, 3] != kit:
        n += 1
    row = state.kits[n]
    row[0], row[1], row[2], row[3], row[5] = g, carrier, ladder, kit, cause
    row[4] += problem.kit_price[kit, g]
    row[6] += 1
    state.n_kits[0] = max(state.n_kits[0], n + 1)


def cost_apart(problem: Problem, state: State, pieces: Ints, g: int) -> int:
    """What so many pieces cost in packs, beyond what the shelf holds."""
    cost = 0
    for item in range(pieces.shape[0]):
        wanted = max(0, pieces[item] - state.stock[item])
        cost += packs_of(problem, item, wanted, g) * problem.pack_price[item, g]
    return int(cost)


def packs_of(problem: Problem, item: int, wanted: int, g: int) -> int:
    """Packs that hold so many pieces, at least as many as are sold at the price; none for none."""
    packs = -(-wanted // problem.pack[item])
    return int(max(packs, problem.least[item, g])) if packs > 0 else 0


def shelve(problem: Problem, state: State, kit: int, g: int) -> None:
    """Puts a kit's pieces on the shelf, its price shared out among them as they cost apart."""
    whole = 0
    for item in range(problem.pack.shape[0]):
        whole += worth_apart(problem, kit, item, g)
    seen, given = 0, 0
    for item in range(problem.pack.shape[0]):
        seen += worth_apart(problem, kit, item, g)
        share = (2 * problem.kit_price[kit, g] * seen + whole) // (2 * whole) - given
        given += share
        state.stock[item] += problem.kit_pieces[kit, item]
        state.stock_value[item] += share


def worth_apart(problem: Problem, kit: int, item: int, g: int) -> int:
    """What a kit's pieces of an item would cost as shares of packs, rounded up."""
    return int(-(-problem.kit_pieces[kit, item] * problem.pack_price[item, g] // problem.pack[item]))


def next_step(problem: Problem, state: State, carrier: int, p: int, cause: int, g: int) -> int:
    """The service step that renews a set instead of another set; -1 where its path has ended or the book bars it."""
    step = step_ahead(problem, state, carrier, p, cause, g)
    return -1 if step_bond(problem, p, step, g) >= 0 else step


def step_bond(problem: Problem, p: int, step: int, g: int) -> int:
    """The bond that bars a service step in the gap before a run; -1 for none, and after the last run."""
    return int(problem.step_barred[p, step, g]) if step >= 0 and g < problem.day.shape[0] else -1


def step_ahead(problem: Problem, state: State, carrier: int, p: int, cause: int, g: int) -> int:
    """The service step that would renew a set but for the book; -1 where its path has ended.

    What broke is mended by a step only where the step says so. No step takes a set past a hard limit of its own.
    """
    step = state.step[carrier, p]
    if step >= problem.steps[p] or mends_piece(problem, state, carrier, p, cause):
        return -1
    if state.broken[carrier, p] and not problem.step_mends[p, step]:
        return -1
    if g < problem.day.shape[0]:
        ahead = problem.next_fit[problem.ladder[p], problem.level[p], g]
        if passes_limit(problem, state, carrier, p, g, ahead, 1.0):
            return -1
    return int(step)


def mends_piece(problem: Problem, state: State, carrier: int, p: int, cause: int) -> bool:
    """Whether one piece of a set is put in for the one that broke."""
    return bool(cause == FAILURE and state.broken[carrier, p] and problem.as_piece[p] and problem.pieces[p] > 1)


def cause_to_renew(problem: Problem, state: State, carrier: int, p: int, highest: int, g: int) -> int:
    """Why a position within reach is renewed at an opening; -1 if it is not."""
    if state.broken[carrier, p]:
        return FAILURE
    ladder = problem.ladder[p]
    ahead = problem.next_fit[ladder, problem.level[p], g]
    called_for = (
        problem.renews[ladder, highest, p]
        or due(problem, state, carrier, p, g, ahead, 1.0)
        or passes_limit(problem, state, carrier, p, g, ahead, 1.0)
    )
    return PLANNED if called_for else -1


def worth_renewing(problem: Problem, state: State, carrier: int, p: int, must: Ints, g: int) -> bool:
    """Whether to renew what is not due: it would need an opening of its own, which costs more than what is lost now.

    Lost is the life left in it and in what goes along with it; `must`: causes of what is renewed anyway. Where the book
    bars every opening until it would be used up, there is none to wait for.
    """
    if problem.early == EARLY_OFF:
        return False
    share = worn_share(problem, state, carrier, p)
    if problem.early == EARLY_SHARE:
        return share >= problem.early_share
    last = used_up_in(problem, state, carrier, p, g, next_opening(problem, state, carrier, p, g))
    if last < 0:
        return False
    if no_later_opening(problem, state, carrier, p, g, last):
        return True
    trial, drawn_by, lost = must.copy(), no_causes(problem), 0
    trial[p] = EARLY
    draw_along(problem, state, carrier, trial, drawn_by, g)
    for q in range(trial.shape[0]):
        if trial[q] >= 0 and must[q] < 0:
            lost += lost_by(problem, state, carrier, q, g)
    ladder, level = problem.ladder[p], problem.level[p]
    return bool(lost < problem.cost[ladder, level] + problem.fee[ladder, level, last])


def used_up_in(problem: Problem, state: State, carrier: int, p: int, g: int, until: int) -> int:
    """The run before `until` in which a position would be used up or pass a limit; -1 for none."""
    if not (due(problem, state, carrier, p, g, until, 0.0) or passes_limit(problem, state, carrier, p, g, until, 0.0)):
        return -1
    last = g
    while not (
        due(problem, state, carrier, p, g, last + 1, 0.0) or passes_limit(problem, state, carrier, p, g, last + 1, 0.0)
    ):
        last += 1
    return last


def no_later_opening(problem: Problem, state: State, carrier: int, p: int, g: int, last: int) -> bool:
    """Whether the book bars every later gap in which a position could be renewed before run `last` uses it up."""
    ladder, level = problem.ladder[p], problem.level[p]
    h, barred = problem.next_fit[ladder, level, g], False
    while h <= last:
        if not is_barred(problem, state, carrier, ladder, level, h):
            return False
        h, barred = problem.next_fit[ladder, level, h], True
    return barred


def lost_by(problem: Problem, state: State, carrier: int, p: int, g: int) -> int:
    """What of a balance is lost if a position is renewed early: all of it, or what is left before its next step."""
    lost = left_of(problem, state, carrier, p)
    if next_step(problem, state, carrier, p, EARLY, g) >= 0:
        item, step = state.item[carrier, p], state.step[carrier, p]
        lost -= balance(problem, p, item, step, state.value[carrier, p], state.worked[carrier, p], 1.0)
    return lost


def next_opening(problem: Problem, state: State, carrier: int, p: int, g: int) -> int:
    """The run before which a level that reaches the position is next expected to be due and allowed.

    The season's end if there is none.
    """
    ladder = problem.ladder[p]
    nearest = int(problem.day.shape[0])
    for level in range(problem.level[p], problem.levels[ladder]):
        use = problem.use[problem.measure[ladder, level]]
        since = state.since[carrier, ladder, level] - use[g]
        bound = problem.interval[ladder, level] * (1 + SLACK)
        for h in range(g + 1, nearest):
            wanted = problem.called[ladder, level, h] or since + use[h + 1] > bound
            if wanted and not is_barred(problem, state, carrier, ladder, level, h):
                nearest = h
                break
    return nearest


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


def count_opening(problem: Problem, state: State, carrier: int, p: int) -> None:
    """A set that stays in through an opening is one opening older."""
    for j in range(problem.life_from[p], problem.life_from[p + 1]):
        if problem.counts_openings[j]:
            state.age[carrier, j] += 1.0
            state.raw_age[carrier, j] += 1.0


def renew(
    problem: Problem, state: State, carrier: int, p: int, cause: int, item: int, drawn_by: int, level: int, g: int
) -> None:
    """Renews a position: by the next step of its path, by one piece of its set, or by another set of an item.

    Another set is a used one from the shelf that serves, new pieces from the shelf, or new packs.
    """
    before_item = state.item[carrier, p]
    mended, step = mends_piece(problem, state, carrier, p, cause), next_step(problem, state, carrier, p, cause, g)
    before = left_of(problem, state, carrier, p)
    note_renewal(problem, state, carrier, p, cause, g)
    state.broken[carrier, p] = False
    state.installed[carrier, p] += 1
    packs, paid, from_stock = 0, 0, 0
    if step >= 0:
        paid = work_on(problem, state, carrier, p, step)
    elif mended:
        packs, paid, from_stock = from_shelf(problem, state, before_item, 1, g)
        count_opening(problem, state, carrier, p)
    else:
        packs, paid, from_stock = exchange(problem, state, carrier, p, item, g)
    after = left_of(problem, state, carrier, p)
    n = state.n_renewals[0]
    row = state.renewals[n]
    row[0], row[1], row[2], row[3], row[4] = g, carrier, p, cause, 1 if mended else problem.pieces[p]
    row[5], row[6], row[7], row[8] = packs, paid, state.value[carrier, p], level
    row[9], row[10], row[11], row[12] = step, drawn_by, state.item[carrier, p], before_item
    state.left_behind[n, 0], state.left_behind[n, 1], state.left_behind[n, 2] = before, after, from_stock
    state.n_renewals[0] = n + 1


def note_renewal(problem: Problem, state: State, carrier: int, p: int, cause: int, g: int) -> None:
    """Counts the pieces put in for the caps in force, and notes a step that the book bars; not after the last run."""
    if g == problem.day.shape[0]:
        return
    for q in range(problem.pieces_bond.shape[0]):
        if problem.pieces_hold[q, g] and problem.pieces_of[q, p]:
            state.put_in[q] += pieces_put_in(problem, state, carrier, p, cause, g)
    bond = step_bond(problem, p, step_ahead(problem, state, carrier, p, cause, g), g)
    if bond >= 0:
        note(state, bond, carrier, g, REFUSED)


def work_on(problem: Problem, state: State, carrier: int, p: int, step: int) -> int:
    """The set goes through a step: its lives begin again, its hard limits go on; what the step cost."""
    state.step[carrier, p] = step + 1
    state.worked[carrier, p] = problem.step_cost[p, step]
    count_opening(problem, state, carrier, p)
    for j in range(problem.life_from[p], problem.life_from[p + 1]):
        state.age[carrier, j] = 0.0
    return int(problem.step_cost[p, step])


def exchange(problem: Problem, state: State, carrier: int, p: int, item: int, g: int) -> tuple[int, int, int]:
    """Puts another set in; packs bought, what they cost, and the value of new pieces taken from the shelf."""
    used = used_set(problem, state.used_left, p, item, g)
    state.item[carrier, p] = item
    packs, paid, from_stock = 0, 0, 0
    if used >= 0:
        state.used_left[used] = False
        state.value[carrier, p], state.step[carrier, p] = problem.used_value[used], problem.used_step[used]
        state.worked[carrier, p] = worked_before(problem, p, problem.used_step[used])
    else:
        packs, paid, from_stock = from_shelf(problem, state, item, problem.pieces[p], g)
        state.value[carrier, p], state.step[carrier, p], state.worked[carrier, p] = from_stock, 0, 0
    for j in range(problem.life_from[p], problem.life_from[p + 1]):
        age = shelf_age(problem, used, j, g) if used >= 0 else 0.0
        state.age[carrier, j] = age
        state.raw_age[carrier, j] = age
    return packs, paid, from_stock


def worked_before(problem: Problem, p: int, step: int) -> int:
    """What the last of so many service steps cost."""
    return int(problem.step_cost[p, step - 1]) if step > 0 else 0


def from_shelf(problem: Problem, state: State, item: int, wanted: int, g: int) -> tuple[int, int, int]:
    """Takes new pieces, packs being bought where there are too few: packs, what they cost, value of the pieces."""
    packs, paid = 0, 0
    if state.stock[item] < wanted:
        packs = packs_of(problem, item, wanted - state.stock[item], g)
        paid = packs * problem.pack_price[item, g]
        state.stock[item] += packs * problem.pack[item]
        state.stock_value[item] += paid
    return packs, paid, take(state, item, wanted)


def take(state: State, item: int, wanted: int) -> int:
    """Takes new pieces from the shelf; their share of what the shelf cost, so that nothing is lost in rounding."""
    share = state.stock_value[item] * wanted // state.stock[item]
    state.stock[item] -= wanted
    state.stock_value[item] -= share
    return int(share)


def used_set(problem: Problem, used_left: Bools, p: int, item: int, g: int) -> int:
    """The most worn used set of an item, of those left, that would not fall due before the next gap to change it."""
    ahead = problem.next_fit[problem.ladder[p], problem.level[p], g] if g < problem.day.shape[0] else g
    oldest, most = -1, -1.0
    for u in range(problem.used_item.shape[0]):
        if not used_left[u] or problem.used_item[u] != item or problem.used_pieces[u] < problem.pieces[p]:
            continue
        serves, share, factor = True, 0.0, problem.step_factor[p, problem.used_step[u]]
        for j in range(problem.life_from[p], problem.life_from[p + 1]):
            age = shelf_age(problem, u, j, g)
            late = age + problem.duty[j, ahead] - problem.duty[j, g] > problem.due_at[j] * factor * (1 + SLACK)
            serves = serves and not late and not beyond(problem, j, age, g, ahead, 0.0)
            share = max(share, age / (problem.worn_at[j] * factor), age / problem.limit[j])
        if serves and share > most:
            oldest, most = u, share
    return oldest


def shelf_age(problem: Problem, u: int, j: int, g: int) -> float:
    """The age of a used set on the shelf before a run; that of its paper grows there too."""
    days = problem.raw[j, g] if problem.dated[j] else 0.0
    return float(problem.used_age[u, j] + days)


def run(problem: Problem, state: State, fails_at: Floats, g: int, engine: int) -> None:
    """One run of an engine and the car: the life that ends first fails, and may stop the run."""
    car = state.age.shape[0] - 1
    fraction, failed, failed_on = 1.0, -1, -1
    for p in range(problem.level.shape[0]):
        carrier = car if problem.on_car[p] else engine
        if state.broken[carrier, p]:
            continue
        factor = problem.step_factor[p, state.step[carrier, p]]
        for j in range(problem.life_from[p], problem.life_from[p + 1]):
            step = problem.duty[j, g + 1] - problem.duty[j, g]
            n = min(state.installed[carrier, p], fails_at.shape[2] - 1)
            left = fails_at[carrier, j, n] * factor - state.age[carrier, j]
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
    """After the last run: what is broken is put right at its level, with what that level always renews, and no more.

    The book does not bind it, since it belongs to the next season.
    """
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
        causes, drawn_by = no_causes(problem), no_causes(problem)
        for p in range(causes.shape[0]):
            if reaches(problem, ladder, highest, p):
                causes[p] = cause_to_put_right(problem, state, carrier, p, highest)
        draw_along(problem, state, carrier, causes, drawn_by, end)
        renew_all(problem, state, carrier, ladder, causes, drawn_by, highest, end)


def cause_to_put_right(problem: Problem, state: State, carrier: int, p: int, highest: int) -> int:
    """Why a position is renewed after the last run; -1 if it is not."""
    if state.broken[carrier, p]:
        return FAILURE
    return PLANNED if problem.renews[problem.ladder[p], highest, p] else -1


def note_opening(state: State, g: int, carrier: int, ladder: int, level: int) -> None:
    n = state.n_openings[0]
    row = state.openings[n]
    row[0], row[1], row[2], row[3] = g, carrier, ladder, level
    state.n_openings[0] = n + 1
