"""A quote as it was worked out: its lines, what may come on top, totals, margin, days. Money in its currency."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Literal, TypeAlias

from costplan.problems import NOWHERE, Place
from costplan.quote.margin import margin_on
from costplan.quote.totals import Tax, Totals

#: What a line is of; mark-up and tax go by it. A core is a deposit on an old piece that is to come back, a credit what
#: the shop takes off or takes in trade.
Kind: TypeAlias = Literal["parts", "labour", "sublet", "supplies", "freight", "fees", "core", "credit"]
KINDS: tuple[Kind, ...] = ("parts", "labour", "sublet", "supplies", "freight", "fees", "core", "credit")
#: Whether the price is held whatever the tear-down shows, or may change with it.
Basis: TypeAlias = Literal["fixed", "estimate"]


@dataclass(frozen=True, slots=True)
class Line:
    """One line: `quantity` x `price`, less `discount` (a share), is `net`, before tax; `cost`: what the shop pays.

    `key` names the line in every revision of a quote; lines of one `heading` stand together. `spare`: pieces of a pack
    that are left over and go to the customer. A price that depends on a price of a supplier has its day, `priced`, and
    is `stale` where it is older than the scenario allows. `why`: how it came onto the quote.
    """

    key: str
    heading: str
    kind: Kind
    name: str
    part: str
    slots: tuple[str, ...]
    supplier: str
    quantity: Decimal
    unit: str
    price: Decimal
    discount: Decimal
    net: Decimal
    tax: Tax
    cost: Decimal
    hours: Decimal = Decimal(0)
    spare: int = 0
    priced: date | None = None
    price_age_days: int | None = None
    stale: bool = False
    why: str = ""
    place: Place = NOWHERE

    @property
    def earned(self) -> Decimal:
        """What is left of it; a core passes through."""
        return self.net - self.cost

    @property
    def margin(self) -> Decimal | None:
        """The share of its price that is earned; None for a core, a credit and what is given away."""
        return margin_on(self.net, self.cost) if self.kind != "core" else None


def net_of(lines: Iterable[Line], kind: str) -> Decimal:
    """What the lines of a kind come to before tax."""
    return sum((line.net for line in lines if line.kind == kind), Decimal(0))


@dataclass(frozen=True, slots=True)
class Supplied:
    """A piece that goes in and is not sold, the customer's own or one used again, with its condition in words."""

    slot: str
    part: str
    name: str
    whose: Literal["customer's", "used again"]
    condition: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Change:
    """What the price of the whole becomes more with something: before tax, with tax, and what it costs the shop."""

    net: Decimal
    gross: Decimal
    cost: Decimal


@dataclass(frozen=True, slots=True)
class Allowance:
    """Work that tear-down may show to be needed: with which chance, the likely step and the dearest one.

    `word`: the slot with its likely way, as a request's `bad` names it. `chance_why` says where the chance comes from;
    it is `assumed` where nobody stands for it. Each is priced alone.
    """

    slot: str
    word: str
    part: str
    name: str
    chance: float
    chance_why: str
    assumed: bool
    likely: str
    likely_more: Change
    worst: str
    worst_more: Change
    place: Place = NOWHERE


@dataclass(frozen=True, slots=True)
class Choice:
    """An option: what the price becomes with it; where it is `taken`, its lines stand among the others."""

    name: str
    says: str
    taken: bool
    more: Change


@dataclass(frozen=True, slots=True)
class AfterTearDown:
    """The price with what tear-down may show: `expected`, each allowance at its chance; `worst`, all at their dearest.

    Costs are without cores, which pass through; `worst_core` is what of them is in the worst net.

    `unlikely`: the chance that all of them are needed.
    """

    expected_net: Decimal
    expected_gross: Decimal
    worst_net: Decimal
    worst_gross: Decimal
    expected_cost: Decimal
    worst_cost: Decimal
    unlikely: float
    worst_core: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class KindMargin:
    """What lines of one kind come to, and cost; cores pass through and earn nothing."""

    kind: Kind
    net: Decimal
    cost: Decimal

    @property
    def earned(self) -> Decimal:
        return self.net - self.cost

    @property
    def margin(self) -> Decimal | None:
        """The share of its price that is earned; None where nothing is sold."""
        return margin_on(self.net, self.cost)


@dataclass(frozen=True, slots=True)
class Margin:
    """What the shop earns: `net` of what it sells (cores left out), `cost`, and both shares of the difference.

    `margin` is its share of the price, `markup` its share of the cost; None where that is zero. `floor`: the least net
    that has the `target` margin; it lies `above_floor`, negative where it lies below.
    """

    net: Decimal
    cost: Decimal
    margin: Decimal | None
    markup: Decimal | None
    target: Decimal
    floor: Decimal
    by_kind: tuple[KindMargin, ...]

    @property
    def earned(self) -> Decimal:
        return self.net - self.cost

    @property
    def above_floor(self) -> Decimal:
        return self.net - self.floor


@dataclass(frozen=True, slots=True)
class Schedule:
    """The days of the work if it is ordered on the day of the quote: parts here, bench free, begun, ready.

    `longest`: the part that is waited for longest; `days`: working days of the bench for its `hours`.
    """

    ordered: date
    parts_here: date
    longest: str
    bench_free: date
    begins: date
    hours: Decimal
    days: int
    ready: date


@dataclass(frozen=True, slots=True)
class Term:
    """A term of the shop in its own words, under a short heading."""

    heading: str
    says: str


@dataclass(frozen=True, slots=True)
class Party:
    """Who quotes, or to whom: a name and the lines of an address."""

    name: str
    lines: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Quote:
    """A quote worked out whole. `revision` 0 is a draft that nobody was given yet; `reason`: why there is this one.

    `of`: what is done, in words ("new engine", "freshen of blue"). `core`: deposits that come back with the old pieces
    by `core_by`, in the totals as well. `discount`: what is taken off the whole. `deposit` is due with the order,
    `balance` before the engine leaves; `if_stopped`: what is owed where the work stops after tear-down, before tax.
    """

    number: str
    request: str
    revision: int
    reason: str
    title: str
    of: str
    engine: str
    level: str
    basis: Basis
    on: date
    valid_until: date
    currency: str
    invented: bool
    shop: Party
    customer: Party
    lines: tuple[Line, ...]
    supplied: tuple[Supplied, ...]
    allowances: tuple[Allowance, ...]
    options: tuple[Choice, ...]
    totals: Totals
    discount: Decimal
    tax_notes: tuple[tuple[Tax, str], ...]
    after: AfterTearDown
    margin: Margin
    core: Decimal
    core_by: date | None
    deposit: Decimal
    balance: Decimal
    schedule: Schedule
    terms: tuple[Term, ...]
    excluded: tuple[str, ...]
    notes: tuple[str, ...]
    if_stopped: Decimal
    assumed: tuple[str, ...] = ()

    @property
    def hours(self) -> Decimal:
        """The hours that are quoted."""
        return sum((line.hours for line in self.lines), Decimal(0))

    @property
    def headings(self) -> dict[str, Decimal]:
        """The headings of its lines in order, and what the lines of each come to."""
        sums: dict[str, Decimal] = {}
        for line in self.lines:
            sums[line.heading] = sums.get(line.heading, Decimal(0)) + line.net
        return sums

    @property
    def left_at_worst(self) -> Decimal:
        """What the shop earns where all that tear-down may show is needed at its dearest, at the price of then."""
        held = self.margin.net if self.basis == "fixed" else self.after.worst_net - self.after.worst_core
        return held - self.after.worst_cost

    @property
    def stale(self) -> tuple[Line, ...]:
        """The lines whose price is old."""
        return tuple(line for line in self.lines if line.stale)
