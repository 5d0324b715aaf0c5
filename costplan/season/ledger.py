"""The ledger: one row a cost, in two views over the same season that are never mixed.

*Cash* is what is paid when. *Wear* is what is used up when: a set's balance B = (cost - resale) * (1 - worn share)
falls with use, and what is left of it at a removal is *unused life*. Labour of a level is *work owed*: it grows with
use towards the next opening. For every account, opening + paid - used - unused = closing, to the cent.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from types import MappingProxyType
from typing import Literal

from costplan.money import from_minor, round_money, split
from costplan.season import machine
from costplan.season.calendar import Run, by_event, first_days, flow_cost, gap_before, season_use
from costplan.season.charges import fees_of
from costplan.season.names import Item, Season
from costplan.season.records import Cost

View = Literal["cash", "wear"]
Cause = Literal[
    "planned",
    "early",
    "failure",
    "damage",
    "found",
    "labour",
    "consumable",
    "fixed",
    "fee",
    "income",
    "life used",
    "unused life",
    "deposit",
    "refund",
]


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a cause stands for in each view; '' in one where no row has it."""

    cash: str
    wear: str


#: What each cause means, in the order of pages.
CAUSES: Mapping[Cause, Meaning] = MappingProxyType(
    {
        "planned": Meaning("a renewal or a service step that had come due: packs, kits or the shop operation", ""),
        "early": Meaning("a renewal of what was not yet due, cheaper now than at an opening of its own later", ""),
        "failure": Meaning("what replaces or mends the part that broke", ""),
        "damage": Meaning(
            "what replaces the parts that a failure took along, and what its case costs beyond them",
            "what a case costs beyond the parts",
        ),
        "found": Meaning("a renewal of what a check found worn before it broke", ""),
        "labour": Meaning(
            "the labour of an opening",
            "work owed: labour and supplies of a level, growing with use from one opening to the next",
        ),
        "consumable": Meaning(
            "supplies of an opening, and what flows with use, such as fuel", "what flows with use, such as fuel"
        ),
        "fixed": Meaning(
            "entry, travel, the rows of costs.csv, and an engine that is bought",
            "entry, travel and the rows of costs.csv",
        ),
        "fee": Meaning("what the rule book charges", "what the rule book charges"),
        "income": Meaning(
            "purses, what old parts bring, what is paid for an engine that is sold, claimed or gone; negative",
            "purses, negative rows of costs.csv, and what is paid for an engine that is gone; negative",
        ),
        "life used": Meaning(
            "", "what a part's value fell by: cost less resale, times the share of its assumed life used"
        ),
        "unused life": Meaning(
            "",
            "what was left of that value in a part taken out; of a level, what its opening cost more (or less) than "
            "the work owed by then",
        ),
        "deposit": Meaning("the core charge on what is bought", ""),
        "refund": Meaning("the core charge that comes back for old pieces; negative", ""),
    }
)


@dataclass(frozen=True, slots=True)
class Row:
    """One cost (income is negative): when, before or at which event, on what, why, and how much."""

    view: View
    date: date
    event: str
    engine: str
    slot: str
    part: str
    cause: Cause
    amount: Decimal
    why: str


@dataclass(frozen=True, slots=True)
class Account:
    """A position, or a level's work owed, over the season: opening + paid - used - unused = closing.

    `paid` is cost less resale for a position. Work owed counts the other way: it opens and closes as what is owed,
    negative here, `paid` pays it off, `used` adds to it.
    """

    engine: str
    slot: str
    opening: Decimal
    paid: Decimal
    used: Decimal
    unused: Decimal
    closing: Decimal


@dataclass(frozen=True, slots=True)
class Ledger:
    """All rows of a season in time order, and the accounts that reconcile the views."""

    rows: tuple[Row, ...]
    accounts: tuple[Account, ...]

    def of(self, view: View) -> tuple[Row, ...]:
        return tuple(row for row in self.rows if row.view == view)

    def total(self, view: View) -> Decimal:
        return sum((row.amount for row in self.of(view)), Decimal(0))


def write_ledger(season: Season, state: machine.State) -> Ledger:
    """The ledger of a season that the machine has played with its traces on."""
    accounts: list[Account] = []
    rows = [
        *_opening_rows(season, state),
        *_renewal_rows(season, state),
        *_kit_rows(season, state),
        *_flow_rows(season, state),
        *_event_rows(season, state),
        *_cost_rows(season),
        *_fee_rows(season, state),
        *_trade_rows(season),
        *_damage_rows(season, state),
        *_wear_rows(season, state, accounts),
        *_work_rows(season, state, accounts),
    ]
    return Ledger(tuple(sorted(rows, key=lambda row: row.date)), tuple(accounts))


def events_ahead(season: Season) -> list[list[tuple[int, Run]]]:
    """The runs of each event that lies ahead, numbered."""
    return [runs for runs in by_event(season.runs) if runs[0][0] >= season.begin]


def openings_of(state: machine.State) -> machine.Ints:
    """The openings that the machine noted: run, carrier, ladder, level."""
    return state.openings[: state.n_openings[0]]


def renewals_of(state: machine.State) -> machine.Ints:
    return state.renewals[: state.n_renewals[0]]


def kits_of(state: machine.State) -> machine.Ints:
    """The kits bought: run, carrier, ladder, kit, paid."""
    return state.kits[: state.n_kits[0]]


def _opening_rows(season: Season, state: machine.State) -> Iterator[Row]:
    for g, c, t, k in openings_of(state).tolist():
        step, (day, event) = season.ladders[t][k], gap_before(season.runs, g)
        place = f" ({step.row.place})" if step.row else ""
        causes: tuple[tuple[Cause, int], ...] = (("labour", step.labour), ("consumable", step.supplies))
        for cause, amount in causes:
            if amount:
                word = "labour" if cause == "labour" else "supplies"
                money = from_minor(amount, season.rates.currency)
                why = f"{word} of level {step.level}{place}"
                yield Row("cash", day, event, season.carriers[c], step.level, "", cause, money, why)


def _renewal_rows(season: Season, state: machine.State) -> Iterator[Row]:
    """What new packs cost, the deposits on them, and what the old pieces bring back."""
    for g, c, p, cause, pieces, packs, paid, _, k, step, drawn_by, now, before in _in_build_order(state):
        spot, item, old = season.spots[p], season.items[now], season.items[before]
        level = season.ladders[spot.ladder][k].level
        if step >= 0:
            done = spot.path[step]
            why = f"{done.operation} at {level} ({done.place})"
            yield from _paid(season, g, c, spot.slot, old.name, ((_CAUSES[cause], paid, why),))
            continue
        whole = cause not in (machine.FAILURE, machine.DAMAGE) or drawn_by >= 0
        back = machine.share_of(old.core_charge, pieces, old.pack) if whole else 0
        what = f"{packs} x {item.pack} pieces" if item.pack > 1 else f"{packs} pieces" if spot.pieces > 1 else ""
        amounts: tuple[tuple[Cause, int, str], ...] = (
            (_CAUSES[cause], paid, f"{what} at {level} ({item.priced_at(g)})".strip()),
            ("deposit", packs * item.core_charge, f"core charge on {packs} packs ({item.place})"),
        )
        yield from _paid(season, g, c, spot.slot, item.name, amounts)
        returns: tuple[tuple[Cause, int, str], ...] = (
            ("refund", -back, f"core charge back for {pieces} pieces ({old.place})"),
            ("income", -pieces * old.resale if whole else 0, f"resale of {pieces} used pieces ({old.place})"),
        )
        yield from _paid(season, g, c, spot.slot, old.name, returns)


def _in_build_order(state: machine.State) -> list[list[int]]:
    """The renewals by gap, carrier and position, however the machine went through them."""
    return sorted(renewals_of(state).tolist(), key=lambda row: row[:3])


def _paid(
    season: Season, g: int, c: int, slot: str, part: str, amounts: Sequence[tuple[Cause, int, str]]
) -> Iterator[Row]:
    """Cash rows of the gap before a run, those that are not zero."""
    day, event = gap_before(season.runs, g)
    for cause, amount, why in amounts:
        if amount:
            money = from_minor(amount, season.rates.currency)
            yield Row("cash", day, event, season.carriers[c], slot, part, cause, money, why)


def _kit_rows(season: Season, state: machine.State) -> Iterator[Row]:
    """What kits cost that were bought instead of parts apart, and the deposits on what they hold."""
    for g, c, _, n, paid, cause, count in kits_of(state).tolist():
        kit = season.kits[n]
        held = [(season.items[number], pieces) for number, pieces in kit.pieces]
        deposit = count * sum(machine.share_of(item.core_charge, pieces, item.pack) for item, pieces in held)
        what = ", ".join(item.name for item, _ in held)
        amounts: tuple[tuple[Cause, int, str], ...] = (
            (_CAUSES[cause], paid, f"{count} x kit of {what} ({kit.offers[g].place})"),
            ("deposit", deposit, f"core charge on what the kit holds ({kit.place})"),
        )
        yield from _paid(season, g, c, "", kit.name, amounts)


_CAUSES: tuple[Cause, ...] = ("planned", "early", "failure", "damage", "found")


def _both(
    day: date, event: str, slot: str, cause: Cause, amount: Decimal, why: str, currency: str, engine: str = ""
) -> Iterator[Row]:
    """A cost that is used up when it is paid stands alike in both views."""
    amount = round_money(amount, currency)
    if amount:
        yield Row("cash", day, event, engine, slot, "", cause, amount, why)
        yield Row("wear", day, event, engine, slot, "", cause, amount, why)


def _flow_rows(season: Season, state: machine.State) -> Iterator[Row]:
    """Services that flow with use, such as fuel: price * use / every, rounded once an event."""
    currency = season.rates.currency
    for runs in by_event(season.runs):
        event = runs[0][1].event
        ran = [run for g, run in runs if state.ran[g] >= 0 and not state.lost[g]]
        for row in season.flows:
            use = row.measure.from_kept(season_use(ran, row.measure.name))
            why = f"{use:g} {row.measure} at {row.price} each {row.every:g} ({row.place})"
            amount = flow_cost(row, ran, currency)
            yield from _both(event.date, event.event, row.service, "consumable", amount, why, currency)


def _event_rows(season: Season, state: machine.State) -> Iterator[Row]:
    """Entry, travel and purse, of events at which an engine ran."""
    for runs in by_event(season.runs):
        event, currency = runs[0][1].event, season.rates.currency
        if all(state.ran[g] < 0 for g, _ in runs):
            continue
        purse = machine.purse_won(season.problem, state, runs[0][0], runs[-1][0] + 1)
        amounts: tuple[tuple[str, Cause, Decimal], ...] = (
            ("entry", "fixed", event.entry),
            ("travel", "fixed", event.travel),
            ("purse", "income", -from_minor(purse, currency)),
        )
        for name, cause, amount in amounts:
            yield from _both(
                event.date,
                event.event,
                name,
                cause,
                amount,
                f"{name} of {event.event} ({event.place})",
                currency,
            )


def _cost_rows(season: Season) -> Iterator[Row]:
    for cost in season.files.costs:
        cause: Cause = "income" if cost.amount < 0 else "fixed"
        for day, event in _due_days(cost, season):
            yield from _both(
                day,
                event,
                cost.cost,
                cause,
                cost.amount,
                f"{cost.cost} per {cost.per} ({cost.place})",
                season.rates.currency,
            )


def _fee_rows(season: Season, state: machine.State) -> Iterator[Row]:
    """What the rule book charges, at the level opened or under the name of the clause."""
    for fee in fees_of(season, state):
        clause = fee.charge.clause
        why = f"clause {clause.rule}: {clause.says} ({clause.place})"
        on, currency = fee.level or clause.rule, season.rates.currency
        yield from _both(fee.date, fee.event, on, "fee", fee.amount, why, currency, fee.engine)


def fixed_rows(season: Season) -> Iterator[Row]:
    """The cash rows that are the same however the season goes: costs.csv, fees by month and season, engines traded."""
    yield from (row for row in _cost_rows(season) if row.view == "cash")
    state = season.start
    for row in _fee_rows(season, state):
        if row.view == "cash":
            yield row
    yield from _trade_rows(season)


def _trade_rows(season: Season) -> Iterator[Row]:
    """Engines bought and sold. A thing that lasts is no wear; what it loses shows in the balances of its parts."""
    for trade in (trade for trade in season.purchases if season.is_ahead(trade.date)):
        cause: Cause = "income" if trade.amount < 0 else "fixed"
        money = from_minor(trade.amount, season.rates.currency)
        yield Row("cash", trade.date, "", trade.engine, "", "", cause, money, f"engine {trade.what} ({trade.place})")


def _damage_rows(season: Season, state: machine.State) -> Iterator[Row]:
    """What the cases of failures cost beyond the parts that they break, and what is paid for an engine that is gone."""
    currency, positions = season.rates.currency, len(season.spots)
    for g, c, failed, n, _ in state.struck_cases[: state.n_cases[0]].tolist():
        if n < 0:
            continue
        event, case, carrier = season.runs[g].event, season.cases[n], season.carriers[c]
        slot = season.spots[failed].slot if failed < positions else season.hazards[failed - positions].hazard
        why = f"{case.case} of {case.of} ({case.place})"
        costs, paid = from_minor(case.cost, currency), from_minor(-case.paid, currency)
        yield from _both(event.date, event.event, slot, "damage", costs, why, currency, carrier)
        yield from _both(
            event.date, event.event, slot, "income", paid, f"paid for the engine: {why}", currency, carrier
        )


def _due_days(cost: Cost, season: Season) -> list[tuple[date, str]]:
    """The days ahead on which a cost falls due, each with the event it belongs to ('' for none)."""
    if cost.per == "season":
        return [(day, "") for day in [cost.date or season.opening] if season.is_ahead(day, cost.cost)]
    firsts = [run.event for run in season.ahead if run.first]
    if cost.per == "month":
        return [(day, "") for day in first_days(season.opening, season.runs) if season.is_ahead(day, cost.cost)]
    return [(event.date, event.event) for event in firsts if cost.per == "event" or event.kind == "race"]


@dataclass(frozen=True, slots=True)
class _Removal:
    """A renewal in minor units: balance before, unused life and pay booked, balance after."""

    left: int
    unused: int
    paid: int
    now: int
    why: str


@dataclass(slots=True)
class _Sums:
    """The running sums of one account, in minor units."""

    opening: int
    paid: int = 0
    used: int = 0
    unused: int = 0

    def exchange(self, removal: _Removal) -> int:
        """Books a renewal; the balance of what is now in."""
        self.unused += removal.unused
        self.paid += removal.paid
        return removal.now

    def account(self, engine: str, slot: str, currency: str) -> Account:
        closing = self.opening + self.paid - self.used - self.unused
        amounts = (self.opening, self.paid, self.used, self.unused, closing)
        return Account(engine, slot, *(from_minor(amount, currency) for amount in amounts))


def ages_after(season: Season, state: machine.State, g: int, c: int) -> tuple[machine.Floats, machine.Floats]:
    """Duty and raw use of every life on a carrier after a run of the trace; before the first with g = -1."""
    if g < 0:
        return season.before_runs.age[c], season.before_runs.raw_age[c]
    return state.trace_age[g, c], state.trace_raw[g, c]


def factor_after(season: Season, state: machine.State, g: int, c: int, p: int) -> float:
    """What the service steps that a set has been through leave of its lives, after a run of the trace."""
    return float(season.problem.step_factor[p, steps_after(season, state, g, c, p)])


def steps_after(season: Season, state: machine.State, g: int, c: int, p: int) -> int:
    """The service steps that a set has been through after a run of the trace; before the first with g = -1."""
    return int(season.before_runs.step[c, p] if g < 0 else state.trace_step[g, c, p])


def share_worn(season: Season, state: machine.State, g: int, c: int, p: int) -> float:
    """The worn share of a position after a run of the trace; on opening day with g = -1."""
    ages, raws = ages_after(season, state, g, c)
    problem, factor = season.problem, factor_after(season, state, g, c, p)
    shares = (max(ages[j] / (problem.worn_at[j] * factor), raws[j] / problem.limit[j]) for j in season.lives(p))
    return float(max(shares, default=0.0))


def balance_after(season: Season, state: machine.State, g: int, c: int, p: int) -> int:
    """The balance of a position after a run of the trace, in minor units; on opening day with g = -1."""
    return balance_at(season, state, g, c, p, share_worn(season, state, g, c, p))


def balance_at(season: Season, state: machine.State, g: int, c: int, p: int, share: float) -> int:
    """The balance that the set which is in a position after a run would have at a worn share."""
    if g < 0:
        start = season.before_runs
        held = (start.item[c, p], start.step[c, p], start.value[c, p], start.worked[c, p])
    else:
        now = (state.trace_item, state.trace_step, state.trace_value, state.trace_worked)
        held = tuple(trace[g, c, p] for trace in now)
    item, step, value, worked = (int(number) for number in held)
    return machine.balance(season.problem, p, item, step, value, worked, share)


def _wear_rows(season: Season, state: machine.State, accounts: list[Account]) -> Iterator[Row]:
    """Life used by event and unused life by removal, for every position that has a life or is renewed."""
    by_spot: dict[tuple[int, int], dict[int, int]] = {}
    for n, row in enumerate(renewals_of(state).tolist()):
        by_spot.setdefault((row[1], row[2]), {})[row[0]] = n
    for c, carrier, p, spot in season.positions():
        if season.lives(p) or (c, p) in by_spot:
            sums = _Sums(balance_after(season, state, season.begin - 1, c, p))
            yield from _wear_of_position(season, state, sums, (c, p), by_spot.get((c, p), {}))
            accounts.append(sums.account(carrier, spot.slot, season.rates.currency))


def _wear_of_position(
    season: Season, state: machine.State, sums: _Sums, at: tuple[int, int], removals: dict[int, int]
) -> Iterator[Row]:
    """The wear of a position on a carrier; `removals`: by the run behind it, the number of each of its renewals."""
    c, p = at
    carrier, spot, now = season.carriers[c], season.spots[p], sums.opening
    item = season.items[int(season.start.item[c, p])]
    for runs in events_ahead(season):
        event, used = runs[0][1].event, 0
        for g, _ in runs:
            if g in removals:
                removal = _removal(state, removals[g], spot.pieces)
                used += now - removal.left
                now = sums.exchange(removal)
                yield from _unused(season, g, carrier, spot.slot, item.name, removal)
                item = season.items[int(state.renewals[removals[g], 11])]
            after = balance_after(season, state, g, c, p)
            used += now - after
            now = after
        sums.used += used
        if used:
            money = from_minor(used, season.rates.currency)
            why = f"life used of {spot.pieces} x {item.name} ({item.place})"
            yield Row("wear", event.date, event.event, carrier, spot.slot, item.name, "life used", money, why)
    yield from _wear_at_end(season, state, sums, at, removals.get(len(season.runs), -1), now, item)


def _wear_at_end(
    season: Season, state: machine.State, sums: _Sums, at: tuple[int, int], renewal: int, now: int, item: Item
) -> Iterator[Row]:
    """What a renewal after the last run leaves unused (-1: there is none), and by how much what is in is worth less
    than after that run: it is an opening older, or was run in."""
    (c, p), end = at, len(season.runs)
    carrier, spot = season.carriers[c], season.spots[p]
    if renewal >= 0:
        removal = _removal(state, renewal, spot.pieces)
        now = sums.exchange(removal)
        yield from _unused(season, end, carrier, spot.slot, item.name, removal)
    aged = now - machine.left_of(season.problem, state, c, p)
    if aged:
        sums.used += aged
        (day, after_all), money = gap_before(season.runs, end), from_minor(aged, season.rates.currency)
        why = f"one more opening, or run in, of {spot.pieces} x {season.items[int(state.item[c, p])].name}"
        yield Row("wear", day, after_all, carrier, spot.slot, item.name, "life used", money, why)


def _removal(state: machine.State, n: int, pieces: int) -> _Removal:
    """What a renewal does to the account of a position; a set mended by one piece is worth no more than before."""
    left, now, from_stock = state.left_behind[n].tolist()
    if state.renewals[n, 9] >= 0:
        paid = int(state.renewals[n, 6])
        return _Removal(left, left + paid - now, paid, now, "life left before a service step")
    if state.renewals[n, 4] < pieces:
        return _Removal(left, left + from_stock - now, from_stock, now, "a new piece in a set that keeps its age")
    return _Removal(left, left, now, now, "life left in what was taken out")


def _unused(season: Season, g: int, carrier: str, slot: str, name: str, removal: _Removal) -> Iterator[Row]:
    if removal.unused:
        day, event = gap_before(season.runs, g)
        money = from_minor(removal.unused, season.rates.currency)
        yield Row("wear", day, event, carrier, slot, name, "unused life", money, removal.why)


def _work_rows(season: Season, state: machine.State, accounts: list[Account]) -> Iterator[Row]:
    """Work owed on every level that costs anything: it grows over the interval, else evenly over the plan's runs."""
    for c, carrier in enumerate(season.carriers):
        for t, ladder in enumerate(season.ladders):
            if season.problem.ladder_on_car[t] != (c == len(season.carriers) - 1):
                continue
            for k, step in enumerate(ladder):
                cost = int(season.problem.cost[t, k])
                done = [
                    (g, top) for g, who, lad, top in openings_of(state).tolist() if (who, lad) == (c, t) and top >= k
                ]
                if cost and (season.problem.interval[t, k] < float("inf") or any(top == k for _, top in done)):
                    sums = _Sums(-work_owed(season, season.start.since[c, t, k], t, k))
                    yield from _work_of_level(season, state, sums, (c, t, k), dict(done))
                    accounts.append(sums.account(carrier, f"work: {step.level}", season.rates.currency))


def work_owed(season: Season, since: float, t: int, k: int) -> int:
    """Work owed in minor units after so much use since a level was last done; none for a level without an interval."""
    return machine.owed_after(season.problem, since, t, k)


def _work_of_level(
    season: Season, state: machine.State, sums: _Sums, level: tuple[int, int, int], done: dict[int, int]
) -> Iterator[Row]:
    c, t, k = level
    cost, by_interval = int(season.problem.cost[t, k]), season.problem.interval[t, k] < float("inf")
    step, carrier, currency = season.ladders[t][k], season.carriers[c], season.rates.currency
    even = [0] * season.begin + _evenly(cost * sum(top == k for top in done.values()), len(season.ahead))
    owed = -sums.opening
    for runs in events_ahead(season):
        event, grown = runs[0][1].event, 0
        for g, _ in runs:
            if g in done:
                released = _pay(sums, owed, cost if done[g] == k else 0, by_interval)
                owed = 0
                yield from _released(season, g, carrier, step.level, released)
            after = work_owed(season, state.trace_since[g, c, t, k], t, k) if by_interval else owed + even[g]
            grown += after - owed
            owed = after
        sums.used += grown
        if grown:
            why = f"work owed on level {step.level}" + (f" ({step.row.place})" if step.row else "")
            money = from_minor(grown, currency)
            yield Row("wear", event.date, event.event, carrier, step.level, "", "labour", money, why)
    end = len(season.runs)
    if end in done:
        released = _pay(sums, owed, cost if done[end] == k else 0, by_interval or not season.ahead)
        yield from _released(season, end, carrier, step.level, released)


def _evenly(amount: int, runs: int) -> list[int]:
    """An amount shared out evenly among runs, where there are any."""
    return list(split(amount, [1] * runs)) if runs else []


def _pay(sums: _Sums, owed: int, paid: int, by_interval: bool) -> int:
    """Pays a level off; what was owed too little (or too much) is booked as unused, and returned."""
    sums.paid += paid
    rest = paid - owed if by_interval else 0
    sums.unused += rest
    return rest


def _released(season: Season, g: int, carrier: str, level: str, rest: int) -> Iterator[Row]:
    if rest:
        day, event = gap_before(season.runs, g)
        why = "opened before its interval was up" if rest > 0 else "done within a larger opening"
        money = from_minor(rest, season.rates.currency)
        yield Row("wear", day, event, carrier, level, "", "unused life", money, why)
