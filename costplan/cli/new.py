"""`costplan new`"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from costplan.cli.common import stop_if_refused


def new(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="The folder to make.", show_default=False)],
    simple: Annotated[bool, typer.Option("--simple", help="Three files: what, price, every how much.")] = False,
) -> None:
    """Writes a small working scenario to start from. All its figures are invented: write your own over them."""
    from costplan.templates import write_scenario

    stop_if_refused(write_scenario(folder, simple=simple))
    typer.echo(f"{folder} is written. Its figures are invented: write your own over them, then ask")
    typer.echo(f"  costplan season {folder}")
    if not simple:
        typer.echo(f"  costplan quote price {folder} freshen")
