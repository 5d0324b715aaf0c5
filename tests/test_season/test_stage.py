"""A season made ready once and drawn again and again: the same seasons as ever, and what a stage refuses."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields
from pathlib import Path

import numba
import numpy as np
import pytest

from costplan.scenario import read_scenario
from costplan.season import Season, compiled
from costplan.season.arrays import as_drawn
from costplan.season.deciding.spares_box import with_stock
from costplan.season.drawn import drawing
from costplan.season.drawn.comparing import burden_of
from costplan.season.drawn.drawing import Draws, draw, draw_these
from costplan.season.drawn.stage import Stage
from tests.test_season.test_drawing import same

SeasonOf = Callable[..., Season]
DEMOS = Path(__file__).parents[2] / "scenarios"


@pytest.fixture(scope="module")
def kart() -> Season:
    scenario, _ = read_scenario(DEMOS / "kart-single")
    assert scenario is not None
    assert scenario.compiled is not None
    return scenario.compiled


def by_season(draws: Draws) -> dict[str, np.ndarray]:
    """What a drawing keeps of every season."""
    found = {one.name: getattr(draws, one.name) for one in fields(draws)}
    return {name: table for name, table in found.items() if np.shape(table)[:1] == (draws.seasons,)}


def dearer(season: Season) -> Season:
    return with_stock(season, {item.name: item.pack for item in season.items if item.offers})


@pytest.mark.parametrize("compiled", [True, False])
def test_what_was_drawn_on_a_stage_before_changes_nothing(kart: Season, compiled: bool) -> None:
    stage, seasons = Stage(kart, compiled=compiled), 30
    moved = as_drawn(kart, 3)._replace(rain=np.minimum(1.0, kart.problem.rain * 2))
    for season, problem in ((kart, None), (dearer(kart), None), (kart, moved), (kart, None)):
        ever = draw(season, seasons, 3, problem=problem, compiled=compiled)
        same(draw(season, seasons, 3, problem=problem, stage=stage), ever)


@pytest.mark.parametrize("workers", [1, 3])
def test_drawn_on_from_where_one_stopped_they_are_the_same_seasons(
    kart: Season, workers: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(drawing, "BLOCK", 7)
    whole, stage = by_season(draw(kart, 40, 5)), Stage(kart, workers=workers)
    parts = [by_season(draw(kart, count, 5, first=first, stage=stage)) for first, count in ((0, 16), (16, 24))]
    assert {"cash", "left", "lost", "event", "cause"} <= set(whole)
    for name, table in whole.items():
        assert (np.concatenate([part[name] for part in parts]) == table).all(), name


@pytest.mark.parametrize("compiled", [True, False])
def test_single_seasons_by_their_numbers_are_those_of_a_drawing(kart: Season, compiled: bool) -> None:
    numbers, whole = np.array([2, 3, 4, 9, 11, 12, 39]), draw(kart, 40, 5)
    found = draw_these(kart, numbers, as_drawn(kart, 5), Stage(kart, compiled=compiled))
    assert (found.cash + whole.fixed.total == whole.cash[numbers]).all()
    assert (found.misses == whole.misses[numbers]).all()
    net = found.cash + whole.fixed.total - found.left + kart.result_worth * found.lost
    assert (net == burden_of(whole)[numbers]).all()
    assert len(draw_these(kart, numbers[:0], as_drawn(kart, 5), Stage(kart, compiled=compiled)).cash) == 0


def test_each_season_can_be_read_before_the_next_is_played(kart: Season) -> None:
    numbers, stage = [4, 0, 7], Stage(kart, noted=True)
    cash = [int(state.tally_event.sum()) for state in stage.each(kart, as_drawn(kart, 2), numbers)]
    whole = draw(kart, 8, 2, stage=stage)
    assert cash == (whole.cash[numbers] - whole.fixed.total).tolist()


def test_two_at_once_cannot_have_a_stage(kart: Season) -> None:
    stage = Stage(kart)
    with stage.taken(kart, as_drawn(kart, 1)), pytest.raises(RuntimeError, match="one thread at a time"):
        draw(kart, 1, stage=stage)
    assert draw(kart, 1, stage=stage).seasons == 1


def test_a_problem_of_other_shapes_or_types_is_refused(kart: Season) -> None:
    stage, problem = Stage(kart), as_drawn(kart, 1)
    others = (problem._replace(rain=problem.rain[:-1]), problem._replace(rain=problem.rain.astype(np.float32)))
    for other in others:
        with pytest.raises(ValueError, match="a stage of its own"):
            draw(kart, 1, problem=other, stage=stage)
    start = kart.start._replace(stock=kart.start.stock[:-1])
    with pytest.raises(ValueError, match="a stage of its own"):
        draw(Season(**{one.name: getattr(kart, one.name) for one in fields(kart)} | {"start": start}), 1, stage=stage)


def test_arrays_that_are_alike_are_of_one_type() -> None:
    table = np.zeros((2, 3))
    kinds = [compiled._kind(one) for one in (table, table.copy(), np.zeros((5, 4)))]
    assert kinds[0] is kinds[1] is kinds[2]
    for other in (table.T, table.astype(int), table[0]):
        assert compiled._kind(other) == numba.typeof(other) != kinds[0]
