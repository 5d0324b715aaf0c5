"""Who owes what on a job on a day: the contract's gross less what was paid, deposits, storage and interest.

Payments count against the whole: `balance` is the contract's gross (of a refused job what is owed instead) less all
that was paid, `due` that with storage and interest, which are before any tax. Deposits on old pieces are in the gross;
what is given back for a piece is handed over when it returns and is no payment.

Storage: the shop book's amount a day for each day that has passed since `storage_after_days` after the job was
finished, until it is delivered. Interest: the book's share a month of the balance that is overdue, which it is from
`late_after_days` after it was finished; simple, by days / 30, each day at what was unpaid at its end, rounded once.
A job that is not finished has neither.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from itertools import pairwise
from typing import TypeAlias

from costplan.money import round_money, with_minor_digits
from costplan.quote.job.booking import NOTHING, Ledger
from costplan.quote.job.jobs import is_of, of_one
from costplan.quote.job.rows import JobRow
from costplan.quote.records import Quote
from costplan.quote.shop import BUILD, Charges, ShopBook
from costplan.quote.totals import Tax, Totals, totals_of

#: Days of a month of interest.
MONTH = 30
#: An amount from a day on, or on it.
Dated: TypeAlias = tuple[date, Decimal]


@dataclass(frozen=True, slots=True)
class Owing:
    """What the customer owes, negative where the shop does.

    `storage_from` and `overdue_from`: the days after which storage and interest run, at so much `a_day` and at the
    share `a_month`; None before the job is finished. `ended`: it is finished or refused, so that all is owed now.
    """

    gross: Decimal
    paid: Decimal
    deposit: Decimal
    storage: Decimal
    storage_from: date | None
    a_day: Decimal
    interest: Decimal
    overdue_from: date | None
    a_month: Decimal
    ended: bool

    @property
    def balance(self) -> Decimal:
        return self.gross - self.paid

    @property
    def due(self) -> Decimal:
        return self.balance + self.storage + self.interest

    @property
    def deposit_owed(self) -> Decimal:
        return max(min(self.deposit, self.gross) - self.paid, NOTHING)

    @property
    def now(self) -> Decimal:
        """What is owed on the day: before the end of the job the rest of the deposit, or what was paid too much."""
        return self.due if self.ended or self.balance < 0 else self.deposit_owed


@dataclass(frozen=True, slots=True)
class Core:
    """A deposit on an old piece: charged, given back for what returned, and until when the rest may come back."""

    part: str
    name: str
    charged: Decimal
    given_back: Decimal
    by: date | None

    @property
    def outstanding(self) -> Decimal:
        """What is given back when the rest returns."""
        return max(self.charged - self.given_back, NOTHING)


@dataclass(frozen=True, slots=True)
class Days:
    """The days that count for what is owed: the day asked about, and those of its end, None while not come."""

    on: date
    finished: date | None
    delivered: date | None
    refused: date | None


def owing_of(
    charges: Charges, currency: str, bills: Sequence[Dated], deposit: Decimal, payments: Sequence[Dated], days: Days
) -> Owing:
    """What is owed on a day; `bills`: from which day on what was owed in all, of which the last holds."""
    zero = round_money(NOTHING, currency)
    stored = _after(days.finished, charges.storage_after_days)
    overdue = _after(days.finished, charges.late_after_days)
    return Owing(
        bills[-1][1] if bills else zero,
        sum((amount for _, amount in payments), zero),
        deposit,
        _storage(charges, stored, days.delivered or days.on, currency),
        stored,
        with_minor_digits(charges.storage_a_day, currency),
        _interest(charges, bills, payments, (overdue, days.on), currency),
        overdue,
        charges.late_a_month,
        days.finished is not None or days.refused is not None,
    )


def _after(day: date | None, days: int) -> date | None:
    return None if day is None else day + timedelta(days=days)


def _storage(charges: Charges, since: date | None, until: date, currency: str) -> Decimal:
    """A day's storage for each day that has passed."""
    days = 0 if since is None else max((until - since).days, 0)
    return round_money(charges.storage_a_day * days, currency)


def _interest(
    charges: Charges,
    bills: Sequence[Dated],
    payments: Sequence[Dated],
    span: tuple[date | None, date],
    currency: str,
) -> Decimal:
    """Simple interest over a span of days on what was unpaid in it, rounded once."""
    since, until = span
    if since is None or until <= since:
        return round_money(NOTHING, currency)
    turns = sorted({since, until, *(day for day, _ in (*bills, *payments) if since < day < until)})
    owed = (max(_unpaid(bills, payments, day), NOTHING) * (after - day).days for day, after in pairwise(turns))
    return round_money(charges.late_a_month * sum(owed, NOTHING) / MONTH, currency)


def _unpaid(bills: Iterable[Dated], payments: Iterable[Dated], day: date) -> Decimal:
    """The balance at the end of a day."""
    owed = [gross for since, gross in bills if since <= day]
    return (owed[-1] if owed else NOTHING) - sum((amount for when, amount in payments if when <= day), NOTHING)


def cores_of(contract: Quote, rows: Iterable[JobRow]) -> tuple[Core, ...]:
    """The deposits on old pieces of a contract, and what was given back of each."""
    charged: dict[str, tuple[str, Decimal]] = {}
    for line in contract.lines:
        if line.kind == "core":
            charged[line.part] = (line.name, charged.get(line.part, ("", NOTHING))[1] + line.net)
    given, zero = dict[str, Decimal](), round_money(NOTHING, contract.currency)
    for row in rows:
        if row.what == "returned":
            given[row.part] = given.get(row.part, zero) + (row.amount or zero)
    return tuple(
        Core(part, name, amount, given.get(part, zero), contract.core_by) for part, (name, amount) in charged.items()
    )


def owed_if_refused(contract: Quote, rows: Iterable[JobRow], ledger: Ledger) -> Totals:
    """What a job comes to that the customer does not go on with: what is owed if it stops, and parts already used.

    Parts at their price by the contract; those that it does not have at what they cost with the book's mark-up.
    """
    used = (_sold(contract, row, ledger) for row in rows if row.what == "used")
    return totals_of([*_stopped(contract, ledger.book), *used], contract.currency)


def _stopped(contract: Quote, book: ShopBook) -> Iterator[tuple[Decimal, Tax]]:
    """What is owed if work stops, by tax: its lines, or where the book has changed since, all as labour is taxed."""
    names = {f"work/{row.work}" for row in book.work if row.if_stopped}
    own = [(line.net, line.tax) for line in contract.lines if line.key in names]
    if sum((net for net, _ in own), NOTHING) == contract.if_stopped:
        yield from own
        return
    labour = (line.tax for line in contract.lines if line.kind == "labour")
    yield contract.if_stopped, next(labour, book.tax_row("labour", contract.level or BUILD).tax)


def _sold(contract: Quote, row: JobRow, ledger: Ledger) -> tuple[Decimal, Tax]:
    """What a part that was used is sold for, and its tax."""
    line = next((line for line in contract.lines if is_of(line, row.part)), None)
    if line is not None:
        return round_money(of_one(line, line.net) * (row.quantity or NOTHING), contract.currency), line.tax
    cost = ledger.bookings([row])[0].cost * (1 + ledger.book.header.markup.parts)
    return round_money(cost, contract.currency), ledger.book.tax_row("parts", contract.level or BUILD).tax
