"""The rule book in the season, worked by hand to the cent: caps, bars, fees, barred work, dated parts, listed shops.

Unless a test says otherwise five events a week apart run 40 laps each, a gap of 158 hours lies between them, and
everything is new when the books open.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import numpy as np
import pytest

from costplan.catalog import Operation
from costplan.problems import Place, Problem
from costplan.rules.book import (
    BarredWork,
    Book,
    Charge,
    Clause,
    DatedPart,
    EngineCap,
    LevelCap,
    ListedShops,
    PieceCap,
)
from costplan.scenario import read_scenario
from costplan.season import (
    Plan,
    Season,
    Sources,
    compile_season,
    cost_of_clauses,
    machine,
    make_plan,
    play_plan,
)
from costplan.season.ledger import write_ledger

SeasonOf = Callable[..., Season]

CALENDAR = """\
event,date,laps
one,2027-05-01,40
two,2027-05-08,40
three,2027-05-15,40
four,2027-05-22,40
five,2027-05-29,40
"""
PLACE = Place("rules-cup.toml", 7)
A_B = '[[engine]]\nname = "A"\n[[engine]]\nname = "B"\n'
#: 40 laps are within the interval, 80 are not.
FRESHEN = "level,rank,interval,measure,hours,labour\nfreshen,1,60,laps,100,100\n"
ONE_SPRING: dict[str, Any] = {
    "slots": "slot,part,pieces\nsprings,spring,2\n",
    "parts": "part,price\nspring,30\n",
    "lives": "part,measure,replace_at\nspring,laps,60\n",
    "levels": "level,rank,hours,labour\nsprings,1,8,25\n",
    "positions": "slot,level\nsprings,springs\n",
}


def clause(rule: str = "T3", since: date | None = None, until: date | None = None) -> Clause:
    return Clause("Lantern Cup", rule, f"what {rule} says", PLACE, since, until)


def cap(
    level: str,
    most: int,
    *,
    each_engine: bool = True,
    in_life: bool = False,
    since: date | None = None,
    until: date | None = None,
) -> Book:
    return Book(level_caps=(LevelCap(clause("T3", since, until), level, most, each_engine, in_life),))


def policy(when_barred: str, early: str = "off", who_runs: str = "first ready") -> str:
    return f'[policy]\nearly = "{early}"\nwhen_barred = "{when_barred}"\nwho_runs = "{who_runs}"\n'


OFF = policy("run on")


def sources_of(
    season_of: SeasonOf, book: Book, papers: Mapping[tuple[str, str, Place], date] | None = None, **tables: Any
) -> Sources:
    """The sources of a season of literal tables, under a book."""
    plain = season_of(**{"calendar": CALENDAR, "scenario": OFF, **tables})
    scenario, problems = read_scenario(plain.files.folder)
    assert scenario is not None, problems
    header = scenario.header
    return Sources(
        scenario.files,
        scenario.engines,
        header.car,
        header.gaps,
        header.policy,
        scenario.buying,
        header.opening,
        scenario.catalog,
        scenario.build,
        scenario.garage,
        book,
        papers or {},
    )


def bound(
    season_of: SeasonOf, book: Book, papers: Mapping[tuple[str, str, Place], date] | None = None, **tables: Any
) -> Season:
    season, problems = compile_season(sources_of(season_of, book, papers, **tables))
    assert season is not None, problems
    return season


def faults(season_of: SeasonOf, book: Book, **tables: Any) -> list[tuple[str, str, str, str]]:
    """Code, place, field and value of each problem that a book brings."""
    season, problems = compile_season(sources_of(season_of, book, **tables))
    assert season is None
    return [(problem.code, str(problem.place), problem.field, problem.value) for problem in problems]


def broken(season: Season, fails: dict[str, float], engine: int = 0) -> machine.State:
    """The season in which the first set of a slot breaks at an age."""
    fails_at = np.full((*season.start.age.shape, 2), np.inf)
    for p, spot in enumerate(season.spots):
        if spot.slot in fails:
            fails_at[engine, season.lives(p)[0], 0] = fails[spot.slot]
    state = copy.deepcopy(season.start)
    machine.play(season.problem._replace(fails_at=fails_at), state)
    return state


def ran(season: Season) -> list[int]:
    return [int(engine) for engine in play_plan(season).ran]


def cash(season: Season, state: machine.State | None = None) -> list[tuple[str, str, str, str]]:
    """Event, slot, cause and amount of every cash row, in the order of the season."""
    ledger = write_ledger(season, state or play_plan(season))
    return [(row.event, row.slot, row.cause, str(row.amount)) for row in ledger.of("cash")]


def wear(season: Season, slot: str) -> list[tuple[str, str, str]]:
    """Event, cause and amount of a slot's wear rows in time order, what is unused first."""
    found = [row for row in write_ledger(season, play_plan(season)).of("wear") if row.slot == slot]
    found.sort(key=lambda row: (row.date, row.cause != "unused life"))
    return [(row.event, row.cause, str(row.amount)) for row in found]


def done(season: Season) -> list[tuple[str, str, str]]:
    """Event, engine and level of every opening."""
    plan = planned(season)
    return [(job.before, job.engine, job.level) for job in plan.jobs]


def planned(season: Season) -> Plan:
    return make_plan(season, season.opening)


def how(season: Season) -> list[str]:
    """What each clause that acted did."""
    return [acted.how for acted in planned(season).book]


# Caps on levels


def test_a_level_is_barred_once_its_openings_are_used_up(season_of: SeasonOf) -> None:
    # 40 + 40 > 60: without a clause it is freshened before two, three, four and five
    assert [job[0] for job in done(bound(season_of, Book(), levels=FRESHEN))] == ["two", "three", "four", "five"]
    season = bound(season_of, cap("freshen", 2), levels=FRESHEN)
    assert cash(season) == [("two", "freshen", "labour", "100.00"), ("three", "freshen", "labour", "100.00")]
    assert ran(season) == [0, 0, 0, 0, 0]
    (acted,) = planned(season).book
    assert (acted.pack, acted.rule, acted.says) == ("Lantern Cup", "T3", "what T3 says")
    assert acted.how == "barred freshen before 2 events from 2027-05-22"
    assert (acted.fees, acted.missed) == (Decimal(0), ())


ALTERNATELY = """\
event,date,laps,engine
one,2027-05-01,40,A
two,2027-05-08,40,B
three,2027-05-15,40,A
four,2027-05-22,40,B
five,2027-05-29,40,A
"""


@pytest.mark.parametrize(
    ("each", "expected"),
    [
        # each engine would be freshened before its second event, and A before its third
        (True, [("three", "A"), ("four", "B")]),
        (False, [("three", "A")]),
    ],
)
def test_openings_count_by_engine_or_for_all_together(
    season_of: SeasonOf, each: bool, expected: list[tuple[str, str]]
) -> None:
    tables: dict[str, Any] = {"calendar": ALTERNATELY, "levels": FRESHEN, "scenario": OFF + A_B}
    season = bound(season_of, cap("freshen", 1, each_engine=each), **tables)
    assert [job[:2] for job in done(season)] == expected


TWO_LEVELS = "level,rank,interval,measure,hours,labour\nfreshen,1,60,laps,100,100\nrebuild,2,150,laps,100,900\n"


def test_a_higher_level_counts_for_a_cap_and_is_barred_by_it(season_of: SeasonOf) -> None:
    # the rebuild is due before four (40 * 3 + 40 > 150) and would be done after freshens before two and three
    free = bound(season_of, Book(), levels=TWO_LEVELS)
    assert [job[::2] for job in done(free)] == [
        ("two", "freshen"),
        ("three", "freshen"),
        ("four", "rebuild"),
        ("five", "freshen"),
    ]
    three = bound(season_of, cap("freshen", 3), levels=TWO_LEVELS)  # the rebuild is the third
    assert [job[::2] for job in done(three)] == [("two", "freshen"), ("three", "freshen"), ("four", "rebuild")]
    two = bound(season_of, cap("freshen", 2), levels=TWO_LEVELS)
    assert [job[::2] for job in done(two)] == [("two", "freshen"), ("three", "freshen")]
    rebuilds = bound(season_of, cap("rebuild", 0), levels=TWO_LEVELS)  # the lower level is as free as before
    assert [job[::2] for job in done(rebuilds)] == [(event, "freshen") for event in ("two", "three", "four", "five")]


@pytest.mark.parametrize(("in_life", "expected"), [(True, ["two"]), (False, ["two", "three"])])
def test_a_cap_in_a_life_counts_what_was_done_before(season_of: SeasonOf, in_life: bool, expected: list[str]) -> None:
    scenario = OFF + '[[engine]]\nname = "A"\ndone = { freshen = 1 }\n'
    season = bound(season_of, cap("freshen", 2, in_life=in_life), levels=FRESHEN, scenario=scenario)
    assert [job[0] for job in done(season)] == expected


def test_whole_services_are_no_openings_that_count(season_of: SeasonOf) -> None:
    services = "service,price,every,measure\noil,20,40,laps\n"
    season = bound(season_of, cap("freshen", 2), levels=FRESHEN, services=services)
    assert [row[0] for row in cash(season) if row[2] == "labour"] == ["two", "three"]


def test_a_cap_in_a_life_holds_for_the_car_too(season_of: SeasonOf) -> None:
    levels = "level,rank,carrier,interval,measure,hours,labour\nbench,1,car,60,laps,9,40\n"
    scenario = OFF + "[car]\ndone = { bench = 3 }\n"
    season = bound(season_of, cap("bench", 4, in_life=True), levels=levels, scenario=scenario)
    assert done(season) == [("two", "car", "bench")]


def test_a_rebuild_in_its_life_counts_for_a_cap_on_the_lower_level(season_of: SeasonOf) -> None:
    scenario = OFF + '[[engine]]\nname = "A"\ndone = { freshen = 1, rebuild = 1 }\n'
    season = bound(season_of, cap("freshen", 2, in_life=True), levels=TWO_LEVELS, scenario=scenario)
    assert done(season) == []
    season = bound(season_of, cap("rebuild", 2, in_life=True), levels=TWO_LEVELS, scenario=scenario)
    assert [job[::2] for job in done(season)][2] == ("four", "rebuild")


@pytest.mark.parametrize(
    ("since", "until", "expected"),
    [
        (date(2027, 5, 22), None, ["two", "three"]),  # in force before four and five
        (None, date(2027, 5, 14), ["three", "four", "five"]),  # 80 laps before three: then it is done
        (date(2027, 5, 30), None, ["two", "three", "four", "five"]),  # not in this season
    ],
)
def test_a_clause_bars_by_the_day_of_the_gap(
    season_of: SeasonOf, since: date | None, until: date | None, expected: list[str]
) -> None:
    season = bound(season_of, cap("freshen", 0, since=since, until=until), levels=FRESHEN)
    assert [job[0] for job in done(season)] == expected


def test_a_season_cap_counts_from_the_day_it_is_in_force(season_of: SeasonOf) -> None:
    season = bound(season_of, cap("freshen", 1, since=date(2027, 5, 15)), levels=FRESHEN)
    assert [job[0] for job in done(season)] == ["two", "three"]
    life = bound(season_of, cap("freshen", 1, in_life=True, since=date(2027, 5, 15)), levels=FRESHEN)
    assert [job[0] for job in done(life)] == ["two"]


def test_a_date_that_came_while_its_level_was_barred_is_kept_once_it_is_free(season_of: SeasonOf) -> None:
    levels = "level,rank,dates,hours,labour\nfreshen,1,2027-05-08,100,100\n"
    season = bound(season_of, cap("freshen", 0, until=date(2027, 5, 16)), levels=levels)
    assert done(season) == [("four", "engine", "freshen")]
    assert how(season) == ["barred freshen before 2 events from 2027-05-08"]


# What is done when something is due at a barred level


@pytest.mark.parametrize(
    ("when_barred", "expected"),
    [
        ("run on", [0, 0, 0, 0, 0]),
        # two would be A's 80th lap, three B's: then A runs on
        ("change engine", [0, 1, 0, 0, 0]),
        ("stop", [0, 1, -1, -1, -1]),
    ],
)
@pytest.mark.parametrize("due", [{"levels": FRESHEN}, ONE_SPRING], ids=["interval", "life"])
def test_the_policy_says_what_runs_when_what_is_due_is_barred(
    season_of: SeasonOf, when_barred: str, expected: list[int], due: dict[str, Any]
) -> None:
    level = "freshen" if due["levels"] == FRESHEN else "springs"
    season = bound(season_of, cap(level, 0), **{**due, "scenario": policy(when_barred) + A_B})
    assert ran(season) == expected
    assert done(season) == []


def test_at_a_barred_level_what_is_due_is_looked_for_in_the_run_alone(season_of: SeasonOf) -> None:
    # no gap holds the work: before two 40 + 160 laps pass 100, but not before three do 80 + 40 in the run alone
    tables = {**ONE_SPRING, "lives": "part,measure,replace_at\nspring,laps,100\n"}
    tables["levels"] = "level,rank,hours,labour\nsprings,1,200,25\n"
    season = bound(season_of, cap("springs", 0), **tables, scenario=policy("stop"))
    assert ran(season) == [0, 0, -1, -1, -1]
    levels = "level,rank,interval,measure,hours,labour\nfreshen,1,100,laps,200,100\n"
    assert ran(bound(season_of, cap("freshen", 0), levels=levels, scenario=policy("stop"))) == [0, 0, -1, -1, -1]


def test_a_barred_level_just_done_keeps_nobody_back_however_long_the_run(season_of: SeasonOf) -> None:
    # one run is more than the interval: freshened again it would not last longer
    levels = FRESHEN.replace("60", "30")
    assert ran(bound(season_of, cap("freshen", 0), levels=levels, scenario=policy("stop"))) == [0, -1, -1, -1, -1]


def test_what_a_clause_kept_from_running_is_told_with_the_events_missed(season_of: SeasonOf) -> None:
    season = bound(season_of, cap("freshen", 0), levels=FRESHEN, scenario=policy("stop") + A_B)
    plan = planned(season)
    assert plan.missed == ("three", "four", "five")
    (acted,) = plan.book
    assert acted.missed == ("three", "four", "five")
    assert acted.how == (
        "barred freshen before 4 events from 2027-05-08; kept A, B from running at 4 events from 2027-05-08"
    )


def test_an_engine_that_runs_on_for_want_of_another_was_not_kept_back(season_of: SeasonOf) -> None:
    season = bound(season_of, cap("freshen", 0), levels=FRESHEN, scenario=policy("change engine"))
    assert ran(season) == [0, 0, 0, 0, 0]
    assert how(season) == ["barred freshen before 4 events from 2027-05-08"]


@pytest.mark.parametrize("when_barred", ["run on", "change engine", "stop"])
def test_a_hard_limit_at_a_barred_level_is_never_passed(season_of: SeasonOf, when_barred: str) -> None:
    tables: dict[str, Any] = {
        **ONE_SPRING,
        "lives": "part,measure,limit\nspring,laps,60\n",
        "scenario": policy(when_barred),
    }
    season = bound(season_of, cap("springs", 0), **tables)
    assert ran(season) == [0, -1, -1, -1, -1]
    assert planned(season).book[0].missed == ("two", "three", "four", "five")


TWO_SESSIONS: dict[str, Any] = {
    "calendar": "event,date,format\none,2027-05-01,night\ntwo,2027-05-08,night\n",
    "sessions": "format,session,laps\nnight,heat,40\nnight,feature,40\n",
}


def test_who_is_kept_back_at_the_start_of_an_event_sits_it_out(season_of: SeasonOf) -> None:
    # an event counts with its first session: the feature alone would not pass the interval
    levels = "level,rank,interval,measure,hours,labour\nfreshen,1,1,events,100,100\n"
    for when_barred, expected in (("run on", [0, 0, 0, 0]), ("change engine", [0, 0, 0, 0]), ("stop", [0, 0, -1, -1])):
        season = bound(season_of, cap("freshen", 0), levels=levels, scenario=policy(when_barred), **TWO_SESSIONS)
        assert ran(season) == expected, when_barred


def test_a_hard_limit_in_events_keeps_its_carrier_from_every_session(season_of: SeasonOf) -> None:
    tables = {**ONE_SPRING, "lives": "part,measure,limit\nspring,events,1\n", **TWO_SESSIONS}
    season = bound(season_of, cap("springs", 0), **tables)
    assert ran(season) == [0, 0, -1, -1]


def test_a_broken_engine_at_a_barred_level_does_not_run_and_is_put_right_after_the_season(season_of: SeasonOf) -> None:
    tables: dict[str, Any] = {**ONE_SPRING, "lives": "part,measure,replace_at\nspring,laps,900\n"}
    season = bound(season_of, cap("springs", 0), **tables)
    state = broken(season, {"springs": 50})
    assert state.ran.tolist() == [0, 0, -1, -1, -1]
    assert cash(season, state) == [
        ("after the last event", "springs", "labour", "25.00"),
        ("after the last event", "springs", "failure", "60.00"),
    ]


def test_an_engine_that_may_not_run_is_not_opened_for_less(season_of: SeasonOf) -> None:
    season = bound(season_of, cap("rebuild", 0), levels=TWO_LEVELS, scenario=policy("stop"))
    assert ran(season) == [0, 0, 0, -1, -1]  # before four 120 + 40 > 150
    assert [job[0] for job in done(season)] == ["two", "three"]


def test_the_car_stops_at_a_barred_level_of_its_own(season_of: SeasonOf) -> None:
    levels = "level,rank,carrier,interval,measure,hours,labour\nbench,1,car,60,laps,9,40\n"
    for when_barred, expected in (("change engine", [0, 0, 0, 0, 0]), ("stop", [0, -1, -1, -1, -1])):
        season = bound(season_of, cap("bench", 0), levels=levels, scenario=policy(when_barred) + A_B)
        assert ran(season) == expected


# The last opening


def last_opening(season_of: SeasonOf, book: Book, early: str = "worth", **more: str) -> list[tuple[str, str, str, str]]:
    """A freshen of 100.00 by date before two; springs of 100 laps at 600.00 that are reached by it."""
    tables: dict[str, Any] = {
        **ONE_SPRING,
        "parts": "part,price\nspring,300\n",
        "lives": "part,measure,replace_at\nspring,laps,100\n",
        "levels": "level,rank,dates,hours,labour\nfreshen,1,2027-05-08,100,100\n",
        "positions": "slot,level\nsprings,freshen\n",
        "scenario": policy("run on", early),
        **more,
    }
    return cash(bound(season_of, book, **tables))


def test_at_the_last_opening_allowed_what_falls_due_later_is_renewed(season_of: SeasonOf) -> None:
    # Before two 40 of 100 laps: the springs fall due before three, for another opening of 100.00. 360.00 are left in
    # them: more than that, so they wait; so does the next set, 80 laps old before five.
    assert last_opening(season_of, Book()) == [
        ("two", "freshen", "labour", "100.00"),
        ("three", "freshen", "labour", "100.00"),
        ("three", "springs", "planned", "600.00"),
        ("five", "freshen", "labour", "100.00"),
        ("five", "springs", "planned", "600.00"),
    ]
    # With one opening there is nothing to wait for; the new set runs on past its 100 laps.
    once = [("two", "freshen", "labour", "100.00"), ("two", "springs", "early", "600.00")]
    assert last_opening(season_of, cap("freshen", 1)) == once
    # With early = "off" nothing is renewed early.
    assert last_opening(season_of, cap("freshen", 1), "off") == once[:1]


def test_what_lasts_until_the_level_is_free_again_can_wait(season_of: SeasonOf) -> None:
    # barred before three alone: the springs, due there, cannot wait; barred before four, they can
    barred = [cap("freshen", 0, since=date(2027, 5, day), until=date(2027, 5, day)) for day in (15, 22)]
    assert last_opening(season_of, barred[0])[1] == ("two", "springs", "early", "600.00")
    assert last_opening(season_of, barred[1])[1] == ("three", "freshen", "labour", "100.00")
    # springs of 140 laps are due before four, which is free
    lives = "part,measure,replace_at\nspring,laps,140\n"
    assert last_opening(season_of, barred[0], lives=lives)[1] == ("four", "freshen", "labour", "100.00")


def test_an_opening_that_will_be_barred_is_not_waited_for(season_of: SeasonOf) -> None:
    # the freshen is due again before three, where the springs could be renewed beside it if it were not barred
    assert last_opening(season_of, cap("freshen", 1), levels=FRESHEN) == [
        ("two", "freshen", "labour", "100.00"),
        ("two", "springs", "early", "600.00"),
    ]


# Caps on engines


A_B_C = A_B + '[[engine]]\nname = "C"\n'


def engines(most: int, since: date | None = None, until: date | None = None) -> Book:
    return Book(engine_caps=(EngineCap(clause("T4", since, until), most),))


def test_no_further_engine_is_asked_once_so_many_have_run(season_of: SeasonOf) -> None:
    scenario = policy("run on", who_runs="least used") + A_B_C
    assert ran(bound(season_of, Book(), scenario=scenario)) == [0, 1, 2, 0, 1]
    season = bound(season_of, engines(2), scenario=scenario)
    assert ran(season) == [0, 1, 0, 1, 0]
    assert how(season) == ["kept C from running at 3 events from 2027-05-15"]
    # in force before four and five alone: two engines more
    later = bound(season_of, engines(1, date(2027, 5, 22)), scenario=scenario)
    assert ran(later) == [0, 1, 2, 0, 0]
    # in force before one to three
    earlier = bound(season_of, engines(1, until=date(2027, 5, 15)), scenario=scenario)
    assert ran(earlier) == [0, 0, 0, 1, 2]


def test_engines_count_by_the_days_on_which_they_run(season_of: SeasonOf) -> None:
    # the clause is in force at one, and not yet on the day of the winter's work before it
    calendar = (
        "event,date,kind,laps,engine\nwinter,2027-03-01,service,,\none,2027-05-01,race,40,A\ntwo,2027-05-08,race,40,B\n"
    )
    book = Book(engine_caps=(EngineCap(clause("T9", date(2027, 4, 1)), 1),))
    assert ran(bound(season_of, book, calendar=calendar, scenario=OFF + A_B)) == [0, -1]


def test_an_event_that_names_an_engine_too_many_is_missed(season_of: SeasonOf) -> None:
    season = bound(season_of, engines(1), calendar=ALTERNATELY, scenario=OFF + A_B)
    assert ran(season) == [0, -1, 0, -1, 0]
    (acted,) = planned(season).book
    assert acted.missed == ("two", "four")


# Caps on pieces


def pieces(names: str, most: int, *, each_event: bool = False, since: date | None = None) -> Book:
    return Book(piece_caps=(PieceCap(clause("T5", since), tuple(names.split()), most, each_event),))


def test_no_more_pieces_are_put_in_than_a_season_allows(season_of: SeasonOf) -> None:
    # two springs of 60 laps: without a clause new ones before two, three, four and five
    assert len(cash(bound(season_of, Book(), **ONE_SPRING))) == 2 * 4
    season = bound(season_of, pieces("springs", 5), **ONE_SPRING)
    assert [row[0] for row in cash(season) if row[2] == "planned"] == ["two", "three"]
    assert [row[0] for row in cash(season) if row[2] == "labour"] == ["two", "three"]  # not opened for nothing
    assert ran(season) == [0, 0, 0, 0, 0]  # on worn springs
    assert how(season) == ["left springs in before 2 events from 2027-05-22"]
    later = bound(season_of, pieces("springs", 2, since=date(2027, 5, 15)), **ONE_SPRING)
    assert [row[0] for row in cash(later) if row[2] == "planned"] == ["two", "three"]


def test_a_cap_on_pieces_counts_and_bars_while_it_is_in_force(season_of: SeasonOf) -> None:
    # 40 + 40 > 60: a set each week, but none before two
    none = PieceCap(clause(until=date(2027, 5, 8)), ("springs",), 0, each_event=False)
    season = bound(season_of, Book(piece_caps=(none,)), **ONE_SPRING)
    assert [row[0] for row in cash(season) if row[2] == "planned"] == ["three", "four", "five"]


def test_pieces_of_all_engines_count_together(season_of: SeasonOf) -> None:
    tables: dict[str, Any] = {**ONE_SPRING, "calendar": ALTERNATELY, "scenario": OFF + A_B}
    season = bound(season_of, pieces("springs", 2), **tables)
    assert done(season) == [("three", "A", "springs")]


NIGHT: dict[str, Any] = {
    "calendar": "event,date,format\none,2027-05-01,night\ntwo,2027-05-08,night\n",
    "sessions": "format,session,laps\nnight,heat,40\nnight,last chance,40\nnight,feature,40\n",
}


def test_pieces_of_one_event_are_those_put_in_before_its_runs(season_of: SeasonOf) -> None:
    tyres = "service,price,every,measure\ntyres,200,60,laps\n"
    # without a clause before every session but the first: 40 + 40 > 60
    free = bound(season_of, Book(), **NIGHT, services=tyres)
    assert [row[0] for row in cash(free)] == ["one"] * 2 + ["two"] * 3
    season = bound(season_of, pieces("tyres", 1, each_event=True), **NIGHT, services=tyres)
    assert [row[0] for row in cash(season)] == ["one", "two"]
    assert how(season) == ["left tyres in before 2 events from 2027-05-01"]


def test_what_is_broken_or_at_a_limit_does_not_run_where_no_piece_is_left(season_of: SeasonOf) -> None:
    limited = {**ONE_SPRING, "lives": "part,measure,limit\nspring,laps,60\n"}
    season = bound(season_of, pieces("springs", 2), **limited)
    assert ran(season) == [0, 0, -1, -1, -1]  # one set for two
    (acted,) = planned(season).book
    assert acted.missed == ("three", "four", "five")
    lasting = {**ONE_SPRING, "lives": "part,measure,replace_at\nspring,laps,900\n"}
    season = bound(season_of, pieces("springs", 1), **lasting)
    assert broken(season, {"springs": 50}).ran.tolist() == [0, 0, -1, -1, -1]
    season = bound(season_of, pieces("springs", 2), **lasting)
    assert broken(season, {"springs": 50}).ran.tolist() == [0, 0, 0, 0, 0]


def test_a_cap_on_pieces_that_is_not_reached_changes_no_word(season_of: SeasonOf) -> None:
    # both b and x take z along: b is come to first
    tables: dict[str, Any] = {
        "slots": "slot,part,pieces\na,arm,1\nb,bolt,1\nx,hub,1\nz,seal,1\n",
        "parts": "part,price\narm,10\nbolt,20\nhub,30\nseal,40\n",
        "lives": "part,measure,replace_at\narm,laps,60\nbolt,laps,60\n",
        "levels": "level,rank,hours,labour\nfront,1,8,25\n",
        "positions": "slot,level,renew_with\na,front,x\nb,front,z\nx,front,z\nz,front,\n",
    }
    plain = planned(bound(season_of, Book(), **tables)).jobs
    assert {renewal.why for renewal in plain[0].renewals if renewal.slot == "z"} == {"with b"}
    wide = Book(piece_caps=(PieceCap(clause(), ("a", "z"), 99, each_event=False),))
    assert planned(bound(season_of, wide, **tables)).jobs == plain


def test_of_two_that_want_the_last_pieces_what_is_broken_comes_first(season_of: SeasonOf) -> None:
    tables: dict[str, Any] = {
        "slots": "slot,part,pieces\ninner,inner,1\nouter,outer,1\n",
        "parts": "part,price\ninner,30\nouter,40\n",
        "lives": "part,measure,replace_at\ninner,laps,50\nouter,laps,900\n",
        "levels": "level,rank,hours,labour\nsprings,1,8,25\n",
        "positions": "slot,level\ninner,springs\nouter,springs\n",
    }
    season = bound(season_of, pieces("inner outer", 1), **tables)
    state = broken(season, {"outer": 20})
    # outer stops the first run at half of it; before two inner is due as well, 20 + 40 > 50, and runs on
    assert [row for row in cash(season, state) if row[2] != "labour"] == [("two", "outer", "failure", "40.00")]


def test_what_is_left_at_its_limit_for_another_keeps_the_engine_back(season_of: SeasonOf) -> None:
    tables: dict[str, Any] = {
        "slots": "slot,part,pieces\ninner,inner,1\nouter,outer,1\n",
        "parts": "part,price\ninner,30\nouter,40\n",
        "lives": "part,measure,limit\ninner,laps,60\nouter,laps,60\n",
        "levels": "level,rank,hours,labour\nsprings,1,8,25\n",
        "positions": "slot,level\ninner,springs\nouter,springs\n",
    }
    season = bound(season_of, pieces("inner outer", 1), **tables)
    # before two both would pass 60 laps, and one piece is left: the outer spring stays as it is
    assert [row[:2] for row in cash(season)] == [("two", "springs"), ("two", "inner")]
    assert ran(season) == [0, -1, -1, -1, -1]


def test_what_changes_together_is_left_in_together(season_of: SeasonOf) -> None:
    tables: dict[str, Any] = {
        "slots": "slot,part,pieces\ncam,cam,1\nlifters,lifter,2\n",
        "parts": "part,price\ncam,90\nlifter,10\n",
        "lives": "part,measure,replace_at\ncam,laps,100\n",
        "levels": "level,rank,hours\nfreshen,1,100\n",
        "positions": "slot,level,renew_with\ncam,freshen,lifters\nlifters,freshen,\n",
    }
    assert [row[:2] for row in cash(bound(season_of, pieces("lifters", 2), **tables))] == [
        ("three", "cam"),
        ("three", "lifters"),
    ]
    assert cash(bound(season_of, pieces("lifters", 1), **tables)) == []


# Service steps


PARTS = "part,price,resale,core_charge\nblock,200,20,7\npiston,10,0,0\n"
BLOCK: dict[str, Any] = {
    "calendar": "event,date,laps\none,2027-05-01,30\ntwo,2027-05-08,40\nthree,2027-05-15,50\n",
    "slots": "slot,part,pieces\nblock,block,1\npistons,piston,4\n",
    "parts": PARTS,
    "lives": "part,measure,replace_at\nblock,laps,60\n",
    "levels": "level,rank,hours\nrebuild,1,100\n",
    "positions": "slot,level\nblock,rebuild\npistons,rebuild\n",
    "catalog": {
        "operations": "operation,role,price,price_date\nhone,block,15,2027-01-01\nbore,block,25,2027-01-01\n",
        "service_steps": "role,step,operation,factor,renew_with\nblock,1,hone,0.8,\nblock,2,bore,0.6,piston\n",
    },
}


def barred(operation: str, *slots: str, since: date | None = None, until: date | None = None) -> Book:
    def forbids(found: Operation) -> bool:
        return found.operation == operation

    return Book(barred=(BarredWork(clause("T6", since, until), slots, forbids),))


def paid(season: Season) -> list[tuple[str, str, str]]:
    return [(row[0], row[1], row[3]) for row in cash(season) if row[2] == "planned"]


def test_where_a_step_is_barred_another_set_goes_in(season_of: SeasonOf) -> None:
    # hone before two (30 + 40 > 60), bore before three (40 + 50 > 48)
    assert paid(bound(season_of, Book(), **BLOCK)) == [
        ("two", "block", "15.00"),
        ("three", "block", "25.00"),
        ("three", "pistons", "40.00"),
    ]
    season = bound(season_of, barred("hone"), **BLOCK)
    assert paid(season) == [("two", "block", "200.00"), ("three", "block", "200.00")]
    assert how(season) == ["another set instead of hone of block before 2 events from 2027-05-08"]
    # 180.00 above resale are spread over the first life alone: 30/60 of it, then 40/60, then 50/60
    assert wear(season, "block") == [
        ("one", "life used", "90.00"),
        ("two", "unused life", "90.00"),
        ("two", "life used", "120.00"),
        ("three", "unused life", "60.00"),
        ("three", "life used", "150.00"),
    ]
    assert [path.next for path in planned(season).paths] == ["new block"]


def test_the_path_ends_before_the_step_that_is_barred(season_of: SeasonOf) -> None:
    season = bound(season_of, barred("bore", "block"), **BLOCK)
    assert paid(season) == [("two", "block", "15.00"), ("three", "block", "200.00")]
    # 180.00 over 1 + 0.8 lives. One: 130.00 are left. The hone leaves 80.00 and its own 15.00; 40/48 of it are used.
    assert wear(season, "block") == [
        ("one", "life used", "50.00"),
        ("two", "unused life", "50.00"),
        ("two", "life used", "79.17"),
        ("three", "unused life", "15.83"),
        ("three", "life used", "83.33"),
    ]


def test_work_on_another_slot_is_not_barred(season_of: SeasonOf) -> None:
    season = bound(season_of, barred("hone", "pistons"), **BLOCK)
    assert paid(season)[0] == ("two", "block", "15.00")
    assert planned(season).book == ()


def test_a_step_is_done_in_a_gap_in_which_it_is_not_barred(season_of: SeasonOf) -> None:
    season = bound(season_of, barred("hone", until=date(2027, 5, 10)), **BLOCK)
    assert paid(season) == [("two", "block", "200.00"), ("three", "block", "15.00")]
    # The season did not count on the hone: before three 60.00 are left. Honed, the block has 0.8 + 0.6 of 2.4 lives
    # before it, 105.00, and the hone's 15.00: that is 45.00 more than was left and paid. 50 laps use up its 0.8.
    assert wear(season, "block")[3:] == [("three", "unused life", "-45.00"), ("three", "life used", "75.00")]


def test_a_step_is_no_piece(season_of: SeasonOf) -> None:
    # no block at all: it is honed before two and bored before three
    assert paid(bound(season_of, pieces("block", 0), **BLOCK)) == [
        ("two", "block", "15.00"),
        ("three", "block", "25.00"),
        ("three", "pistons", "40.00"),
    ]


# Dated parts


DAMPER: dict[str, Any] = {
    "slots": "slot,part,pieces\ndamper,damper,1\n",
    "parts": "part,price\ndamper,100\n",
    "levels": "level,rank,hours\nfront,1,8\n",
    "positions": "slot,level\ndamper,front\n",
}
INSTALLED = "piece,part,engine,slot,installed\nold,damper,engine,damper,2027-04-26\n"


def dated(days: float, slot: str = "damper", since: date | None = None) -> Book:
    return Book(dated=(DatedPart(clause("T7", since), slot, days),))


def test_a_dated_part_is_renewed_at_its_date_and_never_later(season_of: SeasonOf) -> None:
    # 5 days old before one, 12 before two, 19 before three and 26 before four
    season = bound(season_of, dated(20), **DAMPER, garage=INSTALLED)
    assert paid(season) == [("three", "damper", "100.00")]
    assert how(season) == ["renewed damper for its 20 days before 1 event from 2027-05-15"]
    # 100.00 for 20 days: 25.00 are gone at one, 60.00 after two; then 14 days of the new one
    assert wear(season, "damper") == [
        ("one", "life used", "35.00"),
        ("two", "life used", "35.00"),
        ("three", "unused life", "5.00"),
        ("three", "life used", "35.00"),
        ("four", "life used", "35.00"),
    ]
    (line,) = planned(season).life_used
    assert (line.slot, line.by, line.opening) == ("damper", "20 days (T7)", 0.25)
    assert planned(season).jobs[0].renewals[0].why == "95% of 20 days (T7)"


def test_a_dated_part_that_is_renewed_early_for_its_date_is_told(season_of: SeasonOf) -> None:
    # 12 of 30 days old at the freshen before two: the next opening for it alone would cost 400.00 before four
    tables = {
        **DAMPER,
        "levels": "level,rank,dates,hours,labour\nfront,1,,8,400\nfreshen,2,2027-05-08,100,100\n",
        "scenario": policy("run on", "worth"),
        "garage": INSTALLED,
    }
    season = bound(season_of, dated(30), **tables)
    assert [row[:3] for row in cash(season)] == [("two", "freshen", "labour"), ("two", "damper", "early")]
    assert how(season) == ["renewed damper for its 30 days before 1 event from 2027-05-08"]


def test_the_day_of_its_paper_goes_before_that_on_which_it_was_installed(season_of: SeasonOf) -> None:
    papers = {("engine", "T7", PLACE): date(2027, 4, 19)}  # 12, 19 and 26 days old
    season = bound(season_of, dated(20), papers, **DAMPER, garage=INSTALLED)
    assert [row[0] for row in paid(season)] == ["two", "four"]


def test_a_part_without_a_row_is_new_on_opening_day_unless_its_paper_says_otherwise(season_of: SeasonOf) -> None:
    assert [row[0] for row in paid(bound(season_of, dated(20), **DAMPER))] == ["three"]  # 14 + 7 > 20
    papers = {("engine", "T7", PLACE): date(2027, 4, 19)}
    assert [row[0] for row in paid(bound(season_of, dated(20), papers, **DAMPER))] == ["two", "four"]


def test_a_piece_that_does_not_say_its_day_is_a_problem(season_of: SeasonOf) -> None:
    garage = "piece,part,engine,slot,laps\nold,damper,engine,damper,40\n"
    found = faults(season_of, dated(20), **DAMPER, garage=garage)
    assert [(code, field) for code, _, field, _ in found] == [("GAR004", "installed")]


def test_a_dated_part_at_a_barred_level_runs_on_its_last_day_and_no_longer(season_of: SeasonOf) -> None:
    book = replace(dated(19), level_caps=cap("front", 0).level_caps)
    season = bound(season_of, book, **DAMPER, garage=INSTALLED)
    assert ran(season) == [0, 0, 0, -1, -1]  # 19 days old at three


def test_a_date_counts_once_its_clause_is_in_force(season_of: SeasonOf) -> None:
    garage = "piece,part,engine,slot,installed\nold,damper,engine,damper,2026-04-26\n"
    season = bound(season_of, dated(20, since=date(2027, 5, 12)), **DAMPER, garage=garage)
    assert [row[0] for row in paid(season)] == ["three"]


def test_a_dated_set_on_the_shelf_grows_older_there(season_of: SeasonOf) -> None:
    shelf = INSTALLED + "spare,damper,,,2027-04-28\n"
    # before three the spare is 17 days old, and would be 24 before four
    season = bound(season_of, dated(20), **DAMPER, garage=shelf)
    assert paid(season) == [("three", "damper", "100.00")]
    # with 25 days the old one is renewed before three too (19 + 7 > 25), and the spare serves; before four a new one
    season = bound(season_of, dated(25), **DAMPER, garage=shelf)
    assert paid(season) == [("four", "damper", "100.00")]


def test_both_alternates_of_a_slot_are_dated(season_of: SeasonOf) -> None:
    tables: dict[str, Any] = {
        **DAMPER,
        "calendar": CALENDAR.replace("laps\n", "laps,setup\n")
        .replace(",40\n", ",40,\n")
        .replace("08,40,", "08,40,wet"),
        "slots": "slot,part,pieces,alternate,serves\ndamper,damper,1,dry,\ndamper,damper,1,rain,wet\n",
    }
    assert paid(bound(season_of, dated(20), **tables)) == [
        ("three", "damper", "100.00"),
        ("three", "damper/rain", "100.00"),
    ]


def test_a_dated_slot_needs_a_position(season_of: SeasonOf) -> None:
    tables: dict[str, Any] = {**DAMPER, "positions": "slot,level\n"}
    assert faults(season_of, dated(20), **tables) == [("SEA017", "rules-cup.toml:7", "slot", "damper")]


# Charges


def charge(
    amount: str, per: Any, level: str = "", currency: str = "USD", since: date | None = None, until: date | None = None
) -> Book:
    return Book(charges=(Charge(clause("T8", since, until), Decimal(amount), currency, per, level),))


def fees(season: Season, state: machine.State | None = None) -> list[tuple[str, str, str, str, str]]:
    """Date, event, engine, slot and amount of each fee; the two views hold the same."""
    ledger = write_ledger(season, state or play_plan(season))
    views = [
        [
            (str(row.date), row.event, row.engine, row.slot, str(row.amount))
            for row in ledger.of(view)
            if row.cause == "fee"
        ]
        for view in ("cash", "wear")
    ]
    assert views[0] == views[1]
    return views[0]


def test_an_opening_at_a_level_or_above_is_charged_once(season_of: SeasonOf) -> None:
    season = bound(season_of, charge("12.50", "opening", "freshen"), levels=TWO_LEVELS)
    assert [row[1:] for row in fees(season)] == [
        ("two", "engine", "freshen", "12.50"),
        ("three", "engine", "freshen", "12.50"),
        ("four", "engine", "rebuild", "12.50"),
        ("five", "engine", "freshen", "12.50"),
    ]
    above = bound(season_of, charge("12.50", "opening", "rebuild"), levels=TWO_LEVELS)
    assert [row[1] for row in fees(above)] == ["four"]
    plan = planned(season)
    assert [(job.fees, job.work) for job in plan.jobs][2] == (Decimal("12.50"), Decimal("912.50"))
    (acted,) = plan.book
    assert (acted.how, acted.fees) == ("4 fees per opening of freshen", Decimal("50.00"))
    row = next(row for row in plan.ledger if row.cause == "fee")
    assert row.why == "clause T8: what T8 says (rules-cup.toml:7)"


def test_an_opening_of_the_car_is_charged_as_an_engines(season_of: SeasonOf) -> None:
    levels = FRESHEN.replace("rank,", "rank,carrier,").replace("1,60", "1,engine,60") + "bench,1,car,60,laps,9,40\n"
    assert [row[2:4] for row in fees(bound(season_of, charge("5", "opening", "bench"), levels=levels))] == [
        ("car", "bench")
    ] * 4
    assert len(fees(bound(season_of, charge("5", "opening"), levels=levels))) == 8


def test_each_swap_inside_an_event_is_charged(season_of: SeasonOf) -> None:
    scenario = OFF.replace("[policy]\n", "[policy]\nswap_hours = 1\n") + A_B
    tables: dict[str, Any] = {
        **NIGHT,
        **ONE_SPRING,
        "lives": "part,measure,replace_at\nspring,laps,900\n",
        "scenario": scenario,
    }
    season = bound(season_of, charge("40", "swap"), **tables)
    assert fees(season) == []
    state = broken(season, {"springs": 30})  # A breaks in the heat; B runs the rest of the night
    assert state.ran.tolist() == [0, 1, 1, 0, 0, 0]
    assert fees(season, state) == [("2027-05-01", "one", "B", "T8", "40.00")]


def test_events_races_months_and_the_season_are_charged(season_of: SeasonOf) -> None:
    calendar = "event,date,kind,laps\none,2027-05-30,practice,30\ntwo,2027-06-05,race,40\nthree,2027-07-03,race,40\n"
    expected = {
        "event": ["2027-05-30", "2027-06-05", "2027-07-03"],
        "race": ["2027-06-05", "2027-07-03"],
        "month": ["2027-05-30", "2027-06-01", "2027-07-01"],
        "season": ["2027-05-30"],
    }
    for per, days in expected.items():
        assert [row[0] for row in fees(bound(season_of, charge("7", per), calendar=calendar))] == days
    later = charge("7", "season", since=date(2027, 6, 20))
    assert [row[0] for row in fees(bound(season_of, later, calendar=calendar))] == ["2027-06-20"]
    until = charge("7", "month", until=date(2027, 6, 20))
    assert [row[0] for row in fees(bound(season_of, until, calendar=calendar))] == ["2027-05-30", "2027-06-01"]


@pytest.mark.parametrize(
    ("since", "until", "event"), [(None, date(2027, 5, 1), "one"), (date(2027, 5, 29), None, "five")]
)
def test_a_clause_that_touches_the_season_on_its_first_or_last_day_binds_it(
    season_of: SeasonOf, since: date | None, until: date | None, event: str
) -> None:
    season = bound(season_of, charge("5.00", "event", since=since, until=until))
    assert cash(season) == [(event, "T8", "fee", "5.00")]


def test_a_charge_of_the_season_that_was_in_force_before_is_due_when_the_books_open(season_of: SeasonOf) -> None:
    season = bound(season_of, charge("5.00", "season", since=date(2026, 1, 1)))
    assert {(row.date, row.cause) for row in planned(season).ledger} == {(season.opening, "fee")}


def test_an_event_that_is_missed_is_not_charged(season_of: SeasonOf) -> None:
    book = replace(charge("7", "event"), level_caps=cap("freshen", 0).level_caps)
    season = bound(season_of, book, levels=FRESHEN, scenario=policy("stop"))
    assert [row[1] for row in fees(season)] == ["one"]


def test_a_charge_is_converted_at_the_rate_of_its_day(season_of: SeasonOf) -> None:
    rates = "".join(
        f'[[rate]]\ncurrency = "EUR"\nrate = {rate}\nsince = {since}\n'
        for rate, since in (("1.10", "2027-01-01"), ("1.25", "2027-05-20"))
    )
    season = bound(season_of, charge("3.33", "event", currency="EUR"), scenario=OFF + rates)
    # 3.663 and 4.1625
    assert [row[4] for row in fees(season)] == ["3.66", "3.66", "3.66", "4.16", "4.16"]


@pytest.mark.parametrize(
    ("fee", "event"),
    [
        # At the freshen before two the spring has 40 of 100 laps and 48.00 of 80.00 left; it would be due before three.
        ("5", "three"),  # 40.00 + 5.00 < 48.00
        ("9", "two"),  # 40.00 + 9.00 > 48.00
    ],
)
def test_a_fee_counts_when_an_early_renewal_is_weighed(season_of: SeasonOf, fee: str, event: str) -> None:
    tables: dict[str, Any] = {
        "slots": "slot,part,pieces\nsprings,spring,1\n",
        "parts": "part,price\nspring,80\n",
        "lives": "part,measure,replace_at\nspring,laps,100\n",
        "levels": "level,rank,dates,hours,labour\nsprings,1,,8,40\nfreshen,2,2027-05-08,100,100\n",
        "positions": "slot,level\nsprings,springs\n",
        "calendar": CALENDAR.partition("four")[0],
        "scenario": policy("run on", "worth"),
    }
    season = bound(season_of, charge(fee, "opening", "springs"), **tables)
    assert [row[0] for row in cash(season) if row[2] in ("planned", "early")] == [event]


# Listed shops


SHOPS = """\
level,rank,interval,measure,hours,labour,supplies,shop
freshen,1,60,laps,100,90,0,Hill
freshen,1,60,laps,50,100,20,Dale
freshen,1,60,laps,10,95,0,
"""


def listed(*shops: str, level: str = "freshen", since: date | None = None) -> Book:
    return Book(shops=(ListedShops(clause("T9", since), level, shops),))


def test_the_cheapest_shop_that_the_book_lists_does_a_level(season_of: SeasonOf) -> None:
    assert [row[3] for row in cash(bound(season_of, Book(), levels=SHOPS))] == ["90.00"] * 4
    season = bound(season_of, listed("Dale", "Moor"), levels=SHOPS)
    assert [row[2:] for row in cash(season)] == [("labour", "100.00"), ("consumable", "20.00")] * 4
    assert how(season) == ["freshen by Dale and not by Hill"]
    assert {job.shop for job in planned(season).jobs} == {"Dale"}


def test_a_shop_is_as_cheap_as_its_labour_and_supplies_together(season_of: SeasonOf) -> None:
    levels = (
        "level,rank,interval,measure,labour,supplies,shop\nfreshen,1,60,laps,90,20,Hill\nfreshen,1,60,laps,100,5,Dale\n"
    )
    assert {job.shop for job in planned(bound(season_of, Book(), levels=levels)).jobs} == {"Dale"}


@pytest.mark.parametrize("rows", [("Moor,300", "Hill,100", "Dale,100"), ("Dale,100", "Hill,100", "Moor,300")])
def test_of_shops_at_one_price_the_quickest_does_a_level_in_whatever_order(
    season_of: SeasonOf, rows: tuple[str, ...]
) -> None:
    lines = [f"freshen,1,60,laps,100,{row}" for row in rows]
    season = bound(season_of, Book(), levels="\n".join(["level,rank,interval,measure,labour,shop,hours", *lines]))
    assert [job.shop for job in planned(season).jobs] == ["Dale"] * 4


def test_a_level_that_no_listed_shop_does_is_barred_while_the_list_is_in_force(season_of: SeasonOf) -> None:
    season = bound(season_of, listed("Moor", since=date(2027, 5, 15)), levels=SHOPS)
    assert [row[::3] for row in cash(season)] == [("two", "90.00")]
    assert how(season) == ["barred freshen for want of a listed shop before 3 events from 2027-05-15"]


def test_a_list_binds_the_level_it_names_and_those_above(season_of: SeasonOf) -> None:
    levels = (
        "level,rank,interval,measure,hours,labour,shop\nfreshen,1,60,laps,100,90,\nrebuild,2,150,laps,100,900,Hill\n"
    )
    season = bound(season_of, listed("Hill", level="rebuild"), levels=levels)
    assert [job[2] for job in done(season)] == ["freshen", "freshen", "rebuild", "freshen"]
    # no listed shop freshens; a rebuild is open to one that is listed
    season = bound(season_of, listed("Hill"), levels=levels)
    assert [job[::2] for job in done(season)] == [("four", "rebuild")]
    season = bound(season_of, listed("Dale"), levels=levels)
    assert done(season) == []


def test_a_listed_shop_that_does_the_larger_level_sees_to_what_is_barred_below_it(season_of: SeasonOf) -> None:
    tables: dict[str, Any] = {
        **ONE_SPRING,
        "lives": "part,measure,replace_at\nspring,laps,150\n",
        "levels": "level,rank,interval,measure,hours,labour,shop\nfreshen,1,150,laps,100,90,\n"
        "rebuild,2,150,laps,100,900,Hill\n",
        "positions": "slot,level\nsprings,freshen\n",
        "scenario": policy("stop"),
    }
    season = bound(season_of, listed("Hill"), **tables)
    # before four the freshen, the springs and the rebuild are due
    assert done(season) == [("four", "engine", "rebuild")]
    assert ran(season) == [0, 0, 0, 0, 0]
    assert [row for row in cash(season) if row[1] == "springs"] == [("four", "springs", "planned", "60.00")]


def test_what_if_reaches_the_first_row_of_a_level(season_of: SeasonOf) -> None:
    folder = bound(season_of, Book(), levels=SHOPS).files.folder
    scenario, problems = read_scenario(folder, ["levels/freshen/labour=80"])
    assert scenario is not None, problems
    assert [row.labour for row in scenario.files.levels] == [80, 100, 95]


# Problems


def test_a_clause_on_a_level_that_nobody_has_is_a_problem(season_of: SeasonOf) -> None:
    place = "rules-cup.toml:7"
    for book in (cap("refresh", 1), listed("Hill", level="refresh"), charge("1", "opening", "refresh")):
        assert faults(season_of, book, levels=FRESHEN) == [("SEA001", place, "level", "refresh")]


def test_work_done_before_at_a_level_that_nobody_has_is_a_problem(season_of: SeasonOf) -> None:
    folder = season_of(calendar=CALENDAR, levels=FRESHEN).files.folder
    with (folder / "scenario.toml").open("a", encoding="utf-8") as file:
        file.write('[[engine]]\nname = "A"\ndone = { refresh = 1 }\n')
    (problem,) = read_scenario(folder)[1]
    assert (problem.code, problem.field, problem.value) == ("SEA001", "done", "refresh")


def test_a_clause_on_pieces_that_are_never_put_in_is_a_problem(season_of: SeasonOf) -> None:
    services = "service,price,every,measure,whole\ntyres,200,60,laps,yes\nfuel,2,1,laps,no\n"
    assert faults(season_of, pieces("tyres tires fuel", 4), services=services) == [
        ("SEA016", "rules-cup.toml:7", "slot", "tires"),
        ("SEA016", "rules-cup.toml:7", "slot", "fuel"),
    ]


def test_a_charge_without_a_rate_or_past_all_sums_is_a_problem(season_of: SeasonOf) -> None:
    place = "rules-cup.toml:7"
    assert faults(season_of, charge("5", "race", currency="EUR")) == [("MON002", place, "currency", "EUR")]
    assert faults(season_of, charge("5", "race", currency="XYZ")) == [("MON001", place, "currency", "XYZ")]
    assert [line[:3] for line in faults(season_of, charge("1e13", "race"))] == [("REA018", place, "amount")]


def test_a_clause_that_is_in_force_on_no_day_of_the_season_asks_nothing(season_of: SeasonOf) -> None:
    book = Book(piece_caps=(PieceCap(clause("T5", since=date(2027, 5, 30)), ("tires",), 1, False),))
    season = bound(season_of, book)
    assert season.book == Book()


def problems_of(season_of: SeasonOf, levels: str) -> list[tuple[str, int | None, str]]:
    folder = season_of(calendar=CALENDAR, levels=FRESHEN).files.folder
    (folder / "levels.csv").write_text(levels, encoding="utf-8")
    found: tuple[Problem, ...] = read_scenario(folder)[1]
    return [(problem.code, problem.place.line, problem.field) for problem in found]


def test_rows_of_one_level_are_of_different_shops_and_mean_the_same(season_of: SeasonOf) -> None:
    head = "level,rank,carrier,interval,measure,shop\nfreshen,1,engine,60,laps,Hill\n"
    assert problems_of(season_of, head + "freshen,1,engine,70,laps,Dale\n") == []
    assert problems_of(season_of, head + "freshen,1,engine,70,laps,Hill\n") == [("REA023", 3, "level")]
    assert problems_of(season_of, head + "freshen,2,engine,70,laps,Dale\n") == [("SEA018", 3, "rank")]
    assert problems_of(season_of, head + "freshen,1,car,70,laps,Dale\n") == [("SEA018", 3, "carrier")]
    assert problems_of(season_of, head + "freshen,1,engine,70,starts,Dale\n") == [("SEA018", 3, "measure")]


# What the clauses cost


def test_what_a_clause_costs_is_the_plan_with_it_less_the_plan_without(season_of: SeasonOf) -> None:
    book = Book(
        level_caps=cap("freshen", 2).level_caps,
        charges=charge("10", "opening", "freshen").charges,
        engine_caps=engines(1).engine_caps,
    )
    costs = cost_of_clauses(sources_of(season_of, book, levels=FRESHEN))
    found = {cost.rule: (str(cost.cash), cost.missed_more) for cost in costs.clauses}
    # two freshens less than four are done: 2 * (100.00 + 10.00) less are paid; the fee is paid twice
    assert found == {"T3": ("-220.00", 0), "T8": ("20.00", 0), "T4": ("0.00", 0)}
    # of 100.00 each interval 66.67 are used up in a race; what is not done any more is owed up to 100.00 at the most
    assert (costs.whole.says, str(costs.whole.cash)) == ("the whole book", "-180.00")
    assert {(cost.pack, str(cost.place)) for cost in costs.clauses} == {("Lantern Cup", "rules-cup.toml:7")}


def test_events_that_are_missed_for_a_clause_are_counted(season_of: SeasonOf) -> None:
    calendar = CALENDAR.replace("laps\n", "laps,entry\n").replace(",40\n", ",40,50\n")
    sources = sources_of(season_of, cap("freshen", 0), calendar=calendar, levels=FRESHEN, scenario=policy("stop"))
    (cost,) = cost_of_clauses(sources).clauses
    # four races of 50.00 entry are missed, four freshens of 100.00 are not done
    assert (cost.missed_more, cost.cash) == (4, Decimal("-600.00"))


# The machine's arrays


def test_the_machine_gets_the_same_types_whatever_is_left_out(season_of: SeasonOf) -> None:
    # a compiler of kernels would compile everything again for other types
    def types(season: Season) -> list[tuple[object, int]]:
        fields = (*season.problem, *season.start)
        return [(getattr(field, "dtype", type(field)), getattr(field, "ndim", 0)) for field in fields]

    told = bound(
        season_of,
        replace(cap("springs", 1), engine_caps=(EngineCap(clause(), 1),)),
        **ONE_SPRING,
        scenario='[policy]\nearly = 0.8\nswap_hours = 2.5\nwhen_barred = "stop"\n' + A_B,
    )
    services = "service,price,every,measure\noil,20,80,laps\n"
    assert types(told) == types(bound(season_of, Book(), services=services, scenario=""))
