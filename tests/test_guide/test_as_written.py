"""What of the guide is written from the code is as the code writes it.

After a change of code: `COSTPLAN_UPDATE_GOLDEN=1 pytest tests/test_guide`, then read the difference before keeping it.
"""

from __future__ import annotations

import difflib
import os
import re
from pathlib import Path
from typing import get_args

import pytest

from costplan.guide import HERE, NAMES, SCHEMAS, SUFFIX, pages, read_page, schema_names
from costplan.problems import CODES, THEMES
from costplan.quantity import MEASURES, USES
from costplan.reference import ABOUT, FILES
from costplan.rules.evidence import VERDICTS, Verdict
from costplan.season.ledger import CAUSES, Cause
from costplan.writing import written
from tests.command_line import answer

ROOT = Path(__file__).parents[2]
UPDATE = os.environ.get("COSTPLAN_UPDATE_GOLDEN", "") not in ("", "0")
WRITTEN = written()
#: What the whole of the schemas may take.
MOST_BYTES = 1_000_000


@pytest.mark.parametrize("name", WRITTEN)
def test_a_file_is_as_the_code_writes_it(name: str) -> None:
    kept = HERE / name
    if UPDATE:
        kept.write_text(WRITTEN[name], encoding="utf-8", newline="\n")
    before = kept.read_text("utf-8") if kept.is_file() else ""
    if before != WRITTEN[name]:
        difference = difflib.unified_diff(before.splitlines(), WRITTEN[name].splitlines(), "kept", "now", lineterm="")
        advice = "if this is wanted: COSTPLAN_UPDATE_GOLDEN=1 pytest tests/test_guide"
        pytest.fail("\n".join((*difference, advice)), pytrace=False)


def test_nothing_is_kept_that_nothing_writes() -> None:
    assert {path.name for path in HERE.glob("*.md")} == {f"{name}.md" for name in NAMES}
    assert {f"{SCHEMAS}/{path.name}" for path in (HERE / SCHEMAS).iterdir()} == {
        name for name in WRITTEN if name.startswith(f"{SCHEMAS}/")
    }
    assert {f"{name}{SUFFIX}" for name in schema_names()} == {name for name in WRITTEN if name.endswith(SUFFIX)}


def test_the_schemas_take_little_room() -> None:
    assert sum(path.stat().st_size for path in (HERE / SCHEMAS).iterdir()) < MOST_BYTES


def test_every_table_of_meanings_is_whole() -> None:
    assert set(CAUSES) == set(get_args(Cause))
    assert set(VERDICTS) == set(get_args(Verdict))
    assert set(USES) == set(MEASURES)
    assert {code[:3] for code in CODES} == set(THEMES)
    assert set(ABOUT) == {file for file, _, _ in FILES}


def test_every_page_says_what_it_is_about_and_shows_no_note_to_writers() -> None:
    for page in pages():
        assert page.title
        assert 30 < len(page.about) < 300
        assert "<!--" not in page.text


def anchors(text: str) -> set[str]:
    """What the headings of a page are linked by."""
    headings = re.findall(r"^#+ (.*)$", text, flags=re.MULTILINE)
    return {
        "".join(char for char in heading.lower() if char.isalnum() or char in " -_").replace(" ", "-")
        for heading in headings
    }


@pytest.mark.parametrize("name", NAMES)
def test_every_link_of_a_page_leads_somewhere(name: str) -> None:
    text = read_page(name).text
    links = re.findall(r"\[[^\]]*\]\(([^)]+)\)", text)
    for link in links:
        file, _, heading = link.partition("#")
        assert not file or (HERE / file).is_file(), link
        target = text if not file else (HERE / file).read_text("utf-8")
        assert not heading or heading in anchors(target), link


def test_the_readme_leads_to_every_page() -> None:
    readme = (ROOT / "README.md").read_text("utf-8")
    for name in NAMES:
        assert f"costplan/guide/{name}.md" in readme


@pytest.mark.parametrize("folder", ["oval-v8", "kart-single"])
def test_every_row_of_a_ledger_has_a_cause_that_is_explained_for_its_view(folder: str) -> None:
    rows = answer("season", ROOT / "scenarios" / folder, "--on", "2027-01-01")["plan"]["ledger"]
    assert rows
    assert [row for row in rows if not getattr(CAUSES[row["cause"]], row["view"])] == []
