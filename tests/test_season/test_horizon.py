"""Years ahead: discounted by hand, against published factors, and rebuilding against selling."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from pytest import approx

from costplan.formulas.economics import capital_recovery_factor, equivalent_annual_cost, net_present_value
from costplan.scenario import Scenario, read_scenario
from costplan.season import Season
from costplan.season.deciding.horizon import Ahead, Horizon, NewEngine, horizon_of, new_engine
from costplan.season.drawn.figures import Mean

SeasonOf = Callable[..., Season]

DEMOS = Path(__file__).parents[2] / "scenarios"
#: A life that no failure ends in any season drawn.
SURE = "1e-9,50"


def scenario_of(name: str) -> Scenario:
    scenario, problems = read_scenario(DEMOS / name)
    assert scenario is not None, problems
    return scenario


def demo(name: str) -> Season:
    season, problems = scenario_of(name).season()
    assert season is not None, problems
    return season


def ahead_of(season: Season, years: int, rate: float = 0.06) -> Ahead:
    return Ahead(season, season, years, rate)


def looked(ahead: Ahead, seasons: int = 1, new: str = "", resale: str = "", policies: tuple[int, ...] = ()) -> Horizon:
    kept = ahead.draw(seasons)
    sold = {every: ahead.draw(seasons, every) for every in policies}
    engine = NewEngine(Decimal(new), "by hand") if new else None
    return horizon_of(ahead, kept, sold, engine, Decimal(resale) if resale else None)


# --- by hand

TWO = "event,date,laps,entry\none,2027-03-01,40,50\ntwo,2027-06-09,40,50\n"
PART: dict[str, Any] = {
    "calendar": TWO,
    "slots": "slot,part,pieces\nblock,block,1\n",
    "parts": "part,price\nblock,300\n",
    "lives": f"part,measure,replace_at,risk,shape\nblock,events,3,{SURE}\n",
    "levels": "level,rank\nfull,1\n",
    "positions": "slot,level\nblock,full\n",
    "scenario": '[policy]\nearly = "off"\n',
}


def test_years_are_discounted_by_hand(season_of: SeasonOf) -> None:
    # Two entries of 50.00 a year; a part at 300.00 for three events is renewed before the fourth, in year 2, and the
    # seventh, in year 4, after which it has two of three behind it: 100.00 is left.
    found = looked(ahead_of(season_of(**PART), 4, 0.08))
    cash = ["100.00", "400.00", "100.00", "400.00"]
    assert [str(year.planned) for year in found.years] == cash
    assert [str(year.cash.mean) for year in found.years] == cash
    assert [str(year.left.mean) for year in found.years] == ["100.00", "200.00", "0.00", "100.00"]
    # 92.5926 + 342.9355 + 79.3832 + 300 * 0.7350299 = 735.4203; times 0.3019208, the recovery factor of 8 % and 4.
    assert (found.present, found.planned_present) == (Mean(Decimal("735.42"), Decimal("0.00")), Decimal("735.42"))
    assert str(found.annual.mean) == "222.04"
    assert net_present_value(0.08, [0, 100, 400, 100, 300]) == approx(735.42, abs=0.005)
    assert equivalent_annual_cost(0.08, 0, 100, [100, 400, 100, 400]) == approx(222.04, abs=0.005)
    # Two races a year are worth 2 * 3.3121268 today; the later years are 900.00 for six.
    assert str(found.per_race.mean) == "111.02"
    assert found.later_per_race == Mean(Decimal("150.00"), Decimal("0.00"))
    assert [year.races.mean for year in found.years] == [2, 2, 2, 2]


def test_at_no_rate_it_is_the_sum(season_of: SeasonOf) -> None:
    found = looked(ahead_of(season_of(**PART), 4, 0.0))
    assert str(found.present.mean) == "900.00"
    assert str(found.annual.mean) == "225.00"
    assert str(found.per_race.mean) == "112.50"


def test_one_year_has_no_later_ones(season_of: SeasonOf) -> None:
    found = looked(ahead_of(season_of(**PART), 1, 0.08))
    assert found.later_per_race is None
    assert str(found.present.mean) == "0.00"


def test_engines_are_traded_once_and_fixed_costs_come_each_year(season_of: SeasonOf) -> None:
    season = season_of(
        **{**PART, "scenario": PART["scenario"] + '[[engine]]\nname = "A"\nprice = 1000\n'},
        costs="cost,amount,per\nlicence,30,season\nstorage,10,month\nsponsor,-20,race\n",
    )
    found = looked(ahead_of(season, 2, 0.08))
    # A year: 100.00 of entries, 30.00, four months from March to June, two races.
    assert [str(year.cash.mean) for year in found.years] == ["130.00", "430.00"]
    assert str(found.traded) == "1000.00"
    # 1000 + 130 / 1.08 + (430 - 200) / 1.08^2.
    assert str(found.present.mean) == "1317.56"


# --- rebuild, or sell and buy


@pytest.fixture(scope="module")
def rising(season_of: SeasonOf) -> Season:
    """An engine at 10,000 that costs 1,500 a year, and before each later year a step 700 dearer than the one before."""
    steps = [(n, 700 * n) for n in range(1, 6)]
    return season_of(
        calendar="event,date,laps\none,2027-03-01,40\ntwo,2027-06-09,40\n",
        slots="slot,part,pieces\nblock,block,1\n",
        parts="part,price\nblock,800\n",
        lives=f"part,measure,replace_at,risk,shape\nblock,events,2,{SURE}\n",
        levels="level,rank\nfull,1\n",
        positions="slot,level\nblock,full\n",
        costs="cost,amount,per\nrunning,1500,season\n",
        catalog={
            "operations": "operation,role,price\n" + "".join(f"step-{n},block,{cost}\n" for n, cost in steps),
            "service_steps": "role,step,operation,factor\n" + "".join(f"block,{n},step-{n},1\n" for n, _ in steps),
        },
        scenario='[policy]\nearly = "off"\n[[engine]]\nname = "A"\nprice = 10000\n',
    )


def test_the_best_holding_period_is_that_of_the_textbook(rising: Season) -> None:
    # E13: first cost 10000, salvage 4000 in any year, running 1500 rising 700 a year, 15 %: EUAC of 1 to 6 years
    # (problem data: Economic Decision Analysis, 4th ed., p. 136). In 60 years each of them comes out even.
    found = looked(ahead_of(rising, 60, 0.15), new="10000", resale="4000", policies=(1, 2, 3, 4, 5, 6))
    annual = {one.every: float(one.annual.mean) for one in found.keeping if one.every}
    assert annual == approx({1: 9000, 2: 6116.28, 3: 5362.85, 4: 5129.97, 5: 5095.86, 6: 5153.45}, abs=0.006)
    assert min(found.keeping[1:], key=lambda one: one.annual.mean).every == 5
    assert all(str(one.resale.mean) == "4000.00" for one in found.keeping if one.resale)


def test_at_its_break_even_resale_selling_costs_the_same_as_rebuilding() -> None:
    ahead = ahead_of(demo("kart-single"), 4)
    found = looked(ahead, 200, "1700", policies=(1, 2, 4))
    rebuilt = found.keeping[0].annual.mean
    for one in found.keeping[1:]:
        assert one.break_even is not None
        again = looked(ahead, 200, "1700", str(one.break_even.mean), (one.every,)).keeping[1]
        assert float(again.annual.mean) == approx(float(rebuilt), abs=0.02)
        assert again.less is not None
        assert again.less.mean == approx(Decimal(0), abs=Decimal("0.02"))
        # The error of the resale is that of the yearly difference, by the yearly worth of the sales; both are rounded
        # to the cent, and half a cent a year is more of a resale that comes late.
        times = range(one.every, 5, one.every)
        sales = sum(1.06**-time for time in times) * capital_recovery_factor(0.06, 4)
        assert float(one.break_even.error) == approx(float(again.less.error) / sales, abs=0.0051 * (1 + 1 / sales))


def test_kept_to_the_end_an_engine_is_worth_its_parts() -> None:
    found = looked(ahead_of(demo("kart-single"), 2), 100, "1700", policies=(1, 2))
    never, yearly, at_end = found.keeping
    assert (at_end.annual, at_end.less) == (never.annual, Mean(Decimal("0.00"), Decimal("0.00")))
    assert at_end.resale == at_end.break_even
    assert yearly.annual.mean > never.annual.mean
    assert (never.less, never.resale, never.break_even) == (None, None, None)


def test_until_it_is_sold_it_is_the_same_engine() -> None:
    ahead = ahead_of(demo("oval-v8"), 3)
    kept, sold = ahead.draw(40), ahead.draw(40, 2)
    assert np.array_equal(kept.cash[:, :2], sold.cash[:, :2])
    assert not np.array_equal(kept.cash[:, 2], sold.cash[:, 2])
    assert sold.engine[:, 2].mean() > kept.engine[:, 2].mean()


def test_years_are_drawn_by_their_seed() -> None:
    season = demo("kart-single")
    one, two = (Ahead(season, season, 2, 0.06, seed=seed).draw(20) for seed in (1, 2))
    assert not np.array_equal(one.cash[:, 0], two.cash[:, 0])
    assert not np.array_equal(one.cash[:, 1], two.cash[:, 1])


def test_what_is_left_of_the_engine_at_the_end_is_told(season_of: SeasonOf) -> None:
    # After four events of three and three: a third of 300.00 used, after six nothing of it is left.
    for years, left in ((2, "200.00"), (3, "0.00")):
        assert str(looked(ahead_of(season_of(**PART), years)).engine_left.mean) == left


def test_lost_results_count_where_it_is_decided(season_of: SeasonOf) -> None:
    season = season_of(
        **{**PART, "scenario": "[policy]\nresult_worth = 80\n"},
        hazards="hazard,chance,per\nstone,0.3,events\n",
        damage="slot,case,chance,stops\nstone,through,1,yes\n",
    )
    ahead = ahead_of(season, 2, 0.0)
    kept = ahead.draw(300)
    found = horizon_of(ahead, kept, {2: kept}, NewEngine(Decimal(300), "by hand"))
    lost = float(kept.lost.sum(axis=1).mean())
    assert lost == approx(1.2, abs=0.3)
    assert float(found.keeping[0].annual.mean - found.annual.mean) == approx(80 * lost / 2, abs=0.01)


def test_where_drawing_was_stopped_the_others_are_as_short() -> None:
    ahead = ahead_of(demo("kart-single"), 2)
    new, whole = NewEngine(Decimal(1700), "by hand"), ahead.draw(60)
    found = horizon_of(ahead, replace(whole, asked=80), {1: ahead.draw(40, 1)}, new)
    assert (found.seasons, found.asked, found.interrupted) == (40, 80, True)
    assert found.present == horizon_of(ahead, ahead.draw(40), {}, None).present


# --- what a new engine costs


def test_a_new_engine_is_the_one_on_offer_of_which_nothing_is_in_the_garage() -> None:
    scenario = scenario_of("oval-v8")
    found = new_engine(scenario.engines, scenario.garage, scenario.sources)
    assert found is not None
    assert (str(found.price), found.computed) == ("22100", False)
    assert found.source.startswith("engine white (")


def test_else_it_is_its_parts_and_the_work_of_the_highest_level() -> None:
    # 22,100 is what the demo's builder asks: parts but for the car's, labour and supplies of a rebuild.
    scenario = scenario_of("oval-v8")
    computed = new_engine((), scenario.garage, scenario.sources)
    assert computed is not None
    assert computed.computed
    parts = [line for line in scenario.bill().lines if line.kind == "part"]
    shared = {row.slot for row in scenario.files.positions if row.carrier == "car"}
    of_car = sum(line.cost for line in parts if set(line.slots) <= shared)
    top = next(row for row in scenario.files.levels if row.level == "rebuild")
    assert computed.price == scenario.bill().total - of_car + top.labour + top.supplies


def test_of_the_simple_form_nothing_is_known(write: Callable[[str, str], Path]) -> None:
    write("scenario.toml", 'title = "by hand"\ncurrency = "USD"\n')
    write("calendar.csv", "event,date,laps\none,2027-03-01,40\n")
    folder = write("services.csv", "service,price,every,measure\noil,5,40,laps\n").parent
    scenario, problems = read_scenario(folder)
    assert scenario is not None, problems
    assert new_engine(scenario.engines, scenario.garage, scenario.sources) is None
