"""Draws the demo's shop log: what an invented engine shop wrote down of 36 engines in three seasons.

Each set breaks at a use that is drawn from the life which the demo's catalog states for its part (of rockers each
piece), so that a fit of the log can be held against what it was drawn from. Nothing in it happened.

Run as a program it prints the log: python tests/test_demo/draw_shop_log.py > scenarios/oval-v8/shop-log.csv
"""

from __future__ import annotations

import csv
import io
import math
import random
import sys
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path

from costplan.catalog import Catalog, read_catalogs
from costplan.life import Weibull, life_of

CATALOG = Path(__file__).parents[2] / "catalogs" / "oval-v8"
SEED, ENGINES, SEASONS = 1, 36, (2024, 2025, 2026)
USED, SOLD = 12, 2
COLUMNS = ("date", "what", "engine", "level", "slot", "part", "count", "events", "laps", "hours", "note")
MEASURES = ("events", "laps", "hours")
#: The slots that are followed, their parts, pieces with lives of their own, and the level or the use that renews them.
PARTS = {
    "springs": ("TV-S165", 1, "springs"),
    "lifters": ("TV-L842", 1, "rebuild"),
    "rings": ("TV-G400", 1, "freshen"),
    "rod-bearings": ("QM-RS8", 1, "freshen"),
    "exhaust-valves": ("OB-XV150", 1, "rebuild"),
    "retainers": ("TV-RT10", 1, "rebuild"),
    "rockers": ("TV-RK15", 16, "never"),
    "water-pump": ("DW-WP1", 1, "rebuild"),
}
#: Every so manyth engine has plain springs.
PLAIN, PLAIN_SPRINGS = 5, "DW-S150"
#: Nights between the works of a shop whose engine is cared for as the books say.
EVERY = {"springs": 8, "freshen": 15, "rebuild": 40}


@dataclass(slots=True)
class Piece:
    """A set or piece by its true life, and the use it has."""

    life: float
    measure: str
    use: dict[str, float]


@dataclass(slots=True)
class Shop:
    """The shop's book while it is written."""

    catalog: Catalog
    luck: random.Random
    rows: list[dict[str, object]] = field(default_factory=list)

    def write(self, day: date, what: str, engine: str, **cells: object) -> None:
        self.rows.append({"date": day, "what": what, "engine": engine, **cells})

    def piece(self, part: str, use: dict[str, float]) -> Piece:
        """A piece with a life drawn among those that come to its use."""
        row = self.catalog.lives_of(self.catalog.parts[part])[0]
        life = life_of(row, self.catalog.roles[self.catalog.parts[part].role], 1).weibull
        name = row.measure.name
        return Piece(beyond(life, use[name], self.luck.random()), name, dict(use))


def beyond(life: Weibull, age: float, draw: float) -> float:
    """A life among those of at least an age: -ln of a uniform draw is what the hazard adds from there on."""
    return float(life.scale * (life.cumulative_hazard(age) - math.log(1 - draw)) ** (1 / life.shape))


@dataclass(slots=True)
class Engine:
    """An engine: how long its owner stretches things, what its owner reports, and what is in it."""

    name: str
    stretch: float
    told: tuple[str, ...]
    first: date
    last: date
    springs: str
    sets: dict[str, list[Piece]] = field(default_factory=dict)
    since: dict[str, float] = field(default_factory=lambda: dict.fromkeys(EVERY, 0.0))

    def part(self, slot: str) -> str:
        return self.springs if slot == "springs" else PARTS[slot][0]

    def fill(self, shop: Shop, slot: str, use: dict[str, float] | None = None) -> None:
        """A new set, or one with use on it."""
        use = use or dict.fromkeys(MEASURES, 0.0)
        self.sets[slot] = [shop.piece(self.part(slot), use) for _ in range(PARTS[slot][1])]


def draw_log(seed: int = SEED) -> str:
    """The log as the file holds it, the same each time for a seed."""
    catalog, problems = read_catalogs([CATALOG])
    if problems:
        raise ValueError(problems)
    shop = Shop(catalog, random.Random(seed))  # noqa: S311 - a demo is drawn, and its draws must repeat
    for number in range(1, ENGINES + 1):
        _live(shop, _engine(shop, number), used=number % (ENGINES // USED) == 0)
    shop.rows.sort(key=lambda row: str(row["date"]))
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS, restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerows(shop.rows)
    return out.getvalue()


def _engine(shop: Shop, number: int) -> Engine:
    luck = shop.luck
    told = MEASURES if number % 3 else ("events", "laps") if number % 2 else ("events", "hours")
    first = date(SEASONS[int(luck.random() ** 2 * 3)], 3, 1) + timedelta(days=int(40 * luck.random()))
    sold = number in (7, 22)
    last = date(2025, 7, 1) + timedelta(days=int(60 * luck.random())) if sold else date(SEASONS[-1], 10, 31)
    return Engine(
        f"OE-{number:02}",
        0.8 + 0.9 * luck.random(),
        told,
        min(first, date(2025, 4, 1)) if sold else first,
        last,
        PARTS["springs"][0] if number % PLAIN else PLAIN_SPRINGS,
    )


def _live(shop: Shop, engine: Engine, *, used: bool) -> None:
    """An engine from the day the shop first sees it to the last row of its book."""
    for slot in PARTS:
        use = _second_hand(shop, engine, slot) if used else {}
        engine.fill(shop, slot, use)
        cells = {name: f"{use[name]:g}" for name in use}
        note = "came with the engine, bought used" if used else ""
        shop.write(engine.first, "changed", engine.name, slot=slot, part=engine.part(slot), note=note, **cells)
    for year in SEASONS:
        day = date(year, 2, 10)
        if engine.first < day < engine.last and engine.since["freshen"] > 6:
            _service(shop, engine, day, "freshen" if engine.since["rebuild"] < 30 * engine.stretch else "rebuild")
        for week in range(32):
            day = date(year, 3, 16) + timedelta(days=7 * week)
            if engine.first < day < engine.last and shop.luck.random() < 0.75:
                _night(shop, engine, day)


def _second_hand(shop: Shop, engine: Engine, slot: str) -> dict[str, float]:
    """What a set of an engine bought used has behind it: up to two thirds of what its shop would let it run."""
    level = PARTS[slot][2]
    nights = 1 + int(shop.luck.random() * EVERY.get(level, 40) * 0.65)
    for name in EVERY:
        engine.since[name] = float(nights) if name == level else engine.since[name]
    return {"events": float(nights), "laps": 54.0 * nights, "hours": round(0.3 * nights, 2)}


def _night(shop: Shop, engine: Engine, day: date) -> None:
    """A night at the track, up to the first thing that breaks; then the shop's work on it."""
    luck = shop.luck
    laps = 42 + int(24 * luck.random())
    whole = {"events": 1.0, "laps": float(laps), "hours": round(laps * (0.0051 + 0.0009 * luck.random()), 2)}
    share, slot = _first_to_break(engine, whole)
    use = whole if slot == "" else _cut(whole, share)
    for piece in (piece for pieces in engine.sets.values() for piece in pieces):
        piece.use = {name: piece.use[name] + use[name] for name in MEASURES}
    engine.since = {name: nights + use["events"] for name, nights in engine.since.items()}
    shop.write(day, "ran", engine.name, **{name: f"{use[name]:g}" for name in engine.told})
    if slot:
        _mend(shop, engine, day, slot)
    for level in EVERY:
        if engine.since[level] >= EVERY[level] * engine.stretch:
            _service(shop, engine, day + timedelta(days=3), level)


def _first_to_break(engine: Engine, whole: dict[str, float]) -> tuple[float, str]:
    """The share of a night after which the first thing breaks, and its slot; '' where nothing does."""
    found = [
        ((piece.life - piece.use[piece.measure]) / whole[piece.measure], slot)
        for slot, pieces in engine.sets.items()
        for piece in pieces
    ]
    share, slot = min(found)
    return (share, slot) if share < 1 else (1.0, "")


def _cut(whole: dict[str, float], share: float) -> dict[str, float]:
    share = max(round(share, 2), 0.01)
    return {
        "events": share,
        "laps": float(max(round(whole["laps"] * share), 1)),
        "hours": round(whole["hours"] * share, 3),
    }


def _mend(shop: Shop, engine: Engine, day: date, slot: str) -> None:
    """What broke is written down and replaced: one rocker, else the set."""
    pieces = engine.sets[slot]
    one = {"count": 1} if len(pieces) > 1 else {}
    shop.write(day, "failed", engine.name, slot=slot, **one)
    shop.write(day, "changed", engine.name, slot=slot, part=engine.part(slot), **one)
    if not one:
        engine.fill(shop, slot)
        return
    broken = min(pieces, key=lambda piece: piece.life - piece.use[piece.measure])
    pieces.remove(broken)
    pieces.append(shop.piece(engine.part(slot), dict.fromkeys(MEASURES, 0.0)))


def _service(shop: Shop, engine: Engine, day: date, level: str) -> None:
    """A level with what it renews: springs by themselves, the rest by name at a rebuild."""
    shop.write(day, "serviced", engine.name, level=level)
    done = list(EVERY)[: list(EVERY).index(level) + 1]
    for slot, (_, _, renewed_at) in PARTS.items():
        if renewed_at in done:
            engine.fill(shop, slot)
            if renewed_at == "rebuild" or level == "springs":
                shop.write(day, "changed", engine.name, slot=slot, part=engine.part(slot))
    for name in done:
        engine.since[name] = 0.0


if __name__ == "__main__":
    sys.stdout.write(draw_log())
