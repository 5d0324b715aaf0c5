"""A small four-stroke engine of which the power can be estimated, at prices drawn at random."""

from __future__ import annotations

from random import Random

from tests.test_choose.drawn_scenarios import Files

#: part, role, and its figures by the columns below; an empty one is not known.
PARTS = """\
block,block,80,,,,,
crank,crank,,80,,,,
head,head,,,40,,,
ported,head,,,41,,,
bare,head,,,40,,,
cam,cam,,,,8,240,
long-cam,cam,,,,9,260,
unknown-cam,cam,,,,8,,
rocker,rocker,,,,,,1.0
high-rocker,rocker,,,,,,1.2
small,carburetor,,,,,,
middle,carburetor,,,,,,
large,carburetor,,,,,,
plate,plate,,,,,,
"""
COLUMNS = "bore [mm],stroke [mm],chamber_volume [cm3],intake_lobe_lift [mm],lobe_duration [deg],rocker_ratio"
FLOW = """\
part,lift [mm],flow [L/s],pressure [kPa],source
head,4,40,6,bench
head,8,80,6,bench
head,12,90,6,bench
ported,4,44,6,bench
ported,8,88,6,bench
ported,12,105,6,bench
small,,120,6,bench
middle,,150,6,bench
large,,240,6,bench
plate,,130,6,bench
"""
PATTERN = """\
name = "small four"
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
each = []
shared = ["carburetor", "plate"]
duration = "cam.lobe_duration"
duration_lift = "1 mm"
full = 0.9
otto_share = 0.7
heat_ratio = 1.35
error = "{error} %"
source = "by hand"
"""
SLOTS = ("block", "crank", "head", "cam", "rocker", "carburetor", "plate")
RULES = (
    '[[rule]]\nid = "lift"\nkind = "limit"\nsays = "lift"\nof = "intake_lift"\nmax = "{lift} mm"\n',
    '[[rule]]\nid = "no"\nkind = "parts"\nsays = "not both"\nslot = "head"\nbanned = "ported"\n'
    'when = [{kind = "parts", slot = "carburetor", allowed = "large"}]\n',
)


def draw_engine(seed: int, error: int = 8) -> Files:
    """The files: prices, lives, whether a clause stands, and how far the estimate may be off."""
    rng = Random(seed)  # noqa: S311 - not for secrets
    rows = (row.split(",", 2) for row in PARTS.splitlines())
    rules = [rule.replace("{lift}", rng.choice(("9.6", "10"))) for rule in RULES if rng.random() < 0.6]
    slots = (f'[[slot]]\nslot = "{one}"\nrole = "{one}"\noptional = {str(one == "plate").lower()}' for one in SLOTS)
    return Files(
        {
            "c/roles.csv": ["role,shape", *(f"{one},2.5" for one in SLOTS)],
            "c/parts.csv": [
                f"part,role,supplier,price,price_date,{COLUMNS}",
                *(f"{part},{role},x,{rng.randint(10, 300)},2027-01-15,{more}" for part, role, more in rows),
            ],
            "c/flow.csv": FLOW.splitlines(),
            "c/lives.csv": [
                "part,role,measure,replace_at",
                *(f"{row.split(',')[0]},,events,{rng.randint(3, 60)}" for row in PARTS.splitlines()),
            ],
            "s/build.csv": ["slot,part", *(f"{one},{'small' if one == 'carburetor' else one}" for one in SLOTS)],
            "s/calendar.csv": ["event,date,laps", "one,2027-05-01,30"],
            "s/levels.csv": ["level,rank", "rebuild,1"],
            "s/positions.csv": ["slot,level", *(f"{one},rebuild" for one in SLOTS)],
        },
        {
            "c/catalog.toml": ['name = "invented"\ncurrency = "USD"\n[attributes]\nlobe_duration = "angle"\n'],
            "s/pattern.toml": [PATTERN.replace("{error}", str(error)), *slots],
            "s/rules.toml": ['name = "book"', *rules],
            "s/scenario.toml": [
                'title = "small"\ncurrency = "USD"\nopening = 2027-02-01\ncatalogs = ["../c"]\n'
                'pattern = "pattern.toml"\nbuild = "build.csv"\nrules = ["rules.toml"]\n'
            ],
        },
    )
