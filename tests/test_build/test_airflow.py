"""Airflow: one small engine worked by hand, what its estimate rests on, and what is missing."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pytest import approx

from costplan.build import Build, Pattern
from costplan.build.airflow import Breath, Estimator
from costplan.catalog import Catalog, LiftRow
from costplan.garage import Bench
from costplan.quantity import Quantity
from tests.test_build.small_four import (
    BORED,
    kilowatts,
    read,
    square_centimetres,
    with_parts,
)

# --- the estimate, worked by hand ------------------------------------------------------------------------------------


def test_the_openings_by_hand(estimator: Estimator, build: Build) -> None:
    found = estimator.look(build)
    areas = {one.slot: one.area.value for one in found.restrictions}
    # 8 mm all the while: 8 cm2; 12 of the runner; of the carburetor's 20 what max(1, 4 x 180 / 720) = 1 leaves: all
    assert areas == {"head": approx(8), "manifold": approx(12), "carburetor": approx(20)}
    whole = 1 / 64 + 1 / 144 + 1 / 400
    assert [one.share for one in found.restrictions] == [approx(s / whole) for s in (1 / 64, 1 / 144, 1 / 400)]
    assert square_centimetres(found.opening) == approx(whole**-0.5)
    assert found.decides == "head"
    assert found.duration == Quantity(180, "deg")


def test_every_opening_that_all_cylinders_share_is_shared(tmp_path: Path) -> None:
    # Eight cylinders that each draw for 180 of 720 degrees: two at once, which halves the carburetor's 20 cm2 and the
    # plate's 15; runner and port are of one cylinder alone.
    catalog, pattern, build = read(tmp_path, "pattern/inputs/cylinders=8")
    estimator = Estimator(pattern, catalog)
    found = estimator.look(with_parts(estimator, build, plate="plate"))
    areas = {one.slot: one.area.value for one in found.restrictions}
    assert areas == {"head": approx(8), "manifold": approx(12), "carburetor": approx(10), "plate": approx(7.5)}


def test_the_power_by_hand(estimator: Estimator, build: Build) -> None:
    found = estimator.look(build)
    last = found.speeds[-1]
    assert last.rpm == 7000
    # 99 kPa and 25 C: 1.1567 kg/m3, 346.1 m/s
    density, sound = 99_000 / (287.05 * 298.15), math.sqrt(1.4 * 287.05 * 298.15)
    piston, speed = math.pi * 0.08**2 / 4, 2 * 0.08 * 7000 / 60
    opening = (1 / 64 + 1 / 144 + 1 / 400) ** -0.5 / 1e4
    index = piston / opening * speed / sound
    choked = 0.5787037 / index
    filled = 0.9 / (1 + (0.9 / choked) ** 4) ** 0.25
    swept = 4 * piston * 0.08
    clearance = 40e-6 + math.pi / 4 * 0.082**2 * 0.001 + piston * 0.0005
    ratio = (piston * 0.08 + clearance) / clearance
    air = swept * filled * density * 7000 / 120
    indicated = air * 3.0e6 * 0.7 * (1 - ratio**-0.35)
    friction = (0.97 + 0.15 * 7 + 0.05 * 49) * 1e5 * swept * 7000 / 120
    assert last.index == approx(index, rel=1e-6)
    assert last.volumetric_efficiency == approx(filled, rel=1e-6)
    assert last.friction.to("bar") == approx(4.47)
    assert last.power.to("W") == approx(indicated - friction, rel=1e-6)
    assert last.torque.to("N.m") == approx((indicated - friction) / (2 * math.pi * 7000 / 60), rel=1e-6)


def test_the_knees_are_where_the_index_passes_them(estimator: Estimator, build: Build) -> None:
    found = estimator.look(build)
    assert found.index is not None
    assert [knee.index for knee in found.knees] == [0.5, 0.6]
    assert [knee.rpm for knee in found.knees] == approx([7000 * 0.5 / found.index, 7000 * 0.6 / found.index])


def test_a_look_gives_the_same_power_as_a_quick_ask(estimator: Estimator, build: Build) -> None:
    for parts in ({}, {"head": "ported"}, {"cam": "cam"}, {"rocker": "high-rocker", "box": "box"}, {"plate": "plate"}):
        other = with_parts(estimator, build, **parts)
        power = estimator.power(other.fills)
        assert power is not None
        assert kilowatts(estimator.look(other).peak) == approx(power, rel=1e-12)
        assert estimator.power(other.fills) == power  # and again from memory


def test_the_error_stands_beside_the_peak(estimator: Estimator, build: Build) -> None:
    found = estimator.look(build)
    assert kilowatts(found.error) == approx(0.12 * kilowatts(found.peak))
    assert estimator.error(200.0) == approx(24)
    assert found.calibration is None


# --- what it rests on ------------------------------------------------------------------------------------------------


def test_the_slots_and_attributes_that_it_reads(estimator: Estimator) -> None:
    assert dict(estimator.reads) == {
        "head": ("chamber_volume",),
        "manifold": (),
        "carburetor": ("fuel",),
        "plate": (),
        "block": ("bore",),
        "crank": ("stroke",),
        "cam": ("intake_lobe_lift", "lobe_duration"),
        "rocker": ("rocker_ratio",),
        "box": ("rpm_limit",),
    }
    assert estimator.slots == tuple(estimator.reads)


def test_parts_alike_in_what_it_reads_are_alike(estimator: Estimator, build: Build) -> None:
    def alike(slot: str, one: str, other: str) -> bool:
        first, second = (with_parts(estimator, build, **{slot: part}).fills[slot] for part in (one, other))
        same = estimator.alike(slot, first) == estimator.alike(slot, second)
        powers = [estimator.power({**build.fills, slot: fill}) for fill in (first, second)]
        assert same == (powers[0] == powers[1])
        return same

    assert alike("carburetor", "carburetor", "twin")
    assert not alike("carburetor", "carburetor", "large")
    assert not alike("carburetor", "carburetor", "alcohol")
    assert not alike("head", "head", "ported")
    assert not alike("cam", "cam", "curved")
    assert estimator.alike("plate", None) is None


def test_one_size_in_two_units_is_one(estimator: Estimator, build: Build) -> None:
    fill = build.fills["block"]
    inches = fill.part.model_copy(update={"attributes": {"bore": Quantity(80 / 25.4, "in")}})
    assert estimator.alike("block", fill) == estimator.alike("block", replace(fill, part=inches))


def test_a_block_bored_out_is_as_strong_as_one_made_so_and_not_as_the_one_it_was(
    estimator: Estimator, build: Build
) -> None:
    fill = build.fills["block"]
    bored = replace(fill, operations=(BORED,))
    made = replace(fill, part=fill.part.model_copy(update={"attributes": {"bore": Quantity(80.2, "mm")}}))
    fresh = Estimator(estimator.pattern, estimator.catalog)
    wanted = fresh.power({**build.fills, "block": made})
    was = estimator.power(build.fills)  # asked first: nothing of it may be remembered for the one that was bored
    assert wanted != was
    assert estimator.power({**build.fills, "block": bored}) == approx(wanted, rel=1e-12)
    assert estimator.power(build.fills) == was
    assert estimator.alike("block", bored) == estimator.alike("block", made)
    assert estimator.alike("block", bored) != estimator.alike("block", fill)


def test_a_limiter_counts_where_it_is_lower_than_the_red_line(estimator: Estimator, build: Build) -> None:
    assert estimator.look(build).limit == 7000
    assert estimator.look(with_parts(estimator, build, box="box")).limit == 6000
    assert estimator.look(with_parts(estimator, build, box="fast-box")).limit == 7000


def test_an_empty_optional_opening_is_none_and_a_filled_one_restricts(estimator: Estimator, build: Build) -> None:
    plated = with_parts(estimator, build, plate="plate")
    bare, restricted = estimator.power(build.fills), estimator.power(plated.fills)
    assert bare is not None
    assert restricted is not None
    assert restricted < bare
    assert [one.slot for one in estimator.look(plated).restrictions] == ["head", "manifold", "carburetor", "plate"]
    assert "flow of the part in plate, without a source" in estimator.look(plated).assumed


def test_a_cam_without_a_curve_has_an_assumed_shape_and_says_so(estimator: Estimator, build: Build) -> None:
    assumed = estimator.look(with_parts(estimator, build, cam="cam"))
    assert assumed.duration == Quantity(240, "deg")
    # 1 + 7 cos over half a turn of the cosine, its mean 1 + 7 x 2 / pi; the flow is straight: 1 cm2 for each mm
    assert assumed.restrictions[0].area.value == approx(1 + 14 / math.pi, rel=1e-3)
    assert any(word.startswith("shape of the lobe") for word in assumed.assumed)
    assert not any(word.startswith("shape of the lobe") for word in estimator.look(build).assumed)


def test_of_a_measured_curve_only_what_is_above_the_start_counts(
    small: tuple[Catalog, Pattern, Build], build: Build
) -> None:
    catalog, pattern, _ = small
    points = ((-50, 0), (0, 0), (100, 8), (200, 0), (250, 0))
    rows = (
        LiftRow(part="curved", angle=Quantity(angle, "deg"), lift=Quantity(lift, "mm"), source="shop")
        for angle, lift in points
    )
    found = Estimator(pattern, replace(catalog, lift_curves=tuple(rows))).look(build)
    # a triangle: it passes 1 mm at 12.5 and 187.5 degrees, and between them lies at 4.5 mm in the mean
    assert found.duration == Quantity(175, "deg")
    assert found.restrictions[0].area.value == approx(4.5)


def test_lift_beyond_the_bench_is_taken_as_its_last_and_told(estimator: Estimator, build: Build) -> None:
    high = estimator.look(with_parts(estimator, build, rocker="high-rocker"))
    assert high.restrictions[0].area.value == approx(8)
    assert "flow above 8 mm of lift, the last on the bench: taken as there (lift 12 mm)" in high.extrapolated
    assert not any("lift" in word for word in estimator.look(build).extrapolated)


def test_lift_beyond_the_bench_is_told_in_the_unit_of_its_file(
    small: tuple[Catalog, Pattern, Build], estimator: Estimator, build: Build
) -> None:
    catalog, pattern, _ = small
    rows = (
        row.model_copy(update={"lift": Quantity(lift, "in")}) if row.part == "head" else row
        for row, lift in zip(catalog.flows, (0.157, 0.315, *[0.0] * len(catalog.flows)), strict=False)
    )
    inches = Estimator(pattern, replace(catalog, flows=tuple(rows)))
    told = inches.look(with_parts(estimator, build, rocker="high-rocker")).extrapolated
    assert any("above 0.315 in of lift" in word and "(lift 0.472441 in)" in word for word in told)


@pytest.mark.parametrize(
    ("sets", "top"),
    [
        (("pattern/airflow/duration_lift=0.5 in",), "8 mm (shop/lift_curves.csv:2)"),
        (("build/cam/part=cam", "pattern/airflow/duration_lift=0.5 in"), "8 mm"),
        (("build/cam/part=cam", "pattern/airflow/duration_lift=8 mm"), "8 mm"),
    ],
)
def test_a_duration_stated_above_the_lobes_top_is_told_with_key_unit_and_place(
    tmp_path: Path, sets: tuple[str, ...], top: str
) -> None:
    catalog, pattern, build = read(tmp_path, *sets)
    assert pattern.airflow is not None
    (missing,) = Estimator(pattern, catalog).look(build).missing
    given = sets[-1].partition("=")[2]
    told = f"a duration_lift below the intake lobe's {top}: {given} under [airflow] ({pattern.airflow.place})"
    assert missing.replace(f"{tmp_path}/", "") == told.replace(f"{tmp_path}/", "")
    assert str(pattern.airflow.place).endswith("pattern.toml:14")


def test_a_bench_that_pulls_harder_than_its_formula_holds_for_is_told(tmp_path: Path) -> None:
    catalog, pattern, build = read(tmp_path, "shop/flow/6/pressure=15")
    told = Estimator(pattern, catalog).look(build).extrapolated
    assert any("manifold at 15 kPa" in word for word in told)
    assert not any("kPa" in word for word in Estimator(pattern, read(tmp_path)[0]).look(build).extrapolated)


@pytest.mark.parametrize(
    ("bore", "told"),
    # Of four cylinders of 80 mm stroke: 842.5, 845.5, 1,999.8 and 2,004.3 cm3, of those from 845 to 2,000.
    [("57.9", True), ("58", False), ("89.2", False), ("89.3", True)],
)
def test_friction_is_extrapolated_below_and_above_the_engines_it_was_measured_on(
    tmp_path: Path, bore: str, told: bool
) -> None:
    catalog, pattern, build = read(tmp_path, f"shop/parts/block/bore={bore}")
    found = Estimator(pattern, catalog).look(build)
    assert any("Heywood" in word for word in found.extrapolated) == told


def test_friction_is_extrapolated_outside_the_engines_it_was_measured_on(tmp_path: Path) -> None:
    catalog, pattern, build = read(tmp_path)
    assert not any("Heywood" in word for word in Estimator(pattern, catalog).look(build).extrapolated)
    catalog, pattern, build = read(tmp_path, "shop/parts/block/bore=100")
    assert any("Heywood" in word for word in Estimator(pattern, catalog).look(build).extrapolated)


def test_figures_that_nobody_answers_for_are_told(tmp_path: Path) -> None:
    catalog, pattern, build = read(tmp_path)
    said = " ".join(Estimator(pattern, catalog).look(build).assumed)
    assert "volumetric efficiency" not in said
    assert "error of 12% either way ([airflow], by hand" in said
    catalog, pattern, build = read(tmp_path, "pattern/airflow/source=")
    said = " ".join(Estimator(pattern, catalog).look(build).assumed)
    assert "volumetric efficiency 0.9 at low speed ([airflow], without a source" in said


def test_what_the_bench_measured_goes_before_the_catalog_in_a_look(estimator: Estimator, build: Build) -> None:
    row = Bench(slot="block", attribute="bore", value=Decimal("80.5"), unit="mm", date=date(2027, 2, 1))
    measured = estimator.look(replace(build, bench=(row,)))
    assert kilowatts(measured.peak) > kilowatts(estimator.look(build).peak)
    assert any("measured 80.5 mm" in line for line in measured.why)


def test_every_restriction_has_the_place_of_its_rows(estimator: Estimator, build: Build) -> None:
    found = estimator.look(build)
    assert [str(one.place).rpartition("/")[2] for one in found.restrictions] == [
        "flow.csv:2",
        "flow.csv:6",
        "flow.csv:7",
    ]
    assert any(line.startswith("manifold flows 120 L/s at 6 kPa (") for line in found.why)


# --- what is missing -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("parts", "word"),
    [
        ({"head": "bare"}, "flow of bare by lift in flow.csv"),
        ({"cam": "unknown-cam"}, "lobe_duration of unknown-cam"),
    ],
)
def test_what_is_missing_makes_it_unknown_and_never_zero(
    estimator: Estimator, build: Build, parts: dict[str, str], word: str
) -> None:
    other = with_parts(estimator, build, **parts)
    found = estimator.look(other)
    assert estimator.power(other.fills) is None
    assert (found.peak, found.error, found.restrictions, found.speeds) == (None, None, (), ())
    assert any(missing.startswith(word) for missing in found.missing), found.missing


def test_an_empty_slot_is_missing(estimator: Estimator, build: Build) -> None:
    empty = replace(build, fills={slot: fill for slot, fill in build.fills.items() if slot != "manifold"})
    assert estimator.look(empty).missing == ("a part in slot manifold",)
    assert estimator.power(empty.fills) is None


def test_a_fuel_of_unknown_heat_is_missing(tmp_path: Path) -> None:
    catalog, pattern, build = read(tmp_path, "shop/parts/carburetor/fuel=hydrazine")
    assert "heat of hydrazine" in Estimator(pattern, catalog).look(build).missing[0]
    catalog, pattern, build = read(tmp_path, "shop/parts/carburetor/fuel=hydrazine", "pattern/airflow/heat=3 MJ/kg")
    assert Estimator(pattern, catalog).look(build).missing == ()


@pytest.mark.parametrize(
    "sets",
    [
        ("shop/parts/curved/intake_lobe_lift=", "pattern/airflow/duration_lift=1 mm"),
        ("pattern/airflow/duration_lift=9 mm",),  # the curve is never above its start
        ("build/cam/part=cam", "shop/parts/cam/intake_lobe_lift=1"),  # no rise above its start
        ("build/cam/part=cam", "shop/parts/cam/lobe_duration=800"),
    ],
)
def test_what_has_no_answer_is_missing_and_no_traceback(tmp_path: Path, sets: tuple[str, ...]) -> None:
    catalog, pattern, build = read(tmp_path, *sets)
    estimator = Estimator(pattern, catalog)
    assert estimator.look(build).missing
    assert estimator.power(build.fills) is None


def test_a_pattern_without_airflow_has_no_estimator(small: tuple[Catalog, Pattern, Build]) -> None:
    with pytest.raises(ValueError, match="no estimate"):
        Estimator(replace(small[1], airflow=None), small[0])


# --- more never gives less -------------------------------------------------------------------------------------------


def scaled(catalog: Catalog, part: str, factor: float) -> Catalog:
    """A catalog in which a part flows so many times as much."""
    rows = (
        row.model_copy(update={"flow": Quantity(row.flow.value * factor, row.flow.unit)}) if row.part == part else row
        for row in catalog.flows
    )
    return replace(catalog, flows=tuple(rows))


@given(st.sampled_from(("head", "manifold", "carburetor")), st.floats(1, 20), st.floats(0.2, 5))
def test_more_area_never_gives_less(
    small: tuple[Catalog, Pattern, Build], part: str, more: float, other: float
) -> None:
    catalog, pattern, build = small
    start = scaled(catalog, "head", other)
    low, high = (Estimator(pattern, one).power(build.fills) for one in (start, scaled(start, part, more)))
    assert low is not None
    assert high is not None
    assert high >= low * (1 - 1e-9)


@given(
    st.floats(0.00002, 0.0008),
    st.floats(150, 330),
    st.floats(0.3, 1.3),
    st.floats(0.2, 0.5),
    st.floats(2_000, 15_000),
)
def test_the_best_speed_is_the_best(
    index: float, duration: float, full: float, efficiency: float, limit: float
) -> None:
    breath = Breath(2_000, index, duration, full, 3.0, efficiency, 1.16, limit)
    best = breath.power(breath.best_speed())
    assert 0 <= breath.best_speed() <= limit
    assert best >= max(breath.power(limit * step / 500) for step in range(501)) - 1e-6 * abs(best) - 1e-9


def test_no_speed_fills_beyond_choked_flow(estimator: Estimator, build: Build) -> None:
    breath = estimator.breath(build)
    assert breath is not None
    for rpm in range(500, 20_000, 500):
        assert breath.filling(rpm) <= 0.5787038 * breath.duration / 180 / breath.index(rpm)


def test_a_tenth_more_of_a_restriction_is_what_is_told(small: tuple[Catalog, Pattern, Build]) -> None:
    catalog, pattern, build = small
    found = Estimator(pattern, catalog).look(build)
    for one in found.restrictions:
        more = Estimator(pattern, scaled(catalog, one.part, 1.1)).power(build.fills)
        assert more is not None
        assert kilowatts(one.gain) == approx(more - kilowatts(found.peak), rel=1e-6)
        assert one.certain == (kilowatts(one.gain) > kilowatts(found.error))
