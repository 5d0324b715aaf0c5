"""Renewals: what is bought, what comes from the shelf, and what it does to the piece, to money and to the log."""

from __future__ import annotations

import math

from costplan.season.machine.book import note, step_bond
from costplan.season.machine.companions import (
    mends_piece,
    next_step,
    pieces_put_in,
    shelf_age,
    step_ahead,
    steps_after,
    used_set,
)
from costplan.season.machine.draws import LIFE, life_given, uniform
from costplan.season.machine.records import BY_STRENGTH, DEPOSIT, EARLY, FOUND, INCOME, REFUND, REFUSED, Problem, State
from costplan.season.machine.tally import exchange, level_line
from costplan.season.machine.wear import item_after, left_of, worked_before


def renew_all(problem: Problem, state: State, carrier: int, ladder: int, level: int, g: int) -> None:
    """Renews every position that has a cause in the opening at hand."""
    suit(problem, state, carrier, g)
    state.box_open[0] = opens_box(state)
    if problem.kit_price.shape[0]:
        count_needed(problem, state, carrier, g)
        buy_kits(problem, state, carrier, ladder, level, g)
    for i in range(state.causes.shape[0]):
        p = problem.order[i]
        if state.causes[p] >= 0:
            renew(problem, state, carrier, p, level, g)


def opens_box(state: State) -> bool:
    """Whether an opening may take what is kept in the box: where anything was broken, or anything was found worn."""
    if state.unplanned[0]:
        return True
    for p in range(state.causes.shape[0]):
        if state.causes[p] == FOUND:
            return True
    return False


def on_hand(problem: Problem, state: State, item: int) -> int:
    """New pieces on the shelf that the opening at hand may take."""
    kept = 0 if state.box_open[0] else problem.keep[item]
    return int(max(0, state.stock[item] - kept))


def suit(problem: Problem, state: State, carrier: int, g: int) -> None:
    """The item that each position takes now: what goes with the steps of what it is renewed with, else as before."""
    for p in range(state.causes.shape[0]):
        state.fitting[p] = problem.instead[state.item[carrier, p]]
    for p in range(state.causes.shape[0]):
        if state.causes[p] >= 0 and problem.steps[p] > 0:
            after = steps_after(problem, state, carrier, p, state.causes[p], g)
            for a in range(problem.along_from[p], problem.along_from[p + 1]):
                q = problem.along[a]
                if item_after(problem, p, problem.steps[p], q) != problem.item[q]:
                    state.fitting[q] = item_after(problem, p, after, q)


def count_needed(problem: Problem, state: State, carrier: int, g: int) -> None:
    """New pieces of each stock item that an opening takes, used sets on the shelf taken first."""
    state.needed[:] = 0
    for u in range(state.used_left.shape[0]):
        state.shelf_left[u] = state.used_left[u]
    for i in range(state.causes.shape[0]):
        p = problem.order[i]
        cause = state.causes[p]
        if cause < 0 or next_step(problem, state, carrier, p, cause, g) >= 0:
            continue
        if mends_piece(problem, state, carrier, p, cause):
            state.needed[state.item[carrier, p]] += 1
            continue
        used = used_set(problem, state.shelf_left, p, state.fitting[p], g)
        if used >= 0:
            state.shelf_left[used] = False
        else:
            state.needed[state.fitting[p]] += problem.pieces[p]


def buy_kits(problem: Problem, state: State, carrier: int, ladder: int, level: int, g: int) -> None:
    """Buys the kit that saves most against its parts in packs, again while one saves; its pieces go on the shelf."""
    start = state.n_kits[0]
    while True:
        best, most = -1, 0
        for kit in range(problem.kit_price.shape[0]):
            saved = saved_by(problem, state, kit, g)
            if saved > most:
                best, most = kit, saved
        if best < 0:
            return
        shelve(problem, state, best, g)
        cause = cause_of_kit(problem, state, carrier, best, g)
        await_parts(state, cause, problem.kit_lead[best, g])
        note_kit(problem, state, carrier, ladder, best, cause, start, g)
        line = level_line(problem, ladder, level)
        exchange(problem, state, g, line, cause, problem.kit_price[best, g])
        exchange(problem, state, g, line, DEPOSIT, kit_deposit(problem, best))


def cause_of_kit(problem: Problem, state: State, carrier: int, kit: int, g: int) -> int:
    """The strongest cause of what takes any item of a kit."""
    for cause in BY_STRENGTH:
        for p in range(state.causes.shape[0]):
            if state.causes[p] == cause and next_step(problem, state, carrier, p, cause, g) < 0:
                mended = mends_piece(problem, state, carrier, p, cause)
                item = state.item[carrier, p] if mended else state.fitting[p]
                if problem.kit_pieces[kit, item] > 0:
                    return cause
    return EARLY


def note_kit(
    problem: Problem, state: State, carrier: int, ladder: int, kit: int, cause: int, start: int, g: int
) -> None:
    """One more kit in the row of its kind since `start`, or in a row of its own."""
    n = start
    while n < state.n_kits[0] and state.kits[n, 3] != kit:
        n += 1
    if n == state.n_kits[0]:
        for column in range(7):
            state.kits[n, column] = 0
        state.n_kits[0] = n + 1
    row = state.kits[n]
    row[0], row[1], row[2], row[3], row[5] = g, carrier, ladder, kit, cause
    row[4] += problem.kit_price[kit, g]
    row[6] += 1


def kit_deposit(problem: Problem, kit: int) -> int:
    """The deposits on what a kit holds."""
    total = 0
    for item in range(problem.pack.shape[0]):
        total += share_of(problem.core[item], problem.kit_pieces[kit, item], problem.pack[item])
    return int(total)


def share_of(amount: int, pieces: int, pack: int) -> int:
    """What so many pieces have of an amount for a pack, rounded half up."""
    return int((2 * amount * pieces + pack) // (2 * pack))


def saved_by(problem: Problem, state: State, kit: int, g: int) -> int:
    """What a kit saves: the packs of its pieces that need not be bought, less its price."""
    saved = -problem.kit_price[kit, g]
    for i in range(problem.kit_from[kit], problem.kit_from[kit + 1]):
        item = problem.kit_items[i]
        there = on_hand(problem, state, item)
        wanted = state.needed[item] - there
        if wanted > 0:
            rest = max(0, max(0, state.needed[item] - problem.kit_pieces[kit, item]) - there)
            packs = packs_of(problem, item, wanted, g) - packs_of(problem, item, rest, g)
            saved += packs * problem.pack_price[item, g]
    return int(saved)


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
        share = math.floor(problem.kit_price[kit, g] * (seen / whole) + 0.5) - given
        given += share
        state.stock[item] += problem.kit_pieces[kit, item]
        state.stock_value[item] += share


def worth_apart(problem: Problem, kit: int, item: int, g: int) -> int:
    """What a kit's pieces of an item would cost as shares of packs, rounded up."""
    return int(-(-problem.kit_pieces[kit, item] * problem.pack_price[item, g] // problem.pack[item]))


def renew(problem: Problem, state: State, carrier: int, p: int, level: int, g: int) -> None:
    """Renews a position: by the next step of its path, by one piece of its set, or by another set of an item.

    Another set is a used one from the shelf that serves, new pieces from the shelf, or new packs.
    """
    cause, before_item = state.causes[p], state.item[carrier, p]
    mended, step = mends_piece(problem, state, carrier, p, cause), next_step(problem, state, carrier, p, cause, g)
    before, sound = left_of(problem, state, carrier, p), not state.broken[carrier, p]
    note_renewal(problem, state, carrier, p, cause, g)
    begin_anew(state, carrier, p)
    packs, paid, from_stock = 0, 0, 0
    if step >= 0:
        paid = work_on(problem, state, carrier, p, step)
    elif mended:
        packs, paid, from_stock = from_shelf(problem, state, before_item, 1, g)
        count_opening(problem, state, carrier, p)
    else:
        packs, paid, from_stock = change_set(problem, state, carrier, p, state.fitting[p], g)
    if packs > 0:
        await_parts(state, cause, problem.lead_hours[state.item[carrier, p], g])
    draw_lives(problem, state, carrier, p)
    after = left_of(problem, state, carrier, p)
    exchange(problem, state, g, p, cause, paid)
    if step < 0:
        pay_cores(problem, state, carrier, p, before_item, packs, sound, g)
    state.used_up[0] += paid if step >= 0 else from_stock if mended else after
    n = state.n_renewals[0]
    row = state.renewals[n]
    row[0], row[1], row[2], row[3], row[4] = g, carrier, p, cause, 1 if mended else problem.pieces[p]
    row[5], row[6], row[7], row[8] = packs, paid, state.value[carrier, p], level
    row[9], row[10], row[11], row[12] = step, state.drawn_by[p], state.item[carrier, p], before_item
    state.left_behind[n, 0], state.left_behind[n, 1], state.left_behind[n, 2] = before, after, from_stock
    state.n_renewals[0] = n + 1


def await_parts(state: State, cause: int, hours: float) -> None:
    """What is bought for something broken, or for what a check found, was not ordered ahead and has to come first."""
    if state.unplanned[0] or cause == FOUND:
        state.awaited[0] = max(state.awaited[0], hours)


def begin_anew(state: State, carrier: int, p: int) -> None:
    """Forgets what was broken; one more set, or what was made of it, is in."""
    if state.broken[carrier, p]:
        state.n_broken[carrier] -= 1
    state.broken[carrier, p] = False
    state.wrecked[carrier, p] = False
    state.damaged[carrier, p] = False
    state.looked[carrier, p] = 0
    state.look_from[carrier, p] = 0
    state.fails_from[carrier, p] = 0
    state.installed[carrier, p] += 1


def pay_cores(
    problem: Problem, state: State, carrier: int, p: int, before: int, packs: int, sound: bool, g: int
) -> None:
    """Deposits on what is bought; back for what is taken out, with what it sells for, unless it broke."""
    exchange(problem, state, g, p, DEPOSIT, packs * problem.core[state.item[carrier, p]])
    if sound:
        pieces = problem.pieces[p]
        exchange(problem, state, g, p, REFUND, -share_of(problem.core[before], pieces, problem.pack[before]))
        exchange(problem, state, g, p, INCOME, -pieces * problem.resale[before])


def draw_lives(problem: Problem, state: State, carrier: int, p: int) -> None:
    """The ages at which what is now installed breaks: as scripted, as drawn given its age, or never."""
    n, factor = state.installed[carrier, p], problem.step_factor[p, state.step[carrier, p]]
    scripts = problem.fails_at.shape[2]
    for j in range(problem.life_from[p], problem.life_from[p + 1]):
        end = math.inf
        if scripts > 0:
            end = problem.fails_at[carrier, j, min(n, scripts - 1)] * factor
        elif problem.drawn and problem.scale[j] < math.inf:
            key = problem.life_key[carrier, j]
            u = uniform(problem.seed, LIFE, state.season[0], key[0], key[1], n)
            end = life_given(problem.scale[j] * factor, problem.shape[j], state.age[carrier, j], u)
        state.fails_at[carrier, j] = end


def note_renewal(problem: Problem, state: State, carrier: int, p: int, cause: int, g: int) -> None:
    """Counts the pieces put in for the caps in force, and notes a step that the book bars; not after the last run."""
    if g == problem.day.shape[0]:
        return
    for q in range(problem.pieces_bond.shape[0]):
        if problem.pieces_hold[q, g] and problem.pieces_of[q, p]:
            state.put_in[q] += pieces_put_in(problem, state, carrier, p, cause, g)
    if problem.steps[p] > 0:
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


def count_opening(problem: Problem, state: State, carrier: int, p: int) -> None:
    """A set that stays in through an opening is one opening older."""
    if not problem.opens[p]:
        return
    state.look_from[carrier, p] = 0
    for j in range(problem.life_from[p], problem.life_from[p + 1]):
        if problem.counts_openings[j]:
            state.age[carrier, j] += 1.0
            state.raw_age[carrier, j] += 1.0


def change_set(problem: Problem, state: State, carrier: int, p: int, item: int, g: int) -> tuple[int, int, int]:
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


def from_shelf(problem: Problem, state: State, item: int, wanted: int, g: int) -> tuple[int, int, int]:
    """Takes new pieces, packs being bought where there are too few: packs, what they cost, value of the pieces."""
    packs, paid = 0, 0
    there = on_hand(problem, state, item)
    if there < wanted:
        packs = packs_of(problem, item, wanted - there, g)
        paid = packs * problem.pack_price[item, g]
        state.stock[item] += packs * problem.pack[item]
        state.stock_value[item] += paid
    return int(packs), int(paid), take(state, item, wanted)


def take(state: State, item: int, wanted: int) -> int:
    """Takes new pieces from the shelf; their share of what the shelf cost, so that nothing is lost in rounding."""
    share = state.stock_value[item] * wanted // state.stock[item]
    state.stock[item] -= wanted
    state.stock_value[item] -= share
    return int(share)
