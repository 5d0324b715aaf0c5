"""Why nothing is possible, as a page: the smallest conflict in the user's words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from decimal import Decimal

from costplan.choose import Bound, Conflict, Culprit, Ground
from costplan.report.choose.shared import LIST, About, heading, says, slot_name, wished
from costplan.report.data import to_csv
from costplan.report.tables import Page, Passage, listed, money, number, plural

#: So many slots are named; of more, those with the fewest parts left.
NAMED = 6


def conflict_page(about: About, conflict: Conflict, what: str) -> Page:
    """What one wish alone would give, the members of a conflict, what each leaves by itself, and what there is without
    it; `what` is not possible."""
    alone = tuple((1, _alone(about, one)) for one in conflict.gives)
    helps = "This alone, given up, makes" if len(alone) == 1 else "Each of these alone, given up, makes"
    first = (Passage(f"{helps} a bill possible", alone),) if alone and len(conflict.culprits) > 1 else ()
    members = (Passage(_count(conflict), tuple(_members(about, conflict.culprits))),) if conflict.culprits else ()
    return Page(heading(what, about), (wished(about), *_lines(conflict)), (), (LIST,), (*first, *members))


_NO_SAVING = "no place to save: it holds the engine together. Ask its maker before anything cheaper goes there"


def _members(about: About, culprits: Sequence[Culprit]) -> Iterator[tuple[int, str]]:
    """The members one by one, those that are not to give way in one at the end."""
    kept = [one for one in culprits if not one.may_give]
    others = [one for one in culprits if one.may_give]
    for place, one in enumerate(others, 1):
        yield from _culprit(about, place, one)
    if kept:
        first, last, words = len(others) + 1, len(culprits), _nothing_cheaper([one.ground for one in kept])
        yield 0, f"{first}{f' to {last}' if last > first else ''}. {words[0].upper()}{words[1:]}"
        yield 1, f"({listed(one.ground.place for one in kept if one.ground.place)})"
        yield 1, f"{_NO_SAVING[0].upper()}{_NO_SAVING[1:]}."


def _nothing_cheaper(grounds: Iterable[Ground]) -> str:
    """What is not to be stretched, in one; such a ground has the name of its slot."""
    return f"by positions.csv nothing cheaper than planned in {listed(slot_name(one.name) for one in grounds)}"


def _count(conflict: Conflict) -> str:
    count = len(conflict.culprits)
    return "What cannot be kept" if count == 1 else f"What cannot be kept together: {_all(count)} of these"


def _lines(conflict: Conflict) -> Iterator[str]:
    count = len(conflict.culprits)
    if not count:
        yield "Asked once more without haste, there is a bill that keeps all of this: ask again with more --seconds."
        return
    if count == 1:
        yield "No bill keeps this, whatever else gives way."
        return
    yield (
        f"No bill keeps {_all(count)} of what is listed below. Any one of them left out, the others can be kept "
        "together; what there is then, with everything else that was asked, stands beside it."
    )
    yield (
        "It is proved that no fewer things are at odds."
        if conflict.smallest
        else "In the time it was not proved that no fewer things are at odds."
    )
    if conflict.is_large:
        yield "So many things at odds say little one by one: begin with what alone would help, or pin fewer slots."


def _all(count: int) -> str:
    return "both" if count == 2 else f"all {count}"


def _alone(about: About, one: Culprit) -> str:
    """A ground whose leaving out alone is enough, with what there is then."""
    saving = f" But this is {_NO_SAVING}." if one.ground.kind == "critical" else ""
    return f"{_named(about, one.ground)}. {_without(about, one)}{saving}"


def _named(about: About, ground: Ground) -> str:
    """A ground by its name, where it has one, and what it says."""
    named = ground.name if ground.kind in ("clause", "fit") else ""
    return f"{_KINDS[ground.kind]}{named}: {says(about, ground)}"


def _culprit(about: About, place: int, one: Culprit) -> Iterator[tuple[int, str]]:
    ground = one.ground
    yield 0, f"{place}. {_named(about, ground)}"
    where = "; ".join(word for word in (ground.book, ground.place) if word)
    if where:
        yield 1, f"({where})"
    for words in (_left(one), _bound(one)):
        if words:
            yield 1, words
    yield 1, f"{_without(about, one)}{f' But this is {_NO_SAVING}.' if ground.kind == 'critical' else ''}"


def _without(about: About, one: Culprit) -> str:
    """What there is without a ground, all else kept."""
    if one.possible is None:
        return "Without it: in the time neither a bill was found nor that there is none (--seconds)."
    if not one.possible:
        also = _also(about, one.also)
        return (
            f"Without it alone: still nothing; {f'also at odds: {also}' if also else 'something else is at odds too'}."
        )
    if one.price is None:
        return "Without it: a bill is possible."
    greatest = one.bound.greatest if one.bound and one.ground.kind == "budget" else None
    more = f", {money(one.price - greatest)} more" if isinstance(greatest, Decimal) else ""
    return f"Without it: the cheapest bill is {money(one.price)}{more}."


def _also(about: About, grounds: Sequence[Ground]) -> str:
    """Grounds in few words, what is not to be stretched in one at the end."""
    words = [_short(about, one) for one in grounds if one.kind != "critical"]
    kept = [one for one in grounds if one.kind == "critical"]
    return "; ".join((*words, *((_nothing_cheaper(kept),) if kept else ())))


def _short(about: About, ground: Ground) -> str:
    """A ground in few words."""
    return f"{ground.kind} {ground.name}" if ground.kind in ("clause", "fit") else says(about, ground)


def _bound(one: Culprit) -> str:
    """What a member asks of a figure, and how near one comes to it; of a budget the price says that."""
    bound = one.bound
    if bound is None or one.ground.kind == "budget":
        return ""
    near = "" if bound.nearest is None else _value(bound.nearest, bound.unit)
    if one.ground.kind == "lead":
        return f"The earliest day by which a bill is here: {near}." if near else ""
    words = [f"at least {_value(bound.least, bound.unit)}"] if bound.least is not None else []
    words += [f"at most {_value(bound.greatest, bound.unit)}"] if bound.greatest is not None else []
    nearest = f" The nearest {'in reach' if bound.proved else 'found'} with all else kept: {near}." if near else ""
    return f"It asks of {bound.figure} {' and '.join(words)}.{nearest}"


def _value(value: float | Decimal | date, unit: str) -> str:
    """A bound or a value with its unit.

    >>> _value(358.0, "in3"), _value(Decimal("1500.00"), "USD"), _value(date(2027, 6, 1), "")
    ('358 in3', '1,500.00 USD', '2027-06-01')
    """
    if isinstance(value, date):
        return str(value)
    shown = money(value) if isinstance(value, Decimal) else number(value, 6)
    return f"{shown} {unit if unit != '1' else ''}".strip()


_KINDS = {
    "clause": "Clause ",
    "fit": "Fit ",
    "pinned": "Wish",
    "banned": "Wish",
    "supplier": "Wish",
    "lead": "Wish",
    "budget": "Wish",
    "hand": "On hand",
    "critical": "By positions.csv",
}


def _left(one: Culprit) -> str:
    """How many parts it lets stand by itself in each slot that it is about."""
    told = sorted(one.candidates, key=lambda entry: entry[1])
    if not told:
        together = ", together" if len(one.slots) > 1 else ""
        return f"About {listed(map(slot_name, one.slots))}{together}." if 0 < len(one.slots) <= NAMED else ""
    words = listed(f"{slot_name(slot)}: {may} of {of}" for slot, may, of in told[:NAMED])
    rest = f", and fewer than all in {plural(len(told) - NAMED, 'slot')} more" if len(told) > NAMED else ""
    return f"By itself it leaves {words}{rest}."


def unfound_page(about: About, seconds: float) -> Page:
    """That no bill was found in time, and none is proved impossible."""
    line = (
        f"In {number(seconds, 3)} s no bill was found that meets everything, nor is it proved that there is none. Give "
        "more --seconds, or pin some slots."
    )
    return Page(heading("No answer in the time", about), (wished(about), line), (), (LIST,))


#: The columns of a member of a conflict as CSV.
MEMBER = (
    *("kind", "name", "says", "slots", "left_by_itself", "possible", "price"),
    *("figure", "least", "greatest", "unit", "nearest", "also", "place", "book"),
)


def conflict_csv(about: About, conflict: Conflict | None) -> str:
    """The members of a conflict as CSV, none where it was not found in time."""
    return to_csv(MEMBER, (_row(about, one) for one in (conflict.culprits if conflict else ())))


def _row(about: About, one: Culprit) -> tuple[object, ...]:
    ground = one.ground
    left = " | ".join(f"{slot}: {may} of {of}" for slot, may, of in one.candidates)
    possible = "" if one.possible is None else one.possible
    price = "" if one.price is None else one.price
    of = (ground.kind, ground.name, ground.says, " | ".join(one.slots), left, possible, price)
    also = " | ".join(_short(about, other) for other in one.also)
    return (*of, *_figures(one.bound), also, ground.place, ground.book)


def _figures(bound: Bound | None) -> tuple[object, ...]:
    """A bound, flat."""
    if bound is None:
        return ("",) * 5
    low, high, near = (_flat(value) for value in (bound.least, bound.greatest, bound.nearest))
    return (bound.figure, low, high, bound.unit, near)


def _flat(value: float | Decimal | date | None) -> object:
    """A value without float noise, '' for none."""
    return "" if value is None else float(f"{value:.6g}") if isinstance(value, float) else value
