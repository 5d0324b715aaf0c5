"""The seasons of a study are those of the machine for two folders written by hand: as it is, and as the group
answers."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from costplan.impact.ages import Entrant, uniform
from costplan.impact.drawing import Asked, play_field
from costplan.impact.playing import luck_of
from costplan.scenario import read_scenario
from costplan.season.deciding.horizon import Ahead
from costplan.season.drawn.years import YearDraws
from tests.test_impact.small_field import FILES, RULES, desk, field_of, study, written

YEARS, CHAINS, SEED = 4, 30, 1
ONE = "group,entrants\nlocals,1\n"
NAMES = ("cash", "wear", "left", "lost", "races", "missed", "stopped", "opened")


def by_hand(folder: Path, **files: str) -> YearDraws:
    """The seasons of a folder as the horizon draws them."""
    scenario, problems = read_scenario(written(folder, **files), beside=("field", "impact"))
    assert scenario is not None, problems
    season, problems = scenario.season()
    assert season is not None, problems
    luck = luck_of(SEED, Entrant("locals", 0, None))
    return Ahead(season, season, YEARS, 0.07, luck).draw(CHAINS)


def of_study(folder: Path, name: str) -> tuple[YearDraws, YearDraws]:
    """Those of a study of one entrant whose things are as garage.csv has them, before a change and after."""
    made = desk(field_of(written(folder, field=ONE), name))
    (played,) = play_field(made.groups, Asked(CHAINS * YEARS, YEARS, SEED))
    today, under = played.ways.today.complying, played.ways.changed[0].complying
    assert today is not None
    assert under is not None
    (member,) = played.members
    return member.of(today), member.of(under)


def rules_with(slot: str, allowed: str) -> str:
    """The book with other parts allowed, by hand."""
    before = {"springs": '["SP-A", "SP-B", "SP-C"]', "cam": '["CAM-A", "CAM-B", "CAM-C"]', "box": '["BOX-9", "BOX-6"]'}
    return RULES.replace(before[slot], f'["{allowed}"]')


def without(*slots: str) -> str:
    """The garage without what stands in some slots."""
    rows = FILES["garage.csv"].splitlines(keepends=True)
    return "".join(row for row in rows if not any(f",{slot}," in row for slot in slots))


BUILD = FILES["build.csv"]
#: Where the box cuts out at 6000 and not at 9000, a race turns at two thirds; the dyno as ever.
SLOW = FILES["sessions.csv"].replace("0.5,6000", "0.5,4000").replace("1,7000", f"1,{7000 * 6000 / 9000!r}")
CASES: dict[str, dict[str, str]] = {
    "none": {},
    "springs": {
        "build": BUILD.replace("SP-A", "SP-B"),
        "garage": without("springs"),
        "rules": rules_with("springs", "SP-B"),
    },
    # the engine is opened for it at a level that always renews the springs
    "cam": {
        "build": BUILD.replace("CAM-A", "CAM-B"),
        "garage": without("cam", "springs"),
        "rules": rules_with("cam", "CAM-B"),
    },
    "box": {
        "build": BUILD.replace("BOX-9", "BOX-6"),
        "garage": without("box"),
        "rules": rules_with("box", "BOX-6"),
        "sessions": SLOW,
    },
    "quota": {"rules": RULES.replace("most = 9", "most = 1")},
}


@pytest.mark.parametrize("name", CASES)
def test_the_years_before_and_after_are_the_machines_own(tmp_path: Path, name: str) -> None:
    before, after = of_study(tmp_path / "study", name)
    for found, expected in (
        (before, by_hand(tmp_path / "before")),
        (after, by_hand(tmp_path / "after", **CASES[name])),
    ):
        for table in NAMES:
            assert np.array_equal(getattr(found, table), getattr(expected, table)), table
        assert by_line(found) == by_line(expected)


def by_line(draws: YearDraws) -> list[tuple[float, ...]]:
    """The cash of each position, level and the rest by year, whatever order the positions stand in."""
    return sorted(tuple(float(amount) for amount in line) for line in draws.line.T)


def test_figures_are_the_differences_of_those_years(tmp_path: Path) -> None:
    before, after = of_study(tmp_path / "study", "springs")
    cash, left = after.cash - before.cash, after.left - before.left
    found = study(tmp_path / "study", "springs", seasons=CHAINS * YEARS).changes[0].total
    once, factors = 9520, 1.07 ** -np.arange(1, YEARS + 1)
    over = once + cash @ factors - left[:, -1] * factors[-1]
    assert float(found.first.mean) == pytest.approx((once + cash[:, 0].mean()) / 100, abs=0.006)
    assert float(found.yearly.mean) == pytest.approx(cash[:, 1:].mean() / 100, abs=0.006)
    assert float(found.over.mean) == pytest.approx(over.mean() / 100, abs=0.006)
    assert float(found.over.error) == pytest.approx(over.std(ddof=1) / CHAINS**0.5 / 100, abs=0.006)
    assert float(found.wear.mean) == pytest.approx((after.wear - before.wear).mean() / 100, abs=0.006)
    assert found.missed.mean == pytest.approx((after.missed - before.missed).mean())


def test_the_luck_of_each_entrant_is_its_own_and_named() -> None:
    lucks = {luck_of(seed, Entrant(group, n, None)) for seed in (1, 2) for group in ("a", "b") for n in range(20)}
    assert len(lucks) == 80
    assert luck_of(1, Entrant("a", 3, None)) == luck_of(1, Entrant("a", 3, {}))
    assert all(0 <= one < 2**32 for one in lucks)
    assert uniform(1, "a", "bc") != uniform(1, "ab", "c")


def test_other_luck_gives_other_seasons(tmp_path: Path) -> None:
    scenario, _ = read_scenario(written(tmp_path), beside=("field", "impact"))
    assert scenario is not None
    season, _ = scenario.season()
    assert season is not None
    one, other = (Ahead(season, season, YEARS, 0.07, luck).draw(CHAINS).cash for luck in (1, 2))
    assert not np.array_equal(one, other)
