"""Jobs as pages: who owes what, what is earned against what was quoted, what happened; all jobs; hours by operation."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal

from costplan.money import round_to, with_minor_digits
from costplan.quote.job import (
    AddedRow,
    Core,
    Earnings,
    Gain,
    HoursFound,
    Item,
    JobListed,
    JobRow,
    Standing,
    WorkHours,
)
from costplan.quote.stated import plain
from costplan.report.data import to_csv
from costplan.report.quote.amounts import share, signed
from costplan.report.quote.wording import FOR_THE_SHOP, INVENTED
from costplan.report.tables import Page, Table, money, plural

CAUTIONS = (
    "Hours, costs and payments are what the rows of jobs.csv say. Storage and interest are by the shop book, before "
    "any tax; whether they may be charged is the shop's own duty to know.",
)


def job_page(found: Standing) -> Page:
    """Everything that `costplan job show` answers."""
    title = f"Job {found.job}: {found.title}" if found.title else f"Job {found.job}"
    lines = (
        f"{FOR_THE_SHOP}{f' {INVENTED}.' if found.invented else ''}",
        *owed_lines(found),
        *margin_lines(found),
        *stop_lines(found),
    )
    tables = (
        gains_table(found),
        kinds_table(found.earnings),
        items_table(found),
        changes_table(found),
        _rows_table(found),
    )
    foot = (*found.cautions, *CAUTIONS)
    return Page(title, lines, tuple(table for table in tables if table.rows), foot)


def owed_lines(found: Standing) -> Iterator[str]:
    """How it stands, and who owes what."""
    whose = f"For {found.customer}; money" if found.customer else "Money"
    yield f"On {found.on}: {found.state}. {whose} in {found.currency}."
    if found.state == "hours only":
        return
    yield _now(found.owing.now)
    yield from _contract(found)
    yield from _charges(found)
    yield from (_core(core, found) for core in found.cores)


def _now(amount: Decimal) -> str:
    """
    >>> _now(Decimal("12.50")), _now(Decimal("-3.00"))
    ('The customer owes 12.50 now.', 'The shop owes the customer 3.00.')
    """
    if not amount:
        return "Nobody owes anything now."
    return f"The customer owes {money(amount)} now." if amount > 0 else f"The shop owes the customer {money(-amount)}."


def _contract(found: Standing) -> Iterator[str]:
    contract, owing, offered = found.contract, found.owing, found.offered
    if contract is None:
        if offered is not None:
            more = money(offered.more.gross)
            yield f"Revision {offered.revision} of {offered.on} is offered, {more} with tax; nobody has signed it."
        elif found.days.refused is not None:
            yield f"Refused on {found.days.refused}; nothing was signed."
        else:
            yield "No revision of it was saved by this day."
        if owing.paid:
            yield f"Paid {money(owing.paid)}."
        return
    who, total = f" by {contract.by}" if contract.by else "", money(contract.gross)
    yield f"Contract: revision {contract.revision}, signed{who} on {contract.on}, {total} with tax."
    if found.days.refused is not None:
        yield (
            f"Refused on {found.days.refused}: instead of it {money(owing.gross)} with tax is owed, the tear-down and "
            "the parts that were used."
        )
    when = "" if owing.ended else ", due before it leaves the shop"
    yield f"Paid {money(owing.paid)}; balance {money(owing.balance)}{when}."
    if not owing.ended and owing.deposit_owed:
        left = money(owing.deposit_owed)
        yield f"Of the deposit of {money(owing.deposit)}, due with the order, {left} is still owed."


def _charges(found: Standing) -> Iterator[str]:
    """Storage and interest: what they come to, or from when on they run."""
    owing, fetched = found.owing, found.days.delivered is not None
    if owing.storage:
        yield f"Storage since {owing.storage_from}: {money(owing.storage)}."
    elif owing.storage_from is not None and owing.a_day and not fetched:
        yield f"Storage of {money(owing.a_day)} a day runs from {owing.storage_from} on, until it is fetched."
    if owing.interest:
        yield f"Interest on what was overdue since {owing.overdue_from}: {money(owing.interest)}."
    elif owing.overdue_from is not None and owing.balance > 0:
        interest = f"; interest of {share(owing.a_month)} a month runs from then on" if owing.a_month else ""
        yield f"The balance is overdue after {owing.overdue_from}{interest}."


def _core(core: Core, found: Standing) -> str:
    """A deposit on an old piece, and what may still come back of it."""
    words = f"{core.name}: charged {money(core.charged)}, given back {money(core.given_back)}"
    if not core.outstanding or core.by is None:
        return f"{words}."
    if found.on > core.by:
        return f"{words}; {money(core.outstanding)} did not come back by {core.by}."
    return f"{words}; {money(core.outstanding)} comes back if the old piece returns by {core.by}."


def stop_lines(found: Standing) -> Iterator[str]:
    """Stops after tear-down, and what waits for a signature."""
    for stop in found.stops:
        by = f" by {stop.by}" if stop.by else ""
        yield f"Stopped on {stop.on}: {stop.note.rstrip('.')}. " + (
            f"Signed to go on{by} on {stop.signed}." if stop.signed else "Not signed since: no work until it is."
        )
    if found.contract is not None and found.offered is not None:
        offered = found.offered
        yield (
            f"Revision {offered.revision} of {offered.on} waits for a signature: {signed(offered.more.gross)} with tax"
            f"{f' ({offered.reason})' if offered.reason else ''}."
        )


def margin_lines(found: Standing) -> Iterator[str]:
    """What is earned, or may be, against what was quoted."""
    earnings = found.earnings
    if earnings is None:
        return
    quoted = f"{_gain(earnings.quoted)} as quoted, {_gain(earnings.contract)} by the contract"
    if earnings.earned is not None:
        yield f"Earned {_gain(earnings.earned)}; {quoted}."
        return
    open_ = earnings.not_booked
    yield (
        f"Forecast to earn {_gain(earnings.forecast)}; {quoted}. {plural(earnings.booked.lines, 'line')} booked; "
        f"{plural(open_.lines, 'line')} of {money(open_.net)} net not booked yet, at what they were quoted to cost, "
        f"{money(open_.cost)}."
    )


def _gain(gain: Gain) -> str:
    return f"{money(gain.earned)} ({share(gain.margin)})"


def gains_table(found: Standing) -> Table:
    """Net, cost and what is left: as quoted, by the contract, and as it came or will."""
    earnings, accepted, contract = found.earnings, found.accepted, found.contract
    if earnings is None or accepted is None or contract is None:
        return Table("", (), ())
    last = earnings.forecast if earnings.earned is None else earnings.earned
    gains = (earnings.quoted, earnings.contract, last)
    rows = (
        ("Net, without deposits on old pieces", *(money(one.net) for one in gains)),
        ("Cost", *(money(one.cost) for one in gains)),
        ("Left", *(money(one.earned) for one in gains)),
        ("Margin", *(share(one.margin) for one in gains)),
    )
    words = "Forecast" if earnings.earned is None else "Earned"
    header = ("", f"Quoted (r{accepted.revision})", f"Contract (r{contract.revision})", words)
    return Table("Margin", header, rows, (1, 2, 3))


def kinds_table(earnings: Earnings | None) -> Table:
    kinds = earnings.kinds if earnings else ()
    rows = tuple(
        (
            one.kind or "of no kind",
            money(one.net),
            money(one.cost),
            money(one.actual_cost),
            money(one.not_booked) if one.not_booked else "",
            signed(one.cost_over),
        )
        for one in kinds
    )
    header = ("Kind", "Net", "Quoted cost", "Booked", "Not yet", "Over")
    return Table("By kind of line", header, rows, (1, 2, 3, 4, 5))


def items_table(found: Standing) -> Table:
    items = found.earnings.items if found.earnings else ()
    final = found.earnings is not None and found.earnings.earned is not None
    rows = tuple(_item(item, final=final) for item in items)
    note = "Quoted by the contract. Hours cost what the shop book's rate of the work does."
    header = ("Line", "Hours", "worked", "Cost", "booked", "Over")
    return Table("Quoted against actual", header, rows, (1, 2, 3, 4, 5), note)


def _item(item: Item, *, final: bool) -> tuple[str, ...]:
    name = item.name if item.lines else f"{item.name}\nnot in the contract"
    open_ = "never" if final else "not yet"
    return (
        name,
        plain(item.hours) if item.hours else "",
        plain(item.actual_hours) if item.actual_hours else "",
        money(item.cost) if item.lines else "",
        money(item.actual_cost) if item.booked else open_,
        "" if item.cost_over is None else signed(item.cost_over),
    )


def changes_table(found: Standing) -> Table:
    rows = tuple(
        (
            str(one.revision),
            str(one.on),
            "\n".join(text for text in (one.reason, f"signed by {one.by}") if text),
            signed(one.more.net),
            signed(one.more.gross),
        )
        for one in found.change_orders
    )
    return Table("Change orders", ("Revision", "Signed", "", "Net", "With tax"), rows, (3, 4))


def _rows_table(found: Standing) -> Table:
    rows = tuple((str(row.date), row.what, _about(row), _figure(row, found.currency)) for row in found.rows)
    return Table("What happened", ("Date", "What", "", "Hours, money"), rows, (3,))


def _about(row: JobRow) -> str:
    """What a row is about, in words."""
    words = (
        f"revision {row.revision}" if row.revision is not None else "",
        " ".join(row.slot),
        row.part,
        row.work,
        f"x {plain(row.quantity)}" if row.quantity is not None else "",
    )
    texts = (" ".join(word for word in words if word), f"by {row.by}" if row.by else "", row.note)
    return "; ".join(text for text in texts if text)


def _figure(row: JobRow, currency: str) -> str:
    """Hours or an amount; a part without its own cost costs what the contract says."""
    amount = row.cost if row.cost is not None else row.amount
    if row.hours is not None:
        return f"{plain(row.hours)} h"
    return (
        money(with_minor_digits(amount, currency)) if amount is not None else "as quoted" if row.what == "used" else ""
    )


def items_csv(found: Standing) -> str:
    """The lines of a job, quoted against actual, as CSV."""
    header = (
        "key", "kind", "name", "lines", "hours", "cost", "net", "actual_hours", "actual_cost", "booked", "cost_over"
    )  # fmt: skip
    items = found.earnings.items if found.earnings else ()
    return to_csv(header, ([_cell(getattr(item, name)) for name in header] for item in items))


def _cell(value: object) -> object:
    return "" if value is None else ("yes" if value else "no") if isinstance(value, bool) else value


def jobs_page(found: Sequence[JobListed], title: str, currency: str) -> Page:
    """Everything that `costplan job list` answers."""
    jobs = [one for one in found if one.state != "hours only"]
    older = [one for one in found if one.state == "hours only"]
    lines = [f"{FOR_THE_SHOP} Money in {currency}."]
    if not found:
        lines.append("No job yet: save a revision, and write what happens in jobs.csv or by costplan job add.")
    rows = tuple(
        (
            one.job,
            f"{one.state}{f', r{one.revision}' if one.revision is not None else ''}",
            "" if one.gross is None else money(one.gross),
            money(one.paid),
            money(one.now),
            "" if one.gain is None else f"{'' if one.final else '~ '}{money(one.gain.earned)}",
        )
        for one in jobs
    )
    header = ("Job", "State", "With tax", "Paid", "Owed now", "Left")
    note = "Left: earned by the contract; with ~ a forecast. Below zero the shop owes the customer." if rows else ""
    tables = (Table("", header, rows, (2, 3, 4, 5), note), older_table(older))
    warned = tuple(f"{one.job}: {plural(one.cautions, 'caution')} in its page." for one in jobs if one.cautions)
    return Page(title, tuple(lines), tuple(table for table in tables if table.rows), warned)


def older_table(older: Sequence[JobListed]) -> Table:
    """Jobs without a request: their hours, and how many rows of them count for nothing."""
    rows = tuple((one.job, plain(one.hours), str(one.idle) if one.idle else "") for one in older)
    note = "No request of these names: only their hours count." if rows else ""
    if any(one.idle for one in older):
        return Table("Older jobs", ("Job", "Hours", "Idle rows"), rows, (1, 2), f"{note} Idle rows count for nothing.")
    return Table("Older jobs", ("Job", "Hours"), tuple(row[:2] for row in rows), (1,), note)


def jobs_csv(found: Iterable[JobListed]) -> str:
    """The same as CSV."""
    header = ("job", "title", "customer", "state", "revision", "gross", "paid", "now", "earned", "final", "hours")
    rows = (
        (
            one.job,
            one.title,
            one.customer,
            one.state,
            _cell(one.revision),
            _cell(one.gross),
            one.paid,
            one.now,
            "" if one.gain is None else one.gain.earned,
            _cell(one.final),
            one.hours,
        )
        for one in found
    )
    return to_csv(header, rows)


def hours_page(
    found: HoursFound, cells: Mapping[str, Mapping[str, str]], least: int, title: str, currency: str
) -> Page:
    """Everything that `costplan job hours` answers; `cells`: those that work.csv would get, of `least` jobs or more."""
    lines = (
        f"{FOR_THE_SHOP} Money in {currency}.",
        f"Hours of {plural(found.jobs, 'job')} that are done, against those of work.csv.",
    )
    tables = (_hours_table(found.works), _written_table(found.works, cells, least), _left_table(found))
    foot = (
        "Jobs differ, and few of them say little: a mean of a handful of jobs may lie off by its deviation. Hours that "
        "rest on more jobs than these are worth more.",
    )
    return Page(title, lines, tuple(table for table in tables if table.rows), foot if found.works else ())


def _hours_table(works: Sequence[WorkHours]) -> Table:
    rows = tuple(
        (
            f"{one.work}{', a piece' if one.per == 'piece' else ''}{_SAYS_LITTLE if one.says_little else ''}",
            str(one.jobs),
            _hours(one.mean) + (f"\n+/- {_hours(one.deviation)}" if one.deviation is not None else ""),
            f"{_hours(one.smallest)}\n{_hours(one.largest)}",
            plain(one.listed),
            "" if one.difference is None else f"{100 * one.difference:+.0f} %",
            signed(one.worth),
        )
        for one in works
    )
    note = (
        "+/-: the standard deviation of a sample. More: the mean against work.csv; worth: what that comes to in one "
        "job at the rate's price, above zero given away."
    )
    header = ("Work", "Jobs", "Mean", "From, to", "work.csv", "More", "Worth")
    return Table("Hours by operation", header, rows, (1, 2, 3, 4, 5, 6), note)


_SAYS_LITTLE = "\none job says little"


def _hours(value: Decimal) -> str:
    """Hours to a hundredth.

    >>> _hours(Decimal("10.245")), _hours(Decimal("0.1125")), _hours(Decimal("3"))
    ('10.25', '0.11', '3')
    """
    return plain(round_to(value, Decimal("0.01")))


def _written_table(works: Iterable[WorkHours], cells: Mapping[str, Mapping[str, str]], least: int) -> Table:
    rows = tuple(
        (
            one.work,
            plain(one.listed),
            cells[one.work]["hours"],
            "\n".join((one.source, *([f"instead of: {one.listed_source}"] if one.listed_source else []))),
        )
        for one in works
        if one.work in cells
    )
    note = f"Operations of {plural(least, 'job')} or more; --out writes them into a new work.csv." if rows else ""
    return Table("As work.csv would have them", ("Work", "Hours now", "Then", "Source"), rows, (1, 2), note)


def _left_table(found: HoursFound) -> Table:
    rows = tuple((one.job, one.work, one.why) for one in found.left_out)
    return Table("Left out", ("Job", "Work", "Why"), rows)


def hours_csv(found: HoursFound) -> str:
    """The hours by operation as CSV."""
    header = (
        "work", "name", "per", "jobs", "mean", "smallest", "largest", "deviation", "first", "last", "listed",
        "listed_source", "difference", "pieces", "worth", "hours", "source",
    )  # fmt: skip
    return to_csv(header, ([_cell(getattr(one, name)) for name in header] for one in found.works))


def added_page(added: AddedRow, currency: str) -> Page:
    """The row that was written."""
    row = added.row
    figure = _figure(row, currency)
    if row.cost is not None or row.amount is not None:
        figure = f"{figure} {currency}"
    about = "; ".join(text for text in (_about(row), figure) if text)
    lines = [f"Written as {row.place}: {row.date} {row.what}{f' {about}' if about else ''}."]
    if not added.job.request:
        lines.append(f"There is no quote-{row.job}.toml: only the hours of this job count.")
    return Page(f"Job {row.job}", tuple(lines), ())
