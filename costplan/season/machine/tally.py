"""What a season costs, added up as it is walked: by event, by month, by cause, and by what it is spent on.

The ledger tells the same money row by row; the tally is what ten thousand seasons can afford.
"""

from __future__ import annotations

import math

from costplan.season.machine.records import CONSUMABLE, FEE, FIXED, INCOME, LABOUR, Problem, State

#: A half that floats have brought a hair below itself is a half.
HAIR = 1e-7


def pay(state: State, event: int, month: int, line: int, cause: int, amount: int) -> None:
    """Adds an amount of cash; income is negative."""
    state.tally_event[event] += amount
    state.tally_month[month] += amount
    state.tally_cause[cause] += amount
    state.tally_line[line] += amount


def pay_in_gap(problem: Problem, state: State, g: int, line: int, cause: int, amount: int) -> None:
    """What is paid in the gap before a run belongs to its event; after the last run, to none."""
    runs = problem.event.shape[0]
    event = problem.event[g] if g < runs else problem.weight.shape[0]
    pay(state, event, problem.gap_month[g], line, cause, amount)


def pay_at_event(problem: Problem, state: State, event: int, cause: int, amount: int) -> None:
    """What an event costs beyond parts and work."""
    pay(state, event, problem.event_month[event], state.tally_line.shape[0] - 1, cause, amount)


def exchange(problem: Problem, state: State, g: int, line: int, cause: int, amount: int) -> None:
    """Cash that the wear view does not know, since it tells what is used up instead."""
    pay_in_gap(problem, state, g, line, cause, amount)
    state.used_up[0] -= amount


def level_line(problem: Problem, ladder: int, level: int) -> int:
    """The line of a level, behind those of the positions."""
    return int(problem.level.shape[0] + ladder * problem.hours.shape[1] + level)


def pay_opening(problem: Problem, state: State, ladder: int, level: int, g: int) -> None:
    """Labour, supplies and fees of one opening."""
    line, labour = level_line(problem, ladder, level), problem.labour[ladder, level]
    pay_in_gap(problem, state, g, line, LABOUR, labour)
    pay_in_gap(problem, state, g, line, CONSUMABLE, problem.cost[ladder, level] - labour)
    pay_in_gap(problem, state, g, line, FEE, problem.fee[ladder, level, g])


def close_event(problem: Problem, state: State, start: int, stop: int) -> None:
    """What an event of runs start .. stop cost and brought, once it is over; nothing where no engine ran."""
    event, started, counted = problem.event[start], 0, 0
    for g in range(start, stop):
        started += 1 if state.ran[g] >= 0 else 0
        counted += 1 if state.ran[g] >= 0 and not state.lost[g] else 0
    if started == 0:
        return
    for f in range(problem.flow.shape[0]):
        whole = counted == stop - start
        amount = problem.event_flow[f, event] if whole else flowed(problem, state, f, start, stop)
        pay_at_event(problem, state, event, CONSUMABLE, amount)
    pay_at_event(problem, state, event, FIXED, problem.event_cost[event])
    pay_at_event(problem, state, event, FEE, problem.event_fee[event] + swap_fees(problem, state, start, stop))
    pay_at_event(problem, state, event, INCOME, -purse_won(problem, state, start, stop))


def flowed(problem: Problem, state: State, f: int, start: int, stop: int) -> int:
    """What flowed in those of the runs that were run, rounded once."""
    amount = 0.0
    for g in range(start, stop):
        if state.ran[g] >= 0 and not state.lost[g]:
            amount += problem.flow[f, g]
    return math.floor(amount + 0.5 + HAIR)


def swap_fees(problem: Problem, state: State, start: int, stop: int) -> int:
    """What the book charges for the runs in which another engine goes on than the one that last ran."""
    fees, before = 0, -1
    for g in range(start, stop):
        if state.ran[g] >= 0:
            if before >= 0 and state.ran[g] != before:
                fees += problem.swap_fee[g]
            before = state.ran[g]
    return int(fees)


def kept_result(problem: Problem, state: State, start: int, stop: int) -> float:
    """The share of an event's result that was run for: not missed, stopped or rained out."""
    kept, all_kept = 0.0, True
    for g in range(start, stop):
        if state.ran[g] >= 0 and not state.lost[g] and not state.stopped[g]:
            kept += problem.result[g]
        elif problem.result[g] > 0:
            all_kept = False
    return 1.0 if all_kept else kept


def purse_won(problem: Problem, state: State, start: int, stop: int) -> int:
    """The purse, less the share of it that was not run for."""
    purse: float = problem.purse[problem.event[start]] * kept_result(problem, state, start, stop)
    return math.floor(purse + 0.5 + HAIR)
