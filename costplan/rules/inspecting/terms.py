"""What there is to inspect with, and what opening a car or its engine takes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from costplan.rules.checklist import CARRIERS, CheckLine

#: Minutes that an inspector stands by for each level on the way down, where none are stated; a guess.
OPENING = 30


@dataclass(frozen=True, slots=True)
class Terms:
    """What there is to inspect with.

    `minutes`: of each inspector; `each_car`: what a car takes before anything is looked at; `opening`: by service
    level, the minutes that an inspector stands by until an engine is opened so far; `drawn`: per cent of all minutes
    that are kept for checks drawn by lot, by `seed`.
    """

    minutes: int
    inspectors: int = 1
    each_car: int = 0
    opening: Mapping[str, float] = field(default_factory=dict)
    drawn: int = 0
    seed: int = 0

    @property
    def chosen(self) -> int:
        """Whole minutes of each inspector that are not kept for drawing by lot."""
        return self.minutes * (100 - self.drawn) // 100

    @property
    def pool(self) -> int:
        return self.minutes * self.inspectors


@dataclass(frozen=True, slots=True)
class Opening:
    """Whole minutes that an inspector stands by until a car or its engine is opened to a level; assumed or stated.

    Hours of levels.csv hold travel and queue, and labour is money, so neither gives them.
    """

    level: str
    carrier: str
    rank: int
    minutes: int
    assumed: bool


def openings_of(lines: Iterable[CheckLine], stated: Mapping[str, float]) -> dict[str, Opening]:
    """By level, the minutes to open to it: as stated, else so many a level; deeper never takes less."""
    levels = {(CARRIERS.index(line.carrier), line.rank, line.level) for line in lines if line.level}
    found: dict[str, Opening] = {}
    most = dict.fromkeys(range(len(CARRIERS)), 0)
    for carrier, rank, level in sorted(levels):
        most[carrier] = max(most[carrier], whole_minutes(stated.get(level, OPENING * rank)))
        found[level] = Opening(level, CARRIERS[carrier], rank, most[carrier], level not in stated)
    return found


def whole_minutes(minutes: float) -> int:
    """Whole minutes, begun ones counted.

    >>> whole_minutes(4), whole_minutes(4.2)
    (4, 5)
    """
    return -int(-minutes // 1)
