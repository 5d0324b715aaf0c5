"""`costplan quote show`"""

from __future__ import annotations

from typing import Annotated

import typer

from costplan.cli.common import Csv, Folder, Json, Workbook, answer, know_workbook
from costplan.cli.quote.common import Customer, Name, Number, Out, saved_revision, show_documents


def show(
    folder: Folder,
    name: Name,
    revision: Number = None,
    customer: Customer = False,
    why: Annotated[
        bool, typer.Option("--why", help="Also why each line is there, and where its price is from.")
    ] = False,
    out: Out = None,
    xlsx: Workbook = None,
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """A saved revision as it was given, whatever catalog and shop book say since. --csv gives the lines."""
    from costplan.quote import customer_copy
    from costplan.report.quote.price import copy_csv, copy_page, lines_csv, quote_page

    know_workbook(xlsx, as_json=as_json)
    quote = saved_revision(folder, name, revision, as_json=as_json).quote
    copy = customer_copy(quote)
    if customer:
        page, table = (lambda: copy_page(copy)), (lambda: copy_csv(copy))
        answer("quote copy", {"copy": copy}, table, page, as_json=as_json, as_csv=as_csv)
    else:
        page, table = (lambda: quote_page(quote, why=why)), (lambda: lines_csv(quote))
        answer("quote", {"quote": quote}, table, page, as_json=as_json, as_csv=as_csv)
    show_documents(quote, out, xlsx, customer=customer)
