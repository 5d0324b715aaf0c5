"""Seasons in a currency of large numbers: nothing wraps, and nothing cancels out."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from threading import Thread

import numpy as np
import pytest

from costplan.scenario import read_scenario
from costplan.season import Season, machine
from costplan.season.drawn.drawing import draw

MONEY = ("pack_price", "kit_price", "step_cost", "resale", "core", "cost", "labour", "fee", "case_cost", "case_paid")
EVENTS = ("event_flow", "event_cost", "purse", "event_fee", "swap_fee", "used_value")


def oval() -> Season:
    scenario, problems = read_scenario(Path("scenarios/oval-v8"))
    assert scenario is not None, problems
    season, problems = scenario.season()
    assert season is not None, problems
    return season


def dearer(season: Season, times: int) -> Season:
    """The same season with every amount so many times as large."""
    names = (*MONEY, *EVENTS)
    problem = season.problem._replace(**{name: getattr(season.problem, name) * times for name in names})
    problem = problem._replace(flow=problem.flow * times)
    start = season.start._replace(
        value=season.start.value * times,
        worked=season.start.worked * times,
        stock_value=season.start.stock_value * times,
    )
    return replace(season, problem=problem, start=start)


@pytest.mark.parametrize("times", [1_000, 100_000])
def test_a_season_in_large_numbers_is_the_same_season(times: int) -> None:
    """Within a unit for every amount that is rounded: a kit's price is shared out, a balance is looked at."""
    season = oval()
    states = []
    for one in (season, dearer(season, times)):
        state = machine.untraced(one.start)
        machine.play(one.problem, state)
        states.append(state)
    plain, large = states
    assert (large.renewals[:, [0, 1, 2, 3]] == plain.renewals[:, [0, 1, 2, 3]]).all()
    assert abs(int(large.tally_event.sum()) / times - int(plain.tally_event.sum())) < 40
    assert abs(int(large.used_up[0]) / times - int(plain.used_up[0])) < 400
    assert abs(int(large.stock_value.sum()) / times - int(plain.stock_value.sum())) < 40


def test_where_every_season_costs_the_same_no_line_has_a_share(tmp_path: Path) -> None:
    (tmp_path / "calendar.csv").write_text("event,date,laps\none,2027-05-01,30\ntwo,2027-05-08,30\n", encoding="utf-8")
    (tmp_path / "services.csv").write_text(
        "service,price,every,measure\nfreshen,2003040.11,10,laps\n", encoding="utf-8"
    )
    (tmp_path / "scenario.toml").write_text('title = "x"\ncurrency = "USD"\n', encoding="utf-8")
    scenario, problems = read_scenario(tmp_path)
    assert scenario is not None, problems
    assert scenario.compiled is not None
    draws = draw(scenario.compiled, 60, compiled=False)
    assert len(set(draws.cash.tolist())) == 1
    assert draws.line_share.tolist() == [0.0] * len(draws.line_share)


def test_two_threads_that_draw_at_once_draw_the_same() -> None:
    found: list[np.ndarray[tuple[int], np.dtype[np.int64]]] = []
    season = oval()
    threads = [Thread(target=lambda: found.append(draw(season, 40).cash)) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert found[0].tolist() == found[1].tolist()
