"""What was booked on a job: hours, parts and bills, each with what it cost and the line that it belongs to."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from costplan.money import round_money
from costplan.quote.job.jobs import is_of, of_one
from costplan.quote.job.rows import BOOKS, JobRow
from costplan.quote.records import Line
from costplan.quote.shop import ShopBook, Work

#: What the keys of lines of work begin with, and those of what was booked and is in no contract.
WORK, PART, BOUGHT = "work/", "part/", "bought/"
NOTHING = Decimal(0)


@dataclass(frozen=True, slots=True)
class Booking:
    """A row of work or material: `key` of the line it is booked on, what it is, hours, and cost to the shop, rounded.

    `kind`: as of lines, '' for a bill that names no work.
    """

    row: JobRow
    key: str
    kind: str
    name: str
    hours: Decimal
    cost: Decimal


@dataclass(frozen=True)
class Ledger:
    """What bookings are held against: the shop book, the contract's lines, those of all revisions, the currency."""

    book: ShopBook
    contract: Sequence[Line]
    lines: Sequence[Line]
    currency: str

    @property
    def zero(self) -> Decimal:
        """Nothing, with the minor digits of the currency."""
        return round_money(NOTHING, self.currency)

    def bookings(self, rows: Iterable[JobRow]) -> tuple[Booking, ...]:
        """The bookings of a job's rows; the others are left out."""
        return tuple(self._booking(row) for row in rows if row.what in BOOKS)

    def key_of(self, line: Line) -> str:
        """The key that a line is booked by: lines of one work are booked together."""
        names = (row.work for row in self.book.work)
        own = (WORK + name for name in names if f"{line.key}/".startswith(f"{WORK}{name}/"))
        return max(own, key=len, default=line.key)

    def _booking(self, row: JobRow) -> Booking:
        if row.what == "used":
            return self._used(row)
        if row.what == "bought" and not row.work:
            return Booking(row, BOUGHT + row.note, "", row.note, NOTHING, self._rounded(row.cost))
        work = self._work(row.work)
        line = None if work else next((line for line in self._all() if line.key == row.work), None)
        key, kind, name = (WORK + work.work, work.kind, work.title) if work else _named(line, row.work)
        hours = row.hours or NOTHING
        cost = self._rounded(hours * self._an_hour(work, line)) if row.what == "worked" else self._rounded(row.cost)
        return Booking(row, key, kind, name, hours, cost)

    def _used(self, row: JobRow) -> Booking:
        """A part: at what it cost, else at what one of it costs by the contract, or else by another revision."""
        line = next((line for line in self._all() if is_of(line, row.part)), None)
        in_it = any(is_of(one, row.part) for one in self.contract)
        key, name = (line.key if line and in_it else PART + row.part), line.name if line else row.part
        if row.cost is not None or line is None:
            return Booking(row, key, "parts", name, NOTHING, self._rounded(row.cost))
        return Booking(row, key, "parts", name, NOTHING, self._rounded(of_one(line, line.cost) * (row.quantity or 0)))

    def _all(self) -> Iterator[Line]:
        yield from self.contract
        yield from self.lines

    def _work(self, name: str) -> Work | None:
        return next((row for row in self.book.work if row.work == name), None)

    def _an_hour(self, work: Work | None, line: Line | None) -> Decimal:
        """What an hour costs: by the rate of the work; of a line of the request as it has it, or by the first rate."""
        if work is None and line is not None and line.hours:
            return line.cost / line.hours
        return self.book.rate(work.rate if work else "").cost_per_hour

    def _rounded(self, amount: Decimal | None) -> Decimal:
        return round_money(amount or NOTHING, self.currency)


def _named(line: Line | None, word: str) -> tuple[str, str, str]:
    """Key, kind and name of a line that a row names by its key."""
    return (word, "", word) if line is None else (line.key, line.kind, line.name)
