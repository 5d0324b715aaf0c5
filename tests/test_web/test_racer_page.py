"""The racer's page says what the season says, and says of every figure where it comes from."""

from __future__ import annotations

import re
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TypeAlias

import pytest

from costplan.scenario import read_scenario
from costplan.season import Plan, make_plan
from tests.test_web.conftest import DAYS
from tests.test_web.reading import Read

Pages: TypeAlias = dict[str, Read]
Plans: TypeAlias = dict[str, Plan]
DEMOS = pytest.mark.parametrize("name", DAYS)


@pytest.fixture(scope="module")
def plans() -> Plans:
    found = {}
    for name, day in DAYS.items():
        scenario, problems = read_scenario(Path(f"scenarios/{name}"))
        assert scenario is not None, problems
        season, faults = scenario.season_on(date.fromisoformat(day))
        assert season is not None, faults
        found[name] = make_plan(season, date.fromisoformat(day))
    return found


CHARTS = ("Spent so far after", "Cash by month", "Life used by part", "The season by cause", "What drives the spread")
MARKED = " ~ rests on a guess"


def amount(text: str) -> Decimal:
    return Decimal(text.replace(",", ""))


@DEMOS
def test_months_are_those_of_the_plan(name: str, racer_pages: Pages, plans: Plans) -> None:
    table, months = racer_pages[name].table("Cash by month"), plans[name].months
    assert [amount(text) for text in table.column("Net")] == [month.net for month in months]
    assert sum(amount(text) for text in table.column("Net")) == plans[name].cash_total
    assert [amount(text) for text in table.column("So far")] == [month.so_far for month in months]


@DEMOS
def test_causes_add_up_to_the_total_in_each_view(name: str, racer_pages: Pages, plans: Plans) -> None:
    table = racer_pages[name].table("The season by cause")
    for view, total in (("Cash", plans[name].cash_total), ("Wear", plans[name].wear_total)):
        *lines, sums = table.column(view)
        assert sum(amount(text) for text in lines if text) == amount(sums) == total


@DEMOS
def test_the_ledger_of_cash_is_whole(name: str, racer_pages: Pages, plans: Plans) -> None:
    table = racer_pages[name].table("The ledger of cash")
    assert len(table.rows) == sum(row.view == "cash" for row in plans[name].ledger)
    assert sum(amount(text) for text in table.column("Cash")) == plans[name].cash_total


@DEMOS
def test_a_figure_of_few_rows_says_them_all(name: str, racer_pages: Pages) -> None:
    page, checked = racer_pages[name], 0
    table = page.table("The season by cause")
    for (row, column), slip in table.whys.items():
        lines = page.slips[slip]
        if not lines[-1].startswith("and "):
            assert sum(amount(line.split()[0]) for line in lines) == amount(table.rows[row][column])
            checked += 1
    assert checked


@DEMOS
def test_every_row_that_a_why_names_is_in_the_files(name: str, racer_pages: Pages) -> None:
    lines = [line for slip in racer_pages[name].slips.values() for line in slip]
    places = {found for line in lines for found in re.findall(r"\(((?:scenarios|catalogs)/[^ ():]+):(\d+)\)", line)}
    assert len(places) > 10
    assert all(int(number) <= len(Path(file).read_bytes().splitlines()) for file, number in places)


@DEMOS
def test_every_chart_has_its_figures_as_a_table_and_marks_that_say_why(name: str, racer_pages: Pages) -> None:
    page = racer_pages[name]
    charts = page.tags.count("figure")
    assert charts == 5
    assert page.tags.count("svg") == 2 * charts
    wanted = {
        "Spent so far after",
        "Cash by month",
        "Life used by part",
        "The season by cause",
        "What drives the spread",
    }
    assert all(page.table(caption).rows for caption in wanted)
    lives = page.table("Life used by part").column("Part")
    assert all(
        any(mark.startswith(part.split(",")[0].removesuffix(" ~ rests on a guess")) for mark in page.marks)
        for part in lives
    )


@DEMOS
def test_guesses_are_marked_and_listed_with_their_rows(name: str, racer_pages: Pages, plans: Plans) -> None:
    page, plan = racer_pages[name], plans[name]
    listed = page.table("Inputs that are guesses")
    assert len(listed.rows) == len(plan.assumed) > 0
    assert all(re.search(r"\w+\.(csv|toml):\d+$", place) for place in listed.column("Where"))
    marked = [text for text in page.table("Life used by part").column("Part") if text.endswith(MARKED)]
    assert len(marked) == sum(line.assumed for line in plan.life_used)


@DEMOS
def test_headings_go_down_step_by_step_and_links_lead_somewhere(name: str, racer_pages: Pages) -> None:
    page = racer_pages[name]
    assert [level for level, _ in page.headings] == [1, *[2] * (len(page.headings) - 1)]
    assert len(page.ids) == len(set(page.ids))
    inside = [link.removeprefix("#") for link in page.links if link.startswith("#")]
    assert len(inside) > 5
    assert set(inside) <= set(page.ids)
    assert all(link == "data:," for link in page.links if not link.startswith("#"))


def test_what_must_be_inspected_comes_before_any_figure(racer_pages: Pages) -> None:
    words = racer_pages["oval-v8"].words
    assert words.index("Inspect blue before it runs again") < words.index("The season as planned")


@DEMOS
def test_invented_data_says_so_and_cautions_close_the_page(name: str, racer_pages: Pages) -> None:
    words = racer_pages[name].words
    assert words.index("Invented data") < words.index("In short")
    assert "lives are assumptions and parts can fail new" in words
    assert not re.search(r"\b(is|are) (safe|legal)\b", words)
