"""What the pages of a choice share: what was wished, power with its error, swaps in words, cautions."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from costplan.build.airflow import Breathing
from costplan.choose import Option, Proof, Replayed, Wishes
from costplan.quantity import convert
from costplan.report.airflow import power_of
from costplan.report.figures import rests_on
from costplan.report.tables import listed, money, number, percent, share, whole
from costplan.season.drawn.figures import Mean

LIST = (
    "Meeting a list is not passing inspection: officials and their gauges decide, from the book in force that day. "
    "Fits are only those that the pattern states, on catalog figures; measure before you build."
)
LIVES = (
    "Costs a season and intervals rest on assumed lives: a maker's word and an inspection come first, and what holds "
    "the engine together is not to be run longer to save money."
)
ESTIMATE = (
    "Power is an estimate from flow figures, with its error either way; what differs by less than the error is not "
    "shown to differ at all."
)
A_SEASON = (
    "A season: parts used up in one, part by part (renewals and failures by assumed lives); labour, and what one part "
    "breaks of another or is renewed with it, are left out."
)


@dataclass(frozen=True, slots=True)
class About:
    """What every page says: whose scenario, its currency, the unit of its power, and what was wished."""

    title: str
    invented: bool
    currency: str
    unit: str
    wishes: Wishes
    level: str = ""


def heading(what: str, about: About) -> str:
    """The first line of a page."""
    return f"{what}: {about.title}{' (invented data)' if about.invented else ''}"


def wished(about: About) -> str:
    """The day that counts, and what was wished."""
    wishes = tuple(_wished(about.wishes))
    return f"Prices and rules of {about.wishes.on}, money in {about.currency}.{_said(wishes)}"


def _said(wishes: Sequence[str]) -> str:
    return f" Wished: {'; '.join(wishes)}." if wishes else ""


def _wished(wishes: Wishes) -> Iterator[str]:
    for slot, part in wishes.pinned.items():
        yield f"{slot} = {part}"
    if wishes.banned:
        yield f"without {listed(wishes.banned)}"
    if wishes.suppliers:
        yield f"bought from {listed(wishes.suppliers)}"
    if wishes.by:
        yield f"here by {wishes.by}"
    if wishes.hand:
        yield f"with what is on hand of {listed(wishes.hand)}"
    if wishes.optional:
        yield f"{listed(wishes.optional)} may be empty"
    if wishes.cheapen:
        yield f"cheaper parts in {listed(wishes.cheapen)} too"
    if wishes.budget is not None:
        yield f"at most {money(wishes.budget)}"
    if wishes.unknown == "allow":
        yield "parts of which something is not known too"


def power(kilowatts: float | None, error: float | None, unit: str) -> str:
    """An estimated power with its error, whole; nothing where it is not known."""
    if kilowatts is None or error is None:
        return ""
    value, off = convert(kilowatts, "kW", unit), convert(error, "kW", unit)
    return f"{value:,.0f} +/- {max(1, round(off))}"


def more_power(kilowatts: float | None, unit: str) -> str:
    """A difference of power, to a tenth; nothing where it is not known."""
    if kilowatts is None:
        return ""
    value = round(convert(kilowatts, "kW", unit), 1)
    return f"{value:+.1f}" if value else "0"


def signed(amount: Decimal | None) -> str:
    """A difference of money with its minor units; nothing where it is not known.

    >>> signed(Decimal("12.60")), signed(Decimal("0.00")), signed(None)
    ('+12.60', '0', '')
    """
    return "" if amount is None else f"{amount:+,f}" if amount else "0"


def swap(slot: str, before: str, after: str) -> str:
    """One slot with another part.

    >>> swap("carburetor", "CR47", "CR50"), swap("spacer", "", "SP1")
    ('carburetor: CR47 -> CR50', 'spacer: nothing -> SP1')
    """
    return f"{slot}: {before or 'nothing'} -> {after or 'nothing'}"


def swapped(swaps: Iterable[tuple[str, str, str]]) -> str:
    """Several slots, a line for each."""
    return "\n".join(swap(*one) for one in swaps)


def basis(played: Iterable[Replayed], asked: int, seed: int) -> str:
    """What the machine's figures rest on."""
    seasons = min((one.played.seasons for one in played if one.played is not None), default=0)
    return rests_on(seasons, asked, seed) if asked else "By the plan, in which nothing is drawn."


def apart(replayed: Replayed) -> str:
    """That a season's cost is not shown to differ from the first one's, where it is not."""
    played = replayed.played
    return "" if played is None or not played.seasons or played.more_cost.shown else "not told apart"


def error_of(found: Mean) -> str:
    """A standard error without minor units; none where the seasons show none."""
    return whole(found.error) if found.error else ""


def signed_whole(amount: Decimal) -> str:
    """A difference of money without minor units.

    >>> signed_whole(Decimal("12.60")), signed_whole(Decimal("-0.20"))
    ('+13', '0')
    """
    return f"{amount:+,.0f}" if round(amount) else "0"


def events(interval: float | None) -> str:
    """So many events; more than any calendar has stand for never."""
    return "" if interval is None else "never by age" if interval >= NEVER else number(interval, 3)


#: As many events as a choice counts for what is never renewed by age.
NEVER = 10**6


def decides(found: Breathing) -> str:
    """Which restriction of the intake decides, and by how much."""
    most = next((one for one in found.restrictions if one.slot == found.decides), None)
    if most is None:
        return ""
    return f"What decides it: {most.slot} ({most.part}), {share(most.share)} of the resistance of the intake"


def estimated(found: Breathing | None) -> str:
    """The estimate with its error in a sentence, and what decides it, or what it lacks."""
    if found is None:
        return "Power is not estimated: the pattern has no [airflow]."
    if found.peak is None:
        return f"Power is not estimated; missing: {'; '.join(found.missing[:4])}."
    return f"Estimated power {power_of(found)}. {decides(found)}."


def kept_line(slots: Sequence[str]) -> str:
    """The slots in which nothing is saved."""
    if not slots:
        return ""
    return (
        f"Nothing cheaper than planned in {listed(slots)}: positions.csv has them not stretched, and what holds an "
        "engine together is no place to save (--cheapen SLOT lets one go)."
    )


def sums_of(option: Option, about: About) -> Iterator[str]:
    """What a bill costs a season and how long it lasts, where that is known."""
    if option.per_season is not None:
        yield f"Parts a season: {money(option.per_season)}."
    if option.events is not None:
        yield f"Interval: {_interval(option.events, about.level)}."


def _interval(interval: float, level: str) -> str:
    of = f" that level {level} or one above it reaches" if level else ""
    if interval >= NEVER:
        return f"no part{of} is due by age"
    return f"{events(interval)} events until the first part{of} is due"


def gap(proof: Proof) -> str:
    """How far the best may be from what was found.

    >>> gap(Proof("best found", 110, 100, 0.0909, False, 1, 60.0))
    '9.09%'
    """
    return percent(proof.gap)


def cautions(about: About, *, power_shown: bool, seasons_shown: bool) -> tuple[str, ...]:
    """What stands at the foot of a page."""
    return (LIST, *((LIVES,) if seasons_shown else ()), *((ESTIMATE,) if power_shown and about.unit else ()))
