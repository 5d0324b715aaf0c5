"""Forms 1 to 20: parts and sizes of the engine."""

from __future__ import annotations

from costplan.rules.forms.form import Form

ENGINE = (
    Form(
        1,
        "one part, and its mark",
        "LI",
        ("parts",),
        """\
[[rule]]
id = "F1-head"
kind = "parts"
says = "Both heads are OB-H58, and their cast marks can be read."
slot = "heads"
allowed = "OB-H58"
mark = "OB58"
""",
    ),
    Form(
        2,
        "approved list by family",
        "L",
        ("parts", "word"),
        """\
[[rule]]
id = "F2-crank-iron"
kind = "parts"
says = "In an iron block the crank is QM-K304 or DW-K304C."
slot = "crank"
allowed = "QM-K304 DW-K304C"
when = [{ kind = "word", of = "block.material", one_of = "iron" }]

[[rule]]
id = "F2-crank-aluminium"
kind = "parts"
says = "In an aluminium block the crank is QM-K304L."
slot = "crank"
allowed = "QM-K304L"
when = [{ kind = "word", of = "block.material", one_of = "aluminium" }]
""",
    ),
    Form(
        3,
        "open within fences",
        "LI",
        ("word", "limit"),
        """\
[[rule]]
id = "F3-material"
kind = "word"
says = "Rods are of any maker, of steel; a magnet must hold."
of = "rods.material"
one_of = "steel"
proof = "inspection"
tool = "magnet"

[[rule]]
id = "F3-length"
kind = "limit"
says = "They are 5.9 inches long or longer."
of = "rods.rod_length"
min = "5.9 in"
""",
    ),
    Form(
        4,
        "displacement, most and least",
        "V",
        ("limit",),
        """\
[[rule]]
id = "F4-displacement"
kind = "limit"
says = "All cylinders sweep 300 to 310 cubic inches, any overbore counted."
of = "displacement"
min = "300 in3"
max = "310 in3"
proof = "measurement"
minutes = 25
""",
    ),
    Form(
        5,
        "overbore and sleeves",
        "VD",
        ("limit", "paper", "parts"),
        """\
[[rule]]
id = "F5-overbore"
kind = "limit"
says = "A cylinder is bored 0.040 inch over its size as made at most."
of = "block.bore"
less = "made.block.bore"
max = "0.040 in"
proof = "measurement"
tool = "bore gauge"

[[rule]]
id = "F5-sleeves"
kind = "paper"
says = "A sleeved block runs by written leave of the series."
paper = "leave"
slot = "block"
by = ["Brandelock Series"]
when = [{ kind = "parts", slot = "block", allowed = "QM-B400A" }]
""",
    ),
    Form(
        6,
        "bore and stroke by family",
        "LV",
        ("limit", "word"),
        """\
[[rule]]
id = "F6-bore"
kind = "limit"
says = "In an iron block the bore is 4.020 inches, 0.025 more or less."
of = "block.bore"
nominal = "4.020 in"
within = "0.025 in"
proof = "measurement"
when = [{ kind = "word", of = "block.material", one_of = "iron" }]

[[rule]]
id = "F6-stroke"
kind = "limit"
says = "Its stroke is 3.040 inches, 0.010 more or less."
of = "crank.stroke"
nominal = "3.040 in"
within = "0.010 in"
proof = "measurement"
when = [{ kind = "word", of = "block.material", one_of = "iron" }]
""",
    ),
    Form(
        7,
        "compression, and how it is taken",
        "VI",
        ("limit",),
        """\
[[rule]]
id = "F7-compression"
kind = "limit"
says = "The ratio is 10.25 at most, by fluid with the piston at the top."
of = "compression_ratio"
max = 10.25
method = "fluid, piston at the top"
proof = "measurement"
measured = "compression_ratio"

[[rule]]
id = "F7-gauge"
kind = "limit"
says = "Where the pump gauge reads above 10.4 the engine is stripped."
reads = "ratio by the pump gauge"
max = 10.4
stage = "running"
tool = "pump gauge"
""",
    ),
    Form(
        8,
        "chamber volume",
        "I",
        ("limit",),
        """\
[[rule]]
id = "F8-chamber"
kind = "limit"
says = "A chamber holds 57 cubic centimetres at least."
of = "heads.chamber_volume"
min = "57 cm3"
proof = "inspection"
tool = "burette and plate"
minutes = 20
""",
    ),
    Form(
        9,
        "what a running test reads",
        "I",
        ("limit",),
        """\
[[rule]]
id = "F9-vacuum"
kind = "limit"
says = "At 900 rpm the gauge shows 50 kPa of vacuum at least."
reads = "vacuum at 900 rpm, engine warm"
min = "50 kPa"
stage = "running"
tool = "vacuum gauge"
minutes = 5
""",
        note="Nothing on a list leads to a reading; what inspections.csv notes on the clause is compared.",
    ),
    Form(
        10,
        "piston: crown and deck",
        "LI",
        ("limit",),
        """\
[[rule]]
id = "F10-crown"
kind = "limit"
says = "The crown is flat or hollow, without a dome."
of = "pistons.dish_volume"
min = "0 cm3"

[[rule]]
id = "F10-deck"
kind = "limit"
says = "At the top the piston stands no higher than the deck."
of = "deck_clearance"
min = "0 in"
proof = "inspection"
tool = "bridge and dial gauge"
""",
    ),
    Form(
        11,
        "valves: size, stem, seat angle",
        "LI",
        ("limit", "inspection"),
        """\
[[rule]]
id = "F11-intake"
kind = "limit"
says = "Intake valves measure 1.940 inches, 0.005 more or less."
of = "intake-valves.valve_diameter"
nominal = "1.940 in"
within = "0.005 in"

[[rule]]
id = "F11-stem"
kind = "limit"
says = "Their stems are 0.341 inch thick or thicker."
of = "intake-valves.stem_diameter"
min = "0.341 in"

[[rule]]
id = "F11-seats"
kind = "inspection"
says = "Seats are cut at 45 degrees."
slot = "heads"
tool = "seat gauge"
minutes = 10
""",
    ),
    Form(
        12,
        "lift, and where it is taken",
        "VI",
        ("limit",),
        """\
[[rule]]
id = "F12-lift"
kind = "limit"
says = "The intake valve rises 0.540 inch at most, with no lash."
of = "intake_lift"
max = "0.540 in"
method = "at the valve, no lash"
measured = "intake_lift"
proof = ["measurement", "inspection"]
tool = "dial gauge"
minutes = 15
""",
    ),
    Form(
        13,
        "camshaft against a card",
        "I",
        ("limit", "parts"),
        """\
[[rule]]
id = "F13-card"
kind = "limit"
says = "TV-C348 follows its card within 0.005 inch all round."
reads = "greatest distance from the card of TV-C348"
max = "0.005 in"
tool = "dial gauge and degree wheel"
minutes = 45
when = [{ kind = "parts", slot = "camshaft", allowed = "TV-C348" }]
""",
    ),
    Form(
        14,
        "type of follower",
        "LI",
        ("word", "limit"),
        """\
[[rule]]
id = "F14-type"
kind = "word"
says = "Lifters are rollers."
of = "lifters.type"
one_of = "roller"
proof = "inspection"

[[rule]]
id = "F14-diameter"
kind = "limit"
says = "They are 0.842 inch thick, 0.001 more or less."
of = "lifters.lifter_diameter"
nominal = "0.842 in"
within = "0.001 in"
""",
    ),
    Form(
        15,
        "rocker ratio and valve springs",
        "LI",
        ("limit",),
        """\
[[rule]]
id = "F15-ratio"
kind = "limit"
says = "Rockers have a ratio of 1.5 at most."
of = "rockers.rocker_ratio"
max = 1.5

[[rule]]
id = "F15-force"
kind = "limit"
says = "With its valve shut a spring presses with 180 pounds at most."
of = "springs.seat_force"
max = "180 lbf"
proof = "inspection"
tool = "spring tester"

[[rule]]
id = "F15-diameter"
kind = "limit"
says = "Springs are 1.560 inches wide at most."
of = "springs.spring_diameter"
max = "1.560 in"
""",
    ),
    Form(
        16,
        "finish, and no machining",
        "I",
        ("inspection",),
        """\
[[rule]]
id = "F16-ports"
kind = "inspection"
says = "Ports stay as cast; half an inch below a seat may be blended."
slot = "heads"
tool = "borescope"
minutes = 20
""",
    ),
    Form(
        17,
        "volume of ports and runners",
        "LI",
        ("limit",),
        """\
[[rule]]
id = "F17-port"
kind = "limit"
says = "An intake port holds 175 cubic centimetres at most."
of = "heads.port_volume"
max = "175 cm3"
proof = "inspection"
tool = "burette and plate"
""",
    ),
    Form(
        18,
        "least weight of a part",
        "LVI",
        ("limit",),
        """\
[[rule]]
id = "F18-crank"
kind = "limit"
says = "The bare crank weighs 46 pounds at least."
of = "crank.mass"
min = "46 lb"
proof = "measurement"
tool = "scale"

[[rule]]
id = "F18-valve"
kind = "limit"
says = "An intake valve weighs 100 grams at least."
of = "intake-valves.mass"
min = "100 g"
proof = "inspection"

[[rule]]
id = "F18-rod"
kind = "limit"
says = "A rod weighs no less than as made."
of = "rods.mass"
less = "made.rods.mass"
min = "0 g"
""",
    ),
    Form(
        19,
        "ban of a material",
        "LI",
        ("word",),
        """\
[[rule]]
id = "F19-retainers"
kind = "word"
says = "No retainer is of titanium; a magnet must hold."
of = "retainers.material"
none_of = "titanium"
proof = "inspection"
tool = "magnet"
""",
    ),
    Form(
        20,
        "a size as made, more or less",
        "V",
        ("limit",),
        """\
[[rule]]
id = "F20-journals"
kind = "limit"
says = "Rod journals are ground 0.030 inch under as made at most."
of = "crank.journal_diameter"
less = "made.crank.journal_diameter"
min = "-0.030 in"
max = "0 in"
proof = "measurement"
tool = "micrometer"

[[rule]]
id = "F20-deck"
kind = "limit"
says = "The deck is 8.990 inches high, 0.015 more or less."
of = "block.deck_height"
nominal = "8.990 in"
within = "0.015 in"
proof = "measurement"
""",
    ),
)
