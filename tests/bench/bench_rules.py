"""Reading and checking a large rule book: `python tests/bench/bench_rules.py [runs]`. Not part of the tests.

Makes an invented engine of 200 slots, each with a part, and a book of 500 clauses of most kinds, many with a proof, a
day or a condition. Times are medians of so many runs after one that is not counted.
"""

from __future__ import annotations

import os
import platform
import sys
import tempfile
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from statistics import median
from time import perf_counter

from costplan.build import Build, Figures, Fill, Pattern, Slot, bill_of
from costplan.catalog import Buying, Catalog, Part
from costplan.garage import Bench, Inspected, Paper
from costplan.money import Rates
from costplan.problems import Place
from costplan.quantity import Quantity
from costplan.rules import Known, Pack, Sheet, ahead, check, read_pack

SLOTS, RULES = 200, 500
DAY = date(2027, 5, 14)
#: Seconds that a check of the whole book may take.
TARGET = 1.0


def say(text: str = "") -> None:
    sys.stdout.write(f"{text}\n")


def engine() -> tuple[Build, Catalog]:
    """An engine of 200 slots; every fifth part was measured."""
    slots = {f"slot-{n}": Slot(slot=f"slot-{n}", role=f"role-{n}", quantity=1 + n % 16) for n in range(SLOTS)}
    parts = {f"P-{n}": part(n) for n in range(SLOTS)}
    attributes = {"mass": "mass", "bore": "length", "stroke": "length"}
    inputs = {
        "bore": (Quantity(4.0, "in"), Place("pattern.toml", 2)),
        "stroke": (Quantity(3.25, "in"), Place("pattern.toml", 3)),
        "cylinders": (Quantity(8.0), Place("pattern.toml", 4)),
    }
    pattern = Pattern("200 slots", slots, inputs, "pattern.toml", attributes, words=frozenset({"material"}))
    fills = {name: Fill(slot, parts[f"P-{n}"], Place("build.csv", n)) for n, (name, slot) in enumerate(slots.items())}
    bench = tuple(
        Bench(engine="big", slot=f"slot-{n}", attribute="bore", value=Decimal("3.99"), unit="in", date=DAY, by="shop")
        for n in range(0, SLOTS, 5)
    )
    return Build(pattern, fills, bench=bench), Catalog(parts)


def part(number: int) -> Part:
    blank = Part(
        part=f"P-{number}",
        role=f"role-{number}",
        supplier=f"Supplier {number % 4}",
        price=Decimal(100 + number),
        price_date=DAY,
        currency="USD",
    )
    attributes = {"mass": Quantity(100.0 + number, "g"), "bore": Quantity(4.0, "in"), "material": "steel"}
    tolerances = {"mass": Quantity(2.0, "g")} if number % 3 == 0 else {}
    return blank.model_copy(update={"attributes": attributes, "tolerances": tolerances})


def clause(number: int) -> str:
    """One clause of the book; what its number says of it repeats every 20."""
    slot, kind = f"slot-{number % SLOTS}", number % 20
    head = f'[[rule]]\nid = "R{number}"\nsays = "Clause {number}, invented."\nbook = "engine"\npage = "{number}"\n'
    if kind < 6:
        return (
            f'{head}kind = "parts"\nslot = "{slot}"\nallowed = "P-1 P-2 P-{number % SLOTS} P-3"\nmark = "M{number}"\n'
        )
    if kind < 8:
        return f'{head}kind = "word"\nof = "{slot}.material"\none_of = "steel iron"\nproof = "inspection"\n'
    if kind < 12:
        when = '[{ kind = "word", of = "slot-1.material", one_of = "steel" }]'
        return f'{head}kind = "limit"\nof = "{slot}.bore"\nmax = "4.05 in"\nproof = "measurement"\nwhen = {when}\n'
    if kind < 14:
        days = "effective = 2027-01-01\nsunset = 2027-12-31\n"
        return f'{head}kind = "limit"\nof = "{slot}.mass slot-7.mass"\nmin = "90 g"\n{days}'
    others = {
        14: 'kind = "limit"\nof = "displacement"\nmax = "340 in3"\n',
        15: 'kind = "limit"\nof = "mass"\nmin = "30 kg"\n',
        16: f'kind = "paper"\npaper = "certificate"\nslot = "{slot}"\nvalid = "730 d"\n',
        17: f'kind = "inspection"\nslot = "{slot}"\nfrom_round = 2\n',
        18: f'kind = "parts"\nslot = "{slot} slot-2 slot-3"\nlist = "listed"\n',
        19: 'kind = "quota"\nof = "engines"\nmost = 2\n',
    }
    return head + others[kind]


def book() -> str:
    """500 clauses, and two editions of a list."""
    parts = " ".join(f"P-{n}" for n in range(SLOTS))
    lists = "".join(
        f'[[list]]\nlist = "listed"\nsince = {day}\nparts = "{parts}"\n' for day in ("2026-01-01", "2028-01-01")
    )
    return 'name = "A large book"\ngauges = ["shop"]\n' + lists + "".join(clause(n) for n in range(RULES))


def timed(what: str, work: Callable[[], object], runs: int) -> float:
    """The median time of some work, told on a line."""
    work()
    found = []
    for _ in range(runs):
        start = perf_counter()
        work()
        found.append(perf_counter() - start)
    middle = median(found)
    say(f"{what:<52}{middle * 1000:8.1f} ms   {min(found) * 1000:6.1f} to {max(found) * 1000:6.1f} ms")
    return middle


def sheet_of(build: Build, catalog: Catalog) -> Sheet:
    """A sheet with figures that nothing was asked of yet."""
    papers = [
        Paper(engine="big", slot=f"slot-{n}", paper="certificate", number=str(n), date=date(2026, 1, 1 + n % 28))
        for n in range(0, SLOTS, 2)
    ]
    inspections = [
        Inspected(engine="big", rule=f"R{n}", found="meets", date=DAY, by="shop") for n in range(0, RULES, 4)
    ]
    figures = Figures(build, bill_of(build, catalog, Buying(Rates("USD")), DAY, 180))
    rounds = tuple(date(2027, 4, day) for day in range(1, 25))
    return Sheet(figures, "big", tuple(papers), tuple(inspections), rounds=rounds)


def read(folder: Path, build: Build) -> Pack:
    pack, problems = read_pack(folder / "rules-large.toml", Known(build.pattern, {}, levels=(), services=()))
    if pack is None or problems:
        raise SystemExit("\n".join(map(str, problems)))
    return pack


def main() -> None:
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 7
    load = f", load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else ""
    say(f"Python {platform.python_version()}, {platform.machine()}, {os.cpu_count()} cores{load}")
    say(f"{RULES} clauses, {SLOTS} slots with parts; medians of {runs} runs after one uncounted, then least and most.")
    build, catalog = engine()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "rules-large.toml").write_text(book(), encoding="utf-8")
        pack, sheet = read(folder, build), sheet_of(build, catalog)
        timed("read the book and check its clauses", lambda: read(folder, build), runs)
    fresh = sheet.figures

    def anew() -> Sheet:
        return replace(sheet, figures=Figures(fresh.build, fresh.bill))

    checked = timed("check the engine, nothing worked out before", lambda: check(pack, anew(), DAY), runs)
    timed("check it again", lambda: check(pack, sheet, DAY), runs)
    timed("what lies ahead", lambda: tuple(ahead(pack, sheet, DAY)), runs)
    verdicts = check(pack, sheet, DAY)
    counts = {verdict: verdicts.count(verdict) for verdict in ("meets", "breaks", "cannot be shown", "not asked")}
    say(f"Answers: {', '.join(f'{count} {verdict}' for verdict, count in counts.items())}")
    say(f"check: {checked:.3f} s, target at most {TARGET:g} s: {'met' if checked <= TARGET else 'MISSED'}")


if __name__ == "__main__":
    main()
