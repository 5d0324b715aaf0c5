"""Start-up and answer times, all measured in one run: `python tests/bench/bench.py [runs]`. Not part of the tests.

Times are medians. The target of `--help` is a ratio to bare Python, so that it holds on any machine.
"""

from __future__ import annotations

import os
import platform
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from statistics import median
from time import perf_counter

ROOT = Path(__file__).parents[2]
SCENARIO = "scenarios/oval-v8"
ON = "2027-05-14"
ENTRY = [sys.executable, "-c", "from costplan.cli import main; main()"]
HELP_TARGET, SEASON_TARGET = 12.0, 1.0


def say(text: str = "") -> None:
    sys.stdout.write(f"{text}\n")


def timed(work: Callable[[], object], runs: int) -> list[float]:
    """Seconds of each run, after one that is not counted."""
    work()
    found = []
    for _ in range(runs):
        start = perf_counter()
        work()
        found.append(perf_counter() - start)
    return found


def process(*words: str) -> Callable[[], object]:
    return lambda: subprocess.run(words, cwd=ROOT, check=True, capture_output=True)  # noqa: S603 - our own command


def line(what: str, seconds: list[float], base: float) -> None:
    middle = median(seconds)
    spread = f"{min(seconds) * 1000:.0f} to {max(seconds) * 1000:.0f}"
    say(f"{what:<44}{middle * 1000:8.1f} ms   {spread:>14} ms   {middle / base:6.1f} x bare Python")


def verdict(what: str, value: float, target: float, unit: str) -> None:
    say(f"{what}: {value:.2f} {unit}, target at most {target:g} {unit}: {'met' if value <= target else 'MISSED'}")


def inside(runs: int, base: float) -> None:
    """Reading, compiling and planning within this process, and the size of the work."""
    from costplan.reading.fields import to_date
    from costplan.scenario import Scenario, read_scenario
    from costplan.season import Season, make_plan

    def read() -> Scenario:
        scenario, problems = read_scenario(ROOT / SCENARIO)
        if scenario is None:
            raise SystemExit("\n".join(map(str, problems)))
        return scenario

    def compiled() -> Season:
        season, problems = replace(scenario, compiled=None).season()
        if season is None:
            raise SystemExit("\n".join(map(str, problems)))
        return season

    scenario = read()
    season = compiled()
    day = to_date(ON)
    line("in process: read, check and compile", timed(read, runs), base)
    line("in process: of that, compile the season", timed(compiled, runs), base)
    line("in process: make the plan", timed(lambda: make_plan(season, day), runs), base)
    plan, problem = make_plan(season, day), season.problem
    say()
    say(
        f"Size: {len(scenario.files.events)} calendar rows, {len(season.runs)} runs, {len(problem.pieces)} positions, "
        f"{len(problem.due_at)} lives, {len(scenario.engines)} engine(s) and the car,"
    )
    parts = len(scenario.catalog.parts) if scenario.catalog else 0
    say(f"{parts} parts in the catalog; the plan has {len(plan.jobs)} jobs and {len(plan.ledger)} ledger rows.")


def main() -> None:
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 11
    load = f", load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else ""
    say(f"Python {platform.python_version()}, {platform.machine()}, {os.cpu_count()} cores{load}")
    say(f"Scenario {SCENARIO}, --on {ON}; medians of {runs} runs after one uncounted, then least and most.")
    say()
    bare = timed(process(sys.executable, "-c", "pass"), runs)
    base = median(bare)
    line("python -c pass", bare, base)
    brief = timed(process(*ENTRY, "--help"), runs)
    line("costplan --help", brief, base)
    season = timed(process(*ENTRY, "season", SCENARIO, "--on", ON), runs)
    line(f"costplan season {SCENARIO}", season, base)
    line(f"costplan check {SCENARIO}", timed(process(*ENTRY, "check", SCENARIO), runs), base)
    inside(runs, base)
    say()
    verdict("costplan --help to bare Python", median(brief) / base, HELP_TARGET, "x")
    verdict(f"costplan season {SCENARIO}", median(season), SEASON_TARGET, "s")


if __name__ == "__main__":
    main()
