"""A side of the comparison: a group's season under a book, its engines as they answer it, and how each entrant begins.

Entrants of a group are alike but for the ages of what they have. Where a range of ages is given, the share of its
renewal use that a thing has run is drawn for each entrant and thing, by a number that is hashed from their names: so it
is the same on every side, and one entrant more draws nothing else for the others. Of a thing the entrants' ages are
spread evenly over the range, so that a few of them show what many would. What a level renews every time is as
old as that level's last opening.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from hashlib import blake2b

import numpy as np

from costplan.formulas.rollup import triangular_percentile
from costplan.impact.answers import Answer, Swap
from costplan.impact.field import Crowd
from costplan.impact.records import Range
from costplan.impact.speed import at_speed, limiter_of, speed_factor
from costplan.problems import Problem
from costplan.rules import Pack
from costplan.season import CAR, Season, machine
from costplan.season.names import LADDERS

#: By carrier and position or level, the share of its renewal use, or of its interval, that is run on opening day.
Shares = Mapping[tuple[str, str], float]


@dataclass(frozen=True, slots=True)
class Side:
    """A group's season under a book, compiled; `now` is its season as it is, the same for all sides.

    `swapped`: the positions, each with its carrier, that have a new part in when the books open; `lasting`: those whose
    old part stays until it is renewed; `gone`: those whose part is put out, where nothing stands any more too.
    """

    crowd: Crowd
    answer: Answer
    season: Season
    now: Season
    swapped: frozenset[tuple[str, str]]
    lasting: frozenset[tuple[str, str]]
    gone: frozenset[tuple[str, str]]


def side_of(
    crowd: Crowd, answer: Answer, packs: tuple[Pack, ...], follows: float, *, worn_out: bool = False
) -> tuple[Side | None, tuple[Problem, ...]]:
    """A side, or why its season cannot be.

    `follows`: how far mean speeds follow where the ignition cuts out. Where parts wear out first they do not: what
    holds the speed is in use for years.
    """
    scenario = crowd.scenario
    swaps = [swap for swap in answer.swaps if not swap.turn]
    turns = [replace(swap, slot=f"{swap.slot}/{swap.turn}") for swap in answer.swaps if swap.turn]
    keeps_speed = worn_out and any(swap.slot == limiter_of(scenario.built()) for swap in swaps)
    factor = 1.0 if keeps_speed else speed_factor(scenario.built(), answer.build, follows)
    there = scenario
    if answer.swaps or answer.shelf or packs != scenario.packs or factor != 1.0:
        there = replace(
            scenario,
            build=answer.build,
            garage=() if crowd.row.joins else answer.garage,
            packs=packs,
            files=at_speed(scenario.files, factor),
            compiled=None,
        )
    season, problems = there.season()
    if season is None:
        return None, problems
    now, problems = scenario.season()
    if now is None:
        return None, problems
    new = [swap for swap in swaps if not swap.piece and not (worn_out or swap.anyway)]
    old = [swap for swap in swaps if swap not in new and not swap.piece]
    moved = [swap for swap in swaps if swap.piece]
    gone = _of_carriers(crowd, [*new, *moved, *([] if worn_out else turns)])
    return Side(crowd, answer, season, now, _of_carriers(crowd, new), _of_carriers(crowd, old), gone), ()


def _of_carriers(crowd: Crowd, swaps: Iterable[Swap]) -> frozenset[tuple[str, str]]:
    """The slots of swaps with each carrier that has them: the car, or every engine that is owned."""
    return frozenset(
        (owner, swap.slot) for swap in swaps for owner in ((CAR,) if swap.carrier == CAR else crowd.engines)
    )


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
    return _begun(now, entrant, frozenset())


def beginning(side: Side, entrant: Entrant, now: Season) -> Season:
    """The season of a side as an entrant begins it; `now`: what it would begin with as it is."""
    begun = _begun(side.season, entrant, side.swapped | side.lasting)
    start = begun.start._replace(value=begun.start.value.copy())
    for c, carrier, p, spot in begun.positions():
        if (carrier, spot.slot) in side.lasting:
            _take_over(now, begun, start, c, p)
    return replace(begun, start=start)


def _begun(season: Season, entrant: Entrant, new: frozenset[tuple[str, str]]) -> Season:
    """A season with an entrant's ages in all but what is new in it."""
    if entrant.shares is None:
        return season
    start = season.start
    start = start._replace(age=start.age.copy(), raw_age=start.raw_age.copy(), since=start.since.copy())
    _set_levels(season, start, entrant.shares)
    for c, carrier, p, spot in season.positions():
        if (carrier, spot.slot) not in new:
            _set_age(season, start, c, p, _share(season, entrant.shares, carrier, spot.slot))
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


def _set_age(season: Season, start: machine.State, c: int, p: int, share: float) -> None:
    """Lets a position have run a share of its renewal use, in all its measures; what is dated keeps its days."""
    problem = season.problem
    factor = float(problem.step_factor[p, start.step[c, p]])
    lives = season.lives(p)
    for j in list(lives)[: len(lives) - len(season.spots[p].dated)]:
        end = min(problem.due_at[j], problem.worn_at[j]) * factor
        if np.isfinite(end):
            start.age[c, j] = share * end
            start.raw_age[c, j] = min(problem.limit[j], share * end)


def _take_over(now: Season, begun: Season, start: machine.State, c: int, p: int) -> None:
    """An old part that stays until it is renewed: as worn as it is, at what it cost; it wears on as a new one would."""
    q = [spot.slot for spot in now.spots].index(begun.spots[p].slot)
    _set_age(begun, start, c, p, machine.worn_share(now.problem, now.start, c, q))
    start.value[c, p] = now.start.value[c, q]


def stranded_of(side: Side, today: Side, now: Season, later: float = 0.0) -> dict[str, int]:
    """What is left of each part that a book puts out and `today`'s does not, minor units, before any of it is sold:
    unused life above the resale, the resale, and what lies on the shelf for no use.

    `now`: the season as its entrant would begin it as it is; `later`: after so much of a season more, in which what
    is up is renewed as ever.
    """
    found: dict[str, int] = {}
    gone = side.gone - today.gone
    for c, carrier, p, spot in now.positions() if not side.crowd.row.joins else ():
        if (carrier, spot.slot) in gone:
            item = now.items[int(now.start.item[c, p])]
            left = _left_later(now, c, p, later) + spot.pieces * item.resale
            found[item.name] = found.get(item.name, 0) + left
    for part, value in shelf_values(side.answer, today.answer).items():
        found[part] = found.get(part, 0) + value
    return found


def _left_later(now: Season, c: int, p: int, later: float) -> int:
    """The balance of a position after so much of a season more."""
    problem, start = now.problem, now.start
    if not later:
        return int(machine.left_of(problem, start, c, p))
    aged = start._replace(age=start.age.copy(), raw_age=start.raw_age.copy())
    for j in now.lives(p):
        aged.age[c, j] += later * float(problem.duty[-1, j])
        aged.raw_age[c, j] += later * float(problem.raw[-1, j])
    share = machine.worn_share(problem, aged, c, p) % 1.0
    item, step = start.item[c, p], start.step[c, p]
    return int(machine.balance(problem, p, item, step, start.value[c, p], start.worked[c, p], share))


def shelf_values(answer: Answer, today: Answer) -> dict[str, int]:
    """What lies on the shelf for no use under an answer's book and not under today's, by part, minor units."""
    return {part: value for part, value in answer.shelf.items() if part not in today.shelf}
