"""What a log says on a day: what is on each engine with its use, what lies on the shelf, what was paid."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from costplan.garage.log import Entry
from costplan.money import from_minor, round_money
from costplan.season import machine
from costplan.season.logged.tracking import GROUPS, Unpriced, group_of, unpriced
from costplan.season.names import Season
from costplan.season.standing import EventRun, Inspection, Owed


@dataclass(frozen=True, slots=True)
class PieceNow:
    """What is in a position: its use in each measure that its lives count, and the share of its assumed life used.

    `since`: when the log says that it was put in, by the row in `place`; None where it was in when the books opened.
    """

    engine: str
    slot: str
    part: str
    piece: str
    since: date | None
    place: str
    use: tuple[str, ...]
    share: float
    step: int
    broken: bool


@dataclass(frozen=True, slots=True)
class OnShelf:
    """New pieces of a part on the shelf, or one used set by its name; what it cost new."""

    part: str
    piece: str
    pieces: int
    value: Decimal


@dataclass(frozen=True, slots=True)
class Paid:
    """What the log says was paid in a group; income is negative."""

    group: str
    amount: Decimal


@dataclass(frozen=True, slots=True)
class LogShown:
    """A log on a day. `by_itself`: the runs of no event, aged by what their rows say at no engine speed."""

    on: date
    entries: tuple[Entry, ...]
    pieces: tuple[PieceNow, ...]
    shelf: tuple[OnShelf, ...]
    inspections: tuple[Inspection, ...]
    owed: tuple[Owed, ...]
    ran: tuple[EventRun, ...]
    money: tuple[Paid, ...]
    paid: Decimal
    without_amount: tuple[Unpriced, ...]
    by_itself: int


def show_log(season: Season, entries: Sequence[Entry]) -> LogShown:
    """What a log says; `season` as it leaves it on the day, `entries` the rows known by then."""
    standing, currency = season.standing, season.rates.currency
    if standing is None:
        raise ValueError("a season without a log has nothing to show")
    amounts = [(group_of(entry, season), round_money(entry.paid, currency)) for entry in entries if entry.amount]
    none = from_minor(0, currency)
    sums = ((group, [amount for name, amount in amounts if name == group]) for group in GROUPS)
    return LogShown(
        standing.on,
        tuple(entries),
        tuple(_pieces(season)),
        tuple(_shelf(season)),
        standing.inspections,
        standing.owed,
        standing.ran,
        tuple(Paid(group, sum(of, none)) for group, of in sums if of),
        sum((amount for _, amount in amounts), none),
        tuple(unpriced(entries)),
        sum(entry.what == "ran" and not entry.event for entry in entries),
    )


def _pieces(season: Season) -> Iterator[PieceNow]:
    standing = season.standing
    state = standing.state if standing is not None and standing.state is not None else season.start
    since = standing.since if standing is not None else {}
    for c, carrier, p, spot in season.positions():
        if not season.lives(p):
            continue
        day, place, piece = since.get((carrier, spot.slot), (None, None, ""))
        yield PieceNow(
            carrier,
            spot.slot,
            season.items[int(state.item[c, p])].name,
            piece,
            day,
            str(place) if place else "",
            tuple(_use(season, state, c, p)),
            max(0.0, machine.worn_share(season.problem, state, c, p)),
            int(state.step[c, p]),
            bool(state.broken[c, p]),
        )


def _use(season: Season, state: machine.State, c: int, p: int) -> Iterator[str]:
    """Its use in every measure in words, each once."""
    ages = ((j, max(0.0, float(state.raw_age[c, j]))) for j in season.lives(p))
    yield from dict.fromkeys(season.measure_of(j).amount(age) for j, age in ages)


def _shelf(season: Season) -> Iterator[OnShelf]:
    state, currency = season.start, season.rates.currency
    for number, item in enumerate(season.items):
        if state.stock[number]:
            value = from_minor(int(state.stock_value[number]), currency)
            yield OnShelf(item.name, "", int(state.stock[number]), value)
    parts = {item.name for item in season.items}
    for piece in season.shelf:
        if piece.is_used and piece.part in parts and state.used_left[season.used_number(piece.piece)]:
            value = from_minor(int(season.problem.used_value[season.used_number(piece.piece)]), currency)
            yield OnShelf(piece.part, piece.piece, piece.count or 1, value)
