"""The season plan and the due list as pages."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from costplan.report.data import to_csv
from costplan.report.log import from_on, standing_lines, tracking_table
from costplan.report.tables import Page, Table, day, grouped, listed, money, number, percent, plural, share, whole
from costplan.season import Due, Plan
from costplan.season.jobs import Job, Renewal
from costplan.season.logged import Tracking
from costplan.season.names import Assumption
from costplan.season.plan import Purchase
from costplan.season.standing import Standing

KIT = "costs less than what it holds, bought apart"
CAUTIONS = (
    "A plan is an expectation, not a safety decision: lives are assumptions and parts can fail new. Inspect; follow "
    "maker and builder; stop on metal, low oil pressure, overheating or over-rev. Officials decide what may race.",
)


def season_page(
    plan: Plan,
    title: str,
    invented: bool,
    standing: Standing | None = None,
    tracking: Tracking | None = None,
    later: int = 0,
) -> Page:
    """Everything that `costplan season` answers; with a log, from the day on, and what it says of the time before.

    `later`: rows of the log that are not known on the day.
    """
    lines = [*standing_lines(standing), *_ahead(plan, standing)]
    if later:
        lines.append(f"{plural(later, 'row')} of log.csv {'is' if later == 1 else 'are'} later than this day.")
    if plan.missed:
        lines.append(f"Missed, no engine being ready: {listed(plan.missed)}.")
    tables = (
        tracking_table(tracking),
        jobs_table(plan),
        routine_table(plan),
        buying_table(plan.purchases),
        rates_table(plan),
        causes_table(plan),
        book_table(plan),
        _months_table(plan),
        _life_table(plan),
        one_more_table(plan),
        left_table(plan),
        paths_table(plan),
        assumed_table(plan.assumed),
    )
    return Page(_title(title, invented), tuple(lines), tuple(table for table in tables if table.rows), CAUTIONS)


def _ahead(plan: Plan, standing: Standing | None) -> tuple[str, ...]:
    """What lies ahead in short, or that no event is left."""
    paid = (
        f"Paid {'from then on' if standing else 'over the season'} {money(plan.cash_paid)}, "
        f"received {money(plan.cash_received)}"
    )
    inputs = f"{plural(len(plan.assumed), 'input')} assumed, listed at the end."
    if not plan.events:
        left = f"No event of the season is left; money in {plan.currency}; 'now' is {plan.on}."
        return left, f"{paid}; {inputs}"
    return (
        f"{plural(plan.events, 'event')}, {plural(plan.races, 'race')}, {number(plan.laps)} laps, "
        f"{f'{number(plan.hours)} h; ' if plan.hours else ''}money in {plan.currency}; 'now' is {plan.on}.",
        " ".join(text for text in (from_on(standing), "Planned with nothing breaking and no rain.") if text),
        f"{paid}; per race "
        f"{listed(f'{money(rate.cash)} paid, {money(rate.wear)} used up' for rate in plan.rates[:1])}.",
        f"Worst month {plan.worst_month}; {inputs}",
    )


def _title(title: str, invented: bool) -> str:
    return f"{title} (invented data)" if invented else title


def renewed(renewals: Sequence[Renewal]) -> str:
    """What an opening renews or works over, early ones with the share of life that was used."""
    planned = [_slot(renewal) for renewal in renewals if renewal.cause != "early"]
    early = [f"{_slot(renewal)} ({share(renewal.worn)})" for renewal in renewals if renewal.cause == "early"]
    return listed(planned) + (("; " if planned else "") + f"early: {listed(early)}" if early else "")


def _slot(renewal: Renewal) -> str:
    """A slot, with the service step where it is worked over instead of renewed: `block: hone`."""
    return f"{renewal.slot}: {renewal.operation}" if renewal.operation else renewal.slot


def jobs_table(plan: Plan) -> Table:
    rows = tuple(
        (day(job.date), f"{job.before}\n{job.level}, {job.engine}", _done(job), money(job.total))
        for job in plan.jobs
        if not job.routine
    )
    return Table(
        "What to do before which race, and why",
        ("Date", "Before; level", "Renew, and why", "Cost"),
        rows,
        right=(3,),
        note="Early: not due, but cheaper now than an opening of its own later; in brackets the life used.",
    )


def _done(job: Job) -> str:
    """What a job renews, out of which kits, who does it, then why."""
    kits = f"kit {listed(kit.kit for kit in job.kits)}" if job.kits else ""
    shop = f"by {job.shop}" if job.shop else ""
    return "\n".join(text for text in (renewed(job.renewals), kits, shop, f"Why: {job.why}") if text)


def routine_table(plan: Plan) -> Table:
    rows = tuple(
        (entry.slot, entry.part, str(entry.times), _some(entry.before), money(entry.paid)) for entry in plan.routine
    )
    header = ("Slot", "Part", "Times", "Before", "Cost")
    return Table("Routine, at openings that cost no labour of their own", header, rows, right=(2, 4))


def _some(names: Sequence[str]) -> str:
    """All of a few names, the first and the last of many."""
    return listed(names) if len(names) <= 4 else f"{names[0]} ... {names[-1]}"


def buying_table(purchases: Sequence[Purchase]) -> Table:
    rows = tuple(
        (entry.part, entry.supplier, str(entry.packs), entry.first_before, str(entry.order_by), money(entry.paid))
        for entry in purchases
    )
    header = ("Buy", "Supplier", "Packs", "First needed before", "Order by", "Cost")
    return Table("What to buy", header, rows, right=(2, 5))


def rates_table(plan: Plan) -> Table:
    rows = tuple(
        (
            f"{rate.per} ({number(rate.units)})",
            money(rate.cash),
            money(rate.wear),
            money(rate.cash_after_income),
            money(rate.wear_after_income),
        )
        for rate in plan.rates
    )
    return Table(
        "Cost per race, lap and hour",
        ("Per", "Cash", "Wear", "Cash, income off", "Wear, income off"),
        rows,
        right=(1, 2, 3, 4),
        note="Cash: what is paid. Wear: what is used up, whenever it was or will be paid. Never add the two.",
    )


def causes_table(plan: Plan) -> Table:
    wear = {total.cause: total.amount for total in plan.wear}
    cash = {total.cause: total.amount for total in plan.cash}
    names = list(dict.fromkeys([*cash, *wear]))
    rows = [(name, *(money(view[name]) if name in view else "" for view in (cash, wear))) for name in names]
    rows.append(("total", money(plan.cash_total), money(plan.wear_total)))
    return Table("The season by cause", ("Cause", "Cash", "Wear"), tuple(rows), right=(1, 2))


def book_table(plan: Plan) -> Table:
    """The clauses of the book that acted on the season."""
    rows = tuple(
        (
            one.rule,
            f"{one.says}\n{one.how}{f'; missed: {listed(one.missed)}' if one.missed else ''}",
            money(one.fees) if one.fees else "",
        )
        for one in plan.book
    )
    note = "What a clause costs beside its fees: costplan rules costs."
    return Table(
        "The book: clauses that bind this season", ("Clause", "What it says; what it did", "Fees"), rows, (2,), note
    )


def _months_table(plan: Plan) -> Table:
    rows = tuple(
        (
            f"{month.month}{' <- worst' if month.month == plan.worst_month else ''}",
            money(month.paid),
            money(month.received),
            money(month.net),
            money(month.so_far),
        )
        for month in plan.months
    )
    return Table("Cash by month", ("Month", "Paid", "Received", "Net", "So far"), rows, right=(1, 2, 3, 4))


def _life_table(plan: Plan) -> Table:
    several = len({line.engine for line in plan.life_used}) > 2
    rows = tuple(
        (
            f"{line.slot}{f' ({line.engine})' if several else ''}",
            share(line.opening),
            share(line.now),
            share(line.end),
            f"{line.by}{' ~' if line.assumed else ''}",
            line.next_renewal or "-",
        )
        for line in plan.life_used
    )
    return Table(
        "Share of its assumed life that each part has used",
        ("Slot", "Opening", "Now", "End", "Of", "Next renewed before"),
        rows,
        right=(1, 2, 3),
        note="~ the life is assumed in part: see below.",
    )


def one_more_table(plan: Plan) -> Table:
    more = plan.one_more
    largest = listed(f"{slot} {money(amount)}" for slot, amount in more.largest)
    rows = (
        ("life used", money(more.life_used), largest),
        ("work owed", money(more.work_owed), "its share of the labour of levels with an interval"),
        ("consumed", money(more.flowing), "fuel and what else flows with use"),
        ("total", money(more.total), ""),
        (
            "added risk",
            money(more.risk),
            f"chance x bill: something breaks in it with a chance of {percent(more.chance)}",
        ),
        ("total with risk", money(more.with_risk), ""),
    )
    title = f"One more race like {more.like}, on the parts as they are on {more.on}, uses up"
    return Table(title, ("", plan.currency, "Of it"), rows, right=(1,))


def left_table(plan: Plan) -> Table:
    best = sorted(plan.life_used, key=lambda line: -line.left_at_end)[:6]
    rows = (
        (
            "life left in what is installed",
            money(plan.left_on_hand),
            listed(f"{line.slot} {whole(line.left_at_end)}" for line in best),
        ),
        ("new pieces on the shelf, at cost", money(plan.on_the_shelf), ""),
    )
    return Table("On hand at the end of the season", ("", plan.currency, "Most of it"), rows, right=(1,))


def paths_table(plan: Plan) -> Table:
    rows = tuple(
        (
            f"{path.slot}, {path.engine}",
            f"{path.opening} -> {path.end} of {path.steps}",
            path.next,
            money(path.next_cost),
        )
        for path in plan.paths
    )
    header = ("Worked over, not renewed", "Steps done", "Next", "Cost")
    note = "Steps done on opening day -> at the end. Hard limits go on through every step."
    return Table("On the way to scrap", header, rows, right=(3,), note=note)


def assumed_table(assumed: Sequence[Assumption]) -> Table:
    groups = grouped((entry.what.partition(" = ")[0], entry.of) for entry in assumed)
    named = {what: tuple(dict.fromkeys(names)) for what, names in groups.items()}
    rows = tuple((what, str(len(names)), listed(names)) for what, names in named.items())
    note = "Every one with file and line: --json, under 'assumed'."
    return Table("Inputs that are guesses", ("Assumed", "No.", "Of"), rows, right=(1,), note=note)


def due_page(
    due: Sequence[Due],
    assumed: Sequence[Assumption],
    title: str,
    currency: str,
    invented: bool,
    on: date,
    standing: Standing | None = None,
) -> Page:
    """What must be done before the next race and the one after; with a log, for the engines as it leaves them."""
    first = tuple(text for text in (*standing_lines(standing), from_on(standing)) if text)
    if not due:
        return Page(_title(title, invented), (*first, "No race lies ahead on this date."), (), CAUTIONS)
    tables = tuple(
        Table(
            f"Before {entry.race}, {entry.date}: {money(entry.total)} {currency}"
            + ("" if entry.jobs else " - nothing is due"),
            ("Level", "Renew", "Why", "Order by", "Cost"),
            tuple(row for job in entry.jobs for row in _job_rows(job, on)),
            right=(4,),
        )
        for entry in due
    )
    count = plural(len(assumed), "input")
    lines = (
        *first,
        f"{count} of this plan {'is' if len(assumed) == 1 else 'are'} assumed; costplan season lists them.",
        "Why: the share of its life that a part has used; what is left does not last to the next gap for it.",
        "Early: it would last, but is cheaper now than at an opening of its own later.",
    )
    return Page(_title(title, invented), lines, tables, CAUTIONS)


def due_csv(due: Sequence[Due]) -> str:
    """The due list as CSV, a row for each cost, so that its costs add up to the totals."""
    names = ("race", "before", "date", "engine", "level", "renew", "part", "pieces", "packs", "order_by", "cost", "why")
    rows: list[tuple[object, ...]] = []
    for entry in due:
        for job in entry.jobs:
            start = (entry.race, job.before, job.date, job.engine, job.level)
            if job.work:
                rows.append((*start, _work_of(job), "", "", "", "", job.work, job.why))
            rows += [(*start, "kit", kit.kit, kit.count, kit.count, kit.order_by, kit.paid, KIT) for kit in job.kits]
            for found in job.renewals:
                order = found.order_by if found.packs_bought else ""
                bought = (found.part, found.pieces, found.packs_bought, order, found.paid, found.why)
                rows.append((*start, _slot(found), *bought))
    return to_csv(names, rows)


def _job_rows(job: Job, on: date) -> list[tuple[str, ...]]:
    """A job's own line, then a line for each renewal; a latest day that is past on the day is marked."""
    rows: list[tuple[str, ...]] = []
    if job.work:
        rows.append((job.level, _work_of(job), job.why, "", money(job.work)))
    kits = ((f"{kit.count} x kit {kit.kit}", kit) for kit in job.kits)
    rows += [(job.level, what, KIT, _by(kit.order_by, on), money(kit.paid)) for what, kit in kits]
    for renewal in job.renewals:
        what = renewal.operation or f"{renewal.pieces} x {renewal.part}"
        slot = f"{renewal.slot}: {what}" if renewal.supplier else renewal.slot
        rows.append((job.level, slot, renewal.why, _order(renewal, job, on), money(renewal.paid)))
    return rows


def _work_of(job: Job) -> str:
    """What an opening itself costs, and who does it."""
    what = "labour, supplies and fees" if job.fees else "labour and supplies"
    return f"{what}, {job.shop}" if job.shop else what


def _by(day: date, on: date) -> str:
    return f"{day}\nlate" if day < on else str(day)


def _order(renewal: Renewal, job: Job, on: date) -> str:
    """When to order what a renewal needs, or why that is not needed."""
    if renewal.packs_bought and renewal.supplier:
        return _by(renewal.order_by, on)
    if renewal.packs_bought:
        return str(renewal.order_by)
    if renewal.operation:
        return "shop work"
    return "in the kit" if any(renewal.part in kit.holds for kit in job.kits) else "on hand"
