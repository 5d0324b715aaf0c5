"""How a change may come, how sure its cost is, what it takes to enforce, what turns it about: as it was studied."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal

from costplan.impact.figures import ChangeImpact, Impact
from costplan.impact.flipping import Flips
from costplan.report.impact.change import PHASES
from costplan.report.tables import listed, number
from costplan.report.workbook.sheets import COUNT, PLAIN, Book, Cell, Column

AS_STUDIED = "As studied: these figures do not follow what is changed on other sheets."


def write_phases(book: Book, found: Impact) -> None:
    """The ways to bring each change in."""
    code, signed, money = found.currency, book.rounding.signed, book.rounding.money
    columns = [
        Column("change", "Change", 22),
        Column("name", "When", 18),
        Column("says", "", 30),
        Column("once", f"Once [{code}]", 14, signed),
        Column("first", f"First year [{code}]", 14, signed),
        Column("over", f"{found.study.years} years [{code}]", 14, signed),
        Column("error", f"+/- [{code}]", 12, money),
        Column("stranded", f"Put out [{code}]", 14, money),
    ]
    sheet = book.table("How it may come", "the whole field, by when it comes", columns, landscape=True)
    for one in found.changes:
        for phase in one.phases:
            over = {"over": phase.over.mean, "error": phase.over.error}
            words = {"change": one.name, "name": phase.name, "says": phase.says}
            sheet.put({**words, "once": phase.once, "first": phase.first.mean, **over, "stranded": phase.stranded})
    sheet.foot(f"{AS_STUDIED} {PHASES}")


def write_sure(book: Book, found: Impact) -> None:
    """Ranges of what each change costs the field, and an entrant, over the years."""
    code, signed = found.currency, book.rounding.signed
    names = ("Low or 10 % [{}]", "Likely, mean or 50 % [{}]", "High or 90 % [{}]")
    columns = [
        Column("change", "Change", 22),
        Column("what", "Over the years", 50),
        *(Column(str(n), name.format(code), 16, signed) for n, name in enumerate(names)),
    ]
    sheet = book.table("How sure", f"over {found.study.years} years", columns)
    for one in found.changes:
        for what, amounts in _ranges(one):
            sheet.put({"change": one.name, "what": what, **{str(n): amount for n, amount in enumerate(amounts)}})
    sheet.foot(
        f"{AS_STUDIED} Low and high: every group's number, the haircut and the price rises at their cheap and at their "
        f"dear ends. Mean and spread: each group as triangular, at a correlation of {number(found.study.correlation)}."
    )


def _ranges(one: ChangeImpact) -> Iterator[tuple[str, tuple[Decimal | None, ...]]]:
    """The ranges of a change: of the field, of its entrants, of each group by entrant."""
    total, roll = one.total, one.total.roll
    yield "the field: low, likely, high", (roll.range.low, roll.range.likely, roll.range.high)
    yield "the field: 10 % at most, mean, 90 % at most", (roll.p10, roll.mean, roll.p90)
    yield "an entrant: 10, 50 and 90 % at most", (total.p10, total.p50, total.p90)
    yield "of it for price rises of sole sellers", (None, total.risen, None)
    for group in one.groups:
        if group.answered:
            yield f"{group.group}, an entrant: 10, 50 and 90 % at most", (group.p10, group.p50, group.p90)
            yield f"{group.group}, an entrant: low, mean, high", (group.low, group.over.mean, group.high)


def write_officials(book: Book, found: Impact) -> None:
    """What it takes to enforce each change."""
    code, money = found.currency, book.rounding.money
    columns = [
        Column("change", "Change", 22),
        Column("clauses", "Clauses", 34),
        Column("before", "Before [min a car]", 11, PLAIN),
        Column("after", "After [min a car]", 11, PLAIN),
        Column("cars", "Cars a round", 9, COUNT),
        Column("rounds", "Rounds", 8, COUNT),
        Column("season", f"More a season [{code}]", 14, book.rounding.signed),
        Column("once", f"Gauges, once [{code}]", 14, money),
        Column("tools", "Tools not asked for before", 30),
    ]
    sheet = book.table("Officials", "what it takes to enforce it", columns, landscape=True)
    for one in found.changes:
        work = one.enforcement
        sheet.put(
            {
                "change": one.name,
                "clauses": listed(work.clauses),
                "before": work.minutes_before,
                "after": work.minutes_after,
                "cars": work.cars,
                "rounds": work.rounds,
                "season": work.a_season,
                "once": work.once,
                "tools": listed(work.tools),
            }
        )
    sheet.foot("Borne by the officials, and not in the figures of the entrants.")


def write_flips(book: Book, flips: Sequence[Flips]) -> None:
    """Which assumption turns each change about."""
    if not flips:
        return
    signed = book.rounding.signed
    columns = [
        Column("change", "Change", 22),
        Column("assumption", "Assumption", 40),
        Column("lower", "20 % lower", 15, signed),
        Column("higher", "20 % higher", 15, signed),
        Column("error", "+/-", 12, book.rounding.money),
        Column("at", "Flips at [%]", 11, "+0%;-0%;0%"),
    ]
    sheet = book.table("What turns it", "which assumption turns it about", columns)
    for found in flips:
        sheet.put({"change": found.name, "assumption": "as studied", "lower": Cell(found.over)}, "sum")
        for one in found.assumptions:
            figures = {"lower": one.lower, "higher": one.higher, "error": one.error}
            at = one.at - 1 if one.at is not None else None
            sheet.put({"change": found.name, "assumption": one.assumption, **figures, "at": at})
    sheet.foot(f"{AS_STUDIED} Each is moved a fifth down and up, for some entrants of each group, on the same luck.")
