"""jobs.csv: what happened to jobs, a row a happening, appended by hand: accepted, received, worked, used, paid ..."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from itertools import chain
from pathlib import Path
from types import MappingProxyType
from typing import Annotated, Literal

from pydantic import Field, model_validator

from costplan.money import minor_digits, round_money
from costplan.problems import Problem, nearest
from costplan.reading import Record, Setting, is_there, read_records, read_table
from costplan.reading.fields import (
    Count,
    Day,
    Kind,
    Money,
    Name,
    SignedMoney,
    Text,
    Words,
    number_type,
    refuse,
)

#: What may have happened to a job.
What = Literal[
    "accepted",
    "received",
    "stopped",
    "found",
    "agreed",
    "refused",
    "worked",
    "used",
    "bought",
    "paid",
    "returned",
    "finished",
    "delivered",
]
#: What a row of each word must give, and what else it may give; job, date, what, by and note are for all.
NEEDS = MappingProxyType(
    {
        "accepted": ("revision", "by"),
        "received": ("note",),
        "stopped": ("note",),
        "found": ("slot", "note"),
        "agreed": ("revision", "by"),
        "refused": ("by",),
        "worked": ("work", "hours"),
        "used": ("part", "quantity"),
        "bought": ("cost",),
        "paid": ("amount",),
        "returned": ("part", "amount"),
        "finished": (),
        "delivered": (),
    }
)
TAKES = MappingProxyType({"received": ("slot",), "worked": ("quantity",), "used": ("cost",), "bought": ("work",)})
FOR_ALL = ("job", "date", "what", "by", "note")
#: Words of work and material: what costs the shop something.
BOOKS = ("worked", "used", "bought")
#: What rows of an older job, without a request, may well say: its hours, when it came and went.
OF_OLDER = ("received", "worked", "finished", "delivered")
#: Words by which a customer signs a revision.
SIGNS = ("accepted", "agreed")

#: Digits between separators of thousands.
THOUSANDS = 3

Amount = Annotated[Decimal, number_type(Decimal(0), high=Decimal(10_000)), Kind("number, 0 or more", form="number")]


class JobRow(Record):
    """jobs.csv"""

    job: Name = Field(
        description="the request that it is the job of, NAME of quote-NAME.toml; an older job without one has any "
        "name, and only its hours count"
    )
    date: Day = Field(description="day it happened; rows need not be in order, those of one day count as they stand")
    what: What = Field(
        description="accepted: the customer took a revision; received: the engine came, or what is in a slot; stopped: "
        "torn down, work stops; found: what tear-down showed; agreed: the customer signed a later revision, a change "
        "order; refused: the customer did not go on, the job ends; worked: hours; used: a part went in; bought: "
        "sub-let work, freight, supplies, fees; paid: by the customer; returned: an old piece came back, its deposit "
        "was given back; finished: ready; delivered: fetched"
    )
    revision: Count | None = Field(default=None, description="the saved revision that was accepted or agreed")
    slot: Words = Field(default=(), description="slots that were received or found bad; received empty: all of it")
    part: Text = Field(
        default="", description="part or kit that was used, or whose old piece came back; or the key of its line"
    )
    work: Text = Field(
        default="",
        description="row of work.csv that was worked on or bought; or the key of a line of the revision: freight",
    )
    quantity: Amount | None = Field(
        default=None,
        description="what was used, in the unit of the contract's line: packs, kits, pieces; for worked by the piece: "
        "pieces that the hours are of, a row without it has more hours on the same pieces",
    )
    hours: Amount | None = Field(default=None, description="hours that were worked")
    cost: Money | None = Field(
        default=None, description="what all of it cost the shop, without tax; used: as the contract has it where empty"
    )
    amount: SignedMoney | None = Field(
        default=None,
        description="what was paid, negative where it was given back; what was given back for an old piece, which is "
        "no payment: where it is set off, the payment is written whole",
    )
    by: Text = Field(default="", description="who signed, worked or paid")
    note: Text = Field(default="", description="condition on receipt, what was found, what was bought, anything else")

    @model_validator(mode="after")
    def _given_back(self) -> JobRow:
        if self.what == "returned" and self.amount is not None and self.amount < 0:
            raise refuse("REA018", "a negative deposit:", "give what was given back, as 0 or more", "amount")
        return self


@dataclass(frozen=True, slots=True)
class KnownNames:
    """What rows may name: requests, rows of work.csv, slots, and parts with kits; the currency of all amounts."""

    requests: Collection[str]
    work: Collection[str]
    slots: Collection[str]
    parts: Collection[str]
    currency: str


def read_rows(path: Path, settings: tuple[Setting, ...] = ()) -> tuple[tuple[JobRow, ...], tuple[Problem, ...]]:
    """The rows of a jobs.csv in time order, those of one day as they stand; none where there is no file.

    Whether cells fit their word, and what they name is there, is asked by `check_rows`.
    """
    if not is_there(path):
        return (), ()
    table, faults = read_table(path, path.stem)
    if table is None:
        return (), faults
    rows, more = read_records(table, JobRow, settings)
    return tuple(sorted(rows, key=lambda row: row.date)), (*faults, *more)


def check_rows(rows: Iterable[JobRow], known: KnownNames) -> tuple[Problem, ...]:
    """What is wrong with rows by themselves: cells that are missing or idle, sums in doubt; one problem a row."""
    firsts = (next(chain(_cells(row), _names(row, known), _amounts(row, known.currency)), None) for row in rows)
    return tuple(problem for problem in firsts if problem is not None)


def _cells(row: JobRow) -> Iterator[Problem]:
    """Cells that a word needs and that are empty, and those that it has no use for."""
    what, empty = row.what, ("", (), None)
    for name in NEEDS[what]:
        if getattr(row, name) in empty:
            yield Problem("JOB001", row.place, name, "", f"'{what}' without {_A[name]}", f"give {_A[name]}")
    if what == "bought" and not row.work and not row.note:
        advice = "name a row of work.csv or a line of the revision, or say in note what it was"
        yield Problem("JOB001", row.place, "work", "", "'bought' without what for", advice)
    for name in type(row).model_fields:
        value = getattr(row, name)
        if name not in (*FOR_ALL, *NEEDS[what], *TAKES.get(what, ()), "place") and value not in empty:
            shown = " ".join(value) if isinstance(value, tuple) else str(value)
            advice = f"leave it empty, or give another word than {what}"
            yield Problem("JOB002", row.place, name, shown, f"'{what}' has no use for", advice)


_A = MappingProxyType(
    {
        "revision": "its revision",
        "by": "who it was",
        "note": "a note that says it",
        "slot": "its slot",
        "work": "its work",
        "hours": "its hours",
        "part": "its part",
        "quantity": "its quantity",
        "cost": "its cost",
        "amount": "its amount",
    }
)


def _names(row: JobRow, known: KnownNames) -> Iterator[Problem]:
    """A request that is needed and not there, and unknown slots; parts and work need the revisions too."""
    if row.what in SIGNS and row.job not in known.requests:
        advice = f"{nearest(row.job, known.requests)}; a job is accepted by the saved revision of a quote-NAME.toml"
        yield Problem("JOB003", row.place, "job", row.job, "no request of this name:", advice)
    for slot in row.slot:
        if slot.partition("/")[0] not in known.slots:
            advice = "write blanks between names, no commas" if "," in slot else nearest(slot, known.slots)
            yield Problem("JOB006", row.place, "slot", slot, "an unknown slot:", advice)


def _amounts(row: JobRow, currency: str) -> Iterator[Problem]:
    """Amounts with more decimals than the currency has: three may stand for thousands."""
    digits = minor_digits(currency)
    for name in ("cost", "amount"):
        value: Decimal | None = getattr(row, name)
        given = 0 if value is None else -int(value.as_tuple().exponent)
        if value is None or given <= digits or (given != THOUSANDS and round_money(value, currency) == value):
            continue
        few = f"give {digits} decimals at the most"
        advice = f"give {f'{value:f}'.replace('.', '')} for thousands; else {few}" if given == THOUSANDS else few
        yield Problem("REA024", row.place, name, str(value), f"more decimals than {currency} has:", advice)
