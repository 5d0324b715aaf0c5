"""Carriers and the sets installed in them: how far they are worn, what is due, and what is left of their cost."""

from __future__ import annotations

import math
from dataclasses import dataclass

from tests.season_model.draws import HAZARD, LIFE, Draws
from tests.season_model.reading import Hazard, Item, Life, Position, Work


def half_up(value: float, hair: float = 0.0) -> int:
    """Rounded half up; a half that floats have brought a hair below itself is a half."""
    return math.floor(value + 0.5 + hair)


def share(total: int, part: int, whole: int) -> int:
    """part / whole of a sum, rounded half up."""
    return (2 * total * part + whole) // (2 * whole)


def drawn_life(life: Life, factor: float, age: float, u: float) -> float:
    """The age at which a life ends that has come to an age, by a number from 0 to 1."""
    scale = life.scale * factor
    end: float = scale * ((age / scale) ** life.shape - math.log(u)) ** (1 / life.shape)
    return max(age, end)


@dataclass(slots=True)
class Installed:
    """The set in a position. `ends` are the ages at which its lives end, none in a plan.

    `number` counts what was put in before it, or mended; `looks` those since then that could see its end coming.
    """

    position: Position
    item: str
    value: int
    worked: int
    steps_done: int
    ages: list[float]
    raw: list[float]
    ends: list[float]
    broken: bool = False
    damaged: bool = False
    wrecked: bool = False
    number: int = 0
    looks: int = 0

    @property
    def factor(self) -> float:
        return self.position.factors[self.steps_done]

    def due(self, g: int, h: int, slack: float, opened: int = 0) -> bool:
        """Whether a life is passed in runs g to h, h left out, and `opened` openings; what is new is never due."""
        return self.worn_by(g, h, slack, opened) or self.at_limit(g, h, slack, opened)

    def worn_by(self, g: int, h: int, slack: float, opened: int = 0) -> bool:
        for life, age in zip(self.position.lives, self.ages, strict=True):
            more = opened if life.by_openings else life.duty[h] - life.duty[g]
            if age > 0 and age + more > life.due_at * self.factor * (1 + slack):
                return True
        return False

    def at_limit(self, g: int, h: int, slack: float, opened: int = 0) -> bool:
        if not self.position.limited:
            return False
        for life, raw in zip(self.position.lives, self.raw, strict=True):
            if life.limit == math.inf:
                continue
            end = life.binds_to[h]
            more = opened if life.by_openings else life.raw[end] - life.raw[g]
            binds = end > g or end == h
            if binds and raw > 0 and raw + more > life.limit * (1 + slack):
                return True
        return False

    def barred_by_limit(self, g: int, slack: float) -> bool:
        """Whether a run itself passes a limit: one in days on its day, whenever the next run is."""
        if not self.position.limited:
            return False
        for life, raw in zip(self.position.lives, self.raw, strict=True):
            more = 0.0 if life.by_openings or life.by_days else life.raw[g + 1] - life.raw[g]
            if life.binds_to[g + 1] > g and raw > 0 and raw + more > life.limit * (1 + slack):
                return True
        return False

    def worn_share(self) -> float:
        """The largest share that any life or limit has used."""
        shares = [0.0]
        for life, age, raw in zip(self.position.lives, self.ages, self.raw, strict=True):
            shares += [age / (life.worn_at * self.factor), raw / life.limit]
        return max(shares)

    def balance(self, items: dict[str, Item], worn: float | None = None) -> int:
        """What is left of its cost above resale, and of its last step; at another worn share if one is given."""
        at, n = self.position, self.steps_done
        left = 1 - min(1.0, self.worn_share() if worn is None else worn)
        cost = max(0, self.value - items[self.item].resale * at.pieces)
        return half_up(cost * (left * at.factors[n] + at.ahead[n]) / at.whole[n] + self.worked * left)

    def soon_seen(self) -> bool:
        """Whether it is so near the end of a life that a look can see it coming."""
        return any(
            life.warning > 0 and age >= end * (1 - life.warning)
            for life, age, end in zip(self.position.lives, self.ages, self.ends, strict=True)
        )

    def count_opening(self) -> bool:
        """One more opening that it stays in for; whether that ages it."""
        for n, life in enumerate(self.position.lives):
            if life.by_openings:
                self.ages[n] += 1
                self.raw[n] += 1
        return any(life.by_openings for life in self.position.lives)

    def draw(self, carrier: str, draws: Draws | None) -> None:
        """Gives every life an end, later than its age."""
        if draws is None:
            return
        for n, life in enumerate(self.position.lives):
            if life.scale < math.inf:
                u = draws.uniform(LIFE, (carrier, *self.position.names, life.name), self.number)
                self.ends[n] = drawn_life(life, self.factor, self.ages[n], u)

    def mend(self) -> None:
        self.broken = self.damaged = self.wrecked = False


@dataclass(slots=True)
class Carrier:
    """An engine, or the car. Hours count from the season's first run; `since` is use since each level was done.

    It leaves the workshop at `ready_at`, if it was there when the books opened.
    """

    name: str
    on_car: bool
    sets: dict[str, Installed]
    since: dict[str, list[float]]
    strikes_in: list[float]
    strikes: list[int]
    idle_since: float
    ready_at: float
    used: float
    overdue: set[tuple[str, int]]
    more_hours: float = 0.0
    held: bool = False
    held_if_other: bool = False

    def sets_on(self, ladder: str) -> list[Installed]:
        return [found for found in self.sets.values() if found.position.ladder == ladder]


def carriers_at_opening(work: Work, draws: Draws | None) -> dict[str, Carrier]:
    """Every carrier as it stands when the books open; where lives are drawn, they are drawn given their age."""
    opening = work.json["opening"]
    names = [*work.engines, work.car]
    since: dict[str, dict[str, list[float]]] = {name: {} for name in names}
    overdue: dict[str, set[tuple[str, int]]] = {name: set() for name in names}
    for row in opening["levels"]:
        counted = since[row["carrier"]].setdefault(row["ladder"], [])
        if row["overdue"]:
            overdue[row["carrier"]].add((row["ladder"], len(counted)))
        counted.append(row["since"])
    sets: dict[str, dict[str, Installed]] = {name: {} for name in names}
    for row in sorted(opening["positions"], key=lambda row: str(row["position"])):
        position = work.positions[row["position"]]
        ages, raw = [one["age"] for one in row["ages"]], [one["raw"] for one in row["ages"]]
        ends = [math.inf] * len(ages)
        found = Installed(position, row["item"], row["value"], row["worked"], row["steps_done"], ages, raw, ends)
        found.broken, found.number = row["broken"], row["installed"]
        found.draw(row["carrier"], draws)
        sets[row["carrier"]][position.name] = found
    return {
        row["carrier"]: Carrier(
            name=row["carrier"],
            on_car=row["carrier"] == work.car,
            sets=sets[row["carrier"]],
            since=since[row["carrier"]],
            strikes_in=_strikes(work, row["carrier"], draws),
            strikes=[0] * len(work.hazards),
            idle_since=long_ago(row["idle_since"]),
            ready_at=long_ago(row["ready_at"]),
            used=row["total_use"],
            overdue=overdue[row["carrier"]],
        )
        for row in opening["carriers"]
    }


def long_ago(hours: float | None) -> float:
    """A time of the JSON; null is long before the first run."""
    return -math.inf if hours is None else hours


def _strikes(work: Work, carrier: str, draws: Draws | None) -> list[float]:
    """Use until each hazard strikes; those of other carriers never do."""
    return [
        use_to_strike(hazard, carrier, 0, draws)
        if draws is not None and hazard.on_car == (carrier == work.car)
        else math.inf
        for hazard in work.hazards
    ]


def use_to_strike(hazard: Hazard, carrier: str, strikes: int, draws: Draws) -> float:
    return -hazard.mean * math.log(draws.uniform(HAZARD, (carrier, hazard.name), strikes))
