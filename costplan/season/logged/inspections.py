"""What must be looked at before an engine runs again, since it was over-revved, until a row says that it was."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from costplan.garage.log import Entry
from costplan.problems import Place
from costplan.season import machine
from costplan.season.logged.naming import Names
from costplan.season.names import LADDERS, Season, Step
from costplan.season.records import CAR
from costplan.season.standing import Inspection

#: Words by which a slot was in somebody's hands.
LOOKED_AT = ("checked", "changed", "mended")


@dataclass(frozen=True, slots=True)
class Danger:
    """What an over-rev may have done. `hits`: the slots that its cases hit, each with the sum of their chances; `lost`:
    one of them loses the engine. None known: anything may have been hurt."""

    hits: Mapping[str, float]
    lost: bool

    @property
    def whole(self) -> bool:
        """Whether all of the engine is to be looked at."""
        return self.lost or not self.hits


@dataclass(slots=True)
class Inspector:
    """The inspections that are owed so far, and by the place of each what of its engine was looked at since."""

    season: Season
    names: Names
    owed: list[Inspection] = field(default_factory=list)
    dangers: dict[Place, Danger] = field(default_factory=dict)
    seen: dict[Place, set[str]] = field(default_factory=dict)

    def take(self, entry: Entry, spots: Iterable[int]) -> None:
        """One row: an over-rev adds an inspection, and what was looked at is taken off those that are owed."""
        if entry.what == "over-revved":
            danger = danger_of(self.season, entry.line)
            slots = () if danger.whole else tuple(danger.hits)
            self.owed.append(Inspection(entry.engine, entry.date, entry.event, entry.rpm, slots, "", entry.place))
            self.dangers[entry.place], self.seen[entry.place] = danger, set()
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
        return reached | checked_by(ladder[: k + 1])

    def _off(self, engine: str, slots: set[str] | None) -> None:
        """Takes slots off what is owed on an engine; None: all of it was looked at."""
        left = []
        for one in self.owed:
            if one.engine != engine:
                left.append(one)
            elif slots is not None:
                self.seen[one.place] |= slots
                rest = tuple(slot for slot in one.slots if slot not in slots)
                if rest or not one.slots:
                    left.append(replace(one, slots=rest))
        self.owed = left

    def open(self, state: machine.State) -> tuple[Inspection, ...]:
        """What is still owed, each with the level that is called for it, where there is one."""
        found = []
        for one in self.owed:
            k = self._most(one) if self.dangers[one.place].whole else self._any(one)
            level = self.season.ladders[0][k].level if k >= 0 else ""
            c = self.names.carriers.get(one.engine, -1)
            if k >= 0 and c >= 0:
                state.overdue[c, 0, k] = True
            found.append(replace(one, level=level))
        return tuple(found)

    def _any(self, one: Inspection) -> int:
        """The lowest level that costs labour and checks any of the slots; -1 for none."""
        for k, step in enumerate(self.season.ladders[0]):
            if step.row is not None and step.labour and (set(step.row.checks) & set(one.slots)):
                return k
        return -1

    def _most(self, one: Inspection) -> int:
        """The level called where the whole engine is to be looked at: the lowest whose checks, with those of the levels
        below, find most of what the cases hit, by their chances; what no level checks counts for none. -1 where no case
        hits anything, or what the level would look at was looked at since.

        Who has over-revved lifts the valve covers and looks into the pan, and seldom takes the engine apart for it. So
        the machine does not open the level that reaches the bottom end; the line stands until somebody looked there.
        """
        ladder = self.season.ladders[0]
        hits = {slot: chance for slot, chance in self.dangers[one.place].hits.items() if slot in checked_by(ladder)}
        for k, step in enumerate(ladder):
            found = hits.keys() & checked_by(ladder[: k + 1])
            most = 2 * sum(hits[slot] for slot in found) > sum(hits.values())
            if most and step.labour and hits.keys() & checked_by([step]):
                return k if found - self.seen[one.place] else -1
        return -1


def checked_by(steps: Iterable[Step]) -> set[str]:
    """The slots that some levels check."""
    return {slot for step in steps if step.row for slot in step.row.checks}


def danger_of(season: Season, line: str) -> Danger:
    """What an over-rev may have done: the cases of the hazard that a row names, else of the hazard called over-rev,
    else of all whose names speak of over; none known: anything.
    """
    names = [hazard.hazard for hazard in season.hazards if hazard.carrier == "engine"]
    chosen = [name for name in names if name == line] or [name for name in names if name == "over-rev"]
    chosen = chosen or [name for name in names if "over" in name.lower()]
    cases = [damage.row for damage in season.cases if damage.of in chosen]
    hits: dict[str, float] = {}
    for case in cases:
        for slot in case.hits:
            hits[slot] = hits.get(slot, 0.0) + case.chance
    return Danger(hits, any(case.loses_engine for case in cases))
