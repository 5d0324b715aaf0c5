"""Swapping one part against all builds: as few other changes as there can be, at the lowest price."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path

from costplan.choose import NOTHING, option_of, prepare, start_from, swaps_from
from tests.test_choose.drawn_scenarios import draw
from tests.test_choose.every_build import Tried, every_build, standing
from tests.test_choose.test_choosing import changes, planned

SEEDS = range(200, 240)


def apart(one: Mapping[str, str], other: Mapping[str, str]) -> int:
    return sum(one[slot] != part for slot, part in other.items())


def fewest(good: list[Tried], start: Mapping[str, str]) -> dict[tuple[str, str], tuple[int, Decimal]]:
    """For each other part of each slot the fewest slots that differ from a start, then the lowest price."""
    found: dict[tuple[str, str], tuple[int, Decimal]] = {}
    for one in good:
        for slot, part in start.items():
            mine = one.parts[slot]
            if mine not in (part, NOTHING):
                this = (apart(one.parts, start), one.price)
                found[slot, mine] = min(found.get((slot, mine), this), this)
    return found


def test_each_swap_changes_as_little_as_can_be(tmp_path: Path) -> None:
    along = 0
    for seed in SEEDS:
        files, wishes = draw(seed)
        scenario = files.write(tmp_path / str(seed))
        good = standing(every_build(scenario, wishes), wishes)
        pick, aimed = start_from(prepare(scenario, wishes))
        assert (pick is not None) == bool(good), seed
        if pick is None:
            continue
        first = option_of(aimed, pick)
        wanted = min((changes(scenario, one.parts), one.price) for one in good)
        assert (changes(scenario, dict(first.parts)), first.price) == wanted, seed
        start = dict.fromkeys(planned(scenario), NOTHING) | dict(first.parts)
        swaps = swaps_from(aimed, pick, (), 10.0)
        found = {(one.slot, one.part): (len(one.along) + 1, one.price) for one in swaps.swaps}
        assert (found, swaps.unproved) == (fewest(good, start), ()), seed
        assert all(one.costs == one.price - first.price for one in swaps.swaps), seed
        along += sum(len(one.along) for one in swaps.swaps)
    assert along
