"""`costplan timing`"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from time import monotonic
from typing import TYPE_CHECKING, Annotated, Any

import typer

from costplan.cli.common import (
    Csv,
    Folder,
    Json,
    OnAhead,
    Seasons,
    Seed,
    Sets,
    not_over,
    open_scenario,
    season_of,
    stop,
)
from costplan.cli.deciding import show
from costplan.cli.progress import Bars, unless_stopped

if TYPE_CHECKING:
    from rich.status import Status

    from costplan.report.tables import Page
    from costplan.season import Season
    from costplan.season.deciding.timing_answer import Timing


def timing(
    folder: Folder,
    event: Annotated[
        str,
        typer.Option(
            "--for", metavar="EVENT", help="The event to be met fresh; else that which counts most.", show_default=False
        ),
    ] = "",
    on: OnAhead = "",
    seasons: Seasons = 4000,
    seed: Seed = 1,
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """At which race to freshen, so that the big event has fresh springs: the dates and renewal uses that cost least on
    average, how much they beat the files' intervals in a season and over three in a row, what moving each date by one
    and two events costs, how old parts are at the big events. --seasons: the most that a step of the search is judged
    on. --csv gives the dates with their moves. Ctrl-C ends the search: the best so far is shown, with status 130."""
    from costplan.report.log import ahead_page
    from costplan.report.timing import timing_csv, timing_page
    from costplan.season.deciding.timing import timing_of

    scenario, day = open_scenario(folder, sets, on, as_json=as_json)
    season, looking = season_of(scenario, day if on else None, as_json=as_json), Looking()
    whole = season_of(scenario, as_json=as_json) if on else None
    not_over(season, as_json=as_json)
    _know_event(season, event, as_json=as_json)
    with unless_stopped(looking):
        found = timing_of(season, seasons, seed, event=event, later=whole, watch=looking, tell=looking.tried)
    looking.close()

    def page(found: Timing, title: str, invented: bool) -> Page:
        return ahead_page(timing_page(found, title, invented), season.standing)

    show("timing", scenario, found, timing_csv, page, as_json=as_json, as_csv=as_csv, stopped=found.stopped)


def _know_event(season: Season, event: str, *, as_json: bool) -> None:
    """Ends the command with a problem where `--for` names no event that is still to come."""
    names = list(dict.fromkeys(run.event.event for run in season.ahead))
    if event and event not in names:
        from costplan.problems import Place, Problem, nearest

        what = "no such event ahead:"
        stop([Problem("REA020", Place("--for"), "", event, what, nearest(event, names))], as_json=as_json)


class Looking(Bars):
    """Watches a search: one line that counts what was tried, in place of a bar for each of many short drawings."""

    def __init__(self) -> None:
        super().__init__()
        self._status: Status | None = None
        self._since = monotonic()

    def drawing(self, blocks: Iterator[Any], seasons: int) -> Iterable[Any]:
        """The blocks; with a bar where no search counts what was tried."""
        return blocks if self._status is not None else super().drawing(blocks, seasons)

    def tried(self, count: int) -> None:
        """Shows how much was tried, once it takes a while."""
        words = f"Looking for dates: {count} tried"
        if self._status is not None:
            self._status.update(words)
        elif self.console.is_terminal and monotonic() - self._since > self.patience:
            self._status = self.console.status(words)
            self._status.start()

    def close(self) -> None:
        """Takes away what is shown."""
        super().close()
        if self._status is not None:
            self._status.stop()
            self._status = None
