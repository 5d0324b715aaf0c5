"""Commands run in a folder with the demos, copied once for a file of tests, at 80 columns without colours."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def work(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the demos."""
    folder = tmp_path_factory.mktemp("work")
    for name in ("scenarios", "catalogs"):
        shutil.copytree(ROOT / name, folder / name)
    return folder


@pytest.fixture
def at_80_columns(work: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(work)
    monkeypatch.setenv("COLUMNS", "80")
    for name in ("FORCE_COLOR", "CLICOLOR_FORCE", "TTY_COMPATIBLE", "NO_COLOR"):
        monkeypatch.delenv(name, raising=False)
