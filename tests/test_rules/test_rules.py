"""Rules: each kind of clause tripped each way it can be, and each fault of a pack at its place."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from pytest import approx

from costplan.build import Build, Figures, Fill, Pattern, Slot, bill_of
from costplan.catalog import Buying, Catalog, Part
from costplan.money import Rates
from costplan.problems import Place
from costplan.quantity import Quantity
from costplan.rules import KINDS, Finding, Pack, Verdicts, check, read_pack

Write = Callable[[str, str | bytes], Path]
Seen = list[tuple[str, int | None, str]]

DAY = date(2027, 1, 1)
BLANK = Part(part="C-1", role="crank", supplier="x", price=Decimal(1), price_date=DAY, currency="USD")
CRANK = BLANK.model_copy(update={"attributes": {"stroke": Quantity(3.25, "in"), "material": "steel"}})
SLOTS = {name: Slot(slot=name, role="crank", optional=name == "plate") for name in ("crank", "plate")}
#: pi/4 * 4^2 * 3.25 * 8 = 326.73 in3
PATTERN = Pattern(
    "V8",
    SLOTS,
    {
        "bore": (Quantity(4, "in"), Place("pattern.toml", 3)),
        "stroke": (Quantity(3.25, "in"), Place("pattern.toml", 4)),
        "cylinders": (Quantity(8), Place("pattern.toml", 5)),
    },
    "pattern.toml",
    {"stroke": "length", "thickness": "length"},
)
BUILD = Build(PATTERN, {"crank": Fill(SLOTS["crank"], CRANK, Place("build.csv", 2))})
FIGURES = Figures(BUILD, bill_of(BUILD, Catalog({"C-1": CRANK}), Buying(Rates("USD")), DAY, 180))


def pack_of(write: Write, clauses: str) -> tuple[Pack | None, Seen]:
    pack, problems = read_pack(write("rules.toml", 'name = "Club"\n' + clauses), PATTERN)
    return pack, [(p.code, p.place.line, p.field) for p in problems]


def verdicts_of(write: Write, clauses: str) -> Verdicts:
    pack, problems = pack_of(write, clauses)
    assert problems == []
    assert pack is not None
    return check(pack, FIGURES)


def finding_of(write: Write, kind: str, keys: str) -> Finding:
    (finding,) = verdicts_of(write, f'[[rule]]\nid = "one"\nsays = "so"\nkind = "{kind}"\n{keys}\n').findings
    return finding


#: kind -> clauses with the verdict and what is found on paper
CASES = {
    "spec part": [
        ('slot = "crank"\npart = "C-1"', "meets", "meets"),
        ('slot = "crank"\npart = "C-1"\nproof = ["list"]', "meets", "meets"),
        ('slot = "crank"\npart = "C-2"', "breaks", "breaks"),
        ('slot = "crank"\npart = "C-2"\nmark = "X7"', "breaks", "breaks"),
        ('slot = "crank"\npart = "C-1"\nmark = "X7"', "cannot be shown", "meets"),
        ('slot = "crank"\npart = "C-1"\nproof = "measurement"', "cannot be shown", "meets"),
        ('slot = "plate"\npart = "C-1"', "cannot be shown", "cannot be shown"),
    ],
    "approved list": [
        ('slot = "crank"\nparts = ["C-0", "C-1"]', "meets", "meets"),
        ('slot = "crank"\nparts = "C-0 C-1"', "meets", "meets"),
        ('slot = "crank"\nparts = ["C-0", "C-2"]', "breaks", "breaks"),
        ('slot = "crank"\nparts = []', "breaks", "breaks"),
        ('slot = "crank"\nparts = ["C-1"]\nproof = ["document"]', "cannot be shown", "meets"),
        ('slot = "plate"\nparts = ["C-1"]', "cannot be shown", "cannot be shown"),
    ],
    "limit": [
        ('of = "displacement"\nmax = "330 in3"', "meets", "meets"),
        ('of = "displacement"\nmin = "5 L"\nmax = "5.4 L"', "meets", "meets"),
        ('of = "displacement"\nmax = "320 in3"', "breaks", "breaks"),
        ('of = "displacement"\nmin = "330 in3"', "breaks", "breaks"),
        ('of = "displacement"\nmax = "320 in3"\nproof = "measurement"', "breaks", "breaks"),
        ('of = "displacement"\nmax = "330 in3"\nproof = "measurement"', "cannot be shown", "meets"),
        ('of = "compression_ratio"\nmax = 12', "cannot be shown", "cannot be shown"),
        ('of = "crank.stroke"\nmin = "3.25 in"\nmax = "3.25 in"', "meets", "meets"),
        ('of = "crank.stroke"\nmin = "82.55 mm"\nmax = "82.55 mm"', "meets", "meets"),
        ('of = "crank.stroke"\nmax = "3.249 in"', "breaks", "breaks"),
        ('of = "plate.thickness"\nmax = "1 in"', "cannot be shown", "cannot be shown"),
    ],
    "inspection": [
        ('slot = "crank"', "cannot be shown", "cannot be shown"),
        ("", "cannot be shown", "cannot be shown"),
        ('proof = ["inspection"]', "cannot be shown", "cannot be shown"),
    ],
}


@pytest.mark.parametrize(
    ("kind", "keys", "verdict", "on_paper"), [(kind, *case) for kind, cases in CASES.items() for case in cases]
)
def test_each_kind_is_tripped(write: Write, kind: str, keys: str, verdict: str, on_paper: str) -> None:
    finding = finding_of(write, kind, keys)
    assert (finding.verdict, finding.on_paper) == (verdict, on_paper)
    assert bool(finding.at_fault) == (verdict == "breaks")
    assert bool(finding.owed) == (verdict == "cannot be shown")


def test_every_kind_has_its_tripping_cases() -> None:
    assert set(CASES) == set(KINDS)
    for kind, cases in CASES.items():
        verdicts = {verdict for _, verdict, _ in cases}
        assert verdicts == ({"cannot be shown"} if kind == "inspection" else {"meets", "breaks", "cannot be shown"})


def test_a_part_at_fault_is_named_with_its_row(write: Write) -> None:
    finding = finding_of(write, "spec part", 'slot = "crank"\npart = "C-2"')
    assert ["crank" in word and "C-1" in word for word in finding.at_fault] == [True]
    assert any("build.csv:2" in word for word in finding.why)


@pytest.mark.parametrize(
    ("bounds", "margin"),
    [('max = "330 in3"', 3.2743), ('min = "320 in3"\nmax = "330 in3"', 3.2743), ('max = "320 in3"', -6.7257)],
)
def test_a_limit_tells_value_and_margin_in_its_own_unit(write: Write, bounds: str, margin: float) -> None:
    finding = finding_of(write, "limit", f'of = "displacement"\n{bounds}')
    assert finding.value is not None
    assert finding.margin is not None
    assert (finding.value.unit, finding.margin.unit) == ("in3", "in3")
    assert finding.value.value == approx(326.7256, abs=1e-4)
    assert finding.margin.value == approx(margin, abs=1e-4)


def test_what_an_unknown_measure_lacks_is_owed(write: Write) -> None:
    owed = finding_of(write, "limit", 'of = "deck_clearance"\nmin = "0 mm"').owed
    assert [any(name in word for word in owed) for name in ("deck_height", "rod_length", "pin_height")] == [True] * 3


def test_a_proof_stays_owed_once(write: Write) -> None:
    assert finding_of(write, "inspection", 'proof = ["inspection"]').owed == ("inspection",)
    assert finding_of(write, "inspection", 'proof = ["list", "document"]').owed == ("inspection", "document")


def test_a_finding_names_its_clause_and_place(write: Write) -> None:
    finding = finding_of(write, "inspection", 'book = "4.2"\npage = "17"')
    assert "4.2" in finding.clause
    assert "17" in finding.clause
    assert finding.place.endswith("rules.toml:2")


def test_the_verdicts_of_a_pack_are_in_its_order(write: Write) -> None:
    clauses = """
edition = "7th"
date = 2027-01-01
[[rule]]
id = "b"
kind = "spec part"
says = "so"
slot = "crank"
part = "C-2"
[[rule]]
id = "a"
kind = "inspection"
says = "so"
"""
    verdicts = verdicts_of(write, clauses)
    assert [finding.rule for finding in verdicts.findings] == ["b", "a"]
    assert [verdicts.count(verdict) for verdict in ("meets", "breaks", "cannot be shown")] == [0, 1, 1]
    assert (verdicts.pack, verdicts.default) == ("Club", "forbid")
    assert "7th" in verdicts.edition
    assert "2027-01-01" in verdicts.edition


def clause(kind: str, keys: str) -> str:
    """A clause whose keys begin on line 6."""
    return f'[[rule]]\nid = "one"\nsays = "so"\nkind = "{kind}"\n{keys}\n'


@pytest.mark.parametrize(
    ("clauses", "problem"),
    [
        (clause("limits", ""), ("RUL001", 5, "rule.1.kind")),
        ('[[rule]]\nid = "one"\nsays = "so"\n', ("RUL001", 2, "rule.1.kind")),
        ("[[rule]]\nkind = 5\n", ("RUL001", 3, "rule.1.kind")),
        (clause("spec part", 'slot = "rod"\npart = "C-1"'), ("RUL002", 2, "one.slot")),
        (clause("approved list", 'slot = "rod"\nparts = []'), ("RUL002", 2, "one.slot")),
        (clause("inspection", 'slot = "rod"'), ("RUL002", 2, "one.slot")),
        (clause("limit", 'of = "rod.mass"\nmax = "1 kg"'), ("RUL002", 2, "one.of")),
        (clause("limit", 'of = "weight"\nmax = "1 kg"'), ("RUL003", 2, "one.of")),
        (clause("limit", 'of = "price"\nmax = 100'), ("RUL003", 2, "one.of")),
        (clause("limit", 'of = "displacement"'), ("RUL004", 2, "one.max")),
        (clause("limit", 'of = "displacement"\nmin = "6 L"\nmax = "330 in3"'), ("RUL004", 2, "one.min")),
        (clause("limit", 'of = "displacement"\nmax = "330 kg"'), ("REA021", 2, "one.max")),
        (clause("limit", 'of = "displacement"\nmax = 330'), ("REA021", 2, "one.max")),
        (clause("limit", 'of = "crank.stroke"\nmin = "3 in"\nmax = "4 kg"'), ("REA021", 2, "one.max")),
        (clause("limit", 'of = "crank.stroke"\nmax = "3 kg"'), ("REA021", 2, "one.max")),
        (clause("limit", 'of = "crank.material"\nmax = 1'), ("RUL003", 2, "one.of")),
        (clause("limit", 'of = "displacement"\nmax = "330 pints"'), ("REA021", 7, "rule.1.max")),
        (clause("limit", 'of = "displacement"\nmax = "much L"'), ("REA017", 7, "rule.1.max")),
        (clause("limit", 'of = "displacement"\nmax = true'), ("REA017", 7, "rule.1.max")),
        (clause("inspection", 'proof = ["oath"]'), ("REA020", 6, "rule.1.proof")),
        (clause("inspection", "minutes = -1"), ("REA018", 6, "rule.1.minutes")),
        (clause("inspection", 'colour = "red"'), ("REA015", 6, "rule.1.colour")),
        (clause("spec part", 'slot = "crank"'), ("REA016", 2, "rule.1.part")),
        (clause("inspection", "") + clause("inspection", ""), ("REA023", 7, "id")),
        ('default = "perhaps"\n', ("REA020", 2, "default")),
    ],
)
def test_a_fault_of_a_pack_is_placed(write: Write, clauses: str, problem: tuple[str, int, str]) -> None:
    assert pack_of(write, clauses)[1] == [problem]


def test_a_limit_of_an_unknown_attribute_is_refused(write: Write) -> None:
    assert pack_of(write, clause("limit", 'of = "crank.strok"\nmax = "4 in"'))[1] == [("RUL003", 2, "one.of")]


def test_a_clause_at_fault_leaves_the_others(write: Write) -> None:
    pack, problems = pack_of(write, clause("limits", "") + clause("inspection", "").replace("one", "two"))
    assert pack is not None
    assert ([rule.id for rule in pack.rules], len(problems)) == (["two"], 1)
