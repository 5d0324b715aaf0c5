"""The bill of materials: what to buy for a build, in whole packs and kits, what is done to it, what is left over."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import Literal

from costplan.build.pattern import Build, Fill
from costplan.catalog import Buying, Catalog, Kit, Operation, Purchase, packs_for
from costplan.money import round_money
from costplan.problems import Place, Problem, Problems, nearest

LineKind = Literal["part", "kit", "operation"]


@dataclass(frozen=True, slots=True)
class BillLine:
    """One part, kit or operation of a bill: pieces over all its slots, packs to buy, cost in the scenario's currency.

    `price_age_days`: from the day of its price to the day of the bill; `stale`: older than the scenario allows.
    """

    kind: LineKind
    part: str
    name: str
    supplier: str
    slots: tuple[str, ...]
    pieces: int
    pack: int
    packs: int
    left_over: int
    price: Decimal
    currency: str
    tax_included: bool
    price_date: date | None
    price_age_days: int | None
    stale: bool
    cost: Decimal
    core_charge: Decimal
    lead_days: int
    place: Place


@dataclass(frozen=True, slots=True)
class Saving:
    """A kit that would cost less than what it holds costs apart."""

    kit: str
    name: str
    holds: tuple[str, ...]
    saves: Decimal
    place: Place


@dataclass(frozen=True, slots=True)
class Bill:
    """The lines of a bill, their total (a sum of rounded lines), and the core deposits that come on top."""

    lines: tuple[BillLine, ...]
    currency: str
    on: date
    with_tax: bool | None
    total: Decimal
    core_charges: Decimal
    longest_lead_days: int
    oldest_price: date | None
    savings: tuple[Saving, ...] = ()


def bill_of(build: Build, catalog: Catalog, buying: Buying, on: date, stale_after_days: int) -> Bill:
    """The bill for all parts of a build, new, at the cheapest prices that hold on a day, with its operations.

    Pieces of one part share packs over their slots. Kits are bought where the build names them; others that would save
    money are told apart (`savings`), each judged alone.
    """
    return bill_for(build.everything(), catalog, buying, on, stale_after_days)


def bill_for(
    fills: Sequence[Fill],
    catalog: Catalog,
    buying: Buying,
    on: date,
    stale_after_days: int,
    worked: Sequence[Fill] = (),
) -> Bill:
    """The bill as `bill_of` gives it, for some fills; of those that are only `worked` on the operations alone."""
    clerk = _Clerk(catalog, buying, on, stale_after_days)
    in_kits, kit_lines = _kits(fills, clerk)
    apart = {part: (pieces, slots) for part, (pieces, slots) in _needs(fills).items()}
    for part, covered in in_kits.items():
        apart[part] = (max(0, apart[part][0] - covered), apart[part][1])
    needs = {part: need for part, need in apart.items() if need[0]}
    lines = (
        *(clerk.part_line(part, pieces, slots) for part, (pieces, slots) in needs.items()),
        *kit_lines,
        *(clerk.operation_line(fill, operation) for fill in (*fills, *worked) for operation in fill.operations),
    )
    return Bill(
        lines,
        buying.rates.currency,
        on,
        buying.with_tax,
        sum((line.cost for line in lines), Decimal(0)),
        sum((line.core_charge for line in lines), Decimal(0)),
        max((line.lead_days for line in lines), default=0),
        min((line.price_date for line in lines if line.price_date), default=None),
        tuple(clerk.savings({part: pieces for part, (pieces, _) in needs.items()})),
    )


def kit_deposits(name: str, kits: int, catalog: Catalog, buying: Buying, on: date) -> dict[str, Decimal]:
    """The core charges on what so many of a kit hold, by part, unrounded: as on the pieces apart."""
    found = {}
    for row in catalog.in_kit(name):
        apart = buying.cheapest(catalog.offers_of(row.part), row.pieces, on)
        found[row.part] = kits * apart.core_charge * row.pieces / (apart.packs * apart.offer.pack)
    return found


def check_kits(build: Build, catalog: Catalog) -> tuple[Problem, ...]:
    """A problem for each slot whose part is said to come in a kit that is not there or does not hold it."""
    problems = Problems()
    for fill in build.everything():
        held = [row.part for row in catalog.in_kit(fill.kit)]
        if fill.kit and fill.kit not in catalog.written_kits:
            near = nearest(fill.kit, catalog.kits)
            problems.add("BLD020", fill.place, "kit", fill.kit, "an unknown kit", near)
        elif fill.kit and held and fill.part.part not in held:
            advice = f"it holds {', '.join(held)}"
            problems.add("BLD020", fill.place, "kit", fill.kit, f"{fill.part.part} is not in the kit", advice)
    return tuple(problems.found)


def _needs(fills: Iterable[Fill]) -> dict[str, tuple[int, tuple[str, ...]]]:
    """How many pieces of each part the slots need, and which slots."""
    needs: dict[str, tuple[int, tuple[str, ...]]] = {}
    for fill in fills:
        pieces, slots = needs.get(fill.part.part, (0, ()))
        needs[fill.part.part] = (pieces + fill.slot.quantity, (*slots, fill.slot.slot))
    return needs


def _kits(fills: Sequence[Fill], clerk: _Clerk) -> tuple[dict[str, int], tuple[BillLine, ...]]:
    """The pieces of each part that come in the kits that the build names, and a line for each kit."""
    tagged: dict[str, list[Fill]] = {}
    for fill in fills:
        if fill.kit in clerk.catalog.kits:
            tagged.setdefault(fill.kit, []).append(fill)
    covered: dict[str, int] = {}
    everything, lines = _needs(fills), []
    for kit, found in tagged.items():
        needs = _needs(found)
        held = {row.part: row.pieces for row in clerk.catalog.in_kit(kit)}
        kits = max(packs_for(pieces, held[part]) for part, (pieces, _) in needs.items())
        for part in needs:
            covered[part] = covered.get(part, 0) + kits * held[part]
        wanted = {part: everything.get(part, (0, ()))[0] if part in needs else 0 for part in held}
        left_over = sum(max(0, kits * pieces - wanted[part]) for part, pieces in held.items())
        lines.append(clerk.kit_line(kit, kits, tuple(fill.slot.slot for fill in found), left_over))
    return covered, tuple(lines)


@dataclass(frozen=True, slots=True)
class _Clerk:
    """Writes the lines of a bill on a day."""

    catalog: Catalog
    buying: Buying
    on: date
    stale_after_days: int

    def buy(self, name: str, pieces: int) -> Purchase:
        return self.buying.cheapest(self.catalog.offers_of(name), pieces, self.on)

    def part_line(self, name: str, pieces: int, slots: tuple[str, ...]) -> BillLine:
        purchase = self.buy(name, pieces)
        return self._line("part", purchase, self.catalog.parts[name].name, slots, purchase.left_over)

    def kit_line(self, name: str, kits: int, slots: tuple[str, ...], left_over: int) -> BillLine:
        """A kit with the deposits on what it holds."""
        line = self._line("kit", self.buy(name, kits), self.catalog.kits[name].name, slots, left_over)
        deposits = kit_deposits(name, kits, self.catalog, self.buying, self.on)
        core = round_money(sum(deposits.values(), Decimal(0)), self.buying.rates.currency)
        return replace(line, core_charge=core)

    def _line(self, kind: LineKind, purchase: Purchase, title: str, slots: tuple[str, ...], left_over: int) -> BillLine:
        offer = purchase.offer
        age = (self.on - offer.since).days
        return BillLine(
            kind,
            offer.name,
            title,
            offer.supplier,
            slots,
            purchase.pieces,
            offer.pack,
            purchase.packs,
            left_over,
            offer.price,
            offer.currency,
            offer.tax_included,
            offer.since,
            age,
            age > self.stale_after_days,
            purchase.cost,
            purchase.core_charge,
            offer.lead_days,
            offer.place,
        )

    def operation_line(self, fill: Fill, operation: Operation) -> BillLine:
        """What is done to the pieces of a slot, its price being for one piece."""
        pieces, day = fill.slot.quantity, operation.price_date
        currency, terms = self.catalog.currency_of(operation), self.catalog.terms_of(operation.place)
        amount = self.buying.priced(operation.price * pieces, currency, terms, self.on)
        age = (self.on - day).days if day else None
        return BillLine(
            "operation",
            operation.operation,
            operation.name,
            "",
            (fill.slot.slot,),
            pieces,
            1,
            pieces,
            0,
            operation.price,
            currency,
            terms.tax_included,
            day,
            age,
            age is not None and age > self.stale_after_days,
            round_money(amount, self.buying.rates.currency),
            Decimal(0),
            0,
            operation.place,
        )

    def savings(self, needs: dict[str, int]) -> Iterator[Saving]:
        """The kits whose whole contents are needed apart and that cost less."""
        for kit in self.catalog.kits.values():
            held = {row.part: row.pieces for row in self.catalog.in_kit(kit.kit)}
            if held and all(needs.get(part, 0) >= pieces for part, pieces in held.items()):
                saves = self._saves(kit, held, needs)
                if saves > 0:
                    yield Saving(kit.kit, kit.name, tuple(held), saves, kit.place)

    def _saves(self, kit: Kit, held: dict[str, int], needs: dict[str, int]) -> Decimal:
        apart = sum((self.buy(part, needs[part]).cost for part in held), Decimal(0))
        rest = ((part, needs[part] - pieces) for part, pieces in held.items() if needs[part] > pieces)
        together = self.buy(kit.kit, 1).cost + sum((self.buy(part, pieces).cost for part, pieces in rest), Decimal(0))
        return apart - together
