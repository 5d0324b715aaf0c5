"""Fits: each kind meets, breaks and cannot be shown; what is asked; which slots take part; another part in a slot."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from pytest import approx

from costplan.build import (
    Alternate,
    Bill,
    Build,
    Figures,
    Fill,
    Fit,
    FitFinding,
    Pattern,
    Reference,
    Slot,
    check_fits,
    find_fit,
    fits_of,
    with_part,
)
from costplan.catalog import Operation, Part
from costplan.garage import Bench
from costplan.problems import Place
from costplan.quantity import Quantity

NO_BILL = Bill((), "USD", date(2027, 2, 3), None, Decimal(0), Decimal(0), 0, None)
NUMBERS = dict.fromkeys(("bore", "installed_height", "coil_bind_height", "intake_lobe_lift", "thickness"), "length")
NUMBERS |= {"rocker_ratio": "number", "mass": "mass", "venturi": "length"}


def inches(value: float) -> Quantity:
    return Quantity(value, "in")


def part(name: str, **attributes: Quantity | str) -> Part:
    found = Part(part=name, role="any", supplier="x", place=Place("parts.csv", 2))
    return found.model_copy(update={"attributes": attributes})


PARTS = {
    "block": part("B-1", bore=inches(4.0), type="short, long", material="iron"),
    "pistons": part("P-1", bore=inches(3.995), type="short", material="aluminium"),
    "camshaft": part("C-1", intake_lobe_lift=inches(0.35)),
    "rockers": part("K-1", rocker_ratio=Quantity(1.6)),
    "springs": part("S-1", installed_height=inches(1.9), coil_bind_height=inches(1.15), mass=Quantity(90, "g")),
    "carburetor": part("CR-1", venturi=inches(1.5)),
}
INPUTS = {
    "bore": Reference("block", "bore"),
    "intake_lobe_lift": Reference("camshaft", "intake_lobe_lift"),
    "rocker_ratio": Reference("rockers", "rocker_ratio"),
    "installed_height": Reference("springs", "installed_height"),
    "coil_bind_height": Reference("springs", "coil_bind_height"),
}
PIECES = {"pistons": 8, "rockers": 16, "springs": 16}


def fit(this: str, must: str, that: str | float, **more: Any) -> Fit:
    return Fit(fit=f"{this} {must} {that}", this=this, must=must, that=that, place=Place("pattern.toml", 9), **more)


def build_of(*fits: Fit, **changes: Part | None) -> Build:
    """An engine of all parts, some changed or left out, with fits; `spacer` is an optional slot."""
    slots = {name: Slot(slot=name, role=name, quantity=PIECES.get(name, 1)) for name in PARTS}
    slots["spacer"] = Slot(slot="spacer", role="spacer", optional=True)
    inputs = {name: (source, Place("pattern.toml", 3)) for name, source in INPUTS.items()}
    words, roles = frozenset({"type", "material"}), frozenset(slots)
    pattern = Pattern("by hand", slots, inputs, "pattern.toml", NUMBERS, {}, words, roles, fits)
    filled = {name: found for name, found in {**PARTS, **changes}.items() if found}
    return Build(pattern, {name: Fill(slots[name], found, Place("build.csv", 2)) for name, found in filled.items()})


def finding(one: Fit, **changes: Part | None) -> FitFinding:
    (found,) = check_fits(Figures(build_of(one, **changes), NO_BILL))
    return found


@pytest.mark.parametrize(
    ("one", "verdict", "margin"),
    [
        # pistons 3.995 in, block 4 in: apart 0.005
        (fit("pistons.bore", "equal", "block.bore", within="0.006 in"), "meets", 0.001),
        (fit("pistons.bore", "equal", "block.bore", within="0.005 in"), "meets", 0.0),
        (fit("pistons.bore", "equal", "block.bore", within="0.127 mm"), "meets", 0.0),
        (fit("pistons.bore", "equal", "block.bore", within="0.0049 in"), "breaks", -0.0001),
        (fit("pistons.bore", "equal", "block.bore"), "breaks", -0.005),
        (fit("block.bore", "equal", "101.6 mm"), "meets", 0.0),
        (fit("block.bore", "equal", "bore"), "meets", 0.0),
        # the spring's margin is 1.9 - 0.56 - 1.15 = 0.19 in
        (fit("intake_spring_margin", "at least", "0.060 in"), "meets", 0.13),
        (fit("intake_spring_margin", "at least", "0.19 in"), "meets", 0.0),
        (fit("intake_spring_margin", "at least", "0.2 in"), "breaks", -0.01),
        (fit("pistons.bore", "at most", "block.bore", plus="-0.003 in"), "meets", 0.002),
        (fit("pistons.bore", "at most", "block.bore", plus="-0.006 in"), "breaks", -0.001),
        (fit("block.bore", "at least", "pistons.bore", plus="0.002 in"), "meets", 0.003),
        (fit("block.bore", "at least", "pistons.bore", plus="0.2 mm"), "breaks", 0.005 - 0.2 / 25.4),
    ],
    ids=lambda value: f"{value.fit} {value.within or value.plus}" if isinstance(value, Fit) else None,
)
def test_numbers_meet_or_break_by_a_margin(one: Fit, verdict: str, margin: float) -> None:
    found = finding(one)
    assert found.verdict == verdict
    assert found.margin is not None
    assert found.margin.to("in") == approx(margin, abs=1e-9)


def test_a_count_is_compared_with_a_count_or_a_number() -> None:
    assert finding(fit("count.rockers", "equal", "count.springs")).verdict == "meets"
    assert finding(fit("count.rockers", "equal", 16)).verdict == "meets"
    assert finding(fit("count.rockers", "at most", 8)).verdict == "breaks"


@pytest.mark.parametrize(
    ("one", "verdict"),
    [
        (fit("pistons.type", "one of", "block.type"), "meets"),
        (fit("pistons.material", "one of", "block.type"), "breaks"),
        (fit("block.material", "equal", "block.material"), "meets"),
        (fit("pistons.material", "equal", "block.material"), "breaks"),
        (fit("pistons.type", "equal", "block.type"), "breaks"),
    ],
    ids=lambda value: value.fit if isinstance(value, Fit) else None,
)
def test_words_meet_or_break(one: Fit, verdict: str) -> None:
    found = finding(one)
    assert (found.verdict, found.margin, found.difference) == (verdict, None, None)


@pytest.mark.parametrize(
    ("offered", "wanted", "verdict"),
    [
        ("short long", "long", "meets"),
        ("short,long", "long", "meets"),
        ("short long", "Long", "breaks"),
        ("short longer", "long", "breaks"),
        ("cast iron, steel", "cast iron", "meets"),
        ("cast iron, steel", "iron", "breaks"),
        ("", "long", "cannot be shown"),
    ],
)
def test_the_words_of_a_list(offered: str, wanted: str, verdict: str) -> None:
    found = finding(
        fit("pistons.type", "one of", "block.type"), block=part("B-2", type=offered), pistons=part("P-2", type=wanted)
    )
    assert found.verdict == verdict


def test_what_is_missing_is_named_and_nothing_is_taken_as_zero() -> None:
    found = finding(fit("pistons.bore", "equal", "block.bore", within="9 in"), pistons=part("P-2"))
    assert (found.verdict, found.value, found.other, found.margin) == ("cannot be shown", None, inches(4.0), None)
    assert found.missing == ("bore of P-2 (parts.csv:2)",)
    assert found.why == ("bore 4 in of B-1 in block (parts.csv:2)",)


def test_a_measure_without_its_inputs_cannot_be_shown() -> None:
    found = finding(fit("intake_spring_margin", "at least", "0.060 in"), rockers=part("K-2"))
    assert (found.verdict, found.missing) == ("cannot be shown", ("rocker_ratio of K-2 (parts.csv:2)",))


def test_a_finding_says_what_was_compared_and_where_it_stands() -> None:
    found = finding(fit("pistons.bore", "at most", "block.bore", plus="-0.003 in", why="room for the piston"))
    assert (found.this, found.must, found.that, found.for_what) == (
        "pistons.bore",
        "at most",
        "block.bore less 0.003 in",
        "room for the piston",
    )
    assert (found.value, found.other, found.slots) == (inches(3.995), inches(4.0), ("pistons", "block"))
    assert found.difference is not None
    assert found.difference.to("in") == approx(-0.005)
    assert found.why == ("bore 3.995 in of P-1 in pistons (parts.csv:2)", "bore 4 in of B-1 in block (parts.csv:2)")
    assert found.place == "pattern.toml:9"


def test_a_quantity_is_the_row_it_stands_in() -> None:
    assert finding(fit("block.bore", "at most", "4.06 in")).why[-1] == "at most 4.06 in (pattern.toml:9)"


def test_an_optional_slot_left_empty_is_not_asked() -> None:
    one = fit("spacer.thickness", "at most", "1 in")
    assert check_fits(Figures(build_of(one), NO_BILL)) == ()
    assert finding(one, spacer=part("X-1", thickness=inches(1.5))).verdict == "breaks"
    assert finding(one, spacer=part("X-2")).verdict == "cannot be shown"


def test_a_measure_that_rests_on_an_optional_slot_left_empty_is_not_asked() -> None:
    one = fit("bore", "at most", "4.1 in")
    build = build_of(one)
    inputs = {**build.pattern.inputs, "bore": (Reference("spacer", "bore"), Place("pattern.toml", 3))}
    assert check_fits(Figures(replace(build, pattern=replace(build.pattern, inputs=inputs)), NO_BILL)) == ()


def test_sums_over_slots_are_asked_whatever_is_empty() -> None:
    found = finding(fit("count.spacer", "at most", 1))
    assert (found.verdict, found.value) == ("meets", Quantity(0.0))
    assert finding(fit("mass", "at most", "1 kg")).verdict == "cannot be shown"


def test_noise_of_floats_breaks_no_fit() -> None:
    # 0.1 + 0.2 in is above 0.3 in by one part in 10^16
    block, piston = part("B-2", bore=inches(0.1 + 0.2)), part("P-2", bore=inches(0.3))
    assert finding(fit("block.bore", "at most", "pistons.bore"), block=block, pistons=piston).verdict == "meets"
    assert finding(fit("block.bore", "equal", "pistons.bore"), block=block, pistons=piston).verdict == "meets"


# Which slots take part ------------------------------------------------------------------------------------------------

MARGIN = fit("intake_spring_margin", "at least", "0.060 in")
BORE = fit("pistons.bore", "equal", "block.bore", within="0.006 in")
COUNTS = fit("count.rockers", "equal", "count.springs")
WEIGHT = fit("mass", "at most", "300 kg")


@pytest.mark.parametrize(
    ("slot", "taken"),
    [
        ("springs", (MARGIN, COUNTS, WEIGHT)),
        ("rockers", (MARGIN, COUNTS, WEIGHT)),
        ("camshaft", (MARGIN, WEIGHT)),
        ("pistons", (BORE, WEIGHT)),
        ("block", (BORE, WEIGHT)),
        ("carburetor", (WEIGHT,)),
    ],
)
def test_a_slot_takes_part_in_fits_through_measures_too(slot: str, taken: tuple[Fit, ...]) -> None:
    assert fits_of(slot, build_of(MARGIN, BORE, COUNTS, WEIGHT).pattern) == taken


def test_an_input_of_one_valve_brings_its_own_slot() -> None:
    build = build_of(MARGIN)
    own = {"intake_rocker_ratio": (Reference("carburetor", "rocker_ratio"), Place("pattern.toml", 4))}
    pattern = replace(build.pattern, inputs={**build.pattern.inputs, **own})
    assert (fits_of("carburetor", pattern), fits_of("rockers", pattern)) == ((MARGIN,), ())


def test_an_input_that_is_a_number_brings_no_slot() -> None:
    build = build_of(MARGIN)
    inputs = {**build.pattern.inputs, "rocker_ratio": (Quantity(1.6), Place("pattern.toml", 4))}
    assert fits_of("rockers", replace(build.pattern, inputs=inputs)) == ()


# Another part in a slot -----------------------------------------------------------------------------------------------


def verdict_with(build: Build, slot: str, other: Part, one: Fit) -> str:
    return find_fit(one, Figures(with_part(build, slot, other), NO_BILL)).verdict


def test_each_candidate_of_a_slot_can_be_tried() -> None:
    build = build_of(MARGIN)
    short = part("S-2", installed_height=inches(1.75), coil_bind_height=inches(1.15))
    assert [verdict_with(build, "springs", spring, MARGIN) for spring in (PARTS["springs"], short, part("S-3"))] == [
        "meets",
        "breaks",
        "cannot be shown",
    ]
    assert build.fills["springs"].part == PARTS["springs"]


def test_a_part_may_be_tried_in_an_empty_slot() -> None:
    build = with_part(build_of(), "spacer", part("X-1", thickness=inches(1)))
    assert Figures(build, NO_BILL).named("spacer.thickness").value == inches(1)


def test_another_part_does_not_come_in_the_kit_nor_with_service_steps_but_is_worked_on_as_planned() -> None:
    bored = Operation(operation="bore", role="block").model_copy(update={"changes": {"bore": inches(0.03)}})
    build = build_of()
    fill = replace(build.fills["block"], operations=(bored,), kit="K-1", steps=(bored,))
    tried = with_part(replace(build, fills={**build.fills, "block": fill}), "block", part("B-2", bore=inches(3.9)))
    found = tried.fills["block"]
    assert (found.kit, found.steps, found.operations) == ("", (), (bored,))
    bore = Figures(tried, NO_BILL).named("block.bore").value
    assert bore is not None
    assert bore.to("in") == approx(3.93)


def bench(slot: str, attribute: str, value: float) -> Bench:
    return Bench(slot=slot, attribute=attribute, value=Decimal(repr(value)), unit="in", date=date(2027, 2, 3))


def test_what_was_measured_on_a_part_does_not_hold_for_another() -> None:
    rows = (
        bench("springs", "installed_height", 1.8),
        bench("block", "bore", 4.1),
        bench("", "intake_spring_margin", 1),
    )
    build = replace(build_of(), bench=rows)
    tried = with_part(build, "springs", part("S-2", installed_height=inches(1.7), coil_bind_height=inches(1.0)))
    assert tried.bench == (rows[1],)
    margin = Figures(tried, NO_BILL).measure("intake_spring_margin").value
    assert margin is not None
    assert margin.to("in") == approx(1.7 - 0.56 - 1.0)


def test_of_alternates_the_main_one_is_tried() -> None:
    build = build_of()
    main, wet = build.fills["carburetor"], replace(build.fills["carburetor"], part=part("CR-9"))
    both = (Alternate("wet", ("rain",), wet), Alternate("dry", (), main))
    tried = with_part(replace(build, alternates={"carburetor": both}), "carburetor", part("CR-2"))
    assert [one.fill.part.part for one in tried.alternates["carburetor"]] == ["CR-9", "CR-2"]
    assert [fill.part.part for fill in tried.everything()].count("CR-2") == 1
    assert tried.part("carburetor") == tried.alternates["carburetor"][1].fill.part
