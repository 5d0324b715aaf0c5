"""The machine as its JSON describes it, in records that the model walks; nothing else is read."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

Json = dict[str, Any]


def bound(value: float | None) -> float:
    """A number of the JSON; null is infinite."""
    return math.inf if value is None else value


def last_ends(binds: Sequence[bool]) -> tuple[int, ...]:
    """For every number of runs, the end of the last of them in which a limit binds."""
    ends = [0]
    for g, yes in enumerate(binds, start=1):
        ends.append(g if yes else ends[-1])
    return tuple(ends)


@dataclass(frozen=True, slots=True)
class Life:
    """One life of a position; `duty` and `raw` are added up before each run, `due_at` is where the season renews it."""

    name: str
    by_openings: bool
    by_days: bool
    duty: tuple[float, ...]
    raw: tuple[float, ...]
    scale: float
    shape: float
    due_at: float
    worn_at: float
    limit: float
    binds_to: tuple[int, ...]
    dated: bool
    warning: float


@dataclass(frozen=True, slots=True)
class Step:
    """A service step: its cost for the set, what renews with it, what others take, and the gaps it is barred in."""

    cost: int
    factor: float
    mends: bool
    renews: tuple[str, ...]
    takes: dict[str, str]
    barred: tuple[bool, ...]


@dataclass(frozen=True, slots=True)
class Case:
    up_to: float
    hits: tuple[str, ...]
    wrecks: bool
    cost: int
    paid: int
    hours: float
    stops: bool


@dataclass(frozen=True, slots=True)
class Position:
    """`level` is its number in the ladder; `ahead` and `whole` are lives after so many steps, for its balance.

    `names` are its slot and alternate, by which it is drawn for; it `leads` the positions whose item depends on its
    steps, as its own does on those it is `led_by`. It is `limited` if any life has a limit.
    """

    name: str
    on_car: bool
    ladder: str
    level: int
    item: str
    pieces: int
    stops: bool
    as_piece: bool
    calls: bool
    serves: tuple[bool, ...]
    renew_with: tuple[str, ...]
    lives: tuple[Life, ...]
    steps: tuple[Step, ...]
    factors: tuple[float, ...]
    ahead: tuple[float, ...]
    whole: tuple[float, ...]
    cases: tuple[Case, ...]
    names: tuple[str, str]
    leads: frozenset[str]
    led_by: tuple[str, ...]
    limited: bool

    def item_after(self, done: int, other: str) -> str | None:
        """The item that another position takes with a set that has been through so many steps; None for its own."""
        return next((step.takes[other] for step in reversed(self.steps[:done]) if other in step.takes), None)


@dataclass(frozen=True, slots=True)
class Hazard:
    name: str
    on_car: bool
    mean: float
    use: tuple[float, ...]
    cases: tuple[Case, ...]


@dataclass(frozen=True, slots=True)
class Level:
    """`use` of the measure that its interval and its rest count is added up before each run."""

    name: str
    hours: float
    interval: float
    use: tuple[float, ...]
    by_days: bool
    cost: int
    labour: int
    renews: frozenset[str]
    sees: dict[str, float]
    run_in: dict[tuple[str, str], tuple[float, float]]
    called: frozenset[int]
    rest: float
    fees: tuple[int, ...]
    next_fit: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Item:
    pack: int
    resale: int
    core: int
    prices: tuple[int, ...]
    least: tuple[int, ...]
    lead: tuple[float, ...]
    keep: int


@dataclass(frozen=True, slots=True)
class Kit:
    prices: tuple[int, ...]
    lead: tuple[float, ...]
    contains: dict[str, int]


@dataclass(frozen=True, slots=True)
class Event:
    name: str
    weight: float
    rain: float
    rain_from: int
    cost: int
    fee: int
    purse: int
    runs: range


@dataclass(frozen=True, slots=True)
class Run:
    event: int
    first: bool
    engine: str | None
    clock: float
    gap: float
    day: int
    result: float
    lost: bool
    swap_fee: int


@dataclass(frozen=True, slots=True)
class Work:
    """The whole of it, by names. `json` is what the opening state, book and policies are read from.

    The season begins with run `begin`; what was before it is over.
    """

    json: Json
    drawn: bool
    slack: float
    begin: int
    engines: tuple[str, ...]
    car: str
    events: tuple[Event, ...]
    runs: tuple[Run, ...]
    positions: dict[str, Position]
    hazards: tuple[Hazard, ...]
    ladders: dict[str, tuple[Level, ...]]
    ladders_of: dict[bool, tuple[str, ...]]
    items: dict[str, Item]
    kits: tuple[Kit, ...]

    @property
    def policies(self) -> Json:
        found: Json = self.json["policies"]
        return found


def read_work(json: Json) -> Work:
    """The records of a machine's JSON."""
    car = next(row["carrier"] for row in json["carriers"] if row["kind"] == "car")
    runs = _runs(json)
    ladders = {row["ladder"]: row for row in json["ladders"]}
    numbers = {name: [level["level"] for level in row["levels"]] for name, row in ladders.items()}
    positions = (_position(row, json["positions"], numbers[row["ladder"]], json["drawn"]) for row in json["positions"])
    return Work(
        json=json,
        drawn=json["drawn"],
        slack=json["slack"],
        begin=json["begin"],
        engines=tuple(row["carrier"] for row in json["carriers"] if row["kind"] == "engine"),
        car=car,
        events=_events(json, runs),
        runs=runs,
        positions={found.name: found for found in sorted(positions, key=lambda found: found.name)},
        hazards=tuple(_hazard(row) for row in json["hazards"]),
        ladders={name: tuple(_level(level, json, runs) for level in row["levels"]) for name, row in ladders.items()},
        ladders_of={
            on_car: tuple(name for name, row in ladders.items() if (row["carrier"] == "car") == on_car)
            for on_car in (False, True)
        },
        items={row["item"]: _item(row) for row in json["items"]},
        kits=tuple(_kit(row) for row in json["kits"]),
    )


def _runs(json: Json) -> tuple[Run, ...]:
    numbers = {row["event"]: number for number, row in enumerate(json["events"])}
    return tuple(
        Run(
            event=numbers[row["event"]],
            first=row["first"],
            engine=row["engine"],
            clock=row["clock_hours"],
            gap=bound(row["gap_hours"]),
            day=date.fromisoformat(row["date"]).toordinal(),
            result=row["result"],
            lost=row["lost"],
            swap_fee=row["swap_fee"],
        )
        for row in json["runs"]
    )


def _events(json: Json, runs: Sequence[Run]) -> tuple[Event, ...]:
    found = []
    for number, row in enumerate(json["events"]):
        of_it = [g for g, run in enumerate(runs) if run.event == number]
        span = range(of_it[0], of_it[-1] + 1)
        found.append(
            Event(
                row["event"], row["weight"], row["rain"], row["rain_from"], row["cost"], row["fee"], row["purse"], span
            )
        )
    return tuple(found)


def _case(row: Json) -> Case:
    hits = tuple(row["hits"])
    return Case(row["up_to"], hits, row["wrecks"], row["cost"], row["paid"], row["hours"], row["stops"])


def _hazard(row: Json) -> Hazard:
    cases = tuple(_case(case) for case in row["cases"])
    return Hazard(
        row["hazard"],
        row["carrier"] == "car",
        math.inf if row["mean"] is None else row["mean"],
        tuple(row["use"]),
        cases,
    )


def _life(row: Json, drawn: bool) -> Life:
    return Life(
        name=row["life"],
        by_openings=row["ages_by"] == "openings",
        by_days=row["ages_by"] == "days",
        duty=tuple(row["duty_before"]),
        raw=tuple(row["raw_before"]),
        scale=bound(row["scale"]),
        shape=row["shape"],
        due_at=bound(row["renew_at"] if drawn else row["worn_at"]),
        worn_at=bound(row["worn_at"]),
        limit=bound(row["limit"]),
        binds_to=last_ends(row["limit_binds"]),
        dated=row["dated"],
        warning=row["warning"],
    )


def _step(row: Json) -> Step:
    takes = {taken["position"]: taken["item"] for taken in row["takes"]}
    return Step(row["cost"], row["factor"], row["mends"], tuple(row["renews"]), takes, tuple(row["barred"]))


def _leads(row: Json) -> frozenset[str]:
    return frozenset(taken["position"] for step in row["steps"] for taken in step["takes"])


def _position(row: Json, rows: Sequence[Json], levels: Sequence[str], drawn: bool) -> Position:
    steps = tuple(_step(step) for step in row["steps"])
    return Position(
        name=row["position"],
        on_car=row["carrier"] == "car",
        ladder=row["ladder"],
        level=levels.index(row["level"]),
        item=row["item"],
        pieces=row["pieces"],
        stops=row["stops"],
        as_piece=row["as_piece"],
        calls=row["calls"],
        serves=tuple(row["serves"]),
        renew_with=tuple(row["renew_with"]),
        lives=tuple(_life(life, drawn) for life in row["lives"]),
        steps=steps,
        factors=(1.0, *(step.factor for step in steps)),
        ahead=tuple(worth["ahead"] for worth in row["worth"]),
        whole=tuple(worth["whole"] for worth in row["worth"]),
        cases=tuple(_case(case) for case in row["cases"]),
        names=(row["slot"], row["alternate"]),
        leads=_leads(row),
        led_by=tuple(other["position"] for other in rows if row["position"] in _leads(other)),
        limited=any(life["limit"] is not None for life in row["lives"]),
    )


def _level(row: Json, json: Json, runs: Sequence[Run]) -> Level:
    before = {one["measure"]: tuple(one["use_before"]) for one in json["measures"]}
    return Level(
        name=row["level"],
        hours=row["hours"],
        interval=bound(row["interval"]),
        use=before.get(row["measure"], (0.0,) * (len(runs) + 1)),
        by_days=row["measure"] == "days",
        cost=row["cost"],
        labour=row["labour"],
        renews=frozenset(row["renews"]),
        sees={seen["position"]: seen["chance"] for seen in row["sees"]},
        run_in={(one["position"], one["life"]): (one["duty"], one["raw"]) for one in row["run_in"]},
        called=frozenset(row["called"]),
        rest=row["rest"],
        fees=tuple(row["fees"]),
        next_fit=_next_fit(row["hours"], [run.gap for run in runs]),
    )


def _next_fit(hours: float, gaps: Sequence[float]) -> tuple[int, ...]:
    """For every gap, the next later one that holds so many hours; the number of runs if none does."""
    following, found = len(gaps), [len(gaps)] * len(gaps)
    for g in range(len(gaps) - 1, -1, -1):
        found[g] = following
        following = g if gaps[g] >= hours else following
    return tuple(found)


def _item(row: Json) -> Item:
    prices, least, lead = tuple(row["prices"]), tuple(row["least"]), tuple(row["lead_hours"])
    return Item(row["pack"], row["resale"], row["core"], prices, least, lead, row["keep"])


def _kit(row: Json) -> Kit:
    return Kit(
        tuple(row["prices"]), tuple(row["lead_hours"]), {held["item"]: held["pieces"] for held in row["contains"]}
    )
