"""One more row of a scenario's jobs.csv, written only if all jobs with it are in order."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from costplan.garage.appending import new_file, with_row
from costplan.garage.putting import put_behind
from costplan.problems import Place, Problem
from costplan.quote.desk import Desk
from costplan.quote.job.jobs import FILE, Job, read_jobs
from costplan.quote.job.rows import JobRow
from costplan.reading import columns, read_sheet, shown

#: Columns of numbers, which a file behind semicolons may write with a comma.
NUMBERS = ("quantity", "hours", "cost", "amount")


@dataclass(frozen=True, slots=True)
class AddedRow:
    """A row that was written, and the job with it."""

    row: JobRow
    job: Job


def add_row(desk: Desk, cells: Mapping[str, str]) -> tuple[AddedRow | None, tuple[Problem, ...], str]:
    """Writes one row behind the jobs of a desk's folder, whose file is made if there is none: whole or not at all.

    `cells`: what the row gives, by column. Nothing is written where there are problems, or where something stands in
    the way of it, which is then said. Who else writes a row at the same moment is let go first.
    """
    path = desk.folder / FILE
    return put_behind(path, lambda before: _text(path, before, cells), lambda draft: _read_back(desk, path, draft))


def _read_back(desk: Desk, path: Path, draft: Path) -> tuple[AddedRow | None, tuple[Problem, ...]]:
    """The jobs of a draft, and the row that stands last in it."""
    jobs, problems = read_jobs(desk, (), draft)
    return (None if problems else _last(jobs, path)), problems


def _last(jobs: tuple[Job, ...], path: Path) -> AddedRow:
    """The row that stands last in the file."""
    found = ((row, job) for job in jobs for row in job.rows)
    row, job = max(found, key=lambda pair: pair[0].place.line or 0)
    return AddedRow(row.model_copy(update={"place": Place(shown(path), row.place.line)}), job)


def _text(path: Path, before: bytes | None, cells: Mapping[str, str]) -> tuple[str | None, tuple[Problem, ...]]:
    """The file with the row, as it stands; None where it cannot be read."""
    if before is None and not path.exists():
        return new_file([column.name for column in columns(JobRow)], cells), ()
    sheet, problems = read_sheet(path)
    if sheet is None or problems or before is None:
        return None, problems
    comma = sheet.delimiter == ";"
    own = {name: cell.replace(".", ",") if comma and name in NUMBERS else cell for name, cell in cells.items()}
    return with_row(before.decode("utf-8"), sheet, own), ()
