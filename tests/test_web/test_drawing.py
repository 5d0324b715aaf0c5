"""Charts are Vega-Lite as its published schema has it, and drawn in colours that the page chooses."""

from __future__ import annotations

import re
from html import unescape
from typing import Any

import altair
import jsonschema
import pytest

from costplan.report.web import charts
from costplan.report.web.drawing import BLUE, COLOURS, OCHRE, draw

HOSTILE = "<b>&\"' =1+1 –µ</b>"
LINE = {"date": "2027-05-01", "p10": 1.0, "p50": 2.0, "p90": 4.0, "planned": 2.5, "why": HOSTILE}
MONTH = {"month": "May", "paid": 3.0, "received": -1.0, "net": 2.0, "mark": "worst", "why": HOSTILE}
LIFE = {"slot": HOSTILE, "opening": 0.1, "now": 0.4, "end": 1.2, "due": "x", "state": "due", "why": HOSTILE}
BAR = {"name": HOSTILE, "group": "cash", "value": -3.0, "why": HOSTILE}
SPAN = {"name": HOSTILE, "low": -1.0, "middle": 2.0, "high": 4.0, "why": HOSTILE}
STEP = {"price": 100.0, "gain": 2.0, "low": 1.0, "high": 3.0, "why": HOSTILE}
SPECS: dict[str, Any] = {
    "fan": lambda width: charts.fan([LINE, {**LINE, "date": "2027-06-01"}], width, "USD"),
    "months": lambda width: charts.months([MONTH], width, "USD"),
    "lives": lambda width: charts.lives([LIFE], width),
    "bars": lambda width: charts.bars([BAR], width, "USD"),
    "bars by group": lambda width: charts.bars([BAR], width, "USD", by={"cash": BLUE, "wear": OCHRE}),
    "spans": lambda width: charts.spans([SPAN], width, "USD"),
    "spans of long names": lambda width: charts.spans(
        [SPAN | {"first": 1.0}, {**SPAN, "name": "one\nand two\nand three", "first": -2.0}], width, "USD", "first"
    ),
    "steps": lambda width: charts.steps([STEP], width, "USD", "kW"),
}
ALL = pytest.mark.parametrize("name", SPECS)
WIDTHS = pytest.mark.parametrize("width", [charts.WIDE, charts.NARROW])


@ALL
@WIDTHS
def test_a_chart_is_as_the_published_schema_has_it(name: str, width: int) -> None:
    """The JSON Schema of Vega-Lite that altair carries."""
    chart = altair.LayerChart.from_dict(SPECS[name](width), validate=True)
    assert chart.to_dict()["layer"]


def test_the_schema_refuses_what_is_no_chart() -> None:
    with pytest.raises(jsonschema.ValidationError):
        altair.LayerChart.from_dict({**charts.bars([BAR], charts.WIDE, "USD"), "layer": [{"mark": "banner"}]})


@ALL
@WIDTHS
def test_a_drawing_is_as_wide_as_it_is_asked_to_be(name: str, width: int) -> None:
    view = re.search(r'viewBox="0 0 ([\d.]+) [\d.]+"', draw(SPECS[name](width), "d1"))
    assert view is not None
    assert float(view[1]) == pytest.approx(width, abs=1)


@ALL
def test_every_colour_is_the_pages(name: str) -> None:
    svg = draw(SPECS[name](charts.WIDE), "d1")
    given = set(re.findall(r'(?:fill|stroke)="([^"]+)"', svg)) - {"none", "transparent"}
    assert given <= {f"var(--{colour})" for colour in COLOURS.values()}


@ALL
def test_what_is_pointed_at_says_why_and_no_text_is_markup(name: str) -> None:
    svg = draw(SPECS[name](charts.WIDE), "d1")
    assert "<b>" not in svg
    assert HOSTILE in {unescape(label) for label in re.findall(r'aria-label="([^"]*)"', svg)}


def test_the_ends_of_lines_that_lie_close_share_a_name() -> None:
    def names(p10: float, p50: float, p90: float) -> list[str]:
        svg = draw(charts.fan([{**LINE, "p10": p10, "p50": p50, "p90": p90}], charts.WIDE, "USD"), "d1")
        return re.findall(r">(\d\d %)<", svg)

    assert names(10, 50, 90) == ["90 %", "50 %", "10 %"]
    assert names(49, 50, 90) == ["90 %", "50 %"]
    assert names(50, 50, 50) == []


def test_two_drawings_on_a_page_share_no_names() -> None:
    first, second = (draw(SPECS["lives"](charts.WIDE), name) for name in ("d1", "d2"))
    assert not set(re.findall(r'id="([^"]+)"', first)) & set(re.findall(r'id="([^"]+)"', second))


def test_nothing_is_fetched_for_a_drawing() -> None:
    spec = {**SPECS["bars"](charts.WIDE), "data": {"url": "https://example.org/rows.json"}}
    with pytest.raises(ValueError, match="url"):
        draw(spec, "d1")
