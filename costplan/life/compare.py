"""Parts of one role side by side: what a set costs, how long it is run, and what a unit of that life costs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from costplan.catalog import Buying, Catalog, Part
from costplan.life.lives import life_of
from costplan.money import round_money
from costplan.problems import Place
from costplan.quantity import Quantity
from costplan.reading.fields import MeasureName


@dataclass(frozen=True, slots=True)
class Compared:
    """A part as a set of so many pieces. `life`: use at which it is renewed, or its hard limit, in `measure`'s unit.

    `per_use` = (price of the pieces - their resale) / life; None where no life is known in the measure.
    """

    part: str
    name: str
    supplier: str
    pieces: int
    packs: int
    pack: int
    cost: Decimal
    currency: str
    price_date: date
    price_age_days: int
    lead_days: int
    measure: str
    life: float | None
    per_use: Decimal | None
    assumed: bool
    attributes: Mapping[str, Quantity | str]
    place: Place


def measures_of(catalog: Catalog, role: str) -> tuple[MeasureName, ...]:
    """The measures that lives of a role's parts count, as the files write them, the commonest first."""
    counted = [row.measure for part in catalog.of_role(role) for row in catalog.lives_of(part)]
    return tuple(sorted(dict.fromkeys(counted), key=lambda measure: (-counted.count(measure), str(measure))))


def compare_parts(
    catalog: Catalog, role: str, pieces: int, measure: MeasureName | None, buying: Buying, on: date
) -> tuple[Compared, ...]:
    """The parts of a role by price per unit of life, those without a life in the measure last.

    Their figures are in the units of the first part that gives them.
    """
    found = _alike(_compared(part, catalog, pieces, measure, buying, on) for part in catalog.of_role(role))
    return tuple(sorted(found, key=lambda entry: (entry.per_use is None, entry.per_use or Decimal(0))))


def _alike(parts: Iterable[Compared]) -> Iterator[Compared]:
    """The parts with each figure in the unit in which the first of them gives it."""
    units: dict[str, str] = {}
    for part in parts:
        told = {
            name: value.into(units.setdefault(name, value.unit)) if isinstance(value, Quantity) else value
            for name, value in part.attributes.items()
        }
        yield replace(part, attributes=told)


def _compared(
    part: Part, catalog: Catalog, pieces: int, measure: MeasureName | None, buying: Buying, on: date
) -> Compared:
    purchase = buying.cheapest(catalog.offers_of(part.part), pieces, on)
    offer = purchase.offer
    rows = catalog.lives_of(part) if measure else ()
    row = next((row for row in rows if measure and row.measure.name == measure.name), None)
    life = life_of(row, catalog.roles.get(part.role), pieces) if row else None
    use = measure.from_kept(min(life.used_up_at(), life.limit)) if measure and life else None
    of_pieces = purchase.cost * pieces / (purchase.packs * offer.pack)
    resale = buying.rates.convert(part.resale * pieces, catalog.currency_of(part), on)
    worth = max(Decimal(0), of_pieces - resale)
    return Compared(
        part.part,
        part.name,
        offer.supplier,
        pieces,
        purchase.packs,
        offer.pack,
        purchase.cost,
        buying.rates.currency,
        offer.since,
        (on - offer.since).days,
        offer.lead_days,
        str(measure or ""),
        use,
        round_money(worth / Decimal(repr(use)), buying.rates.currency) if use else None,
        bool(life and life.assumed),
        part.attributes,
        part.place,
    )
