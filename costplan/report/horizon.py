"""Several years ahead as a page: what each costs, what all are worth today, and rebuilding against selling."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from costplan.report.data import to_csv
from costplan.report.figures import errors, rests_on, signed, spread_cells
from costplan.report.tables import Page, Table, listed, money, number, percent, plural, whole
from costplan.season.deciding.horizon import Horizon, Keeping, NewEngine
from costplan.season.drawn.figures import Count, Mean

CAUTIONS = (
    "Years ahead follow from assumed lives and from one year's calendar, book and prices, and are no better than "
    "those. Cheaper is not a safety decision: inspect; follow maker and builder.",
)


def horizon_page(found: Horizon, title: str, invented: bool) -> Page:
    """Everything that `costplan horizon` answers."""
    lines = (*_lines(found), errors(found.seasons))
    compared = len(found.keeping) > 1
    tables = (_years_table(found), _racing_table(found), *((_keeping_table(found),) if compared else ()))
    heading = f"{plural(len(found.years), 'season').capitalize()} ahead: {title}"
    return Page(f"{heading} (invented data)" if invented else heading, lines, tables, CAUTIONS)


def _lines(found: Horizon) -> Iterator[str]:
    """What was drawn and how it is counted, then the answers in words."""
    yield (
        f"{rests_on(found.seasons, found.asked, found.seed)} Every year has the calendar, the book and the prices of "
        "the first; what wears is carried over, the days of the winter too. Money is of the first year's worth, in "
        f"{found.currency}, winnings and other income taken off."
    )
    if found.on:
        yield f"The first year is what is left of the season on {found.on}, as its log leaves the engines."
    yield (
        f"Discounted at {percent(found.rate)} a year: a year's cash counts at the year's end, an engine sold and "
        "bought between two seasons there, what is left (balances less work owed, resale, shelf) at the end of the "
        "last."
    )
    if found.traded:
        yield f"Engines bought less sold on opening day come on top, undiscounted: {money(found.traded)}."
    yield (
        f"All of it costs {_said(found.present)} today ({whole(found.planned_present)} as planned, with nothing "
        f"failing), as much as {_said(found.annual)} at the end of every year. Cost per race in the long run: "
        f"{_fine(found.per_race)}, present cost by races held, discounted likewise"
        f"{_later(found.later_per_race)}."
    )
    yield from _advice(found)


def _said(mean: Mean) -> str:
    return f"{whole(mean.mean)} +/- {whole(mean.error)}" if mean.error else whole(mean.mean)


def _fine(mean: Mean) -> str:
    return f"{money(mean.mean)} +/- {money(mean.error)}" if mean.error else money(mean.mean)


def _later(later: Mean | None) -> str:
    return f"; in cash of all years but the first {_fine(later)}" if later else ""


def _advice(found: Horizon) -> Iterator[str]:
    """Whether to rebuild or to sell, or what is missing for that."""
    if found.new is None or found.best is None:
        yield "What a new engine costs is not known: give --new SUM to compare rebuilding with selling and buying new."
        return
    rebuilt, best = found.keeping[0], found.best
    yield f"A new engine costs {money(found.new.price)}: {_from(found.new)}. {_resale(found)}"
    if len(found.keeping) == 1:
        yield "Nothing is sold within one season: look at more years (--years) to compare that with rebuilding."
    elif best is rebuilt or best.less is None:
        within = [policy(one) for one in found.keeping if one.less and not one.less.shown]
        close = f"; no difference is shown to selling it {' or '.join(within)}" if within else ""
        yield f"Keeping {found.engine} and rebuilding it costs least: {_said(rebuilt.annual)} a year{close}."
    elif not best.less.shown:
        yield f"Selling {policy(best)} and rebuilding cost the same within the error."
    else:
        yield (
            f"Selling {found.engine} {policy(best)} costs least: {_said(best.annual)} a year, "
            f"{_said(Mean(-best.less.mean, best.less.error))} less than keeping and rebuilding it."
        )
    yield " ".join(_when_to_sell(found))


def _when_to_sell(found: Horizon) -> Iterator[str]:
    """What a reader does with the break-even: the least that a sale must bring."""
    within = [f"{policy(one)} if that is more than {_said(one.break_even)}" for one in found.keeping if one.break_even]
    if within:
        yield f"Ask what a sale brings. Sell it {', '.join(within)}; for less, rebuild it."
    yield (
        f"Once {_all_seasons(len(found.years))} over, sell it if that is more than {_said(found.engine_left)}, what is "
        "then left of it by the files."
    )


def _all_seasons(count: int) -> str:
    return "the season is" if count == 1 else f"all {count} seasons are"


def _from(new: NewEngine) -> str:
    return f"computed from the {new.source}" if new.computed else new.source


def _resale(found: Horizon) -> str:
    if found.resale_given is not None:
        return f"A used one sells for {money(found.resale_given)}."
    return "A used one sells for what is left of its parts, less the work owed; give --resale SUM for another."


def policy(one: Keeping) -> str:
    """When it is sold."""
    return "after every season" if one.every == 1 else f"after every {one.every} seasons"


def _years_table(found: Horizon) -> Table:
    rows = tuple(
        (str(one.year), whole(one.planned), *spread_cells(one.cash), whole(one.left.mean)) for one in found.years
    )
    note = (
        "Cash of the year: as planned with nothing failing, what 10, 50 and 90% of seasons stay at or below, the mean. "
        "Left: what is on hand at its end, on average."
    )
    header = ("Year", "Planned", "10%", "50%", "90%", "Mean", "+/-", "Left")
    return Table("Cash by year", header, rows, right=tuple(range(1, 8)), note=note)


def _racing_table(found: Horizon) -> Table:
    rows = tuple(
        (str(one.year), *(_each(count) for count in (one.races, one.missed, one.stopped, one.lost)))
        for one in found.years
    )
    header = ("Year", "Held", "Missed", "Stopped", "Results lost")
    note = "Races held, missed for want of an engine, stopped by a failure, and results lost by their weights: means."
    return Table("Racing by year", header, rows, right=(1, 2, 3, 4), note=note)


def _each(count: Count) -> str:
    return f"{count.mean:.2f} +/- {count.error:.3f}" if count.error else number(count.mean)


def _keeping_table(found: Horizon) -> Table:
    rows = tuple(_keeping_row(one) for one in found.keeping)
    counts = f", lost results counted at {money(found.result_worth)} each" if found.result_worth else ""
    note = (
        "Sold after so many seasons, and the next one too; never: kept and rebuilt. A year: equivalent annual cost, "
        f"less what is left at the end{counts}. More: than kept and rebuilt. Brings: a sale, on average; break-even: "
        f"what it would have to bring for both to cost the same. Missed: races in all years.{_phases(found)}"
    )
    header = ("Sold after", "A year", "More", "+/-", "Brings", "Break-even", "+/-", "Missed")
    assert found.new is not None  # noqa: S101 - without a price nothing is compared
    title = f"Rebuild {found.engine}, or sell it and buy new at {whole(found.new.price)}"
    return Table(title, header, rows, right=tuple(range(1, 8)), note=note)


def _phases(found: Horizon) -> str:
    """Which policies do not end with a sale, so that the ends of the rows differ."""
    years = len(found.years)
    left = [str(one.every) for one in found.keeping if one.every and years % one.every]
    if not left:
        return ""
    return f" Sold after {listed(left)}, the last engine is not sold at the end of {years}, but left by the files."


def _keeping_row(one: Keeping) -> tuple[str, ...]:
    missed = number(one.missed.mean, 3)
    if one.less is None or one.resale is None or one.break_even is None:
        return "never", whole(one.annual.mean), "", "", "", "", "", missed
    less, even = one.less, one.break_even
    return (
        str(one.every),
        whole(one.annual.mean),
        signed(less.mean),
        _error(less.error),
        whole(one.resale.mean),
        whole(even.mean),
        _error(even.error),
        missed,
    )


def _error(error: Decimal) -> str:
    return whole(error) if error else ""


def horizon_csv(found: Horizon) -> str:
    """The years as CSV."""
    header = ("year", "planned", "p10", "p50", "p90", "mean", "error", "left", "races", "missed", "stopped", "lost")
    rows = [
        (
            one.year,
            one.planned,
            *(one.cash.p10, one.cash.p50, one.cash.p90, one.cash.mean, one.cash.error),
            one.left.mean,
            *(count.mean for count in (one.races, one.missed, one.stopped, one.lost)),
        )
        for one in found.years
    ]
    return to_csv(header, rows)
