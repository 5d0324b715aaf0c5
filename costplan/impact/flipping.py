"""Which assumption, if it is a fifth wrong, turns a cost of the field into a saving or the reverse.

Each is moved alone, a fifth down and a fifth up, for some entrants of each group, on both sides and on the same draws.
What the field's total moves by is what theirs moves by, times their numbers.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import partial

import numpy as np

from costplan.impact.adding import Books
from costplan.impact.ages import as_it_is, entrants_of
from costplan.impact.costing import cost_of
from costplan.impact.drawing import Asked, Member, Played, play_members, season_now
from costplan.impact.field import Crowd, FieldOfEntrants
from costplan.impact.figures import ChangeImpact
from costplan.impact.sides import side_of
from costplan.impact.ways import GroupWays, Way
from costplan.rules import Pack
from costplan.season import machine
from costplan.season.drawn.comparing import FIFTH, PRICES, WORK, general_inputs
from costplan.season.drawn.drawing import QUIET, Watch


@dataclass(frozen=True, slots=True)
class Flip:
    """An assumption, and what a change costs the field over the years where it is a fifth lower and a fifth higher.

    The errors are those of the move from the cost as studied. `at`: the factor on it at which the cost is zero, by the
    line between the nearest of the three; None where that is not within a fifth.
    """

    assumption: str
    lower: Decimal
    lower_error: Decimal
    higher: Decimal
    higher_error: Decimal
    at: float | None

    @property
    def flips(self) -> bool:
        return self.at is not None

    @property
    def error(self) -> Decimal:
        """The larger of the two."""
        return max(self.lower_error, self.higher_error)

    @property
    def least(self) -> Decimal:
        """The lower of the two ends."""
        return min(self.lower, self.higher)

    @property
    def most(self) -> Decimal:
        return max(self.lower, self.higher)

    @property
    def swing(self) -> Decimal:
        """How far the ends are apart."""
        return abs(self.higher - self.lower)


@dataclass(frozen=True, slots=True)
class Flips:
    """The assumptions of a change, those that flip it first, then those that move it most; `over` as it is studied."""

    file: str
    name: str
    over: Decimal
    assumptions: tuple[Flip, ...]

    @property
    def flipping(self) -> int:
        """How many flip it alone."""
        return sum(one.flips for one in self.assumptions)


@dataclass(frozen=True, slots=True)
class Scale:
    """Factors on what is paid and got once, on the rate of discount, and on the number of a group's entrants."""

    bought: float = 1.0
    level: float = 1.0
    sold: float = 1.0
    rise: float = 1.0
    rate: float = 1.0
    group: str = ""
    number: float = 1.0


PLAIN = Scale()
#: How many entrants of a group are asked.
SOME = 4
#: Those of each group, by its name.
Members = Mapping[str, tuple[Member, ...]]
#: By change and group, what it costs each of its entrants who are asked over the years, minor units; and their number.
Totals = Sequence[Mapping[str, tuple[machine.Floats, float]]]
#: An assumption with the totals where it is a fifth lower and a fifth higher.
Move = tuple[str, Totals, Totals]


@dataclass(frozen=True)
class Flipper:
    """Moves the assumptions of a study, one by one; of `groups` only how they comply is looked at."""

    field: FieldOfEntrants
    groups: tuple[GroupWays, ...]
    asked: Asked

    def flips(self, changes: Sequence[ChangeImpact], watch: Watch = QUIET) -> tuple[Flips, ...]:
        """Of every change, what its assumptions do. Interrupted, it raises KeyboardInterrupt."""
        members = {one.crowd.name: tuple(self._some(one)) for one in self.groups}
        plain = play_members(self.groups, members, self.asked, None, watch)
        base = self._totals(plain, PLAIN)
        moved = [(name, *both) for name, both in self._moves(plain, members, watch)]
        return tuple(self._of(change, number, base, moved) for number, change in enumerate(changes))

    def _some(self, group: GroupWays, by: float = 1.0) -> Iterator[Member]:
        """Some entrants of a group; `by`: how much older what they have is."""
        now = season_now(group)
        for entrant in entrants_of(group.crowd, now, self.asked.seed)[:SOME]:
            if entrant.shares is not None and by != 1.0:
                entrant = replace(
                    entrant, shares={name: min(1.0, share * by) for name, share in entrant.shares.items()}
                )
            yield Member(entrant, as_it_is(now, entrant))

    def _of(self, change: ChangeImpact, number: int, base: Totals, moved: Sequence[Move]) -> Flips:
        """The assumptions of one change, by what each moves its total."""
        books, over = Books(self.field), change.total.over.mean
        found = []
        for name, *ends in moved:
            (low, low_error), (high, high_error) = (_shift(base[number], end[number]) for end in ends)
            lower, higher = over + books.money(low), over + books.money(high)
            if lower != over or higher != over:
                at = zero_at(float(lower), float(over), float(higher))
                found.append(Flip(name, lower, books.money(low_error), higher, books.money(high_error), at))
        found.sort(key=lambda one: (not one.flips, -one.swing))
        return Flips(change.file, change.name, over, tuple(found))

    def _moves(
        self, plain: Sequence[Played], members: Members, watch: Watch
    ) -> Iterator[tuple[str, tuple[Totals, Totals]]]:
        """Every assumption with the totals at both ends."""
        for name, scales in self._scales():
            yield name, (self._totals(plain, scales(1 - FIFTH)), self._totals(plain, scales(1 + FIFTH)))
        for name, change in self._inputs():
            yield name, self._both(partial(self._with_change, name, change, members, watch))
        if any(self._speeds_differ(one) for one in self.groups):
            yield "how far speeds follow the limiter", self._both(partial(self._with_speed, members, watch))
        if any(one.crowd.ages for one in self.groups):
            yield "ages of what is on hand", self._both(partial(self._with_ages, watch))

    def _both(self, at: Callable[[float], Totals]) -> tuple[Totals, Totals]:
        return at(1 - FIFTH), at(1 + FIFTH)

    def _scales(self) -> Iterator[tuple[str, Callable[[float], Scale]]]:
        """What is only reckoned with, not played."""
        yield "what parts sell for", lambda by: Scale(sold=by)
        yield "rate of discount", lambda by: Scale(rate=by)
        if any(under.complying and under.complying.rises for one in self.groups for under in one.changed):
            yield "price rises of sole sellers", lambda by: Scale(rise=by)
        for group in self.groups:
            yield f"number of {group.crowd.name}", partial(_numbers, group.crowd.name)

    def _inputs(self) -> Iterator[tuple[str, Callable[[machine.Problem, float], machine.Problem]]]:
        """The inputs of the machine that any group has."""
        found: dict[str, Callable[[machine.Problem, float], machine.Problem]] = {}
        for group in self.groups:
            for name, change in general_inputs(season_now(group).problem):
                found.setdefault(name, change)
        yield from found.items()

    def _with_change(
        self,
        name: str,
        change: Callable[[machine.Problem, float], machine.Problem],
        members: Members,
        watch: Watch,
        by: float,
    ) -> Totals:
        scale = Scale(bought=by) if name == PRICES else Scale(level=by) if name == WORK else PLAIN
        return self._totals(
            play_members(self.groups, members, self.asked, lambda problem: change(problem, by), watch), scale
        )

    def _with_speed(self, members: Members, watch: Watch, by: float) -> Totals:
        groups = tuple(self._at_speed(one, self.field.study.rpm_follows * by) for one in self.groups)
        return self._totals(play_members(groups, members, self.asked, None, watch), PLAIN)

    def _with_ages(self, watch: Watch, by: float) -> Totals:
        members = {one.crowd.name: tuple(self._some(one, by)) for one in self.groups}
        return self._totals(play_members(self.groups, members, self.asked, None, watch), PLAIN)

    def _speeds_differ(self, group: GroupWays) -> bool:
        """Whether some answer lets the engine turn at another speed than today's."""
        there = self._at_speed(group, 0.5).changed
        return any(one.complying is not under.complying for one, under in zip(there, group.changed, strict=True))

    def _at_speed(self, group: GroupWays, follows: float) -> GroupWays:
        """A group whose speeds follow so far."""
        both = zip(self.field.proposals, group.changed, strict=True)
        changed = (
            replace(under, complying=_way_at_speed(under.complying, group.crowd, one.packs, follows))
            for one, under in both
        )
        return replace(group, changed=tuple(changed))

    def _totals(self, played: Sequence[Played], scale: Scale) -> Totals:
        """What each change costs the entrants who are asked."""
        return [
            {one.ways.crowd.name: self._of_group(one, number, scale) for one in played}
            for number in range(len(self.field.proposals))
        ]

    def _of_group(self, played: Played, number: int, scale: Scale) -> tuple[machine.Floats, float]:
        crowd, today, under = played.ways.crowd, played.ways.today, played.ways.changed[number]
        entrants = crowd.count * (scale.number if crowd.name == scale.group else 1.0)
        before, after = today.complying, under.complying
        if before is None or after is None:
            return np.zeros(len(played.members)), entrants
        once = self._once(after, scale) - self._once(before, scale)
        rate = self.field.study.discount * scale.rate
        costs = [cost_of(one.of(before), one.of(after), once, (rate,)).over[0].mean for one in played.members]
        rises = {part: rise * scale.rise for part, rise in after.rises.items()}
        more = Books(self.field).later_purchases(played, after, rises) if scale.rise != 1.0 else 0.0
        return np.array(costs) + more, entrants

    def _once(self, way: Way, scale: Scale) -> float:
        """What a way costs once, scaled, minor units."""
        books, haircut = Books(self.field), self.field.study.haircut
        rises = {part: rise * scale.rise for part, rise in way.rises.items()}
        factors = {"sold": scale.sold, "level": scale.level}
        amounts = (
            way.answer.amount(line, haircut, rises) * Decimal(repr(factors.get(line.what, scale.bought)))
            for line in way.answer.lines
        )
        return books.minor(sum(amounts, Decimal(0)))


def _shift(
    base: Mapping[str, tuple[machine.Floats, float]], moved: Mapping[str, tuple[machine.Floats, float]]
) -> tuple[float, float]:
    """What a total moves by, with its standard error: of each group's mean, by the moves of those who were asked."""
    total, squares = 0.0, 0.0
    for name, (before, number) in base.items():
        after, then = moved[name]
        moves = after * then - before * number
        total += float(moves.mean())
        squares += float(moves.var(ddof=1)) / len(moves) if len(moves) > 1 else 0.0
    return total, math.sqrt(squares)


def _way_at_speed(way: Way | None, crowd: Crowd, packs: tuple[Pack, ...], follows: float) -> Way | None:
    """A way with speeds that follow so far; itself where they do not differ."""
    side, _ = side_of(crowd, way.answer, packs, follows) if way is not None else (None, ())
    if way is None or side is None or (side.season.problem.duty == way.side.season.problem.duty).all():
        return way
    return replace(way, side=side)


def _numbers(group: str, by: float) -> Scale:
    return Scale(group=group, number=by)


def bare(group: GroupWays) -> GroupWays:
    """A group with what complying costs alone."""
    today, *changed = (replace(under, spending=None, wearing=None) for under in (group.today, *group.changed))
    return replace(group, today=today, changed=tuple(changed))


def zero_at(lower: float, plain: float, higher: float) -> float | None:
    """The factor from 0.8 to 1.2 at which a cost is zero, by lines between its three values; the one nearest 1.

    >>> zero_at(10.0, 5.0, -5.0)
    1.1
    >>> zero_at(10.0, 5.0, 1.0) is None
    True
    """
    found = []
    for end, by in ((lower, -FIFTH), (higher, FIFTH)):
        if (end > 0) != (plain > 0) and end != plain:
            found.append(1 + by * plain / (plain - end))
    return min(found, key=lambda factor: abs(factor - 1), default=None)
