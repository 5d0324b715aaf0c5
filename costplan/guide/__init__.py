"""The guide: pages in Markdown, and schemas of files and answers in JSON, kept as files beside this one.

The reference pages and the schemas are written from the code by the room `writing`; tests hold them to it. Tutorial and
method are written by hand; tests run what they show.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

HERE = Path(__file__).parent
#: The pages in the order in which a reader may want them.
NAMES = ("tutorial", "method", "questions", "columns", "rules", "measures", "causes", "methods", "problems", "schemas")
#: Where the schemas lie, and what their files are called.
SCHEMAS, SUFFIX = "schemas", ".schema.json"


@dataclass(frozen=True, slots=True)
class GuidePage:
    """One page: its name, its heading, what it is about in a sentence, and its whole text."""

    name: str
    title: str
    about: str
    text: str


def read_page(name: str) -> GuidePage:
    """A page as it stands, without the notes for those who write it."""
    text = re.sub(r"<!--.*?-->\n?", "", (HERE / f"{name}.md").read_text("utf-8"), flags=re.DOTALL)
    heading, _, rest = text.partition("\n")
    about = " ".join(rest.strip().split("\n\n")[0].split())
    return GuidePage(name, heading.removeprefix("# "), about, text)


def pages() -> tuple[GuidePage, ...]:
    return tuple(map(read_page, NAMES))


def schema_names() -> tuple[str, ...]:
    """The schemas as a reader names them: schemas/calendar.csv."""
    return tuple(sorted(f"{SCHEMAS}/{path.name.removesuffix(SUFFIX)}" for path in (HERE / SCHEMAS).glob(f"*{SUFFIX}")))


def read_schema(name: str) -> str:
    """A schema by one of `schema_names`."""
    return (HERE / f"{name}{SUFFIX}").read_text("utf-8")
