"""What is wrong with a jobs.csv: each row by itself, beside the revisions, in its turn; and nothing is ever raised."""

from __future__ import annotations

import csv
import io
import random
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from costplan.problems import CODES, Problem
from costplan.quote import Desk, open_desk
from costplan.quote.job import hours_of, read_jobs, stand
from costplan.quote.job.rows import FOR_ALL, NEEDS, TAKES, JobRow
from tests.test_quote.small_job import HEADER, ROWS, make_shop

ACCEPTED = "top,2027-03-01,accepted,1,,,,,,,,A. Racer,\n"
FINISHED = "top,2027-03-12,finished,,,,,,,,,,\n"


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Desk:
    found, problems = open_desk(make_shop(tmp_path_factory.mktemp("job") / "shop"))
    assert problems == ()
    assert found is not None
    return found


def problems_of(desk: Desk, text: str) -> tuple[Problem, ...]:
    (desk.folder / "jobs.csv").write_text(HEADER + text, encoding="utf-8")
    jobs, problems = read_jobs(desk, desk.settings)
    assert not (jobs and problems)
    for problem in problems:
        assert problem.code in CODES
        assert problem.what, problem
        assert problem.advice, problem
    return problems


def told(problems: tuple[Problem, ...]) -> list[str]:
    return [f"{problem.place.line} {problem.field} {problem.code}" for problem in problems]


def test_the_small_job_is_without_faults(desk: Desk) -> None:
    assert problems_of(desk, ROWS) == ()


def test_without_a_file_there_are_the_requests_that_were_quoted(desk: Desk) -> None:
    (desk.folder / "jobs.csv").unlink(missing_ok=True)
    jobs, problems = read_jobs(desk, desk.settings)
    assert (problems, [(job.name, job.rows, sorted(job.quotes)) for job in jobs]) == ((), [("top", (), [1, 2])])


def row(what: str, **cells: str) -> str:
    """A row of the job on a day, with these cells."""
    names = HEADER.strip().split(",")
    given = {"job": "top", "date": "2027-03-08", "what": what, **cells}
    return ",".join(given.get(name, "") for name in names) + "\n"


#: What each word needs, filled in so that it stands.
FULL = {
    "revision": "2", "by": "A. Racer", "note": "words", "slot": "piston", "work": "strip", "hours": "1", "part": "P-1",
    "quantity": "1", "cost": "10", "amount": "10",
}  # fmt: skip


@pytest.mark.parametrize(("what", "missing"), [(what, name) for what, names in NEEDS.items() for name in names])
def test_a_word_asks_for_its_cells(desk: Desk, what: str, missing: str) -> None:
    cells = {name: FULL[name] for name in (*NEEDS[what], *(["work"] if what == "bought" else [])) if name != missing}
    assert told(problems_of(desk, row(what, **cells))) == [f"2 {missing} JOB001"]


@pytest.mark.parametrize("what", NEEDS)
def test_a_word_has_no_use_for_other_cells(desk: Desk, what: str) -> None:
    takes = (*NEEDS[what], *TAKES.get(what, ()))
    idle = [name for name in JobRow.model_fields if name not in (*FOR_ALL, *takes, "place")]
    for name in idle:
        cells = {one: FULL[one] for one in (*takes, name)}
        assert told(problems_of(desk, row(what, **cells))) == [f"2 {name} JOB002"]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (row("bought", cost="3"), "2 work JOB001"),
        (ACCEPTED + row("used", part="S-21", quantity="1"), "3 cost JOB001"),  # of the catalog, of no revision
        (row("accepted", job="tap", revision="1", by="A."), "2 job JOB003"),
        (row("agreed", job="tap", revision="1", by="A."), "2 job JOB003"),
        (row("accepted", revision="3", by="A."), "2 revision JOB004"),
        (row("worked", work="bilud", hours="1"), "2 work JOB005"),
        (row("bought", work="core/P-1", cost="1"), "2 work JOB005"),  # a deposit is no bill
        (row("found", slot="pistn", note="worn"), "2 slot JOB006"),
        (row("used", part="P-11", quantity="1", cost="1"), "2 part JOB007"),
        (row("agreed", revision="2", by="A."), "2 what JOB008"),
        (row("delivered"), "2 what JOB008"),
        (ACCEPTED + row("delivered"), "3 what JOB008"),
        (ACCEPTED + FINISHED + row("refused", by="A.", date="2027-03-13"), "4 what JOB008"),
        (ACCEPTED + ACCEPTED, "3 what JOB009"),
        (ACCEPTED + FINISHED + FINISHED, "4 what JOB009"),
        (row("stopped", note="a") + row("stopped", note="b"), "3 what JOB009"),
        (ROWS + row("worked", work="build", hours="1", date="2027-04-26"), "21 what JOB010"),
        (ROWS + row("agreed", revision="2", by="A.", date="2027-04-26"), "21 what JOB010"),
        (ACCEPTED + row("refused", by="A.") + row("finished"), "4 what JOB010"),
        (ACCEPTED.replace(",1,", ",2,").replace("-03-01", "-03-06") + row("agreed", revision="1", by="A."),
         "3 revision JOB011"),
        (ACCEPTED + row("returned", part="R-2", amount="1"), "3 part JOB012"),
        (ACCEPTED + row("returned", part="P-1", amount="41"), "3 amount JOB012"),
        (ACCEPTED + row("returned", part="P-1", amount="20") + row("returned", part="P-1", amount="20.01"),
         "4 amount JOB012"),
        (ACCEPTED.replace("2027-03-01", "2027-02-19"), "2 date JOB013"),
        (row("worked", work="strip", hours="-1"), "2 hours REA018"),
        (row("used", part="P-1", quantity="-1"), "2 quantity REA018"),
        (row("bought", work="balance", cost="-1"), "2 cost REA018"),
        (row("returned", part="P-1", amount="-1"), "2 amount REA018"),
        (row("paid", amount="1.5005"), "2 amount REA024"),
        (row("paid", amount="1.500"), "2 amount REA024"),
        (row("paid", amount="twelve"), "2 amount REA017"),
        (row("mended"), "2 what REA020"),
        (row("finished", date="8.3.2027"), "2 date REA019"),
        (row("received", note="=1+1"), "2 note REA012"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_at_its_place(desk: Desk, text: str, expected: str) -> None:
    assert told(problems_of(desk, text)) == [expected]


@pytest.mark.parametrize(
    "text",
    [
        row("paid", amount="-12.50"),
        row("worked", work="extra/old carb", hours="1").replace("extra/old carb", "work/build"),
        ACCEPTED + row("bought", work="freight", cost="0"),
        ACCEPTED + row("used", part="part/P-1", quantity="1"),
        ROWS + row("bought", work="freight", cost="3", date="2027-06-01"),
        ROWS + row("paid", amount="-1", date="2027-06-01"),
        ACCEPTED + row("refused", by="A.") + row("delivered"),
        row("stopped", note="a") + ACCEPTED.replace("-03-01", "-03-09") + row("stopped", note="b", date="2027-03-10"),
        row("worked", job="old", work="strip", hours="1") + row("paid", job="old", amount="3"),
    ],
)
def test_what_may_happen(desk: Desk, text: str) -> None:
    assert problems_of(desk, text) == ()


def test_the_advice_names_what_was_meant(desk: Desk) -> None:
    (problem,) = problems_of(desk, row("accepted", job="tap", revision="1", by="A."))
    assert problem.advice.startswith("did you mean 'top'?")
    (problem,) = problems_of(desk, row("accepted", revision="3", by="A."))
    assert problem.advice == "there are 1, 2"
    (problem,) = problems_of(desk, row("worked", work="bild", hours="1"))
    assert problem.advice == "did you mean 'build'?"
    (problem,) = problems_of(desk, row("paid", amount="1.500"))
    assert problem.advice.startswith("give 1500 for thousands")


def test_a_revision_that_was_changed_by_hand_is_told(tmp_path: Path) -> None:
    folder = make_shop(tmp_path / "shop")
    path = folder / "quotes" / "top-r1.json"
    path.write_text(path.read_text("utf-8").replace('"3334.70"', '"3334.71"'), "utf-8")
    found, _ = open_desk(folder)
    assert found is not None
    assert {problem.code for problem in read_jobs(found, found.settings)[1]} == {"QUO011"}


def test_a_cell_is_set_by_its_line(tmp_path: Path) -> None:
    found, problems = open_desk(make_shop(tmp_path / "shop"), ["jobs/11/cost=130"])
    assert (found is not None, problems) == (True, ())
    assert found is not None
    jobs, problems = read_jobs(found, found.settings)
    assert problems == ()
    assert [str(one.cost) for one in jobs[0].rows if one.part == "B-3"] == ["130"]
    found, _ = open_desk(found.folder, ["jobs/11/hours=1"])
    assert found is not None
    assert [f"{one.place} {one.code}" for one in read_jobs(found, found.settings)[1]] != []


CELLS = ("", "x", "-1", "0", "1e999", "NaN", "=1", "1e12", "1e-12", "9999-12-31", "0001-01-01", "2", "accepted", "top")


def spoiled(one_in: int) -> Iterator[str]:
    """The small job's rows with a cell written over, one in so many of all ways."""
    draw = random.Random(1)  # noqa: S311 - not for secrets
    rows = list(csv.reader(io.StringIO(HEADER + ROWS)))
    for number, cells in enumerate(rows):
        for column in range(len(cells)):
            for cell in CELLS:
                if draw.randrange(one_in) == 0:
                    out = io.StringIO()
                    changed = [*cells[:column], cell, *cells[column + 1 :]]
                    csv.writer(out, lineterminator="\n").writerows([*rows[:number], changed, *rows[number + 1 :]])
                    yield out.getvalue()


def test_whatever_stands_in_a_cell_nothing_is_raised(desk: Desk) -> None:
    usable = 0
    for text in spoiled(12):
        (desk.folder / "jobs.csv").write_text(text, encoding="utf-8")
        jobs, problems = read_jobs(desk, desk.settings)
        assert bool(jobs) != bool(problems)
        for job in jobs:
            usable += 1
            for day in (date(2027, 3, 4), date(2027, 6, 1)):
                stand(job, desk.book, "EUR", day)
        hours_of(jobs, desk.book, "EUR")
    assert usable > 20
