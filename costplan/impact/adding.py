"""Adding up: from the costs of entrants to figures of groups and of the field."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

import numpy as np

from costplan.formulas.rollup import sum_deviation, triangular_deviation, triangular_mean
from costplan.impact.answers import Answer, OnceLine
from costplan.impact.costing import EntrantCost, Priced, cost_of, factors_of, payback_of, total_of
from costplan.impact.drawing import Member, Played
from costplan.impact.field import FieldOfEntrants
from costplan.impact.figures import Roll
from costplan.impact.records import Range
from costplan.impact.sides import stranded_of
from costplan.impact.ways import Way, Ways, rises_of
from costplan.money import from_minor, to_minor
from costplan.season import machine
from costplan.season.drawn.figures import CountDifference, Mean, percentile
from costplan.season.names import value_of

#: The normal deviate that a tenth lies above (NIST/SEMATECH e-Handbook 1.3.6.7.1, table of the normal).
Z90 = 1.281552


@dataclass(frozen=True, slots=True)
class Ends:
    """What an entrant's cost over the years is more or less at the ends of haircuts and price rises, minor units."""

    low: float
    high: float


#: One of the figures of an entrant's cost.
Pick = Callable[[EntrantCost], Priced]


@dataclass(frozen=True, slots=True)
class Costs:
    """The costs of a group's entrants on one way, minor units; `drawn`: whether their ages were drawn."""

    each: tuple[EntrantCost, ...]
    drawn: bool

    def total(self, pick: Pick) -> Priced:
        """The sum of a figure over the entrants."""
        return total_of([pick(one) for one in self.each], drawn=self.drawn)


def sum_of(groups: Sequence[Costs], pick: Pick) -> Priced:
    """The sum of a figure over groups."""
    return total_of([group.total(pick) for group in groups])


def per(total: Priced, number: int) -> Priced:
    """A total by so many."""
    return Priced(total.mean / number, total.error / number)


@dataclass(frozen=True, slots=True)
class GroupCost:
    """The costs of a group under a change, minor units: complying, `spending` on power too, and as things wear out.

    `stranded`: by part, what is left of it, of each entrant.
    """

    played: Played
    under: Ways
    costs: Costs
    spending: Costs | None
    wearing: Costs | None
    stranded: tuple[Mapping[str, int], ...]
    ends: Ends

    def stranded_later(self, share: float) -> Iterator[Mapping[str, int]]:
        """The same of each entrant after so much of a season more."""
        before, after = self.played.ways.today.complying, self.under.complying
        for member in self.played.members:
            if before is not None and after is not None:
                yield stranded_of(after.side, before.side, member.now, share)


class Books:
    """Counts a field's money: its currency, rates of discount and haircut."""

    def __init__(self, field: FieldOfEntrants) -> None:
        self.field, self.study = field, field.study
        self.currency = field.base.header.currency
        self.rates = (self.study.discount, self.study.discount_other)

    def money(self, amount: float) -> Decimal:
        """Minor units as money, rounded half up."""
        return from_minor(math.floor(amount + 0.5), self.currency)

    def mean(self, figure: Priced) -> Mean:
        return Mean(self.money(figure.mean), self.money(figure.error))

    def by_entrant(self, costs: Costs, pick: Pick) -> Mean:
        """The mean of a group's entrants, with its error."""
        return self.mean(per(costs.total(pick), len(costs.each)))

    def total(self, groups: Sequence[Costs], pick: Pick) -> Mean:
        """The sum over groups, with its error."""
        return self.mean(sum_of(groups, pick))

    def minor(self, amount: Decimal) -> float:
        """Money in minor units, not rounded."""
        return float(amount) * to_minor(Decimal(1), self.currency)

    def once(self, way: Way, haircut: float | None = None, rises: Mapping[str, float] | None = None) -> float:
        """What a way costs once, minor units."""
        there = way.rises if rises is None else rises
        return self.minor(way.answer.once(self.study.haircut if haircut is None else haircut, there))

    def cost(self, member: Member, before: Way, after: Way) -> EntrantCost:
        """What a way costs an entrant more than another."""
        once = self.once(after) - self.once(before)
        return cost_of(member.of(before), member.of(after), once, self.rates, before.side.season.result_worth)

    def percentiles(self, values: Iterable[float]) -> tuple[Decimal, Decimal, Decimal]:
        """What 10, 50 and 90 % of values are at most."""
        ordered = np.sort(np.array(list(values)))
        p10, p50, p90 = (self.money(percentile(ordered, share)[0]) for share in (0.1, 0.5, 0.9))
        return p10, p50, p90

    def group(self, played: Played, number: int) -> GroupCost | None:
        """The costs of a group under a change; None where it cannot comply, then or today."""
        today, under = played.ways.today, played.ways.changed[number]
        before, after = today.complying, under.complying
        if before is None or after is None:
            return None
        members = played.members
        crowd = played.ways.crowd
        drawn = crowd.ages is not None and not crowd.row.joins
        wearing = self._pair(members, before, under.wearing, drawn=drawn)
        if wearing is not None and under.wearing is not after:
            wearing = Costs(tuple(without_once(one) for one in wearing.each), drawn)
        return GroupCost(
            played,
            under,
            Costs(tuple(self.cost(member, before, after) for member in members), drawn),
            self._pair(members, today.spending, under.spending, drawn=drawn),
            wearing,
            tuple(stranded_of(after.side, before.side, member.now) for member in members),
            self._ends(played, under, before, after),
        )

    def _pair(self, members: Sequence[Member], before: Way | None, after: Way | None, *, drawn: bool) -> Costs | None:
        if before is None or after is None:
            return None
        return Costs(tuple(self.cost(member, before, after) for member in members), drawn)

    def _ends(self, played: Played, under: Ways, before: Way, after: Way) -> Ends:
        """How far haircuts and price rises move what it costs over the years: at once, and in what is bought later."""
        likely = self.once(after) - self.once(before)
        moved = []
        for end in (0, 2):
            haircut = self.study.haircuts[end]
            rises = rises_of(self.field.supplies, under.soles, played.ways.crowd, end)
            once = self.once(after, haircut, rises) - self.once(before, haircut, before.rises)
            moved.append(once - likely + self.later_purchases(played, after, rises))
        return Ends(min(moved), max(moved))

    def later_purchases(self, played: Played, way: Way, rises: Mapping[str, float]) -> float:
        """What purchases of the years cost an entrant more with other rises than those that they were played with.

        What a position costs is known less what its old sets bring, taken as whole: of a set at price P that brings R,
        P / (P - R) of it is the price.
        """
        season, rate, more = way.side.season, self.study.discount, 0.0
        for p, spot in enumerate(season.spots):
            item = season.items[spot.item]
            was, now = way.rises.get(item.name, 0.0), rises.get(item.name, 0.0)
            price = value_of(item, spot.pieces) * (1 + was)
            brings = spot.pieces * item.resale
            if was == now or price <= brings:
                continue
            spent = np.mean([member.of(way).line[:, p] for member in played.members], axis=0)
            paid = float(spent @ factors_of(rate, len(spent))) * price / (price - brings)
            more += paid * ((1 + now) / (1 + was) - 1)
        return more

    def payback(self, costs: Sequence[EntrantCost]) -> float | None:
        """Years until what some entrants save has paid what they paid once."""
        once = math.fsum(one.once for one in costs)
        cash = np.sum([one.cash for one in costs], axis=0)
        return payback_of(once, [float(amount) for amount in cash], self.study.discount)

    def roll(self, groups: Sequence[GroupCost]) -> Roll:
        """The field's total over the years from the ranges of its groups, each taken as triangular."""
        ranges = [self.range_of(group) for group in groups]
        wide = [one for one in ranges if one[0] < one[2]]
        mean = math.fsum(triangular_mean(*one) if one in wide else one[1] for one in ranges)
        spread = [triangular_deviation(*one) for one in wide]
        deviation = sum_deviation(spread, self.study.correlation) if spread else 0.0
        total = Range(*(self.money(math.fsum(one[end] for one in ranges)) for end in range(3)))
        figures = (mean, deviation, mean - Z90 * deviation, mean + Z90 * deviation)
        return Roll(total, *(self.money(figure) for figure in figures))

    def range_of(self, group: GroupCost) -> tuple[float, float, float]:
        """What a group costs over the years, minor units, where its number, haircut and rises are at the cheap ends of
        what they may be, as is likely, and at the dear ends."""
        crowd = group.played.ways.crowd
        each = group.costs.total(over).mean / len(group.costs.each)
        numbers = (float(crowd.entrants.low), float(crowd.entrants.high))
        low = min(number * (each + group.ends.low) for number in numbers)
        high = max(number * (each + group.ends.high) for number in numbers)
        likely = each * float(crowd.entrants.likely)
        return min(low, likely), likely, max(high, likely)


def without_once(cost: EntrantCost) -> EntrantCost:
    """A cost in which nothing is paid once."""
    once = cost.once
    at_first = Priced(cost.first.mean - once, cost.first.error)
    over_years = tuple(Priced(one.mean - once, one.error) for one in cost.over)
    counted_too = Priced(cost.burden.mean - once, cost.burden.error)
    return replace(cost, once=0.0, first=at_first, over=over_years, burden=counted_too)


def counted(figure: Priced) -> CountDifference:
    """A difference of numbers."""
    return CountDifference(figure.mean, figure.error)


def first(cost: EntrantCost) -> Priced:
    return cost.first


def yearly(cost: EntrantCost) -> Priced:
    return cost.yearly


def used(cost: EntrantCost) -> Priced:
    return cost.used


def over(cost: EntrantCost) -> Priced:
    return cost.over[0]


def over_other(cost: EntrantCost) -> Priced:
    return cost.over[1]


def burden(cost: EntrantCost) -> Priced:
    return cost.burden


def missed(cost: EntrantCost) -> Priced:
    return cost.missed


def stopped(cost: EntrantCost) -> Priced:
    return cost.stopped


def sold_lines(group: GroupCost) -> tuple[OnceLine, ...]:
    """What one entrant of a group sells because of a change, and not because of today's book."""
    today = group.played.ways.today.answer.lines
    return tuple(line for line in group.under.answer.lines if line.what == "sold" and line not in today)


def brings_of(group: GroupCost, haircut: float) -> Decimal:
    """What that brings."""
    return -sum((Answer.amount(line, haircut, {}) for line in sold_lines(group)), Decimal(0))


def added(tables: Iterable[Mapping[str, int]]) -> dict[str, int]:
    """Amounts by name, added up."""
    found: dict[str, int] = {}
    for table in tables:
        for name, amount in table.items():
            found[name] = found.get(name, 0) + amount
    return found


def mean_path(costs: Sequence[EntrantCost], name: str) -> machine.Floats:
    """[years] the sum of entrants' mean differences: of cash, wear, or what is left."""
    path: machine.Floats = np.sum([getattr(one, name) for one in costs], axis=0)
    return path
