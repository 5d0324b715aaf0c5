"""What few books write and few engines have: each still gets its answer."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

from costplan.catalog import Catalog, Part
from costplan.rules import KINDS, Finding, Known, Pack, Sheet, check, read_pack
from costplan.rules.book import Clause
from costplan.rules.change import read_change
from costplan.rules.evidence import no_price
from costplan.rules.inspecting import read_entrants
from costplan.rules.lint import Doubt, Facts, lint

Write = Callable[[str, str | bytes], Path]
DAY = date(2027, 4, 1)


def test_a_slot_that_lacks_its_part_and_a_mark_that_nobody_read_are_both_owed(ask: Callable[..., Finding]) -> None:
    finding = ask("parts", 'slot = "crank rods"\nallowed = "K-1 R-1"\nmark = "X7"', empty=["rods"])
    assert finding.verdict == "cannot be shown"
    assert finding.owed == ("a part in slot rods", "inspection of the mark X7")


def test_work_that_must_be_done_binds_no_season(pack_of: Callable[..., Pack]) -> None:
    text = '[[rule]]\nid = "one"\nkind = "work"\nsays = "so"\nslot = "crank"\nmust = "balance"\n'
    (rule,) = pack_of(text).rules
    assert tuple(KINDS["work"].bonds(rule.test, Clause("rules", "one", "so", rule.place))) == ()


def test_a_price_is_owed_where_nobody_can_price(pack_of: Callable[..., Pack], sheet_of: Callable[..., Sheet]) -> None:
    pack = pack_of('[[rule]]\nid = "one"\nkind = "limit"\nsays = "so"\nof = "price.crank"\nmax = "900 USD"\n')
    (finding,) = check(pack, replace(sheet_of(), price=no_price), DAY).findings
    assert (finding.verdict, finding.owed) == ("cannot be shown", ("a catalog with prices",))


def test_a_key_called_place_at_the_top_of_a_pack_or_change_is_unknown_like_any_other(write: Write) -> None:
    _, faults = read_pack(write("rules.toml", 'name = "Club"\nplace = "here"\n'), Known())
    _, more = read_change(write("change-1.toml", 'name = "one"\nbaseline = "rules.toml"\nplace = "here"\n'))
    assert [(one.code, one.place.line, one.field) for one in (*faults, *more)] == [
        ("REA015", 2, "place"),
        ("REA015", 3, "place"),
    ]


def test_a_day_at_fault_in_a_change_is_told_once_at_its_place(write: Write) -> None:
    clause = 'id = "one"\nkind = "conduct"\nsays = "so"\n'
    text = f'name = "one"\nbaseline = "rules.toml"\n[[replace]]\n{clause}effective = "soon"\n'
    change, faults = read_change(write("change-1.toml", text))
    assert change is not None
    _, more = read_pack(write("rules.toml", f'name = "Club"\n[[rule]]\n{clause}'), Known(), changes=[change])
    assert [(one.code, one.place.line, one.field) for one in (*faults, *more)] == [("REA019", 7, "replace.1.effective")]


def test_entries_that_are_no_text_are_told(write: Write) -> None:
    cars, faults = read_entrants(write("entries.csv", b"car\n\xff\xfe\x00\n"))
    assert (cars, len(faults)) == ((), 1)


def doubts_of(known: Known, pack: Pack, measured: frozenset[str] = frozenset()) -> tuple[Doubt, ...]:
    """What lint says of a pack where one crank is for sale, that gives no stroke."""
    crank = Part(part="K-1", role="crank", supplier="Hill", price=Decimal(1), price_date=DAY)
    facts = Facts(Catalog({"K-1": crank}, written=frozenset({"K-1"})), measured=measured)
    return lint(pack, known, facts)


def test_what_a_measure_rests_on_is_given_by_the_bench(known: Known, pack_of: Callable[..., Pack]) -> None:
    pack = pack_of('[[rule]]\nid = "one"\nkind = "limit"\nsays = "so"\nof = "displacement"\nmax = "300 in3"\n')
    assert [one.code for one in doubts_of(known, pack) if one.rule == "one"] == ["attribute-nobody-gives"]
    assert [one.code for one in doubts_of(known, pack, frozenset({"crank.stroke"})) if one.rule == "one"] == []


def test_a_list_without_an_edition_leaves_another_clause_something_to_bar(
    known: Known, pack_of: Callable[..., Pack]
) -> None:
    listed = '[[list]]\nlist = "cranks"\nsince = 2027-06-01\nparts = "K-1"\n'
    one = '[[rule]]\nid = "one"\nkind = "parts"\nsays = "so"\nslot = "crank"\nlist = "cranks"\n'
    two = '[[rule]]\nid = "two"\nkind = "parts"\nsays = "so"\nslot = "crank"\nallowed = "K-1 K-2"\n'
    pack = pack_of(f"{listed}{one}{two}")
    assert "parts-idle" not in {doubt.code for doubt in doubts_of(known, pack)}
