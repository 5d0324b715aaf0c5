"""A choice from a scenario and wishes: what is wrong with the wishes, and the puzzle with all amounts there can be."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date

from costplan.build import Pattern
from costplan.catalog import Catalog
from costplan.choose.aims import Aimed, aim
from costplan.choose.encoding import encode
from costplan.choose.hand import carriers_of
from costplan.choose.lasting import Seasons
from costplan.choose.wishes import NOTHING, Wishes
from costplan.problems import Place, Problem, nearest
from costplan.rules import Pack
from costplan.scenario import Scenario


def prepare(
    scenario: Scenario,
    wishes: Wishes,
    level: str = "",
    packs: Iterable[Pack] | None = None,
    *,
    whole: bool = False,
    pulled_by: date | None = None,
) -> Aimed:
    """The choice; `level`: whose interval counts. Without positions no cost a season, without [airflow] no power.

    `pulled_by`: only what was pulled on a dyno up to this day sets the estimate of power, else all of it.
    """
    encoded = encode(scenario, wishes, packs, whole=whole)
    season = scenario.season()[0] if scenario.files.positions else None
    return aim(encoded, Seasons(scenario, season) if season else None, scenario.estimator(pulled_by), level)


def wrong_wishes(scenario: Scenario, wishes: Wishes, level: str = "") -> tuple[Problem, ...]:
    """A problem for each wish that names what is not there; their places are the options of the command."""
    return tuple(_wrong(scenario, wishes, level))


def _wrong(scenario: Scenario, wishes: Wishes, level: str) -> Iterator[Problem]:
    pattern, catalog = scenario.built().pattern, scenario.catalog or Catalog()
    for number, (slot, part) in enumerate(wishes.pinned.items(), start=1):
        yield from _wrong_pin(Place(f"--pin {number}"), slot, part, pattern, catalog)
    for number, part in enumerate(wishes.banned, start=1):
        if part not in catalog.parts:
            advice = nearest_of_any_case(part, catalog.parts)
            yield Problem("BLD002", Place(f"--ban {number}"), "", part, "an unknown part", advice)
    yield from _unknown("--supplier", wishes.suppliers, catalog.suppliers(), "an unknown supplier")
    yield from _unknown("--on-hand", wishes.hand, carriers_of(scenario), "nothing that is on hand:")
    yield from _not_owned(scenario, wishes.hand)
    optional = [slot.slot for slot in pattern.slots.values() if slot.optional]
    yield from _unknown("--optional", wishes.optional, optional, "not a slot that may be left empty:")
    kept = [row.slot for row in scenario.files.positions if not row.stretch]
    yield from _unknown("--cheapen", wishes.cheapen, kept, "not a slot that positions.csv says is not to be stretched:")
    levels = tuple(dict.fromkeys(row.level for row in scenario.files.levels))
    if level and level not in levels:
        what = "a service level that the scenario lacks:"
        yield Problem("REA020", Place("--level"), "", level, what, nearest(level, levels))
    if wishes.by is not None and wishes.by < wishes.on:
        what, advice = f"before the day of the order, {wishes.on}:", "give a later day, or an earlier one with --on"
        yield Problem("REA018", Place("--by"), "", str(wishes.by), what, advice)


def _wrong_pin(place: Place, slot: str, part: str, pattern: Pattern, catalog: Catalog) -> Iterator[Problem]:
    """What is wrong with a part that is to be in a slot."""
    if slot not in pattern.slots:
        yield Problem("BLD001", place, "", slot, "an unknown slot", nearest(slot, pattern.slots))
    elif part == NOTHING:
        if not pattern.slots[slot].optional:
            yield Problem("BLD005", place, slot, part, "a needed slot is empty:", "pin a part")
    elif part not in catalog.parts:
        named = [one.part for one in catalog.of_role(pattern.slots[slot].role)]
        yield Problem("BLD002", place, slot, part, "an unknown part", nearest_of_any_case(part, named))
    elif catalog.parts[part].role != pattern.slots[slot].role:
        advice = f"give one with role {pattern.slots[slot].role}"
        yield Problem("BLD003", place, slot, part, f"a part with role {catalog.parts[part].role}", advice)


def _not_owned(scenario: Scenario, hand: Iterable[str]) -> Iterator[Problem]:
    """Engines whose pieces are nobody's yet."""
    away = {engine.name for engine in scenario.engines if not engine.owned}
    for number, name in enumerate(hand, start=1):
        if name in away:
            what, advice = "an engine that is not owned:", f"buy it first: --set scenario/engine/{name}/owned=true"
            yield Problem("REA020", Place(f"--on-hand {number}"), "", name, what, advice)


def nearest_of_any_case(word: str, known: Iterable[str]) -> str:
    """The advice of `nearest`, for names that people write in small letters as well.

    >>> nearest_of_any_case("tv-s165", ["QM-S150", "TV-S165"])
    "did you mean 'TV-S165'?"
    """
    from difflib import get_close_matches

    names = {name.casefold(): name for name in known}
    small = word.casefold()
    close = get_close_matches(small, names, n=1, cutoff=0.6)
    return nearest(names[close[0]] if close else word, names.values())


def _unknown(option: str, given: Iterable[str], known: Iterable[str], what: str) -> Iterator[Problem]:
    names = tuple(known)
    for number, name in enumerate(given, start=1):
        if name not in names:
            yield Problem("REA020", Place(f"{option} {number}"), "", name, what, nearest(name, names))
