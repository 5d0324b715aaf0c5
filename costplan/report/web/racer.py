"""The racer's page: what the season costs, what to do next, what may go wrong, and which inputs are guesses."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from itertools import islice

from costplan.report.figures import chance, rests_on
from costplan.report.log import standing_lines, tracking_table
from costplan.report.outlook import bills_table, levels_table, line_name, some, wrong_table
from costplan.report.season import (
    CAUTIONS,
    book_table,
    buying_table,
    causes_table,
    jobs_table,
    left_table,
    one_more_table,
    paths_table,
    rates_table,
    routine_table,
)
from costplan.report.tables import Table, day, grouped, listed, money, number, percent, plural, share, whole
from costplan.report.web import charts
from costplan.report.web.blocks import Cards, Cell, Chart, Section, Sheet, WebPage, Words, cells, sheet_of
from costplan.report.web.drawing import BLUE, OCHRE
from costplan.report.web.whys import cash_of, near_place, rows_behind
from costplan.season import Due, Plan
from costplan.season.drawn.outlook import CaseOutlook, Outlook
from costplan.season.jobs import Job
from costplan.season.ledger import Row
from costplan.season.logged import Tracking
from costplan.season.plan import CauseTotal, LifeUsed, Month, OneMore, Rate
from costplan.season.standing import Standing

#: Lines of the longest charts: what is beyond stands in their tables.
BARS = 14
DEAREST = (
    "The cases that cost most in a season. Times: how often a season comes to it. Bill: parts, work and other costs at "
    "the season's last prices, with what the level always renews, less what is paid for the engine."
)


@dataclass(frozen=True, slots=True)
class RacerAnswers:
    """What the page shows. `outlook` is None where nothing of the season lies ahead."""

    title: str
    invented: bool
    plan: Plan
    due: tuple[Due, ...]
    outlook: Outlook | None
    bills: tuple[CaseOutlook, ...]
    standing: Standing | None
    tracking: Tracking | None


def racer_page(found: RacerAnswers) -> WebPage:
    plan = found.plan
    sections = (
        Section("In short", tuple(_in_short(found))),
        Section("What to do next", tuple(_next(found))),
        Section("Spending through the season", tuple(_spending(found))),
        Section("Cash by month", (_months(plan),)),
        Section("Life used by part", (_lives(plan),) if plan.life_used else ()),
        Section("Where the money goes", tuple(_money_goes(plan))),
        Section("What may go wrong", tuple(_risk(found))),
        Section(
            "What is left", (sheet_of(one_more_table(plan)), sheet_of(left_table(plan)), sheet_of(paths_table(plan)))
        ),
        Section("Guesses and rows", (_guesses(plan), _ledger(plan))),
    )
    lead = (
        f"{plural(plan.events, 'event')}, {plural(plan.races, 'race')}, {number(plan.laps)} laps. Money in "
        f"{plan.currency}.",
        _from(found),
    )
    return WebPage("racer", found.title, found.invented, plan.on, lead, sections, CAUTIONS)


def _money_goes(plan: Plan) -> Iterator[Chart | Sheet]:
    yield _causes(plan)
    yield sheet_of(rates_table(plan))
    yield sheet_of(book_table(plan), note="")


def _left(plan: Plan) -> tuple[Table, ...]:
    return one_more_table(plan), left_table(plan), paths_table(plan)


def _from(found: RacerAnswers) -> str:
    if found.standing:
        return f"From {found.standing.on} on, as the log leaves the engines; what was before is in the budget below."
    return "The whole season from its opening."


def _in_short(found: RacerAnswers) -> Iterator[Words | Cards]:
    alerts = standing_lines(found.standing)
    if alerts:
        yield Words(alerts, alert=True)
    if found.plan.missed:
        yield Words((f"Missed, no engine being ready: {listed(found.plan.missed)}.",), alert=True)
    yield Cards(tuple(_cards(found)))


def _cards(found: RacerAnswers) -> Iterator[tuple[str, Cell, str]]:
    plan, outlook = found.plan, found.outlook
    paid = f"{whole(plan.cash_paid)} paid, {whole(plan.cash_received)} received; nothing breaks, no rain"
    yield "The season as planned", Cell(money(plan.cash_total), rows_behind(cash_of(plan.ledger))), paid
    if outlook and not outlook.certain:
        spread = f"half at most {whole(outlook.cash.p50)}, one in ten at most {whole(outlook.cash.p10)}"
        yield "Nine seasons in ten cost at most", Cell(whole(outlook.cash.p90), _drawn(outlook)), spread
    for rate in plan.rates[:1]:
        yield f"Paid per {rate.per}", Cell(money(rate.cash), _rate_why(rate)), f"{money(rate.wear)} used up"
    for month in plan.months:
        if month.month == plan.worst_month:
            yield "Worst month", _net(plan, month), _month(month.month)
    for job in islice((job for job in plan.jobs if not job.routine), 1):
        yield "Next opening", Cell(money(job.total), _job_why(job)), f"{job.level} of {job.engine} before {job.before}"
    if plan.one_more.like:
        more = Cell(money(plan.one_more.total), _more_why(plan.one_more))
        yield "One more race uses up", more, f"and {money(plan.one_more.risk)} at risk"
    if outlook and not outlook.certain:
        starts = (f"{chance(outlook.retirements, outlook.seasons)} of starts in races: a failure stops the run",)
        stops = Cell(percent(round(outlook.retirements.share, 3)), starts)
        yield "Race starts that end with a failure", stops, "by assumed lives and chances"
    guesses = Cell(str(len(plan.assumed)), guess=bool(plan.assumed))
    yield "Inputs that are guesses", guesses, "listed at the end, with their rows"


def _drawn(outlook: Outlook) -> tuple[str, ...]:
    """What a percentile rests on."""
    cash = outlook.cash
    errors = listed(whole(error) for error in (cash.p10_error, cash.p50_error, cash.p90_error))
    return (
        rests_on(outlook.seasons, outlook.asked, outlook.seed),
        f"Lives end, rain falls and damage is drawn. Standard errors of 10, 50, 90 %: {errors}.",
    )


def _rate_why(rate: Rate) -> tuple[str, ...]:
    return (
        f"{money(rate.cash)}: what is paid, income left aside, by {number(rate.units)}",
        f"{money(rate.wear)}: what is used up, by {number(rate.units)}",
        "Cash and wear are two views and never added.",
    )


def _more_why(more: OneMore) -> tuple[str, ...]:
    largest = (f"of it {name} {money(amount)}" for name, amount in more.largest)
    return (
        f"like {more.like}, on the parts as they are on {more.on}",
        f"{money(more.life_used)} life used",
        *largest,
        f"{money(more.work_owed)} work owed",
        f"{money(more.flowing)} consumed",
        f"{money(more.risk)} at risk: something breaks ({percent(round(more.chance, 3))}), times its bill",
    )


def _job_why(job: Job) -> tuple[str, ...]:
    parts = (f"{money(one.paid)}  {one.slot} {one.part}: {one.why}" for one in job.renewals)
    work = f"{money(job.labour)} labour, {money(job.supplies)} supplies, {money(job.fees)} fees"
    return (f"Why: {job.why}", work, *parts)


def _next(found: RacerAnswers) -> Iterator[Sheet | Words]:
    plan = found.plan
    for due in found.due:
        jobs = [job for job in due.jobs if not job.routine]
        says = listed(f"{job.level} of {job.engine}" for job in jobs) or "only routine"
        yield Words((f"Before {due.race} on {due.date}: {says}, {money(due.total)} {plan.currency} in all.",))
    jobs = [job for job in plan.jobs if not job.routine]
    yield sheet_of(jobs_table(plan), {(at, 3): _job_why(job) for at, job in enumerate(jobs)})
    yield sheet_of(buying_table(plan.purchases))
    yield sheet_of(routine_table(plan), folded=True)


def _spending(found: RacerAnswers) -> Iterator[Chart | Sheet]:
    outlook, plan = found.outlook, found.plan
    if outlook is not None:
        yield _fan(outlook, plan)
    if found.tracking:
        table = tracking_table(found.tracking)
        yield sheet_of(table, mark=(len(table.rows) - 1,))


def _fan(outlook: Outlook, plan: Plan) -> Chart:
    rows = [
        {
            "date": str(one.date),
            "p10": float(one.so_far.p10),
            "p50": float(one.so_far.p50),
            "p90": float(one.so_far.p90),
            "planned": float(one.planned_so_far),
            "why": f"{one.event}, {one.date}\nso far at most {whole(one.so_far.p10)} / {whole(one.so_far.p50)} / "
            f"{whole(one.so_far.p90)} in 10 / 50 / 90 % of seasons\nas planned {whole(one.planned_so_far)}",
        }
        for one in outlook.events
    ]
    table = Sheet(
        "Spent so far after each event",
        ("Event", "Date", "10 %", "50 %", "90 %", "Plan", "Rain", "Fails", "Missed"),
        tuple(
            cells(
                one.event,
                day(one.date),
                *(whole(amount) for amount in (one.so_far.p10, one.so_far.p50, one.so_far.p90)),
                Cell(whole(one.planned_so_far), rows_behind(cash_of(plan.ledger, event=one.event))),
                *(some(chance_) for chance_ in (one.rained, one.stopped, one.missed)),
            )
            for one in outlook.events
        ),
        right=tuple(range(2, 9)),
        note="What 10, 50 and 90 % of seasons stay at or below. The plan says the rows of the event itself.",
    )
    wide, narrow = charts.both(lambda width: charts.fan(rows, width, plan.currency))
    says = "Money out less money in, added up race by race."
    if not outlook.certain:
        says += (
            " The band holds 80 of 100 seasons, the line in it the middle one, the broken line the plan; at the end "
            f"{whole(outlook.cash.p10)} to {whole(outlook.cash.p90)}."
        )
    return Chart("Spent so far, race by race", says, wide, narrow, table)


def _month(month: str) -> str:
    """2027-07 as July 2027."""
    return f"{date.fromisoformat(month + '-01'):%B %Y}"


def _net(plan: Plan, month: Month) -> Cell:
    return Cell(money(month.net), rows_behind(_rows_in(plan, month.month)))


def _rows_in(plan: Plan, month: str) -> tuple[Row, ...]:
    return tuple(row for row in cash_of(plan.ledger) if f"{row.date:%Y-%m}" == month)


def _months(plan: Plan) -> Chart:
    rows = [
        {
            "month": f"{date.fromisoformat(one.month + '-01'):%b}",
            "paid": float(one.paid),
            "received": -float(one.received),
            "net": float(one.net),
            "mark": "worst" if one.month == plan.worst_month else "",
            "why": f"{_month(one.month)}\npaid {money(one.paid)}, received {money(one.received)}\n"
            f"net {money(one.net)}, so far {money(one.so_far)}",
        }
        for one in plan.months
    ]
    worst = tuple(at for at, one in enumerate(plan.months) if one.month == plan.worst_month)
    table = Sheet(
        "Cash by month",
        ("Month", "Paid", "Received", "Net", "So far"),
        tuple(
            cells(
                _month(one.month),
                Cell(money(one.paid), rows_behind(row for row in _rows_in(plan, one.month) if row.amount > 0)),
                Cell(money(one.received), rows_behind(row for row in _rows_in(plan, one.month) if row.amount < 0)),
                _net(plan, one),
                money(one.so_far),
            )
            for one in plan.months
        ),
        right=(1, 2, 3, 4),
        note="By the day it is paid: deposits when ordered, the rest when the work is done. Received is taken off.",
        mark=worst,
    )
    wide, narrow = charts.both(lambda width: charts.months(rows, width, plan.currency))
    says = f"Above zero what is paid, below it what comes in; the dash is the net. Worst: {_month(plan.worst_month)}."
    return Chart("Cash by month", says if plan.worst_month else "Nothing is paid.", wide, narrow, table)


def _lives(plan: Plan) -> Chart:
    guesses = grouped((one.of, f"guess: {one.what} ({one.place})") for one in plan.assumed)
    lines = sorted(plan.life_used, key=lambda line: -line.now)
    many = len({line.engine for line in plan.life_used} - {"car"}) > 1
    rows = [
        {
            "slot": _position(line, many=many),
            "opening": line.opening,
            "now": line.now,
            "end": line.end,
            "due": line.next_renewal,
            "state": "due" if line.next_renewal else "lasts",
            "why": _life_told(line),
        }
        for line in lines
    ]
    table = Sheet(
        "Life used by part",
        ("Part", "Opening", "Now", "End", "Of", "Renewed before"),
        tuple(
            cells(
                Cell(_position(line, many=many), (line.part, *guesses.get(line.slot, ())), line.assumed),
                share(line.opening),
                share(line.now),
                share(line.end),
                line.by,
                line.next_renewal,
            )
            for line in lines
        ),
        right=(1, 2, 3),
        note="Shares of assumed lives: a share left is not a promise.",
    )
    wide, narrow = charts.both(lambda width: charts.lives(rows, width))
    says = (
        "Bars: used now, of what is due this season and of what lasts it; strokes: on opening day; diamonds: at the "
        "season's end, with what is renewed till then. At 100 % the assumed life is up."
    )
    return Chart("Share of its assumed life that each part has used", says, wide, narrow, table)


def _life_told(line: LifeUsed) -> str:
    renewed = f"\nrenewed before {line.next_renewal}" if line.next_renewal else ""
    return (
        f"{line.slot} of {line.engine}: {line.part}\n{share(line.opening)} used on opening day, {share(line.now)} now, "
        f"{share(line.end)} at the end, of {line.by}{renewed}"
    )


def _position(line: LifeUsed, *, many: bool) -> str:
    return f"{line.slot}, {line.engine}" if many and line.engine != "car" else line.slot


def _causes(plan: Plan) -> Chart:
    views = {"cash": plan.cash, "wear": plan.wear}
    rows = [
        {"name": one.cause, "group": view, "value": float(one.amount), "why": _cause_told(plan, view, one)}
        for view, totals in views.items()
        for one in totals
    ]
    wide, narrow = charts.both(lambda width: charts.bars(rows, width, plan.currency, by={"cash": BLUE, "wear": OCHRE}))
    says = "Cash is what is paid; wear is what is used up, whenever it was or will be paid. Never add the two."
    return Chart("Cost by cause, in both views", says, wide, narrow, _causes_sheet(plan))


def _cause_told(plan: Plan, view: str, total: CauseTotal) -> str:
    return "\n".join((f"{total.cause}, {view}: {money(total.amount)}", *rows_behind(_of(plan, view, total.cause))))


def _causes_sheet(plan: Plan) -> Sheet:
    """The table of the terminal, with the rows behind each figure."""
    table = causes_table(plan)
    whys = {
        (at, column): rows_behind(_of(plan, view, row[0]))
        for at, row in enumerate(table.rows[:-1])
        for column, view in ((1, "cash"), (2, "wear"))
    }
    return sheet_of(table, whys)


def _of(plan: Plan, view: str, cause: str) -> tuple[Row, ...]:
    return tuple(row for row in plan.ledger if row.view == view and row.cause == cause)


def _risk(found: RacerAnswers) -> Iterator[Chart | Sheet | Words]:
    outlook = found.outlook
    if outlook is None:
        return
    if outlook.certain:
        yield Words(
            ("Nothing in these files is left to chance: lives with a risk, rain, hazards and damage would be.",)
        )
        return
    yield _drivers(outlook)
    yield sheet_of(wrong_table(outlook))
    yield sheet_of(bills_table(found.bills), note=DEAREST)
    yield sheet_of(levels_table(outlook), folded=True)


def _drivers(outlook: Outlook) -> Chart:
    shown = outlook.lines[:BARS]
    rows = [
        {
            "name": line_name(line),
            "value": line.share,
            "why": f"{line_name(line)}: {share(line.share)} of the spread\nmean {whole(line.mean)}, planned "
            f"{whole(line.planned)}\nfails {number(line.failures, 2)} times a season",
        }
        for line in shown
    ]
    table = Sheet(
        "What drives the spread",
        ("What", "Share", "Mean", "Plan", "Fails", "Chance"),
        tuple(
            cells(
                line_name(line),
                share(line.share),
                whole(line.mean),
                whole(line.planned),
                number(line.failures, 2) if line.failures else "",
                percent(line.fails.share) if line.fails.share else "",
            )
            for line in outlook.lines
        ),
        right=(1, 2, 3, 4, 5),
        note="Share of the variance of the season's cash; below zero: cheap when the season is dear.",
    )
    wide, narrow = charts.both(lambda width: charts.bars(rows, width, "share of the spread", "%"))
    first = f"{line_name(shown[0])} makes the most of it, {share(shown[0].share)}." if shown else ""
    return Chart("What drives the spread", f"What makes one season dearer than another. {first}", wide, narrow, table)


def _guesses(plan: Plan) -> Sheet:
    rows = tuple(cells(one.of, Cell(one.what, guess=True), near_place(one.place)) for one in plan.assumed)
    note = "A source in its row settles a guess; so does what your own log teaches of a life."
    return Sheet("Inputs that are guesses", ("Of", "Assumed", "Where"), rows, note=note, folded=len(rows) > 20)


def _ledger(plan: Plan) -> Sheet:
    rows = tuple(
        cells(day(row.date), row.event, listed(_names(row)), row.cause, money(row.amount), row.why)
        for row in plan.ledger
        if row.view == "cash"
    )
    header = ("Date", "Event", "What", "Cause", "Cash", "Why")
    return Sheet(f"The ledger of cash, {plural(len(rows), 'row')}", header, rows, (4,), folded=True)


def _names(row: Row) -> Iterable[str]:
    return dict.fromkeys(name for name in (row.engine, row.slot, row.part) if name)
