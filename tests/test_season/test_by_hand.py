"""Seasons of three events, worked by hand to the cent: one test for each rule of the season machine.

Unless a test says otherwise three events a week apart run 30, 40 and 50 laps, a gap of 14 + 6 * 24 = 158 hours lies
between them, and everything is new when the books open. B is the balance of a set, (cost - resale) * (1 - worn share).
"""

from __future__ import annotations

import copy
import re
from collections.abc import Callable, Iterable
from datetime import date
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest

from costplan.scenario import read_scenario
from costplan.season import Season, machine, make_plan, play_plan
from costplan.season.jobs import jobs_of
from costplan.season.ledger import Ledger, Row, write_ledger

SeasonOf = Callable[..., Season]
Line = tuple[str, ...]

CALENDAR = """\
event,date,laps
one,2027-05-01,30
two,2027-05-08,40
three,2027-05-15,50
"""
#: The same laps on three nights in a row: 14 hours between them.
SHOW = """\
event,date,show,laps
one,2027-05-28,long weekend,30
two,2027-05-29,long weekend,40
three,2027-05-30,long weekend,50
"""
SPRINGS = "slot,part,pieces\nsprings,spring,2\n"
TWO_ENGINES = '[[engine]]\nname = "A"\n[[engine]]\nname = "B"\n'
NAMED = """\
event,date,laps,engine
one,2027-05-01,30,A
two,2027-05-08,40,B
three,2027-05-15,50,A
"""
OFF = '[policy]\nearly = "off"\n'


def table(text: str) -> list[Line]:
    """Lines of columns set apart by two blanks or more, in any order."""
    return sorted(tuple(re.split(r"\s{2,}", line.strip())) for line in text.strip().splitlines())


def rows(found: Iterable[Row], *, engine: bool = False) -> list[Line]:
    """Event, slot, cause and amount of ledger rows, with the engine in front where asked for."""
    return sorted(
        (*([row.engine] if engine else []), row.event, row.slot, row.cause, str(Decimal(row.amount))) for row in found
    )


def cash(ledger: Ledger) -> list[Line]:
    return rows(ledger.of("cash"))


def wear(ledger: Ledger, slot: str) -> list[Line]:
    return rows(row for row in ledger.of("wear") if row.slot == slot)


def account(ledger: Ledger, slot: str, engine: str = "engine") -> list[str]:
    """Opening, paid, used, unused, closing."""
    (found,) = [one for one in ledger.accounts if (one.engine, one.slot) == (engine, slot)]
    assert found.opening + found.paid - found.used - found.unused == found.closing
    return [str(amount) for amount in (found.opening, found.paid, found.used, found.unused, found.closing)]


def planned(season: Season) -> Ledger:
    return write_ledger(season, play_plan(season))


def scripted(season: Season, fails: dict[str, list[float]], engine: int = 0) -> tuple[machine.State, Ledger]:
    """A season in which the first life of a slot ends at the ages given, one for each set installed."""
    fails_at = np.full((*season.start.age.shape, 3), np.inf)
    for p, spot in enumerate(season.spots):
        carrier = len(season.carriers) - 1 if spot.on_car else engine
        for n, age in enumerate(fails.get(spot.slot, [])):
            fails_at[carrier, season.lives(p)[0], n] = age
    state = copy.deepcopy(season.start)
    machine.play(season.problem._replace(fails_at=fails_at), state)
    return state, write_ledger(season, state)


# Levels


def test_a_level_is_done_before_its_interval_is_passed(season_of: SeasonOf) -> None:
    season = season_of(
        calendar=CALENDAR,
        levels="level,rank,interval,measure,hours,labour,supplies\nfreshen,1,100,laps,100,90,9\n",
    )
    ledger = planned(season)
    # before two 30 + 40 = 70 laps, before three 70 + 50 = 120 > 100
    assert cash(ledger) == table("""
        three  freshen  labour      90.00
        three  freshen  consumable   9.00
    """)
    # 99.00 accrue over 100 laps: 0.99 a lap. Before three 69.30 are owed, 99.00 are paid: 29.70 too early.
    assert wear(ledger, "freshen") == table("""
        one    freshen  labour       29.70
        two    freshen  labour       39.60
        three  freshen  labour       49.50
        three  freshen  unused life  29.70
    """)
    # 0 + 99.00 - (29.70 + 39.60 + 49.50) - 29.70 = -49.50: 50 laps are owed at the end
    assert account(ledger, "work: freshen") == ["0.00", "99.00", "118.80", "29.70", "-49.50"]


def test_an_interval_that_is_just_reached_is_not_passed(season_of: SeasonOf) -> None:
    levels = "level,rank,interval,measure,hours,labour\nfreshen,1,120,laps,100,90\n"
    ledger = planned(season_of(calendar=CALENDAR, levels=levels))  # 30 + 40 + 50 = 120
    assert cash(ledger) == []
    assert account(ledger, "work: freshen") == ["0.00", "0.00", "90.00", "0.00", "-90.00"]


def test_use_since_a_level_was_done_counts_from_the_opening(season_of: SeasonOf) -> None:
    season = season_of(
        calendar=CALENDAR,
        levels="level,rank,interval,measure,hours,labour\nfreshen,1,100,laps,100,90\n",
        scenario='[[engine]]\nname = "engine"\nsince = { freshen = 40 }\n',
    )
    ledger = planned(season)  # before two 40 + 30 + 40 = 110 > 100; before three 40 + 50 = 90
    assert cash(ledger) == table("two  freshen  labour  90.00")
    # 0.90 a lap: 36.00 owed at first, 63.00 before two: 27.00 unused; then 40 + 50 = 90 laps, 81.00
    assert account(ledger, "work: freshen") == ["-36.00", "90.00", "108.00", "27.00", "-81.00"]


@pytest.mark.parametrize(
    ("hours", "before"),
    [
        # Each gap holds 14 hours: before two 20 + 30 + 40 = 90, before three 90 + 50 = 140 > 100.
        (14, "three"),
        # The show's gaps do not hold 15 hours: before it 20 + (30 + 40 + 50) = 140 > 100.
        (15, "one"),
    ],
)
def test_nothing_falls_due_inside_a_show_that_could_have_been_done_before(
    season_of: SeasonOf, hours: int, before: str
) -> None:
    levels = f"level,rank,interval,measure,hours,labour\nfreshen,1,100,laps,{hours},90\nsprings,2,,,{hours},25\n"
    by_interval = season_of(
        calendar=SHOW, levels=levels, scenario='[[engine]]\nname = "engine"\nsince = { freshen = 20 }\n'
    )
    assert cash(planned(by_interval)) == [(before, "freshen", "labour", "90.00")]
    by_life = season_of(
        calendar=SHOW,
        levels="level,rank,hours,labour\nsprings,1," + f"{hours},25\n",
        slots=SPRINGS,
        parts="part,price\nspring,40\n",
        lives="part,measure,replace_at\nspring,laps,100\n",
        positions="slot,level\nsprings,springs\n",
        garage="piece,part,engine,slot,laps\nold,spring,engine,springs,20\n",
    )
    assert cash(planned(by_life)) == sorted(
        [(before, "springs", "labour", "25.00"), (before, "springs", "planned", "80.00")]
    )


def test_what_is_new_is_not_renewed_though_the_way_ahead_is_longer_than_its_life(season_of: SeasonOf) -> None:
    season = season_of(
        calendar=SHOW,  # 30 + 40 + 50 laps without a gap of 20 hours
        levels="level,rank,interval,measure,hours,labour\nsprings,1,100,laps,20,25\n",
        slots=SPRINGS,
        parts="part,price\nspring,40\n",
        lives="part,measure,replace_at\nspring,laps,100\n",
        positions="slot,level\nsprings,springs\n",
    )
    assert cash(planned(season)) == []


def test_the_highest_level_called_for_is_done_once_and_sets_back_the_lower(season_of: SeasonOf) -> None:
    levels = (
        "level,rank,interval,measure,hours,labour\nsprings,1,60,laps,8,25\nfreshen,2,100,laps,100,200\n"
        "rebuild,3,1000,laps,100,900\n"
    )
    ledger = planned(season_of(calendar=CALENDAR, levels=levels))
    # springs: before two 30 + 40 = 70 > 60; before three 40 + 50 = 90 > 60, but freshen is due too: 70 + 50 > 100
    assert cash(ledger) == table("""
        two    springs  labour   25.00
        three  freshen  labour  200.00
    """)
    # springs: 30/60 of 25 = 12.50, paid off with 12.50 too early; 40/60 = 16.67, done within the freshen;
    # 50/60 = 20.83 owed at the end
    assert wear(ledger, "springs") == table("""
        one    springs  labour        12.50
        two    springs  labour        16.67
        three  springs  labour        20.83
        two    springs  unused life   12.50
        three  springs  unused life  -16.67
    """)
    assert account(ledger, "work: springs") == ["0.00", "25.00", "50.00", "-4.17", "-20.83"]
    # freshen: 2.00 a lap, 140 owed before three: 60 too early; then 100 more
    assert account(ledger, "work: freshen") == ["0.00", "200.00", "240.00", "60.00", "-100.00"]
    # rebuild is not done: 0.90 a lap
    assert account(ledger, "work: rebuild") == ["0.00", "0.00", "108.00", "0.00", "-108.00"]


def test_a_level_renews_its_slots_every_time_and_a_higher_level_does_too(season_of: SeasonOf) -> None:
    season = season_of(
        calendar=CALENDAR,
        levels="level,rank,interval,measure,dates,renews\nfreshen,1,60,laps,,gaskets\nrebuild,2,,,2027-05-15,\n",
        slots="slot,part,pieces\ngaskets,gasket,1\n",
        parts="part,price\ngasket,12\n",
        positions="slot,level\ngaskets,freshen\n",
    )
    # before two 30 + 40 = 70 > 60; before three the rebuild's date
    ledger = planned(season)
    assert cash(ledger) == table("""
        two    gaskets  planned  12.00
        three  gaskets  planned  12.00
    """)
    assert [(job.before, job.level) for job in jobs_of(season, play_plan(season))] == [
        ("two", "freshen"),
        ("three", "rebuild"),
    ]
    # a slot without a life does not wear: all of it is left when it is taken out
    assert wear(ledger, "gaskets") == table("""
        two    gaskets  unused life  12.00
        three  gaskets  unused life  12.00
    """)
    assert account(ledger, "gaskets") == ["12.00", "24.00", "0.00", "24.00", "12.00"]


def test_a_date_calls_for_a_level_before_the_first_event_on_it_or_after(season_of: SeasonOf) -> None:
    levels = "level,rank,dates,hours,labour\nfreshen,1,2027-05-02 2027-05-15 2027-05-16,100,200\n"
    ledger = planned(season_of(calendar=CALENDAR, levels=levels))
    assert cash(ledger) == table("""
        two    freshen  labour  200.00
        three  freshen  labour  200.00
    """)
    # Without an interval 2 * 200.00 are spread over the three runs: 133.33, 133.34, 133.33.
    assert wear(ledger, "freshen") == table("""
        one    freshen  labour  133.33
        two    freshen  labour  133.34
        three  freshen  labour  133.33
    """)
    assert account(ledger, "work: freshen") == ["0.00", "400.00", "400.00", "0.00", "0.00"]


def test_a_date_inside_a_show_is_kept_in_the_last_gap_that_holds_the_level(season_of: SeasonOf) -> None:
    calendar = CALENDAR + "four,2027-05-16,50\nfive,2027-05-17,50\n"  # 14 hours before four and five
    levels = "level,rank,dates,hours,labour\nfreshen,1,2027-05-17,100,200\n"
    assert cash(planned(season_of(calendar=calendar, levels=levels))) == table("three  freshen  labour  200.00")


def test_a_service_row_names_the_level_done_in_its_gap(season_of: SeasonOf) -> None:
    calendar = """\
event,date,kind,laps,level,gap_hours
winter,2027-02-01,service,,freshen,900
one,2027-05-01,,30,,
two,2027-05-08,,40,,
break,2027-05-10,service,,rebuild,300
three,2027-05-15,,50,,
"""
    levels = "level,rank,hours,labour\nfreshen,1,100,200\nrebuild,2,300,700\n"
    season = season_of(calendar=calendar, levels=levels)
    assert [(str(row.date), row.event, row.amount) for row in planned(season).of("cash")] == [
        ("2027-02-01", "winter", Decimal("200.00")),
        ("2027-05-10", "break", Decimal("700.00")),
    ]


def test_two_service_rows_in_one_gap_are_both_done(season_of: SeasonOf) -> None:
    calendar = """\
event,date,kind,laps,level
engine work,2027-02-01,service,,freshen
car work,2027-03-01,service,,clutch work
one,2027-05-01,,30,
"""
    levels = "level,rank,carrier,hours,labour\nfreshen,1,engine,100,200\nclutch work,1,car,9,60\n"
    ledger = planned(season_of(calendar=calendar, levels=levels))
    assert sorted((row.engine, row.slot, row.amount) for row in ledger.of("cash")) == [
        ("car", "clutch work", Decimal("60.00")),
        ("engine", "freshen", Decimal("200.00")),
    ]


# Positions


def springs(
    season_of: SeasonOf,
    *,
    price: str = "40",
    replace_at: int = 100,
    calendar: str = CALENDAR,
    scenario: str = "",
    hours: int = 8,
    position: str = "yes,set",
    garage: str = "",
) -> Season:
    """Two springs, reached by a level of 25.00."""
    return season_of(
        calendar=calendar,
        levels=f"level,rank,hours,labour\nsprings,1,{hours},25\n",
        slots=SPRINGS,
        parts=f"part,price\nspring,{price}\n",
        lives=f"part,measure,replace_at\nspring,laps,{replace_at}\n",
        positions=f"slot,level,stops,renew_as\nsprings,springs,{position}\n",
        scenario=scenario,
        **({"garage": garage} if garage else {}),
    )


def test_a_position_is_renewed_before_its_life_is_passed(season_of: SeasonOf) -> None:
    ledger = planned(springs(season_of))  # before three 30 + 40 + 50 = 120 > 100 laps
    assert cash(ledger) == table("""
        three  springs  labour   25.00
        three  springs  planned  80.00
    """)
    # B: 80.00 new, 56.00 after 30 laps, 24.00 after 70; the new set 40.00 after 50.
    # The level has no interval: 25.00 over three runs.
    assert wear(ledger, "springs") == table("""
        one    springs  life used    24.00
        two    springs  life used    32.00
        three  springs  unused life  24.00
        three  springs  life used    40.00
        one    springs  labour        8.33
        two    springs  labour        8.34
        three  springs  labour        8.33
    """)
    assert account(ledger, "springs") == ["80.00", "80.00", "96.00", "24.00", "40.00"]
    assert account(ledger, "work: springs") == ["0.00", "25.00", "25.00", "0.00", "0.00"]


def test_pieces_in_the_garage_start_with_their_age(season_of: SeasonOf) -> None:
    garage = "piece,part,engine,slot,laps\nold,spring,engine,springs,50\n"
    ledger = planned(springs(season_of, price="12", replace_at=120, garage=garage))
    # before two 50 + 30 + 40 = 120, just reached; before three 120 + 50 > 120
    assert cash(ledger) == table("""
        three  springs  labour   25.00
        three  springs  planned  24.00
    """)
    # 0.20 a lap: B is 14.00 after 50 laps, 8.00 after 80, 0 after 120; the new set 14.00 after 50
    assert account(ledger, "springs") == ["14.00", "24.00", "24.00", "0.00", "14.00"]


def test_the_policy_factor_moves_the_renewal(season_of: SeasonOf) -> None:
    season = season_of(
        calendar=CALENDAR,
        levels="level,rank\ntrackside,1\n",
        slots=SPRINGS,
        parts="part,price\nspring,30\n",
        lives="part,measure,replace_at\nspring,laps,100\n",
        positions="slot,level,factor\nsprings,trackside,0.6\n",
    )
    ledger = planned(season)  # renewed at 60 laps: before two 30 + 40 > 60, before three 40 + 50 > 60
    assert cash(ledger) == table("""
        two    springs  planned  60.00
        three  springs  planned  60.00
    """)
    # 1.00 a lap: 30 used, 30 unused; 40 used, 20 unused; 50 used
    assert account(ledger, "springs") == ["60.00", "120.00", "120.00", "50.00", "10.00"]


def test_a_life_ages_by_the_weight_and_the_speed_of_a_session(season_of: SeasonOf) -> None:
    calendar = "event,date,format\none,2027-05-01,slow\ntwo,2027-05-08,fast\nthree,2027-05-15,fast\n"
    sessions = "format,session,laps,rpm,duty\nslow,only,40,6000,0.5\nfast,only,10,12000,1\n"
    season = season_of(
        calendar=calendar,
        sessions=sessions,
        levels="level,rank\ntrackside,1\n",
        slots=SPRINGS,
        parts="part,price\nspring,45\n",
        lives="part,measure,replace_at,rated_rpm,rpm_exponent\nspring,laps,90,6000,2\n",
        positions="slot,level\nsprings,trackside\n",
    )
    # slow: 40 * 0.5 * 1 = 20; fast: 10 * (12000 / 6000)^2 = 40. Before three 20 + 40 + 40 = 100 > 90.
    # 90.00 for 90 laps of duty: 1.00 each
    ledger = planned(season)
    assert wear(ledger, "springs") == table("""
        one    springs  life used    20.00
        two    springs  life used    40.00
        three  springs  unused life  30.00
        three  springs  life used    40.00
    """)


def test_a_hard_limit_counts_raw_use(season_of: SeasonOf) -> None:
    calendar = "event,date,format\none,2027-05-01,slow\ntwo,2027-05-08,fast\nthree,2027-05-15,fast\n"
    sessions = "format,session,laps,rpm,duty\nslow,only,40,6000,0.5\nfast,only,10,12000,1\n"
    season = season_of(
        calendar=calendar,
        sessions=sessions,
        levels="level,rank\ntrackside,1\n",
        slots=SPRINGS,
        parts="part,price\nspring,45\n",
        lives="part,measure,limit,rated_rpm,rpm_exponent\nspring,laps,50,6000,2\n",
        positions="slot,level\nsprings,trackside\n",
    )
    # 40 + 10 = 50 laps are just within the limit, 60 pass it. 90.00 for 50 laps: 1.80 each.
    ledger = planned(season)
    assert cash(ledger) == table("three  springs  planned  90.00")
    assert wear(ledger, "springs") == table("""
        one    springs  life used  72.00
        two    springs  life used  18.00
        three  springs  life used  18.00
    """)


def test_of_two_lives_the_first_reached_acts(season_of: SeasonOf) -> None:
    season = season_of(
        calendar="event,date,laps,hours\none,2027-05-01,30,1\ntwo,2027-05-08,40,6\nthree,2027-05-15,50,2\n",
        levels="level,rank\ntrackside,1\n",
        slots=SPRINGS,
        parts="part,price\nspring,50\n",
        lives="part,measure,replace_at\nspring,laps,100\nspring,hours,8\n",
        positions="slot,level\nsprings,trackside\n",
    )
    # worn: 30/100 against 1/8; 70/100 against 7/8; before three 120 laps and 9 hours: both passed
    ledger = planned(season)
    assert wear(ledger, "springs") == table("""
        one    springs  life used    30.00
        two    springs  life used    57.50
        three  springs  unused life  12.50
        three  springs  life used    50.00
    """)


def hard_limit(season_of: SeasonOf, **more: str) -> Season:
    """A damper of 100.00 that must not run more than 60 laps and takes 20 hours, on three nights."""
    return season_of(
        levels="level,rank,hours,labour\nfront,1,20,15\n",
        slots="slot,part,pieces\ndamper,damper,1\n",
        parts="part,price\ndamper,100\n",
        lives="part,measure,limit\ndamper,laps,60\n",
        positions="slot,level\ndamper,front\n",
        **{"calendar": SHOW, **more},
    )


def test_a_hard_limit_opens_an_engine_in_a_gap_that_does_not_fit_and_the_run_is_missed(season_of: SeasonOf) -> None:
    season = hard_limit(season_of)
    state = play_plan(season)
    # The damper is new before one. 30 + 40 = 70 > 60: opened in the 14 hours before two, ready after 20 hours.
    # Three starts 28 hours after one: the engine is ready.
    assert state.ran.tolist() == [0, -1, 0]
    ledger = write_ledger(season, state)
    assert cash(ledger) == table("""
        two  front   labour    15.00
        two  damper  planned  100.00
    """)
    # 100.00 for 60 laps: 30 laps are 50.00, 50 laps are 83.33
    assert wear(ledger, "damper") == table("""
        one    damper  life used    50.00
        two    damper  unused life  50.00
        three  damper  life used    83.33
    """)
    assert account(ledger, "damper") == ["100.00", "100.00", "133.33", "50.00", "16.67"]


def test_while_an_engine_is_in_the_shop_the_other_runs(season_of: SeasonOf) -> None:
    season = hard_limit(season_of, scenario=TWO_ENGINES)
    state = play_plan(season)
    assert state.ran.tolist() == [0, 1, 0]  # A is ready again before three
    ledger = write_ledger(season, state)
    assert rows((row for row in ledger.of("wear") if row.slot == "damper"), engine=True) == table("""
        A  one    damper  life used    50.00
        A  two    damper  unused life  50.00
        B  two    damper  life used    66.67
        A  three  damper  life used    83.33
    """)


# Early renewal


def early(season_of: SeasonOf, price: str, policy: str) -> Season:
    """A spring of 100 laps at a level of 25.00, in an engine that is freshened before two."""
    return season_of(
        calendar=CALENDAR,
        levels="level,rank,dates,hours,labour\nsprings,1,,8,25\nfreshen,2,2027-05-08,100,200\n",
        slots="slot,part,pieces\nsprings,spring,1\n",
        parts=f"part,price\nspring,{price}\n",
        lives="part,measure,replace_at\nspring,laps,100\n",
        positions="slot,level\nsprings,springs\n",
        scenario=f"[policy]\nearly = {policy}\n",
    )


EARLY = """
    two    freshen  labour  200.00
    two    springs  early    30.00
"""
LATE = """
    two    freshen  labour  200.00
    three  springs  labour   25.00
    three  springs  planned  {0}.00
"""


@pytest.mark.parametrize(
    ("price", "policy", "expected"),
    [
        # At the freshen the spring has 30 laps. It would be due before three (30 + 40 + 50 > 100), when nothing else
        # opens the engine, at 25.00. B = 0.7 * 30 = 21.00 < 25.00: renewed.
        ("30", '"worth"', EARLY),
        # B = 0.7 * 36 = 25.20 > 25.00: left in.
        ("36", '"worth"', LATE.format(36)),
        ("30", '"off"', LATE.format(30)),
        ("30", "0.3", EARLY),
        ("30", "0.31", LATE.format(30)),
    ],
)
def test_a_part_is_renewed_early_by_policy(season_of: SeasonOf, price: str, policy: str, expected: str) -> None:
    assert cash(planned(early(season_of, price, policy))) == table(expected)


def test_what_is_left_in_a_part_renewed_early_is_unused_life(season_of: SeasonOf) -> None:
    ledger = planned(early(season_of, "30", '"worth"'))
    # 0.30 a lap: 9.00, then 21.00 left; 12.00 and 15.00
    assert account(ledger, "springs") == ["30.00", "30.00", "36.00", "21.00", "3.00"]


def test_a_part_that_would_not_be_due_before_the_next_opening_stays_in(season_of: SeasonOf) -> None:
    season = season_of(
        calendar=CALENDAR,
        levels="level,rank,interval,measure,hours,labour\nsprings,1,,,8,25\nfreshen,2,60,laps,100,200\n",
        slots="slot,part,pieces\nsprings,spring,1\n",
        parts="part,price\nspring,30\n",
        lives="part,measure,replace_at\nspring,laps,100\n",
        positions="slot,level\nsprings,springs\n",
    )
    # The freshen is done before two (30 + 40 > 60) and again before three (40 + 50 > 60), where the spring is due.
    assert cash(planned(season)) == table("""
        two    freshen  labour   200.00
        three  freshen  labour   200.00
        three  springs  planned   30.00
    """)


# Stock


def packs(season_of: SeasonOf, garage: str) -> Season:
    """Two springs of 60 laps in packs of three at 30.00."""
    return season_of(
        calendar=CALENDAR,
        levels="level,rank\ntrackside,1\n",
        slots=SPRINGS,
        parts="part,price,pack\nspring,30,3\n",
        lives="part,measure,replace_at\nspring,laps,60\n",
        positions="slot,level\nsprings,trackside\n",
        garage=garage,
    )


def test_pieces_come_from_the_shelf_first_then_from_packs_whose_rest_is_used_next(season_of: SeasonOf) -> None:
    season = packs(season_of, "piece,part,engine,slot,count,laps\nspare,spring,,,1,0\nold,spring,engine,springs,,0\n")
    state = play_plan(season)
    ledger = write_ledger(season, state)
    # Before two (30 + 40 > 60) one of two pieces is on the shelf: a pack is bought, 1 + 3 - 2 = 2 are left.
    # Before three (40 + 50 > 60) both come from the shelf.
    assert cash(ledger) == table("two  springs  planned  30.00")
    assert [(renewal.packs_bought, renewal.pieces) for job in jobs_of(season, state) for renewal in job.renewals] == [
        (1, 2),
        (0, 2),
    ]
    assert (state.stock.tolist(), state.stock_value.tolist()) == ([0], [0])
    # A set costs 20.00, 60 laps: 10.00 used and 10.00 left; 13.33 used and 6.67 left; 16.67 used
    assert wear(ledger, "springs") == table("""
        one    springs  life used    10.00
        two    springs  unused life  10.00
        two    springs  life used    13.33
        three  springs  unused life   6.67
        three  springs  life used    16.67
    """)
    assert account(ledger, "springs") == ["20.00", "40.00", "40.00", "16.67", "3.33"]


def test_what_a_pack_leaves_over_stays_on_the_shelf_with_its_share_of_the_price(season_of: SeasonOf) -> None:
    season = packs(season_of, "piece,part,engine,slot,laps\nold,spring,engine,springs,0\n")
    state = play_plan(season)
    # Before two a pack of 30.00: two are used, one is left at 10.00. Before three one more: 4 - 2 = 2 left at 20.00.
    assert cash(write_ledger(season, state)) == table("""
        two    springs  planned  30.00
        three  springs  planned  30.00
    """)
    assert (state.stock.tolist(), state.stock_value.tolist()) == ([2], [2000])


SHELF = "piece,part,engine,slot,count,laps\nin,spring,engine,springs,,0\n"


def test_a_used_set_on_the_shelf_goes_in_while_it_still_serves(season_of: SeasonOf) -> None:
    ledger = planned(packs(season_of, SHELF + "used,spring,,,2,15\n"))
    # Before two the used set would have 15 + 40 = 55 <= 60 laps: it goes in. Before three 55 + 50 > 60: a pack.
    assert cash(ledger) == table("three  springs  planned  30.00")
    # The used set is worth 20.00 * 45/60 = 15.00 and uses 13.33 to 20.00 * 5/60 = 1.67.
    assert wear(ledger, "springs") == table("""
        one    springs  life used    10.00
        two    springs  unused life  10.00
        two    springs  life used    13.33
        three  springs  unused life   1.67
        three  springs  life used    16.67
    """)
    assert account(ledger, "springs") == ["20.00", "35.00", "40.00", "11.67", "3.33"]


def test_a_used_set_that_would_not_last_to_the_next_gap_stays_on_the_shelf(season_of: SeasonOf) -> None:
    state = play_plan(season := packs(season_of, SHELF + "used,spring,,,2,25\n"))  # 25 + 40 > 60, 25 + 50 > 60
    assert len(cash(write_ledger(season, state))) == 2
    assert state.used_left.tolist() == [True]


@pytest.mark.parametrize("order", [("12", "18"), ("18", "12")])
def test_of_two_used_sets_the_oldest_goes_in_whatever_the_order_of_the_rows(
    season_of: SeasonOf, order: tuple[str, str]
) -> None:
    ledger = planned(packs(season_of, SHELF + f"first,spring,,,2,{order[0]}\nsecond,spring,,,2,{order[1]}\n"))
    # Before two the one of 18 laps: 20.00 * 42/60 = 14.00. Before three neither 18 + 40 nor 12 serves 50 more: a pack.
    assert account(ledger, "springs") == ["20.00", "34.00", "40.00", "10.67", "3.33"]


def pump(season_of: SeasonOf, replace_at: int = 100) -> Season:
    """A pump of 100.00 with a core charge of 30.00 that sells for 20.00."""
    return season_of(
        calendar=CALENDAR,
        levels="level,rank\ntrackside,1\n",
        slots="slot,part,pieces\npump,pump,1\n",
        parts="part,price,core_charge,resale\npump,100,30,20\n",
        lives=f"part,measure,replace_at\npump,laps,{replace_at}\n",
        positions="slot,level\npump,trackside\n",
    )


def test_a_core_charge_is_deposited_and_comes_back_and_the_old_part_sells(season_of: SeasonOf) -> None:
    ledger = planned(pump(season_of))
    assert cash(ledger) == table("""
        three  pump  planned  100.00
        three  pump  deposit   30.00
        three  pump  refund   -30.00
        three  pump  income   -20.00
    """)
    # (100 - 20) / 100 laps = 0.80 a lap
    assert account(ledger, "pump") == ["80.00", "80.00", "96.00", "24.00", "40.00"]


def test_a_broken_part_brings_back_neither_core_nor_resale(season_of: SeasonOf) -> None:
    _, ledger = scripted(pump(season_of, 200), {"pump": [50]})
    assert cash(ledger) == table("""
        three  pump  failure  100.00
        three  pump  deposit   30.00
    """)


# Services


def test_a_service_that_flows_is_paid_by_use_once_an_event(season_of: SeasonOf) -> None:
    ledger = planned(
        season_of(
            calendar="event,date,laps,fuel [gal]\none,2027-05-01,30,6\ntwo,2027-05-08,40,8\nthree,2027-05-15,50,10\n",
            services="service,price,every,measure,whole\nfuel,5,1,fuel [gal],no\ntape,1.25,7,laps,no\n",
        )
    )
    # 1.25 * 30 / 7 = 5.357, * 40 / 7 = 7.143, * 50 / 7 = 8.929
    expected = table("""
        one    fuel  consumable  30.00
        one    tape  consumable   5.36
        two    fuel  consumable  40.00
        two    tape  consumable   7.14
        three  fuel  consumable  50.00
        three  tape  consumable   8.93
    """)
    assert cash(ledger) == expected
    assert rows(ledger.of("wear")) == expected


def test_a_whole_service_is_paid_when_it_comes_due(season_of: SeasonOf) -> None:
    services = "service,price,every,measure,used\noil,60,2,events,0\nplugs,18,100,laps,10\n"
    ledger = planned(season_of(calendar=CALENDAR, services=services))
    # oil: before two 1 + 1 = 2, before three 2 + 1 > 2. Plugs: before two 10 + 30 + 40 = 80, before three 130 > 100.
    assert cash(ledger) == table("""
        three  oil    planned  60.00
        three  plugs  planned  18.00
    """)
    assert account(ledger, "oil") == ["60.00", "60.00", "90.00", "0.00", "30.00"]
    # 0.18 a lap: 16.20 left at first, 10.80 and 3.60 after 40 and 80 laps, 9.00 after 50 more
    assert account(ledger, "plugs") == ["16.20", "18.00", "21.60", "3.60", "9.00"]


# Engines and the car


def test_each_engine_ages_in_the_events_that_name_it(season_of: SeasonOf) -> None:
    season = springs(season_of, replace_at=70, calendar=NAMED, scenario=TWO_ENGINES)
    ledger = planned(season)
    # A: before three 30 + 50 = 80 > 70. B runs 40 laps. 80.00 for 70 laps: 30 are 34.29, 40 are 45.71, 50 are 57.14.
    assert rows((row for row in ledger.of("cash")), engine=True) == table("""
        A  three  springs  labour   25.00
        A  three  springs  planned  80.00
    """)
    assert account(ledger, "springs", "A") == ["80.00", "80.00", "91.43", "45.71", "22.86"]
    assert account(ledger, "springs", "B") == ["80.00", "0.00", "45.71", "0.00", "34.29"]


@pytest.mark.parametrize(("policy", "ran"), [("first ready", [0, 0, 0]), ("least used", [0, 1, 0])])
def test_an_event_that_names_no_engine_takes_one_by_policy(season_of: SeasonOf, policy: str, ran: list[int]) -> None:
    scenario = f'[policy]\nwho_runs = "{policy}"\n{TWO_ENGINES}'
    assert play_plan(season_of(calendar=CALENDAR, scenario=scenario)).ran.tolist() == ran


def test_a_shared_position_follows_the_car_whichever_engine_runs(season_of: SeasonOf) -> None:
    season = season_of(
        calendar=NAMED,
        levels="level,rank,carrier,hours,labour\nbench,1,car,60,40\n",
        slots="slot,part,pieces\ncarburetor,carburetor,1\n",
        parts="part,price\ncarburetor,300\n",
        lives="part,measure,replace_at\ncarburetor,laps,100\n",
        positions="slot,level,carrier\ncarburetor,bench,car\n",
        scenario=TWO_ENGINES,
    )
    ledger = planned(season)  # 30 laps with A, 40 with B: before three 70 + 50 > 100
    assert rows(ledger.of("cash"), engine=True) == table("""
        car  three  bench       labour    40.00
        car  three  carburetor  planned  300.00
    """)
    assert account(ledger, "carburetor", "car") == ["300.00", "300.00", "360.00", "90.00", "150.00"]


SESSIONS = """\
format,session,laps
night,heat,10
night,last chance,10
night,feature,10
"""


@pytest.mark.parametrize(
    ("swap_hours", "ran"),
    [
        (1, [0, 1, 1]),
        (2, [0, -1, 1]),  # two hours have passed since A ran
        (3, [0, -1, -1]),
    ],
)
def test_inside_an_event_another_engine_takes_over_once_there_was_time_to_swap(
    season_of: SeasonOf, swap_hours: int, ran: list[int]
) -> None:
    state, _ = scripted(_with_sessions(season_of, swap_hours), {"springs": [5]})
    assert state.ran.tolist() == ran


def _with_sessions(season_of: SeasonOf, swap_hours: int) -> Season:
    return season_of(
        calendar="event,date,format\none,2027-05-01,night\n",
        sessions=SESSIONS,
        levels="level,rank,hours,labour\nsprings,1,8,25\n",
        slots=SPRINGS,
        parts="part,price\nspring,40\n",
        lives="part,measure,replace_at\nspring,laps,100\n",
        positions="slot,level\nsprings,springs\n",
        scenario=f"[policy]\nswap_hours = {swap_hours}\n{TWO_ENGINES}",
    )


# What the plan leaves off: rain and failures


def test_a_lost_run_uses_nothing(season_of: SeasonOf) -> None:
    season = season_of(
        calendar=CALENDAR,
        levels="level,rank,interval,measure,labour\nsprings,1,100,laps,25\n",
        slots=SPRINGS,
        parts="part,price\nspring,40\n",
        lives="part,measure,replace_at\nspring,laps,100\n",
        positions="slot,level\nsprings,springs\n",
        services="service,price,every,measure,whole\ntape,1,10,laps,no\n",
    )
    season.problem.lost[1] = True
    ledger = planned(season)
    # before three 30 + 50 = 80 laps: nothing is due
    assert cash(ledger) == table("""
        one    tape  consumable  3.00
        three  tape  consumable  5.00
    """)
    assert account(ledger, "springs") == ["80.00", "0.00", "64.00", "0.00", "16.00"]
    assert account(ledger, "work: springs") == ["0.00", "0.00", "20.00", "0.00", "-20.00"]


def failing(season_of: SeasonOf, position: str) -> Season:
    """Two springs that break on demand and rings that only wear, 200 laps each: 0.40 and 0.10 a lap."""
    return season_of(
        calendar=CALENDAR,
        levels="level,rank,hours,labour\nsprings,1,8,25\n",
        slots="slot,part,pieces\nsprings,spring,2\nrings,ring,1\n",
        parts="part,price\nspring,40\nring,20\n",
        lives="part,measure,replace_at\nspring,laps,200\nring,laps,200\n",
        positions=f"slot,level,stops,renew_as\nsprings,springs,{position}\nrings,springs,yes,set\n",
    )


def test_a_failure_that_stops_the_run_ages_all_by_its_fraction_and_is_put_right_in_the_next_gap(
    season_of: SeasonOf,
) -> None:
    state, ledger = scripted(failing(season_of, "yes,set"), {"springs": [50]})
    # Run two goes from 30 to 50 of 30..70 laps: half of it.
    assert cash(ledger) == table("""
        three  springs  labour   25.00
        three  springs  failure  80.00
    """)
    assert [line for line in wear(ledger, "springs") if line[2] != "labour"] == table("""
        one    springs  life used    12.00
        two    springs  life used     8.00
        three  springs  unused life  60.00
        three  springs  life used    20.00
    """)
    assert account(ledger, "springs") == ["80.00", "80.00", "40.00", "60.00", "60.00"]
    # rings: 30 + 20 + 50 = 100 laps
    assert account(ledger, "rings") == ["20.00", "0.00", "10.00", "0.00", "10.00"]
    assert state.total_use.tolist() == [2.5, 2.5]


def test_a_failure_that_does_not_stop_the_run_lets_it_go_on(season_of: SeasonOf) -> None:
    _, ledger = scripted(failing(season_of, "no,set"), {"springs": [50]})
    # 70 laps when it comes out: 28.00 used, 52.00 unused; rings 120 laps
    assert account(ledger, "springs") == ["80.00", "80.00", "48.00", "52.00", "60.00"]
    assert account(ledger, "rings") == ["20.00", "0.00", "12.00", "0.00", "8.00"]


def test_the_second_set_breaks_at_an_age_of_its_own(season_of: SeasonOf) -> None:
    _, ledger = scripted(failing(season_of, "yes,set"), {"springs": [20, 30, 999]})
    # One stops at 20 of 30 laps, two at 30 of 40.
    assert cash(ledger) == table("""
        two    springs  labour   25.00
        two    springs  failure  80.00
        three  springs  labour   25.00
        three  springs  failure  80.00
    """)
    # 8.00 and 72.00; 12.00 and 68.00; 20.00
    assert account(ledger, "springs") == ["80.00", "160.00", "40.00", "140.00", "60.00"]


def test_what_breaks_in_the_last_run_is_put_right_after_it_and_nothing_else(season_of: SeasonOf) -> None:
    state, ledger = scripted(failing(season_of, "yes,set"), {"springs": [100]})
    # Run three goes from 70 to 100 of 70..120 laps.
    assert cash(ledger) == table("""
        after the last event  springs  labour   25.00
        after the last event  springs  failure  80.00
    """)
    assert [line for line in wear(ledger, "springs") if line[2] != "labour"] == table("""
        one                   springs  life used    12.00
        two                   springs  life used    16.00
        three                 springs  life used    12.00
        after the last event  springs  unused life  40.00
    """)
    assert account(ledger, "springs") == ["80.00", "80.00", "40.00", "40.00", "80.00"]
    assert not state.broken.any()


def test_putting_right_after_the_last_run_renews_what_the_level_always_renews(season_of: SeasonOf) -> None:
    season = season_of(
        calendar=CALENDAR,
        levels="level,rank,hours,labour,renews\nsprings,1,8,25,gaskets\n",
        slots=SPRINGS + "gaskets,gasket,1\n",
        parts="part,price\nspring,40\ngasket,12\n",
        lives="part,measure,replace_at\nspring,laps,200\n",
        positions="slot,level\nsprings,springs\ngaskets,springs\n",
    )
    _, ledger = scripted(season, {"springs": [100]})
    assert cash(ledger) == table("""
        after the last event  springs  labour   25.00
        after the last event  springs  failure  80.00
        after the last event  gaskets  planned  12.00
    """)


def test_of_two_failures_in_a_run_the_first_on_the_way_counts(season_of: SeasonOf) -> None:
    _, ledger = scripted(failing(season_of, "yes,set"), {"springs": [60], "rings": [40]})
    # Run two stops at 40 of 30..70 laps by the rings; the springs, 40 laps old, break at 60 of 40..90 in run three.
    assert cash(ledger) == table("""
        three                 springs  labour   25.00
        three                 rings    failure  20.00
        after the last event  springs  labour   25.00
        after the last event  springs  failure  80.00
    """)
    # rings: 40 laps used, 160 unused, then 20 of run three's 50
    assert account(ledger, "rings") == ["20.00", "20.00", "6.00", "16.00", "18.00"]


def test_a_set_mended_by_one_piece_keeps_its_age(season_of: SeasonOf) -> None:
    state, ledger = scripted(failing(season_of, "yes,piece"), {"springs": [50, 999]})
    assert cash(ledger) == table("""
        three  springs  labour   25.00
        three  springs  failure  40.00
    """)
    # The set was at 50 laps and goes on to 100. The piece that went in makes it no newer: its price is unused.
    assert [line for line in wear(ledger, "springs") if line[2] != "labour"] == table("""
        one    springs  life used    12.00
        two    springs  life used     8.00
        three  springs  unused life  40.00
        three  springs  life used    20.00
    """)
    assert account(ledger, "springs") == ["80.00", "40.00", "40.00", "40.00", "40.00"]
    assert state.age[0].tolist() == [100.0, 100.0]


def test_a_broken_engine_that_is_not_ready_misses_the_run(season_of: SeasonOf) -> None:
    season = springs(season_of, replace_at=200, calendar=SHOW, hours=20)
    state, ledger = scripted(season, {"springs": [15]})
    assert state.ran.tolist() == [0, -1, 0]  # 14 hours before two, 28 before three
    # 15 laps, then 50: 0.40 each
    assert account(ledger, "springs") == ["80.00", "80.00", "26.00", "74.00", "60.00"]


# Openings and days


@pytest.mark.parametrize("life", ["replace_at", "limit"])
def test_openings_count_each_time_a_piece_stays_in(season_of: SeasonOf, life: str) -> None:
    season = season_of(
        calendar=CALENDAR,
        levels="level,rank,interval,measure,hours,labour\nfreshen,1,25,laps,8,50\n",
        slots="slot,part,pieces\nbolts,bolt,1\n",
        parts="part,price\nbolt,10\n",
        lives=f"part,measure,{life}\nbolt,openings,2\n",
        positions="slot,level\nbolts,freshen\n",
        garage="piece,part,engine,slot,openings\nold,bolt,engine,bolts,1\n",
        scenario=OFF,
    )
    ledger = planned(season)
    # Opened before two (30 + 40 > 25): the second opening, they stay in. Before three: a third would be one too many.
    assert cash(ledger) == table("""
        two    freshen  labour   50.00
        three  freshen  labour   50.00
        three  bolts    planned  10.00
    """)
    assert wear(ledger, "bolts") == table("two  bolts  life used  5.00")
    assert account(ledger, "bolts") == ["5.00", "10.00", "5.00", "0.00", "10.00"]


def dated(season_of: SeasonOf, **more: str) -> Season:
    """A damper of 100.00 that must not be older than 10 days."""
    return season_of(
        levels="level,rank\ntrackside,1\n",
        slots="slot,part,pieces\ndamper,damper,1\n",
        parts="part,price\ndamper,100\n",
        lives="part,measure,limit\ndamper,days,10\n",
        positions="slot,level\ndamper,trackside\n",
        **{"calendar": CALENDAR, **more},
    )


def test_days_count_from_one_event_to_the_next(season_of: SeasonOf) -> None:
    ledger = planned(dated(season_of))
    # 7 days old before two, 14 before three: renewed before two. 10.00 a day, none after the last event.
    assert cash(ledger) == table("two  damper  planned  100.00")
    assert wear(ledger, "damper") == table("""
        one  damper  life used    70.00
        two  damper  unused life  30.00
        two  damper  life used    70.00
    """)


def test_days_since_a_piece_was_installed_count(season_of: SeasonOf) -> None:
    garage = "piece,part,engine,slot,installed\nold,damper,engine,damper,2027-04-26\n"
    ledger = planned(dated(season_of, garage=garage))
    # 5 days old before one and 12 before two: renewed before one, and again before two (7 + 7 > 10)
    assert cash(ledger) == table("""
        one  damper  planned  100.00
        two  damper  planned  100.00
    """)
    assert account(ledger, "damper") == ["50.00", "200.00", "140.00", "80.00", "30.00"]


def test_an_engine_that_stands_grows_older_by_the_day(season_of: SeasonOf) -> None:
    ledger = planned(dated(season_of, calendar=NAMED, scenario=TWO_ENGINES))
    # B, which runs two alone, is 7 days old before it and 14 before three, like an engine that runs.
    # A is 14 days old before three: past its date in the gap before two, when nobody asks it.
    assert rows(ledger.of("cash"), engine=True) == table("""
        A  three  damper  planned  100.00
        B  two    damper  planned  100.00
    """)
    assert account(ledger, "damper", "A") == ["100.00", "100.00", "100.00", "0.00", "100.00"]
    assert account(ledger, "damper", "B") == ["100.00", "100.00", "140.00", "30.00", "30.00"]


# The rest of the ledger


def test_entry_travel_purse_and_running_costs_stand_alike_in_both_views(season_of: SeasonOf) -> None:
    season = season_of(
        calendar="event,date,kind,laps,entry,travel,purse\none,2027-05-30,practice,30,10,20,0\n"
        "two,2027-06-05,race,40,75,150.50,400\n",
        costs="cost,amount,per,date\nlicence,225,season,2027-05-02\nrent,180,month,\ncrew,55,race,\nice,4,event,\n"
        "sponsor,-900,season,\n",
        scenario="",
    )
    ledger = planned(season)
    # The books open with the first row of the calendar, on May 30: rent then and on June 1.
    expected = [
        ("2027-05-02", "", "licence", "fixed", "225"),
        ("2027-05-30", "", "rent", "fixed", "180"),
        ("2027-05-30", "", "sponsor", "income", "-900"),
        ("2027-05-30", "one", "entry", "fixed", "10"),
        ("2027-05-30", "one", "ice", "fixed", "4"),
        ("2027-05-30", "one", "travel", "fixed", "20"),
        ("2027-06-01", "", "rent", "fixed", "180"),
        ("2027-06-05", "two", "crew", "fixed", "55"),
        ("2027-06-05", "two", "entry", "fixed", "75"),
        ("2027-06-05", "two", "ice", "fixed", "4"),
        ("2027-06-05", "two", "purse", "income", "-400"),
        ("2027-06-05", "two", "travel", "fixed", "150.5"),
    ]
    for view in (ledger.of("cash"), ledger.of("wear")):
        found = sorted((str(row.date), row.event, row.slot, row.cause, row.amount) for row in view)
        assert found == [(*line[:4], Decimal(line[4])) for line in expected]


def test_one_more_race_uses_up_the_engine_that_runs_it_as_it_is_on_the_day(season_of: SeasonOf) -> None:
    """A ran the first race with a set that cost 100.00; B runs the second with springs 60 laps old.

    One more race like two, 40 laps, on 2027-05-02: B's springs go from 60 to 100 of 200 laps, 100.00 * 40/200 = 20.00.
    Its freshen, 300.00 each 120 laps, grows from 30 laps owed to 70: 300.00 * 40/120 = 100.00. Fuel: 40 * 0.50 = 20.00.
    """
    season = season_of(
        scenario=TWO_ENGINES.replace('"B"', '"B"\nsince = { freshen = 30 }') + OFF,
        parts="part,price,pack\nspring,50,1",
        lives="part,measure,replace_at\nspring,laps,200",
        slots=SPRINGS,
        calendar=NAMED,
        levels="level,rank,hours,interval,measure,labour\nfreshen,1,0,120,laps,300\n",
        positions="slot,level\nsprings,freshen\n",
        garage="piece,part,engine,slot,laps\na,spring,A,springs,0\nb,spring,B,springs,60\n",
        services="service,price,every,measure,whole,carrier\nfuel,0.5,1,laps,no,car\n",
    )
    more = make_plan(season, date(2027, 5, 2)).one_more
    assert (more.like, more.life_used, more.work_owed, more.flowing) == (
        "two",
        Decimal("20.00"),
        Decimal("100.00"),
        Decimal("20.00"),
    )
    assert more.largest == (("springs", Decimal("20.00")),)


def test_one_more_race_counts_what_the_set_in_the_engine_cost_on_the_day(season_of: SeasonOf) -> None:
    """The set of two at 50.00 is renewed before two by a used set of four from the shelf, which cost 200.00 new.

    Before that, on 2027-05-01, one more race of 30 laps uses 100.00 * 30/100 = 30.00 of the old set.
    """
    season = season_of(
        scenario=OFF,
        parts="part,price,pack\nspring,50,1",
        lives="part,measure,replace_at\nspring,laps,100",
        slots=SPRINGS,
        calendar=CALENDAR,
        levels="level,rank\ntrackside,1\n",
        positions="slot,level\nsprings,trackside\n",
        garage="piece,part,engine,slot,count,laps\na,spring,engine,springs,2,50\nused,spring,,,4,10\n",
    )
    plan = make_plan(season, date(2027, 5, 1))
    assert [renewal.packs_bought for job in plan.jobs for renewal in job.renewals] == [0]
    assert plan.one_more.life_used == Decimal("30.00")


def test_no_engine_is_called_like_the_car(tmp_path: Path) -> None:
    header = 'title = "x"\ncurrency = "USD"\n[[engine]]\nname = "car"\n'
    (tmp_path / "scenario.toml").write_text(header, encoding="utf-8")
    (tmp_path / "calendar.csv").write_text(CALENDAR, encoding="utf-8")
    ((code, line, field),) = [(fault.code, fault.place.line, fault.field) for fault in read_scenario(tmp_path)[1]]
    assert (code, line, field) == ("REA020", 4, "engine.1.name")
