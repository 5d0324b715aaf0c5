"""Budget, actual, forecast: the season as it was planned, what the log says was paid, and the plan of the rest."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TypeAlias

from costplan.garage.log import Entry
from costplan.money import from_minor, round_money
from costplan.season.calendar import by_event
from costplan.season.ledger import Row
from costplan.season.logged.naming import slots_in
from costplan.season.names import LADDERS, Season
from costplan.season.plan import Plan

#: What money is for, in the order of the table; the last takes what nothing else does.
GROUPS = ("parts", "work", "running", "entry and travel", "fixed costs", "fees", "damage", "income", "other")
#: A group with an amount of it.
Amount: TypeAlias = tuple[str, Decimal]
#: Words whose rows speak of things that cost money.
PRICED = ("changed", "serviced", "mended")


@dataclass(frozen=True, slots=True)
class Tracked:
    """One group of money; income is negative.

    `budget` is the plan of the whole season without the log and `to_day` its part up to the day, `actual` what the log
    says by then, `forecast` the plan from the day on, less what was paid ahead; `expected` = actual + forecast,
    `difference` = expected - budget.
    """

    group: str
    budget: Decimal
    to_day: Decimal
    actual: Decimal
    forecast: Decimal

    @property
    def expected(self) -> Decimal:
        return self.actual + self.forecast

    @property
    def difference(self) -> Decimal:
        return self.expected - self.budget


@dataclass(frozen=True, slots=True)
class Unpriced:
    """Rows of a word that give no amount, so that what they cost is not in the actual."""

    what: str
    rows: int


@dataclass(frozen=True, slots=True)
class NotLogged:
    """What fell due by the day and no row of the log is for: a cost of costs.csv, or entry and travel of an event."""

    what: str
    event: str
    amount: Decimal


@dataclass(frozen=True, slots=True)
class InPart:
    """An event of which a share was run."""

    event: str
    share: float


@dataclass(frozen=True, slots=True)
class Tracking:
    """A season against its budget on a day. `missed`: events that were due by then and that the log does not show run;
    `in_part`: those that were not run whole, with the share that was. `not_logged`: what the actual lacks against the
    budget. `paid_ahead`: what of the actual is for events and costs still to come, and is taken off the forecast.
    """

    on: date
    groups: tuple[Tracked, ...]
    total: Tracked
    events_due: int
    events_run: int
    missed: tuple[str, ...]
    in_part: tuple[InPart, ...]
    without_amount: tuple[Unpriced, ...]
    not_logged: tuple[NotLogged, ...]
    paid_ahead: Decimal

    @property
    def not_logged_at_events(self) -> Decimal:
        """What of it is entry and travel."""
        return sum((one.amount for one in self.not_logged if one.event), 0 * self.paid_ahead)


@dataclass(frozen=True, slots=True)
class _Amounts:
    """Amounts with their groups: of the budget, of its part up to the day, of the log, of the plan of the rest, and of
    what the log says was paid ahead."""

    budget: Sequence[Amount]
    to_day: Sequence[Amount]
    actual: Sequence[Amount]
    rest: Sequence[Amount]
    ahead: Sequence[Amount]
    none: Decimal

    def tracked(self, name: str, groups: Collection[str]) -> Tracked:
        """Some groups as one line."""

        def total(amounts: Iterable[Amount]) -> Decimal:
            return sum((amount for group, amount in amounts if group in groups), self.none)

        forecast = total(self.rest) - total(self.ahead)
        return Tracked(name, total(self.budget), total(self.to_day), total(self.actual), forecast)


def track(budget: Plan, forecast: Plan, season: Season, entries: Sequence[Entry]) -> Tracking:
    """Budget, actual and forecast by group; `season` and `forecast` are as the log leaves them on the day.

    `entries`: the rows known by then. Each amount is rounded once, sums are of rounded lines.
    """
    standing = season.standing
    if standing is None:
        raise ValueError("a season without a log has no actual")
    ran = {one.event for one in standing.ran}
    due = [row for row in budget.ledger if row.view == "cash" and _is_due(row, standing.on, ran)]
    amounts = _amounts(budget, forecast, due, season, entries)
    groups = [amounts.tracked(group, (group,)) for group in GROUPS]
    over = [stretch[0][1].event for stretch in by_event(season.runs) if stretch[0][0] < season.begin]
    return Tracking(
        on=standing.on,
        groups=tuple(one for one in groups if one.budget or one.actual or one.forecast),
        total=amounts.tracked("total", GROUPS),
        events_due=len(over),
        events_run=len(ran),
        missed=tuple(event.event for event in over if event.event not in ran),
        in_part=tuple(InPart(one.event, one.share) for one in standing.ran if one.share != 1),
        without_amount=tuple(unpriced(entries)),
        not_logged=tuple(_not_logged(season, entries, due)),
        paid_ahead=sum((amount for _, amount in amounts.ahead), amounts.none),
    )


def _amounts(budget: Plan, forecast: Plan, due: Iterable[Row], season: Season, entries: Sequence[Entry]) -> _Amounts:
    """All that is tracked; `due`: the cash rows of the budget that were to be paid by the day."""
    currency = season.rates.currency
    to_come = [(_group_of_row(row, season), row) for row in forecast.ledger if row.view == "cash"]
    return _Amounts(
        [(_group_of_row(row, season), row.amount) for row in budget.ledger if row.view == "cash"],
        [(_group_of_row(row, season), row.amount) for row in due],
        [(group_of(entry, season), round_money(entry.paid, currency)) for entry in entries],
        [(group, row.amount) for group, row in to_come],
        _paid_ahead(season, entries, to_come),
        from_minor(0, currency),
    )


def _is_due(row: Row, on: date, ran: Iterable[str]) -> bool:
    """Whether a row of the budget was to be paid by now: dated before the day, or of an event that was run on it."""
    return row.date < on or bool(row.event and row.event in ran)


def _paid_ahead(
    season: Season, entries: Sequence[Entry], to_come: Sequence[tuple[str, Row]]
) -> list[tuple[str, Decimal]]:
    """What was paid for an event or a cost of the season that is still to come, by group: no more than the forecast has
    for it. For an event counts what is done before it too: a level whose bench was booked, parts that were ordered."""
    coming = _coming(season, to_come)
    once = {cost.cost for cost in season.files.costs if cost.per == "season"}
    none = from_minor(0, season.rates.currency)
    paid: dict[tuple[str, bool, str], Decimal] = {}
    left: dict[tuple[str, bool, str], Decimal] = {}
    for entry in entries:
        what = coming.get(entry.event, "") if entry.event else entry.line
        if (entry.event and what) or what in once:
            key = (group_of(entry, season), bool(entry.event), what)
            paid[key] = paid.get(key, none) + round_money(entry.paid, season.rates.currency)
    for group, row in to_come:
        key = (group, bool(row.event), coming.get(row.event, row.event) or row.slot)
        left[key] = left.get(key, none) + row.amount
    return [(key[0], _within(amount, left.get(key, none))) for key, amount in paid.items()]


def _coming(season: Season, to_come: Sequence[tuple[str, Row]]) -> dict[str, str]:
    """By name of each event that lies ahead, and of each service row in the gap before one: that event.

    A service row that is owed stands before the event before which the forecast does its level.
    """
    found = {one.event: run.event.event for run in season.ahead for one in (run.event, *run.services)}
    first = {row.slot: row.event for group, row in reversed(to_come) if group == "work"}
    for one in season.standing.owed if season.standing else ():
        if one.level in first:
            found.setdefault(one.what, found.get(first[one.level], first[one.level]))
    return found


def _within(amount: Decimal, whole: Decimal) -> Decimal:
    """What of an amount is no more than another, whichever way both go; nothing where they go different ways."""
    return min(amount, max(whole, 0 * whole)) if amount > 0 else max(amount, min(whole, 0 * whole))


def _not_logged(season: Season, entries: Sequence[Entry], due: Sequence[Row]) -> Iterator[NotLogged]:
    """Costs of costs.csv and entry and travel of events run that were due, and that no row with an amount is for."""
    priced = [entry for entry in entries if entry.amount is not None]
    lines = {entry.line for entry in priced}
    for cost in season.files.costs:
        amounts = [row.amount for row in due if row.slot == cost.cost and row.cause in ("fixed", "income")]
        if amounts and cost.cost not in lines:
            yield NotLogged(cost.cost, "", sum(amounts, Decimal(0)))
    told = {entry.event for entry in priced if group_of(entry, season) == "entry and travel"}
    for ran in season.standing.ran if season.standing else ():
        amounts = [row.amount for row in due if row.event == ran.event and row.slot in ("entry", "travel")]
        if amounts and ran.event not in told:
            yield NotLogged("entry and travel", ran.event, sum(amounts, Decimal(0)))


def unpriced(entries: Iterable[Entry]) -> Iterator[Unpriced]:
    """Rows of work and parts without an amount, by their words; what came from the shelf has none to give."""
    rows = [entry.what for entry in entries if entry.amount is None and not entry.piece]
    return (Unpriced(what, rows.count(what)) for what in PRICED if what in rows)


def group_of(entry: Entry, season: Season) -> str:
    """What the amount of a row of the log is for."""
    services = {spot.slot for spot in season.spots if spot.service} | {row.service for row in season.flows}
    named = set(slots_in(entry.slot, (*services, *(spot.slot for spot in season.spots))))
    costs = {cost.cost: cost.amount for cost in season.files.costs}
    if entry.what == "failed" or entry.line in _mishaps(season):
        return "damage"
    if (named and named <= services) or entry.line in services:
        return "running"
    if entry.slot or entry.part or entry.piece:
        return "parts"
    if entry.level:
        return "work"
    if entry.line in costs:
        return "income" if costs[entry.line] < 0 else "fixed costs"
    if entry.line in {clause.rule for clause in season.book.clauses()}:
        return "fees"
    if entry.paid < 0:
        return "income"
    return "entry and travel" if entry.event else "other"


def _mishaps(season: Season) -> set[str]:
    """Names of hazards and of cases of damage."""
    return {hazard.hazard for hazard in season.hazards} | {case.case for case in season.cases}


def _group_of_row(row: Row, season: Season) -> str:
    """What a cash row of a plan is for: what old parts bring is taken off what new ones cost, as the log does."""
    services = {spot.slot for spot in season.spots if spot.service}
    if row.cause == "damage" or row.slot in _mishaps(season):
        return "damage"
    if row.cause == "fee":
        return "fees"
    if row.cause in ("labour", "consumable") and row.slot in _levels(season) and row.engine:
        return "work"
    if row.cause == "consumable" or row.slot in services:
        return "running"
    if row.cause == "fixed":
        return "entry and travel" if row.event and row.slot in ("entry", "travel") else "fixed costs"
    if row.part:
        return "parts"
    return "income" if row.cause == "income" else "other"


def _levels(season: Season) -> set[str]:
    return {step.level for t in range(len(LADDERS)) for step in season.ladders[t]}
