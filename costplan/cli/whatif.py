"""`costplan whatif`"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import partial
from typing import TYPE_CHECKING, Annotated, NamedTuple

import typer

from costplan.cli.common import (
    Csv,
    Folder,
    Json,
    OnAhead,
    Seasons,
    Seed,
    Sets,
    answer,
    not_negative,
    not_over,
    open_scenario,
    season_of,
    stop,
)
from costplan.cli.progress import Bars, end_if, unless_stopped

if TYPE_CHECKING:
    from costplan.problems import Problem
    from costplan.report.tables import Page
    from costplan.scenario import Scenario
    from costplan.season import Season
    from costplan.season.drawn.whatif import Struck
    from costplan.season.records import Case


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
    on: OnAhead = "",
    seasons: Seasons = 4000,
    seed: Seed = 1,
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """One question at a time: what it costs if a part fails at an event (--fails SLOT --at EVENT), what is lost or
    gained if the engine is claimed (--claimed --at EVENT), or how many events a sum pays for (--sum SUM). Ctrl-C shows
    what was drawn, with status 130."""
    given = {"--fails": fails, "--claimed": claimed, "--at": at, "--price": price, "--hours": hours, "--sum": money}
    problems = tuple(_out_of_place({option for option, value in given.items() if value}))
    if problems:
        stop(problems, as_json=as_json)
    scenario, day = open_scenario(folder, sets, on, as_json=as_json)
    season = season_of(scenario, day if on else None, as_json=as_json)
    not_over(season, as_json=as_json)
    asked = Asked(scenario, season, seasons, seed, Bars(), as_json, as_csv)
    with unless_stopped(asked.bars):
        if money:
            _show_affordable(asked, money)
        else:
            found, taken = _claim(asked, at, price, hours) if claimed else (_fail(asked, fails, at), "")
            _show_struck(asked, found, fails, taken)
    end_if(asked.bars.stopped)


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
        from costplan.report.log import ahead_page

        title, invented = self.scenario.header.title, self.scenario.invented
        answer(
            "whatif",
            {"scenario": title, "invented": invented, **dict.fromkeys(KEYS), **found},
            table,
            lambda: ahead_page(page(title, invented), self.season.standing),
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
    from costplan.season.drawn.whatif import if_fails

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


def _claim(asked: Asked, at: str, price: str, hours: str) -> tuple[Struck, str]:
    """The engine is claimed at an event, and what is taken from damage.csv, in words; or the end of the command."""
    from costplan.season.drawn.whatif import if_claimed

    _must_be("--at", at, "event", _events(asked), asked)
    gone = tuple({case.place: case.row for case in asked.season.cases if case.row.engine == "gone"}.values())
    missing = tuple(_unsaid({"--price": price, "--hours": hours}, gone))
    if missing:
        stop(missing, as_json=asked.as_json)
    paid = not_negative(price, "--price", as_json=asked.as_json) if price else gone[0].paid
    wait = float(not_negative(hours, "--hours", as_json=asked.as_json)) if hours else gone[0].hours
    found = if_claimed(asked.season, at, paid, wait, asked.seasons, asked.seed, watch=asked.bars)
    return found, _taken(price, hours, gone)


def _unsaid(given: Mapping[str, str], gone: Sequence[Case]) -> Iterator[Problem]:
    """A problem for each option that is not given and that not exactly one case of damage.csv says."""
    from costplan.problems import Place, Problem

    what, advice = "no case of damage.csv says so", "give it here, or write a case with engine = gone"
    if gone:
        named = ", ".join(f"{case.case} of {case.slot}" for case in gone)
        what, advice = "several cases of damage.csv say so:", f"give it here, as in one of {named}"
    for option, text in given.items():
        if not text and len(gone) != 1:
            yield Problem("REA016", Place(option), "", str(len(gone) or ""), what, advice)


def _taken(price: str, hours: str, gone: Sequence[Case]) -> str:
    """Which of the two figures of a claim are those of the one case."""
    what = " and ".join(name for name, text in (("price", price), ("hours", hours)) if not text)
    return f"{what.capitalize()} as in {gone[0].place}: case '{gone[0].case}' of {gone[0].slot}." if what else ""


def _events(asked: Asked) -> tuple[str, ...]:
    """The events that lie ahead."""
    return tuple(dict.fromkeys(run.event.event for run in asked.season.ahead))


def _must_be(option: str, word: str, what: str, known: tuple[str, ...], asked: Asked) -> None:
    """Ends the command where a word is not among those known."""
    from costplan.problems import Place, Problem, nearest

    if word not in known:
        problem = Problem("REA020", Place(option), "", word, f"no such {what}:", nearest(word, known))
        stop([problem], as_json=asked.as_json)


def _show_struck(asked: Asked, found: Struck, slot: str, taken: str) -> None:
    """Shows what happens if a slot's part fails, or, without a slot, if the engine is claimed."""
    from costplan.report.whatif import struck_csv, struck_page
    from costplan.season.bills import case_bills

    names = {spot.slot for spot in asked.season.spots if slot and slot in (spot.slot, spot.base)}
    bills = tuple(bill for bill in case_bills(asked.season) if bill.of in names)

    def page(title: str, invented: bool) -> Page:
        return struck_page(found, bills, title, invented, claimed=not slot, taken=taken)

    asked.show({"struck": found, "bills": bills}, lambda: struck_csv(found), page)


def _show_affordable(asked: Asked, text: str) -> None:
    from costplan.report.whatif import affordable_csv, affordable_page
    from costplan.season.drawn.drawing import draw
    from costplan.season.drawn.whatif import affordable

    money = not_negative(text, "--sum", as_json=asked.as_json)
    found = affordable(draw(asked.season, asked.seasons, asked.seed, watch=asked.bars), money)
    asked.show({"affordable": found}, lambda: affordable_csv(found), partial(affordable_page, found))
