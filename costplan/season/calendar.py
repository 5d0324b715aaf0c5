"""From the calendar to runs: a run is one session of an event, with its use in every measure and its gap."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from costplan.money import round_money
from costplan.problems import Place, Problem, Problems, nearest
from costplan.quantity import MEASURES
from costplan.season.records import Event, Gaps, Service, Session

HOURS_A_DAY = 24.0
#: Columns of the calendar that a format gives for each session instead.
BY_SESSION = ("laps", "hours", "distance", "fuel", "starts", "rpm")


@dataclass(frozen=True, slots=True)
class Run:
    """One session of an event: `gap_hours` before it, and `use` in the unit each measure is kept in.

    A measure that the files do not give is not in `use`. `services` are the service rows that stand in the gap.
    `result` is how much of its event's result hangs on it, beside the event's other runs.
    """

    event: Event
    session: str
    first: bool
    gap_hours: float
    use: Mapping[str, float]
    rpm: float | None
    duty: float
    services: tuple[Event, ...] = ()
    result: float = 1.0

    @property
    def service(self) -> Event | None:
        """The service row that the gap is dated and called by: the last."""
        return self.services[-1] if self.services else None


def unroll(
    events: Iterable[Event], sessions: Sequence[Session], gaps: Gaps, file: Place
) -> tuple[tuple[Run, ...], tuple[Problem, ...]]:
    """The runs of a calendar in time order; events of one day keep the order of their rows.

    `file`: where a whole calendar without a race stands.

    Days count from a run to the next, so that a part installed before a run is a day older one day after it.
    """
    problems = Problems()
    runs: list[Run] = []
    services: tuple[Event, ...] = ()
    for event in sorted(events, key=lambda event: event.date):
        problems.extend(_faults(event, sessions))
        if event.kind == "service":
            services = (*services, event)
            continue
        for number, session in enumerate(_sessions_of(event, sessions)):
            before = runs[-1].event if runs else None
            gap = _gap_hours(before, event, number == 0, gaps)
            hours = [service.gap_hours for service in services if service.gap_hours is not None]
            gap = sum(hours) if hours else gap
            use = use_of(session or event, event)
            runs.append(_run(event, session, number == 0, gap, use, services))
            services = ()
    for late in services:
        advice = "put it before a run; what the winter after the season needs belongs into the next season's calendar"
        problems.add("SEA013", late.place, "date", late.date, "a service behind the last run:", advice)
    if not any(run.event.kind == "race" for run in runs):
        problems.add("SEA005", file, "kind", "", "no race in the calendar", "add a row of kind race")
    return _with_days(_with_events(runs)), tuple(problems.found)


def _run(
    event: Event,
    session: Session | None,
    first: bool,
    gap: float,
    use: Mapping[str, float],
    services: tuple[Event, ...],
) -> Run:
    """A run of an event, by itself or one of its sessions."""
    if session is None:
        return Run(event, "", first, gap, use, event.rpm, 1.0, services)
    return Run(event, session.session, first, gap, use, session.rpm, session.duty, services, session.result)


def gap_before(runs: Sequence[Run], g: int) -> tuple[date, str]:
    """The date and the words of the gap before a run: its service row's, else the event's that follows."""
    if g >= len(runs):
        return runs[-1].event.date, "after the last event"
    run = runs[g]
    if run.service is not None:
        return run.service.date, run.service.event
    return run.event.date, run.event.event


def _sessions_of(event: Event, sessions: Sequence[Session]) -> list[Session | None]:
    """The sessions of an event's format; None stands for an event that is one run by itself."""
    if not event.format:
        return [None]
    return [session for session in sessions if session.format == event.format]


def _faults(event: Event, sessions: Sequence[Session]) -> tuple[Problem, ...]:
    formats = list(dict.fromkeys(session.format for session in sessions))
    if event.kind == "service":
        given = [name for name in ("format", "laps", "hours", "rain", "rain_from", "weight") if getattr(event, name)]
        advice = "leave it empty, or change the kind"
        return tuple(
            Problem("SEA006", event.place, name, str(getattr(event, name)), "a service does not run:", advice)
            for name in given
        )
    if event.format and event.format not in formats:
        advice = f"add it to sessions.csv; {nearest(event.format, formats)}"
        return (Problem("SEA007", event.place, "format", event.format, "an unknown format", advice),)
    given = [name for name in BY_SESSION if event.format and getattr(event, name) is not None]
    if given:
        advice = f"leave it empty, or the format; sessions.csv gives it for {event.format}"
        value = str(getattr(event, given[0]))
        return (Problem("SEA006", event.place, given[0], value, "use given twice over:", advice),)
    if not event.format and event.laps is None and event.hours is None:
        advice = "give laps or hours, or a format of sessions.csv"
        return (Problem("SEA006", event.place, "laps", "", f"a {event.kind} without use", advice),)
    if event.level or event.gap_hours is not None:
        advice = "write a row of kind service for it"
        return (Problem("SEA006", event.place, "level", event.level, "only a service row names a level:", advice),)
    names = [session.session for session in sessions if session.format == event.format]
    if event.rain_from and event.rain_from not in names:
        what = f"no session of format {event.format}:" if event.format else "a session of an event without a format:"
        advice = f"leave it empty for all of the event, or name a session; {nearest(event.rain_from, names)}"
        return (Problem("SEA019", event.place, "rain_from", event.rain_from, what, advice),)
    return ()


def _gap_hours(before: Event | None, event: Event, first: bool, gaps: Gaps) -> float:
    """Hours between the end of the run before and this one; the gap before the first run holds everything."""
    if before is None:
        return math.inf
    if not first or before.date == event.date:
        return gaps.between_sessions
    return gaps.between_nights + ((event.date - before.date).days - 1) * HOURS_A_DAY


def use_of(source: Event | Session, track: Event | None = None) -> dict[str, float]:
    """Use of a run in every measure that follows from the files: the conversions stand here and nowhere else.

    `source` gives its laps or hours, `track` the length and the time of a lap, where there is one. An event is shared
    out among its runs when they are all known.
    """
    use = {"starts": 1.0 if source.starts is None else source.starts, "events": 0.0, "openings": 0.0}
    if source.laps is not None:
        use["laps"] = source.laps
        if track is not None and track.lap_length is not None:
            use["distance"] = source.laps * track.lap_length.to("km")
    if isinstance(source, Event) and source.distance is not None:
        use["distance"] = source.distance.to("km")
    if source.hours is not None:
        use["hours"] = source.hours
    elif source.laps is not None and track is not None and track.lap_time is not None:
        use["hours"] = source.laps * track.lap_time.to("h")
    if source.rpm is not None and "hours" in use:
        use["revolutions"] = use["hours"] * 60 * source.rpm
    fuel = _fuel(source, use)
    if fuel is not None:
        use["fuel"] = fuel
    return use


def _fuel(source: Event | Session, use: Mapping[str, float]) -> float | None:
    """Litres burned in a run."""
    if isinstance(source, Event):
        return None if source.fuel is None else source.fuel.to("L")
    if source.fuel_per_lap is not None and "laps" in use:
        return source.fuel_per_lap.to("L") * use["laps"]
    if source.fuel_per_hour is not None and "hours" in use:
        return source.fuel_per_hour.to("L") * use["hours"]
    return None


def _with_events(runs: list[Run]) -> list[Run]:
    """Each run with its share of its event as its use in events: by hours, else by laps, else all alike."""
    shared = []
    for stretch in by_event(runs):
        shares = _shares([run for _, run in stretch])
        shared += [
            replace(run, use={**run.use, "events": share}) for (_, run), share in zip(stretch, shares, strict=True)
        ]
    return shared


def _shares(runs: Sequence[Run]) -> list[float]:
    """What each run has of its event; they add up to one."""
    for measure in ("hours", "laps"):
        use = [run.use.get(measure, 0.0) for run in runs]
        if sum(use) > 0 and all(measure in run.use for run in runs):
            return [part / sum(use) for part in use]
    return [1 / len(runs)] * len(runs)


def _with_days(runs: list[Run]) -> tuple[Run, ...]:
    """Each run with the days up to the next one as its use in days."""
    dated = []
    for run, following in zip(runs, [*runs[1:], None], strict=False):
        days = (following.event.date - run.event.date).days if following else 0
        dated.append(replace(run, use={**run.use, "days": float(days)}))
    return tuple(dated)


def by_event(runs: Iterable[Run]) -> list[list[tuple[int, Run]]]:
    """The runs of each event, numbered."""
    grouped: list[list[tuple[int, Run]]] = []
    for g, run in enumerate(runs):
        if run.first:
            grouped.append([])
        grouped[-1].append((g, run))
    return grouped


def first_days(opening: date, runs: Sequence[Run]) -> list[date]:
    """The first day of each month from the opening to the last run; of the first month the opening itself."""
    last = max(run.event.date for run in runs)
    months = range(month_number(opening), month_number(last) + 1)
    return [max(opening, date(month // 12, month % 12 + 1, 1)) for month in months]


def season_use(runs: Iterable[Run], measure: str) -> float:
    """Use of all runs in a measure, those that do not give it left out."""
    return sum(run.use.get(measure, 0.0) for run in runs)


def flow_cost(row: Service, runs: Sequence[Run], currency: str) -> Decimal:
    """price * use / every of some runs, rounded once."""
    use = row.measure.from_kept(season_use(runs, row.measure.name))
    return round_money(row.price * Decimal(repr(use)) / Decimal(repr(row.every)), currency)


def month_number(day: date) -> int:
    """Months since year 0."""
    return day.year * 12 + day.month - 1


def ungiven(runs: Iterable[Run], measure: str) -> tuple[Run, ...]:
    """The runs whose use in a measure the files do not give."""
    if measure not in MEASURES:
        raise KeyError(measure)
    return tuple(run for run in runs if measure not in run.use)
