"""What LibreOffice makes of our workbooks, all of them converted at one start."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from openpyxl import Workbook

from costplan.report.impact.workbook import impact_xlsx
from tests.test_report.test_impact_workbook import small_study
from tests.test_report.test_season_workbook import HOSTILE, ROOT, Made, made
from tests.workbooks import WITH_SOFFICE, changeable, column_of, read, recalculated, row_of

pytestmark = WITH_SOFFICE


@pytest.fixture(scope="module")
def kart() -> Made:
    """A plan whose events have names that a spreadsheet would take for patterns and formulas."""
    found = made(ROOT / "scenarios/kart-single", date(2027, 2, 1))
    names = {row.event: HOSTILE[n % len(HOSTILE)] for n, row in enumerate(found.plan.ledger) if row.event}
    rows = tuple(replace(row, event=names.get(row.event, "")) for row in found.plan.ledger)
    return replace(found, plan=replace(found.plan, ledger=rows))


@pytest.fixture(scope="module")
def given(kart: Made) -> dict[str, bytes]:
    log = made(ROOT / "scenarios/oval-v8", date(2027, 7, 1))
    return {"kart": kart.book(), "oval": log.book(), "impact": impact_xlsx(small_study())}


@pytest.fixture(scope="module")
def anew(given: dict[str, bytes], tmp_path_factory: pytest.TempPathFactory) -> dict[str, Workbook]:
    """Each workbook as LibreOffice works it out, and that of the kart with one amount 1000 higher."""
    books = {name: changeable(data) for name, data in given.items()}
    changed = changeable(given["kart"])
    page = changed["Ledger"]
    first = f"{column_of(page, 'Amount')}{row_of(page, 'View') + 1}"
    page[first].value += 1000
    return recalculated({**books, "changed": changed}, tmp_path_factory.mktemp("elsewhere"))


@pytest.mark.parametrize("name", ["kart", "oval", "impact"])
def test_it_gives_every_figure_as_it_was_written(name: str, given: dict[str, bytes], anew: dict[str, Workbook]) -> None:
    formulas, ours = changeable(given[name]), read(given[name])
    wrong, count = [], 0
    for page in formulas.worksheets:
        for cell in (cell for row in page.iter_rows() for cell in row if cell.data_type == "f"):
            was, now = ours[page.title][cell.coordinate].value, anew[name][page.title][cell.coordinate].value
            same = (was or "") == (now or "") if isinstance(was, str) or isinstance(now, str) else None
            if same is None:
                same = abs((was or 0) - (now or 0)) < 1e-6
            wrong += [] if same else [(page.title, cell.coordinate, was, now)]
            count += 1
    assert wrong == []
    assert count > 100


def test_a_changed_amount_moves_its_sums(kart: Made, anew: dict[str, Workbook]) -> None:
    row = kart.plan.ledger[0]
    before, after = anew["kart"]["Summary"], anew["changed"]["Summary"]
    assert row.view == "cash"
    for words, below in (("paid", ""), (row.cause, "By cause"), (row.event or "of no event", "By event")):
        line = row_of(before, words, row_of(before, below) if below else 0)
        assert after[f"B{line}"].value - before[f"B{line}"].value == pytest.approx(1000), words
