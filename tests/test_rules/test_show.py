"""A pack as a readable book, and the two commands that show and lint one."""

from __future__ import annotations

import csv
import dataclasses
import io
import json
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import get_args, get_type_hints

import pytest
from rich.console import Console

from costplan.report.book import BINDS, LEADS, SEEN, BookText, ClauseText, book_text, clause_text, show_page
from costplan.report.tables import Page, Passage
from costplan.report.terminal import print_page
from costplan.rules import KINDS, STAGES, Book, Known, Phase, read_pack
from tests import command_line

Write = Callable[[str, str | bytes], Path]

ROUNDS = (date(2027, 4, 10), date(2027, 5, 8))
HEAD = """
name = "Twin book"
edition = "third"
date = 2027-01-05
default = "forbid"
tolerance = "Cold, as found."
rounding = "rounded"
ties = "away"
gauges = ["scrutineer", "Ollerby"]
invented = true
"""
BOOK = """
[[rule]]
id = "crank"
kind = "parts"
says = "The crank is on the list."
book = "engine"
page = "4"
slot = "crank"
list = "cranks"
mark = "V3"
kept = { parts = "C-0", bought_before = 2026-03-01, until = 2027-12-31 }
frozen_until = 2029-12-31
minutes = 5
tool = "lamp"
stage = "outside"
pays = "the tour"
risk = 0.02
penalty = "the points of the event"

[[rule]]
id = "seals"
kind = "paper"
says = "Two seals."
book = "papers"
paper = "seal"
at_least = 2
proof = ["document", "inspection"]
document = "seal sheet"

[[rule]]
id = "stroke"
kind = "limit"
says = "No more than 3.3 inches with a steel crank, unless it is option B."
book = "engine"
page = "5"
of = "crank.stroke"
max = "3.3 in"
when = [{ kind = "word", of = "crank.material", one_of = "steel" }]
unless = [{ kind = "choice", rule = "option", one_of = "B" }]
from_round = 2
sunset = 2027-09-30
severity = "should"

[[rule]]
id = "option"
kind = "option"
says = "One option."
book = "papers"
slot = "crank rods"
choices = { A = ["C-1", "R-1"], B = ["C-2"] }
declared = "declaration"

[[rule]]
id = "rebuilds"
kind = "quota"
says = "Twice a season."
of = "openings"
most = 2
level = "rebuild"

[[rule]]
id = "manners"
kind = "conduct"
says = "Engines are not warmed up before eight."

[[list]]
list = "cranks"
edition = "A"
until = 2027-05-31
parts = ["C-1", "C-2"]

[[list]]
list = "cranks"
edition = "B"
since = 2027-06-01
parts = ["C-1"]
"""


def book_of(write: Write, text: str = HEAD + BOOK, on: date | None = None) -> BookText:
    pack, problems = read_pack(write("rules-twin.toml", text), Known())
    assert [str(problem) for problem in problems] == []
    assert pack is not None
    return book_text(pack, ROUNDS, on)


def clauses_of(book: BookText) -> dict[str, ClauseText]:
    return {clause.id: clause for clause in book.clauses}


def printed(page: Page, width: int = 80) -> list[str]:
    out = io.StringIO()
    print_page(page, Console(file=out, width=width, color_system=None, highlight=False))
    return out.getvalue().splitlines()


def run(*words: str) -> tuple[int, str, str]:
    """Exit status, what is printed, and what is complained of."""
    return command_line.run("rules", *words)


def test_a_book_reads_from_its_head_through_chapters_to_its_lists(write: Write) -> None:
    book = dataclasses.replace(book_of(write, on=date(2027, 4, 1)), file="rules-twin.toml")
    lines = printed(show_page([book], "Twin season", invented=True, on=date(2027, 4, 1)))
    assert lines == [
        "Twin season (invented data)",
        "",
        "Twin book (invented)",
        "Edition third, of 2027-01-05; rules-twin.toml",
        "6 clauses in 3 chapters.",
        "What is not written is forbidden.",
        "Tolerance: Cold, as found.",
        "Values are compared rounded to the last place of the limit (ASTM E29), a tie",
        "away from zero.",
        "Measurements and inspections count as proof if made by scrutineer or Ollerby.",
        "Not in force on 2027-04-01, and marked: stroke.",
        "",
        "ENGINE",
        "",
        "crank, page 4",
        "  The crank is on the list.",
        "    Parts in crank: list cranks, marked V3.",
        "    No change may touch it before 2029-12-31.",
        "    Older parts that stay: C-0, bought before 2026-03-01, until 2027-12-31.",
        "    Shown by parts list and inspection of the mark; with lamp; 5 min; from",
        "    outside; stated risk 2%.",
        "    Opening for it is paid by the tour.",
        "    Penalty: the points of the event.",
        "",
        "stroke, page 5 -- NOT IN FORCE on 2027-04-01",
        "  No more than 3.3 inches with a steel crank, unless it is option B.",
        "    Limit on crank.stroke: at most 3.3 in.",
        "    Only where crank.material: steel.",
        "    Not where option is B.",
        "    In force from 2027-05-08 (round 2 on) until 2027-09-30.",
        "    Shown by parts list.",
        "    Advice: breaking it does not count.",
        "",
        "PAPERS",
        "",
        "seals",
        "  Two seals.",
        "    Paper: 2 x seal.",
        "    Shown by document (seal sheet) and inspection.",
        "",
        "option",
        "  One option.",
        "    Parts in crank, rods: all of one choice, A or B. A: C-1 or R-1; B: C-2.",
        "    Declared by declaration.",
        "    Shown by parts list.",
        "",
        "WITHOUT A CHAPTER",
        "",
        "rebuilds",
        "  Twice a season.",
        "    At most 2 openings at rebuild or above of an engine in a season.",
        "    Shown by event log.",
        "    Binds the season: caps openings.",
        "",
        "manners",
        "  Engines are not warmed up before eight.",
        "    Shown by event log.",
        "",
        "LISTS",
        "cranks, edition A, until 2027-05-31",
        "  C-1, C-2",
        "cranks, edition B, from 2027-06-01 -- NOT IN FORCE on 2027-04-01",
        "  C-1",
        "",
        "Officials and their gauges decide, from the printed book in force that day.",
    ]


def test_a_book_is_had_as_records(write: Write) -> None:
    book = book_of(write)
    stroke = clauses_of(book)["stroke"]
    assert book.chapters == ("engine", "papers", "")
    assert (stroke.since, stroke.until, stroke.from_round) == (date(2027, 5, 8), date(2027, 9, 30), 2)
    assert (stroke.where, stroke.unless) == (("crank.material: steel",), ("option is B",))
    assert {clause.in_force for clause in book.clauses} == {None}
    assert [edition.in_force for edition in book.lists] == [None, None]


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        ("", ""),
        ("effective = 2027-06-01", "in force from 2027-06-01"),
        ("effective = 2027-06-01\nfrom_round = 2", "in force from 2027-06-01 (round 2 on)"),
        ("from_round = 2", "in force from 2027-05-08 (round 2 on)"),
        ("from_round = 3", "never in force: the calendar lacks round 3"),
        ("sunset = 2027-06-01", "in force until 2027-06-01"),
    ],
)
def test_from_when_until_when_a_clause_is_in_force(write: Write, keys: str, words: str) -> None:
    book = book_of(write, f'name = "x"\n[[rule]]\nid = "a"\nkind = "conduct"\nsays = "so"\n{keys}\n')
    assert book.clauses[0].holds == words


@pytest.mark.parametrize(
    ("ended", "until", "words"),
    [
        (Phase(effective=date(2027, 6, 1)), date(2027, 5, 31), "in force until 2027-05-31"),
        (Phase(from_round=2), date(2027, 5, 7), "in force until 2027-05-07"),
        (Phase(), None, "no longer in force"),
    ],
)
def test_a_clause_that_another_took_the_place_of_says_until_when(
    write: Write, ended: Phase, until: date | None, words: str
) -> None:
    pack, _ = read_pack(write("rules.toml", 'name = "x"\n[[rule]]\nid = "a"\nkind = "conduct"\nsays = "so"\n'), Known())
    assert pack is not None
    clause = clause_text(dataclasses.replace(pack.rules[0], ended=ended), ROUNDS)
    assert (clause.until, clause.holds) == (until, words)


def test_without_a_calendar_a_round_has_no_day(write: Write) -> None:
    text = 'name = "x"\n[[rule]]\nid = "a"\nkind = "conduct"\nsays = "so"\nfrom_round = 3\n'
    pack, _ = read_pack(write("rules.toml", text), Known())
    assert pack is not None
    (clause,) = book_text(pack).clauses
    assert (clause.since, clause.holds) == (None, "in force from round 3")


@pytest.mark.parametrize(
    ("kind", "keys", "binds"),
    [
        ("quota", 'of = "openings"\nmost = 2\nlevel = "rebuild"', ("caps openings",)),
        ("quota", 'of = "engines"\nmost = 2', ("caps engines",)),
        ("quota", 'of = "pieces"\nmost = 2\nslot = "tyres"', ("caps pieces",)),
        ("charge", 'amount = 90\nper = "event"', ("fee",)),
        ("work", 'slot = "heads"\nmust_not = "port"', ("bars shop work",)),
        ("paper", 'paper = "certificate"\nslot = "damper"\nvalid = "730 d"', ("renews a part by its date",)),
        ("paper", 'paper = "sheet"\nby = "Ollerby"\nlevel = "rebuild"', ("listed shops only",)),
        ("paper", 'paper = "sheet"', ()),
        ("charge", 'amount = 90\nper = "event"\nseverity = "should"', ()),
    ],
)
def test_how_a_clause_binds_the_season(write: Write, kind: str, keys: str, binds: tuple[str, ...]) -> None:
    book = book_of(write, f'name = "x"\n[[rule]]\nid = "a"\nkind = "{kind}"\nsays = "so"\n{keys}\n')
    assert book.clauses[0].binds == binds


def test_a_supplement_and_a_recognised_pack_are_told(write: Write) -> None:
    rule = '[[rule]]\nid = "{}"\nkind = "conduct"\nsays = "so"\n'
    write("base.toml", 'name = "Base book"\n' + rule.format("b"))
    write("other.toml", 'name = "Other book"\n' + rule.format("o"))
    text = 'name = "Track"\nsupplements = "base.toml"\nprevails = "base"\n' + rule.format("t")
    text += '[[recognises]]\npack = "other.toml"\nstill = ["b", "t"]\n'
    lines = printed(show_page([book_of(write, text)], "x", invented=False))
    assert "It adds to base.toml; where both have a clause of one name, that book's holds." in lines
    assert "An engine that meets Other book counts in its place; asked all the same: b, t." in lines
    assert [line for line in lines if line in ("b", "t", "o")] == ["b", "t"]


def test_every_kind_bond_and_stage_has_its_words() -> None:
    bonds = {get_args(hint)[0] for hint in get_type_hints(Book).values()}
    assert set(BINDS) == bonds
    assert set(SEEN) == set(STAGES)
    assert set(LEADS) <= set(KINDS)


def test_running_text_stays_set_in_where_it_is_wrapped_and_loses_nothing() -> None:
    words = "one two three four five six seven"
    lines = printed(
        Page(
            "page",
            (),
            (),
            passages=(
                Passage(
                    "Heading",
                    ((1, words), (2, words)),
                ),
            ),
        ),
        width=20,
    )
    assert lines == [
        "page",
        "",
        "Heading",
        "  one two three four",
        "  five six seven",
        "    one two three",
        "    four five six",
        "    seven",
    ]


@pytest.mark.parametrize("width", [20, 40, 80])
def test_a_long_name_is_folded_not_cut(width: int) -> None:
    lines = printed(Page("page", (), (), passages=(Passage("x", ((2, "a" * 100), (40, "b" * 100))),)), width)
    assert ("".join(lines).count("a") - 1, "".join(lines).count("b")) == (100, 100)
    assert max(map(len, lines)) <= width


@pytest.fixture
def folder(write: Write) -> Path:
    """A scenario in the simple form with two packs of its own and a neighbour's."""
    pack = 'name = "{}"\n[[rule]]\nid = "{}"\nkind = "conduct"\nsays = "so"\n{}\n'
    write("season/rules-one.toml", pack.format("One", "a", "sunset = 2027-01-01\neffective = 2027-02-01"))
    write("season/rules-two.toml", pack.format("Two", "b", 'book = "manners"'))
    write("season/rules-next.toml", pack.format("Next door", "c", 'proof = "document"'))
    write("season/calendar.csv", "event,date,laps\nfirst,2027-04-10,30\n")
    write("season/services.csv", "service,price,every,measure\nfreshen,900,10,events\n")
    names = 'rules = ["rules-one.toml", "rules-two.toml"]\nneighbours = "rules-next.toml"'
    return write("season/scenario.toml", f'title = "Small season"\ncurrency = "USD"\n{names}\n').parent


def test_show_prints_the_books_of_the_season_or_one(folder: Path) -> None:
    status, out, _ = run("show", str(folder))
    assert status == 0
    assert [name in out.splitlines() for name in ("One", "Two", "Next door", "MANNERS")] == [True, True, False, True]
    status, out, _ = run("show", str(folder), "--pack", "rules-next")
    assert [name in out.splitlines() for name in ("One", "Two", "Next door")] == [False, False, True]


def test_show_as_json_and_as_csv_holds_every_clause(folder: Path) -> None:
    data = json.loads(run("show", str(folder), "--on", "2027-03-01", "--json")[1])
    assert (data["answer"], data["on"], [pack["pack"] for pack in data["packs"]]) == (
        "rules show",
        "2027-03-01",
        ["rules-one", "rules-two"],
    )
    clauses = [clause for pack in data["packs"] for clause in pack["clauses"]]
    assert [(clause["id"], clause["chapter"], clause["in_force"]) for clause in clauses] == [
        ("a", "", False),
        ("b", "manners", True),
    ]
    rows = list(csv.DictReader(io.StringIO(run("show", str(folder), "--csv")[1])))
    assert [row["id"] for row in rows] == ["a", "b"]
    assert list(rows[0]) == [field.name for field in dataclasses.fields(ClauseText)]


def test_check_says_no_where_something_is_wrong(folder: Path) -> None:
    status, out, _ = run("check", str(folder))
    assert status == 1
    assert "Two" in out
    assert "a: ends before it begins" in out
    assert run("check", str(folder), "--pack", "rules-two")[0] == 0
    assert run("check", str(folder), "--pack", "rules-next")[0] == 1


def test_hints_alone_are_no_no(folder: Path) -> None:
    hint = folder / "rules-two.toml"
    hint.write_text(hint.read_text(encoding="utf-8") + "sunset = 2026-12-31\n", encoding="utf-8")
    status, out, _ = run("check", str(folder), "--pack", "rules-two")
    assert status == 0
    assert "1 hint" in out
    assert "b: over before the season" in out


def test_check_as_json_and_as_csv_holds_every_doubt(folder: Path) -> None:
    data = json.loads(run("check", str(folder), "--json")[1])
    doubts = [doubt for pack in data["packs"] for doubt in pack["doubts"]]
    assert [(doubt["rule"], doubt["code"], doubt["severity"]) for doubt in doubts] == [
        ("a", "ends-before-it-begins", "wrong")
    ]
    assert [pack["wrong"] for pack in data["packs"]] == [1, 0]
    assert data["checks"]["ends-before-it-begins"] == "A clause whose last day lies before its first."
    rows = list(csv.DictReader(io.StringIO(run("check", str(folder), "--csv")[1])))
    assert [(row["rule"], row["code"]) for row in rows] == [("a", "ends-before-it-begins")]


@pytest.mark.parametrize("command", ["show", "check"])
def test_a_pack_that_is_not_there_is_told(folder: Path, command: str) -> None:
    status, _, complaint = run(command, str(folder), "--pack", "rules-tow")
    assert status == 2
    assert "--pack: REA020" in complaint
    assert "'rules-two'" in complaint


@pytest.mark.parametrize("command", ["show", "check"])
def test_a_season_without_a_book_is_answered(folder: Path, command: str) -> None:
    (folder / "scenario.toml").write_text('title = "Small season"\ncurrency = "USD"\n', encoding="utf-8")
    status, out, _ = run(command, str(folder))
    assert (status, out.splitlines()) == (0, ["Small season", "The scenario names no rule pack."])
