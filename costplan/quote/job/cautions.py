"""What the shop should know of a job, in sentences: booked before a signature, not in the contract, over the hours."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from costplan.quote.job.booking import Booking
from costplan.quote.job.earning import Earnings
from costplan.quote.job.jobs import Job
from costplan.quote.job.rows import BOOKS, OF_OLDER, SIGNS, JobRow
from costplan.quote.records import Quote
from costplan.quote.stated import plain

#: So many things are named in a sentence.
NAMED = 4


@dataclass(frozen=True, slots=True)
class Known:
    """What a caution is drawn from: the job with its rows of the day, the contract, what was booked and is earned."""

    job: Job
    rows: Sequence[JobRow]
    contract: Quote | None
    bookings: Sequence[Booking]
    earnings: Earnings | None


def cautions_of(
    job: Job, rows: Sequence[JobRow], contract: Quote | None, bookings: Sequence[Booking], earnings: Earnings | None
) -> Iterator[str]:
    """All cautions of a job, in the order of `CHECKS`."""
    known = Known(job, rows, contract, bookings, earnings)
    return (words for check in CHECKS for words in check(known))


def _without_request(known: Known) -> Iterator[str]:
    """An older job, of which the hours count and nothing else."""
    if known.job.request:
        return
    yield f"There is no quote-{known.job.name}.toml: only the hours of this job count."
    idle = list(dict.fromkeys(row.what for row in known.rows if row.what not in OF_OLDER))
    if idle:
        yield f"Rows of it that count for nothing: {_listed(idle)}."


def _late(known: Known) -> Iterator[str]:
    """Acceptance after the quote was valid."""
    for row in known.rows:
        quote = known.job.quotes.get(row.revision or 0)
        if row.what in SIGNS and quote is not None and row.date > quote.valid_until:
            yield f"Revision {quote.revision} was valid until {quote.valid_until}, and {row.what} on {row.date}."


def _before_signature(known: Known) -> Iterator[str]:
    """Work and material that nobody had signed for when it was booked."""
    booked = {id(one.row): one.name for one in known.bookings}
    early = [(row, since) for row, since in _unsigned(known.rows) if row.what in BOOKS]
    if early and known.job.request:
        names = _listed(f"{booked[id(row)]} on {row.date}" for row, _ in early)
        yield f"Booked before the customer signed: {names}."


def _unsigned(rows: Iterable[JobRow]) -> Iterator[tuple[JobRow, date | None]]:
    """Rows that stand before the customer signed: before the first signature, or behind a stop."""
    open_, since = True, None
    for row in rows:
        if row.what in SIGNS:
            open_, since = False, None
        elif row.what == "stopped":
            open_, since = True, row.date
        elif open_:
            yield row, since


def _ended_unsigned(known: Known) -> Iterator[str]:
    """A job that went on to its end though it waits for a signature."""
    ends = [row for row, since in _unsigned(known.rows) if row.what == "finished" and since is not None]
    for row in ends:
        yield f"Finished on {row.date} though the customer did not sign after the stop."


def _not_in_contract(known: Known) -> Iterator[str]:
    """What was booked and is in no line of the contract, so that nobody pays for it."""
    if known.earnings is None:
        return
    beside = [item for item in known.earnings.items if not item.lines]
    parts = [item for item in beside if item.kind == "parts"]
    for what, items in (("Used", parts), ("Booked", [item for item in beside if item not in parts])):
        if items:
            names = _listed(f"{item.name} ({item.actual_cost:,f})" for item in items)
            yield f"{what} and not in the contract: {names}."


def _hours_over(known: Known) -> Iterator[str]:
    """Operations that took more than a tenth more hours than quoted."""
    long = known.earnings.long if known.earnings else ()
    if long:
        names = _listed(f"{item.name} {plain(item.actual_hours)} h for {plain(item.hours)} h" for item in long)
        yield f"Hours over the quote by more than 10 %: {names}."


def _never_booked(known: Known) -> Iterator[str]:
    """Lines that no row names when the job is finished: done for nothing, or forgotten."""
    found = known.earnings
    if found is None or found.earned is None or not found.unbooked or _has(known.rows, "refused"):
        return
    names, quoted = _listed(item.name for item in found.unbooked), sum(item.cost for item in found.unbooked)
    yield (
        f"Never booked: {names}. Quoted to cost {quoted:,f}: either nothing was spent on it, or a row is missing and "
        "less is earned than it says."
    )


def _fetched_unpaid(known: Known) -> Iterator[str]:
    """An engine that left the shop before it was paid for."""
    delivered = next((row for row in known.rows if row.what == "delivered"), None)
    if delivered is None or known.contract is None or _has(known.rows, "refused"):
        return
    paid = sum(row.amount or 0 for row in known.rows if row.what == "paid" and row.date <= delivered.date)
    if paid < known.contract.totals.gross:
        left = known.contract.totals.gross - paid
        yield f"Fetched on {delivered.date} with {left:,f} of the contract unpaid."


#: Each says what it has to say of a job, or nothing.
CHECKS: tuple[Callable[[Known], Iterable[str]], ...] = (
    _without_request,
    _late,
    _before_signature,
    _ended_unsigned,
    _not_in_contract,
    _hours_over,
    _never_booked,
    _fetched_unpaid,
)


def _has(rows: Iterable[JobRow], what: str) -> bool:
    return any(row.what == what for row in rows)


def _listed(names: Iterable[str]) -> str:
    """Names, of many the first ones and how many more there are."""
    all_ = list(names)
    rest = [f"{len(all_) - NAMED} more"] if len(all_) > NAMED else []
    return ", ".join((*all_[:NAMED], *rest))
