"""Forms 47 to 58: work on parts, the book itself, fees, proofs of age, goods of the series."""

from __future__ import annotations

from costplan.rules.forms.form import Form

BOOK = (
    Form(
        47,
        "repairs that are allowed",
        "DI",
        ("work",),
        """\
[[rule]]
id = "F47-repair"
kind = "work"
says = "Heads are refaced and their seats cut; a note tells of each repair."
slot = "heads"
may = "seat-work surface-004 head-crack-test"
proof = ["document", "inspection"]
document = "repair note"
""",
    ),
    Form(
        48,
        "what must, may and must not be done",
        "LI",
        ("work",),
        """\
[[rule]]
id = "F48-crank"
kind = "work"
says = "Cranks are balanced, may be polished, and are never ground."
slot = "crank"
must = "balance"
may = "polish"
must_not = "grind-010 grind-020"
proof = "inspection"
""",
    ),
    Form(
        49,
        "what is not written",
        "",
        (),
        """\
default = "forbid"
tolerance = "If it is not written that you may, you may not."
""",
        note="No clause but a key of the book; a check names the slots of which no clause speaks.",
    ),
    Form(
        50,
        "precedence, local rules, recognition",
        "LD",
        ("parts", "paper"),
        """\
supplements = "rules-tour.toml"
prevails = "supplement"

[[recognises]]
pack = "rules-ridge.toml"
still = "F50-seal"

[[rule]]
id = "F50-head"
kind = "parts"
says = "Heads are OB-H58; an engine of the Ridge book may race as it is."
slot = "heads"
allowed = "OB-H58"

[[rule]]
id = "F50-seal"
kind = "paper"
says = "Either way it carries a seal."
paper = "seal"
""",
        note="The files it names stand beside it.",
    ),
    Form(
        51,
        "tolerance, rounding, temperature, gauge",
        "V",
        ("limit",),
        """\
tolerance = "No tolerance. Measured cold. The series gauge decides."
rounding = "rounded"
ties = "even"
gauges = ["series gauge"]

[[rule]]
id = "F51-stroke"
kind = "limit"
says = "The stroke is 3.04 inches at most, rounded to the hundredth."
of = "crank.stroke"
max = "3.04 in"
proof = "measurement"
""",
    ),
    Form(
        52,
        "fees of protest and tear-down",
        "E",
        ("conduct",),
        """\
[[rule]]
id = "F52-protest"
kind = "conduct"
says = "A protest costs 1000, which go back if it is upheld."
pays = "the one who is wrong"
""",
    ),
    Form(
        53,
        "ladder of penalties",
        "E",
        ("conduct",),
        """\
[[rule]]
id = "F53-ladder"
kind = "conduct"
says = "Penalties rise with each time in two seasons."
penalty = "first: the night's money; second: the season"
""",
    ),
    Form(
        54,
        "proof of period",
        "DI",
        ("paper", "inspection"),
        """\
[[rule]]
id = "F54-manifold"
kind = "paper"
says = "A dated photograph shows such a manifold before 1967."
paper = "photograph"
slot = "manifold"
dated_to = 1966-12-31

[[rule]]
id = "F54-looks"
kind = "inspection"
says = "The one on the engine looks like it."
slot = "manifold"
stage = "outside"
""",
    ),
    Form(
        55,
        "items that run out",
        "D",
        ("paper",),
        """\
[[rule]]
id = "F55-damper"
kind = "paper"
says = "The damper is certified anew within five years."
paper = "certificate"
slot = "damper"
valid = "1826 d"
""",
        note="The season renews such a part in time, and nothing makes it last longer.",
    ),
    Form(
        56,
        "series goods, and the least to buy",
        "LE",
        ("parts", "charge"),
        """\
[[rule]]
id = "F56-plugs"
kind = "parts"
says = "Plugs are the series plug."
slot = "plugs"
allowed = "DW-SK8"

[[rule]]
id = "F56-fuel"
kind = "charge"
says = "Each night five gallons of series fuel are bought, at 26."
amount = 26
currency = "USD"
per = "event"
""",
    ),
    Form(
        57,
        "coatings and treatments",
        "I",
        ("inspection",),
        """\
[[rule]]
id = "F57-coats"
kind = "inspection"
says = "Nothing is coated but the skirts of the pistons."
slot = "crank rods pistons heads"
tool = "eye and file"
minutes = 15
""",
        note="Work with a row in operations.csv is barred by a clause of kind work.",
    ),
    Form(
        58,
        "engines drawn or rented",
        "E",
        ("conduct", "charge"),
        """\
[[rule]]
id = "F58-draw"
kind = "conduct"
says = "Engines of the series are drawn by lot on race day."

[[rule]]
id = "F58-fee"
kind = "charge"
says = "A drawn engine costs 300 a day."
amount = 300
currency = "USD"
per = "event"
""",
    ),
)
