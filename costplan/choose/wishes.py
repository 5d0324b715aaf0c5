"""What is wished of a choice: pinned and banned parts, suppliers, a day, parts on hand, what to do with the unknown."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from typing import Literal

from costplan.catalog import Buying, Offer, Purchase, by_cost, holding

#: In place of a carrier among what is on hand: the pieces on the shelf.
SHELF = "shelf"
#: In place of a part: the slot is left empty.
NOTHING = "nothing"


@dataclass(frozen=True, slots=True)
class Wishes:
    """What a choice must keep to beside fits and books.

    `on`: the day whose prices and rules count; `pinned`: the part that a slot must have; `banned`: parts that may be
    nowhere; `suppliers`: who may be bought from, anybody where empty; `by`: the day by which everything must be here,
    ordered on `on`; `hand`: the engines, the car or the shelf whose pieces may be used at their resale value while they
    have life left; `unknown`: whether parts may be taken of which a clause or a fit cannot tell; `optional`: the slots
    that may be filled or left empty, whatever the build has there; `budget`: the most that a bill may come to;
    `cheapen`: the slots whose part may be cheaper than planned, or used, though positions.csv says that it is not to be
    stretched.
    """

    on: date
    pinned: Mapping[str, str] = field(default_factory=dict)
    banned: tuple[str, ...] = ()
    suppliers: tuple[str, ...] = ()
    by: date | None = None
    hand: tuple[str, ...] = ()
    unknown: Literal["exclude", "allow"] = "exclude"
    optional: tuple[str, ...] = ()
    budget: Decimal | None = None
    cheapen: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ChoosyBuying(Buying):
    """Buys from some suppliers alone, and only what is here by a day."""

    suppliers: tuple[str, ...] = ()
    by: date | None = None

    def cheapest(self, offers: Iterable[Offer], pieces: int, on: date) -> Purchase:
        """The cheapest way that is left; of all where none is, as of what only comes in a kit, for its core charge."""
        there = tuple(offers)
        left = self.open_to(there, on) or holding(there, on)
        return min((self.purchase(offer, pieces, on) for offer in left), key=by_cost)

    def open_to(self, offers: Iterable[Offer], on: date) -> tuple[Offer, ...]:
        """The offers that hold on a day and keep to the wishes."""
        return tuple(offer for offer in holding(offers, on) if self._named(offer) and self.in_time(offer, on))

    def _named(self, offer: Offer) -> bool:
        return not self.suppliers or offer.supplier in self.suppliers

    def in_time(self, offer: Offer, on: date) -> bool:
        """Whether what is ordered on a day is here in time."""
        return self.by is None or on + timedelta(days=offer.lead_days) <= self.by
