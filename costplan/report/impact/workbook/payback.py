"""When what is paid once has come back, by group and for the field, as a sheet of formulas."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from costplan.impact.figures import ChangeImpact, GroupImpact, Impact, Total
from costplan.report.impact.workbook.groups import Places, not_in, year_name
from costplan.report.impact.workbook.inputs import Rates
from costplan.report.workbook.formulas import Formula
from costplan.report.workbook.sheets import Book, Column, Row, Sheet

NOTE = (
    "Paid by the end of a year: once, and the cash of the years so far, each worth on opening day. It has come back in "
    "the year in which that passes nothing, within which savings come evenly. 0: nothing was paid once, and it saves."
)


def payback_sheet(book: Book, found: Impact) -> Sheet:
    """The sheet, to be filled when it is known where the groups are."""
    years, code = range(1, found.study.years + 1), found.currency
    columns = [
        Column("change", "Change", 20),
        Column("group", "Group", 20),
        Column("paid0", f"Once [{code}]", 13, book.rounding.signed),
        *(Column(f"paid{year}", f"By the end of year {year} [{code}]", 13, book.rounding.signed) for year in years),
        *(Column(f"back{year}", f"Back by year {year} [years]", 9, "0.0") for year in years),
        Column("back", "Back in [years]", 11, "0.0"),
    ]
    return book.sheet("Payback", "when it has come back", columns, landscape=True)


def write_payback(sheet: Sheet, found: Impact, rates: Rates, groups: Sheet, places: Sequence[Places]) -> None:
    """The same rows as on the sheet of groups."""
    sheet.header(2)
    for one, place in zip(found.changes, places, strict=True):
        for row, (name, of) in enumerate(_rows(one), start=place.groups[0]):
            look = "total" if row == place.field else "line"
            head: Row = {"change": one.name, "group": name}
            figures = _row(sheet, found, of, row, rates, groups) if of else {"paid0": "not costed"}
            sheet.put({**head, **figures}, look)
    sheet.foot(NOTE)


def _rows(one: ChangeImpact) -> Iterator[tuple[str, GroupImpact | Total | None]]:
    """The groups, none where nothing lets one comply, then the field."""
    for group in one.groups:
        yield group.group, group if group.answered else None
    yield "the field", one.total if any(group.answered for group in one.groups) else None


def _row(sheet: Sheet, found: Impact, one: GroupImpact | Total, row: int, rates: Rates, groups: Sheet) -> Row:
    """What was paid so far by the end of each year, and by which it is back, in the row to be written next."""
    study, cells = found.study, {}
    paid = one.course.so_far(study.discount)
    cells["paid0"] = Formula(groups.far("once", row), paid[0])
    for year in range(1, study.years + 1):
        now, before = sheet.at(f"paid{year}"), sheet.at(f"paid{year - 1}")
        worth = f"{before}+{groups.far(year_name(year), row)}/POWER(1+{rates.first},{year})"
        cells[f"paid{year}"] = Formula(worth, paid[year])
        by = f'IF({now}<=0.000000001*{before},{year - 1}+MIN(1,{before}/({before}-{now})),"")'
        known = sheet.at(f"back{year - 1}") if year > 1 else ""
        says = f'IF({known}<>"",{known},{by})' if known else by
        there = one.payback if one.payback and one.payback <= year else ""
        cells[f"back{year}"] = Formula(f'IF({sheet.at("paid0")}>0,{says},"")', there)
    return {**cells, "back": _back(sheet, one, study.years)}


def _back(sheet: Sheet, one: GroupImpact | Total, years: int) -> Formula:
    """When it has come back."""
    never, last, known = not_in(years), sheet.at(f"paid{years}"), sheet.at(f"back{years}")
    saves = f'IF(ROUND({last},6)<=0,0,"{never}")'
    gives = never if one.payback is None else one.payback
    return Formula(f'IF({sheet.at("paid0")}>0,IF({known}="","{never}",{known}),{saves})', gives)
