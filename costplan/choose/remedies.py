"""What would have to change for an engine to run under a book: for each broken clause, the one part that cures it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from costplan.build import Build, check_fits, with_part
from costplan.catalog import Part
from costplan.money import round_money
from costplan.rules import KINDS, Finding, Pack, Recognised, Sheet, Verdict, Verdicts, check
from costplan.scenario import Scenario


@dataclass(frozen=True, slots=True)
class Remedy:
    """One part in place of another that ends the breach of a clause; `cost`: of the slot's pieces in whole packs.

    `breaks` names the clauses, `unfit` the fits that break with it and did not before.
    """

    rule: str
    slot: str
    instead_of: str
    part: str
    name: str
    cost: Decimal
    lead_days: int
    breaks: tuple[str, ...]
    unfit: tuple[str, ...]

    @property
    def clean(self) -> bool:
        """Whether nothing else breaks with it."""
        return not self.breaks and not self.unfit

    def __str__(self) -> str:
        return f"{self.rule}: {self.slot} {self.instead_of} -> {self.part}"


@dataclass(frozen=True, slots=True)
class Standing:
    """How an engine stands to one book: what it breaks, what is still to be shown, what would have to change.

    `remedies`: of each broken clause the best single part, if one cures it; `incurable` are the others. `cost` is the
    sum of the remedies, each part once; None where one is lacking or two want one slot.
    """

    pack: str
    name: str
    file: str
    edition: str
    stands: Verdict
    season: bool
    met: int
    broken: tuple[str, ...]
    to_show: tuple[str, ...]
    remedies: tuple[Remedy, ...]
    incurable: tuple[str, ...]
    recognised: tuple[Recognised, ...]
    cost: Decimal | None
    currency: str


def where_it_may_run(scenario: Scenario, engine: str, on: date) -> tuple[Standing, ...]:
    """How an engine, or the build as planned, stands to every book that the scenario names on a day."""
    packs = (*scenario.packs, *scenario.neighbours)
    return tuple(_standing(scenario, pack, engine, on) for pack in packs)


def _standing(scenario: Scenario, pack: Pack, engine: str, on: date) -> Standing:
    build = scenario.built(engine)
    verdicts = check(pack, scenario.sheet(engine, build, on), on)
    broken = [one for one in verdicts.findings if one.verdict == "breaks" and one.severity == "must"]
    found = {one.rule: next(iter(remedies(scenario, pack, one, engine, on)), None) for one in broken}
    best = tuple(remedy for remedy in found.values() if remedy is not None)
    incurable = tuple(rule for rule, remedy in found.items() if remedy is None)
    return Standing(
        verdicts.pack,
        verdicts.name,
        verdicts.file,
        verdicts.edition,
        verdicts.stands,
        pack in scenario.packs,
        verdicts.count("meets"),
        tuple(one.rule for one in broken),
        tuple(one.rule for one in verdicts.findings if one.verdict == "cannot be shown"),
        best,
        incurable,
        verdicts.recognised,
        None if incurable else _cost_of(best, scenario.header.currency),
        scenario.header.currency,
    )


def _cost_of(best: Sequence[Remedy], currency: str) -> Decimal | None:
    """What the remedies cost together, each part once; None where two of them want one slot."""
    prices = {(one.slot, one.part): one.cost for one in best}
    together = len({one.slot for one in best}) == len(prices)
    return round_money(sum(prices.values(), Decimal(0)), currency) if together else None


def remedies(scenario: Scenario, pack: Pack, finding: Finding, engine: str, on: date) -> tuple[Remedy, ...]:
    """The single parts that end the breach of a clause: those that break nothing else first, the cheapest first.

    Every part of the catalogs is tried in every slot that the clause speaks of, one at a time: a breach that only two
    parts together would end has no remedy here. Of parts alike in what they break, one of which the clause cannot tell
    (no mass in the catalog) comes after those that it can.
    """
    build = scenario.built(engine)
    before = check(pack, scenario.sheet(engine, build, on), on)
    unfit = _unfit(scenario, build)
    found = []
    for slot, part in _candidates(scenario, build, finding.slots):
        tried = with_part(build, slot, part)
        after = check(pack, _sheet_with(scenario.sheet(engine, tried, on), slot, pack), on)
        if finding.rule in _broken(after):
            continue
        more = tuple(rule for rule in _broken(after) if rule not in _broken(before))
        untold = any(one.rule == finding.rule and one.on_paper == "cannot be shown" for one in after.findings)
        found.append((untold, _remedy(scenario, finding.rule, build, slot, part, more, unfit, tried, on)))
    return tuple(remedy for _, remedy in sorted(found, key=_order))


def _order(found: tuple[bool, Remedy]) -> tuple[bool, int, bool, Decimal, str]:
    untold, one = found
    return not one.clean, len(one.breaks) + len(one.unfit), untold, one.cost, one.part


def _sheet_with(sheet: Sheet, slot: str, pack: Pack) -> Sheet:
    """A sheet with a new part in a slot: the piece that was there, its papers and what was found of it say nothing."""
    pattern = sheet.figures.build.pattern
    spoken = {rule.id for rule in pack.rules if slot in KINDS[rule.kind].slots(rule.test, pattern)}
    return replace(
        sheet,
        papers=tuple(row for row in sheet.papers if row.slot != slot),
        inspections=tuple(row for row in sheet.inspections if row.rule not in spoken),
        pieces=tuple(piece for piece in sheet.pieces if piece.slot != slot),
    )


def _remedy(
    scenario: Scenario,
    rule: str,
    build: Build,
    slot: str,
    part: Part,
    more: tuple[str, ...],
    unfit: Sequence[str],
    tried: Build,
    on: date,
) -> Remedy:
    offers = scenario.catalog.offers_of(part.part) if scenario.catalog else ()
    bought = scenario.buying.cheapest(offers, build.pattern.slots[slot].quantity, on)
    before = build.part(slot)
    return Remedy(
        rule,
        slot,
        before.part if before else "",
        part.part,
        part.name,
        bought.cost,
        bought.offer.lead_days,
        more,
        tuple(fit for fit in _unfit(scenario, tried) if fit not in unfit),
    )


def _candidates(scenario: Scenario, build: Build, slots: Sequence[str]) -> Iterator[tuple[str, Part]]:
    """Every other part with the role of each slot."""
    for slot in slots:
        now = build.part(slot)
        for part in scenario.catalog.of_role(build.pattern.slots[slot].role) if scenario.catalog else ():
            if now is None or part.part != now.part:
                yield slot, part


def _broken(verdicts: Verdicts) -> tuple[str, ...]:
    return tuple(one.rule for one in verdicts.findings if one.verdict == "breaks" and one.severity == "must")


def _unfit(scenario: Scenario, build: Build) -> tuple[str, ...]:
    return tuple(one.fit for one in check_fits(scenario.figures(build)) if one.verdict == "breaks")
