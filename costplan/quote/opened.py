"""A service as the shop sees it: an engine opened at a level in a gap of the season, as the season's plan has it.

The list of work is the plan's own: what its opening in that gap renews, by the same paths of service steps and with the
same companions. Beside it stands what the request adds: slots renewed or kept, what is broken, what tear-down showed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from functools import cached_property
from typing import TypeAlias

from costplan.build import Build, Fill
from costplan.catalog import Catalog
from costplan.life import Weibull
from costplan.quote.request import NEW, Asked, bad_slot
from costplan.quote.worklist import Cost, Repair, Task, WorkList, part_in
from costplan.season import Season, machine, play_plan
from costplan.season.calendar import gap_before
from costplan.season.jobs import Job, Renewal, jobs_of
from costplan.season.ledger import ages_after, factor_after, openings_of, steps_after
from costplan.season.names import LADDERS, Damage, PathStep, Spot

#: Causes of a renewal after which the old piece is no good.
BROKEN = (machine.CAUSES[machine.FAILURE], machine.CAUSES[machine.DAMAGE])

#: A gap before a run, a carrier and a ladder, by their numbers.
Place: TypeAlias = tuple[int, int, int]


@dataclass(frozen=True)
class Played:
    """A season with its plan played, and the openings of the plan, each at its `place`: gap, carrier and ladder."""

    season: Season
    state: machine.State
    jobs: Mapping[Place, Job]


def played(season: Season) -> Played:
    """A season's plan, played once for all quotes on it."""
    state = play_plan(season)
    places = [(g, c, t) for g, c, t, _ in openings_of(state).tolist()]
    return Played(season, state, dict(zip(places, jobs_of(season, state), strict=True)))


@dataclass(frozen=True)
class Opening:
    """An engine (carrier `c`) in the gap before run `g`, opened to level `k` of its ladder `t`."""

    plan: Played
    build: Build
    catalog: Catalog
    g: int
    c: int
    t: int
    k: int

    @property
    def season(self) -> Season:
        return self.plan.season

    @property
    def engine(self) -> str:
        return self.season.carriers[self.c]

    @property
    def level(self) -> str:
        return self.season.ladders[self.t][self.k].level

    @property
    def event(self) -> str:
        """The event that runs next; '' after the last."""
        return self.season.runs[self.g].event.event if self.g < len(self.season.runs) else ""

    @property
    def here(self) -> date | None:
        """The day from which the engine can be had: after the event before; None where none is before."""
        return self.season.runs[self.g - 1].event.date + timedelta(days=1) if self.g else None

    @property
    def on(self) -> date:
        """The day of the event that runs next."""
        return self.season.runs[min(self.g, len(self.season.runs) - 1)].event.date

    @cached_property
    def spots(self) -> dict[str, tuple[int, Spot]]:
        """Its positions by slot, services left out."""
        own = (entry for entry in self.season.positions() if entry[0] == self.c)
        return {spot.slot: (p, spot) for _, _, p, spot in own if spot.ladder == self.t and spot.service is None}

    @property
    def job(self) -> Job | None:
        """The plan's opening of it in this gap."""
        return self.plan.jobs.get((self.g, self.c, self.t))

    def steps_done(self, slot: str) -> int:
        """The service steps that what is in a slot has been through by then."""
        return steps_after(self.season, self.plan.state, self.g - 1, self.c, self.spots[slot][0])

    def steps_left(self, slot: str) -> tuple[PathStep, ...]:
        """The service steps that are left to what is in a slot, those that the book bars left out."""
        p, spot = self.spots[slot]
        ahead = range(self.steps_done(slot), len(spot.path))
        return tuple(spot.path[n] for n in ahead if machine.step_bond(self.season.problem, p, n, self.g) < 0)

    def step_for(self, slot: str, way: str = "", *, broken: bool = False) -> PathStep | None:
        """The next service step of what is in a slot, or the one whose operation is named; None for a new part.

        Of what broke, the next step is done only if it mends; one that the book bars is not passed over for another.
        """
        left = self.steps_left(slot)
        if way:
            return next((step for step in left if step.operation == way), None)
        _, spot = self.spots[slot]
        done = self.steps_done(slot)
        step = spot.path[done] if done < len(spot.path) else None
        return step if step in left and step is not None and (step.mends or not broken) else None

    def always(self) -> tuple[str, ...]:
        """The slots that its level, or one below it, renews every time."""
        renews = self.season.problem.renews
        return tuple(slot for slot, (p, _) in self.spots.items() if renews[self.t, self.k, p])

    def planned(self) -> tuple[Renewal, ...]:
        """What the plan's opening in this gap renews, as far as it reaches."""
        renewals = self.job.renewals if self.job else ()
        return tuple(row for row in renewals if row.slot in self.spots and self.spots[row.slot][1].level <= self.k)

    def known_broken(self) -> Iterator[str]:
        """The slots that the plan renews because what is in them broke, as the log has it."""
        return (row.slot for row in self.planned() if row.cause in BROKEN)

    def looked_at(self) -> dict[str, float]:
        """The slots that are looked at, each with the chance that a look sees what can be seen."""
        seen: dict[str, float] = {}
        for step in self.season.ladders[self.t][: self.k + 1]:
            for slot in step.row.checks if step.row else ():
                seen[slot] = max(seen.get(slot, 0.0), step.row.sees if step.row else 0.0)
        return {slot: chance for slot, chance in seen.items() if slot in self.spots}

    def chance_of_wear(self, slot: str) -> float:
        """The chance that what is in a slot, not failed so far, is in the warning share of one of its lives."""
        p, spot = self.spots[slot]
        ages, _ = ages_after(self.season, self.plan.state, self.g - 1, self.c)
        factor, unseen = factor_after(self.season, self.plan.state, self.g - 1, self.c, p), 1.0
        for j, life in zip(self.season.lives(p), spot.lives, strict=False):
            curve = Weibull(life.weibull.scale * factor, life.weibull.shape)
            unseen *= 1 - chance_in_warning(curve, float(ages[j]), life.warning)
        return 1 - unseen

    def deeper(self, slots: Iterable[str]) -> Opening:
        """It, opened as far as these slots need."""
        needed = max((self.spots[slot][1].level for slot in slots), default=0)
        return replace(self, k=max(self.k, needed))


def chance_in_warning(life: Weibull, age: float, warning: float) -> float:
    """The chance that a life which has lasted to an age ends so soon that a check sees it: age < T < age / (1 - w).

    >>> round(chance_in_warning(Weibull(100.0, 2.0), 50.0, 0.5), 4)
    0.5276
    >>> chance_in_warning(Weibull(100.0, 2.0), 50.0, 0.0)
    0.0
    """
    if not warning or not age:
        return 0.0
    return 1 - life.survival_given(age, age / (1 - warning) - age)


@dataclass
class _Sheet:
    """The work on an opening while it is listed: tasks by slot, in the order in which they were found to be needed."""

    opening: Opening
    tasks: dict[str, Task] = field(default_factory=dict)
    broken: frozenset[str] = frozenset()
    pieces: dict[str, int] = field(default_factory=dict)

    def renew(self, slot: str, why: str, *, way: str = "", fill: Fill | None = None) -> None:
        """Renews a slot with all that must change with it: by the next step of its piece, or in a `way` that is named,
        a new part or a step of its path; `fill`: by this part."""
        known = self.tasks.get(slot)
        if known is not None and (known.bought or not way) and fill is None:
            return
        spot, step = self.opening.spots[slot][1], None
        if fill is None and way != NEW:
            step = self.opening.step_for(slot, way, broken=slot in self.broken)
        self.tasks[slot] = self._task(slot, why, step, fill)
        for other in spot.renew_with:
            if other in self.opening.spots:
                self.renew(other, f"with {slot}")
        if step is not None:
            self._along(slot, step)

    def _along(self, slot: str, step: PathStep) -> None:
        """What must change with a step, in the parts that the step names."""
        items = {role: self.opening.season.items[number].name for role, number in step.items}
        for other, (_, spot) in self.opening.spots.items():
            if spot.role not in step.roles or other == slot or "/" in other:
                continue
            fill = part_in(self.opening.build, other)
            if spot.role in items:
                fill = replace(fill, part=self.opening.catalog.parts[items[spot.role]])
                self.renew(other, f"with {step.operation} of {slot}", fill=fill)
            else:
                self.renew(other, f"with {step.operation} of {slot}")

    def _by_the_piece(self, slot: str) -> bool:
        """Whether what is broken is mended by one piece; of a set that is renewed anyway none is."""
        sets = (renewal.slot for renewal in self.opening.planned() if renewal.pieces > 1)
        anyway = {*self.opening.always(), *sets}
        return slot in self.broken and self.opening.spots[slot][1].as_piece and slot not in anyway

    def _task(self, slot: str, why: str, step: PathStep | None, fill: Fill | None) -> Task:
        planned = fill or part_in(self.opening.build, slot)
        if fill is None:  # another part goes in by the set
            count = self.pieces.get(slot, 1 if self._by_the_piece(slot) else planned.slot.quantity)
            planned = replace(planned, slot=planned.slot.model_copy(update={"quantity": count}))
        planned = replace(planned, kit="")
        if step is None:
            return Task(slot, planned, bought=True, why=why, core_back=slot not in self.broken)
        operation = self.opening.catalog.operations[step.operation]
        return Task(slot, replace(planned, operations=(operation,)), bought=False, why=why)


def open_for(plan: Played, build: Build, catalog: Catalog, asked: Asked, gap: int | None = None) -> Opening | None:
    """The opening that a request asks for; None where its event lies behind, or nothing of it is left.

    `gap`: the one before this run is meant, whatever the request says.
    """
    head, season = asked.head, plan.season
    c = season.carriers.index(head.engine)
    t, k = next(
        (t, k)
        for t, name in enumerate(LADDERS)
        for k, step in enumerate(season.ladders[t])
        if step.level == head.level and step.row is not None and name in ("engine", "car")
    )
    if gap is None:
        gap = _named_gap(season, head.before) if head.before else _planned_gap(plan, c, t, head.level)
    return Opening(plan, build, catalog, gap, c, t, k) if gap >= 0 else None


def _named_gap(season: Season, before: str) -> int:
    """The gap before an event, or that of a service row, also if its day is past and nothing has run; -1 if behind."""
    runs = season.runs
    found = [g for g in range(season.begin, len(runs)) if before in (gap_before(runs, g)[1], runs[g].event.event)]
    if found:
        return found[0]
    row = next((event for event in season.files.events if event.event == before and event.kind == "service"), None)
    after = [g for g, run in enumerate(runs) if row is not None and run.event.date >= row.date]
    return after[0] if after and after[0] >= season.begin else -1


def _planned_gap(plan: Played, c: int, t: int, level: str) -> int:
    """The gap of the plan's next opening of a level, else the next gap there is; -1 where none is left."""
    season = plan.season
    planned = (g for (g, *at), job in plan.jobs.items() if at == [c, t] and job.level == level and g < len(season.runs))
    return next(planned, season.begin if season.begin < len(season.runs) else -1)


def service(
    opening: Opening, asked: Asked, bad: Iterable[str] = (), options: Mapping[str, tuple[Fill, str]] | None = None
) -> WorkList:
    """The work of a service: what level and plan renew, what the request adds, what is broken or was found `bad`.

    `options`: other parts by slot, each with why; they go in like anything that is renewed, with what goes along.
    """
    head, options = asked.head, options or {}
    damage = _damage_of(opening.season, head.of, head.case)
    own = [head.of] if damage is not None and head.of in opening.spots else []
    hit = [*own, *(damage.hits if damage else ())]
    broken = [slot for slot in dict.fromkeys((*head.broken, *hit)) if slot in opening.spots]
    found = [bad_slot(word) for word in (*head.bad, *bad)]
    needed = [*broken, *head.renew, *(slot for slot, _ in found), *options]
    whole = opening.deeper(slot for slot in needed if slot in opening.spots)
    sheet = _Sheet(whole, broken=frozenset((*broken, *whole.known_broken())), pieces=dict(head.pieces))
    for slot, (fill, why) in options.items():
        if slot in opening.spots:
            sheet.renew(slot, why, fill=fill)
    supplied = {row.slot for row in asked.supplied}
    on_shelf = _fill_in(sheet, whole, asked, broken, found)
    for slot in {*head.keep, *supplied, *on_shelf} - {slot for slot, _ in found} - options.keys():
        sheet.tasks.pop(slot, None)
    listed = WorkList(
        f"{whole.level} of {whole.engine}",
        whole.engine,
        whole.level,
        tuple(sheet.tasks.values()),
        opening.build,
        costs=tuple(_costs(damage)),
        repairs=tuple(_repairs(opening, damage, sheet)),
        on_shelf=tuple(slot for slot in on_shelf if slot not in supplied and slot not in options),
        raised=_raised(opening, whole, needed),
        here=opening.here,
    )
    for slot, (fill, why) in options.items():
        if slot not in opening.spots:
            listed = listed.with_part(slot, fill, why)
    return listed


def _fill_in(
    sheet: _Sheet, opening: Opening, asked: Asked, broken: list[str], found: list[tuple[str, str]]
) -> tuple[str, ...]:
    """Puts all work on the sheet; gives the slots that the customer's own box fills by the plan."""
    for slot in broken:
        sheet.renew(slot, "broken")
    for slot, way in found:
        sheet.renew(slot, "found at tear-down", way=way)
    for slot in opening.always():
        sheet.renew(slot, f"every {opening.level}")
    on_shelf = list[str]()
    in_kits = {part for kit in (opening.job.kits if opening.job else ()) for part in kit.holds}
    for renewal in opening.planned():
        bought = renewal.packs_bought or renewal.part in in_kits
        if not bought and not renewal.operation and renewal.slot not in sheet.tasks:
            on_shelf.append(renewal.slot)
        sheet.renew(renewal.slot, renewal.why)
    for slot in asked.head.renew:
        sheet.renew(slot, "asked for")
    return tuple(on_shelf)


def _raised(asked: Opening, whole: Opening, needed: Iterable[str]) -> str:
    """Why an engine is opened further than was asked."""
    if whole.k == asked.k:
        return ""
    deep = [slot for slot in dict.fromkeys(needed) if slot in asked.spots and asked.spots[slot][1].level > asked.k]
    return f"{', '.join(deep)} cannot be reached by {asked.level}: opened to {whole.level}"


def _damage_of(season: Season, of: str, case: str) -> Damage | None:
    return next((one for one in season.cases if (one.of.partition("/")[0], one.case) == (of, case)), None)


def _costs(damage: Damage | None) -> Iterator[Cost]:
    if damage is not None and damage.row.cost:
        yield Cost(f"Other cost of the damage: {damage.case}", damage.row.cost, damage.place)


def _repairs(opening: Opening, damage: Damage | None, sheet: _Sheet) -> Iterator[Repair]:
    """The operations that a damage takes, each once, on what is not replaced by a new part."""
    for name in damage.row.operations if damage else ():
        operation = opening.catalog.operations[name]
        known = {slot: spot.role for slot, (_, spot) in opening.spots.items()}
        known |= {slot: fill.slot.role for slot, fill in opening.build.fills.items() if slot not in known}
        slot = next((slot for slot, role in known.items() if role == operation.role), "")
        task = sheet.tasks.get(slot)
        done = task is not None and any(one.operation == name for one in task.fill.operations)
        if slot and not done and not (task is not None and task.bought):
            yield Repair(operation, slot, f"after {damage.case}" if damage else "")
