"""The openings of a season as it was played: what is done before which event, with what, why, and from which day on."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from costplan.money import from_minor
from costplan.season import machine
from costplan.season.calendar import gap_before
from costplan.season.charges import fees_at
from costplan.season.ledger import ages_after, factor_after, kits_of, openings_of, renewals_of, share_worn
from costplan.season.names import Season
from costplan.season.terms import lead_days


@dataclass(frozen=True, slots=True)
class Renewal:
    """A position renewed in the gap before an event; `order_by`: the latest day for its part to be there in time."""

    slot: str
    part: str
    name: str
    supplier: str
    pieces: int
    cause: str
    operation: str
    packs_bought: int
    paid: Decimal
    worn: float
    order_by: date
    why: str


@dataclass(frozen=True, slots=True)
class KitBought:
    """A kit bought for an opening because it costs less than what it holds costs apart."""

    kit: str
    name: str
    supplier: str
    count: int
    holds: tuple[str, ...]
    paid: Decimal
    order_by: date


@dataclass(frozen=True, slots=True)
class Job:
    """One opening of a carrier: what is done before which event, and what it costs.

    `begins`: the day its work must begin, and its parts must be there; `fees`: what the rule book charges for it;
    `shop`: who does it, where levels.csv says.
    """

    begins: date
    date: date
    before: str
    engine: str
    level: str
    labour: Decimal
    supplies: Decimal
    parts: Decimal
    why: str
    renewals: tuple[Renewal, ...]
    kits: tuple[KitBought, ...] = ()
    fees: Decimal = Decimal(0)
    shop: str = ""

    @property
    def work(self) -> Decimal:
        """What the opening itself costs."""
        return self.labour + self.supplies + self.fees

    @property
    def total(self) -> Decimal:
        return self.work + self.parts

    @property
    def routine(self) -> bool:
        """Whether the opening itself costs nothing."""
        return not self.work


def jobs_of(season: Season, state: machine.State) -> tuple[Job, ...]:
    """Every opening in time order with what it renews; on trackside openings that cost nothing too."""
    jobs = []
    for g, c, t, k in openings_of(state).tolist():
        step, (day, before) = season.ladders[t][k], gap_before(season.runs, g)
        start = begins(season, g, t, k)
        renewals = tuple(_renewals_at(season, state, g, c, t, start))
        labour, supplies = (from_minor(amount, season.rates.currency) for amount in (step.labour, step.supplies))
        kits = tuple(_kits_at(season, state, g, c, t, start))
        parts = sum((*(renewal.paid for renewal in renewals), *(kit.paid for kit in kits)), Decimal(0))
        why = _why_opened(season, state, g, c, t, k, renewals)
        fees, shop = fees_at(season, g, t, k), step.row.shop if step.row else ""
        done = Job(
            start, day, before, season.carriers[c], step.level, labour, supplies, parts, why, renewals, kits, fees, shop
        )
        jobs.append(done)
    return tuple(jobs)


def begins(season: Season, g: int, t: int, k: int) -> date:
    """The day on which the work of a level must begin in the gap before a run, and by which its parts must be there.

    At a shop it is as many whole days before the event as the level's hours hold. A service row says itself when its
    work is done, and what is done at home needs its parts on the day of the event.
    """
    (day, _), step = gap_before(season.runs, g), season.ladders[t][k]
    by_the_event = g < len(season.runs) and season.runs[g].service is None
    at_shop = step.row is not None and step.row.shop
    return day - timedelta(days=step.days if at_shop and by_the_event else 0)


def _kits_at(season: Season, state: machine.State, g: int, c: int, t: int, start: date) -> Iterable[KitBought]:
    for run, carrier, ladder, n, paid, _, count in kits_of(state).tolist():
        if (run, carrier, ladder) == (g, c, t):
            kit, offer = season.kits[n], season.kits[n].offers[g]
            money = from_minor(paid, season.rates.currency)
            order_by = start - timedelta(days=lead_days(season.files, kit.offers, g))
            holds = tuple(season.items[item].name for item, _ in kit.pieces)
            yield KitBought(kit.name, kit.title, offer.supplier, count, holds, money, order_by)


def _renewals_at(season: Season, state: machine.State, g: int, c: int, t: int, start: date) -> Iterable[Renewal]:
    for n, row in sorted(enumerate(renewals_of(state).tolist()), key=lambda entry: entry[1][:3]):
        if row[0] != g or row[1] != c or season.spots[row[2]].ladder != t:
            continue
        _, _, p, cause, pieces, packs, paid, _, k, step, _, number, _ = row
        spot, item = season.spots[p], season.items[number]
        yield Renewal(
            spot.slot,
            item.name,
            item.title,
            item.supplier(g),
            pieces,
            machine.CAUSES[cause],
            spot.path[step].operation if step >= 0 else "",
            packs,
            from_minor(paid, season.rates.currency),
            share_before(season, state, n),
            start - timedelta(days=lead_days(season.files, item.offers, g)),
            _why_renewed(season, state, n, k),
        )


def share_before(season: Season, state: machine.State, n: int) -> float:
    """The worn share of a set when it was taken out."""
    g, c, p = (int(value) for value in state.renewals[n, :3])
    return share_worn(season, state, g - 1, c, p)


def _why_renewed(season: Season, state: machine.State, n: int, k: int) -> str:
    """The life or rule that called for a renewal."""
    g, c, p, cause = (int(value) for value in state.renewals[n, :4])
    spot, level = season.spots[p], season.ladders[season.spots[p].ladder][k].level
    drawn_by = int(state.renewals[n, 10])
    if drawn_by >= 0:
        return f"with {season.spots[drawn_by].slot}"
    if season.problem.renews[spot.ladder, k, p]:
        return f"every {level}"
    used = f"{share_before(season, state, n):.0%} of {life_in_words(season, state, g - 1, c, p)}"
    return f"early, {used}" if machine.CAUSES[cause] == "early" else used


def life_in_words(season: Season, state: machine.State, g: int, c: int, p: int) -> str:
    """The life of a position that is used up most, after run g (-1: at opening)."""
    ages, raws = ages_after(season, state, g, c)
    lives, problem = season.lives(p), season.problem
    if not lives:
        return "no life"
    factor = factor_after(season, state, g, c, p)
    j = max(lives, key=lambda j: max(ages[j] / (problem.worn_at[j] * factor), raws[j] / problem.limit[j]))
    spot = season.spots[p]
    if spot.service is not None:
        return "its interval"
    if j - lives.start >= len(spot.lives):
        part = spot.dated[j - lives.start - len(spot.lives)]
        return f"{part.days:g} days ({part.clause.rule})"
    life = spot.lives[j - lives.start]
    worn_at = problem.worn_at[j] * factor
    by_limit = raws[j] / problem.limit[j] > ages[j] / worn_at
    bound = problem.limit[j] if by_limit else worn_at
    kind = " (hard limit)" if by_limit else "" if bound < life.weibull.mean * factor else " (mean)"
    return f"{season.measure_of(j).amount(float(bound))}{kind}"


def _why_opened(
    season: Season, state: machine.State, g: int, c: int, t: int, k: int, renewals: Sequence[Renewal]
) -> str:
    """What called for an opening: its date, its interval, or the most worn position that was due."""
    step = season.ladders[t][k]
    if g < len(season.runs) and season.problem.called[t, k, g]:
        return "by its date"
    owed = why_owed(season, state, g, c, t, k)
    if owed:
        return owed
    if step.row is not None and step.row.interval is not None and step.row.measure is not None and g < len(season.runs):
        before = season.start.since[c, t, k] if g == 0 else state.trace_since[g - 1, c, t, k]
        ahead = season.problem.next_fit[t, k, g]
        use = season.problem.use[season.problem.measure[t, k]]
        if before + use[ahead] - use[g] > season.problem.interval[t, k] * (1 + machine.SLACK):
            interval = step.row.measure.amount(float(season.problem.interval[t, k]))
            return f"its interval of {interval} would be passed"
    called = [renewal for renewal in renewals if renewal.cause != "early"]
    most = min(called, key=lambda renewal: (-renewal.worn, renewal.slot), default=None)
    return f"{most.slot} at {most.why}" if most else "due"


def why_owed(season: Season, state: machine.State, g: int, c: int, t: int, k: int) -> str:
    """What a log leaves owed at a level, where this is the first opening of its carrier that does it; else ''."""
    before = [row for row in openings_of(state).tolist() if row[1:3] == [c, t] and row[3] >= k and row[0] < g]
    if season.standing is None or before or not season.start.overdue[c, t, k]:
        return ""
    name, level = season.carriers[c], season.ladders[t][k].level
    reasons = [
        f"owed since {one.date}: {one.what}" for one in season.standing.owed if (one.engine, one.level) == (name, level)
    ]
    reasons += [
        f"to inspect after the over-rev of {one.date}"
        for one in season.standing.inspections
        if (one.engine, one.level) == (name, level)
    ]
    return "; ".join(reasons)
