"""Which spares pay back: what lies in the box, and what to add to it for a sum, judged by playing the season with each.

A spare saves the time that a part which nobody ordered takes to come. It stays in the box until something breaks or is
found worn: planned work leaves it there, and nothing is put back within the season. What it is worth is the burden of
the season without it less that with it, on the same draws; its price is counted, and what is left of it in the box is
not lost.

The box is filled greedily: at each step with what saves most for its money, given what was taken before. That is a good
rule and no proof; so pairs and more that are waited for together are tried as one, the box as a whole is judged again
on other seasons, and where there are few boxes all of them are tried.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal

import numpy as np

from costplan.formulas.spares import expected_backorders, probability_of_more
from costplan.money import from_minor, to_minor
from costplan.season import machine
from costplan.season.deciding.asked import reading_stage
from costplan.season.deciding.fresh import unseen
from costplan.season.deciding.spares_answer import Demand, Gain, InBox, Spare, Spares
from costplan.season.deciding.spares_box import Box, pieces_in, slots_of, units_of, without_item
from costplan.season.deciding.spares_search import FEWER, SCREEN, Each, Search, never_waited, unwatched
from costplan.season.deciding.spares_trials import Trials, drawn_with, gain_of, is_taken, single_of
from costplan.season.drawn.drawing import ONE_BY_ONE, QUIET, Watch, draw
from costplan.season.drawn.figures import chance_of, difference_of
from costplan.season.drawn.stage import Stage
from costplan.season.names import Season


def spares_for(
    season: Season,
    money: Decimal,
    seasons: int = 4000,
    seed: int = 1,
    *,
    compiled: bool = True,
    watch: Watch = QUIET,
    each: Each = unwatched,
) -> Spares:
    """What lies in the box, and what to add to it for a sum; figures rest on so many seasons.

    Stopped, it tells what was found until then.
    """
    if not 1 <= seasons <= ONE_BY_ONE:
        raise ValueError(f"from 1 to {ONE_BY_ONE} seasons are drawn")
    stage = Stage(season, compiled=compiled, track=watch.compiling)
    trials = Trials(season, seed, stage, reading_stage(season, compiled=compiled))
    base = draw(season, seasons, seed, stage=stage, watch=watch)
    seasons, asked = base.seasons, seasons
    trials.drawn[()] = drawn_with(season, single_of(base), 0)
    budget = to_minor(money, season.rates.currency)
    search = Search(trials, seasons, budget, each, units_of(season))
    fresh = unseen(seed)
    worth = from_minor(season.result_worth, season.rates.currency)
    found = Spares(season.rates.currency, seasons, asked, seed, fresh, money, worth, base.interrupted, rest=money)
    if base.interrupted:
        return found
    try:
        for answer in _stages(search, found):
            found = answer
    except KeyboardInterrupt:
        found = replace(found, interrupted=True)
    return found


def _stages(search: Search, found: Spares) -> Iterator[Spares]:
    """The answer as it grows: what lies in the box, step by step what is added, and what it is judged by."""
    trials, season, most, currency = search.trials, search.season, search.most, found.currency
    search.look(trials.log((), most))
    parts = tuple((item, 0) for item in search.units)
    found = replace(found, at_best=_at_best(search, parts, most), box=tuple(_in_box(search)))
    yield found
    while search.step():
        box, more = search.taken[-1]
        step = Spare(pieces_in(season, more), trials.gain(box, more, most, used=True))
        found = replace(found, steps=(*found.steps, step), rest=from_minor(search.left, currency))
        yield found
    if search.chosen:
        other = Trials(season, found.fresh, trials.stage, trials.reading)
        found = replace(found, whole=other.gain((), search.chosen, most))
    found = replace(found, demand=tuple(_demands(search)))
    yield found
    in_time = tuple(season.items[item].name for item, waited in search.waited.items() if not waited)
    found = replace(found, others=tuple(_others(search)), in_time=in_time)
    yield found
    yield replace(found, boxes=search.all_boxes())


def _in_box(search: Search) -> Iterator[InBox]:
    """What lies in the box when the season begins, and what it is worth there."""
    season = search.season
    start, problem = season.start, season.problem
    held = [item for item in search.units if start.stock[item] or (start.used_left & (problem.used_item == item)).any()]
    for item in search.each(held, "Trying the season without what lies in the box"):
        sets = start.used_left & (problem.used_item == item)
        bought, pieces, value = season.items[item], int(start.stock[item]), int(start.stock_value[item])
        gain = _gain_in_box(search, item, sets)
        worth, kept = from_minor(value, season.rates.currency), int(problem.keep[item])
        yield InBox(bought.name, bought.title, slots_of(season, item), pieces, kept, int(sets.sum()), worth, gain)


def _gain_in_box(search: Search, item: int, sets: machine.Bools) -> Gain:
    trials, season, most = search.trials, search.season, search.most
    having, log = trials.take((), most), trials.log((), most)
    kept = season.problem.keep[item] == season.start.stock[item] and not sets.any()
    planned = False if kept else log.planned[:, item] > 0
    touched = np.flatnonzero(is_taken(log, [item]) | planned)
    without = trials.changed(without_item(season, item), having, touched, 0, -int(season.start.stock_value[item]))
    taken = (log.stock[:most, item] < season.start.stock[item]) | (sets & ~log.used[:most]).any(axis=1)
    used = chance_of(int(taken.sum()), most)
    return gain_of(without.burden - having.burden, having.misses - without.misses, season.rates.currency, used)


def _others(search: Search) -> Iterator[Spare]:
    """What every part that was not taken would bring beside what was, the most for its money first."""
    taken, trials = dict(search.chosen), search.trials
    seasons = max(min(SCREEN, search.most), search.most // FEWER)
    left = [box for box in (*search.singles, *search.together) if not any(item in taken for item, _ in box)]
    found = []
    for box in search.each(left, "Trying what was not taken"):
        gain = trials.gain(search.chosen, box, seasons)
        best = _at_best(search, box, seasons) if len(box) == 1 else None
        found.append(Spare(pieces_in(search.season, box), gain, best))
    yield from sorted(found, key=lambda one: -one.gain.saves / max(one.price, Decimal(1)))


def _at_best(search: Search, box: Box, seasons: int) -> Gain:
    """What a season saves in which some items are never waited for; nothing is paid for that."""
    without = search.trials.take(search.chosen, seasons)
    never = never_waited(search, [item for item, _ in box], seasons)
    return gain_of(without.burden - never.burden, never.misses - without.misses, search.season.rates.currency)


def _demands(search: Search) -> Iterator[Demand]:
    """What is needed unplanned of each part, with the chosen box, beside what a steady rate would ask for."""
    log, season = search.trials.log(search.chosen, search.most), search.season
    start, more = season.start, dict(search.chosen)
    for item, unit in search.units.items():
        wanted, short = log.wanted[: search.most, item] / unit, log.short[: search.most, item] / unit
        if wanted.any():
            sets = int((start.used_left & (season.problem.used_item == item)).sum())
            box = (int(start.stock[item]) + more.get(item, 0)) // unit + sets
            mean = float(np.mean(wanted))
            yield Demand(
                season.items[item].name,
                season.items[item].title,
                slots_of(season, item),
                unit,
                box,
                difference_of(wanted),
                chance_of(int((short > 0).sum()), len(short)),
                probability_of_more(mean, box),
                difference_of(short),
                expected_backorders(mean, box),
            )
