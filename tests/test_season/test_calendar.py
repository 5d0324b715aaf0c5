"""The calendar as the machine sees it: what of a result hangs on a run, rain, hazards' use, and money by month."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from costplan.problems import Place
from costplan.rules.book import Book, Charge, Clause
from costplan.scenario import read_scenario
from costplan.season import Season, compile_season
from costplan.season.calendar import use_of
from costplan.season.machine.draws import named
from costplan.season.records import Event, Session

SeasonOf = Callable[..., Season]

SESSIONS = """\
format,session,laps,fuel_per_lap [L],result
club,heat,10,0.3,1
club,feature,20,0.3,3
trial,morning,5,0.3,0
trial,evening,5,0.3,0
"""
#: Runs 0, then 1 and 2, then 3 and 4, then 5 and 6.
CALENDAR = """\
event,date,kind,format,laps,fuel [L],lap_length [km],rain,rain_from,weight,entry,travel,purse
dyno,2027-04-30,test,,4,1,2,,,,,,
opener,2027-05-01,race,club,,,2,20 %,feature,,50,12.50,300
trial day,2027-05-20,practice,trial,,,2,0.1,,,,,
finale,2027-06-08,race,club,,,2,,,3,60,0,400
"""
FUEL = "service,price,every,measure,whole\nfuel,2.5,1,fuel [L],no\n"


def season(season_of: SeasonOf, **tables: Any) -> Season:
    return season_of(**{"calendar": CALENDAR, "sessions": SESSIONS, "services": FUEL, **tables})


def test_the_runs_of_an_event_share_its_result_as_sessions_say(season_of: SeasonOf) -> None:
    problem = season(season_of).problem
    assert problem.event.tolist() == [0, 1, 1, 2, 2, 3, 3]
    assert problem.result.tolist() == [1, 0.25, 0.75, 0.5, 0.5, 0.25, 0.75]
    assert problem.weight.tolist() == [0, 1, 0, 3]


def test_rain_stops_an_event_from_the_session_named_else_from_its_first_run(season_of: SeasonOf) -> None:
    problem = season(season_of).problem
    assert problem.rain.tolist() == [0, 0.2, 0.1, 0]
    assert problem.rain_from.tolist() == [0, 2, 3, 5]
    assert problem.rain_key[1].tolist() == list(named("opener"))
    assert problem.lost.tolist() == [False] * 7


def test_a_hazard_counts_the_use_of_runs_at_events_of_its_kinds(season_of: SeasonOf) -> None:
    hazards = """\
hazard,carrier,chance,per,kinds
debris,car,0.01,distance [mi],race practice
claim,engine,0.05,events,race
over-rev,engine,0.5,laps,
"""
    found = season(season_of, hazards=hazards)
    problem = found.problem
    assert problem.hazard_use.T.tolist() == [
        [0, 20, 40, 10, 10, 20, 40],
        [0, 0, 1, 0, 0, 0, 1],
        [4, 10, 20, 5, 5, 10, 20],
    ]
    # Kept in km; from chance = 1 - exp(-unit / mean).
    assert problem.hazard_mean.tolist() == pytest.approx([-1.609344 / math.log(0.99), -1 / math.log(0.95), 1.442695041])
    assert problem.hazard_on_car.tolist() == [True, False, False]
    assert problem.hazard_key[0, 1].tolist() == list(named("engine", "claim"))
    assert problem.hazard_key[1, 0].tolist() == list(named("car", "debris"))
    assert [hazard.hazard for hazard in found.hazards] == ["debris", "claim", "over-rev"]


def test_months_run_from_the_opening_to_the_last_day_on_which_money_flows(season_of: SeasonOf) -> None:
    found = season(
        season_of,
        scenario="opening = 2027-02-10\n",
        calendar=CALENDAR + "winter,2027-05-30,service,,,,,,,,,,\n",
        costs="cost,amount,per,date\nlicence,40,season,2027-08-01\n",
    )
    assert found.months == ("2027-02", "2027-03", "2027-04", "2027-05", "2027-06", "2027-07", "2027-08")
    assert found.problem.event_month.tolist() == [2, 3, 3, 4]
    # The gap before run 5 is the winter's, of 30 May; the last one is after the finale.
    assert found.problem.gap_month.tolist() == [2, 3, 3, 3, 3, 3, 4, 4]
    assert found.start.tally_month.shape == (7,)


def test_a_cost_before_the_opening_has_its_month(season_of: SeasonOf) -> None:
    costs = "cost,amount,per,date\nlicence,40,season,2026-12-31\n"
    found = season(season_of, scenario="opening = 2027-04-01\n", costs=costs)
    assert found.months == ("2026-12", "2027-01", "2027-02", "2027-03", "2027-04", "2027-05", "2027-06")


def test_events_cost_entry_and_travel_and_bring_their_purse_in_minor_units(season_of: SeasonOf) -> None:
    problem = season(season_of).problem
    assert problem.event_cost.tolist() == [0, 6250, 0, 6000]
    assert problem.purse.tolist() == [0, 30000, 0, 40000]


def test_what_flows_is_rounded_once_an_event_and_not_by_run(season_of: SeasonOf) -> None:
    services = "service,price,every,measure,whole\nfuel,2.5,1,fuel [L],no\ntyres,1,3,laps,no\noil,9,4,laps,yes\n"
    problem = season(season_of, services=services).problem
    fuel, tyres = problem.flow.tolist()
    assert fuel == pytest.approx([250, 750, 1500, 375, 375, 750, 1500])
    assert tyres == pytest.approx([400 / 3, 1000 / 3, 2000 / 3, 500 / 3, 500 / 3, 1000 / 3, 2000 / 3])
    # 4, 30, 10 and 30 laps at a third: 1.33, 10.00, 3.33 and 10.00.
    assert problem.event_flow.tolist() == [[250, 2250, 750, 2250], [133, 1000, 333, 1000]]


def test_the_book_charges_for_events_races_and_swaps_on_the_days_its_clauses_hold(season_of: SeasonOf) -> None:
    def charge(amount: int, per: Any, since: date | None = None, until: date | None = None) -> Charge:
        clause = Clause("cup", f"{per} {amount}", "a fee", Place("rules-cup.toml", 7), since, until)
        return Charge(clause, Decimal(amount), "USD", per)

    scenario, problems = read_scenario(season(season_of).files.folder)
    assert scenario is not None, problems
    charges = (
        charge(5, "event"),
        charge(20, "race"),
        charge(7, "race", since=date(2027, 6, 1)),
        charge(30, "swap", until=date(2027, 5, 20)),
        charge(99, "month"),
    )
    found, problems = compile_season(replace(scenario.sources, book=Book(charges=charges)))
    assert found is not None, problems
    assert found.problem.event_fee.tolist() == [500, 2500, 500, 3200]
    assert found.problem.swap_fee.tolist() == [3000, 3000, 3000, 3000, 3000, 0, 0]


def test_fees_of_openings_have_a_column_for_the_time_after_the_last_run(season_of: SeasonOf) -> None:
    clause = Clause("cup", "T1", "a seal", Place("rules-cup.toml", 7), date(2027, 6, 1))
    levels = "level,rank,interval,measure\nseal,1,50,laps\n"
    scenario, problems = read_scenario(season(season_of, levels=levels).files.folder)
    assert scenario is not None, problems
    book = Book(charges=(Charge(clause, Decimal(15), "USD", "opening", "seal"),))
    found, problems = compile_season(replace(scenario.sources, book=book))
    assert found is not None, problems
    assert found.problem.fee[0, 0].tolist() == [0, 0, 0, 0, 0, 1500, 1500, 1500]


def test_a_session_alone_gives_what_follows_without_a_track() -> None:
    session = Session(format="bench", session="pulls", laps=30, hours=0.5, rpm=5000, starts=3)
    assert use_of(session) == {
        "laps": 30,
        "hours": 0.5,
        "revolutions": 150_000,
        "starts": 3,
        "events": 0,
        "openings": 0,
    }


def test_a_weight_of_zero_is_not_a_weight_left_out() -> None:
    day = date(2027, 5, 1)
    assert Event(event="one", date=day, weight=0).counts == 0
    assert Event(event="one", date=day).counts == 1
    assert Event(event="one", date=day, kind="practice").counts == 0
    assert Event(event="one", date=day, kind="practice", weight=2).counts == 2


@pytest.mark.parametrize(
    ("sessions", "calendar", "shares"),
    [
        # 10 laps of 20 s, 30 laps of 20 s: by hours, a quarter and three quarters
        ("format,session,laps\nclub,heat,10\nclub,feature,30\n", ",20", [0.25, 0.75]),
        # the heat gives hours of its own, so that hours count: 0.5 h and 40 x 45 s = 0.5 h
        ("format,session,laps,hours\nclub,heat,10,0.5\nclub,feature,40,\n", ",45", [0.5, 0.5]),
        ("format,session,laps\nclub,heat,10\nclub,feature,30\n", ",", [0.25, 0.75]),  # no lap time: by laps
        ("format,session,laps,hours\nclub,heat,10,\nclub,feature,,2\n", ",", [0.5, 0.5]),  # neither is known of all
    ],
)
def test_an_event_is_shared_out_among_its_runs(
    season_of: SeasonOf, sessions: str, calendar: str, shares: list[float]
) -> None:
    """What is counted in events wears as the event is run, and not all in its first session."""
    opener = f"event,date,kind,format,lap_time [s]\nopener,2027-05-01,race,club{calendar}\n"
    one = season_of(calendar=opener, sessions=sessions)
    assert [run.use["events"] for run in one.runs] == pytest.approx(shares, abs=1e-15)
    assert sum(run.use["events"] for run in one.runs) == 1.0
