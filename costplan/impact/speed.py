"""How fast the engine turns where the ignition cuts out elsewhere: an assumption, that the mean speed follows.

Nobody has the log of a season that was not run. In the measure of `follows`, 1 in proportion and 0 not at all, the mean
speed of each session goes with the speed at which the part in the pattern's limiter slot cuts out. Lives age with a
power of it, so that what is a little slower may last much longer.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TypeVar

from costplan.build import Build
from costplan.build.airflow_file import RPM_LIMIT
from costplan.quantity import Quantity
from costplan.season import Event, SeasonFiles, Session

#: What runs at the pace of a race; what is pulled on a dyno is not held back by the part.
ON_TRACK = ("race", "practice")


def cut_out(build: Build) -> float | None:
    """The speed at which the part in the limiter slot cuts out, rpm; None where no part does."""
    fill = build.fills.get(limiter_of(build))
    value = fill.part.attributes.get(RPM_LIMIT) if fill is not None else None
    return value.to("rpm") if isinstance(value, Quantity) else None


def limiter_of(build: Build) -> str:
    """The slot whose part may cut out; '' where the pattern names none."""
    return build.pattern.limiter


def speed_factor(before: Build, after: Build, follows: float) -> float:
    """By what mean speeds are multiplied with another part in the limiter slot.

    1 + follows * (after / before - 1), of the speeds at which the parts cut out; 1 where one of them is not known.
    """
    old, new = cut_out(before), cut_out(after)
    return 1.0 if old is None or new is None else 1.0 + follows * (new / old - 1.0)


def at_speed(files: SeasonFiles, factor: float) -> SeasonFiles:
    """The files of a season with the mean speeds of what runs on a track times a factor."""
    if factor == 1.0:
        return files
    formats = {event.format for event in files.events if event.kind in ON_TRACK and event.format}
    sessions = tuple(_faster(row, factor) if row.format in formats else row for row in files.sessions)
    events = tuple(_faster(row, factor) if row.kind in ON_TRACK else row for row in files.events)
    return replace(files, sessions=sessions, events=events)


Row = TypeVar("Row", Event, Session)


def _faster(row: Row, factor: float) -> Row:
    return row if row.rpm is None else row.model_copy(update={"rpm": row.rpm * factor})
