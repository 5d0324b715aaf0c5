"""Why nothing is possible: the smallest conflict against trying all sets of clauses, fits and wishes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

import pytest

from costplan.choose import Conflict, Ground, Wishes, encode, encoding, explain
from costplan.scenario import Scenario
from tests.test_choose.drawn_scenarios import draw
from tests.test_choose.every_build import Tried, against, every_build, fewest_in_conflict, price_of, standing

#: Impossible scenarios among those drawn: of one member, of two and of three.
SEEDS = range(60)


def name_of(ground: Ground) -> str:
    """What `every_build` calls a ground."""
    names = {
        "pinned": f"pin {ground.name}",
        "banned": f"ban {ground.name}",
        "supplier": "offers",
        "lead": "offers",
        "hand": f"once {ground.name}",
    }
    return names.get(ground.kind, ground.name.rpartition(": ")[2])


@pytest.mark.parametrize("table_most", [20_000, 0])
def test_the_conflict_is_as_small_as_any_and_each_member_is_told_right(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, table_most: int
) -> None:
    monkeypatch.setattr(encoding, "TABLE_MOST", table_most)
    sizes = set()
    for seed in SEEDS:
        files, wishes = draw(seed)
        # Of two such wishes together a bill's price depends on both.
        if sum(map(bool, (wishes.suppliers, wishes.by, wishes.budget))) > 1:
            continue
        scenario = files.write(tmp_path / str(seed))
        tried = every_build(scenario, wishes)
        if standing(tried, wishes):
            continue
        found, sets = explain(encode(scenario, wishes, whole=True)), against(tried, wishes)
        names = {name_of(one.ground) for one in found.culprits}
        assert all(names & one for one in sets), seed
        assert (len(found.culprits), found.smallest) == (fewest_in_conflict(sets), True), seed
        assert_told(found, scenario, wishes, list(zip(tried, sets, strict=True)))
        sizes.add(len(names))
    assert sizes >= {1, 2}


def assert_told(
    found: Conflict, scenario: Scenario, wishes: Wishes, tried: Iterable[tuple[Tried, frozenset[str]]]
) -> None:
    """Each member: whether a bill is there without it, at what price, and in whose words and from which row."""
    pairs = list(tried)
    for one in found.culprits:
        name = name_of(one.ground)
        free = replace(wishes, suppliers=(), by=None) if name == "offers" else wishes
        prices = [price_of(scenario, free, each.ways) for each, names in pairs if names <= {name}]
        assert (one.possible, one.price) == (bool(prices), min(prices, default=None))
        assert one.ground.says
        if one.ground.kind in ("clause", "fit"):
            file, _, line = one.ground.place.rpartition(":")
            assert f'"{name}"' in "".join(_table_at(file, int(line)))


def _table_at(file: str, line: int) -> list[str]:
    """The lines of a table of a TOML file from some line on."""
    return Path(file).read_text().splitlines()[line - 1 : line + 8]


def test_an_answer_that_is_there_is_no_conflict(tmp_path: Path) -> None:
    seed = next(seed for seed in range(99) if _stands(tmp_path, seed))
    files, wishes = draw(seed)
    with pytest.raises(ValueError, match="no conflict"):
        explain(encode(files.write(tmp_path / "again"), wishes, whole=True))


def _stands(folder: Path, seed: int) -> bool:
    files, wishes = draw(seed)
    return bool(standing(every_build(files.write(folder / str(seed)), wishes), wishes))


def test_out_of_time_a_conflict_is_not_called_the_smallest(tmp_path: Path) -> None:
    seed = next(seed for seed in range(99) if not _stands(tmp_path, seed))
    files, wishes = draw(seed)
    scenario = files.write(tmp_path / "again")
    found = explain(encode(scenario, wishes, whole=True), seconds=0.0)
    sets = against(every_build(scenario, wishes), wishes)
    names = {name_of(one.ground) for one in found.culprits}
    assert not found.smallest
    assert all(names & one for one in sets)
    for name in names:  # and none of them can be left out
        assert not all((names - {name}) & one for one in sets)
