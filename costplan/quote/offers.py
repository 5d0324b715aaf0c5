"""The season's service plan as the shop would price it: each opening of the plan beside the racer's own figures."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from costplan.money import round_to, with_minor_digits
from costplan.problems import Problem
from costplan.quote.desk import Desk
from costplan.quote.quoting import make_quote
from costplan.quote.records import Quote, net_of
from costplan.quote.request import Asked, Request
from costplan.season.jobs import Job

#: Kinds that levels.csv calls labour; the other kinds but parts and cores it calls supplies.
LABOUR = ("labour", "sublet")


@dataclass(frozen=True, slots=True)
class Offer:
    """One opening of the plan, and what the shop asks for it: `work` and `parts` before tax, `gross` with it.

    `plan_work` and `plan_parts`: the racer's own figures. The plan takes spares out of the box, and so does the shop.
    `expected`: with tax, and with what tear-down may show.
    """

    begins: date
    before: str
    engine: str
    level: str
    plan_work: Decimal
    plan_parts: Decimal
    work: Decimal
    parts: Decimal
    net: Decimal
    gross: Decimal
    expected: Decimal
    margin: Decimal | None
    hours: Decimal
    ready: date
    quote: Quote

    @property
    def more(self) -> Decimal:
        """What the shop asks more, before tax, than the racer's files have."""
        return self.net - self.plan_work - self.plan_parts


@dataclass(frozen=True, slots=True)
class OfferCopy:
    """An offer as the customer is given it: without cost and margin. Amounts as in `Offer`."""

    begins: date
    ready: date
    before: str
    engine: str
    level: str
    work: Decimal
    parts: Decimal
    net: Decimal
    gross: Decimal
    expected: Decimal


@dataclass(frozen=True, slots=True)
class OffersCopy:
    """The customer's copy of a season's offers."""

    on: date
    shop: str
    currency: str
    offers: tuple[OfferCopy, ...]
    net: Decimal
    gross: Decimal
    expected: Decimal


@dataclass(frozen=True, slots=True)
class LevelFigures:
    """What one opening of a level costs at the shop, on average over its offers: cells for levels.csv."""

    level: str
    offers: int
    labour: Decimal
    supplies: Decimal
    listed_labour: Decimal
    listed_supplies: Decimal


@dataclass(frozen=True, slots=True)
class Offers:
    """All offers of a season from a day on, their sums, and what the shop does not do."""

    on: date
    shop: str
    currency: str
    offers: tuple[Offer, ...]
    levels: tuple[LevelFigures, ...]
    elsewhere: tuple[str, ...]

    def total(self, name: str) -> Decimal:
        """The sum of one amount over all offers."""
        return sum((getattr(one, name) for one in self.offers), Decimal(0))

    @property
    def plan(self) -> Decimal:
        """What the racer's files have for the same openings, before tax where their prices are."""
        return self.total("plan_work") + self.total("plan_parts")

    @property
    def net(self) -> Decimal:
        return self.total("net")

    @property
    def more(self) -> Decimal:
        """What the shop asks more than the racer's files have."""
        return self.net - self.plan

    @property
    def gross(self) -> Decimal:
        return self.total("gross")

    @property
    def expected(self) -> Decimal:
        return self.total("expected")


def offers_of(desk: Desk, on: date) -> tuple[Offers | None, tuple[Problem, ...]]:
    """Every opening of the plan from a day on that the shop offers, priced as on that day."""
    plan, problems = desk.plan_on(on)
    if plan is None:
        return None, problems
    rows = {row.level: row for row in desk.scenario.files.levels if row.shop in ("", desk.book.header.shop)}
    worked = {name for row in desk.book.work for name in row.jobs}
    ours = {name for name, row in rows.items() if row.shop or name in worked}
    offers = []
    for (gap, *_), job in plan.jobs.items():
        if job.level not in ours or job.begins < on:
            continue
        quote, faults = _quoted(desk, job, gap, on)
        if quote is None:
            return None, faults
        offers.append(_offer(job, quote))
    kinds = tuple(_levels(desk, offers))
    away = dict.fromkeys(job.level for job in plan.jobs.values() if job.level not in ours and job.work)
    return Offers(on, desk.book.header.shop, desk.scenario.header.currency, tuple(offers), kinds, tuple(away)), ()


def copy_of_offers(found: Offers) -> OffersCopy:
    """What of the offers the customer is given."""
    offers = tuple(
        OfferCopy(
            one.begins,
            one.ready,
            one.before,
            one.engine,
            one.level,
            one.work,
            one.parts,
            one.net,
            one.gross,
            one.expected,
        )
        for one in found.offers
    )
    return OffersCopy(found.on, found.shop, found.currency, offers, found.net, found.gross, found.expected)


def _quoted(desk: Desk, job: Job, gap: int, on: date) -> tuple[Quote | None, tuple[Problem, ...]]:
    title = f"{job.level} before {job.before}"
    head = Request(number="offer", title=title, customer="offer", engine=job.engine, level=job.level, before=job.before)
    asking, problems = desk.asking(Asked("offer", head, (), (), (), ()), on)
    return make_quote(replace(asking, gap=gap)) if asking is not None else (None, problems)


def _offer(job: Job, quote: Quote) -> Offer:
    parts, net = net_of(quote.lines, "parts"), quote.totals.net - quote.core
    return Offer(
        quote.schedule.begins,
        job.before,
        job.engine,
        job.level,
        job.labour + job.supplies,
        with_minor_digits(job.parts, quote.currency),
        net - parts,
        parts,
        net,
        quote.totals.gross,
        quote.after.expected_gross,
        quote.margin.margin,
        quote.hours,
        quote.schedule.ready,
        quote,
    )


def _levels(desk: Desk, offers: list[Offer]) -> Iterator[LevelFigures]:
    """What levels.csv would hold, were it by the shop's own figures."""
    for level in dict.fromkeys(one.level for one in offers):
        found = [one for one in offers if one.level == level]
        labour = sum((_sum(one.quote, labour=True) for one in found), Decimal(0))
        supplies = sum((_sum(one.quote, labour=False) for one in found), Decimal(0))
        rows = [row for row in desk.scenario.files.levels if row.level == level]
        row = next((row for row in rows if row.shop == desk.book.header.shop), rows[0])
        count = len(found)
        yield LevelFigures(
            level,
            count,
            round_to(labour / count, Decimal(1)),
            round_to(supplies / count, Decimal(1)),
            row.labour,
            row.supplies,
        )


def _sum(quote: Quote, *, labour: bool) -> Decimal:
    kinds = [line for line in quote.lines if line.kind not in ("parts", "core", "credit")]
    return sum((line.net for line in kinds if (line.kind in LABOUR) == labour), Decimal(0))
