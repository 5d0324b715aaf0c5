"""A page as a file: escaped, small, closed to the network, and written over nothing but a page of ours."""

from __future__ import annotations

import base64
import hashlib
import re
from datetime import date
from pathlib import Path

import pytest

from costplan.cli.report import official
from costplan.report.tables import Table
from costplan.report.web.blocks import Cards, Cell, Items, Section, WebPage, Words, cells, sheet_of
from costplan.report.web.files import write_pages
from costplan.report.web.writing import html_of
from tests import command_line
from tests.test_web.reading import read

HOSTILE = "</style></script><script>alert(1)</script>&\"'"
LARGEST = 1_500_000
OURS = '<meta name="generator" content="costplan 0">'


def page(text: str) -> WebPage:
    table = sheet_of(Table(text, (text, text), ((text, text), ("", text)), note=text), {(0, 1): (text, "second")})
    blocks = (
        Words((text,), alert=True),
        Cards(((text, Cell(text, (text,), guess=True), text),)),
        table,
        Items((text,)),
    )
    return WebPage("racer", text, True, date(2027, 5, 1), (text,), (Section(text, blocks),), (text,))


def test_no_text_is_taken_for_markup() -> None:
    html = html_of(page(HOSTILE))
    assert html.count("<script>") == 1
    assert HOSTILE not in html
    assert [text for _, text in read(html).headings] == [HOSTILE, HOSTILE]


def test_the_one_script_is_the_one_that_the_page_allows() -> None:
    html = html_of(page("x"))
    script = re.search(r"<script>(.*)</script>", html, re.S)
    assert script is not None
    allowed = base64.b64encode(hashlib.sha256(script[1].encode()).digest()).decode()
    assert f"default-src 'none'; style-src 'unsafe-inline'; script-src 'sha256-{allowed}'" in html


def test_figures_with_the_same_why_share_a_slip() -> None:
    row = cells(Cell("1", ("same",)), Cell("2", ("same",)))
    sheet = sheet_of(Table("t", ("a", "b"), ()), None)
    with_rows = type(sheet)(sheet.title, sheet.header, (row,))
    html = html_of(WebPage("racer", "t", False, date(2027, 5, 1), (), (Section("s", (with_rows,)),), ()))
    assert html.count('popovertarget="why-1"') == 2
    assert read(html).slips == {"why-1": ["same"]}


def test_what_has_nothing_in_it_is_left_out() -> None:
    empty = sheet_of(Table("no rows", ("a",), ()))
    sections = (Section("gone", (empty,)), Section("there", (empty, Words(("said",)))))
    html = html_of(WebPage("racer", "t", False, date(2027, 5, 1), (), sections, ()))
    assert "gone" not in html
    assert "no rows" not in html
    assert "said" in html


def test_the_pages_of_the_demos_are_small(racer_files: dict[str, Path]) -> None:
    assert all(path.stat().st_size < LARGEST for path in racer_files.values())


def test_a_page_of_the_same_name_is_written_anew_and_nothing_else_is_touched(tmp_path: Path) -> None:
    (tmp_path / "mine.html").write_text("my own", "utf-8")
    assert write_pages(tmp_path, {"a.html": OURS + "one"}) == ""
    assert write_pages(tmp_path, {"a.html": OURS + "two"}) == ""
    assert (tmp_path / "a.html").read_text("utf-8") == OURS + "two"
    refusal = write_pages(tmp_path, {"a.html": OURS + "three", "mine.html": OURS})
    assert refusal.startswith(f"{tmp_path / 'mine.html'} is there already")
    assert (tmp_path / "a.html").read_text("utf-8") == OURS + "two"
    assert (tmp_path / "mine.html").read_text("utf-8") == "my own"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.html", "mine.html"]


@pytest.mark.parametrize("out", ["a-file", "nowhere/deeper"])
def test_a_folder_that_cannot_be_is_refused_before_any_season_is_drawn(tmp_path: Path, out: str) -> None:
    (tmp_path / "a-file").write_text("", "utf-8")
    status, shown, err = command_line.run("report", "scenarios/kart-single", "--out", tmp_path / out)
    assert (status, shown) == (2, "")
    assert "give another name with --out" in err


def test_the_command_says_what_it_wrote(tmp_path: Path) -> None:
    given = ("report", "scenarios/kart-single", "--for", "racer", "--on", "2027-05-01", "--seasons", 10)
    found = command_line.answer(*given, "--out", tmp_path / "new")
    (one,) = found["pages"]
    assert one["for"] == "racer"
    assert Path(one["file"]).read_text("utf-8").startswith("<!doctype html>")


def test_a_what_if_may_lead_into_the_files_of_the_pages_that_are_asked_for(tmp_path: Path) -> None:
    given = ("report", "scenarios/kart-single", "--on", "2027-03-01", "--seasons", 10, "--set", "shop/valid_days=9")
    status, _, err = command_line.run(*given, "--for", "builder", "--out", tmp_path)
    assert (status, err) == (0, "")
    words = read((tmp_path / "kart-single-builder-2027-03-01.html").read_text("utf-8")).words
    assert "2027-02-12, valid until 2027-02-21" in words
    status, _, err = command_line.run(*given, "--for", "racer", "--out", tmp_path)
    assert status == 2
    assert err.startswith("--set 1: REA022 no such file: 'shop/valid_days'")


def test_a_field_in_a_workbook_is_a_field(tmp_path: Path) -> None:
    (tmp_path / "impact.toml").write_text('changes = ["change-a.toml"]\n', "utf-8")
    assert official.beside(tmp_path) == ()
    (tmp_path / "field.xlsx").write_bytes(b"")
    assert official.has_field(tmp_path)
    assert official.beside(tmp_path) == ("field", "survey", "supply", "impact", "change-a")
