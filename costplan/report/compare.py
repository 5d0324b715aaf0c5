"""Seasons side by side, what they differ by on the same draws, and where they break even, as a page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal

from costplan.report.data import to_csv
from costplan.report.figures import bare, chance, counted, errors, rests_on, seasons_of, signed
from costplan.report.tables import Page, Table, listed, money, number, percent, whole
from costplan.season.drawn.comparing import BreakEven, CauseDifference, Comparison, Difference, Side
from costplan.season.drawn.figures import Count, Paired

CAUTIONS = (
    "Differences follow from assumed lives, rain and damage, and are no better than those. Cheaper is not a safety "
    "decision: inspect; follow maker and builder. Officials decide what may race.",
)


def compare_page(
    found: Comparison,
    crossing: BreakEven | None,
    path: str,
    title: str,
    invented: bool,
) -> Page:
    """Everything that `costplan compare` answers."""
    lines = (
        f"{rests_on(found.seasons, found.asked, found.seed)} Each season is drawn alike for every side, so that what "
        f"differs is the difference. Money in {found.currency}, winnings and other income taken off.",
        *(line for one in found.differences for line in _sentences(one, found.seasons)),
        *(_crossing_lines(found, crossing, path) if crossing else ()),
        errors(found.seasons),
    )
    tables = (
        _money_table(found.sides),
        _racing_table(found.sides, found.seasons),
        *(table for one in found.differences for table in (_paired_table(one, found.seasons), _causes_table(one))),
        *((_tried_table(crossing, path),) if crossing else ()),
    )
    heading = f"Compared: {title}"
    return Page(f"{heading} (invented data)" if invented else heading, lines, tables, CAUTIONS)


def _sentences(one: Difference, seasons: int) -> Iterator[str]:
    """A difference in words, which says so where the draws show none."""
    differs = one.cash.alike.share < 1 and one.cash.shown
    often = f", {_cheaper(one.cash)}" if differs and seasons > 1 else ""
    yield f"{one.name} against {one.base}: {_said(one.cash, 'cash', seasons)}{often}."
    yield (
        f"Net of what is left at the end: {_said(one.net, 'net cost', seasons)}. A season, races missed: "
        f"{counted(one.missed)}; stopped by a failure: {counted(one.dnfs)}; results lost: {counted(one.results_lost)}."
    )


def _said(found: Paired, what: str, seasons: int) -> str:
    """How an amount differs, with the interval that holds the true mean with 95 %, or that no difference is shown."""
    more = f"{whole(abs(found.mean))} {'less' if found.mean < 0 else 'more'}"
    if found.alike.share == 1:
        return f"the same {what} in every season"
    if seasons == 1:
        return f"{more} in the one season drawn"
    if not found.shown:
        return f"no difference in mean {what} shown by {seasons_of(seasons)} (95%: {_interval(found)})"
    return f"{more} on average ({_interval(found)} with 95%)"


def _interval(found: Paired) -> str:
    return f"{signed(found.low)} to {signed(found.high)}"


def _cheaper(found: Paired) -> str:
    same = f", the same in {percent(found.alike.share)}" if found.alike.share else ""
    often = {0.0: "no season drawn", 1.0: "every season drawn"}
    return f"cheaper in {often.get(found.cheaper.share, f'{percent(found.cheaper.share)} of seasons')}{same}"


def _money_table(sides: Sequence[Side]) -> Table:
    rows = tuple(
        (
            side.name,
            *(whole(value) for value in (side.cash.p10, side.cash.p50, side.cash.p90)),
            *(whole(value) for value in (side.cash.mean, side.wear.mean, side.net.mean)),
            money(side.per_race.mean),
        )
        for side in sides
    )
    joined = "; ".join(
        f"{side.name} {listed(whole(one.error) for one in (side.cash, side.wear, side.net))}, "
        f"{money(side.per_race.error)}"
        for side in sides
        if side.cash.error
    )
    note = (
        "Cash: what 10, 50 and 90% of seasons stay at or below, and the mean. Wear; net: cash less what is left at "
        f"the end; cash per race held: means.{f' The four means +/- {joined}.' if joined else ''}"
    )
    header = ("Side", "10%", "50%", "90%", "Cash", "Wear", "Net", "Per race")
    return Table("What the seasons cost", header, rows, right=tuple(range(1, 8)), note=note)


def _racing_table(sides: Sequence[Side], seasons: int) -> Table:
    rows = tuple(
        (
            side.name,
            bare(side.any_missed, seasons),
            *(_each(count) for count in (side.missed, side.dnfs, side.results_lost)),
        )
        for side in sides
    )
    largest = max(side.any_missed.error for side in sides)
    note = (
        f"Chance of missing any race for want of an engine{_at_most(largest)}; races missed, stopped by a failure, and "
        "results lost, a season."
    )
    header = ("Side", "Misses any", "Missed", "Stopped", "Results lost")
    return Table("Racing", header, rows, right=(1, 2, 3, 4), note=note)


def _at_most(error: float) -> str:
    """The largest error of several chances."""
    return f" (+/- {number(100 * error, 2)}% at most)" if error else ""


def _each(count: Count) -> str:
    return f"{count.mean:.2f} +/- {count.error:.3f}" if count.error else number(count.mean)


def _paired_table(one: Difference, seasons: int) -> Table:
    rows = tuple(
        (
            name,
            signed(found.mean),
            *(signed(value) if seasons > 1 else "" for value in (found.low, found.high)),
            *(signed(value) for value in (found.p10, found.p50, found.p90)),
            percent(found.cheaper.share),
        )
        for name, found in (("cash", one.cash), ("wear", one.wear), ("net", one.net))
    )
    note = (
        f"{'From .. to holds the true mean with 95%; ' if seasons > 1 else ''}10, 50, 90%: what the differences of so "
        f"many seasons stay at or below. Cheaper: in so many seasons, of cash {chance(one.cash.cheaper, seasons)}."
    )
    header = ("", "Mean", "From", "To", "10%", "50%", "90%", "Cheaper")
    return Table(f"{one.name} less {one.base}", header, rows, right=tuple(range(1, 8)), note=note)


def _causes_table(one: Difference) -> Table:
    rows = tuple(_cause_row(cause) for cause in one.causes)
    title = f"{one.name} less {one.base}: cash by cause"
    return Table(title, ("Cause", "Mean", "+/-"), rows, right=(1, 2), note="" if rows else "Nothing differs.")


def _cause_row(cause: CauseDifference) -> tuple[str, str, str]:
    return cause.cause, signed(cause.mean), whole(cause.error) if cause.error else ""


def compare_csv(found: Comparison) -> str:
    """The differences as CSV: of each side the whole in cash, wear and net, then cash by cause."""
    rows: list[tuple[object, ...]] = []
    for one in found.differences:
        for name, pair in (("cash", one.cash), ("wear", one.wear), ("net", one.net)):
            rows.append((one.base, one.name, name, "", pair.mean, pair.error, pair.low, pair.high, pair.cheaper.share))
        rows += [(one.base, one.name, "cash", by.cause, by.mean, by.error, "", "", "") for by in one.causes]
    return to_csv(("base", "side", "view", "cause", "mean", "error", "low", "high", "cheaper"), rows)


def _crossing_lines(found: Comparison, crossing: BreakEven, path: str) -> Iterator[str]:
    """The value at which two sides cost the same."""
    first, second = (side.name for side in found.sides[:2])
    if crossing.value is None:
        yield (
            f"Between {shown(crossing.low)} and {shown(crossing.high)} of {path} nothing breaks even: the dearer side "
            "stays the dearer."
        )
        return
    yield (
        f"Break-even: net of what is left, {second} and {first} cost the same where {path} is "
        f"{shown(crossing.value)}{f' (+/- {number(crossing.error, 2)})' if crossing.error else ''}."
    )
    if not crossing.steady:
        yield (
            "The difference jumps there, as where a part is just or just not renewed once more: it changes sign and "
            "is not zero at any value tried."
        )


def exact(value: float) -> str:
    """A value to six significant digits, as it is written into a file.

    >>> exact(10512.3456), exact(1e6), exact(0.000125)
    ('10512.3', '1000000', '0.000125')
    """
    return f"{Decimal(f'{value:.6g}'):f}"


def shown(value: float) -> str:
    """The same for a reader.

    >>> shown(10512.3456), shown(0.000125)
    ('10,512.3', '0.000125')
    """
    return f"{Decimal(exact(value)):,f}"


def _tried_table(crossing: BreakEven, path: str) -> Table:
    found = {shown(one.value): one for one in crossing.tried}
    chosen = shown(crossing.value) if crossing.value is not None else ""
    rows = tuple(
        (
            f"{value}{' <-' if value == chosen else ''}",
            signed(one.net.mean),
            whole(one.net.error) if one.net.error else "",
            percent(one.net.cheaper.share),
        )
        for value, one in found.items()
    )
    note = "The second side less the first, net of what is left at the end, on the same seasons at every value."
    return Table(f"Break-even: values of {path} tried", ("Value", "Mean", "+/-", "Cheaper"), rows, (1, 2, 3), note)
