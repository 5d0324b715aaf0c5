"""What the machine is given and what it changes: rows of arrays, and the numbers by which they name things.

A Problem is a season compiled; a State is one season as it is walked. Both are flat on purpose: the same functions read
them as plain Python and compiled.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

#: Ages are sums of floats: passing a bound by less than this share of it is reaching it.
SLACK = 1e-9

#: Instead of the engine that ran: none was ready; the run was over before the season began.
NOBODY, OVER = -1, -2

# Causes of a renewal, as the kernel numbers them; `CAUSES` names them.
PLANNED, EARLY, FAILURE, DAMAGE, FOUND = 0, 1, 2, 3, 4
#: Causes of money beyond renewals, in the same numbering.
LABOUR, CONSUMABLE, FIXED, FEE, INCOME, DEPOSIT, REFUND = 5, 6, 7, 8, 9, 10, 11
CAUSES = (
    "planned",
    "early",
    "failure",
    "damage",
    "found",
    "labour",
    "consumable",
    "fixed",
    "fee",
    "income",
    "deposit",
    "refund",
)
#: Causes of renewals, the strongest first: what is taken along gets the cause it is taken for.
BY_STRENGTH = (FAILURE, DAMAGE, FOUND, PLANNED, EARLY)

# Early renewal policies.
EARLY_OFF, EARLY_WORTH, EARLY_SHARE = 0, 1, 2
# Who runs where an event names no engine.
FIRST_READY, LEAST_USED, BEST_SAVED = 0, 1, 2
# What is done when something is due at a barred level.
RUN_ON, CHANGE_ENGINE, STOP = 0, 1, 2
# What a bond did in the gap before a run: it refused work that was due, or kept the carrier from the run.
REFUSED, KEPT = 1, 2


class Problem(NamedTuple):
    """Everything the machine needs. G runs, E events, D months, C carriers (the car last), P positions, L lives,
    H hazards, N cases, T ladders, K levels, M measures, I stock items, U used sets on the shelf, S service steps,
    Z kits, B bars, X caps of engines, Q caps of pieces.
    Money in whole minor units, use in kept units.
    """

    begin: int  # the first run that is played; those before it are over
    day: Ints  # [G] ordinal of the run's day
    clock: Floats  # [G] hours at which the run starts, gaps added up
    first: Bools  # [G] first run of its event
    event: Ints  # [G] number of its event
    named: Ints  # [G] engine the event names, -1 for none
    lost: Bools  # [G] rained out whatever is drawn
    result: Floats  # [G] share of its event's result that hangs on the run
    weight: Floats  # [E] how much the event's result counts for the season
    rain: Floats  # [E] chance of rain
    rain_from: Ints  # [E] first run that rain stops
    rain_key: Ints  # [E, 2] hashed name
    use: Floats  # [M, G+1] use before each run, added up
    life_from: Ints  # [P+1] lives of a position: life_from[p] .. life_from[p+1]
    counts_openings: Bools  # [L]
    counts_days: Bools  # [L]
    running: Ints  # lives that age by runs: of engines running[running_from[0]] .. running[running_from[1]], then the
    # car's
    running_from: Ints  # [3]
    lasting: Ints  # lives that age by days, likewise
    lasting_from: Ints  # [3]
    duty: Floats  # [G+1, L] duty before each run, added up
    raw: Floats  # [G+1, L] raw use before each run, added up
    due_at: Floats  # [L] age at which it is renewed: the plan's, or the renewal use alone where lives are drawn
    worn_at: Floats  # [L] age at which a life is used up: min(renewal use, mean)
    limit: Floats  # [L] raw use never to be passed
    scale: Floats  # [L] of its Weibull distribution; infinite: never fails
    shape: Floats  # [L]
    warning: Floats  # [L] share of a life, at its end, in which a check can see the end coming
    life_key: Ints  # [C, L, 2] hashed names of carrier, slot, alternate and measure
    fails_at: Floats  # [C, L, n] ages at which installed sets break, as new; the last for all later. n = 0: as drawn
    drawn: int  # 1 where lives, rain, hazards and cases are drawn; 0 where none of it happens
    seed: int
    binds_to: Ints  # [L, G+1] end of the last run before each in which the limit binds; 0 if it binds in none
    limited: Bools  # [P] whether any life of the position has a hard limit
    limits: Ints  # the positions that have one
    opens: Bools  # [P] whether any life of the position counts openings
    dated: Bools  # [L] a limit by the paper of the part, which grows older on the shelf too
    ladder: Ints  # [P]
    on_ladder: Ints  # positions of a ladder: on_ladder[ladder_from[t]] .. on_ladder[ladder_from[t+1]]
    ladder_from: Ints  # [T+1]
    level: Ints  # [P] lowest level that reaches the position
    on_car: Bools  # [P]
    serves: Bools  # [P, G] in use in the run: not an alternate for another set-up
    pieces: Ints  # [P]
    stops: Bools  # [P]
    calls: Bools  # [P] whether it opens its carrier where it is merely due; what is broken or at a limit always does
    as_piece: Bools  # [P]
    position_key: Ints  # [C, P, 2] hashed names of carrier, slot and alternate
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
    along_from: Ints  # [P+1] positions that may have to change with p: along[along_from[p]] .. along[along_from[p+1]]
    along: Ints
    leading: Ints  # positions with anything to take along, in the order of `order`
    capped: Bools  # [P] whether a cap on pieces counts the position or anything that it may take along
    order: Ints  # [P] positions by the names of their slots, so that the order of rows decides nothing
    item: Ints  # [P] stock item
    pack: Ints  # [I]
    keep: Ints  # [I] new pieces that planned work leaves in the box for what breaks or is found worn
    instead: Ints  # [I] item that goes in when a set of this is renewed: itself, but for what is bought no more
    resale: Ints  # [I] of one piece, unbroken
    core: Ints  # [I] core charge on a pack
    least: Ints  # [I, G+1] packs that are sold at the price at the least
    pack_price: Ints  # [I, G+1] in the gap before each run, and after the last
    lead_hours: Floats  # [I, G+1] hours until it is there, where it was not ordered ahead
    kit_price: Ints  # [Z, G+1]
    kit_lead: Floats  # [Z, G+1]
    kit_pieces: Ints  # [Z, I] pieces of each stock item in a kit
    kit_from: Ints  # [Z+1] stock items in a kit: kit_items[kit_from[z]] .. kit_items[kit_from[z+1]]
    kit_items: Ints
    ladder_on_car: Bools  # [T]
    levels: Ints  # [T] how many levels a ladder has
    hours: Floats  # [T, K]
    interval: Floats  # [T, K] infinite for none
    measure: Ints  # [T, K] measure the interval counts
    interval_in_days: Bools  # [T, K]
    cost: Ints  # [T, K] labour and supplies of one opening
    labour: Ints  # [T, K] labour alone
    renews: Bools  # [T, K, P] what a level or one below it renews every time
    sees: Floats  # [T, K, P] chance that a level or one below it sees a piece in its warning share
    run_in_duty: Floats  # [T, K, L] what the run-in of a level ages what it assembled
    run_in_raw: Floats  # [T, K, L]
    called: Bools  # [T, K, G] a date or a service row calls for the level in the gap before the run
    rest: Floats  # [T, K] with less use than this since the level was done, a date is passed over
    next_fit: Ints  # [T, K, G] next later run whose gap fits the level; G for none
    used_item: Ints  # [U] stock item of a used set on the shelf
    used_pieces: Ints  # [U]
    used_value: Ints  # [U] what the set costs new
    used_age: Floats  # [U, L] its age in the lives of every position that it could serve
    used_step: Ints  # [U] service steps it has been through
    hazard_use: Floats  # [G, H] use that counts for a hazard in each run
    hazard_mean: Floats  # [H] use between two strikes, on average
    hazard_on_car: Bools  # [H]
    hazard_key: Ints  # [C, H, 2] hashed names of carrier and hazard
    case_from: Ints  # [P+H+1] cases of a position, or of hazard h as P + h
    case_up_to: Floats  # [N] chance of the case and those before it on its list
    case_hits: Bools  # [N, P] positions broken too
    case_wrecks: Bools  # [N] what is hit is lost as a whole, not one piece of a set
    case_cost: Ints  # [N] operations and what else it costs
    case_paid: Ints  # [N] what is paid for an engine that is gone
    case_hours: Floats  # [N] hours that it adds
    case_stops: Bools  # [N] whether the run ends with it
    force_run: int  # run in which `force` fails, and nothing else, whatever is drawn; -1 for none
    force: int  # position, or P + h for hazard h
    event_month: Ints  # [E] month in which an event's costs are paid
    gap_month: Ints  # [G+1] month of the gap before each run, and after the last
    flow: Floats  # [F, G] cost of what flows with use, in each run
    event_flow: Ints  # [F, E] the same over the event, where all of it runs
    event_cost: Ints  # [E] entry and travel
    purse: Ints  # [E]
    event_fee: Ints  # [E] what the book charges for an event at which an engine runs
    swap_fee: Ints  # [G] and for another engine going on in the run
    bar_bond: Ints  # [B] bond that bars levels bar_low .. bar_high of a ladder
    bar_ladder: Ints  # [B]
    bar_low: Ints  # [B]
    bar_high: Ints  # [B]
    bar_most: Ints  # [B] openings at bar_low or above that are allowed
    bar_each: Bools  # [B] of each engine; else of all together
    bar_in_life: Bools  # [B] openings count whenever they were done; else while the bar is in force
    bar_holds: Bools  # [B, G] whether it is in force in the gap before the run
    engines_bond: Ints  # [X]
    engines_most: Ints  # [X] engines that may run
    engines_hold: Bools  # [X, G] whether it is in force on the day of the run
    pieces_bond: Ints  # [Q]
    pieces_most: Ints  # [Q] pieces that may be put in
    pieces_event: Bools  # [Q] at each event; else in the season
    pieces_of: Bools  # [Q, P] positions whose pieces count
    pieces_hold: Bools  # [Q, G]
    fee: Ints  # [T, K, G+1] what the book charges for one opening at the level in the gap before the run
    early: int
    early_share: float
    who_runs: int
    save_for: float
    swap_hours: float
    when_barred: int


class State(NamedTuple):
    """What changes as the machine walks. The `n_*` arrays hold one number each."""

    season: Ints  # [1] number of the season that is drawn
    lost: Bools  # [G] rained out
    age: Floats  # [C, L] duty since installed
    raw_age: Floats  # [C, L] raw use since installed
    fails_at: Floats  # [C, L] age at which what is installed breaks
    broken: Bools  # [C, P]
    n_broken: Ints  # [C] how many positions are
    wrecked: Bools  # [C, P] broken as a whole
    damaged: Bools  # [C, P] broken by another position or a hazard
    look_from: Ints  # [C, P] no run before this one can find it due
    fails_from: Ints  # [C, P] it cannot fail in any run before this one
    looked: Ints  # [C, P] looks at what is installed, while its end could be seen coming
    step: Ints  # [C, P] service steps that the installed set has been through
    item: Ints  # [C, P] stock item of the installed set
    value: Ints  # [C, P] what the installed set cost
    worked: Ints  # [C, P] what its last service step cost
    installed: Ints  # [C, P] how many sets so far
    since: Floats  # [C, T, K] use since a level was last done
    hazard_left: Floats  # [C, H] use until it strikes
    strikes: Ints  # [C, H] how often it has struck
    stock: Ints  # [I] new pieces on the shelf
    stock_value: Ints  # [I]
    used_left: Bools  # [U] used sets still on the shelf
    idle_since: Floats  # [C] end of the last run, in hours
    ready_at: Floats  # [C] when the carrier leaves the shop
    extra_hours: Floats  # [C] hours that damage adds to the next visit
    unplanned: Bools  # [1] whether the opening at hand is of something broken: nothing was ordered ahead for it
    box_open: Bools  # [1] whether the opening at hand may take what is kept in the box
    awaited: Floats  # [1] hours until all that the openings at hand had to buy unplanned is there
    total_use: Floats  # [C]
    opened: Ints  # [B, C] openings that count for a bar
    overdue: Bools  # [C, T, K] a level whose date came while it was barred, and that has not been done since
    started: Bools  # [X, C] engines that have run while the cap was in force
    put_in: Ints  # [Q] pieces put in that count for a cap
    held: Bools  # [C, 2] kept back by the book from a run of this event: where it would not run on, and where it would
    acted: Ints  # [bonds or 0, C, G] REFUSED or KEPT; 0 for neither
    ran: Ints  # [G] engine that ran, -1 for none, OVER for a run that was over before the season began
    stopped: Bools  # [G] a failure ended the run
    failures: Ints  # [P+H] how often each position failed of itself, and each hazard struck
    finds: Ints  # [P] how often a check saw the end coming
    hits: Ints  # [P] how often another position or a hazard broke it
    tally_event: Ints  # [E+1] cash of each event with the gap before it, and after the last
    tally_month: Ints  # [D]
    tally_cause: Ints  # [causes]
    tally_line: Ints  # [P + T*K + 1] cash of each position, each level, and the rest
    used_up: Ints  # [1] what the wear view adds to cash: balances paid in less those left
    struck: Ints  # [1] once what is forced has failed: 1, or 2 + the case that it was
    openings: Ints  # [n, 4] run, carrier, ladder, level
    n_openings: Ints
    renewals: Ints  # [n, 13] run, carrier, position, cause, pieces, packs bought, paid, value of the new set, level,
    # the step just done (-1: another set was put in), the position it was renewed with (-1: for its own sake),
    # the item now in, the item before
    left_behind: Ints  # [n, 3] balance of the old set (unused life), balance of the new, value of pieces from stock
    n_renewals: Ints
    kits: Ints  # [n, 7] run, carrier, ladder, kit, paid, cause, how many
    n_kits: Ints
    struck_cases: Ints  # [n, 5] run, carrier, position or P + hazard, case (-1 for none), cost
    n_cases: Ints
    trace_age: Floats  # [G or 0, C, L] ages after each run
    trace_raw: Floats  # [G or 0, C, L]
    trace_since: Floats  # [G or 0, C, T, K]
    trace_step: Ints  # [G or 0, C, P]
    trace_item: Ints  # [G or 0, C, P]
    trace_value: Ints  # [G or 0, C, P]
    trace_worked: Ints  # [G or 0, C, P]
    # Room to work in, written over at every use.
    causes: Ints  # [P] of the opening at hand
    drawn_by: Ints  # [P]
    must: Ints  # [P] what is renewed anyway
    trial: Ints  # [P] what would be renewed if
    trial_by: Ints  # [P]
    wanted: Ints  # [P] what was asked for before it was rationed
    wanted_by: Ints  # [P]
    fitting: Ints  # [P] the item that each position takes now
    next_open: Ints  # [K] run before which a level or a higher one is expected to be opened next
    asked: Bools  # [C]
    reached: Ints  # [T]
    barred: Bools  # [T, K]
    needed: Ints  # [I]
    shelf_left: Bools  # [U]
