"""The shop's workbook: with cost and margin, and how each line came onto the quote."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from costplan.quote.copies import Copy, customer_copy
from costplan.quote.margin import margin_on, markup_on
from costplan.quote.records import Allowance, Change, Choice, KindMargin, Line, Quote
from costplan.report.quote.wording import (
    CHANCES,
    FIXED,
    MARKUP,
    TAX_DUTY,
    Labelled,
    asked_for,
    day_of,
    days_at_work,
    days_before,
    whose_word,
)
from costplan.report.quote.workbook.shared import (
    AS_ISSUED,
    book_of,
    live_words,
    priced,
    taken_word,
    terms_of,
    write_head,
    write_notice,
    write_supplied,
    write_totals,
)
from costplan.report.tables import days_old, plural
from costplan.report.workbook.formulas import Formula, Rounding, share_of
from costplan.report.workbook.sheets import (
    DATE,
    PLAIN,
    ROUND_SHARE,
    SHARE,
    Book,
    Cell,
    Column,
    Row,
    Sheet,
    Span,
    chance_cell,
    worked_out,
    write_labelled,
)

SHOP_ONLY = "For the shop only: do not hand over"
PASSING = "Deposits on old pieces pass through and are left out; a discount on the whole is counted as a credit."
CORES_IN = "Deposits on old pieces are in the net of the whole and not in its cost."
LINE_COSTS = "A cost is that of the whole line as quoted; it does not follow the quantity."
WITH_ALL = "The whole: expected, each at its chance; and at the worst, all of them the dearest way"


def shop_xlsx(quote: Quote) -> bytes:
    """The shop's workbook: all of each line, the margin, tear-down, options, days and terms, and what is assumed."""
    copy = customer_copy(quote)
    book = book_of(copy, SHOP_ONLY)
    lines = _write_lines(book, quote, copy)
    _write_margin(book, quote, lines)
    if quote.allowances:
        _write_tear_down(book, quote)
    if quote.options:
        _write_options(book, quote)
    says = (*asked_for(quote), *_days(quote), *terms_of(copy), ("Tax", TAX_DUTY))
    write_labelled(book, "Days and terms", "days and terms", 32, says)
    if quote.assumed:
        _write_assumed(book, quote)
    return book.closed()


@dataclass(frozen=True, slots=True)
class Lines:
    """Where the lines are: their sheet and rows, and the rows of what is put on the whole or taken off it, if any."""

    sheet: Sheet
    rows: Span
    put_on: Span | None

    def of_kind(self, kind: str, column: str) -> str:
        """The sum of a column over the lines of a kind, which is named in a cell."""
        name, kinds, figures = self.sheet.name, self.sheet.span("kind", self.rows), self.sheet.span(column, self.rows)
        return f"SUMIF({name}!{kinds},{kind},{name}!{figures})"

    @property
    def on_the_whole(self) -> str:
        """The sum of what is put on the whole or taken off it, as more of a sum; '' where there is nothing."""
        return f"+SUM({self.sheet.name}!{self.sheet.span('amount', self.put_on)})" if self.put_on else ""


def _write_lines(book: Book, quote: Quote, copy: Copy) -> Lines:
    columns = [*_price_columns(copy.currency, book.rounding), *_inner_columns(copy.currency, book.rounding)]
    sheet = book.sheet("Lines", copy.title, columns, landscape=True)
    write_head(sheet, copy)
    sheet.header()
    rows = _write_rows(sheet, quote)
    _write_sums(sheet, quote, rows)
    write_notice(sheet, copy)
    put_on = write_totals(sheet, copy, rows, summed=True)
    write_supplied(sheet, copy)
    sheet.skip()
    if quote.stale:
        sheet.across(f"{plural(len(quote.stale), 'old price')}, to be asked for anew.", "mark")
    sheet.across(f"{live_words(copy.totals)} {LINE_COSTS}", "quiet")
    return Lines(sheet, rows, put_on)


def _price_columns(code: str, rounding: Rounding) -> list[Column]:
    """What is sold, and at which price."""
    return [
        Column("heading", "Heading", 12),
        Column("kind", "Kind", 8),
        Column("name", "Item", 24),
        Column("part", "Part", 11),
        Column("slots", "Slots", 11),
        Column("supplier", "Supplier", 12),
        Column("quantity", "Quantity", 8, PLAIN),
        Column("unit", "Unit", 11),
        Column("price", f"Price [{code}]", 11, rounding.money),
        Column("discount", "Discount [%]", 9, SHARE),
        Column("amount", f"Amount [{code}]", 13, rounding.money),
        Column("tax", "Tax", 8),
    ]


def _inner_columns(code: str, rounding: Rounding) -> list[Column]:
    """What the shop keeps to itself."""
    return [
        Column("cost", f"Cost [{code}]", 12, rounding.money),
        Column("earned", f"Earned [{code}]", 13, rounding.money),
        Column("margin", "Margin [% of price]", 9, ROUND_SHARE),
        Column("hours", "Hours [h]", 7, PLAIN),
        Column("spare", "Left over", 6, PLAIN),
        Column("priced", "Price of", 10, DATE),
        Column("age", "Age [days]", 7, PLAIN),
        Column("old", "Old price", 7),
        Column("why", "Why", 22),
        Column("place", "Place", 16),
        Column("key", "Key", 16),
    ]


def _write_rows(sheet: Sheet, quote: Quote) -> Span:
    """The lines, and their rows; an empty one where there are none."""
    first = sheet.row
    for line in quote.lines:
        cells = (_named(line), priced(sheet, line, quote.currency), _earned(sheet, line), _known(line))
        sheet.put({name: value for part in cells for name, value in part.items()})
    if not quote.lines:
        sheet.skip()
    return first, sheet.row - 1


def _named(line: Line) -> Row:
    return {
        "heading": line.heading,
        "kind": line.kind,
        "name": line.name,
        "part": line.part,
        "slots": ", ".join(line.slots),
        "supplier": line.supplier,
    }


def _earned(sheet: Sheet, line: Line) -> Row:
    """Cost, and what a line earns; a core passes through, and neither it nor a credit has a margin."""
    amount, cost, earned = (sheet.at(name) for name in ("amount", "cost", "earned"))
    return {
        "cost": line.cost,
        "earned": Formula(f"{amount}-{cost}", line.earned),
        "margin": None if line.kind in ("core", "credit") else share_of(earned, amount, line.margin),
    }


def _known(line: Line) -> Row:
    """Hours, age of the price, and how a line came onto the quote."""
    age = line.price_age_days
    return {
        "hours": line.hours or None,
        "spare": line.spare or None,
        "priced": line.priced,
        "age": days_old(age) if age is not None and age < 0 else age,
        "old": Cell("old" if line.stale else "", look="odd"),
        "why": line.why,
        "place": str(line.place),
        "key": line.key,
    }


def _write_sums(sheet: Sheet, quote: Quote, rows: Span) -> None:
    cost = sum((line.cost for line in quote.lines), Decimal(0))
    sums = {
        "amount": quote.totals.lines,
        "cost": cost,
        "earned": quote.totals.lines - cost,
        "hours": quote.hours,
    }
    sheet.put({name: Formula(sheet.sum_of(name, rows), gives) for name, gives in sums.items()}, "sum", "Sum of lines")


def _write_margin(book: Book, quote: Quote, lines: Lines) -> None:
    """Margin and mark-up of each kind and of all that is sold, and how it lies to the target."""
    sheet = book.table("Margin", "margin", _margin_columns(quote.currency, book.rounding))
    first = sheet.row
    for one in _sold(quote):
        _write_kind(sheet, one, quote, lines)
    _write_beyond(sheet, quote)
    sold = _write_sold(sheet, quote, (first, sheet.row - 1))
    sheet.skip()
    _write_floor(sheet, quote, sold)
    sheet.foot(f"{MARKUP} {PASSING}")


def _margin_columns(code: str, rounding: Rounding) -> list[Column]:
    return [
        Column("kind", "Kind", 34),
        Column("net", f"Net [{code}]", 14, rounding.money),
        Column("cost", f"Cost [{code}]", 14, rounding.money),
        Column("earned", f"Earned [{code}]", 14, rounding.money),
        Column("margin", "Margin [% of price]", 12, ROUND_SHARE),
        Column("markup", "Mark-up [% on cost]", 12, ROUND_SHARE),
    ]


def _sold(quote: Quote) -> list[KindMargin]:
    return [one for one in quote.margin.by_kind if one.kind != "core"]


def _earning(sheet: Sheet, net: Decimal, cost: Decimal) -> Row:
    """Net and cost, and what follows from them, in the row to be written next."""
    at_net, at_cost, earned = (sheet.at(name) for name in ("net", "cost", "earned"))
    return {
        "net": net,
        "cost": cost,
        "earned": Formula(f"{at_net}-{at_cost}", net - cost),
        "margin": share_of(earned, at_net, margin_on(net, cost)),
        "markup": share_of(earned, at_cost, markup_on(net, cost)),
    }


def _write_kind(sheet: Sheet, one: KindMargin, quote: Quote, lines: Lines) -> None:
    """A kind with the sums of its lines; one with more or less than those counts what is put on the whole, too.

    A figure that is neither is shown as it stands.
    """
    kind, of_kind = sheet.at("kind"), [line for line in quote.lines if line.kind == one.kind]
    beyond = one.net - sum(line.net for line in of_kind)
    says = lines.of_kind(kind, "amount") + (lines.on_the_whole if beyond else "")
    follows = beyond in (0, quote.totals.charges - quote.totals.allowances)
    agrees = one.cost == sum(line.cost for line in of_kind)
    cells: Row = {
        "kind": one.kind,
        **_earning(sheet, one.net, one.cost),
        "net": worked_out(says, one.net, follows=follows),
        "cost": worked_out(lines.of_kind(kind, "cost"), one.cost, follows=agrees),
    }
    sheet.put(cells)


def _write_beyond(sheet: Sheet, quote: Quote) -> None:
    """Net and cost of what is sold that no kind of line has, if there are any."""
    net = quote.margin.net - sum(one.net for one in _sold(quote))
    cost = quote.margin.cost - sum(one.cost for one in _sold(quote))
    if net or cost:
        sheet.put(_earning(sheet, net, cost), label="Beyond the lines")


def _write_sold(sheet: Sheet, quote: Quote, rows: Span) -> int:
    """All that is sold, which is the sum of some rows, if there are any."""
    net, cost = quote.margin.net, quote.margin.cost
    cells = _earning(sheet, net, cost)
    first, last = rows
    for name, gives in (("net", net), ("cost", cost)):
        cells[name] = Formula(sheet.sum_of(name, rows) if last >= first else "0", gives)
    return sheet.put(cells, "total", "All that is sold")


def _write_floor(sheet: Sheet, quote: Quote, sold: int) -> None:
    """The target, the least net that has it, and how far the quote lies above; `sold`: the row of all that is sold."""
    found = quote.margin
    target = sheet.put({"net": Cell(found.target, SHARE, "input")}, label="Target margin [% of price]")
    exact = f"{sheet.at('cost', sold)}/(1-{sheet.at('net', target)})"
    least = Formula(sheet.rounding.of(exact, found.floor, "ROUNDUP"), found.floor)
    lowest = sheet.put({"net": least}, label="Floor: the net that has it")
    above = Formula(f"{sheet.at('net', sold)}-{sheet.at('net', lowest)}", found.above_floor)
    sheet.put({"net": above}, "sum", "Above the floor by (negative: below)")


def _write_tear_down(book: Book, quote: Quote) -> None:
    """What tear-down may show, and what net, total and cost become with it."""
    columns = _tear_down_columns(quote.currency, book.rounding)
    sheet = book.table("After tear-down", "what tear-down may show", columns, landscape=True)
    for one in quote.allowances:
        sheet.put(_allowance(one))
    _write_after(sheet, quote)
    held = (FIXED,) if quote.basis == "fixed" else ()
    sheet.foot(" ".join((CHANCES, *held, CORES_IN, AS_ISSUED)))


def _tear_down_columns(code: str, rounding: Rounding) -> list[Column]:
    def more(way: str) -> list[Column]:
        names = (("net", "Net"), ("gross", "With tax"), ("cost", "Cost"))
        return [Column(f"{way}_{name}", f"{heading} [{code}]", 11, rounding.money) for name, heading in names]

    return [
        Column("name", "Of", 18),
        Column("slot", "Slot", 11),
        Column("part", "Part", 11),
        Column("chance", "Chance [%]", 9, SHARE),
        Column("word", "Whose word", 22),
        Column("likely", "Likely way", 20),
        *more("likely"),
        Column("worst", "Dearest way", 20),
        *more("worst"),
        Column("place", "Place", 18),
    ]


def _allowance(one: Allowance) -> Row:
    return {
        "name": one.name,
        "slot": one.slot,
        "part": one.part,
        "chance": chance_cell(one.chance),
        "word": whose_word(one),
        "likely": one.likely,
        **_more("likely", one.likely_more),
        "worst": one.worst,
        **_more("worst", one.worst_more),
        "place": str(one.place),
    }


def _more(way: str, change: Change) -> Row:
    return {f"{way}_net": change.net, f"{way}_gross": change.gross, f"{way}_cost": change.cost}


def _write_after(sheet: Sheet, quote: Quote) -> None:
    """The whole with what tear-down may show, what it leaves, and how likely all of it is."""
    after = quote.after
    expected = Change(after.expected_net, after.expected_gross, after.expected_cost)
    worst = Change(after.worst_net, after.worst_gross, after.worst_cost)
    sheet.put({**_more("likely", expected), "worst": "", **_more("worst", worst)}, "total", WITH_ALL)
    sheet.put({"worst_net": quote.left_at_worst}, label="Earned at the worst")
    sheet.put({"chance": chance_cell(after.unlikely)}, label="Chance that all of them are needed")


def _write_options(book: Book, quote: Quote) -> None:
    code, signed = quote.currency, book.rounding.signed
    columns = [
        Column("name", "Option", 26),
        Column("says", "What it is", 40),
        Column("taken", "In the price", 12),
        Column("net", f"Net [{code}]", 13, signed),
        Column("gross", f"With tax [{code}]", 13, signed),
        Column("cost", f"Cost [{code}]", 13, signed),
        Column("earned", f"Earned [{code}]", 13, signed),
    ]
    sheet = book.table("Options", "options", columns, landscape=True)
    for one in quote.options:
        sheet.put(_option(sheet, one))
    sheet.foot(AS_ISSUED)


def _option(sheet: Sheet, one: Choice) -> Row:
    """An option with what it adds, in the row to be written next."""
    more = one.more
    return {
        "name": one.name,
        "says": one.says,
        "taken": taken_word(one.taken),
        "net": more.net,
        "gross": more.gross,
        "cost": more.cost,
        "earned": Formula(f"{sheet.at('net')}-{sheet.at('cost')}", more.net - more.cost),
    }


def _days(quote: Quote) -> Iterator[Labelled]:
    """The days of the work, and by when things are due."""
    yield from days_before(quote.schedule)
    yield from days_at_work(quote.schedule)
    yield "Quote valid until", day_of(quote.valid_until)
    if quote.core_by:
        yield "Old pieces back by", day_of(quote.core_by)


def _write_assumed(book: Book, quote: Quote) -> None:
    sheet = book.table("Assumed", "what is assumed", [Column("says", "Assumed", 110)])
    for says in quote.assumed:
        sheet.put({"says": says})
