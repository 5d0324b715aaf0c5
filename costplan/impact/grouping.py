"""What a change costs one group: its entrants' costs as the figures that are told."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import partial

import numpy as np

from costplan.impact.adding import (
    Books,
    Costs,
    GroupCost,
    added,
    brings_of,
    burden,
    counted,
    first,
    missed,
    over,
    over_other,
    per,
    stopped,
    used,
    yearly,
)
from costplan.impact.answers import Answer
from costplan.impact.costing import EntrantCost, Priced
from costplan.impact.course import course_of
from costplan.impact.drawing import Played
from costplan.impact.field import Crowd, Proposal
from costplan.impact.figures import Driver, GroupImpact, Interval, Opened, Power, Spent
from costplan.impact.ways import GroupWays, Ways
from costplan.money import round_money
from costplan.quantity import Quantity
from costplan.rules import KINDS, Pack, check
from costplan.season import Season, machine

#: How an engine's parts stand to a book, whatever papers and inspections are still owed.
BREAKS, UNKNOWN, ON_PAPER = "breaks", "not known", "parts meet it"
#: What is neither of a slot nor of a level: entries, purses, charges, damage.
REST = "all else"
YEAR = "a year"
#: A part whose interval moves by less is not told.
MOVED = 0.005


@dataclass(frozen=True, slots=True)
class Teller:
    """Tells what changes cost groups; `loss`: the sum above which an entrant counts as a loser."""

    books: Books
    loss: Decimal

    def group(self, played: Played, number: int, proposal: Proposal, cost: GroupCost | None) -> GroupImpact:
        """What a change costs a group; of who cannot comply nothing but that."""
        books, crowd, under = self.books, played.ways.crowd, played.ways.changed[number]
        costs = cost.costs if cost else Costs((nothing(books.study.years),) * len(played.members), drawn=False)
        by = partial(books.by_entrant, costs)
        over_years, answer, each = by(over), under.answer, costs.each
        return GroupImpact(
            crowd.name,
            crowd.entrants,
            *self._stands(crowd, books.field.packs),
            *self._stands(crowd, proposal.packs),
            answer.against or played.ways.today.answer.against,
            answer.swaps,
            answer.lines,
            tuple(self._amounts(under)),
            answer.proved,
            books.money(each[0].once),
            by(first),
            by(yearly),
            by(used),
            over_years,
            by(over_other),
            by(burden),
            books.payback(each),
            books.money(sum(added(cost.stranded).values()) / len(each) if cost else 0.0),
            round_money(brings_of(cost, books.study.haircut), books.currency) if cost else Decimal(0),
            *books.percentiles(one.over[0].mean for one in each),
            over_years.mean + books.money(cost.ends.low if cost else 0.0),
            over_years.mean + books.money(cost.ends.high if cost else 0.0),
            self.above([one.over[0] for one in each], self.loss),
            self.above([one.first for one in each], self.loss),
            self._leaving(crowd, each),
            counted(per(costs.total(missed), len(each))),
            counted(per(costs.total(stopped), len(each))),
            power_of(crowd, played.ways.today.answer.power, answer.power, answer.error),
            tuple(_opened(played, each)) if cost else (),
            tuple(_intervals(played.ways, number)) if cost else (),
            tuple(self._drivers(played, number, each)) if cost else (),
            self._year(each) if cost else Driver(YEAR, Decimal(0), Decimal(0)),
            self._spent(played, cost) if cost else None,
            crowd.assumed,
            course_of(each, len(each), books.study.years, books.currency),
        )

    def _amounts(self, under: Ways) -> Iterator[Decimal]:
        """What each line of an answer comes to."""
        rises = under.complying.rises if under.complying else {}
        for line in under.answer.lines:
            yield round_money(Answer.amount(line, self.books.study.haircut, rises), self.books.currency)

    def above(self, figures: Sequence[Priced], limit: Decimal) -> int:
        """How many of some amounts are above a sum."""
        return sum(one.mean > self.books.minor(limit) for one in figures)

    def _leaving(self, crowd: Crowd, costs: Sequence[EntrantCost]) -> int | None:
        """How many would stop, by what is guessed of their group."""
        return None if crowd.leaves_above is None else self.above([one.first for one in costs], crowd.leaves_above)

    def _stands(self, crowd: Crowd, packs: Sequence[Pack]) -> tuple[str, tuple[str, ...]]:
        """How the parts that a group has stand to some books, and the clauses that they break."""
        scenario = crowd.scenario
        engine, day = "" if crowd.row.joins else crowd.engines[0], scenario.opening
        sheet = scenario.sheet(engine, scenario.built(), day)
        told: set[str] = set()
        broken: list[str] = []
        for pack in packs:
            asked = {rule.id for rule in pack.rules if KINDS[rule.kind].by_parts(rule.test)}
            must = [one for one in check(pack, sheet, day).findings if one.severity == "must"]
            broken += [one.rule for one in must if one.verdict == "breaks"]
            told |= {one.on_paper for one in must if one.rule in asked}
        stands = BREAKS if broken else UNKNOWN if "cannot be shown" in told else ON_PAPER
        return stands, tuple(broken)

    def _drivers(self, played: Played, number: int, costs: Sequence[EntrantCost]) -> Iterator[Driver]:
        """What the yearly difference is made of."""
        before, after = played.ways.today.complying, played.ways.changed[number].complying
        if before is None or after is None:
            return
        now, then = (
            _by_line(way.side.season, np.mean([getattr(one, name).mean(axis=0) for one in costs], axis=0))
            for way, name in ((before, "bought_before"), (after, "bought"))
        )
        money = self.books.money
        rows = [Driver(name, money(now.get(name, 0.0)), money(then.get(name, 0.0))) for name in {**now, **then}]
        moved = (row for row in rows[:-1] if round(row.more))
        yield from sorted(moved, key=lambda row: -abs(row.more))
        yield rows[-1]

    def _year(self, costs: Sequence[EntrantCost]) -> Driver:
        """All of a year's cash, before and after."""
        sums = (
            float(np.mean([getattr(one, name).sum(axis=1).mean() for one in costs]))
            for name in ("bought_before", "bought")
        )
        return Driver(YEAR, *map(self.books.money, sums))

    def _spent(self, played: Played, cost: GroupCost) -> Spent | None:
        """What comes of it where each spends on power too, under today's book and under the changed one."""
        books, crowd, today, under = self.books, played.ways.crowd, played.ways.today, cost.under
        if not (cost.spending and crowd.budget and today.spending and under.spending):
            return None
        if today.complying is None or under.complying is None or under.answer.power is None:
            return None
        then, now = under.spending.answer, today.spending.answer
        return Spent(
            books.money(books.once(under.spending) - books.once(under.complying)),
            books.money(books.once(today.spending) - books.once(today.complying)),
            books.by_entrant(cost.spending, over),
            power_of(crowd, now.power, then.power, then.error),
            tuple(swap for swap in then.swaps if swap not in under.answer.swaps),
            tuple(swap for swap in now.swaps if swap not in today.answer.swaps),
        )


def nothing(years: int) -> EntrantCost:
    """The cost of who cannot comply: none is told."""
    zero, none, flat = np.zeros(years), Priced(0.0, 0.0), np.zeros((0, 0))
    both = none, none
    return EntrantCost(0.0, zero, zero, zero, none, none, none, both, none, *both, none, flat, flat, flat, flat)


def power_of(crowd: Crowd, before: float | None, after: float | None, error: float | None) -> Power | None:
    """Estimated powers, kW, in the unit of the pattern."""
    airflow = crowd.scenario.built().pattern.airflow
    if airflow is None or before is None or after is None or error is None:
        return None
    unit = airflow.unit
    return Power(unit, *(Quantity(value, "kW").to(unit) for value in (before, after, error)))


def _by_line(season: Season, amounts: machine.Floats) -> dict[str, float]:
    """Mean cash of a year by slot, by level, and of the rest."""
    names = [spot.slot for spot in season.spots]
    depth = season.problem.hours.shape[1]
    for steps in season.ladders:
        names += [f"level {step.level}" for step in steps] + [""] * (depth - len(steps))
    found = {name: float(amount) for name, amount in zip(names, amounts, strict=False) if name}
    return {**found, REST: float(amounts[-1])}


def _opened(played: Played, costs: Sequence[EntrantCost]) -> Iterator[Opened]:
    """How often each level is done a season."""
    today = played.ways.today.complying
    for ladder, steps in enumerate(today.side.season.ladders if today else ()):
        for level, step in enumerate(steps):
            if step.row is not None:
                times = (
                    float(np.mean([np.sum(getattr(one, name)[ladder, level:]) for one in costs]))
                    for name in ("opened_before", "opened")
                )
                yield Opened(step.level, *times)


def _intervals(ways: GroupWays, number: int) -> Iterator[Interval]:
    """The slots whose part lasts longer or less long by age."""
    before, after = ways.today.complying, ways.changed[number].complying
    if before is None or after is None:
        return
    now, then = _lasting(before.side.season), _lasting(after.side.season)
    for slot, events in now.items():
        if slot in then and abs(then[slot] / events - 1) > MOVED:
            yield Interval(slot, events, then[slot])


def _lasting(season: Season) -> dict[str, float]:
    """By slot, the events until the first of its part's lives is used up, of those that run out by age."""
    problem, events, found = season.problem, sum(run.first for run in season.runs), {}
    for p, spot in enumerate(season.spots):
        ends = [problem.worn_at[j] / problem.duty[-1, j] for j in season.lives(p) if problem.duty[-1, j] > 0]
        if spot.service is None and ends and np.isfinite(min(ends)):
            found[spot.slot] = float(min(ends)) * events
    return found
