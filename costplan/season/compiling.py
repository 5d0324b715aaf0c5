"""From files to a season that can be played: names, then the machine's arrays, then the state at opening."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from costplan.build import Alternate, Build, Fill
from costplan.catalog import Buying, Catalog, Offer, Part
from costplan.life import Life, life_of
from costplan.money import to_minor
from costplan.problems import Problem, Problems
from costplan.season.arrays import problem_of
from costplan.season.bonds import bonds_of, in_season, levels_taken
from costplan.season.book_checks import check_book
from costplan.season.calendar import Run, gap_before, unroll, use_of
from costplan.season.checking import (
    check_bills,
    check_companions,
    check_measures,
    check_operations,
    check_service_rows,
    check_setups,
    check_shelf,
    check_sums,
)
from costplan.season.damage import cases_of
from costplan.season.event_arrays import months_of
from costplan.season.inputs import place_of
from costplan.season.names import LADDERS, Assumption, EngineTrade, Item, KitItem, PathStep, Season, Sources, Spot, Step
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
    opening = sources.first_day
    first, last = min(opening, gap_before(runs, 0)[0]), runs[-1].event.date
    sources = replace(sources, book=in_season(sources.book, first, last))
    items: list[Item] = []
    ladders = _ladders(sources)
    spots = [*_part_spots(sources, runs, items, opening, problems), *_service_spots(sources, runs, items)]
    flows = tuple(service for service in sources.files.services if not service.whole)
    check_measures(sources, spots, runs, problems)
    check_companions(sources, spots, problems)
    check_setups(sources, spots, problems)
    check_service_rows(sources, runs, problems)
    check_shelf(sources, spots, items, runs, problems)
    kits = _kits(sources, items, runs)
    check_sums(sources, spots, items, kits, flows, runs, problems)
    check_book(sources, spots, problems)
    check_operations(sources, problems)
    if problems:
        return None, tuple(problems.found)
    cases = cases_of(sources, spots)
    check_bills(sources, cases, problems)
    if problems:
        return None, tuple(problems.found)
    months = months_of(sources, runs, opening)
    problem = problem_of(sources, runs, spots, items, kits, ladders, cases, months)
    start, assumed = state_at_opening(sources, problem, runs, spots, items, ladders, len(months), problems)
    season = Season(
        problem,
        start,
        runs,
        sources.carriers,
        tuple(spots),
        tuple(items),
        kits,
        ladders,
        flows,
        sources.files,
        opening,
        sources.rates,
        (*_assumptions(sources, spots, items), *assumed),
        sources.book,
        bonds_of(sources.book),
        sources.files.hazards,
        tuple(case for one in cases for case in one),
        months,
        _engine_trades(sources, opening),
        result_worth=to_minor(sources.policy.result_worth, sources.rates.currency),
        gaps=sources.gaps,
        shelf=tuple(piece for piece in sources.garage if piece.on_shelf),
        slots=tuple(sources.build.pattern.slots) if sources.build else (),
    )
    return (None if problems else season), tuple(problems.found)


def _ladders(sources: Sources) -> tuple[tuple[Step, ...], ...]:
    """The levels of each ladder, lowest first, as their shops do them; services need one for each number of hours."""
    currency, taken = sources.rates.currency, levels_taken(sources.files.levels, sources.book)

    def of_levels(carrier: str) -> tuple[Step, ...]:
        rows = sorted((row for row in taken if row.carrier == carrier), key=lambda row: row.rank)
        return tuple(
            Step(row.level, row.hours, to_minor(row.labour, currency), to_minor(row.supplies, currency), row)
            for row in rows
        )

    def of_services(carrier: str) -> tuple[Step, ...]:
        return tuple(Step(f"service of {hours:g} h", hours, 0, 0) for hours in _service_hours(sources, carrier))

    return of_levels("engine"), of_services("engine"), of_levels(CAR), of_services(CAR)


def _service_hours(sources: Sources, carrier: str) -> list[float]:
    return sorted({row.hours for row in sources.files.services if row.whole and row.carrier == carrier})


def _part_spots(
    sources: Sources, runs: Sequence[Run], items: list[Item], opening: date, problems: Problems
) -> list[Spot]:
    """A position for each filled slot, and each alternate of it, that has a life or a row in positions.csv."""
    if sources.build is None or sources.catalog is None:
        return []
    rows = {row.slot: row for row in sources.files.positions}
    levels = {row.level: row for row in sources.files.levels}
    shop = _Shop(sources.catalog, sources.buying, runs, opening, _smallest_sets(sources.build), items)
    spots = []
    for slot, alternate in sources.build.fitted():
        fill = alternate.fill
        life_rows = sources.catalog.lives_of(fill.part)
        row = rows.get(slot)
        if row is None:
            if life_rows:
                advice = f"add a row for it: which level reaches it; the life is in {life_rows[0].place}"
                where = place_of(sources.files, "positions")
                problems.add("SEA003", where, "slot", slot, "a slot with a life but no position:", advice)
            continue
        role = sources.catalog.roles.get(fill.part.role)
        lives = tuple(life_of(life, role, fill.slot.quantity) for life in life_rows)
        path = _path(fill, shop)
        spot = _part_spot(fill, row, lives, path, shop.number(fill.part), levels[row.level].rank - 1)
        dated = tuple(part for part in sources.book.dated if part.slot == slot)
        spots.append(replace(_alternate(spot, alternate, sources.build), dated=dated))
    return spots


def _smallest_sets(build: Build) -> dict[str, int]:
    """How many pieces of each role the smallest slot needs: so many are bought at the least."""
    sizes: dict[str, int] = {}
    for fill in build.everything():
        sizes[fill.slot.role] = min(sizes.get(fill.slot.role, fill.slot.quantity), fill.slot.quantity)
    return sizes


@dataclass(frozen=True, slots=True)
class _Shop:
    """Where the season buys: every part that it may need, numbered once as an item."""

    catalog: Catalog
    buying: Buying
    runs: Sequence[Run]
    opening: date
    pieces: Mapping[str, int]
    items: list[Item]

    def number(self, part: Part) -> int:
        """The number of a part's item."""
        known = {item.name: number for number, item in enumerate(self.items)}
        if part.part not in known:
            pieces = self.pieces.get(part.role, 1)
            self.items.append(_item(part, pieces, self.catalog, self.buying, self.runs, self.opening))
        return known.get(part.part, len(self.items) - 1)


def _part_spot(
    fill: Fill, row: Position, lives: tuple[Life, ...], path: tuple[PathStep, ...], item: int, level: int
) -> Spot:
    return Spot(
        fill.slot.slot,
        fill.slot.role,
        fill.slot.quantity,
        item,
        lives,
        LADDERS.index(row.carrier),
        level,
        math.inf if row.renewal == "run to failure" else row.factor,
        row.stops,
        row.renew_as == "piece",
        row.place,
        path,
        row.renew_with,
    )


def _alternate(spot: Spot, alternate: Alternate, build: Build) -> Spot:
    """The position of an alternate: under its own name, in its own set-ups; the main one takes the others."""
    if alternate.serves:
        return replace(spot, slot=f"{spot.slot}/{alternate.name}", only=alternate.serves)
    others = build.alternates.get(spot.slot, ())
    return replace(spot, but=tuple(setup for other in others for setup in other.serves))


def _item(part: Part, pieces: int, catalog: Catalog, buying: Buying, runs: Sequence[Run], opening: date) -> Item:
    """A part as the season buys it: at the cheapest offer for a set on opening day, and in its packs ever after."""
    offers = catalog.offers_of(part.part)
    first = buying.cheapest(offers, pieces, opening).offer
    alike = [offer for offer in offers if offer.pack == first.pack]
    by_day = _bought_by_day(alike, pieces, buying, _days(runs))
    resale = buying.rates.convert(part.resale, catalog.currency_of(part), opening)
    return Item(
        part.part,
        part.name,
        first.pack,
        _pack_price(first, buying, opening),
        tuple(price for _, price in by_day),
        to_minor(buying.deposit(first, opening), buying.rates.currency),
        to_minor(resale, buying.rates.currency),
        first.place,
        tuple(offer for offer, _ in by_day),
        () if first.source else ("price has no source",),
    )


def _kits(sources: Sources, items: Sequence[Item], runs: Sequence[Run]) -> tuple[KitItem, ...]:
    """The kits that hold anything which the season may need."""
    catalog, buying = sources.catalog or Catalog(), sources.buying
    numbers = {item.name: number for number, item in enumerate(items) if item.offers}
    days = _days(runs)
    found = []
    for kit in sorted(catalog.kits.values(), key=lambda kit: kit.kit):
        pieces = tuple((numbers[row.part], row.pieces) for row in catalog.in_kit(kit.kit) if row.part in numbers)
        if pieces:
            bought = _bought_by_day(catalog.offers_of(kit.kit), 1, buying, days)
            offers, prices = tuple(offer for offer, _ in bought), tuple(price for _, price in bought)
            found.append(KitItem(kit.kit, kit.name, prices, pieces, offers, kit.place))
    return tuple(found)


def _days(runs: Sequence[Run]) -> list[date]:
    """The day of each gap, that after the last run too."""
    return [gap_before(runs, g)[0] for g in range(len(runs) + 1)]


def _bought_by_day(
    offers: Sequence[Offer], pieces: int, buying: Buying, days: Sequence[date]
) -> tuple[tuple[Offer, int], ...]:
    """The cheapest offer for so many pieces on each day, and what a pack of it costs then.

    Both turn only on days from which an offer or a rate of exchange holds, so they are asked once between two of them.
    """
    turns = sorted({offer.since for offer in offers} | {rate.since for rate in buying.rates.rates})
    known: dict[int, tuple[Offer, int]] = {}
    for day in days:
        turn = bisect_right(turns, day)
        if turn not in known:
            offer = buying.cheapest(offers, pieces, day).offer
            known[turn] = offer, _pack_price(offer, buying, day)
    return tuple(known[bisect_right(turns, day)] for day in days)


def _pack_price(offer: Offer, buying: Buying, on: date) -> int:
    return to_minor(buying.pack_price(offer, on), buying.rates.currency)


def _path(fill: Fill, shop: _Shop) -> tuple[PathStep, ...]:
    """The service steps of a slot's part, each at the price of its operation for the whole set."""
    catalog, buying, path = shop.catalog, shop.buying, []
    for row in catalog.path_of(fill.part):
        operation = catalog.operations[row.operation]
        currency, terms = catalog.currency_of(operation), catalog.terms_of(operation.place)
        cost = buying.priced(operation.price * fill.slot.quantity, currency, terms, shop.opening)
        minor = to_minor(cost, buying.rates.currency)
        parts = [catalog.parts[name] for name in row.parts]
        items = tuple((part.role, shop.number(part)) for part in parts)
        places, assumed = (operation.place, row.place), not row.source
        path.append(PathStep(row.operation, minor, row.factor, row.mends, row.renew_with, items, *places, assumed))
    return tuple(path)


def _service_spots(sources: Sources, runs: Sequence[Run], items: list[Item]) -> list[Spot]:
    """A position for each whole service: a thing of one piece with a life in its measure, at a level by its hours."""
    spots = []
    for row in sources.files.services:
        if not row.whole:
            continue
        price = to_minor(row.price, sources.rates.currency)
        items.append(Item(row.service, row.service, 1, price, (price,) * (len(runs) + 1), 0, 0, row.place))
        level = _service_hours(sources, row.carrier).index(row.hours)
        ladder = LADDERS.index(f"{row.carrier} services")
        spots.append(
            Spot(row.service, "", 1, len(items) - 1, (), ladder, level, 1.0, False, False, row.place, service=row)
        )
    return spots


def _engine_trades(sources: Sources, opening: date) -> tuple[EngineTrade, ...]:
    """The engines bought for the season and those sold instead, on opening day."""
    currency = sources.rates.currency
    bought = (
        EngineTrade(engine.name, "bought", to_minor(engine.price, currency), opening, engine.place)
        for engine in sources.engines
    )
    sold = (
        EngineTrade(engine.name, "sold", -to_minor(engine.sold, currency), opening, engine.place)
        for engine in sources.others
    )
    return tuple(trade for trade in (*bought, *sold) if trade.amount)


def _assumptions(sources: Sources, spots: Sequence[Spot], items: Sequence[Item]) -> tuple[Assumption, ...]:
    """Every input that is a guess."""
    found = []
    for spot in spots:
        for life in spot.lives:
            place = str(life.row.place)
            found += [Assumption(spot.slot, word, place) for word in life.assumed]
        found += [
            Assumption(spot.slot, f"the path's step {step.operation} has no source", str(step.place))
            for step in spot.path
            if step.assumed
        ]
        found += [
            Assumption(spot.slot, f"{items[number].name} lives as long as the part it follows", str(step.place))
            for step in spot.path
            for _, number in step.items
        ]
        item = items[spot.item]
        found += [Assumption(item.name, word, str(item.place)) for word in item.assumed]
    found += [
        Assumption(row.service, "a service's figures have no source", str(row.place))
        for row in sources.files.services
        if not row.source
    ]
    files = sources.files
    found += [
        Assumption(row.hazard, "its chance has no source", str(row.place)) for row in files.hazards if not row.source
    ]
    found += [
        Assumption(f"{row.slot}: {row.case}", "its chance and bill have no source", str(row.place))
        for row in files.cases
        if not row.source
    ]
    found += _unknown_run_ins(sources, spots)
    return tuple(dict.fromkeys(found))


def _unknown_run_ins(sources: Sources, spots: Sequence[Spot]) -> list[Assumption]:
    """Measures in which a run-in counts for nothing, since its sessions do not give them without a track."""
    found = []
    for row in sources.files.levels:
        uses = [use_of(session) for session in sources.files.sessions if row.run_in and session.format == row.run_in]
        reached = [spot for spot in spots if LADDERS[spot.ladder] == row.carrier and spot.level < row.rank]
        measures = dict.fromkeys(life.measure.name for spot in reached for life in spot.lives)
        found += [
            Assumption(row.level, f"its run-in adds no {measure}: its sessions do not give it", str(row.place))
            for measure in measures
            if measure != "days" and any(measure not in use for use in uses)
        ]
    return found
