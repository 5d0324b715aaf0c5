"""Saved revisions that are not there, or not as they were saved: a problem at the file, and nothing is raised."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from costplan.problems import Problem
from costplan.quote import Desk, make_quote, open_desk
from costplan.quote.request import Asked
from costplan.quote.revisions import FORM, Revision, file_of, read_revision, revisions_in, to_text

BASE = Path(__file__).parents[1] / "bad_inputs" / "base"
ON = date(2031, 3, 5)


@pytest.fixture(scope="module")
def saved_text(tmp_path_factory: pytest.TempPathFactory) -> str:
    """A new engine's quote as its first revision is saved."""
    folder = tmp_path_factory.mktemp("saved") / "scenario"
    shutil.copytree(BASE, folder)
    return to_text(revision_of(desk_of(folder), "new"))


@pytest.fixture
def folder(tmp_path: Path, saved_text: str) -> Path:
    """A scenario's folder with revision 1 of its request `new`."""
    file_of(tmp_path, "new", 1).parent.mkdir()
    file_of(tmp_path, "new", 1).write_text(saved_text, "utf-8")
    return tmp_path


def desk_of(folder: Path) -> Desk:
    desk, problems = open_desk(folder)
    assert desk is not None, problems
    return desk


def asked_of(desk: Desk, name: str) -> Asked:
    asked, problems = desk.request(name)
    assert asked is not None, problems
    return asked


def revision_of(desk: Desk, name: str, number: int = 1) -> Revision:
    asked = asked_of(desk, name)
    asking, problems = desk.asking(asked, ON)
    assert asking is not None, problems
    quote, problems = make_quote(asking, number, "as asked")
    assert quote is not None, problems
    return Revision(FORM, quote, asked)


def faults(folder: Path, number: int = 1) -> list[tuple[str, str, str]]:
    """Code, file and field of what is wrong with a revision of `new` that must not be usable."""
    revision, problems = read_revision(folder, "new", number)
    assert revision is None
    assert all(problem.advice and len(str(problem).splitlines()) == 1 for problem in problems)
    return [(problem.code, Path(problem.place.file).name, problem.field) for problem in problems]


def change(folder: Path, spoil: Callable[[dict[str, Any]], None]) -> None:
    """Changes the saved revision as one would by hand."""
    path = file_of(folder, "new", 1)
    held = json.loads(path.read_text("utf-8"))
    spoil(held)
    path.write_text(json.dumps(held), "utf-8")


@pytest.mark.parametrize("name", ["fresh", "new"])
def test_what_is_saved_is_read_back_as_it_was(name: str, tmp_path: Path) -> None:
    shutil.copytree(BASE, tmp_path / "scenario")
    saved = revision_of(desk_of(tmp_path / "scenario"), name)
    path = file_of(tmp_path, name, 1)
    path.parent.mkdir()
    path.write_text(to_text(saved), "utf-8")
    read, problems = read_revision(tmp_path, name, 1)
    assert problems == ()
    assert read is not None
    assert read.quote == saved.quote
    assert to_text(read) == to_text(saved)


def test_all_of_a_request_that_is_read_back_stands_in_the_file_of_the_revision(folder: Path) -> None:
    revision, _ = read_revision(folder, "new", 1)
    assert revision is not None
    asked = revision.asked
    rows = (*asked.supplied, *asked.options, *asked.extras, *asked.prices)
    assert {Path(row.place.file).name for row in rows} == {"new-r1.json"}
    assert Path(asked.place("without").file).name == "new-r1.json"


def test_a_revision_that_is_not_there_names_those_that_are(folder: Path) -> None:
    revision, (problem,) = read_revision(folder, "new", 2)
    assert revision is None
    assert (problem.code, problem.value) == ("QUO010", "2")
    assert problem.advice == "there are 1"


def test_where_none_is_saved_the_command_that_saves_is_named(tmp_path: Path) -> None:
    (problem,) = read_revision(tmp_path, "new", 1)[1]
    assert problem.code == "QUO010"
    assert "costplan quote save" in problem.advice


def test_revisions_are_told_apart_by_whole_names(folder: Path) -> None:
    for name in ("new-r1-r1.json", "anew-r2.json", "new-r0.json", "new-r3.json.bak", "new-r.json", "notes.json"):
        (folder / "quotes" / name).write_text("{}", "utf-8")
    assert revisions_in(folder, "new") == (1,)
    assert revisions_in(folder, "new-r1") == (1,)


def test_a_file_that_was_cut_short_is_refused(folder: Path, saved_text: str) -> None:
    for share in (0, 1, 50, 99):
        file_of(folder, "new", 1).write_text(saved_text[: len(saved_text) * share // 100], "utf-8")
        assert faults(folder) == [("QUO011", "new-r1.json", "")]


@pytest.mark.parametrize("content", [b"\xff\xfe", b"\0", b"[]", b"null", b"[" * 100_000, b"PK\x03\x04"])
def test_a_file_of_something_else_is_refused(content: bytes, folder: Path) -> None:
    file_of(folder, "new", 1).write_bytes(content)
    assert faults(folder) == [("QUO011", "new-r1.json", "")]


def test_a_folder_where_a_revision_should_be_is_refused(folder: Path) -> None:
    file_of(folder, "new", 2).mkdir()
    assert faults(folder, 2) == [("REA001", "new-r2.json", "")]


def test_a_file_that_was_renamed_to_another_number_is_refused(folder: Path) -> None:
    file_of(folder, "new", 1).rename(file_of(folder, "new", 3))
    assert faults(folder, 3) == [("QUO011", "new-r3.json", "quote")]


def test_a_file_of_another_form_is_told_by_its_form_alone(folder: Path) -> None:
    def to_a_later_form(held: dict[str, Any]) -> None:
        held["form"] = "costplan-quote 2.0"
        del held["quote"]["lines"]

    change(folder, to_a_later_form)
    assert faults(folder) == [("QUO011", "new-r1.json", "form")]


def test_what_is_missing_or_of_the_wrong_kind_is_named_by_its_key(folder: Path) -> None:
    def spoil(held: dict[str, Any]) -> None:
        held["quote"]["lines"][1]["net"] = "ten"
        del held["quote"]["title"]
        held["asked"]["head"]["discount"] = "200 %"

    change(folder, spoil)
    assert faults(folder) == [
        ("QUO011", "new-r1.json", "quote.title"),
        ("QUO011", "new-r1.json", "quote.lines.2.net"),
        ("QUO011", "new-r1.json", "asked.head.discount"),
    ]


def in_totals(key: str, amount: str) -> Callable[[dict[str, Any]], None]:
    def spoil(held: dict[str, Any]) -> None:
        held["quote"]["totals"][key] = amount

    return spoil


def in_line(key: str, value: str) -> Callable[[dict[str, Any]], None]:
    def spoil(held: dict[str, Any]) -> None:
        held["quote"]["lines"][0][key] = value

    return spoil


def cheaper_all_through(held: dict[str, Any]) -> None:
    """A hundred less in net and all that follows from it, but not in the lines."""
    totals = held["quote"]["totals"]
    totals.update(net="299.31", gross="370.72", due="370.72")
    held["quote"].update(balance="182.43")
    held["quote"]["margin"].update(net="294.31")


def a_line_taken_out(held: dict[str, Any]) -> None:
    del held["quote"]["lines"][2]


def less_to_pay(held: dict[str, Any]) -> None:
    held["quote"]["balance"] = "0.00"


def a_better_margin(held: dict[str, Any]) -> None:
    held["quote"]["margin"]["cost"] = "100.00"


def no_deposit_on_the_old_piece(held: dict[str, Any]) -> None:
    held["quote"]["core"] = "0"


def in_yen(held: dict[str, Any]) -> None:
    held["quote"]["currency"] = "JPY"


BY_HAND: tuple[tuple[str, Callable[[dict[str, Any]], None], str], ...] = (
    ("sum of lines", in_totals("lines", "407.37"), "totals.lines"),
    ("net", in_totals("net", "399.32"), "totals.net"),
    ("tax", in_totals("tax", "71.40"), "totals.tax"),
    ("gross", in_totals("gross", "470.00"), "totals.gross"),
    ("due", in_totals("due", "0.00"), "totals.due"),
    ("taken off", in_totals("allowances", "18.05"), "totals.allowances"),
    ("net of a line", in_line("net", "70.00"), "lines.1.net"),
    ("price of a line", in_line("price", "70.00"), "lines.1.net"),
    ("quantity of a line", in_line("quantity", "2"), "lines.1.net"),
    ("discount of a line", in_line("discount", "0.5"), "lines.1.net"),
    ("cost of a line", in_line("cost", "6.00"), "margin.cost"),
    ("all that the customer sees", cheaper_all_through, "totals.net"),
    ("a line less", a_line_taken_out, "totals.lines"),
    ("balance", less_to_pay, "balance"),
    ("cost", a_better_margin, "margin.cost"),
    ("core", no_deposit_on_the_old_piece, "core"),
    ("currency", in_yen, "lines.9.net"),
)


@pytest.mark.parametrize(("spoil", "field"), [case[1:] for case in BY_HAND], ids=[case[0] for case in BY_HAND])
def test_an_amount_that_was_changed_by_hand_contradicts_the_rest(
    spoil: Callable[[dict[str, Any]], None], field: str, folder: Path
) -> None:
    change(folder, spoil)
    found = faults(folder)
    assert ("QUO011", "new-r1.json", f"quote.{field}") in found
    assert {code for code, _, _ in found} == {"QUO011"}


@pytest.mark.parametrize("amount", ["1E+40", "-1E+40", "1E-40", "1E+999999", "NaN", "Infinity", "", "1,5", "--1"])
def test_no_amount_is_too_odd_to_be_refused(amount: str, folder: Path) -> None:
    for spoil in (in_totals("net", amount), in_line("price", amount), in_line("net", amount), in_line("cost", amount)):
        change(folder, spoil)
        assert {code for code, _, _ in faults(folder)} == {"QUO011"}


def test_what_a_saved_request_names_is_asked_again_where_it_is_priced_anew(folder: Path) -> None:
    from costplan.quote.request import check_names

    revision, _ = read_revision(folder, "new", 1)
    assert revision is not None
    shutil.copytree(BASE, folder / "moved on")
    engine = folder / "moved on" / "parts" / "engine.csv"
    rows = engine.read_text("utf-8").splitlines()
    engine.write_text("\n".join(row for row in rows if not row.startswith("S-21,")), "utf-8")
    rules = folder / "moved on" / "rules-cup.toml"
    rules.write_text(rules.read_text("utf-8").replace("S-21", "S-20"), "utf-8")
    found: list[Problem] = list(check_names(revision.asked, desk_of(folder / "moved on").names))
    assert [(one.code, Path(one.place.file).name, one.field, one.value) for one in found] == [
        ("QUO005", "new-r1.json", "part", "S-21")
    ]
