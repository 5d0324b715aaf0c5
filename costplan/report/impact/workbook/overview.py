"""The changes side by side, with totals that follow the sheets of groups and paybacks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal

from costplan.impact.figures import Impact
from costplan.report.impact.overview import waiting
from costplan.report.impact.words import change_of
from costplan.report.impact.workbook.groups import Places, back_of
from costplan.report.tables import whole
from costplan.report.workbook.formulas import Formula
from costplan.report.workbook.sheets import COUNT, Book, Cell, Column, Sheet, Value

#: The column of a change, by its number.
COLUMN = "change{}"
NOTE = "The whole field. Each figure of a change is what it costs more than nothing done; less than nothing is saved."


def overview_sheet(book: Book, found: Impact) -> Sheet:
    """The sheet, to be filled when it is known where the totals are."""
    signed = book.rounding.signed
    columns = [
        Column("label", "", 38),
        Column("unit", "Unit", 9),
        Column("none", "Nothing done", 15, signed),
        *(Column(COLUMN.format(number), one.name, 17, signed) for number, one in enumerate(found.changes)),
    ]
    return book.sheet("Side by side", "", columns, landscape=len(found.changes) > 2)


def write_overview(sheet: Sheet, found: Impact, groups: Sheet, payback: Sheet, places: Sequence[Places]) -> None:
    """A column for each change."""
    sheet.header(1)
    years, code = found.study.years, found.currency
    for label, column, amounts in _live(found):
        pairs = zip(amounts, places, strict=True)
        cells = [Formula(groups.far(column, place.field), gives) for gives, place in pairs]
        _put(sheet, label, code, Decimal(0), cells, "sum" if column == "over" else "line")
    fields = zip(found.changes, places, strict=True)
    backs = [Cell(back_of(payback, place.field, one, years), "0.0") for one, place in fields]
    _put(sheet, "paid back", "years", None, backs)
    sheet.skip()
    sheet.across("As studied; these do not follow what is changed", "heading")
    for label, unit, none, values in _studied(found, sheet.rounding.money):
        _put(sheet, label, unit, none, values)
    sheet.skip()
    sheet.across("Nothing done, the field pays", "heading")
    today = found.as_it_is
    paid = ("in the first year", today.first), ("in each later year", today.yearly), ("used up a year", today.wear)
    for label, amount in paid:
        _put(sheet, label, code, Cell(amount, sheet.rounding.money), [])
    _put(sheet, "misses", "races", Cell(today.missed, "#,##0.0"), [])
    sheet.foot(NOTE)


def _live(found: Impact) -> Iterator[tuple[str, str, list[Decimal]]]:
    """The totals that follow the sheet of groups, each with its column there and what it gives for each change."""
    totals = [one.total for one in found.changes]
    yield "paid once", "once", [one.once for one in totals]
    yield "in the first year", "first", [one.first.mean for one in totals]
    yield "each later year", "yearly", [one.yearly.mean for one in totals]
    yield f"over {found.study.years} years", "over", [one.over.mean for one in totals]
    yield "the same at the second rate", "other", [one.over_other.mean for one in totals]


def _put(
    sheet: Sheet, label: str, unit: str, none: Value | Cell, values: Sequence[Value | Cell], look: str = "line"
) -> None:
    cells = {COLUMN.format(number): value for number, value in enumerate(values)}
    sheet.put({"label": label, "unit": unit, "none": none, **cells}, look)


def _studied(found: Impact, money: str) -> Iterator[tuple[str, str, Value | Cell, Sequence[Value | Cell]]]:
    """What stands as it was studied."""
    totals, code = [one.total for one in found.changes], found.currency
    zero, none = Decimal(0), Cell(0, COUNT)
    loss = whole(found.loss)
    yield "+/- of all years, one standard error", code, None, [Cell(one.over.error, money) for one in totals]
    yield f"with lost results, {whole(found.result_worth)} each", code, zero, [one.burden.mean for one in totals]
    yield "used up a year, whenever it is paid", code, zero, [one.wear.mean for one in totals]
    yield f"lose over {loss}", "entrants", none, [Cell(one.losers, COUNT) for one in totals]
    yield f"lose over {loss} in the first year", "entrants", none, [Cell(one.losers_first, COUNT) for one in totals]
    yield f"gain over {loss}", "entrants", none, [Cell(one.winners, COUNT) for one in totals]
    yield "cannot comply", "entrants", none, [Cell(one.unable, COUNT) for one in totals]
    yield "races missed a year", "", none, [change_of(one.missed) for one in totals]
    yield "stopped by failure a year", "", none, [change_of(one.stopped) for one in totals]
    yield "parts put out, worth", code, zero, [Cell(one.stranded, money) for one in totals]
    yield "parts put out, bring", code, zero, [Cell(one.brings, money) for one in totals]
    yield "wait at round 1", "entrants", none, [waiting(one) for one in found.changes]
    yield "minutes more a car", "min", none, [Cell(one.enforcement.minutes_more, "0.#") for one in found.changes]
