"""What is done, bought and run in a season as sheets, and its budget where a log tells what was paid."""

from __future__ import annotations

from collections.abc import Mapping

from costplan.report.log import track_note
from costplan.report.season import renewed
from costplan.report.tables import listed
from costplan.report.workbook.formulas import Formula
from costplan.report.workbook.sheets import (
    COUNT,
    DATE,
    PLAIN,
    WHOLE_SHARE,
    Book,
    Cell,
    Column,
    Row,
    Sheet,
    Span,
    worked_out,
)
from costplan.season import Plan, Season
from costplan.season.calendar import Run, by_event, season_use
from costplan.season.jobs import Job
from costplan.season.logged import Tracking
from costplan.season.logged.tracking import Tracked
from costplan.season.records import Event

#: What is given of each group of the budget; the rest follows.
TRACKED = ("budget", "to_day", "actual", "forecast")
#: What adds up to the cost of an opening.
JOB_COSTS = ("labour", "supplies", "fees", "parts")
#: Measures of use with their headings, in the units that they are kept in, and forms.
USED = {
    "laps": ("Laps", COUNT),
    "distance": ("Distance [km]", "#,##0.0"),
    "hours": ("Hours [h]", "0.00"),
    "starts": ("Starts", COUNT),
    "fuel": ("Fuel [L]", "#,##0.0"),
}


def write_budget(book: Book, tracking: Tracking, currency: str) -> None:
    """Budget, actual and forecast by group."""
    names = ("Budget", "Budget to the day", "Actual", "Forecast", "Expected", "Over")
    columns = [
        Column("group", "For", 22),
        *(
            Column(name, f"{heading} [{currency}]", 14, book.rounding.money)
            for name, heading in zip((*TRACKED, "expected", "over"), names, strict=True)
        ),
    ]
    sheet = book.table("Budget", f"budget, actual and forecast on {tracking.on}", columns)
    first = sheet.row
    for one in tracking.groups:
        given = {name: Cell(getattr(one, name), look="input") for name in TRACKED}
        sheet.put({"group": one.group, **given, **_expected(sheet, one)})
    rows = first, sheet.row - 1
    sums = {name: _summed(sheet, name, rows, tracking) for name in TRACKED}
    sheet.put({"group": "total", **sums, **_expected(sheet, tracking.total)}, "total")
    for line in track_note(tracking).split("\n"):
        sheet.foot(line)


def _expected(sheet: Sheet, one: Tracked) -> Row:
    """What is expected in all, and by how much that is over, in the row to be written next."""
    actual, forecast, expected, budget = (sheet.at(name) for name in ("actual", "forecast", "expected", "budget"))
    return {
        "expected": Formula(sheet.rounding.total(f"{actual}+{forecast}"), one.expected),
        "over": Formula(sheet.rounding.total(f"{expected}-{budget}"), one.difference),
    }


def _summed(sheet: Sheet, name: str, rows: Span, tracking: Tracking) -> Formula | Cell:
    """The total of a column, as it stands where the groups do not add up to it."""
    gives, total = getattr(tracking.total, name), sheet.total(name, rows)
    return worked_out(total.says, gives, follows=gives == total.gives)


def write_work(book: Book, plan: Plan) -> None:
    """Every opening, those that cost no labour too."""
    if not plan.jobs:
        return
    code, money = plan.currency, book.rounding.money
    columns = [
        Column("begins", "Work begins", 11, DATE),
        Column("date", "Date", 11, DATE),
        Column("before", "Before", 20),
        Column("engine", "Engine", 8),
        Column("level", "Level", 12),
        Column("shop", "By", 12),
        Column("renews", "Renews or works over", 38),
        Column("why", "Why", 34),
        Column("labour", f"Labour [{code}]", 12, money),
        Column("supplies", f"Supplies [{code}]", 12, money),
        Column("fees", f"Fees [{code}]", 12, money),
        Column("parts", f"Parts [{code}]", 12, money),
        Column("total", f"Total [{code}]", 12, money),
    ]
    sheet = book.table("Work", "what to do before which event", columns, landscape=True)
    first = sheet.row
    for job in plan.jobs:
        sheet.put(_job(sheet, job))
    rows = first, sheet.row - 1
    sheet.put({name: sheet.total(name, rows) for name in (*JOB_COSTS, "total")}, "total", "All openings")
    sheet.foot("Early: not due, but cheaper now than an opening of its own later; in brackets the life used.")


def _job(sheet: Sheet, job: Job) -> Row:
    """An opening, in the row to be written next."""
    kits = f"kit {listed(kit.kit for kit in job.kits)}" if job.kits else ""
    spans = f"{sheet.at('labour')}:{sheet.at('parts')}"
    return {
        "begins": job.begins,
        "date": job.date,
        "before": job.before,
        "engine": job.engine,
        "level": job.level,
        "shop": job.shop,
        "renews": "\n".join(filter(None, (renewed(job.renewals), kits))),
        "why": job.why,
        **{name: Cell(getattr(job, name), look="input") for name in JOB_COSTS},
        "total": Formula(sheet.rounding.total(f"SUM({spans})"), job.total),
    }


def write_buying(book: Book, plan: Plan) -> None:
    """What is bought, in the order in which it must be ordered."""
    if not plan.purchases:
        return
    columns = [
        Column("part", "Part or kit", 18),
        Column("name", "Name", 34),
        Column("supplier", "Supplier", 16),
        Column("packs", "Packs", 8, COUNT),
        Column("before", "First needed before", 24),
        Column("order_by", "Order by", 11, DATE),
        Column("paid", f"Cost [{plan.currency}]", 14, book.rounding.money),
    ]
    sheet = book.table("Buying", "what to buy", columns)
    first = sheet.row
    for one in plan.purchases:
        sheet.put(
            {
                "part": one.part,
                "name": one.name,
                "supplier": one.supplier,
                "packs": one.packs,
                "before": one.first_before,
                "order_by": one.order_by,
                "paid": Cell(one.paid, look="input"),
            }
        )
    sheet.put({"paid": sheet.total("paid", (first, sheet.row - 1))}, "total", "All that is bought")


def write_calendar(book: Book, season: Season) -> None:
    """What runs when: each event with its use; service rows, at which nothing runs, among them."""
    money, code = book.rounding.money, season.rates.currency
    columns = [
        Column("date", "Date", 11, DATE),
        Column("event", "Event", 24),
        Column("kind", "Kind", 9),
        Column("show", "Show", 16),
        Column("format", "Sessions, or level", 14),
        Column("setup", "Set-up", 10),
        *(Column(name, heading, 9, form) for name, (heading, form) in USED.items()),
        Column("rain", "Rain [%]", 7, WHOLE_SHARE),
        Column("weight", "Counts", 7, PLAIN),
        Column("entry", f"Entry [{code}]", 11, money),
        Column("travel", f"Travel [{code}]", 11, money),
        Column("purse", f"Purse [{code}]", 11, money),
    ]
    sheet = book.table("Calendar", "what runs when", columns, landscape=True)
    first = sheet.row
    used = {runs[0][1].event.event: [run for _, run in runs] for runs in by_event(season.runs)}
    for event in sorted(season.files.events, key=lambda event: event.date):
        sheet.put(_event(event, used.get(event.event, [])))
    rows = first, sheet.row - 1
    sums: Row = {name: Formula(sheet.sum_of(name, rows), season_use(season.runs, name)) for name in USED}
    sums |= {name: sheet.total(name, rows) for name in ("entry", "travel", "purse")}
    sheet.put(sums, "total", "All")
    sheet.foot("Use is that of the whole season, in the units of the headings, whatever those of the files.")


def _event(event: Event, runs: list[Run]) -> Row:
    """An event; a service row has no use."""
    use: Mapping[str, float] = {name: season_use(runs, name) for name in USED} if runs else {}
    return {
        "date": event.date,
        "event": event.event,
        "kind": event.kind,
        "show": event.show,
        "format": event.format or event.level,
        "setup": event.setup,
        **use,
        "rain": event.rain or None,
        "weight": event.counts or None,
        "entry": event.entry or None,
        "travel": event.travel or None,
        "purse": event.purse or None,
    }
