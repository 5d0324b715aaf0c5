"""What a plan orders and books, by when, and what of it is paid with the order.

The latest day is counted back from the day on which the work begins (`begins`): by the lead days of a part and its
supplier's queue days, and for a bench by the shop's queue days.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from typing import Literal, TypeAlias

from costplan.catalog import Offer
from costplan.garage.log import Entry
from costplan.money import from_minor, round_money
from costplan.problems import Place
from costplan.season.booked import Booked, Booking
from costplan.season.calendar import gap_before
from costplan.season.jobs import Job
from costplan.season.ledger import Row
from costplan.season.names import Item, KitItem, Season, Step
from costplan.season.records import Supplier
from costplan.season.terms import terms_of

#: How an order looks on the day called now.
State: TypeAlias = Literal["past", "booked", "late", "soon", "later"]

#: Days ahead within which a latest day is called near.
SOON = 14

#: Cash rows at an opening that are no price of a part, a kit or the work itself.
_NO_PRICE = ("deposit", "refund", "income", "fee", "fixed")

#: A payment as ledger and orders both know it: day, engine, slot or level, part or kit, amount.
_Key = tuple[date, str, str, str, Decimal]


@dataclass(frozen=True, slots=True)
class Order:
    """One thing to order or to book: a part or a kit for one opening, or the bench of a shop for one.

    `needed`: the day the work must begin, and its parts must be there; `before`: the event after it.
    `state`: past where the gap lies before the day called now, booked where the log says that it was paid for (on the
    day `booked`, in the row `booked_at`, `paid` so far), late where the latest day does; `days_late` days, and
    `there_for` is the first event that it would still be there for if it were ordered now, '' where the season has
    none left. `with_order` + `on_delivery` is its price; for a bench the labour and the supplies of the level.
    """

    kind: Literal["part", "kit", "bench"]
    supplier: str
    name: str
    title: str
    engine: str
    slot: str
    count: int
    before: str
    needed: date
    lead_days: int
    queue_days: int
    order_by: date
    state: State
    days_late: int
    there_for: str
    with_order: Decimal
    on_delivery: Decimal
    why: str
    booked: date | None = None
    booked_at: Place | None = None
    paid: Decimal | None = None

    @property
    def total(self) -> Decimal:
        return self.with_order + self.on_delivery


@dataclass(frozen=True, slots=True)
class Together:
    """What goes to one supplier in the week that begins on a Monday; what is late goes there now."""

    supplier: str
    week: date
    names: tuple[str, ...]
    with_order: Decimal
    on_delivery: Decimal


@dataclass(frozen=True, slots=True)
class PartTotal:
    """All that is still ahead of one part or kit: in so many orders, packs or kits, the first by a day."""

    name: str
    title: str
    supplier: str
    orders: int
    count: int
    first_by: date
    total: Decimal


@dataclass(frozen=True, slots=True)
class Orders:
    """Everything a plan orders and books, by its latest day; sums and totals are of what is neither past nor booked."""

    on: date
    orders: tuple[Order, ...]
    together: tuple[Together, ...]
    parts: tuple[PartTotal, ...]
    with_order: Decimal
    on_delivery: Decimal


def orders_of(season: Season, jobs: Sequence[Job], on: date, entries: Sequence[Entry] = ()) -> Orders:
    """What a plan's openings order and book as seen on a day; `entries`: the rows of a log known by then."""
    booked = Booked(season, entries)
    found = tuple(sorted(_all_orders(season, jobs, on, booked), key=lambda order: (order.order_by, order.needed)))
    ahead = [order for order in found if order.state not in ("past", "booked")]
    with_order, on_delivery = _sums(season, ahead)
    return Orders(on, found, _together(season, ahead, on), _part_totals(season, ahead), with_order, on_delivery)


def with_deposits(season: Season, rows: Sequence[Row], jobs: Sequence[Job]) -> tuple[Row, ...]:
    """Cash rows with what is paid with an order on its latest day, in money as much as before.

    Nothing is paid before the books open, nor before the day up to which a log tells what happened. Core charges, fees
    and service operations are paid on the day itself.
    """
    if not any(row.deposit for row in season.files.suppliers):
        return tuple(rows)
    payable, floor = _payable(season, jobs), season.standing.on if season.standing else season.opening
    split = (part for row in rows for part in _split(row, payable, floor, season.rates.currency))
    return tuple(sorted(split, key=lambda row: row.date))


def _split(row: Row, payable: dict[_Key, tuple[date, Supplier]], floor: date, currency: str) -> Iterator[Row]:
    key = (row.date, row.engine, row.slot, row.part, row.amount)
    if row.view != "cash" or row.cause in _NO_PRICE or key not in payable:
        yield row
        return
    order_by, terms = payable[key]
    day, first, at = max(order_by, floor), _share(row.amount, terms, currency), _at(terms)
    if not first or day >= row.date:
        yield row
        return
    why = f"{row.why}; {100 * terms.deposit:g} % of {row.amount} with the order{at}"
    yield replace(row, date=day, amount=first, why=why)
    if row.amount != first:
        yield replace(row, amount=row.amount - first, why=f"{row.why}; the rest of {row.amount}{at}")


def _share(amount: Decimal, terms: Supplier, currency: str) -> Decimal:
    """What of a price is paid with the order; the rest is the price less it."""
    return round_money(amount * Decimal(repr(terms.deposit)), currency)


def _at(terms: Supplier) -> str:
    return f" ({terms.place})" if str(terms.place) else ""


def _payable(season: Season, jobs: Sequence[Job]) -> dict[_Key, tuple[date, Supplier]]:
    """The prices that a deposit may be asked on, each with the latest day of its order and the terms."""
    found = {}
    for job in jobs:
        for part in job.renewals:
            if part.packs_bought and part.supplier:
                key = (job.date, job.engine, part.slot, part.part, part.paid)
                found[key] = (part.order_by, terms_of(season.files, part.supplier))
        for kit in job.kits:
            key = (job.date, job.engine, "", kit.kit, kit.paid)
            found[key] = (kit.order_by, terms_of(season.files, kit.supplier))
        if job.shop:
            terms = terms_of(season.files, job.shop)
            by = job.begins - timedelta(days=terms.queue_days)
            found |= {(job.date, job.engine, job.level, "", paid): (by, terms) for paid in (job.labour, job.supplies)}
    return found


def _steps(season: Season) -> dict[str, Step]:
    return {step.level: step for ladder in season.ladders for step in ladder}


@dataclass(frozen=True, slots=True)
class _Wanted:
    """What is to be ordered, before it is asked when: `lead_days` of the part, `work_days` of a shop that wants it."""

    kind: Literal["part", "kit", "bench"]
    supplier: str
    name: str
    title: str
    slot: str
    count: int
    prices: tuple[Decimal, ...]
    where: str
    needed: date
    work_days: int
    lead_days: int = 0
    booking: Booking | None = None


def _all_orders(season: Season, jobs: Sequence[Job], on: date, booked: Booked) -> Iterator[Order]:
    for job, wanted in _all_wanted(season, jobs, booked):
        order = _order(season, job, wanted, terms_of(season.files, wanted.supplier), on)
        yield _as_booked(order, wanted.booking) if wanted.booking and order.state != "past" else order


def _as_booked(order: Order, by: Booking) -> Order:
    """An order that is made already, and is late no more."""
    return replace(order, state="booked", days_late=0, there_for="", booked=by.date, booked_at=by.place, paid=by.paid)


def _all_wanted(season: Season, jobs: Sequence[Job], booked: Booked) -> Iterator[tuple[Job, _Wanted]]:
    offers, steps = _offers_by_day(season), _steps(season)
    for job in jobs:
        step = steps[job.level]
        for part in job.renewals:
            if part.packs_bought and part.supplier:
                offer, what = offers[part.part, job.date], (part.part, part.name, part.slot, part.packs_bought)
                by = booked.part(job, part.slot, part.part)
                yield job, replace(_wanted(job, step, offer, "part", what, part.paid), booking=by)
        for kit in job.kits:
            what = (kit.kit, kit.name, "", kit.count)
            wanted = _wanted(job, step, offers[kit.kit, job.date], "kit", what, kit.paid)
            yield job, replace(wanted, booking=booked.kit(job, kit.kit, kit.holds))
        if job.shop:
            yield job, replace(_bench(job, step), booking=booked.bench(job))


def _wanted(
    job: Job, step: Step, offer: Offer, kind: Literal["part", "kit"], what: tuple[str, str, str, int], paid: Decimal
) -> _Wanted:
    where, work = f"price and lead days ({offer.place})", step.days if job.shop else 0
    return _Wanted(kind, offer.supplier, *what, (paid,), where, job.begins, work, offer.lead_days)


def _bench(job: Job, step: Step) -> _Wanted:
    where, prices = f"labour and supplies ({step.row.place})" if step.row else "", (job.labour, job.supplies)
    return _Wanted("bench", job.shop, job.level, "", "", 1, prices, where, job.begins, step.days)


def _offers_by_day(season: Season) -> dict[tuple[str, date], Offer]:
    """The offer at which each part and kit is bought on the day of each gap."""
    days = [gap_before(season.runs, g)[0] for g in range(len(season.runs) + 1)]
    sold: tuple[Item | KitItem, ...] = (*season.items, *season.kits)
    return {(one.name, day): offer for one in sold for day, offer in zip(days, one.offers, strict=False)}


def _order(season: Season, job: Job, wanted: _Wanted, terms: Supplier, on: date) -> Order:
    """Wanted things with their latest day, how that looks on a day, and what is paid when."""
    ahead = wanted.lead_days + terms.queue_days
    by = wanted.needed - timedelta(days=ahead)
    state, late = _seen_on(on, by, job.date)
    first = sum((_share(price, terms, season.rates.currency) for price in wanted.prices), Decimal(0))
    return Order(
        wanted.kind,
        wanted.supplier,
        wanted.name,
        wanted.title,
        job.engine,
        wanted.slot,
        wanted.count,
        job.before,
        wanted.needed,
        wanted.lead_days,
        terms.queue_days,
        by,
        state,
        late,
        _first_event(season, on + timedelta(days=ahead + wanted.work_days)) if late else "",
        first,
        sum(wanted.prices, Decimal(0)) - first,
        f"{wanted.where}; queue and deposit{_at(terms)}" if _at(terms) else wanted.where,
    )


def _seen_on(on: date, by: date, day: date) -> tuple[State, int]:
    """How an order by some day for the work of another looks on a third, and how many days late it is."""
    if day < on:
        return "past", 0
    if by < on:
        return "late", (on - by).days
    return "soon" if (by - on).days <= SOON else "later", 0


def _first_event(season: Season, day: date) -> str:
    """The first event on or after a day; '' where none is left."""
    return next((run.event.event for run in season.runs if run.event.date >= day), "")


def _sums(season: Season, orders: Iterable[Order]) -> tuple[Decimal, Decimal]:
    """What some orders take with the order and on delivery."""
    first = rest = from_minor(0, season.rates.currency)
    for order in orders:
        first, rest = first + order.with_order, rest + order.on_delivery
    return first, rest


def _together(season: Season, ahead: Sequence[Order], on: date) -> tuple[Together, ...]:
    groups: dict[tuple[date, str], list[Order]] = {}
    for order in ahead:
        day = max(order.order_by, on)
        groups.setdefault((day - timedelta(days=day.weekday()), order.supplier), []).append(order)
    return tuple(
        Together(supplier, week, tuple(dict.fromkeys(order.name for order in found)), *_sums(season, found))
        for (week, supplier), found in sorted(groups.items(), key=lambda entry: entry[0])
    )


def _part_totals(season: Season, ahead: Sequence[Order]) -> tuple[PartTotal, ...]:
    """Parts and kits by the first day of an order, where one supplier's differs from another's each by itself."""
    groups: dict[tuple[str, str], list[Order]] = {}
    for order in ahead:
        if order.kind != "bench":
            groups.setdefault((order.name, order.supplier), []).append(order)
    return tuple(
        PartTotal(
            name,
            found[0].title,
            supplier,
            len(found),
            sum(order.count for order in found),
            found[0].order_by,
            sum(_sums(season, found), Decimal(0)),
        )
        for (name, supplier), found in groups.items()
    )
