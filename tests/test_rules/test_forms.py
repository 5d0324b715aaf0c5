"""The forms of clauses: each example loads, lands in the kinds that the table says, and is proved as the table says."""

from __future__ import annotations

import csv
import io
import json
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from costplan.build import Build, Fill, Slot, read_build, read_pattern, with_part
from costplan.catalog import Catalog, Part, read_catalogs
from costplan.garage import Bench, Inspected, Paper, Piece
from costplan.money import Rate, Rates
from costplan.problems import Place
from costplan.quantity import Quantity
from costplan.rules import KINDS, Finding, Known, Pack, check, read_pack
from costplan.rules.forms import FORMS, LETTERS, Form
from costplan.scenario import Header, Scenario
from costplan.season import Engine, SeasonFiles
from tests import command_line

ROOT = Path(__file__).parents[2]
DAY = date(2027, 5, 3)
LEVELS, SERVICES = ("trackside", "springs", "freshen", "rebuild"), ("methanol", "tyre right rear")
#: The demo ends at its heads: one of the forms speaks of what is behind them.
PIPE = {"role": "headers", "supplier": "Nagg Works", "price": Decimal(300), "price_date": DAY, "currency": "USD"}
HEADERS = tuple(
    Part(part=name, **PIPE).model_copy(update={"attributes": {"pipe_diameter": Quantity(inches, "in")}})
    for name, inches in (("HD-175", 1.75), ("HD-188", 1.875))
)


@pytest.fixture(scope="module")
def demo() -> Scenario:
    """The demo engine with headers, without its books, papers and inspections."""
    catalog, problems = read_catalogs([ROOT / "catalogs/oval-v8"])
    assert problems == ()
    pattern, problems = read_pattern(ROOT / "scenarios/oval-v8/pattern.toml", catalog)
    assert pattern is not None
    build, problems = read_build(ROOT / "scenarios/oval-v8/build.csv", pattern, catalog)
    assert problems == ()
    slot = Slot(slot="headers", role="headers", weighed=False)
    pattern = replace(
        pattern,
        slots={**pattern.slots, "headers": slot},
        attributes={**pattern.attributes, "pipe_diameter": "length"},
    )
    catalog = replace(catalog, parts={**catalog.parts, **{part.part: part for part in HEADERS}})
    fills = {**build.fills, "headers": Fill(slot, HEADERS[0], Place("build.csv"))}
    build = replace(build, pattern=pattern, fills=fills, bench=())
    header = Header(title="demo", currency="USD", with_tax=False)
    rates = Rates("USD", (Rate("EUR", Decimal("1.10"), date(2026, 1, 1)),))
    return Scenario("demo", header, rates, (Engine(name="blue"),), SeasonFiles(()), catalog, build)


def pack_of(form: Form, demo: Scenario, folder: Path) -> tuple[Pack | None, tuple[str, ...]]:
    """The pack that the example of a form is, behind a name."""
    build, catalog = demo.build, demo.catalog
    assert build is not None
    assert catalog is not None
    for name in ("rules-tour.toml", "rules-ridge.toml"):
        (folder / name).write_text(f'name = "{name}"\n', encoding="utf-8")
    path = folder / "rules-forms.toml"
    path.write_text(f'name = "Forms"\n{form.toml}', encoding="utf-8")
    known = Known(build.pattern, catalog.operations, levels=LEVELS, services=SERVICES, rates=demo.rates)
    pack, problems = read_pack(path, known)
    return pack, tuple(map(str, problems))


ALL = pytest.mark.parametrize("form", FORMS.values(), ids=lambda form: str(form.number))


def test_the_forms_are_58_and_each_has_a_name_of_its_own() -> None:
    assert list(FORMS) == list(range(1, 59))
    assert len({form.name for form in FORMS.values()}) == 58


@ALL
def test_an_example_loads_and_lands_in_its_kinds(form: Form, demo: Scenario, tmp_path: Path) -> None:
    pack, problems = pack_of(form, demo, tmp_path)
    assert problems == ()
    assert pack is not None
    tests = [(rule.kind, *(one.kind for one in (*rule.when, *rule.unless))) for rule in pack.rules]
    assert tuple(dict.fromkeys(kind for kinds in tests for kind in kinds)) == form.kinds


@ALL
def test_an_example_can_be_read_and_copied(form: Form) -> None:
    assert all(len(line) < 80 for line in form.toml.splitlines())
    assert form.toml.startswith(form.toml.strip())
    assert form.says.endswith(".")
    assert all(rule["id"].startswith(f"F{form.number}-") for rule in tomllib.loads(form.toml).get("rule", ()))
    assert set(form.proof) <= set(LETTERS)


def test_every_kind_states_some_form() -> None:
    assert {kind for form in FORMS.values() for kind in form.kinds} == set(KINDS)


#: What proves each form; `-` is nothing. Each letter is asked below.
PROOF = """
1 LI, 2 L, 3 LI, 4 V, 5 VD, 6 LV, 7 VI, 8 I, 9 I, 10 LI, 11 LI, 12 VI, 13 I, 14 LI, 15 LI, 16 I, 17
LI, 18 LVI, 19 LI, 20 V, 21 LI, 22 LV, 23 LI, 24 LI, 25 LD, 26 LI, 27 LI, 28 DI, 29 DI, 30 D, 31 D,
32 D, 33 LD, 34 E, 35 LD, 36 LD, 37 E, 38 E, 39 LI, 40 L, 41 LI, 42 LV, 43 D, 44 E, 45 I, 46 D, 47
DI, 48 LI, 49 -, 50 LD, 51 V, 52 E, 53 E, 54 DI, 55 D, 56 LE, 57 I, 58 E
"""


def test_the_proof_of_every_form_is_that_of_the_book_of_forms() -> None:
    wanted = dict(row.split() for row in PROOF.replace("\n", " ").strip().split(", "))
    assert {str(form.number): form.proof or "-" for form in FORMS.values()} == wanted


# What a parts list proves: on the demo engine some clause is met by the list, and another part or work breaks it.

Swap = tuple[str, str, tuple[str, ...]]
#: By form: what is put into a slot, with what is done to it, and the clause that this breaks.
BROKEN: dict[int, tuple[Swap, str]] = {
    1: (("heads", "OB-H60", ()), "F1-head"),
    2: (("block", "QM-B400A", ()), "F2-crank-aluminium"),
    3: (("rods", "DW-R570", ()), "F3-length"),
    6: (("crank", "QM-K325", ()), "F6-stroke"),
    10: (("pistons", "DW-P147D", ()), "F10-crown"),
    11: (("intake-valves", "OB-IV202", ()), "F11-intake"),
    14: (("lifters", "TV-L842F", ()), "F14-type"),
    15: (("rockers", "TV-RK16", ()), "F15-ratio"),
    17: (("heads", "OB-H58P", ()), "F17-port"),
    18: (("crank", "QM-K304L", ()), "F18-crank"),
    19: (("retainers", "TV-RT10T", ()), "F19-retainers"),
    21: (("carburetor", "OB-CR57", ()), "F21-carburetor"),
    22: (("spacer", "OB-SP2", ()), "F22-spacer"),
    23: (("manifold", "DW-M4", ()), "F23-manifold"),
    24: (("ignition-box", "DW-IG78", ()), "F24-short"),
    25: (("ignition-box", "QM-IGX", ()), "F25-box"),
    26: (("headers", "HD-188", ()), "F26-pipes"),
    27: (("oil-pan", "QM-PND", ()), "F27-wet"),
    33: (("camshaft", "TV-C372", ()), "F33-cams"),
    35: (("block", "QM-B400A", ()), "F35-cap"),
    36: (("carburetor", "OB-CR57", ()), "F36-carburetor"),
    39: (("block", "QM-B400A", ()), "F39-aluminium"),
    40: (("rockers", "DW-RK15", ()), "F40-option"),
    41: (("crank", "DW-K304C", ()), "F41-origin"),
    42: (("intake-valves", "OB-IV194L", ()), "F42-hollow"),
    48: (("crank", "QM-K304", ("balance", "grind-010")), "F48-crank"),
    50: (("heads", "OB-H60", ()), "F50-head"),
    56: (("plugs", "OB-SK8", ()), "F56-plugs"),
}


def with_swap(build: Build, catalog: Catalog, swap: Swap) -> Build:
    slot, part, names = swap
    build = with_part(build, slot, catalog.parts[part])
    operations = tuple(catalog.operations[name] for name in names) if names else build.fills[slot].operations
    return replace(build, fills={**build.fills, slot: replace(build.fills[slot], operations=operations)})


def findings(
    form: Form, demo: Scenario, folder: Path, swaps: Sequence[Swap] = (), **brought: Sequence[Any]
) -> dict[str, Finding]:
    """How engine blue answers the clauses of a form, parts swapped and proofs brought."""
    pack, _ = pack_of(form, demo, folder)
    build, catalog = demo.build, demo.catalog
    assert pack is not None
    assert build is not None
    assert catalog is not None
    for swap in swaps:
        build = with_swap(build, catalog, swap)
    given: dict[str, Any] = {name: tuple(rows) for name, rows in brought.items()}
    told = replace(demo, build=build, **given)
    return {one.rule: one for one in check(pack, told.sheet("blue"), DAY).findings}


@pytest.mark.parametrize("form", [one for one in FORMS.values() if "L" in one.proof], ids=lambda form: str(form.number))
def test_the_parts_list_alone_meets_or_breaks(form: Form, demo: Scenario, tmp_path: Path) -> None:
    swap, rule = BROKEN[form.number]
    before, after = findings(form, demo, tmp_path), findings(form, demo, tmp_path, [swap])
    assert not [one.rule for one in before.values() if one.on_paper == "breaks"]
    assert before[rule].on_paper in ("meets", "not asked")
    assert "meets" in {
        one.on_paper for one in before.values() if one.kind in ("parts", "word", "limit", "option", "work")
    }
    assert (after[rule].verdict, bool(after[rule].at_fault)) == ("breaks", True)


# What else proves a form: brought by itself it leaves less owed, and all of it together leaves nothing owed.

NEEDED: dict[int, Swap] = {
    5: ("block", "QM-B400A", ()),
    43: ("crank", "DW-K304C", ()),
}
#: By form: what the bench measured, as slot, attribute, value and unit.
MEASURED: dict[int, list[tuple[str, str, str, str]]] = {
    4: [("", "displacement", "306.2", "in3")],
    5: [("block", "bore", "4.021", "in")],
    6: [("block", "bore", "4.001", "in"), ("crank", "stroke", "3.041", "in")],
    7: [("", "compression_ratio", "10.1", "")],
    12: [("", "intake_lift", "0.538", "in")],
    18: [("crank", "mass", "22150", "g")],
    20: [("crank", "journal_diameter", "1.9902", "in"), ("block", "deck_height", "8.994", "in")],
    22: [("spacer", "thickness", "0.998", "in")],
    42: [("heads", "chamber_volume", "57.8", "cm3")],
    51: [("crank", "stroke", "3.0446", "in")],
}
#: By form: the papers brought.
PAPERS: dict[int, list[dict[str, Any]]] = {
    5: [{"slot": "block", "paper": "leave", "by": "Brandelock Series"}],
    25: [{"slot": "ignition-box", "paper": "firmware card", "says": "4.2"}],
    28: [{"paper": "fuel ticket", "by": "Brandelock Series"}],
    29: [{"paper": "seal", "number": number, "by": "Brandelock Series", "says": "intact"} for number in "1234"],
    30: [{"paper": "shop sheet", "by": "Orrenby Engines"}],
    31: [{"paper": "passport", "number": "P-9"}],
    32: [
        {"slot": "block", "paper": "passport", "number": "B 1171"},
        {"paper": "registration", "by": "Brandelock Series"},
    ],
    33: [{"slot": "camshaft", "paper": "homologation sheet", "number": "A"}],
    35: [{"paper": "parts sheet", "number": "1"}],
    36: [{"slot": "carburetor", "paper": "receipt", "date": date(2027, 2, 1)}],
    40: [{"paper": "declaration", "says": "A"}],
    43: [{"slot": "crank", "paper": "receipt", "date": date(2027, 2, 26)}],
    46: [{"paper": "bulletin", "number": "3"}],
    47: [{"slot": "heads", "paper": "repair note", "number": "12"}],
    50: [{"paper": "seal", "number": "5"}],
    54: [{"slot": "manifold", "paper": "photograph", "date": date(1966, 8, 14)}],
    55: [{"slot": "damper", "paper": "certificate", "date": date(2024, 3, 1)}],
}
#: By clause: what an inspector read; on all others he notes that they are met.
READ: dict[str, tuple[str, str]] = {
    "F7-gauge": ("10.3", ""),
    "F8-chamber": ("57.6", "cm3"),
    "F9-vacuum": ("51", "kPa"),
    "F13-card": ("0.004", "in"),
    "F22-stack": ("1.12", "in"),
    "F23-match": ("0.4", "in"),
    "F26-noise": ("94", ""),
    "F39-car": ("2561", "lb"),
    "F45-power": ("426", "hp"),
}


def inspected(rule: str) -> Inspected:
    given: Mapping[str, Any] = {"engine": "blue", "rule": rule, "date": DAY, "by": "series gauge"}
    value, unit = READ.get(rule, ("", ""))
    found = {"value": Decimal(value), "unit": unit} if value else {"found": "meets"}
    return Inspected.model_validate({**given, **found})


def owing(found: Mapping[str, Finding], *words: str) -> list[str]:
    """The clauses that owe a proof in whose words one of some words stands."""
    return [one.rule for one in found.values() if any(word in owed for owed in one.owed for word in words)]


def brought(form: Form, letter: str, bare: Mapping[str, Finding]) -> dict[str, list[Any]]:
    """What the letters of proof bring, of clauses that owe it."""
    if letter == "V":
        rows = MEASURED[form.number]
        given: dict[str, Any] = {"engine": "blue", "date": DAY, "by": "series gauge"}
        names = ("slot", "attribute", "value", "unit")
        values = [{**dict(zip(names, row, strict=True)), "value": Decimal(row[2])} for row in rows]
        readings = [] if "I" in form.proof else [inspected(rule) for rule in owing(bare, "reading")]
        return {"bench": [Bench.model_validate({**given, **row}) for row in values], "inspections": readings}
    if letter == "D":
        papers = [Paper.model_validate({"engine": "blue", "number": "1", **row}) for row in PAPERS[form.number]]
        block = Piece(piece="block one", part="DW-B400", engine="blue", slot="block", serial="B 1171")
        return {"papers": papers, "garage": [block]}
    words = ("inspection", "reading") if letter == "I" else ("event log",)
    return {"inspections": [inspected(rule) for rule in owing(bare, *words)]}


BEYOND = [(form, letter) for form in FORMS.values() for letter in form.proof if letter != "L"]


@pytest.mark.parametrize(("form", "letter"), BEYOND, ids=[f"{form.number}{letter}" for form, letter in BEYOND])
def test_a_proof_is_owed_until_it_is_brought(form: Form, letter: str, demo: Scenario, tmp_path: Path) -> None:
    swaps = [NEEDED[form.number]] if form.number in NEEDED else []
    bare = findings(form, demo, tmp_path, swaps)
    assert "cannot be shown" in {one.verdict for one in bare.values()}
    after = findings(form, demo, tmp_path, swaps, **brought(form, letter, bare))
    owed = {(one.rule, word) for one in bare.values() for word in one.owed}
    assert {(one.rule, word) for one in after.values() for word in one.owed} < owed


@pytest.mark.parametrize(
    "form", [one for one in FORMS.values() if set(one.proof) - {"L"}], ids=lambda form: str(form.number)
)
def test_with_all_its_proofs_a_form_is_met(form: Form, demo: Scenario, tmp_path: Path) -> None:
    swaps = [NEEDED[form.number]] if form.number in NEEDED else []
    bare = findings(form, demo, tmp_path, swaps)
    everything: dict[str, list[Any]] = {}
    for letter in form.proof.replace("L", ""):
        for name, rows in brought(form, letter, bare).items():
            everything[name] = [*everything.get(name, ()), *rows]
    found = findings(form, demo, tmp_path, swaps, **everything)
    assert {one.rule: one.owed for one in found.values() if one.owed} == {}
    assert {one.verdict for one in found.values()} - {"not asked"} == {"meets"}


def test_the_option_of_form_40_is_met_by_the_declared_one_alone(demo: Scenario, tmp_path: Path) -> None:
    form = FORMS[40]
    assert findings(form, demo, tmp_path)["F40-option"].owed == ("declaration of the choice",)
    for says, verdict in (("A", "meets"), ("B", "breaks")):
        card = Paper(engine="blue", paper="declaration", says=says)
        assert findings(form, demo, tmp_path, papers=[card])["F40-option"].verdict == verdict


def test_form_49_says_what_is_not_written(demo: Scenario, tmp_path: Path) -> None:
    pack, _ = pack_of(FORMS[49], demo, tmp_path)
    assert pack is not None
    assert (pack.header.default, pack.rules) == ("forbid", ())
    assert "headers" in check(pack, demo.sheet(), DAY).unwritten


def run(*words: str) -> tuple[int, str, str]:
    """Status, output and errors of `costplan rules forms`."""
    return command_line.run("rules", "forms", *words)


def test_the_command_lists_all_forms_at_80_columns(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    status, out, err = run()
    assert (status, err) == (0, "")
    assert max(map(len, out.splitlines())) <= 80
    assert [line.split()[0] for line in out.splitlines() if line[:3].strip().isdigit()] == [
        str(n) for n in range(1, 59)
    ]


def test_the_command_shows_one_form_to_copy(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    status, out, err = run("42")
    assert (status, err) == (0, "")
    assert FORMS[42].toml in out
    assert FORMS[42].name in out


def test_the_command_answers_as_data() -> None:
    answer = json.loads(run("--json")[1])
    assert [form["number"] for form in answer["forms"]] == list(range(1, 59))
    assert answer["forms"][4]["kinds"] == ["limit", "paper", "parts"]
    assert answer["letters"]["D"] == "document"
    (one,) = json.loads(run("5", "--json")[1])["forms"]
    assert one["toml"] == FORMS[5].toml
    rows = list(csv.DictReader(io.StringIO(run("--csv")[1])))
    assert [(row["number"], row["kinds"]) for row in rows][4] == ("5", "limit paper parts")


@pytest.mark.parametrize("number", ["0", "59", "x", "-1", "²"])
def test_a_number_that_no_form_has_is_told(number: str) -> None:
    status, out, err = run("--", number)
    assert (status, out) == (2, "")
    assert "REA020" in err
