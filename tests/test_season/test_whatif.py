"""What if a part fails, the engine is claimed, the money is only so much: worked by hand to the cent."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from typing import Any

import numpy as np
import pytest
from pytest import approx

from costplan.season import Season
from costplan.season.drawn.drawing import draw
from costplan.season.drawn.figures import Chance
from costplan.season.drawn.whatif import Struck, affordable, if_claimed, if_fails, last_run_of, with_claim

SeasonOf = Callable[..., Season]

CALENDAR = """\
event,date,laps
one,2027-05-01,30
two,2027-05-08,40
three,2027-05-15,50
"""
#: Springs 80.00, valves 40.00, block 900.00 with a core charge of 150.00 and 100.00 resale, pump on the car 60.00. All
#: live for 200 laps, of which one in a million fails; at shape 5 next to none does within 120.
ENGINE: dict[str, Any] = {
    "calendar": CALENDAR,
    "scenario": '[policy]\nearly = "off"\n',
    "slots": "slot,part,pieces\nsprings,spring,2\nvalves,valve,4\nblock,block,1\npump,pump,1\n",
    "parts": "part,price,core_charge,resale\nspring,40,0,0\nvalve,10,0,0\nblock,900,150,100\npump,60,0,0\n",
    "lives": "part,measure,replace_at,risk,shape\n"
    + "".join(f"{part},laps,200,0.000001,5\n" for part in ("spring", "valve", "block", "pump")),
    "levels": "level,rank,carrier,hours,labour\nquick,1,engine,8,25\nfull,2,engine,100,200\nside,1,car,2,12\n",
    "positions": "slot,level,carrier,stops\n"
    "springs,quick,engine,yes\nvalves,quick,engine,yes\nblock,full,engine,yes\npump,side,car,no\n",
}
CASES = "slot,case,chance,hits,cost\n"
N = 60


def season(season_of: SeasonOf, **tables: Any) -> Season:
    return season_of(**{**ENGINE, **tables})


def struck(found: Struck | None) -> Struck:
    assert found is not None
    return found


def money(found: Struck) -> tuple[str, str, str]:
    """The mean bill, its spread, and net."""
    return str(found.bill.mean), str(found.bill.p90 - found.bill.p10), str(found.net.mean)


# --- a part fails


def test_the_bill_of_a_failure_is_parts_and_work(season_of: SeasonOf) -> None:
    found = struck(if_fails(season(season_of), "springs", "two", N))
    # 80.00 and 25.00. Left on hand: at 0.40 a lap the springs have 50 laps instead of 120, 28.00 more; the others 100:
    # valves 0.20 * 20 = 4.00, the block (900 - 100) / 200 = 4.00 a lap, 80.00, the pump 0.30 * 20 = 6.00.
    assert money(found) == ("105.00", "0.00", str(Decimal("105.00") - 28 - 4 - 80 - 6))
    assert (found.what, found.event, str(found.date), found.seasons) == ("springs", "two", "2027-05-08", N)
    assert (found.run, found.missed.mean) == (Chance(1, 0), 0)
    assert found.results_lost.mean == 1
    assert [(one.case, one.share.share, str(one.bill), str(one.error)) for one in found.cases] == [
        ("", 1, "105.00", "0.00")
    ]


def test_a_failure_in_the_last_event_is_put_right_after_it(season_of: SeasonOf) -> None:
    found = struck(if_fails(season(season_of), "block", "three", N))
    # A broken block brings no core back: 900 + 150, and the full level.
    assert found.bill.mean == Decimal(1250)


def test_a_failure_that_does_not_stop_loses_no_result(season_of: SeasonOf) -> None:
    found = struck(if_fails(season(season_of), "pump", "one", N))
    # Nothing is stopped: the pump alone is newer at the end, by 30 laps at 0.30.
    assert money(found) == ("72.00", "0.00", "63.00")
    assert found.results_lost.mean == 0


def test_a_failure_saves_what_would_have_come_due(season_of: SeasonOf) -> None:
    lives = ENGINE["lives"].replace("spring,laps,200", "spring,laps,100")
    found = struck(if_fails(season(season_of, lives=lives), "springs", "two", N))
    # As planned the springs are renewed before three, 30 + 40 + 50 > 100: so they are in any case.
    assert found.bill.mean == 0


def test_the_hours_of_a_failure_miss_events(season_of: SeasonOf) -> None:
    levels = ENGINE["levels"].replace("quick,1,engine,8", "quick,1,engine,170").replace("engine,100,200", "engine,180,")
    found = struck(if_fails(season(season_of, levels=levels), "springs", "one", N))
    assert found.missed.mean == 1
    assert found.results_lost.mean == 2  # one stopped, two missed


def test_each_case_has_its_bill(season_of: SeasonOf) -> None:
    damage = CASES + "springs,dropped,0.3,valves block,10\nsprings,bent,0.3,valves,\n"
    n = 2000
    found = struck(if_fails(season(season_of, damage=damage), "springs", "two", n))
    # dropped: 80 + 40 + 900 + 150 + 200 + 10; bent: 80 + 40 + 25; else 105.
    assert {one.case: (str(one.bill), str(one.error)) for one in found.cases} == {
        "dropped": ("1380.00", "0.00"),
        "bent": ("145.00", "0.00"),
        "": ("105.00", "0.00"),
    }
    shares = {one.case: one.share.share for one in found.cases}
    assert sum(shares.values()) == approx(1)
    assert shares["dropped"] == approx(0.3, abs=4 * (0.21 / n) ** 0.5)
    assert [one.share.share for one in found.cases] == sorted(shares.values(), reverse=True)
    mean = sum(float(one.bill) * one.share.share for one in found.cases)
    assert float(found.bill.mean) == approx(mean, abs=0.01)


def test_where_rain_took_the_event_nothing_fails(season_of: SeasonOf) -> None:
    n = 2000
    calendar = CALENDAR.replace("laps", "laps,rain").replace("40", "40,0.4")
    found = struck(if_fails(season(season_of, calendar=calendar), "springs", "two", n))
    assert found.run.share == approx(0.6, abs=4 * (0.24 / n) ** 0.5)
    assert found.bill.mean == Decimal(105)


def test_of_alternates_the_one_that_serves_fails(season_of: SeasonOf) -> None:
    found = season_of(
        calendar="event,date,laps,setup\none,2027-05-01,30,\ntwo,2027-05-08,40,wet\nthree,2027-05-15,50,\n",
        slots="slot,part,pieces,alternate,serves\ncarburetor,carb,1,dry,\ncarburetor,carb,1,soft,wet\n",
        parts="part,price\ncarb,300\n",
        lives="part,measure,replace_at,risk,shape\ncarb,laps,200,0.000001,5\n",
        levels="level,rank\nquick,1\n",
        positions="slot,level\ncarburetor,quick\n",
    )
    nets = [struck(if_fails(found, "carburetor", event, 10)).net.mean for event in ("one", "two", "three")]
    # 1.50 a lap. The dry one breaks half-way through 30 laps and is 30 newer in the end, or half-way through 50 and is
    # 80 newer; the wet one, half-way through 40, is put in new after its only event.
    assert nets == [300 - 45, 300 - 60, 300 - 120]
    assert struck(if_fails(found, "carburetor/soft", "two", 10)).net.mean == 240
    assert if_fails(found, "carburetor/soft", "one", 10) is None


def test_what_is_no_position_cannot_fail(season_of: SeasonOf) -> None:
    services = "service,price,every,measure\noil,60,100,laps\n"
    found = season(season_of, services=services)
    assert if_fails(found, "no such slot", "two", 10) is None
    assert if_fails(found, "oil", "two", 10) is None


def test_the_last_run_of_an_event(season_of: SeasonOf) -> None:
    found = season(
        season_of,
        calendar="event,date,format\none,2027-05-01,night\ntwo,2027-05-08,night\n",
        sessions="format,session,laps\nnight,heat,10\nnight,feature,20\n",
    )
    assert [last_run_of(found, event) for event in ("one", "two")] == [1, 3]


# --- the engine is claimed


def test_an_engine_claimed_is_built_again_for_what_is_paid(season_of: SeasonOf) -> None:
    found = if_claimed(season(season_of), "two", Decimal("750.50"), 50, N)
    # New: springs 80, valves 40, block 900 and its deposit of 150 (nothing comes back); the full level 200. Every part
    # of the engine has 50 instead of 120 laps: 0.40, 0.20 and 4.00 a lap. The pump stays, and nothing is stopped: a
    # claim is made when the event is over.
    bill = Decimal(80 + 40 + 900 + 150 + 200) - Decimal("750.50")
    assert money(found) == (str(bill), "0.00", str(bill - 70 * (Decimal("4.60"))))
    assert (found.missed.mean, found.results_lost.mean, found.run.share) == (0, 0, 1)
    assert found.what == "the engine is claimed for 750.50"


def test_an_engine_that_is_not_there_in_time_misses_events(season_of: SeasonOf) -> None:
    # The full level takes 100 of the 158 hours, so that 58 more are in time.
    assert if_claimed(season(season_of), "one", Decimal(0), 58, N).missed.mean == 0
    assert if_claimed(season(season_of), "one", Decimal(0), 59, N).missed.mean == 1


def test_another_engine_runs_while_the_claimed_one_is_built(season_of: SeasonOf) -> None:
    found = season(season_of, scenario='[policy]\nearly = "off"\n[[engine]]\nname = "A"\n[[engine]]\nname = "B"\n')
    claimed = if_claimed(found, "one", Decimal(1000), 500, N)
    assert claimed.missed.mean == 0
    assert claimed.bill.mean == Decimal(370)


def test_a_claim_that_never_comes_changes_no_season(season_of: SeasonOf) -> None:
    hazards, damage = "hazard,chance,per\nstone,0.2,events\n", CASES + "springs,x,0.5,valves,3\nstone,y,0.5,pump,7\n"
    lives = ENGINE["lives"].replace("0.000001,5", "0.4,2")
    found = season(season_of, hazards=hazards, damage=damage, lives=lives)
    plain, claimable = draw(found, 80), draw(with_claim(found, 1000, 100), 80)
    assert np.array_equal(plain.cash, claimable.cash)
    assert np.array_equal(plain.left, claimable.left)
    assert plain.cash.std() > 0


# --- the money is only so much

SPENDING = """\
event,date,kind,laps,entry,purse
shake-down,2027-04-24,practice,10,20,
one,2027-05-01,race,30,100,
two,2027-05-08,race,40,100,
three,2027-05-15,race,50,100,250
"""


@pytest.mark.parametrize(
    ("money", "events", "races", "whole", "lasts"),
    [
        # Paid by the end of each: 20, 120, 220, 70: three's purse comes after its entry, but is counted with it.
        ("19.99", 0, 0, 0, [0, 0, 0, 0]),
        ("20", 1, 0, 0, [1, 0, 0, 0]),
        ("120", 2, 1, 0, [1, 1, 0, 0]),
        ("219.99", 2, 1, 0, [1, 1, 0, 0]),  # what comes in later does not help
        ("220", 4, 3, 1, [1, 1, 1, 1]),
    ],
)
def test_money_lasts_until_what_was_paid_passes_it(
    season_of: SeasonOf, money: str, events: int, races: int, whole: int, lasts: list[int]
) -> None:
    found = affordable(draw(season(season_of, calendar=SPENDING), 20), Decimal(money))
    assert (found.events.mean, found.races.mean, found.whole.share) == (events, races, whole)
    assert [one.lasts.share for one in found.by_event] == lasts
    assert [str(one.so_far.mean) for one in found.by_event] == ["20.00", "120.00", "220.00", "70.00"]
    assert found.planned == events
    assert (found.sum, found.seasons) == (Decimal(money), 20)


def test_what_is_put_right_after_the_last_event_belongs_to_the_whole(season_of: SeasonOf) -> None:
    draws = draw(season(season_of, calendar=SPENDING), 4)
    # In half of the seasons 300 more are paid after the last event: 370 in all.
    event = draws.event.copy()
    event[:2, -1] += 30_000
    found = affordable(replace(draws, event=event), Decimal(300))
    assert (found.events.mean, found.whole.share) == (4, 0.5)


def test_dear_events_cost_seasons_by_chance(season_of: SeasonOf) -> None:
    n = 4000
    hazards = "hazard,chance,per,kinds\nstone,0.3,events,race\n"
    found = season(season_of, calendar=SPENDING, hazards=hazards, damage=CASES + "stone,x,1,,150\n")
    by_chance = affordable(draw(found, n, 6), Decimal(260))
    # 260 cover 20 + 100 + 100 and no stone of 150: one at race one leaves race one (270) unpaid.
    lasts = [one.lasts.share for one in by_chance.by_event]
    for share, expected in zip(lasts, (1, 0.7, 0.49, 0.49 * 1), strict=True):
        assert share == approx(expected, abs=4 * (0.25 / n) ** 0.5)
    assert by_chance.events.mean == approx(1 + 0.7 + 0.49 + 0.49, abs=4 * by_chance.events.error)
    assert by_chance.planned == 4
