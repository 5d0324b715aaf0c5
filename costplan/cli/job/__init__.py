"""`costplan job`: the jobs that accepted quotes become, one small file a question."""

from __future__ import annotations

import typer

from costplan.cli.job import add, hours, list_jobs, show

app = typer.Typer(
    help="Jobs: what happened, who owes what, what was earned, in SCENARIO/jobs.csv, a row a happening.",
    rich_markup_mode=None,
    no_args_is_help=True,
)
app.command("list")(list_jobs.list_jobs)
app.command("show")(show.show)
app.command("hours")(hours.hours)
app.command("add")(add.add)
