"""`costplan rules ...`: books shown, compared and held against engines; what they cost; what to inspect."""

from __future__ import annotations

import typer

from costplan.cli.rules import check, checklist, costs, diff, forms, inspect, matrix, show

app = typer.Typer(
    no_args_is_help=True,
    rich_markup_mode=None,
    help="Rule books: shown, checked, compared; where an engine may run; what they cost; what to inspect.",
)
app.command("show")(show.show)
app.command("check")(check.check)
app.command("diff")(diff.diff)
app.command("matrix")(matrix.matrix)
app.command("costs")(costs.costs)
app.command("checklist")(checklist.checklist)
app.command("inspect")(inspect.inspect)
app.command("forms")(forms.forms)
