"""Lint: each check tripped by a small pack, and quiet on one beside it that is in order."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from time import process_time

import pytest

from costplan.build import Pattern, Reference, Slot
from costplan.catalog import Catalog, Operation, Part
from costplan.problems import Place
from costplan.quantity import Quantity
from costplan.rules import Known, Pack, read_pack
from costplan.rules.lint import CHECKS, Doubt, Facts, lint, opened_levels
from costplan.scenario import read_scenario
from costplan.season import Level

Write = Callable[[str, str | bytes], Path]
Pairs = list[tuple[str, str]]

ROOT = Path(__file__).parents[2]
DEMOS = sorted(path.parent.relative_to(ROOT).as_posix() for path in ROOT.glob("scenarios/*/scenario.toml"))


def part(name: str, role: str, supplier: str, **attributes: Quantity | str) -> Part:
    blank = Part(part=name, role=role, supplier=supplier, price=Decimal(1), price_date=date(2027, 1, 1))
    return blank.model_copy(update={"attributes": attributes})


PARTS = (
    part("C-1", "crank", "Vexmoor", material="steel", stroke=Quantity(3.25, "in"), journal_diameter=Quantity(2, "in")),
    part("C-2", "crank", "Vexmoor", material="iron", stroke=Quantity(3.5, "in"), journal_diameter=Quantity(2, "in")),
    part("R-1", "rod", "Vexmoor", material="steel"),
    part("R-2", "rod", "Ollerby", material="steel"),
    part("P-1", "plate", "Ollerby", thickness=Quantity(1, "in")),
    part("S-1", "spacer", "Ollerby", thickness=Quantity(1, "in")),
)
OPERATIONS = (
    Operation(operation="grind", role="crank").model_copy(
        update={"changes": {"journal_diameter": Quantity(-0.01, "in")}}
    ),
    Operation(operation="polish", role="crank"),
    Operation(operation="resize", role="rod"),
)
#: A plate may be left out; nothing says how high the deck is.
PATTERN = Pattern(
    "twin",
    {
        "crank": Slot(slot="crank", role="crank"),
        "rods": Slot(slot="rods", role="rod", quantity=2),
        "plate": Slot(slot="plate", role="plate", optional=True),
    },
    {
        "bore": (Quantity(4, "in"), Place("pattern.toml", 3)),
        "stroke": (Reference("crank", "stroke"), Place("pattern.toml", 4)),
        "cylinders": (Quantity(2), Place("pattern.toml", 5)),
    },
    "pattern.toml",
    dict.fromkeys(("stroke", "rod_length", "thickness", "journal_diameter"), "length") | {"mass": "mass"},
    words=frozenset({"material", "type"}),
    roles=frozenset({"crank", "rod", "plate", "spacer"}),
)
KNOWN = Known(PATTERN, {one.operation: one for one in OPERATIONS}, ("freshen", "rebuild"))
FACTS = Facts(
    Catalog({one.part: one for one in PARTS}, written=frozenset(one.part for one in PARTS)),
    rounds=(date(2027, 4, 10), date(2027, 5, 8), date(2027, 6, 5)),
    opens=date(2027, 2, 1),
    papers=frozenset({"seal", "receipt"}),
    opened=frozenset({"freshen"}),
)


def clause(name: str, kind: str, keys: str) -> str:
    return f'[[rule]]\nid = "{name}"\nkind = "{kind}"\nsays = "what {name} says"\n{keys}\n'


def pack_of(write: Write, text: str) -> Pack:
    head = "" if "default" in text else 'default = "allow"\n'
    pack, problems = read_pack(write("rules.toml", f'name = "Twin book"\n{head}{text}'), KNOWN)
    assert [str(problem) for problem in problems] == []
    assert pack is not None
    return pack


def doubts_of(write: Write, text: str, facts: Facts = FACTS) -> tuple[Doubt, ...]:
    return lint(pack_of(write, text), KNOWN, facts)


def limits(first: str, second: str) -> str:
    return clause("a", "limit", first) + clause("b", "limit", second)


def parts(first: str, second: str) -> str:
    return clause("a", "parts", first) + clause("b", "parts", second)


def editions(*rows: str) -> str:
    """A list of cranks in editions, and a clause that names it."""
    tables = "".join(f'[[list]]\nlist = "cranks"\nparts = "C-1"\n{row}\n' for row in rows)
    return tables + clause("a", "parts", 'slot = "crank"\nlist = "cranks"')


STROKE = 'of = "crank.stroke"\n'
STEEL = 'when = [{ kind = "word", of = "crank.material", one_of = "steel" }]'

#: check -> packs that trip it, each with the clause or list doubted and the one that it stands against
TRIPS: dict[str, list[tuple[str, Pairs]]] = {
    "limits-contradict": [
        (limits(f'{STROKE}max = "3.3 in"', f'{STROKE}min = "3.4 in"'), [("b", "a")]),
        (limits(f'{STROKE}max = "3.3 in"', f'{STROKE}min = "90 mm"\n{STEEL}'), [("b", "a")]),
        (limits(f'{STROKE}nominal = "3.3 in"\nwithin = "0.01 in"', f'{STROKE}max = "3.28 in"'), [("b", "a")]),
        (limits('of = "price"\nmax = "900 USD"', 'of = "price"\nmin = "1000 USD"'), [("b", "a")]),
    ],
    "limit-idle": [
        (limits(f'{STROKE}max = "3.3 in"', f'{STROKE}max = "3.4 in"'), [("b", "a")]),
        (limits(f'{STROKE}max = "3.4 in"\n{STEEL}', f'{STROKE}min = "3 in"\nmax = "3.3 in"'), [("a", "b")]),
        (limits(f'{STROKE}max = "3.3 in"', f'{STROKE}max = "83.82 mm"'), [("b", "a")]),
    ],
    "parts-contradict": [
        (parts('slot = "crank"\nallowed = "C-1"', 'slot = "crank rods"\nallowed = "C-2 R-1"'), [("b", "a")]),
        (parts('slot = "crank"\nallowed = "C-1"', 'slot = "crank"\nbanned = "C-1"'), [("b", "a")]),
        (parts('slot = "rods"\nsuppliers = "Vexmoor"', 'slot = "rods"\nsuppliers = "Ollerby"'), [("b", "a")]),
    ],
    "parts-idle": [
        (parts('slot = "crank"\nallowed = "C-1 C-9"', 'slot = "crank"\nallowed = "C-1"'), [("a", "b")]),
        (parts('slot = "rods"\nallowed = "R-1"', 'slot = "rods"\nsuppliers = "Vexmoor"'), [("b", "a")]),
    ],
    "said-twice": [
        (limits(f'{STROKE}max = "3.3 in"', f'{STROKE}max = "3.3 in"\nsunset = 2027-05-01'), [("b", "a")]),
        (
            clause("a", "inspection", 'slot = "crank"') * 1
            + clause("b", "inspection", 'slot = "crank"').replace("b says", "a says"),
            [("b", "a")],
        ),
    ],
    "ends-before-it-begins": [
        (clause("a", "conduct", "effective = 2027-06-01\nsunset = 2027-05-31"), [("a", "")]),
        (clause("a", "conduct", "from_round = 3\nsunset = 2027-05-31"), [("a", "")]),
    ],
    "over-before-the-season": [(clause("a", "conduct", "sunset = 2027-01-31"), [("a", "")])],
    "round-that-never-comes": [(clause("a", "conduct", "from_round = 4"), [("a", "")])],
    "condition-never-holds": [
        (clause("a", "conduct", 'when = [{ kind = "parts", slot = "crank", allowed = "C-9" }]'), [("a", "")]),
        (clause("a", "conduct", 'when = [{ kind = "parts", slot = "plate", allowed = "P-9" }]'), [("a", "")]),
        (clause("a", "conduct", 'when = [{ kind = "word", of = "rods.material", one_of = "iron" }]'), [("a", "")]),
        (clause("a", "conduct", 'when = [{ kind = "limit", of = "crank.stroke", min = "4 in" }]'), [("a", "")]),
        (clause("a", "conduct", 'unless = [{ kind = "word", of = "rods.material", one_of = "steel" }]'), [("a", "")]),
    ],
    "nothing-meets-it": [
        (clause("a", "parts", 'slot = "crank rods"\nallowed = "R-1 R-2 C-9"'), [("a", "")]),
        (clause("a", "parts", 'slot = "crank"\nsuppliers = "Ollerby"'), [("a", "")]),
        (clause("a", "word", 'of = "rods.material"\nnone_of = "steel"'), [("a", "")]),
        (clause("a", "limit", f'{STROKE}max = "3.249 in"'), [("a", "")]),
        (clause("a", "limit", 'of = "made.crank.journal_diameter"\nmax = "1.99 in"'), [("a", "")]),
    ],
    "bars-nothing": [
        (clause("a", "parts", 'slot = "crank"\nallowed = "C-1 C-2"'), [("a", "")]),
        (clause("a", "work", 'slot = "crank"\nkeeps = "stroke"'), [("a", "")]),
    ],
    "part-in-no-catalog": [
        (clause("a", "parts", 'slot = "crank"\nallowed = "C-1 C-9"'), [("a", "")]),
        (clause("a", "parts", 'slot = "crank"\nbanned = "C-9"'), [("a", "")]),
        (clause("a", "parts", 'slot = "crank"\nallowed = "C-1"\nkept = { parts = "C-9" }'), [("a", "")]),
        (clause("a", "option", 'slot = "crank"\nchoices = { A = ["C-1"], B = ["C-9"] }'), [("a", "")]),
        (editions("").replace('parts = "C-1"', 'parts = "C-1 C-9"'), [("cranks", "")]),
    ],
    "part-of-another-role": [
        (clause("a", "parts", 'slot = "crank"\nallowed = "C-1 R-1"'), [("a", "")]),
        (editions("").replace('parts = "C-1"', 'parts = "C-1 R-1"'), [("cranks", "")]),
    ],
    "attribute-nobody-gives": [
        (clause("a", "limit", 'of = "rods.rod_length"\nmax = "6 in"'), [("a", "")]),
        (clause("a", "limit", 'of = "made.rods.mass"\nmax = "600 g"\nproof = "measurement"'), [("a", "")]),
        (clause("a", "word", 'of = "rods.type"\none_of = "forged"'), [("a", "")]),
        (clause("a", "limit", 'of = "compression_ratio"\nmax = 11'), [("a", "")]),
        (clause("a", "limit", 'of = "mass"\nmin = "50 kg"'), [("a", "")]),
        (clause("a", "conduct", 'when = [{ kind = "word", of = "rods.type", one_of = "forged" }]'), [("a", "")]),
    ],
    "word-nobody-has": [
        (clause("a", "word", 'of = "crank.material"\none_of = "steel titanium"'), [("a", "")]),
        (clause("a", "word", 'of = "crank.material"\nnone_of = "titanium"'), [("a", "")]),
    ],
    "role-without-slot": [(clause("a", "limit", 'of = "count.spacer"\nmax = 1'), [("a", "")])],
    "list-unnamed": [('[[list]]\nlist = "rods"\nparts = "R-1"\n', [("rods", "")])],
    "editions-overlap": [
        (editions("until = 2027-06-30", "since = 2027-06-30"), [("cranks", "cranks")]),
        (editions("since = 2027-01-01", "since = 2027-01-01"), [("cranks", "cranks")]),
    ],
    "edition-gap": [
        (editions("until = 2027-04-30", "since = 2027-05-02"), [("cranks", "")]),
        (editions("since = 2027-03-01"), [("cranks", "a")]),
        (editions("until = 2027-06-04"), [("cranks", "a")]),
    ],
    "level-never-opened": [
        (clause("a", "quota", 'of = "openings"\nmost = 2\nlevel = "rebuild"'), [("a", "")]),
        (clause("a", "charge", 'amount = 90\nper = "opening"\nlevel = "rebuild"'), [("a", "")]),
        (clause("a", "paper", 'paper = "seal"\nby = "Ollerby"\nlevel = "rebuild"'), [("a", "")]),
    ],
    "paper-nobody-has": [
        (clause("a", "paper", 'paper = "seals"'), [("a", "")]),
        (clause("a", "inspection", 'proof = "document"\ndocument = "leave"'), [("a", "")]),
        (clause("a", "conduct", 'unless = [{ kind = "paper", paper = "leave" }]'), [("a", "")]),
        (clause("a", "option", 'slot = "crank"\nchoices = { A = ["C-1"] }\ndeclared = "declaration"'), [("a", "")]),
    ],
    "operation-of-another-role": [
        (clause("a", "work", 'slot = "crank"\nmust_not = "resize"'), [("a", "")]),
        (clause("a", "work", 'slot = "crank rods"\nmust = "polish"'), [("a", "")]),
    ],
    "advice-with-penalty": [(clause("a", "conduct", 'severity = "should"\npenalty = "10 points"'), [("a", "")])],
    "document-unnamed": [(clause("a", "inspection", 'proof = "document"'), [("a", "")])],
    "document-unasked": [(clause("a", "inspection", 'document = "receipt"'), [("a", "")])],
    "keeps-everything": [(clause("a", "parts", 'slot = "crank"\nallowed = "C-1"\nkept = {}'), [("a", "")])],
    "choice-nobody-can-build": [
        (clause("a", "option", 'slot = "crank"\nchoices = { A = ["C-1"], B = [] }'), [("a", "")]),
        (clause("a", "option", 'slot = "crank rods"\nchoices = { A = ["C-1", "R-1"], B = ["C-2"] }'), [("a", "")]),
    ],
    "part-of-two-choices": [
        (clause("a", "option", 'slot = "crank"\nchoices = { A = ["C-1"], B = ["C-1", "C-2"] }'), [("a", "")]),
    ],
    "slot-unwritten": [
        ('default = "forbid"\n' + clause("a", "parts", 'slot = "crank"\nallowed = "C-1"'), [("", "")]),
        ('default = "forbid"\n' + clause("a", "inspection", 'slot = "crank rods plate"'), [("", "")]),
    ],
    "inspection-unplanned": [
        (clause("a", "inspection", "minutes = 5"), [("a", "")]),
        (clause("a", "limit", 'reads = "vacuum at idle"\nmin = "50 kPa"\nminutes = 5'), [("a", "")]),
        (clause("a", "limit", f'{STROKE}max = "3.3 in"\nproof = "measurement"\nrisk = 0.02'), [("a", "")]),
        (clause("a", "parts", 'slot = "crank"\nallowed = "C-1"\nmark = "X7"'), [("a", "")]),
    ],
}

#: check -> packs on which it is quiet, each close to one that trips it
QUIET: dict[str, list[str]] = {
    "limits-contradict": [
        limits(f'{STROKE}max = "3.3 in"', f'{STROKE}min = "3.3 in"'),
        limits(f'{STROKE}max = "3.3 in"\nsunset = 2027-05-01', f'{STROKE}min = "3.4 in"\neffective = 2027-05-02'),
        limits(f'{STROKE}max = "3.3 in"\n{STEEL}', f'{STROKE}min = "3.4 in"\n{STEEL.replace("when", "unless")}'),
        limits(f'{STROKE}max = "3.3 in"\ntolerance = "0.1 in"', f'{STROKE}min = "3.4 in"'),
        limits(f'{STROKE}max = "3.3 in"\nrounding = "rounded"', f'{STROKE}min = "3.34 in"'),
        limits('of = "price"\nmax = "900 USD"', 'of = "price"\nmin = "1000 EUR"'),
        limits(f'{STROKE}max = "3.3 in"\nmethod = "by dial"', f'{STROKE}min = "3.4 in"\nmethod = "by pressure"'),
    ],
    "limit-idle": [
        limits(f'{STROKE}max = "3.3 in"', f'{STROKE}min = "3.1 in"'),
        limits(f'{STROKE}max = "3.3 in"\n{STEEL}', f'{STROKE}max = "3.4 in"'),
        limits(f'{STROKE}max = "3.3 in"\nseverity = "should"', f'{STROKE}max = "3.4 in"'),
        limits(f'{STROKE}max = "3.3 in"\nkept = {{ parts = "C-2" }}', f'{STROKE}max = "3.4 in"'),
        limits(f'{STROKE}max = "3.3 in"', f'{STROKE}max = "3.4 in"\nproof = "measurement"'),
        limits(f'{STROKE}max = "3.3 in"\neffective = 2027-05-01', f'{STROKE}max = "3.4 in"'),
    ],
    "parts-contradict": [
        parts('slot = "crank"\nallowed = "C-1"', 'slot = "crank"\nallowed = "C-2"\neffective = 2027-05-01').replace(
            'allowed = "C-1"', 'allowed = "C-1"\nsunset = 2027-04-30'
        ),
        parts('slot = "rods"\nallowed = "R-9"', 'slot = "rods"\nsuppliers = "Ollerby"'),
        parts('slot = "crank"\nallowed = "C-1"', 'slot = "rods"\nallowed = "R-1"'),
    ],
    "parts-idle": [
        parts('slot = "crank"\nallowed = "C-1 C-9"', 'slot = "crank"\nallowed = "C-9 C-2"'),
        parts('slot = "rods"\nallowed = "R-1"\nmark = "7"', 'slot = "rods"\nsuppliers = "Vexmoor"\nmark = "V"'),
        parts('slot = "crank"\nallowed = "C-1"', 'slot = "crank"\nallowed = "C-1 C-2"'),
    ],
    "said-twice": [
        clause("a", "inspection", 'slot = "crank"') + clause("b", "inspection", 'slot = "crank"'),
        limits(f'{STROKE}max = "3.3 in"\nsunset = 2027-05-01', f'{STROKE}max = "3.3 in"\neffective = 2027-06-01'),
    ],
    "ends-before-it-begins": [clause("a", "conduct", "effective = 2027-06-01\nsunset = 2027-06-01")],
    "over-before-the-season": [clause("a", "conduct", "sunset = 2027-02-01")],
    "round-that-never-comes": [clause("a", "conduct", "from_round = 3")],
    "condition-never-holds": [
        clause("a", "conduct", STEEL),
        clause("a", "conduct", STEEL.replace("when", "unless")),
        clause("a", "conduct", 'unless = [{ kind = "limit", of = "plate.thickness", max = "1 in" }]'),
        clause("a", "conduct", 'when = [{ kind = "limit", of = "crank.journal_diameter", max = "1.99 in" }]'),
        clause("a", "conduct", 'when = [{ kind = "word", of = "rods.type", one_of = "forged" }]'),
    ],
    "nothing-meets-it": [
        clause("a", "parts", 'slot = "plate"\nallowed = "P-9"'),
        clause("a", "parts", 'slot = "crank"\nallowed = "C-9"\nkept = { parts = "C-1" }'),
        clause("a", "limit", f'{STROKE}max = "3.25 in"'),
        clause("a", "limit", f'{STROKE}max = "3.2 in"\nrounding = "rounded"'),
        clause("a", "limit", 'of = "crank.journal_diameter"\nmax = "1.99 in"'),
        clause("a", "word", 'of = "rods.type"\none_of = "forged"'),
        clause("a", "limit", 'of = "crank.stroke crank.journal_diameter"\nmax = "1 in"'),
    ],
    "bars-nothing": [
        clause("a", "parts", 'slot = "crank"\nallowed = "C-1"'),
        clause("a", "parts", 'slot = "crank"\nallowed = "C-1 C-2"\nmark = "X7"'),
        clause("a", "parts", 'slot = "crank"\nbanned = "C-9"'),
        clause("a", "work", 'slot = "crank"\nkeeps = "journal_diameter"'),
        clause("a", "work", 'slot = "crank"\nmust = "polish"'),
    ],
    "part-in-no-catalog": [clause("a", "parts", 'slot = "crank"\nallowed = "C-1"\nbanned = "C-2"')],
    "part-of-another-role": [
        clause("a", "parts", 'slot = "crank rods"\nallowed = "C-1 R-1"'),
        '[[list]]\nlist = "all"\nparts = "C-1 R-1"\n'
        + parts('slot = "crank"\nlist = "all"', 'slot = "rods"\nlist = "all"'),
    ],
    "attribute-nobody-gives": [
        clause("a", "limit", 'of = "displacement"\nmax = "90 in3"'),
        clause("a", "limit", 'of = "rods.rod_length"\nmax = "6 in"\nproof = "measurement"'),
        clause("a", "limit", 'of = "compression_ratio"\nmax = 11\nproof = "inspection"'),
        clause("a", "limit", 'of = "count.rod price"\nmax = 11').replace(" price", ""),
        clause("a", "limit", 'of = "price"\nmax = "900 USD"'),
    ],
    "word-nobody-has": [
        clause("a", "word", 'of = "crank.material"\none_of = "steel iron"'),
        clause("a", "word", 'of = "rods.type"\none_of = "forged"'),
    ],
    "role-without-slot": [clause("a", "limit", 'of = "count.plate"\nmax = 1')],
    "list-unnamed": [
        editions(""),
        '[[list]]\nlist = "rods"\nparts = "R-1"\n'
        + clause("a", "conduct", 'when = [{ kind = "parts", slot = "rods", list = "rods" }]'),
    ],
    "editions-overlap": [
        editions("since = 2027-01-01", "since = 2027-06-30"),
        editions("until = 2027-06-29", "since = 2027-06-30"),
    ],
    "edition-gap": [
        editions("until = 2027-04-30", "since = 2027-05-01"),
        editions("until = 2026-04-30", "since = 2027-02-01"),
        editions("since = 2027-03-01") + "effective = 2027-03-01\n",
        editions("until = 2027-06-05"),
        editions("until = 2027-05-31") + "sunset = 2027-05-31\n",
    ],
    "level-never-opened": [clause("a", "quota", 'of = "openings"\nmost = 2\nlevel = "freshen"')],
    "paper-nobody-has": [clause("a", "paper", 'paper = "seal"')],
    "operation-of-another-role": [
        clause("a", "work", 'slot = "crank rods"\nmay = "polish resize"'),
        clause("a", "work", 'slot = "crank"\nmust = "polish"'),
    ],
    "advice-with-penalty": [
        clause("a", "conduct", 'severity = "should"'),
        clause("a", "conduct", 'penalty = "10 points"'),
    ],
    "document-unnamed": [
        clause("a", "inspection", 'proof = "document"\ndocument = "receipt"'),
        clause("a", "paper", 'paper = "seal"\nproof = "document"'),
    ],
    "document-unasked": [clause("a", "inspection", 'proof = ["inspection", "document"]\ndocument = "receipt"')],
    "keeps-everything": [
        clause("a", "parts", f'slot = "crank"\nallowed = "C-1"\nkept = {{ {keys} }}')
        for keys in ('parts = "C-2"', "bought_before = 2027-01-01", 'serials = "7"', "until = 2028-12-31")
    ],
    "choice-nobody-can-build": [
        clause("a", "option", 'slot = "crank rods plate"\nchoices = { A = ["C-1", "R-1"], B = ["C-2", "R-1"] }'),
    ],
    "part-of-two-choices": [clause("a", "option", 'slot = "crank"\nchoices = { A = ["C-1"], B = ["C-2"] }')],
    "slot-unwritten": [
        clause("a", "parts", 'slot = "crank"\nallowed = "C-1"'),
        'default = "forbid"\n'
        + clause("a", "inspection", 'slot = "crank rods"')
        + clause("b", "inspection", 'slot = "plate"'),
    ],
    "inspection-unplanned": [
        clause("a", "inspection", "minutes = 5\nrisk = 0.02"),
        clause("a", "limit", f'{STROKE}max = "3.3 in"'),
    ],
}


@pytest.mark.parametrize(("code", "text", "pairs"), [(code, *case) for code, cases in TRIPS.items() for case in cases])
def test_each_check_is_tripped(write: Write, code: str, text: str, pairs: Pairs) -> None:
    found = [doubt for doubt in doubts_of(write, text) if doubt.code == code]
    assert [(doubt.rule, doubt.against) for doubt in found] == pairs
    assert {doubt.severity for doubt in found} == {CHECKS[code].severity}
    assert all(doubt.what and doubt.advice and doubt.place.file.endswith("rules.toml") for doubt in found)


@pytest.mark.parametrize(("code", "text"), [(code, text) for code, texts in QUIET.items() for text in texts])
def test_each_check_is_quiet_where_all_is_well(write: Write, code: str, text: str) -> None:
    assert [doubt for doubt in doubts_of(write, text) if doubt.code == code] == []


def test_every_check_has_packs_that_trip_it_and_packs_that_do_not() -> None:
    assert set(TRIPS) == set(QUIET) == set(CHECKS)
    assert all(check.meaning.endswith(".") for check in CHECKS.values())


def test_a_doubt_stands_at_the_line_of_its_clause(write: Write) -> None:
    text = clause("a", "conduct", "") + clause("b", "conduct", "from_round = 9")
    (doubt,) = doubts_of(write, text)
    assert (doubt.rule, doubt.place.line) == ("b", 8)
    assert "round 9" in doubt.what


def test_a_misspelt_part_is_told_with_the_one_that_may_be_meant(write: Write) -> None:
    doubts = doubts_of(write, clause("a", "parts", 'slot = "rods"\nallowed = "R-1 R2"'))
    assert [(doubt.code, doubt.advice) for doubt in doubts] == [
        ("part-in-no-catalog", "R2: did you mean 'R-2'?"),
    ]


def test_doubts_come_clause_by_clause_and_lists_and_the_whole_book_last(write: Write) -> None:
    text = 'default = "forbid"\n[[list]]\nlist = "rods"\nparts = "R-1"\n'
    text += clause("z", "inspection", 'proof = "document"\nminutes = 1') + clause("c", "conduct", "from_round = 9")
    found = [(doubt.rule, doubt.code) for doubt in doubts_of(write, text)]
    assert found == [
        ("z", "document-unnamed"),
        ("c", "round-that-never-comes"),
        ("rods", "list-unnamed"),
        ("", "slot-unwritten"),
    ]


def test_what_was_measured_shows_what_no_catalog_gives(write: Write) -> None:
    text = clause("a", "limit", 'of = "rods.rod_length"\nmax = "6 in"')
    measured = replace(FACTS, measured=frozenset({"rods.rod_length"}))
    assert [doubt.code for doubt in doubts_of(write, text)] == ["attribute-nobody-gives"]
    assert doubts_of(write, text, measured) == ()


def test_without_catalogs_only_the_book_itself_is_looked_at(write: Write) -> None:
    text = clause("a", "parts", 'slot = "crank"\nallowed = "C-9"\nsunset = 2027-01-01\neffective = 2027-01-02')
    assert [doubt.code for doubt in lint(pack_of(write, text), Known(), Facts())] == ["ends-before-it-begins"]


def test_a_level_is_opened_where_anything_at_it_or_above_is_called_for() -> None:
    levels = (
        Level(level="springs", rank=1),
        Level(level="freshen", rank=2),
        Level(level="rebuild", rank=3),
        Level(level="wash", rank=1, carrier="car", dates=(date(2027, 3, 1),)),
        Level(level="strip", rank=2, carrier="car"),
    )
    assert opened_levels(levels, ["freshen"]) == {"springs", "freshen", "wash"}
    assert opened_levels(levels, []) == {"wash"}


@pytest.mark.parametrize("folder", DEMOS)
def test_nothing_is_wrong_in_the_demo_books(folder: str) -> None:
    scenario, problems = read_scenario(ROOT / folder)
    assert scenario is not None, problems
    packs = (*scenario.packs, *scenario.neighbours)
    found = [doubt for pack in packs for doubt in scenario.doubts(pack)]
    assert [doubt for doubt in found if doubt.severity == "wrong"] == []


def test_five_hundred_clauses_are_linted_in_seconds(write: Write) -> None:
    """About 0.4 s of the processor's time; five would be the square of the clauses."""
    cranks = {f"C-{number}": part(f"C-{number}", "crank", "Vexmoor", stroke=Quantity(3, "in")) for number in range(200)}
    facts = replace(FACTS, catalog=Catalog(cranks, written=frozenset(cranks)))
    named = " ".join(list(cranks)[:100])
    text = "".join(
        clause(
            f"p{number}",
            "parts",
            f'slot = "crank"\nallowed = "{named} X-{number}"\neffective = 2027-01-{1 + number % 28:02}',
        )
        if number % 10 == 0
        else clause(f"l{number}", "limit", f'{STROKE}max = "3.{number:03} in"')
        for number in range(500)
    )
    pack = pack_of(write, text)
    began = process_time()
    assert lint(pack, KNOWN, facts)
    assert process_time() - began < 5
