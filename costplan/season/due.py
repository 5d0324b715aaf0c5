"""What must be done before the next race and the one after it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from costplan.money import from_minor
from costplan.season.jobs import Job, jobs_of
from costplan.season.names import Season
from costplan.season.plan import play_plan


@dataclass(frozen=True, slots=True)
class Due:
    """The jobs before one race: in the gaps since the race before it, practice days and shop dates included."""

    race: str
    date: date
    jobs: tuple[Job, ...]
    total: Decimal


def due_before(season: Season, on: date, races: int = 2) -> tuple[Due, ...]:
    """The jobs before each of the next races from a day on; none once the season is over."""
    jobs = jobs_of(season, play_plan(season))
    coming = [run.event for run in season.ahead if run.first and run.event.kind == "race" and run.event.date >= on]
    found: list[Due] = []
    none = from_minor(0, season.rates.currency)
    since = date.min if season.standing else on
    for event in coming[:races]:
        # A job is dated by the event it stands before or by its service row, so the first race takes what is between.
        due = tuple(job for job in jobs if since <= job.date <= event.date and job not in _taken(found))
        total = sum((job.total for job in due), none)
        found.append(Due(event.event, event.date, due, total))
        since = event.date
    return tuple(found)


def _taken(found: list[Due]) -> list[Job]:
    return [job for due in found for job in due.jobs]
