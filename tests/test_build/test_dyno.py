"""Dyno sheets: what they make of an estimate, what was on the brake, and files at fault."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import get_args

import pytest
from pytest import approx

from costplan.build import Build
from costplan.build.airflow import STANDARDS, Breath, Estimator, calibrate, calibrated
from costplan.build.pattern import Airflow
from costplan.garage import Pull
from costplan.garage.dyno import OBSERVED
from costplan.problems import Place
from costplan.quantity import Quantity
from costplan.scenario import read_scenario
from tests.test_build.small_four import BORED, PATTERN_KEYS, read, with_parts

# --- dyno sheets -----------------------------------------------------------------------------------------------------


def pull(rpm: float, power: float, corrected: str = "SAE J1349", **air: object) -> Pull:
    given = {"pressure": Quantity(97, "kPa"), "celsius": 30, "humidity": 0.0, **air} if corrected == OBSERVED else air
    return Pull(rpm=rpm, power=Quantity(power, "kW"), corrected=corrected, date=date(2027, 2, 15), **given)


def pulls(breath: Breath, factor: float, speeds: Iterable[float], off: Callable[[float], float] = float) -> list[Pull]:
    """What an engine gives whose gas gives so many times the estimate, each figure off by some kW."""
    return [
        pull(rpm, factor * breath.indicated(rpm) - breath.friction(rpm) + (0 if off is float else off(rpm)))
        for rpm in speeds
    ]


def plain(estimator: Estimator, build: Build) -> Breath:
    breath = estimator.breath(build)
    assert breath is not None
    return breath


@pytest.mark.parametrize("factor", [0.8, 1.0, 1.23])
def test_a_sheet_gives_back_the_factor_that_made_it(estimator: Estimator, build: Build, factor: float) -> None:
    made = pulls(plain(estimator, build), factor, (4000, 5000, 6000, 7000))
    found = calibrated(estimator, [(build, made)])
    assert found.factor == approx(factor, rel=1e-12)
    assert found.calibration is not None
    assert found.calibration.spread == approx(0, abs=1e-9)
    # nothing is left, and yet no brake repeats to better than a hundredth
    assert (found.calibration.enough, found.error_share) == (True, 0.01)
    assert found.look(build).speeds[-1].power.to("kW") == approx(made[-1].kilowatts, rel=1e-9)


def test_a_sheet_read_again_changes_nothing(estimator: Estimator, build: Build) -> None:
    sheets = [(build, pulls(plain(estimator, build), 1.2, (4000, 5000, 6000)))]
    once = calibrated(estimator, sheets)
    assert calibrated(once, sheets).factor == approx(once.factor)


def test_the_error_is_twice_the_scatter_by_hand(estimator: Estimator, build: Build) -> None:
    breath = plain(estimator, build)
    # the factor is fitted too, so that what is left is worked out from the normal equation
    made = pulls(breath, 1.1, (4000, 5000, 6000), {4000.0: 4.0, 5000.0: -4.0, 6000.0: 3.0}.__getitem__)
    indicated = [breath.indicated(one.rpm) for one in made]
    gross = [one.kilowatts + breath.friction(one.rpm) for one in made]
    factor = sum(a * b for a, b in zip(gross, indicated, strict=True)) / sum(one * one for one in indicated)
    left = sum((g - factor * i) ** 2 for g, i in zip(gross, indicated, strict=True))
    found = calibrate(estimator.airflow, [(one, breath) for one in made])
    assert found.factor == approx(factor)
    assert found.spread == approx(math.sqrt(left / 2))
    assert found.error == approx(2 * math.sqrt(left / 2) / (sum(one.kilowatts for one in made) / 3))
    assert found.speeds == (4000, 6000)


def test_two_pulls_set_the_factor_and_not_the_error(estimator: Estimator, build: Build) -> None:
    found = calibrated(estimator, [(build, pulls(plain(estimator, build), 1.1, (5000, 6000)))])
    assert found.factor == approx(1.1)
    assert found.error_share == 0.12
    assert found.calibration is not None
    assert not found.calibration.enough
    assert any(word.startswith("error of 12%") for word in found.look(build).assumed)


def test_observed_power_is_brought_to_the_patterns_standard(estimator: Estimator, build: Build) -> None:
    breath, factor = plain(estimator, build), STANDARDS["SAE J1349"].factor(97, 30)
    found = calibrate(estimator.airflow, [(pull(6000, 100, OBSERVED), breath)])
    (point,) = found.points
    assert point.measured == 100
    assert point.corrected == approx(100 * factor)
    assert factor == approx(1.18 * (99 / 97) * math.sqrt(303 / 298) - 0.18)


def test_power_of_another_standard_goes_by_the_air_it_was_pulled_in(estimator: Estimator, build: Build) -> None:
    air = {"pressure": Quantity(97, "kPa"), "celsius": 30, "humidity": 0.0}
    observed, other = pull(6000, 100, OBSERVED), STANDARDS["SAE J607"].factor(97, 30)
    both = [observed, pull(6000, 100 * other, "SAE J607", **air)]
    found = calibrate(estimator.airflow, [(one, plain(estimator, build)) for one in both])
    assert found.points[0].corrected == approx(found.points[1].corrected)


def test_a_sheet_of_an_engine_that_cannot_be_estimated_sets_nothing(estimator: Estimator, build: Build) -> None:
    bare = with_parts(estimator, build, head="bare")
    assert calibrated(estimator, [(bare, [pull(6000, 100)])]) is estimator


def test_sheets_of_two_engines_set_one_factor(estimator: Estimator, build: Build) -> None:
    ported = with_parts(estimator, build, head="ported")
    sheets = [
        (build, pulls(plain(estimator, build), 1.15, (4000, 5000))),
        (ported, pulls(plain(estimator, ported), 1.15, (5000, 6000))),
    ]
    assert calibrated(estimator, sheets).factor == approx(1.15)


def test_speeds_that_no_pull_has_are_told(estimator: Estimator, build: Build) -> None:
    made = pulls(plain(estimator, build), 1.1, (5000, 5500, 6000))
    found = calibrated(estimator, [(build, made)]).look(build)
    told = found.extrapolated
    assert [one.rpm for one in found.speeds if not one.beyond] == [5000, 5500, 6000]
    assert not any(one.beyond for one in estimator.look(build).speeds)
    assert "power at speeds that no pull has: the dyno sheet is of 5,000 to 6,000 rpm" in told


def test_a_calibrated_estimator_remembers_nothing_of_the_plain_one(estimator: Estimator, build: Build) -> None:
    before = estimator.power(build.fills)
    after = calibrated(estimator, [(build, pulls(plain(estimator, build), 1.2, (4000, 5000, 6000)))]).power(build.fills)
    assert before is not None
    assert after is not None
    assert after > before


@pytest.mark.parametrize(("times", "at"), [(10, 2), (0.1, 0), (10, 3), (2.5, 1)])
def test_a_slip_of_the_pen_calibrates_nothing_and_is_the_row_that_is_named(
    estimator: Estimator, build: Build, times: float, at: int
) -> None:
    made = pulls(plain(estimator, build), 1.1, (4000, 5000, 6000, 7000))
    right = made[at].kilowatts
    made[at] = made[at].model_copy(update={"power": Quantity(times * right, "kW"), "place": Place("dyno.csv", at + 2)})
    found = calibrated(estimator, [(build, made)])
    (problem,) = found.problems
    assert (problem.code, str(problem.place), problem.field) == ("DYN004", f"dyno.csv:{at + 2}", "power")
    # the others have one factor, so that what they say of this row is what it was
    assert problem.advice.endswith(f"by the others about {Quantity(float(f'{right:.3g}'), 'kW')}")
    assert (found.calibration, found.factor, found.error_share) == (None, 1.0, 0.12)
    assert found.look(build).peak == estimator.look(build).peak


def test_rows_that_scatter_by_less_than_half_are_counted_with_their_error(estimator: Estimator, build: Build) -> None:
    made = pulls(plain(estimator, build), 1.1, (4000, 5000, 6000, 7000))
    made[1] = made[1].model_copy(update={"power": Quantity(1.5 * made[1].kilowatts, "kW")})
    found = calibrated(estimator, [(build, made)])
    assert found.problems == ()
    assert 0.3 < found.error_share < 0.5


@pytest.mark.parametrize(("factor", "speeds"), [(2.1, (4000, 5000, 6000)), (0.45, (4000, 5000, 6000)), (2.1, (5000,))])
def test_a_sheet_far_from_what_the_pattern_makes_of_the_engine_is_refused(
    estimator: Estimator, build: Build, factor: float, speeds: tuple[float, ...]
) -> None:
    (problem,) = calibrated(estimator, [(build, pulls(plain(estimator, build), factor, speeds))]).problems
    assert problem.what.startswith(f"{factor:.2g} times what the pattern makes of the gas")
    assert str(estimator.airflow.place) in problem.advice


def test_of_two_rows_the_one_far_off_is_named(estimator: Estimator, build: Build) -> None:
    # one half and a bit: with the sound row the factor alone would pass
    made = pulls(plain(estimator, build), 1.0, (5000,)) + pulls(plain(estimator, build), 0.4, (6000,))
    made[1] = made[1].model_copy(update={"place": Place("dyno.csv", 3)})
    found = calibrated(estimator, [(build, made)])
    assert [str(problem.place) for problem in found.problems] == ["dyno.csv:3"]


def test_power_that_is_less_than_none_is_no_row_to_compare_with(estimator: Estimator, build: Build) -> None:
    # friction outweighs what the others say of this speed: no figure is given in place of the slip
    breath = plain(estimator, build)
    fast = 40_000.0
    assert breath.power(fast) < 0
    made = [*pulls(breath, 1.0, (4000, 5000, 6000)), pull(fast, 9_000)]
    (problem,) = calibrated(estimator, [(build, made)]).problems
    assert problem.advice == "check its digits and unit"


# --- what was on the brake -------------------------------------------------------------------------------------------


def on_brake(estimator: Estimator, *builds: Build) -> Estimator:
    """An estimator calibrated by three pulls of each of some engines."""
    return calibrated(estimator, [(one, pulls(plain(estimator, one), 1.1, (4000, 5000, 6000))) for one in builds])


def test_without_a_sheet_nothing_was_pulled(estimator: Estimator, build: Build) -> None:
    assert not estimator.pulled(build.fills)
    assert "head" in estimator.unpulled(build.fills)
    assert "box" not in estimator.unpulled(build.fills)


def test_the_engine_on_the_brake_was_pulled_and_those_with_other_parts_were_not(
    estimator: Estimator, build: Build
) -> None:
    found = on_brake(estimator, build)
    assert found.pulled(build.fills)
    assert (found.look(build).pulled, found.look(build).unpulled) == (True, ())
    for parts, slots in (
        ({"head": "ported"}, ("head",)),
        ({"carburetor": "twin"}, ("carburetor",)),  # alike in all that is read, and yet another
        ({"cam": "cam", "rocker": "high-rocker"}, ("cam", "rocker")),
        ({"plate": "plate"}, ("plate",)),
        ({"box": "box"}, ()),  # it ends the curve and does not shape it
    ):
        other = with_parts(estimator, build, **parts)
        assert found.unpulled(other.fills) == slots
        assert (found.look(other).pulled, found.look(other).unpulled) == (not slots, slots)
        assert found.error(100) == approx(1)  # nothing is widened


def test_of_what_gives_the_size_a_like_part_is_the_same(estimator: Estimator, build: Build) -> None:
    found, fill = on_brake(estimator, build), build.fills["block"]
    for bore, slots in ((80, ()), (81, ("block",))):
        part = fill.part.model_copy(update={"part": "other", "attributes": {"bore": Quantity(bore, "mm")}})
        assert found.unpulled({**build.fills, "block": replace(fill, part=part)}) == slots


def test_what_is_done_to_a_part_makes_no_other_of_it(estimator: Estimator, build: Build) -> None:
    found, fill = on_brake(estimator, build), build.fills["block"]
    done = {**build.fills, "block": replace(fill, operations=(BORED,))}
    assert found.alike("block", done["block"]) != found.alike("block", fill)
    assert found.pulled(done)


def test_of_several_engines_the_most_similar_counts(estimator: Estimator, build: Build) -> None:
    other = with_parts(estimator, build, head="ported", cam="cam")
    found = on_brake(estimator, build, other)
    assert found.pulled(other.fills)
    assert found.unpulled(with_parts(estimator, build, head="ported", cam="cam", manifold="bare").fills) == (
        "manifold",
    )
    assert len(on_brake(estimator, build, build).on_brake) == 1


# --- standards -------------------------------------------------------------------------------------------------------


def test_pattern_and_sheet_know_the_same_standards() -> None:
    assert set(get_args(Airflow.model_fields["standard"].annotation)) == set(STANDARDS)
    assert set(get_args(Pull.model_fields["corrected"].annotation)) == {OBSERVED, *STANDARDS}


def test_each_standards_own_air_has_a_factor_of_one() -> None:
    for standard in STANDARDS.values():
        assert standard.factor(standard.pressure, standard.temperature) == approx(1, abs=2e-5)
    assert STANDARDS["SAE J1349"].density == approx(1.1567, abs=1e-4)
    # at 15 C the speed of sound is 340.3 m/s in the standard atmosphere (ISO 2533, from memory)
    assert STANDARDS["SAE J607"].sound_speed == approx(340.3, abs=0.5)


# --- files at fault --------------------------------------------------------------------------------------------------

DYNO = "engine,rpm,power [kW],corrected,pressure [kPa],celsius,humidity,date\n" + "".join(
    f",{rpm},{power},{how},98,25,30 %,2027-02-15\n"
    for rpm, power, how in ((4000, 50, "observed"), (5000, 60, "SAE J1349"), (6000, 66, "SAE J607"))
)
SCENARIO = 'title = "Small"\ncurrency = "USD"\ncatalogs = ["shop"]\npattern = "pattern.toml"\nbuild = "build.csv"\n'
CALENDAR = "event,date,kind,hours\nopener,2027-04-01,race,1\n"
CELLS = ("", "x", "-1", "0", "1e-9", "1e12", "NaN", "=1", "50 %", "2 deg")


@pytest.fixture
def scenario(tmp_path: Path) -> Path:
    """A folder with the small engine, a dyno sheet and one race."""
    read(tmp_path)
    for name, text in {"scenario.toml": SCENARIO, "calendar.csv": CALENDAR, "dyno.csv": DYNO}.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    return tmp_path


def test_a_scenario_is_calibrated_by_its_sheet(scenario: Path) -> None:
    found, problems = read_scenario(scenario)
    assert problems == ()
    assert found is not None
    estimator = found.estimator()
    assert estimator is not None
    assert estimator.calibration is not None
    assert [point.rpm for point in estimator.calibration.points] == [4000, 5000, 6000]
    before = found.estimator(date(2027, 2, 14))
    assert before is not None
    assert before.calibration is None


@pytest.mark.parametrize(
    "address",
    [
        *(f"dyno/{line}/{column}" for line in (2, 4) for column in ("rpm", "power", "pressure", "celsius", "humidity")),
        *(f"shop/flow/{line}/{column}" for line in (2, 3, 6) for column in ("lift", "flow", "pressure")),
        *(f"shop/lift_curves/{line}/{column}" for line in (2, 3) for column in ("angle", "lift")),
        *(f"shop/parts/curved/{column}" for column in ("intake_lobe_lift", "lobe_duration")),
        *(f"shop/parts/{name}" for name in ("block/bore", "crank/stroke", "rocker/rocker_ratio", "carburetor/fuel")),
        *(f"pattern/inputs/{name}" for name in ("cylinders", "red_line", "gasket_bore", "deck_clearance")),
        *(f"pattern/airflow/{name}" for name in PATTERN_KEYS),
    ],
)
def test_whatever_is_written_is_refused_estimated_or_missing(scenario: Path, address: str) -> None:
    for cell in CELLS:
        found, problems = read_scenario(scenario, [f"{address}={cell}"])
        assert (found is None) == bool(problems), cell
        estimator = found.estimator() if found else None
        if found is None or estimator is None:
            continue
        breathing = estimator.look(found.built())
        assert (breathing.peak is None) == bool(breathing.missing), cell
        if breathing.peak is not None:
            assert math.isfinite(breathing.peak.value)
        assert (estimator.power(found.built().fills) is None) == (breathing.peak is None), cell
