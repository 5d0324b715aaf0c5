"""What the pages of a choice share: what was wished, power with its error, swaps in words, cautions."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from costplan.build.airflow import Breathing
from costplan.choose import Change, Ground, OnHand, Option, Proof, Replayed, Wishes
from costplan.choose.aims import FOREVER
from costplan.quantity import convert
from costplan.report.airflow import power_of, pulled_words
from costplan.report.figures import rests_on
from costplan.report.tables import listed, money, number, percent, plural, share, whole
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
PULLED = (
    "The error is the scatter of the pulls on the dyno: parts that were not pulled there, and steps to such parts, may "
    "be further off than it says."
)
#: Of what several parts cost: said wherever a part stands with its price beside others.
PACKS = "packs and kits that slots share change the sum"
A_SEASON = (
    "A season: parts used up in one, part by part (renewals and failures by assumed lives); labour, and what one part "
    "breaks of another or is renewed with it, are left out."
)


@dataclass(frozen=True, slots=True)
class About:
    """What every page says: whose scenario, its currency, the unit of its power, and what was wished.

    `pulls`: the days of the pulls on a dyno that set the estimate, one
    for each; `pulled_by`: the last day whose pulls count, None for all of them. `critical`: the slots that
    positions.csv says are not to be stretched; `unvalued`: those whose parts go together in more ways than power was
    worked out for.
    """

    title: str
    invented: bool
    currency: str
    unit: str
    wishes: Wishes
    level: str = ""
    pulls: tuple[date, ...] = ()
    pulled_by: date | None = None
    critical: tuple[str, ...] = ()
    unvalued: tuple[str, ...] = ()


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


def tenth(value: float | None) -> float | None:
    """A power for a table of data, to a tenth; no zero below nothing.

    >>> tenth(335.4499999), tenth(-0.004), tenth(None)
    (335.4, 0.0, None)
    """
    return None if value is None else round(value, 1) + 0.0


def hundredth(value: float | None) -> float | None:
    """A number of events for a table of data, to a hundredth.

    >>> hundredth(18.590662250815306), hundredth(None)
    (18.59, None)
    """
    return None if value is None else round(value, 2) + 0.0


def slot_name(slot: str) -> str:
    """A slot in words; of one whose parts take turns the turn as well.

    >>> slot_name("carburetor"), slot_name("carburetor/small")
    ('carburetor', 'carburetor, in its turn small')
    """
    name, sign, turn = slot.partition("/")
    return f"{name}, in its turn {turn}" if sign else name


def says(about: About, ground: Ground) -> str:
    """What a ground says, sums with separators of thousands."""
    if ground.kind == "budget" and about.wishes.budget is not None:
        return f"at most {money(about.wishes.budget)} {about.currency}"
    return ground.says


def swap(slot: str, before: str, after: str) -> str:
    """One slot with another part.

    >>> swap("carburetor", "CR47", "CR50"), swap("spacer", "", "SP1")
    ('carburetor: CR47 -> CR50', 'spacer: nothing -> SP1')
    """
    return f"{slot_name(slot)}: {before or 'nothing'} -> {after or 'nothing'}"


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
    return "" if interval is None else "never by age" if interval >= FOREVER else number(interval, 3)


def decides(found: Breathing) -> str:
    """Which restriction of the intake decides, and by how much."""
    most = next((one for one in found.restrictions if one.slot == found.decides), None)
    if most is None:
        return ""
    return f"{most.slot} ({most.part}), {share(most.share)} of the resistance of the intake"


def estimated(about: About, found: Breathing | None) -> str:
    """The estimate with its error in a sentence, what decides it and which dyno sheets set it, or what it lacks."""
    if found is None:
        return "Power is not estimated: the pattern has no [airflow]."
    if found.peak is None:
        return f"Power is not estimated; missing: {'; '.join(found.missing[:4])}."
    rests = f"{sheets(about, found)} {_pulled(found)}".strip()
    if about.unvalued:
        rests += f" Of other bills it is not worked out: {listed(about.unvalued)} go together in too many ways."
    return f"Estimated power {power_of(found)}. What decides it: {decides(found)}. {rests}"


def _pulled(found: Breathing) -> str:
    """Whether the error speaks of these parts; what it says of others stands at the foot of the page."""
    return "An engine with these very parts was pulled." if found.pulled else pulled_words(found)


def sheets(about: About, found: Breathing) -> str:
    """Which pulls on a dyno set the estimate and, where they are enough, its error."""
    by, enough = about.pulled_by, found.calibration is None or found.calibration.enough
    if not about.pulls:
        return f"No pull on a dyno{f' up to {by}' if by else ''} sets it: its error is as the pattern states it."
    first, last = min(about.pulls), max(about.pulls)
    days = f"of {first}" if first == last else f"of {first} to {last}"
    later = [one for one in about.pulls if one > about.wishes.on]
    after = f", {len(later)} of them after {about.wishes.on}" if later else ""
    which = f"those up to {by} (--on) count" if by else "without --on those of any day count"
    stated = "" if enough else " They are too few to set its error, which is as the pattern states it."
    return f"It is set by {plural(len(about.pulls), 'pull')} on a dyno {days}{after}; {which}.{stated}"


def kept_line(slots: Sequence[str]) -> str:
    """The slots in which nothing is saved."""
    if not slots:
        return ""
    return (
        f"Nothing cheaper than planned in {listed(slots)}: positions.csv has them not stretched, and what holds an "
        "engine together is no place to save (--cheapen SLOT lets one go)."
    )


def cheapened(about: About, changes: Iterable[Change], used: Iterable[OnHand] = ()) -> str:
    """That critical slots have something cheaper than planned, as somebody asked for it; '' where none has."""
    asked = {*about.wishes.cheapen, *about.wishes.pinned} & set(about.critical)
    cheaper = [one for one in changes if one.slot in asked and one.part and one.after < one.before]
    words = [swap(one.slot, one.planned, one.part) for one in cheaper]
    named = {one.slot for one in cheaper}
    words += [f"{one.slot}: {one.piece} on hand" for one in used if one.slot in asked - named]
    if not words:
        return ""
    return (
        f"Cheaper than planned because you asked: {'; '.join(words)}. positions.csv says not to stretch "
        f"{'it' if len(words) == 1 else 'them'}: ask the maker first."
    )


def may_be_cheaper(about: About) -> str:
    """That bills may have something cheaper than planned in critical slots, as somebody asked for it."""
    asked = sorted({*about.wishes.cheapen, *about.wishes.pinned} & set(about.critical))
    if not asked:
        return ""
    return (
        f"Because you asked, {listed(asked)} may have something cheaper here than planned; positions.csv says not to "
        f"stretch {'it' if len(asked) == 1 else 'them'}: ask the maker first."
    )


def sums_of(option: Option, about: About) -> Iterator[str]:
    """What a bill costs a season and how long it lasts, where that is known."""
    if option.per_season is not None:
        yield f"Parts a season: {money(option.per_season)}."
    if option.events is not None:
        yield f"Interval: {_interval(option.events, about.level)}."


def _interval(interval: float, level: str) -> str:
    of = f" that level {level} or one above it reaches" if level else ""
    if interval >= FOREVER:
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
    power_said = (ESTIMATE, *((PULLED,) if about.pulls else ())) if power_shown and about.unit else ()
    return (LIST, *((LIVES,) if seasons_shown else ()), *power_said)
