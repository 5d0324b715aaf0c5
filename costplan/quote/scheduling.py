"""The days of a job: parts here, bench free, begun, ready."""

from __future__ import annotations

import math
from datetime import date, timedelta

from costplan.quote.asking import Asking
from costplan.quote.priced import Priced
from costplan.quote.pricing import NOTHING
from costplan.quote.records import Schedule
from costplan.quote.worklist import WorkList
from costplan.season.terms import terms_of


def schedule_of(asking: Asking, work: WorkList, priced: Priced) -> Schedule:
    """The days of the work, if it is ordered on the day of the quote.

    What was agreed before has been ordered, and the engine is on the bench: then only what is new is waited for.
    """
    header, files, on = asking.book.header, asking.scenario.files, asking.on
    waits = [
        (line.lead_days + terms_of(files, line.supplier).queue_days, line.part)
        for line in priced.bill.lines
        if f"{line.kind}/{line.part}" not in asking.held
    ]
    days, longest = max(waits, default=(0, ""))
    queue = terms_of(files, header.shop).queue_days if header.queue_days is None else header.queue_days
    parts_here, free = on + timedelta(days=days), on + timedelta(days=0 if asking.held else queue)
    begins = next_workday(max(parts_here, free, work.here or on), header.workdays)
    hours = sum((line.hours for line in priced.lines), NOTHING)
    bench = max(0, math.ceil(float(hours) / header.hours_a_day))
    return Schedule(
        on,
        parts_here,
        longest if days else "",
        free,
        begins,
        hours,
        bench,
        after_workdays(begins, bench, header.workdays),
    )


def next_workday(day: date, workdays: int) -> date:
    """A day, or the first after it on which the bench works.

    >>> next_workday(date(2027, 5, 15), 5)
    datetime.date(2027, 5, 17)
    """
    while day.weekday() >= workdays:
        day += timedelta(days=1)
    return day


def after_workdays(begins: date, days: int, workdays: int) -> date:
    """The day on which work is ready that begins on a workday and takes so many: the last of them.

    >>> after_workdays(date(2027, 5, 14), 2, 5), after_workdays(date(2027, 5, 14), 1, 5)
    (datetime.date(2027, 5, 17), datetime.date(2027, 5, 14))
    """
    day = begins
    for _ in range(days - 1):
        day = next_workday(day + timedelta(days=1), workdays)
    return day
