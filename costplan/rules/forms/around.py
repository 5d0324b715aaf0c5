"""Forms 21 to 33: what stands around the engine, and its papers."""

from __future__ import annotations

from costplan.rules.forms.form import Form

AROUND = (
    Form(
        21,
        "carburetor: type, bore, go and no-go",
        "LI",
        ("parts", "limit", "inspection"),
        """\
[[rule]]
id = "F21-carburetor"
kind = "parts"
says = "The carburetor is OB-CR50, new or rebuilt, or OB-CR47."
slot = "carburetor"
allowed = "OB-CR50 OB-CR50R OB-CR47"

[[rule]]
id = "F21-venturi"
kind = "limit"
says = "A barrel is 1.375 inches wide at most."
of = "carburetor.venturi"
max = "1.375 in"

[[rule]]
id = "F21-plug"
kind = "inspection"
says = "The 1.380 plug does not pass."
slot = "carburetor"
tool = "plug gauge 1.380"
minutes = 5
""",
    ),
    Form(
        22,
        "spacer, restrictor and gaskets",
        "LV",
        ("limit",),
        """\
[[rule]]
id = "F22-spacer"
kind = "limit"
says = "The spacer is one inch thick at most."
of = "spacer.thickness"
max = "1 in"
proof = "measurement"

[[rule]]
id = "F22-stack"
kind = "limit"
says = "Spacer and its two gaskets together are 1.13 inches at most."
reads = "thickness of spacer and gaskets, bolted down"
max = "1.13 in"
""",
        note="Gaskets with a slot of their own are added up: of = [...].",
    ),
    Form(
        23,
        "manifold and port match",
        "LI",
        ("parts", "limit"),
        """\
[[rule]]
id = "F23-manifold"
kind = "parts"
says = "The manifold is OB-M4 or OB-M4D."
slot = "manifold"
allowed = "OB-M4 OB-M4D"

[[rule]]
id = "F23-match"
kind = "limit"
says = "Its ports are matched half an inch deep at most."
reads = "depth of the match from the flange"
max = "0.5 in"
tool = "depth gauge"
stage = "opened"
""",
    ),
    Form(
        24,
        "speed by box or chip",
        "LI",
        ("option", "limit", "choice", "inspection"),
        """\
[[rule]]
id = "F24-cams"
kind = "option"
says = "The engine has the long cam or the short one."
slot = "camshaft"
choices = { long = ["TV-C355"], short = ["TV-C348", "DW-C340"] }

[[rule]]
id = "F24-long"
kind = "limit"
says = "With the long cam the box cuts out at 6800 rpm or below."
of = "ignition-box.rpm_limit"
max = "6800 rpm"
when = [{ kind = "choice", rule = "F24-cams", one_of = "long" }]

[[rule]]
id = "F24-short"
kind = "limit"
says = "With the short cam it cuts out at 7000 rpm or below."
of = "ignition-box.rpm_limit"
max = "7000 rpm"
when = [{ kind = "choice", rule = "F24-cams", one_of = "short" }]

[[rule]]
id = "F24-reach"
kind = "inspection"
says = "The box stands out of the driver's reach."
slot = "ignition-box"
stage = "outside"
""",
    ),
    Form(
        25,
        "ignition and control unit",
        "LD",
        ("parts", "paper"),
        """\
[[rule]]
id = "F25-box"
kind = "parts"
says = "The box is DW-IG68 or DW-IG70; no other switches the timing."
slot = "ignition-box"
allowed = "DW-IG68 DW-IG70"

[[rule]]
id = "F25-firmware"
kind = "paper"
says = "Its card shows firmware 4.2, read out by the series."
paper = "firmware card"
slot = "ignition-box"
declares = "4.2"
""",
    ),
    Form(
        26,
        "exhaust and noise",
        "LI",
        ("limit",),
        """\
[[rule]]
id = "F26-pipes"
kind = "limit"
says = "Pipes of the headers are 1.75 inches wide at most."
of = "headers.pipe_diameter"
max = "1.75 in"

[[rule]]
id = "F26-noise"
kind = "limit"
says = "The meter shows 95 decibels at most, 100 feet from the track."
reads = "decibels at 100 feet"
max = 95
stage = "running"
tool = "sound meter"
""",
        note="The demo has no headers: give them a slot, and parts with a column pipe_diameter.",
    ),
    Form(
        27,
        "oil system and inspection plug",
        "LI",
        ("word", "inspection"),
        """\
[[rule]]
id = "F27-wet"
kind = "word"
says = "The engine keeps its oil in the pan."
of = "oil-pan.type"
one_of = "wet"

[[rule]]
id = "F27-plug"
kind = "inspection"
says = "The pan has a one-inch plug to look in by."
slot = "oil-pan"
stage = "outside"
""",
    ),
    Form(
        28,
        "fuel, and its test",
        "DI",
        ("paper", "inspection"),
        """\
[[rule]]
id = "F28-fuel"
kind = "paper"
says = "Fuel is the series methanol; its ticket is shown."
paper = "fuel ticket"
by = ["Brandelock Series"]

[[rule]]
id = "F28-sample"
kind = "inspection"
says = "A sample from the car matches the drum."
tool = "hydrometer and test strip"
stage = "running"
minutes = 8
""",
    ),
    Form(
        29,
        "seals",
        "DI",
        ("paper", "inspection"),
        """\
[[rule]]
id = "F29-numbers"
kind = "paper"
says = "Four seals of the series are on the engine's card as intact."
paper = "seal"
at_least = 4
by = ["Brandelock Series"]
declares = "intact"

[[rule]]
id = "F29-untouched"
kind = "inspection"
says = "They are untouched, their wires unspliced."
stage = "outside"
minutes = 4
""",
    ),
    Form(
        30,
        "listed shops and parts, and the paper after",
        "D",
        ("paper", "parts"),
        """\
[[rule]]
id = "F30-shop"
kind = "paper"
says = "A listed shop freshens the engine and signs its sheet."
paper = "shop sheet"
by = ["Orrenby Engines", "Tallowgate Machine"]
level = "freshen"

[[rule]]
id = "F30-springs"
kind = "parts"
says = "Springs come from the class maker alone."
slot = "springs"
suppliers = "Tevrosk"
""",
        note="What sealing it again costs is a clause of kind charge, per opening.",
    ),
    Form(
        31,
        "no rebuild, or so many",
        "D",
        ("quota", "parts"),
        """\
[[rule]]
id = "F31-closed"
kind = "quota"
says = "An engine on the used block is never freshened."
of = "openings"
level = "freshen"
most = 0
per = "life"
proof = "document"
document = "passport"
when = [{ kind = "parts", slot = "block", allowed = "DW-B403" }]

[[rule]]
id = "F31-twice"
kind = "quota"
says = "Any other is rebuilt twice in its life, as its passport shows."
of = "openings"
level = "rebuild"
most = 2
per = "life"
proof = "document"
document = "passport"
unless = [{ kind = "parts", slot = "block", allowed = "DW-B403" }]
""",
    ),
    Form(
        32,
        "serial, passport, logbook",
        "D",
        ("paper",),
        """\
[[rule]]
id = "F32-passport"
kind = "paper"
says = "The number of the passport is stamped on the block."
paper = "passport"
slot = "block"
serial = true

[[rule]]
id = "F32-entrant"
kind = "paper"
says = "The engine is registered to one entrant."
paper = "registration"
by = ["Brandelock Series"]
""",
    ),
    Form(
        33,
        "homologation by date, supersession",
        "LD",
        ("parts",),
        """\
[[list]]
list = "class cams"
edition = "A"
until = 2027-12-31
parts = "TV-C348 TV-C355 DW-C340"

[[list]]
list = "class cams"
edition = "B"
since = 2028-01-01
parts = "TV-C348 TV-C355"

[[rule]]
id = "F33-cams"
kind = "parts"
says = "The camshaft is on the list of the year and has its sheet."
slot = "camshaft"
list = "class cams"
proof = "document"
document = "homologation sheet"
""",
    ),
)
