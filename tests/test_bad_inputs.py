"""Bad inputs: each case is a small valid scenario (`base`) with one thing wrong, and the place and code of its problem.

The scenario has a shop's book and two requests, which are priced where nothing is wrong before them, and a field of
entrants with a change to be studied, which is read where nothing is wrong before that.

A case is a folder `bad_inputs/cases/CODE-what`: the files that differ from `base`, `expect.txt` with one line for each
problem (`file:line: column CODE`, the file from the scenario's folder) and, for a what-if, `sets.txt` with one `--set`
text a line. Cases that cannot be kept as text files are built by the functions of `BUILT`.
"""

from __future__ import annotations

import csv
import io
import os
import random
import re
import shutil
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import pytest
from openpyxl import load_workbook

from costplan.impact.reading import read_field
from costplan.impact.ways import Finder
from costplan.problems import CODES, Problem
from costplan.quote import Desk, Quote, customer_copy, make_quote, open_desk, requests_in
from costplan.quote.job import read_jobs
from costplan.scenario import read_scenario
from costplan.season import due_before, make_plan
from tests.workbooks.written import typed, write_book

HERE = Path(__file__).parent / "bad_inputs"
BASE, CASES = HERE / "base", HERE / "cases"
FILES = tuple(sorted(path.relative_to(BASE).as_posix() for path in BASE.rglob("*") if path.is_file()))
SETS, EXPECT = "sets.txt", "expect.txt"
#: What only quotes read.
OF_QUOTES = ("shop.toml", "work.csv", "quote-fresh.toml", "quote-new.toml")
#: What only a study of a field reads.
OF_FIELDS = ("field.csv", "survey.csv", "supply.csv", "impact.toml", "change-springs.toml")
#: The day on which a request is priced that names none.
TODAY = date(2031, 3, 5)


@dataclass(frozen=True, slots=True)
class Fault:
    """Where a problem must stand, and its code; what it says is free."""

    file: str
    line: int | None
    field: str
    code: str

    def __str__(self) -> str:
        line = "" if self.line is None else f":{self.line}"
        return f"{self.file}{line}: {self.field} {self.code}".replace(":  ", ": ")


def parse_fault(text: str) -> Fault:
    """A line of `expect.txt`."""
    found = re.fullmatch(r"(?P<file>[^:]+)(:(?P<line>\d+))?: ((?P<field>.+) )?(?P<code>[A-Z]{3}\d{3})", text)
    assert found, text
    return Fault(found["file"], int(found["line"]) if found["line"] else None, found["field"] or "", found["code"])


def fault_of(problem: Problem, folder: Path) -> Fault:
    """A problem as the cases write it: its file from the scenario's folder."""
    path = Path(problem.place.file)
    file = path.relative_to(folder).as_posix() if path.is_relative_to(folder) else problem.place.file
    assert path.is_relative_to(folder) or file.startswith("--set "), file
    return Fault(file, problem.place.line, problem.field, problem.code)


def read_faults(folder: Path, sets: tuple[str, ...] = ()) -> tuple[Fault, ...]:
    """The problems of a scenario that must not be usable: its own, then its shop's, its requests' and its jobs'."""
    problems = all_problems(folder, sets)
    assert problems
    for problem in problems:
        assert problem.what, problem
        assert problem.advice, problem
        assert len(str(problem).splitlines()) == 1, problem
    return tuple(fault_of(problem, folder) for problem in problems)


def all_problems(folder: Path, sets: tuple[str, ...] = ()) -> tuple[Problem, ...]:
    """The problems of the first stage that has any, as the commands of `costplan quote` would come to it."""
    desk, problems = open_desk(folder, sets)
    assert (desk is None) == bool(problems)
    if desk is None:
        return problems
    found = [problem for name in requests_in(folder) for problem in priced(desk, name)[1]]
    found += read_jobs(desk, desk.settings)[1]
    if found or not (folder / "field.csv").exists():
        return tuple(found)
    field, problems = read_field(folder, (), sets)
    assert (field is None) == bool(problems)
    return problems


def priced(desk: Desk, name: str) -> tuple[Quote | None, tuple[Problem, ...]]:
    """A request's quote on its day, or the problems of the first stage that has any."""
    asked, problems = desk.request(name)
    assert (asked is None) == bool(problems)
    if asked is None:
        return None, problems
    asking, problems = desk.asking(asked, asked.head.date or TODAY)
    quote, problems = make_quote(asking) if asking is not None else (None, problems)
    assert (quote is None) == bool(problems)
    return quote, problems


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A copy of the base that a test may spoil."""
    shutil.copytree(BASE, tmp_path / "scenario")
    return tmp_path / "scenario"


def put(name: str, content: bytes) -> Callable[[Path], None]:
    """Writes a file of the scenario anew."""

    def spoil(folder: Path) -> None:
        (folder / name).write_bytes(content)

    return spoil


def swap(name: str, old: bytes, new: bytes) -> Callable[[Path], None]:
    """Writes other bytes into a file of the scenario."""

    def spoil(folder: Path) -> None:
        before = (folder / name).read_bytes()
        assert before.count(old) == 1
        (folder / name).write_bytes(before.replace(old, new))

    return spoil


def drop(name: str) -> Callable[[Path], None]:
    """Takes a file or folder away."""

    def spoil(folder: Path) -> None:
        path = folder / name
        shutil.rmtree(path) if path.is_dir() else path.unlink()

    return spoil


def make_folder(name: str) -> Callable[[Path], None]:
    """Puts a folder where a file was."""

    def spoil(folder: Path) -> None:
        (folder / name).unlink()
        (folder / name).mkdir()

    return spoil


def in_utf16(name: str) -> Callable[[Path], None]:
    """Saves a file as spreadsheets save "Unicode text"."""

    def spoil(folder: Path) -> None:
        (folder / name).write_text((BASE / name).read_text("utf-8"), encoding="utf-16")

    return spoil


def nest_too_deeply(folder: Path) -> None:
    """Nests arrays just so deeply that their values can be read, but not placed; called as deeply as `read_faults`."""
    path, low, high = folder / "pattern.toml", 1, 4_096
    while high - low > 1:
        depth = (low + high) // 2
        path.write_text(f"a = {'[' * depth}{']' * depth}\n", "utf-8")
        refused = {problem.code for problem in all_problems(folder)} & {"REA013", "REA014"}
        low, high = (low, depth) if refused else (depth, high)
    path.write_text(f"a = {'[' * high}{']' * high}\n", "utf-8")


def as_workbook(name: str, cell: str = "", value: str = "") -> Callable[[Path], None]:
    """Puts a workbook in the place of a CSV file, with something else in a cell, or merged cells."""

    def spoil(folder: Path) -> None:
        path = folder / name
        with path.open(encoding="utf-8", newline="") as lines:
            rows = [[typed(text) for text in row] for row in csv.reader(lines)]
        path.unlink()
        write_book(path.with_suffix(".xlsx"), ("Sheet1", rows))
        whole = load_workbook(path.with_suffix(".xlsx"))
        if ":" in cell:
            whole["Sheet1"].merge_cells(cell)
        elif cell:
            whole["Sheet1"][cell] = value
        whole.save(path.with_suffix(".xlsx"))

    return spoil


def beside(name: str, spoil: Callable[[Path], None]) -> Callable[[Path], None]:
    """Spoils a scenario and leaves a file as it was beside that."""

    def do(folder: Path) -> None:
        content = (folder / name).read_bytes()
        spoil(folder)
        (folder / name).write_bytes(content)

    return do


def renamed(name: str, new: str) -> Callable[[Path], None]:
    """Calls a file of the scenario otherwise."""

    def spoil(folder: Path) -> None:
        (folder / name).rename(folder / new)

    return spoil


#: Cases that cannot be kept as text: name, what spoils the base, and the problem.
BUILT: tuple[tuple[str, Callable[[Path], None], str], ...] = (
    ("REA001-missing-scenario-folder", lambda folder: shutil.rmtree(folder), ".: REA001"),
    ("REA001-missing-scenario-file", drop("scenario.toml"), "scenario.toml: REA001"),
    ("REA001-missing-calendar", drop("calendar.csv"), "calendar.csv: REA001"),
    ("REA001-missing-catalog-header", drop("parts/catalog.toml"), "parts/catalog.toml: REA001"),
    ("REA001-missing-catalog", drop("parts"), "parts: REA001"),
    ("REA002-folder-for-table", make_folder("levels.csv"), "levels.csv: REA002"),
    ("REA002-folder-for-pattern", make_folder("pattern.toml"), "pattern.toml: REA002"),
    ("REA002-folder-for-part-table", make_folder("parts/engine.csv"), "parts/engine.csv: REA002"),
    ("REA003-nothing-in-scenario", put("scenario.toml", b""), "scenario.toml: REA003"),
    ("REA003-byte-order-mark-alone", put("costs.csv", b"\xef\xbb\xbf"), "costs.csv: REA003"),
    ("REA004-archive-for-table", put("build.csv", b"PK\x03\x04\x14\0\x06\0\x08\0!\0"), "build.csv: REA004"),
    ("REA004-zero-byte-in-toml", swap("rules-cup.toml", b"Springs are", b"Springs\0are"), "rules-cup.toml: REA004"),
    ("REA005-latin-1", swap("costs.csv", b"helper", "Kühlung".encode("latin-1")), "costs.csv:4: REA005"),
    ("REA005-latin-1-in-toml", swap("scenario.toml", b"Invented:", b"Erfunden f\xfcr:"), "scenario.toml:4: REA005"),
    ("REA005-utf-16", in_utf16("calendar.csv"), "calendar.csv: REA005"),
    ("REA005-utf-16-toml", in_utf16("pattern.toml"), "pattern.toml: REA005"),
    ("REA011-cell-of-10-MB", swap("costs.csv", b"shed", b"s" * 10_000_000), "costs.csv:3: cost REA011"),
    (
        "REA011-quoted-cell",
        swap("garage.csv", b"old piston", b'"' + b"o\n" * 20_000 + b'"'),
        "garage.csv:5: piece REA011",
    ),
    ("REA013-deep-nesting", put("pattern.toml", b"a = " + b"[" * 100_000), "pattern.toml: REA013"),
    ("REA014-nested-just-too-deeply", nest_too_deeply, "pattern.toml: REA014"),
    ("QUO013-missing-shop-book", drop("shop.toml"), "shop.toml: QUO013"),
    ("QUO013-missing-work", drop("work.csv"), "work.csv: QUO013"),
    ("REA002-folder-for-shop-book", make_folder("shop.toml"), "shop.toml: REA002"),
    ("REA002-folder-for-request", make_folder("quote-new.toml"), "quote-new.toml: REA002"),
    ("REA003-nothing-in-work", put("work.csv", b"\n"), "work.csv: REA003"),
    ("REA004-archive-for-request", put("quote-new.toml", b"PK\x03\x04\x14\0\x06"), "quote-new.toml: REA004"),
    ("REA005-latin-1-in-work", swap("work.csv", b"Put together", "Gefügt".encode("latin-1")), "work.csv:3: REA005"),
    ("REA012-formula-never-calculated", as_workbook("costs.csv", "B3", "=2*20"), "costs.xlsx:3: amount REA012"),
    ("REA020-workbook-in-capitals", renamed("levels.csv", "Levels.xlsx"), "Levels.xlsx: REA020"),
    ("REA025-calendar-twice", beside("calendar.csv", as_workbook("calendar.csv")), "calendar.csv: REA025"),
    ("REA025-parts-twice", beside("parts/lives.csv", as_workbook("parts/lives.csv")), "parts/lives.csv: REA025"),
    ("REA026-text-called-a-workbook", renamed("build.csv", "build.xlsx"), "build.xlsx: REA026"),
    ("REA026-open-document", renamed("levels.csv", "levels.ods"), "levels.ods: REA026"),
    ("REA026-macros-in-a-catalog", renamed("parts/engine.csv", "parts/engine.xlsm"), "parts/engine.xlsm: REA026"),
    ("REA027-value-not-found", as_workbook("build.csv", "B3", "#N/A"), "build.xlsx:3: part REA027"),
    ("REA028-merged-days", as_workbook("calendar.csv", "B3:B5"), "calendar.xlsx:3: date REA028"),
    ("REA013-number-without-end", swap("scenario.toml", b"0.9", b"1e9999999999999999999"), "scenario.toml: REA013"),
)


#: Codes that only a question gives, as no file is at fault: each with the tests that trip it.
ASKED = {
    "CHO001": "test_cli/test_choose_commands.py",
    "QUO009": "test_cli/test_quote_commands.py",
    "QUO010": "test_quote/test_revisions_bad.py",
    "QUO011": "test_quote/test_revisions_bad.py",
}


def case_folders() -> tuple[Path, ...]:
    return tuple(sorted(path for path in CASES.iterdir() if path.is_dir()))


def test_the_base_is_without_faults(folder: Path) -> None:
    scenario, problems = read_scenario(folder)
    assert problems == ()
    assert scenario is not None
    season, problems = scenario.season()
    assert problems == ()
    assert season is not None
    assert make_plan(season, date(2031, 4, 1)).races == 2
    assert all_problems(folder) == ()


@pytest.mark.parametrize("case", case_folders(), ids=lambda case: case.name)
def test_a_case_gives_its_problem_at_its_place(case: Path, folder: Path) -> None:
    shutil.copytree(case, folder, dirs_exist_ok=True)
    sets = tuple((case / SETS).read_text("utf-8").splitlines()) if (case / SETS).exists() else ()
    expected = [parse_fault(line) for line in (case / EXPECT).read_text("utf-8").splitlines()]
    found = read_faults(folder, sets)
    assert [str(fault) for fault in expected if fault not in found] == [], "\n".join(map(str, found))
    if any((case / name).exists() for name in (*OF_QUOTES, *OF_FIELDS)):  # one fault there is told once, and alone
        assert list(map(str, found)) == list(map(str, expected))


@pytest.mark.parametrize(("spoil", "expected"), [case[1:] for case in BUILT], ids=[case[0] for case in BUILT])
def test_a_built_case_gives_its_problem_at_its_place(
    spoil: Callable[[Path], None], expected: str, folder: Path
) -> None:
    spoil(folder)
    assert parse_fault(expected) in read_faults(folder)


def test_every_code_has_a_case_and_every_case_expects_the_code_it_is_named_after() -> None:
    expected = {case.name: (case / EXPECT).read_text("utf-8").splitlines() for case in case_folders()}
    expected |= {name: [line] for name, _, line in BUILT}
    codes = {name: {parse_fault(line).code for line in lines} for name, lines in expected.items()}
    assert [name for name in codes if name[:6] not in codes[name]] == []
    assert sorted(set(CODES) - {name[:6] for name in codes} - set(ASKED)) == []
    assert [code for code, tests in ASKED.items() if code not in (HERE.parent / tests).read_text("utf-8")] == []


def test_a_case_differs_from_the_base_in_each_of_its_files() -> None:
    for case in case_folders():
        for path in (path for path in case.rglob("*") if path.is_file()):
            base = BASE / path.relative_to(case)
            assert not base.exists() or base.read_bytes() != path.read_bytes(), path


def test_many_faults_in_many_files_are_all_told_at_once_in_order_without_repeats(folder: Path) -> None:
    changes = (
        ("scenario.toml", b"swap_hours = 3", b"swap_hours = -3"),
        ("scenario.toml", b"rate = 0.9", b"rate = 0"),
        ("calendar.csv", b"2031-03-10,practice", b"2031-03-32,practise"),
        ("calendar.csv", b"race,cup,,1,40", b"race,cup,,-1,=40"),
        ("levels.csv", b"full,2,engine", b"full,2,motor"),
        ("costs.csv", b"40,month", b"NaN,month"),
        ("parts/engine.csv", b"Hill,80", b"Hill,-80"),
        ("parts/engine.csv", b"S-21,", b"S-20,"),
        ("parts/lives.csv", b"2,3,4", b"3,2,4"),
        ("pattern.toml", b"54 mm", b"54 furlong"),
        ("build.csv", b"W-1", b"W-2"),
        ("garage.csv", b"old piston,P-54", b"old piston,P-45"),
        ("rules-cup.toml", b'"R1"\nkind = "parts"', b'"R1"\nkind = "pants"'),
    )
    for name, old, new in changes:
        swap(name, old, new)(folder)
    assert [str(fault) for fault in read_faults(folder)] == [
        "calendar.csv:2: date REA019",
        "calendar.csv:2: kind REA020",
        "calendar.csv:5: lap_time [s] REA012",
        "calendar.csv:5: lap_length [km] REA018",
        "levels.csv:3: carrier REA020",
        "costs.csv:3: amount REA018",
        "scenario.toml:19: policy.swap_hours REA018",
        "scenario.toml:26: rate.1.rate REA018",
        "parts/engine.csv:2: price REA018",
        "parts/engine.csv:4: part CAT001",
        "parts/lives.csv:3: low LIF002",
        "pattern.toml:6: inputs.stroke REA021",
        "build.csv:4: part BLD002",
        "garage.csv:5: part GAR001",
        "rules-cup.toml:8: rule.1.kind RUL001",
    ]


def spoiled(name: str) -> Iterator[tuple[str, bytes]]:
    """Ways to spoil the text of a file, each with a name: cut short, a line left out, a cell written over."""
    whole = (BASE / name).read_bytes()
    yield "emptied", b""
    yield "random", random.Random(name).randbytes(400)  # noqa: S311 - not for secrets
    for number in range(50):
        yield f"cut {number}", whole[: len(whole) * number // 50]
    lines = whole.splitlines(keepends=True)
    for number in range(len(lines)):
        yield f"without line {number + 1}", b"".join(lines[:number] + lines[number + 1 :])
    if name.endswith(".csv"):
        yield from spoiled_cells(whole.decode())


CELLS = ("", "x", "-1", "0", "1e999", "NaN", "=1", "1e12", "1e-12", "9999-12-31", "0001-01-01")


def spoiled_cells(text: str) -> Iterator[tuple[str, bytes]]:
    rows = list(csv.reader(io.StringIO(text)))
    for number, row in enumerate(rows):
        for column in range(len(row)):
            for cell in CELLS:
                changed = [*row[:column], cell, *row[column + 1 :]]
                out = io.StringIO()
                csv.writer(out, lineterminator="\n").writerows([*rows[:number], changed, *rows[number + 1 :]])
                yield f"{number + 1}:{rows[0][column]} = {cell}", out.getvalue().encode()


def try_out(folder: Path) -> None:
    """A scenario has problems or can be planned; whatever is wrong with it, nothing is raised."""
    scenario, problems = read_scenario(folder)
    assert (scenario is None) == bool(problems)
    if scenario is None:
        return
    season, problems = scenario.season()
    assert season is not None
    assert problems == ()
    make_plan(season, date(2031, 4, 1))
    due_before(season, date(2031, 4, 1))
    if scenario.build is not None:
        scenario.figures().all()
        scenario.verdicts()


def price_all(folder: Path) -> None:
    """Whatever of a folder's requests can be priced, and its customer's copy."""
    desk, problems = open_desk(folder)
    assert (desk is None) == bool(problems)
    if desk is None:
        return
    for name in requests_in(folder):
        quote, _ = priced(desk, name)
        if quote is not None:
            customer_copy(quote)
            assert quote.totals.gross == quote.totals.net + quote.totals.tax
            assert quote.deposit + quote.balance == quote.totals.gross


def study_all(folder: Path) -> None:
    """A field has problems or an answer for each of its groups to every change; nothing is raised."""
    field, problems = read_field(folder)
    assert (field is None) == bool(problems)
    if field is not None:
        finder = Finder(field)
        groups = tuple(finder.every(field.crowds))
        assert (len(groups) == len(field.crowds)) != bool(finder.problems)


#: One in so many spoiled files is tried, chosen by its name, and one in so many priced: all with COSTPLAN_FUZZ=1, in a
#: few minutes.
ONE_IN, PRICED_ONE_IN = (1, 1) if os.environ.get("COSTPLAN_FUZZ") else (12, 60)


@pytest.mark.parametrize("name", FILES)
def test_whatever_happens_to_a_file_nothing_is_raised(name: str, folder: Path) -> None:
    path = folder / name
    path.unlink()
    others = (study_all,) if name in OF_FIELDS else (try_out, price_all)
    tries = (price_all,) if name in OF_QUOTES else others
    for try_it in tries:
        try_it(folder)
    path.mkdir()
    for try_it in tries:
        try_it(folder)
    path.rmdir()
    for what, content in spoiled(name):
        number = zlib.crc32(f"{name} {what}".encode())
        path.write_bytes(content)
        try:
            for try_it in tries:
                if number % (ONE_IN if try_it is try_out else PRICED_ONE_IN) == 0:
                    try_it(folder)
        except Exception as error:
            raise AssertionError(f"{name} {what}") from error
