"""Revisions: quotes as they were given, each in a file of its own that is written once; what changed between two.

A file holds the quote whole, and the request and the day that it was worked out from, so that it can be read, compared
and priced again when catalog, shop book and request have moved on.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cache
from pathlib import Path

from pydantic import TypeAdapter, ValidationError

from costplan.problems import Place, Problem
from costplan.quote.records import Line, Quote
from costplan.quote.request import SAVED, Asked
from costplan.quote.stated import percent
from costplan.quote.totals import line_net, tax_on
from costplan.reading import is_folder, shown

#: The form of the file, with its major version.
FORM = "costplan-quote 1.0"
FORM_OF = re.compile(rb'\s*\{\s*"form"\s*:\s*"(?P<form>[^"\\]{0,80})"')
FILE = re.compile(r"(?P<name>.+)-r(?P<number>[1-9][0-9]*)\.json")


@dataclass(frozen=True, slots=True)
class Revision:
    """A saved quote with what it was worked out from: the request, and what was found beyond it."""

    form: str
    quote: Quote
    asked: Asked
    bad: tuple[str, ...] = ()
    torn_down: bool = False


@cache
def _adapter() -> TypeAdapter[Revision]:
    return TypeAdapter(Revision)


def file_of(folder: Path, name: str, number: int) -> Path:
    """Where a revision is kept."""
    return folder / SAVED / f"{name}-r{number}.json"


def revisions_in(folder: Path, name: str) -> tuple[int, ...]:
    """The numbers of the revisions that are saved of a request."""
    found = (FILE.fullmatch(path.name) for path in (folder / SAVED).glob("*.json"))
    return tuple(sorted(int(match["number"]) for match in found if match and match["name"] == name))


def next_number(folder: Path, name: str) -> int:
    """The number of the revision that is saved next."""
    return max(revisions_in(folder, name), default=0) + 1


def to_text(revision: Revision) -> str:
    """A revision as its file holds it."""
    return _adapter().dump_json(revision, indent=1).decode() + "\n"


def read_revision(folder: Path, name: str, number: int | None = None) -> tuple[Revision | None, tuple[Problem, ...]]:
    """A saved revision, the last where no number is given; None with the problem where it is not there, was changed by
    hand or is of another form."""
    there_is, problems = is_folder(folder)
    if not there_is:
        return None, problems
    known = revisions_in(folder, name)
    number = number or max(known, default=1)
    path = file_of(folder, name, number)
    place = Place(shown(path))
    if number not in known:
        there = f"there are {', '.join(map(str, known))}" if known else "none is saved; `costplan quote save` does"
        return None, (Problem("QUO010", place, "", str(number), "no such revision:", there),)
    try:
        data = path.read_bytes()
    except OSError as error:
        return None, (Problem("REA001", place, "", "", f"cannot be read: {error.strerror}", "give back the file"),)
    form = FORM_OF.match(data)
    if form and form["form"].decode(errors="replace") != FORM:
        return None, (_another_form(form["form"].decode(errors="replace"), place),)
    try:
        revision = _adapter().validate_json(data)
    except ValidationError as error:
        return None, tuple(_faults(error, place))
    try:
        problems = tuple(_contradictions(revision, name, number, place))
    except ArithmeticError:
        advice = "bring back the file, or save another revision"
        problems = (Problem("QUO011", place, "", "", "amounts beyond all bounds", advice),)
    if problems:
        return None, problems
    return replace(revision, asked=revision.asked.kept_in(place)), ()


def _another_form(form: str, place: Place) -> Problem:
    advice = f"{FORM}; bring back the file, or save another revision"
    return Problem("QUO011", place, "form", form, "another form than", advice)


def _faults(error: ValidationError, place: Place) -> Iterator[Problem]:
    """What a file lacks of the form, a problem for each value."""
    advice = "a saved revision is not changed by hand; bring back the file, or save another revision"
    for fault in error.errors(include_url=False)[:10]:
        key = ".".join(str(part + 1) if isinstance(part, int) else part for part in fault["loc"])
        value = fault["input"] if isinstance(fault["input"], str | int | float) else ""
        yield Problem("QUO011", place, key, str(value)[:80], str(fault["msg"]).lower(), advice)


def _contradictions(revision: Revision, name: str, number: int, place: Place) -> Iterator[Problem]:
    """Where a file was changed by hand, so that it says two things."""
    quote, advice = revision.quote, "bring back the file, or save another revision"
    if revision.form != FORM:
        yield _another_form(revision.form, place)
    if (quote.request, quote.revision) != (name, number):
        held = f"{quote.request}-r{quote.revision}"
        yield Problem("QUO011", place, "quote", held, "another quote than the file's name says:", advice)
    for key, amount, due in _sums(quote):
        if amount != due:
            what = f"by the rest of the file it is {due}, not"
            yield Problem("QUO011", place, f"quote.{key}", str(amount), what, advice)


def _sums(quote: Quote) -> Iterator[tuple[str, Decimal, Decimal]]:
    """The amounts that follow from others: the key of each, the amount that is held, and what it must be."""
    totals, currency, nothing = quote.totals, quote.currency, Decimal(0)
    for number, line in enumerate(quote.lines, start=1):
        less = line.quantity * line.price * line.discount
        yield f"lines.{number}.net", line.net, line_net(line.quantity, line.price, currency, allowances=[less])
    for number, group in enumerate(totals.groups, start=1):
        yield f"totals.groups.{number}.amount", group.amount, tax_on(group.taxable, group.tax, currency)
    yield "totals.lines", totals.lines, sum((line.net for line in quote.lines), nothing)
    yield "totals.allowances", totals.allowances, quote.discount
    yield "totals.net", totals.net, totals.lines - totals.allowances + totals.charges
    yield "totals.net", totals.net, sum((group.taxable for group in totals.groups), nothing)
    yield "totals.tax", totals.tax, sum((group.amount for group in totals.groups), nothing)
    yield "totals.gross", totals.gross, totals.net + totals.tax
    yield "totals.due", totals.due, totals.gross - totals.paid + totals.rounding
    yield "core", quote.core, sum((line.net for line in quote.lines if line.kind == "core"), nothing)
    yield "balance", quote.balance, totals.gross - quote.deposit
    yield "margin.net", quote.margin.net, totals.net - quote.core
    yield "margin.cost", quote.margin.cost, sum((line.cost for line in quote.lines if line.kind != "core"), nothing)


@dataclass(frozen=True, slots=True)
class Moved:
    """A line that two revisions do not have alike: `before` and `after`, None where it is not there; `more`: in net.

    `why`: what moved in it, in words.
    """

    key: str
    name: str
    before: Line | None
    after: Line | None
    more: Decimal
    why: str


@dataclass(frozen=True, slots=True)
class Difference:
    """Two quotes, line by line: `same` lines are alike; the moved ones add up to what the sum of lines moved by.

    `cost`: what the shop pays more, cores left out, and `earned` what it is left; `said`: what else is different.
    """

    before: Quote
    after: Quote
    moved: tuple[Moved, ...]
    same: int
    lines: Decimal
    net: Decimal
    tax: Decimal
    gross: Decimal
    cost: Decimal
    earned: Decimal
    said: tuple[str, ...]


def difference(before: Quote, after: Quote) -> Difference:
    """What one quote has otherwise than another."""
    old, new = ({line.key: line for line in quote.lines} for quote in (before, after))
    keys = [*new, *(key for key in old if key not in new)]
    pairs = [(key, old.get(key), new.get(key)) for key in keys]
    moved = tuple(_moved(key, one, other) for key, one, other in pairs if not _alike(one, other))
    first, second = before.totals, after.totals
    return Difference(
        before,
        after,
        moved,
        len(pairs) - len(moved),
        second.lines - first.lines,
        second.net - first.net,
        second.tax - first.tax,
        second.gross - first.gross,
        after.margin.cost - before.margin.cost,
        after.margin.earned - before.margin.earned,
        tuple(_said(before, after)),
    )


def _alike(one: Line | None, other: Line | None) -> bool:
    """Whether a line is the same to the customer, and costs the shop as much."""
    if one is None or other is None:
        return False
    return all(
        getattr(one, name) == getattr(other, name)
        for name in ("quantity", "unit", "price", "discount", "net", "tax", "cost", "name", "part")
    )


def _moved(key: str, one: Line | None, other: Line | None) -> Moved:
    line = other or one
    if line is None:
        raise ValueError("a line of neither quote")
    more = (other.net if other else Decimal(0)) - (one.net if one else Decimal(0))
    words = "added" if one is None else "taken out" if other is None else "; ".join(_words(one, other))
    return Moved(key, line.name, one, other, more, words)


def _words(one: Line, other: Line) -> Iterator[str]:
    """What moved in a line."""
    if (one.quantity, one.unit) != (other.quantity, other.unit):
        yield f"{one.quantity} {one.unit} -> {other.quantity} {other.unit}"
    if one.price != other.price:
        yield f"price {one.price:,} -> {other.price:,}"
    if one.discount != other.discount:
        yield f"discount {percent(one.discount)} -> {percent(other.discount)}"
    if one.tax != other.tax:
        yield f"tax {one.tax.percent} % -> {other.tax.percent} %"
    if one.supplier != other.supplier:
        yield f"from {other.supplier or 'the shop'} instead of {one.supplier or 'the shop'}"
    elif one.priced != other.priced and one.kind == "parts":
        yield f"price of {other.priced} instead of {one.priced}"
    if one.cost != other.cost and one.net == other.net:
        yield f"cost {one.cost:,} -> {other.cost:,}"
    if (one.name, one.part) != (other.name, other.part):
        yield "another name or part"


def _said(before: Quote, after: Quote) -> Iterator[str]:
    """What else is different."""
    if before.basis != after.basis:
        yield f"{before.basis} -> {after.basis}"
    if before.level != after.level or before.engine != after.engine:
        yield f"{before.of} -> {after.of}"
    if before.discount != after.discount:
        yield f"taken off the whole: {before.discount:,} -> {after.discount:,}"
    if before.valid_until != after.valid_until:
        yield f"valid until {before.valid_until} -> {after.valid_until}"
    if before.schedule.ready != after.schedule.ready:
        yield f"ready {before.schedule.ready} -> {after.schedule.ready}"
    if before.deposit != after.deposit:
        yield f"deposit {before.deposit:,} -> {after.deposit:,}"
    if before.after.worst_gross != after.after.worst_gross:
        yield f"at the worst {before.after.worst_gross:,} -> {after.after.worst_gross:,}"
    for what in ("terms", "excluded", "notes", "supplied"):
        if getattr(before, what) != getattr(after, what):
            yield f"{what} changed"
