"""What each group would do, what that costs line by line, what is put out and what must be bought, as sheets."""

from __future__ import annotations

from costplan.impact.figures import ChangeImpact, GroupImpact, Impact, Supply
from costplan.report.impact.change import WHAT, does, for_what, power_words
from costplan.report.tables import listed
from costplan.report.workbook.formulas import Formula
from costplan.report.workbook.sheets import COUNT, DATE, ROUND_SHARE, Book, Cell, Column, Row, Sheet


def write_answers(book: Book, found: Impact) -> None:
    """How each group stands to the books, and what it does."""
    columns = [
        Column("change", "Change", 20),
        Column("group", "Group", 20),
        Column("entrants", "Entrants", 9, COUNT),
        Column("low", "At least", 8, COUNT),
        Column("high", "At most", 8, COUNT),
        Column("now", "Today", 16),
        Column("after", "Changed", 16),
        Column("broken", "Clauses then broken", 22),
        Column("does", "Does", 48),
        Column("proved", "Proved", 8),
        Column("power", "Power", 18),
        Column("guess", "Guess", 7),
    ]
    sheet = book.table("Answers", "what each would do", columns, landscape=True)
    for one in found.changes:
        for group in one.groups:
            sheet.put(_answer(one.name, group))
    sheet.foot(
        "Today, Changed: how the parts that they have stand to the book now and to the changed one; papers and "
        "inspections are owed as ever. Does: the cheapest parts, from what they own, that let it meet the book."
    )


def _answer(change: str, group: GroupImpact) -> Row:
    return {
        "change": change,
        "group": group.group,
        "entrants": group.count,
        "low": group.entrants.low,
        "high": group.entrants.high,
        "now": group.now,
        "after": group.after,
        "broken": listed(group.after_broken),
        "does": does(group),
        "proved": "yes" if group.proved else "no",
        "power": power_words(group.power),
        "guess": Cell("guess" if group.assumed else "", look="odd"),
    }


def write_lines(book: Book, found: Impact) -> None:
    """What is paid and got once, line by line, with its row."""
    columns = [
        Column("change", "Change", 20),
        Column("group", "Group", 20),
        Column("what", "What", 22),
        Column("name", "Part, work or level", 22),
        Column("for", "For", 34),
        Column("amount", f"By entrant [{found.currency}]", 14, book.rounding.signed),
        Column("place", "File and row", 40),
    ]
    sheet = book.table("Paid once", "line by line", columns, landscape=True)
    for one in found.changes:
        for group in one.groups:
            for line, amount in zip(group.lines, group.amounts, strict=True):
                cells: Row = {"what": WHAT[line.what], "name": line.name, "for": for_what(line), "place": line.place}
                sheet.put({"change": one.name, "group": group.group, **cells, "amount": amount})
    sheet.foot(
        "By entrant, for all its engines; what is sold less the haircut, what is bought with its rise. What a group "
        "owes to today's book is among its lines and is no cost of the change: the sheet Groups leaves it out."
    )


def write_drivers(book: Book, found: Impact) -> None:
    """What the difference of a year is made of; the difference follows."""
    money, code = book.rounding.money, found.currency
    columns = [
        Column("change", "Change", 20),
        Column("group", "Group", 20),
        Column("what", "Slot or level", 30),
        Column("before", f"Before [{code}]", 14, money),
        Column("after", f"After [{code}]", 14, money),
        Column("more", f"More [{code}]", 14, book.rounding.signed),
    ]
    sheet = book.table("A year", "what a year's difference is made of", columns)
    for one in found.changes:
        for group in one.groups:
            for row in group.drivers:
                says = sheet.rounding.total(f"{sheet.at('after')}-{sheet.at('before')}")
                sides: Row = {name: Cell(getattr(row, name), look="input") for name in ("before", "after")}
                named: Row = {"change": one.name, "group": group.group, "what": row.what}
                sheet.put({**named, **sides, "more": Formula(says, row.more)})
    sheet.foot("Cash a year by entrant, on average over the years: by slot, by level opened, and all else.")


def write_put_out(book: Book, found: Impact) -> None:
    """The parts that changes put out; what is lost follows."""
    if not any(one.stranded for one in found.changes):
        return
    money, code = book.rounding.money, found.currency
    columns = [
        Column("change", "Change", 20),
        Column("part", "Part", 16),
        Column("name", "Name", 34),
        Column("entrants", "Entrants", 9, COUNT),
        Column("left", f"Worth [{code}]", 14, money),
        Column("brings", f"Brings [{code}]", 14, money),
        Column("lost", f"Lost [{code}]", 14, money),
    ]
    sheet = book.table("Put out", "parts that are put out", columns)
    for one in found.changes:
        first = sheet.row
        for row in one.stranded:
            lost = sheet.rounding.total(f"{sheet.at('left')}-{sheet.at('brings')}")
            figures: Row = {name: Cell(getattr(row, name), look="input") for name in ("left", "brings")}
            names: Row = {"part": row.part, "name": row.name, "entrants": row.entrants}
            sheet.put({"change": one.name, **names, **figures, "lost": Formula(lost, row.lost)})
        if sheet.row > first:
            _write_sum(sheet, one, first)


def _write_sum(sheet: Sheet, one: ChangeImpact, first: int) -> None:
    """The sums of what a change puts out."""
    sums = {name: sheet.total(name, (first, sheet.row - 1)) for name in ("left", "brings", "lost")}
    sheet.put({"change": one.name, "part": "all", **sums}, "total")


def write_supply(book: Book, found: Impact) -> None:
    """What must be bought by the first round; what is short follows."""
    if not any(one.supply for one in found.changes):
        return
    columns = [
        Column("change", "Change", 20),
        Column("part", "Part", 14),
        Column("name", "Name", 28),
        Column("from", "From", 18),
        Column("entrants", "Entrants", 9, COUNT),
        Column("wanted", "Wanted [pieces]", 9, COUNT),
        Column("there", "There [pieces]", 10, COUNT),
        Column("short", "Short [pieces]", 9, COUNT),
        Column("waiting", "Without theirs", 9, COUNT),
        Column("lead", "Lead [days]", 8, COUNT),
        Column("here", "Here by", 11, DATE),
        Column("in_time", "In time", 8),
        Column("sole", "Sole seller", 14),
        Column("rise", "Price rise [%]", 9, ROUND_SHARE),
        Column("guess", "Guess", 7),
    ]
    about = f"wanted by the first round on {found.first_round}, ordered on {found.on}"
    sheet = book.table("Supply", about, columns, landscape=True)
    for one in found.changes:
        for row in one.supply:
            sheet.put({"change": one.name, **_supply(sheet, row)})
    sheet.foot("There: pieces that can be there by then; empty: supply.csv does not say. Without theirs: entrants.")


def _supply(sheet: Sheet, row: Supply) -> Row:
    """A part, in the row to be written next."""
    wanted, there = sheet.at("wanted"), sheet.at("there")
    known = row.there is not None and row.short == max(0, row.wanted - row.there)
    short = Formula(f"IF({wanted}>{there},{wanted}-{there},0)", row.short) if known else row.short
    return {
        "part": row.part,
        "name": row.name,
        "from": listed(row.suppliers),
        "entrants": row.entrants,
        "wanted": Cell(row.wanted, look="input"),
        "there": Cell(row.there, look="input"),
        "short": short,
        "waiting": row.waiting,
        "lead": row.lead_days,
        "here": row.here,
        "in_time": "yes" if row.in_time else Cell("late", look="odd"),
        "sole": row.sole,
        "rise": row.rise.likely or None,
        "guess": Cell("guess" if row.assumed else "", look="odd"),
    }
