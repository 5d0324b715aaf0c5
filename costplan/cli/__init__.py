"""The command line: one file a command, exit codes, no arithmetic.

Only typer is imported here; what a command needs it imports when it runs, so that `--help` comes in a blink.
"""

from __future__ import annotations

import os
import signal
import sys
from typing import NoReturn

try:
    import typer

    from costplan.cli import (
        airflow,
        bom,
        catalog,
        check,
        choose,
        columns,
        compare,
        due,
        guide,
        horizon,
        impact,
        job,
        life,
        log,
        methods,
        new,
        orders,
        outlook,
        quote,
        report,
        rules,
        season,
        spares,
        timing,
        whatif,
        worth,
    )
except KeyboardInterrupt:  # Ctrl-C comes before there is a command
    raise SystemExit(130) from None

app = typer.Typer(
    name="costplan",
    help="Plans what a race engine costs in a spec class: parts, rules, season.\n\n"
    "A scenario is a folder of CSV and TOML files; 'costplan new FOLDER' writes a small one to start from. "
    "Exit status: 0 answered, 1 the answer is no, 2 the input is at fault.",
    rich_markup_mode=None,
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)
app.command("check")(check.check)
app.command("bom")(bom.bom)
app.command("airflow")(airflow.airflow)
app.command("season")(season.season)
app.command("outlook")(outlook.outlook)
app.command("compare")(compare.compare)
app.command("whatif")(whatif.whatif)
app.command("spares")(spares.spares)
app.command("timing")(timing.timing)
app.command("due")(due.due)
app.command("orders")(orders.orders)
app.command("horizon")(horizon.horizon)
app.command("worth")(worth.worth)
app.command("impact")(impact.impact)
app.command("report")(report.report)
app.command("columns")(columns.columns)
app.command("methods")(methods.methods)
app.command("new")(new.new)
app.command("guide")(guide.guide)
app.add_typer(catalog.app, name="catalog")
app.add_typer(choose.app, name="choose")
app.add_typer(job.app, name="job")
app.add_typer(life.app, name="life")
app.add_typer(log.app, name="log")
app.add_typer(quote.app, name="quote")
app.add_typer(rules.app, name="rules")


@app.callback(invoke_without_command=True)
def version(
    show: bool = typer.Option(False, "--version", help="Show the version and stop."),
) -> None:
    """Plans what a race engine costs in a spec class: parts, rules, season."""
    if show:
        from costplan import __version__

        typer.echo(f"costplan {__version__}")
        raise typer.Exit


def main() -> None:
    """The entry point. A reader that closes the pipe early ends the command quietly, as it ends any other tool, and
    not with status 1, which would be an answer."""
    if hasattr(signal, "SIGPIPE"):
        signal.signal(signal.SIGPIPE, signal.SIG_DFL)
    try:
        try:
            app()
        finally:
            sys.stdout.flush()
    except KeyboardInterrupt:
        _stopped()
    except SystemExit as end:
        if isinstance(getattr(end.__context__, "__cause__", None), KeyboardInterrupt):  # as typer passes it on
            _stopped()
        raise
    except OSError as error:
        _give_up(error)


def _stopped() -> NoReturn:
    """Ctrl-C before a command had anything to show: one line, and the status that shells give it."""
    sys.stderr.write("Stopped; there is nothing to show yet.\n")
    raise SystemExit(130)


def _give_up(error: OSError) -> NoReturn:
    """An answer that cannot be written, as on a full disk: one line and status 2; nothing more is flushed."""
    what = f"{error.filename}: " if error.filename else ""
    sys.stderr.write(f"{what}cannot be read or written: {error.strerror}\n")
    sys.stderr.flush()
    os._exit(2)
