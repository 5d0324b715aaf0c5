"""Seasons compared on the same draws: differences, break-even, and what each input does."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from pytest import approx

from costplan.scenario import read_scenario
from costplan.season import Season, machine
from costplan.season.drawn.comparing import (
    BreakEven,
    Difference,
    InputEffect,
    break_even,
    compare,
    input_effects,
    net_of,
)
from costplan.season.drawn.drawing import draw
from costplan.season.drawn.figures import Chance, Paired, paired

SeasonOf = Callable[..., Season]

DEMOS = Path(__file__).parents[2] / "scenarios"

CALENDAR = """\
event,date,laps,entry,purse,rain
one,2027-05-01,30,50,200,
two,2027-05-08,40,50,200,0.3
three,2027-05-15,50,75,200,0.3
"""
ENGINE: dict[str, Any] = {
    "calendar": CALENDAR,
    "scenario": '[policy]\nearly = "off"\n',
    "slots": "slot,part,pieces\nsprings,spring,2\nrings,ring,1\n",
    "parts": "part,price,core_charge,resale\nspring,{spring},0,0\nring,90,20,5\n",
    "lives": "part,measure,replace_at,risk,shape\nspring,laps,80,0.4,2\nring,laps,110,0.3,2\n",
    "levels": "level,rank,interval,measure,hours,labour,supplies\nquick,1,,,8,25,2\nfull,2,70,laps,100,120,15\n",
    "positions": "slot,level\nsprings,quick\nrings,full\n",
    "hazards": "hazard,chance,per\nstone,0.1,events\n",
    "damage": "slot,case,chance,hits,cost\nsprings,dropped,0.3,rings,11\nstone,radiator,0.5,,300\n",
    "services": "service,price,every,measure,whole\ntape,1,4,laps,no\n",
}


def engine(season_of: SeasonOf, *, spring: str = "40", **tables: Any) -> Season:
    parts = ENGINE["parts"].format(spring=spring)
    return season_of(**{**ENGINE, "parts": parts, **tables})


def difference(one: Season, other: Season, n: int = 300) -> Difference:
    found = compare([("as it is", draw(one, n, 2)), ("changed", draw(other, n, 2))])
    assert [side.name for side in found.sides] == ["as it is", "changed"]
    (only,) = found.differences
    assert (only.base, only.name) == ("as it is", "changed")
    return only


# --- differences


def test_sides_that_are_alike_differ_by_nothing(season_of: SeasonOf) -> None:
    found = difference(engine(season_of), engine(season_of))
    for one in (found.cash, found.wear, found.net):
        assert [one.mean, one.error, one.low, one.high, one.p10, one.p90] == [Decimal(0)] * 6
        assert (one.cheaper, one.alike) == (Chance(0, 0), Chance(1, 0))
    assert found.causes == ()
    assert (found.missed.mean, found.dnfs.mean, found.results_lost.mean) == (0, 0, 0)


def test_a_dearer_entry_is_its_price_in_every_season(season_of: SeasonOf) -> None:
    dearer = engine(season_of, calendar=CALENDAR.replace("40,50,", "40,62.25,"))
    found = difference(engine(season_of), dearer)
    assert (found.cash.mean, found.cash.error) == (Decimal("12.25"), Decimal(0))
    assert (found.wear.mean, found.net.mean) == (Decimal("12.25"), Decimal("12.25"))
    assert [(one.cause, str(one.mean), str(one.error)) for one in found.causes] == [("fixed", "12.25", "0.00")]
    assert (found.cash.cheaper.share, found.cash.alike.share) == (0, 0)


def test_causes_add_up_to_the_difference(season_of: SeasonOf) -> None:
    changed = engine(season_of, spring="61.30", positions="slot,level,factor\nsprings,quick,0.6\nrings,full,1\n")
    plain = engine(season_of)
    found = difference(plain, changed)
    assert len(found.causes) > 3
    # Each cause and the whole are rounded to the cent.
    assert sum(one.mean for one in found.causes) == approx(found.cash.mean, abs=Decimal("0.005") * len(found.causes))
    sizes = [abs(one.mean) for one in found.causes]
    assert sizes == sorted(sizes, reverse=True)
    one, other = draw(plain, 300, 2), draw(changed, 300, 2)
    cash, net = other.cash - one.cash, net_of(other) - net_of(one)
    assert float(found.net.mean) == approx(net.mean() / 100, abs=0.005)
    assert float(found.wear.mean) == approx((other.wear - one.wear).mean() / 100, abs=0.005)
    assert abs(found.net.mean - found.cash.mean) > 1
    assert float(found.cash.mean) == approx(cash.mean() / 100, abs=0.005)
    assert found.cash.cheaper.share == (cash < 0).mean()


def test_the_same_seasons_are_compared_so_that_the_error_is_small(season_of: SeasonOf) -> None:
    plain, changed = engine(season_of), engine(season_of, spring="41")
    found = difference(plain, changed, 500)
    apart = draw(changed, 500, 3).cash - draw(plain, 500, 2).cash
    assert float(found.cash.error) < 0.1 * float(paired(apart, "USD").error)


def test_of_sides_of_which_one_was_interrupted_fewer_are_compared(season_of: SeasonOf) -> None:
    whole = draw(engine(season_of), 60, 2)
    some = draw(engine(season_of, spring="50"), 40, 2)
    found = compare([("whole", whole), ("some", replace(some, asked=60))])
    assert (found.seasons, found.asked, found.interrupted) == (40, 60, True)
    assert found.sides[0].cash.mean == compare([("whole", draw(engine(season_of), 40, 2))]).sides[0].cash.mean


def test_what_was_not_drawn_alike_is_not_compared(season_of: SeasonOf) -> None:
    with pytest.raises(ValueError, match="one seed"):
        compare([("one", draw(engine(season_of), 10, 1)), ("other", draw(engine(season_of), 10, 2))])


def test_net_is_cash_less_what_is_left(season_of: SeasonOf) -> None:
    draws = draw(engine(season_of), 50, 2)
    assert np.array_equal(net_of(draws), draws.cash - draws.left)
    found = compare([("only", draws)])
    assert found.differences == ()
    assert float(found.sides[0].net.mean) == approx((draws.cash - draws.left).mean() / 100, abs=0.005)
    assert found.sides[0].any_missed.share == (draws.misses > 0).mean()


# --- break-even


def line(slope: float, zero: float, error: float = 0.0) -> Callable[[float], Paired]:
    """A difference that goes through zero at a value, with a standard error, in minor units."""

    def at(value: float) -> Paired:
        mean = slope * (value - zero)
        # Four seasons whose deviation gives the error: +-d, so that s = d * sqrt(4 / 3) and s / sqrt(4) = d / sqrt(3).
        away = error * 3**0.5
        return paired(np.array([mean - away, mean + away, mean - away, mean + away]), "USD")

    return at


@pytest.mark.parametrize(("slope", "zero"), [(1000, 37), (-1000, 37), (500, 99.5), (7000, 0.25)])
def test_a_straight_difference_breaks_even_where_it_is_zero(slope: float, zero: float) -> None:
    found = break_even(line(slope, zero, error=2000), 0, 100)
    assert found.value == approx(zero, abs=0.1)
    assert found.error == approx(2000 / abs(slope), rel=0.05)
    assert found.steady
    assert [one.value for one in found.tried] == sorted(one.value for one in found.tried)


def test_sides_that_do_not_change_places_do_not_break_even() -> None:
    found = break_even(line(1000, 200), 0, 100)
    assert found.value is None
    assert [one.value for one in found.tried] == [0, 100]
    assert break_even(line(1000, -1), 0, 100).value is None


def test_a_step_is_found_and_told_as_not_steady() -> None:
    def step(value: float) -> Paired:
        return paired(np.array([-9000, -11000, -10000]) if value < 60 else np.array([30000, 31000, 29000]), "USD")

    found = break_even(step, 0, 100)
    assert found.value == approx(60, abs=1)
    assert not found.steady
    values = [one.value for one in found.tried]
    assert max(value for value in values if value < 60) > 59


def test_a_curve_breaks_even_where_it_is_zero() -> None:
    found = break_even(lambda value: paired(np.array([value**3 - 27_000.0] * 2), "USD"), 0, 100)
    assert found.value == approx(30, abs=0.3)
    assert found.value == min(found.tried, key=lambda one: abs(one.net.mean)).value
    # From the other side, where the last value below zero is the farther one.
    found = break_even(lambda value: paired(np.array([27_000.0 - value**3] * 2), "USD"), 0, 100)
    assert found.value == min(found.tried, key=lambda one: abs(one.net.mean)).value


def test_steps_go_by_one_by_one() -> None:
    seen: list[int] = []

    def each(steps: range) -> list[int]:
        seen.extend(steps)
        return list(steps)

    found: BreakEven = break_even(line(1000, 37), 0, 100, each)
    assert seen == list(range(12))
    assert len(found.tried) <= 14


def test_the_price_at_which_two_parts_cost_the_same_is_that_of_the_other(season_of: SeasonOf) -> None:
    other = draw(engine(season_of, spring="57.40"), 100, 2)

    def at(price: float) -> Paired:
        return paired(net_of(draw(engine(season_of, spring=f"{price:.4f}"), 100, 2)) - net_of(other), "USD")

    found = break_even(at, 40, 80)
    assert found.value == approx(57.40, abs=0.05)
    assert found.steady


# --- what each input does


def effects(found: tuple[InputEffect, ...]) -> dict[str, InputEffect]:
    return {effect.input: effect for effect in found}


def test_what_is_paid_alike_in_every_season_moves_by_a_fifth_of_it(season_of: SeasonOf) -> None:
    found = effects(input_effects(engine(season_of), 200))
    entry = found["entry and travel"]
    # A fifth of 50 + 50 + 75; whoever comes pays, in rain as well, and this engine is always ready in a week.
    assert (entry.lower, entry.higher) == (Decimal("-35.00"), Decimal("35.00"))
    assert (entry.lower_error, entry.higher_error) == (Decimal(0), Decimal(0))
    assert entry.swing == Decimal(35)


def test_each_input_moves_the_cost_its_own_way(season_of: SeasonOf) -> None:
    listed = input_effects(engine(season_of), 6000)
    found = effects(listed)
    for name in ("prices of parts and kits", "labour and supplies of the levels", "what flows with use, as fuel"):
        assert found[name].lower < 0 < found[name].higher, name
    for name in ("how often hazards strike", "what damage costs beyond parts and levels"):
        assert found[name].lower < 0 < found[name].higher, name
    for name in (
        "lives of all parts: renewed and failing later",
        "life of springs",
        "lives at which parts fail, renewed as before",
    ):
        assert found[name].lower > 0 > found[name].higher, name
    assert found["purses"].lower > 0 > found["purses"].higher
    swings = [effect.swing for effect in listed]
    assert swings == sorted(swings, reverse=True)


def test_the_life_of_what_is_run_to_failure_moves_when_it_fails(season_of: SeasonOf) -> None:
    positions = "slot,level,renewal\nsprings,quick,run to failure\nrings,full,\n"
    springs = effects(input_effects(engine(season_of, positions=positions, damage="slot,case,chance\n"), 3000))[
        "life of springs"
    ]
    assert springs.lower > 0 > springs.higher
    assert springs.lower > 4 * springs.lower_error


def test_prices_that_move_by_a_fifth_move_what_they_pay_for_by_a_fifth(season_of: SeasonOf) -> None:
    season = engine(season_of)
    draws = draw(season, 200)
    found = effects(input_effects(season, 200))
    labour = draws.cause[:, machine.CAUSES.index("labour")].mean()
    supplies = found["labour and supplies of the levels"]
    tape = draws.laps.mean() / 4
    assert float(found["what flows with use, as fuel"].higher) == approx(0.2 * tape, abs=0.02)
    # Supplies of 2 go with each 25 of labour, 15 with each 120.
    assert 0.2 * labour / 100 < float(supplies.higher) < 0.2 * labour / 100 * 1.2
    assert float(supplies.higher) == approx(-float(supplies.lower), abs=0.02)


def test_inputs_that_a_season_lacks_are_left_out(season_of: SeasonOf) -> None:
    found = effects(
        input_effects(
            engine(
                season_of,
                calendar="event,date,laps\none,2027-05-01,30\n",
                hazards="hazard,chance,per\n",
                damage="slot,case,chance\n",
                services="service,price,every,measure\n",
            ),
            20,
        )
    )
    assert set(found) == {
        "prices of parts and kits",
        "labour and supplies of the levels",
        "lives of all parts: renewed and failing later",
        "lives at which parts fail, renewed as before",
        "life of springs",
        "life of rings",
    }


def test_the_inputs_of_a_demo_move_the_way_they_should() -> None:
    scenario, problems = read_scenario(DEMOS / "oval-v8")
    assert scenario is not None, problems
    season, problems = scenario.season()
    assert season is not None, problems
    found = effects(input_effects(season, 200))
    prices, purses = found["prices of parts and kits"], found["purses"]
    assert prices.lower < 0 < prices.higher
    assert purses.higher < 0 < purses.lower
    longer = found["lives of all parts: renewed and failing later"]
    assert longer.higher < 0 < longer.lower
    assert sum(name.startswith("life of ") for name in found) == 6
