"""Bars on a terminal: nothing of what is quick, a note and a bar of what is not, and nothing left behind."""

from __future__ import annotations

import io
import sys
from collections.abc import Iterable
from time import monotonic, sleep

import pytest
import typer
from rich.console import Console

from costplan.cli.progress import COMPILING, PLAIN, Bars, unless_stopped


def terminal() -> tuple[Console, io.StringIO]:
    out = io.StringIO()
    return Console(file=out, force_terminal=True, width=80), out


def shown(out: io.StringIO) -> str:
    return " ".join(out.getvalue().split())


@pytest.fixture
def _compiled(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "costplan.season.compiled", object())


@pytest.mark.usefixtures("_compiled")
def test_what_is_quick_shows_nothing() -> None:
    console, out = terminal()
    bars = Bars(console, patience=60)
    assert list(bars.compiling(["a", "b"])) == ["a", "b"]
    assert list(bars.drawing(iter([1, 2, 3]), 750)) == [1, 2, 3]
    assert list(bars.each((4, 5), "Trying")) == [4, 5]
    assert out.getvalue() == ""


@pytest.mark.usefixtures("_compiled")
def test_what_takes_longer_has_a_bar_that_is_gone_at_the_end() -> None:
    console, out = terminal()
    bars = Bars(console, patience=-1)
    bars.about = ": [dear] springs"
    assert list(bars.drawing(iter([1, 2, 3]), 750)) == [1, 2, 3]
    assert "Drawing seasons: [dear] springs" in shown(out)
    assert out.getvalue().endswith("\x1b[1A\x1b[2K")
    assert not bars.stopped


def test_compiling_is_announced_once_in_words() -> None:
    console, out = terminal()
    bars = Bars(console, patience=-1)
    for _ in range(2):
        assert list(bars.compiling(["a", "b"])) == ["a", "b"]
    assert shown(out).count(COMPILING) == 1


def test_what_nobody_knows_the_end_of_has_a_bar_that_only_moves() -> None:
    console, out = terminal()
    with Bars(console, patience=0.01).waiting("Looking [dear]"):
        until = monotonic() + 5
        while "Looking [dear]" not in shown(out) and monotonic() < until:
            sleep(0.01)
    assert "Looking [dear]" in shown(out)
    assert "%" not in shown(out)
    assert out.getvalue().endswith("\x1b[1A\x1b[2K")


def test_a_bar_that_only_moves_gives_way_to_one_that_counts_and_comes_no_more() -> None:
    console, out = terminal()
    bars = Bars(console, patience=0.02)
    with bars.waiting("Looking"):
        bars.patience = -1
        assert list(bars.each((4, 5), "Trying")) == [4, 5]
        sleep(0.1)
    assert "Trying" in shown(out)
    assert "Looking" not in shown(out)


def test_a_bar_comes_however_long_the_first_item_takes() -> None:
    console, out = terminal()
    for _ in Bars(console, patience=0.01).each((4,), "Trying"):
        until = monotonic() + 5
        while "Trying" not in shown(out) and monotonic() < until:
            sleep(0.01)
    assert "Trying" in shown(out)
    assert out.getvalue().endswith("\x1b[1A\x1b[2K")


def test_what_is_over_soon_shows_no_bar_that_moves() -> None:
    console, out = terminal()
    with Bars(console, patience=60).waiting("Looking"):
        pass
    assert out.getvalue() == ""


def test_off_a_terminal_nothing_is_said() -> None:
    out = io.StringIO()
    bars = Bars(Console(file=out), patience=-1)
    assert list(bars.compiling(["a"])) == ["a"]
    assert list(bars.drawing(iter([1]), 250)) == [1]
    with bars.waiting("Looking"):
        sleep(0.05)
    assert out.getvalue() == ""


def test_without_the_compiler_it_is_said_once_that_it_takes_longer(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delitem(sys.modules, "costplan.season.compiled", raising=False)
    console, out = terminal()
    bars = Bars(console, patience=60)
    for _ in range(2):
        assert list(bars.drawing(iter([1, 2]), 500)) == [1, 2]
    assert shown(out).count(PLAIN) == 1


@pytest.mark.usefixtures("_compiled")
@pytest.mark.parametrize("patience", [-1, 60])
def test_ctrl_c_is_noted_wherever_it_comes(patience: float) -> None:
    def broken() -> Iterable[int]:
        yield 1
        raise KeyboardInterrupt

    def add(bars: Bars) -> None:
        for _ in bars.drawing(iter([1, 2, 3]), 750):
            raise KeyboardInterrupt

    inside, outside = Bars(terminal()[0], patience), Bars(terminal()[0], patience)
    with pytest.raises(KeyboardInterrupt):
        list(inside.drawing(iter(broken()), 750))
    with pytest.raises(KeyboardInterrupt):
        add(outside)
    assert inside.stopped
    assert outside.stopped


@pytest.mark.usefixtures("_compiled")
def test_after_ctrl_c_the_next_seasons_are_drawn_unless_all_are_needed() -> None:
    bars = Bars(terminal()[0])
    bars.stopped = True
    assert list(bars.drawing(iter([1]), 250)) == [1]
    bars.all_or_none = True
    with pytest.raises(KeyboardInterrupt):
        list(bars.drawing(iter([1]), 250))


def test_stopped_with_nothing_to_show_the_bar_goes_and_the_status_is_130() -> None:
    console, out = terminal()
    bars = Bars(console, patience=-1)
    kept = bars.compiling(["a", "b"])
    with pytest.raises(typer.Exit) as end, unless_stopped(bars):
        next(iter(kept))
        raise KeyboardInterrupt
    assert end.value.exit_code == 130
    assert out.getvalue().endswith("\x1b[1A\x1b[2K")
