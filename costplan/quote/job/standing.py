"""A job on a day: what was signed, what was found, who owes what, and what is earned against what was quoted."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from itertools import pairwise
from typing import Literal, TypeAlias

from costplan.money import round_money
from costplan.quote.job.booking import Booking, Ledger
from costplan.quote.job.cautions import cautions_of
from costplan.quote.job.earning import Earnings, earnings_of
from costplan.quote.job.jobs import Job
from costplan.quote.job.owing import Core, Dated, Days, Owing, cores_of, owed_if_refused, owing_of
from costplan.quote.job.rows import SIGNS, JobRow
from costplan.quote.records import Change, Quote
from costplan.quote.revisions import difference
from costplan.quote.shop import ShopBook
from costplan.quote.totals import Totals

#: How a job stands, in words; an older job without a request has hours only.
State: TypeAlias = Literal[
    "quoted",
    "accepted",
    "in hand",
    "stopped for a signature",
    "finished",
    "delivered",
    "settled",
    "refused",
    "hours only",
]
#: Words after which a job is in hand.
BEGINS = ("received", "found", "worked", "used", "bought")


@dataclass(frozen=True, slots=True)
class Signed:
    """A revision that the customer signed: when, who, and what it comes to."""

    revision: int
    on: date
    by: str
    reason: str
    net: Decimal
    gross: Decimal
    deposit: Decimal


@dataclass(frozen=True, slots=True)
class ChangeOrder:
    """A later revision that was signed, and what it comes to more than the one before."""

    revision: int
    on: date
    by: str
    reason: str
    more: Change


@dataclass(frozen=True, slots=True)
class Seen:
    """What was seen on a day: of some slots, or of the whole engine."""

    on: date
    slots: tuple[str, ...]
    note: str


@dataclass(frozen=True, slots=True)
class Stop:
    """A stop after tear-down; `signed`: the day on which the customer signed to go on, None while nobody did."""

    on: date
    note: str
    signed: date | None
    by: str


@dataclass(frozen=True, slots=True)
class Offered:
    """A saved revision that is later than the one signed, with what it comes to more; of the first, in all."""

    revision: int
    on: date
    reason: str
    more: Change


@dataclass(frozen=True, slots=True)
class Standing:
    """A job on a day. The `contract` is the latest revision `accepted` or agreed, None before there is one.

    `days`: when it was finished, delivered or refused; `offered`: a revision that waits for a signature. `earnings` are
    None without a contract. `cautions` are sentences; `rows` all that happened by the day.
    """

    job: str
    title: str
    customer: str
    on: date
    state: State
    currency: str
    invented: bool
    accepted: Signed | None
    contract: Signed | None
    offered: Offered | None
    change_orders: tuple[ChangeOrder, ...]
    received: tuple[Seen, ...]
    found: tuple[Seen, ...]
    stops: tuple[Stop, ...]
    days: Days
    owing: Owing
    cores: tuple[Core, ...]
    earnings: Earnings | None
    cautions: tuple[str, ...]
    rows: tuple[JobRow, ...]


def stand(job: Job, book: ShopBook, currency: str, on: date) -> Standing:
    """How a job stands on a day by its rows of then, which are without problems; money in `currency`."""
    seen = _Seen(job, book, currency, on)
    quote = seen.contract or seen.last
    earnings, owing, cores = seen.earnings(), seen.owing(), seen.cores()
    return Standing(
        job.name,
        quote.title if quote else "",
        quote.customer.name if quote else "",
        on,
        seen.state(owing, cores),
        currency,
        quote.invented if quote else False,
        seen.signed(seen.signings[0]) if seen.signings else None,
        seen.signed(seen.signings[-1]) if seen.signings else None,
        seen.offered(),
        tuple(seen.change_orders()),
        tuple(_seen(row) for row in seen.rows if row.what == "received"),
        tuple(_seen(row) for row in seen.rows if row.what == "found"),
        tuple(_stops(seen.rows)),
        seen.days,
        owing,
        cores,
        earnings,
        tuple(cautions_of(job, seen.rows, seen.contract, seen.bookings, earnings)),
        seen.rows,
    )


class _Seen:
    """A job as it was known on a day."""

    def __init__(self, job: Job, book: ShopBook, currency: str, on: date) -> None:
        self.job, self.book, self.currency, self.on = job, book, currency, on
        self.rows = tuple(row for row in job.rows if row.date <= on)
        self.signings = tuple(row for row in self.rows if row.what in SIGNS) if job.request else ()
        self.contract = self._quote(self.signings[-1]) if self.signings else None
        self.days = Days(on, *(_day_of(self.rows, word) for word in ("finished", "delivered", "refused")))
        self.ledger = Ledger(book, self.contract.lines if self.contract else (), job.lines, currency)
        self.bookings: tuple[Booking, ...] = self.ledger.bookings(self.rows)

    def _quote(self, row: JobRow) -> Quote:
        return self.job.quotes[row.revision or 0]

    @property
    def last(self) -> Quote | None:
        """The latest revision that was saved by the day."""
        known = [number for number, quote in self.job.quotes.items() if quote.on <= self.on]
        return self.job.quotes[max(known)] if known else None

    @property
    def refused(self) -> Totals | None:
        """What a refused job comes to instead of its contract; nothing where nobody had signed."""
        if self.days.refused is None or self.contract is None:
            return None
        return owed_if_refused(self.contract, self.rows, self.ledger)

    def signed(self, row: JobRow) -> Signed:
        """The revision that a row signs."""
        quote = self._quote(row)
        net, gross = quote.totals.net, quote.totals.gross
        return Signed(quote.revision, row.date, row.by, quote.reason, net, gross, quote.deposit)

    def change_orders(self) -> Iterator[ChangeOrder]:
        for before, row in pairwise(self.signings):
            quote = self._quote(row)
            yield ChangeOrder(quote.revision, row.date, row.by, quote.reason, _more(self._quote(before), quote))

    def offered(self) -> Offered | None:
        """The latest revision, where nobody has signed it and the job goes on."""
        last, now = self.last, self.contract
        ended = any((self.days.finished, self.days.delivered, self.days.refused))
        if last is None or ended or (now is not None and last.revision <= now.revision):
            return None
        more = _more(now, last) if now else Change(last.totals.net, last.totals.gross, last.margin.cost)
        return Offered(last.revision, last.on, last.reason, more)

    def earnings(self) -> Earnings | None:
        if self.contract is None:
            return None
        accepted, refused = self._quote(self.signings[0]), self.refused
        finished = self.days.finished is not None
        owed = refused.net if refused else None
        return earnings_of(accepted, self.contract, self.ledger, self.bookings, finished=finished, owed=owed)

    def owing(self) -> Owing:
        bills: list[Dated] = [(row.date, self._quote(row).totals.gross) for row in self.signings]
        if self.refused is not None and self.days.refused is not None:
            bills.append((self.days.refused, self.refused.gross))
        paid = [(row.date, row.amount) for row in self.rows if row.what == "paid" and row.amount is not None]
        payments = [(day, round_money(amount, self.currency)) for day, amount in paid]
        deposit = self.contract.deposit if self.contract else Decimal(0)
        return owing_of(self.book.header.charges, self.currency, bills, deposit, payments, self.days)

    def cores(self) -> tuple[Core, ...]:
        """Deposits on old pieces; a refused job keeps its old pieces."""
        if self.contract is None or self.days.refused is not None:
            return ()
        return cores_of(self.contract, self.rows)

    def state(self, owing: Owing, cores: Iterable[Core]) -> State:
        if not self.job.request:
            return "hours only"
        if self.days.refused is not None:
            return "refused"
        if self.days.delivered is not None:
            may_return = any(core.outstanding and core.by is not None and self.on <= core.by for core in cores)
            return "delivered" if owing.due or may_return else "settled"
        if self.days.finished is not None:
            return "finished"
        if any(stop.signed is None for stop in _stops(self.rows)):
            return "stopped for a signature"
        if self.contract is None:
            return "quoted"
        return "in hand" if any(row.what in BEGINS for row in self.rows) else "accepted"


def _day_of(rows: Iterable[JobRow], what: str) -> date | None:
    return next((row.date for row in rows if row.what == what), None)


def _more(before: Quote, after: Quote) -> Change:
    found = difference(before, after)
    return Change(found.net, found.gross, found.cost)


def _seen(row: JobRow) -> Seen:
    return Seen(row.date, row.slot, row.note)


def _stops(rows: Sequence[JobRow]) -> Iterator[Stop]:
    """The stops, each with the signature that came next."""
    for at, row in enumerate(rows):
        if row.what == "stopped":
            signing = next((one for one in rows[at:] if one.what in SIGNS), None)
            yield Stop(row.date, row.note, signing.date if signing else None, signing.by if signing else "")
