"""What only shows when all tables of all catalogs are read: names that lead nowhere, rows that say a thing twice."""

from __future__ import annotations

from collections.abc import Callable, Collection, Hashable, Iterable, Iterator
from datetime import date
from typing import TypeVar

from costplan.catalog.catalog import Catalog, folder_of, name_of
from costplan.catalog.flow_checking import check_flows, check_lift_curves
from costplan.catalog.prices import Buying, Offer, Terms
from costplan.catalog.records import Kit, LifeRow, Part, PriceRow, ServiceStep
from costplan.money import NO_CURRENCY, is_currency
from costplan.problems import Place, Problems, nearest
from costplan.reading import Record

R = TypeVar("R", bound=Record)


def check_whole(catalog: Catalog, parts: Collection[Part], problems: Problems) -> None:
    """Every check of the catalogs as a whole; `parts`: all rows of parts, second ones of a name too."""
    for part in parts:
        _check_role(part.role, "role", part.place, catalog, problems)
        _check_price(part, catalog, problems)
    for kit in catalog.kits.values():
        _check_price(kit, catalog, problems)
    _check_lives(catalog, problems)
    _check_prices(catalog, problems)
    _check_kits(catalog, problems)
    _check_operations(catalog, problems)
    _check_steps(catalog, problems)
    check_flows(catalog, problems)
    check_lift_curves(catalog, problems)


def check_currency(code: str, place: Place, problems: Problems) -> bool:
    """Whether a code is a currency's, with the problem if it is not."""
    if is_currency(code):
        return True
    advice = "give a code of ISO 4217, such as USD or EUR"
    problems.add("MON001", place, "currency", code, "no currency:", advice)
    return False


def _check_role(role: str, field: str, place: Place, catalog: Catalog, problems: Problems) -> None:
    if role not in catalog.roles:
        advice = f"add it to roles.csv; {nearest(role, catalog.roles)}"
        problems.add("CAT002", place, field, role, "an unknown role", advice)


def _check_price(sold: Part | Kit, catalog: Catalog, problems: Problems) -> None:
    """Whatever is sold has a price somewhere, in a currency."""
    name = name_of(sold)
    if sold.currency:
        check_currency(sold.currency, sold.place, problems)
    if sold.price is None and name not in catalog.priced:
        advice = "give price and price_date here, or a row in prices.csv"
        problems.add("CAT007", sold.place, "price", name, "nothing gives the price of", advice)


def _check_lives(catalog: Catalog, problems: Problems) -> None:
    for row in catalog.lives:
        _check_owner(row, "life", catalog, problems)
    second = "a second life in this measure"
    _check_once(catalog.lives, _life_key, ("CAT006", "measure", second), problems)


def _life_key(row: LifeRow) -> Hashable:
    return row.part, row.role, row.measure.name


def _check_owner(row: LifeRow | ServiceStep, word: str, catalog: Catalog, problems: Problems) -> None:
    """The part or the role that a row speaks of is there."""
    if row.part and not catalog.knows(row.part):
        what = f"a {word} of an unknown part"
        problems.add("CAT004", row.place, "part", row.part, what, nearest(row.part, catalog.parts))
    if row.role:
        _check_role(row.role, "role", row.place, catalog, problems)


def _check_once(
    rows: Iterable[R], key_of: Callable[[R], Hashable], words: tuple[str, str, str], problems: Problems
) -> None:
    """A problem for each row that says again what an earlier one says; `words`: its code, field and what it is."""
    code, field, what = words
    first: dict[Hashable, Place] = {}
    for row in rows:
        key = key_of(row)
        if key in first:
            problems.add(code, row.place, field, getattr(row, field), what, f"keep one; the first is in {first[key]}")
        first.setdefault(key, row.place)


def _check_prices(catalog: Catalog, problems: Problems) -> None:
    for row in catalog.prices:
        if row.currency:
            check_currency(row.currency, row.place, problems)
        if not catalog.knows(row.part) and row.part not in catalog.written_kits:
            known = (*catalog.parts, *catalog.kits)
            what = "a price of an unknown part or kit"
            problems.add("CAT008", row.place, "part", row.part, what, nearest(row.part, known))
    sold: dict[str, Part | Kit] = {**catalog.parts, **catalog.kits}

    def key_of(row: PriceRow) -> Hashable:
        owner = sold.get(row.part)
        supplier = row.supplier or (owner.supplier if owner else "")
        pack = row.pack or (owner.pack if isinstance(owner, Part) else 1)
        return row.part, supplier, row.date, row.least, pack

    _check_once(catalog.prices, key_of, ("CAT009", "date", "a second price from the same day"), problems)
    for row in catalog.prices:
        owner = sold.get(row.part)
        own = owner is not None and owner.price is not None and owner.price_date == row.date
        if owner and own and row.least == 1 and row.supplier in ("", owner.supplier) and not row.pack:
            what, advice = "a second price from the same day", f"keep one; the part's own is in {owner.place}"
            problems.add("CAT009", row.place, "date", row.date, what, advice)
        if isinstance(owner, Kit) and (row.pack or 1) > 1:
            problems.add("CAT009", row.place, "pack", row.pack, "a kit in packs of", "leave it empty; use least")


def _check_kits(catalog: Catalog, problems: Problems) -> None:
    for row in catalog.contents:
        if row.kit not in catalog.written_kits:
            what = "the contents of an unknown kit"
            problems.add("CAT010", row.place, "kit", row.kit, what, nearest(row.kit, catalog.kits))
        if not catalog.knows(row.part):
            what = "an unknown part in a kit"
            problems.add("CAT010", row.place, "part", row.part, what, nearest(row.part, catalog.parts))
    _check_once(
        catalog.contents, lambda row: (row.kit, row.part), ("CAT009", "part", "a second line of this kit for"), problems
    )
    for kit in catalog.kits.values():
        if kit.kit in catalog.parts:
            where = catalog.parts[kit.kit].place
            advice = f"give another name; the part is in {where}"
            problems.add("CAT001", kit.place, "kit", kit.kit, "a kit with the name of a part:", advice)
        if not catalog.in_kit(kit.kit) and kit.kit not in catalog.filled:
            advice = "say what it holds in kit_contains.csv"
            problems.add("CAT010", kit.place, "kit", kit.kit, "nothing is in the kit", advice)


def _check_operations(catalog: Catalog, problems: Problems) -> None:
    for operation in catalog.operations.values():
        _check_role(operation.role, "role", operation.place, catalog, problems)
        if operation.currency:
            check_currency(operation.currency, operation.place, problems)


def _check_steps(catalog: Catalog, problems: Problems) -> None:
    """Each step's owner, operation and companions are there, and the steps of a path run 1, 2, 3."""
    paths: dict[tuple[str, str], list[ServiceStep]] = {}
    for row in catalog.steps:
        _check_owner(row, "service step", catalog, problems)
        _check_operation(row, catalog, problems)
        for role in row.renew_with:
            _check_role(role, "renew_with", row.place, catalog, problems)
        _check_parts(row, catalog, problems)
        paths.setdefault((row.part, row.role), []).append(row)
    for path in paths.values():
        for number, row in enumerate(sorted(path, key=lambda row: row.step), start=1):
            if row.step != number:
                advice = f"give {number}; the steps of a path run 1, 2, 3"
                problems.add("CAT012", row.place, "step", row.step, "a step out of turn:", advice)
                break


def _check_parts(row: ServiceStep, catalog: Catalog, problems: Problems) -> None:
    """The parts that go in with a step are there, one for each role that it renews at most."""
    roles: list[str] = []
    for name in row.parts:
        part = catalog.parts.get(name)
        if not catalog.knows(name):
            problems.add("CAT013", row.place, "parts", name, "an unknown part", nearest(name, catalog.parts))
        elif part and (part.role not in row.renew_with or part.role in roles):
            advice = f"give one part of each role under renew_with: {', '.join(row.renew_with) or 'there is none'}"
            problems.add("CAT013", row.place, "parts", name, f"a part with role {part.role}", advice)
        roles += [part.role] if part else []


def _check_operation(row: ServiceStep, catalog: Catalog, problems: Problems) -> None:
    operation = catalog.operations.get(row.operation)
    owner = catalog.parts.get(row.part)
    role = owner.role if owner else row.role
    if operation is None:
        if row.operation not in catalog.named_operations:
            near = nearest(row.operation, catalog.operations)
            problems.add("CAT011", row.place, "operation", row.operation, "an unknown operation", near)
    elif role and operation.role != role:
        fitting = [other.operation for other in catalog.operations.values() if other.role == role]
        advice = f"give one for {role}: {', '.join(fitting) or 'there is none'}"
        what = f"an operation for {operation.role}:"
        problems.add("CAT011", row.place, "operation", row.operation, what, advice)


def check_prices(
    catalog: Catalog, buying: Buying, written: Collection[str], problems: Problems, *, alone: bool = False
) -> None:
    """Whether a scenario can count every price: in its currency, with tax or without.

    `written`: currencies that have a [[rate]], one at fault too; `alone`: a catalog is asked, and no scenario. Each
    want is told once, at the first price with it.
    """
    found = tuple(_prices(catalog))
    for currency, place in {currency: place for place, currency, _ in reversed(found)}.items():
        known = currency in written or currency == NO_CURRENCY or not is_currency(currency)
        if not known and buying.rates.at(currency, date.min) is None:
            rate = f"a [[rate]] for {currency}"
            advice = f"give the folder of a scenario with {rate}" if alone else f"add {rate} to scenario.toml"
            problems.add("MON002", place, "currency", currency, "no exchange rate for", advice)
    taxed = {taxed.tax_included: place for place, _, taxed in reversed(found)}
    if buying.with_tax is None and len(taxed) == 2:
        setting = "with_tax = true or false"
        advice = f"give the folder of a scenario that sets {setting}" if alone else f"set {setting} in scenario.toml"
        what = f"a price with tax, while {taxed[False]} is without;"
        problems.add("MON003", taxed[True], "tax_included", "yes", what, advice)
    lacking = {folder_of(place): place for place, _, taxed in reversed(found) if not buying.can_tax(taxed)}
    for place in lacking.values():
        advice = "give tax_rate in its catalog.toml"
        problems.add("MON004", place, "tax_rate", "", "a price that cannot be counted with or without tax:", advice)


def _prices(catalog: Catalog) -> Iterator[tuple[Place, str, Offer | Terms]]:
    """Every price of the catalogs: its place, its currency, and what it says of tax."""
    for name in (*catalog.parts, *catalog.kits):
        for offer in catalog.offers_of(name):
            yield offer.place, offer.currency, offer
    for operation in catalog.operations.values():
        yield operation.place, catalog.currency_of(operation), catalog.terms_of(operation.place)
