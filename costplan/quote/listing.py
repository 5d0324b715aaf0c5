"""The requests of a scenario, each with the revisions that are saved of it."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from costplan.problems import Problem
from costplan.quote.desk import Desk
from costplan.quote.request import requests_in
from costplan.quote.revisions import read_revision, revisions_in


@dataclass(frozen=True, slots=True)
class Listed:
    """A request, what it is for, the numbers of its revisions, and the total of the last of them; None without any."""

    request: str
    number: str
    title: str
    of: str
    revisions: tuple[int, ...]
    gross: Decimal | None


def list_requests(desk: Desk) -> tuple[tuple[Listed, ...], tuple[Problem, ...]]:
    """All requests of the desk's folder, with the problems of those that cannot be read."""
    found, problems = list[Listed](), list[Problem]()
    for name in requests_in(desk.folder):
        asked, faults = desk.request(name)
        problems += faults
        numbers, gross = revisions_in(desk.folder, name), None
        if numbers:
            revision, faults = read_revision(desk.folder, name, numbers[-1])
            problems += faults
            gross = revision.quote.totals.gross if revision else None
        if asked is not None:
            head = asked.head
            of = f"{head.level} of {head.engine}" if head.engine else "new engine"
            found.append(Listed(name, head.number, head.title, of, numbers, gross))
    return tuple(found), tuple(problems)
