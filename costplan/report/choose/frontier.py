"""The frontier as a page: the bills of which none is both cheaper and better, and what each step up buys."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import NamedTuple

from costplan.build.airflow import Breathing
from costplan.choose import Frontier, Point, Step
from costplan.quantity import convert
from costplan.report.airflow import pulled_words
from costplan.report.chart import curve_chart
from costplan.report.choose.shared import (
    A_SEASON,
    About,
    cautions,
    decides,
    events,
    heading,
    hundredth,
    may_be_cheaper,
    more_power,
    power,
    sheets,
    signed,
    swapped,
    tenth,
    wished,
)
from costplan.report.data import to_csv
from costplan.report.tables import Page, Passage, Table, money, number, plural, whole

NOTHING = "nothing certain"
#: Columns of the chart.
WIDE = 60


class Intakes(NamedTuple):
    """How the engines of the first and of the last point breathe."""

    first: Breathing
    last: Breathing


def frontier_page(about: About, found: Frontier, intakes: Intakes | None) -> Page:
    """Everything that `costplan choose frontier` answers; `intakes`: None without [airflow]."""
    what = "estimated power" if found.against == "power" else "cost of parts a season"
    lines = tuple(line for line in (wished(about), may_be_cheaper(about), *_lines(about, found, intakes)) if line)
    tables = (_points_table(about, found.points), _steps_table(about, found))
    foot = cautions(about, power_shown=any(_has_power(found.points)), seasons_shown=True)
    shown = tuple(table for table in tables if table.rows)
    return Page(
        heading(f"What each step up buys, price against {what}", about), lines, shown, foot, chart(about, found)
    )


def _has_power(points: Sequence[Point]) -> Iterator[bool]:
    return (point.option.power is not None for point in points)


def _lines(about: About, found: Frontier, intakes: Intakes | None) -> Iterator[str]:
    if found.interrupted:
        yield "Stopped before all points were found: those shown are whole, others are missing."
    elif not found.whole:
        yield "Not all points were found in the time: those shown are whole, others are missing (--seconds)."
    yield from _reach(found)
    if found.against == "power":
        yield from _intake(about, intakes)
        yield from bought_lines(about, found)
    else:
        yield A_SEASON


def _reach(found: Frontier) -> Iterator[str]:
    """From where to where the points go; that they are the ends is said only where both were found in time."""
    if not found.points:
        return
    first, last = found.points[0].option, found.points[-1].option
    if len(found.points) > 1:
        between = " Other bills may lie between them (--points)." if found.whole else ""
        yield (
            f"From {money(first.price)} to {money(last.price)}: {plural(len(found.points), 'bill')}, each complete."
            f"{between}"
        )
    elif found.whole:
        yield "One bill is both the cheapest and the best: there is no step up."
    else:
        yield f"One point was found, {money(first.price)}: whether there is a step up from it is not known."


def _intake(about: About, intakes: Intakes | None) -> Iterator[str]:
    """Which restriction decides at the last point, and at the first where it is another."""
    if intakes is None or intakes.last.peak is None:
        return
    first = decides(intakes.first) if intakes.first.decides != intakes.last.decides else ""
    other = f"; at the first: {first}" if first else ""
    yield f"What decides the power at the last point: {decides(intakes.last)}{other}. {sheets(about, intakes.last)}"
    alike = intakes.first.unpulled == intakes.last.unpulled
    ends = (("first", intakes.first), ("last", intakes.last))
    for which, found in (("first and last", intakes.last),) if alike else ends:
        if pulled_words(found) and not found.pulled:
            words = pulled_words(found)
            yield f"At the {which} point: {words[0].lower()}{words[1:]}"


def bought_lines(about: About, found: Frontier) -> Iterator[str]:
    """From which price on nothing certain is bought; what was not searched to the end is said of its points alone."""
    if len(found.points) < 2:
        return
    first, last, enough = found.points[0].option, found.points[-1].option, found.certain_until
    among = "" if found.whole else f"among the {len(found.points)} points found "
    if enough is None:
        yield "From which price on more money buys no power beyond the estimate's error was not found in the time."
    elif enough <= first.price:
        yield _sentence(
            f"{among}no bill is sure to give more power than the cheapest: the whole way up is estimated at "
            f"{_whole_way(about, found)} {about.unit}, with an error of {_error(about, found.points[-1])} {about.unit} "
            "either way."
        )
    elif enough >= last.price:
        yield _sentence(f"{among}there is power to be bought beyond the estimate's error up to the last point.")
    else:
        yield _sentence(f"{among}more money buys no power beyond the estimate's error from {money(enough)} on.")


def _sentence(words: str) -> str:
    return f"{words[0].upper()}{words[1:]}"


def _whole_way(about: About, found: Frontier) -> str:
    step = found.points[-1].step
    return more_power(step.power_since, about.unit) if step else ""


def _error(about: About, point: Point) -> str:
    error = point.option.error
    return "" if error is None else number(max(1.0, round(convert(error, "kW", about.unit))), 4)


def _points_table(about: About, points: Sequence[Point]) -> Table:
    powered = any(_has_power(points))
    rows = tuple(
        (
            str(number_),
            money(point.option.price),
            *((power(point.option.power, point.option.error, about.unit),) if powered else ()),
            whole(point.option.per_season) if point.option.per_season is not None else "",
            events(point.option.events),
            "yes" if point.proved else "no",
        )
        for number_, point in enumerate(points, start=1)
    )
    estimate = (f"Power {about.unit}, estimate",) if powered else ()
    header = ("No.", "Price", *estimate, "Parts a season", "Interval, events", "Proved")
    return Table("The points", header, rows, tuple(range(len(header) - 1)), _proved(points))


def _proved(points: Sequence[Point]) -> str:
    """What a yes and a no mean, of those that are there."""
    answers = {point.proved for point in points}
    yes = "Proved: no bill is both cheaper and better." if True in answers else ""
    no = (
        "Not proved in the time: a bill that is cheaper and better may be there (--seconds)."
        if False in answers
        else ""
    )
    return f"{yes} {no}".strip()


def _steps_table(about: About, found: Frontier) -> Table:
    steps = [(place, point, point.step) for place, point in enumerate(found.points, start=1) if point.step is not None]
    rows = tuple(
        (f"to {place}", swapped(step.swaps), money(step.costs), *step_buys(about, found, point, step))
        for place, point, step in steps
    )
    if found.against == "season":
        return Table("The next step up", ("Step", "Swap", "Costs", "Saves a season"), rows, (2, 3))
    note = (
        f"Power: estimated, {about.unit}. Summed: with the steps before it since the last that brought more power. "
        f"A step buys {NOTHING} if neither figure is more than the error in the table above."
    )
    header = ("Step", "Swap", "Costs", "Power", "Summed", "Buys")
    return Table("The next step up", header, rows, (2, 3, 4), note)


def step_buys(about: About, found: Frontier, point: Point, step: Step) -> tuple[str, ...]:
    if found.against == "season":
        return (signed(step.less_a_season).lstrip("+"),)
    figures = (more_power(step.more_power, about.unit), more_power(step.power_summed, about.unit))
    if not step.certain:
        return (*figures, NOTHING)
    alone = (step.more_power or 0.0) > (point.option.error or 0.0)
    return (*figures, "more power" if alone else "more power, summed")


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
    power_title = f"Estimated power {about.unit} over price (band: its error)"
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
        *("swaps", "costs", "more_power_kW", "power_since_kW", "power_summed_kW", "less_a_season"),
        "certain",
    )
    return to_csv(header, map(_csv_row, found.points))


def _csv_row(point: Point) -> tuple[object, ...]:
    option, step = point.option, point.step
    bought = (option.price, tenth(option.power), tenth(option.error), option.per_season, hundredth(option.events))
    own = tuple("" if value is None else value for value in bought)
    if step is None:
        return (*own, point.proved, *("",) * 7)
    powers = (tenth(step.more_power), tenth(step.power_since), tenth(step.power_summed))
    more = (step.costs, *powers, step.less_a_season, step.certain)
    swaps = " | ".join(f"{slot}: {before} > {after}" for slot, before, after in step.swaps)
    return (*own, point.proved, swaps, *("" if value is None else value for value in more))
