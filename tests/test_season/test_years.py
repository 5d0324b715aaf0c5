"""A season played year after year: what is carried over, worked by hand and against calendars of two years."""

from __future__ import annotations

import copy
import csv
import io
import math
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from pytest import approx

from costplan.scenario import read_scenario
from costplan.season import Season, compile_season, machine
from costplan.season.arrays import as_drawn
from costplan.season.drawn.drawing import draw
from costplan.season.drawn.years import Span, YearDraws, draw_years
from costplan.season.machine.years import APART, UNUSED

SeasonOf = Callable[..., Season]

DEMOS = Path(__file__).parents[2] / "scenarios"
FIELDS = ("cash", "left", "engine", "lost", "races", "missed", "stopped")
#: A life that no failure ends in any season drawn: one in 1e9 breaks before it is renewed.
SURE = "1e-9,50"


def demo(name: str) -> Season:
    scenario, problems = read_scenario(DEMOS / name)
    assert scenario is not None, problems
    season, problems = scenario.season()
    assert season is not None, problems
    return season


def drawn(season: Season, years: int, seasons: int, every: int = 0, **how: Any) -> YearDraws:
    problem = as_drawn(season, 1)
    return draw_years(Span(season, problem, problem, years, 0, every), seasons, **how)


def same(one: YearDraws, other: YearDraws) -> bool:
    return all(np.array_equal(getattr(one, name), getattr(other, name)) for name in FIELDS)


# --- the same however it is drawn


@pytest.mark.parametrize("name", ["oval-v8", "kart-single"])
def test_compiled_years_are_those_of_plain_python_bit_for_bit(name: str) -> None:
    season = demo(name)
    assert same(drawn(season, 3, 4, 2), drawn(season, 3, 4, 2, compiled=False))


def test_years_do_not_depend_on_workers_blocks_and_how_many_follow() -> None:
    season = demo("kart-single")
    whole = drawn(season, 3, 600, 2)
    assert same(whole, drawn(season, 3, 600, 2, workers=1))
    for one, other in ((whole, drawn(season, 3, 300, 2)), (whole, drawn(season, 2, 600, 2))):
        n, years = other.cash.shape
        assert np.array_equal(one.cash[:n, :years], other.cash)
        assert np.array_equal(one.engine[:n, :years], other.engine)


def test_the_first_year_is_the_season_that_is_drawn_for_itself() -> None:
    season = demo("oval-v8")
    years, seasons = drawn(season, 2, 30), draw(season, 30)
    assert np.array_equal(years.cash[:, 0] + years.traded, seasons.cash)
    for name in ("left", "lost", "races"):
        assert np.array_equal(getattr(years, name)[:, 0], getattr(seasons, name))
    assert np.array_equal(years.missed[:, 0], seasons.misses)
    assert np.array_equal(years.stopped[:, 0], seasons.dnfs)


def test_two_years_are_a_year_and_the_next_from_the_state_that_it_leaves() -> None:
    season = demo("kart-single")
    problem, years = as_drawn(season, 1), drawn(season, 2, 5)
    fixed = int(draw(season, 1).fixed.total)
    for n in range(5):
        state = machine.untraced(season.start)
        state.season[0] = n
        machine.play(problem, state)
        assert state.tally_event.sum() + fixed == years.cash[n, 0]
        machine.carry_over(problem, state)
        state.season[0] = n + APART
        machine.play(problem, state)
        assert state.tally_event.sum() + fixed == years.cash[n, 1]
        assert machine.worth_of(problem, state, 0) == years.engine[n, 1]


def test_years_are_drawn_apart_from_each_other_and_from_other_seasons(season_of: SeasonOf) -> None:
    season = season_of(
        calendar=CALENDAR,
        services="service,price,every,measure\noil,5,40,laps\n",
        hazards="hazard,chance,per\nstone,0.3,events\n",
        damage="slot,case,chance,cost,stops\nstone,through,1,100,yes\n",
    )
    n = 2000
    stopped = drawn(season, 3, n).stopped
    # By hand: two events a year, each struck with 0.3.
    assert stopped.mean(axis=0) == approx([0.6] * 3, abs=4 * math.sqrt(2 * 0.3 * 0.7 / n))
    pairs = [(stopped[:, 0], stopped[:, 1]), (stopped[:, 1], stopped[:, 2]), (stopped[1:, 0], stopped[:-1, 1])]
    for one, other in pairs:
        assert abs(np.corrcoef(one, other)[0, 1]) < 4 / math.sqrt(n)


def test_no_season_and_no_year_is_refused() -> None:
    season = demo("kart-single")
    for seasons, years in ((0, 1), (1, 0), (1, machine.MOST_YEARS + 1)):
        with pytest.raises(ValueError, match="one season at least"):
            drawn(season, years, seasons)


# --- what is carried over, by hand

CALENDAR = "event,date,laps,entry\none,2027-03-01,40,10\ntwo,2027-06-09,40,10\n"
#: A day passes without counting in the last run: the year's last run is 100 days after the first, 265 days remain.
WINTER = 265.0
ENGINE: dict[str, Any] = {
    "calendar": CALENDAR,
    "scenario": '[policy]\nearly = "off"\n',
    "slots": "slot,part,pieces\nsprings,spring,2\nhoses,hose,1\nblock,block,1\n",
    "parts": "part,price,resale\nspring,40,4\nhose,20,0\nblock,900,90\n",
    "lives": f"part,measure,replace_at,risk,shape\nspring,laps,200,{SURE}\nhose,days,500,{SURE}\n"
    f"block,laps,900,{SURE}\n",
    "levels": "level,rank,carrier,interval,measure,hours,labour\nquick,1,engine,,,8,25\n"
    "full,2,engine,400,laps,100,200\nyearly,1,car,730,days,2,5\n",
    "positions": "slot,level,carrier\nsprings,quick,engine\nblock,full,engine\nhoses,yearly,car\n",
}


def test_lives_counters_and_shelf_are_carried_over_and_days_pass(season_of: SeasonOf) -> None:
    season = season_of(
        **ENGINE, garage="piece,part,engine,slot,count,laps,installed\nspare,spring,,,2,0,\nold,spring,,,2,30,\n"
    )
    state = machine.untraced(season.start)
    machine.play(season.problem, state)
    spring, hose, block = (season.lives(p)[0] for p in range(3))
    assert [state.age[0, spring], state.age[1, hose], state.age[0, block]] == [80, 100, 80]
    assert [state.since[0, 0, 1], state.since[1, 2, 0]] == [80, 100]
    before = copy.deepcopy(state)
    machine.carry_over(season.problem, state)
    assert [state.age[0, spring], state.age[1, hose], state.age[0, block]] == [80, 100 + WINTER, 80]
    assert [state.raw_age[0, spring], state.raw_age[1, hose]] == [80, 100 + WINTER]
    assert [state.since[0, 0, 1], state.since[1, 2, 0]] == [80, 100 + WINTER]
    for name in ("stock", "stock_value", "used_left", "step", "item", "value", "worked", "installed", "total_use"):
        assert np.array_equal(getattr(state, name), getattr(before, name)), name
    assert state.stock.tolist() == [2, 0, 0]
    assert state.used_left.tolist() == [True]
    assert before.ran.tolist() == [0, 0]
    assert state.ran.tolist() == [-1, -1]
    assert before.tally_event.sum() == 2000
    assert state.tally_event.sum() == state.tally_cause.sum() == state.used_up[0] == 0
    assert np.isneginf(state.idle_since).all()
    assert np.isneginf(state.ready_at).all()


def test_what_perishes_in_the_winter_is_renewed_before_the_first_run(season_of: SeasonOf) -> None:
    # Hoses that break at 200 days: 100 have passed at the last run, 365 at the next year's first.
    season = season_of(**ENGINE)
    hose = season.lives(1)[0]
    ends = np.full((2, len(season.problem.limit), 2), math.inf)
    ends[1, hose, 0] = 200
    problem = season.problem._replace(fails_at=ends)
    state = machine.untraced(season.start)
    machine.play(problem, state)
    machine.carry_over(problem, state)
    assert (state.broken[1].tolist(), state.n_broken.tolist()) == ([False, True, False], [0, 1])
    assert state.failures.tolist() == [0, 1, 0]
    years = draw_years(Span(season, problem, problem, 2), 1, compiled=False)
    # Entries, then hoses at 20.00 and the car's level at 5.00; no race is stopped for it.
    assert years.cash[0].tolist() == [2000, 2000 + 2500]
    assert years.stopped[0].tolist() == years.missed[0].tolist() == [0, 0]


def test_what_counts_in_a_season_alone_begins_anew(season_of: SeasonOf) -> None:
    season = season_of(**ENGINE)
    none = np.zeros(2, dtype=np.int64)
    problem = season.problem._replace(
        bar_bond=none,
        bar_ladder=none,
        bar_low=none,
        bar_high=none,
        bar_most=none,
        bar_each=np.array([True, True]),
        bar_in_life=np.array([True, False]),
        bar_holds=np.zeros((2, 2), dtype=np.bool_),
    )
    state = machine.untraced(season.start)._replace(
        opened=np.array([[3, 0], [2, 1]]), started=np.ones((1, 2), dtype=np.bool_), put_in=np.array([5])
    )
    for name in ("failures", "finds", "hits", "n_openings", "n_renewals", "n_kits", "n_cases", "struck", "looked"):
        getattr(state, name)[:] = 1
    state.held[:] = state.stopped[:] = state.overdue[:] = True
    state.extra_hours[:] = 9.0
    state.openings[0] = 0
    machine.carry_over(problem, state)
    assert state.opened.tolist() == [[3, 0], [0, 0]]
    assert state.overdue.all()
    for name in ("started", "put_in", "failures", "finds", "hits", "n_openings", "n_renewals", "n_kits", "n_cases"):
        assert not getattr(state, name).any(), name
    for name in ("struck", "looked", "held", "stopped", "extra_hours"):
        assert not getattr(state, name).any(), name


def test_a_new_engine_is_new_in_all_and_the_car_stays(season_of: SeasonOf) -> None:
    season = season_of(**ENGINE)
    state = machine.untraced(season.start)
    machine.play(season.problem, state)
    state.broken[0, 2], state.n_broken[0], state.overdue[0, 0, 1] = True, 1, True
    machine.set_new(season.problem, state, 0)
    assert not state.age[0].any()
    assert not state.broken[0].any()
    assert not state.overdue[0].any()
    assert state.n_broken[0] == state.total_use[0] == 0
    assert state.age[1].max() == 100
    # Springs 2 at 40.00 and a block at 900.00, nothing of the car.
    assert state.value[0].tolist() == [8000, 0, 90000]
    assert (state.installed[0] - season.start.installed[0]).tolist() == [1, 0, 1]
    # All that it is worth: what was paid for the set that lasts, no work owed.
    assert machine.worth_of(season.problem, state, 0) == 98000


def test_a_date_passes_over_what_is_new_until_it_has_run(season_of: SeasonOf) -> None:
    tables = {
        **ENGINE,
        "calendar": "event,date,kind,laps,level\nwinter,2027-02-01,service,,full\none,2027-03-01,,40,\n"
        "summer,2027-05-01,service,,full\ntwo,2027-06-09,,40,\n",
    }
    season = season_of(**tables)

    def opened(new: bool) -> list[int]:
        state = machine.untraced(season.start)
        if new:
            machine.set_new(season.problem, state, 0)
            assert state.since[0, 0].tolist() == [UNUSED, UNUSED]
        machine.play(season.problem, state)
        return [int(g) for g, c, _, k in state.openings[: state.n_openings[0]].tolist() if (c, k) == (0, 1)]

    assert opened(new=False) == [0, 1]
    assert opened(new=True) == [1]


def test_what_was_done_after_the_last_run_is_not_done_again_by_a_date(season_of: SeasonOf) -> None:
    # The block breaks in the second run of the first year and is put right at the full level after it, 1,100.00; the
    # winter's service would do the full level once more.
    tables = {
        **ENGINE,
        "calendar": "event,date,kind,laps,level\nwinter,2027-02-01,service,,full\none,2027-03-01,,40,\n"
        "two,2027-06-09,,40,\n",
    }
    season = season_of(**tables)
    block = season.lives(2)[0]
    ends = np.full((2, len(season.problem.limit), 2), math.inf)
    ends[0, block, 0] = 60
    problem = season.problem._replace(fails_at=ends)
    years = draw_years(Span(season, problem, problem, 3), 1, compiled=False)
    assert years.stopped[0].tolist() == [1, 0, 0]
    # Winter 200.00 in the first and the third year, and 200.00 and 900.00 for the block. In the third year hoses of 730
    # days, 20.00 and 5.00; before its second run springs of 60 + 80 + 40 laps, 80.00 and 25.00, the old sold at 8.00.
    assert years.cash[0].tolist() == [20000 + 20000 + 90000, 0, 20000 + 2500 + 10500 - 800]


def test_each_engine_rests_from_what_was_done_to_it(season_of: SeasonOf) -> None:
    season = season_of(
        **{**ENGINE, "scenario": ENGINE["scenario"] + '[[engine]]\nname = "A"\n[[engine]]\nname = "B"\n'}
    )
    state = machine.untraced(season.start)
    state.since[:2, 0] = 40
    # After the last run B was opened at its full level, before it A.
    state.openings[:2] = [[1, 0, 0, 1], [2, 1, 0, 1]]
    state.n_openings[0] = 2
    machine.carry_over(season.problem, state)
    assert state.since[:2, 0].tolist() == [[40, 40], [UNUSED, UNUSED]]


@pytest.mark.parametrize("name", ["oval-v8", "kart-single"])
def test_what_is_left_is_engines_car_and_shelf(name: str) -> None:
    season = demo(name)
    problem, state = as_drawn(season, 1), machine.untraced(season.start)
    out = machine.empty_block(problem, state, 1)
    years = machine.empty_years(1, 0, 0, 1)
    now, start = machine.packed(state)[1], machine.packed(state)[1]
    machine.play_years(problem, problem, state, now, start, out, years, 0, 1)
    carriers = sum(machine.worth_of(problem, state, c) for c in range(len(season.carriers)))
    assert out.left[0] == carriers + state.stock_value.sum()
    assert years.worth[0] == machine.worth_of(problem, state, 0) > 0
    owed = [machine.owed(problem, state, 0, 0, k) for k in range(int(problem.levels[0]))]
    assert sum(owed) > 0


# --- against a calendar of two years


def of_two_years(calendar: str) -> str:
    """A calendar with all its rows once more, a year of 365 days later."""
    rows = list(csv.DictReader(calendar.splitlines()))
    later = [
        {**row, "event": f"{row['event']} again", "date": str(date.fromisoformat(row["date"]) + timedelta(365))}
        for row in rows
    ]
    out = io.StringIO()
    writer = csv.DictWriter(out, list(rows[0]))
    writer.writeheader()
    writer.writerows([*rows, *later])
    return out.getvalue()


LONG: dict[str, Any] = {
    "scenario": '[policy]\nearly = "off"\nwho_runs = "least used"\n[[engine]]\nname = "A"\nsince = { full = 30 }\n'
    '[[engine]]\nname = "B"\n',
    "calendar": "event,date,kind,laps,hours,level\nwinter,2027-02-20,service,,,full\n"
    + "".join(
        f"race {n},2027-{3 + n // 3:02d}-{1 + 9 * (n % 3):02d},,{20 + 3 * (n % 4)},{1 + n % 2},\n" for n in range(18)
    ),
    "slots": "slot,part,pieces\nblock,block,1\nsprings,spring,8\nrings,ring,4\nhoses,hose,2\nclutch,clutch,1\n",
    "parts": "part,price,pack,resale\nblock,600,1,50\nspring,9,3,1\nring,17,1,0\nhose,3,1,0\nclutch,150,1,10\n",
    "lives": f"part,measure,replace_at,risk,shape\nblock,laps,250,{SURE}\nspring,laps,83,{SURE}\nring,hours,13,{SURE}\n"
    f"ring,openings,3,{SURE}\nhose,days,235,{SURE}\nclutch,laps,190,{SURE}\n",
    "catalog": {
        "operations": "operation,role,price\nhone,block,48.75\nbore,block,133.33\n",
        "service_steps": "role,step,operation,factor\nblock,1,hone,0.8\nblock,2,bore,0.7\n",
    },
    "levels": "level,rank,carrier,interval,measure,hours,labour,supplies,renews\nquick,1,engine,,,8,25,3,\n"
    "full,2,engine,170,laps,100,200,20,rings\nside,1,car,,,2,12,0,\n",
    "positions": "slot,level,carrier\nblock,full,engine\nsprings,quick,engine\nrings,full,engine\nhoses,side,car\n"
    "clutch,side,car\n",
    "services": "service,price,every,measure,hours,carrier\noil,47,60,laps,1,engine\ntyres,130,45,laps,3,car\n",
    "garage": "piece,part,engine,slot,count,laps,hours,openings,installed\nspare,spring,,,10,0,0,0,\n"
    "springs of A,spring,A,springs,,35,2,1,2027-01-01\nhoses,hose,car,hoses,,0,0,0,2026-12-01\nold,ring,,,4,20,3,1,\n",
}


def noted(state: machine.State, before: int = 0) -> list[list[int]]:
    """What the machine noted in its openings and renewals, the runs of a second year numbered from `before`."""
    openings = state.openings[: state.n_openings[0]].tolist()
    renewals = state.renewals[: state.n_renewals[0]].tolist()
    return [[row[0] - before, *row[1:]] for row in (*openings, *renewals) if row[0] >= before]


def test_the_second_year_of_a_plan_is_that_of_a_calendar_of_two_years(season_of: SeasonOf) -> None:
    one, two = season_of(**LONG), season_of(**{**LONG, "calendar": of_two_years(LONG["calendar"])})
    runs = len(one.runs)
    assert len(two.runs) == 2 * runs
    both = machine.untraced(two.start)
    machine.play(two.problem, both)
    state = machine.untraced(one.start)
    machine.play(one.problem, state)
    first = noted(state)
    machine.carry_over(one.problem, state)
    machine.play(one.problem, state)
    second = noted(state)
    assert len(first) > 30
    assert len(second) > 30
    assert first != second
    assert first == [row for row in noted(both) if row[0] < runs]
    assert second == noted(both, runs)
    assert state.age == approx(both.age)
    assert state.raw_age == approx(both.raw_age)
    assert state.since == approx(both.since)
    for name in ("step", "item", "value", "installed", "stock", "stock_value", "used_left"):
        assert np.array_equal(getattr(state, name), getattr(both, name)), name


@pytest.mark.parametrize("name", ["oval-v8", "kart-single"])
def test_and_so_it_is_of_the_demos(name: str) -> None:
    """Without the book, whose dates and caps are the year's own, at one price all through, and nothing early."""
    scenario, problems = read_scenario(DEMOS / name, ["scenario/policy/early=off"])
    assert scenario is not None, problems
    sources = replace(scenario.sources, book=type(scenario.book)())
    events = sources.files.events
    later = tuple(
        event.model_copy(update={"event": f"{event.event} again", "date": event.date + timedelta(365)})
        for event in events
    )
    seasons = []
    for calendar in (events, (*events, *later)):
        season, problems = compile_season(replace(sources, files=replace(sources.files, events=calendar)))
        assert season is not None, problems
        prices = np.repeat(season.problem.pack_price[:, :1], len(season.runs) + 1, axis=1)
        kits = np.repeat(season.problem.kit_price[:, :1], len(season.runs) + 1, axis=1)
        seasons.append(replace(season, problem=season.problem._replace(pack_price=prices, kit_price=kits)))
    one, two = seasons
    both, state = machine.untraced(two.start), machine.untraced(one.start)
    machine.play(two.problem, both)
    machine.play(one.problem, state)
    machine.carry_over(one.problem, state)
    machine.play(one.problem, state)
    assert noted(state) == noted(both, len(one.runs))
    assert len(noted(state)) > 20
    assert state.age == approx(both.age)
    assert state.since == approx(both.since)


# --- in the long run


def aged(season_of: SeasonOf, renewal: str, cost: int) -> Season:
    """A part at 1.00 that fails as Weibull of scale 1000 and shape 2.5 and then costs `cost` more; 500 laps a year."""
    days = [date(2027, 1, 1) + timedelta(3 * n) for n in range(100)]
    return season_of(
        calendar="event,date,laps\n" + "".join(f"race {n},{day},5\n" for n, day in enumerate(days)),
        slots="slot,part,pieces\nrod,rod,1\n",
        parts="part,price\nrod,1\n",
        lives="part,measure,replace_at,risk,shape\nrod,laps,1000,0.6321205588285577,2.5\n",
        levels="level,rank\nquick,1\n",
        positions=f"slot,level,renewal,factor\nrod,quick,{renewal}\n",
        damage=f"slot,case,chance,cost\nrod,out,1,{cost}\n",
        scenario='[policy]\nearly = "off"\n',
    )


def test_failures_over_years_are_the_renewal_function(season_of: SeasonOf) -> None:
    # R07: Weibull(2.5, 1000), failures by 500, 1000 and 3000 (renewal equation). A run is 5 laps: what fails is renewed
    # before the next, 2.5 laps later on average, which the mean of 2.97 failures moves by less than 0.01.
    season, n = aged(season_of, "run to failure,1", 0), 4000
    assert season.problem.scale == approx([1000])
    failures = drawn(season, 6, n).cash.cumsum(axis=1) / 100
    for year, mean, variance in ((1, 0.1647713, 0.1431262), (2, 0.7025071, 0.3541371), (6, 2.9727857, 0.7248144)):
        found = failures[:, year - 1]
        assert found.mean() == approx(mean, abs=4 * math.sqrt(variance / n))
        assert found.var() == approx(variance, rel=0.12)


def test_the_winter_breaks_as_much_as_the_life_in_days_says(season_of: SeasonOf) -> None:
    season, n = (
        season_of(
            **{
                **ENGINE,
                "lives": "part,measure,replace_at,risk,shape\nhose,days,400,0.6321205588285577,2\n",
                "slots": "slot,part,pieces\nhoses,hose,1\n",
                "levels": "level,rank,carrier\nyearly,1,car\n",
                "positions": "slot,level,carrier,renewal\nhoses,yearly,car,run to failure\n",
            }
        ),
        20_000,
    )

    def lives(days: float) -> float:
        return math.exp(-((days / 400) ** 2))

    # 100 days pass between the two runs of a year, 265 in the winter. What fails before the second run is new in it.
    first = 1 - lives(100)
    second = 0.0
    for share, age in ((lives(100), 100), (first, 0)):
        broken = 1 - lives(age + WINTER) / lives(age)
        again = 1 - lives(age + 365) / lives(age + WINTER)
        second += share * (broken * (1 + first) + (1 - broken) * again)
    renewed = (drawn(season, 2, n).cash - 2000) / 2000
    for found, expected in zip(renewed.T, (first, second), strict=True):
        assert found.mean() == approx(expected, abs=4 * found.std() / math.sqrt(n))
    assert second > 8 * first


def test_cost_by_year_tends_to_that_of_age_replacement(season_of: SeasonOf) -> None:
    # A01: renewed at 493.05 of Weibull(2.5, 1000), 1 planned and 5 after a failure, costs 0.003462042739 a lap (Barlow
    # and Hunter, Oper. Res. 8, 1960). The nearest age of whole runs is 495, where the rate is the same to five digits.
    season, n = aged(season_of, "at interval,0.495", 4), 2000
    years = drawn(season, 60, n).cash[:, 20:].mean(axis=1) / 100
    assert years.mean() == approx(500 * 0.003462042739, abs=4 * years.std(ddof=1) / math.sqrt(n))
    assert 4 * years.std(ddof=1) / math.sqrt(n) < 0.03
