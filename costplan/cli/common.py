"""What the commands share: their options, reading a scenario or stopping with its problems, and printing an answer."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NoReturn, TypeVar

import typer

if TYPE_CHECKING:
    from datetime import date
    from decimal import Decimal

    from costplan.problems import Problem
    from costplan.report.tables import Page
    from costplan.scenario import Scenario
    from costplan.season import Season
    from costplan.season.machine import Problem as Compiled

T = TypeVar("T")

Folder = Annotated[Path, typer.Argument(metavar="SCENARIO", help="The scenario's folder.", show_default=False)]
Json = Annotated[bool, typer.Option("--json", help="The whole answer as JSON, money as strings.")]
Csv = Annotated[bool, typer.Option("--csv", help="The main table as CSV.")]
Sets = Annotated[
    list[str],
    typer.Option(
        "--set",
        metavar="PATH=VALUE",
        help="What if: write a cell (calendar/EVENT/purse=900) or a key (scenario/policy/early=off). May be repeated.",
        show_default=False,
    ),
]
On = Annotated[
    str,
    typer.Option(
        "--on", metavar="DATE", help="The day called now, 2027-05-14; today if not given.", show_default=False
    ),
]

OnAhead = Annotated[
    str,
    typer.Option(
        "--on",
        metavar="DATE",
        help="From this day on, as the log leaves the engines; else the whole season from its opening.",
        show_default=False,
    ),
]

Seasons = Annotated[int, typer.Option("--seasons", min=1, max=5_000_000, help="Seasons to draw.")]
Seed = Annotated[int, typer.Option("--seed", min=0, max=4_294_967_295, help="Of the draws.")]

WorkFile = Annotated[
    Path | None,
    typer.Option(
        "--show-work",
        metavar="FILE",
        help="Write all that the answer is calculated from as JSON, a new file.",
        show_default=False,
    ),
]

Workbook = Annotated[
    Path | None,
    typer.Option(
        "--xlsx",
        metavar="FILE",
        help="Also write a workbook with live formulas, a new file; the answer is shown as ever.",
        show_default=False,
    ),
]

OnBook = Annotated[
    str,
    typer.Option(
        "--on",
        metavar="DATE",
        help="The day whose rules are asked, 2027-05-14; today if not given, or opening day while that lies ahead.",
        show_default=False,
    ),
]

AsItStands = Annotated[
    str,
    typer.Option(
        "--engine",
        metavar="NAME",
        help="One engine as it stands in the garage and on the bench; else the build as planned.",
        show_default=False,
    ),
]


def cell(flag: str, value: str, what: str) -> typer.models.OptionInfo:
    """An option that fills the column of its name."""
    option: typer.models.OptionInfo = typer.Option(flag, metavar=value, help=what, show_default=False)
    return option


def open_scenario(
    folder: Path, sets: Iterable[str], on: str = "", *, as_json: bool, beside: Iterable[str] = ()
) -> tuple[Scenario, date]:
    """The scenario and the day of `--on`, or the end of the command with all problems and status 2.

    `beside`: addresses of files that the command reads beside the scenario's.
    """
    from costplan.scenario import read_scenario

    day, faults = read_day(on)
    scenario, problems = read_scenario(folder, sets, beside=beside)
    if faults or problems or scenario is None:
        stop((*faults, *problems), as_json=as_json)
    return scenario, day


def today() -> date:
    """The user's own day."""
    from datetime import date

    return date.today()  # noqa: DTZ011 - not that of some other zone


def today_or(text: str, *, as_json: bool) -> date:
    """The day of `--on`, today where it is not given, or the end of the command."""
    day, faults = read_day(text)
    if faults:
        stop(faults, as_json=as_json)
    return day


def read_day(text: str, option: str = "--on") -> tuple[date, tuple[Problem, ...]]:
    """The day of an option, today where it is not given or is no day."""
    from pydantic_core import PydanticCustomError

    from costplan.problems import Place, Problem
    from costplan.reading.fields import to_date

    if not text:
        return today(), ()
    try:
        return to_date(text), ()
    except PydanticCustomError as error:
        context = error.context or {}
        return today(), (Problem("REA019", Place(option), "", text, context["what"], context["advice"]),)


def read_number(text: str, option: str, *, as_json: bool, reader: Callable[[str], Decimal] | None = None) -> Decimal:
    """The number of an option, or the end of the command; `reader`: of a field, any number if not given."""
    from pydantic_core import PydanticCustomError

    from costplan.problems import Place, Problem
    from costplan.reading.fields import to_decimal

    try:
        return (reader or to_decimal)(text)
    except PydanticCustomError as error:
        context = error.context or {}
        stop([Problem(context["code"], Place(option), "", text, context["what"], context["advice"])], as_json=as_json)


def not_negative(text: str, option: str, *, as_json: bool) -> Decimal:
    """The number of an option, 0 or more, or the end of the command."""
    from costplan.problems import Place, Problem

    value = read_number(text, option, as_json=as_json)
    if value < 0:
        stop([Problem("REA018", Place(option), "", text, "negative:", "give 0 or more")], as_json=as_json)
    return value


def stop(problems: Iterable[Problem], *, as_json: bool, undone: str = "calculated") -> NoReturn:
    """Prints problems, one a line, and what was not done, and ends with status 2."""
    found = list(problems)
    if as_json:
        from costplan.report.data import problems_to_json

        typer.echo(problems_to_json(found))
    tell(found, f"nothing was {undone}")


def tell(problems: Sequence[Problem], outcome: str) -> NoReturn:
    """Tells problems, one a line, and what came of it all the same, and ends with status 2."""
    for problem in problems:
        typer.echo(str(problem), err=True)
    typer.echo(f"{len(problems)} problem{'' if len(problems) == 1 else 's'}; {outcome}.", err=True)
    raise typer.Exit(2)


def stop_if_refused(refusal: str) -> None:
    """Ends the command with what was in the way of a file, if anything was."""
    if refusal:
        typer.echo(refusal, err=True)
        raise typer.Exit(2)


def added_or_stop(outcome: tuple[T | None, tuple[Problem, ...], str], *, as_json: bool) -> T:
    """The row that was written behind a file, or the end of the command with its problems or what was in the way."""
    added, problems, refusal = outcome
    if not problems:
        stop_if_refused(refusal)
    if added is None or problems:
        stop(problems, as_json=as_json, undone="written")
    return added


def answer(
    name: str,
    data: Mapping[str, Any],
    table: Callable[[], str] | None,
    page: Callable[[], Page],
    *,
    as_json: bool,
    as_csv: bool = False,
) -> None:
    """Prints an answer in the form asked for: `data` as JSON under its name, its main table as CSV, or a page."""
    if as_json:
        from costplan.report.data import to_json

        typer.echo(to_json(name, **data))
    elif as_csv and table is not None:
        typer.echo(table(), nl=False)
    else:
        from costplan.report.terminal import print_page

        print_page(page())


def season_of(scenario: Scenario, on: date | None = None, *, as_json: bool) -> Season:
    """The compiled season of a scenario that was read without problems: whole, or as its log leaves it on a day."""
    season, problems = scenario.season() if on is None else scenario.season_on(on)
    if season is None:
        stop(problems, as_json=as_json)
    return season


def not_over(season: Season, *, as_json: bool) -> None:
    """Ends the command where nothing of the season lies ahead."""
    from costplan.problems import Place, Problem

    if not season.ahead:
        last, on = season.runs[-1].event.date, season.standing.on if season.standing else ""
        advice = f"give {last} or an earlier day; a new season has a calendar of its own"
        stop([Problem("REA018", Place("--on"), "", str(on), "behind the last event:", advice)], as_json=as_json)


def write_work(path: Path | None, season: Season, problem: Compiled, *, as_json: bool) -> None:
    """Writes what a season is calculated from, where that is asked for, or ends the command with what is in its way.

    '-' stands elsewhere for the output, and is no name of a file here.
    """
    if path is None:
        return
    import json

    from costplan.problems import Place, Problem

    if str(path) == "-":
        advice = "name a file, such as work.json; the answer itself is on the output with --json"
        stop([Problem("REA020", Place("--show-work"), "", "-", "not the name of a file:", advice)], as_json=as_json)
    from costplan.report.data import plain, write_new
    from costplan.season.work import work_of

    refusal = write_new(path, json.dumps(plain(work_of(season, problem)), indent=1, ensure_ascii=False) + "\n")
    stop_if_refused(refusal)


def know_workbook(path: Path | None, *, as_json: bool) -> None:
    """Ends the command, before any work is done in vain, where a workbook cannot get the name of `--xlsx`."""
    if path is None:
        return
    from costplan.problems import Place, Problem
    from costplan.report.data import in_the_way

    if path.suffix.lower() != ".xlsx":
        advice = "name a file that ends in .xlsx, such as season.xlsx; others are not opened as workbooks"
        stop(
            [Problem("REA020", Place("--xlsx"), "", str(path), "not the name of a workbook:", advice)], as_json=as_json
        )
    stop_if_refused(in_the_way(path))


def write_workbook(path: Path | None, book: Callable[[], bytes]) -> None:
    """Writes a workbook where that is asked for, and says so beside the answer; or ends the command."""
    if path is None:
        return
    from costplan.report.data import write_new

    stop_if_refused(write_new(path, book()))
    typer.echo(f"Written: {path}", err=True)


def know_engine(scenario: Scenario, engine: str, *, as_json: bool) -> None:
    """Ends the command with a problem where `--engine` names none of the scenario's."""
    names = [one.name for one in scenario.engines]
    if engine and scenario.build is None:
        stop([scenario.without("pattern")], as_json=as_json)
    if engine and engine not in names:
        from costplan.problems import Place, Problem, nearest

        problem = Problem("REA020", Place("--engine"), "", engine, "no such engine:", nearest(engine, names))
        stop([problem], as_json=as_json)
