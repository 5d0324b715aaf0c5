"""What becomes of fits, clauses and wishes: small cases by hand, each of a thing that would be easy to get wrong."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from itertools import product
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costplan.choose import AIMS, NOTHING, SHELF, Chosen, Wishes, best, encode, explain, prepare, questioning
from costplan.choose.puzzle import Allowed
from costplan.choose.questioning import merged
from costplan.scenario import Scenario
from tests.test_choose.small_shop import NO_TABLES, shop

DAY = date(2027, 2, 1)
RODS = """\
R-A,rod,Hill,40,2027-01-10,1,2,0,450,steel
R-B,rod,Dale,20,2027-01-10,1,2,0,,steel
R-C,rod,Dale,30,2027-01-10,1,20,0,600,iron
"""
PINS = "P-A,pin,Hill,7,2027-01-10,1,2,0,100, P-B,pin,Dale,5,2027-01-10,1,2,0,200,"


@pytest.fixture(params=[20_000, 0], ids=["tables", "no tables"])
def modes(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(questioning, "TABLE_MOST", request.param)


def rods(folder: Path, rules: str, pattern: str = "", tables: Mapping[str, str] = NO_TABLES) -> Scenario:
    slots = {"rods": "rod", "pin": "pin"}
    return shop(folder, RODS + PINS, slots, "rods,R-A pin,P-A", rules, pattern, tables)


def chosen(scenario: Scenario, **wishes: object) -> Chosen:
    return best(prepare(scenario, Wishes(DAY, **wishes)), AIMS["price"])[0]  # type: ignore[arg-type]


def parts(scenario: Scenario, **wishes: object) -> str:
    """The parts of the cheapest bill and its price, or its status where there is none."""
    found = chosen(scenario, **wishes)
    if found.option is None:
        return found.proof.status
    return " ".join((*(part for _, part in found.option.parts), f"{found.option.price:f}"))


HEAVY = '[[rule]]\nid = "heavy"\nkind = "limit"\nsays = "heavy"\nof = "rods.mass"\nmin = "500 g"\n'


@pytest.mark.usefixtures("modes")
def test_what_is_not_known_is_out_unless_it_is_allowed(tmp_path: Path) -> None:
    scenario = rods(tmp_path, HEAVY)
    assert parts(scenario) == "P-B R-C 35.00"
    assert parts(scenario, unknown="allow") == "P-B R-B 25.00"


@pytest.mark.usefixtures("modes")
def test_what_no_part_shows_stays_open_and_puts_out_only_what_breaks_it(tmp_path: Path) -> None:
    # 900 g is more than any known rod weighs: R-A and R-C break it, R-B cannot be shown.
    scenario = rods(tmp_path, HEAVY.replace("500", "900"))
    assert parts(scenario) == "P-B R-B 25.00"
    assert [one.ground.name for one in encode(scenario, Wishes(DAY)).open] == ["heavy"]


def test_whether_a_clause_is_open_does_not_turn_on_the_clause_before_it(tmp_path: Path) -> None:
    # R-C alone is shown to be heavy; that another clause bans it leaves the weight of R-B as unknown as it was.
    ban = '[[rule]]\nid = "ban"\nkind = "parts"\nsays = "not that one"\nslot = "rods"\nbanned = "R-C"\n'
    first, second = rods(tmp_path / "1", ban + HEAVY), rods(tmp_path / "2", HEAVY + ban)
    assert (parts(first), parts(second)) == ("impossible", "impossible")
    assert parts(first, unknown="allow") == parts(second, unknown="allow") == "P-B R-B 25.00"


@pytest.mark.usefixtures("modes")
def test_an_attribute_that_no_question_asks_for_need_not_be_known(tmp_path: Path) -> None:
    together = '[[rule]]\nid = "sum"\nkind = "limit"\nsays = "sum"\nof = "rods.mass pin.mass"\nmin = "650 g"\n'
    where = 'when = [{kind = "parts", slot = "pin", allowed = "P-A"}]\n'
    assert parts(rods(tmp_path / "always", together)) == "P-B R-C 35.00"
    assert parts(rods(tmp_path / "where", together + where)) == "P-B R-B 25.00"


@pytest.mark.usefixtures("modes")
def test_what_breaks_a_clause_of_which_nobody_knows_whether_it_is_asked_is_not_known(tmp_path: Path) -> None:
    heavy = '[[rule]]\nid = "sum"\nkind = "limit"\nsays = "sum"\nof = "rods.mass pin.mass"\nmin = "5 kg"\n'
    where = 'when = [{kind = "word", of = "pin.material", one_of = "steel"}]\n'  # no pin tells its material
    assert parts(rods(tmp_path / "always", heavy), banned=("R-B",), unknown="allow") == "impossible"
    assert parts(rods(tmp_path / "where", heavy + where), banned=("R-B",), unknown="allow") == "P-B R-C 35.00"


@pytest.mark.usefixtures("modes")
def test_a_fit_with_an_empty_slot_is_not_asked_and_what_it_would_read_need_not_be_known(tmp_path: Path) -> None:
    fit = '[[fit]]\nfit = "lighter"\nthis = "pin.mass"\nmust = "at most"\nthat = "rods.mass"\nplus = "-360 g"'
    slots = {"rods": "rod", "pin": "pin optional=true"}
    scenario = shop(tmp_path, RODS + PINS, slots, "rods,R-A pin,P-A", pattern=fit)
    assert parts(scenario) == "P-B R-C 35.00"
    assert parts(scenario, optional=("pin",)) == "R-B 20.00"


@pytest.mark.usefixtures("modes")
def test_a_condition_that_rests_on_no_slot_is_asked_too(tmp_path: Path) -> None:
    # The stroke is a number of the pattern: the condition does not hold, whatever the parts.
    pattern = 'stroke = "3 in"'
    where = 'when = [{kind = "limit", of = "stroke", max = "2 in"}]\n'
    cap = '[[rule]]\nid = "cap"\nkind = "limit"\nsays = "cheap"\nof = "price"\nmax = "20 USD"\n'
    heavy = '[[rule]]\nid = "sum"\nkind = "limit"\nsays = "sum"\nof = "rods.mass pin.mass"\nmin = "700 g"\n'
    for name, rule, always in (("cap", cap, "impossible"), ("sum", heavy, "P-B R-C 35.00")):
        assert parts(rods(tmp_path / f"{name}-where", rule + where, pattern=pattern)) == "P-B R-B 25.00"
        assert parts(rods(tmp_path / f"{name}-always", rule, pattern=pattern)) == always


@pytest.mark.usefixtures("modes")
def test_a_clause_that_rests_on_no_slot_can_make_all_impossible(tmp_path: Path) -> None:
    rule = '[[rule]]\nid = "long"\nkind = "limit"\nsays = "a long stroke"\nof = "stroke"\nmin = "4 in"\n'
    scenario = rods(tmp_path, rule, pattern='stroke = "3 in"')
    assert parts(scenario) == "impossible"
    (culprit,) = explain(encode(scenario, Wishes(DAY), whole=True)).culprits
    assert (culprit.ground.name, culprit.slots, culprit.price) == ("long", (), Decimal("25.00"))


def test_a_supplier_and_a_day_must_be_met_by_one_offer(tmp_path: Path) -> None:
    # Dale has R-C only on the 21st, Moor at once: asked of Dale by the 10th there is none, though each wish has one.
    prices = "part,supplier,date,price,least,pack,lead_days\nR-C,Moor,2027-01-10,35,,1,1\n"
    scenario = rods(tmp_path, HEAVY, tables={"c/prices.csv": prices})
    by = date(2027, 2, 10)
    assert parts(scenario, suppliers=("Dale",)) == "P-B R-C 35.00"
    assert parts(scenario, by=by) == "P-B R-C 40.00"
    assert parts(scenario, by=date(2027, 2, 3)) == "P-B R-C 40.00"  # two days for the pin are in time
    assert parts(scenario, by=date(2027, 2, 2)) == "impossible"
    assert parts(scenario, suppliers=("Dale",), by=by) == "impossible"
    found = explain(encode(scenario, Wishes(DAY, suppliers=("Dale",), by=by), whole=True))
    assert {(one.ground.kind, one.price) for one in found.culprits} >= {("lead", Decimal("35.00"))}


def test_a_clause_of_several_slots_is_one_member_of_a_conflict(tmp_path: Path) -> None:
    rule = '[[rule]]\nid = "maker"\nkind = "parts"\nsays = "of Moor"\nslot = "rods pin"\nsuppliers = "Moor"\n'
    found = explain(encode(rods(tmp_path, rule), Wishes(DAY), whole=True))
    assert [(one.ground.name, one.slots, one.price) for one in found.culprits] == [
        ("maker", ("rods", "pin"), Decimal("25.00"))
    ]


def test_a_pinned_empty_slot_stays_empty(tmp_path: Path) -> None:
    scenario = shop(tmp_path, RODS + PINS, {"rods": "rod", "pin": "pin optional=true"}, "rods,R-A pin,P-A")
    assert parts(scenario, pinned={"pin": NOTHING}) == "R-B 20.00"
    assert parts(scenario, pinned={"pin": "P-A"}) == "P-A R-B 27.00"


def test_with_nothing_left_for_a_slot_every_aim_is_impossible(tmp_path: Path) -> None:
    lives = "part,role,measure,replace_at\n,rod,events,10\n,pin,events,20\n"
    aimed = prepare(rods(tmp_path, "", tables={"c/lives.csv": lives}), Wishes(DAY, banned=("P-A", "P-B")))
    statuses = {name: best(aimed, AIMS[name])[0].proof.status for name in ("price", "season", "interval")}
    assert statuses == dict.fromkeys(("price", "season", "interval"), "impossible")


TURNS = "rods,R-A,,,dry, rods,R-C,,,wet,rain pin,P-A"


def test_a_part_that_takes_turns_is_paid_for_wherever_the_main_one_comes_from(tmp_path: Path) -> None:
    garage = "piece,part,engine,slot,alternate,count,installed,bought,events\n"
    on_shelf, on_engine = "old,R-A,,,,1,,2026-01-01,5\n", "wet-one,R-C,blue,rods,wet,,2026-03-01,2026-01-01,3\n"
    slots = {"rods": "rod", "pin": "pin"}

    def turning(rows: str, name: str) -> Scenario:
        return shop(tmp_path / name, RODS + PINS, slots, TURNS, tables={"s/garage.csv": garage + rows})

    bought = chosen(turning("", "new"), pinned={"rods": "R-A"}).option
    assert bought is not None
    assert (bought.price, bought.bill.total) == (Decimal(75), Decimal(75))
    shelf = chosen(turning(on_shelf, "shelf"), pinned={"rods": "R-A"}, hand=(SHELF,)).option
    assert shelf is not None
    assert (shelf.price, shelf.bill.total, len(shelf.on_hand)) == (Decimal(35), Decimal(35), 1)
    both = chosen(turning(on_shelf + on_engine, "both"), pinned={"rods": "R-A"}, hand=(SHELF, "blue")).option
    assert both is not None
    assert (both.price, both.bill.total, len(both.on_hand)) == (Decimal(5), Decimal(5), 2)


def test_what_takes_turns_on_an_engine_is_not_on_hand_for_the_main_part(tmp_path: Path) -> None:
    # Bought for the main part R-C is worked on for 2; the one that is in when it rains was not, and stays what it is.
    tables = {
        "c/operations.csv": "operation,role,name,price,price_date\nlook,rod,looked at,2,2027-01-10\n",
        "s/garage.csv": "piece,part,engine,slot,alternate,installed,bought,events\n"
        "wet-one,R-C,blue,rods,wet,2026-03-01,2026-01-01,3\n",
    }
    build = TURNS.replace("rods,R-A,,", "rods,R-A,look,")
    scenario = shop(tmp_path, RODS + PINS, {"rods": "rod", "pin": "pin"}, build, tables=tables)
    option = chosen(scenario, pinned={"rods": "R-C"}, hand=("blue",)).option
    assert option is not None
    sources = [(line.slot, line.source) for line in option.lines]
    assert sources == [("pin", "apart"), ("rods", "apart"), ("rods/wet", "hand")]
    assert (option.price, [one.piece for one in option.on_hand]) == (Decimal(37), ["wet-one"])


def test_a_part_that_takes_turns_keeps_to_bans_suppliers_and_days_too(tmp_path: Path) -> None:
    scenario = shop(tmp_path, RODS + PINS, {"rods": "rod", "pin": "pin"}, TURNS)
    assert parts(scenario) == "P-B R-B 55.00"
    wishes = ({"banned": ("R-C",)}, {"suppliers": ("Hill",)}, {"by": date(2027, 2, 10)})
    assert [parts(scenario, **one) for one in wishes] == ["impossible"] * 3


def test_parts_of_one_size_of_which_one_was_cut_to_it_are_not_alike(tmp_path: Path) -> None:
    tables = {
        "c/parts.csv": "part,role,supplier,price,price_date,resale,bore [in]\n"
        "B-A,block,Hill,9,2027-01-10,0,4.000\nB-B,block,Hill,99,2027-01-10,20,4.010\n",
        "c/operations.csv": "operation,role,name,price,price_date,bore [in]\nhone,block,honed,1,2027-01-10,0.010\n",
        "s/garage.csv": "piece,part,engine,slot,count,installed,bought,events\nold,B-B,,,1,,2026-01-01,5\n",
    }
    grown = 'id = "grown"\nkind = "limit"\nsays = "grown"\nof = "block.bore"\nless = "made.block.bore"'
    rule = f'[[rule]]\n{grown}\nmax = "0.005 in"\n'
    scenario = shop(tmp_path, "", {"block": "block"}, "block,B-A,hone", rule, tables=tables)
    assert parts(scenario, hand=(SHELF,)) == "B-B 20.00"
    assert parts(scenario) == "impossible"


@given(st.data())
def test_merging_the_classes_of_a_table_lets_the_same_picks_stand(data: st.DataObject) -> None:
    sizes = data.draw(st.lists(st.integers(1, 4), min_size=1, max_size=3))
    classes = tuple(data.draw(st.tuples(*(st.integers(0, 2) for _ in range(size)))) for size in sizes)
    rows = st.sampled_from(list(product(*classes)))
    table = Allowed(0, tuple(range(len(sizes))), classes, frozenset(data.draw(st.lists(rows))))
    smaller = merged(table)
    assert set(smaller.scope) <= set(table.scope)
    for pick in product(*(range(size) for size in sizes)):
        assert smaller.holds(pick) == table.holds(pick)
