"""Two quotes side by side, line by line."""

from __future__ import annotations

from collections.abc import Iterator

from costplan.quote import Line, Quote
from costplan.quote.revisions import Difference
from costplan.quote.stated import plain
from costplan.report.data import to_csv
from costplan.report.quote.amounts import share, signed
from costplan.report.quote.wording import FOR_THE_SHOP, INVENTED
from costplan.report.tables import Page, Table, money, plural


def difference_page(found: Difference, title: str) -> Page:
    """Everything that `costplan quote diff` and `again` answer."""
    tables = (_totals_table(found), moved_table(found, "What moved"))
    return Page(title, tuple(_head(found)), tuple(table for table in tables if table.rows), (FOR_THE_SHOP,))


def _head(found: Difference) -> Iterator[str]:
    before, after = found.before, found.after
    yield f"{after.number}: {after.title}.{f' {INVENTED}.' if after.invented else ''}"
    yield f"{_name(before)} of {before.on}{_why(before)}; {_name(after)} of {after.on}{_why(after)}."
    count = len(found.moved)
    yield (
        f"{plural(count, 'line')} moved, {found.same} alike: {signed(found.net)} {after.currency} net, "
        f"{signed(found.gross)} with tax; the shop's cost {signed(found.cost)}."
    )
    if found.said:
        yield f"Also: {'; '.join(found.said)}."


def _name(quote: Quote) -> str:
    return f"Revision {quote.revision}" if quote.revision else "Draft"


def _why(quote: Quote) -> str:
    return f" ({quote.reason})" if quote.reason else ""


def _totals_table(found: Difference) -> Table:
    before, after = found.before, found.after
    rows = (
        ("Lines", money(before.totals.lines), money(after.totals.lines), signed(found.lines)),
        ("Net", money(before.totals.net), money(after.totals.net), signed(found.net)),
        ("Tax", money(before.totals.tax), money(after.totals.tax), signed(found.tax)),
        ("With tax", money(before.totals.gross), money(after.totals.gross), signed(found.gross)),
        ("Cost", money(before.margin.cost), money(after.margin.cost), signed(found.cost)),
        ("Margin", share(before.margin.margin), share(after.margin.margin), ""),
    )
    return Table("", ("", _name(before), _name(after), "More"), rows, (1, 2, 3))


def moved_table(found: Difference, title: str) -> Table:
    """The lines that are not alike, and what each moves the sum by."""
    rows = tuple(
        (f"{one.name}\n{one.why}", _side(one.before), _side(one.after), signed(one.more)) for one in found.moved
    )
    note = f"They add up to {signed(found.lines)}." if rows else ""
    return Table(title, ("Line", "Before", "After", "More"), rows, (1, 2, 3), note)


def _side(line: Line | None) -> str:
    return "" if line is None else f"{money(line.net)}\n{plain(line.quantity)} x {money(line.price)}"


def difference_csv(found: Difference) -> str:
    """The moved lines as CSV."""
    rows = (
        (
            one.key,
            one.name,
            "" if one.before is None else one.before.net,
            "" if one.after is None else one.after.net,
            one.more,
            one.why,
        )
        for one in found.moved
    )
    return to_csv(("key", "name", "before", "after", "more", "why"), rows)
