"""Prices as sold: dates, least quantities, packs, suppliers, tax, currencies, kits; and looking a catalog through."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from costplan.catalog import (
    Buying,
    Catalog,
    Offer,
    check_prices,
    history_of,
    holding,
    look_up,
    read_catalogs,
    read_condition,
)
from costplan.life import compare_parts, measures_of
from costplan.money import Rate, Rates
from costplan.problems import NOWHERE, Problems

Write = Callable[[str, str | bytes], Path]

MAY = date(2027, 5, 1)
USD = Rates("USD", (Rate("EUR", Decimal("1.10"), date(2027, 1, 1)), Rate("EUR", Decimal("1.20"), date(2027, 6, 1))))
PLAIN = Buying(USD)

PARTS = """\
part,role,supplier,price,price_date,pack,lead_days,resale,wire,seat_force [lbf]
S-1,spring,Hill,40,2027-01-10,8,7,0.5,silicon,165
S-2,spring,Dale,100,2027-01-10,16,3,0,vanadium,150
S-3,spring,Hill,,,8,9,0,silicon,170
"""
PRICES = """\
part,supplier,date,price,least,pack,tax_included,currency,core_charge,lead_days,source
S-1,,2026-02-01,36,,,,,,,old list
S-1,,2027-06-01,44,,,,,,,announced
S-1,,2027-01-10,37.50,4,,,,,,break
S-1,Dale,2027-02-01,6,,1,,,,1,singles
S-3,,2027-01-10,50,,,,EUR,5,,
"""


def catalog_of(write: Write, parts: str = PARTS, header: str = "", **tables: str) -> Catalog:
    """A catalog of springs, its problems none."""
    write("c/catalog.toml", f'name = "Springs"\ncurrency = "USD"\n{header}[attributes]\nwire = "text"\n')
    write("c/roles.csv", "role,shape\nspring,3\n")
    path = write("c/parts.csv", parts)
    for name, content in tables.items():
        write(f"c/{name}.csv", content)
    catalog, problems = read_catalogs([path.parent])
    assert problems == ()
    return catalog


def test_a_part_is_offered_at_its_own_price_and_at_those_of_the_price_table(write: Write) -> None:
    catalog = catalog_of(write, prices=PRICES)
    own, *others = catalog.offers_of("S-1")
    assert (own.supplier, own.since, own.pack, own.lead_days) == ("Hill", date(2027, 1, 10), 8, 7)
    assert [(offer.supplier, str(offer.price), offer.least, offer.pack, offer.lead_days) for offer in others] == [
        ("Hill", "36", 1, 8, 7),
        ("Hill", "44", 1, 8, 7),
        ("Hill", "37.50", 4, 8, 7),
        ("Dale", "6", 1, 1, 1),
    ]
    (only,) = catalog.offers_of("S-3")
    assert (only.currency, str(only.core_charge), only.pack) == ("EUR", "5", 8)
    assert catalog.offers_of("S-9") == ()


@pytest.mark.parametrize(
    ("on", "price"), [(date(2026, 1, 1), 36), (date(2026, 6, 1), 36), (MAY, 40), (date(2027, 6, 1), 44)]
)
def test_the_latest_price_by_a_day_holds_and_before_the_first_the_first(write: Write, on: date, price: int) -> None:
    offers = [offer for offer in catalog_of(write, prices=PRICES).offers_of("S-1") if offer.least == 1]
    assert [offer.price for offer in holding([one for one in offers if one.supplier == "Hill"], on)] == [price]


@pytest.mark.parametrize(
    ("pieces", "cost", "supplier", "packs"),
    [
        (1, "6.00", "Dale", 1),  # one single against a pack of eight at 40
        (7, "40.00", "Hill", 1),  # seven singles are 42
        (16, "80.00", "Hill", 2),
        (30, "150.00", "Hill", 4),  # four packs at the break, 37.50 each
        (24, "120.00", "Hill", 3),  # three packs do not reach it
    ],
)
def test_the_cheapest_offer_for_so_many_pieces_is_taken(
    write: Write, pieces: int, cost: str, supplier: str, packs: int
) -> None:
    bought = PLAIN.cheapest(catalog_of(write, prices=PRICES).offers_of("S-1"), pieces, MAY)
    assert (bought.cost, bought.offer.supplier, bought.packs) == (Decimal(cost), supplier, packs)


def test_an_offer_from_so_many_packs_on_sells_no_fewer() -> None:
    least = Offer("a", "s", MAY, Decimal(10), least=5, pack=2, currency="USD")
    bought = PLAIN.cheapest([least], 4, MAY)
    assert (bought.packs, bought.cost, bought.left_over) == (5, Decimal("50.00"), 6)


@pytest.mark.parametrize(("on", "cost"), [(MAY, "55.00"), (date(2027, 6, 1), "60.00")])
def test_a_price_in_another_currency_counts_at_the_rate_of_the_day(write: Write, on: date, cost: str) -> None:
    bought = PLAIN.cheapest(catalog_of(write, prices=PRICES).offers_of("S-3"), 8, on)
    assert bought.cost == Decimal(cost)
    assert bought.core_charge == Decimal(cost) / 10


@pytest.mark.parametrize(
    ("included", "with_tax", "cost"),
    [
        (True, True, "40.00"),
        (True, False, "33.33"),  # 40 / 1.2
        (False, True, "48.00"),
        (False, False, "40.00"),
        (True, None, "40.00"),
        (False, None, "40.00"),
    ],
)
def test_tax_is_added_or_taken_out_as_the_buyer_counts(
    write: Write, included: bool, with_tax: bool | None, cost: str
) -> None:
    header = f"tax_included = {str(included).lower()}\ntax_rate = 0.2\n"
    catalog = catalog_of(write, PARTS.replace("S-3,spring,Hill,,,", "S-3,spring,Hill,1,2027-01-10,"), header)
    assert Buying(USD, with_tax).cheapest(catalog.offers_of("S-1"), 8, MAY).cost == Decimal(cost)


def test_prices_with_and_without_tax_are_not_mixed_in_silence(write: Write) -> None:
    prices = PRICES + "S-2,,2027-03-01,120,,,yes,,,,\n"
    catalog = catalog_of(write, prices=prices)
    found = {}
    for with_tax in (None, True, False):
        problems = Problems()
        check_prices(catalog, Buying(USD, with_tax), ["USD", "EUR"], problems)
        found[with_tax] = [(one.code, one.place.line) for one in problems.found]
    assert found == {None: [("MON003", 7)], True: [("MON004", 2)], False: [("MON004", 7)]}


def test_the_history_of_a_part_tells_each_change_against_the_same_line_before(write: Write) -> None:
    offers = catalog_of(write, prices=PRICES).offers_of("S-1")
    told = [
        (str(entry.date), entry.supplier, entry.least, entry.change and round(entry.change, 4), entry.holds)
        for entry in history_of(offers, holding(offers, MAY))
    ]
    assert told == [
        ("2026-02-01", "Hill", 1, None, False),
        ("2027-01-10", "Hill", 1, 0.1111, True),
        ("2027-01-10", "Hill", 4, None, True),
        ("2027-02-01", "Dale", 1, None, True),
        ("2027-06-01", "Hill", 1, 0.1, False),
    ]


@pytest.mark.parametrize(
    ("condition", "parts"),
    [
        ("wire=silicon", ["S-1", "S-3"]),
        ("seat_force>=165 lbf", ["S-1", "S-3"]),
        ("seat_force <= 700 N", ["S-2"]),  # 157.4 lbf
        ("seat_force=150 lbf", ["S-2"]),
    ],
)
def test_parts_are_found_by_their_figures(write: Write, condition: str, parts: list[str]) -> None:
    catalog = catalog_of(write, prices=PRICES)
    wanted, problems = read_condition(condition, catalog, NOWHERE)
    assert (problems, wanted is not None) == ((), True)
    assert [found.part for found in look_up(catalog, PLAIN, MAY, where=[wanted] if wanted else [])] == parts


@pytest.mark.parametrize(
    ("condition", "code"),
    [
        ("silicon", "REA017"),
        ("mass=3 g", "REA020"),
        ("seat_force>=165", "REA021"),
        ("seat_force>=165 mm", "REA021"),
        ("seat_force>=stiff", "REA021"),
    ],
)
def test_a_condition_that_says_nothing_is_refused(write: Write, condition: str, code: str) -> None:
    wanted, problems = read_condition(condition, catalog_of(write, prices=PRICES), NOWHERE)
    assert (wanted, [problem.code for problem in problems]) == (None, [code])


def test_a_supplier_s_parts_are_listed_at_that_supplier_s_prices(write: Write) -> None:
    found = look_up(catalog_of(write, prices=PRICES), PLAIN, MAY, role="spring", supplier="Dale")
    assert [(entry.part, entry.price, entry.price_age_days) for entry in found] == [
        ("S-1", Decimal("6.00"), 89),
        ("S-2", Decimal("100.00"), 111),
    ]


def test_parts_of_a_role_are_compared_by_the_price_of_a_unit_of_life(write: Write) -> None:
    lives = "part,role,measure,replace_at,limit,source\nS-1,,events,8,,word\nS-2,,events,5,,\n,spring,days,,400,\n"
    catalog = catalog_of(write, prices=PRICES, lives=lives)
    measures = measures_of(catalog, "spring")
    assert [measure.name for measure in measures] == ["days", "events"]
    told = [
        (entry.part, entry.cost, entry.life, entry.per_use, entry.assumed)
        for entry in compare_parts(catalog, "spring", 16, measures[1], PLAIN, MAY)
    ]
    # (80 - 16 * 0.5) / 8 = 9; 100 / 5 = 20; no life in events
    assert told == [
        ("S-1", Decimal("80.00"), 8.0, Decimal("9.00"), True),
        ("S-2", Decimal("100.00"), 5.0, Decimal("20.00"), True),
        ("S-3", Decimal("110.00"), None, None, False),
    ]
    by_days = compare_parts(catalog, "spring", 16, measures[0], PLAIN, MAY)
    assert [entry.life for entry in by_days] == [400.0, 400.0, 400.0]


def test_a_kit_is_sold_like_a_part(write: Write) -> None:
    catalog = catalog_of(
        write,
        prices=PRICES + "K-1,,2027-04-01,95,,,,,,,\n",
        kits="kit,supplier,price,price_date\nK-1,Hill,90,2027-01-01\n",
        kit_contains="kit,part,pieces\nK-1,S-1,8\nK-1,S-3,8\n",
    )
    assert [row.part for row in catalog.in_kit("K-1")] == ["S-1", "S-3"]
    assert PLAIN.cheapest(catalog.offers_of("K-1"), 2, MAY).cost == Decimal("190.00")


def test_of_offers_at_one_cost_the_order_of_rows_decides_nothing() -> None:
    alike = [
        Offer("a", "Zorn", MAY, Decimal(10), pack=8, currency="USD"),
        Offer("a", "Ahorn", MAY, Decimal(10), pack=8, currency="USD"),
        Offer("a", "Ahorn", MAY, Decimal(10), pack=12, currency="USD"),
    ]
    found = {PLAIN.cheapest(offers, 8, MAY).offer for offers in (alike, alike[::-1])}
    assert [(offer.supplier, offer.pack) for offer in found] == [("Ahorn", 8)]
