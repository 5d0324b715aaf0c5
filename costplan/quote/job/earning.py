"""Earned against quoted: what each line of the contract was to cost, and what was booked on it.

The margin is that of the contract's net without deposits on old pieces, which pass through. A line is `booked` once a
row names it, were it at nothing; until then nobody knows what it costs, so a job in hand is told by a forecast: booked
lines at what they cost, the others at what they were quoted to cost. A credit costs what the contract says. Of what a
fixed price holds against tear-down the forecast counts what is not used up yet by what was booked beside the contract.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from costplan.quote.job.booking import NOTHING, Booking, Ledger
from costplan.quote.margin import margin_on
from costplan.quote.records import KINDS, Line, Quote

#: What the keys of lines begin with that a fixed price holds against tear-down.
HELD = "held/"
#: The share of the quoted hours above which they are told to be over.
OVER = Decimal("0.1")


@dataclass(frozen=True, slots=True)
class Gain:
    """What is sold, before tax and without cores, and what it costs."""

    net: Decimal
    cost: Decimal

    @property
    def earned(self) -> Decimal:
        return self.net - self.cost

    @property
    def margin(self) -> Decimal | None:
        """The share of the price that is earned; None where nothing is sold."""
        return margin_on(self.net, self.cost)


@dataclass(frozen=True, slots=True)
class Item:
    """A line of the contract, or the lines of one work, with what was booked on it.

    `lines` of the contract, 0 for what was booked beside it; `hours`, `cost` and `net` as the contract has them.
    """

    key: str
    kind: str
    name: str
    lines: int
    hours: Decimal
    cost: Decimal
    net: Decimal
    actual_hours: Decimal
    actual_cost: Decimal
    booked: bool

    @property
    def cost_over(self) -> Decimal | None:
        """What it cost more than quoted; None while nothing is booked."""
        return self.actual_cost - self.cost if self.booked else None

    @property
    def hours_over(self) -> Decimal:
        """The hours above what was quoted, as a share of that; none where no hours were quoted."""
        return self.actual_hours / self.hours - 1 if self.hours else NOTHING


@dataclass(frozen=True, slots=True)
class Tally:
    """So many lines of a contract, and what they come to there."""

    lines: int
    hours: Decimal
    cost: Decimal
    net: Decimal


@dataclass(frozen=True, slots=True)
class KindOf:
    """The lines of one kind: as the contract has them, as booked, and what the lines not booked yet are quoted at."""

    kind: str
    hours: Decimal
    cost: Decimal
    net: Decimal
    actual_hours: Decimal
    actual_cost: Decimal
    not_booked: Decimal

    @property
    def cost_over(self) -> Decimal:
        """What they cost more than quoted, where the lines not booked yet cost what they were quoted at."""
        return self.actual_cost + self.not_booked - self.cost


@dataclass(frozen=True, slots=True)
class Earnings:
    """What a job earns: as `quoted` (the revision accepted), by the `contract`, `forecast`, and `earned` at its end.

    `earned` is None while the job is in hand. `booked` and `not_booked` are the contract's lines without cores; their
    net, less the `discount` on the whole, is the contract's.
    """

    quoted: Gain
    contract: Gain
    forecast: Gain
    earned: Gain | None
    booked: Tally
    not_booked: Tally
    discount: Decimal
    kinds: tuple[KindOf, ...]
    items: tuple[Item, ...]

    @property
    def beside(self) -> Decimal:
        """What was booked and is in no line of the contract."""
        return _sum(item.actual_cost for item in self.items if not item.lines)

    @property
    def unbooked(self) -> tuple[Item, ...]:
        """The items of the contract that no row names; what is held against tear-down is not waited for."""
        return tuple(item for item in self.items if not item.booked and not item.key.startswith(HELD))

    @property
    def long(self) -> tuple[Item, ...]:
        """The items that took more than a tenth more hours than quoted."""
        return tuple(item for item in self.items if item.hours_over > OVER)


def earnings_of(
    accepted: Quote,
    contract: Quote,
    ledger: Ledger,
    bookings: Sequence[Booking],
    *,
    finished: bool,
    owed: Decimal | None,
) -> Earnings:
    """What a job earns by what was booked; `owed`: the net that a refused job comes to instead of the contract's.

    Then nothing more is expected, and nothing is taken in trade.
    """
    items = tuple(_items(contract.lines, ledger, bookings, traded=owed is None))
    quoted, signed = (Gain(quote.margin.net, quote.margin.cost) for quote in (accepted, contract))
    actual = Gain(signed.net if owed is None else owed, _sum(item.actual_cost for item in items))
    to_come = NOTHING if owed is not None else _to_come(items, finished=finished)
    known = [item for item in items if item.lines]
    return Earnings(
        quoted,
        signed,
        Gain(actual.net, actual.cost + to_come),
        actual if finished or owed is not None else None,
        _tally((item for item in known if item.booked), ledger.zero),
        _tally((item for item in known if not item.booked), ledger.zero),
        contract.discount,
        tuple(_kinds(items, contract.discount, ledger.zero)),
        items,
    )


def _items(lines: Sequence[Line], ledger: Ledger, bookings: Sequence[Booking], *, traded: bool) -> Iterator[Item]:
    """The contract's lines in their order without cores, then what was booked beside them."""
    groups: dict[str, list[Line]] = {}
    for line in lines:
        if line.kind != "core":
            groups.setdefault(ledger.key_of(line), []).append(line)
    booked: dict[str, list[Booking]] = {key: [] for key in groups}
    for one in bookings:
        booked.setdefault(one.key, []).append(one)
    for key, own in booked.items():
        yield _item(key, groups.get(key, []), own, ledger.zero, traded=traded)


def _item(key: str, lines: Sequence[Line], bookings: Sequence[Booking], zero: Decimal, *, traded: bool) -> Item:
    first = lines[0] if lines else bookings[0]
    cost, spent = _sum((line.cost for line in lines), zero), _sum((one.cost for one in bookings), zero)
    granted = traded and first.kind == "credit" and not bookings
    return Item(
        key,
        first.kind,
        first.name,
        len(lines),
        _sum(line.hours for line in lines),
        cost,
        _sum((line.net for line in lines), zero),
        _sum(one.hours for one in bookings),
        cost if granted else spent,
        granted or bool(bookings),
    )


def _to_come(items: Sequence[Item], *, finished: bool) -> Decimal:
    """What the lines not booked yet will cost by the contract.

    Of what is held against tear-down that is what nothing has used up, and nothing of it once the job is finished.
    """
    left = _sum(item.cost for item in items if not item.booked and not item.key.startswith(HELD))
    held = _sum(item.cost for item in items if not item.booked and item.key.startswith(HELD))
    beside = _sum(item.actual_cost for item in items if not item.lines)
    return left if finished else left + max(held - beside, NOTHING)


def _tally(items: Iterable[Item], zero: Decimal) -> Tally:
    own = tuple(items)
    cost, net = _sum((item.cost for item in own), zero), _sum((item.net for item in own), zero)
    return Tally(sum(item.lines for item in own), _sum(item.hours for item in own), cost, net)


def _kinds(items: Sequence[Item], discount: Decimal, zero: Decimal) -> Iterator[KindOf]:
    """The items by kind; a discount on the whole is a credit, and a bill that names no work is of none."""
    for kind in (*KINDS, ""):
        own = [item for item in items if item.kind == kind]
        off = discount if kind == "credit" else NOTHING
        if own or off:
            whole = _tally(own, zero)
            yield KindOf(
                kind,
                whole.hours,
                whole.cost,
                whole.net - off,
                _sum(item.actual_hours for item in own),
                _sum((item.actual_cost for item in own), zero),
                _sum((item.cost for item in own if not item.booked), zero),
            )


def _sum(amounts: Iterable[Decimal], zero: Decimal = NOTHING) -> Decimal:
    return sum(amounts, zero)
