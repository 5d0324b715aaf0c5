"""What the documents of a quote share, printed or as workbooks: words, and how numbers and days are written."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from typing import TypeAlias

from costplan.quote.copies import Copy
from costplan.quote.records import Allowance, Quote, Schedule
from costplan.quote.totals import Tax, Totals
from costplan.report.tables import plural

#: A text under its label.
Labelled: TypeAlias = tuple[str, str]

DRAFT = "Draft, not yet issued"
INVENTED = "All data is invented"
FOR_THE_SHOP = "For the shop only: it shows cost and margin."
FIXED = "Fixed price: what tear-down shows does not change it."
CHANCES = "Chances of what tear-down may show are estimates."
CAUTIONS = (
    "Racing parts wear, break and can hurt people. The lives behind this quote are assumptions and no warranty.",
    "Meeting a parts list is not passing inspection: officials decide from the book in force that day.",
    CHANCES,
)
TAX_DUTY = "Tax codes, rates and wording are the shop's own duty."
MARKUP = "Margin is a share of the price, mark-up a share of the cost: a mark-up of 25 % is a margin of 20 %."
SUPPLIED = "Pieces that go in and are not sold"


def name_of(copy: Copy) -> str:
    """The number of a quote with its revision."""
    return f"{copy.number}, revision {copy.revision}" if copy.revision else f"{copy.number}, draft"


def basis_of(copy: Copy, where: str = "") -> str:
    """What the price rests on; `where` says where to find what tear-down may show, which is named if there is any."""
    if copy.basis == "fixed":
        return FIXED
    return f"Estimate: tear-down may change it{where}." if copy.allowances else "Estimate: the price may still change."


def ready_of(copy: Copy) -> str:
    """By when parts and engine are there, and on what that rests: a sentence without its end."""
    ordered = f"if it is ordered on {day_of(copy.on)}"
    return f"Parts here by {day_of(copy.parts_here)}, ready by {day_of(copy.ready)}, {ordered}"


def core_of(copy: Copy) -> str:
    """What of the total comes back, and by which day the old pieces must."""
    by = f" by {day_of(copy.core_by)}" if copy.core_by else ""
    return f"of which deposits on old pieces, refunded if these are back unbroken{by}"


def tax_notes_of(copy: Copy, tax: Tax) -> str:
    """The notes on a tax; '' for none."""
    return "; ".join(note for noted, note in copy.tax_notes if noted == tax and note)


def settled(totals: Totals) -> tuple[tuple[str, Decimal], ...]:
    """What was paid already and what is rounded away, as far as there is any."""
    found = (("Paid", -totals.paid), ("Rounding", totals.rounding))
    return tuple((words, amount) for words, amount in found if amount)


def asked_for(quote: Quote) -> Iterator[Labelled]:
    """What is asked for, as far as it is named."""
    named = (("Request", quote.request), ("Work", quote.of), ("Engine", quote.engine), ("Level", quote.level))
    yield from ((label, text) for label, text in named if text)


def days_before(days: Schedule) -> Iterator[Labelled]:
    """The days up to the one on which the work begins."""
    waited = f", waiting longest for {days.longest}" if days.longest else ""
    yield "If ordered on", day_of(days.ordered)
    yield "Parts here", f"{day_of(days.parts_here)}{waited}"
    yield "Bench free", day_of(days.bench_free)
    yield "Work begins", day_of(days.begins)


def days_at_work(days: Schedule) -> Iterator[Labelled]:
    """How long the work takes, and when it is done."""
    yield "On the bench", f"{plain_number(days.hours)} h in {plural(days.days, 'working day')}"
    yield "Ready", day_of(days.ready)


def whose_word(one: Allowance) -> str:
    """Where the chance of an allowance comes from."""
    return f"{one.chance_why} (assumed)" if one.assumed else one.chance_why


def with_part(name: str, part: str) -> str:
    """
    >>> with_part("Crank", "C-9"), with_part("Crank", "")
    ('Crank (C-9)', 'Crank')
    """
    return f"{name} ({part})" if part else name


def percent_of(tax: Tax) -> str:
    """
    >>> percent_of(Tax("S", Decimal("6.50")))
    '6.5 %'
    """
    return f"{plain_number(tax.percent)} %"


def plain_number(value: Decimal) -> str:
    """A quantity without trailing zeros.

    >>> plain_number(Decimal("2.50")), plain_number(Decimal("1200")), plain_number(Decimal("-1"))
    ('2.5', '1,200', '−1')
    """
    return f"{value.normalize():,f}".replace("-", "−")


def day_of(value: date) -> str:
    """
    >>> day_of(date(2027, 2, 1))
    '1 February 2027'
    """
    return f"{value.day} {value:%B %Y}"
