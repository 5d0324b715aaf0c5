"""All jobs on a day, a line each."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from costplan.quote.job.earning import Gain
from costplan.quote.job.jobs import Job
from costplan.quote.job.rows import OF_OLDER
from costplan.quote.job.standing import Standing, State, stand
from costplan.quote.shop import ShopBook


@dataclass(frozen=True, slots=True)
class JobListed:
    """A job in a line; amounts as in `Standing`, of its contract or, while it is quoted, of what is offered.

    `gain`: what it earned, or is forecast to while it is not `final`; None without a contract. `hours`: worked so far;
    `idle`: rows of an older job, without a request, that count for nothing, as of a name that was not meant.
    """

    job: str
    title: str
    customer: str
    state: State
    revision: int | None
    gross: Decimal | None
    paid: Decimal
    now: Decimal
    gain: Gain | None
    final: bool
    hours: Decimal
    idle: int
    cautions: int


def list_jobs(jobs: Iterable[Job], book: ShopBook, currency: str, on: date) -> tuple[JobListed, ...]:
    """The jobs of which something was quoted or had happened by a day."""
    known = (stand(job, book, currency, on) for job in jobs)
    return tuple(_listed(one) for one in known if one.rows or one.offered)


def _listed(standing: Standing) -> JobListed:
    """A job's line."""
    contract, offered, earnings = standing.contract, standing.offered, standing.earnings
    revision = contract.revision if contract else offered.revision if offered else None
    gross = contract.gross if contract else offered.more.gross if offered else None
    return JobListed(
        standing.job,
        standing.title,
        standing.customer,
        standing.state,
        revision,
        gross,
        standing.owing.paid,
        standing.owing.now,
        earnings.forecast if earnings else None,
        earnings is not None and earnings.earned is not None,
        sum((row.hours or Decimal(0) for row in standing.rows if row.what == "worked"), Decimal(0)),
        sum(row.what not in OF_OLDER for row in standing.rows) if standing.state == "hours only" else 0,
        len(standing.cautions),
    )
