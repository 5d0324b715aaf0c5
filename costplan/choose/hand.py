"""What is on hand and may be used again: pieces of the garage, as the log leaves them, with life left in them.

A piece that has reached a limit or its renewal use is no bargain at any price, nor is one that the log says broke, was
taken out, or has not been looked at since the engine was over-revved. Each piece that is left out is told with why.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from math import inf, isfinite
from typing import NamedTuple

from costplan.build import Slot
from costplan.catalog import Catalog, Part
from costplan.choose.wishes import SHELF, Wishes
from costplan.garage import CAR, Piece
from costplan.garage.log import Entry
from costplan.life import Life, life_of
from costplan.problems import Place
from costplan.quantity import MEASURES
from costplan.reading.fields import MeasureName
from costplan.scenario import Scenario
from costplan.season import Season, machine
from costplan.season.logged.naming import slots_in

_DAYS = MeasureName("days", MEASURES["days"][1])


@dataclass(frozen=True, slots=True)
class Left:
    """A piece of those on hand that may not be used in a slot: why, and the row that says so."""

    piece: str
    slot: str
    part: str
    why: str
    place: str


@dataclass(frozen=True, slots=True)
class Used:
    """What a piece on hand has run, of the life that it has used most of: `7 of 30 events`, and as a share of it.

    `share` is None where nothing is known of its life, 0 for a new piece. `assumed`: what of its use nobody has told.
    """

    words: str
    share: float | None
    assumed: tuple[str, ...] = ()


#: Words of the log by which what was in a slot is there no more.
GONE = ("failed", "changed")
#: Pieces that have not run.
NEW = Used("new", 0.0)


class _Stand(NamedTuple):
    """A piece as it stands on the day, and its use by measure: what counts against lives, and what against limits."""

    piece: Piece
    ages: Mapping[str, tuple[float, float]]
    untold: str = ""


class _Reached(NamedTuple):
    """How far a piece has come to an end of its life."""

    used: float
    end: float
    measure: MeasureName
    what: str

    @property
    def share(self) -> float:
        return self.used / self.end if self.end > 0 else inf

    def __str__(self) -> str:
        """The use with the end it comes to, the unit once where both have the same."""
        used, end = self.measure.amount(self.used), self.measure.amount(self.end)
        number, _, unit = used.partition(" ")
        return f"{number if unit.rstrip('s') == end.partition(' ')[2].rstrip('s') else used} of {end}"


class Hand:
    """The pieces on hand that are wished to be used; `left` gathers those that may not be, as slots are asked about."""

    def __init__(self, scenario: Scenario, wishes: Wishes) -> None:
        self._scenario, self._wishes = scenario, wishes
        self._catalog = scenario.catalog or Catalog()
        self._log: tuple[Entry, ...] = scenario.logged(wishes.on) if wishes.hand else ()
        self._rows = {row.slot: row for row in scenario.files.positions}
        self.left: list[Left] = []

    def pieces(self, slot: Slot, turn: str = "", part: str = "") -> Iterator[tuple[Piece, Used]]:
        """The pieces that may go into a slot, by name, as the part of a turn where several take turns in it.

        `part`: pieces of this alone; else all of the slot's role.
        """
        for piece in sorted(self._scenario.garage, key=lambda piece: piece.piece):
            known = self._catalog.parts.get(piece.part)
            mine = known is not None and (piece.part == part if part else known.role == slot.role)
            if mine and self._is_asked(piece, slot, turn):
                yield from self._usable(piece, slot)

    def _is_asked(self, piece: Piece, slot: Slot, turn: str) -> bool:
        """Whether a piece is wished to be used in a slot, as its row says where it is."""
        if piece.on_shelf:
            return SHELF in self._wishes.hand
        return piece.engine in self._wishes.hand and piece.slot == slot.slot and piece.alternate in ("", turn)

    def _usable(self, piece: Piece, slot: Slot) -> Iterator[tuple[Piece, Used]]:
        """A piece as it stands, or what stands in its place since; told as left out where it may not be used."""
        for stand in self._on_the_shelf(piece, slot) if piece.on_shelf else self._in_an_engine(piece, slot):
            used, why = self._looked_at(stand, slot)
            if why:
                self._leave(stand.piece, slot, why, stand.piece.place)
            else:
                yield stand.piece, used

    def _leave(self, piece: Piece, slot: Slot, why: str, place: Place) -> None:
        one = Left(piece.piece, slot.slot, piece.part, why, str(place))
        if one not in self.left:
            self.left.append(one)

    def _on_the_shelf(self, piece: Piece, slot: Slot) -> Iterator[_Stand]:
        """A piece on the shelf, if the log has not taken it from there, and there are enough of it."""
        taken = [entry for entry in self._log if entry.piece == piece.piece]
        count = 0 if taken and piece.is_used else (piece.count or 1) - self._gone.get(piece.piece, 0)
        if count < slot.quantity and (taken or self._gone.get(piece.piece)):
            place = taken[-1].place if taken else piece.place
            left = f"; {count} left of the {slot.quantity} that the slot takes" if count > 0 else ""
            self._leave(piece, slot, f"the log has taken it from the shelf{left}", place)
        elif count < slot.quantity:
            self._leave(piece, slot, f"{count} of the {slot.quantity} that the slot takes", piece.place)
        else:
            yield _Stand(piece, self._of_row(piece))

    @cached_property
    def _gone(self) -> dict[str, int]:
        """New pieces that the log has taken, by the name of their box: of boxes alike those that it names first."""
        season, found = self._season, dict[str, int]()
        if season is None or season.standing is None or season.standing.state is None:
            return found
        named = {entry.piece for entry in self._log if entry.piece}
        for item, now, before in zip(
            season.items, season.standing.state.stock, season.standing.opening.stock, strict=True
        ):
            gone = int(before) - int(now)
            boxes = (one for one in season.shelf if one.part == item.name and not one.is_used)
            for box in sorted(boxes, key=lambda one: (one.piece not in named, one.piece)):
                found[box.piece] = min(gone, box.count or 1)
                gone -= found[box.piece]
        return found

    def _in_an_engine(self, piece: Piece, slot: Slot) -> Iterator[_Stand]:
        """A piece in its slot; where the log has put another in since, that one."""
        if (piece.count or slot.quantity) < slot.quantity:
            why = f"{piece.count} of the {slot.quantity} that the slot takes"
            self._leave(piece, slot, why, piece.place)
            return
        if not self._log:
            yield _Stand(piece, self._of_row(piece))
            return
        name = self._position(piece)
        place = self._places.get((piece.engine, name))
        if place is None:
            yield from self._not_followed(piece, slot, name)
            return
        since = self._since.get((piece.engine, name))
        if since is not None:
            self._leave(piece, slot, f"changed on {since[0]}", since[1])
        wrong = self._broken(piece, name) or self._owed(piece, slot, since[0] if since else None)
        stand = self._as_logged(piece, name, *place)
        if wrong is not None:
            self._leave(stand.piece, slot, *wrong)
        else:
            yield stand

    def _not_followed(self, piece: Piece, slot: Slot, name: str) -> Iterator[_Stand]:
        """A piece whose ages no log counts on: in a slot without a position, or in an engine of no part in the season.

        Where the log names its slot as failed or changed it is gone.
        """
        rows = [row for row in self._log if row.what in GONE and self._names(row, piece.engine, name)]
        why = (f"{rows[-1].what} on {rows[-1].date}", rows[-1].place) if rows else self._owed(piece, slot, None)
        if why is not None:
            self._leave(piece, slot, *why)
        else:
            yield _Stand(piece, self._of_row(piece), "what it ran since the log began is not counted")

    def _names(self, row: Entry, engine: str, name: str) -> bool:
        """Whether a row of the log names a slot or position of an engine."""
        known = (*self._scenario.built().pattern.slots, *(position for _, position in self._places))
        return row.engine == engine and name in slots_in(row.slot, known)

    def _position(self, piece: Piece) -> str:
        """What the season calls the position of a piece: beside the slot's first by both names."""
        turns = self._scenario.built().alternates.get(piece.slot, ())
        beside = any(one.name == piece.alternate and one.serves for one in turns)
        return f"{piece.slot}/{piece.alternate}" if beside else piece.slot

    @cached_property
    def _season(self) -> Season | None:
        """The season as the log leaves it on the day; None without a log by then."""
        return self._scenario.season_on(self._wishes.on)[0] if self._log and self._rows else None

    @cached_property
    def _places(self) -> dict[tuple[str, str], tuple[int, int]]:
        """The numbers of each carrier and position."""
        season = self._season
        return {(carrier, spot.slot): (c, p) for c, carrier, p, spot in season.positions()} if season else {}

    @property
    def _since(self) -> Mapping[tuple[str, str], tuple[date, Place, str]]:
        standing = self._season.standing if self._season else None
        return standing.since if standing else {}

    def _broken(self, piece: Piece, name: str) -> tuple[str, Place] | None:
        """Whether what is in a position is broken, by which row."""
        standing = self._season.standing if self._season else None
        if standing is None or (piece.engine, name) not in standing.broken:
            return None
        rows = [row for row in self._log if row.what == "failed" and self._names(row, piece.engine, name)]
        return (f"failed on {rows[-1].date}", rows[-1].place) if rows else ("broken", piece.place)

    def _owed(self, piece: Piece, slot: Slot, since: date | None) -> tuple[str, Place] | None:
        """The inspection that is owed of what is in a slot; not of what was put in later."""
        standing = self._season.standing if self._season else None
        for one in standing.inspections if standing else ():
            of_it = one.engine == piece.engine and (not one.slots or slot.slot in one.slots)
            if of_it and (since is None or since <= one.date):
                return f"not looked at since the engine was over-revved on {one.date}", one.place
        return None

    def _as_logged(self, piece: Piece, name: str, c: int, p: int) -> _Stand:
        """What is in a position with its ages as the log leaves them; a set put in since under a name of its own."""
        season = self._season
        state = season.standing.state if season and season.standing else None
        if season is None or state is None:
            return _Stand(piece, self._of_row(piece))
        ages = {
            season.measure_of(j).name: (float(state.age[c, j]), float(state.raw_age[c, j]))
            for j in reversed(season.lives(p))  # a dated part's own days last: a life in days goes before them
        }
        use = {measure: raw for measure, (_, raw) in ages.items() if measure != "days"}
        part = season.items[int(state.item[c, p])].name
        now: dict[str, object] = {"step": int(state.step[c, p]), "part": part, "use": use}
        since = self._since.get((piece.engine, name))
        if since is not None:
            of, place = f"{name} in {piece.engine} since {since[0]}", since[1]
            now |= {"piece": of, "engine": "", "installed": since[0], "bought": since[0], "place": place}
        return _Stand(piece.model_copy(update=now), ages)

    def _of_row(self, piece: Piece) -> dict[str, tuple[float, float]]:
        """The ages of a piece by its row, on the day: what counts against lives is the plain use."""
        ages = {measure: piece.age(measure, self._wishes.on) for measure in MEASURES}
        return {measure: (age, age) for measure, age in ages.items() if age is not None}

    def _looked_at(self, stand: _Stand, slot: Slot) -> tuple[Used, str]:
        """What a piece has run, and why it may not be used, '' where it may."""
        piece = stand.piece
        if not piece.is_used:
            return NEW, ""
        part = self._catalog.parts[piece.part]
        lives = self._lives(part, slot)
        ends = [end for life in lives for end in self._ends(stand, life, self._factors(part, piece, slot))]
        ends += self._dated(stand, slot)
        most = max(ends, key=lambda end: end.share, default=None)
        if most is not None and most.share >= 1 - machine.SLACK:
            return NEW, f"{most}: {most.what}"
        row = self._rows.get(slot.slot)
        if row is not None and not row.stretch and slot.slot not in self._wishes.cheapen:
            return NEW, f"used, and what is in {slot.slot} is not to be stretched to save money ({row.place})"
        return Used(str(most) if most else "used", most.share if most else None, self._untold(stand, lives)), ""

    def _lives(self, part: Part, slot: Slot) -> tuple[Life, ...]:
        role = self._catalog.roles.get(part.role)
        return tuple(life_of(row, role, slot.quantity) for row in self._catalog.lives_of(part))

    def _factors(self, part: Part, piece: Piece, slot: Slot) -> tuple[float, float]:
        """By what the renewal use of a new set is multiplied: as positions.csv says, and by the service steps done."""
        row = self._rows.get(slot.slot)
        policy = 1.0 if row is None else inf if row.renewal == "run to failure" else float(row.factor)
        return policy, next((one.factor for one in self._catalog.path_of(part) if one.step == piece.step), 1.0)

    def _ends(self, stand: _Stand, life: Life, factors: tuple[float, float]) -> Iterator[_Reached]:
        """How far a piece has come to where a life is renewed, and to its limit."""
        if life.measure.name not in stand.ages:
            return
        duty, raw = stand.ages[life.measure.name]
        renewed = life.used_up_at(factors[0]) * factors[1]
        if isfinite(renewed):
            yield _Reached(duty, renewed, life.measure, f"its renewal use ({life.row.place})")
        if isfinite(life.limit):
            yield _Reached(raw, life.limit, life.measure, f"its hard limit ({life.row.place})")

    def _dated(self, stand: _Stand, slot: Slot) -> Iterable[_Reached]:
        """How far a piece has come to the days that the book lets it stay, from its paper, else since it is in."""
        on, papers = self._wishes.on, self._paper_days
        for one in self._scenario.book.dated:
            if one.slot == slot.slot and one.clause.holds_on(on):
                paper = papers.get((stand.piece.engine, one.clause.rule, one.clause.place))
                begun = paper or stand.piece.installed
                if begun is not None:
                    what = f"the days that {one.clause.rule} lets it stay ({one.clause.place})"
                    yield _Reached(float((on - begun).days), one.days, _DAYS, what)

    @cached_property
    def _paper_days(self) -> Mapping[tuple[str, str, Place], date]:
        return self._scenario.paper_days()

    def _untold(self, stand: _Stand, lives: Iterable[Life]) -> tuple[str, ...]:
        """What nobody has told of the use of a piece."""
        place = stand.piece.place
        missing = [
            f"its {life.measure.name} so far, not told in {place}; its life in them ({life.row.place}) is taken as new"
            for life in lives
            if life.measure.name not in stand.ages
        ]
        return (*missing, *([f"{stand.untold} ({place})"] if stand.untold else ()))


def carriers_of(scenario: Scenario) -> tuple[str, ...]:
    """Whose pieces can be on hand: the engines', the car's, and what is on the shelf."""
    return (*(engine.name for engine in scenario.engines), CAR, SHELF)
