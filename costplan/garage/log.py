"""log.csv: what happened to engines, a row a happening, appended by hand: ran, checked, changed, failed, paid ..."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path
from typing import ClassVar, Literal

from pydantic import Field, ValidationInfo, field_validator

from costplan.garage.pieces import USES, use_in_kept_units
from costplan.problems import Problem
from costplan.reading import Record, Setting, is_there, read_records, read_table
from costplan.reading.fields import (
    Count,
    Day,
    Measured,
    Rpm,
    SignedMoney,
    Text,
    Whole,
    Words,
)

#: What may have happened.
What = Literal["ran", "checked", "serviced", "changed", "failed", "mended", "paid", "over-revved"]


#: Measures by which a run that was not run whole says its share of its event, the first given first.
SHARES = ("laps", "hours", "distance", "revolutions", "fuel", "events")


class Entry(Record):
    """log.csv"""

    REST: ClassVar[str] = "use"
    date: Day = Field(description="day it happened; rows need not be in order, those of one day count as they stand")
    what: What = Field(
        description="ran; checked: looked at and left in, all of it where no slot is named; serviced: a level was "
        "done, with all it always renews; changed: another set or piece was put in before it broke; failed: broke; "
        "mended: repaired, the set keeps its age; paid; over-revved"
    )
    engine: Text = Field(default="", description="engine it happened to, or 'car' for a shared position")
    event: Text = Field(
        default="",
        description="event of calendar.csv that it ran, or that was paid for; empty: none of those",
    )
    level: Text = Field(default="", description="service level that was done, or paid for")
    slot: Words = Field(default=(), description="slots that were checked, changed, failed or mended, or paid for")
    part: Text = Field(default="", description="part that was put in; empty: the same as before")
    piece: Text = Field(
        default="", description="name of what was put in: of garage.csv where it lay on the shelf; empty: new, no name"
    )
    step: Whole | None = Field(
        default=None, description="service steps that what was mended or put in has now been through; empty: as before"
    )
    count: Count | None = Field(
        default=None, description="pieces of the set that failed, were mended or changed; empty: the whole set"
    )
    finding: Text = Field(default="", description="what a check found, in words: good, worn, cracked, 118 lb")
    rpm: Rpm | None = Field(default=None, description="the highest engine speed, for over-revved")
    line: Text = Field(default="", description="what was paid for: a service, a cost of costs.csv, or any words")
    amount: SignedMoney | None = Field(
        default=None, description="what was paid for it; income is negative: a purse, a part sold"
    )
    note: Text = Field(default="", description="anything worth keeping")
    use: dict[str, float] = Field(
        default={},
        description=f"columns of their own: {', '.join(USES)}, units as in fuel [gal]. For ran: what was run, where it "
        "is not what the calendar says; for changed: what a used set had behind it",
    )

    @field_validator("use", mode="before")
    @classmethod
    def _uses(cls, cells: dict[str, Measured], info: ValidationInfo) -> dict[str, float]:
        return use_in_kept_units(cells, info)

    @property
    def paid(self) -> Decimal:
        """What was paid; income is negative."""
        return self.amount or Decimal(0)


def shares_of(entry: Entry, planned: Mapping[str, float]) -> tuple[dict[str, float], float]:
    """What was run of an event that uses so much: its share in each measure that the row gives, and in all others.

    >>> row = Entry.model_construct(use={"fuel": 9.0, "events": 1.0})
    >>> shares_of(row, {"laps": 60.0, "fuel": 18.0, "events": 1.0})
    ({'fuel': 0.5, 'events': 1.0}, 0.5)
    """
    factors = {name: given / planned[name] for name, given in entry.use.items() if planned.get(name, 0.0) > 0}
    return factors, next((factors[name] for name in SHARES if name in factors), 1.0)


def read_log(path: Path, settings: tuple[Setting, ...] = ()) -> tuple[tuple[Entry, ...], tuple[Problem, ...]]:
    """The entries of a log in time order, those of one day as they stand; none where there is no file.

    Whether its engines, slots, parts and events exist is asked where they are known.
    """
    if not is_there(path):
        return (), ()
    table, faults = read_table(path, path.stem)
    if table is None:
        return (), faults
    entries, more = read_records(table, Entry, settings, free=USES)
    return tuple(sorted(entries, key=lambda entry: entry.date)), (*faults, *more)
