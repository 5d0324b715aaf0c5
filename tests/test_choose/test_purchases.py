"""What candidates cost, against the bill: packs shared over slots, kits, what they leave over, pieces on hand."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from itertools import product
from pathlib import Path

import pytest

from costplan.build import Build, bill_of
from costplan.choose import AIMS, Wishes, best, encode, option_of, prepare
from costplan.choose.purchases import PRICE
from costplan.choose.puzzle import amount_of, fits
from costplan.money import from_minor
from tests.test_choose.drawn_scenarios import draw
from tests.test_choose.small_shop import shop

DAY = date(2027, 2, 1)


def test_whatever_is_picked_costs_what_its_bill_comes_to(tmp_path: Path) -> None:
    asked = 0
    for seed in range(40):
        files, wishes = draw(seed)
        aimed = prepare(files.write(tmp_path / str(seed)), wishes, whole=True)
        puzzle = aimed.encoded.puzzle
        for pick in product(*(range(size) for size in puzzle.sizes)):
            if asked % 3 == 0:
                option = option_of(aimed, pick)
                worth = sum((one.worth for one in option.on_hand), Decimal(0))
                assert option.bill.total + worth == option.price, (seed, pick)
            asked += 1
    assert asked > 1000


def test_what_counts_under_a_price_limit_is_never_more_than_it_is(tmp_path: Path) -> None:
    caps = 0
    for seed in range(60):
        files, wishes = draw(seed)
        scenario = files.write(tmp_path / str(seed))
        encoded = encode(scenario, wishes, whole=True)
        for cap in encoded.purchases.caps:
            for pick in product(*(range(size) for size in encoded.puzzle.sizes)):
                chosen = encoded.chosen(pick)
                filled = {slot: one.fill for slot, one in chosen.items() if one.fill and slot in cap.slots}
                assert scenario.catalog is not None
                bill = bill_of(Build(scenario.built().pattern, filled), scenario.catalog, scenario.buying, cap.on, 999)
                counted = from_minor(amount_of(encoded.puzzle, cap.amount, pick), "USD")
                assert counted <= bill.total, (seed, pick)
                caps += 1
    assert caps > 100


STUDS = """\
S-A,stud,Hill,10,2027-01-10,4,2,0,10,
S-B,stud,Hill,90,2027-01-10,4,2,0,10,
"""


def test_slots_share_packs(tmp_path: Path) -> None:
    # 3 and 5 studs are two packs of 4, not one and two.
    scenario = shop(tmp_path, STUDS, {"a": "stud quantity=3", "b": "stud quantity=5"}, "a,S-B b,S-B")
    option = best(prepare(scenario, Wishes(DAY)), AIMS["price"])[0].option
    assert option is not None
    assert (option.parts, option.price) == ((("a", "S-A"), ("b", "S-A")), Decimal(20))


def test_what_a_kit_leaves_over_is_used_to_the_last_piece(tmp_path: Path) -> None:
    # The kit holds 4 and one slot takes 3 of them: of the 5 of the other slot 4 are bought, at 1 each, and not all 5.
    parts = "S-A,stud,Hill,1,2027-01-10,1,2,0,10,"
    tables = {
        "c/kits.csv": "kit,name,supplier,price,price_date\nK,set,Hill,2,2027-01-10\n",
        "c/kit_contains.csv": "kit,part,pieces\nK,S-A,4\n",
    }
    scenario = shop(tmp_path, parts, {"a": "stud quantity=3", "b": "stud quantity=5"}, "a,S-A b,S-A", tables=tables)
    aimed = prepare(scenario, Wishes(DAY))
    encoded = aimed.encoded
    prices = {}
    for pick in product(*(range(size) for size in encoded.puzzle.sizes)):
        kits = tuple(one.kit for one in encoded.chosen(pick).values())
        assert fits(encoded.puzzle, pick)
        prices[kits] = amount_of(encoded.puzzle, PRICE, pick)
        assert option_of(aimed, pick).bill.total == option_of(aimed, pick).price
    assert prices == {("", ""): 800, ("K", ""): 600, ("", "K"): 400, ("K", "K"): 400}
    option = best(aimed, AIMS["price"])[0].option
    assert option is not None
    assert option.price == Decimal(4)


def test_what_a_kit_holds_need_not_be_sold_apart_by_those_one_buys_from(tmp_path: Path) -> None:
    parts = "S-A,stud,Hill,1,2027-01-10,1,2,0,10, P-A,pin,Hill,1,2027-01-10,1,2,0,10,"
    tables = {
        "c/kits.csv": "kit,name,supplier,price,price_date\nK,set,Dale,2,2027-01-10\n",
        "c/kit_contains.csv": "kit,part,pieces\nK,S-A,4\nK,P-A,1\n",
    }
    scenario = shop(tmp_path, parts, {"a": "stud quantity=3", "b": "pin"}, "a,S-A b,P-A", tables=tables)
    option = best(prepare(scenario, Wishes(DAY, suppliers=("Dale",))), AIMS["price"])[0].option
    assert option is not None
    assert [(line.kind, line.part) for line in option.bill.lines] == [("kit", "K")]
    assert option.bill.savings == ()


PLUGS = """\
P-4,plug,Hill,44,2027-01-10,4,2,0,10,
P-1,plug,Hill,15,2027-01-10,1,2,0,10,
"""


def test_a_season_counts_the_share_of_a_box_and_the_bill_the_whole_box(tmp_path: Path) -> None:
    # one plug of four for 44 is 11 a renewal, less than one for 15; the bill pays for the box
    scenario = shop(
        tmp_path,
        PLUGS,
        {"plug": "plug"},
        "plug,P-1",
        tables={"c/lives.csv": "part,role,measure,replace_at\n,plug,events,1"},
    )
    aimed = prepare(scenario, Wishes(DAY))
    chosen, _ = best(aimed, AIMS["season"])
    assert chosen.option is not None
    assert (chosen.option.parts, chosen.option.price) == ((("plug", "P-4"),), Decimal("44.00"))
    costs = {part: lasting.per_season for (_, part), lasting in aimed.lasting.items()}
    assert costs["P-4"] / costs["P-1"] == pytest.approx(11 / 15)
    cheapest = best(aimed, AIMS["price"])[0].option
    assert cheapest is not None
    assert cheapest.parts == (("plug", "P-1"),)
