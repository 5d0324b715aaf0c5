"""What a log says as a page: what to inspect, what is on the engines, on the shelf, owed and paid."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType

from costplan.garage.log import Entry
from costplan.money import with_minor_digits
from costplan.problems import Place
from costplan.quantity import MEASURES
from costplan.reading.fields import MeasureName
from costplan.report.data import to_csv
from costplan.report.tables import Page, Table, day, listed, money, number, plural, share
from costplan.season.logged.showing import LogShown, PieceNow
from costplan.season.logged.tracking import Tracked, Tracking, Unpriced
from costplan.season.standing import Inspection, Owed, Standing

#: Names that are listed one by one; of more the first and the last. Rows of a log that its page shows.
FEW, LAST = 3, 20
CAUTIONS = (
    "Use is what the log says; lives are assumptions and parts can fail new. Inspect; follow maker and builder; stop "
    "on metal, low oil pressure, overheating or over-rev.",
)


def inspection_lines(inspections: Iterable[Inspection]) -> tuple[str, ...]:
    """What must be looked at before an engine runs again, a sentence each."""
    return tuple(_inspect(one) for one in inspections)


def _inspect(one: Inspection) -> str:
    speed = f" to {number(one.rpm)} rpm" if one.rpm else ""
    on = f"{one.date.day} {one.date:%B}"
    what = listed(one.slots) or "the whole engine, the bottom end too"
    until = "of these no longer hold until they are checked" if one.slots else _ALL_OF_IT
    return (
        f"Inspect {one.engine} before it runs again: over-revved{speed} on {on} ({near(one.place)}): {what}. "
        f"The assumed lives {until}."
    )


_ALL_OF_IT = "of its parts no longer hold until all was checked, in a row that names no slot"


def near(place: Place) -> str:
    """A row of a scenario's file by the file's own name: `log.csv:12`."""
    return str(replace(place, file=place.file.replace(chr(92), "/").rpartition("/")[2]))


def owed_lines(owed: Sequence[Owed]) -> tuple[str, ...]:
    """Levels whose day has come and that the log does not show done."""
    if not owed:
        return ()
    names = listed(f"{one.level} of {one.engine} ({one.what}, {one.date})" for one in owed)
    return (f"Owed, and not in the log: {names}.",)


def standing_lines(standing: Standing | None) -> tuple[str, ...]:
    """What a page of a plan says of the log: inspections first, what is broken and owed, from when on it plans."""
    if standing is None:
        return ()
    broken = listed(f"{slot} of {engine}" for engine, slot in standing.broken)
    return (
        *inspection_lines(standing.inspections),
        *((f"Broken, and not put right in the log: {broken}.",) if broken else ()),
        *owed_lines(standing.owed),
    )


def from_on(standing: Standing | None) -> str:
    """From when on a page counts, where a log says what was before."""
    return f"From {standing.on} on, as the log leaves the engines." if standing else ""


def ahead_page(page: Page, standing: Standing | None) -> Page:
    """A page that counts from a day on, with what the log says at its top."""
    if standing is None:
        return page
    return replace(page, lines=(*standing_lines(standing), from_on(standing), *page.lines))


def added_page(entry: Entry, units: Mapping[str, str], title: str, currency: str, invented: bool) -> Page:
    """The row that was written, its use in the units in which the file has it."""
    amount = "" if entry.amount is None else f"{money(with_minor_digits(entry.amount, currency))} {currency}"
    about = "; ".join(text for text in (_about(entry, units), amount) if text)
    row = " ".join(text for text in (str(entry.date), entry.what, entry.engine, about) if text)
    return Page(_title(title, invented), (f"Written as {entry.place}: {row}.",), ())


def _about(entry: Entry, units: Mapping[str, str] = MappingProxyType({})) -> str:
    """What a row is about, in words; use in the units given, else in those it is kept in."""
    words = [
        entry.event,
        entry.level,
        " ".join(entry.slot),
        f"part {entry.part}" if entry.part else "",
        f"piece {entry.piece}" if entry.piece else "",
        f"step {entry.step}" if entry.step is not None else "",
        plural(entry.count, "piece") if entry.count is not None else "",
        f"{number(entry.rpm)} rpm" if entry.rpm else "",
        listed(
            MeasureName(measure, units.get(measure) or MEASURES[measure][1]).amount(amount)
            for measure, amount in entry.use.items()
        ),
        entry.line,
        entry.finding,
    ]
    return "; ".join(word for word in words if word)


def _title(title: str, invented: bool) -> str:
    return f"Log: {title}{' (invented data)' if invented else ''}"


def log_page(found: LogShown, title: str, currency: str, invented: bool, rows: int | None = None) -> Page:
    """Everything that `costplan log show` answers, with the last so many rows; None: all of them."""
    by_itself = (
        f"{plural(found.by_itself, 'run')} of no event: aged by what the row says, at weight 1 and no engine speed."
    )
    lines = (
        *inspection_lines(found.inspections),
        *owed_lines(found.owed),
        f"{plural(len(found.entries), 'row')} by {found.on}; {plural(len(found.ran), 'event')} run; money in "
        f"{currency}; paid {money(found.paid)} in all, income taken off.",
        *((by_itself,) if found.by_itself else ()),
        *without_amount(found.without_amount),
    )
    tables = (
        *(_pieces_table(engine, found.pieces) for engine in dict.fromkeys(piece.engine for piece in found.pieces)),
        _shelf_table(found),
        _money_table(found),
        _entries_table(found.entries, currency, rows),
    )
    return Page(_title(title, invented), lines, tuple(table for table in tables if table.rows), CAUTIONS)


def without_amount(rows: Sequence[Unpriced]) -> tuple[str, ...]:
    """A sentence on rows that say what was done and not what it cost."""
    if not rows:
        return ()
    names = listed(plural(one.rows, f"{one.what} row") for one in rows)
    return (f"Without an amount of their own: {names}; what they cost is only known where a row says paid.",)


def _pieces_table(engine: str, pieces: Sequence[PieceNow]) -> Table:
    rows = tuple(
        (
            f"{piece.slot}{' - broken' if piece.broken else ''}",
            f"{piece.part}{f' ({piece.piece})' if piece.piece else ''}{f', step {piece.step}' if piece.step else ''}",
            day(piece.since) if piece.since else "",
            listed(piece.use),
            share(piece.share),
        )
        for piece in pieces
        if piece.engine == engine
    )
    note = "Since: put in by a row of the log; empty: in since the books opened. Used: of its assumed life."
    return Table(f"On {engine}", ("Slot", "Part", "Since", "Use", "Used"), rows, (4,), note)


def _shelf_table(found: LogShown) -> Table:
    rows = tuple(
        (one.part, f"used: {one.piece}" if one.piece else "new", str(one.pieces), money(one.value))
        for one in found.shelf
    )
    return Table("On the shelf", ("Part", "", "Pieces", "Value new"), rows, right=(2, 3))


def _money_table(found: LogShown) -> Table:
    rows = tuple((one.group, money(one.amount)) for one in found.money)
    return Table("Paid, by what for", ("For", "Amount"), rows, right=(1,), note="Income is negative.")


def _entries_table(entries: Sequence[Entry], currency: str, last: int | None) -> Table:
    shown = entries if last is None else entries[-last:]
    rows = tuple(
        (
            day(entry.date),
            f"{entry.what}{f' {entry.engine}' if entry.engine else ''}",
            "\n".join(text for text in (_about(entry), entry.note) if text),
            money(with_minor_digits(entry.amount, currency)) if entry.amount is not None else "",
        )
        for entry in shown
    )
    left = len(entries) - len(shown)
    note = f"{plural(left, 'row')} before these: --all, --csv and --json have them." if left else ""
    return Table("Rows, the newest last", ("Date", "What", "", "Amount"), rows, right=(3,), note=note)


def entries_csv(entries: Iterable[Entry]) -> str:
    """The rows of a log as CSV, with the place of each."""
    rows = list(entries)
    measures = list(dict.fromkeys(measure for entry in rows for measure in entry.use))
    names = [name for name in Entry.model_fields if name not in ("place", "use")]
    cells = [
        [str(entry.place), *(_cell(getattr(entry, name)) for name in names), *(entry.use.get(m, "") for m in measures)]
        for entry in rows
    ]
    return to_csv(["at", *names, *measures], cells)


def _cell(value: object) -> object:
    return " ".join(value) if isinstance(value, tuple) else "" if value is None else value


def tracking_table(tracking: Tracking | None) -> Table:
    """Budget, actual and forecast by group."""
    if tracking is None:
        return Table("", (), ())
    rows = tuple(_tracked(one) for one in (*tracking.groups, tracking.total))
    header = ("", "Budget", "To day", "Actual", "Forecast", "Expected", "Over")
    title, right = f"Budget, actual and forecast on {tracking.on}", tuple(range(1, len(header)))
    return Table(title, header, rows, right, track_note(tracking))


def _paid_ahead(tracking: Tracking) -> str:
    return (
        f"{money(tracking.paid_ahead)} was paid ahead for what is still to come: it stands under actual, and is taken "
        "off the forecast."
    )


def _not_logged(tracking: Tracking) -> tuple[str, ...]:
    """What fell due and the log has no row of, so that the actual looks too small."""
    costs = listed(f"{one.what} {money(one.amount)}" for one in tracking.not_logged if not one.event)
    events = [one for one in tracking.not_logged if one.event]
    names = listed(f"{one.event} {money(one.amount)}" for one in events)
    if len(events) > FEW:
        total = money(tracking.not_logged_at_events)
        names = f"{events[0].event} ... {events[-1].event} ({len(events)} events) {total}"
    return (
        *((f"Of costs.csv fell due by the day and no row of the log names them: {costs}.",) if costs else ()),
        *((f"No row of the log gives the entry and travel of events that were run: {names}.",) if names else ()),
    )


def _tracked(one: Tracked) -> tuple[str, ...]:
    amounts = (one.budget, one.to_day, one.actual, one.forecast, one.expected, one.difference)
    return (one.group, *(f"{amount:,.0f}" for amount in amounts))


def track_note(tracking: Tracking) -> str:
    """What the figures mean, and what they do not hold."""
    part = listed(f"{one.event} ({share(one.share)})" for one in tracking.in_part)
    lines = [
        "Budget: the season's plan without the log, and of it what was due by the day. Actual: the log's amounts. "
        "Forecast: the plan from the day on. Expected = actual + forecast; over = expected - budget. Income is "
        "negative.",
        f"{tracking.events_run} of {plural(tracking.events_due, 'event')} were run"
        + (f"; not run: {listed(tracking.missed)}" if tracking.missed else "")
        + (f"; in part: {part}" if part else "")
        + ".",
        *_not_logged(tracking),
        *without_amount(tracking.without_amount),
        *([_paid_ahead(tracking)] if tracking.paid_ahead else []),
    ]
    return "\n".join(lines)
