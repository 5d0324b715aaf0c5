"""The season plan: the machine with nothing failing and no rain, and the answers that follow from its ledger."""

from __future__ import annotations

import copy
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from costplan.life import Weibull
from costplan.money import from_minor, round_money
from costplan.season import machine
from costplan.season.acted import ClauseActed, what_acted
from costplan.season.bills import expected_bill
from costplan.season.calendar import Run, flow_cost, gap_before, season_use
from costplan.season.jobs import Job, Renewal, jobs_of, life_in_words
from costplan.season.ledger import (
    Account,
    Ledger,
    Row,
    View,
    ages_after,
    balance_at,
    factor_after,
    renewals_of,
    share_worn,
    work_owed,
    write_ledger,
)
from costplan.season.names import Assumption, Season, value_of
from costplan.season.orders import with_deposits


@dataclass(frozen=True, slots=True)
class Routine:
    """What is renewed over and over at openings that cost no labour: trackside parts, oil, tyres."""

    slot: str
    part: str
    times: int
    before: tuple[str, ...]
    paid: Decimal


@dataclass(frozen=True, slots=True)
class Purchase:
    """All packs of one part that the season buys, where the part comes from a supplier."""

    part: str
    name: str
    supplier: str
    packs: int
    first_before: str
    order_by: date
    paid: Decimal


@dataclass(frozen=True, slots=True)
class CauseTotal:
    """What one cause costs over the season in one view."""

    cause: str
    amount: Decimal


@dataclass(frozen=True, slots=True)
class EventTotal:
    """What is paid and used up before and at an event; '' for what is of none."""

    event: str
    cash: Decimal
    wear: Decimal


@dataclass(frozen=True, slots=True)
class Rate:
    """Cost by unit, in each view: engine and running cost without income, and after income."""

    per: str
    units: float
    cash: Decimal
    wear: Decimal
    cash_after_income: Decimal
    wear_after_income: Decimal


@dataclass(frozen=True, slots=True)
class Month:
    """Cash of a calendar month: paid, received, the balance, and the balance so far."""

    month: str
    paid: Decimal
    received: Decimal
    net: Decimal
    so_far: Decimal


@dataclass(frozen=True, slots=True)
class LifeUsed:
    """The share of its assumed life that a position has used on opening day, now, and at the end of the plan."""

    engine: str
    slot: str
    part: str
    opening: float
    now: float
    end: float
    next_renewal: str
    by: str
    assumed: bool
    left_at_end: Decimal


@dataclass(frozen=True, slots=True)
class PathLeft:
    """How far a position is on its path of service steps: how many are done on opening day and at the end.

    `next` is what its next renewal is, a step that the book lets be done or a new set, and `next_cost` what that costs.
    """

    engine: str
    slot: str
    part: str
    steps: int
    opening: int
    end: int
    next: str
    next_cost: Decimal


@dataclass(frozen=True, slots=True)
class OneMore:
    """What one more event like `like` uses up on the parts as they are on a day.

    `chance`: that a part fails in it, given how old they are; `risk`: for each part its chance times the bill of its
    failure, on average over the cases that it may turn out to be.
    """

    on: date
    like: str
    life_used: Decimal
    work_owed: Decimal
    flowing: Decimal
    largest: tuple[tuple[str, Decimal], ...]
    chance: float
    risk: Decimal

    @property
    def total(self) -> Decimal:
        return self.life_used + self.work_owed + self.flowing

    @property
    def with_risk(self) -> Decimal:
        return self.total + self.risk


@dataclass(frozen=True, slots=True)
class Plan:
    """A season as planned, with every answer. Money in the scenario's currency; `on` is the day called now."""

    currency: str
    on: date
    events: int
    races: int
    missed: tuple[str, ...]
    laps: float
    hours: float
    jobs: tuple[Job, ...]
    routine: tuple[Routine, ...]
    purchases: tuple[Purchase, ...]
    cash: tuple[CauseTotal, ...]
    wear: tuple[CauseTotal, ...]
    cash_paid: Decimal
    cash_received: Decimal
    cash_total: Decimal
    wear_total: Decimal
    rates: tuple[Rate, ...]
    months: tuple[Month, ...]
    worst_month: str
    life_used: tuple[LifeUsed, ...]
    paths: tuple[PathLeft, ...]
    one_more: OneMore
    left_on_hand: Decimal
    on_the_shelf: Decimal
    accounts: tuple[Account, ...]
    ledger: tuple[Row, ...]
    assumed: tuple[Assumption, ...]
    book: tuple[ClauseActed, ...] = ()


def play_plan(season: Season) -> machine.State:
    """Plays the season with nothing drawn, from a copy of its opening state."""
    state = copy.deepcopy(season.start)
    machine.play(season.problem, state)
    return state


def make_plan(season: Season, on: date) -> Plan:
    """The plan of a season as seen on a day."""
    state = play_plan(season)
    jobs = jobs_of(season, state)
    ledger = write_ledger(season, state)
    ledger = replace(ledger, rows=with_deposits(season, ledger.rows, jobs))
    months = cash_by_month(ledger, season.rates.currency)
    worst = max(months, key=lambda month: month.net, default=None)
    races = [run.event for run in season.ahead if run.first and run.event.kind == "race"]
    ran = [run for g, run in enumerate(season.runs) if state.ran[g] >= 0]
    lines = life_used(season, state, on)
    shelf = from_minor(int(state.stock_value.sum()), season.rates.currency)
    return Plan(
        currency=season.rates.currency,
        on=on,
        events=sum(run.first for run in season.ahead),
        races=len(races),
        missed=missed(season, state),
        laps=season_use(ran, "laps"),
        hours=season_use(ran, "hours"),
        jobs=jobs,
        routine=routine_of(jobs),
        purchases=purchases_of(jobs),
        cash=by_cause(ledger, "cash"),
        wear=by_cause(ledger, "wear"),
        cash_paid=sum((month.paid for month in months), Decimal(0)),
        cash_received=sum((month.received for month in months), Decimal(0)),
        cash_total=ledger.total("cash"),
        wear_total=ledger.total("wear"),
        rates=rates_of(ledger, ran, season.rates.currency),
        months=months,
        worst_month=worst.month if worst else "",
        life_used=lines,
        paths=paths_left(season, state),
        one_more=one_more(season, state, on),
        left_on_hand=sum((line.left_at_end for line in lines), Decimal(0)),
        on_the_shelf=shelf,
        accounts=ledger.accounts,
        ledger=ledger.rows,
        assumed=season.assumed,
        book=what_acted(season, state),
    )


def missed(season: Season, state: machine.State) -> tuple[str, ...]:
    """Events of which at least one run found no engine ready."""
    names = (run.event.event for g, run in enumerate(season.runs) if state.ran[g] == machine.NOBODY)
    return tuple(dict.fromkeys(names))


def routine_of(jobs: Sequence[Job]) -> tuple[Routine, ...]:
    """The renewals of routine openings, summed by slot."""
    groups: dict[tuple[str, str], list[tuple[Job, Renewal]]] = {}
    for job in jobs:
        for renewal in job.renewals if job.routine else ():
            groups.setdefault((renewal.slot, renewal.part), []).append((job, renewal))
    return tuple(
        Routine(
            slot,
            part,
            len(found),
            tuple(job.before for job, _ in found),
            sum((renewal.paid for _, renewal in found), Decimal(0)),
        )
        for (slot, part), found in groups.items()
    )


def purchases_of(jobs: Sequence[Job]) -> tuple[Purchase, ...]:
    """What is bought of each part and kit over the season, in the order in which it must first be ordered."""
    groups: dict[str, list[Purchase]] = {}
    for job in jobs:
        for bought in _bought_for(job):
            groups.setdefault(bought.part, []).append(bought)
    found = [
        replace(
            entries[0],
            packs=sum(bought.packs for bought in entries),
            paid=sum((bought.paid for bought in entries), Decimal(0)),
        )
        for entries in groups.values()
    ]
    return tuple(sorted(found, key=lambda entry: entry.order_by))


def _bought_for(job: Job) -> Iterable[Purchase]:
    """The packs and kits that one opening buys from a supplier."""
    for part in job.renewals:
        if part.packs_bought and part.supplier:
            yield Purchase(part.part, part.name, part.supplier, part.packs_bought, job.before, part.order_by, part.paid)
    for kit in job.kits:
        yield Purchase(kit.kit, kit.name, kit.supplier, kit.count, job.before, kit.order_by, kit.paid)


def by_cause(ledger: Ledger, view: View) -> tuple[CauseTotal, ...]:
    """Totals of one view by cause, largest first."""
    totals: dict[str, Decimal] = {}
    for row in ledger.of(view):
        totals[row.cause] = totals.get(row.cause, Decimal(0)) + row.amount
    return tuple(CauseTotal(cause, totals[cause]) for cause in sorted(totals, key=lambda cause: -totals[cause]))


def totals_by_event(rows: Sequence[Row]) -> tuple[EventTotal, ...]:
    """Totals of both views by event, in the order in which the rows name them."""
    found: dict[str, EventTotal] = {}
    for row in rows:
        one = found.get(row.event, EventTotal(row.event, 0 * row.amount, 0 * row.amount))
        cash = row.view == "cash"
        more = replace(one, cash=one.cash + row.amount) if cash else replace(one, wear=one.wear + row.amount)
        found[row.event] = more
    return tuple(found.values())


def rates_of(ledger: Ledger, ran: Sequence[Run], currency: str) -> tuple[Rate, ...]:
    """Cost per race, lap and hour; income is taken off in the second pair only."""
    units = {
        "race": float(sum(run.first and run.event.kind == "race" for run in ran)),
        "lap": season_use(ran, "laps"),
        "hour": season_use(ran, "hours"),
    }
    nets = {view: ledger.total(view) for view in ("cash", "wear")}
    costs = {
        view: nets[view] - sum((row.amount for row in ledger.of(view) if row.cause == "income"), Decimal(0))
        for view in ("cash", "wear")
    }

    def each(amount: Decimal, units: float) -> Decimal:
        return round_money(amount / Decimal(repr(units)), currency)

    return tuple(
        Rate(
            per,
            count,
            each(costs["cash"], count),
            each(costs["wear"], count),
            each(nets["cash"], count),
            each(nets["wear"], count),
        )
        for per, count in units.items()
        if count
    )


def cash_by_month(ledger: Ledger, currency: str) -> tuple[Month, ...]:
    """Cash of every month from the first to the last that has any."""
    rows = ledger.of("cash")
    if not rows:
        return ()
    none = from_minor(0, currency)
    paid_in: dict[str, list[Decimal]] = {}
    for row in rows:
        paid_in.setdefault(f"{row.date:%Y-%m}", []).append(row.amount)
    first, last = rows[0].date, rows[-1].date
    months, so_far = [], none
    for number in range(first.year * 12 + first.month - 1, last.year * 12 + last.month):
        name = f"{number // 12}-{number % 12 + 1:02d}"
        amounts = paid_in.get(name, [])
        paid = sum((amount for amount in amounts if amount > 0), none)
        received = -sum((amount for amount in amounts if amount < 0), none)
        so_far += paid - received
        months.append(Month(name, paid, received, paid - received, so_far))
    return tuple(months)


def last_run_before(season: Season, on: date) -> int:
    """The number of the last run before a day, or of the last that a log shows over; -1 if none."""
    if season.standing is not None:
        return season.begin - 1
    return sum(run.event.date < on for run in season.runs) - 1


def life_used(season: Season, state: machine.State, on: date) -> tuple[LifeUsed, ...]:
    """The life of every position that has one, in the order of the build."""
    now, end = last_run_before(season, on), len(season.runs) - 1
    renewals = renewals_of(state).tolist()
    found = []
    for c, carrier, p, spot in season.positions():
        if not season.lives(p):
            continue
        item = season.items[int(state.item[c, p])]
        upcoming = [row for row in renewals if row[1:3] == [c, p] and row[0] > now]
        share = machine.worn_share(season.problem, state, c, p)
        left = machine.left_of(season.problem, state, c, p)
        found.append(
            LifeUsed(
                carrier,
                spot.slot,
                item.name,
                share_at_opening(season, state, c, p),
                share_worn(season, state, now, c, p),
                share,
                gap_before(season.runs, upcoming[0][0])[1] if upcoming else "",
                life_in_words(season, state, end, c, p),
                any(life.assumed for life in spot.lives) or (spot.service is not None and not spot.service.source),
                from_minor(left, season.rates.currency),
            )
        )
    return tuple(found)


def share_at_opening(season: Season, state: machine.State, c: int, p: int) -> float:
    """The worn share of a position when the books opened, whatever has happened to it since."""
    standing = season.standing
    if standing is None:
        return share_worn(season, state, -1, c, p)
    return float(machine.worn_share(season.problem, standing.opening, c, p))


def paths_left(season: Season, state: machine.State) -> tuple[PathLeft, ...]:
    """Every position that has a path of service steps, in the order of the build."""
    found = []
    for c, carrier, p, spot in season.positions():
        if not spot.path:
            continue
        end, item = int(state.step[c, p]), season.items[spot.item]
        barred = machine.step_bond(season.problem, p, end, len(season.runs) - 1) >= 0 if end < len(spot.path) else True
        following = None if barred else spot.path[end]
        cost = following.cost if following else value_of(item, spot.pieces)
        name = following.operation if following else f"new {item.name}"
        done, money = int(season.start.step[c, p]), from_minor(cost, season.rates.currency)
        found.append(PathLeft(carrier, spot.slot, item.name, len(spot.path), done, end, name, money))
    return tuple(found)


def one_more(season: Season, state: machine.State, on: date) -> OneMore:
    """The wear of one more event, like the next from `on`, on the parts as they are; nothing renewed for it."""
    firsts = [g for g, run in enumerate(season.runs) if run.first and run.event.kind == "race"]
    now = last_run_before(season, on)
    start = next((g for g in firsts if g > now), firsts[-1])
    event = season.runs[start].event
    stop = next((g for g in range(start + 1, len(season.runs)) if season.runs[g].first), len(season.runs))
    engine = max(0, int(state.ran[start]))
    currency, car = season.rates.currency, len(season.carriers) - 1
    used = []
    for p, spot in enumerate(season.spots):
        amount = _used_by(season, state, now, car if spot.on_car else engine, p, start, stop)
        if amount:
            used.append((spot.slot, from_minor(amount, currency)))
    runs = season.runs[start:stop]
    flowing = sum((flow_cost(row, runs, currency) for row in season.flows), Decimal(0))
    largest = tuple(sorted(used, key=lambda pair: -pair[1])[:5])
    total = sum((amount for _, amount in used), Decimal(0))
    owed = from_minor(sum(_work_by(season, state, now, c, start, stop) for c in (engine, car)), currency)
    chance, risk = _risk(season, state, now, engine, start, stop)
    return OneMore(on, event.event, total, owed, flowing, largest, chance, from_minor(risk, currency))


def _risk(season: Season, state: machine.State, now: int, engine: int, start: int, stop: int) -> tuple[float, int]:
    """The chance that any part fails in runs start .. stop, as old as it is after run `now`, and what that costs."""
    survives, risk, car = 1.0, 0.0, len(season.carriers) - 1
    for p, spot in enumerate(season.spots):
        chance = _failing(season, state, now, car if spot.on_car else engine, p, start, stop)
        if chance > 0:
            survives *= 1 - chance
            risk += chance * expected_bill(season, p)
    return 1 - survives, round(risk)


def _failing(season: Season, state: machine.State, now: int, c: int, p: int, start: int, stop: int) -> float:
    """1 - exp(H(age) - H(age + duty)): the chance that a position fails in some runs, by the first of its lives."""
    ages, _ = ages_after(season, state, now, c)
    problem, factor, hazard = season.problem, factor_after(season, state, now, c, p), 0.0
    for j in season.lives(p):
        duty = float(problem.duty[stop, j] - problem.duty[start, j])
        if math.isfinite(problem.scale[j]) and duty > 0:
            life = Weibull(float(problem.scale[j]) * factor, float(problem.shape[j]))
            hazard += life.cumulative_hazard(float(ages[j]) + duty) - life.cumulative_hazard(float(ages[j]))
    return -math.expm1(-hazard)


def _used_by(season: Season, state: machine.State, now: int, c: int, p: int, start: int, stop: int) -> int:
    """Balance that runs start..stop would use of a position as it is after run `now`."""
    ages, raws = ages_after(season, state, now, c)
    problem = season.problem
    factor = factor_after(season, state, now, c, p)
    before = after = 0.0
    for j in season.lives(p):
        duty, raw = problem.duty[stop, j] - problem.duty[start, j], problem.raw[stop, j] - problem.raw[start, j]
        worn_at, limit = problem.worn_at[j] * factor, problem.limit[j]
        before = max(before, ages[j] / worn_at, raws[j] / limit)
        after = max(after, (ages[j] + duty) / worn_at, (raws[j] + raw) / limit)
    return balance_at(season, state, now, c, p, before) - balance_at(season, state, now, c, p, after)


def _work_by(season: Season, state: machine.State, now: int, c: int, start: int, stop: int) -> int:
    """Work owed on a carrier that runs start..stop would add to what it is after run `now`."""
    problem, total = season.problem, 0
    counters = season.start.since[c] if now < 0 else state.trace_since[now, c]
    for t, ladder in enumerate(season.ladders):
        if problem.ladder_on_car[t] == (c == len(season.carriers) - 1):
            for k in range(len(ladder)):
                use = problem.use[problem.measure[t, k]]
                since = float(counters[t, k])
                after = work_owed(season, since + float(use[stop] - use[start]), t, k)
                total += after - work_owed(season, since, t, k)
    return total
