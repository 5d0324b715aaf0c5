"""Drawn seasons: the compiled machine beside a model in SimPy: `python tests/bench/bench_season.py [share]`.

Makes scenarios of invented parts in a temporary folder: 45 events of 3 runs and 60 positions, with cases, a hazard,
rain and checks, for one and two engines. The model is that of tests/season_model, which comes to the same seasons. It
plays in one process and in two, the machine on two threads; both read the scenario before the clock starts. What is
compiled is timed in a cache of its own, so that it is the first time; peak memory is that of a process that does
nothing else. `share` of the seasons is drawn; a small one only shows that it runs, since fewer than 250 seasons are
one block, drawn by one thread. Not part of the tests.
"""

from __future__ import annotations

import json
import multiprocessing
import os
import platform
import subprocess
import sys
import tempfile
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from statistics import median
from time import perf_counter

import numpy as np

ROOT = Path(__file__).parents[2]
if str(ROOT) not in sys.path:
    sys.path.append(str(ROOT))

from costplan.scenario import read_scenario  # noqa: E402 - the model stands beside the package, found by the line above
from costplan.season import Season  # noqa: E402
from costplan.season.arrays import as_drawn  # noqa: E402
from costplan.season.drawn.drawing import draw  # noqa: E402
from costplan.season.work import work_of  # noqa: E402
from tests.season_model import Generated, Work, play, read_work  # noqa: E402

EVENTS, RUNS, POSITIONS, CAR_POSITIONS = 45, 3, 60, 6
MODEL_SEASONS, MACHINE_SEASONS, SWEEP_SEASONS, OUTLOOK_SEASONS = 60, 20_000, 5_000, 10_000
SIZES = (1_000, 10_000, 100_000, 1_000_000)
WORKERS = 2
#: The compiled machine on two cores against the model on one, in seasons a second.
TARGET = 100.0
OUTLOOK = "from costplan.cli import main; main()"

LEVELS = """\
level,rank,carrier,interval,measure,hours,labour,supplies,renews,checks,sees
quick,1,engine,,,2,20,0,,{quick},0.6
springs,2,engine,60,laps,10,120,15,{springs},,
top,3,engine,400,laps,40,400,60,{top},{top},0.8
full,4,engine,1500,laps,150,1800,220,{full},{full},0.8
side,1,car,,,1,0,0,,,
deep,2,car,600,laps,30,150,20,{car},{car},0.7
"""
SESSIONS = """\
format,session,laps,rpm,duty,result
night,hot laps,8,6000,0.85,0
night,heat,12,6300,1,0.3
night,feature,35,6500,1.1,0.7
"""


def say(text: str = "") -> None:
    sys.stdout.write(f"{text}\n")


def counted(seasons: int, share: float) -> int:
    return max(1, round(seasons * share))


# The scenario


def make_scenario(folder: Path, *, events: int = EVENTS, positions: int = POSITIONS, engines: int = 1) -> Path:
    """A scenario of so many events, positions and engines; the same one each time."""
    slots = [f"slot-{number:03d}" for number in range(positions)]
    engine, car = slots[: positions - CAR_POSITIONS], slots[positions - CAR_POSITIONS :]
    groups = {name: engine[number::4] for number, name in enumerate(("quick", "springs", "top", "full"))}
    level_of = {slot: name for name, found in groups.items() for slot in found} | dict.fromkeys(car, "deep")
    listed = {name: " ".join(found[::3]) for name, found in {**groups, "car": car}.items()}
    write = {
        "scenario.toml": _header(engines),
        "pattern.toml": 'name = "bench"\n'
        + "".join(f'[[slot]]\nslot = "{slot}"\nrole = "{slot}"\nquantity = {_pieces(slot)}\n' for slot in slots),
        "build.csv": "slot,part\n" + "".join(f"{slot},part-{slot}\n" for slot in slots),
        "positions.csv": "slot,level,carrier,stops\n" + "".join(_position(slot, level_of[slot]) for slot in slots),
        "levels.csv": LEVELS.format(**listed),
        "sessions.csv": SESSIONS,
        "calendar.csv": "event,date,format,entry,travel,purse,rain\n" + "".join(_event(n) for n in range(events)),
        "services.csv": "service,price,every,measure,whole\nfuel,1.5,1,laps,no\noil,90,2,events,yes\n",
        "hazards.csv": "hazard,carrier,chance,per\nover-rev,engine,0.01,events\n",
        "damage.csv": "slot,case,chance,hits,cost,hours\n" + "".join(_case(slot, engine) for slot in engine[::4]),
        "catalog/catalog.toml": 'name = "bench"\ncurrency = "USD"\ninvented = true\n',
        "catalog/roles.csv": "role\n" + "".join(f"{slot}\n" for slot in slots),
        "catalog/parts.csv": "part,role,supplier,price,price_date,pack\n" + "".join(_part(slot) for slot in slots),
        "catalog/lives.csv": "part,measure,replace_at,risk,shape,warning\n"
        + "".join(_life(slot, level_of[slot]) for slot in slots),
    }
    for name, text in write.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def _header(engines: int) -> str:
    rows = "".join(f'[[engine]]\nname = "engine {number}"\n' for number in range(engines))
    files = 'catalogs = ["catalog"]\npattern = "pattern.toml"\nbuild = "build.csv"\n'
    return f'title = "bench"\ncurrency = "USD"\ninvented = true\n{files}{rows}'


def _number(slot: str) -> int:
    return int(slot.partition("-")[2])


def _pieces(slot: str) -> int:
    return (1, 2, 8, 16)[_number(slot) % 4]


def _position(slot: str, level: str) -> str:
    return f"{slot},{level},{'car' if level == 'deep' else 'engine'},{'no' if _number(slot) % 5 == 0 else 'yes'}\n"


def _event(number: int) -> str:
    day = date(2027, 3, 6) + timedelta(days=7 * (number // 3) + number % 3)
    return f"event {number:03d},{day},night,75,120,300,0.15\n"


def _case(slot: str, engine: list[str]) -> str:
    at = engine.index(slot)
    hits = " ".join(engine[(at + step) % len(engine)] for step in (3, 7, 11))
    return f"{slot},takes others along,0.3,{hits},50,24\n"


def _part(slot: str) -> str:
    return f"part-{slot},{slot},shop,{20 + 7 * (_number(slot) % 23)}.50,2027-01-01,{(1, 4)[_number(slot) % 2]}\n"


def _life(slot: str, level: str) -> str:
    laps = {"quick": 120, "springs": 150, "top": 600, "full": 2000, "deep": 900}[level] + 10 * (_number(slot) % 7)
    return f"part-{slot},laps,{laps},5 %,2.5,0.25\n"


def season_in(folder: Path) -> Season:
    scenario, problems = read_scenario(folder)
    season, more = scenario.season() if scenario is not None else (None, ())
    if season is None:
        raise SystemExit("\n".join(map(str, (*problems, *more))))
    return season


# The model


def work_in(folder: Path) -> Work:
    season = season_in(folder)
    return read_work(json.loads(json.dumps(work_of(season, as_drawn(season, 1)))))


_read: dict[str, Work] = {}


def prepare(folder: str) -> None:
    """Reads the scenario in a process of its own, and plays one season that is not counted."""
    _read["work"] = work_in(Path(folder))
    play_one(0)


def play_one(number: int) -> int:
    return play(_read["work"], Generated(np.random.default_rng([1, number]))).total


def model_speed(folder: Path, seasons: int, processes: int) -> tuple[float, float]:
    """Seasons a second of the model, and the mean of their cash."""
    with multiprocessing.get_context("spawn").Pool(processes, prepare, (str(folder),)) as pool:
        pool.map(play_one, range(processes * 2), chunksize=1)
        start = perf_counter()
        totals = pool.map(play_one, range(seasons), chunksize=max(1, seasons // (8 * processes)))
        return seasons / (perf_counter() - start), float(np.mean(totals))


# The machine


def machine_speed(season: Season, seasons: int, repeats: int = 3) -> tuple[float, float]:
    """Seasons a second of the machine on two threads, the median of some times, warm; and the mean of their cash."""
    found = draw(season, seasons, workers=WORKERS)
    times = []
    for _ in range(repeats):
        start = perf_counter()
        draw(season, seasons, workers=WORKERS)
        times.append(perf_counter() - start)
    return seasons / median(times), float(found.cash.mean())


def apart(folder: Path, seasons: int, cache: Path | None = None) -> tuple[float, float]:
    """Seconds and peak MiB of drawing seasons in a process of its own; in another cache, if one is given."""
    words = [sys.executable, __file__, "--draw", str(folder), str(seasons)]
    env = os.environ | ({"XDG_CACHE_HOME": str(cache)} if cache else {})
    text = subprocess.run(words, check=True, capture_output=True, text=True, env=env).stdout  # noqa: S603 - this file
    seconds, peak = map(float, text.split())
    return seconds, peak


def draw_alone(folder: Path, seasons: int) -> None:
    import resource  # not everywhere

    season = season_in(folder)
    start = perf_counter()
    draw(season, seasons, workers=WORKERS)
    say(f"{perf_counter() - start} {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024}")


# What is measured


def side_by_side(folder: Path, share: float) -> None:
    for engines in (1, 2):
        made = make_scenario(folder / f"engines-{engines}", engines=engines)
        season = season_in(made)
        problem = season.problem
        say(
            f"{len(problem.weight)} events, {len(season.runs)} runs, {len(problem.level)} positions, "
            f"{len(problem.limit)} lives, {engines} engine(s) and the car:"
        )
        one, cash = model_speed(made, counted(MODEL_SEASONS, share), 1)
        say(f"  model in SimPy, one process      {one:12,.1f} seasons/s   mean cash {cash / 100:12,.2f}")
        two, cash = model_speed(made, counted(MODEL_SEASONS * 2, share), 2)
        say(f"  model in SimPy, two processes    {two:12,.1f} seasons/s   mean cash {cash / 100:12,.2f}")
        speed, cash = machine_speed(season, counted(MACHINE_SEASONS, share))
        say(f"  compiled machine, {WORKERS} threads      {speed:12,.1f} seasons/s   mean cash {cash / 100:12,.2f}")
        met = "met" if speed / one >= TARGET else "MISSED"
        verdict = f"; target {TARGET:g} times one: {met}" if share >= 1 else ""
        say(f"  {speed / one:,.0f} times one process, {speed / two:,.0f} times two{verdict}")
        say()


def compiling(folder: Path) -> None:
    made = make_scenario(folder / "compiled")
    first, _ = apart(made, 1, folder / "cache")
    loaded = [apart(made, 1, folder / "cache")[0] for _ in range(3)]
    say(f"First compilation, with one season   {first:8.2f} s")
    say(f"Loaded from the cache, with one      {median(loaded):8.2f} s")
    say()


def by_seasons(folder: Path, share: float) -> None:
    say("Scaling in seasons, each a process of its own:")
    made = make_scenario(folder / "seasons")
    apart(made, 1)
    for size in SIZES:
        seconds, peak = apart(made, counted(size, share))
        say(f"  {counted(size, share):>9,} seasons   {seconds:9.2f} s   peak {peak:8,.0f} MiB")
    say()


def by_size(folder: Path, share: float) -> None:
    say("Scaling in runs and in positions:")
    sizes = [(events, POSITIONS) for events in (15, 45, 90)] + [(EVENTS, positions) for positions in (30, 120)]
    for events, positions in sizes:
        made = make_scenario(folder / f"size-{events}-{positions}", events=events, positions=positions)
        speed, _ = machine_speed(season_in(made), counted(SWEEP_SEASONS, share))
        say(f"  {events * RUNS:4d} runs, {positions:4d} positions   {speed:12,.1f} seasons/s")
    say()


def whole_commands(share: float) -> None:
    seasons = counted(OUTLOOK_SEASONS, share)
    for name in ("oval-v8", "kart-single"):
        seconds = median(timed(outlook(name, seasons)))
        say(f"costplan outlook scenarios/{name} --seasons {seasons}   {seconds:6.2f} s")


def outlook(name: str, seasons: int) -> Callable[[], object]:
    words = [sys.executable, "-c", OUTLOOK, "outlook", f"scenarios/{name}", "--seasons", str(seasons)]
    return lambda: subprocess.run(words, cwd=ROOT, check=True, capture_output=True)  # noqa: S603 - our own command


def timed(work: Callable[[], object], runs: int = 3) -> list[float]:
    """Seconds of each run, after one that is not counted."""
    work()
    found = []
    for _ in range(runs):
        start = perf_counter()
        work()
        found.append(perf_counter() - start)
    return found


def main() -> None:
    share = float(sys.argv[1]) if len(sys.argv) > 1 else 1.0
    load = f", load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else ""
    say(f"Python {platform.python_version()}, {platform.machine()}, {os.cpu_count()} cores{load}")
    say()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        compiling(folder)
        side_by_side(folder, share)
        by_size(folder, share)
        by_seasons(folder, share)
    whole_commands(share)


if __name__ == "__main__":
    if sys.argv[1:2] == ["--draw"]:
        draw_alone(Path(sys.argv[2]), int(sys.argv[3]))
    else:
        main()
