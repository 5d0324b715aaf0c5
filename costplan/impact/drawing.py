"""The seasons that a study draws: of every entrant, of every way of its group, on draws that are the same on all."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from costplan.impact.ages import Entrant, as_it_is, entrants_of
from costplan.impact.playing import Change, Crew, Play
from costplan.impact.ways import GroupWays, Way
from costplan.season import Season
from costplan.season.drawn.drawing import QUIET, Watch
from costplan.season.drawn.years import YearDraws

#: Of spending and of wear, of which only the difference to complying counts, one in so many seasons is drawn.
SHORT = 10


@dataclass(frozen=True, slots=True)
class Asked:
    """How much is drawn: `seasons` for each entrant on each side, as chains of `years`, by a seed."""

    seasons: int
    years: int
    seed: int

    @property
    def chains(self) -> int:
        """Runs of several years, whose seasons come to no fewer than were asked for."""
        return max(2, -(-self.seasons // self.years))

    @property
    def short(self) -> int:
        """Chains where fewer do."""
        return max(2, self.chains // SHORT)


@dataclass(frozen=True, slots=True)
class Member:
    """An entrant as it begins today, with its draws by way."""

    entrant: Entrant
    now: Season
    draws: dict[int, YearDraws] = field(default_factory=dict)

    def of(self, way: Way) -> YearDraws:
        """Its seasons on a way."""
        return self.draws[id(way)]


@dataclass(frozen=True, slots=True)
class Played:
    """A group with its entrants' seasons."""

    ways: GroupWays
    members: tuple[Member, ...]


def play_field(groups: Iterable[GroupWays], asked: Asked, watch: Watch = QUIET) -> tuple[Played, ...]:
    """Plays every entrant on every way of its group; groups that are still being asked are played as they come.

    Interrupted, it raises KeyboardInterrupt.
    """
    return _played((Played(one, tuple(_members(one, asked.seed))) for one in groups), asked, watch, None)


def play_members(
    groups: Iterable[GroupWays],
    members: Mapping[str, Sequence[Member]],
    asked: Asked,
    change: Change | None,
    watch: Watch = QUIET,
) -> tuple[Played, ...]:
    """Plays some entrants of each group, by the group's name, with something changed on every way."""
    found = (Played(one, tuple(map(_again, members[one.crowd.name]))) for one in groups)
    return _played(found, asked, watch, change)


def _again(member: Member) -> Member:
    """The same entrant, not yet played."""
    return Member(member.entrant, member.now)


def _members(group: GroupWays, seed: int) -> Iterator[Member]:
    now = season_now(group)
    for entrant in entrants_of(group.crowd, now, seed):
        yield Member(entrant, as_it_is(now, entrant))


def season_now(group: GroupWays) -> Season:
    """The season of a group as it is, before any answer."""
    if group.crowd.scenario.compiled is None:
        raise ValueError("a group is read with its season")
    return group.crowd.scenario.compiled


def _played(groups: Iterable[Played], asked: Asked, watch: Watch, change: Change | None) -> tuple[Played, ...]:
    """Plays what is to be played, what is alike once, and notes it for all ways that it is of."""
    found: list[Played] = []
    takers: list[tuple[Member, list[Way]]] = []
    with Crew(watch) as crew:
        for group in groups:
            found.append(group)
            for same, full in _kinds(group.ways):
                count = asked.chains if full else asked.short
                for member in group.members:
                    crew.take([_play(same[0], member, count, asked, change)])
                    takers.append((member, same))
        for drawn, (member, same) in zip(crew.all(), takers, strict=True):
            member.draws.update((id(way), drawn) for way in same)
    return tuple(found)


def _play(way: Way, member: Member, count: int, asked: Asked, change: Change | None) -> Play:
    return Play(way.side, member.entrant, member.now, count, asked.years, asked.seed, way.rises, change)


def _kinds(ways: GroupWays) -> list[tuple[list[Way], bool]]:
    """The ways of a group, those together whose seasons are the same, and whether all seasons are drawn of them."""
    found: list[tuple[list[Way], bool]] = []
    for under in (ways.today, *ways.changed):
        for way, full in ((under.complying, True), (under.spending, False), (under.wearing, False)):
            if way is None or any(one is way for same, _ in found for one in same):
                continue
            at = next((n for n, (same, _) in enumerate(found) if alike(same[0], way)), None)
            if at is None:
                found.append(([way], full))
            else:
                found[at] = ([*found[at][0], way], found[at][1] or full)
    return found


def alike(one: Way, other: Way) -> bool:
    """Whether two ways play the same seasons: the same problem, the same beginning, the same prices."""
    a, b = one.side, other.side
    if (a.swapped, a.lasting, dict(one.rises)) != (b.swapped, b.lasting, dict(other.rises)):
        return False
    return _same(a.season.problem, b.season.problem) and _same(a.season.start, b.season.start)


def _same(one: tuple[object, ...], other: tuple[object, ...]) -> bool:
    return all(
        np.array_equal(a, b) if isinstance(a, np.ndarray) and isinstance(b, np.ndarray) else a == b
        for a, b in zip(one, other, strict=True)
    )
