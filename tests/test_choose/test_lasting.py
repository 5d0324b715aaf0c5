"""What a part costs a season and how long it lasts, worked by hand on a season of three events and 120 laps."""

from __future__ import annotations

import math
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from pytest import approx
from scipy import integrate, special  # type: ignore[import-untyped]

from costplan.choose.lasting import Lasting, Reach, Seasons
from costplan.choose.replayed import replay
from costplan.life import Weibull, from_failures
from costplan.life.stages import Renewal, mean_use, rate_mended, rate_of, survival
from costplan.life.theory import (
    age_replacement_rate,
    distribution_of,
    first_of,
    minimal_repair_rate,
    run_to_failure_rate,
)
from costplan.problems import Place
from costplan.rules.book import BarredWork, Book, Clause, DatedPart
from costplan.scenario import Scenario, read_scenario

Ask = Callable[..., Lasting]

CALENDAR = "event,date,laps\none,2027-05-01,30\ntwo,2027-05-08,40\nthree,2027-05-15,50\n"
#: A life of which nobody breaks before it is renewed: the scale is 1000^(1/100) = 1.07 times the renewal use and more.
SURE = "replace_at,risk,shape"
BLOCK = "slot,part\nblock,B\n"


def scenario_of(
    folder: Path,
    *,
    parts: str = "part,role,price\nB,block,200\nC,block,100\n",
    lives: str = "",
    build: str = BLOCK,
    quantity: int = 1,
    positions: str = "slot,level\nblock,rebuild\n",
    levels: str = "level,rank\nquick,1\nrebuild,2\n",
    calendar: str = CALENDAR,
    scenario: str = "",
    **tables: str,
) -> Scenario:
    """A scenario of literal tables; each role of `parts` is a slot of the same name, of so many pieces.

    `operations` and `service_steps` are of the catalog; other names are files of the scenario.
    """
    head, *rows = parts.strip().splitlines()
    roles = dict.fromkeys(row.split(",")[1] for row in rows)
    files = {
        "c/catalog.toml": 'name = "invented"\ncurrency = "USD"\n',
        "c/roles.csv": "\n".join(("role", *roles)),
        "c/parts.csv": "\n".join((f"{head},supplier,price_date", *(f"{row},shop,2027-01-01" for row in rows))),
        "c/lives.csv": lives or "part,measure,replace_at\nB,laps,60\n",
        "pattern.toml": 'name = "by hand"\n'
        + "".join(f'[[slot]]\nslot = "{role}"\nrole = "{role}"\nquantity = {quantity}\n' for role in roles),
        "build.csv": build,
        "positions.csv": positions,
        "levels.csv": levels,
        "calendar.csv": calendar,
        "scenario.toml": 'title = "by hand"\ncurrency = "USD"\ncatalogs = ["c"]\npattern = "pattern.toml"\n'
        'build = "build.csv"\n' + scenario,
    }
    in_catalog = ("operations", "service_steps")
    files |= {f"{'c/' if name in in_catalog else ''}{name}.csv": text for name, text in tables.items()}
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8")
    found, problems = read_scenario(folder)
    assert found is not None, problems
    return found


def seasons_of(scenario: Scenario, book: Book | None = None) -> Seasons:
    season, problems = scenario.season()
    assert season is not None, problems
    return Seasons(scenario, season if book is None else replace(season, book=book))


@pytest.fixture
def ask(tmp_path: Path) -> Ask:
    """What a part costs in a slot of a scenario of literal tables."""

    def asked(
        slot: str = "block", part: str = "B", spend: float = 200.0, book: Book | None = None, **tables: object
    ) -> Lasting:
        scenario = scenario_of(tmp_path, **tables)  # type: ignore[arg-type]
        assert scenario.catalog is not None
        found = seasons_of(scenario, book).of(slot, scenario.catalog.parts[part], spend)
        assert found is not None
        return found

    return asked


# One life


def test_a_life_that_never_fails_costs_its_price_by_the_seasons_that_it_lasts(ask: Ask) -> None:
    # 120 laps a season, renewed at 60 of them (two renewals, one and a half events apart)
    found = ask(lives=f"part,measure,{SURE}\nB,laps,60,0.0000001,100\n")
    assert (found.per_season, found.renewals) == approx((400, 2), rel=1e-6)
    assert (found.interval, found.events) == approx((0.5, 1.5))
    assert found.what.startswith("60 laps (")
    assert "lives.csv:2)" in found.what


def test_published_best_age(ask: Ask) -> None:
    # Documentation of the Python package reliability 0.9.0, Optimal replacement time (Barlow & Hunter, Operations
    # Research 8 (1960)): planned 1, failure 5, Weibull of scale 1000 and shape 2.5. At the exact best age 493.04696 a
    # unit of use costs 0.003462042739, run to failure 0.00563530; a season is 120 of them.
    risk = -math.expm1(-((493.04696 / 1000) ** 2.5))
    tables = {
        "lives": f"part,measure,{SURE}\nB,laps,493.04696,{risk!r},2.5\n",
        "damage": "slot,case,chance,hits,cost\nblock,lost,1,,4\n",
    }
    assert ask(spend=1.0, **tables).per_season == approx(120 * 0.003462042739, abs=120e-11)
    left = ask(spend=1.0, positions="slot,level,renewal\nblock,rebuild,run to failure\n", **tables)
    assert left.per_season == approx(120 * 0.00563530, abs=120 * 5e-9)
    assert (left.renewals, left.interval, left.what) == (0.0, math.inf, "run to failure")


def test_the_factor_of_the_position_moves_the_renewal_use(ask: Ask) -> None:
    positions = "slot,level,factor\nblock,rebuild,1.5\n"
    assert ask(positions=positions).interval == approx(90 / 120)


def test_a_session_ages_a_life_by_its_duty_and_speed(ask: Ask) -> None:
    # (30 * 0.5 + 90) laps at twice the rated speed, squared: 420 laps of life a season
    found = ask(
        calendar="event,date,format,laps,rpm\none,2027-05-01,short,,\ntwo,2027-05-08,,90,8000\n",
        sessions="format,session,laps,rpm,duty\nshort,heat,30,8000,0.5\n",
        lives="part,measure,replace_at,rated_rpm,rpm_exponent\nB,laps,60,4000,2\n",
    )
    assert found.interval == approx(60 / 420)
    assert found.events == approx(2 * 60 / 420)


def test_days_are_counted_by_the_year(ask: Ask) -> None:
    found = ask(lives="part,measure,replace_at,limit\nB,days,,730\n")
    assert (found.per_season, found.interval) == approx((100, 2))
    assert found.what.startswith("730 days, a hard limit")


def test_what_the_book_dates_is_a_limit(ask: Ask) -> None:
    clause = Clause("rules", "T9", "no part is older than a year", Place("rules.toml", 3))
    dated = (DatedPart(clause, "block", 365.0), DatedPart(clause, "heads", 30.0))
    found = ask(lives="part,measure,replace_at\nB,days,730\n", book=Book(dated=dated))
    assert (found.interval, found.what) == (1, "365 days (T9, rules.toml:3)")


# Several lives


def in_seasons(low: float, likely: float, a_season: float) -> Weibull:
    """The life that one in ten ends by one use and half by another, in seasons of so much use."""
    life = from_failures(low, likely)
    return Weibull(life.scale / a_season, life.shape)


def test_several_lives_are_renewed_at_the_first_and_fail_by_any(ask: Ask) -> None:
    # 120 laps and 3 starts a season: 60 laps come first, and either life may end before
    found = ask(lives="part,measure,low,likely,replace_at\nB,laps,40,85,60\nB,starts,1.6,3.3,9\n")
    both = first_of(*(distribution_of(in_seasons(*life)) for life in ((40, 85, 120), (1.6, 3.3, 3))))
    assert found.per_season == approx(age_replacement_rate(both, 200, 200, 60 / 120), rel=1e-8)
    assert found.what.startswith("60 laps")
    alone = ask(lives="part,measure,low,likely,replace_at\nB,laps,40,85,60\n")
    assert found.failures > alone.failures


@pytest.mark.parametrize(("scale", "shape"), [(1.0, 0.1), (3.0, 0.5), (0.2, 1.0), (0.5, 2.5), (0.5, 95.0)])
@pytest.mark.parametrize("until", [0.01, 0.4999, 0.51, 3.0, math.inf])
def test_one_life_has_the_mean_use_of_the_incomplete_gamma(scale: float, shape: float, until: float) -> None:
    # the integral of exp(-(t/scale)^shape) from 0 to T is scale/shape * gamma(1/shape) * P(1/shape, (T/scale)^shape)
    share = special.gammainc(1 / shape, (until / scale) ** shape)
    closed = scale * math.gamma(1 + 1 / shape) * share
    assert mean_use((Weibull(scale, shape),), until) == approx(closed, rel=1e-9)


@pytest.mark.parametrize("until", [0.05, 0.7, 2.0, math.inf])
def test_several_lives_have_the_mean_use_that_scipy_integrates(until: float) -> None:
    modes = (Weibull(1.0, 0.7), Weibull(0.8, 3.0), Weibull(0.9, 40.0))
    whole, _ = integrate.quad(
        lambda use: survival(modes, use), 0, min(until, 1.2), points=[0.5, 0.8, 0.9], epsrel=1e-11, limit=400
    )
    assert mean_use(modes, until) == approx(whole, rel=1e-6)


def test_a_life_that_no_use_reaches_costs_nothing(ask: Ask) -> None:
    found = ask(lives="part,measure,replace_at\nB,openings,2\n")  # nothing opens in the plan
    assert (found.per_season, found.renewals, found.failures, found.interval) == (0, 0, 0, math.inf)


# Service steps

OPERATIONS = "operation,role,price,price_date\nhone,block,15,2027-01-01\nbore,block,25,2027-01-01\n"
STEPS = "role,step,operation,factor,mends\nblock,1,hone,0.8,no\nblock,2,bore,0.6,yes\n"
#: Nobody breaks before 60 laps, nor before 48 and 36 after the steps.
LONG = f"part,measure,{SURE}\nB,laps,60,0.0000001,100\n"


def test_a_path_costs_a_new_set_and_its_steps_by_all_their_lives(ask: Ask) -> None:
    # 200 new, 15 and 25 for steps: 60 + 48 + 36 laps of 120 a season
    found = ask(operations=OPERATIONS, service_steps=STEPS, lives=LONG)
    assert found.per_season == approx((200 + 15 + 25) / (144 / 120), rel=1e-6)
    assert found.renewals == approx(3 / (144 / 120), rel=1e-6)
    assert found.interval == approx(0.5)  # of a new set
    assert sum("service step" in word for word in found.assumed) == 2


def test_a_step_is_paid_for_every_piece_of_the_set(ask: Ask) -> None:
    found = ask(operations=OPERATIONS, service_steps=STEPS, lives=LONG, quantity=2)
    assert found.per_season == approx((200 + 30 + 50) / (144 / 120), rel=1e-6)


def test_no_step_takes_a_set_past_its_limit(ask: Ask) -> None:
    # the limit ends the life after the first step at 100 - 60 laps; the second is not done
    lives = LONG.replace("shape", "shape,limit").replace(",100\n", ",100,100\n")
    found = ask(operations=OPERATIONS, service_steps=STEPS, lives=lives)
    assert found.per_season == approx((200 + 15) / (100 / 120), rel=1e-6)
    # and at the limit itself none is done
    found = ask(operations=OPERATIONS, service_steps=STEPS, lives=lives.replace(",100,100", ",100,60"))
    assert found.per_season == approx(200 / (60 / 120), rel=1e-6)


@pytest.mark.parametrize(("slots", "cost"), [((), 215 / 108), (("block",), 215 / 108), (("heads",), 240 / 144)])
def test_a_step_that_the_book_bars_ends_the_path(ask: Ask, slots: tuple[str, ...], cost: float) -> None:
    clause = Clause("rules", "T6", "no block is bored", Place("rules.toml", 3))
    book = Book(barred=(BarredWork(clause, slots, lambda operation: operation.operation == "bore"),))
    found = ask(operations=OPERATIONS, service_steps=STEPS, lives=LONG, book=book)
    assert found.per_season == approx(120 * cost, rel=1e-6)


def test_a_failure_buys_a_new_set_unless_the_next_step_mends() -> None:
    # Run to failure, mean lives of 4 and 2 seasons. A step that mends follows every failure: 110 in 6 seasons.
    new, worked = Renewal(math.inf, (Weibull(4, 1),), 100.0), Renewal(math.inf, (Weibull(2, 1),), 10.0, mends=1.0)
    assert rate_of((new, worked)).cost == approx(110 / 6)
    assert rate_of((new, worked._replace(mends=0.5))).cost == approx(105 / 5)
    assert rate_of((new, worked._replace(mends=0.0))).cost == approx(100 / 4)
    assert rate_of((new, worked), beyond=30.0).cost == approx((110 + 60) / 6)
    assert rate_of((new, worked._replace(mends=0.5)), beyond=30.0).cost == approx((105 + 30 + 15) / 5)


def test_no_step_mends_what_is_lost_with_its_engine(ask: Ask) -> None:
    # Mean life of 120 laps without memory; half of the failures are mended by a step of 15 and live 96 laps on.
    found = ask(
        operations=OPERATIONS,
        service_steps="role,step,operation,factor,mends\nblock,1,hone,0.8,yes\n",
        lives=f"part,measure,{SURE}\nB,laps,120,{-math.expm1(-1)!r},1\n",
        positions="slot,level,renewal\nblock,rebuild,run to failure\n",
        damage="slot,case,chance,engine\nblock,lost,0.5,scrapped\n",
    )
    assert found.per_season == approx((200 + 0.5 * 15) / (1 + 0.5 * 0.8))


# One piece of a set


def test_a_piece_for_a_piece_leaves_the_set_as_old_as_it_is(ask: Ask) -> None:
    # 8 pieces for 200, 25 each: the set is mended until it is renewed (Barlow & Hunter (1960), policy II)
    tables = {"lives": "part,measure,low,likely,replace_at\nB,laps,40,85,60\n", "quantity": 8}
    found = ask(positions="slot,level,renew_as\nblock,rebuild,piece\n", **tables)
    life = distribution_of(in_seasons(40, 85, 120))
    assert found.per_season == approx(minimal_repair_rate(life, 200, 25, 0.5), rel=1e-9)
    assert found.renewals == approx(2)
    assert found.per_season < ask(**tables).per_season


def test_a_set_lost_with_its_engine_is_new_and_no_piece(ask: Ask) -> None:
    # a tenth of the failures lose the engine, and cost the other seven pieces and 40 more
    found = ask(
        lives="part,measure,low,likely,replace_at\nB,laps,40,85,60\n",
        positions="slot,level,renew_as\nblock,rebuild,piece\n",
        damage="slot,case,chance,cost,engine\nblock,lost,0.1,40,scrapped\n",
        quantity=8,
    )
    life = distribution_of(in_seasons(40, 85, 120))
    assert found.per_season == approx(minimal_repair_rate(life, 200, 25 + 0.1 * (175 + 40), 0.5), rel=1e-9)


def test_pieces_that_run_to_failure_each_last_by_themselves(ask: Ask) -> None:
    # the life of a piece is given; each of the 8 costs 25 by its mean life
    found = ask(
        lives="part,measure,low,likely,life_of\nB,laps,40,85,piece\n",
        positions="slot,level,renew_as,renewal\nblock,rebuild,piece,run to failure\n",
        quantity=8,
    )
    one = distribution_of(in_seasons(40, 85, 120))
    assert found.per_season == approx(8 * run_to_failure_rate(one, 25), rel=1e-9)
    whole = Renewal(math.inf, (in_seasons(40, 85, 120).of_set(8),), 200.0)
    assert rate_mended((whole,), 8, 25.0).cost == approx(found.per_season)


# Levels


def test_what_a_level_renews_every_time_lasts_no_longer_than_its_interval(ask: Ask) -> None:
    levels = "level,rank,interval,measure,renews\nquick,1,,,\nrebuild,2,40,laps,block\n"
    found = ask(levels=levels, lives=LONG)
    assert (found.per_season, found.interval) == approx((3 * 200, 0.5), rel=1e-6)
    assert "; renewed at every rebuild, 40 laps (" in found.what
    later = ask(levels=levels.replace(",40,", ",80,"), lives=LONG)
    assert later.per_season == approx(2 * 200, rel=1e-6)
    assert ";" not in later.what


def test_a_higher_level_renews_what_a_lower_one_does(ask: Ask) -> None:
    levels = "level,rank,interval,measure,renews\nquick,1,50,laps,block\nrebuild,2,40,laps,\n"
    assert ask(levels=levels, positions="slot,level\nblock,quick\n", lives=LONG).renewals == approx(3, rel=1e-6)
    other = levels.replace("block", "").replace("laps,\n", "laps,block\n")
    assert ask(levels=other, positions="slot,level\nblock,quick\n", lives=LONG).renewals == approx(3, rel=1e-6)
    lower = "level,rank,interval,measure,renews\nquick,1,40,laps,\nrebuild,2,50,laps,block\n"
    assert ask(levels=lower, positions="slot,level\nblock,quick\n", lives=LONG).renewals == approx(2.4, rel=1e-6)


def test_a_service_row_calls_for_its_level(ask: Ask) -> None:
    calendar = "event,date,kind,laps,level\nwinter,2027-04-01,service,,rebuild\n" + CALENDAR.partition("\n")[2].replace(
        ",30", ",race,30,"
    ).replace(",40", ",race,40,").replace(",50", ",race,50,")
    levels = "level,rank,renews\nquick,1,\nrebuild,2,block\n"
    found = ask(levels=levels, calendar=calendar, lives="part,measure,replace_at\nC,laps,60\n")
    assert found.per_season == approx(200)


def test_a_part_without_a_life_costs_what_its_level_takes(ask: Ask) -> None:
    levels = "level,rank,dates,renews\nquick,1,,\nrebuild,2,2027-05-02 2027-05-09,block\n"
    found = ask(levels=levels, lives="part,measure,replace_at\nC,laps,60\n")
    assert (found.per_season, found.interval) == (400, math.inf)
    assert found.what == "no life; renewed at every rebuild, by its dates"


def test_openings_are_those_of_the_plan_and_break_nothing(ask: Ask) -> None:
    # the level is done before two and before three: a set that may stay in through 2 openings goes at the third
    found = ask(
        levels="level,rank,dates\nquick,1,\nrebuild,2,2027-05-02 2027-05-09\n",
        lives="part,measure,replace_at\nB,openings,2\n",
    )
    assert (found.per_season, found.interval, found.failures) == approx((200 / 1.5, 1.5, 0))


def test_a_higher_level_opens_too_and_nothing_goes_at_its_first_opening(ask: Ask) -> None:
    tables = {
        "levels": "level,rank,dates\nquick,1,\nrebuild,2,2027-05-02 2027-05-09\n",
        "lives": "part,measure,replace_at\nB,openings,0.5\n",
    }
    assert ask(positions="slot,level\nblock,quick\n", **tables).interval == approx(2 / 2)


def test_the_level_that_reaches_a_slot_has_its_rank(tmp_path: Path) -> None:
    tables = {"levels": "level,rank,carrier\nquick,1,engine\nrebuild,2,engine\nbench,1,car\n"}
    seasons = seasons_of(scenario_of(tmp_path, **tables))  # type: ignore[arg-type]
    quick, rebuild, bench = (Reach("quick", "engine", 1), Reach("rebuild", "engine", 2), Reach("bench", "car", 1))
    assert seasons.levels == (quick, rebuild, bench)
    assert seasons.level_of("block") == rebuild
    assert seasons.level_of("elsewhere") is None


# What a failure takes along

TWO = "part,role,price,pack\nB,block,200,1\nP,piston,50,4\nR,ring,30,1\n"
ENGINE = {
    "parts": TWO,
    "build": "slot,part\nblock,B\npiston,P\nring,R\n",
    "lives": "part,measure,low,likely,replace_at\nB,laps,40,85,60\nP,laps,,,60\nR,laps,,,60\n",
    "operations": OPERATIONS,
}
REACHED = "slot,level,renew_as\nblock,rebuild,\npiston,rebuild,\nring,rebuild,{ring}\n"


def expected(beyond: float) -> float:
    life = distribution_of(in_seasons(40, 85, 120))
    return age_replacement_rate(life, 200, 200 + beyond, 0.5)


@pytest.mark.parametrize(
    ("cases", "beyond"),
    [
        ("block,cracked,0.5,piston,hone,11,stays", 0.5 * (50 + 15 + 11)),  # four pistons of a pack of four at 50
        ("block,cracked,0.5,piston,,0,stays\nblock,worse,0.1,ring,,0,stays", 0.5 * 50 + 0.1 * 4 * 30),
        ("block,gone,0.2,,,40,scrapped", 0.2 * (50 + 4 * 30 + 40)),  # all that is planned in the engine
    ],
)
def test_cases_are_priced_at_the_planned_parts(ask: Ask, cases: str, beyond: float) -> None:
    damage = f"slot,case,chance,hits,operations,cost,engine\n{cases}\n"
    found = ask(positions=REACHED.format(ring=""), damage=damage, quantity=4, **ENGINE)
    assert found.per_season == approx(expected(beyond), rel=1e-8)
    assert any("the bill of its case" in word for word in found.assumed)


def test_a_case_breaks_one_piece_where_one_piece_is_renewed(ask: Ask) -> None:
    damage = "slot,case,chance,hits,engine\nblock,cracked,0.5,ring,stays\nblock,gone,0.1,,scrapped\n"
    found = ask(positions=REACHED.format(ring="piece"), damage=damage, quantity=4, **ENGINE)
    assert found.per_season == approx(expected(0.5 * 30 + 0.1 * (50 + 4 * 30)), rel=1e-8)


def test_of_alternates_a_case_breaks_the_one_that_runs_else(ask: Ask) -> None:
    tables = ENGINE | {
        "build": "slot,part,alternate,serves\nblock,B,,\npiston,P,big,\npiston,P,small,tight\nring,R,,\n",
        "calendar": "event,date,laps,setup\none,2027-05-01,30,\ntwo,2027-05-08,40,tight\nthree,2027-05-15,50,\n",
    }
    damage = "slot,case,chance,hits\nblock,cracked,0.5,piston\n"
    found = ask(positions=REACHED.format(ring=""), damage=damage, quantity=4, **tables)
    assert found.per_season == approx(expected(0.5 * 50), rel=1e-8)


# Slots


def test_each_alternate_wears_in_the_runs_that_it_serves(ask: Ask) -> None:
    tables = {
        "calendar": "event,date,laps,setup\none,2027-05-01,30,\ntwo,2027-05-08,40,tight\nthree,2027-05-15,50,\n",
        "build": "slot,part,alternate,serves\nblock,B,big,\nblock,C,small,tight\n",
        "lives": "role,measure,replace_at\nblock,laps,60\n",
    }
    assert ask(**tables).interval == approx(60 / 80)
    assert ask("block/small", "C", **tables).interval == approx(60 / 40)


def test_where_there_is_no_position_nothing_wears(tmp_path: Path) -> None:
    scenario = scenario_of(tmp_path, parts=TWO, build="slot,part\nblock,B\npiston,P\nring,R\n")
    assert scenario.catalog is not None
    assert seasons_of(scenario).of("piston", scenario.catalog.parts["P"], 50.0) is None


def test_a_part_that_is_not_planned_is_judged_by_its_own_life(ask: Ask) -> None:
    found = ask(part="C", spend=100.0, lives=LONG + "C,laps,30,0.0000001,100\n")
    assert found.part == "C"
    assert found.per_season == approx(400, rel=1e-6)


def test_guesses_are_told_with_their_rows(ask: Ask) -> None:
    found = ask(lives="part,measure,replace_at,source\nB,laps,60,a shop\n")
    words = ("share broken by replace_at = 5%", "Weibull shape = 2.5")
    assert [word.partition(" (")[0] for word in found.assumed] == list(words)


def test_scipy_is_not_loaded_for_it() -> None:
    code = "import costplan.choose.lasting, sys; sys.exit(any(name.startswith('scipy') for name in sys.modules))"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0  # noqa: S603 - our own words


# Against the season machine


def test_a_long_season_on_the_machine_uses_up_what_the_sum_says(tmp_path: Path) -> None:
    # 300 events of 20 short runs, opened without labour; failures are put right before the next run
    days = [date(2027, 1, 1) + timedelta(days=number) for number in range(300)]
    scenario = scenario_of(
        tmp_path,
        calendar="event,date,format\n" + "".join(f"e{day},{day},night\n" for day in days),
        sessions="format,session,laps\n" + "".join(f"night,s{number},1\n" for number in range(20)),
        lives="part,measure,replace_at,risk,shape\nB,laps,200,0.4,2.5\n",
        levels="level,rank\nrebuild,1\n",
        scenario='[policy]\nearly = "off"\n[gaps]\nbetween_sessions = 1\n',
    )
    assert scenario.catalog is not None
    assert scenario.build is not None
    found = seasons_of(scenario).of("block", scenario.catalog.parts["B"], 200.0)
    (replayed,) = replay(scenario, (scenario.build,), 200)
    assert found is not None
    assert replayed.played is not None
    parts = replayed.played.parts
    assert found.failures == approx(replayed.played.failures.mean, rel=0.02)
    assert found.per_season == approx(float(parts.mean), rel=0.02)
