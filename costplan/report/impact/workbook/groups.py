"""What each change costs each group by entrant, and the whole field, as one sheet of formulas."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from costplan.impact.figures import ChangeImpact, GroupImpact, Impact, Total
from costplan.report.impact.words import unanswered
from costplan.report.impact.workbook.inputs import Rates
from costplan.report.tables import number
from costplan.report.workbook.formulas import Formula
from costplan.report.workbook.sheets import COUNT, Book, Cell, Column, Row, Sheet, Span

NOTE = (
    "By entrant of each group, in the rows of the field for all entrants. Cash of a year is what is paid more in it. "
    "First year: once and the cash of year 1; then a year: the mean of the later years. Over the years: once, and each "
    "year's cash discounted to opening day, less what is then left more on hand. +/-: one standard error. Amounts of "
    "groups are kept with all their digits, so that the field's totals are those of the study to the last unit."
)


@dataclass(frozen=True, slots=True)
class Places:
    """Where a change stands on the sheet of groups: the rows of its groups, and that of the field.

    The sheet of paybacks has the same rows.
    """

    groups: Span
    field: int


def groups_sheet(book: Book, found: Impact) -> Sheet:
    """The sheet, to be filled when it is known where the rates are."""
    code, signed, years = found.currency, book.rounding.signed, found.study.years
    other = number(100 * found.study.discount_other)
    columns = [
        Column("change", "Change", 20),
        Column("group", "Group", 20),
        Column("count", "Entrants", 9, COUNT),
        Column("once", f"Once [{code}]", 12, signed),
        *(Column(year_name(year), f"Year {year} [{code}]", 12, signed) for year in range(1, years + 1)),
        Column("left", f"Left more [{code}]", 12, signed),
        Column("first", f"First year [{code}]", 13, signed),
        Column("yearly", f"Then a year [{code}]", 13, signed),
        Column("over", f"{years} years [{code}]", 13, signed),
        Column("error", f"+/- [{code}]", 11, book.rounding.money),
        Column("other", f"{years} years at the second rate ({other}%) [{code}]", 14, signed),
        Column("back", "Back in [years]", 11, "0.0"),
        Column("losers", "Lose", 7, COUNT),
        Column("leaving", "Would stop", 8, COUNT),
        Column("guess", "Guess", 7),
    ]
    return book.sheet("Groups", "who pays what", columns, landscape=True)


def year_name(year: int) -> str:
    """The column of a year."""
    return f"year{year}"


def write_groups(sheet: Sheet, found: Impact, rates: Rates, payback: Sheet) -> tuple[Places, ...]:
    """Every change with its groups and the field; `payback`: the sheet with the same rows. Gives where each stands."""
    sheet.header(2)
    places = tuple(_write_change(sheet, found, one, rates, payback) for one in found.changes)
    sheet.foot(NOTE)
    return places


def _write_change(sheet: Sheet, found: Impact, one: ChangeImpact, rates: Rates, payback: Sheet) -> Places:
    first = sheet.row
    for group in one.groups:
        if group.answered:
            sheet.put(_group(sheet, found, one, group, rates, payback))
        else:
            sheet.put({"change": one.name, "group": group.group, "count": group.count, "once": unanswered(group)})
    rows = first, sheet.row - 1
    return Places(rows, sheet.put(_field(sheet, found, one, rows, rates, payback), "total"))


def _group(sheet: Sheet, found: Impact, one: ChangeImpact, group: GroupImpact, rates: Rates, payback: Sheet) -> Row:
    """A group, in the row to be written next."""
    course, paid = group.course, sheet.at("once")
    cash = {year_name(year): Cell(amount, look="input") for year, amount in enumerate(course.cash, start=1)}
    return {
        "change": one.name,
        "group": group.group,
        "count": Cell(group.count, look="input"),
        "once": Cell(course.once, look="input"),
        **cash,
        "left": Cell(course.left, look="input"),
        **_following(sheet, found, group, rates, paid),
        "back": Formula(payback.far("back", sheet.row), _back(group, found)),
        "losers": group.losers,
        "leaving": group.leaving,
        "guess": Cell("guess" if group.assumed else "", look="odd"),
    }


def _field(sheet: Sheet, found: Impact, one: ChangeImpact, rows: Span, rates: Rates, payback: Sheet) -> Row:
    """The whole field: all entrants of all groups, in the row to be written next."""
    total, course = one.total, one.total.course

    def summed(column: str) -> str:
        return f"SUMPRODUCT({sheet.span('count', rows)},{sheet.span(column, rows)})"

    names = [year_name(year) for year in range(1, len(course.cash) + 1)]
    cash = {name: Formula(summed(name), amount) for name, amount in zip(names, course.cash, strict=True)}
    return {
        "change": one.name,
        "group": "the field",
        "count": Formula(sheet.sum_of("count", rows), total.entrants),
        "once": Formula(sheet.rounding.half_up(summed("once"), total.once), total.once),
        **cash,
        "left": Formula(summed("left"), course.left),
        **_following(sheet, found, total, rates, summed("once")),
        "back": back_of(payback, sheet.row, one, found.study.years),
        "losers": total.losers,
        "leaving": total.leaving,
        "guess": "",
    }


def _following(sheet: Sheet, found: Impact, one: GroupImpact | Total, rates: Rates, once: str) -> Row:
    """What follows from once and the years, in the row to be written next."""
    years, rounding = found.study.years, sheet.rounding
    cash = f"{sheet.at(year_name(1))}:{sheet.at(year_name(years))}"
    later = f"{sheet.at(year_name(2))}:{sheet.at(year_name(years))}"

    def over(rate: str, gives: Decimal) -> Formula:
        worth = f"{once}+NPV({rate},{cash})-{sheet.at('left')}/POWER(1+{rate},{years})"
        return Formula(rounding.half_up(worth, gives), gives)

    first = rounding.half_up(f"{once}+{sheet.at(year_name(1))}", one.first.mean)
    return {
        "first": Formula(first, one.first.mean),
        "yearly": Formula(rounding.half_up(f"AVERAGE({later})", one.yearly.mean), one.yearly.mean),
        "over": over(rates.first, one.over.mean),
        "error": one.over.error,
        "other": over(rates.other, one.over_other.mean),
    }


def _back(one: GroupImpact | Total, found: Impact) -> float | str:
    """When it has come back, as the sheet of paybacks says it."""
    return not_in(found.study.years) if one.payback is None else one.payback


def back_of(payback: Sheet, row: int, one: ChangeImpact, years: int) -> Formula | None:
    """When the field has it back, from the sheet of paybacks; nothing where nobody can comply."""
    if not any(group.answered for group in one.groups):
        return None
    back = not_in(years) if one.total.payback is None else one.total.payback
    return Formula(payback.far("back", row), back)


def not_in(years: int) -> str:
    """What stands where nothing comes back."""
    return f"not in {years}"
