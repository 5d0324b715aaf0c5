"""What a choice aims at: lowest price, lowest cost of parts a season, most estimated power, longest interval.

Each aim is an amount of the puzzle. All amounts are worked out for every choice, so that a bill chosen for its price
tells its cost a season and its power too.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import product
from types import MappingProxyType
from typing import Literal

from costplan.build.airflow import Estimator
from costplan.choose.candidates import Candidate
from costplan.choose.encoded import CHANGES, ORDER, Encoded
from costplan.choose.lasting import Lasting, Reach, Seasons
from costplan.choose.modelling import Goal
from costplan.choose.purchases import PRICE
from costplan.choose.puzzle import Allowed, Amount, Valued
from costplan.money import round_money, to_minor

AimName = Literal["price", "season", "power", "interval"]
SEASON, POWER, INTERVAL = "season", "power", "interval"
#: Power is counted in watts, intervals in thousandths of an event; what is never renewed by age lasts this many events.
WATTS, FINE, FOREVER = 1000, 1000, 10**4
#: More tuples than these are not valued.
VALUED_MOST = 200_000


@dataclass(frozen=True, slots=True)
class Aim:
    """An aim, in words, and the goals that are sought in turn; the last one decides between bills alike in all else."""

    name: AimName
    says: str
    goals: tuple[Goal, ...]


#: What decides between bills alike in all that is aimed at.
TIE = (Goal(CHANGES), Goal(ORDER))

AIMS: Mapping[str, Aim] = MappingProxyType(
    {
        "price": Aim("price", "lowest price", (Goal(PRICE), *TIE)),
        "season": Aim("season", "lowest cost of parts a season", (Goal(SEASON), Goal(PRICE), *TIE)),
        "power": Aim("power", "most estimated power", (Goal(POWER, most=True), Goal(PRICE), *TIE)),
        "interval": Aim("interval", "longest interval", (Goal(INTERVAL, most=True), Goal(PRICE), *TIE)),
    }
)


@dataclass(frozen=True, slots=True)
class TooMany:
    """More combinations over some slots than can be valued one by one: so many of them at least."""

    slots: tuple[str, ...]
    count: int


@dataclass(frozen=True, slots=True)
class Aimed:
    """A puzzle with its amounts. `lasting` tells of each candidate how long it lasts, None where nothing wears.

    `level`: the level whose slots, with those above it, count for the interval. `too_many`: why no power is there
    although it could be estimated.
    """

    encoded: Encoded
    lasting: Mapping[tuple[str, str], Lasting]
    level: Reach | None = None
    estimator: Estimator | None = None
    too_many: TooMany | None = None


def aim(encoded: Encoded, seasons: Seasons | None, estimator: Estimator | None, level: str = "") -> Aimed:
    """Adds the amounts that can be had: without a season no cost of one and no interval, without [airflow] no power."""
    amounts = dict(encoded.puzzle.amounts)
    lasting: dict[tuple[str, str], Lasting] = {}
    reach, power = None, None
    if seasons is not None:
        lasting = dict(_lasting(encoded, seasons))
        amounts[SEASON] = _a_season(encoded, lasting)
        reach = _level(seasons, level)
        amounts[INTERVAL] = _interval(encoded, seasons, lasting, reach)
    if estimator is not None:
        power = _power(encoded, estimator)
        amounts |= {POWER: power} if isinstance(power, Amount) else {}
    puzzle = replace(encoded.puzzle, amounts=amounts)
    too_many = power if isinstance(power, TooMany) else None
    return Aimed(replace(encoded, puzzle=puzzle), lasting, reach, estimator, too_many)


def _lasting(encoded: Encoded, seasons: Seasons) -> Iterator[tuple[tuple[str, str], Lasting]]:
    for slot in encoded.slots:
        for one in {one.part: one for one in encoded.candidates[slot] if one.fill}.values():
            found = _of(encoded, seasons, slot, one)
            if found is not None:
                yield (slot, one.part), found


def _of(encoded: Encoded, seasons: Seasons, slot: str, one: Candidate) -> Lasting | None:
    return seasons.of(slot, one.fill.part, float(encoded.purchases.new(one))) if one.fill else None


def _a_season(encoded: Encoded, lasting: Mapping[tuple[str, str], Lasting]) -> Amount:
    """The cost of parts a season, each rounded to the minor unit."""
    currency = encoded.scenario.header.currency
    weights = {}
    for number, slot in enumerate(encoded.slots):
        its = [lasting.get((slot, one.part)) for one in encoded.candidates[slot]]
        if any(its):
            weights[number] = tuple(
                to_minor(season_money(one.per_season, currency), currency) if one else 0 for one in its
            )
    return Amount(SEASON, weights)


def season_money(amount: float, currency: str) -> Decimal:
    """What a part costs a season, as a line of a bill has it."""
    return round_money(Decimal(repr(amount)), currency)


def _level(seasons: Seasons, level: str) -> Reach | None:
    """The level that is asked for; else the lowest of an engine that is no work beside the car."""
    if level:
        return next((one for one in seasons.levels if one.level == level), None)
    engine = [one for one in seasons.levels if one.carrier != "car"]
    return next((one for one in engine if one.rank > engine[0].rank), engine[0] if engine else None)


def _interval(
    encoded: Encoded, seasons: Seasons, lasting: Mapping[tuple[str, str], Lasting], level: Reach | None
) -> Amount:
    """The events until the first part of the slots of a level, or of those above it, is due."""
    weights = {}
    for number, slot in enumerate(encoded.slots):
        reach = seasons.level_of(slot)
        if level is None or reach is None or reach.carrier != level.carrier or reach.rank < level.rank:
            continue
        its = [lasting.get((slot, one.part)) for one in encoded.candidates[slot]]
        weights[number] = tuple(_events(one) if one else FOREVER * FINE for one in its)
    return Amount(INTERVAL, weights or {0: (FOREVER * FINE,) * encoded.puzzle.sizes[0]}, least=True)


def _events(one: Lasting) -> int:
    return round(min(one.events, FOREVER) * FINE) if math.isfinite(one.events) else FOREVER * FINE


def _power(encoded: Encoded, estimator: Estimator) -> Amount | TooMany:
    """The estimated power of each tuple that its fits and clauses let stand; unknown ones only where that is wished."""
    slots = tuple(slot for slot in encoded.slots if slot in estimator.slots)
    numbers = tuple(encoded.slots.index(slot) for slot in slots)
    classes = tuple(_alike(encoded, estimator, slot) for slot in slots)
    rows = _standing(encoded, numbers, classes)
    if len(rows) > VALUED_MOST:
        return TooMany(slots, len(rows))
    first = [{one: of.index(one) for one in set(of)} for of in classes]
    values = {}
    for row in rows:
        chosen = {
            slot: encoded.candidates[slot][where[one]] for slot, where, one in zip(slots, first, row, strict=True)
        }
        power = estimator.power({slot: one.fill for slot, one in chosen.items() if one.fill})
        if power is not None or encoded.wishes.unknown == "allow":
            values[row] = round((power or 0.0) * WATTS)
    return Amount(POWER, valued=Valued(numbers, classes, values))


def _alike(encoded: Encoded, estimator: Estimator, slot: str) -> tuple[int, ...]:
    """Classes of candidates that are alike for the estimate."""
    keys = [estimator.alike(slot, one.fill) for one in encoded.candidates[slot]]
    order = {key: place for place, key in enumerate(dict.fromkeys(keys))}
    return tuple(order[key] for key in keys)


def _tables(encoded: Encoded, slots: Sequence[int]) -> list[Allowed]:
    """The tables that speak of some slots alone."""
    allowed = (one for one in encoded.puzzle.restrictions if isinstance(one, Allowed))
    return [one for one in allowed if set(slots).issuperset(one.scope)]


def _standing(
    encoded: Encoded, numbers: tuple[int, ...], classes: tuple[tuple[int, ...], ...]
) -> list[tuple[int, ...]]:
    """The tuples of classes that no table between these slots forbids, built slot by slot; too many are not gone on
    with."""
    tables = [_by_class(table, numbers, classes) for table in _tables(encoded, numbers)]
    rows: list[tuple[int, ...]] = [()]
    for place in range(len(numbers)):
        ready = [(scope, tuples) for scope, tuples in tables if max(scope) == place]
        rows = [
            (*row, one)
            for row, one in product(rows, sorted(set(classes[place])))
            if all(tuple((*row, one)[at] for at in scope) in tuples for scope, tuples in ready)
        ]
        if len(rows) > VALUED_MOST:
            break
    return rows


def _by_class(
    table: Allowed, numbers: tuple[int, ...], classes: tuple[tuple[int, ...], ...]
) -> tuple[tuple[int, ...], frozenset[tuple[int, ...]]]:
    """A table over other classes, of which some candidates may stand together: at which places, and what may."""
    scope = tuple(numbers.index(slot) for slot in table.scope)
    meant = [_members(of, classes[place]) for of, place in zip(table.classes, scope, strict=True)]
    there = (row for row in table.tuples if all(one in by for one, by in zip(row, meant, strict=True)))
    return scope, frozenset(
        each for row in there for each in product(*(by[one] for one, by in zip(row, meant, strict=True)))
    )


def _members(of: tuple[int, ...], other: tuple[int, ...]) -> dict[int, set[int]]:
    """The classes of one kind that candidates of a class of another kind are in."""
    found: dict[int, set[int]] = {}
    for one, its in zip(of, other, strict=True):
        found.setdefault(one, set()).add(its)
    return found
