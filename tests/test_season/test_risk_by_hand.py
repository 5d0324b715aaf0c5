"""What can go wrong in a season, worked by hand to the cent: one test for each rule of what is drawn.

Unless a test says otherwise three events a week apart run 30, 40 and 50 laps, a gap of 14 + 6 * 24 = 158 hours lies
between them, and everything is new when the books open. A case of chance 1 always comes; lives end where they are told.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Callable, Iterable, Mapping
from decimal import Decimal
from types import MappingProxyType
from typing import Any

import numpy as np
import pytest

from costplan.season import Season, machine
from costplan.season.arrays import as_drawn
from costplan.season.drawn.drawing import draw, drawn_season, fixed_costs
from costplan.season.ledger import Ledger, Row, write_ledger
from costplan.season.machine.draws import CASE, CHECK, HAZARD, named, uniform

SeasonOf = Callable[..., Season]
Line = tuple[str, ...]

CALENDAR = """\
event,date,laps
one,2027-05-01,30
two,2027-05-08,40
three,2027-05-15,50
"""
NO_AGES: Mapping[str, list[float]] = MappingProxyType({})
TWO_ENGINES = '[[engine]]\nname = "A"\n[[engine]]\nname = "B"\n'
#: Springs 80.00, valves 40.00, block 900.00 of which 90.00 resale, pump on the car 60.00; 200 laps each.
ENGINE: dict[str, Any] = {
    "calendar": CALENDAR,
    "scenario": '[policy]\nearly = "off"\n',
    "slots": "slot,part,pieces\nsprings,spring,2\nvalves,valve,4\nblock,block,1\npump,pump,1\n",
    "parts": "part,price,core_charge,resale\nspring,40,0,0\nvalve,10,0,1\nblock,900,150,90\npump,60,0,0\n",
    "lives": "part,measure,replace_at\nspring,laps,200\nvalve,laps,200\nblock,laps,200\npump,laps,200\n",
    "levels": "level,rank,carrier,hours,labour\nquick,1,engine,8,25\nfull,2,engine,100,200\nside,1,car,2,12\n",
    "positions": "slot,level,carrier,stops,renew_as\n"
    "springs,quick,engine,yes,set\nvalves,quick,engine,yes,piece\nblock,full,engine,yes,set\npump,side,car,no,set\n",
    "catalog": {"operations": "operation,role,price\nseat-work,valve,15.50\n"},
}


def season(season_of: SeasonOf, **tables: Any) -> Season:
    return season_of(**{**ENGINE, **tables})


def damage(*rows: str) -> str:
    return "\n".join(["slot,case,chance,hits,operations,cost,hours,engine,paid,stops", *rows]) + "\n"


def table(text: str) -> list[Line]:
    """Lines of columns set apart by two blanks or more, in any order."""
    return sorted(tuple(re.split(r"\s{2,}", line.strip())) for line in text.strip().splitlines())


def rows(found: Iterable[Row], *, engine: bool = False) -> list[Line]:
    """Event, slot, cause and amount of ledger rows, with the engine in front where asked for."""
    return sorted((*([row.engine] if engine else []), row.event, row.slot, row.cause, str(row.amount)) for row in found)


def cash(ledger: Ledger) -> list[Line]:
    return rows(ledger.of("cash"))


def account(ledger: Ledger, slot: str, engine: str = "engine") -> list[str]:
    """Opening, paid, used, unused, closing."""
    (found,) = [one for one in ledger.accounts if (one.engine, one.slot) == (engine, slot)]
    return [str(amount) for amount in (found.opening, found.paid, found.used, found.unused, found.closing)]


def ages(found: Season, fails: Mapping[str, list[float]], engine: int = 0) -> machine.Floats:
    """The ages at which the first life of a slot ends, one for each set installed; none else ends."""
    ends = np.full((*found.start.age.shape, 3), np.inf)
    for p, spot in enumerate(found.spots):
        carrier = len(found.carriers) - 1 if spot.on_car else engine
        for n, age in enumerate(fails.get(spot.slot, [])):
            ends[carrier, found.lives(p)[0], n] = age
    return ends


def played(
    found: Season, fails: Mapping[str, list[float]] = NO_AGES, *, number: int = 0, engine: int = 0, **changes: Any
) -> tuple[machine.State, Ledger]:
    """A drawn season in which lives end at given ages, and its ledger; `changes`: other fields of its problem."""
    state = copy.deepcopy(found.start)
    state.season[0] = number
    problem = as_drawn(found, 1)._replace(fails_at=ages(found, fails, engine), **changes)
    machine.play(problem, state)
    ledger = write_ledger(found, state)
    assert int(state.tally_event.sum()) + fixed_costs(found, problem).total == ledger.total("cash") * 100
    for one in ledger.accounts:
        assert one.opening + one.paid - one.used - one.unused == one.closing
    return state, ledger


def cases_of(state: machine.State) -> list[tuple[int, int, int, int]]:
    """Run, carrier, what failed (a position, or behind them a hazard) and the case of every failure."""
    return [(row[0], row[1], row[2], row[3]) for row in state.struck_cases[: state.n_cases[0]].tolist()]


# --- cases


def test_a_case_breaks_what_it_hits_and_costs_its_operations_at_the_event(season_of: SeasonOf) -> None:
    found = season(season_of, damage=damage("springs,dropped,1,block,seat-work,4.50,,,,"))
    _, ledger = played(found, {"springs": [50]})
    # Run two stops at 50 of 30..70 laps. Before three the block needs the full level. What broke brings nothing back.
    assert cash(ledger) == table("""
        two    springs  damage    20.00
        three  full     labour   200.00
        three  springs  failure   80.00
        three  block    damage   900.00
        three  block    deposit  150.00
    """)
    # (900 - 90) / 200 = 4.05 a lap: 30 and 20 laps, the rest unused; then 50 laps.
    assert account(ledger, "block") == ["810.00", "810.00", "405.00", "607.50", "607.50"]
    # In the wear view a case is what it costs.
    assert [line for line in rows(ledger.of("wear")) if line[2] == "damage"] == [("two", "springs", "damage", "20.00")]


def test_a_case_that_hits_a_set_renewed_by_the_piece_breaks_one_piece(season_of: SeasonOf) -> None:
    found = season(season_of, damage=damage("springs,dropped,1,valves,,,,,,"))
    state, ledger = played(found, {"springs": [50]})
    assert cash(ledger) == table("""
        three  quick    labour   25.00
        three  springs  failure  80.00
        three  valves   damage   10.00
    """)
    # The other three stay in with their 50 laps: (40 - 4) / 200 = 0.18 a lap over 30 + 20 + 50.
    assert account(ledger, "valves") == ["36.00", "10.00", "18.00", "10.00", "18.00"]
    assert state.hits.tolist() == [0, 1, 0, 0]
    assert state.failures.tolist() == [1, 0, 0, 0]


@pytest.mark.parametrize("lost", ["scrapped", "gone"])
def test_of_an_engine_that_is_lost_everything_is_renewed_as_a_whole(season_of: SeasonOf, lost: str) -> None:
    paid = "700" if lost == "gone" else ""
    found = season(season_of, damage=damage(f"valves,rod through the block,1,,,250,,{lost},{paid},"))
    _, ledger = played(found, {"valves": [50]})
    # The valves that failed, too, are renewed as a set. Neither cores nor resale come back. The car keeps its pump.
    expected = """
        two    valves   damage   250.00
        three  full     labour   200.00
        three  springs  damage    80.00
        three  valves   failure   40.00
        three  block    damage   900.00
        three  block    deposit  150.00
    """
    income = "        two    valves   income  -700.00\n" if paid else ""
    assert cash(ledger) == table(expected.rstrip() + "\n" + income)


def test_a_case_adds_its_hours_to_the_work(season_of: SeasonOf) -> None:
    # 8 hours of the level and 150 of the case are the 158 between two events.
    found = season(season_of, damage=damage("springs,dropped,1,,,,150,,,"))
    assert played(found, {"springs": [50]})[0].ran.tolist() == [0, 0, 0]
    found = season(season_of, damage=damage("springs,dropped,1,,,,150.5,,,"))
    state, _ = played(found, {"springs": [50]})
    assert state.ran.tolist() == [0, 0, -1]
    assert state.extra_hours.tolist() == [0, 0]


def test_hours_without_anything_to_open_keep_the_engine_too(season_of: SeasonOf) -> None:
    hazards = "hazard,chance,per\nspin,0.1,laps\n"
    cash_of: dict[int, list[Line]] = {}
    for hours, ran in ((158, [0, 0, 0]), (159, [0, 0, -1])):
        found = season(season_of, hazards=hazards, damage=damage(f"spin,towed,1,,,30,{hours},,,"))
        state, ledger = played(found, hazard_mean=np.array([np.inf]), force_run=1, force=4)
        assert state.ran.tolist() == ran
        cash_of[hours] = cash(ledger)
    assert cash_of[158] == cash_of[159] == table("two  spin  damage  30.00")


@pytest.mark.parametrize(
    ("slot", "stops", "case", "age"),
    [
        ("springs", "yes", "", 50),
        ("springs", "yes", "no", 70),
        ("springs", "yes", "yes", 50),
        ("pump", "no", "", 70),
        ("pump", "no", "yes", 50),
    ],
)
def test_a_case_stops_the_run_as_it_says_else_as_the_position_does(
    season_of: SeasonOf, slot: str, stops: str, case: str, age: float
) -> None:
    found = season(season_of, damage=damage(f"{slot},x,1,,,,,,,{case}"))
    assert found.spots[[spot.slot for spot in found.spots].index(slot)].stops == (stops == "yes")
    state, _ = played(found, {slot: [50]})
    # Valves run to lap 50 where run two is stopped there, else to its end.
    assert state.trace_age[1, 0, 1] == age
    assert state.stopped.tolist() == [False, age == 50, False]


def test_a_failure_in_the_engine_breaks_what_follows_the_car(season_of: SeasonOf) -> None:
    found = season(season_of, damage=damage("springs,belt off,1,pump,,,,,,"), scenario=TWO_ENGINES)
    state, ledger = played(found, {"springs": [20]}, engine=0)
    assert rows(ledger.of("cash"), engine=True) == table("""
        A    two  quick    labour   25.00
        A    two  springs  failure  80.00
        car  two  side     labour   12.00
        car  two  pump     damage   60.00
    """)
    assert account(ledger, "pump", "car") == ["60.00", "60.00", "33.00", "54.00", "33.00"]
    assert state.hits.tolist() == [0, 0, 0, 1]


def test_a_failure_on_the_car_breaks_the_engine_that_runs(season_of: SeasonOf) -> None:
    calendar = "event,date,laps,engine\none,2027-05-01,30,A\ntwo,2027-05-08,40,B\nthree,2027-05-15,50,A\n"
    found = season(season_of, calendar=calendar, damage=damage("pump,seized,1,springs,,,,,,yes"), scenario=TWO_ENGINES)
    _, ledger = played(found, {"pump": [50]})
    # B is not asked again before the season is over, and is put right then.
    assert rows(ledger.of("cash"), engine=True) == table("""
        car  three                 side     labour   12.00
        car  three                 pump     failure  60.00
        B    after the last event  quick    labour   25.00
        B    after the last event  springs  damage   80.00
    """)


ALTERNATES: dict[str, Any] = {
    "calendar": "event,date,laps,setup\none,2027-05-01,30,\ntwo,2027-05-08,40,wet\nthree,2027-05-15,50,\n",
    "scenario": '[policy]\nearly = "off"\n',
    "slots": "slot,part,pieces,alternate,serves\n"
    "springs,spring,2,,\ncarburetor,carb,1,dry,\ncarburetor,carb,1,soft,wet\n",
    "parts": "part,price\nspring,40\ncarb,300\n",
    "lives": "part,measure,replace_at\nspring,laps,200\ncarb,laps,200\n",
    "levels": "level,rank,hours,labour\nquick,1,8,25\n",
    "positions": "slot,level\nsprings,quick\ncarburetor,quick\n",
}


@pytest.mark.parametrize(("age", "before", "slot"), [(20, "two", "carburetor"), (50, "three", "carburetor/soft")])
def test_of_alternates_a_case_breaks_the_one_that_serves(
    season_of: SeasonOf, age: float, before: str, slot: str
) -> None:
    found = season_of(**ALTERNATES, damage=damage("springs,fire,1,carburetor,,,,,,"))
    _, ledger = played(found, {"springs": [age]})
    assert cash(ledger) == table(f"""
        {before}  quick    labour    25.00
        {before}  springs  failure   80.00
        {before}  {slot}   damage   300.00
    """)


def test_of_a_lost_engine_every_alternate_is_lost(season_of: SeasonOf) -> None:
    found = season_of(**ALTERNATES, damage=damage("springs,fire,1,,,,,scrapped,,"))
    state, _ = played(found, {"springs": [20]})
    assert state.hits.tolist() == [0, 1, 1]


def test_of_two_that_would_fail_in_a_run_the_second_waits(season_of: SeasonOf) -> None:
    # The pump's end, at 90 laps of 70..120, does not stop the run; the springs' end, at 100, is passed unharmed.
    state, ledger = played(season(season_of), {"springs": [100], "pump": [90]})
    assert cases_of(state) == [(2, 1, 3, -1)]
    assert cash(ledger) == table("""
        after the last event  side  labour   12.00
        after the last event  pump  failure  60.00
    """)


@pytest.mark.parametrize("order", ["springs valves pump", "pump valves springs", "valves pump springs"])
def test_of_two_that_are_past_their_end_the_same_fails_first_whatever_the_order_of_the_rows(
    season_of: SeasonOf, order: str
) -> None:
    row_of = {
        "springs": "springs,quick,engine,no,set",
        "valves": "valves,quick,engine,no,set",
        "pump": "pump,side,car,no,set",
        "block": "block,full,engine,yes,set",
    }
    rows_ = [row_of[slot] for slot in ("block", *order.split())]
    slots = ENGINE["slots"].splitlines()
    found = season(
        season_of,
        slots="\n".join([slots[0], *sorted(slots[1:], key=lambda line: order.find(line.partition(",")[0]))]) + "\n",
        positions="\n".join(["slot,level,carrier,stops,renew_as", *rows_]) + "\n",
    )
    # All three would fail in run one: one failure a run, so that the valves, and after them the pump, wait.
    state, _ = played(found, {"springs": [10], "valves": [12], "pump": [14]})
    assert [found.spots[failed].slot for _, _, failed, _ in cases_of(state)] == ["springs", "valves", "pump"]


@pytest.mark.parametrize("order", [1, -1])
def test_of_two_hazards_that_are_overdue_the_same_strikes_first_whatever_the_order_of_the_rows(
    season_of: SeasonOf, order: int
) -> None:
    names = ["fence", "oil", "stone"][::order]
    hazards = "hazard,chance,per\n" + "".join(f"{name},0.5,laps\n" for name in names)
    found = season(season_of, hazards=hazards)
    # The mean with which each strikes after 10, 12 and 14 laps the first time, and never again.
    wanted = {"fence": 10.0, "oil": 12.0, "stone": 14.0}
    draws_ = {name: -np.log(uniform(1, HAZARD, 0, *named("engine", name), 0)) for name in names}
    state, _ = played(found, hazard_mean=np.array([wanted[name] / draws_[name] for name in names]))
    assert [names[failed - 4] for _, _, failed, _ in cases_of(state)][:2] == ["fence", "oil"]


def test_which_case_it_is_hangs_on_the_name_of_what_failed_and_how_many_were_in(season_of: SeasonOf) -> None:
    found = season(season_of, damage=damage("springs,a dropped,0.25,valves,,,,,,", "springs,b in two,0.5,,,7,,,,no"))
    seen = set()
    for number in range(30):
        state, _ = played(found, {"springs": [20, 30, np.inf]}, number=number)
        # u below 0.25 is the first case, up to 0.75 the second, else none. Each set of springs fails once.
        for n, (_, _, failed, case) in enumerate(cases_of(state)):
            u = uniform(1, CASE, number, *named("engine", "springs", ""), n)
            assert (failed, case) == (0, 0 if u < 0.25 else 1 if u < 0.75 else -1)
            seen.add((n, case))
    assert seen == {(n, case) for n in (0, 1) for case in (-1, 0, 1)}


def test_in_the_plan_a_failure_takes_nothing_along(season_of: SeasonOf) -> None:
    found = season(season_of, damage=damage("springs,dropped,1,valves,,9,,,,"))
    _, ledger = played(found, {"springs": [50]}, drawn=0)
    assert cash(ledger) == table("""
        three  quick    labour   25.00
        three  springs  failure  80.00
    """)


def test_what_breaks_in_the_last_run_is_put_right_with_what_it_hit(season_of: SeasonOf) -> None:
    found = season(season_of, damage=damage("springs,dropped,1,block,,5,,,,"))
    _, ledger = played(found, {"springs": [100]})
    assert cash(ledger) == table("""
        three                 springs  damage     5.00
        after the last event  full     labour   200.00
        after the last event  springs  failure   80.00
        after the last event  block    damage   900.00
        after the last event  block    deposit  150.00
    """)


@pytest.mark.parametrize("order", [1, -1])
def test_what_is_due_is_renewed_when_a_failure_opens_the_engine_whatever_the_order_of_the_rows(
    season_of: SeasonOf, order: int
) -> None:
    def turned(text: str) -> str:
        head, *lines = text.splitlines()
        return "\n".join([head, *lines[::order]]) + "\n"

    found = season_of(
        calendar="event,date,format\none,2027-05-01,night\ntwo,2027-05-08,night\n",
        scenario='[policy]\nearly = "off"\n',
        sessions="format,session,laps\nnight,heat,10\nnight,feature,20\n",
        slots=turned("slot,part,pieces\nsprings,spring,2\nvalves,valve,4\n"),
        parts="part,price\nspring,40\nvalve,10\n",
        lives="part,measure,replace_at\nspring,laps,25\nvalve,laps,200\n",
        levels="level,rank,hours,labour\nquick,1,8,25\n",
        positions=turned("slot,level\nsprings,quick\nvalves,quick\n"),
    )
    state, ledger = played(found, {"valves": [10, np.inf]})
    # The hour before the feature does not hold the level, but the valves open the engine. The springs, in reach, have
    # 10 of 25 laps, and 20 are ahead until a gap holds the level: they are due.
    assert state.ran.tolist() == [0, -1, 0, 0]
    assert cash(ledger) == table("""
        one  quick    labour   25.00
        one  valves   failure  40.00
        one  springs  planned  80.00
    """)


# --- hazards

SURE = "0.999999999"


def hazard(season_of: SeasonOf, row: str, *cases: str, **more: Any) -> Season:
    return season(season_of, hazards=f"hazard,carrier,chance,per,kinds\n{row}\n", damage=damage(*cases), **more)


def test_a_hazard_strikes_in_a_season_with_the_chance_of_its_use(season_of: SeasonOf) -> None:
    found = season_of(
        calendar=CALENDAR, hazards="hazard,chance,per\nover-rev,0.01,laps\n", levels="level,rank\ntrackside,1\n"
    )
    n = 8_000
    # By hand: 120 laps are run without one with 0.99^120 = 0.2994. Four standard errors of 8000 seasons, seed 3.
    assert draw(found, n, 3).failed_in[0] / n == pytest.approx(1 - 0.99**120, abs=4 * np.sqrt(0.2994 * 0.7006 / n))


def test_a_hazard_strikes_where_its_draw_says_and_begins_anew_after_the_run(season_of: SeasonOf) -> None:
    found = hazard(season_of, "stone,engine,0.02,laps,", "stone,hit,1,,,3,,,,yes")
    for number in range(12):
        state, _ = played(found, number=number)
        mean = -1 / np.log(0.98)
        left, expected, reached = -mean * np.log(uniform(1, HAZARD, number, *named("engine", "stone"), 0)), [], []
        strikes = 0
        for g, laps in enumerate((30, 40, 50)):
            if left <= laps:
                strikes += 1
                expected.append((g, 0, 4, 0))
                reached.append(left)
                left = -mean * np.log(uniform(1, HAZARD, number, *named("engine", "stone"), strikes))
            else:
                reached.append(laps)
                left -= laps
        assert cases_of(state) == expected
        assert state.trace_age[2, 0, 0] == pytest.approx(sum(reached))


@pytest.mark.parametrize(("laps", "expected"), [(99.0, [(1, 0, 0, -1), (2, 0, 4, -1)]), (101.0, [(1, 0, 0, -1)])])
def test_a_hazard_comes_nearer_by_what_was_run_of_a_run_that_was_stopped(
    season_of: SeasonOf, laps: float, expected: list[tuple[int, ...]]
) -> None:
    found = hazard(season_of, "stone,engine,0.5,laps,")
    u = uniform(1, HAZARD, 0, *named("engine", "stone"), 0)
    # 30 laps, 20 of the 40 of run two, which springs stop, and 50: 100 laps in all.
    state, _ = played(found, {"springs": [50, np.inf]}, hazard_mean=np.array([laps / -np.log(u)]))
    assert cases_of(state) == expected


def test_a_hazard_per_event_strikes_in_its_last_run_and_at_every_event(season_of: SeasonOf) -> None:
    calendar = "event,date,format\none,2027-05-01,night\ntwo,2027-05-08,night\n"
    sessions = "format,session,laps\nnight,heat,10\nnight,feature,20\n"
    found = hazard(season_of, f"stone,engine,{SURE},events,", calendar=calendar, sessions=sessions)
    assert cases_of(played(found)[0]) == [(1, 0, 4, -1), (3, 0, 4, -1)]


def test_a_hazard_strikes_at_the_kinds_of_events_it_names(season_of: SeasonOf) -> None:
    calendar = CALENDAR.replace("laps", "laps,kind").replace("30", "30,practice").replace("40", "40,race")
    found = hazard(season_of, f"claim,engine,{SURE},events,practice", calendar=calendar.replace("50", "50,test"))
    assert [row[0] for row in cases_of(played(found)[0])] == [0]


def test_a_hazard_of_the_car_follows_it_and_one_of_an_engine_its_own(season_of: SeasonOf) -> None:
    calendar = "event,date,laps,engine\none,2027-05-01,30,A\ntwo,2027-05-08,40,B\nthree,2027-05-15,50,A\n"
    for carrier, expected in (("car", [2, 2, 2]), ("engine", [0, 1, 0])):
        found = hazard(season_of, f"stone,{carrier},{SURE},events,", calendar=calendar, scenario=TWO_ENGINES)
        assert [row[1] for row in cases_of(played(found)[0])] == expected


def test_a_hazard_without_a_case_of_it_costs_and_stops_nothing(season_of: SeasonOf) -> None:
    state, ledger = played(hazard(season_of, f"stone,engine,{SURE},laps,"))
    assert cash(ledger) == []
    assert state.stopped.tolist() == [False] * 3
    assert state.failures.tolist() == [0, 0, 0, 0, 3]


def test_the_first_on_the_way_of_a_part_and_a_hazard_counts(season_of: SeasonOf) -> None:
    found = hazard(season_of, "stone,engine,0.5,laps,")
    for left, expected in ((19.0, (0, 0, 4, -1)), (21.0, (0, 0, 0, -1))):
        # The mean with which its draw comes to `left` laps.
        u = uniform(1, HAZARD, 0, *named("engine", "stone"), 0)
        state, _ = played(found, {"springs": [20]}, hazard_mean=np.array([left / -np.log(u)]))
        assert cases_of(state)[0] == expected


def test_an_engine_claimed_is_paid_for_and_renewed(season_of: SeasonOf) -> None:
    found = hazard(season_of, "claim,engine,0.1,events,race", "claim,claimed,1,,,,120,gone,2500,")
    _, ledger = played(found, hazard_mean=np.array([np.inf]), force_run=0, force=4)
    assert cash(ledger) == table("""
        one  claim    income   -2500.00
        two  full     labour     200.00
        two  springs  damage      80.00
        two  valves   damage      40.00
        two  block    damage     900.00
        two  block    deposit    150.00
    """)


# --- failures that are forced


def test_a_forced_failure_comes_half_way_through_its_run_and_is_noted(season_of: SeasonOf) -> None:
    found = season(season_of, damage=damage("springs,dropped,1,valves,,,,,,"))
    state, _ = played(found, force_run=1, force=0)
    # 30 + half of 40 laps, then 50 more for what stays in.
    assert state.trace_age[:, 0, 2].tolist() == [30, 50, 100]
    assert state.struck.tolist() == [2]
    assert played(season(season_of), force_run=1, force=0)[0].struck.tolist() == [1]
    assert played(found)[0].struck.tolist() == [0]


def test_a_forced_failure_comes_where_something_else_would_have_failed(season_of: SeasonOf) -> None:
    state, _ = played(season(season_of), {"valves": [40]}, force_run=1, force=0)
    # The valves would have failed at 40 of 30..70 laps; half-way is 50. They are past their end, and fail at once next.
    assert cases_of(state) == [(1, 0, 0, -1), (2, 0, 1, -1)]
    assert state.trace_age[2, 0, 2] == 50


def test_what_is_forced_in_a_run_that_is_missed_or_lost_does_not_happen(season_of: SeasonOf) -> None:
    found = season(season_of, calendar=CALENDAR.replace("laps", "laps,rain").replace("40", "40,1"))
    assert played(found, force_run=1, force=0)[0].struck.tolist() == [0]


# --- checks


def looked_at(season_of: SeasonOf, warning: str, sees: str, dates: str = "2027-05-15") -> Season:
    """Springs whose first set breaks at 100 laps, in an engine that is looked at on given days."""
    return season(
        season_of,
        lives=f"part,measure,replace_at,warning\nspring,laps,1000,{warning}\nvalve,laps,1000,\nblock,laps,1000,\n"
        "pump,laps,1000,\n",
        levels=f"level,rank,carrier,hours,labour,dates,checks,sees\nquick,1,engine,8,25,{dates},"
        f"{'springs' if sees else ''},{sees}\nfull,2,engine,100,200,,,\nside,1,car,2,12,,,\n",
    )


FOUND = """
    three  quick    labour  25.00
    three  springs  found   80.00
"""
NOT_FOUND = """
    three                 quick    labour   25.00
    after the last event  quick    labour   25.00
    after the last event  springs  failure  80.00
"""


@pytest.mark.parametrize(
    ("warning", "sees", "expected"),
    [
        # Before three the springs have run 70 of 100 laps: in the last 0.3 of their life, not yet in the last 0.29.
        ("0.3", "1", FOUND),
        ("0.29", "1", NOT_FOUND),
        ("0.3", "", NOT_FOUND),
        ("", "1", NOT_FOUND),
    ],
)
def test_a_check_sees_what_is_near_its_end(season_of: SeasonOf, warning: str, sees: str, expected: str) -> None:
    state, ledger = played(looked_at(season_of, warning, sees), {"springs": [100]})
    assert cash(ledger) == table(expected)
    assert state.finds.tolist() == [int(expected == FOUND), 0, 0, 0]


def test_a_check_of_a_level_below_is_done_with_the_higher_level(season_of: SeasonOf) -> None:
    found = looked_at(season_of, "0.3", "1")
    called = found.problem.called.copy()
    called[0, 0], called[0, 1, 2] = False, True
    _, ledger = played(found, {"springs": [100]}, called=called)
    assert cash(ledger) == table("""
        three  full     labour  200.00
        three  springs  found    80.00
    """)


def test_each_opening_is_one_look_of_its_own_number(season_of: SeasonOf) -> None:
    found = looked_at(season_of, "0.9", "0.5", "2027-05-08 2027-05-15")
    outcomes = set()
    for number in range(20):
        _, ledger = played(found, {"springs": [130, 130]}, number=number)
        key = named("engine", "springs", "")
        first, second = (uniform(1, CHECK, number, *key, n) < 0.5 for n in (0, 1))
        causes = [(row.event, row.cause) for row in ledger.of("cash") if row.slot == "springs"]
        # Before two 30 laps, before three 70 or 40 of 130: in the last 0.9 from 13 on. The second set counts from 256.
        if first:
            again = uniform(1, CHECK, number, *key, 256) < 0.5
            assert causes == [("two", "found"), *([("three", "found")] if again else [])]
        else:
            assert causes == ([("three", "found")] if second else [])
        outcomes.add(tuple(causes))
    assert len(outcomes) == 4


def test_without_draws_a_check_sees_nothing(season_of: SeasonOf) -> None:
    _, ledger = played(looked_at(season_of, "0.3", "1"), {"springs": [100]}, drawn=0)
    assert cash(ledger) == table(NOT_FOUND)


# --- rain and results

NIGHTS: dict[str, Any] = {
    "calendar": "event,date,format,entry,purse,rain,rain_from\none,2027-05-01,night,35,100.01,{rain},{since}\n",
    "sessions": "format,session,laps,result\nnight,warm up,5,0\nnight,heat,10,1\nnight,feature,20,3\n",
    "services": "service,price,every,measure,whole\ntape,1,4,laps,no\n",
}


def night(season_of: SeasonOf, rain: str, since: str, **more: Any) -> Season:
    calendar = NIGHTS["calendar"].format(rain=rain, since=since)
    return season(season_of, **{**NIGHTS, "calendar": calendar, **more})


@pytest.mark.parametrize(
    ("rain", "since", "laps", "tape", "purse"),
    [
        # The heat counts for a quarter of the result, the feature for the rest, the warm-up for nothing.
        ("0", "", 35, "8.75", "-100.01"),
        ("1", "", 0, "0.00", "0.00"),
        ("1", "heat", 5, "1.25", "0.00"),
        ("1", "feature", 15, "3.75", "-25.00"),
    ],
)
def test_rain_stops_an_event_from_a_run_on(
    season_of: SeasonOf, rain: str, since: str, laps: int, tape: str, purse: str
) -> None:
    state, ledger = played(night(season_of, rain, since))
    assert state.trace_age[2, 0, 0] == laps
    # Whoever has come pays the entry.
    expected = [
        ("one", "entry", "fixed", "35.00"),
        ("one", "tape", "consumable", tape),
        ("one", "purse", "income", purse),
    ]
    assert cash(ledger) == sorted(line for line in expected if Decimal(line[3]))


def test_rain_that_comes_after_the_heat_takes_no_purse_for_it(season_of: SeasonOf) -> None:
    draws = draw(night(season_of, "1", "feature"), 3)
    assert draws.rained.tolist() == [3]
    assert draws.lost.tolist() == [0, 0, 0]  # rain is nobody's failure
    assert draws.laps.tolist() == [15, 15, 15]


@pytest.mark.parametrize(
    ("age", "hours", "purse", "ran"),
    [
        (3, 0.5, "100.01", [0, 0, 0]),  # in the warm-up, mended in the hour before the heat
        (10, 0.5, "75.01", [0, 0, 0]),  # in the heat, a quarter: 75.0075
        (20, 0.5, "25.00", [0, 0, 0]),  # in the feature: 25.0025
        (10, 3, "0", [0, 0, -1]),  # the heat is lost and the feature missed
        (3, 3, "0", [0, -1, -1]),
    ],
)
def test_a_purse_is_won_by_what_was_run(
    season_of: SeasonOf, age: float, hours: float, purse: str, ran: list[int]
) -> None:
    levels = f"level,rank,carrier,hours,labour\nquick,1,engine,{hours},25\nfull,2,engine,100,200\nside,1,car,2,12\n"
    found = night(season_of, "0", "", levels=levels)
    state, ledger = played(found, {"springs": [age]})
    assert state.ran.tolist() == ran
    won = -sum(row.amount for row in ledger.of("cash") if row.slot == "purse")
    assert won == Decimal(purse)


def test_results_lost_are_the_weights_of_runs_stopped_and_missed(season_of: SeasonOf) -> None:
    calendar = CALENDAR.replace("laps", "laps,weight").replace("30", "30,2").replace("40", "40,0.5")
    levels = "level,rank,carrier,hours,labour\nquick,1,engine,200,25\nfull,2,engine,300,200\nside,1,car,2,12\n"
    found = season(season_of, calendar=calendar.replace("50", "50,"), levels=levels)
    problem = as_drawn(found, 1)._replace(fails_at=ages(found, {"springs": [20, np.inf]}))
    draws = draw(found, 2, problem=problem)
    # Stopped in one (2), not ready for two (0.5), there for three 316 hours later.
    assert draws.lost.tolist() == [2.5, 2.5]
    assert (draws.dnfs.tolist(), draws.misses.tolist(), draws.races.tolist()) == ([1, 1], [1, 1], [2, 2])


# --- run-in


def test_what_a_level_assembles_is_run_in_before_it_races(season_of: SeasonOf) -> None:
    found = season(
        season_of,
        sessions="format,session,laps,duty\nbench,warm,10,0.5\nbench,pull,4,1\n",
        levels="level,rank,carrier,hours,labour,run_in\nquick,1,engine,8,25,bench\nfull,2,engine,100,200,\n"
        "side,1,car,2,12,\n",
    )
    state, ledger = played(found, {"springs": [50, np.inf]})
    # 10 * 0.5 + 4 = 9 laps of duty, 14 of raw use, then 50; the valves stay in and are not run in.
    assert state.trace_age[2, 0, :2].tolist() == [59, 100]
    assert state.trace_raw[2, 0, :2].tolist() == [64, 100]
    # 0.40 a lap: 12.00 and 8.00, 60.00 unused; new 80.00, 9 laps on the bench and 50 in three.
    assert account(ledger, "springs") == ["80.00", "80.00", "43.60", "60.00", "56.40"]


# --- engines


@pytest.mark.parametrize(
    ("save_for", "ran"), [("2", [1, 1, 0]), ("3", [1, 1, 0]), ("3.5", [1, 1, 1]), ("1", [0, 0, 0])]
)
def test_the_best_engine_is_saved_for_what_counts(season_of: SeasonOf, save_for: str, ran: list[int]) -> None:
    calendar = CALENDAR.replace("laps", "laps,weight").replace("30", "30,1").replace("40", "40,1.5")
    scenario = f'[policy]\nwho_runs = "best saved"\nsave_for = {save_for}\n{TWO_ENGINES}'
    found = season(season_of, calendar=calendar.replace("50", "50,3"), scenario=scenario)
    if save_for == "1":
        assert found.problem.save_for == 1
    assert played(found)[0].ran.tolist() == ran


def test_the_best_engine_runs_what_counts_less_while_the_other_is_in_the_shop(season_of: SeasonOf) -> None:
    scenario = f'[policy]\nwho_runs = "best saved"\n{TWO_ENGINES}'
    levels = "level,rank,carrier,hours,labour\nquick,1,engine,200,25\nfull,2,engine,300,200\nside,1,car,2,12\n"
    state, _ = played(season(season_of, scenario=scenario, levels=levels), {"springs": [20]}, engine=1)
    assert state.ran.tolist() == [1, 0, 1]


def test_engines_bought_and_sold_are_cash_and_no_wear(season_of: SeasonOf) -> None:
    scenario = (
        "opening = 2027-03-05\n"
        '[[engine]]\nname = "A"\nprice = 2000\n[[engine]]\nname = "B"\nowned = false\nprice = 999\nsold = 900.50\n'
    )
    found = season(season_of, scenario=scenario)
    _, ledger = played(found)
    assert rows(ledger.of("cash"), engine=True) == [
        ("A", "", "", "fixed", "2000.00"),
        ("B", "", "", "income", "-900.50"),
    ]
    plain = season(season_of, scenario='opening = 2027-03-05\n[[engine]]\nname = "A"\n')
    lasting = np.full(4, np.inf)
    bought, before = (draw(one, 3, problem=as_drawn(one, 1)._replace(scale=lasting)) for one in (found, plain))
    assert (bought.cash - before.cash).tolist() == [109_950] * 3
    assert (bought.wear - before.wear).tolist() == [0] * 3
    assert (bought.month - before.month).tolist() == [[109_950, 0, 0]] * 3


# --- scripts


def test_a_script_counts_every_set_of_its_slot_and_the_last_serves_for_all_later(season_of: SeasonOf) -> None:
    found = season(season_of)
    ends = ages(found, {"springs": [20, 30, 999]})
    ends[0, 0, 2] = 25
    state = copy.deepcopy(found.start)
    machine.play(as_drawn(found, 1)._replace(fails_at=ends), state)
    # Stopped at 20 of 30, 30 of 40 and 25 of 50 laps.
    assert state.trace_age[:, 0, 1].tolist() == [20, 50, 75]
    assert state.failures[0] == 3


def test_a_life_that_its_step_shortens_ends_sooner(season_of: SeasonOf) -> None:
    catalog = {
        "operations": "operation,role,price\nseat-work,valve,15.50\nshim,spring,6\n",
        "service_steps": "role,step,operation,factor,mends\nspring,1,shim,0.5,yes\n",
    }
    found = season(season_of, catalog=catalog)
    state, ledger = played(found, {"springs": [20, 60, np.inf]})
    # At 20 of 30 laps; shimmed for 2 * 6.00, it ends at half of 60: at 30 of 40 laps. Then its path is at its end.
    assert state.trace_age[:, 0, 1].tolist() == [20, 50, 100]
    assert cash(ledger) == table("""
        two    quick    labour   25.00
        two    springs  failure  12.00
        three  quick    labour   25.00
        three  springs  failure  80.00
    """)


def test_the_ledger_of_a_drawn_season_is_that_of_its_number(season_of: SeasonOf) -> None:
    lives = "part,measure,replace_at,risk\nspring,laps,60,0.5\nvalve,laps,200,\nblock,laps,200,\npump,laps,200,\n"
    found = season(season_of, lives=lives, damage=damage("springs,dropped,0.5,valves,,3,,,,"))
    draws = draw(found, 20, seed=4)
    totals = [write_ledger(found, drawn_season(found, number, 4)).total("cash") * 100 for number in range(20)]
    assert totals == draws.cash.tolist()
    assert len(set(totals)) > 3


# --- one piece, or the whole set

VALVES = (
    "slot,level,carrier,stops,renew_as\nsprings,quick,engine,no,set\nvalves,quick,engine,no,piece\n"
    "block,full,engine,no,set\npump,side,car,no,set\n"
)


@pytest.mark.parametrize(
    ("lives", "levels", "pieces"),
    [
        ("valve,laps,200,", "", 1),  # neither due nor at a limit: one valve
        ("valve,laps,200,60", "", 4),  # 30 laps on, 40 to come: a limit of 60 would be passed
        ("valve,laps,60,", "", 4),  # renewed at 60
        ("valve,laps,200,", "valves", 4),  # the level renews them every time
    ],
)
def test_no_piece_is_mended_of_a_set_that_would_be_renewed_anyway(
    season_of: SeasonOf, lives: str, levels: str, pieces: int
) -> None:
    """A valve fails in the first run; mended alone, the others would run past what the set must not pass."""
    found = season(
        season_of,
        lives=f"part,measure,replace_at,limit\n{lives}\nspring,laps,900,\nblock,laps,900,\npump,laps,900,\n",
        positions=VALVES,
        levels="level,rank,carrier,hours,labour,renews\n"
        f"quick,1,engine,8,25,{levels}\nfull,2,engine,100,200,\nside,1,car,2,12,\n",
    )
    state, _ = played(found, {"valves": [25]})
    renewed = [(row[0], row[4]) for row in state.renewals[: state.n_renewals[0]].tolist() if row[2] == 1]
    assert renewed[0] == (1, pieces)


def test_after_the_season_too_the_whole_set_is_renewed_where_its_level_always_renews_it(season_of: SeasonOf) -> None:
    levels = (
        "level,rank,carrier,hours,labour,renews\nquick,1,engine,8,25,valves\nfull,2,engine,100,200,\nside,1,car,2,12,\n"
    )
    found = season(season_of, positions=VALVES, levels=levels)
    state, _ = played(found, {"valves": [100]})  # in the last run
    assert [(row[0], row[4]) for row in state.renewals[: state.n_renewals[0]].tolist()] == [(3, 4)]


def test_a_kit_has_the_cause_of_what_takes_it(season_of: SeasonOf) -> None:
    """Valves fail, springs are due: the kit of springs is bought as planned, though a failure opened the engine."""
    catalog = {
        "kits": "kit,name,supplier,price,price_date\nSP,spring box,us,70,2027-01-01\n",
        "kit_contains": "kit,part,pieces\nSP,spring,2\n",
    }
    found = season(
        season_of,
        catalog=catalog,
        positions=VALVES,
        lives="part,measure,replace_at\nspring,laps,65\nvalve,laps,200\nblock,laps,200\npump,laps,200\n",
    )
    state, ledger = played(found, {"valves": [25]})
    g, *_, cause, count = state.kits[0].tolist()
    assert (g, machine.CAUSES[cause], count) == (1, "planned", 1)
    assert [line for line in cash(ledger) if line[0] == "two"] == [
        ("two", "", "planned", "70.00"),
        ("two", "quick", "labour", "25.00"),
        ("two", "valves", "failure", "10.00"),
    ]
