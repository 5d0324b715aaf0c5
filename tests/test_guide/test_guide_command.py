"""`costplan guide`: its list, its pages, schemas, and what it says of a page that is not there."""

from __future__ import annotations

import io
import json
import re

import pytest
from rich.console import Console

from costplan.guide import NAMES, read_page, schema_names
from costplan.report.terminal import print_markdown
from tests.command_line import answer, run


def test_the_guide_lists_every_page_with_what_it_is_about() -> None:
    status, out, err = run("guide")
    assert (status, err) == (0, "")
    listed = [line.split()[0] for line in out.splitlines() if line.split() and line.split()[0] in NAMES]
    assert list(dict.fromkeys(listed)) == list(NAMES)
    found = answer("guide")
    assert [page["name"] for page in found["pages"]] == list(NAMES)
    assert found["schemas"] == list(schema_names())
    assert [line.partition(",")[0] for line in run("guide", "--csv")[1].splitlines()] == ["name", *NAMES]


@pytest.mark.parametrize("name", NAMES)
def test_a_page_is_shown_as_it_is_written_without_notes_to_its_writers(name: str) -> None:
    status, out, err = run("guide", name)
    assert (status, err) == (0, "")
    assert out == read_page(name).text
    assert out.startswith("# ")
    assert answer("guide", name)["page"]["text"] == out
    assert re.findall(r"\b(?:legal(?:ly|ity)?|illegal|safe|safely)\b", out, re.IGNORECASE) == []


def test_a_terminal_gets_a_page_set_out() -> None:
    out = io.StringIO()
    print_markdown(
        "# Title\n\n| A | B |\n|---|---|\n| `one` | two |\n", Console(file=out, force_terminal=True, width=40)
    )
    assert "Title" in out.getvalue()
    assert "|---|" not in out.getvalue()


def test_a_schema_is_printed_as_json() -> None:
    status, out, err = run("guide", "schemas/calendar.csv")
    assert (status, err) == (0, "")
    assert json.loads(out)["title"] == "One row of calendar.csv"


@pytest.mark.parametrize(
    ("name", "near"),
    [("tutorail", "tutorial"), ("schemas/calender.csv", "schemas/calendar.csv"), ("../cli", "tutorial")],
)
def test_a_page_that_is_not_there_is_a_problem(name: str, near: str) -> None:
    status, out, err = run("guide", name)
    assert (status, out) == (2, "")
    assert "REA020" in err
    assert near in err
