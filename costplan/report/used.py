"""The life used at each event as pages, with a strip of one character for each event."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import wrap

from costplan.report.data import to_csv
from costplan.report.log import standing_lines
from costplan.report.season import CAUTIONS
from costplan.report.tables import Page, Table, day, listed, plural, share
from costplan.season.names import Assumption
from costplan.season.standing import Standing
from costplan.season.used import UsedAt, UsedLife

#: Seven steps below the whole life, and what stands for all of it.
STEPS, FULL, RENEWED = "▁▂▃▄▅▆▇", "█", "*"

#: Events of one line of a strip, and those of which the date is named.
LINE, NAMED = 40, 5

#: Columns that names and strips share on a terminal of 80.
WIDTH = 54

#: A share that comes so near to 1 has reached it: ages are sums of floats.
NEAR = 1e-9


def used_page(
    lines: Sequence[UsedLife],
    on: str,
    assumed: Sequence[Assumption],
    title: str,
    *,
    invented: bool,
    standing: Standing | None = None,
) -> Page:
    """A table for each engine, and one for the car, the most used first; with a log, what it says at the top."""
    events = lines[0].events if lines else ()
    said: tuple[str, ...] = (
        *standing_lines(standing),
        f"{plural(len(events), 'event')}; 'now' is {on}. "
        + ("Up to now as the log tells, then planned" if standing else "Planned")
        + " with nothing breaking and no rain.",
        f"Each character is an event: {STEPS} the share used after it, in sevenths of the assumed life, {FULL} from "
        f"100% on, {RENEWED} renewed or worked over before it.",
        f"{plural(len(assumed), 'input')} of this plan assumed; costplan season lists them.",
        f"Events: {listed(f'{number} {event.event} ({day(event.date)})' for number, event in _named(events))}.",
    )
    engines = dict.fromkeys(line.engine for line in lines)
    tables = tuple(_table(engine, [line for line in lines if line.engine == engine]) for engine in engines)
    if not lines:
        said = ("Nothing of this season has a life.",)
    return Page(f"{title} (invented data)" if invented else title, said, tables, CAUTIONS)


def _named(events: Sequence[UsedAt]) -> list[tuple[int, UsedAt]]:
    """The first event and every fifth, numbered."""
    numbered = list(enumerate(events, start=1))
    return [(number, event) for number, event in numbered if number == 1 or number % NAMED == 0]


def _table(engine: str, lines: Sequence[UsedLife]) -> Table:
    rows = tuple(
        (
            _in_lines(f"{line.slot}{' ~' if line.assumed else ''}", len(line.events)),
            share(line.opening),
            strip(line.events),
            share(line.now),
            share(line.end),
        )
        for line in lines
    )
    header = ("Slot", "Opens", _ruler(len(lines[0].events)), "Now", "End")
    note = "~ the life is assumed in part." if any(line.assumed for line in lines) else ""
    return Table(f"Share of its assumed life that each part of {engine} has used", header, rows, (1, 3, 4), note)


def _in_lines(slot: str, events: int) -> str:
    """A slot's name in lines that leave the strip its room."""
    return "\n".join(wrap(slot, WIDTH - min(events, LINE), break_long_words=False))


def strip(events: Sequence[UsedAt]) -> str:
    """One character for each event, in lines that a terminal holds."""
    marks = "".join(RENEWED if event.renewed else _mark(event.share) for event in events)
    return "\n".join(marks[start : start + LINE] for start in range(0, len(marks), LINE))


def _mark(used: float) -> str:
    return FULL if used >= 1 - NEAR else STEPS[int(used * len(STEPS))]


def _ruler(events: int) -> str:
    """The numbers of the events above their characters, each ending at its own: `1   5    10`."""
    marks = "1"
    for number in range(NAMED, min(events, LINE) + 1, NAMED):
        marks += f"{number:>{number - len(marks)}}"
    return marks


def used_csv(lines: Sequence[UsedLife]) -> str:
    """A row for each position, a column for each event."""
    events = [event.event for event in lines[0].events] if lines else []
    rows = (
        (line.engine, line.slot, line.part, line.opening, *(event.share for event in line.events), line.end, line.by)
        for line in lines
    )
    return to_csv(("engine", "slot", "part", "opening", *events, "end", "of"), rows)
