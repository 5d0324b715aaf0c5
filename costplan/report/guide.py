"""The pages of the guide as a list."""

from __future__ import annotations

from collections.abc import Iterable

from costplan.guide import GuidePage
from costplan.report.data import to_csv
from costplan.report.tables import Page, Table


def guide_page(pages: Iterable[GuidePage]) -> Page:
    """All pages with what each is about."""
    rows = tuple((page.name, f"{page.title}\n{page.about}") for page in pages)
    lines = (
        "costplan guide PAGE shows one; piped into a file it stays Markdown.",
        "costplan guide schemas/calendar.csv prints a schema; the page schemas lists them.",
    )
    return Page("The guide", lines, (Table("", ("Page", "What it is about"), rows),))


def guide_csv(pages: Iterable[GuidePage]) -> str:
    return to_csv(("name", "title", "about"), ((page.name, page.title, page.about) for page in pages))
