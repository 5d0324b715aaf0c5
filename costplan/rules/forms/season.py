"""Forms 34 to 46: money, numbers, options and time."""

from __future__ import annotations

from costplan.rules.forms.form import Form

SEASON = (
    Form(
        34,
        "claim",
        "E",
        ("conduct",),
        """\
[[rule]]
id = "F34-claim"
kind = "conduct"
says = "One who ends on the lead lap may claim an engine of the first four."
penalty = "who refuses loses the points of the year"

[[rule]]
id = "F34-terms"
kind = "conduct"
says = "He pays 1500 or swaps; carburetor and clutch stay; two a season."
""",
        note="What a claim may cost is a hazard of the season, with a chance at each event.",
    ),
    Form(
        35,
        "cost cap on the engine",
        "LD",
        ("limit",),
        """\
[[rule]]
id = "F35-cap"
kind = "limit"
says = "Its parts, heads and clutch apart, cost 18000 USD at most, new."
of = "price"
max = "18000 USD"
prices_on = 2027-02-01
without = "heads clutch"
proof = "document"
document = "parts sheet"
""",
    ),
    Form(
        36,
        "price cap on a part",
        "LD",
        ("limit",),
        """\
[[rule]]
id = "F36-carburetor"
kind = "limit"
says = "No carburetor costs more than 1000 USD new; its bill is shown."
of = "price.carburetor"
max = "1000 USD"
proof = "document"
document = "receipt"
""",
    ),
    Form(
        37,
        "so many in a season, so many a night",
        "E",
        ("quota",),
        """\
[[rule]]
id = "F37-engines"
kind = "quota"
says = "Two engines a season."
of = "engines"
most = 2

[[rule]]
id = "F37-tyres"
kind = "quota"
says = "One new right rear tyre a night."
of = "pieces"
slot = ["tyre right rear"]
most = 1
per = "event"
""",
    ),
    Form(
        38,
        "penalty for a change",
        "E",
        ("conduct", "charge"),
        """\
[[rule]]
id = "F38-swap"
kind = "conduct"
says = "Who changes the engine after time trials starts last."
penalty = "15 points"

[[rule]]
id = "F38-fee"
kind = "charge"
says = "He pays 50 for the new card."
amount = 50
currency = "USD"
per = "swap"
""",
    ),
    Form(
        39,
        "weight by option",
        "LI",
        ("limit", "word"),
        """\
[[rule]]
id = "F39-iron"
kind = "limit"
says = "With an iron block the engine weighs 460 pounds at least."
of = "mass"
min = "460 lb"
when = [{ kind = "word", of = "block.material", one_of = "iron" }]

[[rule]]
id = "F39-aluminium"
kind = "limit"
says = "With an aluminium block it weighs 400 pounds at least."
of = "mass"
min = "400 lb"
unless = [{ kind = "word", of = "block.material", one_of = "iron" }]

[[rule]]
id = "F39-car"
kind = "limit"
says = "With an iron block the car weighs 2550 pounds at least."
reads = "weight of the car with its driver"
min = "2550 lb"
tool = "scales"
stage = "outside"
when = [{ kind = "word", of = "block.material", one_of = "iron" }]
""",
    ),
    Form(
        40,
        "declared option, nothing mixed",
        "L",
        ("option",),
        """\
[[rule]]
id = "F40-option"
kind = "option"
says = "Camshaft and rockers are all of option A or all of option B."
slot = "camshaft rockers"
declared = "declaration"

[rule.choices]
A = ["TV-C348", "TV-C355", "TV-RK15"]
B = ["DW-C340", "DW-RK15", "DW-RK15R"]
""",
        note="The entrant's declaration is a paper that says A or B; leave out declared where the parts tell.",
    ),
    Form(
        41,
        "parts of one engine as made",
        "LI",
        ("option",),
        """\
[[rule]]
id = "F41-origin"
kind = "option"
says = "Crank, rods and pistons came in one engine, as their marks show."
slot = "crank rods pistons"
proof = "inspection"

[rule.choices]
"engine of 2025" = ["QM-K304", "QM-R600", "TV-P147", "TV-P1472"]
"engine of 2019" = ["DW-K304C", "DW-R600", "DW-P146"]
""",
        note="A part that takes another's place stands in the list beside it.",
    ),
    Form(
        42,
        "if this, then that",
        "LV",
        ("limit", "parts"),
        """\
[[rule]]
id = "F42-hollow"
kind = "limit"
says = "With hollow intake valves a chamber holds 60 cc at least."
of = "heads.chamber_volume"
min = "60 cm3"
proof = "measurement"
when = [{ kind = "parts", slot = "intake-valves", allowed = "OB-IV194L" }]

[[rule]]
id = "F42-else"
kind = "limit"
says = "Without them it holds 57 cc at least."
of = "heads.chamber_volume"
min = "57 cm3"
proof = "measurement"
unless = [{ kind = "parts", slot = "intake-valves", allowed = "OB-IV194L" }]
""",
    ),
    Form(
        43,
        "older parts that stay",
        "D",
        ("parts",),
        """\
[[rule]]
id = "F43-crank"
kind = "parts"
says = "The crank is QM-K304; DW-K304C stays through 2028 if bought before."
slot = "crank"
allowed = "QM-K304"

[rule.kept]
parts = "DW-K304C"
bought_before = 2027-03-01
until = 2028-12-31
""",
        note="The paper that shows it is a receipt; kept.serials names the pieces one by one.",
    ),
    Form(
        44,
        "in force from, phased in, frozen",
        "E",
        ("limit", "quota"),
        """\
[[rule]]
id = "F44-speed"
kind = "limit"
says = "From round 5 the box cuts out at 6800 rpm or below."
of = "ignition-box.rpm_limit"
max = "6800 rpm"
from_round = 5

[[rule]]
id = "F44-freeze"
kind = "quota"
says = "One engine a season, and so it stays for three seasons."
of = "engines"
most = 1
effective = 2027-01-01
frozen_until = 2030-01-01
""",
    ),
    Form(
        45,
        "power between bounds",
        "I",
        ("limit",),
        """\
[[rule]]
id = "F45-power"
kind = "limit"
says = "On the series dyno the engine gives 420 to 430 horsepower."
reads = "greatest power on the series dyno, corrected"
min = "420 hp"
max = "430 hp"
stage = "running"
tool = "series dyno"
minutes = 90
""",
    ),
    Form(
        46,
        "officials may balance",
        "D",
        ("conduct",),
        """\
[[rule]]
id = "F46-balance"
kind = "conduct"
says = "Officials may add 25 pounds or lower the speed, by bulletin."
proof = "document"
document = "bulletin"
""",
        note="What a bulletin lays down is a change to the book: a file of its own.",
    ),
)
