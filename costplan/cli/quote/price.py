"""`costplan quote price`"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from costplan.cli.common import Csv, Folder, Json, Sets, Workbook, answer, know_workbook, read_number, stop
from costplan.cli.quote.common import (
    Bad,
    Customer,
    Keep,
    Name,
    OnQuote,
    Out,
    TornDown,
    asking_of,
    open_desk_or_stop,
    quote_or_stop,
    show_documents,
)

if TYPE_CHECKING:
    from decimal import Decimal

    from costplan.quote import Asking, Quote
    from costplan.quote.whatif import IfBad, Risen


def price(
    folder: Folder,
    name: Name,
    bad: Bad = [],  # noqa: B006
    torn_down: TornDown = False,
    keep_prices: Keep = False,
    rise: Annotated[
        str,
        typer.Option(
            "--rise", metavar="SHARE", help="What if suppliers' prices rise before the order: 6 %.", show_default=False
        ),
    ] = "",
    customer: Customer = False,
    why: Annotated[
        bool, typer.Option("--why", help="Also why each line is there, and where its price is from.")
    ] = False,
    out: Out = None,
    xlsx: Workbook = None,
    on: OnQuote = "",
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """A request priced on a day: lines with tax, what tear-down may add, options, deposit and days; cost, margin, the
    floor. --bad prices what is found bad, --rise dearer parts. Nothing is saved; --csv gives the lines, --xlsx the
    shop's workbook, or the customer's with --customer."""
    know_workbook(xlsx, as_json=as_json)
    desk = open_desk_or_stop(folder, sets, as_json=as_json)
    share = _share(rise, as_json=as_json)
    asking = asking_of(desk, name, on, bad, keep_prices=keep_prices, torn_down=torn_down, as_json=as_json)
    quote = quote_or_stop(asking, as_json=as_json)
    if customer:
        _show_copy(quote, as_json=as_json, as_csv=as_csv)
    else:
        _show_all(asking, quote, share, why=why, as_json=as_json, as_csv=as_csv)
    show_documents(quote, out, xlsx, customer=customer)


def _share(text: str, *, as_json: bool) -> Decimal | None:
    """The share of --rise, None where it is not given."""
    from costplan.quote.fields import to_rise

    return read_number(text, "--rise", as_json=as_json, reader=to_rise) if text else None


def _show_copy(quote: Quote, *, as_json: bool, as_csv: bool) -> None:
    from costplan.quote import customer_copy
    from costplan.report.quote.price import copy_csv, copy_page

    copy = customer_copy(quote)
    answer(
        "quote copy",
        {"copy": copy},
        lambda: copy_csv(copy),
        lambda: copy_page(copy),
        as_json=as_json,
        as_csv=as_csv,
    )


def _show_all(asking: Asking, quote: Quote, share: Decimal | None, *, why: bool, as_json: bool, as_csv: bool) -> None:
    from costplan.report.quote.price import bad_tables, lines_csv, quote_page, risen_table

    found = _if_bad(asking, quote, as_json=as_json)
    risen = _if_risen(asking, quote, share, as_json=as_json)
    extra = (*(bad_tables(found) if found else ()), *((risen_table(quote, risen),) if risen else ()))
    answer(
        "quote",
        {"quote": quote, "if_bad": found, "if_prices_rise": risen},
        lambda: lines_csv(quote),
        lambda: quote_page(quote, extra, why=why),
        as_json=as_json,
        as_csv=as_csv,
    )


def _if_bad(asking: Asking, quote: Quote, *, as_json: bool) -> IfBad | None:
    """What the slots of --bad change."""
    if not asking.bad:
        return None
    from costplan.quote.whatif import if_bad

    found, problems = if_bad(asking, quote)
    if problems:
        stop(problems, as_json=as_json)
    return found


def _if_risen(asking: Asking, quote: Quote, share: Decimal | None, *, as_json: bool) -> Risen | None:
    if share is None:
        return None
    from costplan.quote.whatif import if_prices_rise

    risen, problems = if_prices_rise(asking, quote, share)
    if problems:
        stop(problems, as_json=as_json)
    return risen
