"""What a season costs, worked out from its ledger by formulas."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal

from costplan.report.season_workbook.ledger import LedgerSheet, month_number
from costplan.report.tables import percent
from costplan.report.workbook.formulas import Formula
from costplan.report.workbook.sheets import COUNT, MONTH, Cell, Sheet, Value
from costplan.season import Plan
from costplan.season.ledger import View
from costplan.season.plan import EventTotal, Month, Rate, totals_by_event

VIEWS: tuple[View, ...] = ("cash", "wear")
NO_EVENT, UNITS = "of no event", "Units"
#: What amounts are of what is paid, and of what comes in.
PAID, RECEIVED = '">0"', '"<0"'


def write_summary(sheet: Sheet, plan: Plan, ledger: LedgerSheet, left: str) -> None:
    """Every total of the season; `left`: where the life left at its end is added up."""
    sheet.across(f"Worked out from the sheet Ledger. Money in {plan.currency}.", "lead")
    sheet.hold()
    _write_season(sheet, plan, ledger)
    _write_rates(sheet, plan, ledger)
    _write_causes(sheet, plan, ledger)
    _write_months(sheet, plan, ledger)
    _write_events(sheet, plan, ledger)
    _write_one_more(sheet, plan)
    _write_left(sheet, plan, left)


def _headings(sheet: Sheet, plan: Plan, label: str, *names: str) -> None:
    """The headings of a table, set apart from what is above: amounts, but for units."""
    heads = (name if name == UNITS else f"{name} [{plan.currency}]" for name in names)
    sheet.skip()
    sheet.put({"label": label, **dict(zip("abcde", heads, strict=False))}, "header")


def _write_season(sheet: Sheet, plan: Plan, ledger: LedgerSheet) -> None:
    _headings(sheet, plan, "The season", "Amount")
    paid = ledger.sum("cash", ledger.of("amount"), PAID)
    received = ledger.sum("cash", ledger.of("amount"), RECEIVED)
    sheet.put({"label": "paid", "a": Formula(paid, plan.cash_paid)})
    sheet.put({"label": "received", "a": Formula(f"0-{received}", plan.cash_received)})
    says = sheet.rounding.total(f"{sheet.at('a', sheet.row - 2)}-{sheet.at('a', sheet.row - 1)}")
    sheet.put({"label": "cash: paid less received", "a": Formula(says, plan.cash_total)}, "total")
    sheet.put({"label": "wear: used up, income taken off", "a": Formula(ledger.sum("wear"), plan.wear_total)}, "total")


def _write_rates(sheet: Sheet, plan: Plan, ledger: LedgerSheet) -> None:
    """Cost by unit; the units themselves can be changed."""
    if plan.rates:
        _headings(sheet, plan, "Cost per", UNITS, "Cash", "Wear", "Cash, income off", "Wear, income off")
    for rate in plan.rates:
        sheet.put(
            {
                "label": rate.per,
                "a": Cell(rate.units, COUNT if rate.units == int(rate.units) else "#,##0.00", "input"),
                **_rate(sheet, rate, ledger),
            }
        )


def _rate(sheet: Sheet, rate: Rate, ledger: LedgerSheet) -> Mapping[str, Value | Cell]:
    """Costs without income, then with it taken off, in the row to be written next."""
    units = sheet.at("a")

    def by_unit(amount: str, gives: Decimal) -> Formula:
        each = sheet.rounding.of(f"({amount})/{units}", gives)
        return Formula(f'IF({units}>0,{each},"")', gives)

    found: dict[str, Value | Cell] = {}
    costs = (rate.cash, rate.cash_after_income), (rate.wear, rate.wear_after_income)
    for view, columns, (cost, net) in zip(VIEWS, ("bd", "ce"), costs, strict=True):
        income = ledger.sum(view, ledger.of("cause"), '"income"')
        found[columns[0]] = by_unit(f"{ledger.sum(view)}-{income}", cost)
        found[columns[1]] = by_unit(ledger.sum(view), net)
    return found


def _write_causes(sheet: Sheet, plan: Plan, ledger: LedgerSheet) -> None:
    _headings(sheet, plan, "By cause", "Cash", "Wear")
    cash, wear = ({one.cause: one.amount for one in view} for view in (plan.cash, plan.wear))
    none = 0 * plan.cash_total
    for cause in dict.fromkeys((*cash, *wear)):
        named = (ledger.of("cause"), sheet.at("label"))
        sums = (
            Formula(ledger.sum(view, *named), of.get(cause, none)) for view, of in zip(VIEWS, (cash, wear), strict=True)
        )
        sheet.put({"label": cause, **dict(zip("ab", sums, strict=True))})
    _write_both(sheet, plan, ledger)


def _write_both(sheet: Sheet, plan: Plan, ledger: LedgerSheet) -> None:
    """The totals of both views."""
    totals = _both((ledger.sum(view) for view in VIEWS), plan.cash_total, plan.wear_total)
    sheet.put({"label": "total", **totals}, "total")


def _write_months(sheet: Sheet, plan: Plan, ledger: LedgerSheet) -> None:
    """Cash by month, the worst marked; the first of several that are alike."""
    if not plan.months:
        return
    _headings(sheet, plan, "Cash by month", "Paid", "Received", "Net", "So far")
    rows = sheet.row, sheet.row + len(plan.months) - 1
    for month in plan.months:
        nets = sheet.span("c", rows)
        first = f"MATCH(MAX({nets}),{nets},0)={sheet.row - rows[0] + 1}"
        worst = "worst" if month.month == plan.worst_month else ""
        cells = _month(sheet, month, ledger, first=sheet.row == rows[0])
        sheet.put({**cells, "mark": Cell(Formula(f'IF({first},"worst","")', worst), look="odd")})


def _month(sheet: Sheet, month: Month, ledger: LedgerSheet, *, first: bool) -> Mapping[str, Value | Cell]:
    """A month, in the row to be written next."""
    of = ledger.of("month"), sheet.at("label")
    year, number = map(int, month.month.split("-"))
    paid = ledger.sum("cash", *of, ledger.of("amount"), PAID)
    received = ledger.sum("cash", *of, ledger.of("amount"), RECEIVED)
    net = sheet.rounding.total(f"{sheet.at('a')}-{sheet.at('b')}")
    so_far = sheet.at("c") if first else sheet.rounding.total(f"{sheet.at('d', sheet.row - 1)}+{sheet.at('c')}")
    return {
        "label": Cell(month_number(year, number), MONTH, "key"),
        "a": Formula(paid, month.paid),
        "b": Formula(f"0-{received}", month.received),
        "c": Formula(net, month.net),
        "d": Formula(so_far, month.so_far),
    }


def _write_events(sheet: Sheet, plan: Plan, ledger: LedgerSheet) -> None:
    """Both views by event, in the order of the ledger; what is of no event is the rest."""
    _headings(sheet, plan, "By event", "Cash", "Wear")
    first, rest = sheet.row, EventTotal("", *2 * (0 * plan.cash_total,))
    for one in totals_by_event(plan.ledger):
        if one.event:
            named = (ledger.at_event(view, sheet.at("label")) for view in VIEWS)
            sheet.put({"label": one.event, **_both(named, one.cash, one.wear)})
        else:
            rest = one
    spans = [f"-{sheet.sum_of(column, (first, sheet.row - 1))}" if sheet.row > first else "" for column in "ab"]
    sums = (sheet.rounding.total(f"{ledger.sum(view)}{less}") for view, less in zip(VIEWS, spans, strict=True))
    sheet.put({"label": NO_EVENT, **_both(sums, rest.cash, rest.wear)})
    _write_both(sheet, plan, ledger)


def _both(says: Iterable[str], cash: Decimal, wear: Decimal) -> dict[str, Value | Cell]:
    """The formulas of both views, with what they give."""
    pairs = zip("ab", says, (cash, wear), strict=True)
    return {column: Formula(formula, gives) for column, formula, gives in pairs}


def _write_one_more(sheet: Sheet, plan: Plan) -> None:
    """The wear of one more race."""
    more = plan.one_more
    _headings(sheet, plan, f"One more race like {more.like}, on the parts as they are on {more.on}", "Uses up")
    first = sheet.row
    for label, amount in (
        ("life used", more.life_used),
        ("work owed", more.work_owed),
        ("consumed", more.flowing),
    ):
        sheet.put({"label": label, "a": Cell(amount, look="input")})
    total = sheet.rounding.total(sheet.sum_of("a", (first, sheet.row - 1)))
    at = sheet.put({"label": "total", "a": Formula(total, more.total)}, "total")
    chance = f"added risk: something breaks with a chance of {percent(more.chance)}"
    risk = sheet.put({"label": chance, "a": Cell(more.risk, look="input")})
    both = sheet.rounding.total(f"{sheet.at('a', at)}+{sheet.at('a', risk)}")
    sheet.put({"label": "total with risk", "a": Formula(both, more.with_risk)}, "total")


def _write_left(sheet: Sheet, plan: Plan, left: str) -> None:
    """What is on hand at the end."""
    _headings(sheet, plan, "On hand at the end", "Worth")
    sheet.put({"label": "life left in what is installed", "a": Formula(left, plan.left_on_hand)})
    sheet.put({"label": "new pieces on the shelf, at cost", "a": Cell(plan.on_the_shelf, look="input")})
