"""Lives from a scenario's logs, beside those that its catalog gives."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from costplan.build import Build
from costplan.catalog import Catalog, LifeRow, Role
from costplan.garage.spells import Kept, Spell, Use, spells_of
from costplan.life.fitting import Mean, Observation, Recurring, Step, kaplan_meier, mean_cumulative
from costplan.life.fitting.judged import Asked, FittedLife, Seen, judge
from costplan.scenario.logs import Log
from costplan.scenario.scenario import Scenario
from costplan.season import Level, Position
from costplan.season.calendar import by_event

#: Uses at which curves are told: so many steps from none to the longest.
STEPS = 60


@dataclass(frozen=True, slots=True)
class Point:
    """The share not yet failed at a use: observed with its bounds, as fitted, and by the catalog; None where it is not
    known, and bounds also where none is left. `at_risk`: how many were watched there."""

    use: float
    at_risk: int
    observed: float | None
    low: float | None
    high: float | None
    fitted: float | None
    catalog: float | None


@dataclass(frozen=True, slots=True)
class ShownLife:
    """A life with what it was fitted from: the `steps` of what was observed, `points` of all its curves at even uses,
    and of what is mended and keeps its age how often that was, by its use."""

    fit: FittedLife
    steps: tuple[Step, ...]
    points: tuple[Point, ...]
    mended: tuple[Mean, ...]


def lived_slots(scenario: Scenario) -> tuple[str, ...]:
    """The slots whose part has a life; not those whose alternates take turns, which a log does not tell apart."""
    build = scenario.built()
    apart = {slot for slot, row in build.alternates.items() if any(one.serves for one in row)}
    return tuple(slot for slot in build.fills if slot not in apart and measures_of_slot(scenario, slot))


def measures_of_slot(scenario: Scenario, slot: str) -> tuple[str, ...]:
    """What the lives of the part planned for a slot are counted in: events, laps, fuel."""
    catalog = scenario.catalog or Catalog()
    return tuple(row.measure.name for row in catalog.lives_of(scenario.built().fills[slot].part))


def fitted_lives(
    scenario: Scenario, logs: Sequence[Log], slots: Sequence[str], measure: str, asked: Asked, *, all_asked: bool = True
) -> tuple[FittedLife, ...]:
    """What the logs say of the parts that were in some slots, in each measure that their lives count or in one.

    `all_asked`: also of what they show nothing.
    """
    return tuple(
        judge(seen, row, role, asked)
        for seen, row, role, _ in _seen(scenario, logs, slots, measure)
        if seen.observations or all_asked
    )


def shown_lives(
    scenario: Scenario, logs: Sequence[Log], slot: str, measure: str, asked: Asked
) -> tuple[ShownLife, ...]:
    """The same of one slot, with its curves; without a log those of the catalog."""
    found = []
    for seen, row, role, mendings in _seen(scenario, logs, (slot,), measure):
        fit = judge(seen, row, role, asked)
        steps = kaplan_meier(seen.observations, asked.confidence)
        mended = mean_cumulative(mendings, asked.confidence) if any(one.at for one in mendings) else ()
        found.append(ShownLife(fit, steps, tuple(_points(seen.observations, fit, steps)), mended))
    return tuple(found)


def _seen(
    scenario: Scenario, logs: Sequence[Log], slots: Sequence[str], measure: str
) -> Iterator[tuple[Seen, LifeRow, Role | None, list[Recurring]]]:
    """For each slot, part and measure: what the logs show. Of a slot without spells the planned part, with nothing."""
    build, catalog = scenario.built(), scenario.catalog or Catalog()
    spells = {log.name: _spells(scenario, log, slots) for log in logs}
    until = max((entry.date for log in logs for entry in log.entries), default=date.min)
    for slot in slots:
        here = {name: [spell for spell in found if spell.slot == slot] for name, found in spells.items()}
        planned = build.fills[slot].part.part
        parts = dict.fromkeys([spell.part for found in here.values() for spell in found if spell.part in catalog.parts])
        for part in parts or (planned,):
            theirs = {name: [spell for spell in found if spell.part == part] for name, found in here.items()}
            for row in catalog.lives_of(catalog.parts[part]):
                if measure in ("", row.measure.name, str(row.measure)):
                    names = tuple(name for name, found in theirs.items() if found)
                    both = [spell for found in theirs.values() for spell in found]
                    seen = Seen(slot, part, *_observed(both, row), names, until)
                    yield seen, row, catalog.roles.get(catalog.parts[part].role), _mendings(both, row)


def _observed(spells: Sequence[Spell], row: LifeRow) -> tuple[tuple[Observation, ...], int, int]:
    """What spells show in a row's measure and unit; how many are of unknown use, how many of a run without a figure."""
    name, unit = row.measure.name, row.measure.from_kept
    seen = tuple(
        Observation(unit(one.start), unit(one.end), failed=one.failed)
        for spell in spells
        for one in spell.observations(name)
    )
    unknown = sum(name not in spell.start for spell in spells)
    return seen, unknown, sum(name in spell.cut for spell in spells)


def _mendings(spells: Sequence[Spell], row: LifeRow) -> list[Recurring]:
    found, unit = (spell.recurring(row.measure.name) for spell in spells), row.measure.from_kept
    return [
        Recurring(unit(one.start), unit(one.end), tuple(unit(use) for use in one.at))
        for one in found
        if one is not None
    ]


def _spells(scenario: Scenario, log: Log, slots: Sequence[str]) -> tuple[Spell, ...]:
    build, files = scenario.built(), scenario.files
    renews = renewed_at(files.levels, files.positions)
    kept = {slot: _kept(scenario, build, slot, own=log.own) for slot in slots}
    if not log.own:
        return spells_of(log.entries, kept, renews)
    names = [engine.name for engine in scenario.engines]
    only = names[0] if len(names) == 1 else ""
    return spells_of(log.entries, kept, renews, _uses(scenario), scenario.garage, scenario.opening, only)


def _kept(scenario: Scenario, build: Build, slot: str, *, own: bool) -> Kept:
    """What is to be known of a slot; a log of other engines does not have its planned part by itself."""
    part, catalog = build.fills[slot].part, scenario.catalog or Catalog()
    by_piece = any(row.life_of == "piece" for row in catalog.lives_of(part))
    return Kept(build.pattern.slots[slot].quantity, by_piece, part.part if own else "")


def _uses(scenario: Scenario) -> dict[str, Use]:
    """What each event of the calendar uses, all its runs together; openings and days do not follow from runs."""
    season, _ = scenario.season()
    found: dict[str, Use] = {}
    for stretch in by_event(season.runs if season else ()):
        runs = [run for _, run in stretch]
        names = [name for name in runs[0].use if name not in ("days", "openings")]
        found[runs[0].event.event] = {name: math.fsum(run.use.get(name, 0.0) for run in runs) for name in names}
    return found


def renewed_at(levels: Sequence[Level], positions: Sequence[Position]) -> dict[str, tuple[str, ...]]:
    """By level, the slots that are new after it: those it always renews, those of the levels below it on its carrier,
    and what is renewed with them."""
    partners = {row.slot: row.renew_with for row in positions}
    found = {}
    for level in levels:
        below = [row for row in levels if row.carrier == level.carrier and row.rank <= level.rank]
        found[level.level] = _with_partners([slot for row in below for slot in row.renews], partners)
    return found


def _with_partners(slots: Sequence[str], partners: Mapping[str, Sequence[str]]) -> tuple[str, ...]:
    found = list(dict.fromkeys(slots))
    for slot in found:  # grows while it is walked
        found += [other for other in partners.get(slot, ()) if other not in found]
    return tuple(found)


def _points(seen: Sequence[Observation], fit: FittedLife, steps: Sequence[Step]) -> Iterator[Point]:
    """The curves of a life at even uses, as far as something was seen or the catalog's life reaches."""
    last = fit.catalog.use_at(0.9) if fit.catalog and not seen else 0.0
    top = max(fit.longest, 1.1 * (fit.replace_at or 0.0), last)
    for number in range(STEPS + 1 if top else 0):
        use = top * number / STEPS
        step = next((step for step in reversed(steps) if step.use <= use), None)
        at_risk = sum(one.start < use <= one.end for one in seen)
        known = at_risk > 0 or (use == 0 and bool(seen))
        yield Point(
            use,
            at_risk,
            (step.survival if step else 1.0) if known else None,
            step.low if step and known and step.survival else None,
            step.high if step and known and step.survival else None,
            fit.weibull.survival(use) if fit.weibull else None,
            fit.catalog.survival(use) if fit.catalog else None,
        )
