"""A log played on a season, worked by hand: ages, counters, the shelf, what is owed, and the money against its budget.

Unless a test says otherwise six events a week apart run 40 laps in an hour each, 14 + 6 * 24 = 158 hours lie between
them, and everything is new when the books open. Springs last 160 laps, four events; rings five events.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from costplan.garage.log import Entry, read_log
from costplan.garage.spells import used
from costplan.money import to_minor
from costplan.problems import Place
from costplan.rules.book import Book, Clause, EngineCap, LevelCap, PieceCap
from costplan.scenario import read_scenario
from costplan.season import Season, compile_season, due_before, machine, make_plan, play_plan
from costplan.season.calendar import by_event, gap_before
from costplan.season.drawn.drawing import draw, drawn_season
from costplan.season.jobs import jobs_of
from costplan.season.ledger import Row, openings_of, renewals_of, share_worn, write_ledger
from costplan.season.logged import Around, check_log, season_on, show_log

SeasonOf = Callable[..., Season]

CALENDAR = """\
event,date,laps,hours,entry
one,2027-05-01,40,1,30
two,2027-05-08,40,1,30
three,2027-05-15,40,1,30
four,2027-05-22,40,1,30
five,2027-05-29,40,1,30
six,2027-06-05,40,1,30
"""
LEVELS = """\
level,rank,interval,measure,hours,labour,supplies,renews,checks,sees
top,1,,,8,50,5,,springs,0.5
full,2,5,events,100,200,20,rings,piston,0.5
"""
POSITIONS = "slot,level,renew_as\nsprings,top,piece\nrings,full,set\npiston,full,set\n"
PARTS = "part,price\nspring,40\nring,60\npiston,240\n"
SLOTS = "slot,part,pieces\nsprings,spring,2\nrings,ring,1\npiston,piston,1\n"
LIVES = """\
part,measure,replace_at
spring,laps,160
ring,events,5
piston,laps,400
piston,openings,9
"""
OFF = '[policy]\nearly = "off"\n'
HEADER = "date,what,engine,event,level,slot,part,piece,step,count,finding,rpm,line,amount,laps,hours,events,openings\n"
THREE = "2027-05-01,ran,engine,one\n2027-05-08,ran,engine,two\n2027-05-15,ran,engine,three\n"


@pytest.fixture(scope="module")
def season(season_of: SeasonOf) -> Season:
    return by_hand(season_of)


def by_hand(season_of: SeasonOf, **tables: Any) -> Season:
    given = {"calendar": CALENDAR, "levels": LEVELS, "positions": POSITIONS, "parts": PARTS, "slots": SLOTS}
    return season_of(**{**given, "lives": LIVES, "scenario": OFF, **tables})


def rows_of(folder: Path, text: str) -> tuple[Entry, ...]:
    """The rows of a log, given without its header; cells at the end of a row may be left out."""
    width = HEADER.count(",")
    lines = [line + "," * (width - line.count(",")) for line in text.strip().splitlines()]
    (folder / "log.csv").write_text(HEADER + "\n".join(lines) + "\n", encoding="utf-8")
    entries, problems = read_log(folder / "log.csv")
    assert problems == ()
    return entries


def left(season: Season, folder: Path, text: str, on: str) -> Season:
    """The season as a log leaves it, in which nothing is wrong."""
    entries = rows_of(folder, text)
    assert check_log(entries, season.files, season.carriers[:-1]) == ()
    found, problems = season_on(season, entries, date.fromisoformat(on))
    assert problems == ()
    return found


def ages(season: Season, slot: str) -> list[float]:
    p = next(p for p, spot in enumerate(season.spots) if spot.slot == slot)
    return [float(season.start.age[0, j]) for j in season.lives(p)]


def since(season: Season, level: int) -> float:
    return float(season.start.since[0, 0, level])


def jobs(season: Season) -> list[tuple[str, str, str, str]]:
    """Before which event, level, what is renewed, and why it is opened."""
    found = jobs_of(season, play_plan(season))
    return [(job.before, job.level, " ".join(one.slot for one in job.renewals), job.why) for job in found]


def test_three_events_the_second_after_ten_laps(season: Season, tmp_path: Path) -> None:
    log = THREE.replace("two", "two" + "," * 11 + "10")
    now = left(season, tmp_path, log, "2027-05-15")
    # 40 + 10 + 40 laps; the second is a quarter of an event, and a quarter of its hour
    assert (ages(now, "springs"), ages(now, "rings")) == ([90.0], [2.25])
    assert ages(now, "piston") == [90.0, 0.0]
    assert (since(now, 1), now.begin) == (2.25, 3)
    assert now.standing is not None
    assert [(one.event, one.share, one.use["laps"], one.use["hours"]) for one in now.standing.ran] == [
        ("one", 1.0, 40.0, 1.0),
        ("two", 0.25, 10.0, 0.25),
        ("three", 1.0, 40.0, 1.0),
    ]
    # the page of shares goes on from them: 40, 50 and 90 of 160 laps
    shares = [share_worn(now, play_plan(now), g, 0, 0) for g in (0, 1, 2)]
    assert shares == pytest.approx([40 / 160, 50 / 160, 90 / 160])


def test_a_measure_that_is_given_beside_the_laps_counts_for_itself(season: Season, tmp_path: Path) -> None:
    now = left(season, tmp_path, "2027-05-01,ran,engine,one,,,,,,,,,,,10,,1", "2027-05-01")
    assert (ages(now, "springs"), ages(now, "rings")) == ([10.0], [1.0])


@pytest.mark.parametrize(("measure", "given"), [("laps", 20.0), ("hours", 0.5), ("fuel", 9.0), ("events", 0.5)])
def test_a_short_run_is_read_alike_by_the_season_and_by_the_lives(
    season_of: SeasonOf, measure: str, given: float
) -> None:
    calendar = CALENDAR.replace("laps,hours", "laps,hours,fuel [L]").replace(",40,1,", ",40,1,18,")
    season = by_hand(season_of, calendar=calendar)
    row = Entry(date=date(2027, 5, 1), what="ran", engine="engine", event="one").model_copy(
        update={"use": {measure: given}}
    )
    now, problems = season_on(season, [row], row.date)
    assert (problems, ages(now, "springs"), ages(now, "rings")) == ((), [20.0], [0.5])
    seen = used(row, season.runs[0].use)
    assert {name: seen[name] for name in ("laps", "hours", "fuel", "events")} == {
        "laps": 20.0,
        "hours": 0.5,
        "fuel": 9.0,
        "events": 0.5,
    }


def test_no_laps_are_nothing_and_a_row_dated_later_is_not_known(season: Season, tmp_path: Path) -> None:
    log = "2027-05-01,ran,engine,one,,,,,,,,,,,0\n2027-05-08,ran,engine,two\n"
    now = left(season, tmp_path, log, "2027-05-07")
    assert (ages(now, "springs"), now.begin) == ([0.0], 1)
    assert now.standing is not None
    assert now.standing.ran == ()


def test_an_event_without_a_row_was_not_run_and_is_over(season: Season, tmp_path: Path) -> None:
    now = left(season, tmp_path, "2027-05-01,ran,engine,one\n2027-05-15,ran,engine,three\n", "2027-05-15")
    state = play_plan(now)
    assert ages(now, "springs") == [80.0]
    assert state.ran.tolist() == [machine.OVER] * 3 + [0] * 3
    assert make_plan(now, date(2027, 5, 15)).missed == ()
    assert make_plan(now, date(2027, 5, 15)).events == 3


def test_a_run_of_no_event_ages_by_what_its_row_says(season: Season, tmp_path: Path) -> None:
    now = left(season, tmp_path, "2027-04-20,ran,engine,,,,,,,,,,,,25,,0.5", "2027-04-30")
    assert (ages(now, "springs"), ages(now, "rings"), since(now, 1)) == ([25.0], [0.5], 0.5)
    shown = show_log(now, rows_of(tmp_path, "2027-04-20,ran,engine,,,,,,,,,,,,25,,0.5"))
    assert shown.by_itself == 1


def test_a_broken_piece_is_put_right_before_the_next_run_or_by_a_row(season: Season, tmp_path: Path) -> None:
    broken = "2027-05-01,ran,engine,one\n2027-05-01,failed,engine,one,,springs,,,,1\n"
    now = left(season, tmp_path, broken, "2027-05-01")
    assert now.standing is not None
    assert now.standing.broken == (("engine", "springs"),)
    assert jobs(now)[0] == ("two", "top", "springs", "springs at 25% of 160 laps")
    mended = left(season, tmp_path, broken + "2027-05-03,changed,engine,,,springs,,,,1\n", "2027-05-03")
    assert (mended.standing.broken if mended.standing else None, ages(mended, "springs")) == ((), [40.0])
    renewed = left(season, tmp_path, broken + "2027-05-03,changed,engine,,,springs\n", "2027-05-03")
    assert (ages(renewed, "springs"), int(renewed.start.installed[0, 0])) == ([0.0], 1)
    served = left(season, tmp_path, broken + "2027-05-03,serviced,engine,,top\n", "2027-05-03")
    assert (served.standing.broken if served.standing else None, ages(served, "springs")) == ((), [40.0])


def test_a_level_sets_its_counters_back_renews_and_leaves_the_rest_an_opening_older(
    season: Season, tmp_path: Path
) -> None:
    now = left(season, tmp_path, THREE + "2027-05-16,serviced,engine,,full\n", "2027-05-16")
    assert (since(now, 0), since(now, 1)) == (0.0, 0.0)
    assert (ages(now, "rings"), ages(now, "springs"), ages(now, "piston")) == ([0.0], [120.0], [120.0, 1.0])


def test_rows_of_a_day_are_one_opening_at_the_highest_level_that_they_need(season: Season, tmp_path: Path) -> None:
    log = THREE + "2027-05-16,changed,engine,,,springs\n2027-05-16,changed,engine,,,rings\n"
    now = left(season, tmp_path, log, "2027-05-16")
    assert (ages(now, "piston"), since(now, 1), ages(now, "springs")) == ([120.0, 1.0], 0.0, [0.0])
    two = left(season, tmp_path, log.replace("16,changed,engine,,,rings", "17,changed,engine,,,rings"), "2027-05-17")
    assert (ages(two, "piston"), ages(two, "springs")) == ([120.0, 1.0], [0.0])  # top does not reach the piston


GARAGE = """\
piece,part,engine,slot,count,laps
good springs,spring,,,2,64
new ring,ring,,,1,
"""


def test_a_piece_from_the_shelf_brings_its_age_and_is_gone(season_of: SeasonOf, tmp_path: Path) -> None:
    season = by_hand(season_of, garage=GARAGE)
    log = "2027-05-01,ran,engine,one\n2027-05-02,changed,engine,,,springs,,good springs\n"
    now = left(season, tmp_path, log, "2027-05-02")
    assert (ages(now, "springs"), now.start.used_left.tolist()) == ([64.0], [False])
    assert show_log(now, ()).shelf[0].part == "ring"
    again = rows_of(tmp_path, log + "2027-05-03,changed,engine,,,springs,,good springs\n")
    (problem,) = season_on(season, again, date(2027, 5, 3))[1]
    assert (problem.code, problem.place.line, problem.value) == ("LOG011", 4, "good springs")
    assert problem.advice.endswith("log.csv:3")


def test_what_lies_new_on_the_shelf_is_taken_unless_it_was_paid_for(season_of: SeasonOf, tmp_path: Path) -> None:
    season = by_hand(season_of, garage=GARAGE)
    ring = next(number for number, item in enumerate(season.items) if item.name == "ring")
    taken = left(season, tmp_path, "2027-05-02,changed,engine,,,rings\n", "2027-05-02")
    bought = left(season, tmp_path, "2027-05-02,changed,engine,,,rings,,,,,,,,60\n", "2027-05-02")
    assert (int(season.start.stock[ring]), int(taken.start.stock[ring]), int(bought.start.stock[ring])) == (1, 0, 1)
    assert (int(taken.start.value[0, 1]), int(bought.start.value[0, 1])) == (6000, 6000)


def test_a_used_set_is_as_old_as_its_row_says(season: Season, tmp_path: Path) -> None:
    now = left(season, tmp_path, "2027-05-02,changed,engine,,,springs,,,,,,,,,100\n", "2027-05-02")
    assert ages(now, "springs") == [100.0]


def test_a_used_service_is_as_old_as_its_row_says(season_of: SeasonOf, tmp_path: Path) -> None:
    season = by_hand(season_of, services="service,price,every,measure,hours,whole\ntyres,80,4,events,1,yes\n")
    now = left(season, tmp_path, "2027-05-02,changed,engine,,,tyres,,,,,,,,,,,3\n", "2027-05-02")
    assert ages(now, "tyres") == [3.0]
    shown = next(one for one in show_log(now, ()).pieces if one.slot == "tyres")
    assert (shown.use, shown.share) == (("3 events",), 0.75)


def test_every_life_is_known_by_what_it_counts(season_of: SeasonOf) -> None:
    season = by_hand(season_of, services="service,price,every,measure,hours,whole\ntyres,80,4,events,1,yes\n")
    found = {spot.slot: [season.measure_of(j).name for j in season.lives(p)] for p, spot in enumerate(season.spots)}
    assert found == {"springs": ["laps"], "rings": ["events"], "piston": ["laps", "openings"], "tyres": ["events"]}


STEPS = "role,step,operation,factor\npiston,1,knurl,0.5\n"
OPERATIONS = "operation,name,price,role\nknurl,knurl the skirts,30,piston\n"


def test_a_step_begins_the_lives_again(season_of: SeasonOf, tmp_path: Path) -> None:
    catalog = {"service_steps": STEPS, "operations": OPERATIONS}
    season = by_hand(season_of, catalog=catalog)
    now = left(season, tmp_path, THREE + "2027-05-16,mended,engine,,,piston,,,1\n", "2027-05-16")
    assert (ages(now, "piston"), int(now.start.step[0, 2]), int(now.start.worked[0, 2])) == ([0.0, 0.0], 1, 3000)
    kept = left(season, tmp_path, THREE + "2027-05-16,mended,engine,,,piston\n", "2027-05-16")
    assert (ages(kept, "piston"), int(kept.start.step[0, 2])) == ([120.0, 1.0], 0)


def test_days_pass_for_what_counts_them_whatever_runs(season_of: SeasonOf, tmp_path: Path) -> None:
    season = by_hand(season_of, lives=LIVES.replace("ring,events,5", "ring,days,60"))
    now = left(season, tmp_path, "2027-05-03,changed,engine,,,rings\n", "2027-05-10")
    assert ages(now, "rings") == [12.0]  # on the day of three, when the next run is
    shown = next(one for one in show_log(now, ()).pieces if one.slot == "rings")
    assert (shown.use, shown.since) == (("7 days",), date(2027, 5, 3))
    # on its day the first event is still to come; a day later it is over, and the next is a week away
    looked = "2027-05-01,checked,engine\n"
    assert [ages(left(season, tmp_path, looked, f"2027-05-0{day}"), "rings") for day in (1, 2)] == [[0.0], [7.0]]


def test_the_hours_left_for_work_begin_on_the_day(season: Season, tmp_path: Path) -> None:
    one = "2027-05-01,ran,engine,one\n"
    clock = season.problem.clock
    idle = {
        on: float(left(season, tmp_path, one, f"2027-05-0{on}").start.idle_since[0]) - clock[1] for on in (1, 3, 7, 8)
    }
    # 158 hours from the run itself; from the third 14 + 4 * 24, from the eve 14, on the day itself one
    assert idle == {1: -158.0, 3: -110.0, 7: -14.0, 8: -1.0}


SERVICE = CALENDAR.replace("three,", "shop week,2027-05-12,,,\nthree,").splitlines()
WITH_SHOP = "\n".join(
    line + (",kind,level" if n == 0 else ",service,full" if "shop" in line else ",race,")
    for n, line in enumerate(SERVICE)
)


def test_a_service_row_that_was_not_done_stays_owed_until_it_is(season_of: SeasonOf, tmp_path: Path) -> None:
    season = by_hand(season_of, calendar=WITH_SHOP)
    assert jobs(season)[0] == ("shop week", "full", "rings", "by its date")
    owed = left(season, tmp_path, THREE, "2027-05-15")
    assert owed.standing is not None
    assert [(one.level, str(one.date), one.what) for one in owed.standing.owed] == [("full", "2027-05-12", "shop week")]
    assert jobs(owed)[0] == ("four", "full", "rings", "owed since 2027-05-12: shop week")
    done = left(season, tmp_path, THREE + "2027-05-11,serviced,engine,,full\n", "2027-05-15")
    assert (done.standing.owed if done.standing else None) == ()
    assert "full" not in [job[1] for job in jobs(done)]


def test_a_level_done_in_the_gap_at_hand_is_not_called_again(season_of: SeasonOf, tmp_path: Path) -> None:
    season = by_hand(season_of, calendar=WITH_SHOP)
    ran = "2027-05-01,ran,engine,one\n2027-05-08,ran,engine,two\n"
    before = left(season, tmp_path, ran, "2027-05-09")
    assert jobs(before)[0] == ("shop week", "full", "rings", "by its date")
    done = left(season, tmp_path, ran + "2027-05-09,serviced,engine,,full\n", "2027-05-09")
    assert "full" not in [job[1] for job in jobs(done)]
    late = left(season, tmp_path, ran, "2027-05-13")  # 14 + 24 hours are left, and it takes 100
    assert jobs(late)[0] == ("four", "full", "rings", "owed since 2027-05-12: shop week")
    cash = [row for row in write_ledger(late, play_plan(late)).rows if row.view == "cash"]
    assert min(row.date for row in cash) >= date(2027, 5, 13)


HAZARDS = "hazard,carrier,chance,per\nmissed shift,engine,0.01,events\nover-rev,engine,0.01,events\n"
DAMAGE = "slot,case,chance,hits\nover-rev,bent,0.5,springs piston\nmissed shift,chain,1,rings\n"


COSTS = (
    "cost,amount,per,date\nrent,10,month,\nlicence,99,season,2027-05-02\nfood,7,race,\nprize,-20,season,2027-06-01\n"
)


def test_the_due_list_is_that_of_the_engines_as_they_are(season: Season, tmp_path: Path) -> None:
    on = date(2027, 5, 8)
    long_test = "2027-05-02,ran,engine,,,,,,,,,,,,60,,1.5\n"
    now = left(
        season, tmp_path, THREE.replace("2027-05-08", long_test + "2027-05-08").rpartition("2027")[0], "2027-05-08"
    )
    assert [[job.level for job in one.jobs] for one in due_before(season, on)] == [[], []]
    # 40 + 60 + 40 laps: with three the springs would pass 160; 2.5 + 1 + 1 events: with four the rings would pass 5
    assert [(one.race, [job.level for job in one.jobs]) for one in due_before(now, on)] == [
        ("three", ["top"]),
        ("four", ["full"]),
    ]


def test_after_the_last_event_nothing_lies_ahead(season: Season, tmp_path: Path) -> None:
    rows = "".join(f"{run.event.date},ran,engine,{run.event.event}\n" for run in season.runs)
    now = left(season, tmp_path, rows + "2027-06-05,failed,engine,six,,piston\n", "2027-07-01")
    plan = make_plan(now, date(2027, 7, 1))
    assert (now.begin, plan.events, due_before(now, date(2027, 7, 1))) == (6, 0, ())
    # what broke is put right at its level, with what that always renews; the accounts close
    assert [(job.level, " ".join(one.slot for one in job.renewals)) for job in plan.jobs] == [("full", "rings piston")]
    assert all(a.opening + a.paid - a.used - a.unused == a.closing for a in plan.accounts)


def test_an_engine_that_is_not_in_the_season_leaves_the_car_its_use(season_of: SeasonOf, tmp_path: Path) -> None:
    two = '[[engine]]\nname = "engine"\n[[engine]]\nname = "lent"\nowned = false\n'
    positions = POSITIONS + "coil,box,\n"
    season = by_hand(
        season_of,
        scenario=OFF + two,
        levels=LEVELS.replace("level,rank,", "level,rank,carrier,")
        .replace("top,1,", "top,1,engine,")
        .replace("full,2,", "full,2,engine,")
        + "box,1,car,,,1,0,0,,,\n",
        positions=positions.replace("slot,level,renew_as", "slot,level,renew_as,carrier").replace(
            "coil,box,", "coil,box,set,car"
        ),
        parts=PARTS + "coil,90\n",
        slots=SLOTS + "coil,coil,1\n",
        lives=LIVES + "coil,laps,900\n",
    )
    entries = rows_of(tmp_path, "2027-05-01,ran,lent,one\n2027-05-02,changed,lent,,,springs\n")
    now, problems = season_on(season, entries, date(2027, 5, 2))
    coil = next(p for p, spot in enumerate(season.spots) if spot.slot == "coil")
    assert (problems, ages(now, "springs")) == ((), [0.0])
    assert float(now.start.age[1, season.lives(coil)[0]]) == 40.0


def as_the_plan_does(season: Season) -> list[Entry]:
    """The rows that tell a plan: its openings before each event, what they put in, and that it was run."""
    state, found = play_plan(season), []
    for stretch in by_event(season.runs):
        g, event = stretch[0][0], stretch[0][1].event
        for run, c, t, k in openings_of(state).tolist():
            if run != g:
                continue
            on = {"date": event.date, "engine": season.carriers[c]}
            if season.ladders[t][k].row is not None:
                found.append(Entry(what="serviced", level=season.ladders[t][k].level, **on))
            for row in renewals_of(state).tolist():
                spot = season.spots[row[2]]
                if row[0] == g and row[1] == c and spot.ladder == t:
                    step = {"what": "changed"} if row[9] < 0 else {"what": "mended", "step": str(row[9] + 1)}
                    found.append(Entry(slot=tuple(spot.slot.split()), **step, **on))
        found.append(Entry(date=event.date, what="ran", engine=season.carriers[int(state.ran[g])], event=event.event))
    return found


def ahead(rows: Sequence[Row], begin: date) -> list[Row]:
    """The cash rows, and the life used, of what lies behind a day."""
    kept = (row for row in rows if row.view == "cash" or row.cause == "life used")
    return [row for row in kept if row.date > begin]


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    laps=st.lists(st.integers(20, 90), min_size=6, max_size=6),
    springs=st.integers(60, 300),
    rings=st.integers(2, 7),
    early=st.sampled_from(["off", "worth"]),
    named=st.booleans(),
)
def test_a_log_of_what_the_plan_does_leaves_what_the_plan_leaves(
    season_of: SeasonOf, laps: list[int], springs: int, rings: int, early: str, named: bool
) -> None:
    """After every event the ages, counters, values and all that is still to be paid are those of the plan itself."""
    lines = CALENDAR.splitlines()
    calendar = "\n".join([lines[0], *(line.replace(",40,", f",{n},") for line, n in zip(lines[1:], laps, strict=True))])
    season = by_hand(
        season_of,
        calendar=calendar,
        scenario=f'[policy]\nearly = "{early}"\n[[engine]]\nname = "engine"\n',
        lives=LIVES.replace("160", str(springs)).replace(
            "ring,events,5", f"ring,{'days,21' if named else f'events,{rings}'}"
        ),
        catalog={"service_steps": STEPS, "operations": OPERATIONS},
        services="service,price,every,measure,hours\noil nine quarts,20,2,events,1\n",
        costs=COSTS,
    )
    whole, log = play_plan(season), as_the_plan_does(season)
    planned = write_ledger(season, whole)
    for stretch in by_event(season.runs)[:-1]:
        g, day = stretch[-1][0], stretch[-1][1].event.date
        now, problems = season_on(season, log, day)
        assert (problems, now.begin) == ((), g + 1)
        for name in ("age", "raw_age", "since", "step", "item", "value", "worked"):
            trace = getattr(whole, f"trace_{name.removesuffix('_age')}")[g]
            assert np.array_equal(getattr(now.start, name), trace), name
        rest = write_ledger(now, play_plan(now))
        assert ahead(rest.rows, day) == ahead(planned.rows, day)
        assert all(a.opening + a.paid - a.used - a.unused == a.closing for a in rest.accounts)
        assert math.isfinite(float(now.start.idle_since[0]))


def test_an_event_that_was_rained_out_before_another_of_its_day_is_over(season_of: SeasonOf, tmp_path: Path) -> None:
    season = by_hand(season_of, calendar=CALENDAR.replace("two,2027-05-08", "two,2027-05-15"))
    now = left(season, tmp_path, "2027-05-15,ran,engine,three\n", "2027-05-15")
    assert (now.begin, ages(now, "springs")) == (3, [40.0])


def test_an_event_that_ran_before_an_earlier_one_is_told(season_of: SeasonOf, tmp_path: Path) -> None:
    season = by_hand(season_of, calendar=CALENDAR)
    entries = rows_of(tmp_path, "2027-05-03,ran,engine,two\n")
    assert season_on(season, entries, date(2027, 5, 3))[1] == ()
    entries = rows_of(tmp_path, "2027-05-09,ran,engine,three\n2027-05-07,ran,engine,one\n")
    assert season_on(season, entries, date(2027, 5, 9))[1] == ()
    (problem,) = season_on(season, rows_of(tmp_path, "2027-05-08,ran,engine,three\n"), date(2027, 5, 8))[1]
    assert (problem.code, problem.place.line, problem.value) == ("LOG012", 2, "three")


ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize(
    ("demo", "day"), [("oval-v8", "2027-05-29"), ("oval-v8", "2027-06-20"), ("kart-single", "2027-04-12")]
)
def test_seasons_drawn_from_the_day_on_are_told_by_ledger_and_tally_alike(demo: str, day: str) -> None:
    """Cash, wear and every month of drawn seasons, to the minor unit, with nothing dated before the day."""
    scenario, problems = read_scenario(ROOT / "scenarios" / demo)
    assert scenario is not None, problems
    on = date.fromisoformat(day)
    season, problems = scenario.season_on(on)
    assert season is not None, problems
    draws, currency = draw(season, 6, 3), season.rates.currency
    for number in range(6):
        ledger = write_ledger(season, drawn_season(season, number, 3))
        assert to_minor(ledger.total("cash"), currency) == draws.cash[number]
        assert to_minor(ledger.total("wear"), currency) == draws.wear[number]
        assert all(a.opening + a.paid - a.used - a.unused == a.closing for a in ledger.accounts)
        months = [
            sum((row.amount for row in ledger.of("cash") if f"{row.date:%Y-%m}" == month), Decimal(0))
            for month in season.months
        ]
        assert [to_minor(amount, currency) for amount in months] == draws.month[number].tolist()
        assert min(row.date for row in ledger.rows) >= on


@pytest.mark.parametrize("demo", ["oval-v8", "kart-single"])
def test_every_variant_of_a_demo_can_be_read_with_its_log(demo: str) -> None:
    """What a variant changes must not make the log of the season as it was wrong."""
    folder = ROOT / "scenarios" / demo
    scenario, _ = read_scenario(folder)
    assert scenario is not None
    for variant in scenario.header.variants:
        varied, problems = read_scenario(folder, variant.set)
        assert varied is not None, (variant.name, problems)
        assert varied.season_on(date(2027, 6, 20))[1] == ()


TWO = '[policy]\nearly = "off"\nwho_runs = "least used"\n[[engine]]\nname = "engine"\n[[engine]]\nname = "B"\n'


def with_book(season: Season, book: Book) -> Season:
    """A season of literal tables under a rule book."""
    scenario, problems = read_scenario(season.files.folder)
    assert scenario is not None, problems
    bound, problems = compile_season(replace(scenario.sources, book=book))
    assert bound is not None, problems
    return bound


CLAUSE = Clause("Lantern Cup", "T3", "so many and no more", Place("rules-cup.toml", 7), None, None)


def test_the_engine_that_ran_more_waits_and_counts_for_the_book(season_of: SeasonOf, tmp_path: Path) -> None:
    season = by_hand(season_of, scenario=TWO)
    now = left(season, tmp_path, THREE, "2027-05-15")
    assert now.start.total_use.tolist() == [3.0, 0.0, 3.0]
    assert play_plan(now).ran.tolist()[3:] == [1, 1, 1]  # the other catches up
    bound = with_book(season, Book(engine_caps=(EngineCap(CLAUSE, 1),)))
    capped = left(bound, tmp_path, THREE, "2027-05-15")
    assert play_plan(capped).ran.tolist()[3:] == [0, 0, 0]


def test_openings_and_pieces_of_the_log_count_for_the_caps_of_the_book(season_of: SeasonOf, tmp_path: Path) -> None:
    season = by_hand(season_of)
    log = "2027-05-01,ran,engine,one\n2027-05-02,changed,engine,,,springs\n"
    openings = with_book(season, Book(level_caps=(LevelCap(CLAUSE, "top", 1, True, False),)))
    assert [int(n) for n in left(openings, tmp_path, log, "2027-05-02").start.opened[:, 0]] == [1]
    pieces = with_book(season, Book(piece_caps=(PieceCap(CLAUSE, ("springs",), 4, False),)))
    assert left(pieces, tmp_path, log, "2027-05-02").start.put_in.tolist() == [2]
    one = log.replace("springs", "springs,,,,1")
    assert left(pieces, tmp_path, one, "2027-05-02").start.put_in.tolist() == [1]


def test_an_event_that_was_not_run_stands_in_the_history_as_it_was_before_it(season: Season, tmp_path: Path) -> None:
    log = "2027-05-01,ran,engine,one\n2027-05-12,changed,engine,,,springs\n2027-05-15,ran,engine,three\n"
    now = left(season, tmp_path, log, "2027-05-16")
    assert now.start.trace_age[:3, 0, now.lives(0)[0]].tolist() == [40.0, 0.0, 40.0]
    assert now.start.trace_age[:3, 0, now.lives(2)[0]].tolist() == [40.0, 40.0, 80.0]  # the piston stays in


def test_a_shop_that_has_the_engine_is_ready_when_the_log_is_written(season_of: SeasonOf, tmp_path: Path) -> None:
    season = by_hand(season_of)
    now = left(season, tmp_path, "2027-05-01,ran,engine,one\n", "2027-05-07")
    assert now.start.ready_at.tolist() == now.start.idle_since.tolist()


def test_a_gap_is_dated_by_what_is_left_of_it(season_of: SeasonOf, tmp_path: Path) -> None:
    """What the service row of a day gone by called for is paid later, in the month of the event it stands before."""
    calendar = WITH_SHOP.replace("2027-05-12", "2027-05-31").replace("three,2027-05-15", "three,2027-06-02")
    for n, day in enumerate(("2027-05-22", "2027-05-29", "2027-06-05")):
        calendar = calendar.replace(day, f"2027-06-{9 + 7 * n:02d}")
    season = by_hand(season_of, calendar=calendar)
    log = "2027-05-01,ran,engine,one\n2027-05-08,ran,engine,two\n2027-05-09,failed,engine,,,springs\n"
    early, late = (left(season, tmp_path, log, day) for day in ("2027-05-30", "2027-06-01"))
    assert [gap_before(now.runs, 2)[1] for now in (early, late)] == ["shop week", "three"]
    assert [now.months[int(now.problem.gap_month[2])] for now in (early, late)] == ["2027-05", "2027-06"]


def test_a_date_passed_over_shortly_after_its_level_is_not_owed(season_of: SeasonOf, tmp_path: Path) -> None:
    levels = LEVELS.replace("interval,measure", "interval,measure,rest,dates").replace(
        "5,events,", "5,events,4,2027-05-20,"
    )
    season = by_hand(season_of, levels=levels.replace("top,1,,,", "top,1,,,,,"))
    now = left(season, tmp_path, THREE + "2027-05-22,ran,engine,four\n", "2027-05-22")
    assert [one.level for one in now.standing.owed if now.standing] == ["full"]  # type: ignore[union-attr]
    fresh = left(
        season, tmp_path, THREE.replace("one", "one,,,,,,,,,,,10") + "2027-05-22,ran,engine,four\n", "2027-05-22"
    )
    assert fresh.standing is not None
    assert fresh.standing.owed == ()


def test_a_whole_set_that_broke_is_renewed_whole_and_a_piece_by_a_piece(season: Season, tmp_path: Path) -> None:
    log = "2027-05-01,ran,engine,one\n2027-05-01,failed,engine,one,,springs{}\n"
    whole, piece = (left(season, tmp_path, log.format(count), "2027-05-01") for count in ("", ",,,,1"))
    bought = [[one.pieces for one in make_plan(now, date(2027, 5, 1)).jobs[0].renewals] for now in (whole, piece)]
    assert bought == [[2], [1]]


def test_a_new_set_is_worth_what_it_costs_in_its_gap(season_of: SeasonOf, tmp_path: Path) -> None:
    prices = "part,supplier,price,date,pack\nring,shop,75,2027-05-10,1\n"
    season = by_hand(season_of, catalog={"prices": prices})
    early, late = ("2027-05-02,changed,engine,,,rings\n", THREE + "2027-05-16,changed,engine,,,rings\n")
    values = [int(left(season, tmp_path, log, "2027-05-16").start.value[0, 1]) for log in (early, late)]
    assert values == [6000, 7500]


def test_work_on_the_evening_of_a_run_is_work_after_it(season_of: SeasonOf, tmp_path: Path) -> None:
    season = by_hand(season_of, calendar=WITH_SHOP)
    ran = "2027-05-01,ran,engine,one\n2027-05-08,ran,engine,two\n"
    after = left(season, tmp_path, ran + "2027-05-08,serviced,engine,,full\n", "2027-05-15")
    before = left(
        season,
        tmp_path,
        ran.replace("2027-05-08,ran", "2027-05-08,serviced,engine,,full\n2027-05-08,ran"),
        "2027-05-15",
    )
    assert [len(now.standing.owed) for now in (after, before) if now.standing] == [0, 1]
    rained = left(season, tmp_path, "2027-05-01,ran,engine,one\n2027-05-09,serviced,engine,,full\n", "2027-05-15")
    assert rained.standing is not None
    assert rained.standing.owed == ()


def test_a_higher_level_does_what_a_lower_one_was_called_for(season_of: SeasonOf, tmp_path: Path) -> None:
    season = by_hand(season_of, calendar=WITH_SHOP.replace("service,full", "service,top"))
    owed, done = (
        left(season, tmp_path, THREE + more, "2027-05-15") for more in ("", "2027-05-11,serviced,engine,,full\n")
    )
    assert [len(now.standing.owed) for now in (owed, done) if now.standing] == [1, 0]


def test_a_slot_with_a_row_of_its_own_is_not_renewed_by_the_level_too(season_of: SeasonOf, tmp_path: Path) -> None:
    season = by_hand(season_of, garage=GARAGE)
    ring = next(number for number, item in enumerate(season.items) if item.name == "ring")
    log = "2027-05-02,serviced,engine,,full\n2027-05-02,changed,engine,,,rings,,,,,,,,70\n"
    now = left(season, tmp_path, log, "2027-05-02")
    assert (int(now.start.stock[ring]), int(now.start.installed[0, 1])) == (1, 1)


def test_nor_by_what_it_would_go_along_with(season_of: SeasonOf, tmp_path: Path) -> None:
    positions = "slot,level,renew_as,renew_with\nsprings,top,piece,\nrings,full,set,springs\npiston,full,set,\n"
    season = by_hand(season_of, positions=positions)
    served = left(season, tmp_path, "2027-05-02,serviced,engine,,full\n", "2027-05-02")
    both = "2027-05-02,serviced,engine,,full\n2027-05-02,changed,engine,,,springs\n"
    assert served.start.installed[0].tolist() == [1, 1, 0]
    assert left(season, tmp_path, both, "2027-05-02").start.installed[0].tolist() == [1, 1, 0]


# What a row may say that few rows do


def test_an_engine_is_used_by_the_share_that_it_ran(season: Season, tmp_path: Path) -> None:
    now = left(season, tmp_path, THREE.replace("two", "two" + "," * 11 + "10"), "2027-05-15")
    assert now.start.total_use.tolist() == [2.25, 2.25]


def test_a_service_row_of_the_day_itself_is_still_to_come(season_of: SeasonOf, tmp_path: Path) -> None:
    season = by_hand(season_of, calendar=WITH_SHOP.replace("2027-05-12", "2027-05-09"))
    ran = "2027-05-01,ran,engine,one\n2027-05-08,ran,engine,two\n"
    now = left(season, tmp_path, ran, "2027-05-09")
    assert now.standing is not None
    assert now.standing.owed == ()
    assert jobs(now)[0] == ("shop week", "full", "rings", "by its date")


@pytest.mark.parametrize(("count", "whole"), [("", True), ("2", True), ("1", False)])
def test_all_pieces_by_their_number_are_the_whole_set(season: Season, tmp_path: Path, count: str, whole: bool) -> None:
    now = left(season, tmp_path, f"{THREE}2027-05-15,failed,engine,three,,springs,,,,{count}\n", "2027-05-15")
    assert bool(now.start.wrecked[0, 0]) is whole


def test_a_level_that_always_renews_a_set_renews_it_whole_though_a_piece_broke(
    season_of: SeasonOf, tmp_path: Path
) -> None:
    broke = f"{THREE}2027-05-15,failed,engine,three,,springs,,,,1\n2027-05-16,serviced,engine,,top\n"
    whole = by_hand(season_of, levels=LEVELS.replace("top,1,,,8,50,5,,", "top,1,,,8,50,5,springs,"))
    assert ages(left(whole, tmp_path, broke, "2027-05-16"), "springs") == [0.0]
    assert ages(left(by_hand(season_of), tmp_path, broke, "2027-05-16"), "springs") == [120.0]


def test_what_a_level_puts_in_counts_for_the_caps(season_of: SeasonOf, tmp_path: Path) -> None:
    season = by_hand(season_of)
    rings = with_book(season, Book(piece_caps=(PieceCap(CLAUSE, ("rings",), 4, False),)))
    springs = with_book(season, Book(piece_caps=(PieceCap(CLAUSE, ("springs",), 4, False),)))
    done = THREE + "2027-05-16,serviced,engine,,full\n"
    assert left(rings, tmp_path, done, "2027-05-16").start.put_in.tolist() == [1]
    broke = THREE + "2027-05-15,failed,engine,three,,springs,,,,1\n2027-05-16,serviced,engine,,top\n"
    assert left(springs, tmp_path, broke, "2027-05-16").start.put_in.tolist() == [1]


def test_what_is_put_in_with_steps_behind_it_has_had_their_work(season_of: SeasonOf, tmp_path: Path) -> None:
    catalog = {"service_steps": STEPS, "operations": OPERATIONS}
    garage = "piece,part,engine,slot,count,step,laps,openings\nknurled,piston,,,1,1,50,0\n"
    season = by_hand(season_of, catalog=catalog, garage=garage)
    used = left(season, tmp_path, "2027-05-02,changed,engine,,,piston,,knurled\n", "2027-05-02")
    told = left(season, tmp_path, "2027-05-02,changed,engine,,,piston,,,1,,,,,,50,,,0\n", "2027-05-02")
    for now in (used, told):
        assert (int(now.start.step[0, 2]), int(now.start.worked[0, 2])) == (1, 3000)


def test_what_was_put_in_on_the_day_may_break_on_it(season: Season, tmp_path: Path) -> None:
    rows = f"{THREE}2027-05-15,changed,engine,,,springs\n2027-05-15,failed,engine,three,,springs\n"
    now = left(season, tmp_path, rows, "2027-05-15")
    assert (bool(now.start.broken[0, 0]), ages(now, "springs")) == (True, [0.0])


def test_of_two_levels_done_on_a_day_the_higher_counts_in_whatever_order(season: Season, tmp_path: Path) -> None:
    for levels in (("full", "top"), ("top", "full")):
        rows = THREE + "".join(f"2027-05-16,serviced,engine,,{level}\n" for level in levels)
        assert ages(left(season, tmp_path, rows, "2027-05-16"), "rings") == [0.0]


# What is asked back


def test_three_boxes_of_a_part_are_taken_one_by_one(season_of: SeasonOf, tmp_path: Path) -> None:
    garage = "piece,part,engine,slot,count\nbox,spring,,,4\n"
    season = by_hand(season_of, garage=garage)
    row = "2027-05-0{},changed,engine,,,springs,,box,,{}\n"
    sets = row.format(2, "") + row.format(3, 1) + row.format(4, 1)
    now = left(season, tmp_path, sets, "2027-05-04")
    assert int(now.start.stock[season.spots[0].item]) == 0
    _, (problem,) = season_on(season, rows_of(tmp_path, sets + row.format(5, 1)), date(2027, 5, 5))
    assert (problem.code, problem.value, problem.place.line) == ("LOG011", "box", 5)


def test_what_was_before_the_books_open_is_asked_of_those_who_say_when_that_is(season: Season, tmp_path: Path) -> None:
    rows = rows_of(tmp_path, "2027-04-30,paid,,,,,,,,,,,gate,12\n")
    for opening, codes in ((date(2027, 5, 1), ["LOG015"]), (date(2027, 4, 30), []), (None, [])):
        found = check_log(rows, season.files, ("engine",), Around(opening=opening))
        assert [problem.code for problem in found] == codes


def test_an_engine_away_may_be_worked_on_and_does_not_run(season: Season, tmp_path: Path) -> None:
    rows = rows_of(tmp_path, "2027-05-01,ran,lent,one\n2027-05-02,changed,lent,,,springs\n")
    found = check_log(rows, season.files, ("engine", "lent"), Around(away=("lent",)))
    assert [(problem.code, problem.value) for problem in found] == [("LOG016", "lent")]


@pytest.mark.parametrize(("laps", "problems"), [(60, []), (61, [("LOG014", "61 laps")])])
def test_half_as_much_again_is_the_most_that_is_run_of_an_event(
    season: Season, tmp_path: Path, laps: int, problems: list[tuple[str, str]]
) -> None:
    rows = rows_of(tmp_path, f"2027-05-01,ran,engine,one,,,,,,,,,,,{laps}\n")
    found = season_on(season, rows, date(2027, 5, 1))[1]
    assert [(problem.code, problem.value) for problem in found] == problems
