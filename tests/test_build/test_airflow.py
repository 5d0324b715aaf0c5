"""Airflow: one small engine worked by hand, what its estimate rests on, what is missing, and dyno sheets."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pytest import approx

from costplan.build import Build, Fill, Pattern, read_build, read_pattern
from costplan.build.airflow import STANDARDS, Breath, Estimator, calibrate, calibrated
from costplan.build.pattern import Airflow
from costplan.catalog import Catalog, LiftRow, Operation, read_catalogs
from costplan.garage import Bench, Pull
from costplan.garage.dyno import OBSERVED
from costplan.problems import Place
from costplan.quantity import Quantity
from costplan.reading import parse_settings
from costplan.reading.fields import Measured
from costplan.scenario import read_scenario

#: A bench at 6 kPa draws 1.2 kg/m3 at 100 m/s: 10 L/s for each cm2.
HEADER = """\
name = "Small"
currency = "USD"
[attributes]
lobe_duration = "angle"
fuel = "text"
"""
PARTS = """\
part,role,supplier,price,price_date,bore [mm],stroke [mm],chamber_volume [cm3],intake_lobe_lift [mm],\
lobe_duration [deg],rocker_ratio,rpm_limit [rpm],fuel
block,block,x,1,2027-01-15,80,,,,,,,
crank,crank,x,1,2027-01-15,,80,,,,,,
head,head,x,1,2027-01-15,,,40,,,,,
ported,head,x,1,2027-01-15,,,40,,,,,
bare,head,x,1,2027-01-15,,,40,,,,,
cam,cam,x,1,2027-01-15,,,,8,240,,,
curved,cam,x,1,2027-01-15,,,,8,240,,,
unknown-cam,cam,x,1,2027-01-15,,,,8,,,,
rocker,rocker,x,1,2027-01-15,,,,,,1.0,,
high-rocker,rocker,x,1,2027-01-15,,,,,,1.5,,
manifold,manifold,x,1,2027-01-15,,,,,,,,
carburetor,carburetor,x,1,2027-01-15,,,,,,,,gasoline
large,carburetor,x,1,2027-01-15,,,,,,,,gasoline
alcohol,carburetor,x,1,2027-01-15,,,,,,,,methanol
twin,carburetor,x,1,2027-01-15,,,,,,,,gasoline
plate,plate,x,1,2027-01-15,,,,,,,,
box,box,x,1,2027-01-15,,,,,,,6000,
fast-box,box,x,1,2027-01-15,,,,,,,9000,
"""
FLOW = """\
part,lift [mm],flow [L/s],pressure [kPa],source
head,4,40,6,bench
head,8,80,6,bench
ported,4,44,6,bench
ported,8,88,6,bench
manifold,,120,6,bench
carburetor,,200,6,bench
large,,240,6,bench
alcohol,,200,6,bench
twin,,200,6,bench
plate,,150,6,
"""
#: Full lift all the while, from below the rise at which durations are stated: an opening that can be worked by hand.
LIFTS = "part,angle [deg],lift [mm],source\ncurved,0,8,shop\ncurved,180,8,shop\n"
PATTERN = """\
name = "Small four"
[inputs]
cylinders = 4
bore = "block.bore"
stroke = "crank.stroke"
deck_clearance = "0.5 mm"
dish_volume = "0 cm3"
chamber_volume = "head.chamber_volume"
gasket_bore = "82 mm"
gasket_thickness = "1 mm"
intake_lobe_lift = "cam.intake_lobe_lift"
rocker_ratio = "rocker.rocker_ratio"
red_line = "7000 rpm"
[airflow]
ports = "head"
each = ["manifold"]
shared = ["carburetor", "plate"]
duration = "cam.lobe_duration"
duration_lift = "1 mm"
limiter = "box"
fuel = "carburetor.fuel"
full = 0.9
otto_share = 0.7
heat_ratio = 1.35
error = "12 %"
source = "by hand"
"""
BORED = Operation(
    operation="bore",
    role="block",
    price=Decimal(1),
    price_date=date(2027, 1, 15),
    changes={"bore": Measured("0.2", "mm")},
)
SLOTS = ("block", "crank", "head", "cam", "rocker", "manifold", "carburetor", "plate", "box")
OPTIONAL = ("plate", "box")
PLANNED = {"cam": "curved"}


PATTERN_KEYS = (
    "ports",
    "each",
    "duration",
    "duration_lift",
    "fuel",
    "heat",
    "full",
    "otto_share",
    "heat_ratio",
    "error",
)


def slots() -> str:
    """The pattern's slots, each with a role of its own name."""
    rows = (f'[[slot]]\nslot = "{one}"\nrole = "{one}"\noptional = {str(one in OPTIONAL).lower()}\n' for one in SLOTS)
    return "".join(rows)


def read(folder: Path, *sets: str) -> tuple[Catalog, Pattern, Build]:
    """The small engine as files have it, with `--set` texts written in."""
    for name, text in {
        "shop/catalog.toml": HEADER,
        "shop/roles.csv": "role\n" + "\n".join(SLOTS) + "\n",
        "shop/parts.csv": PARTS,
        "shop/flow.csv": FLOW,
        "shop/lift_curves.csv": LIFTS,
        "pattern.toml": PATTERN + slots(),
        "build.csv": "slot,part\n"
        + "".join(f"{one},{PLANNED.get(one, one)}\n" for one in SLOTS if one not in OPTIONAL),
    }.items():
        (folder / "shop").mkdir(exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8")
    settings, _ = parse_settings(sets)
    catalog, problems = read_catalogs([folder / "shop"], settings)
    assert problems == ()
    pattern, problems = read_pattern(folder / "pattern.toml", catalog, settings)
    assert problems == ()
    assert pattern is not None
    build, problems = read_build(folder / "build.csv", pattern, catalog, settings)
    assert problems == ()
    return catalog, pattern, build


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> tuple[Catalog, Pattern, Build]:
    return read(tmp_path_factory.mktemp("small"))


@pytest.fixture
def estimator(small: tuple[Catalog, Pattern, Build]) -> Estimator:
    return Estimator(small[1], small[0])


@pytest.fixture
def build(small: tuple[Catalog, Pattern, Build]) -> Build:
    return small[2]


def with_parts(estimator: Estimator, build: Build, **parts: str) -> Build:
    """A build with other parts in some slots."""
    fills = dict(build.fills)
    for slot, part in parts.items():
        found = estimator.catalog.parts[part]
        fills[slot] = Fill(estimator.pattern.slots[slot], found, found.place)
    return replace(build, fills=fills)


def square_centimetres(value: Quantity | None) -> float:
    assert value is not None
    return value.to("cm2")


def kilowatts(value: Quantity | None) -> float:
    assert value is not None
    return value.to("kW")


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


# --- dyno sheets -----------------------------------------------------------------------------------------------------


def pull(rpm: float, power: float, corrected: str = "SAE J1349", **air: object) -> Pull:
    given = {"pressure": Quantity(97, "kPa"), "celsius": 30, "humidity": 0.0, **air} if corrected == OBSERVED else air
    return Pull(rpm=rpm, power=Quantity(power, "kW"), corrected=corrected, date=date(2027, 2, 15), **given)


def pulls(breath: Breath, factor: float, speeds: Iterable[float], off: Callable[[float], float] = float) -> list[Pull]:
    """What an engine gives whose gas gives so many times the estimate, each figure off by some kW."""
    return [
        pull(rpm, factor * breath.indicated(rpm) - breath.friction(rpm) + (0 if off is float else off(rpm)))
        for rpm in speeds
    ]


def plain(estimator: Estimator, build: Build) -> Breath:
    breath = estimator.breath(build)
    assert breath is not None
    return breath


@pytest.mark.parametrize("factor", [0.8, 1.0, 1.23])
def test_a_sheet_gives_back_the_factor_that_made_it(estimator: Estimator, build: Build, factor: float) -> None:
    made = pulls(plain(estimator, build), factor, (4000, 5000, 6000, 7000))
    found = calibrated(estimator, [(build, made)])
    assert found.factor == approx(factor, rel=1e-12)
    assert found.calibration is not None
    assert found.calibration.spread == approx(0, abs=1e-9)
    # nothing is left, and yet no brake repeats to better than a hundredth
    assert (found.calibration.enough, found.error_share) == (True, 0.01)
    assert found.look(build).speeds[-1].power.to("kW") == approx(made[-1].kilowatts, rel=1e-9)


def test_a_sheet_read_again_changes_nothing(estimator: Estimator, build: Build) -> None:
    sheets = [(build, pulls(plain(estimator, build), 1.2, (4000, 5000, 6000)))]
    once = calibrated(estimator, sheets)
    assert calibrated(once, sheets).factor == approx(once.factor)


def test_the_error_is_twice_the_scatter_by_hand(estimator: Estimator, build: Build) -> None:
    breath = plain(estimator, build)
    # the factor is fitted too, so that what is left is worked out from the normal equation
    made = pulls(breath, 1.1, (4000, 5000, 6000), {4000.0: 4.0, 5000.0: -4.0, 6000.0: 3.0}.__getitem__)
    indicated = [breath.indicated(one.rpm) for one in made]
    gross = [one.kilowatts + breath.friction(one.rpm) for one in made]
    factor = sum(a * b for a, b in zip(gross, indicated, strict=True)) / sum(one * one for one in indicated)
    left = sum((g - factor * i) ** 2 for g, i in zip(gross, indicated, strict=True))
    found = calibrate(estimator.airflow, [(one, breath) for one in made])
    assert found.factor == approx(factor)
    assert found.spread == approx(math.sqrt(left / 2))
    assert found.error == approx(2 * math.sqrt(left / 2) / (sum(one.kilowatts for one in made) / 3))
    assert found.speeds == (4000, 6000)


def test_two_pulls_set_the_factor_and_not_the_error(estimator: Estimator, build: Build) -> None:
    found = calibrated(estimator, [(build, pulls(plain(estimator, build), 1.1, (5000, 6000)))])
    assert found.factor == approx(1.1)
    assert found.error_share == 0.12
    assert found.calibration is not None
    assert not found.calibration.enough
    assert any(word.startswith("error of 12%") for word in found.look(build).assumed)


def test_observed_power_is_brought_to_the_patterns_standard(estimator: Estimator, build: Build) -> None:
    breath, factor = plain(estimator, build), STANDARDS["SAE J1349"].factor(97, 30)
    found = calibrate(estimator.airflow, [(pull(6000, 100, OBSERVED), breath)])
    (point,) = found.points
    assert point.measured == 100
    assert point.corrected == approx(100 * factor)
    assert factor == approx(1.18 * (99 / 97) * math.sqrt(303 / 298) - 0.18)


def test_power_of_another_standard_goes_by_the_air_it_was_pulled_in(estimator: Estimator, build: Build) -> None:
    air = {"pressure": Quantity(97, "kPa"), "celsius": 30, "humidity": 0.0}
    observed, other = pull(6000, 100, OBSERVED), STANDARDS["SAE J607"].factor(97, 30)
    both = [observed, pull(6000, 100 * other, "SAE J607", **air)]
    found = calibrate(estimator.airflow, [(one, plain(estimator, build)) for one in both])
    assert found.points[0].corrected == approx(found.points[1].corrected)


def test_a_sheet_of_an_engine_that_cannot_be_estimated_sets_nothing(estimator: Estimator, build: Build) -> None:
    bare = with_parts(estimator, build, head="bare")
    assert calibrated(estimator, [(bare, [pull(6000, 100)])]) is estimator


def test_sheets_of_two_engines_set_one_factor(estimator: Estimator, build: Build) -> None:
    ported = with_parts(estimator, build, head="ported")
    sheets = [
        (build, pulls(plain(estimator, build), 1.15, (4000, 5000))),
        (ported, pulls(plain(estimator, ported), 1.15, (5000, 6000))),
    ]
    assert calibrated(estimator, sheets).factor == approx(1.15)


def test_speeds_that_no_pull_has_are_told(estimator: Estimator, build: Build) -> None:
    made = pulls(plain(estimator, build), 1.1, (5000, 5500, 6000))
    found = calibrated(estimator, [(build, made)]).look(build)
    told = found.extrapolated
    assert [one.rpm for one in found.speeds if not one.beyond] == [5000, 5500, 6000]
    assert not any(one.beyond for one in estimator.look(build).speeds)
    assert "power at speeds that no pull has: the dyno sheet is of 5,000 to 6,000 rpm" in told


def test_a_calibrated_estimator_remembers_nothing_of_the_plain_one(estimator: Estimator, build: Build) -> None:
    before = estimator.power(build.fills)
    after = calibrated(estimator, [(build, pulls(plain(estimator, build), 1.2, (4000, 5000, 6000)))]).power(build.fills)
    assert before is not None
    assert after is not None
    assert after > before


@pytest.mark.parametrize(("times", "at"), [(10, 2), (0.1, 0), (10, 3), (2.5, 1)])
def test_a_slip_of_the_pen_calibrates_nothing_and_is_the_row_that_is_named(
    estimator: Estimator, build: Build, times: float, at: int
) -> None:
    made = pulls(plain(estimator, build), 1.1, (4000, 5000, 6000, 7000))
    right = made[at].kilowatts
    made[at] = made[at].model_copy(update={"power": Quantity(times * right, "kW"), "place": Place("dyno.csv", at + 2)})
    found = calibrated(estimator, [(build, made)])
    (problem,) = found.problems
    assert (problem.code, str(problem.place), problem.field) == ("DYN004", f"dyno.csv:{at + 2}", "power")
    # the others have one factor, so that what they say of this row is what it was
    assert problem.advice.endswith(f"by the others about {Quantity(float(f'{right:.3g}'), 'kW')}")
    assert (found.calibration, found.factor, found.error_share) == (None, 1.0, 0.12)
    assert found.look(build).peak == estimator.look(build).peak


def test_rows_that_scatter_by_less_than_half_are_counted_with_their_error(estimator: Estimator, build: Build) -> None:
    made = pulls(plain(estimator, build), 1.1, (4000, 5000, 6000, 7000))
    made[1] = made[1].model_copy(update={"power": Quantity(1.5 * made[1].kilowatts, "kW")})
    found = calibrated(estimator, [(build, made)])
    assert found.problems == ()
    assert 0.3 < found.error_share < 0.5


@pytest.mark.parametrize(("factor", "speeds"), [(2.1, (4000, 5000, 6000)), (0.45, (4000, 5000, 6000)), (2.1, (5000,))])
def test_a_sheet_far_from_what_the_pattern_makes_of_the_engine_is_refused(
    estimator: Estimator, build: Build, factor: float, speeds: tuple[float, ...]
) -> None:
    (problem,) = calibrated(estimator, [(build, pulls(plain(estimator, build), factor, speeds))]).problems
    assert problem.what.startswith(f"{factor:.2g} times what the pattern makes of the gas")
    assert str(estimator.airflow.place) in problem.advice


def test_of_two_rows_the_one_far_off_is_named(estimator: Estimator, build: Build) -> None:
    # one half and a bit: with the sound row the factor alone would pass
    made = pulls(plain(estimator, build), 1.0, (5000,)) + pulls(plain(estimator, build), 0.4, (6000,))
    made[1] = made[1].model_copy(update={"place": Place("dyno.csv", 3)})
    found = calibrated(estimator, [(build, made)])
    assert [str(problem.place) for problem in found.problems] == ["dyno.csv:3"]


def test_power_that_is_less_than_none_is_no_row_to_compare_with(estimator: Estimator, build: Build) -> None:
    # friction outweighs what the others say of this speed: no figure is given in place of the slip
    breath = plain(estimator, build)
    fast = 40_000.0
    assert breath.power(fast) < 0
    made = [*pulls(breath, 1.0, (4000, 5000, 6000)), pull(fast, 9_000)]
    (problem,) = calibrated(estimator, [(build, made)]).problems
    assert problem.advice == "check its digits and unit"


# --- what was on the brake -------------------------------------------------------------------------------------------


def on_brake(estimator: Estimator, *builds: Build) -> Estimator:
    """An estimator calibrated by three pulls of each of some engines."""
    return calibrated(estimator, [(one, pulls(plain(estimator, one), 1.1, (4000, 5000, 6000))) for one in builds])


def test_without_a_sheet_nothing_was_pulled(estimator: Estimator, build: Build) -> None:
    assert not estimator.pulled(build.fills)
    assert "head" in estimator.unpulled(build.fills)
    assert "box" not in estimator.unpulled(build.fills)


def test_the_engine_on_the_brake_was_pulled_and_those_with_other_parts_were_not(
    estimator: Estimator, build: Build
) -> None:
    found = on_brake(estimator, build)
    assert found.pulled(build.fills)
    assert (found.look(build).pulled, found.look(build).unpulled) == (True, ())
    for parts, slots in (
        ({"head": "ported"}, ("head",)),
        ({"carburetor": "twin"}, ("carburetor",)),  # alike in all that is read, and yet another
        ({"cam": "cam", "rocker": "high-rocker"}, ("cam", "rocker")),
        ({"plate": "plate"}, ("plate",)),
        ({"box": "box"}, ()),  # it ends the curve and does not shape it
    ):
        other = with_parts(estimator, build, **parts)
        assert found.unpulled(other.fills) == slots
        assert (found.look(other).pulled, found.look(other).unpulled) == (not slots, slots)
        assert found.error(100) == approx(1)  # nothing is widened


def test_of_what_gives_the_size_a_like_part_is_the_same(estimator: Estimator, build: Build) -> None:
    found, fill = on_brake(estimator, build), build.fills["block"]
    for bore, slots in ((80, ()), (81, ("block",))):
        part = fill.part.model_copy(update={"part": "other", "attributes": {"bore": Quantity(bore, "mm")}})
        assert found.unpulled({**build.fills, "block": replace(fill, part=part)}) == slots


def test_what_is_done_to_a_part_makes_no_other_of_it(estimator: Estimator, build: Build) -> None:
    found, fill = on_brake(estimator, build), build.fills["block"]
    done = {**build.fills, "block": replace(fill, operations=(BORED,))}
    assert found.alike("block", done["block"]) != found.alike("block", fill)
    assert found.pulled(done)


def test_of_several_engines_the_most_similar_counts(estimator: Estimator, build: Build) -> None:
    other = with_parts(estimator, build, head="ported", cam="cam")
    found = on_brake(estimator, build, other)
    assert found.pulled(other.fills)
    assert found.unpulled(with_parts(estimator, build, head="ported", cam="cam", manifold="bare").fills) == (
        "manifold",
    )
    assert len(on_brake(estimator, build, build).on_brake) == 1


# --- standards -------------------------------------------------------------------------------------------------------


def test_pattern_and_sheet_know_the_same_standards() -> None:
    assert set(get_args(Airflow.model_fields["standard"].annotation)) == set(STANDARDS)
    assert set(get_args(Pull.model_fields["corrected"].annotation)) == {OBSERVED, *STANDARDS}


def test_each_standards_own_air_has_a_factor_of_one() -> None:
    for standard in STANDARDS.values():
        assert standard.factor(standard.pressure, standard.temperature) == approx(1, abs=2e-5)
    assert STANDARDS["SAE J1349"].density == approx(1.1567, abs=1e-4)
    # at 15 C the speed of sound is 340.3 m/s in the standard atmosphere (ISO 2533, from memory)
    assert STANDARDS["SAE J607"].sound_speed == approx(340.3, abs=0.5)


# --- files at fault --------------------------------------------------------------------------------------------------

DYNO = "engine,rpm,power [kW],corrected,pressure [kPa],celsius,humidity,date\n" + "".join(
    f",{rpm},{power},{how},98,25,30 %,2027-02-15\n"
    for rpm, power, how in ((4000, 50, "observed"), (5000, 60, "SAE J1349"), (6000, 66, "SAE J607"))
)
SCENARIO = 'title = "Small"\ncurrency = "USD"\ncatalogs = ["shop"]\npattern = "pattern.toml"\nbuild = "build.csv"\n'
CALENDAR = "event,date,kind,hours\nopener,2027-04-01,race,1\n"
CELLS = ("", "x", "-1", "0", "1e-9", "1e12", "NaN", "=1", "50 %", "2 deg")


@pytest.fixture
def scenario(tmp_path: Path) -> Path:
    """A folder with the small engine, a dyno sheet and one race."""
    read(tmp_path)
    for name, text in {"scenario.toml": SCENARIO, "calendar.csv": CALENDAR, "dyno.csv": DYNO}.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    return tmp_path


def test_a_scenario_is_calibrated_by_its_sheet(scenario: Path) -> None:
    found, problems = read_scenario(scenario)
    assert problems == ()
    assert found is not None
    estimator = found.estimator()
    assert estimator is not None
    assert estimator.calibration is not None
    assert [point.rpm for point in estimator.calibration.points] == [4000, 5000, 6000]
    before = found.estimator(date(2027, 2, 14))
    assert before is not None
    assert before.calibration is None


@pytest.mark.parametrize(
    "address",
    [
        *(f"dyno/{line}/{column}" for line in (2, 4) for column in ("rpm", "power", "pressure", "celsius", "humidity")),
        *(f"shop/flow/{line}/{column}" for line in (2, 3, 6) for column in ("lift", "flow", "pressure")),
        *(f"shop/lift_curves/{line}/{column}" for line in (2, 3) for column in ("angle", "lift")),
        *(f"shop/parts/curved/{column}" for column in ("intake_lobe_lift", "lobe_duration")),
        *(f"shop/parts/{name}" for name in ("block/bore", "crank/stroke", "rocker/rocker_ratio", "carburetor/fuel")),
        *(f"pattern/inputs/{name}" for name in ("cylinders", "red_line", "gasket_bore", "deck_clearance")),
        *(f"pattern/airflow/{name}" for name in PATTERN_KEYS),
    ],
)
def test_whatever_is_written_is_refused_estimated_or_missing(scenario: Path, address: str) -> None:
    for cell in CELLS:
        found, problems = read_scenario(scenario, [f"{address}={cell}"])
        assert (found is None) == bool(problems), cell
        estimator = found.estimator() if found else None
        if found is None or estimator is None:
            continue
        breathing = estimator.look(found.built())
        assert (breathing.peak is None) == bool(breathing.missing), cell
        if breathing.peak is not None:
            assert math.isfinite(breathing.peak.value)
        assert (estimator.power(found.built().fills) is None) == (breathing.peak is None), cell
