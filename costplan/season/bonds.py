"""The rule book as it binds one season: what of it is in force, and its bonds as rows of the machine's arrays."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np

from costplan.catalog import Operation
from costplan.money import Rates, to_minor
from costplan.rules.book import BarredWork, Bond, Book, Charge, Clause, ListedShops
from costplan.season import machine
from costplan.season.calendar import Run, gap_before
from costplan.season.names import LADDERS, PathStep, Spot, Step
from costplan.season.records import CAR, Level

#: The ladders that have levels of levels.csv.
LEVELLED = (LADDERS.index("engine"), LADDERS.index(CAR))


def in_season(book: Book, first: date, last: date) -> Book:
    """What of a book is in force on any day from the first to the last of a season; the rest asks nothing of it."""

    def met(clause: Clause) -> bool:
        return (clause.since is None or clause.since <= last) and (clause.until is None or clause.until >= first)

    return book.only(met)


def bonds_of(book: Book) -> tuple[Bond, ...]:
    """The bonds that the machine notes, in the order in which it numbers them."""
    return (*book.level_caps, *book.shops, *book.engine_caps, *book.piece_caps, *book.barred)


def days_of(runs: Sequence[Run]) -> tuple[date, ...]:
    """The day of the gap before each run, by which a clause is in force there or not."""
    return tuple(gap_before(runs, g)[0] for g in range(len(runs)))


def reach(level: str, ladders: Sequence[Sequence[Step]]) -> Iterator[tuple[int, int]]:
    """Ladder and number of a level by its name; the lowest of engines and car where none is named."""
    for t in LEVELLED:
        for k, step in enumerate(ladders[t]):
            if step.level == level or (not level and k == 0):
                yield t, k


def charged(charge: Charge, t: int, k: int, ladders: Sequence[Sequence[Step]]) -> bool:
    """Whether a charge is due on an opening at level k of ladder t."""
    return charge.per == "opening" and any(t == ladder and k >= low for ladder, low in reach(charge.level, ladders))


def amount_of(charge: Charge, rates: Rates, day: date) -> int:
    """A charge in minor units of the scenario's currency, at the rate of the day; without a currency it is in that."""
    return to_minor(rates.convert(charge.amount, charge.currency or rates.currency, day), rates.currency)


def refuses(listed: ListedShops, row: Level, levels: Sequence[Level]) -> bool:
    """Whether a list of shops binds a level and lacks the one that does it; a row without a shop is on no list."""
    named = [level.rank for level in levels if level.level == listed.level and level.carrier == row.carrier]
    bound = not listed.level or any(rank <= row.rank for rank in named)
    return bound and (not row.shop or row.shop not in listed.shops)


def levels_taken(levels: Sequence[Level], book: Book) -> tuple[Level, ...]:
    """One row for each level: that which the fewest lists of shops refuse, of those the cheapest, then the quickest.

    Where a list refuses even that one, the level is barred while the list is in force.
    """

    def rank(row: Level) -> tuple[Any, ...]:
        refused = sum(refuses(listed, row, levels) for listed in book.shops)
        return refused, row.labour + row.supplies, row.hours, row.shop

    names = dict.fromkeys(row.level for row in levels)
    return tuple(min((row for row in levels if row.level == name), key=rank) for name in names)


@dataclass(frozen=True, slots=True)
class _Bar:
    """A bar on the levels low .. high of a ladder, as the machine has it."""

    bond: int
    clause: Clause
    ladder: int
    low: int
    high: int
    most: int = 0
    each: bool = True
    in_life: bool = False


def _bars(book: Book, ladders: Sequence[Sequence[Step]]) -> Iterator[_Bar]:
    """Caps bar a level and all above it; a list of shops bars each level that nobody on it does."""
    for bond, cap in enumerate(book.level_caps):
        for t, k in reach(cap.level, ladders):
            yield _Bar(bond, cap.clause, t, k, len(ladders[t]) - 1, cap.most, cap.each_engine, cap.in_life)
    rows = [step.row for t in LEVELLED for step in ladders[t] if step.row is not None]
    for bond, listed in enumerate(book.shops, start=len(book.level_caps)):
        for t in LEVELLED:
            for k, step in enumerate(ladders[t]):
                if step.row is not None and refuses(listed, step.row, rows):
                    yield _Bar(bond, listed.clause, t, k, k)


def bond_arrays(
    book: Book,
    rates: Rates,
    runs: Sequence[Run],
    spots: Sequence[Spot],
    ladders: Sequence[Sequence[Step]],
    operations: Mapping[str, Operation],
) -> dict[str, Any]:
    """The fields of the machine's problem that the rule book fills."""
    days, bars = days_of(runs), tuple(_bars(book, ladders))
    number = bonds_of(book).index
    return {
        "bar_bond": _whole(bar.bond for bar in bars),
        "bar_ladder": _whole(bar.ladder for bar in bars),
        "bar_low": _whole(bar.low for bar in bars),
        "bar_high": _whole(bar.high for bar in bars),
        "bar_most": _whole(bar.most for bar in bars),
        "bar_each": np.array([bar.each for bar in bars], dtype=np.bool_),
        "bar_in_life": np.array([bar.in_life for bar in bars], dtype=np.bool_),
        "bar_holds": _in_force([bar.clause for bar in bars], days),
        "engines_bond": _whole(number(cap) for cap in book.engine_caps),
        "engines_most": _whole(cap.most for cap in book.engine_caps),
        "engines_hold": _in_force([cap.clause for cap in book.engine_caps], [run.event.date for run in runs]),
        "pieces_bond": _whole(number(cap) for cap in book.piece_caps),
        "pieces_most": _whole(cap.most for cap in book.piece_caps),
        "pieces_event": np.array([cap.each_event for cap in book.piece_caps], dtype=np.bool_),
        "pieces_of": np.array(
            [[bool({spot.slot, spot.base} & set(cap.slots)) for spot in spots] for cap in book.piece_caps],
            dtype=np.bool_,
        ).reshape(len(book.piece_caps), len(spots)),
        "pieces_hold": _in_force([cap.clause for cap in book.piece_caps], days),
        "step_barred": _steps_barred(book, days, spots, operations, number),
        "fee": _fees(book, rates, (*days, gap_before(runs, len(runs))[0]), ladders),
    }


def _whole(values: Any) -> machine.Ints:
    return np.array(list(values), dtype=np.int64)


def _in_force(clauses: Sequence[Clause], days: Sequence[date]) -> machine.Bools:
    """[clauses, G] whether each is in force on the day of a run, or of the gap before it."""
    table = [[clause.holds_on(day) for day in days] for clause in clauses]
    return np.array(table, dtype=np.bool_).reshape(len(clauses), len(days))


def bars_step(work: BarredWork, spot: Spot, step: PathStep, operations: Mapping[str, Operation]) -> bool:
    """Whether a clause forbids a service step of a position."""
    return (not work.slots or spot.base in work.slots) and work.forbids(operations[step.operation])


def _steps_barred(
    book: Book,
    days: Sequence[date],
    spots: Sequence[Spot],
    operations: Mapping[str, Operation],
    number: Callable[[Bond], int],
) -> machine.Ints:
    """[P, S, G] the first bond that bars a step in the gap before a run."""
    depth = max(1, *(len(spot.path) for spot in spots), 1)
    table = np.full((len(spots), depth, len(days)), -1, dtype=np.int64)
    for work in reversed(book.barred):
        in_force = np.array([work.clause.holds_on(day) for day in days])
        for p, spot in enumerate(spots):
            for s, step in enumerate(spot.path):
                if bars_step(work, spot, step, operations):
                    table[p, s, in_force] = number(work)
    return table


def _fees(book: Book, rates: Rates, days: Sequence[date], ladders: Sequence[Sequence[Step]]) -> machine.Ints:
    """[T, K, G+1] what the book charges for one opening at a level in the gap before each run, and after the last."""
    table = np.zeros((len(ladders), max(1, *(len(ladder) for ladder in ladders)), len(days)), dtype=np.int64)
    for charge in book.charges:
        for t, ladder in enumerate(ladders):
            for k in range(len(ladder)):
                if charged(charge, t, k, ladders):
                    table[t, k] += [amount_of(charge, rates, d) if charge.clause.holds_on(d) else 0 for d in days]
    return table
