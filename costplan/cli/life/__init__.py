"""`costplan life`: one small file a question."""

from __future__ import annotations

import typer

from costplan.cli.life import fit, show, used

app = typer.Typer(help="Lives of parts: what the log says of them.", rich_markup_mode=None, no_args_is_help=True)
app.command("fit")(fit.fit)
app.command("show")(show.show)
app.command("used")(used.used)
