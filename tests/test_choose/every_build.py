"""Choosing by trying every build: what the exact model must agree with, told by the public checkers alone."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from decimal import Decimal
from itertools import combinations, product

from costplan.build import Build, Figures, Fill, bill_of, check_fits, done_to
from costplan.catalog import Buying, Catalog, Offer, Part, Purchase, by_cost, holding
from costplan.choose import NOTHING, SHELF, Wishes
from costplan.garage import Piece
from costplan.money import round_money
from costplan.quantity import Quantity
from costplan.rules import KINDS, check
from costplan.scenario import Scenario


@dataclass(frozen=True)
class Way:
    """One way to fill a slot: a part bought apart or in a kit, a piece on hand, or nothing."""

    fill: Fill | None = None
    piece: Piece | None = None

    @property
    def part(self) -> str:
        return self.fill.part.part if self.fill else NOTHING


@dataclass(frozen=True)
class Tried:
    """One build with what it costs, and what speaks against it: clauses, fits and wishes, broken or not known.

    `values`: what the clauses that compare a number find.
    """

    ways: Mapping[str, Way]
    price: Decimal
    broken: frozenset[str]
    unknown: frozenset[str]
    shown: frozenset[str] = field(default_factory=frozenset)
    values: Mapping[str, Quantity] = field(default_factory=dict)

    @property
    def parts(self) -> dict[str, str]:
        return {slot: way.part for slot, way in self.ways.items()}


@dataclass(frozen=True)
class Picky(Buying):
    """Buys only from some suppliers and only what is here in time."""

    wishes: Wishes | None = None

    def cheapest(self, offers: Iterable[Offer], pieces: int, on: date) -> Purchase:
        assert self.wishes is not None
        there = list(offers)
        left = offered(there, self.wishes) or holding(there, on)  # what is in a kit may not be sold apart
        return min((self.purchase(one, pieces, on) for one in left), key=by_cost)


def offered(offers: Iterable[Offer], wishes: Wishes) -> list[Offer]:
    """The offers that hold on the day, of the suppliers wished for, and here in time."""
    return [
        one
        for one in holding(offers, wishes.on)
        if (not wishes.suppliers or one.supplier in wishes.suppliers)
        and (wishes.by is None or wishes.on + timedelta(days=one.lead_days) <= wishes.by)
    ]


def ways_of(scenario: Scenario, wishes: Wishes, slot: str) -> Iterator[Way]:
    """Every way to fill a slot, whatever fits, book and wishes say of it."""
    build, catalog = scenario.built(), scenario.catalog or Catalog()
    wanted, planned = build.pattern.slots[slot], build.fills.get(slot)
    free = slot in wishes.optional or slot in wishes.pinned
    if wanted.optional and (planned is None or free):
        yield Way()
    if wanted.optional and planned is None and not free:
        return
    for part in catalog.of_role(wanted.role):
        work = planned.operations if planned else ()
        fill = Fill(wanted, part, part.place, operations=work)
        yield Way(fill)
        for row in catalog.contents:
            if row.part == part.part:
                yield Way(replace(fill, kit=row.kit))
        main = next((one.name for one in build.alternates.get(slot, ()) if not one.serves), "")
        for piece in scenario.garage:
            its = piece.on_shelf or piece.alternate in ("", main)
            there = its and piece.part == part.part and _is_there(piece, slot, wanted.quantity, wishes)
            if there and not is_worn(piece, part, catalog):
                as_planned = planned is not None and planned.part == part
                kept = fill if not piece.is_used or as_planned else replace(fill, operations=())
                steps = tuple(done_to(part, piece.step, catalog)) if piece.is_used else ()
                yield Way(replace(kept, steps=steps, place=piece.place), piece)


def _is_there(piece: Piece, slot: str, quantity: int, wishes: Wishes) -> bool:
    if piece.engine:
        return piece.engine in wishes.hand and piece.slot == slot and (piece.count or quantity) >= quantity
    return SHELF in wishes.hand and (piece.count or 1) >= quantity


def is_worn(piece: Piece, part: Part, catalog: Catalog) -> bool:
    """Whether a used piece has had the events at which it is renewed, by its part's row of lives, else its role's."""
    rows = [row for row in catalog.lives if row.part == part.part] or [
        row for row in catalog.lives if row.role == part.role
    ]
    return piece.is_used and any(row.replace_at and piece.use.get("events", 0.0) >= row.replace_at for row in rows)


def turns_of(scenario: Scenario, wishes: Wishes) -> Iterator[tuple[str, tuple[Way, ...]]]:
    """For each part that takes turns in a slot how it may be had: it stays as planned."""
    for slot, others in scenario.built().alternates.items():
        for one in (one for one in others if one.serves):
            pieces = (
                piece
                for piece in scenario.garage
                if piece.part == one.fill.part.part
                and piece.alternate in ("", one.name)
                and _is_there(piece, slot, one.fill.slot.quantity, wishes)
                and not is_worn(piece, one.fill.part, scenario.catalog or Catalog())
            )
            yield f"{slot}/{one.name}", (Way(one.fill), *(Way(one.fill, piece) for piece in pieces))


def every_build(scenario: Scenario, wishes: Wishes) -> tuple[Tried, ...]:
    """All builds there are, each asked of all that counts."""
    found = {slot: tuple(ways_of(scenario, wishes, slot)) for slot in sorted(scenario.built().pattern.slots)}
    found |= dict(turns_of(scenario, wishes))
    slots, choices = tuple(found), found.values()
    return tuple(_tried(scenario, wishes, dict(zip(slots, ways, strict=True))) for ways in product(*choices))


def _tried(scenario: Scenario, wishes: Wishes, ways: Mapping[str, Way]) -> Tried:
    fills = {slot: way.fill for slot, way in ways.items() if way.fill is not None and "/" not in slot}
    turns = {
        slot: tuple(replace(one, fill=fills[slot]) if not one.serves else one for one in others)
        for slot, others in scenario.built().alternates.items()
        if slot in fills
    }
    build = replace(scenario.built(), fills=fills, alternates=turns, bench=(), outdated=())
    broken, unknown, shown = set[str](), set[str](), set[str]()
    clauses = list(_clauses(scenario, wishes, build, ways))
    values = {name: value for name, _, value in clauses if isinstance(value, Quantity)}
    for name, word in (*_fits(scenario, wishes, build), *((name, word) for name, word, _ in clauses)):
        {"breaks": broken, "cannot be shown": unknown}.get(word, shown).add(name)
    broken |= {name for name, good in _wished(scenario, wishes, ways) if not good}
    return Tried(
        ways, price_of(scenario, wishes, ways), frozenset(broken), frozenset(unknown), frozenset(shown), values
    )


def _fits(scenario: Scenario, wishes: Wishes, build: Build) -> Iterator[tuple[str, str]]:
    asked = {one.fit: one.verdict for one in check_fits(Figures(build, scenario.bill(wishes.on)))}
    for fit in build.pattern.fits:
        yield fit.fit, asked.get(fit.fit, "not asked")


def _clauses(
    scenario: Scenario, wishes: Wishes, build: Build, ways: Mapping[str, Way]
) -> Iterator[tuple[str, str, object]]:
    """What each clause that parts decide says of a build: what only a gauge or a paper shows counts as shown."""
    pieces = tuple(
        way.piece.model_copy(update={"slot": slot})
        if way.piece
        else Piece.model_construct(piece=slot, part=way.part, slot=slot, bought=wishes.on)
        for slot, way in ways.items()
        if way.fill is not None and "/" not in slot
    )
    for pack in scenario.packs:
        sheet = replace(scenario.sheet(build=build, on=wishes.on), pieces=pieces, inspections=())
        tests = {rule.id: rule.test for rule in pack.rules}
        for one in check(pack, sheet, wishes.on).findings:
            if one.severity == "must" and KINDS[one.kind].by_parts(tests[one.rule]):
                open_ = one.verdict != "breaks" and one.on_paper in ("breaks", "cannot be shown")
                word = "cannot be shown" if open_ else one.verdict if one.verdict == "breaks" else "meets"
                yield one.rule, word, one.value


def _wished(scenario: Scenario, wishes: Wishes, ways: Mapping[str, Way]) -> Iterator[tuple[str, bool]]:
    catalog = scenario.catalog or Catalog()
    for slot, part in wishes.pinned.items():
        yield f"pin {slot}", ways[slot].part == part
    for part in wishes.banned:
        yield f"ban {part}", all(way.part != part for way in ways.values())
    bought = [way.fill.kit or way.part for way in ways.values() if way.fill is not None and way.piece is None]
    yield "offers", all(offered(catalog.offers_of(name), wishes) for name in bought)
    used = [way.piece.piece for way in ways.values() if way.piece is not None]
    for piece in used:
        yield f"once {piece}", used.count(piece) == 1
    if wishes.budget is not None:
        yield "budget", price_of(scenario, wishes, ways) <= wishes.budget


def price_of(scenario: Scenario, wishes: Wishes, ways: Mapping[str, Way]) -> Decimal:
    """The bill of what is bought, with the work done to new pieces on hand and what all on hand would sell for."""
    catalog = scenario.catalog or Catalog()
    bought = {slot: way.fill for slot, way in ways.items() if way.fill is not None and way.piece is None}
    if any(not offered(catalog.offers_of(fill.kit or fill.part.part), wishes) for fill in bought.values()):
        return Decimal("Infinity")
    # A bill of slots by other names: packs and kits are shared over all of them.
    build, plain = Build(scenario.built().pattern, bought), scenario.buying
    total = bill_of(build, catalog, Picky(plain.rates, plain.with_tax, wishes), wishes.on, 999).total
    for way in ways.values():
        if way.fill is None or way.piece is None:
            continue
        worth = way.fill.part.resale * way.fill.slot.quantity
        total += round_money(
            plain.rates.convert(worth, catalog.currency_of(way.fill.part), wishes.on), plain.rates.currency
        )
        if not way.piece.is_used:
            alone = bill_of(
                Build(scenario.built().pattern, {way.fill.slot.slot: way.fill}), catalog, plain, wishes.on, 999
            )
            total += sum((line.cost for line in alone.lines if line.kind == "operation"), Decimal(0))
    return total


def against(tried: Iterable[Tried], wishes: Wishes) -> list[frozenset[str]]:
    """What speaks against each build; what no build at all shows, but some leave open, speaks against none."""
    all_of_them = list(tried)
    shown = frozenset(name for one in all_of_them for name in one.shown)
    return [one.broken | (one.unknown & shown if wishes.unknown == "exclude" else frozenset()) for one in all_of_them]


def standing(tried: Iterable[Tried], wishes: Wishes) -> list[Tried]:
    """The builds that nothing speaks against."""
    all_of_them = list(tried)
    return [one for one, names in zip(all_of_them, against(all_of_them, wishes), strict=True) if not names]


def fewest_in_conflict(against_each: Iterable[frozenset[str]]) -> int:
    """The size of a smallest set of names of which each build is against one."""
    sets = set(against_each)
    names = sorted(frozenset().union(*sets))
    for size in range(len(names) + 1):
        if any(all(one & frozenset(few) for one in sets) for few in combinations(names, size)):
            return size
    raise ValueError("some build stands")
