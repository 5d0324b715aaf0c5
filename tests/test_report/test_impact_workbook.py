"""The workbook of a study: what is worked out in it is the study's own figure, and follows what is changed."""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from openpyxl import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from costplan.impact.figures import ChangeImpact, GroupImpact, Impact, Total
from costplan.impact.flipping import Flips
from costplan.report.impact.words import CAUTIONS
from costplan.report.impact.workbook import impact_xlsx
from costplan.report.impact.workbook.making import HOLDS
from costplan.report.workbook.about import INVENTED
from tests.test_impact.small_field import desk, field_of, study, written
from tests.workbooks import assert_recomputes, changeable, column_of, read, row_of, rows_of, texts
from tests.workbooks.recomputing import Recomputed, Seen, as_it_is, to_15_digits

FIELD = (
    "group,entrants,variant,joins,age_low,age_high,budget,leaves_above,source\n"
    "locals,3,,,0.1,0.9,,50,letter\npairs,2,two engines,,0.2,0.6,500,,\nnew,1,,yes,,,,,\n"
)
SUPPLY = "part,ready,a_week,rise\nSP-B,4,1,20 %\n"
CHANGES = ("springs", "quota", "never")


@cache
def small_study() -> Impact:
    """Three changes to a small field, made once for all tests of workbooks; with the last nobody can comply."""
    with TemporaryDirectory() as folder:
        return study(written(Path(folder), field=FIELD, supply=SUPPLY), *CHANGES, seasons=20)


@pytest.fixture(scope="module")
def found() -> Impact:
    return small_study()


@pytest.fixture(scope="module")
def book(found: Impact) -> bytes:
    return impact_xlsx(found)


@pytest.fixture(scope="module")
def shown(book: bytes) -> Workbook:
    return read(book)


def money(value: Any) -> Decimal:
    """What a cell shows: rounded half up to cents."""
    return (Decimal(repr(value)) * 100 + Decimal("0.5")).to_integral_value("ROUND_FLOOR") / 100


def each(one: ChangeImpact) -> tuple[GroupImpact | Total, ...]:
    """The groups of a change, and the field."""
    return *one.groups, one.total


def rows(page: Worksheet, one: ChangeImpact) -> dict[str, dict[str, Any]]:
    """The rows of a change by group."""
    return {row["Group"]: row for row in rows_of(page, "Change") if row["Change"] == one.name}


# Figures


@pytest.mark.parametrize("seen", [as_it_is, to_15_digits])
def test_worked_out_anew_nothing_changes(book: bytes, seen: Seen) -> None:
    assert assert_recomputes(book, seen) > 150


def test_groups_and_field_are_the_studys(found: Impact, shown: Workbook) -> None:
    for one in found.changes[:-1]:
        lines = rows(shown["Groups"], one)
        for group in each(one):
            row = lines[group.group if isinstance(group, GroupImpact) else "the field"]
            amounts = [money(row[name]) for name in ("Once", "First year", "Then a year", "4 years", "+/-")]
            first, yearly, over = group.first.mean, group.yearly.mean, group.over.mean
            assert amounts == [group.once, first, yearly, over, group.over.error]
            assert row["Back in"] == ("not in 4" if group.payback is None else group.payback)


def test_side_by_side_are_the_fields_totals(found: Impact, shown: Workbook) -> None:
    page = shown["Side by side"]
    for number, one in enumerate(found.changes):
        column = "DEF"[number]
        total = one.total
        live = {"paid once": total.once, "in the first year": total.first.mean, "over 4 years": total.over.mean}
        counts = {"lose over": total.losers, "gain over": total.winners, "cannot comply": total.unable}
        for words, amount in {**live, **{words: Decimal(count) for words, count in counts.items()}}.items():
            assert page[f"{column}{row_of(page, words)}"].value == float(amount), (one.name, words)


def test_another_rate_discounts_all_years_anew(found: Impact, book: bytes) -> None:
    changed = changeable(book)
    page = changed["Inputs"]
    page[f"{column_of(page, 'Value')}{row_of(page, 'discount')}"].value = 0.25
    anew, groups = Recomputed(changed), changed["Groups"]
    over = column_of(groups, "4 years")
    for one in found.changes[:-1]:
        line = next(at for at, (name, who) in enumerate(groups.iter_rows(max_col=2, values_only=True), 1)
                    if (name, who) == (one.name, "the field"))  # fmt: skip
        course = one.total.course
        worth = sum(float(cash) / 1.25**year for year, cash in enumerate(course.cash, start=1))
        by_hand = float(course.once) + worth - float(course.left) / 1.25**4
        assert anew.value("Groups", f"{over}{line}") == pytest.approx(by_hand, abs=0.01)
        assert abs(by_hand - float(one.total.over.mean)) > 0.01 or not any(course.cash)
        side = changed["Side by side"]
        column = "DEF"[found.changes.index(one)]
        assert anew.value("Side by side", f"{column}{row_of(side, 'over 4')}") == pytest.approx(by_hand, abs=0.01)


def test_more_entrants_of_a_group_count_as_its_average(found: Impact, book: bytes) -> None:
    changed, one = changeable(book), found.changes[0]
    page = changed["Groups"]
    first = row_of(page, one.name)
    group, count = one.groups[0], column_of(page, "Entrants")
    assert page[f"B{first}"].value == group.group
    page[f"{count}{first}"].value = group.count + 10
    field, over, once = first + len(one.groups), column_of(page, "4 years"), column_of(page, "Once")
    anew = Recomputed(changed)
    assert anew.value("Groups", f"{count}{field}") == one.total.entrants + 10
    more = float(one.total.over.mean) + 10 * float(group.over.mean)
    assert anew.value("Groups", f"{over}{field}") == pytest.approx(more, abs=0.06)
    assert anew.value("Groups", f"{once}{field}") == pytest.approx(float(one.total.once + 10 * group.once), abs=0.06)


def test_what_saves_more_each_year_is_back_sooner(found: Impact, book: bytes) -> None:
    changed = changeable(book)
    page = changed["Groups"]
    first = row_of(page, found.changes[0].name)
    cells = {column_of(page, "Once"): 100, **{column_of(page, f"Year {year}"): -60 for year in range(1, 5)}}
    for column, value in cells.items():
        page[f"{column}{first}"].value = value
    rate = changed["Inputs"]
    rate[f"{column_of(rate, 'Value')}{row_of(rate, 'discount')}"].value = 0.0
    back = Recomputed(changed).value("Groups", f"{column_of(page, 'Back in')}{first}")
    assert back == pytest.approx(1 + 40 / 60)


def test_a_course_adds_up_to_what_is_told(found: Impact) -> None:
    for one in found.changes:
        for group in each(one):
            course, rate = group.course, found.study.discount
            assert money(float(course.once)) == group.once
            assert money(float(course.once + course.cash[0])) == group.first.mean
            worth = float(course.so_far(rate)[-1]) - float(course.left) / (1 + rate) ** found.study.years
            assert worth == pytest.approx(float(group.over.mean), abs=0.006)


def test_what_is_put_out_and_short_is_summed(found: Impact, shown: Workbook) -> None:
    one = found.changes[0]
    out = [row for row in rows_of(shown["Put out"], "Change") if row["Change"] == one.name]
    assert [money(row["Lost"]) for row in out[:-1]] == [row.lost for row in one.stranded]
    assert money(out[-1]["Lost"]) == sum(row.lost for row in one.stranded)
    supply = next(row for row in rows_of(shown["Supply"], "Change") if row["Part"] == "SP-B")
    wanted = next(row for row in one.supply if row.part == "SP-B")
    assert (supply["Wanted"], supply["There"], supply["Short"]) == (wanted.wanted, wanted.there, wanted.short)
    assert supply["Short"]


# What is shown


def test_who_cannot_comply_is_said_and_costs_nothing(found: Impact, shown: Workbook) -> None:
    lines = rows(shown["Groups"], found.changes[-1])
    assert lines["locals"]["Once"] == "cannot comply"
    assert (lines["the field"]["4 years"], lines["the field"]["Back in"]) == (0, None)
    assert any("cannot comply: " in text for text in texts(shown))


def test_sheets_stand_in_order_and_the_first_says_what_each_holds(found: Impact, shown: Workbook) -> None:
    assert shown.sheetnames == ["About", *(name for name in HOLDS if name != "What turns it")]
    told = texts(shown)
    assert {f"Sheet {name}" for name in shown.sheetnames[1:]} <= set(told)
    assert set(CAUTIONS) <= set(told)
    assert INVENTED in told
    assert INVENTED not in texts(impact_xlsx(replace(found, invented=False)))


def test_guesses_are_marked(found: Impact, shown: Workbook) -> None:
    marked = [row["What"] for row in rows_of(shown["Inputs"], "Of") if row["Guess"] == "guess"]
    assert {"group pairs", "group new"} <= set(marked)
    assert "group locals" not in marked
    keys = [row["Of"] for row in rows_of(shown["Inputs"], "Of") if row["Guess"] == "guess"]
    assert set(found.study.assumed) <= set(keys)


def test_what_turns_it_about_has_a_sheet_where_that_was_asked(tmp_path: Path) -> None:
    asked = desk(field_of(written(tmp_path), "springs"), seasons=20)
    impact = asked.impact()
    flips: tuple[Flips, ...] = asked.flips(impact.changes)
    page = read(impact_xlsx(impact, flips))["What turns it"]
    found = [row["Assumption"] for row in rows_of(page, "Change")]
    assert found[0] == "as studied"
    assert found[1 : 1 + len(flips[0].assumptions)] == [one.assumption for one in flips[0].assumptions]


def test_no_name_runs_as_a_formula(found: Impact) -> None:
    groups = tuple(replace(group, group="=1+1") for group in found.changes[0].groups)
    odd = replace(found, title="=2", changes=(replace(found.changes[0], name='=HYPERLINK("x")', groups=groups),))
    data = impact_xlsx(odd)
    cells = [cell for page in changeable(data).worksheets for row in page.iter_rows() for cell in row]
    assert not any(cell.data_type == "f" and re.match(r"=(\d$|1\+|HYPER)", str(cell.value)) for cell in cells)
    assert_recomputes(data, as_it_is)


def test_set_up_to_read_and_to_print(shown: Workbook) -> None:
    for page in shown.worksheets:
        fits = page.sheet_properties.pageSetUpPr
        assert fits and fits.fitToPage and page.freeze_panes and page.print_title_rows, page.title
    assert not re.search(r"\b(is safe|legal)", " ".join(texts(shown)), re.IGNORECASE)
