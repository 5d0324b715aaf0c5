"""The frontier against all builds: every point on it, both ends there, steps that add up."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from importlib import import_module
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from costplan.choose import AIMS, Frontier, Wishes, best, frontier, prepare
from costplan.choose.aims import WATTS
from costplan.choose.settling import Settled, settle
from costplan.scenario import Scenario
from tests.test_choose.drawn_engines import draw_engine
from tests.test_choose.drawn_scenarios import DAY, draw
from tests.test_choose.every_build import every_build, standing
from tests.test_choose.test_choosing import season

SEEDS = range(100, 140)
ENGINE = Wishes(DAY, optional=("plate",))


def pareto(pairs: set[tuple[Decimal, int]]) -> set[tuple[Decimal, int]]:
    """Those of pairs that none is as low as in both, but themselves."""
    return {
        one for one in pairs if not any(other != one and other[0] <= one[0] and other[1] <= one[1] for other in pairs)
    }


def test_every_point_against_the_season_is_on_the_front_of_all_builds(tmp_path: Path) -> None:
    lengths = []
    for seed in SEEDS:
        files, wishes = draw(seed)
        scenario = files.write(tmp_path / str(seed))
        good = standing(every_build(scenario, wishes), wishes)
        if not good:
            continue
        aimed = prepare(scenario, wishes)
        found = frontier(aimed, "season", 6, 30)
        points = [(one.option.price, round((one.option.per_season or Decimal(0)) * 100)) for one in found.points]
        front = pareto({(one.price, season(one, aimed)) for one in good})
        lengths.append(len(points))
        assert found.whole, seed
        assert all(point.proved for point in found.points), seed
        assert set(points) <= front, seed
        assert points == sorted(points), seed
        assert (points[0], points[-1]) == (min(front), max(front)), seed
        assert len(points) <= 6
        steps = [(one.step.costs, one.step.less_a_season) for one in found.points[1:] if one.step]
        pairs = pairwise(points)
        assert steps == [(after[0] - one[0], Decimal(one[1] - after[1]) / 100) for one, after in pairs], seed
    assert max(lengths) > 2


def test_out_of_time_it_is_not_whole_and_nothing_on_it_is_dominated(tmp_path: Path) -> None:
    for seed in SEEDS[:10]:
        files, wishes = draw(seed)
        found = frontier(prepare(files.write(tmp_path / str(seed)), wishes), "season", 6, 0.0)
        values = [(one.option.price, -(one.option.per_season or Decimal(0))) for one in found.points]
        assert all(one[0] < after[0] and one[1] < after[1] for one, after in pairwise(values))


def test_without_proof_no_point_is_called_proved(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def early(*args: Any) -> Settled:
        settled = settle(*args)
        return replace(settled, solved=replace(settled.solved, status="best found", goals_proved=0))

    monkeypatch.setattr(import_module("costplan.choose.frontier"), "settle", early)
    found = frontier(prepare(draw_engine(0).write(tmp_path), ENGINE), "power", 4, 30)
    assert found.points
    assert not found.whole
    assert not any(point.proved for point in found.points)


@pytest.mark.parametrize(("goals", "proved"), [(1, False), (2, True), (4, True)])
def test_a_point_is_proved_by_its_price_and_what_stands_against_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, goals: int, proved: bool
) -> None:
    # With the lowest price alone a better bill may be there at that price; how ties are broken is no matter.
    def early(*args: Any) -> Settled:
        settled = settle(*args)
        return replace(settled, solved=replace(settled.solved, goals_proved=goals))

    monkeypatch.setattr(import_module("costplan.choose.frontier"), "settle", early)
    found = frontier(prepare(draw_engine(2).write(tmp_path), ENGINE), "power", 4, 30)
    assert found.whole
    assert [point.proved for point in found.points] == [proved] * 3


def powers(scenario: Scenario, wishes: Wishes) -> list[tuple[Decimal, int | None]]:
    """Price and estimated power in watts of every build that stands; None where it is not known."""
    estimator = scenario.estimator(wishes.on)
    assert estimator is not None
    found = []
    for one in standing(every_build(scenario, wishes), wishes):
        power = estimator.power({slot: way.fill for slot, way in one.ways.items() if way.fill})
        found.append((one.price, None if power is None else round(power * WATTS)))
    return found


def watts(found: Frontier) -> list[tuple[Decimal, int]]:
    return [(one.option.price, round((one.option.power or 0) * WATTS)) for one in found.points]


def test_every_point_against_power_is_on_the_front_of_all_builds(tmp_path: Path) -> None:
    lengths = []
    for seed in range(10):
        scenario = draw_engine(seed).write(tmp_path / str(seed))
        known = {(price, -power) for price, power in powers(scenario, ENGINE) if power is not None}
        front = {(price, -power) for price, power in pareto(known)}
        found = frontier(prepare(scenario, ENGINE), "power", 6, 30)
        points = watts(found)
        lengths.append(len(points))
        assert found.whole, seed
        assert all(point.proved for point in found.points), seed
        assert set(points) <= front, seed
        assert (points[0], points[-1]) == (min(front), max(front)), seed
        assert all(one[0] < after[0] and one[1] < after[1] for one, after in pairwise(points)), seed
    assert max(lengths) > 3


def test_there_are_never_more_points_than_were_asked_for(tmp_path: Path) -> None:
    # Where a bill between the ends is as strong but for the error, it is one of three points, and of two it is none;
    # from which price on nothing certain is bought is told all the same.
    between = 0
    for seed in range(10):
        aimed = prepare(draw_engine(seed, error=1).write(tmp_path / str(seed)), ENGINE)
        whole = frontier(aimed, "power", 12, 30)
        ends = [watts(whole)[0], watts(whole)[-1]]
        for number in (3, 2):
            found = frontier(aimed, "power", number, 30)
            points = watts(found)
            assert len(points) <= number, (seed, number)
            assert [points[0], points[-1]] == ends, (seed, number)
            assert (found.whole, found.certain_until) == (True, whole.certain_until), (seed, number)
            between += number == 3 and len(points) == 3
    assert between


def test_a_frontier_of_less_than_two_points_is_none(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="both ends"):
        frontier(prepare(draw_engine(0).write(tmp_path), ENGINE), "power", 1, 30)


def test_what_is_certain_is_more_than_the_error_alone_or_since_the_last_certain_point(tmp_path: Path) -> None:
    told = set()
    for seed in range(10):
        scenario = draw_engine(seed, error=1).write(tmp_path / str(seed))
        found = frontier(prepare(scenario, ENGINE), "power", 8, 30)
        assert len(found.points) <= 8
        sure = found.points[0]
        for before, point in pairwise(found.points):
            assert point.step is not None
            power, error = point.option.power or 0, point.option.error or 0
            more = [power - (other.option.power or 0) for other in (before, sure)]
            errors = [max(error, other.option.error or 0) for other in (before, sure)]
            certain = any(one > width for one, width in zip(more, errors, strict=True))
            assert point.step.certain == certain, seed
            assert (point.step.more_power, point.step.power_summed) == tuple(more)
            assert point.step.power_since == power - (found.points[0].option.power or 0)
            told.add(certain)
            sure = point if certain else sure
        most = found.points[-1].option
        enough = (most.power or 0) - (most.error or 0)
        near = [price for price, power in powers(scenario, ENGINE) if power is not None and power >= enough * WATTS]
        assert found.certain_until == min(near), seed
    assert told == {True, False}


def test_most_power_is_most_of_what_is_known_within_a_budget_and_the_cheapest_may_have_none(tmp_path: Path) -> None:
    unknown = 0
    for seed in range(10):
        scenario = draw_engine(seed).write(tmp_path / str(seed))
        every = powers(scenario, ENGINE)
        cheapest, _ = best(prepare(scenario, ENGINE), AIMS["price"])
        assert cheapest.option is not None
        assert cheapest.option.price == min(price for price, _ in every), seed
        unknown += cheapest.option.power is None
        budget = cheapest.option.price + 150
        within = Wishes(DAY, optional=ENGINE.optional, budget=budget)
        found, _ = best(prepare(scenario, within), AIMS["power"])
        wanted = [(-power, price) for price, power in every if power is not None and price <= budget]
        assert (found.option is not None) == bool(wanted), seed
        if found.option is not None:
            assert (-round((found.option.power or 0) * WATTS), found.option.price) == min(wanted), seed
    assert 0 < unknown < 10
