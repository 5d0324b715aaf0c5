"""Bills of materials: whole packs, shared over slots, rounded line by line; and the measures of a build."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from pytest import approx

from costplan.build import (
    INPUTS,
    MEASURES_OF_BUILD,
    Bill,
    Build,
    Figures,
    Fill,
    Pattern,
    Reference,
    Slot,
    bill_of,
)
from costplan.catalog import ATTRIBUTES, Buying, Catalog, Kit, KitContent, Operation, Part, Terms, packs_for
from costplan.money import Rate, Rates
from costplan.problems import Place
from costplan.quantity import Quantity, dimension

DAY = date(2027, 5, 1)
USD = Rates("USD", (Rate("EUR", Decimal("1.1"), date(2027, 1, 1)), Rate("EUR", Decimal("1.2"), date(2027, 6, 1))))


def part(name: str, price: str = "1", **more: Any) -> Part:
    attributes = {key: more.pop(key) for key in list(more) if key in ATTRIBUTES}
    found = Part(
        part=name,
        role="any",
        supplier="x",
        price=Decimal(price),
        price_date=DAY,
        currency=more.pop("currency", "USD"),
        place=Place("parts.csv", 2),
        **more,
    )
    return found.model_copy(update={"attributes": attributes})


def build_of(*fills: tuple[str, int, Part], unweighed: tuple[str, ...] = (), **inputs: Quantity | Reference) -> Build:
    """A build of (slot, quantity, part) with the pattern's inputs."""
    slots = {name: Slot(slot=name, role="any", quantity=n, weighed=name not in unweighed) for name, n, _ in fills}
    given = {name: (value, Place("pattern.toml", 1)) for name, value in inputs.items()}
    filled = {name: Fill(slots[name], found, Place("build.csv", 2)) for name, _, found in fills}
    return Build(Pattern("V8", slots, given, "pattern.toml"), filled)


def bill(*fills: tuple[str, int, Part], rates: Rates = USD, on: date = DAY) -> Bill:
    return billed(build_of(*fills), rates, on)


def billed(build: Build, rates: Rates = USD, on: date = DAY) -> Bill:
    """The bill of a build whose catalog holds just its parts."""
    parts = {fill.part.part: fill.part for fill in build.everything()}
    return bill_of(build, Catalog(parts, terms={"": Terms("USD")}), Buying(rates), on, 180)


@pytest.mark.parametrize(("pieces", "pack", "packs"), [(0, 4, 0), (1, 4, 1), (4, 4, 1), (5, 4, 2), (16, 1, 16)])
def test_pieces_come_in_whole_packs(pieces: int, pack: int, packs: int) -> None:
    assert packs_for(pieces, pack) == packs


def test_what_a_pack_holds_too_many_is_left_over() -> None:
    (line,) = bill(("ring", 16, part("R-1", "30", pack=12))).lines
    assert (line.pieces, line.packs, line.left_over, line.cost) == (16, 2, 8, Decimal(60))


def test_pieces_of_one_part_share_packs_over_slots() -> None:
    ring = part("R-1", "30", pack=12)
    (line,) = bill(("intake", 8, ring), ("exhaust", 8, ring)).lines
    assert (line.slots, line.pieces, line.packs, line.left_over) == (("intake", "exhaust"), 16, 2, 8)


def test_different_parts_share_nothing() -> None:
    first, second = bill(("intake", 8, part("R-1", "30", pack=12)), ("exhaust", 8, part("R-2", "31", pack=12))).lines
    assert (first.packs, second.packs, first.cost, second.cost) == (1, 1, Decimal(30), Decimal(31))


def test_lines_are_rounded_and_their_sum_is_not_rounded_again() -> None:
    total = bill(("a", 1, part("A", "0.335")), ("b", 1, part("B", "0.335")), ("c", 1, part("C", "0.335")))
    assert [line.cost for line in total.lines] == [Decimal("0.34")] * 3
    assert total.total == Decimal("1.02")


def test_a_line_is_rounded_once_for_all_its_packs() -> None:
    assert bill(("a", 3, part("A", "0.335"))).total == Decimal("1.01")


@pytest.mark.parametrize(
    ("on", "cost"),
    [(date(2027, 5, 1), "110.00"), (date(2027, 6, 1), "120.00"), (date(2026, 1, 1), "110.00")],
    ids=["the latest rate by then", "from its day on", "before all rates the first"],
)
def test_another_currency_is_converted_at_the_days_rate(on: date, cost: str) -> None:
    assert str(bill(("a", 1, part("A", "100", currency="EUR")), on=on).total) == cost


def test_a_bill_in_yen_has_no_cents() -> None:
    yen = Rates("JPY", (Rate("USD", Decimal("150.5"), date(2027, 1, 1)),))
    assert str(bill(("a", 1, part("A", "1")), rates=yen).total) == "151"


def test_core_charges_are_a_sum_of_their_own_and_the_longest_lead_counts() -> None:
    block = part("B-1", "1000", core_charge="250", lead_days=30)
    ring = part("R-1", "5", core_charge="1", pack=4, lead_days=3)
    both = bill(("block", 1, block), ("ring", 8, ring))
    assert (both.total, both.core_charges, both.longest_lead_days) == (Decimal(1010), Decimal(252), 30)


def test_an_empty_build_costs_nothing() -> None:
    assert bill().lines == ()
    assert (bill().total, bill().longest_lead_days) == (Decimal(0), 0)


# Measures ------------------------------------------------------------------------------------------------------------

#: All in cubic inches, by hand: swept volume, and gasket with deck above a piston 0.025 in below it.
SWEPT, GASKET_AND_DECK = math.pi / 4 * 16 * 3.25, math.pi / 4 * (4.1**2 * 0.04 + 16 * 0.025)
#: Of an eight with 67 cm3 in chamber and dish.
RATIO = 1 + SWEPT / (67 / 16.387064 + GASKET_AND_DECK)
INCH = {"bore": 4.0, "stroke": 3.25, "rod_length": 6.0, "pin_height": 1.35, "deck_height": 9.0, "gasket_bore": 4.1}


def engine(**changes: Quantity | Reference | None) -> Figures:
    """An eight with every input given, less those that are None."""
    inputs: dict[str, Any] = {name: Quantity(value, "in") for name, value in INCH.items()}
    inputs |= {
        "gasket_thickness": Quantity(0.04, "in"),
        "chamber_volume": Quantity(62, "cm3"),
        "dish_volume": Quantity(5, "cm3"),
        "cylinders": Quantity(8),
        "red_line": Quantity(7400, "rpm"),
        "intake_lobe_lift": Quantity(0.35, "in"),
        "exhaust_lobe_lift": Quantity(0.34, "in"),
        "rocker_ratio": Quantity(1.6),
        "installed_height": Quantity(1.9, "in"),
        "coil_bind_height": Quantity(1.15, "in"),
        "seat_force": Quantity(150, "lbf"),
        "spring_rate": Quantity(400, "lbf/in"),
        "drive_pulley": Quantity(5, "in"),
        "water_pump_pulley": Quantity(6, "in"),
        **changes,
    }
    crank = part("C-1", "900", stroke=Quantity(3.5, "in"), mass=Quantity(20, "kg"), material="steel")
    build = build_of(("crank", 1, crank), **{name: value for name, value in inputs.items() if value is not None})
    return Figures(build, billed(build, USD))


@pytest.mark.parametrize(
    ("measure", "value", "unit"),
    [
        # worked out by hand in inches
        ("swept_volume", SWEPT, "in3"),
        ("displacement", SWEPT * 8, "in3"),
        ("deck_clearance", 9 - 1.625 - 6 - 1.35, "in"),
        ("clearance_volume", 67 + 16.387064 * GASKET_AND_DECK, "cm3"),
        ("compression_ratio", RATIO, "1"),
        ("piston_speed", 2 * 3.25 / 12 * 7400, "ft/min"),
        ("intake_lift", 0.56, "in"),
        ("exhaust_lift", 0.544, "in"),
        ("mass", 20, "kg"),
        ("price", 900, "USD"),
    ],
)
def test_each_measure_of_a_build(measure: str, value: float, unit: str) -> None:
    figure = engine().measure(measure)
    assert figure.missing == ()
    assert figure.value is not None
    assert figure.value.to(unit) == approx(value, rel=1e-6)
    assert figure.why


def test_every_measure_is_worked_out() -> None:
    figures = engine().all()
    assert [figure.name for figure in figures] == list(MEASURES_OF_BUILD)
    assert all(figure.value is not None for figure in figures)


@pytest.mark.parametrize("missing", list(INPUTS))
def test_a_measure_without_an_input_is_unknown_and_says_which(missing: str) -> None:
    for name, measure in MEASURES_OF_BUILD.items():
        needs = {need for need, _ in measure.needs}
        if missing in needs and missing not in MEASURES_OF_BUILD:
            figure = engine(**{missing: None}).measure(name)
            assert figure.value is None
            assert [missing in word for word in figure.missing] == [True]


def test_what_a_measure_of_measures_misses_is_named() -> None:
    figure = engine(chamber_volume=None, bore=None).measure("compression_ratio")
    assert figure.value is None
    assert [any(name in word for word in figure.missing) for name in ("chamber_volume", "bore")] == [True, True]


def test_a_missing_input_leaves_other_measures_alone() -> None:
    assert engine(chamber_volume=None).measure("displacement").value is not None


def test_an_input_may_come_from_the_part_in_a_slot() -> None:
    figure = engine(stroke=Reference("crank", "stroke")).measure("displacement")
    assert figure.value is not None
    assert figure.value.to("in3") == approx(math.pi / 4 * 16 * 3.5 * 8)
    assert any("parts.csv:2" in word for word in figure.why)


@pytest.mark.parametrize(
    ("reference", "named"),
    [(Reference("crank", "bore"), "C-1"), (Reference("crank", "material"), "C-1"), (Reference("head", "bore"), "head")],
    ids=["an attribute the part lacks", "a word", "an empty slot"],
)
def test_a_part_that_does_not_give_the_input_is_named(reference: Reference, named: str) -> None:
    figure = engine(bore=reference).measure("swept_volume")
    assert figure.value is None
    assert named in figure.missing[0]


def test_a_clearance_given_goes_before_the_one_worked_out() -> None:
    figure = engine(deck_height=None, deck_clearance=Quantity(0.025, "in")).measure("compression_ratio")
    assert figure.value is not None
    assert figure.value.value == approx(RATIO, rel=1e-6)


def test_a_clearance_given_is_the_measure() -> None:
    figure = engine(deck_height=None, deck_clearance=Quantity(0.025, "in")).measure("deck_clearance")
    assert figure.value is not None


def test_a_clearance_below_zero_gives_no_compression_ratio() -> None:
    figure = engine(chamber_volume=Quantity(1, "cm3"), dish_volume=Quantity(-40, "cm3")).measure("compression_ratio")
    assert figure.value is None
    assert figure.missing


def test_mass_counts_the_pieces_of_weighed_slots() -> None:
    piston, plate = part("P-1", mass=Quantity(500, "g")), part("X-1")
    build = build_of(("piston", 8, piston), ("plate", 1, plate), unweighed=("plate",))
    figure = Figures(build, billed(build, USD)).measure("mass")
    assert figure.value is not None
    assert figure.value.to("kg") == approx(4)


def test_mass_is_unknown_while_one_part_has_none() -> None:
    build = build_of(("piston", 8, part("P-1", mass=Quantity(500, "g"))), ("plate", 1, part("X-1")))
    figure = Figures(build, billed(build, USD)).measure("mass")
    assert figure.value is None
    assert ["X-1" in word for word in figure.missing] == [True]


def test_price_is_the_total_of_whole_packs() -> None:
    build = build_of(("ring", 16, part("R-1", "30", pack=12)))
    assert Figures(build, billed(build, USD)).measure("price").value == Quantity(60, "USD")


def test_each_input_and_measure_has_a_known_unit() -> None:
    dimensions = {dimension(measure.unit) for measure in MEASURES_OF_BUILD.values() if measure.unit}
    assert None not in dimensions
    for measure in MEASURES_OF_BUILD.values():
        for need, unit in measure.needs:
            if need in INPUTS:
                assert dimension(unit) == INPUTS[need]


def test_a_measure_is_shown_in_the_unit_that_the_pattern_names() -> None:
    block = part("B-1", bore=Quantity(4, "in"), stroke=Quantity(3, "in"), deck_clearance=Quantity(0.01, "in"))
    build = build_of(
        ("block", 1, block),
        bore=Reference("block", "bore"),
        stroke=Reference("block", "stroke"),
        cylinders=Quantity(8),
        deck_clearance=Reference("block", "deck_clearance"),
    )
    pattern = replace(build.pattern, units={"displacement": "in3", "deck_clearance": "mm"})
    figures = Figures(Build(pattern, build.fills), bill(("block", 1, block)))

    def shown(name: str) -> tuple[str, float, str]:
        figure = figures.measure(name)
        assert figure.value is not None
        return figure.name, round(figure.value.value, 6), figure.value.unit

    # pi/4 * 16 in2 * 3 in * 8 = 96 pi in3; 0.01 in = 0.254 mm; the swept volume keeps its own unit
    assert shown("displacement") == ("displacement", round(96 * math.pi, 6), "in3")
    assert shown("deck_clearance") == ("deck_clearance", 0.254, "mm")
    assert shown("swept_volume") == ("swept_volume", round(12 * math.pi * 2.54**3, 6), "cm3")


# Kits, operations and old prices


def kit_of(name: str, price: str, **pieces: int) -> tuple[Kit, tuple[KitContent, ...]]:
    """A kit with its contents, parts written with a blank line for the hyphen: R_1."""
    kit = Kit(kit=name, supplier="x", price=Decimal(price), price_date=DAY, currency="USD")
    held = (KitContent(kit=name, part=part.replace("_", "-"), pieces=count) for part, count in pieces.items())
    return kit, tuple(held)


def kitted(build: Build, *kits: tuple[Kit, tuple[KitContent, ...]], on: date = DAY, stale_after: int = 180) -> Bill:
    """The bill of a build with kits about."""
    parts = {row.part: part(row.part) for _, held in kits for row in held}
    parts |= {fill.part.part: fill.part for fill in build.everything()}
    catalog = Catalog(
        parts,
        kits={kit.kit: kit for kit, _ in kits},
        contents=tuple(row for _, held in kits for row in held),
        terms={"": Terms("USD")},
    )
    return bill_of(build, catalog, Buying(USD), on, stale_after)


def in_kit(build: Build, slot: str, kit: str) -> Build:
    return replace(build, fills={**build.fills, slot: replace(build.fills[slot], kit=kit)})


RINGS = build_of(("rings", 1, part("R-1", "30")), ("bearings", 4, part("B-1", "10", pack=2)))


def test_a_part_that_comes_in_a_kit_is_not_bought_apart() -> None:
    build = in_kit(in_kit(RINGS, "rings", "K"), "bearings", "K")
    (line,) = kitted(build, kit_of("K", "40", R_1=1, B_1=2)).lines
    # two kits hold the four bearings; one ring is left over
    assert (line.kind, line.part, line.packs, line.pieces, line.left_over) == ("kit", "K", 2, 2, 1)
    assert (line.slots, line.cost) == (("rings", "bearings"), Decimal("80.00"))


def test_what_the_kit_is_not_named_for_is_bought_apart() -> None:
    bill = kitted(in_kit(RINGS, "rings", "K"), kit_of("K", "40", R_1=1, B_1=2))
    assert [(line.kind, line.part, line.cost) for line in bill.lines] == [
        ("part", "B-1", Decimal("20.00")),
        ("kit", "K", Decimal("40.00")),
    ]
    assert bill.total == Decimal("60.00")


def test_what_a_kit_holds_beside_what_the_build_needs_is_left_over() -> None:
    build = in_kit(build_of(("rings", 1, part("R-1", "30"))), "rings", "K")
    (line,) = kitted(build, kit_of("K", "40", R_1=1, B_9=2)).lines
    assert (line.part, line.packs, line.left_over) == ("K", 1, 2)


@pytest.mark.parametrize(
    ("price", "bearings", "saves"),
    [
        ("45", 4, ["5.00"]),  # 30 + 20 apart
        ("38", 2, ["2.00"]),  # 38 and a pack of two more at 10, against 50
        ("50", 4, []),
        ("10", 5, []),  # more bearings than the engine needs: not judged
    ],
)
def test_a_kit_that_would_save_is_told(price: str, bearings: int, saves: list[str]) -> None:
    bill = kitted(RINGS, kit_of("K", price, R_1=1, B_1=bearings))
    assert [saving.saves for saving in bill.savings] == [Decimal(saved) for saved in saves]
    assert bill.total == Decimal("50.00")


def test_operations_are_lines_of_their_own_priced_by_the_piece() -> None:
    hone = Operation(operation="hone", role="any", name="honed", price=Decimal("12.50"), price_date=DAY)
    build = build_of(("rods", 4, part("R-1", "30")))
    fill = replace(build.fills["rods"], operations=(hone,))
    bill = kitted(replace(build, fills={"rods": fill}))
    assert [(line.kind, line.part, line.slots, line.pieces, line.cost) for line in bill.lines] == [
        ("part", "R-1", ("rods",), 4, Decimal("120.00")),
        ("operation", "hone", ("rods",), 4, Decimal("50.00")),
    ]
    assert bill.total == Decimal("170.00")


@pytest.mark.parametrize(("days", "stale"), [(30, False), (31, True)])
def test_a_price_older_than_allowed_is_marked(days: int, stale: bool) -> None:
    (line,) = kitted(build_of(("rings", 1, part("R-1"))), on=DAY + timedelta(days=days), stale_after=30).lines
    assert (line.price_age_days, line.stale) == (days, stale)


def test_operations_count_with_tax_where_the_scenario_does() -> None:
    hone = Operation(operation="hone", role="any", price=Decimal("12.50"), price_date=DAY)
    build = build_of(("rods", 4, part("R-1", "30")))
    build = replace(build, fills={"rods": replace(build.fills["rods"], operations=(hone,))})
    catalog = Catalog({"R-1": build.fills["rods"].part}, terms={"": Terms("USD", tax_included=False, tax_rate=0.2)})
    found = bill_of(build, catalog, Buying(USD, with_tax=True), DAY, 180)
    assert [line.cost for line in found.lines] == [Decimal("144.00"), Decimal("60.00")]
    assert found.with_tax is True
