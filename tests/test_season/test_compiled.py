"""The compiled machine: where it is kept, how its tables are lent, when it is made anew."""

from __future__ import annotations

import importlib
import os
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import pytest

from costplan.season import Season, compiled, machine
from costplan.season.compiled import FORGET_AFTER, LAST_USED, folder_of, layouts, words
from costplan.season.drawn.drawing import draw
from tests.test_season.test_against_model import VARIANTS, stress
from tests.test_season.test_drawing import same

SeasonOf = Callable[..., Season]


class Small(NamedTuple):
    """A table of each kind of field."""

    number: int
    share: float
    rows: np.ndarray[Any, Any]
    table: np.ndarray[Any, Any]


SMALL = Small(3, 0.5, np.arange(4.0), np.zeros((2, 3), dtype=np.int64))


def test_a_table_is_its_numbers_and_the_headers_of_its_arrays() -> None:
    found = words(SMALL).tolist()
    share = int(np.float64(0.5).view(np.int64))
    rows = [4, SMALL.rows.ctypes.data, 4, 8]
    assert found == [3, share, *rows, 6, SMALL.table.ctypes.data, 2, 3, 24, 8]


def test_fields_are_found_behind_those_before_them() -> None:
    small = layouts({"Small": SMALL})["Small"]
    assert [small.find(name)[0] for name in Small._fields] == [0, 1, 2, 6]  # type: ignore[index]
    assert small.find("nothing") is None


def test_an_array_that_is_not_in_order_of_rows_is_no_table() -> None:
    with pytest.raises(ValueError, match="table is not in order of rows"):
        words(SMALL._replace(table=SMALL.table.T))


def test_another_layout_and_another_source_have_another_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    kinds = layouts({"Small": SMALL})
    folders = {folder_of(kinds), folder_of(layouts({"Small": SMALL._replace(rows=np.zeros((1, 1)))}))}
    sources = dict(compiled.sources())
    monkeypatch.setattr(compiled, "sources", lambda: sources | {"wear": sources["wear"] + "\n"})
    folders.add(folder_of(kinds))
    assert len(folders) == 3
    assert all((folder / "play.py").exists() for folder in folders)


def test_a_cache_that_cannot_be_written_is_done_without(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    no_folder = tmp_path / "a file"
    no_folder.write_text("")
    monkeypatch.setenv("XDG_CACHE_HOME", str(no_folder))
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    assert folder_of(layouts({"Small": SMALL})).is_relative_to(tmp_path)


def test_what_nobody_has_used_for_long_is_forgotten(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    old, recent = (tmp_path / "costplan" / f"machine-{name}" for name in ("old", "recent"))
    for folder, age in ((old, FORGET_AFTER + 60), (recent, FORGET_AFTER - 60)):
        folder.mkdir(parents=True)
        (folder / LAST_USED).write_text("")
        os.utime(folder / LAST_USED, (time.time() - age,) * 2)
    folder_of(layouts({"Small": SMALL}))
    assert not old.exists()
    assert recent.exists()


def test_joints_take_tables_and_numbers_alone() -> None:
    """What else an annotation names could not be passed from joint to joint."""
    kinds = {"Problem", "State", "Buffers", "Block", "Years", "int", "float", "bool", "None"}
    for name in compiled.JOINTS:
        found = [getattr(module, name, None) for module in _modules()]
        function = next(one for one in found if one is not None)
        assert set(function.__annotations__.values()) <= kinds, name


@pytest.mark.parametrize("variant", ["worth, least used", "dates", "dates, book, stop", "later", "later, book, run on"])
def test_what_waits_goes_by_dates_and_begins_later_is_the_same_compiled(season_of: SeasonOf, variant: str) -> None:
    season = stress(season_of, **VARIANTS[variant])
    same(draw(season, 24, 5), draw(season, 24, 5, compiled=False))


def _modules() -> list[object]:
    return [importlib.import_module(f"{machine.__name__}.{name}") for name in compiled.MODULES]
