"""How near a limit one can come with all else kept: what would have to give by how much.

Where the figure is worked out from few enough candidates its nearest value is found as the least of a table, exactly;
where its clause is a sum, by halving the room between the limit and a value that can be had, to within a share of it
(`CLOSE`); the earliest day by the lead of each part, tried on the prices that hold by then.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from itertools import product
from math import prod
from time import monotonic

from costplan.choose import questioning
from costplan.choose.candidates import Candidate, buying_of
from costplan.choose.encoded import Encoded, with_amount
from costplan.choose.encoding import encode
from costplan.choose.judging import ClauseQuestion, questions_of
from costplan.choose.modelling import Goal
from costplan.choose.purchases import PRICE
from costplan.choose.puzzle import Amount, Pick, Valued
from costplan.choose.questioning import asking, told_apart
from costplan.choose.settling import settle
from costplan.choose.wishes import ChoosyBuying
from costplan.money import from_minor, round_money
from costplan.quantity import Quantity
from costplan.rules import find
from costplan.rules.kinds import Limit
from costplan.rules.kinds.bounds import Bound as Given

Value = float | Decimal | date
#: Halving ends when the room is so small a share of the limit; so many times at the most.
CLOSE, HALVED_MOST = 1e-3, 24
_NEAREST, _LEAD = "nearest", "lead"


@dataclass(frozen=True, slots=True)
class Bound:
    """What a member of a conflict asks of a figure, and the nearest to it that is in reach while all else is kept.

    `figure`: what is limited (displacement, price, day); `least` and `greatest` in `unit`: money as a Decimal with its
    currency, days as dates with the unit ''. `nearest` is None where nothing is possible without it, or nothing was
    found in time. `proved`: no bill that keeps all else comes nearer, by more than `CLOSE` of the limit.
    """

    figure: str
    least: Value | None
    greatest: Value | None
    unit: str
    nearest: Value | None = None
    proved: bool = False


def bound_of(encoded: Encoded, ground: int, rest: Encoded, pick: Pick | None, seconds: float) -> Bound | None:
    """The bound of a clause that limits a figure, of a day or of a budget; None for what limits none.

    `rest`: the choice without it, and `pick` the cheapest bill there, None where there is none.
    """
    wishes, kind = encoded.wishes, encoded.puzzle.grounds[ground].kind
    if kind == "lead" and wishes.by is not None:
        found = _earliest(encoded, rest, seconds) if pick is not None else None
        return Bound("day", None, wishes.by, "", found, proved=found is not None)
    question = _limit_of(encoded, ground) if kind == "clause" else None
    if question is None or question.limit is None:
        return None
    nearest = _Nearest(rest, ground, question, question.limit, monotonic() + seconds)
    value, proved = nearest.found(pick) if pick is not None else (None, False)
    return nearest.bound(value, proved=proved)


def _limit_of(encoded: Encoded, ground: int) -> ClauseQuestion | None:
    """The limit that a ground is."""
    asked = questions_of(encoded.scenario, encoded.wishes, encoded.packs)
    limits = (one for one in asked if isinstance(one, ClauseQuestion) and one.limit is not None)
    return next((one for one in limits if one.ground == encoded.puzzle.grounds[ground]), None)


def _earliest(encoded: Encoded, rest: Encoded, seconds: float) -> date | None:
    """The first day by which all of some bill is here; None where it was not found in time.

    The bill whose longest lead is shortest says the day, unless the prices by then are past a limit on what it costs:
    then the next day by which somebody sends something is tried.
    """
    deadline, wishes = monotonic() + seconds, encoded.wishes
    offered = _offered(rest)
    leads = {slot: tuple(-min(days, default=_NEVER) for days in of) for slot, of in offered.items()}
    solved = settle(with_amount(rest, Amount(_LEAD, leads, least=True)), (Goal(_LEAD, most=True),), seconds).solved
    if solved.status != "optimal" or solved.value is None:
        return None
    for days in sorted({day for of in offered.values() for each in of for day in each if day >= -solved.value}):
        by = wishes.on + timedelta(days=days)
        again = encode(encoded.scenario, replace(wishes, by=by), encoded.packs, whole=True)
        found = settle(again, (Goal(PRICE),), max(0.1, deadline - monotonic())).solved
        if found.pick is not None:
            return by
        if found.status != "impossible":
            break
    return None


#: Days of what nobody who is asked sells.
_NEVER = 10**6


def _offered(encoded: Encoded) -> Mapping[int, tuple[tuple[int, ...], ...]]:
    """By slot the days that each candidate takes, by each offer of those who may be bought from."""
    buying = buying_of(encoded.scenario, encoded.wishes)
    return {
        number: tuple(_days(encoded, one, buying) for one in encoded.candidates[slot])
        for number, slot in enumerate(encoded.slots)
    }


def _days(encoded: Encoded, one: Candidate, buying: ChoosyBuying) -> tuple[int, ...]:
    if one.source in ("hand", "empty"):
        return (0,)
    offers = encoded.purchases.catalog.offers_of(one.kit or one.part)
    return tuple(offer.lead_days for offer in buying.open_to(offers, encoded.wishes.on))


@dataclass(frozen=True, slots=True)
class _Nearest:
    """Looks for the value of a limit's figure that is nearest to its bounds, in the choice without it."""

    rest: Encoded
    ground: int
    question: ClauseQuestion
    limit: Limit
    deadline: float

    def bound(self, value: float | None, *, proved: bool) -> Bound:
        """What the limit asks, in its unit, and the value that is nearest."""
        limit, unit = self.limit, self.limit.unit
        name = " + ".join(limit.of) + "".join(f" - {word}" for word in limit.less)
        ends = (limit.least, limit.greatest)
        money = next((end.is_money for end in ends if end), False)
        least, greatest = (None if end is None else end.number if money else end.quantity.to(unit) for end in ends)
        found: Value | None = value
        if money and value is not None:
            found = round_money(Decimal(repr(value)), unit)
        return Bound(name, least, greatest, "" if unit == "1" else unit, found, proved)

    def found(self, pick: Pick) -> tuple[float | None, bool]:
        """The nearest value, and whether it is proved to be; without a better way that of the cheapest bill."""
        scope, classes = told_apart(self.rest, self.question)
        if prod(len(set(of)) for of in classes) <= questioning.TABLE_MOST:
            return self._of_table(scope, classes, pick)
        if self.limit.of == (PRICE,):
            return self._of_price(pick)
        return self._by_halving(pick)

    @property
    def _left(self) -> float:
        return max(0.1, self.deadline - monotonic())

    def _value(self, chosen: Mapping[str, Candidate]) -> float | None:
        """The value with some candidates, in the limit's unit; None where it is not known or not asked."""
        judge, evidence = self.rest.judge, self.question.evidence
        sheet = judge.sheet_of(evidence.sheet, judge.build_of(chosen), chosen)
        value = find(self.question.rule, replace(evidence, sheet=sheet)).value
        return value.to(self.limit.unit) if isinstance(value, Quantity) else None

    def _value_of(self, pick: Pick) -> float | None:
        return self._value(self.rest.chosen(pick))

    def _past(self, value: float) -> float:
        """How far a value is outside the bounds."""
        low, high = (
            end.quantity.to(self.limit.unit) if end else None for end in (self.limit.least, self.limit.greatest)
        )
        return max(0.0, (low - value) if low is not None else 0.0, (value - high) if high is not None else 0.0)

    def _of_table(
        self, scope: tuple[int, ...], classes: tuple[tuple[int, ...], ...], pick: Pick
    ) -> tuple[float | None, bool]:
        """The least of a table of how far each tuple of candidates is outside, by its rank."""
        values = dict(self._values(scope, classes))
        if monotonic() > self.deadline:
            return self._value_of(pick), False
        order = sorted(set(values.values()), key=self._past)
        ranks = {row: order.index(value) for row, value in values.items()}
        amount = Amount(_NEAREST, valued=Valued(scope, classes, ranks))
        solved = settle(with_amount(self.rest, amount), (Goal(_NEAREST),), self._left).solved
        return (None if solved.value is None else order[solved.value]), solved.status == "optimal"

    def _values(
        self, scope: tuple[int, ...], classes: tuple[tuple[int, ...], ...]
    ) -> Iterator[tuple[tuple[int, ...], float]]:
        """The value of each tuple that has one, as far as time allows."""
        slots = [self.rest.slots[number] for number in scope]
        for row in product(*(sorted(set(of)) for of in classes)):
            if monotonic() > self.deadline:
                return
            first = [of.index(one) for of, one in zip(classes, row, strict=True)]
            chosen = {slot: self.rest.candidates[slot][one] for slot, one in zip(slots, first, strict=True)}
            value = self._value(chosen)
            if value is not None:
                yield row, value

    def _of_price(self, pick: Pick) -> tuple[float | None, bool]:
        """What the parts of a bill come to under the clause, of the bill with the least of what is sure to count."""
        name = f"{PRICE} under {self.question.ground.name}"
        solved = settle(self.rest, (Goal(name),), self._left).solved
        value, currency = self._value_of(solved.pick or pick), self.rest.scenario.header.currency
        if value is None or solved.value is None or self.limit.unit != currency:
            return value, False
        least = from_minor(solved.value, currency)
        return value, solved.status == "optimal" and round_money(Decimal(repr(value)), currency) == least

    def _by_halving(self, pick: Pick) -> tuple[float | None, bool]:
        """From a value that can be had, half the way to the bounds for as long as something is there."""
        nearest = self._value_of(pick)
        if nearest is None:
            return None, False
        low, high = 0.0, self._past(nearest)
        close = CLOSE * max(
            abs(end.quantity.to(self.limit.unit)) for end in (self.limit.least, self.limit.greatest) if end
        )
        for _ in range(HALVED_MOST):
            if high - low <= close:
                return nearest, True
            if monotonic() > self.deadline:
                break
            middle = (low + high) / 2
            solved = settle(asking(self.rest, self.ground, self._widened(middle)), (Goal(PRICE),), self._left).solved
            value = self._value_of(solved.pick) if solved.pick is not None else None
            if value is not None:
                nearest, high = value, min(middle, self._past(value))
            elif solved.status == "impossible":
                low = middle
            else:
                break
        return nearest, False

    def _widened(self, room: float) -> ClauseQuestion:
        """The question with bounds that are wider by some room."""
        limit, unit = self.limit, self.limit.unit
        least, greatest = (
            None if end is None else Given(Decimal(repr(end.quantity.to(unit) + sign * room)), unit)
            for end, sign in ((limit.least, -1), (limit.greatest, 1))
        )
        bounds = {"min": least, "max": greatest, "nominal": None, "within": None, "rounding": "absolute"}
        return replace(self.question, rule=replace(self.question.rule, test=limit.model_copy(update=bounds)))
