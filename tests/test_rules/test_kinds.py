"""The kinds of clause: each tripped each way it can be, and what each of its keys does."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from pytest import approx

from costplan.garage import Bench, Inspected, Paper, Piece
from costplan.quantity import Quantity
from costplan.rules import KINDS, Finding, Verdicts

Ask = Callable[..., Finding]
Given = dict[str, Any]
#: Keys of a clause, what is given beside them, the verdict, and what is found on paper.
Case = tuple[str, Given, str, str]

DAY = date(2027, 4, 1)


def result(found: str | None = None, value: Decimal | str | None = None, **more: Any) -> Inspected:
    """A result noted on the clause `one`."""
    given = {"engine": "blue", "rule": "one", "date": DAY, "by": "steward", **more}
    return Inspected.model_validate({**given, "found": found, "value": value})


def paper(name: str, **more: Any) -> Paper:
    """A paper of engine blue."""
    return Paper.model_validate({"engine": "blue", "paper": name, "number": "7", **more})


def measured(slot: str, attribute: str, value: str, unit: str, **more: Any) -> Bench:
    """A value of engine blue from the bench."""
    given = {"engine": "blue", "slot": slot, "attribute": attribute, "unit": unit, "date": DAY, "by": "shop"}
    return Bench.model_validate({**given, "value": Decimal(value), **more})


def piece(slot: str, part: str, **more: Any) -> Piece:
    """The piece in a slot of engine blue."""
    return Piece.model_validate({"piece": f"blue {slot}", "part": part, "engine": "blue", "slot": slot, **more})


MEETS: Given = {"inspections": [result("meets")]}
BREAKS: Given = {"inspections": [result("breaks")]}
OPTION = 'slot = "block crank"\nchoices = { A = ["B-1", "K-1"], B = ["B-2", "K-2"] }'

#: By kind.
CASES: dict[str, list[Case]] = {
    "parts": [
        ('slot = "crank"\nallowed = "K-0 K-1"', {}, "meets", "meets"),
        ('slot = "crank"\nallowed = "K-0 K-2"', {}, "breaks", "breaks"),
        ('slot = "crank"\nallowed = "K-1"', BREAKS, "breaks", "meets"),
        ('slot = "crank"\nbanned = "K-2"', {}, "meets", "meets"),
        ('slot = "crank"\nbanned = "K-2"', {"parts": {"crank": "K-2"}}, "breaks", "breaks"),
        ('slot = "crank"\nallowed = "K-1"\nbanned = "K-1"', {}, "breaks", "breaks"),
        ('slot = "crank"\nsuppliers = "Hill"', {}, "meets", "meets"),
        ('slot = "crank"\nsuppliers = ["Nagg Works"]', {"parts": {"crank": "K-4"}}, "meets", "meets"),
        ('slot = "crank"\nsuppliers = "Hill"', {"parts": {"crank": "K-2"}}, "breaks", "breaks"),
        ('slot = "crank"\nsuppliers = "Hill"\nallowed = "K-2"', {"parts": {"crank": "K-2"}}, "meets", "meets"),
        ('slot = "crank rods"\nallowed = "K-1 R-1"', {}, "meets", "meets"),
        ('slot = "crank rods"\nallowed = "K-1"', {}, "breaks", "breaks"),
        ('slot = "crank plate"\nallowed = "K-1"', {}, "meets", "meets"),
        ('slot = "crank plate"\nallowed = "K-1"', {"parts": {"plate": "P-1"}}, "breaks", "breaks"),
        ('slot = "crank"\nallowed = "K-1"\nmark = "X7"', {}, "cannot be shown", "meets"),
        ('slot = "crank"\nallowed = "K-1"\nmark = "X7"', MEETS, "meets", "meets"),
        ('slot = "crank"\nallowed = "K-2"\nmark = "X7"', MEETS, "breaks", "breaks"),
        ('slot = "crank"\nallowed = "K-1"\nproof = "measurement"', {}, "cannot be shown", "meets"),
        ('slot = "plate"\nallowed = "P-1"', {}, "not asked", "not asked"),
    ],
    "word": [
        ('of = "crank.material"\none_of = "steel iron"', {}, "meets", "meets"),
        ('of = "crank.material"\none_of = "iron"', {}, "breaks", "breaks"),
        ('of = "rods.material"\nnone_of = "titanium"', {}, "meets", "meets"),
        ('of = "rods.material"\nnone_of = "titanium"', {"parts": {"rods": "R-2"}}, "breaks", "breaks"),
        ('of = "crank.material"\none_of = "steel"', {"parts": {"crank": "K-3"}}, "cannot be shown", "cannot be shown"),
        ('of = "crank.material"\none_of = "steel"\nproof = "inspection"', {}, "cannot be shown", "meets"),
        (
            'of = "crank.material"\none_of = "steel"\nproof = "inspection"',
            {"inspections": [result(value="steel")]},
            "meets",
            "meets",
        ),
        ('of = "crank.material"\none_of = "steel"', {"inspections": [result(value="iron")]}, "breaks", "breaks"),
        ('of = "crank.material"\none_of = "steel"', MEETS, "meets", "meets"),
        ('of = "made.crank.material"\none_of = "steel"', {}, "meets", "meets"),
        ('of = "plate.material"\none_of = "steel"', {}, "not asked", "not asked"),
    ],
    "limit": [
        ('of = "displacement"\nmax = "164 in3"', {}, "meets", "meets"),
        ('of = "displacement"\nmax = "163 in3"', {}, "breaks", "breaks"),
        ('of = "displacement"\nmin = "164 in3"', {}, "breaks", "breaks"),
        ('of = "displacement"\nmin = "2.6 L"\nmax = "2.7 L"', {}, "meets", "meets"),
        ('of = "displacement"\nmin = "2600 cm3"\nmax = "164 in3"', {}, "meets", "meets"),
        ('of = "displacement"\nmin = "2700 cm3"\nmax = "165 in3"', {}, "breaks", "breaks"),
        ('of = "compression_ratio"\nmax = 12', {}, "cannot be shown", "cannot be shown"),
        ('of = "crank.mass"\nmin = "18 kg"', {"parts": {"crank": "K-3"}}, "cannot be shown", "cannot be shown"),
        ('of = "crank.stroke"\nnominal = "3.25 in"', {}, "meets", "meets"),
        ('of = "crank.stroke"\nnominal = "3.24 in"\nwithin = "0.01 in"', {}, "meets", "meets"),
        ('of = "crank.stroke"\nnominal = "3.24 in"\nwithin = "0.009 in"', {}, "breaks", "breaks"),
        ('of = "crank.stroke"\nnominal = "3.26 in"\nwithin = "0.2 mm"', {}, "breaks", "breaks"),
        ('of = "crank.stroke"\nmax = "3.249 in"\ntolerance = "0.001 in"', {}, "meets", "meets"),
        ('of = "crank.stroke"\nmax = "3.248 in"\ntolerance = "0.001 in"', {}, "breaks", "breaks"),
        ('of = "crank.stroke"\nmin = "3.251 in"\ntolerance = "0.0254 mm"', {}, "meets", "meets"),
        ('of = "count.rod"\nmin = 4\nmax = 4', {}, "meets", "meets"),
        ('of = "count.plate"\nmax = 0', {"parts": {"plate": "P-1"}}, "breaks", "breaks"),
        ('of = "crank.mass rods.mass"\nmax = "20.6 kg"', {}, "meets", "meets"),
        ('of = "crank.mass rods.mass"\nmax = "20.59 kg"', {}, "breaks", "breaks"),
        ('of = "block.bore"\nless = "made.block.bore"\nmax = "0.02 in"', {}, "meets", "meets"),
        (
            'of = "block.bore"\nless = "made.block.bore"\nmax = "0.019 in"',
            {"done": {"block": ["bore-020"]}},
            "breaks",
            "breaks",
        ),
        ('reads = "vacuum at 900 rpm"\nmin = "50 kPa"', {}, "cannot be shown", "cannot be shown"),
        (
            'reads = "vacuum at 900 rpm"\nmin = "50 kPa"',
            {"inspections": [result(value=Decimal(51), unit="kPa")]},
            "meets",
            "meets",
        ),
        (
            'reads = "vacuum at 900 rpm"\nmin = "50 kPa"',
            {"inspections": [result(value=Decimal("0.49"), unit="bar")]},
            "breaks",
            "breaks",
        ),
        ('reads = "decibels"\nmax = 95', {"inspections": [result(value=Decimal(95))]}, "meets", "meets"),
        ('reads = "decibels"\nmax = 95', {"inspections": [result(value="loud")]}, "cannot be shown", "cannot be shown"),
        ('of = "plate.thickness"\nmax = "1 in"', {}, "not asked", "not asked"),
    ],
    "option": [
        (OPTION, {}, "meets", "meets"),
        (OPTION, {"parts": {"block": "B-2", "crank": "K-2"}}, "meets", "meets"),
        (OPTION, {"parts": {"crank": "K-2"}}, "breaks", "breaks"),
        (OPTION, {"parts": {"crank": "K-3"}}, "breaks", "breaks"),
        (f'{OPTION}\ndeclared = "card"', {}, "cannot be shown", "meets"),
        (f'{OPTION}\ndeclared = "card"', {"papers": [paper("card", says="A")]}, "meets", "meets"),
        (f'{OPTION}\ndeclared = "card"', {"papers": [paper("card", says="B")]}, "breaks", "breaks"),
        (f'{OPTION}\ndeclared = "card"', {"papers": [paper("card", says="C")]}, "breaks", "breaks"),
        ('slot = "plate"\nchoices = { A = ["P-1"] }', {}, "not asked", "not asked"),
    ],
    "choice": [
        ('rule = "opt"\none_of = "A"', {}, "meets", "meets"),
        ('rule = "opt"\none_of = "A B"', {}, "meets", "meets"),
        ('rule = "opt"\none_of = "B"', {}, "breaks", "breaks"),
        ('rule = "opt"\none_of = "A B"', {"parts": {"crank": "K-3"}}, "breaks", "breaks"),
        ('rule = "both"\none_of = "A"', {}, "cannot be shown", "cannot be shown"),
        ('rule = "both"\none_of = "A"', {"papers": [paper("card", says="A")]}, "meets", "meets"),
        ('rule = "both"\none_of = "A"', {"papers": [paper("card", says="B")]}, "breaks", "breaks"),
        ('rule = "late"\none_of = "A"', {}, "not asked", "not asked"),
    ],
    "work": [
        ('slot = "block"\nmust_not = "bore-020"', {}, "meets", "meets"),
        ('slot = "block"\nmust_not = "bore-020"', {"done": {"block": ["bore-020"]}}, "breaks", "breaks"),
        ('slot = "crank"\nmust = "balance"', {}, "breaks", "breaks"),
        ('slot = "crank"\nmust = "balance"', {"done": {"crank": ["balance"]}}, "meets", "meets"),
        ('slot = "crank"\nmay = "balance"', {"done": {"crank": ["balance"]}}, "meets", "meets"),
        ('slot = "crank"\nmay = "balance"', {"done": {"crank": ["balance", "grind"]}}, "breaks", "breaks"),
        ('slot = "crank"\nmust = "grind"\nmay = "balance"', {"done": {"crank": ["grind"]}}, "meets", "meets"),
        ('slot = "block"\nkeeps = "bore"', {"done": {"block": ["bore-020"]}}, "breaks", "breaks"),
        ('slot = "crank"\nkeeps = "stroke"', {"done": {"crank": ["balance"]}}, "meets", "meets"),
        ('slot = "crank"\nkeeps = "mass"', {"done": {"crank": ["balance"]}}, "breaks", "breaks"),
        ('slot = "crank"\nmust_not = "grind"\nproof = "inspection"', {}, "cannot be shown", "meets"),
        ('slot = "crank"\nmust_not = "grind"\nproof = "inspection"', MEETS, "meets", "meets"),
        ('slot = "plate"\nmust_not = "grind"', {}, "not asked", "not asked"),
    ],
    "paper": [
        ('paper = "leave"', {}, "cannot be shown", "cannot be shown"),
        ('paper = "leave"', {"papers": [paper("leave")]}, "meets", "meets"),
        ('paper = "leave"', {"papers": [paper("seal")]}, "cannot be shown", "cannot be shown"),
        ('paper = "leave"', {"papers": [paper("leave", slot="crank")]}, "cannot be shown", "cannot be shown"),
        ('paper = "leave"\nslot = "crank"', {"papers": [paper("leave", slot="crank")]}, "meets", "meets"),
        ('paper = "leave"\nby = "board"', {"papers": [paper("leave", by="board")]}, "meets", "meets"),
        ('paper = "leave"\nby = "board"', {"papers": [paper("leave", by="shop")]}, "breaks", "breaks"),
        ('paper = "leave"\nnumbers = "7 8"', {"papers": [paper("leave")]}, "meets", "meets"),
        ('paper = "leave"\nnumbers = "8 9"', {"papers": [paper("leave")]}, "breaks", "breaks"),
        ('paper = "seal"\ndeclares = "intact"', {"papers": [paper("seal", says="intact")]}, "meets", "meets"),
        ('paper = "seal"\ndeclares = "intact"', {"papers": [paper("seal", says="broken")]}, "breaks", "breaks"),
        ('paper = "leave"', BREAKS, "breaks", "cannot be shown"),
        ('paper = "leave"\nslot = "plate"', {}, "not asked", "not asked"),
    ],
    "inspection": [
        ('slot = "crank"', {}, "cannot be shown", "meets"),
        ("", {}, "cannot be shown", "meets"),
        ("", MEETS, "meets", "meets"),
        ("", BREAKS, "breaks", "meets"),
        ("", {"inspections": [result(value="as cast")]}, "cannot be shown", "meets"),
        ('slot = "plate"', {}, "not asked", "not asked"),
    ],
    "quota": [
        ('of = "engines"\nmost = 2', {}, "cannot be shown", "meets"),
        ('of = "engines"\nmost = 2', MEETS, "meets", "meets"),
        ('of = "engines"\nmost = 2', BREAKS, "breaks", "meets"),
        ('of = "pieces"\nslot = "tyre crank"\nmost = 1\nper = "event"', {}, "cannot be shown", "meets"),
        ('of = "openings"\nlevel = "freshen"\nmost = 0\nper = "life"', {}, "cannot be shown", "meets"),
    ],
    "charge": [
        ('amount = 300\nper = "event"', {}, "cannot be shown", "meets"),
        ('amount = 300\nper = "event"', MEETS, "meets", "meets"),
        ('amount = 300\nper = "event"', BREAKS, "breaks", "meets"),
        ('amount = 90\ncurrency = "EUR"\nper = "opening"\nlevel = "freshen"', {}, "cannot be shown", "meets"),
    ],
    "conduct": [
        ("", {}, "cannot be shown", "meets"),
        ("", MEETS, "meets", "meets"),
        ("", BREAKS, "breaks", "meets"),
        ('proof = "document"\ndocument = "bulletin"', {}, "cannot be shown", "meets"),
        ('proof = "document"\ndocument = "bulletin"', {"papers": [paper("bulletin")]}, "meets", "meets"),
        ('slot = "plate"', {}, "not asked", "not asked"),
    ],
}
#: Clauses of kind option, which those of kind choice speak of.
HEADS = {
    "choice": f"""
[[rule]]
id = "opt"
kind = "option"
says = "so"
{OPTION}
[[rule]]
id = "both"
kind = "option"
says = "so"
slot = "block crank"
choices = {{ A = ["B-1", "K-1"], B = ["B-1", "K-1"] }}
declared = "card"
[[rule]]
id = "late"
kind = "option"
says = "so"
effective = 2027-05-01
{OPTION}
"""
}


@pytest.mark.parametrize(("kind", "case"), [(kind, case) for kind, cases in CASES.items() for case in cases])
def test_each_kind_is_tripped(ask: Ask, kind: str, case: Case) -> None:
    keys, given, verdict, on_paper = case
    finding = ask(kind, keys, head=HEADS.get(kind, ""), **given)
    assert (finding.verdict, finding.on_paper) == (verdict, on_paper)
    assert bool(finding.at_fault) == (on_paper == "breaks")
    assert bool(finding.owed) == (verdict == "cannot be shown")


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_has_its_three_ways(kind: str) -> None:
    assert {verdict for _, _, verdict, _ in CASES[kind]} >= {"meets", "breaks", "cannot be shown"}


#: What is not asked although its engine would meet it.
IDLE = {
    "before its day": "effective = 2027-04-06",
    "after its day": "sunset = 2027-04-04",
    "before its round": "from_round = 2",
    "in a round that the calendar lacks": "from_round = 4",
    "where a condition does not hold": 'when = [{ kind = "parts", slot = "crank", allowed = "K-2" }]',
    "where an exception holds": 'unless = [{ kind = "parts", slot = "crank", allowed = "K-1" }]',
    "of an empty slot": 'when = [{ kind = "parts", slot = "plate", banned = "P-9" }]',
}


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("idle", IDLE.values(), ids=IDLE)
def test_every_kind_is_not_asked_when_it_does_not_hold(ask: Ask, kind: str, idle: str) -> None:
    keys, given = next((keys, given) for keys, given, verdict, _ in CASES[kind] if verdict == "meets")
    finding = ask(kind, f"{keys}\n{idle}", head=HEADS.get(kind, ""), **given)
    assert (finding.verdict, finding.owed, finding.at_fault) == ("not asked", (), ())
    assert finding.why


def test_a_part_at_fault_is_named_with_the_row_that_put_it_in(ask: Ask) -> None:
    finding = ask("parts", 'slot = "crank rods"\nallowed = "K-2 R-1"')
    assert finding.at_fault == ("crank: K-1",)
    assert any("build.csv:3" in word for word in finding.why)


def test_only_a_needed_slot_that_is_empty_is_owed(ask: Ask) -> None:
    finding = ask("parts", 'slot = "crank plate"\nallowed = "K-1"', empty=["crank"])
    assert (finding.verdict, finding.owed) == ("cannot be shown", ("a part in slot crank",))
    assert ask("limit", 'of = "crank.stroke"\nmax = "4 in"', empty=["crank"]).owed == ("a part in slot crank",)
    marked = ask("parts", 'slot = "crank rods"\nallowed = "R-1"\nmark = "X7"', empty=["crank"])
    assert marked.owed == ("a part in slot crank", "inspection of the mark X7")


EDITIONS = """
[[list]]
list = "cranks"
edition = "A"
until = 2027-04-30
parts = "K-1"
[[list]]
list = "cranks"
edition = "B"
since = 2027-04-15
parts = "K-2"
[[list]]
list = "cranks"
edition = "C"
since = 2027-06-01
until = 2027-06-30
parts = "K-1 K-2"
"""


@pytest.mark.parametrize(
    ("on", "verdict"),
    [
        (date(2027, 4, 14), "meets"),
        (date(2027, 4, 15), "breaks"),
        (date(2027, 5, 31), "breaks"),
        (date(2027, 6, 1), "meets"),
        (date(2027, 6, 30), "meets"),
        (date(2027, 7, 1), "cannot be shown"),
    ],
)
def test_the_edition_that_began_last_names_the_parts(ask: Ask, on: date, verdict: str) -> None:
    assert ask("parts", 'slot = "crank"\nlist = "cranks"', head=EDITIONS, on=on).verdict == verdict


def test_a_list_adds_to_the_parts_allowed_and_bans_hold_without_an_edition(ask: Ask) -> None:
    keys = 'slot = "crank"\nlist = "cranks"\nallowed = "K-4"'
    assert ask("parts", keys, head=EDITIONS, parts={"crank": "K-4"}).verdict == "meets"
    ended = {"head": EDITIONS, "on": date(2027, 7, 1)}
    assert ask("parts", 'slot = "crank"\nlist = "cranks"\nbanned = "K-1"', **ended).verdict == "breaks"
    assert ask("parts", 'slot = "crank"\nlist = "cranks"\nbanned = "K-2"', **ended).verdict == "cannot be shown"


@pytest.mark.parametrize(
    ("bounds", "value", "margin"),
    [
        ('max = "164 in3"', 163.3628, 0.6372),
        ('min = "160 in3"\nmax = "164 in3"', 163.3628, 0.6372),
        ('max = "160 in3"', 163.3628, -3.3628),
        ('max = "2.7 L"', 2.677037, 0.022963),
    ],
)
def test_a_limit_tells_value_and_margin_in_its_own_unit(ask: Ask, bounds: str, value: float, margin: float) -> None:
    # pi/4 * 4^2 * 3.25 * 4 = 163.3628 in3; one cubic inch is 16.387064 cm3 exactly
    finding = ask("limit", f'of = "displacement"\n{bounds}')
    assert isinstance(finding.value, Quantity)
    assert finding.margin is not None
    assert finding.value.unit == finding.margin.unit
    assert [finding.value.value, finding.margin.value] == approx([value, margin], abs=1e-4)


def test_what_an_unknown_measure_lacks_is_owed(ask: Ask) -> None:
    owed = ask("limit", 'of = "deck_clearance"\nmin = "0 mm"').owed
    assert [any(name in word for word in owed) for name in ("deck_height", "pin_height")] == [True, True]


@pytest.mark.parametrize(
    ("mass", "bounds", "ties", "verdict"),
    [
        ("3.2549", 'max = "3.25 in"', "even", "meets"),
        ("3.2551", 'max = "3.25 in"', "even", "breaks"),
        ("3.245", 'max = "3.24 in"', "even", "meets"),
        ("3.245", 'max = "3.24 in"', "away", "breaks"),
        ("3.235", 'min = "3.24 in"', "even", "meets"),
        ("3.235", 'min = "3.24 in"', "away", "meets"),
        ("3.245", 'min = "3.25 in"', "even", "breaks"),
        ("3.245", 'min = "3.25 in"', "away", "meets"),
        ("3.2549", 'max = "3.250 in"', "even", "breaks"),
    ],
)
def test_a_rounded_value_is_compared_at_the_last_place_of_its_bound(
    ask: Ask, mass: str, bounds: str, ties: str, verdict: str
) -> None:
    # ASTM E29, rounding method, and both ways with ties of ISO 80000-1 Annex B, from memory
    given: Given = {"bench": [measured("crank", "stroke", mass, "in")]}
    keys = f'of = "crank.stroke"\n{bounds}'
    assert ask("limit", keys, head=f'rounding = "rounded"\nties = "{ties}"', **given).verdict == verdict
    assert ask("limit", f'{keys}\nrounding = "rounded"', head=f'ties = "{ties}"', **given).verdict == verdict


def test_a_clause_may_leave_the_rounding_of_its_book(ask: Ask) -> None:
    given: Given = {"bench": [measured("crank", "stroke", "3.2549", "in")], "head": 'rounding = "rounded"'}
    keys = 'of = "crank.stroke"\nmax = "3.25 in"'
    assert ask("limit", keys, **given).verdict == "meets"
    assert ask("limit", f'{keys}\nrounding = "absolute"', **given).verdict == "breaks"


@pytest.mark.parametrize(
    ("keys", "value"),
    [
        ('of = "price"', 2100.0),
        ('of = "price"\nwithout = "block carburetor"', 600.0),
        ('of = "price.rods"', 200.0),
        ('of = "price.crank price.rods"', 600.0),
    ],
)
def test_prices_are_limited_in_money(ask: Ask, keys: str, value: float) -> None:
    # block 1000, crank 400, four rods at 50, carburetor 500 of which the other takes turns
    finding = ask("limit", f'{keys}\nmax = "{value:.0f} USD"')
    assert (finding.verdict, finding.value, finding.margin) == ("meets", Quantity(value, "USD"), Quantity(0.0, "USD"))
    assert ask("limit", f'{keys}\nmax = "{value - 0.01:.2f} USD"').verdict == "breaks"


@pytest.mark.parametrize(
    ("prices_on", "on", "verdict"),
    [
        ("", date(2027, 4, 30), "meets"),
        ("", date(2027, 5, 1), "breaks"),
        ("prices_on = 2027-04-30", date(2027, 5, 1), "meets"),
        ("prices_on = 2027-05-01", date(2027, 4, 30), "breaks"),
    ],
)
def test_the_prices_of_a_day_count(ask: Ask, prices_on: str, on: date, verdict: str) -> None:
    # the plate costs 20 from January and 30 from 1 May
    keys = f'of = "price.plate"\nmax = "25 USD"\n{prices_on}'
    assert ask("limit", keys, parts={"plate": "P-1"}, on=on).verdict == verdict


def test_a_price_is_limited_in_the_currency_of_the_book(ask: Ask) -> None:
    # 1 EUR is worth 1.25 USD: the crank of 400 USD costs 320 EUR
    finding = ask("limit", 'of = "price.crank"\nmax = "320 EUR"')
    assert (finding.verdict, finding.value) == ("meets", Quantity(320.0, "EUR"))
    assert ask("limit", 'of = "price.crank"\nmax = "319 EUR"').verdict == "breaks"


def test_a_price_in_another_currency_is_rounded_like_every_line(ask: Ask) -> None:
    # 400 USD at 1.37 USD to the pound are 291.9708 GBP, of which nobody pays the last digits
    finding = ask("limit", 'of = "price.crank"\nmax = "291.97 GBP"')
    assert (finding.verdict, finding.value) == ("meets", Quantity(291.97, "GBP"))


STROKE = 'of = "crank.stroke"\nmax = "3.26 in"\nproof = "measurement"'


def test_a_proof_by_measurement_is_brought_by_the_bench(ask: Ask) -> None:
    assert ask("limit", STROKE).owed == ("measurement of crank.stroke",)
    finding = ask("limit", STROKE, bench=[measured("crank", "stroke", "3.251", "in")])
    assert (finding.verdict, finding.value, finding.owed) == ("meets", Quantity(3.251, "in"), ())
    assert finding.shown_by == ("measured on the bench",)
    assert ask("limit", STROKE).shown_by == ()
    assert ask("limit", 'of = "crank.stroke"\nmax = "3.26 in"').shown_by == ()


def test_a_value_from_the_bench_breaks_what_the_list_meets(ask: Ask) -> None:
    assert ask("limit", STROKE, bench=[measured("crank", "stroke", "3.27", "in")]).verdict == "breaks"


def test_what_was_measured_later_is_no_proof_on_the_day(ask: Ask) -> None:
    late = measured("crank", "stroke", "3.251", "in", date=date(2027, 4, 6))
    found = ask("limit", STROKE, bench=[late])
    assert (found.verdict, found.on_paper, found.owed) == ("cannot be shown", "meets", ("measurement of crank.stroke",))


def test_a_paper_without_a_number_does_not_tell_the_serial(ask: Ask) -> None:
    keys = 'paper = "passport"\nslot = "crank"\nserial = true'
    rows = [paper("passport", slot="crank", number="", by="club")]
    found = ask("paper", keys, papers=rows, pieces=[piece("crank", "K-1", serial="S7")])
    assert (found.verdict, [word.partition(" passport")[0] for word in found.owed]) == (
        "cannot be shown",
        ["the number of the"],
    )


def test_the_price_of_one_part_speaks_of_its_slot_alone(ask: Ask) -> None:
    assert ask("limit", 'of = "price.rods"\nmax = "900 USD"').slots == ("rods",)
    assert "rods" not in ask("limit", 'of = "price"\nwithout = "rods"\nmax = "9000 USD"').slots


def test_capitals_tell_no_papers_apart(ask: Ask) -> None:
    keys = 'paper = "seal"\nby = "Hill"\ndeclares = "intact"'
    assert ask("paper", keys, papers=[paper("Seal", by="HILL", says="Intact")]).verdict == "meets"


def test_every_source_of_a_measure_must_be_measured(ask: Ask) -> None:
    keys = 'of = "displacement"\nmax = "165 in3"\nproof = "measurement"'
    bore = measured("block", "bore", "4.001", "in")
    stroke = measured("crank", "stroke", "3.25", "in")
    assert ask("limit", keys).owed == ("measurement of block.bore, crank.stroke",)
    assert ask("limit", keys, bench=[bore]).owed == ("measurement of crank.stroke",)
    assert ask("limit", keys, bench=[bore, stroke]).verdict == "meets"
    assert ask("limit", keys, bench=[measured("", "displacement", "164.2", "in3")]).verdict == "meets"


def test_a_clause_may_ask_for_some_measurements_only(ask: Ask) -> None:
    keys = 'of = "displacement"\nmax = "165 in3"\nproof = "measurement"\nmeasured = "block.bore"'
    assert ask("limit", keys).owed == ("measurement of block.bore",)
    assert ask("limit", keys, bench=[measured("block", "bore", "4.001", "in")]).verdict == "meets"
    whole = keys.replace("block.bore", "displacement")
    assert ask("limit", whole).owed == ("measurement of block.bore, crank.stroke",)


def test_numbers_of_the_pattern_alone_are_no_measurement(ask: Ask) -> None:
    keys = 'of = "count.rod"\nmin = 4\nproof = "measurement"'
    assert ask("limit", keys).owed == ("measurement of count.rod",)


def test_nothing_is_measured_of_a_price(ask: Ask) -> None:
    keys = 'of = "price"\nmax = "3000 USD"\nproof = "measurement"'
    assert ask("limit", keys).owed == ("measurement",)


@pytest.mark.parametrize(("by", "verdict"), [("steward", "meets"), ("shop", "cannot be shown")])
def test_only_the_gauges_that_count_bring_proof(ask: Ask, by: str, verdict: str) -> None:
    head = 'gauges = ["steward", "series lab"]'
    bench = [measured("crank", "stroke", "3.251", "in", by=by)]
    assert ask("limit", STROKE, head=head, bench=bench).verdict == verdict
    read = [result(value=Decimal("3.251"), unit="in", by=by)]
    assert ask("limit", STROKE, head=head, inspections=read).verdict == verdict
    assert ask("inspection", "", head=head, inspections=[result("meets", by=by)]).verdict == verdict


def test_what_is_owed_names_the_gauges_that_count(ask: Ask) -> None:
    (owed,) = ask("limit", STROKE, head='gauges = ["steward", "series lab"]').owed
    assert owed == "measurement by steward or series lab of crank.stroke"


def test_a_reading_goes_before_bench_and_list(ask: Ask) -> None:
    bench = [measured("crank", "stroke", "3.251", "in")]
    read = [result(value=Decimal("82.9"), unit="mm")]  # 3.2638 in
    finding = ask("limit", STROKE, bench=bench, inspections=read)
    assert finding.verdict == "breaks"
    assert isinstance(finding.value, Quantity)
    assert finding.value.to("mm") == approx(82.9)


@pytest.mark.parametrize("proof", ["measurement", "inspection"])
def test_a_reading_that_was_compared_is_proof(ask: Ask, proof: str) -> None:
    keys = f'of = "crank.stroke"\nmax = "3.26 in"\nproof = "{proof}"'
    read = ask("limit", keys, inspections=[result(value=Decimal("3.25"), unit="in")])
    assert (read.verdict, len(read.shown_by)) == ("meets", 1)
    assert ask("limit", keys, inspections=[result(value="fine")]).verdict == "cannot be shown"
    assert ask("limit", keys, inspections=[result(value=Decimal("3.25"), unit="kg")]).verdict == "cannot be shown"


def test_a_value_that_a_kind_does_not_compare_proves_nothing(ask: Ask) -> None:
    keys = 'slot = "crank"\nallowed = "K-1"\nproof = "measurement"'
    assert ask("parts", keys, inspections=[result(value=Decimal(3))]).verdict == "cannot be shown"


@pytest.mark.parametrize(
    ("value", "uncertainty", "verdict", "close"),
    [
        ("3.259", "0.002", "meets", True),
        ("3.259", "0.001", "meets", True),
        ("3.259", "0.0009", "meets", False),
        ("3.261", "0.002", "breaks", True),
        ("3.259", None, "meets", False),
    ],
)
def test_a_limit_within_the_uncertainty_is_close(
    ask: Ask, value: str, uncertainty: str | None, verdict: str, close: bool
) -> None:
    bench = [measured("crank", "stroke", value, "in", uncertainty=uncertainty)]
    finding = ask("limit", STROKE, bench=bench)
    assert (finding.verdict, finding.close) == (verdict, close)
    read = [result(value=Decimal(value), unit="in", uncertainty=uncertainty)]
    finding = ask("limit", STROKE, inspections=read)
    assert (finding.verdict, finding.close) == (verdict, close)


def test_the_worst_case_of_tolerances_is_told_beside_the_nominal(ask: Ask) -> None:
    # crank K-1 weighs 20 kg, 0.5 kg more or less; a measured one is what it is
    finding = ask("limit", 'of = "crank.mass"\nmin = "19.6 kg"')
    assert (finding.verdict, finding.worst_breaks) == ("meets", True)
    assert finding.low is not None
    assert finding.high is not None
    assert [finding.low.to("kg"), finding.high.to("kg")] == approx([19.5, 20.5])
    assert not ask("limit", 'of = "crank.mass"\nmin = "19.5 kg"').worst_breaks
    scaled = ask("limit", 'of = "crank.mass"\nmin = "19.6 kg"', bench=[measured("crank", "mass", "20000", "g")])
    assert (scaled.worst_breaks, scaled.low) == (False, None)


@pytest.mark.parametrize(
    ("bounds", "values"),
    [
        ('max = "3.3 in"\ntolerance = "0.03 mm"', ["83.85"]),
        ('min = "3.3 in"\ntolerance = "0.03 mm"', ["83.79"]),
        ('max = "3.250 in"\ntolerance = "0.01 mm"', ["82.56"]),
        ('nominal = "3.250 in"\nwithin = "0.01 mm"', ["82.56", "82.54"]),
        ('nominal = "82.55 mm"\nwithin = "0.001 in"', ["3.251", "3.249"]),
    ],
)
def test_a_value_at_its_bound_in_another_unit_meets(ask: Ask, bounds: str, values: list[str]) -> None:
    for value in values:
        unit = "mm" if Decimal(value) > 10 else "in"
        bench = [measured("crank", "stroke", value, unit)]
        assert ask("limit", f'of = "crank.stroke"\n{bounds}', bench=bench).verdict == "meets"
        past = Decimal(value) + Decimal("0.0001") * (1 if value == values[0] and "min" not in bounds[:3] else -1)
        bench = [measured("crank", "stroke", str(past), unit)]
        assert ask("limit", f'of = "crank.stroke"\n{bounds}', bench=bench).verdict == "breaks"


@pytest.mark.parametrize(
    ("value", "uncertainty", "verdict", "close"),
    [("20.4", "0.2", "meets", True), ("20.6", "0.2", "breaks", True), ("20.8", "0.2", "breaks", False)],
)
def test_what_rounds_past_a_limit_only_within_the_uncertainty_is_close(
    ask: Ask, value: str, uncertainty: str, verdict: str, close: bool
) -> None:
    keys = 'of = "crank.mass"\nmax = "20 kg"\nrounding = "rounded"'
    finding = ask("limit", keys, bench=[measured("crank", "mass", value, "kg", uncertainty=uncertainty)])
    assert (finding.verdict, finding.close) == (verdict, close)


def test_the_worst_case_is_compared_as_the_book_compares(ask: Ask) -> None:
    # crank K-1 weighs 20 kg, 0.5 kg more or less: 20.5 rounds to the even 20
    keys = 'of = "crank.mass"\nmax = "20 kg"\nrounding = '
    assert ask("limit", f'{keys}"absolute"').worst_breaks
    assert not ask("limit", f'{keys}"rounded"').worst_breaks
    assert ask("limit", f'{keys}"rounded"', head='ties = "away"').worst_breaks


@pytest.mark.parametrize(
    ("bounds", "limit"),
    [
        ('nominal = "3.25 in"', "3.25 in"),
        ('nominal = "3.25 in"\nwithin = "0.01 in"', "3.25 in within 0.01 in"),
        ('min = "3.2 in"\nmax = "3.3 in"', "at least 3.2 in, at most 3.3 in"),
        ('max = "3.30 in"\ntolerance = "0.01 in"', "at most 3.30 in, tolerance 0.01 in"),
        ('max = "3.30 in"\ntolerance = "0 in"', "at most 3.30 in"),
    ],
)
def test_bounds_are_told_as_they_are_written(ask: Ask, bounds: str, limit: str) -> None:
    assert ask("limit", f'of = "crank.stroke"\n{bounds}').limit == limit


PASSPORT = 'paper = "passport"\nslot = "block"\nserial = true'


@pytest.mark.parametrize(
    ("serial", "verdict"), [("7", "meets"), ("8", "breaks"), ("", "cannot be shown"), (None, "cannot be shown")]
)
def test_a_passport_has_the_serial_of_its_piece(ask: Ask, serial: str | None, verdict: str) -> None:
    pieces = [] if serial is None else [piece("block", "B-1", serial=serial)]
    assert ask("paper", PASSPORT, papers=[paper("passport", slot="block")], pieces=pieces).verdict == verdict


def test_a_paper_that_is_not_there_is_owed_once(ask: Ask) -> None:
    assert ask("paper", 'paper = "leave"\nproof = "document"').owed == ("leave",)
    assert ask("paper", 'paper = "seal"\nat_least = 4', papers=[paper("seal")]).owed == ("seal: 3 more",)


def test_so_many_papers_are_counted_that_hold(ask: Ask) -> None:
    keys = 'paper = "seal"\nat_least = 2\ndeclares = "intact"'
    one, two = paper("seal", number="1", says="intact"), paper("seal", number="2", says="intact")
    broken = paper("seal", number="3", says="broken")
    assert ask("paper", keys, papers=[one]).verdict == "cannot be shown"
    assert ask("paper", keys, papers=[one, two]).verdict == "meets"
    assert ask("paper", keys, papers=[one, broken]).verdict == "breaks"
    assert ask("paper", keys, papers=[one, broken, two]).verdict == "meets"


def test_a_number_that_is_told_twice_is_one_paper(ask: Ask) -> None:
    looks = [paper("seal", number="1", date=day) for day in (date(2027, 2, 1), date(2027, 3, 1))]
    assert ask("paper", 'paper = "seal"\nat_least = 2', papers=looks).verdict == "cannot be shown"
    assert ask("paper", 'paper = "seal"\nat_least = 2', papers=[*looks, paper("seal", number="2")]).verdict == "meets"


def test_what_a_paper_leaves_open_is_owed_and_breaks_nothing(ask: Ask) -> None:
    found = ask("paper", 'paper = "seal"\nby = "Hill"\ndeclares = "intact"', papers=[paper("seal", number="7")])
    assert found.verdict == "cannot be shown"
    assert [word.partition(" seal")[0] for word in found.owed] == ["who issued the", "what is said by the"]


def test_no_document_is_owed_of_an_empty_slot(ask: Ask) -> None:
    keys = 'slot = "crank plate"\nallowed = "K-1 P-1"\nproof = "document"\ndocument = "bill"'
    bill = [paper("bill", slot="crank")]
    assert ask("parts", keys, papers=bill).verdict == "meets"
    assert ask("parts", keys, papers=bill, parts={"plate": "P-1"}).owed == ("bill of plate",)


@pytest.mark.parametrize(
    ("keys", "row", "verdict"),
    [
        ("dated_from = 2027-01-02", {"date": date(2027, 1, 2)}, "meets"),
        ("dated_from = 2027-01-02", {"date": date(2027, 1, 1)}, "breaks"),
        ("dated_to = 1966-12-31", {"date": date(1966, 12, 31)}, "meets"),
        ("dated_to = 1966-12-31", {"date": date(1967, 1, 1)}, "breaks"),
        ("dated_to = 1966-12-31", {}, "cannot be shown"),
        ('valid = "10 d"', {"date": date(2027, 3, 26)}, "meets"),
        ('valid = "10 d"', {"date": date(2027, 3, 25)}, "breaks"),
        ("dated_from = 2027-01-02", {"expires": date(2027, 5, 1)}, "cannot be shown"),
        ('valid = "10 d"', {"expires": date(2027, 5, 1)}, "meets"),
        ("", {"expires": date(2027, 4, 5)}, "meets"),
        ("", {"expires": date(2027, 4, 4)}, "breaks"),
    ],
)
def test_a_paper_holds_by_its_dates(ask: Ask, keys: str, row: Given, verdict: str) -> None:
    # asked on 5 April 2027
    assert ask("paper", f'paper = "card"\n{keys}', papers=[paper("card", **row)]).verdict == verdict


def test_a_dated_part_is_past_its_days_without_any_paper(ask: Ask) -> None:
    keys = 'paper = "certificate"\nslot = "crank"\nvalid = "30 d"'
    old, new = (piece("crank", "K-1", installed=day) for day in (date(2027, 3, 5), date(2027, 3, 6)))
    assert ask("paper", keys, pieces=[old]).verdict == "breaks"
    assert ask("paper", keys, pieces=[new]).verdict == "cannot be shown"
    fresh = paper("certificate", slot="crank", date=date(2027, 3, 30))
    assert ask("paper", keys, pieces=[old], papers=[fresh]).verdict == "meets"


def test_a_document_of_a_clause_is_of_its_slot_or_of_the_engine_and_has_not_run_out(ask: Ask) -> None:
    keys = 'slot = "crank"\nallowed = "K-1"\nproof = "document"\ndocument = "bill"'
    assert ask("parts", keys).owed == ("bill of crank",)
    assert ask("parts", keys, papers=[paper("bill", slot="crank")]).verdict == "meets"
    assert ask("parts", keys, papers=[paper("bill")]).verdict == "meets"
    assert ask("parts", keys, papers=[paper("bill", slot="rods")]).verdict == "cannot be shown"
    assert ask("parts", keys, papers=[paper("bill", expires=date(2027, 4, 4))]).verdict == "cannot be shown"
    assert ask("parts", keys, papers=[paper("bill", expires=date(2027, 4, 5))]).verdict == "meets"


def test_every_proof_of_a_clause_is_owed_once(ask: Ask) -> None:
    assert ask("inspection", 'proof = ["list", "document", "inspection"]').owed == ("document", "inspection")
    assert ask("conduct", 'proof = ["event log", "inspection"]').owed == ("event log", "inspection")


def test_the_last_result_on_a_clause_counts(ask: Ask) -> None:
    first = result("breaks", date=date(2027, 3, 1))
    second = result("meets", date=date(2027, 3, 2))
    assert ask("inspection", "", inspections=[second, first]).verdict == "meets"
    assert ask("inspection", "", inspections=[first, result("breaks")]).verdict == "breaks"


def test_a_result_on_another_clause_pack_or_engine_does_not_count(ask: Ask) -> None:
    for other in ({"rule": "two"}, {"pack": "other"}, {"engine": "red"}):
        assert ask("inspection", "", inspections=[result("meets", **other)]).verdict == "cannot be shown"
    assert ask("inspection", "", inspections=[result("meets", pack="rules")]).verdict == "meets"


def test_a_result_does_not_count_for_a_piece_that_went_in_later(ask: Ask) -> None:
    keys, seen = 'slot = "crank"', [result("meets", date=date(2027, 3, 1))]
    before, later = (piece("crank", "K-1", installed=day) for day in (date(2027, 3, 1), date(2027, 3, 2)))
    assert ask("inspection", keys, inspections=seen, pieces=[before]).verdict == "meets"
    assert ask("inspection", keys, inspections=seen, pieces=[later]).verdict == "cannot be shown"


def test_the_parts_of_an_option_that_do_not_belong_are_named(ask: Ask) -> None:
    assert ask("option", OPTION, parts={"crank": "K-2"}).at_fault == ("crank: K-2", "not of A")
    card = [paper("card", says="B")]
    declared = ask("option", f'{OPTION}\ndeclared = "card"', papers=card)
    assert declared.at_fault == ("block: B-1", "crank: K-1", "not of B")


def test_a_declared_choice_that_there_is_not_is_told(ask: Ask) -> None:
    finding = ask("option", f'{OPTION}\ndeclared = "card"', papers=[paper("card", says="C")])
    assert finding.at_fault == ("declared C, which is no choice",)


def test_a_finding_names_its_clause_and_place(ask: Ask) -> None:
    keys = 'book = "4.2"\npage = "17"\ntool = "lamp"\nminutes = 5\npays = "the club"\npenalty = "one race"'
    finding = ask("inspection", keys)
    assert finding.clause == "4.2, page 17"
    assert finding.place.endswith("rules.toml:3")
    assert (finding.tool, finding.minutes, finding.pays, finding.penalty) == ("lamp", 5, "the club", "one race")


def test_the_words_of_every_kind_name_what_it_asks(pack_of: Callable[..., Any]) -> None:
    clauses = "\n".join(
        f'[[rule]]\nid = "{kind}"\nkind = "{kind}"\nsays = "so"\n{keys}'
        for kind, keys in {kind: cases[0][0] for kind, cases in CASES.items()}.items()
    )
    pack = pack_of(HEADS["choice"] + clauses)
    words = {rule.kind: KINDS[rule.kind].words(rule.test) for rule in pack.rules if rule.id == rule.kind}
    assert words == {
        "parts": "crank: K-0 or K-1",
        "word": "crank.material: steel or iron",
        "limit": "displacement: at most 164 in3",
        "option": "block, crank: all of one choice, A or B",
        "choice": "opt is A",
        "work": "block: not bore-020",
        "paper": "leave",
        "inspection": "inspection: crank",
        "quota": "at most 2 engines in a season",
        "charge": "300 for each event",
        "conduct": "what is done at events",
    }


def test_the_verdicts_of_a_pack_are_in_its_order(verdicts_of: Callable[..., Verdicts]) -> None:
    verdicts = verdicts_of("""
edition = "7th"
date = 2027-01-01
default = "allow"
[[rule]]
id = "b"
kind = "parts"
says = "so"
slot = "crank"
allowed = "K-2"
[[rule]]
id = "a"
kind = "inspection"
says = "so"
""")
    assert [finding.rule for finding in verdicts.findings] == ["b", "a"]
    assert [verdicts.count(verdict) for verdict in ("meets", "breaks", "cannot be shown")] == [0, 1, 1]
    assert (verdicts.name, verdicts.edition, verdicts.default) == ("Club", "7th, 2027-01-01", "allow")
    assert verdicts.unwritten == ("block", "rods", "carburetor")
