"""What moving each date by an event or two costs, or what is in the way of it."""

from __future__ import annotations

from costplan.season.deciding.timing_answer import Move, ServiceDate
from costplan.season.deciding.timing_plan import in_the_way, planned_dates, service_day
from costplan.season.deciding.timing_policy import Choice
from costplan.season.deciding.timing_search import Bench
from costplan.season.drawn.figures import paired


def services_of(judge: Bench, choice: Choice, seasons: int, *, stopped: bool) -> tuple[ServiceDate, ...]:
    """What is opened when under a choice, in order; under one with dates each moved by one and two events either way.

    That is its dates, and what is opened between them, being due.
    """
    scope, runs = judge.scope, judge.scope.season.runs
    own = choice.dates or frozenset()
    dates = planned_dates(scope, choice) | own
    return tuple(
        ServiceDate(
            scope.level(k),
            runs[g].event.event,
            service_day(scope.season, g),
            (k, g) in own,
            () if stopped or choice.dates is None else tuple(moves_of(judge, choice, (k, g), seasons)),
        )
        for k, g in sorted(dates, key=lambda one: (one[1], one[0]))
    )


def moves_of(judge: Bench, choice: Choice, date: tuple[int, int], seasons: int) -> list[Move]:
    """A date one and two events earlier and later and, where none of a side holds it, to the next gap that does."""
    scope, (k, g) = judge.scope, date
    firsts = scope.firsts
    at, found = firsts.index(g), []
    for side in (-1, 1):
        steps = [side, 2 * side]
        near = [firsts[at + step] for step in steps if 0 <= at + step < len(firsts)]
        far = [one for one in scope.holds[k] if (one - g) * side > 0]
        if far and not set(near) & set(far):
            steps.append(firsts.index(min(far, key=lambda one: abs(one - g))) - at)
        found += [_move(judge, choice, date, at, step, seasons) for step in steps]
    return sorted(found, key=lambda move: move.events)


def _move(judge: Bench, choice: Choice, date: tuple[int, int], at: int, step: int, seasons: int) -> Move:
    scope = judge.scope
    firsts, runs, currency = scope.firsts, scope.season.runs, scope.season.rates.currency
    if not 0 <= at + step < len(firsts):
        return Move(step, "", None, "no event is left there" if step > 0 else "no event to come lies before it")
    to = firsts[at + step]
    reason = in_the_way(scope, choice, date, to)
    if reason:
        return Move(step, runs[to].event.event, None, reason)
    moved = choice.without(date).plus((date[0], to))
    more = judge.burden(moved, seasons) - judge.burden(choice, seasons)
    return Move(step, runs[to].event.event, paired(more, currency), "")
