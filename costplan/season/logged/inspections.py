"""What must be looked at before an engine runs again, since it was over-revved, until a row says that it was."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from costplan.garage.log import Entry
from costplan.season import machine
from costplan.season.logged.naming import Names
from costplan.season.names import LADDERS, Season
from costplan.season.records import CAR
from costplan.season.standing import Inspection

#: Words by which a slot was in somebody's hands.
LOOKED_AT = ("checked", "changed", "mended")


@dataclass(slots=True)
class Inspector:
    """The inspections that are owed so far."""

    season: Season
    names: Names
    owed: list[Inspection] = field(default_factory=list)

    def take(self, entry: Entry, spots: Iterable[int]) -> None:
        """One row: an over-rev adds an inspection, and what was looked at is taken off those that are owed."""
        if entry.what == "over-revved":
            slots = endangered(self.season, entry.line)
            one = Inspection(entry.engine, entry.date, entry.event, entry.rpm, slots, "", entry.place)
            self.owed.append(one)
        elif entry.what == "serviced":
            self._off(entry.engine, self._reached(entry))
        elif entry.what in LOOKED_AT:
            whole = entry.what == "checked" and not entry.slot
            self._off(entry.engine, None if whole else {self.season.spots[p].base for p in spots})

    def _reached(self, entry: Entry) -> set[str] | None:
        """The slots that a level reaches or checks; None where it is the engine's highest."""
        t = LADDERS.index(CAR if entry.engine == CAR else "engine")
        ladder = self.season.ladders[t]
        names = [step.level for step in ladder]
        if entry.level not in names or entry.level == names[-1]:
            return None if entry.level in names else set()
        k = names.index(entry.level)
        reached = {spot.base for spot in self.season.spots if spot.ladder == t and spot.level <= k}
        return reached | {slot for step in ladder[: k + 1] if step.row for slot in step.row.checks}

    def _off(self, engine: str, slots: set[str] | None) -> None:
        """Takes slots off what is owed on an engine; None: all of it was looked at."""
        left = []
        for one in self.owed:
            if one.engine != engine:
                left.append(one)
            elif slots is not None:
                rest = tuple(slot for slot in one.slots if slot not in slots)
                if rest or not one.slots:
                    left.append(replace(one, slots=rest))
        self.owed = left

    def open(self, state: machine.State) -> tuple[Inspection, ...]:
        """What is still owed, each with the lowest level that costs labour and looks at any of it, which is called."""
        found = []
        for one in self.owed:
            k = self._level(one)
            level = self.season.ladders[0][k].level if k >= 0 else ""
            c = self.names.carriers.get(one.engine, -1)
            if k >= 0 and c >= 0:
                state.overdue[c, 0, k] = True
            found.append(replace(one, level=level))
        return tuple(found)

    def _level(self, one: Inspection) -> int:
        for k, step in enumerate(self.season.ladders[0]):
            if step.row is not None and step.labour and (set(step.row.checks) & set(one.slots)):
                return k
        return -1


def endangered(season: Season, line: str) -> tuple[str, ...]:
    """The slots that an over-rev may have hurt: those hit by the cases of the hazard that a row names, else of the
    hazard called over-rev, else of all whose names speak of over; none known: the whole engine.
    """
    names = [hazard.hazard for hazard in season.hazards if hazard.carrier == "engine"]
    chosen = [name for name in names if name == line] or [name for name in names if name == "over-rev"]
    chosen = chosen or [name for name in names if "over" in name.lower()]
    hits = (slot for damage in season.cases if damage.of in chosen for slot in damage.row.hits)
    return tuple(dict.fromkeys(hits))
