"""The state of the machine when the books open: ages from the garage, counters from `since`, the shelf."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Sequence
from typing import Any

import numpy as np

from costplan.garage import Piece
from costplan.problems import Problems, nearest
from costplan.season import machine
from costplan.season.bonds import bonds_of
from costplan.season.calendar import Run
from costplan.season.checking import no_use
from costplan.season.names import LADDERS, Assumption, Item, Sources, Spot, Step, value_of
from costplan.season.records import CAR


def state_at_opening(
    sources: Sources,
    problem: machine.Problem,
    runs: Sequence[Run],
    spots: Sequence[Spot],
    items: Sequence[Item],
    ladders: tuple[tuple[Step, ...], ...],
    months: int,
    problems: Problems,
) -> tuple[machine.State, tuple[Assumption, ...]]:
    """The state on opening day, and what of it is assumed because no row of the garage says otherwise."""
    carriers = sources.carriers
    state = empty_state(problem, len(carriers), len(bonds_of(sources.book)), months, traced=True)
    assumed = []
    known: set[tuple[int, int]] = set()
    pieces = _installed(sources, problems)
    for c, carrier in enumerate(carriers):
        for p, spot in enumerate(spots):
            if spot.on_car != (carrier == CAR):
                continue
            state.value[c, p] = value_of(items[spot.item], spot.pieces)
            piece = pieces.pop((carrier, spot.slot), None)
            _start_papers(piece, sources, state, c, carrier, problem.life_from[p], spot, runs, problems)
            if spot.service is not None:
                j = problem.life_from[p]
                state.age[c, j] = state.raw_age[c, j] = spot.service.measure.to_kept(spot.service.used)
            elif piece is None:
                assumed.append(
                    Assumption(f"{spot.slot} on {carrier}", "new on opening day: no row in garage.csv", "garage.csv")
                )
            else:
                known.add((c, p))
                _start_piece(piece, problem, state, c, p, spot, items, runs, problems)
    _suit_steps(problem, state, known, spots, items)
    _check_left(pieces.values(), sources, spots, problems)
    _start_counters(sources, ladders, state, problems)
    _start_bars(sources, problem, ladders, state, problems)
    _stock_shelf(sources, items, state)
    return state, tuple(assumed)


def _installed(sources: Sources, problems: Problems) -> dict[tuple[str, str], Piece]:
    """The installed pieces by carrier and position, each position once."""
    found: dict[tuple[str, str], Piece] = {}
    for piece in sources.garage:
        position = (piece.engine, _position(piece, sources))
        if piece.slot and position in found:
            advice = f"put one on the shelf; the first is in {found[position].place}"
            problems.add("GAR003", piece.place, "slot", piece.slot, "a second piece in the slot", advice)
        elif piece.slot:
            found[position] = piece
    return found


def _check_left(pieces: Iterable[Piece], sources: Sources, spots: Sequence[Spot], problems: Problems) -> None:
    """Pieces that are in no position must at least be in a slot, and as an alternate that it has."""
    known = {spot.slot for spot in spots}
    for piece in pieces:
        if sources.build and piece.slot not in sources.build.pattern.slots:
            problems.add("SEA002", piece.place, "slot", piece.slot, "an unknown slot", "give a slot of the pattern")
        elif sources.build and piece.alternate and f"{piece.slot}/{piece.alternate}" not in known:
            names = [found.name for found in sources.build.alternates.get(piece.slot, ())]
            there = piece.alternate in names
            near = "its slot needs a row in positions.csv" if there else nearest(piece.alternate, names)
            problems.add("SEA002", piece.place, "alternate", piece.alternate, "an unknown alternate", near)


def empty_state(
    problem: machine.Problem, carriers: int, bonds: int = 0, months: int = 0, *, traced: bool
) -> machine.State:
    """A state with everything new, nothing on the shelf and nothing noted.

    `bonds`: how many may be noted; `months`: how many money may flow in, at least those that the problem names.
    """
    return machine.State(
        **_of_carriers(problem, carriers),
        **_of_season(problem, carriers, bonds),
        **_counts(problem, months),
        **_notes(problem, carriers, problem.day.size if traced else 0),
        **_rooms(problem, carriers),
    )


def _whole(*shape: int, fill: int = 0) -> machine.Ints:
    return np.full(shape, fill, dtype=np.int64)


def _no(*shape: int) -> machine.Bools:
    return np.zeros(shape, dtype=np.bool_)


def _of_carriers(problem: machine.Problem, carriers: int) -> dict[str, Any]:
    """What is true of each carrier and what sits on it."""
    positions, lives = len(problem.level), len(problem.limit)
    ladders, depth = problem.hours.shape
    return {
        "age": np.zeros((carriers, lives)),
        "raw_age": np.zeros((carriers, lives)),
        "fails_at": np.full((carriers, lives), math.inf),
        "broken": _no(carriers, positions),
        "n_broken": _whole(carriers),
        "wrecked": _no(carriers, positions),
        "damaged": _no(carriers, positions),
        "look_from": _whole(carriers, positions),
        "fails_from": _whole(carriers, positions),
        "looked": _whole(carriers, positions),
        "step": _whole(carriers, positions),
        "item": np.tile(problem.item, (carriers, 1)),
        "value": _whole(carriers, positions),
        "worked": _whole(carriers, positions),
        "installed": _whole(carriers, positions),
        "since": np.zeros((carriers, ladders, depth)),
        "overdue": _no(carriers, ladders, depth),
        "hazard_left": np.zeros((carriers, len(problem.hazard_mean))),
        "strikes": _whole(carriers, len(problem.hazard_mean)),
        "idle_since": np.full(carriers, -math.inf),
        "ready_at": np.full(carriers, -math.inf),
        "extra_hours": np.zeros(carriers),
        "unplanned": _no(1),
        "box_open": _no(1),
        "awaited": np.zeros(1),
        "total_use": np.zeros(carriers),
        "held": _no(carriers, 2),
    }


def _of_season(problem: machine.Problem, carriers: int, bonds: int) -> dict[str, Any]:
    """What is true of the season: what is on the shelf, what counts for the book, which runs were run."""
    runs = len(problem.day)
    return {
        "season": _whole(1),
        "lost": problem.lost.copy(),
        "stock": _whole(len(problem.pack)),
        "stock_value": _whole(len(problem.pack)),
        "used_left": np.ones(len(problem.used_item), dtype=np.bool_),
        "opened": _whole(len(problem.bar_bond), carriers),
        "started": _no(len(problem.engines_bond), carriers),
        "put_in": _whole(len(problem.pieces_bond)),
        "acted": _whole(bonds, carriers, runs),
        "ran": _whole(runs, fill=-1),
        "stopped": _no(runs),
    }


def _counts(problem: machine.Problem, months: int) -> dict[str, Any]:
    """What is counted and added up over the season."""
    positions, hazards = len(problem.level), len(problem.hazard_mean)
    named = 1 + max(int(problem.event_month.max(initial=0)), int(problem.gap_month.max(initial=0)))
    return {
        "failures": _whole(positions + hazards),
        "finds": _whole(positions),
        "hits": _whole(positions),
        "tally_event": _whole(len(problem.weight) + 1),
        "tally_month": _whole(max(months, named)),
        "tally_cause": _whole(len(machine.CAUSES)),
        "tally_line": _whole(positions + problem.hours.size + 1),
        "used_up": _whole(1),
        "struck": _whole(1),
    }


def _notes(problem: machine.Problem, carriers: int, traces: int) -> dict[str, Any]:
    """Room to note every opening, renewal, kit and failure that a season can have, and the traces of so many runs."""
    runs, positions, lives = len(problem.day), len(problem.level), len(problem.limit)
    ladders, depth = problem.hours.shape
    openings, renewals = (runs + 1) * carriers * ladders, (runs + 1) * max(1, positions) * carriers
    return {
        "openings": _whole(openings, 4),
        "n_openings": _whole(1),
        "renewals": _whole(renewals, 13),
        "left_behind": _whole(renewals, 3),
        "n_renewals": _whole(1),
        "kits": _whole(openings * len(problem.kit_price), 7),
        "n_kits": _whole(1),
        "struck_cases": _whole(runs, 5),
        "n_cases": _whole(1),
        "trace_age": np.zeros((traces, carriers, lives)),
        "trace_raw": np.zeros((traces, carriers, lives)),
        "trace_since": np.zeros((traces, carriers, ladders, depth)),
        **{f"trace_{name}": _whole(traces, carriers, positions) for name in ("step", "item", "value", "worked")},
    }


def _rooms(problem: machine.Problem, carriers: int) -> dict[str, Any]:
    """Room to work in."""
    positions, (ladders, depth) = len(problem.level), problem.hours.shape
    names = ("causes", "drawn_by", "must", "trial", "trial_by", "wanted", "wanted_by", "fitting")
    return {
        **{name: _whole(positions, fill=-1) for name in names},
        "next_open": _whole(depth),
        "asked": _no(carriers),
        "reached": _whole(ladders, fill=-1),
        "barred": _no(ladders, depth),
        "needed": _whole(len(problem.pack)),
        "shelf_left": _no(len(problem.used_item)),
    }


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
    here = [number for number in items_of(problem, p) if items[number].name == piece.part]
    if not here:
        advice = f"write the part that is in the engine into both; build.csv says {items[spot.item].name}"
        problems.add("GAR005", piece.place, "part", piece.part, "not the part that the build has there:", advice)
        return
    state.item[c, p], state.value[c, p] = here[0], value_of(items[here[0]], spot.pieces)
    state.step[c, p], state.worked[c, p] = piece.step, machine.worked_before(problem, p, piece.step)
    for j, life in enumerate(spot.lives, start=problem.life_from[p]):
        age = piece.age(life.measure.name, runs[0].event.date)
        if age is None:
            no_use(piece, life.measure.name, life.row.place, problems)
        else:
            state.age[c, j] = state.raw_age[c, j] = age


def _start_papers(
    piece: Piece | None,
    sources: Sources,
    state: machine.State,
    c: int,
    carrier: str,
    life_from: int,
    spot: Spot,
    runs: Sequence[Run],
    problems: Problems,
) -> None:
    """The days that a dated part has had since its paper, else since it was installed; none without a row for it."""
    first = runs[0].event.date
    for j, part in enumerate(spot.dated, start=life_from + len(spot.lives)):
        paper = sources.paper_day(carrier, part.clause)
        age = float((first - paper).days) if paper else piece.age("days", first) if piece else 0.0
        if age is None and piece is not None:
            no_use(piece, "days", part.clause.place, problems)
        else:
            state.age[c, j] = state.raw_age[c, j] = max(0.0, age or 0.0)


def _position(piece: Piece, sources: Sources) -> str:
    """The position that an installed piece is in: its slot, or slot/alternate unless that is the slot's first."""
    alternates = sources.build.alternates.get(piece.slot, ()) if sources.build else ()
    first = any(found.name == piece.alternate and not found.serves for found in alternates)
    return piece.slot if first or not piece.alternate else f"{piece.slot}/{piece.alternate}"


def items_of(problem: machine.Problem, q: int) -> list[int]:
    """The stock items that a position may hold: its own, and those that go in with the steps of others."""
    others = problem.step_item[:, :, q]
    return [int(problem.item[q]), *sorted({int(number) for number in others[others >= 0]})]


def _suit_steps(
    problem: machine.Problem,
    state: machine.State,
    known: Collection[tuple[int, int]],
    spots: Sequence[Spot],
    items: Sequence[Item],
) -> None:
    """Positions without a row in the garage hold what goes with the steps that others have been through."""
    for c, p in np.argwhere(state.step > 0).tolist():
        for q in range(len(problem.item)):
            item = machine.item_after(problem, p, int(state.step[c, p]), q)
            if item != problem.item[q] and (c, q) not in known:
                state.item[c, q], state.value[c, q] = item, value_of(items[item], spots[q].pieces)


def _start_counters(
    sources: Sources, ladders: tuple[tuple[Step, ...], ...], state: machine.State, problems: Problems
) -> None:
    """Use since each level was last done, from `since` of the engines and the car."""
    counters = [(c, LADDERS.index("engine"), engine.since, engine.place) for c, engine in enumerate(sources.engines)]
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


def _start_bars(
    sources: Sources,
    problem: machine.Problem,
    ladders: tuple[tuple[Step, ...], ...],
    state: machine.State,
    problems: Problems,
) -> None:
    """Openings before the books open, from `done` of the engines and the car, for the caps that count in a life."""
    owners = [(c, LADDERS.index("engine"), engine.done, engine.place) for c, engine in enumerate(sources.engines)]
    owners.append((len(sources.engines), LADDERS.index(CAR), sources.car.done, sources.car.place))
    for c, t, done, place in owners:
        names = [step.level for step in ladders[t]]
        for level, times in done.items():
            if level not in names:
                problems.add("SEA001", place, "done", level, f"no level of the {LADDERS[t]}:", nearest(level, names))
                continue
            counts = problem.bar_in_life & (problem.bar_ladder == t) & (problem.bar_low <= names.index(level))
            state.opened[counts, c] += times


def _stock_shelf(sources: Sources, items: Sequence[Item], state: machine.State) -> None:
    """New pieces on the shelf, valued at today's price."""
    for number, item in enumerate(items):
        pieces = sum(
            piece.count or 1
            for piece in sources.garage
            if piece.on_shelf and piece.part == item.name and not piece.is_used
        )
        state.stock[number] = pieces
        state.stock_value[number] = value_of(item, pieces)
