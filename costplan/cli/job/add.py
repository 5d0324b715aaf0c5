"""`costplan job add`"""

from __future__ import annotations

from typing import Annotated

import typer

from costplan.cli.common import Folder, Json, added_or_stop, answer, cell, stop, today


def add(
    folder: Folder,
    what: Annotated[
        str,
        typer.Argument(
            metavar="WHAT",
            help="accepted, received, stopped, found, agreed, refused, worked, used, bought, paid, returned, finished "
            "or delivered.",
            show_default=False,
        ),
    ],
    job: Annotated[str, cell("--job", "NAME", "The request it is the job of, or an older job.")],
    date: Annotated[str, cell("--date", "DATE", "The day it happened, 2027-05-14; today if not given.")] = "",
    revision: Annotated[str, cell("--revision", "NUMBER", "The revision that was accepted or agreed.")] = "",
    slot: Annotated[str, cell("--slot", "NAMES", "The slots received or found bad, blanks between.")] = "",
    part: Annotated[str, cell("--part", "NAME", "The part or kit that was used, or whose old piece returned.")] = "",
    work: Annotated[str, cell("--work", "NAME", "The row of work.csv, or the key of a line: freight.")] = "",
    quantity: Annotated[str, cell("--quantity", "NUMBER", "Packs, kits or pieces used; pieces worked on.")] = "",
    hours: Annotated[str, cell("--hours", "NUMBER", "Hours worked.")] = "",
    cost: Annotated[str, cell("--cost", "SUM", "What it cost the shop in all, without tax.")] = "",
    amount: Annotated[str, cell("--amount", "SUM", "Paid by the customer, or given back for an old piece.")] = "",
    by: Annotated[str, cell("--by", "NAME", "Who signed, worked or paid.")] = "",
    note: Annotated[str, cell("--note", "TEXT", "Condition, finding, what was bought; anything worth keeping.")] = "",
    as_json: Json = False,
) -> None:
    """Writes one row behind jobs.csv, or makes it: whole or not at all. The file keeps its columns, delimiter and
    order; nothing is written if any row of it would be wrong then. --json gives the row as it was read."""
    from costplan.quote import open_desk
    from costplan.quote.job import add_row
    from costplan.report.quote.job import added_page

    given = {
        "job": job,
        "date": date or str(today()),
        "what": what,
        "revision": revision,
        "slot": slot,
        "part": part,
        "work": work,
        "quantity": quantity,
        "hours": hours,
        "cost": cost,
        "amount": amount,
        "by": by,
        "note": note,
    }
    desk, problems = open_desk(folder)
    if desk is None:
        stop(problems, as_json=as_json, undone="written")
    outcome = add_row(desk, {name: text for name, text in given.items() if text})
    added = added_or_stop(outcome, as_json=as_json)
    currency = desk.scenario.header.currency
    answer(
        "job add",
        {"scenario": desk.scenario.header.title, "at": added.row.place, "request": added.job.request, "row": added.row},
        None,
        lambda: added_page(added, currency),
        as_json=as_json,
    )
