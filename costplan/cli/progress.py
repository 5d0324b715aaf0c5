"""Bars for work that takes a while, on a terminal's error stream; gone at the end, and silent where nobody looks."""

from __future__ import annotations

import sys
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
PLAIN = "The compiler of the season machine (numba) is not here: the same figures, some 200 times slower."


class Bars:
    """Watches drawing, and any other work item by item. What lasts no longer than `patience` seconds shows nothing.

    `stopped`: Ctrl-C came while seasons were drawn. From then on nothing more is drawn. `about` is added to the words
    beside the bar.
    """

    def __init__(self, console: Console | None = None, patience: float = PATIENCE) -> None:
        from rich.console import Console

        self.console = console or Console(stderr=True)
        self.patience = patience
        self.stopped = False
        self.about = ""
        self._began: float | None = None
        self._told: set[str] = set()

    def compiling(self, joints: Iterable[str]) -> Iterable[str]:
        """The joints of the machine. What was compiled before is read in a blink, and nothing is said of it."""
        names = list(joints)
        return self._shown(names, "Compiling", len(names), note=COMPILING)

    def drawing(self, blocks: Iterator[Any], seasons: int) -> Iterable[Any]:
        """The blocks, unless drawing was stopped before."""
        from costplan.season.drawing import BLOCK

        if self.stopped:
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

    def _shown(
        self, items: Iterable[T], words: str, total: int, step: int = 1, *, note: str = "", at_once: bool = False
    ) -> Iterator[T]:
        self._began = monotonic() if self._began is None else self._began
        bar = self._bar(words, total, note) if at_once else None
        try:
            for done, item in enumerate(items):
                bar = bar or (self._bar(words, total, note) if monotonic() - self._began > self.patience else None)
                if bar is not None:
                    bar.update(bar.task_ids[0], completed=min(total, done * step))
                yield item
        finally:
            if bar is not None:
                bar.stop()

    def _bar(self, words: str, total: int, note: str) -> Progress | None:
        """A bar that has begun, below a note that is given once; none where nobody looks."""
        from rich.progress import Progress

        if not self.console.is_terminal:
            return None
        if note and note not in self._told:
            self._told.add(note)
            self.console.print(note, markup=False, highlight=False)
        bar = Progress(console=self.console, transient=True)
        bar.add_task(words.replace("[", "("), total=total)
        bar.start()
        return bar


@contextmanager
def unless_stopped() -> Iterator[None]:
    """Ends the command with a word where Ctrl-C came before there was anything to show."""
    try:
        yield
    except KeyboardInterrupt:
        typer.echo("Stopped; there is nothing to show yet.", err=True)
        raise typer.Exit(STOPPED) from None
