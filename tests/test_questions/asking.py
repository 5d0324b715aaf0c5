"""Asking README's questions with the very commands of its table, on the demo of short ovals."""

from __future__ import annotations

import re
import shlex
from functools import cache
from pathlib import Path
from typing import Any

from tests import command_line

ROOT = Path(__file__).parents[2]
#: Seasons drawn by each command, as many as show what is asked about; the answers for use take the commands' own.
DRAWN = {"outlook": 250, "compare": 250, "whatif": 250, "timing": 60, "spares": 1000, "worth": 250, "impact": 40}


def listed() -> dict[int, str]:
    """The commands of README's table by the number of their question."""
    table = (ROOT / "README.md").read_text("utf-8").partition("<!-- questions -->")[2].partition("<!-- end -->")[0]
    return {int(number): words for number, words in re.findall(r"^\| (\d+)\. .*? \| `costplan (.+)` \|$", table, re.M)}


@cache
def asked(words: str) -> dict[str, Any]:
    """A command's answer."""
    given = shlex.split(words)
    return command_line.answer(*given, *(("--seasons", DRAWN[given[0]]) if given[0] in DRAWN else ()))


def answer(number: int) -> dict[str, Any]:
    return asked(listed()[number])
