"""The builder's page: what it shows is what the records of its rooms say, and what cannot be answered is left out."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from costplan.cli.progress import Bars
from costplan.cli.report import builder
from costplan.cli.report.asked import Asked
from costplan.quote import make_quote, open_desk
from costplan.quote.job import read_jobs, stand
from costplan.report.tables import money
from costplan.report.web.blocks import Block, Cards, Cell, Chart, Section, Sheet, WebPage, Words
from costplan.report.web.builder import BuilderAnswers, builder_page
from costplan.report.web.writing import html_of
from costplan.rules import Finding
from costplan.scenario import Scenario, read_scenario

ROOT = Path(__file__).parents[2]
DAY = date(2027, 7, 1)
REQUESTS = ("freshen-blue", "new-engine", "rebuild-blue")


def asked_of(folder: Path) -> Asked:
    """A folder on the day, with nothing drawn: the builder's page draws no season."""
    scenario, problems = read_scenario(folder)
    assert scenario is not None, problems
    return Asked(folder, scenario, DAY, (), (), 10, 1, Bars(), as_json=False)


@pytest.fixture(scope="module")
def oval() -> Iterator[tuple[Scenario, BuilderAnswers]]:
    """The demo with a shop, read at its root as a user would."""
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(ROOT)
        patch.setattr(builder, "POINTS", 4)
        asked = asked_of(Path("scenarios/oval-v8"))
        yield asked.scenario, builder.answers_of(asked)


@pytest.fixture(scope="module")
def page(oval: tuple[Scenario, BuilderAnswers]) -> WebPage:
    return builder_page(oval[1])


@pytest.fixture(scope="module")
def kart(tmp_path_factory: pytest.TempPathFactory) -> BuilderAnswers:
    """A two-stroke whose folder has no shop, and whose pattern no airflow."""
    folder = tmp_path_factory.mktemp("kart") / "scenarios"
    shutil.copytree(ROOT / "scenarios" / "kart-single", folder / "kart-single")
    shutil.copytree(ROOT / "catalogs", folder.parent / "catalogs")
    for name in ("shop.toml", "work.csv", "jobs.csv"):
        (folder / "kart-single" / name).unlink()
    return builder.answers_of(asked_of(folder / "kart-single"))


def section(page: WebPage, title: str) -> Section:
    return next(one for one in page.sections if one.title == title)


def sheet(page: WebPage, title: str, begins: str) -> Sheet:
    """The table of a section whose title begins so."""
    blocks = section(page, title).blocks
    return next(one for one in blocks if isinstance(one, Sheet) and one.title.startswith(begins))


def cards(page: WebPage) -> dict[str, tuple[Cell, str]]:
    (found,) = (block for block in section(page, "In short").blocks if isinstance(block, Cards))
    return {name: (cell, word) for name, cell, word in found.cards}


def words_in(blocks: tuple[Block, ...]) -> str:
    return " ".join(line for block in blocks if isinstance(block, Words) for line in block.lines)


def column(found: Sheet, name: str) -> list[str]:
    at = found.header.index(name)
    return [row[at].text for row in found.rows]


def test_the_build_costs_what_its_bill_says_and_each_line_names_its_row(
    oval: tuple[Scenario, BuilderAnswers], page: WebPage
) -> None:
    bill = oval[0].bill(DAY)
    cell, _ = cards(page)["Parts of the build, new"]
    assert cell.text == money(bill.total)
    rows = sheet(page, "Bill of materials", "Parts to buy").rows
    assert len(rows) == len(bill.lines)
    for row, line in zip(rows, bill.lines, strict=True):
        assert row[2].text == f"{money(line.cost)}\n{line.price_date}\n{line.price_age_days} days"
        assert str(line.place) in row[2].why


def test_an_old_price_is_marked_and_told_first(oval: tuple[Scenario, BuilderAnswers]) -> None:
    found = oval[1]
    first, *rest = found.bill.lines
    bill = replace(found.bill, lines=(replace(first, stale=True), *rest))
    page = builder_page(replace(found, bill=bill))
    table = sheet(page, "Bill of materials", "Parts to buy")
    assert table.mark == (0,)
    assert table.rows[0][2].text.endswith("days, old")
    assert "1 price of the bill is old and to be asked again." in words_in(section(page, "In short").blocks)


@pytest.mark.parametrize("request_", REQUESTS)
def test_a_quote_is_what_pricing_it_gives(page: WebPage, request_: str) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(ROOT)
        desk, _ = open_desk(Path("scenarios/oval-v8"))
        assert desk is not None
        asked, _ = desk.request(request_)
        assert asked is not None
        asking, _ = desk.asking(asked, asked.head.date or DAY)
        assert asking is not None
        quote, _ = make_quote(asking)
    assert quote is not None
    cell, word = cards(page)[f"Quote {request_}"]
    assert cell.text == money(quote.totals.gross)
    assert money(abs(quote.margin.above_floor)) in word
    assert ("below the floor" in word) == (quote.margin.above_floor < 0)
    lines = sheet(page, f"Quote {request_}", "Lines")
    headings = {row[0].text for at, row in enumerate(lines.rows) if at in lines.mark}
    assert headings == set(quote.headings)
    assert [row[3].text for at, row in enumerate(lines.rows) if at not in lines.mark] == [
        money(line.net) for heading in quote.headings for line in quote.lines if line.heading == heading
    ]
    assert column(sheet(page, f"Quote {request_}", "Tax"), "Tax") == [money(one.amount) for one in quote.totals.groups]
    assert len(quote.allowances) == sum(
        len(block.rows)
        for block in section(page, f"Quote {request_}").blocks
        if isinstance(block, Sheet) and block.title == "What tear-down may add"
    )


def test_it_says_that_it_is_not_the_customers_copy(page: WebPage) -> None:
    assert "This is not the customer's copy" in words_in(section(page, "Quotes").blocks)


def test_saved_revisions_stand_beside_the_price_with_what_moved(
    oval: tuple[Scenario, BuilderAnswers], page: WebPage
) -> None:
    (found,) = (one for one in oval[1].quotes if one.request == "freshen-blue")
    table = sheet(page, "Quote freshen-blue", "Saved revisions")
    assert column(table, "Revision") == ["1", "2", "as above"]
    assert column(table, "With tax")[:2] == [money(one.totals.gross) for one in found.revisions]
    (change,) = found.differences
    assert table.rows[1][4].text == f"+{money(change.gross)}"
    assert len(table.rows[1][4].why) == len(change.moved)


def test_a_job_shows_what_it_earned_beside_what_was_quoted(page: WebPage) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(ROOT)
        desk, _ = open_desk(Path("scenarios/oval-v8"))
        assert desk is not None
        jobs, _ = read_jobs(desk)
    (job,) = (one for one in jobs if one.name == "freshen-blue")
    earnings = stand(job, desk.book, "USD", DAY).earnings
    assert earnings is not None
    assert earnings.earned is not None
    (row,) = sheet(page, "Jobs", "What jobs earn").rows
    assert [cell.text for cell in row[2:5]] == [
        money(one.earned) for one in (earnings.quoted, earnings.contract, earnings.earned)
    ]


def clauses(page: WebPage, begins: str) -> list[str]:
    return column(sheet(page, "How the build stands to the book", begins), "Clause")


def test_each_clause_stands_where_its_finding_puts_it(oval: tuple[Scenario, BuilderAnswers], page: WebPage) -> None:
    (pack,) = oval[0].verdicts(DAY)

    def of(verdict: str) -> list[str]:
        return [one.rule for one in pack.findings if one.verdict == verdict]

    assert clauses(page, "To bring") == list(pack.to_bring)
    assert clauses(page, "Met") == of("meets")
    assert clauses(page, "Not asked") == of("not asked")
    assert clauses(page, "Shown only") == [one for one in of("cannot be shown") if one in pack.by_record]


def test_what_is_close_to_a_limit_has_a_card_with_its_worst_case(
    oval: tuple[Scenario, BuilderAnswers], page: WebPage
) -> None:
    (pack,) = oval[0].verdicts(DAY)
    (ratio,) = (one for one in pack.findings if one.rule == "T8-compression")
    assert ratio.worst_breaks
    cell, word = cards(page)["Close to its limit: T8-compression"]
    assert cell.text == "10.064"
    assert word == "at most 10.25; worst case 9.7774 to 10.369"
    assert ratio.place in cell.why


def test_a_broken_clause_is_told_first(oval: tuple[Scenario, BuilderAnswers]) -> None:
    found = oval[1]
    (pack,) = found.verdicts
    first, *rest = pack.findings
    broken: Finding = replace(first, verdict="breaks")
    page = builder_page(replace(found, verdicts=(replace(pack, findings=(broken, *rest)),)))
    assert f"Breaks {pack.name}: {first.rule}." in words_in(section(page, "In short").blocks)
    assert clauses(page, "Broken") == [first.rule]


def test_a_measure_tells_its_formula_and_the_rows_it_comes_from(
    oval: tuple[Scenario, BuilderAnswers], page: WebPage
) -> None:
    figure = oval[0].figures(on=DAY).measure("compression_ratio")
    (row,) = (one for one in sheet(page, "Measures", "Measures").rows if one[0].text == "compression ratio")
    assert row[1].why[1:] == figure.why
    assert "volume" in row[1].why[0]


def test_power_is_called_an_estimate_with_its_error(oval: tuple[Scenario, BuilderAnswers], page: WebPage) -> None:
    estimator = oval[0].estimator(DAY)
    assert estimator is not None
    looked = estimator.look(oval[0].built())
    assert looked.peak is not None
    assert looked.error is not None
    cell, _ = cards(page)["Power, an estimate with its error"]
    assert cell.text == f"{looked.peak.value:,.0f} +/- {round(looked.error.value)} hp"
    titles = [one.title for one in section(page, "Airflow and power").blocks if isinstance(one, Chart)]
    assert titles == ["What restricts the intake", "Estimated power over speed"]


def test_steps_within_the_error_of_the_estimate_buy_nothing_certain(
    oval: tuple[Scenario, BuilderAnswers], page: WebPage
) -> None:
    choices = oval[1].choices
    assert choices is not None
    points = choices.frontier.points
    bought = column(sheet(page, "What more money buys", "Each step up"), "Buys")
    assert len(points) > 2
    assert [one.startswith("more power") for one in bought[1:]] == [
        one.step.certain for one in points if one.step is not None
    ]
    (chart,) = (one for one in section(page, "What more money buys").blocks if isinstance(one, Chart))
    drawn = chart.wide["data"]["values"]
    assert [row["state"] for row in drawn[1:]] == [
        "more power" if one.step.certain else "nothing certain" for one in points if one.step is not None
    ]
    assert [Decimal(str(row["price"])) for row in drawn] == [one.option.price for one in points]


def test_all_parts_that_can_be_had_stand_once(oval: tuple[Scenario, BuilderAnswers], page: WebPage) -> None:
    choices = oval[1].choices
    assert choices is not None
    assert choices.swaps is not None
    shown = [
        row[0].text.partition("\n")[0]
        for block in section(page, "Options in each slot").blocks
        if isinstance(block, Sheet)
        for row in block.rows
    ]
    assert sorted(shown) == sorted(f"{one.slot}: {one.part}" for one in choices.swaps.swaps)


def test_a_quote_that_cannot_be_priced_is_told_and_the_rest_stands(oval: tuple[Scenario, BuilderAnswers]) -> None:
    first, *rest = oval[1].quotes
    page = builder_page(replace(oval[1], quotes=(replace(first, quote=None, refused=("no such run",)), *rest)))
    assert f"{first.request} cannot be priced: no such run" in words_in(section(page, "Quotes").blocks)
    assert f"Quote {first.request}" not in cards(page)
    assert f"Quote {rest[0].request}" in cards(page)


def test_the_page_is_one_file_of_modest_size_without_command_names(page: WebPage) -> None:
    text = html_of(page)
    assert len(text.encode()) < 1_500_000
    told = re.sub(r"<svg.*?</svg>|<style>.*?</style>|<script>.*?</script>", "", text, flags=re.DOTALL)
    assert not re.findall(r"(?<!-)--[a-z]+|costplan (?:quote|job|check|bom|columns|choose|airflow|rules|life)", told)
    assert not re.findall(r"\b(?:il)?legal|\bsafe", told, flags=re.IGNORECASE)


def test_without_shop_and_airflow_their_sections_are_left_out(kart: BuilderAnswers) -> None:
    page = builder_page(kart)
    text = html_of(page)
    titles = [one.title for one in page.sections if one.blocks]
    assert titles == [
        "In short",
        "How the build stands to the book",
        "Measures",
        "Bill of materials",
        "What more money buys",
        "Options in each slot",
        "Guesses",
    ]
    assert "For the shop only" not in text
    assert "customer" not in text.lower()
    assert money(kart.bill.total) in text
    assert not any("estimate" in name for name in cards(page))


def test_no_page_where_there_is_no_build(tmp_path: Path) -> None:
    for name in ("scenario.toml", "calendar.csv", "services.csv"):
        shutil.copy(ROOT / "costplan" / "templates" / "simple" / name, tmp_path / name)
    assert not builder.can_be_made(asked_of(tmp_path))
