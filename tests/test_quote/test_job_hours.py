"""Hours by operation over jobs, worked by hand, and a work.csv with some of its cells written anew."""

from __future__ import annotations

import csv
import io
import statistics
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costplan.quote.job import Job, LeftOut, cells_to_write, hours_of, rewritten
from costplan.quote.job.hours import deviation_of, to_write
from costplan.reading import read_sheet
from tests.test_quote.small_job import BOOK, ROWS, job_of, rows_of, until

OLD = """\
a,2026-03-02,worked,,,,build,,9,,,,
a,2026-03-03,worked,,,,build,,2,,,,
a,2026-03-03,worked,,,,seats,2,7,,,,
b,2026-05-01,worked,,,,build,,8,,,,
b,2026-05-02,worked,,,,seats,,5,,,,
b,2026-05-02,worked,,,,strip,,0,,,,
"""


def older(folder: Path, text: str = OLD) -> list[Job]:
    names = list(dict.fromkeys(line.split(",")[0] for line in text.splitlines()))
    rows = rows_of(text, folder)
    return [Job(name, tuple(row for row in rows if row.job == name), {}, request=False) for name in names]


def test_the_hours_of_three_jobs_by_hand(tmp_path: Path) -> None:
    found = hours_of([job_of(ROWS, tmp_path), *older(tmp_path)], BOOK, "USD")
    strip, build, seats = found.works
    assert (found.jobs, build.jobs, build.smallest, build.largest) == (3, 3, Decimal(8), Decimal("13.5"))
    # 11, 8 and 13.5: mean 32.5 / 3; squares about it 0.0278, 8.0278, 7.1111: 15.1667 / 2
    assert build.mean == Decimal("32.5") / 3
    assert build.deviation is not None
    assert float(build.deviation) == pytest.approx((15.16666667 / 2) ** 0.5)
    assert (build.first, build.last) == (date(2026, 3, 2), date(2027, 3, 9))
    assert (build.listed, build.listed_source) == (Decimal(10), "a guess")
    assert build.difference is not None
    assert float(build.difference) == pytest.approx(1 / 12)
    assert build.worth == Decimal("75.00")  # 0.8333 h x 90.00
    assert (build.hours, build.source) == (Decimal("10.8"), "mean of 3 jobs, 2026-03-02 to 2027-03-09")
    # by the piece: 7 h on two as the row says, 5.5 h on two as 6 h of the contract over 3 h of work.csv say
    assert (seats.jobs, seats.per, seats.pieces, seats.mean) == (2, "piece", Decimal(2), Decimal("3.125"))
    assert seats.worth == Decimal("25.00")  # 0.125 h x 2 pieces x 100.00
    assert (strip.jobs, strip.mean, strip.deviation) == (1, Decimal("4.5"), None)


def test_what_is_left_out_says_why(tmp_path: Path) -> None:
    in_hand = job_of(until("2027-03-09"), tmp_path)
    found = hours_of([in_hand, *older(tmp_path)], BOOK, "USD")
    assert found.left_out == (
        LeftOut("top", "", "not finished"),
        LeftOut("b", "seats", "by the piece, and nothing says how many; give quantity"),
    )
    assert [one.work for one in found.works] == ["build", "seats"]  # strip was booked at no hours: it was not done


def test_pieces_are_not_guessed_where_work_has_other_hours_by_now(tmp_path: Path) -> None:
    book = replace(BOOK, work=tuple(row.model_copy(update={"hours": Decimal("3.5")}) for row in BOOK.work))
    found = hours_of([job_of(ROWS, tmp_path)], book, "USD")
    assert ("top", "seats") in [(one.job, one.work) for one in found.left_out]  # 6 h over 3.5 h is no number of pieces


def test_one_job_says_little(tmp_path: Path) -> None:
    found = hours_of(older(tmp_path, OLD[: OLD.index("b,")]), BOOK, "USD")
    assert [(one.work, one.says_little, one.deviation) for one in found.works] == [
        ("build", True, None),
        ("seats", True, None),
    ]
    assert found.works[0].source == "1 job, 2026-03-03: one job says little"
    assert cells_to_write(found, 2) == {}
    assert cells_to_write(found, 1)["build"]["hours"] == "11"


@given(st.lists(st.decimals(0, 100, places=2), min_size=2, max_size=20))
def test_the_deviation_is_that_of_a_sample(values: list[Decimal]) -> None:
    assert float(deviation_of(values) or 0) == pytest.approx(statistics.stdev(map(float, values)), abs=1e-6)


@given(st.decimals("0.01", 1000, places=4))
def test_hours_are_written_to_a_tenth_or_a_hundredth(mean: Decimal) -> None:
    assert abs(to_write(mean) - mean) <= (Decimal("0.05") if mean >= 1 else Decimal("0.005"))


def again(text: str, cells: dict[str, dict[str, str]], folder: Path) -> str:
    path = folder / "work.csv"
    path.write_bytes(text.encode())
    sheet, problems = read_sheet(path)
    assert sheet is not None
    assert problems == ()
    return rewritten(text, sheet, "work", cells)


NEW = {"build": {"hours": "10.8", "source": "mean of 3 jobs, one to two"}}


@pytest.mark.parametrize(
    ("before", "after"),
    [
        (
            'work,hours,source,note\nstrip,4,"a ""guess""",\n\nbuild,10,,3" pipe\n',
            'work,hours,source,note\nstrip,4,"a ""guess""",\n\nbuild,10.8,"mean of 3 jobs, one to two",3" pipe\n',
        ),
        (
            "\ufeffsource;hours;work\r\n;4;strip\r\nold;10;build",
            "\ufeffsource;hours;work\r\n;4;strip\r\nmean of 3 jobs, one to two;10,8;build",
        ),
        (
            'sep=;\nwork;"the\nhours";hours\nbuild;"a\nb";10\n',
            'sep=;\nwork;"the\nhours";hours;source\nbuild;"a\nb";10,8;mean of 3 jobs, one to two\n',
        ),
        (
            "work,note,hours,source\nbuild\nstrip,x\n",
            'work,note,hours,source\nbuild,,10.8,"mean of 3 jobs, one to two"\nstrip,x\n',
        ),
        ("work,hours\nstrip,4\n", "work,hours,source\nstrip,4\n"),
    ],
)
def test_only_the_cells_meant_are_written_anew(tmp_path: Path, before: str, after: str) -> None:
    assert again(before, NEW, tmp_path) == after


def test_nothing_to_write_leaves_the_file_as_it_is(tmp_path: Path) -> None:
    assert again("work,hours\nstrip,4\n", {}, tmp_path) == "work,hours\nstrip,4\n"


CELL = st.text(st.sampled_from('ab ,;"\n.1'), max_size=6)


@given(st.lists(st.tuples(CELL, CELL, CELL), min_size=1, max_size=5), st.sampled_from(["\n", "\r\n"]))
def test_every_other_cell_stays(
    tmp_path_factory: pytest.TempPathFactory, rows: list[tuple[str, ...]], end: str
) -> None:
    out = io.StringIO()
    csv.writer(out, lineterminator=end).writerows([("work", "hours", "source", "note"), *(("x", *row) for row in rows)])
    given_, text = list(csv.reader(io.StringIO(out.getvalue(), newline=""))), out.getvalue()
    found = again(text, {"x": {"hours": "2.5", "source": "mean"}}, tmp_path_factory.getbasetemp())
    after = list(csv.reader(io.StringIO(found, newline="")))
    assert after == [given_[0], *([row[0], "2.5", "mean", row[3]] for row in given_[1:])]
