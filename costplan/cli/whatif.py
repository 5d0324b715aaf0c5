"""`costplan whatif`"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from functools import partial
from typing import TYPE_CHECKING, Annotated, NamedTuple

import typer

from costplan.cli.common import Csv, Folder, Json, Seed, Sets, answer, open_scenario, read_number, season_of, stop
from costplan.cli.progress import STOPPED, Bars, unless_stopped

if TYPE_CHECKING:
    from decimal import Decimal

    from costplan.problems import Problem
    from costplan.report.tables import Page
    from costplan.scenario import Scenario
    from costplan.season import Season
    from costplan.season.whatif import Struck


def whatif(
    folder: Folder,
    fails: Annotated[
        str, typer.Option("--fails", metavar="SLOT", help="This slot's part fails.", show_default=False)
    ] = "",
    claimed: Annotated[bool, typer.Option("--claimed", help="The engine that runs is claimed.")] = False,
    at: Annotated[str, typer.Option("--at", metavar="EVENT", help="At which event.", show_default=False)] = "",
    price: Annotated[
        str,
        typer.Option(
            "--price", metavar="SUM", help="What is paid for it; else as damage.csv has it.", show_default=False
        ),
    ] = "",
    hours: Annotated[
        str,
        typer.Option(
            "--hours", metavar="HOURS", help="Until another is ready; else as damage.csv has it.", show_default=False
        ),
    ] = "",
    money: Annotated[
        str, typer.Option("--sum", metavar="SUM", help="There is so much to spend.", show_default=False)
    ] = "",
    seasons: Annotated[int, typer.Option("--seasons", min=1, max=5_000_000, help="Seasons to draw.")] = 4000,
    seed: Seed = 1,
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """One question at a time: what it costs if a part fails at an event (--fails SLOT --at EVENT), what is lost if the
    engine is claimed (--claimed --at EVENT), or how many events a sum pays for (--sum SUM). Ctrl-C shows what was
    drawn, with status 130."""
    given = {"--fails": fails, "--claimed": claimed, "--at": at, "--price": price, "--hours": hours, "--sum": money}
    problems = tuple(_out_of_place({option for option, value in given.items() if value}))
    if problems:
        stop(problems, as_json=as_json)
    scenario, _ = open_scenario(folder, sets, as_json=as_json)
    asked = Asked(scenario, season_of(scenario, as_json=as_json), seasons, seed, Bars(), as_json, as_csv)
    with unless_stopped(asked.bars):
        if money:
            _show_affordable(asked, money)
        else:
            found = _claim(asked, at, price, hours) if claimed else _fail(asked, fails, at)
            _show_struck(asked, found, fails)
    if asked.bars.stopped:
        raise typer.Exit(STOPPED)


#: The keys of all answers in the JSON.
KEYS = ("struck", "bills", "affordable")


class Asked(NamedTuple):
    """What is asked about, how it is drawn, and in which form the answer is wanted."""

    scenario: Scenario
    season: Season
    seasons: int
    seed: int
    bars: Bars
    as_json: bool
    as_csv: bool

    def show(self, found: Mapping[str, object], table: Callable[[], str], page: Callable[[str, bool], Page]) -> None:
        """Prints an answer under its keys; those of the other questions are null in the JSON."""
        title, invented = self.scenario.header.title, self.scenario.invented
        answer(
            "whatif",
            {"scenario": title, "invented": invented, **dict.fromkeys(KEYS), **found},
            table,
            lambda: page(title, invented),
            as_json=self.as_json,
            as_csv=self.as_csv,
        )


#: The questions, each with the options that belong to it, and those of them that it needs.
QUESTIONS = {
    "--fails": ({"--fails", "--at"}, ("--at",)),
    "--claimed": ({"--claimed", "--at", "--price", "--hours"}, ("--at",)),
    "--sum": ({"--sum"}, ()),
}


def _out_of_place(given: set[str]) -> Iterator[Problem]:
    """What is wrong with the options of a command line: exactly one question, with what belongs to it."""
    from costplan.problems import Place, Problem

    asked = [question for question in QUESTIONS if question in given]
    if len(asked) != 1:
        what = "no question" if not asked else "more than one question:"
        advice = "give one of --fails SLOT --at EVENT, --claimed --at EVENT, --sum SUM"
        yield Problem("REA016", Place(asked[-1] if asked else "--fails"), "", " ".join(asked), what, advice)
        return
    its, needed = QUESTIONS[asked[0]]
    for option in sorted(given - its):
        yield Problem("REA016", Place(option), "", "", f"nothing to do beside {asked[0]}", "leave it out")
    for option in needed:
        if option not in given:
            yield Problem("REA016", Place(option), "", "", f"{asked[0]} needs it", "name an event of calendar.csv")


def _fail(asked: Asked, slot: str, at: str) -> Struck:
    """A slot's part fails at an event, or the end of the command."""
    from costplan.season.whatif import if_fails

    spots = [spot for spot in asked.season.spots if spot.service is None]
    names = tuple(dict.fromkeys(name for spot in spots for name in (spot.base, spot.slot)))
    _must_be("--fails", slot, "slot with a life", names, asked)
    _must_be("--at", at, "event", _events(asked), asked)
    found = if_fails(asked.season, slot, at, asked.seasons, asked.seed, watch=asked.bars)
    if found is None:
        from costplan.problems import Place, Problem

        what, advice = f"at '{at}' something else serves in place of:", "name what serves there, or another event"
        stop([Problem("REA020", Place("--fails"), "", slot, what, advice)], as_json=asked.as_json)
    return found


def _claim(asked: Asked, at: str, price: str, hours: str) -> Struck:
    """The engine is claimed at an event, or the end of the command."""
    from costplan.season.whatif import if_claimed

    _must_be("--at", at, "event", _events(asked), asked)
    gone = next((case.row for case in asked.season.cases if case.row.engine == "gone"), None)
    paid = _amount("--price", price, gone.paid if gone else None, asked)
    wait = _amount("--hours", hours, gone.hours if gone else None, asked)
    return if_claimed(asked.season, at, paid, float(wait), asked.seasons, asked.seed, watch=asked.bars)


def _amount(option: str, text: str, default: Decimal | float | None, asked: Asked) -> Decimal:
    """A number of an option, that of the scenario where it is not given, or the end of the command."""
    from decimal import Decimal

    from costplan.problems import Place, Problem

    if text:
        return not_negative(text, option, as_json=asked.as_json)
    if default is None:
        what, advice = "no case of damage.csv says so", "give it here, or write a case with engine = gone"
        stop([Problem("REA016", Place(option), "", "", what, advice)], as_json=asked.as_json)
    return Decimal(str(default))


def not_negative(text: str, option: str, *, as_json: bool) -> Decimal:
    """The number of an option, 0 or more, or the end of the command."""
    from costplan.problems import Place, Problem

    value = read_number(text, option, as_json=as_json)
    if value < 0:
        stop([Problem("REA018", Place(option), "", text, "negative:", "give 0 or more")], as_json=as_json)
    return value


def _events(asked: Asked) -> tuple[str, ...]:
    return tuple(dict.fromkeys(run.event.event for run in asked.season.runs))


def _must_be(option: str, word: str, what: str, known: tuple[str, ...], asked: Asked) -> None:
    """Ends the command where a word is not among those known."""
    from costplan.problems import Place, Problem, nearest

    if word not in known:
        problem = Problem("REA020", Place(option), "", word, f"no such {what}:", nearest(word, known))
        stop([problem], as_json=asked.as_json)


def _show_struck(asked: Asked, found: Struck, slot: str) -> None:
    """Shows what happens if a slot's part fails, or, without a slot, if the engine is claimed."""
    from costplan.report.whatif import struck_csv, struck_page
    from costplan.season.bills import case_bills

    names = {spot.slot for spot in asked.season.spots if slot and slot in (spot.slot, spot.base)}
    bills = tuple(bill for bill in case_bills(asked.season) if bill.of in names)

    def page(title: str, invented: bool) -> Page:
        return struck_page(found, bills, title, invented, claimed=not slot)

    asked.show({"struck": found, "bills": bills}, lambda: struck_csv(found), page)


def _show_affordable(asked: Asked, text: str) -> None:
    from costplan.report.whatif import affordable_csv, affordable_page
    from costplan.season.drawing import draw
    from costplan.season.whatif import affordable

    money = not_negative(text, "--sum", as_json=asked.as_json)
    found = affordable(draw(asked.season, asked.seasons, asked.seed, watch=asked.bars), money)
    asked.show({"affordable": found}, lambda: affordable_csv(found), partial(affordable_page, found))
