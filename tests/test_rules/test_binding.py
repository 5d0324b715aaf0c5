"""How packs bind a season: whose clauses, on which days; and from when the days of a dated part count."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from costplan.garage import Paper
from costplan.rules import Pack
from costplan.scenario import Scenario

PackOf = Callable[..., Pack]
CLAUSE = '[[rule]]\nid = "{}"\nkind = "paper"\nsays = "x"\nslot = "crank"\npaper = "{}"\nvalid = "{} d"\n{}\n'


def clause(rule: str, paper: str, days: int, more: str = "") -> str:
    return CLAUSE.format(rule, paper, days, more)


def paper(name: str, on: date | None, **more: Any) -> Paper:
    return Paper.model_validate({"engine": "blue", "slot": "crank", "paper": name, "date": on, **more})


def days_of(small: Scenario, pack: Pack, *papers: Paper) -> dict[tuple[str, str], date]:
    found = replace(small, packs=(pack,), papers=papers).paper_days()
    return {(carrier, rule): day for (carrier, rule, _), day in found.items()}


def test_each_clause_counts_from_its_own_paper(small: Scenario, pack_of: PackOf) -> None:
    pack = pack_of(clause("T1", "certificate", 730) + clause("T2", "tag", 60))
    papers = (paper("certificate", date(2025, 6, 18)), paper("tag", date(2027, 3, 1)))
    found = days_of(small, pack, *papers)
    assert found == {("blue", "T1"): date(2025, 6, 18), ("blue", "T2"): date(2027, 3, 1)}


def test_a_paper_binds_only_a_part_with_a_span(small: Scenario, pack_of: PackOf) -> None:
    spanless = clause("T1", "certificate", 730).replace('valid = "730 d"\n', "")
    slotless = clause("T2", "certificate", 730).replace('slot = "crank"\n', "")
    bound = clause("T3", "certificate", 730)
    book = replace(small, packs=(pack_of(spanless + slotless + bound),)).book
    assert [one.clause.rule for one in book.dated] == ["T3"]


def test_two_clauses_on_one_paper_each_end_on_the_day_it_names(small: Scenario, pack_of: PackOf) -> None:
    pack = pack_of(clause("T1", "certificate", 730) + clause("T2", "certificate", 365))
    found = days_of(small, pack, paper("certificate", date(2025, 6, 1), expires=date(2027, 6, 1)))
    assert found == {("blue", "T1"): date(2025, 6, 1), ("blue", "T2"): date(2026, 6, 1)}


@pytest.mark.parametrize(
    "later",
    [
        {"by": "own crew"},  # not who may issue it
        {"number": "8"},
        {"says": "broken"},
        {"slot": ""},  # of the whole engine
        {"engine": ""},  # of no engine
        {"date": date(2027, 4, 4)},  # the first race is the day before
        {"date": None},
    ],
)
def test_a_paper_that_the_clause_does_not_take_begins_nothing_anew(
    small: Scenario, pack_of: PackOf, later: dict[str, Any]
) -> None:
    pack = pack_of(clause("T1", "certificate", 730, 'by = "Dale"\nnumbers = "7"\ndeclares = "intact"'))
    given = {"by": "Dale", "number": "7", "says": "intact"}
    first = paper("certificate", date(2026, 1, 1), **given)
    second = paper("certificate", date(2027, 4, 3), **given)
    assert days_of(small, pack, first, second) == {("blue", "T1"): date(2027, 4, 3)}
    second = second.model_copy(update=later)
    assert days_of(small, pack, first, second) == {("blue", "T1"): date(2026, 1, 1)}


# How packs bind


QUOTA = '[[rule]]\nid = "{}"\nkind = "quota"\nsays = "x"\nof = "openings"\nlevel = "freshen"\nmost = {}\n{}\n'


def quota(rule: str, most: int, more: str = "") -> str:
    return QUOTA.format(rule, most, more)


def caps_of(small: Scenario, *packs: Pack) -> list[tuple[str, str, int]]:
    """Pack, clause and number of every cap on a level by which packs bind the season."""
    return [(cap.clause.pack, cap.clause.rule, cap.most) for cap in replace(small, packs=packs).book.level_caps]


def test_what_should_be_binds_nobody(small: Scenario, pack_of: PackOf) -> None:
    pack = pack_of(quota("T1", 2, 'severity = "should"') + quota("T2", 3))
    assert caps_of(small, pack) == [("rules", "T2", 3)]


def test_a_clause_binds_where_its_conditions_hold_for_the_build(small: Scenario, pack_of: PackOf) -> None:
    iron = '[{kind = "word", of = "block.material", one_of = ["iron"]}]'  # the block is
    steel = '[{kind = "word", of = "block.material", one_of = ["steel"]}]'
    unknown = '[{kind = "limit", of = "plate.mass", max = "1 kg"}]'  # there is no plate
    clauses = [("T1", f"when = {iron}"), ("T2", f"when = {steel}"), ("T3", f"unless = {iron}")]
    clauses += [("T4", f"unless = {steel}"), ("T5", f"when = {unknown}")]
    pack = pack_of("".join(quota(rule, 1, more) for rule, more in clauses))
    assert [rule for _, rule, _ in caps_of(small, pack)] == ["T1", "T4"]


def test_a_bond_carries_the_days_and_rounds_of_its_clause(small: Scenario, pack_of: PackOf) -> None:
    # the second round begins on 10 April, a ninth never comes
    dated = quota("T1", 1, "effective = 2027-04-10\nsunset = 2027-05-01")
    book = replace(
        small, packs=(pack_of(dated + quota("T2", 1, "from_round = 2") + quota("T3", 1, "from_round = 9")),)
    ).book
    clauses = [cap.clause for cap in book.level_caps]
    assert [(clause.since, clause.until) for clause in clauses] == [
        (date(2027, 4, 10), date(2027, 5, 1)),
        (date(2027, 4, 10), None),
        (date.max, None),
    ]
    on = [date(2027, 4, 9), date(2027, 4, 10), date(2027, 5, 1), date(2027, 5, 2)]
    assert [clauses[0].holds_on(day) for day in on] == [False, True, True, False]


@pytest.mark.parametrize(("prevails", "most"), [("supplement", 5), ("base", 2)])
def test_a_supplement_binds_with_its_base_each_clause_once(
    small: Scenario, pack_of: PackOf, prevails: str, most: int
) -> None:
    head = f'supplements = "base.toml"\nprevails = "{prevails}"\n'
    pack = pack_of(head + quota("T1", 5), base=quota("T1", 2) + quota("T9", 1))
    assert [(rule, number) for _, rule, number in caps_of(small, pack)] == [("T1", most), ("T9", 1)]


def test_two_packs_bind_together_and_one_that_is_recognised_does_not(small: Scenario, pack_of: PackOf) -> None:
    club, other = pack_of(quota("T1", 5)), pack_of(quota("T1", 4))
    assert caps_of(small, club, replace(other, stem="other")) == [("rules", "T1", 5), ("other", "T1", 4)]
    recognising = '[[recognises]]\npack = "guest.toml"\n'
    assert caps_of(small, pack_of(quota("T1", 5) + recognising, guest=quota("T7", 1))) == [("rules", "T1", 5)]
