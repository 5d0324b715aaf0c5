"""From names to the machine's problem: every name becomes a row of arrays."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from costplan.catalog import Operation
from costplan.garage import Piece
from costplan.life import Life, duty
from costplan.quantity import MEASURES
from costplan.rules.book import Book, Clause
from costplan.season import machine
from costplan.season.bonds import bars_step, bond_arrays
from costplan.season.calendar import HOURS_A_DAY, Run, use_of
from costplan.season.checking import goes_along
from costplan.season.damage import case_arrays, hazard_arrays
from costplan.season.event_arrays import event_arrays
from costplan.season.machine.draws import named
from costplan.season.names import Damage, Item, KitItem, Season, Sources, Spot, Step, value_of
from costplan.season.records import Session
from costplan.season.terms import lead_days

EARLY = {"off": machine.EARLY_OFF, "worth": machine.EARLY_WORTH}
WHO_RUNS = {
    "first ready": machine.FIRST_READY,
    "least used": machine.LEAST_USED,
    "best saved": machine.BEST_SAVED,
}
WHEN_BARRED = {"run on": machine.RUN_ON, "change engine": machine.CHANGE_ENGINE, "stop": machine.STOP}


def problem_of(
    sources: Sources,
    runs: Sequence[Run],
    spots: Sequence[Spot],
    items: Sequence[Item],
    kits: Sequence[KitItem],
    ladders: tuple[tuple[Step, ...], ...],
    cases: Sequence[Sequence[Damage]],
    months: Sequence[str],
) -> machine.Problem:
    """The problem in which nothing is drawn; `cases` by position and hazard, `months` those that money may flow in."""
    clock = np.cumsum([0.0, *(run.gap_hours for run in runs[1:])])
    use = np.array([_added_up([run.use.get(measure, 0.0) for run in runs]) for measure in MEASURES])
    lives_of = [_lives(spot) for spot in spots]
    lives = [line for lines in lives_of for line in lines]
    limited = [any(math.isfinite(row.limit) for row in lines) for lines in lives_of]
    carriers = sources.carriers
    names = list(carriers[:-1])
    tops = [len(ladder) for ladder in ladders]
    depth = max(1, *tops)
    hours, interval, measure, cost = _level_arrays(ladders, depth)
    bounds = np.cumsum([0, *(len(lines) for lines in lives_of)])
    used = [piece for piece in sources.garage if piece.on_shelf and piece.is_used]
    numbers = {item.name: number for number, item in enumerate(items)}
    used = sorted((piece for piece in used if piece.part in numbers), key=lambda piece: piece.piece)
    early = sources.policy.early
    operations = sources.catalog.operations if sources.catalog else {}
    paths = _paths(spots, sources.book, operations)
    bonds = bond_arrays(sources.book, sources.rates, runs, spots, ladders, operations)
    return machine.Problem(
        begin=0,
        day=np.array([run.event.date.toordinal() for run in runs]),
        clock=clock,
        first=np.array([run.first for run in runs]),
        named=np.array([names.index(run.event.engine) if run.event.engine in names else -1 for run in runs]),
        lost=np.zeros(len(runs), dtype=np.bool_),
        **event_arrays(sources, runs, months),
        use=use,
        life_from=bounds.astype(np.int64),
        counts_openings=np.array([row.measure == "openings" for row in lives], dtype=np.bool_),
        counts_days=np.array([row.measure == "days" for row in lives], dtype=np.bool_),
        **_by_carrier("running", lives, days=False),
        **_by_carrier("lasting", lives, days=True),
        duty=_stack([_added_up(row.duty(run) for run in runs) for row in lives], len(runs) + 1),
        raw=_stack([_added_up(row.use(run) for run in runs) for row in lives], len(runs) + 1),
        due_at=np.array([row.worn_at for row in lives], dtype=np.float64),
        worn_at=np.array([row.worn_at for row in lives], dtype=np.float64),
        limit=np.array([row.limit for row in lives], dtype=np.float64),
        scale=np.array([row.life.weibull.scale if row.life else math.inf for row in lives], dtype=np.float64),
        shape=np.array([row.life.weibull.shape if row.life else 1.0 for row in lives], dtype=np.float64),
        warning=np.array([row.life.warning if row.life else 0.0 for row in lives], dtype=np.float64),
        life_key=_life_keys(lives_of, carriers),
        fails_at=np.zeros((len(carriers), len(lives), 0)),
        drawn=0,
        seed=0,
        binds_to=np.array([row.binds_to(runs) for row in lives], dtype=np.int64).reshape(len(lives), len(runs) + 1),
        limited=np.array(limited, dtype=np.bool_),
        limits=np.flatnonzero(limited).astype(np.int64),
        opens=np.array([any(row.measure == "openings" for row in lines) for lines in lives_of], dtype=np.bool_),
        dated=np.array([row.clause is not None for row in lives], dtype=np.bool_),
        ladder=np.array([spot.ladder for spot in spots], dtype=np.int64),
        **_by_ladder(spots, len(ladders)),
        level=np.array([spot.level for spot in spots], dtype=np.int64),
        on_car=np.array([spot.on_car for spot in spots], dtype=np.bool_),
        serves=np.array([[spot.runs_in(run.event.setup) for run in runs] for spot in spots], dtype=np.bool_).reshape(
            len(spots), len(runs)
        ),
        pieces=np.array([spot.pieces for spot in spots], dtype=np.int64),
        stops=np.array([spot.stops for spot in spots], dtype=np.bool_),
        calls=_calls(sources, spots),
        as_piece=np.array([spot.as_piece for spot in spots], dtype=np.bool_),
        position_key=np.array(
            [[named(carrier, spot.base, spot.alternate) for spot in spots] for carrier in carriers], dtype=np.int64
        ).reshape(len(carriers), len(spots), 2),
        **paths,
        **bonds,
        capped=_capped(paths, bonds["pieces_of"]),
        order=np.array(_order(spots), dtype=np.int64),
        resale=np.array([item.resale for item in items], dtype=np.int64),
        core=np.array([item.core_charge for item in items], dtype=np.int64),
        least=np.array([item.least for item in items], dtype=np.int64).reshape(len(items), len(runs) + 1),
        item=np.array([spot.item for spot in spots], dtype=np.int64),
        pack=np.array([item.pack for item in items], dtype=np.int64),
        instead=np.arange(len(items), dtype=np.int64),
        keep=np.array([_kept(sources.garage, item.name) for item in items], dtype=np.int64),
        pack_price=np.array([item.prices for item in items], dtype=np.int64).reshape(len(items), len(runs) + 1),
        lead_hours=_lead_hours(items, sources, runs),
        kit_lead=_lead_hours(kits, sources, runs),
        kit_price=np.array([kit.prices for kit in kits], dtype=np.int64).reshape(len(kits), len(runs) + 1),
        kit_pieces=_kit_pieces(kits, len(items)),
        kit_from=np.cumsum([0, *(len(kit.pieces) for kit in kits)]).astype(np.int64),
        kit_items=np.array([number for kit in kits for number, _ in kit.pieces], dtype=np.int64),
        ladder_on_car=np.array([False, False, True, True]),
        levels=np.array(tops, dtype=np.int64),
        hours=hours,
        interval=interval,
        measure=measure,
        interval_in_days=np.isfinite(interval) & (measure == list(MEASURES).index("days")),
        cost=cost,
        labour=_labour(ladders, depth),
        renews=_renews(spots, ladders, depth),
        sees=_sees(spots, ladders, depth),
        **_run_ins(lives, ladders, depth, sources.files.sessions),
        called=_called(runs, ladders, clock, hours),
        rest=_rest(ladders, depth),
        next_fit=_next_fit(clock, hours, tops),
        used_item=np.array([numbers[piece.part] for piece in used], dtype=np.int64),
        used_pieces=np.array([piece.count or 1 for piece in used], dtype=np.int64),
        used_value=np.array([value_of(items[numbers[piece.part]], piece.count or 1) for piece in used], dtype=np.int64),
        used_age=_used_ages(used, lives, runs),
        used_step=np.array([piece.step for piece in used], dtype=np.int64),
        **hazard_arrays(sources.files.hazards, runs, carriers),
        **case_arrays(cases, spots),
        force_run=-1,
        force=-1,
        early=EARLY[early] if isinstance(early, str) else machine.EARLY_SHARE,
        early_share=early if isinstance(early, float) else 1.0,
        who_runs=WHO_RUNS[sources.policy.who_runs],
        save_for=float(sources.policy.save_for),
        swap_hours=float(sources.policy.swap_hours),
        when_barred=WHEN_BARRED[sources.policy.when_barred],
    )


def as_drawn(season: Season, seed: int) -> machine.Problem:
    """The problem of a season whose lives, rain, hazards and cases are drawn.

    Lives are renewed at their renewal use alone: what a plan must count as used up at its mean may live longer here.
    """
    due_at = [line.renew_at for spot in season.spots for line in _lives(spot)]
    return season.problem._replace(due_at=np.array(due_at, dtype=np.float64), drawn=1, seed=seed)


@dataclass(frozen=True, slots=True)
class LifeLine:
    """A life as the machine sees it: where it counts as used up, its hard limit, and how a run ages it.

    A plan renews it where it is used up, `worn_at`; where lives are drawn it is renewed at `renew_at`.

    `clause`: the clause by which it is a dated part's, with no other life than its limit.
    """

    measure: str
    worn_at: float
    renew_at: float
    limit: float
    life: Life | None
    spot: Spot
    clause: Clause | None = None

    def binds_to(self, runs: Sequence[Run]) -> list[int]:
        """For each number of runs, the end of the last of them in which the limit binds; 0 if it binds in none."""
        ends = [0]
        for g, run in enumerate(runs, start=1):
            ends.append(g if self.clause is None or self.clause.holds_on(run.event.date) else ends[-1])
        return ends

    def use(self, run: Run) -> float:
        """What a run adds; days pass also for an alternate that does not run."""
        served = self.measure == "days" or self.spot.runs_in(run.event.setup)
        return run.use.get(self.measure, 0.0) if served else 0.0

    def duty(self, run: Run) -> float:
        return self.aged_by(self.use(run), run.duty, run.rpm)

    def aged_by(self, use: float, weight: float, rpm: float | None) -> float:
        """How much so much use ages it; days and what has no life of a part pass as they are."""
        return use if self.life is None or self.measure == "days" else duty(use, weight, rpm, self.life)

    def run_in(self, session: Session) -> tuple[float, float]:
        """Duty and raw use of a session that runs it in; none in a measure that a session alone does not give."""
        use = use_of(session).get(self.measure, 0.0)
        return self.aged_by(use, session.duty, session.rpm), use


def _lives(spot: Spot) -> tuple[LifeLine, ...]:
    """The lives of a position, behind them those by dated papers; a service has one, its interval."""
    row = spot.service
    if row is not None:
        every = row.measure.to_kept(row.every)
        return (LifeLine(row.measure.name, every, every, math.inf, None, spot),)
    lives = (
        LifeLine(
            life.measure.name,
            life.used_up_at(spot.factor),
            life.replace_at * spot.factor,
            life.limit,
            life,
            spot,
        )
        for life in spot.lives
    )
    dated = (LifeLine("days", math.inf, math.inf, part.days, None, spot, part.clause) for part in spot.dated)
    return (*lives, *dated)


def _life_keys(lives_of: Sequence[Sequence[LifeLine]], carriers: Sequence[str]) -> machine.Ints:
    """[C, L, 2] hashed names of carrier, slot, alternate and measure; a second life in one measure is told by 2."""
    names = []
    for lines in lives_of:
        measures = [line.measure for line in lines]
        for n, line in enumerate(lines):
            before = measures[:n].count(line.measure)
            measure = f"{line.measure} {before + 1}" if before else line.measure
            names.append((line.spot.base, line.spot.alternate, measure))
    keys = [[named(carrier, *name) for name in names] for carrier in carriers]
    return np.array(keys, dtype=np.int64).reshape(len(carriers), len(names), 2)


def _order(spots: Sequence[Spot]) -> list[int]:
    """The positions by the names of their slots."""
    return sorted(range(len(spots)), key=lambda p: spots[p].slot)


def _by_carrier(name: str, lives: Sequence[LifeLine], *, days: bool) -> dict[str, Any]:
    """The lives that days age, or those that runs do: first of engines, then of the car."""
    chosen = [
        [j for j, row in enumerate(lives) if row.spot.on_car == car and (row.measure == "days") == days]
        for car in (False, True)
    ]
    bounds = [0, len(chosen[0]), len(chosen[0]) + len(chosen[1])]
    return {
        name: np.array([*chosen[0], *chosen[1]], dtype=np.int64),
        f"{name}_from": np.array(bounds, dtype=np.int64),
    }


def _by_ladder(spots: Sequence[Spot], ladders: int) -> dict[str, Any]:
    """The positions of each ladder."""
    chosen = [[p for p, spot in enumerate(spots) if spot.ladder == t] for t in range(ladders)]
    return {
        "on_ladder": np.array([p for one in chosen for p in one], dtype=np.int64),
        "ladder_from": np.cumsum([0, *(len(one) for one in chosen)]).astype(np.int64),
    }


def _kit_pieces(kits: Sequence[KitItem], items: int) -> machine.Ints:
    """[N, I] pieces of each stock item in a kit."""
    table = np.zeros((len(kits), items), dtype=np.int64)
    for n, kit in enumerate(kits):
        for item, pieces in kit.pieces:
            table[n, item] = pieces
    return table


def _kept(garage: Sequence[Piece], part: str) -> int:
    """New pieces of a part that planned work leaves in the box."""
    return sum(piece.count or 1 for piece in garage if piece.spare and piece.part == part)


def _lead_hours(sold: Sequence[Item | KitItem], sources: Sources, runs: Sequence[Run]) -> machine.Floats:
    """[n, G+1] hours until what nobody ordered ahead is there: its lead and its supplier's queue, or the days of
    fetching it."""
    fetched, gaps = sources.policy.fetch_days, range(len(runs) + 1)
    days = [[lead_days(sources.files, one.offers, g) for g in gaps] for one in sold]
    leads = np.array(days, dtype=np.float64).reshape(len(days), len(runs) + 1)
    return np.minimum(leads, math.inf if fetched is None else fetched) * HOURS_A_DAY


def _added_up(values: Iterable[float]) -> list[float]:
    total, sums = 0.0, [0.0]
    for value in values:
        total += value
        sums.append(total)
    return sums


def _stack(columns: list[list[float]], height: int) -> machine.Floats:
    """A table of columns, each so high; its rows lie together in memory, as the machine reads them."""
    return np.ascontiguousarray(np.array(columns, dtype=np.float64).reshape(len(columns), height).T)


def _level_arrays(
    ladders: tuple[tuple[Step, ...], ...], depth: int
) -> tuple[machine.Floats, machine.Floats, machine.Ints, machine.Ints]:
    shape = (len(ladders), depth)
    hours, interval = np.zeros(shape), np.full(shape, math.inf)
    measure, cost = np.zeros(shape, dtype=np.int64), np.zeros(shape, dtype=np.int64)
    for t, ladder in enumerate(ladders):
        for k, step in enumerate(ladder):
            cost[t, k] = step.labour + step.supplies
            hours[t, k] = step.hours
            if step.row is not None and step.row.interval is not None and step.row.measure is not None:
                interval[t, k] = step.row.measure.to_kept(step.row.interval)
                measure[t, k] = list(MEASURES).index(step.row.measure.name)
            elif step.row is not None and step.row.rest:
                measure[t, k] = list(MEASURES).index("events")
    return hours, interval, measure, cost


def _rest(ladders: tuple[tuple[Step, ...], ...], depth: int) -> machine.Floats:
    """[T, K] the use since a level was done below which a date is passed over, in its measure or in events."""
    table = np.zeros((len(ladders), depth))
    for t, ladder in enumerate(ladders):
        for k, step in enumerate(ladder):
            if step.row is not None:
                table[t, k] = step.row.measure.to_kept(step.row.rest) if step.row.measure else step.row.rest
    return table


def _calls(sources: Sources, spots: Sequence[Spot]) -> machine.Bools:
    """[P] whether a position opens its carrier where it is merely due."""
    waiting = {row.slot for row in sources.files.positions if row.waits}
    return np.array([spot.base not in waiting for spot in spots], dtype=np.bool_)


def _renews(spots: Sequence[Spot], ladders: tuple[tuple[Step, ...], ...], depth: int) -> machine.Bools:
    """[T, K, P] what a level renews every time, with what the levels below it do."""
    table = np.zeros((len(ladders), depth, len(spots)), dtype=np.bool_)
    for p, spot in enumerate(spots):
        for k, step in enumerate(ladders[spot.ladder]):
            if step.row is not None and spot.base in step.row.renews:
                table[spot.ladder, k:, p] = True
    return table


def _labour(ladders: tuple[tuple[Step, ...], ...], depth: int) -> machine.Ints:
    """[T, K] the labour of one opening."""
    table = np.zeros((len(ladders), depth), dtype=np.int64)
    for t, ladder in enumerate(ladders):
        table[t, : len(ladder)] = [step.labour for step in ladder]
    return table


def _sees(spots: Sequence[Spot], ladders: tuple[tuple[Step, ...], ...], depth: int) -> machine.Floats:
    """[T, K, P] the chance that a level sees a piece in its warning share: the best look of it and those below it."""
    table = np.zeros((len(ladders), depth, len(spots)))
    for p, spot in enumerate(spots):
        for k, step in enumerate(ladders[spot.ladder]):
            if step.row is not None and spot.base in step.row.checks:
                table[spot.ladder, k:, p] = np.maximum(table[spot.ladder, k:, p], step.row.sees)
    return table


def _run_ins(
    lives: Sequence[LifeLine], ladders: tuple[tuple[Step, ...], ...], depth: int, sessions: Sequence[Session]
) -> dict[str, Any]:
    """[T, K, L] what the run-in of a level ages what it assembled: that of the highest level done that has one."""
    shape = (len(ladders), depth, len(lives))
    duties, raws = np.zeros(shape), np.zeros(shape)
    for t, ladder in enumerate(ladders):
        for k, step in enumerate(ladder):
            run = [session for session in sessions if step.row is not None and session.format == step.row.run_in]
            for j, line in enumerate(lives):
                if run and line.spot.ladder == t:
                    parts = [line.run_in(session) for session in run]
                    duties[t, k:, j], raws[t, k:, j] = (sum(column) for column in zip(*parts, strict=True))
    return {"run_in_duty": duties, "run_in_raw": raws}


def _paths(spots: Sequence[Spot], book: Book, operations: Mapping[str, Operation]) -> dict[str, Any]:
    """The service steps of every position, and what is renewed with it."""
    count, depth = len(spots), max(1, *(len(spot.path) for spot in spots), 1)
    cost, mends = np.zeros((count, depth), dtype=np.int64), np.zeros((count, depth), dtype=np.bool_)
    factor, along = np.ones((count, depth + 1)), np.zeros((count, depth, count), dtype=np.bool_)
    ahead, other_item = np.zeros((count, depth + 1)), np.full((count, depth, count), -1, dtype=np.int64)
    whole = np.ones((count, depth + 1))
    for p, spot in enumerate(spots):
        for s in range(len(spot.path) + 1):
            end = _path_end(spot, s, book, operations)
            ahead[p, s] = sum(step.factor for step in spot.path[s:end])
            whole[p, s] = 1.0 + sum(step.factor for step in spot.path[:end])
        for s, step in enumerate(spot.path):
            cost[p, s], factor[p, s + 1], mends[p, s] = step.cost, step.factor, step.mends
            along[p, s] = [goes_along(spot, other, s) for other in spots]
            items = dict(step.items)
            other_item[p, s] = [
                items.get(q.role, -1) if goes else -1 for q, goes in zip(spots, along[p, s], strict=True)
            ]
    with_it = np.array([[other.base in spot.renew_with for other in spots] for spot in spots], dtype=np.bool_).reshape(
        count, count
    )
    may_follow = with_it | along.any(axis=1) | (other_item >= 0).any(axis=1)
    followers = [[q for q in _order(spots) if may_follow[p, q] and q != p] for p in range(count)]
    return {
        "steps": np.array([len(spot.path) for spot in spots], dtype=np.int64),
        "step_cost": cost,
        "step_factor": factor,
        "path_ahead": ahead,
        "path_whole": whole,
        "step_mends": mends,
        "step_with": along,
        "step_item": other_item,
        "renew_with": with_it,
        "along_from": np.cumsum([0, *(len(found) for found in followers)]).astype(np.int64),
        "along": np.array([q for found in followers for q in found], dtype=np.int64),
        "leading": np.array([p for p in _order(spots) if followers[p]], dtype=np.int64),
    }


def _capped(paths: Mapping[str, Any], counted: machine.Bools) -> machine.Bools:
    """[P] whether a cap on pieces counts a position, or anything that it may take along."""
    capped: machine.Bools = np.asarray(counted.any(axis=0))
    bounds, along = paths["along_from"], paths["along"]
    for _ in range(len(capped)):
        capped = np.array(
            [capped[p] or capped[along[bounds[p] : bounds[p + 1]]].any() for p in range(len(capped))], dtype=np.bool_
        )
    return capped


def _path_end(spot: Spot, done: int, book: Book, operations: Mapping[str, Operation]) -> int:
    """How many steps the path of a set that has been through some has, if none is done that the book bars this season.

    The cost of a set is spread over no more than that.
    """
    for s in range(done, len(spot.path)):
        if any(bars_step(work, spot, spot.path[s], operations) for work in book.barred):
            return s
    return len(spot.path)


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


def _used_ages(used: Sequence[Piece], lives: Sequence[LifeLine], runs: Sequence[Run]) -> machine.Floats:
    """[U, L] ages of used sets in the lives of every position, as if run at the duty the lives are rated at."""
    opening = runs[0].event.date
    rows = [[piece.age(line.measure, opening) or 0.0 for line in lives] for piece in used]
    return np.array(rows, dtype=np.float64).reshape(len(used), len(lives))
