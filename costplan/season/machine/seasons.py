"""Many seasons, one after the other, each from the same opening day, and what is kept of each."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from costplan.season.machine.play import left_on_hand, play
from costplan.season.machine.records import Bools, Floats, Ints, Problem, State


class Buffers(NamedTuple):
    """What a season changes, as flat arrays that the arrays of a State are views of."""

    floats: Floats
    ints: Ints
    bools: Bools


class Block(NamedTuple):
    """What is kept of n seasons. Money in whole minor units, without what costs the same in every season."""

    event: Ints  # [n, E+1] cash of each event with the gap before it, and after the last
    month: Ints  # [n, D]
    cause: Ints  # [n, causes]
    line: Ints  # [n, P + T*K + 1]
    used_up: Ints  # [n] what the wear view adds to cash
    left: Ints  # [n] balances at the end, work owed taken off, and resale of what is in
    stopped: Bools  # [n, E] a failure ended a run of the event
    missed: Bools  # [n, E] no engine was ready for a run of the event
    rained: Bools  # [n, E] rain took a run of the event
    held: Bools  # [n, E] an engine ran some of it
    use: Floats  # [n, M] use of the runs that were run, those that were stopped whole
    lost: Floats  # [n] results lost to failures and missed runs, by the weights of runs and events
    failures: Ints  # [n, P+H]
    finds: Ints  # [n, P]
    hits: Ints  # [n, P]
    opened: Ints  # [n, T, K] openings at each level
    opened_at: Ints  # [n, T, K, TIMES] run before which a level was done for the first, second ... time, alone or in a
    # higher one; -1 for never
    struck: Ints  # [n] 0, or what the forced failure was: 1, or 2 + the case


#: Openings of a level of which the run is kept.
TIMES = 4
#: Fields of a State that a season does not begin with: logs, traces, and room to work in.
LOGS = ("acted", "openings", "renewals", "left_behind", "kits", "struck_cases")


ROOM = (
    "causes",
    "drawn_by",
    "must",
    "trial",
    "trial_by",
    "wanted",
    "wanted_by",
    "fitting",
    "next_open",
    "asked",
    "reached",
    "barred",
    "needed",
    "shelf_left",
)


def begins_with(field: str) -> bool:
    """Whether a field of a State is set back on every opening day."""
    return field not in LOGS and not field.startswith("trace_") and field not in ROOM


def untraced(state: State) -> State:
    """A copy of a state without room for traces, nor for what the book does."""
    bare = {field: getattr(state, field)[:0] for field in State._fields if field.startswith("trace_")}
    fields = state._replace(acted=state.acted[:0], **bare)._asdict()
    return State(**{field: array.copy() for field, array in fields.items()})


def packed(state: State) -> tuple[State, Buffers]:
    """A copy of a state whose arrays that a season begins with are views of three flat ones."""
    parts: dict[str, list[np.ndarray]] = {"f": [], "i": [], "b": []}
    for field in State._fields:
        if begins_with(field):
            array = getattr(state, field)
            parts[array.dtype.kind].append(array)
    flat = {kind: np.concatenate([array.ravel() for array in arrays]) for kind, arrays in parts.items()}
    at = dict.fromkeys(flat, 0)
    views = {}
    for field in State._fields:
        array = getattr(state, field)
        if not begins_with(field):
            views[field] = array.copy()
            continue
        kind = array.dtype.kind
        views[field] = flat[kind][at[kind] : at[kind] + array.size].reshape(array.shape)
        at[kind] += array.size
    return State(**views), Buffers(flat["f"], flat["i"], flat["b"])


def empty_block(problem: Problem, state: State, n: int) -> Block:
    """Room for what is kept of n seasons."""
    events, months, (ladders, depth) = problem.weight.shape[0], state.tally_month.shape[0], problem.hours.shape
    positions, hazards = problem.level.shape[0], problem.hazard_mean.shape[0]
    return Block(
        event=np.zeros((n, events + 1), dtype=np.int64),
        month=np.zeros((n, months), dtype=np.int64),
        cause=np.zeros((n, state.tally_cause.shape[0]), dtype=np.int64),
        line=np.zeros((n, positions + ladders * depth + 1), dtype=np.int64),
        used_up=np.zeros(n, dtype=np.int64),
        left=np.zeros(n, dtype=np.int64),
        stopped=np.zeros((n, events), dtype=np.bool_),
        missed=np.zeros((n, events), dtype=np.bool_),
        rained=np.zeros((n, events), dtype=np.bool_),
        held=np.zeros((n, events), dtype=np.bool_),
        use=np.zeros((n, problem.use.shape[0])),
        lost=np.zeros(n),
        failures=np.zeros((n, positions + hazards), dtype=np.int64),
        finds=np.zeros((n, positions), dtype=np.int64),
        hits=np.zeros((n, positions), dtype=np.int64),
        opened=np.zeros((n, ladders, depth), dtype=np.int64),
        opened_at=np.full((n, ladders, depth, TIMES), -1, dtype=np.int64),
        struck=np.zeros(n, dtype=np.int64),
    )


def play_block(
    problem: Problem, state: State, now: Buffers, start: Buffers, out: Block, first: int, count: int
) -> None:
    """Plays seasons first .. first + count, each from the same opening day."""
    for n in range(count):
        set_back(now, start)
        state.season[0] = first + n
        play(problem, state)
        keep(problem, state, out, n)


def set_back(now: Buffers, start: Buffers) -> None:
    """Everything as on opening day."""
    for i in range(start.floats.shape[0]):
        now.floats[i] = start.floats[i]
    for i in range(start.ints.shape[0]):
        now.ints[i] = start.ints[i]
    for i in range(start.bools.shape[0]):
        now.bools[i] = start.bools[i]


def keep(problem: Problem, state: State, out: Block, n: int) -> None:
    """Writes down a season that has been played."""
    for e in range(out.event.shape[1]):
        out.event[n, e] = state.tally_event[e]
    for m in range(out.month.shape[1]):
        out.month[n, m] = state.tally_month[m]
    for c in range(out.cause.shape[1]):
        out.cause[n, c] = state.tally_cause[c]
    for i in range(out.line.shape[1]):
        out.line[n, i] = state.tally_line[i]
    for p in range(out.failures.shape[1]):
        out.failures[n, p] = state.failures[p]
    for p in range(out.hits.shape[1]):
        out.finds[n, p], out.hits[n, p] = state.finds[p], state.hits[p]
    out.used_up[n], out.struck[n] = state.used_up[0], state.struck[0]
    out.left[n] = worth_left(problem, state)
    keep_runs(problem, state, out, n)
    keep_openings(state, out, n)


def worth_left(problem: Problem, state: State) -> int:
    """What is on hand when the season is over: balances less work owed, resale, and the shelf."""
    total, car = left_on_hand(problem, state), state.age.shape[0] - 1
    for carrier in range(car + 1):
        for p in range(problem.level.shape[0]):
            if problem.on_car[p] == (carrier == car):
                total += problem.pieces[p] * problem.resale[state.item[carrier, p]]
    for item in range(state.stock_value.shape[0]):
        total += state.stock_value[item]
    return total


def keep_runs(problem: Problem, state: State, out: Block, n: int) -> None:
    """Which events were stopped, missed or rained out, what results that cost, and what use was run."""
    for e in range(out.stopped.shape[1]):
        out.stopped[n, e] = out.missed[n, e] = out.rained[n, e] = out.held[n, e] = False
    for m in range(out.use.shape[1]):
        out.use[n, m] = 0.0
    out.lost[n] = 0.0
    for g in range(problem.begin, problem.day.shape[0]):
        e = problem.event[g]
        if state.lost[g]:
            out.rained[n, e] = True
            continue
        if state.ran[g] < 0:
            out.missed[n, e] = True
        else:
            out.held[n, e] = True
            for m in range(out.use.shape[1]):
                out.use[n, m] += problem.use[m, g + 1] - problem.use[m, g]
        if state.stopped[g]:
            out.stopped[n, e] = True
        if state.ran[g] < 0 or state.stopped[g]:
            out.lost[n] += problem.weight[e] * problem.result[g]


def keep_openings(state: State, out: Block, n: int) -> None:
    """How often each level was opened, and before which runs it was done."""
    for ladder in range(out.opened.shape[1]):
        for level in range(out.opened.shape[2]):
            out.opened[n, ladder, level] = 0
            for i in range(TIMES):
                out.opened_at[n, ladder, level, i] = -1
    for i in range(state.n_openings[0]):
        g, ladder, highest = state.openings[i, 0], state.openings[i, 2], state.openings[i, 3]
        out.opened[n, ladder, highest] += 1
        for level in range(highest + 1):
            note_done(out, n, ladder, level, g)


def note_done(out: Block, n: int, ladder: int, level: int, g: int) -> None:
    """Writes down when a level was done, for as many times as there is room."""
    for i in range(TIMES):
        if out.opened_at[n, ladder, level, i] < 0:
            out.opened_at[n, ladder, level, i] = g
            return
