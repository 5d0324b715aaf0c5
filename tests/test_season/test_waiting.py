"""Waiting for parts, openings by dates, and seasons that begin later, worked by hand.

Unless a test says otherwise a show of two nights, fourteen hours apart, and a third race a week later: 30, 40 and 50
laps, with a purse each. The parts take two days from their supplier; the quick level takes 8 hours.
"""

from __future__ import annotations

import copy
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from costplan.money import to_minor
from costplan.scenario import read_scenario
from costplan.season import Season, machine, play_plan
from costplan.season.drawn.drawing import draw, drawn_season
from costplan.season.ledger import write_ledger
from costplan.season.machine.book import forget_event
from costplan.season.machine.play import begin, left_on_hand, play_run
from costplan.season.machine.tally import close_event
from tests.test_season.test_against_model import VARIANTS, stress
from tests.test_season.test_drawing import added
from tests.test_season.test_risk_by_hand import ENGINE, Line, account, cash, damage, played, rows, table

SeasonOf = Callable[..., Season]
DEMOS = Path(__file__).parents[2] / "scenarios"

#: Springs 80.00 and valves 40.00 of the quick level, both two days away; a pump on the car, three days.
SHOW: dict[str, Any] = {
    **ENGINE,
    "calendar": "event,date,kind,show,laps,purse\nnight one,2027-05-01,race,show,30,100\n"
    "night two,2027-05-02,race,show,40,100\nthree,2027-05-08,race,,50,100\n",
    "parts": "part,price,core_charge,resale,lead_days\nspring,40,0,0,2\nvalve,10,0,1,2\nblock,900,150,90,30\n"
    "pump,60,0,0,3\n",
}
FETCH = '[policy]\nearly = "off"\nfetch_days = {}\n'
SPRINGS_BOX = "piece,part,count,laps\nbox,spring,2,0\n"


def show(season_of: SeasonOf, **tables: Any) -> Season:
    return season_of(**{**SHOW, **tables})


def ran(state: machine.State) -> list[int]:
    """1 for every run that the engine ran, 0 for one that it missed."""
    return [int(engine >= 0) for engine in state.ran]


def opened(found: Season, state: machine.State) -> list[Line]:
    """Before which event, on what, at which level."""
    names = [run.event.event for run in found.runs] + ["the end"]
    openings = state.openings[: state.n_openings[0]].tolist()
    return [(names[g], found.carriers[c], found.ladders[t][k].level) for g, c, t, k in openings]


# --- waiting for parts


def test_a_broken_part_without_a_spare_misses_the_second_night(season_of: SeasonOf) -> None:
    found = show(season_of)
    state, ledger = played(found, {"springs": [20]})
    # Broken on night one. New springs are there 48 hours after it, night two is 14 hours after it.
    assert ran(state) == [1, 0, 1]
    assert state.stopped.tolist() == [True, False, False]
    assert opened(found, state) == [("night two", "engine", "quick")]
    # They are bought at once: the labour and the springs stand before night two, of which no purse is won.
    assert cash(ledger) == table("""
        night two  quick      labour     25.00
        night two  springs    failure    80.00
        three      purse      income   -100.00
    """)


def test_with_a_spare_in_the_box_it_runs_the_second_night(season_of: SeasonOf) -> None:
    found = show(season_of, garage=SPRINGS_BOX)
    state, ledger = played(found, {"springs": [20]})
    assert ran(state) == [1, 1, 1]
    assert cash(ledger) == table("""
        night two  quick  labour    25.00
        night two  purse  income  -100.00
        three      purse  income  -100.00
    """)


def test_too_few_in_the_box_wait_for_the_rest(season_of: SeasonOf) -> None:
    found = show(season_of, garage=SPRINGS_BOX.replace(",2,", ",1,"))
    assert ran(played(found, {"springs": [20]})[0]) == [1, 0, 1]


def test_a_used_set_on_the_shelf_is_there_at_once(season_of: SeasonOf) -> None:
    found = show(season_of, garage="piece,part,count,laps\nold,spring,2,15\n")
    assert ran(played(found, {"springs": [20]})[0]) == [1, 1, 1]


def test_a_service_step_that_mends_waits_for_nothing(season_of: SeasonOf) -> None:
    steps = {
        "operations": ENGINE["catalog"]["operations"] + "wind,spring,20\n",
        "service_steps": "role,step,operation,factor,mends\nspring,1,wind,0.5,yes\n",
    }
    assert ran(played(show(season_of, catalog=steps), {"springs": [20]})[0]) == [1, 1, 1]


@pytest.mark.parametrize(
    ("days", "runs"),
    [
        # 12 hours, then it is ready in time for the 14th; the work of 8 hours is done side by side.
        (0.5, [1, 1, 1]),
        # 24 hours.
        (1, [1, 0, 1]),
        # Fetching takes longer than the two days of the supplier.
        (9, [1, 0, 1]),
        (0, [1, 1, 1]),
    ],
)
def test_what_can_be_fetched_takes_no_longer_than_that(season_of: SeasonOf, days: float, runs: list[int]) -> None:
    found = show(season_of, scenario=FETCH.format(days))
    assert ran(played(found, {"springs": [20]})[0]) == runs
    springs = found.problem.lead_hours[[item.name for item in found.items].index("spring")]
    assert springs.tolist() == [min(days, 2) * 24] * 4


def test_a_week_later_the_supplier_is_in_time(season_of: SeasonOf) -> None:
    # Broken on night two: 14 + 5 * 24 = 134 hours to the third race. The pump of the car takes 72 of them.
    state, _ = played(show(season_of), {"springs": [50], "pump": [60]})
    assert ran(state) == [1, 1, 1]
    late = show(season_of, parts=SHOW["parts"].replace("spring,40,0,0,2", "spring,40,0,0,6"))
    assert ran(played(late, {"springs": [50]})[0]) == [1, 1, 0]


def test_hours_of_damage_come_on_top_of_the_longer_of_work_and_waiting(season_of: SeasonOf) -> None:
    case = damage("springs,dropped,1,,,,{},,,")
    for hours, days, runs in [
        # max(8 of work, 6) + 6 = 14: just in time; max(8, 12) + 6 = 18: not.
        (6, 0.25, [1, 1, 1]),
        (6, 0.5, [1, 0, 1]),
        (7, 0.25, [1, 0, 1]),
    ]:
        found = show(season_of, damage=case.format(hours), scenario=FETCH.format(days))
        assert ran(played(found, {"springs": [20]})[0]) == runs, (hours, days)


def test_a_planned_renewal_never_waits(season_of: SeasonOf) -> None:
    # Springs are due after 60 laps, so before night two: 30 + 40 passes them. They were ordered in time.
    found = show(season_of, lives=ENGINE["lives"].replace("spring,laps,200", "spring,laps,60"))
    state, ledger = played(found)
    assert ran(state) == [1, 1, 1]
    assert ("night two", "springs", "planned", "80.00") in cash(ledger)


def test_what_is_due_at_the_opening_for_something_broken_waits_too(season_of: SeasonOf) -> None:
    # The springs lie in the box, the valves fall due with them and come from the supplier: planned, but not now.
    lives = ENGINE["lives"].replace("valve,laps,200", "valve,laps,60")
    found = show(season_of, garage=SPRINGS_BOX, lives=lives)
    state, ledger = played(found, {"springs": [29]})
    assert ran(state) == [1, 0, 1]
    assert ("night two", "valves", "planned", "40.00") in cash(ledger)


def test_a_find_waits(season_of: SeasonOf) -> None:
    # The valves are due after 60 laps, planned for before night two; at that opening the springs are seen to end at
    # 50 laps: 30 of them are past the half of it that warns.
    tables = {
        "lives": "part,measure,replace_at,warning\nspring,laps,200,0.5\nvalve,laps,60,\nblock,laps,200,\n"
        "pump,laps,200,\n",
        "levels": "level,rank,carrier,hours,labour,checks,sees\nquick,1,engine,8,25,springs,1\n"
        "full,2,engine,100,200,,\nside,1,car,2,12,,\n",
    }
    state, ledger = played(show(season_of, **tables), {"springs": [50]})
    assert {line[1:3] for line in cash(ledger)} >= {("springs", "found"), ("valves", "planned")}
    assert ran(state) == [1, 0, 1]
    boxed, _ = played(show(season_of, garage=SPRINGS_BOX, **tables), {"springs": [50]})
    assert ran(boxed) == [1, 1, 1]
    # Without the find the valves alone are renewed, and wait for nothing.
    assert ran(played(show(season_of, **tables), {"springs": [90]})[0]) == [1, 1, 1]


KIT = {
    "operations": ENGINE["catalog"]["operations"],
    "kits": "kit,supplier,price,price_date,lead_days\nspring kit,shop,70,2027-01-01,{}\n",
    "kit_contains": "kit,part,pieces\nspring kit,spring,{}\n",
}


def with_kit(days: int, springs: int = 2) -> dict[str, Any]:
    """A kit of springs that costs less than two of them, so many days away."""
    return {"catalog": {name: text.format(days if name == "kits" else springs) for name, text in KIT.items()}}


def test_a_kit_is_waited_for_as_long_as_the_kit_takes(season_of: SeasonOf) -> None:
    state, ledger = played(show(season_of, **with_kit(0)), {"springs": [20]})
    assert ran(state) == [1, 1, 1]
    assert ("night two", "", "failure", "70.00") in cash(ledger)
    assert ran(played(show(season_of, **with_kit(1)), {"springs": [20]})[0]) == [1, 0, 1]


def test_what_a_kit_left_over_is_there_at_once(season_of: SeasonOf) -> None:
    # Bought as planned before three, since 70 + 50 laps pass 75, with as many again for the next time.
    calendar = SHOW["calendar"] + "four,2027-05-09,race,,30,100\n"
    lives = ENGINE["lives"].replace("spring,laps,200", "spring,laps,75")
    found = show(season_of, calendar=calendar, lives=lives, **with_kit(9, springs=4))
    state, ledger = played(found, {"springs": [99, 20]})
    assert [line for line in cash(ledger) if line[3] == "70.00"] == [("three", "", "planned", "70.00")]
    # Broken on three; four is fourteen hours later.
    assert state.stopped.tolist() == [False, False, True, False]
    assert ran(state) == [1, 1, 1, 1]


def test_a_kit_for_what_is_due_waits_only_at_the_opening_for_something_broken(season_of: SeasonOf) -> None:
    lives = ENGINE["lives"].replace("spring,laps,200", "spring,laps,60")
    valves = "piece,part,count,laps\nbox,valve,4,0\n"
    found = show(season_of, lives=lives, garage=valves, **with_kit(9))
    assert ran(played(found)[0]) == [1, 1, 1]
    state, ledger = played(found, {"valves": [29]})
    assert ("night two", "", "planned", "70.00") in cash(ledger)
    assert ran(state) == [1, 0, 0]


def test_the_cars_parts_keep_the_car(season_of: SeasonOf) -> None:
    slots = "slot,level,carrier,stops,renew_as\nsprings,quick,engine,yes,set\nvalves,quick,engine,yes,piece\n"
    found = show(season_of, positions=slots + "block,full,engine,yes,set\npump,side,car,yes,set\n")
    state, _ = played(found, {"pump": [20]})
    assert ran(state) == [1, 0, 1]


def test_after_the_last_run_nothing_waits_and_what_stays_in_is_an_opening_older(season_of: SeasonOf) -> None:
    found = show(
        season_of,
        calendar=SHOW["calendar"].split("three")[0],
        sessions="format,session,laps\nbench,warm,6\n",
        lives=ENGINE["lives"] + "valve,openings,4\n",
        levels="level,rank,carrier,hours,labour,run_in\nquick,1,engine,8,25,bench\nfull,2,engine,100,200,\n"
        "side,1,car,2,12,\n",
    )
    state, ledger = played(found, {"springs": [50]})
    assert opened(found, state) == [("the end", "engine", "quick")]
    springs, valves = (list(found.lives(p)) for p in range(2))
    # 6 laps of the bench on the new springs; the valves have been through one opening.
    assert state.age[0, springs].tolist() == [6]
    assert state.age[0, valves].tolist() == [30 + 40 * 0.5, 1]
    # The springs: 30 and 20 of 200 laps of 80.00, the rest lost, and 6 laps of the new ones.
    assert rows(row for row in ledger.of("wear") if row.slot == "springs") == table("""
        night one             springs  life used    12.00
        night two             springs  life used     8.00
        after the last event  springs  unused life  60.00
        after the last event  springs  life used     2.40
    """)
    # The valves: 50 of 200 laps of 36.00 above resale; one opening of four is as much, so that it costs nothing more.
    assert account(ledger, "valves") == ["36.00", "0.00", "9.00", "0.00", "27.00"]


# --- by dates

#: Six weekly races of 30 laps each; springs are renewed every 50 laps, one level does it.
WEEKS = "event,date,laps\n" + "".join(
    f"{name},2027-05-{day:02},30\n" for name, day in zip("abcdef", range(1, 32, 6), strict=True)
)
LONE: dict[str, Any] = {
    "calendar": WEEKS,
    "scenario": '[policy]\nearly = "off"\n',
    "slots": "slot,part,pieces\nsprings,spring,2\n",
    "parts": "part,price\nspring,40\n",
    "lives": "part,measure,replace_at\nspring,laps,50\n",
    "levels": "level,rank,carrier,hours,labour\nquick,1,engine,8,25\n",
    "positions": "slot,level,carrier\nsprings,quick,engine\n",
}


def by_dates(found: Season, *days: int, rest: float = 0.0) -> Season:
    """Opened before the runs of those numbers alone, unless fewer than `rest` laps were run since."""
    called = np.zeros_like(found.problem.called)
    called[0, 0, list(days)] = True
    rests = np.full_like(found.problem.rest, rest)
    calls = np.zeros_like(found.problem.calls)
    return replace(found, problem=found.problem._replace(called=called, calls=calls, rest=rests))


def before(found: Season) -> str:
    """The races before which it is opened."""
    state = play_plan(found)
    return "".join(found.runs[g].event.event for g in state.openings[: state.n_openings[0], 0])


def test_what_is_due_opens_unless_dates_alone_do(season_of: SeasonOf) -> None:
    found = season_of(**LONE)
    # 30 laps are in, and 60 would be too many: before every race from the second.
    assert before(found) == "bcdef"
    assert before(by_dates(found)) == ""
    assert before(by_dates(found, 1, 4)) == "be"
    assert before(by_dates(found, 0, 3, 5)) == "adf"


def test_at_an_opening_by_date_what_is_due_is_renewed_and_the_rest_not(season_of: SeasonOf) -> None:
    state = play_plan(by_dates(season_of(**{**LONE, "lives": "part,measure,replace_at\nspring,laps,100\n"}), 1, 4))
    # 30 of 100 laps before b, 120 before e.
    assert state.renewals[: state.n_renewals[0], 0].tolist() == [4]


def test_a_date_too_soon_after_an_opening_is_passed_over(season_of: SeasonOf) -> None:
    found = season_of(**LONE)
    # Since the last: 30 before b; 60 before c and e; then 30 before f.
    assert before(by_dates(found, 1, 2, 3, 4, 5, rest=60)) == "ce"
    # 61 laps are never had in two races; three it is. The books open just after an opening.
    assert before(by_dates(found, 0, 1, 2, 3, 4, 5, rest=61)) == "d"
    assert before(by_dates(found, 1, 5, rest=90)) == "f"


def test_a_limit_still_opens_and_moves_the_dates(season_of: SeasonOf) -> None:
    lives = "part,measure,replace_at,limit\nspring,laps,50,100\n"
    found = season_of(**{**LONE, "lives": lives})
    # 90 laps before d, and 120 would pass the 100.
    assert before(by_dates(found)) == "d"
    assert before(by_dates(found, 1)) == "be"
    # The date before e is 30 laps after the opening before d.
    assert before(by_dates(found, 4)) == "de"
    assert before(by_dates(found, 4, rest=40)) == "d"
    assert before(by_dates(found, 4, 5, rest=40)) == "df"


def test_what_is_broken_still_opens(season_of: SeasonOf) -> None:
    found = by_dates(season_of(**LONE), 4, rest=40)
    state, _ = played(found, {"springs": [70]})
    # In the third race; the date before e is 30 laps later.
    assert opened(found, state) == [("d", "engine", "quick")]


# --- a season that begins later


def begun(found: Season, at: int, state: machine.State | None = None) -> Season:
    """The season whose runs before `at` are over, from a state that it has come to."""
    return replace(found, problem=found.problem._replace(begin=at), start=state or found.start)


def test_what_is_over_is_not_played_charged_missed_or_aged_by(season_of: SeasonOf) -> None:
    calendar = SHOW["calendar"].replace("laps,purse", "laps,purse,entry").replace(",100\n", ",100,15\n")
    state, ledger = played(begun(show(season_of, calendar=calendar), 2), {"springs": [40]})
    assert state.ran.tolist() == [machine.OVER, machine.OVER, 0]
    # 50 laps of new springs that end at 40.
    assert cash(ledger) == table("""
        three                 entry    fixed     15.00
        after the last event  quick    labour    25.00
        after the last event  springs  failure   80.00
    """)


def test_where_all_is_over_what_is_broken_is_put_right_and_no_more(season_of: SeasonOf) -> None:
    found = show(season_of)
    start = copy.deepcopy(found.start)
    start.broken[0, 0], start.n_broken[0], start.age[0, found.lives(0)] = True, 1, 50
    state, ledger = played(begun(found, 3, start))
    assert state.ran.tolist() == [machine.OVER] * 3
    assert cash(ledger) == table("""
        after the last event  quick    labour   25.00
        after the last event  springs  failure  80.00
    """)


#: What a state carries from one run to the next in a plan.
CARRIED = (
    *("age", "raw_age", "broken", "n_broken", "wrecked", "damaged", "step", "item", "value", "worked", "installed"),
    *("since", "overdue", "stock", "stock_value", "used_left", "idle_since", "ready_at", "extra_hours", "total_use"),
    *("opened", "started", "put_in"),
)
#: What of it the plan keeps of every run, and under which name.
TRACED = {"raw_age": "raw", **{name: name for name in ("age", "since", "step", "item", "value", "worked")}}


def carried(found: Season, state: machine.State) -> machine.State:
    """A state on opening day that has what another has come to, and has seen nothing of its runs."""
    return copy.deepcopy(found.start)._replace(**{name: getattr(state, name).copy() for name in CARRIED})


def stages(found: Season) -> list[tuple[int, machine.State, int]]:
    """The first run of each event, the state there as the plan comes by, and what the wear view has added till then."""
    problem, state, kept = found.problem, copy.deepcopy(found.start), []
    begin(problem, state)
    incumbent, start = -1, 0
    for g in range(len(found.runs)):
        if problem.first[g]:
            used = int(state.used_up[0]) - left_on_hand(problem, state)
            kept.append((g, carried(found, state), used))
            incumbent, start = -1, g
            forget_event(problem, state)
        incumbent = play_run(problem, state, g, incumbent)
        if g + 1 == len(found.runs) or problem.first[g + 1]:
            close_event(problem, state, start, g + 1)
    return kept


def demo(name: str) -> Season:
    scenario, problems = read_scenario(DEMOS / name)
    assert scenario is not None, problems
    season, problems = scenario.season()
    assert season is not None, problems
    return season


@pytest.mark.parametrize("name", ["kart-single", "oval-v8"])
def test_begun_where_the_plan_comes_by_it_ends_where_the_plan_ends(name: str) -> None:
    found = demo(name)
    plan, problem = play_plan(found), found.problem
    seen = stages(found)
    assert len(seen) == len(problem.weight)
    for g, state, used in seen:
        if g:
            for field, trace in TRACED.items():
                assert np.array_equal(getattr(state, field), getattr(plan, f"trace_{trace}")[g - 1]), (g, field)
        later = play_plan(begun(found, g, state))
        for field in CARRIED:
            assert np.array_equal(getattr(later, field), getattr(plan, field)), (g, field)
        event = problem.event[g]
        assert not later.tally_event[:event].any()
        assert np.array_equal(later.tally_event[event:], plan.tally_event[event:]), g
        assert later.ran[:g].tolist() == [machine.OVER] * g
        assert np.array_equal(later.ran[g:], plan.ran[g:])
        assert later.used_up[0] + used == plan.used_up[0], g


# --- the ledger tells the tally


@pytest.mark.parametrize("number", range(6))
@pytest.mark.parametrize("variant", ["worth, least used", "dates, book, stop", "later", "later, book, run on"])
def test_the_ledger_adds_up_to_the_tally(season_of: SeasonOf, variant: str, number: int) -> None:
    found = stress(season_of, **VARIANTS[variant])
    draws, state = draw(found, 6, 9), drawn_season(found, number, 9)
    ledger = write_ledger(found, state)
    causes = added(found, ledger, lambda row: machine.CAUSES.index(row.cause), len(machine.CAUSES))
    months = added(found, ledger, lambda row: found.months.index(f"{row.date:%Y-%m}"), len(found.months))
    assert causes == draws.cause[number].tolist()
    assert months == draws.month[number].tolist()
    assert to_minor(ledger.total("cash"), "USD") == draws.cash[number]
    assert to_minor(ledger.total("wear"), "USD") == draws.wear[number]
    balances = {
        (name, spot.slot): machine.left_of(found.problem, state, c, p) for c, name, p, spot in found.positions()
    }
    for one in ledger.accounts:
        assert one.opening + one.paid - one.used - one.unused == one.closing
        if not one.slot.startswith("work: "):
            assert to_minor(one.closing, "USD") == balances.pop((one.engine, one.slot))
    assert not any(balances.values())
