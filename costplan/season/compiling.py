"""From files to the machine's problem: names become rows of arrays, and the names are kept beside them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

import numpy as np

from costplan.build import Build, Fill
from costplan.catalog import Catalog, Part
from costplan.garage import Piece
from costplan.life import Life, duty, life_of
from costplan.money import Rates, from_minor, to_minor
from costplan.problems import Place, Problem, Problems, nearest
from costplan.quantity import MEASURES
from costplan.season import machine
from costplan.season.calendar import Run, season_use, ungiven, unroll
from costplan.season.inputs import CAR, SeasonFiles, place_of
from costplan.season.records import Car, Engine, Gaps, Level, Policy, Position, Service

LADDERS = ("engine", "engine services", CAR, "car services")


@dataclass(frozen=True, slots=True)
class Item:
    """A thing that is bought: a part of a catalog, or a service. Money in minor units, `resale` of one piece."""

    name: str
    title: str
    supplier: str
    pack: int
    pack_price: int
    core_charge: int
    resale: int
    lead_days: int
    place: Place
    assumed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Spot:
    """A position of the machine by its names: slot or service, how many pieces, what is in it, and the lives."""

    slot: str
    pieces: int
    item: int
    lives: tuple[Life, ...]
    ladder: int
    level: int
    factor: float
    run_to_failure: bool
    stops: bool
    as_piece: bool
    place: Place

    @property
    def on_car(self) -> bool:
        return self.ladder >= 2


@dataclass(frozen=True, slots=True)
class Step:
    """A level of a ladder by its names; money in minor units."""

    level: str
    labour: int
    supplies: int
    row: Level | None


@dataclass(frozen=True, slots=True)
class Assumption:
    """An input that is a guess: of what, what is assumed, and where it was left open."""

    of: str
    what: str
    place: str


@dataclass(frozen=True, slots=True)
class Season:
    """A compiled season: the machine's problem, the state at opening, and the names of every row of them."""

    problem: machine.Problem
    start: machine.State
    runs: tuple[Run, ...]
    carriers: tuple[str, ...]
    spots: tuple[Spot, ...]
    items: tuple[Item, ...]
    ladders: tuple[tuple[Step, ...], ...]
    flows: tuple[Service, ...]
    files: SeasonFiles
    opening: date
    rates: Rates
    assumed: tuple[Assumption, ...]


@dataclass(frozen=True, slots=True)
class Sources:
    """What a season is compiled from. Without build and catalog it is the simple form: services alone."""

    files: SeasonFiles
    engines: tuple[Engine, ...]
    car: Car
    gaps: Gaps
    policy: Policy
    rates: Rates
    opening: date | None = None
    catalog: Catalog | None = None
    build: Build | None = None
    garage: tuple[Piece, ...] = ()


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
    _check_measures(sources, spots, runs, problems)
    _check_service_rows(sources, runs, problems)
    _check_shelf(sources, spots, items, runs, problems)
    _check_sums(sources, spots, items, flows, runs, problems)
    if problems:
        return None, tuple(problems.found)
    problem = _problem(sources, runs, spots, items, ladders)
    start, assumed = _start(sources, problem, runs, spots, items, ladders, problems)
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
            Step(row.level, to_minor(row.labour, currency), to_minor(row.supplies, currency), row) for row in rows
        )

    def of_services(carrier: str) -> tuple[Step, ...]:
        return tuple(Step(f"service of {hours:g} h", 0, 0, None) for hours in _service_hours(sources, carrier))

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
        row.factor,
        row.renewal == "run to failure",
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
        spots.append(Spot(row.service, 1, len(items) - 1, (), ladder, level, 1.0, False, False, False, row.place))
    return spots


def _check_measures(sources: Sources, spots: Sequence[Spot], runs: Sequence[Run], problems: Problems) -> None:
    """Every measure that a life, level or service counts must be given by every run."""
    wanted: list[tuple[str, Place, str]] = []
    for spot in spots:
        for life in spot.lives:
            wanted.append((life.measure.name, life.row.place, f"the life of {spot.slot}"))
            _check_rpm(life, spot, runs, problems)
    wanted += [(row.measure.name, row.place, f"the service {row.service}") for row in sources.files.services]
    wanted += [(row.measure.name, row.place, f"the level {row.level}") for row in sources.files.levels if row.measure]
    for measure, place, what in wanted:
        lacking = ungiven(runs, measure)
        if lacking:
            event = lacking[0].event
            advice = f"give it for {event.event} ({event.place}), or count in another measure"
            problems.add("SEA004", place, "measure", measure, f"{what} counts what the calendar lacks:", advice)


def _check_service_rows(sources: Sources, runs: Sequence[Run], problems: Problems) -> None:
    """A level that a service row names must fit into the gap it stands in."""
    hours = {row.level: row.hours for row in sources.files.levels}
    for run in runs[1:]:
        for service in run.services:
            needed = hours.get(service.level, 0.0)
            if needed > run.gap_hours:
                what = f"level {service.level} takes {needed:g} h, the gap holds"
                advice = "give the hours there are as gap_hours, or move the row to a longer gap"
                problems.add("SEA012", service.place, "level", f"{run.gap_hours:g} h", what, advice)


def _check_shelf(
    sources: Sources, spots: Sequence[Spot], items: Sequence[Item], runs: Sequence[Run], problems: Problems
) -> None:
    """A used set on the shelf must say its use in every measure that its lives count."""
    for piece in sources.garage:
        if not piece.on_shelf or not _is_used(piece):
            continue
        lives = {
            life.measure.name: life for spot in spots if items[spot.item].name == piece.part for life in spot.lives
        }
        for measure, life in lives.items():
            if piece.age(measure, runs[0].event.date) is None:
                _no_use(piece, life, problems)


#: In minor units, and so small that a sum of it times any number of pieces is a whole number of 64 bits.
LARGEST_SUM = 10**14


def _check_sums(
    sources: Sources,
    spots: Sequence[Spot],
    items: Sequence[Item],
    flows: Sequence[Service],
    runs: Sequence[Run],
    problems: Problems,
) -> None:
    """No set, stock or season's flow may cost more than `LARGEST_SUM`."""
    pieces = {item.name: item.pack for item in items}
    counts = [(items[spot.item].name, spot.pieces) for spot in spots]
    for name, count in (*counts, *((piece.part, piece.count or 1) for piece in sources.garage)):
        pieces[name] = max(pieces.get(name, 1), count)
    for item in items:
        if max(item.pack_price, item.core_charge, item.resale) * pieces[item.name] > LARGEST_SUM:
            advice = "check the price, its currency's rate and how many pieces there are"
            price = from_minor(item.pack_price, sources.rates.currency)
            problems.add("REA018", item.place, "price", price, "too large a sum, its price being", advice)
    for row in flows:
        services = row.measure.from_kept(season_use(runs, row.measure.name)) / row.every
        if services * float(row.price) > LARGEST_SUM:
            advice = f"check it and the season's use; it would be paid {services:,.0f} times"
            problems.add("REA018", row.place, "every", row.every, "too large a sum, paid each", advice)


def _no_use(piece: Piece, life: Life, problems: Problems) -> None:
    column = "installed" if life.measure.name == "days" else life.measure.name
    by_date = column == "installed"
    what = "when it was installed" if by_date else f"its {column}"
    advice = f"give {'that day' if by_date else 'its use so far, 0 if new'}; the life is in {life.row.place}"
    problems.add("GAR004", piece.place, column, "", f"{piece.piece} does not say {what}", advice)


def _check_rpm(life: Life, spot: Spot, runs: Sequence[Run], problems: Problems) -> None:
    lacking = next((run for run in runs if run.rpm is None), None)
    if life.rated_rpm is not None and lacking is not None:
        where = lacking.event.place
        advice = f"give rpm for {lacking.event.event} {lacking.session} ({where})".replace("  ", " ")
        problems.add(
            "SEA011", life.row.place, "rated_rpm", f"{life.rated_rpm:g}", f"the life of {spot.slot} ages by rpm", advice
        )


def _problem(
    sources: Sources,
    runs: Sequence[Run],
    spots: Sequence[Spot],
    items: Sequence[Item],
    ladders: tuple[tuple[Step, ...], ...],
) -> machine.Problem:
    clock = np.cumsum([0.0, *(run.gap_hours for run in runs[1:])])
    use = np.array([_added_up([run.use.get(measure, 0.0) for run in runs]) for measure in MEASURES])
    lives = [(spot, row) for spot in spots for row in _lives(spot, sources)]
    names = [engine.name for engine in sources.engines]
    tops = [len(ladder) for ladder in ladders]
    depth = max(1, *tops)
    hours, interval, measure, cost = _level_arrays(sources, ladders, depth)
    bounds = np.cumsum([0, *(len(_lives(spot, sources)) for spot in spots)])
    used = [piece for piece in sources.garage if piece.on_shelf and _is_used(piece)]
    numbers = {item.name: number for number, item in enumerate(items)}
    used = sorted((piece for piece in used if piece.part in numbers), key=lambda piece: piece.piece)
    early = sources.policy.early
    return machine.Problem(
        day=np.array([run.event.date.toordinal() for run in runs]),
        clock=clock,
        first=np.array([run.first for run in runs]),
        named=np.array([names.index(run.event.engine) if run.event.engine else -1 for run in runs]),
        lost=np.zeros(len(runs), dtype=np.bool_),
        use=use,
        life_from=bounds.astype(np.int64),
        counts_openings=np.array([row.measure == "openings" for _, row in lives], dtype=np.bool_),
        counts_days=np.array([row.measure == "days" for _, row in lives], dtype=np.bool_),
        duty=_stack([_added_up(row.duty(run) for run in runs) for _, row in lives], len(runs) + 1),
        raw=_stack([_added_up(run.use.get(row.measure, 0.0) for run in runs) for _, row in lives], len(runs) + 1),
        due_at=np.array([row.worn_at for _, row in lives], dtype=np.float64),
        worn_at=np.array([row.worn_at for _, row in lives], dtype=np.float64),
        limit=np.array([row.limit for _, row in lives], dtype=np.float64),
        ladder=np.array([spot.ladder for spot in spots], dtype=np.int64),
        level=np.array([spot.level for spot in spots], dtype=np.int64),
        on_car=np.array([spot.on_car for spot in spots], dtype=np.bool_),
        pieces=np.array([spot.pieces for spot in spots], dtype=np.int64),
        stops=np.array([spot.stops for spot in spots], dtype=np.bool_),
        as_piece=np.array([spot.as_piece for spot in spots], dtype=np.bool_),
        resale=np.array([spot.pieces * items[spot.item].resale for spot in spots], dtype=np.int64),
        item=np.array([spot.item for spot in spots], dtype=np.int64),
        pack=np.array([item.pack for item in items], dtype=np.int64),
        pack_price=np.array([item.pack_price for item in items], dtype=np.int64),
        ladder_on_car=np.array([False, False, True, True]),
        levels=np.array(tops, dtype=np.int64),
        hours=hours,
        interval=interval,
        measure=measure,
        interval_in_days=np.isfinite(interval) & (measure == list(MEASURES).index("days")),
        cost=cost,
        renews=_renews(spots, ladders, depth),
        called=_called(runs, ladders, clock, hours),
        next_fit=_next_fit(clock, hours, tops),
        used_item=np.array([numbers[piece.part] for piece in used], dtype=np.int64),
        used_pieces=np.array([piece.count or 1 for piece in used], dtype=np.int64),
        used_value=np.array([_value(items[numbers[piece.part]], piece.count or 1) for piece in used], dtype=np.int64),
        used_age=_used_ages(used, lives, runs),
        early=EARLY[early] if isinstance(early, str) else machine.EARLY_SHARE,
        early_share=early if isinstance(early, float) else 1.0,
        who_runs=machine.LEAST_USED if sources.policy.who_runs == "least used" else machine.FIRST_READY,
        swap_hours=sources.policy.swap_hours,
    )


EARLY = {"off": machine.EARLY_OFF, "worth": machine.EARLY_WORTH}


@dataclass(frozen=True, slots=True)
class LifeLine:
    """A life as the machine sees it: where it counts as used up, its hard limit, and how a run ages it."""

    measure: str
    worn_at: float
    limit: float
    life: Life | None

    def duty(self, run: Run) -> float:
        use = run.use.get(self.measure, 0.0)
        if self.life is None or self.measure == "days":
            return use
        return duty(use, run.duty, run.rpm, self.life)


def _lives(spot: Spot, sources: Sources) -> tuple[LifeLine, ...]:
    """The lives of a position; a service has one, its interval."""
    if spot.ladder in (1, 3):
        row = next(row for row in sources.files.services if row.service == spot.slot)
        return (LifeLine(row.measure.name, row.measure.to_kept(row.every), math.inf, None),)
    return tuple(_life_line(life, spot) for life in spot.lives)


def _life_line(life: Life, spot: Spot) -> LifeLine:
    renew = math.inf if spot.run_to_failure else life.replace_at * spot.factor
    return LifeLine(life.measure.name, min(renew, life.weibull.mean), life.limit, life)


def _added_up(values: Iterable[float]) -> list[float]:
    total, sums = 0.0, [0.0]
    for value in values:
        total += value
        sums.append(total)
    return sums


def _stack(rows: list[list[float]], width: int) -> machine.Floats:
    return np.array(rows, dtype=np.float64).reshape(len(rows), width)


def _level_arrays(
    sources: Sources, ladders: tuple[tuple[Step, ...], ...], depth: int
) -> tuple[machine.Floats, machine.Floats, machine.Ints, machine.Ints]:
    shape = (len(ladders), depth)
    hours, interval = np.zeros(shape), np.full(shape, math.inf)
    measure, cost = np.zeros(shape, dtype=np.int64), np.zeros(shape, dtype=np.int64)
    for t, ladder in enumerate(ladders):
        for k, step in enumerate(ladder):
            cost[t, k] = step.labour + step.supplies
            if step.row is None:
                hours[t, k] = _service_hours(sources, "engine" if t == 1 else CAR)[k]
                continue
            hours[t, k] = step.row.hours
            if step.row.interval is not None and step.row.measure is not None:
                interval[t, k] = step.row.measure.to_kept(step.row.interval)
                measure[t, k] = list(MEASURES).index(step.row.measure.name)
    return hours, interval, measure, cost


def _renews(spots: Sequence[Spot], ladders: tuple[tuple[Step, ...], ...], depth: int) -> machine.Bools:
    """[T, K, P] what a level renews every time, with what the levels below it do."""
    table = np.zeros((len(ladders), depth, len(spots)), dtype=np.bool_)
    for p, spot in enumerate(spots):
        for k, step in enumerate(ladders[spot.ladder]):
            if step.row is not None and spot.slot in step.row.renews:
                table[spot.ladder, k:, p] = True
    return table


def _called(
    runs: Sequence[Run], ladders: tuple[tuple[Step, ...], ...], clock: machine.Floats, hours: machine.Floats
) -> machine.Bools:
    """[T, K, G] the gaps in which a service row or a date calls for a level: a date, in the last one before it is past
    that holds the level.
    """
    table = np.zeros((*hours.shape, len(runs)), dtype=np.bool_)
    gaps = [math.inf, *np.diff(clock)]
    for t, ladder in enumerate(ladders):
        for k, step in enumerate(ladder):
            if step.row is None:
                continue
            for g, run in enumerate(runs):
                table[t, k, g] = any(service.level == step.level for service in run.services)
            for day in step.row.dates:
                later = [g for g, run in enumerate(runs) if run.event.date >= day and run.first]
                if later:
                    table[t, k, max(g for g in range(later[0] + 1) if gaps[g] >= hours[t, k])] = True
    return table


def _next_fit(clock: machine.Floats, hours: machine.Floats, tops: list[int]) -> machine.Ints:
    """[T, K, G] the next later run whose gap holds a level; the number of runs if none."""
    runs = len(clock)
    table = np.full((*hours.shape, runs), runs, dtype=np.int64)
    gaps = np.diff(clock)
    for t, top in enumerate(tops):
        for k in range(top):
            following = runs
            for g in range(runs - 2, -1, -1):
                if gaps[g] >= hours[t, k]:
                    following = g + 1
                table[t, k, g] = following
    return table


def _is_used(piece: Piece) -> bool:
    return any(use > 0 for use in piece.use.values()) or piece.installed is not None


def _used_ages(used: Sequence[Piece], lives: Sequence[tuple[Spot, LifeLine]], runs: Sequence[Run]) -> machine.Floats:
    """[U, L] ages of used sets in the lives of every position, as if run at the duty the lives are rated at."""
    opening = runs[0].event.date
    rows = [[piece.age(line.measure, opening) or 0.0 for _, line in lives] for piece in used]
    return np.array(rows, dtype=np.float64).reshape(len(used), len(lives))


def _value(item: Item, pieces: int) -> int:
    """What so many pieces cost at the price of whole packs, their share of it, rounded half up."""
    return (2 * item.pack_price * pieces + item.pack) // (2 * item.pack)


def _start(
    sources: Sources,
    problem: machine.Problem,
    runs: Sequence[Run],
    spots: Sequence[Spot],
    items: Sequence[Item],
    ladders: tuple[tuple[Step, ...], ...],
    problems: Problems,
) -> tuple[machine.State, tuple[Assumption, ...]]:
    """The state on opening day, and what of it is assumed because no row of the garage says otherwise."""
    carriers = [*(engine.name for engine in sources.engines), CAR]
    state = empty_state(problem, len(carriers), traced=True)
    assumed = []
    pieces = {(piece.engine, piece.slot): piece for piece in sources.garage if piece.slot}
    for c, carrier in enumerate(carriers):
        for p, spot in enumerate(spots):
            if spot.on_car != (carrier == CAR):
                continue
            state.value[c, p] = _value(items[spot.item], spot.pieces)
            piece = pieces.pop((carrier, spot.slot), None)
            if spot.ladder in (1, 3):
                _start_service(sources, problem, state, c, p, spot)
            elif piece is None:
                assumed.append(
                    Assumption(f"{spot.slot} on {carrier}", "new on opening day: no row in garage.csv", "garage.csv")
                )
            else:
                _start_piece(piece, problem, state, c, p, spot, items, runs, problems)
    for piece in pieces.values():
        if sources.build is not None and piece.slot not in sources.build.pattern.slots:
            problems.add("SEA002", piece.place, "slot", piece.slot, "an unknown slot", "give a slot of the pattern")
    _start_counters(sources, ladders, state, problems)
    _stock_shelf(sources, items, state)
    return state, tuple(assumed)


def empty_state(problem: machine.Problem, carriers: int, *, traced: bool) -> machine.State:
    """A state with everything new, nothing on the shelf and nothing noted."""
    runs, positions, lives = len(problem.day), len(problem.level), len(problem.limit)
    ladders, depth = problem.hours.shape
    traces = runs if traced else 0
    openings = (runs + 1) * carriers * ladders
    renewals = (runs + 1) * max(1, positions) * carriers
    return machine.State(
        age=np.zeros((carriers, lives)),
        raw_age=np.zeros((carriers, lives)),
        broken=np.zeros((carriers, positions), dtype=np.bool_),
        value=np.zeros((carriers, positions), dtype=np.int64),
        installed=np.zeros((carriers, positions), dtype=np.int64),
        since=np.zeros((carriers, ladders, depth)),
        stock=np.zeros(len(problem.pack), dtype=np.int64),
        stock_value=np.zeros(len(problem.pack), dtype=np.int64),
        used_left=np.ones(len(problem.used_item), dtype=np.bool_),
        idle_since=np.full(carriers, -math.inf),
        ready_at=np.full(carriers, -math.inf),
        total_use=np.zeros(carriers),
        ran=np.full(runs, -1, dtype=np.int64),
        openings=np.zeros((openings, 4), dtype=np.int64),
        n_openings=np.zeros(1, dtype=np.int64),
        renewals=np.zeros((renewals, 9), dtype=np.int64),
        left_behind=np.zeros((renewals, 3), dtype=np.int64),
        n_renewals=np.zeros(1, dtype=np.int64),
        trace_age=np.zeros((traces, carriers, lives)),
        trace_raw=np.zeros((traces, carriers, lives)),
        trace_since=np.zeros((traces, carriers, ladders, depth)),
    )


def _start_service(
    sources: Sources, problem: machine.Problem, state: machine.State, c: int, p: int, spot: Spot
) -> None:
    row = next(row for row in sources.files.services if row.service == spot.slot)
    j = problem.life_from[p]
    state.age[c, j] = state.raw_age[c, j] = row.measure.to_kept(row.used)


def _start_piece(
    piece: Piece,
    problem: machine.Problem,
    state: machine.State,
    c: int,
    p: int,
    spot: Spot,
    items: Sequence[Item],
    runs: Sequence[Run],
    problems: Problems,
) -> None:
    """The ages of an installed piece, in every measure that its lives count."""
    if piece.part != items[spot.item].name:
        advice = f"write the part that is in the engine into both; build.csv says {items[spot.item].name}"
        problems.add("GAR005", piece.place, "part", piece.part, "not the part that the build has there:", advice)
        return
    for j, life in enumerate(spot.lives, start=problem.life_from[p]):
        age = piece.age(life.measure.name, runs[0].event.date)
        if age is None:
            _no_use(piece, life, problems)
        else:
            state.age[c, j] = state.raw_age[c, j] = age


def _start_counters(
    sources: Sources, ladders: tuple[tuple[Step, ...], ...], state: machine.State, problems: Problems
) -> None:
    """Use since each level was last done, from `since` of the engines and the car."""
    counters = [(c, 0, engine.since, engine.place) for c, engine in enumerate(sources.engines)]
    counters.append((len(sources.engines), LADDERS.index(CAR), sources.car.since, sources.car.place))
    for c, t, since, place in counters:
        names = {step.level: (k, step) for k, step in enumerate(ladders[t])}
        for level, use in since.items():
            if level not in names:
                problems.add("SEA001", place, "since", level, f"no level of the {LADDERS[t]}:", nearest(level, names))
                continue
            k, step = names[level]
            measure = step.row.measure if step.row else None
            state.since[c, t, k] = measure.to_kept(use) if measure else use


def _stock_shelf(sources: Sources, items: Sequence[Item], state: machine.State) -> None:
    """New pieces on the shelf, valued at today's price."""
    for number, item in enumerate(items):
        pieces = sum(
            piece.count or 1
            for piece in sources.garage
            if piece.on_shelf and piece.part == item.name and not _is_used(piece)
        )
        state.stock[number] = pieces
        state.stock_value[number] = _value(item, pieces)


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


def lives_by_position(season: Season) -> Mapping[int, range]:
    """The lives of each position as the machine numbers them."""
    bounds = season.problem.life_from
    return {p: range(int(bounds[p]), int(bounds[p + 1])) for p in range(len(season.spots))}
