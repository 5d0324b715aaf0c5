"""`costplan choose`: one small file a question."""

from __future__ import annotations

import typer

from costplan.cli.choose import best, frontier, instead, options

app = typer.Typer(
    help="Choosing parts: the best bill that meets fits and book, proved.", rich_markup_mode=None, no_args_is_help=True
)
app.command("best")(best.best)
app.command("frontier")(frontier.frontier)
app.command("options")(options.options)
app.command("instead")(instead.instead)
