"""Reading a page as a reader gets it: its headings, tables, slips and charts, by the parser of the standard library."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser

VOID = {"meta", "link", "br", "img", "input", "hr"}


@dataclass
class TableRead:
    """A table: caption, headings, rows of texts; `whys` gives the name of a figure's slip by row and column."""

    caption: str = ""
    header: list[str] = field(default_factory=list)
    rows: list[list[str]] = field(default_factory=list)
    whys: dict[tuple[int, int], str] = field(default_factory=dict)

    def column(self, name: str) -> list[str]:
        at = self.header.index(name)
        return [row[at] for row in self.rows]


@dataclass
class Read:
    """A page: `slips` are lines by name, `charts` what each drawing's marks say, `attributes` every name used."""

    headings: list[tuple[int, str]] = field(default_factory=list)
    tables: list[TableRead] = field(default_factory=list)
    slips: dict[str, list[str]] = field(default_factory=dict)
    marks: list[str] = field(default_factory=list)
    tags: list[str] = field(default_factory=list)
    ids: list[str] = field(default_factory=list)
    links: list[str] = field(default_factory=list)
    words: str = ""

    def table(self, caption: str) -> TableRead:
        return next(table for table in self.tables if table.caption.startswith(caption))


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.page = Read()
        self.open: list[str] = []
        self.slip = ""
        self.texts: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        named = {name: value or "" for name, value in attrs}
        page = self.page
        page.tags.append(tag)
        page.ids += [named["id"]] if "id" in named else []
        page.links += [named[name] for name in ("href", "src", "xlink:href") if name in named]
        if "aria-label" in named and "svg" in self.open:
            page.marks.append(named["aria-label"])
        if tag == "table":
            page.tables.append(TableRead())
        elif tag == "tr" and "tbody" in self.open:
            page.tables[-1].rows.append([])
        elif tag == "button" and page.tables and "td" in self.open:
            row = page.tables[-1].rows
            page.tables[-1].whys[len(row) - 1, len(row[-1])] = named["popovertarget"]
        elif "popover" in named:
            self.slip = named["id"]
            page.slips[self.slip] = []
        if tag not in VOID:
            self.open.append(tag)
            self.texts.append("")
        elif tag == "br" and self.texts:
            self.texts[-1] += "\n"

    def handle_data(self, data: str) -> None:
        if self.texts:
            self.texts[-1] += data
        if not {"script", "style"} & set(self.open):
            self.page.words += data

    def handle_endtag(self, tag: str) -> None:
        assert self.open, f"</{tag}> closes nothing"
        assert self.open.pop() == tag, f"</{tag}> closes what was opened as something else"
        text, page = self.texts.pop(), self.page
        if self.texts and tag in ("button", "span"):
            self.texts[-1] += text
        if tag in ("h1", "h2", "h3"):
            page.headings.append((int(tag[1]), text.strip()))
        elif tag == "caption":
            page.tables[-1].caption = text.strip()
        elif tag in ("th", "td") and "thead" in self.open:
            page.tables[-1].header.append(text)
        elif tag in ("th", "td"):
            page.tables[-1].rows[-1].append(text)
        elif tag == "p" and self.slip:
            page.slips[self.slip].append(text)
        elif tag == "div":
            self.slip = ""


def read(html: str) -> Read:
    """A page; what is opened and not closed, or closed in another order, is no page."""
    reader = _Reader()
    reader.feed(html)
    reader.close()
    assert not reader.open, f"never closed: {reader.open}"
    return reader.page
