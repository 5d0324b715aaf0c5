"""The blocks of a page that a reader follows: files to write, commands to type, and what those print.

A note stands above a block: `file: PATH` writes it, `status: 2` is how its commands end, and `shows: PIECES` picks what
is shown of what the commands before it print. Pieces, with `;` between: `all`, `top N` lines, or the words with which
a line begins: from there to the next empty line, or N lines.
"""

from __future__ import annotations

import io
import re
import shlex
from collections.abc import Iterator
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.command_line import COMMAND

BLOCK = re.compile(
    r"(?:<!-- (?P<word>\w+): (?P<note>[^\n]*) -->\n)?```(?P<language>\w+)\n(?P<text>.*?)```\n", re.DOTALL
)
LEFT_OUT = "[...]"


@dataclass(frozen=True, slots=True)
class Block:
    """A fenced block: its language, text, the note above it, and where its text begins and ends in the page."""

    language: str
    word: str
    note: str
    text: str
    start: int
    end: int


def blocks(page: str) -> Iterator[Block]:
    for found in BLOCK.finditer(page):
        yield Block(found["language"], found["word"] or "", found["note"] or "", found["text"], *found.span("text"))


def typed(text: str) -> list[list[str]]:
    """The commands of a block, word by word."""
    return [words for line in text.splitlines() if (words := shlex.split(line, comments=True))]


def printed(words: list[str]) -> tuple[int, str]:
    """What a command prints on both streams, without blanks at the ends of lines, and its status."""
    assert words[0] == "costplan"
    out = io.StringIO()
    with redirect_stdout(out), redirect_stderr(out), pytest.raises(SystemExit) as end:
        COMMAND(words[1:], prog_name="costplan")
    assert isinstance(end.value.code, int)
    return end.value.code, "".join(f"{line.rstrip()}\n" for line in out.getvalue().splitlines())


def excerpt(output: str, note: str) -> str:
    """The pieces of an output that a note names, in the order of the output, with a mark for what is left out."""
    lines = output.splitlines()
    shown = sorted({number for piece in note.split(";") for number in _lines_of(lines, piece.strip())})
    told: list[str] = []
    for number, after in zip(shown, [*shown[1:], len(lines)], strict=True):
        told.append(lines[number])
        between = lines[number + 1 : after]
        if any(between):
            told += ["", LEFT_OUT, ""]
        else:
            told += between
    return "\n".join(told).rstrip("\n") + "\n"


def _lines_of(lines: list[str], piece: str) -> range:
    words, _, count = piece.rpartition(" ")
    words, size = (words, int(count)) if count.isdigit() else (piece, 0)
    if words == "all":
        return range(len(lines))
    start = 0 if words == "top" else next(at for at, line in enumerate(lines) if line.startswith(words))
    end = next((at for at in range(start, len(lines)) if not lines[at]), len(lines))
    return range(start, start + size if size else end)


def follow(page: str, folder: Path) -> str:
    """Does in a folder what a page says, and gives the page with what was printed where it shows what is."""
    told, at, output = [], 0, ""
    for block in blocks(page):
        if block.word == "file":
            path = folder / block.note
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(block.text, encoding="utf-8")
        elif block.language == "sh":
            found = [printed(words) for words in typed(block.text)]
            wanted = int(block.note) if block.word == "status" else 0
            output = "\n".join(text for _, text in found)
            assert [status for status, _ in found] == [wanted] * len(found), output
        elif block.word == "shows":
            told += [page[at : block.start], excerpt(output, block.note)]
            at = block.end
    return "".join((*told, page[at:]))
