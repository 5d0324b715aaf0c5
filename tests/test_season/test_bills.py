"""What a failure costs to put right, by its case, worked by hand to the cent."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import astuple, replace
from decimal import Decimal
from typing import Any

import numpy as np
import pytest

from costplan.problems import Place
from costplan.rules.book import Book, Charge, Clause
from costplan.scenario import read_scenario
from costplan.season import Season, compile_season
from costplan.season.bills import CaseBill, case_bills, expected_bill

SeasonOf = Callable[..., Season]

#: Springs 80.00, valves 4 at 10.00, block 900.00 with a core charge of 150.00, pump on the car 60.00.
ENGINE: dict[str, Any] = {
    "calendar": "event,date,laps\none,2027-05-01,30\ntwo,2027-05-08,40\n",
    "slots": "slot,part,pieces\nsprings,spring,2\nvalves,valve,4\nblock,block,1\npump,pump,1\n",
    "parts": "part,price,core_charge,resale\nspring,40,0,0\nvalve,10,0,1\nblock,900,150,90\npump,60,0,0\n",
    "lives": "part,measure,replace_at\nspring,laps,200\nvalve,laps,200\nblock,laps,200\npump,laps,200\n",
    "levels": "level,rank,carrier,hours,labour,supplies,renews\nquick,1,engine,8,25,3,\nfull,2,engine,100,200,40,\n"
    "side,1,car,2,12,0,\n",
    "positions": "slot,level,carrier,stops,renew_as\n"
    "springs,quick,engine,yes,set\nvalves,quick,engine,yes,piece\nblock,full,engine,yes,set\npump,side,car,no,set\n",
    "catalog": {"operations": "operation,role,price\nseat-work,valve,15.50\n"},
}


def season(season_of: SeasonOf, *cases: str, **tables: Any) -> Season:
    damage = "\n".join(["slot,case,chance,hits,operations,cost,hours,engine,paid,stops", *cases]) + "\n"
    return season_of(**{**ENGINE, "damage": damage, **tables})


def bills(found: Season) -> list[tuple[Any, ...]]:
    """Of what, case, share, slots broken, level, parts, work, other, paid, whether it stops, and the total."""
    return [(*astuple(bill)[:-1], bill.total) for bill in case_bills(found)]


def bill(*fields: Any) -> tuple[Any, ...]:
    """The same, amounts as text."""
    return tuple(Decimal(one[1:]) if isinstance(one, str) and one.startswith("=") else one for one in fields)


def test_a_bill_is_parts_work_and_what_else_the_case_costs(season_of: SeasonOf) -> None:
    found = season(season_of, "springs,dropped,0.25,block valves,seat-work,4.50,30,,,no")
    # Springs 80.00, block 900.00 and its deposit, one valve of the set; the full level; 15.50 and 4.50.
    # Without a case three failures in four are springs alone, at the quick level.
    assert bills(found) == [
        bill(
            "springs",
            "dropped",
            0.25,
            ("springs", "valves", "block"),
            "full",
            "=1140.00",
            "=240.00",
            "=20.00",
            "=0.00",
            False,
            "=1400.00",
        ),
        bill("springs", "", 0.75, ("springs",), "quick", "=80.00", "=28.00", "=0.00", "=0.00", True, "=108.00"),
    ]


def test_a_bill_of_what_follows_the_car_has_its_own_opening(season_of: SeasonOf) -> None:
    found = season(season_of, "springs,belt off,1,pump,,,,,,")
    (only,) = case_bills(found)
    # Springs 80.00 and pump 60.00; quick 28.00 and side 12.00.
    assert (only.parts, only.work, only.total) == (Decimal(140), Decimal(40), Decimal(180))
    assert only.stops


@pytest.mark.parametrize(("lost", "paid"), [("scrapped", ""), ("gone", "700")])
def test_a_bill_of_an_engine_that_is_lost_has_everything_in_it(season_of: SeasonOf, lost: str, paid: str) -> None:
    found = season(season_of, f"valves,rod through the block,1,,,250,,{lost},{paid},")
    (only,) = case_bills(found)
    assert set(only.breaks) == {"springs", "valves", "block"}
    # Whole sets: 80 + 40 + 900 and the deposit of 150; the full level 240.
    assert (only.parts, only.work, only.other) == (Decimal(1170), Decimal(240), Decimal(250))
    assert only.paid == Decimal(paid or 0)
    assert only.total == Decimal(1660) - only.paid


def test_a_hazard_has_bills_of_its_cases_alone(season_of: SeasonOf) -> None:
    found = season(
        season_of,
        "stone,radiator,0.4,pump,,8,,,,",
        "stone,seen,0.1,,,5,,,,yes",
        hazards="hazard,chance,per\nstone,0.1,events\n",
    )
    assert bills(found) == [
        bill("stone", "radiator", 0.4, ("pump",), "side", "=60.00", "=12.00", "=8.00", "=0.00", False, "=80.00"),
        bill("stone", "seen", 0.1, (), "", "=0.00", "=0.00", "=5.00", "=0.00", True, "=5.00"),
    ]


def test_what_a_level_always_renews_is_on_the_bill(season_of: SeasonOf) -> None:
    levels = ENGINE["levels"].replace("200,40,", "200,40,valves")
    found = season(season_of, "block,cracked,1,,,,,,,", levels=levels)
    (only,) = case_bills(found)
    # The valves, not broken, are renewed with the full level: 40.00, the old ones sell for 4.00.
    assert (only.breaks, only.parts) == (("block",), Decimal(900 + 150 + 40 - 4))


def test_a_step_mends_what_it_says_it_mends(season_of: SeasonOf) -> None:
    catalog = {
        "operations": "operation,role,price\nsleeve,block,120\n",
        "service_steps": "role,step,operation,factor,mends\nblock,1,sleeve,0.8,yes\n",
    }
    found = season(
        season_of, "block,cracked,0.5,,,,,,,", "block,through,0.5,,,,,scrapped,,", catalog=catalog, calendar=CALENDAR
    )
    mended, lost = case_bills(found)
    assert mended.parts == Decimal(120)
    assert lost.parts == Decimal(80 + 40 + 900 + 150)


CALENDAR = "event,date,laps\none,2027-05-01,30\ntwo,2027-05-08,40\n"


def test_bills_are_at_the_prices_after_the_last_run(season_of: SeasonOf) -> None:
    prices = "part,supplier,date,price\nspring,shop,2027-05-05,47\n"
    found = season(season_of, "springs,dropped,1,,,,,,,", catalog={**ENGINE["catalog"], "prices": prices})
    assert [one.parts for one in case_bills(found)] == [Decimal(94)]


ALTERNATES: dict[str, Any] = {
    "calendar": "event,date,laps,setup\none,2027-05-01,30,\ntwo,2027-05-08,40,wet\n",
    "slots": "slot,part,pieces,alternate,serves\n"
    "springs,spring,2,,\ncarburetor,carb,1,dry,\ncarburetor,carb,1,soft,wet\n",
    "parts": "part,price\nspring,40\ncarb,300\n",
    "lives": "part,measure,replace_at\nspring,laps,200\ncarb,laps,200\n",
    "levels": "level,rank,hours,labour\nquick,1,8,25\n",
    "positions": "slot,level\nsprings,quick\ncarburetor,quick\n",
    "catalog": {},
}


def test_of_alternates_the_one_that_usually_runs_is_on_the_bill(season_of: SeasonOf) -> None:
    cases = ("springs,fire,0.5,carburetor,,,,,,", "springs,burnt,0.5,,,,,scrapped,,")
    found = {one.case: one for one in case_bills(season(season_of, *cases, **ALTERNATES))}
    hit, lost = found["fire"], found["burnt"]
    assert (hit.breaks, hit.parts) == (("springs", "carburetor"), Decimal(380))
    assert (lost.breaks, lost.parts) == (("springs", "carburetor", "carburetor/soft"), Decimal(680))


def test_what_a_failure_costs_on_average(season_of: SeasonOf) -> None:
    found = season(
        season_of, "springs,dropped,0.25,block valves,seat-work,4.50,30,,,", "springs,gone,0.1,,,,,gone,700,"
    )
    # 0.25 * 1400 + 0.1 * (80 + 40 + 900 + 150 + 240 - 700) + 0.65 * 108 = 350 + 71 + 70.20; pumps 60 + 12.
    assert expected_bill(found, 0) == 49_120
    assert expected_bill(found, 3) == 7200


def test_a_bill_leaves_the_season_as_it_was(season_of: SeasonOf) -> None:
    found = season(season_of, "springs,dropped,1,block,,,,,,")
    before = {name: value.copy() for name, value in found.start._asdict().items()}
    assert case_bills(found) == case_bills(found)
    for name, value in before.items():
        assert np.array_equal(value, getattr(found.start, name)), name


def test_what_the_book_charges_for_an_opening_is_work(season_of: SeasonOf) -> None:
    scenario, problems = read_scenario(season(season_of, "springs,dropped,1,block,,,,,,").files.folder)
    assert scenario is not None, problems
    clause = Clause("Lantern Cup", "F1", "an opening is sealed for a fee", Place("rules-cup.toml", 7))
    book = Book(charges=(Charge(clause, Decimal("37.50"), "USD", "opening", "full"),))
    found, problems = compile_season(replace(scenario.sources, book=book))
    assert found is not None, problems
    (only,) = case_bills(found)
    assert (only.parts, only.work) == (Decimal(1130), Decimal("277.50"))


def test_without_cases_there_is_no_bill(season_of: SeasonOf) -> None:
    assert case_bills(season_of(**ENGINE)) == ()


def test_a_bill_knows_its_row(season_of: SeasonOf) -> None:
    found: tuple[CaseBill, ...] = case_bills(season(season_of, "springs,dropped,0.5,,,,,,,"))
    assert [(one.place.file.rpartition("/")[2], one.place.line) for one in found] == [
        ("damage.csv", 2),
        ("positions.csv", 2),
    ]


def test_a_spare_on_the_shelf_has_been_paid_for_too(season_of: SeasonOf) -> None:
    """A bill is the same with a spare in the box as without one."""
    boxes = {"garage": "piece,part,engine,slot,count\nbox,spring,,,2\n"}
    (plain,), (stocked,) = (case_bills(season(season_of, "springs,one,1", **more)) for more in ({}, boxes))
    assert plain.parts == stocked.parts == Decimal(80)
