"""What the commands of `costplan job` share: the desk with its jobs, or the end of the command."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from costplan.cli.common import stop
from costplan.cli.quote.common import open_desk_or_stop

if TYPE_CHECKING:
    from costplan.quote import Desk
    from costplan.quote.job import Job


def open_jobs(
    folder: Path, sets: Iterable[str], *, as_json: bool, beside: Iterable[str] = ()
) -> tuple[Desk, tuple[Job, ...]]:
    """The desk of a scenario and its jobs, or the end of the command with all problems and status 2."""
    from costplan.quote.job import read_jobs

    desk = open_desk_or_stop(folder, sets, as_json=as_json, beside=beside)
    jobs, problems = read_jobs(desk, desk.settings)
    if problems:
        stop(problems, as_json=as_json)
    return desk, jobs
