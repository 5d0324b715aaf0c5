"""When to renew what: against theory, by hand, and what no choice may do."""

from __future__ import annotations

import copy
import csv
import math
import shutil
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from pytest import approx

from costplan.garage.log import read_log
from costplan.life import Weibull, theory
from costplan.scenario import read_scenario
from costplan.season import Season, machine, play_plan
from costplan.season.arrays import as_drawn
from costplan.season.deciding.fresh import unseen
from costplan.season.deciding.timing import _best, _by_theory, _pays_below, timing_of
from costplan.season.deciding.timing_answer import Move, Paste, Timing, Way
from costplan.season.deciding.timing_event import _fresher
from costplan.season.deciding.timing_moves import moves_of
from costplan.season.deciding.timing_paste import paste_of
from costplan.season.deciding.timing_plan import in_the_way, opened, planned_dates, service_day, used_at, walked
from costplan.season.deciding.timing_policy import (
    ENGINE,
    Choice,
    Scope,
    as_filed,
    can_fail,
    done_long_ago,
    scope_of,
    under,
)
from costplan.season.deciding.timing_search import FACTORS, Bench, _other_intervals, look_for_dates, pruned
from costplan.season.deciding.timing_theory import renewal_uses
from costplan.season.deciding.timing_years import over_years
from costplan.season.drawn.comparing import burden_of
from costplan.season.drawn.drawing import draw
from costplan.season.drawn.figures import CountDifference, paired
from costplan.season.drawn.years import Span, draw_years
from costplan.season.logged import season_on

SeasonOf = Callable[..., Season]
ROOT = Path(__file__).parents[2]


# --- against theory

BY_SCALE = repr(1 - math.exp(-1))


def one_part(season_of: SeasonOf, runs: int, hours: float, *, pieces: int = 1, damage: float = 4) -> Season:
    """A part at 1.00 with a life of scale 1000 and shape 2.5; failing, it costs so much more."""
    return season_of(
        calendar="event,date,format\nonly,2027-05-01,long\n",
        sessions="format,session,hours\n" + "".join(f"long,{n},{hours!r}\n" for n in range(runs)),
        slots=f"slot,part,pieces\npart,part,{pieces}\n",
        parts=f"part,price\npart,{1 / pieces!r}\n",
        lives=f"part,measure,replace_at,risk,shape\npart,hours,1000,{BY_SCALE},2.5\n",
        levels="level,rank\nshop,1\n",
        positions=f"slot,level,stops,renew_as\npart,shop,no,{'piece' if pieces > 1 else 'set'}\n",
        damage=f"slot,case,chance,cost\npart,towed home,1,{damage!r}\n",
    )


def rate_under(season_of: SeasonOf, use: float, **more: Any) -> tuple[float, float]:
    """What a part costs an hour in the long run, renewed at a use, and four standard errors of that.

    The second 4,000 hours of a season less the first: how it began is forgotten by then.
    """
    found = []
    for runs in (2000, 4000):
        season = one_part(season_of, runs, 2.0, **more)
        choice = as_filed(season).with_use(0, use / 1000)
        found.append(draw(season, 2000, 3, problem=under(season, choice, 3)).cash / 100)
    grown = (found[1] - found[0]) / 4000
    return float(grown.mean()), 4 * float(grown.std(ddof=1)) / math.sqrt(len(grown))


def test_a01_the_renewal_use_found_is_that_of_age_replacement(season_of: SeasonOf) -> None:
    """Planned 1, failure 5, Weibull of scale 1000 and shape 2.5: best age 493.04696 at 0.003462042739 an hour.

    Barlow & Hunter, Operations Research 8 (1960), policy I; values computed with SciPy 1.17.1 (first-order condition
    and minimiser agree).
    """
    found = timing_of(one_part(season_of, 2000, 5.0), 1000)
    (use,) = found.factors
    assert (use.policy, use.planned_cost, use.failure_cost) == ("I", Decimal("1.00"), Decimal("5.00"))
    assert use.theory == approx(493.04696, abs=0.01)
    assert use.ratio == approx(0.614349, abs=1e-6)
    assert (found.best, use.now) == ("uses", 1000)
    assert use.found in (approx(490), approx(500))  # theory's, rounded to whole hundredths, or the grid's next to it
    rate, error = rate_under(season_of, use.found)
    # A part that breaks in a run of 2 hours is renewed up to 2 hours late, in cycles of at least 400.
    assert rate == approx(0.003462042739, abs=error + 0.003462042739 * 2 / 400)


def test_policy_two_the_renewal_use_found_is_that_of_minimal_repair(season_of: SeasonOf) -> None:
    """Mended by a piece, 0.25 and 4.75 more, the set as old as it was: best age 446.658.

    Barlow & Hunter (1960), policy II, closed form scale * (1 / (5 * 1.5))^(1 / 2.5).
    """
    found = timing_of(one_part(season_of, 2000, 5.0, pieces=4, damage=4.75), 1000)
    (use,) = found.factors
    assert (use.policy, use.planned_cost, use.failure_cost) == ("II", Decimal("1.00"), Decimal("5.00"))
    assert use.theory == approx(446.658, abs=0.001)
    assert use.found in (approx(450), approx(500))
    life = theory.distribution_of(Weibull(1000, 2.5))
    expected = theory.minimal_repair_rate(life, 1, 5, use.found)
    rate, error = rate_under(season_of, use.found, pieces=4, damage=4.75)
    assert rate == approx(expected, abs=error + expected * 2 / 400)


# --- by hand

#: Three events of 30, 40 and 50 laps a week apart, 158 hours between them; springs at 80.00 live 200 laps.
HAND: dict[str, Any] = {
    "calendar": "event,date,laps\none,2027-05-01,30\ntwo,2027-05-08,40\nthree,2027-05-15,50\n",
    "scenario": '[policy]\nearly = "off"\n',
    "slots": "slot,part,pieces\nsprings,spring,2\nvalves,valve,4\n",
    "parts": "part,price\nspring,40\nvalve,10\n",
    "lives": "part,measure,replace_at,risk,limit\nspring,laps,200,0.0001,\nvalve,laps,400,0.0001,\n",
    "levels": "level,rank,hours,labour,renews\nquick,1,8,25,springs\nfull,2,200,90,\n",
    "positions": "slot,level,stretch\nsprings,quick,yes\nvalves,quick,yes\n",
}


def by_hand(season_of: SeasonOf, **tables: Any) -> tuple[Season, Scope]:
    season = done_long_ago(season_of(**{**HAND, **tables}))
    return season, scope_of(season)


def moves(scope: Scope, *dates: tuple[int, int]) -> list[Move]:
    """The first date moved, the others left."""
    choice = replace(as_filed(scope.season), dates=frozenset(dates))
    return moves_of(Bench(scope, 7, 40), choice, dates[0], 40)


def test_moving_a_date_costs_what_the_springs_have_run_more(season_of: SeasonOf) -> None:
    _, scope = by_hand(season_of)
    earlier = moves(scope, (0, 2))
    # 0.40 a lap: the 40 laps of two, and the 30 of one with them; labour and springs are paid once in any case.
    shown = [(move.events, move.before, move.cost and (move.cost.mean, move.cost.error)) for move in earlier[:2]]
    assert shown == [
        (-2, "one", (Decimal("28.00"), Decimal("0.00"))),
        (-1, "two", (Decimal("16.00"), Decimal("0.00"))),
    ]
    assert [(move.cost, move.reason) for move in earlier[2:]] == [(None, "no event is left there")] * 2


def test_two_dates_that_become_one_save_an_opening(season_of: SeasonOf) -> None:
    _, scope = by_hand(season_of)
    (one,) = [move for move in moves(scope, (0, 1), (0, 2)) if move.events == 1]
    # 25.00 of labour and 80.00 of springs less; of those taken out at three after 40 laps 64.00 were lost.
    assert one.cost is not None
    assert one.cost.mean == Decimal("-105.00")


def test_a_gap_that_is_too_short_does_not_hold_a_date(season_of: SeasonOf) -> None:
    _, scope = by_hand(season_of)
    (back, *_) = [move for move in moves(scope, (1, 0)) if move.events == 1]
    assert (back.cost, back.reason) == (None, "the 158 h before two do not hold the 200 h of full")


SHORT_SPRINGS = {
    "lives": HAND["lives"].replace("200,", "65,"),
    "positions": HAND["positions"].replace("quick,yes", "quick,no", 1),
}
LIMITED_VALVES = {"lives": HAND["lives"].replace("400,0.0001,", "400,0.0001,65")}
#: The springs, which every opening renews, have a limit too, far from being reached.
LIMITED_BOTH = {"lives": LIMITED_VALVES["lives"].replace("200,0.0001,", "200,0.0001,900")}


@pytest.mark.parametrize(
    ("tables", "reason"),
    [
        (SHORT_SPRINGS, "springs: due before two, not to be stretched"),
        (LIMITED_VALVES, "valves: a hard limit reached before two, not to be stretched"),
        (LIMITED_BOTH, "valves: a hard limit reached before two, not to be stretched"),
    ],
)
def test_what_may_not_run_on_keeps_a_date_from_moving_later(
    season_of: SeasonOf, tables: dict[str, str], reason: str
) -> None:
    """65 laps: the 30 of one are run, the 40 of two would pass it."""
    _, scope = by_hand(season_of, **tables)
    (later,) = [move for move in moves(scope, (0, 1)) if move.events == 1]
    assert (later.cost, later.reason) == (None, reason)


def test_how_much_of_a_life_is_used_when_an_event_begins(season_of: SeasonOf) -> None:
    season, scope = by_hand(season_of)
    state = walked(season, replace(as_filed(season), dates=frozenset({(0, 1)})))
    assert [used_at(season, state, g, 0) for g in range(3)] == approx([0, 0, 40 / 200])
    assert [used_at(season, state, g, 1) for g in range(3)] == approx([0, 30 / 400, 70 / 400])
    assert opened(scope, state) == {(0, 1)}


# --- from a day on, as a log leaves the engine


def logged(season_of: SeasonOf, folder: Path, rows: str, on: str, **tables: Any) -> Scope:
    """The season by hand as a log of one's rows leaves it on a day."""
    season, _ = by_hand(season_of, **tables)
    (folder / "log.csv").write_text(f"date,what,engine,event,rpm\n{rows}\n", encoding="utf-8")
    entries, problems = read_log(folder / "log.csv")
    assert problems == ()
    left, problems = season_on(season, entries, date.fromisoformat(on))
    assert problems == ()
    return scope_of(left)


def later(scope: Scope, *dates: tuple[int, int]) -> str:
    """What is in the way of the first of some dates, done before three and not before two."""
    return in_the_way(scope, replace(as_filed(scope.season), dates=frozenset(dates)), dates[0], 2)


ONE = "2027-05-01,ran,engine,one,"


def test_of_the_gap_at_hand_a_date_has_the_hours_that_are_left(season_of: SeasonOf, tmp_path: Path) -> None:
    """Two days before two: 14 h between nights and a day more; the gap before three is whole."""
    levels = HAND["levels"].replace("200,", "100,")
    scope = logged(season_of, tmp_path, ONE, "2027-05-06", levels=levels)
    assert [scope.hours_before(g) for g in (1, 2)] == [38, 158]
    assert scope.holds == ((1, 2), (2,))
    choice = replace(as_filed(scope.season), dates=frozenset({(1, 2)}))
    assert in_the_way(scope, choice, (1, 2), 1) == "the 38 h left before two do not hold the 100 h of full"
    assert in_the_way(scope, replace(choice, dates=frozenset({(0, 2)})), (0, 2), 1) == ""


@pytest.mark.parametrize(
    ("on", "days"),
    [
        ("2027-05-02", ["2027-05-02", "2027-05-09"]),
        ("2027-05-06", ["2027-05-06", "2027-05-09"]),
        ("2027-05-08", ["2027-05-07", "2027-05-09"]),  # on the day itself a row would stand behind the event
    ],
)
def test_no_date_lies_before_the_day_of_the_log(on: str, days: list[str], season_of: SeasonOf, tmp_path: Path) -> None:
    season = logged(season_of, tmp_path, ONE, on).season
    assert [str(service_day(season, g)) for g in (1, 2)] == days


def test_a_date_is_done_after_the_event_before_it_or_from_opening_day(season_of: SeasonOf) -> None:
    season, _ = by_hand(season_of)
    assert [str(service_day(season, g)) for g in (0, 1)] == [str(season.opening), "2027-05-02"]
    daily = HAND["calendar"].replace("05-08", "05-02").replace("05-15", "05-03")
    season, _ = by_hand(season_of, calendar=daily)
    assert [str(service_day(season, g)) for g in (1, 2)] == ["2027-05-01", "2027-05-02"]


def test_what_is_to_be_inspected_keeps_a_date_from_moving_later(season_of: SeasonOf, tmp_path: Path) -> None:
    tables = {
        "levels": "level,rank,hours,labour,renews,checks,sees\nquick,1,8,25,springs,springs,0.5\nfull,2,20,90,,,\n",
        "hazards": "hazard,carrier,chance,per\nover-rev,engine,0.01,events\n",
        "damage": "slot,case,chance,hits\nover-rev,bent,0.5,springs\n",
    }
    scope = logged(season_of, tmp_path, f"{ONE}\n2027-05-01,over-revved,engine,one,9000", "2027-05-06", **tables)
    assert later(scope, (0, 1)) == "quick before two: to inspect after the over-rev of 2027-05-01"
    # A higher level that is moved leaves the inspection where it is.
    assert later(scope, (1, 1)) == ""


def test_so_does_what_the_log_leaves_owed(season_of: SeasonOf, tmp_path: Path) -> None:
    calendar = "event,date,laps,kind,level\none,2027-05-01,30,,\nfresh up,2027-05-03,,service,quick\n"
    calendar += "two,2027-05-08,40,,\nthree,2027-05-15,50,,\n"
    scope = logged(season_of, tmp_path, ONE, "2027-05-06", calendar=calendar)
    assert later(scope, (0, 1)) == "quick before two: owed since 2027-05-03: fresh up"


def test_an_interval_that_cannot_be_kept_to_is_no_way_to_owe_less(season_of: SeasonOf, tmp_path: Path) -> None:
    """14 hours before three do not hold 20: after 120 laps all of 27.50 are owed, by 35 laps as by half of them."""
    levels = INTERVAL.replace("quick,1,8", "quick,1,20")
    scope = logged(season_of, tmp_path, f"{ONE}\n2027-05-08,ran,engine,two,", "2027-05-14", levels=levels)
    assert scope.holds == ((), ())
    found = timing_of(scope.season, 40)
    assert (found.best, found.uses_gain and found.uses_gain.mean) == ("fixed", Decimal("0.00"))
    # With 158 hours between them at most 50 laps are run from gap to gap: no interval is shorter than that.
    season, scope = by_hand(season_of, levels=levels)
    assert [moved.intervals[0] for moved in _other_intervals(scope, 0, as_filed(season))] == [1.0, 1.15, 1.3, 1.6, 2.0]
    season, scope = by_hand(season_of, levels=levels.replace(",35,", ",65,"))
    assert next(_other_intervals(scope, 0, as_filed(season))).intervals[0] == 0.85


# --- what a choice changes

INTERVAL = (
    "level,rank,hours,labour,supplies,interval,measure,renews\nquick,1,8,25,2.5,35,laps,springs\nfull,2,100,90,,,,\n"
)


def test_without_an_interval_a_season_costs_the_same_and_owes_work_as_before(season_of: SeasonOf) -> None:
    """The cash is that of a problem without the interval; the work owed at the end is 27.50 by 35 laps."""
    season, _ = by_hand(season_of, levels=INTERVAL)
    problem = under(season, replace(as_filed(season), dates=frozenset({(0, 1)})), 1)
    bare = problem.interval.copy()
    bare[ENGINE, 0] = math.inf
    cost, fee = as_drawn(season, 1).cost, as_drawn(season, 1).fee
    plain = draw(season, 50, problem=problem._replace(interval=bare, cost=cost, fee=fee))
    found = draw(season, 50, problem=problem)
    assert found.cash.tolist() == plain.cash.tolist()
    # 90 laps since it was done: 27.50 * 90 / 35 = 70.71.
    assert set((plain.left - found.left).tolist()) == {7071}


@pytest.mark.parametrize("factor", [0.5, 1.15, 2.0])
def test_another_interval_costs_the_same_an_opening(season_of: SeasonOf, factor: float) -> None:
    season, _ = by_hand(season_of, levels=INTERVAL)
    problem, before = under(season, as_filed(season).with_interval(0, factor), 1), as_drawn(season, 1)
    assert problem.interval[ENGINE, 0] == before.interval[ENGINE, 0] * factor
    paid = problem.cost[ENGINE, 0] + problem.fee[ENGINE, 0]
    assert paid.tolist() == (before.cost[ENGINE, 0] + before.fee[ENGINE, 0]).tolist()
    state = machine.untraced(season.start)
    assert machine.owed_after(problem, 7.0, ENGINE, 0) == approx(machine.owed_after(before, 7.0, ENGINE, 0), abs=1)
    assert state.since[0, ENGINE, 0] == 0


def test_what_the_files_choose_is_the_season_as_it_is(season_of: SeasonOf) -> None:
    season, _ = by_hand(season_of, levels=INTERVAL)
    for field, value in under(season, as_filed(season), 5)._asdict().items():
        assert np.array_equal(value, getattr(as_drawn(season, 5), field)), field


def test_a_position_that_may_not_be_stretched_opens_its_engine_when_it_is_due(season_of: SeasonOf) -> None:
    tables = {
        "positions": HAND["positions"].replace("quick,yes", "quick,no", 1),
        "lives": HAND["lives"].replace("200,", "65,").replace("400,", "65,"),
        "levels": HAND["levels"].replace("springs", ""),
    }
    season, scope = by_hand(season_of, **tables)
    empty = replace(as_filed(season), dates=frozenset())
    assert opened(scope, walked(season, empty)) == {(0, 1), (0, 2)}
    valves = {**tables, "positions": HAND["positions"].replace("valves,quick,yes", "valves,quick,no")}
    assert not under(season, empty, 1).calls[1]
    other, scope = by_hand(season_of, **valves)
    assert under(other, empty, 1).calls.tolist() == [False, True]


def test_a_rest_is_counted_in_the_measure_of_its_level_or_in_events(season_of: SeasonOf) -> None:
    dates = "2027-05-08 2027-05-15"

    def opened_with(quick: int, full: int) -> tuple[list[float], set[tuple[int, int]]]:
        levels = "level,rank,interval,measure,labour,rest,dates\n"
        levels += f"quick,1,200,laps,9,{quick},{dates}\nfull,2,,,90,{full},2027-05-15\n"
        season = season_of(**{**HAND, "levels": levels})
        scope = scope_of(season)
        return season.problem.rest[ENGINE].tolist(), set(opened(scope, play_plan(season)))

    # Before two 30 laps have been run since, before three 70, or 40 where it was done before two; and two events.
    assert opened_with(35, 3) == ([35.0, 3.0], {(0, 2)})
    assert opened_with(30, 3) == ([30.0, 3.0], {(0, 1), (0, 2)})
    assert opened_with(41, 3) == ([41.0, 3.0], {(0, 2)})
    assert opened_with(71, 0) == ([71.0, 0.0], {(1, 2)})


# --- what no choice may do


@pytest.fixture(scope="module")
def kart() -> tuple[Season, Bench, Choice, Timing]:
    """The kart's season, and every choice that a search of few seasons tries in it."""
    season = done_long_ago(demo("kart-single"))
    scope = scope_of(season)
    bench = Bench(scope, 1, 100)
    varied = [p for p in range(len(season.spots)) if scope.leading[p] >= 0 and can_fail(season, p)]
    start = replace(as_filed(season), dates=planned_dates(scope, as_filed(season)))
    found = look_for_dates(bench, start, varied, lambda _: None)
    return season, bench, found, timing_of(season, 100)


def demo(name: str) -> Season:
    scenario, problems = read_scenario(ROOT / "scenarios" / name)
    assert scenario is not None, problems
    assert scenario.compiled is not None
    return scenario.compiled


def test_what_may_not_be_stretched_is_never_renewed_later(kart: tuple[Season, Bench, Choice, Timing]) -> None:
    season, bench, _, _ = kart
    kept = [p for p, spot in enumerate(season.spots) if spot.slot in ("rod", "clutch")]
    assert sorted(bench.scope.kept) == kept
    assert len(bench.known) > 50
    before = as_drawn(season, 1)
    for choice in bench.known:
        problem = under(season, choice, 1)
        assert problem.calls[kept].all()
        for p in kept:
            lives = list(season.lives(p))
            assert (problem.due_at[lives] <= before.due_at[lives]).all()


def test_no_choice_changes_limits_lives_or_what_things_are_worth(kart: tuple[Season, Bench, Choice, Timing]) -> None:
    season, bench, _, _ = kart
    before = as_drawn(season, 1)
    moved = {"due_at", "interval", "cost", "fee", "called", "calls", "rest", "measure", "renews"}
    for choice in list(bench.known)[:20]:
        after = under(season, choice, 1)
        for field in machine.Problem._fields:
            assert field in moved or np.array_equal(getattr(after, field), getattr(before, field)), field


def test_no_hard_limit_is_passed_whatever_is_chosen() -> None:
    season = demo("oval-v8")
    scope, dice = scope_of(season), np.random.default_rng(5)
    limited = np.flatnonzero(np.isfinite(season.problem.limit))
    assert len(limited) >= 3
    for number in range(4):
        uses = tuple(dice.choice((*FACTORS, math.inf), len(season.spots)).tolist())
        dates = frozenset((k, int(g)) for k in scope.dated for g in dice.choice(scope.holds[k], 2))
        state = copy.deepcopy(season.start)
        state.season[0] = number
        problem = under(season, replace(as_filed(season), uses=uses, dates=dates, rest=4.0), 3)
        machine.play(problem, state)
        for g in np.flatnonzero(state.ran >= 0):
            for j in limited:
                if problem.binds_to[j, g + 1] > g:
                    on = [int(state.ran[g]), len(season.carriers) - 1]
                    assert (state.trace_raw[g, on, j] <= problem.limit[j] * (1 + 1e-6)).all(), (g, j)


# --- the search and its judgement


def test_the_gain_is_judged_on_seasons_that_the_search_has_not_seen(kart: tuple[Season, Bench, Choice, Timing]) -> None:
    season, *_, found = kart
    assert (found.seed, found.judged_seed, found.judged) == (1, unseen(1), 400)
    plain = burden_of(draw(season, 400, unseen(1)))
    assert found.fixed is not None
    assert float(found.fixed.burden.mean) == approx(plain.mean() / 100, abs=0.006)
    assert found.uses is not None
    assert found.uses_gain is not None
    assert float(found.uses_gain.mean) == approx(float(found.uses.burden.mean - found.fixed.burden.mean), abs=0.011)


def best_of(fixed: list[int], uses: list[int], dates: list[int]) -> Way:
    """The best of ways that cost so much in each of a few seasons."""
    season = SimpleNamespace(result_worth=0, rates=SimpleNamespace(currency="USD"))

    def drawn(cash: list[int]) -> Any:
        nothing = np.zeros(len(cash), dtype=np.int64)
        return SimpleNamespace(season=season, cash=np.array(cash), left=nothing, lost=nothing)

    ways: dict[Way, Any] = {"fixed": drawn(fixed), "uses": drawn(uses), "dates": drawn(dates)}
    gains = {way: paired(burden_of(one) - burden_of(ways["fixed"]), "USD") for way, one in ways.items()}
    return _best(ways, gains)


@pytest.mark.parametrize(
    ("uses", "dates", "best"),
    [
        ([900, 910, 890], [901, 911, 891], "dates"),  # one of 1,000 in every season is a trifle
        ([900, 910, 890], [902, 912, 892], "uses"),
        ([900, 910, 890], [899, 909, 889], "dates"),
        ([900, 910, 890], [870, 970, 880], "dates"),  # no difference shown
        ([900, 910, 890], [1000, 1001, 1002], "uses"),
        ([1000, 1000, 1001], [1000, 1001, 1002], "fixed"),
    ],
)
def test_dates_are_preferred_unless_other_uses_beat_them_by_more_than_a_trifle(
    uses: list[int], dates: list[int], best: Way
) -> None:
    assert best_of([1000, 1010, 990], uses, dates) == best


def test_what_is_answered_is_of_the_way_that_is_to_be_written_down(kart: tuple[Season, Bench, Choice, Timing]) -> None:
    season, *_, found = kart
    assert found.paste is not None
    filed = {spot.slot: spot.factor for spot in season.spots}
    moved = {row.slot for row in found.paste.positions if row.factor != filed[row.slot] or row.renewal != "at interval"}
    assert {one.slot for one in found.factors if one.found != one.now} == moved - {"ignition"}
    assert bool(found.intervals) == (found.best == "uses")


def test_without_dates_a_fresher_plan_is_looked_for_from_those_of_its_openings() -> None:
    season = done_long_ago(demo("kart-single"))
    scope, filed = scope_of(season), as_filed(season)
    g = scope.big_starts()[-1] if scope.big_starts() else scope.firsts[-1]
    plans = list(_fresher(scope, filed, g))
    assert plans[0].dates is None
    planned = planned_dates(scope, filed)
    assert all(plan.dates is not None for plan in plans[1:])
    assert any(plan.dates == planned | {(k, to)} for plan in plans[1:] for k, to in plan.dates or ())


def test_what_may_not_be_stretched_is_not_even_begun_with_stretched() -> None:
    season = demo("kart-single")
    scope, filed = scope_of(season), as_filed(season)
    kept = [p for p in sorted(scope.kept) if can_fail(season, p) and scope.leading[p] >= 0]
    assert [season.spots[p].slot for p in kept] == ["rod", "clutch"]  # theory would have both at three times
    begun = _by_theory(scope, filed, kept)
    assert all(begun.uses[p] <= filed.uses[p] for p in kept)


def test_a_result_may_be_worth_what_is_saved_by_each_one_lost_more() -> None:
    gain = paired(np.full(4, -10000), "EUR")
    # 400.00 a result is counted in already; half a result more is lost for 100.00.
    assert _pays_below(demo("kart-single"), gain, CountDifference(0.5, 0.01)) == Decimal(600)


# --- over several seasons


def test_over_three_seasons_all_but_the_last_pay_for_what_they_left(season_of: SeasonOf) -> None:
    """As filed before two and three, then before each event: 8 times 107.50; 60.00 of springs left, 27.50 owed.

    Without dates nothing is done in 360 laps: no springs are left, and 27.50 * 360 / 35 = 282.86 are owed.
    """
    season, scope = by_hand(season_of, levels=INTERVAL)
    filed, judge = as_filed(season), Bench(scope, 7, 40)
    found = over_years(judge, replace(filed, dates=frozenset()), filed, None, 40)
    assert found is not None
    assert (found.years, found.followed, found.seasons) == (3, 3, 40)
    # 282.86 - (860 - 60 + 27.50) = -544.64, a third of it in each.
    assert (found.gain.mean, found.gain.error) == (Decimal("-181.55"), Decimal("0.00"))
    assert over_years(judge, filed, filed, None, 40) is None


def test_of_a_season_that_has_begun_the_later_ones_are_as_filed(season_of: SeasonOf, tmp_path: Path) -> None:
    whole, _ = by_hand(season_of, levels=INTERVAL)
    scope = logged(season_of, tmp_path, ONE, "2027-05-06", levels=INTERVAL)
    filed = as_filed(scope.season)
    found = over_years(Bench(scope, 7, 40), replace(filed, dates=frozenset()), filed, whole, 40)
    assert found is not None
    # Two openings less in this season; from the first of the next on both are the same.
    assert (found.followed, found.gain.mean) == (1, Decimal("-215.00"))


def test_a_calendar_of_more_than_a_year_is_not_repeated(season_of: SeasonOf) -> None:
    calendar = HAND["calendar"].replace("2027-05-15", "2028-05-15")
    season, scope = by_hand(season_of, calendar=calendar)
    filed = as_filed(season)
    assert over_years(Bench(scope, 7, 40), replace(filed, dates=frozenset()), filed, None, 40) is None


def test_a_search_is_the_same_again(kart: tuple[Season, Bench, Choice, Timing]) -> None:
    season, *_, found = kart
    assert timing_of(season, 100) == found


def test_the_seeds_go_round(season_of: SeasonOf) -> None:
    found = timing_of(by_hand(season_of)[0], 20, 2**32 - 1)
    assert (found.seed, found.judged_seed) == (2**32 - 1, 2**31 - 1)


def test_where_nothing_is_better_the_fixed_intervals_are_kept(season_of: SeasonOf) -> None:
    """Springs at 200 laps, of which 120 are run: nothing is renewed whatever is chosen."""
    found = timing_of(by_hand(season_of)[0], 100)
    assert found.best == "fixed"
    assert (found.uses_gain and found.uses_gain.mean, found.services) == (Decimal("0.00"), ())
    assert found.paste is None


def test_dates_beat_an_interval_that_wears_nothing_down(season_of: SeasonOf) -> None:
    """Every 35 laps is twice: 27.50 and 80.00 each time; on dates never, owing 27.50 * 120 / 35 = 94.29 at the end.

    As filed 50 laps are owed: the part of 27.50 that they are, all of it; and springs of 50 laps are left, not of 120.
    """
    found = timing_of(by_hand(season_of, levels=INTERVAL)[0], 100)
    # Two openings of 107.50, 27.50 owed, 60.00 left: 182.50; none, 94.29 owed and 32.00 left: 62.29.
    assert found.dates_gain is not None
    assert found.dates_gain.mean == Decimal("-120.21")
    assert found.best in ("uses", "dates")


def test_a_choice_is_pruned_of_what_does_not_pay(season_of: SeasonOf) -> None:
    season, scope = by_hand(season_of)
    filed = as_filed(season)
    loaded = replace(filed.with_use(1, 0.7), dates=frozenset({(0, 1), (0, 2)}), rest=2.0)
    assert pruned(Bench(scope, 1, 100), loaded, filed) == replace(filed, dates=frozenset())


def test_without_lives_there_is_nothing_to_look_for(season_of: SeasonOf) -> None:
    found = timing_of(
        season_of(
            calendar="event,date,laps\none,2027-05-01,30\ntwo,2027-05-08,40\n",
            services="service,price,every,measure\nfreshen,900,60,laps\n",
        ),
        100,
    )
    assert (found.certain, found.best, found.services, found.tried) == (True, "fixed", (), 0)


def test_theory_has_a_use_for_every_position_that_was_moved(kart: tuple[Season, Bench, Choice, Timing]) -> None:
    _, bench, found, timing = kart
    uses = {use.slot: use for use in timing.factors}
    assert {"piston", "rod", "clutch", "plug"} <= set(uses)
    assert not uses["rod"].stretch
    (again,) = renewal_uses(bench.scope, found, found, [next(iter(bench.scope.kept))])
    assert again.theory == uses[again.slot].theory


# --- following it


def follow(folder: Path, paste: Paste) -> None:
    """Writes what is to be written into the files of a folder."""

    def rewrite(name: str, change: Callable[[dict[str, str]], dict[str, str] | None], more: Any = ()) -> None:
        path = folder / f"{name}.csv"
        rows = [change(row) for row in csv.DictReader(path.read_text(encoding="utf-8").splitlines())]
        found = [*(row for row in rows if row is not None), *more]
        with path.open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, list(dict.fromkeys(key for row in found for key in row)), restval="")
            writer.writeheader()
            writer.writerows(found)

    levels, positions = ({row.level: row for row in paste.levels}, {row.slot: row for row in paste.positions})

    def event(row: dict[str, str]) -> dict[str, str] | None:
        if row["event"] not in paste.dropped:
            return row
        return {**row, "level": paste.instead} if paste.instead else None

    def level(row: dict[str, str]) -> dict[str, str]:
        if row["level"] not in levels:
            return row
        new = levels[row["level"]]
        row = {**row, "rest": str(new.rest), "renews": " ".join(new.renews)}
        if new.interval is None:
            return {**row, "interval": "", "measure": "", "dates": ""}
        return {**row, "interval": str(new.interval)}

    def position(row: dict[str, str]) -> dict[str, str]:
        new = positions.get(row["slot"])
        if new is None:
            return row
        return {**row, "renewal": new.renewal, "factor": str(new.factor), "waits": "yes" if new.waits else "no"}

    calendar = [{"event": r.event, "date": str(r.date), "kind": "service", "level": r.level} for r in paste.calendar]
    rewrite("calendar", event, calendar)
    rewrite("levels", level)
    rewrite("positions", position)


@pytest.mark.parametrize("name", ["oval-v8", "kart-single"])
def test_the_season_follows_what_is_written_into_its_files(name: str, tmp_path: Path) -> None:
    """Some dates of each level, a part renewed sooner, one run to failure, springs or piston with every opening."""
    for part in ("scenarios", "catalogs"):
        shutil.copytree(ROOT / part / name, tmp_path / part / name)
    season = done_long_ago(demo(name))
    scope, dice = scope_of(season), np.random.default_rng(2)
    dates = frozenset((k, int(g)) for k in scope.dated for g in dice.choice(scope.holds[k][1:], 3))
    free = [p for p, spot in enumerate(season.spots) if p not in scope.kept and spot.ladder == ENGINE and spot.lives]
    choice = replace(as_filed(season), dates=dates, always=frozenset(scope.short))
    choice = choice.with_use(free[1], 0.7).with_use(free[2], math.inf).with_use(free[3], 1.3)
    followed(tmp_path / "scenarios" / name, scope, choice)


@pytest.mark.parametrize("name", ["oval-v8", "kart-single"])
def test_the_season_follows_other_renewal_uses_and_intervals(name: str, tmp_path: Path) -> None:
    for part in ("scenarios", "catalogs"):
        shutil.copytree(ROOT / part / name, tmp_path / part / name)
    season = done_long_ago(demo(name))
    scope = scope_of(season)
    free = [p for p, spot in enumerate(season.spots) if p not in scope.kept and spot.ladder == ENGINE and spot.lives]
    choice = as_filed(season).with_use(free[1], 0.7).with_use(free[3], 1.3)
    for k in scope.dated:
        choice = choice.with_interval(k, 0.7)
    followed(tmp_path / "scenarios" / name, scope, choice)


def test_a_service_row_that_the_log_names_is_kept_and_does_nothing(tmp_path: Path) -> None:
    for part in ("scenarios", "catalogs"):
        shutil.copytree(ROOT / part / "oval-v8", tmp_path / part / "oval-v8")
    folder, season = tmp_path / "scenarios" / "oval-v8", done_long_ago(demo("oval-v8"))
    assert "winter work" in (folder / "log.csv").read_text(encoding="utf-8")
    scope, choice = scope_of(season), replace(as_filed(season), dates=frozenset())
    paste = paste_of(scope, choice)
    assert (paste.dropped, paste.instead) == (("winter work",), "trackside")
    followed(folder, scope, choice)
    scenario, problems = read_scenario(folder)
    assert scenario is not None
    assert problems == ()
    season_late, problems = scenario.season_on(date(2027, 6, 1))
    assert (season_late is not None, problems) == (True, ())


def test_what_is_written_is_played_so_year_after_year(tmp_path: Path) -> None:
    """The cash of each of three years; what is left differs, since work is owed only where there is an interval."""
    for part in ("scenarios", "catalogs"):
        shutil.copytree(ROOT / part / "kart-single", tmp_path / part / "kart-single")
    season = done_long_ago(demo("kart-single"))
    scope = scope_of(season)
    k, g = scope.dated[-1], scope.holds[scope.dated[-1]][4]
    choice = replace(as_filed(season), dates=frozenset({(k, g)}))
    problem = under(season, choice, 9, 3)
    chosen = draw_years(Span(season, problem, problem, 3), 40)
    folder = tmp_path / "scenarios" / "kart-single"
    follow(folder, paste_of(scope, choice))
    scenario, problems = read_scenario(folder)
    assert scenario is not None, problems
    assert scenario.compiled is not None
    problem = as_drawn(scenario.compiled, 9)
    written = draw_years(Span(scenario.compiled, problem, problem, 3), 40)
    assert np.array_equal(chosen.cash, written.cash)
    assert np.array_equal(chosen.lost, written.lost)
    assert (chosen.left <= written.left).all()
    assert chosen.left[:, -1].mean() < written.left[:, -1].mean()


def followed(folder: Path, scope: Scope, choice: Choice) -> None:
    """A folder into which a choice is written is opened as the choice is."""
    season, dates = scope.season, choice.dates or frozenset()
    expected = opened(scope, walked(season, choice))
    assert dates <= expected | {(k, g) for k, g in dates for other, run in expected if run == g and other > k}
    follow(folder, paste_of(scope, choice))
    scenario, problems = read_scenario(folder)
    assert scenario is not None, problems
    assert scenario.compiled is not None
    assert opened(scope, play_plan(scenario.compiled)) == expected
