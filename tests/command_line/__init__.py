"""The command line run inside the tests: what a command prints, and the status it ends with."""

from __future__ import annotations

import io
import json
from contextlib import redirect_stderr, redirect_stdout
from typing import Any

import pytest
from typer.main import get_command

from costplan.cli import app

#: The command line, put together once: it keeps nothing from one command to the next.
COMMAND = get_command(app)


def run(*words: object) -> tuple[int, str, str]:
    """A command's status, and what it prints on either stream; any exception but its own end is a traceback."""
    out, err = io.StringIO(), io.StringIO()
    with redirect_stdout(out), redirect_stderr(err), pytest.raises(SystemExit) as end:
        COMMAND([str(word) for word in words], prog_name="costplan")
    assert isinstance(end.value.code, int)
    return end.value.code, out.getvalue(), err.getvalue()


def answer(*words: object, status: int = 0) -> dict[str, Any]:
    """What a command answers as JSON, with nothing on the error stream."""
    ended, out, err = run(*words, "--json")
    assert (ended, err) == (status, "")
    found: dict[str, Any] = json.loads(out)
    return found


def case(given: tuple[str, ...] | set[str]) -> str:
    """The name of a test's words, as they stand, and of its keys, in order: the same in every process."""
    return " ".join(given if isinstance(given, tuple) else sorted(given))
