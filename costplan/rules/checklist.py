"""The checklist of an inspection: every clause in force, in the order in which one takes an engine apart."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from itertools import groupby
from typing import Any, Protocol

from costplan.build import Pattern, slots_behind
from costplan.quantity import Quantity
from costplan.rules.answers import Finding
from costplan.rules.check import evidence_of, find
from costplan.rules.clause import STAGES, Rule
from costplan.rules.evidence import Evidence, Sheet, Verdict
from costplan.rules.kinds import KINDS, Limit, Papers, Parts, Word, proofs_of
from costplan.rules.pack import Pack

#: The car's own parts come off before an engine is opened.
CARRIERS = ("car", "engine")
#: What lies on the desk, in the order in which it is gone through: papers, the record of events, the parts list.
DESK = ("document", "event log", "list")


@dataclass(frozen=True, slots=True)
class Depth:
    """How far an engine, or the car, is opened: a service level, and what opening to it and closing again takes.

    `cost`: labour and supplies of the level, in the scenario's currency; `hours`: until it could run again, with travel
    and queue, so not what an inspector stands by. A level includes those of its carrier with a lower `rank`.
    """

    level: str
    rank: int
    cost: Decimal = Decimal(0)
    hours: float = 0.0
    carrier: str = "engine"


class LevelRow(Protocol):
    """What a row of levels.csv must say."""

    @property
    def level(self) -> str: ...
    @property
    def rank(self) -> int: ...
    @property
    def carrier(self) -> str: ...
    @property
    def labour(self) -> Decimal: ...
    @property
    def supplies(self) -> Decimal: ...
    @property
    def hours(self) -> float: ...


class PositionRow(Protocol):
    """What a row of positions.csv must say."""

    @property
    def slot(self) -> str: ...
    @property
    def level(self) -> str: ...


def depths_of(levels: Iterable[LevelRow], positions: Iterable[PositionRow]) -> dict[str, Depth]:
    """For each slot that a service level reaches, how deep it lies."""
    found = {row.level: Depth(row.level, row.rank, row.labour + row.supplies, row.hours, row.carrier) for row in levels}
    return {row.slot: found[row.level] for row in positions if row.level in found}


@dataclass(frozen=True, slots=True)
class CheckLine:
    """One clause as an inspector meets it.

    `look`: what to look at; `minutes`: to inspect it once it is laid bare, 0 where the book states none. `stage` is one
    of `STAGES`; of what is opened, `level`, `carrier` and `rank` say how deep, `cost` and `hours` what that takes.
    `unplaced`: slots whose depth no row of positions.csv gives; a clause on no others has no level. What is known so
    far: `verdict`, `value`, `shown_by`, and `measured_by`, whose values it rests on. `inspected`: it meets by a result
    that the book accepts. `asked`: its conditions hold, else `why`.
    """

    pack: str
    rule: str
    kind: str
    says: str
    look: str
    clause: str
    severity: str
    stage: str
    level: str
    carrier: str
    rank: int
    cost: Decimal | None
    hours: float | None
    slots: tuple[str, ...]
    unplaced: tuple[str, ...]
    tool: str
    limit: str
    minutes: float
    pays: str
    penalty: str
    asked: bool
    verdict: Verdict
    on_paper: Verdict
    value: Quantity | str | None
    at_fault: tuple[str, ...]
    owed: tuple[str, ...]
    shown_by: tuple[str, ...]
    measured_by: tuple[str, ...]
    inspected: bool
    risk: float | None
    why: tuple[str, ...]
    place: str


@dataclass(frozen=True, slots=True)
class CheckGroup:
    """The lines of one stage, or of one depth of what is opened; those not asked stand in a group of no stage.

    `minutes`: as the book states them; `so_far`: with all groups before it; `unstated`: lines without minutes.
    """

    stage: str
    level: str
    carrier: str
    cost: Decimal | None
    hours: float | None
    lines: tuple[CheckLine, ...]
    minutes: float
    so_far: float
    unstated: int


@dataclass(frozen=True, slots=True)
class CheckBook:
    """The checklist of one pack for an engine ('': the build as planned) on a day, in its groups.

    `gauges`: whose measurements count as proof, anybody's where empty; `tolerance`: the book's clause on it.
    """

    pack: str
    name: str
    edition: str
    file: str
    engine: str
    on: date
    tolerance: str
    gauges: tuple[str, ...]
    groups: tuple[CheckGroup, ...]

    def lines(self) -> tuple[CheckLine, ...]:
        """The lines of all groups."""
        return tuple(line for group in self.groups for line in group.lines)


@dataclass(frozen=True, slots=True)
class _Spot:
    """Where a clause is looked at: stage, depth of what is opened, place on the desk, slots there and without a row."""

    stage: str
    depth: Depth | None = None
    desk: str = ""
    there: tuple[str, ...] = ()
    unplaced: tuple[str, ...] = ()

    def turn(self, pattern: Pattern) -> tuple[int, int, int, int]:
        """When it is its turn: by stage, then carrier and depth, then the pattern's slots or the order of the desk."""
        carrier, rank = (CARRIERS.index(self.depth.carrier), self.depth.rank) if self.depth else (0, 0)
        order = list(pattern.slots)
        within = DESK.index(self.desk) if self.desk else min(map(order.index, self.there), default=-1)
        return STAGES.index(self.stage), carrier, rank, within


def checklist(pack: Pack, sheet: Sheet, on: date, depths: Mapping[str, Depth]) -> tuple[CheckLine, ...]:
    """Every clause of a pack that is in force on a day, once, in the order in which one takes an engine apart.

    First the papers, then the engine running, the car as it stands, and what is opened: the car's parts before the
    engine's, and of each the lowest service level first that lays a clause's slots bare (`depths`, by slot), a clause
    on several slots at the deepest of them; before them what lies at no known depth. At one depth in the order of the
    pattern's slots, then of the clauses. A clause's own `stage` goes before what follows from its kind and proofs.
    Clauses whose conditions do not hold are asked of nobody, but stand at the end: the engine on the stand may be
    another than the one described.
    """
    evidence, pattern = evidence_of(pack, sheet, on), sheet.figures.build.pattern
    found = []
    for rule in pack.rules:
        if rule.holds_on(on, sheet.rounds):
            spot, finding = _spot_of(rule, pattern, depths), find(rule, evidence)
            asked = finding.verdict != "not asked"
            found.append(((not asked, *spot.turn(pattern)), _line(rule, spot, finding, evidence)))
    return tuple(line for _, line in sorted(found, key=lambda pair: pair[0]))


def checkbook(pack: Pack, sheet: Sheet, on: date, depths: Mapping[str, Depth]) -> CheckBook:
    """The checklist of a pack with what an inspector must know of its book."""
    header, groups = pack.header, groups_of(checklist(pack, sheet, on, depths))
    return CheckBook(
        pack.stem, header.name, header.edition, pack.file, sheet.engine, on, header.tolerance, header.gauges, groups
    )


def groups_of(lines: Iterable[CheckLine]) -> tuple[CheckGroup, ...]:
    """The lines of a checklist by stage and depth, each group with its minutes."""
    groups, so_far = [], 0.0
    for key, members in groupby(lines, key=_heading_of):
        stage, level, carrier = key
        its = tuple(members)
        minutes = sum(line.minutes for line in its) if stage else 0.0
        so_far += minutes
        unstated = sum(not line.minutes for line in its) if stage else 0
        groups.append(CheckGroup(stage, level, carrier, its[0].cost, its[0].hours, its, minutes, so_far, unstated))
    return tuple(groups)


def _heading_of(line: CheckLine) -> tuple[str, str, str]:
    return (line.stage, line.level, line.carrier) if line.asked else ("", "", "")


def _line(rule: Rule, spot: _Spot, finding: Finding, evidence: Evidence) -> CheckLine:
    heading, depth = rule.heading, spot.depth
    return CheckLine(
        evidence.pack,
        rule.id,
        rule.kind,
        heading.says,
        _look(rule, spot, finding.limit),
        rule.clause,
        heading.severity,
        spot.stage,
        depth.level if depth else "",
        depth.carrier if depth else "",
        depth.rank if depth else 0,
        depth.cost if depth else None,
        depth.hours if depth else None,
        finding.slots,
        spot.unplaced,
        heading.tool,
        finding.limit,
        heading.minutes,
        heading.pays,
        heading.penalty,
        finding.verdict != "not asked",
        finding.verdict,
        finding.on_paper,
        finding.value,
        finding.at_fault,
        finding.owed,
        finding.shown_by,
        _measured_by(rule, evidence),
        _is_inspected(rule, finding, evidence),
        heading.risk,
        finding.why,
        finding.place,
    )


def _look(rule: Rule, spot: _Spot, limit: str) -> str:
    """What to look at, in words; of a list of parts, also which parts its edition in force names."""
    test, words = rule.test, KINDS[rule.kind].words(rule.test)
    if isinstance(test, Parts) and test.list:
        words = f"{words} ({limit})"
    if spot.desk == "list":
        return f"read the parts list against {words}"
    if spot.desk == "event log":
        return "read the record of events" if rule.kind == "conduct" else f"read the record of events: {words}"
    if spot.desk == "document" and rule.kind != "paper":
        return f"see the {rule.heading.document or 'document'}: {words}"
    return words


def _measured_by(rule: Rule, evidence: Evidence) -> tuple[str, ...]:
    """Whose measurements on the bench the answer rests on."""
    figures, test = evidence.figures, rule.test
    if isinstance(test, Limit) and not _is_price(test):
        rows: Iterable[Any] = figures.rows_behind(*test.names)
    elif isinstance(test, Word):
        rows = [row for row in figures.build.bench if f"{row.slot}.{row.attribute}" == test.of]
    else:
        rows = ()
    return tuple(dict.fromkeys(row.by or "nobody named" for row in rows))


def _is_inspected(rule: Rule, finding: Finding, evidence: Evidence) -> bool:
    seen = evidence.seen(rule.id)
    return finding.verdict == "meets" and seen is not None and str(seen) in finding.shown_by


def _spot_of(rule: Rule, pattern: Pattern, depths: Mapping[str, Depth]) -> _Spot:
    """Where a clause is looked at: as its heading says, else on the desk where that is enough, else at its slots."""
    desk = _desk_of(rule)
    stage = rule.heading.stage or ("papers" if desk else "")
    slots = _slots_to_see(rule, pattern)
    if stage == "papers":
        return _Spot(stage, desk=desk)
    if stage in ("running", "outside"):
        return _Spot(stage, there=slots)
    known = [slot for slot in slots if slot in depths]
    unplaced = tuple(slot for slot in slots if slot not in depths)
    if not slots:
        return _Spot("outside")
    if not known:
        return _Spot("opened", there=slots, unplaced=unplaced)
    deepest = max((depths[slot] for slot in known), key=_how_deep)
    there = tuple(slot for slot in known if depths[slot] == deepest)
    return _Spot("opened", deepest, there=there, unplaced=unplaced)


def _how_deep(depth: Depth) -> tuple[int, int]:
    return CARRIERS.index(depth.carrier), depth.rank


def _desk_of(rule: Rule) -> str:
    """Where on the desk a clause is settled; '' where somebody must look at the car."""
    test, proofs = rule.test, set(proofs_of(rule)) - {"list"}
    if isinstance(test, Papers):
        return "document"
    if isinstance(test, Parts) and test.mark:
        return ""
    if proofs:
        return "" if proofs - {"document", "event log"} else min(proofs, key=DESK.index)
    on_list = (isinstance(test, Limit) and _is_price(test)) or not (rule.heading.minutes or rule.heading.tool)
    return "list" if on_list else ""


def _is_price(test: Limit) -> bool:
    return all(word.partition(".")[0] == "price" for word in test.names)


def _slots_to_see(rule: Rule, pattern: Pattern) -> tuple[str, ...]:
    """The slots that must be laid bare; none for what is true of the engine as a whole, such as its mass."""
    if not isinstance(rule.test, Limit):
        return KINDS[rule.kind].slots(rule.test, pattern)
    names = rule.test.measured or rule.test.names
    found = (slot for name in names for slot in slots_behind(name, pattern, sums=name.startswith("count.")))
    return tuple(dict.fromkeys(found))
