"""The customer's workbook, made from the copy alone."""

from __future__ import annotations

from costplan.quote.copies import Copy, CopyAllowance
from costplan.report.quote.wording import CAUTIONS, CHANCES, FIXED, TAX_DUTY, ready_of
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
from costplan.report.workbook.formulas import Formula, Rounding
from costplan.report.workbook.sheets import PLAIN, SHARE, Book, Column, Row, Sheet, Span, chance_cell, write_labelled


def customer_xlsx(copy: Copy) -> bytes:
    """The customer's workbook: the quote, what may be needed, options and terms; no sheet that would be empty."""
    book = book_of(copy)
    _write_quote(book, copy)
    if copy.allowances:
        _write_needed(book, copy)
    if copy.options:
        _write_options(book, copy)
    terms = (*terms_of(copy), *(("Caution", caution) for caution in CAUTIONS), ("Tax", TAX_DUTY))
    write_labelled(book, "Terms", "terms", 24, terms)
    return book.closed()


def _write_quote(book: Book, copy: Copy) -> None:
    sheet = book.sheet("Quote", copy.title, _line_columns(copy, book.rounding))
    write_head(sheet, copy)
    sheet.header()
    lines = _write_lines(sheet, copy)
    sheet.skip()
    write_notice(sheet, copy)
    write_totals(sheet, copy, lines)
    sheet.skip()
    sheet.across(f"{ready_of(copy)}.", "lead")
    write_supplied(sheet, copy)
    sheet.foot(live_words(copy.totals))


def _line_columns(copy: Copy, rounding: Rounding) -> list[Column]:
    """The columns of the lines; notes have one only where there are any."""
    noted = any(line.note for line in copy.lines)
    return [
        Column("name", "Item", 34),
        Column("part", "Part", 13),
        *([Column("note", "Note", 16)] if noted else []),
        Column("quantity", "Quantity", 9, PLAIN),
        Column("unit", "Unit", 11),
        Column("price", f"Price [{copy.currency}]", 12, rounding.money),
        Column("discount", "Discount [%]", 9, SHARE),
        Column("amount", f"Amount [{copy.currency}]", 13, rounding.money),
        Column("tax", "Tax", 8),
    ]


def _write_lines(sheet: Sheet, copy: Copy) -> Span:
    """The lines by heading, and the rows of all of it; an empty row where there are none."""
    first = sheet.row
    for heading in copy.headings:
        _write_group(sheet, copy, heading)
    if not copy.lines:
        sheet.skip()
    return first, sheet.row - 1


def _write_group(sheet: Sheet, copy: Copy, heading: str) -> None:
    """The lines of a heading and what they come to."""
    sheet.across(heading, "heading")
    first = sheet.row
    for line in copy.under(heading):
        named: Row = {"name": line.name, "part": line.part, **({"note": line.note} if line.note else {})}
        sheet.put({**named, **priced(sheet, line, copy.currency)})
    says = sheet.sum_of("amount", (first, sheet.row - 1))
    sheet.put({"amount": Formula(says, copy.sum_of(heading)), "tax": ""}, "sum", "Subtotal")


def _write_needed(book: Book, copy: Copy) -> None:
    """What tear-down may show; with a fixed price without amounts, since the customer pays none of them."""
    changes = copy.basis == "estimate"
    sheet = book.table("May be needed", "what tear-down may show", _needed_columns(copy, book.rounding, changes))
    for one in copy.allowances:
        sheet.put(_needed(one, changes))
    if changes:
        sheet.put({"worst_more": copy.totals.gross}, "sum", "Total with tax, as quoted")
        sheet.put({"worst_more": copy.expected}, "sum", "Expected, each at its chance")
        sheet.put({"worst_more": copy.worst}, "sum", "At the worst, all of them the dearest way")
    sheet.foot(f"{CHANCES} {AS_ISSUED}" if changes else FIXED)


def _needed_columns(copy: Copy, rounding: Rounding, changes: bool) -> list[Column]:
    """The columns of what may be needed, those of figures only where they change the price."""
    adds, money = f"Adds, with tax [{copy.currency}]", rounding.money
    columns = [
        Column("name", "Of", 24),
        Column("chance", "Chance [%]", 9, SHARE),
        Column("likely", "Likely way", 26),
        Column("likely_more", adds, 14, money),
        Column("worst", "Dearest way", 26),
        Column("worst_more", adds, 14, money),
    ]
    return [column for column in columns if changes or not column.form]


def _needed(one: CopyAllowance, changes: bool) -> Row:
    words: Row = {"name": one.name, "likely": one.likely, "worst": one.worst}
    figures: Row = {
        "chance": chance_cell(one.chance),
        "likely_more": one.likely_more,
        "worst_more": one.worst_more,
    }
    return words | figures if changes else words


def _write_options(book: Book, copy: Copy) -> None:
    columns = [
        Column("name", "Option", 28),
        Column("says", "What it is", 46),
        Column("taken", "In the price", 12),
        Column("more", f"Adds, with tax [{copy.currency}]", 15, book.rounding.signed),
    ]
    sheet = book.table("Options", "options", columns)
    for one in copy.options:
        sheet.put({"name": one.name, "says": one.says, "taken": taken_word(one.taken), "more": one.more})
    sheet.foot(AS_ISSUED)
