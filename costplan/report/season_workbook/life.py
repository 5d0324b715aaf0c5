"""How much of its assumed life each part has used, as sheets."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from costplan.report.workbook.formulas import Formula
from costplan.report.workbook.sheets import DATE, WHOLE_SHARE, Book, Cell, Column, Value
from costplan.season import Plan
from costplan.season.used import UsedLife

NOTE = (
    "Lives are assumptions: a share of assumed life left is no promise, and a part can fail new. ~ the life is assumed "
    "in part; the sheet Inputs says in what."
)


def write_life(book: Book, plan: Plan) -> str:
    """Every position that has a life; gives the cell in which the life left is added up, as other sheets name it."""
    share = WHOLE_SHARE
    columns = [
        Column("engine", "Engine", 12),
        Column("slot", "Slot", 22),
        Column("part", "Part", 18),
        Column("opening", "Opening day [%]", 10, share),
        Column("now", "Now [%]", 10, share),
        Column("end", "End [%]", 10, share),
        Column("by", "Of", 22),
        Column("assumed", "Guess", 7),
        Column("next", "Next renewed before", 24),
        Column("left", f"Left at the end [{plan.currency}]", 14, book.rounding.money),
    ]
    sheet = book.table("Life used", "share of its assumed life that each part has used", columns, landscape=True)
    first = sheet.row
    for line in plan.life_used:
        sheet.put(
            {
                "engine": line.engine,
                "slot": line.slot,
                "part": line.part,
                "opening": line.opening,
                "now": line.now,
                "end": line.end,
                "by": line.by,
                "assumed": Cell("~" if line.assumed else "", look="odd"),
                "next": line.next_renewal,
                "left": Cell(line.left_at_end, look="input"),
            }
        )
    if not plan.life_used:
        sheet.skip()
    says = sheet.rounding.total(sheet.sum_of("left", (first, sheet.row - 1)))
    total = sheet.put({"left": Formula(says, plan.left_on_hand)}, "total", "Left in what is installed")
    sheet.foot(NOTE)
    return sheet.far("left", total)


def write_life_by_event(book: Book, used: Sequence[UsedLife]) -> None:
    """A row for each event and a column for each part: its share after the event, marked where it was renewed."""
    if not used:
        return
    several = len({line.engine for line in used}) > 2
    heads = [f"{line.slot}{f' ({line.engine})' if several else ''}" for line in used]
    columns = [
        Column("event", "After", 22),
        Column("date", "Date", 11, DATE),
        *(Column(str(number), head, 5.4, WHOLE_SHARE, turned=True) for number, head in enumerate(heads)),
    ]
    sheet = book.sheet("Life by event", "share used after each event [%]", columns, landscape=True)
    sheet.header(1)
    sheet.put({"event": "opening day", **_shares([line.opening for line in used])})
    for number, event in enumerate(used[0].events):
        at = [line.events[number] for line in used]
        shares: dict[str, Value | Cell] = {
            str(n): Cell(one.share, look="odd" if one.renewed else "") for n, one in enumerate(at)
        }
        sheet.put({"event": event.event, "date": event.date, **shares})
    sheet.foot(f"In red: renewed before or during the event. {NOTE}")


def _shares(shares: Sequence[float]) -> Mapping[str, Value | Cell]:
    return {str(number): share for number, share in enumerate(shares)}
