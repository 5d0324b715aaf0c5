"""The official's page says what the study says, of whom, and from which rows; the fields are small enough to add up."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from costplan.impact.figures import ChangeImpact, Impact
from costplan.impact.flipping import Flip, Flips
from costplan.report.web.official import OfficialAnswers, official_page
from costplan.report.web.writing import html_of
from tests.command_line import run
from tests.test_impact.small_field import desk, field_of, written
from tests.test_web.reading import Read, TableRead, read

FIELD = """\
group,entrants,budget,leaves_above,age_low,age_high,source
locals,3,0,100,10 %,80 %,letter of the club
travellers,2,500,2000,20 %,60 %,entry lists
hopefuls,1,0,,,,
"""
SURVEY = """\
group,asks,low,likely,high,answers,date,source
locals,entrants,2,3,5,3,2027-01-20,asked at the gate
travellers,budget,100,500,900,2,,
"""
SUPPLY = "part,ready,a_week,rise,rise_low,rise_high,source\nSP-B,10,1,20 %,10 %,30 %,telephone\n"
NOBODYS = Flip("how often it rains", Decimal(-40), Decimal(3), Decimal(25), Decimal(2), 1.1)
STEADY = Flip("purses", Decimal(9), Decimal(1), Decimal(7), Decimal(1), None)


@dataclass(frozen=True)
class Shown:
    """A study, its page, the folder that it was read from."""

    found: Impact
    answers: OfficialAnswers
    html: str
    page: Read
    folder: Path

    def after(self, heading: str, caption: str) -> TableRead:
        """The table of a caption in the section of a change."""
        number = [one.name for one in self.found.changes].index(heading)
        return [table for table in self.page.tables if table.caption.startswith(caption)][number]

    def why(self, table: TableRead, row: int, column: str) -> list[str]:
        return self.page.slips[table.whys[row, table.header.index(column)]]


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> Shown:
    folder = written(tmp_path_factory.mktemp("field"), field=FIELD, survey=SURVEY, supply=SUPPLY)
    field = field_of(folder, "springs", "both")
    found = desk(field, 8).impact()
    flips = tuple(
        Flips(one.file, one.name, one.total.over.mean, (NOBODYS, STEADY)[number:])
        for number, one in enumerate(found.changes)
    )
    rows = tuple(crowd.row for crowd in field.crowds)
    answers = OfficialAnswers(date(2027, 1, 25), found, flips, rows, field.supplies)
    html = html_of(official_page(answers))
    return Shown(found, answers, html, read(html), folder)


def amount(text: str) -> Decimal:
    return Decimal(text.replace(",", ""))


def close(one: Decimal, other: Decimal, within: float) -> bool:
    return abs(one - other) <= Decimal(repr(within))


def test_every_change_has_its_card_its_section_and_its_sentence(shown: Shown) -> None:
    titles = [title for level, title in shown.page.headings if level == 2]
    for one in shown.found.changes:
        assert f"{one.name} in full" in titles
        says = "saves" if one.total.over.mean < 0 else "costs"
        assert f"{one.name} {says} {abs(one.total.over.mean):,.0f} over 4 years" in shown.page.words


def test_who_pays_is_a_row_for_each_group_the_worst_hit_first(shown: Shown) -> None:
    for one in shown.found.changes:
        table = shown.page.table(f"Who pays for {one.name}")
        assert table.column("Group") == [group.group for group in one.by_worst()]
        for at, (text, title) in enumerate((("once", "Once"), ("first", "First year"), ("over", "4 years"))):
            figures = [getattr(group, text) for group in one.by_worst()]
            means = [figure if at == 0 else figure.mean for figure in figures]
            assert all(close(amount(cell), mean, 0.5) for cell, mean in zip(table.column(title), means, strict=True))


def test_what_is_paid_once_is_the_sum_of_the_lines_behind_it_and_each_has_its_row(shown: Shown) -> None:
    table = shown.page.table("Who pays for B both")
    for row, group in enumerate(shown.found.changes[1].by_worst()):
        lines = shown.why(table, row, "Once")
        assert close(sum((amount(line.split()[0]) for line in lines), Decimal(0)), group.once, len(lines) / 2)
        bought = [line for line in lines if " buys " in line]
        assert bought
        for line in bought:
            part, number = re.search(r"buys (\S+), .*\(parts\.csv:(\d+)\)", line).groups()  # type: ignore[union-attr]
            text = (shown.folder / "catalog" / "parts.csv").read_text("utf-8").splitlines()[int(number) - 1]
            assert text.startswith(f"{part},")


def test_a_group_says_which_rows_it_is(shown: Shown) -> None:
    table = shown.after("B springs", "What each would do")
    names = dict(zip(table.column("Group"), range(3), strict=True))
    first = {name: shown.page.slips[slip] for name, slip in _first_whys(shown)}
    assert set(first) == set(names)
    assert first["locals"][:2] == ["field.csv:2: locals, 3 entrants", "letter of the club"]
    assert first["locals"][2].startswith("survey.csv:2: entrants, 2 / 3 / 5; 3 answers; asked at the gate, 2027-01-20")
    assert "nobody stands for this row" in first["hopefuls"][1]


def _first_whys(shown: Shown) -> Iterator[tuple[str, str]]:
    """Names of groups with their slips, as they stand at the head of their rows."""
    for found in re.finditer(r'scope="row"><button [^>]*popovertarget="([^"]+)">(\w+)<', shown.html):
        if found[2] in ("locals", "travellers", "hopefuls"):
            yield found[2], found[1]


def test_side_by_side_is_the_field_and_its_groups_add_up(shown: Shown) -> None:
    table = shown.page.table("The changes side by side")
    for one in shown.found.changes:
        once = table.column(one.name)[0]
        assert close(amount(once), one.total.once, 0.5)
        lines = shown.page.slips[table.whys[0, table.header.index(one.name)]]
        sums = [amount(line.split()[0]) * int(re.search(r"\((\d+)\)$", line)[1]) for line in lines]  # type: ignore[index]
        assert close(sum(sums, Decimal(0)), one.total.once, 0.5 * shown.found.entrants + 0.5)


def test_a_year_before_is_what_the_field_pays_if_nothing_is_done(shown: Shown) -> None:
    """Two ways to the same money: cash by slot and level of each group, and the field's cash year by year."""
    today, years = shown.found.as_it_is, shown.found.study.years
    wanted = (today.first + (years - 1) * today.yearly) / years
    for one in shown.found.changes:
        assert close(sum((group.year.before * group.count for group in one.groups), Decimal(0)), wanted, 0.1)


def test_a_year_after_differs_by_what_the_difference_is_made_of(shown: Shown) -> None:
    for one in shown.found.changes:
        table = shown.after(one.name, "Cash a year by entrant")
        more = sum((group.year.more * group.count for group in one.groups), Decimal(0))
        assert more != 0
        drawn = sum((amount for _, amount in one.drivers), Decimal(0))
        assert close(drawn, more, 0.5 * 6 * shown.found.entrants)
        cells = [amount(text) for text in table.column("More")]
        assert cells == [round(group.year.more) for group in one.by_worst()]


def test_the_year_is_the_cash_of_the_years_as_the_study_has_it(shown: Shown) -> None:
    """First year less what is paid once, and each later year: their mean is the difference of the two bars."""
    years = shown.found.study.years
    for one in shown.found.changes:
        for group in one.groups:
            wanted = (group.first.mean - group.once + (years - 1) * group.yearly.mean) / years
            assert close(group.year.more, wanted, 0.05)


def test_supply_says_the_row_and_marks_who_waits(shown: Shown) -> None:
    table = shown.after("B springs", "What must be bought at once")
    row = shown.found.changes[0].supply[0]
    assert (row.part, table.rows[0][2]) == ("SP-B", str(row.wanted))
    assert any("supply.csv:2: 10 ready, 1 made a week" in line for lines in shown.page.slips.values() for line in lines)
    assert any("its price rises by 20% (10% to 30%)" in line for lines in shown.page.slips.values() for line in lines)
    assert row.waiting
    assert 'class="mark"' in shown.html


def test_what_turns_a_change_about_is_marked_in_words_and_bars(shown: Shown) -> None:
    tables = [table for table in shown.page.tables if table.caption.startswith("Which assumption turns")]
    assert [table.column("Assumption") for table in tables] == [["how often it rains", "purses"], ["purses"]]
    assert "What reaches over zero turns it about: how often it rains." in shown.page.words
    assert "None reaches over zero." in shown.page.words
    said = "how often it rains\na fifth lower: -40 +/- 3\na fifth higher: +25 +/- 2"
    assert shown.page.marks.count(said) == 2


def test_it_says_on_how_many_seasons_it_rests_and_what_it_leaves_out(shown: Shown) -> None:
    words = shown.page.words
    assert f"Each entrant's {shown.found.seasons} seasons, 4 years in a row" in words
    assert all(limit in words for limit in shown.found.limits)
    assert "is not passing inspection" in words
    assert "No entrant is named" in words
    assert not re.search(r"\b(is|are) (safe|legal)\b|costplan impact|--\w", words)


def test_every_input_has_whose_word_it_is_and_what_nobody_stands_for_is_marked(shown: Shown) -> None:
    table = shown.page.table("Whose word the inputs are")
    assert table.rows[-1][0].startswith("figures of impact.toml")
    marked = [row[0] for row in table.rows if row[0].endswith(" ~ rests on a guess")]
    assert [name.split(" ~")[0] for name in marked] == ["group hopefuls"]
    asked = shown.page.table("What the groups were asked")
    assert [row[0] for row in asked.rows] == ["locals", "travellers"]
    assert asked.rows[1][2].startswith("100 / 500 / 900")
    assert asked.rows[1][2].endswith("rests on a guess")


def test_changes_of_one_name_are_told_apart_by_their_files(shown: Shown) -> None:
    found = shown.found
    alike = replace(found, changes=tuple(replace(one, name="Springs") for one in found.changes))
    page = official_page(replace(shown.answers, found=alike))
    titles = [section.title for section in page.sections]
    assert "Springs (change-springs.toml) in full" in titles
    assert "Springs (change-both.toml) in full" in titles
    assert len(titles) == len(set(titles))


def test_who_cannot_comply_is_told_and_not_counted(tmp_path: Path) -> None:
    field = field_of(written(tmp_path), "never")
    found = desk(field, 4).impact()
    rows = tuple(crowd.row for crowd in field.crowds)
    page = read(html_of(official_page(OfficialAnswers(date(2027, 1, 25), found, (), rows, {}))))
    one: ChangeImpact = found.changes[0]
    assert one.total.unable == 3
    assert page.table("Who pays for at odds").rows[0][2] == "cannot comply"
    assert "For 3 entrants no parts of the catalogs were found that comply" in page.words


def test_headings_and_links_hold_together(shown: Shown) -> None:
    page = shown.page
    assert page.headings[0][0] == 1
    assert all(after <= before + 1 for (before, _), (after, _) in zip(page.headings, page.headings[1:], strict=False))
    assert len(page.ids) == len(set(page.ids))
    assert {link[1:] for link in page.links if link.startswith("#")} <= set(page.ids)
    charts = page.tags.count("figure")
    assert charts == 2 + 5 * len(shown.found.changes)
    assert page.tags.count("svg") == 2 * charts


def test_the_command_writes_it_where_there_is_a_field_and_says_what_is_missing_where_not(tmp_path: Path) -> None:
    cup, out = tmp_path / "cup", tmp_path / "pages"
    shutil.copytree(Path(__file__).parents[1] / "bad_inputs" / "base", cup)
    asked = ("report", cup, "--for", "official", "--on", "2031-01-15", "--seasons", 10, "--out", out)
    status, _, error = run(*asked)
    assert (status, error) == (0, "")
    text = (out / "cup-official-2031-01-15.html").read_text("utf-8")
    assert len(text.encode()) < 1_500_000
    assert "One spring in full" in text
    assert str(tmp_path) not in text
    (cup / "field.csv").unlink()
    status, _, error = run(*asked)
    assert status == 2
    assert "field.csv" in error
