"""Rule packs: each fault of a file at its place, and packs that supplement or recognise others."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from costplan.rules import KINDS, Finding, Known, Pack, Verdicts, read_pack

Write = Callable[[str, str | bytes], Path]
Ask = Callable[..., Finding]
Fault = tuple[str, int | None, str]


def read(write: Write, known: Known, text: str, **others: str) -> tuple[Pack | None, list[Fault]]:
    """A pack whose text begins on line 2, and its faults; other packs by the names of their files."""
    for name, other in others.items():
        write(f"{name}.toml", f'name = "{name}"\n{other}')
    pack, problems = read_pack(write("rules.toml", f'name = "Club"\n{text}'), known)
    assert all(problem.what and problem.advice for problem in problems)
    return pack, [(one.code, one.place.line, one.field) for one in problems]


def clause(kind: str, keys: str, name: str = "one") -> str:
    """A clause whose keys begin on line 6."""
    return f'[[rule]]\nid = "{name}"\nsays = "so"\nkind = "{kind}"\n{keys}\n'


#: By kind: keys from line 6 on, and the one fault of them.
FAULTS: dict[str, list[tuple[str, Fault]]] = {
    "parts": [
        ('slot = "rod"\nallowed = "K-1"', ("RUL002", 6, "one.slot")),
        ('slot = ["crank", "rod"]\nallowed = "K-1"', ("RUL002", 6, "one.slot")),
        ('slot = "crank"\nlist = "cranks"', ("RUL005", 7, "one.list")),
        ('slot = "crank"', ("RUL004", 2, "one.allowed")),
        ('slot = "crank"\nallowed = []', ("RUL004", 7, "one.allowed")),
        ('slot = ""\nallowed = "K-1"', ("RUL004", 7, "one.allowed")),
        ('allowed = "K-1"', ("REA016", 2, "rule.1.slot")),
        ('slot = "crank"\nallowed = 5', ("REA017", 7, "rule.1.allowed")),
        ('slot = "crank"\npart = "K-1"\nallowed = "K-1"', ("REA015", 7, "rule.1.part")),
    ],
    "word": [
        ('of = "rod.material"\none_of = "steel"', ("RUL002", 6, "one.of")),
        ('of = "made.rod.material"\none_of = "steel"', ("RUL002", 6, "one.of")),
        ('of = "rods.colour"\none_of = "red"', ("RUL003", 6, "one.of")),
        ('of = "made.rods.colour"\none_of = "red"', ("RUL003", 6, "one.of")),
        ('of = "rods.mass"\none_of = "steel"', ("RUL003", 6, "one.of")),
        ('of = "displacement"\none_of = "steel"', ("RUL003", 6, "one.of")),
        ('of = "rods.material"', ("RUL004", 2, "one.one_of")),
        ('one_of = "steel"', ("REA016", 2, "rule.1.of")),
    ],
    "limit": [
        ('max = "1 kg"', ("RUL004", 2, "one.of")),
        ('of = []\nmax = "1 kg"', ("RUL004", 6, "one.of")),
        ('of = ""\nless = "crank.mass"\nmax = "1 kg"', ("RUL004", 6, "one.of")),
        ('reads = "noise"\nof = "crank.mass"\nmax = "1 kg"', ("RUL004", 6, "one.reads")),
        ('reads = "noise"\nless = "crank.mass"\nmax = "1 kg"', ("RUL004", 2, "one.of")),
        ('of = "rod.mass"\nmax = "1 kg"', ("RUL002", 6, "one.of")),
        ('of = "made.rod.mass"\nmax = "1 kg"', ("RUL002", 6, "one.of")),
        ('of = "crank.stroke"\nless = "rod.stroke"\nmax = "1 in"', ("RUL002", 6, "one.of")),
        ('of = "weight"\nmax = "1 kg"', ("RUL003", 6, "one.of")),
        ('of = "crank.strok"\nmax = "1 in"', ("RUL003", 6, "one.of")),
        ('of = "made.crank.strok"\nmax = "1 in"', ("RUL003", 6, "one.of")),
        ('of = "count.rods"\nmax = 4', ("RUL003", 6, "one.of")),
        ('of = "crank.material"\nmax = 4', ("RUL003", 6, "one.of")),
        ('of = "crank.mass crank.stroke"\nmax = "1 kg"', ("RUL003", 6, "one.of")),
        ('of = "price crank.mass"\nmax = "1 USD"', ("RUL003", 6, "one.of")),
        ('of = "price.rod"\nmax = "1 USD"', ("RUL002", 6, "one.of")),
        ('of = "price"\nwithout = "rod"\nmax = "1 USD"', ("RUL002", 7, "one.without")),
        ('of = "displacement"', ("RUL004", 2, "one.max")),
        ('of = "displacement"\nwithin = "1 in3"', ("RUL004", 2, "one.max")),
        ('of = "displacement"\nmax = "9 L"\nwithin = "1 L"', ("RUL004", 8, "one.within")),
        ('of = "displacement"\nnominal = "3 L"\nmax = "9 L"', ("RUL004", 7, "one.nominal")),
        ('of = "displacement"\nmin = "6 L"\nmax = "330 in3"', ("RUL004", 7, "one.min")),
        ('of = "displacement"\nmax = "330 kg"', ("REA021", 7, "one.max")),
        ('of = "displacement"\nmax = 330', ("REA021", 7, "one.max")),
        ('of = "displacement"\nmax = "330 USD"', ("REA021", 7, "one.max")),
        ('of = "displacement"\nmax = "330 pints"', ("REA021", 7, "rule.1.max")),
        ('of = "displacement"\nmax = "much L"', ("REA017", 7, "rule.1.max")),
        ('of = "displacement"\nmax = true', ("REA017", 7, "rule.1.max")),
        ('of = "displacement"\nmax = "1e99 L"', ("REA018", 7, "rule.1.max")),
        ('of = "displacement"\nmin = "1 L"\nmax = "4 kg"', ("REA021", 8, "one.max")),
        ('of = "displacement"\nnominal = "3 L"\nwithin = "1 in"', ("REA021", 8, "one.within")),
        ('of = "displacement"\nnominal = "3 L"\nwithin = "-1 L"', ("REA018", 8, "rule.1.within")),
        ('of = "displacement"\nmax = "3 L"\ntolerance = "1 in"', ("REA021", 8, "one.tolerance")),
        ('of = "displacement"\nmax = "3 L"\ntolerance = "-1 L"', ("REA018", 8, "rule.1.tolerance")),
        ('of = "price"\nmax = 100', ("REA021", 7, "one.max")),
        ('of = "price"\nmax = "1 kg"', ("REA021", 7, "one.max")),
        ('of = "price"\nmin = "1 USD"\nmax = "9 EUR"', ("REA021", 8, "one.max")),
        ('of = "price"\nmax = "9 CHF"', ("MON002", 7, "one.max")),
        ('reads = "noise"\nmin = 80\nmax = "90 kg"', ("REA021", 8, "one.max")),
        ('of = "displacement"\nmax = "3 L"\nmeasured = "rod.mass"', ("RUL002", 8, "one.measured")),
        ('of = "displacement"\nmax = "3 L"\nmeasured = "bores"', ("RUL003", 8, "one.measured")),
        ('of = "displacement"\nmax = "3 L"\nrounding = "up"', ("REA020", 8, "rule.1.rounding")),
        ('of = "price"\nmax = "3 USD"\nprices_on = "spring"', ("REA019", 8, "rule.1.prices_on")),
    ],
    "option": [
        ('slot = "rod"\nchoices = { A = "R-1" }', ("RUL002", 6, "one.slot")),
        ('slot = "rods"\nchoices = {}', ("RUL004", 7, "one.choices")),
        ('slot = ""\nchoices = { A = "R-1" }', ("RUL004", 7, "one.choices")),
        ('slot = "rods"', ("REA016", 2, "rule.1.choices")),
        ('slot = "rods"\nchoices = "A"', ("REA017", 7, "rule.1.choices")),
        ('slot = "rods"\nchoices = { A = 5 }', ("REA017", 7, "rule.1.choices")),
    ],
    "choice": [
        ('rule = "opt"\none_of = "A"', ("RUL007", 6, "one.rule")),
        ('rule = "one"\none_of = "A"', ("RUL007", 6, "one.rule")),
        ('one_of = "A"', ("REA016", 2, "rule.1.rule")),
    ],
    "work": [
        ('slot = "rod"\nmust = "grind"', ("RUL002", 6, "one.slot")),
        ('slot = "crank"\nmust = "grind bend"', ("RUL008", 7, "one.must")),
        ('slot = "crank"\nmay = "bend"', ("RUL008", 7, "one.may")),
        ('slot = "crank"\nmust_not = "bend"', ("RUL008", 7, "one.must_not")),
        ('slot = "crank"\nkeeps = "strok"', ("RUL003", 7, "one.keeps")),
        ('slot = "crank"', ("RUL004", 2, "one.must_not")),
        ('must = "grind"', ("REA016", 2, "rule.1.slot")),
    ],
    "paper": [
        ('paper = "seal"\nslot = "rod"', ("RUL002", 7, "one.slot")),
        ('paper = "seal"\nlevel = "top"', ("RUL006", 7, "one.level")),
        ('paper = "seal"\nserial = true', ("RUL004", 2, "one.slot")),
        ('paper = "seal"\nat_least = 0', ("REA018", 7, "rule.1.at_least")),
        ('paper = "seal"\nserial = "maybe"', ("REA020", 7, "rule.1.serial")),
        ('paper = "seal"\nvalid = "30 kg"', ("REA021", 7, "rule.1.valid")),
        ('paper = "seal"\nvalid = "-30 d"', ("REA021", 7, "rule.1.valid")),
        ('paper = "seal"\nvalid = "23 h"', ("REA018", 7, "rule.1.valid")),
        ('paper = "seal"\nvalid = "36526 d"', ("REA018", 7, "rule.1.valid")),
        ('paper = "seal"\ndated_to = 2027-02-30', ("REA013", 7, "")),
        ('paper = "seal"\ndated_to = "2027-02-30"', ("REA019", 7, "rule.1.dated_to")),
        ('slot = "crank"', ("REA016", 2, "rule.1.paper")),
    ],
    "inspection": [
        ('slot = "rod"', ("RUL002", 6, "one.slot")),
        ('proof = "oath"', ("REA020", 6, "rule.1.proof")),
        ('stage = "later"', ("REA020", 6, "rule.1.stage")),
        ("minutes = -1", ("REA018", 6, "rule.1.minutes")),
        ("risk = 1.5", ("REA018", 6, "rule.1.risk")),
        ('severity = "may"', ("REA020", 6, "rule.1.severity")),
        ('colour = "red"', ("REA015", 6, "rule.1.colour")),
        ('place = "pit"', ("REA015", 6, "rule.1.place")),
        ('effective = "soon"', ("REA019", 6, "rule.1.effective")),
        ("from_round = 0", ("REA018", 6, "rule.1.from_round")),
    ],
    "quota": [
        ('of = "openings"\nmost = 1', ("RUL004", 2, "one.level")),
        ('of = "openings"\nmost = 1\nlevel = "top"', ("RUL006", 8, "one.level")),
        ('of = "openings"\nmost = 1\nlevel = "freshen"\nper = "event"', ("RUL004", 9, "one.per")),
        ('of = "engines"\nmost = 1\nlevel = "freshen"', ("RUL004", 8, "one.level")),
        ('of = "engines"\nmost = 1\nper = "life"', ("RUL004", 8, "one.per")),
        ('of = "pieces"\nmost = 1', ("RUL004", 2, "one.slot")),
        ('of = "pieces"\nmost = 1\nslot = "tire"', ("RUL002", 8, "one.slot")),
        ('of = "tyres"\nmost = 1', ("REA020", 6, "rule.1.of")),
        ('of = "engines"\nmost = 1.5', ("REA017", 7, "rule.1.most")),
        ('of = "engines"', ("REA016", 2, "rule.1.most")),
    ],
    "charge": [
        ('amount = 5\nper = "opening"', ("RUL004", 2, "one.level")),
        ('amount = 5\nper = "event"\nlevel = "freshen"', ("RUL004", 8, "one.level")),
        ('amount = 5\nper = "opening"\nlevel = "top"', ("RUL006", 8, "one.level")),
        ('amount = 5\nper = "event"\ncurrency = "bucks"', ("MON001", 8, "one.currency")),
        ('amount = 5\nper = "event"\ncurrency = "CHF"', ("MON002", 8, "one.currency")),
        ('amount = -5\nper = "event"', ("REA018", 6, "rule.1.amount")),
        ('amount = 5\nper = "lap"', ("REA020", 7, "rule.1.per")),
        ("amount = 5", ("REA016", 2, "rule.1.per")),
    ],
    "conduct": [
        ('slot = "rod"', ("RUL002", 6, "one.slot")),
        ('fine = "50"', ("REA015", 6, "rule.1.fine")),
    ],
}


@pytest.mark.parametrize(("kind", "case"), [(kind, case) for kind, cases in FAULTS.items() for case in cases])
def test_a_fault_of_a_kind_is_placed(write: Write, known: Known, kind: str, case: tuple[str, Fault]) -> None:
    keys, fault = case
    assert read(write, known, clause(kind, keys))[1] == [fault]


def test_every_kind_has_its_faults() -> None:
    assert set(FAULTS) == set(KINDS)


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        (clause("limits", ""), ("RUL001", 5, "rule.1.kind")),
        ('[[rule]]\nid = "one"\nsays = "so"\n', ("RUL001", 2, "rule.1.kind")),
        (clause("inspection", "") + clause("inspection", ""), ("REA023", 7, "id")),
        ('default = "perhaps"\n', ("REA020", 2, "default")),
        ('rounding = "up"\n', ("REA020", 2, "rounding")),
        ('ties = "odd"\n', ("REA020", 2, "ties")),
        ("gauges = 5\n", ("REA017", 2, "gauges")),
        ('colour = "red"\n', ("REA015", 2, "colour")),
        ("rule = 5\n", ("REA017", 2, "rule")),
        ("[[rule]]\nid = 'one'\nsays = 'so'\nkind = 5\n", ("RUL001", 5, "rule.1.kind")),
        ('[[list]]\nparts = "K-1"\n', ("REA016", 2, "list.1.list")),
        ('[[list]]\nlist = "cranks"\n', ("REA016", 2, "list.1.parts")),
        ('[[list]]\nlist = "cranks"\nparts = 5\n', ("REA017", 4, "list.1.parts")),
        ('[[list]]\nlist = "cranks"\nparts = "K-1"\nsince = "spring"\n', ("REA019", 5, "list.1.since")),
        ('[[list]]\nlist = "cranks"\nparts = "K-1"\nfrom = 2027-01-01\n', ("REA015", 5, "list.1.from")),
    ],
)
def test_a_fault_of_a_pack_is_placed(write: Write, known: Known, text: str, fault: Fault) -> None:
    assert read(write, known, text)[1] == [fault]


def test_a_rule_that_is_no_table_is_told(write: Write, known: Known) -> None:
    assert ("RUL001", 2, "rule.1.kind") in read(write, known, "rule = [5]\n")[1]


@pytest.mark.parametrize(
    ("keys", "fault"),
    [
        ('kept = "K-1"', ("REA017", 6, "rule.1.kept")),
        ("kept = { parts = 5 }", ("REA017", 6, "rule.1.kept.parts")),
        ('kept = { until = "spring" }', ("REA019", 6, "rule.1.kept.until")),
        ("kept = { bought = 2027-01-01 }", ("REA015", 6, "rule.1.kept.bought")),
        ('when = "always"', ("REA017", 6, "rule.1.when")),
        ('when = { kind = "inspection" }', ("REA017", 6, "rule.1.when")),
        ('when = ["always"]', ("REA017", 6, "rule.1.when.1")),
        ('when = [{ slot = "crank" }]', ("RUL001", 6, "rule.1.when.1.kind")),
        ('when = [\n{ kind = "part" }]', ("RUL001", 7, "rule.1.when.1.kind")),
        (
            'unless = [{ kind = "inspection" },\n{ kind = "parts", slot = "rod", banned = "x" }]',
            ("RUL002", 7, "one.slot"),
        ),
        ('unless = [{ kind = "parts", slot = "crank" }]', ("RUL004", 6, "one.allowed")),
        ('unless = [{ kind = "parts", slot = "crank", banned = 5 }]', ("REA017", 6, "rule.1.unless.1.banned")),
        ('when = [{ kind = "limit", of = "crank.strok", max = 5 }]', ("RUL003", 6, "one.of")),
        ('when = [{ kind = "limit", of = "crank.stroke", max = "5 kg" }]', ("REA021", 6, "one.max")),
        ('when = [{ kind = "choice", rule = "opt", one_of = "A" }]', ("RUL007", 6, "one.rule")),
        ('when = [{ kind = "inspection", says = "so" }]', ("REA015", 6, "rule.1.when.1.says")),
        ('when = [{ kind = "inspection", place = "pit" }]', ("REA015", 6, "rule.1.when.1.place")),
    ],
)
def test_a_fault_of_older_parts_or_of_a_condition_is_placed(
    write: Write, known: Known, keys: str, fault: Fault
) -> None:
    assert read(write, known, clause("inspection", keys))[1] == [fault]


OPTION = clause("option", 'slot = "crank"\nchoices = { A = "K-1" }', "opt")


def test_a_choice_must_be_one_of_its_option(write: Write, known: Known) -> None:
    assert read(write, known, OPTION + clause("choice", 'rule = "opt"\none_of = "A"'))[1] == []
    found = read(write, known, OPTION + clause("choice", 'rule = "opt"\none_of = "A C"'))[1]
    assert found == [("RUL007", 13, "one.one_of")]
    found = read(write, known, OPTION + clause("choice", 'rule = "opt"\none_of = ""'))[1]
    assert found == [("RUL004", 13, "one.one_of")]


def test_a_clause_at_fault_leaves_the_others(write: Write, known: Known) -> None:
    pack, faults = read(write, known, clause("limits", "") + clause("inspection", "", "two"))
    assert pack is not None
    assert ([rule.id for rule in pack.rules], len(faults), pack.whole) == (["two"], 1, False)


def test_all_faults_of_a_pack_are_told(write: Write, known: Known) -> None:
    text = clause("parts", 'slot = "rod"\nallowed = 5\nminutes = -1') + clause("limit", 'of = "x"\nmax = "y"', "two")
    assert [fault for fault in read(write, known, text)[1] if fault[2] != "two.of"] == [
        ("REA017", 7, "rule.1.allowed"),
        ("REA018", 8, "rule.1.minutes"),
        ("REA017", 14, "rule.2.max"),
    ]


def test_what_is_not_known_is_not_checked(write: Write) -> None:
    text = clause("parts", 'slot = "rod"\nallowed = "R-1"') + clause("limit", 'of = "x.y"\nmax = "1 USD"', "two")
    assert read(write, Known(), text)[1] == []
    widths = clause("limit", 'of = "x.y"\nnominal = "1 in"\nwithin = "1 kg"')
    assert read(write, Known(), widths)[1] == [("REA021", 8, "one.within")]


BASE = clause("parts", 'slot = "crank"\nallowed = "K-1"') + clause("parts", 'slot = "rods"\nallowed = "R-1"', "two")


@pytest.mark.parametrize(("prevails", "verdict"), [("supplement", "breaks"), ("base", "meets")])
def test_a_supplement_goes_before_its_base_or_after(
    verdicts_of: Callable[..., Verdicts], prevails: str, verdict: str
) -> None:
    own = clause("parts", 'slot = "crank"\nallowed = "K-2"') + clause("inspection", "", "three")
    text = f'supplements = "base.toml"\nprevails = "{prevails}"\n{own}'
    findings = verdicts_of(text, others={"base": BASE}).findings
    assert [(one.rule, one.verdict) for one in findings] == [
        ("one", verdict),
        ("two", "meets"),
        ("three", "cannot be shown"),
    ]


def test_a_supplement_speaks_of_the_lists_and_options_of_its_base(write: Write, known: Known) -> None:
    base = '[[list]]\nlist = "cranks"\nparts = "K-1"\n' + OPTION
    own = clause("parts", 'slot = "crank"\nlist = "cranks"\nwhen = [{ kind = "choice", rule = "opt", one_of = "A" }]')
    pack, faults = read(write, known, f'supplements = "base.toml"\n{own}', base=base)
    assert pack is not None
    assert ([rule.id for rule in pack.rules], faults) == (["opt", "one"], [])


def test_a_later_edition_of_a_list_may_stand_in_a_supplement(ask: Ask) -> None:
    base = '[[list]]\nlist = "cranks"\nparts = "K-1"\n' + clause("parts", 'slot = "crank"\nlist = "cranks"')
    head = 'supplements = "base.toml"\n[[list]]\nlist = "cranks"\nsince = 2027-04-01\nparts = "K-2"\n'
    answered = ask("parts", 'slot = "rods"\nallowed = "R-1"', head=head, others={"base": base})
    assert answered.verdict == "meets"  # its own clause takes the place of the base's, both called `one`
    pack_says = ask("parts", 'slot = "crank"\nlist = "cranks"', head=head, others={"base": base})
    assert pack_says.verdict == "breaks"


@pytest.mark.parametrize(
    ("own", "header"),
    [
        ("", ("allow", "rounded", ("steward",))),
        ('default = "forbid"\n', ("forbid", "rounded", ("steward",))),
        ('rounding = "absolute"\ngauges = ["shop"]\n', ("allow", "absolute", ("shop",))),
    ],
)
def test_a_base_speaks_where_its_supplement_is_silent(
    write: Write, known: Known, own: str, header: tuple[str, str, tuple[str, ...]]
) -> None:
    base = 'default = "allow"\nrounding = "rounded"\ngauges = ["steward"]\n' + clause("inspection", "", "one")
    pack, faults = read(write, known, f'supplements = "base.toml"\n{own}', base=base)
    assert pack is not None
    assert (pack.header.default, pack.header.rounding, pack.header.gauges, faults) == (*header, [])


def test_an_option_that_a_supplement_replaces_offers_no_choice(verdicts_of: Callable[..., Verdicts]) -> None:
    base = OPTION + clause(
        "parts", 'slot = "crank"\nallowed = "K-2"\nwhen = [{ kind = "choice", rule = "opt", one_of = "A" }]'
    )
    assert [one.verdict for one in verdicts_of(base).findings] == ["meets", "breaks"]
    text = f'supplements = "base.toml"\n{clause("inspection", "", "opt")}'
    findings = verdicts_of(text, others={"base": base}).findings
    assert [(one.kind, one.verdict) for one in findings] == [("inspection", "cannot be shown"), ("parts", "not asked")]


@pytest.mark.parametrize(
    ("text", "others", "fault"),
    [
        ('supplements = "rules.toml"', {}, ("RUL009", 2, "supplements")),
        ('supplements = "base.toml"', {"base": 'supplements = "rules.toml"'}, ("RUL009", 2, "supplements")),
        ('[[recognises]]\npack = "rules.toml"', {}, ("RUL009", 3, "recognises.1.pack")),
        ('[[recognises]]\npack = "a.toml"\nstill = "one"', {"a": ""}, ("RUL007", 4, "recognises.1.still")),
        ('[[recognises]]\nstill = "one"', {}, ("REA016", 2, "recognises.1.pack")),
        ('recognises = "a.toml"', {}, ("REA017", 2, "recognises")),
        ('supplements = "nowhere.toml"', {}, ("REA001", None, "")),
        ('supplements = "\\u0000"', {}, ("REA017", 2, "supplements")),
        ('[[recognises]]\npack = "nowhere.toml"', {}, ("REA001", None, "")),
        ('supplements = "base.toml"', {"base": clause("limits", "")}, ("RUL001", 5, "rule.1.kind")),
        ('[[recognises]]\npack = "a.toml"', {"a": clause("limits", "")}, ("RUL001", 5, "rule.1.kind")),
    ],
)
def test_a_fault_of_packs_together_is_placed(
    write: Write, known: Known, text: str, others: dict[str, str], fault: Fault
) -> None:
    assert fault in read(write, known, text, **others)[1]
    assert {one[0] for one in read(write, known, text, **others)[1]} == {fault[0]}


def test_two_packs_may_recognise_each_other(verdicts_of: Callable[..., Verdicts]) -> None:
    ridge = '[[recognises]]\npack = "rules.toml"\n' + clause("parts", 'slot = "crank"\nallowed = "K-1"')
    text = '[[recognises]]\npack = "ridge.toml"\n' + clause("parts", 'slot = "crank"\nallowed = "K-2"')
    assert verdicts_of(text, others={"ridge": ridge}).stands == "meets"


def test_a_pack_may_recognise_its_own_supplement(write: Write, known: Known) -> None:
    local = f'supplements = "rules.toml"\n{clause("inspection", "", "three")}'
    pack, faults = read(write, known, f'[[recognises]]\npack = "local.toml"\n{BASE}', local=local)
    assert faults == []
    assert pack is not None
    assert [[rule.id for rule in one.rules] for one in pack.recognised] == [["one", "two", "three"]]
