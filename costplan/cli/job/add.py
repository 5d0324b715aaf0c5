"""`costplan job add`"""

from __future__ import annotations

from typing import Annotated

import typer

from costplan.cli.common import Folder, Json, answer, read_day, stop


def _cell(flag: str, value: str, what: str) -> typer.models.OptionInfo:
    """An option that fills the column of its name."""
    option: typer.models.OptionInfo = typer.Option(flag, metavar=value, help=what, show_default=False)
    return option


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
    job: Annotated[str, _cell("--job", "NAME", "The request it is the job of, or an older job.")],
    date: Annotated[str, _cell("--date", "DATE", "The day it happened, 2027-05-14; today if not given.")] = "",
    revision: Annotated[str, _cell("--revision", "NUMBER", "The revision that was accepted or agreed.")] = "",
    slot: Annotated[str, _cell("--slot", "NAMES", "The slots received or found bad, blanks between.")] = "",
    part: Annotated[str, _cell("--part", "NAME", "The part or kit that was used, or whose old piece returned.")] = "",
    work: Annotated[str, _cell("--work", "NAME", "The row of work.csv, or the key of a line: freight.")] = "",
    quantity: Annotated[str, _cell("--quantity", "NUMBER", "Packs, kits or pieces used; pieces worked on.")] = "",
    hours: Annotated[str, _cell("--hours", "NUMBER", "Hours worked.")] = "",
    cost: Annotated[str, _cell("--cost", "SUM", "What it cost the shop in all, without tax.")] = "",
    amount: Annotated[str, _cell("--amount", "SUM", "Paid by the customer, or given back for an old piece.")] = "",
    by: Annotated[str, _cell("--by", "NAME", "Who signed, worked or paid.")] = "",
    note: Annotated[str, _cell("--note", "TEXT", "Condition, finding, what was bought; anything worth keeping.")] = "",
    as_json: Json = False,
) -> None:
    """Writes one row behind jobs.csv, or makes it: whole or not at all. The file keeps its columns, delimiter and
    order; nothing is written if any row of it would be wrong then. --json gives the row as it was read."""
    from costplan.quote import open_desk
    from costplan.quote.job import add_row
    from costplan.report.quote.job import added_page

    given = {
        "job": job,
        "date": date or str(read_day("")[0]),
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
    added, problems, refusal = add_row(desk, {name: cell for name, cell in given.items() if cell})
    if problems:
        stop(problems, as_json=as_json, undone="written")
    if added is None:
        typer.echo(refusal, err=True)
        raise typer.Exit(2)
    currency = desk.scenario.header.currency
    answer(
        "job add",
        {"scenario": desk.scenario.header.title, "at": added.row.place, "request": added.job.request, "row": added.row},
        None,
        lambda: added_page(added, currency),
        as_json=as_json,
    )
