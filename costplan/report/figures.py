"""Figures over drawn seasons as cells: amounts and numbers, each with its standard error."""

from __future__ import annotations

from decimal import Decimal

from costplan.report.tables import money, number, percent, whole
from costplan.season.drawn.figures import Chance, Count, CountDifference, Spread, rarer_than


def spread_cells(spread: Spread) -> tuple[str, ...]:
    """10, 50 and 90 %, the mean and its error, without minor units; no error where the seasons show none."""
    return (*three_cells(spread), whole(spread.mean), whole(spread.error) if spread.error else "")


def three_cells(spread: Spread) -> tuple[str, ...]:
    """10, 50 and 90 %, without minor units."""
    return tuple(whole(value) for value in (spread.p10, spread.p50, spread.p90))


def fine_cells(spread: Spread) -> tuple[str, ...]:
    """The same with minor units, for amounts by a small unit."""
    error = money(spread.error) if spread.error else ""
    return (*(money(value) for value in (spread.p10, spread.p50, spread.p90, spread.mean)), error)


def count_cells(count: Count) -> tuple[str, ...]:
    """10, 50 and 90 %, the mean and its error."""
    error = number(count.error, 2) if count.error else ""
    return (*(number(value, 3) for value in (count.p10, count.p50, count.p90, count.mean)), error)


def bare(found: Chance, seasons: int) -> str:
    """A chance without its error, for narrow columns; of what no season shows, what it is rarer than."""
    if not found.share and rarer_than(seasons) < 1:
        return f"<{percent(rarer_than(seasons))}"
    shown = percent(found.share)
    return ">99.9%" if found.error and shown == "100%" else shown


def chance(found: Chance, seasons: int) -> str:
    """A chance with its error: `12.3% +/- 0.33%`; one season has none.

    >>> chance(Chance(0.1234, 0.0033), 10_000), chance(Chance(0.0, 0.0), 10_000), chance(Chance(0.0, 0.0), 1)
    ('12.3% +/- 0.33%', '<0.03%', '0%')
    >>> chance(Chance(0.9998, 0.0001), 10_000), chance(Chance(1.0, 0.0), 10_000)
    ('>99.9%', '100%')
    """
    shown = bare(found, seasons)
    alone = not found.error or seasons == 1 or shown.startswith(("<", ">"))
    return shown if alone else f"{shown} +/- {number(100 * found.error, 2)}%"


def signed(amount: Decimal) -> str:
    """A difference without minor units, its sign always shown; none where it is nothing.

    >>> signed(Decimal("12.60")), signed(Decimal("-3")), signed(Decimal(0))
    ('+13', '-3', '0')
    """
    return f"{amount:+,.0f}" if round(amount) else "0"


def counted(found: CountDifference) -> str:
    """A difference of numbers with its error, if it has one; where zero lies within 95 %, that none is shown.

    >>> counted(CountDifference(-0.62, 0.021)), counted(CountDifference(0.0, 0.0)), counted(CountDifference(1.0, 0.0))
    ('-0.62 +/- 0.021', 'none', '+1')
    >>> counted(CountDifference(0.02, 0.011))
    'no difference shown (+0.02 +/- 0.011)'
    """
    if not found.mean and not found.error:
        return "none"
    mean = f"{'+' if found.mean > 0 else ''}{number(found.mean, 2)}"
    shown = f"{mean} +/- {number(found.error, 2)}" if found.error else mean
    return shown if found.shown else f"no difference shown ({shown})"


def rests_on(seasons: int, asked: int, seed: int) -> str:
    """How many seasons were drawn, or that drawing was stopped.

    >>> rests_on(1, 1, 3), rests_on(1000, 1000, 3)
    ('1 season drawn, seed 3.', '1,000 seasons drawn, seed 3.')
    """
    if seasons < asked:
        return f"Stopped after {seasons:,} of {asked:,} seasons; the figures rest on those. Seed {seed}."
    return f"{seasons_of(seasons)} drawn, seed {seed}."


def seasons_of(count: int) -> str:
    """So many seasons, in words."""
    return f"{count:,} season{'' if count == 1 else 's'}"


def errors(seasons: int) -> str:
    """What +/- stands for wherever it is shown, or why it stands nowhere."""
    if seasons == 1:
        return "One season has no error: it says what may be, and not how often."
    return "+/-: one standard error of the figure before it, from drawing no more seasons than that."
