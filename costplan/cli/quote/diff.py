"""`costplan quote diff`"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from costplan.cli.common import Csv, Folder, Json, answer, stop
from costplan.cli.quote.common import Name, saved_revision

if TYPE_CHECKING:
    from costplan.problems import Problem


def diff(
    folder: Folder,
    name: Name,
    numbers: Annotated[
        list[int], typer.Argument(metavar="[FROM TO]", min=1, help="Two revisions; the last two if not given.")
    ] = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """Two saved revisions line by line: what was added, taken out or moved, in amount, price and tax, and what it adds
    up to. --csv gives the lines that moved."""
    from costplan.quote.revisions import difference, revisions_in
    from costplan.reading import is_folder
    from costplan.report.quote.difference import difference_csv, difference_page

    asked = numbers or list(revisions_in(folder, name))[-2:]
    if len(asked) != 2:
        there, problems = is_folder(folder)
        stop([_not_two(folder, name, numbers)] if there else problems, as_json=as_json)
    before, after = (saved_revision(folder, name, number, as_json=as_json).quote for number in asked)
    found = difference(before, after)
    title = f"{after.number}: revision {before.revision} against {after.revision}"
    answer(
        "quote difference",
        {"difference": found},
        lambda: difference_csv(found),
        lambda: difference_page(found, title),
        as_json=as_json,
        as_csv=as_csv,
    )


def _not_two(folder: Path, name: str, numbers: list[int]) -> Problem:
    """What is asked too little or too much."""
    from costplan.problems import Place, Problem
    from costplan.quote.revisions import revisions_in

    saved = revisions_in(folder, name)
    there = f"saved are {', '.join(map(str, saved))}" if saved else "none is saved; `costplan quote save` does"
    given = " ".join(map(str, numbers)) or name
    return Problem("QUO010", Place(str(folder)), "", given, "not two revisions:", f"give two numbers; {there}")
