"""Jobs: the rows of jobs.csv by job, each with the revisions that are saved of its request; and all their problems."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path

from costplan.problems import Problem, Problems, in_order, nearest
from costplan.quote.desk import Desk
from costplan.quote.job.rows import SIGNS, JobRow, KnownNames, check_rows, read_rows
from costplan.quote.job.turns import check_turns
from costplan.quote.records import Line, Quote
from costplan.quote.request import requests_in
from costplan.quote.revisions import read_revision, revisions_in
from costplan.reading import Setting

#: What the file is called.
FILE = "jobs.csv"


@dataclass(frozen=True, slots=True)
class Job:
    """A job: its rows in time order, and by number the revisions that are saved of its request.

    Of an older job without a `request` only the hours count.
    """

    name: str
    rows: tuple[JobRow, ...]
    quotes: Mapping[int, Quote] = field(default_factory=dict)
    request: bool = True

    @property
    def lines(self) -> tuple[Line, ...]:
        """The lines of all revisions, the latest first."""
        return tuple(line for number in sorted(self.quotes, reverse=True) for line in self.quotes[number].lines)


def read_jobs(
    desk: Desk, settings: tuple[Setting, ...] = (), file: Path | None = None
) -> tuple[tuple[Job, ...], tuple[Problem, ...]]:
    """The jobs of a desk's folder, those of requests first, with all problems; none where there is a problem.

    A request of which a revision is saved is a job that nothing has happened to yet. `file`: read in place of the
    folder's jobs.csv.
    """
    rows, faults = read_rows(file or desk.folder / FILE, settings)
    at_fault = {fault.place for fault in faults}
    sound = [row for row in rows if row.place not in at_fault]
    problems = Problems([*faults, *check_rows(sound, known_names(desk))])
    jobs = tuple(_jobs(desk, rows, problems))
    if not problems:
        problems.extend(found for job in jobs for found in _check(job, desk))
    return (() if problems else jobs), in_order(problems.found)


def known_names(desk: Desk) -> KnownNames:
    """What rows of a desk's folder may name."""
    catalog = desk.scenario.catalog
    parts = [*catalog.parts, *catalog.kits] if catalog else []
    slots = desk.scenario.built().pattern.slots
    work = [row.work for row in desk.book.work]
    return KnownNames(requests_in(desk.folder), work, slots, parts, desk.scenario.header.currency)


def _jobs(desk: Desk, rows: Iterable[JobRow], problems: Problems) -> Iterator[Job]:
    """Requests with what is saved of them, in their order, then older jobs in the order of their first rows."""
    by_job: dict[str, list[JobRow]] = {}
    for row in rows:
        by_job.setdefault(row.job, []).append(row)
    requests = requests_in(desk.folder)
    for name in requests:
        numbers = revisions_in(desk.folder, name)
        own = tuple(by_job.get(name, ()))
        problems.extend(_unsaved(own, numbers))
        quotes = dict(_quotes(desk, name, numbers, problems))
        problems.extend(_in_another_currency(own, quotes, desk.scenario.header.currency))
        if own or numbers:
            yield Job(name, own, quotes)
    yield from (Job(name, tuple(own), {}, request=False) for name, own in by_job.items() if name not in requests)


def _unsaved(rows: Iterable[JobRow], numbers: tuple[int, ...]) -> Iterator[Problem]:
    """Revisions that a customer signed and that are not saved."""
    for row in rows:
        if row.what in SIGNS and row.revision is not None and row.revision not in numbers:
            there = f"there are {', '.join(map(str, numbers))}" if numbers else "none is; `costplan quote save` does"
            yield Problem("JOB004", row.place, "revision", str(row.revision), "a revision that is not saved:", there)


def _in_another_currency(rows: Iterable[JobRow], quotes: Mapping[int, Quote], currency: str) -> Iterator[Problem]:
    """Revisions that were signed in a currency that the scenario no longer counts in."""
    for row in rows:
        quote = quotes.get(row.revision or 0) if row.what in SIGNS else None
        if quote is not None and quote.currency != currency:
            what, advice = f"a revision in {quote.currency}, and the scenario counts in {currency}:", "give one in that"
            yield Problem("JOB014", row.place, "revision", str(row.revision), what, advice)


def _quotes(desk: Desk, name: str, numbers: Iterable[int], problems: Problems) -> Iterator[tuple[int, Quote]]:
    for number in numbers:
        revision, faults = read_revision(desk.folder, name, number)
        problems.extend(faults)
        if revision is not None:
            yield number, revision.quote


def _check(job: Job, desk: Desk) -> Iterator[Problem]:
    """What only shows beside the revisions: work and parts that are not known, deposits, and rows out of turn."""
    known, lines = known_names(desk), job.lines
    keys = [line.key for line in lines if line.kind not in ("core", "credit")]
    parts = [name for line in lines if line.kind == "parts" for name in (line.part, line.key) if name]
    for row in job.rows:
        yield from _unknown("JOB005", row, "work", (*known.work, *keys))
        if row.what == "used":
            yield from _unknown("JOB007", row, "part", (*parts, *known.parts))
            yield from _without_cost(row, lines)
    yield from _returned(job)
    yield from check_turns(job.rows, {number: quote.on for number, quote in job.quotes.items()})


def _unknown(code: str, row: JobRow, field_name: str, known: Iterable[str]) -> Iterator[Problem]:
    word, names = getattr(row, field_name), list(dict.fromkeys(known))
    if word and word not in names:
        yield Problem(code, row.place, field_name, word, f"an unknown {field_name}:", nearest(word, names))


def _without_cost(row: JobRow, lines: Iterable[Line]) -> Iterator[Problem]:
    """A part that no revision has, without what it cost."""
    if row.cost is None and not any(is_of(line, row.part) for line in lines):
        what = f"no revision has {row.part}, so that its cost is not known:"
        yield Problem("JOB001", row.place, "cost", "", what, "give what it cost the shop")


def is_of(line: Line, part: str) -> bool:
    """Whether a line sells a part, or is called so by its key."""
    return line.kind == "parts" and part in (line.part, line.key)


def of_one(line: Line, amount: Decimal) -> Decimal:
    """What of an amount of a line falls to one of its quantity, unrounded."""
    return amount / line.quantity if line.quantity else amount


def _returned(job: Job) -> Iterator[Problem]:
    """Deposits that are given back and were never charged, or not so much."""
    charged: dict[str, Decimal] = {}
    for quote in job.quotes.values():
        for part in dict.fromkeys(line.part for line in quote.lines if line.kind == "core"):
            total = sum((line.net for line in quote.lines if line.kind == "core" and line.part == part), Decimal(0))
            charged[part] = max(charged.get(part, Decimal(0)), total)
    given: dict[str, Decimal] = {}
    for row in job.rows:
        if row.what != "returned" or row.amount is None:
            continue
        given[row.part] = given.get(row.part, Decimal(0)) + row.amount
        if row.part not in charged:
            advice = nearest(row.part, charged) if charged else "no revision charges any; money back is paid, below 0"
            yield Problem("JOB012", row.place, "part", row.part, "no deposit on an old piece of", advice)
        elif given[row.part] > charged[row.part]:
            what = f"more in all than the deposit of {charged[row.part]} on {row.part}:"
            yield Problem("JOB012", row.place, "amount", str(row.amount), what, "give what came back of it")
