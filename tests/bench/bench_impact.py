"""How long a study of a field takes: the demo's field, then fewer groups, changes and seasons, in one run.

    python tests/bench/bench_impact.py [--seasons 2000]

Compared with nothing but the seasons themselves: as many, of the demo's own calendar, drawn one entrant after the other
by `draw_years` with as many workers. Target: 60 entrants in 8 groups, 3 changes, 2,000 seasons before and after, under
60 s on two cores. Not part of the tests.
"""

from __future__ import annotations

import argparse
import os
import platform
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from time import perf_counter

from costplan.impact.drawing import Asked
from costplan.impact.field import FieldOfEntrants
from costplan.impact.reading import read_field
from costplan.impact.records import Range
from costplan.impact.studying import desk_of
from costplan.season.arrays import as_drawn
from costplan.season.drawn.years import Span, draw_years

SCENARIO = Path(__file__).parents[2] / "scenarios" / "oval-v8"
YEARS, TARGET, ENTRANTS = 5, 60.0, 60


def smaller(field: FieldOfEntrants, entrants: int) -> FieldOfEntrants:
    """The field with so many entrants, the largest group being smaller."""
    most = max(field.crowds, key=lambda crowd: crowd.count)
    few = Decimal(most.count - (field.entrants - entrants))
    crowds = (replace(one, entrants=Range(few, few, few)) if one is most else one for one in field.crowds)
    return replace(field, crowds=tuple(crowds))


def study(field: FieldOfEntrants, seasons: int, *, flips: bool = False) -> float:
    """Seconds of a whole study, without reading files; with `flips` of what turns it about alone."""
    began = perf_counter()
    desk, problems = desk_of(field, Asked(seasons, YEARS, 1), field.base.opening)
    if desk is None:
        raise SystemExit("\n".join(map(str, problems)))
    found = desk.impact()
    if flips:
        began = perf_counter()
        desk.flips(found.changes)
    return perf_counter() - began


def line(words: str, seconds: float, beside: float | None = None) -> None:
    ratio = f"   {seconds / beside:5.2f} x" if beside else ""
    print(f"{words:58} {seconds:7.1f} s{ratio}")  # noqa: T201 - that is what it is for


def series(words: str, fields: Sequence[tuple[str, FieldOfEntrants, int]]) -> None:
    """Times that should go up in proportion, each beside the first."""
    print(f"\n{words}")  # noqa: T201
    first: float | None = None
    for name, field, seasons in fields:
        seconds = study(field, seasons)
        line(f"  {name}", seconds, first)
        first = first or seconds


def seasons_alone(field: FieldOfEntrants, number: int) -> float:
    """Seconds of so many seasons of the demo's calendar, nothing else."""
    season = field.base.compiled
    if season is None:
        raise SystemExit("the demo has no season")
    problem = as_drawn(season, 1)
    began = perf_counter()
    draw_years(Span(season, problem, problem, YEARS), number // YEARS)
    return perf_counter() - began


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seasons", type=int, default=2000)
    seasons = parser.parse_args().seasons
    began = perf_counter()
    field, problems = read_field(SCENARIO)
    if field is None:
        raise SystemExit("\n".join(map(str, problems)))
    reading = perf_counter() - began
    study(replace(field, crowds=field.crowds[:1]), 50)  # compiles
    load = f", load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else ""
    print(f"Python {platform.python_version()}, {platform.machine()}, {os.cpu_count()} cores{load}")  # noqa: T201
    words = f"{field.entrants} entrants, {len(field.crowds)} groups, {len(field.proposals)} changes, {seasons} seasons"
    print(f"{words}, years {YEARS}, seed 1")  # noqa: T201
    line("reading", reading)
    share = study(smaller(field, ENTRANTS), seasons)
    line(f"the study of {ENTRANTS} entrants in as many groups", share)
    whole = study(field, seasons)
    line("the study", whole)
    played = field.entrants * seasons * (1 + len(field.proposals))
    line(f"{played:,} seasons of the demo's whole calendar alone", seasons_alone(field, played), whole)
    line("what turns it about (--flips)", study(field, seasons, flips=True))
    some = range(2, len(field.crowds) + 1, 2)
    quarter = max(50, seasons // 8)
    series(
        "groups (entrants)",
        [
            (f"{n} ({sum(one.count for one in field.crowds[:n])})", replace(field, crowds=field.crowds[:n]), quarter)
            for n in some
        ],
    )
    changes = range(1, len(field.proposals) + 1)
    series("changes", [(str(n), replace(field, proposals=field.proposals[:n]), quarter) for n in changes])
    series("seasons", [(str(n), field, n) for n in (quarter, 2 * quarter, 4 * quarter)])
    verdict = "met" if share <= TARGET else "missed"
    print(f"\nTarget {TARGET:.0f} s for {ENTRANTS} entrants: {verdict}, {share:.1f} s")  # noqa: T201


if __name__ == "__main__":
    main()
