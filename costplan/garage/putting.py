"""Writing a file with one more row behind it: read back whole before it stands in its place, or nothing at all."""

from __future__ import annotations

import os
import shutil
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

from costplan.problems import Place, Problem
from costplan.reading import WORKBOOK, shown, table_file

T = TypeVar("T")
#: How often a row is tried while something else writes to the file, and the seconds between two tries.
TRIES, PAUSE = 5, 0.2
#: How it is said that something else still does.
AGAIN = "give the command again"


def put_behind(
    path: Path,
    text_of: Callable[[bytes | None], tuple[str | None, tuple[Problem, ...]]],
    read_back: Callable[[Path], tuple[T | None, tuple[Problem, ...]]],
) -> tuple[T | None, tuple[Problem, ...], str]:
    """Writes a file anew with more behind it, or makes it: whole or not at all.

    `text_of`: the new text, from the bytes that are there now (None without a file); `read_back`: what is read of a
    draft of it, with all problems, which keep it from being written. Else what stands in the way of it is said. Who
    else writes at the same moment is let go first.
    """
    for left in range(TRIES - 1, -1, -1):
        found, problems, refusal = _try(path, text_of, read_back)
        if not left or not refusal.endswith(AGAIN):
            break
        time.sleep(PAUSE)
    return found, problems, refusal


def _try(
    path: Path,
    text_of: Callable[[bytes | None], tuple[str | None, tuple[Problem, ...]]],
    read_back: Callable[[Path], tuple[T | None, tuple[Problem, ...]]],
) -> tuple[T | None, tuple[Problem, ...], str]:
    refusal = in_the_way_of_rows(path)
    if refusal:
        return None, (), refusal
    if path.is_file() and not os.access(path, os.W_OK):
        return None, (), f"{path} may not be written; nothing was changed"
    try:
        before = path.read_bytes() if path.is_file() else None
        text, problems = text_of(before)
        if text is None:
            return None, problems, ""
        target = path.resolve()
        with tempfile.TemporaryDirectory(dir=target.parent, prefix=".costplan-") as room:
            draft = Path(room) / path.name
            _write(draft, text)
            found, problems = read_back(draft)
            if problems:
                return None, tuple(_at_home(problem, draft, path) for problem in problems), ""
            refusal = _put(draft, target, before)
    except OSError as error:
        return None, (), f"{path} cannot be read or written: {error.strerror}; nothing was changed"
    return (None if refusal else found), (), refusal


def in_the_way_of_rows(path: Path) -> str:
    """Why nothing is written into a table: it is kept in a workbook, also or instead of CSV; '' where it is not."""
    twin = path.with_suffix(WORKBOOK)
    file = twin if twin.exists() else table_file(path)
    if file == path:
        return ""
    advice = f"write it there yourself, or save the table as {path.name} and take {file.name} away"
    return f"{file} is no CSV file, and only those are written; {advice}; nothing was changed"


def _write(draft: Path, text: str) -> None:
    with draft.open("wb") as out:
        out.write(text.encode("utf-8"))
        out.flush()
        os.fsync(out.fileno())


def _put(draft: Path, target: Path, before: bytes | None) -> str:
    """Puts the whole file in place, over what was read and nothing else; what stands in the way, '' if nothing."""
    changed = f"{target.name} was changed meanwhile by something else; nothing was written, {AGAIN}"
    if before is None:
        try:
            target.hardlink_to(draft)
        except FileExistsError:
            return changed
        return ""
    if target.read_bytes() != before:
        return changed
    shutil.copymode(target, draft)
    draft.replace(target)
    return ""


def _at_home(problem: Problem, draft: Path, path: Path) -> Problem:
    """A problem of the draft where the user has the file."""
    home = Place(shown(path), problem.place.line) if problem.place.file == shown(draft) else problem.place
    return replace(problem, place=home, advice=problem.advice.replace(shown(draft), shown(path)))
