"""Choosing parts, beside another solver and beside trying all: `python tests/bench/bench_choose.py [runs]`.

Not part of the tests.

Made instances are invented engines written as catalogs, pattern and book: so many slots with so many parts each, whose
bonds are fits between random pairs of slots, three to two slots (of which 55 or 28 % of pairs of parts go together),
limits on displacement, compression and valve lift, and a least mass. The same puzzle goes to
scipy's milp (HiGHS), each table as a sum of literals of its rows, and where there are few picks to every pick in turn.
Seconds are medians; "solving" is without reading files and asking fits and clauses ("encoding").
"""

from __future__ import annotations

import os
import platform
import random
import sys
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from decimal import Decimal
from functools import partial
from importlib.metadata import version
from math import prod
from pathlib import Path
from statistics import median
from time import perf_counter
from typing import Any

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp  # type: ignore[import-untyped]
from scipy.sparse import csr_matrix  # type: ignore[import-untyped]

from costplan.choose import AIMS, Aimed, Chosen, Wishes, best, frontier, prepare
from costplan.choose.aims import Aim
from costplan.choose.frontier import Against
from costplan.choose.modelling import Goal
from costplan.choose.puzzle import Allowed, Puzzle, amount_of, picks
from costplan.money import to_minor
from costplan.scenario import Scenario, read_scenario

ROOT = Path(__file__).parents[2]
DAY = date(2027, 2, 1)
DEMO_TARGET, LARGE_TARGET, FRONTIER_TARGET, POINTS = 1.0, 10.0, 30.0, 12
#: The other solver is given up after so many seconds.
PATIENCE = 120.0
PRICE_ALONE = Aim("price", "lowest price", (Goal("price"),))

#: Fits of which 55, and 28, of a hundred random pairs of parts go together.
LOOSE, TIGHT = 'must = "at most"\nplus = 1', 'must = "equal"\nwithin = 1'

#: The slots that the limits speak of, each with the attributes of its parts: unit, least, greatest, places.
SHAPES = {
    "block": {"bore": ("in", 3.97, 4.04, 3), "deck_height": ("in", 8.99, 9.025, 3)},
    "crank": {"stroke": ("in", 2.95, 3.20, 3)},
    "rods": {"rod_length": ("in", 5.95, 6.05, 2)},
    "pistons": {"pin_height": ("in", 1.40, 1.50, 3), "dish_volume": ("cm3", -4.0, 9.0, 1)},
    "heads": {"chamber_volume": ("cm3", 56.0, 66.0, 1)},
    "gaskets": {"gasket_bore": ("in", 4.08, 4.20, 2), "gasket_thickness": ("in", 0.027, 0.051, 3)},
    "camshaft": {"intake_lobe_lift": ("in", 0.31, 0.39, 3)},
    "rockers": {"rocker_ratio": ("", 1.45, 1.65, 2)},
}
INPUTS = """\
cylinders = 8
bore = "block.bore"
stroke = "crank.stroke"
rod_length = "rods.rod_length"
pin_height = "pistons.pin_height"
deck_height = "block.deck_height"
dish_volume = "pistons.dish_volume"
chamber_volume = "heads.chamber_volume"
gasket_bore = "gaskets.gasket_bore"
gasket_thickness = "gaskets.gasket_thickness"
intake_lobe_lift = "camshaft.intake_lobe_lift"
rocker_ratio = "rockers.rocker_ratio"
"""
BOOK = """\
name = "invented"
[[rule]]
id = "size"
says = "displacement, invented"
kind = "limit"
of = "displacement"
min = "300 in3"
max = "310 in3"
[[rule]]
id = "compression"
says = "compression, invented"
kind = "limit"
of = "compression_ratio"
min = 9.4
max = 10.25
[[rule]]
id = "lift"
says = "lift, invented"
kind = "limit"
of = "intake_lift"
min = "0.500 in"
max = "0.540 in"
[[rule]]
id = "mass"
says = "mass, invented"
kind = "limit"
of = "mass"
min = "{mass} kg"
"""


def say(text: str = "") -> None:
    sys.stdout.write(f"{text}\n")


def made(folder: Path, slots: int, parts: int, bond: str, seed: int) -> Scenario:
    """An invented engine as files, read back; fits join random pairs of slots by an attribute of ten values."""
    fits = slots * 3 // 2
    rng = random.Random(seed)  # noqa: S311 - invented engines
    names = [*list(SHAPES)[: min(slots, len(SHAPES))], *(f"slot-{n}" for n in range(len(SHAPES), slots))]
    pairs = [rng.sample(names, 2) for _ in range(fits)]
    for name in names:
        (folder / f"{name}.csv").write_text(table(name, pairs, parts, rng), encoding="utf-8")
    (folder / "catalog.toml").write_text(
        'name = "invented"\ncurrency = "USD"\ninvented = true\n[attributes]\n'
        + "".join(f'key_{n} = "number"\n' for n in range(fits)),
        encoding="utf-8",
    )
    (folder / "roles.csv").write_text("role\n" + "".join(f"{name}\n" for name in names), encoding="utf-8")
    scenario = folder / "scenario"
    scenario.mkdir()
    (scenario / "pattern.toml").write_text(pattern(names, pairs, bond), encoding="utf-8")
    (scenario / "build.csv").write_text(
        "slot,part\n" + "".join(f"{name},{name}-0\n" for name in names), encoding="utf-8"
    )
    (scenario / "rules.toml").write_text(BOOK.format(mass=round(0.5 * slots, 1)), encoding="utf-8")
    (scenario / "calendar.csv").write_text("event,date,laps\none,2027-05-01,30\n", encoding="utf-8")
    (scenario / "services.csv").write_text("service,price,every,measure\noil,50,1,events\n", encoding="utf-8")
    (scenario / "scenario.toml").write_text(
        'title = "invented"\ncurrency = "USD"\ninvented = true\ncatalogs = [".."]\npattern = "pattern.toml"\n'
        'build = "build.csv"\nrules = "rules.toml"\n',
        encoding="utf-8",
    )
    found, problems = read_scenario(scenario)
    if found is None or problems:
        raise ValueError([str(problem) for problem in problems][:5])
    return found


def table(name: str, pairs: list[list[str]], parts: int, rng: random.Random) -> str:
    """The parts of one slot."""
    shape, keys = SHAPES.get(name, {}), [n for n, pair in enumerate(pairs) if name in pair]
    heads = [f"{attribute} [{unit}]" if unit else attribute for attribute, (unit, *_) in shape.items()]
    rows = ["part,role,supplier,price,price_date,mass [g]," + ",".join((*heads, *(f"key_{n}" for n in keys)))]
    for number in range(parts):
        values = [f"{rng.uniform(low, high):.{places}f}" for _, low, high, places in shape.values()]
        values += [str(rng.randrange(1, 11)) for _ in keys]
        cells = (f"{name}-{number}", name, "Hill", rng.randrange(20, 2000), DAY, rng.randrange(100, 900), *values)
        rows.append(",".join(str(cell) for cell in cells))
    return "\n".join(rows) + "\n"


def pattern(names: list[str], pairs: list[list[str]], bond: str) -> str:
    text = f'name = "invented"\n[inputs]\n{INPUTS}' if len(names) >= len(SHAPES) else 'name = "invented"\n'
    text += "".join(f'[[slot]]\nslot = "{name}"\nrole = "{name}"\n' for name in names)
    for number, (this, that) in enumerate(pairs):
        text += f'[[fit]]\nfit = "fit {number}"\nthis = "{this}.key_{number}"\nthat = "{that}.key_{number}"\n{bond}\n'
    return text


def in_milp(puzzle: Puzzle) -> tuple[float, float | None]:
    """Seconds and optimum of the price by scipy's milp: one literal a candidate, one a row of a table."""
    starts = np.cumsum([0, *puzzle.sizes])
    rows, low, high = list[dict[int, float]](), list[float](), list[float]()
    width = int(starts[-1])

    def add(row: dict[int, float], least: float, most: float) -> None:
        rows.append(row)
        low.append(least)
        high.append(most)

    for slot in range(len(puzzle.sizes)):
        add(dict.fromkeys(range(starts[slot], starts[slot + 1]), 1.0), 1, 1)
    for restriction in puzzle.restrictions:
        if isinstance(restriction, Allowed):
            width = _table_rows(restriction, starts, width, add)
            continue
        terms = {int(starts[slot]) + n: float(w) for slot, of in restriction.weights.items() for n, w in enumerate(of)}
        size = max(abs(one) for one in terms.values()) or 1.0
        row = {key: value / size for key, value in terms.items()}
        bound = (restriction.high or 0) / size
        where = restriction.where
        if where is not None:  # asked only of some classes of one slot: everything is let pass unless they are picked
            slack = sum(max(0.0, *of) for of in restriction.weights.values()) / size + abs(bound)
            for number, one in enumerate(where.classes[0]):
                if (one,) in where.tuples:
                    row[int(starts[where.scope[0]]) + number] = (
                        row.get(int(starts[where.scope[0]]) + number, 0.0) + slack
                    )
            bound += slack
        add(row, -np.inf, bound)
    price = puzzle.amounts["price"]
    cost = np.zeros(width)
    for slot, of in price.weights.items():
        cost[starts[slot] : starts[slot + 1]] = of
    entries = [(n, key, value) for n, row in enumerate(rows) for key, value in row.items()]
    where_, columns, values = zip(*entries, strict=True)
    matrix = csr_matrix((values, (where_, columns)), shape=(len(rows), width))
    began = perf_counter()
    found: Any = milp(
        cost,
        constraints=LinearConstraint(matrix, low, high),
        bounds=Bounds(0, 1),
        integrality=np.ones(width),
        options={"time_limit": PATIENCE, "mip_rel_gap": 0.0},
    )
    return perf_counter() - began, None if found.x is None or found.status != 0 else float(found.fun)


def _table_rows(table_: Allowed, starts: Any, width: int, add: Callable[[dict[int, float], float, float], None]) -> int:
    """A table in the program: a candidate is picked only with a row of its class. The new number of columns."""
    tuples = sorted(table_.tuples)
    for place, (slot, of) in enumerate(zip(table_.scope, table_.classes, strict=True)):
        for one in sorted(set(of)):
            row = {width + n: 1.0 for n, each in enumerate(tuples) if each[place] == one}
            for number, its in enumerate(of):
                if its == one:
                    row[int(starts[slot]) + number] = -1.0
            add(row, 0, 0)
    return width + len(tuples)


def timed(work: Callable[[], Any], runs: int) -> tuple[float, Any]:
    """The median of some runs, and the last answer."""
    seconds, answer = [], None
    for _ in range(runs):
        began = perf_counter()
        answer = work()
        seconds.append(perf_counter() - began)
    return median(seconds), answer


def instances() -> Iterator[tuple[str, int, int, str, int]]:
    yield from ((f"8 slots x 4 parts, loose, {seed}", 8, 4, LOOSE, seed) for seed in (7, 10))
    yield from ((f"30 slots x 15 parts, loose, {seed}", 30, 15, LOOSE, seed) for seed in (1, 2, 3))
    yield from ((f"30 slots x 15 parts, tight, {seed}", 30, 15, TIGHT, seed) for seed in (1, 2, 3))
    yield from ((f"60 slots x 30 parts, loose, {seed}", 60, 30, LOOSE, seed) for seed in (1, 2, 3))
    yield from ((f"60 slots x 30 parts, tight, {seed}", 60, 30, TIGHT, seed) for seed in (1, 2))


def measure_made(runs: int) -> float:
    """Prints a line for each made instance; the slowest solving of the largest size."""
    say(f"{'made engine':<34}{'encoding':>10}{'solving':>10}{'milp':>10}{'ratio':>8}{'all picks':>11}  optimum")
    slowest = 0.0
    for name, slots, parts, bond, seed in instances():
        with tempfile.TemporaryDirectory() as folder:
            scenario = made(Path(folder), slots, parts, bond, seed)
            encoding, aimed = timed(partial(prepare, scenario, Wishes(DAY)), 1)
            asked = partial(best, aimed, PRICE_ALONE, PATIENCE)
            solving, (chosen, after) = timed(asked, runs if bond == LOOSE else 1)
        puzzle = after.encoded.puzzle
        milp_seconds, optimum = in_milp(puzzle)
        found = cents(chosen)
        agrees = optimum is None or found is None or round(optimum) == found
        tried = every(puzzle) if prod(puzzle.sizes) <= 100_000 else None
        value = "none" if found is None else f"{found / 100:,.2f}"
        shown = f"{tried[0]:9.2f} s" if tried else "-"
        right = tried is None or tried[1] == found
        mark = "" if agrees and right and chosen.proof.status in ("optimal", "impossible") else "  DIFFERS"
        other = f"{milp_seconds:8.2f} s" if optimum is not None or found is None else f">{PATIENCE:6.0f} s"
        ratio = f"{milp_seconds / solving:6.1f} x"
        say(f"{name:<34}{encoding:8.2f} s{solving:8.2f} s{other:>10}{ratio:>8}{shown:>11}  {value}{mark}")
        slowest = max(slowest, solving) if slots == 60 and bond == LOOSE else slowest
    return slowest


def cents(chosen: Chosen) -> int | None:
    """The price that was found, in minor units, as the puzzle counts it."""
    return None if chosen.proof.value is None else to_minor(Decimal(chosen.proof.value), "USD")


def every(puzzle: Puzzle) -> tuple[float, int | None]:
    began = perf_counter()
    found = min((amount_of(puzzle, "price", pick) for pick in picks(puzzle)), default=None)
    return perf_counter() - began, found


def measure_demo(runs: int) -> tuple[float, float]:
    """Prints the demo's lines; the slowest aim's solving, and the seconds of the frontier of power."""
    scenario, problems = read_scenario(ROOT / "scenarios/oval-v8")
    if scenario is None:
        raise ValueError(problems)
    encoding, aimed = timed(lambda: prepare(scenario, Wishes(DAY)), runs)
    encoded = aimed.encoded
    sizes = [len(encoded.candidates[slot]) for slot in encoded.slots]
    say(
        f"\ndemo oval-v8: {len(encoded.slots)} slots, {sum(sizes) + len(encoded.out)} candidates, {sum(sizes)} left\n"
        f"after what each clause says alone; {encoded.tables} tables, {encoded.sums} sums, {encoded.judge.asked} "
        f"questions asked; encoding {encoding:.2f} s"
    )
    slowest = 0.0
    for name, aim in AIMS.items():
        seconds, (chosen, _) = timed(partial(best, aimed, aim), runs)
        first, _ = timed(partial(best, aimed, replace(aim, goals=aim.goals[:1])), runs)
        say(f"  {name:<10}{chosen.proof.status:<12}{first:6.2f} s, with ties decided {seconds:6.2f} s")
        slowest = max(slowest, first)
    slow = 0.0
    sides: tuple[Against, ...] = ("power", "season")
    for against in sides:
        seconds, found = timed(partial(frontier, aimed, against, POINTS, 300.0), 1)
        points = f"{len(found.points)} points in {seconds:.2f} s, whole: {found.whole}"
        say(f"  frontier of price against {against}: {points}")
        slow = max(slow, seconds)
    _against_milp(aimed)
    return slowest, slow


def _against_milp(aimed: Aimed) -> None:
    puzzle = replace(aimed.encoded.puzzle, kits=(), lots=(), within=())
    bare = replace(aimed, encoded=replace(aimed.encoded, puzzle=puzzle))
    seconds, (chosen, _) = timed(lambda: best(bare, PRICE_ALONE), 3)
    other, optimum = in_milp(puzzle)
    same = optimum is not None and round(optimum) == cents(chosen)
    times = f"{seconds:.2f} s; milp {other:.2f} s ({other / seconds:.1f} x)"
    say(f"  price without kits and caps: {times}, same optimum: {same}")


def main(runs: int) -> int:
    say(
        f"{platform.system()}, Python {platform.python_version()}, {os.cpu_count()} cores; "
        f"ortools {version('ortools')}, scipy {version('scipy')};\n"
        f"medians of {runs} runs; one worker, gap 0 on both sides"
    )
    large = measure_made(runs)
    demo, front = measure_demo(runs)
    targets = (
        ("demo, proved optimum", demo, DEMO_TARGET),
        ("60 slots x 30 parts, loose", large, LARGE_TARGET),
        (f"{POINTS} points of the demo's frontier", front, FRONTIER_TARGET),
    )
    say()
    for what, found, target in targets:
        say(f"{what:<36}{found:7.2f} s, target {target:g} s: {'met' if found <= target else 'MISSED'}")
    return 0 if all(found <= target for _, found, target in targets) else 1


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 3))
