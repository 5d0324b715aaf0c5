"""What could stand in a slot: every part of its role, tried in the build one by one against fits and books."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import Literal

from costplan.build import Build, Figures, FitFinding, check_fits, with_part
from costplan.life import compare_parts, measures_of
from costplan.quantity import Quantity
from costplan.rules import Finding, Pack, Sheet, evidence_of, find, reads_of
from costplan.scenario import Scenario

Fitting = Literal["fits", "does not fit", "cannot be shown"]


@dataclass(frozen=True, slots=True)
class Alternative:
    """A part tried in a slot, all others as planned.

    `cost`: of the slot's pieces in whole packs; `more`: than the planned part's; `per_use` as in `costplan catalog
    compare`. `book` names the clauses that break with it; `reasons` say why it does not fit, or what is not known.
    """

    slot: str
    part: str
    name: str
    supplier: str
    planned: bool
    fitting: Fitting
    book: tuple[str, ...]
    cost: Decimal
    more: Decimal
    per_use: Decimal | None
    measure: str
    lead_days: int
    reasons: tuple[str, ...]


def slots_with_choice(scenario: Scenario) -> tuple[str, ...]:
    """The slots of the pattern, in its order; empty without a build."""
    return tuple(scenario.build.pattern.slots) if scenario.build else ()


def alternatives(scenario: Scenario, slot: str, on: date) -> tuple[Alternative, ...]:
    """Every part with the slot's role: those that fit first, cheapest first."""
    build, catalog = scenario.build, scenario.catalog
    if build is None or catalog is None:
        raise ValueError("a scenario without a build has no slots")
    wanted = build.pattern.slots[slot]
    measure = next(iter(measures_of(catalog, wanted.role)), None)
    compared = compare_parts(catalog, wanted.role, wanted.quantity, measure, scenario.buying, on)
    planned = build.part(slot)
    base = next((entry.cost for entry in compared if planned and entry.part == planned.part), Decimal(0))
    before = _broken(scenario, build, on, slot)
    found = []
    for entry in compared:
        part = catalog.parts[entry.part]
        tried = with_part(build, slot, part)
        fitting, reasons = _fitting(slot, scenario.figures(tried, on))
        is_planned = planned is not None and part.part == planned.part
        broken = _broken(scenario, tried, on, slot)
        clauses = [name for name, slots in broken.items() if slot in slots or name not in before]
        found.append(
            Alternative(
                slot,
                part.part,
                part.name,
                entry.supplier,
                is_planned,
                fitting,
                tuple(clauses),
                entry.cost,
                entry.cost - base,
                entry.per_use,
                entry.measure,
                entry.lead_days,
                reasons,
            )
        )
    order: tuple[Fitting, ...] = ("fits", "cannot be shown", "does not fit")
    return tuple(sorted(found, key=lambda entry: (order.index(entry.fitting), bool(entry.book), entry.cost)))


def without_objection(found: Iterable[Alternative]) -> int:
    """How many fit and break no clause."""
    return sum(entry.fitting == "fits" and not entry.book for entry in found)


def _fitting(slot: str, figures: Figures) -> tuple[Fitting, tuple[str, ...]]:
    """Whether a build's slot goes together with the others, and in words what does not or is not known."""
    findings = [finding for finding in check_fits(figures) if slot in finding.slots]
    against = tuple(_in_words(finding) for finding in findings if finding.verdict == "breaks")
    if against:
        return "does not fit", against
    unknown = tuple(f"{one.fit}: {', '.join(one.missing)}" for one in findings if one.verdict == "cannot be shown")
    return ("cannot be shown", unknown) if unknown else ("fits", ())


def _in_words(finding: FitFinding) -> str:
    """What was found on both sides, and what it had to be.

    `piston in bore: pistons.bore 4.03 in, must be equal to block.bore within 0.006 in, which is 4 in`
    """
    value, other = finding.value, finding.other
    if isinstance(value, Quantity) and isinstance(other, Quantity):
        value = value.into(other.unit)
    must = "be equal to" if finding.must == "equal" else f"be {finding.must}"
    plain = isinstance(other, Quantity) and finding.that.startswith(str(other))
    which = "" if plain or other is None else f", which is {other}"
    return f"{finding.fit}: {finding.this} {value}, must {must} {finding.that}{which}"


def _broken(scenario: Scenario, build: Build, on: date, slot: str) -> dict[str, tuple[str, ...]]:
    """The clauses of all books that a build breaks and that rest on a slot, with all slots that each rests on.

    Each is named with its book where there are several.
    """
    several, sheet = len(scenario.packs) > 1, scenario.sheet(build=build, on=on)
    return {
        f"{pack.header.name}: {finding.rule}" if several else finding.rule: finding.slots
        for pack in scenario.packs
        for finding in _findings(pack, sheet, on, slot)
        if finding.on_paper == "breaks"
    }


def _findings(pack: Pack, sheet: Sheet, on: date, slot: str) -> Iterator[Finding]:
    """How a build answers the clauses of a book that rest on a slot, also by a condition."""
    pattern, evidence = sheet.figures.build.pattern, replace(evidence_of(pack, sheet, on), brief=True)
    for rule in pack.rules:
        if slot in (one for one, _ in reads_of(rule, pack, pattern)):
            yield find(rule, evidence)
