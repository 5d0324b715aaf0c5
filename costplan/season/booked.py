"""What a log says was booked or ordered: rows that paid for a level, a slot or a part of an event still to come."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from costplan.garage.log import Entry
from costplan.money import from_minor, round_money
from costplan.problems import Place
from costplan.season.jobs import Job
from costplan.season.names import Season


@dataclass(frozen=True, slots=True)
class Booking:
    """The first row that paid for something, and what all rows for it paid."""

    date: date
    place: Place
    paid: Decimal


@dataclass(frozen=True, slots=True)
class Booked:
    """The rows of a log that paid for something of an event; `entries`: those known by the day."""

    season: Season
    entries: Sequence[Entry]

    def bench(self, job: Job) -> Booking | None:
        """The level of an opening."""
        return self._by(row for row in self._for(job) if row.level == job.level and not row.slot and not row.part)

    def part(self, job: Job, slot: str, part: str) -> Booking | None:
        """A part for a slot: the row names the slot, the part or both."""
        rows = (row for row in self._for(job) if row.slot or row.part)
        return self._by(row for row in rows if (not row.slot or slot in row.slot) and row.part in ("", part))

    def kit(self, job: Job, kit: str, holds: Sequence[str]) -> Booking | None:
        """A kit: by its name, or by any of the slots that it is bought for."""
        slots = {renewal.slot for renewal in job.renewals if renewal.part in holds}
        return self._by(row for row in self._for(job) if row.part == kit or (not row.part and slots & set(row.slot)))

    def _by(self, rows: Iterable[Entry]) -> Booking | None:
        found, currency = list(rows), self.season.rates.currency
        paid = sum((round_money(row.paid, currency) for row in found), from_minor(0, currency))
        return Booking(found[0].date, found[0].place, paid) if found else None

    def _for(self, job: Job) -> list[Entry]:
        """The rows for an opening: of its engine or of none, and of the event, or of a service row before it."""
        names = self._names(job)
        paid = (row for row in self.entries if row.what == "paid" and row.paid > 0)
        return [row for row in paid if row.event in names and row.engine in ("", job.engine)]

    def _names(self, job: Job) -> set[str]:
        """What the log may call the event of an opening; a service row that is owed is done at the next one."""
        standing = self.season.standing
        owed = {one.what for one in standing.owed if one.level == job.level} if standing else set()
        gaps = ({one.event for one in (run.event, *run.services)} for run in self.season.runs)
        return next((names for names in gaps if job.before in names), {job.before}) | owed
