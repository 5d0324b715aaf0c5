"""What a job does to which slot: parts bought, steps done to old ones, what others supply. No money yet."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from costplan.build import Build, Fill
from costplan.catalog import Operation
from costplan.problems import Place
from costplan.quote.request import Asked
from costplan.quote.shop import BUILD


@dataclass(frozen=True, slots=True)
class Task:
    """What is done to a slot: `bought` new with its operations, else operations on the piece that stays.

    `core_back`: the old piece goes back unbroken, so that no deposit is left on the new one.
    """

    slot: str
    fill: Fill
    bought: bool
    why: str
    core_back: bool = False


@dataclass(frozen=True, slots=True)
class Cost:
    """What a damage costs beside parts and work."""

    name: str
    amount: Decimal
    place: Place


@dataclass(frozen=True, slots=True)
class Repair:
    """An operation that a damage takes, done once, to a slot that it names."""

    operation: Operation
    slot: str
    why: str


@dataclass(frozen=True, slots=True)
class WorkList:
    """A whole job: a service `level` of an `engine`, both '' for a new engine, and what it does to which slot.

    `of`: it in words; `raised`: why it opens the engine further than was asked; `on_shelf`: slots that the customer's
    own box fills; `here`: the day from which the engine can be had. `kits_named`: kits are bought as the build names
    them, else where they save.
    """

    of: str
    engine: str
    level: str
    tasks: tuple[Task, ...]
    build: Build
    kits_named: bool = False
    costs: tuple[Cost, ...] = ()
    repairs: tuple[Repair, ...] = ()
    on_shelf: tuple[str, ...] = ()
    raised: str = ""
    here: date | None = None

    @property
    def job(self) -> str:
        """The service level, or the word for a new engine."""
        return self.level or BUILD

    @property
    def touched(self) -> dict[str, Task]:
        """The slots that something is done to."""
        return {task.slot: task for task in self.tasks}

    def with_part(self, slot: str, fill: Fill, why: str) -> WorkList:
        """The list with another part in a slot, bought new."""
        known = self.touched
        back = known[slot].core_back if slot in known else bool(self.level)
        task = Task(slot, fill, bought=True, why=why, core_back=back)
        return replace(self, tasks=tuple({**known, slot: task}.values()))


def new_engine(build: Build, asked: Asked) -> WorkList:
    """The work of a new engine: the build but for what it comes without; what is supplied is only worked on."""
    supplied = {row.slot for row in asked.supplied}
    tasks = tuple(_tasks_of(build, frozenset(asked.head.without), supplied))
    return WorkList("new engine", "", "", tasks, build, kits_named=True)


def _tasks_of(build: Build, without: frozenset[str], supplied: set[str]) -> Iterator[Task]:
    for slot, alternate in build.fitted():
        fill, main = alternate.fill, not alternate.serves
        if slot in without:
            continue
        name = slot if main else f"{slot}/{alternate.name}"
        if main and slot in supplied:
            if fill.operations:
                yield Task(name, fill, bought=False, why=f"supplied; its work by the build ({fill.place})")
        else:
            yield Task(name, fill, bought=True, why=f"{name} of the build ({fill.place})")


def part_in(build: Build, slot: str) -> Fill:
    """What the build has in a slot, or in one of its alternates (slot/alternate)."""
    base, _, alternate = slot.partition("/")
    found = (one.fill for one in build.alternates.get(base, ()) if alternate and one.name == alternate)
    return next(found, build.fills[base])
