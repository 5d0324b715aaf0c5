"""What must hold of any field: nothing changed costs nothing, groups stand alone, totals are sums, errors fall."""

from __future__ import annotations

from dataclasses import fields, replace
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest
from pytest import approx

from costplan.impact.drawing import Asked, play_field
from costplan.impact.field import FieldOfEntrants, Proposal
from costplan.impact.figures import GroupImpact, Impact, Total
from costplan.impact.reading import at_once
from costplan.problems import Problems
from costplan.reading import read_toml
from costplan.rules import read_pack
from costplan.rules.change import apply_change, read_change, reversed_change, written_of
from costplan.season.drawn.figures import CountDifference, Mean
from tests.test_impact.small_field import desk, field_of, of, study, written

HEAD = "group,entrants,variant,joins,calendar,age_low,age_high,budget,leaves_above\n"
LOCALS = "locals,3,,,,0.1,0.9,,50\n"
PAIRS = "pairs,2,two engines,,,0.2,0.6,500,\n"
NEW = "new,1,,yes,,,,,\n"
WINTER = "winter,2,,,calendar-winter.csv,,,,\n"
ALL = (LOCALS, PAIRS, NEW, WINTER)
CHANGES = ("springs", "both", "box", "quota")


def all_of(folder: Path, *rows: str) -> Path:
    return written(folder, field=HEAD + "".join(rows))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One for all, since answers name the files that they are from; each test writes its field into it."""
    return tmp_path_factory.mktemp("field")


@pytest.fixture(scope="module")
def whole(folder: Path) -> Impact:
    return study(all_of(folder, *ALL), *CHANGES)


def assert_nothing(found: Impact) -> None:
    """That the first change costs nobody anything."""
    (change,) = found.changes
    assert_zero(change.total)
    for group in change.groups:
        assert_zero(group)
    for phase in change.phases:
        assert phase.once == 0
        assert phase.first == Mean(Decimal(0), Decimal(0))
        assert phase.over == phase.first
        assert phase.stranded == 0
    assert (change.stranded, change.supply) == ((), ())
    assert change.enforcement.a_season == 0
    assert change.enforcement.once == 0


def assert_zero(one: Total | GroupImpact) -> None:
    """That no difference is told, of whatever kind."""
    plain = {"once", "stranded", "brings", "losers", "losers_first", "winners", "unable", "risen", "low", "high"}
    for key in (field.name for field in fields(one)):
        value = getattr(one, key)
        if key in plain | {"p10", "p50", "p90"} or isinstance(value, Mean):
            amount = value.mean if isinstance(value, Mean) else value
            assert amount == 0, key
        if isinstance(value, Mean | CountDifference):
            assert (value.mean, value.error) == (0, 0), key
    if isinstance(one, GroupImpact):
        assert (one.swaps, one.lines, one.intervals) == ((), (), ())
        assert all(line.before == line.after for line in one.opened)


def test_an_empty_change_costs_nothing(tmp_path: Path) -> None:
    assert_nothing(study(all_of(tmp_path, *ALL), "none"))


@pytest.mark.parametrize("name", ["springs", "box", "quota"])
def test_a_change_that_is_taken_back_costs_nothing(tmp_path: Path, name: str) -> None:
    field = field_of(all_of(tmp_path, *ALL), name)
    assert_nothing(desk(taken_back(field, tmp_path, name)).impact())


def taken_back(field: FieldOfEntrants, folder: Path, name: str) -> FieldOfEntrants:
    """The field with a change and then what takes it back, worked in one after the other."""
    change, problems = read_change(folder / f"change-{name}.toml")
    assert change is not None, problems
    document, problems = read_toml(folder / "rules.toml", "rules")
    assert document is not None, problems
    baseline, found = written_of(document, ()), Problems([])
    assert apply_change(baseline, at_once(change), found) != baseline
    both = [at_once(change), reversed_change(at_once(change), baseline)]
    pack, problems = read_pack(folder / "rules.toml", field.base.known, (), both)
    assert (problems, found.found) == ((), [])
    assert pack is not None
    (proposal,) = field.proposals
    return replace(field, proposals=(Proposal(proposal.change, proposal.written, (pack,)),))


@pytest.mark.parametrize("row", ALL)
def test_what_a_group_pays_does_not_depend_on_other_groups(folder: Path, whole: Impact, row: str) -> None:
    alone, name = study(all_of(folder, row), *CHANGES), row.partition(",")[0]
    for number in range(len(CHANGES)):
        assert of(alone, name, number) == of(whole, name, number)


def test_the_order_of_rows_changes_nothing_but_the_order_of_groups(folder: Path, whole: Impact) -> None:
    turned = study(all_of(folder, *reversed(ALL)), *CHANGES)
    for one, other in zip(whole.changes, turned.changes, strict=True):
        assert {group.group: group for group in one.groups} == {group.group: group for group in other.groups}
        assert one.total.over == other.total.over
        assert one.total.roll == other.total.roll


def test_the_order_of_changes_changes_nothing(folder: Path, whole: Impact) -> None:
    turned = study(all_of(folder, *ALL), *reversed(CHANGES))
    assert [one.total for one in reversed(turned.changes)] == [one.total for one in whole.changes]


def test_one_entrant_more_draws_nothing_else_for_the_others(tmp_path: Path) -> None:
    cash = []
    for count in (3, 4):
        made = desk(field_of(all_of(tmp_path, LOCALS.replace("3", str(count), 1)), "springs"))
        (played,) = play_field(made.groups, Asked(40, made.field.study.years, 1))
        after = played.ways.changed[0].complying
        assert after is not None
        cash.append([member.of(after).cash for member in played.members])
    three, four = cash
    assert len(four) == 4
    assert all(np.array_equal(one, other) for one, other in zip(three, four, strict=False))
    assert not np.array_equal(four[3], four[0])


@pytest.mark.parametrize("number", range(len(CHANGES)))
def test_the_field_is_the_sum_of_its_groups(whole: Impact, number: int) -> None:
    total, groups = whole.changes[number].total, whole.changes[number].groups
    assert total.entrants == sum(one.count for one in groups) == 8
    for name in ("once", "stranded", "brings"):
        assert getattr(total, name) == sum((getattr(one, name) * one.count for one in groups), Decimal(0)) or float(
            getattr(total, name)
        ) == approx(sum(float(getattr(one, name)) * one.count for one in groups), abs=0.05)
    for name in ("first", "yearly", "wear", "over", "over_other"):
        summed = sum(float(getattr(one, name).mean) * one.count for one in groups)
        assert float(getattr(total, name).mean) == approx(summed, abs=0.05), name
        errors = sum((float(getattr(one, name).error) * one.count) ** 2 for one in groups) ** 0.5
        assert float(getattr(total, name).error) == approx(errors, abs=0.05), name
    assert total.losers == sum(one.losers for one in groups)
    assert total.losers_first == sum(one.losers_first for one in groups)
    assert total.missed.mean == approx(sum(one.missed.mean * one.count for one in groups), abs=1e-9)
    assert total.leaving == of(whole, "locals", number).leaving
    assert float(total.roll.range.likely) == approx(float(total.over.mean), abs=0.05)


def test_a_group_is_low_likely_and_high_in_order(whole: Impact) -> None:
    for change in whole.changes:
        for one in change.groups:
            assert one.low <= one.over.mean <= one.high
            assert one.p10 <= one.p50 <= one.p90


def test_the_worst_hit_come_first(whole: Impact) -> None:
    for change in whole.changes:
        costs = [one.over.mean for one in change.by_worst()]
        assert costs == sorted(costs, reverse=True)


def test_twice_the_seasons_have_errors_smaller_by_the_root_of_two(tmp_path: Path) -> None:
    folder = all_of(tmp_path, WINTER)  # of no drawn ages, so that nothing but the seasons is drawn
    few, many = (study(folder, "springs", seasons=seasons).changes[0].total for seasons in (2000, 4000))
    for name in ("first", "yearly", "over"):
        ratio = float(getattr(few, name).error) / float(getattr(many, name).error)
        assert ratio == approx(2**0.5, rel=0.1), name


def test_who_spends_on_power_pays_as_who_complies_where_none_can_be_estimated(whole: Impact) -> None:
    assert all(group.spent is None for change in whole.changes for group in change.groups if group.group != "pairs")


def test_the_lines_of_an_answer_add_up_to_what_is_paid_once(whole: Impact) -> None:
    """None of the groups owes today's book anything, so that nothing is taken off."""
    paid = [one for change in whole.changes for one in change.groups if one.lines]
    assert any(line.what == "sold" for one in paid for line in one.lines)
    for one in paid:
        assert float(sum(one.amounts)) == approx(float(one.once), abs=0.01 * len(one.lines))
