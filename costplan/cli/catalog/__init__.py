"""`costplan catalog`: one small file a question."""

from __future__ import annotations

import typer

from costplan.cli.catalog import check, compare, fits, list_parts, prices

app = typer.Typer(help="Parts catalogs.", rich_markup_mode=None, no_args_is_help=True)
app.command("check")(check.check)
app.command("list")(list_parts.list_parts)
app.command("compare")(compare.compare)
app.command("prices")(prices.prices)
app.command("fits")(fits.fits)
