"""The tutorial, followed from its first line to its last: commands run, files are read, pages are what it shows.

After a wanted change: `COSTPLAN_UPDATE_GOLDEN=1 pytest tests/test_guide`, then read it as its reader would.
"""

from __future__ import annotations

import difflib
import os
from pathlib import Path

import pytest

from costplan.guide import HERE
from tests.test_guide.walking import blocks, excerpt, follow

PAGE = HERE / "tutorial.md"
UPDATE = os.environ.get("COSTPLAN_UPDATE_GOLDEN", "") not in ("", "0")
PRINTED = "one\ntwo\n\nCosts\na 1\nb 2\n\nEnd\n"


def test_whoever_follows_the_tutorial_sees_what_it_shows(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    for variable in ("FORCE_COLOR", "TTY_COMPATIBLE"):
        monkeypatch.delenv(variable, raising=False)
    before = PAGE.read_text("utf-8")
    now = follow(before, tmp_path)
    if UPDATE:
        PAGE.write_text(now, encoding="utf-8", newline="\n")
    elif now != before:
        difference = difflib.unified_diff(before.splitlines(), now.splitlines(), "shown", "printed", lineterm="")
        advice = "if this is wanted: COSTPLAN_UPDATE_GOLDEN=1 pytest tests/test_guide"
        pytest.fail("\n".join((*difference, advice)), pytrace=False)


def test_every_block_of_the_tutorial_is_followed() -> None:
    page = PAGE.read_text("utf-8")
    found = list(blocks(page))
    assert page.count("```") == 2 * len(found)
    assert [block.text for block in found if block.language in ("csv", "toml") and block.word != "file"] == []
    assert [block.text for block in found if block.language == "text" and block.word != "shows"] == []
    assert {block.language for block in found} == {"sh", "csv", "toml", "text"}


@pytest.mark.parametrize(
    ("note", "shown"),
    [
        ("all", PRINTED),
        ("top 1", "one\n\n[...]\n"),
        ("top", "one\ntwo\n\n[...]\n"),
        ("top; Costs", "one\ntwo\n\nCosts\na 1\nb 2\n\n[...]\n"),
        ("top 1; Costs 2; End", "one\n\n[...]\n\nCosts\na 1\n\n[...]\n\nEnd\n"),
    ],
)
def test_an_excerpt_marks_what_it_leaves_out(note: str, shown: str) -> None:
    assert excerpt(PRINTED, note) == shown
