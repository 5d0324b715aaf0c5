"""`costplan quote`: what a job costs the customer and leaves the shop, in revisions."""

from __future__ import annotations

import typer

from costplan.cli.quote import again, diff, list_quotes, offers, price, save, show

app = typer.Typer(
    help="The builder's quotes: a request (quote-NAME.toml) priced by the shop book (shop.toml, work.csv).",
    rich_markup_mode=None,
    no_args_is_help=True,
)
app.command("price")(price.price)
app.command("save")(save.save)
app.command("show")(show.show)
app.command("diff")(diff.diff)
app.command("again")(again.again)
app.command("offers")(offers.offers)
app.command("list")(list_quotes.list_quotes)
