"""Hours by operation over the jobs that are done, against those of work.csv.

A job counts once it is finished or delivered; an older job without a request counts with its `worked` rows. The hours
of an operation in a job are added up and divided by how often it was done: by the `quantity` that its rows give; else,
for work by the job, by the lines that the contract has of it (once where there is no contract), and for work by the
piece by the pieces of those lines. A line that is priced by the hour has no pieces written on it: they are its hours
over those of work.csv, where that is a whole number. Where it is none, work.csv has other hours by now, and the
operation is left out of that job's figures unless its rows give the quantity. What was booked at no hours was not done.

Hours are hours of work, means not rounded, deviations those of a sample (n - 1). One job says little: of one there is
no deviation, and nobody knows how another would have gone.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal

from costplan.money import round_money
from costplan.quote.job.booking import WORK
from costplan.quote.job.jobs import Job
from costplan.quote.job.rows import SIGNS, JobRow
from costplan.quote.records import Line
from costplan.quote.shop import ShopBook, Work

#: An operation must have been done in so many jobs for a deviation, and before its hours are worth writing.
TWO = 2
#: Hours are written to a tenth, those below one hour to a hundredth.
TENTH, HUNDREDTH = Decimal("0.1"), Decimal("0.01")


@dataclass(frozen=True, slots=True)
class WorkHours:
    """The hours of one operation, for each job or piece (`per`), over the jobs in which it was done.

    `listed`: what work.csv has, and `listed_source` whose word that is; `difference`: by which share the mean is above
    it, None where it has none; `worth`: what that comes to in one job at the rate's price, negative where less is
    needed; `pieces` of a job in the mean. `hours` and `source`: the cells that work.csv would have.
    """

    work: str
    name: str
    per: str
    jobs: int
    mean: Decimal
    smallest: Decimal
    largest: Decimal
    deviation: Decimal | None
    first: date
    last: date
    listed: Decimal
    listed_source: str
    difference: Decimal | None
    pieces: Decimal
    worth: Decimal
    hours: Decimal
    source: str

    @property
    def says_little(self) -> bool:
        """Whether it rests on one job alone."""
        return self.jobs < TWO


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Hours that are in no figure: of a whole job, or of one operation of it, and why."""

    job: str
    work: str
    why: str


@dataclass(frozen=True, slots=True)
class HoursFound:
    """The hours by operation, in the order of work.csv, of so many jobs, and what is left out of them."""

    jobs: int
    works: tuple[WorkHours, ...]
    left_out: tuple[LeftOut, ...]


@dataclass(frozen=True, slots=True)
class _Done:
    """The hours that one job took for one of an operation (`each`), how often it was done, and on which days."""

    each: Decimal
    count: Decimal
    days: tuple[date, ...]


def hours_of(jobs: Iterable[Job], book: ShopBook, currency: str) -> HoursFound:
    """The hours by operation over all jobs that are done."""
    left, done, counted = list[LeftOut](), dict[str, list[_Done]](), 0
    for job in jobs:
        if not any(_hours_by_work(job.rows)):
            continue
        if job.request and not any(row.what in ("finished", "delivered") for row in job.rows):
            left.append(LeftOut(job.name, "", "not finished"))
            continue
        counted += 1
        for name, rows in _hours_by_work(job.rows).items():
            _take(job, name, rows, book, done, left)
    works = tuple(_hours(row, done[row.work], book, currency) for row in book.work if row.work in done)
    return HoursFound(counted, works, tuple(left))


def _hours_by_work(rows: Iterable[JobRow]) -> dict[str, list[JobRow]]:
    found: dict[str, list[JobRow]] = {}
    for row in rows:
        if row.what == "worked" and row.hours is not None:
            found.setdefault(row.work, []).append(row)
    return found


def _take(
    job: Job, name: str, rows: Sequence[JobRow], book: ShopBook, done: dict[str, list[_Done]], left: list[LeftOut]
) -> None:
    """Puts the hours of an operation in a job with the others of it, or says why not."""
    work = next((row for row in book.work if row.work == name), None)
    hours = sum((row.hours or Decimal(0) for row in rows), Decimal(0))
    if work is None or work.kind != "labour":
        left.append(LeftOut(job.name, name, "no labour of work.csv"))
    elif hours:
        count = _count(job, work, rows)
        if count is None:
            left.append(LeftOut(job.name, name, "by the piece, and nothing says how many; give quantity"))
        else:
            days = tuple(row.date for row in rows)
            done.setdefault(name, []).append(_Done(hours / count, count, days))


def _count(job: Job, work: Work, rows: Sequence[JobRow]) -> Decimal | None:
    """How often an operation was done in a job; None where it is by the piece and nobody knows."""
    given = sum((row.quantity or Decimal(0) for row in rows), Decimal(0))
    lines = [line for line in _contract(job) if f"{line.key}/".startswith(f"{WORK}{work.work}/")]
    if given:
        return given
    if work.per == "job":
        return Decimal(len(lines) or 1)
    pieces = [_pieces(line, work) for line in lines]
    return None if not pieces or None in pieces else sum((one for one in pieces if one is not None), Decimal(0))


def _contract(job: Job) -> tuple[Line, ...]:
    signed = [row.revision for row in job.rows if row.what in SIGNS]
    return job.quotes[signed[-1] or 0].lines if job.request and signed else ()


def _pieces(line: Line, work: Work) -> Decimal | None:
    """The pieces of a line: as it says, or its hours over those of one piece, where that is a whole number."""
    if line.unit == "piece":
        return line.quantity
    count = line.hours / work.hours if work.hours else Decimal(0)
    return count if count and count == count.to_integral_value() else None


def _hours(work: Work, done: Sequence[_Done], book: ShopBook, currency: str) -> WorkHours:
    each, days = [one.each for one in done], sorted(day for one in done for day in one.days)
    mean, pieces = _mean(each), _mean([one.count for one in done])
    more, jobs = mean - work.hours, len(done)
    return WorkHours(
        work.work,
        work.title,
        work.per,
        jobs,
        mean,
        min(each),
        max(each),
        deviation_of(each),
        days[0],
        days[-1],
        work.hours,
        work.source,
        more / work.hours if work.hours else None,
        pieces,
        round_money(more * pieces * book.rate(work.rate).per_hour, currency),
        to_write(mean),
        f"mean of {jobs} jobs, {days[0]} to {days[-1]}" if jobs >= TWO else f"1 job, {days[-1]}: one job says little",
    )


def _mean(values: Sequence[Decimal]) -> Decimal:
    return sum(values, Decimal(0)) / len(values)


def deviation_of(values: Sequence[Decimal]) -> Decimal | None:
    """The standard deviation of a sample, in its unit: the root of the squares about the mean over n - 1.

    None for less than two values.

    >>> deviation_of([Decimal(8), Decimal(10)]), deviation_of([Decimal(8)])
    (Decimal('1.414213562373095048801688724'), None)
    """
    if len(values) < TWO:
        return None
    mean = _mean(values)
    return (sum(((value - mean) ** 2 for value in values), Decimal(0)) / (len(values) - 1)).sqrt()


def to_write(mean: Decimal) -> Decimal:
    """Hours as they are written into work.csv: to a tenth, below one hour to a hundredth.

    >>> to_write(Decimal("9.6667")), to_write(Decimal("0.1167")), to_write(Decimal("3.0"))
    (Decimal('9.7'), Decimal('0.12'), Decimal('3'))
    """
    step = TENTH if mean >= 1 else HUNDREDTH
    rounded = mean.quantize(step, ROUND_HALF_UP)
    return rounded.quantize(Decimal(1)) if rounded == rounded.to_integral_value() else rounded


def cells_to_write(found: HoursFound, least: int) -> Mapping[str, Mapping[str, str]]:
    """The cells that work.csv gets, by row and column, of operations that were done in so many jobs at least."""
    return {
        one.work: {"hours": f"{one.hours:f}", "source": one.source}
        for one in found.works
        if one.jobs >= least and one.hours
    }
