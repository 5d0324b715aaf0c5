"""`costplan job`: pages for the shop at 80 columns, JSON, CSV that no spreadsheet runs, rows written whole or not."""

from __future__ import annotations

import csv
import io
import json
import shutil
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costplan.quote import open_desk
from costplan.quote.job import add_row, read_jobs
from tests.command_line import answer, run
from tests.test_quote.small_job import HEADER, ROWS, make_shop

DEMO = Path(__file__).parents[2] / "scenarios" / "oval-v8"


@pytest.fixture(autouse=True)
def at_80_columns(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    for name in ("FORCE_COLOR", "CLICOLOR_FORCE", "TTY_COMPATIBLE", "NO_COLOR"):
        monkeypatch.delenv(name, raising=False)


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Path]:
    yield make_shop(tmp_path / "shop")
    assert [path.name for path in (tmp_path / "shop").iterdir() if path.name.startswith(".")] == []


def page(*words: object) -> str:
    status, out, err = run(*words)
    assert (status, err) == (0, "")
    assert all(len(line) <= 80 for line in out.splitlines()), out
    return out


def flat(text: str) -> str:
    return " ".join(text.split())


def test_a_job_in_hand_says_who_owes_what_first_and_then_a_forecast(shop: Path) -> None:
    out = page("job", "show", shop, "top", "--on", "2027-03-08")
    lines = flat(out)
    assert lines.startswith(
        "Job top: New small engine For the shop only: it shows cost and margin. All data is invented. "
        "On 2027-03-08: in hand. For A. Racer (invented); money in EUR. The customer owes 161.50 now. "
        "Contract: revision 2, signed by A. Racer on 2027-03-05, 3,657.70 with tax. "
        "Paid 1,667.35; balance 1,990.35, due before it leaves the shop. "
        "Of the deposit of 1,828.85, due with the order, 161.50 is still owed."
    )
    assert (
        "Forecast to earn 1,197.00 (34.3 %); 1,067.00 (33.6 %) as quoted, 1,177.00 (33.8 %) by the contract." in lines
    )
    assert (
        "5 lines booked; 4 lines of 1,970.00 net not booked yet, at what they were quoted to cost, 1,210.00." in lines
    )
    assert lines.index("The customer owes") < lines.index("Margin") < lines.index("Quoted against actual")
    assert lines.index("Quoted against actual") < lines.index("What happened") < lines.index("Hours over the quote")
    assert "build 12 600.00 not yet" in lines
    assert "Earned" not in lines


def test_a_finished_job_says_what_it_earned_and_what_runs_on(shop: Path) -> None:
    lines = flat(page("job", "show", shop, "top", "--on", "2027-03-20"))
    assert "The customer owes 1,990.35 now." in lines
    assert "Storage of 5.00 a day runs from 2027-04-11 on, until it is fetched." in lines
    assert "The balance is overdue after 2027-03-26; interest of 1.5 % a month runs from then on." in lines
    assert "Earned 1,131.50 (32.4 %); 1,067.00 (33.6 %) as quoted, 1,177.00 (33.8 %) by the contract." in lines
    assert "P-1: charged 40.00, given back 0.00; 40.00 comes back if the old piece returns by 2027-05-31." in lines
    assert "solvent 12.50 +12.50 not in the contract" in lines
    late = flat(page("job", "show", shop, "top", "--on", "2027-06-01"))
    assert "Storage since 2027-04-11: 70.00. Interest on what was overdue since 2027-03-26:" in late


def test_a_stopped_job_says_what_waits_for_a_signature(shop: Path) -> None:
    lines = flat(page("job", "show", shop, "top", "--on", "2027-03-04"))
    assert "On 2027-03-04: stopped for a signature." in lines
    assert "Stopped on 2027-03-03: bearings beyond the quote. Not signed since: no work until it is." in lines
    assert "Revision 2 of 2027-03-04 waits for a signature: +323.00 with tax (bearings)." in lines


def test_what_is_not_signed_yet_and_what_was_refused(shop: Path) -> None:
    (shop / "jobs.csv").write_text(HEADER + "top,2027-03-10,refused,,,,,,,,,A. Racer,too dear\n", "utf-8")
    assert "No revision of it was saved by this day." in flat(page("job", "show", shop, "top", "--on", "2027-02-01"))
    before = flat(page("job", "show", shop, "top", "--on", "2027-03-01"))
    assert "Revision 1 of 2027-02-20 is offered, 3,334.70 with tax; nobody has signed it." in before
    assert "Refused on 2027-03-10; nothing was signed." in flat(page("job", "show", shop, "top", "--on", "2027-03-10"))
    started = ROWS[: ROWS.index("top,2027-03-05")] + "top,2027-03-06,refused,,,,,,,,,A. Racer,\n"
    (shop / "jobs.csv").write_text(HEADER + started, "utf-8")
    after = flat(page("job", "show", shop, "top", "--on", "2027-03-06"))
    assert "The shop owes the customer 1,307.35." in after  # 360.00 for the tear-down of the 1,667.35 that were paid
    assert "Refused on 2027-03-06: instead of it 360.00 with tax is owed" in after


def test_json_has_the_names_of_the_records(shop: Path) -> None:
    found = answer("job", "show", shop, "top", "--on", "2027-06-01")["standing"]
    assert (found["state"], found["owing"]["balance"], found["owing"]["storage"]) == ("delivered", "990.35", "70.00")
    assert found["earnings"]["earned"]["earned"] == "1131.50"
    assert found["earnings"]["items"][0]["key"] == "part/P-1"
    assert found["change_orders"][0]["more"] == {"net": "310.00", "gross": "323.00", "cost": "200.00"}
    assert found["cores"][0]["given_back"] == "40.00"
    assert found["rows"][0]["what"] == "accepted"


def test_csv_gives_the_lines(shop: Path) -> None:
    status, out, _ = run("job", "show", shop, "top", "--on", "2027-06-01", "--csv")
    rows = list(csv.DictReader(io.StringIO(out)))
    assert (status, rows[1]["key"], rows[1]["actual_cost"], rows[1]["booked"]) == (0, "part/R-2", "60.00", "yes")
    assert sum(Decimal(row["actual_cost"]) for row in rows) == Decimal("2355.50")


@pytest.mark.parametrize("note", ["+1+1", "@SUM(A1)", "-2+3"])
def test_what_a_spreadsheet_would_run_is_shown_as_text_and_tamed_in_csv(shop: Path, note: str) -> None:
    words = ("--job", "top", "--date", "2027-06-01", "--cost", "3", "--note", note)
    assert run("job", "add", shop, "bought", *words)[0] == 0
    assert note in page("job", "show", shop, "top", "--on", "2027-06-01")
    _, out, _ = run("job", "show", shop, "top", "--on", "2027-06-01", "--csv")
    assert f"'{note}" in out
    assert f",{note}" not in out


def test_a_formula_is_no_note_and_within_a_text_it_is_text(shop: Path) -> None:
    before = (shop / "jobs.csv").read_bytes()
    words = ("--job", "top", "--date", "2027-06-01", "--cost", "3", "--note")
    status, _, err = run("job", "add", shop, "bought", *words, "=1+1")
    assert (status, "note: REA012" in err, (shop / "jobs.csv").read_bytes()) == (2, True, before)
    assert run("job", "add", shop, "bought", *words, "so =1+1 [red]x[/red] \x1b[31m")[0] == 0
    assert "so =1+1 [red]x[/red] ·[31m" in flat(page("job", "show", shop, "top", "--on", "2027-06-01"))


def test_the_list_has_jobs_in_hand_and_the_hours_of_older_ones(shop: Path) -> None:
    path = shop / "jobs.csv"
    path.write_text(f"{path.read_text('utf-8')}old,2026-03-02,worked,,,,build,,9,,,,\nold,2026-03-02,paid,,,,,,,,9,,\n")
    lines = flat(page("job", "list", shop, "--on", "2027-03-20"))
    assert "top finished, r2 3,657.70 1,667.35 1,990.35 1,131.50" in lines
    assert "old 9 1 No request of these names: only their hours count. Idle rows count for nothing." in lines
    assert "top in hand, r2 3,657.70 1,667.35 161.50 ~ 1,197.00" in flat(
        page("job", "list", shop, "--on", "2027-03-08")
    )
    found = answer("job", "list", shop, "--on", "2027-03-20")["jobs"]
    assert [(one["job"], one["state"], one["final"], one["hours"]) for one in found] == [
        ("top", "finished", True, "23.5"),
        ("old", "hours only", False, "9"),
    ]
    _, out, _ = run("job", "list", shop, "--on", "2027-03-20", "--csv")
    assert out.splitlines()[1] == (
        "top,New small engine,A. Racer (invented),finished,2,3657.70,1667.35,1990.35,1131.50,yes,23.5"
    )


def test_before_there_is_anything_the_list_says_what_to_do(shop: Path) -> None:
    assert "No job yet" in page("job", "list", shop, "--on", "2026-01-01")


def test_an_unknown_job_is_told_with_the_one_meant(shop: Path) -> None:
    status, _, err = run("job", "show", shop, "tap", "--on", "2027-06-01")
    assert (status, err.splitlines()[0]) == (2, "JOB: REA020 no such job: 'tap'; did you mean 'top'?")


def test_hours_are_written_into_a_new_file_and_nothing_else_changes(shop: Path, tmp_path: Path) -> None:
    path, out = shop / "jobs.csv", tmp_path / "new-work.csv"
    path.write_text(f"{path.read_text('utf-8')}old,2026-03-02,worked,,,,build,,9,,,,\n", "utf-8")
    status, text, err = run("job", "hours", shop, "--out", out)
    assert (status, err) == (0, f"Written: {out}, 1 row with hours of your own.\n")
    before = (shop / "work.csv").read_text("utf-8")
    assert out.read_text("utf-8") == before.replace(
        "build,,bench,10,,,,,a guess", 'build,,bench,11.3,,,,,"mean of 2 jobs, 2026-03-02 to 2027-03-09"'
    )
    assert "one job says little" in text
    assert "instead of: a guess" in flat(text)
    shutil.copy(out, shop / "work.csv")
    desk, problems = open_desk(shop)
    assert (problems, desk is not None and str(desk.book.work[1].hours)) == ((), "11.3")


def test_hours_are_never_written_over_a_file(shop: Path) -> None:
    before = (shop / "work.csv").read_bytes()
    status, out, err = run("job", "hours", shop, "--out", shop / "work.csv")
    assert (status, out, "is there already" in err) == (2, "", True)
    assert (shop / "work.csv").read_bytes() == before


def test_hours_by_operation_as_json_and_csv(shop: Path) -> None:
    found = answer("job", "hours", shop, "--least", "1")
    assert [(one["work"], one["jobs"], one["says_little"]) for one in found["hours"]["works"]] == [
        ("strip", 1, True),
        ("build", 1, True),
        ("seats", 1, True),
    ]
    assert found["work"]["seats"] == {"hours": "2.8", "source": "1 job, 2027-03-09: one job says little"}
    _, out, _ = run("job", "hours", shop, "--csv")
    assert out.splitlines()[1].startswith("strip,strip,job,1,4.5,4.5,4.5,,2027-03-03,2027-03-03,4,,0.125,1,45.00,4.5,")
    page("job", "hours", shop)


def test_the_first_row_makes_the_file(tmp_path: Path) -> None:
    folder = make_shop(tmp_path / "shop", None)
    found = answer(
        "job", "add", folder, "accepted", "--job", "top", "--date", "2027-03-01", "--revision", "1", "--by", "A. Racer"
    )
    assert (folder / "jobs.csv").read_text("utf-8") == HEADER + "top,2027-03-01,accepted,1,,,,,,,,A. Racer,\n"
    assert (found["at"], found["request"], found["row"]["by"]) == (f"{folder}/jobs.csv:2", True, "A. Racer")


def test_a_row_keeps_what_is_there_byte_by_byte(tmp_path: Path) -> None:
    folder = make_shop(tmp_path / "shop", None)
    before = "\ufeffwhat;date;job;work;hours\r\nworked;2027-03-03;top;strip;4,5"
    (folder / "jobs.csv").write_bytes(before.encode())
    words = ("--job", "top", "--date", "2027-03-04", "--cost", "12.50", "--note", "solvent; red")
    assert "bought solvent; red; 12.50 EUR." in flat(page("job", "add", folder, "bought", *words))
    assert (folder / "jobs.csv").read_bytes().decode() == (
        "\ufeffwhat;date;job;work;hours;cost;note\r\nworked;2027-03-03;top;strip;4,5\r\n"
        'bought;2027-03-04;top;;;12,50;"solvent; red"\r\n'
    )


@pytest.mark.parametrize(
    ("words", "fault"),
    [
        (("paid", "--job", "top"), "amount: JOB001"),
        (("finished", "--job", "top", "--hours", "3"), "hours: JOB002"),
        (("accepted", "--job", "tap", "--revision", "1", "--by", "A."), "job: JOB003"),
        (("worked", "--job", "top", "--work", "bild", "--hours", "3"), "what: JOB010"),
        (("paid", "--job", "top", "--amount", "twelve"), "amount: REA017"),
        (("payed", "--job", "top", "--amount", "12"), "what: REA020"),
    ],
)
def test_a_row_that_would_be_wrong_is_not_written(shop: Path, words: tuple[str, ...], fault: str) -> None:
    before = (shop / "jobs.csv").read_bytes()
    status, _, err = run("job", "add", shop, *words, "--date", "2027-06-01")
    assert (status, (shop / "jobs.csv").read_bytes()) == (2, before)
    assert f"{shop}/jobs.csv:21: {fault}" in err
    assert err.endswith("nothing was written.\n")


def test_a_row_of_an_older_job_says_that_only_its_hours_count(shop: Path) -> None:
    out = page("job", "add", shop, "worked", "--job", "tops", "--work", "build", "--hours", "9", "--date", "2026-01-01")
    assert "There is no quote-tops.toml: only the hours of this job count." in out


@pytest.mark.parametrize(("others", "status"), [(1, 0), (4, 0), (5, 2)])
def test_a_file_that_changed_meanwhile_is_not_written_over(
    shop: Path, monkeypatch: pytest.MonkeyPatch, others: int, status: int
) -> None:
    path, waited = shop / "jobs.csv", list[float]()
    theirs, before = "top,2027-06-02,paid,,,,,,,,1,,\n", path.read_text("utf-8")

    def slowly(*args: Any) -> Any:
        if path.read_text("utf-8").count(theirs) < others:
            path.write_text(path.read_text("utf-8") + theirs, "utf-8")
        return read_jobs(*args)

    monkeypatch.setattr("costplan.quote.job.adding.read_jobs", slowly)
    monkeypatch.setattr("time.sleep", waited.append)
    found, _, err = run("job", "add", shop, "paid", "--job", "top", "--date", "2027-06-03", "--amount", "2")
    mine = "top,2027-06-03,paid,,,,,,,,2,,\n" if status == 0 else ""
    assert (found, path.read_text("utf-8")) == (status, before + others * theirs + mine)
    assert ("changed meanwhile" in err, waited) == (status == 2, [0.2] * min(others, 4))


NOTE = st.text(st.characters(codec="utf-8", exclude_characters="\0"), max_size=30)


@given(note=NOTE, end=st.sampled_from(["\n", "\r\n", ""]), delimiter=st.sampled_from([",", ";"]))
@settings(max_examples=30, deadline=None)
def test_adding_never_damages_what_is_there(
    tmp_path_factory: pytest.TempPathFactory, note: str, end: str, delimiter: str
) -> None:
    folder = tmp_path_factory.mktemp("add") / "shop"
    make_shop(folder, None)
    rows = ("job,date,what,amount,note", 'top,2027-03-02,paid,5,"a ""b"""', "top,2027-03-03,paid,6,x")
    before = (end or "\n").join(rows).replace(",", delimiter) + end
    (folder / "jobs.csv").write_bytes(before.encode())
    desk, _ = open_desk(folder)
    assert desk is not None
    added, problems, refusal = add_row(
        desk, {"job": "top", "date": "2027-03-04", "what": "paid", "amount": "7.25", "note": note}
    )
    after = (folder / "jobs.csv").read_bytes().decode()
    assert refusal == ""
    if added is None:
        assert (after, bool(problems)) == (before, True)
        return
    assert after.startswith(before)
    assert (added.row.amount, added.row.note.split()) == (Decimal("7.25"), note.split())
    assert len(added.job.rows) == 3


@pytest.mark.parametrize("words", [(), ("list",), ("show",), ("hours",), ("add",)])
def test_help_fits_the_screen(words: tuple[str, ...]) -> None:
    page("job", *words, "--help")


def test_the_demo_by_hand() -> None:
    """Costs of the demo's finished job, line by line: scenarios/oval-v8/jobs.csv."""
    found = answer("job", "show", DEMO, "freshen-blue", "--on", "2027-03-09")["standing"]
    earnings = found["earnings"]
    # Parts: 615.12 + 103.84 + 733.04 + 394.57 + 441.00 + 151.36 = 2438.93, the damper 22.50 dearer than quoted.
    # Bench at 61: 3.2 + 1.25 + 2.25 + 11 + 2.25 + 1.25 + 1.75 + 1 = 23.95 h, 1460.95.
    # Machine at 74: 6.1 + 0.9 + 1.25 + 0.5 = 8.75 h, 647.50; so labour 2108.45.
    # Supplies 91.20 + 95.23, freight 141.60, the seal 40.00, the carburetor taken in trade -150.00.
    kinds = {one["kind"]: one["actual_cost"] for one in earnings["kinds"]}
    assert kinds == {
        "parts": "2438.93",
        "labour": "2108.45",
        "supplies": "186.43",
        "freight": "141.60",
        "fees": "40.00",
        "credit": "-150.00",
    }
    # 4765.41 in all, of 6720.00 net
    assert (earnings["quoted"]["earned"], earnings["contract"]["earned"]) == ("1899.72", "1993.10")
    assert (earnings["earned"]["cost"], earnings["earned"]["earned"]) == ("4765.41", "1954.59")
    assert (found["state"], found["owing"]["paid"], found["owing"]["due"]) == ("settled", "6949.25", "0.00")
    assert found["cautions"] == [
        "Hours over the quote by more than 10 %: Assembled 11 h for 9.5 h, "
        "Broken stud drilled out and thread made good 1.25 h for 0.8 h."
    ]


def test_the_hours_of_the_demo_by_hand() -> None:
    works = {one["work"]: one for one in answer("job", "hours", DEMO)["hours"]["works"]}
    # 9, 10.5, 9.75, 6.5 + 4.75, 10 and 6.5 + 4.5: 61.5 / 6; half an hour and a quarter more at 98.00
    assembled = works["reassembly"]
    assert (assembled["jobs"], assembled["mean"], assembled["worth"], assembled["hours"]) == (
        6,
        "10.25",
        "73.50",
        "10.3",
    )
    # 6.8, 6, 7.1 and 6.1 on two heads each: 26 / 8
    assert (works["seats"]["mean"], works["seats"]["pieces"]) == ("3.25", "2")
    assert works["reassembly-whole"]["says_little"]


def test_the_pages_of_the_demo_fit_the_screen() -> None:
    for day in ("2027-01-12", "2027-02-10", "2027-06-01"):
        out = page("job", "show", DEMO, "freshen-blue", "--on", day)
        assert "For the shop only: it shows cost and margin." in out
        page("job", "list", DEMO, "--on", day)
    page("job", "show", DEMO, "freshen-weir")
    page("job", "hours", DEMO)
    assert json.dumps(answer("job", "list", DEMO, "--on", "2027-03-09"))
