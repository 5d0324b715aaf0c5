"""What of a log's rows can be seen to be wrong without playing them: cells that are missing or idle, unknown names."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from types import MappingProxyType

from costplan.garage.log import Entry
from costplan.money import minor_digits, round_money
from costplan.problems import Problem, Problems, nearest
from costplan.season.inputs import SeasonFiles
from costplan.season.records import CAR, Event

#: What a row of each word must give, and what else it may give; date, what, line, amount and note are for all.
NEEDS = MappingProxyType(
    {
        "ran": ("engine",),
        "checked": ("engine",),
        "serviced": ("engine", "level"),
        "changed": ("engine", "slot"),
        "failed": ("engine", "slot"),
        "mended": ("engine", "slot"),
        "paid": ("amount",),
        "over-revved": ("engine",),
    }
)
TAKES = MappingProxyType(
    {
        "ran": ("event", "use"),
        "checked": ("event", "level", "slot", "finding"),
        "serviced": ("event", "finding"),
        "changed": ("event", "level", "part", "piece", "step", "count", "finding", "use"),
        "failed": ("event", "count", "finding"),
        "mended": ("event", "level", "step", "count", "finding"),
        "paid": ("engine", "event", "level", "slot", "part"),
        "over-revved": ("event", "rpm", "finding"),
    }
)
FOR_ALL = ("date", "what", "line", "amount", "note")
#: Words that say what happened at an event on its day.
ON_THE_DAY = ("ran", "failed", "over-revved")
#: Digits between separators of thousands, and how few numbers are called.
THOUSANDS, NUMBERS = 3, MappingProxyType({0: "no", 2: "two", 3: "three"})
#: So far from the day in the calendar an event may be run, as where rain moves it, without a word in the calendar.
LATE = 7


@dataclass(frozen=True, slots=True)
class Around:
    """What else a scenario says that its log is held against.

    `away`: engines that are not in the season; `opening`: the day that the books open, where it is said; `currency`:
    that of all amounts, '' where it is not known.
    """

    away: tuple[str, ...] = ()
    opening: date | None = None
    currency: str = ""


def check_log(
    entries: Sequence[Entry], files: SeasonFiles, engines: Iterable[str], around: Around | None = None
) -> tuple[Problem, ...]:
    """The problems of a log's rows by themselves and beside calendar and levels; a row has one at the most."""
    desk = _Desk(files, tuple(engines), around or Around())
    problems = [next(iter((*desk.cells(entry), *desk.names(entry), *desk.season(entry))), None) for entry in entries]
    faulty = {entry.place for entry, problem in zip(entries, problems, strict=True) if problem}
    twice = _run_twice([entry for entry in entries if entry.place not in faulty])
    return tuple(problem for problem in (*problems, *twice) if problem)


class _Desk:
    """What the rows are held against."""

    def __init__(self, files: SeasonFiles, engines: tuple[str, ...], around: Around) -> None:
        self.files, self.engines, self.around = files, engines, around
        self.events = {event.event: event for event in files.events}
        self.levels = {level.level: level.carrier for level in files.levels}

    def cells(self, entry: Entry) -> Iterator[Problem]:
        """Cells that a word needs and that are empty, and those that it has no use for."""
        found, what = Problems(), entry.what
        given = [name for name in type(entry).model_fields if name in entry.model_fields_set and name != "place"]
        for name in NEEDS[what]:
            if not getattr(entry, name) and not (name == "amount" and entry.amount is not None):
                found.add("LOG001", entry.place, name, "", f"'{what}' without {_WORDS[name]}", f"give its {name}")
        for name in given:
            value = getattr(entry, name)
            if name not in (*FOR_ALL, *NEEDS[what], *TAKES[what]) and value not in ("", (), {}, None):
                shown = ", ".join(value) if isinstance(value, dict) else entry_text(value)
                advice = f"leave it empty, or give another word than {what}"
                field = next(iter(value)) if isinstance(value, dict) else name
                found.add("LOG002", entry.place, field, shown, f"'{what}' has no use for", advice)
        if what == "ran" and not entry.event and not entry.use:
            advice = "name an event of calendar.csv, or give laps, hours or events in columns of their own"
            found.add("LOG001", entry.place, "event", "", "a run of no event without use", advice)
        if entry.step is not None and entry.step < 1 and what == "mended":
            found.add("LOG001", entry.place, "step", "0", "mended by step", "give 1 or more, or leave it empty")
        yield from found.found

    def names(self, entry: Entry) -> Iterator[Problem]:
        """Names of engines, events and levels that lead nowhere, and an event on another day than the calendar's."""
        found, place, carriers = Problems(), entry.place, (*self.engines, CAR)
        if entry.engine and entry.engine not in carriers:
            near = nearest(entry.engine, carriers)
            found.add("LOG003", place, "engine", entry.engine, "an unknown engine", near)
        elif entry.engine == CAR and entry.what in ("ran", "over-revved"):
            advice = "name the engine that ran; the car goes with it"
            found.add("LOG003", place, "engine", CAR, f"'{entry.what}' of", advice)
        if entry.event and entry.event not in self.events and not self._excused("calendar", entry.event):
            near = nearest(entry.event, self.events)
            found.add("LOG004", place, "event", entry.event, "an event that calendar.csv does not have", near)
        elif entry.event in self.events and entry.what in ON_THE_DAY:
            self._on_the_day(entry, self.events[entry.event], found)
        if entry.level and not self._excused("levels", entry.level):
            known = [name for name, carrier in self.levels.items() if not entry.engine or carrier == _kind(entry)]
            if entry.level not in known:
                kind = f"no level of the {_kind(entry)}:" if entry.engine else "an unknown level"
                found.add("LOG005", place, "level", entry.level, kind, nearest(entry.level, known))
        yield from found.found

    def season(self, entry: Entry) -> Iterator[Problem]:
        """What is of no use to the season: a day before its books, an engine that it does not have, a sum in doubt."""
        found, place, opening = Problems(), entry.place, self.around.opening
        if opening is not None and entry.date < opening:
            advice = "what was before stands in garage.csv and in 'since'; or open the books earlier in scenario.toml"
            found.add("LOG015", place, "date", entry.date, f"before the books open on {opening}:", advice)
        if entry.what == "ran" and entry.engine in self.around.away:
            advice = "name the engine that ran, or give owned = true in scenario.toml"
            found.add("LOG016", place, "engine", entry.engine, "not in this season:", advice)
        if entry.amount is not None and self.around.currency:
            _decimals(entry, entry.amount, self.around.currency, found)
        yield from found.found

    def _on_the_day(self, entry: Entry, event: Event, found: Problems) -> None:
        if event.kind == "service":
            advice = "name an event that runs; work is written as serviced or changed"
            found.add("LOG004", entry.place, "event", event.event, "nothing runs at", advice)
        elif abs((entry.date - event.date).days) > LATE:
            what = f"{event.event} is on {event.date} in {event.place}, more than {LATE} days from"
            found.add(
                "LOG008", entry.place, "date", entry.date, what, "correct one of them; move the event if it moved"
            )

    def _excused(self, file: str, name: str) -> bool:
        """Whether a name stands in a row or a file at fault."""
        return name in self.files.at_fault.get(file, ()) or file in self.files.unread


def _decimals(entry: Entry, amount: Decimal, currency: str, found: Problems) -> None:
    """A problem for an amount with more decimals than its currency has: three may stand for thousands."""
    digits, given = minor_digits(currency), -int(amount.as_tuple().exponent)
    if given > digits and (given == THOUSANDS or round_money(amount, currency) != amount):
        few = f"{NUMBERS.get(digits, digits)} decimals"
        meant = f"{amount:f}".replace(".", "")
        advice = f"give {meant} for thousands, or {few}" if given == THOUSANDS else f"give {few}"
        found.add("REA024", entry.place, "amount", amount, f"more decimals than {currency} has:", advice)


def entry_text(value: object) -> str:
    """A cell as messages show it."""
    return " ".join(value) if isinstance(value, tuple) else str(value)


_WORDS = MappingProxyType(
    {"engine": "an engine", "level": "a level", "slot": "a slot", "amount": "an amount", "event": "an event"}
)


def _kind(entry: Entry) -> str:
    return CAR if entry.engine == CAR else "engine"


def _run_twice(entries: Iterable[Entry]) -> Iterator[Problem]:
    """A problem for each run that an earlier row of the same engine and event tells already.

    Two engines may share an event, each with what it ran.
    """
    first: dict[str, list[Entry]] = {}
    for entry in entries:
        if entry.what != "ran" or not entry.event:
            continue
        before = first.setdefault(entry.event, [])
        same = next((one for one in before if one.engine == entry.engine), None)
        bare = next((one for one in (entry, *before) if before and not one.use), None)
        if same is not None:
            advice = f"keep one of them; the first is in {same.place}"
            what = f"{entry.engine} ran this already:"
            yield Problem("LOG009", entry.place, "event", entry.event, what, advice)
        elif bare is not None:
            advice = f"give the laps or hours of each; the other is in {before[0].place}"
            what = "two engines ran all of one event:"
            yield Problem("LOG009", entry.place, "event", entry.event, what, advice)
        before.append(entry)
