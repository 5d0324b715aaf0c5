"""A quote printed as PDF: the customer's document, made from the copy alone, and the shop's own sheet with its costs.

What is shown is settled here, as texts and figures; `layout/` holds how it looks. Everything goes there as JSON and is
set as text, so that no name can be taken for markup. The same quote gives the same bytes: no clock is asked, and no
font but those in `fonts/` is used. They have Latin, Greek and Cyrillic; a box stands for a character of other scripts.
"""

from __future__ import annotations

import json
import re
import unicodedata
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

from costplan.money import with_minor_digits
from costplan.quote.copies import Copy, CopyLine, customer_copy
from costplan.quote.records import KindMargin, Line, Party, Quote, Supplied
from costplan.quote.totals import Tax, Totals
from costplan.report.paper import Paper, paper_of
from costplan.report.quote.amounts import chance, share
from costplan.report.quote.wording import (
    CAUTIONS,
    DRAFT,
    FIXED,
    INVENTED,
    MARKUP,
    SUPPLIED,
    TAX_DUTY,
    Labelled,
    asked_for,
    basis_of,
    core_of,
    day_of,
    days_at_work,
    days_before,
    name_of,
    percent_of,
    plain_number,
    ready_of,
    settled,
    tax_notes_of,
    whose_word,
    with_part,
)
from costplan.report.tables import Table, days_old, money, plural

if TYPE_CHECKING:
    import typst

Content: TypeAlias = dict[str, Any]

HERE = Path(__file__).parent
#: A run of characters without a space that may be wider than its column, and so must have places to break it.
LONG_WORD = re.compile(r"[^ ]{16,}")


def customer_pdf(copy: Copy, paper: Paper | None = None) -> bytes:
    """The customer's document, unless a paper is named on US letter for USD and CAD, whose countries print on that, and
    on A4 for all other currencies.
    """
    return _pdf("customer.typ", {"paper": paper or paper_of(copy.currency), **_customer(copy)})


def shop_pdf(quote: Quote, paper: Paper | None = None) -> bytes:
    """The shop's own sheet, with supplier, cost, margin and the reason of each line; paper as for the customer."""
    return _pdf("shop.typ", {"paper": paper or paper_of(quote.currency), **_shop(quote)})


def _pdf(layout: str, content: Content) -> bytes:
    """The document by PDF/UA-1, the standard for those to whom it is read out. Where the font lacks a character the
    standard is not claimed: it has no place for the box that is set then.
    """
    import typst

    data = json.dumps(_printable(content))
    try:
        return _compiled(layout, data, "ua-1")
    except typst.TypstError:
        return _compiled(layout, data)


def _compiled(layout: str, data: str, *standards: typst.PDFStandard) -> bytes:
    import typst

    return typst.compile(
        HERE / "layout" / layout,
        root=HERE / "layout",
        font_paths=_fonts(),
        sys_inputs={"data": data},
        format="pdf",
        pdf_standards=list(standards),
    )


@cache
def _fonts() -> typst.Fonts:
    """Our own fonts and none else, neither the system's nor those that typst carries."""
    import typst

    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[HERE.parent / "fonts"])


# What stands on both documents


def _head(copy: Copy, heading: str, title: str) -> Content:
    """Who quotes what to whom. `title` and author are all that the file itself says about its content."""
    marks = ((copy.revision == 0, DRAFT), (copy.invented, INVENTED))
    return {
        "title": title,
        "author": copy.shop.name,
        "heading": heading,
        "name": name_of(copy),
        "head": cut(f"{heading} {name_of(copy)}", 60),
        "basis": basis_of(copy, ", see below"),
        "marks": [mark for holds, mark in marks if holds],
        "shop": _party(copy.shop),
        "customer": _party(copy.customer),
        "subject": copy.title,
        "currency": f"All amounts in {copy.currency}",
        "cautions": CAUTIONS,
        "tax_duty": TAX_DUTY,
    }


def _party(party: Party) -> Content:
    return {"name": party.name, "lines": party.lines}


def _facts(copy: Copy) -> list[Labelled]:
    revision = f"{copy.revision}: {copy.reason}" if copy.reason else str(copy.revision)
    return [
        ("Number", copy.number),
        ("Revision", revision if copy.revision else "none yet"),
        ("Date", day_of(copy.on)),
        ("Valid until", day_of(copy.valid_until)),
    ]


def _totals(copy: Copy) -> Content:
    """The totals from the sum of lines to the balance: what leads to the total, the total, and how it is paid."""
    return {
        "to_total": list(_to_total(copy)),
        "total": ("Total with tax", _with_code(copy.totals.gross, copy.currency)),
        "of_it": list(_of_total(copy)),
    }


def _to_total(copy: Copy) -> Iterator[Labelled]:
    totals, currency = copy.totals, copy.currency
    yield "Sum of lines", amount(totals.lines, currency)
    if totals.allowances:
        yield "Discount on the whole", amount(-totals.allowances, currency)
    if totals.charges:
        yield "Charges on the whole", amount(totals.charges, currency)
    yield "Net, before tax", amount(totals.net, currency)
    for group in totals.groups:
        notes = tax_notes_of(copy, group.tax)
        tax = f"Tax {percent_of(group.tax)} of {amount(group.taxable, currency)}, code {group.tax.code}"
        yield f"{tax}: {notes}" if notes else tax, amount(group.amount, currency)


def _of_total(copy: Copy) -> Iterator[Labelled]:
    currency = copy.currency
    if copy.core:
        yield core_of(copy), amount(copy.core, currency)
    yield from _settled(copy.totals, currency)
    yield "Deposit with the order", amount(copy.deposit, currency)
    yield "Balance before the engine leaves", amount(copy.balance, currency)


def _settled(totals: Totals, currency: str) -> Iterator[Labelled]:
    """What was paid already and what is rounded away, where there is any, and then what is due."""
    found = settled(totals)
    yield from ((words, amount(value, currency)) for words, value in found)
    if found:
        yield "Due", amount(totals.due, currency)


def _supplied(supplied: Sequence[Supplied]) -> Content:
    """What goes in and is not sold; notes have a column only where there are any."""
    notes = any(one.note for one in supplied)
    header = ("Piece", "Whose", "Condition", *(["Note"] if notes else []))
    rows = tuple(
        (with_part(one.name, one.part), one.whose, one.condition, *([one.note] if notes else [])) for one in supplied
    )
    return asdict(Table(SUPPLIED, header, rows))


def _filled(*tables: Content) -> list[Content]:
    return [table for table in tables if table["rows"]]


# The customer's document


def _customer(copy: Copy) -> Content:
    return {
        **_head(copy, "Estimate" if copy.basis == "estimate" else "Quote", f"Quote {name_of(copy)}"),
        "facts": _facts(copy),
        "strip": list(_strip(copy)),
        "lines": _customer_lines(copy),
        "totals": _totals(copy),
        "tables": _filled(_supplied(copy.supplied), _tear_down(copy), _options(copy)),
        "passages": [passage for passage in _passages(copy) if passage[1]],
        "terms": [(term.heading, term.says) for term in copy.terms],
        "sign": bool(copy.revision),
    }


def _strip(copy: Copy) -> Iterator[tuple[str, str, str]]:
    """What a reader looks for first: the total, what tear-down may make of it, the deposit, the day."""
    yield "Total with tax", _with_code(copy.totals.gross, copy.currency), ""
    if _may_change(copy):
        worst = f"at the worst {amount(copy.worst, copy.currency)}"
        yield "Expected after tear-down", _with_code(copy.expected, copy.currency), worst
    yield "Deposit with the order", _with_code(copy.deposit, copy.currency), ""
    yield "Ready by", day_of(copy.ready), f"if ordered on {day_of(copy.on)}"


def _may_change(copy: Copy) -> bool:
    return copy.basis == "estimate" and bool(copy.allowances)


def _customer_lines(copy: Copy) -> Content:
    """The lines by heading; discounts have a column only where there are any."""
    discounts, taxes = any(line.discount for line in copy.lines), _tax_names(copy.totals)
    columns = ["Price", *(["Discount"] if discounts else []), "Tax", "Amount"]
    return {
        "columns": columns,
        "groups": [
            {
                "heading": cut(heading, 200),
                "rows": [_customer_line(line, copy.currency, taxes, discounts) for line in copy.under(heading)],
                "sum": amount(copy.sum_of(heading), copy.currency),
            }
            for heading in copy.headings
        ],
    }


def _customer_line(line: CopyLine, currency: str, taxes: Mapping[Tax, str], discounts: bool) -> Content:
    return {
        "name": line.name,
        "under": [text for text in (line.part, line.note) if text],
        "mark": "",
        "why": "",
        "quantity": plain_number(line.quantity),
        "unit": line.unit,
        "figures": [
            amount(line.price, currency),
            *([_discount(line.discount)] if discounts else []),
            taxes[line.tax],
            amount(line.net, currency),
        ],
    }


def _tear_down(copy: Copy) -> Content:
    """What tear-down may show; with a fixed price it is said without amounts, since the customer pays none of them."""
    title, currency = "What tear-down may show", copy.currency
    if not _may_change(copy):
        held = tuple((one.name, one.likely, one.worst) for one in copy.allowances)
        return asdict(Table(title, ("Of", "Likely way", "Dearest way"), held, note=FIXED))
    rows = tuple(
        (
            one.name,
            chance(one.chance),
            one.likely,
            signed(one.likely_more, currency),
            one.worst,
            signed(one.worst_more, currency),
        )
        for one in copy.allowances
    )
    header = ("Of", "Chance", "Likely way", "Adds, with tax", "Dearest way", "Adds, with tax")
    expected, worst = (_with_code(value, currency) for value in (copy.expected, copy.worst))
    note = f"Total with tax, expected with these: {expected}; at the worst: {worst}."
    return asdict(Table(title, header, rows, right=(1, 3, 5), note=note))


def _options(copy: Copy) -> Content:
    rows = tuple(
        (one.name, one.says, "included" if one.taken else signed(one.more, copy.currency)) for one in copy.options
    )
    return asdict(Table("Options", ("Option", "What it is", "Adds, with tax"), rows, right=(2,)))


def _passages(copy: Copy) -> Iterator[tuple[str, list[str]]]:
    """Short texts under a heading each, one without texts being left out."""
    yield "Days", [f"{ready_of(copy)}, the date of this quote."]
    owed = f"After tear-down {_with_code(copy.if_stopped, copy.currency)} is owed, before tax."
    yield "If the work stops", [owed] if copy.if_stopped else []
    yield "Not included", list(copy.excluded)
    yield "Notes", list(copy.notes)


# The shop's sheet


def _shop(quote: Quote) -> Content:
    copy = customer_copy(quote)
    return {
        **_head(copy, "Shop's sheet", f"Quote {name_of(copy)}, for the shop only"),
        "facts": [*_facts(copy), *asked_for(quote)],
        "margin": list(_margin(quote)),
        "markup": MARKUP,
        "kinds": _kinds(quote),
        "after": [_after(quote)] if quote.allowances else [],
        "old": _old(quote),
        "lines": _shop_lines(quote),
        "totals": _totals(copy),
        "tables": _filled(_shop_tear_down(quote), _shop_options(quote), _supplied(quote.supplied)),
        "schedule": list(_schedule(quote)),
        "assumed": quote.assumed,
    }


def _margin(quote: Quote) -> Iterator[Labelled]:
    """What the shop earns; margin, mark-up, target and floor stand apart, since they are easily mixed up."""
    found, currency = quote.margin, quote.currency
    yield "Net, without deposits on old pieces", amount(found.net, currency)
    yield "Cost", amount(found.cost, currency)
    yield "Earned", amount(found.earned, currency)
    yield "Margin, of the price", _share(found.margin)
    yield "Mark-up, on the cost", _share(found.markup)
    yield "Target margin", _share(found.target)
    yield "Floor: the net that has it", amount(found.floor, currency)
    side = "Below the floor by" if found.above_floor < 0 else "Above the floor by"
    yield side, amount(abs(found.above_floor), currency)


def _kinds(quote: Quote) -> Content:
    def row(one: KindMargin) -> tuple[str, ...]:
        figures = (amount(value, quote.currency) for value in (one.net, one.cost, one.earned))
        return (one.kind, *figures, _share(one.margin) if one.margin is not None else "")

    header = ("Kind", "Net", "Cost", "Earned", "Margin")
    return asdict(Table("By kind", header, tuple(map(row, quote.margin.by_kind)), right=(1, 2, 3, 4)))


def _after(quote: Quote) -> Content:
    """What tear-down may make of net and cost, and what is earned at the worst."""
    after, currency = quote.after, quote.currency
    rows = (
        ("expected", amount(after.expected_net, currency), amount(after.expected_cost, currency)),
        ("at the worst", amount(after.worst_net, currency), amount(after.worst_cost, currency)),
    )
    note = (
        f"Deposits on old pieces are in the net and not in the cost. Earned at the worst: "
        f"{amount(quote.left_at_worst, currency)}. Chance that all of it is needed: {chance(after.unlikely)}."
    )
    return asdict(Table("After tear-down", ("With what it may show", "Net", "Cost"), rows, right=(1, 2), note=note))


def _old(quote: Quote) -> str:
    names = ", ".join(f"{line.part or line.name} ({line.supplier})" for line in quote.stale)
    return f"{plural(len(quote.stale), 'old price')}, to be asked for anew: {names}." if names else ""


def _shop_lines(quote: Quote) -> Content:
    """The lines under the same headings and sums as the customer's."""
    taxes = _tax_names(quote.totals)
    return {
        "columns": ["Price", "Discount", "Tax", "Net", "Cost", "Earned", "Margin"],
        "groups": [
            {
                "heading": cut(heading, 200),
                "rows": [_shop_line(line, quote.currency, taxes) for line in quote.lines if line.heading == heading],
                "sum": amount(net, quote.currency),
            }
            for heading, net in quote.headings.items()
        ],
    }


def _shop_line(line: Line, currency: str, taxes: Mapping[Tax, str]) -> Content:
    return {
        "name": line.name,
        "under": [text for text in (line.part, line.supplier, line.kind, _left_over(line), _priced(line)) if text],
        "mark": "old price" if line.stale else "",
        "why": line.why,
        "quantity": plain_number(line.quantity),
        "unit": line.unit,
        "figures": [
            amount(line.price, currency),
            _discount(line.discount),
            taxes[line.tax],
            *(amount(value, currency) for value in (line.net, line.cost, line.earned)),
            "" if line.margin is None else _share(line.margin),
        ],
    }


def _left_over(line: Line) -> str:
    return f"{line.spare} left over" if line.spare else ""


def _priced(line: Line) -> str:
    """The day of a supplier's price and its age."""
    if line.priced is None:
        return ""
    days = line.price_age_days
    age = f"{plural(days, 'day')} old" if days is not None and days >= 0 else days_old(days)
    return f"price of {day_of(line.priced)}" + (f", {age}" if age else "")


def _shop_tear_down(quote: Quote) -> Content:
    rows = tuple(
        (
            with_part(one.name, one.part),
            chance(one.chance),
            whose_word(one),
            one.likely,
            *(amount(value, quote.currency) for value in (one.likely_more.net, one.likely_more.cost)),
            one.worst,
            *(amount(value, quote.currency) for value in (one.worst_more.net, one.worst_more.cost)),
        )
        for one in quote.allowances
    )
    header = ("Of", "Chance", "Whose word", "Likely way", "Net", "Cost", "Dearest way", "Net", "Cost")
    return asdict(Table("What tear-down may show", header, rows, right=(1, 4, 5, 7, 8)))


def _shop_options(quote: Quote) -> Content:
    rows = tuple(
        (
            one.name,
            one.says,
            "yes" if one.taken else "no",
            *(signed(value, quote.currency) for value in (one.more.net, one.more.gross, one.more.cost)),
        )
        for one in quote.options
    )
    return asdict(Table("Options", ("Option", "What it is", "Taken", "Net", "With tax", "Cost"), rows, right=(3, 4, 5)))


def _schedule(quote: Quote) -> Iterator[Labelled]:
    yield from days_before(quote.schedule)
    yield "Hours quoted", f"{plain_number(quote.hours)} h"
    yield from days_at_work(quote.schedule)
    yield "If the work stops after tear-down", f"{_with_code(quote.if_stopped, quote.currency)} owed, before tax"


# Figures and texts as they are shown


def amount(value: Decimal, currency: str) -> str:
    """An amount with the minor digits of its currency, its own if it has more, and a true minus.

    >>> amount(Decimal("-1234.5"), "USD"), amount(Decimal("0.0088"), "EUR"), amount(Decimal(1200), "JPY")
    ('−1,234.50', '0.0088', '1,200')
    """
    return money(with_minor_digits(value, currency)).replace("-", "−")


def signed(value: Decimal, currency: str) -> str:
    """
    >>> signed(Decimal(40), "USD"), signed(Decimal(-40), "USD"), signed(Decimal(0), "USD")
    ('+40.00', '−40.00', '0.00')
    """
    return f"+{amount(value, currency)}" if value > 0 else amount(value, currency)


def _with_code(value: Decimal, currency: str) -> str:
    return f"{currency} {amount(value, currency)}"


def _tax_names(totals: Totals) -> dict[Tax, str]:
    """How a line says its tax: by the percentage, with its code where several taxes share one."""
    shared = Counter(group.tax.percent for group in totals.groups)
    return {
        tax: f"{percent_of(tax)} {tax.code}" if shared[tax.percent] > 1 else percent_of(tax)
        for tax in (group.tax for group in totals.groups)
    }


def _discount(share: Decimal) -> str:
    return f"{plain_number(100 * share)} %" if share else ""


def _share(value: Decimal | None) -> str:
    return share(value).replace("-", "−")


def cut(text: str, most: int) -> str:
    """A text that must not fill a page, since it stands on each, at its length or shortened.

    >>> cut("Parts", 5), cut("Machine work", 5)
    ('Parts', 'Mach…')
    """
    return text if len(text) <= most else f"{text[: most - 1]}…"


def _printable(value: Any, key: str = "") -> Any:
    """All texts of a document as they can be set, those for its metadata without places to break them."""
    if isinstance(value, str):
        return visible(value) if key in ("title", "author") else breakable(visible(value))
    if isinstance(value, Mapping):
        return {name: _printable(inner, name) for name, inner in value.items()}
    return [_printable(inner) for inner in value] if isinstance(value, list | tuple) else value


def visible(text: str) -> str:
    """A text in which breaks of lines are spaces, and what would steer the setting of it unseen is shown as a mark.

    >>> visible("a\\tb\\u202ec\\x00")
    'a b\ufffdc\ufffd'
    """
    return "".join(" " if sign.isspace() else "\ufffd" if _steers(sign) else sign for sign in text)


def _steers(sign: str) -> bool:
    """Whether a character is a control, a format mark, half of a pair, or no character at all."""
    return unicodedata.category(sign) in ("Cc", "Cf", "Cs", "Co", "Cn")


def breakable(text: str) -> str:
    """A text whose longest runs have places to break them; the layout sets these as no character.

    >>> breakable("x" * 30).split("\u200b"), breakable("short words only")
    (['xxxxxxxx', 'xxxxxxxx', 'xxxxxxxx', 'xxxxxx'], 'short words only')
    """
    return LONG_WORD.sub(lambda found: "\u200b".join(re.findall(r".{1,8}", found[0])), text)
