"""The tables of questions that README and the guide show are generated, and as true as the last run.

Written anew with COSTPLAN_UPDATE_GOLDEN=1, in one process; read the difference.
"""

from __future__ import annotations

import os
import re
from pathlib import Path

import pytest

from tests.test_questions.asking import DRAWN, QUESTIONS, SCENARIOS, answer, listed
from tests.test_questions.telling import TELL

README, GUIDE = Path("README.md"), Path("costplan/guide/questions.md")
#: Who asks, by the first of their questions.
READERS = {1: "Racer", 16: "Builder", 21: "Official"}
EVERY = [(scenario, number) for scenario in SCENARIOS for number in listed(scenario)]
BEGIN, END = "<!-- questions {} -->", "<!-- end -->"
UPDATE = bool(os.environ.get("COSTPLAN_UPDATE_GOLDEN"))


def row(scenario: str, number: int) -> str:
    told = TELL[number](answer(number, scenario)).replace("|", "/")
    return f"| {number}. {QUESTIONS[number]} | `costplan {listed(scenario)[number]}` | {told} |"


def tables(page: Path, scenario: str) -> str:
    """What a page has between the marks of a scenario."""
    begin = BEGIN.format(scenario)
    return page.read_text("utf-8").partition(f"{begin}\n")[2].partition(END)[0]


def page_of(scenario: str) -> Path:
    """The first demo stands in README, the others in the guide."""
    return README if scenario == SCENARIOS[0] else GUIDE


def whole_table(scenario: str) -> str:
    lines: list[str] = []
    for number in listed(scenario):
        if number in READERS or not lines:
            who = READERS[max(first for first in READERS if first <= number)]
            lines += [*([""] if lines else []), f"**{who}**", "", "| question | command | answer |", "|---|---|---|"]
        lines.append(row(scenario, number))
    return "\n".join(lines) + "\n"


@pytest.mark.skipif(not UPDATE, reason="only when the tables are written anew")
@pytest.mark.parametrize("scenario", SCENARIOS)
def test_a_table_is_written_anew(scenario: str) -> None:
    page, old = page_of(scenario), tables(page_of(scenario), scenario)
    begin = BEGIN.format(scenario) + "\n"
    page.write_text(page.read_text("utf-8").replace(begin + old, begin + whole_table(scenario)), "utf-8")


@pytest.mark.parametrize(("scenario", "number"), EVERY)
def test_a_row_is_what_its_command_answers(scenario: str, number: int) -> None:
    assert row(scenario, number) in tables(page_of(scenario), scenario).splitlines()


@pytest.mark.parametrize("scenario", SCENARIOS)
def test_a_table_has_these_rows_and_no_more(scenario: str) -> None:
    numbers = [int(found) for found in re.findall(r"^\| (\d+)\. ", tables(page_of(scenario), scenario), re.M)]
    assert numbers == list(listed(scenario))


def test_the_first_demo_answers_every_question() -> None:
    assert list(listed(SCENARIOS[0])) == list(QUESTIONS) == [*range(1, 26)]


def test_readme_says_on_how_many_seasons_its_answers_rest() -> None:
    said = ", ".join(f"{command} {seasons:,}" for command, seasons in DRAWN.items())
    assert said in " ".join(README.read_text("utf-8").split())
