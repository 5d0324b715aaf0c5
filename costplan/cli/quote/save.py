"""`costplan quote save`"""

from __future__ import annotations

from typing import Annotated

import typer

from costplan.cli.common import Folder, Json, Sets, answer, stop_if_refused
from costplan.cli.quote.common import (
    Bad,
    Keep,
    Name,
    OnQuote,
    TornDown,
    asking_of,
    open_desk_or_stop,
    quote_or_stop,
    words_or_stop,
)


def save(
    folder: Folder,
    name: Name,
    reason: Annotated[
        str,
        typer.Option("--reason", metavar="TEXT", help="Why there is this revision: as asked, after tear-down ..."),
    ],
    bad: Bad = [],  # noqa: B006
    torn_down: TornDown = False,
    keep_prices: Keep = False,
    on: OnQuote = "",
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
) -> None:
    """Prices a request and keeps it as its next revision, in SCENARIO/quotes: a new file, whole or not at all. Earlier
    revisions stay as they are."""
    from costplan.quote.revisions import FORM, Revision, file_of, next_number, to_text
    from costplan.report.data import write_all
    from costplan.report.quote.saved import saved_page

    words = words_or_stop(reason, "--reason", as_json=as_json)
    desk = open_desk_or_stop(folder, sets, as_json=as_json)
    asking = asking_of(desk, name, on, bad, keep_prices=keep_prices, torn_down=torn_down, as_json=as_json)
    number = next_number(folder, name)
    quote = quote_or_stop(asking, number, words, as_json=as_json)
    path = file_of(folder, name, number)
    text = to_text(Revision(FORM, quote, asking.asked, asking.bad, asking.torn_down))
    stop_if_refused(write_all(path.parent, {path.name: text.encode()}))
    answer(
        "quote saved", {"file": str(path), "quote": quote}, None, lambda: saved_page(quote, str(path)), as_json=as_json
    )
