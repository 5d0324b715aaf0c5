"""The quotes of the builder's page and the jobs in work: the shop's own view, with cost and margin."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from costplan.quote import Allowance, Line, Quote
from costplan.quote.job import Standing
from costplan.quote.revisions import Difference
from costplan.quote.stated import plain
from costplan.report.quote.amounts import chance, share, signed
from costplan.report.quote.difference import moved_table
from costplan.report.quote.job import (
    changes_table,
    gains_table,
    items_table,
    kinds_table,
    margin_lines,
    older_table,
    owed_lines,
    stop_lines,
)
from costplan.report.quote.price import (
    amount_of,
    days_line,
    each,
    line_name,
    options_table,
    parties,
    price_lines,
    supplied_table,
    tax_table,
)
from costplan.report.quote.wording import MARKUP
from costplan.report.tables import Table, listed, money, plural
from costplan.report.web.blocks import Block, Cards, Cell, Items, Section, Sheet, Words, cells, sheet_of
from costplan.report.web.builder.answers import BuilderAnswers, Quoted

#: Rows above which a table of a quote or a job is folded.
LONG = 12
OWN = (
    "For the shop only: quotes stand here with cost and margin. This is not the customer's copy, which has neither; "
    "do not hand it on."
)


def shop_sections(found: BuilderAnswers) -> Iterator[Section]:
    """All requests side by side, then each by itself, then the jobs in work."""
    if found.quotes:
        yield Section("Quotes", tuple(_overview(found)))
    for one in found.quotes:
        yield Section(f"Quote {one.request}", tuple(_quote(one)))
    yield Section("Jobs", tuple(_jobs(found)))


def below_floor(quote: Quote) -> str:
    """How far a quote is above or below its floor, in words."""
    above = quote.margin.above_floor
    return f"{money(above)} above the floor" if above >= 0 else f"{money(-above)} below the floor"


def margin_why(quote: Quote) -> tuple[str, ...]:
    """What a quote leaves, kind by kind, and what its floor is."""
    margin = quote.margin
    return (
        f"{money(margin.net)} net, deposits on old pieces left out, less {money(margin.cost)} cost",
        *(f"{one.kind}: {money(one.net)} less {money(one.cost)} leaves {money(one.earned)}" for one in margin.by_kind),
        f"Floor for a margin of {share(margin.target)}: {money(margin.floor)} net",
    )


def gross_why(quote: Quote) -> tuple[str, ...]:
    """What the price with tax is the sum of."""
    totals = quote.totals
    return (
        *(f"{heading}: {money(net)}" for heading, net in quote.headings.items()),
        *((f"taken off the whole: {money(quote.discount)}",) if quote.discount else ()),
        f"{money(totals.net)} net and {money(totals.tax)} tax",
    )


def _overview(found: BuilderAnswers) -> Iterator[Block]:
    yield Words((OWN, MARKUP), alert=True)
    quotes = [(one.request, one.quote) for one in found.quotes if one.quote is not None]
    rows = tuple(_overview_row(request, quote) for request, quote in quotes)
    yield Sheet(
        f"Requests of {found.shop}, each priced on its own day",
        ("Request", "With tax", "Cost", "Earned", "Margin", "Mark-up", "Against floor"),
        rows,
        right=(1, 2, 3, 4, 5, 6),
        note="Cost, earned and margin: before tax, without deposits on old pieces. Marked: below the shop's floor.",
        mark=tuple(at for at, (_, quote) in enumerate(quotes) if quote.margin.above_floor < 0),
    )
    for one in found.quotes:
        if one.refused:
            yield Words((f"{one.request} cannot be priced:", *one.refused), alert=True)


def _overview_row(request: str, quote: Quote) -> tuple[Cell, ...]:
    margin = quote.margin
    return cells(
        f"{request}\n{quote.title}\n{quote.on}",
        Cell(money(quote.totals.gross), gross_why(quote)),
        money(margin.cost),
        Cell(money(margin.earned), margin_why(quote)),
        share(margin.margin),
        share(margin.markup),
        signed(margin.above_floor),
    )


def _quote(found: Quoted) -> Iterator[Block]:
    quote = found.quote
    if quote is not None:
        yield Words((f"{quote.number}, {quote.title}.", *parties(quote)))
        yield Cards(tuple(_cards(quote)))
        yield from _warned(quote)
        yield Words((*price_lines(quote), days_line(quote)))
        if quote.notes:
            yield Items(quote.notes)
        yield _lines(quote)
        yield _kinds(quote)
        yield sheet_of(tax_table(quote.totals, quote.tax_notes))
        yield _allowances(quote.allowances)
        yield sheet_of(options_table(quote))
        yield sheet_of(supplied_table(quote))
        if quote.excluded:
            yield Words((f"Not in it: {listed(quote.excluded)}.",))
    yield from _saved(found)


def _cards(quote: Quote) -> Iterator[tuple[str, Cell, str]]:
    totals, margin, after, days = quote.totals, quote.margin, quote.after, quote.schedule
    basis = "Fixed price" if quote.basis == "fixed" else "Estimate"
    yield f"{basis}, with tax", Cell(money(totals.gross), gross_why(quote)), f"valid until {quote.valid_until}"
    words = f"{money(margin.earned)} earned; a mark-up of {share(margin.markup)} on the cost"
    yield "Margin", Cell(share(margin.margin), margin_why(quote)), words
    floor = (f"The least net that leaves {share(margin.target)} of the price, at a cost of {money(margin.cost)}",)
    yield f"Floor, for {share(margin.target)}", Cell(money(margin.floor), floor), f"net; it is {below_floor(quote)}"
    if quote.basis == "fixed":
        held = (f"The price is held; at the worst of tear-down the cost is {money(after.worst_cost)}",)
        yield "Left at the worst of tear-down", Cell(money(quote.left_at_worst), held), "the price being held"
    elif quote.allowances:
        chances = tuple(_allowed(one) for one in quote.allowances)
        worst = f"expected, with tax; {money(after.worst_gross)} at the worst"
        yield "With what tear-down may show", Cell(money(after.expected_gross), chances), worst
    why = (
        f"Ordered {days.ordered}, parts here {days.parts_here}, bench free {days.bench_free}, begun {days.begins}",
        f"{plain(days.hours)} h in {plural(days.days, 'working day')}",
    )
    yield "Ready", Cell(str(days.ready), why), f"if ordered on {days.ordered}"


def _allowed(one: Allowance) -> str:
    return f"{one.slot}, {chance(one.chance)}: {one.likely}, {signed(one.likely_more.gross)}"


def _warned(quote: Quote) -> Iterator[Words]:
    if quote.margin.above_floor < 0:
        yield Words((f"It lies {below_floor(quote)} of {money(quote.margin.floor)} net.",), alert=True)
    if quote.stale:
        names = listed(dict.fromkeys(line.part or line.name for line in quote.stale))
        yield Words((f"Old prices: {names}. Ask again before you order.",), alert=True)


def _lines(quote: Quote) -> Sheet:
    """All lines under their headings, with what each costs and earns, and why it is there."""
    rows, headings = list[tuple[Cell, ...]](), list[int]()
    for heading, net in quote.headings.items():
        headings.append(len(rows))
        rows.append(cells(heading, "", "", money(net), "", ""))
        rows += [_line(line, quote) for line in quote.lines if line.heading == heading]
    header = ("Line", "How many", "Each", "Net", "Cost", "Margin")
    note = "Net: before tax. Margin: share of the price. *: the price is old. A line's name says why it is there."
    title = f"Lines, {len(quote.lines)}"
    return Sheet(title, header, tuple(rows), (2, 3, 4, 5), note, tuple(headings), folded=len(quote.lines) > LONG)


def _line(line: Line, quote: Quote) -> tuple[Cell, ...]:
    guess = bool(line.place.file) and any(f"({line.place})" in words for words in quote.assumed)
    margin = share(line.margin) if line.margin is not None else ""
    name = Cell(line_name(line), tuple(_line_why(line)), guess)
    return cells(name, amount_of(line), each(line), money(line.net), money(line.cost), margin)


def _line_why(line: Line) -> Iterator[str]:
    yield line.why or "no reason given"
    if line.supplier or line.priced:
        supplier = f"from {line.supplier}" if line.supplier else "price"
        yield f"{supplier}{f', price of {line.priced}' if line.priced else ''}"
    if line.price_age_days is not None and line.stale:
        yield f"the price is {plural(line.price_age_days, 'day')} old: ask again"
    if line.place.file:
        yield str(line.place)


def _kinds(quote: Quote) -> Sheet:
    rows = tuple(
        cells(one.kind, money(one.net), money(one.cost), money(one.earned), share(one.margin) if one.net > 0 else "")
        for one in quote.margin.by_kind
    )
    return Sheet("What each kind of line earns", ("Kind", "Net", "Cost", "Earned", "Margin"), rows, (1, 2, 3, 4))


def _allowances(found: Iterable[Allowance]) -> Sheet:
    rows = tuple(
        cells(
            one.slot,
            Cell(chance(one.chance), (one.chance_why, *((str(one.place),) if one.place.file else ())), one.assumed),
            one.likely,
            signed(one.likely_more.gross),
            *((one.worst, signed(one.worst_more.gross)) if one.worst_more != one.likely_more else ("the same", "")),
        )
        for one in found
    )
    note = "Each alone, with tax. Expected: the likely ways at their chances. At the worst: all the dearest."
    header = ("Slot", "Chance", "Likely", "Adds", "Dearest", "Adds")
    return Sheet("What tear-down may add", header, rows, (1, 3, 5), note)


def _saved(found: Quoted) -> Iterator[Sheet]:
    """The revisions with what each adds, and line by line what moved."""
    more: list[Difference | None] = [None, *found.differences]
    rows = [_revision(quote, since) for quote, since in zip(found.revisions, more, strict=False)]
    if found.quote is not None and found.since is not None:
        rows.append(_revision(found.quote, found.since))
    yield Sheet(
        "Saved revisions, and the price above",
        ("Revision", "Of", "Why", "With tax", "More", "Earned", "Margin"),
        tuple(rows) if found.revisions else (),
        right=(1, 3, 4, 5, 6),
        note="More: with tax, than the row above. A saved revision stays as it was given.",
    )
    last = (found.since,) if found.since is not None else ()
    for one in (*found.differences, *last):
        yield _moved(one)


def _moved(found: Difference) -> Sheet:
    """What moved from one revision to the next."""
    names = [f"revision {one.revision}" if one.revision else "the price above" for one in (found.before, found.after)]
    table = moved_table(found, f"What moved from {names[0]} to {names[1]}: {plural(len(found.moved), 'line')}")
    said = f" Also: {'; '.join(found.said)}." if found.said else ""
    return sheet_of(replace(table, note=f"{table.note}{said}".strip()), folded=True)


def _revision(quote: Quote, since: Difference | None) -> tuple[Cell, ...]:
    why = tuple(f"{one.name}: {signed(one.more)} ({one.why})" for one in since.moved) if since else ()
    return cells(
        str(quote.revision) if quote.revision else "as above",
        str(quote.on),
        quote.reason,
        money(quote.totals.gross),
        Cell(signed(since.gross), why) if since else "",
        money(quote.margin.earned),
        share(quote.margin.margin),
    )


def _jobs(found: BuilderAnswers) -> Iterator[Block]:
    if found.jobs:
        yield Sheet(
            f"What jobs earn against what was quoted, on {found.on}",
            ("Job", "With tax", "Quoted", "By the contract", "Earned", "Margin", "Owed now"),
            tuple(map(_job_row, found.jobs)),
            right=(1, 2, 3, 4, 5, 6),
            note="Quoted, by the contract and earned: net less cost; ~ a forecast, the job being in hand. Owed below "
            "zero: by the shop.",
        )
    for one in found.jobs:
        yield from _job(one)
    table = older_table(found.older)
    if table.rows:
        yield sheet_of(table, folded=True)


def _job_row(found: Standing) -> tuple[Cell, ...]:
    earnings, contract = found.earnings, found.contract
    if earnings is None or contract is None:
        raise ValueError("a job that nobody signed earns nothing yet")
    last = earnings.earned or earnings.forecast
    return cells(
        f"{found.job}, {found.state}",
        money(contract.gross),
        money(earnings.quoted.earned),
        money(earnings.contract.earned),
        Cell(f"{'' if earnings.earned else '~ '}{money(last.earned)}", tuple(margin_lines(found))),
        share(last.margin),
        Cell(money(found.owing.now), tuple(owed_lines(found))),
    )


def _job(found: Standing) -> Iterator[Block]:
    yield Words((f"{found.job}, {found.title}.", *owed_lines(found), *margin_lines(found), *stop_lines(found)))
    if found.cautions:
        yield Words(found.cautions, alert=True)
    for table in (gains_table(found), kinds_table(found.earnings), items_table(found), changes_table(found)):
        if table.rows:
            yield sheet_of(_named(table, found.job), folded=len(table.rows) > LONG)


def _named(table: Table, job: str) -> Table:
    return replace(table, title=f"{table.title}: {job}")
