"""Seasons drawn with boxes of spares on the same draws, each box once and only where a spare of it may matter."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from costplan.money import from_minor
from costplan.season import machine
from costplan.season.arrays import as_drawn
from costplan.season.deciding.asked import Asked, asked_in_these
from costplan.season.deciding.spares_answer import Gain
from costplan.season.deciding.spares_box import Box, cost_of, joined, less, with_box
from costplan.season.drawn.drawing import Draws, Single, draw_these
from costplan.season.drawn.figures import Chance, chance_of, difference_of, error_of
from costplan.season.drawn.stage import Stage
from costplan.season.names import Season


@dataclass(slots=True)
class Drawn:
    """What every season costs in the end with a box, its price paid and deposits left out, and the races missed.

    What costs the same in every season is left out too. A deposit on a spare is paid with it: it is the same deposit.
    """

    burden: machine.Floats
    misses: machine.Ints

    def like(self, other: Drawn) -> bool:
        """Whether every season is the same."""
        return bool((self.burden == other.burden).all() and (self.misses == other.misses).all())


def drawn_with(season: Season, single: Single, paid: int) -> Drawn:
    """Seasons with a box that so much was paid for. Money is added up whole, so that like seasons cost the same."""
    net = single.cash - single.left - single.deposits + paid
    return Drawn(net + season.result_worth * single.lost, single.misses)


def single_of(draws: Draws) -> Single:
    deposits, fixed = machine.CAUSES.index("deposit"), draws.fixed
    paid = draws.cause[:, deposits] - fixed.cause[deposits]
    return Single(draws.cash - fixed.total, draws.left, paid, draws.lost, draws.misses)


@dataclass(slots=True)
class Trials:
    """Seasons drawn with boxes, each box once, drawn on where more of them are asked for.

    Only those seasons are played with more in the box in which anything of it came late without; the others are as they
    were. They would differ by no more than by what pieces of unlike prices, as of a kit or after a change, are worth.
    """

    season: Season
    seed: int
    stage: Stage
    reading: Stage
    drawn: dict[Box, Drawn] = field(default_factory=dict)
    logs: dict[Box, Asked] = field(default_factory=dict)

    def take(self, box: Box, seasons: int) -> Drawn:
        """So many seasons with a box, or KeyboardInterrupt."""
        found = self.drawn.get(box)
        done = len(found.burden) if found else 0
        if done < seasons:
            there = self.known(box)
            more = less(box, there or ())
            like, touched = self.like(there, [item for item, _ in more], done, seasons)
            season = with_box(self.season, box)
            drawn = self.changed(season, like, touched, done, cost_of(self.season, box))
            found = self.drawn[box] = _after(found, drawn)
        assert found is not None  # noqa: S101 - drawn just now at the latest
        return Drawn(found.burden[:seasons], found.misses[:seasons])

    def known(self, box: Box) -> Box | None:
        """The largest box whose log is known and that another box holds all of; none for none."""
        held = dict(box)
        within = [one for one in self.logs if all(held.get(item, 0) >= count for item, count in one) and one != box]
        return max(within, key=lambda one: sum(count for _, count in one), default=None)

    def like(self, there: Box | None, items: Sequence[int], first: int, end: int) -> tuple[Drawn | None, machine.Ints]:
        """Seasons first .. end with a box, and those of them in which more of some items may matter."""
        if there is None or len(self.logs[there].bound) < end:
            return None, np.arange(first, end)
        like = self.take(there, end)
        return like, first + np.flatnonzero(comes_late(self.logs[there], items)[first:end])

    def changed(
        self,
        season: Season,
        like: Drawn | None,
        touched: machine.Ints,
        first: int,
        paid: int,
        problem: machine.Problem | None = None,
    ) -> Drawn:
        """Seasons from `first` on as others that they are like, but for those that are played anew."""
        played = draw_these(season, touched, problem or as_drawn(season, self.seed), self.stage)
        drawn = drawn_with(season, played, paid)
        if like is None:
            return drawn
        burden, misses = like.burden[first:].copy(), like.misses[first:].copy()
        burden[touched - first], misses[touched - first] = drawn.burden, drawn.misses
        return Drawn(burden, misses)

    def log(self, box: Box, seasons: int) -> Asked:
        """What so many seasons with a box ask for; always as many."""
        if box not in self.logs:
            there, season = self.known(box), with_box(self.season, box)
            if there is None:
                self.logs[box] = asked_in_these(season, np.arange(seasons), self.seed, self.reading)
            else:
                log, more = self.logs[there], less(box, there)
                touched = np.flatnonzero(is_taken(log, [item for item, _ in more]))
                stock = log.stock.copy()
                for item, count in more:
                    stock[:, item] += count
                others = asked_in_these(season, touched, self.seed, self.reading)
                self.logs[box] = replace(log, stock=stock).with_these(touched, others)
        return self.logs[box]

    def saved(self, box: Box, more: Box, seasons: int) -> machine.Floats:
        """What more in the box saves in each season, in minor units, its price counted."""
        return self.take(box, seasons).burden - self.take(joined(box, more), seasons).burden

    def gain(self, box: Box, more: Box, seasons: int, *, used: bool = False) -> Gain:
        """What more in the box brings beside what is there."""
        without, having = (self.take(one, seasons).misses for one in (box, joined(box, more)))
        taken = self._taken(box, more, seasons) if used else None
        return gain_of(self.saved(box, more, seasons), having - without, self.season.rates.currency, taken)

    def _taken(self, box: Box, more: Box, seasons: int) -> Chance:
        """How often any of what is more is taken: no longer all of it is left over what would be without it."""
        without, having = (self.log(one, seasons).stock[:seasons] for one in (box, joined(box, more)))
        taken = [having[:, item] - without[:, item] < count for item, count in more]
        return chance_of(int(np.any(taken, axis=0).sum()), seasons)


def _after(first: Drawn | None, then: Drawn) -> Drawn:
    if first is None:
        return then
    return Drawn(np.concatenate([first.burden, then.burden]), np.concatenate([first.misses, then.misses]))


def comes_late(log: Asked, items: Sequence[int]) -> machine.Bools:
    """In which seasons a spare of some items may be worth its place: in those that wait for one.

    In others it is no more than a purchase made sooner. What the book refuses is not in the log: those seasons count.
    """
    late: machine.Bools = log.bound | log.late[:, items].any(axis=1)
    return late


def is_taken(log: Asked, items: Sequence[int]) -> machine.Bools:
    """In which seasons a spare of some items may be taken."""
    taken: machine.Bools = log.bound | (log.opened[:, items] > 0).any(axis=1)
    return taken


def gain_of(saved: machine.Floats, missed: machine.Ints, currency: str, used: Chance | None = None) -> Gain:
    mean, error = (math.floor(value + 0.5) for value in (float(np.mean(saved)), error_of(saved)))
    return Gain(len(saved), from_minor(mean, currency), from_minor(error, currency), difference_of(missed), used)
