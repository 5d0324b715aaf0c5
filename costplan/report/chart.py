"""Charts drawn with plain characters: a band over dates, and curves over use."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from costplan.report.tables import Passage, whole

#: Rows of a chart, and the columns that its dates share.
ROWS, COLUMNS = 10, 64
BAND, MIDDLE = ":", "o"

#: A day, and the lower end, the middle and the upper end of what is drawn over it.
Bar = tuple[date, Decimal, Decimal, Decimal]


def band_chart(title: str, bars: Sequence[Bar], width: int = 80) -> tuple[Passage, ...]:
    """A column for each date from the lower to the upper end, its middle marked.

    None of fewer than three dates, and none that a terminal of so many columns would fold.
    """
    ends = [end for _, low, _, high in bars for end in (low, high)]
    if len(bars) < 3 or len(bars) > COLUMNS or max(ends) == min(ends):
        return ()
    bottom, top = min(*ends, Decimal(0)), max(*ends, Decimal(0))
    wide = COLUMNS // len(bars)
    columns = [_column([_row(value, bottom, top) for value in bar[1:]]) for bar in bars]
    levels = {_row(value, bottom, top): whole(value) for value in (bottom, Decimal(0), top)}
    margin = max(len(label) for label in levels.values())
    lines = [
        f"{levels.get(row, ''):>{margin}} |{''.join(column[row].ljust(wide) for column in columns)}".rstrip()
        for row in reversed(range(ROWS))
    ]
    lines.append(f"{'':>{margin}}  {_months([day for day, *_ in bars], wide)}".rstrip())
    fits = max(len(line) for line in (title, *lines)) <= width
    return (Passage(title, tuple((0, line) for line in lines)),) if fits else ()


def _row(value: Decimal, bottom: Decimal, top: Decimal) -> int:
    """The row that a value stands in, the lowest is 0."""
    return round((ROWS - 1) * (value - bottom) / (top - bottom))


def _column(rows: Sequence[int]) -> list[str]:
    low, middle, high = rows
    return [MIDDLE if row == middle else BAND if low <= row <= high else " " for row in range(ROWS)]


def _months(days: Sequence[date], wide: int) -> str:
    """The months below their first dates, as far as there is room."""
    line = ""
    for number, day in enumerate(days):
        begins = number == 0 or (day.year, day.month) != (days[number - 1].year, days[number - 1].month)
        if begins and len(line) <= number * wide:
            line = f"{line:<{number * wide}}{day:%b} "
    return line


#: Rows of a chart of curves, and the mark of a use that is told apart.
CURVE_ROWS, RULE = 17, "|"

#: What a curve is at each column from left to right; None where it is not known.
Heights = Sequence[float | None]


def curve_chart(
    title: str,
    curves: Sequence[tuple[str, Heights]],
    band: Sequence[tuple[float, float] | None],
    scale: tuple[float, float],
    words: tuple[str, str, str],
    along: tuple[str, str, str],
    rule: int | None = None,
    width: int = 80,
) -> tuple[Passage, ...]:
    """Curves, each with its mark, over a band; what stands in front comes last. A column for each height.

    `scale`: the heights of the lowest and the top row; `words`: what the lowest, the middle and the top row are called;
    `along`: what stands below the left, the middle and the right end. `rule`: the column of a use that is told apart.
    None where a terminal of so many columns would fold it.
    """
    columns = len(band)
    cells = [[" "] * columns for _ in range(CURVE_ROWS)]
    for column, ends in enumerate(band):
        for row in range(CURVE_ROWS):
            if ends is not None and _height(ends[0], *scale) <= row <= _height(ends[1], *scale):
                cells[row][column] = BAND
            elif column == rule:
                cells[row][column] = RULE
    for mark, heights in curves:
        for column, height in enumerate(heights):
            if height is not None:
                cells[_height(height, *scale)][column] = mark
    labels = dict(zip((0, CURVE_ROWS // 2, CURVE_ROWS - 1), words, strict=True))
    margin = max(len(label) for label in labels.values())
    lines = [f"{labels.get(row, ''):>{margin}} |{''.join(cells[row])}".rstrip() for row in reversed(range(CURVE_ROWS))]
    lines.append(f"{'':>{margin}}  {_spread(along, columns)}".rstrip())
    fits = max(len(line) for line in (title, *lines)) <= width
    return (Passage(title, tuple((0, line) for line in lines)),) if fits else ()


def _height(value: float, bottom: float, top: float) -> int:
    """The row that a value stands in, none outside of the chart."""
    return min(max(round((CURVE_ROWS - 1) * (value - bottom) / (top - bottom)), 0), CURVE_ROWS - 1)


def _spread(words: tuple[str, str, str], columns: int) -> str:
    """Three words below the left, the middle and the right end."""
    left, middle, right = words
    line = left.ljust(columns // 2 - len(middle) // 2) + middle
    return line.ljust(columns - len(right)) + right
