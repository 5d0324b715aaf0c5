"""Pieces of a page in Markdown."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

#: Stands above what is written from the code; the command line leaves it out.
MADE = "<!-- Written from the code by COSTPLAN_UPDATE_GOLDEN=1 pytest tests/test_guide; change it there. -->"


def page(title: str, about: str, *parts: str) -> str:
    """A whole page: heading, note to writers, a sentence on what it is about, and its parts."""
    return "\n\n".join((f"# {title}", MADE, about, *parts)) + "\n"


def section(title: str, *parts: str, level: int = 2) -> str:
    return "\n\n".join((f"{'#' * level} {title}", *(part for part in parts if part)))


def table(header: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table; what would end a cell is written so that it does not.

    >>> print(table(("A", "B"), [("1 | 2", "x\\ny")]))
    | A | B |
    |---|---|
    | 1 \\| 2 | x y |
    """
    lines = (f"| {' | '.join(map(_cell, row))} |" for row in (header, *rows))
    first, *rest = lines
    return "\n".join((first, f"|{'---|' * len(header)}", *rest))


def _cell(text: str) -> str:
    return " ".join(text.split()).replace("|", "\\|")


def code(text: str) -> str:
    """A word as it is written in a file or typed.

    >>> code("bore [in]"), code("")
    ('`bore [in]`', '')
    """
    return f"`{text}`" if text else ""


def fenced(text: str, language: str = "text") -> str:
    return f"```{language}\n{text.rstrip()}\n```"


def sentence(text: str) -> str:
    """A text with a capital and a full stop.

    >>> sentence("what was found")
    'What was found.'
    """
    text = " ".join(text.split())
    return f"{text[:1].upper()}{text[1:]}{'' if text.endswith(('.', '?', ':')) else '.'}"


def anchor(title: str) -> str:
    """What a heading is linked by.

    >>> anchor("`rules.toml` and `[[rule]]`")
    '#rulestoml-and-rule'
    """
    kept = "".join(char for char in title.lower() if char.isalnum() or char in " -_")
    return f"#{kept.replace(' ', '-')}"
