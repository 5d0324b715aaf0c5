"""The road demo: an invented production four for circuits, with two engine options that may not be mixed.

Its files are in order, its figures are as worked out by hand, its book tells the options apart, its shop prices what it
is asked, and its three changes come out differently.
"""

from __future__ import annotations

import csv
import math
import shutil
from datetime import date
from decimal import Decimal
from functools import cache
from pathlib import Path

import pytest
from pytest import approx

from costplan.impact.drawing import Asked
from costplan.impact.field import FieldOfEntrants
from costplan.impact.figures import ChangeImpact
from costplan.impact.reading import read_field
from costplan.impact.studying import desk_of
from costplan.quote import make_quote, open_desk, requests_in
from costplan.rules import Verdicts
from costplan.rules.kinds import Limit
from costplan.scenario import Scenario, read_scenario
from costplan.season import Plan, make_plan

ROAD = Path(__file__).parents[2] / "scenarios" / "road-four"
BEFORE = date(2027, 3, 1)
#: What makes option B of option A, of what the book names; manifold and fuel pump go with the induction.
OPTION_B = {"camshaft": "VA-C112", "induction": "LI-CB40", "inlet": "LI-TR4", "control-unit": "LI-CB72"}
GOES_WITH_IT = {"manifold": "LI-MB", "fuel-pump": "LI-FP0"}
#: The pieces in the garage that are of an option, by slot.
PIECES = {
    "camshaft": "green-camshaft",
    "induction": "car-induction",
    "fuel-pump": "car-fuel-pump",
    "control-unit": "car-control-unit",
}


@cache
def road(*sets: str) -> Scenario:
    found, problems = read_scenario(ROAD, sets)
    assert problems == ()
    assert found is not None
    return found


def with_parts(parts: dict[str, str]) -> Scenario:
    """The demo with other parts planned, and standing in the garage."""
    built = [f"build/{slot}/part={part}" for slot, part in parts.items()]
    owned = [f"garage/{PIECES[slot]}/part={part}" for slot, part in parts.items() if slot in PIECES]
    return road(*built, *owned)


def asked(scenario: Scenario, engine: str = "", on: date = BEFORE) -> Verdicts:
    (found,) = scenario.verdicts(on, engine)
    return found


def broken(scenario: Scenario, engine: str = "") -> list[str]:
    return [one.rule for one in asked(scenario, engine).findings if one.verdict == "breaks"]


def value(scenario: Scenario, measure: str, unit: str) -> float:
    found = scenario.figures().measure(measure).value
    assert found is not None
    return found.to(unit)


# Its files


def test_all_of_it_is_invented_and_says_so() -> None:
    scenario = road()
    assert scenario.header.invented
    assert scenario.catalog is not None
    assert all(one.header.invented for one in (*scenario.packs, *scenario.neighbours))
    assert "invented" in scenario.header.note


@pytest.mark.parametrize("variant", [one.name for one in road().header.variants])
def test_each_variant_is_read_without_a_problem(variant: str) -> None:
    (row,) = (one for one in road().header.variants if one.name == variant)
    season, problems = road(*row.set).season()
    assert season is not None
    assert problems == ()


def test_lives_are_counted_in_what_a_road_racer_counts() -> None:
    catalog = road().catalog
    assert catalog is not None
    measures = {row.measure.name for row in catalog.lives}
    assert {"hours", "revolutions", "events", "starts", "openings", "days"} <= measures
    hours = [row for row in catalog.lives if row.measure.name == "hours"]
    assert len(hours) > len(catalog.lives) / 2


# Its figures, by hand


def test_displacement_and_compression_are_as_worked_out_by_hand() -> None:
    scenario = road()
    swept = math.pi / 4 * 8.02**2 * 7.86  # bore 80.20 and stroke 78.60 mm
    assert value(scenario, "displacement", "cm3") == approx(4 * swept, rel=1e-12)
    chamber = 33.8 + 0.2 - 0.9  # as cast, seats cut, face skimmed
    gasket = math.pi / 4 * 8.15**2 * 0.12
    deck = 211.90 - 78.60 / 2 - 138.00 - 34.50
    clearance = chamber + gasket + math.pi / 4 * 8.02**2 * deck / 10 + 1.0
    assert value(scenario, "deck_clearance", "mm") == approx(deck, rel=1e-9) == approx(0.10)
    assert value(scenario, "compression_ratio", "1") == approx((swept + clearance) / clearance, rel=1e-12)


def test_valves_rise_as_the_lobes_do_under_buckets() -> None:
    assert value(road(), "intake_lift", "mm") == approx(10.4)
    assert value(with_parts(OPTION_B | GOES_WITH_IT), "intake_lift", "mm") == approx(11.0)
    assert value(road(), "piston_speed", "m/s") == approx(2 * 0.0786 * 7400 / 60)


def test_what_the_last_overbore_sweeps_is_within_the_book() -> None:
    (limit,) = (rule for rule in road().packs[0].rules if rule.id == "R7-displacement")
    assert isinstance(limit.test, Limit)
    assert limit.test.greatest is not None
    assert limit.test.greatest.number > Decimal(math.pi / 4 * 8.07**2 * 7.86 * 4)


# Its book


def test_build_and_engine_break_no_clause_and_the_engine_owes_one_proof() -> None:
    assert broken(road()) == broken(road(), "green") == []
    owed = [one.rule for one in asked(road(), "green").findings if set(one.owed) - {"event log"}]
    assert owed == ["R44-fuel"]  # no sample was drawn


def test_either_option_whole_meets_its_clauses_and_no_other_is_asked() -> None:
    b = asked(with_parts(OPTION_B | GOES_WITH_IT))
    assert [one.rule for one in b.findings if one.verdict == "breaks"] == []
    said = {one.rule: one.verdict for one in b.findings}
    assert said["R36-speed-b"] == said["R34-choke"] == "meets"
    assert said["R41-mass-b"] == "cannot be shown"  # nobody has weighed it
    assert said["R35-speed-a"] == said["R32-restrictor"] == said["R40-mass-a"] == "not asked"
    a = {one.rule: one.verdict for one in asked(road(), "green").findings}
    assert a["R35-speed-a"] == a["R32-restrictor"] == a["R40-mass-a"] == "meets"
    assert a["R36-speed-b"] == a["R34-choke"] == a["R41-mass-b"] == "not asked"


@pytest.mark.parametrize("slot", OPTION_B)
def test_an_engine_that_mixes_the_options_breaks_the_clause(slot: str) -> None:
    mixed = with_parts({slot: OPTION_B[slot]})
    assert "R31-option" in broken(mixed)
    mixed_the_other_way = with_parts({one: part for one, part in (OPTION_B | GOES_WITH_IT).items() if one != slot})
    assert "R31-option" in broken(mixed_the_other_way)


@pytest.mark.parametrize("slot", GOES_WITH_IT)
def test_manifold_and_pump_of_the_other_option_do_not_fit(slot: str) -> None:
    fits = {one.fit for one in with_parts({slot: GOES_WITH_IT[slot]}).fits() if one.verdict == "breaks"}
    assert fits == {"manifold": {"induction on manifold"}, "fuel-pump": {"pump and fuelling"}}[slot]


def test_the_neighbour_wants_carburetors_and_less_speed() -> None:
    (found,) = road().verdicts(BEFORE, packs=road().neighbours)
    assert {"F4-compression", "F5-carburetors", "F6-speed"} == {
        one.rule for one in found.findings if one.verdict == "breaks"
    }


# Its season


@cache
def plan() -> Plan:
    season, problems = road().season()
    assert season is not None, problems
    return make_plan(season, road().opening)


def test_six_weekends_bring_one_freshen_by_a_listed_shop() -> None:
    assert len({one.show for one in road().files.events if one.kind == "race"}) == 6
    freshens = [job for job in plan().jobs if job.level == "freshen"]
    assert len(freshens) == 1
    assert freshens[0].shop == "Thrennick Engines"  # the cheaper garage of levels.csv is not on the list


# Its shop


def test_each_request_is_priced_with_tax_on_all_but_deposits_and_credits() -> None:
    assert set(requests_in(ROAD)) == {"freshen-green", "new-engine", "rebuild-green"}
    desk, problems = open_desk(ROAD)
    assert desk is not None, problems
    for name in requests_in(ROAD):
        request, problems = desk.request(name)
        assert request is not None, problems
        asking, problems = desk.asking(request, request.head.date or BEFORE)
        assert asking is not None, problems
        quote, problems = make_quote(asking)
        assert quote is not None, problems
        assert problems == ()
        taxes = [(group.tax.code, int(group.tax.percent)) for group in quote.totals.groups]
        assert taxes == [("S", 20), ("O", 0)]


# Its field and its changes


#: Of each option the many, and those who own least.
GROUPS = ("injection regulars", "thrifty carburetors")


def small_field(folder: Path, *changes: str) -> FieldOfEntrants:
    """Two groups of the field with one entrant in each, who spends on nothing but what the book asks."""
    shutil.copytree(ROAD, folder / "scenarios" / "road-four")
    shutil.copytree(ROAD.parents[1] / "catalogs" / "road-four", folder / "catalogs" / "road-four")
    path = folder / "scenarios" / "road-four" / "field.csv"
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows({**row, "entrants": "1", "budget": ""} for row in rows if row["group"] in GROUPS)
    (path.parent / "survey.csv").unlink()
    field, problems = read_field(path.parent, changes)
    assert field is not None, problems
    return field


@pytest.fixture(scope="module")
def changes(tmp_path_factory: pytest.TempPathFactory) -> dict[str, ChangeImpact]:
    """The three changes by name, few seasons drawn."""
    files = sorted(one.name for one in ROAD.glob("change-*.toml"))
    desk, problems = desk_of(small_field(tmp_path_factory.mktemp("road"), *files), Asked(10, 2, 1), date(2027, 2, 1))
    assert desk is not None, problems
    return {one.name: one for one in desk.impact().changes}


def swapped(change: ChangeImpact) -> dict[str, dict[str, str]]:
    """What each group puts in, by slot."""
    assert all(one.proved and not (one.now_broken or one.against) for one in change.groups)
    return {one.group: {swap.slot: swap.after for swap in one.swaps} for one in change.groups}


def test_closing_an_option_changes_all_of_it_and_only_for_those_who_have_it(changes: dict[str, ChangeImpact]) -> None:
    found = swapped(changes["Injection only"])
    assert found["injection regulars"] == {}
    assert set(found["thrifty carburetors"]) == set(OPTION_B | GOES_WITH_IT)


def test_less_speed_takes_the_other_box_of_each_option_and_nothing_else(changes: dict[str, ChangeImpact]) -> None:
    found = swapped(changes["Speed at 7,000"])
    assert found == {
        "injection regulars": {"control-unit": "LI-CA70"},
        "thrifty carburetors": {"control-unit": "LI-CB70"},
    }


def test_three_changes_come_out_differently(changes: dict[str, ChangeImpact]) -> None:
    speed, injection, opening = (changes[name].total for name in ("Speed at 7,000", "Injection only", "One opening"))
    assert 0 < speed.once < injection.once
    assert injection.payback is None
    assert speed.stranded > 0 < injection.stranded
    assert opening.yearly.mean < speed.yearly.mean
    assert opening.yearly.mean < 0
