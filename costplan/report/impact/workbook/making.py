"""The workbook of a study: which sheets it has, and what its first one says."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from costplan.impact.figures import Impact
from costplan.impact.flipping import Flips
from costplan.report.impact.method import passages
from costplan.report.impact.overview import opening_lines, verdict
from costplan.report.impact.words import CAUTIONS
from costplan.report.impact.workbook.answers import (
    write_answers,
    write_drivers,
    write_lines,
    write_put_out,
    write_supply,
)
from costplan.report.impact.workbook.groups import groups_sheet, write_groups
from costplan.report.impact.workbook.inputs import write_inputs
from costplan.report.impact.workbook.overview import overview_sheet, write_overview
from costplan.report.impact.workbook.payback import payback_sheet, write_payback
from costplan.report.impact.workbook.ways import write_flips, write_officials, write_phases, write_sure
from costplan.report.tables import plural
from costplan.report.workbook.about import BLUE, about_sheet, write_about
from costplan.report.workbook.sheets import Book, Column

LIVE = (
    "The rates of discount (sheet Inputs), the number of entrants of each group, what one of them pays once, in each "
    "year, and what is left (sheet Groups) can be changed: first year, later years, all years, payback and the field's "
    "totals follow. A group of another number is counted as so many of its average entrant. Errors, losers, ranges, "
    "phases, supply and what rests on other assumptions stand as studied; for those the study is made anew."
)
#: What each sheet holds, by its name.
HOLDS = {
    "Side by side": "what each change costs the whole field, and nothing done",
    "Groups": "by entrant of each group: once, in each year, over the years; and the field's totals",
    "Payback": "what was paid by the end of each year, worth on opening day, and when it has come back",
    "Answers": "how each group's parts stand to the book, and the cheapest way to meet the changed one",
    "Paid once": "line by line, with the file and row",
    "A year": "by slot, by level opened and all else, before and after",
    "How it may come": "at once, as written, a season later, as old parts wear out",
    "How sure": "ranges of the field's cost over the years",
    "Put out": "parts that the change puts out, what is left of them and what they bring",
    "Supply": "what must be bought by the first round, and whether it is there",
    "Officials": "what it takes to enforce it",
    "What turns it": "which assumption, a fifth wrong, turns the answer about",
    "Inputs": "rates, figures of the study, what groups told; whose word each is, guesses marked",
    "Method": "need, baseline, method, data, limits",
}


def impact_xlsx(found: Impact, flips: Sequence[Flips] = ()) -> bytes:
    """The workbook of a study."""
    book = Book(f"Impact of rule changes, {found.title}", found.currency, found.on)
    about = about_sheet(book)
    overview = overview_sheet(book, found)
    groups, payback = groups_sheet(book, found), payback_sheet(book, found)
    write_answers(book, found)
    write_lines(book, found)
    write_drivers(book, found)
    write_phases(book, found)
    write_sure(book, found)
    write_put_out(book, found)
    write_supply(book, found)
    write_officials(book, found)
    write_flips(book, flips)
    rates = write_inputs(book, found)
    _write_method(book, found)
    places = write_groups(groups, found, rates, payback)
    write_payback(payback, found, rates, groups, places)
    write_overview(overview, found, groups, payback, places)
    write_about(about, _about(found, book.names), invented=found.invented, cautions=CAUTIONS)
    return book.closed()


def _write_method(book: Book, found: Impact) -> None:
    """What published practice asks for beside figures."""
    sheet = book.table("Method", "need, method, data, limits", [Column("label", "About", 24), Column("says", "", 94)])
    for passage in passages(found):
        for number, (_, line) in enumerate(passage.lines):
            sheet.put({"label": "" if number else passage.title, "says": line})


def _about(found: Impact, sheets: Sequence[str]) -> Iterator[tuple[str, str]]:
    """What the workbook is, what it found, what its sheets hold."""
    yield "What it is", f"What rule changes cost a field of entrants. All money in {found.currency}."
    yield "Day of orders", f"{found.on}; the first round after it is on {found.first_round}."
    for one in found.changes:
        yield one.name, verdict(found, one)
    for line in opening_lines(found):
        yield "How to read it", line
    guesses = plural(len(found.assumed), "input")
    yield "Guesses", f"{guesses} that nobody stands for: {'; '.join(found.assumed)}." if found.assumed else ""
    yield "What is live", f"{BLUE} {LIVE}"
    for name in sheets:
        if name in HOLDS:
            yield f"Sheet {name}", HOLDS[name]
