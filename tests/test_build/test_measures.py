"""Measures of a build by hand, what the bench says of them, and what operations and service steps change."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from pytest import approx

from costplan.build import (
    INPUTS,
    MEANINGS,
    MEASURES_OF_BUILD,
    Bill,
    Build,
    Figure,
    Figures,
    Fill,
    Pattern,
    Reference,
    Slot,
)
from costplan.catalog import ATTRIBUTES, Operation, Part
from costplan.formulas import driven_speed, spring_force, spring_margin
from costplan.garage import Bench
from costplan.problems import Place
from costplan.quantity import Quantity

DAY = date(2027, 2, 3)
NO_BILL = Bill((), "USD", DAY, None, Decimal(0), Decimal(0), 0, None)
PLACE = Place("pattern.toml", 1)


def inches(value: float) -> Quantity:
    return Quantity(value, "in")


def part(name: str, role: str = "any", **attributes: Quantity | str) -> Part:
    found = Part(part=name, role=role, supplier="x", place=Place("parts.csv", 2))
    return found.model_copy(update={"attributes": attributes})


def operation(name: str, line: int = 3, **changes: Quantity) -> Operation:
    return Operation(operation=name, role="any", place=Place("operations.csv", line)).model_copy(
        update={"changes": changes}
    )


def measured(slot: str, attribute: str, value: str, unit: str = "", **more: Any) -> Bench:
    known: dict[str, Any] = {"date": "2027-02-03", "place": Place("bench.csv", 4), **more}
    context = {
        "attributes": {name: found.what for name, found in ATTRIBUTES.items()},
        "measures": {**INPUTS, "displacement": "volume", "mass": "mass", "intake_lift": "length"},
    }
    row = {"slot": slot, "attribute": attribute, "value": value, "unit": unit, **known}
    return Bench.model_validate(row, context=context)


def build_of(
    *fills: tuple[str, int, Part], optional: tuple[str, ...] = (), **inputs: Quantity | Reference | float
) -> Build:
    """A build of (slot, quantity, part), each slot with its part's role, with the pattern's inputs."""
    slots = {name: Slot(slot=name, role=found.role, quantity=n) for name, n, found in fills}
    slots |= {name: Slot(slot=name, role="extra", optional=True) for name in optional}
    given = {
        name: (value if isinstance(value, Quantity | Reference) else Quantity(value), PLACE)
        for name, value in inputs.items()
    }
    filled = {name: Fill(slots[name], found, Place("build.csv", 2)) for name, _, found in fills}
    return Build(Pattern("by hand", slots, given, "pattern.toml"), filled)


def figures(build: Build) -> Figures:
    return Figures(build, NO_BILL)


def value_of(figure: Figure, unit: str) -> float:
    assert figure.missing == ()
    assert figure.value is not None
    return figure.value.to(unit)


VALVETRAIN: dict[str, Any] = {
    "intake_lobe_lift": inches(0.35),
    "exhaust_lobe_lift": inches(0.34),
    "rocker_ratio": 1.6,
    "installed_height": inches(1.9),
    "coil_bind_height": inches(1.15),
    "seat_force": Quantity(150, "lbf"),
    "spring_rate": Quantity(400, "lbf/in"),
}


@pytest.mark.parametrize(
    ("measure", "value", "unit"),
    [
        ("bore", 4.0, "in"),
        ("stroke", 3.25, "in"),
        ("rod_ratio", 6 / 3.25, "1"),
        ("intake_lift", 0.56, "in"),  # 0.35 * 1.6
        ("exhaust_lift", 0.544, "in"),  # 0.34 * 1.6
        ("intake_spring_margin", 0.19, "in"),  # 1.9 - 0.56 - 1.15
        ("exhaust_spring_margin", 0.206, "in"),  # 1.9 - 0.544 - 1.15
        ("intake_spring_force", 374.0, "lbf"),  # 150 + 400 * 0.56
        ("exhaust_spring_force", 367.6, "lbf"),  # 150 + 400 * 0.544
        ("water_pump_speed", 6000.0, "rpm"),  # 7200 * 5 / 6
    ],
)
def test_each_measure_by_hand(measure: str, value: float, unit: str) -> None:
    build = build_of(
        **VALVETRAIN,
        bore=inches(4),
        stroke=inches(3.25),
        rod_length=inches(6),
        red_line=Quantity(7200, "rpm"),
        drive_pulley=inches(5),
        water_pump_pulley=Quantity(152.4, "mm"),
    )
    assert value_of(figures(build).measure(measure), unit) == approx(value, rel=1e-9)


@pytest.mark.parametrize(
    ("own", "measure", "value", "unit"),
    [
        ({"exhaust_rocker_ratio": 1.5}, "exhaust_lift", 0.51, "in"),
        ({"exhaust_rocker_ratio": 1.5}, "intake_lift", 0.56, "in"),
        ({"exhaust_rocker_ratio": 1.5}, "exhaust_spring_margin", 0.24, "in"),
        ({"intake_installed_height": inches(1.85)}, "intake_spring_margin", 0.14, "in"),
        ({"intake_installed_height": inches(1.85)}, "exhaust_spring_margin", 0.206, "in"),
        ({"intake_coil_bind_height": inches(1.1)}, "intake_spring_margin", 0.24, "in"),
        ({"exhaust_seat_force": Quantity(100, "lbf")}, "exhaust_spring_force", 317.6, "lbf"),
        ({"exhaust_spring_rate": Quantity(300, "lbf/in")}, "exhaust_spring_force", 313.2, "lbf"),
    ],
)
def test_an_input_of_one_valve_goes_before_that_of_both(own: Any, measure: str, value: float, unit: str) -> None:
    assert value_of(figures(build_of(**{**VALVETRAIN, **own})).measure(measure), unit) == approx(value, rel=1e-9)


def test_without_a_shared_input_one_valves_own_is_enough_for_it_alone() -> None:
    inputs = {name: value for name, value in VALVETRAIN.items() if name != "rocker_ratio"}
    found = figures(build_of(**inputs, intake_rocker_ratio=1.6))
    assert value_of(found.measure("intake_lift"), "in") == approx(0.56)
    exhaust = found.measure("exhaust_lift")
    assert (exhaust.value, exhaust.missing) == (None, ("rocker_ratio under [inputs]",))


def test_a_spring_may_bind_before_full_lift() -> None:
    margin = figures(build_of(**{**VALVETRAIN, "coil_bind_height": inches(1.4)})).measure("intake_spring_margin")
    assert value_of(margin, "in") == approx(-0.06)


@pytest.mark.parametrize("measure", [name for name in MEASURES_OF_BUILD if name not in ("price", "mass")])
def test_without_any_input_a_measure_is_unknown_never_zero(measure: str) -> None:
    figure = figures(build_of()).measure(measure)
    assert figure.value is None
    assert len(figure.missing) == len(figure.ungiven) >= 1


def test_what_the_pattern_lacks_is_told_from_what_a_part_lacks() -> None:
    build = build_of(("crank", 1, part("C-1")), stroke=Reference("crank", "stroke"))
    figure = figures(build).measure("rod_ratio")
    assert figure.missing == ("rod_length under [inputs]", "stroke of C-1 (parts.csv:2)")
    assert figure.ungiven == ("rod_length",)


def test_what_has_no_answer_is_unknown_and_says_which_input() -> None:
    build = build_of(("block", 1, part("B-1")), red_line=Quantity(7000, "rpm"))
    pulleys = {"drive_pulley": Quantity(125, "mm"), "water_pump_pulley": Quantity(-175, "mm")}
    inputs = {name: (value, PLACE) for name, value in pulleys.items()}
    pattern = replace(build.pattern, inputs={**build.pattern.inputs, **inputs})
    figure = figures(replace(build, pattern=pattern)).measure("water_pump_speed")
    assert (figure.value, figure.missing) == (None, ("a possible driven_diameter (-175)",))


def test_limiting_cases() -> None:
    assert spring_force(600, 60, 0) == 600
    assert spring_margin(40, 8, 32) == 0
    assert driven_speed(7000, 5, 5) == 7000


def test_every_input_has_a_meaning() -> None:
    assert set(MEANINGS) == set(INPUTS)
    assert all(MEANINGS.values())


def test_pieces_are_counted_by_role_over_all_slots() -> None:
    build = build_of(
        ("intake", 8, part("V-1", "valve")), ("exhaust", 8, part("V-2", "valve")), ("crank", 1, part("C-1", "crank"))
    )
    found = figures(build)
    assert [value_of(found.named(f"count.{role}"), "1") for role in ("valve", "crank", "turbo")] == [16, 1, 0]
    assert found.named("count.valve").why[1] == "8 x V-2 in exhaust (build.csv:2)"


def test_an_optional_slot_left_empty_is_not_counted() -> None:
    assert figures(build_of(("crank", 1, part("C-1")), optional=("spacer",))).count("extra").value == Quantity(0.0)


def test_a_name_is_a_measure_an_attribute_or_a_count() -> None:
    build = build_of(("crank", 1, part("C-1", "crank", stroke=inches(3))), stroke=Reference("crank", "stroke"))
    found = figures(build)
    assert [found.named(name).value for name in ("stroke", "crank.stroke", "count.crank")] == [
        inches(3),
        inches(3),
        Quantity(1.0),
    ]


# The bench ------------------------------------------------------------------------------------------------------------


def block(*bench: Bench, bore: float = 4.0) -> Build:
    build = build_of(
        ("block", 1, part("B-1", bore=inches(bore), material="iron")),
        bore=Reference("block", "bore"),
        stroke=inches(3.0),
        cylinders=8.0,
    )
    return replace(build, bench=bench)


def test_a_measured_attribute_goes_before_the_catalogs_and_says_so() -> None:
    row = measured("block", "bore", "4.0012", "in", by="A. Builder", instrument="bore gauge")
    figure = figures(block(row)).attribute("block", "bore")
    words = (
        "bore of B-1 in block measured 4.0012 in on 2027-02-03 by A. Builder with bore gauge (bench.csv:4), "
        "catalog says 4 in (parts.csv:2)"
    )
    assert (figure.value, figure.why, figure.measured) == (inches(4.0012), (words,), words)


def test_measures_are_worked_out_from_what_was_measured() -> None:
    # 8 cylinders * pi/4 * 4.1^2 * 3
    found = figures(block(measured("block", "bore", "4.1", "in")))
    assert value_of(found.measure("displacement"), "in3") == approx(6 * math.pi * 16.81)
    assert value_of(found.measure("bore"), "in") == 4.1
    assert "measured 4.1 in" in found.measure("displacement").why[0]


def test_a_measured_value_may_be_in_another_unit() -> None:
    figure = figures(block(measured("block", "bore", "101.6", "mm"))).measure("bore")
    assert figure.value == Quantity(101.6, "mm")


def test_a_measured_measure_goes_before_the_one_worked_out() -> None:
    # by hand: 8 * pi/4 * 16 * 3 = 301.593 in3
    figure = figures(block(measured("", "displacement", "300.9", "in3"))).measure("displacement")
    assert figure.value == Quantity(300.9, "in3")
    assert figure.why == ("displacement measured 300.9 in3 on 2027-02-03 (bench.csv:4), worked out 4942.22 cm3",)


def test_a_measured_measure_is_shown_in_the_patterns_unit() -> None:
    build = block(measured("", "displacement", "300", "in3"))
    build = replace(build, pattern=replace(build.pattern, units={"displacement": "cm3"}))
    assert value_of(figures(build).measure("displacement"), "cm3") == approx(300 * 16.387064)


def test_a_measure_that_parts_do_not_give_may_be_measured() -> None:
    build = build_of(("rods", 8, part("R-1")))
    assert figures(build).measure("mass").missing == ("mass of R-1 (parts.csv:2)",)
    figure = figures(replace(build, bench=(measured("", "mass", "212", "kg"),))).measure("mass")
    assert figure.value == Quantity(212, "kg")
    assert figure.why[0].endswith("not known from the parts")


def test_an_input_may_be_measured_whether_or_not_the_pattern_gives_it() -> None:
    row = measured("", "exhaust_rocker_ratio", "1.55")
    found = figures(replace(build_of(**VALVETRAIN), bench=(row,)))
    assert value_of(found.measure("exhaust_lift"), "in") == approx(0.527)  # 0.34 * 1.55
    assert value_of(found.measure("intake_lift"), "in") == approx(0.56)


def test_a_measured_lift_is_what_the_spring_sees() -> None:
    found = figures(replace(build_of(**VALVETRAIN), bench=(measured("", "intake_lift", "0.55", "in"),)))
    assert value_of(found.measure("intake_spring_margin"), "in") == approx(0.2)


def test_what_the_catalog_does_not_say_may_be_measured() -> None:
    figure = figures(block(measured("block", "deck_height", "9.001", "in"))).attribute("block", "deck_height")
    assert figure.value == inches(9.001)
    assert figure.why[0].endswith("catalog says nothing (parts.csv:2)")


def test_a_word_may_be_measured_too() -> None:
    word = figures(block(measured("block", "material", "steel"))).word("block", "material")
    assert word.value == "steel"
    assert word.why[0].endswith("catalog says iron (parts.csv:2)")
    assert figures(block()).word("block", "material").value == "iron"
    assert figures(block()).word("block", "mark").missing == ("mark of B-1 (parts.csv:2)",)


def test_a_measured_mass_counts_for_each_piece() -> None:
    build = build_of(("pistons", 8, part("P-1", mass=Quantity(500, "g"))))
    found = figures(replace(build, bench=(measured("pistons", "mass", "496", "g"),)))
    assert value_of(found.measure("mass"), "g") == approx(8 * 496)


def test_all_that_was_measured_is_listed() -> None:
    rows = (measured("block", "bore", "4.1", "in"), measured("", "displacement", "300", "in3"))
    build = block(*rows, measured("block", "material", "steel"))
    build = replace(build, pattern=replace(build.pattern, words=frozenset({"material"})))
    assert [found.value for found in figures(build).benched()] == [inches(4.1), Quantity(300, "in3"), "steel"]


# Operations -----------------------------------------------------------------------------------------------------------


def decked(*operations: Operation, steps: tuple[Operation, ...] = (), known: bool = True) -> Build:
    """A block, 9 in high where that is known, with what was done to it."""
    found = part("B-1", deck_height=inches(9.0)) if known else part("B-1")
    build = build_of(
        ("block", 1, found),
        deck_height=Reference("block", "deck_height"),
        stroke=inches(3.25),
        rod_length=inches(6.0),
        pin_height=inches(1.35),
    )
    fill = replace(build.fills["block"], operations=operations, steps=steps)
    return replace(build, fills={"block": fill})


def test_an_operation_adds_to_the_catalogs_value_and_is_named() -> None:
    figure = figures(decked(operation("deck-10", deck_height=inches(-0.010)))).attribute("block", "deck_height")
    assert value_of(figure, "in") == approx(8.990)
    assert figure.why == (
        "deck_height 9 in of B-1 in block (parts.csv:2)",
        "deck-10 adds -0.01 in (operations.csv:3) to deck_height of B-1 in block",
    )


def test_operations_add_up_in_the_parts_unit() -> None:
    # 9 in - 0.010 in - 0.254 mm (0.010 in) = 8.980 in; 8.98 - 1.625 - 6 - 1.35 = 0.005 in
    ops = (operation("deck-10", deck_height=inches(-0.010)), operation("skim", deck_height=Quantity(-0.254, "mm")))
    found = figures(decked(*ops))
    assert value_of(found.attribute("block", "deck_height"), "in") == approx(8.980)
    assert value_of(found.measure("deck_clearance"), "in") == approx(0.005, abs=1e-12)


def test_service_steps_come_on_top_of_planned_operations() -> None:
    deck = operation("deck-10", deck_height=inches(-0.010))
    figure = figures(decked(deck, steps=(operation("redeck", 5, deck_height=inches(-0.005)),))).named(
        "block.deck_height"
    )
    assert value_of(figure, "in") == approx(8.985)
    assert "redeck adds -0.005 in (operations.csv:5)" in figure.why[2]


def test_an_operation_on_what_the_part_does_not_give_leaves_it_unknown() -> None:
    figure = figures(decked(operation("deck-10", deck_height=inches(-0.010)), known=False)).named("block.deck_height")
    assert figure.value is None
    assert figure.missing == ("deck_height of B-1 (parts.csv:2), to which deck-10 adds -0.01 in (operations.csv:3)",)


def test_other_attributes_stay_as_they_are() -> None:
    figure = figures(decked(operation("hone", bore=inches(0.03)))).attribute("block", "deck_height")
    assert (figure.value, len(figure.why)) == (inches(9.0), 1)


def test_the_bench_goes_before_operations() -> None:
    build = decked(operation("deck-10", deck_height=inches(-0.010)))
    row = measured("block", "deck_height", "8.992", "in")
    figure = figures(replace(build, bench=(row,))).attribute("block", "deck_height")
    assert figure.value == inches(8.992)
    assert figure.why[0].endswith("catalog says 9 in (parts.csv:2), 8.99 in after deck-10")


def test_steps_that_leave_nothing_leave_the_value_unknown() -> None:
    figure = figures(decked(steps=(operation("plane", deck_height=inches(-10)),))).attribute("block", "deck_height")
    assert figure.value is None
    assert figure.missing == ("operations that leave some deck_height of B-1",)


def test_an_operation_may_change_the_mass() -> None:
    build = build_of(("rods", 8, part("R-1", mass=Quantity(600, "g"))))
    fill = replace(build.fills["rods"], operations=(operation("polish", mass=Quantity(-12, "g")),))
    found = figures(replace(build, fills={"rods": fill})).measure("mass")
    assert value_of(found, "g") == approx(8 * 588)
    assert found.why == (
        "8 x mass 600 g of R-1 in rods (parts.csv:2)",
        "8 x polish adds -12 g (operations.csv:3) to mass of R-1 in rods",
    )
