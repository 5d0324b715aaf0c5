"""What is on hand and may be used: no piece that is worn, broken or not looked at, and none is passed over in silence.

Rods are renewed at 40 events (R-B at 30), pins at 20; a season has two events. New, R-A costs 4 x 40 and P-A 4 x 7.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from costplan.choose import AIMS, SHELF, Encoded, Left, Wishes, best, encode, prepare
from costplan.scenario import Scenario
from tests.test_choose.small_shop import NO_TABLES, shop

DAY, LATER = date(2027, 2, 1), date(2027, 5, 20)
PARTS = "R-A,rod,Hill,40,2027-01-10,1,2,5,450,steel R-B,rod,Dale,50,2027-01-10,1,2,5,450,steel"
PARTS += " P-A,pin,Hill,7,2027-01-10,1,2,0,100,"
SLOTS = {"rods": "rod quantity=4", "pin": "pin quantity=4"}
LIVES = "part,role,measure,replace_at,limit\n,rod,events,40,\nR-B,,events,30,\n,pin,events,20,"
GARAGE = "piece,part,engine,slot,count,installed,events,hours\n"
LOG = "date,what,engine,event,slot,piece,count,rpm\n"


def stock(folder: Path, rows: str, tables: Mapping[str, str] = NO_TABLES) -> Scenario:
    """The shop with some rows of the garage, and other tables."""
    files = {"c/lives.csv": LIVES, "s/garage.csv": GARAGE + rows, **tables}
    return shop(folder, PARTS, SLOTS, "rods,R-A pin,P-A", tables=files)


def told(encoded: Encoded) -> list[tuple[str, str, str]]:
    """Each piece that is left out: its slot, and why, without the file."""
    return [(one.piece, one.slot, one.why.partition(" (")[0]) for one in encoded.left]


def on_hand(encoded: Encoded) -> list[tuple[str, str, str]]:
    """Each piece that may be used: in which slot, and what it has run."""
    every = ((slot, one) for slot in encoded.slots for one in encoded.candidates[slot])
    return [(one.piece.piece, slot, one.used.words) for slot, one in every if one.piece and one.used]


def test_a_piece_that_has_reached_its_renewal_use_is_left_out(tmp_path: Path) -> None:
    # R-B is renewed at 30, so 30 are too many of it; R-A with 30 has 10 left; what is new has all.
    rows = "old,R-B,,,4,2026-03-01,30,\ngood,R-A,,,4,2026-03-01,30,\nnew,R-A,,,4,,,\n"
    encoded = encode(stock(tmp_path, rows), Wishes(DAY, hand=(SHELF,)))
    assert on_hand(encoded) == [("good", "rods", "30 of 40 events"), ("new", "rods", "new")]
    (left,) = encoded.left
    assert (left.piece, left.slot, left.part) == ("old", "rods", "R-B")
    assert left.why.startswith("30 of 30 events: its renewal use (")
    assert left.place.endswith("garage.csv:2")


def test_a_hard_limit_counts_whatever_the_policy_is(tmp_path: Path) -> None:
    tables = {
        "c/lives.csv": LIVES.replace("rod,events,40,", "rod,events,40,35"),
        "s/positions.csv": "slot,level,factor\nrods,rebuild,2\npin,rebuild,2",
    }
    # Renewed at twice 40, but never more than 35; a pin at twice 20, so 30 is well.
    rows = "rod-34,R-A,,,4,2026-03-01,34,\nrod-35,R-A,,,4,2026-03-01,35,\npin-30,P-A,,,4,2026-03-01,30,\n"
    encoded = encode(stock(tmp_path, rows, tables), Wishes(DAY, hand=(SHELF,)))
    assert told(encoded) == [("rod-35", "rods", "35 of 35 events: its hard limit")]
    assert on_hand(encoded) == [("pin-30", "pin", "30 of 40 events"), ("rod-34", "rods", "34 of 35 events")]


def test_a_service_step_leaves_a_share_of_a_life(tmp_path: Path) -> None:
    # Half of 40 after the step: 19 are short of it, 20 are not.
    tables = {
        "c/operations.csv": "operation,role,name,price,price_date\nhone,rod,honed,9,2027-01-10",
        "c/service_steps.csv": "role,step,operation,factor\nrod,1,hone,0.5",
        "s/garage.csv": "piece,part,count,step,events\nnear,R-A,4,1,19\nover,R-A,4,1,20",
    }
    encoded = encode(stock(tmp_path, "", tables), Wishes(DAY, hand=(SHELF,)))
    assert told(encoded) == [("over", "rods", "20 of 20 events: its renewal use")]
    assert on_hand(encoded) == [("near", "rods", "19 of 20 events")]


def test_a_part_whose_days_by_the_book_are_over_is_left_out(tmp_path: Path) -> None:
    # In since 1 March 2026: 337 days on 1 February 2027.
    rule = '[[rule]]\nid = "date"\nkind = "paper"\nsays = "a year"\npaper = "certificate"\nslot = "rods"\n'
    for valid, words in (("337 d", []), ("338 d", ["337 of 338 days"])):
        files = {"c/lives.csv": LIVES, "s/garage.csv": f"{GARAGE}rods-on,R-A,blue,rods,,2026-03-01,10,\n"}
        rules = f'{rule}valid = "{valid}"\n'
        scenario = shop(tmp_path / valid, PARTS, SLOTS, "rods,R-A pin,P-A", rules, tables=files)
        encoded = encode(scenario, Wishes(DAY, hand=("blue",)))
        assert [words for _, _, words in on_hand(encoded)] == words
        assert len(encoded.left) == 1 - len(words)


def test_what_is_run_to_failure_is_worn_at_the_mean_of_its_life(tmp_path: Path) -> None:
    # One in ten at 10 events and half at 20: Weibull of shape ln(ln 2 / -ln 0.9) / ln 2 = 2.7178, scale 22.8867, and a
    # mean of 22.8867 * gamma(1 + 1 / 2.7178) = 20.357 events.
    tables = {
        "c/lives.csv": "part,role,measure,low,likely\n,rod,events,10,20\n,pin,events,10,20",
        "s/positions.csv": "slot,level,renewal\nrods,rebuild,run to failure\npin,rebuild,run to failure",
    }
    rows = "rod-20,R-A,,,4,2026-03-01,20,\nrod-21,R-A,,,4,2026-03-01,21,\n"
    encoded = encode(stock(tmp_path, rows, tables), Wishes(DAY, hand=(SHELF,)))
    assert told(encoded) == [("rod-21", "rods", "21 of 20.36 events: its renewal use")]
    assert on_hand(encoded) == [("rod-20", "rods", "20 of 20.36 events")]


def test_a_use_that_nobody_tells_is_an_assumption(tmp_path: Path) -> None:
    # R-B is not in the build, so nobody had to say its laps.
    tables = {"c/lives.csv": "part,role,measure,replace_at\nR-B,,laps,600\n,rod,events,40"}
    scenario = stock(tmp_path, "box,R-B,,,4,2026-03-01,10,\n", tables)
    option = best(prepare(scenario, Wishes(DAY, hand=(SHELF,))), AIMS["price"])[0].option
    assert option is not None
    (rods,) = option.on_hand
    assert (rods.used, rods.share, rods.worth) == ("10 of 40 events", 0.25, Decimal(20))
    (guess,) = rods.assumed
    assert guess.startswith("its laps so far, not told in ")
    assert guess.endswith("is taken as new")
    assert guess in next(line.assumed for line in option.lines if line.slot == "rods")


def test_nothing_used_holds_an_engine_together_unless_that_is_asked_for(tmp_path: Path) -> None:
    # The planned part itself, not cheaper than planned: what its piece has run is what is wrong with it.
    tables = {"s/positions.csv": "slot,level,stretch\nrods,rebuild,no\npin,rebuild,yes"}
    scenario = stock(tmp_path, "box,R-A,,,4,2026-03-01,1,\nnew,R-A,,,4,,,\n", tables)
    encoded = encode(scenario, Wishes(DAY, hand=(SHELF,)))
    assert told(encoded) == [("box", "rods", "used, and what is in rods is not to be stretched to save money")]
    assert on_hand(encoded) == [("new", "rods", "new")]
    asked = encode(scenario, Wishes(DAY, hand=(SHELF,), cheapen=("rods",)))
    assert on_hand(asked) == [("box", "rods", "1 of 40 events"), ("new", "rods", "new")]


def test_a_set_that_is_too_small_is_told(tmp_path: Path) -> None:
    encoded = encode(stock(tmp_path, "box,R-A,,,3,,,\n"), Wishes(DAY, hand=(SHELF,)))
    assert told(encoded) == [("box", "rods", "3 of the 4 that the slot takes")]


def test_a_set_in_an_engine_that_is_too_small_is_told(tmp_path: Path) -> None:
    # Four pins are all that their slot takes, three rods are one too few.
    rows = "rods-on,R-A,blue,rods,3,2026-03-01,10,\npin-on,P-A,blue,pin,4,2026-03-01,10,\n"
    encoded = encode(stock(tmp_path, rows), Wishes(DAY, hand=("blue",)))
    assert told(encoded) == [("rods-on", "rods", "3 of the 4 that the slot takes")]
    assert on_hand(encoded) == [("pin-on", "pin", "10 of 20 events")]


ON = "rods-on,R-A,blue,rods,,2026-03-01,38,\npin-on,P-A,blue,pin,,2026-03-01,10,\n"


def test_ages_are_those_that_the_log_leaves(tmp_path: Path) -> None:
    # 38 of 40 events, and with the one of May 39; pins 11 of 20.
    log = LOG + "2027-05-01,ran,blue,one,,,,\n"
    scenario = stock(tmp_path, ON, {"s/log.csv": log})
    before, after = (encode(scenario, Wishes(day, hand=("blue",))) for day in (DAY, LATER))
    assert on_hand(before) == [("pin-on", "pin", "10 of 20 events"), ("rods-on", "rods", "38 of 40 events")]
    assert on_hand(after) == [("pin-on", "pin", "11 of 20 events"), ("rods-on", "rods", "39 of 40 events")]
    worn = stock(tmp_path / "worn", ON.replace("38", "39"), {"s/log.csv": log})
    assert told(encode(worn, Wishes(LATER, hand=("blue",)))) == [
        ("rods-on", "rods", "40 of 40 events: its renewal use")
    ]


def test_a_piece_that_said_nothing_of_its_use_has_run_once_the_log_says_so(tmp_path: Path) -> None:
    scenario = stock(tmp_path, "rods-on,R-A,blue,rods,,,0,\n", {"s/log.csv": LOG + "2027-05-01,ran,blue,one,,,,\n"})
    assert on_hand(encode(scenario, Wishes(LATER, hand=("blue",)))) == [("rods-on", "rods", "1 of 40 events")]


@pytest.mark.parametrize(
    ("row", "why"),
    [
        ("2027-05-02,failed,blue,,rods,,,", "failed on 2027-05-02"),
        ("2027-05-02,over-revved,blue,,,,,9000", "not looked at since the engine was over-revved on 2027-05-02"),
    ],
)
def test_what_broke_or_is_to_be_looked_at_is_not_on_hand(tmp_path: Path, row: str, why: str) -> None:
    scenario = stock(tmp_path, ON, {"s/log.csv": f"{LOG}{row}\n"})
    encoded = encode(scenario, Wishes(LATER, hand=("blue",)))
    assert ("rods-on", "rods", why) in told(encoded)
    assert "rods-on" not in [name for name, _, _ in on_hand(encoded)]
    assert next(one.place for one in encoded.left if one.slot == "rods").endswith("log.csv:2")
    mended = "2027-05-03,mended,blue,,rods,,,\n2027-05-03,checked,blue,,,,,\n"
    scenario = stock(tmp_path / "mended", ON, {"s/log.csv": f"{LOG}{row}\n{mended}"})
    assert "rods-on" in [name for name, _, _ in on_hand(encode(scenario, Wishes(LATER, hand=("blue",))))]


def test_what_was_put_in_after_an_over_rev_need_not_be_looked_at(tmp_path: Path) -> None:
    log = LOG + "2027-04-01,over-revved,blue,,,,,9000\n2027-04-02,changed,blue,,pin,,,\n"
    encoded = encode(stock(tmp_path, ON, {"s/log.csv": log}), Wishes(LATER, hand=("blue",)))
    why = "not looked at since the engine was over-revved on 2027-04-01"
    assert told(encoded) == [("pin-on", "pin", "changed on 2027-04-02"), ("rods-on", "rods", why)]
    assert on_hand(encoded) == [("pin in blue since 2027-04-02", "pin", "0 of 20 events")]


def test_what_was_changed_is_out_and_what_was_put_in_is_on_hand(tmp_path: Path) -> None:
    # New pins on 2 April, which ran the event of May.
    log = LOG + "2027-04-02,changed,blue,,pin,,,\n2027-05-01,ran,blue,one,,,,\n"
    encoded = encode(stock(tmp_path, ON, {"s/log.csv": log}), Wishes(LATER, hand=("blue",)))
    assert told(encoded) == [("pin-on", "pin", "changed on 2027-04-02")]
    now = ("pin in blue since 2027-04-02", "pin", "1 of 20 events")
    assert on_hand(encoded) == [now, ("rods-on", "rods", "39 of 40 events")]


def test_what_the_log_took_from_the_shelf_is_gone(tmp_path: Path) -> None:
    # Of five new pins one went in, so four are left; used rods went in as they were.
    rows = f"{ON}box,P-A,,,5,,,\nset,R-A,,,4,2026-03-01,7,\n"
    log = LOG + "2027-04-02,changed,blue,,pin,box,1,\n2027-04-02,changed,blue,,rods,set,,\n"
    scenario = stock(tmp_path, rows, {"s/log.csv": log})
    encoded = encode(scenario, Wishes(LATER, hand=(SHELF, "blue")))
    assert told(encoded) == [
        ("rods-on", "rods", "changed on 2027-04-02"),
        ("set", "rods", "the log has taken it from the shelf"),
    ]
    names = [("box", "pin", "new"), ("pin-on", "pin", "10 of 20 events")]
    assert on_hand(encoded) == [*names, ("rods in blue since 2027-04-02", "rods", "7 of 40 events")]
    two = stock(tmp_path / "two", rows, {"s/log.csv": log.replace("box,1", "box,2")})
    gone = ("box", "pin", "the log has taken it from the shelf; 3 left of the 4 that the slot takes")
    assert gone in told(encode(two, Wishes(LATER, hand=(SHELF,))))


def test_a_slot_that_no_log_follows_says_so(tmp_path: Path) -> None:
    tables = {
        "c/lives.csv": LIVES.replace("\n,pin,events,20,", ""),
        "s/positions.csv": "slot,level\nrods,rebuild",
        "s/log.csv": LOG + "2027-05-01,ran,blue,one,,,,\n2027-05-02,changed,blue,,rods,,,\n",
    }
    encoded = encode(stock(tmp_path, ON, tables), Wishes(LATER, hand=("blue",)))
    (pin,) = encoded.candidates["pin"][-1:]
    assert pin.used is not None
    assert [word.partition(" (")[0] for word in pin.used.assumed] == ["what it ran since the log began is not counted"]
    tables["s/log.csv"] += "2027-05-02,failed,blue,,pin,,,\n"
    broken = encode(stock(tmp_path / "broken", ON, tables), Wishes(LATER, hand=("blue",)))
    assert ("pin-on", "pin", "failed on 2027-05-02") in told(broken)


def test_what_is_not_asked_for_is_not_told(tmp_path: Path) -> None:
    scenario = stock(tmp_path, f"{ON}box,P-A,,,4,2026-03-01,99,\n")
    assert encode(scenario, Wishes(DAY)).left == ()
    assert [one.piece for one in encode(scenario, Wishes(DAY, hand=("blue",))).left] == []
    (left,) = encode(scenario, Wishes(DAY, hand=(SHELF,))).left
    assert isinstance(left, Left)
    assert left.piece == "box"


def test_each_part_that_takes_turns_has_its_own_ages_and_its_own_end(tmp_path: Path) -> None:
    # The event of May is dry, that of June in the rain; the one for the rain broke after it.
    rows = "dry-on,R-A,blue,rods,dry,2026-03-01,38\nwet-on,R-B,blue,rods,wet,2026-03-01,9\n"
    tables = {"c/lives.csv": LIVES, "s/garage.csv": f"piece,part,engine,slot,alternate,installed,events\n{rows}"}
    log = LOG + "2027-05-01,ran,blue,one,,,,\n2027-06-01,ran,blue,two,,,,\n"
    build = "rods,R-A,,,dry, rods,R-B,,,wet,rain pin,P-A"
    scenario = shop(tmp_path, PARTS, SLOTS, build, tables={**tables, "s/log.csv": log})
    wishes = Wishes(date(2027, 6, 2), hand=("blue",))
    assert on_hand(encode(scenario, wishes)) == [
        ("dry-on", "rods", "39 of 40 events"),
        ("wet-on", "rods/wet", "10 of 30 events"),
    ]
    broke = log + "2027-06-02,failed,blue,,rods/wet,,,\n"
    scenario = shop(tmp_path / "broke", PARTS, SLOTS, build, tables={**tables, "s/log.csv": broke})
    encoded = encode(scenario, wishes)
    assert told(encoded) == [("wet-on", "rods", "failed on 2027-06-02")]
    assert encoded.left[0].place.endswith("log.csv:4")
