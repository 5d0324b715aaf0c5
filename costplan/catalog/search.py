"""Looking a catalog through: parts by role, supplier and figures, and what a part has cost when."""

from __future__ import annotations

import operator
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from types import MappingProxyType

from costplan.catalog.catalog import Catalog
from costplan.catalog.prices import Buying, Offer
from costplan.catalog.records import Part
from costplan.money import with_minor_digits
from costplan.problems import Place, Problem, nearest
from costplan.quantity import Quantity, dimension


@dataclass(frozen=True, slots=True)
class Found:
    """A part that was looked for, with the price of a pack that holds on a day, in the scenario's currency."""

    part: str
    name: str
    role: str
    supplier: str
    pack: int
    price: Decimal
    currency: str
    price_date: date
    price_age_days: int
    lead_days: int
    attributes: Mapping[str, Quantity | str]
    place: Place


@dataclass(frozen=True, slots=True)
class Condition:
    """What an attribute must be: `bore>=4 in`, `material=steel`."""

    attribute: str
    sign: str
    value: Quantity | str

    def holds(self, part: Part) -> bool:
        """Whether a part meets it; a part that does not give the attribute does not."""
        found = part.attributes.get(self.attribute)
        if isinstance(found, Quantity) and isinstance(self.value, Quantity):
            return SIGNS[self.sign](round(found.to(self.value.unit), 9), self.value.value)
        return isinstance(found, str) and self.sign == "=" and found == self.value


SIGNS: MappingProxyType[str, Callable[[float, float], bool]] = MappingProxyType(
    {"<=": operator.le, ">=": operator.ge, "=": operator.eq}
)


def read_condition(text: str, catalog: Catalog, place: Place) -> tuple[Condition | None, tuple[Problem, ...]]:
    """A condition as a user writes it, or why it says nothing."""
    match = re.fullmatch(r"\s*([\w-]+)\s*(<=|>=|=)\s*(.+?)\s*", text)
    if match is None:
        advice = "write attribute=value, attribute<=value or attribute>=value: bore>=4 in"
        return None, (Problem("REA017", place, "", text, "not a condition:", advice),)
    name, sign, wanted = match.groups()
    known = {key: value for part in catalog.parts.values() for key, value in part.attributes.items()}
    if name not in known:
        return None, (Problem("REA020", place, "", name, "an attribute that no part has:", nearest(name, known)),)
    example = known[name]
    if isinstance(example, str):
        words = Problem("REA017", place, "", text, f"{name} is a word, which nothing is above or below:", "write = ")
        return (Condition(name, sign, wanted), ()) if sign == "=" else (None, (words,))
    number, _, unit = wanted.partition(" ")
    unit = unit.strip() or "1"
    if not re.fullmatch(r"-?\d+(\.\d+)?", number) or dimension(unit) != dimension(example.unit):
        advice = f"give a number with a unit of {dimension(example.unit)}, such as {example}"
        return None, (Problem("REA021", place, "", wanted, f"no figure for {name}:", advice),)
    return Condition(name, sign, Quantity(float(number), unit)), ()


def look_up(
    catalog: Catalog, buying: Buying, on: date, role: str = "", supplier: str = "", where: Iterable[Condition] = ()
) -> tuple[Found, ...]:
    """The parts of a role, a supplier and all conditions, in the order of the files."""
    conditions = tuple(where)
    parts = catalog.of_role(role) if role else tuple(catalog.parts.values())
    found = []
    for part in parts:
        offers = [offer for offer in catalog.offers_of(part.part) if supplier in ("", offer.supplier)]
        if offers and all(condition.holds(part) for condition in conditions):
            found.append(_found(part, buying.cheapest(offers, 1, on).offer, buying, on))
    return tuple(found)


def _found(part: Part, offer: Offer, buying: Buying, on: date) -> Found:
    return Found(
        part.part,
        part.name,
        part.role,
        offer.supplier,
        offer.pack,
        buying.pack_price(offer, on),
        buying.rates.currency,
        offer.since,
        (on - offer.since).days,
        offer.lead_days,
        part.attributes,
        part.place,
    )


@dataclass(frozen=True, slots=True)
class PastPrice:
    """A price in a part's history. `change`: against the supplier's price before it, for as many packs, as a share."""

    part: str
    supplier: str
    date: date
    price: Decimal
    currency: str
    tax_included: bool
    pack: int
    least: int
    change: float | None
    holds: bool
    source: str
    place: Place


def history_of(offers: Iterable[Offer], held: Iterable[Offer]) -> tuple[PastPrice, ...]:
    """Every price of a part or kit by date; `held`: those that hold on the day asked about."""
    before: dict[tuple[str, int, int, str], Decimal] = {}
    holding = tuple(held)
    found = []
    for offer in sorted(offers, key=lambda offer: (offer.since, offer.supplier, offer.least)):
        line = (offer.supplier, offer.pack, offer.least, offer.currency)
        earlier = before.get(line)
        change = float(offer.price / earlier - 1) if earlier else None
        before[line] = offer.price
        found.append(
            PastPrice(
                offer.name,
                offer.supplier,
                offer.since,
                with_minor_digits(offer.price, offer.currency),
                offer.currency,
                offer.tax_included,
                offer.pack,
                offer.least,
                change,
                any(offer is other for other in holding) or offer in holding,
                offer.source,
                offer.place,
            )
        )
    return tuple(found)
