"""Reading a catalog beside reading a bare CSV file, in one run: `python tests/bench/bench_catalog.py [repeats]`.

Makes catalogs of invented parts in a temporary folder: a wide table (15 columns, 4 attributes among them), a narrow one
(5 columns) and the wide one as a supplier's sheet that a columns map reads. Times are medians; memory is the highest
that is in use while the largest is read, by tracemalloc, with what csv.DictReader takes beside it.
"""

from __future__ import annotations

import csv
import os
import platform
import random
import sys
import tempfile
import tracemalloc
from collections.abc import Callable
from pathlib import Path
from statistics import median
from time import perf_counter

from costplan.catalog import Catalog, read_catalogs

ROWS = 50_000
SIZES = (ROWS // 4, ROWS // 2, ROWS)
ROLES = 40
#: Reading and checking takes at most so many times what csv.DictReader takes, and so many seconds more.
TIMES, SECONDS = 5.0, 1.0
#: Memory for twice the rows is at most so many times as much.
GROWTH = 2.1

WIDE = (
    "part,name,role,supplier,price,price_date,pack,lead_days,core_charge,resale,source,mass [g],bore [in],stroke [in],"
    "material"
)
NARROW = "part,role,supplier,price,price_date"
MAP = """\
[[sheet]]
file = "parts.csv"
decimal = ","
thousands = "."
dates = "day.month.year"
[sheet.columns]
"""


def say(text: str = "") -> None:
    sys.stdout.write(f"{text}\n")


def wide(draw: random.Random, number: int) -> list[object]:
    """A row of 15 cells: prices and masses hardly repeat, roles and suppliers do, some cells are empty."""
    return [
        f"P-{number:06d}",
        f"Part number {number} of the list",
        f"role-{number % ROLES}",
        f"Supplier {number % 4}",
        f"{draw.uniform(5, 2000):.2f}",
        f"2027-01-{1 + number % 28:02d}",
        draw.choice((1, 1, 8, 16)),
        number % 60,
        0,
        f"{draw.uniform(0, 50):.2f}",
        "invented list",
        f"{draw.uniform(20, 3000):.1f}",
        f"{draw.uniform(4, 4.1):.3f}" if number % 3 else "",
        f"{draw.uniform(3, 3.1):.3f}" if number % 5 == 0 else "",
        draw.choice(("steel", "iron")),
    ]


def narrow(draw: random.Random, number: int) -> list[object]:
    cells = wide(draw, number)
    return [cells[0], *cells[2:6]]


def make_catalog(folder: Path, heading: str, row: Callable[[random.Random, int], list[object]], rows: int) -> Path:
    """A catalog of one table of parts, 40 roles and 40 lives; the same one each time."""
    folder.mkdir()
    draw = random.Random(1)  # noqa: S311 - not for secrets
    roles = [f"role-{number}" for number in range(ROLES)]
    (folder / "catalog.toml").write_text('name = "bench"\ncurrency = "USD"\ninvented = true\n', encoding="utf-8")
    (folder / "roles.csv").write_text("\n".join(["role,shape", *(f"{role},2.5" for role in roles)]), encoding="utf-8")
    lives = "\n".join(["role,measure,replace_at", *(f"{role},events,20" for role in roles)])
    (folder / "lives.csv").write_text(lives, encoding="utf-8")
    with (folder / "parts.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(heading.split(","))
        writer.writerows(row(draw, number) for number in range(rows))
    return folder


def make_sheet(folder: Path, rows: int) -> Path:
    """The wide catalog with headings, decimal commas and dates of a supplier's own."""
    make_catalog(folder, WIDE, wide, rows)
    with (folder / "parts.csv").open(encoding="utf-8", newline="") as file:
        heading, *table = csv.reader(file)
    headings = [f"Heading {number}" for number in range(len(heading))]
    numbers = [at for at, name in enumerate(heading) if name in ("price", "resale") or "[" in name]
    for cells in table:
        for at in numbers:
            cells[at] = cells[at].replace(".", ",")
        cells[5] = ".".join(reversed(cells[5].split("-")))
    with (folder / "parts.csv").open("w", encoding="utf-8", newline="") as file:
        csv.writer(file, delimiter=";").writerows([headings, *table])
    lines = (f'"{ours}" = "{theirs}"' for ours, theirs in zip(heading, headings, strict=True))
    (folder / "columns-map.toml").write_text(MAP + "\n".join(lines), encoding="utf-8")
    return folder


def read_bare(folder: Path) -> list[dict[str, str]]:
    with (folder / "parts.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def read_whole(folder: Path) -> Catalog:
    catalog, problems = read_catalogs([folder])
    if problems:
        raise SystemExit("\n".join(map(str, problems[:9])))
    return catalog


def timed(work: Callable[[Path], object], folder: Path, repeats: int) -> float:
    """Median seconds of some runs after one that is not counted."""
    work(folder)
    found = []
    for _ in range(repeats):
        start = perf_counter()
        work(folder)
        found.append(perf_counter() - start)
    return median(found)


def peak(work: Callable[[Path], object], folder: Path) -> float:
    """Megabytes in use at most while one reading is done."""
    work(folder)
    tracemalloc.start()
    work(folder)
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return most / 1e6


def verdict(*, met: bool) -> str:
    return "met" if met else "MISSED"


def time_it(what: str, folder: Path, repeats: int) -> None:
    bare, whole = timed(read_bare, folder, repeats), timed(read_whole, folder, repeats)
    limit = TIMES * bare + SECONDS
    size = (folder / "parts.csv").stat().st_size / 1e6
    met = verdict(met=whole <= limit)
    say(f"{what:<22}{size:4.1f} MB   csv.DictReader {bare:.3f} s   read_catalogs {whole:.3f} s = {whole / bare:4.1f} x")
    say(f"{'':<31}   at most {TIMES:g} x csv.DictReader + {SECONDS:g} s = {limit:.3f} s: {met}")


def weigh(home: Path) -> None:
    say()
    before = 0.0
    for rows in SIZES:
        folder = make_catalog(home / f"wide-{rows}", WIDE, wide, rows)
        bare, whole = peak(read_bare, folder), peak(read_whole, folder)
        growth = f"   {whole / before:.2f} x the half: {verdict(met=whole <= GROWTH * before)}" if before else ""
        say(f"{rows:>7,} rows, wide   csv.DictReader {bare:6.1f} MB   read_catalogs {whole:6.1f} MB{growth}")
        before = whole


def main() -> None:
    repeats = int(sys.argv[1]) if len(sys.argv) > 1 else 7
    load = f", load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else ""
    say(f"Python {platform.python_version()}, {platform.machine()}, {os.cpu_count()} cores{load}")
    say(f"{ROWS:,} rows of parts; medians of {repeats} runs after one uncounted.")
    say()
    with tempfile.TemporaryDirectory() as name:
        home = Path(name)
        time_it("wide, 15 columns", make_catalog(home / "wide", WIDE, wide, ROWS), repeats)
        time_it("narrow, 5 columns", make_catalog(home / "narrow", NARROW, narrow, ROWS), repeats)
        time_it("wide, through a map", make_sheet(home / "sheet", ROWS), repeats)
        weigh(home)


if __name__ == "__main__":
    main()
