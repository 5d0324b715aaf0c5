"""The shelf: new pieces that are left, used sets of the garage, and what is bought when they do not do."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import pairwise

from tests.season_model.carriers import Installed, half_up, share
from tests.season_model.reading import Kit, Position, Work

#: Pays a sum with a cause.
Pay = Callable[[str, int], None]
#: Told, with the cause, in how many hours something that was bought can be there.
Await = Callable[[str, float], None]


@dataclass(frozen=True, slots=True)
class UsedSet:
    item: str
    pieces: int
    value: int
    steps_done: int
    ages: dict[str, tuple[float, ...]]

    def installed_as(self, position: Position, days: float) -> Installed:
        """As it would sit in a position; a life by a dated paper has run on for so many days on the shelf."""
        lives = zip(position.lives, self.ages[position.name], strict=True)
        ages = [age + days if life.dated else age for life, age in lives]
        worked = position.steps[self.steps_done - 1].cost if self.steps_done else 0
        endless = [float("inf")] * len(ages)
        return Installed(position, self.item, self.value, worked, self.steps_done, ages, list(ages), endless)


@dataclass(slots=True)
class Shelf:
    """What is on the shelf, as pieces and their value by item."""

    work: Work
    pieces: dict[str, int] = field(default_factory=dict)
    value: dict[str, int] = field(default_factory=dict)
    used: list[UsedSet] = field(default_factory=list)
    box_open: bool = False

    @classmethod
    def at_opening(cls, work: Work) -> Shelf:
        opening = work.json["opening"]
        used = []
        for row in opening["used_sets"]:
            ages: dict[str, tuple[float, ...]] = {}
            for one in row["ages"]:
                ages[one["position"]] = (*ages.get(one["position"], ()), one["age"])
            used.append(UsedSet(row["item"], row["pieces"], row["value"], row["steps_done"], ages))
        return cls(
            work,
            {row["item"]: row["pieces"] for row in opening["stock"]},
            {row["item"]: row["value"] for row in opening["stock"]},
            used,
        )

    def best_used(self, position: Position, item: str, g: int, h: int, taken: list[UsedSet]) -> UsedSet | None:
        """The most worn used set that would not fall due in runs g to h; `taken` are spoken for."""
        fit = []
        for one in self.used:
            if one.item == item and one.pieces >= position.pieces and one not in taken and position.name in one.ages:
                found = one.installed_as(position, self.days(g))
                if not found.due(g, h, self.work.slack):
                    fit.append((found.worn_share(), one))
        return max(fit, key=lambda pair: pair[0])[1] if fit else None

    def days(self, g: int) -> float:
        """Days since the first run."""
        runs = self.work.runs
        return float(runs[min(g, len(runs) - 1)].day - runs[0].day)

    def take(self, item: str, count: int, g: int, cause: str, pay: Pay, wait: Await) -> int:
        """Takes new pieces, buying what is short first, and gives their share of what those on the shelf cost."""
        made = self.work.items[item]
        packs = self.packs(item, max(0, count - self.free(item)), g)
        pay(cause, packs * made.prices[g])
        pay("deposit", packs * made.core)
        if packs:
            wait(cause, made.lead[g])
        self._move(item, packs * made.pack, packs * made.prices[g])
        value = self.value[item] * count // self.pieces[item]
        self._move(item, -count, -value)
        return value

    def free(self, item: str) -> int:
        """New pieces that may be taken now: what is kept in the box only while it is open."""
        kept = 0 if self.box_open else self.work.items[item].keep
        return max(0, self.pieces.get(item, 0) - kept)

    def packs(self, item: str, short: int, g: int) -> int:
        made = self.work.items[item]
        return max(made.least[g], -(-short // made.pack)) if short else 0

    def buy_kits(self, needed: dict[str, int], takes: list[tuple[str, str]], g: int, pay: Pay, wait: Await) -> None:
        """Buys the kit that saves most as long as one saves; what it holds goes on the shelf.

        `takes`: the causes and the items of what takes any, the strongest first; a kit has that of the first in it.
        """
        while True:
            savings = [(self._saves(kit, needed, g), -n) for n, kit in enumerate(self.work.kits)]
            best, number = max(savings, default=(0, 0))
            if best <= 0:
                return
            kit = self.work.kits[-number]
            cause = next(cause for cause, item in takes if item in kit.contains)
            wait(cause, kit.lead[g])
            self._buy_kit(kit, cause, g, pay)

    def _saves(self, kit: Kit, needed: dict[str, int], g: int) -> int:
        saved = -kit.prices[g]
        for item, count in kit.contains.items():
            short = max(0, needed.get(item, 0) - self.free(item))
            fewer = self.packs(item, short, g) - self.packs(item, max(0, short - count), g)
            saved += fewer * self.work.items[item].prices[g]
        return saved

    def _buy_kit(self, kit: Kit, cause: str, g: int, pay: Pay) -> None:
        items, price = self.work.items, kit.prices[g]
        pay(cause, price)
        apart = [-(-items[item].prices[g] * count // items[item].pack) for item, count in kit.contains.items()]
        ends = [half_up(price * sum(apart[:n]) / sum(apart)) for n in range(len(apart) + 1)]
        deposit = 0
        for (item, count), (low, high) in zip(kit.contains.items(), pairwise(ends), strict=True):
            self._move(item, count, high - low)
            deposit += share(items[item].core, count, items[item].pack)
        pay("deposit", deposit)

    def _move(self, item: str, count: int, value: int) -> None:
        self.pieces[item] = self.pieces.get(item, 0) + count
        self.value[item] = self.value.get(item, 0) + value


#: Causes of renewals, the strongest first.
STRENGTH = ("failure", "damage", "found", "planned", "early")
