"""Asking the 25 questions with the very commands that README and the guide list, on every demo scenario."""

from __future__ import annotations

import json
import os
import shlex
import tomllib
from functools import cache
from pathlib import Path
from typing import Any

from tests import command_line

ROOT = Path(__file__).parents[2]
LISTED = tomllib.loads((ROOT / "tests" / "test_questions" / "questions.toml").read_text("utf-8"))
QUESTIONS = {int(number): text for number, text in LISTED["question"].items()}
SCENARIOS = [name for name in LISTED if name != "question"]
#: Seasons drawn by each command, as many as show what is asked about; the answers for use take the commands' own.
DRAWN = {"outlook": 250, "compare": 250, "whatif": 250, "timing": 60, "spares": 1000, "worth": 250, "impact": 40}
#: Where the processes of one run of the tests keep answers for each other; None where there is one process.
KEPT: Path | None = None


def listed(scenario: str = "oval-v8") -> dict[int, str]:
    """The commands for a scenario by the number of their question, without the program's name."""
    return {int(number): words for number, words in LISTED[scenario].items()}


def asked(words: str) -> dict[str, Any]:
    """A command's answer."""
    return _asked(_with_more(words))


@cache
def _asked(words: str) -> dict[str, Any]:
    """Processes that run tests side by side ask each command once between them."""
    kept = KEPT / f"{''.join(letter if letter.isalnum() else '-' for letter in words)}.json" if KEPT else None
    if kept is not None and kept.exists():
        found: dict[str, Any] = json.loads(kept.read_text("utf-8"))
        return found
    given = shlex.split(words)
    found = command_line.answer(*given, *(("--seasons", DRAWN[given[0]]) if given[0] in DRAWN else ()))
    if kept is not None:
        kept.parent.mkdir(exist_ok=True)
        draft = kept.with_suffix(f".{os.getpid()}")
        draft.write_text(json.dumps(found), "utf-8")
        draft.replace(kept)
    return found


def _with_more(words: str) -> str:
    """The listed command that answers all that another does, and more: a study with its flips is the study too."""
    every = {command for scenario in SCENARIOS for command in listed(scenario).values()}
    return f"{words} --flips" if f"{words} --flips" in every else words


def answer(number: int, scenario: str = "oval-v8") -> dict[str, Any]:
    return asked(listed(scenario)[number])
