"""The workbook of a season: totals follow its ledger and give the plan's own figures, and no text runs as a formula."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from costplan.report.season import CAUTIONS
from costplan.report.season_workbook import season_xlsx
from costplan.report.season_workbook.making import HOLDS
from costplan.report.workbook.about import INVENTED
from costplan.scenario import Scenario, read_scenario
from costplan.season import Plan, Season, make_plan
from costplan.season.logged import Tracking, track
from costplan.season.used import UsedLife, used_at_events
from tests.workbooks import assert_recomputes, changeable, column_of, read, row_of, rows_of, texts
from tests.workbooks.recomputing import Recomputed, Seen, as_it_is, to_15_digits

ROOT = Path(__file__).parents[2]
WHY = "Why, with file and row"
ROUNDINGS = pytest.mark.parametrize("seen", [as_it_is, to_15_digits])


@dataclass(frozen=True)
class Made:
    """A plan with all that its workbook is made of."""

    scenario: Scenario
    season: Season
    plan: Plan
    used: tuple[UsedLife, ...]
    tracking: Tracking | None

    def book(self, **other: Any) -> bytes:
        """Its workbook, with another plan or other parts where given."""
        made = replace(self, **other)
        return season_xlsx(made.scenario, made.season, made.plan, made.used, made.tracking)


@cache
def made(folder: Path, day: date) -> Made:
    """The plan of a folder on a day, made once for all tests of workbooks."""
    scenario, problems = read_scenario(folder)
    assert scenario is not None and not problems
    season, _ = scenario.season_on(day)
    budget, _ = scenario.season()
    assert season is not None and budget is not None
    plan = make_plan(season, day)
    tracking = track(make_plan(budget, day), plan, season, scenario.logged(day)) if season.standing else None
    return Made(scenario, season, plan, used_at_events(season, day), tracking)


@pytest.fixture(scope="module")
def kart() -> Made:
    return made(ROOT / "scenarios/kart-single", date(2027, 2, 1))


@pytest.fixture(scope="module")
def oval() -> Made:
    """The demo with a log."""
    return made(ROOT / "scenarios/oval-v8", date(2027, 7, 1))


@pytest.fixture(scope="module")
def kart_book(kart: Made) -> bytes:
    return kart.book()


@pytest.fixture(scope="module")
def oval_book(oval: Made) -> bytes:
    return oval.book()


@pytest.fixture(scope="module")
def oval_read(oval_book: bytes) -> Workbook:
    return read(oval_book)


@pytest.fixture(scope="module")
def kart_read(kart_book: bytes) -> Workbook:
    return read(kart_book)


# Figures


@ROUNDINGS
def test_worked_out_anew_nothing_changes(kart_book: bytes, seen: Seen) -> None:
    assert assert_recomputes(kart_book, seen) > 500


def test_worked_out_anew_nothing_changes_with_a_log_either(oval_book: bytes) -> None:
    assert assert_recomputes(oval_book, to_15_digits) > 1000


def test_its_figures_are_the_plans(kart: Made, kart_read: Workbook) -> None:
    page, plan = kart_read["Summary"], kart.plan

    def at(label: str, *columns: str) -> list[Decimal]:
        return [Decimal(repr(page[f"{column}{row_of(page, label)}"].value)) for column in columns]

    assert at("paid", "B") == [plan.cash_paid]
    assert at("received", "B") == [plan.cash_received]
    assert at("cash: paid less", "B") == [plan.cash_total]
    assert at("wear: used up", "B") == [plan.wear_total]
    for rate in plan.rates:
        costs = [rate.cash, rate.wear, rate.cash_after_income, rate.wear_after_income]
        assert at(rate.per, "C", "D", "E", "F") == costs
    worst = [cell.row for cell in page["G"] if cell.value == "worst"]
    assert [page[f"A{row}"].value for row in worst] == [int(plan.worst_month.replace("-", ""))]
    assert at("total with risk", "B") == [plan.one_more.with_risk]
    assert at("life left in", "B") == [plan.left_on_hand]


def test_every_row_of_the_ledger_is_there(kart: Made, kart_read: Workbook) -> None:
    found = [
        (row["View"], row["Date"].date(), row["Event"] or "", row["Cause"], Decimal(repr(row["Amount"])), row[WHY])
        for row in rows_of(kart_read["Ledger"], "View")
    ]
    assert found == [(row.view, row.date, row.event, row.cause, row.amount, row.why) for row in kart.plan.ledger]


def test_budget_actual_and_forecast_are_there_where_a_log_is(
    oval: Made, oval_read: Workbook, kart_read: Workbook
) -> None:
    assert "Budget" not in kart_read.sheetnames
    page, tracking = oval_read["Budget"], oval.tracking
    assert tracking is not None
    total = [cell.value for cell in page[row_of(page, "total")][1:]]
    one = tracking.total
    amounts = [one.budget, one.to_day, one.actual, one.forecast, one.expected, one.difference]
    assert [Decimal(str(value)) for value in total] == amounts
    assert any("Without an amount of their own" in text for text in texts(oval_read))


def test_a_changed_amount_runs_through_to_every_total(kart: Made, kart_book: bytes) -> None:
    book = changeable(kart_book)
    number, row = next((n, row) for n, row in enumerate(kart.plan.ledger) if row.view == "cash" and row.event)
    ledger = book["Ledger"]
    at = row_of(ledger, "View") + 1 + number
    cell = ledger[f"{column_of(ledger, 'Amount')}{at}"]
    assert cell.value == float(row.amount)
    cell.value = float(row.amount) + 1000.5
    page, before, after = book["Summary"], Recomputed(kart_book), Recomputed(book)

    def moved(label: str, column: str, below: str = "") -> float:
        line = row_of(page, label, row_of(page, below) if below else 0)
        old, new = (found.value("Summary", f"{column}{line}") for found in (before, after))
        assert isinstance(old, int | float) and isinstance(new, int | float)
        return new - old

    month = row.date.year * 100 + row.date.month
    races = next(rate.units for rate in kart.plan.rates if rate.per == "race")
    assert moved("paid", "B") == pytest.approx(1000.5)
    assert moved("cash: paid less", "B") == pytest.approx(1000.5)
    assert moved("wear: used up", "B") == 0
    assert moved("race", "C") == pytest.approx(1000.5 / races, abs=0.01)
    assert moved(row.cause, "B", "By cause") == pytest.approx(1000.5)
    assert moved(str(month), "D", "Cash by month") == pytest.approx(1000.5)
    assert moved(row.event, "B", "By event") == pytest.approx(1000.5)


def test_a_changed_day_moves_its_month(kart: Made, kart_book: bytes) -> None:
    book, plan = changeable(kart_book), kart.plan
    ledger, summary = book["Ledger"], book["Summary"]
    row = next(n for n, row in enumerate(plan.ledger) if row.view == "cash" and row.amount > 0)
    last = plan.months[-1].month
    assert f"{plan.ledger[row].date:%Y-%m}" != last
    ledger[f"{column_of(ledger, 'Date')}{row_of(ledger, 'View') + 1 + row}"].value = datetime.fromisoformat(
        f"{last}-01"
    )
    at = f"B{row_of(summary, last.replace('-', ''))}"
    found = Recomputed(book).value("Summary", at)
    assert found == pytest.approx(float(plan.months[-1].paid + plan.ledger[row].amount))


def test_a_row_between_the_others_counts_and_a_worse_month_is_marked(kart: Made, kart_book: bytes) -> None:
    book, plan = changeable(kart_book), kart.plan
    ledger, summary = book["Ledger"], book["Summary"]
    other = next(month.month for month in plan.months if month.month != plan.worst_month)
    row = next(n for n, one in enumerate(plan.ledger) if one.view == "cash" and f"{one.date:%Y-%m}" == other)
    ledger[f"{column_of(ledger, 'Amount')}{row_of(ledger, 'View') + 1 + row}"].value = 99_999
    found = Recomputed(book)
    marks = {
        summary[f"A{line}"].value: found.value("Summary", f"G{line}")
        for line in range(row_of(summary, "Cash by month") + 1, row_of(summary, "By event") - 1)
    }
    assert [month for month, mark in marks.items() if mark] == [int(other.replace("-", ""))]


def test_accounts_close_and_openings_add_up(oval: Made, oval_read: Workbook) -> None:
    page = oval_read["Accounts"]
    closing = [row["Closing"] for row in rows_of(page, "Engine")][: len(oval.plan.accounts)]
    assert closing == [float(one.closing) for one in oval.plan.accounts]
    work = oval_read["Work"]
    total = work[f"{column_of(work, 'Total')}{row_of(work, 'All openings')}"].value
    assert total == float(sum(job.total for job in oval.plan.jobs))


# Texts stay texts

HOSTILE = ("=1+1", "*", "?", "~*", ">5", "<>", "Opener", "opener", "12", "@SUM(A1)", "'quoted", '"said"', "a,b;c")


@ROUNDINGS
def test_names_are_told_apart_letter_by_letter_and_run_nothing(kart: Made, seen: Seen) -> None:
    named = {row.event: HOSTILE[n % len(HOSTILE)] for n, row in enumerate(kart.plan.ledger) if row.event}
    rows = tuple(replace(row, event=named.get(row.event, ""), why="=1+1", slot="+1") for row in kart.plan.ledger)
    data = kart.book(plan=replace(kart.plan, ledger=rows))
    assert_recomputes(data, seen)
    page = read(data)["Summary"]
    first, last = row_of(page, "By event") + 1, row_of(page, "of no event")
    shown = {page[f"A{row}"].value: page[f"B{row}"].value for row in range(first, last)}
    for name in dict.fromkeys(named.values()):
        cash = sum(row.amount for row in rows if row.view == "cash" and row.event == name)
        assert shown[name] == float(cash), name


def test_no_text_is_a_formula(kart: Made) -> None:
    link = '=HYPERLINK("http://x.example")'
    rows = tuple(replace(row, event="=1+1", engine="=2", part="=3", why=link) for row in kart.plan.ledger)
    book = changeable(kart.book(plan=replace(kart.plan, ledger=rows)))
    found = [cell for page in book.worksheets for row in page.iter_rows() for cell in row]
    assert not any(cell.hyperlink for cell in found)
    assert not any(cell.data_type == "f" and re.match(r"=(\d$|1\+1|HYPER)", str(cell.value)) for cell in found)


# What is shown


def test_sheets_stand_in_order_and_the_first_says_what_each_holds(oval_read: Workbook, kart_read: Workbook) -> None:
    names = oval_read.sheetnames
    assert names == ["About", *HOLDS]
    shown = texts(oval_read)
    assert {f"Sheet {name}" for name in HOLDS} <= set(shown)
    assert {INVENTED, *CAUTIONS} <= set(shown)
    assert any("Inspect blue before it runs again" in text for text in shown)
    early = texts(made(ROOT / "scenarios/oval-v8", date(2027, 6, 1)).book())
    assert any(re.fullmatch(r"\d+ rows of log.csv, later than this day\.", text) for text in early)
    assert "Sheet Budget" not in texts(kart_read)


def test_what_is_not_invented_does_not_say_so(kart: Made) -> None:
    scenario = replace(kart.scenario, header=kart.scenario.header.model_copy(update={"invented": False}), catalog=None)
    assert INVENTED not in texts(kart.book(scenario=scenario))


def test_every_guess_is_on_the_sheet_of_inputs(oval: Made, oval_read: Workbook) -> None:
    rows = [row for row in rows_of(oval_read["Inputs"], "Of") if row["Guess"]]
    told = {(row["File and row"], what) for row in rows for what in row["What of it is assumed"].split(", ")}
    missing = [one for one in oval.plan.assumed if not any(
        place == one.place and what in one.what for place, what in told
    )]  # fmt: skip
    assert missing == []
    assert all(row["Guess"] == "guess" for row in rows)


def test_inputs_have_their_units_sources_and_places(oval: Made, oval_read: Workbook) -> None:
    rows = rows_of(oval_read["Inputs"], "Of")
    found = next(row for row in rows if row["What"] == "renewed after" and str(row["Of"]).startswith("springs "))
    life = next(spot for spot in oval.season.spots if spot.slot == "springs").lives[0]
    assert (found["Value"], found["Unit"], found["Whose word"]) == (
        life.row.replace_at,
        "events",
        life.row.source or None,
    )
    assert re.search(r"lives\.csv:\d+$", found["File and row"])
    assert next(row for row in rows if row["Of"] == "engine that runs")["Value"] == "first ready"


def test_life_used_after_each_event(kart: Made, kart_read: Workbook) -> None:
    page = kart_read["Life by event"]
    top = row_of(page, "opening day")
    for number, event in enumerate(kart.used[0].events, start=1):
        cells = [cell.value for cell in page[top + number]]
        assert cells[0] == event.event
        assert cells[2:] == pytest.approx([line.events[number - 1].share for line in kart.used])


def test_forms_follow_the_currency(kart: Made) -> None:
    def form(currency: str) -> str:
        page = changeable(kart.book(plan=replace(kart.plan, currency=currency)))["Ledger"]
        return str(page[f"{column_of(page, 'Amount')}{row_of(page, 'View') + 1}"].number_format)

    assert (form("JPY"), form("KWD")) == ("#,##0", "#,##0.000")


def test_set_up_to_read_and_to_print(oval_read: Workbook) -> None:
    for page in oval_read.worksheets:
        assert_in_order(page)
    ledger = oval_read["Ledger"]
    assert ledger.auto_filter.ref
    assert ledger[f"B{row_of(ledger, 'View') + 1}"].number_format == "yyyy-mm-dd"


def assert_in_order(page: Worksheet) -> None:
    """Headings stay in sight and are printed again, as wide as the paper; nothing is hidden or noted."""
    setup, fits = page.page_setup, page.sheet_properties.pageSetUpPr
    assert (setup.fitToWidth or 1, setup.fitToHeight) == (1, 0)
    assert fits and fits.fitToPage
    assert page.freeze_panes and page.print_title_rows
    assert int(re.sub(r"\D", "", str(page.freeze_panes))) < 12
    assert page.sheet_state == "visible"
    assert not any(row.hidden for row in page.row_dimensions.values())
    assert not any(cell.comment or cell.hyperlink for row in page.iter_rows() for cell in row)


def test_nothing_is_called_what_it_must_not_be(oval_read: Workbook) -> None:
    assert not re.search(r"\b(is safe|legal)", " ".join(texts(oval_read)), re.IGNORECASE)


def test_the_same_plan_gives_the_same_bytes(kart: Made, kart_book: bytes) -> None:
    assert kart.book() == kart_book


def test_the_simple_form_and_a_season_that_is_over_have_workbooks() -> None:
    simple = made(ROOT / "costplan/templates/simple", date(2027, 3, 1))
    assert assert_recomputes(simple.book(), as_it_is) > 50
    assert "Work" in read(simple.book()).sheetnames
    over = made(ROOT / "scenarios/oval-v8", date(2028, 1, 1))
    assert_recomputes(over.book(), as_it_is)
