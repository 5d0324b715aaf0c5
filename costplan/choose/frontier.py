"""The frontier: the bills of which none is both cheaper and better, and what each step up costs and buys.

Between the cheapest bill and the best one so many marks are set at equal distances. For each the cheapest bill that
reaches it is found, then of the bills at that price the best one: every point is a proved one of the whole frontier,
though points between two marks may be missing.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from time import monotonic
from typing import Literal

from costplan.choose.aims import POWER, SEASON, TIE, WATTS, Aimed
from costplan.choose.choosing import Option, option_of
from costplan.choose.comparing import differences, more, what_it_buys
from costplan.choose.modelling import Goal
from costplan.choose.purchases import PRICE
from costplan.choose.puzzle import Pick, Within
from costplan.choose.settling import settle

Against = Literal["power", "season"]


@dataclass(frozen=True, slots=True)
class Step:
    """From one point to the next: what is swapped, what it costs, and what it buys.

    `more_power` in kW and `less_a_season` are against the point before, `power_since` against the cheapest point,
    `power_summed` against the last point before it that a certain step led to, else the cheapest. `certain`: whether
    what it buys is more than the estimate's error, alone or summed; always for a cost a season, which is worked out
    and not estimated.
    """

    swaps: tuple[tuple[str, str, str], ...]
    costs: Decimal
    more_power: float | None
    power_since: float | None
    power_summed: float | None
    less_a_season: Decimal | None
    certain: bool


@dataclass(frozen=True, slots=True)
class Point:
    """A bill on the frontier; `proved`: none is both cheaper and better. `step` leads here; None to the first."""

    option: Option
    proved: bool
    step: Step | None


@dataclass(frozen=True, slots=True)
class Frontier:
    """The points by rising price, against power or cost a season. `whole`: whether every mark was reached in time.

    `certain_until`: the lowest price at which a bill is as strong as the strongest but for the error of the estimate:
    more money buys no more power for certain. None against a season, or where that was not found in time.
    `interrupted`: Ctrl-C came before all marks were tried.
    """

    against: Against
    points: tuple[Point, ...]
    whole: bool
    seconds: float
    certain_until: Decimal | None
    interrupted: bool = False


def frontier(
    aimed: Aimed, against: Against, number: int, seconds: float, watch: Callable[[Iterable[int]], Iterable[int]] = iter
) -> Frontier:
    """At most so many points between the cheapest and the best bill, both of them included, so two or more; ValueError
    for less. Interrupted, it gives the points found by then, and raises KeyboardInterrupt only if there are none."""
    if number < 2:
        raise ValueError("a frontier has both ends: two points or more")
    began, interrupted = monotonic(), False
    search = _Search(aimed, against, began + seconds)
    try:
        search.all_of(number, watch)
    except KeyboardInterrupt:
        interrupted, search.whole = True, False
        if not search.found:
            raise
    points = tuple(_with_steps(search.aimed, against, search.undominated))
    until = search.enough and option_of(search.aimed, search.enough.pick).price
    return Frontier(against, points, search.whole, monotonic() - began, until or None, interrupted)


@dataclass(frozen=True, slots=True)
class _Found:
    pick: Pick
    value: int
    proved: bool


class _Search:
    """Finds points; what picks showed to be barred stays barred from one to the next."""

    def __init__(self, aimed: Aimed, against: Against, deadline: float) -> None:
        self.aimed, self.deadline, self.whole = aimed, deadline, True
        self.amount, self.most = (POWER, True) if against == "power" else (SEASON, False)
        self.encoded = aimed.encoded
        self.found: dict[tuple[int, int], _Found] = {}
        self.enough: _Found | None = None

    @property
    def ends(self) -> tuple[int | None, int | None]:
        """The amount of the cheapest and of the best bill."""
        values = sorted(value for _, value in self.found)
        if not values:
            return None, None
        return (values[0], values[-1]) if self.most else (values[-1], values[0])

    @property
    def undominated(self) -> list[_Found]:
        """What was found by rising price, without what something no dearer is better than, as may be without proof."""
        kept: list[_Found] = []
        sign = -1 if self.most else 1
        for (_, value), one in sorted(self.found.items(), key=lambda item: (item[0][0], sign * item[0][1])):
            if not kept or sign * value < sign * kept[-1].value:
                kept.append(one)
        return kept

    @property
    def known(self) -> Within:
        """Any amount, so that it be one that is known."""
        return Within(-1, self.amount)

    def beyond(self, mark: int) -> Within:
        return Within(-1, self.amount, mark, None) if self.most else Within(-1, self.amount, None, mark)

    def all_of(self, number: int, watch: Callable[[Iterable[int]], Iterable[int]]) -> None:
        """Both ends, the point from which on nothing certain is bought, and a point for each mark between the ends."""
        self.point((self.known,))
        self.end()
        low, high = self.ends
        if low is None or high is None:
            return
        if self.most and self.aimed.estimator is not None:
            error = self.aimed.estimator.error(high / WATTS) * WATTS
            ends = dict(self.found)
            self.enough = self.point((self.beyond(math.ceil(high - error)),))
            if number == 2:  # it is told, but no third point
                self.found = ends
        if low == high:
            return
        steps = number - len(self.found) + 1
        for mark in watch(range(1, max(1, steps))):
            if monotonic() > self.deadline:
                self.whole = False
                break
            self.point((self.beyond(low + round((high - low) * mark / steps)),))

    def point(self, within: Sequence[Within]) -> _Found | None:
        """The cheapest bill within bounds, and of those at its price the best."""
        return self._seek((Goal(PRICE), Goal(self.amount, self.most), *TIE), within)

    def end(self) -> None:
        """The best bill, and of those as good the cheapest."""
        self._seek((Goal(self.amount, self.most), Goal(PRICE), *TIE), ())

    def _seek(self, goals: Sequence[Goal], within: Sequence[Within]) -> _Found | None:
        settled = settle(self.encoded, goals, max(0.1, self.deadline - monotonic()), within)
        self.encoded, solved = settled.encoded, settled.solved
        self.whole = self.whole and solved.status in ("optimal", "impossible")
        if solved.pick is None:
            return None
        price, value = solved.amounts[PRICE], solved.amounts[self.amount]
        proved = solved.status == "optimal" and solved.goals_proved >= 2
        return self.found.setdefault((price, value), _Found(solved.pick, value, proved))


def _with_steps(aimed: Aimed, against: Against, found: Sequence[_Found]) -> Iterable[Point]:
    """The points, each with the step that leads to it; `sure` is the last that a certain step led to."""
    before: Option | None = None
    first: Option | None = None
    sure: Option | None = None
    for one in found:
        option = option_of(aimed, one.pick)
        if before is None or first is None or sure is None:
            yield Point(option, one.proved, None)
            before = first = sure = option
            continue
        certain = against == "season" or "more power" in (what_it_buys(before, option), what_it_buys(sure, option))
        yield Point(option, one.proved, _step(before, first, sure, option, certain=certain))
        before, sure = option, option if certain else sure


def _step(before: Option, first: Option, sure: Option, option: Option, *, certain: bool) -> Step:
    return Step(
        tuple(differences(before, option)),
        option.price - before.price,
        more(option.power, before.power),
        more(option.power, first.power),
        more(option.power, sure.power),
        more(before.per_season, option.per_season),
        certain,
    )
