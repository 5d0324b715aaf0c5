"""What a used engine is worth, as a page."""

from __future__ import annotations

from collections.abc import Iterator

from costplan.report.data import to_csv
from costplan.report.figures import errors, rests_on
from costplan.report.tables import Page, Table, money, number, percent, plural, share, whole
from costplan.season.deciding.worth import Worth
from costplan.season.drawn.figures import Mean

CAUTIONS = (
    "An estimate from assumed lives, prices and one calendar: no market price. What the rule book says of sealed, "
    "claimed or exchanged engines may set another. A log shows what was written down: inspect.",
)


def worth_page(found: Worth, title: str, invented: bool) -> Page:
    """Everything that `costplan worth` answers."""
    heading = f"What {found.engine} is worth{f' on {found.on}' if found.on else ''}: {title}"
    tables = (_parts_table(found), *((_work_table(found),) if found.work else ()))
    lines = (*_lines(found), errors(found.seasons))
    return Page(f"{heading} (invented data)" if invented else heading, lines, tables, CAUTIONS)


def _lines(found: Worth) -> Iterator[str]:
    yield (
        f"By its parts: {money(found.by_parts)} {found.currency}, what is left of them and their resale, less the work "
        f"owed. Broken up: {money(found.broken_up)}, each part sold used or handed in as a core, whichever brings more."
    )
    source = f"computed from the {found.new.source}" if found.new.computed else found.new.source
    yield (
        f"Run on for {plural(found.years, 'season')}: {_said(found.run_on)}, the price at which it costs the same as a "
        f"new one at {money(found.new.price)} ({source})."
    )
    yield (
        "Taken apart before its first run and everything renewed that wears, as must be if nothing is known of it: "
        f"{_said(found.unknown)}."
    )
    yield _to_owner(found)
    yield (
        f"{rests_on(found.seasons, found.asked, found.seed)} The same seasons are drawn with the engine, with a new "
        "one and with it unknown; every year has the calendar, the book and the prices of the first, in money of its "
        "worth. "
        f"Discounted at {percent(found.rate)} a year; what is left at the end and lost results count. Races missed: "
        f"{number(found.misses, 3)}, with a new one {number(found.misses_new, 3)}."
    )


def _to_owner(found: Worth) -> str:
    """Which of the two is better, and so what it and its log are worth to who knows it."""
    if not found.more.shown:
        return (
            f"To its owner {_said(found.to_owner)}: no difference between the two is shown, nor therefore a worth of "
            "its log."
        )
    if found.apart:
        return (
            f"To its owner {_said(found.to_owner)}: it is better taken apart at once than run on, known or not, so "
            "that its log is worth nothing."
        )
    return f"To its owner {_said(found.to_owner)}: it is better run on, and its log is worth {_said(found.of_log)}."


def _said(mean: Mean) -> str:
    return f"{whole(mean.mean)} +/- {whole(mean.error)}" if mean.error else whole(mean.mean)


def _parts_table(found: Worth) -> Table:
    rows = tuple(
        (
            part.slot,
            part.part,
            whole(part.new),
            share(part.worn),
            whole(part.left),
            whole(part.resale),
            whole(part.core),
        )
        for part in found.parts
    )
    note = (
        "New: what the set costs today. Used: the largest share of any of its assumed lives or limits. Left: of what "
        "it cost, above the resale. Parts that wear in no measure are not in it."
    )
    header = ("Slot", "Part", "New", "Used", "Left", "Resale", "Core")
    return Table("Its parts, the most used first", header, rows, right=(2, 3, 4, 5, 6), note=note)


def _work_table(found: Worth) -> Table:
    rows = tuple((level.level, share(level.share), money(level.owed)) for level in found.work)
    return Table("Work owed on its levels", ("Level", "Used", "Owed"), rows, right=(1, 2))


def worth_csv(found: Worth) -> str:
    """Its parts as CSV."""
    header = ("slot", "part", "new", "worn", "left", "resale", "core", "worth")
    rows = [
        (part.slot, part.part, part.new, part.worn, part.left, part.resale, part.core, part.worth)
        for part in found.parts
    ]
    return to_csv(header, rows)
