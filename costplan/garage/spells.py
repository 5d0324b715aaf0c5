"""From a log to lives: each set from the day it went in to the day it broke, was taken out, or the log ends.

A set (or each piece of it, where the life is a piece's) begins when it is put in (`changed`, `serviced`), new or with
the use that its row gives, or with its row of garage.csv when the books open: then it is known to have come so far, and
what broke before it is not seen. It ages by the `ran` rows of its engine. It ends broken where it `failed`, and whole
where it is changed or serviced, or where the log ends. What is `mended` keeps its age and goes on.

A run that gives no figure in a measure ends what is known of it in that measure: there it is still whole at the use it
had. Use in openings is only what rows give. What has been through a service step lives another life than a new
one, and is not followed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from costplan.garage.log import Entry, shares_of
from costplan.garage.pieces import CAR, USES, Piece
from costplan.life.fitting import Observation, Recurring
from costplan.problems import Place

#: Use by measure, in the units they are kept in.
Use = Mapping[str, float]
_NEW: Use = {**dict.fromkeys(USES, 0.0), "days": 0.0}


@dataclass(frozen=True, slots=True)
class Kept:
    """What is to be known of a slot: its pieces, whether the life is one piece's, and its part where no row says."""

    pieces: int = 1
    by_piece: bool = False
    part: str = ""


@dataclass(frozen=True, slots=True)
class Spell:
    """A set or piece in its slot: its use when it began and when it ended, and whether it broke then.

    A measure that is not in `start` is not known, or does not count, as a service step lies behind it. In those of
    `cut` a run gave no figure: `end` is the use before it, where it was whole. `failures`: the uses at which it broke
    and was mended, `mended` those of all mendings. `place`: the row that began it.
    """

    engine: str
    slot: str
    part: str
    start: Use
    end: Use
    failed: bool
    cut: frozenset[str]
    failures: tuple[Use, ...]
    mended: tuple[Use, ...]
    place: Place

    def observations(self, measure: str) -> tuple[Observation, ...]:
        """The lives that it shows in a measure: one to each failure, and one to its end; none where its use is not
        known, or where it did not run before it broke again. After a mending it is as good as it was before it broke: a
        life first seen at that use."""
        if measure not in self.start:
            return ()
        ends = [(use[measure], True) for use in self.failures if measure in use]
        ends.append((self.end[measure], self.failed and measure not in self.cut))
        starts = [self.start[measure], *(use for use, _ in ends)]
        return tuple(
            Observation(start, end, failed=failed)
            for start, (end, failed) in zip(starts, ends, strict=False)
            if start < end
        )

    def recurring(self, measure: str) -> Recurring | None:
        """Its mendings by its use in a measure; None where it was not watched in it."""
        if measure not in self.start or self.end[measure] <= self.start[measure]:
            return None
        return Recurring(
            self.start[measure], self.end[measure], tuple(use[measure] for use in self.mended if measure in use)
        )


@dataclass(slots=True, eq=False)
class _Unit:
    """A set or piece while the log is walked through, itself and no other like it; `broken`: its use when it broke."""

    part: str
    start: Use
    begun: date
    place: Place
    use: dict[str, float] = field(default_factory=dict)
    cut: set[str] = field(default_factory=set)
    broken: Use | None = None
    failures: list[Use] = field(default_factory=list)
    mended: list[Use] = field(default_factory=list)

    def at(self, day: date) -> Use:
        """Its use on a day in the measures in which it is known."""
        days = (day - self.begun).days
        return {
            name: value + (days if name == "days" else self.use.get(name, 0.0))
            for name, value in self.start.items()
            if name not in self.cut
        }

    def run(self, use: Use) -> None:
        """A run; what is broken does not run, and a measure without a figure is no longer known."""
        if self.broken is not None:
            return
        self.cut |= {name for name in self.start if name != "days" and name not in use}
        for name, value in use.items():
            if name not in self.cut:
                self.use[name] = self.use.get(name, 0.0) + value

    def mend(self, day: date) -> None:
        if self.broken is not None:
            self.failures.append(self.broken)
        self.mended.append(self.broken or self.at(day))
        self.broken = None

    def spell(self, engine: str, slot: str, day: date) -> Spell:
        frozen = {name: self.start[name] + self.use.get(name, 0.0) for name in self.cut}
        end = {**frozen, **(self.broken if self.broken is not None else self.at(day))}
        return Spell(
            engine,
            slot,
            self.part,
            self.start,
            end,
            self.broken is not None,
            frozenset(self.cut),
            tuple(self.failures),
            tuple(self.mended),
            self.place,
        )


@dataclass(slots=True)
class _Shop:
    """One way through a log: what sits where, and what has come to its end."""

    slots: Mapping[str, Kept]
    pieces: Mapping[str, Piece]
    renews: Mapping[str, Sequence[str]]
    events: Mapping[str, Use]
    shared: bool
    units: dict[tuple[str, str], list[_Unit]] = field(default_factory=dict)
    parts: dict[tuple[str, str], str] = field(default_factory=dict)
    seen: dict[str, date] = field(default_factory=dict)
    spells: list[Spell] = field(default_factory=list)

    def take(self, entry: Entry, engine: str) -> None:
        """One row of the log."""
        self.seen[engine] = entry.date
        if entry.what == "ran":
            self._run(entry, engine)
        elif entry.what == "serviced":
            for slot in self.renews.get(entry.level, ()):
                if slot in self.slots:
                    self._renew(entry, engine, slot, _NEW, None)
        for slot in entry.slot if entry.what in ("changed", "failed", "mended") else ():
            if slot in self.slots:
                self._work(entry, engine, slot)

    def _run(self, entry: Entry, engine: str) -> None:
        if entry.event and self.shared:
            self.seen[CAR] = entry.date
        use = used(entry, self.events.get(entry.event, {}))
        for (owner, _), units in self.units.items():
            if owner == engine or (owner == CAR and self.shared):
                for unit in units:
                    unit.run(use)

    def _work(self, entry: Entry, engine: str, slot: str) -> None:
        """A slot that was changed, failed or mended."""
        units, kept = self.units.get((engine, slot), []), self.slots[slot]
        whole = entry.count is None or entry.count >= kept.pieces
        if entry.what == "changed" and (whole or kept.by_piece):
            self._renew(entry, engine, slot, self._use_of(entry), None if whole else entry.count)
        elif entry.what == "mended" and entry.step:
            self.spells += [unit.spell(engine, slot, entry.date) for unit in units]
            self.units.pop((engine, slot), None)
        elif entry.what == "failed":
            self._fail(entry, engine, slot, units, (entry.count or 1) if kept.by_piece else 1)
        elif entry.what in ("changed", "mended"):
            hit = [unit for unit in units if unit.broken is not None] or units
            for unit in hit[: entry.count if kept.by_piece else None]:
                unit.mend(entry.date)

    def _fail(self, entry: Entry, engine: str, slot: str, units: list[_Unit], count: int) -> None:
        """The oldest that are whole break; one that the log never saw begin broke at a use that is not known."""
        whole = [unit for unit in units if unit.broken is None][:count]
        for unit in whole:
            unit.broken = unit.at(entry.date)
        if not units:
            part = self.parts.get((engine, slot), self.slots[slot].part)
            stranger = _Unit(part, {}, entry.date, entry.place, broken={})
            self.units.setdefault((engine, slot), []).append(stranger)

    def _renew(self, entry: Entry, engine: str, slot: str, use: Use, count: int | None) -> None:
        """Puts in a new set, or so many pieces: for those that broke first, then for the oldest."""
        here, kept = self.units.setdefault((engine, slot), []), self.slots[slot]
        named = entry.part if entry.what == "changed" else ""
        piece = self.pieces.get(entry.piece) if entry.what == "changed" else None
        part = named or (piece.part if piece else "") or self.parts.get((engine, slot)) or kept.part
        self.parts[engine, slot] = part
        order = sorted(here, key=lambda unit: unit.broken is None)
        for unit in order[:count]:
            self.spells.append(unit.spell(engine, slot, entry.date))
        number = (kept.pieces if kept.by_piece else 1) if count is None else count
        new = [_Unit(part, use, entry.date, entry.place) for _ in range(number)]
        self.units[engine, slot] = [unit for unit in here if unit not in order[:count]] + new

    def _use_of(self, entry: Entry) -> Use:
        """What a set has behind it that is put in: as its row says, or as the shelf's in garage.csv; else it is new."""
        piece = self.pieces.get(entry.piece)
        if entry.step or (piece is not None and piece.step):
            return {}
        if entry.use:
            return entry.use
        return piece.use if piece is not None and piece.is_used else _NEW

    def install(self, piece: Piece, opening: date) -> None:
        """A piece that is on an engine when the books open."""
        kept = self.slots[piece.slot]
        days = piece.age("days", opening)
        start = {} if piece.step else dict(piece.use) | ({} if days is None else {"days": days})
        self.parts[piece.engine, piece.slot] = piece.part
        number = kept.pieces if kept.by_piece else 1
        self.units[piece.engine, piece.slot] = [_Unit(piece.part, start, opening, piece.place) for _ in range(number)]

    def close(self, end: date, opening: date | None) -> tuple[Spell, ...]:
        """Everything to its end: what still sits somewhere was whole when its engine was last heard of."""
        for (engine, slot), units in self.units.items():
            day = end if self.shared else self.seen.get(engine, opening or end)
            self.spells += [unit.spell(engine, slot, day) for unit in units]
        return tuple(self.spells)


def spells_of(
    entries: Iterable[Entry],
    slots: Mapping[str, Kept],
    renews: Mapping[str, Sequence[str]],
    events: Mapping[str, Use] | None = None,
    pieces: Sequence[Piece] = (),
    opening: date | None = None,
    engine: str = "",
) -> tuple[Spell, ...]:
    """The spells of a log's entries, which are in time order, in the `slots` asked about.

    `renews`: by level, the slots that it always renews, those of the levels below and what goes with them among them.
    `events`: what each event of a calendar uses. `pieces` and `opening`: garage.csv when the books open; then the log
    is that of its own engines, whose runs also age the car's positions, and it is known to go to its last day. Without
    it is a log of many engines: each is followed from its first row to its last, and what the car shares only by rows
    that name it. `engine`: the one that rows mean which name none.
    """
    shop = _Shop(slots, {piece.piece: piece for piece in pieces}, renews, events or {}, shared=opening is not None)
    for piece in pieces:
        if opening is not None and piece.slot in slots:
            shop.install(piece, opening)
    end = opening or date.min
    for entry in entries:
        shop.take(entry, entry.engine or engine)
        end = max(end, entry.date)
    return shop.close(end, opening)


def used(entry: Entry, planned: Use) -> Use:
    """The use of a run: what its row gives, and of the rest what its event uses, in the share of it that was run.

    >>> row = Entry.model_construct(use={"laps": 30.0})
    >>> used(row, {"laps": 60.0, "hours": 0.5, "events": 1.0})
    {'laps': 30.0, 'hours': 0.25, 'events': 0.5}
    """
    _, share = shares_of(entry, planned)
    return {**{name: value * share for name, value in planned.items()}, **entry.use}
