"""The charts of the pages, as specifications of Vega-Lite. Each takes rows of figures as they are.

A row is a mapping; what it has under `why` is shown when its mark is pointed at. `width` is that of the whole drawing
in pixels, axes and names included.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, TypeAlias

from costplan.report.web.drawing import BLUE, BRICK, INK, MOSS, OCHRE, PAPER, SLATE

Spec: TypeAlias = dict[str, Any]
Rows: TypeAlias = Sequence[Mapping[str, Any]]
#: Drawings as wide as a desk or a phone gives room for.
WIDE, NARROW = 860, 330
#: What names beside bars may take.
NAMES = {WIDE: 230, NARROW: 120}
#: Letters that surely go into that room.
LETTERS = {WIDE: 30, NARROW: 16}
#: Room at the right for what is written beside the last mark, on a desk and on a phone.
ENDS, BESIDE = 42, 150
TOLD = {"field": "why", "type": "nominal"}


def both(make: Callable[[int], Spec]) -> tuple[Spec, Spec]:
    """A chart for a desk and for a phone."""
    return make(WIDE), make(NARROW)


def fan(rows: Rows, width: int, money: str) -> Spec:
    """What is spent so far, event by event: rows with date, p10, p50, p90, planned."""
    x = {"field": "date", "type": "temporal", "title": None, "axis": _months_axis(width)}
    ends = _ends(rows[-1]) if rows else []
    return _layers(
        rows,
        width,
        340 if width == WIDE else 260,
        {
            "mark": {"type": "area", "color": BLUE, "opacity": 0.22},
            "encoding": {"x": x, "y": _amount("p10", money), "y2": {"field": "p90"}},
        },
        {
            "mark": {"type": "line", "color": BLUE, "strokeWidth": 2.5},
            "encoding": {"x": x, "y": _amount("p50", money)},
        },
        {
            "mark": {"type": "line", "color": OCHRE, "strokeDash": [5, 4], "strokeWidth": 2},
            "encoding": {"x": x, "y": _amount("planned", money)},
        },
        _told("circle", {"x": x, "y": _amount("p50", money)}, color=BLUE, size=70),
        {
            "data": {"values": ends},
            "mark": {"type": "text", "align": "left", "dx": 6},
            "encoding": {"x": x, "y": _amount("at", money), "text": {"field": "name"}},
        },
        right=ENDS,
    )


def _ends(row: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    """The names at the ends of the lines, from the dearest down; what lies too near to the one above has none."""
    near, shown = 0.05 * max(abs(row[key]) for key in ("p10", "p50", "p90")), list[Mapping[str, Any]]()
    for key in ("p90", "p50", "p10"):
        if not shown or shown[-1]["at"] - row[key] > near:
            shown.append({**row, "at": row[key], "name": f"{key[1:]} %"})
    return shown if len(shown) > 1 else []


def months(rows: Rows, width: int, money: str) -> Spec:
    """Cash by month: rows with month, paid, received (below zero), net, mark (a word on it)."""
    x = {"field": "month", "type": "ordinal", "title": None, "sort": None, "axis": {"labelAngle": 0, "grid": False}}
    return _layers(
        rows,
        width,
        300,
        _told("bar", {"x": x, "y": _amount("paid", money)}, color=BRICK, opacity=0.85),
        _told("bar", {"x": x, "y": _amount("received", money)}, color=MOSS, opacity=0.85),
        _told("tick", {"x": x, "y": _amount("net", money)}, color=INK, thickness=3, bandSize=30),
        {"mark": {"type": "rule", "color": INK}, "encoding": {"y": {"datum": 0}}},
        {
            "mark": {"type": "text", "dy": -9, "fontWeight": "bold"},
            "encoding": {"x": x, "y": _amount("paid", money), "text": {"field": "mark"}},
        },
    )


def lives(rows: Rows, width: int) -> Spec:
    """Life used by part: rows with slot, opening, now, end (shares), due (the event before which it is renewed)."""
    y = _names("slot", width)
    most = max([1.0, *(float(row[key]) for row in rows for key in ("opening", "now", "end"))])
    share = {"axis": {"format": "%", "tickCount": 5, "orient": "top"}, "scale": {"domain": [0, most]}, "title": None}

    def x(field: str) -> Spec:
        return {"field": field, "type": "quantitative", **share}

    return _layers(
        rows,
        width,
        {"step": 20},
        _told("bar", {"x": x("now"), "y": y, "color": _when_due()}, height=11),
        _told("tick", {"x": x("opening"), "y": y}, color=INK, thickness=2, height=11),
        _told("point", {"x": x("end"), "y": y}, color=INK, shape="diamond", size=40, filled=False),
        {"mark": {"type": "rule", "color": INK, "strokeDash": [3, 3]}, "encoding": {"x": {"datum": 1}}},
        *([_beside(y, most)] if width == WIDE else []),
        right=BESIDE if width == WIDE else 0,
    )


def _when_due() -> Spec:
    scale = {"domain": ["due", "lasts"], "range": [OCHRE, BLUE]}
    return {"field": "state", "type": "nominal", "scale": scale}


def _beside(y: Spec, most: float) -> Spec:
    """The event before which each is renewed, at the right."""
    return {
        "mark": {"type": "text", "align": "left", "dx": 8},
        "encoding": {"x": {"datum": most, "type": "quantitative"}, "y": y, "text": {"field": "due"}},
    }


def bars(rows: Rows, width: int, title: str, form: str = ",.0f", by: Mapping[str, str] | None = None) -> Spec:
    """Bars of an amount by name: rows with name, value and, where `by` gives colours to groups, group."""
    x = {"field": "value", "type": "quantitative", "title": title, "axis": _few(form)}
    encoding: Spec = {"x": x, "y": _names("name", width)}
    if by:
        encoding["color"] = {
            "field": "group",
            "type": "nominal",
            "scale": {"domain": list(by), "range": list(by.values())},
        }
        encoding["yOffset"] = {"field": "group", "sort": list(by)}
    step = {"step": 13, "for": "offset"} if by else {"step": 22}
    return _layers(
        rows,
        width,
        step,
        _told("bar", encoding, **({} if by else {"color": BLUE, "height": 14})),
        {"mark": {"type": "rule", "color": INK}, "encoding": {"x": {"datum": 0}}},
    )


def spans(rows: Rows, width: int, title: str, also: str = "") -> Spec:
    """Ranges with a middle by name: rows with name, low, middle, high; `also`: what else has a mark of its own.

    A name may have up to three lines.
    """
    y = _names("name", width)

    def x(field: str) -> Spec:
        return {"field": field, "type": "quantitative", "title": title, "axis": _few(",.0f")}

    return _layers(
        rows,
        width,
        {"step": 24 + 12 * max((str(row["name"]).count("\n") for row in rows), default=0)},
        {
            "mark": {"type": "rule", "color": BLUE, "strokeWidth": 5, "opacity": 0.4},
            "encoding": {"x": x("low"), "x2": {"field": "high"}, "y": y},
        },
        _told("circle", {"x": x("middle"), "y": y}, color=BLUE, size=90),
        *([_told("point", {"x": x(also), "y": y}, color=OCHRE, shape="diamond", size=60, filled=True)] if also else []),
        {"mark": {"type": "rule", "color": INK}, "encoding": {"x": {"datum": 0}}},
    )


def steps(
    rows: Rows, width: int, x_title: str, y_title: str, by: Mapping[str, str] | None = None, here: Rows = ()
) -> Spec:
    """What more money buys: rows with price, gain, low, high (its error either way), name.

    `by` gives colours to what a row has under `state`; `here`: rows of what one has now, each with its name.
    """
    x = {"field": "price", "type": "quantitative", "title": x_title, "scale": {"zero": False}, "axis": _few(",.0f")}
    colour: Spec = {}
    if by:
        scale = {"domain": list(by), "range": list(by.values())}
        colour = {"color": {"field": "state", "type": "nominal", "scale": scale}}

    def y(field: str) -> Spec:
        axis = {"tickCount": 5, "titlePadding": 14}
        return {"field": field, "type": "quantitative", "title": y_title, "scale": {"zero": False}, "axis": axis}

    return _layers(
        rows,
        width,
        300,
        {"mark": {"type": "rule", "color": SLATE}, "encoding": {"x": x, "y": y("low"), "y2": {"field": "high"}}},
        {
            "mark": {"type": "line", "color": BLUE, "interpolate": "step-after", "strokeWidth": 2},
            "encoding": {"x": x, "y": y("gain")},
        },
        _told("circle", {"x": x, "y": y("gain"), **colour}, color=BLUE, size=90, opacity=1, stroke=PAPER),
        *([_standing(here, x, y("gain")), _named(here, rows, x, y("gain"))] if here else []),
    )


def _standing(rows: Rows, x: Spec, y: Spec) -> Spec:
    """Diamonds where one stands now."""
    layer = _told("point", {"x": x, "y": y}, color=INK, shape="diamond", size=110, filled=True)
    return {"data": {"values": [dict(row) for row in rows]}, **layer}


def _named(here: Rows, rows: Rows, x: Spec, y: Spec) -> Spec:
    """The names of marks below them, to their left where the others end before them."""
    beyond = all(row["price"] < one["price"] for row in rows for one in here)
    return {
        "data": {"values": [dict(row) for row in here]},
        "mark": {"type": "text", "dy": 18, "align": "right" if beyond else "left", "dx": 6 if beyond else -6},
        "encoding": {"x": x, "y": y, "text": {"field": "name"}},
    }


def curve(rows: Rows, width: int, x_title: str, y_title: str) -> Spec:
    """An amount over another, with its error as a band: rows with at, value, low, high."""
    x = {"field": "at", "type": "quantitative", "title": x_title, "scale": {"zero": False}, "axis": _few(",.0f")}

    def y(field: str) -> Spec:
        axis = {**_few(",.0f"), "titlePadding": 14}
        return {"field": field, "type": "quantitative", "title": y_title, "scale": {"zero": False}, "axis": axis}

    return _layers(
        rows,
        width,
        300 if width == WIDE else 240,
        {
            "mark": {"type": "area", "color": BLUE, "opacity": 0.22},
            "encoding": {"x": x, "y": y("low"), "y2": {"field": "high"}},
        },
        {"mark": {"type": "line", "color": BLUE, "strokeWidth": 2.5}, "encoding": {"x": x, "y": y("value")}},
        _told("circle", {"x": x, "y": y("value")}, color=BLUE, size=70, opacity=1),
    )


def _layers(rows: Rows, width: int, height: Any, *layers: Spec, right: int = 0) -> Spec:
    """Layers over the same rows; `right`: room beside the plot."""
    return {
        "$schema": "https://vega.github.io/schema/vega-lite/v6.json",
        "data": {"values": [dict(row) for row in rows]},
        "width": width,
        "height": height,
        "autosize": {"type": "fit-x", "contains": "padding"},
        "padding": {"left": 14, "top": 5, "bottom": 5, "right": 5 + right},
        "layer": list(layers),
    }


def _told(mark: str, encoding: Mapping[str, Any], **look: Any) -> Spec:
    """A layer whose marks say why when they are pointed at."""
    return {"mark": {"type": mark, "aria": True, **look}, "encoding": {**encoding, "description": TOLD}}


def _amount(field: str, title: str) -> Spec:
    return {"field": field, "type": "quantitative", "title": title, "axis": _few("~s" if title else ",.0f")}


def _few(form: str) -> Spec:
    return {"format": form, "tickCount": 5, "labelOverlap": True}


def _months_axis(width: int) -> Spec:
    return {"format": "%b", "tickCount": "month" if width == WIDE else 5, "grid": False, "labelColor": INK}


def _names(field: str, width: int) -> Spec:
    axis = {
        "labelLimit": NAMES[width],
        "domain": False,
        "ticks": False,
        "labelExpr": r"split(datum.label, '\n')",
        "labelOffset": {"condition": [_up(2), _up(1)], "value": 0},
    }
    return {"field": field, "type": "nominal", "sort": None, "title": None, "axis": axis}


def _up(breaks: int) -> Spec:
    """A name with so many breaks is moved up by half a line for each, so that its mark is beside its middle."""
    return {"test": rf"length(split(datum.label, '\n')) > {breaks}", "value": -6.5 * breaks}
