"""Choosing: the best bill by an aim, every pick judged by the fits and the book before it counts."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from costplan.build import Bill, Build, bill_of
from costplan.choose.aims import FINE, INTERVAL, POWER, SEASON, WATTS, Aim, Aimed, season_money
from costplan.choose.candidates import Candidate, Source
from costplan.choose.encoded import Encoded
from costplan.choose.hand import Used
from costplan.choose.modelling import Goal, Status
from costplan.choose.purchases import PRICE, resale_of
from costplan.choose.puzzle import Pick, Within, amount_of, is_known
from costplan.choose.settling import settle
from costplan.money import from_minor


@dataclass(frozen=True, slots=True)
class Line:
    """A slot of a chosen bill; `planned` is the part that the build has there, '' for none.

    A part that takes turns with the slot's first has a line of its own, `slot/turn`, with its planned part.
    `kit` and `piece` say where it comes from, if not bought apart; `per_season` is what its part costs a season, None
    where nothing wears, and `events` how many it lasts, None where never by age.
    """

    slot: str
    part: str
    name: str
    supplier: str
    source: Source
    kit: str
    piece: str
    planned: str
    per_season: Decimal | None
    events: float | None
    why: str
    assumed: tuple[str, ...]
    place: str

    @property
    def changed(self) -> bool:
        return self.part != self.planned


@dataclass(frozen=True, slots=True)
class OnHand:
    """A piece that is used from what is on hand, and what it would have sold for.

    `used`: what it has run of the life that it has used most of, in words, and `share` of that life, None where nothing
    is known of it; `assumed`: what of its use nobody has told.
    """

    slot: str
    part: str
    piece: str
    worth: Decimal
    place: str
    used: str = ""
    share: float | None = None
    assumed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Option:
    """A complete bill: its slots, what is bought, what is used from what is on hand, and what it comes to.

    `lines` have those of parts that take turns too, which `parts` leaves out: no choice is made there. `price` is the
    bill's total and the worth of what is used from what is on hand. `per_season`: the cost of parts a season, the sum
    of the lines'; `power`: estimated, kW, with its `error` either way; `events`: the interval of the level that counts.
    None where they are not known.
    """

    lines: tuple[Line, ...]
    bill: Bill
    on_hand: tuple[OnHand, ...]
    price: Decimal
    per_season: Decimal | None
    power: float | None
    error: float | None
    events: float | None

    @property
    def worth(self) -> Decimal:
        """What all that is used from what is on hand would sell for."""
        return sum((one.worth for one in self.on_hand), Decimal(0))

    def between(self) -> tuple[float, float] | None:
        """The estimated power less its error and with it, kW; None where it is not known."""
        if self.power is None or self.error is None:
            return None
        return self.power - self.error, self.power + self.error

    def more_than(self, sum_: Decimal) -> Decimal:
        """How much more it costs than a sum."""
        return self.price - sum_

    @property
    def parts(self) -> tuple[tuple[str, str], ...]:
        return tuple((line.slot, line.part) for line in self.lines if "/" not in line.slot)


@dataclass(frozen=True, slots=True)
class Proof:
    """How far an answer is proved.

    `value` and `bound` of what is aimed at in `unit`: money as a Decimal in the scenario's currency, else kW, events or
    a count; `gap` the share by which they differ. `tie_proved`: whether of equal bills the one is shown that the
    further goals ask for. `judged`: how many picks fits and book were asked of; `seconds` of encoding and solving.
    """

    status: Status
    value: Decimal | float | None
    bound: Decimal | float | None
    gap: float
    tie_proved: bool
    judged: int
    seconds: float
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Chosen:
    """The best bill, if there is one, and its proof."""

    option: Option | None
    proof: Proof
    pick: Pick | None = None


def best(aimed: Aimed, aim: Aim, seconds: float = 60.0, within: Iterable[Within] = ()) -> tuple[Chosen, Aimed]:
    """The best bill by an aim. What picks showed to be barred stays barred in the choice that is given back."""
    return seek(aimed, aim.goals, seconds, within)


def seek(
    aimed: Aimed, goals: Sequence[Goal], seconds: float = 60.0, within: Iterable[Within] = ()
) -> tuple[Chosen, Aimed]:
    """The best bill by goals in turn."""
    settled = settle(aimed.encoded, goals, seconds, within)
    aimed, solved = replace(aimed, encoded=settled.encoded), settled.solved
    tie = solved.status == "optimal" and solved.goals_proved == len(goals)
    currency = aimed.encoded.scenario.header.currency
    value, bound = (_in_unit(number, goals[0].amount, currency) for number in (solved.value, solved.bound))
    unit = {PRICE: currency, SEASON: currency, POWER: "kW", INTERVAL: "events"}.get(goals[0].amount, "")
    proof = Proof(solved.status, value, bound, solved.gap, tie, settled.rounds, settled.seconds, unit)
    return Chosen(option_of(aimed, solved.pick) if solved.pick is not None else None, proof, solved.pick), aimed


def _in_unit(number: int | None, amount: str, currency: str) -> Decimal | float | None:
    """What an amount comes to in the unit that it is told in."""
    if number is None:
        return None
    if amount in (PRICE, SEASON):
        return from_minor(number, currency)
    return number / {POWER: WATTS, INTERVAL: FINE}.get(amount, 1)


def option_of(aimed: Aimed, pick: Pick) -> Option:
    """The complete bill of a pick."""
    encoded = aimed.encoded
    filled, currency = encoded.paid_for(pick), encoded.scenario.header.currency
    amounts = {
        name: amount_of(encoded.puzzle, name, pick)
        for name in (PRICE, SEASON, POWER, INTERVAL)
        if is_known(encoded.puzzle, name, pick)
    }
    power = amounts[POWER] / WATTS if amounts.get(POWER) else None
    return Option(
        tuple(_line(aimed, slot, filled[slot]) for slot in sorted(filled) if filled[slot].fill is not None),
        bill_of_chosen(encoded, pick),
        tuple(_on_hand(encoded, slot, one) for slot, one in filled.items() if one.piece is not None),
        from_minor(amounts[PRICE], currency),
        from_minor(amounts[SEASON], currency) if SEASON in amounts else None,
        power,
        aimed.estimator.error(power) if aimed.estimator and power is not None else None,
        amounts[INTERVAL] / FINE if INTERVAL in amounts else None,
    )


def bill_of_chosen(encoded: Encoded, pick: Pick) -> Bill:
    """What is bought for a pick, and what is done to it."""
    scenario, wishes, filled = encoded.scenario, encoded.wishes, encoded.paid_for(pick)
    if scenario.catalog is None:
        raise ValueError("a scenario without a catalog has nothing to choose from")
    bought = {name: one.fill for name, one in filled.items() if one.piece is None and one.fill}
    kept = {name: one.fill for name, one in filled.items() if one.piece is not None and one.worked_on and one.fill}
    pattern, stale = scenario.built().pattern, scenario.header.stale_after_days
    bill = bill_of(Build(pattern, bought), scenario.catalog, encoded.purchases.buying, wishes.on, stale)
    lines = bill_of(Build(pattern, kept), scenario.catalog, scenario.buying, wishes.on, stale).lines
    work = tuple(line for line in lines if line.kind == "operation")
    total = bill.total + sum((line.cost for line in work), Decimal(0))
    # Of kits that would save money there are none: all of them were to choose from.
    return replace(bill, lines=(*bill.lines, *work), total=total, savings=())


def _line(aimed: Aimed, slot: str, one: Candidate) -> Line:
    encoded = aimed.encoded
    lasting, planned = aimed.lasting.get((slot, one.part)), encoded.scenario.built().part(slot)
    if one.fill is None:
        raise ValueError("an empty slot has no line")
    part = one.fill.part
    per_season = season_money(lasting.per_season, encoded.scenario.header.currency) if lasting else None
    return Line(
        slot,
        part.part,
        part.name,
        part.supplier,
        one.source,
        one.kit,
        one.piece.piece if one.piece else "",
        part.part if "/" in slot else planned.part if planned else "",
        per_season,
        lasting.events if lasting and lasting.events != float("inf") else None,
        lasting.what if lasting else "",
        (*(lasting.assumed if lasting else ()), *(one.used.assumed if one.used else ())),
        str(one.piece.place if one.piece else part.place),
    )


def _on_hand(encoded: Encoded, slot: str, one: Candidate) -> OnHand:
    scenario = encoded.scenario
    if one.fill is None or one.piece is None or scenario.catalog is None:
        raise ValueError("not on hand")
    worth = resale_of(one.fill, scenario.catalog, scenario.buying, encoded.wishes.on)
    used = one.used or Used("", None)
    place = str(one.piece.place)
    return OnHand(slot, one.part, one.piece.piece, worth, place, used.words, used.share, used.assumed)
