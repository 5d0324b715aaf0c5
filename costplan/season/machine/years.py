"""A season played year after year: what lasts is carried over the winter, what counts in a season alone begins anew.

Prices, calendar and book stay as they are in the first year. What a year draws is named by the season's number and the
year: what is in is drawn anew given its age, which has the distribution of what is left of its life. What a check of
the year before did not see is forgotten with it.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from costplan.season.machine.play import play
from costplan.season.machine.records import Ints, Problem, State
from costplan.season.machine.renewing import share_of
from costplan.season.machine.running import break_down
from costplan.season.machine.seasons import Block, Buffers, keep, set_back
from costplan.season.machine.wear import left_of, owed

#: Between the numbers of a season's years: more seasons are never drawn, and 2^9 such years fit a word of the draws.
APART = 8388608
MOST_YEARS = 511

#: Use since a level was done of what has not run since: a hair less than none, so that no date calls for it again.
UNUSED = -1e-300

DAYS_A_YEAR = 365.0


class Years(NamedTuple):
    """How years follow each other, and what is kept of them beside a Block, whose rows are years of seasons."""

    number: int  # of years
    engine: int  # carrier whose worth is kept, and that is sold; -1 for none
    every: int  # it is sold, and a new one is in its place, after so many years and so on; 0 for never
    worth: Ints  # [n * number] what the parts of the engine are worth at the end of each year, work owed taken off


def empty_years(number: int, engine: int, every: int, n: int) -> Years:
    """Room for n seasons of so many years."""
    return Years(number, engine, every, np.zeros(n * number, dtype=np.int64))


def play_years(
    problem: Problem,
    later: Problem,
    state: State,
    now: Buffers,
    start: Buffers,
    out: Block,
    years: Years,
    first: int,
    count: int,
) -> None:
    """Plays seasons first .. first + count, each from the same opening day on through all its years.

    `later`: the problem of every year but the first, of the same shapes, begun with run 0.
    """
    for n in range(count):
        set_back(now, start)
        row = n * years.number
        play_year(problem, state, out, years, first + n, row)
        for y in range(1, years.number):
            carry_over(later, state)
            if years.engine >= 0 and years.every > 0 and y % years.every == 0:
                set_new(later, state, years.engine)
            play_year(later, state, out, years, first + n + y * APART, row + y)


def play_year(problem: Problem, state: State, out: Block, years: Years, season: int, row: int) -> None:
    """One year, and what is kept of it."""
    state.season[0] = season
    play(problem, state)
    keep(problem, state, out, row)
    years.worth[row] = worth_of(problem, state, years.engine) if years.engine >= 0 else 0


def worth_of(problem: Problem, state: State, carrier: int) -> int:
    """What the parts of a carrier are worth: their balances and resale, less the work owed on its levels.

    What is broken brings nothing.
    """
    total, on_car = 0, carrier == state.age.shape[0] - 1
    for p in range(problem.level.shape[0]):
        if problem.on_car[p] == on_car and not state.broken[carrier, p]:
            resale = problem.pieces[p] * problem.resale[state.item[carrier, p]]
            total += left_of(problem, state, carrier, p) + resale
    for ladder in range(problem.levels.shape[0]):
        if problem.ladder_on_car[ladder] == on_car:
            for level in range(problem.levels[ladder]):
                total -= owed(problem, state, carrier, ladder, level)
    return int(total)


def carry_over(problem: Problem, state: State) -> None:
    """From the end of a year to the opening day of the next: days pass, and what a season counts begins anew.

    Lives, steps, values, the shelf, counters and what is owed stay. What was opened after the last run is not opened
    again by a date before it has run.
    """
    for i in range(state.n_openings[0]):
        if state.openings[i, 0] == problem.day.shape[0]:
            for level in range(state.openings[i, 3] + 1):
                rest_unused(problem, state, state.openings[i, 1], state.openings[i, 2], level)
    for b in range(problem.bar_bond.shape[0]):
        if not problem.bar_in_life[b]:
            state.opened[b, :] = 0
    forget_season(state)
    winter_passes(problem, state)


def winter_passes(problem: Problem, state: State) -> None:
    """Ages what lasts by days from the last run of a year to the first of the next, a year after this one's first."""
    days = max(0.0, DAYS_A_YEAR - (problem.day[problem.day.shape[0] - 1] - problem.day[0]))
    car = state.age.shape[0] - 1
    for carrier in range(car + 1):
        for p in range(problem.level.shape[0]):
            if problem.on_car[p] == (carrier == car):
                grow_old(problem, state, carrier, p, days)
        for ladder in range(problem.levels.shape[0]):
            if problem.ladder_on_car[ladder] == (carrier == car):
                for level in range(problem.levels[ladder]):
                    if problem.interval_in_days[ladder, level]:
                        state.since[carrier, ladder, level] += days


def grow_old(problem: Problem, state: State, carrier: int, p: int, days: float) -> None:
    """Ages a position by days. One whose life ends in them is broken when the year begins, and has broken nothing."""
    for j in range(problem.life_from[p], problem.life_from[p + 1]):
        if problem.counts_days[j]:
            state.age[carrier, j] += days
            state.raw_age[carrier, j] += days
            if state.age[carrier, j] >= state.fails_at[carrier, j] and not state.broken[carrier, p]:
                break_down(state, carrier, p)
                state.failures[p] += 1


def rest_unused(problem: Problem, state: State, carrier: int, ladder: int, level: int) -> None:
    """Notes that a level is as just done, so that no date calls for it before it runs; in days it counts on."""
    use = problem.use[problem.measure[ladder, level]]
    counts = use[use.shape[0] - 1] > 0 and not problem.interval_in_days[ladder, level]
    state.since[carrier, ladder, level] = UNUSED if counts else state.since[carrier, ladder, level]


def forget_season(state: State) -> None:
    """What counts in one season alone begins anew; every engine is out of the shop."""
    for count in (state.looked, state.look_from, state.fails_from):
        count[:] = 0
    for count in (state.failures, state.finds, state.hits, state.put_in, state.struck, state.used_up):
        count[:] = 0
    for count in (state.n_openings, state.n_renewals, state.n_kits, state.n_cases):
        count[:] = 0
    for tally in (state.tally_event, state.tally_month, state.tally_cause, state.tally_line):
        tally[:] = 0
    state.strikes[:] = 0
    state.acted[:] = 0
    state.ran[:] = -1
    state.stopped[:] = False
    state.started[:] = False
    state.held[:] = False
    state.idle_since[:] = -math.inf
    state.ready_at[:] = -math.inf
    state.extra_hours[:] = 0.0


def set_new(problem: Problem, state: State, carrier: int) -> None:
    """Another engine, all new, in place of one: as the first prices have it, nothing owed, nothing done to it yet."""
    on_car = carrier == state.age.shape[0] - 1
    for p in range(problem.level.shape[0]):
        if problem.on_car[p] == on_car:
            set_in_new(problem, state, carrier, p)
    for ladder in range(problem.levels.shape[0]):
        if problem.ladder_on_car[ladder] == on_car:
            for level in range(problem.levels[ladder]):
                state.since[carrier, ladder, level] = 0.0
                state.overdue[carrier, ladder, level] = False
                rest_unused(problem, state, carrier, ladder, level)
    for b in range(problem.bar_bond.shape[0]):
        state.opened[b, carrier] = 0
    state.n_broken[carrier] = 0
    state.total_use[carrier] = 0.0


def set_in_new(problem: Problem, state: State, carrier: int, p: int) -> None:
    """A new set of its own part in a position, which is not paid for as a part."""
    item = problem.item[p]
    for j in range(problem.life_from[p], problem.life_from[p + 1]):
        state.age[carrier, j] = 0.0
        state.raw_age[carrier, j] = 0.0
    state.item[carrier, p], state.step[carrier, p], state.worked[carrier, p] = item, 0, 0
    state.value[carrier, p] = share_of(problem.pack_price[item, 0], problem.pieces[p], problem.pack[item])
    state.broken[carrier, p] = False
    state.wrecked[carrier, p] = False
    state.damaged[carrier, p] = False
    state.looked[carrier, p] = 0
    state.look_from[carrier, p] = 0
    state.fails_from[carrier, p] = 0
    state.installed[carrier, p] += 1
