"""Charts as SVG, in colours that the page chooses.

A specification says which colour of the page a mark has by a stand-in; the page's style sheet gives it its value in
light, dark and print. What a mark's `description` says is shown when it is pointed at.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from types import ModuleType
from typing import Any

#: The names of the page's colours by the stand-in that a specification writes for them.
COLOURS = {
    "#aa0001": "blue",
    "#aa0002": "ochre",
    "#aa0003": "brick",
    "#aa0004": "moss",
    "#aa0006": "slate",
    "#aa00f1": "ink",
    "#aa00f2": "faint",
    "#aa00f3": "line",
    "#aa00f4": "paper",
}
BLUE, OCHRE, BRICK, MOSS, SLATE, INK, FAINT, LINE, PAPER = COLOURS
_STAND_IN = re.compile("|".join(COLOURS), re.IGNORECASE)
_NAMED = re.compile(r'(\bid="|url\(#|href="#)')
#: Sizes of the letters of a chart, which are those of the page's small print.
SMALL = 13
FONT = "IBM Plex Sans"
_AXIS = {
    "labelColor": INK,
    "titleColor": INK,
    "labelFontSize": SMALL,
    "titleFontSize": SMALL,
    "titleFontWeight": "normal",
    "gridColor": LINE,
    "domainColor": FAINT,
    "tickColor": FAINT,
    "labelLimit": 400,
}
CONFIG = {
    "font": FONT,
    "background": None,
    "view": {"stroke": None},
    "axis": _AXIS,
    "legend": {
        "labelColor": INK,
        "labelFontSize": SMALL,
        "title": None,
        "orient": "top",
        "direction": "horizontal",
        "symbolStrokeWidth": 2,
        "columnPadding": 16,
        "labelLimit": 300,
    },
    "text": {"color": INK, "fontSize": SMALL},
    "rule": {"color": FAINT},
    "aria": False,
}


def draw(spec: Mapping[str, Any], name: str) -> str:
    """A specification of Vega-Lite as SVG for a page; `name` keeps what it names apart from other drawings'."""
    svg: str = _drawer().vegalite_to_svg(json.dumps({**spec, "config": CONFIG}), allowed_base_urls=[])
    svg = _STAND_IN.sub(lambda found: f"var(--{COLOURS[found[0].lower()]})", svg)
    svg = _NAMED.sub(rf"\g<1>{name}-", svg)
    return svg.replace(f'font-family="{FONT}"', "").replace("<svg ", '<svg aria-hidden="true" focusable="false" ', 1)


@cache
def _drawer() -> ModuleType:
    """The library that draws, which measures letters by the font that is shipped."""
    import vl_convert

    vl_convert.register_font_directory(str(Path(__file__).parents[1] / "fonts"))
    return vl_convert
