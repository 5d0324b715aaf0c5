"""Figures over drawn seasons as cells: amounts and numbers, each with its standard error."""

from __future__ import annotations

from decimal import Decimal

from costplan.report.tables import money, number, percent, whole
from costplan.season.figures import CountDifference
from costplan.season.figures import Chance, Count, Spread

#: What +/- stands for wherever it is shown.
ERRORS = "+/-: one standard error of the figure before it, from drawing no more seasons than that."


def spread_cells(spread: Spread) -> tuple[str, ...]:
    """10, 50 and 90 %, the mean and its error, without minor units."""
    return (*three_cells(spread), whole(spread.mean), whole(spread.error))


def three_cells(spread: Spread) -> tuple[str, ...]:
    """10, 50 and 90 %, without minor units."""
    return tuple(whole(value) for value in (spread.p10, spread.p50, spread.p90))


def fine_cells(spread: Spread) -> tuple[str, ...]:
    """The same with minor units, for amounts by a small unit."""
    return (*(money(value) for value in (spread.p10, spread.p50, spread.p90, spread.mean)), money(spread.error))


def count_cells(count: Count) -> tuple[str, ...]:
    """10, 50 and 90 %, the mean and its error."""
    return (*(number(value, 3) for value in (count.p10, count.p50, count.p90, count.mean)), number(count.error, 2))


def chance(found: Chance) -> str:
    """A chance with its error: `12.3% +/- 0.3%`.

    >>> chance(Chance(0.1234, 0.0033)), chance(Chance(0.0, 0.0))
    ('12.3% +/- 0.33%', '0%')
    """
    return f"{percent(found.share)} +/- {number(100 * found.error, 2)}%" if found.error else percent(found.share)


def signed(amount: Decimal) -> str:
    """A difference without minor units, its sign always shown; none where it is nothing.

    >>> signed(Decimal("12.60")), signed(Decimal("-3")), signed(Decimal(0))
    ('+13', '-3', '0')
    """
    return f"{amount:+,.0f}" if round(amount) else "0"


def counted(found: CountDifference) -> str:
    """A difference of numbers with its error.

    >>> counted(CountDifference(-0.62, 0.021)), counted(CountDifference(0.0, 0.0))
    ('-0.62 +/- 0.021', 'none')
    """
    if not found.mean and not found.error:
        return "none"
    return f"{'+' if found.mean > 0 else ''}{number(found.mean, 2)} +/- {number(found.error, 2)}"


def rests_on(seasons: int, asked: int, seed: int) -> str:
    """How many seasons were drawn, or that drawing was stopped."""
    if seasons < asked:
        return f"Stopped after {seasons:,} of {asked:,} seasons; the figures rest on those. Seed {seed}."
    return f"{seasons:,} seasons drawn, seed {seed}."
