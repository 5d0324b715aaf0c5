"""Prices as sold: dated offers of parts and kits, in packs, from so many packs on, with tax or without."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from costplan.money import NO_CURRENCY, Rates, round_money
from costplan.problems import NOWHERE, Place


@dataclass(frozen=True, slots=True)
class Terms:
    """How a catalog gives its prices: in which currency, with tax in them or not, and that tax's rate."""

    currency: str = NO_CURRENCY
    tax_included: bool = False
    tax_rate: float | None = None


@dataclass(frozen=True, slots=True)
class Offer:
    """One way to buy a part or a kit: the price of a pack that a supplier asks `since` a day, from `least` packs on."""

    name: str
    supplier: str
    since: date
    price: Decimal
    least: int = 1
    pack: int = 1
    currency: str = NO_CURRENCY
    tax_included: bool = False
    tax_rate: float | None = None
    core_charge: Decimal = Decimal(0)
    core_currency: str = ""
    lead_days: int = 0
    source: str = ""
    place: Place = NOWHERE


@dataclass(frozen=True, slots=True)
class Purchase:
    """So many packs at an offer: `cost` and `core_charge` rounded, in the currency that is bought in."""

    offer: Offer
    pieces: int
    packs: int
    cost: Decimal
    core_charge: Decimal

    @property
    def left_over(self) -> int:
        return self.packs * self.offer.pack - self.pieces


def packs_for(pieces: int, pack: int) -> int:
    """Whole packs that hold so many pieces.

    >>> packs_for(16, 8), packs_for(17, 8)
    (2, 3)
    """
    return -(-pieces // pack)


def holding(offers: Iterable[Offer], on: date) -> tuple[Offer, ...]:
    """The offers that hold on a day: of each supplier, pack and least quantity the latest one made by then.

    Where all are later, the earliest of each holds: a price nobody knew yet is the best guess there is.

    >>> lists = [Offer("a", "s", date(2027, month, 1), Decimal(month)) for month in (3, 1, 2)]
    >>> [offer.price for offer in holding(lists, date(2027, 2, 9))]
    [Decimal('2')]
    """
    found = list(offers)
    known = [offer for offer in found if offer.since <= on]
    in_time = sorted(known, key=lambda offer: offer.since) if known else sorted(found, key=_latest_first)
    latest = {(offer.supplier, offer.pack, offer.least): offer for offer in in_time}
    return tuple(offer for offer in found if latest.get((offer.supplier, offer.pack, offer.least)) is offer)


def _latest_first(offer: Offer) -> int:
    return -offer.since.toordinal()


def by_cost(purchase: Purchase) -> tuple[Decimal, int, str, int, int, str]:
    """What purchases are ordered by: cost, pieces left over, supplier, pack and so on; not the order of rows."""
    offer = purchase.offer
    return purchase.cost, purchase.left_over, offer.supplier, offer.pack, offer.least, offer.currency


@dataclass(frozen=True, slots=True)
class Buying:
    """How a scenario buys: its currency, exchange rates, and whether its prices hold tax; None: as they are listed."""

    rates: Rates
    with_tax: bool | None = None

    def priced(self, amount: Decimal, currency: str, taxed: Terms | Offer, on: date) -> Decimal:
        """An amount in the scenario's currency and tax basis, unrounded."""
        converted = self.rates.convert(amount, currency, on)
        if self.with_tax is None or self.with_tax == taxed.tax_included:
            return converted
        if taxed.tax_rate is None:
            raise ValueError("no rate of tax; a problem at the door")
        factor = 1 + Decimal(repr(taxed.tax_rate))
        return converted * factor if self.with_tax else converted / factor

    def pack_price(self, offer: Offer, on: date) -> Decimal:
        """The price of one pack, rounded."""
        return round_money(self.priced(offer.price, offer.currency, offer, on), self.rates.currency)

    def deposit(self, offer: Offer, on: date) -> Decimal:
        """The core charge on a pack, unrounded, in the scenario's currency."""
        return self.rates.convert(offer.core_charge, offer.core_currency or offer.currency, on)

    def purchase(self, offer: Offer, pieces: int, on: date) -> Purchase:
        """The packs of an offer that hold so many pieces, at least as many as it asks for."""
        packs = max(packs_for(pieces, offer.pack), offer.least)
        cost = round_money(self.priced(offer.price * packs, offer.currency, offer, on), self.rates.currency)
        core = round_money(self.deposit(offer, on) * packs, self.rates.currency)
        return Purchase(offer, pieces, packs, cost, core)

    def cheapest(self, offers: Iterable[Offer], pieces: int, on: date) -> Purchase:
        """The cheapest way to buy so many pieces on a day."""
        return min((self.purchase(offer, pieces, on) for offer in holding(offers, on)), key=by_cost)

    def can_tax(self, taxed: Terms | Offer) -> bool:
        """Whether a price can be counted in the scenario's tax basis."""
        return self.with_tax is None or self.with_tax == taxed.tax_included or taxed.tax_rate is not None
