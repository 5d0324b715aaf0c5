"""One small engine that can be worked by hand, as files have it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

from costplan.build import Build, Fill, Pattern, read_build, read_pattern
from costplan.build.airflow import Estimator
from costplan.catalog import Catalog, Operation, read_catalogs
from costplan.quantity import Quantity
from costplan.reading import parse_settings
from costplan.reading.fields import Measured

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
