"""`costplan new`: a working scenario, written whole or not at all, and never over anything."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from costplan.scenario import read_scenario
from costplan.templates import HERE, write_scenario
from tests.command_line import run

KINDS = [pytest.param(False, id="full"), pytest.param(True, id="simple")]


def files_of(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


@pytest.mark.parametrize("simple", KINDS)
def test_a_template_is_written_as_it_is_kept_and_says_what_to_ask_next(tmp_path: Path, simple: bool) -> None:
    folder = tmp_path / "mine"
    status, out, err = run("new", str(folder), *(["--simple"] if simple else []))
    assert (status, err) == (0, "")
    assert f"costplan season {folder}" in out
    assert files_of(folder) == files_of(HERE / ("simple" if simple else "full"))
    assert [path.name for path in tmp_path.iterdir()] == ["mine"]


@pytest.mark.parametrize("simple", KINDS)
def test_a_template_reads_without_a_problem_and_says_that_it_is_invented(tmp_path: Path, simple: bool) -> None:
    assert write_scenario(tmp_path / "mine", simple=simple) == ""
    scenario, problems = read_scenario(tmp_path / "mine")
    assert problems == ()
    assert scenario is not None
    assert scenario.invented
    assert (scenario.build is None) == simple


def test_the_simple_form_is_three_files(tmp_path: Path) -> None:
    write_scenario(tmp_path / "mine", simple=True)
    assert sorted(files_of(tmp_path / "mine")) == ["calendar.csv", "scenario.toml", "services.csv"]


def test_an_empty_folder_and_folders_on_the_way_are_no_obstacle(tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    for folder in (tmp_path / "empty", tmp_path / "a" / "b" / "c"):
        assert write_scenario(folder, simple=True) == ""
        assert (folder / "scenario.toml").is_file()


@pytest.mark.parametrize("simple", KINDS)
def test_a_folder_that_holds_something_is_refused_and_left_as_it_is(tmp_path: Path, simple: bool) -> None:
    folder = tmp_path / "mine"
    folder.mkdir()
    (folder / "calendar.csv").write_text("my own", encoding="utf-8")
    status, out, err = run("new", str(folder), *(["--simple"] if simple else []))
    assert (status, out) == (2, "")
    assert "nothing was written" in err
    assert files_of(tmp_path) == {"mine/calendar.csv": b"my own"}


def test_a_file_of_that_name_is_refused_and_left_as_it_is(tmp_path: Path) -> None:
    (tmp_path / "mine").write_text("my own", encoding="utf-8")
    assert run("new", str(tmp_path / "mine"))[0] == 2
    assert run("new", str(tmp_path / "mine" / "below"))[0] == 2
    assert files_of(tmp_path) == {"mine": b"my own"}


@pytest.mark.parametrize("name", ["", ".", "a" * 300], ids=["empty", "here", "too long"])
def test_a_name_that_no_folder_can_have_is_refused(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "some.csv").write_text("my own", encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    status, out, err = run("new", name)
    assert (status, out) == (2, "")
    assert len(err.splitlines()) == 1
    assert list(files_of(tmp_path)) == ["some.csv"]


@pytest.mark.parametrize("step", ["copytree", "rename"])
def test_a_write_that_fails_leaves_nothing_half_written(
    step: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fill_the_disk(*words: object) -> None:
        if step == "copytree":
            target = words[1]
            assert isinstance(target, Path)
            target.mkdir()
            shutil.copy(HERE / "simple" / "scenario.toml", target)
        raise OSError(28, "No space left on device")

    where: object = shutil if step == "copytree" else Path
    monkeypatch.setattr(where, step, fill_the_disk)
    status, out, err = run("new", str(tmp_path / "mine"))
    assert (status, out) == (2, "")
    assert "No space left on device" in err
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_may_not_be_looked_into_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def deny(_: Path) -> None:
        raise PermissionError(13, "Permission denied")

    (tmp_path / "mine").mkdir()
    monkeypatch.setattr(Path, "iterdir", deny)
    assert "Permission denied" in write_scenario(tmp_path / "mine", simple=True)
