"""The ledger of a season and its accounts as sheets, and sums over the ledger as formulas of other sheets."""

from __future__ import annotations

from dataclasses import dataclass

from costplan.report.workbook.formulas import Formula
from costplan.report.workbook.sheets import DATE, MONTH, Book, Cell, Column, Sheet, Span
from costplan.season import Plan
from costplan.season.ledger import Account, Row, View


@dataclass(frozen=True, slots=True)
class LedgerSheet:
    """Where the ledger is: its sheet and its rows."""

    sheet: Sheet
    rows: Span

    def of(self, column: str) -> str:
        """The cells of a column, as other sheets name them."""
        return self.sheet.elsewhere(self.sheet.span(column, self.rows))

    def sum(self, view: View, *conditions: str) -> str:
        """The sum of a view in a formula, rounded to the minor unit; `conditions`: more ranges and what holds there."""
        asked = ",".join((self.of("amount"), self.of("view"), f'"{view}"', *conditions))
        return self.sheet.rounding.total(f"SUMIFS({asked})")

    def at_event(self, view: View, event: str) -> str:
        """The sum of a view at the event that a cell names, letter by letter: a name may hold any sign."""
        named = f'EXACT({self.of("event")},{event})*({self.of("view")}="{view}")'
        return self.sheet.rounding.total(f"SUMPRODUCT({named},{self.of('amount')})")


def write_ledger(book: Book, plan: Plan) -> LedgerSheet:
    """One row a cost. Amounts and days can be changed; the month follows the day."""
    columns = [
        Column("view", "View", 7),
        Column("date", "Date", 11, DATE),
        Column("month", "Month", 9, MONTH),
        Column("event", "Event", 22),
        Column("engine", "Engine", 9),
        Column("slot", "Slot, level or cost", 19),
        Column("part", "Part", 14),
        Column("cause", "Cause", 12),
        Column("amount", f"Amount [{plan.currency}]", 13, book.rounding.money),
        Column("why", "Why, with file and row", 62),
    ]
    sheet = book.table("Ledger", "one row a cost", columns, landscape=True)
    first = sheet.row
    for row in plan.ledger:
        _write_row(sheet, row)
    if not plan.ledger:
        sheet.skip()
    rows = first, sheet.row - 1
    sheet.filtered(rows)
    return LedgerSheet(sheet, rows)


def _write_row(sheet: Sheet, row: Row) -> None:
    day = sheet.at("date")
    sheet.put(
        {
            "view": row.view,
            "date": Cell(row.date, look="input"),
            "month": Formula(f"YEAR({day})*100+MONTH({day})", month_number(row.date.year, row.date.month)),
            "event": row.event,
            "engine": row.engine,
            "slot": row.slot,
            "part": row.part,
            "cause": row.cause,
            "amount": Cell(row.amount, look="input"),
            "why": row.why,
        }
    )


def month_number(year: int, month: int) -> int:
    """A month as one number, which a form shows as a month: 202703."""
    return 100 * year + month


def write_accounts(book: Book, plan: Plan) -> None:
    """What each position was worth, what was paid and used up, and what it is worth at the end."""
    names = {"opening": "Opening", "paid": "Paid", "used": "Used", "unused": "Unused", "closing": "Closing"}
    columns = [
        Column("engine", "Engine", 12),
        Column("slot", "Slot or level", 24),
        *(Column(name, f"{heading} [{plan.currency}]", 15, book.rounding.money) for name, heading in names.items()),
    ]
    sheet = book.table("Accounts", "opening + paid - used - unused = closing", columns)
    first = sheet.row
    for account in plan.accounts:
        _write_account(sheet, account)
    rows = first, sheet.row - 1
    sheet.put({name: sheet.total(name, rows) for name in names}, "total", "All")
    sheet.foot(
        "Of a part: paid is its cost less its resale, and what is left in it falls with the share of its life used. Of "
        "a level: what is owed for its next opening stands as less than nothing; use adds to it, and paying takes off."
    )


def _write_account(sheet: Sheet, one: Account) -> None:
    opening, paid, used, unused = (sheet.at(name) for name in ("opening", "paid", "used", "unused"))
    closing = Formula(sheet.rounding.total(f"{opening}+{paid}-{used}-{unused}"), one.closing)
    figures = {name: Cell(getattr(one, name), look="input") for name in ("opening", "paid", "used", "unused")}
    sheet.put({"engine": one.engine, "slot": one.slot, **figures, "closing": closing})
