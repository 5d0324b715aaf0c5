"""Two editions of a book compared: every key of every kind in plain words, tighter or looser, and by how much."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable
from pathlib import Path

import pytest
from rich.console import Console

from costplan.problems import Problem
from costplan.report.differences import GROUPS, differences_page
from costplan.report.terminal import print_page
from costplan.rules import KINDS, Heading, Kept, Known, Pack, PackHeader, read_pack
from costplan.rules.differences import COMPARISONS, Difference, Pair, differences, read_pair
from tests.command_line import run

Write = Callable[[str, str], Path]


def pack_of(write: Write, name: str, text: str) -> Pack:
    pack, problems = read_pack(write(name, text), Known())
    assert problems == ()
    assert pack is not None
    return pack


def compared(write: Write, before: str, after: str) -> tuple[Difference, ...]:
    """The differences of two books given without their name."""
    books = (pack_of(write, f"{name}.toml", f'name = "Club"\n{text}') for name, text in (("a", before), ("b", after)))
    return differences(*books)


def rule(kind: str, keys: str, name: str = "one") -> str:
    return f'[[rule]]\nid = "{name}"\nkind = "{kind}"\nsays = "so"\n{keys}\n'


#: What conditions and choices speak of.
BESIDE = rule("option", 'slot = "block"\nchoices = { A = "B1", B = "B2" }', "family")

T, L, B, R, W = "tightened", "loosened", "tightened and loosened", "replaced", "reworded"
#: A limit on a figure that is rounded before it is compared.
ROUNDED = "of = 'x'\nrounding = 'rounded'"
#: kind -> key -> what stands beside it, before, after, how it differs, and the words
CASES: dict[str, dict[str, list[tuple[str, str, str, str, list[str]]]]] = {
    "parts": {
        "slot": [("allowed = 'P'", "slot = 'a'", "slot = 'a b'", T, ["now asked also of b"])],
        "allowed": [
            ("slot = 'a'", "allowed = 'P Q'", "allowed = 'P R'", B, ["now allowed: R", "no longer allowed: Q"]),
            ("slot = 'a'", "allowed = 'P Q'", "allowed = 'P'", T, ["no longer allowed: Q"]),
            ("slot = 'a'\nbanned = 'X'", "", "allowed = 'P'", T, ["now allowed: only P; before, any part"]),
            ("slot = 'a'\nbanned = 'X'", "allowed = 'P'", "", L, ["now allowed: any part; before, only P"]),
        ],
        "list": [("slot = 'a'", "list = 'k'", "list = 'l'", R, ["list of parts allowed: k -> l"])],
        "suppliers": [
            ("slot = 'a'", "suppliers = ['Oak']", "suppliers = ['Oak', 'Elm Co']", L, ["parts now allowed of Elm Co"]),
            (
                "slot = 'a'\nbanned = 'X'",
                "suppliers = ['Oak']",
                "",
                L,
                ["now allowed: any part; before, only parts of Oak"],
            ),
        ],
        "banned": [("slot = 'a'", "banned = 'P Q'", "banned = 'Q R'", B, ["now barred: R", "no longer barred: P"])],
        "mark": [
            ("slot = 'a'\nallowed = 'P'", "", "mark = 'M7'", T, ["must be marked M7"]),
            ("slot = 'a'\nallowed = 'P'", "mark = 'M7'", "", L, ["need not be marked M7"]),
            ("slot = 'a'\nallowed = 'P'", "mark = 'M7'", "mark = 'M8'", R, ["must be marked M8; before, M7"]),
        ],
    },
    "word": {
        "of": [
            (
                "one_of = 'x'",
                "of = 'rods.make'",
                "of = 'rods.type'",
                R,
                ["before: rods.make: x", "now: rods.type: x"],
            )
        ],
        "one_of": [
            ("of = 'rods.make'", "one_of = 'iron steel'", "one_of = 'steel'", T, ["no longer allowed: iron"]),
            (
                "of = 'rods.make'\nnone_of = 'lead'",
                "",
                "one_of = 'steel'",
                T,
                ["now allowed: only steel; before, any word"],
            ),
        ],
        "none_of": [("of = 'rods.make'", "none_of = 'iron'", "none_of = 'iron tin'", T, ["now barred: tin"])],
    },
    "limit": {
        "of": [
            (
                "max = '1 in'",
                "of = 'a.x'",
                "of = 'a.x a.y'",
                R,
                ["before: a.x: at most 1 in", "now: a.x + a.y: at most 1 in"],
            )
        ],
        "reads": [
            (
                "max = 95",
                "reads = 'noise at 100 ft'",
                "reads = 'noise at 50 ft'",
                R,
                ["before: noise at 100 ft: at most 95", "now: noise at 50 ft: at most 95"],
            )
        ],
        "less": [
            ("of = 'a.x'\nmax = 1", "", "less = 'a.y'", R, ["before: a.x: at most 1", "now: a.x - a.y: at most 1"])
        ],
        "max": [
            ("of = 'x'", "max = '7000 rpm'", "max = '6600 rpm'", T, ["max 7000 rpm -> 6600 rpm: tightened by 400 rpm"]),
            ("of = 'x'", "max = '0.500 in'", "max = '0.540 in'", L, ["max 0.500 in -> 0.540 in: loosened by 0.040 in"]),
            ("of = 'x'", "max = '1 in'", "max = '25 mm'", T, ["max 1 in -> 25 mm: tightened by 0.4 mm"]),
            ("of = 'x'", "max = '1 in'", "max = '25.40 mm'", W, ["max written as 25.40 mm; before, as 1 in"]),
            ("of = 'x'", "max = '0.54 in'", "max = '0.540 in'", W, ["max written as 0.540 in; before, as 0.54 in"]),
            (ROUNDED, "max = 9", "max = 9.0", T, ["max written as 9.0; before, as 9"]),
            (ROUNDED, "max = '1 in'", "max = '25.4 mm'", R, ["max written as 25.4 mm; before, as 1 in"]),
            ("of = 'price'", "max = '90 USD'", "max = '90 EUR'", R, ["max 90 USD -> 90 EUR"]),
            ("of = 'x'\nmin = 1", "", "max = 2", T, ["max 2; before, none: tightened"]),
            ("of = 'x'\nmin = 1", "max = 2", "", L, ["no max; before, 2: loosened"]),
        ],
        "min": [
            ("of = 'x'", "min = '46 lb'", "min = '48 lb'", T, ["min 46 lb -> 48 lb: tightened by 2 lb"]),
            ("of = 'x'", "min = 10.25", "min = 10.0", L, ["min 10.25 -> 10.0: loosened by 0.25"]),
            (ROUNDED, "min = 9.0", "min = 9", L, ["min written as 9; before, as 9.0"]),
        ],
        "nominal": [
            (
                "of = 'x'\nwithin = '0.01 in'",
                "nominal = '3.20 in'",
                "nominal = '3.25 in'",
                B,
                [
                    "greatest 3.21 in -> 3.26 in: loosened by 0.05 in",
                    "least 3.19 in -> 3.24 in: tightened by 0.05 in",
                ],
            )
        ],
        "within": [
            (
                "of = 'x'\nnominal = '62 cm3'",
                "within = '2 cm3'",
                "within = '1 cm3'",
                T,
                ["greatest 64 cm3 -> 63 cm3: tightened by 1 cm3", "least 60 cm3 -> 61 cm3: tightened by 1 cm3"],
            )
        ],
        "tolerance": [
            ("of = 'x'\nmax = 9", "", "tolerance = 0.5", L, ["tolerance 0 -> 0.5: loosened by 0.5"]),
            (
                "of = 'x'\nmax = '9 in'",
                "tolerance = '0.5 in'",
                "tolerance = '0.2 in'",
                T,
                ["tolerance 0.5 in -> 0.2 in: tightened by 0.3 in"],
            ),
        ],
        "rounding": [
            (
                "of = 'x'\nmax = 9",
                "rounding = 'absolute'",
                "rounding = 'rounded'",
                L,
                ["compared rounded; before, absolute"],
            ),
            (
                "of = 'x'\nmax = 9",
                "rounding = 'rounded'",
                "rounding = 'absolute'",
                T,
                ["compared absolute; before, rounded"],
            ),
            ("of = 'x'\nmax = 9", "", "rounding = 'rounded'", R, ["compared rounded; before, as the pack says"]),
        ],
        "measured": [
            ("of = 'x'\nmax = 9", "measured = 'bore'", "measured = 'bore deck'", T, ["to be measured too: deck"]),
            (
                "of = 'x'\nmax = 9",
                "",
                "measured = 'bore'",
                L,
                ["to be measured only bore; before, all that it rests on"],
            ),
            (
                "of = 'x'\nmax = 9",
                "measured = 'bore'",
                "",
                T,
                ["to be measured all that it rests on; before, only bore"],
            ),
        ],
        "method": [
            (
                "of = 'x'\nmax = 9",
                "method = 'by gauge'",
                "method = 'with fluid'",
                R,
                ["measured: by gauge -> with fluid"],
            )
        ],
        "prices_on": [
            ("of = 'price'\nmax = '9 USD'", "", "prices_on = 2027-02-01", R, ["prices of: none -> 2027-02-01"])
        ],
        "without": [
            ("of = 'price'\nmax = '9 USD'", "without = 'a'", "without = 'a b'", R, ["without the price of: a -> a, b"])
        ],
    },
    "option": {
        "slot": [
            ("choices = { A = 'P' }", "slot = 'a'", "slot = 'b'", B, ["now asked also of b", "no longer asked of a"])
        ],
        "choices": [
            (
                "slot = 'a'",
                "choices = { A = 'P Q', B = 'R' }",
                "choices = { A = 'Q S', C = 'T' }",
                B,
                ["new choice C", "choice that falls away: B", "choice A: now with S", "choice A: no longer with P"],
            )
        ],
        "declared": [
            ("slot = 'a'\nchoices = { A = 'P' }", "", "declared = 'entry form'", T, ["must be declared by entry form"])
        ],
    },
    "choice": {
        "rule": [
            (
                "one_of = 'A'",
                "rule = 'family'",
                "rule = 'other'",
                R,
                ["before: family is A", "now: other is A"],
            )
        ],
        "one_of": [("rule = 'family'", "one_of = 'A'", "one_of = 'A B'", L, ["now meant too: B"])],
    },
    "work": {
        "slot": [("must = 'hone'", "slot = 'a b'", "slot = 'a'", L, ["no longer asked of b"])],
        "must": [("slot = 'a'", "must = 'hone'", "must = 'hone wash'", T, ["must now be done: wash"])],
        "may": [
            ("slot = 'a'", "may = 'hone'", "may = 'wash'", B, ["may now be done: wash", "may no longer be done: hone"]),
            (
                "slot = 'a'\nmust_not = 'weld'",
                "may = 'hone'",
                "",
                L,
                ["may now be done: all that is not forbidden; before, only hone"],
            ),
        ],
        "must_not": [("slot = 'a'", "must_not = 'weld'", "must_not = 'weld bore'", T, ["may no longer be done: bore"])],
        "keeps": [("slot = 'a'", "keeps = 'bore mass'", "keeps = 'bore'", L, ["may now be changed: mass"])],
    },
    "paper": {
        "paper": [("", "paper = 'seal'", "paper = 'receipt'", R, ["before: seal", "now: receipt"])],
        "slot": [("paper = 'seal'", "", "slot = 'block'", R, ["before: seal", "now: seal of block"])],
        "at_least": [("paper = 'seal'", "at_least = 2", "at_least = 4", T, ["how many 2 -> 4: tightened by 2"])],
        "by": [
            ("paper = 'seal'", "by = ['Elm Co']", "by = ['Elm Co', 'Oak']", L, ["may now be by Oak"]),
            ("paper = 'seal'", "", "by = 'Oak'", T, ["may now be by only Oak; before, anybody"]),
        ],
        "numbers": [("paper = 'seal'", "numbers = '1 2'", "numbers = '1'", T, ["numbers no longer accepted: 2"])],
        "declares": [("paper = 'seal'", "declares = 'intact'", "declares = 'intact new'", L, ["may now say new"])],
        "dated_from": [
            (
                "paper = 'seal'",
                "dated_from = 2026-01-01",
                "dated_from = 2026-01-31",
                T,
                ["dated from 2026-01-01 -> 2026-01-31: tightened by 30 d"],
            )
        ],
        "dated_to": [
            ("paper = 'seal'", "", "dated_to = 2027-01-31", T, ["dated up to: none -> 2027-01-31: tightened"])
        ],
        "valid": [
            ("paper = 'seal'", "valid = '730 d'", "valid = '365 d'", T, ["holds for 730 -> 365 d: tightened by 365 d"])
        ],
        "serial": [
            (
                "paper = 'seal'\nslot = 'a'",
                "",
                "serial = true",
                T,
                ["must have the serial of the piece"],
            ),
            (
                "paper = 'seal'\nslot = 'a'",
                "serial = true",
                "",
                L,
                ["need not have the serial of the piece"],
            ),
        ],
        "level": [("paper = 'seal'", "", "level = 'rebuild'", T, ["now needed after each rebuild"])],
    },
    "inspection": {"slot": [("", "slot = 'a'", "slot = 'a b'", T, ["now asked also of b"])]},
    "conduct": {"slot": [("", "slot = 'a b'", "slot = 'a'", L, ["no longer asked of b"])]},
    "quota": {
        "of": [
            (
                "most = 2",
                "of = 'engines'",
                "of = 'openings'\nlevel = 'rebuild'",
                R,
                [
                    "before: at most 2 engines in a season",
                    "now: at most 2 openings at rebuild or above of an engine in a season",
                ],
            )
        ],
        "most": [("of = 'engines'", "most = 2", "most = 1", T, ["most 2 -> 1: tightened by 1"])],
        "per": [
            (
                "of = 'openings'\nlevel = 'rebuild'\nmost = 2",
                "",
                "per = 'life'",
                R,
                [
                    "before: at most 2 openings at rebuild or above of an engine in a season",
                    "now: at most 2 openings at rebuild or above of an engine in its life",
                ],
            )
        ],
        "level": [
            (
                "of = 'openings'\nmost = 2",
                "level = 'rebuild'",
                "level = 'freshen'",
                R,
                [
                    "before: at most 2 openings at rebuild or above of an engine in a season",
                    "now: at most 2 openings at freshen or above of an engine in a season",
                ],
            )
        ],
        "slot": [("of = 'pieces'\nmost = 4", "slot = 'a'", "slot = 'a b'", T, ["now counted too: b"])],
        "together": [
            (
                "of = 'openings'\nlevel = 'rebuild'\nmost = 2",
                "",
                "together = true",
                T,
                ["all engines of an entrant count as one"],
            )
        ],
    },
    "charge": {
        "amount": [
            (
                "per = 'event'\ncurrency = 'USD'",
                "amount = 350",
                "amount = 400.50",
                T,
                ["350 -> 400.50 USD: dearer by 50.50 USD"],
            ),
            ("per = 'swap'", "amount = 150", "amount = 100", L, ["150 -> 100: cheaper by 50"]),
        ],
        "currency": [
            (
                "per = 'event'\namount = 9",
                "currency = 'USD'",
                "currency = 'EUR'",
                R,
                ["before: 9 USD for each event", "now: 9 EUR for each event"],
            )
        ],
        "per": [
            ("amount = 9", "per = 'event'", "per = 'race'", R, ["before: 9 for each event", "now: 9 for each race"])
        ],
        "level": [
            (
                "amount = 9\nper = 'opening'",
                "level = 'freshen'",
                "level = 'rebuild'",
                R,
                ["before: 9 for each opening at freshen or above", "now: 9 for each opening at rebuild or above"],
            )
        ],
    },
}
LISTED = '[[list]]\nlist = "k"\nparts = "P"\n[[list]]\nlist = "l"\nparts = "Q"\n'


def book_with(kind: str, keys: str) -> str:
    """A clause of a kind, and what it may speak of."""
    other = BESIDE.replace("family", "other")
    return LISTED + BESIDE + other + rule(kind, keys)


@pytest.mark.parametrize(
    ("kind", "case"), [(kind, case) for kind, keys in CASES.items() for cases in keys.values() for case in cases]
)
def test_a_key_that_differs_is_told_in_plain_words(
    write: Write, kind: str, case: tuple[str, str, str, str, list[str]]
) -> None:
    shared, before, after, how, words = case
    (found,) = compared(write, book_with(kind, f"{shared}\n{before}"), book_with(kind, f"{shared}\n{after}"))
    assert (found.what, found.name, found.how, list(found.words)) == ("clause", "one", how, words)


def test_every_key_of_every_kind_has_its_case() -> None:
    keys = {name: kind.record.model_fields.keys() - {"place"} for name, kind in KINDS.items()}
    assert {name: set(cases) for name, cases in CASES.items()} == {name: set(known) for name, known in keys.items()}
    assert set(COMPARISONS) == set(KINDS)


@pytest.mark.parametrize(
    ("before", "after", "how", "words"),
    [
        ("severity = 'should'", "", T, ["must be met; before, advice"]),
        ("", "severity = 'should'", L, ["advice; before, a must"]),
        ("", "proof = 'inspection'", T, ["now also shown by inspection"]),
        ("proof = ['event log']", "proof = 'list'", L, ["no longer shown by event log"]),
        (
            "",
            "proof = 'document'\ndocument = 'receipt'",
            T,
            ["now also shown by document", "the paper must be receipt"],
        ),
        (
            "document = 'receipt'",
            "document = 'passport'",
            R,
            ["the paper must be passport; before, receipt"],
        ),
        ("", "effective = 2027-06-01", "from when", ["first day: none -> 2027-06-01"]),
        ("from_round = 3", "from_round = 5", "from when", ["first round: 3 -> 5"]),
        ("", "sunset = 2027-12-31", "from when", ["last day: none -> 2027-12-31"]),
        ("frozen_until = 2028-01-01", "", "from when", ["frozen until: 2028-01-01 -> none"]),
        ("minutes = 5", "minutes = 7.5", W, ["minutes to inspect: 5 -> 7.5"]),
        ("risk = 0.02", "risk = '5 %'", W, ["stated risk: 0.02 -> 0.05"]),
        ("penalty = 'points'", "penalty = 'the event'", W, ["penalty: points -> the event"]),
        ("tool = 'lamp'", "", W, ["tool: lamp -> none"]),
        ("stage = 'outside'", "stage = 'opened'", W, ["looked at: outside -> opened"]),
        ("pays = 'entrant'", "pays = 'club'", W, ["who pays: entrant -> club"]),
        ("book = '3'\npage = '4'", "book = '3'\npage = '5'", W, ["page: 4 -> 5"]),
        ("book = '3'", "book = '4'", W, ["chapter: 3 -> 4"]),
        ("says = 'Old.'", "says = 'New.'", W, ["before, it said: Old."]),
        ("", "kept = { parts = 'P', until = 2028-01-01 }", L, ["older parts stay: P, until 2028-01-01"]),
        (
            "kept = { bought_before = 2027-01-01 }",
            "",
            T,
            ["older parts no longer stay: all that were in, bought before 2027-01-01, for good"],
        ),
        (
            "kept = { bought_before = 2027-01-01, serials = '7 8' }",
            "kept = { bought_before = 2027-02-01, serials = '7 8', until = 2028-01-01 }",
            B,
            [
                "stay if bought before 2027-01-01 -> 2027-02-01: loosened by 31 d",
                "stay until: none -> 2028-01-01: tightened",
            ],
        ),
        (
            "kept = { parts = 'P Q', serials = '7' }",
            "kept = { parts = 'P', serials = '7 8' }",
            B,
            ["older parts that may no longer stay: Q", "serials that may now stay: 8"],
        ),
        ("", "when = [{ kind = 'choice', rule = 'family', one_of = 'A' }]", L, ["asked only where family is A"]),
        (
            "when = [{ kind = 'choice', rule = 'family', one_of = 'A' }]",
            "",
            T,
            ["asked also where it is not so that family is A"],
        ),
        (
            "when = [{ kind = 'choice', rule = 'family', one_of = 'A' }]",
            "when = [{ kind = 'choice', rule = 'family', one_of = 'B' }]",
            R,
            ["asked only where family is B", "asked also where it is not so that family is A"],
        ),
        (
            "unless = [{ kind = 'word', of = 'rods.make', one_of = 'steel' }]",
            "",
            T,
            ["asked also where rods.make: steel"],
        ),
        (
            "",
            "unless = [{ kind = 'word', of = 'rods.make', one_of = 'steel' }]",
            L,
            ["not asked where rods.make: steel"],
        ),
    ],
)
def test_what_all_clauses_have_is_compared(write: Write, before: str, after: str, how: str, words: list[str]) -> None:
    clauses = [
        BESIDE
        + rule("limit", f"of = 'x'\nmax = 9\n{keys}").replace(
            'says = "so"\n', "" if "says" in keys else 'says = "so"\n'
        )
        for keys in (before, after)
    ]
    (found,) = compared(write, *clauses)
    assert (found.how, list(found.words)) == (how, words)


def test_no_key_of_all_clauses_is_passed_over() -> None:
    compared_keys = {
        *("severity", "proof", "document", "effective", "from_round", "sunset", "frozen_until", "minutes", "risk"),
        *("penalty", "tool", "stage", "pays", "page", "book", "says", "kept", "when", "unless"),
    }
    assert set(Heading.model_fields) - {"place", "id", "kind"} == compared_keys
    assert set(Kept.model_fields) - {"place"} == {"parts", "bought_before", "serials", "until"}


def test_clauses_that_stand_elsewhere_in_another_order_do_not_differ(write: Write) -> None:
    one, two = rule("limit", "of = 'x'\nmax = 9"), rule("conduct", "", "two")
    assert compared(write, one + two, two + "\n\n" + one) == ()


@pytest.mark.parametrize(
    ("kind", "before", "after"),
    [
        ("parts", "slot = 'a b'\nallowed = 'P Q'", "slot = 'b a'\nallowed = 'Q P'"),
        ("limit", "of = 'a.x a.y'\nmax = 9", "of = 'a.y a.x'\nmax = 9"),
        ("option", "slot = 'a'\nchoices = { A = 'P Q', B = 'R' }", "slot = 'a'\nchoices = { B = 'R', A = 'Q P' }"),
    ],
)
def test_names_in_another_order_are_no_difference(write: Write, kind: str, before: str, after: str) -> None:
    assert compared(write, rule(kind, before), rule(kind, after)) == ()


def test_the_proof_that_a_kind_owes_anyhow_is_no_difference(write: Write) -> None:
    assert compared(write, rule("inspection", ""), rule("inspection", "proof = 'inspection'")) == ()


def test_other_words_of_what_only_words_tell_ask_something_else(write: Write) -> None:
    louder, quieter = (
        rule("inspection", "").replace("so", "At most 96 dB."),
        rule("inspection", "").replace("so", "92."),
    )
    (found,) = compared(write, louder, quieter)
    assert (found.how, found.says, found.words) == ("replaced", "92.", ("before, it said: At most 96 dB.",))


def test_a_clause_of_another_kind_is_replaced(write: Write) -> None:
    (found,) = compared(write, rule("word", "of = 'a.b'\none_of = 'x'"), rule("inspection", ""))
    assert found.how == "replaced"
    assert found.words == ("before: a.b: x", "now: inspection", "now also shown by inspection")


def test_what_is_tighter_is_tighter_though_its_day_and_words_differ_too(write: Write) -> None:
    before = rule("limit", "of = 'x'\nmax = 9\npage = '3'")
    (found,) = compared(write, before, rule("limit", "of = 'x'\nmax = 8\npage = '4'\nsunset = 2027-12-31"))
    assert found.how == "tightened"
    assert found.words == ("max 9 -> 8: tightened by 1", "last day: none -> 2027-12-31", "page: 3 -> 4")


def test_clauses_that_came_and_went_are_told_with_what_they_ask(write: Write) -> None:
    old = rule("quota", "of = 'engines'\nmost = 2", "engines")
    new = rule("limit", "of = 'x'\nmax = 9\nproof = 'measurement'\nseverity = 'should'\neffective = 2027-06-01", "lift")
    gone, came = compared(write, old, new)
    assert (gone.name, gone.how, gone.words, gone.since) == (
        "engines",
        "withdrawn",
        ("at most 2 engines in a season", "shown by event log"),
        "",
    )
    assert (came.name, came.how, came.words, came.since) == (
        "lift",
        "added",
        ("x: at most 9 (advice)", "shown by measurement"),
        "from 2027-06-01",
    )
    assert (gone.after, came.before) == (None, None)
    assert gone.before is not None
    assert came.after is not None
    assert (Path(gone.before.file).name, Path(came.after.file).name) == ("a.toml", "b.toml")


HEAD_CASES = [
    ("edition = 'one'", "edition = 'two'", "edition", W, "edition: one -> two"),
    ("", "date = 2027-01-01", "date", "from when", "day of the edition: none -> 2027-01-01"),
    ("", "default = 'allow'", "default", L, "what is not written is allowed; before, forbidden"),
    ("default = 'allow'", "default = 'forbid'", "default", T, "what is not written is forbidden; before, allowed"),
    ("tolerance = 'cold'", "", "tolerance", W, "tolerance: cold -> none"),
    ("", "rounding = 'rounded'", "rounding", L, "compared rounded; before, absolute"),
    ("ties = 'away'", "", "ties", R, "a tie is rounded: away -> even"),
    ("", "gauges = ['ann']", "gauges", T, "whose gauge counts now: only ann; before, anybody's"),
    ("prevails = 'base'", "", "prevails", R, "whose clause holds: base -> supplement"),
]


@pytest.mark.parametrize(("before", "after", "key", "how", "words"), HEAD_CASES)
def test_headers_are_compared(write: Write, before: str, after: str, key: str, how: str, words: str) -> None:
    (found,) = compared(write, before, after)
    assert (found.what, found.name, found.how, found.words) == ("header", key, how, (words,))


def test_no_key_of_the_header_is_passed_over() -> None:
    told = {key for _, _, key, _, _ in HEAD_CASES} | {"name", "supplements", "recognises", "list", "rule"}
    assert PackHeader.model_fields.keys() - {"place", "invented"} == told


def test_another_name_and_base_are_told_and_the_clauses_of_the_base_are_the_packs(write: Write) -> None:
    base = pack_of(write, "base.toml", 'name = "Base"\n' + rule("conduct", ""))
    local = pack_of(write, "local.toml", 'name = "Local"\nsupplements = "base.toml"\n' + rule("conduct", "", "two"))
    found = differences(base, local)
    assert [(one.name, one.how) for one in found] == [("name", W), ("supplements", R), ("two", "added")]


def test_packs_that_are_recognised_and_what_is_asked_all_the_same_are_compared(write: Write) -> None:
    for name in ("x.toml", "y.toml"):
        write(name, 'name = "Neighbour"')
    clauses = rule("conduct", "") + rule("conduct", "", "two")
    row = '[[recognises]]\npack = "{}"\nstill = "{}"\n'
    (found,) = compared(
        write,
        row.format("x.toml", "one") + clauses,
        row.format("x.toml", "two") + '[[recognises]]\npack = "y.toml"\n' + clauses,
    )
    assert (found.name, found.how) == ("recognises", B)
    assert found.words == (
        "now counts in its place: y.toml",
        "with x.toml, asked all the same: two",
        "with x.toml, no longer asked: one",
    )


EDITION = '[[list]]\nlist = "cams"\nedition = "{}"\nsince = {}\nparts = "{}"\n'
ONE = EDITION.format("one", "2027-01-01", "C1 C2")


@pytest.mark.parametrize(
    ("before", "after", "how", "words"),
    [
        (
            ONE,
            ONE + EDITION.format("two", "2027-06-01", "C2 C3"),
            B,
            ["new: edition two from 2027-06-01", "comes: C3", "goes: C1"],
        ),
        (ONE, ONE + EDITION.format("two", "2027-06-01", "C2"), T, ["new: edition two from 2027-06-01", "goes: C1"]),
        (ONE, EDITION.format("one", "2027-01-01", "C1 C2 C3"), L, ["comes: C3"]),
        (ONE, EDITION.format("uno", "2027-01-01", "C1 C2"), W, ["edition: one -> uno"]),
        (
            ONE,
            ONE + "until = 2027-12-31",
            "from when",
            ["edition one from 2027-01-01, last day: none -> 2027-12-31"],
        ),
        (
            ONE + EDITION.format("two", "2027-06-01", "C2"),
            ONE,
            R,
            ["falls away: edition two from 2027-06-01"],
        ),
        ("", ONE, "added", ["edition one from 2027-01-01: C1, C2"]),
        (ONE, "", "withdrawn", ["edition one from 2027-01-01: C1, C2"]),
        ("", '[[list]]\nlist = "cams"\nparts = "C1"', "added", ["edition without a day: C1"]),
    ],
)
def test_lists_are_compared_by_their_editions(
    write: Write, before: str, after: str, how: str, words: list[str]
) -> None:
    (found,) = compared(write, before, after)
    assert (found.what, found.name, found.how, list(found.words)) == ("list", "cams", how, words)


BOOK = 'name = "Club"\nedition = "first"\ninvented = true\n' + "".join(
    (
        rule("limit", "of = 'x'\nmax = '7000 rpm'\nbook = '8'\npage = '24'", "speed"),
        rule("conduct", "", "claim"),
        rule("parts", "slot = 'heads'\nallowed = 'H1'", "head"),
    )
)
CHANGE = """\
name = "Slower"
author = "two entrants"
source = "letter"
date = 2027-02-24
baseline = "rules.toml"
reason = "It lasts longer."
from_round = 5
withdraw = "claim"

[[replace]]
id = "speed"
kind = "limit"
says = "At most 6600."
of = "x"
max = "6600 rpm"
book = "8"
page = "24"

[[add]]
id = "noise"
kind = "inspection"
says = "Be quiet."
effective = 2027-06-01
from_round = 2
"""


def pair_of(first: Path, second: Path | None = None) -> Pair:
    pair, problems = read_pair(first, second)
    assert problems == ()
    assert pair is not None
    return pair


def test_a_change_is_compared_with_its_baseline_beside_it(write: Write) -> None:
    write("rules.toml", BOOK)
    pair = pair_of(write("change-slower.toml", CHANGE))
    assert [(one.name, one.how, one.since) for one in differences(pair.before, pair.after)] == [
        ("speed", T, "from round 5"),
        ("claim", "withdrawn", "from round 5"),
        ("noise", "added", "from round 2, not before 2027-06-01"),
    ]
    proposal = pair.proposal
    assert proposal is not None
    assert (proposal.name, proposal.author, proposal.since) == ("Slower", "two entrants", "from round 5")
    assert [side.changes for side in pair.sides] == [(), ("Slower",)]


def test_a_phased_clause_tells_when_it_begins_once_and_not_as_another_first_day(write: Write) -> None:
    write("rules.toml", BOOK)
    pair = pair_of(write("change-slower.toml", CHANGE))
    speed = differences(pair.before, pair.after)[0]
    assert speed.words == ("max 7000 rpm -> 6600 rpm: tightened by 400 rpm", "before, it said: so")


def test_a_change_may_be_tried_on_a_copy_of_its_baseline_in_another_folder(write: Write) -> None:
    change, copy = write("change-slower.toml", CHANGE), write("mine/rules.toml", BOOK.replace("7000", "6500"))
    found = differences(*(lambda pair: (pair.before, pair.after))(pair_of(copy, change)))
    assert found[0].words[0] == "max 6500 rpm -> 6600 rpm: loosened by 100 rpm"


def test_a_baseline_by_a_name_that_no_file_can_have_is_not_there(write: Write) -> None:
    change = write("change-1.toml", f'name = "c"\nbaseline = "{"a" * 300}.toml"\n')
    pair, problems = read_pair(change)
    assert (pair, [(one.code, one.place.line) for one in problems]) == (None, [("RUL010", 2)])


def test_two_changes_of_one_book_are_compared_with_each_other(write: Write) -> None:
    write("rules.toml", BOOK)
    other = CHANGE.replace("6600", "6800").replace('withdraw = "claim"\n', "")
    pair = pair_of(write("change-a.toml", CHANGE), write("change-b.toml", other))
    assert pair.change is None
    assert [(one.name, one.how) for one in differences(pair.before, pair.after)] == [("speed", L), ("claim", "added")]


def test_a_clause_withdrawn_on_another_day_differs_in_when(write: Write) -> None:
    write("rules.toml", BOOK)
    later = 'name = "x"\nbaseline = "rules.toml"\nwithdraw = "claim"\n'
    pair = pair_of(write("change-a.toml", f"{later}from_round = 5"), write("change-b.toml", f"{later}from_round = 6"))
    (found,) = differences(pair.before, pair.after)
    assert (found.how, found.words) == ("from when", ("falls away from round 5 -> from round 6",))


def faults(problems: tuple[Problem, ...]) -> list[tuple[str, str, int | None]]:
    return [(one.code, Path(one.place.file).name, one.place.line) for one in problems]


def test_a_pair_that_cannot_be_compared_is_told(write: Write) -> None:
    book, change = write("rules.toml", BOOK), write("change-slower.toml", CHANGE)
    alone, lost = write("other.toml", 'name = "Other"\n'), write("apart/change-slower.toml", CHANGE)
    assert faults(read_pair(book)[1]) == [("REA016", "rules.toml", None)]
    assert faults(read_pair(alone, change)[1]) == [("RUL010", "change-slower.toml", 5)]
    assert faults(read_pair(lost)[1]) == [("RUL010", "change-slower.toml", 5)]
    nameless = write("bad.toml", 'edition = "first"')
    assert faults(read_pair(book, nameless)[1]) == [("REA016", "bad.toml", None)]
    assert faults(read_pair(book, write("change-no.toml", "withdraw = 5"))[1]) == [
        ("REA016", "change-no.toml", None),
        ("REA016", "change-no.toml", None),
        ("REA017", "change-no.toml", 1),
    ]


PAGE = """\
Slower: what it changes (invented data)
Over Club, first (rules.toml).
Proposed by two entrants, 2027-02-24, letter (change-slower.toml)
Why: It lasts longer.
Holds from round 5, where a clause does not say otherwise.
3 differences: 1 tightened, 1 added, 1 withdrawn.

Tightened
speed [8, page 24]: At most 6600.
    max 7000 rpm -> 6600 rpm: tightened by 400 rpm
    before, it said: so
    from round 5; until then as before

Added
noise: Be quiet.
    inspection
    shown by inspection
    from round 2, not before 2027-06-01

Withdrawn
claim: so
    what is done at events
    shown by event log
    from round 5; stays in force until then

Tightened: what met the book may break it now; loosened: what broke it may meet
it now. Only the words of the books are compared, no engine; costplan check
shows how one stands to either.
"""


def test_the_command_prints_a_change_in_plain_words(
    write: Write, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write("rules.toml", BOOK)
    write("change-slower.toml", CHANGE)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    status, out, err = run("rules", "diff", "change-slower.toml")
    assert (status, err) == (0, "")
    assert [line.rstrip() for line in out.splitlines()] == PAGE.splitlines()


def test_the_command_gives_json_and_csv(write: Write, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write("rules.toml", BOOK)
    write("change-slower.toml", CHANGE)
    monkeypatch.chdir(tmp_path)
    words = ("rules", "diff", "rules.toml", "change-slower.toml", "--set", "change-slower/replace/speed/max=6500 rpm")
    status, out, _ = run(*words, "--json")
    found = json.loads(out)
    assert (status, found["answer"], found["change"]["date"]) == (0, "rules diff", "2027-02-24")
    assert (found["before"]["file"], found["after"]["changes"]) == ("rules.toml", ["Slower"])
    assert found["differences"][0]["words"][0] == "max 7000 rpm -> 6500 rpm: tightened by 500 rpm"
    assert found["differences"][0]["after"] == "change-slower.toml:10"
    status, out, _ = run(*words, "--csv")
    rows = list(csv.DictReader(io.StringIO(out)))
    assert [(row["name"], row["how"]) for row in rows] == [(one["name"], one["how"]) for one in found["differences"]]


def test_the_command_stops_with_the_problems_of_what_it_reads(
    write: Write, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write("rules.toml", BOOK)
    monkeypatch.chdir(tmp_path)
    for words in (("nowhere.toml",), ("rules.toml", "nowhere.toml"), ("rules.toml", "rules.toml", "--set", "a/b=1")):
        status, out, err = run("rules", "diff", *words)
        assert (status, out) == (2, "")
        assert ("REA001" in err) == ("nowhere.toml" in words)
        assert ("REA022" in err) == ("--set" in words)


def printed(pair: Pair) -> list[str]:
    out = io.StringIO()
    page = differences_page(*pair.sides, pair.proposal, differences(pair.before, pair.after))
    print_page(page, Console(file=out, width=80, highlight=False, markup=False, emoji=False))
    return [line.rstrip() for line in out.getvalue().splitlines()]


def test_a_page_of_two_packs_names_both_and_says_when_nothing_differs(write: Write) -> None:
    one, two = write("a/rules.toml", BOOK), write("b/rules.toml", BOOK)
    lines = printed(pair_of(one, two))
    assert lines[0] == "Club: what changes (invented data)"
    assert lines[-1] == "Nothing differs."
    assert [line.split(",")[0] for line in lines if line.startswith(("Before", "After"))] == [
        "Before: Club",
        "After:  Club",
    ]


def test_a_page_has_the_header_first_and_every_group_by_its_name(write: Write) -> None:
    before = 'edition = "one"\n' + "".join(
        (
            rule("limit", "of = 'x'\nmax = 9", "tight"),
            rule("limit", "of = 'x'\nmax = 7", "loose"),
            rule("limit", "of = 'x'\nmax = 7\nmin = 1", "both"),
            rule("word", "of = 'a.b'\none_of = 'x'", "other"),
            rule("conduct", "", "gone"),
            rule("conduct", "", "later"),
            rule("conduct", "", "words"),
        )
    )
    after = 'edition = "two"\n' + "".join(
        (
            rule("limit", "of = 'x'\nmax = 8", "tight"),
            rule("limit", "of = 'x'\nmax = 8", "loose"),
            rule("limit", "of = 'x'\nmax = 8\nmin = 2", "both"),
            rule("word", "of = 'a.c'\none_of = 'x'", "other"),
            rule("conduct", "", "new"),
            rule("conduct", "sunset = 2027-12-31", "later"),
            rule("conduct", "page = '7'", "words"),
        )
    )
    one, two = write("a.toml", f'name = "Club"\n{before}'), write("b.toml", f'name = "Club"\n{after}')
    lines = printed(pair_of(one, two))
    titles = ["The book as a whole", *(title for _, title in GROUPS)]
    assert [line for line in lines if line in titles] == titles
    assert lines[lines.index("The book as a whole") + 1] == "  edition: one -> two"
