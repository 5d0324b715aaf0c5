"""How far figures may be off, by hand: makers' tolerances at their worst, and the uncertainty of what was measured."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pytest import approx

import costplan.build.spread
from costplan.build import INPUTS, MEASURES_OF_BUILD, Bill, Build, Figures, Fill, Pattern, Reference, Slot
from costplan.build.spread import Spread
from costplan.catalog import ATTRIBUTES, Operation, Part
from costplan.garage import Bench
from costplan.problems import Place
from costplan.quantity import Quantity

DAY = date(2027, 2, 3)
NO_BILL = Bill((), "USD", DAY, None, Decimal(0), Decimal(0), 0, None)
PLACE = Place("pattern.toml", 1)


def inches(value: float) -> Quantity:
    return Quantity(value, "in")


def part(name: str, within: dict[str, Quantity] | None = None, **attributes: Quantity | str) -> Part:
    found = Part(part=name, role="any", supplier="x", place=Place("parts.csv", 2))
    return found.model_copy(update={"attributes": attributes, "tolerances": within or {}})


def measured(slot: str, attribute: str, value: float | str, unit: str = "", uncertainty: float | None = None) -> Bench:
    context = {
        "attributes": {name: found.what for name, found in ATTRIBUTES.items()},
        "measures": {**INPUTS, "displacement": "volume", "compression_ratio": "number"},
    }
    row = {"slot": slot, "attribute": attribute, "value": str(value), "unit": unit, "date": "2027-02-03"}
    row |= {} if uncertainty is None else {"uncertainty": str(uncertainty)}
    return Bench.model_validate({**row, "by": "A. Builder", "place": Place("bench.csv", 4)}, context=context)


def figures_of(
    *fills: tuple[str, int, Part], bench: tuple[Bench, ...] = (), units: dict[str, str] | None = None, **inputs: Any
) -> Figures:
    """The figures of a build of (slot, quantity, part) with the pattern's inputs: "slot.attribute", or numbers."""
    slots = {name: Slot(slot=name, role=name, quantity=number) for name, number, _ in fills}
    sources = {name: (to_source(value), PLACE) for name, value in inputs.items()}
    filled = {name: Fill(slots[name], found, Place("build.csv", 2)) for name, _, found in fills}
    numbers = {name: found.what for name, found in ATTRIBUTES.items() if found.what != "text"}
    pattern = Pattern("by hand", slots, sources, "pattern.toml", numbers, units or {}, frozenset({"mark"}))
    return Figures(Build(pattern, filled, bench=bench), NO_BILL)


def to_source(value: str | float | Quantity) -> Quantity | Reference:
    if isinstance(value, str):
        slot, _, attribute = value.partition(".")
        return Reference(slot, attribute)
    return value if isinstance(value, Quantity) else Quantity(value)


def within(found: Spread, unit: str) -> tuple[float, float]:
    assert found.missing == ()
    assert found.low is not None
    assert found.high is not None
    return found.low.to(unit), found.high.to(unit)


def uncertain(found: Spread, unit: str) -> float:
    assert found.uncertainty is not None
    return found.uncertainty.to(unit)


BLOCK = part("B-1", {"bore": inches(0.001), "deck_height": inches(0.005)}, bore=inches(4.0), deck_height=inches(9.0))
CRANK = part("C-1", {"stroke": inches(0.002)}, stroke=inches(3.25))
RODS = part("R-1", {"rod_length": inches(0.001)}, rod_length=inches(6.0))
PISTONS = part("P-1", {"pin_height": Quantity(0.0254, "mm")}, pin_height=inches(1.37))
#: Lengths of an engine with the makers' tolerances of its block, crank, rods and pistons.
BOTTOM: tuple[tuple[str, int, Part], ...] = (
    ("block", 1, BLOCK),
    ("crank", 1, CRANK),
    ("rods", 8, RODS),
    ("pistons", 8, PISTONS),
)
LENGTHS: dict[str, Any] = {
    "bore": "block.bore",
    "deck_height": "block.deck_height",
    "stroke": "crank.stroke",
    "rod_length": "rods.rod_length",
    "pin_height": "pistons.pin_height",
    "cylinders": 8,
}


def bottom(*bench: Bench, **more: Any) -> Figures:
    return figures_of(*BOTTOM, bench=bench, **{**LENGTHS, **more})


# Tolerances -----------------------------------------------------------------------------------------------------------


def test_an_attribute_is_off_by_its_tolerance() -> None:
    found = bottom().spread("block.bore")
    assert (found.low, found.high, found.uncertainty) == (inches(3.999), inches(4.001), None)


def test_a_product_is_at_its_worst_with_all_factors_at_their_edges() -> None:
    low, high = within(bottom().spread("displacement"), "in3")
    assert low == approx(8 * math.pi / 4 * 3.999**2 * 3.248, rel=1e-12)
    assert high == approx(8 * math.pi / 4 * 4.001**2 * 3.252, rel=1e-12)


def test_in_a_difference_some_pieces_are_long_and_others_short() -> None:
    # 9 - 3.25/2 - 6 - 1.37 = 0.005 in; off by 0.005 + 0.002/2 + 0.001 + 0.001 = 0.008 in
    assert within(bottom().spread("deck_clearance"), "in") == approx((-0.003, 0.013), abs=1e-12)


def test_a_ratio_is_greatest_with_the_divisor_at_its_least() -> None:
    low, high = within(bottom().spread("rod_ratio"), "1")
    assert (low, high) == approx((5.999 / 3.252, 6.001 / 3.248), rel=1e-12)


TOP: dict[str, Any] = {
    "chamber_volume": Quantity(64, "cm3"),
    "gasket_bore": inches(4.1),
    "gasket_thickness": inches(0.04),
    "dish_volume": Quantity(5, "cm3"),
    "deck_clearance": inches(0.5),
}


def ratio(bore: float, stroke: float, chamber: float = 64 / 16.387064) -> float:
    """The compression ratio with the rest as in `TOP`, in inches."""
    clearance = chamber + math.pi / 4 * 4.1**2 * 0.04 + math.pi / 4 * bore**2 * 0.5 + 5 / 16.387064
    return (math.pi / 4 * bore**2 * stroke + clearance) / clearance


def test_a_bore_that_counts_twice_is_one_bore() -> None:
    low, high = within(bottom(**TOP).spread("compression_ratio"), "1")
    assert (low, high) == approx((ratio(3.999, 3.248), ratio(4.001, 3.252)), rel=1e-12)
    # the wide bore's swept volume over the narrow one's clearance would be higher: no such engine can be built
    assert high < 1 + 4.001**2 * 3.252 / (3.999**2 * 3.252) * (ratio(3.999, 3.252) - 1)


def test_the_tolerance_of_each_piece_counts_as_often_as_there_are_pieces() -> None:
    pistons = part("P-1", {"mass": Quantity(2, "g")}, mass=Quantity(500, "g"))
    crank = part("C-1", {"mass": Quantity(0.1, "kg")}, mass=Quantity(20, "kg"))
    found = figures_of(("pistons", 8, pistons), ("crank", 1, crank), ("bolts", 9, part("S-1", mass=Quantity(10, "g"))))
    # 8 * 0.5 + 20 + 9 * 0.01 = 24.09 kg; off by 8 * 0.002 + 0.1 = 0.116 kg
    assert within(found.spread("mass"), "kg") == approx((23.974, 24.206), rel=1e-12)


def test_a_tolerance_stays_with_a_piece_through_operations() -> None:
    found = bottom()
    bored = Operation(operation="bore-30", role="any", place=PLACE).model_copy(
        update={"changes": {"bore": inches(0.030)}}
    )
    fills = {**found.build.fills, "block": replace(found.build.fills["block"], operations=(bored,))}
    later = Figures(replace(found.build, fills=fills), NO_BILL)
    assert within(later.spread("block.bore"), "in") == approx((4.029, 4.031))


def test_a_spread_is_in_the_unit_of_its_figure() -> None:
    found = figures_of(*BOTTOM, units={"rod_ratio": "%", "bore": "in"}, **LENGTHS)
    assert found.spread("bore").high == inches(4.001)
    ratio = found.spread("rod_ratio").high
    assert ratio is not None
    assert ratio.unit == "%"
    assert ratio.value == approx(100 * 6.001 / 3.248)


def test_a_tolerance_of_nothing_leaves_exactly_the_value() -> None:
    exact = part("B-1", {"bore": inches(0.0)}, bore=inches(4.03))
    found = figures_of(
        ("block", 1, exact), units={"displacement": "in3"}, bore="block.bore", stroke=inches(3.3), cylinders=8
    )
    value = found.named("displacement").value
    assert value is not None
    assert (found.spread("displacement").low, found.spread("displacement").high) == (value, value)


def test_without_tolerances_and_uncertainties_nothing_is_worked_out_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    found = figures_of(("block", 1, part("B-1", bore=inches(4))), bore="block.bore", stroke=inches(3), cylinders=8)
    monkeypatch.setattr(costplan.build.spread, "value_of", lambda *_: pytest.fail("worked out anew"))
    spread = found.spread("displacement")
    assert (spread.low, spread.high, spread.uncertainty, spread.missing) == (None, None, None, ())


def test_of_what_is_not_known_nothing_is_said() -> None:
    found = figures_of(("block", 1, BLOCK), bore="block.bore", cylinders=8).spread("displacement")
    assert (found.low, found.high, found.uncertainty) == (None, None, None)


def test_a_corner_without_an_answer_says_so_instead_of_passing_for_certain() -> None:
    head = part("H-1", {"chamber_volume": Quantity(30, "cm3")}, chamber_volume=Quantity(40, "cm3"))
    dome = {
        **TOP,
        "dish_volume": Quantity(-30, "cm3"),
        "deck_clearance": inches(0.001),
        "chamber_volume": "head.chamber_volume",
    }
    found = figures_of(("head", 1, head), bore=inches(4), stroke=inches(3), **dome)
    assert found.named("compression_ratio").value is not None
    spread = found.spread("compression_ratio")
    assert (spread.low, spread.high) == (None, None)
    assert [words.split(" (")[0] for words in spread.missing] == ["a possible clearance"]


# Sums and differences of names ----------------------------------------------------------------------------------------


def test_a_sum_of_names_is_off_by_the_sum_of_their_tolerances() -> None:
    found = bottom().spread("rods.rod_length", "pistons.pin_height")
    assert within(found, "in") == approx((7.368, 7.372))


def test_what_is_taken_off_itself_leaves_nothing_to_be_off() -> None:
    assert within(bottom().spread("block.bore", less=["block.bore"]), "in") == (0, 0)
    assert within(bottom().spread("block.bore", "block.bore"), "in") == approx((7.998, 8.002))


def test_a_difference_to_the_part_as_made_is_off_by_the_tolerance_once() -> None:
    found = bottom(measured("pistons", "pin_height", 1.371, "in"))
    assert within(found.spread("block.bore", less=["made.block.bore"]), "in") == approx((-0.001, 0.001))


# Uncertainty ----------------------------------------------------------------------------------------------------------


def test_what_was_measured_is_known_and_its_makers_tolerance_counts_no_more() -> None:
    found = bottom(measured("block", "bore", 4.0004, "in")).spread("displacement")
    low, high = within(found, "in3")
    assert low == approx(8 * math.pi / 4 * 4.0004**2 * 3.248, rel=1e-12)
    assert high == approx(8 * math.pi / 4 * 4.0004**2 * 3.252, rel=1e-12)
    assert found.uncertainty is None


def test_an_uncertainty_counts_by_the_slope() -> None:
    # d(pi/4 b^2 s n)/db = 2 V/b
    found = bottom(measured("block", "bore", 4.0, "in", 0.0005)).spread("displacement")
    assert uncertain(found, "in3") == approx(2 * (8 * math.pi / 4 * 16 * 3.25) / 4 * 0.0005, rel=1e-6)


def test_uncertainties_add_up_by_their_squares() -> None:
    # deck 0.0003, half the stroke's 0.0008: the root of 3^2 + 4^2 is 5
    rows = (measured("block", "deck_height", 9.0, "in", 0.0003), measured("crank", "stroke", 3.25, "in", 0.0008))
    found = bottom(*rows).spread("deck_clearance")
    assert uncertain(found, "in") == approx(0.0005, rel=1e-6)
    assert within(found, "in") == approx((0.003, 0.007))  # rods and pistons are still off by their tolerances


def test_an_uncertainty_may_be_in_another_unit_than_the_catalogs() -> None:
    found = bottom(measured("block", "bore", 101.6, "mm", 0.01)).spread("bore")
    assert found.uncertainty is not None
    assert found.uncertainty.unit == "mm"
    assert found.uncertainty.value == approx(0.01, rel=1e-6)


def test_a_measured_mass_of_one_piece_is_uncertain_for_each() -> None:
    pistons = part("P-1", mass=Quantity(500, "g"))
    found = figures_of(("pistons", 8, pistons), bench=(measured("pistons", "mass", 498, "g", 0.5),)).spread("mass")
    assert uncertain(found, "g") == approx(4, rel=1e-6)


def test_a_measured_measure_is_as_uncertain_as_it_says() -> None:
    row = measured("", "displacement", 5.35, "L", 0.01)
    found = bottom(row).spread("displacement")
    assert (found.low, found.high) == (None, None)
    assert uncertain(found, "cm3") == approx(10, rel=1e-6)


def test_a_measured_measure_takes_its_uncertainty_into_others() -> None:
    found = bottom(measured("", "deck_clearance", 0.010, "in", 0.0002), **TOP)
    # dC/ddeck = pi/4 b^2; ratio = 1 + swept / C
    swept, area = math.pi / 4 * 16 * 3.25, math.pi / 4 * 16
    clearance = (64 + 5) / 16.387064 + math.pi / 4 * 4.1**2 * 0.04 + area * 0.010
    assert uncertain(found.spread("compression_ratio"), "1") == approx(swept / clearance**2 * area * 0.0002, rel=1e-6)


# Sources --------------------------------------------------------------------------------------------------------------


def told(figures: Figures, *names: str) -> list[tuple[str, str, bool, bool]]:
    return [(one.slot, one.attribute, one.measured, one.fixed) for one in figures.sources(*names)]


def test_the_sources_of_a_measure_are_told_from_each_other() -> None:
    assert told(bottom(measured("crank", "stroke", 3.25, "in")), "displacement") == [
        ("block", "bore", False, False),
        ("crank", "stroke", True, False),
        ("", "cylinders", False, True),
    ]


def test_a_measure_that_was_measured_rests_on_that_alone() -> None:
    assert told(bottom(measured("", "displacement", 326, "in3")), "displacement") == [("", "displacement", True, False)]


def test_a_measured_input_goes_before_what_the_pattern_leads_it_to() -> None:
    assert told(bottom(measured("", "bore", 4, "in")), "swept_volume") == [
        ("", "bore", True, False),
        ("crank", "stroke", False, False),
    ]


def test_an_input_of_one_valve_is_its_source() -> None:
    lift: dict[str, Any] = {"intake_lobe_lift": inches(0.35), "exhaust_lobe_lift": inches(0.34), "rocker_ratio": 1.6}
    found = figures_of(bench=(measured("", "exhaust_rocker_ratio", 1.55, "", 0.01),), **lift)
    assert told(found, "exhaust_lift")[1] == ("", "exhaust_rocker_ratio", True, False)
    assert told(found, "intake_lift")[1] == ("", "rocker_ratio", False, True)
    assert uncertain(found.spread("exhaust_lift"), "in") == approx(0.0034, rel=1e-6)


def test_what_nothing_gives_is_a_source_without_a_value() -> None:
    found = figures_of(("crank", 1, part("C-1")), stroke="crank.stroke")
    assert [(one.slot, one.attribute, one.value) for one in found.sources("rod_ratio")] == [
        ("", "rod_length", None),
        ("crank", "stroke", None),
    ]


def test_several_names_tell_each_source_once() -> None:
    assert [name for _, name, _, _ in told(bottom(), "swept_volume", "bore", "rod_ratio")] == [
        "bore",
        "stroke",
        "rod_length",
    ]


def test_counts_prices_and_parts_as_made_leave_nothing_to_measure() -> None:
    assert told(bottom(measured("block", "bore", 4, "in")), "count.pistons", "price", "made.block.bore") == [
        ("", "count.pistons", False, True),
        ("", "price", False, True),
        ("block", "bore", False, True),
    ]
    assert bottom().spread("count.pistons").high is None


def test_who_measured_is_in_the_rows_behind_a_name() -> None:
    row, word = measured("block", "bore", 4, "in"), measured("block", "mark", "B 1")
    found = bottom(row, measured("rods", "rod_length", 6, "in"), word)
    assert [one.by for one in found.rows_behind("displacement")] == ["A. Builder"]
    assert found.rows_behind("displacement", "bore", "block.mark") == (row, word)
    assert found.rows_behind("stroke") == ()


# For all engines ------------------------------------------------------------------------------------------------------

#: An engine's inputs, each the attribute of one part, so that each may be off by itself.
ENGINE: dict[str, Quantity] = {
    "cylinders": Quantity(8),
    "bore": inches(4),
    "stroke": inches(3.25),
    "rod_length": inches(6),
    "pin_height": inches(1.37),
    "deck_height": inches(9.01),
    "dish_volume": Quantity(-3, "cm3"),
    "chamber_volume": Quantity(60, "cm3"),
    "gasket_bore": Quantity(104, "mm"),
    "gasket_thickness": inches(0.04),
    "intake_lobe_lift": inches(0.35),
    "exhaust_lobe_lift": inches(0.34),
    "rocker_ratio": Quantity(1.6),
    "installed_height": inches(1.8),
    "coil_bind_height": inches(1.15),
    "seat_force": Quantity(120, "lbf"),
    "spring_rate": Quantity(60, "N/mm"),
    "drive_pulley": inches(5),
    "water_pump_pulley": Quantity(150, "mm"),
    "red_line": Quantity(7000, "rpm"),
    "mass": Quantity(60, "kg"),
}
MEASURES = [name for name, measure in MEASURES_OF_BUILD.items() if measure.unit]
shares = st.fixed_dictionaries({name: st.floats(0, 0.01) for name in ENGINE})
signs = st.fixed_dictionaries({name: st.floats(-1, 1) for name in ENGINE})


def engine(values: dict[str, Quantity], within: dict[str, Quantity], bench: tuple[Bench, ...] = ()) -> Figures:
    inputs = {name: f"all.{name}" for name in ENGINE if name != "mass"}
    return figures_of(("all", 2, part("A-1", within, **values)), bench=bench, units={"displacement": "in3"}, **inputs)


def times(factors: dict[str, float]) -> dict[str, Quantity]:
    """The engine's figures, each times a factor, without its sign."""
    return {name: Quantity(abs(found.value) * factors[name], found.unit) for name, found in ENGINE.items()}


@given(shares, signs)
def test_no_pieces_within_their_tolerances_lead_outside_the_worst_case(
    share: dict[str, float], sign: dict[str, float]
) -> None:
    off = times(share)
    found = engine(ENGINE, off)
    there = engine({name: Quantity(q.value + sign[name] * off[name].value, q.unit) for name, q in ENGINE.items()}, {})
    for name in MEASURES:
        value, other = found.named(name).value, there.named(name).value
        assert value is not None
        assert other is not None
        low, high = within(found.spread(name), value.unit)
        assert low <= value.value <= high
        noise = 1e-9 * max(1, abs(value.value))
        assert low - noise <= other.value <= high + noise


@pytest.mark.parametrize("name", MEASURES)
def test_whatever_is_exact_is_off_by_nothing(name: str) -> None:
    found = engine(ENGINE, times(dict.fromkeys(ENGINE, 0.0)))
    value = found.named(name).value
    assert value is not None
    assert (found.spread(name).low, found.spread(name).high) == (value, value)


@given(shares, st.floats(1, 50))
def test_uncertainties_so_many_times_as_great_make_the_figure_so_many_times_as_uncertain(
    share: dict[str, float], factor: float
) -> None:
    def of(times_more: float) -> Figures:
        rows = [
            measured("all", name, found.value, "" if found.unit == "1" else found.unit).model_copy(
                update={"uncertainty": abs(found.value) * share[name] * times_more / 100}
            )
            for name, found in ENGINE.items()
        ]
        return engine(ENGINE, {}, tuple(rows))

    once, more = of(1.0), of(factor)
    for name in MEASURES:
        spread, value = once.spread(name), once.named(name).value
        assert spread.uncertainty is not None
        assert value is not None
        expected = factor * spread.uncertainty.value
        noise = 1e-9 * max(1.0, abs(value.value))  # of floats, in differences over small steps
        assert uncertain(more.spread(name), spread.uncertainty.unit) == approx(expected, rel=1e-5, abs=noise)
