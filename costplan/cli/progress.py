"""Bars for work that takes a while, on a terminal's error stream; gone at the end, and silent where nobody looks."""

from __future__ import annotations

import signal
import sys
import threading
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from time import monotonic
from typing import TYPE_CHECKING, Any, TypeVar

import typer

if TYPE_CHECKING:
    from rich.console import Console
    from rich.progress import Progress

T = TypeVar("T")

#: The exit status of what was stopped with Ctrl-C, as shells have it: 128 and the number of the signal.
STOPPED = 130
#: Seconds of work before a bar is shown.
PATIENCE = 1.0
COMPILING = "Compiling the season machine, once for this version; later runs take a second."
PLAIN = "The compiler of the season machine (numba) is not here: the same figures, hundreds of times slower."


class Bars:
    """Watches drawing, and any other work item by item. What lasts no longer than `patience` seconds shows nothing.

    `stopped`: Ctrl-C came while seasons were drawn. With `all_or_none` nothing more is drawn from then on, since what
    is asked needs all of it; without it, the next seasons are. `about` is added to the words beside the bar.
    """

    def __init__(self, console: Console | None = None, patience: float = PATIENCE) -> None:
        from rich.console import Console

        self.console = console or Console(stderr=True)
        self.patience = patience
        self.stopped = self.all_or_none = False
        self.about = ""
        self._began: float | None = None
        self._told: set[str] = set()
        self._live: Progress | None = None
        self._late: threading.Timer | None = None
        self._hold = threading.RLock()

    def compiling(self, joints: Iterable[str]) -> Iterable[str]:
        """The joints of the machine. What was compiled before is read in a blink, and nothing is said of it."""
        names = list(joints)
        with _held_back() as interrupts:
            for name in self._shown(names, "Compiling", len(names), note=COMPILING):
                yield name
                if interrupts:
                    raise KeyboardInterrupt

    def drawing(self, blocks: Iterator[Any], seasons: int) -> Iterable[Any]:
        """The blocks, as they come."""
        from costplan.season.drawn.drawing import BLOCK

        if self.stopped and self.all_or_none:
            raise KeyboardInterrupt
        compiled = "costplan.season.compiled" in sys.modules
        whole = False
        try:
            words = f"Drawing seasons{self.about}"
            yield from self._shown(blocks, words, seasons, BLOCK, note="" if compiled else PLAIN, at_once=not compiled)
            whole = True
        finally:
            self.stopped = self.stopped or not whole

    def each(self, items: Iterable[T], words: str) -> Iterator[T]:
        """Any items, one by one."""
        known = list(items)
        return self._shown(known, words, len(known))

    @contextmanager
    def waiting(self, words: str) -> Iterator[None]:
        """Work of which nobody knows how long it will take: a bar that only moves, until anything else is watched."""
        self.close()
        self._open_after(self.patience, words, None)
        try:
            yield
        finally:
            self.close()

    def close(self) -> None:
        """Takes a bar away that is still there, since what it watched was broken off; none comes late."""
        with self._hold:
            if self._late is not None:
                self._late.cancel()
                self._late = None
            if self._live is not None:
                self._live.stop()
                self._live = None

    def _open_after(self, seconds: float, words: str, total: int | None, note: str = "") -> None:
        """Begins a bar after a while, however long a single step takes, unless it is over by then."""
        if self.console.is_terminal:
            self._late = threading.Timer(max(0.0, seconds), self._open_late, (words, total, note))
            self._late.daemon = True
            self._late.start()

    def _open_late(self, words: str, total: int | None, note: str) -> None:
        with self._hold:
            if self._late is threading.current_thread():
                self._open(words, total, note)

    def _shown(
        self, items: Iterable[T], words: str, total: int, step: int = 1, *, note: str = "", at_once: bool = False
    ) -> Iterator[T]:
        self.close()
        self._began = monotonic() if self._began is None else self._began
        if at_once:
            self._open(words, total, note)
        else:
            self._open_after(self.patience - (monotonic() - self._began), words, total, note)
        try:
            for done, item in enumerate(items):
                if monotonic() - self._began > self.patience:
                    self._open(words, total, note)
                with self._hold:
                    if self._live is not None:
                        self._live.update(self._live.task_ids[0], completed=min(total, done * step))
                yield item
        finally:
            self.close()

    def _open(self, words: str, total: int | None, note: str) -> None:
        """Begins a bar, below a note that is given once; none where nobody looks. Without a total it only moves."""
        from rich.markup import escape
        from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

        with self._hold:
            if not self.console.is_terminal or self._live is not None:
                return
            if note and note not in self._told:
                self._told.add(note)
                self.console.print(note, markup=False, highlight=False)
            moving = (TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn()) if total is None else ()
            self._live = Progress(*moving, console=self.console, transient=True)
            self._live.add_task(escape(words), total=total)
            self._live.start()


@contextmanager
def _held_back() -> Iterator[list[int]]:
    """Ctrl-C is noted and not raised: what compiles cannot be left half-way, and would swallow it."""
    interrupts: list[int] = []
    if threading.current_thread() is not threading.main_thread():
        yield interrupts
        return
    before = signal.signal(signal.SIGINT, lambda number, _frame: interrupts.append(number))
    try:
        yield interrupts
    finally:
        signal.signal(signal.SIGINT, before)


def end_if(stopped: bool) -> None:
    """Ends the command with its own status where Ctrl-C came, and what was there by then has been shown."""
    if stopped:
        raise typer.Exit(STOPPED)


@contextmanager
def unless_stopped(bars: Bars) -> Iterator[None]:
    """Ends the command with a word where Ctrl-C came before there was anything to show."""
    try:
        yield
    except KeyboardInterrupt:
        bars.close()
        typer.echo("Stopped; there is nothing to show yet.", err=True)
        raise typer.Exit(STOPPED) from None
