"""What a renewal is: a step, a piece or a set; what must change with it, and whether the caps on pieces allow it."""

from __future__ import annotations

from costplan.season.machine.book import note, step_bond
from costplan.season.machine.records import (
    BY_STRENGTH,
    DAMAGE,
    EARLY,
    FAILURE,
    REFUSED,
    SLACK,
    Bools,
    Ints,
    Problem,
    State,
)
from costplan.season.machine.wear import beyond, item_after, passes_limit


def clear(causes: Ints) -> None:
    """Sets room for causes, or for what called for them, to none."""
    for p in range(causes.shape[0]):
        causes[p] = -1


def draw_along(problem: Problem, state: State, carrier: int, causes: Ints, drawn_by: Ints, g: int) -> None:
    """What is renewed takes along what must change with it or with the step it goes through, and that in turn.

    What is taken along gets the cause it is taken for; of several the strongest.
    """
    for cause in BY_STRENGTH:
        found = True
        while found:
            found = False
            for i in range(problem.leading.shape[0]):
                p = problem.leading[i]
                if causes[p] == cause and take_along(problem, state, carrier, p, causes, drawn_by, g):
                    found = True


def take_along(problem: Problem, state: State, carrier: int, p: int, causes: Ints, drawn_by: Ints, g: int) -> bool:
    """Notes what changes with one renewal; whether anything new does."""
    found = False
    for a in range(problem.along_from[p], problem.along_from[p + 1]):
        q = problem.along[a]
        if causes[q] < 0 and goes_along(problem, state, carrier, p, q, causes[p], g):
            causes[q], drawn_by[q] = causes[p], p
            found = True
    return found


def goes_along(problem: Problem, state: State, carrier: int, p: int, q: int, cause: int, g: int) -> bool:
    """Whether q must change with p: always, with the step that p goes through, or to another item."""
    if problem.renew_with[p, q]:
        return True
    if problem.steps[p] == 0:
        return False
    step = next_step(problem, state, carrier, p, cause, g)
    if step >= 0 and problem.step_with[p, step, q]:
        return True
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


def next_step(problem: Problem, state: State, carrier: int, p: int, cause: int, g: int) -> int:
    """The service step that renews a set instead of another set; -1 where its path has ended or the book bars it."""
    step = step_ahead(problem, state, carrier, p, cause, g)
    return -1 if step_bond(problem, p, step, g) >= 0 else step


def step_ahead(problem: Problem, state: State, carrier: int, p: int, cause: int, g: int) -> int:
    """The service step that would renew a set but for the book; -1 where its path has ended.

    What broke is mended by a step only where the step says so. No step takes a set past a hard limit of its own.
    """
    step = state.step[carrier, p]
    if step >= problem.steps[p] or mends_piece(problem, state, carrier, p, cause):
        return -1
    if state.broken[carrier, p] and (state.wrecked[carrier, p] or not problem.step_mends[p, step]):
        return -1
    if g < problem.day.shape[0]:
        ahead = problem.next_fit[problem.ladder[p], problem.level[p], g]
        if passes_limit(problem, state, carrier, p, g, ahead, 1.0):
            return -1
    return int(step)


def mends_piece(problem: Problem, state: State, carrier: int, p: int, cause: int) -> bool:
    """Whether one piece of a set is put in for the one that broke."""
    if not state.broken[carrier, p] or state.wrecked[carrier, p] or (cause != FAILURE and cause != DAMAGE):
        return False
    return bool(problem.as_piece[p] and problem.pieces[p] > 1)


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
            late = age + problem.duty[ahead, j] - problem.duty[g, j] > problem.due_at[j] * factor * (1 + SLACK)
            serves = serves and not late and not beyond(problem, j, age, g, ahead, 0.0)
            share = max(share, age / (problem.worn_at[j] * factor), age / problem.limit[j])
        if serves and share > most:
            oldest, most = u, share
    return oldest


def shelf_age(problem: Problem, u: int, j: int, g: int) -> float:
    """The age of a used set on the shelf before a run; that of its paper grows there too."""
    days = problem.raw[g, j] if problem.dated[j] else 0.0
    return float(problem.used_age[u, j] + days)


def pieces_put_in(problem: Problem, state: State, carrier: int, p: int, cause: int, g: int) -> int:
    """Pieces, new or used, that a renewal puts in: none where the set goes through a service step."""
    if next_step(problem, state, carrier, p, cause, g) >= 0:
        return 0
    return 1 if mends_piece(problem, state, carrier, p, cause) else int(problem.pieces[p])


def obtainable(problem: Problem, state: State, carrier: int, p: int, cause: int, g: int, what: int) -> bool:
    """Whether the caps on pieces let a position be renewed with what goes along; `what` is noted if not."""
    if not problem.capped[p]:
        return True
    clear(state.trial)
    state.trial[p] = cause
    draw_along(problem, state, carrier, state.trial, state.trial_by, g)
    passed = cap_passed(problem, state, carrier, state.trial, g)
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


def ration(problem: Problem, state: State, carrier: int, g: int) -> None:
    """Takes out the renewals that the caps on pieces leave nothing for: the strongest causes come first.

    What is renewed together is taken out together.
    """
    copy_into(state.wanted, state.causes)
    copy_into(state.wanted_by, state.drawn_by)
    clear(state.causes)
    clear(state.drawn_by)
    for cause in BY_STRENGTH:
        for i in range(state.wanted.shape[0]):
            p = problem.order[i]
            if state.wanted[p] == cause and state.wanted_by[p] < 0:
                allow(problem, state, carrier, p, cause, g)


def allow(problem: Problem, state: State, carrier: int, p: int, cause: int, g: int) -> None:
    """Adds a renewal with what goes along to those of an opening, if the caps on pieces leave something for it."""
    copy_into(state.trial, state.causes)
    copy_into(state.trial_by, state.drawn_by)
    state.trial[p], state.trial_by[p] = cause, -1
    draw_along(problem, state, carrier, state.trial, state.trial_by, g)
    passed = cap_passed(problem, state, carrier, state.trial, g)
    if passed < 0:
        copy_into(state.causes, state.trial)
        copy_into(state.drawn_by, state.trial_by)
    elif cause != EARLY:
        note(state, problem.pieces_bond[passed], carrier, g, REFUSED)


def copy_into(room: Ints, causes: Ints) -> None:
    """Copies without asking for memory."""
    for p in range(causes.shape[0]):
        room[p] = causes[p]
