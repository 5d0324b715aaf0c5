"""Over-revs in a log: what they endanger, until when an inspection is owed, and which level is called for it."""

from __future__ import annotations

from pathlib import Path

import pytest

from costplan.season import Season
from tests.test_season.test_logged import DAMAGE, HAZARDS, LEVELS, THREE, SeasonOf, by_hand, jobs, left


@pytest.fixture(scope="module")
def season(season_of: SeasonOf) -> Season:
    return by_hand(season_of)


REV = "2027-05-01,ran,engine,one\n2027-05-01,over-revved,engine,one,,,,,,,,7600,{line}\n"


@pytest.mark.parametrize(
    ("more", "open_", "level"),
    [
        ("", ("springs", "piston"), "top"),
        ("2027-05-02,checked,engine,,,springs\n", ("piston",), "full"),
        ("2027-05-02,checked,engine,,,springs\n2027-05-03,changed,engine,,,piston\n", None, ""),
        ("2027-05-02,checked,engine\n", None, ""),
        ("2027-05-02,serviced,engine,,top\n", ("piston",), "full"),
        ("2027-05-02,serviced,engine,,full\n", None, ""),
        ("2027-05-02,checked,car\n", ("springs", "piston"), "top"),
    ],
)
def test_an_over_rev_stands_until_all_that_it_endangers_was_looked_at(
    season_of: SeasonOf, tmp_path: Path, more: str, open_: tuple[str, ...] | None, level: str
) -> None:
    season = by_hand(season_of, hazards=HAZARDS, damage=DAMAGE)
    now = left(season, tmp_path, REV.format(line="") + more, "2027-05-03")
    assert now.standing is not None
    found = [(one.engine, one.rpm, one.slots, one.level) for one in now.standing.inspections]
    assert found == ([] if open_ is None else [("engine", 7600.0, open_, level)])
    called = "over-rev" in jobs(now)[0][3]
    assert called == (open_ is not None)
    if level:
        assert jobs(now)[0][:2] == ("two", level)


def test_what_an_over_rev_endangers_is_what_its_hazard_hits(
    season_of: SeasonOf, tmp_path: Path, season: Season
) -> None:
    named = by_hand(season_of, hazards=HAZARDS, damage=DAMAGE)
    now = left(named, tmp_path, REV.format(line="missed shift"), "2027-05-03")
    assert [one.slots for one in now.standing.inspections if now.standing] == [("rings",)]  # type: ignore[union-attr]
    unknown = left(season, tmp_path, REV.format(line=""), "2027-05-03")
    assert [one.slots for one in unknown.standing.inspections if unknown.standing] == [()]  # type: ignore[union-attr]


def test_a_level_that_costs_nothing_is_not_called_for_an_inspection(season_of: SeasonOf, tmp_path: Path) -> None:
    season = by_hand(season_of, hazards=HAZARDS, damage=DAMAGE, levels=LEVELS.replace("top,1,,,8,50,", "top,1,,,8,0,"))
    now = left(season, tmp_path, REV.format(line=""), "2027-05-03")
    assert [one.level for one in now.standing.inspections if now.standing] == ["full"]  # type: ignore[union-attr]


def test_an_over_rev_that_may_have_hurt_anything_is_owed_until_all_was_looked_at(
    season: Season, tmp_path: Path
) -> None:
    rows = f"{THREE}2027-05-15,over-revved,engine,three\n2027-05-16,checked,engine,,,springs\n"
    part = left(season, tmp_path, rows, "2027-05-16")
    whole = left(season, tmp_path, rows + "2027-05-16,checked,engine\n", "2027-05-16")
    assert part.standing is not None and whole.standing is not None
    assert (len(part.standing.inspections), len(whole.standing.inspections)) == (1, 0)


OVAL_LIKE = """\
slot,case,chance,hits,engine
over-rev,springs gone,0.2,springs,stays
over-rev,valves bent,0.24,springs piston,stays
over-rev,rod through the block,0.04,,scrapped
"""


@pytest.mark.parametrize(
    ("more", "open_", "level"),
    [
        # springs 0.2 + 0.24 of 0.68 by the cases' chances: looked at by top, and nobody is sent to the bottom end
        ("", True, "top"),
        ("2027-05-02,checked,engine,,,piston\n", True, "top"),
        # what top looks at was looked at: the line stands, and no level is called
        ("2027-05-02,checked,engine,,,springs\n", True, ""),
        ("2027-05-02,checked,engine,,,springs piston rings\n", True, ""),
        ("2027-05-02,serviced,engine,,top\n", True, ""),
        ("2027-05-02,checked,engine\n", False, ""),
        ("2027-05-02,serviced,engine,,full\n", False, ""),
    ],
)
def test_an_over_rev_that_may_cost_the_engine_stands_until_all_of_it_was_looked_at(
    season_of: SeasonOf, tmp_path: Path, more: str, open_: bool, level: str
) -> None:
    season = by_hand(season_of, hazards=HAZARDS, damage=OVAL_LIKE)
    now = left(season, tmp_path, REV.format(line="") + more, "2027-05-03")
    assert now.standing is not None
    assert [(one.slots, one.level) for one in now.standing.inspections] == ([((), level)] if open_ else [])
    assert ("over-rev" in "".join(job[3] for job in jobs(now))) == bool(level)


def test_the_level_called_is_the_lowest_that_finds_most_of_what_the_cases_hit(
    season_of: SeasonOf, tmp_path: Path
) -> None:
    # 0.2 of springs against 0.34 of the piston, which only full checks; rings are checked by none and count for nothing
    more = OVAL_LIKE.replace("0.24,springs piston", "0.34,piston rings")
    now = left(by_hand(season_of, hazards=HAZARDS, damage=more), tmp_path, REV.format(line=""), "2027-05-03")
    assert [one.level for one in now.standing.inspections if now.standing] == ["full"]  # type: ignore[union-attr]
    lost = OVAL_LIKE.splitlines()[0] + "\nover-rev,rod through the block,0.04,,scrapped\n"
    now = left(by_hand(season_of, hazards=HAZARDS, damage=lost), tmp_path, REV.format(line=""), "2027-05-03")
    assert [one.level for one in now.standing.inspections if now.standing] == [""]  # type: ignore[union-attr]
