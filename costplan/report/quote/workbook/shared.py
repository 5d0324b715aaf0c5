"""What both workbooks of a quote show: who quotes, the amount of a line, totals, pieces not sold, and terms."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal

from costplan.quote.copies import Copy, CopyLine
from costplan.quote.records import Line, Party
from costplan.quote.totals import Tax, TaxGroup, Totals, line_net
from costplan.report.quote.wording import (
    DRAFT,
    INVENTED,
    SUPPLIED,
    Labelled,
    basis_of,
    core_of,
    day_of,
    name_of,
    percent_of,
    settled,
    tax_notes_of,
    with_part,
)
from costplan.report.workbook.formulas import Formula
from costplan.report.workbook.sheets import MOST_IN_SIGHT, SHARE, Book, Cell, Row, Sheet, Span, worked_out

LIVE = (
    "Figures are worked out anew when a quantity, price or discount in blue is changed. The quote as issued is the "
    "document with its number and revision."
)
STAYS = "What is put on or taken off the whole stays as it is."
AS_ISSUED = "These figures are those of the quote as issued; changes on the first sheet do not reach them."
AS_QUOTED = "Amounts in red stand as quoted; they are not quantity x price less discount, and are not worked out anew."


def book_of(copy: Copy, mark: str = "") -> Book:
    """The workbook of a quote, named by its number and revision; `mark` stands on each sheet."""
    return Book(f"Quote {name_of(copy)}", copy.currency, copy.on, copy.shop.name, mark)


def write_head(sheet: Sheet, copy: Copy) -> None:
    """Who quotes what to whom, on which days and on what basis. It stays in sight, so that it is kept low."""
    draft = "" if copy.revision else f"{DRAFT}. "
    reason = f" Revision {copy.revision}: {copy.reason}." if copy.reason else ""
    days = f"{draft}{day_of(copy.on)}, valid until {day_of(copy.valid_until)}."
    sheet.across(f"From {_party(copy.shop)}", "lead", MOST_IN_SIGHT)
    sheet.across(f"For {_party(copy.customer)}", "lead", MOST_IN_SIGHT)
    sheet.across(f"{days} {basis_of(copy)} All amounts in {copy.currency}.{reason}", "lead", MOST_IN_SIGHT)
    if copy.invented:
        sheet.across(INVENTED, "mark")


def _party(party: Party) -> str:
    return ", ".join((party.name, *party.lines))


def priced(sheet: Sheet, line: Line | CopyLine, currency: str) -> Row:
    """Quantity, unit, price, discount, amount and tax of a line, in the row to be written next."""
    rounding, size = sheet.rounding, line.quantity * line.price
    whole = f"{sheet.at('quantity')}*{sheet.at('price')}"
    off = f"{whole}*{sheet.at('discount')}"
    says = f"{rounding.of(whole, size)}-{rounding.of(off, size)}"
    return {
        "quantity": Cell(line.quantity, look="input"),
        "unit": line.unit,
        "price": Cell(line.price, rounding.price(line.price), "input"),
        "discount": Cell(line.discount or None, look="input"),
        "amount": worked_out(says, line.net, follows=_follows(line, currency)),
        "tax": tax_name(line.tax),
    }


def _follows(line: Line | CopyLine, currency: str) -> bool:
    """Whether the amount of a line is what its quantity, price and discount give, as it is by the making of a quote."""
    off = line.quantity * line.price * line.discount
    return line.net == line_net(line.quantity, line.price, currency, allowances=[off])


def tax_name(tax: Tax) -> str:
    """A group of tax by its category and percent; a line and its total find each other by it.

    >>> tax_name(Tax("S", Decimal("6.50")))
    'S 6.5 %'
    """
    return f"{tax.code} {percent_of(tax)}"


def write_notice(sheet: Sheet, copy: Copy) -> None:
    """Says so where an amount is not that of its quantity and price."""
    if not all(_follows(line, copy.currency) for line in copy.lines):
        sheet.across(AS_QUOTED, "mark")


def write_totals(sheet: Sheet, copy: Copy, lines: Span, *, summed: bool = False) -> Span | None:
    """The totals of the lines in some rows, from their sum, if they are not `summed` yet, to the balance.

    Gives the rows of what is put on the whole or taken off it, if there is any.
    """
    put_on = _write_put_on(sheet, copy, summed=summed)
    groups, net = copy.totals.groups, sheet.row
    says = sheet.sum_of("price", (net + 2, net + 1 + len(groups))) if groups else "0"
    sheet.put({"amount": Formula(says, copy.totals.net)}, "sum", "Net, before tax")
    sheet.put({"price": "taxed", "discount": "rate", "amount": "tax", "tax": ""}, "quiet", "Tax")
    for group in groups:
        _write_tax(sheet, copy, group, [lines, put_on] if put_on else [lines])
    says = f"{sheet.at('amount', net)}+{sheet.sum_of('amount', (net + 1, sheet.row - 1))}"
    total = sheet.put({"amount": Formula(says, copy.totals.gross)}, "total", f"Total with tax, {copy.currency}")
    _write_payment(sheet, copy, total)
    return put_on


def _write_put_on(sheet: Sheet, copy: Copy, *, summed: bool) -> Span | None:
    """What is put on the whole or taken off it, below the sum of the lines, and its rows; nothing where there is none.

    The net comes next, so that the sum is the net without it.
    """
    put_on = tuple(_put_on(copy))
    if not put_on:
        return None
    first = sheet.row + (0 if summed else 1)
    rows = first, first + len(put_on) - 1
    if not summed:
        says = f"{sheet.at('amount', rows[1] + 1)}-{sheet.sum_of('amount', rows)}"
        sheet.put({"amount": Formula(says, copy.totals.lines)}, "sum", "Sum of lines")
    for tax, amount in put_on:
        sheet.put({"amount": Cell(amount, look="input"), "tax": tax_name(tax)}, label=_put_on_words(copy.totals))
    return rows


def _put_on(copy: Copy) -> Iterator[tuple[Tax, Decimal]]:
    """What is put on the whole, or taken off it, by group of tax: what is taxed there beyond its lines."""
    for group in copy.totals.groups:
        amount = group.taxable - sum(line.net for line in copy.lines if line.tax == group.tax)
        if amount:
            yield group.tax, amount


def _put_on_words(totals: Totals) -> str:
    if totals.allowances and totals.charges:
        return "Discounts and charges on the whole"
    return "Discount on the whole" if totals.allowances else "Charges on the whole"


def _write_tax(sheet: Sheet, copy: Copy, group: TaxGroup, spans: Sequence[Span]) -> None:
    """The tax on one group: what falls under it is found by its name in the column of taxes."""
    rounding, name, notes = sheet.rounding, tax_name(group.tax), tax_notes_of(copy, group.tax)
    sums = "+".join(
        f"SUMIF({sheet.span('tax', span)},{sheet.at('tax')},{sheet.span('amount', span)})" for span in spans
    )
    tax = rounding.of(f"{sheet.at('price')}*{sheet.at('discount')}", group.taxable)
    cells: Row = {
        "price": Cell(Formula(f"ROUND({sums},{rounding.digits})", group.taxable), rounding.money),
        "discount": Cell(group.tax.percent / 100, SHARE),
        "amount": Formula(tax, group.amount),
        "tax": name,
    }
    sheet.put(cells, label=f"{name}: {notes}" if notes else name)


def _write_payment(sheet: Sheet, copy: Copy, total: int) -> None:
    """What of the total, which stands in a row, comes back, what was paid, and how the rest is paid."""
    if copy.core:
        sheet.put({"amount": copy.core}, label=core_of(copy))
    due = _write_due(sheet, copy.totals, total)
    deposit = sheet.put({"amount": Cell(copy.deposit, look="input")}, label="Deposit with the order")
    says = f"{sheet.at('amount', due)}-{sheet.at('amount', deposit)}"
    balance = worked_out(says, copy.balance, follows=copy.balance == copy.totals.due - copy.deposit)
    sheet.put({"amount": balance}, "sum", "Balance before the engine leaves")
    if copy.if_stopped:
        sheet.put({"amount": copy.if_stopped}, label="If the work stops after tear-down, owed before tax")


def _write_due(sheet: Sheet, totals: Totals, total: int) -> int:
    """What was paid and rounded away, and the row of what is then due; that of the total where there is none."""
    rows = [sheet.put({"amount": amount}, label=words) for words, amount in settled(totals)]
    if not rows:
        return total
    says = "+".join(sheet.at("amount", row) for row in (total, *rows))
    return sheet.put({"amount": Formula(says, totals.due)}, "sum", "Due")


def write_supplied(sheet: Sheet, copy: Copy) -> None:
    """Pieces that go in and are not sold, with whose they are and their condition."""
    if not copy.supplied:
        return
    sheet.skip()
    sheet.across(SUPPLIED, "heading")
    for one in copy.supplied:
        named = f"{with_part(one.name, one.part)}: {one.whose}"
        sheet.across("; ".join(text for text in (named, one.condition, one.note) if text), "line")


def terms_of(copy: Copy) -> Iterator[Labelled]:
    """The shop's terms, then what is not included, then its notes."""
    yield from ((term.heading, term.says) for term in copy.terms)
    yield from (("Not included", thing) for thing in copy.excluded)
    yield from (("Note", note) for note in copy.notes)


def live_words(totals: Totals) -> str:
    """What is worked out anew, and what is not."""
    return f"{LIVE} {STAYS}" if totals.allowances or totals.charges else LIVE


def taken_word(taken: bool) -> str:
    """Whether an option is in the price."""
    return "included" if taken else "not taken"
