"""The study as a whole: what each change costs each group and the field."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

import numpy as np

from costplan.impact.adding import Books, GroupCost, added, brings_of, count_difference
from costplan.impact.costing import EntrantCost, Priced, total_of
from costplan.impact.drawing import Asked, Played, play_field
from costplan.impact.enforcing import enforcement_of
from costplan.impact.field import Crowd, FieldOfEntrants, Proposal
from costplan.impact.figures import (
    AsItIs,
    ChangeImpact,
    GroupImpact,
    Impact,
    Interval,
    Opened,
    Power,
    Source,
    Spent,
    Stranded,
    Total,
)
from costplan.impact.flipping import Flipper, Flips, bare
from costplan.impact.phasing import phases_of
from costplan.impact.supplying import first_round, supply_of
from costplan.impact.ways import GroupWays, Ways, all_ways
from costplan.money import round_money
from costplan.problems import Problem
from costplan.quantity import Quantity
from costplan.rules import Pack, check
from costplan.season import Season
from costplan.season.drawn.drawing import QUIET, Watch
from costplan.season.drawn.figures import CountDifference
from costplan.season.drawn.years import repeats

#: A part whose interval moves by less is not told.
MOVED = 0.005
#: What the method leaves out, each in words; they stand in every report.
LIMITS = (
    "Lives are assumptions, and so are ages, numbers and budgets that nobody stands for; what is planned from them "
    "is no forecast.",
    "Every entrant complies at least cost and none waits, borrows, cheats or leaves before the change; who leaves is a "
    "stated guess and is not taken out of the totals.",
    "Prices, calendar, purses and entries stay as they are but for the rises that supply.csv states; lap times and "
    "places do not change with speed.",
    "Where an old part stays until it is worn out it keeps its worn share and wears on as the new one would.",
    "Power is an estimate from airflow with a stated error; a lower one for everybody is no loss to anybody in it.",
    "Races missed and results lost are counted and not priced: in a field somebody else wins them.",
)


#: Watches groups go by.
Each = Callable[[Iterable[Crowd], str], Iterable[Crowd]]


def desk_of(
    field: FieldOfEntrants, asked: Asked, on: date, loss: Decimal | None = None, each: Each = lambda crowds, _: crowds
) -> tuple[Desk | None, tuple[Problem, ...]]:
    """A study made ready, every group having answered every book; or why there is none.

    `on`: the day on which parts are ordered; `loss`: as in `Study`; `each` sees the groups go by.
    """
    problems = tuple(_too_long(field))
    groups, faults = all_ways(field, each(field.crowds, "Asking groups")) if not problems else ((), ())
    if problems or faults:
        return None, (*problems, *faults)
    return Desk(field, groups, asked, on, field.study.loss if loss is None else loss), ()


def _too_long(field: FieldOfEntrants) -> Iterator[Problem]:
    """A problem for each group whose calendar cannot be repeated year after year."""
    for crowd in field.crowds:
        season = crowd.scenario.compiled
        if season is not None and not repeats(season):
            last = season.runs[-1].event
            what = f"more than a year after {crowd.name}'s first, so that it cannot be repeated:"
            yield Problem("REA018", last.place, "date", str(last.date), what, "give one year's events")


@dataclass(frozen=True)
class Desk:
    """A study under way: its field, the ways of its groups, how much is drawn."""

    field: FieldOfEntrants
    groups: tuple[GroupWays, ...]
    asked: Asked
    on: date
    loss: Decimal

    @property
    def books(self) -> Books:
        return Books(self.field)

    def impact(self, watch: Watch = QUIET) -> Impact:
        """Everything that is asked."""
        return self.told(play_field(self.groups, self.asked, watch))

    def flips(self, changes: Sequence[ChangeImpact], watch: Watch = QUIET) -> tuple[Flips, ...]:
        """Which assumptions turn each change about. Interrupted, it raises KeyboardInterrupt."""
        short = replace(self.asked, seasons=self.asked.short * self.asked.years)
        return Flipper(self.field, tuple(bare(one) for one in self.groups), short).flips(changes, watch)

    def told(self, played: Sequence[Played]) -> Impact:
        """The answer from seasons that were played."""
        field, base = self.field, self.field.base
        return Impact(
            base.header.title,
            field.invented,
            base.header.currency,
            self.on,
            first_round(field, self.on),
            field.study,
            field.entrants,
            self.asked.chains * self.asked.years,
            self.asked.short * self.asked.years,
            self.asked.seed,
            self.loss,
            self._as_it_is(played),
            tuple(self._change(number, proposal, played) for number, proposal in enumerate(field.proposals)),
            tuple(row for crowd in field.crowds for row in crowd.told),
            tuple(self._sources()),
            tuple(self._assumed()),
            LIMITS,
        )

    def _as_it_is(self, played: Sequence[Played]) -> AsItIs:
        """What the field pays if nothing is changed."""
        books = self.books
        draws = [m.of(one.ways.today.complying) for one in played if one.ways.today.complying for m in one.members]
        once = sum(
            books.once(one.ways.today.complying) * len(one.members) for one in played if one.ways.today.complying
        )
        return AsItIs(
            books.money(once + sum(float(one.cash[:, 0].mean()) for one in draws)),
            books.money(sum(float(one.cash[:, 1:].mean()) for one in draws)),
            books.money(sum(float(one.wear.mean()) for one in draws)),
            sum(float(one.missed.mean()) for one in draws),
        )

    def _change(self, number: int, proposal: Proposal, played: Sequence[Played]) -> ChangeImpact:
        """What one change costs whom."""
        field, books, header = self.field, self.books, proposal.change.header
        costs = [books.group(one, number) for one in played]
        there = [one for one in costs if one is not None]
        groups = tuple(self._group(one, number, proposal, cost) for one, cost in zip(played, costs, strict=True))
        date_words = _written(proposal)
        return ChangeImpact(
            proposal.change.file,
            header.name,
            header.author,
            header.source,
            header.date,
            header.reason,
            date_words,
            self._total(there, groups),
            groups,
            tuple(phases_of(books, there, proposal)) if there else (),
            tuple(self._stranded(there)),
            tuple(supply_of(field, self.groups, number, self.on)),
            enforcement_of(field.packs, proposal.packs, field.study, len(field.base.rounds), books.currency),
        )

    def _group(self, played: Played, number: int, proposal: Proposal, cost: GroupCost | None) -> GroupImpact:
        books, crowd = self.books, played.ways.crowd
        under = played.ways.changed[number]
        now, now_broken = self._stands(crowd, self.field.packs)
        after, after_broken = self._stands(crowd, proposal.packs)
        costs = cost.costs if cost else (_nothing(self.asked.years),) * len(played.members)
        over = books.by_entrant([one.over[0] for one in costs])
        ends = (cost.ends.low, cost.ends.high) if cost else (0.0, 0.0)
        p10, p50, p90 = books.percentiles(one.over[0].mean for one in costs)
        answer = under.answer
        stranded = sum(sum(table.values()) for table in cost.stranded) / len(costs) if cost else 0.0
        return GroupImpact(
            crowd.name,
            crowd.entrants,
            now,
            now_broken,
            after,
            after_broken,
            answer.against or played.ways.today.answer.against,
            answer.swaps,
            answer.lines,
            answer.proved,
            books.money(costs[0].once),
            books.by_entrant([one.first for one in costs]),
            books.by_entrant([one.yearly for one in costs]),
            books.by_entrant([one.used for one in costs]),
            over,
            books.by_entrant([one.over[1] for one in costs]),
            books.payback(costs),
            books.money(stranded),
            round_money(brings_of(answer, self.field.study.haircut), books.currency),
            p10,
            p50,
            p90,
            over.mean + books.money(ends[0]),
            over.mean + books.money(ends[1]),
            self._above([one.over[0] for one in costs], self.loss) if cost else 0,
            self._above([one.first for one in costs], self.loss) if cost else 0,
            self._leaving(crowd, costs) if cost else None,
            count_difference([one.missed for one in costs], len(costs)),
            count_difference([one.stopped for one in costs], len(costs)),
            self._power(crowd, played.ways.today, under),
            tuple(_opened(played, costs)) if cost else (),
            tuple(_intervals(played.ways, number)) if cost else (),
            self._spent(played, cost) if cost else None,
            crowd.assumed,
        )

    def _stands(self, crowd: Crowd, packs: Sequence[Pack]) -> tuple[str, tuple[str, ...]]:
        """How the engine that a group has stands to some books, and the clauses that it breaks."""
        scenario = crowd.scenario
        engine = "" if crowd.row.joins else crowd.engines[0]
        verdicts = [
            check(pack, scenario.sheet(engine, scenario.built(), scenario.opening), scenario.opening) for pack in packs
        ]
        broken = [
            one.rule for each in verdicts for one in each.findings if one.verdict == "breaks" and one.severity == "must"
        ]
        words = [each.stands for each in verdicts]
        worst = next((word for word in ("breaks", "cannot be shown") if word in words), "meets")
        return worst, tuple(broken)

    def _above(self, figures: Sequence[Priced], sum_: Decimal) -> int:
        """How many of an amount above a sum."""
        return sum(one.mean > self.books.minor(sum_) for one in figures)

    def _leaving(self, crowd: Crowd, costs: Sequence[EntrantCost]) -> int | None:
        return None if crowd.leaves_above is None else self._above([one.first for one in costs], crowd.leaves_above)

    def _power(self, crowd: Crowd, today: Ways, under: Ways) -> Power | None:
        return power_of(crowd, today.answer.power, under.answer.power, under.answer.error)

    def _spent(self, played: Played, cost: GroupCost) -> Spent | None:
        """What comes of it where each spends on power too, under today's book and under the changed one."""
        books, crowd, today, under = self.books, played.ways.crowd, played.ways.today, cost.under
        if not cost.spending or today.spending is None or under.spending is None or not crowd.budget:
            return None
        if today.complying is None or under.complying is None:
            return None
        more = books.once(under.spending) - books.once(under.complying)
        more_today = books.once(today.spending) - books.once(today.complying)
        answers = under.spending.answer, today.spending.answer
        new = [
            tuple(swap for swap in one.swaps if swap not in plain.swaps)
            for one, plain in zip(answers, (under.answer, today.answer), strict=True)
        ]
        return Spent(
            books.money(more),
            books.money(more_today),
            books.by_entrant([one.over[0] for one in cost.spending]),
            power_of(crowd, answers[1].power, answers[0].power, answers[0].error),
            new[0],
            new[1],
        )

    def _total(self, there: Sequence[GroupCost], groups: Sequence[GroupImpact]) -> Total:
        """The whole field."""
        books = self.books
        costs = [cost for group in there for cost in group.costs]
        spending = [cost for group in there for cost in (group.spending or group.costs)]
        leaving = [one.leaving for one in groups if one.leaving is not None]
        p10, p50, p90 = books.percentiles([one.over[0].mean for one in costs] or [0.0])
        over = [one.over[0] for one in costs]
        missed = total_of([one.missed for one in costs])
        return Total(
            sum(one.count for one in groups),
            books.money(sum(one.once for one in costs)),
            books.total([one.first for one in costs]),
            books.total([one.yearly for one in costs]),
            books.total([one.used for one in costs]),
            books.total(over),
            books.total([one.over[1] for one in costs]),
            books.payback(costs) if costs else None,
            books.money(sum(sum(added(group.stranded).values()) for group in there)),
            sum((one.brings * one.count for one in groups if one.answered), Decimal(0)),
            sum(one.losers for one in groups),
            sum(one.losers_first for one in groups),
            sum(one.mean < -books.minor(self.loss) for one in over),
            sum(leaving) if leaving else None,
            sum(one.count for one in groups if not one.answered),
            CountDifference(missed.mean, missed.error),
            books.roll([books.range_of(group) for group in there]),
            books.money(sum(self._risen(group) for group in there)),
            books.total([one.over[0] for one in spending]) if any(group.spending for group in there) else None,
            p10,
            p50,
            p90,
        )

    def _risen(self, group: GroupCost) -> float:
        """What a group pays more than today's prices for parts whose price rises, at once: a transfer to who sells."""
        way = group.under.complying
        if way is None:
            return 0.0
        return (self.books.once(way) - self.books.once(way, None, {})) * len(group.costs)

    def _stranded(self, there: Sequence[GroupCost]) -> Iterator[Stranded]:
        """The parts that are put out, those of which most is lost first."""
        books, catalog = self.books, self.field.base.catalog
        left: dict[str, int] = {}
        owners: dict[str, int] = {}
        brings: dict[str, Decimal] = {}
        for group in there:
            for part, amount in added(group.stranded).items():
                left[part] = left.get(part, 0) + amount
                owners[part] = owners.get(part, 0) + len(group.costs)
            answer = group.under.answer
            for line in answer.lines:
                if line.what == "sold":
                    got = -answer.amount(line, self.field.study.haircut, {}) * len(group.costs)
                    brings[line.name] = brings.get(line.name, Decimal(0)) + got
        rows = []
        for part in dict.fromkeys((*left, *brings)):
            known = catalog.parts.get(part) if catalog else None
            sold = round_money(brings.get(part, Decimal(0)), books.currency)
            count = owners.get(part, sum(len(group.costs) for group in there if _sells(group, part)))
            rows.append(Stranded(part, known.name if known else "", count, books.money(left.get(part, 0)), sold))
        yield from sorted(rows, key=lambda one: -one.lost)

    def _sources(self) -> Iterator[Source]:
        """Whose word the inputs are."""
        field = self.field
        for crowd in field.crowds:
            yield Source(f"group {crowd.name}", crowd.row.source, None, not crowd.row.source)
            for row in crowd.told:
                yield Source(f"{row.asks} of {row.group}", row.source, row.date, not row.source)
        for part, supplied in field.supplies.items():
            yield Source(f"supply of {part}", supplied.source, None, not supplied.source)
        yield Source("figures of impact.toml", field.study.source, None, not field.study.source)

    def _assumed(self) -> Iterator[str]:
        """What counts and nobody stands for."""
        study = self.field.study
        for key in study.assumed:
            yield f"{key} = {getattr(study, key)} (not given in impact.toml)"
        for source in self._sources():
            if source.assumed:
                yield source.what


def _written(proposal: Proposal) -> str:
    """The dates that a change is written with, in words."""
    phase = proposal.written
    words = [f"from {phase.effective}"] if phase.effective else []
    words += [f"from round {phase.from_round}"] if phase.from_round else []
    return ", ".join(words)


def _sells(group: GroupCost, part: str) -> bool:
    return any(line.what == "sold" and line.name == part for line in group.under.answer.lines)


def _nothing(years: int) -> EntrantCost:
    """The cost of who cannot comply: none is told."""
    zero, none = np.zeros(years), Priced(0.0, 0.0)
    flat = np.zeros((0, 0))
    return EntrantCost(0.0, zero, zero, zero, none, none, none, (none, none), none, none, none, flat, flat, flat, flat)


def power_of(crowd: Crowd, before: float | None, after: float | None, error: float | None) -> Power | None:
    """Estimated powers, kW, in the unit of the pattern."""
    airflow = crowd.scenario.built().pattern.airflow
    if airflow is None or before is None or after is None or error is None:
        return None
    unit = airflow.unit
    return Power(unit, *(Quantity(value, "kW").to(unit) for value in (before, after, error)))


def _opened(played: Played, costs: Sequence[EntrantCost]) -> Iterator[Opened]:
    """How often each level is done a season."""
    under = played.ways.today.complying
    if under is None:
        return
    for ladder, steps in enumerate(under.side.season.ladders):
        for level, step in enumerate(steps):
            if step.row is None:
                continue
            before, after = (
                float(np.mean([np.sum(getattr(one, name)[ladder, level:]) for one in costs]))
                for name in ("opened_before", "opened")
            )
            yield Opened(step.level, before, after)


def _intervals(ways: GroupWays, number: int) -> Iterator[Interval]:
    """The slots whose part lasts longer or less long by age."""
    before, after = ways.today.complying, ways.changed[number].complying
    if before is None or after is None or before.side.season is after.side.season:
        return
    first, then = (_lasting(way.side.season) for way in (before, after))
    for slot, events in first.items():
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
