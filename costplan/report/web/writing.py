"""A page as one file of HTML: style, script and drawings are in it, and it may ask no network for anything."""

from __future__ import annotations

import base64
import hashlib
from functools import cache
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING, Any

from costplan import __version__
from costplan.report.web import look
from costplan.report.web.blocks import Block, Cards, Chart, Items, Section, Sheet, WebPage, Words
from costplan.report.web.drawing import draw

if TYPE_CHECKING:
    from jinja2 import Environment

HERE = Path(look.__path__[0])


def html_of(page: WebPage) -> str:
    """The page whole, under 1.5 MB; what stands in it as text is escaped."""
    from markupsafe import Markup

    slips = _Slips()
    macros: Any = _environment().get_template("blocks.html.jinja").make_module({"slip": slips.name})
    numbers = count(1)
    sections = [
        {
            "title": section.title,
            "anchor": section.anchor,
            "on_screen": all(isinstance(block, Sheet) and block.folded for block in section.blocks),
            "blocks": [_block(macros, block, numbers) for block in section.blocks if is_filled(block)],
        }
        for section in page.sections
        if has_something(section)
    ]
    script = _read("page.js")
    return (
        _environment()
        .get_template("page.html.jinja")
        .render(
            page=page,
            sections=sections,
            slips=macros.slips(slips.found()),
            style=Markup(_read("page.css")),  # noqa: S704 - our own file
            script=Markup(script),  # noqa: S704 - our own file
            script_hash=base64.b64encode(hashlib.sha256(script.encode()).digest()).decode(),
            version=__version__,
        )
    )


def has_something(section: Section) -> bool:
    return any(map(is_filled, section.blocks))


def is_filled(block: Block) -> bool:
    """Whether a block has anything to show: a table without rows has not."""
    return not isinstance(block, Sheet) or bool(block.rows)


class _Slips:
    """The whys of a page; figures with the same one share it."""

    def __init__(self) -> None:
        self._names: dict[tuple[str, ...], str] = {}

    def name(self, lines: tuple[str, ...]) -> str:
        return self._names.setdefault(lines, f"why-{len(self._names) + 1}")

    def found(self) -> list[tuple[str, tuple[str, ...]]]:
        return [(name, lines) for lines, name in self._names.items()]


def _block(macros: Any, block: Block, numbers: count[int]) -> Any:
    """A block as HTML, by its kind."""
    if isinstance(block, Chart):
        wide, narrow = (_drawn(spec, next(numbers)) for spec in (block.wide, block.narrow))
        return macros.chart(block, wide, narrow)
    kinds = {Sheet: "sheet", Cards: "cards", Words: "words", Items: "items"}
    return getattr(macros, kinds[type(block)])(block)


def _drawn(spec: Any, number: int) -> Any:
    from markupsafe import Markup

    return Markup(draw(spec, f"d{number}"))  # noqa: S704 - the drawing escapes its texts


def _read(name: str) -> str:
    return (HERE / name).read_text("utf-8")


@cache
def _environment() -> Environment:
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    return Environment(
        loader=FileSystemLoader(HERE),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        extensions=[],
    )
