"""Figures over seasons, and an outlook whose chances are known by hand."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from pytest import approx
from scipy import stats  # type: ignore[import-untyped]

from costplan.scenario import read_scenario
from costplan.season import Season
from costplan.season.drawn.drawing import Draws, draw
from costplan.season.drawn.figures import (
    Z95,
    Chance,
    Count,
    CountDifference,
    Mean,
    Spread,
    chance_of,
    count_of,
    error_of,
    mean_of,
    paired,
    percentile,
    ratio_of,
    spread_of,
)
from costplan.season.drawn.outlook import Outlook, outlook_of, season_at

SeasonOf = Callable[..., Season]

DEMOS = Path(__file__).parents[2] / "scenarios"

# --- single figures


@pytest.mark.parametrize("n", [1, 2, 3, 9, 10, 11, 99, 100, 1000, 4321])
@pytest.mark.parametrize("share", [0.01, 0.1, 0.25, 0.5, 0.75, 0.9, 0.99])
def test_a_percentile_is_the_smallest_value_that_the_share_does_not_exceed(n: int, share: float) -> None:
    values = np.sort(np.random.default_rng(n).integers(0, 50, n))
    # numpy's inverted distribution function: Hyndman & Fan (1996), type 1.
    assert percentile(values, share)[0] == np.quantile(values, share, method="inverted_cdf")


def test_a_percentile_of_a_few_values_by_hand() -> None:
    values = np.array([10, 20, 30, 40, 50, 60, 70, 80, 90, 100])
    # The rank of the median is 5 +- sqrt(10 / 4) = 1.58: from 3.42, the fourth, to 6.58, the seventh.
    assert percentile(values, 0.5) == (50, (70 - 40) / 2)
    # The rank of the tenth is 1 +- sqrt(0.9) = 0.95: from the first to the second.
    assert percentile(values, 0.1) == (10, (20 - 10) / 2)
    assert percentile(np.array([7]), 0.9) == (7, 0)


@pytest.mark.parametrize("share", [0.1, 0.5, 0.9])
@pytest.mark.parametrize("life", [stats.norm(10_000, 900), stats.expon(scale=3000)], ids=["normal", "exponential"])
def test_the_error_of_a_percentile_is_how_far_it_moves_from_draw_to_draw(share: float, life: Any) -> None:
    # 500 sets of 800 values, seed 31. The deviation over 500 sets is known to 3 %, 1 / sqrt(2 * 500).
    sets = np.sort(life.rvs(size=(500, 800), random_state=31), axis=1)
    found = np.array([percentile(values, share) for values in sets])
    assert found[:, 1].mean() == approx(found[:, 0].std(), rel=0.13)
    # By the density there: sqrt(p (1 - p) / n) / f (David & Nagaraja, Order Statistics, from memory).
    assert found[:, 1].mean() == approx(math.sqrt(share * (1 - share) / 800) / life.pdf(life.ppf(share)), rel=0.08)


def test_the_error_of_a_percentile_is_that_of_a_bootstrap() -> None:
    values = np.sort(np.random.default_rng(32).gamma(4, 500, 4000))
    again = np.random.default_rng(33).choice(values, size=(600, 4000))
    for share in (0.1, 0.5, 0.9):
        moved = np.quantile(again, share, axis=1, method="inverted_cdf").std()
        assert percentile(values, share)[1] == approx(moved, rel=0.25)


def test_the_error_of_a_mean_by_hand() -> None:
    # 1, 3, 5, 7: deviation sqrt(20 / 3), over the root of 4.
    assert error_of(np.array([1, 3, 5, 7])) == approx(math.sqrt(20 / 3) / 2)
    assert error_of(np.array([5])) == 0


def test_a_spread_is_rounded_to_the_cent_half_up() -> None:
    found = spread_of(np.array([101, 102, 102, 105]), "USD")
    # Mean 102.5, deviation sqrt(3), its error 0.866; ranks 0.4, 2 and 3.6.
    assert (found.mean, found.error) == (Decimal("1.03"), Decimal("0.01"))
    assert (found.p10, found.p50, found.p90) == (Decimal("1.01"), Decimal("1.02"), Decimal("1.05"))
    assert spread_of(np.array([-150]), "JPY").mean == Decimal(-150)


def test_a_count_and_a_chance_by_hand() -> None:
    found = count_of(np.array([0, 0, 1, 3]))
    assert found == Count(1, found.error, 0, 0, 3)
    assert found.error == approx(math.sqrt(2) / 2)
    assert chance_of(3, 12) == Chance(0.25, 0.125)
    assert chance_of(0, 0) == Chance(0, 0)


def test_a_mean_and_a_ratio_with_their_errors() -> None:
    # By hand: 1, 2, 3: deviation 1, error 1 / sqrt(3).
    assert mean_of(np.array([100, 200, 300]), "USD") == Mean(Decimal("2.00"), Decimal("0.58"))
    # 600 by 6: 100 each; left over -100, 0, 100: deviation 100, error 57.735 / 2.
    assert ratio_of(np.array([100.0, 200.0, 300.0]), np.full(3, 2.0), "USD") == Mean(Decimal("1.00"), Decimal("0.29"))
    assert ratio_of(np.ones(2), np.zeros(2), "USD") == Mean(Decimal("0.00"), Decimal("0.00"))


def test_a_difference_is_shown_where_zero_lies_outside_its_95_percent() -> None:
    # 1.959964 errors of 1.00 are 1.96.
    assert [Mean(Decimal(mean), Decimal("1.00")).shown for mean in ("1.95", "1.97", "-1.97")] == [False, True, True]
    assert [Mean(Decimal(mean), Decimal(0)).shown for mean in ("0.00", "0.01")] == [False, True]
    assert [CountDifference(mean, 1.0).shown for mean in (1.95, 1.97, -1.97)] == [False, True, True]
    # By hand below: -0.50 with an error of 1.66 is not shown; 3.30 less with the same error is.
    values = np.array([-500, 0, 0, 300])
    assert [paired(values - less, "USD").shown for less in (0, 330)] == [False, True]


# --- paired differences


def test_a_paired_difference_by_hand() -> None:
    found = paired(np.array([-500, 0, 0, 300]), "USD")
    # Mean -50; squares 202 500 + 2 * 2500 + 122 500 = 330 000, deviation 331.66, error 165.83; 1.96 of it 325.02.
    assert (found.mean, found.error) == (Decimal("-0.50"), Decimal("1.66"))
    assert (found.low, found.high) == (Decimal("-3.75"), Decimal("2.75"))
    assert (found.p10, found.p50, found.p90) == (Decimal("-5.00"), Decimal("0.00"), Decimal("3.00"))
    assert (found.cheaper.share, found.alike.share) == (0.25, 0.5)


def test_no_difference_is_none_for_certain() -> None:
    found = paired(np.zeros(50, dtype=np.int64), "USD")
    assert [found.mean, found.low, found.high] == [Decimal(0)] * 3
    assert (found.cheaper, found.alike) == (Chance(0, 0), Chance(1, 0))


@pytest.mark.parametrize("shape", ["normal", "skewed", "seldom"])
def test_the_interval_of_a_paired_difference_holds_the_mean_with_95_percent(shape: str) -> None:
    # 1000 sets of 400 seasons, seed 34; a share of 0.95 over 1000 sets has the error 0.0069. Amounts are large, so
    # that whole cents do not matter; the skewed and the seldom lose a little, so that they have a point to spare.
    random, sets = np.random.default_rng(34), (1000, 400)
    drawn, mean = {
        "normal": (random.normal(-2e5, 9e5, sets), -2e5),
        "skewed": (random.exponential(5e5, sets), 5e5),
        "seldom": (random.binomial(1, 0.05, sets) * 8e5, 4e4),
    }[shape]
    held = sum(_holds(values.astype(np.int64), mean) for values in drawn)
    assert held / 1000 == approx(0.95, abs=4 * 0.0069 + (0 if shape == "normal" else 0.01))


def _holds(difference: Any, mean: float) -> bool:
    found = paired(difference, "USD")
    return float(found.low) * 100 - 1 <= mean <= float(found.high) * 100 + 1


def test_95_percent_lie_within_its_deviate() -> None:
    assert float(stats.norm.cdf(Z95) - stats.norm.cdf(-Z95)) == approx(0.95, abs=1e-7)


# --- the outlook of a season in which nothing is left to chance

SURE = "0.999999999"
#: Rain takes event two; a stone costs 7.00 at each event that is run; the springs never come due.
CERTAIN: dict[str, Any] = {
    "calendar": "event,date,kind,laps,hours,entry,purse,rain,weight\n"
    "shake-down,2027-04-24,practice,20,1,10,,,\none,2027-05-01,race,30,2,100,40,,2\n"
    "two,2027-05-08,race,40,2,100,40,1,\nthree,2027-06-05,race,50,3,100,40,,\n",
    "scenario": '[policy]\nearly = "off"\n',
    "slots": "slot,part,pieces\nsprings,spring,2\n",
    "parts": "part,price\nspring,40\n",
    "lives": "part,measure,replace_at,risk,shape\nspring,laps,200,0.000001,5\n",
    "levels": "level,rank,interval,measure,hours,labour\nquick,1,70,laps,8,25\n",
    "positions": "slot,level\nsprings,quick\n",
    "hazards": f"hazard,chance,per,kinds\nstone,{SURE},events,race\n",
    "damage": "slot,case,chance,cost\nstone,hit,1,7\n",
    "costs": "cost,amount,per,date\ninsurance,55,season,2027-04-24\n",
}


@pytest.fixture(scope="module")
def certain(season_of: SeasonOf) -> Outlook:
    return outlook_of(draw(season_of(**CERTAIN), 20))


def flat(amount: str) -> Spread:
    """The spread of what is the same in every season."""
    zero = Decimal("0.00")
    return Spread(Decimal(amount), zero, *(Decimal(amount), zero) * 3)


def test_what_is_certain_has_no_spread(certain: Outlook) -> None:
    # Entries 10 + 3 * 100, purses 2 * 40 (rain takes two's), insurance 55, stones at one and three 14, quick once:
    # before two, when nobody knows of the rain yet, 20 + 30 + 40 > 70; before three 50 laps are within the interval.
    assert certain.cash == flat("324.00")
    # The plan runs two, and opens again before three, 40 + 50 > 70. Three purses, no stones.
    assert certain.planned_cash == Decimal("295.00")
    # Its wear: 245 of events and insurance, springs 140 of 200 laps 56.00, quick paid twice and 17.86 owed for 50 laps.
    assert certain.planned_wear == Decimal("368.86")
    # In wear: springs 100 of 200 laps, 40.00; labour 25.00 for each 70 laps: 50 and 50, 17.86 twice, and 7.14 unused
    # at the opening (25.00 paid, 17.86 owed). 310 - 80 + 55 + 14 + 40 + 25 + 17.86.
    assert certain.wear == flat("381.86")
    # On hand at the end: springs 40.00, less 17.86 owed.
    assert certain.net == flat("301.86")


def test_an_engine_that_is_bought_is_planned_cash_and_no_planned_wear(season_of: SeasonOf, certain: Outlook) -> None:
    scenario = CERTAIN["scenario"] + '[[engine]]\nname = "engine"\nprice = 500\n'
    bought = outlook_of(draw(season_of(**{**CERTAIN, "scenario": scenario}), 5))
    assert bought.planned_cash == certain.planned_cash + 500
    assert bought.planned_wear == certain.planned_wear
    assert (bought.cash.mean, bought.wear.mean) == (certain.cash.mean + 500, certain.wear.mean)


def test_cash_by_what_was_run(certain: Outlook) -> None:
    # Rain took two: two races, 100 laps, 6 hours.
    assert certain.per_race == flat("162.00")
    assert certain.per_lap == flat("3.24")
    assert certain.per_hour == flat("54.00")


def test_events_tell_what_is_paid_by_then(certain: Outlook) -> None:
    assert [(one.event, one.cash, one.so_far) for one in certain.events] == [
        ("shake-down", flat("65.00"), flat("65.00")),
        ("one", flat("67.00"), flat("132.00")),
        ("two", flat("125.00"), flat("257.00")),
        ("three", flat("67.00"), flat("324.00")),
    ]
    assert [(str(one.planned), str(one.planned_so_far)) for one in certain.events] == [
        ("65.00", "65.00"),
        ("60.00", "125.00"),
        ("85.00", "210.00"),
        ("85.00", "295.00"),
    ]
    assert [one.rained.share for one in certain.events] == [0, 0, 1, 0]


def test_months_and_the_worst_of_them(certain: Outlook) -> None:
    assert [(one.month, one.cash, one.worst.share, str(one.planned)) for one in certain.months] == [
        ("2027-04", flat("65.00"), 0, "65.00"),
        ("2027-05", flat("192.00"), 1, "145.00"),
        ("2027-06", flat("67.00"), 0, "85.00"),
    ]
    assert certain.worst_month == flat("192.00")


def test_causes_the_dearest_first(certain: Outlook) -> None:
    assert [(one.cause, str(one.mean), str(one.error), str(one.planned)) for one in certain.causes] == [
        ("fixed", "365.00", "0.00", "365.00"),
        ("labour", "25.00", "0.00", "50.00"),
        ("damage", "14.00", "0.00", "0.00"),
        ("income", "-80.00", "0.00", "-120.00"),
    ]


def test_a_level_is_told_when_it_is_done_against_the_plan(certain: Outlook) -> None:
    first, second = certain.levels
    assert (first.carrier, first.level, first.nth, first.planned) == ("engine", "quick", 1, "two")
    assert (first.p10, first.p50, first.p90) == ("two", "two", "two")
    assert [chance.share for chance in (first.earlier, first.later, first.never)] == [0, 0, 0]
    assert (second.nth, second.planned, second.p50) == (2, "three", "")
    assert [chance.share for chance in (second.earlier, second.later, second.never)] == [0, 0, 1]
    assert [(one.level, one.planned, one.opened) for one in certain.openings] == [("quick", 2, Count(1, 0, 1, 1, 1))]


def test_a_level_is_done_later_where_rain_saves_use_and_earlier_where_a_failure_needs_it(season_of: SeasonOf) -> None:
    calendar = CERTAIN["calendar"].replace("100,40,,2", "100,40,1,2").replace("100,40,1,\n", "100,40,,\n")
    (first, second) = outlook_of(draw(season_of(**{**CERTAIN, "calendar": calendar}), 5)).levels
    # Rain takes one: before two 20 + 40 laps, before three 60 + 50 > 70.
    assert (first.planned, first.p50, first.later.share, second.never.share) == ("two", "three", 1, 1)
    hit = {"damage": "slot,case,chance,cost,hits\nstone,hit,1,7,springs\n"}
    longer = CERTAIN["levels"].replace("70,laps", "100,laps")
    early = outlook_of(draw(season_of(**{**CERTAIN, **hit, "levels": longer}), 5)).levels
    # The plan: before three, 20 + 30 + 40 + 50 > 100. The stone at one: before two; the one at three: after the last.
    assert [(level.planned, level.p50, level.earlier.share) for level in early] == [("three", "two", 1)]


def test_the_event_by_which_a_level_is_done_is_the_first_that_the_share_has_reached(season_of: SeasonOf) -> None:
    draws = draw(season_of(**CERTAIN), 10)
    # Of ten seasons one has it done before one, five by two (four before two), all by three.
    at = draws.opened_at.copy()
    at[:, 0, 0, 0] = [1, 2, 2, 2, 2, 3, 3, 3, 3, 3]
    first = outlook_of(replace(draws, opened_at=at)).levels[0]
    assert (first.p10, first.p50, first.p90) == ("one", "two", "three")
    assert (first.earlier.share, first.later.share) == (0.1, 0.5)


def test_hazards_and_results(certain: Outlook) -> None:
    assert [(one.hazard, one.strikes, one.chance.share) for one in certain.hazards] == [("stone", 2, 1)]
    # Practice does not count; a stone that is no case of a stop costs no result, and rain is nobody's failure.
    assert (certain.results, certain.results_lost.mean) == (4, 0)
    assert (certain.dnfs.mean, certain.missed.mean, certain.retirements.share) == (0, 0, 0)
    assert (certain.seasons, certain.asked, certain.kept, certain.interrupted) == (20, 20, 20, False)


# --- the outlook of a season whose chances are known

#: One race of thirty laps, then one of forty with rain at one in four. Springs have a scale of 100 laps at shape 2.
CHANCES: dict[str, Any] = {
    "calendar": "event,date,laps,rain\none,2027-05-01,30,\ntwo,2027-05-08,40,0.25\n",
    "scenario": '[policy]\nearly = "off"\n',
    "slots": "slot,part,pieces\nsprings,spring,1\nvalves,valve,1\n",
    "parts": "part,price\nspring,80\nvalve,10\n",
    "lives": f"part,measure,replace_at,risk,shape\nspring,laps,100,{1 - math.exp(-1)!r},2\n",
    "levels": "level,rank,hours,labour\nquick,1,200,25\n",
    "positions": "slot,level,renewal\nsprings,quick,run to failure\nvalves,quick,\n",
    "damage": "slot,case,chance,hits\nsprings,dropped,0.4,valves\n",
}
SEASONS = 20_000
#: F(30) and F(70).
BY_ONE, BY_TWO = -math.expm1(-0.09), -math.expm1(-0.49)


@pytest.fixture(scope="module")
def chances(season_of: SeasonOf) -> Draws:
    return draw(season_of(**CHANCES), SEASONS, seed=35)


def within(found: Chance, expected: float, of: int = SEASONS) -> None:
    """Four standard errors, and the error that is told is that of the share."""
    error = math.sqrt(expected * (1 - expected) / of)
    assert found.share == approx(expected, abs=4 * error)
    assert found.error == approx(error, rel=0.1)


def test_chances_by_event(chances: Draws) -> None:
    one, two = outlook_of(chances).events
    within(two.rained, 0.25)
    within(one.stopped, BY_ONE)
    # Two is missed after a failure in one, since the shop takes 200 hours; where rain comes it is told as rain.
    within(two.missed, 0.75 * BY_ONE)
    within(two.stopped, 0.75 * (BY_TWO - BY_ONE))
    assert (one.rained.share, one.missed.share) == (0, 0)


def test_failures_and_what_they_cost(chances: Draws) -> None:
    outlook = outlook_of(chances)
    fails = BY_ONE + 0.75 * (BY_TWO - BY_ONE)
    (springs,) = [line for line in outlook.lines if line.name == "springs"]
    (valves,) = [line for line in outlook.lines if line.name == "valves"]
    (quick,) = [line for line in outlook.lines if line.name == "quick"]
    within(springs.fails, fails)
    assert springs.failures == approx(springs.fails.share)  # at most once: mended after the last run
    error = 4 * math.sqrt(fails * (1 - fails) / SEASONS)
    assert float(springs.mean) == approx(80 * fails, abs=80 * error + 0.01)
    assert float(quick.mean) == approx(25 * fails, abs=25 * error + 0.01)
    # Four failures in ten hit the valves.
    assert valves.hit == approx(0.4 * fails, abs=4 * math.sqrt(0.4 * fails / SEASONS))
    assert (valves.failures, springs.hit) == (0, 0)
    assert outlook.cash.p10 == 0
    assert outlook.cash.p90 == Decimal("115.00" if 0.4 * fails > 0.1 else "105.00")
    assert [str(line.planned) for line in outlook.lines] == ["0.00"] * len(outlook.lines)


def test_dnfs_retirements_and_results(chances: Draws) -> None:
    outlook = outlook_of(chances)
    fails = BY_ONE + 0.75 * (BY_TWO - BY_ONE)
    assert outlook.dnfs.mean == approx(fails, abs=4 * outlook.dnfs.error)
    assert outlook.missed.mean == approx(0.75 * BY_ONE, abs=4 * outlook.missed.error)
    # Starts: race one, and race two where no rain comes and the engine is there.
    starts = 1 + 0.75 * (1 - BY_ONE)
    assert outlook.retirements.share == approx(fails / starts, abs=4 * outlook.retirements.error)
    assert outlook.results_lost.mean == approx(fails + 0.75 * BY_ONE, abs=4 * outlook.results_lost.error)
    assert outlook.results == 2


def test_retirements_are_a_share_of_the_races_begun(season_of: SeasonOf) -> None:
    stops = {"damage": "slot,case,chance,stops\nstone,hit,1,yes\n"}
    outlook = outlook_of(draw(season_of(**{**CERTAIN, **stops}), 5))
    # Stones stop both races that rain does not take; the practice is no start.
    assert (outlook.retirements.share, outlook.dnfs.mean) == (1, 2)
    assert outlook.results_lost.mean == 3  # one counts twice


def test_shares_of_the_variance_by_hand(chances: Draws) -> None:
    lines = {line.name: line.share for line in outlook_of(chances).lines}
    assert sum(lines.values()) == approx(1)
    # cov(a I, (105 + 10 J) I) of a failure I and its case J: with f its chance, total variance
    # f (105 + 4)^2 (1 - f) + f * 100 * 0.24 in which springs and level have 80 and 25 of each.
    f = BY_ONE + 0.75 * (BY_TWO - BY_ONE)
    whole = 109**2 * f * (1 - f) + 24 * f
    assert lines["springs"] == approx(80 * 109 * f * (1 - f) / whole, abs=0.01)
    assert lines["quick"] == approx(25 * 109 * f * (1 - f) / whole, abs=0.005)


@pytest.mark.parametrize("demo", ["oval-v8", "kart-single"])
def test_an_outlook_of_a_demo_adds_up(demo: str) -> None:
    scenario, problems = read_scenario(DEMOS / demo)
    assert scenario is not None, problems
    season, problems = scenario.season()
    assert season is not None, problems
    outlook = outlook_of(draw(season, 400))
    assert sum(line.share for line in outlook.lines) == approx(1)
    assert float(sum(one.mean for one in outlook.causes)) == approx(float(outlook.cash.mean), abs=0.1)
    assert float(sum(one.cash.mean for one in outlook.months)) == approx(float(outlook.cash.mean), abs=0.1)
    assert sum(one.worst.share for one in outlook.months) == approx(1)
    assert sum(one.planned for one in outlook.causes) == outlook.planned_cash
    assert sum(one.planned for one in outlook.months) == outlook.planned_cash
    for level in outlook.levels:
        assert level.earlier.share + level.later.share + level.never.share <= 1 + 1e-9


def test_a_season_is_found_by_where_its_cash_stands(chances: Draws) -> None:
    ordered = np.sort(chances.cash)
    for share in (0.0, 0.5, 0.9, 1.0):
        expected = ordered[min(SEASONS - 1, int(share * SEASONS))]
        assert chances.cash[season_at(chances, share)] == expected
