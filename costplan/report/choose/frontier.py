"""The frontier as a page: the bills of which none is both cheaper and better, and what each step up buys."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal

from costplan.build.airflow import Breathing
from costplan.choose import Frontier, Point, Step
from costplan.quantity import convert
from costplan.report.chart import curve_chart
from costplan.report.choose.shared import (
    A_SEASON,
    About,
    cautions,
    decides,
    events,
    heading,
    more_power,
    power,
    signed,
    swapped,
    wished,
)
from costplan.report.data import to_csv
from costplan.report.tables import Page, Passage, Table, money, number, plural, whole

NOTHING = "nothing certain"
#: Columns of the chart.
WIDE = 60


def frontier_page(about: About, found: Frontier, breathing: Breathing | None) -> Page:
    """Everything that `costplan choose frontier` answers; `breathing`: of the last point."""
    what = "estimated power" if found.against == "power" else "cost of parts a season"
    lines = (wished(about), *_lines(about, found, breathing))
    tables = (_points_table(about, found.points), _steps_table(about, found))
    foot = cautions(about, power_shown=any(_has_power(found.points)), seasons_shown=True)
    shown = tuple(table for table in tables if table.rows)
    return Page(
        heading(f"What each step up buys, price against {what}", about), lines, shown, foot, chart(about, found)
    )


def _has_power(points: Sequence[Point]) -> Iterator[bool]:
    return (point.option.power is not None for point in points)


def _lines(about: About, found: Frontier, breathing: Breathing | None) -> Iterator[str]:
    if found.interrupted:
        yield "Stopped before all points were found: those shown are whole, others are missing."
    elif not found.whole:
        yield "Not all points were found in the time: those shown are whole, others are missing (--seconds)."
    if len(found.points) == 1:
        yield "One bill is both the cheapest and the best: there is no step up."
    elif found.points:
        first, last = found.points[0].option, found.points[-1].option
        yield f"From {money(first.price)} to {money(last.price)}: {plural(len(found.points), 'bill')}, each complete."
    if found.against == "power":
        yield from _bought(about, found, breathing)
    else:
        yield A_SEASON


def _bought(about: About, found: Frontier, breathing: Breathing | None) -> Iterator[str]:
    """Which restriction decides, and from which price on nothing certain is bought."""
    if breathing is not None and breathing.peak is not None:
        yield f"{decides(breathing)}."
    if len(found.points) < 2:
        return
    if found.certain_until is None:
        since = found.points[-1].step
        most = more_power(since.power_since, about.unit) if since else ""
        error = _error(about, found.points[-1])
        yield (
            f"No bill here is sure to give more power than the cheapest: the whole way up is estimated at {most} "
            f"{about.unit}, with an error of {error} {about.unit} either way."
        )
    elif found.certain_until == found.points[-1].option.price:
        yield "Up to the last point there is power to be bought beyond the estimate's error."
    else:
        yield f"From {money(found.certain_until)} on, more money buys no power beyond the estimate's error."


def _error(about: About, point: Point) -> str:
    error = point.option.error
    return "" if error is None else number(max(1.0, round(convert(error, "kW", about.unit))), 4)


def _points_table(about: About, points: Sequence[Point]) -> Table:
    rows = tuple(
        (
            str(number_),
            money(point.option.price),
            power(point.option.power, point.option.error, about.unit),
            whole(point.option.per_season) if point.option.per_season is not None else "",
            events(point.option.events),
            "yes" if point.proved else "no",
        )
        for number_, point in enumerate(points, start=1)
    )
    header = ("No.", "Price", f"Power {about.unit}, estimate", "Parts a season", "Interval, events", "Proved")
    note = "Proved: no bill is both cheaper and better."
    return Table("The points", header, rows, right=(0, 1, 2, 3, 4), note=note)


def _steps_table(about: About, found: Frontier) -> Table:
    steps = [(place, point.step) for place, point in enumerate(found.points, start=1) if point.step is not None]
    rows = tuple(
        (f"to {place}", swapped(step.swaps), money(step.costs), *_buys(about, found, step)) for place, step in steps
    )
    if found.against == "season":
        return Table("The next step up", ("Step", "Swap", "Costs", "Saves a season"), rows, (2, 3))
    note = (
        f"Power: estimated, {about.unit}. Since 1: more than the first point. A step buys {NOTHING} if it is below the "
        "error both by itself and since the last one that was not."
    )
    return Table("The next step up", ("Step", "Swap", "Costs", "Power", "Since 1", "Buys"), rows, (2, 3, 4), note)


def _buys(about: About, found: Frontier, step: Step) -> tuple[str, ...]:
    if found.against == "season":
        return (signed(step.less_a_season).lstrip("+"),)
    return (
        more_power(step.more_power, about.unit),
        more_power(step.power_since, about.unit),
        "more power" if step.certain else NOTHING,
    )


def chart(about: About, found: Frontier) -> tuple[Passage, ...]:
    """Power, with its error as a band, or cost a season over price; none of fewer than three points."""
    prices = [point.option.price for point in found.points]
    heights = [_height(about, found, point) for point in found.points]
    errors = [_off(about, found, point) for point in found.points]
    low = min((height - error for height, error in zip(heights, errors, strict=True)), default=0.0)
    high = max((height + error for height, error in zip(heights, errors, strict=True)), default=0.0)
    if len(prices) < 3 or prices[0] == prices[-1] or low == high:
        return ()
    columns = [round((WIDE - 1) * (price - prices[0]) / (prices[-1] - prices[0])) for price in prices]
    marks = dict(zip(columns, heights, strict=True))
    reached = [max(place for place, start in enumerate(columns) if start <= column) for column in range(WIDE)]
    band = [(heights[one] - errors[one], heights[one] + errors[one]) if errors[one] else None for one in reached]
    power_title = f"Estimated power {about.unit} over price; : its error"
    what = power_title if found.against == "power" else "Parts a season over price"
    words = (number(low, 4), number((low + high) / 2, 4), number(high, 4))
    curve = ("o", [marks.get(column) for column in range(WIDE)])
    return curve_chart(what, [curve], band, (low, high), words, (whole(prices[0]), "", whole(prices[-1])))


def _height(about: About, found: Frontier, point: Point) -> float:
    if found.against == "power":
        return convert(point.option.power or 0.0, "kW", about.unit)
    return float(point.option.per_season or Decimal(0))


def _off(about: About, found: Frontier, point: Point) -> float:
    return convert(point.option.error or 0.0, "kW", about.unit) if found.against == "power" else 0.0


def frontier_csv(found: Frontier) -> str:
    """The points as CSV, each with the step that leads to it; power in kW."""
    header = (
        *("price", "power_kW", "error_kW", "per_season", "events", "proved"),
        *("swaps", "costs", "more_power_kW", "power_since_kW", "less_a_season", "certain"),
    )
    return to_csv(header, (_csv_row(point) for point in found.points))


def _csv_row(point: Point) -> tuple[object, ...]:
    option, step = point.option, point.step
    known = (option.price, option.power, option.error, option.per_season, option.events)
    own = tuple("" if value is None else value for value in known)
    if step is None:
        return (*own, point.proved, "", "", "", "", "", "")
    more = (step.costs, step.more_power, step.power_since, step.less_a_season, step.certain)
    swaps = " | ".join(f"{slot}: {before} > {after}" for slot, before, after in step.swaps)
    return (*own, point.proved, swaps, *("" if value is None else value for value in more))
