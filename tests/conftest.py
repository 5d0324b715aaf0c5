"""What the tests share: writing small files, and seasons from a few literal tables."""

from __future__ import annotations

import csv
import gc
from collections.abc import Callable, Mapping
from pathlib import Path
from types import MappingProxyType

import pytest

from costplan.scenario import read_scenario
from costplan.season import Season


def pytest_collection_finish() -> None:
    """Sets aside what is loaded by now: it is there to the end, and every search for garbage would walk it again."""
    gc.collect()
    gc.freeze()


@pytest.fixture
def write(tmp_path: Path) -> Callable[[str, str | bytes], Path]:
    """Writes one file under the test's folder and gives its path."""

    def write_file(name: str, content: str | bytes) -> Path:
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content.encode() if isinstance(content, str) else content)
        return path

    return write_file


@pytest.fixture(scope="session")
def season_of(tmp_path_factory: pytest.TempPathFactory) -> Callable[..., Season]:
    """A season compiled from the tables that a test gives as literal text, each season in a folder of its own.

    `parts` (part, price ...) gives each part a role of its own name; `slots` (slot, part, pieces, and any column of
    build.csv) is pattern and build in one; `catalog` holds more tables of the catalog by their names, `header`
    is its catalog.toml; `scenario` is added to scenario.toml. Every other name is the CSV file of that name.
    """

    def compiled(
        *,
        scenario: str = "",
        parts: str = "",
        lives: str = "",
        slots: str = "",
        catalog: Mapping[str, str] = MappingProxyType({}),
        header: str = 'name = "invented"\ncurrency = "USD"\n',
        **tables: str,
    ) -> Season:
        folder = tmp_path_factory.mktemp("season")
        names = 'title = "by hand"\ncurrency = "USD"\n'
        if slots:
            names += 'catalogs = ["catalog"]\npattern = "pattern.toml"\nbuild = "build.csv"\n'
            _write_catalog(folder / "catalog", header, parts, {"lives": lives, **catalog})
            _write_build(folder, slots)
        (folder / "scenario.toml").write_text(names + scenario, encoding="utf-8")
        for name, content in tables.items():
            (folder / f"{name}.csv").write_text(content, encoding="utf-8")
        read, problems = read_scenario(folder)
        assert read is not None, problems
        season, problems = read.season()
        assert season is not None, problems
        return season

    return compiled


def _write_catalog(folder: Path, head: str, parts: str, tables: Mapping[str, str]) -> None:
    folder.mkdir()
    (folder / "catalog.toml").write_text(head, encoding="utf-8")
    header, *lines = parts.strip().splitlines()
    names = [row["part"] for row in csv.DictReader(parts.strip().splitlines())]
    rows = [f"{line},{name},shop,2027-01-01" for line, name in zip(lines, names, strict=True)]
    (folder / "parts.csv").write_text("\n".join([f"{header},role,supplier,price_date", *rows]), encoding="utf-8")
    (folder / "roles.csv").write_text("\n".join(["role", *dict.fromkeys(names)]), encoding="utf-8")
    for name, content in tables.items():
        if content:
            (folder / f"{name}.csv").write_text(content, encoding="utf-8")


def _write_build(folder: Path, slots: str) -> None:
    """Pattern and build from rows of slot, part, pieces, and more columns of the build."""
    pattern: dict[str, str] = {"": 'name = "by hand"'}
    build: list[str] = []
    for row in csv.DictReader(slots.strip().splitlines()):
        slot, part, pieces = row["slot"], row["part"], row.pop("pieces")
        pattern.setdefault(slot, f'[[slot]]\nslot = "{slot}"\nrole = "{part}"\nquantity = {pieces}')
        build += [",".join(cells) for cells in ((row, row.values()) if not build else (row.values(),))]
    (folder / "pattern.toml").write_text("\n".join(pattern.values()), encoding="utf-8")
    (folder / "build.csv").write_text("\n".join(build), encoding="utf-8")
