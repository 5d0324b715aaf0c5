"""A box that cuts out lower slows what runs on the track, and lives age by a power of the speed."""

from __future__ import annotations

from pathlib import Path

import pytest
from pytest import approx

from costplan.impact.speed import at_speed, cut_out, limiter_of, speed_factor
from tests.test_impact.small_field import FILES, desk, field_of, only, study, written


def events_of_a_cam(heat: float, final: float, dyno: float = 6500) -> float:
    """The events that 8 hours at 6000 rpm last, by the third power; a year has seven, six of them races."""
    a_year = 6 * (0.5 * (heat / 6000) ** 3 + (final / 6000) ** 3) + 0.5 * (dyno / 6000) ** 3
    return 8 / a_year * 7


def impact_toml(follows: float) -> str:
    return f"years = 4\nrpm_follows = {follows}\n"


def test_the_factor_goes_with_the_speeds_at_which_boxes_cut_out(tmp_path: Path) -> None:
    field = field_of(written(tmp_path), "box")
    made = desk(field)
    before, after = made.groups[0].crowd.scenario.built(), made.groups[0].changed[0].answer.build
    assert limiter_of(before) == "box"
    assert cut_out(before) == approx(9000)
    assert cut_out(after) == approx(6000)
    assert speed_factor(before, after, 1.0) == approx(2 / 3)
    assert speed_factor(before, after, 0.5) == approx(1 - 0.5 / 3)
    assert speed_factor(before, after, 0.0) == 1
    assert speed_factor(after, before, 1.0) == approx(1.5)


def test_where_a_box_does_not_cut_out_speeds_stay(tmp_path: Path) -> None:
    parts = FILES["catalog/parts.csv"].replace(
        "BOX-6,box,Dale,120,2027-01-10,1,3,0,40,,,6000", "BOX-6,box,Dale,120,2027-01-10,1,3,0,40,,,"
    )
    made = desk(field_of(written(tmp_path, parts=parts), "box"))
    assert speed_factor(made.groups[0].crowd.scenario.built(), made.groups[0].changed[0].answer.build, 1.0) == 1


def test_a_pattern_without_airflow_names_its_limiter_itself(tmp_path: Path) -> None:
    airflow = '[airflow]\nports = "head"\nduration = "240 deg"\nlimiter = "box"\n'
    assert airflow in FILES["pattern.toml"]
    pattern = FILES["pattern.toml"].replace(airflow, "").replace("[inputs]", 'limiter = "box"\n[inputs]')
    made = desk(field_of(written(tmp_path, pattern=pattern), "box"))
    before, after = made.groups[0].crowd.scenario.built(), made.groups[0].changed[0].answer.build
    assert (before.pattern.airflow, limiter_of(before)) == (None, "box")
    assert speed_factor(before, after, 0.5) == approx(1 - 0.5 / 3)


def test_sessions_on_the_track_turn_slower_and_those_on_the_dyno_as_ever(tmp_path: Path) -> None:
    files = field_of(written(tmp_path), "box").base.files
    found = at_speed(files, 2 / 3)
    assert {row.session: row.rpm for row in found.sessions} == {
        "heat": approx(4000),
        "final": approx(14000 / 3),
        "pulls": 6500,
    }
    assert at_speed(files, 1.0) is files
    assert (found.positions, found.levels) == (files.positions, files.levels)


def test_practice_runs_on_the_track_and_a_row_without_a_format_turns_slower_too(tmp_path: Path) -> None:
    calendar = (
        "event,date,kind,format,hours,rpm\nbench,2027-03-20,test,,1,5000\ntry,2027-03-27,practice,,1,6000\n"
        "one,2027-04-03,race,night,,\n"
    )
    files = field_of(written(tmp_path, calendar=calendar), "box").base.files
    assert {row.event: row.rpm for row in at_speed(files, 0.5).events} == {"bench": 5000, "try": 3000, "one": None}


@pytest.mark.parametrize("follows", [1.0, 0.5])
def test_a_cam_lasts_longer_by_the_power_law(tmp_path: Path, follows: float) -> None:
    factor = 1 - follows / 3
    found = only(study(written(tmp_path, impact=impact_toml(follows)), "box").changes[0])
    (interval,) = found.intervals
    assert interval.slot == "cam"
    assert interval.before == approx(events_of_a_cam(6000, 7000), rel=1e-6)
    assert interval.after == approx(events_of_a_cam(6000 * factor, 7000 * factor), rel=1e-6)


def test_where_speeds_do_not_follow_nothing_lasts_longer(tmp_path: Path) -> None:
    assert only(study(written(tmp_path, impact=impact_toml(0)), "box").changes[0]).intervals == ()


def test_a_group_with_the_slow_box_runs_slower_already(tmp_path: Path) -> None:
    field = "group,entrants,parts\nfast,1,\nslow,1,box=BOX-6\n"
    fast, slow = field_of(written(tmp_path, field=field), "box").crowds
    speeds = [[row.rpm for row in crowd.scenario.files.sessions] for crowd in (fast, slow)]
    assert speeds == [[6000, 7000, 6500], [approx(4000), approx(14000 / 3), 6500]]
    (of_slow,) = [one for one in study(tmp_path, "box").changes[0].groups if one.group == "slow"]
    assert of_slow.swaps == ()
    assert of_slow.over.mean == 0
    assert of_slow.intervals == ()
