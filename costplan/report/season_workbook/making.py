"""The workbook of a season: which sheets it has, and what its first one says."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from costplan.report.log import from_on, standing_lines
from costplan.report.season import CAUTIONS
from costplan.report.season_workbook.inputs import write_inputs
from costplan.report.season_workbook.ledger import write_accounts, write_ledger
from costplan.report.season_workbook.life import write_life, write_life_by_event
from costplan.report.season_workbook.summary import write_summary
from costplan.report.season_workbook.work import write_budget, write_buying, write_calendar, write_work
from costplan.report.tables import listed, plural
from costplan.report.workbook.about import BLUE, about_sheet, write_about
from costplan.report.workbook.sheets import Book, Column
from costplan.scenario import Scenario
from costplan.season import Plan, Season
from costplan.season.logged import Tracking
from costplan.season.used import UsedLife

VIEWS = (
    "Cash is what is paid when. Wear is what is used up when, whenever it was or will be paid. Both tell of the same "
    "season: never add the two. Income and what comes back are negative."
)
#: What each sheet holds, by its name.
HOLDS = {
    "Summary": "what the season costs, worked out from the ledger: per race, lap and hour, by cause, month and event",
    "Budget": "budget, what was paid by the day, and what is still to come",
    "Work": "each opening: what is done before which event, why, and what it costs",
    "Buying": "what is bought, and the latest day to order it",
    "Ledger": "one row a cost, both views, with why and the file and row that it is from",
    "Accounts": "each position: what it was worth, what was paid and used, what it is worth at the end",
    "Life used": "the share of its assumed life that each part has used, and what is left of it in money",
    "Life by event": "the same after each event",
    "Calendar": "what runs when, with its use in every measure, entry, travel and winnings",
    "Inputs": "what the plan rests on: values with their units, sources and files; guesses are marked",
}


def season_xlsx(
    scenario: Scenario, season: Season, plan: Plan, used: Sequence[UsedLife], tracking: Tracking | None = None
) -> bytes:
    """The workbook of a plan; `tracking`: budget, actual and forecast where a log tells them."""
    book = Book(f"Season plan, {scenario.header.title}", plan.currency, plan.on)
    money = book.rounding.money
    about = about_sheet(book)
    summary = book.sheet("Summary", "", _summary_columns(money), landscape=False)
    if tracking is not None:
        write_budget(book, tracking, plan.currency)
    write_work(book, plan)
    write_buying(book, plan)
    ledger = write_ledger(book, plan)
    if plan.accounts:
        write_accounts(book, plan)
    left = write_life(book, plan)
    write_life_by_event(book, used)
    write_calendar(book, season)
    write_inputs(book, scenario, season)
    write_summary(summary, plan, ledger, left)
    texts = _about(scenario, plan, season, book.names)
    write_about(about, texts, invented=scenario.invented, cautions=CAUTIONS)
    return book.closed()


def _summary_columns(money: str) -> list[Column]:
    return [Column("label", "", 38), *(Column(name, "", 15, money) for name in "abcde"), Column("mark", "", 9)]


def _about(scenario: Scenario, plan: Plan, season: Season, sheets: Sequence[str]) -> Iterator[tuple[str, str]]:
    """What the workbook is, on what it rests, what its sheets hold."""
    yield "What it is", f"The plan of a season, made with nothing breaking and no rain. All money in {plan.currency}."
    yield "Day called now", " ".join(filter(None, (f"{plan.on}.", from_on(season.standing))))
    yield "Ahead", f"{plural(plan.events, 'event')}, of them {plural(plan.races, 'race')}."
    for line in standing_lines(season.standing):
        yield "To be done", line
    later = len(scenario.log) - len(scenario.logged(plan.on))
    yield "Not known yet", f"{plural(later, 'row')} of log.csv, later than this day." if later else ""
    yield "Missed", f"No engine is ready for {listed(plan.missed)}." if plan.missed else ""
    yield "Guesses", f"{plural(len(plan.assumed), 'input')} assumed; marked on the sheet Inputs."
    yield "Two views", VIEWS
    yield "What is live", f"{BLUE} A new row of the ledger counts if it is put in between the others."
    for name in sheets:
        if name in HOLDS:
            yield f"Sheet {name}", HOLDS[name]
