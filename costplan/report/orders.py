"""What to order and to book as pages."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from decimal import Decimal

from costplan.report.data import records_to_csv
from costplan.report.log import near, standing_lines
from costplan.report.season import CAUTIONS
from costplan.report.tables import Page, Table, day, listed, money
from costplan.season.orders import SOON, Order, Orders, PartTotal, Together
from costplan.season.standing import Standing


def orders_page(found: Orders, title: str, currency: str, invented: bool, standing: Standing | None = None) -> Page:
    """Everything that `costplan orders` answers: late ones first, then by the latest day; with a log, what it says."""
    late, past, booked = (_in_state(found, state) for state in ("late", "past", "booked"))
    ahead = [order for order in found.orders if order.state not in ("past", "booked")]
    lines = [*standing_lines(standing)]
    if ahead:
        lines += [
            f"{len(ahead)} to order or to book from {found.on} on; money in {currency}: {money(found.with_order)} with "
            f"the orders, {money(found.on_delivery)} on delivery or when the work is done.",
            f"Late already: {len(late)}. Within {SOON} days: {len(_in_state(found, 'soon'))}.",
            "The latest day leaves the lead days of the part and its supplier's queue days; a bench is booked so many "
            "days before its work must begin. What lies in stock, and services, are not ordered.",
        ]
    else:
        lines.append(f"Nothing is left to order or to book from {found.on} on.")
    if booked:
        lines.append(f"{len(booked)} booked or ordered already, by the log.")
    if past:
        lines.append(f"{len(past)} for days before {found.on} left out; --json and --csv have them.")
    shown = _shows(ahead)
    tables = (
        _late_table(late, shown),
        _list_table([order for order in ahead if order.state != "late"], shown),
        _booked_table(booked),
        _together_table(found.together, shown),
        _parts_table(found.parts, shown),
    )
    heading = f"{title} (invented data)" if invented else title
    return Page(heading, tuple(lines), tuple(table for table in tables if table.rows), CAUTIONS)


def _shows(orders: Sequence[Order]) -> Callable[[date], str]:
    """How days are shown: without their year while it is the same for all."""
    return day if len({order.order_by.year for order in orders}) == 1 else str


def _in_state(found: Orders, state: str) -> list[Order]:
    return [order for order in found.orders if order.state == state]


def _late_table(late: Sequence[Order], shown: Callable[[date], str]) -> Table:
    rows = tuple(
        (
            f"{shown(order.order_by)}\n{order.days_late} d late",
            _what(order),
            order.before,
            order.there_for or "none left",
            money(order.total),
        )
        for order in late
    )
    header = ("By", "What, from whom", "Needed before", "Now there for", "Cost")
    note = "Now there for: the first event that it is there for if it is ordered today."
    return Table("Late already, unless it was ordered in time", header, rows, right=(4,), note=note)


def _what(order: Order) -> str:
    """What is ordered, how many, and of whom."""
    if order.kind == "bench":
        return f"bench: {order.name}, {order.engine}\n{order.supplier}"
    return f"{order.count} x {'kit ' if order.kind == 'kit' else ''}{order.name}\n{order.supplier}"


def _list_table(orders: Sequence[Order], shown: Callable[[date], str]) -> Table:
    rows = tuple(
        (
            shown(order.order_by) + ("\nsoon" if order.state == "soon" else ""),
            _what(order),
            order.before,
            _days(order),
            money(order.with_order),
            money(order.on_delivery),
        )
        for order in orders
    )
    header = ("By", "What, from whom", "Needed before", "Days", "With order", "Later")
    note = f"Days: lead days + queue days. soon: by {SOON} days from now. Why: --csv names the rows of all figures."
    return Table("To order or to book, by the latest day", header, rows, right=(3, 4, 5), note=note)


def _booked_table(booked: Sequence[Order]) -> Table:
    rows = tuple(
        (
            _what(order),
            order.before,
            f"{order.booked}\n({near(order.booked_at)})" if order.booked_at else "",
            money(order.paid or Decimal(0)),
            money(order.total),
        )
        for order in booked
    )
    note = "Paid: by the rows of the log for it, which may be for more than one of them. Cost: as planned, all of it."
    header = ("What, from whom", "Needed before", "Booked on", "Paid", "Cost")
    return Table("Booked or ordered, by the log", header, rows, right=(3, 4), note=note)


def _days(order: Order) -> str:
    return f"{order.lead_days} + {order.queue_days}" if order.queue_days else str(order.lead_days)


def _together_table(together: Sequence[Together], shown: Callable[[date], str]) -> Table:
    rows = tuple(
        (shown(one.week), one.supplier, listed(one.names), money(one.with_order), money(one.on_delivery))
        for one in together
        if len(one.names) > 1
    )
    header = ("Week from", "To", "What", "With order", "Later")
    return Table("Together: several to one supplier in one week", header, rows, right=(3, 4))


def _parts_table(parts: Sequence[PartTotal], shown: Callable[[date], str]) -> Table:
    rows = tuple(
        (one.name, one.supplier, str(one.orders), str(one.count), shown(one.first_by), money(one.total))
        for one in parts
        if one.orders > 1
    )
    header = ("Part or kit", "Supplier", "Orders", "Packs", "First by", "Total")
    return Table("Ordered more than once", header, rows, right=(2, 3, 5))


def orders_csv(found: Orders) -> str:
    """Every order, a row each."""
    return records_to_csv(Order, found.orders)
