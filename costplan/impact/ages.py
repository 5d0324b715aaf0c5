"""How worn what an entrant has is when the books open.

Where a range of ages is given, the share of its renewal use that a thing has run is drawn for each entrant and thing,
by a number that is hashed from their names: so it is the same on every side, and one entrant more draws nothing else
for the others. Of a thing the entrants' ages are spread evenly over the range, so that a few of them show what many
would. What a level renews every time is as old as that level's last opening.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from hashlib import blake2b

import numpy as np

from costplan.formulas.rollup import triangular_percentile
from costplan.impact.field import Crowd
from costplan.impact.old_parts import set_worn
from costplan.impact.records import Range
from costplan.season import CAR, Season, machine
from costplan.season.names import LADDERS

#: By carrier and position or level, the share of its renewal use, or of its interval, that is run on opening day.
Shares = Mapping[tuple[str, str], float]


@dataclass(frozen=True, slots=True)
class Entrant:
    """One of a group, by its number in it: what it begins with. `shares` None: as garage.csv has it."""

    group: str
    number: int
    shares: Shares | None


def entrants_of(crowd: Crowd, now: Season, seed: int) -> tuple[Entrant, ...]:
    """The likely number of entrants, each with its own ages; `now`: the group's season as it is."""
    return tuple(Entrant(crowd.name, number, _shares(crowd, now, seed, number)) for number in range(crowd.count))


def _shares(crowd: Crowd, now: Season, seed: int, number: int) -> Shares | None:
    if crowd.ages is None or crowd.row.joins:
        return None
    ages = crowd.ages
    return {name: _drawn(ages, spread_evenly(number, seed, "age", crowd.name, *name)) for name in _things(now)}


def _things(season: Season) -> Iterator[tuple[str, str]]:
    """The positions and levels, each with its carrier, that may have run when the books open."""
    for _, carrier, _, spot in season.positions():
        yield carrier, spot.slot
    for _, carrier, _, name in _levels(season):
        yield carrier, name


def _levels(season: Season) -> Iterator[tuple[int, str, tuple[int, int], str]]:
    """The levels of every carrier: its number and name, ladder and level, and the level's name."""
    for c, carrier in enumerate(season.carriers):
        for ladder, steps in enumerate(season.ladders):
            if LADDERS[ladder].startswith(CAR) == (carrier == CAR):
                for level, step in enumerate(steps):
                    yield c, carrier, (ladder, level), f"level {step.level}"


def uniform(seed: int, *names: str) -> float:
    """A number from 0 to 1 that names and a seed decide, by BLAKE2b (RFC 7693)."""
    text = "\x1f".join((str(seed), *names)).encode()
    return int.from_bytes(blake2b(text, digest_size=8).digest(), "big") / 2**64


#: Halvings by which numbers are spread evenly: 2^7 of them before chance alone decides.
HALVINGS = 7


def spread_evenly(number: int, seed: int, *names: str) -> float:
    """The number-th of a row of numbers from 0 to 1 that names and a seed decide: random, and spread evenly.

    The van der Corput sequence in base 2 with its digits scrambled at random, nested (Owen 1995, from memory): of the
    first 2^k numbers one lies in each of 2^k equal parts, each number is uniform, and rows of other names are
    independent of it.

    >>> parts = [int(8 * spread_evenly(number, 1, "a")) for number in range(8)]
    >>> sorted(parts)
    [0, 1, 2, 3, 4, 5, 6, 7]
    """
    found: float = 0.0
    before = ""
    for place in range(HALVINGS):
        digit = number >> place & 1
        turned = digit ^ int(uniform(seed, *names, before) < 0.5)
        found += turned * 0.5 ** (place + 1)
        before += str(digit)
    return found + uniform(seed, *names, "rest", str(number)) * 0.5**HALVINGS


def _drawn(ages: Range, u: float) -> float:
    """A share between the lowest and the highest, most often near the likely one: triangular."""
    low, likely, high = (float(value) for value in (ages.low, ages.likely, ages.high))
    return triangular_percentile(u, low, likely, high) if low < high and 0 < u < 1 else low


def as_it_is(now: Season, entrant: Entrant) -> Season:
    """The season of a group as an entrant begins it before any change."""
    return aged(now, entrant, frozenset())


def aged(season: Season, entrant: Entrant, new: frozenset[tuple[str, str]]) -> Season:
    """A season with an entrant's ages in all but what is new in it."""
    if entrant.shares is None:
        return season
    start = season.start
    start = start._replace(age=start.age.copy(), raw_age=start.raw_age.copy(), since=start.since.copy())
    _set_levels(season, start, entrant.shares)
    for c, carrier, p, spot in season.positions():
        if (carrier, spot.slot) not in new:
            set_worn(season, start, c, p, _share(season, entrant.shares, carrier, spot.slot))
    return replace(season, start=start)


def _share(season: Season, shares: Shares, carrier: str, position: str) -> float:
    """What share of its renewal use a position has run: as its level's last opening where that renews it each time."""
    for interval, name in _renewed_by(season, position):
        if np.isfinite(interval):
            return shares[carrier, name]
    return shares[carrier, position]


def _renewed_by(season: Season, position: str) -> Iterator[tuple[float, str]]:
    """The lowest level with an interval that renews a position every time: that interval and the level's name."""
    for ladder, steps in enumerate(season.ladders):
        for level, step in enumerate(steps):
            if step.row is not None and position in step.row.renews:
                yield float(season.problem.interval[ladder, level]), f"level {step.level}"


def _set_levels(season: Season, start: machine.State, shares: Shares) -> None:
    """The use since each level: its share of the interval, and no more than that since a higher one."""
    intervals = season.problem.interval
    for c, carrier, (ladder, level), name in reversed(list(_levels(season))):
        interval = intervals[ladder, level]
        if np.isfinite(interval):
            above = [
                start.since[c, ladder, higher]
                for higher in range(level + 1, len(season.ladders[ladder]))
                if np.isfinite(intervals[ladder, higher])
                and season.problem.measure[ladder, higher] == season.problem.measure[ladder, level]
            ]
            start.since[c, ladder, level] = min([shares[carrier, name] * interval, *above])
