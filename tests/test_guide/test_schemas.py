"""The schemas: the demo's files and the real answers of commands meet them, and what is something else does not."""

from __future__ import annotations

import copy
import csv
import json
import shutil
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from costplan.guide import HERE, SCHEMAS, SUFFIX
from costplan.reference import ABOUT
from costplan.writing.answers import ANSWERS, answer_schema
from costplan.writing.files import FILE_NAMES
from tests.command_line import answer, case, run

ROOT = Path(__file__).parents[2]
OVAL, KART = "scenarios/oval-v8", "scenarios/kart-single"
TEMPLATES = ROOT / "costplan" / "templates"
FEW = ("--seasons", "12")
ON = ("--on", "2027-06-20")
CUP = "cup"

#: Commands of every answer that has a schema.
COMMANDS: tuple[tuple[str, tuple[str, ...], int], ...] = (
    ("season", ("season", OVAL, *ON), 0),
    ("due", ("due", OVAL, *ON), 0),
    ("orders", ("orders", OVAL, *ON), 0),
    ("life used", ("life", "used", OVAL, *ON), 0),
    ("log show", ("log", "show", OVAL, *ON), 0),
    ("outlook", ("outlook", KART, "--inputs", *FEW), 0),
    ("compare", ("compare", KART, "--variant", "two engines", *FEW), 0),
    ("check", ("check", OVAL, *ON), 0),
    ("check", ("check", OVAL, "--engine", "blue", *ON), 1),
    ("bom", ("bom", OVAL, "--engine", "blue", *ON), 0),
    ("rules costs", ("rules", "costs", KART), 0),
    ("rules check", ("rules", "check", OVAL), 0),
    ("quote", ("quote", "price", OVAL, "new-engine", "--rise", "6 %"), 0),
    ("quote", ("quote", "price", OVAL, "freshen-blue", "--bad", "crank=grind-010"), 0),
    ("quote copy", ("quote", "price", OVAL, "freshen-blue", "--customer"), 0),
    ("quote difference", ("quote", "diff", OVAL, "new-engine", "2", "3"), 0),
    ("job show", ("job", "show", OVAL, "freshen-blue", "--on", "2027-02-22"), 0),
    ("quote offers", ("quote", "offers", OVAL, "--on", "2027-02-01"), 0),
    ("job list", ("job", "list", OVAL, "--on", "2027-02-15"), 0),
    ("job hours", ("job", "hours", OVAL), 0),
    ("airflow", ("airflow", OVAL, "--engine", "blue", *ON), 0),
    ("life fit", ("life", "fit", OVAL, "springs"), 0),
    ("rules matrix", ("rules", "matrix", OVAL, *ON), 0),
    ("impact", ("impact", CUP, *FEW, "--flips"), 0),
    ("columns", ("columns",), 0),
)


def schema_of(name: str) -> Any:
    return json.loads((HERE / SCHEMAS / f"{name}{SUFFIX}").read_text("utf-8"))


def faults(schema: Any, value: Any) -> list[str]:
    found = jsonschema.Draft202012Validator(schema, format_checker=jsonschema.FormatChecker()).iter_errors(value)
    return [f"{error.json_path}: {error.message[:300]}" for error in found]


@pytest.mark.parametrize("path", sorted((HERE / SCHEMAS).iterdir()), ids=lambda path: path.name)
def test_a_schema_is_one(path: Path) -> None:
    jsonschema.Draft202012Validator.check_schema(json.loads(path.read_text("utf-8")))


# Files


def schema_name(path: Path) -> str:
    """The schema of a file by the names that files may have; a CSV file without a meaning of its own holds parts."""
    for start in ("rules", "change", "quote"):
        if path.name.startswith(f"{start}-") and path.suffix == ".toml":
            return f"{start}.toml"
    if path.name in FILE_NAMES:
        return path.name
    if path.name.startswith("calendar-"):
        return "calendar.csv"
    return "log.csv" if path.name.endswith("-log.csv") else "parts.csv"


def files() -> Iterator[Path]:
    """All files that are written as they should be: demos, templates, and the base of the bad inputs."""
    for folder in (ROOT / "scenarios", ROOT / "catalogs", TEMPLATES, ROOT / "tests" / "bad_inputs" / "base"):
        for path in sorted((*folder.rglob("*.csv"), *folder.rglob("*.toml"))):
            if path.name != "tevrosk-preisliste.csv":  # a supplier's own sheet
                yield path


def rows_of(path: Path) -> list[Any]:
    """What a reader makes of a file: a TOML file as one, a CSV file as its rows."""
    if path.suffix == ".toml":
        return [json.loads(json.dumps(tomllib.loads(path.read_text("utf-8")), default=str))]
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("path", tuple(files()), ids=lambda path: path.relative_to(ROOT).as_posix())
def test_a_file_in_order_meets_its_schema(path: Path) -> None:
    schema, rows = schema_of(schema_name(path)), rows_of(path)
    assert rows
    assert [fault for row in rows for fault in faults(schema, row)] == []


def test_every_file_has_a_schema() -> None:
    assert {name.removesuffix(".csv") for name in FILE_NAMES} >= {name.removesuffix(".csv") for name in ABOUT}


@pytest.mark.parametrize(
    ("name", "value", "where"),
    [
        ("scenario.toml", {"title": "x", "currency": "USD", "polcy": {}}, "$"),
        ("scenario.toml", {"title": "x", "currency": "USD", "engine": {"name": "one"}}, "$.engine"),
        ("scenario.toml", {"title": "x", "currency": "USD", "policy": {"who_runs": "me"}}, "$.policy.who_runs"),
        ("rules.toml", {"name": "x", "rule": [{"id": "a", "kind": "limit", "says": "b", "slot": "c"}]}, "$.rule[0]"),
        ("rules.toml", {"name": "x", "rule": [{"id": "a", "kind": "parts", "says": "b"}]}, "$.rule[0]"),
        ("rules.toml", {"name": "x", "rule": [{"id": "a", "kind": "wish", "says": "b"}]}, "$.rule[0].kind"),
        ("calendar.csv", {"event": "x", "date": "14/05/2027", "kind": "race"}, "$.date"),
        ("calendar.csv", {"event": "x", "date": "2027-05-14", "kind": "race", "laps": "many"}, "$.laps"),
        ("calendar.csv", {"event": "x", "date": "2027-05-14", "kind": "race", "lap_length": "0.4"}, "$"),
        ("calendar.csv", {"event": "x", "date": "2027-05-14", "kind": "race", "lap_length [gal]": "0.4"}, "$"),
        ("calendar.csv", {"date": "2027-05-14", "kind": "race"}, "$"),
        ("services.csv", {"service": "x", "price": "1", "every": "2", "measure": "weeks"}, "$.measure"),
    ],
)
def test_what_a_reader_refuses_a_schema_refuses_at_its_place(name: str, value: Any, where: str) -> None:
    assert where in {fault.partition(": ")[0] for fault in faults(schema_of(name), value)}


# Answers


@pytest.fixture(scope="module")
def work(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("answers")
    for name in ("scenarios", "catalogs"):
        (folder / name).symlink_to(ROOT / name)
    shutil.copytree(ROOT / "tests" / "bad_inputs" / "base", folder / CUP)
    return folder


@pytest.mark.parametrize(("name", "words", "status"), COMMANDS, ids=[case(words) for _, words, _ in COMMANDS])
def test_an_answer_meets_its_schema_and_holds_nothing_that_it_leaves_out(
    name: str, words: tuple[str, ...], status: int, work: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(work)
    found = answer(*words, status=status)
    assert faults(answer_schema(name, closed=True), found) == []
    found["more"] = 1
    assert faults(schema_of(f"answer-{name.replace(' ', '-')}"), found) == []


def test_every_answer_with_a_schema_is_asked() -> None:
    assert {*(name for name, _, _ in COMMANDS), "problems"} == set(ANSWERS)


def test_problems_meet_their_schema(work: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(work)
    status, out, _ = run("due", OVAL, "--set", "calendar/1/purse=lots", "--on", "soon", "--json")
    found = json.loads(out)
    assert (status, len(found["problems"])) == (2, 2)
    assert faults(answer_schema("problems", closed=True), found) == []


def test_an_answer_that_is_something_else_is_refused(work: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(work)
    found, schema = answer("due", OVAL, *ON), schema_of("answer-due")
    for change in ({"answer": "season"}, {"due": 3}, {"on": "soon"}, {"scenario": None}):
        assert faults(schema, found | change) != []
    dear = copy.deepcopy(found)
    dear["due"][0]["total"] = 12.5  # money is text
    assert [fault.partition(": ")[0] for fault in faults(schema, dear)] == ["$.due[0].total"]
