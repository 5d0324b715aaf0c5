"""A quote on a terminal: the shop's page with cost and margin, and the customer's without."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal

from costplan.quote import Allowance, Copy, Line, Quote
from costplan.quote.stated import plain
from costplan.quote.totals import Totals
from costplan.quote.whatif import IfBad, Risen
from costplan.report.data import to_csv
from costplan.report.quote.amounts import chance, share, signed
from costplan.report.quote.difference import moved_table
from costplan.report.quote.wording import FOR_THE_SHOP, INVENTED
from costplan.report.tables import Page, Table, listed, money, plural

CAUTIONS = (
    "Racing parts wear, break and can hurt people. The lives behind a quote are assumptions and no warranty; meeting a "
    "parts list is not passing inspection. Chances of what tear-down may show are estimates.",
    "Which tax is due, and how terms must be worded, is the shop's own duty.",
)


def quote_page(quote: Quote, extra: Sequence[Table] = (), *, why: bool = False) -> Page:
    """Everything that `costplan quote price` answers; `extra`: what was asked beside it."""
    tables = (
        *extra,
        _lines_table(quote),
        tax_table(quote.totals, quote.tax_notes),
        _kinds_table(quote),
        _allowances_table(quote.allowances),
        options_table(quote),
        supplied_table(quote),
        *((_why_table(quote.lines),) if why else ()),
    )
    shown = tuple(table for table in tables if table.rows)
    return Page(_title(quote), tuple(_head(quote)), shown, (*_foot(quote), *CAUTIONS))


def _title(quote: Quote | Copy) -> str:
    state = f"revision {quote.revision}" if quote.revision else "draft"
    return f"{quote.number} ({state}): {quote.title}"


def _head(quote: Quote) -> Iterator[str]:
    """What it comes to, what it leaves and when it is ready."""
    yield from parties(quote)
    yield from price_lines(quote)
    after, margin = quote.after, quote.margin
    if quote.basis == "estimate" and quote.allowances:
        yield _with_tear_down(after.expected_gross, after.worst_gross)
    markup = f", a mark-up of {share(margin.markup)} on the cost" if margin.markup is not None else ""
    earned = f"Cost {money(margin.cost)}, earned {money(margin.earned)}"
    yield f"{earned}: a margin of {share(margin.margin)} of the price{markup}."
    side = f"{money(margin.above_floor)} above" if margin.above_floor >= 0 else f"{money(-margin.above_floor)} below"
    yield f"Floor for a margin of {share(margin.target)}: {money(margin.floor)} net; this is {side} it."
    if quote.basis == "fixed":
        left = money(quote.left_at_worst)
        yield f"The price is held. At the worst of tear-down cost is {money(after.worst_cost)}, and {left} is left."
    yield days_line(quote)
    yield from quote.notes


def parties(quote: Quote | Copy) -> Iterator[str]:
    invented = f" {INVENTED}." if quote.invented else ""
    yield f"{quote.shop.name} to {quote.customer.name}, {quote.on}, valid until {quote.valid_until}.{invented}"
    if quote.reason:
        yield f"Why this revision: {quote.reason}."


def price_lines(quote: Quote | Copy) -> Iterator[str]:
    totals = quote.totals
    basis = "Fixed price" if quote.basis == "fixed" else "Estimate"
    less = f" ({money(quote.discount)} taken off)" if quote.discount else ""
    yield f"{basis}: {money(totals.gross)} {quote.currency}: {money(totals.net)} net{less} and {money(totals.tax)} tax."
    yield f"Deposit {money(quote.deposit)} with the order, balance {money(quote.balance)} before it leaves."
    if quote.core:
        yield f"In it {money(quote.core)} of deposits, back if the old pieces return unbroken by {quote.core_by}."
    if quote.if_stopped:
        yield f"If the work stops after tear-down: {money(quote.if_stopped)} before tax."


def _with_tear_down(expected: Decimal, worst: Decimal) -> str:
    return f"With what tear-down may show: {money(expected)} expected, {money(worst)} at the worst."


def days_line(quote: Quote) -> str:
    days = quote.schedule
    waits = f" (last {days.longest})" if days.longest else ""
    return (
        f"Ordered {days.ordered}: parts here {days.parts_here}{waits}, bench free {days.bench_free}, "
        f"begun {days.begins}, ready {days.ready} ({plain(days.hours)} h in {plural(days.days, 'day')})."
    )


def _lines_table(quote: Quote) -> Table:
    """All lines under their headings, with what each costs and earns."""
    rows = list[tuple[str, ...]]()
    for heading, net in quote.headings.items():
        rows.append((heading, "", "", money(net), "", ""))
        rows += [_line_row(line) for line in quote.lines if line.heading == heading]
    note = "Net: before tax. Margin: share of the price. *: the price is old. --why tells how each line came here."
    return Table("Lines", ("Line", "How many", "Each", "Net", "Cost", "Margin"), tuple(rows), (2, 3, 4, 5), note)


def _line_row(line: Line) -> tuple[str, ...]:
    margin = share(line.margin) if line.margin is not None else ""
    return (f"  {line_name(line)}", amount_of(line), each(line), money(line.net), money(line.cost), margin)


def line_name(line: Line) -> str:
    """A line's name, marked where its price is old, and its part's number."""
    number = f" {line.part}" if line.part else ""
    spare = f" ({line.spare} left over)" if line.spare else ""
    return f"{line.name}{number}{spare}{' *' if line.stale else ''}"


def amount_of(line: Line) -> str:
    return f"{plain(line.quantity)} {line.unit}"


def each(line: Line) -> str:
    """The price of one, and the discount on it."""
    return money(line.price) + (f" less {plain(100 * line.discount)} %" if line.discount else "")


def tax_table(totals: Totals, notes: Iterable[tuple[object, str]]) -> Table:
    """Tax by category and rate."""
    words = dict(notes)
    rows = tuple(
        (
            group.tax.code,
            f"{plain(group.tax.percent)} %",
            money(group.taxable),
            money(group.amount),
            words.get(group.tax, ""),
        )
        for group in totals.groups
    )
    return Table("Tax", ("Code", "Rate", "On", "Tax", "What"), rows, (1, 2, 3), "Codes: UNCL 5305, as in EN 16931.")


def _kinds_table(quote: Quote) -> Table:
    rows = tuple((one.kind, money(one.net), money(one.cost), money(one.earned)) for one in quote.margin.by_kind)
    return Table("By kind", ("Kind", "Net", "Cost", "Earned"), rows, (1, 2, 3))


def _allowances_table(allowances: Sequence[Allowance]) -> Table:
    rows = tuple(
        (
            f"{one.slot}{' ~' if one.assumed else ''}\n{chance(one.chance)}: {one.chance_why}",
            f"{one.likely}\n{signed(one.likely_more.gross)}",
            f"{one.worst}\n{signed(one.worst_more.gross)}" if one.worst_more != one.likely_more else "the same",
        )
        for one in allowances
    )
    note = (
        "Each alone, with tax. Expected: the likely ways at their chances. At the worst: all the dearest. ~: assumed."
    )
    return Table("What tear-down may show", ("Slot and chance", "Likely", "Dearest"), rows, (), note)


def options_table(quote: Quote) -> Table:
    rows = tuple(
        (
            one.name + (f"\n{one.says}" if one.says else ""),
            "in" if one.taken else "",
            signed(one.more.gross),
            signed(one.more.cost),
        )
        for one in quote.options
    )
    return Table("Options", ("Option", "Taken", "With tax", "Cost"), rows, (2, 3))


def supplied_table(quote: Quote | Copy) -> Table:
    """What goes in and is not sold."""
    rows = tuple((f"{one.name} {one.part}", one.whose, one.condition) for one in quote.supplied)
    return Table("Not sold, but used", ("Piece", "Whose", "Condition"), rows)


def _why_table(lines: Iterable[Line]) -> Table:
    """How each line came onto the quote, by the key that a request may name it with."""
    rows = tuple((line.key, f"{line.why or 'no reason given'}{_from(line)}") for line in lines)
    return Table("Why each line is there", ("Key", "Why"), rows)


def _from(line: Line) -> str:
    day = f", price of {line.priced}" if line.priced else ""
    supplier = f", {line.supplier}" if line.supplier else ""
    return f"{supplier}{day}{f' ({line.place})' if line.place.file else ''}"


def _foot(quote: Quote) -> Iterator[str]:
    yield f"{FOR_THE_SHOP} --customer gives the copy to hand over."
    if quote.stale:
        oldest = max(line.price_age_days or 0 for line in quote.stale)
        names = listed(dict.fromkeys(line.part or line.name for line in quote.stale))
        yield f"Old prices, up to {oldest} days: {names}. Ask again before you order."
    if quote.excluded:
        yield f"Not in it: {listed(quote.excluded)}."
    if quote.assumed:
        yield f"Nobody stands for: {'; '.join(quote.assumed)}."


def bad_tables(bad: IfBad) -> tuple[Table, ...]:
    """What the price becomes with slots that are bad, and what is left where it is held."""
    found = bad.found
    before, after = found.before, found.after
    rows = (
        ("Net", money(before.totals.net), money(after.totals.net), signed(found.net), money(before.totals.net)),
        (
            "With tax",
            money(before.totals.gross),
            money(after.totals.gross),
            signed(found.gross),
            money(before.totals.gross),
        ),
        ("Cost", money(before.margin.cost), money(after.margin.cost), signed(found.cost), money(after.margin.cost)),
        ("Earned", money(before.margin.earned), money(after.margin.earned), signed(found.earned), money(bad.held)),
        ("Margin", share(before.margin.margin), share(after.margin.margin), "", share(bad.held_margin)),
        ("Ready", str(before.schedule.ready), str(after.schedule.ready), "", str(after.schedule.ready)),
    )
    header = ("", "As asked", "With them", "More", "Price held")
    return Table("If they are bad", header, rows, (1, 2, 3, 4)), moved_table(found, "What moves")


def risen_table(quote: Quote, risen: Risen) -> Table:
    """What a rise of suppliers' prices does to cost and margin."""
    rows = [
        ("Net", money(quote.margin.net), money(quote.margin.net), money(risen.repriced)),
        ("Cost", money(quote.margin.cost), money(risen.cost), money(risen.cost)),
        ("Earned", money(quote.margin.earned), money(risen.earned), money(risen.repriced_earned)),
        ("Margin", share(quote.margin.margin), share(risen.margin), share(risen.repriced_margin)),
    ]
    keeps = f" The margin as quoted needs {money(risen.keeps)} net." if risen.keeps is not None else ""
    even = f" At a rise of {share(risen.breaks_even)} nothing is left." if risen.breaks_even is not None else ""
    note = f"Parts and kits up {share(risen.rise)} before the order: {signed(risen.more_cost)} cost.{keeps}{even}"
    return Table(
        "If suppliers' prices rise", ("", "As quoted", "Price held", "Priced anew"), tuple(rows), (1, 2, 3), note
    )


def copy_page(copy: Copy) -> Page:
    """The customer's copy on a terminal."""
    rows = list[tuple[str, ...]]()
    for heading in copy.headings:
        rows.append((heading, "", "", money(copy.sum_of(heading))))
        for line in copy.under(heading):
            name = f"  {line.name}{f' {line.part}' if line.part else ''}{f' ({line.note})' if line.note else ''}"
            price = money(line.price) + (f" less {plain(100 * line.discount)} %" if line.discount else "")
            rows.append((name, f"{plain(line.quantity)} {line.unit}", price, money(line.net)))
    lines = Table("Lines", ("Line", "How many", "Each", "Net"), tuple(rows), (2, 3))
    tables = (
        lines,
        tax_table(copy.totals, copy.tax_notes),
        _needed(copy),
        _offered(copy),
        supplied_table(copy),
        _terms_table(copy),
    )
    head = (
        *parties(copy),
        *price_lines(copy),
        *_after(copy),
        f"Ready {copy.ready} if ordered on {copy.on}.",
        *copy.notes,
    )
    left = (f"Not in it: {listed(copy.excluded)}.",) if copy.excluded else ()
    return Page(_title(copy), head, tuple(one for one in tables if one.rows), (*left, *CAUTIONS))


def _terms_table(copy: Copy) -> Table:
    return Table("Terms", ("Term", "Says"), tuple((term.heading, term.says) for term in copy.terms))


def _after(copy: Copy) -> Iterator[str]:
    if copy.basis == "fixed":
        yield "The price holds whatever tear-down shows."
    elif copy.allowances:
        yield _with_tear_down(copy.expected, copy.worst)


def _needed(copy: Copy) -> Table:
    rows = tuple(
        (
            f"{one.name}: {chance(one.chance)}",
            f"{one.likely}\n{signed(one.likely_more)}",
            f"{one.worst}\n{signed(one.worst_more)}",
        )
        for one in copy.allowances
    )
    return Table(
        "What tear-down may show", ("Piece and chance", "Likely", "Dearest"), rows, (), "Each alone, with tax."
    )


def _offered(copy: Copy) -> Table:
    rows = tuple(
        (f"{one.name}: {one.says}" if one.says else one.name, "in" if one.taken else "", signed(one.more))
        for one in copy.options
    )
    return Table("Options", ("Option", "Taken", "With tax"), rows, (2,))


#: The columns of lines as CSV: the shop's, then the customer's.
SHOP_COLUMNS = (
    *("key", "heading", "kind", "name", "part", "slots", "supplier", "quantity", "unit", "price", "discount", "net"),
    *("tax_code", "tax_percent", "cost", "hours", "priced", "stale", "why", "place"),
)
COPY_COLUMNS = ("heading", "name", "part", "quantity", "unit", "price", "discount", "net", "tax_code", "tax_percent")


def lines_csv(quote: Quote) -> str:
    """The lines as CSV, with cost."""
    rows = (
        (
            *(line.key, line.heading, line.kind, line.name, line.part, " ".join(line.slots), line.supplier),
            *(line.quantity, line.unit, line.price, line.discount, line.net, line.tax.code, line.tax.percent),
            *(line.cost, line.hours, line.priced or "", "yes" if line.stale else "no", line.why, str(line.place)),
        )
        for line in quote.lines
    )
    return to_csv(SHOP_COLUMNS, rows)


def copy_csv(copy: Copy) -> str:
    """The lines of the customer's copy as CSV."""
    rows = (
        (
            *(line.heading, line.name, line.part, line.quantity, line.unit, line.price, line.discount, line.net),
            *(line.tax.code, line.tax.percent),
        )
        for line in copy.lines
    )
    return to_csv(COPY_COLUMNS, rows)
