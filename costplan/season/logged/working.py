"""Work that a log tells of: openings with what they renew, sets and pieces put in, what broke and was mended."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import NamedTuple

from costplan.garage.log import Entry
from costplan.problems import NOWHERE, Place, Problems, nearest
from costplan.season import machine
from costplan.season.logged.naming import Names
from costplan.season.machine.book import count_openings
from costplan.season.machine.companions import clear, draw_along, mends_piece, next_step
from costplan.season.machine.opening import cause_of_breaking, close_up
from costplan.season.machine.renewing import begin_anew, count_opening, suit, take, work_on
from costplan.season.machine.running import break_down
from costplan.season.names import LADDERS, Season, value_of
from costplan.season.opening import items_of
from costplan.season.records import CAR


class Opened(NamedTuple):
    """An opening that was done: of which carrier, on which ladder, up to which level, in the gap before run g."""

    c: int
    t: int
    k: int
    g: int


class Row(NamedTuple):
    """A row of work with the positions it names."""

    entry: Entry
    spots: tuple[int, ...]


@dataclass(slots=True)
class Bench:
    """What is done to engines: rows wait until something else happens, and are then one opening."""

    season: Season
    state: machine.State
    names: Names
    problems: Problems
    today: date = date.min
    waiting: dict[int, list[Row]] = field(default_factory=dict)
    opened: list[Opened] = field(default_factory=list)
    taken: dict[str, Place] = field(default_factory=dict)
    out: dict[str, int] = field(default_factory=dict)
    since: dict[tuple[str, str], tuple[date, Place, str]] = field(default_factory=dict)

    def bring(self, entry: Entry, c: int, spots: tuple[int, ...]) -> None:
        """One more row of the opening at hand."""
        self.waiting.setdefault(c, []).append(Row(entry, spots))

    def done(self, c: int, t: int, k: int, g: int) -> bool:
        """Whether a level was done on a carrier, by itself or in a higher one, in the gap before run g or later."""
        return any((one.c, one.t) == (c, t) and one.k >= k and one.g >= g for one in self.opened)

    def fail(self, entry: Entry, c: int, spots: tuple[int, ...], g: int) -> None:
        """What broke: all of a set where no count says how many pieces; what was put in just before may be it."""
        problem, state = self.season.problem, self.state
        if any(p in row.spots for row in self.waiting.get(c, ()) for p in spots):
            self.work_on(c, g)
        for p in spots:
            pieces = int(problem.pieces[p])
            if not self._counted(entry, pieces):
                return
            if not state.broken[c, p]:
                break_down(state, c, p)
            if problem.as_piece[p] and (entry.count is None or entry.count >= pieces):
                state.wrecked[c, p] = True

    def work_on(self, c: int, g: int) -> None:
        """The opening at hand of a carrier, in the gap before run g; nothing where nothing waits."""
        rows = self.waiting.pop(c, [])
        if not rows:
            return
        served = self._served(rows)
        explicit = {p: row.entry for row in rows for p in row.spots}
        for t in range(len(self.season.ladders)):
            levels = [int(self.season.problem.level[p]) for p in explicit if self.season.spots[p].ladder == t]
            top = max([*levels, served.get(t, (-1, None))[0]], default=-1)
            if top >= 0:
                self._open(c, t, top, served.get(t), explicit, g)

    def _served(self, rows: Sequence[Row]) -> dict[int, tuple[int, Entry]]:
        """By ladder the highest level that the rows say was done, with its row."""
        found: dict[int, tuple[int, Entry]] = {}
        for row in rows:
            if row.entry.what == "serviced":
                t = LADDERS.index(CAR if row.entry.engine == CAR else "engine")
                k = [step.level for step in self.season.ladders[t]].index(row.entry.level)
                if k > found.get(t, (-1, None))[0]:
                    found[t] = (k, row.entry)
        return found

    def _open(
        self, c: int, t: int, top: int, served: tuple[int, Entry] | None, explicit: dict[int, Entry], g: int
    ) -> None:
        """One opening at a level: its counters begin again, and what stays in is an opening older."""
        problem, state = self.season.problem, self.state
        self.opened.append(Opened(c, t, top, g))
        state.since[c, t, : top + 1] = 0.0
        if g < len(self.season.runs):
            count_openings(problem, state, c, t, top, g)
        clear(state.causes)
        clear(state.drawn_by)
        if served is not None:
            self._service(c, t, served[0], served[1], explicit, g)
        for p, entry in explicit.items():
            if self.season.spots[p].ladder == t:
                state.causes[p] = self._by_row(c, p, entry, g)
        close_up(problem, state, c, t, top)

    def _service(self, c: int, t: int, k: int, entry: Entry, explicit: dict[int, Entry], g: int) -> None:
        """What a level always renews, with what goes along, and what is broken within its reach; by the next step of
        its path where it has one, as the machine renews it, else by another set of the same part.
        """
        problem, state = self.season.problem, self.state
        for p in problem.on_ladder[problem.ladder_from[t] : problem.ladder_from[t + 1]].tolist():
            if problem.level[p] > k or p in explicit:
                continue
            renews = bool(problem.renews[t, k, p])
            if state.broken[c, p]:
                state.wrecked[c, p] = state.wrecked[c, p] or (renews and problem.as_piece[p])
                state.causes[p] = cause_of_breaking(state, c, p)
            elif renews:
                state.causes[p] = machine.PLANNED
        draw_along(problem, state, c, state.causes, state.drawn_by, g)
        for p in explicit:
            state.causes[p] = -1
        suit(problem, state, c, g)
        for p in problem.order.tolist():
            if state.causes[p] >= 0:
                self._renew(c, p, entry, g)

    def _renew(self, c: int, p: int, entry: Entry, g: int) -> None:
        """One position as the machine renews it: a step, a piece of the set, or another set."""
        problem, state, cause = self.season.problem, self.state, int(self.state.causes[p])
        mended, step = mends_piece(problem, state, c, p, cause), next_step(problem, state, c, p, cause, g)
        begin_anew(state, c, p)
        if step >= 0:
            work_on(problem, state, c, p, step)
            self._note(c, p, entry)
        elif mended:
            self._from_stock(int(state.item[c, p]), 1, g, bought=False)
            self._cap(p, 1, g)
            count_opening(problem, state, c, p)
        else:
            self._put_in(c, p, int(state.fitting[p]), entry, g, bought=False)
            self._cap(p, int(problem.pieces[p]), g)

    def _by_row(self, c: int, p: int, entry: Entry, g: int) -> int:
        """What a row of its own says of a position; its cause for the machine's closing up."""
        problem, state, spot = self.season.problem, self.state, self.season.spots[p]
        if not self._counted(entry, spot.pieces):
            return -1
        if entry.what == "mended":
            return self._mend(c, p, entry)
        if entry.count is not None and entry.count < spot.pieces:
            if entry.piece and not self._on_the_shelf(entry, entry.count):
                return -1
            begin_anew(state, c, p)
            self._from_stock(int(state.item[c, p]), entry.count, g, bought=entry.amount is not None)
            self._cap(p, entry.count, g)
            count_opening(problem, state, c, p)
            return machine.PLANNED
        return machine.PLANNED if self._by_set(c, p, entry, g) else -1

    def _by_set(self, c: int, p: int, entry: Entry, g: int) -> bool:
        """Another set, new or used, as a row says it; False where that cannot be."""
        problem, state, spot = self.season.problem, self.state, self.season.spots[p]
        piece = self.season.shelf_piece(entry.piece)
        if entry.piece and not self._on_the_shelf(entry, spot.pieces):
            return False
        item = self._item(c, p, entry, entry.part or (piece.part if piece else ""))
        if item < 0:
            return False
        begin_anew(state, c, p)
        if piece is not None and piece.is_used:
            self._put_in_used(c, p, item, entry)
        else:
            self._put_in(c, p, item, entry, g, bought=entry.amount is not None and not entry.piece)
        self._cap(p, spot.pieces, g)
        if entry.step is not None and self._is_step(entry, p):
            state.step[c, p], state.worked[c, p] = entry.step, machine.worked_before(problem, p, entry.step)
        self._aged(c, p, entry)
        return True

    def _mend(self, c: int, p: int, entry: Entry) -> int:
        """What is mended keeps its age, unless it has been through a step of its path."""
        problem, state = self.season.problem, self.state
        if entry.step is not None and not self._is_step(entry, p):
            return -1
        begin_anew(state, c, p)
        if entry.step is None:
            count_opening(problem, state, c, p)
        else:
            work_on(problem, state, c, p, entry.step - 1)
        return machine.PLANNED

    def _is_step(self, entry: Entry, p: int) -> bool:
        """Whether the path of a position has so many steps."""
        steps = len(self.season.spots[p].path)
        if entry.step is not None and entry.step > steps:
            what = f"a step past the end of the path of {self.season.spots[p].slot}:"
            advice = f"give at most {steps}; the path stands in service_steps.csv" if steps else "leave it empty"
            self.problems.add("LOG010", entry.place, "step", entry.step, what, advice)
            return False
        return True

    def _counted(self, entry: Entry, pieces: int) -> bool:
        """Whether a set has as many pieces as a row says."""
        if entry.count is not None and entry.count > pieces:
            advice = f"give at most {pieces}, or leave it empty for the whole set"
            self.problems.add("LOG010", entry.place, "count", entry.count, "more pieces than the set has:", advice)
            return False
        return True

    def _on_the_shelf(self, entry: Entry, pieces: int) -> bool:
        """Whether a piece lies on the shelf; it is then taken from it, of new ones in a box so many."""
        shelf = [piece.piece for piece in self.season.shelf if piece.piece not in self.taken]
        if len(entry.slot) > 1:
            what, advice = "one piece for several slots:", "write a row for each slot"
            self.problems.add("LOG011", entry.place, "piece", entry.piece, what, advice)
        elif entry.piece in self.taken:
            advice = f"it was taken in {self.taken[entry.piece]}"
            self.problems.add("LOG011", entry.place, "piece", entry.piece, "no longer on the shelf:", advice)
        elif entry.piece not in shelf:
            advice = f"{nearest(entry.piece, shelf)}; leave it empty for what is new"
            self.problems.add("LOG011", entry.place, "piece", entry.piece, "not on the shelf of garage.csv:", advice)
        else:
            piece = self.season.shelf_piece(entry.piece)
            self.out[entry.piece] = self.out.get(entry.piece, 0) + pieces
            if piece is not None and (piece.is_used or self.out[entry.piece] >= (piece.count or 1)):
                self.taken[entry.piece] = entry.place
            return True
        return False

    def _item(self, c: int, p: int, entry: Entry, part: str) -> int:
        """The stock item that is put in: the same as before, or that of a part which the position may hold; else -1."""
        if not part:
            return int(self.state.item[c, p])
        numbers = {self.season.items[number].name: number for number in items_of(self.season.problem, p)}
        if part not in numbers:
            field_name = "part" if entry.part else "piece"
            what = f"{self.season.spots[p].slot} does not hold"
            advice = f"{nearest(part, numbers)}; build.csv says what is in it"
            self.problems.add("LOG007", entry.place, field_name, part, what, advice)
        return numbers.get(part, -1)

    def _put_in(self, c: int, p: int, item: int, entry: Entry, g: int, *, bought: bool) -> None:
        """A new set, from the shelf as far as there is any and it is not bought, valued at its price."""
        problem, state = self.season.problem, self.state
        pieces = int(problem.pieces[p])
        state.value[c, p] = self._from_stock(item, pieces, g, bought=bought)
        state.item[c, p], state.step[c, p], state.worked[c, p] = item, 0, 0
        lives = slice(problem.life_from[p], problem.life_from[p + 1])
        state.age[c, lives] = state.raw_age[c, lives] = 0.0
        self._note(c, p, entry)

    def _put_in_used(self, c: int, p: int, item: int, entry: Entry) -> None:
        """A used set from the shelf, with the ages it has there."""
        problem, state = self.season.problem, self.state
        u = self.season.used_number(entry.piece)
        state.used_left[u] = False
        state.value[c, p], state.step[c, p] = problem.used_value[u], problem.used_step[u]
        state.item[c, p] = item
        state.worked[c, p] = machine.worked_before(problem, p, int(problem.used_step[u]))
        days = float((self.today - self.season.runs[0].event.date).days)
        for j in range(problem.life_from[p], problem.life_from[p + 1]):
            age = float(problem.used_age[u, j]) + (days if problem.dated[j] else 0.0)
            state.age[c, j] = state.raw_age[c, j] = age
        self._note(c, p, entry)

    def _aged(self, c: int, p: int, entry: Entry) -> None:
        """The use that a row says was behind what was put in; in each measure that a life of it counts."""
        state, spot = self.state, self.season.spots[p]
        if not entry.use:
            return
        lives = self.season.lives(p)
        for j in lives:
            measure = self.season.measure_of(j).name
            if measure in entry.use:
                state.age[c, j] = state.raw_age[c, j] = entry.use[measure]
            elif measure != "days":
                place = spot.service.place if spot.service else spot.lives[j - lives.start].row.place
                what = f"a used set of {spot.slot} that does not say its"
                advice = f"give it too; the life in {place} counts it"
                self.problems.add("LOG013", entry.place, measure, measure, what, advice)

    def _from_stock(self, item: int, wanted: int, g: int, *, bought: bool) -> int:
        """Takes new pieces from the shelf as far as there are any, buys the rest; what they are worth."""
        state = self.state
        taken = 0 if bought else min(int(state.stock[item]), wanted)
        value = int(take(state, item, taken)) if taken else 0
        bought_at = replace(self.season.items[item], pack_price=self.season.items[item].prices[g])
        return value + value_of(bought_at, wanted - taken)

    def _cap(self, p: int, pieces: int, g: int) -> None:
        """Counts pieces put in for the caps of the season in force."""
        problem = self.season.problem
        if g < len(self.season.runs):
            counts = problem.pieces_hold[:, g] & problem.pieces_of[:, p]
            self.state.put_in[counts] += pieces

    def _note(self, c: int, p: int, entry: Entry) -> None:
        key = (self.season.carriers[c], self.season.spots[p].slot)
        self.since[key] = (self.today, entry.place or NOWHERE, entry.piece)
