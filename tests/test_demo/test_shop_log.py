"""The demo's shop log: it is drawn from the lives that the catalog states, and the fits find them again."""

from __future__ import annotations

import importlib.util
import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import pytest

from costplan.garage.log import read_log
from costplan.life.fitting.judged import Asked, FittedLife
from costplan.scenario import Scenario, read_scenario
from costplan.scenario.lives import fitted_lives, lived_slots
from costplan.scenario.logs import Log, read_logs

ROOT = Path(__file__).parents[2]
FOLDER = ROOT / "scenarios" / "oval-v8"
FIGURES = ("shape", "scale", "b10", "mean")


@pytest.fixture(scope="module")
def drawing() -> Iterator[ModuleType]:
    """The program that draws the log."""
    name = "draw_shop_log"
    spec = importlib.util.spec_from_file_location(name, Path(__file__).with_name(f"{name}.py"))
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    yield module
    del sys.modules[name]


@pytest.fixture(scope="module")
def demo() -> Scenario:
    scenario, problems = read_scenario(FOLDER)
    assert scenario is not None, problems
    return scenario


def fits_of(scenario: Scenario, path: Path) -> tuple[FittedLife, ...]:
    entries, problems = read_log(path)
    assert problems == ()
    logs = (Log(path.name, entries, own=False),)
    return fitted_lives(scenario, logs, lived_slots(scenario), "", Asked(), all_asked=False)


def held(lives: tuple[FittedLife, ...]) -> Counter[tuple[str, bool]]:
    """How many figures that the log gives lie around the catalog's, by name, and how many do not."""
    return Counter(
        (name, bool(getattr(life, name).holds))
        for life in lives
        for name in FIGURES
        if name != "shape" or life.shape_from == "log"
    )


def test_the_log_is_what_its_program_draws(drawing: ModuleType) -> None:
    assert (FOLDER / "shop-log.csv").read_bytes().decode() == drawing.draw_log()


def test_the_log_is_small_and_in_order(demo: Scenario) -> None:
    logs, problems = read_logs(FOLDER, demo)
    assert problems == ()
    (shop,) = (log for log in logs if log.name == "shop-log.csv")
    assert len({row.engine for row in shop.entries}) == 36
    assert {row.date.year for row in shop.entries} == {2024, 2025, 2026}
    assert len(shop.entries) < 6000
    assert (FOLDER / "shop-log.csv").stat().st_size < 400_000


def test_the_demos_fits_hold_every_stated_life(demo: Scenario) -> None:
    """Nine lives, eight slots: with 90 % bounds one of ten figures may well lie outside; in this log none does."""
    lives = fits_of(demo, FOLDER / "shop-log.csv")
    assert sorted((life.slot, life.failures) for life in lives) == [
        ("exhaust-valves", 9),
        ("lifters", 22),
        ("retainers", 1),
        ("rings", 11),
        ("rockers", 5),
        ("rod-bearings", 10),
        ("springs", 16),
        ("springs", 42),
        ("water-pump", 5),
    ]
    assert [life.slot for life in lives if life.shape_from == "catalog"] == ["retainers"]
    assert held(lives) == Counter({("shape", True): 8, ("scale", True): 9, ("b10", True): 9, ("mean", True): 9})


def test_of_many_such_logs_the_bounds_hold_as_often_as_they_claim(
    demo: Scenario, drawing: ModuleType, tmp_path: Path
) -> None:
    """12 other logs with nine lives each, censored by renewals, truncated by second-hand engines, cut by runs without
    figures: within four standard errors of 90 %, 0.9 +/- 4 sqrt(0.9 * 0.1 / 108) = 0.78 to 1. Measured over 60:
    shape 0.910, scale 0.893, B10 0.909, mean 0.893."""
    found: Counter[tuple[str, bool]] = Counter()
    for seed in range(2, 14):
        path = tmp_path / f"{seed}.csv"
        path.write_text(drawing.draw_log(seed), encoding="utf-8")
        found += held(fits_of(demo, path))
    for name in FIGURES:
        share = found[name, True] / (found[name, True] + found[name, False])
        assert 0.78 <= share <= 1, (name, share)
