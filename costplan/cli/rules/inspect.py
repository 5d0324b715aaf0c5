"""`costplan rules inspect`"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NamedTuple

import typer

from costplan.cli.common import Csv, Folder, Json, OnBook, Sets, answer, open_scenario, stop, stop_if_refused
from costplan.cli.rules.checklist import packs_of
from costplan.cli.rules.show import OnePack

if TYPE_CHECKING:
    from datetime import date

    from costplan.problems import Problem
    from costplan.rules import Pack
    from costplan.rules.checklist import CheckLine
    from costplan.rules.inspecting import Entrant, Terms
    from costplan.scenario import Scenario


def inspect(
    folder: Folder,
    minutes: Annotated[
        int | None,
        typer.Option("--minutes", min=1, max=1440, help="Minutes that each inspector has.", show_default=False),
    ] = None,
    inspectors: Annotated[int, typer.Option("--inspectors", min=1, max=50, help="How many inspectors.")] = 1,
    each_car: Annotated[
        int, typer.Option("--each-car", min=0, max=1440, help="Minutes a car takes before anything is looked at.")
    ] = 0,
    opening: Annotated[
        list[str],
        typer.Option(
            "--opening",
            metavar="LEVEL=MINUTES",
            help="Minutes an inspector stands by until an engine is opened so far. May be repeated.",
            show_default=False,
        ),
    ] = [],  # noqa: B006
    drawn: Annotated[
        int, typer.Option("--drawn", min=0, max=100, help="Per cent of the minutes kept for checks drawn by lot.")
    ] = 0,
    seed: Annotated[int, typer.Option("--seed", min=0, help="Of the lot.")] = 0,
    out: Annotated[
        Path | None,
        typer.Option("--out", metavar="FILE", help="Write an empty results sheet, a new file.", show_default=False),
    ] = None,
    results: Annotated[
        Path | None,
        typer.Option("--results", metavar="FILE", help="Take a filled-in results sheet back.", show_default=False),
    ] = None,
    pack: OnePack = "",
    on: OnBook = "",
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """Which checks on which cars of entries.csv find most breaches within the inspectors' minutes, by the risks that
    cars and clauses state: who looks at what, in which order. With --results what they found; status 1 if a clause is
    broken."""
    from costplan.problems import Place, Problem
    from costplan.rules.inspecting import no_entrants

    if out is not None and results is not None:
        advice = "write the empty sheet first, then take it back filled in"
        stop(
            [Problem("REA016", Place("--out"), "", str(out), "nothing to write beside --results:", advice)],
            as_json=as_json,
        )
    scenario, today = open_scenario(folder, sets, on, as_json=as_json)
    packs = packs_of(scenario, pack, as_json=as_json)
    if not scenario.entrants:
        stop([no_entrants(scenario.folder)], as_json=as_json)
    day = today if on else scenario.day(today)
    event = Event(scenario, packs, scenario.entrants, day, as_json, as_csv)
    if results is not None:
        _show_results(event, results)
        return
    _show_plan(event, _terms(event, minutes, opening, inspectors, each_car, drawn, seed), out)


class Event(NamedTuple):
    """What is asked about, and in which form."""

    scenario: Scenario
    packs: Sequence[Pack]
    entrants: Sequence[Entrant]
    day: date
    as_json: bool
    as_csv: bool

    @property
    def about(self) -> dict[str, Any]:
        names = [pack.stem for pack in self.packs]
        header = self.scenario.header
        return {"scenario": header.title, "invented": self.scenario.invented, "on": self.day, "packs": names}


def _terms(
    event: Event,
    minutes: int | None,
    opening: Iterable[str],
    inspectors: int,
    each_car: int,
    drawn: int,
    seed: int,
) -> Terms:
    """What there is to inspect with, or the end of the command."""
    from costplan.problems import Place, Problem
    from costplan.rules.inspecting import Terms

    stated, problems = read_openings(opening, [level.level for level in event.scenario.files.levels])
    if minutes is None:
        advice = "give the minutes that each inspector has"
        problems = (Problem("REA016", Place("--minutes"), "", "", "no minutes", advice), *problems)
    if minutes is None or problems:
        stop(problems, as_json=event.as_json)
    return Terms(minutes, inspectors, each_car, stated, drawn, seed)


def read_openings(texts: Iterable[str], levels: Iterable[str]) -> tuple[dict[str, float], tuple[Problem, ...]]:
    """The minutes by level of `level=minutes` words."""
    from pydantic_core import PydanticCustomError

    from costplan.problems import Place, Problems, nearest
    from costplan.reading.fields import to_decimal

    found, problems, known = dict[str, float](), Problems(), tuple(levels)
    for number, text in enumerate(texts, start=1):
        place, (level, _, minutes) = Place(f"--opening {number}"), text.partition("=")
        try:
            found[level] = float(to_decimal(minutes))
        except PydanticCustomError as error:
            context = error.context or {}
            problems.add(context["code"], place, "", text, context["what"], "write it as level=minutes, springs=40")
            continue
        if level not in known:
            problems.add("REA020", place, "", level, "no such level:", nearest(level, known))
        elif found[level] < 0:
            problems.add("REA018", place, "", text, "negative minutes:", "give 0 or more")
    return found, tuple(problems.found)


def _show_plan(event: Event, terms: Terms, out: Path | None) -> None:
    """Chooses, writes the empty results sheet where one is wanted, and prints."""
    from costplan.report.data import write_new
    from costplan.report.inspection import checks_csv, plan_page, results_sheet
    from costplan.rules.inspecting import choose_inspections

    plan = choose_inspections(_lines(event), event.entrants, terms)
    stop_if_refused(write_new(out, results_sheet(plan, event.day)) if out is not None else "")
    title = event.scenario.header.title
    answer(
        "rules inspect",
        {**event.about, "plan": plan},
        lambda: checks_csv(plan),
        lambda: plan_page(plan, title, _what(event), event.scenario.invented),
        as_json=event.as_json,
        as_csv=event.as_csv,
    )


def _lines(event: Event) -> dict[str, tuple[CheckLine, ...]]:
    """The checklists by engine: of the build as planned, and of the engines that are known to be in a car."""
    from costplan.rules.checklist import checklist, depths_of

    files = event.scenario.files
    depths = depths_of(files.levels, files.positions)
    sheets = {name: event.scenario.sheet(name, on=event.day) for name in ("", *(one.engine for one in event.entrants))}
    return {
        name: tuple(line for pack in event.packs for line in checklist(pack, sheet, event.day, depths))
        for name, sheet in sheets.items()
    }


def _what(event: Event) -> tuple[str, ...]:
    names = ", ".join(pack.header.name for pack in event.packs)
    return (f"{names}, as in force on {event.day}.",)


def _show_results(event: Event, path: Path) -> None:
    """Takes a filled-in results sheet back, and prints what became of each clause; status 1 if one is broken."""
    from costplan.problems import in_order
    from costplan.report.data import records_to_csv
    from costplan.report.inspection import results_page
    from costplan.rules.inspecting import Outcome, by_car, outcomes, read_results

    rows, problems = read_results(path, [one.car for one in event.entrants], event.packs)
    if problems:
        stop(in_order(problems), as_json=event.as_json)
    found = outcomes(rows, event.packs, event.scenario.sheet(on=event.day))
    cars, title = by_car(found), event.scenario.header.title
    answer(
        "rules inspect results",
        {**event.about, "cars": cars},
        lambda: records_to_csv(Outcome, found),
        lambda: results_page(cars, title, _what(event), event.scenario.invented),
        as_json=event.as_json,
        as_csv=event.as_csv,
    )
    if any(car.broken for car in cars):
        raise typer.Exit(1)
