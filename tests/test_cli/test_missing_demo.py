"""Where the package is installed without its source there is no demo: whoever asks for it is told, by every command."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from costplan.reading.source import DEMOS
from tests.command_line import COMMAND, run

ROOT = Path(__file__).parents[2]
#: Words for arguments that name a folder or a file, and what else a command must be given.
NAMES_A_FOLDER = ("SCENARIO", "FOLDER", "CATALOG", "A", "B")
NEEDED = {
    "whatif": ("--fails", "valves", "--at", "opener"),
    "spares": ("--sum", "5"),
    "worth": ("--engine", "blue"),
    "job add": ("--job", "freshen"),
    "quote save": ("--reason", "none"),
}


def commands(command: Any = COMMAND, words: tuple[str, ...] = ()) -> Iterator[tuple[str, list[str]]]:
    """Every command that reads a folder, with what it needs for its arguments."""
    for name, inner in getattr(command, "commands", {}).items():
        yield from commands(inner, (*words, name))
    arguments = [one for one in command.params if one.param_type_name == "argument"]
    folders = [one for one in arguments if str(one.metavar).rstrip(".") in NAMES_A_FOLDER]
    if folders and words != ("new",):
        yield " ".join(words), ["scenarios/oval-v8" if one in folders else "ran" for one in arguments if one.required]


def test_every_command_says_that_the_demo_is_not_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    asked = list(commands())
    assert len(asked) > 40
    for name, given in asked:
        status, _, err = run(*name.split(), *given, *NEEDED.get(name, ()))
        assert status == 2, name
        assert "REA001 no such f" in err, (name, err)
        assert "not with the installed package; `costplan new FOLDER --simple` writes" in err, (name, err)
    assert list(tmp_path.iterdir()) == []


def test_another_folder_that_is_not_there_is_no_demo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert run("season", "mine") == (
        2,
        "",
        "mine: REA001 no such folder; check the name\n1 problem; nothing was calculated.\n",
    )
    (tmp_path / "oval-v8").mkdir()
    assert "installed package" not in run("season", "oval-v8")[2]


def test_the_demos_are_known_by_name() -> None:
    there = {path.name for place in ("scenarios", "catalogs") for path in (ROOT / place).iterdir() if path.is_dir()}
    assert there <= DEMOS
