"""Checking: conditions, days and rounds, older parts that stay, parts that take turns, packs that are recognised."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from costplan.garage import Bench, Inspected, Paper, Piece
from costplan.rules import Finding, Known, Pack, Sheet, Verdicts, ahead, check, read_pack
from costplan.rules.change import read_change

Write = Callable[[str, str | bytes], Path]
Ask = Callable[..., Finding]
Answered = Callable[..., Verdicts]

DAY = date(2027, 4, 5)
ASKED = 'slot = "block"\nallowed = "B-1"'


def result(found: str, **more: Any) -> Inspected:
    given = {"engine": "blue", "rule": "one", "date": DAY, "by": "steward", "found": found}
    return Inspected.model_validate({**given, **more})


def paper(name: str, **more: Any) -> Paper:
    return Paper.model_validate({"engine": "blue", "paper": name, "number": "7", **more})


def piece(slot: str, part: str, **more: Any) -> Piece:
    return Piece.model_validate({"piece": f"blue {slot}", "part": part, "engine": "blue", "slot": slot, **more})


STEEL = '{ kind = "word", of = "crank.material", one_of = "steel" }'
HEAVY = '{ kind = "limit", of = "crank.mass", min = "20 kg" }'
#: Conditions, the crank, and whether the clause is asked; None: it cannot be told.
CONDITIONS = [
    (f"when = [{STEEL}]", "K-1", True),
    (f"when = [{STEEL}]", "K-4", False),
    (f"when = [{STEEL}]", "K-3", None),
    (f"unless = [{STEEL}]", "K-1", False),
    (f"unless = [{STEEL}]", "K-4", True),
    (f"unless = [{STEEL}]", "K-3", None),
    (f"when = [{STEEL}, {HEAVY}]", "K-1", True),
    (f"when = [{STEEL}, {HEAVY}]", "K-2", False),
    (f"when = [{STEEL}, {HEAVY}]", "K-4", False),
    (f"unless = [{STEEL}, {HEAVY}]", "K-2", False),
    (f"unless = [{STEEL}, {HEAVY}]", "K-4", False),
    (f"when = [{STEEL}]\nunless = [{HEAVY}]", "K-2", True),
    (f"when = [{STEEL}]\nunless = [{HEAVY}]", "K-1", False),
    (f"when = [{STEEL}]\nunless = [{HEAVY}]", "K-3", None),
    ('when = [{ kind = "paper", paper = "leave" }]', "K-1", None),
    ('unless = [{ kind = "paper", paper = "leave", by = "board" }]', "K-1", None),
    ('when = [{ kind = "inspection" }]', "K-1", None),
    ('unless = [{ kind = "conduct" }]', "K-1", None),
    ('when = [{ kind = "quota", of = "engines", most = 1 }]', "K-1", None),
    ('when = [{ kind = "word", of = "plate.material", one_of = "steel" }]', "K-1", False),
    ('unless = [{ kind = "word", of = "plate.material", one_of = "steel" }]', "K-1", True),
]


@pytest.mark.parametrize(("conditions", "crank", "asked"), CONDITIONS)
def test_a_clause_is_asked_where_its_conditions_hold(ask: Ask, conditions: str, crank: str, asked: bool | None) -> None:
    meets = ask("parts", f"{ASKED}\n{conditions}", parts={"crank": crank})
    breaks = ask("parts", f"{ASKED}\n{conditions}", parts={"crank": crank, "block": "B-2"})
    wanted = {True: ("meets", "breaks"), False: ("not asked", "not asked"), None: ("meets", "cannot be shown")}[asked]
    assert (meets.verdict, breaks.verdict) == wanted


def test_what_an_unknown_condition_lacks_is_owed(ask: Ask) -> None:
    keys = f"{ASKED}\nwhen = [{STEEL}]"
    finding = ask("parts", keys, parts={"crank": "K-3", "block": "B-2"})
    assert (finding.on_paper, finding.at_fault) == ("breaks", ("block: B-2",))
    assert any("material of K-3" in word for word in finding.owed)


def test_a_condition_may_be_a_paper(ask: Ask) -> None:
    keys = f'{ASKED}\nunless = [{{ kind = "paper", paper = "leave", by = "board" }}]'
    given = {"parts": {"block": "B-2"}}
    assert ask("parts", keys, papers=[paper("leave", by="board")], **given).verdict == "not asked"
    assert ask("parts", keys, papers=[paper("leave", by="shop")], **given).verdict == "breaks"


def test_an_inspector_who_finds_a_breach_settles_an_unknown_condition(ask: Ask) -> None:
    keys = f"{ASKED}\nwhen = [{STEEL}]"
    finding = ask("parts", keys, parts={"crank": "K-3"}, inspections=[result("breaks")])
    assert (finding.verdict, finding.owed) == ("breaks", ())


@pytest.mark.parametrize(
    ("keys", "on", "asked"),
    [
        ("effective = 2027-04-05", date(2027, 4, 4), False),
        ("effective = 2027-04-05", date(2027, 4, 5), True),
        ("sunset = 2027-04-05", date(2027, 4, 5), True),
        ("sunset = 2027-04-05", date(2027, 4, 6), False),
        # rounds begin on 3 April, on 10 April with two nights, and on 1 May
        ("from_round = 1", date(2027, 4, 3), True),
        ("from_round = 2", date(2027, 4, 9), False),
        ("from_round = 2", date(2027, 4, 10), True),
        ("from_round = 3", date(2027, 4, 30), False),
        ("from_round = 3", date(2027, 5, 1), True),
        ("from_round = 4", date(2149, 12, 31), False),
        ("from_round = 2\neffective = 2027-04-20", date(2027, 4, 19), False),
        ("from_round = 3\neffective = 2027-04-20", date(2027, 4, 20), False),
        ("from_round = 3\neffective = 2027-04-20", date(2027, 5, 1), True),
        ("effective = 2027-04-06\nsunset = 2027-04-05", date(2027, 4, 5), False),
    ],
)
def test_a_clause_is_in_force_between_its_days_and_from_its_round(ask: Ask, keys: str, on: date, asked: bool) -> None:
    assert ask("parts", f"{ASKED}\n{keys}", on=on).verdict == ("meets" if asked else "not asked")


OLDER = 'slot = "crank"\nallowed = "K-1"\nkept = { %s }'


@pytest.mark.parametrize(
    ("kept", "given", "verdict"),
    [
        ('parts = "K-2"', {}, "meets"),
        ('parts = "K-2 K-4"', {}, "meets"),
        ('parts = "K-4"', {}, "breaks"),
        ("until = 2027-04-05", {}, "meets"),
        ("until = 2027-04-04", {}, "breaks"),
        ('serials = "17 18"', {}, "cannot be shown"),
        ('serials = "17 18"', {"pieces": [piece("crank", "K-2")]}, "cannot be shown"),
        ('serials = "17 18"', {"pieces": [piece("crank", "K-2", serial="18")]}, "meets"),
        ('serials = "17 18"', {"pieces": [piece("crank", "K-2", serial="19")]}, "breaks"),
        ("bought_before = 2027-03-01", {}, "cannot be shown"),
        (
            "bought_before = 2027-03-01",
            {"papers": [paper("receipt", slot="crank", date=date(2027, 2, 28))]},
            "meets",
        ),
        ("bought_before = 2027-03-01", {"papers": [paper("receipt", slot="crank", date=date(2027, 3, 1))]}, "breaks"),
        ("bought_before = 2027-03-01", {"papers": [paper("receipt", date=date(2027, 2, 28))]}, "cannot be shown"),
        (
            "bought_before = 2027-03-01",
            {"pieces": [piece("crank", "K-2", bought=date(2027, 2, 28))]},
            "cannot be shown",
        ),
        ("bought_before = 2027-03-01", {"pieces": [piece("crank", "K-2", bought=date(2027, 3, 1))]}, "breaks"),
        (
            'parts = "K-4", bought_before = 2027-03-01',
            {"papers": [paper("receipt", slot="crank", date=date(2027, 2, 28))]},
            "breaks",
        ),
    ],
)
def test_older_parts_stay(ask: Ask, kept: str, given: dict[str, Any], verdict: str) -> None:
    assert ask("parts", OLDER % kept, parts={"crank": "K-2"}, **given).verdict == verdict


def test_what_shows_that_a_part_is_older_is_owed(ask: Ask) -> None:
    finding = ask("parts", OLDER % "bought_before = 2027-03-01", parts={"crank": "K-2"})
    assert finding.owed == ("receipt of crank dated before 2027-03-01",)
    assert ask("parts", OLDER % 'serials = "17"', parts={"crank": "K-2"}).owed == ("serial of the piece in crank",)


def test_all_parts_at_fault_must_be_older(ask: Ask) -> None:
    keys = 'slot = "crank rods"\nallowed = "K-1 R-1"\nkept = { parts = "K-2" }'
    assert ask("parts", keys, parts={"crank": "K-2"}).verdict == "meets"
    assert ask("parts", keys, parts={"crank": "K-2", "rods": "R-2"}).verdict == "breaks"


def test_older_parts_stay_past_a_limit_too(ask: Ask) -> None:
    keys = 'of = "crank.stroke"\nmax = "3.25 in"\nkept = { parts = "K-2", until = 2027-12-31 }'
    assert ask("limit", keys, parts={"crank": "K-2"}).verdict == "meets"
    assert ask("limit", keys, parts={"crank": "K-2"}, on=date(2028, 1, 1)).verdict == "breaks"


def test_a_proof_is_still_owed_of_an_older_part(ask: Ask) -> None:
    finding = ask("parts", OLDER % 'parts = "K-2"' + '\nproof = "inspection"', parts={"crank": "K-2"})
    assert (finding.verdict, finding.owed) == ("cannot be shown", ("inspection",))


# In carburetor the parts C-5 and, on tight tracks, C-4 take turns.


@pytest.mark.parametrize(
    ("kind", "keys", "verdict"),
    [
        ("parts", 'slot = "carburetor"\nallowed = "C-5 C-4"', "meets"),
        ("parts", 'slot = "carburetor"\nallowed = "C-5"', "breaks"),
        ("parts", 'slot = "carburetor"\nallowed = "C-4"', "breaks"),
        ("limit", 'of = "carburetor.mass"\nmin = "2900 g"', "meets"),
        ("limit", 'of = "carburetor.mass"\nmin = "2901 g"', "breaks"),
        ("limit", 'of = "carburetor.mass"\nmax = "2999 g"', "breaks"),
    ],
)
def test_every_part_that_takes_turns_must_meet(ask: Ask, kind: str, keys: str, verdict: str) -> None:
    assert ask(kind, keys).verdict == verdict


def test_of_parts_that_take_turns_the_narrower_is_told(ask: Ask) -> None:
    finding = ask("limit", 'of = "carburetor.mass"\nmin = "2800 g"')
    assert finding.margin is not None
    assert finding.margin.value == 100


def test_a_condition_is_asked_of_every_part_that_takes_turns(ask: Ask) -> None:
    small = 'when = [{ kind = "parts", slot = "carburetor", allowed = "C-4" }]'
    assert ask("parts", f'slot = "crank"\nallowed = "K-2"\n{small}').verdict == "breaks"
    assert ask("parts", f'slot = "crank"\nallowed = "K-1"\n{small}').verdict == "meets"


def test_slots_of_which_no_clause_in_force_speaks_are_told(verdicts_of: Answered) -> None:
    clauses = """
[[rule]]
id = "one"
kind = "parts"
says = "so"
slot = "crank"
allowed = "K-1"
[[rule]]
id = "two"
kind = "parts"
says = "so"
slot = "rods"
allowed = "R-1"
effective = 2028-01-01
[[rule]]
id = "three"
kind = "limit"
says = "so"
of = "price"
max = "9000 USD"
"""
    assert verdicts_of(clauses).unwritten == ("block", "rods", "carburetor")


MUST = '[[rule]]\nid = "one"\nkind = "parts"\nsays = "so"\nslot = "crank"\nallowed = "K-2"\n'


@pytest.mark.parametrize(
    ("text", "broken", "stands"),
    [
        (MUST, True, "breaks"),
        (f'{MUST}severity = "should"', False, "meets"),
        (MUST.replace("K-2", "K-1"), False, "meets"),
        (f'{MUST.replace("K-2", "K-1")}proof = "inspection"', False, "cannot be shown"),
        (f'{MUST.replace("K-2", "K-1")}proof = "inspection"\nseverity = "should"', False, "meets"),
    ],
)
def test_advice_is_told_and_does_not_count(verdicts_of: Answered, text: str, broken: bool, stands: str) -> None:
    verdicts = verdicts_of(text)
    assert (verdicts.broken, verdicts.stands) == (broken, stands)


RECOGNISES = '[[recognises]]\npack = "ridge.toml"\n'
LIGHT = '[[rule]]\nid = "r"\nkind = "limit"\nsays = "so"\nof = "crank.mass"\n'


@pytest.mark.parametrize(
    ("own", "ridge", "recognised", "stands"),
    [
        ("K-2", 'max = "25 kg"', "meets", "meets"),
        ("K-2", 'max = "15 kg"', "breaks", "breaks"),
        ("K-2", 'max = "25 kg"\nproof = "inspection"', "cannot be shown", "cannot be shown"),
        ("K-1", 'max = "15 kg"', "breaks", "meets"),
    ],
)
def test_an_engine_that_meets_a_recognised_pack_meets_this_one(
    verdicts_of: Answered, own: str, ridge: str, recognised: str, stands: str
) -> None:
    verdicts = verdicts_of(RECOGNISES + MUST.replace("K-2", own), others={"ridge": LIGHT + ridge})
    assert [(one.name, one.stands) for one in verdicts.recognised] == [("ridge", recognised)]
    assert (verdicts.stands, verdicts.broken) == (stands, stands == "breaks")


def test_what_is_not_yet_shown_here_may_be_met_by_a_recognised_pack(verdicts_of: Answered) -> None:
    own = f'{MUST.replace("K-2", "K-1")}proof = "inspection"\n'
    assert verdicts_of(RECOGNISES + own, others={"ridge": f'{LIGHT}max = "25 kg"'}).stands == "meets"


def test_some_clauses_are_asked_all_the_same(verdicts_of: Answered) -> None:
    seal = '[[rule]]\nid = "seal"\nkind = "paper"\nsays = "so"\npaper = "seal"\n'
    text = f'{RECOGNISES}still = "seal"\n{MUST}{seal}'
    others = {"ridge": f'{LIGHT}max = "25 kg"'}
    assert verdicts_of(text, others=others).stands == "cannot be shown"
    assert verdicts_of(text, others=others, papers=[paper("seal")]).stands == "meets"


def days_ahead(pack: Pack, sheet: Sheet, on: date = DAY) -> list[tuple[date, str, str]]:
    return [(one.date, one.before, one.after) for one in ahead(pack, sheet, on)]


CRANK = '[[rule]]\nid = "one"\nkind = "parts"\nsays = "so"\nslot = "crank"\n'
CARD = '[[rule]]\nid = "one"\nkind = "paper"\nsays = "so"\npaper = "card"\n'


@pytest.mark.parametrize(
    ("text", "given", "expected"),
    [
        (f'{CRANK}allowed = "K-1"', {}, []),
        (f'{CRANK}allowed = "K-2"\neffective = 2027-05-02', {}, [(date(2027, 5, 2), "not asked", "breaks")]),
        (f'{CRANK}allowed = "K-2"\nsunset = 2027-05-02', {}, [(date(2027, 5, 3), "breaks", "not asked")]),
        (f'{CRANK}allowed = "K-2"\nfrom_round = 3', {}, [(date(2027, 5, 1), "not asked", "breaks")]),
        (f'{CRANK}allowed = "K-2"\nfrom_round = 9', {}, []),
        (f'{CRANK}allowed = "K-2"\neffective = 2027-04-05', {}, []),
        (
            f'{CRANK}allowed = "K-2"\nkept = {{ parts = "K-1", until = 2027-06-30 }}',
            {},
            [(date(2027, 7, 1), "meets", "breaks")],
        ),
        (
            f'[[list]]\nlist = "cranks"\nsince = 2027-06-01\nuntil = 2027-06-30\nparts = "K-1"\n{CRANK}list = "cranks"',
            {},
            [(date(2027, 6, 1), "cannot be shown", "meets"), (date(2027, 7, 1), "meets", "cannot be shown")],
        ),
        (CARD, {"papers": [paper("card", expires=date(2027, 5, 9))]}, [(date(2027, 5, 10), "meets", "breaks")]),
        (
            f'{CARD}valid = "30 d"',
            {"papers": [paper("card", date=date(2027, 4, 1))]},
            [(date(2027, 5, 2), "meets", "breaks")],
        ),
        (
            f'{CARD}slot = "crank"\nvalid = "60 d"',
            {"pieces": [piece("crank", "K-1", installed=date(2027, 3, 2))]},
            [(date(2027, 5, 2), "cannot be shown", "breaks")],
        ),
        (
            f'{CRANK}allowed = "K-1"\nproof = "document"\ndocument = "bill"',
            {"papers": [paper("bill", expires=date(2027, 5, 9))]},
            [(date(2027, 5, 10), "meets", "cannot be shown")],
        ),
        (
            f'{CRANK}allowed = "K-2"\nunless = [{{ kind = "paper", paper = "leave" }}]',
            {"papers": [paper("leave", expires=date(2027, 5, 9))]},
            [(date(2027, 5, 10), "not asked", "breaks")],
        ),
        (
            f'{CRANK}allowed = "K-1"\nproof = "document"\ndocument = "bill"',
            {"papers": [paper("bill", date=date(2027, 5, 9))]},
            [(date(2027, 5, 9), "cannot be shown", "meets")],
        ),
        (
            f'{CRANK}allowed = "K-1"\nkept = {{ bought_before = 2027-06-01 }}',
            {"parts": {"crank": "K-2"}, "papers": [paper("receipt", slot="crank", date=date(2027, 5, 9))]},
            [(date(2027, 5, 9), "cannot be shown", "meets")],
        ),
        (
            '[[rule]]\nid = "one"\nkind = "option"\nsays = "so"\nslot = "crank"\nchoices = { A = ["K-1"] }\n'
            'declared = "card"',
            {"papers": [paper("card", says="A", date=date(2027, 5, 9))]},
            [(date(2027, 5, 9), "cannot be shown", "meets")],
        ),
        (
            '[[rule]]\nid = "one"\nkind = "limit"\nsays = "so"\nof = "price.plate"\nmax = "25 USD"',
            {"parts": {"plate": "P-1"}},
            [(date(2027, 5, 1), "meets", "breaks")],
        ),
    ],
)
def test_what_the_calendar_will_change_is_told_ahead(
    pack_of: Callable[..., Pack], sheet_of: Callable[..., Sheet], text: str, given: dict[str, Any], expected: Any
) -> None:
    assert days_ahead(pack_of(text), sheet_of(**given)) == expected


def test_a_choice_that_begins_later_is_told_ahead(pack_of: Callable[..., Pack], sheet_of: Callable[..., Sheet]) -> None:
    option = (
        '[[rule]]\nid = "opt"\nkind = "option"\nsays = "so"\nslot = "crank"\neffective = 2027-06-01\n'
        'choices = { A = ["K-1"] }\n'
    )
    text = f'{option}{CRANK}allowed = "K-2"\nwhen = [{{ kind = "choice", rule = "opt", one_of = "A" }}]'
    told = [(one.rule, one.date, one.after) for one in ahead(pack_of(text), sheet_of(), DAY)]
    assert told == [("opt", date(2027, 6, 1), "meets"), ("one", date(2027, 6, 1), "breaks")]


def test_the_build_as_planned_is_asked_like_an_engine(small: Any, pack_of: Callable[..., Pack]) -> None:
    pack = pack_of(f'{CRANK}allowed = "K-1"\nproof = "document"\ndocument = "bill"')
    plan = Paper(paper="bill", number="7")
    assert check(pack, small.sheet(), DAY).stands == "cannot be shown"
    assert check(pack, replace(small, papers=(plan,)).sheet(), DAY).stands == "meets"
    assert check(pack, replace(small, papers=(plan,)).sheet("blue"), DAY).stands == "cannot be shown"


def test_an_empty_slot_is_not_asked_about_whatever_a_condition_says(ask: Ask) -> None:
    finding = ask("parts", f'slot = "plate"\nallowed = "P-1"\nwhen = [{STEEL}]', parts={"crank": "K-3"})
    assert (finding.verdict, finding.owed) == ("not asked", ())


def test_an_inspector_who_finds_no_breach_does_not_settle_an_unknown_condition(ask: Ask) -> None:
    given = {"parts": {"crank": "K-3", "block": "B-2"}, "inspections": [result("meets")]}
    assert ask("parts", f"{ASKED}\nwhen = [{STEEL}]", **given).verdict == "cannot be shown"


def test_a_choice_is_that_of_every_part_that_takes_turns(ask: Ask) -> None:
    option = '[[rule]]\nid = "opt"\nkind = "option"\nsays = "so"\nslot = "carburetor"\n'
    head = f'{option}choices = {{ L = ["C-5"], S = ["C-4"] }}\n'
    small = 'when = [{ kind = "choice", rule = "opt", one_of = "S" }]'
    assert ask("parts", f'slot = "crank"\nallowed = "K-2"\n{small}', head=head).verdict == "breaks"
    assert ask("choice", 'rule = "opt"\none_of = "L"', head=head).verdict == "breaks"
    assert ask("choice", 'rule = "opt"\none_of = "L S"', head=head).verdict == "meets"


SEAL = '[[rule]]\nid = "seal"\nkind = "parts"\nsays = "so"\nslot = "block"\nallowed = "B-2"\n'


@pytest.mark.parametrize(("severity", "stands"), [("must", "breaks"), ("should", "meets")])
def test_advice_that_is_asked_all_the_same_does_not_count(verdicts_of: Answered, severity: str, stands: str) -> None:
    text = f'{RECOGNISES}still = "seal"\n{MUST}{SEAL}severity = "{severity}"'
    assert verdicts_of(text, others={"ridge": f'{LIGHT}max = "25 kg"'}).stands == stands


@pytest.mark.parametrize(("on", "stands"), [(date(2027, 5, 31), "breaks"), (date(2027, 6, 1), "meets")])
def test_of_a_clause_that_is_asked_all_the_same_the_one_in_force_counts(
    write: Write, known: Known, sheet_of: Callable[..., Sheet], on: date, stands: str
) -> None:
    book = write("rules.toml", f'name = "Club"\n{RECOGNISES}still = "seal"\n{MUST}{SEAL}')
    write("ridge.toml", f'name = "ridge"\n{LIGHT}max = "25 kg"')
    later = f"effective = 2027-06-01\n{SEAL.replace('[[rule]]', '[[replace]]').replace('B-2', 'B-1')}"
    change, _ = read_change(write("change-1.toml", f'name = "other block"\nbaseline = "rules.toml"\n{later}'))
    pack, problems = read_pack(book, known, (), [change] if change else [])
    assert pack is not None
    assert problems == ()
    assert check(pack, sheet_of(), on).stands == stands


@pytest.mark.parametrize("supplement", [False, True])
def test_a_result_counts_for_a_clause_that_a_change_has_replaced(
    write: Write, known: Known, sheet_of: Callable[..., Sheet], supplement: bool
) -> None:
    seen = '[[{}]]\nid = "one"\nkind = "inspection"\nsays = "so"\nslot = "crank"\n'
    book = write("rules.toml", f'name = "Club"\n{seen.format("rule")}')
    local = write("local.toml", 'name = "local"\nsupplements = "rules.toml"\n')
    change, _ = read_change(
        write("change-1.toml", f'name = "c"\nbaseline = "rules.toml"\n{seen.format("replace")}minutes = 5\n')
    )
    pack, problems = read_pack(local if supplement else book, known, (), [change] if change else [])
    assert pack is not None
    assert problems == ()
    own = {"local.toml"} if supplement else {"rules.toml", "change-1.toml"}
    assert {Path(file).name for file in pack.files} == own
    (finding,) = check(pack, sheet_of(inspections=[result("meets", pack="rules")]), DAY).findings
    assert finding.verdict == "meets"


def test_of_several_receipts_and_cards_the_latest_counts_in_whatever_row(ask: Ask) -> None:
    old, new = (paper("receipt", slot="crank", date=day) for day in (date(2027, 2, 1), date(2027, 3, 1)))
    for receipts in ([old, new], [new, old]):
        kept = OLDER % "bought_before = 2027-02-15"
        assert ask("parts", kept, parts={"crank": "K-2"}, papers=receipts).verdict == "breaks"
    first, last = (paper("card", says=says, date=day) for says, day in (("A", date(2027, 2, 1)), ("B", DAY)))
    option = 'slot = "crank"\nchoices = { A = ["K-1"], B = ["K-1", "K-2"] }\ndeclared = "card"'
    for cards in ([first, last], [last, first, paper("card", says="A")]):
        assert ask("option", option, papers=cards).value == "B"


def test_a_passport_has_the_serial_of_the_part_that_takes_its_turn(ask: Ask) -> None:
    keys = 'paper = "passport"\nslot = "carburetor"\nserial = true'
    large, small = paper("passport", slot="carburetor"), paper("passport", slot="carburetor", number="8")
    pieces = [piece("carburetor", "C-4", serial="8", alternate="small"), piece("carburetor", "C-5", serial="7")]
    assert ask("paper", keys, pieces=pieces, papers=[large, small]).verdict == "meets"
    assert ask("paper", keys, pieces=pieces, papers=[large]).verdict == "breaks"
    assert ask("paper", keys, pieces=pieces, papers=[small]).verdict == "breaks"


def test_a_reading_that_does_not_count_takes_no_proof_away(ask: Ask) -> None:
    keys = 'of = "crank.stroke"\nmax = "3.26 in"\nproof = "measurement"'
    row = {"engine": "blue", "slot": "crank", "attribute": "stroke", "value": Decimal("3.251"), "unit": "in"}
    bench = [Bench.model_validate({**row, "date": DAY, "by": "steward"})]
    noted = {"engine": "blue", "rule": "one", "date": DAY, "by": "guest", "found": None}
    read = [Inspected.model_validate({**noted, "value": Decimal("3.9"), "unit": "in"})]
    assert ask("limit", keys, head='gauges = ["steward"]', bench=bench, inspections=read).verdict == "meets"
    assert ask("limit", keys, head='gauges = ["steward"]', inspections=read).verdict == "breaks"
    assert ask("limit", keys, bench=bench, inspections=read).verdict == "breaks"


def test_what_a_condition_lacks_is_owed_beside_the_proofs(ask: Ask) -> None:
    finding = ask("inspection", f"when = [{STEEL}]", parts={"crank": "K-3"})
    assert len(finding.owed) == 2
    assert finding.owed[-1] == "inspection"
