"""`costplan log`: add a row to a scenario's log, and show what the log says."""

from __future__ import annotations

from typing import Annotated

import typer

from costplan.cli.common import Csv, Folder, Json, On, Sets, added_or_stop, answer, cell, open_scenario, stop, today

app = typer.Typer(
    help="What happened to the engines: a row a happening, in SCENARIO/log.csv.",
    rich_markup_mode=None,
    no_args_is_help=True,
)


@app.command("add")
def add(
    folder: Folder,
    what: Annotated[
        str,
        typer.Argument(
            metavar="WHAT",
            help="ran, checked, serviced, changed, failed, mended, paid or over-revved.",
            show_default=False,
        ),
    ],
    date: Annotated[str, cell("--date", "DATE", "The day it happened, 2027-05-14; today if not given.")] = "",
    engine: Annotated[str, cell("--engine", "NAME", "The engine, or car.")] = "",
    event: Annotated[str, cell("--event", "NAME", "The event of calendar.csv.")] = "",
    level: Annotated[str, cell("--level", "NAME", "The service level that was done, or paid for.")] = "",
    slot: Annotated[str, cell("--slot", "NAMES", "The slots, blanks between.")] = "",
    part: Annotated[str, cell("--part", "NAME", "The part that was put in, if another than before.")] = "",
    piece: Annotated[str, cell("--piece", "NAME", "The piece of garage.csv that was put in from the shelf.")] = "",
    step: Annotated[str, cell("--step", "NUMBER", "Service steps that it has now been through.")] = "",
    count: Annotated[str, cell("--count", "NUMBER", "Pieces of the set, if not all.")] = "",
    finding: Annotated[str, cell("--finding", "TEXT", "What a check found.")] = "",
    rpm: Annotated[str, cell("--rpm", "NUMBER", "The highest engine speed of an over-rev.")] = "",
    line: Annotated[str, cell("--line", "TEXT", "What was paid for: a service, a cost, any words.")] = "",
    amount: Annotated[str, cell("--amount", "SUM", "What was paid; income is negative.")] = "",
    note: Annotated[str, cell("--note", "TEXT", "Anything worth keeping.")] = "",
    use: Annotated[
        list[str],
        typer.Option(
            "--use",
            metavar="MEASURE=NUMBER",
            help="What was run, or is behind a used set: laps=30, 'fuel [gal]=9'. May be repeated.",
            show_default=False,
        ),
    ] = [],  # noqa: B006
    as_json: Json = False,
) -> None:
    """Writes one row behind the log, or makes it: whole or not at all. The file keeps its columns, delimiter and
    order; nothing is written if any row of the log would be wrong then. --json gives the row as it was read."""
    from costplan.report.log import added_page
    from costplan.scenario.logging import add_entry

    given = {
        "date": date or str(today()),
        "what": what,
        "engine": engine,
        "event": event,
        "level": level,
        "slot": slot,
        "part": part,
        "piece": piece,
        "step": step,
        "count": count,
        "finding": finding,
        "rpm": rpm,
        "line": line,
        "amount": amount,
        "note": note,
        **_uses(use, as_json=as_json),
    }
    outcome = add_entry(folder, {name: text for name, text in given.items() if text})
    added = added_or_stop(outcome, as_json=as_json)
    title = added.scenario.header.title
    answer(
        "log add",
        {"scenario": title, "invented": added.scenario.invented, "at": added.entry.place, "entry": added.entry},
        None,
        lambda: added_page(added.entry, added.units, title, added.scenario.header.currency, added.scenario.invented),
        as_json=as_json,
    )


def _uses(texts: list[str], *, as_json: bool) -> dict[str, str]:
    """The columns of use, or the end of the command."""
    from costplan.garage.pieces import USES
    from costplan.problems import Place, Problem, nearest
    from costplan.quantity import split_header

    found: dict[str, str] = {}
    for text in texts:
        name, _, value = (word.strip() for word in text.partition("="))
        if split_header(name)[0] not in USES or not value:
            measure = split_header(name)[0]
            what, advice = "not a measure with its number:", f"write {measure}=30"
            if measure not in USES:
                advice = f"write laps=30; {nearest(measure, USES)}"
            stop([Problem("REA020", Place("--use"), "", text, what, advice)], as_json=as_json, undone="written")
        found[name] = value
    return found


@app.command("show")
def show(
    folder: Folder,
    on: On = "",
    whole: Annotated[bool, typer.Option("--all", help="All rows, not the last 20.")] = False,
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """What the log says by a day: what must be inspected, what is on each engine with its use, what is on the shelf
    and still owed, what was paid for what, and its last rows. --csv gives all rows."""
    from costplan.report.log import LAST, entries_csv, log_page
    from costplan.season.logged import season_on, show_log

    scenario, day = open_scenario(folder, sets, on, as_json=as_json)
    planned, problems = scenario.season()
    season, problems = season_on(planned, scenario.log, day) if planned else (None, problems)
    if season is None or problems:
        stop(problems, as_json=as_json)
    found, header = show_log(season, scenario.logged(day)), scenario.header
    answer(
        "log show",
        {"scenario": header.title, "invented": scenario.invented, "currency": header.currency, "log": found},
        lambda: entries_csv(found.entries),
        lambda: log_page(found, header.title, header.currency, scenario.invented, None if whole else LAST),
        as_json=as_json,
        as_csv=as_csv,
    )
