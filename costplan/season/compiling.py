"""From files to a season that can be played: names, then the machine's arrays, then the state at opening."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from costplan.build import Fill
from costplan.catalog import Part
from costplan.life import Life, life_of
from costplan.money import Rates, to_minor
from costplan.problems import Problem, Problems
from costplan.season.arrays import problem_of
from costplan.season.calendar import unroll
from costplan.season.checking import check_measures, check_service_rows, check_shelf, check_sums
from costplan.season.inputs import place_of
from costplan.season.names import LADDERS, Assumption, Item, Season, Sources, Spot, Step
from costplan.season.opening import state_at_opening
from costplan.season.records import CAR, Position


def compile_season(sources: Sources) -> tuple[Season | None, tuple[Problem, ...]]:
    """The season, or the problems that only show when calendar, lives and garage meet."""
    problems = Problems()
    runs, faults = unroll(
        sources.files.events, sources.files.sessions, sources.gaps, place_of(sources.files, "calendar")
    )
    problems.extend(faults)
    if not runs:
        return None, tuple(problems.found)
    opening = sources.opening or min(event.date for event in sources.files.events)
    items: list[Item] = []
    ladders = _ladders(sources)
    spots = [*_part_spots(sources, items, opening, problems), *_service_spots(sources, items)]
    flows = tuple(service for service in sources.files.services if not service.whole)
    check_measures(sources, spots, runs, problems)
    check_service_rows(sources, runs, problems)
    check_shelf(sources, spots, items, runs, problems)
    check_sums(sources, spots, items, flows, runs, problems)
    if problems:
        return None, tuple(problems.found)
    problem = problem_of(sources, runs, spots, items, ladders)
    start, assumed = state_at_opening(sources, problem, runs, spots, items, ladders, problems)
    carriers = (*(engine.name for engine in sources.engines), CAR)
    season = Season(
        problem,
        start,
        runs,
        carriers,
        tuple(spots),
        tuple(items),
        ladders,
        flows,
        sources.files,
        opening,
        sources.rates,
        (*_assumptions(sources, spots, items), *assumed),
    )
    return (None if problems else season), tuple(problems.found)


def _ladders(sources: Sources) -> tuple[tuple[Step, ...], ...]:
    """The levels of each ladder, lowest first; services need one level for each number of hours."""
    currency = sources.rates.currency

    def of_levels(carrier: str) -> tuple[Step, ...]:
        rows = sorted((row for row in sources.files.levels if row.carrier == carrier), key=lambda row: row.rank)
        return tuple(
            Step(row.level, row.hours, to_minor(row.labour, currency), to_minor(row.supplies, currency), row)
            for row in rows
        )

    def of_services(carrier: str) -> tuple[Step, ...]:
        return tuple(Step(f"service of {hours:g} h", hours, 0, 0) for hours in _service_hours(sources, carrier))

    return of_levels("engine"), of_services("engine"), of_levels(CAR), of_services(CAR)


def _service_hours(sources: Sources, carrier: str) -> list[float]:
    return sorted({row.hours for row in sources.files.services if row.whole and row.carrier == carrier})


def _part_spots(sources: Sources, items: list[Item], opening: date, problems: Problems) -> list[Spot]:
    """A position for each filled slot that has a life or a row in positions.csv."""
    if sources.build is None or sources.catalog is None:
        return []
    rows = {row.slot: row for row in sources.files.positions}
    levels = {row.level: row for row in sources.files.levels}
    numbers: dict[str, int] = {}
    spots = []
    for slot, fill in sources.build.fills.items():
        life_rows = sources.catalog.lives_of(fill.part)
        row = rows.get(slot)
        if row is None:
            if life_rows:
                advice = f"add a row for it: which level reaches it; the life is in {life_rows[0].place}"
                where = place_of(sources.files, "positions")
                problems.add("SEA003", where, "slot", slot, "a slot with a life but no position:", advice)
            continue
        if fill.part.part not in numbers:
            numbers[fill.part.part] = len(items)
            items.append(_item(fill.part, sources.rates, opening))
        role = sources.catalog.roles.get(fill.part.role)
        lives = tuple(life_of(life, role, fill.slot.quantity) for life in life_rows)
        spots.append(_part_spot(fill, row, lives, numbers[fill.part.part], levels[row.level].rank - 1))
    return spots


def _part_spot(fill: Fill, row: Position, lives: tuple[Life, ...], item: int, level: int) -> Spot:
    return Spot(
        fill.slot.slot,
        fill.slot.quantity,
        item,
        lives,
        LADDERS.index(row.carrier),
        level,
        math.inf if row.renewal == "run to failure" else row.factor,
        row.stops,
        row.renew_as == "piece",
        row.place,
    )


def _item(part: Part, rates: Rates, on: date) -> Item:
    def minor(amount: Decimal) -> int:
        return to_minor(rates.convert(amount, part.currency, on), rates.currency)

    return Item(
        part.part,
        part.name,
        part.supplier,
        part.pack,
        minor(part.price),
        minor(part.core_charge),
        minor(part.resale),
        part.lead_days,
        part.place,
        () if part.source else ("price has no source",),
    )


def _service_spots(sources: Sources, items: list[Item]) -> list[Spot]:
    """A position for each whole service: a thing of one piece with a life in its measure, at a level by its hours."""
    spots = []
    for row in sources.files.services:
        if not row.whole:
            continue
        price = to_minor(row.price, sources.rates.currency)
        items.append(Item(row.service, row.service, "", 1, price, 0, 0, 0, row.place))
        level = _service_hours(sources, row.carrier).index(row.hours)
        ladder = LADDERS.index(f"{row.carrier} services")
        spots.append(Spot(row.service, 1, len(items) - 1, (), ladder, level, 1.0, False, False, row.place, row))
    return spots


def _assumptions(sources: Sources, spots: Sequence[Spot], items: Sequence[Item]) -> tuple[Assumption, ...]:
    """Every input that is a guess."""
    found = []
    for spot in spots:
        for life in spot.lives:
            place = str(life.row.place)
            found += [Assumption(spot.slot, word, place) for word in life.assumed]
        item = items[spot.item]
        found += [Assumption(item.name, word, str(item.place)) for word in item.assumed]
    found += [
        Assumption(row.service, "a service's figures have no source", str(row.place))
        for row in sources.files.services
        if not row.source
    ]
    return tuple(dict.fromkeys(found))
