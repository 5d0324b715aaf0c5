"""What one or several catalogs hold together: parts by number, roles, prices, kits, lives, operations and steps."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property
from typing import TypeVar

from costplan.catalog.attributes import ATTRIBUTES
from costplan.catalog.flows import FlowRow, LiftRow, Side
from costplan.catalog.operations import Operation
from costplan.catalog.prices import Offer, Terms
from costplan.catalog.records import Kit, KitContent, LifeRow, Part, PriceRow, Role, ServiceStep
from costplan.problems import Place
from costplan.quantity import Quantity, dimension

T = TypeVar("T")


@dataclass(frozen=True)
class Catalog:
    """Parts by number, roles by name, and the rows that speak of them.

    `written` holds the names of all parts, of rows at fault too, `written_kits` of kits, `priced`, `filled` and
    `named_operations` those of prices.csv, kit_contains.csv and operations.csv; `whole` says that no row of parts is
    at fault, `unread` that a whole table of parts is.
    `addresses` are the files read; `terms` how each folder gives its prices; `declared` the columns that catalogs
    declare themselves, with what each measures.
    """

    parts: Mapping[str, Part] = field(default_factory=dict)
    roles: Mapping[str, Role] = field(default_factory=dict)
    lives: tuple[LifeRow, ...] = ()
    prices: tuple[PriceRow, ...] = ()
    kits: Mapping[str, Kit] = field(default_factory=dict)
    contents: tuple[KitContent, ...] = ()
    operations: Mapping[str, Operation] = field(default_factory=dict)
    steps: tuple[ServiceStep, ...] = ()
    names: tuple[str, ...] = ()
    invented: bool = False
    written: frozenset[str] = frozenset()
    written_kits: frozenset[str] = frozenset()
    priced: frozenset[str] = frozenset()
    filled: frozenset[str] = frozenset()
    named_operations: frozenset[str] = frozenset()
    whole: bool = True
    unread: bool = False
    addresses: tuple[str, ...] = ()
    terms: Mapping[str, Terms] = field(default_factory=dict)
    declared: Mapping[str, str] = field(default_factory=dict)
    flows: tuple[FlowRow, ...] = ()
    lift_curves: tuple[LiftRow, ...] = ()

    @cached_property
    def _by_role(self) -> dict[str, list[Part]]:
        return _grouped((part.role, part) for part in self.parts.values())

    @cached_property
    def _lives(self) -> dict[tuple[str, str], list[LifeRow]]:
        return _grouped(((row.part, row.role), row) for row in self.lives)

    @cached_property
    def _steps(self) -> dict[tuple[str, str], list[ServiceStep]]:
        return _grouped(((row.part, row.role), row) for row in self.steps)

    @cached_property
    def _flows(self) -> dict[tuple[str, str], list[FlowRow]]:
        return _grouped(((row.part, row.side), row) for row in self.flows)

    @cached_property
    def _lifts(self) -> dict[tuple[str, str], list[LiftRow]]:
        return _grouped(((row.part, row.side), row) for row in self.lift_curves)

    @cached_property
    def _prices(self) -> dict[str, list[PriceRow]]:
        return _grouped((row.part, row) for row in self.prices)

    @cached_property
    def _contents(self) -> dict[str, list[KitContent]]:
        return _grouped((row.kit, row) for row in self.contents)

    def of_role(self, role: str) -> tuple[Part, ...]:
        return tuple(self._by_role.get(role, ()))

    def knows(self, part: str) -> bool:
        """Whether a part is written anywhere, or may be in a table that cannot be read."""
        return self.unread or part in self.written

    def in_kit(self, kit: str) -> tuple[KitContent, ...]:
        """What a kit holds."""
        return tuple(self._contents.get(kit, ()))

    def lives_of(self, part: Part) -> tuple[LifeRow, ...]:
        """The life rows of a part: its own, and its role's for the measures in which it has none."""
        own = self._lives.get((part.part, ""), [])
        measures = {row.measure.name for row in own}
        return (*own, *(row for row in self._lives.get(("", part.role), ()) if row.measure.name not in measures))

    def path_of(self, part: Part) -> tuple[ServiceStep, ...]:
        """The service steps of a part in their order: its own, else its role's."""
        rows = self._steps.get((part.part, "")) or self._steps.get(("", part.role), [])
        return tuple(sorted(rows, key=lambda row: row.step))

    @cached_property
    def _offers(self) -> dict[str, tuple[Offer, ...]]:
        """The offers of what was asked about so far."""
        return {}

    def offers_of(self, name: str) -> tuple[Offer, ...]:
        """Every price of a part or kit, its own row's first, then those of prices.csv as they stand there."""
        if name not in self._offers:
            self._offers[name] = self._all_offers(name)
        return self._offers[name]

    def _all_offers(self, name: str) -> tuple[Offer, ...]:
        sold = self.parts.get(name) or self.kits.get(name)
        if sold is None:
            return ()
        own = () if sold.price is None else (self._own_offer(sold),)
        return (*own, *(self._offer(row, sold) for row in self._prices.get(name, ())))

    @property
    def currency(self) -> str:
        """The currency of the first catalog."""
        return next(iter(self.terms.values()), Terms()).currency

    def suppliers(self) -> tuple[str, ...]:
        """Who sells anything here."""
        asked = (row.supplier for row in self.prices if row.supplier)
        return tuple(dict.fromkeys((*(part.supplier for part in self.parts.values()), *asked)))

    def flow_of(self, part: str, side: Side = "intake") -> tuple[FlowRow, ...]:
        """What a part flows, by rising lift, or in one row without lift; none where no bench is known."""
        return tuple(self._flows.get((part, side), ()))

    def lift_curve_of(self, part: str, side: Side = "intake") -> tuple[LiftRow, ...]:
        """How a cam lifts, by rising angle; none where it was not measured."""
        return tuple(self._lifts.get((part, side), ()))

    def terms_of(self, place: Place) -> Terms:
        """How the catalog that a row stands in gives its prices."""
        return self.terms.get(folder_of(place), Terms())

    def currency_of(self, sold: Part | Kit | Operation) -> str:
        """The currency of a row's price: its own, else its catalog's."""
        return sold.currency or self.terms_of(sold.place).currency

    def _own_offer(self, sold: Part | Kit) -> Offer:
        terms = self.terms_of(sold.place)
        if sold.price is None or sold.price_date is None:
            raise ValueError("no price of its own")
        return Offer(
            name_of(sold),
            sold.supplier,
            sold.price_date,
            sold.price,
            1,
            sold.pack if isinstance(sold, Part) else 1,
            sold.currency or terms.currency,
            terms.tax_included,
            terms.tax_rate,
            sold.core_charge if isinstance(sold, Part) else Decimal(0),
            sold.currency or terms.currency,
            sold.lead_days,
            sold.source,
            sold.place,
        )

    def _offer(self, row: PriceRow, sold: Part | Kit) -> Offer:
        terms = self.terms_of(row.place)
        return Offer(
            row.part,
            row.supplier or sold.supplier,
            row.date,
            row.price,
            row.least,
            row.pack or (sold.pack if isinstance(sold, Part) else 1),
            row.currency or self.currency_of(sold),
            terms.tax_included if row.tax_included is None else row.tax_included,
            terms.tax_rate,
            *self._core(row, sold),
            sold.lead_days if row.lead_days is None else row.lead_days,
            row.source or sold.source,
            row.place,
        )

    def _core(self, row: PriceRow, sold: Part | Kit) -> tuple[Decimal, str]:
        """The deposit on a pack and its currency: the row's, else the part's own; a kit has none of its own."""
        if row.core_charge is not None:
            return row.core_charge, row.currency or self.currency_of(sold)
        return (sold.core_charge if isinstance(sold, Part) else Decimal(0)), self.currency_of(sold)

    def measured(self) -> dict[str, str]:
        """The attributes that some part gives as a number, each with what it measures; all known, where parts lack."""
        everything = {**{name: what.what for name, what in ATTRIBUTES.items()}, **self.declared}
        known = {} if self.whole else {name: what for name, what in everything.items() if what != "text"}
        return known | {
            name: dimension(value.unit) or ""
            for part in self.parts.values()
            for name, value in part.attributes.items()
            if isinstance(value, Quantity)
        }

    def by_role(self) -> tuple[tuple[str, tuple[Part, ...], str], ...]:
        """Each role that has parts, with them and the measures that their lives count."""
        return tuple((role, self.of_role(role), self._measures(role)) for role in self.roles if self.of_role(role))

    def _measures(self, role: str) -> str:
        rows = (row for part in self.of_role(role) for row in self.lives_of(part))
        return ", ".join(dict.fromkeys(row.measure.name for row in rows))

    def summary(self) -> dict[str, object]:
        """What the catalog holds, as data: its names, and each role with its parts."""
        roles = [
            {"role": role, "parts": [part.part for part in parts], "lives": lives}
            for role, parts, lives in self.by_role()
        ]
        return {
            "names": self.names,
            "invented": self.invented,
            "parts": len(self.parts),
            "kits": list(self.kits),
            "operations": list(self.operations),
            "roles": roles,
        }


def folder_of(place: Place) -> str:
    """The folder that a place is in."""
    return os.path.dirname(place.file)  # noqa: PTH120 - a place is text, and pathlib would cost a thousand times as much


def name_of(sold: Part | Kit) -> str:
    """The name of what is sold."""
    return sold.part if isinstance(sold, Part) else sold.kit


K = TypeVar("K")


def _grouped(pairs: Iterable[tuple[K, T]]) -> dict[K, list[T]]:
    groups: dict[K, list[T]] = {}
    for key, value in pairs:
        groups.setdefault(key, []).append(value)
    return groups
