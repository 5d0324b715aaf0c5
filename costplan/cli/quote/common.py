"""What the commands of `costplan quote` share: the desk, a request priced on a day, and its documents."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from costplan.cli.common import read_day, stop, stop_if_refused, write_workbook

if TYPE_CHECKING:
    from costplan.problems import Place
    from costplan.quote import Asking, Desk, Quote
    from costplan.quote.revisions import Revision

Name = Annotated[
    str,
    typer.Argument(metavar="REQUEST", help="NAME of a file quote-NAME.toml of the scenario.", show_default=False),
]
OnQuote = Annotated[
    str,
    typer.Option(
        "--on",
        metavar="DATE",
        help="The day of the quote and of its prices; the request's own date if not given, or today.",
        show_default=False,
    ),
]
Bad = Annotated[
    list[str],
    typer.Option(
        "--bad",
        metavar="SLOT",
        help="What if this slot turns out to be bad: its next service step, SLOT=STEP another, SLOT=new a new part. "
        "May be repeated.",
        show_default=False,
    ),
]
Keep = Annotated[
    bool,
    typer.Option("--keep-prices", help="Lines of the last saved revision keep their price, as after tear-down."),
]
TornDown = Annotated[
    bool, typer.Option("--torn-down", help="The engine is torn down and all of it seen: nothing is left to chance.")
]
Customer = Annotated[
    bool, typer.Option("--customer", help="The customer's copy: without cost, margin, suppliers and reasons.")
]
Out = Annotated[
    Path | None,
    typer.Option(
        "--out",
        metavar="FOLDER",
        help="Also write the documents there, new files: PDF and workbook, the customer's and the shop's.",
        show_default=False,
    ),
]
Number = Annotated[
    int | None,
    typer.Option("--revision", min=1, help="Which saved revision; the last if not given.", show_default=False),
]


def open_desk_or_stop(folder: Path, sets: Iterable[str], *, as_json: bool, beside: Iterable[str] = ()) -> Desk:
    """The quoting desk of a scenario, or the end of the command with all problems."""
    from costplan.quote import open_desk

    desk, problems = open_desk(folder, sets, beside)
    if desk is None:
        stop(problems, as_json=as_json)
    return desk


def asking_of(
    desk: Desk,
    name: str,
    on: str,
    bad: Iterable[str] = (),
    *,
    keep_prices: bool = False,
    torn_down: bool = False,
    as_json: bool,
) -> Asking:
    """A request on a day with what was found bad, at the prices of its last revision or of the day; or the end."""
    from dataclasses import replace

    asked, problems = desk.request(name)
    day, faults = read_day(on)
    if asked is None or faults:
        stop((*faults, *problems), as_json=as_json)
    day = day if on else asked.head.date or day
    found = tuple(bad)
    know_slots(desk, found, as_json=as_json)
    asking, problems = desk.asking(asked, day)
    if asking is None:
        stop(problems, as_json=as_json)
    held = saved_revision(desk.folder, name, None, as_json=as_json).quote.lines if keep_prices else ()
    return replace(asking, bad=found, torn_down=torn_down, held={line.key: line for line in held})


def know_slots(desk: Desk, bad: tuple[str, ...], place: Place | None = None, *, as_json: bool) -> None:
    """Ends the command where a slot that is bad is none; `place`: where it is named, the option if not given."""
    from costplan.problems import Place, Problem, nearest
    from costplan.quote.request import bad_slot

    known, where = desk.names.slots, place or Place("--bad")
    wrong = [word for word in bad if bad_slot(word)[0] not in known]
    if wrong:
        words = [(word, nearest(bad_slot(word)[0], known)) for word in wrong]
        stop(
            [Problem("QUO005", where, "", word, "no such slot:", near) for word, near in words],
            as_json=as_json,
        )


def quote_or_stop(asking: Asking, revision: int = 0, reason: str = "", *, as_json: bool) -> Quote:
    """The quote of a request, or the end of the command."""
    from costplan.quote import make_quote

    quote, problems = make_quote(asking, revision, reason)
    if quote is None:
        stop(problems, as_json=as_json)
    return quote


def saved_revision(folder: Path, name: str, number: int | None, *, as_json: bool) -> Revision:
    """A saved revision, the last where no number is given, or the end of the command."""
    from costplan.quote.revisions import read_revision

    revision, problems = read_revision(folder, name, number)
    if revision is None:
        stop(problems, as_json=as_json)
    return revision


def show_documents(quote: Quote, out: Path | None, xlsx: Path | None = None, *, customer: bool = False) -> None:
    """Writes the documents where that is asked for, and says which, beside the answer.

    `xlsx`: the file of one workbook alone, the shop's or, of the copy alone, the `customer`'s.
    """
    write_workbook(xlsx, lambda: _workbook(quote, customer=customer))
    if out is not None:
        for name in write_documents(quote, out):
            typer.echo(f"Written: {out / name}", err=True)


def _workbook(quote: Quote, *, customer: bool) -> bytes:
    """The shop's workbook, or the customer's, which knows no cost."""
    from costplan.quote import customer_copy
    from costplan.report.quote.workbook import customer_xlsx, shop_xlsx

    return customer_xlsx(customer_copy(quote)) if customer else shop_xlsx(quote)


def write_documents(quote: Quote, folder: Path) -> tuple[str, ...]:
    """Writes the four documents of a quote into a folder, all of them or none; their names."""
    from costplan.quote import customer_copy
    from costplan.report.data import write_all
    from costplan.report.quote.printing import customer_pdf, shop_pdf
    from costplan.report.quote.workbook import customer_xlsx, shop_xlsx

    copy = customer_copy(quote)
    stem = f"{file_name(quote.number)}-{f'r{quote.revision}' if quote.revision else 'draft'}"
    files = {
        f"{stem}-customer.pdf": customer_pdf(copy),
        f"{stem}-customer.xlsx": customer_xlsx(copy),
        f"{stem}-shop.pdf": shop_pdf(quote),
        f"{stem}-shop.xlsx": shop_xlsx(quote),
    }
    stop_if_refused(write_all(folder, files))
    return tuple(files)


def file_name(number: str) -> str:
    """A quote's number as the beginning of a file's name.

    >>> file_name("Q 27/014")
    'Q-27-014'
    """
    words = "".join(char if char.isalnum() or char in "-_." else "-" for char in number).strip(".-")
    return words or "quote"


def words_or_stop(text: str, option: str, *, as_json: bool) -> str:
    """The words of an option on one line, or the end of the command where there are none or some steer a terminal."""
    from pydantic_core import PydanticCustomError

    from costplan.problems import Place, Problem
    from costplan.reading.fields import to_name

    try:
        return to_name(text)
    except PydanticCustomError as error:
        context = error.context or {}
        stop([Problem(context["code"], Place(option), "", text, context["what"], context["advice"])], as_json=as_json)
